//! The hours of a group's day that are left, planned anew with a replan.

use std::path::Path;

use patchlay_group::{DayError, plan_rest};
use patchlay_optimise::{Listener, Progress};
use patchlay_plan::Plan;
use patchlay_plan::day::Day;
use patchlay_plan::replan::Replan;
use patchlay_record::log::Log;
use patchlay_record::replan::{Begun, Half, HoursError};
use patchlay_sheets::{Hours, Paper};

use crate::args::ReplanArgs;
use crate::plan::unprinted;
use crate::progress::Watch;
use crate::report::{Failure, Message, Ours};
use crate::{files, print, verify, write};

/// What became of the hours.
pub(crate) enum Left {
    /// There are none to plan.
    None,
    /// The rest of the day; `labels` where bags have other numbers or names than before.
    Anew { begun: Box<Begun>, day: Box<Day>, labels: bool },
    /// Why they cannot be planned. The cards are good all the same.
    Not(Vec<String>),
}

/// Plans what is left of the day, and checks it.
///
/// # Errors
/// It would begin before the day, or our own faults. What cannot be had is no error: the cards are needed all the same.
pub(crate) fn planned(
    wanted: &ReplanArgs,
    (plan, log): (&Plan, &Log),
    half: &Half<'_>,
    replan: &Replan,
) -> Result<Left, Failure> {
    let before = before(&wanted.plan, plan);
    let begun = match half.begun(replan, before.as_ref(), wanted.starts) {
        Ok(Some(begun)) => begun,
        Ok(None) => return Ok(Left::None),
        Err(HoursError::BeforeTheDay(starts)) => {
            let problem = format!("--starts is before the day begins, at {}:{:02}", starts / 60, starts % 60);
            let hint = "say when the rest of the day begins, as a time of its first day";
            return Err(Failure::bad(Message::new(Ours::Typed, problem).hint(hint)));
        }
        Err(HoursError::NobodyLeft) => {
            let why = "everybody who was listed has gone: say who helps with 'patchlay record PLAN helper', and replan again";
            return Ok(Left::Not(vec![why.to_owned()]));
        }
        Err(HoursError::Quilts(error)) => {
            return Ok(Left::Not(error.problems().iter().map(|problem| problem.problem.clone()).collect()));
        }
    };
    let watch = Watch::new(&begun.job);
    watch.event(&Progress::Phase { name: "the rest of the day".to_owned() });
    let stop = || watch.stop();
    let options = patchlay_group::Options {
        seed: wanted.search.seed,
        effort: wanted.search.effort,
        one_more: true,
        threads: wanted.search.options().threads,
        stop: &stop,
    };
    let found = plan_rest(&begun.job, &begun.plan, &begun.rest, &options);
    watch.done();
    let day = match found {
        Ok(day) => day,
        Err(DayError::Impossible(reasons)) => return Ok(Left::Not(reasons)),
        Err(other) => return Err(Failure::our_fault(&other.to_string())),
    };
    patchlay_check::check_rest(plan, &log.entries, replan, &day).map_err(|faults| {
        let mut messages = verify::messages(&faults, &wanted.plan);
        if let Failure::OurFault(note) =
            Failure::our_fault("it made the rest of a day that fails its own check; nothing was kept")
        {
            messages.extend(note);
        }
        Failure::OurFault(messages)
    })?;
    let names = |day: &Day| day.bags.iter().map(|bag| bag.name.clone()).collect::<Vec<_>>();
    let labels = before.as_ref().map(names) != Some(names(&day));
    Ok(Left::Anew { begun: Box::new(begun), day: Box::new(day), labels })
}

/// The day as it was planned with the plan, where its file stands beside the plan.
pub(crate) fn before(file: &Path, plan: &Plan) -> Option<Day> {
    let file = file.with_file_name("day.json");
    let day = file.is_file().then(|| files::day(&file).ok()).flatten();
    day.filter(|day| day.plan == plan.number && day.rest.is_none())
}

impl Left {
    /// The rest of the day.
    pub(crate) fn day(&self) -> Option<&Day> {
        match self {
            Self::Anew { day, .. } => Some(day),
            Self::None | Self::Not(_) => None,
        }
    }

    /// Why there is none.
    pub(crate) fn not(&self) -> &[String] {
        match self {
            Self::Not(reasons) => reasons,
            Self::None | Self::Anew { .. } => &[],
        }
    }

    /// For the sheets.
    pub(crate) fn said(&self) -> Hours<'_> {
        match self {
            Self::None => Hours::None,
            Self::Anew { day, .. } => Hours::Anew(day),
            Self::Not(reasons) => Hours::Not(reasons),
        }
    }

    /// For the terminal.
    pub(crate) fn as_text(&self) -> String {
        match self {
            Self::None => String::new(),
            Self::Anew { begun, day, .. } => {
                format!("\n{}\n", patchlay_sheets::day_terminal(day, &begun.job))
            }
            Self::Not(reasons) => {
                let reason = |reason: &String| {
                    print::wrapped("  ", &format!("the hours are not planned anew: {reason}"))
                };
                reasons.iter().map(reason).collect()
            }
        }
    }

    /// What is written.
    ///
    /// # Errors
    /// Our own faults: a planned day always prints.
    pub(crate) fn texts(&self, replan: &Replan, paper: Paper) -> Result<Vec<write::Text>, Failure> {
        let Self::Anew { begun, day, labels } = self else { return Ok(Vec::new()) };
        let json = day.to_json().map_err(|error| Failure::our_fault(&error.to_string()))?;
        let page = patchlay_sheets::rest_page(replan, &begun.plan, day, &begun.job, paper);
        let page = page.map_err(unprinted)?;
        let mut texts = vec![("day.html", page), ("day.json", json)];
        let page = labels.then(|| patchlay_sheets::labels_page(day, &begun.job, paper)).flatten();
        texts.extend(page.map(|labels| ("labels.html", labels)));
        Ok(texts)
    }
}
