//! A cover of what is wanted by whole strips, cheap but not proved: a beam search (Ow and Morton, International Journal
//! of Production Research 26 (1988) 35-62). States are compared with those that have about as much left to cover, by what
//! they paid above the worth of what they covered; strips come in the order of the items that fewest of them give, so that
//! no set of strips is looked at in two orders.

use std::collections::BTreeMap;
use std::hash::{Hash, Hasher};

use rustc_hash::{FxHashSet, FxHasher};

/// A strip: what it gives of every item, and its cost above the worth of that, at least 0.
pub(crate) type Column<'a> = (&'a [usize], f64);

/// States of a level, for every one to be kept, at which it is thinned out.
const FULL: usize = 4;

/// How far to search.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Reach {
    /// Most that a cover may cost above the worth of what is wanted.
    pub(crate) room: f64,
    /// States kept of those with about as much left.
    pub(crate) kept: usize,
    /// Steps from all that is wanted to nothing.
    pub(crate) levels: usize,
}

/// How often each column is used in the cheapest cover found that has the room, if any.
pub(crate) fn cover(
    columns: &[Column<'_>],
    wanted: &[usize],
    worth: &[f64],
    reach: Reach,
) -> Option<BTreeMap<usize, i64>> {
    Beam::new(columns, wanted, worth, reach)?.search()
}

/// A state: what is left is in the store at its place.
#[derive(Clone, Copy)]
struct State {
    /// Paid above the worth of what is covered.
    spent: f64,
    place: usize,
}

/// How a state was reached.
#[derive(Clone, Copy)]
struct Step {
    column: usize,
    before: usize,
}

/// States with about as much left.
#[derive(Default)]
struct Level {
    states: Vec<State>,
    /// States that cost more are of no use.
    most: f64,
}

struct Beam {
    reach: Reach,
    worth: Vec<f64>,
    gives: Vec<Vec<u32>>,
    above: Vec<f64>,
    /// Columns by the first item, in the order of the items here, that they can be chosen for.
    by_item: Vec<Vec<usize>>,
    /// Worth of all that is wanted.
    all: f64,
    /// What is left in every state, one after another.
    left: Vec<u32>,
    steps: Vec<Step>,
    levels: Vec<Level>,
    /// The best cover: last column and the state before it.
    best: Option<Step>,
}

impl Beam {
    fn new(columns: &[Column<'_>], wanted: &[usize], worth: &[f64], reach: Reach) -> Option<Self> {
        let given = |item: usize| columns.iter().filter(|column| column.0[item] > 0).count();
        let mut items: Vec<usize> = (0..wanted.len()).filter(|&item| wanted[item] > 0).collect();
        items.sort_by_key(|&item| (given(item), item));
        let whole = |n: usize| u32::try_from(n).ok();
        let left: Vec<u32> = items.iter().map(|&item| whole(wanted[item])).collect::<Option<_>>()?;
        let gives = columns.iter().map(|column| items.iter().map(|&item| whole(column.0[item])).collect());
        let gives: Vec<Vec<u32>> = gives.collect::<Option<_>>()?;
        let worth: Vec<f64> = items.iter().map(|&item| worth[item]).collect();
        let by_item = (0..items.len()).map(|at| (0..gives.len()).filter(|&c| gives[c][at] > 0).collect());
        let all = left.iter().zip(&worth).map(|(&n, worth)| f64::from(n) * worth).sum();
        Some(Self {
            by_item: by_item.collect(),
            above: columns.iter().map(|column| column.1.max(0.0)).collect(),
            levels: (0..=reach.levels).map(|_| Level { most: f64::INFINITY, ..Level::default() }).collect(),
            best: None,
            steps: vec![Step { column: usize::MAX, before: 0 }],
            reach,
            worth,
            gives,
            all,
            left,
        })
    }

    fn search(mut self) -> Option<BTreeMap<usize, i64>> {
        if self.worth.is_empty() {
            return Some(BTreeMap::new());
        }
        self.levels[self.reach.levels].states.push(State { spent: 0.0, place: 0 });
        for level in (0..=self.reach.levels).rev() {
            // Strips that cover next to nothing leave a state on its level.
            while !self.levels[level].states.is_empty() {
                let mut here = std::mem::take(&mut self.levels[level].states);
                self.thinned(&mut here);
                for state in here {
                    self.expand(state, level);
                }
            }
        }
        self.used()
    }

    /// The best of some states, none twice.
    fn thinned(&self, states: &mut Vec<State>) {
        states.sort_by(|a, b| a.spent.total_cmp(&b.spent).then(a.place.cmp(&b.place)));
        let mut seen = FxHashSet::default();
        let n = self.worth.len();
        states.retain(|state| {
            if seen.len() >= self.reach.kept || state.spent > self.reach.room {
                return false;
            }
            let mut mark = FxHasher::default();
            self.left[state.place * n..][..n].hash(&mut mark);
            seen.insert(mark.finish())
        });
    }

    fn expand(&mut self, state: State, level: usize) {
        let n = self.worth.len();
        let from = state.place * n;
        let Some(item) = (0..n).find(|&at| self.left[from + at] > 0) else { return };
        for at in 0..self.by_item[item].len() {
            let column = self.by_item[item][at];
            let (mut spent, mut ahead) = (state.spent + self.above[column], 0.0);
            if spent > self.reach.room {
                continue;
            }
            let mut done = true;
            for ((&left, &gives), worth) in
                self.left[from..from + n].iter().zip(&self.gives[column]).zip(&self.worth)
            {
                if gives > left {
                    spent += f64::from(gives - left) * worth;
                } else if left > gives {
                    done = false;
                    ahead += f64::from(left - gives) * worth;
                }
            }
            if spent > self.reach.room {
                continue;
            }
            if done {
                if self.best.is_none() || spent < self.reach.room {
                    self.reach.room = spent;
                    self.best = Some(Step { column, before: state.place });
                }
                continue;
            }
            #[allow(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "a share of the levels"
            )]
            #[allow(clippy::cast_precision_loss, reason = "levels are few")]
            let next = (ahead / self.all * self.reach.levels as f64) as usize;
            let next = next.min(level.saturating_sub(1));
            if spent < self.levels[next].most {
                self.keep(next, spent, Step { column, before: state.place });
            }
        }
    }

    fn keep(&mut self, level: usize, spent: f64, step: Step) {
        let n = self.worth.len();
        let place = self.steps.len();
        for at in 0..n {
            let left = self.left[step.before * n + at].saturating_sub(self.gives[step.column][at]);
            self.left.push(left);
        }
        self.steps.push(step);
        self.levels[level].states.push(State { spent, place });
        if self.levels[level].states.len() >= FULL * self.reach.kept {
            let mut states = std::mem::take(&mut self.levels[level].states);
            self.thinned(&mut states);
            let most = states.last().filter(|_| states.len() >= self.reach.kept).map(|worst| worst.spent);
            self.levels[level] = Level { states, most: most.unwrap_or(f64::INFINITY) };
        }
    }

    fn used(&self) -> Option<BTreeMap<usize, i64>> {
        let mut used = BTreeMap::new();
        let mut step = self.best?;
        loop {
            *used.entry(step.column).or_default() += 1;
            if step.before == 0 {
                return Some(used);
            }
            step = self.steps[step.before];
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cost(
        columns: &[Column<'_>],
        wanted: &[usize],
        worth: &[f64],
        room: f64,
    ) -> Option<BTreeMap<usize, i64>> {
        cover(columns, wanted, worth, Reach { room, kept: 20, levels: 12 })
    }

    /// By hand: five of one item and four of another; a strip of (2, 1) twice and of (1, 2) once cover all exactly, and
    /// none of them costs more than it is worth.
    #[test]
    fn finds_the_exact_cover() {
        let columns: [Column<'_>; 3] = [(&[2, 1], 0.0), (&[1, 2], 0.0), (&[3, 3], 0.5)];
        let used = cost(&columns, &[5, 4], &[1.0, 1.0], 10.0);
        assert_eq!(used, Some(BTreeMap::from([(0, 2), (1, 1)])));
    }

    /// By hand: three wanted, two a strip; one too many is lost, worth 1, so there is no cover within half of that.
    #[test]
    fn what_is_too_much_is_paid_for() {
        let columns: [Column<'_>; 1] = [(&[2], 0.0)];
        assert_eq!(cost(&columns, &[3], &[1.0], 1.0), Some(BTreeMap::from([(0, 2)])));
        assert_eq!(cost(&columns, &[3], &[1.0], 0.5), None);
        assert_eq!(cost(&columns, &[0], &[1.0], 0.5), Some(BTreeMap::new()));
    }
}
