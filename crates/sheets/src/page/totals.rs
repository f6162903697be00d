//! Where the cloth goes, totals, and what the proof means: the account of a plan, on one sheet where it fits.

use patchlay_plan::Event;

use super::balance;
use super::flow::{Block, Part, ROOM, SHEET_WIDTH};
use super::parts::{Cell, side_by_side, tight_row};
use crate::fit::{Tenths, Type};
use crate::view::View;
use crate::{bounds, words};

/// Where the second of two columns begins, and how wide each is.
const SECOND: Tenths = 960;
const COLUMN: Tenths = SHEET_WIDTH - SECOND;
const NAME: Tenths = 640;
const VALUE: Tenths = COLUMN - NAME;

/// Balance and what the proof means beside totals and standard time; one after the other where that would be higher
/// than a sheet. Then each fabric by itself.
pub(crate) fn parts(view: &View<'_>) -> Vec<Part> {
    let proof = bounds::sentences(view.plan, view.job);
    let proof = proof.iter().map(|text| Block::point_in(text, Type::BODY, COLUMN)).collect();
    let left = [(balance::TITLE, balance::whole(view)), ("What the proof means", proof)];
    let right = [("Totals", totals(view)), ("Standard time", time(view))];
    let columns = [column(&left), column(&right)];
    let high = columns.iter().map(|blocks| blocks.iter().map(|block| block.height).sum::<Tenths>()).max();
    let mut parts = if high.is_some_and(|high| high <= ROOM) {
        let both = side_by_side([&columns[0], &columns[1]], SECOND);
        vec![Part { title: None, head: None, blocks: vec![both], new_sheet: false }]
    } else {
        let titled = |(title, blocks)| Part::titled(title, blocks);
        left.into_iter().chain(right).filter(|(_, blocks)| !blocks.is_empty()).map(titled).collect()
    };
    if let Some(first) = parts.first_mut() {
        first.new_sheet = true;
    }
    parts.extend(balance::by_fabric(view));
    parts
}

/// Lists with their titles, below each other.
fn column(lists: &[(&str, Vec<Block>)]) -> Vec<Block> {
    let mut column = Vec::new();
    for (title, blocks) in lists.iter().filter(|(_, blocks)| !blocks.is_empty()) {
        if !column.is_empty() {
            column.push(Block::space(40));
        }
        column.push(Block::title(title, COLUMN));
        column.extend_from_slice(blocks);
    }
    column
}

fn line(name: &str, value: &str) -> Block {
    tight_row(&[Cell::text(name, Type::SMALL, NAME), Cell::number(value, Type::SMALL, VALUE)])
}

fn totals(view: &View<'_>) -> Vec<Block> {
    let figures = &view.plan.figures;
    let units = view.job.units;
    let mut lines = vec![
        line("cloth taken off the bolt, all fabrics", &figures.length_taken.show_cloth(units)),
        line("cloth to buy, all fabrics", &figures.length_bought.show_cloth(units)),
    ];
    if view.job.priced {
        lines.push(line("price of the cloth to buy", &figures.money.show(&view.job.currency)));
    }
    lines.push(line("passes", &figures.passes.to_string()));
    for (board, passes) in view.job.boards.iter().zip(&figures.passes_by_board) {
        lines.push(line(&format!("of these on {}", board.name), &passes.to_string()));
    }
    lines.push(line("lay-ups", &figures.layups.to_string()));
    // What changes from one to the next is known where the cards are made in their order.
    if !view.by_day {
        lines.push(line("areas and mats that change between them", &figures.changes.to_string()));
    }
    lines.extend([
        line("strips", &figures.strips.to_string()),
        line("lengths and cuts to prepare", &figures.pieces.to_string()),
        line("kinds of these", &figures.kinds.to_string()),
        line("of these folded", &figures.folded_lengths.to_string()),
        line("of these trimmed narrower than their strip", &figures.trimmed.to_string()),
        line("spare patches", &figures.spare_patches.to_string()),
        line("most plies in one stack", &figures.most_plies.to_string()),
        line("most fabrics in one stack", &figures.most_fabrics.to_string()),
        line("time by the standard times below", &words::time(figures.seconds)),
    ]);
    lines
}

fn time(view: &View<'_>) -> Vec<Block> {
    let times = |event: &Event| view.plan.figures.seconds_by_event.iter().find(|time| time.event == *event);
    let mut lines = vec![
        Block::text_in(
            "Standard times compare plans; your own pace will differ. Sewing and rests are not in them.",
            Type::SMALL,
            COLUMN,
        )
        .with_next(),
    ];
    let rows = Event::ALL.iter().filter_map(times).filter(|time| time.times > 0).map(|time| {
        let count = words::count(time.times, "time", "times");
        line(&format!("{}: {count}", words::event(time.event)), &words::time(time.seconds))
    });
    lines.extend(rows);
    lines
}
