//! `patchlay plan`: load, optimise, check, write, print. A plan that fails the check is neither printed nor written.

use std::path::Path;
use std::time::Instant;

use patchlay_optimise::OptimiseError;
use patchlay_plan::{Outcome, Plan};
use patchlay_scenario::Job;
use patchlay_scenario::lists::ListKind;
use patchlay_sheets::{PageOptions, SheetError};
use serde_json::{Value, json};

use crate::args::PlanArgs;
use crate::files::Loaded;
use crate::progress::Watch;
use crate::replan::not_being_cut;
use crate::report::{Failure, Message, Ours};
use crate::{day, files, print, verify, write};

/// Plans a scenario.
///
/// # Errors
/// The scenario cannot be read or met, the folder cannot be written, or the plan fails its check.
pub(crate) fn run(wanted: &PlanArgs) -> Result<(), Failure> {
    let lists = [
        (ListKind::Fabrics, &wanted.fabrics),
        (ListKind::Quilts, &wanted.quilts),
        (ListKind::Demand, &wanted.demand),
    ];
    let lists: Vec<(ListKind, &Path)> =
        lists.into_iter().filter_map(|(kind, file)| Some((kind, file.as_deref()?))).collect();
    let mut loaded = files::scenario_with(&wanted.scenario, &lists)?;
    let strategy = wanted.strategy();
    let most = loaded.job.cutter.ply_limit;
    if let Some(limit) = strategy.ply_limit.filter(|&limit| limit > most) {
        let problem = format!("--ply-limit {limit} is more than the {most} plies that the cutter takes");
        let hint = "leave it away, or state a lower one";
        return Err(Failure::bad(Message::new(Ours::PlyLimit, problem).about(&wanted.scenario).hint(hint)));
    }
    loaded.job = loaded.job.under(strategy);
    day::labels_fit(&loaded.job, wanted.paper(loaded.job.units), &wanted.scenario)?;
    let folder = wanted.folder();
    write::possible(&folder, &write::NAMES)?;
    let begun = Instant::now();
    let watch = Watch::new(&loaded.job);
    let planned = planned(wanted, &loaded, &watch);
    let planned = planned.and_then(|plan| Ok((day::planned(wanted, &loaded, &plan, begun, &watch)?, plan)));
    watch.done();
    let (day, plan) = planned?;
    let seconds = begun.elapsed().as_secs_f64();
    not_being_cut(&folder.join("plan.json"), &plan)?;
    let mut texts = texts(wanted, &loaded.job, &plan)?;
    let mut summary = patchlay_sheets::terminal(&plan, &loaded.job).map_err(unprinted)?;
    if !lists.is_empty() {
        // What was planned is in no single file of the user's: it is kept beside the plan, to verify and to plan again.
        texts.push(("scenario.json", loaded.text.clone()));
    }
    if let Some(day) = &day {
        texts.extend(day::texts(wanted, &loaded.job, &plan, day)?);
        summary.push('\n');
        summary.push_str(&patchlay_sheets::day_terminal(day, &loaded.job));
    }
    let taken_away = write::folder(&folder, &write::NAMES, &texts)?;
    let names: Vec<&str> = texts.iter().map(|(name, _)| *name).collect();
    let written = Written { folder: &folder, names, taken_away };
    if wanted.json {
        return print::json(&written.json(&plan)).map_err(|failure| written.unsaid(failure));
    }
    print::out(&format!("{summary}\n{}", written.text())).map_err(|failure| written.unsaid(failure))?;
    // The one line that differs from run to run stays off standard output.
    print::aside(&match plan.outcome {
        Outcome::Stopped => {
            format!("Stopped after {seconds:.1} s; the best plan so far was checked and kept.")
        }
        Outcome::Proved | Outcome::WithGap => format!("Planned and checked in {seconds:.1} s."),
    });
    Ok(())
}

/// The checked plan.
fn planned(wanted: &PlanArgs, loaded: &Loaded, watch: &Watch<'_>) -> Result<Plan, Failure> {
    let mut options = wanted.options();
    if loaded.job.group.is_some() {
        // The day comes out of the same time.
        options.time_limit = options.time_limit.map(|limit| limit / 2);
    }
    let found = patchlay_optimise::optimise(&loaded.job, &loaded.text, &options, watch);
    let mut plan = found.map_err(|error| unplanned(error, &wanted.scenario))?;
    if let Some(group) = &loaded.job.group {
        plan = patchlay_group::resupplied(&loaded.job, group, &plan);
    }
    checked(&loaded.text, &plan, &wanted.scenario)?;
    Ok(plan)
}

/// A plan of ours must pass the check.
pub(crate) fn checked(text: &str, plan: &Plan, scenario: &Path) -> Result<(), Failure> {
    match patchlay_check::check(text, plan) {
        Ok(_) => Ok(()),
        Err(faults) => {
            let mut failures = verify::messages(&faults, scenario);
            if let Failure::OurFault(note) =
                Failure::our_fault("it made a plan that fails its own check; the plan was not kept")
            {
                failures.extend(note);
            }
            Err(Failure::OurFault(failures))
        }
    }
}

/// Why there is no plan.
pub(crate) fn unplanned(error: OptimiseError, scenario: &Path) -> Failure {
    match error {
        OptimiseError::Impossible(reasons) => {
            let message = |reason| Message::new(Ours::CannotBeMet, reason).about(scenario);
            Failure::CannotBeMet(reasons.into_iter().map(message).collect())
        }
        OptimiseError::Stopped => Failure::bad(
            Message::new(Ours::Stopped, "the search was stopped before it had found a plan")
                .about(scenario)
                .hint("give it more time, or leave --time-limit away"),
        ),
        OptimiseError::Internal(what) => Failure::our_fault(&what),
    }
}

/// Everything that is written for a plan.
fn texts(wanted: &PlanArgs, job: &Job, plan: &Plan) -> Result<Vec<write::Text>, Failure> {
    let json = plan.to_json().map_err(|error| Failure::our_fault(&error.to_string()))?;
    let page = |left_handed| {
        let options = PageOptions { left_handed, paper: wanted.paper(job.units) };
        patchlay_sheets::page(plan, job, &options).map_err(unprinted)
    };
    let mut texts = vec![
        ("plan.json", json),
        ("sheets.html", page(false)?),
        ("shopping.csv", patchlay_sheets::csv_shopping(plan, job).map_err(unprinted)?),
        ("strips.csv", patchlay_sheets::csv_strips(plan, job).map_err(unprinted)?),
        ("layups.csv", patchlay_sheets::csv_layups(plan, job).map_err(unprinted)?),
    ];
    if wanted.left_handed {
        texts.push(("sheets-left-handed.html", page(true)?));
    }
    Ok(texts)
}

/// A checked plan always prints; if it does not, the program is at fault.
pub(crate) fn unprinted(error: SheetError) -> Failure {
    Failure::our_fault(&error.to_string())
}

/// What was written, and where.
struct Written<'a> {
    folder: &'a Path,
    names: Vec<&'a str>,
    taken_away: Vec<&'static str>,
}

impl Written<'_> {
    /// For people.
    fn text(&self) -> String {
        let folder = self.folder.display();
        let mut text =
            print::wrapped("", &format!("Checked, and written to {folder}: {}.", self.names.join(", ")));
        if !self.taken_away.is_empty() {
            let names = self.taken_away.join(", ");
            text.push_str(&print::wrapped("", &format!("Taken away, because of an earlier plan: {names}.")));
        }
        text
    }

    /// The plan is in its folder, but the summary could not be printed.
    fn unsaid(&self, failure: Failure) -> Failure {
        let Failure::Bad(mut messages) = failure else { return failure };
        for message in &mut messages {
            let folder = self.folder.display();
            message.problem.push_str(&format!("; the plan itself is whole, in {folder}"));
        }
        Failure::HalfDone(messages)
    }

    /// For programs.
    fn json(&self, plan: &Plan) -> Value {
        json!({
            "outcome": plan.outcome,
            "exit_code": 0,
            "number": plan.number,
            "seed": plan.seed,
            "figures": plan.figures,
            "bounds": plan.bounds,
            "folder": self.folder.display().to_string(),
            "written": self.names,
            "taken_away": self.taken_away,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_plan_of_our_own_that_fails_the_check_is_our_fault() {
        let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../scenarios/smallest.json");
        let text = std::fs::read_to_string(&file).unwrap();
        let (_, job) = patchlay_scenario::load(&text).unwrap();
        let options = patchlay_optimise::Options { effort: 1, ..patchlay_optimise::Options::default() };
        let mut plan = patchlay_optimise::optimise(&job, &text, &options, &patchlay_optimise::Quiet).unwrap();
        assert!(checked(&text, &plan, &file).is_ok());
        plan.figures.passes += 1;
        assert_eq!(checked(&text, &plan, &file).unwrap_err().exit_code(), 4);
    }
}
