//! Whether a plan keeps to the strategy that it states: which fabrics share a pass, how plies are made, and under
//! `block by block` that every batch is cut by passes of its own.

use std::collections::{BTreeMap, BTreeSet};

use patchlay_plan::{Batch, LoadingRule, Plan, PlyRule, Strategy};

use crate::facts::Facts;
use crate::fault::{FaultCode, Faults};
use crate::patches;
use crate::supply::Loaded;

impl Facts {
    /// Lowers every ply limit to that of the strategy, and remembers the rules.
    pub(crate) fn follow(&mut self, strategy: Strategy, faults: &mut Faults) {
        self.strategy = strategy;
        let Some(limit) = strategy.ply_limit else { return };
        if limit == 0 || limit > self.cutter.ply_limit {
            let expected = format!("1 to {}", self.cutter.ply_limit);
            faults.add(FaultCode::StrategyLimit, "strategy", limit, expected);
        }
        let limit = limit.max(1);
        self.boards.iter_mut().for_each(|board| board.ply_limit = board.ply_limit.min(limit));
        self.fabrics.iter_mut().for_each(|cloth| cloth.ply_limit = cloth.ply_limit.min(limit));
    }
}

/// Judges every lay-up by the strategy.
pub(crate) fn judge(facts: &Facts, plan: &Plan, layups: &[Loaded<'_>], faults: &mut Faults) {
    for layup in layups {
        let place = format!("lay-up {}", layup.plan.name);
        if facts.strategy.loading == LoadingRule::FabricByFabric {
            one_fabric(facts, layup, &place, faults);
        }
        match facts.strategy.plies {
            PlyRule::Either => {}
            PlyRule::Flat => all_flat(layup, &place, faults),
            PlyRule::Folded => all_folded(facts, layup, &place, faults),
        }
    }
    if facts.strategy.loading == LoadingRule::BlockByBlock {
        batches(facts, plan, layups, faults);
    } else if !plan.batches.is_empty() || plan.layups.iter().any(|layup| !layup.serves.is_empty()) {
        faults.add(FaultCode::BatchList, "batches", "some", "none, but for block by block");
    }
}

fn one_fabric(facts: &Facts, layup: &Loaded<'_>, place: &str, faults: &mut Faults) {
    let fabrics: BTreeSet<usize> =
        layup.loads.iter().flat_map(|load| &load.groups).map(|(fabric, _)| *fabric).collect();
    if fabrics.len() > 1 {
        let names: Vec<&str> = fabrics.iter().map(|&fabric| facts.fabrics[fabric].name.as_str()).collect();
        faults.add(FaultCode::FabricsShare, place, names.join(", "), "one fabric");
    }
}

fn all_flat(layup: &Loaded<'_>, place: &str, faults: &mut Faults) {
    let folded = layup.loads.iter().flat_map(|load| &load.groups).find(|(_, group)| group.plies > 1);
    if let Some((_, group)) = folded {
        let found = format!("{} of {} plies", group.fabric, group.plies);
        faults.add(FaultCode::NotFlat, place, found, "flat cuts");
    }
}

fn all_folded(facts: &Facts, layup: &Loaded<'_>, place: &str, faults: &mut Faults) {
    for load in &layup.loads {
        let mut of_fabric: BTreeMap<usize, Vec<u32>> = BTreeMap::new();
        for (fabric, group) in &load.groups {
            of_fabric.entry(*fabric).or_default().push(group.plies);
        }
        for (fabric, plies) in of_fabric.iter().filter(|(_, plies)| plies.len() > 1) {
            if plies.contains(&1) {
                let found = format!("{} {plies:?}", facts.fabrics[*fabric].name);
                faults.add(FaultCode::NotFolded, place, found, "folded lengths, or a single ply");
            }
        }
    }
}

/// Every batch of the list is one that the scenario asks for, the batches together are all of it, and the passes that
/// serve a batch cut everything for it.
fn batches(facts: &Facts, plan: &Plan, layups: &[Loaded<'_>], faults: &mut Faults) {
    listed(facts, plan, faults);
    let mut serving: Vec<BTreeMap<usize, u64>> = vec![BTreeMap::new(); plan.batches.len()];
    for (at, layup) in layups.iter().enumerate() {
        let place = || format!("lay-up {}", layup.plan.name);
        let serves = &layup.plan.serves;
        if serves.len() != layup.plan.passes.len() {
            let expected = format!("{} passes", layup.plan.passes.len());
            faults.add(FaultCode::BatchList, place(), format!("{} served", serves.len()), expected);
        }
        for &batch in serves {
            match serving.get_mut(batch) {
                Some(served) => *served.entry(at).or_default() += 1,
                None => faults.add(FaultCode::BatchList, place(), batch, "a batch of the plan"),
            }
        }
    }
    for (at, (batch, served)) in plan.batches.iter().zip(&serving).enumerate() {
        one_batch(facts, (at, batch), served, layups, faults);
    }
}

fn one_batch(
    facts: &Facts,
    (at, batch): (usize, &Batch),
    served: &BTreeMap<usize, u64>,
    layups: &[Loaded<'_>],
    faults: &mut Faults,
) {
    let place = format!("batch {}", at + 1);
    let Some((wanted, copies)) = wanted(facts, batch) else { return };
    let own = served.iter().map(|(&layup, &passes)| (&layups[layup], passes));
    let cut = patches::of_passes(facts, own);
    for ((line, &wanted), &cut) in facts.demand.lines.iter().zip(&wanted).zip(&cut) {
        if cut < wanted {
            let place = format!("{place}, {}", patches::name(facts, line));
            faults.add(FaultCode::BatchShort, place, cut, format!("at least {wanted}"));
        }
    }
    let mut passes: BTreeMap<usize, u64> = BTreeMap::new();
    served.iter().for_each(|(&layup, &n)| *passes.entry(layups[layup].board).or_default() += n);
    for (&board, &passes) in passes.iter().filter(|(_, passes)| copies > 1 && **passes > 1) {
        let place = format!("{place}, {}", facts.boards[board].name);
        faults.add(FaultCode::BatchPasses, place, passes, "at most one pass for several blocks");
    }
}

/// Patches wanted of a batch by demand line, and its copies.
fn wanted(facts: &Facts, batch: &Batch) -> Option<(Vec<u64>, u64)> {
    let demand = &facts.demand;
    Some(match batch {
        Batch::Block { block, fabrics, copies } => {
            let same =
                |known: &&crate::demand::BlockWanted| known.block == *block && known.fabrics == *fabrics;
            let known = demand.blocks.iter().find(same)?;
            (known.lines.iter().map(|each| each.saturating_mul(*copies)).collect(), *copies)
        }
        Batch::LoosePatches => (demand.loose.clone(), 1),
        Batch::SparePatches => (demand.lines.iter().map(|line| line.spare).collect(), 1),
    })
}

fn listed(facts: &Facts, plan: &Plan, faults: &mut Faults) {
    let of = |block: &str, fabrics: &[String]| format!("{block} from {}", fabrics.join(", "));
    let mut found: BTreeMap<String, u64> = BTreeMap::new();
    for batch in &plan.batches {
        let (name, copies) = match batch {
            Batch::Block { block, fabrics, copies } => (of(block, fabrics), *copies),
            Batch::LoosePatches => ("loose patches".to_owned(), 1),
            Batch::SparePatches => ("spare patches".to_owned(), 1),
        };
        let sum = found.entry(name).or_default();
        *sum = sum.saturating_add(copies);
    }
    let mut wanted: BTreeMap<String, u64> = BTreeMap::new();
    for known in &facts.demand.blocks {
        *wanted.entry(of(&known.block, &known.fabrics)).or_default() += known.copies;
    }
    if facts.demand.loose.iter().any(|&count| count > 0) {
        let _ = wanted.insert("loose patches".to_owned(), 1);
    }
    if facts.demand.lines.iter().any(|line| line.spare > 0) {
        let _ = wanted.insert("spare patches".to_owned(), 1);
    }
    for name in wanted.keys().chain(found.keys()).collect::<BTreeSet<_>>() {
        let count = |list: &BTreeMap<String, u64>| list.get(name).copied().unwrap_or(0);
        faults.equal(FaultCode::BatchList, format!("batches, {name}"), count(&found), count(&wanted));
    }
}
