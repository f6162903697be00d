//! Sequences to start a search from.

use patchlay_scenario::spec::Work;
use rayon::prelude::*;

use super::hall::{Hall, Shop, Sorting};
use super::place::Rule;
use super::{Found, Judge, Score};
use crate::open;

/// Rules to start from, the best first: sequences with a slow end of several kinds, with few bags open, with few new
/// strips at a time, each with and without reluctance, and placed in both ways. The proof block comes first, then urgent bags; how soon these are
/// full at best is what the search has to keep to.
pub(crate) fn starts(judge: &mut Judge<'_>, hall: &Hall) -> Vec<Rule> {
    let shop = judge.shop;
    let planned: Vec<usize> = (0..shop.runs.len()).collect();
    let first = shop.proof.min(planned.len());
    let steady = crate::supply::few_new_strips(shop);
    let needs = judge.judge(hall, &Rule::plain(hall, steady.clone())).bagged;
    let needs = &needs.needs;
    let urgent = |run: usize| needs[run].iter().any(|&bag| judge.group.bags[bag].urgent);
    let class = |run: usize| if run < first { 0 } else { 1 + u8::from(!urgent(run)) };
    let urgent_first = |mut sequence: Vec<usize>| {
        sequence.sort_by_key(|&run| class(run));
        sequence
    };
    let few_open = open::fewest_open(needs).order.unwrap_or(planned);
    let mut sequences = vec![urgent_first(few_open), urgent_first(steady)];
    for busiest in [false, true] {
        let strain = Strain::of(judge, hall, busiest);
        for checks in [false, true] {
            sequences.extend(SHARES.map(|power| slow_end(judge, &strain, checks, power, &class)));
        }
    }
    let reluctance = by_quota(hall, shop, &judge.bagged(&sequences[0], None).sorting);
    let plain = sequences.into_iter().map(|sequence| Rule::plain(hall, sequence));
    let rules = plain.flat_map(|rule| {
        let loath = Rule { reluctance: reluctance.clone(), ..rule.clone() };
        let dispatched = |rule: &Rule, keep| Rule { at_once: true, keep, ..rule.clone() };
        let at_once = KEEPS.map(|keep| [dispatched(&loath, keep), dispatched(&rule, keep)]);
        at_once.into_iter().flatten().chain([loath, rule]).collect::<Vec<_>>()
    });
    let mut starts: Vec<Found> =
        rules.collect::<Vec<_>>().par_iter().map(|rule| judge.judge(hall, rule)).collect();
    // All of them put what is urgent first; the one that ends soonest says how soon it is full.
    let soonest = starts.iter().map(|found| &found.score);
    let soonest = soonest.min_by_key(|score| (score.late, score.above, score.finish, score.urgent_after));
    judge.urgent_by = soonest.map_or(0, |score| score.urgent_after);
    let order = |found: &Found| Score {
        urgent_over: found.score.urgent_after.saturating_sub(judge.urgent_by),
        ..found.score
    };
    starts.sort_by_key(order);
    starts.into_iter().map(|found| found.rule).collect()
}

/// How much later a run comes for which the board has to be changed, in seconds.
const KEEPS: [u64; 2] = [0, 600];

/// How strips that several runs need count for each of them: the time for them divided by this power of the number of runs;
/// with the last, next to nothing where there are two.
const SHARES: [u32; 4] = [1, 2, 3, 20];

/// What runs and batches ask of the hall, in parts of a second of all who can do it.
struct Strain {
    batches: Vec<u128>,
    runs: Vec<u128>,
    /// To check each bag.
    bags: Vec<u128>,
}

impl Strain {
    /// By all kinds of work; or, before and after the tray is begun, by the one that takes longest.
    fn of(judge: &Judge<'_>, hall: &Hall, busiest: bool) -> Self {
        let pace = Work::ALL.map(|work| {
            let able = hall.helpers.iter().filter(|helper| helper.can.contains(&work));
            able.map(|helper| u64::from(helper.speed_percent)).sum::<u64>().max(1)
        });
        let takes = |work: Work, standard: u64| u128::from(standard * 100_000 / pace[work as usize]);
        let batches = judge.shop.batches.iter();
        let batches =
            batches.map(|batch| vec![takes(Work::Press, batch.press), takes(Work::Strips, batch.cut)]);
        let runs = judge.shop.runs.iter().map(|run| {
            let tray = run.tray.unwrap_or(0);
            vec![takes(Work::Fold, tray), takes(Work::Crank, run.crank), takes(Work::LiftOut, run.count)]
        });
        let mut lines = vec![0; judge.group.bags.len() + 1];
        for &(bag, needed, spare) in judge.wants.iter().flat_map(|want| &want.bags) {
            lines[bag] += u64::from(needed + spare > 0);
        }
        let check = u64::from(judge.group.check_line);
        Self {
            batches: felt(batches.collect(), busiest),
            runs: felt(runs.collect(), busiest),
            bags: lines.into_iter().map(|lines| takes(Work::CheckBags, lines * check)).collect(),
        }
    }
}

/// The sums of rows, or their values in the column that has the greatest sum.
fn felt(rows: Vec<Vec<u128>>, busiest: bool) -> Vec<u128> {
    let columns = rows.first().map_or(0, Vec::len);
    let column = (0..columns).max_by_key(|&column| rows.iter().map(|row| row[column]).sum::<u128>());
    let of = |row: Vec<u128>| match column.filter(|_| busiest) {
        Some(column) => row[column],
        None => row.into_iter().sum(),
    };
    rows.into_iter().map(of).collect()
}

/// Runs in an order that ends slowly: built from the end, where the run comes next whose strips, in its share of them, take
/// longest to prepare for the work that it brings to all who come after; with `checks`, to check the bags that wait for it
/// too. Who cuts strips then gives the others little to do at last, and much at first. Runs of a lower class come first.
fn slow_end(
    judge: &Judge<'_>,
    strain: &Strain,
    checks: bool,
    power: u32,
    class: &dyn Fn(usize) -> u8,
) -> Vec<usize> {
    let shop = judge.shop;
    let mut wanted = vec![0_u128; shop.batches.len()];
    shop.runs.iter().flat_map(|run| &run.batches).for_each(|&batch| wanted[batch] += 1);
    let mut bags = FromBehind::of(judge);
    let mut left: Vec<usize> = (0..shop.runs.len()).collect();
    let mut order = Vec::new();
    while !left.is_empty() {
        let share = |run: usize| {
            let batches = shop.runs[run].batches.iter();
            batches
                .map(|&batch| strain.batches[batch] * FINE / wanted[batch].saturating_pow(power))
                .sum::<u128>()
        };
        let after = |run: usize| {
            let waiting = if checks { bags.waiting(run) } else { Vec::new() };
            strain.runs[run] + waiting.into_iter().map(|bag| strain.bags[bag]).sum::<u128>()
        };
        let worths = left.iter().map(|&run| (class(run), share(run) / after(run).max(1), run));
        let last = worths.enumerate().max_by_key(|(_, worth)| *worth).map_or(0, |(at, _)| at);
        let run = left.remove(last);
        shop.runs[run].batches.iter().for_each(|&batch| wanted[batch] -= 1);
        bags.put(run);
        order.push(run);
    }
    order.reverse();
    order
}

/// Shares are counted in so many parts.
const FINE: u128 = 1 << 64;

/// Bags that are filled in order from what is cut last to what is cut first: which of them wait for a run.
struct FromBehind {
    /// By run: kinds and patches.
    gives: Vec<Vec<(usize, u64)>>,
    /// By kind: bags that take what comes before, with how much, the last one last.
    takes: Vec<Vec<(usize, u64)>>,
    /// Bags that wait for a run that was put behind already.
    waits: Vec<bool>,
}

impl FromBehind {
    fn of(judge: &Judge<'_>) -> Self {
        let mut gives: Vec<Vec<(usize, u64)>> = vec![Vec::new(); judge.shop.runs.len()];
        for (kind, lots) in judge.of_kind.iter().enumerate() {
            for &lot in lots {
                let (gives, patches) = (&mut gives[judge.run_of[lot]], judge.lots[lot].patches);
                match gives.last_mut().filter(|last| last.0 == kind) {
                    Some(last) => last.1 += patches,
                    None => gives.push((kind, patches)),
                }
            }
        }
        let takes = judge.wants.iter().map(|want| want.to_come().collect());
        Self { gives, takes: takes.collect(), waits: vec![false; judge.group.bags.len() + 1] }
    }

    /// Bags that would wait for this run, if it came next before those that were put, and for none of those.
    fn waiting(&self, run: usize) -> Vec<usize> {
        let mut new = Vec::new();
        for &(kind, mut patches) in &self.gives[run] {
            for &(bag, takes) in self.takes[kind].iter().rev() {
                let given = patches.min(takes);
                if given > 0 && !self.waits[bag] && !new.contains(&bag) {
                    new.push(bag);
                }
                patches -= given;
            }
        }
        new
    }

    /// Puts a run before those that were put already.
    fn put(&mut self, run: usize) {
        for &(kind, mut patches) in &self.gives[run] {
            while patches > 0
                && let Some((bag, takes)) = self.takes[kind].last_mut()
            {
                let given = patches.min(*takes);
                self.waits[*bag] |= given > 0;
                *takes -= given;
                patches -= given;
                if *takes == 0 {
                    let _ = self.takes[kind].pop();
                }
            }
        }
    }
}

/// Reluctance from an even division of all work: what a helper does none of in it, they are loath to do; what is not
/// most of their share, a little.
fn by_quota(hall: &Hall, shop: &Shop, sorting: &Sorting) -> Vec<[u64; 6]> {
    let mut work = [0_u64; 6];
    for batch in &shop.batches {
        work[Work::Press as usize] += batch.press;
        work[Work::Strips as usize] += batch.cut;
    }
    for (run, sorted) in shop.runs.iter().zip(&sorting.runs) {
        work[Work::Fold as usize] += run.tray.unwrap_or(0);
        work[Work::Crank as usize] += run.crank;
        work[Work::LiftOut as usize] += run.count + sorted;
    }
    work[Work::CheckBags as usize] += sorting.bags.iter().map(|bag| bag.1).sum::<u64>();
    let time = |helper: usize, share: u64| share * 100 / u64::from(hall.helpers[helper].speed_percent.max(1));
    let mut shares = vec![[0_u64; 6]; hall.helpers.len()];
    let mut load = vec![0_u64; hall.helpers.len()];
    // Work is given out in small parts, what few can do first, each part to who has least to do.
    let mut kinds = Work::ALL.to_vec();
    kinds.sort_by_key(|kind| hall.helpers.iter().filter(|helper| helper.can.contains(kind)).count());
    for _ in 0..2 {
        for &kind in &kinds {
            for (helper, share) in shares.iter_mut().enumerate() {
                load[helper] -= time(helper, std::mem::take(&mut share[kind as usize]));
            }
            let part = work[kind as usize].div_ceil(100).max(1);
            let mut left = work[kind as usize];
            while left > 0 {
                let able = (0..hall.helpers.len()).filter(|&at| hall.helpers[at].can.contains(&kind));
                let Some(helper) = able.min_by_key(|&at| (load[at] + time(at, part), at)) else { break };
                let given = part.min(left);
                // Loads are sums of times, so times are added as they are taken off.
                load[helper] -= time(helper, shares[helper][kind as usize]);
                shares[helper][kind as usize] += given;
                load[helper] += time(helper, shares[helper][kind as usize]);
                left -= given;
            }
        }
    }
    let loath = |share: [u64; 6]| {
        let most = share.iter().copied().max().unwrap_or(0);
        share.map(|of| {
            if of == 0 {
                3_600
            } else if of == most {
                0
            } else {
                300
            }
        })
    };
    shares.into_iter().map(loath).collect()
}
