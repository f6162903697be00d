//! The scenario with one thing changed, planned again. The change is made in the scenario's own text, so that it is
//! validated, planned and checked as if it had been written so.

use patchlay_measure::{Length, UnitSystem};
use patchlay_plan::Plan;
use patchlay_plan::explain::{Change, Changed, Replanned};
use patchlay_scenario::{Job, Strategy};
use serde_json::{Value, json};

use crate::compare::{Made, written};
use crate::listen::Listener;
use crate::{Care, OptimiseError, Options, plan};

/// How much narrower cloth is thought to be.
pub(super) fn narrower_by(units: UnitSystem) -> Length {
    match units {
        UnitSystem::Inch => Length::from_64ths(32),
        UnitSystem::Metric => Length::from_mm_tenths(100),
    }
}

/// Plans again with a change.
pub(super) fn changed(
    job: &Job,
    now: &Plan,
    what: Changed,
    options: &Options,
    listener: &dyn Listener,
) -> Result<(Change, Option<Made>), OptimiseError> {
    let mut scenario = now.scenario.clone();
    let strategy = apply(&mut scenario, job, &what);
    let text = written(&scenario)?;
    let still_fits = still_fits(job, now, &what);
    let none = |what, reason| Ok((Change { what, still_fits, plan: Err(reason) }, None));
    let other = match patchlay_scenario::load(&text) {
        Ok((_, other)) => other.under(strategy),
        Err(error) => {
            let reasons = error.problems().iter().map(|problem| problem.problem.clone());
            return none(what, reasons.collect::<Vec<_>>().join("; "));
        }
    };
    match plan(&other, &text, options, listener, Care::Whole) {
        Ok(plan) => {
            let found = Replanned {
                number: plan.number.clone(),
                outcome: plan.outcome,
                figures: plan.figures.clone(),
                bounds: plan.bounds.clone(),
            };
            Ok((Change { what, still_fits, plan: Ok(found) }, Some(Made { scenario: text, plan })))
        }
        Err(OptimiseError::Internal(what)) => Err(OptimiseError::Internal(what)),
        Err(error) => none(what, error.to_string()),
    }
}

/// Makes the change; the strategy under which to plan then.
fn apply(scenario: &mut Value, job: &Job, what: &Changed) -> Strategy {
    let mut strategy = job.strategy;
    match what {
        Changed::Nothing => {}
        Changed::OnePlyMore { to } => {
            // A strategy may keep below what the cutter takes; then only the strategy changes.
            let cutter = scenario["cutter"]["ply_limit"].as_u64().unwrap_or(0);
            strategy.ply_limit = strategy.ply_limit.map(|_| *to);
            if u64::from(*to) > cutter {
                scenario["cutter"]["ply_limit"] = json!(to);
            }
        }
        Changed::Narrower { fabrics, by } => {
            for (f, fabric) in job.fabrics.iter().enumerate() {
                if fabrics.contains(&fabric.name) {
                    let width = fabric.stated_width - *by;
                    scenario["fabrics"][f]["usable_width"] = json!(typed(width, job.units));
                }
            }
        }
    }
    strategy
}

/// A length as it can be typed, exactly.
fn typed(length: Length, units: UnitSystem) -> String {
    let shown = length.show(units);
    if shown.starts_with('~') { format!("{}/{} in", length.units(), Length::UNITS_PER_INCH) } else { shown }
}

/// Whether the plan at hand keeps to the changed rules too: higher stacks need not be used, and narrower cloth does
/// where the fullest strip still fits.
fn still_fits(job: &Job, now: &Plan, what: &Changed) -> bool {
    let Changed::Narrower { fabrics, by } = what else { return true };
    job.fabrics.iter().filter(|fabric| fabrics.contains(&fabric.name)).all(|fabric| {
        let strips = now.fabric(&fabric.name).map_or(&[][..], |plan| &plan.strips);
        let carried =
            strips.iter().map(|strip| strip.pieces.iter().map(|piece| piece.length).sum::<Length>());
        // Narrower before washing is a little less narrower after it; what is taken off in full is the strict side.
        carried.max().is_none_or(|most| most <= fabric.strip_capacity() - *by)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn widths_can_be_typed_exactly() {
        for (units, system) in
            [(341_376, UnitSystem::Inch), (7, UnitSystem::Inch), (35_232, UnitSystem::Metric)]
        {
            let length = Length::from_units(units);
            let text = typed(length, system);
            assert_eq!(patchlay_measure::parse_length(&text, system), Ok(length), "{text}");
        }
    }
}
