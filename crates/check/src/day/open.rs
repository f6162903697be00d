//! How many bags are open at a time, and how few can be in any order of the runs.

use std::collections::{BTreeMap, BTreeSet, HashSet};

/// Most states looked at for one answer, times bags.
const MOST_STATES: usize = 10_000_000;

/// Most bags open at a time: from the first run in this order that cuts for a bag to the last.
pub(super) fn most(bags_of_run: &[BTreeSet<usize>]) -> u64 {
    let mut spans: BTreeMap<usize, (usize, usize)> = BTreeMap::new();
    for (run, bags) in bags_of_run.iter().enumerate() {
        for &bag in bags {
            spans.entry(bag).or_insert((run, run)).1 = run;
        }
    }
    let mut change = vec![(0_u64, 0_u64); bags_of_run.len() + 1];
    for (first, last) in spans.into_values() {
        change[first].0 += 1;
        change[last + 1].1 += 1;
    }
    let mut open = 0;
    change.into_iter().fold(0, |most, (opened, closed)| {
        open = open + opened - closed;
        most.max(open)
    })
}

/// Whether at least so many bags are open at some time in every order of the runs, as far as it can be shown: by the
/// widest run, by the bag that shares runs with the fewest others, or by a search over sets of closed bags.
pub(super) fn proved(at_least: u64, bags_of_run: &[BTreeSet<usize>]) -> bool {
    let mut near: BTreeMap<usize, BTreeSet<usize>> = BTreeMap::new();
    for bags in bags_of_run {
        bags.iter().for_each(|&bag| near.entry(bag).or_default().extend(bags));
    }
    let widest = bags_of_run.iter().map(BTreeSet::len).max().unwrap_or(0);
    // The first bag to be closed has all bags open that share a run with it.
    let least = near.values().map(BTreeSet::len).min().unwrap_or(0);
    let wanted = usize::try_from(at_least).unwrap_or(usize::MAX);
    if wanted <= widest.max(least) {
        return true;
    }
    parts(&near).iter().any(|part| part.len() >= wanted && !Search::can(part, wanted - 1))
}

/// Bags that are joined by runs, with the bags that share runs with each: bit by bit, part by part. Parts of more bags
/// than a number has bits are left out.
fn parts(near: &BTreeMap<usize, BTreeSet<usize>>) -> Vec<Vec<u128>> {
    let mut left: BTreeSet<usize> = near.keys().copied().collect();
    let mut parts = Vec::new();
    while let Some(first) = left.pop_first() {
        let mut part = BTreeSet::from([first]);
        let mut new = vec![first];
        while let Some(bag) = new.pop() {
            new.extend(near[&bag].iter().copied().filter(|&other| part.insert(other)));
        }
        left.retain(|bag| !part.contains(bag));
        let number: BTreeMap<usize, usize> = part.iter().enumerate().map(|(at, &bag)| (bag, at)).collect();
        if part.len() <= 128 {
            let bits = |bag: &usize| near[bag].iter().fold(0, |bits, other| bits | 1_u128 << number[other]);
            parts.push(part.iter().map(bits).collect());
        }
    }
    parts
}

/// A search over sets of closed bags: which bags are open follows from which are closed, and so does what may be closed
/// next (Chu and Stuckey, "Minimizing the maximum number of open stacks by customer search", CP 2009; from memory).
struct Search<'a> {
    near: &'a [u128],
    most: usize,
}

impl Search<'_> {
    /// Whether all bags can be closed with at most so many open at a time, or that is not found out.
    fn can(near: &[u128], most: usize) -> bool {
        let search = Search { near, most };
        let all = u128::MAX >> (128 - near.len());
        let mut known = HashSet::new();
        let mut left = vec![search.closed(0)];
        known.insert(left[0]);
        while let Some(closed) = left.pop() {
            if closed == all || known.len() > MOST_STATES / near.len() {
                return true;
            }
            for next in search.next(closed) {
                if known.insert(next) {
                    left.push(next);
                }
            }
        }
        false
    }

    /// Bags that share a run with a closed one, the closed ones included.
    fn reached(&self, closed: u128) -> u128 {
        self.members(closed).fold(0, |reached, bag| reached | self.near[bag])
    }

    fn members(&self, set: u128) -> impl Iterator<Item = usize> {
        (0..self.near.len()).filter(move |bag| set >> bag & 1 == 1)
    }

    /// Closes everything that opens no further bag: nothing is lost by it.
    fn closed(&self, closed: u128) -> u128 {
        let reached = self.reached(closed);
        let more = self.members(reached).filter(|&bag| self.near[bag] & !reached == 0);
        more.fold(closed, |closed, bag| closed | 1 << bag)
    }

    fn next(&self, closed: u128) -> impl Iterator<Item = u128> {
        let reached = self.reached(closed);
        self.members(!closed).filter_map(move |bag| {
            let open = (reached | self.near[bag]) & !closed;
            (open.count_ones() as usize <= self.most).then(|| self.closed(closed | 1 << bag))
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn runs(lists: &[&[usize]]) -> Vec<BTreeSet<usize>> {
        lists.iter().map(|bags| bags.iter().copied().collect()).collect()
    }

    #[test]
    fn a_bag_is_open_from_its_first_run_to_its_last() {
        assert_eq!(most(&runs(&[])), 0);
        assert_eq!(most(&runs(&[&[], &[]])), 0);
        // Bag 0 is open over all runs, bag 1 in the second, bag 2 in the last two.
        assert_eq!(most(&runs(&[&[0], &[1], &[2], &[0, 2]])), 2);
        assert_eq!(most(&runs(&[&[0, 5], &[1], &[5], &[0, 2]])), 3);
    }

    #[test]
    fn a_ring_needs_three_open_bags_though_no_run_cuts_for_more_than_two() {
        let ring = runs(&[&[0, 1], &[1, 2], &[2, 3], &[3, 4], &[4, 0]]);
        assert!(proved(3, &ring) && !proved(4, &ring));
        let path = runs(&[&[0, 1], &[1, 2], &[2, 3]]);
        assert!(proved(2, &path) && !proved(3, &path));
        assert!(proved(0, &[]) && !proved(1, &[]));
    }

    #[test]
    fn a_grid_of_bags_needs_one_more_than_its_side() {
        // The path width of an n x n grid is n (from memory: Diestel, "Graph Theory", on tree width of grids; the order
        // row by row gives it), and bags open at a time are one more where every run cuts for two.
        let side = 4;
        let mut lists = Vec::new();
        for at in 0..side * side {
            if at % side + 1 < side {
                lists.push(BTreeSet::from([at, at + 1]));
            }
            if at + side < side * side {
                lists.push(BTreeSet::from([at, at + side]));
            }
        }
        assert!(proved(5, &lists) && !proved(6, &lists));
    }

    /// The least over all orders of the runs, one by one.
    fn least(done: &mut Vec<BTreeSet<usize>>, left: &mut Vec<BTreeSet<usize>>) -> u64 {
        if left.is_empty() {
            return most(done);
        }
        let mut best = u64::MAX;
        for at in 0..left.len() {
            done.push(left.remove(at));
            best = best.min(least(done, left));
            left.insert(at, done.pop().unwrap());
        }
        best
    }

    proptest! {
        #[test]
        fn the_search_agrees_with_trying_all_orders(
            lists in prop::collection::vec(prop::collection::btree_set(0..7_usize, 0..4), 0..7)
        ) {
            let least = least(&mut Vec::new(), &mut lists.clone());
            prop_assert!(proved(least, &lists));
            prop_assert!(!proved(least + 1, &lists));
        }
    }
}
