//! One small integer program of ours, and the adapters that solve it. Whatever a solver returns is rounded and every
//! row checked again in integers; a solver's word is never taken for a solution.
//!
//! Two adapters: `good_lp` is the common door (pure-Rust backend by default) and serves the small packing programs;
//! `microlp` 0.7 is called directly where a node limit, a hint and proof speed matter, because the backend that
//! good_lp 1.15 ships has no node limit and proved far fewer programs of our kind.

use std::time::Duration;

use crate::asked::Asked;

/// Relation of a row.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Relation {
    /// At most.
    AtMost,
    /// At least.
    AtLeast,
    /// Equal.
    Equal,
}

/// A row: terms (each variable once), relation, right-hand side.
pub type Row = (Vec<(usize, i64)>, Relation, i64);

/// An integer program: minimise cost over bounded whole-number variables.
#[derive(Clone, Debug, Default, Hash)]
pub struct IntegerModel {
    /// Cost of every variable.
    pub costs: Vec<i64>,
    /// Lower and upper bound of every variable.
    pub bounds: Vec<(i32, i32)>,
    /// Rows: terms (each variable once), relation, right-hand side.
    pub rows: Vec<Row>,
}

/// What a solver found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Found {
    /// A point that passes every row, and whether the solver says that none is better.
    Point {
        /// Values.
        values: Vec<i64>,
        /// Cost.
        cost: i64,
        /// The solver proved it (in floating point; not used as a proof of ours).
        finished: bool,
    },
    /// The solver says that there is none.
    Infeasible,
    /// Nothing found within the limits.
    Nothing,
}

impl IntegerModel {
    /// Adds a variable and returns its index.
    pub fn variable(&mut self, cost: i64, low: i64, high: i64) -> usize {
        let clip = |v: i64| i32::try_from(v.clamp(-1_000_000_000, 1_000_000_000)).unwrap_or(0);
        self.costs.push(cost);
        self.bounds.push((clip(low), clip(high)));
        self.costs.len() - 1
    }

    /// Adds a row; like terms are merged.
    pub fn row(&mut self, terms: impl IntoIterator<Item = (usize, i64)>, relation: Relation, rhs: i64) {
        let mut merged: Vec<(usize, i64)> = terms.into_iter().collect();
        merged.sort_unstable_by_key(|term| term.0);
        merged.dedup_by(|later, earlier| {
            let same = later.0 == earlier.0;
            if same {
                earlier.1 += later.1;
            }
            same
        });
        merged.retain(|term| term.1 != 0);
        self.rows.push((merged, relation, rhs));
    }

    /// Whether a point is within its bounds and passes every row.
    #[must_use]
    pub fn passes(&self, values: &[i64]) -> bool {
        values.len() == self.costs.len()
            && values.iter().zip(&self.bounds).all(|(v, b)| *v >= i64::from(b.0) && *v <= i64::from(b.1))
            && self.rows.iter().all(|(terms, relation, rhs)| {
                let sum: i64 = terms.iter().map(|&(v, c)| values[v] * c).sum();
                match relation {
                    Relation::AtMost => sum <= *rhs,
                    Relation::AtLeast => sum >= *rhs,
                    Relation::Equal => sum == *rhs,
                }
            })
    }

    /// Cost of a point.
    #[must_use]
    pub fn cost(&self, values: &[i64]) -> i64 {
        values.iter().zip(&self.costs).map(|(v, c)| v * c).sum()
    }

    #[allow(clippy::cast_possible_truncation, reason = "bounds are 32-bit")]
    fn judged(&self, floats: impl Iterator<Item = f64>, finished: bool) -> Found {
        let values: Vec<i64> = floats.map(|v| v.round() as i64).collect();
        if self.passes(&values) {
            let cost = self.cost(&values);
            Found::Point { values, cost, finished }
        } else {
            Found::Nothing
        }
    }

    /// Solves with `microlp`, at most `nodes` nodes; `hint` is a known point. The clock is only a stop.
    #[must_use]
    pub fn solve(&self, nodes: u64, stop: Option<Duration>, hint: Option<&[i64]>) -> Found {
        static SOLVED: Asked<Found> = Asked::new();
        match stop {
            Some(_) => self.worked_out(nodes, stop, hint),
            None => SOLVED.answer(&(self, nodes, hint), || self.worked_out(nodes, stop, hint)),
        }
    }

    #[allow(clippy::cast_precision_loss, reason = "coefficients are far below 2^53")]
    fn worked_out(&self, nodes: u64, stop: Option<Duration>, hint: Option<&[i64]>) -> Found {
        use microlp::{ComparisonOp, Error, OptimizationDirection, Problem};
        let mut problem = Problem::new(OptimizationDirection::Minimize);
        let vars: Vec<_> = self
            .costs
            .iter()
            .zip(&self.bounds)
            .map(|(&cost, &bounds)| problem.add_integer_var(cost as f64, bounds))
            .collect();
        for (terms, relation, rhs) in &self.rows {
            let op = match relation {
                Relation::AtMost => ComparisonOp::Le,
                Relation::AtLeast => ComparisonOp::Ge,
                Relation::Equal => ComparisonOp::Eq,
            };
            let row: Vec<_> = terms.iter().map(|&(v, c)| (vars[v], c as f64)).collect();
            problem.add_constraint(row.as_slice(), op, *rhs as f64);
        }
        let mut options = microlp::SolveOptions::default();
        options.node_limit = Some(nodes);
        options.time_limit = stop;
        options.mip_gap = 0.0;
        options.warm_start =
            hint.map(|point| vars.iter().zip(point).map(|(&var, &value)| (var, value as f64)).collect());
        match problem.solve_with(options) {
            Ok(outcome) => match outcome.into_solution() {
                Ok(solution) => {
                    let finished = matches!(solution.status(), microlp::SolutionStatus::Optimal);
                    self.judged(vars.iter().map(|&var| solution.var_value(var)), finished)
                }
                Err(_) => Found::Nothing,
            },
            Err(Error::Infeasible) => Found::Infeasible,
            Err(_) => Found::Nothing,
        }
    }

    /// Solves through `good_lp`, to the end.
    #[allow(clippy::cast_precision_loss, reason = "coefficients are far below 2^53")]
    #[must_use]
    pub fn solve_small(&self) -> Found {
        use good_lp::{
            Expression, ProblemVariables, ResolutionError, Solution as _, SolverModel as _, variable,
        };
        let mut variables = ProblemVariables::new();
        let vars: Vec<_> = self
            .bounds
            .iter()
            .map(|&(low, high)| variables.add(variable().integer().min(low).max(high)))
            .collect();
        let objective: Expression = vars.iter().zip(&self.costs).map(|(&var, &cost)| cost as f64 * var).sum();
        let mut model = variables.minimise(objective).using(good_lp::microlp);
        for (terms, relation, rhs) in &self.rows {
            let sum: Expression = terms.iter().map(|&(v, c)| c as f64 * vars[v]).sum();
            let rhs = *rhs as f64;
            model = model.with(match relation {
                Relation::AtMost => sum.leq(rhs),
                Relation::AtLeast => sum.geq(rhs),
                Relation::Equal => sum.eq(rhs),
            });
        }
        match model.solve() {
            Ok(solution) => self.judged(vars.iter().map(|&var| solution.value(var)), true),
            Err(ResolutionError::Infeasible) => Found::Infeasible,
            Err(_) => Found::Nothing,
        }
    }
}
