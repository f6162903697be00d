//! The schedule: every task once, by a helper who can, in time, in order, with what is there, and how early it could
//! end.

mod finish;
mod jobs;
mod shared;
mod stations;
mod tasks;

use patchlay_plan::day::Schedule;

use super::bags::Wanted;
use super::batches::Batches;
use super::lots::Sorted;
use super::runs::Resolved;
use super::{Case, figures};
use crate::fault::{FaultCode, Faults};
use jobs::Jobs;

/// What there is to do.
pub(super) struct Input<'a> {
    pub(super) runs: &'a [Resolved],
    pub(super) batches: &'a Batches<'a>,
    pub(super) lots: &'a Sorted,
    pub(super) bags: &'a [Wanted],
}

/// A task as it was found.
#[derive(Clone, Copy, Debug)]
struct Timed {
    helper: usize,
    start: u64,
    end: u64,
}

/// Judges the schedule; whether no schedule ends earlier.
pub(super) fn judge(case: &Case<'_>, input: &Input<'_>, faults: &mut Faults) -> bool {
    match (&case.day.schedule, case.hall.helpers.is_empty()) {
        (None, true) => false,
        (None, false) => {
            faults.add(FaultCode::ScheduleMissing, "schedule", "none", "one for the helpers");
            false
        }
        (Some(_), true) => {
            faults.add(FaultCode::ScheduleMissing, "schedule", "one", "none without helpers");
            false
        }
        (Some(schedule), false) => one(case, input, schedule, faults).unwrap_or(false),
    }
}

fn one(case: &Case<'_>, input: &Input<'_>, schedule: &Schedule, faults: &mut Faults) -> Option<bool> {
    let jobs = Jobs::of(case, input);
    let finish = schedule.tasks.iter().map(|task| task.end).max().unwrap_or(0);
    faults.equal(FaultCode::Finish, "schedule.finish", schedule.finish, finish);
    for more in schedule.one_more.iter().filter(|more| more.finish > schedule.finish) {
        let most = format!("at most {}", schedule.finish);
        faults.add(FaultCode::OneMore, format!("one more, {}", more.what), more.finish, most);
    }
    let found = tasks::resolve(case, &jobs, schedule, faults)?;
    let stations = stations::resolve(case, input, &jobs, schedule, faults)?;
    let changed = stations::judge(case, input, &jobs, &found, &stations, faults);
    figures::changes(case, changed.iter().filter(|changed| **changed).count() as u64, faults);
    tasks::judge(case, &jobs, &found, &changed, faults);
    shared::judge(case, input, &jobs, &found, faults);
    let bound = finish::bound(case, input, &jobs);
    if schedule.finish_at_least > bound.min(finish) {
        let most = format!("at most {}", bound.min(finish));
        faults.add(FaultCode::FinishBound, "schedule.finish_at_least", schedule.finish_at_least, most);
    }
    Some(schedule.finish_at_least == finish)
}
