//! The linear relaxation by column generation, on the dual side: prices of patches and of load are the variables, and
//! every strip column that is worth more than it costs becomes a row (see `patchlay_plan::proof` for the dual). The
//! rows go into a warm dual simplex of `minilp`.

use std::collections::BTreeSet;

use minilp::{ComparisonOp, OptimizationDirection, Problem, Variable};
use rayon::prelude::*;

use crate::asked::Asked;
use crate::costs::{Costs, Limits};
use crate::model::Model;
use crate::pricing::{Column, best_by_class, best_strip};
use crate::simplex;

/// Prices that solve the relaxation, and the columns found on the way.
#[derive(Clone, Debug, Default)]
pub struct Prices {
    /// Value of the relaxation in the figure's unit (floating point; see [`crate::certify`] for the proof).
    pub value: f64,
    /// Price per patch, by fabric and item.
    pub items: Vec<Vec<f64>>,
    /// Price per pass of load, by board and point.
    pub points: Vec<Vec<f64>>,
    /// Multiplier on held strip widths, by fabric; zero where not held.
    pub held_width: Vec<f64>,
    /// Multiplier on held passes.
    pub held_passes: f64,
    /// All columns generated.
    pub columns: Vec<Column>,
}

/// Costs as floating point, in the figure's own unit divided by `scale` to keep coefficients near 1.
struct Floats {
    width: Vec<f64>,
    strip: f64,
    ply: Vec<f64>,
    pass: f64,
    scale: f64,
}

#[allow(clippy::cast_precision_loss, reason = "costs of the floating-point search; proofs use the integers")]
fn floats(costs: &Costs) -> Floats {
    let unit = costs.unit as f64;
    let raw = |value: i128| value as f64 / unit;
    let width: Vec<f64> = costs.width.iter().map(|&v| raw(v)).collect();
    let ply: Vec<f64> = costs.ply.iter().map(|&v| raw(v)).collect();
    let largest = width.iter().chain(&ply).copied().fold(raw(costs.strip).max(raw(costs.pass)), f64::max);
    let scale = if largest > 0.0 { largest } else { 1.0 };
    Floats {
        width: width.iter().map(|v| v / scale).collect(),
        strip: raw(costs.strip) / scale,
        ply: ply.iter().map(|v| v / scale).collect(),
        pass: raw(costs.pass) / scale,
        scale,
    }
}

/// Rows beyond which the linear program is built afresh from the useful ones.
const MOST_ROWS: usize = 1500;
/// Largest multiplier on a held figure, relative to the largest cost.
const MULTIPLIER_CAP: f64 = 1000.0;
/// Most columns of one fabric in a round.
const MOST_FRESH: usize = 8;
/// Worth above cost that counts as a violation, relative to the largest cost.
const TOLERANCE: f64 = 1e-8;

/// Solves the relaxation. `None` where it has no solution (some item has no ply) or the simplex fails.
#[must_use]
pub fn solve(model: &Model, costs: &Costs, limits: &Limits, start: &[Column]) -> Option<Prices> {
    static SOLVED: Asked<Option<Prices>> = Asked::new();
    SOLVED.answer(&(model, costs, limits, start), || worked_out(model, costs, limits, start))
}

fn worked_out(model: &Model, costs: &Costs, limits: &Limits, start: &[Column]) -> Option<Prices> {
    let mut columns = single_plies(model);
    columns.extend(start.iter().cloned());
    from_columns(model, &floats(costs), limits, columns)
}

/// Solves the relaxation from these columns, with which it must have a solution and its dual a bound: those of a like
/// question and [`one_ply_each`], far fewer than there are single plies.
#[must_use]
pub fn again(model: &Model, costs: &Costs, limits: &Limits, columns: &[Column]) -> Option<Prices> {
    static SOLVED: Asked<Option<Prices>> = Asked::new();
    let solved = || from_columns(model, &floats(costs), limits, columns.to_vec());
    SOLVED.answer(&(model, costs, limits, columns), solved)
}

/// A single ply for every item that any gives.
#[must_use]
pub fn one_ply_each(model: &Model) -> Vec<Column> {
    let mut given = BTreeSet::new();
    let mut columns = single_plies(model);
    columns.retain(|column| {
        let yields = &model.fabrics[column.fabric].plies[column.plies[0].0].yields;
        yields.iter().filter(|(item, _)| given.insert((column.fabric, *item))).count() > 0
    });
    columns
}

fn from_columns(model: &Model, floats: &Floats, limits: &Limits, mut columns: Vec<Column>) -> Option<Prices> {
    columns.sort();
    columns.dedup();
    let mut known: BTreeSet<Column> = columns.iter().cloned().collect();
    let mut lp = Lp::build(model, floats, limits, &columns)?;
    loop {
        let prices = lp.prices(model);
        // A column that is already a row but still looks violated is noise of the simplex.
        let mut fresh = violated(model, floats, &prices);
        fresh.retain(|column| known.insert(column.clone()));
        if fresh.is_empty() {
            return Some(scaled(prices, floats.scale, columns));
        }
        if columns.len() + fresh.len() > MOST_ROWS && columns.len() < MOST_ROWS {
            keep_useful(model, floats, &prices, &mut columns);
            columns.extend(fresh);
            lp = Lp::build(model, floats, limits, &columns)?;
            continue;
        }
        let mut rebuilt = false;
        for column in fresh {
            columns.push(column);
            if !rebuilt && !lp.add(model, floats, columns.last()?) {
                rebuilt = true;
            }
        }
        if rebuilt {
            lp = Lp::build(model, floats, limits, &columns)?;
        }
    }
}

fn scaled(mut prices: Prices, scale: f64, columns: Vec<Column>) -> Prices {
    prices.value *= scale;
    prices.held_passes *= scale;
    prices.held_width.iter_mut().for_each(|v| *v *= scale);
    prices.items.iter_mut().flatten().for_each(|v| *v *= scale);
    prices.points.iter_mut().flatten().for_each(|v| *v *= scale);
    prices.columns = columns;
    prices
}

/// One ply alone in the narrowest strip that takes it: keeps the dual bounded.
fn single_plies(model: &Model) -> Vec<Column> {
    let mut columns = Vec::new();
    for (f, fabric) in model.fabrics.iter().enumerate() {
        for (ply, data) in fabric.plies.iter().enumerate() {
            if let Some((width, _)) = fabric.classes[data.class].ways.first() {
                columns.push(Column { fabric: f, width: *width, plies: vec![(ply, 1)] });
            }
        }
    }
    columns
}

/// Worth of every ply of a fabric at these prices.
#[must_use]
pub fn ply_values(model: &Model, f: usize, ply_cost: f64, items: &[f64], points: &[Vec<f64>]) -> Vec<f64> {
    model.fabrics[f]
        .plies
        .iter()
        .map(|ply| {
            let gain: f64 = ply.yields.iter().map(|&(item, n)| items[item] * f64::from(n)).sum();
            gain - ply_cost - load_price(model, ply, points)
        })
        .collect()
}

#[allow(clippy::cast_precision_loss, reason = "loads are small")]
fn load_price(model: &Model, ply: &crate::model::Ply, points: &[Vec<f64>]) -> f64 {
    let Some(board) = ply.board else { return 0.0 };
    let data = &model.boards[board];
    let sum: f64 = data.bay_points[ply.bay].iter().map(|&p| points[board][p]).sum();
    sum * ply.load as f64 / data.full as f64
}

/// The most violated column of every fabric and width.
fn violated(model: &Model, floats: &Floats, prices: &Prices) -> Vec<Column> {
    let mut found: Vec<(f64, Column)> = (0..model.fabrics.len())
        .into_par_iter()
        .flat_map_iter(|f| violated_of(model, floats, prices, f))
        .collect();
    found.sort_by(|a, b| b.0.total_cmp(&a.0).then_with(|| a.1.cmp(&b.1)));
    found.truncate(60);
    found.into_iter().map(|(_, column)| column).collect()
}

#[allow(clippy::cast_precision_loss, reason = "widths are small whole numbers of grid steps")]
fn violated_of(model: &Model, floats: &Floats, prices: &Prices, f: usize) -> Vec<(f64, Column)> {
    let fabric = &model.fabrics[f];
    let values = ply_values(model, f, floats.ply[f], &prices.items[f], &prices.points);
    let best = best_by_class(fabric, &values);
    let mut found: Vec<(f64, Column)> = Vec::new();
    for &width in &fabric.widths {
        let (worth, plies) = best_strip(fabric, &best, width);
        let cost = (floats.width[f] + prices.held_width[f]) * width as f64 + floats.strip;
        if worth > cost + TOLERANCE {
            found.push((worth - cost, Column { fabric: f, width, plies }));
        }
    }
    found.sort_by(|a, b| b.0.total_cmp(&a.0));
    found.truncate(MOST_FRESH);
    // Strips of other classes than the best one's complement it: without them a fabric of few widths gets one column a
    // round and takes long to settle.
    let mut best = best;
    while let Some((_, column)) = found.last().filter(|_| found.len() < MOST_FRESH) {
        let (width, used) = (column.width, column.plies.clone());
        best.retain(|of| used.iter().all(|&(ply, _)| ply != of.1));
        let (worth, plies) = best_strip(fabric, &best, width);
        let cost = (floats.width[f] + prices.held_width[f]) * width as f64 + floats.strip;
        if worth <= cost + TOLERANCE {
            break;
        }
        found.push((worth - cost, Column { fabric: f, width, plies }));
    }
    found
}

/// Drops columns far from tight at these prices.
fn keep_useful(model: &Model, floats: &Floats, prices: &Prices, columns: &mut Vec<Column>) {
    let values: Vec<Vec<f64>> = (0..model.fabrics.len())
        .map(|f| ply_values(model, f, floats.ply[f], &prices.items[f], &prices.points))
        .collect();
    #[allow(clippy::cast_precision_loss, reason = "small whole numbers")]
    columns.retain(|column| {
        let worth: f64 = column.plies.iter().map(|&(ply, n)| values[column.fabric][ply] * n as f64).sum();
        let cost = (floats.width[column.fabric] + prices.held_width[column.fabric]) * column.width as f64
            + floats.strip;
        column.plies.len() == 1 && column.plies[0].1 == 1 || worth > 0.9 * cost - TOLERANCE
    });
}

/// The dual linear program with its variables.
struct Lp {
    solution: Option<minilp::Solution>,
    items: Vec<Vec<Variable>>,
    points: Vec<Vec<Variable>>,
    held_width: Vec<Option<Variable>>,
    held_passes: Option<Variable>,
}

impl Lp {
    #[allow(clippy::cast_precision_loss, reason = "demands and held values are far below 2^53")]
    fn build(model: &Model, floats: &Floats, limits: &Limits, columns: &[Column]) -> Option<Self> {
        let mut problem = Problem::new(OptimizationDirection::Maximize);
        let free = (0.0, f64::INFINITY);
        let items: Vec<Vec<Variable>> = model
            .fabrics
            .iter()
            .map(|fabric| {
                (0..fabric.items.len()).map(|i| problem.add_var(fabric.least_of(i) as f64, free)).collect()
            })
            .collect();
        let points: Vec<Vec<Variable>> = model
            .boards
            .iter()
            .map(|board| board.points.iter().map(|_| problem.add_var(0.0, free)).collect())
            .collect();
        // The first columns alone cannot keep the limits, so the dual would be unbounded: a cap on the multipliers
        // makes the limits elastic at that price.
        let capped = (0.0, MULTIPLIER_CAP);
        let held_width = (0..model.fabrics.len())
            .map(|f| limits.width.as_ref().map(|widths| problem.add_var(-(widths[f] as f64), capped)))
            .collect();
        let held_passes = limits.passes.map(|passes| problem.add_var(-(passes as f64), capped));
        for (at, board) in points.iter().enumerate().filter(|(_, board)| !board.is_empty()) {
            let mut row: Vec<(Variable, f64)> = board.iter().map(|&point| (point, 1.0)).collect();
            row.extend(held_passes.map(|held| (held, -1.0)));
            let range = limits.board(at);
            row.extend(range.most.map(|most| (problem.add_var(-(most as f64), capped), -1.0)));
            if range.least > 0 {
                row.push((problem.add_var(range.least as f64, free), 1.0));
            }
            problem.add_constraint(row, ComparisonOp::Le, floats.pass);
        }
        let mut lp = Self { solution: None, items, points, held_width, held_passes };
        for column in columns {
            problem.add_constraint(lp.row(model, column), ComparisonOp::Le, floats.cost(column));
        }
        lp.solution = Some(simplex::solved(&problem)?);
        Some(lp)
    }

    fn add(&mut self, model: &Model, floats: &Floats, column: &Column) -> bool {
        let row = self.row(model, column);
        let Some(solution) = self.solution.take() else { return false };
        self.solution = simplex::with_row(solution, row, ComparisonOp::Le, floats.cost(column));
        self.solution.is_some()
    }

    #[allow(clippy::cast_precision_loss, reason = "counts and widths are small")]
    fn row(&self, model: &Model, column: &Column) -> Vec<(Variable, f64)> {
        let mut row = crate::terms::Terms::default();
        for &(ply, count) in &column.plies {
            let data = &model.fabrics[column.fabric].plies[ply];
            for &(item, n) in &data.yields {
                row.add(self.items[column.fabric][item], f64::from(n) * count as f64);
            }
            let Some(board) = data.board else { continue };
            let load = data.load as f64 / model.boards[board].full as f64 * count as f64;
            for &point in &model.boards[board].bay_points[data.bay] {
                row.add(self.points[board][point], -load);
            }
        }
        if let Some(held) = self.held_width[column.fabric] {
            row.add(held, -(column.width as f64));
        }
        row.into_terms()
    }

    fn prices(&self, model: &Model) -> Prices {
        let Some(solution) = &self.solution else { return Prices::default() };
        let value = |variable: &Variable| solution[*variable].max(0.0);
        Prices {
            value: solution.objective(),
            items: self.items.iter().map(|row| row.iter().map(value).collect()).collect(),
            points: self.points.iter().map(|row| row.iter().map(value).collect()).collect(),
            held_width: (0..model.fabrics.len())
                .map(|f| self.held_width[f].as_ref().map_or(0.0, value))
                .collect(),
            held_passes: self.held_passes.as_ref().map_or(0.0, value),
            columns: Vec::new(),
        }
    }
}

impl Floats {
    #[allow(clippy::cast_precision_loss, reason = "widths are small")]
    fn cost(&self, column: &Column) -> f64 {
        self.width[column.fabric] * column.width as f64 + self.strip
    }
}
