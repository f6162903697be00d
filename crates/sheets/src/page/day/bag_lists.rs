//! A list for every bag, with room for two signatures.

use maud::html;
use patchlay_plan::day::Bag;

use super::Hall;
use crate::day::patch;
use crate::fit::{self, Tenths, Type};
use crate::page::flow::{Block, Part, SHEET_WIDTH, mm};
use crate::page::parts::{Cell, tight_row};

const NAME: Tenths = 900;
const COUNT: Tenths = 230;
const THERE: Tenths = 400;

pub(super) fn parts(hall: &Hall<'_>) -> Vec<Part> {
    let lists = hall.day.bags.iter().enumerate().map(|(at, bag)| list(hall, at + 1, bag));
    let mut parts: Vec<Part> = lists.collect();
    if let Some(first) = parts.first_mut() {
        first.title = Some("Bag lists".to_owned());
    }
    parts
}

fn list(hall: &Hall<'_>, number: usize, bag: &Bag) -> Part {
    let mut title = format!("Bag {number}: {}", bag.name);
    if !bag.destination.is_empty() && bag.destination != bag.name {
        title.push_str(&format!(", for {}", bag.destination));
    }
    if bag.urgent {
        title.push_str(" (urgent)");
    }
    let title = fit::one_line(&title, Type::HEAD, SHEET_WIDTH);
    let mut blocks = Vec::new();
    let total: u64 = bag.lines.iter().map(|line| line.needed + line.spare).sum();
    for line in &bag.lines {
        let there = if line.there > 0 { format!("of these {} there", line.there) } else { String::new() };
        let spare = if line.spare > 0 { format!("{} spare", line.spare) } else { String::new() };
        blocks.push(tight_row(&[
            Cell::text("☐", Type::BODY, 100),
            Cell::text(&patch(&line.fabric, &line.shape, line.hand), Type::BODY, NAME),
            Cell::number(&line.needed.to_string(), Type::BODY, COUNT),
            Cell::number(&spare, Type::BODY, COUNT),
            Cell::number(&there, Type::BODY, THERE),
        ]));
    }
    blocks.push(Block::text(&format!("{total} patches in all, day {}", hall.day.number), Type::SMALL));
    let height = 130;
    blocks.push(Block::new(
        height,
        html! {
            div.row.t-small style={"height:" (mm(height)) ";align-items:flex-end;gap:10mm"} {
                @for said in ["packed by", "checked by"] {
                    div style="width:80mm;border-top:.3mm solid #000" { (said) }
                }
            }
        },
    ));
    // A bag for a whole block party may need more than a sheet; any other list stays whole.
    let part = Part { title: None, head: Some(Block::text(&title, Type::HEAD)), blocks, new_sheet: false };
    if bag.lines.len() <= 30 { part.together() } else { part }
}
