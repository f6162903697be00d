//! Bags open at a time, and orders of lay-ups that keep them few.
//!
//! A bag is open from the first lay-up that cuts a patch for it to the last. Finding an order with the fewest open at a
//! time is the minimisation of open stacks. The search here closes bags one after another (the dynamic program over
//! closed customers of Garcia de la Banda and Stuckey, "Dynamic programming to minimize the maximum number of open
//! stacks", INFORMS Journal on Computing 19, 2007; described from memory): which lay-ups are made follows from which
//! bags are closed, so states are sets of bags, and a set that failed once is not tried again.

use std::collections::BTreeSet;

/// Sets of bags, up to 128.
type Set = u128;

/// Most bags that the exact search takes.
const MOST_BAGS: usize = 128;
/// Most states looked at for one number of open bags, times bags.
const MOST_STATES: usize = 1_000_000;

/// Most bags open at a time in this order; `needs` says for every lay-up which bags it cuts for.
pub fn most_open(needs: &[Vec<usize>], order: &[usize]) -> usize {
    let bags = needs.iter().flatten().max().map_or(0, |last| last + 1);
    let (mut first, mut last) = (vec![usize::MAX; bags], vec![0; bags]);
    for (at, &layup) in order.iter().enumerate() {
        for &bag in &needs[layup] {
            first[bag] = first[bag].min(at);
            last[bag] = at;
        }
    }
    let mut change = vec![0_i64; order.len() + 1];
    for bag in (0..bags).filter(|&bag| first[bag] != usize::MAX) {
        change[first[bag]] += 1;
        change[last[bag] + 1] -= 1;
    }
    let mut open = 0;
    let most = change.iter().map(|step| {
        open += step;
        open
    });
    usize::try_from(most.max().unwrap_or(0)).unwrap_or(0)
}

/// What the search found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fewest {
    /// No order has fewer open at a time.
    pub at_least: usize,
    /// An order that has so many, if the search found one before its limit.
    pub order: Option<Vec<usize>>,
}

/// The fewest bags open at a time over all orders of the lay-ups, as far as a search within its limit finds out.
#[must_use]
pub fn fewest_open(needs: &[Vec<usize>]) -> Fewest {
    let known: BTreeSet<usize> = needs.iter().flatten().copied().collect();
    let number = |bag: &usize| known.range(..bag).count();
    let widest = needs.iter().map(Vec::len).max().unwrap_or(0);
    if known.len() > MOST_BAGS {
        return Fewest { at_least: widest, order: None };
    }
    let layups: Vec<Set> =
        needs.iter().map(|bags| bags.iter().fold(0, |set, bag| set | (1 << number(bag)))).collect();
    // Bags that are open once a bag is closed: all that share a lay-up with it.
    let near: Vec<Set> = (0..known.len())
        .map(|bag| layups.iter().filter(|set| *set >> bag & 1 == 1).fold(0, |all, set| all | set))
        .collect();
    // A bag closes no sooner than all its neighbours are open.
    let first_close = near.iter().map(|set| set.count_ones() as usize).min().unwrap_or(0);
    let mut at_least = widest.max(first_close);
    while at_least < known.len() {
        let mut search = Search { near: &near, most: at_least, failed: BTreeSet::new(), closed: Vec::new() };
        match search.close(0, 0) {
            Answer::Found => return Fewest { at_least, order: Some(by_closing(&layups, &search.closed)) },
            Answer::None => at_least += 1,
            Answer::Limit => return Fewest { at_least, order: None },
        }
    }
    Fewest { at_least, order: Some((0..needs.len()).collect()) }
}

/// Lay-ups in the order in which closing these bags asks for them.
fn by_closing(layups: &[Set], closed: &[usize]) -> Vec<usize> {
    let rank = |set: Set| closed.iter().position(|bag| set >> bag & 1 == 1).unwrap_or(0);
    let mut order: Vec<usize> = (0..layups.len()).collect();
    order.sort_by_key(|&layup| (rank(layups[layup]), layup));
    order
}

enum Answer {
    Found,
    None,
    Limit,
}

struct Search<'a> {
    near: &'a [Set],
    most: usize,
    failed: BTreeSet<Set>,
    closed: Vec<usize>,
}

impl Search<'_> {
    /// Closes the rest of the bags where `shut` are closed and `seen` were ever open.
    fn close(&mut self, shut: Set, seen: Set) -> Answer {
        let before = self.closed.len();
        let mut shut = shut;
        // A bag all of whose neighbours are open already closes for nothing.
        for bag in 0..self.near.len() {
            if shut >> bag & 1 == 0 && seen >> bag & 1 == 1 && self.near[bag] & !seen == 0 {
                shut |= 1 << bag;
                self.closed.push(bag);
            }
        }
        if shut.count_ones() as usize == self.near.len() {
            return Answer::Found;
        }
        if self.failed.contains(&shut) {
            self.closed.truncate(before);
            return Answer::None;
        }
        if self.failed.len() * self.near.len() >= MOST_STATES {
            return Answer::Limit;
        }
        let mut next: Vec<(u32, usize)> = (0..self.near.len())
            .filter(|bag| shut >> bag & 1 == 0)
            .map(|bag| (((seen | self.near[bag]) & !shut).count_ones(), bag))
            .filter(|(open, _)| *open as usize <= self.most)
            .collect();
        next.sort_unstable();
        for (_, bag) in next {
            self.closed.push(bag);
            match self.close(shut | (1 << bag), seen | self.near[bag]) {
                Answer::None => {
                    self.closed.pop();
                }
                other => return other,
            }
        }
        self.failed.insert(shut);
        self.closed.truncate(before);
        Answer::None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every order of a few lay-ups.
    fn by_trying(needs: &[Vec<usize>]) -> usize {
        fn go(needs: &[Vec<usize>], order: &mut Vec<usize>, left: &mut Vec<usize>) -> usize {
            if left.is_empty() {
                return most_open(needs, order);
            }
            let mut best = usize::MAX;
            for at in 0..left.len() {
                let layup = left.remove(at);
                order.push(layup);
                best = best.min(go(needs, order, left));
                order.pop();
                left.insert(at, layup);
            }
            best
        }
        go(needs, &mut Vec::new(), &mut (0..needs.len()).collect())
    }

    #[test]
    fn the_search_agrees_with_trying_every_order() {
        let mut state = 12_345_u64;
        let mut random = |below: u64| {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (state >> 33) % below
        };
        for _ in 0..150 {
            let layups = 2 + random(5);
            let needs: Vec<Vec<usize>> =
                (0..layups).map(|_| (0..5).filter(|_| random(5) < 2).collect::<Vec<usize>>()).collect();
            let found = fewest_open(&needs);
            let order = found.order.unwrap();
            assert_eq!(most_open(&needs, &order), found.at_least, "{needs:?}");
            assert_eq!(by_trying(&needs), found.at_least, "{needs:?}");
        }
    }

    #[test]
    fn a_bag_is_open_through_lay_ups_that_do_not_touch_it() {
        let needs = [vec![0], vec![1], vec![0, 1]];
        assert_eq!(most_open(&needs, &[0, 1, 2]), 2);
        assert_eq!(most_open(&[vec![0], vec![1], vec![0]], &[0, 1, 2]), 2);
        assert_eq!(most_open(&[vec![0], vec![1], vec![0]], &[0, 2, 1]), 1);
    }
}
