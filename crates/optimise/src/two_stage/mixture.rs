//! The relaxation's mixture of strips: how often it uses each of the columns that are worth what they cost.

use std::collections::BTreeMap;

use microlp::{ComparisonOp, OptimizationDirection, Problem, Variable};

use crate::costs::Costs;
use crate::lp::{Prices, ply_values};
use crate::model::Model;
use crate::pricing::Column;

/// Cost above worth, as a part of the cost, up to which a column may be in the mixture.
const NEAR: f64 = 1e-6;
/// Uses below this are noise of the simplex.
const LEAST_USE: f64 = 1e-6;

/// (column, how often) of a cheapest mixture, by fabric; `None` where the simplex fails.
#[must_use]
pub(super) fn mixture<'a>(
    model: &Model,
    costs: &Costs,
    prices: &'a Prices,
) -> Option<Vec<Vec<(&'a Column, f64)>>> {
    let mut program = Program::new(model, costs);
    let columns = tight(model, costs, prices);
    let variables: Vec<Variable> = columns.iter().map(|&(column, cost)| program.add(column, cost)).collect();
    let solution = program.complete().solve().ok()?.into_solution().ok()?;
    let mut mixture = vec![Vec::new(); model.fabrics.len()];
    for (&(column, _), &variable) in columns.iter().zip(&variables) {
        let uses = solution.var_value(variable);
        if uses > LEAST_USE {
            mixture[column.fabric].push((column, uses));
        }
    }
    Some(mixture)
}

/// Columns that cost next to nothing more than they are worth, with what they cost.
fn tight<'a>(model: &Model, costs: &Costs, prices: &'a Prices) -> Vec<(&'a Column, f64)> {
    let values: Vec<Vec<f64>> = (0..model.fabrics.len())
        .map(|f| ply_values(model, f, 0.0, &prices.items[f], &prices.points))
        .collect();
    let all = prices.columns.iter().filter_map(|column| {
        let f = column.fabric;
        let cost = cost(costs, column);
        let held = prices.held_width[f] * float(column.width);
        let worth: f64 = column.plies.iter().map(|&(ply, n)| values[f][ply] * float(n)).sum();
        (cost + held - worth <= NEAR * (cost + held)).then_some((column, cost))
    });
    all.collect()
}

/// What a strip and its plies cost by themselves, in the figure's own unit.
#[allow(clippy::cast_precision_loss, reason = "a guide for the search")]
fn cost(costs: &Costs, column: &Column) -> f64 {
    let (f, plies) = (column.fabric, column.plies.iter().map(|ply| ply.1).sum::<i64>());
    let all = costs.width[f] * i128::from(column.width) + costs.strip + costs.ply[f] * i128::from(plies);
    all as f64 / costs.unit as f64
}

/// The linear program: items are covered, loads of every point find room in the passes.
struct Program<'a> {
    model: &'a Model,
    problem: Problem,
    items: Vec<Vec<Vec<(Variable, f64)>>>,
    points: Vec<Vec<Vec<(Variable, f64)>>>,
}

impl<'a> Program<'a> {
    #[allow(clippy::cast_precision_loss, reason = "a guide for the search")]
    fn new(model: &'a Model, costs: &Costs) -> Self {
        let mut problem = Problem::new(OptimizationDirection::Minimize);
        let pass = costs.pass as f64 / costs.unit as f64;
        let points = model.boards.iter().map(|board| {
            let passes = problem.add_var(pass, (0.0, f64::INFINITY));
            vec![vec![(passes, -1.0)]; board.points.len()]
        });
        let points = points.collect();
        let items = model.fabrics.iter().map(|fabric| vec![Vec::new(); fabric.items.len()]).collect();
        Self { model, problem, items, points }
    }

    fn add(&mut self, column: &Column, cost: f64) -> Variable {
        let variable = self.problem.add_var(cost, (0.0, f64::INFINITY));
        let (mut gives, mut loads) = (BTreeMap::new(), BTreeMap::new());
        for &(ply, n) in &column.plies {
            let ply = &self.model.fabrics[column.fabric].plies[ply];
            for &(item, each) in &ply.yields {
                *gives.entry(item).or_insert(0.0) += f64::from(each) * float(n);
            }
            let Some(b) = ply.board else { continue };
            let board = &self.model.boards[b];
            for &point in &board.bay_points[ply.bay] {
                *loads.entry((b, point)).or_insert(0.0) += float(ply.load * n) / float(board.full);
            }
        }
        gives.into_iter().for_each(|(item, n)| self.items[column.fabric][item].push((variable, n)));
        loads.into_iter().for_each(|((b, point), load)| self.points[b][point].push((variable, load)));
        variable
    }

    #[allow(clippy::cast_precision_loss, reason = "a guide for the search")]
    fn complete(mut self) -> Problem {
        for (fabric, rows) in self.model.fabrics.iter().zip(&self.items) {
            for (item, row) in rows.iter().enumerate() {
                let wanted = fabric.least_of(item) as f64;
                self.problem.add_constraint(row.as_slice(), ComparisonOp::Ge, wanted);
            }
        }
        for row in self.points.iter().flatten() {
            self.problem.add_constraint(row.as_slice(), ComparisonOp::Le, 0.0);
        }
        self.problem
    }
}

#[allow(clippy::cast_precision_loss, reason = "a guide for the search")]
fn float(n: i64) -> f64 {
    n as f64
}
