//! Plans explained, end to end: every question is answered, in text and as JSON, and what is no sound plan is refused as
//! `verify` refuses it.

#![allow(clippy::unwrap_used, reason = "a test ends where something cannot be had")]

use std::ffi::OsStr;
use std::fs;
use std::path::{Path, PathBuf};

use patchlay_plan::explain::Explanation;
use patchlay_tests::{Ended, demo, plan, run};
use serde_json::Value;

/// A folder with the plan of a demo in it.
fn planned(name: &str) -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let ended = plan(&demo(name), folder.path(), &["--effort", "1"]).unwrap();
    assert_eq!(ended.code, Some(0), "{}", ended.said());
    let file = folder.path().join("plan.json");
    (folder, file)
}

fn explain(file: &Path, options: &[&str]) -> Ended {
    run([OsStr::new("explain"), file.as_os_str()].into_iter().chain(options.iter().map(OsStr::new))).unwrap()
}

/// The stars' figures by hand stand in the optimiser's tests; here they must be said.
#[test]
fn the_stars_are_explained_in_words() {
    let (_folder, file) = planned("star-hand-check");
    let ended = explain(&file, &[]);
    assert_eq!(ended.code, Some(0), "{}", ended.said());
    let said = ended.out.split_whitespace().collect::<Vec<_>>().join(" ");
    for words in [
        "star board: 25 passes of at most 6 plies",
        "full: position 1: 150 plies, 25 full stacks; no room is left",
        "room: position 2: 120 plies, 20 full stacks; 30 plies more would fit",
        "One more ply, 7 (the maker's instructions decide",
        "22 passes (3 less)",
        "Light 1/2 in narrower:",
        "no plan can do with it",
        "A step more saves no pass: proved.",
    ] {
        assert!(said.contains(words), "{words:?} is not said:\n{}", ended.out);
    }
    assert!(ended.out.lines().all(|line| line.chars().count() <= 100), "{}", ended.out);
    assert!(ended.err.contains("all checked"), "{}", ended.err);
}

/// The answer as JSON; one for every question.
fn answered(name: &str, threads: &str) -> String {
    let (_folder, file) = planned(name);
    let ended = explain(&file, &["--json", "--threads", threads]);
    assert_eq!(ended.code, Some(0), "{name}: {}", ended.said());
    let told: Value = serde_json::from_str(&ended.out).unwrap();
    let explanation: Explanation = serde_json::from_value(told["explanation"].clone()).unwrap();
    let fabrics = explanation.fabrics.len();
    assert_eq!((explanation.steps.len(), explanation.changes.len()), (fabrics, 2 + fabrics), "{name}");
    ended.out
}

#[test]
fn every_question_is_answered_and_threads_change_nothing() {
    for name in ["smallest", "crib-nine-patch"] {
        assert_eq!(answered(name, "1"), answered(name, "2"), "{name}");
    }
}

/// A proof block is asked for here, and patches have a hand.
#[test]
fn a_plan_with_a_proof_block_is_explained() {
    let _ = answered("handed-half-rectangles", "2");
}

#[test]
fn metric_answers_have_no_inches() {
    let (_folder, file) = planned("crib-nine-patch-metric");
    let said = explain(&file, &[]).out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains(" 1 cm narrower: ") && said.contains(" m bought;"), "{said}");
    let foreign = [" yd", " in,", " in;", " in.", " in)", " in narrower", " sq in"];
    assert!(!foreign.iter().any(|foreign| said.contains(foreign)), "{said}");
}

/// What `verify` says of a file, `explain` says too, but for where the scenario is.
#[test]
fn what_is_no_sound_plan_is_refused_as_verify_refuses_it() {
    let (folder, file) = planned("smallest");
    let good = fs::read_to_string(&file).unwrap();
    let mut damaged: Value = serde_json::from_str(&good).unwrap();
    damaged["figures"]["passes"] = 99.into();
    let mut renamed: Value = serde_json::from_str(&good).unwrap();
    renamed["scenario"]["fabrics"][0]["name"] = "Red".into();
    let scenario = fs::read_to_string(demo("smallest")).unwrap();
    let wrong = folder.path().join("wrong.json");
    // A plan whose echo was changed is told otherwise where the file of the scenario is at hand.
    for (text, code, alike) in [
        (damaged.to_string(), 3, true),
        (renamed.to_string(), 3, false),
        (good[..good.len() / 2].to_owned(), 2, true),
        (scenario, 2, true),
        (String::new(), 2, true),
    ] {
        fs::write(&wrong, &text).unwrap();
        let ended = explain(&wrong, &[]);
        assert_eq!(ended.code, Some(code), "{}", ended.said());
        assert!(ended.out.is_empty() && !ended.err.contains("panicked"), "{}", ended.said());
        if alike {
            let verified = run([Path::new("verify"), &demo("smallest"), &wrong]).unwrap();
            assert_eq!((verified.code, verified.err), (ended.code, ended.err));
        }
    }
    let missing = explain(&folder.path().join("none.json"), &["--json"]);
    assert_eq!(missing.code, Some(2));
    assert!(missing.out.contains("R001"), "{}", missing.out);
}
