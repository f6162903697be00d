//! A primal simplex for masters of column generation: a few hundred rows, thousands of thin columns that come one after
//! another. The inverse of the basis is kept dense and updated in place (Dantzig and Orchard-Hays, Mathematical Tables
//! and Other Aids to Computation 8 (1954)), so a new column costs one pivot and nothing is built again. Right-hand sides
//! are shifted by tiny amounts, all different, because packing programs are degenerate (Charnes, Econometrica 20
//! (1952)). Floating point throughout: what it says is a guide, and whoever needs a proof works it out from the prices
//! in integers.

use crate::search::Random;

/// A column: its cost and its entries, each row once.
#[derive(Clone, Debug)]
pub(crate) struct Column {
    pub(crate) cost: f64,
    pub(crate) entries: Vec<(usize, f64)>,
}

/// Minimise cost over columns of non-negative amount with all rows equal to their right-hand sides.
#[derive(Clone, Debug)]
pub(crate) struct Simplex {
    rows: usize,
    rhs: Vec<f64>,
    shifted: Vec<f64>,
    columns: Vec<Column>,
    basic: Vec<bool>,
    basis: Vec<usize>,
    inverse: Vec<f64>,
    amounts: Vec<f64>,
    prices: Vec<f64>,
}

/// Reduced cost below which a column enters.
const ENTERS: f64 = -1e-9;
/// Smallest entry to pivot on.
const PIVOT: f64 = 1e-8;
/// Largest shift of a right-hand side.
const SHIFT: f64 = 1e-6;
/// Pivots between two looks at the rounding errors.
const LOOK: usize = 64;
/// Rounding errors of amounts or prices that call for a new inverse.
const DRIFT: f64 = 1e-9;

impl Simplex {
    /// Starts from one column for each row, with the entry one in it and none elsewhere. Right-hand sides are not
    /// negative. Where several prices are best the seed, through the shifts, decides between them.
    pub(crate) fn new(rhs: &[f64], costs: &[f64], seed: u64) -> Self {
        let rows = rhs.len();
        let mut inverse = vec![0.0; rows * rows];
        for row in 0..rows {
            inverse[row * rows + row] = 1.0;
        }
        let mut random = Random::new(seed);
        let shifted: Vec<f64> = rhs.iter().map(|&value| value + shift(value, &mut random)).collect();
        let columns = costs.iter().enumerate();
        Self {
            rows,
            rhs: rhs.to_vec(),
            amounts: shifted.clone(),
            shifted,
            columns: columns.map(|(row, &cost)| Column { cost, entries: vec![(row, 1.0)] }).collect(),
            basic: vec![true; rows],
            basis: (0..rows).collect(),
            inverse,
            prices: costs.to_vec(),
        }
    }

    /// Adds a column and returns its index.
    pub(crate) fn add(&mut self, column: Column) -> usize {
        self.columns.push(column);
        self.basic.push(false);
        self.columns.len() - 1
    }

    /// Number of columns.
    pub(crate) fn len(&self) -> usize {
        self.columns.len()
    }

    /// Prices of the rows.
    pub(crate) fn prices(&self) -> &[f64] {
        &self.prices
    }

    /// Cost of a column less the worth of its entries.
    pub(crate) fn reduced_cost(&self, column: usize) -> f64 {
        let column = &self.columns[column];
        column.cost - column.entries.iter().map(|&(row, entry)| entry * self.prices[row]).sum::<f64>()
    }

    /// (column, amount) of every basic column, without the shifts.
    pub(crate) fn basic_amounts(&self) -> Vec<(usize, f64)> {
        let amounts = self.times_inverse(&self.rhs);
        self.basis.iter().copied().zip(amounts).collect()
    }

    /// Cost of the basis, without the shifts.
    pub(crate) fn value(&self) -> f64 {
        self.rhs.iter().zip(&self.prices).map(|(b, y)| b * y).sum()
    }

    /// Pivots until no column improves; false where it gives up.
    pub(crate) fn optimise(&mut self) -> bool {
        let most = 200 * (self.rows + 10);
        for pivot in 0..most {
            if pivot % LOOK == LOOK - 1 && self.drift() > DRIFT && !self.invert() {
                return false;
            }
            let Some((entering, reduced)) = self.entering() else { return true };
            let direction = self.direction(entering);
            let Some(row) = self.leaving(&direction) else { return false };
            self.pivot(entering, reduced, row, &direction);
        }
        false
    }

    /// The column of least reduced cost.
    fn entering(&self) -> Option<(usize, f64)> {
        let mut best = None;
        let mut least = ENTERS;
        for column in 0..self.columns.len() {
            if !self.basic[column] {
                let reduced = self.reduced_cost(column);
                if reduced < least {
                    least = reduced;
                    best = Some(column);
                }
            }
        }
        best.map(|column| (column, least))
    }

    /// The column in terms of the basis.
    fn direction(&self, column: usize) -> Vec<f64> {
        let entries = &self.columns[column].entries;
        (0..self.rows)
            .map(|row| {
                let inverse = &self.inverse[row * self.rows..(row + 1) * self.rows];
                entries.iter().map(|&(at, entry)| inverse[at] * entry).sum()
            })
            .collect()
    }

    /// The row that reaches zero first; of several the one with the largest entry.
    fn leaving(&self, direction: &[f64]) -> Option<usize> {
        let mut best: Option<(f64, usize)> = None;
        for (row, &entry) in direction.iter().enumerate() {
            if entry <= PIVOT {
                continue;
            }
            let ratio = self.amounts[row].max(0.0) / entry;
            let better = best.is_none_or(|(least, at)| {
                ratio < least - 1e-12 || ratio < least + 1e-12 && entry > direction[at]
            });
            if better {
                best = Some((ratio, row));
            }
        }
        best.map(|(_, row)| row)
    }

    fn pivot(&mut self, entering: usize, reduced: f64, row: usize, direction: &[f64]) {
        let rows = self.rows;
        let entry = direction[row];
        let mut of_row: Vec<f64> = self.inverse[row * rows..(row + 1) * rows].to_vec();
        of_row.iter_mut().for_each(|value| *value /= entry);
        let step = self.amounts[row].max(0.0) / entry;
        for (other, &factor) in direction.iter().enumerate() {
            if other == row || factor == 0.0 {
                continue;
            }
            let target = &mut self.inverse[other * rows..(other + 1) * rows];
            for (value, &from) in target.iter_mut().zip(&of_row) {
                *value -= factor * from;
            }
            self.amounts[other] -= factor * step;
        }
        self.amounts[row] = step;
        for (price, &from) in self.prices.iter_mut().zip(&of_row) {
            *price += reduced * from;
        }
        self.inverse[row * rows..(row + 1) * rows].copy_from_slice(&of_row);
        self.basic[self.basis[row]] = false;
        self.basic[entering] = true;
        self.basis[row] = entering;
    }

    fn times_inverse(&self, vector: &[f64]) -> Vec<f64> {
        self.inverse
            .chunks(self.rows.max(1))
            .map(|row| row.iter().zip(vector).map(|(a, b)| a * b).sum())
            .collect()
    }

    /// Largest error of a row or of the reduced cost of a basic column.
    fn drift(&self) -> f64 {
        let mut sums = self.shifted.clone();
        let mut worst = 0.0_f64;
        for (&column, &amount) in self.basis.iter().zip(&self.amounts) {
            self.columns[column].entries.iter().for_each(|&(row, entry)| sums[row] -= entry * amount);
            worst = worst.max(self.reduced_cost(column).abs());
        }
        sums.iter().fold(worst, |worst, error| worst.max(error.abs()))
    }

    /// The inverse anew, by elimination with the largest pivot; false where the basis is singular.
    fn invert(&mut self) -> bool {
        let rows = self.rows;
        // Columns of the basis are eliminated one after another out of the unit matrix.
        let mut inverse = vec![0.0; rows * rows];
        (0..rows).for_each(|row| inverse[row * rows + row] = 1.0);
        let mut free: Vec<bool> = vec![true; rows];
        let mut basis = self.basis.clone();
        basis.sort_by_key(|&column| (self.columns[column].entries.len(), column));
        let old = std::mem::replace(&mut self.inverse, inverse);
        for &column in &basis {
            let direction = self.direction(column);
            let largest = (0..rows)
                .filter(|&row| free[row])
                .max_by(|&a, &b| direction[a].abs().total_cmp(&direction[b].abs()));
            let Some(row) = largest.filter(|&row| direction[row].abs() > PIVOT) else {
                self.inverse = old;
                return false;
            };
            free[row] = false;
            self.basis[row] = column;
            self.eliminate(row, &direction);
        }
        self.amounts = self.times_inverse(&self.shifted);
        let costs: Vec<f64> = self.basis.iter().map(|&column| self.columns[column].cost).collect();
        self.prices = vec![0.0; rows];
        for (row, cost) in costs.iter().enumerate() {
            let of_row = &self.inverse[row * rows..(row + 1) * rows];
            self.prices.iter_mut().zip(of_row).for_each(|(price, value)| *price += cost * value);
        }
        true
    }

    fn eliminate(&mut self, row: usize, direction: &[f64]) {
        let rows = self.rows;
        let mut of_row: Vec<f64> = self.inverse[row * rows..(row + 1) * rows].to_vec();
        of_row.iter_mut().for_each(|value| *value /= direction[row]);
        for (other, &factor) in direction.iter().enumerate() {
            if other != row && factor != 0.0 {
                let target = &mut self.inverse[other * rows..(other + 1) * rows];
                target.iter_mut().zip(&of_row).for_each(|(value, from)| *value -= factor * from);
            }
        }
        self.inverse[row * rows..(row + 1) * rows].copy_from_slice(&of_row);
    }
}

/// A shift of a right-hand side, up or, where there is room, down.
#[allow(clippy::cast_precision_loss, reason = "a thousand steps")]
fn shift(value: f64, random: &mut Random) -> f64 {
    let size = SHIFT * (0.5 + random.below(1000) as f64 / 2000.0);
    if random.below(2) == 0 && value > SHIFT { -size } else { size }
}
