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
/// Highest picture.
const TALLEST: Tenths = 1100;
/// Lowest picture that can still be read.
const LEAST_PICTURE: Tenths = 420;
/// Space above what stands below the picture.
const BELOW: Tenths = 20;

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
    /// Room for the picture; without: goes on from the card before.
    picture: Option<Tenths>,
    /// Below the picture.
    under: Vec<Block>,
    /// Beside the picture.
    beside: Vec<Block>,
    /// Below all that, over the whole width.
    below: Vec<Block>,
}

/// The cards of a lay-up: one half sheet, or as many whole ones as it takes.
fn cards(view: &View<'_>, laid: &Laid<'_>, options: &PageOptions) -> Vec<Block> {
    let halves = [Scale::LARGE, Scale::MIDDLE, Scale::COMPACT];
    if let Some(content) = halves.into_iter().find_map(|scale| half(view, laid, scale, options)) {
        return vec![card(view, laid, options, HALF, &content, (1, 1))];
    }
    let wholes = [Scale::LARGE, Scale::MIDDLE];
    let contents = match wholes.into_iter().find_map(|scale| whole(view, laid, scale, options)) {
        Some(content) => vec![content],
        None => several(view, laid, options),
    };
    let of = contents.len();
    let card = |(at, content)| card(view, laid, options, ROOM, content, (at + 1, of));
    contents.iter().enumerate().map(card).collect()
}

fn height(blocks: &[Block]) -> Tenths {
    blocks.iter().map(|block| block.height).sum()
}

/// Half a sheet: areas and passes beside the picture; piles there too, or where that is too much below the picture,
/// with the notes over the whole width. None if it does not fit at this scale.
fn half(view: &View<'_>, laid: &Laid<'_>, scale: Scale, options: &PageOptions) -> Option<Content> {
    let inner = HALF - FRAME - HEADING;
    let mut beside = areas(view, laid, scale);
    let Boxes { head, rows } = boxes(laid, scale.tags, LISTS);
    beside.push(head);
    beside.extend(rows);
    let piles_beside = piles(view, laid, scale, LISTS);
    if height(&beside) + height(&piles_beside) <= inner {
        let under = board_notes(laid, options.left_handed, PICTURE);
        let picture = inner.saturating_sub(height(&under)).max(LEAST_PICTURE);
        beside.extend(piles_beside);
        return Some(Content { picture: Some(picture), under, beside, below: Vec::new() });
    }
    let (under, below) = (piles(view, laid, scale, PICTURE), board_notes(laid, options.left_handed, INSIDE));
    let room = inner.checked_sub(height(&below) + BELOW)?;
    let picture = room.checked_sub(height(&under)).filter(|room| *room >= LEAST_PICTURE)?;
    (height(&beside) <= room).then_some(Content { picture: Some(picture), under, beside, below })
}

/// One whole sheet: areas beside the picture, passes below. None if it does not fit at this scale.
fn whole(view: &View<'_>, laid: &Laid<'_>, scale: Scale, options: &PageOptions) -> Option<Content> {
    let inner = ROOM - FRAME - HEADING;
    let mut beside = areas(view, laid, scale);
    let Boxes { head, rows } = boxes(laid, Type::CARD, INSIDE);
    let mut below = vec![head];
    below.extend(rows);
    let room = inner.checked_sub(height(&below) + BELOW)?;
    if height(&beside) > room {
        return None;
    }
    let mut under = board_notes(laid, options.left_handed, PICTURE);
    let piles_beside = piles(view, laid, scale, LISTS);
    if height(&beside) + height(&piles_beside) <= room {
        beside.extend(piles_beside);
        let picture = picture_height(view, laid).min(TALLEST);
        let fits = picture + height(&under) <= room;
        return fits.then_some(Content { picture: Some(picture), under, beside, below });
    }
    let piles_under = piles(view, laid, scale, PICTURE);
    let picture = picture_height(view, laid).min(TALLEST);
    let all = picture + height(&under) + height(&piles_under);
    if all <= room {
        under.extend(piles_under);
        return Some(Content { picture: Some(picture), under, beside, below });
    }
    let piles_below = piles(view, laid, scale, INSIDE);
    let tall = height(&beside).max(picture + height(&under));
    (tall + height(&piles_below) <= room).then(|| {
        below.extend(piles_below);
        Content { picture: Some(picture), under, beside, below }
    })
}

/// More than one sheet: areas beside the picture, passes and piles below both, on further cards if need be.
fn several(view: &View<'_>, laid: &Laid<'_>, options: &PageOptions) -> Vec<Content> {
    let inner = ROOM - FRAME - HEADING;
    let scale = Scale::MIDDLE;
    let (picture, under) = (picture_height(view, laid), board_notes(laid, options.left_handed, PICTURE));
    let mut contents: Vec<Content> = fill(&areas(view, laid, scale), inner, inner)
        .into_iter()
        .map(|beside| Content { picture: Some(picture), under: under.clone(), beside, below: Vec::new() })
        .collect();
    let beside = contents.last().map_or(0, |last| height(&last.beside));
    let free = inner.saturating_sub(beside.max(picture + height(&under)) + BELOW);
    let piles = piles(view, laid, scale, INSIDE);
    let Boxes { head, rows } = boxes(laid, Type::BODY, INSIDE);
    let mut columns =
        fill(&[rows, piles].concat(), free.saturating_sub(head.height), inner - head.height - BELOW);
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

/// The picture on a whole sheet, as high as its width makes it.
fn picture_height(view: &View<'_>, laid: &Laid<'_>) -> Tenths {
    let (wide, high) = (f64::from(PICTURE) / 10.0, f64::from(TALLEST) / 10.0);
    (Picture::laid(view.job, laid, false).height(wide, high) * 10.0).ceil() as Tenths
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
            @if let Some(room) = content.picture {
                div.row {
                    div style={"width:" (mm(PICTURE + 30)) ";padding-right:3mm"} {
                        (drawing(view, laid, options, room))
                        @for block in &content.under { (block.html) }
                    }
                    div style={"width:" (mm(LISTS))} { @for block in &content.beside { (block.html) } }
                }
            }
            @if !content.below.is_empty() {
                div style={"padding-top:" (mm(BELOW))} { @for block in &content.below { (block.html) } }
            }
        }
    };
    Block::new(high, html)
}

/// The board.
fn drawing(view: &View<'_>, laid: &Laid<'_>, options: &PageOptions, room: Tenths) -> Markup {
    let (wide, high) = (f64::from(PICTURE) / 10.0, f64::from(room.min(TALLEST)) / 10.0);
    picture(Picture::laid(view.job, laid, options.left_handed).svg(wide, high, false))
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
