//! Lay-ups of one board that follow each other with few changes: stacks change places within a lay-up, among areas that
//! are alike for them, so that what lies in two lay-ups lies in the same area of both.

use std::collections::BTreeMap;

use crate::draft::{Lay, Packed};
use crate::loading::{Item, Loading};
use crate::order::Distances;

/// Times that stacks change places and lay-ups their order in turn.
const MOST_TURNS: usize = 20;

/// What lies in one bay: fabric, class, way round, plies and lowest face of every part, and how many of it.
type Parts = BTreeMap<(usize, usize, usize, u32, bool), i64>;

/// What may lie in a bay.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Content {
    parts: Parts,
    /// Bays in which it may lie.
    bays: Vec<usize>,
    load: i64,
}

/// A lay-up: what lies in each bay, as a place in the list of contents; 0 for nothing.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Row {
    bays: Vec<usize>,
    loading: Loading,
}

/// The lay-ups of a board, and what lies in them.
struct Follow<'a> {
    lay: &'a Lay<'a>,
    board: usize,
    contents: Vec<Content>,
    rows: Vec<Row>,
    /// Ways in which stacks may change places: for every bay where its stack comes to lie.
    moves: Vec<Vec<Option<usize>>>,
}

impl Lay<'_> {
    /// The lay-ups with their stacks placed so that as little as possible changes from one to the next.
    pub(crate) fn followed(&self, packed: &Packed) -> Vec<Loading> {
        let mut follow = Follow::new(self, packed);
        let as_they_are = follow.rows.clone();
        follow.along_the_order();
        let (plain, mut other) = (follow.changes(), follow);
        let first = std::mem::replace(&mut other.rows, as_they_are);
        other.gather();
        other.along_the_order();
        let rows = if other.changes() < plain { other.rows } else { first };
        rows.into_iter().map(|row| row.loading).collect()
    }
}

impl<'a> Follow<'a> {
    fn new(lay: &'a Lay<'a>, packed: &Packed) -> Self {
        let nothing = Content { parts: Parts::new(), bays: Vec::new(), load: 0 };
        let mut follow =
            Self { lay, board: packed.board, contents: vec![nothing], rows: Vec::new(), moves: Vec::new() };
        for loading in &packed.packing.loadings {
            let bays = follow.row(loading, &packed.packing.items);
            follow.rows.push(Row { bays, loading: loading.clone() });
        }
        let mut open: Vec<usize> = follow.contents.iter().flat_map(|content| content.bays.clone()).collect();
        open.sort_unstable();
        open.dedup();
        let pairs = open
            .iter()
            .enumerate()
            .flat_map(|(at, &low)| open[at + 1..].iter().map(move |&high| (low, high)));
        let moves = pairs.flat_map(|(low, high)| {
            [Some(follow.two(low, high)), follow.with_their_positions(low, high)].into_iter().flatten()
        });
        follow.moves = moves.collect();
        follow
    }

    fn row(&mut self, loading: &Loading, items: &[Item]) -> Vec<usize> {
        let count = self.lay.model.boards[self.board].bay_points.len();
        let mut row: Vec<Option<Content>> = vec![None; count];
        for &(index, bay, n) in &loading.loads {
            let item = &items[index];
            let group = &self.lay.groups[item.group];
            let here = row[bay].get_or_insert_with(|| Content {
                parts: Parts::new(),
                bays: group.bays.clone(),
                load: 0,
            });
            let part = (group.fabric, group.class, item.way, item.plies, item.down);
            *here.parts.entry(part).or_default() += n;
            here.bays.retain(|bay| group.bays.contains(bay));
            here.load += group.load * i64::from(item.plies) * n;
        }
        row.into_iter()
            .map(|content| {
                let Some(content) = content else { return 0 };
                self.contents.iter().position(|known| *known == content).unwrap_or_else(|| {
                    self.contents.push(content);
                    self.contents.len() - 1
                })
            })
            .collect()
    }

    /// The order with the fewest changes.
    fn order(&self) -> Vec<usize> {
        self.distances().shortest()
    }

    fn distances(&self) -> Distances {
        let of = |one: &Row| self.rows.iter().map(|other| differing(&one.bays, &other.bays)).collect();
        Distances { between: self.rows.iter().map(of).collect(), first: vec![0; self.rows.len()] }
    }

    /// Fewest changes as the stacks lie now.
    fn changes(&self) -> u64 {
        let distances = self.distances();
        distances.along(&distances.shortest())
    }

    /// Places the stacks of every lay-up as in those before and after it.
    fn along_the_order(&mut self) {
        for _ in 0..MOST_TURNS {
            let order = self.order();
            let mut moved = false;
            for (at, &row) in order.iter().enumerate() {
                let beside = at.checked_sub(1).into_iter().chain([at + 1]);
                let beside: Vec<usize> = beside.filter_map(|at| order.get(at).copied()).collect();
                moved |= self.placed_like(row, &beside);
            }
            if !moved {
                break;
            }
        }
    }

    /// Places the stacks of every lay-up as in all others.
    fn gather(&mut self) {
        for _ in 0..MOST_TURNS {
            let mut moved = false;
            for row in 0..self.rows.len() {
                let others: Vec<usize> = (0..self.rows.len()).filter(|&other| other != row).collect();
                moved |= self.placed_like(row, &others);
            }
            if !moved {
                break;
            }
        }
    }

    /// Lets stacks of a lay-up change places as long as less of it differs from those others; whether any did.
    fn placed_like(&mut self, row: usize, others: &[usize]) -> bool {
        let differs = |rows: &[Row], bays: &[usize]| -> u64 {
            others.iter().map(|&other| differing(bays, &rows[other].bays)).sum()
        };
        let mut known = differs(&self.rows, &self.rows[row].bays);
        let mut any = false;
        let mut again = true;
        while again {
            again = false;
            for moves in &self.moves {
                let Some(moved) = self.moved(&self.rows[row], moves) else { continue };
                let now = differs(&self.rows, &moved.bays);
                if now < known {
                    (known, any, again) = (now, true, true);
                    self.rows[row] = moved;
                }
            }
        }
        any
    }

    /// Only two bays change places. Gives for every bay where its stack comes to lie.
    fn two(&self, low: usize, high: usize) -> Vec<Option<usize>> {
        let count = self.lay.model.boards[self.board].bay_points.len();
        let mut to: Vec<Option<usize>> = (0..count).map(Some).collect();
        to.swap(low, high);
        to
    }

    /// The positions of two bays change places, and with them all bays that cover any of them.
    fn with_their_positions(&self, low: usize, high: usize) -> Option<Vec<Option<usize>>> {
        let bays = &self.lay.job.boards[self.lay.model.boards[self.board].origin].bays;
        let (one, other) = (&bays[low].positions, &bays[high].positions);
        if one.len() != other.len() || one.iter().any(|position| other.contains(position)) {
            return None;
        }
        let turned = |position: &usize| {
            let at = |all: &[usize]| all.iter().position(|known| known == position);
            at(one).map(|at| other[at]).or_else(|| at(other).map(|at| one[at])).unwrap_or(*position)
        };
        let to = bays.iter().map(|bay| {
            let mut positions: Vec<usize> = bay.positions.iter().map(turned).collect();
            positions.sort_unstable();
            bays.iter().position(|bay| bay.positions == positions)
        });
        Some(to.collect())
    }

    /// The lay-up with its stacks moved; `None` if some stack may not lie there.
    fn moved(&self, row: &Row, to: &[Option<usize>]) -> Option<Row> {
        let board = &self.lay.model.boards[self.board];
        let mut bays = vec![0; row.bays.len()];
        for (bay, &content) in row.bays.iter().enumerate().filter(|(_, content)| **content > 0) {
            let target = to[bay]?;
            if !self.contents[content].bays.contains(&target) {
                return None;
            }
            bays[target] = content;
        }
        let load = |point: &Vec<usize>| point.iter().map(|&bay| self.contents[bays[bay]].load).sum::<i64>();
        let full = board.points.iter().any(|point| load(point) > board.full);
        if full || board.apart.iter().any(|&(low, high)| bays[low] > 0 && bays[high] > 0) {
            return None;
        }
        let mut loading = row.loading.clone();
        for load in &mut loading.loads {
            load.1 = to[load.1]?;
        }
        Some(Row { bays, loading })
    }
}

/// Bays whose content differs.
fn differing(one: &[usize], other: &[usize]) -> u64 {
    one.iter().zip(other).filter(|(one, other)| one != other).count() as u64
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draft::worth;
    use crate::loading::Packing;
    use crate::model::Model;
    use crate::solution::Solution;
    use crate::stock::Group;

    const SCENARIO: &str = include_str!("../../../scenarios/twelve-lap-quilts.json");

    /// By hand: the square board's six positions are alike. Two lay-ups have a ply each of four fabrics on one position,
    /// in another order; placed alike all but one position stays as it is, for one fabric differs.
    #[test]
    fn stacks_change_places_until_only_what_differs_differs() {
        let (_, job) = patchlay_scenario::load(SCENARIO).unwrap();
        let model = Model::of_job(&job);
        let solution = Solution::empty(&model);
        let board = job.boards.iter().position(|board| board.name == "square board").unwrap();
        let single = |bay: &usize| job.boards[board].bays[*bay].positions.len() == 1;
        let bays: Vec<usize> = (0..job.boards[board].bays.len()).filter(single).collect();
        assert_eq!(bays.len(), 6);
        let group = |fabric| Group {
            stage: 1,
            board,
            fabric,
            class: 0,
            bays: bays.clone(),
            load: 1,
            limit: 6,
            folding: true,
            alone: false,
            up: 0,
            down: 0,
            by_face: false,
        };
        let groups: Vec<Group> = (0..5).map(group).collect();
        let lay = Lay {
            job: &job,
            model: &model,
            solution: &solution,
            proof: None,
            groups: &groups,
            layup: worth(&job),
            thorough: true,
        };
        let items = (0..5).map(|group| Item { group, way: 0, plies: 1, down: false, count: 1 }).collect();
        let of = |loads: &[(usize, usize)]| Loading {
            times: 1,
            loads: loads.iter().map(|&(item, place)| (item, bays[place], 1)).collect(),
        };
        let one = of(&[(0, 0), (1, 1), (2, 2), (3, 3)]);
        let other = of(&[(3, 0), (0, 1), (1, 4), (4, 5)]);
        let packing = Packing { loadings: vec![one, other], items, ..Packing::default() };
        let placed = lay.followed(&Packed { stage: 1, board, packing });
        let place = |loading: &Loading, item: usize| {
            loading.loads.iter().find(|load| load.0 == item).map(|load| load.1)
        };
        for item in [0, 1, 3] {
            assert_eq!(place(&placed[0], item), place(&placed[1], item), "fabric {item}");
        }
        assert_eq!(place(&placed[0], 2), place(&placed[1], 4), "what differs shares one position");
    }
}
