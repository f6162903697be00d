//! A sheet per station: each cutter with its runs and boards, and each place where something else is done.

use patchlay_plan::day::{On, Schedule, Task, Work};

use super::Hall;
use crate::day::{
    batch_words, board, board_copy, cranked, hour, on_words, run, run_words, squarings, station, staying,
    work_words,
};
use crate::fit::{Tenths, Type};
use crate::page::flow::{Block, COLUMN, List, Part, SHEET_WIDTH, in_columns};
use crate::page::parts::{Cell, tight_row};

const HOUR: Tenths = 190;
const WHO: Tenths = 260;
const DONE: Tenths = 130;
/// Columns of the narrow sheets: done, o'clock, who, what.
const NARROW: [Tenths; 4] = [70, 165, 165, COLUMN - 400];
/// Seconds between two tasks that still count as one after the other.
const CLOSE: u64 = 60;

/// Every station with the name that the index gives it.
pub(super) fn sections(hall: &Hall<'_>) -> Vec<(String, Vec<Part>)> {
    let Some(schedule) = &hall.day.schedule else {
        let strips = ("Strips in order".to_owned(), vec![strips_in_order(hall)]);
        return vec![("Order of work".to_owned(), vec![order(hall)]), strips];
    };
    let mut sections = cutters(hall, schedule);
    for work in Work::ALL.into_iter().filter(|work| *work != Work::Crank) {
        let lines = lines(hall, schedule, work);
        if lines.is_empty() {
            continue;
        }
        let mut title = work_words(work).to_owned();
        if let Some(first) = title.get_mut(..1) {
            first.make_ascii_uppercase();
        }
        let squared = squarings(hall.day);
        let squared = (work == Work::Strips).then_some(&squared[..]);
        let rows = lines.iter().map(|line| {
            let what = match line.batches.is_empty() {
                true => on_words(hall.plan, hall.day, line.task),
                false => batch_words(hall.day, hall.job, &line.batches, squared),
            };
            narrow_row(["☐", &hour(hall.group, line.task.start), &line.task.helper, &what], Type::BODY)
        });
        let head = narrow_row(["", "o'clock", "who", "what, in this order"], Type::SMALL);
        let title = format!("Day sheet: {title}");
        let part = in_columns(&title, Some(&head), &[List { head: None, blocks: rows.collect() }]);
        sections.push((title, vec![part]));
    }
    sections
}

fn narrow_row(texts: [&str; 4], face: Type) -> Block {
    let cell = |(text, width): (&str, Tenths)| Cell::text(text, face, width);
    tight_row(&texts.into_iter().zip(NARROW).map(cell).collect::<Vec<_>>())
}

/// One line of a day sheet.
struct Line<'a> {
    task: &'a Task,
    /// Numbers of the batches of strips, of one fabric.
    batches: Vec<usize>,
    end: u64,
}

/// Tasks of one kind by their start. Batches of one fabric that a helper has one after the other within an hour are one
/// line, unless another cuts of the same fabric in between: its batches are cut in their order.
fn lines<'a>(hall: &Hall<'a>, schedule: &'a Schedule, work: Work) -> Vec<Line<'a>> {
    let fabric = |number: &usize| {
        let batch = number.checked_sub(1).and_then(|at| hall.day.batches.get(at));
        batch.map_or("", |batch| batch.fabric.as_str())
    };
    let mut lines: Vec<Line<'a>> = Vec::new();
    for task in schedule.tasks.iter().filter(|task| task.work == work) {
        let On::Batch(number) = task.on else {
            lines.push(Line { task, batches: Vec::new(), end: task.end });
            continue;
        };
        let own = lines.iter().rposition(|line| line.task.helper == task.helper);
        let same = |line: &Line<'_>| line.batches.iter().any(|known| fabric(known) == fabric(&number));
        let goes_on = own.filter(|&own| {
            let line = &lines[own];
            same(line)
                && task.start <= line.end.saturating_add(CLOSE)
                && hour(hall.group, task.start) == hour(hall.group, line.task.start)
                && !lines[own + 1..].iter().any(same)
        });
        match goes_on {
            Some(own) => {
                lines[own].batches.push(number);
                lines[own].end = task.end;
            }
            None => lines.push(Line { task, batches: vec![number], end: task.end }),
        }
    }
    lines
}

/// Without helpers: the strips of every fabric as they are cut, with the squarings.
fn strips_in_order(hall: &Hall<'_>) -> Part {
    let squared = squarings(hall.day);
    let row = |number: usize| {
        let what = batch_words(hall.day, hall.job, &[number], Some(&squared));
        tight_row(&[Cell::text("☐", Type::BODY, 70), Cell::text(&what, Type::BODY, COLUMN - 70)])
    };
    let rows = (1..=hall.day.batches.len()).map(row).collect();
    in_columns("Strips, fabric by fabric, in this order", None, &[List { head: None, blocks: rows }])
}

fn cutters(hall: &Hall<'_>, schedule: &Schedule) -> Vec<(String, Vec<Part>)> {
    let mut names: Vec<String> = cranked(schedule).map(|(_, at, _)| station(hall.group, at)).collect();
    names.sort_unstable();
    names.dedup();
    let staying = staying(hall.plan, hall.day);
    let sheet = |name: String| {
        let rows = cranked(schedule).filter(|(_, at, _)| station(hall.group, at) == name).filter_map(
            |(task, at, number)| {
                let run = run(hall.day, number)?;
                let on = board_copy(hall.job, hall.group, board(hall.plan, &run.layup), at.copy);
                let put_on =
                    if staying.contains(&number) { "stays".to_owned() } else { format!("put on {on}") };
                Some(tight_row(&[
                    Cell::text("☐", Type::BODY, DONE),
                    Cell::text(&hour(hall.group, task.start), Type::BODY, HOUR),
                    Cell::text(&task.helper, Type::BODY, WHO),
                    Cell::text(&format!("run {number}"), Type::BODY, 190),
                    Cell::text(&run_words(hall.plan, run), Type::BODY, 480),
                    Cell::text(&put_on, Type::BODY, SHEET_WIDTH - DONE - HOUR - WHO - 670),
                ]))
            },
        );
        let head = tight_row(&[
            Cell::text("done", Type::SMALL, DONE),
            Cell::text("o'clock", Type::SMALL, HOUR),
            Cell::text("who cranks", Type::SMALL, WHO),
            Cell::text("run", Type::SMALL, 190),
            Cell::text("card", Type::SMALL, 480),
            Cell::text("board", Type::SMALL, SHEET_WIDTH - DONE - HOUR - WHO - 670),
        ]);
        let part = Part::titled(&format!("Day sheet: {name}"), rows.collect()).headed(head);
        (format!("Day sheet: {name}"), vec![part])
    };
    names.into_iter().map(sheet).collect()
}

/// Without helpers: the runs in order.
fn order(hall: &Hall<'_>) -> Part {
    let rows = hall.day.runs.iter().enumerate().map(|(at, run)| {
        tight_row(&[
            Cell::text("☐", Type::BODY, DONE),
            Cell::text(&format!("run {}", at + 1), Type::BODY, 260),
            Cell::text(&run_words(hall.plan, run), Type::BODY, 700),
            Cell::text(board(hall.plan, &run.layup), Type::BODY, SHEET_WIDTH - DONE - 960),
        ])
    });
    Part::titled("Order of work", rows.collect())
}
