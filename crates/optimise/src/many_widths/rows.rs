//! The relaxation over a list of strips, with cuts and branches: columns are found by looking through the list. Prices are
//! then rounded to integers and every strip of the list is priced again in integers, so what is said of it is exact.

use super::cuts::Cut;
use super::relax::float;
use super::{Count, Pattern, Task};
use crate::listen::Stop;
use crate::one_width::simplex::{Column, Simplex};

/// Cost of a piece left out, or of a strip that a branch asks for, in dearest strips.
const ARTIFICIAL: f64 = 20.0;
/// Columns added in one look through the list.
const FRESH: usize = 60;
/// Worth above the cost that counts as a violation.
const TOLERANCE: f64 = 1e-8;
/// Looks through the list for one linear program.
const LOOKS: usize = 500;
/// Amounts below this are noise of the simplex.
const LEAST_USE: f64 = 1e-7;

/// Strips that are counted by a branch.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Counted {
    /// At least so wide.
    Wide(i64),
    /// With both pieces, or with two of one.
    Pair(usize, usize),
    /// Just this strip.
    Whole(Pattern),
}

impl Counted {
    /// Whether a strip is counted.
    pub(super) fn counts(&self, pattern: &Pattern) -> bool {
        let has = |piece: usize, least: Count| pattern.pieces.iter().any(|of| of.0 == piece && of.1 >= least);
        match self {
            Self::Wide(width) => pattern.width >= *width,
            Self::Pair(a, b) if a == b => has(*a, 2),
            Self::Pair(a, b) => has(*a, 1) && has(*b, 1),
            Self::Whole(whole) => pattern == whole,
        }
    }
}

/// So many of the counted strips.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Branch {
    pub(super) counted: Counted,
    /// At least so many, else at most.
    pub(super) at_least: bool,
    pub(super) strips: Count,
}

/// The rows: pieces first, then cuts, then branches.
pub(super) struct Rows<'a> {
    task: &'a Task,
    cuts: &'a [Cut],
    branches: &'a [Branch],
    unit: f64,
}

/// A part of a list.
#[derive(Clone, Copy)]
pub(super) struct Part<'a> {
    pub(super) list: &'a [Pattern],
    pub(super) places: &'a [u32],
}

impl<'a> Part<'a> {
    fn patterns(self) -> impl Iterator<Item = (u32, &'a Pattern)> {
        self.places.iter().map(move |&place| (place, &self.list[place as usize]))
    }
}

/// What a linear program over a list says.
pub(super) struct Point {
    /// Cost, and what is left out at its cost, in dearest strips.
    pub(super) value: f64,
    /// (place in the list, amount).
    pub(super) uses: Vec<(u32, f64)>,
    /// Pieces left out or strips missing.
    pub(super) missing: f64,
    prices: Vec<f64>,
}

/// Exact prices, in fine parts.
pub(super) struct Proof {
    prices: Vec<i64>,
    /// What a strip may lack of its cost: the goal less the worth of all right-hand sides, and what strips may be worth
    /// above their cost.
    room: i128,
}

impl Proof {
    /// Whether no plan of the list up to the goal keeps to the branches.
    pub(super) fn is_closed(&self) -> bool {
        self.room < 0
    }

    /// Whether a cut counts.
    pub(super) fn is_tight(&self, task: &Task, cut: usize) -> bool {
        self.prices[task.wanted.len() + cut] > 0
    }
}

impl<'a> Rows<'a> {
    pub(super) fn new(task: &'a Task, cuts: &'a [Cut], branches: &'a [Branch]) -> Self {
        Self { task, cuts, branches, unit: float(task.dearest()) }
    }

    fn first_cut(&self) -> usize {
        self.task.wanted.len()
    }

    fn first_branch(&self) -> usize {
        self.first_cut() + self.cuts.len()
    }

    /// Entries of a strip in all rows.
    fn entries<'b>(&'b self, pattern: &'b Pattern) -> impl Iterator<Item = (usize, Count)> + 'b {
        let pieces = pattern.pieces.iter().copied();
        let cuts = self.cuts.iter().map(|cut| cut.entry(pattern));
        let branches = self.branches.iter().map(|branch| Count::from(branch.counted.counts(pattern)));
        let first = self.first_cut();
        pieces.chain(cuts.chain(branches).enumerate().map(move |(at, entry)| (first + at, entry)))
    }

    fn rhs(&self) -> impl Iterator<Item = Count> {
        let pieces = self.task.wanted.iter().copied();
        let cuts = self.cuts.iter().map(|cut| cut.least);
        pieces.chain(cuts).chain(self.branches.iter().map(|branch| branch.strips))
    }

    /// Whether a row asks for something; the others are branches that leave room.
    fn asks(&self, row: usize) -> bool {
        row.checked_sub(self.first_branch()).is_none_or(|branch| self.branches[branch].at_least)
    }

    /// Starts from everything left out.
    fn simplex(&self) -> Simplex {
        let rhs: Vec<f64> = self.rhs().map(float).collect();
        let costs: Vec<f64> = (0..rhs.len()).map(|row| if self.asks(row) { ARTIFICIAL } else { 0.0 }).collect();
        let mut simplex = Simplex::new(&rhs, &costs, 1);
        for row in (0..rhs.len()).filter(|&row| self.asks(row)) {
            simplex.add(Column { cost: 0.0, entries: vec![(row, -1.0)] });
        }
        simplex
    }

    /// Solves the linear program over a part of a list, beginning with the columns `start`. `None` where it was stopped
    /// or gave up.
    pub(super) fn solve(&self, part: Part<'_>, start: &[u32], stop: Stop<'_>) -> Option<Point> {
        let mut simplex = self.simplex();
        let begin = simplex.len();
        let mut taken: Vec<u32> = Vec::new();
        let mut fresh = start.to_vec();
        for _ in 0..LOOKS {
            for place in fresh.drain(..) {
                let pattern = &part.list[place as usize];
                let entries = self.entries(pattern).filter(|of| of.1 != 0).map(|(row, entry)| (row, float(entry)));
                simplex.add(Column { cost: float(pattern.cost) / self.unit, entries: entries.collect() });
                taken.push(place);
            }
            if stop() || !simplex.optimise() {
                return None;
            }
            fresh = self.violated(part, simplex.prices());
            if fresh.is_empty() {
                return Some(self.point(&simplex, begin, &taken));
            }
        }
        None
    }

    fn point(&self, simplex: &Simplex, begin: usize, taken: &[u32]) -> Point {
        let rows = self.first_branch() + self.branches.len();
        let mut uses = Vec::new();
        let mut missing = 0.0;
        for (column, amount) in simplex.basic_amounts() {
            if column >= begin && amount > LEAST_USE {
                uses.push((taken[column - begin], amount));
            } else if column < rows && self.asks(column) {
                missing += amount.max(0.0);
            }
        }
        uses.sort_unstable_by_key(|of| of.0);
        Point { value: simplex.value(), uses, missing, prices: simplex.prices().to_vec() }
    }

    /// Strips worth most above their cost.
    fn violated(&self, part: Part<'_>, prices: &[f64]) -> Vec<u32> {
        let mut found: Vec<(f64, u32)> = Vec::new();
        for (place, pattern) in part.patterns() {
            let worth: f64 = self.entries(pattern).map(|(row, entry)| prices[row] * float(entry)).sum();
            let over = worth - float(pattern.cost) / self.unit;
            if over > TOLERANCE {
                found.push((over, place));
            }
        }
        found.sort_by(|a, b| b.0.total_cmp(&a.0).then_with(|| a.1.cmp(&b.1)));
        found.truncate(FRESH);
        found.into_iter().map(|(_, place)| place).collect()
    }

    /// Prices of a point in integers, and what they say of plans up to a goal. A row that holds one way only has a price
    /// of one sign.
    pub(super) fn proof(&self, part: Part<'_>, point: &Point, goal: i64) -> Proof {
        let unit = float(self.task.fine) * self.unit;
        #[allow(clippy::cast_possible_truncation, reason = "prices are small")]
        let whole = |price: f64| (price.clamp(-1000.0, 1000.0) * unit).round() as i64;
        let signed = |(row, &price): (usize, &f64)| {
            let price = whole(price);
            if self.asks(row) { price.max(0) } else { price.min(0) }
        };
        let prices: Vec<i64> = point.prices.iter().enumerate().map(signed).collect();
        let worth: i128 =
            self.rhs().zip(&prices).map(|(count, &price)| i128::from(count) * i128::from(price)).sum();
        let over = part.patterns().map(|(_, pattern)| -self.lacks(pattern, &prices)).max().unwrap_or(0).max(0);
        let over = over * i128::from(self.task.most_strips(goal));
        Proof { prices, room: i128::from(goal) * i128::from(self.task.fine) - worth + over }
    }

    /// What a strip's worth lacks of its cost.
    fn lacks(&self, pattern: &Pattern, prices: &[i64]) -> i128 {
        let worth: i128 =
            self.entries(pattern).map(|(row, entry)| i128::from(prices[row]) * i128::from(entry)).sum();
        i128::from(pattern.cost) * i128::from(self.task.fine) - worth
    }

    /// Places of the strips that may stand in a plan up to the goal.
    pub(super) fn within(&self, part: Part<'_>, proof: &Proof) -> Vec<u32> {
        let near = part.patterns().filter(|of| self.lacks(of.1, &proof.prices) <= proof.room);
        near.map(|(place, _)| place).collect()
    }
}
