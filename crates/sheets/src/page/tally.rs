//! The tally: a form to fill in by hand beside the cutter and to type in later, lay-up by lay-up, in a group's day run by
//! run, and strip by strip.

use maud::{Markup, html};
use patchlay_plan::Plan;
use patchlay_plan::day::Day;
use patchlay_scenario::Job;

use super::flow::{Banner, Block, Part, SHEET_WIDTH, mm, sheets};
use super::parts::{Cell, row};
use super::{Paper, document_of};
use crate::day::run_words;
use crate::fit::{self, Tenths, Type};
use crate::view::{SheetError, View};

const LAYUP: Tenths = 330;
const BOXES: Tenths = 640;
/// Columns that are written in, with their widths.
const WRITTEN: [(&str, Tenths); 4] = [
    ("plies spoiled: pass, area, how many", 280),
    ("wrong fabric: pass, area, what lay there", 280),
    ("remarks", 200),
    ("initials", 130),
];
/// Side of a box to tick, with the number of its pass in it.
const BOX: Tenths = 70;
/// Space between boxes.
const APART: Tenths = 10;
/// Boxes side by side.
const ACROSS: usize = 8;
/// Least height of a row: two lines of handwriting.
const LEAST_ROW: Tenths = 150;
/// Most lines of boxes in one row.
const LINES: usize = 6;

/// The form; with a day it lists runs by the numbers on the sheets of the day.
///
/// # Errors
/// [`SheetError`] if the plan names something that the job does not have.
pub fn tally_page(plan: &Plan, day: Option<&Day>, job: &Job, paper: Paper) -> Result<String, SheetError> {
    let view = View::new(plan, job)?;
    let (title, first, rows) = match day {
        Some(day) => {
            let rows = day.runs.iter().enumerate().flat_map(|(at, run)| {
                let passes: Vec<u64> = (run.first..run.first.saturating_add(run.passes)).collect();
                rows(&format!("run {}", at + 1), &run_words(plan, run), &passes)
            });
            (format!("Runs of day {}", day.number), "run, lay-up", rows.collect())
        }
        None => {
            let rows = plan.layups.iter().flat_map(|layup| {
                let passes: Vec<u64> = (1..=layup.passes.len() as u64).collect();
                rows(&layup.name, &layup.board, &passes)
            });
            ("Passes made".to_owned(), "lay-up", rows.collect())
        }
    };
    let passes = Part::titled(&title, rows).headed(head(first));
    let parts = [
        Part::titled(&format!("Tally of plan {}", plan.number), vec![about(plan, day)]),
        passes,
        strips(&view),
        other(),
    ];
    let body = sheets(&parts, &Banner { scenario: &job.name, what: "Tally of plan", plan: &plan.number });
    let title = format!("{} · tally of plan {}", job.name, plan.number);
    Ok(document_of(&title, job, paper, body).into_string())
}

fn about(plan: &Plan, day: Option<&Day>) -> Block {
    let (how, of) = match day {
        Some(day) => (
            "run by run: 'patchlay record PLAN run 12', with '--passes 3' where only some of its passes were made",
            format!("plan {} and day {}", plan.number, day.number),
        ),
        None => ("line by line: 'patchlay record PLAN passes L1 3'", format!("plan {}", plan.number)),
    };
    let text = format!(
        "Tick every pass as soon as it is lifted out. Note only what was not as on the card. Type it in later, {how}, and \
         so on. This form belongs to {of}; throw it away with its cards."
    );
    Block::text(&text, Type::BODY)
}

fn head(first: &str) -> Block {
    let mut cells =
        vec![Cell::text(first, Type::SMALL, LAYUP), Cell::text("passes: tick", Type::SMALL, BOXES)];
    cells.extend(WRITTEN.map(|(name, width)| Cell::text(name, Type::SMALL, width)));
    row(&cells)
}

/// One row, or several where a lay-up is made very often.
fn rows(name: &str, below: &str, passes: &[u64]) -> Vec<Block> {
    passes.chunks(ACROSS * LINES).map(|some| tick_row(name, below, some)).collect()
}

fn tick_row(name: &str, below: &str, passes: &[u64]) -> Block {
    let name = fit::one_line(name, Type::HEAD, LAYUP - 20);
    let below = fit::one_line(below, Type::SMALL, LAYUP - 20);
    let lines = Tenths::try_from(passes.len().div_ceil(ACROSS)).unwrap_or(1);
    let height = (lines * (BOX + APART) + 20).max(LEAST_ROW);
    let html = html! {
        div.row.line style={"height:" (mm(height)) ";padding-top:1mm;width:" (mm(SHEET_WIDTH))} {
            div style={"width:" (mm(LAYUP))} {
                div.t-head { div.l { (name) } }
                div.t-small { div.l { (below) } }
            }
            div style={"width:" (mm(BOXES))} {
                @for line in passes.chunks(ACROSS) {
                    div.row style={"height:" (mm(BOX + APART))} { @for pass in line { (numbered(*pass)) } }
                }
            }
            @for (_, width) in WRITTEN { (written(width, height)) }
        }
    };
    Block::new(height, html)
}

fn numbered(pass: u64) -> Markup {
    html! {
        span.tick.t-small style={"width:" (mm(BOX)) ";height:" (mm(BOX)) ";margin-right:" (mm(APART)) ";padding-left:0.6mm;color:#666"} { (pass) }
    }
}

/// Room to write in, with a line at its near edge.
fn written(width: Tenths, height: Tenths) -> Markup {
    html! { div style={"width:" (mm(width)) ";height:" (mm(height)) ";border-left:.2mm solid #888"} {} }
}

/// Strips with a box each.
fn strips(view: &View<'_>) -> Part {
    const STRIP: Tenths = 230;
    let mut blocks = Vec::new();
    for cloth in view.cloths.iter().filter(|cloth| !cloth.plan.strips.is_empty()) {
        let name = format!("{} {}", cloth.fabric.letter, cloth.fabric.name);
        blocks.push(Block::text(&name, Type::STRONG).with_next());
        let each = usize::try_from(SHEET_WIDTH / STRIP).unwrap_or(1);
        let strips: Vec<&str> = cloth.plan.strips.iter().map(|strip| strip.name.as_str()).collect();
        blocks.extend(strips.chunks(each).map(|line| {
            Block::new(
                BOX + APART,
                html! {
                    div.row style={"height:" (mm(BOX + APART))} {
                        @for name in line {
                            div.row style={"width:" (mm(STRIP))} {
                                span.tick style={"width:" (mm(BOX - 20)) ";height:" (mm(BOX - 20)) ";margin-right:1.5mm"} {}
                                span.t-body.l { (fit::one_line(name, Type::BODY, STRIP - BOX)) }
                            }
                        }
                    }
                },
            )
        }));
    }
    Part::titled("Strips cut", blocks)
}

/// What happens once or not at all.
fn other() -> Part {
    let lines = [
        "bolt too short: fabric, length left",
        "cloth too narrow: fabric, width found",
        "strip, length or cut spoiled: its tag",
        "patches lost or found: fabric, shape, how many",
        "board or mat damaged",
        "somebody has come or gone",
        "quilt added or dropped",
    ];
    let line = |text: &str| {
        let height = 150;
        let html = html! {
            div.row.line style={"height:" (mm(height)) ";padding-top:1mm;width:" (mm(SHEET_WIDTH))} {
                div.t-small style={"width:" (mm(620))} { div.l { (text) } }
                (written(SHEET_WIDTH - 620, height))
            }
        };
        Block::new(height, html)
    };
    Part::titled("Anything else", lines.map(line).into()).together()
}
