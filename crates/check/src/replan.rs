//! Judges a replan: from the scenario, the plan and the records alone it counts again what is good, what the kept passes
//! yield, what the supplement cuts, and what cloth all that takes.

pub(crate) mod added;
mod cloth;
mod day;
mod supplement;

use std::collections::{BTreeMap, BTreeSet};

use patchlay_plan::record::{Entry, Note};
use patchlay_plan::replan::{REPLAN_VERSION, Replan, replan_number};
use patchlay_plan::{Hand, Plan};
use patchlay_scenario::spec::Scenario;
use serde::Serialize;

use crate::facts::Facts;
use crate::fault::{Fault, FaultCode, Faults};
use crate::supply::{self, Loaded};
use day::{Day, Key};

/// What was counted again.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Recounted {
    /// Passes made.
    pub made: u64,
    /// Passes kept.
    pub kept: u64,
    /// Passes dropped.
    pub dropped: u64,
    /// Kinds of patches counted.
    pub lines: usize,
}

/// Counts patches of each kind.
type Counts = BTreeMap<Key, u64>;

/// Checks a replan against its plan, which has passed [`crate::check`], and the records of the plan's log. That no fewer
/// lay-ups could change is not looked at.
///
/// # Errors
/// Everything that is wrong with it, as for [`crate::check`].
pub fn check_replan(plan: &Plan, entries: &[Entry], replan: &Replan) -> Result<Recounted, Vec<Fault>> {
    let mut faults = Faults::default();
    let plan = &*added::with_added(plan, entries);
    let mut facts = match Facts::read(&plan.scenario.to_string()) {
        Ok((facts, _)) => facts,
        Err(unusable) => {
            faults.add(FaultCode::ScenarioUnusable, unusable.place, unusable.why, "");
            return Err(faults.into_list());
        }
    };
    facts.follow(plan.strategy, &mut faults);
    let layups = supply::layups(&facts, plan, &mut faults);
    if !faults.none() || layups.len() != plan.layups.len() {
        return Err(faults.into_list());
    }
    document(plan, replan, &mut faults);
    let day = Day::of(&facts, plan, &layups, entries);
    let kept = passes(&day, plan, replan, &mut faults);
    day.judge_kept(&kept, replan, &mut faults);
    if !supplement::judge(&day, replan, &mut faults) {
        return Err(faults.into_list());
    }
    cloth::judge(&day, &kept, replan, &mut faults);
    let lines = count(&day, &kept, replan, &mut faults);
    let made = day.made.iter().flatten().filter(|made| made.is_some()).count() as u64;
    let dropped = replan.dropped.iter().map(|lost| lost.passes.len() as u64).sum();
    if faults.none() {
        Ok(Recounted { made, kept: kept.len() as u64, dropped, lines })
    } else {
        Err(faults.into_list())
    }
}

/// What the records say about a group's day.
pub(crate) struct Now {
    /// The scenario with the quilts that are wanted now.
    pub(crate) spec: Option<Scenario>,
    /// Good patches that are there.
    pub(crate) good: Counts,
    /// Lay-ups and passes that are not made and whose lengths and cuts lie ready on a tray.
    pub(crate) ready: BTreeSet<(usize, usize)>,
    /// Who went, and who helps with what, in the order of the records.
    pub(crate) people: Vec<Note>,
    /// Whole copies of the boards.
    pub(crate) boards: Vec<u32>,
    /// Whole mats by name.
    pub(crate) mats: BTreeMap<String, u32>,
}

impl Now {
    /// Reads the records of a plan with these lay-ups.
    pub(crate) fn of(facts: &Facts, plan: &Plan, layups: &[Loaded<'_>], entries: &[Entry]) -> Self {
        let day = Day::of(facts, plan, layups, entries);
        Self {
            good: day.good(),
            ready: day.ready(),
            spec: day.spec,
            people: day.people.into_iter().cloned().collect(),
            boards: day.boards,
            mats: day.mats,
        }
    }
}

fn document(plan: &Plan, replan: &Replan, faults: &mut Faults) {
    let code = FaultCode::ReplanDocument;
    faults.equal(code, "patchlay_replan", replan.patchlay_replan, REPLAN_VERSION);
    faults.equal(code, "plan", replan.plan.as_str(), plan.number.as_str());
    let number = replan_number(replan).unwrap_or_default();
    faults.equal(code, "number", replan.number.as_str(), &number);
}

/// The kept passes, by lay-up and pass from 0; every pass must be made, kept or dropped.
fn passes(day: &Day<'_>, plan: &Plan, replan: &Replan, faults: &mut Faults) -> BTreeSet<(usize, usize)> {
    let code = FaultCode::ReplanPasses;
    let mut seen: BTreeSet<(usize, usize)> = BTreeSet::new();
    let mut note = |layup: &str, passes: &mut dyn Iterator<Item = u64>, faults: &mut Faults| {
        let mut own = BTreeSet::new();
        let Some(at) = plan.layups.iter().position(|known| known.name == layup) else {
            faults.add(code, format!("lay-up {layup}"), layup, "a lay-up of the plan");
            return own;
        };
        for pass in passes {
            let place = format!("lay-up {layup}, pass {pass}");
            let pass = usize::try_from(pass.wrapping_sub(1)).unwrap_or(usize::MAX);
            match day.made[at].get(pass) {
                None => faults.add(code, place, "no such pass", "a pass of the lay-up"),
                Some(Some(_)) => faults.add(code, place, "made already", "not made"),
                Some(None) if !seen.insert((at, pass)) => faults.add(code, place, "again", "once"),
                Some(None) => drop(own.insert((at, pass))),
            }
        }
        own
    };
    let mut kept = BTreeSet::new();
    for own in &replan.kept {
        kept.extend(note(&own.layup, &mut own.passes.iter().copied(), faults));
    }
    for own in &replan.dropped {
        note(&own.layup, &mut own.passes.iter().map(|lost| lost.pass), faults);
    }
    for (at, made) in day.made.iter().enumerate() {
        let name = &plan.layups[at].name;
        for (pass, _) in
            made.iter().enumerate().filter(|(pass, made)| made.is_none() && !seen.contains(&(at, *pass)))
        {
            faults.add(
                code,
                format!("lay-up {name}, pass {}", pass + 1),
                "neither made, kept nor dropped",
                "one of them",
            );
        }
        let done = made.iter().all(Option::is_some);
        if replan.done.contains(name) != done {
            faults.add(code, format!("lay-up {name}"), if done { "done" } else { "not done" }, "the other");
        }
    }
    kept
}

/// Judges the recount line by line.
fn count(day: &Day<'_>, kept: &BTreeSet<(usize, usize)>, replan: &Replan, faults: &mut Faults) -> usize {
    let wanted = day.wanted.clone();
    let good = day.good();
    let yields = day.yields(kept);
    let anew = replan.supplement.as_ref().map(|plan| supplement::cut(day, plan)).unwrap_or_default();
    let keys: BTreeSet<Key> = wanted.keys().chain(good.keys()).chain(yields.keys()).copied().collect();
    let mut stated: BTreeMap<Key, &patchlay_plan::replan::Recount> = BTreeMap::new();
    for line in &replan.recount {
        let key = day.key(&line.fabric, &line.shape, line.hand);
        let twice = key.is_some_and(|key| stated.insert(key, line).is_some());
        if twice || key.is_none_or(|key| !keys.contains(&key)) {
            let found = format!("{} {}", line.fabric, line.shape);
            faults.add(FaultCode::ReplanCount, "recount", found, "every kind once");
        }
    }
    for key in &keys {
        let place = day.name(*key);
        let Some(line) = stated.get(key) else {
            faults.add(FaultCode::ReplanCount, place, "no line", "one");
            continue;
        };
        let of = |counts: &Counts| counts.get(key).copied().unwrap_or_default();
        let sums = [of(&wanted), of(&good), of(&yields), of(&anew)];
        let found = [line.wanted, line.good, line.kept, line.supplement];
        for ((what, found), sum) in ["wanted", "good", "kept", "supplement"].iter().zip(found).zip(sums) {
            faults.equal(FaultCode::ReplanCount, format!("{place}, {what}"), found, sum);
        }
        let have = sums[1].saturating_add(sums[2]).saturating_add(sums[3]);
        if have < sums[0] {
            faults.add(FaultCode::ReplanShort, place, have, format!("at least {}", sums[0]));
        }
    }
    keys.len()
}

/// Whether a hand is told apart for that shape and fabric.
fn handed(facts: &Facts, fabric: usize, shape: usize) -> bool {
    facts.shapes[shape].shape.handed() && !facts.fabrics[fabric].reversible
}

/// Hands of a shape in a fabric.
fn hands(facts: &Facts, fabric: usize, shape: usize) -> &'static [Hand] {
    if handed(facts, fabric, shape) { &[Hand::Drawn, Hand::Mirrored] } else { &[Hand::Any] }
}

/// Shapes that an area of a lay-up yields.
fn shapes(facts: &Facts, layup: &Loaded<'_>, area: usize) -> BTreeSet<usize> {
    let board = &facts.boards[layup.board];
    board.bays[layup.loads[area].bay].positions.iter().map(|&at| board.positions[at].shape).collect()
}
