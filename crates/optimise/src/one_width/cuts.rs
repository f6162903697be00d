//! Rank-one cuts: half of several rows added up and rounded down (Chvatal, Discrete Mathematics 4 (1973); three rows:
//! Jepsen, Petersen, Spoorendonk and Pisinger, Operations Research 56 (2008)). They hold for patterns that carry just
//! what is wanted.

use std::collections::{BTreeMap, BTreeSet};

use super::{Count, Pattern};

/// The sum over the patterns of `weights . pattern / over`, rounded down, is at most `most`.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Cut {
    /// (item, weight).
    pub(super) weights: Vec<(usize, i64)>,
    pub(super) over: i64,
    pub(super) most: Count,
}

/// Violation from which a cut is worth having.
const LEAST: f64 = 0.01;
/// Most items of a cut.
const WIDEST: usize = 9;

impl Cut {
    fn halves(items: &[usize], wanted: &[Count]) -> Self {
        let total: Count = items.iter().map(|&item| wanted[item]).sum();
        let mut weights: Vec<(usize, i64)> = items.iter().map(|&item| (item, 1)).collect();
        weights.sort_unstable();
        Self { weights, over: 2, most: total / 2 }
    }
}

/// Support of a point, by item.
struct Support<'a> {
    wanted: &'a [Count],
    uses: &'a [(&'a Pattern, f64)],
    /// (use, count) of every item.
    of: Vec<Vec<(usize, Count)>>,
    neighbours: Vec<Vec<usize>>,
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
        Self { wanted, uses, of, neighbours: near.into_iter().map(|set| set.into_iter().collect()).collect() }
    }

    /// How far the halves of these items are violated; negative where their sum is even.
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

    /// Adds items two at a time while the violation grows.
    fn widen(&self, items: &mut Vec<usize>, violation: &mut f64) {
        while items.len() + 2 <= WIDEST {
            let near: BTreeSet<usize> =
                items.iter().flat_map(|&item| self.neighbours[item].iter().copied()).collect();
            let near: Vec<usize> = near.into_iter().filter(|item| !items.contains(item)).collect();
            let mut best: Option<(f64, [usize; 2])> = None;
            for (at, &a) in near.iter().enumerate() {
                for &b in near[at + 1..].iter() {
                    items.extend([a, b]);
                    let with = self.violation(items);
                    items.truncate(items.len() - 2);
                    if with > best.map_or(*violation, |best| best.0) + 1e-6 {
                        best = Some((with, [a, b]));
                    }
                }
            }
            let Some((with, more)) = best else { return };
            items.extend(more);
            *violation = with;
        }
    }
}

/// The most violated cuts at a point, at most so many.
pub(super) fn violated(wanted: &[Count], uses: &[(&Pattern, f64)], most: usize, widen: bool) -> Vec<Cut> {
    let support = Support::new(wanted, uses);
    let mut found: BTreeMap<[usize; 3], f64> = BTreeMap::new();
    for (middle, neighbours) in support.neighbours.iter().enumerate() {
        if support.violation(&[middle]) > LEAST {
            found.insert([middle; 3], support.violation(&[middle]));
        }
        for (at, &a) in neighbours.iter().enumerate() {
            for &b in &neighbours[at + 1..] {
                let mut triple = [middle, a, b];
                triple.sort_unstable();
                if !found.contains_key(&triple) {
                    let violation = support.violation(&triple);
                    if violation > LEAST {
                        found.insert(triple, violation);
                    }
                }
            }
        }
    }
    let mut found: Vec<(f64, [usize; 3])> = found.into_iter().map(|(triple, v)| (v, triple)).collect();
    found.sort_by(|a, b| b.0.total_cmp(&a.0).then_with(|| a.1.cmp(&b.1)));
    found.truncate(most);
    let mut cuts: BTreeSet<Cut> = BTreeSet::new();
    for (mut violation, triple) in found {
        let mut items = triple.to_vec();
        items.dedup();
        if widen {
            support.widen(&mut items, &mut violation);
        }
        cuts.insert(Cut::halves(&items, wanted));
    }
    cuts.into_iter().collect()
}
