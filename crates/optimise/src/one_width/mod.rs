//! Strips of one width: the fewest strips that carry given lengths, and a proof that fewer do not.
//!
//! Lengths are whole numbers of any one unit; cuts cost nothing (where a cut takes cloth, add that to every length and
//! once to the strip). First what needs no search is settled (`reduce`, `pack`). Column generation gives a bound
//! (`relax`, over `simplex` and `knapsack`), and dives for whole patterns (`dive`) mostly meet it. Where they do not, an
//! exact search finds or excludes the plan: over a list of all patterns that it could have (`branch`, `listed`, `cuts`),
//! or over pairs of pieces where that list is too long (`pairs`). `fewer` makes the different patterns of a plan fewer
//! (`anew`, `charge`, `pool`).
//! Publications are named from memory throughout.
//! Every bound is worked out in integers; floating point only guides the search. No clock decides anything: it is a stop.

mod anew;
mod branch;
mod charge;
mod cuts;
mod dive;
pub mod fewer;
#[cfg(test)]
mod fewer_tests;
mod knapsack;
mod listed;
mod pack;
mod pairs;
mod pool;
mod reduce;
mod relax;
pub(crate) mod simplex;
#[cfg(test)]
mod tests;

use std::collections::BTreeMap;

use thiserror::Error;

use crate::listen::Stop;
use crate::search::Random;
use branch::{Search, Verdict};
use dive::Dive;
use knapsack::Table;
use pairs::Pairs;
use relax::{Generator, Relaxed, Until};

/// How many of a length.
pub type Count = i64;
/// What lies on one strip: (item, how many), each item once.
type Pattern = Vec<(usize, Count)>;
/// Patterns and how often each.
type Patterns = Vec<(Pattern, Count)>;

/// Lengths wanted from strips of one length.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Order {
    /// Usable length of a strip.
    pub capacity: i64,
    /// (length, how many). A length may stand more than once.
    pub lengths: Vec<(i64, Count)>,
}

/// What is wrong with an order.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum OrderError {
    /// A strip must have a length, and one that is still counted exactly.
    #[error("the strip is {0} long: give it a length from 1 to {MOST_LONG}")]
    Capacity(i64),
    /// A length must be positive.
    #[error("length {index} is {length}: give it at least 1")]
    Length {
        /// Place in the order, from 0.
        index: usize,
        /// The length.
        length: i64,
    },
    /// A length must fit the strip.
    #[error(
        "length {index} is {length}, longer than the strip of {capacity}: leave it out or take longer strips"
    )]
    TooLong {
        /// Place in the order, from 0.
        index: usize,
        /// The length.
        length: i64,
        /// Usable length of a strip.
        capacity: i64,
    },
    /// A number must not be negative, nor beyond what is counted exactly.
    #[error("length {index} is wanted {count} times: give a number from 0 to {MOST_WANTED}")]
    Wanted {
        /// Place in the order, from 0.
        index: usize,
        /// How many.
        count: Count,
    },
}

/// The longest strip that is still counted exactly.
pub const MOST_LONG: i64 = 1_000_000_000;
/// Most pieces of one length that are still counted exactly.
pub const MOST_WANTED: Count = 100_000;

/// How far to go: work is counted, never timed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Reach {
    /// Dives at most.
    pub dives: u32,
    /// Linear programs of the exact search at most.
    pub programs: u64,
    /// Seed of the dives' choices.
    pub seed: u64,
}

impl Default for Reach {
    fn default() -> Self {
        Self { dives: 20, programs: 20_000, seed: 1 }
    }
}

/// Strips, and how few they could be.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Answer {
    /// What lies on a strip, as (place in the order, how many) by place, and how many strips of it.
    pub strips: Vec<(Vec<(usize, Count)>, Count)>,
    /// No plan takes fewer strips.
    pub bound: Count,
}

impl Answer {
    /// Strips in all.
    #[must_use]
    pub fn count(&self) -> Count {
        self.strips.iter().map(|strip| strip.1).sum()
    }

    /// Whether no plan takes fewer strips.
    #[must_use]
    pub fn proved(&self) -> bool {
        self.count() == self.bound
    }
}

/// The fewest strips found, and a bound. `stop` is asked now and then.
///
/// # Errors
/// Everything that is wrong with the order.
pub fn solve(order: &Order, reach: Reach, stop: Stop<'_>) -> Result<Answer, Vec<OrderError>> {
    let wrong = faults(order);
    if !wrong.is_empty() {
        return Err(wrong);
    }
    let mut wanted: BTreeMap<i64, Count> = BTreeMap::new();
    for &(length, count) in &order.lengths {
        *wanted.entry(length).or_insert(0) += count;
    }
    let reduced = reduce::reduce(order.capacity, wanted);
    let mut strips = reduced.settled;
    let settled: Count = strips.iter().map(|of| of.1).sum();
    let (sizes, wanted): (Vec<i64>, Vec<Count>) = reduced.left.into_iter().rev().unzip();
    let task = Task { capacity: order.capacity, sizes, wanted };
    let (patterns, bound) = task.solve(reach, stop);
    for (pattern, times) in patterns {
        let each = |&(item, count): &(usize, Count)| (0..count).map(move |_| item);
        strips.push((pattern.iter().flat_map(each).map(|item| task.sizes[item]).collect(), times));
    }
    Ok(Answer { strips: by_place(order, &strips), bound: settled + bound })
}

/// Strips by size as strips by place in the order: a size may stand there more than once.
fn by_place(order: &Order, strips: &[(Vec<i64>, Count)]) -> Vec<(Vec<(usize, Count)>, Count)> {
    let mut places: BTreeMap<i64, Vec<(usize, Count)>> = BTreeMap::new();
    for (place, &(length, count)) in order.lengths.iter().enumerate().rev() {
        if count > 0 {
            places.entry(length).or_default().push((place, count));
        }
    }
    let mut all = Vec::new();
    for (sizes, times) in strips {
        let mut times = *times;
        while times > 0 {
            // One strip from the places that still want something, then as many like it as they take.
            let mut pattern: BTreeMap<usize, Count> = BTreeMap::new();
            for size in sizes {
                let Some(open) = places.get_mut(size) else { continue };
                if let Some(last) = open.last_mut() {
                    last.1 -= 1;
                    *pattern.entry(last.0).or_insert(0) += 1;
                }
                open.retain(|of| of.1 > 0);
            }
            let left = |place: usize| {
                let open = places.get(&order.lengths[place].0).and_then(|open| open.last());
                open.filter(|of| of.0 == place).map_or(0, |of| of.1)
            };
            let more = pattern.iter().map(|(&place, &count)| left(place) / count).min().unwrap_or(0);
            let more = more.min(times - 1);
            for (&place, &count) in pattern.iter().filter(|_| more > 0) {
                if let Some(open) = places.get_mut(&order.lengths[place].0) {
                    open.last_mut().into_iter().for_each(|of| of.1 -= more * count);
                    open.retain(|of| of.1 > 0);
                }
            }
            times -= 1 + more;
            all.push((pattern.into_iter().collect(), 1 + more));
        }
    }
    all
}

fn faults(order: &Order) -> Vec<OrderError> {
    let mut wrong = Vec::new();
    let capacity = order.capacity;
    if !(1..=MOST_LONG).contains(&capacity) {
        wrong.push(OrderError::Capacity(capacity));
    }
    for (index, &(length, count)) in order.lengths.iter().enumerate() {
        if length < 1 {
            wrong.push(OrderError::Length { index, length });
        } else if capacity >= 1 && length > capacity {
            wrong.push(OrderError::TooLong { index, length, capacity });
        }
        if !(0..=MOST_WANTED).contains(&count) {
            wrong.push(OrderError::Wanted { index, count });
        }
    }
    wrong
}

fn strips(patterns: &Patterns) -> Count {
    patterns.iter().map(|of| of.1).sum()
}

/// An order after what could be settled: sizes descending, each once.
struct Task {
    capacity: i64,
    sizes: Vec<i64>,
    wanted: Vec<Count>,
}

impl Task {
    /// Patterns and a bound.
    fn solve(&self, reach: Reach, stop: Stop<'_>) -> (Patterns, Count) {
        let total: i64 = self.sizes.iter().zip(&self.wanted).map(|(size, count)| size * count).sum();
        let bound = relax::divided_up(total, self.capacity);
        let mut best = pack::first_fit(self.capacity, &self.sizes, &self.wanted);
        if strips(&best) > bound {
            let fullest = pack::fullest(&mut Table::default(), self.capacity, &self.sizes, &self.wanted);
            self.keep(&mut best, &fullest);
        }
        if strips(&best) <= bound || stop() {
            return (best, bound);
        }
        let mut generator = Generator::new(self.capacity, &self.sizes);
        for (pattern, _) in &best {
            generator.learn(pattern);
        }
        let until = Until { goal: i64::MAX, settled: true, seed: 1, stop };
        let Some(relaxed) = generator.relax(&self.wanted, until) else { return (best, bound) };
        let bound = bound.max(relaxed.bound);
        self.dive(&mut best, bound, &mut generator, &relaxed, reach, stop);
        let bound = if strips(&best) > bound {
            let prices = generator.mean_prices(&self.wanted, &relaxed, until);
            self.settle(&mut best, bound, &prices, reach, stop)
        } else {
            bound
        };
        (best, bound)
    }

    /// Dives until the bound is met; every other one aims at any better plan.
    fn dive(
        &self,
        best: &mut Patterns,
        bound: Count,
        generator: &mut Generator,
        relaxed: &Relaxed,
        reach: Reach,
        stop: Stop<'_>,
    ) {
        let mut random = Random::new(reach.seed);
        for dive in 0..reach.dives {
            if strips(best) <= bound || stop() {
                return;
            }
            let goal = if dive % 2 == 0 { bound } else { strips(best) - 1 };
            let way = Dive { capacity: self.capacity, sizes: &self.sizes, wanted: &self.wanted, goal, stop };
            let random = if dive == 0 { None } else { Some(&mut random) };
            if let Some(found) = way.down(generator, relaxed, random) {
                self.keep(best, &found);
            }
        }
    }

    /// Finds or excludes plans of as few strips as the bound says, as long as that ends; returns what is then proved.
    fn settle(
        &self,
        best: &mut Patterns,
        mut bound: Count,
        prices: &[i64],
        reach: Reach,
        stop: Stop<'_>,
    ) -> Count {
        let programs = reach.programs;
        while strips(best) > bound && !stop() {
            let goal = bound;
            let list = branch::listed(self.capacity, &self.sizes, &self.wanted, prices, goal);
            let verdict = match list {
                Some(list) => Search::new(&self.wanted, &list, goal, programs, stop).run(),
                None => {
                    Pairs { capacity: self.capacity, goal, programs, stop }.run(&self.sizes, &self.wanted)
                }
            };
            match verdict {
                Verdict::None => bound += 1,
                Verdict::Found(found) if self.keep(best, &found) => {}
                _ => break,
            }
        }
        bound
    }

    /// Takes the other if it has fewer strips, without what it has too much of; whether it did.
    fn keep(&self, best: &mut Patterns, other: &Patterns) -> bool {
        let other = self.trimmed(other);
        let better = strips(&other) < strips(best) && self.is_sound(&other);
        if better {
            *best = other;
        }
        better
    }

    /// Without pieces that nobody wants.
    fn trimmed(&self, patterns: &Patterns) -> Patterns {
        let mut left = self.wanted.clone();
        let mut trimmed = Patterns::new();
        for (pattern, times) in patterns {
            let whole =
                pattern.iter().map(|&(item, count)| left[item] / count).min().unwrap_or(0).min(*times);
            let mut more = vec![(pattern.clone(), whole)];
            more.extend((whole..*times).map(|_| (pattern.clone(), 1)));
            for (mut pattern, times) in more {
                pattern.iter_mut().for_each(|of| of.1 = of.1.min(left[of.0] / times.max(1)));
                pattern.retain(|of| of.1 > 0);
                if times > 0 && !pattern.is_empty() {
                    pattern.iter().for_each(|&(item, count)| left[item] -= count * times);
                    trimmed.push((pattern, times));
                }
            }
        }
        trimmed
    }

    /// Whether patterns fit the strip and carry just what is wanted.
    fn is_sound(&self, patterns: &Patterns) -> bool {
        let mut left = self.wanted.clone();
        for (pattern, times) in patterns {
            let length: i64 = pattern.iter().map(|&(item, count)| self.sizes[item] * count).sum();
            if length > self.capacity || *times < 1 || pattern.iter().any(|of| of.1 < 1) {
                return false;
            }
            pattern.iter().for_each(|&(item, count)| left[item] -= count * times);
        }
        left.iter().all(|&count| count == 0)
    }
}
