//! Mats: owned, side by side, within the bed, and over every used position.

use std::collections::{BTreeMap, BTreeSet};

use patchlay_measure::Length;
use patchlay_plan::MatUse;
use patchlay_shape::Turn;
use patchlay_shape::board::{Fixed, Rect, Span};

use crate::facts::{Facts, MatKind};
use crate::fault::{FaultCode, Faults};
use crate::supply::Loaded;

/// Judges the mats of every lay-up.
pub(crate) fn judge(facts: &Facts, layups: &[Loaded<'_>], faults: &mut Faults) {
    for layup in layups {
        one(facts, layup, faults);
    }
}

fn one(facts: &Facts, layup: &Loaded<'_>, faults: &mut Faults) {
    let place = format!("lay-up {}", layup.plan.name);
    let mut laid: Vec<Rect> = Vec::new();
    let mut times: BTreeMap<&str, u32> = BTreeMap::new();
    for mat in &layup.plan.mats {
        let Some(kind) = facts.cutter.mats.iter().find(|kind| kind.name == mat.mat) else {
            faults.add(FaultCode::UnknownName, &place, &mat.mat, "a mat of the scenario");
            continue;
        };
        let count = times.entry(&kind.name).or_default();
        *count += 1;
        // Once is enough to say, however many there are.
        if *count == kind.owned.saturating_add(1) {
            faults.add(FaultCode::MatsOwned, &place, format!("{} more than owned", kind.name), kind.owned);
        }
        let rect = ground(kind, mat);
        if laid.len() < 100 && laid.iter().any(|other| other.overlaps(&rect)) {
            faults.add(FaultCode::MatsOverlap, &place, &mat.mat, "side by side");
        }
        laid.push(rect);
    }
    within_bed(facts, layup, &laid, &place, faults);
    over_positions(facts, layup, &laid, &place, faults);
}

/// Where a mat lies on the board.
fn ground(kind: &MatKind, mat: &MatUse) -> Rect {
    let (across, along) = if mat.turned { (kind.length, kind.width) } else { (kind.width, kind.length) };
    let span =
        |low: Length, size: Length| Span::between(Fixed::from_length(low), Fixed::from_length(low + size));
    Rect { turn: Turn::NONE, u: span(mat.x, across), v: span(mat.y, along) }
}

/// Width that board and mats take together.
fn width_of(facts: &Facts, layup: &Loaded<'_>, laid: &[Rect]) -> Length {
    let board = Span::from_zero(facts.boards[layup.board].width);
    laid.iter().fold(board, |all, mat| all.cover(&mat.u)).extent()
}

/// Width that a sound lay-up takes in the bed, board and mats together.
pub(crate) fn width_in_bed(facts: &Facts, layup: &Loaded<'_>) -> Length {
    let kind = |mat: &MatUse| facts.cutter.mats.iter().find(|kind| kind.name == mat.mat);
    let laid: Vec<Rect> =
        layup.plan.mats.iter().filter_map(|mat| kind(mat).map(|kind| ground(kind, mat))).collect();
    width_of(facts, layup, &laid)
}

fn within_bed(facts: &Facts, layup: &Loaded<'_>, laid: &[Rect], place: &str, faults: &mut Faults) {
    let (width, bed) = (width_of(facts, layup, laid), facts.cutter.bed_width);
    if width > bed {
        faults.add(FaultCode::MatTooWide, place, width.units(), format!("at most {}", bed.units()));
    }
}

fn over_positions(facts: &Facts, layup: &Loaded<'_>, laid: &[Rect], place: &str, faults: &mut Faults) {
    let board = &facts.boards[layup.board];
    let used: BTreeSet<usize> =
        layup.loads.iter().flat_map(|load| board.bays[load.bay].positions.iter().copied()).collect();
    for position in used {
        if !laid.iter().any(|mat| mat.covers(&board.positions[position].rect)) {
            let place = format!("{place}, position {}", position + 1);
            faults.add(FaultCode::NotUnderMat, place, "not covered", "wholly under one mat");
        }
    }
}
