//! What is in the hall, and the work that a plan brings to it.

use std::collections::BTreeMap;

use patchlay_measure::Length;
use patchlay_plan::{LayUp, Plan};
use patchlay_scenario::Job;
use patchlay_scenario::job::Group;
use patchlay_scenario::job::group::{CutterClass, Helper};
use patchlay_scenario::spec::Work;

use crate::bags::{Part, Wants};
use crate::lots::{Yield, to_make};
use crate::rest::Rest;
use crate::schedule::trays::Trays;

/// Strips that are cut between two squarings, and at most at a time.
const STRIPS_A_SQUARING: usize = 5;

/// How often a fabric is squared for so many strips, when so many were cut before: before its first strip and after every
/// five.
pub(crate) fn squarings(before: usize, strips: usize) -> u64 {
    ((before + strips).div_ceil(STRIPS_A_SQUARING) - before.div_ceil(STRIPS_A_SQUARING)) as u64
}
/// A multiple of every ply limit: stacks are added up in parts of it.
const PARTS: u64 = 5_354_228_880;

/// Everything that tasks compete for.
#[derive(Clone, Debug)]
pub(crate) struct Hall {
    pub(crate) classes: Vec<CutterClass>,
    /// Copies of each board.
    pub(crate) copies: Vec<u32>,
    pub(crate) irons: u32,
    pub(crate) rulers: u32,
    pub(crate) tables: u32,
    pub(crate) trays: u32,
    /// Mats owned, by kind.
    pub(crate) mats: Vec<u32>,
    pub(crate) helpers: Vec<Helper>,
    pub(crate) slack: u32,
}

impl Hall {
    pub(crate) fn of(job: &Job, group: &Group) -> Self {
        Self {
            classes: group.classes.clone(),
            copies: group.copies.clone(),
            irons: group.irons,
            rulers: group.rulers,
            tables: group.tables,
            trays: group.trays_ahead,
            mats: job.cutter.mats.iter().map(|mat| mat.owned).collect(),
            helpers: group.helpers.clone(),
            slack: group.slack_percent,
        }
    }

    /// Stations: class, and which of the class.
    pub(crate) fn stations(&self) -> Vec<(usize, u32)> {
        let of = |(at, class): (usize, &CutterClass)| (1..=class.number).map(move |number| (at, number));
        self.classes.iter().enumerate().flat_map(of).collect()
    }
}

/// Up to five strips of a fabric.
#[derive(Clone, Debug)]
pub(crate) struct Batch {
    pub(crate) fabric: usize,
    /// Indices of the strips.
    pub(crate) strips: Vec<usize>,
    /// Standard seconds to press, and to cut without squaring.
    pub(crate) press: u64,
    pub(crate) cut: u64,
    /// How often the fabric is squared for it, if batches come in this order.
    pub(crate) squarings: u64,
}

/// Passes of a lay-up, cranked without a break from one tray.
#[derive(Clone, Debug)]
pub(crate) struct Run {
    /// Index into the plan's lay-ups.
    pub(crate) layup: usize,
    /// First pass of the lay-up, from 0.
    pub(crate) first: usize,
    pub(crate) passes: usize,
    pub(crate) board: usize,
    /// Which classes of cutters take it.
    pub(crate) classes: Vec<bool>,
    /// Strips that it needs: fabric and index.
    pub(crate) strips: Vec<(usize, usize)>,
    /// Batches of strips that it needs, ascending.
    pub(crate) batches: Vec<usize>,
    /// Standard seconds to fill its tray; none where that is done already.
    pub(crate) tray: Option<u64>,
    /// Standard seconds to crank it without changing the board (rests included), and to count.
    pub(crate) crank: u64,
    pub(crate) count: u64,
    /// Mats: kind, how many.
    pub(crate) mats: Vec<(usize, u32)>,
}

/// The work that a plan brings.
#[derive(Clone, Debug)]
pub(crate) struct Shop {
    pub(crate) batches: Vec<Batch>,
    /// Runs, lay-up by lay-up.
    pub(crate) runs: Vec<Run>,
    /// The run of every pass that is to be made, by lay-up.
    run_of: Vec<BTreeMap<usize, usize>>,
    /// Standard seconds to change the board, and to square a fabric.
    pub(crate) change: u64,
    pub(crate) square: u64,
    /// Runs of the proof block, from the first.
    pub(crate) proof: usize,
}

/// What dividing into bags brings: standard seconds of sorting per run, and for every bag its runs and the seconds to
/// check it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Sorting {
    pub(crate) runs: Vec<u64>,
    pub(crate) bags: Vec<(Vec<usize>, u64)>,
}

impl Sorting {
    pub(crate) fn of<'p>(
        group: &Group,
        run_of: &[usize],
        runs: usize,
        wants: &[Wants],
        parts: impl Iterator<Item = &'p Part>,
    ) -> Self {
        let mut seconds = vec![0; runs];
        let mut bags: Vec<(Vec<usize>, u64)> = vec![(Vec::new(), 0); group.bags.len() + 1];
        for &(bag, needed, spare) in wants.iter().flat_map(|want| &want.bags) {
            bags[bag].1 += u64::from(needed + spare > 0) * u64::from(group.check_line);
        }
        for &(lot, bag, _) in parts {
            seconds[run_of[lot]] += u64::from(group.sort_part);
            bags[bag].0.push(run_of[lot]);
        }
        let bags = bags.into_iter().map(|(mut runs, check)| {
            runs.sort_unstable();
            runs.dedup();
            (runs, check)
        });
        Self { runs: seconds, bags: bags.collect() }
    }
}

impl Shop {
    /// Work made up for a test.
    #[cfg(test)]
    pub(super) fn made_up(batches: Vec<Batch>, runs: Vec<Run>, change: u64) -> Self {
        Self { batches, runs, run_of: Vec::new(), change, square: 60, proof: 0 }
    }

    /// Fabrics of the plan up to the last of which strips are cut.
    pub(crate) fn fabrics(&self) -> usize {
        self.batches.iter().map(|batch| batch.fabric + 1).max().unwrap_or(0)
    }

    /// The run that a lot comes from.
    pub(crate) fn run_of(&self, lot: &Yield) -> usize {
        self.run_of[lot.layup].get(&lot.pass).copied().unwrap_or(0)
    }

    /// The runs that there are still to do of a plan with these trays, without batches of strips; `None` if the plan does
    /// not belong to the job.
    pub(crate) fn of(
        job: &Job,
        group: &Group,
        plan: &Plan,
        trays: &Trays,
        rest: Option<&Rest>,
    ) -> Option<Self> {
        let times = &job.cutter.times;
        // Where every length or cut comes from, and the standard seconds to make it.
        let mut pieces: BTreeMap<&str, ((usize, usize), u64)> = BTreeMap::new();
        for (f, fabric) in plan.fabrics.iter().enumerate() {
            for (s, strip) in fabric.strips.iter().enumerate() {
                for piece in &strip.pieces {
                    let trim = if piece.width < strip.width { times.trim } else { 0 };
                    let lay = if piece.plies > 1 { times.fold } else { times.place };
                    pieces.insert(&piece.name, ((f, s), u64::from(times.cross_cut + trim + lay)));
                }
            }
        }
        let mut runs = Vec::new();
        let mut run_of = Vec::new();
        for (at, layup) in plan.layups.iter().enumerate() {
            let board = job.boards.iter().position(|board| board.name == layup.board)?;
            let classes: Vec<bool> =
                group.classes.iter().map(|class| takes(job, layup, board, class)).collect();
            let mats = mats(job, layup)?;
            let mut own = BTreeMap::new();
            let to_make = to_make(plan, rest, at);
            // What lies ready goes as it is: on trays of its own, as full as they may be.
            let ready = |pass: usize| rest.is_some_and(|rest| rest.is_ready(at, pass));
            let in_a_row = to_make.chunk_by(|one, next| one + 1 == *next && ready(*one) == ready(*next));
            let on_trays = in_a_row.flat_map(|passes| match ready(passes[0]) {
                true => Trays::full(group.passes_a_tray as usize).of(at, passes),
                false => trays.of(at, passes),
            });
            for chunk in on_trays {
                own.extend(chunk.iter().map(|&pass| (pass, runs.len())));
                let passes = layup.passes.get(chunk[0]..chunk[0] + chunk.len())?;
                let used = || passes.iter().flatten().flatten();
                let homes = used().map(|piece| pieces.get(piece.as_str()).map(|piece| piece.0));
                let mut strips: Vec<(usize, usize)> = homes.collect::<Option<_>>()?;
                strips.retain(|&(f, s)| to_cut(plan, rest, f, s));
                strips.sort_unstable();
                strips.dedup();
                let fill = used().filter_map(|piece| pieces.get(piece.as_str())).map(|piece| piece.1).sum();
                let count = passes.len() as u64;
                let pass = times.crank + times.turn_mat + times.lift_out + group.rest_per_pass;
                runs.push(Run {
                    layup: at,
                    first: chunk[0],
                    passes: passes.len(),
                    board,
                    classes: classes.clone(),
                    strips,
                    batches: Vec::new(),
                    tray: (!ready(chunk[0])).then_some(fill),
                    crank: count * u64::from(pass),
                    count: count * u64::from(times.count),
                    mats: mats.clone(),
                });
            }
            run_of.push(own);
        }
        let proof = plan.proof_block.as_ref().map_or(0, |proof| proof.layups);
        let proof = runs.iter().filter(|run| run.layup < proof).count();
        let change = u64::from(times.change_board);
        let square = u64::from(times.square);
        Some(Self { batches: Vec::new(), runs, run_of, change, square, proof })
    }

    /// Divides the strips into batches in the order in which the runs need them, if they come in this sequence.
    pub(crate) fn make_batches(&mut self, job: &Job, plan: &Plan, rest: Option<&Rest>, sequence: &[usize]) {
        let times = &job.cutter.times;
        self.batches.clear();
        let needed: Vec<&[(usize, usize)]> =
            sequence.iter().map(|&run| self.runs[run].strips.as_slice()).collect();
        let mut home: BTreeMap<(usize, usize), usize> = BTreeMap::new();
        let open = |f: usize, s: usize| to_cut(plan, rest, f, s);
        let batches = crate::supply::batches(plan, &needed, STRIPS_A_SQUARING, open);
        for (at, batch) in batches.into_iter().enumerate() {
            home.extend(batch.strips.iter().map(|&strip| ((batch.fabric, strip), at)));
            let count = batch.strips.len() as u64;
            self.batches.push(Batch {
                fabric: batch.fabric,
                press: count * u64::from(times.press_strip),
                cut: count * u64::from(times.cut_strip),
                squarings: 0,
                strips: batch.strips,
            });
        }
        self.count_squarings();
        for run in &mut self.runs {
            run.batches = run.strips.iter().filter_map(|strip| home.get(strip).copied()).collect();
            run.batches.sort_unstable();
            run.batches.dedup();
        }
    }

    fn count_squarings(&mut self) {
        let mut cut = vec![0; self.fabrics()];
        for batch in &mut self.batches {
            batch.squarings = squarings(cut[batch.fabric], batch.strips.len());
            cut[batch.fabric] += batch.strips.len();
        }
    }

    /// The same work with its batches in another order; gives the new place of every batch.
    pub(crate) fn reordered(&self, order: &[usize]) -> (Self, Vec<usize>) {
        let mut place = vec![0; self.batches.len()];
        for (at, &batch) in order.iter().enumerate() {
            place[batch] = at;
        }
        let mut other = self.clone();
        other.batches = order.iter().map(|&batch| self.batches[batch].clone()).collect();
        other.count_squarings();
        for run in &mut other.runs {
            run.batches.iter_mut().for_each(|batch| *batch = place[*batch]);
            run.batches.sort_unstable();
        }
        (other, place)
    }

    /// Runs board by board in turn, in proportion to the runs of each board; those of the proof block first.
    pub(crate) fn in_turn(&self) -> Vec<usize> {
        let mut count: BTreeMap<usize, u64> = BTreeMap::new();
        for run in &self.runs {
            *count.entry(run.board).or_default() += 1;
        }
        let mut seen: BTreeMap<usize, u64> = BTreeMap::new();
        let mut turns: Vec<(bool, u64, usize)> = Vec::new();
        for (at, run) in self.runs.iter().enumerate() {
            let before = seen.entry(run.board).or_default();
            turns.push((at >= self.proof, 1_000_000 * *before / count[&run.board], at));
            *before += 1;
        }
        turns.sort_unstable();
        turns.into_iter().map(|(.., at)| at).collect()
    }
}

/// Whether a strip is still to be cut.
fn to_cut(plan: &Plan, rest: Option<&Rest>, fabric: usize, strip: usize) -> bool {
    rest.is_none_or(|rest| rest.strips.contains(&plan.fabrics[fabric].strips[strip].name))
}

/// Whether cutters of a class take a lay-up: the board and mats fit the bed, and no stack is above its limit.
fn takes(job: &Job, layup: &LayUp, board: usize, class: &CutterClass) -> bool {
    let board = &job.boards[board];
    let mut reach = (Length::ZERO, board.width);
    for mat in &layup.mats {
        let Some(kind) = job.cutter.mats.iter().find(|kind| kind.name == mat.mat) else { return false };
        let across = if mat.turned { kind.length } else { kind.width };
        reach = (reach.0.min(mat.x), reach.1.max(mat.x + across));
    }
    if !class.takes(board.width, board.length) || reach.1 - reach.0 > class.bed_width {
        return false;
    }
    board.points.iter().all(|point| {
        let mut load = 0;
        for bays in &layup.bays {
            let here = point.bays.iter().any(|&bay| board.bays[bay].positions == bays.positions);
            for group in bays.groups.iter().filter(|_| here) {
                let own = job.fabrics.iter().find(|fabric| fabric.name == group.fabric);
                let limit = own.map_or(1, |fabric| fabric.ply_limit).min(class.ply_limit).max(1);
                load += u64::from(group.plies) * (PARTS / u64::from(limit));
            }
        }
        load <= PARTS
    })
}

fn mats(job: &Job, layup: &LayUp) -> Option<Vec<(usize, u32)>> {
    let mut counts: BTreeMap<usize, u32> = BTreeMap::new();
    for mat in &layup.mats {
        let kind = job.cutter.mats.iter().position(|kind| kind.name == mat.mat)?;
        *counts.entry(kind).or_default() += 1;
    }
    Some(counts.into_iter().collect())
}

/// The fastest time for a piece of work in this hall.
pub(crate) fn fastest(hall: &Hall, work: Work, standard: u64) -> u64 {
    let able = hall.helpers.iter().filter(|helper| helper.can.contains(&work));
    able.map(|helper| helper.seconds(standard, hall.slack)).min().unwrap_or(0)
}
