//! `patchlay verify`: the checker, on its own.

use std::path::Path;

use patchlay_check::{Fault, Verdict};
use patchlay_plan::Plan;
use serde_json::{Value, json};

use crate::args::VerifyArgs;
use crate::report::{Failure, Message};
use crate::{files, print};

/// Checks a plan against its scenario and tells what was checked.
///
/// # Errors
/// A file cannot be read, or every fault of the plan.
pub(crate) fn run(wanted: &VerifyArgs) -> Result<(), Failure> {
    let loaded = files::scenario(&wanted.scenario)?;
    let plan = files::plan(&wanted.plan)?;
    let verdict = patchlay_check::check(&loaded.text, &plan)
        .map_err(|faults| Failure::PlanFails(messages(&faults, &wanted.plan)))?;
    if let Some(file) = &wanted.day {
        let day = files::day(file)?;
        let found = patchlay_check::check_day(&loaded.text, &plan, &day)
            .map_err(|faults| Failure::PlanFails(messages(&faults, file)))?;
        if !wanted.json {
            let text = format!(
                "Day {} passes the check: {} bags from {} lots, {} runs, {} tasks, {} shares of money.",
                day.number, found.bags, found.lots, found.runs, found.tasks, found.shares
            );
            print::out(&print::wrapped("", &text))?;
        }
    }
    if wanted.json { print::json(&as_json(&plan, &verdict)) } else { print::out(&as_text(&plan, &verdict)) }
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
