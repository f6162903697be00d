//! A plan read back as a solution of the model, so that a search can start from it.

use std::collections::BTreeMap;

use patchlay_plan::{FabricPlan, Face, Group, Plan};
use patchlay_scenario::job::Job;

use crate::model::{self, Model};
use crate::solution::{Pattern, Solution};

/// Class of every length and cut, by its name.
type Classes<'a> = BTreeMap<&'a str, usize>;

/// The plan's plies and strips. `None` where the model cannot say what the plan does.
pub(super) fn solution(job: &Job, model: &Model, plan: &Plan) -> Option<Solution> {
    let mut solution = Solution::empty(model);
    let mut classes = Classes::new();
    for layup in &plan.layups {
        let b = job.boards.iter().position(|board| board.name == layup.board)?;
        for (at, load) in layup.bays.iter().enumerate() {
            let bay = job.boards[b].bays.iter().position(|bay| bay.positions == load.positions)?;
            for (place, group) in load.groups.iter().enumerate() {
                let f = job.fabrics.iter().position(|fabric| fabric.name == group.fabric)?;
                let times = i64::try_from(layup.passes.len()).ok()?;
                let class = add(model, &mut solution, (f, b, bay), group, times)?;
                for pass in &layup.passes {
                    let _ = classes.insert(pass.get(at)?.get(place)?, class);
                }
            }
        }
    }
    for (f, fabric) in plan.fabrics.iter().enumerate() {
        strips(model, &mut solution, f, fabric, &classes)?;
    }
    solution.set_passes(model);
    solution.is_sound(model).then_some(solution)
}

/// Adds the plies of a group, so many times over; the class of each of them.
fn add(
    model: &Model,
    solution: &mut Solution,
    (f, b, bay): (usize, usize, usize),
    group: &Group,
    times: i64,
) -> Option<usize> {
    let plies = &model.fabrics[f].plies;
    let lies =
        |ply: &model::Ply| ply.bay == bay && ply.board.is_some_and(|board| model.boards[board].origin == b);
    let (first, second) = (i64::from(group.plies.div_ceil(2)), i64::from(group.plies / 2));
    let mut class = None;
    for (count, face) in [(first, group.first_face), (second, group.first_face.other())] {
        let face = if face == Face::Up { model::Face::Up } else { model::Face::Down };
        // Where both faces yield the same, the model knows only one.
        let index = plies
            .iter()
            .position(|ply| lies(ply) && ply.face == face)
            .or_else(|| plies.iter().position(lies))?;
        solution.plies[f][index] += count * times;
        class = Some(plies[index].class);
    }
    class
}

fn strips(
    model: &Model,
    solution: &mut Solution,
    f: usize,
    plan: &FabricPlan,
    classes: &Classes<'_>,
) -> Option<()> {
    for strip in &plan.strips {
        let mut plies: BTreeMap<usize, i64> = BTreeMap::new();
        for piece in &strip.pieces {
            *plies.entry(*classes.get(piece.name.as_str())?).or_default() += i64::from(piece.plies);
        }
        let width = strip.width.units().div_euclid(model.grid);
        let pattern = Pattern { width, plies: plies.into_iter().collect() };
        *solution.strips[f].entry(pattern).or_default() += 1;
    }
    Some(())
}
