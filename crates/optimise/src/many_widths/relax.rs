//! The linear relaxation over strips by column generation (Gilmore and Gomory, Operations Research 9 (1961)), with prices
//! in integers and what no strip is worth more than, exactly.

use super::{Count, FINE, Level, Task};
use crate::listen::Stop;
use crate::one_width::simplex::{Column, Simplex};

/// Worth above the cost from which a strip is a new column.
const TOLERANCE: i64 = FINE >> 30;
/// Rounds of column generation.
const ROUNDS: usize = 2000;

/// Prices of the relaxation.
#[derive(Clone, Debug)]
pub(super) struct Relaxed {
    /// Price of each piece, in fine parts.
    pub(super) prices: Vec<i64>,
    /// Worth of all that is wanted.
    worth: i128,
    /// No strip is worth more than its cost and this.
    over: i64,
}

impl Relaxed {
    /// `None` where the simplex fails or it was stopped before the prices settled.
    pub(super) fn of(task: &Task, stop: Stop<'_>) -> Option<Self> {
        let unit = float(task.fine) * float(task.dearest());
        let rhs: Vec<f64> = task.wanted.iter().map(|&count| float(count)).collect();
        // Every piece fits some strip, and none costs more than one.
        let mut simplex = Simplex::new(&rhs, &vec![1.0; rhs.len()], 1);
        for row in 0..rhs.len() {
            simplex.add(Column { cost: 0.0, entries: vec![(row, -1.0)] });
        }
        for _ in 0..ROUNDS {
            if stop() || !simplex.optimise() {
                return None;
            }
            #[allow(clippy::cast_possible_truncation, reason = "a price is at most 1")]
            let prices: Vec<i64> =
                simplex.prices().iter().map(|price| (price.clamp(0.0, 2.0) * unit).floor() as i64).collect();
            let mut over = 0;
            for level in &task.levels {
                let table = Table::of(task, level, &prices);
                let more = table.best() - level.cost * task.fine;
                over = over.max(more);
                if more > TOLERANCE {
                    let pieces = table.pieces(task, level, &prices);
                    let entries = pieces.iter().map(|&(piece, count)| (piece, float(count))).collect();
                    simplex.add(Column { cost: float(level.cost) / float(task.dearest()), entries });
                }
            }
            if over <= TOLERANCE {
                let worth = prices.iter().zip(&task.wanted);
                let worth = worth.map(|(&price, &count)| i128::from(price) * i128::from(count)).sum();
                return Some(Self { prices, worth, over });
            }
        }
        None
    }

    /// What every plan costs at least in fine parts, as far as plans of no more than `goal` go.
    pub(super) fn bound(&self, task: &Task, goal: i64) -> i128 {
        self.worth - i128::from(self.over) * i128::from(task.most_strips(goal))
    }
}

/// Most worth of the later pieces of a level in so much of a strip.
pub(super) struct Table {
    width: usize,
    most: Vec<i64>,
}

impl Table {
    pub(super) fn of(task: &Task, level: &Level, prices: &[i64]) -> Self {
        let width = usize::try_from(task.capacity).unwrap_or(0) + 1;
        let mut most = vec![0; width * (level.fits.len() + 1)];
        for (at, &(piece, run)) in level.fits.iter().enumerate().rev() {
            let (before, after) = most.split_at_mut((at + 1) * width);
            let (row, next) = (&mut before[at * width..], &after[..width]);
            row.copy_from_slice(next);
            let run = usize::try_from(run).unwrap_or(width).max(1);
            for count in 1..=task.wanted[piece] {
                let worth = prices[piece] * count;
                let taken = run.saturating_mul(usize::try_from(count).unwrap_or(width));
                if taken >= width {
                    break;
                }
                for (place, &rest) in row[taken..].iter_mut().zip(next) {
                    *place = (*place).max(rest + worth);
                }
            }
        }
        Self { width, most }
    }

    /// Most worth of the pieces from place `at` on, in so much of a strip.
    pub(super) fn rest(&self, at: usize, left: i64) -> i64 {
        usize::try_from(left).map_or(0, |left| self.most[at * self.width + left])
    }

    fn best(&self) -> i64 {
        self.most[self.width - 1]
    }

    /// What lies on the strip of most worth.
    fn pieces(&self, task: &Task, level: &Level, prices: &[i64]) -> Vec<(usize, Count)> {
        let mut left = task.capacity;
        let mut pieces = Vec::new();
        for (at, &(piece, run)) in level.fits.iter().enumerate() {
            let worth = self.rest(at, left);
            let fits = (0..=task.wanted[piece]).take_while(|count| count * run <= left);
            let count = fits
                .into_iter()
                .find(|&count| self.rest(at + 1, left - count * run) + count * prices[piece] == worth)
                .unwrap_or(0);
            left -= count * run;
            if count > 0 {
                pieces.push((piece, count));
            }
        }
        pieces
    }
}

#[allow(clippy::cast_precision_loss, reason = "a guide for the search")]
pub(super) fn float(n: i64) -> f64 {
    n as f64
}
