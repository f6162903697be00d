//! Decomposition by fabric (Dantzig and Wolfe, Operations Research 8 (1960)): fabrics meet only on the boards, so at
//! given prices of load every fabric's cheapest whole plan is a question of its own ([`crate::oracle`]). The master
//! program over the plans found so far sets the prices; its value and the sum of the answers enclose a bound that
//! knows that strips and plies come whole, which the plain relaxation does not.

use std::collections::BTreeMap;

use minilp::{ComparisonOp, OptimizationDirection, Problem, Variable};
use rayon::prelude::*;

use crate::costs::{Costs, Range, Region};
use crate::kinds::{Kinds, Slot};
use crate::listen::Stop;
use crate::lists;
use crate::model::Model;
use crate::oracle::{Answer, FabricPlan, Floors, Oracle, Prices};
use crate::simplex;
use crate::solution::Solution;

/// What the decomposition found.
#[derive(Clone, Debug, Default)]
pub struct Decomposed {
    /// Costs and prices are multiplied by this much against the question's costs (per `unit`).
    pub fine: f64,
    /// Best bound, in fine costs.
    pub bound: i64,
    /// Value of the last master program, in fine costs.
    pub master: f64,
    /// What loads and held figures cost at the best bound.
    pub loads: Loads,
    /// Price of a full load of every point of every board at the best bound, fine costs.
    pub points: Vec<Vec<i64>>,
    /// The cheapest plan of every fabric at those prices.
    pub answers: Vec<Answer>,
    /// Plans of every fabric.
    pub plans: Vec<Vec<FabricPlan>>,
    /// Rounds.
    pub rounds: u32,
}

/// Whole-number costs of the decomposition.
#[derive(Clone, Debug)]
pub struct FineCosts {
    /// Per grid step of width, by fabric.
    pub width: Vec<i64>,
    /// Per strip.
    pub strip: i64,
    /// Per ply, by fabric.
    pub ply: Vec<i64>,
    /// Per pass.
    pub pass: i64,
    /// What a unit of the question's costs (over its `unit`) is multiplied by.
    pub fine: f64,
    /// What they are divided by in the master program, to keep its numbers near 1.
    pub scale: f64,
}

impl FineCosts {
    /// Of a question's costs: the widest strip of any fabric costs some ten million.
    #[must_use]
    #[allow(clippy::cast_precision_loss, clippy::cast_possible_truncation, reason = "scaled to fit")]
    pub fn of(model: &Model, costs: &Costs) -> Self {
        let widest = model
            .fabrics
            .iter()
            .zip(&costs.width)
            .map(|(fabric, &cost)| cost * i128::from(fabric.widths.last().copied().unwrap_or(0)));
        let largest = widest.chain([costs.strip, costs.pass]).max().unwrap_or(1).max(1);
        let fine = 1e7 / largest as f64;
        let scaled = |v: i128| (v as f64 * fine).round() as i64;
        Self {
            width: costs.width.iter().map(|&v| scaled(v)).collect(),
            strip: scaled(costs.strip),
            ply: costs.ply.iter().map(|&v| scaled(v)).collect(),
            pass: scaled(costs.pass),
            fine,
            scale: 1e7,
        }
    }
}

/// How far to decompose.
pub struct Reach<'a> {
    /// Most rounds.
    pub rounds: u32,
    /// A bound that is enough, in fine costs.
    pub enough: i64,
    /// Asked between rounds.
    pub stop: Stop<'a>,
}

/// The decomposition, with the plans and strips found so far: they stay good for every question about the same costs.
pub struct Decomposition<'a> {
    model: &'a Model,
    kinds: &'a Kinds,
    costs: &'a FineCosts,
    oracles: Vec<Oracle<'a>>,
    plans: Vec<Vec<FabricPlan>>,
}

impl<'a> Decomposition<'a> {
    /// Starts from a sound solution.
    #[must_use]
    pub fn new(model: &'a Model, kinds: &'a Kinds, costs: &'a FineCosts, start: &Solution) -> Self {
        let oracle = |(fabric, kinds)| Oracle::new(fabric, kinds);
        let oracles = model
            .fabrics
            .iter()
            .zip(&kinds.of)
            .map(|(fabric, kinds): (&'a _, &'a Vec<_>)| oracle((fabric, kinds.as_slice())))
            .collect();
        let plans =
            (0..model.fabrics.len()).map(|f| plan_of(model, kinds, start, f).into_iter().collect()).collect();
        Self { model, kinds, costs, oracles, plans }
    }

    /// Prices of load and a bound on the plans of a region.
    #[must_use]
    pub fn solve(&mut self, region: &Region, reach: &Reach<'_>) -> Option<Decomposed> {
        let (model, kinds, costs) = (self.model, self.kinds, self.costs);
        let mut found = Decomposed { fine: costs.fine, bound: i64::MIN, ..Decomposed::default() };
        let mut plans: Vec<Vec<FabricPlan>> = self.plans_in(region);
        let mut master = Master::build(model, kinds, costs, region, &plans)?;
        for round in 1..=reach.rounds {
            found.rounds = round;
            found.master = master.value();
            let points = master.points(costs, region);
            let loads = master.loads(model, kinds, &points);
            let answers: Vec<_> = self
                .oracles
                .par_iter_mut()
                .enumerate()
                .map(|(f, oracle)| {
                    let at = prices(kinds, costs, f, &loads);
                    let known = plans[f].iter().min_by_key(|plan| plan.cost(&at));
                    oracle.cheapest(&at, &region.floors(f), known, reach.stop)
                })
                .collect();
            let Some(answers) = answers.into_iter().collect::<Option<Vec<_>>>() else { break };
            let bound =
                answers.iter().map(|answer| answer.bound).sum::<i64>() + rest(costs, region, &loads, &points);
            let mut added = false;
            for (f, answer) in answers.iter().enumerate() {
                let worth = master.fabric_value(f);
                #[allow(clippy::cast_precision_loss, reason = "costs are below 2^53")]
                let below = worth - answer.value as f64 > 1.0 + 1e-7 * worth.abs();
                if below && !plans[f].contains(&answer.plan) && keeps(region, f, kinds, &answer.plan) {
                    master.add(kinds, costs, f, &answer.plan)?;
                    plans[f].push(answer.plan.clone());
                    if !self.plans[f].contains(&answer.plan) {
                        self.plans[f].push(answer.plan.clone());
                    }
                    added = true;
                }
            }
            if bound > found.bound {
                found = Decomposed { bound, loads, points, answers, ..found };
            }
            if !added || found.bound >= reach.enough || (reach.stop)() {
                break;
            }
        }
        Some(found)
    }

    /// The same with the answers found as a checker will find them.
    #[must_use]
    pub fn checkable(&self, found: Decomposed, region: &Region, stop: Stop<'_>) -> Decomposed {
        let answers = found
            .answers
            .par_iter()
            .zip(&self.oracles)
            .enumerate()
            .map(|(f, (answer, oracle))| {
                let at = prices(self.kinds, self.costs, f, &found.loads);
                let mut oracle = oracle.clone().for_checker();
                oracle
                    .cheapest(&at, &region.floors(f), Some(&answer.plan), stop)
                    .unwrap_or_else(|| Answer { checkable: false, ..answer.clone() })
            })
            .collect();
        Decomposed { answers, ..found }
    }

    /// The plans found so far that a region's floors let in.
    fn plans_in(&self, region: &Region) -> Vec<Vec<FabricPlan>> {
        let of = |(f, plans): (usize, &Vec<FabricPlan>)| {
            plans.iter().filter(|plan| keeps(region, f, self.kinds, plan)).cloned().collect()
        };
        self.plans.iter().enumerate().map(of).collect()
    }

    /// Plans of every fabric that cost at most so much more than the least at the prices found; always the cheapest.
    #[must_use]
    pub fn near(&self, found: &Decomposed, room: i64) -> Vec<Vec<FabricPlan>> {
        let answers = found.answers.iter().enumerate();
        answers
            .map(|(f, answer)| {
                let prices = prices(self.kinds, self.costs, f, &found.loads);
                let mut near: Vec<(i64, &FabricPlan)> =
                    self.plans[f].iter().map(|plan| (plan.cost(&prices), plan)).collect();
                near.sort();
                let near = near.iter().enumerate();
                let near = near.filter(|(at, (cost, _))| *at == 0 || *cost - answer.bound <= room);
                near.map(|(_, (_, plan))| (*plan).clone()).collect()
            })
            .collect()
    }

    /// What lists of near plans say of solutions of at most so much cost, by what was found in a region, after at most so
    /// many comparisons for every fabric.
    #[must_use]
    pub fn listed(
        &self,
        (region, found): (&Region, &Decomposed),
        most: i64,
        steps: u64,
        stop: Stop<'_>,
    ) -> lists::Found {
        let Self { model, kinds, costs, ref oracles, .. } = *self;
        lists::look(lists::Given { model, kinds, costs, oracles, steps }, region, found, most, stop)
    }

    /// Whether plies may lie on this board or on another instead.
    #[must_use]
    pub fn shares(&self, board: usize) -> bool {
        let on = |slots: &Vec<Slot>, here: bool| slots.iter().any(|slot| (slot.board == board) == here);
        self.kinds.groups.iter().any(|slots| on(slots, true) && on(slots, false))
    }

    /// Whether the floors of a region leave a fabric's plans easy to find.
    #[must_use]
    pub fn affords(&self, region: &Region, f: usize) -> bool {
        self.oracles[f].affords(&region.floors(f))
    }

    /// By how many patches each item of a fabric is counted.
    #[must_use]
    pub fn steps(&self, f: usize) -> &[u64] {
        self.oracles[f].steps()
    }

    /// Plans of every fabric found so far.
    #[must_use]
    pub fn into_plans(self) -> Vec<Vec<FabricPlan>> {
        self.plans
    }

    /// The best mixture of the plans found so far in a region; `None` if there is none.
    #[must_use]
    #[allow(clippy::cast_precision_loss, reason = "small whole numbers")]
    pub fn mixture(&self, region: &Region) -> Option<Mixture> {
        let (model, kinds, costs) = (self.model, self.kinds, self.costs);
        let mut problem = Problem::new(OptimizationDirection::Minimize);
        let share = (0.0, f64::INFINITY);
        let limits =
            |range: &Range| (range.least as f64, range.most.map_or(f64::INFINITY, |most| most as f64));
        let mut loads: Vec<Vec<(Variable, f64)>> = vec![Vec::new(); kinds.groups.len()];
        let mut cloth = Vec::new();
        let mut plies = Vec::new();
        let all = self.plans_in(region);
        let mut shares = Vec::new();
        for (f, plans) in all.iter().enumerate() {
            let own = own_prices(kinds, costs, f);
            let width = problem.add_var(0.0, limits(&region.cloth[f]));
            cloth.push(width);
            let (mut one, mut widths) = (Vec::new(), vec![(width, -1.0)]);
            let counted = |k: usize| region.plies.get(&(f, k)).copied().unwrap_or_default();
            let of_kind: Vec<Variable> =
                (0..kinds.of[f].len()).map(|k| problem.add_var(0.0, limits(&counted(k)))).collect();
            let mut of_kinds: Vec<Vec<(Variable, f64)>> =
                of_kind.iter().map(|&kind| vec![(kind, -1.0)]).collect();
            plies.push(of_kind);
            for plan in plans {
                let variable = problem.add_var(plan.cost(&own) as f64 / costs.scale, share);
                one.push((variable, 1.0));
                widths.push((variable, plan.width() as f64));
                let counts = plan.counts(kinds.of[f].len());
                for (group, n) in kinds.in_groups(f, &counts) {
                    loads[group].push((variable, n as f64));
                }
                of_kinds.iter_mut().zip(counts).for_each(|(row, n)| row.push((variable, n as f64)));
            }
            for row in of_kinds {
                problem.add_constraint(row.as_slice(), ComparisonOp::Eq, 0.0);
            }
            problem.add_constraint(widths.as_slice(), ComparisonOp::Eq, 0.0);
            shares.push(one.iter().map(|&(variable, _)| variable).collect::<Vec<_>>());
            if !plans.is_empty() {
                problem.add_constraint(one.as_slice(), ComparisonOp::Eq, 1.0);
            }
        }
        let mut at_points: Vec<Vec<Vec<(Variable, f64)>>> =
            model.boards.iter().map(|board| vec![Vec::new(); board.points.len()]).collect();
        for (slots, mut row) in kinds.groups.iter().zip(loads) {
            for slot in slots {
                let board = &model.boards[slot.board];
                let here = problem.add_var(0.0, share);
                row.push((here, -1.0));
                for &point in &board.bay_points[slot.bay] {
                    at_points[slot.board][point].push((here, slot.load as f64 / board.full as f64));
                }
            }
            problem.add_constraint(row.as_slice(), ComparisonOp::Le, 0.0);
        }
        let mut passes = Vec::new();
        for (points, range) in at_points.into_iter().zip(&region.passes) {
            let here = problem.add_var(costs.pass as f64 / costs.scale, limits(range));
            passes.push(here);
            for mut row in points {
                row.push((here, -1.0));
                problem.add_constraint(row.as_slice(), ComparisonOp::Le, 0.0);
            }
        }
        if let Some(most) = region.most_passes {
            let row: Vec<(Variable, f64)> = passes.iter().map(|&board| (board, 1.0)).collect();
            problem.add_constraint(row.as_slice(), ComparisonOp::Le, most as f64);
        }
        let solution = simplex::solved(&problem)?;
        let at = |of: &[Variable]| -> Vec<f64> { of.iter().map(|&of| *solution.var_value(of)).collect() };
        let plies = plies.iter().map(|plies| at(plies)).collect();
        let used = all.into_iter().zip(&shares).map(|(plans, shares)| {
            let used = plans.into_iter().zip(at(shares)).filter(|(_, share)| *share > LEAST_SHARE);
            used.map(|(plan, _)| plan).collect()
        });
        Some(Mixture { passes: at(&passes), cloth: at(&cloth), plies, used: used.collect() })
    }
}

/// Whether a plan is not below the floors of a region.
fn keeps(region: &Region, f: usize, kinds: &Kinds, plan: &FabricPlan) -> bool {
    let Floors { cloth, plies } = region.floors(f);
    let counts = plan.counts(kinds.of[f].len());
    plan.width() >= cloth && plies.iter().all(|&(k, least)| counts[k] >= least)
}

/// A mixture of whole plans: what it has of everything on average.
#[derive(Clone, Debug)]
pub struct Mixture {
    /// Passes, by board.
    pub passes: Vec<f64>,
    /// Strip widths in all, by fabric, grid steps.
    pub cloth: Vec<f64>,
    /// Plies, by fabric and kind.
    pub plies: Vec<Vec<f64>>,
    /// The plans that it has a share of, by fabric.
    pub used: Vec<Vec<FabricPlan>>,
}

/// Shares below this are noise of the simplex.
const LEAST_SHARE: f64 = 1e-6;

/// Decomposes once: at most so many rounds, starting from a sound solution; `stop` is asked between rounds.
#[must_use]
pub fn run(
    model: &Model,
    kinds: &Kinds,
    costs: &FineCosts,
    region: &Region,
    start: &Solution,
    rounds: u32,
    stop: Stop<'_>,
) -> Option<Decomposed> {
    let mut all = Decomposition::new(model, kinds, costs, start);
    let mut found = all.solve(region, &Reach { rounds, enough: i64::MAX, stop })?;
    found.plans = all.into_plans();
    Some(found)
}

/// What strips and plies of a fabric cost by themselves.
pub(crate) fn own_prices(kinds: &Kinds, costs: &FineCosts, f: usize) -> Prices {
    Prices { width: costs.width[f], each: costs.strip, plies: vec![costs.ply[f]; kinds.of[f].len()] }
}

/// What loads and held figures cost every fabric, in fine costs.
#[derive(Clone, Debug, Default)]
pub struct Loads {
    /// Of a ply, by group of slots.
    pub groups: Vec<i64>,
    /// Of a grid step of strip width beside its own cost, by fabric.
    pub cloth: Vec<i64>,
    /// Of a ply beside its own cost and its load, by fabric and kind.
    pub plies: BTreeMap<(usize, usize), i64>,
    /// Of a pass beside its own cost.
    pub pass: i64,
}

impl Loads {
    /// What the most there may be of cloth and plies takes off the sum of the fabrics' answers.
    #[must_use]
    pub fn held(&self, region: &Region) -> i128 {
        let of = |range: &Range, price: i64| i128::from(price) * i128::from(range.most.unwrap_or(0));
        let cloth = region.cloth.iter().zip(&self.cloth).map(|(range, &price)| of(range, price));
        let plies = region.plies.iter();
        let plies = plies.map(|(at, range)| of(range, self.plies.get(at).copied().unwrap_or(0)));
        let passes = i128::from(self.pass) * i128::from(region.most_passes.unwrap_or(0));
        cloth.chain(plies).sum::<i128>() + passes
    }
}

/// Prices of one fabric's strips and plies at what loads cost.
#[must_use]
pub fn prices(kinds: &Kinds, costs: &FineCosts, f: usize, loads: &Loads) -> Prices {
    let of = |(k, kind): (usize, &crate::kinds::Kind)| {
        let beside = loads.plies.get(&(f, k)).copied().unwrap_or(0);
        costs.ply[f] + beside + kind.group.map_or(0, |group| loads.groups[group])
    };
    let width = costs.width[f] + loads.cloth.get(f).copied().unwrap_or(0);
    Prices { width, each: costs.strip, plies: kinds.of[f].iter().enumerate().map(of).collect() }
}

/// A ply costs what it does in the cheapest slot of its group, rounded down.
#[must_use]
pub fn group_prices(model: &Model, kinds: &Kinds, points: &[Vec<i64>]) -> Vec<i64> {
    let in_slot = |slot: &Slot| {
        let board = &model.boards[slot.board];
        let sum: i64 = board.bay_points[slot.bay].iter().map(|&p| points[slot.board][p]).sum();
        let load = i128::from(sum) * i128::from(slot.load) / i128::from(board.full.max(1));
        i64::try_from(load).unwrap_or(0)
    };
    kinds.groups.iter().map(|slots| slots.iter().map(in_slot).min().unwrap_or(0)).collect()
}

/// A fabric's part of a solution as a plan; plies spread over its strips by kind.
fn plan_of(model: &Model, kinds: &Kinds, at: &Solution, f: usize) -> Option<FabricPlan> {
    let mut left = kinds.counts(model, at, f);
    let mut plan = FabricPlan::default();
    for (pattern, &n) in &at.strips[f] {
        for _ in 0..n {
            let mut plies = Vec::new();
            for &(class, count) in &pattern.plies {
                let mut room = count;
                for (k, _) in kinds.of[f].iter().enumerate().filter(|(_, kind)| kind.class == class) {
                    let taken = room.min(left[k]);
                    if taken > 0 {
                        left[k] -= taken;
                        room -= taken;
                        plies.push((k, taken));
                    }
                }
            }
            plies.sort_unstable();
            if !plies.is_empty() {
                let strip = crate::oracle::Strip { width: pattern.width, plies };
                *plan.strips.entry(strip).or_default() += 1;
            }
        }
    }
    left.iter().all(|&n| n == 0).then_some(plan)
}

/// The dual of the master program: prices of groups and points, a value for every fabric.
struct Master {
    solution: Option<minilp::Solution>,
    fabrics: Vec<Variable>,
    groups: Vec<Variable>,
    points: Vec<Vec<Variable>>,
    /// Multiplier on the most passes in all.
    held: Option<Variable>,
    /// Multiplier on the most strip widths of every fabric, where there is a most.
    cloth: Vec<Option<Variable>>,
    /// The same on plies, by fabric and kind.
    plies: BTreeMap<(usize, usize), Option<Variable>>,
    scale: f64,
}

/// Largest multiplier, relative to the dearest strip or pass: the first plans alone may not keep within a range.
const MOST_MULTIPLIER: f64 = 1000.0;

/// Multiplier on the most of a range, if there is a most.
#[allow(clippy::cast_precision_loss, reason = "small whole numbers")]
fn on_most(problem: &mut Problem, range: &Range) -> Option<Variable> {
    range.most.map(|most| problem.add_var(-(most as f64), (0.0, MOST_MULTIPLIER)))
}

impl Master {
    #[allow(clippy::cast_precision_loss, reason = "small whole numbers")]
    fn build(
        model: &Model,
        kinds: &Kinds,
        costs: &FineCosts,
        region: &Region,
        plans: &[Vec<FabricPlan>],
    ) -> Option<Self> {
        let scale = costs.scale;
        let free = (0.0, f64::INFINITY);
        let mut problem = Problem::new(OptimizationDirection::Maximize);
        // The value of a fabric without a plan has no bound: a cap keeps the program bounded.
        let cap = |plans: &Vec<FabricPlan>| if plans.is_empty() { 1e9 } else { f64::INFINITY };
        let fabrics: Vec<Variable> =
            plans.iter().map(|plans| problem.add_var(1.0, (0.0, cap(plans)))).collect();
        let groups: Vec<Variable> = kinds.groups.iter().map(|_| problem.add_var(0.0, free)).collect();
        let held = region.most_passes.map(|most| problem.add_var(-(most as f64), (0.0, MOST_MULTIPLIER)));
        let cloth: Vec<_> = region.cloth.iter().map(|range| on_most(&mut problem, range)).collect();
        let plies = region.plies.iter().map(|(&at, range)| (at, on_most(&mut problem, range))).collect();
        let mut all_points: Vec<Vec<Variable>> = Vec::new();
        for (b, board) in model.boards.iter().enumerate() {
            let points: Vec<Variable> = board.points.iter().map(|_| problem.add_var(0.0, free)).collect();
            all_points.push(points.clone());
            let mut row: Vec<(Variable, f64)> = points.iter().map(|&p| (p, 1.0)).collect();
            row.extend(held.map(|held| (held, -1.0)));
            let range = &region.passes[b];
            row.extend(on_most(&mut problem, range).map(|most| (most, -1.0)));
            if range.least > 0 {
                row.push((problem.add_var(range.least as f64, (0.0, MOST_MULTIPLIER)), 1.0));
            }
            problem.add_constraint(row.as_slice(), ComparisonOp::Le, costs.pass as f64 / scale);
            for (group, slots) in kinds.groups.iter().enumerate() {
                for slot in slots.iter().filter(|slot| slot.board == b) {
                    let part = slot.load as f64 / board.full as f64;
                    let mut row = vec![(groups[group], 1.0)];
                    row.extend(board.bay_points[slot.bay].iter().map(|&p| (points[p], -part)));
                    problem.add_constraint(row.as_slice(), ComparisonOp::Le, 0.0);
                }
            }
        }
        let mut master =
            Self { solution: None, fabrics, groups, points: all_points, held, cloth, plies, scale };
        for (f, plans) in plans.iter().enumerate() {
            for plan in plans {
                let (row, cost) = master.row(kinds, costs, f, plan);
                problem.add_constraint(row.as_slice(), ComparisonOp::Le, cost);
            }
        }
        master.solution = Some(simplex::solved(&problem)?);
        Some(master)
    }

    /// A plan is worth at most what it costs: its terms, and that cost.
    #[allow(clippy::cast_precision_loss, reason = "costs are below 2^53")]
    fn row(
        &self,
        kinds: &Kinds,
        costs: &FineCosts,
        f: usize,
        plan: &FabricPlan,
    ) -> (Vec<(Variable, f64)>, f64) {
        let mut row = vec![(self.fabrics[f], 1.0)];
        let counts = plan.counts(kinds.of[f].len());
        for (group, n) in kinds.in_groups(f, &counts) {
            row.push((self.groups[group], -(n as f64)));
        }
        for (k, &n) in counts.iter().enumerate() {
            let most = self.plies.get(&(f, k)).copied().flatten();
            row.extend(most.filter(|_| n > 0).map(|most| (most, -(n as f64))));
        }
        row.extend(self.cloth[f].map(|most| (most, -(plan.width() as f64))));
        (row, plan.cost(&own_prices(kinds, costs, f)) as f64 / self.scale)
    }

    fn add(&mut self, kinds: &Kinds, costs: &FineCosts, f: usize, plan: &FabricPlan) -> Option<()> {
        let (row, cost) = self.row(kinds, costs, f, plan);
        let solution = self.solution.take()?;
        self.solution = simplex::with_row(solution, row.as_slice(), ComparisonOp::Le, cost);
        self.solution.is_some().then_some(())
    }

    fn at(&self, variable: Variable) -> f64 {
        self.solution.as_ref().map_or(0.0, |solution| solution.var_value(variable).max(0.0)) * self.scale
    }

    fn value(&self) -> f64 {
        self.solution.as_ref().map_or(0.0, minilp::Solution::objective) * self.scale
    }

    fn fabric_value(&self, f: usize) -> f64 {
        self.at(self.fabrics[f])
    }

    /// Prices of points in whole numbers. Where a board may make any number of passes they add up to at most one's price.
    #[allow(clippy::cast_possible_truncation, reason = "costs are below 2^53")]
    fn points(&self, costs: &FineCosts, region: &Region) -> Vec<Vec<i64>> {
        let pass = costs.pass + self.down(self.held);
        let mut all = Vec::new();
        for (points, range) in self.points.iter().zip(&region.passes) {
            let mut points: Vec<i64> = points.iter().map(|&point| self.down(Some(point))).collect();
            let mut over = if range.most.is_none() { points.iter().sum::<i64>() - pass } else { 0 };
            for price in &mut points {
                let cut = over.clamp(0, *price);
                *price -= cut;
                over -= cut;
            }
            all.push(points);
        }
        all
    }

    #[allow(clippy::cast_possible_truncation, reason = "costs are below 2^53")]
    fn down(&self, variable: Option<Variable>) -> i64 {
        variable.map_or(0, |variable| self.at(variable).floor() as i64)
    }

    fn loads(&self, model: &Model, kinds: &Kinds, points: &[Vec<i64>]) -> Loads {
        Loads {
            groups: group_prices(model, kinds, points),
            cloth: self.cloth.iter().map(|&most| self.down(most)).collect(),
            plies: self.plies.iter().map(|(&at, &most)| (at, self.down(most))).collect(),
            pass: self.down(self.held),
        }
    }
}

/// What passes and held figures add to the sum of the fabrics' answers.
pub(crate) fn rest(costs: &FineCosts, region: &Region, loads: &Loads, points: &[Vec<i64>]) -> i64 {
    let passes = points.iter().zip(&region.passes).map(|(points, range)| {
        let all: i128 = points.iter().map(|&price| i128::from(price)).sum();
        range.at_least(i128::from(costs.pass + loads.pass) - all)
    });
    i64::try_from(passes.sum::<i128>() - loads.held(region)).unwrap_or(i64::MIN / 2)
}
