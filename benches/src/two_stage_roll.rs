//! Two-stage cutting from an endless roll, trimming allowed, no turning: strips across the roll, cuts along the strips.
//! Each line of the file gives two cases, strips along `width` (H) and along `height` (V).

use std::path::Path;

use patchlay_optimise::costs::Costs;
use patchlay_optimise::model::{Fabric, Face, Item, Model, Ply};
use serde::Deserialize;

use crate::cases::{Case, json_lines};

#[derive(Deserialize)]
struct Spec {
    name: String,
    width: i64,
    height: i64,
    items: Vec<(i64, i64, u64)>,
}

pub(crate) fn read(file: &Path) -> Result<Vec<Case>, String> {
    let mut cases = Vec::new();
    for spec in json_lines::<Spec>(file)? {
        let along_width: Vec<_> = spec.items.iter().map(|&(w, h, n)| (w, h, n)).collect();
        let along_height: Vec<_> = spec.items.iter().map(|&(w, h, n)| (h, w, n)).collect();
        cases.push(case(format!("{}.H.nonexact.roll", spec.name), spec.width, &along_width));
        cases.push(case(format!("{}.V.nonexact.roll", spec.name), spec.height, &along_height));
    }
    Ok(cases)
}

/// A case of strips alone: (run along the strip, strip width, wanted).
pub(crate) fn case(name: String, capacity: i64, items: &[(i64, i64, u64)]) -> Case {
    let mut fabric = Fabric { capacity, ..Fabric::default() };
    let mut merged: Vec<(i64, i64, u64)> = Vec::new();
    for &(run, width, wanted) in items {
        match merged.iter_mut().find(|known| (known.0, known.1) == (run, width)) {
            Some(known) => known.2 += wanted,
            None => merged.push((run, width, wanted)),
        }
    }
    for (item, &(run, width, wanted)) in merged.iter().enumerate() {
        fabric.items.push(Item { line: None, wanted });
        let class = fabric.class_of(vec![(width, run)]);
        fabric.plies.push(Ply {
            board: None,
            bay: 0,
            face: Face::Up,
            class,
            yields: vec![(item, 1)],
            load: 0,
        });
    }
    fabric.set_widths();
    let mut costs = Costs::zero(1);
    costs.width = vec![1];
    Case {
        name,
        model: Model { grid: 1, fabrics: vec![fabric], boards: Vec::new() },
        costs,
        unit: 1,
        step: 1,
    }
}
