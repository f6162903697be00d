//! Fabrics and blocks that came on top with quilts, as the records bring them.

use std::borrow::Cow;
use std::collections::BTreeSet;

use patchlay_measure::{Length, Money};
use patchlay_plan::record::{Entry, Note};
use patchlay_plan::{FabricPlan, Plan};
use patchlay_scenario::spec::{Block, Fabric, Scenario};
use serde_json::{Value, json};

use crate::facts::Facts;

/// The records that no undo takes back that counts itself.
pub(super) fn counted(entries: &[Entry]) -> impl Iterator<Item = &Entry> {
    let mut undone = BTreeSet::new();
    for entry in entries.iter().rev() {
        if let (Note::Undo { record }, false) = (&entry.note, undone.contains(&entry.number)) {
            undone.insert(*record);
        }
    }
    entries.iter().filter(move |entry| !undone.contains(&entry.number))
}

/// The plan with all fabrics and blocks that records brought and that make a usable scenario; the new fabrics without strips.
pub(crate) fn with_added<'p>(plan: &'p Plan, entries: &[Entry]) -> Cow<'p, Plan> {
    let mut plan = Cow::Borrowed(plan);
    for entry in counted(entries) {
        if let Note::QuiltsAdded { fabrics, blocks, .. } = &entry.note
            && let Some(more) = more(&plan, fabrics, blocks)
        {
            plan = Cow::Owned(more);
        }
    }
    plan
}

fn more(plan: &Plan, fabrics: &[Fabric], blocks: &[Block]) -> Option<Plan> {
    let spec: Scenario = serde_json::from_value(plan.scenario.clone()).ok()?;
    let mut more = plan.clone();
    let list = |scenario: &mut Value, field: &str, item: Value| {
        let list = scenario.as_object_mut()?.entry(field).or_insert_with(|| json!([]));
        list.as_array_mut().map(|list| list.push(item))
    };
    let priced = spec.fabrics.iter().any(|fabric| fabric.price.is_some());
    for fabric in fabrics {
        if let Some(known) = spec.fabrics.iter().find(|known| known.name == fabric.name) {
            alike(known, fabric).then_some(())?;
            continue;
        }
        fabric.kept_back.is_empty().then_some(())?;
        let mut item = json!(fabric);
        if priced && fabric.price.is_none() {
            item["price"] = json!("0");
        }
        list(&mut more.scenario, "fabrics", item)?;
        let (name, none) = (fabric.name.clone(), Length::ZERO);
        more.fabrics.push(FabricPlan {
            fabric: name,
            strips: Vec::new(),
            kept_back: none,
            squaring: none,
            taken: none,
            bought: none,
            money: Money::ZERO,
        });
    }
    for block in blocks {
        match spec.blocks.iter().find(|known| known.name == block.name) {
            Some(known) => (known == block).then_some(())?,
            None => list(&mut more.scenario, "blocks", json!(block))?,
        }
    }
    Facts::read(&more.scenario.to_string()).ok()?;
    Some(more)
}

/// Whether the scenario has all of these.
pub(super) fn has(spec: &Scenario, fabrics: &[Fabric], blocks: &[Block]) -> bool {
    fabrics.iter().all(|fabric| spec.fabrics.iter().any(|known| alike(known, fabric)))
        && blocks.iter().all(|block| spec.blocks.contains(block))
}

/// Alike but for the letter; a gift may be priced at nothing.
fn alike(known: &Fabric, fabric: &Fabric) -> bool {
    let bare = |fabric: &Fabric| {
        let mut bare = fabric.clone();
        bare.letter = None;
        bare.price = bare.price.filter(|price| price.typed() != "0");
        bare
    };
    bare(known) == bare(fabric)
}
