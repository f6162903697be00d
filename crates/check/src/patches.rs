//! Patches that the lay-ups yield, against what is wanted.

use std::collections::BTreeMap;

use patchlay_plan::{Hand, PatchLine, Plan};

use crate::demand::{Line, yields};
use crate::facts::Facts;
use crate::fault::{FaultCode, Faults};
use crate::supply::{Load, Loaded};

/// Patches cut.
#[derive(Debug, Default)]
pub(crate) struct Cut {
    /// By demand line.
    pub(crate) lines: Vec<u64>,
    /// By fabric and shape, every hand, wanted or not.
    pub(crate) all: BTreeMap<(usize, usize), u64>,
}

/// Patches that one pass of each of these lay-ups yields, times its passes.
fn count<'l>(facts: &Facts, layups: impl Iterator<Item = &'l Loaded<'l>>) -> Cut {
    let mut cut = Cut { lines: vec![0; facts.demand.lines.len()], all: BTreeMap::new() };
    let mut plies: BTreeMap<(usize, usize, usize, patchlay_plan::Face), u64> = BTreeMap::new();
    for layup in layups {
        for load in &layup.loads {
            for (fabric, group) in &load.groups {
                for (face, count) in Load::faces(group) {
                    let sum = plies.entry((layup.board, load.bay, *fabric, face)).or_default();
                    *sum = sum.saturating_add(count.saturating_mul(layup.passes));
                }
            }
        }
    }
    for ((board, bay, fabric, face), count) in plies {
        let (board, bay) = (&facts.boards[board], &facts.boards[board].bays[bay]);
        let each = |shape: usize, hand: Hand| yields(board, bay, face, shape, hand).saturating_mul(count);
        for (at, line) in facts.demand.lines.iter().enumerate().filter(|(_, line)| line.fabric == fabric) {
            cut.lines[at] = cut.lines[at].saturating_add(each(line.shape, line.hand));
        }
        let mut shapes: Vec<usize> = bay.positions.iter().map(|&at| board.positions[at].shape).collect();
        shapes.sort_unstable();
        shapes.dedup();
        for shape in shapes {
            let sum = cut.all.entry((fabric, shape)).or_default();
            *sum = sum.saturating_add(each(shape, Hand::Any));
        }
    }
    cut
}

/// Judges demand, the list of patches and the proof block.
pub(crate) fn judge(facts: &Facts, plan: &Plan, layups: &[Loaded<'_>], faults: &mut Faults) -> Cut {
    let cut = count(facts, layups.iter());
    for (line, &cut) in facts.demand.lines.iter().zip(&cut.lines) {
        let place = name(facts, line);
        if cut < line.needed {
            faults.add(FaultCode::DemandShort, place, cut, format!("at least {}", line.needed));
        } else if cut - line.needed < line.spare {
            faults.add(FaultCode::SparesShort, place, cut - line.needed, format!("at least {}", line.spare));
        }
    }
    list(facts, &plan.patches, &cut, faults);
    proof_block(facts, plan, layups, faults);
    cut
}

/// A demand line in words.
pub(crate) fn name(facts: &Facts, line: &Line) -> String {
    let hand = match line.hand {
        Hand::Any => "",
        Hand::Drawn => ", as drawn",
        Hand::Mirrored => ", mirrored",
    };
    format!("{} {}{hand}", facts.fabrics[line.fabric].name, facts.shapes[line.shape].name)
}

fn list(facts: &Facts, found: &[PatchLine], cut: &Cut, faults: &mut Faults) {
    let lines = &facts.demand.lines;
    faults.equal(FaultCode::PatchLine, "patches", found.len(), lines.len());
    for ((found, line), &cut) in found.iter().zip(lines).zip(&cut.lines) {
        let place = name(facts, line);
        let same = found.fabric == facts.fabrics[line.fabric].name
            && found.shape == facts.shapes[line.shape].name
            && found.hand == line.hand;
        if !same {
            faults.add(FaultCode::PatchLine, &place, format!("{} {}", found.fabric, found.shape), &place);
        }
        faults.equal(FaultCode::PatchLine, format!("{place}, needed"), found.needed, line.needed);
        faults.equal(FaultCode::PatchLine, format!("{place}, spare"), found.spare, line.spare);
        faults.equal(FaultCode::PatchLine, format!("{place}, cut"), found.cut, cut);
    }
}

fn proof_block(facts: &Facts, plan: &Plan, layups: &[Loaded<'_>], faults: &mut Faults) {
    let (wanted, found) = match (&facts.demand.proof_block, &plan.proof_block) {
        (None, None) => return,
        (Some(wanted), Some(found)) => (wanted, found),
        (Some(_), None) => return faults.add(FaultCode::ProofBlockMissing, "proof block", "none", "one"),
        (None, Some(_)) => return faults.add(FaultCode::ProofBlockMissing, "proof block", "one", "none"),
    };
    // Lay-ups with an unknown board are left out of `layups`; then the numbers do not fit anyway.
    let first = |count: usize| &layups[..count.min(layups.len())];
    let enough = |count: usize| {
        let cut = count_lines(facts, first(count));
        cut.iter().zip(wanted).all(|(cut, wanted)| cut >= wanted)
    };
    let place = "proof block";
    if found.layups > layups.len() || !enough(found.layups) {
        let expected = "lay-ups that yield one block";
        faults.add(FaultCode::ProofBlockIncomplete, place, format!("{} lay-ups", found.layups), expected);
    }
    let passes: u64 = first(found.layups).iter().map(|layup| layup.passes).sum();
    faults.equal(FaultCode::ProofBlockPasses, place, found.passes, passes);
}

/// Patches by demand line that so many passes of each of these lay-ups yield.
pub(crate) fn of_passes<'l>(facts: &Facts, layups: impl Iterator<Item = (&'l Loaded<'l>, u64)>) -> Vec<u64> {
    let mut sum = vec![0_u64; facts.demand.lines.len()];
    for (layup, passes) in layups {
        let once = Loaded { plan: layup.plan, board: layup.board, loads: layup.loads.clone(), passes };
        let cut = count_lines(facts, std::slice::from_ref(&once));
        sum.iter_mut().zip(cut).for_each(|(sum, cut)| *sum = sum.saturating_add(cut));
    }
    sum
}

fn count_lines(facts: &Facts, layups: &[Loaded<'_>]) -> Vec<u64> {
    count(facts, layups.iter()).lines
}
