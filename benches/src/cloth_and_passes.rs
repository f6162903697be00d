//! Cases of cloth and passes: `usable_width_in`, `ply_limit`, `pass_cost_in`, `board_positions`, `bays`, `demand`.

use std::collections::BTreeMap;
use std::path::Path;

use patchlay_measure::Length;
use patchlay_optimise::costs::Costs;
use patchlay_optimise::model::{Board, Class, Fabric, Face, Item, Model, Ply, num_gcd};
use serde::{Deserialize, Serialize};

use crate::cases::Case;

/// A case file; lengths in inches.
#[derive(Deserialize, Serialize)]
pub(crate) struct Spec {
    pub(crate) usable_width_in: f64,
    pub(crate) ply_limit: i64,
    /// What a pass costs, in inches of cloth.
    pub(crate) pass_cost_in: f64,
    /// Positions of every board.
    pub(crate) board_positions: Vec<usize>,
    pub(crate) bays: Vec<Bay>,
    /// Patches of every shape, by fabric.
    pub(crate) demand: Vec<BTreeMap<String, u64>>,
}

/// Positions of a board that one rectangle of cloth covers.
#[derive(Deserialize, Serialize)]
pub(crate) struct Bay {
    pub(crate) board: usize,
    pub(crate) positions: Vec<usize>,
    pub(crate) width_in: f64,
    pub(crate) length_in: f64,
    pub(crate) shape: usize,
    pub(crate) patches_per_ply: u32,
}

pub(crate) fn read(dir: &Path) -> Result<Vec<Case>, String> {
    let entries = std::fs::read_dir(dir).map_err(|e| format!("{}: {e}", dir.display()))?;
    let mut paths: Vec<_> = entries.filter_map(|entry| Some(entry.ok()?.path())).collect();
    paths.retain(|path| path.extension().is_some_and(|ext| ext == "json"));
    paths.sort();
    paths
        .iter()
        .map(|path| {
            let text = std::fs::read_to_string(path).map_err(|e| format!("{}: {e}", path.display()))?;
            let spec: Spec = serde_json::from_str(&text).map_err(|e| format!("{}: {e}", path.display()))?;
            let name = path.file_stem().and_then(|stem| stem.to_str()).unwrap_or("case").to_owned();
            Ok(case(name, &spec))
        })
        .collect()
}

/// Inches of a case file in length units; the files use eighths and quarters.
#[allow(clippy::cast_possible_truncation, reason = "sizes of a few hundred inches")]
fn units(inches: f64) -> i64 {
    (inches * Length::from_inches(1).units() as f64).round() as i64
}

/// The case of a file.
pub(crate) fn case(name: String, spec: &Spec) -> Case {
    let sizes = spec.bays.iter().flat_map(|bay| [units(bay.width_in), units(bay.length_in)]);
    let grid = sizes.fold(0, num_gcd).max(1);
    let of_board = |b: usize| spec.bays.iter().filter(move |bay| bay.board == b);
    let boards = spec
        .board_positions
        .iter()
        .enumerate()
        .map(|(b, &positions)| {
            let points = (0..positions)
                .map(|p| {
                    let here = of_board(b).enumerate().filter(|(_, bay)| bay.positions.contains(&p));
                    here.map(|(index, _)| index).collect()
                })
                .collect();
            Board::new(spec.ply_limit, of_board(b).count(), points, Vec::new())
        })
        .collect();
    let fabrics = spec.demand.iter().map(|demand| fabric(spec, demand, grid)).collect();
    let pass = units(spec.pass_cost_in);
    let mut costs = Costs::zero(spec.demand.len());
    costs.width = vec![i128::from(grid); spec.demand.len()];
    costs.pass = i128::from(pass);
    Case {
        name,
        model: Model { grid, fabrics, boards },
        costs,
        unit: i128::from(Length::from_inches(1).units()),
        step: i128::from(num_gcd(grid, pass)),
    }
}

fn fabric(spec: &Spec, demand: &BTreeMap<String, u64>, grid: i64) -> Fabric {
    let mut fabric = Fabric { capacity: units(spec.usable_width_in).div_euclid(grid), ..Fabric::default() };
    let shapes: Vec<usize> = demand.keys().filter_map(|key| key.parse().ok()).collect();
    fabric.items = demand.values().map(|&wanted| Item { line: None, wanted }).collect();
    let mut index = vec![0; spec.board_positions.len()];
    for bay in &spec.bays {
        let here = index[bay.board];
        index[bay.board] += 1;
        let Some(item) = shapes.iter().position(|&shape| shape == bay.shape) else { continue };
        let (a, b) = (units(bay.width_in) / grid, units(bay.length_in) / grid);
        let ways = [(a, b), (b, a)].into_iter().filter(|&(_, run)| run <= fabric.capacity).collect();
        let Some(ways) = Class::undominated(ways) else { continue };
        let class = fabric.class_of(ways);
        fabric.plies.push(Ply {
            board: Some(bay.board),
            bay: here,
            face: Face::Up,
            class,
            yields: vec![(item, bay.patches_per_ply)],
            load: 1,
        });
    }
    fabric.set_widths();
    fabric
}
