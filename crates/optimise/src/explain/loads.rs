//! What sets the passes of every board: the plies at each point over all passes, against the passes made.

use patchlay_plan::explain::{BoardWhy, FabricPasses, Place, PointWhy};
use patchlay_plan::{Group, LayUp, Plan, Rational};
use patchlay_scenario::job::{BayId, Board, Job};
use patchlay_scenario::{LoadingRule, Strategy};

use crate::costs::gcd;

/// Plies of one fabric in one area, over all passes of a lay-up.
struct Lying {
    fabric: usize,
    bay: BayId,
    plies: u64,
}

/// The boards of a plan in the order of the job.
pub(super) fn boards(job: &Job, plan: &Plan) -> Vec<BoardWhy> {
    job.boards.iter().map(|board| board_why(job, board, plan)).collect()
}

fn board_why(job: &Job, board: &Board, plan: &Plan) -> BoardWhy {
    let layups: Vec<&LayUp> = plan.layups.iter().filter(|layup| layup.board == board.name).collect();
    let passes = layups.iter().map(|layup| layup.passes.len() as u64).sum();
    let lying: Vec<Lying> = layups.iter().flat_map(|layup| lying(job, board, layup)).collect();
    let point = |(at, bays): (Place, Vec<BayId>)| {
        let here = lying.iter().filter(|lying| bays.contains(&lying.bay));
        point_why(job, board, at, here, passes)
    };
    BoardWhy {
        board: board.name.clone(),
        passes,
        ply_limit: board.ply_limit,
        points: places(board).into_iter().map(point).collect(),
        by_fabric: by_fabric(job, board, plan.strategy, &layups, &lying),
    }
}

/// Every position, every overlap that no position accounts for, and every pair kept apart.
fn places(board: &Board) -> Vec<(Place, Vec<BayId>)> {
    let labels = |bay: &BayId| -> Vec<String> {
        board.bays[*bay].positions.iter().map(|&at| board.positions[at].label.clone()).collect()
    };
    let points = board.points.iter().map(|point| {
        let at = match point.position {
            Some(position) => Place::Position(board.positions[position].label.clone()),
            None => Place::Overlap(point.bays.iter().map(labels).collect()),
        };
        (at, point.bays.clone())
    });
    let apart =
        board.apart.iter().map(|(low, high, _)| (Place::Apart(labels(low), labels(high)), vec![*low, *high]));
    points.chain(apart).collect()
}

fn lying(job: &Job, board: &Board, layup: &LayUp) -> Vec<Lying> {
    let times = layup.passes.len() as u64;
    let of_group = |bay: BayId, group: &Group| {
        let fabric = job.fabrics.iter().position(|fabric| fabric.name == group.fabric)?;
        Some(Lying { fabric, bay, plies: u64::from(group.plies) * times })
    };
    let loads = layup.bays.iter().filter_map(|load| {
        let bay = board.bays.iter().position(|bay| bay.positions == load.positions)?;
        Some(load.groups.iter().filter_map(move |group| of_group(bay, group)))
    });
    loads.flatten().collect()
}

/// Full stacks as a fraction: numerator and denominator.
fn stacks<'a>(job: &Job, board: &Board, lying: impl Iterator<Item = &'a Lying>) -> (i128, i128) {
    lying.fold((0, 1), |(n, d), lying| {
        let limit = i128::from(job.fabrics[lying.fabric].ply_limit.min(board.ply_limit).max(1));
        let (n, d) = (n * limit + i128::from(lying.plies) * d, d * limit);
        let common = gcd(n, d).max(1);
        (n / common, d / common)
    })
}

fn whole(number: i128) -> u64 {
    u64::try_from(number).unwrap_or(0)
}

fn rounded_up((n, d): (i128, i128)) -> u64 {
    whole(-(-n).div_euclid(d))
}

fn point_why<'a>(
    job: &Job,
    board: &Board,
    at: Place,
    here: impl Iterator<Item = &'a Lying> + Clone,
    passes: u64,
) -> PointWhy {
    let (n, d) = stacks(job, board, here.clone());
    let needs = rounded_up((n, d));
    let left = (i128::from(passes) * d - n) * i128::from(board.ply_limit);
    PointWhy {
        at,
        plies: here.map(|lying| lying.plies).sum(),
        stacks: Rational { n, d },
        needs,
        full: passes > 0 && needs >= passes,
        room: whole(left.div_euclid(d)),
    }
}

/// Passes by fabric where a pass holds one fabric.
fn by_fabric(
    job: &Job,
    board: &Board,
    strategy: Strategy,
    layups: &[&LayUp],
    lying: &[Lying],
) -> Vec<FabricPasses> {
    if strategy.loading != LoadingRule::FabricByFabric {
        return Vec::new();
    }
    let of = |(f, fabric): (usize, &patchlay_scenario::job::Fabric)| {
        let holds = |layup: &LayUp| {
            layup.bays.iter().flat_map(|load| &load.groups).any(|group| group.fabric == fabric.name)
        };
        let passes =
            layups.iter().filter(|layup| holds(layup)).map(|layup| layup.passes.len() as u64).sum::<u64>();
        let needs = places(board).into_iter().map(|(_, bays)| {
            let here = lying.iter().filter(|lying| lying.fabric == f && bays.contains(&lying.bay));
            rounded_up(stacks(job, board, here))
        });
        let needs = needs.max().unwrap_or(0);
        (passes > 0).then(|| FabricPasses { fabric: fabric.name.clone(), passes, needs })
    };
    job.fabrics.iter().enumerate().filter_map(of).collect()
}
