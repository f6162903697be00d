//! The relaxation over a list of patterns, with cuts and branches: columns are found by looking through the list. What
//! the list leaves out must be known not to matter; then everything said here is exact, as prices are rounded to
//! integers and every pattern of the list is priced again in integers.

use super::cuts::Cut;
use super::relax::SCALE;
use super::simplex::{Column, Simplex};
use super::{Count, Pattern};
use crate::listen::Stop;

/// Cost of leaving out a piece, or a strip that a branch asks for.
const ARTIFICIAL: f64 = 10.0;
/// Columns added in one look through the list.
const FRESH: usize = 60;
/// Worth above one strip that counts as a violation.
const TOLERANCE: f64 = 1e-8;
/// Looks through the list for one linear program.
const LOOKS: usize = 500;

/// A demand on how many strips carry at least `part`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Branch {
    pub(super) part: Pattern,
    /// At least so many strips, else at most.
    pub(super) at_least: bool,
    pub(super) strips: Count,
}

/// Whether a pattern carries all of a part.
pub(super) fn carries(pattern: &Pattern, part: &Pattern) -> bool {
    part.iter().all(|&(item, count)| pattern.iter().any(|of| of.0 == item && of.1 >= count))
}

/// The rows: items first, then cuts, then branches.
pub(super) struct Rows<'a> {
    wanted: &'a [Count],
    cuts: &'a [Cut],
    branches: &'a [Branch],
    /// Cuts that an item is in.
    of_item: Vec<Vec<usize>>,
    /// Room for one number a cut, all zero between uses.
    sums: Vec<Count>,
}

/// A part of a list.
#[derive(Clone, Copy)]
pub(super) struct Part<'a> {
    pub(super) list: &'a [Pattern],
    pub(super) places: &'a [u32],
}

/// What a linear program over a list says.
pub(super) struct Point {
    /// Strips, as a fraction, and what is left out at its cost.
    pub(super) value: f64,
    /// (place in the list, amount).
    pub(super) uses: Vec<(u32, f64)>,
    /// Pieces left out or strips missing.
    pub(super) missing: f64,
    prices: Vec<f64>,
}

/// Exact prices, in parts of `SCALE`.
pub(super) struct Proof {
    prices: Vec<i64>,
    /// Worth of all right-hand sides.
    worth: i128,
    /// No pattern of the list is worth more.
    most: i64,
}

impl Part<'_> {
    fn patterns(&self) -> impl Iterator<Item = (u32, &Pattern)> {
        self.places.iter().map(|&place| (place, &self.list[place as usize]))
    }
}

impl Proof {
    /// What the worth of the patterns of `goal` strips may lack in all; negative where so few cannot do.
    pub(super) fn room(&self, goal: Count) -> i128 {
        i128::from(goal) * i128::from(self.most) - self.worth
    }
}

impl<'a> Rows<'a> {
    pub(super) fn new(wanted: &'a [Count], cuts: &'a [Cut], branches: &'a [Branch]) -> Self {
        let mut of_item = vec![Vec::new(); wanted.len()];
        for (at, cut) in cuts.iter().enumerate() {
            cut.items.iter().for_each(|&item| of_item[item].push(at));
        }
        Self { wanted, cuts, branches, of_item, sums: vec![0; cuts.len()] }
    }

    /// First row of a branch.
    fn first_branch(&self) -> usize {
        self.wanted.len() + self.cuts.len()
    }

    /// Entries of a pattern in all rows.
    fn entries(&mut self, pattern: &Pattern) -> Vec<(usize, Count)> {
        let mut entries = pattern.clone();
        let mut touched: Vec<usize> = Vec::new();
        for &(item, count) in pattern {
            for &cut in &self.of_item[item] {
                if self.sums[cut] == 0 {
                    touched.push(cut);
                }
                self.sums[cut] += count;
            }
        }
        for cut in touched {
            let half = std::mem::take(&mut self.sums[cut]) / 2;
            if half > 0 {
                entries.push((self.wanted.len() + cut, half));
            }
        }
        let first = self.first_branch();
        let branches = self.branches.iter().enumerate().filter(|(_, branch)| carries(pattern, &branch.part));
        entries.extend(branches.map(|(at, _)| (first + at, 1)));
        entries
    }

    fn rhs(&self) -> impl Iterator<Item = Count> {
        let items = self.wanted.iter().copied();
        let cuts = self.cuts.iter().map(|cut| cut.most);
        items.chain(cuts).chain(self.branches.iter().map(|branch| branch.strips))
    }

    /// Starts from everything left out.
    #[allow(clippy::cast_precision_loss, reason = "counts are far below 2^53")]
    fn simplex(&self) -> Simplex {
        let rhs: Vec<f64> = self.rhs().map(|count| count as f64).collect();
        let mut costs = vec![ARTIFICIAL; self.wanted.len()];
        costs.extend(self.cuts.iter().map(|_| 0.0));
        costs.extend(self.branches.iter().map(|branch| if branch.at_least { ARTIFICIAL } else { 0.0 }));
        let mut simplex = Simplex::new(&rhs, &costs, 1);
        for (at, _) in self.branches.iter().enumerate().filter(|(_, branch)| branch.at_least) {
            simplex.add(Column { cost: 0.0, entries: vec![(self.first_branch() + at, -1.0)] });
        }
        simplex
    }

    /// Solves the linear program over a part of a list, beginning with the columns `start`. `None` where it was stopped
    /// or gave up.
    pub(super) fn solve(&mut self, part: Part<'_>, start: &[u32], stop: Stop<'_>) -> Option<Point> {
        let mut simplex = self.simplex();
        let begin = simplex.len();
        let mut taken: Vec<u32> = Vec::new();
        let mut fresh = start.to_vec();
        for _ in 0..LOOKS {
            for place in fresh.drain(..) {
                let entries = self.entries(&part.list[place as usize]);
                #[allow(clippy::cast_precision_loss, reason = "entries are small")]
                let entries = entries.into_iter().map(|(row, entry)| (row, entry as f64)).collect();
                simplex.add(Column { cost: 1.0, entries });
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
        let slack = |row: usize| {
            let cut = (self.wanted.len()..self.first_branch()).contains(&row);
            cut || row >= self.first_branch() && !self.branches[row - self.first_branch()].at_least
        };
        let rows = self.first_branch() + self.branches.len();
        let mut uses = Vec::new();
        let mut missing = 0.0;
        for (column, amount) in simplex.basic_amounts() {
            if column >= begin && amount > 1e-7 {
                uses.push((taken[column - begin], amount));
            } else if column < rows && !slack(column) {
                missing += amount.max(0.0);
            }
        }
        uses.sort_unstable_by_key(|of| of.0);
        Point { value: simplex.value(), uses, missing, prices: simplex.prices().to_vec() }
    }

    /// Patterns worth most above one strip.
    #[allow(clippy::cast_precision_loss, reason = "entries are small")]
    fn violated(&mut self, part: Part<'_>, prices: &[f64]) -> Vec<u32> {
        let mut found: Vec<(f64, u32)> = Vec::new();
        // Only branches that ask for strips add worth; cuts and the other branches take it away.
        let added: f64 = prices[self.first_branch()..].iter().map(|price| price.max(0.0)).sum();
        for (place, pattern) in part.patterns() {
            let plain: f64 = pattern.iter().map(|&(item, count)| prices[item] * count as f64).sum();
            if plain + added <= 1.0 + TOLERANCE {
                continue;
            }
            let worth: f64 =
                self.entries(pattern).into_iter().map(|(row, entry)| prices[row] * entry as f64).sum();
            if worth > 1.0 + TOLERANCE {
                found.push((worth, place));
            }
        }
        found.sort_by(|a, b| b.0.total_cmp(&a.0).then_with(|| a.1.cmp(&b.1)));
        found.truncate(FRESH);
        found.into_iter().map(|(_, place)| place).collect()
    }

    /// Prices of a point in integers. A row that holds one way only has a price of one sign.
    pub(super) fn proof(&mut self, part: Part<'_>, point: &Point) -> Proof {
        #[allow(clippy::cast_possible_truncation, clippy::cast_precision_loss, reason = "prices are small")]
        let whole = |price: &f64| (price.clamp(-1000.0, 1000.0) * SCALE as f64).round() as i64;
        let mut prices: Vec<i64> = point.prices.iter().map(whole).collect();
        let first = self.first_branch();
        prices[self.wanted.len()..first].iter_mut().for_each(|price| *price = (*price).min(0));
        for (price, branch) in prices[first..].iter_mut().zip(self.branches) {
            *price = if branch.at_least { (*price).max(0) } else { (*price).min(0) };
        }
        let worth =
            self.rhs().zip(&prices).map(|(count, &price)| i128::from(count) * i128::from(price)).sum();
        let worths = part.patterns().map(|(_, pattern)| self.worth(pattern, &prices));
        let most = worths.max().unwrap_or(SCALE).max(SCALE);
        Proof { prices, worth, most }
    }

    fn worth(&mut self, pattern: &Pattern, prices: &[i64]) -> i64 {
        self.entries(pattern).into_iter().map(|(row, entry)| prices[row] * entry).sum()
    }

    /// Places of the patterns that may stand in a plan of `goal` strips.
    pub(super) fn within(&mut self, part: Part<'_>, proof: &Proof, goal: Count) -> Vec<u32> {
        let least = i128::from(proof.most) - proof.room(goal);
        let near = part.patterns().filter(|of| i128::from(self.worth(of.1, &proof.prices)) >= least);
        near.map(|(place, _)| place).collect()
    }
}
