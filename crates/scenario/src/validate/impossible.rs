//! Names demands that no board or cloth can meet, before anything is solved.

use crate::job::{Bay, Demand, Fabric, Hand, Job};
use crate::path::Path;
use crate::problem::Code;
use crate::report::Report;

/// Reports every demand that cannot be met, at the place that first asks for it.
pub(crate) fn impossible(report: &mut Report<'_>, job: &Job, paths: &[Path]) {
    let mut uncut = std::collections::BTreeSet::new();
    for (demand, path) in job.demands.iter().zip(paths) {
        let shape = &job.shapes[demand.shape].name;
        let fabric = &job.fabrics[demand.fabric];
        let bays: Vec<&Bay> =
            job.boards.iter().flat_map(|board| &board.bays).filter(|bay| cuts(bay, demand)).collect();
        if bays.is_empty() {
            if uncut.insert(demand.shape) {
                let hint = format!(
                    "add a board with a position for \"{shape}\", or check which shape the block names"
                );
                report.add(Code::NoBoardCutsShape, path, format!("no board cuts \"{shape}\""), hint);
            }
            continue;
        }
        let fitting: Vec<&Bay> = bays.iter().copied().filter(|bay| fits(bay, fabric)).collect();
        if fitting.is_empty() {
            too_narrow(report, job, path, fabric, shape, &bays);
        } else if !fitting.iter().any(|bay| gives_hand(bay, demand, fabric)) {
            let hint = "choose a board that cuts the other hand too, or state \"allow_turned\": true for this fabric, \
                        so that plies may lie face down";
            let problem = format!(
                "\"{shape}\" of {} is wanted {}, and no ply gives it",
                fabric.name,
                hand(demand.hand)
            );
            report.add(Code::HandNotCut, path, problem, hint);
        }
    }
}

fn cuts(bay: &Bay, demand: &Demand) -> bool {
    bay.yields.iter().any(|(shape, _, _)| *shape == demand.shape)
}

/// A strip is as wide as it needs to be, since it is cut off the length of the fabric; but what runs along it ends
/// with the width of the fabric.
fn fits(bay: &Bay, fabric: &Fabric) -> bool {
    bay.ways(fabric.travel_rule).into_iter().any(|way| bay.cut(way).0 <= fabric.strip_capacity())
}

/// A ply face up gives the hands as the blades lie; turned over, the others. A print that must keep its direction
/// is not turned over, because that is how folded lengths are judged too: its right side shows one way only.
fn gives_hand(bay: &Bay, demand: &Demand, fabric: &Fabric) -> bool {
    bay.yields.iter().filter(|(shape, _, _)| *shape == demand.shape).any(|(_, drawn, mirrored)| {
        let (right, wrong) = match demand.hand {
            Hand::Any => return drawn + mirrored > 0,
            Hand::Drawn => (drawn, mirrored),
            Hand::Mirrored => (mirrored, drawn),
        };
        *right > 0 || (fabric.folding && *wrong > 0)
    })
}

fn hand(hand: Hand) -> &'static str {
    match hand {
        Hand::Any => "either way",
        Hand::Drawn => "as drawn",
        Hand::Mirrored => "mirrored",
    }
}

fn too_narrow(report: &mut Report<'_>, job: &Job, path: &Path, fabric: &Fabric, shape: &str, bays: &[&Bay]) {
    let shortest =
        bays.iter().flat_map(|bay| bay.ways(fabric.travel_rule).into_iter().map(|way| bay.cut(way).0)).min();
    let Some(shortest) = shortest else { return };
    let either = bays.iter().any(|bay| bay.across.min(bay.along) <= fabric.strip_capacity());
    let hint = if either {
        "it would fit the other way round: change the travel rule of this fabric, or choose a wider one"
    } else {
        "choose a wider fabric, or a board with fewer patches side by side"
    };
    let problem = format!(
        "the smallest area for \"{shape}\" takes {} along a strip, and a strip of {} gives {}",
        shortest.show(job.units),
        fabric.name,
        fabric.strip_capacity().show(job.units)
    );
    report.add(Code::NoAreaFitsFabric, path, problem, hint);
}
