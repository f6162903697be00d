//! A group's day, end to end.

#![allow(clippy::unwrap_used, reason = "a test ends where something cannot be had")]

use std::fs;
use std::path::{Path, PathBuf};

use patchlay_tests::{Ended, demo, run};
use serde_json::{Value, json};

/// Six stars in each of two quilts, cut by three people.
fn group() -> Value {
    let text = fs::read_to_string(demo("star-hand-check")).unwrap();
    let mut scenario: Value = serde_json::from_str(&text).unwrap();
    let mut quilt = scenario["quilts"][0].clone();
    quilt["blocks"][0]["count"] = json!(6);
    quilt["copies"] = json!(2);
    scenario["quilts"] = json!([quilt]);
    scenario["group"] = json!({
        "bags": { "by": "quilt", "spares": "one_bag" },
        "helpers": [
            { "name": "One", "can": ["press", "strips", "fold"] },
            { "name": "Two", "can": ["fold", "crank"], "speed_percent": 110 },
            { "name": "Three", "can": ["lift_out", "check_bags"] }
        ]
    });
    scenario
}

fn planned(scenario: &Value, folder: &Path, out: &str, more: &[&str]) -> (Ended, PathBuf) {
    let (file, out) = (folder.join("group.json"), folder.join(out));
    fs::write(&file, scenario.to_string()).unwrap();
    let mut words: Vec<&Path> = vec![Path::new("plan"), &file, Path::new("--out"), &out];
    words.extend(more.iter().map(Path::new));
    (run(&words).unwrap(), out)
}

#[test]
fn the_same_scenario_gives_the_same_day_whatever_the_threads_and_it_verifies() {
    let folder = tempfile::tempdir().unwrap();
    let days: Vec<String> = ["1", "2", "8"]
        .into_iter()
        .map(|threads| {
            let (ended, out) = planned(&group(), folder.path(), threads, &["--threads", threads]);
            assert_eq!(ended.code, Some(0), "{}", ended.said());
            fs::read_to_string(out.join("day.json")).unwrap()
        })
        .collect();
    assert!(days[0] == days[1] && days[0] == days[2], "the day depends on the number of threads");
    let out = folder.path().join("1");
    let (file, plan, day) = (folder.path().join("group.json"), out.join("plan.json"), out.join("day.json"));
    let words: [&Path; 5] = [Path::new("verify"), &file, &plan, Path::new("--day"), &day];
    let verified = run(words).unwrap();
    assert_eq!(verified.code, Some(0), "{}", verified.said());
    assert!(verified.out.contains("passes the check: 2 bags"), "{}", verified.out);
    let mut changed: Value = serde_json::from_str(&days[0]).unwrap();
    changed["lots"][0]["to"][0]["patches"] = json!(1);
    fs::write(&day, changed.to_string()).unwrap();
    assert_eq!(run(words).unwrap().code, Some(3));
}

#[test]
fn what_cannot_be_had_is_said() {
    let folder = tempfile::tempdir().unwrap();
    let mut short = group();
    short["group"]["helpers"][0]["to"] = json!("9:10");
    let (ended, _) = planned(&short, folder.path(), "short", &[]);
    assert_eq!(ended.code, Some(1), "{}", ended.said());
    assert!(ended.err.contains("hours do not suffice"), "{}", ended.err);
    let mut few = group();
    // Ten squares are two passes of a stack of six at least, and one tray serves both: one run cuts for both bags.
    few["quilts"][0]["blocks"][0]["count"] = json!(1);
    few["group"]["bags"]["most_open"] = json!(1);
    let (ended, _) = planned(&few, folder.path(), "few", &[]);
    assert_eq!(ended.code, Some(1), "{}", ended.said());
    assert!(ended.err.contains("bags open at a time cannot be kept"), "{}", ended.err);
}
