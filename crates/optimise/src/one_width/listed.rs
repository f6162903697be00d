//! An order over a list of patterns: the linear program with cuts and branches, columns found by looking through the
//! list. What the list leaves out must be known not to matter; then everything said here is exact, as prices are
//! rounded to integers and every pattern of the list is priced again in integers.

use super::cuts::Cut;
use super::relax::SCALE;
use super::simplex::{Column, Simplex};
use super::{Count, Pattern, Stop};

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
    pub(super) at_least: bool,
    pub(super) strips: Count,
}

/// Whether a pattern carries all of a part.
pub(super) fn carries(pattern: &Pattern, part: &Pattern) -> bool {
    part.iter().all(|&(item, count)| pattern.iter().any(|of| of.0 == item && of.1 >= count))
}

/// Rows of a linear program beyond those of the items.
pub(super) struct Rows<'a> {
    pub(super) wanted: &'a [Count],
    pub(super) cuts: &'a [Cut],
    pub(super) branches: &'a [Branch],
    /// (cut, weight) of every item.
    weights: Vec<Vec<(usize, i64)>>,
}

/// What a linear program over a list says.
pub(super) struct Point {
    pub(super) value: f64,
    /// (place in the list, amount).
    pub(super) uses: Vec<(u32, f64)>,
    /// Prices in floating point: items, cuts, branches.
    prices: Vec<f64>,
    /// Pieces left out or strips missing.
    pub(super) missing: f64,
}

/// Exact prices, in parts of `SCALE`.
pub(super) struct Proof {
    prices: Vec<i64>,
    /// Worth of all right-hand sides.
    worth: i64,
    /// No pattern of the list is worth more.
    most: i64,
}

impl<'a> Rows<'a> {
    pub(super) fn new(wanted: &'a [Count], cuts: &'a [Cut], branches: &'a [Branch]) -> Self {
        let mut weights = vec![Vec::new(); wanted.len()];
        for (at, cut) in cuts.iter().enumerate() {
            cut.weights.iter().for_each(|&(item, weight)| weights[item].push((at, weight)));
        }
        Self { wanted, cuts, branches, weights }
    }

    fn len(&self) -> usize {
        self.wanted.len() + self.cuts.len() + self.branches.len()
    }

    /// Entries of a pattern in all rows; `sums` is room for one number a cut, all zero.
    fn entries(&self, pattern: &Pattern, sums: &mut [i64]) -> Vec<(usize, i64)> {
        let mut entries: Vec<(usize, i64)> = pattern.clone();
        let mut touched: Vec<usize> = Vec::new();
        for &(item, count) in pattern {
            for &(cut, weight) in &self.weights[item] {
                if sums[cut] == 0 {
                    touched.push(cut);
                }
                sums[cut] += weight * count;
            }
        }
        for cut in touched {
            let entry = sums[cut] / self.cuts[cut].over;
            sums[cut] = 0;
            if entry != 0 {
                entries.push((self.wanted.len() + cut, entry));
            }
        }
        let branches = self.branches.iter().enumerate().filter(|(_, branch)| carries(pattern, &branch.part));
        entries.extend(branches.map(|(at, _)| (self.wanted.len() + self.cuts.len() + at, 1)));
        entries
    }

    #[allow(clippy::cast_precision_loss, reason = "counts are far below 2^53")]
    fn simplex(&self) -> Simplex {
        let mut rhs: Vec<f64> = self.wanted.iter().map(|&count| count as f64).collect();
        let mut costs = vec![ARTIFICIAL; rhs.len()];
        rhs.extend(self.cuts.iter().map(|cut| cut.most as f64));
        costs.extend(self.cuts.iter().map(|_| 0.0));
        rhs.extend(self.branches.iter().map(|branch| branch.strips as f64));
        costs.extend(self.branches.iter().map(|branch| if branch.at_least { ARTIFICIAL } else { 0.0 }));
        let mut simplex = Simplex::new(&rhs, &costs);
        let surplus = |row: usize| Column { cost: 0.0, entries: vec![(row, -1.0)] };
        (0..self.wanted.len()).for_each(|row| {
            simplex.add(surplus(row));
        });
        for (at, _) in self.branches.iter().enumerate().filter(|(_, branch)| branch.at_least) {
            simplex.add(surplus(self.wanted.len() + self.cuts.len() + at));
        }
        simplex
    }

    /// Solves the linear program over the part `places` of `list`, beginning with the columns `start`.
    pub(super) fn solve(
        &self,
        list: &[Pattern],
        places: &[u32],
        start: &[u32],
        stop: Stop<'_>,
    ) -> Option<Point> {
        let mut simplex = self.simplex();
        let begin = simplex.len();
        let mut sums = vec![0; self.cuts.len()];
        let mut taken: Vec<u32> = Vec::new();
        let mut fresh = start.to_vec();
        for _ in 0..LOOKS {
            for place in fresh.drain(..) {
                let entries = self.entries(&list[place as usize], &mut sums);
                #[allow(clippy::cast_precision_loss, reason = "entries are small")]
                let entries = entries.into_iter().map(|(row, entry)| (row, entry as f64)).collect();
                simplex.add(Column { cost: 1.0, entries });
                taken.push(place);
            }
            if !simplex.optimise() {
                return None;
            }
            fresh = self.violated(list, places, simplex.prices(), &mut sums);
            if fresh.is_empty() {
                return Some(self.point(&simplex, begin, &taken));
            }
            if stop() {
                return None;
            }
        }
        None
    }

    fn point(&self, simplex: &Simplex, begin: usize, taken: &[u32]) -> Point {
        let rows = self.len();
        let cuts = self.wanted.len()..self.wanted.len() + self.cuts.len();
        let mut uses = Vec::new();
        let mut missing = 0.0;
        for (column, amount) in simplex.basic_amounts() {
            if column >= begin && amount > 1e-7 {
                uses.push((taken[column - begin], amount));
            } else if column < rows && !cuts.contains(&column) {
                let slack = column >= cuts.end && !self.branches[column - cuts.end].at_least;
                missing += if slack { 0.0 } else { amount.max(0.0) };
            }
        }
        uses.sort_unstable_by_key(|of| of.0);
        Point { value: simplex.value(), uses, prices: simplex.prices().to_vec(), missing }
    }

    /// Patterns worth most above one strip.
    #[allow(clippy::cast_precision_loss, reason = "entries are small")]
    fn violated(&self, list: &[Pattern], places: &[u32], prices: &[f64], sums: &mut [i64]) -> Vec<u32> {
        let mut found: Vec<(f64, u32)> = Vec::new();
        // At-least branches add worth, cuts and at-most branches only take it away.
        let added: f64 = prices[self.wanted.len() + self.cuts.len()..].iter().map(|price| price.max(0.0)).sum();
        for &place in places {
            let pattern = &list[place as usize];
            let plain: f64 = pattern.iter().map(|&(item, count)| prices[item] * count as f64).sum();
            if plain + added <= 1.0 + TOLERANCE {
                continue;
            }
            let worth: f64 =
                self.entries(pattern, sums).iter().map(|&(row, entry)| prices[row] * entry as f64).sum();
            if worth > 1.0 + TOLERANCE {
                found.push((worth, place));
            }
        }
        found.sort_by(|a, b| b.0.total_cmp(&a.0).then_with(|| a.1.cmp(&b.1)));
        found.truncate(FRESH);
        found.into_iter().map(|(_, place)| place).collect()
    }

    /// Prices of a point in integers.
    pub(super) fn proof(&self, list: &[Pattern], places: &[u32], point: &Point) -> Proof {
        #[allow(clippy::cast_possible_truncation, clippy::cast_precision_loss, reason = "prices are small")]
        let whole = |price: &f64| (price.clamp(-1000.0, 1000.0) * SCALE as f64).round() as i64;
        let mut prices: Vec<i64> = point.prices.iter().map(whole).collect();
        // A row that holds one way only has a price of one sign.
        let items = self.wanted.len();
        prices[items..items + self.cuts.len()].iter_mut().for_each(|price| *price = (*price).min(0));
        for (price, branch) in prices[items + self.cuts.len()..].iter_mut().zip(self.branches) {
            *price = if branch.at_least { (*price).max(0) } else { (*price).min(0) };
        }
        let rhs = self.wanted.iter().copied();
        let rhs = rhs.chain(self.cuts.iter().map(|cut| cut.most));
        let rhs = rhs.chain(self.branches.iter().map(|branch| branch.strips));
        let worth = rhs.zip(&prices).map(|(b, price)| b * price).sum();
        let mut proof = Proof { prices, worth, most: SCALE };
        let mut sums = vec![0; self.cuts.len()];
        for &place in places {
            proof.most = proof.most.max(self.worth(&list[place as usize], &proof, &mut sums));
        }
        proof
    }

    fn worth(&self, pattern: &Pattern, proof: &Proof, sums: &mut [i64]) -> i64 {
        self.entries(pattern, sums).iter().map(|&(row, entry)| proof.prices[row] * entry).sum()
    }

    /// The part of the list that may stand in `goal` strips.
    pub(super) fn within(&self, list: &[Pattern], places: &[u32], proof: &Proof, goal: Count) -> Vec<u32> {
        let mut sums = vec![0; self.cuts.len()];
        let least = proof.most - proof.room(goal);
        places.iter().copied().filter(|&place| self.worth(&list[place as usize], proof, &mut sums) >= least).collect()
    }
}

impl Proof {
    /// What the worth of the patterns of `goal` strips may lack in all; negative where so few cannot do.
    pub(super) fn room(&self, goal: Count) -> i64 {
        goal * self.most - self.worth
    }
}
