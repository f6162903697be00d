//! What the search tells while it works, in a quilter's figures, and the stop signal that Ctrl-C passes to it.
//!
//! The line is drawn by `indicatif`: it keeps to the width of the terminal that there is, draws seldom enough to cost
//! nothing, moves its clock while nothing is told, and draws nothing where standard error is no terminal. A line that we
//! wrote over ourselves knew none of the first three.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use patchlay_measure::{Area, Length, Money};
use patchlay_optimise::{Listener, Progress};
use patchlay_plan::{Bound, FigureKind};
use patchlay_scenario::Job;

use crate::{interrupt, print};

/// How often the clock moves.
const TICK: Duration = Duration::from_millis(200);
/// Columns of the bar.
const BAR: u64 = 12;
/// The line: a sign of life, the time so far, what is told.
const LINE: &str = "{spinner} {elapsed} {wide_msg}";

/// Hears the search: shows on a terminal how far it is, and stops it when Ctrl-C was pressed.
pub(crate) struct Watch<'a> {
    job: &'a Job,
    line: ProgressBar,
    told: Mutex<Told>,
    stop: Arc<AtomicBool>,
}

impl<'a> Watch<'a> {
    /// Starts to listen for Ctrl-C.
    pub(crate) fn new(job: &'a Job) -> Self {
        let stop = interrupt::flag().unwrap_or_else(|error| {
            print::aside(&format!("Ctrl-C will end patchlay without a plan: {error}."));
            Arc::default()
        });
        let line = ProgressBar::with_draw_target(None, ProgressDrawTarget::stderr());
        if let Ok(style) = ProgressStyle::with_template(LINE) {
            line.set_style(style.tick_chars("|/-\\ "));
        }
        if !line.is_hidden() {
            line.enable_steady_tick(TICK);
        }
        Self { job, line, told: Mutex::default(), stop }
    }

    /// Takes the line away.
    pub(crate) fn done(&self) {
        self.line.finish_and_clear();
    }
}

impl Listener for Watch<'_> {
    fn event(&self, event: &Progress) {
        if self.line.is_hidden() {
            return;
        }
        let mut told = self.told.lock().unwrap_or_else(PoisonError::into_inner);
        told.hear(self.job, event);
        self.line.set_message(print::clean(&told.line(self.stop())));
    }

    fn stop(&self) -> bool {
        self.stop.load(Ordering::Relaxed)
    }
}

/// What was told last.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
struct Told {
    /// Plans made and to be made, what they are, and which speaks.
    part: Option<(u64, u64, &'static str, String)>,
    phase: String,
    /// Share of the phase.
    share: Option<(u64, u64)>,
    /// The figure that is worked on.
    value: String,
}

impl Told {
    fn hear(&mut self, job: &Job, event: &Progress) {
        match event {
            Progress::Part { done, of, what, name } => {
                *self =
                    Self { part: Some((*done as u64, *of as u64, what, name.clone())), ..Self::default() };
            }
            Progress::Phase { name } => {
                *self = Self { part: self.part.take(), phase: name.clone(), ..Self::default() };
            }
            Progress::Value { figure, value, bound } => {
                self.value = worth(job, *figure, value, bound.as_deref());
            }
            Progress::LayUps { layups } => {
                self.value = format!("{layups} {}", if *layups == 1 { "lay-up" } else { "lay-ups" });
            }
            // What works side by side may tell it out of order.
            Progress::Share { done, of } => self.share = self.share.max(Some((*done, *of))),
        }
    }

    /// `[####--------] 4 of 11 strategies: mixed, flat: fewest passes: 98 passes, none below 97, gap 1.1 %`. The whole
    /// work's share comes before that of one phase.
    fn line(&self, stopping: bool) -> String {
        let mut said = Vec::new();
        let mut phase = self.phase.clone();
        let mut shown = self.share.filter(|(_, of)| *of > 0);
        if let Some((done, of, what, name)) = &self.part {
            said.push(format!("{done} of {of} {what}"));
            said.push(name.clone());
            if let Some((done, of)) = shown.replace((*done, *of)) {
                phase.push_str(&format!(" {} %", done.min(of) * 100 / of));
            }
        }
        said.extend([phase, self.value.clone()]);
        said.retain(|text| !text.is_empty());
        let bar = shown.map(|(done, of)| bar(done, of)).unwrap_or_default();
        let end = if stopping { " (stopping)" } else { " (Ctrl-C: stop, keep the best)" };
        format!("{bar}{}{end}", said.join(": "))
    }
}

/// `[####--------] `.
fn bar(done: u64, of: u64) -> String {
    let full = done.min(of) * BAR / of.max(1);
    let part = |sign: &str, columns: u64| sign.repeat(usize::try_from(columns).unwrap_or(0));
    format!("[{}{}] ", part("#", full), part("-", BAR - full))
}

/// A value, its bound, and the gap between them.
fn worth(job: &Job, figure: FigureKind, value: &str, bound: Option<&str>) -> String {
    let said = shown(job, figure, value);
    let Some(least) = bound else { return said };
    let text = |text: &str| text.to_owned();
    let bound = Bound { figure, value: text(value), bound: text(least), conditional: false, proved: false };
    let gap = bound.gap_tenths().map(|tenths| format!(", gap {}.{} %", tenths / 10, tenths % 10));
    format!("{said}, none below {}{}", shown(job, figure, least), gap.unwrap_or_default())
}

/// A figure as people read it; one that is not a number stays as it came.
fn shown(job: &Job, figure: FigureKind, exact: &str) -> String {
    let Ok(units) = exact.parse::<i128>() else { return exact.to_owned() };
    match figure {
        FigureKind::Passes => format!("{units} {}", if units == 1 { "pass" } else { "passes" }),
        FigureKind::Seconds => format!("{} min", (units + 30) / 60),
        FigureKind::Area => Area::from_units(units).show(job.units),
        FigureKind::Money if !job.priced => Area::from_units(units).show(job.units),
        FigureKind::Money | FigureKind::Cost => Money::from_units(units).show(&job.currency),
        FigureKind::Weighted => match i64::try_from(units) {
            Ok(units) => format!("{}, passes counted in", Length::from_units(units).show_cloth(job.units)),
            Err(_) => exact.to_owned(),
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn after(events: &[Progress]) -> String {
        let text = include_str!("../../../scenarios/smallest.json");
        let (_, job) = patchlay_scenario::load(text).unwrap();
        let mut told = Told::default();
        events.iter().for_each(|event| told.hear(&job, event));
        told.line(false).replace(" (Ctrl-C: stop, keep the best)", "")
    }

    fn phase(name: &str) -> Progress {
        Progress::Phase { name: name.to_owned() }
    }

    fn passes(value: &str, bound: Option<&str>) -> Progress {
        let bound = bound.map(str::to_owned);
        Progress::Value { figure: FigureKind::Passes, value: value.to_owned(), bound }
    }

    #[test]
    fn value_bound_and_gap_stand_beside_the_phase() {
        // (80 - 77) / 80 is 3.75 %, rounded up to tenths.
        let line = after(&[phase("fewest passes"), passes("80", Some("77"))]);
        assert_eq!(line, "fewest passes: 80 passes, none below 77 passes, gap 3.8 %");
        let line = after(&[passes("77", Some("77"))]);
        assert_eq!(line, "77 passes, none below 77 passes, gap 0.0 %");
        assert_eq!(after(&[passes("80", None)]), "80 passes");
    }

    #[test]
    fn a_new_phase_forgets_the_figure_before_it_but_not_the_whole_work() {
        let part = Progress::Part { done: 3, of: 12, what: "strategies", name: "mixed, flat".to_owned() };
        let share = Progress::Share { done: 1, of: 3 };
        let line = after(&[part.clone(), phase("a"), share]);
        assert_eq!(line, "[###---------] 3 of 12 strategies: mixed, flat: a 33 %");
        let line = after(&[part, phase("a"), passes("80", None), phase("b")]);
        assert_eq!(line, "[###---------] 3 of 12 strategies: mixed, flat: b");
    }

    #[test]
    fn known_work_is_a_share() {
        let share = |done, of| Progress::Share { done, of };
        assert_eq!(after(&[phase("a"), share(1, 2)]), "[######------] a");
        assert_eq!(after(&[phase("a"), share(0, 0)]), "a");
        let layups = Progress::LayUps { layups: 20 };
        assert_eq!(after(&[phase("a"), share(5, 4), layups]), "[############] a: 20 lay-ups");
    }
}
