//! The rest of a group's day that has begun: what is left follows from plan, records and replan alone.

use std::collections::{BTreeMap, BTreeSet};

use patchlay_plan::Plan;
use patchlay_plan::day::Day;
use patchlay_plan::record::{Entry, Note};
use patchlay_plan::replan::Replan;

use super::hall::{Hall, Helper};
use super::{Case, DayVerdict, judged, read, within};
use crate::demand::Key;
use crate::facts::Facts;
use crate::fault::{Fault, FaultCode, Faults};
use crate::replan::Now;
use crate::replan::added::with_added;
use crate::{sizes, supply};

/// What is left of a day.
#[derive(Debug)]
pub(super) struct Remains<'a> {
    /// Passes still to be made: lay-up of plan and supplement together, pass from 0.
    pub(super) kept: BTreeSet<(usize, usize)>,
    /// Of these, passes whose lengths and cuts lie ready on a tray.
    pub(super) ready: BTreeSet<(usize, usize)>,
    /// Good patches that are there, by kind.
    pub(super) good: BTreeMap<Key, u64>,
    /// Names of strips still to be cut.
    pub(super) strips: BTreeSet<&'a str>,
}

impl Remains<'_> {
    /// Passes of a lay-up still to be made.
    pub(super) fn passes_of(&self, layup: usize) -> u64 {
        self.kept.range((layup, 0)..=(layup, usize::MAX)).count() as u64
    }
}

/// Checks the rest of a group's day against its plan, which [`check`](crate::check) passes, the records of the plan's log,
/// and the replan that was made from both, which [`check_replan`](crate::check_replan) passes.
///
/// # Errors
/// Everything that is wrong with it, as [`check_day`](crate::check_day) lists it.
pub fn check_rest(
    plan: &Plan,
    entries: &[Entry],
    replan: &Replan,
    day: &Day,
) -> Result<DayVerdict, Vec<Fault>> {
    let mut faults = Faults::default();
    match rest(plan, entries, replan, day, &mut faults) {
        Some(verdict) if faults.none() => Ok(verdict),
        _ => Err(faults.into_list()),
    }
}

fn rest(
    plan: &Plan,
    entries: &[Entry],
    replan: &Replan,
    day: &Day,
    faults: &mut Faults,
) -> Option<DayVerdict> {
    let plan = &*with_added(plan, entries);
    let (_, mut facts, mut hall) = read(&plan.scenario.to_string(), faults)?;
    let all = both(plan, replan);
    if !sizes::judge(&all, faults) || !within(day, faults) {
        return None;
    }
    let layups = supply::layups(&facts, &all, faults);
    let first = supply::layups(&facts, plan, faults);
    if !faults.none() {
        return None;
    }
    let now = Now::of(&facts, plan, &first, entries);
    let starts = day.rest.map(|rest| u64::from(rest.starts) * 60).filter(|starts| *starts >= hall.starts);
    let Some(starts) = starts else {
        let found = day.rest.map_or_else(|| "none".to_owned(), |rest| rest.starts.to_string());
        faults.add(FaultCode::DayRest, "rest", found, "a time after the start of the day");
        return None;
    };
    who_is_there(&mut hall, &now.people, starts);
    hall.copies.clone_from(&now.boards);
    whole_mats(&mut facts, &now.mats);
    let good = now.good.into_iter().filter(|(_, good)| *good > 0).collect();
    let remains = Remains { kept: kept(&all, plan, replan), ready: now.ready, good, strips: strips(replan) };
    let spec = now.spec?;
    let case = Case { facts: &facts, hall: &hall, plan: &all, day, layups: &layups, rest: Some(&remains) };
    judged(&spec, &case, faults)
}

/// Lay-ups and strips of plan and supplement, under the number of the replan.
fn both(plan: &Plan, replan: &Replan) -> Plan {
    let mut all = Plan { number: replan.number.clone(), ..plan.clone() };
    if let Some(supplement) = &replan.supplement {
        all.layups.extend_from_slice(&supplement.layups);
        for more in &supplement.fabrics {
            if let Some(own) = all.fabrics.iter_mut().find(|own| own.fabric == more.fabric) {
                own.strips.extend_from_slice(&more.strips);
            }
        }
    }
    all
}

fn kept(all: &Plan, plan: &Plan, replan: &Replan) -> BTreeSet<(usize, usize)> {
    let mut kept = BTreeSet::new();
    for own in &replan.kept {
        let at = plan.layups.iter().position(|layup| layup.name == own.layup);
        let passes = own.passes.iter().filter_map(|pass| usize::try_from(pass.checked_sub(1)?).ok());
        kept.extend(at.into_iter().flat_map(|at| passes.clone().map(move |pass| (at, pass))));
    }
    for (at, layup) in all.layups.iter().enumerate().skip(plan.layups.len()) {
        kept.extend((0..layup.passes.len()).map(|pass| (at, pass)));
    }
    kept
}

/// Strips that are cut from a bolt still: those of the plan that the replan lists, and those of the supplement that are
/// not taken from what is cut.
fn strips(replan: &Replan) -> BTreeSet<&str> {
    let anew = replan.supplement.iter().flat_map(|plan| plan.fabrics.iter().flat_map(|cloth| &cloth.strips));
    let mut strips: BTreeSet<&str> = anew.map(|strip| strip.name.as_str()).collect();
    for taken in &replan.on_hand {
        strips.remove(taken.strip.as_str());
    }
    strips.extend(replan.strips.iter().map(|left| left.strip.as_str()));
    strips
}

/// Takes away who has gone, adds who came, and counts hours from the new start.
fn who_is_there(hall: &mut Hall, people: &[Note], starts: u64) {
    for note in people {
        match note {
            Note::PersonGone { person } => hall.helpers.retain(|helper| helper.name != *person),
            Note::PersonHelps { person, can, speed_percent } => {
                let helper = Helper {
                    name: person.clone(),
                    can: can.iter().copied().collect(),
                    speed: speed_percent.unwrap_or(100).into(),
                    from: 0,
                    to: None,
                };
                match hall.helpers.iter_mut().find(|known| known.name == *person) {
                    Some(known) => *known = helper,
                    None => hall.helpers.push(helper),
                }
            }
            _ => {}
        }
    }
    let gone_by = starts - hall.starts;
    for helper in &mut hall.helpers {
        helper.from = helper.from.saturating_sub(gone_by);
        helper.to = helper.to.map(|to| to.saturating_sub(gone_by));
    }
    hall.starts = starts;
}

fn whole_mats(facts: &mut Facts, mats: &BTreeMap<String, u32>) {
    for kind in &mut facts.cutter.mats {
        kind.owned = mats.get(&kind.name).copied().unwrap_or(0);
    }
}
