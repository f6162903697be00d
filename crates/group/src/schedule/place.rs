//! From a sequence of runs to a schedule: run after run, every task at the earliest time at which a helper who
//! can do it and everything it needs are free (a serial schedule generation scheme). The helper with the earliest end is
//! taken, of equal ones the one who can do least else. Who can do several kinds of work is often better kept for one of
//! them: a reluctance, in seconds for every helper and kind of work, is added to the end when helpers are compared.

use std::collections::BTreeMap;

use patchlay_scenario::spec::Work;

use super::hall::{Hall, Shop, Sorting};
use super::timeline::Timeline;

/// What a task is on, by index.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Of {
    Batch(usize),
    Run(usize),
    Bag(usize),
}

/// A task in its place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Placed {
    pub(crate) work: Work,
    pub(crate) of: Of,
    pub(crate) helper: usize,
    /// Station, and copy of the board from 0.
    pub(crate) at: Option<(usize, u32)>,
    pub(crate) start: u64,
    pub(crate) end: u64,
}

/// What helpers share.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Shared {
    Iron,
    Ruler,
    Table,
}

fn shared(work: Work) -> &'static [Shared] {
    match work {
        Work::Press => &[Shared::Iron],
        Work::Strips => &[Shared::Ruler, Shared::Table],
        Work::Fold => &[Shared::Ruler, Shared::Table],
        Work::Crank => &[],
        Work::LiftOut | Work::CheckBags => &[Shared::Table],
    }
}

struct Station {
    class: usize,
    free: u64,
    /// Board and copy on it.
    has: Option<(usize, u32)>,
}

/// Where a run could be cranked.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Choice {
    /// End with the helper's reluctance.
    felt: u64,
    end: u64,
    changes: bool,
    can_do: usize,
    start: u64,
    helper: usize,
    station: usize,
    copy: u32,
}

/// Runs in sequence, how reluctant helpers are to do some kinds of work (seconds; by helper, by kind), and who does a task
/// in any case.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Rule {
    pub(crate) sequence: Vec<usize>,
    pub(crate) reluctance: Vec<[u64; 6]>,
    pub(crate) settled: BTreeMap<(Work, usize), usize>,
}

impl Rule {
    /// A sequence without any reluctance.
    pub(crate) fn plain(hall: &Hall, sequence: Vec<usize>) -> Self {
        Self { sequence, reluctance: vec![[0; 6]; hall.helpers.len()], settled: BTreeMap::new() }
    }
}

/// A schedule under construction.
pub(crate) struct Placing<'a> {
    hall: &'a Hall,
    shop: &'a Shop,
    rule: &'a Rule,
    helpers: Vec<Timeline>,
    irons: Timeline,
    rulers: Timeline,
    tables: Timeline,
    trays: Timeline,
    mats: Vec<Timeline>,
    stations: Vec<Station>,
    /// When each copy of each board is free.
    copies: Vec<Vec<u64>>,
    /// When each batch of strips is cut.
    cut: Vec<Option<u64>>,
    pub(crate) tasks: Vec<Placed>,
}

/// The schedule of a sequence of runs; `None` if the helpers' hours do not suffice.
pub(crate) fn place(hall: &Hall, shop: &Shop, sorting: &Sorting, rule: &Rule) -> Option<Vec<Placed>> {
    let stations = hall.stations().into_iter().map(|(class, _)| Station { class, free: 0, has: None });
    let mut placing = Placing {
        hall,
        shop,
        rule,
        helpers: vec![Timeline::default(); hall.helpers.len()],
        irons: Timeline::default(),
        rulers: Timeline::default(),
        tables: Timeline::default(),
        trays: Timeline::default(),
        mats: vec![Timeline::default(); hall.mats.len()],
        stations: stations.collect(),
        copies: hall.copies.iter().map(|&copies| vec![0; copies as usize]).collect(),
        cut: vec![None; shop.batches.len()],
        tasks: Vec::new(),
    };
    // For every run its bags, for every bag how many runs are still to be counted and when the last of the others was.
    let mut bags_of: Vec<Vec<usize>> = vec![Vec::new(); shop.runs.len()];
    for (bag, (runs, _)) in sorting.bags.iter().enumerate() {
        runs.iter().for_each(|&run| bags_of[run].push(bag));
    }
    let mut open: Vec<(usize, u64)> = sorting.bags.iter().map(|(runs, _)| (runs.len(), 0)).collect();
    for &run in &rule.sequence {
        let counted = placing.run(run, sorting.runs[run])?;
        for &bag in &bags_of[run] {
            let (left, ready) = &mut open[bag];
            (*left, *ready) = (*left - 1, counted.max(*ready));
            if *left == 0 {
                let ready = *ready;
                placing.task(Work::CheckBags, Of::Bag(bag), sorting.bags[bag].1, ready)?;
            }
        }
    }
    Some(placing.tasks)
}

impl Placing<'_> {
    fn line(&mut self, what: Shared) -> (&mut Timeline, u32) {
        match what {
            Shared::Iron => (&mut self.irons, self.hall.irons),
            Shared::Ruler => (&mut self.rulers, self.hall.rulers),
            Shared::Table => (&mut self.tables, self.hall.tables),
        }
    }

    /// The earliest time from `from` at which a helper and what the work needs are free for so long.
    fn earliest(&self, helper: usize, work: Work, from: u64, long: u64) -> Option<u64> {
        let who = &self.hall.helpers[helper];
        let mut start = from.max(who.from);
        loop {
            let mut next = self.helpers[helper].free(1, 1, start, long);
            for what in shared(work) {
                let (line, all) = match what {
                    Shared::Iron => (&self.irons, self.hall.irons),
                    Shared::Ruler => (&self.rulers, self.hall.rulers),
                    Shared::Table => (&self.tables, self.hall.tables),
                };
                next = next.max(line.free(all, 1, next, long));
            }
            if who.to.is_some_and(|to| next + long > to) {
                return None;
            }
            if next == start {
                return Some(start);
            }
            start = next;
        }
    }

    /// The best helper for a piece of work: (end, start, helper).
    fn best(&self, work: Work, of: Of, standard: u64, from: u64) -> Option<(u64, u64, usize)> {
        let able = self.hall.helpers.iter().enumerate().filter(|(at, helper)| {
            helper.can.contains(&work) && self.settled(work, of).is_none_or(|settled| settled == *at)
        });
        let choices = able.filter_map(|(at, helper)| {
            let long = helper.seconds(standard, self.hall.slack);
            let start = self.earliest(at, work, from, long)?;
            let end = start + long;
            Some((end + self.reluctance(at, work), helper.can.len(), start, end, at))
        });
        choices.min().map(|(_, _, start, end, helper)| (end, start, helper))
    }

    fn settled(&self, work: Work, of: Of) -> Option<usize> {
        let (Of::Batch(at) | Of::Run(at) | Of::Bag(at)) = of;
        self.rule.settled.get(&(work, at)).copied()
    }

    fn reluctance(&self, helper: usize, work: Work) -> u64 {
        self.rule.reluctance.get(helper).map_or(0, |kinds| kinds[work as usize])
    }

    fn take(&mut self, work: Work, helper: usize, start: u64, end: u64) {
        self.helpers[helper].take(1, start, end);
        for &what in shared(work) {
            self.line(what).0.take(1, start, end);
        }
    }

    fn task(&mut self, work: Work, of: Of, standard: u64, from: u64) -> Option<u64> {
        let (end, start, helper) = self.best(work, of, standard, from)?;
        self.take(work, helper, start, end);
        self.tasks.push(Placed { work, of, helper, at: None, start, end });
        Some(end)
    }

    /// Places everything of a run; the time when it is counted.
    fn run(&mut self, run_id: usize, sorting: u64) -> Option<u64> {
        let run = &self.shop.runs[run_id];
        let mut ready = 0;
        for &batch in &run.batches {
            let cut = match self.cut[batch] {
                Some(cut) => cut,
                None => {
                    let Some(work) = self.shop.batches.get(batch) else { continue };
                    let pressed = self.task(Work::Press, Of::Batch(batch), work.press, 0)?;
                    let cut = self.task(Work::Strips, Of::Batch(batch), work.cut, pressed)?;
                    self.cut[batch] = Some(cut);
                    cut
                }
            };
            ready = ready.max(cut);
        }
        let (tray, choice) = self.tray_and_run(run_id, ready)?;
        let (filled, start, helper) = tray;
        self.take(Work::Fold, helper, start, filled);
        let of = Of::Run(run_id);
        self.tasks.push(Placed { work: Work::Fold, of, helper, at: None, start, end: filled });
        self.trays.take(1, filled, choice.start);
        self.crank(run_id, choice);
        self.task(Work::LiftOut, of, run.count + sorting, choice.end)
    }

    /// When the tray is filled and where the run is cranked: as early as can be with no more trays waiting than may.
    fn tray_and_run(&self, run_id: usize, ready: u64) -> Option<((u64, u64, usize), Choice)> {
        let run = &self.shop.runs[run_id];
        let mut from = ready;
        loop {
            let tray = self.best(Work::Fold, Of::Run(run_id), run.tray, from)?;
            let choice = self.where_to_crank(run_id, tray.0)?;
            let waits = choice.start - tray.0;
            let place = if waits == 0 { tray.0 } else { self.trays.free(self.hall.trays, 1, tray.0, waits) };
            if place == tray.0 {
                return Some((tray, choice));
            }
            // A tray filled later waits less long; it is filled when another has gone.
            from = from.max(tray.1) + (place - tray.0).max(1);
        }
    }

    fn where_to_crank(&self, run_id: usize, from: u64) -> Option<Choice> {
        let run = &self.shop.runs[run_id];
        let mut best: Option<Choice> = None;
        for (at, station) in self.stations.iter().enumerate().filter(|(_, s)| run.classes[s.class]) {
            for (copy, &free) in (0_u32..).zip(&self.copies[run.board]) {
                let changes = station.has != Some((run.board, copy));
                let standard = run.crank + if changes { self.shop.change } else { 0 };
                let from = from.max(station.free).max(free);
                for (helper, who) in self.hall.helpers.iter().enumerate() {
                    let settled = self.settled(Work::Crank, Of::Run(run_id));
                    if !who.can.contains(&Work::Crank) || settled.is_some_and(|settled| settled != helper) {
                        continue;
                    }
                    let long = who.seconds(standard, self.hall.slack);
                    let Some(start) = self.with_mats(helper, run, from, long) else { continue };
                    let can_do = who.can.len();
                    let end = start + long;
                    let felt = end + self.reluctance(helper, Work::Crank);
                    let choice = Choice { felt, end, changes, can_do, start, helper, station: at, copy };
                    best = Some(best.map_or(choice, |best| best.min(choice)));
                }
            }
        }
        best
    }

    fn with_mats(&self, helper: usize, run: &super::hall::Run, from: u64, long: u64) -> Option<u64> {
        let mut start = from;
        loop {
            let mut next = self.earliest(helper, Work::Crank, start, long)?;
            for &(kind, count) in &run.mats {
                next = next.max(self.mats[kind].free(self.hall.mats[kind], count, next, long));
            }
            if next >= u64::MAX / 8 {
                return None;
            }
            if next == start {
                return Some(start);
            }
            start = next;
        }
    }

    fn crank(&mut self, run_id: usize, choice: Choice) {
        let run = &self.shop.runs[run_id];
        let Choice { start, end, helper, station, copy, .. } = choice;
        self.take(Work::Crank, helper, start, end);
        for &(kind, count) in &run.mats {
            self.mats[kind].take(count, start, end);
        }
        self.stations[station].free = end;
        self.stations[station].has = Some((run.board, copy));
        self.copies[run.board][copy as usize] = end;
        let of = Of::Run(run_id);
        self.tasks.push(Placed { work: Work::Crank, of, helper, at: Some((station, copy)), start, end });
    }
}
