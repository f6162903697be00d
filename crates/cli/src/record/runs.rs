//! Passes as a group makes them: run by run, by the numbers on the sheets of the day. Runs of one lay-up are not always in
//! the order of its passes, and every pass fills bags of its own, so the next passes of a lay-up are those of its next run.

use std::path::Path;

use patchlay_plan::Plan;
use patchlay_plan::day::Day;
use patchlay_plan::record::{Fewer, Note};
use patchlay_record::log::{self, Log, LogError};
use patchlay_record::{Code, State};
use patchlay_scenario::Job;

use super::{now, refused, told, typed};
use crate::args::{Noted, RecordArgs};
use crate::report::{Failure, Message, Ours};
use crate::{files, hours, print};

/// Most times that a record is made anew because somebody else noted the same passes meanwhile.
const TRIES: usize = 100;

/// Notes a run, or the next passes of a lay-up.
///
/// # Errors
/// There is no such run, its passes are made, or the log does not take the record.
pub(super) fn run(wanted: &RecordArgs, plan: &Plan, job: &Job) -> Result<(), Failure> {
    let file = log::beside(&wanted.plan);
    let mut tries = 0;
    loop {
        let log = log::read(&file, plan).map_err(|error| refused(error, &file))?;
        let (note, said) = note(wanted, plan, job, &log)?;
        let when = (wanted.at.unwrap_or_else(now), wanted.who.clone());
        let sound = |log: &Log, entry: &_| patchlay_record::sound(plan, job, log, entry);
        match log::append(&file, plan, when, note, sound) {
            Ok(written) => {
                told(wanted, &written, &file, job)?;
                return match said {
                    Some(said) if !wanted.json => print::out(&print::wrapped("", &said)),
                    _ => Ok(()),
                };
            }
            // Somebody has noted these passes since the log was read: the next ones are meant.
            Err(LogError::Refused(problem)) if problem.code == Code::PassMadeTwice && tries < TRIES => {
                tries += 1;
            }
            Err(error) => return Err(refused(error, &file)),
        }
    }
}

/// What was typed as a record, and what to say of the run besides.
fn note(wanted: &RecordArgs, plan: &Plan, job: &Job, log: &Log) -> Result<(Note, Option<String>), Failure> {
    let made = |layup: &str| -> Result<Option<Vec<bool>>, Failure> {
        let (state, _) = State::of(plan, job, &log.entries).map_err(|what| Failure::our_fault(&what))?;
        let at = plan.layups.iter().position(|known| known.name == layup);
        Ok(at.map(|at| state.made[at].iter().map(Option::is_some).collect()))
    };
    let fewer = |plies: &[String]| plies.iter().map(|text| typed::fewer(text)).collect::<Result<Vec<_>, _>>();
    match &wanted.what {
        Noted::Run { run, passes, plies, day } => {
            let day = match day {
                Some(file) => Some(named(file, &wanted.plan, plan)?),
                None => followed(&wanted.plan, plan),
            };
            let Some(day) = day else {
                let problem = "no day of this plan stands beside it, so runs have no numbers";
                let hint = "name the day.json with --day, or note the passes of the lay-up: 'patchlay record PLAN passes L1 3'";
                return Err(Failure::bad(Message::new(Ours::Typed, problem).about(&wanted.plan).hint(hint)));
            };
            of_run(&day, *run, *passes, fewer(plies)?, made)
        }
        Noted::Passes { layup, passes, plies, .. } => {
            let plain =
                Note::Passes { layup: layup.clone(), passes: *passes, first: None, fewer: fewer(plies)? };
            let Some(day) = followed(&wanted.plan, plan) else { return Ok((plain, None)) };
            match made(layup)? {
                Some(made) => Ok((next(&day, &made, plain)?, None)),
                None => Ok((plain, None)),
            }
        }
        _ => Err(Failure::our_fault("a word that names no passes was taken for passes")),
    }
}

/// The passes of a run.
fn of_run(
    day: &Day,
    number: usize,
    wanted: Option<u64>,
    fewer: Vec<Fewer>,
    made: impl Fn(&str) -> Result<Option<Vec<bool>>, Failure>,
) -> Result<(Note, Option<String>), Failure> {
    let refuse = |problem: String, hint: &str| Failure::bad(Message::new(Ours::Typed, problem).hint(hint));
    let Some(run) = number.checked_sub(1).and_then(|at| day.runs.get(at)) else {
        let problem = format!("day {} has runs 1 to {}, not {number}", day.number, day.runs.len());
        return Err(refuse(
            problem,
            "look at the number of the day and of the run on the sheet of the station",
        ));
    };
    let Some(made) = made(&run.layup)? else {
        let problem = format!("run {number} is of lay-up {}, which is none of this plan's", run.layup);
        let hint = "a supplement is a plan of its own: note its passes with 'patchlay record replan/supplement.json passes', \
                    and in this plan the patches that they cut with 'patches-found'";
        return Err(refuse(problem, hint));
    };
    let open: Vec<u64> = (run.first..run.first.saturating_add(run.passes))
        .filter(|pass| {
            let at = usize::try_from(pass.saturating_sub(1)).ok();
            at.and_then(|at| made.get(at)) == Some(&false)
        })
        .collect();
    let all = open.len() as u64;
    let count = wanted.unwrap_or(all);
    if all == 0 || count > all {
        let problem = match all {
            0 => format!("the passes of run {number} are all noted as made"),
            _ => format!("run {number} has {all} passes left, and {count} are noted"),
        };
        return Err(refuse(problem, "look at the sheet; if something was noted twice, undo that record"));
    }
    let taken = &open[..usize::try_from(count).unwrap_or(open.len())];
    let Some(first) = in_a_row(taken) else {
        let problem = format!("of run {number} passes are made in between, so the rest is not in a row");
        let hint = format!("note them one by one: 'patchlay record PLAN passes {} --first PASS'", run.layup);
        return Err(refuse(problem, &hint));
    };
    let said = match all - count {
        0 => format!("Run {number} of day {} is done.", day.number),
        1 => format!("Run {number} of day {}: 1 pass is left.", day.number),
        left => format!("Run {number} of day {}: {left} passes are left.", day.number),
    };
    Ok((Note::Passes { layup: run.layup.clone(), passes: count, first: Some(first), fewer }, Some(said)))
}

/// The next passes of a lay-up in the order of the day's runs.
fn next(day: &Day, made: &[bool], plain: Note) -> Result<Note, Failure> {
    let Note::Passes { layup, passes, fewer, .. } = &plain else { return Ok(plain) };
    let mut open: Vec<(usize, u64)> = (1..=made.len() as u64)
        .zip(made)
        .filter(|(_, made)| !**made)
        .map(|(pass, _)| {
            let holds = |run: &patchlay_plan::day::Run| {
                run.layup == *layup && pass >= run.first && pass - run.first < run.passes
            };
            (day.runs.iter().position(holds).unwrap_or(usize::MAX), pass)
        })
        .collect();
    open.sort_unstable();
    let count = usize::try_from(*passes).unwrap_or(usize::MAX);
    // What is wrong with the number is told by the log.
    if count == 0 || count > open.len() {
        return Ok(plain);
    }
    let taken = &open[..count];
    let mut numbers: Vec<u64> = taken.iter().map(|(_, pass)| *pass).collect();
    numbers.sort_unstable();
    if let Some(first) = in_a_row(&numbers) {
        return Ok(Note::Passes {
            layup: layup.clone(),
            passes: *passes,
            first: Some(first),
            fewer: fewer.clone(),
        });
    }
    let mut runs: Vec<String> = taken.iter().map(|(run, _)| run.saturating_add(1).to_string()).collect();
    runs.dedup();
    let problem = format!(
        "the next {passes} passes of {layup} are in runs {} of day {}, and they are not in a row",
        runs.join(", "),
        day.number
    );
    let hint = format!("say which run was made: 'patchlay record PLAN run {}'", runs[0]);
    Err(Failure::bad(Message::new(Ours::Typed, problem).hint(hint)))
}

/// The first of passes that follow each other without a gap.
fn in_a_row(passes: &[u64]) -> Option<u64> {
    let first = *passes.first()?;
    passes.iter().zip(first..).all(|(pass, next)| *pass == next).then_some(first)
}

/// The day that is followed: the rest of it where a replan of this plan stands in its folder, or else the day beside the
/// plan.
pub(super) fn followed(file: &Path, plan: &Plan) -> Option<Day> {
    let rest = file.with_file_name("replan").join("day.json");
    let rest = rest.is_file().then(|| named(&rest, file, plan).ok()).flatten();
    rest.or_else(|| hours::before(file, plan))
}

/// A day that was named; it must be of this plan, or of the replan beside it.
fn named(file: &Path, beside: &Path, plan: &Plan) -> Result<Day, Failure> {
    let day = files::day(file)?;
    let of = match day.rest {
        None => day.plan == plan.number,
        Some(_) => files::text(&file.with_file_name("replan.json"), "replan")
            .ok()
            .and_then(|text| patchlay_plan::replan::Replan::from_json(&text).ok())
            .is_some_and(|replan| replan.plan == plan.number && replan.number == day.plan),
    };
    if of {
        return Ok(day);
    }
    let problem = format!("day {} is not of plan {} in {}", day.number, plan.number, beside.display());
    let hint = "name the day.json that stands beside the plan, or in the folder of its replan";
    Err(Failure::bad(Message::new(Ours::NotAPlan, problem).about(file).hint(hint)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn passes_in_a_row_are_told_from_others() {
        assert_eq!(in_a_row(&[7, 8, 9]), Some(7));
        assert_eq!(in_a_row(&[4]), Some(4));
        assert_eq!(in_a_row(&[1, 3]), None);
        assert_eq!(in_a_row(&[]), None);
    }
}
