//! From a solution of the model to lay-ups with their supply, in the order of work.

use std::collections::BTreeMap;

use patchlay_scenario::job::{Job, Way};

use crate::layups::{Kind, pack};
use crate::model::{Face, Model};
use crate::pieces::{Measures, OpenStrip, Parts, PieceRef, Segment, Stack, open, supply};
use crate::solution::Solution;

/// A stack in a lay-up: fabric, bay, parts with the way round of each, bottom first.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct LaidStack {
    /// Bay.
    pub bay: usize,
    /// Fabric.
    pub fabric: usize,
    /// (plies, lowest face down, way) of every part.
    pub parts: Vec<(u32, bool, WayKey)>,
}

/// How a stack is made up in one pass, and from which pieces.
type SuppliedPass = (Parts, Vec<PieceRef>);

/// A way round that can be a key.
pub type WayKey = u8;

/// A lay-up with the pieces of every pass.
#[derive(Clone, Debug)]
pub struct Laid {
    /// Board.
    pub board: usize,
    /// Stacks, by bay and fabric.
    pub stacks: Vec<LaidStack>,
    /// For every pass, for every stack, the pieces of its parts (fabric's strip, place on it).
    pub passes: Vec<Vec<Vec<PieceRef>>>,
    /// Belongs to the proof block.
    pub proof: bool,
}

/// Everything to do: strips opened by fabric and lay-ups in order.
#[derive(Clone, Debug)]
pub struct Work {
    /// Strips of every fabric with their pieces.
    pub strips: Vec<Vec<OpenStrip>>,
    /// Lay-ups in the order of work.
    pub laid: Vec<Laid>,
}

/// Lays everything up: first the proof block's plies, if any, then the rest.
#[must_use]
pub fn lay_up(job: &Job, model: &Model, solution: &Solution, proof: Option<&Solution>) -> Work {
    let needed = |f: usize| {
        let mut needed = vec![0_i64; model.fabrics[f].classes.len()];
        for plies in [Some(&solution.plies[f]), proof.map(|p| &p.plies[f])].into_iter().flatten() {
            for (ply, count) in plies.iter().enumerate() {
                let data = &model.fabrics[f].plies[ply];
                if data.board.is_some() {
                    needed[data.class] += count;
                }
            }
        }
        needed
    };
    let mut strips: Vec<Vec<OpenStrip>> = (0..model.fabrics.len())
        .map(|f| {
            open(&measures(job, model, f), &solution.strips[f], &needed(f), job.fabrics[f].strip_capacity())
        })
        .collect();
    let mut laid = Vec::new();
    for (solution, is_proof) in [(proof, true), (Some(solution), false)] {
        let Some(solution) = solution else { continue };
        for board in 0..model.boards.len() {
            laid.extend(
                board_work(job, model, solution, board, &mut strips)
                    .into_iter()
                    .map(|l| Laid { proof: is_proof, ..l }),
            );
        }
    }
    Work { strips, laid: merged(laid) }
}

fn measures<'a>(job: &Job, model: &'a Model, f: usize) -> Measures<'a> {
    Measures {
        classes: &model.fabrics[f].classes,
        grid: model.grid,
        fold: job.fold_allowance,
        step: job.ruler_step,
    }
}

/// Lay-ups of one board.
fn board_work(
    job: &Job,
    model: &Model,
    solution: &Solution,
    b: usize,
    strips: &mut [Vec<OpenStrip>],
) -> Vec<Laid> {
    let mut kinds = Vec::new();
    let mut source = Vec::new();
    for (f, plies) in solution.plies.iter().enumerate() {
        for (ply, &count) in plies.iter().enumerate().filter(|(_, count)| **count > 0) {
            let data = &model.fabrics[f].plies[ply];
            if data.board == Some(b) {
                kinds.push(Kind { bay: data.bay, load: data.load, count });
                source.push((f, ply));
            }
        }
    }
    if kinds.is_empty() {
        return Vec::new();
    }
    let mut packed = pack(&model.boards[b], &kinds);
    packed.sort_by_key(|p| std::cmp::Reverse(p.times));
    packed
        .iter()
        .flat_map(|packed| {
            let mut stacks: BTreeMap<(usize, usize), Stack> = BTreeMap::new();
            for (k, &count) in packed.plies.iter().enumerate().filter(|(_, count)| **count > 0) {
                let (f, ply) = source[k];
                let data = &model.fabrics[f].plies[ply];
                let count = u32::try_from(count).unwrap_or(0);
                let stack = stacks.entry((data.bay, f)).or_insert(Stack {
                    class: data.class,
                    up: 0,
                    down: 0,
                    any_face: !has_twin(model, f, ply),
                    folding: job.fabrics[f].folding,
                    times: packed.times,
                });
                match data.face {
                    Face::Up => stack.up += count,
                    Face::Down => stack.down += count,
                }
            }
            supplied(job, model, b, &stacks, packed.times, strips)
        })
        .collect()
}

/// Whether the same bay counts apart with the other face up.
fn has_twin(model: &Model, f: usize, ply: usize) -> bool {
    let data = &model.fabrics[f].plies[ply];
    model.fabrics[f].plies.iter().any(|o| o.board == data.board && o.bay == data.bay && o.face != data.face)
}

/// Supplies the stacks of a lay-up; where a stack's make-up changes between passes the lay-up is split there.
fn supplied(
    job: &Job,
    model: &Model,
    b: usize,
    stacks: &BTreeMap<(usize, usize), Stack>,
    times: i64,
    strips: &mut [Vec<OpenStrip>],
) -> Vec<Laid> {
    let mut rows: Vec<(usize, usize, Vec<SuppliedPass>)> = Vec::new();
    for (&(bay, f), stack) in stacks {
        let segments = supply(&measures(job, model, f), &mut strips[f], stack);
        let passes = segments.into_iter().flat_map(|Segment { parts, passes }| {
            passes.into_iter().map(move |pieces| (parts.clone(), pieces))
        });
        rows.push((bay, f, passes.collect()));
    }
    let mut laid: BTreeMap<Vec<LaidStack>, Vec<Vec<Vec<PieceRef>>>> = BTreeMap::new();
    for pass in 0..usize::try_from(times).unwrap_or(0) {
        let mut key = Vec::new();
        let mut pieces = Vec::new();
        for (bay, f, passes) in &rows {
            let Some((parts, refs)) = passes.get(pass) else { continue };
            let mut both: Vec<((u32, bool, WayKey), PieceRef)> = parts
                .iter()
                .zip(refs)
                .map(|(&(plies, down), &piece)| {
                    ((plies, down, way_key(job, model, b, *bay, *f, &strips[*f][piece.0], piece)), piece)
                })
                .collect();
            both.sort_by_key(|(part, _)| (std::cmp::Reverse(part.0), part.1, part.2));
            key.push(LaidStack {
                bay: *bay,
                fabric: *f,
                parts: both.iter().map(|(part, _)| *part).collect(),
            });
            pieces.push(both.into_iter().map(|(_, piece)| piece).collect());
        }
        laid.entry(key).or_default().push(pieces);
    }
    let mut laid: Vec<Laid> =
        laid.into_iter().map(|(stacks, passes)| Laid { board: b, stacks, passes, proof: false }).collect();
    laid.sort_by_key(|l| std::cmp::Reverse(l.passes.len()));
    laid
}

/// 0 along, 1 across: the way round that a piece of that strip lies in the bay.
fn way_key(
    job: &Job,
    model: &Model,
    b: usize,
    bay: usize,
    f: usize,
    strip: &OpenStrip,
    piece: PieceRef,
) -> WayKey {
    let bay = &job.boards[b].bays[bay];
    let class = strip.pieces[piece.1].0;
    let run = model.fabrics[f].classes[class].run_in(strip.width);
    let fits = |way: Way| {
        let (length, width) = bay.cut(way);
        Some(length.units() / model.grid) == run && width.units() / model.grid <= strip.width
    };
    let ways = bay.ways(job.fabrics[f].travel_rule);
    u8::from(!(ways.contains(&Way::Along) && fits(Way::Along)))
}

/// Lay-ups that agree are one, at the place of the first.
fn merged(laid: Vec<Laid>) -> Vec<Laid> {
    let mut kept: Vec<Laid> = Vec::new();
    for next in laid {
        match kept.iter_mut().find(|known| known.board == next.board && known.stacks == next.stacks) {
            Some(known) => known.passes.extend(next.passes),
            None => kept.push(next),
        }
    }
    kept
}
