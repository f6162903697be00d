//! Diving for whole patterns: the relaxation is solved, patterns that it uses whole are fixed, else those that it uses
//! most, and so on with patterns generated anew for what is left (Belov and Scheithauer, European Journal of Operational
//! Research 141 (2002)).

use super::knapsack::Table;
use super::pack;
use super::relax::{Generator, Relaxed, Until};
use super::{Count, Pattern, Patterns, strips};
use crate::listen::Stop;
use crate::search::Random;

/// Use of a pattern from which it is rounded up with others.
const NEARLY: f64 = 0.8;

/// One order, and how far to go.
pub(super) struct Dive<'a> {
    pub(super) capacity: i64,
    pub(super) sizes: &'a [i64],
    pub(super) wanted: &'a [Count],
    /// Strips at most.
    pub(super) goal: i64,
    pub(super) stop: Stop<'a>,
}

/// Strips more than the goal from which the slower packing is not tried.
const NEAR: Count = 3;

impl Dive<'_> {
    /// The best plan met on the way down; the dive ends where `goal` is met or out of reach. `first` is the relaxation
    /// of all that is wanted.
    pub(super) fn down(
        &self,
        generator: &mut Generator,
        first: &Relaxed,
        mut random: Option<&mut Random>,
    ) -> Option<Patterns> {
        let mut left = self.wanted.to_vec();
        let mut fixed = Patterns::new();
        let mut relaxed = first.clone();
        let mut best: Option<Patterns> = None;
        while fix(&relaxed, &mut left, &mut fixed, random.as_deref_mut()) && !(self.stop)() {
            let goal = self.goal - strips(&fixed);
            let packed = self.packed(&left, goal);
            let met = strips(&packed) <= goal;
            if best.as_ref().is_none_or(|best| strips(&packed) + strips(&fixed) < strips(best)) {
                best = Some([&fixed[..], &packed[..]].concat());
            }
            if met {
                break;
            }
            let until = Until { goal, settled: false, seed: 1, stop: self.stop };
            match generator.relax(&left, until) {
                Some(next) if next.bound <= goal => relaxed = next,
                _ => break,
            }
        }
        best
    }

    /// What is left, packed at once.
    fn packed(&self, left: &[Count], goal: Count) -> Patterns {
        let quick = pack::first_fit(self.capacity, self.sizes, left);
        if strips(&quick) <= goal || strips(&quick) > goal + NEAR {
            return quick;
        }
        let slow = pack::fullest(&mut Table::default(), self.capacity, self.sizes, left);
        if strips(&slow) < strips(&quick) { slow } else { quick }
    }
}

/// Fixes patterns and takes what they carry from what is left; false where there is nothing to fix.
#[allow(clippy::cast_possible_truncation, clippy::cast_precision_loss, reason = "uses are small")]
fn fix(relaxed: &Relaxed, left: &mut [Count], fixed: &mut Patterns, random: Option<&mut Random>) -> bool {
    let fits = |pattern: &Pattern, left: &[Count]| {
        pattern.iter().map(|&(item, count)| left[item] / count).min().unwrap_or(0)
    };
    let mut any = false;
    let mut rest: Vec<(f64, &Pattern)> = Vec::new();
    for (pattern, used) in &relaxed.uses {
        let whole = ((used + 1e-6).floor() as Count).min(fits(pattern, left));
        if whole > 0 {
            take(pattern, whole, left, fixed);
            any = true;
        }
        rest.push((used - whole as f64, pattern));
    }
    if let Some(random) = random {
        rest.iter_mut().for_each(|of| of.0 += (random.below(1000) as f64 - 500.0) * 3e-4);
    }
    rest.sort_by(|a, b| b.0.total_cmp(&a.0).then_with(|| a.1.cmp(b.1)));
    for &(used, pattern) in &rest {
        if (used >= NEARLY || !any) && fits(pattern, left) > 0 {
            take(pattern, 1, left, fixed);
            any = true;
        }
    }
    any
}

fn take(pattern: &Pattern, times: Count, left: &mut [Count], fixed: &mut Patterns) {
    pattern.iter().for_each(|&(item, count)| left[item] -= times * count);
    fixed.push((pattern.clone(), times));
}
