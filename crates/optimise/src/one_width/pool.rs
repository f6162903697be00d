//! Patterns that may lie in a plan of given pieces: all of them, or where they are many those of least waste.

use super::anew::{Contents, Rules};
use super::{Count, Pattern};
use crate::search::Random;

/// Patterns at most.
const MOST: usize = 6000;
/// Nodes of the search.
const NODES: u64 = 300_000;

/// Patterns whose waste is no more than all that may be wasted.
pub(super) fn pool(
    rules: &Rules,
    sizes: &[i64],
    contents: &Contents,
    spare: i64,
    random: &mut Random,
    work: &mut u64,
) -> Vec<Pattern> {
    let mut items: Vec<(i64, usize, Count)> = contents
        .pieces
        .iter()
        .map(|&(item, count)| (sizes[item], item, (count / rules.times).min(rules.pieces)))
        .filter(|of| of.2 > 0)
        .collect();
    // Any order will do where all are listed; where not, a random one samples.
    items.sort_unstable_by_key(|of| (std::cmp::Reverse(of.0), of.1));
    let mut allowed = (rules.capacity - rules.least).min(spare);
    loop {
        let mut walk = Walk { rules, items: &items, least: rules.capacity - allowed, found: Vec::new(), at: Vec::new(), nodes: NODES, limit: MOST, suffix: suffix(&items) };
        walk.from(0, rules.capacity, rules.pieces);
        *work += NODES.saturating_sub(walk.nodes);
        if walk.nodes > 0 && walk.found.len() < MOST || allowed == 0 {
            return walk.found;
        }
        let _ = &random;
        allowed /= 4;
    }
}

/// Smallest size, and length of all, from each place on.
fn suffix(items: &[(i64, usize, Count)]) -> Vec<(i64, i64)> {
    let mut suffix = vec![(i64::MAX, 0); items.len() + 1];
    for at in (0..items.len()).rev() {
        suffix[at] = (suffix[at + 1].0.min(items[at].0), suffix[at + 1].1 + items[at].0 * items[at].2);
    }
    suffix
}

struct Walk<'a> {
    rules: &'a Rules,
    items: &'a [(i64, usize, Count)],
    least: i64,
    found: Vec<Pattern>,
    at: Pattern,
    nodes: u64,
    limit: usize,
    suffix: Vec<(i64, i64)>,
}

impl Walk<'_> {
    fn from(&mut self, at: usize, room: i64, pieces: Count) {
        if self.nodes == 0 || self.found.len() >= self.limit.min(MOST) {
            return;
        }
        self.nodes -= 1;
        let need = self.least - (self.rules.capacity - room);
        if need <= 0 && !self.at.is_empty() {
            let mut pattern = self.at.clone();
            pattern.sort_unstable();
            self.found.push(pattern);
        }
        if Count::try_from(self.at.len()).unwrap_or(Count::MAX) >= self.rules.kinds || pieces == 0 {
            return;
        }
        let top = self.at.is_empty();
        for next in at..self.items.len() {
            if top {
                // A share for each longest size.
                self.limit = self.found.len() + (MOST - self.found.len()) / (self.items.len() - next).max(1) * 3;
                self.nodes = self.nodes.max(NODES / self.items.len() as u64);
            }
            let (size, item, most) = self.items[next];
            // Sizes fall, so nothing later is longer than this one.
            if self.suffix[next].1 < need || size * pieces < need || self.suffix[next].0 > room {
                return;
            }
            for count in (1..=most.min(room / size).min(pieces)).rev() {
                self.at.push((item, count));
                self.from(next + 1, room - count * size, pieces - count);
                let _ = self.at.pop();
            }
        }
    }
}
