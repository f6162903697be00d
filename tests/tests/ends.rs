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

/// The files of a group's plan.
const ALL: [&str; 8] = [
    "day.html",
    "day.json",
    "labels.html",
    "layups.csv",
    "plan.json",
    "sheets.html",
    "shopping.csv",
    "strips.csv",
];

/// Every file of a plan, or none: never a part.
fn whole_or_nothing(folder: &Path) {
    let names = names_in(folder);
    let all = ALL;
    assert!(names.is_empty() || names == all, "{names:?}");
}

/// Plans a job that takes a while, with Ctrl-C after each of these waits.
#[cfg(unix)]
fn interrupted(out: &Path, waits: &[u64]) -> (std::process::ExitStatus, Ended) {
    let child = Command::new(program())
        .args(["plan", "--effort", "10", "--out"])
        .args([out, &demo("twelve-lap-quilts")])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    for wait in waits {
        std::thread::sleep(std::time::Duration::from_millis(*wait));
        let sent = Command::new("kill").args(["-INT", &child.id().to_string()]).status().unwrap();
        assert!(sent.success(), "the program had ended before Ctrl-C");
    }
    let output = child.wait_with_output().unwrap();
    (output.status, Ended::from(output))
}

#[cfg(unix)]
#[test]
fn the_first_ctrl_c_keeps_the_best_plan_so_far() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out");
    let (_, ended) = interrupted(&out, &[400]);
    assert_eq!(ended.code, Some(0), "{}", ended.said());
    assert!(ended.out.contains("stopped early") && ended.err.contains("Stopped after"), "{}", ended.said());
    assert_eq!(names_in(&out), ALL);
    let checked = run([Path::new("verify"), &demo("twelve-lap-quilts"), &out.join("plan.json")]).unwrap();
    assert_eq!(checked.code, Some(0), "{}", checked.said());
}

#[cfg(unix)]
#[test]
fn the_second_ctrl_c_ends_at_once() {
    use std::os::unix::process::ExitStatusExt;
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out");
    let (status, ended) = interrupted(&out, &[400, 10]);
    // On a fast machine the plan may be in its folder before the second one arrives.
    assert!(status.signal() == Some(2) || ended.code == Some(0), "{status:?} {}", ended.said());
    whole_or_nothing(&out);
}

#[cfg(target_os = "linux")]
#[test]
fn where_nothing_can_be_written_nothing_is_done() {
    // Nobody, not even the superuser, can make a folder there.
    let ended = plan(&demo("smallest"), Path::new("/proc/patchlay/out"), &[]).unwrap();
    assert_eq!(ended.code, Some(2), "{}", ended.said());
    assert!(ended.err.contains("error[R003]") && ended.err.contains("--out"), "{}", ended.err);
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_behind_the_output_does_not_lose_the_plan() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out");
    for json in [false, true] {
        let full = fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
        let mut command = Command::new(program());
        command.arg("plan").arg(demo("smallest")).arg("--out").arg(&out).stdout(full);
        if json {
            command.arg("--json");
        }
        let ended = Ended::from(command.output().unwrap());
        assert_eq!(ended.code, Some(2));
        let words: Vec<&str> = ended.err.split_whitespace().collect();
        assert!(json || words.join(" ").contains("the plan itself is whole"), "{}", ended.err);
        assert!(!ended.err.contains("nothing was done"), "{}", ended.err);
        assert_eq!(names_in(&out).len(), 5);
    }
}

#[cfg(unix)]
#[test]
fn a_scenario_may_come_through_a_pipe() {
    let folder = tempfile::tempdir().unwrap();
    let piped = fs::File::open(demo("smallest")).unwrap();
    let child = Command::new(program())
        .args(["plan", "/dev/stdin", "--out"])
        .arg(folder.path().join("out"))
        .stdin(piped)
        .output()
        .unwrap();
    assert_eq!(child.status.code(), Some(0), "{:?}", Ended::from(child));
}

#[test]
fn a_plan_of_nonsense_ends_in_a_message() {
    let folder = tempfile::tempdir().unwrap();
    assert_eq!(plan(&demo("smallest"), folder.path(), &[]).unwrap().code, Some(0));
    let good = fs::read_to_string(folder.path().join("plan.json")).unwrap();
    let mut turned: Value = serde_json::from_str(&good).unwrap();
    turned["layups"] = json!({"a": 1});
    let deep = "[".repeat(10_000);
    let huge = good.replacen("\"seed\": 1", "\"seed\": 1e400", 1);
    assert_ne!(huge, good);
    let half = &good[..good.len() / 2];
    let file = folder.path().join("nonsense");
    for text in ["", "null", "{}", "\u{0}", &deep, &huge, half, &turned.to_string(), &"x".repeat(1_000_000)] {
        fs::write(&file, text).unwrap();
        let ended = run([Path::new("verify"), &demo("smallest"), &file]).unwrap();
        assert_eq!(ended.code, Some(2), "{}", ended.said());
        assert!(ended.err.contains("error[R004]") && ended.said().len() < 2_000, "{}", ended.said());
    }
}

/// Every number of a plan, one after another, turned into absurd ones: the checker must judge, and never panic.
#[test]
fn absurd_numbers_in_a_plan_are_faults() {
    let folder = tempfile::tempdir().unwrap();
    assert_eq!(plan(&demo("smallest"), folder.path(), &[]).unwrap().code, Some(0));
    let good: Value =
        serde_json::from_str(&fs::read_to_string(folder.path().join("plan.json")).unwrap()).unwrap();
    let file = folder.path().join("absurd");
    for part in ["fabrics", "layups", "figures", "patches", "balance"] {
        for number in [json!(-1), json!(i64::MAX), json!(u64::MAX), json!(i64::MIN)] {
            let mut absurd = good.clone();
            assert!(replace_numbers(&mut absurd[part], &number) > 0, "{part} holds no number");
            fs::write(&file, absurd.to_string()).unwrap();
            let ended = run([Path::new("verify"), &demo("smallest"), &file]).unwrap();
            assert!(matches!(ended.code, Some(2 | 3)), "{part} {number}: {:?} {}", ended.code, ended.said());
        }
    }
}

/// Puts `number` in the place of every number; how many there were.
fn replace_numbers(value: &mut Value, number: &Value) -> usize {
    match value {
        Value::Number(_) => {
            *value = number.clone();
            1
        }
        // What may outgrow a JSON number is written as text.
        Value::String(text) if text.parse::<i128>().is_ok() => {
            *value = json!(number.to_string());
            1
        }
        Value::Array(items) => items.iter_mut().map(|item| replace_numbers(item, number)).sum(),
        Value::Object(fields) => fields.values_mut().map(|field| replace_numbers(field, number)).sum(),
        _ => 0,
    }
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
