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
/// Worth below the cost up to which a strip is looked at again before all others, in dearest strips, and of how many.
const NEAR: f64 = 0.05;
const MOST_NEAR: usize = 3000;
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

/// Exact prices, in fine parts, and what they say of plans up to a goal.
pub(super) struct Proof {
    prices: Vec<i64>,
    /// What the worth of every strip of the part lacks of its cost.
    lacks: Vec<i128>,
    /// What a strip may lack: the goal less the worth of all right-hand sides, and what strips may be worth above their
    /// cost.
    room: i128,
}

impl Proof {
    /// Whether no plan of the list up to the goal keeps to the branches.
    pub(super) fn is_closed(&self) -> bool {
        self.room < 0
    }

    /// Places of the strips that may stand in a plan up to the goal.
    pub(super) fn within(&self, part: Part<'_>) -> Vec<u32> {
        let near = part.places.iter().zip(&self.lacks).filter(|of| *of.1 <= self.room);
        near.map(|of| *of.0).collect()
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

    /// Entries of a strip in the rows of its pieces and in some of the others.
    fn entries<'b>(
        &'b self,
        pattern: &'b Pattern,
        others: &'b [usize],
    ) -> impl Iterator<Item = (usize, Count)> + 'b {
        let entry = |&row: &usize| match row.checked_sub(self.first_branch()) {
            Some(branch) => (row, Count::from(self.branches[branch].counted.counts(pattern))),
            None => (row, self.cuts[row - self.first_cut()].entry(pattern)),
        };
        pattern.pieces.iter().copied().chain(others.iter().map(entry))
    }

    /// Cuts and branches.
    fn others(&self) -> impl Iterator<Item = usize> {
        self.first_cut()..self.first_branch() + self.branches.len()
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
        let costs: Vec<f64> =
            (0..rhs.len()).map(|row| if self.asks(row) { ARTIFICIAL } else { 0.0 }).collect();
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
        let others: Vec<usize> = self.others().collect();
        let mut taken: Vec<u32> = Vec::new();
        let mut fresh = start.to_vec();
        // Only now and then is all of the part looked at.
        let mut near: Vec<u32> = Vec::new();
        for _ in 0..LOOKS {
            for place in fresh.drain(..) {
                let pattern = &part.list[place as usize];
                let entries = self.entries(pattern, &others).filter(|of| of.1 != 0);
                let entries = entries.map(|(row, entry)| (row, float(entry))).collect();
                simplex.add(Column { cost: float(pattern.cost) / self.unit, entries });
                taken.push(place);
            }
            if stop() || !simplex.optimise() {
                return None;
            }
            let prices = simplex.prices();
            fresh = best(&self.above(Part { places: &near, ..part }, prices, TOLERANCE), FRESH);
            if fresh.is_empty() {
                let above = self.above(part, prices, -NEAR);
                near = best(&above, MOST_NEAR);
                fresh = above.into_iter().filter(|of| of.0 > TOLERANCE).map(|of| of.1).take(FRESH).collect();
            }
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

    /// Strips worth more above their cost than so much, the most first.
    fn above(&self, part: Part<'_>, prices: &[f64], least: f64) -> Vec<(f64, u32)> {
        let priced: Vec<usize> = self.others().filter(|&row| prices[row] != 0.0).collect();
        let mut found: Vec<(f64, u32)> = Vec::new();
        for (place, pattern) in part.patterns() {
            let entries = self.entries(pattern, &priced);
            let worth: f64 = entries.map(|(row, entry)| prices[row] * float(entry)).sum();
            let over = worth - float(pattern.cost) / self.unit;
            if over > least {
                found.push((over, place));
            }
        }
        found.sort_by(|a, b| b.0.total_cmp(&a.0).then_with(|| a.1.cmp(&b.1)));
        found
    }

    /// Prices of a point in integers, and what they say of plans up to a goal. A row that holds one way only has a price
    /// of one sign.
    pub(super) fn proof(&self, part: Part<'_>, point: &Point, goal: i64) -> Proof {
        let fine = i128::from(self.task.fine);
        let unit = float(self.task.fine) * self.unit;
        #[allow(clippy::cast_possible_truncation, reason = "prices are small")]
        let whole = |price: f64| (price.clamp(-1000.0, 1000.0) * unit).round() as i64;
        let signed = |(row, &price): (usize, &f64)| {
            let price = whole(price);
            if self.asks(row) { price.max(0) } else { price.min(0) }
        };
        let prices: Vec<i64> = point.prices.iter().enumerate().map(signed).collect();
        let priced: Vec<usize> = self.others().filter(|&row| prices[row] != 0).collect();
        let times = |row: usize, count: Count| i128::from(prices[row]) * i128::from(count);
        let worth: i128 = self.rhs().enumerate().map(|(row, count)| times(row, count)).sum();
        let lacks = |(_, pattern): (u32, &Pattern)| {
            let worth: i128 = self.entries(pattern, &priced).map(|(row, entry)| times(row, entry)).sum();
            i128::from(pattern.cost) * fine - worth
        };
        let lacks: Vec<i128> = part.patterns().map(lacks).collect();
        let over = -lacks.iter().copied().min().unwrap_or(0).min(0);
        let over = over * i128::from(self.task.most_strips(goal));
        Proof { prices, lacks, room: i128::from(goal) * fine - worth + over }
    }
}

fn best(found: &[(f64, u32)], most: usize) -> Vec<u32> {
    found.iter().take(most).map(|of| of.1).collect()
}
