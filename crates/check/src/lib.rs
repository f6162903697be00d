//! The independent judge of a plan, and of a group's day. From the text of the scenario file alone it derives everything again: boxes,
//! areas, ply sizes, stacks as exact fractions, demand, cloth, minutes, money and every printed figure, and it
//! computes every bound again from its certificate. It shares only exact measures, shapes and the plain types of
//! scenario and plan with the rest of the program; it must never use the validated job, anything derived from it,
//! or the optimiser.

mod balance;
mod bounds;
mod certificate;
mod cloth;
mod day;
mod demand;
mod facts;
mod fault;
mod fewest;
mod figures;
mod geometry;
mod mats;
mod minutes;
mod patches;
mod replan;
mod sizes;
mod stacks;
mod strategy;
mod supply;

use patchlay_plan::{PLAN_VERSION, Plan, plan_number, scenario_digest};
use serde::Serialize;

pub use day::{DayVerdict, check_day, check_rest};
pub use fault::{Fault, FaultCode};
pub use replan::{Recounted, check_replan};

use facts::Facts;
use fault::Faults;
use figures::Counted;

/// What was checked, in counts.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Verdict {
    /// Strips measured.
    pub strips: usize,
    /// Lengths and cuts, each found to be used once.
    pub pieces: usize,
    /// Lay-ups, all different.
    pub layups: usize,
    /// Passes, each fully supplied.
    pub passes: u64,
    /// Most plies in a stack.
    pub most_plies: u64,
    /// Lines of the demand met.
    pub demand_lines: usize,
    /// Patches wanted by them, spares included.
    pub patches_wanted: u64,
    /// Patches cut.
    pub patches_cut: u64,
    /// Cloth balances that add up.
    pub balances: usize,
    /// Bounds computed again from their proofs.
    pub bounds: usize,
    /// Of these, equal to the plan's figure.
    pub proved: usize,
}

/// Checks a plan against the text of its scenario file.
///
/// # Errors
/// Everything that is wrong with the plan: at most 20 faults of one kind and 200 in all, and one more that counts the
/// rest. A scenario that cannot be used gives one fault that says why.
pub fn check(scenario_text: &str, plan: &Plan) -> Result<Verdict, Vec<Fault>> {
    judged(scenario_text, Some(scenario_digest(scenario_text)), plan)
}

/// Checks a plan against the scenario that it echoes. Whether the scenario's file still says the same cannot be seen
/// from the plan and is not looked at.
///
/// # Errors
/// As [`check`].
pub fn check_alone(plan: &Plan) -> Result<Verdict, Vec<Fault>> {
    judged(&plan.scenario.to_string(), None, plan)
}

fn judged(scenario_text: &str, digest: Option<String>, plan: &Plan) -> Result<Verdict, Vec<Fault>> {
    let mut faults = Faults::default();
    let (mut facts, echo) = match Facts::read(scenario_text) {
        Ok(read) => read,
        Err(unusable) => {
            faults.add(FaultCode::ScenarioUnusable, unusable.place, unusable.why, "");
            return Err(faults.into_list());
        }
    };
    if let Some(digest) = digest {
        faults.equal(FaultCode::ScenarioChanged, "scenario_digest", plan.scenario_digest.as_str(), &digest);
    }
    documents(&echo, plan, &mut faults);
    facts.follow(plan.strategy, &mut faults);
    if !sizes::judge(plan, &mut faults) {
        return Err(faults.into_list());
    }
    let verdict = contents(&facts, plan, &mut faults);
    if faults.none() { Ok(verdict) } else { Err(faults.into_list()) }
}

/// Judges whether plan and scenario belong together and are whole.
fn documents(echo: &serde_json::Value, plan: &Plan, faults: &mut Faults) {
    faults.equal(FaultCode::WrongVersion, "patchlay_plan", plan.patchlay_plan, PLAN_VERSION);
    if plan.scenario != *echo {
        faults.add(FaultCode::EchoDiffers, "scenario", "differs", "the file");
    }
    let number = plan_number(plan).unwrap_or_default();
    faults.equal(FaultCode::PlanNumber, "number", plan.number.as_str(), &number);
}

fn contents(facts: &Facts, plan: &Plan, faults: &mut Faults) -> Verdict {
    supply::strips(facts, plan, faults);
    let layups = supply::layups(facts, plan, faults);
    let highest = stacks::judge(facts, &layups, faults);
    strategy::judge(facts, plan, &layups, faults);
    mats::judge(facts, &layups, faults);
    let cut = patches::judge(facts, plan, &layups, faults);
    let Some(cloth) = cloth::judge(facts, plan, faults) else { return Verdict::default() };
    let seconds = minutes::judge(facts, plan, &cloth, faults);
    let counted = Counted { facts, plan, layups: &layups, cloth: &cloth, cut: &cut, highest, seconds };
    let Some(totals) = counted.totals() else {
        faults.add(FaultCode::OutOfRange, "figures", "too large to be counted", "less");
        return Verdict::default();
    };
    counted.judge(&totals, faults);
    balance::judge(&counted, faults);
    let bounds = bounds::judge(facts, plan, &totals, faults);
    // A search over what is not sound could take long.
    if faults.only(FaultCode::PlanNumber) {
        fewest::judge(facts, plan, &layups, faults);
    }
    Verdict {
        strips: plan.fabrics.iter().map(|fabric| fabric.strips.len()).sum(),
        pieces: plan.fabrics.iter().flat_map(|fabric| &fabric.strips).map(|strip| strip.pieces.len()).sum(),
        layups: plan.layups.len(),
        passes: totals.passes,
        most_plies: highest.plies,
        demand_lines: facts.demand.lines.len(),
        patches_wanted: facts.demand.lines.iter().map(|line| line.needed + line.spare).sum(),
        patches_cut: cut.all.values().fold(0, |sum, count| sum.saturating_add(*count)),
        balances: facts.fabrics.len(),
        bounds,
        proved: plan.bounds.iter().filter(|bound| bound.proved).count(),
    }
}
