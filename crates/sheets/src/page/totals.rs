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

/// Balance, totals, the meaning of the proof, and standard time.
pub(crate) fn parts(view: &View<'_>) -> Vec<Part> {
    let mut parts = account(view);
    if let Some(first) = parts.first_mut() {
        first.new_sheet = true;
    }
    parts.extend(balance::by_fabric(view));
    let proof =
        bounds::sentences(view.plan, view.job).iter().map(|text| Block::point(text, Type::BODY)).collect();
    parts.push(Part::titled("What the proof means", proof));
    parts.push(Part::titled("Standard time", time(view)));
    parts
}

/// The balance beside the totals; one after the other where that would be higher than a sheet.
fn account(view: &View<'_>) -> Vec<Part> {
    const TOTALS: &str = "Totals";
    let (balance, totals) = (balance::whole(view), totals(view));
    let high = |blocks: &[Block]| blocks.iter().map(|block| block.height).sum::<Tenths>();
    if balance.is_empty() || high(&totals) > ROOM * 2 / 3 {
        let mut parts = vec![Part::titled(TOTALS, totals)];
        if !balance.is_empty() {
            parts.insert(0, Part::titled(balance::TITLE, balance));
        }
        return parts;
    }
    let titled = |title: &str, blocks: Vec<Block>| [vec![Block::title(title, COLUMN)], blocks].concat();
    let (left, right) = (titled(balance::TITLE, balance), titled(TOTALS, totals));
    let both = side_by_side([&left, &right], SECOND);
    vec![Part { title: None, head: None, blocks: vec![both], new_sheet: false }]
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
    lines.extend([
        line("lay-ups", &figures.layups.to_string()),
        line("strips", &figures.strips.to_string()),
        line("lengths and cuts to prepare", &figures.pieces.to_string()),
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
        Block::text(
            "Standard times compare plans; your own pace will differ. Sewing and rests are not in them.",
            Type::SMALL,
        )
        .with_next(),
    ];
    let rows: Vec<Block> = Event::ALL
        .iter()
        .filter_map(times)
        .filter(|time| time.times > 0)
        .map(|time| {
            let count = words::count(time.times, "time", "times");
            line(&format!("{}: {count}", words::event(time.event)), &words::time(time.seconds))
        })
        .collect();
    let (left, right) = rows.split_at(rows.len().div_ceil(2));
    lines.push(side_by_side([left, right], SECOND));
    lines
}
