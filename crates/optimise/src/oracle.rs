//! One fabric on its own: its cheapest whole cutting plan when plies have a price each. Whole numbers of strips that
//! cover the demand, found by a dynamic program over what is still wanted, on the strips that can matter.
//!
//! A linear program over strips (column generation, one knapsack a strip width) gives prices per patch and a lower
//! bound. A strip whose cost exceeds what its patches are worth by more than the distance between a known plan and
//! that bound is in no cheaper plan (reduced-cost fixing; Crowder, Johnson and Padberg, Operations Research 31
//! (1983)), so the program runs over the few strips below a small distance first and widens it until the answer is
//! exact.

pub mod near;

use std::collections::{BTreeMap, BTreeSet, BinaryHeap};

use minilp::{ComparisonOp, OptimizationDirection, Problem};
use rustc_hash::FxHashMap;

use crate::corner::{self, Corner};
use crate::dive::{self, Diver};
use crate::kinds::Kind;
use crate::listen::Stop;
use crate::model::{Fabric, num_gcd};
use crate::pricing::Knapsack;
use crate::simplex;

/// A strip and the plies of every kind that it carries.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Strip {
    /// Width, grid steps.
    pub width: i64,
    /// (kind, plies), by kind.
    pub plies: Vec<(usize, i64)>,
}

/// A whole cutting plan of one fabric.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct FabricPlan {
    /// Strips with how many of each.
    pub strips: BTreeMap<Strip, i64>,
}

impl FabricPlan {
    /// Plies of every kind.
    #[must_use]
    pub fn counts(&self, kinds: usize) -> Vec<i64> {
        let mut counts = vec![0; kinds];
        for (strip, n) in &self.strips {
            for &(kind, plies) in &strip.plies {
                counts[kind] += plies * n;
            }
        }
        counts
    }

    /// Strip widths in all, grid steps.
    #[must_use]
    pub fn width(&self) -> i64 {
        self.strips.iter().map(|(strip, n)| strip.width * n).sum()
    }

    /// Both together.
    #[must_use]
    pub fn and(mut self, other: Self) -> Self {
        for (strip, n) in other.strips {
            *self.strips.entry(strip).or_default() += n;
        }
        self
    }

    /// Its cost at the prices asked.
    #[must_use]
    pub fn cost(&self, prices: &Prices) -> i64 {
        self.strips.iter().map(|(strip, n)| prices.strip(strip) * n).sum()
    }
}

/// What a fabric's plan costs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Prices {
    /// Of a grid step of strip width.
    pub width: i64,
    /// Of a strip.
    pub each: i64,
    /// Of a ply, by kind.
    pub plies: Vec<i64>,
}

impl Prices {
    /// By how much whole worths must be finer than these prices to lose next to nothing by rounding: a power of two, so
    /// that the denominators of several fabrics have a small common multiple.
    fn fineness(&self, fabric: &Fabric) -> i64 {
        let strip = self.width * fabric.widths.last().copied().unwrap_or(1) + self.each;
        let dearest = self.plies.iter().copied().max().unwrap_or(0).max(strip).max(1);
        let fine = u64::try_from(FINE / dearest).unwrap_or(1).max(1);
        1 << fine.ilog2()
    }

    fn times(&self, fine: i64) -> Self {
        let plies = self.plies.iter().map(|price| price * fine).collect();
        Self { width: self.width * fine, each: self.each * fine, plies }
    }

    /// Cost of a strip with its plies.
    #[must_use]
    pub fn strip(&self, strip: &Strip) -> i64 {
        let plies: i64 = strip.plies.iter().map(|&(kind, n)| self.plies[kind] * n).sum();
        self.width * strip.width + self.each + plies
    }
}

/// An answer.
#[derive(Clone, Debug)]
pub struct Answer {
    /// The cheapest plan found.
    pub plan: FabricPlan,
    /// Its cost.
    pub value: i64,
    /// No plan costs less. Exact: it follows from `worth` and whole numbers alone.
    pub bound: i64,
    /// Worth of every item, in patches counted by [`Oracle::steps`], at which no strip is worth more than it costs.
    pub worth: Vec<i64>,
    /// The worths are over this.
    pub fine: i64,
    /// Whether the bound is the least cost, found with so little work that a checker can do it again.
    pub checkable: bool,
}

/// Least price of the dearest strip in whole numbers.
const FINE: i64 = 10_000_000;
/// Most demands that are few.
const FEW_STATES: usize = 400_000;
/// Most demands for which the cheapest plan is searched.
const MOST_STATES: usize = 1_000_000_000_000;
/// Most demands, floors counted in, of a fabric whose plans are told apart by them.
const STATES_WITH_FLOORS: usize = 1_000_000;
/// Steps of the search for a cover beyond which a checker, which may take three times as many, is not asked to repeat it.
const STEPS_TO_CHECK: usize = 4_000_000;
/// Most steps of the search for a cover.
const MOST_STEPS: usize = 5_000_000;
/// Where they were too few, later questions about the same fabric get so many times fewer, for they will be too few again.
const FEWER_STEPS: usize = 8;
/// But no fewer than this.
const LEAST_STEPS: usize = 500_000;
/// States between looks at whether to stop.
const STATES_BETWEEN_STOPS: u32 = 1 << 14;
/// Strips looked at beyond which a checker, which has a limit of its own ten times as high, is not asked to do the same.
const NODES_TO_CHECK: u64 = 2_000_000;
/// Distance, as a share of the worth of the demand, within which strips are listed first.
const NEAR: f64 = 0.0025;
/// How often the distance within which strips are listed is widened.
const MOST_WIDENINGS: u32 = 16;
/// Dives where the table would be too large.
const DIVES: u32 = 40;
/// Most strips of one width looked at.
const MOST_NODES: u32 = 300_000;
/// Most strips listed at one distance.
const MOST_STRIPS: usize = 40_000;

/// Whether so many wanted of every item are few demands in all: then the cheapest plan is found without dives.
#[must_use]
pub fn is_small(wanted: &[usize]) -> bool {
    states(wanted).is_some_and(|states| states <= FEW_STATES)
}

/// Whether the cheapest plan is searched for so many wanted of every item.
fn is_searched(wanted: &[usize]) -> bool {
    states(wanted).is_some_and(|states| states <= MOST_STATES)
}

fn states(wanted: &[usize]) -> Option<usize> {
    wanted.iter().try_fold(1_usize, |all, wanted| all.checked_mul(wanted.checked_add(1)?))
}

/// Answers questions about one fabric; strips found useful are kept from question to question.
#[derive(Clone, Debug)]
pub struct Oracle<'a> {
    fabric: &'a Fabric,
    kinds: &'a [Kind],
    known: BTreeSet<Strip>,
    /// Patches by which the demand of every item is counted.
    steps: Vec<u64>,
    wanted: Vec<usize>,
    /// Whether a checker will repeat the search: then it is the plain one.
    for_checker: bool,
    /// Most steps of a search for a cover.
    most_steps: usize,
}

/// What is known of covering the demand with some strips.
enum Cover {
    /// The cheapest cover, its cost and the steps of the search.
    Cheapest(FabricPlan, i64, usize),
    /// There is none, after so many steps.
    Nothing(usize),
    /// Too many ways; none costs less than this above the worth of the demand.
    Unknown(i64),
}

/// What a whole plan must have at least beside its patches.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Floors {
    /// Strip widths in all, grid steps.
    pub cloth: i64,
    /// Plies, by kind.
    pub plies: Vec<(usize, i64)>,
}

/// What is wanted in one question: patches of every item counted in steps, then, where there are floors, strip widths
/// counted in steps and plies of kinds.
struct Wanted {
    counts: Vec<usize>,
    /// Patches of every item.
    items: usize,
    /// Step of strip widths, where they have a floor.
    cloth: Option<i64>,
    /// Kinds with a floor.
    plies: Vec<usize>,
}

impl Wanted {
    fn len(&self) -> usize {
        self.counts.len()
    }

    fn first_kind(&self) -> usize {
        self.items + usize::from(self.cloth.is_some())
    }
}

/// A strip with what it gives and costs.
#[derive(Clone, Debug)]
struct Offer {
    strip: Strip,
    gives: Vec<usize>,
    cost: i64,
    above: f64,
}

impl<'a> Oracle<'a> {
    /// For a fabric and its kinds.
    #[must_use]
    pub fn new(fabric: &'a Fabric, kinds: &'a [Kind]) -> Self {
        let steps: Vec<u64> = (0..fabric.items.len())
            .map(|item| {
                let of_item = kinds.iter().flat_map(|kind| &kind.yields).filter(|(i, _)| *i == item);
                let all = of_item.fold(0, |all, (_, n)| num_gcd(all, i64::from(*n)));
                u64::try_from(all).unwrap_or(1).max(1)
            })
            .collect();
        let wanted = fabric
            .items
            .iter()
            .zip(&steps)
            .map(|(item, step)| usize::try_from(item.wanted.div_ceil(*step)).unwrap_or(usize::MAX / 2));
        let wanted = wanted.collect();
        let (known, most_steps) = (BTreeSet::new(), MOST_STEPS);
        let mut oracle = Self { fabric, kinds, known, steps, wanted, for_checker: false, most_steps };
        for (k, kind) in kinds.iter().enumerate() {
            if let Some(&(width, _)) = fabric.classes[kind.class].ways.first() {
                let _ = oracle.known.insert(Strip { width, plies: vec![(k, 1)] });
            }
        }
        oracle
    }

    /// The same, for answers that a checker will ask for again: what it can do again is found out by doing it as it does.
    #[must_use]
    pub fn for_checker(self) -> Self {
        Self { for_checker: true, most_steps: STEPS_TO_CHECK, ..self }
    }

    /// Whether the demand is small enough for the search.
    #[must_use]
    pub fn is_searched(&self) -> bool {
        is_searched(&self.wanted)
    }

    /// Whether floors leave the demand small enough to be searched again and again.
    #[must_use]
    pub fn affords(&self, floors: &Floors) -> bool {
        states(&self.wanted(floors).counts).is_some_and(|states| states <= STATES_WITH_FLOORS)
    }

    fn wanted(&self, floors: &Floors) -> Wanted {
        let mut counts = self.wanted.clone();
        let step = self.fabric.width_step();
        let cloth = (floors.cloth > 0).then_some(step);
        let whole = |n: i64| usize::try_from(n).unwrap_or(0);
        counts.extend(cloth.map(|step| whole((floors.cloth + step - 1).div_euclid(step))));
        counts.extend(floors.plies.iter().map(|&(_, least)| whole(least)));
        let plies = floors.plies.iter().map(|&(k, _)| k).collect();
        Wanted { counts, items: self.wanted.len(), cloth, plies }
    }

    /// Whether nothing is wanted.
    #[must_use]
    pub fn is_idle(&self) -> bool {
        self.wanted.iter().all(|&wanted| wanted == 0)
    }

    fn gives(&self, wanted: &Wanted, strip: &Strip) -> Vec<usize> {
        let mut gives = vec![0; wanted.len()];
        for &(kind, n) in &strip.plies {
            let n = usize::try_from(n).unwrap_or(0);
            for &(item, yields) in &self.kinds[kind].yields {
                let each = u64::from(yields) / self.steps[item];
                gives[item] += usize::try_from(each).unwrap_or(0) * n;
            }
            if let Some(at) = wanted.plies.iter().position(|&k| k == kind) {
                gives[wanted.first_kind() + at] += n;
            }
        }
        if let Some(step) = wanted.cloth {
            gives[wanted.items] += usize::try_from(strip.width / step).unwrap_or(0);
        }
        gives
    }

    /// The cheapest plan at these prices; `None` if the demand can't be met, or if `stop` came before a plan. A plan that
    /// is known to be cheap saves looking at dearer ones. Where the demand is too large for the search the plan, not the
    /// bound, may miss the floors.
    #[must_use]
    pub fn cheapest(
        &mut self,
        prices: &Prices,
        floors: &Floors,
        known: Option<&FabricPlan>,
        stop: Stop<'_>,
    ) -> Option<Answer> {
        if self.is_idle() {
            let worth = vec![0; self.wanted.len()];
            let plan = FabricPlan::default();
            return Some(Answer { plan, value: 0, bound: 0, worth, fine: 1, checkable: false });
        }
        let (asked, fine) = (prices, prices.fineness(self.fabric));
        let prices = &asked.times(fine);
        let wanted = &self.wanted(floors);
        let relaxed = self.relaxation(wanted, prices)?;
        let worth = self.settled(wanted, prices, &relaxed);
        #[allow(clippy::cast_precision_loss, reason = "demands are small")]
        let bound: f64 = worth.iter().zip(&wanted.counts).map(|(worth, &n)| worth * n as f64).sum();
        #[allow(clippy::cast_possible_truncation, reason = "whole numbers below 2^53")]
        let whole_worth = worth.iter().map(|&worth| worth as i64).collect();
        let base = bound;
        let known = known.filter(|plan| self.covers(wanted, plan));
        let mut best: Option<(FabricPlan, i64)> = known.map(|plan| (plan.clone(), plan.cost(prices)));
        let mut distance = NEAR * base + 1.0;
        // No plan costs less than the base and this.
        let mut above = 0.0;
        let mut checkable = true;
        let widenings = if is_searched(&wanted.counts) { MOST_WIDENINGS } else { 0 };
        for _ in 0..widenings {
            let gap = best.as_ref().map(|(_, value)| to_float(*value) - base);
            distance = gap.map_or(distance, |gap| distance.min(gap));
            if gap.is_some_and(|gap| above >= gap) {
                break;
            }
            let Some((options, nodes)) = self.options(wanted, prices, &worth, distance) else { break };
            checkable &= nodes <= NODES_TO_CHECK;
            match self.cover(wanted, &options, &worth, (gap, stop)) {
                Cover::Cheapest(plan, value, steps) => {
                    checkable &= steps <= STEPS_TO_CHECK;
                    let found = to_float(value) - base;
                    above = found.min(distance).max(above);
                    best = Some((plan, value));
                    distance *= 4.0;
                }
                // Strips further above their worth are missing.
                Cover::Nothing(steps) if options.len() <= MOST_STRIPS / 8 || gap.is_some() => {
                    checkable &= steps <= STEPS_TO_CHECK;
                    above = above.max(distance);
                    distance *= 4.0;
                }
                Cover::Nothing(_) => break,
                Cover::Unknown(least) => {
                    self.most_steps = (self.most_steps / FEWER_STEPS).max(LEAST_STEPS.min(self.most_steps));
                    above = above.max(to_float(least).min(distance));
                    break;
                }
            }
        }
        let plan = match best {
            Some((plan, _)) => plan,
            // Too large for the search: dives.
            None => {
                let mut diver = Diver::new(self.fabric, self.kinds, &self.steps, prices);
                for strip in &self.known {
                    let _ = diver.learn(strip.clone());
                }
                diver.best(&self.wanted, None, &dive::Reach { dives: DIVES, chains: 1, seed: 1, stop })?
            }
        };
        self.learn(&plan);
        let value = plan.cost(asked);
        // Rounded down before it is brought back to the prices asked, and up after: costs are whole there.
        #[allow(clippy::cast_possible_truncation, reason = "a whole number below 2^53")]
        let bound = -(-((base + above).floor() as i64)).div_euclid(fine);
        let checkable = checkable && above > 0.0;
        Some(Answer { plan, value, bound, worth: whole_worth, fine, checkable })
    }

    /// Patches by which the demand of every item is counted: what every ply yields is a multiple of it.
    #[must_use]
    pub fn steps(&self) -> &[u64] {
        &self.steps
    }

    /// What is wanted of every item, counted by [`Oracle::steps`].
    #[must_use]
    pub fn demand(&self) -> &[usize] {
        &self.wanted
    }

    fn covers(&self, wanted: &Wanted, plan: &FabricPlan) -> bool {
        let mut got = vec![0; wanted.len()];
        for (strip, &n) in &plan.strips {
            let times = usize::try_from(n).unwrap_or(0);
            got.iter_mut().zip(self.gives(wanted, strip)).for_each(|(got, gives)| *got += gives * times);
        }
        got.iter().zip(&wanted.counts).all(|(got, wanted)| got >= wanted)
    }

    fn learn(&mut self, plan: &FabricPlan) {
        self.known.extend(plan.strips.keys().cloned());
    }

    /// Whole worths at most those of the linear program, such that no strip is worth more than it costs. Whole numbers
    /// below 2^53 are exact in floating point, sums and differences too, so this is a proof.
    fn settled(&self, wanted: &Wanted, prices: &Prices, worth: &[f64]) -> Vec<f64> {
        let mut settled: Vec<f64> = worth.iter().map(|worth| worth.floor()).collect();
        for round in 0..60 {
            let values = self.values(wanted, prices, &settled);
            let pays = self.fabric.widths.iter().all(|&width| {
                let cost = Self::strip_alone(wanted, prices, &settled, width);
                Knapsack::fill(&self.fitting(&values, width), self.fabric.capacity).value() <= cost
            });
            if pays {
                return settled;
            }
            let less = f64::from(1_u32 << (round / 2));
            settled.iter_mut().for_each(|worth| *worth = (*worth - less).max(0.0));
        }
        vec![0.0; worth.len()]
    }

    /// Worth of a patch (by item, in counted steps) in the linear program.
    fn relaxation(&mut self, wanted: &Wanted, prices: &Prices) -> Option<Vec<f64>> {
        let scale = to_float(prices.width * self.fabric.widths.last().copied().unwrap_or(1) + prices.each)
            .max(to_float(prices.plies.iter().copied().max().unwrap_or(1)))
            .max(1.0);
        let mut problem = Problem::new(OptimizationDirection::Maximize);
        #[allow(clippy::cast_precision_loss, reason = "demands are small")]
        let worth: Vec<_> = wanted
            .counts
            .iter()
            .map(|&wanted| problem.add_var(wanted as f64, (0.0, f64::INFINITY)))
            .collect();
        let row = |gives: &[usize]| -> Vec<(minilp::Variable, f64)> {
            #[allow(clippy::cast_precision_loss, reason = "patches of a strip are few")]
            let terms = worth.iter().zip(gives).filter(|(_, n)| **n > 0).map(|(&v, &n)| (v, n as f64));
            terms.collect()
        };
        for strip in &self.known {
            let gives = self.gives(wanted, strip);
            problem.add_constraint(
                row(&gives).as_slice(),
                ComparisonOp::Le,
                to_float(prices.strip(strip)) / scale,
            );
        }
        let mut solution = simplex::solved(&problem)?;
        loop {
            let at: Vec<f64> = worth.iter().map(|&v| solution.var_value(v).max(0.0) * scale).collect();
            let mut added = false;
            for &width in &self.fabric.widths {
                let Some(strip) = self.dearest(wanted, prices, &at, width) else { continue };
                if self.known.insert(strip.clone()) {
                    let gives = self.gives(wanted, &strip);
                    let cost = to_float(prices.strip(&strip)) / scale;
                    solution = simplex::with_row(solution, row(&gives).as_slice(), ComparisonOp::Le, cost)?;
                    added = true;
                }
            }
            if !added {
                return Some(at);
            }
        }
    }

    /// What a ply of every kind is worth above its price.
    fn values(&self, wanted: &Wanted, prices: &Prices, worth: &[f64]) -> Vec<f64> {
        let mut values: Vec<f64> = self
            .kinds
            .iter()
            .zip(&prices.plies)
            .map(|(kind, &price)| {
                #[allow(clippy::cast_precision_loss, reason = "patches of a ply are few")]
                let gain = |&(item, n): &(usize, u32)| worth[item] * (u64::from(n) / self.steps[item]) as f64;
                kind.yields.iter().map(gain).sum::<f64>() - to_float(price)
            })
            .collect();
        for (&k, worth) in wanted.plies.iter().zip(&worth[wanted.first_kind()..]) {
            values[k] += worth;
        }
        values
    }

    /// What a strip costs above the worth of its width, without its plies.
    fn strip_alone(wanted: &Wanted, prices: &Prices, worth: &[f64], width: i64) -> f64 {
        let cloth = wanted.cloth.map_or(0.0, |step| worth[wanted.items] * to_float(width / step));
        to_float(prices.width * width + prices.each) - cloth
    }

    /// (kind, run, value) of the kinds worth having on a strip of that width.
    fn fitting(&self, values: &[f64], width: i64) -> Vec<(usize, i64, f64)> {
        let of =
            |k: usize| self.fabric.classes[self.kinds[k].class].run_in(width).map(|run| (k, run, values[k]));
        (0..self.kinds.len()).filter(|&k| values[k] > 0.0).filter_map(of).collect()
    }

    /// The strip of that width with most worth above its cost, if there is any above it.
    fn dearest(&self, wanted: &Wanted, prices: &Prices, worth: &[f64], width: i64) -> Option<Strip> {
        let fitting = self.fitting(&self.values(wanted, prices, worth), width);
        let table = Knapsack::fill(&fitting, self.fabric.capacity);
        let cost = Self::strip_alone(wanted, prices, worth, width);
        let near = 1e-7 * to_float(prices.width * width + prices.each).max(1.0);
        if table.value() <= cost + near {
            return None;
        }
        Some(Strip { width, plies: table.chosen() })
    }

    /// Strips that cost at most `distance` more than their patches are worth, none that another makes useless, and how
    /// many were looked at. None if there were too many.
    fn options(
        &self,
        wanted: &Wanted,
        prices: &Prices,
        worth: &[f64],
        distance: f64,
    ) -> Option<(Vec<Offer>, u64)> {
        let values = self.values(wanted, prices, worth);
        let mut best: BTreeMap<Vec<usize>, Offer> = BTreeMap::new();
        let mut nodes = 0;
        for &width in &self.fabric.widths {
            // A ply of little worth may still be wanted: what it loses counts against the distance.
            let near = (0..self.kinds.len()).filter(|&k| values[k] > -distance);
            let mut fitting: Vec<Fitting> = near
                .filter_map(|k| {
                    let run = self.fabric.classes[self.kinds[k].class].run_in(width)?;
                    Some(self.fitting_kind(wanted, k, run, (prices.plies[k], values[k])))
                })
                .collect();
            if !self.for_checker {
                fitting = useful(fitting);
            }
            fitting.sort_by(|a, b| {
                let rate = |c: &Fitting| c.value / to_float(c.run.max(1));
                rate(b).total_cmp(&rate(a)).then(a.kind.cmp(&b.kind))
            });
            let cost = Self::strip_alone(wanted, prices, worth, width);
            let mut alone = vec![0; wanted.len()];
            if let Some(step) = wanted.cloth {
                alone[wanted.items] = usize::try_from(width / step).unwrap_or(0);
            }
            let mut listing = Listing {
                wanted,
                width,
                price: prices.width * width + prices.each,
                tables: self.tables(&fitting),
                fitting: &fitting,
                least: cost - distance,
                cost,
                budget: MOST_NODES,
                counts: vec![0; fitting.len()],
                alone,
                gives: vec![0; wanted.len()],
                best: &mut best,
            };
            listing.descend(0, self.fabric.capacity, 0.0);
            nodes += u64::from(MOST_NODES - listing.budget);
            if listing.budget == 0 {
                return None;
            }
        }
        let options: Vec<Offer> = best.into_values().collect();
        (options.len() <= MOST_STRIPS).then(|| (undominated(options), nodes))
    }

    fn fitting_kind(&self, wanted: &Wanted, kind: usize, run: i64, (price, value): (i64, f64)) -> Fitting {
        let yields = &self.kinds[kind].yields;
        let needed = |&(item, n): &(usize, u32)| self.fabric.items[item].wanted.div_ceil(u64::from(n));
        let needed = yields.iter().map(needed).max().unwrap_or(0);
        let floor = wanted.plies.iter().position(|&k| k == kind);
        let floor = floor.map(|at| wanted.counts[wanted.first_kind() + at] as u64);
        let most = i64::try_from(needed.max(floor.unwrap_or(0))).unwrap_or(i64::MAX);
        let mut gives = vec![0; wanted.len()];
        for &(item, n) in yields {
            gives[item] += usize::try_from(u64::from(n) / self.steps[item]).unwrap_or(0);
        }
        if let Some(at) = wanted.plies.iter().position(|&k| k == kind) {
            gives[wanted.first_kind() + at] += 1;
        }
        Fitting { kind, run, price, value, most, gives }
    }

    /// The best filling of every length by the kinds from each on; for a checker, which has one table, by all of them.
    fn tables(&self, fitting: &[Fitting]) -> Vec<Vec<f64>> {
        let length = usize::try_from(self.fabric.capacity.max(0)).unwrap_or(0);
        let mut tables = vec![vec![0.0; length + 1]];
        for kind in fitting.iter().rev() {
            let mut table = tables.last().cloned().unwrap_or_default();
            let run = usize::try_from(kind.run).unwrap_or(usize::MAX).max(1);
            if kind.value > 0.0 {
                for at in run..=length {
                    table[at] = f64::max(table[at], table[at - run] + kind.value);
                }
            }
            tables.push(table);
        }
        tables.reverse();
        if self.for_checker {
            tables.truncate(1);
        }
        tables
    }

    /// The cheapest cover of the demand with these strips that is above its worth by less than `below`.
    fn cover(
        &self,
        wanted: &Wanted,
        options: &[Offer],
        worth: &[f64],
        (below, stop): (Option<f64>, Stop<'_>),
    ) -> Cover {
        #[allow(clippy::cast_possible_truncation, reason = "a whole number below 2^53")]
        let below = below.map_or(i64::MAX, |below| below as i64);
        let ahead = (!self.for_checker).then_some(below);
        let Some(covering) = Covering::new(&wanted.counts, options, worth, ahead) else {
            return Cover::Unknown(0);
        };
        match covering.cheapest(below, self.most_steps, stop) {
            Ok((Some(used), steps)) => {
                let value = used.iter().map(|(&option, n)| options[option].cost * n).sum();
                let strips = used.into_iter().map(|(option, n)| (options[option].strip.clone(), n));
                Cover::Cheapest(FabricPlan { strips: strips.collect() }, value, steps)
            }
            Ok((None, steps)) => Cover::Nothing(steps),
            Err(least) => Cover::Unknown(least),
        }
    }
}

#[allow(clippy::cast_precision_loss, reason = "costs are kept below 2^53")]
fn to_float(n: i64) -> f64 {
    n as f64
}

/// A kind on a strip of some width.
#[derive(Clone, Debug)]
struct Fitting {
    kind: usize,
    run: i64,
    price: i64,
    /// Its worth above its price.
    value: f64,
    /// Most plies of it that can be of use.
    most: i64,
    gives: Vec<usize>,
}

/// Drops kinds beside which there is another that is no longer, costs no more and gives as much: it can always lie in
/// their place.
fn useful(fitting: Vec<Fitting>) -> Vec<Fitting> {
    let as_good = |one: &Fitting, other: &Fitting| {
        let gives = one.gives.iter().zip(&other.gives).all(|(a, b)| a >= b);
        one.run <= other.run && one.price <= other.price && gives
    };
    let needless = |(at, kind): (usize, &Fitting)| {
        let others = fitting.iter().enumerate().filter(|(other, _)| *other != at);
        others.into_iter().any(|(place, other)| as_good(other, kind) && (!as_good(kind, other) || place < at))
    };
    let kept: Vec<bool> = fitting.iter().enumerate().map(|of| !needless(of)).collect();
    fitting.into_iter().zip(kept).filter(|(_, kept)| *kept).map(|(kind, _)| kind).collect()
}

/// Lists the strips of one width, depth first, cut off where even the best filling of the rest is worth too little.
struct Listing<'a> {
    wanted: &'a Wanted,
    width: i64,
    /// Of a strip without plies.
    price: i64,
    fitting: &'a [Fitting],
    /// Best filling of every length from each kind on; the last stands for all after it.
    tables: Vec<Vec<f64>>,
    least: f64,
    cost: f64,
    budget: u32,
    counts: Vec<i64>,
    /// What the strip gives without plies.
    alone: Vec<usize>,
    gives: Vec<usize>,
    best: &'a mut BTreeMap<Vec<usize>, Offer>,
}

impl Listing<'_> {
    fn descend(&mut self, at: usize, left: i64, worth: f64) {
        if self.budget == 0 {
            return;
        }
        self.budget -= 1;
        let table = &self.tables[at.min(self.tables.len() - 1)];
        let rest = usize::try_from(left).map_or(0.0, |left| table.get(left).copied().unwrap_or(0.0));
        if worth + rest < self.least - 1e-6 {
            return;
        }
        let Some(kind) = self.fitting.get(at) else {
            self.keep(worth);
            return;
        };
        let most = (left / kind.run.max(1)).min(kind.most);
        for count in (0..=most).rev() {
            self.counts[at] = count;
            self.descend(at + 1, left - count * kind.run, worth + kind.value * to_float(count));
        }
        self.counts[at] = 0;
    }

    fn keep(&mut self, worth: f64) {
        self.gives.clone_from(&self.alone);
        let mut cost = self.price;
        for (kind, &n) in self.fitting.iter().zip(&self.counts).filter(|(_, n)| **n > 0) {
            cost += kind.price * n;
            let n = usize::try_from(n).unwrap_or(0);
            self.gives.iter_mut().zip(&kind.gives).for_each(|(gives, each)| *gives += each * n);
        }
        self.gives
            .iter_mut()
            .zip(&self.wanted.counts)
            .for_each(|(gives, &wanted)| *gives = wanted.min(*gives));
        let known = self.best.get(&self.gives);
        if known.is_some_and(|known| known.cost < cost) || self.gives.iter().all(|&n| n == 0) {
            return;
        }
        let used = self.fitting.iter().zip(&self.counts).filter(|(_, n)| **n > 0);
        let mut plies: Vec<(usize, i64)> = used.map(|(kind, &n)| (kind.kind, n)).collect();
        plies.sort_unstable();
        let strip = Strip { width: self.width, plies };
        if known.is_none_or(|known| (cost, &strip) < (known.cost, &known.strip)) {
            let offer = Offer { strip, gives: self.gives.clone(), cost, above: self.cost - worth };
            let _ = self.best.insert(self.gives.clone(), offer);
        }
    }
}

/// Drops strips that cost no less than another that gives as much.
fn undominated(mut options: Vec<Offer>) -> Vec<Offer> {
    options.sort_by(|a, b| a.cost.cmp(&b.cost).then_with(|| b.gives.cmp(&a.gives)));
    let mut kept: Vec<Offer> = Vec::new();
    for option in options {
        let useless = kept.iter().any(|known| known.gives.iter().zip(&option.gives).all(|(a, b)| a >= b));
        if !useless {
            kept.push(option);
        }
    }
    kept.sort_by(|a, b| a.above.total_cmp(&b.above).then_with(|| a.strip.cmp(&b.strip)));
    kept
}

/// The cheapest cover as a shortest path: from nothing covered to all of the demand, by one strip at a time. What a
/// strip costs above the worth of what it adds is never below zero, and along every path the worths add up to the same,
/// so the path that is shortest in it is the cheapest cover (Dijkstra, Numerische Mathematik 1 (1959), with the worths
/// as potentials; with what is still to be paid at least, by [`Corner`], as by Hart, Nilsson and Raphael, IEEE
/// Transactions on Systems Science and Cybernetics 4 (1968) 100-107). Strips may come in any order: the next one always
/// gives the first item of which something is left.
struct Covering<'a> {
    options: &'a [Offer],
    /// What each costs above the worth of all that it gives, ascending.
    above: Vec<i64>,
    /// Wanted of every item plus one.
    radix: Vec<u64>,
    worth: Vec<i64>,
    ahead: Corner,
    /// Items, those that fewest strips give first, and the strips that give each.
    by_item: Vec<(usize, Vec<usize>)>,
}

/// A state not yet settled, that with the least to be paid in all first, and what was spent on it.
type Near = std::cmp::Reverse<(i64, u64, i64)>;

/// How a state is reached: what was spent, the last option and the state before.
type Reached = FxHashMap<u64, (i64, usize, u64)>;

impl<'a> Covering<'a> {
    /// Looks ahead for covers that are above the worth of the demand by less than `ahead`, where that is stated.
    #[allow(clippy::cast_possible_truncation, reason = "worths are whole numbers below 2^53")]
    fn new(wanted: &[usize], options: &'a [Offer], worth: &[f64], ahead: Option<i64>) -> Option<Self> {
        let radix: Vec<u64> =
            wanted.iter().map(|&n| u64::try_from(n).ok()?.checked_add(1)).collect::<Option<_>>()?;
        let _ = radix.iter().try_fold(1_u64, |all, &n| all.checked_mul(n))?;
        let given = |item: usize| (0..options.len()).filter(|&o| options[o].gives[item] > 0).collect();
        let items = (0..wanted.len()).filter(|&item| wanted[item] > 0);
        let mut by_item: Vec<(usize, Vec<usize>)> = items.map(|item| (item, given(item))).collect();
        by_item.sort_by_key(|(item, options)| (options.len(), *item));
        let above = options.iter().map(|option| option.above as i64).collect();
        let worth: Vec<i64> = worth.iter().map(|&worth| worth as i64).collect();
        let all: i64 =
            wanted.iter().zip(&worth).map(|(&n, &worth)| i64::try_from(n).unwrap_or(i64::MAX) * worth).sum();
        let corner = |below: i64| {
            let columns: Vec<corner::Column<'_>> =
                options.iter().map(|option| (option.gives.as_slice(), option.cost)).collect();
            Corner::of(&columns, wanted, below.saturating_add(all))
        };
        let ahead = ahead.and_then(corner).unwrap_or_else(|| Corner::plain(worth.clone()));
        Some(Self { options, above, radix, worth, ahead, by_item })
    }

    fn digits(&self, mut state: u64, left: &mut [usize]) {
        for (left, &radix) in left.iter_mut().zip(&self.radix) {
            *left = usize::try_from(state % radix).unwrap_or(usize::MAX);
            state /= radix;
        }
    }

    /// What is left after a strip, and its state.
    fn after(&self, left: &[usize], gives: &[usize], next: &mut [usize]) -> u64 {
        let (mut state, mut weight) = (0, 1);
        for (((next, &left), &gives), &radix) in next.iter_mut().zip(left).zip(gives).zip(&self.radix) {
            *next = left.saturating_sub(gives);
            state += *next as u64 * weight;
            weight *= radix;
        }
        state
    }

    fn worth_of(&self, left: &[usize]) -> i64 {
        left.iter().zip(&self.worth).map(|(&n, &worth)| i64::try_from(n).unwrap_or(i64::MAX) * worth).sum()
    }

    /// How often each strip is used, if there is a cover that is above the worth of the demand by less than `below`, and
    /// the steps it took. An error where there are too many ways, or too little time: no cover then costs less than that
    /// above the worth of the demand.
    fn cheapest(
        &self,
        below: i64,
        most_steps: usize,
        stop: Stop<'_>,
    ) -> Result<(Option<BTreeMap<usize, i64>>, usize), i64> {
        let all = self.radix.iter().product::<u64>() - 1;
        let (mut left, mut next) = (vec![0; self.radix.len()], vec![0; self.radix.len()]);
        self.digits(all, &mut left);
        let base = self.worth_of(&left);
        let (scale, most) = (self.ahead.scale(), below.saturating_add(base));
        let too_much = most.saturating_mul(scale);
        let mut known = Reached::default();
        let mut near: BinaryHeap<Near> = BinaryHeap::new();
        let _ = known.insert(all, (0, usize::MAX, all));
        near.push(std::cmp::Reverse((self.ahead.to_go(&left), all, 0)));
        let (mut steps, mut looked) = (0, 0_u32);
        while let Some(std::cmp::Reverse((least, state, spent))) = near.pop() {
            if least >= too_much {
                break;
            }
            if state == 0 {
                return Ok((Some(path(&known, all)), steps));
            }
            if known.get(&state).is_some_and(|known| known.0 < spent) {
                continue;
            }
            self.digits(state, &mut left);
            let Some((_, giving)) = self.by_item.iter().find(|(item, _)| left[*item] > 0) else { continue };
            steps += giving.len();
            looked += 1;
            if steps > most_steps || (looked.is_multiple_of(STATES_BETWEEN_STOPS) && stop()) {
                return Err(least.div_euclid(scale) - base);
            }
            let far = spent + self.worth_of(&left);
            for &option in giving {
                // They come by what they are above their worth.
                if far + self.above[option] >= most {
                    break;
                }
                let spent = spent + self.options[option].cost;
                let after = self.after(&left, &self.options[option].gives, &mut next);
                let least = self.ahead.to_go(&next).saturating_add(spent * scale);
                if least >= too_much {
                    continue;
                }
                if known.get(&after).is_none_or(|known| spent < known.0) {
                    let _ = known.insert(after, (spent, option, state));
                    near.push(std::cmp::Reverse((least, after, spent)));
                }
            }
        }
        Ok((None, steps))
    }
}

fn path(known: &Reached, all: u64) -> BTreeMap<usize, i64> {
    let mut used = BTreeMap::new();
    let mut state = 0;
    while state != all {
        let Some(&(_, option, before)) = known.get(&state) else { break };
        *used.entry(option).or_default() += 1;
        state = before;
    }
    used
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::integer::{Found, IntegerModel, Relation};
    use crate::model::{Class, Item};
    use crate::search::Random;

    fn fabric(capacity: i64, wanted: &[u64], ways: &[&[(i64, i64)]]) -> Fabric {
        let mut fabric = Fabric { capacity, ..Fabric::default() };
        fabric.items = wanted.iter().map(|&wanted| Item { line: None, wanted }).collect();
        fabric.classes = ways.iter().map(|ways| Class { ways: ways.to_vec() }).collect();
        fabric.set_widths();
        fabric
    }

    fn kind(class: usize, yields: &[(usize, u32)]) -> Kind {
        Kind { class, yields: yields.to_vec(), group: None, plies: vec![0] }
    }

    /// By hand: squares of 10 in strips of 40, nine wanted: four a strip, so three strips of 10; a ply costs 1.
    #[test]
    fn strips_come_whole() {
        let fabric = fabric(40, &[9], &[&[(10, 10)]]);
        let kinds = [kind(0, &[(0, 1)])];
        let prices = Prices { width: 1, each: 0, plies: vec![1] };
        let answer = Oracle::new(&fabric, &kinds)
            .cheapest(&prices, &Floors::default(), None, &|| false)
            .expect("a plan");
        assert_eq!((answer.value, answer.bound), (3 * 10 + 9, 3 * 10 + 9));
        assert_eq!(answer.plan.counts(1), vec![9]);
    }

    /// By hand: four patches singly (10 x 10) or two and two in 10 x 15. Singles fill one strip of 40 at 10 + 4 x 8;
    /// doubles take 30 of it at 10 + 2 x 8.
    #[test]
    fn dear_plies_make_larger_bays_worth_it() {
        let fabric = fabric(40, &[4], &[&[(10, 10)], &[(10, 15)]]);
        let kinds = [kind(0, &[(0, 1)]), kind(1, &[(0, 2)])];
        let prices = Prices { width: 1, each: 0, plies: vec![8, 8] };
        let answer = Oracle::new(&fabric, &kinds)
            .cheapest(&prices, &Floors::default(), None, &|| false)
            .expect("a plan");
        assert_eq!(answer.value, 26);
    }

    /// Every plan of the table against an integer program over all strips there are.
    #[test]
    fn agrees_with_an_integer_program_over_all_strips() {
        let mut random = Random::new(7);
        let mut number = |from: i64, n: usize| from + i64::try_from(random.below(n)).expect("small");
        for round in 0..60 {
            let capacity = number(12, 10);
            let sizes: Vec<(i64, i64)> = (0..3).map(|_| (number(2, 4), number(3, 5))).collect();
            let ways: Vec<Vec<(i64, i64)>> = sizes
                .iter()
                .map(|&(a, b)| Class::undominated(vec![(a, b), (b, a)]).expect("two ways"))
                .collect();
            let ways: Vec<&[(i64, i64)]> = ways.iter().map(Vec::as_slice).collect();
            let wanted = [number(1, 12).unsigned_abs(), number(1, 9).unsigned_abs()];
            let fabric = fabric(capacity, &wanted, &ways);
            let kinds = [kind(0, &[(0, 1)]), kind(1, &[(1, 1)]), kind(2, &[(0, 2), (1, 1)])];
            let plies = (0..3).map(|_| number(0, 30)).collect();
            let prices = Prices { width: 10, each: number(0, 5), plies };
            let answer = Oracle::new(&fabric, &kinds)
                .cheapest(&prices, &Floors::default(), None, &|| false)
                .expect("a plan");
            assert_eq!(answer.value, answer.plan.cost(&prices), "round {round}");
            assert_eq!(Some(answer.value), by_program(&fabric, &kinds, &prices), "round {round}");
        }
    }

    fn by_program(fabric: &Fabric, kinds: &[Kind], prices: &Prices) -> Option<i64> {
        let mut strips: Vec<Strip> = Vec::new();
        for &width in &fabric.widths {
            let runs: Vec<Option<i64>> =
                kinds.iter().map(|kind| fabric.classes[kind.class].run_in(width)).collect();
            let most = |k: usize| runs[k].map_or(0, |run| fabric.capacity / run);
            for a in 0..=most(0) {
                for b in 0..=most(1) {
                    for c in 0..=most(2) {
                        let length: i64 =
                            [a, b, c].iter().zip(&runs).map(|(n, run)| n * run.unwrap_or(0)).sum();
                        if length <= fabric.capacity && a + b + c > 0 {
                            let all = [(0, a), (1, b), (2, c)].into_iter().filter(|ply| ply.1 > 0);
                            strips.push(Strip { width, plies: all.collect() });
                        }
                    }
                }
            }
        }
        let mut program = IntegerModel::default();
        for strip in &strips {
            let _ = program.variable(prices.strip(strip), 0, 1000);
        }
        for (item, data) in fabric.items.iter().enumerate() {
            let given = |strip: &Strip| -> i64 {
                let yields = |&(k, n): &(usize, i64)| {
                    let of_item = kinds[k].yields.iter().filter(|(i, _)| *i == item);
                    of_item.map(|(_, each)| i64::from(*each) * n).sum::<i64>()
                };
                strip.plies.iter().map(yields).sum()
            };
            let row: Vec<_> = strips.iter().enumerate().map(|(v, strip)| (v, given(strip))).collect();
            program.row(row, Relation::AtLeast, i64::try_from(data.wanted).expect("small"));
        }
        match program.solve(1_000_000, None, None) {
            Found::Point { cost, finished: true, .. } => Some(cost),
            _ => None,
        }
    }
}
