//! `patchlay explain`: check a plan against the scenario that it holds, answer what sets its figures and what changes
//! would do, check every plan made on the way, print. Nothing is written.

use std::time::Instant;

use serde_json::json;

use crate::args::ExplainArgs;
use crate::plan::{checked, unplanned};
use crate::progress::Watch;
use crate::report::Failure;
use crate::{files, print, verify};

/// Explains a plan.
///
/// # Errors
/// The plan cannot be read or fails its check, or a plan made for an answer does.
pub(crate) fn run(wanted: &ExplainArgs) -> Result<(), Failure> {
    let plan = files::plan(&wanted.plan)?;
    patchlay_check::check_alone(&plan)
        .map_err(|faults| Failure::PlanFails(verify::messages(&faults, &wanted.plan)))?;
    let job = files::job_of(&plan, &wanted.plan)?;
    let begun = Instant::now();
    let watch = Watch::new(&job);
    let found = patchlay_optimise::explain::explain(&job, &plan, &wanted.search.options(), &watch);
    watch.done();
    let (explanation, made) = found.map_err(|error| unplanned(error, &wanted.plan))?;
    for made in &made {
        checked(&made.scenario, &made.plan, &wanted.plan)?;
    }
    if wanted.json {
        return print::json(&json!({ "exit_code": 0, "explanation": explanation }));
    }
    print::out(&patchlay_sheets::explain_terminal(&explanation, &plan, &job))?;
    let seconds = begun.elapsed().as_secs_f64();
    print::aside(&format!("Answered in {seconds:.1} s; {} plans made on the way, all checked.", made.len()));
    Ok(())
}
