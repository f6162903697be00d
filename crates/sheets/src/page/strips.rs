//! Strips to cut, fabric by fabric: in the order of cutting, unless a group's day sheets give that.

use maud::html;
use patchlay_measure::Length;
use patchlay_plan::{Piece, Strip};

use super::flow::{Block, Part, mm};
use super::parts::{Cell, row, ticks};
use crate::fit::{self, Tenths, Type};
use crate::view::{Cloth, View, content};
use crate::words;

/// Strips between two squarings.
const BEFORE_SQUARING: usize = 5;
/// Most lines of one block.
const MOST_LINES: usize = 36;

/// A list up to this height is not split.
const SHORT: Tenths = 700;

const BOXES: Tenths = 245;
const TAGS: Tenths = 210;
const WIDTH: Tenths = 195;
const TEXT: Tenths = 1210;

/// Above the lists.
const IN_ORDER: &str = "Cut in this order and tag each length and cut as soon as it is cut: strip b of A3 is A3b. Strips run \
                        across the width of the fabric, from selvedge to selvedge.";
/// The same for a group.
const BY_DAY: &str = "This list is no order: the day sheets for strips say which are cut when, and where the end is squared. \
                      Tag each length and cut as soon as it is cut: strip b of A3 is A3b. Strips run across the width of \
                      the fabric, from selvedge to selvedge.";

/// One part per fabric that is cut or kept back.
pub(crate) fn parts(view: &View<'_>) -> Vec<Part> {
    let mut parts: Vec<Part> = view.cloths.iter().filter_map(|cloth| part(view, *cloth)).collect();
    if let Some(first) = parts.first_mut() {
        first.new_sheet = true;
        let note = Block::text(if view.by_day { BY_DAY } else { IN_ORDER }, Type::BODY);
        first.blocks.insert(0, note.with_next());
    }
    parts
}

fn part(view: &View<'_>, cloth: Cloth<'_>) -> Option<Part> {
    let fabric = cloth.fabric;
    if cloth.plan.strips.is_empty() && fabric.kept_back.is_empty() {
        return None;
    }
    let units = view.job.units;
    let mut blocks = Vec::new();
    let (squaring, _) = cloth.squaring();
    if squaring.is_positive() && !view.by_day {
        blocks.push(remark(&format!("Square the end: {} goes.", squaring.show(units))).with_next());
    }
    let strips = view.strips_in_order(cloth);
    let proof = strips.iter().filter(|(_, proof)| *proof).count();
    let mut cut = 0;
    strip_rows(view, cloth, &strips[..proof], &mut cut, &mut blocks);
    for (what, length) in &fabric.kept_back {
        blocks.push(kept_back(what, length.show(units)));
    }
    strip_rows(view, cloth, &strips[proof..], &mut cut, &mut blocks);
    let title = format!("Strips to cut: {} {}", fabric.letter, fabric.name);
    let short = blocks.iter().map(|block| block.height).sum::<Tenths>() <= SHORT;
    let part = Part::titled(&title, blocks).headed(head());
    Some(if short { part.together() } else { part })
}

fn head() -> Block {
    row(&[
        Cell::text("cut", Type::SMALL, BOXES),
        Cell::text("tag", Type::SMALL, TAGS),
        Cell::text("strip width", Type::SMALL, WIDTH),
        Cell::text("along the strip, and what it becomes", Type::SMALL, TEXT),
    ])
}

fn remark(text: &str) -> Block {
    row(&[Cell::text("", Type::BODY, BOXES), Cell::text(text, Type::BODY, TAGS + WIDTH + TEXT)])
}

fn kept_back(what: &str, length: String) -> Block {
    let cells = [
        Cell::text("keep back", Type::BODY, TAGS),
        Cell::text(&length, Type::STRONG, WIDTH),
        Cell::text(&format!("full width, for {what}: set it aside whole"), Type::BODY, TEXT),
    ];
    with_ticks(1, row(&cells))
}

fn with_ticks(count: usize, block: Block) -> Block {
    let html = html! {
        div.row style={"height:" (mm(block.height))} {
            div style={"width:" (mm(BOXES)) ";padding-top:0.8mm"} { (ticks(count, 35)) }
            (block.html)
        }
    };
    Block::new(block.height, html)
}

/// Like neighbours together, with a reminder to square again after every five strips.
fn strip_rows(
    view: &View<'_>,
    cloth: Cloth<'_>,
    strips: &[(&Strip, bool)],
    cut: &mut usize,
    blocks: &mut Vec<Block>,
) {
    let mut at = 0;
    while at < strips.len() {
        let squared = *cut > 0 && cut.is_multiple_of(BEFORE_SQUARING) && !view.by_day;
        if squared && cloth.fabric.resquaring.is_positive() {
            let goes = cloth.fabric.resquaring.show(view.job.units);
            blocks.push(remark(&format!("Square the end again: {goes} goes.")).with_next());
        }
        let room = if view.by_day { BEFORE_SQUARING } else { BEFORE_SQUARING - *cut % BEFORE_SQUARING };
        let like = |(strip, _): &&(&Strip, bool)| alike(view, strip, strips[at].0);
        let count = strips[at..].iter().take(room).take_while(like).count().max(1);
        let group: Vec<&Strip> = strips[at..at + count].iter().map(|(strip, _)| *strip).collect();
        blocks.extend(strip_row(view, cloth, &group, strips[at].1));
        at += count;
        *cut += count;
    }
}

/// Whether two strips are cut up in the same way for the same lay-ups.
fn alike(view: &View<'_>, one: &Strip, other: &Strip) -> bool {
    one.width == other.width
        && one.pieces.len() == other.pieces.len()
        && one.pieces.iter().zip(&other.pieces).all(|(a, b)| same_piece(view, a, b))
}

fn same_piece(view: &View<'_>, a: &Piece, b: &Piece) -> bool {
    (a.plies, a.run, a.length, a.width) == (b.plies, b.run, b.length, b.width)
        && goes_to(view, a) == goes_to(view, b)
}

fn goes_to<'v>(view: &'v View<'_>, piece: &Piece) -> Option<&'v str> {
    view.home(&piece.name).map(|laid| laid.layup.name.as_str())
}

/// Rows of like strips: the arithmetic in one line, then what each length becomes.
fn strip_row(view: &View<'_>, cloth: Cloth<'_>, strips: &[&Strip], proof: bool) -> Vec<Block> {
    let strip = strips[0];
    let mut lines = vec![(arithmetic(view, cloth, strip, proof), Type::STRONG)];
    for pieces in strip.pieces.chunk_by(|a, b| same_piece(view, a, b)) {
        lines.push((piece_line(view, strip, pieces), Type::BODY));
    }
    let wrapped: Vec<(String, Type)> = lines
        .into_iter()
        .flat_map(|(text, face)| fit::wrap(&text, face, TEXT - 20).into_iter().map(move |line| (line, face)))
        .collect();
    wrapped
        .chunks(MOST_LINES)
        .enumerate()
        .map(|(at, lines)| {
            let more = if at == 0 { "" } else { " (more)" };
            let count = if at == 0 { strips.len() } else { 0 };
            strip_block(&format!("{}{more}", tags(strips)), &strip.width.show(view.job.units), lines, count)
        })
        .collect()
}

/// `A3`, `A3 A4`, and `A3 to A7` where they follow each other.
fn tags(strips: &[&Strip]) -> String {
    let names: Vec<&str> = strips.iter().map(|strip| strip.name.as_str()).collect();
    let number = |name: &str| {
        let letters = name.trim_end_matches(|letter: char| letter.is_ascii_digit());
        name[letters.len()..].parse::<u64>().ok().map(|number| (letters.to_owned(), number))
    };
    let follows = |pair: &[&str]| match (number(pair[0]), number(pair[1])) {
        (Some((letters, one)), Some((more, other))) => letters == more && one.checked_add(1) == Some(other),
        _ => false,
    };
    match names[..] {
        [first, .., last] if names.len() > 2 && names.windows(2).all(follows) => format!("{first} to {last}"),
        _ => names.join(" "),
    }
}

fn strip_block(tags: &str, width: &str, lines: &[(String, Type)], count: usize) -> Block {
    let tags = fit::wrap(tags, Type::STRONG, TAGS - 20);
    let text: Tenths = lines.iter().map(|(_, face)| face.line).sum();
    let height = text.max(Type::STRONG.line * u32::try_from(tags.len()).unwrap_or(1)) + 16;
    Block::new(
        height,
        html! {
            div.row.line style={"height:" (mm(height)) ";padding-top:0.6mm"} {
                div style={"width:" (mm(BOXES)) ";padding-top:0.4mm"} { (ticks(count, 35)) }
                div.t-strong style={"width:" (mm(TAGS))} { @for tag in &tags { div.l { (tag) } } }
                div.t-strong style={"width:" (mm(WIDTH))} { div.l { (width) } }
                div style={"width:" (mm(TEXT))} {
                    @for (line, face) in lines { div class={"l " (face.class)} { (line) } }
                }
            }
        },
    )
}

/// `2 x 19 1/4 + 3 1/2 = 42 in of 42 1/2 in`.
fn arithmetic(view: &View<'_>, cloth: Cloth<'_>, strip: &Strip, proof: bool) -> String {
    let units = view.job.units;
    let first = if proof { "Proof block first. " } else { "" };
    let lengths: Vec<Length> = strip.pieces.iter().map(|piece| piece.length).collect();
    let sum = if lengths.len() > 1 { format!("{} = ", words::sum(lengths, units)) } else { String::new() };
    format!(
        "{first}{sum}{} of {} usable",
        content(strip).show(units),
        words::width_when_cut(cloth.fabric, units).show(units),
    )
}

fn piece_line(view: &View<'_>, strip: &Strip, pieces: &[Piece]) -> String {
    let letters: Vec<&str> =
        pieces.iter().map(|piece| piece.name.strip_prefix(&strip.name).unwrap_or(&piece.name)).collect();
    let words = words::becomes(&pieces[0], strip.width, view.job.units);
    let each = if pieces.len() > 1 { "each " } else { "" };
    let home = goes_to(view, &pieces[0]).map_or_else(String::new, |layup| format!(", for {layup}"));
    format!("{}: {each}{words}{home}", letters.join(" "))
}
