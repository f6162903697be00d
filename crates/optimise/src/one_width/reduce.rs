//! What can be settled before any search: lengths that fit with nothing, and lengths that take at most one other. A
//! length that leaves room for one other at most may as well lie with the longest that fits, and two that fill a strip
//! may as well lie together: in any plan the partner changes places with what lies there instead, which is no longer
//! (Martello and Toth, Discrete Applied Mathematics 28 (1990), reduction with sets of two).

use std::collections::BTreeMap;

use super::Count;

/// Patterns settled, by size, each with how often, and what is left.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Reduced {
    pub(super) settled: Vec<(Vec<i64>, Count)>,
    pub(super) left: BTreeMap<i64, Count>,
}

/// Settles what can be settled.
pub(super) fn reduce(capacity: i64, wanted: BTreeMap<i64, Count>) -> Reduced {
    let mut reduced = Reduced { settled: Vec::new(), left: wanted };
    reduced.left.retain(|_, count| *count > 0);
    while let Some((sizes, times)) = next(capacity, &reduced.left) {
        for size in &sizes {
            if let Some(count) = reduced.left.get_mut(size) {
                *count -= times;
            }
        }
        reduced.left.retain(|_, count| *count > 0);
        reduced.settled.push((sizes, times));
    }
    reduced
}

fn next(capacity: i64, left: &BTreeMap<i64, Count>) -> Option<(Vec<i64>, Count)> {
    for (&size, &count) in left.iter().rev() {
        let room = capacity - size;
        // The shortest two of all others.
        let others = |&(other, n): &(&i64, &Count)| (*other, if *other == size { n - 1 } else { *n });
        let mut shortest = left.iter().map(|of| others(&of)).filter(|of| of.1 > 0);
        let Some((least, copies)) = shortest.next().filter(|of| of.0 <= room) else {
            return Some((vec![size], count));
        };
        let second = if copies > 1 { Some(least) } else { shortest.next().map(|of| of.0) };
        let partner = left.range(..=room).rev().map(|of| others(&of)).find(|of| of.1 > 0);
        let (partner, copies) = partner?;
        if partner == room || second.is_none_or(|second| least + second > room) {
            let times = if partner == size { count / 2 } else { count.min(copies) };
            return Some((vec![size, partner], times));
        }
    }
    None
}
