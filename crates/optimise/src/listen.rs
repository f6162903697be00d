//! Progress and the stop signal: one trait, so that the command line, a page and tests hear the same events.

use std::collections::BTreeMap;
use std::sync::{Mutex, MutexGuard, PoisonError};

use patchlay_plan::FigureKind;

/// Something that happened.
#[derive(Clone, Debug, PartialEq)]
pub enum Progress {
    /// Several plans are made: so many are done, and what is told next is of the one with this name.
    Part {
        /// Plans made.
        done: usize,
        /// Plans to make.
        of: usize,
        /// What they are, in words: `strategies`.
        what: &'static str,
        /// Which of them speaks next.
        name: String,
    },
    /// A phase of the work on one plan begins.
    Phase {
        /// What it does, in words.
        name: String,
    },
    /// A better value, or a better bound, of a figure, both as the plan writes them.
    Value {
        /// Which figure.
        figure: FigureKind,
        /// Value of the best solution so far.
        value: String,
        /// Bound so far, if there is one.
        bound: Option<String>,
    },
    /// Lay-ups of the best draft so far; there is no bound of them.
    LayUps {
        /// How many.
        layups: usize,
    },
    /// So much of a known amount of work in this phase is done.
    Share {
        /// Done.
        done: u64,
        /// In all.
        of: u64,
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

/// Passes on the wish to stop, and tells nothing: for a part of the work whose values are not those of the whole.
pub(crate) struct StopOnly<'a>(pub(crate) &'a dyn Listener);

impl Listener for StopOnly<'_> {
    fn event(&self, _: &Progress) {}
    fn stop(&self) -> bool {
        self.0.stop()
    }
}

/// Several plans made at once. Only one of them speaks, the first that is under way, so that nobody hears the phase of one
/// and the value of another.
pub(crate) struct Parts<'a> {
    listener: &'a dyn Listener,
    what: &'static str,
    of: usize,
    going: Mutex<Going>,
}

#[derive(Default)]
struct Going {
    done: usize,
    /// Those under way: name, and the phase that each is in.
    running: BTreeMap<usize, (String, Option<Progress>)>,
}

impl<'a> Parts<'a> {
    /// So many plans.
    pub(crate) fn new(listener: &'a dyn Listener, what: &'static str, of: usize) -> Self {
        Self { listener, what, of, going: Mutex::default() }
    }

    /// Begins one of them; it is done when what is given is dropped.
    pub(crate) fn begin(&self, at: usize, name: String) -> Part<'_> {
        let mut going = self.going();
        let _ = going.running.insert(at, (name, None));
        if going.running.keys().next() == Some(&at) {
            self.announce(&going);
        }
        Part { parts: self, at }
    }

    fn going(&self) -> MutexGuard<'_, Going> {
        self.going.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Says which speaks now.
    fn announce(&self, going: &Going) {
        let first = going.running.values().next();
        let name = first.map(|(name, _)| name.clone()).unwrap_or_default();
        self.listener.event(&Progress::Part { done: going.done, of: self.of, what: self.what, name });
        if let Some((_, Some(phase))) = first {
            self.listener.event(phase);
        }
    }
}

/// One of several plans made at once.
pub(crate) struct Part<'a> {
    parts: &'a Parts<'a>,
    at: usize,
}

impl Listener for Part<'_> {
    fn event(&self, event: &Progress) {
        let mut going = self.parts.going();
        if matches!(event, Progress::Phase { .. })
            && let Some((_, phase)) = going.running.get_mut(&self.at)
        {
            *phase = Some(event.clone());
        }
        if going.running.keys().next() == Some(&self.at) {
            self.parts.listener.event(event);
        }
    }

    fn stop(&self) -> bool {
        self.parts.listener.stop()
    }
}

impl Drop for Part<'_> {
    fn drop(&mut self) {
        let mut going = self.parts.going();
        let _ = going.running.remove(&self.at);
        going.done += 1;
        self.parts.announce(&going);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[derive(Default)]
    struct Heard(Mutex<Vec<String>>);

    impl Listener for Heard {
        fn event(&self, event: &Progress) {
            let said = match event {
                Progress::Part { done, of, name, .. } => format!("{done}/{of} {name}"),
                Progress::Phase { name } => name.clone(),
                other => format!("{other:?}"),
            };
            self.0.lock().unwrap().push(said);
        }
        fn stop(&self) -> bool {
            true
        }
    }

    #[test]
    fn only_the_first_under_way_speaks() {
        let heard = Heard::default();
        let parts = Parts::new(&heard, "plans", 2);
        let one = parts.begin(0, "one".to_owned());
        let two = parts.begin(1, "two".to_owned());
        assert!(two.stop());
        for (part, name) in [(&one, "a"), (&two, "b"), (&one, "c")] {
            part.event(&Progress::Phase { name: name.to_owned() });
        }
        drop(one);
        two.event(&Progress::Phase { name: "d".to_owned() });
        drop(two);
        assert_eq!(*heard.0.lock().unwrap(), ["0/2 one", "a", "c", "1/2 two", "b", "d", "2/2 "]);
    }
}
