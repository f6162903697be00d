//! How the stacks of every run go into bags: pass by pass, position by position.

use patchlay_plan::day::{Day, Lot, Part as Share};

use super::Hall;
use crate::day::{patch, run_words};
use crate::fit::{Tenths, Type};
use crate::page::flow::{Block, COLUMN, List, Part, in_columns};
use crate::page::parts::{Cell, tight_row};
use crate::words;

const PASSES: Tenths = 135;
const POSITION: Tenths = 175;
const PATCHES: Tenths = 305;
const TO: Tenths = COLUMN - PASSES - POSITION - PATCHES;

/// Passes in a row that yield and share out the same.
struct Line<'a> {
    first: u64,
    last: u64,
    lot: &'a Lot,
    positions: Vec<usize>,
}

pub(super) fn parts(hall: &Hall<'_>) -> Vec<Part> {
    let mut lists = vec![List {
        head: None,
        blocks: vec![Block::text_in(
            "Lift the stacks out position by position. Patches of one fabric, shape and hand are alike, so it does not matter \
             which of them go where: count off as many as stand here. A line for several passes or positions holds for each \
             pass and each position.",
            Type::BODY,
            COLUMN,
        )],
    }];
    for (at, run) in hall.day.runs.iter().enumerate() {
        let lots: Vec<&Lot> = hall
            .day
            .lots
            .iter()
            .filter(|lot| lot.layup == run.layup && (run.first..run.first + run.passes).contains(&lot.pass))
            .collect();
        let rows: Vec<Block> = lines(&lots).iter().map(|line| row(hall.day, line)).collect();
        if !rows.is_empty() {
            let title = format!("Run {}: {}", at + 1, run_words(hall.plan, run));
            // A head, because it stands again where the rows go on on another sheet.
            let head = Some(Block::text_in(&title, Type::SMALL_STRONG, COLUMN));
            lists.push(List { head, blocks: rows });
        }
    }
    let names = ["pass", "position", "each time", "to"];
    let widths = [PASSES, POSITION, PATCHES, TO];
    let names: Vec<Cell> =
        names.into_iter().zip(widths).map(|(name, width)| Cell::text(name, Type::TINY, width)).collect();
    vec![in_columns("From stacks to bags", Some(&tight_row(&names)), &lists)]
}

fn row(day: &Day, line: &Line<'_>) -> Block {
    let passes = match line.last - line.first {
        0 => line.first.to_string(),
        1 => format!("{}, {}", line.first, line.last),
        _ => format!("{} to {}", line.first, line.last),
    };
    let positions: Vec<u64> = line.positions.iter().map(|at| *at as u64 + 1).collect();
    tight_row(&[
        Cell::text(&passes, Type::SMALL, PASSES),
        Cell::text(&words::ranges(&positions), Type::SMALL, POSITION),
        Cell::text(
            &format!("{} {}", line.lot.patches(), patch(&line.lot.fabric, &line.lot.shape, line.lot.hand)),
            Type::SMALL,
            PATCHES,
        ),
        Cell::text(&shares(day, &line.lot.to), Type::SMALL, TO),
    ])
}

/// `all to bag 3`, `4 to bag 3, 2 to bag 7`. In the rest of a day bags have other numbers than are written on them, so the
/// name comes too: `all to bag 3 (quilt 4)`.
fn shares(day: &Day, to: &[Share]) -> String {
    let bag = |part: &Share| match part.bag.checked_sub(1).and_then(|at| day.bags.get(at)) {
        Some(bag) if day.rest.is_some() => format!("bag {} ({})", part.bag, bag.name),
        _ => format!("bag {}", part.bag),
    };
    match to {
        [one] => format!("all to {}", bag(one)),
        several => {
            let parts = several.iter().map(|part| format!("{} to {}", part.patches, bag(part)));
            parts.collect::<Vec<String>>().join(", ")
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

#[cfg(test)]
mod tests {
    use patchlay_plan::day::Rest;

    use super::*;

    #[test]
    fn in_the_rest_of_a_day_bags_are_called_by_their_names_too() {
        let mut day = Day::from_json(include_str!("../../../../../tests/damage/good/two.day.json")).unwrap();
        let to = [Share { bag: 1, patches: 4 }, Share { bag: 2, patches: 2 }];
        assert_eq!(shares(&day, &to), "4 to bag 1, 2 to bag 2");
        day.rest = Some(Rest { starts: 600 });
        let names: Vec<&str> = day.bags.iter().map(|bag| bag.name.as_str()).collect();
        assert_eq!(shares(&day, &to), format!("4 to bag 1 ({}), 2 to bag 2 ({})", names[0], names[1]));
        assert_eq!(shares(&day, &to[..1]), format!("all to bag 1 ({})", names[0]));
    }
}
