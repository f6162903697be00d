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

/// Every demo but the largest: one answer to every question, no figure in the wrong units, no dependence on threads.
#[test]
fn every_question_is_answered() {
    for name in ["smallest", "crib-nine-patch", "crib-nine-patch-metric", "handed-half-rectangles"] {
        let (_folder, file) = planned(name);
        let [one, two] = ["1", "2"].map(|threads| explain(&file, &["--json", "--threads", threads]));
        assert_eq!((one.code, &one.out), (Some(0), &two.out), "{name}: {}", one.said());
        let told: Value = serde_json::from_str(&one.out).unwrap();
        let explanation: Explanation = serde_json::from_value(told["explanation"].clone()).unwrap();
        let fabrics = explanation.fabrics.len();
        assert_eq!((explanation.steps.len(), explanation.changes.len()), (fabrics, 2 + fabrics), "{name}");
        let text = explain(&file, &[]).out;
        let wrong = if name.ends_with("metric") { [" in ", " yd"] } else { [" cm", " m "] };
        let foreign = |line: &&str| wrong.iter().any(|unit| format!("{line} ").contains(&format!("1{unit}")));
        assert_eq!(text.lines().find(foreign), None, "{name}");
    }
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
