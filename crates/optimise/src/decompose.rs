//! Decomposition by fabric (Dantzig and Wolfe, Operations Research 8 (1960)): fabrics meet only on the boards, so at
//! given prices of load every fabric's cheapest whole plan is a question of its own ([`crate::oracle`]). The master
//! program over the plans found so far sets the prices; its value and the sum of the answers enclose a bound that
//! knows that strips and plies come whole, which the plain relaxation does not.

use minilp::{ComparisonOp, OptimizationDirection, Problem, Variable};
use rayon::prelude::*;

use crate::costs::{Costs, Limits, PassRange};
use crate::kinds::Kinds;
use crate::listen::Stop;
use crate::model::Model;
use crate::oracle::{FabricPlan, Oracle, Prices};
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
    /// Price of a ply of every group of slots at the best bound, fine costs.
    pub groups: Vec<i64>,
    /// Price of a full load of every point of every board at the best bound, fine costs.
    pub points: Vec<Vec<f64>>,
    /// Least cost of every fabric's plan at those prices, fine costs.
    pub least: Vec<i64>,
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

    /// Prices of load and a bound on plans within the limits whose boards make passes within the ranges (none: any).
    #[must_use]
    pub fn solve(&mut self, limits: &Limits, ranges: &[PassRange], reach: &Reach<'_>) -> Option<Decomposed> {
        let (model, kinds, costs) = (self.model, self.kinds, self.costs);
        let mut found = Decomposed {
            fine: costs.fine,
            bound: i64::MIN,
            groups: vec![0; kinds.groups.len()],
            ..Decomposed::default()
        };
        let mut master = Master::build(model, kinds, costs, limits, ranges, &self.plans)?;
        for round in 1..=reach.rounds {
            found.rounds = round;
            found.master = master.value();
            let groups = master.group_prices();
            let answers: Vec<_> = self
                .oracles
                .par_iter_mut()
                .enumerate()
                .map(|(f, oracle)| oracle.cheapest(&prices(kinds, costs, f, &groups), reach.stop))
                .collect();
            let Some(answers) = answers.into_iter().collect::<Option<Vec<_>>>() else { break };
            let held = master.held(limits, ranges);
            let bound = answers.iter().map(|answer| answer.bound).sum::<i64>() - held;
            if bound > found.bound {
                found.bound = bound;
                found.groups.clone_from(&groups);
                found.points = master.point_prices();
                found.least = answers.iter().map(|answer| answer.bound).collect();
            }
            if found.bound >= reach.enough {
                break;
            }
            let mut added = false;
            for (f, answer) in answers.into_iter().enumerate() {
                let worth = master.fabric_value(f);
                #[allow(clippy::cast_precision_loss, reason = "costs are below 2^53")]
                let below = worth - answer.value as f64 > 1.0 + 1e-7 * worth.abs();
                if below && !self.plans[f].contains(&answer.plan) {
                    master.add(kinds, costs, f, &answer.plan)?;
                    self.plans[f].push(answer.plan);
                    added = true;
                }
            }
            if !added || (reach.stop)() {
                break;
            }
        }
        Some(found)
    }

    /// Plans of every fabric found so far.
    #[must_use]
    pub fn into_plans(self) -> Vec<Vec<FabricPlan>> {
        self.plans
    }

    /// Passes of every board in the best mixture of the plans found so far; `None` if there is none.
    #[must_use]
    #[allow(clippy::cast_precision_loss, reason = "small whole numbers")]
    pub fn passes(&self, limits: &Limits, ranges: &[PassRange]) -> Option<Vec<f64>> {
        let (model, kinds, costs) = (self.model, self.kinds, self.costs);
        let mut problem = Problem::new(OptimizationDirection::Minimize);
        let share = (0.0, f64::INFINITY);
        let mut loads: Vec<Vec<(Variable, f64)>> = vec![Vec::new(); kinds.groups.len()];
        for (f, plans) in self.plans.iter().enumerate().filter(|(_, plans)| !plans.is_empty()) {
            let own = own_prices(kinds, costs, f);
            let mut one = Vec::new();
            for plan in plans {
                let variable = problem.add_var(plan.cost(&own) as f64 / costs.scale, share);
                one.push((variable, 1.0));
                let mut in_groups: std::collections::BTreeMap<usize, i64> = std::collections::BTreeMap::new();
                for (kind, count) in kinds.of[f].iter().zip(plan.counts(kinds.of[f].len())) {
                    if let Some(group) = kind.group.filter(|_| count > 0) {
                        *in_groups.entry(group).or_default() += count;
                    }
                }
                in_groups.into_iter().for_each(|(group, n)| loads[group].push((variable, n as f64)));
            }
            problem.add_constraint(one.as_slice(), ComparisonOp::Eq, 1.0);
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
        for (b, points) in at_points.into_iter().enumerate() {
            let range = ranges.get(b).copied().unwrap_or_default();
            let most = range.most.map_or(f64::INFINITY, |most| most as f64);
            let here = problem.add_var(costs.pass as f64 / costs.scale, (range.least as f64, most));
            passes.push(here);
            for mut row in points {
                row.push((here, -1.0));
                problem.add_constraint(row.as_slice(), ComparisonOp::Le, 0.0);
            }
        }
        if let Some(most) = limits.passes {
            let row: Vec<(Variable, f64)> = passes.iter().map(|&board| (board, 1.0)).collect();
            problem.add_constraint(row.as_slice(), ComparisonOp::Le, most as f64);
        }
        let solution = problem.solve().ok()?;
        Some(passes.iter().map(|&board| solution.var_value(board)).copied().collect())
    }
}

/// Decomposes once: at most so many rounds, starting from a sound solution; `stop` is asked between rounds.
#[must_use]
pub fn run(
    model: &Model,
    kinds: &Kinds,
    costs: &FineCosts,
    limits: &Limits,
    start: &Solution,
    rounds: u32,
    stop: Stop<'_>,
) -> Option<Decomposed> {
    let mut all = Decomposition::new(model, kinds, costs, start);
    let mut found = all.solve(limits, &[], &Reach { rounds, enough: i64::MAX, stop })?;
    found.plans = all.into_plans();
    Some(found)
}

/// What strips and plies of a fabric cost by themselves.
fn own_prices(kinds: &Kinds, costs: &FineCosts, f: usize) -> Prices {
    Prices { width: costs.width[f], each: costs.strip, plies: vec![costs.ply[f]; kinds.of[f].len()] }
}

/// Prices of one fabric's plies at prices of the groups.
#[must_use]
pub fn prices(kinds: &Kinds, costs: &FineCosts, f: usize, groups: &[i64]) -> Prices {
    let of = |kind: &crate::kinds::Kind| costs.ply[f] + kind.group.map_or(0, |group| groups[group]);
    Prices { width: costs.width[f], each: costs.strip, plies: kinds.of[f].iter().map(of).collect() }
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
    held: Option<Variable>,
    /// Multipliers on the fewest and on the most passes of every board with a range.
    ranges: Vec<[Variable; 2]>,
    scale: f64,
}

impl Master {
    #[allow(clippy::cast_precision_loss, reason = "small whole numbers")]
    fn build(
        model: &Model,
        kinds: &Kinds,
        costs: &FineCosts,
        limits: &Limits,
        ranges: &[PassRange],
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
        let held = limits.passes.map(|most| problem.add_var(-(most as f64), (0.0, 1e6)));
        let capped = (0.0, 1e6);
        let ranges: Vec<[Variable; 2]> = ranges
            .iter()
            .map(|range| {
                let least = problem.add_var(range.least as f64, capped);
                let most = range.most.map_or((0.0, (0.0, 0.0)), |most| (-(most as f64), capped));
                [least, problem.add_var(most.0, most.1)]
            })
            .collect();
        let mut all_points: Vec<Vec<Variable>> = Vec::new();
        for (b, board) in model.boards.iter().enumerate() {
            let points: Vec<Variable> = board.points.iter().map(|_| problem.add_var(0.0, free)).collect();
            all_points.push(points.clone());
            let mut row: Vec<(Variable, f64)> = points.iter().map(|&p| (p, 1.0)).collect();
            row.extend(held.map(|held| (held, -1.0)));
            row.extend(ranges.get(b).iter().flat_map(|[least, most]| [(*least, 1.0), (*most, -1.0)]));
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
        let mut master = Self { solution: None, fabrics, groups, points: all_points, held, ranges, scale };
        for (f, plans) in plans.iter().enumerate() {
            for plan in plans {
                let (row, cost) = master.row(kinds, costs, f, plan);
                problem.add_constraint(row.as_slice(), ComparisonOp::Le, cost);
            }
        }
        master.solution = Some(problem.solve().ok()?);
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
        let own = own_prices(kinds, costs, f);
        let mut row = crate::terms::Terms::default();
        row.add(self.fabrics[f], 1.0);
        for (kind, count) in kinds.of[f].iter().zip(plan.counts(kinds.of[f].len())) {
            if let Some(group) = kind.group.filter(|_| count > 0) {
                row.add(self.groups[group], -(count as f64));
            }
        }
        (row.into_terms(), plan.cost(&own) as f64 / self.scale)
    }

    fn add(&mut self, kinds: &Kinds, costs: &FineCosts, f: usize, plan: &FabricPlan) -> Option<()> {
        let (row, cost) = self.row(kinds, costs, f, plan);
        let solution = self.solution.take()?;
        self.solution = solution.add_constraint(row.as_slice(), ComparisonOp::Le, cost).ok();
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

    /// Rounded down: the point prices then still pay for them.
    #[allow(clippy::cast_possible_truncation, reason = "costs are below 2^53")]
    fn group_prices(&self) -> Vec<i64> {
        self.groups.iter().map(|&group| self.at(group).floor() as i64).collect()
    }

    fn point_prices(&self) -> Vec<Vec<f64>> {
        self.points.iter().map(|board| board.iter().map(|&point| self.at(point)).collect()).collect()
    }

    /// What held passes and ranges take off the bound, rounded up.
    #[allow(clippy::cast_possible_truncation, clippy::cast_precision_loss, reason = "below 2^53")]
    fn held(&self, limits: &Limits, ranges: &[PassRange]) -> i64 {
        let held = self.held.zip(limits.passes).map_or(0.0, |(held, most)| self.at(held) * most as f64);
        let ranges = self.ranges.iter().zip(ranges).map(|([least, most], range)| {
            self.at(*most) * range.most.unwrap_or(0) as f64 - self.at(*least) * range.least as f64
        });
        (held + ranges.sum::<f64>()).ceil() as i64
    }
}
