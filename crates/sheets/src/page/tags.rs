//! Tags to cut out and lay on the piles of patches.

use maud::html;
use patchlay_plan::{Hand, PatchLine};
use patchlay_scenario::job::NamedShape;
use patchlay_shape::Outline;

use super::flow::{Block, Part, mm, picture};
use super::parts::swatch;
use crate::fit::{self, Tenths, Type};
use crate::svg::board::float;
use crate::svg::num;
use crate::svg::path::Paper;
use crate::view::View;

/// Above the tags of a group, whose patches go into bags.
const BY_DAY: &str = "Tags, for patches that lie in piles before they are bagged";

const COLUMNS: usize = 3;
const WIDTH: Tenths = 610;
const HEIGHT: Tenths = 455;
const GAP: Tenths = 15;

/// Three tags in a row.
pub(crate) fn parts(view: &View<'_>) -> Vec<Part> {
    let lines = &view.plan.patches;
    if lines.is_empty() {
        return Vec::new();
    }
    let row = |lines: &[PatchLine]| {
        Block::new(
            HEIGHT + GAP,
            html! {
                div.row style={"height:" (mm(HEIGHT + GAP)) ";gap:" (mm(GAP))} {
                    @for line in lines { (tag(view, line)) }
                }
            },
        )
    };
    let title = if view.by_day { BY_DAY } else { "Pile tags: cut out, one to a pile" };
    vec![Part::titled(title, lines.chunks(COLUMNS).map(row).collect()).on_new_sheet()]
}

fn tag(view: &View<'_>, line: &PatchLine) -> maud::Markup {
    let room = WIDTH - 50;
    let fabric = view.job.fabrics.iter().position(|fabric| fabric.name == line.fabric);
    let shape = view.job.shapes.iter().find(|shape| shape.name == line.shape);
    let mut fabric_lines = fit::wrap(&line.fabric, Type::STRONG, room - 320);
    shorten(&mut fabric_lines, 3);
    let shape_name = fit::one_line(&line.shape, Type::STRONG, room);
    let hand = match line.hand {
        Hand::Any => "",
        Hand::Drawn => "as drawn",
        Hand::Mirrored => "mirror image",
    };
    let mut counts = format!("{} needed", line.needed);
    if line.spare > 0 {
        counts.push_str(&format!(", {} spare", line.spare));
    }
    let over = line.cut.saturating_sub(line.needed + line.spare);
    if over > 0 {
        counts.push_str(&format!(", {over} over"));
    }
    html! {
        div.tag style={"width:" (mm(WIDTH)) ";height:" (mm(HEIGHT))} {
            div.row style="height:18mm" {
                @if let Some(fabric) = fabric {
                    div style="width:14mm" { (swatch(fabric, &view.job.fabrics[fabric].letter, 120)) }
                }
                div.t-strong style={"width:" (mm(room - 320))} { @for line in &fabric_lines { div.l { (line) } } }
                @if let Some(shape) = shape { div style="width:17mm" { (drawing(shape, line.hand)) } }
            }
            div.t-strong.l { (shape_name) }
            div.t-card.l { (hand) " " }
            div.t-title.l { "cut " (line.cut) }
            div.t-small.l { (fit::one_line(&counts, Type::SMALL, room)) }
        }
    }
}

fn shorten(lines: &mut Vec<String>, most: usize) {
    if lines.len() > most {
        lines.truncate(most);
        if let Some(last) = lines.last_mut() {
            last.push('…');
        }
    }
}

/// The patch as cut, with its seam lines, small.
fn drawing(shape: &NamedShape, hand: Hand) -> maud::Markup {
    const SIDE: f64 = 16.0;
    let (cut, finished) = if hand == Hand::Mirrored {
        let wide = shape.shape.cut().bounds().high.x;
        (shape.shape.mirrored(), shape.shape.finished().mirrored().moved(wide, 0.0))
    } else {
        (shape.shape.cut().clone(), shape.shape.finished().clone())
    };
    let (width, height) = (float(shape.shape.cut_width()), float(shape.shape.cut_height()));
    let scale = (SIDE - 1.0) / width.max(height).max(1.0);
    // Half a turn brings the patch the way it was typed up: the paper of boards is turned half round.
    let turned = |outline: &Outline| outline.turned(patchlay_shape::Turn::HALF).moved(width, height);
    let paper =
        Paper { scale, corner: (SIDE / 2.0 + width * scale / 2.0, SIDE / 2.0 - height * scale / 2.0) };
    picture(format!(
        "<svg viewBox=\"0 0 {s} {s}\" width=\"{s}mm\" height=\"{s}mm\" role=\"img\" aria-label=\"patch as cut\">\
         <path class=\"blade\" fill=\"none\" d=\"{}\"/><path class=\"bare\" stroke-dasharray=\".8 .6\" d=\"{}\"/></svg>",
        paper.outline(&turned(&cut)),
        paper.outline(&turned(&finished)),
        s = num(SIDE),
    ))
}
