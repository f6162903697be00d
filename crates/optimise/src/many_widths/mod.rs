//! Strips of many widths: the least that strips cost which carry given pieces, and a proof that less does not do, for
//! fabrics with too many pieces for the oracle's table ([`crate::oracle`]).
//!
//! Nothing is lost if every strip carries as much as fits it, more than is wanted in all if need be, so only such full
//! strips are looked at. Prices of the relaxation (`relax`) tell which of them can stand in a plan of no more than a
//! goal: a list (`list`), mostly of a few thousand (for routes: Baldacci, Christofides and Mingozzi, Mathematical
//! Programming 115 (2008); from memory). Over the list runs a branch and bound with cuts (`cuts`, `rows`, `branch`). It
//! branches first on how many strips are at least so wide: a plan has few strips, and one strip more or less of some
//! width is a large step. Goals rise until one is met or none is left below the known plan.
//!
//! Every bound is worked out in integers; floating point only guides the search. No clock decides anything: it is a stop.

mod branch;
mod cuts;
mod list;
mod relax;
mod rows;
#[cfg(test)]
mod tests;

use std::collections::BTreeMap;

use crate::listen::Stop;
use crate::model::{Fabric, num_gcd};
use crate::oracle::{FabricPlan, Prices, Strip};
use branch::{Search, Verdict};
use relax::Relaxed;

/// How many of a piece, or how many strips.
type Count = i64;

/// Cost of the dearest strip in the finest parts that are counted.
const FINE: i64 = 1 << 40;
/// Most different pieces: cuts are looked for on all threes of them.
const MOST_PIECES: usize = 150;
/// Most steps in the tables of the relaxation, all widths together.
const MOST_STEPS: i64 = 50_000_000;
/// Goals on the way from the relaxation to the known plan.
const GOALS: i64 = 4;

/// A full strip: what lies on it, by piece.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Pattern {
    width: i64,
    cost: i64,
    pieces: Vec<(usize, Count)>,
}

/// Full strips and how often each.
type Patterns = Vec<(Pattern, Count)>;

/// Strips of one width, and the runs of the pieces that fit them.
#[derive(Clone, Debug)]
struct Level {
    width: i64,
    cost: i64,
    /// (piece, run); those that lie in no narrower strip in that way come first.
    fits: Vec<(usize, i64)>,
    /// How many those are.
    own: usize,
}

/// What is wanted.
#[derive(Clone, Debug)]
struct Task {
    capacity: i64,
    wanted: Vec<Count>,
    levels: Vec<Level>,
    /// Parts of a cost that are counted.
    fine: i64,
    /// Costs of strips are multiples of this.
    step: i64,
}

/// A plan, and how cheap a plan could be.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Settled {
    /// The cheapest plan known.
    pub plan: FabricPlan,
    /// No plan costs less.
    pub bound: i64,
}

/// How far to go: work is counted, never timed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Reach {
    /// Linear programs at most.
    pub programs: u64,
    /// Seed of the search for cuts.
    pub seed: u64,
}

/// The cheapest plan for so many plies of every class, and a bound; plies themselves cost nothing here. It begins with a
/// known plan. `None` where strips are beyond what is counted exactly, or it was stopped before any bound.
#[must_use]
pub fn settle(
    fabric: &Fabric,
    wanted: &[usize],
    prices: &Prices,
    known: FabricPlan,
    reach: Reach,
    stop: Stop<'_>,
) -> Option<Settled> {
    let classes: Vec<usize> = (0..wanted.len()).filter(|&class| wanted[class] > 0).collect();
    let task = Task::of(fabric, &classes, wanted, prices)?;
    let relaxed = Relaxed::of(&task, stop)?;
    let mut settled =
        Settled { bound: task.rounded_up(relaxed.bound(&task, known.cost(prices))), plan: known };
    let mut search = Search::new(&task, reach, stop);
    loop {
        let value = settled.plan.cost(prices);
        if settled.bound >= value || stop() {
            return Some(settled);
        }
        let steps = (value - settled.bound) / task.step;
        let goal = settled.bound + (steps / GOALS).min(steps - 1).max(0) * task.step;
        let Some(list) = list::listed(&task, &relaxed, goal) else { return Some(settled) };
        match search.run(&list, goal) {
            Verdict::None => settled.bound = goal + task.step,
            Verdict::Open => return Some(settled),
            Verdict::Found(patterns) => {
                let plan = task.plan(&patterns, &classes);
                if plan.cost(prices) >= value || !covers(&plan, wanted) {
                    return Some(settled);
                }
                settled.plan = plan;
            }
        }
    }
}

fn covers(plan: &FabricPlan, wanted: &[usize]) -> bool {
    let counts = plan.counts(wanted.len());
    counts
        .iter()
        .zip(wanted)
        .all(|(&count, &wanted)| usize::try_from(count).is_ok_and(|count| count >= wanted))
}

impl Task {
    fn of(fabric: &Fabric, classes: &[usize], wanted: &[usize], prices: &Prices) -> Option<Self> {
        let wanted: Vec<Count> =
            classes.iter().map(|&class| Count::try_from(wanted[class]).ok()).collect::<Option<_>>()?;
        let mut levels = Vec::new();
        for &width in &fabric.widths {
            let run = |(piece, &class): (usize, &usize)| {
                let run = fabric.classes[class].run_in(width).filter(|&run| run <= fabric.capacity)?;
                let own = fabric.classes[class].ways.iter().any(|way| way.0 == width);
                Some((!own, std::cmp::Reverse(run), piece))
            };
            let mut fits: Vec<_> = classes.iter().enumerate().filter_map(run).collect();
            fits.sort_unstable();
            let own = fits.iter().filter(|of| !of.0).count();
            let fits = fits.into_iter().map(|(_, run, piece)| (piece, run.0)).collect();
            let cost = prices.strip(&Strip { width, plies: Vec::new() });
            levels.push(Level { width, cost, fits, own });
        }
        levels.retain(|level| level.own > 0);
        let dearest = levels.iter().map(|level| level.cost).max()?;
        let least = levels.iter().map(|level| level.cost).min()?;
        let all = (0..wanted.len())
            .all(|piece| levels.iter().any(|level| level.fits.iter().any(|of| of.0 == piece)));
        let step = levels.iter().fold(0, |step, level| num_gcd(step, level.cost)).max(1);
        let table: i64 = levels.iter().map(|level| i64::try_from(level.fits.len()).unwrap_or(i64::MAX)).sum();
        let small = wanted.len() <= MOST_PIECES && table.saturating_mul(fabric.capacity) <= MOST_STEPS;
        let sound = all && small && least > 0 && dearest < FINE;
        sound.then_some(Self { capacity: fabric.capacity, wanted, levels, fine: FINE / dearest, step })
    }

    /// Most strips of a plan that costs so much.
    fn most_strips(&self, cost: i64) -> i64 {
        cost / self.levels.iter().map(|level| level.cost).min().unwrap_or(1).max(1)
    }

    /// Cost of the dearest strip.
    fn dearest(&self) -> i64 {
        self.levels.iter().map(|level| level.cost).max().unwrap_or(1)
    }

    /// Fine parts of a cost as a cost that there can be, rounded up.
    fn rounded_up(&self, fine: i128) -> i64 {
        let step = i128::from(self.fine) * i128::from(self.step);
        let steps = -(-fine.max(0)).div_euclid(step);
        i64::try_from(steps).unwrap_or(i64::MAX / self.step) * self.step
    }

    /// A plan without what nobody wants, strips no wider than what is left on them needs.
    fn plan(&self, patterns: &Patterns, classes: &[usize]) -> FabricPlan {
        let mut left = self.wanted.clone();
        let mut strips: BTreeMap<Strip, i64> = BTreeMap::new();
        for (pattern, times) in patterns {
            for _ in 0..*times {
                let mut plies = Vec::new();
                for &(piece, count) in &pattern.pieces {
                    let count = count.min(left[piece]);
                    left[piece] -= count;
                    if count > 0 {
                        plies.push((classes[piece], count));
                    }
                }
                if !plies.is_empty() {
                    *strips.entry(Strip { width: pattern.width, plies }).or_default() += 1;
                }
            }
        }
        FabricPlan { strips }
    }
}
