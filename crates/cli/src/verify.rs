//! `patchlay verify`: the checker, on its own.

mod begun;

use std::path::Path;

use patchlay_check::{DayVerdict, Fault, Verdict};
use patchlay_plan::Plan;
use patchlay_plan::day::Day;
use serde_json::{Value, json};

use crate::args::VerifyArgs;
use crate::report::{Failure, Message, Ours};
use crate::{files, print};
use begun::Begun;

/// Checks a plan against its scenario, and what else is named by plan and log, and tells what was checked.
///
/// # Errors
/// A file cannot be read, files do not belong together, or every fault.
pub(crate) fn run(wanted: &VerifyArgs) -> Result<(), Failure> {
    let loaded = files::scenario(&wanted.scenario)?;
    let plan = files::plan(&wanted.plan)?;
    let verdict = patchlay_check::check(&loaded.text, &plan)
        .map_err(|faults| Failure::PlanFails(messages(&faults, &wanted.plan)))?;
    let day = wanted.day.as_ref().map(|file| files::day(file).map(|day| (file, day))).transpose()?;
    let begun =
        wanted.replan.as_ref().map(|replan| Begun::read(wanted, &plan, replan, day.as_ref())).transpose()?;
    let mut failures = Vec::new();
    let mut judged = |file: &Path, found: Result<DayVerdict, Vec<Fault>>| {
        found.map_err(|faults| failures.extend(messages(&faults, file))).ok()
    };
    let whole = match &day {
        Some((file, day)) if day.rest.is_none() => {
            judged(file, patchlay_check::check_day(&loaded.text, &plan, day)).map(|found| (day, found))
        }
        Some((file, _)) if begun.is_none() => return Err(rest_alone(file)),
        _ => None,
    };
    let recounted =
        begun.as_ref().and_then(|begun| begun.judge(&plan).map_err(|more| failures.extend(more)).ok());
    if !failures.is_empty() {
        return Err(Failure::PlanFails(failures));
    }
    if wanted.json {
        let mut told = as_json(&plan, &verdict);
        if let Some((day, found)) = &whole {
            told["day"] = json!({ "number": day.number, "checked": found });
        }
        if let (Some(begun), Some(found)) = (&begun, &recounted) {
            begun.add_json(found, &mut told);
        }
        return print::json(&told);
    }
    let mut text = whole.iter().map(|(day, found)| day_text("Day", day, found)).collect::<String>();
    if let (Some(begun), Some(found)) = (&begun, &recounted) {
        text.push_str(&begun.as_text(found, loaded.job.group.is_some()));
    }
    print::out(&(text + &as_text(&plan, &verdict)))
}

/// The rest of a day cannot be judged by the plan alone.
fn rest_alone(file: &Path) -> Failure {
    let problem =
        "this is the rest of a day that had begun: it follows from what was noted, not from the plan alone";
    let hint = "add --replan and the folder that 'patchlay replan' wrote, for example --replan replan; the log is \
                plan.log beside the plan unless --log names another";
    Failure::bad(Message::new(Ours::NotTogether, problem).about(file).hint(hint))
}

/// What was checked of a day, for people.
fn day_text(what: &str, day: &Day, found: &DayVerdict) -> String {
    let text = format!(
        "{what} {} passes the check: {} bags from {} lots, {} runs, {} tasks, {} shares of money.",
        day.number, found.bags, found.lots, found.runs, found.tasks, found.shares
    );
    print::wrapped("", &text)
}

/// The faults of a plan as messages about a file.
pub(crate) fn messages(faults: &[Fault], file: &Path) -> Vec<Message> {
    faults.iter().map(|fault| Message::of_fault(fault, file)).collect()
}

/// What was checked, for people.
fn as_text(plan: &Plan, verdict: &Verdict) -> String {
    let name = plan.scenario["name"].as_str().unwrap_or_default();
    let mut text = print::wrapped("", &format!("Plan {} for '{name}' passes the check.", plan.number));
    for line in account(verdict) {
        text.push_str(&print::wrapped("  - ", &line));
    }
    text
}

/// One line for each thing that was derived again from the scenario.
fn account(verdict: &Verdict) -> [String; 6] {
    let unproved = verdict.bounds.saturating_sub(verdict.proved);
    let bounds = match (verdict.bounds, unproved) {
        (0, _) => "no bounds are claimed".to_owned(),
        (all, 0) => format!("bounds: all {all} follow from their proofs, and the plan meets every one"),
        (all, open) => {
            format!("bounds: all {all} follow from their proofs; the plan is above {open} of them")
        }
    };
    [
        format!(
            "strips: {} fit their cloth; the {} lengths and cuts from them are each used once",
            verdict.strips, verdict.pieces
        ),
        format!(
            "lay-ups: {} in {} passes; areas, ways round, faces, folds and mats are right",
            verdict.layups, verdict.passes
        ),
        format!("stacks: at most {} plies at any point, within every limit", verdict.most_plies),
        format!(
            "patches: {} cut, {} wanted, spares included; each of {} lines by fabric, shape and hand is met",
            verdict.patches_cut, verdict.patches_wanted, verdict.demand_lines
        ),
        format!(
            "figures: cloth, minutes and money counted again; {} cloth balances add up",
            verdict.balances
        ),
        bounds,
    ]
}

/// The same for programs.
fn as_json(plan: &Plan, verdict: &Verdict) -> Value {
    json!({ "outcome": "passes", "exit_code": 0, "number": plan.number, "checked": verdict })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(bounds: usize, proved: usize) -> String {
        account(&Verdict { bounds, proved, ..Verdict::default() }).concat()
    }

    #[test]
    fn open_bounds_are_not_passed_over() {
        assert!(told(4, 4).contains("meets every one"));
        assert!(told(4, 3).contains("above 1 of them"));
        assert!(told(0, 0).contains("no bounds"));
    }
}
