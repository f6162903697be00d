//! Totals, and what the proof means.

use patchlay_plan::Event;

use super::flow::{Block, Part};
use super::parts::{Cell, row};
use crate::fit::{Tenths, Type};
use crate::view::View;
use crate::{bounds, words};

const NAME: Tenths = 1000;
const VALUE: Tenths = 400;

/// Totals, standard time, and the meaning of the proof.
pub(crate) fn parts(view: &View<'_>) -> Vec<Part> {
    let proof =
        bounds::sentences(view.plan, view.job).iter().map(|text| Block::point(text, Type::BODY)).collect();
    vec![
        Part::titled("Totals", totals(view)).on_new_sheet(),
        Part::titled("What the proof means", proof),
        Part::titled("Standard time", time(view)),
    ]
}

fn line(name: &str, value: &str) -> Block {
    row(&[Cell::text(name, Type::BODY, NAME), Cell::number(value, Type::BODY, VALUE)])
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
        lines.push(line(&format!("of these on the board {}", board.name), &passes.to_string()));
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
    let mut lines: Vec<Block> = Event::ALL
        .iter()
        .filter_map(|event| view.plan.figures.seconds_by_event.iter().find(|time| time.event == *event))
        .filter(|time| time.times > 0)
        .map(|time| {
            line(&format!("{}: {} times", words::event(time.event), time.times), &words::time(time.seconds))
        })
        .collect();
    lines.push(Block::text(
        "Standard times compare plans; your own pace will differ. Sewing and rests are not in them.",
        Type::SMALL,
    ));
    lines
}
