//! Cautions that do not stop the job.

use patchlay_measure::Length;
use patchlay_shape::{Grain, Turn};

use crate::job::Job;

/// Adds the cautions that follow from the whole job.
pub(crate) fn add(job: &mut Job) {
    let mut cautions = Vec::new();
    wide(job, &mut cautions);
    bias_edges(job, &mut cautions);
    idle(job, &mut cautions);
    turned_one_way(job, &mut cautions);
    job.cautions.append(&mut cautions);
}

/// Wider than quilting cotton comes; backings do, so it is no error (common practice, no source).
fn wide(job: &Job, cautions: &mut Vec<String>) {
    for fabric in job.fabrics.iter().filter(|fabric| fabric.stated_width > Length::from_inches(66)) {
        cautions.push(format!(
            "{} is stated to be {} wide, which is more than most cloth: check number and unit.",
            fabric.name,
            fabric.stated_width.show(job.units)
        ));
    }
}

/// Shapes whose straight sides on the outside of the blades all lie on the bias, as they are placed on a board.
fn bias_edges(job: &Job, cautions: &mut Vec<String>) {
    for board in &job.boards {
        let mut named = std::collections::BTreeSet::new();
        for position in &board.positions {
            let placed = &job.shapes[position.shape];
            let turned = Turn::from_degrees(90 * i32::from(position.quarter_turns));
            let biased = |turn: Turn| {
                let grain = placed.shape.grain(turn.then(turned));
                let straight = grain.iter().filter(|grain| **grain == Grain::Straight).count();
                let bias = grain.iter().filter(|grain| **grain == Grain::Bias).count();
                bias > straight
            };
            let most_bias = position.arranged.patches.iter().any(|patch| biased(patch.turn));
            if most_bias && named.insert(position.shape) {
                cautions.push(format!(
                    "Board {}: most sides of {} come out on the bias and stretch easily; starch the cloth first and \
                     do not iron along those sides.",
                    board.name, placed.name
                ));
            }
        }
    }
}

/// Fabrics and boards that nothing asks for.
fn idle(job: &Job, cautions: &mut Vec<String>) {
    for (id, fabric) in job.fabrics.iter().enumerate() {
        if job.demands.iter().all(|demand| demand.fabric != id) {
            cautions.push(format!("Nothing is cut from {}.", fabric.name));
        }
    }
    for board in &job.boards {
        let wanted = |shape: usize| job.demands.iter().any(|demand| demand.shape == shape);
        if !board.positions.iter().any(|position| wanted(position.shape)) {
            cautions.push(format!("Board {} cuts nothing that is wanted.", board.name));
        }
    }
}

/// One-way prints on blades at an angle: the threads follow the blades, and the print with them.
fn turned_one_way(job: &Job, cautions: &mut Vec<String>) {
    let one_way: Vec<&str> =
        job.fabrics.iter().filter(|fabric| !fabric.folding).map(|fabric| fabric.name.as_str()).collect();
    if one_way.is_empty() {
        return;
    }
    for board in &job.boards {
        let halfway = |position: &crate::job::Position| position.place.turn.hundredths() % 9_000 == 4_500;
        if board.positions.iter().any(halfway) {
            cautions.push(format!(
                "Board {}: at 45 degrees a strip may lie either way under any travel rule; check the direction of {} \
                 before cutting.",
                board.name,
                one_way.join(", ")
            ));
        }
    }
}
