//! Strips of one width: the fewest strips that carry given lengths, and a proof that fewer do not.
//!
//! Lengths are whole numbers of any one unit; cuts cost nothing (add their waste to every length and to the strip). The
//! answer comes from column generation (`relax`, over `simplex` and `knapsack`) and diving (`dive`) after what can be
//! settled beforehand (`reduce`).
//! Every bound is worked out in integers; floating point only guides the search. No clock decides anything: it is a stop.

mod branch;
mod cuts;
mod dive;
mod knapsack;
mod listed;
mod pack;
mod reduce;
mod relax;
mod simplex;

use std::collections::BTreeMap;

use thiserror::Error;

use crate::search::Random;
use dive::Dive;
use knapsack::Table;
use relax::{Generator, Until};

/// How many of a length.
pub type Count = i64;
/// What lies on one strip: (item, how many), each item once.
type Pattern = Vec<(usize, Count)>;
/// Patterns and how often each.
type Patterns = Vec<(Pattern, Count)>;
/// Asked now and then whether to stop.
type Stop<'a> = &'a dyn Fn() -> bool;

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
    /// A strip must have a length.
    #[error("the strip is {0} long: give it a length of at least 1")]
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
    #[error("length {index} is {length}, longer than the strip of {capacity}: leave it out or take longer strips")]
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

/// Most pieces of one length that are still counted exactly.
pub const MOST_WANTED: Count = 100_000;

/// How far to go.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Reach {
    /// Dives at most.
    pub dives: u32,
    /// Seed of their choices.
    pub seed: u64,
}

impl Default for Reach {
    fn default() -> Self {
        Self { dives: 20, seed: 1 }
    }
}

/// Strips, and how few they could be.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Answer {
    /// What lies on a strip, as (length, how many) by descending length, and how many strips of it.
    pub strips: Vec<(Vec<(i64, Count)>, Count)>,
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
    let mut strips: Vec<(Vec<(i64, Count)>, Count)> =
        reduced.settled.iter().map(|(sizes, times)| (counted(sizes), *times)).collect();
    let settled: Count = reduced.settled.iter().map(|of| of.1).sum();
    let (sizes, wanted): (Vec<i64>, Vec<Count>) = reduced.left.into_iter().rev().unzip();
    let task = Task { capacity: order.capacity, sizes, wanted };
    let (patterns, bound) = task.solve(reach, stop);
    let lengths = |pattern: &Pattern| pattern.iter().map(|&(item, count)| (task.sizes[item], count)).collect();
    strips.extend(patterns.iter().map(|(pattern, times)| (lengths(pattern), *times)));
    Ok(Answer { strips, bound: settled + bound })
}

fn counted(sizes: &[i64]) -> Vec<(i64, Count)> {
    let mut counted: Vec<(i64, Count)> = Vec::new();
    for &size in sizes {
        match counted.iter_mut().find(|of| of.0 == size) {
            Some(of) => of.1 += 1,
            None => counted.push((size, 1)),
        }
    }
    counted.sort_unstable_by(|a, b| b.cmp(a));
    counted
}

fn faults(order: &Order) -> Vec<OrderError> {
    let mut wrong = Vec::new();
    let capacity = order.capacity;
    if capacity < 1 {
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
        let mut bound = relax::divided_up(total, self.capacity);
        let mut best = pack::first_fit(self.capacity, &self.sizes, &self.wanted);
        self.keep(&mut best, pack::fullest(&mut Table::default(), self.capacity, &self.sizes, &self.wanted));
        if strips(&best) <= bound {
            return (best, bound);
        }
        let mut generator = Generator::new(self.capacity, &self.sizes);
        for (pattern, _) in &best {
            generator.learn(pattern);
        }
        let until = Until { goal: i64::MAX, settled: true, stop };
        let Some(relaxed) = generator.relax(&self.wanted, until) else { return (best, bound) };
        bound = bound.max(relaxed.bound);
        if std::env::var("DBG").is_ok() { eprintln!("m {} lp {} bound {bound} best {} settled {}", self.sizes.len(), relaxed.value, strips(&best), relaxed.settled); }
        let mut random = Random::new(reach.seed);
        for dive in 0..reach.dives {
            if strips(&best) <= bound || stop() {
                break;
            }
            let goal = strips(&best) - 1;
            let way = Dive { capacity: self.capacity, sizes: &self.sizes, wanted: &self.wanted, goal, stop };
            let random = if dive == 0 { None } else { Some(&mut random) };
            if let Some(found) = way.down(&mut generator, &relaxed, random) {
                if std::env::var("DBG").is_ok() { eprintln!("dive {dive} found {}", strips(&found)); }
                self.keep(&mut best, found);
            }
        }
        while strips(&best) > bound && !stop() {
            let goal = bound;
            let list = branch::listed(self.capacity, &self.sizes, &self.wanted, &relaxed, goal);
            if std::env::var("DBG").is_ok() { eprintln!("goal {goal} listed {:?}", list.as_ref().map(Vec::len)); }
            let Some(list) = list else { break };
            let mut search = branch::Search { wanted: &self.wanted, list: &list, goal, programs: 1000, stop };
            match search.run() {
                branch::Verdict::Found(found) => { self.keep(&mut best, found); }
                branch::Verdict::None => bound += 1,
                branch::Verdict::Open => break,
            }
        }
        (best, bound)
    }

    /// Takes the other if it is sound and has fewer strips.
    fn keep(&self, best: &mut Patterns, other: Patterns) {
        if self.is_sound(&other) && strips(&other) < strips(best) {
            *best = other;
        }
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
