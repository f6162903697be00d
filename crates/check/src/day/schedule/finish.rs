//! How early the last task can end: bounds that hold for every schedule of these batches, runs and bags.

use std::collections::{BTreeMap, BTreeSet};

use patchlay_plan::Event;
use patchlay_plan::day::Work;

use super::jobs::{Job, Jobs};
use super::{Input, shared, stations};
use crate::day::Case;
use crate::day::hall::Helper;

/// For every task the least time before it, in it and after it, with the fastest helpers.
struct Chains {
    head: Vec<u64>,
    fast: Vec<u64>,
    tail: Vec<u64>,
}

/// No schedule ends before this.
pub(super) fn bound(case: &Case<'_>, input: &Input<'_>, jobs: &Jobs) -> u64 {
    let bounds = Bounds { case, input, jobs, chains: Chains::of(case, jobs) };
    [
        bounds.longest_chain(),
        bounds.helpers(),
        bounds.stations(),
        bounds.boards(),
        bounds.mats(),
        bounds.things(),
    ]
    .into_iter()
    .max()
    .unwrap_or(0)
}

impl Chains {
    fn of(case: &Case<'_>, jobs: &Jobs) -> Self {
        let count = jobs.all.len();
        let mut chains = Self { head: vec![0; count], fast: vec![0; count], tail: vec![0; count] };
        for (at, job) in jobs.all.iter().enumerate() {
            let arrives = case.hall.able(job.work).map(|helper| helper.from).min().unwrap_or(0);
            let before = job.before.iter().map(|&before| chains.end(before));
            chains.head[at] = before.fold(arrives, u64::max);
            chains.fast[at] = case.hall.lasts(job.standard, fastest(case, job.work));
        }
        for (at, job) in jobs.all.iter().enumerate().rev() {
            let after = chains.tail[at].saturating_add(chains.fast[at]);
            for &before in &job.before {
                chains.tail[before] = chains.tail[before].max(after);
            }
        }
        chains
    }

    fn end(&self, job: usize) -> u64 {
        self.head[job].saturating_add(self.fast[job])
    }
}

fn fastest(case: &Case<'_>, work: Work) -> u64 {
    case.hall.able(work).map(|helper| helper.speed).max().unwrap_or(1)
}

struct Bounds<'a> {
    case: &'a Case<'a>,
    input: &'a Input<'a>,
    jobs: &'a Jobs,
    chains: Chains,
}

impl Bounds<'_> {
    fn longest_chain(&self) -> u64 {
        let whole = |job: usize| self.chains.end(job).saturating_add(self.chains.tail[job]);
        (0..self.jobs.all.len()).map(whole).max().unwrap_or(0)
    }

    /// Least head and least tail.
    fn margins(&self, jobs: impl Iterator<Item = usize>) -> Option<(u64, u64)> {
        jobs.map(|job| (self.chains.head[job], self.chains.tail[job]))
            .reduce(|least, other| (least.0.min(other.0), least.1.min(other.1)))
    }

    /// So many seconds of use between the least head and the least tail of these tasks, spread over so many.
    fn spread(&self, within: &[usize], seconds: u128, number: u64) -> u64 {
        let Some((head, tail)) = self.margins(within.iter().copied()) else { return 0 };
        let each = u64::try_from(seconds.div_ceil(u128::from(number.max(1)))).unwrap_or(u64::MAX);
        head.saturating_add(each).saturating_add(tail)
    }

    fn seconds(&self, jobs: &[usize]) -> u128 {
        jobs.iter().map(|&job| u128::from(self.chains.fast[job])).sum()
    }

    /// All work of every set of kinds must fit the hours of those who can do any of it.
    fn helpers(&self) -> u64 {
        (1..1_u32 << Work::ALL.len()).map(|set| self.kinds(set)).max().unwrap_or(0)
    }

    fn kinds(&self, set: u32) -> u64 {
        let kinds: BTreeSet<Work> = Work::ALL
            .into_iter()
            .enumerate()
            .filter(|(at, _)| set >> at & 1 == 1)
            .map(|(_, work)| work)
            .collect();
        let own = |job: &Job| kinds.contains(&job.work);
        let jobs = || self.jobs.all.iter().enumerate().filter(|(_, job)| own(job));
        let Some((head, tail)) = self.margins(jobs().map(|(at, _)| at)) else { return 0 };
        let mut standard: u128 = jobs().map(|(_, job)| u128::from(job.standard)).sum();
        if kinds.contains(&Work::Crank) {
            let change = self.case.facts.cutter.seconds[Event::ChangeBoard as usize];
            standard += u128::from(change) * self.runs_by_board().len() as u128;
        }
        let work = standard.saturating_mul(u128::from(self.case.hall.slack) + 100);
        let able: Vec<&Helper> =
            self.case.hall.helpers.iter().filter(|helper| !helper.can.is_disjoint(&kinds)).collect();
        let can = |end: u64| {
            let each = able.iter().map(|helper| {
                let to = helper.to.map_or(end, |to| to.min(end));
                u128::from(to.saturating_sub(helper.from.max(head))).saturating_mul(helper.speed.into())
            });
            each.fold(0_u128, u128::saturating_add) >= work
        };
        if !can(u64::MAX / 2) {
            return u64::MAX;
        }
        let (mut low, mut high) = (head, u64::MAX / 2);
        while low < high {
            let middle = low + (high - low) / 2;
            if can(middle) { high = middle } else { low = middle + 1 }
        }
        low.saturating_add(tail)
    }

    /// Cranking by board, in the order of the runs.
    fn runs_by_board(&self) -> BTreeMap<usize, Vec<usize>> {
        let mut of: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for (job, run) in self.jobs.cranks().zip(self.input.runs) {
            of.entry(self.case.layups[run.layup].board).or_default().push(job);
        }
        of
    }

    /// What changing the board adds to one of these tasks at least.
    fn change(&self, cranks: &[usize]) -> u64 {
        let change = self.case.facts.cutter.seconds[Event::ChangeBoard as usize];
        let more = |&job: &usize| {
            let standard = self.jobs.all[job].standard.saturating_add(change);
            let changed = self.case.hall.lasts(standard, fastest(self.case, Work::Crank));
            changed.saturating_sub(self.chains.fast[job])
        };
        cranks.iter().map(more).min().unwrap_or(0)
    }

    /// Runs that only some cutters take must fit these; and all runs all cutters.
    fn stations(&self) -> u64 {
        let takers: Vec<_> =
            self.case.layups.iter().map(|layup| stations::takers(self.case, layup)).collect();
        let mut sets: BTreeSet<BTreeSet<usize>> = self
            .input
            .runs
            .iter()
            .map(|run| takers[run.layup].clone())
            .filter(|set| !set.is_empty())
            .collect();
        sets.insert((0..self.case.hall.classes.len()).collect());
        sets.iter().map(|set| self.classes(set, &takers)).max().unwrap_or(0)
    }

    fn classes(&self, set: &BTreeSet<usize>, takers: &[BTreeSet<usize>]) -> u64 {
        let number = set.iter().map(|&class| u64::from(self.case.hall.classes[class].number)).sum();
        let cranks = self.jobs.cranks().zip(self.input.runs);
        let bound: Vec<usize> =
            cranks.filter(|(_, run)| takers[run.layup].is_subset(set)).map(|(job, _)| job).collect();
        // Every board of theirs is put on some station at least once, perhaps for a run that is bound to nothing: then
        // between the heads and tails of all runs of these boards.
        let boards = self.runs_by_board();
        let boards = boards.values().filter(|runs| runs.iter().any(|run| bound.contains(run)));
        let (mut all, mut changes) = (Vec::new(), 0_u128);
        for runs in boards {
            changes += u128::from(self.change(runs));
            all.extend(runs);
        }
        let seconds = self.seconds(&bound);
        self.spread(&bound, seconds, number).max(self.spread(&all, seconds + changes, number))
    }

    /// Runs of a board share its copies, which are put on at least once.
    fn boards(&self) -> u64 {
        let boards = self.runs_by_board().into_iter().map(|(board, runs)| {
            let seconds = self.seconds(&runs) + u128::from(self.change(&runs));
            self.spread(&runs, seconds, self.case.hall.copies[board].into())
        });
        boards.max().unwrap_or(0)
    }

    fn mats(&self) -> u64 {
        let uses = shared::mats_of(self.case);
        let kinds = self.case.facts.cutter.mats.iter().enumerate().map(|(at, kind)| {
            let cranks = self.jobs.cranks().zip(self.input.runs);
            let used = cranks.map(|(job, run)| (job, uses[run.layup][at])).filter(|(_, count)| *count > 0);
            let (jobs, seconds): (Vec<usize>, Vec<u128>) =
                used.map(|(job, count)| (job, u128::from(self.chains.fast[job]) * u128::from(count))).unzip();
            self.spread(&jobs, seconds.iter().sum(), kind.owned.into())
        });
        kinds.max().unwrap_or(0)
    }

    fn things(&self) -> u64 {
        let things = shared::USES.into_iter().zip(shared::owned(self.case)).map(|((_, works), owned)| {
            let users: Vec<usize> =
                (0..self.jobs.all.len()).filter(|&job| works.contains(&self.jobs.all[job].work)).collect();
            self.spread(&users, self.seconds(&users), owned)
        });
        things.max().unwrap_or(0)
    }
}
