//! Whatever is done to the JSON of a good plan or of its scenario, the checker answers, and refuses.

mod change;

use change::{apply, changes};
use patchlay_check::{FaultCode, check};
use patchlay_plan::{Certificate, Outcome, Plan};
use proptest::prelude::*;
use serde_json::Value;

const GOOD: [(&str, &str); 2] = [
    (
        include_str!("../../../tests/damage/good/star.json"),
        include_str!("../../../tests/damage/good/star.plan.json"),
    ),
    (
        include_str!("../../../tests/damage/good/spires.json"),
        include_str!("../../../tests/damage/good/spires.plan.json"),
    ),
];

fn without_proof(plan: Plan) -> Plan {
    Plan {
        bounds: Vec::new(),
        certificate: Certificate::default(),
        outcome: Outcome::WithGap,
        fewest: None,
        ..plan
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 4_000, ..ProptestConfig::default() })]

    #[test]
    fn a_changed_plan_is_refused_without_panic(which in 0..2_usize, changes in changes()) {
        let (scenario, good) = GOOD[which];
        let mut tree: Value = serde_json::from_str(good).unwrap();
        changes.iter().for_each(|change| apply(&mut tree, change));
        if let Ok(plan) = serde_json::from_value::<Plan>(tree) {
            let good = Plan::from_json(good).unwrap();
            let passes = check(scenario, &plan).is_ok();
            prop_assert!(passes || plan != good);
            // A weaker proof that holds is no fault, and does not change the plan's number.
            prop_assert!(!passes || without_proof(plan) == without_proof(good));
        }
    }

    #[test]
    fn a_changed_scenario_is_refused_without_panic(which in 0..2_usize, changes in changes()) {
        let (scenario, good) = GOOD[which];
        let mut tree: Value = serde_json::from_str(scenario).unwrap();
        changes.iter().for_each(|change| apply(&mut tree, change));
        let plan = Plan::from_json(good).unwrap();
        let faults = check(&tree.to_string(), &plan).unwrap_err();
        let named = |code| faults.iter().any(|fault| fault.code == code);
        prop_assert!(named(FaultCode::ScenarioChanged) || named(FaultCode::ScenarioUnusable));
    }
}
