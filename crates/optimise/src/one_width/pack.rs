//! Quick packings: every strip filled as far as it goes, the longest first.

use super::knapsack::{Listing, Table};
use super::{Count, Pattern, Patterns};

/// Nodes of one search for the fullest strip.
const NODES: u64 = 3000;

/// First fit of lengths in descending order.
pub(super) fn first_fit(capacity: i64, sizes: &[i64], wanted: &[Count]) -> Patterns {
    let mut strips: Vec<(i64, Pattern)> = Vec::new();
    for (item, &size) in sizes.iter().enumerate() {
        let mut left = wanted[item];
        for (room, pattern) in strips.iter_mut().filter(|strip| strip.0 >= size) {
            let count = left.min(*room / size);
            if count > 0 {
                pattern.push((item, count));
                *room -= count * size;
                left -= count;
            }
        }
        while left > 0 {
            let count = left.min(capacity / size).max(1);
            strips.push((capacity - count * size, vec![(item, count)]));
            left -= count;
        }
    }
    strips.into_iter().map(|(_, pattern)| (pattern, 1)).collect()
}

/// Strip after strip, each with the longest length left and whatever fills it best with that (Gupta and Ho, Production
/// Planning and Control 10 (1999)).
pub(super) fn fullest(table: &mut Table, capacity: i64, sizes: &[i64], wanted: &[Count]) -> Patterns {
    let mut left = wanted.to_vec();
    let mut strips = Patterns::new();
    while let Some(first) = left.iter().position(|&count| count > 0) {
        left[first] -= 1;
        let room = capacity - sizes[first];
        table.fill(room, sizes, &left, sizes);
        let mut pattern = Pattern::new();
        table.list(Listing { least: 1, nodes: NODES }, &[], &mut |worth, better| {
            pattern.clone_from(better);
            if worth >= room.min(table.bound()) { i64::MAX } else { worth + 1 }
        });
        pattern.iter().for_each(|&(item, count)| left[item] -= count);
        match pattern.iter_mut().find(|of| of.0 == first) {
            Some(of) => of.1 += 1,
            None => pattern.insert(0, (first, 1)),
        }
        let again = pattern.iter().map(|&(item, count)| left[item] / count).min();
        let times = 1 + again.unwrap_or(0);
        pattern.iter().for_each(|&(item, count)| left[item] -= (times - 1) * count);
        strips.push((pattern, times));
    }
    strips
}
