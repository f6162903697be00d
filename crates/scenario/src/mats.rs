//! Which mats cover the used positions of a board, and where they lie.

use patchlay_measure::Length;
use patchlay_shape::Turn;

use crate::job::{Board, Cutter, Mat, PositionId};

/// A mat on a board.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct MatPlace {
    /// Index into [`Cutter::mats`].
    pub mat: usize,
    /// Its handle-side edge on the board; negative where it reaches past the board.
    pub x: Length,
    /// Its leading edge on the board; negative where it reaches past the board.
    pub y: Length,
    /// Laid with its length across the travel.
    pub turned: bool,
}

/// The part of a board that a position's box takes up, square to the board.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Ground {
    low_x: Length,
    high_x: Length,
    low_y: Length,
    high_y: Length,
}

/// How much has to be covered: across and along the travel.
pub(crate) fn needed(board: &Board) -> (Length, Length) {
    let all: Vec<PositionId> = (0..board.positions.len()).collect();
    hull(&grounds(board, &all))
        .map_or((Length::ZERO, Length::ZERO), |hull| (hull.high_x - hull.low_x, hull.high_y - hull.low_y))
}

/// Chooses mats for a board of which some positions are used: the smallest single mat that covers their boxes, else
/// the fewest (and of those the smallest) that do so one behind the other along the travel, each box wholly under
/// one of them. `None` if the mats owned do not cover them.
///
/// Mats may be turned by a quarter. A mat, and a row of mats, may reach past the board, but together with the board
/// no further than the bed is wide and the longest board is long. The same board and positions always get the same
/// mats.
#[must_use]
pub fn choose_mats(cutter: &Cutter, board: &Board, used: &[PositionId]) -> Option<Vec<MatPlace>> {
    let grounds = grounds(board, used);
    if grounds.is_empty() {
        return Some(Vec::new());
    }
    single(cutter, board, &grounds).map(|mat| vec![mat]).or_else(|| several(cutter, board, &grounds)).or_else(
        || {
            // Mats that cover the whole board cover any part of it.
            let all: Vec<PositionId> = (0..board.positions.len()).collect();
            if all.len() == used.len() {
                return None;
            }
            let mats = choose_mats(cutter, board, &all)?;
            Some(
                mats.into_iter()
                    .filter(|mat| grounds.iter().any(|ground| covers(cutter, mat, ground)))
                    .collect(),
            )
        },
    )
}

fn grounds(board: &Board, used: &[PositionId]) -> Vec<Ground> {
    let ground = |at: &PositionId| {
        let rect = board.positions.get(*at)?.place.rect().seen_from(Turn::NONE);
        Some(Ground {
            low_x: rect.u.low.rounded_down(),
            high_x: rect.u.high.rounded_up(),
            low_y: rect.v.low.rounded_down(),
            high_y: rect.v.high.rounded_up(),
        })
    };
    used.iter().filter_map(ground).collect()
}

fn hull(grounds: &[Ground]) -> Option<Ground> {
    grounds.iter().copied().reduce(|a, b| Ground {
        low_x: a.low_x.min(b.low_x),
        high_x: a.high_x.max(b.high_x),
        low_y: a.low_y.min(b.low_y),
        high_y: a.high_y.max(b.high_y),
    })
}

fn covers(cutter: &Cutter, place: &MatPlace, ground: &Ground) -> bool {
    let (across, along) = size(&cutter.mats[place.mat], place.turned);
    place.x <= ground.low_x
        && ground.high_x <= place.x + across
        && place.y <= ground.low_y
        && ground.high_y <= place.y + along
}

/// Across and along the travel.
fn size(mat: &Mat, turned: bool) -> (Length, Length) {
    if turned { (mat.length, mat.width) } else { (mat.width, mat.length) }
}

/// Every way to lay one mat within the bed, smallest mat first.
fn ways(cutter: &Cutter) -> Vec<(usize, bool, Length, Length)> {
    let mut ways = Vec::new();
    for (at, mat) in cutter.mats.iter().enumerate() {
        for turned in [false, true] {
            let (across, along) = size(mat, turned);
            let same = turned && mat.width == mat.length;
            if !same && across <= cutter.bed_width && along <= cutter.longest_board {
                ways.push((at, turned, across, along));
            }
        }
    }
    ways.sort_by_key(|(at, turned, across, along)| (*across * *along, *at, *turned));
    ways
}

/// Centred on the board as far as the ground to be covered allows.
fn centred(board: Length, mat: Length, low: Length, high: Length) -> Length {
    (board - mat).half_floor().max(high - mat).min(low)
}

fn single(cutter: &Cutter, board: &Board, grounds: &[Ground]) -> Option<MatPlace> {
    let hull = hull(grounds)?;
    let fits = |(_, _, across, along): &(usize, bool, Length, Length)| {
        hull.high_x - hull.low_x <= *across && hull.high_y - hull.low_y <= *along
    };
    ways(cutter).into_iter().find(fits).map(|(mat, turned, across, along)| MatPlace {
        mat,
        x: centred(board.width, across, hull.low_x, hull.high_x),
        y: centred(board.length, along, hull.low_y, hull.high_y),
        turned,
    })
}

/// The largest number of mats laid one behind the other.
const MOST_IN_ROW: usize = 6;
/// Most steps of the search for a row of mats.
const MOST_STEPS: usize = 50_000;

fn several(cutter: &Cutter, board: &Board, grounds: &[Ground]) -> Option<Vec<MatPlace>> {
    let spare = (cutter.longest_board - board.length).max(Length::ZERO);
    // Within the board if possible, else past the trailing end, the leading end, or both alike.
    let starts = [Length::ZERO, -spare, -spare.half_floor()];
    let windows = std::iter::once((Length::ZERO, board.length))
        .chain(starts.into_iter().map(|start| (start, start + board.length.max(cutter.longest_board))));
    windows.into_iter().find_map(|(from, to)| Row::new(cutter, board, grounds, to).search(from))
}

/// A search for mats one behind the other. The boxes, sorted along the travel, are cut into runs so that every box
/// of a run ends before any of the next begins; each run gets one mat.
struct Row<'c> {
    cutter: &'c Cutter,
    board: &'c Board,
    /// For each run that can stand between two cuts: its boxes' ground, and where the next begins.
    grounds: Vec<Ground>,
    cuts: Vec<usize>,
    end: Length,
    steps: usize,
    best: Option<(usize, i128, Vec<MatPlace>)>,
}

impl<'c> Row<'c> {
    fn new(cutter: &'c Cutter, board: &'c Board, grounds: &[Ground], end: Length) -> Self {
        let mut grounds = grounds.to_vec();
        grounds.sort_by_key(|ground| (ground.low_y, ground.high_y, ground.low_x, ground.high_x));
        let mut cuts = Vec::new();
        let mut reach = None;
        for (at, ground) in grounds.iter().enumerate() {
            if reach.is_some_and(|reach| reach <= ground.low_y) {
                cuts.push(at);
            }
            reach = reach.max(Some(ground.high_y));
        }
        cuts.push(grounds.len());
        Self { cutter, board, grounds, cuts, end, steps: 0, best: None }
    }

    fn search(mut self, from: Length) -> Option<Vec<MatPlace>> {
        self.extend(0, from, 0, &mut Vec::new());
        self.best.map(|(_, _, mats)| mats)
    }

    fn extend(&mut self, first: usize, from: Length, area: i128, laid: &mut Vec<MatPlace>) {
        if first == self.grounds.len() {
            let found = (laid.len(), area);
            if self.best.as_ref().is_none_or(|best| found < (best.0, best.1)) {
                self.best = Some((found.0, found.1, laid.clone()));
            }
            return;
        }
        let most = self.best.as_ref().map_or(MOST_IN_ROW, |best| best.0);
        if laid.len() >= most {
            return;
        }
        let later: Vec<usize> = self.cuts.iter().copied().filter(|cut| *cut > first).rev().collect();
        for cut in later {
            for (mat, turned, across, along) in ways(self.cutter) {
                self.steps += 1;
                if self.steps > MOST_STEPS {
                    return;
                }
                let owned = self.cutter.mats[mat].owned as usize;
                if laid.iter().filter(|place| place.mat == mat).count() >= owned {
                    continue;
                }
                if let Some((x, y)) = self.lay(first, cut, across, along, from) {
                    laid.push(MatPlace { mat, x, y, turned });
                    self.extend(cut, y + along, area + (across * along).units(), laid);
                    laid.pop();
                }
            }
        }
    }

    /// The place nearest the leading end where a mat covers the boxes from `first` up to `cut`, no earlier than
    /// `from`, and leaves the next box free.
    fn lay(
        &self,
        first: usize,
        cut: usize,
        across: Length,
        along: Length,
        from: Length,
    ) -> Option<(Length, Length)> {
        let hull = hull(&self.grounds[first..cut])?;
        let y = from.max(hull.high_y - along);
        let next = self.grounds.get(cut).map_or(self.end, |next| next.low_y.min(self.end));
        let fits = hull.high_x - hull.low_x <= across && y <= hull.low_y && y + along <= next;
        fits.then(|| (centred(self.board.width, across, hull.low_x, hull.high_x), y))
    }
}
