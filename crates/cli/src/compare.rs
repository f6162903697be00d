//! `patchlay compare`: plan every strategy and the curve, check every plan, write, print. A comparison with a plan that
//! fails the check is neither printed nor written.

use std::time::Instant;

use patchlay_optimise::compare::{Made, compare, strategies};
use patchlay_optimise::in_pool;
use rayon::prelude::*;
use serde_json::json;

use crate::args::CompareArgs;
use crate::plan::{checked, unplanned, unprinted};
use crate::progress::Watch;
use crate::report::Failure;
use crate::{files, print, write};

/// Compares the strategies of a scenario.
///
/// # Errors
/// The scenario cannot be read, the folder cannot be written, or a plan fails its check.
pub(crate) fn run(wanted: &CompareArgs) -> Result<(), Failure> {
    let loaded = files::scenario(&wanted.scenario)?;
    let folder = wanted.folder();
    write::possible(&folder, &write::COMPARISON)?;
    let begun = Instant::now();
    let job = &loaded.job;
    let watch = Watch::new(job);
    let strategies = strategies(job, wanted.every_limit);
    let options = wanted.search.options();
    let found = compare(job, &loaded.text, &strategies, &options, &watch);
    watch.done();
    let (comparison, made) = found.map_err(|error| unplanned(error, &wanted.scenario))?;
    let check = |made: &Made| checked(&made.scenario, &made.plan, &wanted.scenario);
    let all = in_pool(&options, || Ok(made.par_iter().map(check).collect::<Vec<_>>()));
    // The first fault in the order of the plans is told, whichever was found first.
    all.map_err(|error| unplanned(error, &wanted.scenario))?.into_iter().collect::<Result<Vec<()>, _>>()?;
    let seconds = begun.elapsed().as_secs_f64();
    let texts = vec![
        ("compare.html", patchlay_sheets::compare_page(&comparison, job, wanted.paper(job.units))),
        ("compare.csv", patchlay_sheets::csv_compare(&comparison, job).map_err(unprinted)?),
        ("compare.json", comparison.to_json().map_err(|error| Failure::our_fault(&error.to_string()))?),
    ];
    let _ = write::folder(&folder, &write::COMPARISON, &texts)?;
    let names: Vec<&str> = texts.iter().map(|(name, _)| *name).collect();
    if wanted.json {
        return print::json(&json!({
            "exit_code": 0,
            "comparison": comparison,
            "folder": folder.display().to_string(),
            "written": names,
        }));
    }
    let file = wanted.scenario.display().to_string();
    let mut text = patchlay_sheets::compare_terminal(&comparison, job, &file);
    text.push('\n');
    text.push_str(&print::wrapped(
        "",
        &format!("{} plans checked; written to {}: {}.", made.len(), folder.display(), names.join(", ")),
    ));
    print::out(&text)?;
    print::aside(&format!("Compared and checked in {seconds:.1} s."));
    Ok(())
}
