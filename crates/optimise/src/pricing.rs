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
