//! Fabrics, quilts and demand as CSV files beside a scenario.

#![allow(clippy::unwrap_used, reason = "a test ends where something cannot be had")]

use std::fs;
use std::path::Path;

use patchlay_tests::{demo, run};
use serde_json::Value;

#[test]
fn lists_are_merged_planned_and_kept() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    let mut scenario: Value =
        serde_json::from_str(&fs::read_to_string(demo("star-hand-check")).unwrap()).unwrap();
    scenario["quilts"] = Value::Array(Vec::new());
    fs::write(at("hall.json"), scenario.to_string()).unwrap();
    fs::write(at("quilts.csv"), "quilt,block,count,light,dark,bright\nStars,Ohio Star,6,Light,Dark,Brigth\n")
        .unwrap();
    let words = ["plan", "hall.json", "--quilts", "quilts.csv", "--out", "out"];
    let words: Vec<std::path::PathBuf> = words
        .iter()
        .map(|word| if word.contains('.') || *word == "out" { at(word) } else { Path::new(word).to_owned() })
        .collect();
    let ended = run(&words).unwrap();
    assert_eq!(ended.code, Some(2), "{}", ended.said());
    assert!(ended.err.contains("quilts.csv:2:30"), "{}", ended.err);
    fs::write(at("quilts.csv"), "quilt,block,count,light,dark,bright\nStars,Ohio Star,6,Light,Dark,Bright\n")
        .unwrap();
    let ended = run(&words).unwrap();
    assert_eq!(ended.code, Some(0), "{}", ended.said());
    let out = at("out");
    let verified = run([Path::new("verify"), &out.join("scenario.json"), &out.join("plan.json")]).unwrap();
    assert_eq!(verified.code, Some(0), "{}", verified.said());
}

#[test]
fn a_list_that_is_no_utf_8_text_is_told_with_its_line() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("quilts.csv");
    fs::write(&file, b"quilt,block,count\nS\xe9stern,Ohio Star,6\n").unwrap();
    let scenario = demo("star-hand-check");
    let words: [&Path; 4] = [Path::new("plan"), &scenario, Path::new("--quilts"), &file];
    let ended = run(words).unwrap();
    assert_eq!(ended.code, Some(2), "{}", ended.said());
    assert!(ended.err.contains("quilts.csv:2:2"), "{}", ended.err);
}
