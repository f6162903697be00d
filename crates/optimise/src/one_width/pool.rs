//! Patterns that may lie in a plan of given pieces: all of them, or where they are many those of little waste.

use super::anew::{Contents, Rules};
use super::{Count, Pattern};

/// Patterns at most.
const MOST: usize = 6_000;
/// Nodes of a search for all patterns.
const NODES: u64 = 300_000;

/// Patterns whose waste is no more than all that may be wasted; where these are too many, patterns of less waste, and
/// where these still are, as many with each size as their longest.
pub(super) fn pool(
    rules: &Rules,
    sizes: &[i64],
    contents: &Contents,
    spare: i64,
    work: &mut u64,
) -> Vec<Pattern> {
    let items = items(rules, sizes, contents);
    // Patterns of less than the mean waste alone carry no plan.
    let mean = 2 * spare / contents.strips.max(1) + 1;
    let mut allowed = (rules.capacity - rules.least).min(spare);
    loop {
        let mut walk = Walk {
            rules,
            items: &items,
            least: rules.capacity - allowed,
            found: Vec::new(),
            at: Pattern::new(),
            nodes: NODES,
            limit: MOST,
            cut_short: false,
        };
        for longest in 0..items.len() {
            let places = items.len() - longest;
            let share = 3 * (MOST - walk.found.len()) / places;
            walk.limit = MOST.min(walk.found.len() + share);
            walk.nodes = walk.nodes.max(NODES / items.len() as u64);
            walk.with(longest, 0, rules.capacity, rules.pieces);
        }
        *work += 20 * NODES.saturating_sub(walk.nodes);
        if !walk.cut_short || allowed <= mean {
            return walk.found;
        }
        allowed = (allowed / 4).max(mean);
    }
}

/// A size that may be cut.
struct Place {
    size: i64,
    item: usize,
    /// Most in a pattern.
    most: Count,
    /// Length of all of it and of every shorter size.
    all: i64,
}

/// Sizes by falling length.
fn items(rules: &Rules, sizes: &[i64], contents: &Contents) -> Vec<Place> {
    let most = |count: Count| (count / rules.times.max(1)).min(rules.pieces);
    let each = contents.pieces.iter().map(|&(item, count)| {
        let (size, most) = (sizes[item], most(count));
        Place { size, item, most, all: 0 }
    });
    let mut items: Vec<Place> = each.filter(|of| of.most > 0).collect();
    items.sort_unstable_by_key(|of| (std::cmp::Reverse(of.size), of.item));
    let mut all = 0;
    for place in items.iter_mut().rev() {
        all += place.size * place.most;
        place.all = all;
    }
    items
}

struct Walk<'a> {
    rules: &'a Rules,
    items: &'a [Place],
    /// Least length of a pattern.
    least: i64,
    found: Vec<Pattern>,
    at: Pattern,
    nodes: u64,
    limit: usize,
    /// Whether some patterns may be missing.
    cut_short: bool,
}

impl Walk<'_> {
    /// Patterns that go on with some of the size at `place`; so many kinds lie in them already.
    fn with(&mut self, place: usize, kinds: Count, room: i64, pieces: Count) {
        let of = &self.items[place];
        let (size, item) = (of.size, of.item);
        for count in (1..=of.most.min(room / size).min(pieces)).rev() {
            if self.nodes == 0 || self.found.len() >= self.limit {
                self.cut_short = true;
                return;
            }
            self.nodes -= 1;
            self.at.push((item, count));
            self.go_on(place + 1, kinds + 1, room - count * size, pieces - count);
            let _ = self.at.pop();
        }
    }

    fn go_on(&mut self, from: usize, kinds: Count, room: i64, pieces: Count) {
        let need = self.least - (self.rules.capacity - room);
        if need <= 0 {
            let mut pattern = self.at.clone();
            pattern.sort_unstable();
            self.found.push(pattern);
        }
        if kinds >= self.rules.kinds || pieces == 0 {
            return;
        }
        for next in from..self.items.len() {
            let of = &self.items[next];
            // Sizes fall: nothing later fills more.
            if of.all < need || of.size.saturating_mul(pieces) < need {
                return;
            }
            if of.size <= room {
                self.with(next, kinds, room, pieces);
            }
        }
    }
}
