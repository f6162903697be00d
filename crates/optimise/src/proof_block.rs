//! The proof block first: its patches are cut by passes of their own, as few as there can be, and count toward the
//! quilts. Either the rest of the plan works around them, or they are some of the plies of a plan made without them;
//! the better of the two is taken.

use patchlay_scenario::job::Job;

use crate::aim::trimmed;
use crate::costs::{Costs, Limits};
use crate::listen::{Listener, Progress};
use crate::model::{Item, Model, Ply};
use crate::search::{Effort, Search};
use crate::solution::Solution;

/// The plies of the proof block, or `None` if none was asked for.
#[must_use]
pub fn plies(job: &Job, model: &Model, effort: Effort, listener: &dyn Listener) -> Option<Solution> {
    let small = of_one_block(job, model)?;
    fewest_passes(&small, effort, listener)
}

/// The proof block cut from a plan made without it: its plies are some of the plan's own, so it takes no cloth beyond
/// the plan's, though perhaps a pass more. Gives the block's plies and the rest as a solution of [`rest`]'s model;
/// `None` where the plan's plies cannot be parted so.
#[must_use]
pub fn within(
    job: &Job,
    model: &Model,
    whole: &Solution,
    effort: Effort,
    listener: &dyn Listener,
) -> Option<(Solution, Solution)> {
    let mut small = of_one_block(job, model)?;
    for (fabric, plies) in small.fabrics.iter_mut().zip(&whole.plies) {
        let unused = fabric.plies.iter_mut().zip(plies).filter(|(_, count)| **count == 0);
        unused.for_each(|(ply, _)| ply.yields.clear());
    }
    let block = fewest_passes(&small, effort, listener)?;
    let rest_model = rest(model, &block);
    let mut left = whole.clone();
    for (f, fabric) in rest_model.fabrics.iter().enumerate() {
        for (left, taken) in left.plies[f].iter_mut().zip(&block.plies[f]) {
            *left -= taken;
        }
        let laid_down = fabric.plies[block.plies[f].len()..].iter();
        let counts = laid_down.map(|ply| ply.yields.iter().map(|&(item, _)| fabric.items[item].wanted).sum());
        left.plies[f].extend(counts.map(|count: u64| i64::try_from(count).unwrap_or(i64::MAX)));
    }
    left.set_passes(&rest_model);
    let parted = left.plies.iter().flatten().all(|&count| count >= 0) && left.is_sound(&rest_model);
    parted.then_some((block, left))
}

/// The model with only the proof block's patches wanted.
fn of_one_block(job: &Job, model: &Model) -> Option<Model> {
    let wanted = &job.proof_block.as_ref()?.patches;
    let mut small = model.clone();
    for item in small.fabrics.iter_mut().flat_map(|fabric| &mut fabric.items) {
        let of_line = wanted.iter().find(|(line, _)| Some(*line) == item.line);
        item.wanted = of_line.map_or(0, |(_, count)| *count);
    }
    Some(small)
}

/// As few passes as there can be, then as few plies.
fn fewest_passes(small: &Model, effort: Effort, listener: &dyn Listener) -> Option<Solution> {
    listener.event(&Progress::Phase { name: "the proof block".to_owned() });
    let mut costs = Costs::zero(small.fabrics.len());
    costs.pass = 1_000;
    costs.ply.iter_mut().for_each(|ply| *ply = 1);
    let limits = Limits::default();
    let mut search = Search::new(small, &costs, &limits, effort, listener)?;
    let first = search.first();
    Some(trimmed(small, search.improve(first)))
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
