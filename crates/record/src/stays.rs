//! What stays of a plan: the passes that can still be made as their cards say and are still wanted, so that as few
//! lay-ups as possible change.

use std::collections::{BTreeMap, BTreeSet};

use patchlay_measure::Length;
use patchlay_plan::Plan;
use patchlay_plan::replan::Reason;
use patchlay_scenario::job::Job;

use crate::state::{Ground, State};
use crate::wanted::{Counts, demand, wanted};

/// Most sets of changed lay-ups that are looked at.
const MOST_SETS: usize = 50_000;
/// Of the smallest sets that the cloth allows, how many are tried out in full.
const MOST_TRIED: usize = 200;

/// What stays of a plan.
#[derive(Clone, Debug, Default)]
pub struct Stays {
    /// By lay-up: passes that are still to be made, from 0.
    pub kept: Vec<BTreeSet<usize>>,
    /// By lay-up: passes that are not to be made, and why.
    pub lost: Vec<BTreeMap<usize, Reason>>,
    /// No fewer lay-ups can change for want of cloth, those aside that change for other reasons.
    pub fewest: bool,
    /// Patches wanted now, spare patches included.
    pub wanted: Counts,
    /// Good patches that are there.
    pub good: Counts,
    /// Patches that the kept passes cut.
    pub cut: Counts,
}

impl Stays {
    /// Patches wanted that neither are there nor come from the kept passes.
    #[must_use]
    pub fn missing(&self) -> Counts {
        let have = |line| of(&self.good, line) + of(&self.cut, line);
        let missing = self.wanted.iter().map(|(line, wanted)| (*line, wanted.saturating_sub(have(line))));
        missing.filter(|(_, missing)| *missing > 0).collect()
    }

    /// Strips that are still to be cut for the kept passes, as numbers in the order of the plan, each with its lengths
    /// and cuts that none of them uses.
    pub(crate) fn strips(&self, ground: &Ground<'_>, state: &State) -> Vec<(usize, Vec<usize>)> {
        let used = self.pieces(ground);
        let strips: BTreeSet<usize> = used.iter().map(|piece| ground.pieces[*piece].0).collect();
        let without = |strip| ground.pieces_of(strip).filter(|piece| !used.contains(piece)).collect();
        strips
            .into_iter()
            .filter(|strip| !state.cut.contains(strip))
            .map(|strip| (strip, without(strip)))
            .collect()
    }

    /// Lengths and cuts that the kept passes use.
    pub(crate) fn pieces(&self, ground: &Ground<'_>) -> BTreeSet<usize> {
        let passes = self.kept.iter().enumerate();
        passes
            .flat_map(|(layup, kept)| kept.iter().flat_map(move |pass| &ground.supply[layup][*pass]))
            .copied()
            .collect()
    }
}

fn of(counts: &Counts, line: &crate::wanted::Line) -> u64 {
    counts.get(line).copied().unwrap_or_default()
}

/// What stays of a plan where things stand like this.
///
/// # Errors
/// What of the plan does not belong to the job, or why what is wanted now cannot be read.
pub fn stays(plan: &Plan, job: &Job, state: &State) -> Result<Stays, String> {
    stays_on(&Ground::new(plan, job)?, state)
}

pub(crate) fn stays_on(ground: &Ground<'_>, state: &State) -> Result<Stays, String> {
    let wanted = wanted(&ground.plan.scenario, &state.quilts).map_err(|error| error.to_string())?;
    let layups = ground.plan.layups.len();
    let lost = vec![BTreeMap::new(); layups];
    let kept = state.made.iter().map(|made| (0..made.len()).filter(|pass| made[*pass].is_none()).collect());
    let good = state.good(ground);
    let yields = (0..layups).map(|layup| ground.yields(layup)).collect();
    let stays = Stays { kept: kept.collect(), lost, fewest: true, wanted, good, cut: Counts::new() };
    let mut work = Work { ground, state, stays, yields, narrowed: false };
    work.equipment();
    work.narrow();
    let unwanted = if work.more_than_planned() { work.unwanted() } else { Vec::new() };
    work.short();
    work.wanted_again(&unwanted);
    work.stays.cut = work.cut();
    Ok(work.stays)
}

struct Work<'w, 'a> {
    ground: &'w Ground<'a>,
    state: &'w State,
    stays: Stays,
    /// Patches of one pass of every lay-up.
    yields: Vec<Counts>,
    /// Lay-ups changed because cloth is too narrow.
    narrowed: bool,
}

impl Work<'_, '_> {
    fn lose(&mut self, layup: usize, pass: usize, reason: Reason) {
        if self.stays.kept[layup].remove(&pass) {
            self.stays.lost[layup].insert(pass, reason);
        }
    }

    fn passes(&self) -> Vec<(usize, usize)> {
        let each =
            |(layup, kept): (usize, &BTreeSet<usize>)| kept.iter().map(move |pass| (layup, *pass)).collect();
        self.stays.kept.iter().enumerate().flat_map(|pair| -> Vec<(usize, usize)> { each(pair) }).collect()
    }

    /// Passes without a board, without mats, or with a length or cut that is gone.
    fn equipment(&mut self) {
        for (layup, pass) in self.passes() {
            let plan = &self.ground.plan.layups[layup];
            let mats = &self.ground.job.cutter.mats;
            let too_few = mats.iter().zip(&self.state.mats).find(|(mat, left)| {
                plan.mats.iter().filter(|used| used.mat == mat.name).count() > **left as usize
            });
            let gone = self.ground.supply[layup][pass].iter().find(|piece| self.state.gone.contains(piece));
            let piece = |piece: &usize| self.ground.pieces[*piece].1.name.clone();
            let reason = if self.state.boards[self.ground.boards[layup]] == 0 {
                Some(Reason::Board)
            } else if let Some((mat, _)) = too_few {
                Some(Reason::Mat { mat: mat.name.clone() })
            } else {
                gone.map(|gone| Reason::Piece { piece: piece(gone) })
            };
            if let Some(reason) = reason {
                self.lose(layup, pass, reason);
            }
        }
    }

    /// The pass that uses a length or cut, where it is still to be made.
    fn homes(&self) -> BTreeMap<usize, (usize, usize)> {
        let passes = self.passes().into_iter();
        passes.flat_map(|at| self.ground.supply[at.0][at.1].iter().map(move |piece| (*piece, at))).collect()
    }

    /// Strips that the cloth is too narrow for lose lengths and cuts until the rest fits: of lay-ups that change anyway
    /// first, then the shortest that does.
    fn narrow(&mut self) {
        let mut changed = BTreeSet::new();
        for strip in 0..self.ground.strips.len() {
            let (fabric, _) = self.ground.strips[strip];
            if self.state.cut.contains(&strip) {
                continue;
            }
            let room = self.state.widths[fabric] - self.ground.job.fabrics[fabric].end_reserve;
            loop {
                let homes = self.homes();
                let used: Vec<usize> =
                    self.ground.pieces_of(strip).filter(|piece| homes.contains_key(piece)).collect();
                let length = |piece: &usize| self.ground.pieces[*piece].1.length;
                let over = used.iter().map(length).sum::<Length>() - room;
                if !over.is_positive() {
                    break;
                }
                let price = |piece: &&usize| {
                    let fresh = self.stays.lost[homes[*piece].0].is_empty();
                    let enough = length(piece) >= over;
                    // Where none does alone the longest goes first.
                    let size = if enough { length(piece).units() } else { -length(piece).units() };
                    (fresh, !enough, size)
                };
                let Some(piece) = used.iter().min_by_key(price).copied() else { break };
                let (layup, pass) = homes[&piece];
                if self.stays.lost[layup].is_empty() {
                    changed.insert(layup);
                }
                self.lose(layup, pass, Reason::Narrow { piece: self.ground.pieces[piece].1.name.clone() });
            }
        }
        // Strip by strip is not all at once: where it is more than one, fewer were not looked for.
        self.stays.fewest = changed.len() <= 1;
        self.narrowed = !changed.is_empty();
    }

    /// Patches that the kept passes cut.
    fn cut(&self) -> Counts {
        let mut cut = Counts::new();
        for (kept, yields) in self.stays.kept.iter().zip(&self.yields).filter(|(kept, _)| !kept.is_empty()) {
            for (line, count) in yields {
                *cut.entry(*line).or_default() += count * kept.len() as u64;
            }
        }
        cut
    }

    /// Whether something is wanted less, or is there more, than the plan reckoned with. Else every pass stays wanted.
    fn more_than_planned(&self) -> bool {
        let cut = self.cut();
        let planned = |line: &crate::wanted::Line| {
            let passes = self.ground.plan.layups.iter().map(|layup| layup.passes.len() as u64);
            self.yields.iter().zip(passes).map(|(yields, passes)| of(yields, line) * passes).sum::<u64>()
        };
        let less =
            demand(self.ground.job).iter().any(|(line, before)| of(&self.stays.wanted, line) < *before);
        less || self.stays.good.iter().any(|(line, good)| good + of(&cut, line) > planned(line))
    }

    /// Whether so many passes of a lay-up can be left out without anything being missing for it.
    fn spared(&self, cut: &Counts, layup: usize, passes: u64) -> bool {
        self.yields[layup].iter().all(|(line, count)| {
            let wanted = of(&self.stays.wanted, line);
            let have = of(&self.stays.good, line) + of(cut, line);
            have - count * passes >= wanted.min(have)
        })
    }

    fn leave_out(&mut self, cut: &mut Counts, layup: usize, passes: &[usize]) {
        for pass in passes {
            self.lose(layup, *pass, Reason::NotWanted);
            for (line, count) in &self.yields[layup] {
                *cut.entry(*line).or_default() -= count;
            }
        }
    }

    /// Passes that nothing needs: whole lay-ups first, the largest first; then single passes, from the last lay-up on,
    /// those first for which most is still to be cut.
    fn unwanted(&mut self) -> Vec<(usize, usize)> {
        let mut cut = self.cut();
        let mut layups: Vec<usize> = (0..self.stays.kept.len()).collect();
        layups.sort_by_key(|layup| std::cmp::Reverse((self.stays.kept[*layup].len(), *layup)));
        for layup in layups {
            let all: Vec<usize> = self.stays.kept[layup].iter().copied().collect();
            if !all.is_empty() && self.spared(&cut, layup, all.len() as u64) {
                self.leave_out(&mut cut, layup, &all);
            }
        }
        for layup in (0..self.stays.kept.len()).rev() {
            while !self.stays.kept[layup].is_empty() && self.spared(&cut, layup, 1) {
                let uncut = |pass: &usize| {
                    let pieces = self.ground.supply[layup][*pass].iter();
                    pieces.filter(|piece| !self.state.cut.contains(&self.ground.pieces[**piece].0)).count()
                };
                let Some(pass) =
                    self.stays.kept[layup].iter().copied().max_by_key(|pass| (uncut(pass), *pass))
                else {
                    break;
                };
                self.leave_out(&mut cut, layup, &[pass]);
            }
        }
        let lost = self.stays.lost.iter().enumerate();
        lost.flat_map(|(layup, lost)| {
            lost.iter()
                .filter(|(_, reason)| **reason == Reason::NotWanted)
                .map(move |(pass, _)| (layup, *pass))
        })
        .collect()
    }

    /// Strips that are still to be cut for these passes, by fabric.
    fn to_cut(&self, passes: &[(usize, usize)]) -> Vec<BTreeSet<usize>> {
        let mut strips = vec![BTreeSet::new(); self.ground.job.fabrics.len()];
        for piece in passes.iter().flat_map(|(layup, pass)| &self.ground.supply[*layup][*pass]) {
            let strip = self.ground.pieces[*piece].0;
            if !self.state.cut.contains(&strip) {
                strips[self.ground.strips[strip].0].insert(strip);
            }
        }
        strips
    }

    /// Whether the bolt does for these strips.
    fn enough(&self, fabric: usize, strips: &BTreeSet<usize>) -> bool {
        let widths: Vec<Length> = strips.iter().map(|strip| self.ground.strips[*strip].1.width).collect();
        let taken = |more: &[Length]| self.state.taken(self.ground, fabric, more);
        taken(&widths) - taken(&[]) <= self.state.left(self.ground, fabric)
    }

    fn all_enough(&self, strips: &[BTreeSet<usize>]) -> bool {
        strips.iter().enumerate().all(|(fabric, strips)| strips.is_empty() || self.enough(fabric, strips))
    }

    /// Where a bolt does not do, the fewest lay-ups that need not all be changed lose passes.
    fn short(&mut self) {
        let passes = self.passes();
        if self.all_enough(&self.to_cut(&passes)) {
            return;
        }
        let of_layup = |layup: usize| -> Vec<(usize, usize)> {
            passes.iter().copied().filter(|(own, _)| *own == layup).collect()
        };
        let changed = |layup: &usize| !self.stays.lost[*layup].is_empty();
        let all: Vec<usize> =
            (0..self.stays.kept.len()).filter(|layup| !self.stays.kept[*layup].is_empty()).collect();
        let (free, fixed): (Vec<usize>, Vec<usize>) = all.into_iter().partition(changed);
        let may: Vec<usize> = fixed
            .iter()
            .copied()
            .filter(|layup| self.to_cut(&of_layup(*layup)).iter().any(|strips| !strips.is_empty()))
            .collect();
        let whole = |without: &[usize]| -> Vec<(usize, usize)> {
            let stays = |layup: &usize| fixed.contains(layup) && !without.contains(layup);
            passes.iter().copied().filter(|(layup, _)| stays(layup)).collect()
        };
        let fits = |without: &[usize]| self.all_enough(&self.to_cut(&whole(without)));
        let (sets, fewest) = smallest(&may, fits);
        let tried = sets.into_iter().map(|without| {
            let optional: Vec<(usize, usize)> = passes
                .iter()
                .copied()
                .filter(|(layup, _)| free.contains(layup) || without.contains(layup))
                .collect();
            self.added(whole(&without), &optional)
        });
        let best = tried.max_by_key(Vec::len).unwrap_or_default();
        self.stays.fewest = fewest && !self.narrowed;
        for (layup, pass) in passes {
            if !best.contains(&(layup, pass)) {
                let strips = self.to_cut(&[(layup, pass)]);
                let strip =
                    strips.iter().flatten().next().map(|strip| self.ground.strips[*strip].1.name.clone());
                self.lose(layup, pass, Reason::Short { strip: strip.unwrap_or_default() });
            }
        }
    }

    /// As many passes more as the cloth allows, those first that need least of it.
    fn added(&self, mut passes: Vec<(usize, usize)>, optional: &[(usize, usize)]) -> Vec<(usize, usize)> {
        let mut left: Vec<(usize, usize)> = optional.to_vec();
        loop {
            let strips = self.to_cut(&passes);
            let more = |pass: &(usize, usize)| -> usize {
                let own = self.to_cut(&[*pass]);
                own.iter().zip(&strips).map(|(own, strips)| own.difference(strips).count()).sum()
            };
            left.sort_by_key(|pass| (more(pass), *pass));
            let fitting = left.iter().position(|pass| {
                let mut with = passes.clone();
                with.push(*pass);
                self.all_enough(&self.to_cut(&with))
            });
            let Some(at) = fitting else { return passes };
            passes.push(left.remove(at));
        }
    }

    /// Passes that were not wanted while others were to be made, and are now that those are not.
    fn wanted_again(&mut self, unwanted: &[(usize, usize)]) {
        for &(layup, pass) in unwanted {
            let cut = self.cut();
            let helps = self.yields[layup]
                .keys()
                .any(|line| of(&self.stays.good, line) + of(&cut, line) < of(&self.stays.wanted, line));
            let mut with = self.passes();
            with.push((layup, pass));
            if helps && self.all_enough(&self.to_cut(&with)) {
                self.stays.lost[layup].remove(&pass);
                self.stays.kept[layup].insert(pass);
            }
        }
    }
}

/// The smallest sets of these that fit, some of them, and whether no smaller ones are known to fit. Where there are too
/// many sets to look at, one that fits is found by taking one after the other.
fn smallest(of: &[usize], fits: impl Fn(&[usize]) -> bool) -> (Vec<Vec<usize>>, bool) {
    let mut looked_at = 0;
    for size in 0..=of.len() {
        let mut found = Vec::new();
        let mut set: Vec<usize> = (0..size).collect();
        loop {
            looked_at += 1;
            if looked_at > MOST_SETS {
                return match found.is_empty() {
                    true => (vec![one_by_one(of, &fits)], false),
                    false => (found, true),
                };
            }
            let chosen: Vec<usize> = set.iter().map(|at| of[*at]).collect();
            if fits(&chosen) {
                found.push(chosen);
            }
            if found.len() >= MOST_TRIED || !next_set(&mut set, of.len()) {
                break;
            }
        }
        if !found.is_empty() {
            return (found, true);
        }
    }
    (vec![of.to_vec()], false)
}

/// Goes on to the next set of the same size, in the order of dictionaries.
fn next_set(set: &mut [usize], all: usize) -> bool {
    let size = set.len();
    let Some(at) = (0..size).rev().find(|at| set[*at] < all - size + at) else { return false };
    set[at] += 1;
    for later in at + 1..size {
        set[later] = set[later - 1] + 1;
    }
    true
}

fn one_by_one(of: &[usize], fits: &impl Fn(&[usize]) -> bool) -> Vec<usize> {
    let mut set = of.to_vec();
    for layup in of {
        let without: Vec<usize> = set.iter().copied().filter(|own| own != layup).collect();
        if fits(&without) {
            set = without;
        }
    }
    set
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_smallest_sets_are_found_and_all_of_them() {
        // Something of 7 must go; lay-up n weighs n.
        let fits = |set: &[usize]| set.iter().sum::<usize>() >= 7;
        let (sets, fewest) = smallest(&[1, 2, 3, 4, 5], fits);
        assert_eq!((sets, fewest), (vec![vec![2, 5], vec![3, 4], vec![3, 5], vec![4, 5]], true));
        assert_eq!(smallest(&[1, 2], |_| true), (vec![vec![]], true));
    }

    #[test]
    fn where_there_are_too_many_sets_one_that_fits_is_found() {
        let all: Vec<usize> = (0..40).collect();
        let (sets, fewest) = smallest(&all, |set| set.len() >= 20);
        assert!(!fewest);
        assert_eq!(sets[0].len(), 20);
    }
}
