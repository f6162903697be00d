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
    sized(name, value, Type::BODY)
}

fn sized(name: &str, value: &str, face: Type) -> Block {
    row(&[Cell::text(name, face, NAME), Cell::number(value, face, VALUE)])
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
    for time in Event::ALL.iter().filter_map(times).filter(|time| time.times > 0) {
        let name = format!("{}: {}", words::event(time.event), words::count(time.times, "time", "times"));
        lines.push(sized(&name, &words::time(time.seconds), Type::SMALL));
    }
    lines
}
