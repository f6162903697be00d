//! Every kind of damage to a good plan is refused, and by name.

#[path = "../damage/mod.rs"]
mod damage;

use std::time::Duration;

use damage::damages;
use patchlay_check::{Fault, check};
use patchlay_optimise::{Options, Quiet, optimise};
use patchlay_plan::Plan;

/// A scenario, a good plan for it, and where they come from.
type Good = (&'static str, &'static str, &'static str);

/// Plans drawn up by hand: cloth, passes, minutes, balances and bounds were worked out on paper.
const BY_HAND: [Good; 2] = [
    ("star", include_str!("../damage/good/star.json"), include_str!("../damage/good/star.plan.json")),
    ("spires", include_str!("../damage/good/spires.json"), include_str!("../damage/good/spires.plan.json")),
];

fn lines(faults: &[Fault]) -> String {
    faults.iter().map(|fault| format!("  {fault}\n")).collect()
}

#[test]
fn good_plans_pass() {
    for (name, scenario, plan) in BY_HAND {
        let plan = Plan::from_json(plan).unwrap();
        if let Err(faults) = check(scenario, &plan) {
            panic!("{name} is refused:\n{}", lines(&faults));
        }
    }
}

/// Does every kind of damage to a plan: how many could be done, and what was not refused by name.
fn refuse(name: &str, scenario: &str, plan: &Plan) -> (Vec<bool>, String) {
    let mut failures = String::new();
    let mut done = Vec::new();
    for damage in damages() {
        let (mut text, mut plan) = (scenario.to_owned(), plan.clone());
        done.push((damage.apply)(&mut plan, &mut text));
        if done.last() == Some(&false) {
            continue;
        }
        let faults = check(&text, &plan).err().unwrap_or_default();
        if !faults.iter().any(|fault| fault.code == damage.expect) {
            failures += &format!("{}, {name}: no {}, but\n{}", damage.name, damage.expect, lines(&faults));
        }
    }
    (done, failures)
}

#[test]
fn every_kind_of_damage_is_refused_by_name() {
    let mut failures = String::new();
    let mut possible = vec![false; damages().len()];
    for (name, scenario, plan) in BY_HAND {
        let (done, found) = refuse(name, scenario, &Plan::from_json(plan).unwrap());
        possible.iter_mut().zip(done).for_each(|(possible, done)| *possible |= done);
        failures += &found;
    }
    for (damage, _) in damages().iter().zip(possible).filter(|(_, possible)| !possible) {
        failures += &format!("{}: there is no plan to do it to\n", damage.name);
    }
    assert!(failures.is_empty(), "{failures}");
}

/// Plans a demo scenario with little effort, checks the plan, and damages it in every way it can be damaged.
fn demo(name: &str, scenario: &str) {
    let (_, job) = patchlay_scenario::load(scenario).expect("a demo scenario is sound");
    let options = Options { effort: 1, time_limit: Some(Duration::from_secs(30)), ..Options::default() };
    let plan = optimise(&job, scenario, &options, &Quiet).expect("a demo scenario can be planned");
    if let Err(faults) = check(scenario, &plan) {
        panic!("{name} is refused:\n{}", lines(&faults));
    }
    let (done, failures) = refuse(name, scenario, &plan);
    assert!(failures.is_empty(), "{failures}");
    let done = done.iter().filter(|done| **done).count();
    assert!(done >= 40, "only {done} kinds of damage could be done to {name}");
}

macro_rules! demos {
    ($($test:ident: $file:literal;)*) => {
        $(#[test]
        fn $test() {
            demo($file, include_str!(concat!("../../scenarios/", $file, ".json")));
        })*
    };
}

demos! {
    smallest: "smallest";
    star_hand_check: "star-hand-check";
    crib_nine_patch: "crib-nine-patch";
    crib_nine_patch_metric: "crib-nine-patch-metric";
    handed_half_rectangles: "handed-half-rectangles";
    queen_churn_dash: "queen-churn-dash";
    twelve_lap_quilts: "twelve-lap-quilts";
}

#[test]
fn damages_have_names_of_their_own_and_cover_the_faults() {
    let damages = damages();
    let mut names: Vec<&str> = damages.iter().map(|damage| damage.name).collect();
    names.sort_unstable();
    names.dedup();
    assert_eq!(names.len(), damages.len());
    assert!(damages.len() >= 40);
    for code in patchlay_check::FaultCode::ALL {
        let reached = damages.iter().any(|damage| damage.expect == *code);
        // The first counts faults; the second needs a board whose cloth overlaps beside the blades, which the
        // checker's own tests have.
        let elsewhere =
            matches!(code, patchlay_check::FaultCode::MoreFaults | patchlay_check::FaultCode::OverlapTooHigh);
        assert!(reached != elsewhere, "{code}: {}", code.title());
    }
}
