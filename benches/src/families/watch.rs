//! Hears of values and bounds as they come, and when the gap between them was small enough.

use std::sync::{Mutex, PoisonError};
use std::time::Instant;

use patchlay_optimise::listen::{Listener, Progress};
use patchlay_optimise::solution::Solution;

use crate::cases::{Case, rounded_up};

/// What was seen so far, in costs.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Seen {
    pub(crate) value: Option<i128>,
    pub(crate) bound: i128,
    /// Seconds until the gap was small enough.
    pub(crate) to_gap: Option<f64>,
}

impl Seen {
    /// The gap as a part of the value; 1 where nothing was found.
    #[allow(clippy::cast_precision_loss, reason = "printing and stopping only")]
    pub(crate) fn gap(&self) -> f64 {
        self.value.map_or(1.0, |value| (value - self.bound) as f64 / value.max(1) as f64)
    }
}

/// Watches a run of the search.
pub(crate) struct Watch {
    begun: Instant,
    /// A gap that is small enough.
    enough: f64,
    seen: Mutex<Seen>,
}

impl Watch {
    pub(crate) fn new(begun: Instant, enough: f64) -> Self {
        Self { begun, enough, seen: Mutex::default() }
    }

    /// A solution and a bound in the figure's own unit.
    pub(crate) fn hear(&self, case: &Case, at: &Solution, bound: f64) {
        self.settle(at.cost(&case.costs), rounded_up(bound, case.step));
    }

    /// A value and a bound, both in costs.
    pub(crate) fn settle(&self, value: i128, bound: i128) {
        let mut seen = self.seen.lock().unwrap_or_else(PoisonError::into_inner);
        seen.value = Some(seen.value.map_or(value, |known| known.min(value)));
        seen.bound = seen.bound.max(bound);
        if seen.to_gap.is_none() && seen.gap() <= self.enough {
            seen.to_gap = Some(self.begun.elapsed().as_secs_f64());
        }
    }

    pub(crate) fn seen(&self) -> Seen {
        *self.seen.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Listener for Watch {
    fn event(&self, _: &Progress) {}

    fn stop(&self) -> bool {
        self.seen().to_gap.is_some()
    }
}

/// Largest memory that the process has taken so far, in millions of bytes, where the system tells.
pub(crate) fn peak_mb() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"))?;
    let kib: u64 = line.split_whitespace().next()?.parse().ok()?;
    Some(kib * 1024 / 1_000_000)
}
