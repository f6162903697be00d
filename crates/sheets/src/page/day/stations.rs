//! A sheet per station: each cutter with its runs and boards, and each place where something else is done.

use patchlay_plan::day::{Schedule, Task, Work};

use super::Hall;
use crate::day::{board, board_copy, cranked, hour, on_words, run, run_words, station, staying, work_words};
use crate::fit::{Tenths, Type};
use crate::page::flow::{Part, SHEET_WIDTH};
use crate::page::parts::{Cell, tight_row};

const HOUR: Tenths = 190;
const WHO: Tenths = 260;
const DONE: Tenths = 130;

/// Every station with the name that the index gives it.
pub(super) fn sections(hall: &Hall<'_>) -> Vec<(String, Vec<Part>)> {
    let Some(schedule) = &hall.day.schedule else {
        return vec![("Order of work".to_owned(), vec![order(hall)])];
    };
    let mut sections = cutters(hall, schedule);
    for work in Work::ALL.into_iter().filter(|work| *work != Work::Crank) {
        let tasks: Vec<&Task> = schedule.tasks.iter().filter(|task| task.work == work).collect();
        if tasks.is_empty() {
            continue;
        }
        let mut title = work_words(work).to_owned();
        if let Some(first) = title.get_mut(..1) {
            first.make_ascii_uppercase();
        }
        let rows = tasks.iter().map(|task| {
            tight_row(&[
                Cell::text("☐", Type::BODY, DONE),
                Cell::text(&hour(hall.group, task.start), Type::BODY, HOUR),
                Cell::text(&task.helper, Type::BODY, WHO),
                Cell::text(&on_words(hall.plan, hall.day, task), Type::BODY, SHEET_WIDTH - DONE - HOUR - WHO),
            ])
        });
        let head = tight_row(&[
            Cell::text("done", Type::SMALL, DONE),
            Cell::text("o'clock", Type::SMALL, HOUR),
            Cell::text("who", Type::SMALL, WHO),
            Cell::text("what, in this order", Type::SMALL, SHEET_WIDTH - DONE - HOUR - WHO),
        ]);
        let part = Part::titled(&format!("Day sheet: {title}"), rows.collect()).headed(head);
        sections.push((format!("Day sheet: {title}"), vec![part]));
    }
    sections
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
