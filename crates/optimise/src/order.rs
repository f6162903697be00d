//! The order of things that follow each other with the fewest changes: a shortest Hamiltonian path.
//!
//! Few are ordered exactly, by dynamic programming over sets (Held and Karp, J. SIAM 10 (1962) 196-210); many from every
//! start always to the nearest, the shortest of these then turned round and moved in parts (2-opt and or-opt) until
//! nothing is gained. Both always
//! give the same order for the same distances.

/// Things up to which the order is exact.
const MOST_EXACT: usize = 12;
/// Starts whose orders are improved.
const MOST_STARTS: usize = 4;
/// Most things moved together.
const MOST_MOVED: usize = 3;

/// Distances between things, and of each from what comes before them all.
pub(crate) struct Distances {
    /// `between[a][b]`, as far as `between[b][a]`.
    pub(crate) between: Vec<Vec<u64>>,
    /// One for each thing; zeros if nothing comes before.
    pub(crate) first: Vec<u64>,
}

impl Distances {
    /// All things in an order of little distance: the least for few. Of orders as good, things early in the list come early.
    pub(crate) fn shortest(&self) -> Vec<usize> {
        let things = self.first.len();
        if things <= MOST_EXACT { self.exact(things) } else { self.improved(things) }
    }

    /// Distance along an order.
    pub(crate) fn along(&self, order: &[usize]) -> u64 {
        let first = order.first().map_or(0, |&one| self.first[one]);
        first + order.windows(2).map(|pair| self.between[pair[0]][pair[1]]).sum::<u64>()
    }

    /// From behind: the least distance of what is left, after `last` was taken.
    fn exact(&self, things: usize) -> Vec<usize> {
        let all = (1_usize << things) - 1;
        let of_set = |left: usize| (0..things).filter(move |thing| left >> thing & 1 == 1);
        let mut rest = vec![vec![0_u64; things]; all + 1];
        for left in 1..=all {
            for last in of_set(all & !left) {
                let each =
                    of_set(left).map(|next| self.between[last][next] + rest[left & !(1 << next)][next]);
                rest[left][last] = each.min().unwrap_or(0);
            }
        }
        let mut order: Vec<usize> = Vec::new();
        let mut left = all;
        while left > 0 {
            let next = of_set(left).min_by_key(|&next| {
                let step = order.last().map_or(self.first[next], |&last: &usize| self.between[last][next]);
                step + rest[left & !(1 << next)][next]
            });
            let Some(next) = next else { break };
            order.push(next);
            left &= !(1 << next);
        }
        order
    }

    fn improved(&self, things: usize) -> Vec<usize> {
        let mut orders: Vec<Vec<usize>> = (0..things).map(|start| self.nearest(things, start)).collect();
        orders.sort_by_key(|order| self.along(order));
        let best = orders.into_iter().take(MOST_STARTS).map(|mut order| {
            while let Some(better) = self.better(&order) {
                order = better;
            }
            order
        });
        best.min_by_key(|order| self.along(order)).unwrap_or_default()
    }

    /// From a start always to the nearest.
    fn nearest(&self, things: usize, start: usize) -> Vec<usize> {
        let mut order = vec![start];
        let mut left: Vec<usize> = (0..things).filter(|&thing| thing != start).collect();
        let mut last = start;
        while let Some(at) = (0..left.len()).min_by_key(|&at| self.between[last][left[at]]) {
            last = left.remove(at);
            order.push(last);
        }
        order
    }

    /// The shortest of all orders with one part turned round, or a few things moved elsewhere, either way round; `None`
    /// if none is shorter.
    fn better(&self, order: &[usize]) -> Option<Vec<usize>> {
        let mut best: (u64, Option<Vec<usize>>) = (self.along(order), None);
        let mut look = |next: Vec<usize>| {
            let length = self.along(&next);
            if length < best.0 {
                best = (length, Some(next));
            }
        };
        for from in 0..order.len() {
            for to in from + 2..=order.len() {
                let mut turned = order.to_vec();
                turned[from..to].reverse();
                look(turned);
            }
            for many in 1..=MOST_MOVED.min(order.len() - from) {
                let part = &order[from..from + many];
                let rest = [&order[..from], &order[from + many..]].concat();
                for at in (0..=rest.len()).filter(|at| *at != from) {
                    let with = |part: &[usize]| [&rest[..at], part, &rest[at..]].concat();
                    look(with(part));
                    look(with(&part.iter().rev().copied().collect::<Vec<_>>()));
                }
            }
        }
        best.1
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::search::Random;

    fn on_a_line(places: &[u64]) -> Distances {
        let between =
            places.iter().map(|one| places.iter().map(|two| one.abs_diff(*two)).collect()).collect();
        Distances { between, first: vec![0; places.len()] }
    }

    /// By hand: things on a line are passed from end to end, and no order of them is shorter.
    #[test]
    fn things_on_a_line_are_passed_from_end_to_end() {
        let few = on_a_line(&[5, 1, 9, 3]);
        assert_eq!(few.shortest(), [1, 3, 0, 2]);
        let many: Vec<u64> = (0..30).map(|at| (at * 17) % 31).collect();
        let many = on_a_line(&many);
        assert_eq!(many.along(&many.shortest()), 30);
    }

    /// By hand: what comes before decides at which end to begin.
    #[test]
    fn what_comes_before_decides_the_first() {
        let line = Distances { first: vec![4, 8, 0, 6], ..on_a_line(&[5, 1, 9, 3]) };
        assert_eq!(line.shortest(), [2, 0, 3, 1]);
        assert_eq!(line.along(&[2, 0, 3, 1]), 8);
    }

    /// No order at all is shorter than the one given for up to seven things: all are tried.
    #[test]
    fn the_order_of_few_is_the_shortest_of_all() {
        for seed in 0..40 {
            let mut random = Random::new(seed);
            let things = 1 + random.below(7);
            let drawn: Vec<u64> = (0..things * things).map(|_| random.below(20) as u64).collect();
            let of = |one: usize, two: usize| drawn[one.min(two) * things + one.max(two)];
            let between = (0..things).map(|one| (0..things).map(|two| of(one, two)).collect()).collect();
            let first = (0..things).map(|_| random.below(20) as u64).collect();
            let distances = Distances { between, first };
            let found = distances.along(&distances.shortest());
            let mut least = u64::MAX;
            every_order(&mut (0..things).collect(), 0, &mut |order| {
                least = least.min(distances.along(order))
            });
            assert_eq!(found, least);
            assert!(distances.along(&distances.improved(things)) >= least);
        }
    }

    fn every_order(order: &mut Vec<usize>, at: usize, each: &mut dyn FnMut(&[usize])) {
        if at == order.len() {
            return each(order);
        }
        for other in at..order.len() {
            order.swap(at, other);
            every_order(order, at + 1, each);
            order.swap(at, other);
        }
    }
}
