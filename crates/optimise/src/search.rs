//! The primal search: relaxation, pattern pools, a first solution fabric by fabric, then a large-neighbourhood search
//! that frees one, two or three fabrics at a time. Deterministic: effort is counted in rounds and nodes, the clock is
//! only a stop, and the incumbent stays outside every solver.

use std::collections::{BTreeMap, BTreeSet};
use std::time::Instant;

use rayon::prelude::*;

use crate::costs::{Costs, Limits, Region, gcd};
use crate::decompose::{self, FineCosts, Loads};
use crate::dive::{self, Diver};
use crate::joint::{Cuts, Joint, Reach, SmallCosts};
use crate::kinds::{Kind, Kinds, Slot};
use crate::listen::{Listener, Stop};
use crate::lp::{self, Prices};
use crate::model::{Fabric, Model};
use crate::one_width::{self, Order};
use crate::oracle::{self, FabricPlan, Oracle, Prices as PlyPrices, Strip};
use crate::patterns::{Enumeration, of_columns};
use crate::solution::{Pattern, Solution};
use crate::{many_widths, tree, two_stage};

/// How hard to search.
#[derive(Clone, Copy, Debug)]
pub struct Effort {
    /// Patterns in each fabric's pool.
    pub pool: usize,
    /// Nodes of each neighbourhood program.
    pub nodes: u64,
    /// Rounds of branching on the decomposition.
    pub branches: u32,
    /// Rounds of the neighbourhood search without improvement before it stops.
    pub patience: u32,
    /// Seed.
    pub seed: u64,
    /// Stop at this instant.
    pub until: Option<Instant>,
}

/// A small generator of our own (SplitMix64, Steele, Lea and Flood, OOPSLA 2014): the same on every machine.
#[derive(Clone, Debug)]
pub struct Random(u64);

impl Random {
    /// From a seed.
    #[must_use]
    pub fn new(seed: u64) -> Self {
        Self(seed)
    }

    /// A number below `n` (`n > 0`).
    pub fn below(&mut self, n: usize) -> usize {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^= z >> 31;
        usize::try_from(z % (n.max(1) as u64)).unwrap_or(0)
    }
}

/// Most rounds of the decomposition.
const ROUNDS: u32 = 60;

/// Nodes of a neighbourhood program for every attempt at a part of a fabric's rounded plan.
const NODES_PER_TRY: u64 = 2;
/// Dives for every node of a neighbourhood program.
const DIVES_PER_NODE: u32 = 5;
/// Nodes of a neighbourhood program for every chain of dives that may end without a better plan.
const NODES_PER_CHAIN: u32 = 150;

/// Linear programs over strips of a list for every node of a neighbourhood program.
const PROGRAMS_PER_NODE: u64 = 4;

/// Hears of better solutions.
pub type Teller<'a> = &'a (dyn Fn(&Solution, f64) + Sync);

/// Search state for one question.
pub struct Search<'a> {
    /// The model.
    pub model: &'a Model,
    /// Exact costs.
    pub costs: &'a Costs,
    /// Limits.
    pub limits: &'a Limits,
    /// Effort.
    pub effort: Effort,
    /// Hears of progress and may ask to stop.
    pub listener: &'a dyn Listener,
    /// Told of every better solution, with the bound so far in the figure's unit (floating point).
    pub teller: Option<Teller<'a>>,
    /// Prices of the relaxation.
    pub prices: Prices,
    kinds: Kinds,
    pools: Vec<Vec<Pattern>>,
    cuts: Option<Cuts>,
    /// No solution costs less, in the figure's unit (floating point).
    bound: f64,
}

impl<'a> Search<'a> {
    /// Solves the relaxation and fills the pools. `None` if the relaxation has no solution.
    #[must_use]
    pub fn new(
        model: &'a Model,
        costs: &'a Costs,
        limits: &'a Limits,
        effort: Effort,
        listener: &'a dyn Listener,
    ) -> Option<Self> {
        let prices = lp::solve(model, costs, limits, &[])?;
        let kinds = Kinds::of_model(model);
        let (pools, bound) = (Vec::new(), prices.value);
        let mut search = Self {
            model,
            costs,
            limits,
            effort,
            listener,
            teller: None,
            prices,
            kinds,
            pools,
            cuts: None,
            bound,
        };
        search.fill_pools();
        Some(search)
    }

    #[allow(clippy::cast_precision_loss, reason = "floating-point search")]
    fn fill_pools(&mut self) {
        let unit = self.costs.unit as f64;
        let known = of_columns(self.model, &self.prices.columns);
        for (f, known) in known.into_iter().enumerate() {
            let values = lp::ply_values(
                self.model,
                f,
                self.costs.ply[f] as f64 / unit,
                &self.prices.items[f],
                &self.prices.points,
            );
            let width_cost = self.costs.width[f] as f64 / unit + self.prices.held_width[f];
            let fabric = &self.model.fabrics[f];
            let strip_cost = self.costs.strip as f64 / unit;
            let most = fabric.widths.last().copied().unwrap_or(0) as f64;
            let listing = Enumeration { fabric, values: &values, width_cost, strip_cost };
            let near = listing.run(width_cost * most + strip_cost, self.effort.pool);
            let mut pool: BTreeSet<Pattern> = near.into_iter().map(|(_, pattern)| pattern).collect();
            pool.extend(known);
            self.pools.push(pool.into_iter().collect());
        }
    }

    /// No solution costs less, in the figure's own unit.
    #[must_use]
    pub fn bound(&self) -> f64 {
        self.bound
    }

    fn stopped(&self) -> bool {
        self.listener.stop() || self.effort.until.is_some_and(|until| Instant::now() >= until)
    }

    fn tell(&self, at: &Solution) {
        if let Some(tell) = self.teller {
            tell(at, self.bound);
        }
    }

    fn joint<'b>(&'b self, small: &'b SmallCosts) -> Joint<'b> {
        let strips = self.strips_matter() || self.limits.width.is_some();
        Joint {
            model: self.model,
            kinds: &self.kinds,
            costs: small,
            limits: self.limits,
            pools: &self.pools,
            strips,
            cuts: self.cuts.as_ref(),
        }
    }

    /// Whether a solution costs no more than the best bound, rounded up to a cost that there can be.
    #[allow(clippy::cast_precision_loss, reason = "floating-point search; the proof is made elsewhere")]
    fn is_enough(&self, at: &Solution) -> bool {
        let costs = self.costs;
        let all = costs.width.iter().chain(&costs.ply).chain([&costs.strip, &costs.pass]);
        let step = all.fold(0, |a, &b| gcd(a, b)).max(1);
        let bound = self.bound * costs.unit as f64;
        let below = (at.cost(costs) - step) as f64;
        below < bound - 1e-7 * bound.abs().max(1.0)
    }

    /// A first solution, fabric by fabric, each in view of the passes that the earlier ones already need.
    #[must_use]
    pub fn first(&self) -> Solution {
        let small = SmallCosts::of(self.costs);
        let mut at = Solution::empty(self.model);
        let mut order: Vec<usize> = (0..self.model.fabrics.len()).collect();
        let weight =
            |f: &usize| std::cmp::Reverse(self.model.fabrics[*f].items.iter().map(|i| i.wanted).sum::<u64>());
        order.sort_by_key(weight);
        let no_limits = Limits::default();
        for &f in &order {
            if self.model.fabrics[f].items.is_empty() {
                continue;
            }
            let searched = Oracle::new(&self.model.fabrics[f], &self.kinds.of[f]).is_searched();
            // Where a fabric is too large to be searched, the relaxation's mixture is rounded later.
            if self.is_strips_alone(f) || !searched || self.stopped() {
                plain(self.model, &mut at, f);
                continue;
            }
            let joint = Joint { limits: &no_limits, ..self.joint(&small) };
            match joint.improve(&at, &[f], Reach { nodes: self.effort.nodes, stop: None, hinted: false }) {
                Some((next, _)) => at = next,
                None => plain(self.model, &mut at, f),
            }
        }
        at.set_passes(self.model);
        at
    }

    /// Every fabric's cheapest plan on its own, with loads at their price in the relaxation, where that is cheaper in
    /// all: as if passes cost nothing where cloth comes before passes.
    fn alone(&mut self, at: Solution) -> Solution {
        if self.costs.width.iter().all(|&cost| cost == 0) || self.limits.width.is_some() {
            return at;
        }
        let costs = FineCosts::of(self.model, self.costs);
        let loads = self.relaxed_loads(&costs);
        let stop = || self.stopped();
        if let Some(plans) = self.rounded(&costs, &loads, &at) {
            let next = self.settled(self.laid_out(&plans));
            return if self.improves(&next, &at) { next } else { at };
        }
        let wanted = self.wanted();
        let plans: Vec<Option<FabricPlan>> = wanted
            .par_iter()
            .map(|&f| {
                let mut oracle = Oracle::new(&self.model.fabrics[f], &self.kinds.of[f]);
                let answer = oracle.cheapest(
                    &decompose::prices(&self.kinds, &costs, f, &loads),
                    &oracle::Floors::default(),
                    None,
                    &stop,
                );
                answer.map(|answer| answer.plan)
            })
            .collect();
        let mut whole = vec![FabricPlan::default(); self.model.fabrics.len()];
        for (&f, plan) in wanted.iter().zip(plans) {
            let Some(plan) = plan else { return at };
            whole[f] = plan;
        }
        let next = self.settled(self.laid_out(&whole));
        if self.improves(&next, &at) { next } else { at }
    }

    /// Whole plans near the relaxation's mixture, where some fabric is too large for the oracle's search; solutions better
    /// than `at` are told on the way.
    fn rounded(&self, costs: &FineCosts, loads: &Loads, at: &Solution) -> Option<Vec<FabricPlan>> {
        let searched = |f: &usize| Oracle::new(&self.model.fabrics[*f], &self.kinds.of[*f]).is_searched();
        if self.wanted().iter().all(searched) {
            return None;
        }
        let tries = u32::try_from(self.effort.nodes / NODES_PER_TRY).unwrap_or(u32::MAX);
        let stop = || self.stopped();
        let mut told = |plans: &[FabricPlan]| {
            if self.teller.is_none() {
                return;
            }
            let next = self.laid_out(plans);
            if self.improves(&next, at) {
                self.tell(&next);
            }
        };
        let reach = two_stage::Reach { tries, seed: self.effort.seed, told: &mut told, stop: &stop };
        two_stage::rounded(self.model, &self.kinds, (self.costs, costs), &self.prices, loads, reach)
    }

    /// Plans of every fabric as a solution.
    fn laid_out(&self, plans: &[FabricPlan]) -> Solution {
        let mut next = Solution::empty(self.model);
        let mut counts = Vec::new();
        for (f, plan) in plans.iter().enumerate() {
            counts.push(plan.counts(self.kinds.of[f].len()));
            for (strip, n) in &plan.strips {
                *next.strips[f].entry(self.kinds.pattern(f, strip)).or_default() += n;
            }
        }
        let mut sums = vec![0; self.kinds.groups.len()];
        for (f, counts) in counts.iter().enumerate() {
            self.kinds.in_groups(f, counts).into_iter().for_each(|(group, n)| sums[group] += n);
        }
        // Where the simplex fails all of a group lie in its first slot.
        let slots = two_stage::slots(self.model, &self.kinds, &sums).unwrap_or_else(|| {
            let first = |(slots, &sum): (&Vec<Slot>, &i64)| {
                (0..slots.len()).map(|slot| if slot == 0 { sum } else { 0 }).collect()
            };
            self.kinds.groups.iter().zip(&sums).map(first).collect()
        });
        next.plies = self.kinds.spread(self.model, &counts, &slots);
        next.set_passes(self.model);
        next
    }

    /// The same plies in the bays that need fewest passes.
    fn settled(&self, at: Solution) -> Solution {
        let small = SmallCosts::of(self.costs);
        let stop = self.effort.until.map(|until| until.saturating_duration_since(Instant::now()));
        let reach = Reach { nodes: self.effort.nodes, stop, hinted: true };
        match self.joint(&small).improve(&at, &[], reach) {
            Some((next, _)) if self.improves(&next, &at) => next,
            _ => at,
        }
    }

    /// What the load of a ply costs in the relaxation, in fine costs.
    #[allow(clippy::cast_possible_truncation, reason = "scaled to fit")]
    #[allow(clippy::cast_precision_loss, reason = "floating-point search")]
    fn relaxed_loads(&self, costs: &FineCosts) -> Loads {
        let fine = |price: &f64| (price * costs.fine * self.costs.unit as f64).max(0.0) as i64;
        let points: Vec<Vec<i64>> =
            self.prices.points.iter().map(|board| board.iter().map(fine).collect()).collect();
        Loads { groups: decompose::group_prices(self.model, &self.kinds, &points), ..Loads::default() }
    }

    /// Branches on the decomposition by fabric, where cloth counts and nothing is held: bound and solution come together.
    fn branch(&mut self, start: Solution) -> Solution {
        if self.costs.width.iter().all(|&cost| cost == 0) || self.limits.width.is_some() {
            return start;
        }
        let costs = Costs { unit: 1, ..self.costs.clone() };
        let all = costs.width.iter().chain(&costs.ply).chain([&costs.strip, &costs.pass]);
        let step = all.fold(0, |a, &b| gcd(a, b)).max(1);
        let rounds = self.effort.branches;
        let (listener, until) = (self.listener, self.effort.until);
        let stop = move || listener.stop() || until.is_some_and(|until| Instant::now() >= until);
        let mut best = start;
        let (model, limits) = (self.model, self.limits);
        let aim = tree::Aim {
            value: best.cost(self.costs),
            step,
            rounds,
            by_passes: false,
            known: None,
            stop: &stop,
        };
        let mut watch = |sight: &tree::Sight<'_>| {
            if sight.cases > 1 {
                self.cuts = Cuts::new(sight.costs, sight.found);
            }
            let next = self.look(&best, &sight.plans)?;
            best = next;
            self.tell(&best);
            Some(best.cost(self.costs))
        };
        let cases = tree::prove(model, &costs, limits, &aim, &mut watch);
        if let Some(bound) = cases.iter().flatten().map(|case| case.proof.rounded_up(1)).min() {
            #[allow(
                clippy::cast_precision_loss,
                reason = "floating-point search; the proof is made elsewhere"
            )]
            let bound = bound as f64 / self.costs.unit as f64;
            self.bound = self.bound.max(bound);
        }
        best
    }

    /// A better solution that has one of these plans of every fabric, if there is one.
    fn look(&self, at: &Solution, plans: &[Vec<FabricPlan>]) -> Option<Solution> {
        let small = SmallCosts::of(self.costs);
        let stop = self.effort.until.map(|until| until.saturating_duration_since(Instant::now()));
        let reach = Reach { nodes: self.effort.nodes, stop, hinted: false };
        let next = self.joint(&small).choose(at, &self.wanted(), plans, reach)?;
        self.improves(&next, at).then_some(next)
    }

    /// Decomposes by fabric, where cloth counts: cuts for the programs to come, and a solution over the strips of the
    /// fabrics' own cheapest plans alone, the better of it and the start.
    fn decompose(&mut self, start: Solution) -> Solution {
        if self.costs.width.iter().all(|&cost| cost == 0) && self.limits.width.is_none() {
            return start;
        }
        let mut costs = self.costs.clone();
        if self.limits.width.is_some() {
            // With widths held every fabric's plans are those of least width, and of these the ones that cost least.
            let all = start.cost(self.costs) + 1;
            costs.width.iter_mut().for_each(|width| *width += all);
        }
        let costs = FineCosts::of(self.model, &costs);
        let no_widths = Limits { width: None, ..self.limits.clone() };
        let all = Region::within(&no_widths, self.model.boards.len(), self.model.fabrics.len());
        let stop = || self.stopped();
        let found = decompose::run(self.model, &self.kinds, &costs, &all, &start, ROUNDS, &stop);
        let Some(found) = found else { return start };
        if self.limits.width.is_none() {
            #[allow(clippy::cast_precision_loss, reason = "floating-point search")]
            let bound = found.bound as f64 / found.fine / self.costs.unit as f64;
            // Costs of the decomposition are rounded to half of some hundred thousandth part of a grid step.
            self.bound = self.bound.max(bound - 1e-5 * bound.abs());
        }
        let mut few: Vec<BTreeSet<Pattern>> = vec![BTreeSet::new(); self.model.fabrics.len()];
        for (f, plans) in found.plans.iter().enumerate() {
            for strip in plans.iter().flat_map(|plan| plan.strips.keys()) {
                let _ = few[f].insert(self.kinds.pattern(f, strip));
            }
            few[f].extend(start.strips[f].keys().cloned());
        }
        let few: Vec<Vec<Pattern>> = few.into_iter().map(|few| few.into_iter().collect()).collect();
        for (pool, few) in self.pools.iter_mut().zip(&few) {
            let all: BTreeSet<Pattern> = pool.drain(..).chain(few.iter().cloned()).collect();
            *pool = all.into_iter().collect();
        }
        // With widths held the rows would speak of other costs than the program's.
        self.cuts = if self.limits.width.is_none() { Cuts::new(&costs, &found) } else { None };
        let small = SmallCosts::of(self.costs);
        let joint = Joint { pools: &few, ..self.joint(&small) };
        let free = self.wanted();
        let stop = self.effort.until.map(|until| until.saturating_duration_since(Instant::now()));
        let reach = Reach { nodes: self.effort.nodes, stop, hinted: true };
        let best = match joint.choose(&start, &free, &found.plans, Reach { nodes: 4 * reach.nodes, ..reach })
        {
            Some(next) if self.improves(&next, &start) => next,
            _ => start,
        };
        match joint.improve(&best, &free, reach) {
            Some((next, _)) if self.improves(&next, &best) => next,
            _ => best,
        }
    }

    fn improves(&self, next: &Solution, on: &Solution) -> bool {
        next.within(self.limits) && next.cost(self.costs) < on.cost(self.costs) && next.is_sound(self.model)
    }

    /// Fabrics of which something is wanted.
    fn wanted(&self) -> Vec<usize> {
        let fabrics = &self.model.fabrics;
        (0..fabrics.len()).filter(|&f| !fabrics[f].items.is_empty()).collect()
    }

    /// Cuts the plies that a solution has from cheaper strips, in the fabrics that have too many classes of plies for
    /// the oracle's table.
    fn repack(&mut self, mut at: Solution) -> Solution {
        if !self.strips_matter() {
            return at;
        }
        let costs = FineCosts::of(self.model, self.costs);
        let nodes = u32::try_from(self.effort.nodes).unwrap_or(u32::MAX);
        let (dives, chains) = (nodes.saturating_mul(DIVES_PER_NODE), (nodes / NODES_PER_CHAIN).max(1));
        let stop = || self.stopped();
        for f in self.wanted() {
            let fabric = &self.model.fabrics[f];
            let mut counts = vec![0_u64; fabric.classes.len()];
            for (ply, &count) in at.plies[f].iter().enumerate() {
                counts[fabric.plies[ply].class] += u64::try_from(count).unwrap_or(0);
            }
            let wanted: Vec<usize> =
                counts.iter().map(|&n| usize::try_from(n).unwrap_or(usize::MAX)).collect();
            if oracle::is_small(&wanted) {
                continue;
            }
            if let [width] = fabric.widths[..] {
                let strips = self.repacked(fabric, width, &wanted, &stop);
                if strips
                    .as_ref()
                    .is_some_and(|strips| strips.values().sum::<i64>() < at.strips[f].values().sum())
                {
                    at.strips[f] = strips.unwrap_or_default();
                }
                continue;
            }
            // Every class of plies is an item of its own, and how many there are of it is the demand.
            let kinds: Vec<Kind> = (0..counts.len())
                .map(|class| Kind { class, yields: vec![(class, 1)], group: None, plies: Vec::new() })
                .collect();
            let steps = vec![1; counts.len()];
            // Where the width is held, a little less of it is worth more than any number of strips.
            let all: i64 = at.strips[f].values().sum();
            let width = match self.limits.width {
                Some(_) => costs.width[f].saturating_add(costs.strip.saturating_mul(all + 1)),
                None => costs.width[f],
            };
            let prices = PlyPrices { width, each: costs.strip, plies: vec![0; counts.len()] };
            let start = as_plan(&at.strips[f]);
            let reach = dive::Reach { dives, chains, seed: self.effort.seed, stop: &stop };
            let mut diver = Diver::new(fabric, &kinds, &steps, &prices);
            let before = start.cost(&prices);
            let Some(plan) = diver.best(&wanted, Some(start), &reach) else { continue };
            if plan.cost(&prices) < before {
                at.strips[f] = as_patterns(plan);
            }
        }
        at
    }

    /// Settles fabrics that have no choice but which strips to cut: cheaper strips, where there are any, and a bound.
    fn settle(&mut self, mut at: Solution) -> Solution {
        let mut all = 0;
        for f in self.wanted() {
            let Some(settled) = self.settled_strips(&at, f) else { return at };
            all +=
                i128::from(settled.bound) + self.costs.ply[f] * i128::from(at.plies[f].iter().sum::<i64>());
            at.strips[f] = as_patterns(settled.plan);
        }
        #[allow(clippy::cast_precision_loss, reason = "costs are below 2^53")]
        let bound = all as f64 / self.costs.unit as f64;
        self.bound = self.bound.max(bound);
        at
    }

    /// The cheapest strips for the fewest plies of a fabric, if the solution has no more of these.
    fn settled_strips(&self, at: &Solution, f: usize) -> Option<many_widths::Settled> {
        let fabric = &self.model.fabrics[f];
        let mut counts = vec![0_usize; fabric.classes.len()];
        for ply in &fabric.plies {
            for &(item, each) in &ply.yields {
                let plies = fabric.items[item].wanted.div_ceil(u64::from(each.max(1)));
                counts[ply.class] += usize::try_from(plies).ok()?;
            }
        }
        let fewest = usize::try_from(at.plies[f].iter().sum::<i64>()) == Ok(counts.iter().sum());
        if !fewest || self.limits.width.is_some() {
            return None;
        }
        let (width, each) = (i64::try_from(self.costs.width[f]).ok()?, i64::try_from(self.costs.strip).ok()?);
        let prices = PlyPrices { width, each, plies: vec![0; counts.len()] };
        let programs = self.effort.nodes.saturating_mul(PROGRAMS_PER_NODE);
        let reach = many_widths::Reach { programs, seed: self.effort.seed };
        let known = as_plan(&at.strips[f]);
        many_widths::settle(fabric, &counts, &prices, known, reach, &|| self.stopped())
    }

    /// Plies, by class, from strips of one width.
    fn repacked(
        &self,
        fabric: &Fabric,
        width: i64,
        wanted: &[usize],
        stop: Stop<'_>,
    ) -> Option<BTreeMap<Pattern, i64>> {
        let needed: Vec<usize> = (0..wanted.len()).filter(|&class| wanted[class] > 0).collect();
        let length =
            |&class: &usize| Some((fabric.classes[class].run_in(width)?, i64::try_from(wanted[class]).ok()?));
        let order = Order {
            capacity: fabric.capacity,
            lengths: needed.iter().map(length).collect::<Option<Vec<_>>>()?,
        };
        let (seed, programs) = (self.effort.seed, self.effort.nodes);
        let reach = one_width::Reach { seed, programs, ..one_width::Reach::default() };
        let answer = one_width::solve(&order, reach, stop).ok()?;
        let mut strips = BTreeMap::new();
        for (pattern, n) in answer.strips {
            let plies = pattern.iter().map(|&(at, count)| (needed[at], count)).collect();
            *strips.entry(Pattern { width, plies }).or_insert(0) += n;
        }
        Some(strips)
    }

    /// Whether a fabric that is too large for the oracle's table has no choice but which strips to cut.
    fn is_strips_alone(&self, f: usize) -> bool {
        let fabric = &self.model.fabrics[f];
        let wanted: Vec<usize> =
            fabric.items.iter().map(|item| usize::try_from(item.wanted).unwrap_or(usize::MAX)).collect();
        let alone = fabric.plies.iter().all(|ply| ply.board.is_none() && ply.yields.len() == 1);
        alone && fabric.plies.len() == fabric.items.len() && !oracle::is_small(&wanted)
    }

    fn strips_matter(&self) -> bool {
        self.costs.strip > 0 || self.costs.width.iter().any(|&v| v > 0)
    }

    /// Improves a sound solution.
    #[must_use]
    pub fn improve(&mut self, start: Solution) -> Solution {
        let small = SmallCosts::of(self.costs);
        let mut best = start;
        self.tell(&best);
        let strips_alone = self.wanted().iter().all(|&f| self.is_strips_alone(f));
        // Where plies can still be chosen, the dives over plies that are already chosen are the last thing to try.
        let mut steps = [Self::alone, Self::decompose, Self::branch, Self::repack];
        if strips_alone {
            steps.rotate_right(1);
        }
        for step in steps {
            if self.is_enough(&best) {
                return best;
            }
            best = step(self, best);
            self.tell(&best);
            // The dives have then seen the whole question.
            if strips_alone {
                break;
            }
        }
        if strips_alone {
            if !self.is_enough(&best) {
                best = self.settle(best);
                self.tell(&best);
            }
            return best;
        }
        let mut random = Random::new(self.effort.seed);
        let fabrics = self.wanted();
        let mut since = 0;
        let mut round = 0_usize;
        // What was freed since the last better solution: the same again would answer the same.
        let mut tried: BTreeSet<(Vec<usize>, bool)> = BTreeSet::new();
        while since < self.effort.patience && !self.stopped() && !self.is_enough(&best) && !fabrics.is_empty()
        {
            let size = match round {
                0 => fabrics.len(),
                _ => (1 + round % 3).min(fabrics.len()),
            };
            let mut free: BTreeSet<usize> = BTreeSet::new();
            while free.len() < size {
                let _ = free.insert(fabrics[random.below(fabrics.len())]);
            }
            let free: Vec<usize> = free.into_iter().collect();
            round += 1;
            since += 1;
            let hinted = round.is_multiple_of(2);
            if !tried.insert((free.clone(), hinted)) {
                continue;
            }
            self.learn(&best);
            let joint = self.joint(&small);
            let stop = self.effort.until.map(|until| until.saturating_duration_since(Instant::now()));
            let reach = Reach { nodes: self.effort.nodes, stop, hinted };
            if let Some((next, _)) = joint.improve(&best, &free, reach)
                && self.improves(&next, &best)
            {
                best = next;
                since = 0;
                tried.clear();
                self.tell(&best);
            }
        }
        best
    }

    /// Puts the incumbent's own patterns into the pools, so that it can be a hint and be kept in part.
    fn learn(&mut self, at: &Solution) {
        for (f, strips) in at.strips.iter().enumerate() {
            for pattern in strips.keys() {
                if let Err(place) = self.pools[f].binary_search(pattern) {
                    self.pools[f].insert(place, pattern.clone());
                }
            }
        }
    }
}

fn as_plan(strips: &BTreeMap<Pattern, i64>) -> FabricPlan {
    let as_strip = |pattern: &Pattern| Strip { width: pattern.width, plies: pattern.plies.clone() };
    FabricPlan { strips: strips.iter().map(|(pattern, &n)| (as_strip(pattern), n)).collect() }
}

fn as_patterns(plan: FabricPlan) -> BTreeMap<Pattern, i64> {
    let as_pattern = |strip: Strip| Pattern { width: strip.width, plies: strip.plies };
    plan.strips.into_iter().map(|(strip, n)| (as_pattern(strip), n)).collect()
}

/// A plain sound solution for one fabric: for every item the ply with most patches, strips filled first fit.
pub fn plain(model: &Model, at: &mut Solution, f: usize) {
    let fabric = &model.fabrics[f];
    at.plies[f] = vec![0; fabric.plies.len()];
    let mut got = vec![0_u64; fabric.items.len()];
    for item in 0..fabric.items.len() {
        let of_item = |ply: usize| fabric.plies[ply].yields.iter().find(|(i, _)| *i == item).map(|(_, n)| *n);
        let Some(ply) = (0..fabric.plies.len()).max_by_key(|&ply| (of_item(ply), std::cmp::Reverse(ply)))
        else {
            continue;
        };
        while got[item] < fabric.items[item].wanted && of_item(ply).is_some() {
            at.plies[f][ply] += 1;
            for &(i, n) in &fabric.plies[ply].yields {
                got[i] += u64::from(n);
            }
        }
    }
    at.strips[f] = first_fit(model, f, &at.plies[f]);
}

/// Strips for given plies: widest class first, each ply into the first open strip that holds it.
#[must_use]
pub fn first_fit(model: &Model, f: usize, plies: &[i64]) -> BTreeMap<Pattern, i64> {
    let fabric = &model.fabrics[f];
    let mut counts = vec![0_i64; fabric.classes.len()];
    for (ply, &count) in plies.iter().enumerate() {
        counts[fabric.plies[ply].class] += count;
    }
    let mut order: Vec<usize> = (0..counts.len()).filter(|&class| counts[class] > 0).collect();
    order.sort_by_key(|&class| std::cmp::Reverse(fabric.classes[class].ways.first().copied()));
    let mut open: Vec<(i64, i64, BTreeMap<usize, i64>)> = Vec::new();
    for class in order {
        let data = &fabric.classes[class];
        let (narrow, _) = data.ways.first().copied().unwrap_or((1, 1));
        // Where one ply of a class found no room, no later one does.
        let mut index = 0;
        for _ in 0..counts[class] {
            let fits = |strip: &(i64, i64, BTreeMap<usize, i64>)| {
                data.run_in(strip.0).is_some_and(|run| run <= strip.1)
            };
            index += open[index..].iter().position(fits).unwrap_or(open.len() - index);
            if index == open.len() {
                open.push((narrow, fabric.capacity, BTreeMap::new()));
            }
            let strip = &mut open[index];
            strip.1 -= data.run_in(strip.0).unwrap_or(0);
            *strip.2.entry(class).or_default() += 1;
        }
    }
    let mut strips = BTreeMap::new();
    for (width, _, plies) in open {
        *strips.entry(Pattern { width, plies: plies.into_iter().collect() }).or_default() += 1;
    }
    strips
}
