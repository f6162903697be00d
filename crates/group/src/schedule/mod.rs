//! Stations and time: which sequence of runs lets the day end soonest.
//!
//! A sequence is turned into a schedule by placing run after run (`place`), or by giving out work as people become free
//! (`dispatch`); a search changes the sequence. What
//! the search compares is, in this order: bags open above the number asked for, runs until the urgent bags are full (above
//! what putting them first gives), the finish, what is still done shortly before it, changes of boards. `bound` proves how early a day can end at best.

pub(crate) mod bound;
mod dispatch;
pub(crate) mod hall;
pub(crate) mod place;
mod starts;
mod timeline;
pub(crate) mod trays;

use std::collections::BTreeSet;
use std::sync::Arc;

use patchlay_scenario::Job;
use patchlay_scenario::job::Group;
use patchlay_scenario::job::group::Helper;
use patchlay_scenario::spec::Work;
use rayon::prelude::*;

use crate::bags::{self, Part, Wants};
use crate::lots::Yield;
use crate::open;
use hall::{Hall, Shop, Sorting};
use place::{Of, Placed, Rule, Track};
pub(crate) use starts::starts;

/// Searches that run beside one another, each from another start.
const CHAINS: usize = 4;
/// Times that they all go on from the best of them, the first start included.
const STAGES: usize = 8;

/// What a sequence of runs is judged by.
pub(crate) struct Judge<'a> {
    pub(crate) group: &'a Group,
    pub(crate) lots: &'a [Yield],
    pub(crate) wants: &'a [Wants],
    /// Bags that have patches when the work begins, and get more.
    pub(crate) begun: &'a [usize],
    /// The hall's work; none without helpers.
    pub(crate) shop: &'a Shop,
    /// Runs within which the urgent bags are to be full: as many as it takes where theirs come first. To exchange pieces
    /// between runs so that it takes fewer still is not worth a later finish.
    pub(crate) urgent_by: u64,
    pub(crate) stop: &'a (dyn Fn() -> bool + Sync),
    /// The run of every lot.
    run_of: Vec<usize>,
    /// The lots of every kind that is wanted.
    of_kind: Vec<Vec<usize>>,
}

/// The lots of a kind in the order of work, and where they go.
#[derive(Debug)]
struct Divided {
    lots: Vec<usize>,
    parts: Vec<Part>,
}

/// What a sequence of runs means for the bags.
#[derive(Debug)]
pub(crate) struct Bagged {
    by_kind: Vec<Arc<Divided>>,
    /// Bags that each run cuts for, without the bag of spares.
    pub(crate) needs: Vec<Vec<usize>>,
    pub(crate) sorting: Sorting,
}

/// A rule and what comes of it.
#[derive(Clone, Debug)]
pub(crate) struct Found {
    pub(crate) score: Score,
    pub(crate) rule: Rule,
    /// Runs in the order of work: by when they are cranked.
    pub(crate) order: Vec<usize>,
    pub(crate) bagged: Arc<Bagged>,
    pub(crate) track: Track,
}

impl Bagged {
    /// Where everything goes.
    pub(crate) fn parts(&self) -> impl Iterator<Item = &Part> {
        self.by_kind.iter().flat_map(|kind| &kind.parts)
    }
}

impl Found {
    /// The place of every run in the order of work.
    pub(crate) fn rank(&self) -> Vec<usize> {
        let mut rank = vec![0; self.order.len()];
        for (at, &run) in self.order.iter().enumerate() {
            rank[run] = at;
        }
        rank
    }

    /// Batches in the order in which they are cut.
    pub(crate) fn cut_order(&self, batches: usize) -> Vec<usize> {
        let mut cut = vec![u64::MAX; batches];
        for task in self.track.tasks.iter().filter(|task| task.work == Work::Strips) {
            if let Of::Batch(batch) = task.of {
                cut[batch] = task.start;
            }
        }
        let mut order: Vec<usize> = (0..batches).collect();
        order.sort_by_key(|&batch| (cut[batch], batch));
        order
    }

    /// The run that ends last, or of those that the bag that ends last needs.
    fn last_run(&self) -> Option<usize> {
        let tasks = &self.track.tasks;
        let last = tasks.iter().max_by_key(|task| task.end)?;
        let counted = |run: &usize| {
            let counts = tasks.iter().filter(|task| task.work == Work::LiftOut);
            counts.filter(|task| task.of == Of::Run(*run)).map(|task| task.end).max()
        };
        match last.of {
            Of::Bag(bag) => self.bagged.sorting.bags[bag].0.iter().copied().max_by_key(counted),
            Of::Run(run) => Some(run),
            Of::Batch(_) => None,
        }
    }

    /// The run that some bag waited for that is checked in the last part of the day.
    fn late_bag(&self, random: &mut Random) -> Option<usize> {
        let from = self.score.finish - self.score.finish / LAST_PART;
        let late = self.track.tasks.iter().filter(|task| task.end > from);
        let bags = late.filter_map(|task| match task.of {
            Of::Bag(bag) => Some(bag),
            Of::Run(_) | Of::Batch(_) => None,
        });
        let bags: Vec<usize> = bags.collect();
        let bag = *bags.get(random.below(bags.len()))?;
        let counts = self.track.tasks.iter().filter(|task| task.work == Work::LiftOut);
        let counts = counts.filter_map(|task| match task.of {
            Of::Run(run) => Some((task.end, run)),
            Of::Batch(_) | Of::Bag(_) => None,
        });
        let of_bag = &self.bagged.sorting.bags[bag].0;
        counts.filter(|(_, run)| of_bag.binary_search(run).is_ok()).max().map(|(_, run)| run)
    }
}

/// What sequences are compared by, the first figure first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Score {
    /// Whether the helpers' hours do not suffice.
    pub(crate) late: bool,
    /// Bags open above the number asked for.
    pub(crate) above: u64,
    /// Runs until the urgent bags are full above the number aimed at.
    pub(crate) urgent_over: u64,
    pub(crate) finish: u64,
    /// How far tasks reach into the last part of the day, in seconds added up: what reaches less can end sooner next.
    pub(crate) strain: u64,
    pub(crate) changes: u64,
    pub(crate) open: u64,
    pub(crate) parts: u64,
    pub(crate) urgent_after: u64,
}

impl Score {
    /// Whether it is better by more than a tenth of the finish, or by anything that comes before the finish.
    fn clearly_before(&self, other: &Self) -> bool {
        self.first() < other.first() || self.sooner(other, 10)
    }

    /// Whether the day ends sooner by more than one in so many, and nothing that comes before the finish is worse.
    fn sooner(&self, other: &Self, one_in: u64) -> bool {
        let sooner = other.finish.saturating_sub(self.finish);
        self.first() <= other.first() && sooner.saturating_mul(one_in) > other.finish
    }

    fn first(&self) -> (bool, u64, u64) {
        (self.late, self.above, self.urgent_over)
    }
}

impl<'a> Judge<'a> {
    /// A judge who asks for nothing of urgent bags yet.
    pub(crate) fn new(
        group: &'a Group,
        lots: &'a [Yield],
        (wants, begun): (&'a [Wants], &'a [usize]),
        shop: &'a Shop,
        stop: &'a (dyn Fn() -> bool + Sync),
    ) -> Self {
        let mut of_kind = vec![Vec::new(); wants.len()];
        for (at, lot) in lots.iter().enumerate() {
            if let Ok(kind) = wants.binary_search_by_key(&lot.kind, |want| want.kind) {
                of_kind[kind].push(at);
            }
        }
        let run_of = lots.iter().map(|lot| shop.run_of(lot)).collect();
        Self { group, lots, wants, begun, shop, urgent_by: 0, stop, run_of, of_kind }
    }
}

impl Judge<'_> {
    /// Divides what is cut among the bags, runs in this sequence. What was divided before, lots in the same order, stays.
    fn bagged(&self, sequence: &[usize], before: Option<&Bagged>) -> Bagged {
        let mut rank = vec![0; self.shop.runs.len()];
        for (at, &run) in sequence.iter().enumerate() {
            rank[run] = at;
        }
        let divided = |kind: usize| {
            let before = before.map(|before| &before.by_kind[kind]);
            let mut lots = before.map_or(&self.of_kind[kind], |before| &before.lots).clone();
            lots.sort_by_key(|&lot| (rank[self.run_of[lot]], lot));
            if let Some(before) = before.filter(|before| before.lots == lots) {
                return Arc::clone(before);
            }
            let stacks: Vec<bags::Stack> =
                lots.iter().map(|&lot| (lot, self.run_of[lot], self.lots[lot].patches)).collect();
            Arc::new(Divided { lots, parts: bags::divide(&stacks, &self.wants[kind]) })
        };
        let by_kind: Vec<Arc<Divided>> = (0..self.wants.len()).map(divided).collect();
        let parts = || by_kind.iter().flat_map(|kind| &kind.parts);
        let needs = self.needs(parts());
        let sorting = Sorting::of(self.group, &self.run_of, self.shop.runs.len(), self.wants, parts());
        Bagged { by_kind, needs, sorting }
    }

    /// What comes of a rule.
    pub(crate) fn judge(&self, hall: &Hall, rule: &Rule) -> Found {
        let bagged = Arc::new(self.bagged(&rule.sequence, None));
        self.placed(hall, rule, bagged, (&Track::default(), 0))
    }

    /// What comes of a rule that was made from another, in the same hall.
    fn changed(&self, hall: &Hall, found: &Found, rule: &Rule) -> Found {
        let bagged = if rule.sequence == found.rule.sequence {
            Arc::clone(&found.bagged)
        } else {
            Arc::new(self.bagged(&rule.sequence, Some(&found.bagged)))
        };
        let same = place::same_places((rule, &found.rule), (&bagged.sorting, &found.bagged.sorting));
        self.placed(hall, rule, bagged, (&found.track, same))
    }

    fn placed(&self, hall: &Hall, rule: &Rule, bagged: Arc<Bagged>, from: (&Track, usize)) -> Found {
        let sequence = &rule.sequence;
        let Bagged { needs, sorting, .. } = &*bagged;
        let track = if hall.helpers.is_empty() {
            Some(Track::default())
        } else if rule.at_once {
            dispatch::dispatch(hall, self.shop, sorting, rule).map(|tasks| Track { tasks, marks: Vec::new() })
        } else {
            place::place(hall, self.shop, sorting, rule, from)
        };
        let late = track.is_none();
        let track = track.unwrap_or_default();
        let tasks = &track.tasks;
        let order = order(tasks, sequence);
        let open = self.most_open(needs, &order);
        let finish = tasks.iter().map(|task| task.end).max().unwrap_or(0);
        let from = finish - finish / LAST_PART;
        let strain = tasks.iter().map(|task| task.end.saturating_sub(from)).sum();
        let urgent_after = self.urgent_after(needs, &order);
        let score = Score {
            late,
            above: self.limit().map_or(0, |most| open.saturating_sub(most)),
            urgent_over: urgent_after.saturating_sub(self.urgent_by),
            urgent_after,
            finish,
            strain,
            changes: changes(self.shop, tasks, &order),
            open,
            parts: bagged.by_kind.iter().map(|kind| kind.parts.len() as u64).sum(),
        };
        Found { score, rule: rule.clone(), order, bagged, track }
    }

    /// Bags that each run cuts for, without the bag of spares.
    fn needs<'p>(&self, parts: impl Iterator<Item = &'p Part>) -> Vec<Vec<usize>> {
        let mut needs: Vec<Vec<usize>> = vec![Vec::new(); self.shop.runs.len()];
        for &(lot, bag, _) in parts.filter(|part| part.1 < self.group.bags.len()) {
            needs[self.run_of[lot]].push(bag);
        }
        for bags in &mut needs {
            bags.sort_unstable();
            bags.dedup();
        }
        needs
    }

    /// Most bags open at a time; those that were begun before are open from the start.
    fn most_open(&self, needs: &[Vec<usize>], order: &[usize]) -> u64 {
        if self.begun.is_empty() {
            return open::most_open(needs, order) as u64;
        }
        let mut all = needs.to_vec();
        all.push(self.begun.to_vec());
        let mut order = order.to_vec();
        order.insert(0, needs.len());
        open::most_open(&all, &order) as u64
    }

    /// Most bags that may be open at a time; never fewer than are open already.
    pub(crate) fn limit(&self) -> Option<u64> {
        self.group.most_open.map(|most| u64::from(most).max(self.begun.len() as u64))
    }

    fn urgent_after(&self, needs: &[Vec<usize>], order: &[usize]) -> u64 {
        let urgent = |&run: &usize| needs[run].iter().any(|&bag| self.group.bags[bag].urgent);
        order.iter().rposition(urgent).map_or(0, |last| last as u64 + 1)
    }

    /// The best sequence that a search of so many rounds finds. Chains begin at several starts; from time to time all go on
    /// from the best.
    pub(crate) fn search(&self, hall: &Hall, starts: &[Rule], rounds: u64, seed: u64) -> Found {
        let starts = starts.get(..CHAINS).unwrap_or(starts);
        let mut found: Vec<Found> = starts.par_iter().map(|start| self.judge(hall, start)).collect();
        for stage in 0..STAGES {
            let chain = |chain: usize| {
                let start = found[chain % found.len()].clone();
                let turn = (stage * CHAINS + chain + 1) as u64;
                self.chain(
                    hall,
                    start,
                    rounds / (STAGES * CHAINS) as u64,
                    seed ^ turn.wrapping_mul(0x9e37_79b9_7f4a_7c15),
                )
            };
            found = (0..CHAINS).into_par_iter().map(chain).collect();
            if let Some(best) = (0..CHAINS).min_by_key(|&at| found[at].score) {
                found = vec![found.swap_remove(best)];
            }
        }
        found.swap_remove(0)
    }

    fn chain(&self, hall: &Hall, start: Found, rounds: u64, seed: u64) -> Found {
        let mut best = start;
        let mut random = Random(seed);
        for _ in 0..rounds {
            if (self.stop)() {
                break;
            }
            let mut next = best.rule.clone();
            if random.below(100) < HOT {
                self.hasten(&best, &mut next, &mut random);
            } else {
                self.change(hall, &mut next, &mut random);
            }
            if next == best.rule {
                continue;
            }
            let found = self.changed(hall, &best, &next);
            if found.score <= best.score {
                best = found;
            }
        }
        best
    }
}

impl Judge<'_> {
    /// Moves the run that the last task waited for, or a bag that is checked late, forwards, or one shortly before it behind
    /// it.
    fn hasten(&self, best: &Found, rule: &mut Rule, random: &mut Random) {
        let (fixed, all) = (self.shop.proof, rule.sequence.len());
        let waited = if random.below(2) == 0 { best.last_run() } else { best.late_bag(random) };
        let waited_for = waited.and_then(|run| rule.sequence.iter().position(|&at| at == run));
        let Some(at) = waited_for.filter(|at| *at >= fixed) else { return };
        let reach = if random.below(3) == 0 { FAR } else { NEAR };
        let before = at.saturating_sub(1 + random.below(reach)).max(fixed);
        let (from, to) =
            if random.below(2) == 0 { (at, before) } else { (before, at + random.below(all - at)) };
        let run = rule.sequence.remove(from);
        rule.sequence.insert(to, run);
    }
}

/// How many changes in a hundred concern the run that the last task waited for, and how far they reach.
const HOT: usize = 30;
const NEAR: usize = 20;
const FAR: usize = 200;
/// The last part of the day is a sixteenth of it.
const LAST_PART: u64 = 16;
/// Runs up to which single tasks are settled.
const MOST_SETTLED: usize = 100;
/// By how many runs counting is put off at most.
const MOST_LATER: usize = 3;
/// Seconds that are tried by which a run comes later for which the board has to be changed.
const KEEPS: [u64; 6] = [0, 60, 300, 600, 1_200, 3_600];
/// Seconds of reluctance that are tried.
const RELUCTANCE: [u64; 6] = [0, 60, 300, 1_200, 3_600, 20_000];

impl Judge<'_> {
    /// A small change: a run moved, two runs exchanged, one helper's reluctance to do one kind of work, or who does a task.
    fn change(&self, hall: &Hall, rule: &mut Rule, random: &mut Random) {
        let (fixed, all) = (self.shop.proof, rule.sequence.len());
        let several: Vec<usize> =
            (0..hall.helpers.len()).filter(|&at| hall.helpers[at].can.len() > 1).collect();
        // Who does one task matters where tasks are few.
        let kind = random.below(if all <= MOST_SETTLED { 8 } else { 5 });
        if kind >= 6 && !several.is_empty() {
            self.settle(hall, rule, random);
            return;
        }
        if kind >= 4 && rule.at_once && random.below(8) == 0 {
            rule.keep = KEEPS[random.below(KEEPS.len())];
            return;
        }
        if kind >= 4 {
            rule.later[random.below(all)] = random.below(MOST_LATER + 1);
            return;
        }
        if (kind == 0 || all < fixed + 2) && !several.is_empty() {
            let helper = several[random.below(several.len())];
            let can = &hall.helpers[helper].can;
            let work = can[random.below(can.len())];
            rule.reluctance[helper][work as usize] = RELUCTANCE[random.below(RELUCTANCE.len())];
            return;
        }
        if all < fixed + 2 {
            return;
        }
        let from = fixed + random.below(all - fixed);
        let to = fixed + random.below(all - fixed);
        if kind == 1 {
            rule.sequence.swap(from, to);
        } else {
            let run = rule.sequence.remove(from);
            rule.sequence.insert(to, run);
        }
    }
}

impl Judge<'_> {
    /// Settles who does a task, or leaves it open again.
    fn settle(&self, hall: &Hall, rule: &mut Rule, random: &mut Random) {
        let able =
            |work: Work| (0..hall.helpers.len()).filter(move |&at| hall.helpers[at].can.contains(&work));
        let open: Vec<Work> = Work::ALL.into_iter().filter(|&work| able(work).nth(1).is_some()).collect();
        let Some(&work) = open.get(random.below(open.len())) else { return };
        let all = match work {
            Work::Press | Work::Strips => self.shop.batches.len(),
            Work::Fold | Work::Crank | Work::LiftOut => self.shop.runs.len(),
            Work::CheckBags => self.group.bags.len() + 1,
        };
        let task = (work, random.below(all));
        if random.below(3) == 0 {
            let _ = rule.settled.remove(&task);
        } else if let Some(helper) = able(work).nth(random.below(able(work).count())) {
            let _ = rule.settled.insert(task, helper);
        }
    }
}

/// Runs by when they are cranked, else as they stand.
fn order(tasks: &[Placed], sequence: &[usize]) -> Vec<usize> {
    let mut cranked: Vec<(u64, usize, usize)> = Vec::new();
    for task in tasks.iter().filter(|task| task.work == Work::Crank) {
        if let Of::Run(run) = task.of {
            let turn = sequence.iter().position(|&at| at == run).unwrap_or(0);
            cranked.push((task.start, turn, run));
        }
    }
    if cranked.len() < sequence.len() {
        return sequence.to_vec();
    }
    cranked.sort_unstable();
    cranked.into_iter().map(|(.., run)| run).collect()
}

/// Changes of boards: station by station, or from run to run without a schedule.
fn changes(shop: &Shop, tasks: &[Placed], order: &[usize]) -> u64 {
    let mut at: Vec<Cranked> = Vec::new();
    for task in tasks {
        if let (Some((station, copy)), Of::Run(run)) = (task.at, task.of) {
            at.push(Cranked { station, board: (shop.runs[run].board, copy), start: task.start, run });
        }
    }
    if at.is_empty() {
        let boards: Vec<usize> = order.iter().map(|&run| shop.runs[run].board).collect();
        let changed = boards.windows(2).filter(|two| two[0] != two[1]).count();
        return changed as u64 + u64::from(!boards.is_empty());
    }
    // A board stays on where it was last, if nothing else was put on there since.
    let pairs = |key: &dyn Fn(&Cranked) -> (usize, u32)| {
        let mut row: Vec<((usize, u32), u64, usize)> =
            at.iter().map(|one| (key(one), one.start, one.run)).collect();
        row.sort_unstable();
        let next = row.windows(2).filter(|two| two[0].0 == two[1].0).map(|two| (two[0].2, two[1].2));
        next.collect::<BTreeSet<(usize, usize)>>()
    };
    let at_station = pairs(&|one| (one.station, 0));
    let of_copy = pairs(&|one| one.board);
    at.len() as u64 - at_station.intersection(&of_copy).count() as u64
}

/// A run on a station with a board and copy.
struct Cranked {
    station: usize,
    board: (usize, u32),
    start: u64,
    run: usize,
}

/// A hall with one more of something, in words.
pub(crate) fn one_more(job: &Job, hall: &Hall, shop: &Shop) -> Vec<(String, Hall)> {
    let with = |change: &dyn Fn(&mut Hall)| {
        let mut more = hall.clone();
        change(&mut more);
        more
    };
    let mut all = Vec::new();
    for (at, class) in hall.classes.iter().enumerate() {
        let what = format!("one more cutter like the {}", class.name);
        all.push((what, with(&|hall| hall.classes[at].number += 1)));
        let helper = helper(Work::Crank);
        let what = format!("one more cutter like the {}, with someone to crank it", class.name);
        all.push((
            what,
            with(&|hall| {
                hall.classes[at].number += 1;
                hall.helpers.push(helper.clone());
            }),
        ));
    }
    for work in Work::ALL {
        let what = format!("one more helper to {}", does(work));
        all.push((what, with(&|hall| hall.helpers.push(helper(work)))));
    }
    all.push(("one more iron".to_owned(), with(&|hall| hall.irons += 1)));
    all.push(("one more ruler".to_owned(), with(&|hall| hall.rulers += 1)));
    all.push(("one more table".to_owned(), with(&|hall| hall.tables += 1)));
    for board in shop.boards() {
        let what = format!("one more copy of {}", job.boards[board].name);
        all.push((what, with(&|hall| hall.copies[board] += 1)));
    }
    for (kind, mat) in job.cutter.mats.iter().enumerate() {
        if shop.runs.iter().any(|run| run.mats.iter().any(|used| used.0 == kind)) {
            all.push((format!("one more {}", mat.name), with(&|hall| hall.mats[kind] += 1)));
        }
    }
    all
}

fn helper(work: Work) -> Helper {
    Helper { name: String::new(), can: vec![work], speed_percent: 100, from: 0, to: None }
}

/// A small generator (a 64-bit linear congruential one with the multiplier of Knuth's MMIX, from memory): sequences
/// need variety, not quality.
struct Random(u64);

impl Random {
    fn below(&mut self, below: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        usize::try_from((self.0 >> 33) % below.max(1) as u64).unwrap_or(0)
    }
}

/// Why some of the work can be done by nobody, where people are listed.
pub(crate) fn lacking(hall: &Hall, shop: &Shop) -> Vec<String> {
    if hall.helpers.is_empty() || shop.runs.is_empty() {
        return Vec::new();
    }
    let nobody = |work: &Work| !hall.helpers.iter().any(|helper| helper.can.contains(work));
    let needed = |work: &Work| match work {
        Work::Press | Work::Strips => !shop.batches.is_empty(),
        Work::Fold => shop.runs.iter().any(|run| run.tray.is_some()),
        Work::Crank | Work::LiftOut | Work::CheckBags => true,
    };
    let says = |work: Work| {
        format!(
            "nobody who is there can {}: let someone else do it, and say so in the scenario or, on the day, with \
             'patchlay record PLAN helper'",
            does(work)
        )
    };
    Work::ALL.into_iter().filter(|work| needed(work) && nobody(work)).map(says).collect()
}

/// What a helper does, in words.
pub(crate) fn does(work: Work) -> &'static str {
    match work {
        Work::Press => "press",
        Work::Strips => "cut strips",
        Work::Fold => "fold",
        Work::Crank => "crank",
        Work::LiftOut => "count and sort",
        Work::CheckBags => "check bags",
    }
}
