//! The independent judge of a group's day. From the text of the scenario and a sound plan it derives bags, lots, times,
//! figures, bounds and money again; nothing here comes from the validated job or from what plans a day.

mod alone;
mod bags;
mod batches;
mod figures;
mod hall;
mod lots;
mod money;
mod open;
mod rest;
mod runs;
mod schedule;
mod yields;

use patchlay_plan::day::{DAY_VERSION, Day, day_number};
use patchlay_plan::{Hand, Plan};
use patchlay_scenario::spec::Scenario;
use serde::Serialize;

use crate::cloth;
use crate::demand::Key;
use crate::facts::{Facts, Unusable};
use crate::fault::{Fault, FaultCode, Faults};
use crate::supply::{self, Loaded};
use crate::{mats, sizes};
use hall::Hall;
use rest::Remains;
pub use rest::check_rest;

/// Most entries of any list of a day.
const MOST: usize = 1_000_000;

/// What was checked of a day, in counts.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct DayVerdict {
    /// Bags, each with its own list.
    pub bags: usize,
    /// Lots, each divided wholly.
    pub lots: usize,
    /// Patches sorted into bags.
    pub patches: u64,
    /// Runs, which together are all passes.
    pub runs: usize,
    /// Batches, which together are all strips.
    pub batches: usize,
    /// Tasks of the schedule; none without helpers.
    pub tasks: usize,
    /// Whether no order of the runs has fewer bags open.
    pub fewest_open: bool,
    /// Whether no schedule ends earlier.
    pub earliest_finish: bool,
    /// Shares of money.
    pub shares: usize,
}

/// Everything that the parts of a day are judged by.
pub(crate) struct Case<'a> {
    facts: &'a Facts,
    hall: &'a Hall,
    plan: &'a Plan,
    day: &'a Day,
    layups: &'a [Loaded<'a>],
    /// What is left, where the day has begun.
    rest: Option<&'a Remains<'a>>,
}

/// Checks a group's day against the text of its scenario and its plan, which must be one that [`check`](crate::check)
/// passes.
///
/// # Errors
/// Everything that is wrong with the day, as [`check`](crate::check) lists it. What builds on something unsound is not
/// judged. A plan or a scenario that cannot be used gives the faults that say why.
pub fn check_day(scenario_text: &str, plan: &Plan, day: &Day) -> Result<DayVerdict, Vec<Fault>> {
    let mut faults = Faults::default();
    let verdict = read(scenario_text, &mut faults)
        .and_then(|(spec, facts, hall)| whole(&spec, &facts, &hall, plan, day, &mut faults));
    match verdict {
        Some(verdict) if faults.none() => Ok(verdict),
        _ => Err(faults.into_list()),
    }
}

fn unusable(why: Unusable, faults: &mut Faults) {
    faults.add(FaultCode::ScenarioUnusable, why.place, why.why, "");
}

fn read(text: &str, faults: &mut Faults) -> Option<(Scenario, Facts, Hall)> {
    let all = || -> Result<_, Unusable> {
        let (facts, value) = Facts::read(text)?;
        let spec: Scenario =
            serde_json::from_value(value).map_err(|error| Unusable::new("scenario", error.to_string()))?;
        let hall = spec.group.as_ref().map(|group| Hall::read(group, &spec, &facts)).transpose()?;
        Ok((spec, facts, hall))
    };
    match all() {
        Ok((spec, facts, Some(hall))) => Some((spec, facts, hall)),
        Ok((_, _, None)) => {
            faults.add(FaultCode::NoGroup, "group", "none", "a group");
            None
        }
        Err(why) => {
            unusable(why, faults);
            None
        }
    }
}

/// A day from its beginning.
fn whole(
    spec: &Scenario,
    facts: &Facts,
    hall: &Hall,
    plan: &Plan,
    day: &Day,
    faults: &mut Faults,
) -> Option<DayVerdict> {
    if !sizes::judge(plan, faults) || !within(day, faults) {
        return None;
    }
    supply::strips(facts, plan, faults);
    let layups = supply::layups(facts, plan, faults);
    mats::judge(facts, &layups, faults);
    cloth::judge(facts, plan, faults)?;
    if !faults.none() {
        return None;
    }
    if let Some(rest) = &day.rest {
        faults.add(FaultCode::DayRest, "rest", rest.starts, "none, with a plan that is not begun");
    }
    judged(spec, &Case { facts, hall, plan, day, layups: &layups, rest: None }, faults)
}

fn judged(spec: &Scenario, case: &Case<'_>, faults: &mut Faults) -> Option<DayVerdict> {
    let day = case.day;
    documents(case.plan, day, faults);
    let wanted = match bags::wanted(spec, case) {
        Ok(wanted) => wanted,
        Err(why) => {
            unusable(why, faults);
            return None;
        }
    };
    bags::judge(case, &wanted, faults);
    let there = bags::there(case, &wanted, faults)?;
    let shares = money::judge(case, &wanted, faults);
    alone::judge(case, faults);
    let runs = runs::judge(case, faults);
    let batches = batches::judge(case, faults);
    let runs = runs?;
    let lots = lots::judge(case, &wanted, &there, &runs, faults)?;
    let fewest_open = figures::judge(case, &wanted, &there, &runs, &lots, faults);
    let batches = batches?;
    let work = schedule::Input { runs: &runs, batches: &batches, lots: &lots, bags: &wanted };
    let earliest_finish = schedule::judge(case, &work, faults);
    Some(DayVerdict {
        bags: wanted.len(),
        lots: day.lots.len(),
        patches: lots.patches,
        runs: runs.len(),
        batches: batches.all.len(),
        tasks: day.schedule.as_ref().map_or(0, |schedule| schedule.tasks.len()),
        fewest_open,
        earliest_finish,
        shares,
    })
}

fn documents(plan: &Plan, day: &Day, faults: &mut Faults) {
    faults.equal(FaultCode::DayVersion, "patchlay_day", day.patchlay_day, DAY_VERSION);
    faults.equal(FaultCode::DayPlan, "plan", day.plan.as_str(), plan.number.as_str());
    let number = day_number(day).unwrap_or_default();
    faults.equal(FaultCode::DayNumber, "number", day.number.as_str(), &number);
}

/// Refuses absurdly long lists before anything is computed from them.
fn within(day: &Day, faults: &mut Faults) -> bool {
    let parts = || day.lots.iter().map(|lot| lot.to.len()).sum();
    let counts = [
        ("bags", day.bags.len()),
        ("lines of bags", day.bags.iter().map(|bag| bag.lines.len()).sum()),
        ("lots", day.lots.len()),
        ("parts of lots", parts()),
        ("batches", day.batches.len()),
        ("strips of batches", day.batches.iter().map(|batch| batch.strips.len()).sum()),
        ("runs", day.runs.len()),
        ("tasks", day.schedule.as_ref().map_or(0, |schedule| schedule.tasks.len())),
    ];
    let mut well = true;
    for (what, count) in counts.into_iter().filter(|(_, count)| *count > MOST) {
        faults.add(FaultCode::OutOfRange, what, count, MOST);
        well = false;
    }
    well
}

/// A kind of patch in words.
fn kind_name(facts: &Facts, (fabric, shape, hand): Key) -> String {
    let hand = ["", ", as drawn", ", mirrored"][usize::from(hand.min(2))];
    format!("{} {}{hand}", facts.fabrics[fabric].name, facts.shapes[shape].name)
}

/// A hand as a number in the order of the lists.
fn hand_number(hand: Hand) -> u8 {
    match hand {
        Hand::Any => 0,
        Hand::Drawn => 1,
        Hand::Mirrored => 2,
    }
}
