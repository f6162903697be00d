//! What is left of a group's day: the work that is not done, those who are there, and the hall as it now is.

use std::collections::{BTreeMap, BTreeSet};

use patchlay_group::{Kind, Rest};
use patchlay_plan::Plan;
use patchlay_plan::day::{Day, On, Work};
use patchlay_plan::replan::Replan;
use patchlay_scenario::job::group::Helper;
use patchlay_scenario::job::{Group, Job};
use patchlay_scenario::{LoadError, load};
use serde_json::json;

use super::Half;

/// A day that has begun.
pub struct Begun {
    /// The job as it now is: quilts wanted now, who and what is there, times from the start of the rest.
    pub job: Job,
    /// Plan and supplement in one, under the number of the replan.
    pub plan: Plan,
    /// What is still to be done.
    pub rest: Rest,
}

/// Why the rest of a day cannot be looked at.
#[derive(Debug)]
pub enum HoursError {
    /// The quilts that are wanted now cannot be divided into bags.
    Quilts(LoadError),
    /// It would begin before the day; minutes after midnight of the day's start.
    BeforeTheDay(u32),
    /// Everybody has gone.
    NobodyLeft,
}

impl Half<'_> {
    /// What is left of the day; none if there is no group, or nothing is left to be made. `before` is the day as it was
    /// planned first, if that is known: what was sorted by then lies where it says. `starts` is in minutes after midnight
    /// of the first day; unless given, the rest begins when the last pass that is noted ends in that day.
    ///
    /// # Errors
    /// [`HoursError`].
    pub fn begun(
        &self,
        replan: &Replan,
        before: Option<&Day>,
        starts: Option<u32>,
    ) -> Result<Option<Begun>, HoursError> {
        let Some(group) = &self.ground.job.group else { return Ok(None) };
        let plan = together(self.ground.plan, replan);
        let mut passes = self.stays.kept.clone();
        passes.extend(plan.layups.iter().skip(passes.len()).map(|layup| (0..layup.passes.len()).collect()));
        if passes.iter().all(BTreeSet::is_empty) {
            return Ok(None);
        }
        let starts = starts.unwrap_or_else(|| self.as_planned(group, before));
        if starts < group.starts {
            return Err(HoursError::BeforeTheDay(group.starts));
        }
        let anew = replan.supplement.iter().flat_map(|plan| &plan.fabrics).flat_map(|cloth| &cloth.strips);
        let anew = anew.map(|strip| &strip.name);
        let on_hand = |name: &&String| !replan.on_hand.iter().any(|taken| taken.strip == **name);
        let strips = replan.strips.iter().map(|left| &left.strip).chain(anew.filter(on_hand));
        let rest = Rest {
            passes,
            ready: self.ready(),
            strips: strips.cloned().collect(),
            good: self.stays.good.clone(),
            sorted: self.sorted(before),
            starts,
        };
        let job = self.job_now(starts).map_err(HoursError::Quilts)?;
        if !group.helpers.is_empty() && job.group.as_ref().is_none_or(|group| group.helpers.is_empty()) {
            return Err(HoursError::NobodyLeft);
        }
        Ok(Some(Begun { job, plan, rest }))
    }

    /// The job for the quilts that are wanted now, with who and what is there from then on.
    fn job_now(&self, starts: u32) -> Result<Job, LoadError> {
        let mut scenario = self.ground.plan.scenario.clone();
        if let Some(fields) = scenario.as_object_mut() {
            fields.shift_remove("proof_block");
            fields.insert("quilts".to_owned(), json!(self.state.quilts));
        }
        let (_, job) = load(&scenario.to_string())?;
        let mut job = job.under(self.ground.plan.strategy);
        for (mat, left) in job.cutter.mats.iter_mut().zip(&self.state.mats) {
            mat.owned = *left;
        }
        if let Some(group) = &mut job.group {
            let gone_by = u64::from(starts.saturating_sub(group.starts)) * 60;
            group.starts = starts;
            group.copies.clone_from(&self.state.boards);
            let later = |helper: &Helper| Helper {
                from: helper.from.saturating_sub(gone_by),
                to: helper.to.map(|to| to.saturating_sub(gone_by)),
                ..helper.clone()
            };
            group.helpers = self.state.helpers.iter().map(later).collect();
            group.helpers.retain(|helper| helper.to != Some(0));
        }
        Ok(job)
    }

    /// The minute in which the last pass that is noted ends in the day as it was planned.
    fn as_planned(&self, group: &Group, before: Option<&Day>) -> u32 {
        let tasks = before.iter().flat_map(|day| day.schedule.iter().flat_map(|schedule| &schedule.tasks));
        let done = |number: usize| {
            let run = before?.runs.get(number.checked_sub(1)?)?;
            let made = (run.first..run.first + run.passes).any(|pass| self.is_made(&run.layup, pass));
            made.then_some(())
        };
        let ends = tasks.filter_map(|task| match (task.work, &task.on) {
            (Work::Crank, On::Run(number)) => done(*number).map(|()| task.end),
            _ => None,
        });
        group.starts + ends.max().map_or(0, |end| u32::try_from(end.div_ceil(60)).unwrap_or(0))
    }

    fn is_made(&self, layup: &str, pass: u64) -> bool {
        let at = self.ground.plan.layups.iter().position(|own| own.name == layup);
        let pass = usize::try_from(pass.wrapping_sub(1)).unwrap_or(usize::MAX);
        at.and_then(|at| self.state.made[at].get(pass)).is_some_and(Option::is_some)
    }

    /// What the passes that are made put into each bag by the day as it was planned.
    fn sorted(&self, before: Option<&Day>) -> BTreeMap<(Kind, String), u64> {
        let mut sorted = BTreeMap::new();
        for (day, lot) in before.iter().flat_map(|day| day.lots.iter().map(move |lot| (day, lot))) {
            let kind = self.lines().into_iter().find(|line| {
                let (fabric, shape, hand) = self.names(*line);
                (&fabric, &shape, hand) == (&lot.fabric, &lot.shape, lot.hand)
            });
            let Some(kind) = kind.filter(|_| self.is_made(&lot.layup, lot.pass)) else { continue };
            for part in &lot.to {
                let Some(bag) = part.bag.checked_sub(1).and_then(|at| day.bags.get(at)) else { continue };
                *sorted.entry((kind, bag.name.clone())).or_default() += part.patches;
            }
        }
        sorted
    }
}

/// Plan and supplement in one, under the number of the replan. Its figures are the first plan's.
fn together(plan: &Plan, replan: &Replan) -> Plan {
    let mut all = plan.clone();
    all.number.clone_from(&replan.number);
    if let Some(anew) = &replan.supplement {
        all.layups.extend(anew.layups.iter().cloned());
        for cloth in &mut all.fabrics {
            let more = anew.fabric(&cloth.fabric).into_iter().flat_map(|own| own.strips.iter().cloned());
            cloth.strips.extend(more);
        }
    }
    all
}
