//! One card per lay-up, half a sheet each, to stand beside the cutter and be read at arm's length. A lay-up that
//! needs more takes a whole sheet, or several.

use maud::html;

use super::PageOptions;
use super::card_lists::{Scale, areas, board_notes, passes, piles};
use super::flow::{Block, Part, ROOM, SHEET_WIDTH, mm, picture};
use crate::fit::{self, Tenths, Type};
use crate::svg::board::Picture;
use crate::view::{Laid, View};
use crate::words;

/// Cut line between two cards on a sheet.
const GAP: Tenths = 30;
/// Half a sheet.
const HALF: Tenths = (ROOM - GAP) / 2;
/// Frame and padding of a card, both sides together.
const FRAME: Tenths = 50;
/// Title and the line below it.
const HEADING: Tenths = Type::TITLE.line + Type::CARD.line + 15;
/// Width of the picture's column.
pub(super) const PICTURE: Tenths = 700;
/// Width of the lists beside the picture.
pub(super) const LISTS: Tenths = SHEET_WIDTH - FRAME - PICTURE - 30;

/// All cards, two on a sheet where they fit.
pub(crate) fn parts(view: &View<'_>, options: &PageOptions) -> Vec<Part> {
    let cards: Vec<Block> = view.layups.iter().flat_map(|laid| cards(view, laid, options)).collect();
    let mut blocks = Vec::with_capacity(cards.len() * 2);
    let mut half_used = false;
    for card in cards {
        if card.height == HALF && half_used {
            blocks.push(cut_line());
        }
        half_used = card.height == HALF && !half_used;
        blocks.push(card);
    }
    if blocks.is_empty() {
        return Vec::new();
    }
    vec![Part { title: None, head: None, blocks, new_sheet: true }]
}

fn cut_line() -> Block {
    Block::new(GAP, html! { div style={"height:" (mm(GAP)) ";padding-top:" (mm(GAP / 2))} { div.cut {} } })
}

/// The card of a lay-up: one half sheet, or as many whole ones as it takes.
fn cards(view: &View<'_>, laid: &Laid<'_>, options: &PageOptions) -> Vec<Block> {
    let room = |card: Tenths| card - FRAME - HEADING;
    for scale in [Scale::LARGE, Scale::MIDDLE, Scale::COMPACT] {
        let lists = lists(view, laid, scale);
        if lists.iter().map(|block| block.height).sum::<Tenths>() <= room(HALF) {
            return vec![card(view, laid, options, HALF, lists, (1, 1))];
        }
    }
    let filled = fill(lists(view, laid, Scale::LARGE), room(ROOM));
    let of = filled.len();
    filled
        .into_iter()
        .enumerate()
        .map(|(at, lists)| card(view, laid, options, ROOM, lists, (at + 1, of)))
        .collect()
}

/// Areas, passes and piles.
fn lists(view: &View<'_>, laid: &Laid<'_>, scale: Scale) -> Vec<Block> {
    let mut lists = areas(view, laid, scale);
    lists.extend(passes(laid, scale));
    lists.extend(piles(view, laid, scale));
    lists
}

/// Blocks in columns of at most `room`.
fn fill(lists: Vec<Block>, room: Tenths) -> Vec<Vec<Block>> {
    let mut columns: Vec<Vec<Block>> = vec![Vec::new()];
    let mut used = 0;
    for run in lists.split_inclusive(|block| !block.with_next) {
        let height: Tenths = run.iter().map(|block| block.height).sum();
        if used > 0 && used + height > room {
            columns.push(Vec::new());
            used = 0;
        }
        used += height;
        if let Some(column) = columns.last_mut() {
            column.extend_from_slice(run);
        }
    }
    columns
}

fn card(
    view: &View<'_>,
    laid: &Laid<'_>,
    options: &PageOptions,
    height: Tenths,
    lists: Vec<Block>,
    (number, of): (usize, usize),
) -> Block {
    let notes = board_notes(laid, options.left_handed);
    // The longer notes of the two versions, so that both have the same picture.
    let notes_height: Tenths = board_notes(laid, true).iter().map(|block| block.height).sum();
    let high = f64::from(height - FRAME - HEADING - notes_height.min(height / 3)) / 10.0;
    let wide = f64::from(PICTURE) / 10.0;
    let drawing = Picture::laid(view.job, laid, options.left_handed).svg(wide, high.min(150.0), false);
    let inner = height - FRAME - HEADING;
    let html = html! {
        div.card style={"height:" (mm(height)) ";width:" (mm(SHEET_WIDTH))} {
            (heading(view, laid, number, of))
            div.row style={"height:" (mm(inner))} {
                div style={"width:" (mm(PICTURE + 30)) ";padding-right:3mm"} {
                    (picture(drawing))
                    @for note in &notes { (note.html) }
                }
                div style={"width:" (mm(LISTS))} { @for block in &lists { (block.html) } }
            }
        }
    };
    Block::new(height, html)
}

/// `L3 · mixed board · 4 passes`, and below it which passes of all.
fn heading(view: &View<'_>, laid: &Laid<'_>, number: usize, of: usize) -> maud::Markup {
    let made = laid.layup.passes.len();
    let more = if of > 1 { format!(" · card {number} of {of}") } else { String::new() };
    let times = format!(" · make it {}{more}", times(made));
    let room = (SHEET_WIDTH - FRAME).saturating_sub(fit::width(&times, Type::TITLE));
    let name = fit::one_line(&format!("{} · {}", laid.layup.name, laid.board.name), Type::TITLE, room);
    let last = laid.first_pass + made.saturating_sub(1);
    let all = view.passes();
    let which = if made > 1 {
        format!("passes {} to {last} of {all}", laid.first_pass)
    } else {
        format!("pass {} of {all}", laid.first_pass)
    };
    let limit = words::plies(laid.board.ply_limit);
    let proof = if in_proof(view, laid) { " · proof block first" } else { "" };
    let below = fit::one_line(
        &format!("{which} · never more than {limit} in a stack{proof}"),
        Type::CARD,
        SHEET_WIDTH - FRAME,
    );
    html! {
        div style={"height:" (mm(HEADING))} {
            h3.t-title.l { (name) (times) }
            div.t-card.l { (below) }
        }
    }
}

fn times(number: usize) -> String {
    match number {
        1 => "once".to_owned(),
        2 => "twice".to_owned(),
        more => format!("{more} times"),
    }
}

fn in_proof(view: &View<'_>, laid: &Laid<'_>) -> bool {
    let first = view.plan.proof_block.as_ref().map_or(0, |proof| proof.layups);
    view.layups.iter().take(first).any(|one| std::ptr::eq(one, laid))
}
