//! One card per lay-up, to stand beside the cutter and be read at arm's length: as high as it needs to be, two on a
//! sheet where they fit. A lay-up that needs more takes a whole sheet, or several.

use maud::{Markup, html};

use super::PageOptions;
use super::card_lists::{Scale, all_right_side_up, areas, board_notes, piles};
use super::flow::{Block, Part, ROOM, SHEET_WIDTH, mm, picture};
use super::pass_boxes::{Boxes, boxes};
use crate::fit::{self, Tenths, Type};
use crate::svg::board::Picture;
use crate::view::{Laid, View};
use crate::words;

/// Cut line between two cards on a sheet.
const GAP: Tenths = 30;
/// Frame and padding of a card, both sides together.
const FRAME: Tenths = 50;
/// Width inside the frame.
pub(super) const INSIDE: Tenths = SHEET_WIDTH - FRAME;
/// Space between the picture and what stands beside it.
pub(super) const BESIDE: Tenths = 30;
/// Highest picture.
const TALLEST: Tenths = 1100;
/// What a group's card says of its place in the day.
const BY_DAY: &str = "The day sheets say when each pass is cranked, and where.";
/// Space above what stands below the picture.
const BELOW: Tenths = 12;

/// All cards in the order of work, two on a sheet where they fit: as few sheets as that order allows.
pub(crate) fn parts(view: &View<'_>, options: &PageOptions) -> Vec<Part> {
    let sized: Vec<Vec<Content>> = view
        .layups
        .iter()
        .map(|laid| Scale::ALL.into_iter().map(|scale| natural(view, laid, scale, options)).collect())
        .collect();
    let pairs: Vec<Option<(usize, usize)>> = sized.windows(2).map(|two| pair(&two[0], &two[1])).collect();
    // Fewest sheets for the cards from each on, and whether the first two of them share one.
    let mut sheets = vec![(0, false); sized.len() + 1];
    for at in (0..sized.len()).rev() {
        let alone = 1 + sheets[at + 1].0;
        let shared = pairs.get(at).copied().flatten().map(|_| 1 + sheets[at + 2].0);
        sheets[at] = shared.filter(|shared| *shared <= alone).map_or((alone, false), |shared| (shared, true));
    }
    let mut blocks = Vec::new();
    let mut at = 0;
    while at < sized.len() {
        let laid = |at: usize| &view.layups[at];
        let of_scale = |at: usize, scale: usize, free: Tenths| {
            card(view, laid(at), options, &sized[at][scale].grown(free), (1, 1))
        };
        match pairs.get(at).copied().flatten().filter(|_| sheets[at].1) {
            Some((one, other)) => {
                let free = ROOM - GAP - sized[at][one].height - sized[at + 1][other].height;
                let two = [of_scale(at, one, free / 2), of_scale(at + 1, other, free / 2)];
                let [first, second] = two;
                blocks.push(sheet(&[first, cut_line(), second]));
                at += 2;
            }
            None => {
                let fitting = (0..sized[at].len()).find(|&scale| sized[at][scale].height <= ROOM);
                blocks.extend(match fitting {
                    Some(scale) => vec![sheet(&[of_scale(at, scale, ROOM - sized[at][scale].height)])],
                    None => cards(view, laid(at), options),
                });
                at += 1;
            }
        }
    }
    if blocks.is_empty() {
        return Vec::new();
    }
    vec![Part { title: None, head: None, blocks, new_sheet: true }]
}

/// The largest scales at which two cards share a sheet.
fn pair(one: &[Content], other: &[Content]) -> Option<(usize, usize)> {
    let scales = (0..one.len()).flat_map(|a| (0..other.len()).map(move |b| (a, b)));
    scales
        .filter(|&(a, b)| one[a].height + GAP + other[b].height <= ROOM)
        .min_by_key(|&(a, b)| (a.max(b), a + b, a))
}

/// A whole sheet.
fn sheet(blocks: &[Block]) -> Block {
    Block::new(ROOM, html! { div style={"height:" (mm(ROOM))} { @for block in blocks { (block.html) } } })
}

fn cut_line() -> Block {
    Block::new(GAP, html! { div style={"height:" (mm(GAP)) ";padding-top:" (mm(GAP / 2))} { div.cut {} } })
}

/// What stands on one card.
#[derive(Clone)]
struct Content {
    /// Height of the card.
    height: Tenths,
    /// Room for the picture, width and height; without: goes on from the card before.
    picture: Option<(Tenths, Tenths)>,
    /// By how much the picture could be higher.
    spare: Tenths,
    /// Below the picture.
    under: Vec<Block>,
    /// Beside the picture.
    beside: Vec<Block>,
    /// Below all that, over the whole width.
    below: Vec<Block>,
}

impl Content {
    /// With a higher picture where the sheet has so much room left.
    fn grown(&self, free: Tenths) -> Self {
        let more = free.min(self.spare);
        let picture = self.picture.map(|(wide, high)| (wide, high + more));
        Self { height: self.height + more, picture, spare: self.spare - more, ..self.clone() }
    }
}

fn height(blocks: &[Block]) -> Tenths {
    blocks.iter().map(|block| block.height).sum()
}

/// A card as high as it needs to be: areas beside the picture, passes below both or beside it too, piles wherever they
/// take least.
fn natural(view: &View<'_>, laid: &Laid<'_>, scale: Scale, options: &PageOptions) -> Content {
    let lists = scale.lists();
    let areas = areas(view, laid, scale);
    let notes = board_notes(laid, options.left_handed, scale.picture);
    let full = picture_height(view, laid, scale.picture);
    let drawn = full.min(scale.least_picture) + height(&notes);
    let rows = |width| {
        let Boxes { head, rows } = boxes(laid, view.by_day, scale.tags, width);
        [vec![head], rows].concat()
    };
    let piles = |width| piles(view, laid, scale, width);
    let (rows_below, rows_beside) = (rows(INSIDE), rows(lists));
    let (under, beside, below) = (piles(scale.picture), piles(lists), piles(INSIDE));
    let ways = [
        (Vec::new(), [rows_beside, beside.clone()].concat(), Vec::new()),
        (Vec::new(), beside, rows_below.clone()),
        (under, Vec::new(), rows_below.clone()),
        (Vec::new(), Vec::new(), [rows_below, below].concat()),
    ];
    let sized = ways.map(|(under, beside, below)| {
        let beside = [areas.clone(), beside].concat();
        let tall = height(&beside).max(drawn + height(&under));
        let room = if below.is_empty() { 0 } else { BELOW + height(&below) };
        let under = [notes.clone(), under].concat();
        let most = full.min(TALLEST);
        let picture = (scale.picture, (tall - height(&under)).min(most));
        let spare = most - picture.1;
        let height = FRAME + heading(view, laid, 1, 1).height + tall + room;
        Content { height, picture: Some(picture), spare, under, beside, below }
    });
    let [first, others @ ..] = sized;
    others.into_iter().fold(first, |best, next| if next.height < best.height { next } else { best })
}

/// A lay-up that needs more than one sheet: areas beside the picture, passes and piles below both, on further cards if
/// need be.
fn cards(view: &View<'_>, laid: &Laid<'_>, options: &PageOptions) -> Vec<Block> {
    let contents = several(view, laid, options);
    let of = contents.len();
    let card = |(at, content)| sheet(&[card(view, laid, options, content, (at + 1, of))]);
    contents.iter().enumerate().map(card).collect()
}

fn several(view: &View<'_>, laid: &Laid<'_>, options: &PageOptions) -> Vec<Content> {
    // The heading is highest where it counts the cards.
    let inner = ROOM - FRAME - heading(view, laid, 88, 88).height;
    let scale = Scale::MIDDLE;
    let picture = picture_height(view, laid, scale.picture);
    // Piles go below the picture where there is room for them, so that no card has a pile alone.
    let notes = board_notes(laid, options.left_handed, scale.picture);
    let with_piles = [notes.clone(), piles(view, laid, scale, scale.picture)].concat();
    let fits = picture + height(&with_piles) <= inner;
    let under = if fits { with_piles } else { notes };
    let mut contents: Vec<Content> = fill(&areas(view, laid, scale), inner, inner)
        .into_iter()
        .map(|beside| Content {
            height: ROOM,
            picture: Some((scale.picture, picture)),
            spare: 0,
            under: under.clone(),
            beside,
            below: Vec::new(),
        })
        .collect();
    let beside = contents.last().map_or(0, |last| height(&last.beside));
    let free = inner.saturating_sub(beside.max(picture + height(&under)) + BELOW);
    let piles = if fits { Vec::new() } else { piles(view, laid, scale, INSIDE) };
    let Boxes { head, rows } = boxes(laid, view.by_day, Type::BODY, INSIDE);
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
    contents.extend(columns.into_iter().map(|rows| Content {
        height: ROOM,
        picture: None,
        spare: 0,
        under: Vec::new(),
        beside: Vec::new(),
        below: with_head(rows),
    }));
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

/// The picture as high as its width makes it.
fn picture_height(view: &View<'_>, laid: &Laid<'_>, wide: Tenths) -> Tenths {
    let (wide, high) = (f64::from(wide) / 10.0, f64::from(TALLEST) / 10.0);
    (Picture::laid(view.job, laid, false).height(wide, high) * 10.0).ceil() as Tenths
}

fn card(
    view: &View<'_>,
    laid: &Laid<'_>,
    options: &PageOptions,
    content: &Content,
    (number, of): (usize, usize),
) -> Block {
    let html = html! {
        div.card style={"height:" (mm(content.height)) ";width:" (mm(SHEET_WIDTH))} {
            (heading(view, laid, number, of).html)
            @if let Some((wide, high)) = content.picture {
                div.row {
                    div style={"width:" (mm(wide + BESIDE)) ";padding-right:" (mm(BESIDE))} {
                        (drawing(view, laid, options, (wide, high)))
                        @for block in &content.under { (block.html) }
                    }
                    div style={"width:" (mm(INSIDE - wide - BESIDE))} {
                        @for block in &content.beside { (block.html) }
                    }
                }
            }
            @if !content.below.is_empty() {
                div style={"padding-top:" (mm(BELOW))} { @for block in &content.below { (block.html) } }
            }
        }
    };
    Block::new(content.height, html)
}

/// The board.
fn drawing(
    view: &View<'_>,
    laid: &Laid<'_>,
    options: &PageOptions,
    (wide, high): (Tenths, Tenths),
) -> Markup {
    let (wide, high) = (f64::from(wide) / 10.0, f64::from(high) / 10.0);
    picture(Picture::laid(view.job, laid, options.left_handed).svg(wide, high, false))
}

/// `L3 · mixed board · make it 4 times`, and below it which passes of all; for a group's day which of the lay-up, as on
/// the day sheets.
fn heading(view: &View<'_>, laid: &Laid<'_>, number: usize, of: usize) -> Block {
    let made = laid.layup.passes.len();
    let more = if of > 1 { format!(" · card {number} of {of}") } else { String::new() };
    let times = format!(" · make it {}{more}", times(made));
    // Of a name that is too long the end goes, never how often the lay-up is made.
    let lines_of =
        |board: &str| fit::wrap(&format!("{} · {board}{times}", laid.layup.name), Type::TITLE, INSIDE);
    let title = lines_of(&fit::shorten_by(&laid.board.name, |board| lines_of(board).len() <= 2));
    let last = laid.first_pass + made.saturating_sub(1);
    let all = view.passes();
    let which = match (view.by_day, made) {
        (true, 1) => "1 pass".to_owned(),
        (true, made) => format!("{made} passes, 1 to {made} of {}", laid.layup.name),
        (false, 1) => format!("pass {} of {all}", laid.first_pass),
        (false, _) => format!("passes {} to {last} of {all}", laid.first_pass),
    };
    let limit = words::plies(laid.board.ply_limit);
    let face = if all_right_side_up(laid) { " · all right side up" } else { "" };
    let proof = if in_proof(view, laid) { " · proof block first" } else { "" };
    let below = format!("{which} · never more than {limit} in a stack{face}{proof}");
    let order = if view.by_day { Some(BY_DAY) } else { laid.follows.as_deref() };
    let order = order.into_iter().flat_map(|text| fit::wrap(text, Type::CARD, INSIDE));
    let below: Vec<String> = fit::wrap(&below, Type::CARD, INSIDE).into_iter().chain(order).collect();
    let count = |lines: &[String]| Tenths::try_from(lines.len()).unwrap_or(1);
    let height = Type::TITLE.line * count(&title) + Type::CARD.line * count(&below) + 8;
    Block::new(
        height,
        html! {
            div style={"height:" (mm(height))} {
                h3.t-title { @for line in &title { div.l { (line) } } }
                div.t-card { @for line in &below { div.l { (line) } } }
            }
        },
    )
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
