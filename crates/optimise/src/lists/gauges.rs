//! What plans are measured by: the load of sets of points together, one of every board of some, each ply lying where it
//! loads them least. A pass of a board takes a full load for each point of its set, so every measure says how many passes
//! the boards make at least. Where plies may lie on several boards, only the passes of these together say so.

use crate::kinds::{Kinds, Slot};
use crate::model::{Model, num_lcm};

/// Most points of a board of which all sets are looked at; beyond that, single points and all of them.
const MOST_POINTS: usize = 6;
/// Most choices of a set of every board; beyond that, only all their points.
const MOST_CHOICES: usize = 1_000;

/// Sets of points of some boards.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Gauge {
    pub(super) boards: Vec<usize>,
    /// What a pass of any of them takes.
    full: i64,
    /// What a ply of every group adds.
    pub(super) loads: Vec<i64>,
}

impl Gauge {
    /// Of so many boards and a set of each; what a pass of each takes is brought to the same.
    fn of(model: &Model, kinds: &Kinds, boards: &[usize], sets: &[&Vec<usize>]) -> Self {
        let of_board = |(&board, set): (&usize, &&Vec<usize>)| {
            model.boards[board].full * i64::try_from(set.len()).unwrap_or(1)
        };
        let fulls: Vec<i64> = boards.iter().zip(sets).map(of_board).collect();
        let full = fulls.iter().copied().fold(1, num_lcm);
        let in_slot = |slot: &Slot| {
            let Some(at) = boards.iter().position(|&board| board == slot.board) else { return 0 };
            let points = &model.boards[slot.board].bay_points[slot.bay];
            let loaded = points.iter().filter(|point| sets[at].contains(point)).count();
            slot.load * i64::try_from(loaded).unwrap_or(0) * (full / fulls[at])
        };
        let loads = kinds.groups.iter().map(|slots| slots.iter().map(in_slot).min().unwrap_or(0)).collect();
        Self { boards: boards.to_vec(), full, loads }
    }

    /// Whether it never asks for more passes than another gauge of the same boards.
    fn is_within(&self, other: &Self) -> bool {
        let loads = self.loads.iter().zip(&other.loads);
        self.boards == other.boards && loads.into_iter().all(|(one, of)| one * other.full <= of * self.full)
    }

    /// Passes of its boards for so much of it.
    pub(super) fn passes(&self, load: i64) -> i64 {
        -(-load).div_euclid(self.full)
    }
}

/// The gauges of a model, none that another makes needless: of every board, and of boards that share plies.
pub(super) fn of(model: &Model, kinds: &Kinds) -> Vec<Gauge> {
    let alone = (0..model.boards.len()).map(|board| vec![board]);
    let together = shared(model.boards.len(), kinds).into_iter().filter(|boards| boards.len() > 1);
    let mut kept: Vec<Gauge> = Vec::new();
    for boards in alone.chain(together) {
        for sets in choices(model, &boards) {
            let gauge = Gauge::of(model, kinds, &boards, &sets.iter().collect::<Vec<_>>());
            if gauge.loads.iter().all(|&load| load == 0) || kept.iter().any(|known| gauge.is_within(known)) {
                continue;
            }
            kept.retain(|known| !known.is_within(&gauge));
            kept.push(gauge);
        }
    }
    kept
}

/// Boards by what ties them: plies that may lie on one or the other.
fn shared(boards: usize, kinds: &Kinds) -> Vec<Vec<usize>> {
    let mut parts: Vec<Vec<usize>> = (0..boards).map(|board| vec![board]).collect();
    for slots in &kinds.groups {
        let tied = |part: &Vec<usize>| slots.iter().any(|slot| part.contains(&slot.board));
        let (mut one, rest): (Vec<_>, Vec<_>) = parts.into_iter().partition(tied);
        let mut all: Vec<usize> = one.drain(..).flatten().collect();
        all.sort_unstable();
        parts = rest;
        parts.push(all);
    }
    parts.retain(|part| !part.is_empty());
    parts.sort();
    parts
}

/// A set of points of every board, in all choices if they are not too many.
fn choices(model: &Model, boards: &[usize]) -> Vec<Vec<Vec<usize>>> {
    let points = |board: &usize| model.boards[*board].points.len();
    let of_board: Vec<Vec<Vec<usize>>> = boards.iter().map(|board| sets(points(board))).collect();
    let all = of_board.iter().try_fold(1_usize, |all, sets| all.checked_mul(sets.len()));
    if boards.len() > 1 && all.is_none_or(|all| all > MOST_CHOICES) {
        return vec![boards.iter().map(|board| (0..points(board)).collect()).collect()];
    }
    let add = |known: Vec<Vec<Vec<usize>>>, sets: &Vec<Vec<usize>>| {
        let with = |known: &Vec<Vec<usize>>| {
            let known = known.clone();
            sets.iter().map(move |set| known.iter().cloned().chain([set.clone()]).collect())
        };
        known.iter().flat_map(with).collect()
    };
    of_board.iter().fold(vec![Vec::new()], add)
}

fn sets(points: usize) -> Vec<Vec<usize>> {
    if points > MOST_POINTS {
        return (0..points).map(|point| vec![point]).chain([(0..points).collect()]).collect();
    }
    let chosen = |set: usize| (0..points).filter(|point| set >> point & 1 == 1).collect();
    (1..1_usize << points).map(chosen).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::Board;

    /// By hand: two boards of one and two positions share squares, three plies each; the smaller has a bay for a larger
    /// piece as well. A square is a third of a pass of the first or a sixth of the second, a sixth at least.
    #[test]
    fn boards_that_share_plies_are_measured_together() {
        let boards = vec![
            Board::new(3, 2, vec![vec![0, 1]], Vec::new()),
            Board::new(3, 2, vec![vec![0], vec![1]], Vec::new()),
        ];
        let model = Model { grid: 1, fabrics: Vec::new(), boards };
        let slot = |board, bay| Slot { board, bay, load: 1 };
        let groups = vec![vec![slot(0, 0), slot(1, 0), slot(1, 1)], vec![slot(0, 1)]];
        let kinds = Kinds { of: Vec::new(), groups };
        let found = of(&model, &kinds);
        assert_eq!(found.len(), 2);
        let (alone, both) = (&found[0], &found[1]);
        assert_eq!((&alone.boards, &alone.loads, alone.passes(4)), (&vec![0], &vec![0, 1], 2));
        assert_eq!((&both.boards, &both.loads), (&vec![0, 1], &vec![1, 2]));
        assert_eq!((both.passes(6), both.passes(7)), (1, 2));
    }
}
