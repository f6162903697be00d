//! Two hundred generated scenarios, planned on one, two and eight threads: the same bytes each time, and no plan that the
//! checker refuses. What the generator made impossible is refused for that reason, and nothing else is.

#![allow(clippy::unwrap_used, reason = "a test ends where something cannot be had")]

#[path = "../generated/mod.rs"]
mod generated;

use std::collections::BTreeSet;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Mutex;
use std::sync::atomic::{AtomicU64, Ordering};

use generated::{Generated, Hopeless, scenario};
use patchlay_optimise::{OptimiseError, Options, Quiet, optimise};
use patchlay_scenario::{Code, Job, LoadError, load};
use serde_json::Value;

/// How many scenarios are generated.
const SCENARIOS: u64 = 200;

/// How a scenario ended.
#[derive(Debug, PartialEq, Eq)]
enum End {
    Planned,
    /// With reasons, each with the name of its code where it has one.
    Infeasible(Vec<String>),
    Refused(String),
}

/// Loads a scenario and plans it on every number of threads.
fn end(case: &Generated) -> Result<End, String> {
    let job = match load(&case.text) {
        Ok((_, job)) => job.under(case.strategy),
        Err(LoadError::Bad(problems)) => {
            return Ok(End::Refused(problems.iter().map(ToString::to_string).collect()));
        }
        Err(LoadError::Impossible(problems)) => {
            return Ok(End::Infeasible(problems.iter().map(ToString::to_string).collect()));
        }
    };
    let mut ends = Vec::new();
    for threads in [1, 2, 8] {
        ends.push(on(&job, case, threads)?);
    }
    let (first, others) = ends.split_first().unwrap();
    if others.iter().any(|other| other != first) {
        return Err("the plan depends on the number of threads".to_owned());
    }
    Ok(match first {
        Ok(_) => End::Planned,
        Err(reasons) => End::Infeasible(reasons.clone()),
    })
}

/// Plans a job on so many threads and has the plan checked: its JSON, or why there is none.
fn on(job: &Job, case: &Generated, threads: usize) -> Result<Result<String, Vec<String>>, String> {
    let options = Options { effort: 1, threads: Some(threads), ..Options::default() };
    let plan = match optimise(job, &case.text, &options, &Quiet) {
        Ok(plan) => plan,
        Err(OptimiseError::Impossible(reasons)) => return Ok(Err(reasons)),
        Err(other) => return Err(format!("on {threads} threads: {other}")),
    };
    if plan.strategy != case.strategy {
        return Err("the plan states another strategy".to_owned());
    }
    if let Err(faults) = patchlay_check::check(&case.text, &plan) {
        let listed: Vec<String> = faults.iter().take(8).map(ToString::to_string).collect();
        return Err(format!("on {threads} threads: {} faults\n  {}", faults.len(), listed.join("\n  ")));
    }
    Ok(Ok(serde_json::to_string(&plan).unwrap()))
}

/// What is wrong with how a scenario ended, by what the generator knows of it.
fn wrong(hopeless: Option<&Hopeless>, end: &End) -> Option<String> {
    let (code, name) = match (hopeless, end) {
        // Refusals are counted.
        (_, End::Refused(_)) | (None, End::Planned) => return None,
        (None, End::Infeasible(reasons)) => return Some(format!("is said to be impossible: {reasons:?}")),
        (Some(hopeless), End::Planned) => return Some(format!("was planned in spite of {hopeless:?}")),
        (Some(Hopeless::NoBoard(shape)), _) => (Code::NoBoardCutsShape, shape),
        (Some(Hopeless::ShortStrips(fabric)), _) => (Code::NoAreaFitsFabric, fabric),
        (Some(Hopeless::OneHand(shape)), _) => (Code::HandNotCut, shape),
    };
    let End::Infeasible(reasons) = end else { return None };
    let named = |reason: &String| reason.contains(code.number()) && reason.contains(name.as_str());
    match reasons.as_slice() {
        [reason] if named(reason) => None,
        _ => Some(format!("{hopeless:?} is the only reason, but was told: {reasons:?}")),
    }
}

/// What came of one scenario.
struct Came {
    seed: u64,
    case: Generated,
    /// How it ended, or what went wrong.
    end: Result<End, String>,
}

fn one(seed: u64) -> Came {
    let case = scenario(seed);
    let end = catch_unwind(AssertUnwindSafe(|| end(&case))).unwrap_or_else(|_| Err("panicked".to_owned()));
    let end = end.and_then(|end| match wrong(case.hopeless.as_ref(), &end) {
        Some(wrong) => Err(wrong),
        None => Ok(end),
    });
    Came { seed, case, end }
}

/// All scenarios, two at a time, in the order of their seeds.
fn all() -> Vec<Came> {
    let (next, came) = (AtomicU64::new(0), Mutex::new(Vec::new()));
    std::thread::scope(|scope| {
        for _ in 0..2 {
            let _ = scope.spawn(|| {
                loop {
                    let seed = next.fetch_add(1, Ordering::Relaxed);
                    if seed >= SCENARIOS {
                        break;
                    }
                    let one = one(seed);
                    came.lock().unwrap().push(one);
                }
            });
        }
    });
    let mut came = came.into_inner().unwrap();
    came.sort_by_key(|came| came.seed);
    came
}

/// The generator is only good if it reaches everything that the format can say.
fn varied(came: &[Came]) {
    let planned = || came.iter().filter(|came| matches!(came.end, Ok(End::Planned)));
    let files: Vec<Value> = planned().map(|came| serde_json::from_str(&came.case.text).unwrap()).collect();
    let values = |pointer: &str| -> BTreeSet<String> {
        files.iter().filter_map(|file| file.pointer(pointer)).map(ToString::to_string).collect()
    };
    assert_eq!(values("/aim/put_first").len(), 5);
    assert_eq!(values("/rules/travel_rule").len(), 3);
    assert_eq!(values("/units").len(), 2);
    assert_eq!(values("/shapes/0/kind").len(), 7);
    let strategies: BTreeSet<_> =
        planned().map(|came| (came.case.strategy.loading, came.case.strategy.plies)).collect();
    assert_eq!(strategies.len(), 9);
    let counts = |list: &str| -> BTreeSet<usize> {
        files.iter().filter_map(|file| file[list].as_array().map(Vec::len)).collect()
    };
    assert_eq!(counts("fabrics"), BTreeSet::from([1, 2, 3, 4]));
    assert_eq!(counts("boards"), BTreeSet::from([1, 2, 3]));
    let hopeless: BTreeSet<_> = came
        .iter()
        .filter_map(|came| came.case.hopeless.as_ref())
        .map(std::mem::discriminant)
        .map(|kind| format!("{kind:?}"))
        .collect();
    assert_eq!(hopeless.len(), 3);
}

#[test]
fn generated_scenarios_are_planned_alike_on_all_numbers_of_threads() {
    let came = all();
    let count = |wanted: fn(&End) -> bool| {
        came.iter().filter_map(|came| came.end.as_ref().ok()).filter(|end| wanted(end)).count()
    };
    let planned = count(|end| matches!(end, End::Planned));
    let infeasible = count(|end| matches!(end, End::Infeasible(_)));
    let refused = count(|end| matches!(end, End::Refused(_)));
    println!("{planned} planned, {infeasible} infeasible, {refused} refused");
    let mut failures = String::new();
    for Came { seed, end, case } in &came {
        match end {
            Ok(End::Refused(why)) => println!("seed {seed} is refused: {why}"),
            Err(why) => failures += &format!("seed {seed} ({:?}): {why}\n{}\n", case.strategy, case.text),
            Ok(_) => {}
        }
    }
    assert!(failures.is_empty(), "{failures}");
    assert!(refused <= 2, "the generator writes too many scenarios that are none: {refused}");
    assert!((10..=30).contains(&infeasible), "{infeasible} are infeasible");
    varied(&came);
}

/// Writes the scenarios with how they end, for the checks against another solver (`tests/reference`).
#[test]
#[ignore = "writes files to the folder named by PATCHLAY_GENERATED"]
fn write_generated_scenarios() {
    let folder = std::path::PathBuf::from(std::env::var_os("PATCHLAY_GENERATED").unwrap());
    for seed in 0..SCENARIOS {
        let case = scenario(seed);
        let end = match load(&case.text) {
            Ok(_) => "planned",
            Err(LoadError::Impossible(_)) => "impossible",
            Err(LoadError::Bad(_)) => "refused",
        };
        std::fs::write(folder.join(format!("{seed:03}.{end}.json")), case.text).unwrap();
    }
}
