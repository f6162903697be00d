//! One card per lay-up, half a sheet each, to stand beside the cutter and be read at arm's length. A lay-up that
//! needs more takes a whole sheet, or several.

use maud::{Markup, html};

use super::PageOptions;
use super::card_lists::{Scale, areas, board_notes, piles};
use super::flow::{Block, Part, ROOM, SHEET_WIDTH, mm, picture};
use super::pass_boxes::{Boxes, boxes};
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
/// Width inside the frame.
const INSIDE: Tenths = SHEET_WIDTH - FRAME;
/// Title and the line below it.
const HEADING: Tenths = Type::TITLE.line + Type::CARD.line + 15;
/// Width of the picture's column.
pub(super) const PICTURE: Tenths = 630;
/// Width of the lists beside the picture.
pub(super) const LISTS: Tenths = INSIDE - PICTURE - 30;
/// Highest picture on a whole sheet.
const TALLEST: Tenths = 1100;

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

/// What stands on one card.
#[derive(Default)]
struct Content {
    /// Without: goes on from the card before.
    pictured: bool,
    /// Beside the picture.
    beside: Vec<Block>,
    /// Below both, over the whole width.
    below: Vec<Block>,
}

/// The cards of a lay-up: one half sheet, or as many whole ones as it takes.
fn cards(view: &View<'_>, laid: &Laid<'_>, options: &PageOptions) -> Vec<Block> {
    for scale in [Scale::LARGE, Scale::MIDDLE, Scale::COMPACT] {
        let beside = half(view, laid, scale);
        if height(&beside) <= HALF - FRAME - HEADING {
            let content = Content { pictured: true, beside, below: Vec::new() };
            return vec![card(view, laid, options, HALF, &content, (1, 1))];
        }
    }
    let contents = whole(view, laid, options);
    let of = contents.len();
    let card = |(at, content)| card(view, laid, options, ROOM, content, (at + 1, of));
    contents.iter().enumerate().map(card).collect()
}

fn height(blocks: &[Block]) -> Tenths {
    blocks.iter().map(|block| block.height).sum()
}

/// Everything beside the picture.
fn half(view: &View<'_>, laid: &Laid<'_>, scale: Scale) -> Vec<Block> {
    let mut lists = areas(view, laid, scale);
    let Boxes { head, rows } = boxes(laid, scale.tags, LISTS);
    lists.push(head);
    lists.extend(rows);
    lists.extend(piles(view, laid, scale, LISTS));
    lists
}

/// Areas beside the picture; passes and piles below both, on further cards if need be.
fn whole(view: &View<'_>, laid: &Laid<'_>, options: &PageOptions) -> Vec<Content> {
    let inner = ROOM - FRAME - HEADING;
    // Beside the small boards there is less room for a line.
    let scale = if laid.areas.len() > 1 { Scale::MIDDLE } else { Scale::LARGE };
    let mut contents: Vec<Content> = fill(&areas(view, laid, scale), inner, inner)
        .into_iter()
        .map(|beside| Content { pictured: true, beside, below: Vec::new() })
        .collect();
    let beside = contents.last().map_or(0, |last| height(&last.beside));
    let free = inner.saturating_sub(beside.max(picture_height(view, laid, options)) + 20);
    let piles = piles(view, laid, Scale::MIDDLE, INSIDE);
    let Boxes { head, rows } = boxes(laid, Type::BODY, INSIDE);
    let mut columns = fill(&[rows, piles].concat(), free.saturating_sub(head.height), inner - head.height);
    let first = if columns.is_empty() { Vec::new() } else { columns.remove(0) };
    let with_head = |rows: Vec<Block>| {
        let mut below = vec![head.clone()];
        below.extend(rows);
        below
    };
    if let Some(last) = contents.last_mut()
        && !first.is_empty()
    {
        last.below = with_head(first);
    }
    contents.extend(columns.into_iter().map(|rows| Content { below: with_head(rows), ..Content::default() }));
    contents
}

/// Blocks in columns: the first has its own room, and may stay empty.
fn fill(blocks: &[Block], first_room: Tenths, room: Tenths) -> Vec<Vec<Block>> {
    let mut columns: Vec<Vec<Block>> = vec![Vec::new()];
    let mut left = first_room;
    for run in blocks.split_inclusive(|block| !block.with_next) {
        let needed = height(run);
        let fresh = columns.last().is_some_and(Vec::is_empty) && columns.len() > 1;
        if needed > left && !fresh {
            columns.push(Vec::new());
            left = room;
        }
        left = left.saturating_sub(needed);
        if let Some(column) = columns.last_mut() {
            column.extend_from_slice(run);
        }
    }
    columns
}

/// Picture and notes below it on a whole sheet.
fn picture_height(view: &View<'_>, laid: &Laid<'_>, options: &PageOptions) -> Tenths {
    let (wide, high) = (f64::from(PICTURE) / 10.0, f64::from(TALLEST) / 10.0);
    let drawn = Picture::laid(view.job, laid, options.left_handed).height(wide, high);
    (drawn * 10.0).ceil() as Tenths + height(&board_notes(laid, true))
}

fn card(
    view: &View<'_>,
    laid: &Laid<'_>,
    options: &PageOptions,
    high: Tenths,
    content: &Content,
    (number, of): (usize, usize),
) -> Block {
    let html = html! {
        div.card style={"height:" (mm(high)) ";width:" (mm(SHEET_WIDTH))} {
            (heading(view, laid, number, of))
            @if content.pictured {
                div.row {
                    div style={"width:" (mm(PICTURE + 30)) ";padding-right:3mm"} {
                        (drawing(view, laid, options, high))
                    }
                    div style={"width:" (mm(LISTS))} { @for block in &content.beside { (block.html) } }
                }
            }
            @if !content.below.is_empty() {
                div style="padding-top:2mm" { @for block in &content.below { (block.html) } }
            }
        }
    };
    Block::new(high, html)
}

/// The board and the notes below it.
fn drawing(view: &View<'_>, laid: &Laid<'_>, options: &PageOptions, card: Tenths) -> Markup {
    let notes = board_notes(laid, options.left_handed);
    // The longer notes of the two versions, so that both have the same picture.
    let room = card - FRAME - HEADING - height(&board_notes(laid, true)).min(card / 3);
    let (wide, high) = (f64::from(PICTURE) / 10.0, f64::from(room.min(TALLEST)) / 10.0);
    let board = Picture::laid(view.job, laid, options.left_handed).svg(wide, high, false);
    html! {
        (picture(board))
        @for note in &notes { (note.html) }
    }
}

/// `L3 · mixed board · make it 4 times`, and below it which passes of all.
fn heading(view: &View<'_>, laid: &Laid<'_>, number: usize, of: usize) -> Markup {
    let made = laid.layup.passes.len();
    let more = if of > 1 { format!(" · card {number} of {of}") } else { String::new() };
    let times = format!(" · make it {}{more}", times(made));
    let room = INSIDE.saturating_sub(fit::width(&times, Type::TITLE));
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
    let below =
        fit::one_line(&format!("{which} · never more than {limit} in a stack{proof}"), Type::CARD, INSIDE);
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
