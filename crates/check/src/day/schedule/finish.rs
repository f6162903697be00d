//! How early the last task can end: bounds that hold for every schedule of these batches in this order, runs and bags.

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
            if job.work == Work::Fold && !job.before.is_empty() {
                chains.head[at] = chains.head[at].max(chains.supplied(case, jobs, job));
            }
            chains.fast[at] = case.hall.lasts(job.standard, fastest(case, job.work));
        }
        let mut checks = vec![0_u64; count];
        for job in jobs.all.iter().filter(|job| job.work == Work::CheckBags) {
            for &before in &job.before {
                checks[before] = checks[before].saturating_add(job.standard);
            }
        }
        for (at, job) in jobs.all.iter().enumerate().rev() {
            // All bags that wait for a run are checked after it.
            let all = shared_out(case, &[Work::CheckBags], checks[at]);
            chains.tail[at] = chains.tail[at].max(all);
            let after = chains.tail[at].saturating_add(chains.fast[at]);
            for &before in &job.before {
                chains.tail[before] = chains.tail[before].max(after);
            }
        }
        chains
    }

    /// When the strips for a fold task can be there, if all who press and cut help: at least all of pressing and the least
    /// cut, the least pressing and all cuts, or both together.
    fn supplied(&self, case: &Case<'_>, jobs: &Jobs, fold: &Job) -> u64 {
        let cuts: Vec<usize> = fold.before.clone();
        let presses: Vec<usize> = cuts
            .iter()
            .flat_map(|&cut| jobs.all[cut].before.iter().copied())
            .filter(|&before| {
                jobs.all[before].work == Work::Press
                    && cuts.iter().any(|&cut| jobs.all[cut].on == jobs.all[before].on)
            })
            .collect();
        let all =
            |of: &[usize]| of.iter().fold(0_u64, |sum, &job| sum.saturating_add(jobs.all[job].standard));
        let least = |of: &[usize]| of.iter().map(|&job| self.fast[job]).min().unwrap_or(0);
        let comes = |work: Work| case.hall.able(work).map(|helper| helper.from).min().unwrap_or(0);
        let pressing = shared_out(case, &[Work::Press], all(&presses)).saturating_add(least(&cuts));
        let cutting = shared_out(case, &[Work::Strips], all(&cuts)).saturating_add(least(&presses));
        let both = shared_out(case, &[Work::Press, Work::Strips], all(&presses).saturating_add(all(&cuts)));
        let from = comes(Work::Press);
        let ends = [
            from.saturating_add(pressing),
            from.saturating_add(cutting),
            from.min(comes(Work::Strips)).saturating_add(both),
        ];
        ends.into_iter().max().unwrap_or(0)
    }

    fn end(&self, job: usize) -> u64 {
        self.head[job].saturating_add(self.fast[job])
    }
}

/// The least time for work that everybody shares who does any of these kinds.
fn shared_out(case: &Case<'_>, works: &[Work], standard: u64) -> u64 {
    let able = case.hall.helpers.iter().filter(|helper| works.iter().any(|work| helper.can.contains(work)));
    let speed = able.map(|helper| helper.speed).fold(0_u64, u64::saturating_add);
    case.hall.lasts(standard, speed.max(1))
}

fn fastest(case: &Case<'_>, work: Work) -> u64 {
    case.hall.able(work).map(|helper| helper.speed).max().unwrap_or(1)
}

/// The least of some values and others spread evenly over them in order, at most twelve: what bounds are looked at for.
fn spread_out(values: Vec<u64>) -> Vec<u64> {
    let values: Vec<u64> = values.into_iter().collect::<BTreeSet<_>>().into_iter().collect();
    let most = values.len().min(12);
    (0..most).filter_map(|part| values.get(values.len() * part / most).copied()).collect()
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

    /// All work of every set of kinds must fit the hours of those who can do any of it; so must what of it can begin no
    /// earlier and end no later than some times.
    fn helpers(&self) -> u64 {
        (1..1_u32 << Work::ALL.len()).map(|set| self.kinds(set)).max().unwrap_or(0)
    }

    fn kinds(&self, set: u32) -> u64 {
        let own = |work: Work| {
            Work::ALL.iter().position(|other| *other == work).is_some_and(|at| set >> at & 1 == 1)
        };
        let jobs: Vec<usize> = (0..self.jobs.all.len()).filter(|&job| own(self.jobs.all[job].work)).collect();
        let values = |of: &[u64]| spread_out(jobs.iter().map(|&job| of[job]).collect());
        let (heads, tails) = (values(&self.chains.head), values(&self.chains.tail));
        let mut changes = 0;
        if own(Work::Crank) {
            let change = self.case.facts.cutter.seconds[Event::ChangeBoard as usize];
            changes = u128::from(change) * self.runs_by_board().len() as u128;
        }
        let mut least = 0;
        for &head in &heads {
            for &tail in &tails {
                let all = Some(&head) == heads.first() && Some(&tail) == tails.first();
                let within = |job: &usize| self.chains.head[*job] >= head && self.chains.tail[*job] >= tail;
                let some: Vec<usize> = jobs.iter().copied().filter(within).collect();
                // A board is put on with some of all cranking, so changes belong to all tasks only.
                least = least.max(self.fits(&some, if all { changes } else { 0 }));
            }
        }
        least
    }

    /// When those who can do any of these tasks can have done them all, shared at will, each of them from the least head
    /// to the least tail of what they can do.
    fn fits(&self, some: &[usize], more: u128) -> u64 {
        let standard: u128 =
            more + some.iter().map(|&job| u128::from(self.jobs.all[job].standard)).sum::<u128>();
        let work = standard.saturating_mul(u128::from(self.case.hall.slack) + 100);
        let mut by_kind: BTreeMap<Work, Vec<usize>> = BTreeMap::new();
        some.iter().for_each(|&job| by_kind.entry(self.jobs.all[job].work).or_default().push(job));
        let margins: Vec<(Work, (u64, u64))> = by_kind
            .into_iter()
            .filter_map(|(work, jobs)| Some((work, self.margins(jobs.into_iter())?)))
            .collect();
        let able: Vec<(&Helper, u64, u64)> = self
            .case
            .hall
            .helpers
            .iter()
            .filter_map(|helper| {
                let own = margins.iter().filter(|(work, _)| helper.can.contains(work)).map(|(_, ends)| *ends);
                let (head, tail) = own.reduce(|least, other| (least.0.min(other.0), least.1.min(other.1)))?;
                Some((helper, head.max(helper.from), tail))
            })
            .collect();
        let can = |end: u64| {
            let each = able.iter().map(|&(helper, from, tail)| {
                let to = end.saturating_sub(tail).min(helper.to.unwrap_or(u64::MAX));
                u128::from(to.saturating_sub(from)).saturating_mul(helper.speed.into())
            });
            each.fold(0_u128, u128::saturating_add) >= work
        };
        if !can(u64::MAX / 2) {
            return u64::MAX;
        }
        let (mut low, mut high) = (0, u64::MAX / 2);
        while low < high {
            let middle = low + (high - low) / 2;
            if can(middle) { high = middle } else { low = middle + 1 }
        }
        low
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
