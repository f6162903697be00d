//! The lists on a card: plies of every area, boxes for every pass, piles, and notes below the picture.

use maud::html;
use patchlay_plan::Face;
use patchlay_scenario::job::{Bay, Board};

use super::cards::LISTS;
use super::flow::{Block, mm, picture};
use super::parts::swatch;
use crate::fit::{self, Tenths, Type};
use crate::svg::board::angle;
use crate::svg::{stack, thumb};
use crate::view::{Area, Laid, Lying, Pile, View};
use crate::words;

/// Most groups in one block; an area with more goes on in the next.
const MOST_GROUPS: usize = 14;
const SWATCH: Tenths = 90;
const SIDE_VIEW: Tenths = (stack::WIDTH * 10.0) as Tenths;
/// Column of the small board that shows where the area lies.
const THUMB: Tenths = 175;

/// Sizes of type on a card: as large as fits.
#[derive(Clone, Copy)]
pub(super) struct Scale {
    head: Type,
    strong: Type,
    text: Type,
    piles: Type,
    pub(super) tags: Type,
}

impl Scale {
    /// To be read at arm's length.
    pub(super) const LARGE: Self = Self {
        head: Type::HEAD,
        strong: Type::HEAD,
        text: Type::LARGE,
        piles: Type::LARGE,
        tags: Type::CARD,
    };
    /// Where that does not fit on half a sheet.
    pub(super) const MIDDLE: Self = Self {
        head: Type::HEAD,
        strong: Type::STRONG,
        text: Type::CARD,
        piles: Type::CARD,
        tags: Type::CARD,
    };
    /// Where even that does not fit.
    pub(super) const COMPACT: Self = Self {
        head: Type::HEAD,
        strong: Type::STRONG,
        text: Type::CARD,
        piles: Type::BODY,
        tags: Type::SMALL,
    };
}

/// Every area with its plies, the first laid at the bottom. Areas laid alike share a block.
pub(super) fn areas(view: &View<'_>, laid: &Laid<'_>, scale: Scale) -> Vec<Block> {
    laid.areas
        .chunk_by(alike)
        .flat_map(|areas| area_blocks(view, laid.board, areas, scale, laid.areas.len() == 1))
        .collect()
}

fn alike(one: &Area<'_>, other: &Area<'_>) -> bool {
    let sizes =
        |area: &Area<'_>| area.groups.iter().map(|lying| (lying.run, lying.width)).collect::<Vec<_>>();
    one.load.groups == other.load.groups && sizes(one) == sizes(other)
}

fn area_blocks(view: &View<'_>, board: &Board, areas: &[Area<'_>], scale: Scale, alone: bool) -> Vec<Block> {
    let title = area_title(view, board, areas);
    // A board with one area needs no small board to show which.
    let thumb = if alone { 0 } else { THUMB };
    let room = LISTS - thumb;
    let groups = &areas[0].groups;
    let mut blocks = Vec::new();
    let rows: Vec<&[Lying<'_>]> = groups.chunk_by(like_cuts).collect();
    let parts: Vec<&[&[Lying<'_>]]> = rows.chunks(MOST_GROUPS).collect();
    for (at, part) in parts.iter().enumerate() {
        let more = if at > 0 { " (on top of those before)" } else { "" };
        let title = fit::one_line(&format!("{title}{more}"), scale.head, room);
        let rows: Vec<Block> = part.iter().rev().map(|like| group(view, like, scale, room)).collect();
        let height = (scale.head.line + rows.iter().map(|row| row.height).sum::<Tenths>()).max(thumb) + 15;
        blocks.push(Block::new(
            height,
            html! {
                div.row style={"height:" (mm(height))} {
                    @if !alone { div style={"width:" (mm(THUMB)) ";padding-top:1mm"} { (picture(thumb::svg(board, areas))) } }
                    div {
                        div.t-head.l { (title) }
                        @for row in &rows { (row.html) }
                    }
                }
            },
        ));
    }
    blocks
}

/// `area A: square 4, positions 1 and 2`.
fn area_title(view: &View<'_>, board: &Board, areas: &[Area<'_>]) -> String {
    let letters: Vec<String> = areas.iter().map(|area| area.letter.clone()).collect();
    let each = if areas.len() > 1 { ", each" } else { "" };
    let noun = if areas.len() > 1 { "areas" } else { "area" };
    format!("{noun} {}{each}: {}", words::list(&letters), shapes(view, board, areas[0].bay))
}

fn shapes(view: &View<'_>, board: &Board, bay: &Bay) -> String {
    let mut names: Vec<String> = Vec::new();
    for position in &bay.positions {
        let name = &view.job.shapes[board.positions[*position].shape].name;
        if !names.contains(name) {
            names.push(name.clone());
        }
    }
    names.join(" + ")
}

/// Whether two neighbours are flat cuts that differ in nothing, and so need saying once.
fn like_cuts(one: &Lying<'_>, other: &Lying<'_>) -> bool {
    one.group.plies == 1 && one.group == other.group
}

/// One folded length, or like flat cuts: fabric, picture from the side, what it is.
fn group(view: &View<'_>, like: &[Lying<'_>], scale: Scale, width: Tenths) -> Block {
    let lying = &like[0];
    let cuts = u32::try_from(like.len()).unwrap_or(u32::MAX);
    let fabric = &view.job.fabrics[lying.fabric];
    let plies = lying.group.plies;
    let room = width - SWATCH - SIDE_VIEW - 50;
    let (what, drawing, drawn) = match (plies, cuts) {
        (1, 1) => (": 1 flat cut".to_owned(), stack::flat_svg(1, lying.group.first_face), 1),
        (1, cuts) => (format!(": {cuts} flat cuts"), stack::flat_svg(cuts, lying.group.first_face), cuts),
        _ => (format!(": {plies} plies, folded"), stack::svg(plies, lying.group.first_face), plies),
    };
    let name_room = room.saturating_sub(fit::width(&what, scale.strong));
    let name = format!("{}{what}", fit::one_line(&fabric.name, scale.strong, name_room));
    let lines: Vec<String> =
        size_and_face(view, lying).iter().flat_map(|text| fit::wrap(text, scale.text, room)).collect();
    let text = scale.strong.line + scale.text.line * u32::try_from(lines.len()).unwrap_or(1);
    let drawn = (stack::height(drawn) * 10.0).ceil() as Tenths;
    let height = drawn.max(text).max(SWATCH) + 14;
    Block::new(
        height,
        html! {
            div.row style={"height:" (mm(height)) ";align-items:center"} {
                div style={"width:" (mm(SWATCH + 20))} { (swatch(lying.fabric, &fabric.letter, SWATCH)) }
                div style={"width:" (mm(SIDE_VIEW + 20))} { (picture(drawing)) }
                div {
                    div class={"l " (scale.strong.class)} { (name) }
                    div class=(scale.text.class) { @for line in &lines { div.l { (line) } } }
                }
            }
        },
    )
}

/// `4 3/4 in fold to fold, 5 in wide`, `first ply right side up`; a flat cut needs one line.
fn size_and_face(view: &View<'_>, lying: &Lying<'_>) -> Vec<String> {
    let units = view.job.units;
    let face = match lying.group.first_face {
        Face::Up => "right side up",
        Face::Down => "right side down",
    };
    let (run, width) = (lying.run, lying.width.show(units));
    if lying.group.plies == 1 {
        vec![format!("{} x {width}, {face}", run.show_bare(units))]
    } else {
        vec![format!("{} fold to fold, {width} wide", run.show_bare(units)), format!("first ply {face}")]
    }
}

/// The piles that grew, as they are after this lay-up, in as many columns as fit.
pub(super) fn piles(view: &View<'_>, laid: &Laid<'_>, scale: Scale, width: Tenths) -> Vec<Block> {
    let face = scale.piles;
    let (needed, extra): (Vec<&Pile>, Vec<&Pile>) = laid.piles.iter().partition(|pile| pile.wanted > 0);
    let texts: Vec<String> = needed.iter().map(|pile| pile_text(view, pile)).collect();
    let mut blocks = Vec::new();
    if !texts.is_empty() {
        blocks.push(Block::text_in("piles now", scale.strong, width).with_next());
    }
    let widest = texts.iter().map(|text| fit::width(text, face)).max().unwrap_or(0);
    let columns = (width / (widest + 40)).max(1);
    let column = width / columns;
    for row in texts.chunks(columns as usize) {
        let cells: Vec<Vec<String>> = row.iter().map(|text| fit::wrap(text, face, column)).collect();
        let lines = cells.iter().map(Vec::len).max().unwrap_or(1);
        let height = face.line * lines as Tenths;
        blocks.push(Block::new(
            height,
            html! {
                div.row style={"height:" (mm(height))} {
                    @for lines in &cells {
                        div class=(face.class) style={"width:" (mm(column))} { @for line in lines { div.l { (line) } } }
                    }
                }
            },
        ));
    }
    if !extra.is_empty() {
        let extra: Vec<String> =
            extra.iter().map(|pile| format!("{} {}", pile.so_far, view.pile_name(pile))).collect();
        // In parts, so that no block outgrows a sheet.
        for some in extra.chunks(12) {
            let said = format!("extra (spare) patches, needed nowhere: {}", some.join("; "));
            blocks.push(Block::text_in(&said, face, width));
        }
    }
    blocks
}

/// `Navy: square 4: 24 of 84`.
fn pile_text(view: &View<'_>, pile: &Pile) -> String {
    let count = match (pile.so_far, pile.wanted) {
        (so_far, wanted) if so_far > wanted => format!("{wanted} of {wanted}, and {} extra", so_far - wanted),
        (so_far, wanted) => format!("{so_far} of {wanted}"),
    };
    format!("{}: {count}", view.pile_name(pile))
}

/// Whether some position lies under several areas.
fn overlap(laid: &Laid<'_>) -> bool {
    let mut positions: Vec<usize> =
        laid.areas.iter().flat_map(|area| area.bay.positions.iter().copied()).collect();
    let all = positions.len();
    positions.sort_unstable();
    positions.dedup();
    positions.len() < all
}

/// What to know about the picture.
pub(super) fn board_notes(laid: &Laid<'_>, left_handed: bool, width: Tenths) -> Vec<Block> {
    let mut notes = Vec::new();
    let turned: Vec<String> = laid
        .areas
        .iter()
        .filter_map(|area| angle(area.bay.place.turn).map(|angle| format!("area {} by {angle}", area.letter)))
        .collect();
    if turned.is_empty() {
        notes.push("Black corner: the mark on the board. Blades square to the board.".to_owned());
    } else {
        notes.push(format!(
            "Black corner: the mark on the board. Blades turned: {}. Line the cloth up with them.",
            turned.join(", ")
        ));
    }
    let mats: Vec<String> = laid
        .layup
        .mats
        .iter()
        .map(|mat| if mat.turned { format!("{} (laid crosswise)", mat.mat) } else { mat.mat.clone() })
        .collect();
    if !mats.is_empty() {
        notes.push(format!("Mat (long and short dashes): {}.", mats.join(", ")));
    }
    if overlap(laid) {
        notes.push("Areas lie on each other: lay them in the order of their letters, A first.".to_owned());
    }
    notes.push("Arrows in the areas: threads along the strip. Side view: dotted is the right side, plain the wrong side; first laid at the bottom.".to_owned());
    let other = "Drawn for a handle on the other hand; the blades stay as they are.";
    let mut blocks: Vec<Block> = notes.iter().map(|note| Block::text_in(note, Type::SMALL, width)).collect();
    let other = Block::text_in(other, Type::SMALL, width);
    // Both versions keep its room, so that they have the same pictures.
    blocks.push(if left_handed { other } else { Block::space(other.height) });
    blocks
}
