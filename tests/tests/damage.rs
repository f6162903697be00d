//! Every kind of damage to a good plan is refused, and by name.

#[path = "../damage/mod.rs"]
mod damage;

use damage::damages;
use patchlay_check::{Fault, check};
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

#[test]
fn every_kind_of_damage_is_refused_by_name() {
    let mut failures = String::new();
    for damage in damages() {
        let mut done = 0;
        for (name, scenario, plan) in BY_HAND {
            let (mut text, mut plan) = (scenario.to_owned(), Plan::from_json(plan).unwrap());
            if !(damage.apply)(&mut plan, &mut text) {
                continue;
            }
            done += 1;
            let faults = check(&text, &plan).err().unwrap_or_default();
            if !faults.iter().any(|fault| fault.code == damage.expect) {
                failures +=
                    &format!("{}, {name}: no {}, but\n{}", damage.name, damage.expect, lines(&faults));
            }
        }
        if done == 0 {
            failures += &format!("{}: there is no plan to do it to\n", damage.name);
        }
    }
    assert!(failures.is_empty(), "{failures}");
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
