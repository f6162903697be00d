//! Small things that several parts of the page use.

use maud::{Markup, html};

use super::flow::{Block, SHEET_WIDTH, mm, picture};
use crate::fit::{self, Tenths, Type};
use crate::svg::{escape, num, pattern};

/// A square of a fabric's pattern with its letter.
pub(crate) fn swatch(fabric: usize, letter: &str, side: Tenths) -> Markup {
    let size = f64::from(side) / 10.0;
    let letters = letter.chars().count().clamp(1, 4) as f64;
    let font = (size * 0.5).clamp(3.6, 7.5).min(size * 0.95 / letters);
    let wide = (font * 0.72 * letters + font * 0.3).min(size);
    let half = size / 2.0;
    picture(format!(
        "<svg viewBox=\"0 0 {s} {s}\" width=\"{s}mm\" height=\"{s}mm\" role=\"img\" aria-label=\"fabric {name}\">\
         <rect x=\".2\" y=\".2\" width=\"{i}\" height=\"{i}\" fill=\"url(#{id})\" stroke=\"#000000\" \
         stroke-width=\".4\"/><rect x=\"{x}\" y=\"{y}\" width=\"{w}\" height=\"{h}\" rx=\"1\" fill=\"#ffffff\"/>\
         <text x=\"{c}\" y=\"{b}\" font-size=\"{f}\" font-weight=\"bold\" text-anchor=\"middle\">{name}</text></svg>",
        s = num(size),
        i = num(size - 0.4),
        id = pattern::id(fabric),
        name = escape(&fit::shorten_by(letter, |text| text.chars().count() <= 4)),
        x = num(half - wide / 2.0),
        y = num(half - font * 0.55),
        w = num(wide),
        h = num(font * 1.1),
        c = num(half),
        b = num(half + font * 0.36),
        f = num(font),
    ))
}

/// Empty boxes to tick.
pub(crate) fn ticks(count: usize, side: Tenths) -> Markup {
    html! {
        @for _ in 0..count {
            span.tick style={"width:" (mm(side)) ";height:" (mm(side)) ";margin-right:" (mm(side / 3))} {}
        }
    }
}

/// A cell of a row: lines of text in a fixed width.
pub(crate) struct Cell {
    lines: Vec<String>,
    face: Type,
    width: Tenths,
    number: bool,
}

/// Space between the cells of a row.
const GUTTER: Tenths = 20;

impl Cell {
    /// Text, wrapped to the width of the cell.
    pub(crate) fn text(text: &str, face: Type, width: Tenths) -> Self {
        let lines = fit::wrap(text, face, width.saturating_sub(GUTTER));
        Self { lines, face, width, number: false }
    }

    /// The same, set against the far edge as numbers are.
    pub(crate) fn number(text: &str, face: Type, width: Tenths) -> Self {
        Self { number: true, ..Self::text(text, face, width) }
    }

    fn height(&self) -> Tenths {
        self.face.line * u32::try_from(self.lines.len()).unwrap_or(u32::MAX)
    }

    fn html(&self) -> Markup {
        let class = if self.number { "num" } else { "" };
        html! {
            div class={(self.face.class) " " (class)} style={"width:" (mm(self.width)) ";padding-right:" (mm(GUTTER))} {
                @for line in &self.lines { div.l { (line) } }
            }
        }
    }
}

/// A row of cells with a line below it, as high as its highest cell.
pub(crate) fn row(cells: &[Cell]) -> Block {
    spaced(cells, 12)
}

/// The same for long tables.
pub(crate) fn tight_row(cells: &[Cell]) -> Block {
    spaced(cells, 7)
}

/// A row of a table with these columns: the first cell as text, the others as numbers.
pub(crate) fn numbers_row(columns: &[(&str, Tenths)], texts: &[String], face: Type) -> Block {
    let cell = |(at, ((_, width), text)): (usize, (&(&str, Tenths), &String))| match at {
        0 => Cell::text(text, face, *width),
        _ => Cell::number(text, face, *width),
    };
    let cells: Vec<Cell> = columns.iter().zip(texts).enumerate().map(cell).collect();
    tight_row(&cells)
}

/// Two columns of blocks beside each other as one block, the second beginning at `second`.
pub(crate) fn side_by_side(columns: [&[Block]; 2], second: Tenths) -> Block {
    let height = columns.map(|blocks| blocks.iter().map(|block| block.height).sum::<Tenths>());
    let height = height[0].max(height[1]);
    let [left, right] = columns;
    Block::new(
        height,
        html! {
            div.row style={"height:" (mm(height))} {
                div style={"width:" (mm(second))} { @for block in left { (block.html) } }
                div style={"width:" (mm(SHEET_WIDTH - second))} { @for block in right { (block.html) } }
            }
        },
    )
}

fn spaced(cells: &[Cell], space: Tenths) -> Block {
    let height = cells.iter().map(Cell::height).max().unwrap_or(0) + space;
    Block::new(
        height,
        html! {
            div.row.line style={"height:" (mm(height)) ";padding-top:" (mm((space - 2) / 2)) ";width:fit-content"} {
                @for cell in cells { (cell.html()) }
            }
        },
    )
}
