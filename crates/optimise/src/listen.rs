//! Progress and the stop signal: one trait, so that the command line, a page and tests hear the same events.

/// Something that happened.
#[derive(Clone, Debug, PartialEq)]
pub enum Progress {
    /// A phase of the work begins.
    Phase {
        /// What it does, in words.
        name: String,
    },
    /// A better value, or a better bound, of a figure, both as the plan writes them.
    Value {
        /// Which figure.
        figure: patchlay_plan::FigureKind,
        /// Value of the best solution so far.
        value: String,
        /// Bound so far, if there is one.
        bound: Option<String>,
    },
}

/// Hears of progress and may ask to stop.
pub trait Listener: Sync {
    /// Something happened.
    fn event(&self, event: &Progress);
    /// Whether to stop: the phase under way ends, and the best solution so far is written out and checked.
    fn stop(&self) -> bool;
}

/// Asks whether to stop; for work that knows no listener.
pub type Stop<'a> = &'a (dyn Fn() -> bool + Sync);

/// Says nothing and never stops.
#[derive(Clone, Copy, Debug, Default)]
pub struct Quiet;

impl Listener for Quiet {
    fn event(&self, _: &Progress) {}
    fn stop(&self) -> bool {
        false
    }
}
