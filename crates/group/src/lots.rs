//! What every position yields in every pass.

use std::collections::BTreeMap;

use patchlay_plan::{Face, Group, Plan};
use patchlay_scenario::Job;
use patchlay_scenario::job::{FabricId, Hand, ShapeId};

use crate::rest::Rest;

/// A kind of patch: patches of one kind are alike.
pub type Kind = (FabricId, ShapeId, Hand);

/// Like patches from one position in one pass.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Yield {
    /// Index into the plan's lay-ups.
    pub(crate) layup: usize,
    /// Pass of the lay-up, from 0.
    pub(crate) pass: usize,
    /// Index into the board's positions.
    pub(crate) position: usize,
    pub(crate) kind: Kind,
    pub(crate) patches: u64,
}

/// Everything that the plan still cuts, by lay-up, pass, position and kind; `None` if the plan does not belong to the job.
pub(crate) fn all(job: &Job, plan: &Plan, rest: Option<&Rest>) -> Option<Vec<Yield>> {
    let mut all = Vec::new();
    for (at, layup) in plan.layups.iter().enumerate() {
        let board = job.boards.iter().find(|board| board.name == layup.board)?;
        let mut one: BTreeMap<(usize, Kind), u64> = BTreeMap::new();
        for load in &layup.bays {
            for group in &load.groups {
                let fabric = job.fabrics.iter().position(|fabric| fabric.name == group.fabric)?;
                let (up, down) = faces(group);
                for &position in &load.positions {
                    let place = board.positions.get(position)?;
                    let (drawn, mirrored) = (u64::from(place.drawn), u64::from(place.mirrored));
                    let handed = job.shapes[place.shape].shape.handed() && !job.fabrics[fabric].reversible;
                    let hands = if handed {
                        [
                            (Hand::Drawn, up * drawn + down * mirrored),
                            (Hand::Mirrored, up * mirrored + down * drawn),
                        ]
                    } else {
                        [(Hand::Any, (up + down) * (drawn + mirrored)), (Hand::Any, 0)]
                    };
                    for (hand, patches) in hands.into_iter().filter(|(_, patches)| *patches > 0) {
                        *one.entry((position, (fabric, place.shape, hand))).or_default() += patches;
                    }
                }
            }
        }
        for pass in to_make(plan, rest, at) {
            all.extend(one.iter().map(|(&(position, kind), &patches)| Yield {
                layup: at,
                pass,
                position,
                kind,
                patches,
            }));
        }
    }
    Some(all)
}

/// Passes of a lay-up that are to be made, ascending.
pub(crate) fn to_make(plan: &Plan, rest: Option<&Rest>, layup: usize) -> Vec<usize> {
    match rest {
        Some(rest) => rest.passes.get(layup).into_iter().flatten().copied().collect(),
        None => (0..plan.layups[layup].passes.len()).collect(),
    }
}

/// Plies lying face up and face down: faces alternate from the first.
fn faces(group: &Group) -> (u64, u64) {
    let plies = u64::from(group.plies);
    match group.first_face {
        Face::Up => (plies.div_ceil(2), plies / 2),
        Face::Down => (plies / 2, plies.div_ceil(2)),
    }
}
