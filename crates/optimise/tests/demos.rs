//! The demo scenarios, planned and judged by the independent checker.

#![allow(clippy::unwrap_used, reason = "helpers of tests")]

use patchlay_optimise::{Options, Quiet, optimise};

fn planned(name: &str) -> (String, patchlay_plan::Plan) {
    planned_text(name, scenario(name))
}

fn scenario(name: &str) -> String {
    let path = format!("{}/../../scenarios/{name}.json", env!("CARGO_MANIFEST_DIR"));
    std::fs::read_to_string(&path).unwrap()
}

fn planned_text(name: &str, text: String) -> (String, patchlay_plan::Plan) {
    let (_, job) = patchlay_scenario::load(&text).unwrap();
    let begun = std::time::Instant::now();
    let plan = optimise(&job, &text, &Options { effort: 1, ..Options::default() }, &Quiet).unwrap();
    eprintln!(
        "{name}: {:?} passes {} layups {} pieces {} strips {} {:?} in {:?}",
        plan.outcome,
        plan.figures.passes,
        plan.figures.layups,
        plan.figures.pieces,
        plan.figures.strips,
        plan.bounds.iter().map(|b| (b.figure, b.value.clone(), b.bound.clone())).collect::<Vec<_>>(),
        begun.elapsed()
    );
    if let Err(faults) = patchlay_check::check(&text, &plan) {
        let listed: Vec<String> = faults
            .iter()
            .map(|f| format!("{:?} {} found {} expected {}", f.code, f.place, f.found, f.expected))
            .collect();
        panic!("{name}: {} faults\n{}", faults.len(), listed[..listed.len().min(12)].join("\n"));
    }
    (text, plan)
}

/// Thirty three-by-three star blocks on a board with one square and one quarter-square position: 150 squares at six a
/// pass are 25 passes, and no plan on this board does better (derived by hand; six plies: common practice, no source).
#[test]
fn star_hand_check_takes_25_passes_proved() {
    let (_, plan) = planned("star-hand-check");
    assert_eq!(plan.figures.passes, 25);
    assert!(plan.bounds[0].proved && !plan.bounds[0].conditional);
}

#[test]
fn every_demo_meets_its_demand() {
    let mut failed = Vec::new();
    for name in [
        "smallest",
        "crib-nine-patch",
        "crib-nine-patch-metric",
        "handed-half-rectangles",
        "queen-churn-dash",
        "twelve-lap-quilts",
    ] {
        match std::panic::catch_unwind(|| planned(name)) {
            Ok((_, plan)) => {
                assert!(plan.patches.iter().all(|line| line.cut >= line.needed + line.spare), "{name}");
            }
            Err(_) => failed.push(name),
        }
    }
    assert!(failed.is_empty(), "{failed:?}");
}

/// A fabric wanted in one hand only is never folded: every second ply would be the other hand. The plan passes the
/// independent checker, and the fabric's lengths are all single plies.
#[test]
fn a_single_hand_is_never_folded() {
    let mut scenario: serde_json::Value = serde_json::from_str(&scenario("handed-half-rectangles")).unwrap();
    let patches = scenario["blocks"][0]["patches"].as_array_mut().unwrap();
    patches.retain(|patch| patch["role"] != "spire" || patch.get("mirrored").is_none());
    scenario["blocks"][0]["patches"][0]["count"] = 8.into();
    let (_, plan) = planned_text("single hand", scenario.to_string());
    let slate = plan.fabrics.iter().find(|fabric| fabric.fabric == "Slate").unwrap();
    assert!(slate.strips.iter().flat_map(|strip| &strip.pieces).all(|piece| piece.plies == 1));
    assert!(plan.patches.iter().all(|line| line.cut >= line.needed + line.spare));
}

/// The proof block may be cut from the plies of a plan made without it, so under least cloth asking for it never costs
/// more for cloth, whatever else it costs.
#[test]
fn a_proof_block_takes_no_more_cloth() {
    let asked: serde_json::Value = serde_json::from_str(&scenario("queen-churn-dash")).unwrap();
    let mut plain = asked.clone();
    assert!(plain.as_object_mut().unwrap().remove("proof_block").is_some());
    let (_, with) = planned_text("with proof block", asked.to_string());
    let (_, without) = planned_text("without", plain.to_string());
    assert!(with.proof_block.is_some() && without.proof_block.is_none());
    assert!(with.figures.money <= without.figures.money);
}

/// Told to stop from the beginning, the optimiser still ends with a plan that the checker passes.
#[test]
fn a_stop_before_the_lay_ups_leaves_a_sound_plan() {
    struct Stopped;

    impl patchlay_optimise::Listener for Stopped {
        fn event(&self, _: &patchlay_optimise::Progress) {}
        fn stop(&self) -> bool {
            true
        }
    }

    let text = scenario("crib-nine-patch");
    let (_, job) = patchlay_scenario::load(&text).unwrap();
    let plan = optimise(&job, &text, &Options::default(), &Stopped).unwrap();
    assert!(patchlay_check::check(&text, &plan).is_ok());
}
