//! A group's day, planned beside its plan: bags, order of work, stations, money.

use std::path::Path;
use std::time::Instant;

use patchlay_group::DayError;
use patchlay_optimise::Listener;
use patchlay_optimise::Progress;
use patchlay_plan::Plan;
use patchlay_plan::day::Day;
use patchlay_scenario::{Code, Job, sheet};
use patchlay_sheets::Paper;

use crate::args::PlanArgs;
use crate::files::Loaded;
use crate::plan::{unplanned, unprinted};
use crate::progress::Watch;
use crate::report::{Failure, Message, Ours};
use crate::write;

/// The day of a group; nothing where the scenario has none. A time limit counts from `begun`, when the plan was.
///
/// # Errors
/// What the group asks for cannot be had, or our own faults.
pub(crate) fn planned(
    wanted: &PlanArgs,
    loaded: &Loaded,
    plan: &Plan,
    begun: Instant,
    watch: &Watch<'_>,
) -> Result<Option<Day>, Failure> {
    if loaded.job.group.is_none() {
        return Ok(None);
    }
    watch.event(&Progress::Phase { name: "bags, stations and hours".to_owned() });
    let mut search = wanted.options();
    let stop = || watch.stop() || search.time_limit.is_some_and(|limit| begun.elapsed() >= limit * 9 / 10);
    let options = patchlay_group::Options {
        seed: wanted.seed,
        effort: wanted.effort,
        one_more: true,
        threads: search.threads,
        stop: &stop,
    };
    let mut day = patchlay_group::plan_day(&loaded.job, plan, &options).map_err(|error| match error {
        DayError::Impossible(reasons) => {
            let message = |reason| Message::new(Ours::CannotBeMet, reason).about(&wanted.scenario);
            Failure::CannotBeMet(reasons.into_iter().map(message).collect())
        }
        other => Failure::our_fault(&other.to_string()),
    })?;
    patchlay_check::check_day(&loaded.text, plan, &day).map_err(|faults| {
        let mut failures = crate::verify::messages(&faults, &wanted.scenario);
        if let Failure::OurFault(note) =
            Failure::our_fault("it made a day that fails its own check; nothing was kept")
        {
            failures.extend(note);
        }
        Failure::OurFault(failures)
    })?;
    watch.event(&Progress::Phase { name: "every quilt alone, to compare".to_owned() });
    search.time_limit = search.time_limit.map(|limit| limit.saturating_sub(begun.elapsed()));
    day.alone = patchlay_optimise::alone(&loaded.scenario, plan, &search, watch)
        .map_err(|error| unplanned(error, &wanted.scenario))?;
    Ok(Some(day))
}

/// Labels must fit on the paper that is used; what fits on no paper was refused with the scenario.
///
/// # Errors
/// They reach past it.
pub(crate) fn labels_fit(job: &Job, paper: Paper, file: &Path) -> Result<(), Failure> {
    let Some(labels) = job.group.as_ref().and_then(|group| group.labels) else { return Ok(()) };
    let paper = match paper {
        Paper::Letter => sheet::LETTER,
        Paper::A4 => sheet::A4,
    };
    let message = |(field, problem, hint): (&str, String, String)| {
        let hint = format!("{hint}; or choose the paper with --paper");
        let mut message = Message::new(Ours::Typed, problem).about(file).hint(hint);
        message.code = Code::LabelsBeyondSheet.to_string();
        message.path = format!("group.labels.{field}");
        message
    };
    let found: Vec<Message> = sheet::beyond(&labels, &paper, job.units).into_iter().map(message).collect();
    if found.is_empty() { Ok(()) } else { Err(Failure::Bad(found)) }
}

/// What is written for a day.
///
/// # Errors
/// Our own faults: a planned day always prints.
pub(crate) fn texts(
    wanted: &PlanArgs,
    job: &Job,
    plan: &Plan,
    day: &Day,
) -> Result<Vec<write::Text>, Failure> {
    let paper = wanted.paper(job.units);
    let json = day.to_json().map_err(|error| Failure::our_fault(&error.to_string()))?;
    let page = patchlay_sheets::day_page(plan, day, job, paper).map_err(unprinted)?;
    let mut texts = vec![("day.html", page), ("day.json", json)];
    texts.extend(patchlay_sheets::labels_page(day, job, paper).map(|labels| ("labels.html", labels)));
    Ok(texts)
}
