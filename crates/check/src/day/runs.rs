//! Runs: every pass once, no more than a tray holds, the proof block first.

use std::collections::BTreeMap;

use patchlay_plan::day::Run;

use super::Case;
use crate::fault::{FaultCode, Faults};

/// A run with its lay-up resolved.
#[derive(Clone, Copy, Debug)]
pub(super) struct Resolved {
    pub(super) layup: usize,
    /// First pass, from 1.
    pub(super) first: u64,
    pub(super) passes: u64,
}

/// Judges the runs; none if what is cut when cannot be told from them.
pub(super) fn judge(case: &Case<'_>, faults: &mut Faults) -> Option<Vec<Resolved>> {
    let names = case.layups.iter().enumerate().map(|(at, layup)| (layup.plan.name.as_str(), at));
    let names: BTreeMap<&str, usize> = names.collect();
    let mut runs = Vec::new();
    for (at, run) in case.day.runs.iter().enumerate() {
        let place = format!("run {}", at + 1);
        let layup = names.get(run.layup.as_str()).filter(|layup| is_of(run, case.layups[**layup].passes));
        let Some(&layup) = layup else {
            let name = format!("{}, {} from {}", run.layup, run.passes, run.first);
            faults.add(FaultCode::RunUnknown, place, name, "passes of a lay-up");
            continue;
        };
        if run.passes > case.hall.passes_a_tray {
            let most = format!("at most {}", case.hall.passes_a_tray);
            faults.add(FaultCode::RunTooLong, &place, run.passes, most);
        }
        runs.push(Resolved { layup, first: run.first, passes: run.passes });
    }
    if runs.len() < case.day.runs.len() || !cover(case, &runs, faults) {
        return None;
    }
    proof_first(case, &runs, faults);
    Some(runs)
}

/// Whether a run is of the first so many passes.
fn is_of(run: &Run, passes: u64) -> bool {
    let end = run.first.checked_add(run.passes);
    run.first > 0 && run.passes > 0 && end.is_some_and(|end| end - 1 <= passes)
}

/// Whether every pass is in one run.
fn cover(case: &Case<'_>, runs: &[Resolved], faults: &mut Faults) -> bool {
    let index = |pass: u64| usize::try_from(pass - 1).unwrap_or(usize::MAX);
    let mut well = true;
    let mut refuse = |place: String, found: String| {
        faults.add(FaultCode::RunCover, place, found, "each pass in one run");
        well = false;
    };
    let mut made: Vec<Vec<bool>> =
        case.layups.iter().map(|layup| vec![false; layup.plan.passes.len()]).collect();
    // What is made or dropped stands in no run any more.
    for (at, made) in made.iter_mut().enumerate().filter(|_| case.rest.is_some()) {
        let kept = |pass: usize| case.rest.is_some_and(|rest| rest.kept.contains(&(at, pass)));
        made.iter_mut().enumerate().for_each(|(pass, made)| *made = !kept(pass));
    }
    for (at, run) in runs.iter().enumerate() {
        let own = &mut made[run.layup][index(run.first)..index(run.first + run.passes)];
        if own.contains(&true) {
            refuse(format!("run {}", at + 1), "passes that are made already".to_owned());
        }
        own.fill(true);
    }
    for (layup, made) in case.layups.iter().zip(&made) {
        let left = made.iter().filter(|made| !**made).count();
        if left > 0 {
            refuse(format!("lay-up {}", layup.plan.name), format!("{left} passes in no run"));
        }
    }
    well
}

fn proof_first(case: &Case<'_>, runs: &[Resolved], faults: &mut Faults) {
    let first = case.plan.proof_block.as_ref().map_or(0, |proof| proof.layups);
    let mut others = false;
    for (at, run) in runs.iter().enumerate() {
        if run.layup >= first {
            others = true;
        } else if others {
            let name = &case.layups[run.layup].plan.name;
            faults.add(FaultCode::RunProof, format!("run {}", at + 1), name, "before all others");
        }
    }
}
