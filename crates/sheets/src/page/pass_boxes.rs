//! A box for every pass, in fives, with the side of the mat and the lengths and cuts that go in: a table with a
//! column for every area, or columns of fives where there is only one area.

use maud::{Markup, html};

use super::flow::{Block, mm};
use crate::fit::{self, Tenths, Type};
use crate::view::Laid;

/// Passes in a group.
const FIVES: usize = 5;
/// Above the names of the passes.
const HEAD: &str = "tags from the bottom up";
/// Box and the space after it.
const BOX: Tenths = 65;
/// Space between columns.
const GUTTER: Tenths = 25;
/// A pass with more lines of tags stands by itself.
const MOST_LINES_IN_FIVES: usize = 6;
/// Most tags in one row; a pass with more goes on in the next.
const MOST_TAGS: usize = 120;

/// The boxes of a lay-up.
pub(super) struct Boxes {
    /// Stands above the rows, again on every card.
    pub(super) head: Block,
    /// Fives of passes.
    pub(super) rows: Vec<Block>,
}

/// Boxes for all passes of a lay-up in a column of that width. In a group's day the passes before this one are not known,
/// so it is not said which side of the mat is up.
pub(super) fn boxes(laid: &Laid<'_>, by_day: bool, face: Type, width: Tenths) -> Boxes {
    if laid.areas.len() > 1
        && let Some(table) = Table::new(laid, by_day, face, width)
    {
        return table.boxes();
    }
    let head = Block::text_in("tick every pass; tags from the bottom up", Type::SMALL, width).with_next();
    Boxes { head, rows: fives(laid, by_day, face, width) }
}

/// `7, mat side 1`: both sides in turn, then both again end for end; in a group's day `pass 7`.
fn pass_name(laid: &Laid<'_>, by_day: bool, at: usize) -> String {
    let number = laid.first_pass + at;
    if by_day {
        return format!("pass {number}");
    }
    let side = if number % 2 == 1 { 1 } else { 2 };
    let turned = if matches!(number % 4, 3 | 0) { ", turned" } else { "" };
    format!("{number}, mat side {side}{turned}")
}

fn tick() -> Markup {
    html! { span.tick style="width:4.6mm;height:4.6mm;display:block" {} }
}

/// A table with a column for every area.
struct Table<'a> {
    laid: &'a Laid<'a>,
    by_day: bool,
    face: Type,
    first: Tenths,
    columns: Vec<Tenths>,
}

impl<'a> Table<'a> {
    /// None if the columns would be too narrow for their tags.
    fn new(laid: &'a Laid<'a>, by_day: bool, face: Type, width: Tenths) -> Option<Self> {
        let names = (0..laid.layup.passes.len()).map(|at| fit::width(&pass_name(laid, by_day, at), face));
        let first = (BOX + names.max().unwrap_or(0)).max(fit::width(HEAD, Type::SMALL)) + GUTTER;
        let room = width.checked_sub(first)?;
        let wide = |text: &str| fit::width(text, face) + GUTTER;
        let cells = |area: usize| laid.layup.passes.iter().filter_map(move |pass| pass.get(area));
        let head =
            |area: usize| fit::width(&format!("area {}", laid.areas[area].letter), Type::SMALL) + GUTTER;
        let all = 0..laid.areas.len();
        // One line a pass if there is room for it, else at least a tag.
        let whole = |at: usize| cells(at).map(|tags| wide(&tags.join(" "))).max().unwrap_or(0).max(head(at));
        let least = |at: usize| cells(at).flatten().map(|tag| wide(tag)).max().unwrap_or(0).max(head(at));
        let whole: Vec<Tenths> = all.clone().map(whole).collect();
        let base =
            if whole.iter().sum::<Tenths>() <= room { whole } else { all.clone().map(least).collect() };
        let spare = room.checked_sub(base.iter().sum())?;
        let groups: usize = laid.areas.iter().map(|area| area.groups.len()).sum();
        let share = |area: usize| spare * laid.areas[area].groups.len() as Tenths / groups.max(1) as Tenths;
        let columns: Vec<Tenths> = all.map(|at| base[at] + share(at)).collect();
        let table = Self { laid, by_day, face, first, columns };
        let most = (0..laid.layup.passes.len()).map(|at| table.lines(at)).max().unwrap_or(0);
        (most <= 20).then_some(table)
    }

    fn cells(&self, pass: usize) -> Vec<Vec<String>> {
        let pieces = &self.laid.layup.passes[pass];
        let cell = |(pieces, width): (&Vec<String>, &Tenths)| {
            fit::wrap(&pieces.join(" "), self.face, width.saturating_sub(GUTTER))
        };
        pieces.iter().zip(&self.columns).map(cell).collect()
    }

    fn lines(&self, pass: usize) -> usize {
        self.cells(pass).iter().map(Vec::len).max().unwrap_or(1)
    }

    fn row_height(&self, pass: usize) -> Tenths {
        (self.face.line * self.lines(pass) as Tenths).max(47) + 6
    }

    fn boxes(&self) -> Boxes {
        let passes: Vec<usize> = (0..self.laid.layup.passes.len()).collect();
        let rows = passes.chunks(FIVES).flat_map(|five| self.five(five)).collect();
        Boxes { head: self.head(), rows }
    }

    /// Five passes in one block, unless they are very high.
    fn five(&self, passes: &[usize]) -> Vec<Block> {
        if passes.iter().any(|pass| self.lines(*pass) > MOST_LINES_IN_FIVES) {
            return passes.iter().map(|pass| self.block(&[*pass])).collect();
        }
        vec![self.block(passes)]
    }

    fn block(&self, passes: &[usize]) -> Block {
        let height = passes.iter().map(|pass| self.row_height(*pass)).sum::<Tenths>() + 8;
        Block::new(
            height,
            html! {
                div.five style={"height:" (mm(height))} { @for pass in passes { (self.row(*pass)) } }
            },
        )
    }

    fn row(&self, pass: usize) -> Markup {
        html! {
            div.row style={"height:" (mm(self.row_height(pass)))} {
                div style={"width:" (mm(BOX))} { (tick()) }
                div class=(self.face.class) style={"width:" (mm(self.first - BOX))} {
                    div.l { (pass_name(self.laid, self.by_day, pass)) }
                }
                @for (lines, width) in self.cells(pass).iter().zip(&self.columns) {
                    div class=(self.face.class) style={"width:" (mm(*width))} {
                        @for line in lines { div.l { (line) } }
                    }
                }
            }
        }
    }

    fn head(&self) -> Block {
        let height = Type::SMALL.line + 10;
        Block::new(
            height,
            html! {
                div.row.five.t-small style={"height:" (mm(height))} {
                    div style={"width:" (mm(self.first))} { div.l { (HEAD) } }
                    @for (area, width) in self.laid.areas.iter().zip(&self.columns) {
                        div.l style={"width:" (mm(*width))} { "area " (area.letter) }
                    }
                }
            },
        )
        .with_next()
    }
}

/// Fives of passes side by side, the tags after the name of the pass.
fn fives(laid: &Laid<'_>, by_day: bool, face: Type, width: Tenths) -> Vec<Block> {
    let cells: Vec<PassCell> =
        (0..laid.layup.passes.len()).flat_map(|at| PassCell::all(laid, by_day, at)).collect();
    if cells.iter().any(|cell| cell.lines(width, face).len() > MOST_LINES_IN_FIVES) {
        return cells.iter().map(|cell| columns(&[std::slice::from_ref(cell)], width, face)).collect();
    }
    let widest = cells.iter().map(|cell| cell.width(face)).max().unwrap_or(0).clamp(250, width);
    let count = (width / widest).max(1);
    let fives: Vec<&[PassCell]> = cells.chunks(FIVES).collect();
    fives.chunks(count as usize).map(|row| columns(row, width / count, face)).collect()
}

/// Columns of passes side by side.
fn columns(columns: &[&[PassCell]], width: Tenths, face: Type) -> Block {
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

impl PassCell {
    /// The cells of a pass: one, unless it takes very many lengths and cuts.
    fn all(laid: &Laid<'_>, by_day: bool, at: usize) -> Vec<Self> {
        let one = laid.areas.len() == 1;
        let by_area = laid.areas.iter().zip(&laid.layup.passes[at]).map(|(area, pieces)| {
            let tags = pieces.join(" ");
            if one { tags } else { format!("area {}: {tags}", area.letter) }
        });
        let text = format!("{}: {}", pass_name(laid, by_day, at), by_area.collect::<Vec<_>>().join("; "));
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
                div style={"width:" (mm(BOX))} { @if self.first { (tick()) } }
                div class=(face.class) { @for line in self.lines(column, face) { div.l { (line) } } }
            }
        }
    }
}
