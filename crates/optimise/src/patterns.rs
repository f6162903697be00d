//! Pools of strip patterns for the integer programs: the patterns of the linear program's columns, and those that are
//! nearly worth their cost at its prices, found by a bounded enumeration.

use std::collections::BTreeSet;

use crate::model::{Fabric, Model};
use crate::pricing::{Column, best_by_class, best_values};
use crate::solution::Pattern;

/// The enumeration of one fabric's patterns at given values.
pub struct Enumeration<'a> {
    /// The fabric.
    pub fabric: &'a Fabric,
    /// Worth of every ply at the prices.
    pub values: &'a [f64],
    /// Cost of a grid step of strip width.
    pub width_cost: f64,
    /// Cost of a strip.
    pub strip_cost: f64,
}

impl Enumeration<'_> {
    /// Up to `most` patterns of least reduced cost, none above `gap`, with their reduced costs.
    #[must_use]
    #[allow(clippy::cast_precision_loss, reason = "widths are small")]
    pub fn run(&self, gap: f64, most: usize) -> Vec<(f64, Pattern)> {
        let best = best_by_class(self.fabric, self.values);
        let mut found: Vec<(f64, Pattern)> = Vec::new();
        for &width in &self.fabric.widths {
            let cost = self.width_cost * width as f64 + self.strip_cost;
            let table = best_values(self.fabric, &best, width);
            let mut choices: Vec<(usize, i64, f64)> = best
                .iter()
                .filter_map(|&(class, _, value)| {
                    self.fabric.classes[class].run_in(width).map(|run| (class, run, value))
                })
                .collect();
            choices.sort_by(|a, b| (b.2 / b.1 as f64).total_cmp(&(a.2 / a.1 as f64)).then(a.0.cmp(&b.0)));
            let mut search = Search {
                choices: &choices,
                table: &table,
                least: cost - gap,
                budget: 200_000,
                counts: vec![0; choices.len()],
                found: Vec::new(),
                most,
            };
            search.descend(0, self.fabric.capacity, 0.0);
            for (value, counts) in search.found {
                let mut plies: Vec<(usize, i64)> = choices
                    .iter()
                    .zip(counts)
                    .filter(|(_, n)| *n > 0)
                    .map(|(choice, n)| (choice.0, n))
                    .collect();
                plies.sort_unstable();
                found.push((cost - value, Pattern { width, plies }));
            }
        }
        found.sort_by(|a, b| a.0.total_cmp(&b.0).then_with(|| a.1.cmp(&b.1)));
        found.truncate(most);
        found
    }
}

/// Depth-first over the counts of each choice, cut off where even the best filling of what is left is worth too
/// little.
struct Search<'a> {
    choices: &'a [(usize, i64, f64)],
    table: &'a [f64],
    least: f64,
    budget: u32,
    counts: Vec<i64>,
    found: Vec<(f64, Vec<i64>)>,
    most: usize,
}

impl Search<'_> {
    fn descend(&mut self, at: usize, left: i64, worth: f64) {
        if self.budget == 0 {
            return;
        }
        self.budget -= 1;
        let rest = usize::try_from(left).map_or(0.0, |left| self.table.get(left).copied().unwrap_or(0.0));
        if worth + rest < self.least {
            return;
        }
        if at == self.choices.len() {
            if worth >= self.least && worth > 0.0 {
                self.keep(worth);
            }
            return;
        }
        let (_, run, value) = self.choices[at];
        let most = left / run.max(1);
        for count in (0..=most).rev() {
            self.counts[at] = count;
            #[allow(clippy::cast_precision_loss, reason = "counts are small")]
            self.descend(at + 1, left - count * run, worth + value * count as f64);
        }
        self.counts[at] = 0;
    }

    fn keep(&mut self, worth: f64) {
        self.found.push((worth, self.counts.clone()));
        if self.found.len() >= 4 * self.most {
            self.found.sort_by(|a, b| b.0.total_cmp(&a.0).then_with(|| a.1.cmp(&b.1)));
            self.found.truncate(self.most);
            if let Some(last) = self.found.last() {
                self.least = self.least.max(last.0);
            }
        }
    }
}

/// Patterns of the columns, by fabric.
#[must_use]
pub fn of_columns(model: &Model, columns: &[Column]) -> Vec<BTreeSet<Pattern>> {
    let mut pools = vec![BTreeSet::new(); model.fabrics.len()];
    for column in columns {
        let _ = pools[column.fabric].insert(Pattern::of_column(model, column));
    }
    pools
}
