//! The proof block first: its patches are cut by passes of their own, as few as there can be, and count toward the
//! quilts; the rest of the plan works around them.

use patchlay_scenario::job::Job;

use crate::aim::trimmed;
use crate::costs::{Costs, Limits};
use crate::listen::Listener;
use crate::model::{Item, Model, Ply};
use crate::search::{Effort, Search};
use crate::solution::Solution;

/// The plies of the proof block, or `None` if none was asked for.
#[must_use]
pub fn plies(job: &Job, model: &Model, effort: Effort, listener: &dyn Listener) -> Option<Solution> {
    let wanted = &job.proof_block.as_ref()?.patches;
    let mut small = model.clone();
    for item in small.fabrics.iter_mut().flat_map(|fabric| &mut fabric.items) {
        let of_line = wanted.iter().find(|(line, _)| Some(*line) == item.line);
        item.wanted = of_line.map_or(0, |(_, count)| *count);
    }
    let mut costs = Costs::zero(model.fabrics.len());
    costs.pass = 1_000;
    costs.ply.iter_mut().for_each(|ply| *ply = 1);
    let limits = Limits::default();
    let mut search = Search::new(&small, &costs, &limits, effort, listener)?;
    let first = search.first();
    Some(trimmed(&small, search.improve(first)))
}

/// The model of what is left to cut once the proof block's plies are laid down: their cloth still has to come from
/// strips, so each of their cut classes becomes an item of its own that only plies without a board yield.
#[must_use]
pub fn rest(model: &Model, proof: &Solution) -> Model {
    let mut rest = model.clone();
    for (f, fabric) in rest.fabrics.iter_mut().enumerate() {
        let mut by_class = vec![0_u64; fabric.classes.len()];
        for (ply, &count) in proof.plies[f].iter().enumerate() {
            let count = u64::try_from(count).unwrap_or(0);
            by_class[fabric.plies[ply].class] += count;
            for &(item, n) in &fabric.plies[ply].yields {
                let wanted = &mut fabric.items[item].wanted;
                *wanted = wanted.saturating_sub(u64::from(n) * count);
            }
        }
        for (class, &wanted) in by_class.iter().enumerate().filter(|(_, wanted)| **wanted > 0) {
            fabric.items.push(Item { line: None, wanted });
            let yields = vec![(fabric.items.len() - 1, 1)];
            fabric.plies.push(Ply {
                board: None,
                bay: 0,
                face: crate::model::Face::Up,
                class,
                yields,
                load: 0,
            });
        }
    }
    rest
}
