//! Rank-one cuts: half of three rows added up and rounded down (Chvatal, Discrete Mathematics 4 (1973); for three rows
//! Jepsen, Petersen, Spoorendonk and Pisinger, Operations Research 56 (2008)). They hold for patterns that carry just
//! what is wanted. Wider cuts were tried and made no search shorter.

use std::collections::{BTreeMap, BTreeSet};

use super::{Count, Pattern};

/// The sum over the strips of half the pieces of some items on each, rounded down, is at most `most`.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Cut {
    pub(super) items: Vec<usize>,
    pub(super) most: Count,
}

/// Violation from which a cut is worth having.
const LEAST: f64 = 0.01;

/// Patterns in use, by item.
struct Support<'a> {
    wanted: &'a [Count],
    uses: &'a [(&'a Pattern, f64)],
    /// (use, count) of every item.
    of: Vec<Vec<(usize, Count)>>,
    /// Items that share a pattern with each item.
    near: Vec<BTreeSet<usize>>,
}

impl<'a> Support<'a> {
    fn new(wanted: &'a [Count], uses: &'a [(&'a Pattern, f64)]) -> Self {
        let mut of = vec![Vec::new(); wanted.len()];
        let mut near: Vec<BTreeSet<usize>> = vec![BTreeSet::new(); wanted.len()];
        for (at, (pattern, _)) in uses.iter().enumerate() {
            for &(item, count) in *pattern {
                of[item].push((at, count));
                near[item].extend(pattern.iter().map(|other| other.0).filter(|&other| other != item));
            }
        }
        Self { wanted, uses, of, near }
    }

    /// How far the halves of these items are violated; negative where their number is even.
    #[allow(clippy::cast_precision_loss, reason = "counts are small")]
    fn violation(&self, items: &[usize]) -> f64 {
        let total: Count = items.iter().map(|&item| self.wanted[item]).sum();
        if total % 2 == 0 {
            return -1.0;
        }
        let mut sums: BTreeMap<usize, Count> = BTreeMap::new();
        for &item in items {
            self.of[item].iter().for_each(|&(at, count)| *sums.entry(at).or_insert(0) += count);
        }
        let left: f64 = sums.iter().map(|(&at, &sum)| (sum / 2) as f64 * self.uses[at].1).sum();
        left - (total / 2) as f64
    }
}

/// The most violated cuts at a point, at most so many.
pub(super) fn violated(wanted: &[Count], uses: &[(&Pattern, f64)], most: usize) -> Vec<Cut> {
    let support = Support::new(wanted, uses);
    let mut sets: BTreeSet<Vec<usize>> = BTreeSet::new();
    for (middle, near) in support.near.iter().enumerate() {
        sets.insert(vec![middle]);
        let near: Vec<usize> = near.iter().copied().collect();
        for (at, &a) in near.iter().enumerate() {
            for &b in &near[at + 1..] {
                let mut triple = vec![middle, a, b];
                triple.sort_unstable();
                sets.insert(triple);
            }
        }
    }
    let mut found: Vec<(f64, Vec<usize>)> =
        sets.into_iter().map(|items| (support.violation(&items), items)).filter(|of| of.0 > LEAST).collect();
    found.sort_by(|a, b| b.0.total_cmp(&a.0).then_with(|| a.1.cmp(&b.1)));
    found.truncate(most);
    let cut = |items: Vec<usize>| {
        let total: Count = items.iter().map(|&item| wanted[item]).sum();
        Cut { items, most: total / 2 }
    };
    found.into_iter().map(|(_, items)| cut(items)).collect()
}
