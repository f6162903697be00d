//! Fewest rolls and then fewest different patterns: JSON lines of a capacity and items. Two lines a case, `rolls` and
//! `patterns`; the patterns are those of the rolls found.

use std::path::Path;

use patchlay_optimise::one_width::fewer::{Rules, fewer};
use patchlay_optimise::one_width::{Order, Reach, solve};
use serde::Deserialize;

use crate::cases::{self, Outcome};
use crate::pattern_reduction::{WALK, count};

#[derive(Deserialize)]
struct Line {
    name: String,
    capacity: i64,
    items: Vec<(i64, i64)>,
}

/// What a line asks.
#[derive(Clone, Copy)]
enum Ask {
    Rolls,
    Patterns,
}

/// An order and what is asked of it.
pub(crate) struct Case {
    order: Order,
    ask: Ask,
}

pub(crate) fn read(path: &Path) -> Result<Vec<(String, Case)>, String> {
    let lines: Vec<Line> = cases::json_lines(path)?;
    let each = lines.into_iter().flat_map(|line| {
        [("rolls", Ask::Rolls), ("patterns", Ask::Patterns)].map(|(what, ask)| {
            let order = Order { capacity: line.capacity, lengths: line.items.clone() };
            (format!("{}.{what}", line.name), Case { order, ask })
        })
    });
    Ok(each.collect())
}

/// Solves and prints every case.
pub(crate) fn run(list: impl Iterator<Item = (String, Case)>, seconds: f64) {
    cases::run_orders(list, seconds, |Case { order, ask }, stop| {
        let answer = solve(order, Reach::default(), stop).map_err(texts)?;
        if matches!(ask, Ask::Rolls) {
            return Ok(Outcome::of_count(answer.count(), answer.bound));
        }
        let sizes: Vec<i64> = order.lengths.iter().map(|of| of.0).collect();
        let most = i64::MAX;
        let rules = Rules { capacity: order.capacity, least: 0, pieces: most, kinds: most, times: 1 };
        let found = fewer(&rules, &sizes, &answer.strips, WALK, stop).map_err(texts)?;
        Ok::<_, Vec<String>>(Outcome::of_count(count(found.patterns.len()), count(found.bound)))
    });
}

fn texts<E: ToString>(wrong: Vec<E>) -> Vec<String> {
    wrong.iter().map(ToString::to_string).collect()
}
