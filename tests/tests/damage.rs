//! Every kind of damage to a good plan is refused, and by name.

#[path = "../damage/mod.rs"]
mod damage;

use std::time::Duration;

use damage::damages;
use patchlay_check::{Fault, FaultCode, check};
use patchlay_optimise::{Options, Quiet, optimise};
use patchlay_plan::proof::PartProof;
use patchlay_plan::{Batch, LoadingRule, Plan, PlyRule, Strategy};

/// A scenario, a good plan for it, and where they come from.
type Good = (&'static str, &'static str, &'static str);

/// Plans drawn up by hand: cloth, passes, minutes, balances and bounds were worked out on paper. The star's three passes
/// are proved by cases: in at most two passes, at twice the prices, its patches are worth 6 and the passes take 2
/// off; in three or more the passes alone are worth 3.
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

/// Between the bound of lay-ups and the lay-ups that there are, a bound is believed only if the checker proves it.
#[test]
fn one_more_layup_than_is_proved_is_refused_though_the_plan_has_as_many() {
    let scenario = include_str!("../../scenarios/star-hand-check.json");
    let (_, job) = patchlay_scenario::load(scenario).expect("a demo scenario is sound");
    let mut plan = optimise(&job, scenario, &Options::default(), &Quiet).expect("it can be planned");
    let fewest = plan.fewest.as_mut().expect("a plan that is kept states it");
    assert!(fewest.layups < plan.figures.layups, "star-hand-check is at its bound: take another demo");
    fewest.layups += 1;
    let faults = check(scenario, &plan).expect_err("it is not proved");
    assert!(faults.iter().all(|fault| fault.code == FaultCode::FewestNotProved), "{}", lines(&faults));
}

/// Plans the crib quilt under a strategy; the plan passes the check.
fn crib_under(strategy: Strategy) -> (&'static str, Plan) {
    let scenario = include_str!("../../scenarios/crib-nine-patch.json");
    let (_, job) = patchlay_scenario::load(scenario).expect("a demo scenario is sound");
    let options = Options { effort: 1, ..Options::default() };
    let plan = optimise(&job.under(strategy), scenario, &options, &Quiet).expect("it can be planned");
    if let Err(faults) = check(scenario, &plan) {
        panic!("{strategy:?} is refused:\n{}", lines(&faults));
    }
    (scenario, plan)
}

#[test]
fn a_plan_block_by_block_is_held_to_its_batches() {
    let (scenario, good) = crib_under(Strategy { loading: LoadingRule::BlockByBlock, ..Strategy::default() });
    let refused = |change: &dyn Fn(&mut Plan), expect: FaultCode| {
        let mut plan = good.clone();
        change(&mut plan);
        plan.number = patchlay_plan::plan_number(&plan).expect("a plan can be written");
        let faults = check(scenario, &plan).err().unwrap_or_default();
        assert!(faults.iter().any(|fault| fault.code == expect), "no {expect}, but\n{}", lines(&faults));
        // Everything else about the plan is still right.
        let codes = [FaultCode::BatchList, FaultCode::BatchShort, FaultCode::BatchPasses];
        assert!(faults.iter().all(|fault| codes.contains(&fault.code)), "{}", lines(&faults));
    };
    let batches = good.batches.len();
    assert!(batches > 2);
    refused(
        &|plan| plan.layups[0].serves[0] = (plan.layups[0].serves[0] + 1) % batches,
        FaultCode::BatchShort,
    );
    refused(&|plan| plan.layups[0].serves[0] = batches, FaultCode::BatchList);
    refused(&|plan| plan.layups[0].serves.truncate(0), FaultCode::BatchList);
    refused(&|plan| plan.batches.truncate(batches - 1), FaultCode::BatchList);
    refused(&|plan| plan.batches.push(Batch::LoosePatches), FaultCode::BatchList);
    // Two batches taken together: the copies add up, but their passes are too many for one.
    let alike = |(at, batch): (usize, &Batch)| {
        let later = good.batches[at + 1..].iter().position(|other| {
            matches!((batch, other), (Batch::Block { block: a, .. }, Batch::Block { block: b, .. }) if a == b)
        });
        later.map(|later| (at, at + 1 + later))
    };
    let (first, second) = good.batches.iter().enumerate().find_map(alike).expect("a block has two batches");
    refused(
        &|plan| {
            let Batch::Block { copies: more, .. } = plan.batches.remove(second) else { return };
            if let Batch::Block { copies, .. } = &mut plan.batches[first] {
                *copies += more;
            }
            for serves in plan.layups.iter_mut().flat_map(|layup| &mut layup.serves) {
                *serves = match *serves {
                    at if at == second => first,
                    at if at > second => at - 1,
                    at => at,
                };
            }
        },
        FaultCode::BatchPasses,
    );
}

#[test]
fn a_strategy_that_is_kept_to_may_not_be_claimed_stricter() {
    let (scenario, good) = crib_under(Strategy {
        loading: LoadingRule::FabricByFabric,
        plies: PlyRule::Flat,
        ply_limit: Some(3),
    });
    let claim = |strategy: Strategy| {
        let mut plan = good.clone();
        plan.strategy = strategy;
        plan.number = patchlay_plan::plan_number(&plan).expect("a plan can be written");
        check(scenario, &plan).err().unwrap_or_default()
    };
    let codes = |faults: &[Fault]| faults.iter().map(|fault| fault.code).collect::<Vec<_>>();
    assert!(
        codes(&claim(Strategy { ply_limit: Some(2), ..good.strategy })).contains(&FaultCode::StackTooHigh)
    );
    let folded = Strategy { plies: PlyRule::Folded, ..good.strategy };
    assert!(codes(&claim(folded)).contains(&FaultCode::NotFolded));
    // Looser rules are kept to as well, but passes are no longer bounded fabric by fabric.
    let mixed = Strategy { loading: LoadingRule::Mixed, ..good.strategy };
    assert_eq!(codes(&claim(mixed)), [FaultCode::CertificateForm], "{}", lines(&claim(mixed)));
    // The proof of passes: one part less bounds less than the plan says, one twice proves nothing.
    let proof = |change: &dyn Fn(&mut Vec<PartProof>)| {
        let mut plan = good.clone();
        change(&mut plan.certificate.stages[0].parts);
        plan.number = patchlay_plan::plan_number(&plan).expect("a plan can be written");
        codes(&check(scenario, &plan).err().unwrap_or_default())
    };
    assert_eq!(proof(&|parts| parts.truncate(parts.len() - 1)), [FaultCode::BoundNotProved]);
    assert_eq!(proof(&|parts| parts.push(parts[0].clone())), [FaultCode::CertificateForm]);
    let two = |parts: &mut Vec<PartProof>| {
        let other = parts[1].demand.clone();
        parts[0].demand.iter_mut().zip(other).filter(|(price, _)| price.n == 0).for_each(|(a, b)| *a = b);
    };
    assert_eq!(proof(&two), [FaultCode::CertificateForm]);
}

#[test]
fn damages_have_names_of_their_own_and_cover_the_faults() {
    let damages = damages();
    let mut names: Vec<&str> = damages.iter().map(|damage| damage.name).collect();
    names.sort_unstable();
    names.dedup();
    assert_eq!(names.len(), damages.len());
    assert!(damages.len() >= 40);
    // Days are damaged in the checker's own tests.
    for code in patchlay_check::FaultCode::ALL.iter().filter(|code| !code.number().starts_with('D')) {
        let reached = damages.iter().any(|damage| damage.expect == *code);
        // The first counts faults; the second needs a board whose cloth overlaps beside the blades, which the
        // checker's own tests have. Replans have damages of their own, in `replan.rs`.
        let elsewhere =
            matches!(code, patchlay_check::FaultCode::MoreFaults | patchlay_check::FaultCode::OverlapTooHigh)
                || code.number().starts_with("CR");
        assert!(reached != elsewhere, "{code}: {}", code.title());
    }
}
