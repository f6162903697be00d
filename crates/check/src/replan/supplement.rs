//! Whether a supplement is made for this job: same fabrics, cutter and rules, only what is whole, and names of its own.

use patchlay_plan::Plan;
use patchlay_plan::replan::Replan;
use patchlay_scenario::spec::{Fabric, Scenario};

use super::Counts;
use super::day::Day;
use crate::facts::Facts;
use crate::fault::{FaultCode, Faults};

/// Patches that a supplement cuts, as its own list says; the list is judged with the plan.
pub(super) fn cut(day: &Day<'_>, plan: &Plan) -> Counts {
    let mut cut = Counts::new();
    for line in &plan.patches {
        if let Some(key) = day.key(&line.fabric, &line.shape, line.hand) {
            let sum = cut.entry(key).or_default();
            *sum = sum.saturating_add(line.cut);
        }
    }
    cut
}

/// Judges the supplement; whether it is a sound plan, so that its lengths can be counted.
pub(super) fn judge(day: &Day<'_>, replan: &Replan, faults: &mut Faults) -> bool {
    let Some(plan) = &replan.supplement else { return true };
    if let Err(own) = crate::check_alone(plan) {
        for fault in own {
            faults.add(fault.code, format!("supplement, {}", fault.place), fault.found, fault.expected);
        }
        return false;
    }
    let parsed = |value: &serde_json::Value| serde_json::from_value::<Scenario>(value.clone()).ok();
    let (Some(first), Some(anew)) = (parsed(&day.plan.scenario), parsed(&plan.scenario)) else {
        return false;
    };
    let Ok((facts, _)) = Facts::read(&plan.scenario.to_string()) else { return false };
    let mut must = |holds: bool, what: &str| {
        if !holds {
            faults.add(FaultCode::ReplanSupplement, "supplement", what, "as in the plan");
        }
    };
    must(anew.quilts.is_empty() && anew.group.is_none(), "quilts");
    must(first.units == anew.units && first.rules == anew.rules && first.shapes == anew.shapes, "rules");
    let bare = |scenario: &Scenario| {
        let mut cutter = scenario.cutter.clone();
        cutter.mats.clear();
        cutter
    };
    must(bare(&first) == bare(&anew), "cutter");
    must(plan.strategy == day.plan.strategy, "strategy");
    mats(day, &first, &anew, &mut must);
    boards(day, &first, &anew, &facts, &mut must);
    must(first.fabrics.len() == anew.fabrics.len(), "fabrics");
    for (at, (own, other)) in first.fabrics.iter().zip(&anew.fabrics).enumerate() {
        must(same_cloth(own, other) && facts.fabrics[at].width <= day.widths[at], &own.name);
    }
    let strips = plan.fabrics.iter().flat_map(|cloth| &cloth.strips);
    let new_names = strips.clone().all(|strip| !day.strips.contains_key(strip.name.as_str()))
        && strips.flat_map(|strip| &strip.pieces).all(|piece| !day.pieces.contains_key(piece.name.as_str()))
        && plan.layups.iter().all(|layup| day.plan.layups.iter().all(|own| own.name != layup.name));
    must(new_names, "names that the plan has too");
    true
}

fn mats(day: &Day<'_>, first: &Scenario, anew: &Scenario, must: &mut impl FnMut(bool, &str)) {
    for mat in &anew.cutter.mats {
        let own = first.cutter.mats.iter().find(|own| own.name == mat.name);
        let same = own.is_some_and(|own| own.width == mat.width && own.length == mat.length);
        let left = day.mats.get(&mat.name).copied().unwrap_or_default();
        must(same && mat.owned.unwrap_or(1) <= left, &mat.name);
    }
}

fn boards(
    day: &Day<'_>,
    first: &Scenario,
    anew: &Scenario,
    facts: &Facts,
    must: &mut impl FnMut(bool, &str),
) {
    for (at, board) in anew.boards.iter().enumerate() {
        let own = first.boards.iter().position(|own| own.name == board.name);
        let same = own.is_some_and(|own| {
            let before =
                patchlay_scenario::spec::Board { ply_limit: board.ply_limit, ..first.boards[own].clone() };
            let limit = facts.boards[at].ply_limit <= day.facts.boards[own].ply_limit;
            before == *board && limit && day.boards[own] > 0
        });
        must(same, &board.name);
    }
}

/// Whether two are one cloth but for its width, what is kept back of it, its letter, and a gift's price of nothing.
fn same_cloth(first: &Fabric, anew: &Fabric) -> bool {
    let free = anew.price.as_ref().is_some_and(|price| price.typed() == "0");
    let bare = |fabric: &Fabric| Fabric {
        usable_width: anew.usable_width.clone(),
        width_measured: None,
        kept_back: Vec::new(),
        letter: None,
        ..fabric.clone()
    };
    let mut first = bare(first);
    if first.price.is_none() && free {
        first.price.clone_from(&anew.price);
    }
    first == bare(anew)
}
