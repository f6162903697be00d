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

fn record(plan: &Path, words: &[&str]) -> Ended {
    let words = [Path::new("record"), plan].into_iter().chain(words.iter().map(Path::new));
    run(words).unwrap()
}

/// The passes of a lay-up that a log notes, in its order: first and how many.
fn noted(plan: &Path) -> Vec<(String, u64, u64)> {
    let shown: Value = serde_json::from_str(&record(plan, &["show", "--json"]).out).unwrap();
    let one = |entry: &Value| {
        let note = &entry["note"];
        let number = |what: &str| note[what].as_u64().unwrap();
        (note["layup"].as_str().unwrap().to_owned(), number("first"), number("passes"))
    };
    shown["records"].as_array().unwrap().iter().map(one).collect()
}

/// Where a group with two passes to a tray is planned, and its day.
fn of_small_trays(folder: &Path) -> (PathBuf, Value) {
    let mut scenario = group();
    scenario["group"]["equipment"] = json!({ "passes_a_tray": 2 });
    let (ended, out) = planned(&scenario, folder, "out", &["--effort", "1"]);
    assert_eq!(ended.code, Some(0), "{}", ended.said());
    let day = serde_json::from_str(&fs::read_to_string(out.join("day.json")).unwrap()).unwrap();
    (out, day)
}

#[test]
fn runs_are_noted_by_their_numbers_and_passes_in_the_order_of_runs() {
    let folder = tempfile::tempdir().unwrap();
    let (out, mut day) = of_small_trays(folder.path());
    let (plan, file) = (out.join("plan.json"), out.join("day.json"));
    // The last run of the lay-up that has most of them comes first; the numbers of the day say so and nothing else.
    let runs = day["runs"].as_array_mut().unwrap();
    let last =
        runs.iter().rposition(|run| runs.iter().filter(|other| other["layup"] == run["layup"]).count() > 2);
    let moved = runs.remove(last.unwrap());
    runs.insert(0, moved.clone());
    let (layup, first) = (moved["layup"].as_str().unwrap().to_owned(), moved["first"].as_u64().unwrap());
    let long = moved["passes"].as_u64().unwrap();
    assert!(first > 1);
    fs::write(&file, day.to_string()).unwrap();

    let ended = record(&plan, &["passes", &layup, "1"]);
    assert_eq!(ended.code, Some(0), "{}", ended.said());
    let mut expected = vec![(layup.clone(), first, 1)];
    assert_eq!(noted(&plan), expected);
    if long > 1 {
        let ended = record(&plan, &["run", "1"]);
        assert!(ended.code == Some(0) && ended.out.contains("Run 1 of day"), "{}", ended.said());
        expected.push((layup.clone(), first + 1, long - 1));
    }
    assert_eq!(noted(&plan), expected);
    let refused = record(&plan, &["run", "1"]);
    assert!(refused.code == Some(2) && refused.err.contains("run 1 are all noted"), "{}", refused.said());
    let refused = record(&plan, &["run", "999"]);
    assert!(refused.code == Some(2) && refused.err.contains("has runs 1 to"), "{}", refused.said());

    let second = day["runs"][1].clone();
    let ended = record(&plan, &["run", "2", "--passes", "1"]);
    assert_eq!(ended.code, Some(0), "{}", ended.said());
    expected.push((second["layup"].as_str().unwrap().to_owned(), second["first"].as_u64().unwrap(), 1));
    assert_eq!(noted(&plan), expected);

    assert_eq!(record(&plan, &["tally"]).code, Some(0));
    let page = fs::read_to_string(out.join("tally.html")).unwrap();
    let number = day["number"].as_str().unwrap();
    assert!(
        page.contains(&format!("Runs of day {number}")) && page.contains(">run 2<"),
        "the tally lists no runs"
    );
}

#[test]
fn passes_of_several_runs_that_are_not_in_a_row_are_not_guessed() {
    let folder = tempfile::tempdir().unwrap();
    let (out, mut day) = of_small_trays(folder.path());
    let (plan, file) = (out.join("plan.json"), out.join("day.json"));
    let runs = day["runs"].as_array_mut().unwrap();
    let layup = runs[0]["layup"].clone();
    runs.retain(|run| run["layup"] == layup);
    runs.sort_by_key(|run| run["first"].as_u64());
    assert!(runs.len() > 2, "{runs:?}");
    let count = (runs[0]["passes"].as_u64().unwrap() + 1).to_string();
    let last = runs.pop().unwrap();
    runs.insert(1, last);
    fs::write(&file, day.to_string()).unwrap();
    let refused = record(&plan, &["passes", layup.as_str().unwrap(), &count]);
    assert!(refused.code == Some(2) && refused.err.contains("record PLAN run 1"), "{}", refused.said());
}

#[test]
fn a_finish_after_midnight_is_said_in_words() {
    let folder = tempfile::tempdir().unwrap();
    let mut scenario = group();
    scenario["group"]["day"] = json!({ "starts": "23:55" });
    let (ended, _) = planned(&scenario, folder.path(), "out", &["--effort", "1"]);
    assert_eq!(ended.code, Some(0), "{}", ended.said());
    let words = ended.out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("o'clock on day 2"), "{words}");
}

#[test]
fn hours_that_do_not_suffice_are_told_with_who_is_short() {
    let folder = tempfile::tempdir().unwrap();
    let mut scenario = group();
    scenario["group"]["helpers"][1]["can"] = json!(["crank"]);
    scenario["group"]["helpers"][1]["to"] = json!("9:10");
    let (ended, _) = planned(&scenario, folder.path(), "out", &["--effort", "1"]);
    assert_eq!(ended.code, Some(1), "{}", ended.said());
    let words = ended.err.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("those who crank are short (Two until 9:10)"), "{words}");
}

#[test]
fn labels_must_fit_on_the_paper_that_is_chosen() {
    let folder = tempfile::tempdir().unwrap();
    let mut scenario = group();
    // Letter is 8 1/2 in wide, A4 8.27 in.
    scenario["group"]["labels"] = json!({ "rows": 5, "columns": 1, "width": "8 3/8", "height": "2" });
    let (ended, out) = planned(&scenario, folder.path(), "out", &["--paper", "a4"]);
    assert_eq!(ended.code, Some(2), "{}", ended.said());
    assert!(ended.err.contains("S909") && ended.err.contains("A4"), "{}", ended.err);
    assert!(!out.exists());
}

#[test]
fn the_rest_of_a_day_begins_within_two_days() {
    let folder = tempfile::tempdir().unwrap();
    let plan = folder.path().join("plan.json");
    let ended = run([Path::new("replan"), &plan, Path::new("--starts"), Path::new("48:00")]).unwrap();
    assert!(ended.code == Some(2) && ended.err.contains("not a time of day"), "{}", ended.said());
    let ended = run([Path::new("replan"), &plan, Path::new("--starts"), Path::new("47:59")]).unwrap();
    assert!(!ended.err.contains("not a time of day"), "{}", ended.said());
}
