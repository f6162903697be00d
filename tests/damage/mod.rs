//! Damage done to good plans: every kind of it, what it does, and the fault that must be found. One table for plans
//! drawn up by hand and for plans that the optimiser makes.
//!
//! Each damage changes the plan or the scenario and nothing else: figures, plan number and everything else that
//! follows are left as they were, except where the damage is only told apart from a changed file by mending the
//! documents again ([`mend_documents`]).

mod bounds;
mod figures;
mod strategy;
mod supply;
mod whole;

use patchlay_check::FaultCode;
use patchlay_plan::{Plan, plan_number, scenario_digest};

/// One kind of damage.
pub(crate) struct Damage {
    /// What was done, in a few words.
    pub(crate) name: &'static str,
    /// Does it to a plan and its scenario's text; whether there was something to damage.
    pub(crate) apply: fn(&mut Plan, &mut String) -> bool,
    /// The fault that must be found.
    pub(crate) expect: FaultCode,
}

/// All kinds of damage.
#[must_use]
pub(crate) fn damages() -> Vec<Damage> {
    let mut all = Vec::new();
    all.extend(whole::damages());
    all.extend(supply::damages());
    all.extend(figures::damages());
    all.extend(bounds::damages());
    all.extend(strategy::damages());
    all
}

/// Lets a plan belong to a changed scenario: digest, echo and number fit again, so that only the damage is left.
pub(crate) fn mend_documents(plan: &mut Plan, scenario: &str) {
    plan.scenario_digest = scenario_digest(scenario);
    plan.scenario = serde_json::from_str(scenario).expect("a damaged scenario is still JSON");
    plan.number = plan_number(plan).expect("a plan can be written");
}

/// Changes the scenario as JSON and mends the documents. Whether there was something to change.
fn change_scenario(
    plan: &mut Plan,
    text: &mut String,
    change: impl FnOnce(&mut serde_json::Value) -> Option<()>,
) -> bool {
    let mut value: serde_json::Value = serde_json::from_str(text).expect("the scenario is JSON");
    if change(&mut value).is_none() {
        return false;
    }
    *text = serde_json::to_string_pretty(&value).expect("JSON can be written");
    mend_documents(plan, text);
    true
}

/// Shorthand for the tables.
fn damage(name: &'static str, expect: FaultCode, apply: fn(&mut Plan, &mut String) -> bool) -> Damage {
    Damage { name, apply, expect }
}
