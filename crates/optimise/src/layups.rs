//! Packing plies into passes, and passes into as few distinct lay-ups as the search finds.
//!
//! The plies of a board are given (so many of each kind); a lay-up takes some of each within one full load at every
//! point. Lay-ups are peeled off: the largest number of times m for which some lay-up, made m times, leaves a rest
//! whose loads fit the passes that remain. For runs of one line the loads alone decide (the point-by-bay matrix is an
//! interval matrix, so totally unimodular; Fulkerson and Gross, Pacific J. Math. 15 (1965)); elsewhere the peeling may
//! need a pass more than the loads say.

use std::collections::BTreeMap;

use crate::integer::{Found, IntegerModel, Relation};
use crate::model::Board;

/// One kind of ply to pack.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Kind {
    /// Bay.
    pub bay: usize,
    /// Load of one ply.
    pub load: i64,
    /// How many plies.
    pub count: i64,
}

/// A lay-up: plies of each kind, and how often it is made.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Packed {
    /// Plies of each kind, in the order given.
    pub plies: Vec<i64>,
    /// Times.
    pub times: i64,
}

/// Largest load in full passes: a lower bound on the passes.
#[must_use]
pub fn load_bound(board: &Board, kinds: &[Kind]) -> i64 {
    let full = board.full.max(1);
    board
        .points
        .iter()
        .map(|bays| {
            let load: i64 =
                kinds.iter().filter(|kind| bays.contains(&kind.bay)).map(|k| k.load * k.count).sum();
            (load + full - 1).div_euclid(full)
        })
        .max()
        .unwrap_or(0)
}

/// Packs all plies, in as few passes as the peeling reaches.
#[must_use]
pub fn pack(board: &Board, kinds: &[Kind]) -> Vec<Packed> {
    let least = load_bound(board, kinds);
    for passes in least..least + 50 {
        if let Some(packed) = peel(board, kinds, passes) {
            return packed;
        }
    }
    one_by_one(kinds)
}

/// The last resort: every ply in a pass of its own.
fn one_by_one(kinds: &[Kind]) -> Vec<Packed> {
    let single = |index: usize| {
        let mut plies = vec![0; kinds.len()];
        plies[index] = 1;
        plies
    };
    (0..kinds.len())
        .filter(|&index| kinds[index].count > 0)
        .map(|index| Packed { plies: single(index), times: kinds[index].count })
        .collect()
}

fn peel(board: &Board, kinds: &[Kind], passes: i64) -> Option<Vec<Packed>> {
    let mut rest: Vec<Kind> = kinds.to_vec();
    let mut left = passes;
    let mut packed: Vec<Packed> = Vec::new();
    while rest.iter().any(|kind| kind.count > 0) {
        if left == 0 {
            return None;
        }
        let (times, plies) = tries(&rest, board.full, left)
            .into_iter()
            .find_map(|m| layer(board, &rest, m, left).map(|u| (m, u)))?;
        for (kind, taken) in rest.iter_mut().zip(&plies) {
            kind.count -= taken * times;
        }
        left -= times;
        packed.push(Packed { plies, times });
    }
    Some(packed)
}

/// Numbers of times worth trying, most first.
fn tries(rest: &[Kind], full: i64, left: i64) -> Vec<i64> {
    let mut tries: Vec<i64> = vec![left, 1];
    for kind in rest.iter().filter(|kind| kind.count > 0) {
        let most = (full / kind.load.max(1)).max(1);
        tries.extend((1..=most).map(|n| kind.count / n));
        tries.push(left - 1);
    }
    tries.retain(|&m| m >= 1 && m <= left);
    tries.sort_unstable_by_key(|&m| std::cmp::Reverse(m));
    tries.dedup();
    tries
}

/// A lay-up that can be made `times` times and leaves a rest that fits `left - times` passes.
fn layer(board: &Board, rest: &[Kind], times: i64, left: i64) -> Option<Vec<i64>> {
    let mut program = IntegerModel::default();
    for kind in rest {
        let most = (kind.count / times).min(board.full / kind.load.max(1));
        // Full stacks of one kind first: they are quick to load and hard to get wrong.
        let _ = program.variable(-10 * kind.load, 0, most);
    }
    for bays in &board.points {
        let here: Vec<(usize, i64)> = (0..rest.len())
            .filter(|&k| bays.contains(&rest[k].bay) && rest[k].count > 0)
            .map(|k| (k, rest[k].load))
            .collect();
        if here.is_empty() {
            continue;
        }
        program.row(here.clone(), Relation::AtMost, board.full);
        let load: i64 = here.iter().map(|&(k, load)| load * rest[k].count).sum();
        let needed = load - board.full * (left - times);
        if needed > 0 {
            program.row(here.iter().map(|&(k, load)| (k, load * times)), Relation::AtLeast, needed);
        }
    }
    keep_apart(&mut program, board, rest);
    match program.solve_small() {
        Found::Point { mut values, .. } => {
            values.truncate(rest.len());
            values.iter().any(|&v| v > 0).then_some(values)
        }
        _ => None,
    }
}

fn keep_apart(program: &mut IntegerModel, board: &Board, rest: &[Kind]) {
    let mut used: BTreeMap<usize, usize> = BTreeMap::new();
    for &(low, high) in &board.apart {
        let both = [low, high].map(|bay| rest.iter().any(|kind| kind.bay == bay && kind.count > 0));
        if both != [true, true] {
            continue;
        }
        let flags = [low, high].map(|bay| {
            *used.entry(bay).or_insert_with(|| {
                let flag = program.variable(0, 0, 1);
                for (k, kind) in rest.iter().enumerate().filter(|(_, kind)| kind.bay == bay) {
                    program.row([(k, 1), (flag, -(board.full / kind.load.max(1)))], Relation::AtMost, 0);
                }
                flag
            })
        });
        program.row(flags.map(|flag| (flag, 1)), Relation::AtMost, 1);
    }
}

/// Lay-up columns beyond which [`fewest_passes`] does not try to prove.
const MOST_COLUMNS: usize = 4000;

/// Fewest passes for the plies: what the peeling reaches, and whether that is proved by the loads or by a cover with
/// all maximal lay-ups.
#[must_use]
pub fn fewest_passes(board: &Board, kinds: &[Kind]) -> (i64, bool) {
    let reached: i64 = pack(board, kinds).iter().map(|packed| packed.times).sum();
    if reached == load_bound(board, kinds) {
        return (reached, true);
    }
    let mut columns = Vec::new();
    if !columns_of(board, kinds, &mut vec![0; kinds.len()], 0, &mut columns) {
        return (reached, false);
    }
    let mut program = IntegerModel::default();
    for _ in &columns {
        let _ = program.variable(1, 0, reached);
    }
    for (k, kind) in kinds.iter().enumerate() {
        let row = columns.iter().enumerate().map(|(c, column)| (c, column[k]));
        program.row(row, Relation::AtLeast, kind.count);
    }
    match program.solve(200_000, None, None) {
        Found::Point { cost, finished, .. } => (cost.min(reached), finished),
        _ => (reached, false),
    }
}

/// All maximal lay-ups; false if there are too many.
fn columns_of(board: &Board, kinds: &[Kind], at: &mut Vec<i64>, k: usize, found: &mut Vec<Vec<i64>>) -> bool {
    let fits = |at: &[i64]| {
        board.points.iter().all(|bays| {
            let here = kinds.iter().zip(at).filter(|(kind, _)| bays.contains(&kind.bay));
            here.map(|(kind, n)| kind.load * n).sum::<i64>() <= board.full
        }) && board.apart.iter().all(|&(low, high)| {
            let used = |bay: usize| kinds.iter().zip(at).any(|(kind, &n)| kind.bay == bay && n > 0);
            !(used(low) && used(high))
        })
    };
    if k == kinds.len() {
        let maximal = (0..kinds.len()).all(|more| {
            let mut with = at.clone();
            with[more] += 1;
            with[more] > kinds[more].count || !fits(&with)
        });
        if maximal {
            found.push(at.clone());
        }
        return found.len() <= MOST_COLUMNS;
    }
    let mut n = 0;
    let mut within = true;
    while within {
        at[k] = n;
        if n > kinds[k].count || !fits(at) {
            break;
        }
        within = columns_of(board, kinds, at, k + 1, found);
        n += 1;
    }
    at[k] = 0;
    within
}

#[cfg(test)]
mod tests {
    use super::*;

    fn kinds(loads: &[(usize, i64, i64)]) -> Vec<Kind> {
        loads.iter().map(|&(bay, load, count)| Kind { bay, load, count }).collect()
    }

    /// Derived by hand: on a 2 x 3 grid (positions 11 12 13 / 21 22 23) five plies in each of {11,12}, {12,13},
    /// {13,23}, {21,22,23}, {11,21} at five plies a stack load every position with at most ten plies, which says two
    /// passes; but any two of the five bays that do not touch leave an odd cycle, and the truth is three.
    #[test]
    fn odd_cycle_of_bays_takes_three_passes() {
        let position = [vec![0, 4], vec![0, 1], vec![1, 2], vec![3, 4], vec![3], vec![2, 3]];
        let board = Board::new(5, 5, position.to_vec(), Vec::new());
        let plies = kinds(&[(0, 1, 5), (1, 1, 5), (2, 1, 5), (3, 1, 5), (4, 1, 5)]);
        assert_eq!(load_bound(&board, &plies), 2);
        assert_eq!(fewest_passes(&board, &plies), (3, true));
    }

    /// Derived by hand: plies of three fabrics with limits 2, 3 and 5, one, two and four of them, on one position:
    /// 1/2 + 2/3 + 4/5 = 59/30 says two passes, but no split reaches it.
    #[test]
    fn mixed_limits_on_one_position_take_three_passes() {
        let board = Board::new(30, 1, vec![vec![0]], Vec::new());
        let plies = kinds(&[(0, 15, 1), (0, 10, 2), (0, 6, 4)]);
        assert_eq!(load_bound(&board, &plies), 2);
        assert_eq!(fewest_passes(&board, &plies), (3, true));
    }

    /// By hand: 120 plies of one fabric and 30 of another, six a stack: 25 passes, two lay-ups.
    #[test]
    fn full_stacks_of_one_fabric_come_first() {
        let board = Board::new(6, 1, vec![vec![0]], Vec::new());
        let packed = pack(&board, &kinds(&[(0, 1, 120), (0, 1, 30)]));
        assert_eq!(packed.iter().map(|p| p.times).sum::<i64>(), 25);
        assert_eq!(packed.len(), 2);
    }
}
