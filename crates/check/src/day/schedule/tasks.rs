//! Tasks one by one: each there once, by a helper who can, within hours, as long as it takes, after what it needs.

use patchlay_plan::day::{On, Schedule, Work};

use super::Timed;
use super::jobs::{Jobs, place};
use super::shared::most_at_once;
use crate::day::Case;
use crate::fault::{FaultCode, Faults};

/// The found times in the order of the jobs; none if they are not all there.
pub(super) fn resolve(
    case: &Case<'_>,
    jobs: &Jobs,
    schedule: &Schedule,
    faults: &mut Faults,
) -> Option<Vec<Timed>> {
    let mut found: Vec<Option<Timed>> = vec![None; jobs.all.len()];
    let mut well = true;
    let mut last = 0;
    for task in &schedule.tasks {
        let place = place(task.work, &task.on);
        if task.start < last {
            faults.add(FaultCode::TaskList, &place, task.start, format!("a start at {last} or later"));
        }
        last = last.max(task.start);
        let Some(job) = jobs.find(task.work, &task.on).filter(|&job| found[job].is_none()) else {
            faults.add(FaultCode::TaskList, place, "not to be done, or done twice", "once");
            well = false;
            continue;
        };
        let helper = case.hall.helpers.iter().position(|helper| helper.name == task.helper);
        let Some(helper) = helper.filter(|&helper| case.hall.helpers[helper].can.contains(&task.work)) else {
            faults.add(FaultCode::TaskHelper, place, &task.helper, "a helper who can do it");
            well = false;
            continue;
        };
        found[job] = Some(Timed { helper, start: task.start, end: task.end });
        if task.end < task.start {
            faults.add(FaultCode::TaskTime, place, task.end, format!("{} or later", task.start));
            well = false;
        }
    }
    for (job, _) in jobs.all.iter().zip(&found).filter(|(_, found)| well && found.is_none()) {
        faults.add(FaultCode::TaskList, job.place(), "no task", "one");
    }
    found.into_iter().collect::<Option<Vec<_>>>().filter(|_| well)
}

/// Judges hours, times, order and that nobody does two things at once.
pub(super) fn judge(case: &Case<'_>, jobs: &Jobs, found: &[Timed], changed: &[bool], faults: &mut Faults) {
    let change = case.facts.cutter.seconds[patchlay_plan::Event::ChangeBoard as usize];
    for (job, timed) in jobs.all.iter().zip(found) {
        let place = job.place();
        let helper = &case.hall.helpers[timed.helper];
        if timed.start < helper.from || helper.to.is_some_and(|to| timed.end > to) {
            let hours = match helper.to {
                Some(to) => format!("{} to {to}", helper.from),
                None => format!("{} or later", helper.from),
            };
            faults.add(FaultCode::TaskHours, &place, format!("{} to {}", timed.start, timed.end), hours);
        }
        let more = match job.on {
            On::Run(run) if job.work == Work::Crank && changed[run - 1] => change,
            _ => 0,
        };
        let lasts = case.hall.lasts(job.standard.saturating_add(more), helper.speed);
        faults.equal(FaultCode::TaskTime, &place, timed.end - timed.start, lasts);
        let ready = job.before.iter().map(|&before| found[before].end).max().unwrap_or(0);
        if timed.start < ready {
            faults.add(FaultCode::TaskTooEarly, place, timed.start, format!("{ready} or later"));
        }
    }
    for (at, helper) in case.hall.helpers.iter().enumerate() {
        let own = found.iter().filter(|timed| timed.helper == at);
        let most = most_at_once(own.map(|timed| (timed.start, timed.end, 1)));
        if most > 1 {
            faults.add(FaultCode::TaskTwice, format!("helper {}", helper.name), most, 1);
        }
    }
}
