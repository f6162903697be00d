//! Fewest different patterns: plans whose strips and pieces must be kept, JSON lines.

use std::path::Path;

use patchlay_optimise::one_width::fewer::{Rules, Walk, fewer};
use serde::Deserialize;

use crate::cases::{self, Outcome};

#[derive(Deserialize)]
pub(crate) struct Plan {
    name: String,
    max_width: i64,
    min_width: i64,
    max_items: i64,
    max_distinct: i64,
    min_mult: i64,
    sizes: Vec<i64>,
    patterns: Vec<(i64, Vec<(usize, i64)>)>,
}

pub(crate) fn read(path: &Path) -> Result<Vec<(String, Plan)>, String> {
    Ok(cases::json_lines::<Plan>(path)?.into_iter().map(|plan| (plan.name.clone(), plan)).collect())
}

/// Solves and prints every case, then the sum.
pub(crate) fn run(list: impl Iterator<Item = (String, Plan)>, seconds: f64) {
    let mut total = 0;
    cases::run_orders(list, seconds, |plan, stop| {
        let rules = Rules { capacity: plan.max_width, least: plan.min_width, pieces: plan.max_items, kinds: plan.max_distinct, times: plan.min_mult };
        let start: Vec<_> = plan.patterns.iter().map(|(times, pattern)| (pattern.clone(), *times)).collect();
        let found = fewer(&rules, &plan.sizes, &start, Walk { steps: u64::MAX, seed: 1 }, stop);
        total += found.len();
        Ok::<_, Vec<String>>(Outcome::of_count(found.len() as i64, 0))
    });
    println!("total,{total}");
}
