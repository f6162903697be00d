//! Boards from the scenario's geometry alone: where the boxes of the positions lie, which areas one rectangle of
//! cloth can cover, which of them overlap, and which are kept apart.

mod bays;
mod overlaps;
mod positions;

use std::collections::{BTreeMap, BTreeSet};

use patchlay_measure::Length;
use patchlay_scenario::spec::{Scenario, TravelRule};
use patchlay_shape::Turn;
use patchlay_shape::board::Rect;

pub(crate) use bays::Bay;
pub(crate) use overlaps::{Step, shared_sets};
pub(crate) use positions::Position;

use crate::facts::{Cutter, NamedShape, Reader, Rules, Unusable};

/// Most boards judged.
const MOST_BOARDS: usize = 500;
/// Most positions on a board.
const MOST_POSITIONS: usize = 500;
/// Most areas on a board.
const MOST_BAYS: usize = 10_000;

/// A board.
#[derive(Debug)]
pub(crate) struct Board {
    pub(crate) name: String,
    pub(crate) width: Length,
    pub(crate) length: Length,
    pub(crate) ply_limit: u32,
    /// In the order of the file; grids row by row from the leading end, each row from the handle side.
    pub(crate) positions: Vec<Position>,
    /// Sorted by the positions they cover.
    pub(crate) bays: Vec<Bay>,
    /// Sets of areas whose cloth lies on one point: one for every position, then the overlaps beside them.
    pub(crate) points: Vec<Vec<usize>>,
    /// Pairs of areas kept apart, the lower index first.
    pub(crate) apart: BTreeSet<(usize, usize)>,
    index: BTreeMap<Vec<usize>, usize>,
}

impl Board {
    /// The area that covers just these positions.
    pub(crate) fn bay_of(&self, positions: &[usize]) -> Option<usize> {
        self.index.get(positions).copied()
    }

    /// An area as it stands on cards: `1+2`.
    pub(crate) fn bay_name(positions: &[usize]) -> String {
        let labels: Vec<String> =
            positions.iter().take(20).map(|at| at.saturating_add(1).to_string()).collect();
        let more = if positions.len() > 20 { "+…" } else { "" };
        format!("{}{more}", labels.join("+"))
    }
}

/// Reads all boards.
pub(crate) fn boards(
    reader: &Reader,
    spec: &Scenario,
    shapes: &[NamedShape],
    rules: &Rules,
    cutter: &Cutter,
) -> Result<Vec<Board>, Unusable> {
    if spec.boards.len() > MOST_BOARDS {
        return Err(Unusable::new("boards", "there are too many"));
    }
    let names: BTreeSet<&str> = spec.boards.iter().map(|board| board.name.as_str()).collect();
    if names.len() != spec.boards.len() {
        return Err(Unusable::new("boards", "two have the same name"));
    }
    let mut boards: Vec<Board> = spec
        .boards
        .iter()
        .map(|board| one(reader, board, shapes, rules, cutter))
        .collect::<Result<_, _>>()?;
    if let Some(group) = &spec.group {
        for (board, spec) in boards.iter_mut().zip(&spec.boards) {
            let place = format!("board {}", spec.name);
            let highest = highest(reader, &place, group, board.width, board.length)?;
            board.ply_limit = board.ply_limit.min(highest.unwrap_or(board.ply_limit));
        }
    }
    Ok(boards)
}

/// Most plies of the group's cutters that take a board of that size; none where no cutters are listed.
fn highest(
    reader: &Reader,
    place: &str,
    group: &patchlay_scenario::spec::Group,
    width: Length,
    length: Length,
) -> Result<Option<u32>, Unusable> {
    let mut highest = None;
    for cutter in &group.cutters {
        let bed = reader.size("group.cutters.bed_width", &cutter.bed_width)?;
        let longest = reader.size("group.cutters.longest_board", &cutter.longest_board)?;
        if cutter.ply_limit == 0 {
            return Err(Unusable::new("group.cutters.ply_limit", "it is zero"));
        }
        if width <= bed && length <= longest {
            highest = highest.max(Some(cutter.ply_limit));
        }
    }
    if highest.is_none() && !group.cutters.is_empty() {
        return Err(Unusable::new(place, "no cutter of the group takes it"));
    }
    Ok(highest)
}

fn one(
    reader: &Reader,
    spec: &patchlay_scenario::spec::Board,
    shapes: &[NamedShape],
    rules: &Rules,
    cutter: &Cutter,
) -> Result<Board, Unusable> {
    let place = format!("board {}", spec.name);
    let width = reader.size(&place, &spec.width)?;
    let length = reader.size(&place, &spec.length)?;
    if width > cutter.bed_width || length > cutter.longest_board {
        return Err(Unusable::new(place, "it does not fit the cutter"));
    }
    let ply_limit = spec.ply_limit.unwrap_or(cutter.ply_limit).min(cutter.ply_limit);
    if ply_limit == 0 {
        return Err(Unusable::new(place, "its ply limit is zero"));
    }
    let positions = positions::all(reader, &place, spec, shapes)?;
    if positions.len() > MOST_POSITIONS {
        return Err(Unusable::new(place, "it has too many positions"));
    }
    blades_in_place(&place, &positions, width, length)?;
    let bays = bays::all(&positions, rules).ok_or_else(|| Unusable::new(&place, "it has too many areas"))?;
    let points = points(&place, &positions, &bays)?;
    let apart = bays::apart(&bays);
    let index = bays.iter().enumerate().map(|(at, bay)| (bay.positions.clone(), at)).collect();
    Ok(Board { name: spec.name.clone(), width, length, ply_limit, positions, bays, points, apart, index })
}

fn blades_in_place(
    place: &str,
    positions: &[Position],
    width: Length,
    length: Length,
) -> Result<(), Unusable> {
    for (at, position) in positions.iter().enumerate() {
        if !position.rect.inside(width, length) {
            return Err(Unusable::new(place, format!("position {} sticks out of it", at + 1)));
        }
        if let Some(other) = positions[..at].iter().position(|other| overlap(&other.rect, &position.rect)) {
            return Err(Unusable::new(place, format!("positions {} and {} overlap", other + 1, at + 1)));
        }
    }
    Ok(())
}

/// One point for every position, then one for every overlap of cloth that lies on no position that all share.
fn points(place: &str, positions: &[Position], bays: &[Bay]) -> Result<Vec<Vec<usize>>, Unusable> {
    let mut points: Vec<Vec<usize>> = (0..positions.len())
        .map(|at| (0..bays.len()).filter(|&bay| bays[bay].positions.binary_search(&at).is_ok()).collect())
        .collect();
    let cloths: Vec<&Bay> = bays.iter().collect();
    let beside = overlaps::beside_positions(&cloths)
        .ok_or_else(|| Unusable::new(place, "its areas overlap in too many ways"))?;
    points.extend(beside);
    Ok(points)
}

/// Whether two rectangles overlap: [`Rect::overlaps`], quick where both have one turn.
pub(crate) fn overlap(one: &Rect, other: &Rect) -> bool {
    if one.turn == other.turn { one.u.meets(&other.u) && one.v.meets(&other.v) } else { one.overlaps(other) }
}

/// Whether the strip may lie (along, across) an area turned so far: the side nearer the travel counts, at 45 degrees
/// both do.
pub(crate) fn ways(turn: Turn, rule: TravelRule) -> (bool, bool) {
    // How far the area's own long axis is from the travel, 0 to 90 degrees in hundredths.
    let folded = turn.hundredths().rem_euclid(18_000);
    let away = folded.min(18_000 - folded);
    let (along_near, across_near) = (away <= 4_500, away >= 4_500);
    match rule {
        TravelRule::Either => (true, true),
        TravelRule::StripAlongTravel => (along_near, across_near),
        TravelRule::StripAcrossTravel => (across_near, along_near),
    }
}

#[cfg(test)]
mod tests;
