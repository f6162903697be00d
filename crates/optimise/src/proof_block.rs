//! The proof block first: its patches are cut by passes of their own, as few as there can be, and count toward the
//! quilts. Either the rest of the plan works around them, or they are some of the plies of a plan made without them; then
//! their passes may be filled up with more of its plies where that saves a pass. The best of these is taken.

use patchlay_scenario::job::Job;

use crate::aim::trimmed;
use crate::costs::{Costs, Limits};
use crate::integer::{Found, IntegerModel, Relation};
use crate::listen::{Listener, Progress};
use crate::model::{Item, Model, Ply};
use crate::search::{Effort, Search};
use crate::solution::Solution;

/// What a pass costs where a ply costs 1.
const A_PASS: i64 = 10_000;
/// Nodes of the program that fills up the block's passes.
const NODES: u64 = 500;

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
    parted(model, whole, fewest_passes(&small, effort, listener)?)
}

/// The same with the block's passes filled up with plies of the plan, as few as it takes to make the fewest passes in all;
/// `None` where that saves none.
#[must_use]
pub fn filled_up(model: &Model, whole: &Solution, block: &Solution) -> Option<(Solution, Solution)> {
    let mut program = IntegerModel::default();
    let mut added: Vec<(usize, usize, usize)> = Vec::new();
    let mut passes_left = 0;
    for (b, board) in model.boards.iter().enumerate().filter(|(b, _)| block.passes[*b] > 0) {
        let mut terms: Vec<Vec<(usize, i64)>> = vec![Vec::new(); board.points.len()];
        let (mut first, mut all) = (vec![0; board.points.len()], vec![0; board.points.len()]);
        for (f, fabric) in model.fabrics.iter().enumerate() {
            for (p, ply) in fabric.plies.iter().enumerate().filter(|(_, ply)| ply.board == Some(b)) {
                let left = whole.plies[f][p] - block.plies[f][p];
                let variable = (left > 0).then(|| program.variable(1, 0, left));
                added.extend(variable.map(|variable| (f, p, variable)));
                for &point in &board.bay_points[ply.bay] {
                    first[point] += block.plies[f][p] * ply.load;
                    all[point] += left * ply.load;
                    terms[point].extend(variable.map(|variable| (variable, ply.load)));
                }
            }
        }
        let needed =
            all.iter().map(|&load| (load + board.full - 1).div_euclid(board.full)).max().unwrap_or(0);
        passes_left += needed;
        let passes = program.variable(A_PASS, 0, needed);
        for (point, terms) in terms.into_iter().enumerate().filter(|(_, terms)| !terms.is_empty()) {
            program.row(terms.clone(), Relation::AtMost, board.full * block.passes[b] - first[point]);
            let rest = terms.into_iter().chain([(passes, board.full)]);
            program.row(rest.collect::<Vec<_>>(), Relation::AtLeast, all[point]);
        }
    }
    let Found::Point { values, cost, .. } = program.solve(NODES, None, None) else { return None };
    if cost >= A_PASS * passes_left {
        return None;
    }
    let mut block = block.clone();
    added.into_iter().for_each(|(f, p, variable)| block.plies[f][p] += values[variable]);
    block.set_passes(model);
    parted(model, whole, block)
}

/// The block's plies and the rest of a plan's, as a solution of [`rest`]'s model; `None` where the plan has not those of the
/// block.
fn parted(model: &Model, whole: &Solution, block: Solution) -> Option<(Solution, Solution)> {
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{Board, Class, Fabric, Face};

    /// By hand: 12 squares of one fabric on one position, six plies a pass, are two passes. Two of them first and the ten
    /// others after them are 1 and 2 passes; four of the others more in the first pass leave six, one pass.
    #[test]
    fn a_pass_of_the_block_is_filled_up_where_that_saves_one() {
        let mut fabric = Fabric { capacity: 40, ..Fabric::default() };
        fabric.items = vec![Item { line: None, wanted: 12 }];
        fabric.classes = vec![Class { ways: vec![(10, 10)] }];
        fabric.plies =
            vec![Ply { board: Some(0), bay: 0, face: Face::Up, class: 0, yields: vec![(0, 1)], load: 1 }];
        fabric.set_widths();
        let board = Board::new(6, 1, vec![vec![0]], Vec::new());
        let model = Model { grid: 1, fabrics: vec![fabric], boards: vec![board] };
        let of = |plies: i64| {
            let mut solution = Solution::empty(&model);
            solution.plies[0] = vec![plies];
            solution.strips[0] = crate::search::first_fit(&model, 0, &solution.plies[0]);
            solution.set_passes(&model);
            solution
        };
        let (block, left) = filled_up(&model, &of(12), &of(2)).expect("a pass less");
        assert_eq!((block.plies[0][0], left.plies[0][0]), (6, 6));
        assert_eq!((block.passes_in_all(), left.passes_in_all()), (1, 1));
        // Eight squares are two passes in any case.
        assert!(filled_up(&model, &of(8), &of(2)).is_none());
    }
}
