//! How few lay-ups, and how few lengths and cuts, there can be at least with the strips, areas and passes of a plan.
//!
//! *Lay-ups.* At every position of a board the stacks of all its passes are so many plies of each fabric in each area.
//! If n different lay-ups were enough, made m1, m2, … mn times, every such number of plies would be a sum of their
//! times (a lay-up with k plies made m times gives k x m), and no lay-up would hold more plies than a stack may. Where
//! that is impossible for every choice of m1 + … + mn = passes, at one position at least, n are too few. Faces and folds
//! are not looked at, and every position is looked at on its own, so more may be needed.
//!
//! *Lengths and cuts.* Plies of one size on one strip come from one length at most a full stack at a time.

use std::collections::{BTreeMap, BTreeSet, HashSet};

use patchlay_scenario::PlyRule;
use patchlay_scenario::job::Job;

use crate::{LayUp, Plan};

/// Lower bounds on what there is to set up and to prepare.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Fewest {
    /// Different lay-ups.
    pub layups: u64,
    /// Lengths and cuts.
    pub pieces: u64,
}

/// Most steps for one board; where they end, the lay-ups known to be needed until then count.
const MOST_STEPS: u64 = 3_000_000;
/// More lay-ups of one board than this are not asked about.
const MOST_LAYUPS: usize = 6;

/// The bounds of a sound plan; names that the job does not have count for nothing.
#[must_use]
pub fn fewest(plan: &Plan, job: &Job) -> Fewest {
    let boards: BTreeSet<&str> = plan.layups.iter().map(|layup| layup.board.as_str()).collect();
    let of = |board: &&str| {
        let layups: Vec<&LayUp> = plan.layups.iter().filter(|layup| layup.board == **board).collect();
        layups_of(&layups, job)
    };
    Fewest { layups: boards.iter().map(of).sum(), pieces: pieces(plan, job) }
}

/// Plies that a stack of a fabric may have on a board.
fn limit(job: &Job, fabric: &str, board: &str) -> u32 {
    let fabric = job.fabrics.iter().find(|of| of.name == fabric).map_or(1, |of| of.ply_limit);
    let board = job.boards.iter().find(|of| of.name == board).map_or(1, |of| of.ply_limit);
    fabric.min(board).max(1)
}

fn pieces(plan: &Plan, job: &Job) -> u64 {
    let mut sum = 0;
    for cloth in &plan.fabrics {
        let folds = plan.strategy.plies != PlyRule::Flat
            && job.fabrics.iter().any(|fabric| fabric.name == cloth.fabric && fabric.folding);
        let most = job.boards.iter().map(|board| limit(job, &cloth.fabric, &board.name)).max().unwrap_or(1);
        let most = if folds { u64::from(most) } else { 1 };
        for strip in &cloth.strips {
            let mut plies: BTreeMap<_, u64> = BTreeMap::new();
            for piece in &strip.pieces {
                let size = (piece.run.min(piece.width), piece.run.max(piece.width));
                *plies.entry(size).or_default() += u64::from(piece.plies);
            }
            sum += plies.values().map(|plies| plies.div_ceil(most)).sum::<u64>();
        }
    }
    sum
}

/// Plies of one fabric in one area: how many in all passes, and what one takes of a full stack.
#[derive(Clone, Copy, Debug)]
struct Plies {
    count: u64,
    load: u64,
}

/// The stacks at one position in all passes.
#[derive(Debug)]
struct Stack {
    plies: Vec<Plies>,
    full: u64,
}

fn layups_of(layups: &[&LayUp], job: &Job) -> u64 {
    let passes: usize = layups.iter().map(|layup| layup.passes.len()).sum();
    let most = layups.len().min(passes);
    let stacks = stacks(layups, job);
    let mut steps = MOST_STEPS;
    for n in 1..most {
        let mut times = Vec::new();
        if n > MOST_LAYUPS || can_do(&stacks, n, passes as u64, passes as u64, &mut times, &mut steps) {
            return n as u64;
        }
    }
    most as u64
}

fn stacks(layups: &[&LayUp], job: &Job) -> Vec<Stack> {
    let mut at: BTreeMap<usize, BTreeMap<(&[usize], &str), u64>> = BTreeMap::new();
    for layup in layups {
        for load in &layup.bays {
            for group in &load.groups {
                for &position in &load.positions {
                    let plies = at.entry(position).or_default();
                    let all = u64::from(group.plies) * layup.passes.len() as u64;
                    *plies.entry((&load.positions, &group.fabric)).or_default() += all;
                }
            }
        }
    }
    let board = layups.first().map_or("", |layup| layup.board.as_str());
    let stack = |plies: BTreeMap<(&[usize], &str), u64>| {
        let limits = plies.keys().map(|(_, fabric)| u64::from(limit(job, fabric, board)));
        let full = limits.fold(1, |all, limit| all / gcd(all, limit) * limit);
        let mut plies: Vec<Plies> = plies
            .into_iter()
            .map(|((_, fabric), count)| Plies { count, load: full / u64::from(limit(job, fabric, board)) })
            .collect();
        plies.sort_by_key(|plies| std::cmp::Reverse((plies.count, plies.load)));
        Stack { plies, full }
    };
    at.into_values().map(stack).collect()
}

fn gcd(a: u64, b: u64) -> u64 {
    if b == 0 { a } else { gcd(b, a % b) }
}

/// Whether so many more lay-ups could do, none made more often than `most`; also where the steps ran out.
fn can_do(stacks: &[Stack], n: usize, left: u64, most: u64, times: &mut Vec<u64>, steps: &mut u64) -> bool {
    if n == 0 {
        return left == 0 && stacks.iter().all(|stack| divides(stack, times, steps));
    }
    if *steps == 0 {
        return true;
    }
    *steps -= 1;
    // At least a fair share of what is left, and something for each of the rest.
    let rest = n as u64 - 1;
    for made in (left.div_ceil(n as u64)..=most.min(left.saturating_sub(rest))).rev() {
        times.push(made);
        let can = can_do(stacks, n - 1, left - made, made, times, steps);
        times.pop();
        if can {
            return true;
        }
    }
    false
}

/// Whether the plies at a position can be divided over lay-ups made so many times.
fn divides(stack: &Stack, times: &[u64], steps: &mut u64) -> bool {
    let mut dead = HashSet::new();
    place(stack, times, 0, &mut vec![stack.full; times.len()], &mut dead, steps)
}

fn place(
    stack: &Stack,
    times: &[u64],
    at: usize,
    room: &mut Vec<u64>,
    dead: &mut HashSet<(usize, Vec<u64>)>,
    steps: &mut u64,
) -> bool {
    let Some(&Plies { count, .. }) = stack.plies.get(at) else { return true };
    if dead.contains(&(at, room.clone())) {
        return false;
    }
    if divide(stack, times, (at, 0), count, room, dead, steps) {
        return true;
    }
    let _ = dead.insert((at, room.clone()));
    false
}

fn divide(
    stack: &Stack,
    times: &[u64],
    (at, lay): (usize, usize),
    left: u64,
    room: &mut Vec<u64>,
    dead: &mut HashSet<(usize, Vec<u64>)>,
    steps: &mut u64,
) -> bool {
    if *steps == 0 {
        return true;
    }
    *steps -= 1;
    if left == 0 {
        return place(stack, times, at + 1, room, dead, steps);
    }
    let Some(&made) = times.get(lay) else { return false };
    let load = stack.plies[at].load;
    let most = (left / made).min(room[lay] / load);
    for plies in (0..=most).rev() {
        room[lay] -= plies * load;
        let can = divide(stack, times, (at, lay + 1), left - plies * made, room, dead, steps);
        room[lay] += plies * load;
        if can {
            return true;
        }
    }
    false
}

#[cfg(test)]
mod tests {
    use super::*;

    fn stack(counts: &[u64], full: u64) -> Stack {
        Stack { plies: counts.iter().map(|&count| Plies { count, load: 1 }).collect(), full }
    }

    fn can(stack: Stack, n: usize, passes: u64) -> bool {
        can_do(&[stack], n, passes, passes, &mut Vec::new(), &mut 1_000_000)
    }

    /// Twelve plies in three passes of at most six: four in each.
    #[test]
    fn a_multiple_of_the_passes_needs_one_lay_up() {
        assert!(can(stack(&[12], 6), 1, 3));
        assert!(!can(stack(&[13], 6), 1, 3), "thirteen is no multiple of three");
        // Five plies twice and three once.
        assert!(can(stack(&[13], 6), 2, 3));
    }

    /// Seven plies of each of two fabrics in three passes of at most five. Two lay-ups are made twice and once: of each
    /// fabric 2 a + b = 7, so a = 3, b = 1 or a = 2, b = 3 (a = 1 needs b = 5, and nothing else fits beside it twice).
    /// Both a together are at most five, and so are both b: 3 + 2 and 1 + 3.
    #[test]
    fn stacks_hold_what_they_may() {
        assert!(can(stack(&[7, 7], 5), 2, 3));
        assert!(!can(stack(&[7, 7], 4), 2, 3), "fourteen plies do not go into three stacks of four");
        assert!(can(stack(&[7, 7], 5), 3, 3));
    }

    /// One ply of each of seven fabrics, two passes of at most six: no fabric is in both, so two lay-ups.
    #[test]
    fn single_plies_need_lay_ups_of_their_own() {
        let one = stack(&[1; 7], 6);
        assert!(!can(one, 1, 2));
        assert!(can(stack(&[1; 7], 6), 2, 2));
    }
}
