//! What the README shows is true: its scenario loads, its output is what the program prints, its picture is of a real
//! plan, and nothing is left unexplained. Set `PATCHLAY_REWRITE` to write output and picture anew after a change,
//! and look at the difference.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on should stop")]

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use patchlay_plan::Plan;
use serde_json::Value;

const SCENARIO: &str = "queen-churn-dash";
const COMPARED: &str = "scenarios/crib-nine-patch.json";
const GROUP: &str = "scenarios/twelve-lap-quilts.json";
const PICTURE: &str = "scenarios/pictures/queen-churn-dash.svg";
/// The lay-up in the picture.
const LAYUP: &str = "L2";

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn scenario() -> PathBuf {
    root().join(format!("scenarios/{SCENARIO}.json"))
}

fn readme() -> String {
    fs::read_to_string(root().join("README.md")).unwrap()
}

fn rewrite() -> bool {
    std::env::var_os("PATCHLAY_REWRITE").is_some()
}

/// The text inside the first fenced block that opens with `fence` after `after`.
fn block<'a>(text: &'a str, after: &str, fence: &str) -> &'a str {
    let from = text.find(after).unwrap_or_else(|| panic!("the README lacks {after:?}"));
    let open = from + text[from..].find(fence).unwrap() + fence.len();
    let close = open + text[open..].find("```").unwrap();
    &text[open..close]
}

fn run(words: &[&str], folder: &Path) -> Output {
    Command::new(env!("CARGO_BIN_EXE_patchlay")).args(words).current_dir(folder).output().unwrap()
}

/// Plans the README's scenario in an empty folder; answers what was printed, and the plan.
fn planned() -> (String, Plan) {
    let folder = tempfile::tempdir().unwrap();
    let ended = run(&["plan", scenario().to_str().unwrap()], folder.path());
    assert!(ended.status.success(), "{}", String::from_utf8_lossy(&ended.stderr));
    let file = folder.path().join("out").join(SCENARIO).join("plan.json");
    (String::from_utf8(ended.stdout).unwrap(), Plan::from_json(&fs::read_to_string(file).unwrap()).unwrap())
}

/// Compares the strategies of the README's other scenario in a folder that is laid out as this one; answers what was
/// printed.
fn compared() -> String {
    let folder = tempfile::tempdir().unwrap();
    fs::create_dir(folder.path().join("scenarios")).unwrap();
    fs::copy(root().join(COMPARED), folder.path().join(COMPARED)).unwrap();
    let ended = run(&["compare", COMPARED], folder.path());
    assert!(ended.status.success(), "{}", String::from_utf8_lossy(&ended.stderr));
    String::from_utf8(ended.stdout).unwrap()
}

/// Plans the README's group with little effort; answers the part of what was printed that tells of the day.
fn day() -> String {
    let folder = tempfile::tempdir().unwrap();
    let group = root().join(GROUP);
    let ended = run(&["plan", group.to_str().unwrap(), "--effort", "1"], folder.path());
    assert!(ended.status.success(), "{}", String::from_utf8_lossy(&ended.stderr));
    let printed = String::from_utf8(ended.stdout).unwrap();
    let from = printed.find("The day, number").unwrap();
    let to = from + printed[from..].find("\nChecked").unwrap();
    printed[from..to].to_owned()
}

/// The README with an output in its place; else the output must be what stands there.
fn with_output(text: &str, after: &str, printed: &str) -> String {
    let shown = block(text, after, "```text\n");
    assert!(rewrite() || shown == printed, "the README shows\n{shown}\nbut the program prints\n{printed}");
    let from = text.find(after).unwrap();
    let at = from + text[from..].find("```text\n").unwrap() + "```text\n".len();
    format!("{}{printed}{}", &text[..at], &text[at + shown.len()..])
}

#[test]
fn output_and_picture_are_of_this_program() {
    let (printed, plan) = planned();
    let text = with_output(&readme(), "It prints", &printed);
    let text = with_output(&text, "It compares", &compared());
    let text = with_output(&text, "The summary ends with the day", &day());
    if rewrite() {
        fs::write(root().join("README.md"), &text).unwrap();
    }
    let (_, job) = patchlay_scenario::load(&fs::read_to_string(scenario()).unwrap()).unwrap();
    let layup = plan.layups.iter().position(|layup| layup.name == LAYUP).unwrap();
    let picture = patchlay_sheets::layup_svg(&plan, &job, layup, false).unwrap();
    let file = root().join(PICTURE);
    if rewrite() {
        fs::create_dir_all(file.parent().unwrap()).unwrap();
        fs::write(&file, &picture).unwrap();
    }
    assert!(fs::read_to_string(&file).unwrap_or_default() == picture, "{PICTURE} is not of this plan");
    assert!(text.contains(PICTURE) && text.contains(&format!("lay-up {LAYUP}")));
}

#[test]
fn the_short_scenario_loads_and_every_field_is_explained() {
    let text = readme();
    let example = block(&text, "## The scenario file", "```json\n");
    if let Err(error) = patchlay_scenario::load(example) {
        panic!("{error}");
    }
    let mut fields = BTreeSet::new();
    names(&serde_json::from_str(example).unwrap(), &mut fields);
    for field in fields {
        let explained = text.contains(&format!("`{field}`")) || text.contains(&format!("`{{\"{field}\""));
        assert!(explained, "{field} stands in the example and is not explained");
    }
}

/// The names of all fields, except of roles, which the user chooses.
fn names(value: &Value, into: &mut BTreeSet<String>) {
    match value {
        Value::Object(fields) => {
            for (name, inner) in fields {
                into.insert(name.clone());
                if name != "fabrics" || inner.is_array() {
                    names(inner, into);
                }
            }
        }
        Value::Array(items) => items.iter().for_each(|item| names(item, into)),
        _ => {}
    }
}

#[test]
fn the_message_shown_is_the_message_printed() {
    let text = readme();
    let folder = tempfile::tempdir().unwrap();
    let slip =
        block(&text, "## The scenario file", "```json\n").replace("\"dark\": \"Moss\"", "\"dark\": \"Mos\"");
    fs::write(folder.path().join("cushions.json"), slip).unwrap();
    let ended = run(&["plan", "cushions.json"], folder.path());
    assert_eq!(ended.status.code(), Some(2));
    let said = String::from_utf8(ended.stderr).unwrap();
    let shown = block(&text, "Mistakes are told", "```text\n");
    if rewrite() {
        // The other test writes the same file, so this one only says what to put there.
        println!("{said}");
    }
    assert!(shown == said, "the README shows\n{shown}\nbut the program prints\n{said}");
}

#[test]
fn every_demo_and_every_command_is_described() {
    let text = readme();
    for entry in fs::read_dir(root().join("scenarios")).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        if name.ends_with(".json") {
            assert!(text.contains(&format!("`{name}`")), "{name} is not described");
        }
    }
    for command in ["plan", "compare", "explain", "verify", "record", "replan", "sizes", "schema", "codes"] {
        assert!(text.contains(&format!("`patchlay {command}")), "{command} is not described");
    }
}
