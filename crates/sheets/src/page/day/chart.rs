//! The chart for the wall: who does what at which station, in order and in rough hours, and boards that go from one
//! station to another. A day with many runs is drawn in several strips of hours, so that their numbers can be read.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use patchlay_plan::day::{Schedule, Task, Work};

use super::Hall;
use crate::day::{board, board_copy, cranked, hand_overs, run, station, stations};
use crate::fit::{self, Tenths, Type};
use crate::page::flow::{Block, Part, ROOM, SHEET_WIDTH, picture};
use crate::svg::{escape, num};

/// Width of the names before the bars, millimetres.
const NAMES: f64 = 34.0;
/// Width of all hours of a strip.
const WIDE: f64 = SHEET_WIDTH as f64 / 10.0 - NAMES;
/// Heights of a row: least, and where there is room for it.
const ROW: (f64, f64) = (7.0, 9.0);
/// Height of a line of a name, and of its type.
const NAME: (f64, f64) = (3.5, 3.0);
/// Height of the line of hours.
const HOURS: f64 = 5.0;
/// Space below a strip, and what a line below it takes.
const BELOW: (f64, f64) = (2.5, 4.0);
/// Room below a title and a legend.
const ABOVE: Tenths = 260;
/// Hours that a strip may have: as many as leave the numbers readable.
const STRIPS: [u64; 7] = [12, 8, 6, 4, 3, 2, 1];
/// Of a hundred numbers so many must be readable before a strip may be so long.
const READABLE: usize = 95;
/// Type of a number across a bar, and smallest and largest along it.
const ACROSS: f64 = 2.8;
const ALONG: (f64, f64) = (2.2, 2.8);
/// Seconds between bars of one kind that are drawn as one.
const CLOSE: u64 = 300;
const HOUR: u64 = 3600;

/// A line of the chart.
#[derive(Clone)]
struct Row {
    name: String,
    bars: Vec<Bar>,
    /// Stands in its place where it has no bars at all.
    without: &'static str,
}

/// Seconds after the start of the day, what stands on it, and its fill.
#[derive(Clone)]
struct Bar {
    from: u64,
    to: u64,
    label: String,
    shade: usize,
}

pub(super) fn parts(hall: &Hall<'_>) -> Vec<Part> {
    let Some(schedule) = &hall.day.schedule else { return Vec::new() };
    let chart = Chart { starts: u64::from(hall.group.starts) * 60, finish: schedule.finish };
    let of_cutters = [station_rows(hall, schedule), board_rows(hall, schedule)].concat();
    let mut parts = vec![
        Part::titled("Cutters: which run when", chart.blocks(&of_cutters, "run"))
            .headed(board_key(hall, &of_cutters)),
        Part::titled("Helpers: who does what when", chart.blocks(&helper_rows(hall, schedule), ""))
            .headed(helper_key())
            .on_new_sheet(),
    ];
    let said: Vec<Block> = hand_overs(hall.plan, hall.day, hall.job, hall.group)
        .into_iter()
        .map(|over| {
            let text = format!(
                "{}: from {} to {}, {}, after run {} and before run {}.",
                over.board, over.from, over.to, over.hour, over.runs.0, over.runs.1
            );
            Block::point(&text, Type::CARD)
        })
        .collect();
    let said =
        if said.is_empty() { vec![Block::text("No board changes stations.", Type::CARD)] } else { said };
    parts.push(Part::titled("Boards handed over, in order", said));
    parts
}

/// A row for every cutter, used or not.
fn station_rows(hall: &Hall<'_>, schedule: &Schedule) -> Vec<Row> {
    let bars = |name: &str| {
        let own = cranked(schedule).filter(|(_, at, _)| station(hall.group, at) == name);
        own.map(|(task, _, number)| bar(task, number.to_string(), shade(hall, number))).collect()
    };
    let row = |(name, _): (String, bool)| Row { bars: bars(&name), name, without: "not used" };
    stations(hall.group, schedule).into_iter().map(row).collect()
}

/// A row for every copy of a board that is used.
fn board_rows(hall: &Hall<'_>, schedule: &Schedule) -> Vec<Row> {
    let mut copies: BTreeMap<(usize, u32), Vec<Bar>> = BTreeMap::new();
    for (task, at, number) in cranked(schedule) {
        let shade = shade(hall, number);
        copies.entry((shade, at.copy)).or_default().push(bar(task, String::new(), shade));
    }
    let name = |board: usize, copy: u32| {
        let name = hall.job.boards.get(board).map_or("", |board| board.name.as_str());
        board_copy(hall.job, hall.group, name, copy)
    };
    let row = |((board, copy), bars): ((usize, u32), Vec<Bar>)| Row {
        name: name(board, copy),
        bars: merged(bars),
        without: "",
    };
    copies.into_iter().map(row).collect()
}

fn helper_rows(hall: &Hall<'_>, schedule: &Schedule) -> Vec<Row> {
    let of = |name: &str| {
        let mine = schedule.tasks.iter().filter(|task| task.helper == name);
        merged(mine.map(|task| bar(task, letter(task.work).to_owned(), task.work as usize)).collect())
    };
    let helpers = hall.group.helpers.iter();
    helpers
        .map(|helper| Row { name: helper.name.clone(), bars: of(&helper.name), without: "nothing to do" })
        .collect()
}

fn bar(task: &Task, label: String, shade: usize) -> Bar {
    Bar { from: task.start, to: task.end, label, shade }
}

/// The place of a run's board among the boards of the job, which is its fill too.
fn shade(hall: &Hall<'_>, number: usize) -> usize {
    let layup = run(hall.day, number).map_or("", |run| run.layup.as_str());
    let on = board(hall.plan, layup);
    hall.job.boards.iter().position(|board| board.name == on).unwrap_or(0)
}

/// Bars of one label and fill that follow each other closely, taken together.
fn merged(bars: Vec<Bar>) -> Vec<Bar> {
    let mut all: Vec<Bar> = Vec::new();
    for bar in bars {
        match all.last_mut() {
            Some(last)
                if (&last.label, last.shade) == (&bar.label, bar.shade) && bar.from <= last.to + CLOSE =>
            {
                last.to = last.to.max(bar.to);
            }
            _ => all.push(bar),
        }
    }
    all
}

/// What stands on the bars of helpers.
fn letter(work: Work) -> &'static str {
    match work {
        Work::Press => "P",
        Work::Strips => "S",
        Work::Fold => "F",
        Work::Crank => "C",
        Work::LiftOut => "L",
        Work::CheckBags => "B",
    }
}

/// Fills that are told apart in grey too; never the colour alone, because boards have rows and work has letters.
const FILLS: [&str; 6] = ["#f4d97b", "#7fb2d6", "#d9d9d9", "#a8cf8e", "#e7a6a6", "#c3b1dd"];

/// What the letters stand for.
fn helper_key() -> Block {
    Block::text(
        "P press, S square and cut strips, F fold and fill trays, C crank, L count and sort, B check bags. Bars next to each \
         other of one kind are drawn as one.",
        Type::SMALL,
    )
}

/// The fill of every board that is used.
fn board_key(hall: &Hall<'_>, rows: &[Row]) -> Block {
    let mut used: Vec<usize> = rows.iter().flat_map(|row| row.bars.iter().map(|bar| bar.shade)).collect();
    used.sort_unstable();
    used.dedup();
    let line = f64::from(Type::SMALL.line) / 10.0;
    let height = Type::SMALL.line * u32::try_from(used.len().div_ceil(3) + 1).unwrap_or(1) + 15;
    let mut svg = format!(
        "<svg viewBox=\"0 0 186 {h}\" width=\"186mm\" height=\"{h}mm\" role=\"img\" aria-label=\"what the fills stand \
         for\" style=\"display:block\"><text x=\"0\" y=\"3\" font-size=\"3\">Numbers are runs; the fill says which \
         board:</text>",
        h = num(f64::from(height) / 10.0)
    );
    for (at, &board) in used.iter().enumerate() {
        let (x, y) = ((at % 3) as f64 * 62.0, line * (at / 3 + 1) as f64);
        let name = hall.job.boards.get(board).map_or("", |board| board.name.as_str());
        let name = fit::one_line(name, Type::SMALL, 520);
        let _ = write!(
            svg,
            "<rect x=\"{}\" y=\"{}\" width=\"5\" height=\"3\" fill=\"{}\" stroke=\"#000\" \
             stroke-width=\".2\"/><text x=\"{}\" y=\"{}\" font-size=\"3\">{}</text>",
            num(x + 0.2),
            num(y + 0.4),
            FILLS[board % FILLS.len()],
            num(x + 6.5),
            num(y + 3.0),
            escape(&name)
        );
    }
    svg.push_str("</svg>");
    Block::new(height, picture(svg))
}

/// How a label stands on its bar.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Stands {
    Across,
    /// Turned, in type of that size.
    Along(f64),
    Not,
}

/// How a label of so many letters stands on a bar of that width and height.
fn stands(letters: usize, wide: f64, high: f64) -> Stands {
    let long = |size: f64| 0.58 * size * letters as f64;
    if wide >= long(ACROSS) + 0.6 {
        return Stands::Across;
    }
    let size = (wide * 0.95).min(ALONG.1);
    if size >= ALONG.0 && high >= long(size) + 0.5 { Stands::Along(size) } else { Stands::Not }
}

fn name_lines(row: &Row) -> Vec<String> {
    fit::wrap_within(&row.name, Type::SMALL, 330, 3)
}

/// Least height of a row whose name takes so many lines.
fn least_row(lines: usize) -> f64 {
    ROW.0.max(NAME.0 * lines as f64 + 1.0)
}

/// How much higher than need be rows are: so that as many strips as fit on a sheet fill it.
fn stretch(rows: &[Row]) -> f64 {
    let room = f64::from(ROOM - ABOVE) / 10.0;
    let all: f64 = rows.iter().map(|row| least_row(name_lines(row).len())).sum::<f64>().max(1.0);
    let strips = (room / (HOURS + all + BELOW.0)).floor().max(1.0);
    let each = room / strips - HOURS - BELOW.0 - BELOW.1;
    (each / all).clamp(1.0, ROW.1 / ROW.0)
}

/// The hours of the day, in seconds.
struct Chart {
    starts: u64,
    finish: u64,
}

impl Chart {
    /// First and last whole hour.
    fn hours(&self) -> (u64, u64) {
        let (first, last) = (self.starts / HOUR, (self.starts + self.finish).div_ceil(HOUR));
        (first, last.max(first + 1))
    }

    /// Hours of a strip: the most that leave nearly all numbers readable. Where the bars have letters only, as few as let
    /// all strips stand on one sheet.
    fn strip(&self, rows: &[Row], numbered: bool) -> u64 {
        let (first, last) = self.hours();
        let all = last - first;
        if !numbered {
            let high = HOURS + ROW.0 * rows.len() as f64 + BELOW.0;
            let room = f64::from(ROOM - ABOVE) / 10.0;
            let fits = |hours: u64| all.div_ceil(hours) as f64 * high <= room;
            let most = STRIPS.into_iter().rev().find(|hours| fits(*hours)).unwrap_or(STRIPS[0]);
            return most.min(all);
        }
        let labels: Vec<&Bar> =
            rows.iter().flat_map(|row| &row.bars).filter(|bar| !bar.label.is_empty()).collect();
        let readable = |hours: u64| {
            let wide = |bar: &Bar| WIDE * bar.to.saturating_sub(bar.from) as f64 / (hours * HOUR) as f64;
            let read = labels
                .iter()
                .filter(|bar| stands(bar.label.chars().count(), wide(bar), ROW.0 - 1.5) != Stands::Not);
            read.count() * 100 >= labels.len() * READABLE
        };
        let shorter = STRIPS.into_iter().filter(|hours| *hours < all);
        std::iter::once(all.min(24)).chain(shorter).find(|hours| readable(*hours)).unwrap_or(1)
    }

    /// The strips of hours below each other, each as high as a sheet at most.
    fn blocks(&self, rows: &[Row], noun: &str) -> Vec<Block> {
        let (first, last) = self.hours();
        let strip = self.strip(rows, !noun.is_empty());
        let stretch = stretch(rows);
        let mut blocks = Vec::new();
        let mut from = first;
        while from < last {
            let to = from + strip;
            // Hours without any work, a night say, are left out; so are cutters without work after the first strip.
            let begins = from == first;
            let within = |bar: &Bar| self.starts + bar.to > from * HOUR && self.starts + bar.from < to * HOUR;
            let shown: Vec<&Row> = rows.iter().filter(|row| begins || !row.bars.is_empty()).collect();
            if begins || rows.iter().flat_map(|row| &row.bars).any(within) {
                blocks.extend(self.sheets_of(&shown, (from, to), stretch, noun));
            }
            from = to;
        }
        blocks
    }

    /// One strip of hours, its rows on as many sheets as they take.
    fn sheets_of(&self, rows: &[&Row], hours: (u64, u64), stretch: f64, noun: &str) -> Vec<Block> {
        let room = f64::from(ROOM - ABOVE) / 10.0 - HOURS;
        let names: Vec<Vec<String>> = rows.iter().map(|row| name_lines(row)).collect();
        let least = |lines: &Vec<String>| least_row(lines.len());
        let mut blocks = Vec::new();
        let mut at = 0;
        while at < rows.len() {
            let (mut used, begin) = (0.0, at);
            while at < rows.len() && (at == begin || used + least(&names[at]) * stretch <= room) {
                used += least(&names[at]) * stretch;
                at += 1;
            }
            let lines: Vec<Line<'_>> = (begin..at)
                .map(|at| Line { row: rows[at], name: &names[at], high: least(&names[at]) * stretch })
                .collect();
            blocks.push(self.chart(&lines, hours, noun));
        }
        blocks
    }

    fn chart(&self, lines: &[Line<'_>], (first, last): (u64, u64), noun: &str) -> Block {
        let all = HOURS + lines.iter().map(|line| line.high).sum::<f64>();
        let x = |seconds: f64| NAMES + WIDE * (seconds / HOUR as f64 - first as f64) / (last - first) as f64;
        let mut svg = format!(
            "<svg viewBox=\"0 0 {w} {h}\" width=\"{w}mm\" height=\"{h}mm\" role=\"img\" aria-label=\"chart of the day\" \
             style=\"display:block\">",
            w = num(WIDE + NAMES),
            h = num(all)
        );
        for hour in first..=last {
            let at = x((hour * HOUR) as f64).min(NAMES + WIDE - 0.1);
            let _ = write!(
                svg,
                "<path d=\"M{x} {HOURS}V{h}\" stroke=\"#888\" stroke-width=\".2\"/>",
                x = num(at),
                h = num(all)
            );
            if hour < last {
                let _ = write!(
                    svg,
                    "<text x=\"{}\" y=\"4.2\" font-size=\"3.4\">{}</text>",
                    num(at + 0.6),
                    hour % 24
                );
            }
        }
        let (mut top, mut unread) = (HOURS, Vec::new());
        for line in lines {
            self.row(&mut svg, line, top, (first, last), &mut unread);
            top += line.high;
        }
        svg.push_str("</svg>");
        let drawn = ((all + BELOW.0) * 10.0).ceil() as Tenths;
        let said = (!unread.is_empty() && !noun.is_empty()).then(|| {
            let text = format!("Too short for a number, in their order: {}.", unread.join("; "));
            Block::text(&text, Type::SMALL)
        });
        let height = drawn + said.as_ref().map_or(0, |said| said.height);
        let html = maud::html! {
            div style={"height:" (crate::page::flow::mm(drawn))} { (picture(svg)) }
            @if let Some(said) = &said { (said.html) }
        };
        Block::new(height, html)
    }

    /// The name and the bars of a row; runs whose number stands nowhere are added to `unread`.
    fn row(
        &self,
        svg: &mut String,
        line: &Line<'_>,
        top: f64,
        (first, last): (u64, u64),
        unread: &mut Vec<String>,
    ) {
        let _ = write!(
            svg,
            "<path d=\"M0 {y}H{w}\" stroke=\"#bbb\" stroke-width=\".15\"/>",
            y = num(top),
            w = num(NAMES + WIDE)
        );
        let lines = line.name.len() as f64;
        for (at, text) in line.name.iter().enumerate() {
            let y = top + (line.high - NAME.0 * lines) / 2.0 + NAME.0 * (at as f64 + 0.78);
            let _ = write!(
                svg,
                "<text x=\"0\" y=\"{}\" font-size=\"{}\">{}</text>",
                num(y),
                num(NAME.1),
                escape(text)
            );
        }
        if line.row.bars.is_empty() && !line.row.without.is_empty() {
            let _ = write!(
                svg,
                "<text x=\"{}\" y=\"{}\" font-size=\"3\" font-style=\"italic\">{}</text>",
                num(NAMES + 2.0),
                num(top + line.high / 2.0 + 1.0),
                line.row.without
            );
        }
        let (from, to) = (first * HOUR, last * HOUR);
        let scale = WIDE / (to - from) as f64;
        let high = line.high - 1.5;
        let mut missing: Vec<&str> = Vec::new();
        for bar in &line.row.bars {
            let (begin, end) = ((self.starts + bar.from).max(from), (self.starts + bar.to).min(to));
            if begin >= end {
                continue;
            }
            let (left, wide) = (NAMES + scale * (begin - from) as f64, scale * (end - begin) as f64);
            // A frame as wide as the bar itself would leave nothing of the fill.
            let frame = if wide < 0.8 { 0.0 } else { 0.15 };
            let _ = write!(
                svg,
                "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" fill=\"{}\" stroke=\"#000\" stroke-width=\"{}\"/>",
                num(left),
                num(top + 0.75),
                num(wide.max(0.3)),
                num(high),
                FILLS[bar.shade % FILLS.len()],
                num(frame)
            );
            let (x, y) = (left + wide / 2.0, top + line.high / 2.0);
            if bar.label.is_empty() {
                continue;
            }
            match stands(bar.label.chars().count(), wide, high) {
                Stands::Across => {
                    let _ = write!(
                        svg,
                        "<text x=\"{}\" y=\"{}\" font-size=\"{ACROSS}\" text-anchor=\"middle\">{}</text>",
                        num(x),
                        num(y + ACROSS * 0.36),
                        escape(&bar.label)
                    );
                }
                Stands::Along(size) => {
                    let _ = write!(
                        svg,
                        "<text transform=\"translate({},{})rotate(-90)\" font-size=\"{}\" \
                         text-anchor=\"middle\">{}</text>",
                        num(x + size * 0.36),
                        num(y),
                        num(size),
                        escape(&bar.label)
                    );
                }
                // Of a bar that two strips share the larger part answers for its number.
                Stands::Not if 2 * (end - begin) >= bar.to.saturating_sub(bar.from) => {
                    missing.push(&bar.label)
                }
                Stands::Not => {}
            }
        }
        if !missing.is_empty() {
            unread.push(format!("{}: {}", line.row.name, missing.join(", ")));
        }
    }
}

/// A row as it is drawn.
struct Line<'a> {
    row: &'a Row,
    name: &'a [String],
    high: f64,
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(name: &str, bars: impl Iterator<Item = (u64, u64)>) -> Row {
        let bar = |(at, (from, to)): (usize, (u64, u64))| Bar {
            from,
            to,
            label: (at + 100).to_string(),
            shade: at % 2,
        };
        Row { name: name.to_owned(), bars: bars.enumerate().map(bar).collect(), without: "not used" }
    }

    /// Texts of all strips.
    fn drawn(rows: &[Row], finish: u64) -> (usize, String) {
        let blocks = Chart { starts: 9 * HOUR, finish }.blocks(rows, "run");
        assert!(blocks.iter().all(|block| block.height <= ROOM - 100), "higher than a sheet");
        (blocks.len(), blocks.iter().map(|block| block.html.0.as_str()).collect())
    }

    #[test]
    fn every_number_of_a_long_day_is_readable() {
        // Eight hours of runs of three minutes: 152 mm for all of them would leave 0.95 mm for each.
        let rows = [row("large cutter", (0..160).map(|at| (at * 180, at * 180 + 170)))];
        let (strips, text) = drawn(&rows, 8 * HOUR);
        assert!(strips > 1);
        for number in 100..260 {
            assert!(text.contains(&format!(">{number}</text>")), "{number}");
        }
        assert!(!text.contains("Too short for a number"));
    }

    #[test]
    fn numbers_without_room_are_listed() {
        let rows = [row("large cutter", [(0, 3000), (3000, 3010), (3010, 3600)].into_iter())];
        let (_, text) = drawn(&rows, HOUR);
        assert!(text.contains("Too short for a number, in their order: large cutter: 101."), "{text}");
    }

    #[test]
    fn a_cutter_without_work_has_a_row_and_names_wrap() {
        let rows = [row("the old cutter that stands beside the window", std::iter::empty())];
        let (_, text) = drawn(&rows, HOUR);
        assert!(
            text.contains(">not used</text>") && text.contains("window") && !text.contains('…'),
            "{text}"
        );
    }

    #[test]
    fn a_number_stands_across_then_along_then_not_at_all() {
        assert_eq!(stands(3, 6.0, 7.0), Stands::Across);
        assert!(matches!(stands(3, 2.6, 7.0), Stands::Along(_)));
        assert_eq!(stands(3, 1.0, 7.0), Stands::Not);
    }
}
