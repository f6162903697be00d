//! The strip knapsack: the most valuable strip of one fabric at one width (Gilmore and Gomory, Operations Research
//! 11 (1963)). One dynamic program serves the floating-point column generation and the exact re-pricing.

use std::ops::{Add, Sub};

use crate::model::Fabric;

/// A strip column: its width and the plies it carries.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Column {
    /// Fabric.
    pub fabric: usize,
    /// Strip width, grid steps.
    pub width: i64,
    /// (ply, how many), by ply.
    pub plies: Vec<(usize, i64)>,
}

/// What a value must be able to do: `f64` while searching, `i128` when proving.
pub trait Worth: Copy + PartialOrd + Default + Add<Output = Self> + Sub<Output = Self> {}
impl Worth for f64 {}
impl Worth for i128 {}

/// The best ply of every class at these values: (class, ply, value), only those worth more than nothing.
pub fn best_by_class<W: Worth>(fabric: &Fabric, values: &[W]) -> Vec<(usize, usize, W)> {
    let mut best: Vec<Option<(usize, W)>> = vec![None; fabric.classes.len()];
    for (ply, data) in fabric.plies.iter().enumerate() {
        let value = values[ply];
        if value > W::default() && best[data.class].is_none_or(|(_, known)| value > known) {
            best[data.class] = Some((ply, value));
        }
    }
    best.iter()
        .enumerate()
        .filter_map(|(class, found)| found.map(|(ply, value)| (class, ply, value)))
        .collect()
}

/// Most valuable strip of that width: its value and its plies.
pub fn best_strip<W: Worth>(
    fabric: &Fabric,
    best: &[(usize, usize, W)],
    width: i64,
) -> (W, Vec<(usize, i64)>) {
    let table = Knapsack::fill(&choices(fabric, best, width), fabric.capacity);
    (table.value(), table.chosen())
}

fn choices<W: Worth>(fabric: &Fabric, best: &[(usize, usize, W)], width: i64) -> Vec<(usize, i64, W)> {
    let run = |class: usize| fabric.classes[class].run_in(width);
    best.iter().filter_map(|&(class, ply, value)| run(class).map(|run| (ply, run, value))).collect()
}

/// Table of an unbounded knapsack over the length of a strip.
#[derive(Clone, Debug)]
pub struct Knapsack<W> {
    /// Best value of every length.
    pub values: Vec<W>,
    /// Which choice ends the best filling of this length; `usize::MAX` for an unused step.
    last: Vec<usize>,
    choices: Vec<(usize, i64)>,
}

impl<W: Worth> Knapsack<W> {
    /// From (what, run, value) of every choice.
    pub fn fill(choices: &[(usize, i64, W)], capacity: i64) -> Self {
        let mut choices = choices.to_vec();
        choices.sort_by_key(|choice| choice.1);
        let length = usize::try_from(capacity.max(0)).unwrap_or(0);
        let mut values = vec![W::default(); length + 1];
        let mut last = vec![usize::MAX; length + 1];
        for at in 1..=length {
            let mut here = values[at - 1];
            let mut choice = usize::MAX;
            for (index, &(_, run, worth)) in choices.iter().enumerate() {
                let run = usize::try_from(run).unwrap_or(usize::MAX);
                if run > at {
                    break;
                }
                let with = values[at - run] + worth;
                if with > here {
                    here = with;
                    choice = index;
                }
            }
            values[at] = here;
            last[at] = choice;
        }
        Self { values, last, choices: choices.iter().map(|&(what, run, _)| (what, run)).collect() }
    }

    /// Best value of the whole length.
    pub fn value(&self) -> W {
        self.values.last().copied().unwrap_or_default()
    }

    /// (what, how many) of the best filling of the whole length, in order.
    pub fn chosen(&self) -> Vec<(usize, i64)> {
        let mut counts = vec![0_i64; self.choices.len()];
        let mut at = self.last.len().saturating_sub(1);
        while at > 0 {
            match self.last[at] {
                usize::MAX => at -= 1,
                choice => {
                    counts[choice] += 1;
                    at -= usize::try_from(self.choices[choice].1).unwrap_or(at).max(1);
                }
            }
        }
        let counted = self.choices.iter().zip(counts).filter(|(_, count)| *count > 0);
        let mut chosen: Vec<(usize, i64)> = counted.map(|(choice, count)| (choice.0, count)).collect();
        chosen.sort_unstable();
        chosen
    }
}

/// Best filling of every length up to the strip's capacity, for bounding an enumeration.
pub fn best_values(fabric: &Fabric, best: &[(usize, usize, f64)], width: i64) -> Vec<f64> {
    Knapsack::fill(&choices(fabric, best, width), fabric.capacity).values
}

/// A choice of the bounded knapsack: something that takes `run` of a strip at least `width` wide, at most so often.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Choice {
    /// What it is.
    pub what: usize,
    /// Narrowest strip, grid steps.
    pub width: i64,
    /// Length along the strip, grid steps.
    pub run: i64,
    /// Value of one.
    pub value: f64,
    /// Most of it on one strip.
    pub most: i64,
}

/// Bounded knapsacks of every strip width at once: choices come in by ascending width, so the table after the last
/// choice of a width is the one for strips of that width. Counts are split into powers of two (Martello and Toth,
/// Knapsack Problems (1990), section 3.2). A thing with two ways round counts against `most` in each of them alone.
#[derive(Clone, Debug)]
pub struct Bounded {
    /// (what, run, how many at once) of every stage.
    stages: Vec<(usize, usize, i64)>,
    /// Whether each stage was taken at each length.
    taken: Vec<Vec<bool>>,
    /// (width, stages of it and of narrower ones, value of the whole length).
    widths: Vec<(i64, usize, f64)>,
}

impl Bounded {
    /// Fills the table.
    #[must_use]
    pub fn fill(choices: &[Choice], capacity: i64) -> Self {
        let mut choices = choices.to_vec();
        choices.sort_by_key(|choice| (choice.width, choice.what));
        let length = usize::try_from(capacity.max(0)).unwrap_or(0);
        let mut values = vec![0.0_f64; length + 1];
        let mut table = Self { stages: Vec::new(), taken: Vec::new(), widths: Vec::new() };
        for (index, choice) in choices.iter().enumerate() {
            let mut left = choice.most.min(capacity / choice.run.max(1));
            let mut at_once = 1;
            while left > 0 {
                let count = left.min(at_once);
                table.stage(choice, count, &mut values);
                left -= count;
                at_once *= 2;
            }
            if choices.get(index + 1).is_none_or(|next| next.width > choice.width) {
                table.widths.push((choice.width, table.stages.len(), values[length]));
            }
        }
        table
    }

    #[allow(clippy::cast_precision_loss, reason = "counts are small")]
    fn stage(&mut self, choice: &Choice, count: i64, values: &mut [f64]) {
        let run = usize::try_from(choice.run * count).unwrap_or(usize::MAX);
        let value = choice.value * count as f64;
        let mut taken = vec![false; values.len()];
        for at in (run..values.len()).rev() {
            let with = values[at - run] + value;
            if with > values[at] + 1e-13 {
                values[at] = with;
                taken[at] = true;
            }
        }
        self.stages.push((choice.what, run, count));
        self.taken.push(taken);
    }

    /// (width, best value) of every width at which a choice begins to fit, ascending.
    pub fn values(&self) -> impl Iterator<Item = (i64, f64)> + '_ {
        self.widths.iter().map(|&(width, _, value)| (width, value))
    }

    /// (what, how many) of the best filling at that width, in order.
    #[must_use]
    pub fn chosen(&self, width: i64) -> Vec<(usize, i64)> {
        let stages = self.widths.iter().rev().find(|of| of.0 <= width).map_or(0, |of| of.1);
        let mut counts = std::collections::BTreeMap::new();
        let mut at = self.taken.first().map_or(0, |taken| taken.len() - 1);
        for stage in (0..stages).rev() {
            if self.taken[stage][at] {
                let (what, run, count) = self.stages[stage];
                *counts.entry(what).or_insert(0) += count;
                at -= run;
            }
        }
        counts.into_iter().collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::search::Random;

    /// Against all counts there are.
    #[test]
    fn bounded_knapsacks_of_all_widths() {
        let mut random = Random::new(3);
        for _ in 0..200 {
            let mut number = |from: i64, n: usize| from + i64::try_from(random.below(n)).expect("small");
            let choices: Vec<Choice> = (0..3)
                .map(|what| {
                    #[allow(clippy::cast_precision_loss, reason = "small")]
                    let value = number(1, 20) as f64;
                    Choice { what, width: number(1, 3), run: number(1, 6), value, most: number(1, 4) }
                })
                .collect();
            let capacity = number(5, 12);
            let table = Bounded::fill(&choices, capacity);
            for (width, value) in table.values() {
                let most = |i: usize| if choices[i].width <= width { choices[i].most } else { 0 };
                let mut best = 0.0_f64;
                for a in 0..=most(0) {
                    for b in 0..=most(1) {
                        for c in 0..=most(2) {
                            let counts = [a, b, c];
                            let run: i64 = counts.iter().zip(&choices).map(|(n, c)| n * c.run).sum();
                            #[allow(clippy::cast_precision_loss, reason = "small")]
                            let worth: f64 =
                                counts.iter().zip(&choices).map(|(n, c)| *n as f64 * c.value).sum();
                            if run <= capacity {
                                best = best.max(worth);
                            }
                        }
                    }
                }
                assert!((best - value).abs() < 1e-9);
                let chosen = table.chosen(width);
                assert!(chosen.iter().all(|&(what, n)| n <= most(what)));
                assert!(chosen.iter().map(|&(what, n)| choices[what].run * n).sum::<i64>() <= capacity);
            }
        }
    }
}
