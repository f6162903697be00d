//! Fewest different patterns: plans whose strips and pieces must be kept, JSON lines.

use std::path::Path;

use patchlay_optimise::one_width::fewer::{PlanError, Rules, Walk, fewer};
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

/// Solves and prints every case, then the sum of all.
pub(crate) fn run(list: impl Iterator<Item = (String, Plan)>, seconds: f64) {
    let mut total = 0;
    cases::run_orders(list, seconds, |plan, stop| {
        let rules = Rules {
            capacity: plan.max_width,
            least: plan.min_width,
            pieces: plan.max_items,
            kinds: plan.max_distinct,
            times: plan.min_mult,
        };
        let start: Vec<_> = plan.patterns.iter().map(|(times, pattern)| (pattern.clone(), *times)).collect();
        let found = fewer(&rules, &plan.sizes, &start, WALK, stop)?;
        total += found.patterns.len();
        Ok::<_, Vec<PlanError>>(Outcome::of_count(count(found.patterns.len()), count(found.bound)))
    });
    cases::print_total(total);
}

/// The clock is the stop.
pub(crate) const WALK: Walk = Walk { steps: u64::MAX, seed: 1 };

pub(crate) fn count(patterns: usize) -> i64 {
    i64::try_from(patterns).unwrap_or(i64::MAX)
}
