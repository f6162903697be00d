//! One-dimensional cutting stock: line 1 item types, line 2 capacity, then `size demand` lines.

use std::path::Path;

use crate::cases::Case;

pub(crate) fn read(dir: &Path) -> Result<Vec<Case>, String> {
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
            let items: Vec<(i64, i64, u64)> = numbers[2..]
                .chunks(2)
                .map(|pair| (pair[0], 1, u64::try_from(pair[1]).unwrap_or(0)))
                .collect();
            let name = path.file_stem().and_then(|stem| stem.to_str()).unwrap_or("case").to_owned();
            Ok(crate::two_stage_roll::case(name, numbers[1], &items))
        })
        .collect()
}
