//! `patchlay replan`: check the plan, read its log, see what stays, plan what is missing, check that and the whole count,
//! write, print. A replan that fails a check is neither printed nor written.

use std::path::Path;

use patchlay_plan::Plan;
use patchlay_plan::replan::Replan;
use patchlay_record::log::{self, Log, LogError};
use patchlay_record::replan::{Half, mark};
use patchlay_scenario::Job;
use patchlay_sheets::PageOptions;
use serde_json::json;

use crate::args::ReplanArgs;
use crate::plan::{checked, unplanned, unprinted};
use crate::progress::Watch;
use crate::record::refused;
use crate::report::{Failure, Message, Ours};
use crate::{day, files, hours, print, verify, write};

/// Plans the rest.
///
/// # Errors
/// Plan or log cannot be read, what is missing cannot be met, a check fails, or the folder cannot be written.
pub(crate) fn run(wanted: &ReplanArgs) -> Result<(), Failure> {
    let plan = files::plan(&wanted.plan)?;
    patchlay_check::check_alone(&plan)
        .map_err(|faults| Failure::PlanFails(verify::messages(&faults, &wanted.plan)))?;
    let file = log::beside(&wanted.plan);
    let log = log::read(&file, &plan).map_err(|error| refused(error, &file))?;
    let all = patchlay_record::with_added(&plan, &log.entries);
    let job = files::job_of(&all, &wanted.plan)?;
    day::labels_fit(&job, wanted.paper(job.units), &wanted.plan)?;
    let folder = wanted.folder();
    write::possible(&folder, &write::REPLAN)?;
    let half = Half::new(&all, &job, &log).map_err(|what| Failure::our_fault(&what))?;
    for trouble in half.troubles() {
        print::aside(
            Message::of_record(&trouble, &file).text().replacen("error[", "look out[", 1).trim_end(),
        );
    }
    let supplement = half.supplement().map(|text| anew(wanted, &plan, text)).transpose()?;
    let made = supplement.as_ref().map(|anew| (&anew.plan, &anew.job));
    let replan = half
        .whole(made, env!("CARGO_PKG_VERSION"))
        .map_err(|error| Failure::our_fault(&error.to_string()))?;
    recounted(&plan, &log, &replan, &wanted.plan)?;
    let hours = hours::planned(wanted, (&plan, &log), &half, &replan)?;
    let options = PageOptions { left_handed: wanted.left_handed, paper: wanted.paper(job.units) };
    let page =
        patchlay_sheets::replan_page(&replan, &all, &job, made.map(|(_, job)| job), hours.said(), &options);
    let ours = |error: serde_json::Error| Failure::our_fault(&error.to_string());
    let mut texts =
        vec![("replan.html", page.map_err(unprinted)?), ("replan.json", replan.to_json().map_err(ours)?)];
    if let Some(anew) = &supplement {
        not_being_cut(&folder.join("supplement.json"), &anew.plan)?;
        texts.push(("supplement-scenario.json", anew.text.clone()));
        texts.push(("supplement.json", anew.plan.to_json().map_err(ours)?));
    }
    texts.extend(hours.texts(&replan, options.paper)?);
    let _ = write::folder(&folder, &write::REPLAN, &texts)?;
    if wanted.json {
        let troubles = half.troubles();
        return print::json(&json!({
            "exit_code": 0, "replan": replan, "troubles": troubles, "folder": folder.display().to_string(),
            "day": hours.day(), "no_day_because": hours.not(),
        }));
    }
    let names: Vec<&str> = texts.iter().map(|(name, _)| *name).collect();
    print::out(&(as_text(&replan, &job) + &hours.as_text() + &written(&folder, &names)))
}

/// What is cut anew.
struct Anew {
    text: String,
    job: Job,
    plan: Plan,
}

/// Plans the supplement, and checks it under the names that are printed.
fn anew(wanted: &ReplanArgs, plan: &Plan, text: String) -> Result<Anew, Failure> {
    let (_, job) = patchlay_scenario::load(&text).map_err(|error| {
        let missing = |problem: &patchlay_scenario::Problem| {
            let problem = format!("what is missing cannot be cut any more: {}", problem.problem);
            let hint = "the boards and mats that are whole do not do for it; bring others, or drop a quilt";
            Message::new(Ours::CannotBeMet, problem).about(&wanted.plan).hint(hint)
        };
        Failure::CannotBeMet(error.problems().iter().map(missing).collect())
    })?;
    let job = job.under(plan.strategy);
    let watch = Watch::new(&job);
    let found = patchlay_optimise::optimise(&job, &text, &wanted.search.options(), &watch);
    watch.done();
    let mut plan = found.map_err(|error| unplanned(error, &wanted.plan))?;
    mark(&mut plan).map_err(|error| Failure::our_fault(&error.to_string()))?;
    checked(&text, &plan, &wanted.plan)?;
    Ok(Anew { text, job, plan })
}

/// The count must hold.
fn recounted(plan: &Plan, log: &Log, replan: &Replan, file: &Path) -> Result<(), Failure> {
    patchlay_check::check_replan(plan, &log.entries, replan).map(drop).map_err(|faults| {
        let mut messages = verify::messages(&faults, file);
        if let Failure::OurFault(note) =
            Failure::our_fault("it made a replan that fails its own check; it was not kept")
        {
            messages.extend(note);
        }
        Failure::OurFault(messages)
    })
}

/// A plan that passes are noted of is not replaced by another.
///
/// # Errors
/// A log of another plan stands beside the file.
pub(crate) fn not_being_cut(file: &Path, plan: &Plan) -> Result<(), Failure> {
    let log = log::beside(file);
    match log::read(&log, plan) {
        Err(LogError::Refused(problem)) if problem.code == patchlay_record::Code::AnotherPlan => {
            let problem =
                format!("plan {} in this folder is being cut: its log stands beside it", problem.value);
            let hint = "name another folder with --out; or move the log away if nothing is cut from that plan any more";
            Err(Failure::bad(Message::new(Ours::SupplementInUse, problem).about(&log).hint(hint)))
        }
        // Whatever else is wrong with the log is told when it is used.
        _ => Ok(()),
    }
}

fn as_text(replan: &Replan, job: &Job) -> String {
    let mut text = match &replan.supplement {
        Some(plan) => format!("Supplement {} to plan {}\n", plan.number, replan.plan),
        None => format!("Changes to plan {}: nothing is cut anew\n", replan.plan),
    };
    let mut say = |label: &str, said: &[String]| {
        if !said.is_empty() {
            text.push_str(&print::wrapped(&format!("  {label}: "), &said.join(", ")));
        }
    };
    let kept = |layup: &str| replan.kept.iter().any(|kept| kept.layup == layup);
    let (crossed, away): (Vec<_>, Vec<_>) = replan.dropped.iter().partition(|lost| kept(&lost.layup));
    say("throw away the cards", &away.iter().map(|lost| lost.layup.clone()).collect::<Vec<_>>());
    for lost in crossed.iter().chain(&away) {
        for (passes, why) in patchlay_sheets::reasons(lost) {
            say(&format!("{}, not made: pass {}", lost.layup, passes.join(" ")), &[why]);
        }
    }
    let passes = |count: usize| if count == 1 { "1 pass".to_owned() } else { format!("{count} passes") };
    let kept = replan.kept.iter();
    let left: Vec<String> = kept
        .map(|kept| format!("{} ({})", kept.layup, patchlay_sheets::passes_named(&kept.passes)))
        .collect();
    say("keep", &left);
    say("done", &replan.done);
    if let Some(plan) = &replan.supplement {
        let new: Vec<String> = plan
            .layups
            .iter()
            .map(|layup| format!("{} ({})", layup.name, passes(layup.passes.len())))
            .collect();
        say("new cards", &new);
    }
    let taken: Vec<String> =
        replan.on_hand.iter().map(|taken| format!("{} from {}", taken.strip, taken.from.join(" "))).collect();
    say("strips taken from what is cut already", &taken);
    let buy: Vec<String> = replan
        .cloth
        .iter()
        .filter(|cloth| cloth.beyond > 0)
        .map(|cloth| format!("{} of {}", cloth.buy.show_cloth(job.units), cloth.fabric))
        .collect();
    say("buy on top", &buy);
    text
}

fn written(folder: &Path, names: &[&str]) -> String {
    print::wrapped("", &format!("Counted again, and written to {}: {}.", folder.display(), names.join(", ")))
}
