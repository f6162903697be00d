//! A solution of the model: strips, plies and passes, with its exact cost.

use std::collections::BTreeMap;

use crate::costs::{Costs, Limits};
use crate::model::Model;
use crate::pricing::Column;

/// What a strip is cut into, by class; a class says how long its plies are in a strip of this width.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Pattern {
    /// Strip width, grid steps.
    pub width: i64,
    /// (class, plies), by class.
    pub plies: Vec<(usize, i64)>,
}

/// Strips and plies of every fabric, passes of every board.
#[derive(Clone, Debug, PartialEq, Eq, Default, Hash)]
pub struct Solution {
    /// Strips of every fabric: pattern -> how many.
    pub strips: Vec<BTreeMap<Pattern, i64>>,
    /// Plies of every fabric, by index of the model's plies.
    pub plies: Vec<Vec<i64>>,
    /// Passes of every board.
    pub passes: Vec<i64>,
}

impl Pattern {
    /// The pattern of a strip column.
    #[must_use]
    pub fn of_column(model: &Model, column: &Column) -> Self {
        let mut plies: BTreeMap<usize, i64> = BTreeMap::new();
        for &(ply, count) in &column.plies {
            *plies.entry(model.fabrics[column.fabric].plies[ply].class).or_default() += count;
        }
        Self { width: column.width, plies: plies.into_iter().collect() }
    }
}

impl Solution {
    /// Nothing cut yet.
    #[must_use]
    pub fn empty(model: &Model) -> Self {
        Self {
            strips: vec![BTreeMap::new(); model.fabrics.len()],
            plies: model.fabrics.iter().map(|fabric| vec![0; fabric.plies.len()]).collect(),
            passes: vec![0; model.boards.len()],
        }
    }

    /// Strip width in all and number of strips of a fabric.
    #[must_use]
    pub fn strips_of(&self, f: usize) -> (i64, i64) {
        self.strips[f]
            .iter()
            .fold((0, 0), |(width, count), (pattern, n)| (width + pattern.width * n, count + n))
    }

    /// Load of every point of every board, over the fabrics for which `counts` is true.
    #[must_use]
    pub fn loads(&self, model: &Model, counts: impl Fn(usize) -> bool) -> Vec<Vec<i64>> {
        let mut loads: Vec<Vec<i64>> = model.boards.iter().map(|board| vec![0; board.points.len()]).collect();
        for (f, plies) in self.plies.iter().enumerate().filter(|(f, _)| counts(*f)) {
            for (ply, &count) in plies.iter().enumerate().filter(|(_, count)| **count > 0) {
                let data = &model.fabrics[f].plies[ply];
                let Some(board) = data.board else { continue };
                for &point in &model.boards[board].bay_points[data.bay] {
                    loads[board][point] += data.load * count;
                }
            }
        }
        loads
    }

    /// Fewest passes that the loads allow (packing them into lay-ups may need more).
    pub fn set_passes(&mut self, model: &Model) {
        let loads = self.loads(model, |_| true);
        self.passes = passes_for(model, &loads);
    }

    /// Passes of all boards.
    #[must_use]
    pub fn passes_in_all(&self) -> i64 {
        self.passes.iter().sum()
    }

    /// Exact cost.
    #[must_use]
    pub fn cost(&self, costs: &Costs) -> i128 {
        let mut sum = costs.pass * i128::from(self.passes_in_all());
        for f in 0..self.plies.len() {
            let (width, count) = self.strips_of(f);
            sum += costs.width[f] * i128::from(width) + costs.strip * i128::from(count);
            sum += costs.ply[f] * i128::from(self.plies[f].iter().sum::<i64>());
        }
        sum
    }

    /// Whether limits are kept.
    #[must_use]
    pub fn within(&self, limits: &Limits) -> bool {
        limits.passes.is_none_or(|most| self.passes_in_all() <= most)
            && limits
                .width
                .as_ref()
                .is_none_or(|most| (0..self.plies.len()).all(|f| self.strips_of(f).0 <= most[f]))
    }

    /// Whether demand is met and every ply has its place on a strip.
    #[must_use]
    pub fn is_sound(&self, model: &Model) -> bool {
        (0..model.fabrics.len()).all(|f| self.meets_demand(model, f) && self.supplies_plies(model, f))
            && passes_for(model, &self.loads(model, |_| true)).iter().zip(&self.passes).all(|(a, b)| a <= b)
    }

    fn meets_demand(&self, model: &Model, f: usize) -> bool {
        let fabric = &model.fabrics[f];
        let mut got = vec![0_i64; fabric.items.len()];
        for (ply, &count) in self.plies[f].iter().enumerate() {
            for &(item, n) in &fabric.plies[ply].yields {
                got[item] += i64::from(n) * count;
            }
        }
        fabric.items.iter().zip(got).all(|(item, got)| u64::try_from(got).is_ok_and(|got| got >= item.wanted))
    }

    fn supplies_plies(&self, model: &Model, f: usize) -> bool {
        let fabric = &model.fabrics[f];
        let mut free = vec![0_i64; fabric.classes.len()];
        for (pattern, count) in &self.strips[f] {
            let mut length = 0;
            for &(class, n) in &pattern.plies {
                let Some(run) = fabric.classes[class].run_in(pattern.width) else { return false };
                length += run * n;
                free[class] += n * count;
            }
            if length > fabric.capacity {
                return false;
            }
        }
        for (ply, &count) in self.plies[f].iter().enumerate() {
            free[fabric.plies[ply].class] -= count;
        }
        free.iter().all(|&left| left >= 0)
    }
}

/// Passes that loads need at least: the largest load of any point, in full passes.
#[must_use]
pub fn passes_for(model: &Model, loads: &[Vec<i64>]) -> Vec<i64> {
    model
        .boards
        .iter()
        .zip(loads)
        .map(|(board, loads)| {
            loads.iter().map(|load| (load + board.full - 1).div_euclid(board.full)).max().unwrap_or(0)
        })
        .collect()
}
