//! A group's day: from a job with a group and its plan to a [`Day`]. Here live the division of patches into bags
//! (`lots`, `bags`), the fewest bags open at a time (`open`), stations and time (`schedule`), and who pays what
//! (`money`). What is cut and how is the plan's; nothing here changes it. Nothing here judges a day (that is the
//! checker's work), prints, or reads files.

mod bags;
mod lots;
mod money;
pub mod open;
mod rest;
mod schedule;
mod supply;

use std::collections::BTreeMap;

use patchlay_plan::day::{
    At, Bag, BagLine, Batch, DAY_VERSION, Day, DayFigures, Lot, On, OneMore, Part, Run, Schedule, Task, Work,
    day_number,
};
use patchlay_plan::{Hand, Plan};
use patchlay_scenario::Job;
use patchlay_scenario::job::{self, Group};
use rayon::prelude::*;

pub use lots::Kind;
pub use rest::Rest;
pub use supply::resupplied;

use bags::Wants;
use lots::Yield;
use schedule::hall::{Hall, Shop};
use schedule::place::{Of, Placed};
use schedule::trays::{Setting, Trayed};
use schedule::{Found, Judge, does};

/// How to search.
#[derive(Clone, Copy)]
pub struct Options<'a> {
    /// Seed of the search.
    pub seed: u64,
    /// Work units, 1 to 10.
    pub effort: u32,
    /// Whether to plan the day anew with one more of everything.
    pub one_more: bool,
    /// Threads; all there are unless stated. The day does not depend on it.
    pub threads: Option<usize>,
    /// Says when to stop; what is found until then is kept.
    pub stop: &'a (dyn Fn() -> bool + Sync),
}

/// Why there is no day.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum DayError {
    /// The scenario has no group.
    #[error("the scenario has no group")]
    NoGroup,
    /// The plan names something that the job does not have.
    #[error("the plan does not belong to this scenario")]
    NotOfThisScenario,
    /// What the group asks for cannot be had, with reasons.
    #[error("the day cannot be planned: {}", .0.join("; "))]
    Impossible(Vec<String>),
}

/// Plans the day.
///
/// # Errors
/// [`DayError`].
pub fn plan_day(job: &Job, plan: &Plan, options: &Options<'_>) -> Result<Day, DayError> {
    on_threads(options, || planned(job, plan, None, options))
}

/// Plans the rest of a day that has begun. The job says who and what is there now and what is wanted now; money is not
/// divided again.
///
/// # Errors
/// [`DayError`].
pub fn plan_rest(job: &Job, plan: &Plan, rest: &Rest, options: &Options<'_>) -> Result<Day, DayError> {
    on_threads(options, || planned(job, plan, Some(rest), options))
}

fn on_threads<T: Send>(options: &Options<'_>, work: impl Fn() -> T + Send + Sync) -> T {
    let Some(threads) = options.threads else { return work() };
    match rayon::ThreadPoolBuilder::new().num_threads(threads.max(1)).build() {
        Ok(pool) => pool.install(work),
        // Without threads of its own it works on those that there are.
        Err(_) => work(),
    }
}

fn planned(job: &Job, plan: &Plan, rest: Option<&Rest>, options: &Options<'_>) -> Result<Day, DayError> {
    let group = job.group.as_ref().ok_or(DayError::NoGroup)?;
    let lots = lots::all(job, plan, rest).ok_or(DayError::NotOfThisScenario)?;
    let wants = bags::wants(job, group, &lots, rest);
    let begun = bags::begun(&wants, group.bags.len());
    let hall = Hall::of(job, group);
    let setting =
        Setting { job, group, plan, rest, lots: &lots, wants: &wants, begun: &begun, hall: &hall, options };
    let mut best = setting.best()?;
    if options.one_more && !hall.helpers.is_empty() {
        // What one more of something gains is only its own if the hall as it is was searched as long.
        let again = setting.short(&best, &hall, best.found.rule.clone());
        if again.score < best.found.score {
            best.found = again;
        }
    }
    let (judge, found) = (setting.judge(&best), &best.found);
    let (shop, place) = best.shop.reordered(&found.cut_order(best.shop.batches.len()));
    let shop = &shop;
    if found.score.late {
        return Err(DayError::Impossible(vec![too_late(group, &judge, &hall, found)]));
    }
    let fewest = open::fewest_open(&found.bagged.needs);
    // Bags that are begun are open until they are full, so no order has fewer open than those.
    let open_at_least = (fewest.at_least.max(begun.len()) as u64).min(found.score.open);
    if let Some(most) = judge.limit()
        && most < fewest.at_least as u64
    {
        return Err(DayError::Impossible(vec![format!(
            "at most {most} bags open at a time cannot be kept: with these runs and bags at least {} are open at \
             once in any order; allow more, or divide the bags otherwise",
            fewest.at_least
        )]));
    }
    let sorting = &found.bagged.sorting;
    let schedule = (!hall.helpers.is_empty()).then(|| {
        let names: Vec<&str> = job.boards.iter().map(|board| board.name.as_str()).collect();
        let bound = schedule::bound::bound(&hall, shop, sorting, &names);
        Schedule {
            tasks: written(group, &hall, found, &place),
            finish: found.score.finish,
            finish_at_least: bound.finish.min(found.score.finish),
            held_by: bound.held_by,
            one_more: if options.one_more { one_more(&setting, &best) } else { Vec::new() },
        }
    });
    if found.score.above > 0 {
        let most = judge.limit().unwrap_or(0);
        return Err(DayError::Impossible(vec![format!(
            "no order was found that keeps to at most {most} bags open at a time: the best has {} open, and it is only \
             proved that no order has fewer than {}; allow more, search harder, or divide the bags otherwise",
            found.score.open, fewest.at_least
        )]));
    }
    let mut day = Day {
        patchlay_day: DAY_VERSION,
        plan: plan.number.clone(),
        rest: rest.map(|rest| patchlay_plan::day::Rest { starts: rest.starts }),
        number: String::new(),
        bags: bag_lists(job, group, &wants),
        lots: lot_lists(job, plan, shop, &lots, found),
        batches: batch_lists(plan, shop),
        runs: found
            .order
            .iter()
            .map(|&run| &shop.runs[run])
            .map(|run| Run {
                layup: plan.layups[run.layup].name.clone(),
                first: run.first as u64 + 1,
                passes: run.passes as u64,
            })
            .collect(),
        figures: DayFigures {
            lots: lots.len() as u64,
            parts: found.score.parts,
            parts_at_least: bags::parts_at_least(&lots, &wants),
            sorting_seconds: sorting.runs.iter().sum(),
            most_open: found.score.open,
            open_at_least,
            urgent_after: found.score.urgent_after,
            board_changes: found.score.changes,
        },
        schedule,
        money: if rest.is_none() { money::divided(job, group, plan, &wants) } else { None },
        alone: None,
    };
    day.number = day_number(&day).unwrap_or_default();
    Ok(day)
}

/// What to say when the helpers' hours do not suffice.
fn too_late(group: &Group, judge: &Judge<'_>, hall: &Hall, found: &Found) -> String {
    // A schedule in which only those stay who can do one kind of work shows that no more is short than that.
    let stay = |who: &dyn Fn(&job::group::Helper) -> bool| {
        let mut longer = hall.clone();
        longer.helpers.iter_mut().filter(|helper| who(helper)).for_each(|helper| helper.to = None);
        judge.judge(&longer, &found.rule).score
    };
    let doing = |work: Work| {
        let goes = |helper: &&job::group::Helper| helper.to.is_some() && helper.can.contains(&work);
        hall.helpers.iter().filter(goes).collect::<Vec<_>>()
    };
    let alone = |work: Work| {
        let (who, score) = (doing(work), stay(&|helper| helper.can.contains(&work)));
        (!who.is_empty() && !score.late).then_some((who, work, score.finish))
    };
    match Work::ALL.into_iter().filter_map(alone).min_by_key(|(who, ..)| who.len()) {
        Some((who, work, finish)) => {
            let named = |helper: &&job::group::Helper| {
                let goes = u64::from(group.starts) + helper.to.unwrap_or_default() / 60;
                format!("{} until {}:{:02}", helper.name, goes / 60, goes % 60)
            };
            let who: Vec<String> = who.iter().map(named).collect();
            format!(
                "the helpers' hours do not suffice: hours of those who {} are short ({}); if they stayed, the last bag would \
                 be checked between {}; let some of them stay longer, or add someone who can do this",
                does(work),
                who.join(", "),
                between(group, finish)
            )
        }
        None => {
            let finish = stay(&|_| true).finish;
            format!(
                "the helpers' hours do not suffice: if all stayed, the last bag would be checked between {}; let some stay \
                 longer, or add helpers",
                between(group, finish)
            )
        }
    }
}

/// The rough hour of an end: `12 and 13 o'clock`, `3 and 4 o'clock on day 2`.
fn between(group: &Group, finish: u64) -> String {
    let hour = (u64::from(group.starts) * 60 + finish.saturating_sub(1)) / 3600;
    let on = if hour < 24 { String::new() } else { format!(" on day {}", hour / 24 + 1) };
    format!("{} and {} o'clock{on}", hour % 24, (hour + 1) % 24)
}

/// What one more of everything would do, each planned anew from the best sequence.
fn one_more(setting: &Setting<'_>, day: &Trayed) -> Vec<OneMore> {
    let ways = schedule::one_more(setting.job, setting.hall, &day.shop);
    let solve = |(what, hall): (String, Hall)| {
        let mut start = day.found.rule.clone();
        start.reluctance.resize(hall.helpers.len(), [0; 6]);
        let better = setting.short(day, &hall, start);
        OneMore { what, finish: better.score.finish.min(day.found.score.finish) }
    };
    ways.into_par_iter().map(solve).collect()
}

fn plan_hand(hand: job::Hand) -> Hand {
    match hand {
        job::Hand::Any => Hand::Any,
        job::Hand::Drawn => Hand::Drawn,
        job::Hand::Mirrored => Hand::Mirrored,
    }
}

/// The bags with their lists; a bag of spares last, if anything goes there.
fn bag_lists(job: &Job, group: &Group, wants: &[Wants]) -> Vec<Bag> {
    let spares = group.bags.len();
    let mut lines: BTreeMap<usize, Vec<BagLine>> = BTreeMap::new();
    for want in wants {
        let (fabric, shape, hand) = want.kind;
        let all = want.bags.iter().zip(&want.there).filter(|((_, needed, spare), _)| needed + spare > 0);
        for (&(bag, needed, spare), &there) in all {
            lines.entry(bag).or_default().push(BagLine {
                fabric: job.fabrics[fabric].name.clone(),
                shape: job.shapes[shape].name.clone(),
                hand: plan_hand(hand),
                needed,
                spare,
                there,
            });
        }
    }
    let mut bags: Vec<Bag> = group
        .bags
        .iter()
        .enumerate()
        .map(|(at, bag)| Bag {
            name: bag.name.clone(),
            destination: bag.destination.clone(),
            urgent: bag.urgent,
            lines: lines.remove(&at).unwrap_or_default(),
        })
        .collect();
    if let Some(lines) = lines.remove(&spares) {
        let (name, destination) = ("spares".to_owned(), String::new());
        bags.push(Bag { name, destination, urgent: false, lines });
    }
    bags
}

/// The batches of strips with names.
fn batch_lists(plan: &Plan, shop: &Shop) -> Vec<Batch> {
    let one = |batch: &schedule::hall::Batch| {
        let fabric = &plan.fabrics[batch.fabric];
        let strips = batch.strips.iter().map(|&strip| fabric.strips[strip].name.clone()).collect();
        Batch { fabric: fabric.fabric.clone(), strips }
    };
    shop.batches.iter().map(one).collect()
}

/// The lots with their parts, in the order of work.
fn lot_lists(job: &Job, plan: &Plan, shop: &Shop, lots: &[Yield], found: &Found) -> Vec<Lot> {
    let rank = found.rank();
    let mut to: Vec<Vec<Part>> = vec![Vec::new(); lots.len()];
    for &(lot, bag, patches) in found.bagged.parts() {
        to[lot].push(Part { bag: bag + 1, patches });
    }
    let mut all: Vec<(usize, &Yield, Vec<Part>)> =
        lots.iter().zip(to).map(|(lot, to)| (rank[shop.run_of(lot)], lot, to)).collect();
    all.sort_by_key(|(rank, lot, _)| (*rank, lot.pass, lot.position, lot.kind));
    all.into_iter()
        .map(|(_, lot, mut to)| {
            to.sort_by_key(|part| part.bag);
            let (fabric, shape, hand) = lot.kind;
            Lot {
                layup: plan.layups[lot.layup].name.clone(),
                pass: lot.pass as u64 + 1,
                position: lot.position,
                fabric: job.fabrics[fabric].name.clone(),
                shape: job.shapes[shape].name.clone(),
                hand: plan_hand(hand),
                to,
            }
        })
        .collect()
}

/// The tasks with names for numbers, by their start; batches by their place in the order in which they are cut.
fn written(group: &Group, hall: &Hall, found: &Found, place: &[usize]) -> Vec<Task> {
    let (stations, rank) = (hall.stations(), found.rank());
    let mut all: Vec<&Placed> = found.track.tasks.iter().collect();
    all.sort_by_key(|task| (task.start, task.end, task.work, task.helper));
    all.into_iter()
        .map(|task| Task {
            work: task.work,
            on: match task.of {
                Of::Batch(batch) => On::Batch(place[batch] + 1),
                Of::Run(run) => On::Run(rank[run] + 1),
                Of::Bag(bag) => On::Bag(bag + 1),
            },
            helper: hall.helpers[task.helper].name.clone(),
            at: task.at.map(|(station, copy)| {
                let (class, number) = stations[station];
                At { cutter: group.classes[class].name.clone(), number, copy: copy + 1 }
            }),
            start: task.start,
            end: task.end,
        })
        .collect()
}
