//! Judges the boards: that they go through the cutter, that blades lie on them and apart, that mats cover them.

use patchlay_measure::UnitSystem;
use patchlay_shape::Shape;

use super::cutter::{MOST_PLIES, Rules};
use super::judge::{Judge, Names, Range};
use super::positions::{Grid, grid};
use crate::bays::{self, Derived, Steps};
use crate::job::{Board, Cutter, Position};
use crate::mats::{choose_mats, needed};
use crate::path::Path;
use crate::problem::Code;
use crate::read::most;
use crate::spec;

/// What a board is judged against.
pub(crate) struct Against<'a, 's> {
    pub(crate) cutter: Option<&'a Cutter>,
    pub(crate) rules: Option<Rules>,
    pub(crate) shapes: &'a [Option<Shape>],
    pub(crate) shape_names: &'a Names<'s>,
}

/// Judges all boards of a list; `None` for one that cannot be used.
pub(crate) fn boards(
    judge: &mut Judge<'_, '_>,
    list: &'static str,
    boards: &[spec::Board],
    against: &Against<'_, '_>,
) -> Vec<Option<Board>> {
    let list = Path::of(list);
    judge.names(&list, "board", boards.iter().map(|board| board.name.as_str()));
    boards.iter().enumerate().map(|(at, board)| one(judge, &list.element(at), board, against)).collect()
}

/// A board that is thought of may not be called like one that is owned.
pub(crate) fn told_apart(judge: &mut Judge<'_, '_>, owned: &[spec::Board], thought_of: &[spec::Board]) {
    for (at, board) in thought_of.iter().enumerate() {
        if let Some(first) = owned.iter().position(|known| known.name == board.name) {
            let path = Path::of("could_have").element(at).field("name");
            let first = Path::of("boards").element(first);
            let problem = format!("another board has the same name, {first}");
            judge.report.add(Code::DuplicateName, &path, problem, "give each its own name");
        }
    }
}

fn one(
    judge: &mut Judge<'_, '_>,
    path: &Path,
    spec: &spec::Board,
    against: &Against<'_, '_>,
) -> Option<Board> {
    let width = judge.length(&path.field("width"), &spec.width, Range::SIZE);
    let length = judge.length(&path.field("length"), &spec.length, Range::SIZE);
    if let Some(cutter) = against.cutter {
        let wide = width.filter(|width| *width > cutter.bed_width);
        if let Some(width) = wide {
            let problem =
                format!("{} is wider than the bed, {}", judge.show(width), judge.show(cutter.bed_width));
            judge.report.add(
                Code::BoardTooWide,
                &path.field("width"),
                problem,
                "check which side leads into the rollers",
            );
        }
        let long = length.filter(|length| *length > cutter.longest_board);
        if let Some(length) = long {
            let problem = format!(
                "{} is longer than the longest board, {}",
                judge.show(length),
                judge.show(cutter.longest_board)
            );
            judge.report.add(
                Code::BoardTooLong,
                &path.field("length"),
                problem,
                "check the size, or `longest_board`",
            );
        }
    }
    let ply_limit = match spec.ply_limit {
        Some(limit) => judge.count(&path.field("ply_limit"), limit, 1, MOST_PLIES),
        None => judge.report.readable(&path.field("ply_limit")).then_some(MOST_PLIES),
    };
    let positions = positions(judge, &path.field("positions"), &spec.positions, against);
    let mut board = Board {
        name: spec.name.clone(),
        width: width?,
        length: length?,
        ply_limit: ply_limit?,
        positions: Vec::new(),
        bays: Vec::new(),
        points: Vec::new(),
        apart: Vec::new(),
    };
    let on_board = inside(judge, path, &board, &positions);
    let clear = no_overlaps(judge, path, &positions);
    let complete = positions.iter().all(Option::is_some);
    if !on_board || !clear || !complete {
        return None;
    }
    let (list, entries): (Vec<Position>, Vec<usize>) = positions.into_iter().flatten().unzip();
    drop(entries);
    board.positions = list;
    let (cutter, rules) = (against.cutter?, against.rules?);
    board.ply_limit = board.ply_limit.min(cutter.ply_limit);
    let covered = mats(judge, path, cutter, &board);
    let derived = derive(judge, path, &board.positions, rules)?;
    covered.then_some(Board { bays: derived.bays, points: derived.points, apart: derived.apart, ..board })
}

/// A position and the entry of the file that it comes from; `None` for an entry that cannot be used.
type Placed = Option<(Position, usize)>;

fn positions(
    judge: &mut Judge<'_, '_>,
    list: &Path,
    specs: &[spec::Positions],
    against: &Against<'_, '_>,
) -> Vec<Placed> {
    let mut positions: Vec<Placed> = Vec::new();
    for (entry, spec) in specs.iter().enumerate() {
        let Some(grid) = grid(judge, &list.element(entry), spec, against.shape_names, against.shapes) else {
            positions.push(None);
            continue;
        };
        if positions.len() + grid.places.len() > most::POSITIONS {
            let problem = "with these, the board has more positions than this program takes";
            let hint = format!("give at most {} on a board", most::POSITIONS);
            judge.report.add(Code::TooMany, &list.element(entry), problem, hint);
            positions.push(None);
            break;
        }
        for position in place(&grid, positions.len()) {
            positions.push(Some((position, entry)));
        }
    }
    if specs.is_empty() {
        positions.push(None);
    }
    positions
}

fn place(grid: &Grid, before: usize) -> Vec<Position> {
    let one = |(at, place): (usize, &patchlay_shape::board::PlacedBox)| Position {
        label: (before + at + 1).to_string(),
        shape: grid.shape,
        drawn: grid.drawn,
        mirrored: grid.mirrored,
        place: *place,
        arranged: grid.arranged.clone(),
        quarter_turns: grid.quarter_turns,
    };
    grid.places.iter().enumerate().map(one).collect()
}

/// Names every entry whose blades stick out, once.
fn inside(judge: &mut Judge<'_, '_>, path: &Path, board: &Board, positions: &[Placed]) -> bool {
    let mut well = true;
    let mut named = None;
    for (position, entry) in positions.iter().flatten() {
        if position.place.inside(board.width, board.length) || named == Some(*entry) {
            continue;
        }
        well = false;
        named = Some(*entry);
        let problem = format!(
            "the blades of position {} reach past the board, {} x {}",
            position.label,
            judge.show(board.width),
            judge.show(board.length)
        );
        let hint = "check `at`, the gaps and the turn; the box counts with its seam allowance";
        judge.report.add(Code::OutsideBoard, &path.field("positions").element(*entry), problem, hint);
    }
    well
}

/// Names every pair of entries whose blades overlap, once.
fn no_overlaps(judge: &mut Judge<'_, '_>, path: &Path, positions: &[Placed]) -> bool {
    let rects: Vec<_> = positions
        .iter()
        .flatten()
        .map(|(position, entry)| (position, *entry, position.place.rect()))
        .collect();
    let mut named = std::collections::BTreeSet::new();
    for (at, (position, entry, rect)) in rects.iter().enumerate() {
        for (other, other_entry, other_rect) in &rects[..at] {
            if named.contains(&(*other_entry, *entry)) || !rect.overlaps(other_rect) {
                continue;
            }
            named.insert((*other_entry, *entry));
            let problem = format!("the boxes of positions {} and {} overlap", other.label, position.label);
            let hint = "check `at`, the gaps and the turn; boxes may touch, not overlap";
            judge.report.add(Code::BoxesOverlap, &path.field("positions").element(*entry), problem, hint);
        }
    }
    named.is_empty()
}

fn mats(judge: &mut Judge<'_, '_>, path: &Path, cutter: &Cutter, board: &Board) -> bool {
    let all: Vec<usize> = (0..board.positions.len()).collect();
    if choose_mats(cutter, board, &all).is_some() {
        return true;
    }
    if cutter.mats.is_empty() {
        // Said once, of the empty list, and not again of every board.
        return false;
    }
    let (across, along) = needed(board);
    let problem =
        format!("the mats owned do not cover the blades, {} x {}", judge.show(across), judge.show(along));
    let hint = format!(
        "one mat of at least {} x {}, or several one behind the other, each position wholly under one, within the \
         bed of {}",
        judge.show(across),
        judge.show(along),
        judge.show(cutter.bed_width)
    );
    judge.report.add(Code::MatTooSmall, path, problem, hint);
    false
}

fn derive(judge: &mut Judge<'_, '_>, path: &Path, positions: &[Position], rules: Rules) -> Option<Derived> {
    let units: UnitSystem = judge.units;
    let steps =
        Steps { margin: rules.margin, least_margin: rules.least_margin, ruler_step: rules.ruler_step, units };
    let derived = bays::derive(positions, steps);
    let hint = "leave wider gaps, or give the board fewer positions";
    derived
        .map_err(|bays::TooComplex| {
            let problem = "its positions can be covered together in more ways than can be planned";
            judge.report.add(Code::BoardTooComplex, path, problem, hint);
        })
        .ok()
}
