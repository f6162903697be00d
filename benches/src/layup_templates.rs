//! Fewest pressings of few templates: JSON lines of places and pieces wanted, each case with one template and more.

use std::path::Path;

use patchlay_optimise::templates::{Order, OrderError, Reach, solve};
use serde::Deserialize;

use crate::cases::{self, Outcome};

/// Most templates of a case.
const MOST: usize = 4;

#[derive(Deserialize)]
struct Line {
    name: String,
    slots: i64,
    demand: Vec<i64>,
}

pub(crate) fn read(path: &Path) -> Result<Vec<(String, Order)>, String> {
    let lines: Vec<Line> = cases::json_lines(path)?;
    // Fewer templates than hold every design once are no case.
    let fewest = |line: &Line| line.demand.len().div_ceil(usize::try_from(line.slots).unwrap_or(1).max(1));
    let each = lines.into_iter().flat_map(|line| {
        (fewest(&line)..=MOST).map(move |templates| {
            let order = Order { places: line.slots, wanted: line.demand.clone(), templates };
            (format!("{}.t{templates}", line.name), order)
        })
    });
    Ok(each.collect())
}

/// Solves and prints every case.
pub(crate) fn run(list: impl Iterator<Item = (String, Order)>, seconds: f64) {
    cases::run_orders(list, seconds, |order, stop| {
        let answer = solve(order, Reach::default(), stop)?;
        Ok::<_, Vec<OrderError>>(Outcome::of_count(answer.pressings(), answer.bound))
    });
}
