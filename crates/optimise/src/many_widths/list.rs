//! All full strips that can stand in a plan of no more than a goal.

use super::relax::{Relaxed, Table};
use super::{Count, Level, Pattern, Task};

/// Strips listed at most.
const MOST_LISTED: usize = 150_000;
/// Nodes of the search that lists them.
const NODES: u64 = 20_000_000;

/// Full strips that a plan of no more than `goal` may have, none that a narrower strip would carry; those that lack least
/// of their cost come first. A strip that lacks more of its cost than the plan may lack in all is in no such plan. `None`
/// where there are too many.
pub(super) fn listed(task: &Task, relaxed: &Relaxed, goal: i64) -> Option<Vec<Pattern>> {
    let room = i128::from(goal) * i128::from(task.fine) - relaxed.bound(task, goal);
    let room = i64::try_from(room).ok()?;
    let mut found = Vec::new();
    let mut nodes = NODES;
    for level in &task.levels {
        let table = Table::of(task, level, &relaxed.prices);
        let mut lister = Lister {
            task,
            level,
            prices: &relaxed.prices,
            table,
            least: level.cost * task.fine - room,
            counts: vec![0; level.fits.len()],
            found: &mut found,
            nodes: &mut nodes,
        };
        if !lister.go(0, task.capacity, 0) {
            return None;
        }
    }
    found.sort();
    Some(found.into_iter().map(|(_, pattern)| pattern).collect())
}

struct Lister<'a> {
    task: &'a Task,
    level: &'a Level,
    prices: &'a [i64],
    table: Table,
    /// Least worth.
    least: i64,
    counts: Vec<Count>,
    /// (what it lacks, strip).
    found: &'a mut Vec<(i64, Pattern)>,
    nodes: &'a mut u64,
}

impl Lister<'_> {
    /// From the piece at a place on, with so much of the strip left and so much worth already; false where it is too
    /// much.
    fn go(&mut self, at: usize, left: i64, worth: i64) -> bool {
        if worth + self.table.rest(at, left) < self.least {
            return true;
        }
        if at == self.level.own && self.counts[..at].iter().all(|&count| count == 0) {
            return true;
        }
        let Some(nodes) = self.nodes.checked_sub(1) else { return false };
        *self.nodes = nodes;
        let Some(&(piece, run)) = self.level.fits.get(at) else { return self.full(left, worth) };
        let most = self.task.wanted[piece].min(left / run.max(1));
        for count in (0..=most).rev() {
            self.counts[at] = count;
            if !self.go(at + 1, left - count * run, worth + count * self.prices[piece]) {
                return false;
            }
        }
        self.counts[at] = 0;
        true
    }

    /// Takes the strip if nothing more fits it; false where there are too many.
    fn full(&mut self, left: i64, worth: i64) -> bool {
        let all = || self.level.fits.iter().zip(&self.counts);
        if all().any(|(&(piece, run), &count)| run <= left && count < self.task.wanted[piece]) {
            return true;
        }
        let mut pieces: Vec<(usize, Count)> =
            all().filter(|of| *of.1 > 0).map(|(&(piece, _), &count)| (piece, count)).collect();
        pieces.sort_unstable();
        let Level { width, cost, .. } = *self.level;
        let lacks = cost * self.task.fine - worth;
        self.found.push((lacks, Pattern { width, cost, pieces }));
        self.found.len() <= MOST_LISTED
    }
}
