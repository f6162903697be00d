//! Fewer different patterns in the same strips, with the same pieces.
//!
//! Some patterns are taken apart and made anew as fewer, as Diegel, Chetty, van Schalkwyck and Naidoo (1993) and Foerster
//! and Waescher, Int. J. Prod. Res. 38 (2000) 1657-1676, combine two or three at a time: a handful by a search (`anew`),
//! more by a dive (`charge`). Where they do not become fewer they may become as many others, which walks to where they
//! do; how many are taken apart follows what succeeds. Publications from memory. Every plan is checked in integers.

use thiserror::Error;

use super::anew::{Anew, Contents};
use super::charge::dive;
use super::{Count, MOST_LONG, MOST_WANTED, Order, Pattern, Patterns, Reach, solve};
use crate::listen::Stop;
use crate::search::Random;

pub use super::anew::Rules;

/// Dives over the whole plan at first.
const WHOLE: u32 = 3;
/// One dive in so many takes any number of patterns apart.
const ANY: usize = 50;
/// Patterns taken apart for a dive at first, and at least: in hundredths.
const WIDE: (usize, usize) = (800, 300);
/// What a dive adds to that or takes from it, in hundredths.
const CHANGE: (usize, usize) = (30, 15);
/// One step in so many is of the search, and one part of the work in so many at least goes to it.
const OFTEN: usize = 4;
const SHARE: u64 = 8;
/// Nodes of a search for one list.
const NODES: u64 = 400;
/// Work without success after which a walk begins anew; later walks have more.
const PATIENCE: u64 = 1_500_000_000;
/// By how much squares of strips may fall, once in two times.
const FALL: i64 = 55;

/// How far to go: work is counted, never timed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Walk {
    /// Steps of the search; a second has some hundred millions.
    pub steps: u64,
    /// Seed of its choices.
    pub seed: u64,
}

impl Default for Walk {
    fn default() -> Self {
        Self { steps: 3_000_000_000, seed: 1 }
    }
}

/// What is wrong with a plan.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum PlanError {
    /// A strip must have a length, and one that is still counted exactly.
    #[error("the strip is {0} long: give it a length from 1 to {MOST_LONG}")]
    Capacity(i64),
    /// More strips than are counted exactly.
    #[error("pattern {index} is cut {times} times: give at most {MOST_WANTED}")]
    Times {
        /// Place in the plan, from 0.
        index: usize,
        /// How often.
        times: Count,
    },
    /// A size must be positive.
    #[error("size {index} is {size}: give it at least 1")]
    Size {
        /// Place in the list, from 0.
        index: usize,
        /// The size.
        size: i64,
    },
    /// A pattern names a size that is not there, or twice.
    #[error("pattern {index} names size {item}, which is not there or named twice: name every size once")]
    Item {
        /// Place in the plan, from 0.
        index: usize,
        /// The size's place.
        item: usize,
    },
    /// A pattern is not what the rules allow.
    #[error("pattern {index} breaks the rules of length, pieces, sizes or strips: change it or them")]
    Rules {
        /// Place in the plan, from 0.
        index: usize,
    },
}

/// A plan of fewer patterns.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fewer {
    /// What lies on a strip, as (place of the size, how many) by place, and how many strips of it.
    pub patterns: Vec<(Vec<(usize, Count)>, Count)>,
    /// No plan of the same pieces has fewer different patterns.
    pub bound: usize,
}

/// A plan of as many strips with the same pieces, and of no more different patterns. `stop` is asked now and then.
///
/// # Errors
/// Everything that is wrong with the plan.
pub fn fewer(
    rules: &Rules,
    sizes: &[i64],
    plan: &[(Vec<(usize, Count)>, Count)],
    walk: Walk,
    stop: Stop<'_>,
) -> Result<Fewer, Vec<PlanError>> {
    let wrong = faults(rules, sizes, plan);
    if !wrong.is_empty() {
        return Err(wrong);
    }
    let rules = &Rules { times: rules.times.max(1), ..rules.clone() };
    let start = merged(plan.to_vec());
    let bound = at_least(rules, sizes, &start, stop);
    let mut search = Search {
        anew: Anew::new(rules, sizes),
        random: Random::new(walk.seed),
        best: start.clone(),
        walked: start.clone(),
        at: start.clone(),
        since: 0,
        dives: 0,
        searched: 0,
        wide: WIDE.0,
    };
    while search.anew.work < walk.steps && search.best.len() > bound && !stop() {
        if search.random.below(OFTEN) == 0 || search.searched * SHARE < search.anew.work {
            let before = search.anew.work;
            search.search();
            search.searched += search.anew.work - before + 1;
        } else {
            search.dive();
        }
        // Work grows even where nothing is found.
        search.anew.work += 1;
        if search.anew.work > search.since + PATIENCE.max(search.since) {
            search.again(&start);
        }
    }
    Ok(Fewer { patterns: search.best, bound })
}

/// Every size lies in some pattern: so there are at least as many as hold each size once.
fn at_least(rules: &Rules, sizes: &[i64], plan: &Patterns, stop: Stop<'_>) -> usize {
    let cut = Contents::of(plan, &(0..plan.len()).collect::<Vec<_>>()).pieces;
    let lengths = cut.iter().map(|of| (sizes[of.0], 1)).collect();
    let order = Order { capacity: rules.capacity, lengths };
    let reach = Reach { dives: 4, programs: 50, seed: 1 };
    let strips = solve(&order, reach, stop).map_or(0, |answer| answer.bound);
    let together = usize::try_from(rules.kinds.min(rules.pieces)).unwrap_or(usize::MAX).max(1);
    usize::try_from(strips).unwrap_or(0).max(cut.len().div_ceil(together))
}

fn faults(rules: &Rules, sizes: &[i64], plan: &[(Vec<(usize, Count)>, Count)]) -> Vec<PlanError> {
    let small = sizes.iter().enumerate().filter(|of| *of.1 < 1);
    let mut wrong: Vec<PlanError> = Vec::new();
    if !(1..=MOST_LONG).contains(&rules.capacity) {
        wrong.push(PlanError::Capacity(rules.capacity));
    }
    wrong.extend(small.map(|(index, &size)| PlanError::Size { index, size }));
    for (index, (pattern, times)) in plan.iter().enumerate() {
        let mut items: Vec<usize> = pattern.iter().map(|of| of.0).collect();
        items.sort_unstable();
        let twice = items.windows(2).find(|pair| pair[0] == pair[1]).map(|pair| pair[0]);
        if let Some(item) = items.into_iter().find(|&item| item >= sizes.len()).or(twice) {
            wrong.push(PlanError::Item { index, item });
        } else if !rules.allow(sizes, pattern, *times) {
            wrong.push(PlanError::Rules { index });
        }
        if *times > MOST_WANTED {
            wrong.push(PlanError::Times { index, times: *times });
        }
    }
    wrong
}

struct Search<'a> {
    anew: Anew<'a>,
    random: Random,
    best: Patterns,
    /// The best of this walk.
    walked: Patterns,
    /// Where the walk is.
    at: Patterns,
    /// Work when the walk last had fewer patterns than before.
    since: u64,
    dives: u32,
    /// Steps of the search for a handful.
    searched: u64,
    /// Patterns that a dive takes apart, in hundredths.
    wide: usize,
}

impl Search<'_> {
    /// Takes some patterns apart and dives for as many or fewer.
    fn dive(&mut self) {
        let all = self.at.len();
        let any = self.dives >= WHOLE && self.random.below(ANY) == 0;
        let spread = if any { all } else { 5 };
        let most = self.wide / 100 + self.random.below(spread);
        let whole = self.dives < WHOLE;
        self.dives += 1;
        let apart = self.chosen(if whole { all } else { most.min(all) });
        let known = self.known(&apart);
        let contents = Contents::of(&self.at, &apart);
        let found = dive(&mut self.anew, &contents, &known, known.len(), &mut self.random);
        if !any && !whole {
            let wide = if found.is_some() { self.wide + CHANGE.0 } else { self.wide - CHANGE.1 };
            self.wide = wide.max(WIDE.1).min(100 * all.max(WIDE.1));
        }
        self.take(&apart, &known, &contents, found);
    }

    /// Takes two to five patterns apart and looks for one less, or for as many others.
    fn search(&mut self) {
        let wanted = [2, 2, 2, 3, 3, 3, 3, 4, 4, 5][self.random.below(10)];
        let apart = self.chosen(wanted.min(self.at.len()));
        let known = self.known(&apart);
        let contents = Contents::of(&self.at, &apart);
        let parts = apart.len();
        let mut found = self.anew.patterns(&contents, parts - 1, NODES, &[], &mut self.random);
        if found.is_none() && parts <= 3 {
            found = self.anew.patterns(&contents, parts, NODES, &known, &mut self.random);
        }
        self.take(&apart, &known, &contents, found);
    }

    fn known(&self, apart: &[usize]) -> Patterns {
        let mut known: Patterns = apart.iter().map(|&at| self.at[at].clone()).collect();
        known.sort_unstable();
        known
    }

    /// Puts what was found in place of what it was made of, if there is less of it or luck will have it: patterns cut
    /// from many strips and patterns cut from few are better than all alike.
    fn take(&mut self, apart: &[usize], known: &Patterns, contents: &Contents, found: Option<Patterns>) {
        let Some(found) = found else { return };
        let all: Vec<usize> = (0..found.len()).collect();
        let allowed = |of: &(Pattern, Count)| self.anew.rules.allow(self.anew.sizes, &of.0, of.1);
        if Contents::of(&found, &all) != *contents || !found.iter().all(allowed) {
            return;
        }
        let squares = |patterns: &Patterns| patterns.iter().map(|of| of.1 * of.1).sum::<Count>();
        let halvings = i64::from((self.random.below(1 << 20) | 1 << 20).trailing_zeros());
        let may_fall = halvings * FALL + Count::try_from(self.random.below(55)).unwrap_or(0);
        if found.len() == known.len() && squares(&found) + may_fall < squares(known) {
            return;
        }
        let mut next: Patterns = Vec::with_capacity(self.at.len());
        next.extend((0..self.at.len()).filter(|at| !apart.contains(at)).map(|at| self.at[at].clone()));
        next.extend(found);
        self.at = merged(next);
        if self.at.len() < self.walked.len() {
            self.walked.clone_from(&self.at);
            self.since = self.anew.work;
        }
        if self.at.len() < self.best.len() {
            self.best.clone_from(&self.at);
        }
    }

    /// Another walk from the start: one that has found nothing for long is mostly where it will stay.
    fn again(&mut self, start: &Patterns) {
        self.at.clone_from(start);
        self.walked.clone_from(start);
        self.since = self.anew.work;
        (self.dives, self.wide) = (0, WIDE.0);
    }

    /// Patterns to take apart: mostly such as share a size.
    fn chosen(&mut self, wanted: usize) -> Vec<usize> {
        let all = self.at.len();
        if wanted >= all {
            return (0..all).collect();
        }
        let random = &mut self.random;
        let mut chosen = vec![random.below(all)];
        let mut open: Vec<bool> = vec![true; all];
        open[chosen[0]] = false;
        while chosen.len() < wanted {
            let from = &self.at[chosen[random.below(chosen.len())]].0;
            let item = from[random.below(from.len())].0;
            let shares = |at: &usize| open[*at] && self.at[*at].0.iter().any(|of| of.0 == item);
            let with: Vec<usize> =
                if random.below(4) > 0 { (0..all).filter(shares).collect() } else { Vec::new() };
            let next = if with.is_empty() { random.below(all) } else { with[random.below(with.len())] };
            if open[next] {
                open[next] = false;
                chosen.push(next);
            }
        }
        chosen
    }
}

/// The same plan with every pattern once.
fn merged(mut plan: Patterns) -> Patterns {
    plan.iter_mut().for_each(|of| of.0.sort_unstable());
    plan.sort_unstable();
    plan.dedup_by(|later, earlier| {
        let same = later.0 == earlier.0;
        if same {
            earlier.1 += later.1;
        }
        same
    });
    plan
}
