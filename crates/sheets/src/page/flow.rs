//! Laying blocks of known height on sheets of fixed size. A sheet fits the printable area of Letter and of A4 alike,
//! so a page breaks where this module says and nowhere else, and page n of m is known when the page is written.

use maud::{Markup, PreEscaped, html};

use crate::fit::{self, Tenths, Type};

/// Width of a sheet: A4 (210 mm) less 12 mm a side.
pub(crate) const SHEET_WIDTH: Tenths = 1860;
/// Height of a sheet: Letter (279.4 mm) less 12 mm at top and bottom, rounded down.
pub(crate) const SHEET_HEIGHT: Tenths = 2550;
/// Height of the line with scenario, plan and page on every sheet, with the space below it.
const BANNER: Tenths = 75;
/// What is left for blocks.
pub(crate) const ROOM: Tenths = SHEET_HEIGHT - BANNER;

/// Width of one of two columns.
pub(crate) const COLUMN: Tenths = 915;
/// Space between two lists in a column.
const BETWEEN_LISTS: Tenths = 28;

/// Something that is never split.
#[derive(Clone)]
pub(crate) struct Block {
    /// Height.
    pub(crate) height: Tenths,
    /// What it shows; as high as `height` says.
    pub(crate) html: Markup,
    /// Stays on one sheet with the block after it.
    pub(crate) with_next: bool,
}

/// Blocks that belong together.
pub(crate) struct Part {
    /// Stands above it, and again on every further sheet.
    pub(crate) title: Option<String>,
    /// Stands below the title on every sheet: the names of the columns.
    pub(crate) head: Option<Block>,
    /// The blocks.
    pub(crate) blocks: Vec<Block>,
    /// Begins on a new sheet.
    pub(crate) new_sheet: bool,
}

impl Part {
    /// A part with a title.
    pub(crate) fn titled(title: &str, blocks: Vec<Block>) -> Self {
        Self { title: Some(title.to_owned()), head: None, blocks, new_sheet: false }
    }

    /// With column names.
    pub(crate) fn headed(mut self, head: Block) -> Self {
        self.head = Some(head);
        self
    }

    /// On one sheet, wherever that sheet is; only for what is lower than a sheet.
    pub(crate) fn together(mut self) -> Self {
        let last = self.blocks.len().saturating_sub(1);
        self.blocks.iter_mut().take(last).for_each(|block| block.with_next = true);
        self
    }

    /// On a new sheet.
    pub(crate) fn on_new_sheet(mut self) -> Self {
        self.new_sheet = true;
        self
    }
}

impl Block {
    /// A block whose content has its height by itself.
    pub(crate) fn new(height: Tenths, html: Markup) -> Self {
        Self { height, html, with_next: false }
    }

    /// Lines of text, already wrapped.
    pub(crate) fn lines(lines: &[String], face: Type) -> Self {
        let height = face.line * count(lines);
        Self::new(height, html! { div class=(face.class) { @for line in lines { div.l { (line) } } } })
    }

    /// A paragraph over the full width.
    pub(crate) fn text(text: &str, face: Type) -> Self {
        Self::text_in(text, face, SHEET_WIDTH)
    }

    /// A paragraph in a column.
    pub(crate) fn text_in(text: &str, face: Type, width: Tenths) -> Self {
        Self::lines(&fit::wrap(text, face, width), face)
    }

    /// A point of a list over the full width.
    pub(crate) fn point(text: &str, face: Type) -> Self {
        Self::point_in(text, face, SHEET_WIDTH)
    }

    /// A point of a list in a column.
    pub(crate) fn point_in(text: &str, face: Type, width: Tenths) -> Self {
        let lines = fit::wrap(text, face, width.saturating_sub(40));
        let height = face.line * count(&lines);
        Self::new(
            height,
            html! { div class={"point " (face.class)} { @for line in &lines { div.l { (line) } } } },
        )
    }

    /// The title of a part, in a column.
    pub(crate) fn title(text: &str, width: Tenths) -> Self {
        let text = fit::one_line(text, Type::TITLE, width);
        let height = Type::TITLE.line + 15;
        Self::new(height, html! { h2.t-title style={"height:" (mm(height))} { (text) } })
    }

    /// Empty space.
    pub(crate) fn space(height: Tenths) -> Self {
        Self::new(height, html! { div style={"height:" (mm(height))} {} })
    }

    /// Stays with the block after it.
    pub(crate) fn with_next(mut self) -> Self {
        self.with_next = true;
        self
    }
}

/// A list no wider than a column.
pub(crate) struct List {
    /// Stands above it, and again where it goes on in another column.
    pub(crate) head: Option<Block>,
    /// Its lines; those that stay together are not torn apart unless they are higher than a column.
    pub(crate) blocks: Vec<Block>,
}

/// A part with lists in two columns a sheet, read one after the other; `names` stand above each column. It begins on a
/// new sheet, because every block of it is as high as a sheet.
pub(crate) fn in_columns(title: &str, names: Option<&Block>, lists: &[List]) -> Part {
    let room = ROOM - Block::title(title, SHEET_WIDTH).height;
    let mut columns: Vec<(Vec<Block>, Tenths)> = Vec::new();
    for list in lists {
        let head = list.head.as_ref().map_or(0, |head| head.height);
        let highest = room.saturating_sub(names.map_or(0, |names| names.height) + head);
        let whole = runs(&list.blocks).into_iter().flat_map(|run| {
            let height: Tenths = run.iter().map(|block| block.height).sum();
            if height <= highest { vec![run] } else { run.chunks(1).collect() }
        });
        for (at, run) in whole.enumerate() {
            let height: Tenths = run.iter().map(|block| block.height).sum();
            let opening = if at == 0 { BETWEEN_LISTS + head } else { 0 };
            let fits = columns.last().is_some_and(|(_, used)| used + opening + height <= room);
            if !fits {
                let blocks: Vec<Block> = names.cloned().into_iter().collect();
                columns.push((blocks, names.map_or(0, |names| names.height)));
            }
            let Some((column, used)) = columns.last_mut() else { continue };
            if at == 0 && fits {
                column.push(Block::space(BETWEEN_LISTS));
                *used += BETWEEN_LISTS;
            }
            if at == 0 || !fits {
                column.extend(list.head.clone());
                *used += head;
            }
            column.extend_from_slice(run);
            *used += height;
        }
    }
    let sheet = |two: &[(Vec<Block>, Tenths)]| {
        let height = two.iter().map(|(_, used)| *used).max().unwrap_or(0);
        Block::new(
            height,
            html! {
                div.row style={"height:" (mm(height)) ";justify-content:space-between"} {
                    @for (column, _) in two {
                        div style={"width:" (mm(COLUMN))} { @for block in column { (block.html) } }
                    }
                }
            },
        )
    };
    Part::titled(title, columns.chunks(2).map(sheet).collect()).on_new_sheet()
}

fn count(lines: &[String]) -> u32 {
    u32::try_from(lines.len()).unwrap_or(u32::MAX)
}

/// `12.3mm`.
pub(crate) fn mm(tenths: Tenths) -> String {
    format!("{}.{}mm", tenths / 10, tenths % 10)
}

/// What stands on every sheet.
pub(crate) struct Banner<'a> {
    pub(crate) scenario: &'a str,
    /// What the number is of: a plan, or a comparison.
    pub(crate) what: &'static str,
    pub(crate) plan: &'a str,
}

/// One sheet.
#[derive(Default)]
struct Sheet {
    blocks: Vec<Markup>,
    /// A block is higher than a sheet. Parts split what may grow, so this never happens; a test looks for it.
    overfull: bool,
}

/// Sheets being filled.
struct Filling {
    sheets: Vec<Sheet>,
    used: Tenths,
}

impl Filling {
    fn next_sheet(&mut self) {
        self.sheets.push(Sheet::default());
        self.used = 0;
    }

    fn fits(&self, height: Tenths) -> bool {
        self.used + height <= ROOM
    }

    fn put(&mut self, block: &Block) {
        self.used += block.height;
        if let Some(sheet) = self.sheets.last_mut() {
            sheet.blocks.push(block.html.clone());
            sheet.overfull |= self.used > ROOM;
        }
    }
}

/// The sheet, from 1, on which each part begins.
pub(crate) fn first_pages(parts: &[Part]) -> Vec<usize> {
    let mut filling = Filling { sheets: vec![Sheet::default()], used: 0 };
    let begin = |part: &Part| {
        let before = (filling.sheets.len(), filling.sheets.last().map_or(0, |sheet| sheet.blocks.len()));
        fill(&mut filling, part);
        // A part that put nothing on the sheet it found begins on the next.
        let on_it = filling.sheets.get(before.0 - 1).map_or(0, |sheet| sheet.blocks.len()) > before.1;
        if on_it { before.0 } else { before.0 + 1 }
    };
    parts.iter().map(begin).collect()
}

/// All parts as sheets, each with its banner.
pub(crate) fn sheets(parts: &[Part], banner: &Banner<'_>) -> Markup {
    let mut filling = Filling { sheets: vec![Sheet::default()], used: 0 };
    for part in parts {
        fill(&mut filling, part);
    }
    let of = filling.sheets.len();
    html! {
        @for (at, sheet) in filling.sheets.iter().enumerate() {
            section.sheet.overfull[sheet.overfull] id={"p" (at + 1)} {
                (line(banner, at + 1, of))
                @for block in &sheet.blocks { (block) }
            }
        }
    }
}

fn fill(filling: &mut Filling, part: &Part) {
    let empty = filling.used == 0;
    if part.new_sheet && !empty {
        filling.next_sheet();
    }
    let mut first = true;
    for run in runs(&part.blocks) {
        let height: Tenths = run.iter().map(|block| block.height).sum();
        let opening = opening(part, first);
        let opening_height: Tenths = opening.iter().map(|block| block.height).sum();
        if first {
            let above = if filling.used == 0 { 0 } else { 40 };
            if filling.fits(above + opening_height + height) {
                filling.put(&Block::space(above));
            } else {
                filling.next_sheet();
            }
            opening.iter().for_each(|block| filling.put(block));
            first = false;
        } else if !filling.fits(height) {
            filling.next_sheet();
            opening.iter().for_each(|block| filling.put(block));
        }
        run.iter().for_each(|block| filling.put(block));
    }
}

/// Blocks that stay together, run by run.
fn runs(blocks: &[Block]) -> Vec<&[Block]> {
    blocks.split_inclusive(|block| !block.with_next).collect()
}

/// Title and column names.
fn opening(part: &Part, first: bool) -> Vec<Block> {
    let mut opening = Vec::new();
    if let Some(title) = &part.title {
        let more = if first { "" } else { " (continued)" };
        opening.push(Block::title(&format!("{title}{more}"), SHEET_WIDTH));
    }
    opening.extend(part.head.clone());
    opening
}

fn line(banner: &Banner<'_>, page: usize, of: usize) -> Markup {
    let place = format!("{} {} · page {page} of {of}", banner.what, banner.plan);
    let room = SHEET_WIDTH.saturating_sub(fit::width(&place, Type::BODY) + 30);
    let name = fit::one_line(banner.scenario, Type::STRONG, room);
    html! {
        header.banner {
            span.t-strong { (name) }
            span.t-body { (place) }
        }
    }
}

/// A picture that is already SVG text.
pub(crate) fn picture(svg: String) -> Markup {
    PreEscaped(svg)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn block(height: Tenths) -> Block {
        Block::new(height, html! { p { "x" } })
    }

    fn laid(parts: &[Part]) -> String {
        sheets(parts, &Banner { scenario: "Quilt", what: "Plan", plan: "1" }).into_string()
    }

    #[test]
    fn a_sheet_is_never_overfull_and_every_sheet_counts() {
        let blocks = vec![block(ROOM / 3); 10];
        let text = laid(&[Part { title: None, head: None, blocks, new_sheet: false }]);
        assert_eq!(text.matches("<section").count(), 4);
        assert!(text.contains("page 1 of 4") && text.contains("page 4 of 4"));
    }

    #[test]
    fn a_block_higher_than_a_sheet_is_marked() {
        let text = laid(&[Part { title: None, head: None, blocks: vec![block(ROOM + 1)], new_sheet: false }]);
        assert!(text.contains("overfull"));
    }

    #[test]
    fn titles_and_column_names_come_again_on_further_sheets() {
        let part = Part::titled("Strips", vec![block(1000); 5]).headed(Block::text("width", Type::SMALL));
        let text = laid(&[part]);
        assert_eq!(text.matches(">Strips</h2>").count(), 1);
        assert_eq!(text.matches(">Strips (continued)</h2>").count(), 2);
        assert_eq!(text.matches(">width<").count(), 3);
    }

    #[test]
    fn two_columns_fill_a_sheet_and_lists_take_their_heads_along() {
        // Twenty-five lines of 200 under a head: eleven stand in a column of 2380, so three columns on two sheets.
        let list = List { head: Some(Block::text("run 1", Type::SMALL)), blocks: vec![block(200); 25] };
        let text = laid(&[in_columns("Sorting", Some(&Block::text("pass", Type::SMALL)), &[list])]);
        assert_eq!(text.matches("<section").count(), 2);
        assert_eq!((text.matches(">pass<").count(), text.matches(">run 1<").count()), (3, 3));
        assert_eq!(text.matches("<p>").count(), 25);
        assert!(!text.contains("overfull"));
    }

    #[test]
    fn a_list_higher_than_a_column_is_torn_and_any_other_is_not() {
        let list = |count: usize| {
            let blocks = vec![block(500).with_next(); count];
            List { head: None, blocks }
        };
        let text = laid(&[in_columns("Bags", None, &[list(3), list(3), list(9)])]);
        assert!(!text.contains("overfull"));
        // A column of 2380 has room for four lines of 500. Three and three stand in two columns, though six would fit
        // otherwise in one and a half; of the nine one more stands in the second, four in a third and four in a fourth.
        let columns: Vec<usize> =
            text.split("width:91.5mm").skip(1).map(|column| column.matches("<p>").count()).collect();
        assert_eq!(columns, [3, 4, 4, 4]);
    }

    #[test]
    fn blocks_that_belong_together_move_together() {
        let blocks = vec![block(ROOM - 200), block(150).with_next(), block(150)];
        let text = laid(&[Part { title: None, head: None, blocks, new_sheet: false }]);
        let second = text.split("<section").nth(2).unwrap();
        assert_eq!(second.matches("<p>").count(), 2);
    }
}
