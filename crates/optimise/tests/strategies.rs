//! Demo scenarios planned under every strategy and judged by the independent checker, which knows the rules from the
//! plan's own statement of its strategy.

#![allow(clippy::unwrap_used, reason = "helpers of tests")]

use patchlay_optimise::{Options, Quiet, optimise};
use patchlay_plan::Plan;
use patchlay_scenario::{LoadingRule, PlyRule, Strategy};

fn scenario(name: &str) -> String {
    let path = format!("{}/../../scenarios/{name}.json", env!("CARGO_MANIFEST_DIR"));
    std::fs::read_to_string(&path).unwrap()
}

fn planned(name: &str, strategy: Strategy) -> Plan {
    let text = scenario(name);
    let (_, job) = patchlay_scenario::load(&text).unwrap();
    let options = Options { effort: 1, ..Options::default() };
    let begun = std::time::Instant::now();
    let plan = optimise(&job.under(strategy), &text, &options, &Quiet).unwrap();
    let figures = &plan.figures;
    eprintln!(
        "{name} {strategy:?}: passes {} money {} layups {} pieces {} strips {} spare {} in {:?}",
        figures.passes,
        figures.money.show("$"),
        figures.layups,
        figures.pieces,
        figures.strips,
        figures.spare_patches,
        begun.elapsed()
    );
    if let Err(faults) = patchlay_check::check(&text, &plan) {
        let listed: Vec<String> = faults.iter().map(ToString::to_string).collect();
        panic!("{name} {strategy:?}: {} faults\n{}", faults.len(), listed[..listed.len().min(12)].join("\n"));
    }
    assert_eq!(plan.strategy, strategy);
    plan
}

fn every(name: &str) {
    for loading in LoadingRule::ALL {
        for plies in PlyRule::ALL {
            for ply_limit in [None, Some(2)] {
                let _ = planned(name, Strategy { loading, plies, ply_limit });
            }
        }
    }
}

#[test]
fn smallest() {
    every("smallest");
}

/// Thirty three-by-three star blocks on a board with one square and one quarter-square position, six plies (common
/// practice, no source). Fabric by fabric, by hand: 120 light squares are 20 passes, in which its 30 triangle plies go
/// along; 30 dark squares and 30 dark triangle plies are 5; 60 bright triangle plies are 10; 35 in all. Block by block
/// a pass takes one block, five squares and four triangle plies: 30. Mixed, 150 squares are 25.
#[test]
fn star_by_hand() {
    let passes = |loading, plies| {
        let plan = planned("star-hand-check", Strategy { loading, plies, ply_limit: None });
        // The aim is fewest passes: fabric by fabric they are proved fabric by fabric.
        assert_eq!(plan.bounds[0].proved, loading != LoadingRule::BlockByBlock);
        plan.figures.passes
    };
    for plies in [PlyRule::Flat, PlyRule::Either] {
        assert_eq!(passes(LoadingRule::FabricByFabric, plies), 35);
        assert_eq!(passes(LoadingRule::BlockByBlock, plies), 30);
        assert_eq!(passes(LoadingRule::Mixed, plies), 25);
    }
}

#[test]
fn star() {
    every("star-hand-check");
}

#[test]
fn crib() {
    every("crib-nine-patch");
}

#[test]
fn handed() {
    every("handed-half-rectangles");
}

#[test]
fn queen() {
    for (loading, plies) in [
        (LoadingRule::FabricByFabric, PlyRule::Folded),
        (LoadingRule::BlockByBlock, PlyRule::Either),
        (LoadingRule::Mixed, PlyRule::Flat),
    ] {
        let _ = planned("queen-churn-dash", Strategy { loading, plies, ply_limit: Some(4) });
    }
}
