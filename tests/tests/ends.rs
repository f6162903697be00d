//! How the program ends: exit codes, messages, and what is left on the disk.

#![allow(clippy::unwrap_used, reason = "a test ends where something cannot be had")]

use std::fs;
use std::io::Read;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use patchlay_tests::{Ended, demo, names_in, plan, program, run};
use serde_json::{Value, json};

fn smallest() -> Value {
    serde_json::from_str(&fs::read_to_string(demo("smallest")).unwrap()).unwrap()
}

/// Writes a scenario and plans it; also answers what is in the output folder afterwards.
fn planned(folder: &Path, text: &str, options: &[&str]) -> (Ended, Vec<String>) {
    let file = folder.join("scenario.json");
    fs::write(&file, text).unwrap();
    let out = folder.join("out");
    let ended = plan(&file, &out, options).unwrap();
    assert!(!ended.said().contains("panicked"), "{}", ended.said());
    assert!(!ended.said().contains("RUST_BACKTRACE"), "{}", ended.said());
    (ended, names_in(&out))
}

/// The errors of a run with `--json`.
fn errors(ended: &Ended) -> Vec<Value> {
    let told: Value = serde_json::from_str(&ended.out).unwrap();
    assert_eq!(told["exit_code"], json!(ended.code));
    told["errors"].as_array().unwrap().clone()
}

fn refused(text: &str) -> Vec<Value> {
    let folder = tempfile::tempdir().unwrap();
    let (ended, left) = planned(folder.path(), text, &["--json"]);
    assert_eq!(ended.code, Some(2), "{}", ended.said());
    assert!(left.is_empty(), "{left:?}");
    let list = errors(&ended);
    assert!(!list.is_empty());
    for error in &list {
        assert!(
            !error["code"].as_str().unwrap().is_empty() && !error["problem"].as_str().unwrap().is_empty()
        );
    }
    list
}

#[test]
fn usage_errors_end_with_2_and_help_with_0() {
    for words in [vec![], vec!["plan"], vec!["nonsense"], vec!["plan", "a.json", "--effort", "99"]] {
        assert_eq!(run(&words).unwrap().code, Some(2), "{words:?}");
    }
    for words in [["--help"], ["--version"]] {
        let ended = run(words).unwrap();
        assert_eq!(ended.code, Some(0));
        assert!(!ended.out.is_empty());
    }
}

#[test]
fn missing_files_and_folders_end_with_2() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out");
    for wrong in [folder.path().join("none.json"), folder.path().to_path_buf()] {
        assert_eq!(plan(&wrong, &out, &[]).unwrap().code, Some(2));
        assert!(names_in(&out).is_empty());
    }
    assert_eq!(run([Path::new("verify"), &demo("smallest"), &out]).unwrap().code, Some(2));
}

#[test]
fn all_errors_are_told_at_once() {
    let mut scenario = smallest();
    scenario["cutter"]["bed_width"] = json!("0.1 in");
    scenario["fabrics"][0].as_object_mut().unwrap().remove("usable_width");
    scenario["boards"][0]["widht"] = json!("11");
    scenario["loose_patches"][0]["shape"] = json!("sqare 4");
    scenario["rules"].as_object_mut().unwrap().remove("travel_rule");
    let list = refused(&scenario.to_string());
    let places: Vec<&str> = list.iter().map(|error| error["path"].as_str().unwrap()).collect();
    for place in ["cutter.bed_width", "fabrics[0]", "boards[0]", "loose_patches[0].shape", "rules"] {
        assert!(places.iter().any(|path| path.starts_with(place)), "{place} is not among {places:?}");
    }
    let said = serde_json::to_string(&list).unwrap();
    assert!(said.contains("square 4") && said.contains("width"), "no nearest name is offered: {said}");
}

#[test]
fn syntax_errors_name_line_and_column() {
    let list = refused("{\n  \"patchlay_scenario\": 1,,\n}\n");
    assert_eq!((list[0]["line"].as_u64(), list[0]["column"].is_u64()), (Some(2), true), "{list:?}");
}

#[test]
fn nonsense_ends_in_a_message() {
    let deep = "[".repeat(10_000);
    let closed = format!("{}{}", "[".repeat(10_000), "]".repeat(10_000));
    let huge = smallest().to_string().replace("\"42\"", "1e999999");
    let digits = smallest().to_string().replace("\"42\"", &format!("\"{}\"", "9".repeat(5_000)));
    let fraction = smallest().to_string().replace("\"42\"", "\"42 1/0\"");
    for text in
        ["", "null", "[]", "{}", "\u{0}", "\u{feff}{", "\"text\"", &deep, &closed, &huge, &digits, &fraction]
    {
        refused(text);
    }
}

#[test]
fn a_file_that_is_not_text_ends_in_a_message() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("picture.json");
    fs::write(&file, [0x89, b'P', b'N', b'G', 0xff, 0xfe, 0x00]).unwrap();
    assert_eq!(plan(&file, &folder.path().join("out"), &[]).unwrap().code, Some(2));
}

#[test]
fn a_hundred_megabytes_end_in_a_message() {
    let folder = tempfile::tempdir().unwrap();
    let text = format!("{{\"patchlay_scenario\": 1, \"name\": \"{}\"}}", "x".repeat(100_000_000));
    let (ended, left) = planned(folder.path(), &text, &[]);
    assert_eq!(ended.code, Some(2));
    assert!(left.is_empty() && ended.said().len() < 10_000);
}

#[test]
fn a_demand_that_cannot_be_met_ends_with_1_and_the_reason() {
    let mut no_board = smallest();
    no_board["shapes"]
        .as_array_mut()
        .unwrap()
        .push(json!({"name": "hexagon 2", "kind": "hexagon", "side": "2"}));
    no_board["loose_patches"]
        .as_array_mut()
        .unwrap()
        .push(json!({"shape": "hexagon 2", "fabric": "Blue", "count": 3}));
    let mut narrow = smallest();
    narrow["fabrics"][0]["usable_width"] = json!("4");
    for (scenario, word) in [(no_board, "hexagon 2"), (narrow, "Blue")] {
        let folder = tempfile::tempdir().unwrap();
        let (ended, left) = planned(folder.path(), &scenario.to_string(), &["--json"]);
        assert_eq!(ended.code, Some(1), "{}", ended.said());
        assert!(left.is_empty());
        assert!(errors(&ended).iter().any(|error| error.to_string().contains(word)), "{}", ended.said());
    }
}

#[test]
fn a_plan_that_fails_the_check_ends_with_3() {
    let folder = tempfile::tempdir().unwrap();
    assert_eq!(plan(&demo("smallest"), folder.path(), &[]).unwrap().code, Some(0));
    let file = folder.path().join("plan.json");
    let mut damaged: Value = serde_json::from_str(&fs::read_to_string(&file).unwrap()).unwrap();
    let passes = damaged["figures"]["passes"].as_u64().unwrap();
    damaged["figures"]["passes"] = json!(passes + 1);
    fs::write(&file, damaged.to_string()).unwrap();
    let ended = run([Path::new("verify"), &demo("smallest"), &file]).unwrap();
    assert_eq!(ended.code, Some(3), "{}", ended.said());
}

#[test]
fn a_plan_of_another_scenario_ends_with_3() {
    let folder = tempfile::tempdir().unwrap();
    assert_eq!(plan(&demo("smallest"), folder.path(), &[]).unwrap().code, Some(0));
    let mut changed = smallest();
    changed["loose_patches"][0]["count"] = json!(17);
    let other = folder.path().join("other.json");
    fs::write(&other, changed.to_string()).unwrap();
    let ended = run([PathBuf::from("verify"), other, folder.path().join("plan.json")]).unwrap();
    assert_eq!(ended.code, Some(3), "{}", ended.said());
}

#[test]
fn an_output_folder_that_cannot_be_leaves_everything_alone() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("in-the-way");
    fs::write(&file, "mine").unwrap();
    assert_eq!(plan(&demo("smallest"), &file, &[]).unwrap().code, Some(2));
    assert_eq!(fs::read_to_string(&file).unwrap(), "mine");
    assert_eq!(names_in(folder.path()), ["in-the-way"]);
}

#[test]
fn a_failed_run_leaves_the_plan_before_it() {
    let folder = tempfile::tempdir().unwrap();
    let (first, left) = planned(folder.path(), &smallest().to_string(), &[]);
    assert_eq!(first.code, Some(0), "{}", first.said());
    let before = fs::read_to_string(folder.path().join("out/plan.json")).unwrap();
    let (second, after) = planned(folder.path(), "{", &[]);
    assert_eq!((second.code, &after), (Some(2), &left));
    assert_eq!(fs::read_to_string(folder.path().join("out/plan.json")).unwrap(), before);
}

#[test]
fn a_closed_pipe_is_silent() {
    for words in [["sizes", "twelve-lap-quilts"], ["codes", ""], ["schema", "scenario"]] {
        let mut command = Command::new(program());
        command.arg(words[0]);
        match words {
            ["sizes", name] => drop(command.arg(demo(name))),
            [_, ""] => {}
            [_, word] => drop(command.arg(word)),
        }
        let mut child = command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        drop(child.stdout.take());
        let mut said = String::new();
        child.stderr.take().unwrap().read_to_string(&mut said).unwrap();
        assert_eq!(child.wait().unwrap().code(), Some(0), "{words:?}");
        assert_eq!(said, "", "{words:?}");
    }
}
