//! How many passes go into one tray. Large trays do not interrupt a lay-up; small ones let the last passes of the day pass
//! through the hall sooner. So trays are as large as they can be without a clearly later finish, and those of late runs
//! are halved where that lets the day end sooner.

use std::collections::BTreeSet;

use patchlay_plan::Plan;
use patchlay_scenario::Job;
use patchlay_scenario::job::Group;

use super::hall::{Hall, Shop};
use super::place::Rule;
use super::{Found, Judge};
use crate::bags::Wants;
use crate::lots::Yield;
use crate::rest::Rest;
use crate::supply::few_new_strips;
use crate::{DayError, Options};

/// Sequences judged at effort 1 for a plan of one task; larger plans get fewer, so that the work is about the same.
const ROUNDS: u64 = 3_000_000;
/// Most sequences judged at effort 1.
const MOST_ROUNDS: u64 = 4_000;
/// Searches of a small day from other seeds.
const SEARCHES: u64 = 4;
/// Trays are chosen, and what one more of something would do is looked for, in this part of the rounds.
const PART: u64 = 10;
/// Parts of the runs, from the last, whose trays are halved.
const LATE: [usize; 3] = [8, 4, 2];
/// Smaller trays have to let the day end sooner by one in so many.
const SOONER: u64 = 200;

/// Where lay-ups are divided into trays.
#[derive(Clone, Debug)]
pub(crate) struct Trays {
    /// Most passes to a tray.
    pub(crate) most: usize,
    /// Passes of lay-ups that begin a tray besides.
    pub(crate) cuts: BTreeSet<(usize, usize)>,
}

impl Trays {
    /// As full as they may be.
    pub(crate) fn full(most: usize) -> Self {
        Self { most: most.max(1), cuts: BTreeSet::new() }
    }

    /// Passes of a lay-up in a row, tray by tray.
    pub(crate) fn of<'p>(&self, layup: usize, in_a_row: &'p [usize]) -> Vec<&'p [usize]> {
        let whole = in_a_row.chunks(self.most);
        whole.flat_map(|tray| tray.chunk_by(|_, next| !self.cuts.contains(&(layup, *next)))).collect()
    }
}

/// What days are made of.
pub(crate) struct Setting<'a> {
    pub(crate) job: &'a Job,
    pub(crate) group: &'a Group,
    pub(crate) plan: &'a Plan,
    pub(crate) rest: Option<&'a Rest>,
    pub(crate) lots: &'a [Yield],
    pub(crate) wants: &'a [Wants],
    pub(crate) begun: &'a [usize],
    pub(crate) hall: &'a Hall,
    pub(crate) options: &'a Options<'a>,
}

/// Trays, the runs that they make, and the best rule for these.
pub(crate) struct Trayed {
    trays: Trays,
    pub(crate) shop: Shop,
    /// See [`Judge::urgent_by`].
    urgent_by: u64,
    pub(crate) found: Found,
}

impl<'a> Setting<'a> {
    /// The runs with these trays, strips in batches as a sequence of them needs them.
    fn shop(&self, trays: &Trays, sequence: impl Fn(&Shop) -> Vec<usize>) -> Result<Shop, DayError> {
        let shop = Shop::of(self.job, self.group, self.plan, trays, self.rest);
        let mut shop = shop.ok_or(DayError::NotOfThisScenario)?;
        shop.make_batches(self.job, self.plan, self.rest, &sequence(&shop));
        Ok(shop)
    }

    fn judge_of<'s>(&'s self, shop: &'s Shop, urgent_by: u64) -> Judge<'s> {
        let mut judge = Judge::new(self.group, self.lots, (self.wants, self.begun), shop, self.options.stop);
        judge.urgent_by = urgent_by;
        judge
    }

    /// The judge of a day with these trays.
    pub(crate) fn judge<'s>(&'s self, day: &'s Trayed) -> Judge<'s> {
        self.judge_of(&day.shop, day.urgent_by)
    }

    /// Rounds of a whole search, and of a short one.
    fn rounds(&self, shop: &Shop) -> (u64, u64) {
        let effort = u64::from(self.options.effort.clamp(1, 10));
        let lots = self.lots.len() / 8;
        let size = 2 * shop.batches.len() + 3 * shop.runs.len() + self.group.bags.len() + lots;
        let rounds = (ROUNDS / (size.max(1) as u64)).clamp(40, MOST_ROUNDS) * effort;
        (rounds, rounds / PART)
    }

    /// Searches shortly from a rule, in a hall.
    pub(crate) fn short(&self, day: &Trayed, hall: &Hall, start: Rule) -> Found {
        self.judge(day).search(hall, &[start], self.rounds(&day.shop).1, self.options.seed)
    }

    /// The best day that was found.
    pub(crate) fn best(&self) -> Result<Trayed, DayError> {
        let mut day = self.even()?;
        if !self.hall.helpers.is_empty() {
            for part in LATE {
                while let Some(sooner) = self.halved(&day, part)? {
                    day = sooner;
                }
            }
        }
        Ok(day)
    }

    /// The best day with trays of one size: the largest with which a short search does not end clearly later than with
    /// others.
    fn even(&self) -> Result<Trayed, DayError> {
        let mut tried = Vec::new();
        for most in self.sizes() {
            let trays = Trays::full(most);
            let shop = self.shop(&trays, few_new_strips)?;
            let lacking = super::lacking(self.hall, &shop);
            if !lacking.is_empty() {
                return Err(DayError::Impossible(lacking));
            }
            let mut judge = self.judge_of(&shop, 0);
            let starts = super::starts(&mut judge, self.hall);
            let score = judge.search(self.hall, &starts, self.rounds(&shop).1, self.options.seed).score;
            let urgent_by = judge.urgent_by;
            tried.push((score, trays, shop, starts, urgent_by));
        }
        let best = tried.iter().map(|tried| tried.0).min().ok_or(DayError::NotOfThisScenario)?;
        let chosen = tried.into_iter().find(|(score, ..)| !best.clearly_before(score));
        let (_, trays, shop, starts, urgent_by) = chosen.ok_or(DayError::NotOfThisScenario)?;
        let judge = self.judge_of(&shop, urgent_by);
        let rounds = self.rounds(&shop).0;
        // Searches of small days end far apart, and are over soon.
        let searches = if rounds >= MOST_ROUNDS { SEARCHES } else { 1 };
        let seeds = (0..searches).map(|turn| self.options.seed.wrapping_add(turn * 0x5851_f42d));
        let found = seeds.map(|seed| judge.search(self.hall, &starts, rounds, seed));
        let found = found.min_by_key(|found| found.score).ok_or(DayError::NotOfThisScenario)?;
        Ok(Trayed { trays, shop, urgent_by, found })
    }

    /// Most passes to a tray that are tried: as many as it serves, half of them, and so on.
    fn sizes(&self) -> Vec<usize> {
        let mut sizes = vec![self.group.passes_a_tray.max(1) as usize];
        while let Some(&last) = sizes.last().filter(|last| **last > 1 && !self.hall.helpers.is_empty()) {
            sizes.push(last.div_ceil(2));
        }
        sizes
    }

    /// The day with the trays of the last runs halved, if it then ends sooner.
    fn halved(&self, day: &Trayed, part: usize) -> Result<Option<Trayed>, DayError> {
        let late = day.found.order.len() - day.found.order.len().div_ceil(part);
        let mut trays = day.trays.clone();
        for &run in &day.found.order[late..] {
            let run = &day.shop.runs[run];
            if run.passes > 1 {
                trays.cuts.insert((run.layup, run.first + run.passes.div_ceil(2)));
            }
        }
        if trays.cuts.len() == day.trays.cuts.len() {
            return Ok(None);
        }
        let rule = |shop: &Shop| carried(&day.found.rule, &day.shop, shop);
        let shop = self.shop(&trays, |shop| rule(shop).sequence)?;
        let rule = rule(&shop);
        let after = self.judge_of(&shop, 0).judge(self.hall, &rule).score.urgent_after;
        let urgent_by = after.saturating_sub(day.found.score.urgent_over);
        let judge = self.judge_of(&shop, urgent_by);
        let (long, short) = self.rounds(&shop);
        let rounds = if long >= MOST_ROUNDS { long } else { short };
        let found = judge.search(self.hall, &[rule], rounds, self.options.seed);
        let sooner = found.score.sooner(&day.found.score, SOONER);
        Ok(sooner.then_some(Trayed { trays, shop, urgent_by, found }))
    }
}

/// The rule for runs of which some are parts of those that it was made for. Who does a task is left open: batches are
/// others.
fn carried(rule: &Rule, from: &Shop, to: &Shop) -> Rule {
    let mut sequence = Vec::new();
    let mut later = vec![0; to.runs.len()];
    for &run in &rule.sequence {
        let whole = &from.runs[run];
        for (at, part) in to.runs.iter().enumerate() {
            if part.layup == whole.layup && (whole.first..whole.first + whole.passes).contains(&part.first) {
                sequence.push(at);
                later[at] = rule.later[run];
            }
        }
    }
    Rule {
        sequence,
        later,
        reluctance: rule.reluctance.clone(),
        settled: Default::default(),
        at_once: rule.at_once,
        keep: rule.keep,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn trays_are_full_but_where_they_are_cut() {
        let mut trays = Trays::full(3);
        let passes = [2, 3, 4, 5, 6, 7, 8];
        assert_eq!(trays.of(0, &passes), [&passes[..3], &passes[3..6], &passes[6..]]);
        trays.cuts.extend([(0, 3), (0, 5), (1, 6)]);
        assert_eq!(trays.of(0, &passes), [&passes[..1], &passes[1..3], &passes[3..6], &passes[6..]]);
    }
}
