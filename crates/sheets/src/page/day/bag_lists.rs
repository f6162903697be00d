//! A list for every bag, with room for two signatures, two columns to a sheet.

use maud::html;
use patchlay_plan::day::Bag;

use super::Hall;
use crate::day::patch;
use crate::fit::{self, Tenths, Type};
use crate::page::flow::{Block, COLUMN, List, Part, in_columns, mm};
use crate::page::parts::{Cell, tight_row};
use crate::words;

const TICK: Tenths = 65;
const COUNT: Tenths = 130;
/// Where patches are there already, when the rest of a day begins.
const THERE: Tenths = 170;
/// Lists of so many lines are not torn apart.
const WHOLE: usize = 30;

pub(super) fn parts(hall: &Hall<'_>) -> Vec<Part> {
    let lists: Vec<List> =
        hall.day.bags.iter().enumerate().map(|(at, bag)| list(hall, at + 1, bag)).collect();
    if lists.is_empty() { Vec::new() } else { vec![in_columns("Bag lists", None, &lists)] }
}

fn list(hall: &Hall<'_>, number: usize, bag: &Bag) -> List {
    let mut title = format!("Bag {number}: {}", bag.name);
    if !bag.destination.is_empty() && bag.destination != bag.name {
        title.push_str(&format!(", for {}", bag.destination));
    }
    if bag.urgent {
        title.push_str(" (urgent)");
    }
    let lines = fit::wrap_within(&title, Type::STRONG, COLUMN, 3);
    let rest = hall.day.rest.is_some();
    let names = ["", "patches", "needed", "spare", if rest { "of these there" } else { "" }];
    let names = line(rest, names, Type::TINY);
    let height = Type::STRONG.line * Tenths::try_from(lines.len()).unwrap_or(1) + names.height;
    let head = Block::new(
        height,
        html! {
            div style={"height:" (mm(height))} { (Block::lines(&lines, Type::STRONG).html) (names.html) }
        },
    );
    let some = |count: u64| if count > 0 { count.to_string() } else { String::new() };
    let mut blocks: Vec<Block> = bag
        .lines
        .iter()
        .map(|own| {
            let name = patch(&own.fabric, &own.shape, own.hand);
            let counts = [own.needed, own.spare, own.there].map(some);
            line(rest, ["☐", &name, &counts[0], &counts[1], &counts[2]], Type::BODY)
        })
        .collect();
    let total: u64 = bag.lines.iter().map(|line| line.needed + line.spare).sum();
    let total = words::count(total, "patch", "patches");
    blocks.push(Block::text_in(&format!("{total} in all, day {}", hall.day.number), Type::SMALL, COLUMN));
    let height = 120;
    blocks.push(Block::new(
        height,
        html! {
            div.row.t-small style={"height:" (mm(height)) ";align-items:flex-end;gap:6mm"} {
                @for said in ["packed by", "checked by"] {
                    div style="width:42mm;border-top:.3mm solid #000" { (said) }
                }
            }
        },
    ));
    // A bag for a whole block party may need more than a column; any other list stays whole.
    if bag.lines.len() <= WHOLE {
        let last = blocks.len() - 1;
        blocks.iter_mut().take(last).for_each(|block| block.with_next = true);
    }
    List { head: Some(head), blocks }
}

/// To tick, patches, needed, spare, and in the rest of a day how many of these are there.
fn line(rest: bool, texts: [&str; 5], face: Type) -> Block {
    let [tick, name, needed, spare, there] = texts;
    let there_wide = if rest { THERE } else { 0 };
    let mut cells = vec![
        Cell::text(tick, face, TICK),
        Cell::text(name, face, COLUMN - TICK - 2 * COUNT - there_wide),
        Cell::number(needed, face, COUNT),
        Cell::number(spare, face, COUNT),
    ];
    if rest {
        cells.push(Cell::number(there, face, THERE));
    }
    tight_row(&cells)
}
