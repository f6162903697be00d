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
    // One star in each of twelve quilts takes fewer passes than there are bags: some pass fills two of them.
    few["quilts"][0]["blocks"][0]["count"] = json!(1);
    few["quilts"][0]["copies"] = json!(12);
    few["group"]["bags"]["most_open"] = json!(1);
    let (ended, _) = planned(&few, folder.path(), "few", &[]);
    assert_eq!(ended.code, Some(1), "{}", ended.said());
    assert!(ended.err.contains("bags open at a time cannot be kept"), "{}", ended.err);
}

#[test]
fn a_replan_brings_the_hours_that_are_left() {
    let folder = tempfile::tempdir().unwrap();
    let (ended, out) = planned(&group(), folder.path(), "out", &[]);
    assert_eq!(ended.code, Some(0), "{}", ended.said());
    let file = out.join("plan.json");
    let day: Value = serde_json::from_str(&fs::read_to_string(out.join("day.json")).unwrap()).unwrap();
    let plan: Value = serde_json::from_str(&fs::read_to_string(&file).unwrap()).unwrap();
    let note = |words: &[&str]| {
        let all = ["record", file.to_str().unwrap()].into_iter().chain(words.iter().copied());
        let ended = run(all).unwrap();
        assert_eq!(ended.code, Some(0), "{words:?}: {}", ended.said());
    };
    let replan = |out: &Path, more: &[&str]| {
        let all = ["replan", file.to_str().unwrap(), "--out", out.to_str().unwrap()];
        run(all.into_iter().chain(more.iter().copied())).unwrap()
    };
    let run = &day["runs"][0];
    note(&["passes", run["layup"].as_str().unwrap(), &run["passes"].to_string()]);
    note(&["person", "Two"]);
    // Nobody can crank: the cards come all the same, and the way out is named.
    let to = folder.path().join("nobody");
    let ended = replan(&to, &[]);
    assert_eq!(ended.code, Some(0), "{}", ended.said());
    let said = ended.out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("nobody who is there can crank") && said.contains("record PLAN helper"), "{said}");
    assert!(!to.join("day.html").exists() && to.join("replan.html").exists());
    assert!(fs::read_to_string(to.join("replan.html")).unwrap().contains("hours could not be planned anew"));
    note(&["helper", "Three", "--can", "crank,lift_out,check_bags"]);
    let days: Vec<String> = ["1", "2", "8"]
        .iter()
        .map(|threads| {
            let to = folder.path().join(format!("threads-{threads}"));
            let ended = replan(&to, &["--threads", threads, "--starts", "10:15"]);
            assert_eq!(ended.code, Some(0), "{}", ended.said());
            fs::read_to_string(to.join("day.json")).unwrap()
        })
        .collect();
    assert!(days[0] == days[1] && days[0] == days[2], "the rest depends on the number of threads");
    let rest: Value = serde_json::from_str(&days[0]).unwrap();
    assert_eq!(rest["rest"]["starts"], json!(615));
    let passes = |day: &Value| -> u64 {
        day["runs"].as_array().unwrap().iter().filter_map(|run| run["passes"].as_u64()).sum()
    };
    assert_eq!(passes(&rest) + run["passes"].as_u64().unwrap(), passes(&day));
    let to = folder.path().join("threads-1");
    let replan_json: Value =
        serde_json::from_str(&fs::read_to_string(to.join("replan.json")).unwrap()).unwrap();
    assert_eq!(rest["plan"], replan_json["number"]);
    let page = fs::read_to_string(to.join("day.html")).unwrap();
    assert!(
        page.contains(rest["number"].as_str().unwrap()) && page.contains(plan["number"].as_str().unwrap())
    );
    let cards = fs::read_to_string(to.join("replan.html")).unwrap();
    assert!(cards.contains("Throw away all day sheets") && cards.contains(rest["number"].as_str().unwrap()));
    let early = replan(&folder.path().join("early"), &["--starts", "7:00"]);
    assert_eq!(early.code, Some(2), "{}", early.said());
    assert!(early.err.contains("before the day begins"), "{}", early.err);
}
