//! Patterns by worth: the best pattern for given profits, or all patterns worth at least so much. Profits are integers,
//! so every answer is exact. A table over what is left of the strip bounds the search (Martello and Toth, Knapsack
//! Problems (1990), chapter 3). Where the strip has more steps than a table should, the table counts coarser steps with
//! lengths rounded down: its values are then still bounds, and the search itself keeps to the true lengths.

use super::{Count, Pattern};

/// Cells of a table at most, unless one row needs more.
const CELLS: i64 = 600_000;

/// Bounds on the worth of what can still be added to a pattern.
#[derive(Clone, Debug, Default)]
pub(super) struct Table {
    sizes: Vec<i64>,
    most: Vec<Count>,
    profits: Vec<i64>,
    /// Items with a profit, by descending size.
    live: Vec<usize>,
    capacity: i64,
    grain: i64,
    width: usize,
    bounds: Vec<i64>,
}

/// What a listing may do.
#[derive(Clone, Copy, Debug)]
pub(super) struct Listing {
    /// Least worth of a pattern that counts.
    pub(super) least: i64,
    /// Nodes of the search at most.
    pub(super) nodes: u64,
}

struct Walk<'a> {
    table: &'a Table,
    least: i64,
    nodes: u64,
    stopped: bool,
    at: Pattern,
    apart: &'a [Vec<usize>],
}

impl Table {
    /// Fills the table: sizes descending, at most `most` of each item in a pattern.
    pub(super) fn fill(&mut self, capacity: i64, sizes: &[i64], most: &[Count], profits: &[i64]) {
        self.sizes.clear();
        self.sizes.extend_from_slice(sizes);
        self.most.clear();
        self.most.extend_from_slice(most);
        self.profits.clear();
        self.profits.extend_from_slice(profits);
        self.capacity = capacity;
        let lives = |i: &usize| most[*i] > 0 && profits[*i] > 0 && sizes[*i] <= capacity;
        self.live = (0..sizes.len()).filter(lives).collect();
        let rows = i64::try_from(self.live.len()).unwrap_or(1).max(1);
        self.grain = ((capacity + 1) * rows / CELLS + 1).max(1);
        self.width = usize::try_from(capacity / self.grain + 1).unwrap_or(1);
        self.bounds.clear();
        self.bounds.resize((self.live.len() + 1) * self.width, 0);
        for at in (0..self.live.len()).rev() {
            self.row(at);
        }
    }

    /// Bounds for items from `at` on, from those of the next.
    fn row(&mut self, at: usize) {
        let item = self.live[at];
        let width = self.width;
        let (before, after) = self.bounds.split_at_mut((at + 1) * width);
        let row = &mut before[at * width..];
        row.copy_from_slice(&after[..width]);
        let step = usize::try_from(self.sizes[item] / self.grain).unwrap_or(0);
        let profit = self.profits[item];
        let mut left = self.most[item].min(self.capacity / self.sizes[item]);
        if step == 0 {
            row.iter_mut().for_each(|value| *value += profit * left);
            return;
        }
        let mut at_once = 1;
        while left > 0 {
            let count = left.min(at_once);
            let (step, profit) = (step * usize::try_from(count).unwrap_or(1), profit * count);
            for room in (step..width).rev() {
                row[room] = row[room].max(row[room - step] + profit);
            }
            left -= count;
            at_once *= 2;
        }
    }

    /// No pattern is worth more than this.
    pub(super) fn bound(&self) -> i64 {
        self.reach(0, self.capacity)
    }

    /// Worth at most of items from place `at` on in that room.
    fn reach(&self, at: usize, room: i64) -> i64 {
        let room = usize::try_from(room / self.grain).unwrap_or(0).min(self.width - 1);
        self.bounds[at * self.width + room]
    }

    /// Whether the table itself is exact.
    pub(super) fn is_exact(&self) -> bool {
        self.grain == 1
    }

    /// Gives every pattern worth at least `least` to `found`, which may raise what the next must be worth; true where
    /// none was missed. `apart` says, for each item or for none at all, which others it must not lie with.
    pub(super) fn list(
        &self,
        listing: Listing,
        apart: &[Vec<usize>],
        found: &mut dyn FnMut(i64, &Pattern) -> i64,
    ) -> bool {
        let Listing { least, nodes } = listing;
        let mut walk = Walk { table: self, least, nodes, stopped: false, at: Pattern::new(), apart };
        walk.from(0, self.capacity, 0, found);
        !walk.stopped
    }

    /// The best pattern worth at least `least`, and the most that any pattern may be worth.
    pub(super) fn best(&self, least: i64, nodes: u64, apart: &[Vec<usize>]) -> (Option<(i64, Pattern)>, i64) {
        let bound = self.bound();
        if bound < least {
            return (None, bound);
        }
        let first = if self.is_exact() && apart.iter().all(Vec::is_empty) { bound } else { least };
        let mut best: Option<(i64, Pattern)> = None;
        let complete = self.list(Listing { least: first, nodes }, apart, &mut |worth, pattern| {
            best = Some((worth, pattern.clone()));
            worth + 1
        });
        let most = match (&best, complete) {
            (Some((worth, _)), true) => *worth,
            (None, true) => least - 1,
            _ => bound,
        };
        (best, most)
    }
}

impl Walk<'_> {
    fn from(&mut self, at: usize, room: i64, worth: i64, found: &mut dyn FnMut(i64, &Pattern) -> i64) {
        if self.nodes == 0 {
            self.stopped = true;
            return;
        }
        self.nodes -= 1;
        if worth >= self.least {
            self.least = self.least.max(found(worth, &self.at));
        }
        let table = self.table;
        for next in at..table.live.len() {
            if worth + table.reach(next, room) < self.least || self.stopped {
                return;
            }
            let item = table.live[next];
            if self.apart.get(item).is_some_and(|not| self.at.iter().any(|of| not.contains(&of.0))) {
                continue;
            }
            let size = table.sizes[item];
            for count in (1..=table.most[item].min(room / size)).rev() {
                let (room, worth) = (room - count * size, worth + count * table.profits[item]);
                if worth + table.reach(next + 1, room) >= self.least {
                    self.at.push((item, count));
                    self.from(next + 1, room, worth, found);
                    self.at.pop();
                }
            }
        }
    }
}
