//! `patchlay record PLAN show`: what is noted, and what is left to do.

use std::collections::BTreeSet;

use patchlay_plan::Plan;
use patchlay_plan::record::{Entry, counting};
use patchlay_record::log;
use patchlay_record::replan::{Half, said};
use patchlay_scenario::Job;
use serde_json::{Value, json};

use super::refused;
use crate::args::RecordArgs;
use crate::print;
use crate::report::{Failure, Message};

/// Prints the log and where things stand.
///
/// # Errors
/// The log cannot be read or belongs to another plan.
pub(super) fn run(wanted: &RecordArgs, plan: &Plan, job: &Job) -> Result<(), Failure> {
    let file = log::beside(&wanted.plan);
    let log = log::read(&file, plan).map_err(|error| refused(error, &file))?;
    let half = Half::new(plan, job, &log).map_err(|what| Failure::our_fault(&what))?;
    if wanted.json {
        return print::json(&as_json(plan, job, &log, &half));
    }
    for trouble in half.troubles() {
        print::aside(
            Message::of_record(&trouble, &file).text().replacen("error[", "look out[", 1).trim_end(),
        );
    }
    print::out(&as_text(plan, job, &log, &half))
}

/// Passes made of each lay-up, and all of them.
fn made(half: &Half<'_>) -> Vec<(usize, usize)> {
    let passes = half.state().made.iter();
    passes.map(|made| (made.iter().flatten().count(), made.len())).collect()
}

fn as_text(plan: &Plan, job: &Job, log: &log::Log, half: &Half<'_>) -> String {
    let counts: BTreeSet<u64> = counting(&log.entries).iter().map(|entry| entry.number).collect();
    let mut text = print::wrapped("", &format!("Plan {}: what is noted", plan.number));
    for entry in &log.entries {
        text.push_str(&line(entry, counts.contains(&entry.number), job));
    }
    if log.entries.is_empty() {
        text.push_str("  nothing yet\n");
    }
    text.push_str("\nPasses made\n");
    for ((layup, (made, all)), ready) in plan.layups.iter().zip(made(half)).zip(half.ready()) {
        let more = match ready.len() {
            _ if made == all => ", done".to_owned(),
            0 => String::new(),
            1 => "; the tray for 1 more is ready".to_owned(),
            ready => format!("; trays for {ready} more are ready"),
        };
        text.push_str(&print::wrapped("  ", &format!("{}: {made} of {all}{more}", layup.name)));
    }
    text.push_str("\nGood patches, and wanted\n");
    for (fabric, shape, hand, good, wanted) in half.patches() {
        let hand = match hand {
            patchlay_plan::Hand::Any => "",
            patchlay_plan::Hand::Drawn => ", as drawn",
            patchlay_plan::Hand::Mirrored => ", mirror image",
        };
        text.push_str(&print::wrapped("  ", &format!("{fabric}: {shape}{hand}: {good} of {wanted}")));
    }
    text.push_str("\nLeft on the bolts for strips\n");
    for (fabric, left) in job.fabrics.iter().zip(half.cloth_left()) {
        text.push_str(&print::wrapped("  ", &format!("{}: {}", fabric.name, left.show_cloth(job.units))));
    }
    text
}

fn line(entry: &Entry, counts: bool, job: &Job) -> String {
    let who = entry.who.as_deref().map(|who| format!(" ({who})")).unwrap_or_default();
    let undone = match entry.note {
        patchlay_plan::record::Note::Undo { .. } => "",
        _ if counts => "",
        _ => " - undone",
    };
    let head = format!("  {:>3}  {}  ", entry.number, when(entry.at));
    print::wrapped(&head, &format!("{}{who}{undone}", said(&entry.note, job.units)))
}

/// `2026-03-14 15:09 UTC`: days counted off year by year and month by month, as the calendar has them since 1582.
fn when(seconds: u64) -> String {
    let (mut days, minutes) = (seconds / 86_400, seconds % 86_400 / 60);
    let leap = |year: u64| year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400));
    let mut year = 1970;
    while year < 10_000 && days >= 365 + u64::from(leap(year)) {
        days -= 365 + u64::from(leap(year));
        year += 1;
    }
    let lengths = [31, 28 + u64::from(leap(year)), 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];
    let mut month = 0;
    while month < 11 && days >= lengths[month] {
        days -= lengths[month];
        month += 1;
    }
    format!("{year}-{:02}-{:02} {:02}:{:02} UTC", month + 1, days + 1, minutes / 60, minutes % 60)
}

fn as_json(plan: &Plan, job: &Job, log: &log::Log, half: &Half<'_>) -> Value {
    let layups = plan.layups.iter().zip(made(half)).zip(half.ready());
    let layups = layups.map(|((layup, (made, all)), ready)| {
        json!({ "layup": layup.name, "made": made, "ready": ready.len(), "passes": all })
    });
    let patches = half.patches().into_iter().map(|(fabric, shape, hand, good, wanted)| {
        json!({ "fabric": fabric, "shape": shape, "hand": hand, "good": good, "wanted": wanted })
    });
    let left = job.fabrics.iter().zip(half.cloth_left());
    let cloth = left.map(
        |(fabric, left)| json!({ "fabric": fabric.name, "left": left, "shown": left.show_cloth(job.units) }),
    );
    json!({
        "exit_code": 0,
        "plan": plan.number,
        "log_bytes": log.bytes,
        "records": log.entries,
        "counting": counting(&log.entries).iter().map(|entry| entry.number).collect::<Vec<_>>(),
        "troubles": half.troubles(),
        "layups": layups.collect::<Vec<_>>(),
        "patches": patches.collect::<Vec<_>>(),
        "cloth": cloth.collect::<Vec<_>>(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_are_told_by_the_calendar() {
        assert_eq!(when(0), "1970-01-01 00:00 UTC");
        // One billion seconds, a widely noted moment (from memory), and a leap day.
        assert_eq!(when(1_000_000_000), "2001-09-09 01:46 UTC");
        assert_eq!(when(951_782_400), "2000-02-29 00:00 UTC");
        assert!(when(u64::MAX).ends_with("UTC"));
    }
}
