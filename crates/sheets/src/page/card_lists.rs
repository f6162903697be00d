//! The lists on a card: plies of every area, boxes for every pass, piles, and notes below the picture.

use maud::html;
use patchlay_plan::Face;
use patchlay_scenario::job::{Bay, Board};

use super::cards::{BESIDE, INSIDE};
use super::flow::{Block, mm, picture};
use super::parts::swatch;
use crate::fit::{self, Tenths, Type};
use crate::svg::board::angle;
use crate::svg::{stack, thumb};
use crate::view::{Area, Laid, Lying, Pile, View};
use crate::words;

/// Most groups in one block; an area with more goes on in the next.
const MOST_GROUPS: usize = 9;
/// Lines that a heading, and what a group is called, may take.
const MOST_LINES: (usize, usize) = (3, 2);
/// Column of the small board that shows where the area lies.
const THUMB: Tenths = 175;
/// Space between two columns of areas.
const BETWEEN: Tenths = 30;

/// Sizes of type and pictures on a card: as large as fits.
#[derive(Clone, Copy)]
pub(super) struct Scale {
    head: Type,
    strong: Type,
    text: Type,
    piles: Type,
    pub(super) tags: Type,
    side: stack::Size,
    swatch: Tenths,
    /// Areas in two columns, without the small boards.
    two_columns: bool,
    /// Width of the picture's column.
    pub(super) picture: Tenths,
    /// Lowest picture of the board.
    pub(super) least_picture: Tenths,
}

impl Scale {
    /// To be read at arm's length.
    pub(super) const LARGE: Self = Self {
        head: Type::HEAD,
        strong: Type::HEAD,
        text: Type::LARGE,
        piles: Type::LARGE,
        tags: Type::CARD,
        side: stack::Size::LARGE,
        swatch: 90,
        two_columns: false,
        picture: 630,
        least_picture: 620,
    };
    /// Where that does not fit.
    pub(super) const MIDDLE: Self = Self {
        strong: Type::STRONG,
        text: Type::CARD,
        piles: Type::CARD,
        side: stack::Size::SMALL,
        least_picture: 500,
        ..Self::LARGE
    };
    /// Where even that does not fit.
    pub(super) const COMPACT: Self =
        Self { piles: Type::BODY, tags: Type::BODY, swatch: 80, least_picture: 430, ..Self::MIDDLE };
    /// The same in two columns.
    pub(super) const DENSE: Self =
        Self { head: Type::STRONG, two_columns: true, picture: 510, least_picture: 400, ..Self::COMPACT };

    /// From large to small.
    pub(super) const ALL: [Self; 4] = [Self::LARGE, Self::MIDDLE, Self::COMPACT, Self::DENSE];

    /// Width beside the picture.
    pub(super) fn lists(self) -> Tenths {
        INSIDE - self.picture - BESIDE
    }
}

/// Every area with its plies, the first laid at the bottom. Areas laid alike share a block.
pub(super) fn areas(view: &View<'_>, laid: &Laid<'_>, scale: Scale) -> Vec<Block> {
    let width = if scale.two_columns { (scale.lists() - BETWEEN) / 2 } else { scale.lists() };
    let thumbs = laid.areas.len() > 1 && !scale.two_columns;
    let blocks: Vec<Block> = laid
        .areas
        .chunk_by(alike)
        .flat_map(|areas| area_blocks(view, laid, areas, scale, (width, thumbs)))
        .collect();
    if scale.two_columns { vec![in_columns(&blocks, width)] } else { blocks }
}

/// Blocks in two columns of like height, one read before the other.
fn in_columns(blocks: &[Block], width: Tenths) -> Block {
    let height = |blocks: &[Block]| blocks.iter().map(|block| block.height).sum::<Tenths>();
    let higher = |at: usize| height(&blocks[..at]).max(height(&blocks[at..]));
    let at = (0..=blocks.len()).rev().min_by_key(|at| higher(*at)).unwrap_or(0);
    let (first, second) = blocks.split_at(at);
    let high = higher(at);
    Block::new(
        high,
        html! {
            div.row style={"height:" (mm(high))} {
                div style={"width:" (mm(width + BETWEEN))} { @for block in first { (block.html) } }
                div style={"width:" (mm(width))} { @for block in second { (block.html) } }
            }
        },
    )
}

fn alike(one: &Area<'_>, other: &Area<'_>) -> bool {
    let sizes =
        |area: &Area<'_>| area.groups.iter().map(|lying| (lying.run, lying.width)).collect::<Vec<_>>();
    one.load.groups == other.load.groups && sizes(one) == sizes(other)
}

fn area_blocks(
    view: &View<'_>,
    laid: &Laid<'_>,
    areas: &[Area<'_>],
    scale: Scale,
    (width, thumbs): (Tenths, bool),
) -> Vec<Block> {
    let title = area_title(view, laid.board, areas);
    // A board with one area needs no small board to show which.
    let thumb = if thumbs { THUMB } else { 0 };
    let room = width - thumb;
    let groups = &areas[0].groups;
    let mut blocks = Vec::new();
    let rows: Vec<&[Lying<'_>]> = groups.chunk_by(like_cuts).collect();
    let parts: Vec<&[&[Lying<'_>]]> = rows.chunks(MOST_GROUPS).collect();
    let faces = !all_right_side_up(laid);
    for (at, part) in parts.iter().enumerate() {
        let more = if at > 0 { " (on top of those before)" } else { "" };
        let title = fit::wrap_within(&format!("{title}{more}"), scale.head, room, MOST_LINES.0);
        let rows: Vec<Block> = part.iter().rev().map(|like| group(view, like, scale, room, faces)).collect();
        let titles = scale.head.line * Tenths::try_from(title.len()).unwrap_or(1);
        let height = (titles + rows.iter().map(|row| row.height).sum::<Tenths>()).max(thumb)
            + if scale.two_columns { 8 } else { 15 };
        blocks.push(Block::new(
            height,
            html! {
                div.row style={"height:" (mm(height))} {
                    @if thumbs { div style={"width:" (mm(THUMB)) ";padding-top:1mm"} { (picture(thumb::svg(laid.board, areas))) } }
                    div {
                        div class=(scale.head.class) { @for line in &title { div.l { (line) } } }
                        @for row in &rows { (row.html) }
                    }
                }
            },
        ));
    }
    blocks
}

/// Whether every flat cut, and the first ply of every folded length, lies right side up: then one line says it.
pub(super) fn all_right_side_up(laid: &Laid<'_>) -> bool {
    laid.areas.iter().flat_map(|area| &area.groups).all(|lying| lying.group.first_face == Face::Up)
}

/// `area A: square 4, positions 1 and 2`.
fn area_title(view: &View<'_>, board: &Board, areas: &[Area<'_>]) -> String {
    let letters: Vec<String> = areas.iter().map(|area| area.letter.clone()).collect();
    let run_on = areas.windows(2).all(|pair| pair[0].number + 1 == pair[1].number);
    let named = match &letters[..] {
        [first, _, .., last] if run_on => format!("{first} to {last}"),
        _ => words::list(&letters),
    };
    let each = if areas.len() > 1 { ", each" } else { "" };
    let noun = if areas.len() > 1 { "areas" } else { "area" };
    format!("{noun} {named}{each}: {}", shapes(view, board, areas[0].bay))
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
fn group(view: &View<'_>, like: &[Lying<'_>], scale: Scale, width: Tenths, faces: bool) -> Block {
    let lying = &like[0];
    let cuts = u32::try_from(like.len()).unwrap_or(u32::MAX);
    let fabric = &view.job.fabrics[lying.fabric];
    let plies = lying.group.plies;
    let side = (scale.side.wide * 10.0).ceil() as Tenths;
    let room = width - scale.swatch - side - 50;
    let first = lying.group.first_face;
    let (what, drawing, drawn) = match (plies, cuts) {
        (1, 1) => (": 1 flat cut".to_owned(), stack::flat_svg(scale.side, 1, first), 1),
        (1, cuts) => (format!(": {cuts} flat cuts"), stack::flat_svg(scale.side, cuts, first), cuts),
        _ => (format!(": {plies} plies, folded"), stack::svg(scale.side, plies, first), plies),
    };
    // Of a name that is too long the end goes, never what is to be laid.
    let lines_of = |name: &str| fit::wrap(&format!("{name}{what}"), scale.strong, room);
    let name = lines_of(&fit::shorten_by(&fabric.name, |name| lines_of(name).len() <= MOST_LINES.1));
    let lines: Vec<String> = size_and_face(view, lying, scale, faces)
        .iter()
        .flat_map(|text| fit::wrap(text, scale.text, room))
        .collect();
    let count = |lines: &[String]| Tenths::try_from(lines.len()).unwrap_or(1);
    let text = scale.strong.line * count(&name) + scale.text.line * count(&lines);
    let drawn = (scale.side.height(drawn) * 10.0).ceil() as Tenths;
    let height = drawn.max(text).max(scale.swatch) + 14;
    Block::new(
        height,
        html! {
            div.row style={"height:" (mm(height)) ";align-items:center"} {
                div style={"width:" (mm(scale.swatch + 20))} { (swatch(lying.fabric, &fabric.letter, scale.swatch)) }
                div style={"width:" (mm(side + 20))} { (picture(drawing)) }
                div {
                    div class=(scale.strong.class) { @for line in &name { div.l { (line) } } }
                    div class=(scale.text.class) { @for line in &lines { div.l { (line) } } }
                }
            }
        },
    )
}

/// `4 3/4 in fold to fold, 5 in wide`, and which face lies up where that is not the same for all; a flat cut needs one
/// line. In two columns `4 3/4 x 5 in` must do: the first is from fold to fold.
fn size_and_face(view: &View<'_>, lying: &Lying<'_>, scale: Scale, faces: bool) -> Vec<String> {
    let units = view.job.units;
    let face = match lying.group.first_face {
        Face::Up => "right side up",
        Face::Down => "right side down",
    };
    let (run, width) = (lying.run, lying.width.show(units));
    let size = format!("{} x {width}", run.show_bare(units));
    match (lying.group.plies, faces) {
        (1, true) => vec![format!("{size}, {face}")],
        (1, false) => vec![size],
        (_, faces) => {
            let long = format!("{} fold to fold, {width} wide", run.show_bare(units));
            let mut lines = vec![if scale.two_columns { size } else { long }];
            if faces {
                lines.push(format!("first ply {face}"));
            }
            lines
        }
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
    if !turned.is_empty() {
        notes.push(format!("Blades turned: {}. Line the cloth up with them.", turned.join(", ")));
    }
    let mats: Vec<String> = laid
        .layup
        .mats
        .iter()
        .map(|mat| if mat.turned { format!("{} (laid crosswise)", mat.mat) } else { mat.mat.clone() })
        .collect();
    if !mats.is_empty() {
        notes.push(format!("Mat: {}.", mats.join(", ")));
    }
    if overlap(laid) {
        let order: Vec<&str> = laid.areas.iter().map(|area| area.letter.as_str()).collect();
        notes.push(format!("Areas lie on each other: lay them in the order {}.", order.join(", ")));
    }
    let other = "Drawn for a handle on the other hand; the blades stay as they are.";
    let mut blocks: Vec<Block> = notes.iter().map(|note| Block::text_in(note, Type::SMALL, width)).collect();
    let other = Block::text_in(other, Type::SMALL, width);
    // Both versions keep its room, so that they have the same pictures.
    blocks.push(if left_handed { other } else { Block::space(other.height) });
    blocks
}
