//! The chart for the wall: who does what at which station, in order and in rough hours, and boards that go from one
//! station to another.

use std::fmt::Write as _;

use patchlay_plan::day::{Schedule, Task, Work};

use super::Hall;
use crate::day::{board, cranked, hand_overs, run, station};
use crate::fit::{self, Tenths, Type};
use crate::page::flow::{Block, Part, ROOM, SHEET_WIDTH, picture};
use crate::svg::{escape, num};

/// Width of the names before the bars, and height of a row.
const NAMES: f64 = 34.0;
const ROW: f64 = 8.5;
/// Height of the line of hours.
const HOURS: f64 = 6.0;
/// Rows of one chart.
const MOST_ROWS: usize = 24;
/// Room below a title.
const TITLE: Tenths = 200;

struct Row<'a> {
    name: String,
    bars: Vec<Bar<'a>>,
}

struct Bar<'a> {
    task: &'a Task,
    label: String,
    shade: usize,
}

pub(super) fn parts(hall: &Hall<'_>) -> Vec<Part> {
    let Some(schedule) = &hall.day.schedule else { return Vec::new() };
    let mut parts = vec![
        Part::titled("Cutters: which run when", charts(hall, schedule, &station_rows(hall, schedule))),
        Part::titled("Helpers: who does what when", charts(hall, schedule, &helper_rows(hall, schedule))),
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

fn station_rows<'a>(hall: &Hall<'a>, schedule: &'a Schedule) -> Vec<Row<'a>> {
    let mut rows: Vec<Row<'a>> = Vec::new();
    for (task, at, number) in cranked(schedule) {
        let name = station(hall.group, at);
        let layup = run(hall.day, number).map_or("", |run| run.layup.as_str());
        let on = board(hall.plan, layup);
        let shade = hall.job.boards.iter().position(|board| board.name == on).unwrap_or(0);
        let bar = Bar { task, label: number.to_string(), shade };
        match rows.iter_mut().find(|row| row.name == name) {
            Some(row) => row.bars.push(bar),
            None => rows.push(Row { name, bars: vec![bar] }),
        }
    }
    rows.sort_by(|a, b| a.name.cmp(&b.name));
    rows
}

fn helper_rows<'a>(hall: &Hall<'a>, schedule: &'a Schedule) -> Vec<Row<'a>> {
    let of = |name: &str| {
        let mine = schedule.tasks.iter().filter(|task| task.helper == name);
        mine.map(|task| Bar { task, label: letter(task.work).to_owned(), shade: task.work as usize })
            .collect()
    };
    hall.group
        .helpers
        .iter()
        .map(|helper| Row { name: helper.name.clone(), bars: of(&helper.name) })
        .collect()
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

/// Fills that are told apart in grey too: never the colour alone.
const FILLS: [&str; 6] = ["#ffffff", "#d9d9d9", "#b3cde3", "#fddaa5", "#ccebc5", "#decbe4"];

fn charts(hall: &Hall<'_>, schedule: &Schedule, rows: &[Row<'_>]) -> Vec<Block> {
    let room = f64::from(ROOM - TITLE) / 10.0;
    let fits = ((room - HOURS) / ROW) as usize;
    let mut blocks: Vec<Block> =
        rows.chunks(fits.clamp(1, MOST_ROWS)).map(|rows| chart(hall, schedule, rows)).collect();
    let of_helpers = rows.iter().any(|row| row.bars.iter().any(|bar| bar.task.at.is_none()));
    blocks.push(if of_helpers { helper_key() } else { board_key(hall, rows) });
    blocks
}

/// What the letters stand for.
fn helper_key() -> Block {
    Block::text(
        "P press, S square and cut strips, F fold and fill trays, C crank, L count and sort, B check bags. Bars next to each \
         other of one kind are drawn as one.",
        Type::SMALL,
    )
}

/// The fill of every board that is used.
fn board_key(hall: &Hall<'_>, rows: &[Row<'_>]) -> Block {
    let mut used: Vec<usize> = rows.iter().flat_map(|row| row.bars.iter().map(|bar| bar.shade)).collect();
    used.sort_unstable();
    used.dedup();
    let height = Type::SMALL.line * u32::try_from(used.len().div_ceil(3) + 1).unwrap_or(1) + 10;
    let mut svg = format!(
        "<svg viewBox=\"0 0 186 {h}\" width=\"186mm\" height=\"{h}mm\" role=\"img\" aria-label=\"what the fills stand \
         for\" style=\"display:block\"><text x=\"0\" y=\"3\" font-size=\"3\">Numbers are runs, where there is room for \
         them; the fill says which board:</text>",
        h = num(f64::from(height) / 10.0)
    );
    let line = f64::from(Type::SMALL.line) / 10.0;
    for (at, &board) in used.iter().enumerate() {
        let (x, y) = ((at % 3) as f64 * 62.0, line * (at / 3 + 1) as f64);
        let name = fit::one_line(&hall.job.boards[board].name, Type::SMALL, 500);
        let _ = write!(
            svg,
            "<rect x=\"{}\" y=\"{}\" width=\"5\" height=\"3\" fill=\"{}\" stroke=\"#000\" \
             stroke-width=\".25\"/><text x=\"{}\" y=\"{}\" font-size=\"3\">{}</text>",
            num(x),
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

fn chart(hall: &Hall<'_>, schedule: &Schedule, rows: &[Row<'_>]) -> Block {
    let starts = u64::from(hall.group.starts) * 60;
    let (first, last) = (starts / 3600, (starts + schedule.finish).div_ceil(3600));
    let wide = f64::from(SHEET_WIDTH) / 10.0 - NAMES;
    let hours = (last - first).max(1) as f64;
    let x = |seconds: u64| NAMES + wide * ((starts + seconds) as f64 / 3600.0 - first as f64) / hours;
    let height = HOURS + ROW * rows.len() as f64;
    let mut svg = format!(
        "<svg viewBox=\"0 0 {w} {h}\" width=\"{w}mm\" height=\"{h}mm\" role=\"img\" aria-label=\"chart of the day\" \
         style=\"display:block\">",
        w = num(wide + NAMES),
        h = num(height)
    );
    for hour in first..=last {
        let at = NAMES + wide * (hour - first) as f64 / hours;
        let _ = write!(
            svg,
            "<path d=\"M{x} {HOURS}V{h}\" stroke=\"#888\" stroke-width=\".2\"/>",
            x = num(at),
            h = num(height)
        );
        if hour < last {
            let _ =
                write!(svg, "<text x=\"{}\" y=\"4.2\" font-size=\"3.4\">{}</text>", num(at + 0.6), hour % 24);
        }
    }
    for (at, row) in rows.iter().enumerate() {
        let top = HOURS + ROW * at as f64;
        let name = fit::one_line(&row.name, Type::BODY, 320);
        let _ =
            write!(svg, "<text x=\"0\" y=\"{}\" font-size=\"3.4\">{}</text>", num(top + 5.6), escape(&name));
        for (from, to, bar) in merged(&row.bars) {
            let (left, right) = (x(from), x(to));
            let _ = write!(
                svg,
                "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" fill=\"{}\" stroke=\"#000\" stroke-width=\".25\"/>",
                num(left),
                num(top + 1.0),
                num((right - left).max(0.3)),
                num(ROW - 2.0),
                FILLS[bar.shade % FILLS.len()]
            );
            if right - left > 1.6 * bar.label.len() as f64 + 0.8 {
                let _ = write!(
                    svg,
                    "<text x=\"{}\" y=\"{}\" font-size=\"2.8\" text-anchor=\"middle\">{}</text>",
                    num((left + right) / 2.0),
                    num(top + 5.3),
                    escape(&bar.label)
                );
            }
        }
    }
    svg.push_str("</svg>");
    Block::new((height * 10.0).ceil() as Tenths + 20, picture(svg))
}

/// Bars of one label that follow each other closely, taken together.
fn merged<'b, 'a>(bars: &'b [Bar<'a>]) -> Vec<(u64, u64, &'b Bar<'a>)> {
    let mut all: Vec<(u64, u64, &Bar<'a>)> = Vec::new();
    for bar in bars {
        match all.last_mut() {
            Some((_, to, last)) if last.label == bar.label && bar.task.start <= *to + 300 => {
                *to = bar.task.end
            }
            _ => all.push((bar.task.start, bar.task.end, bar)),
        }
    }
    all
}
