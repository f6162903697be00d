//! What there is to do, with standard times and what each task needs done before.

use std::collections::{BTreeMap, BTreeSet};

use patchlay_plan::Event;
use patchlay_plan::day::{On, Work};

use super::Input;
use crate::day::Case;
use crate::day::runs::Resolved;

/// One task that there is.
#[derive(Clone, Debug)]
pub(super) struct Job {
    pub(super) work: Work,
    pub(super) on: On,
    /// Standard seconds, without changing the board.
    pub(super) standard: u64,
    /// Tasks that must be done before, by index; all are lower than its own.
    pub(super) before: Vec<usize>,
}

impl Job {
    pub(super) fn place(&self) -> String {
        place(self.work, &self.on)
    }
}

/// A task in words.
pub(super) fn place(work: Work, on: &On) -> String {
    match on {
        On::Batch(number) => format!("{work:?}, batch {number}"),
        On::Run(number) => format!("{work:?}, run {number}"),
        On::Bag(number) => format!("{work:?}, bag {number}"),
    }
}

/// All tasks that there are.
#[derive(Debug, Default)]
pub(super) struct Jobs {
    pub(super) all: Vec<Job>,
    index: BTreeMap<(Work, On), usize>,
}

/// A length or cut: the batch of its strip, where that is still to be cut, and the seconds it takes to prepare.
type Pieces<'a> = BTreeMap<&'a str, (Option<usize>, u64)>;

impl Jobs {
    /// The task of that work on that thing.
    pub(super) fn find(&self, work: Work, on: &On) -> Option<usize> {
        self.index.get(&(work, on.clone())).copied()
    }

    /// The cranking of every run, by its index.
    pub(super) fn cranks(&self) -> impl Iterator<Item = usize> {
        self.all.iter().enumerate().filter(|(_, job)| job.work == Work::Crank).map(|(at, _)| at)
    }

    fn add(&mut self, work: Work, on: On, standard: u64, before: Vec<usize>) {
        self.index.insert((work, on.clone()), self.all.len());
        self.all.push(Job { work, on, standard, before });
    }

    fn before(&self, work: Work, on: impl IntoIterator<Item = On>) -> Vec<usize> {
        on.into_iter().filter_map(|on| self.find(work, &on)).collect()
    }

    pub(super) fn of(case: &Case<'_>, input: &Input<'_>) -> Self {
        let seconds = |event: Event| case.facts.cutter.seconds[event as usize];
        let mut jobs = Self::default();
        let batches = || input.batches.all.iter().enumerate().map(|(at, batch)| (On::Batch(at + 1), batch));
        for (on, batch) in batches() {
            let press = batch.strips.saturating_mul(seconds(Event::PressStrip));
            let before = jobs.before(Work::Press, batch.after.map(|after| On::Batch(after + 1)));
            jobs.add(Work::Press, on, press, before);
        }
        for (on, batch) in batches() {
            let square = batch.squarings.saturating_mul(seconds(Event::Square));
            let cut = batch.strips.saturating_mul(seconds(Event::CutStrip)).saturating_add(square);
            let mut before = jobs.before(Work::Press, [on.clone()]);
            before.extend(jobs.before(Work::Strips, batch.after.map(|after| On::Batch(after + 1))));
            jobs.add(Work::Strips, on, cut, before);
        }
        jobs.runs(case, input);
        // A bag to which nothing comes any more was checked before.
        for (at, bag) in input.bags.iter().enumerate() {
            let check = case.hall.check_line.saturating_mul(bag.lines.len() as u64);
            let cuts = input.lots.bags_of_run.iter().enumerate().filter(|(_, bags)| bags.contains(&at));
            let before = jobs.before(Work::LiftOut, cuts.map(|(run, _)| On::Run(run + 1)));
            if before.is_empty() {
                continue;
            }
            jobs.add(Work::CheckBags, On::Bag(at + 1), check, before);
        }
        jobs
    }

    fn runs(&mut self, case: &Case<'_>, input: &Input<'_>) {
        let seconds = |event: Event| case.facts.cutter.seconds[event as usize];
        let pieces = pieces(case, input);
        let runs = || input.runs.iter().enumerate().map(|(at, run)| (On::Run(at + 1), run));
        for (on, run) in runs() {
            // A tray that lies ready is not filled again; one of which a part does is filled up.
            let Some((standard, batches)) = fold(case, run, &pieces) else { continue };
            let before = self.before(Work::Strips, batches.into_iter().map(|batch| On::Batch(batch + 1)));
            self.add(Work::Fold, on, standard, before);
        }
        let pass = [Event::Crank, Event::TurnMat, Event::LiftOut].map(seconds);
        let pass = pass.into_iter().sum::<u64>() + case.hall.rest;
        for (on, run) in runs() {
            let before = self.before(Work::Fold, [on.clone()]);
            self.add(Work::Crank, on, run.passes.saturating_mul(pass), before);
        }
        for ((on, run), parts) in runs().zip(&input.lots.parts_of_run) {
            let count = run.passes.saturating_mul(seconds(Event::Count));
            let sort = parts.saturating_mul(case.hall.sort_part);
            let before = self.before(Work::Crank, [on.clone()]);
            self.add(Work::LiftOut, on, count.saturating_add(sort), before);
        }
    }
}

fn pieces<'a>(case: &Case<'a>, input: &Input<'_>) -> Pieces<'a> {
    let seconds = |event: Event| case.facts.cutter.seconds[event as usize];
    let mut pieces = Pieces::new();
    for strip in case.plan.fabrics.iter().flat_map(|fabric| &fabric.strips) {
        let batch = input.batches.of_strip.get(strip.name.as_str()).copied();
        for piece in &strip.pieces {
            let trim = if piece.width < strip.width { seconds(Event::Trim) } else { 0 };
            let lay = seconds(if piece.plies > 1 { Event::Fold } else { Event::Place });
            pieces.insert(&piece.name, (batch, seconds(Event::CrossCut) + trim + lay));
        }
    }
    pieces
}

/// Standard seconds of a run's fold task, and the batches that its strips come from; none if its tray is filled.
fn fold(case: &Case<'_>, run: &Resolved, pieces: &Pieces<'_>) -> Option<(u64, BTreeSet<usize>)> {
    let first = usize::try_from(run.first - 1).unwrap_or(usize::MAX);
    let count = usize::try_from(run.passes).unwrap_or(0);
    let ready = |pass: usize| case.rest.is_some_and(|rest| rest.ready.contains(&(run.layup, pass)));
    let passes = case.layups[run.layup].plan.passes.iter().enumerate().skip(first).take(count);
    let empty: Vec<_> = passes.filter(|(pass, _)| !ready(*pass)).map(|(_, pass)| pass).collect();
    if empty.is_empty() {
        return None;
    }
    let used = empty.into_iter().flatten().flatten().filter_map(|name| pieces.get(name.as_str()));
    let mut batches = BTreeSet::new();
    let standard = used.fold(0_u64, |sum, &(batch, seconds)| {
        batches.extend(batch);
        sum.saturating_add(seconds)
    });
    Some((standard, batches))
}
