//! One-dimensional cutting stock: line 1 item types, line 2 capacity, then `size demand` lines.

use std::path::Path;

use patchlay_optimise::one_width::{Order, OrderError, Reach, solve};

use crate::cases::{self, Outcome};

pub(crate) fn read(dir: &Path) -> Result<Vec<(String, Order)>, String> {
    let entries = std::fs::read_dir(dir).map_err(|e| format!("{}: {e}", dir.display()))?;
    let mut paths: Vec<_> = entries.filter_map(|entry| Some(entry.ok()?.path())).collect();
    paths.retain(|path| path.extension().is_some_and(|ext| ext == "csp"));
    paths.sort();
    paths
        .iter()
        .map(|path| {
            let text = std::fs::read_to_string(path).map_err(|e| format!("{}: {e}", path.display()))?;
            let numbers: Option<Vec<i64>> = text.split_whitespace().map(|word| word.parse().ok()).collect();
            let numbers = numbers.filter(|list| list.len() >= 2 && list.len() % 2 == 0);
            let numbers = numbers.ok_or_else(|| format!("{}: not a cutting stock case", path.display()))?;
            let lengths = numbers[2..].chunks(2).map(|pair| (pair[0], pair[1])).collect();
            let name = path.file_stem().and_then(|stem| stem.to_str()).unwrap_or("case").to_owned();
            Ok((name, Order { capacity: numbers[1], lengths }))
        })
        .collect()
}

/// Solves and prints every case.
pub(crate) fn run(list: impl Iterator<Item = (String, Order)>, seconds: f64) {
    cases::run_orders(list, seconds, |order, stop| {
        let answer = solve(order, Reach::default(), stop)?;
        Ok::<_, Vec<OrderError>>(Outcome::of_count(answer.count(), answer.bound))
    });
}
