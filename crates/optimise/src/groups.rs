//! Which plies may change places: plies of one fabric whose bays take the same cloth, bear the same load and yield the
//! same patches are a group, and only their number matters. Which bay each lies in is decided by the lay-ups.

use patchlay_scenario::PlyRule;
use patchlay_scenario::job::{Bay, Hand, Job};

use crate::model::{Face, Model};
use crate::solution::Solution;
use crate::stock::Group;

/// The groups of a solution's plies.
#[must_use]
pub fn of_solution(job: &Job, model: &Model, solution: &Solution, stage: usize) -> Vec<Group> {
    let mut groups: Vec<Group> = Vec::new();
    for (f, plies) in solution.plies.iter().enumerate() {
        for (ply, &count) in plies.iter().enumerate().filter(|(_, count)| **count > 0) {
            let data = &model.fabrics[f].plies[ply];
            let Some(board) = data.board else { continue };
            let place = groups.iter().position(|group| {
                (group.fabric, group.board, group.class) == (f, board, data.class)
                    && group.bays.contains(&data.bay)
            });
            let place = place.unwrap_or_else(|| {
                groups.push(empty_group(job, model, f, ply, board, stage));
                groups.len() - 1
            });
            match data.face {
                Face::Up => groups[place].up += count,
                Face::Down => groups[place].down += count,
            }
        }
    }
    groups
}

fn empty_group(job: &Job, model: &Model, f: usize, ply: usize, board: usize, stage: usize) -> Group {
    let data = &model.fabrics[f].plies[ply];
    let origin = model.boards[board].origin;
    let bays = &job.boards[origin].bays;
    let plies = model.fabrics[f].plies_of(data.class);
    let mut alike: Vec<usize> = model.fabrics[f]
        .plies
        .iter()
        .filter(|other| {
            other.board == Some(board)
                && (other.class, other.load) == (data.class, data.load)
                && bays[other.bay].yields == bays[data.bay].yields
        })
        .map(|other| other.bay)
        .collect();
    alike.sort_unstable();
    alike.dedup();
    Group {
        stage,
        board,
        fabric: f,
        class: data.class,
        bays: alike,
        load: data.load,
        limit: (job.fabrics[f].ply_limit.min(job.boards[origin].ply_limit) / plies).max(1),
        folding: job.fabrics[f].folding && job.strategy.plies == PlyRule::Either,
        alone: job.strategy.plies == PlyRule::Folded && plies == 1,
        up: 0,
        down: 0,
        by_face: by_face(job, f, &bays[data.bay]),
    }
}

/// Whether it matters for the demand on a fabric which face of a ply lies up in the bay.
fn by_face(job: &Job, f: usize, bay: &Bay) -> bool {
    bay.yields.iter().any(|&(shape, drawn, mirrored)| {
        drawn != mirrored
            && job
                .demands
                .iter()
                .any(|line| line.fabric == f && line.shape == shape && line.hand != Hand::Any)
    })
}
