//! The lists on a card: plies of every area, boxes for every pass, piles, and notes below the picture.

use maud::{Markup, html};
use patchlay_plan::Face;
use patchlay_scenario::job::{Bay, Board};

use super::cards::LISTS;
use super::flow::{Block, mm, picture};
use super::parts::swatch;
use crate::fit::{self, Tenths, Type};
use crate::svg::board::angle;
use crate::svg::stack;
use crate::view::{Area, Laid, Lying, View};
use crate::words;

/// Most groups in one block; an area with more goes on in the next.
const MOST_GROUPS: usize = 14;
/// Passes in a column of boxes.
const FIVES: usize = 5;
const SWATCH: Tenths = 90;
const SIDE_VIEW: Tenths = 270;

/// Sizes of type on a card: as large as fits.
#[derive(Clone, Copy)]
pub(super) struct Scale {
    head: Type,
    strong: Type,
    text: Type,
    tags: Type,
}

impl Scale {
    /// To be read at arm's length.
    pub(super) const LARGE: Self =
        Self { head: Type::HEAD, strong: Type::HEAD, text: Type::LARGE, tags: Type::CARD };
    /// Where that does not fit on half a sheet.
    pub(super) const MIDDLE: Self =
        Self { head: Type::HEAD, strong: Type::STRONG, text: Type::CARD, tags: Type::CARD };
    /// Where even that does not fit.
    pub(super) const COMPACT: Self =
        Self { head: Type::HEAD, strong: Type::STRONG, text: Type::CARD, tags: Type::SMALL };
}

/// Every area with its plies, the first laid at the bottom. Areas laid alike share a block.
pub(super) fn areas(view: &View<'_>, laid: &Laid<'_>, scale: Scale) -> Vec<Block> {
    laid.areas.chunk_by(alike).flat_map(|areas| area_blocks(view, laid.board, areas, scale)).collect()
}

fn alike(one: &Area<'_>, other: &Area<'_>) -> bool {
    let sizes =
        |area: &Area<'_>| area.groups.iter().map(|lying| (lying.run, lying.width)).collect::<Vec<_>>();
    one.load.groups == other.load.groups && sizes(one) == sizes(other)
}

fn area_blocks(view: &View<'_>, board: &Board, areas: &[Area<'_>], scale: Scale) -> Vec<Block> {
    let title = area_title(view, board, areas);
    let groups = &areas[0].groups;
    let mut blocks = Vec::new();
    let rows: Vec<&[Lying<'_>]> = groups.chunk_by(like_cuts).collect();
    let parts: Vec<&[&[Lying<'_>]]> = rows.chunks(MOST_GROUPS).collect();
    for (at, part) in parts.iter().enumerate() {
        let more = if at > 0 { " (on top of those before)" } else { "" };
        let title = fit::one_line(&format!("{title}{more}"), scale.head, LISTS);
        let rows: Vec<Block> = part.iter().rev().map(|like| group(view, like, scale)).collect();
        let height = scale.head.line + rows.iter().map(|row| row.height).sum::<Tenths>() + 15;
        blocks.push(Block::new(
            height,
            html! {
                div style={"height:" (mm(height))} {
                    div.t-head.l { (title) }
                    @for row in &rows { (row.html) }
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
fn group(view: &View<'_>, like: &[Lying<'_>], scale: Scale) -> Block {
    let lying = &like[0];
    let cuts = u32::try_from(like.len()).unwrap_or(u32::MAX);
    let fabric = &view.job.fabrics[lying.fabric];
    let plies = lying.group.plies;
    let room = LISTS - SWATCH - SIDE_VIEW - 60;
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
        vec![format!("{} fold to fold, {width} wide", run.show(units)), format!("first ply {face}")]
    }
}

/// A box for every pass, in fives, with the side of the mat and the lengths and cuts that go in.
pub(super) fn passes(laid: &Laid<'_>, scale: Scale) -> Vec<Block> {
    let face = scale.tags;
    let cells: Vec<PassCell> = (0..laid.layup.passes.len()).flat_map(|at| PassCell::all(laid, at)).collect();
    let mut blocks =
        vec![Block::text_in("tick every pass; tags from the bottom up", Type::SMALL, LISTS).with_next()];
    if cells.iter().any(|cell| cell.lines(LISTS, face).len() > MOST_LINES_IN_FIVES) {
        blocks.extend(cells.iter().map(|cell| columns_block(&[std::slice::from_ref(cell)], LISTS, face)));
        return blocks;
    }
    let widest = cells.iter().map(|cell| cell.width(face)).max().unwrap_or(0).clamp(250, LISTS);
    let columns = (LISTS / widest).max(1);
    let fives: Vec<&[PassCell]> = cells.chunks(FIVES).collect();
    blocks.extend(fives.chunks(columns as usize).map(|row| columns_block(row, LISTS / columns, face)));
    blocks
}

/// Columns of passes side by side.
fn columns_block(columns: &[&[PassCell]], width: Tenths, face: Type) -> Block {
    let heights =
        columns.iter().map(|cells| cells.iter().map(|cell| cell.height(width, face)).sum::<Tenths>());
    let height = heights.max().unwrap_or(0) + 12;
    Block::new(
        height,
        html! {
            div.row style={"height:" (mm(height))} {
                @for cells in columns {
                    div style={"width:" (mm(width))} { @for cell in *cells { (cell.html(width, face)) } }
                }
            }
        },
    )
}

/// One pass, or a part of the tags of one.
struct PassCell {
    /// `7, mat side 1: A1a B2b`.
    text: String,
    /// Has the box to tick.
    first: bool,
}

/// Box and space before the text of a pass.
const BOX: Tenths = 65;
/// A pass with more lines of tags stands by itself.
const MOST_LINES_IN_FIVES: usize = 7;
/// Most tags in one cell.
const MOST_TAGS: usize = 120;

impl PassCell {
    /// The cells of a pass: one, unless it takes very many lengths and cuts.
    fn all(laid: &Laid<'_>, at: usize) -> Vec<Self> {
        let number = laid.first_pass + at;
        // Both sides in turn, then both again end for end.
        let side = if number % 2 == 1 { 1 } else { 2 };
        let turned = if matches!(number % 4, 3 | 0) { ", turned" } else { "" };
        let one = laid.areas.len() == 1;
        let by_area: Vec<String> = laid
            .areas
            .iter()
            .zip(&laid.layup.passes[at])
            .map(|(area, pieces)| {
                let tags = pieces.join(" ");
                if one { tags } else { format!("area {}: {tags}", area.letter) }
            })
            .collect();
        let text = format!("{number}, mat side {side}{turned}: {}", by_area.join("; "));
        let words: Vec<&str> = text.split_whitespace().collect();
        let cell = |(at, some): (usize, &[&str])| Self { text: some.join(" "), first: at == 0 };
        words.chunks(MOST_TAGS).enumerate().map(cell).collect()
    }

    fn width(&self, face: Type) -> Tenths {
        BOX + fit::width(&self.text, face) + 30
    }

    fn lines(&self, column: Tenths, face: Type) -> Vec<String> {
        fit::wrap(&self.text, face, column.saturating_sub(BOX + 20))
    }

    fn height(&self, column: Tenths, face: Type) -> Tenths {
        (face.line * u32::try_from(self.lines(column, face).len()).unwrap_or(1)).max(47) + 10
    }

    fn html(&self, column: Tenths, face: Type) -> Markup {
        html! {
            div.row style={"height:" (mm(self.height(column, face)))} {
                div style={"width:" (mm(BOX))} {
                    @if self.first { span.tick style="width:4.6mm;height:4.6mm;display:block" {} }
                }
                div class=(face.class) { @for line in self.lines(column, face) { div.l { (line) } } }
            }
        }
    }
}

/// The piles that grew, as they are after this lay-up.
pub(super) fn piles(view: &View<'_>, laid: &Laid<'_>, scale: Scale) -> Vec<Block> {
    let face = scale.text;
    let mut blocks = Vec::new();
    if !laid.piles.is_empty() {
        blocks.push(Block::text_in("piles now", scale.strong, LISTS).with_next());
    }
    for pile in &laid.piles {
        let count = match (pile.so_far, pile.wanted) {
            (so_far, 0) => format!("{so_far}, needed nowhere"),
            (so_far, wanted) if so_far > wanted => {
                format!("{wanted} of {wanted}, and {} over", so_far - wanted)
            }
            (so_far, wanted) => format!("{so_far} of {wanted}"),
        };
        blocks.push(Block::text_in(&format!("{}: {count}", view.pile_name(pile)), face, LISTS));
    }
    blocks
}

/// What to know about the picture.
pub(super) fn board_notes(laid: &Laid<'_>, left_handed: bool) -> Vec<Block> {
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
    notes.push("Arrows in the areas: threads along the strip. Side view: dotted is the right side, plain the wrong side; first laid at the bottom.".to_owned());
    if left_handed {
        notes.push("Drawn for a handle on the other hand; the blades stay as they are.".to_owned());
    }
    notes.iter().map(|note| Block::text_in(note, Type::SMALL, super::cards::PICTURE)).collect()
}
