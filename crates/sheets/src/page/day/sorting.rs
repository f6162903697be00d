//! How the stacks of every run go into bags: pass by pass, position by position.

use patchlay_plan::day::{Lot, Part as Share};

use super::Hall;
use crate::day::{patch, run_words};
use crate::fit::{Tenths, Type};
use crate::page::flow::{Block, Part, SHEET_WIDTH};
use crate::page::parts::{Cell, tight_row};

const PASSES: Tenths = 260;
const POSITION: Tenths = 350;
const PATCHES: Tenths = 560;

/// Passes in a row that yield and share out the same.
struct Line<'a> {
    first: u64,
    last: u64,
    lot: &'a Lot,
    positions: Vec<usize>,
}

pub(super) fn parts(hall: &Hall<'_>) -> Vec<Part> {
    let mut parts: Vec<Part> = vec![Part::titled(
        "From stacks to bags",
        vec![Block::text(
            "Lift the stacks out position by position. Patches of one fabric, shape and hand are alike, so it does not matter \
             which of them go where: count off as many as stand here.",
            Type::CARD,
        )],
    )];
    for (at, run) in hall.day.runs.iter().enumerate() {
        let lots: Vec<&Lot> = hall
            .day
            .lots
            .iter()
            .filter(|lot| lot.layup == run.layup && (run.first..run.first + run.passes).contains(&lot.pass))
            .collect();
        let rows: Vec<Block> = lines(&lots).iter().map(row).collect();
        if !rows.is_empty() {
            let title = format!("Run {}: {}", at + 1, run_words(hall.plan, run));
            // A head, because it stands again where the rows go on on another sheet.
            let head = Some(Block::text(&title, Type::STRONG));
            parts.push(Part { title: None, head, blocks: rows, new_sheet: false });
        }
    }
    parts
}

fn row(line: &Line<'_>) -> Block {
    let passes = match line.last - line.first {
        0 => format!("pass {}", line.first),
        _ => format!("passes {} to {}", line.first, line.last),
    };
    let positions: Vec<String> = line.positions.iter().map(|at| (at + 1).to_string()).collect();
    let place = if positions.len() == 1 { "position" } else { "positions" };
    let each = line.positions.len() > 1 || line.last > line.first;
    tight_row(&[
        Cell::text(&passes, Type::SMALL, PASSES),
        Cell::text(&format!("{place} {}", positions.join(", ")), Type::SMALL, POSITION),
        Cell::text(
            &format!("{} {}", line.lot.patches(), patch(&line.lot.fabric, &line.lot.shape, line.lot.hand)),
            Type::SMALL,
            PATCHES,
        ),
        Cell::text(&shares(&line.lot.to, each), Type::SMALL, SHEET_WIDTH - PASSES - POSITION - PATCHES),
    ])
}

/// `all to bag 3`, `4 to bag 3, 2 to bag 7`; `each time` where a line stands for several stacks.
fn shares(to: &[Share], each: bool) -> String {
    let often = if each { ", each time" } else { "" };
    match to {
        [one] => format!("all to bag {}{often}", one.bag),
        several => {
            let parts: Vec<String> =
                several.iter().map(|part| format!("{} to bag {}", part.patches, part.bag)).collect();
            format!("{}{often}", parts.join(", "))
        }
    }
}

/// Lots of a run with equal ones taken together: passes that follow each other, then positions.
fn lines<'a>(lots: &[&'a Lot]) -> Vec<Line<'a>> {
    let mut lines: Vec<Line<'a>> = Vec::new();
    let mut by_place = lots.to_vec();
    by_place.sort_by_key(|lot| (lot.position, &lot.fabric, &lot.shape, lot.hand as u8, lot.pass));
    for lot in by_place {
        match lines.last_mut() {
            Some(line)
                if line.positions[0] == lot.position && alike(line.lot, lot) && line.last + 1 == lot.pass =>
            {
                line.last = lot.pass;
            }
            _ => lines.push(Line { first: lot.pass, last: lot.pass, lot, positions: vec![lot.position] }),
        }
    }
    let mut together: Vec<Line<'a>> = Vec::new();
    for line in lines {
        let same = together
            .iter_mut()
            .find(|known| (known.first, known.last) == (line.first, line.last) && alike(known.lot, line.lot));
        match same {
            Some(known) => known.positions.extend(line.positions),
            None => together.push(line),
        }
    }
    together.sort_by_key(|line| (line.first, line.positions[0]));
    together
}

fn alike(one: &Lot, other: &Lot) -> bool {
    (&one.fabric, &one.shape, one.hand, &one.to) == (&other.fabric, &other.shape, other.hand, &other.to)
}
