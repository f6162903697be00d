//! What plans are measured by: the load of a set of a board's points together, every ply lying where it loads them
//! least. A pass takes a full load for each point of the set, so each measure says how many passes the board makes at
//! least.

use crate::kinds::Kinds;
use crate::model::Model;

/// Most points of a board of which all sets are looked at; beyond that, single points and all of them.
const MOST_POINTS: usize = 6;

/// A set of points of a board.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Gauge {
    pub(super) board: usize,
    /// What a pass takes.
    pub(super) full: i64,
    /// What a ply of every group adds.
    pub(super) loads: Vec<i64>,
}

impl Gauge {
    fn of(model: &Model, kinds: &Kinds, board: usize, set: &[usize]) -> Self {
        let data = &model.boards[board];
        let in_slot = |slot: &crate::kinds::Slot| {
            if slot.board != board {
                return 0;
            }
            let loaded = data.bay_points[slot.bay].iter().filter(|point| set.contains(point)).count();
            slot.load * i64::try_from(loaded).unwrap_or(0)
        };
        let loads = kinds.groups.iter().map(|slots| slots.iter().map(in_slot).min().unwrap_or(0)).collect();
        Self { board, full: data.full * i64::try_from(set.len()).unwrap_or(1), loads }
    }

    /// Whether it never asks for more passes than another gauge of the board.
    fn is_within(&self, other: &Self) -> bool {
        let loads = self.loads.iter().zip(&other.loads);
        self.board == other.board && loads.into_iter().all(|(one, of)| one * other.full <= of * self.full)
    }

    /// Passes for so much of it.
    pub(super) fn passes(&self, load: i64) -> i64 {
        -(-load).div_euclid(self.full)
    }
}

/// The gauges of a model, none that another makes needless.
pub(super) fn of(model: &Model, kinds: &Kinds) -> Vec<Gauge> {
    let mut kept: Vec<Gauge> = Vec::new();
    for board in 0..model.boards.len() {
        for set in sets(model.boards[board].points.len()) {
            let gauge = Gauge::of(model, kinds, board, &set);
            if gauge.loads.iter().all(|&load| load == 0) || kept.iter().any(|known| gauge.is_within(known)) {
                continue;
            }
            kept.retain(|known| !known.is_within(&gauge));
            kept.push(gauge);
        }
    }
    kept
}

fn sets(points: usize) -> Vec<Vec<usize>> {
    if points > MOST_POINTS {
        return (0..points).map(|point| vec![point]).chain([(0..points).collect()]).collect();
    }
    let chosen = |set: usize| (0..points).filter(|point| set >> point & 1 == 1).collect();
    (1..1_usize << points).map(chosen).collect()
}
