//! Plans that claim a strategy which they do not keep to.

use patchlay_check::FaultCode;
use patchlay_plan::{Batch, LoadingRule, Plan, PlyRule};

use super::{Damage, damage};

pub(super) fn damages() -> Vec<Damage> {
    vec![
        damage("several fabrics in a pass, called fabric by fabric", FaultCode::FabricsShare, |plan, _| {
            plan.strategy.loading = LoadingRule::FabricByFabric;
            plan.layups.iter().any(|layup| {
                let mut groups = layup.bays.iter().flat_map(|load| &load.groups);
                let first = groups.next().map(|group| &group.fabric);
                groups.any(|group| Some(&group.fabric) != first)
            })
        }),
        damage("folded lengths, called flat", FaultCode::NotFlat, |plan, _| {
            plan.strategy.plies = PlyRule::Flat;
            plan.layups
                .iter()
                .flat_map(|layup| &layup.bays)
                .any(|load| load.groups.iter().any(|g| g.plies > 1))
        }),
        damage("a flat cut more in an area, called folded", FaultCode::NotFolded, |plan, _| {
            plan.strategy.plies = PlyRule::Folded;
            let load = plan.layups.iter_mut().flat_map(|layup| &mut layup.bays).next();
            load.and_then(|load| {
                let mut more = load.groups.first()?.clone();
                more.plies = 1;
                load.groups.push(more);
                Some(())
            })
            .is_some()
        }),
        damage("a ply limit above the cutter's", FaultCode::StrategyLimit, |plan, _| {
            plan.strategy.ply_limit = Some(1_000);
            true
        }),
        damage("a ply limit of nothing", FaultCode::StrategyLimit, |plan, _| {
            plan.strategy.ply_limit = Some(0);
            true
        }),
        damage("stacks above the plan's own ply limit", FaultCode::StackTooHigh, |plan, _| {
            let most = plan.figures.most_plies;
            plan.strategy.ply_limit = Some(most.saturating_sub(1).max(1));
            // Fabrics that stack lower by themselves may still fit.
            most > 1 && stacked(plan) == u64::from(most)
        }),
        damage("batches in a plan that is not block by block", FaultCode::BatchList, |plan, _| {
            plan.batches.push(Batch::SparePatches);
            true
        }),
        damage("a pass that serves a batch where there is none", FaultCode::BatchList, |plan, _| {
            plan.layups.first_mut().map(|layup| layup.serves.push(0)).is_some()
        }),
        damage("block by block without batches", FaultCode::BatchList, |plan, _| {
            plan.strategy.loading = LoadingRule::BlockByBlock;
            true
        }),
        damage("a batch that no pass serves", FaultCode::BatchShort, |plan, _| {
            let Some(block) = block(plan, 1) else { return false };
            serve_first(plan, vec![block.clone(), block]);
            true
        }),
        damage("a batch of two blocks over several passes", FaultCode::BatchPasses, |plan, _| {
            let Some(block) = block(plan, 2) else { return false };
            serve_first(plan, vec![block]);
            plan.figures.passes_by_board.iter().any(|&passes| passes > 1)
        }),
    ]
}

/// Plies of the highest stack in one area.
fn stacked(plan: &Plan) -> u64 {
    let loads = plan.layups.iter().flat_map(|layup| &layup.bays);
    loads.map(|load| load.groups.iter().map(|g| u64::from(g.plies)).sum()).max().unwrap_or(0)
}

/// A batch of so many copies of the first block of the first quilt.
fn block(plan: &Plan, copies: u64) -> Option<Batch> {
    let asked = &plan.scenario["quilts"][0]["blocks"][0];
    let name = asked["block"].as_str()?;
    let block = plan.scenario["blocks"].as_array()?.iter().find(|block| block["name"] == name)?;
    let fabric =
        |patches: &serde_json::Value| Some(asked["fabrics"][patches["role"].as_str()?].as_str()?.to_owned());
    let fabrics = block["patches"].as_array()?.iter().map(fabric).collect::<Option<_>>()?;
    Some(Batch::Block { block: name.to_owned(), fabrics, copies })
}

/// Calls the plan block by block, with all its passes serving the first batch.
fn serve_first(plan: &mut Plan, batches: Vec<Batch>) {
    plan.strategy.loading = LoadingRule::BlockByBlock;
    plan.batches = batches;
    for layup in &mut plan.layups {
        layup.serves = vec![0; layup.passes.len()];
    }
}
