//! Strategies side by side, end to end: every file is there, nothing depends on the number of threads, and a row becomes
//! the very plan that it speaks of.

#![allow(clippy::unwrap_used, reason = "a test ends where something cannot be had")]

use std::fs;
use std::path::Path;

use patchlay_plan::Plan;
use patchlay_plan::compare::Comparison;
use patchlay_tests::{Ended, demo, names_in, run};

fn compare(name: &str, out: &Path, options: &[&str]) -> Ended {
    let (scenario, out) = (demo(name), out.to_str().unwrap().to_owned());
    let mut words = vec!["compare", scenario.to_str().unwrap(), "--out", &out];
    words.extend(options);
    run(&words).unwrap()
}

fn read(out: &Path) -> Comparison {
    serde_json::from_str(&fs::read_to_string(out.join("compare.json")).unwrap()).unwrap()
}

#[test]
fn a_comparison_is_written_and_does_not_depend_on_threads() {
    for name in ["smallest", "crib-nine-patch"] {
        let folder = tempfile::tempdir().unwrap();
        let outs = [1, 2].map(|threads| {
            let out = folder.path().join(format!("on-{threads}"));
            let ended = compare(name, &out, &["--threads", &threads.to_string()]);
            assert_eq!(ended.code, Some(0), "{name}: {}", ended.said());
            assert_eq!(names_in(&out), ["compare.csv", "compare.html", "compare.json"], "{name}");
            let widest = ended.out.lines().map(|line| line.chars().count()).max().unwrap_or(0);
            assert!(widest <= 100 + out.to_str().unwrap().len(), "{name}: {widest} columns");
            out
        });
        for file in names_in(&outs[0]) {
            let [one, two] = outs.each_ref().map(|out| fs::read(out.join(&file)).unwrap());
            assert!(one == two, "{name}: {file} depends on the number of threads");
        }
        let html = fs::read_to_string(outs[0].join("compare.html")).unwrap();
        for foreign in
            ["src=\"http", "href=\"http", "@import", "<script", "<link", "class=\"sheet overfull\""]
        {
            assert!(!html.contains(foreign), "{name}: {foreign}");
        }
        assert!(html.contains("<svg"), "{name}: the curve is not drawn");
    }
}

/// No strategy does better than a freer one, and what is marked as never better is not.
#[test]
fn rows_keep_their_order() {
    let folder = tempfile::tempdir().unwrap();
    let ended = compare("star-hand-check", folder.path(), &["--every-limit"]);
    assert_eq!(ended.code, Some(0), "{}", ended.said());
    let comparison = read(folder.path());
    // Three loading rules, three ply rules; six plies and two lower limits.
    assert_eq!(comparison.rows.len(), 27);
    let passes = |at: usize| comparison.rows[at].plan.as_ref().unwrap().figures.passes;
    // By hand (problem and reference in the optimiser's tests): 30 block by block, 35 fabric by fabric, 25 mixed.
    assert_eq!([2, 5, 8].map(passes), [30, 35, 25]);
    for (at, row) in comparison.rows.iter().enumerate() {
        let plan = row.plan.as_ref().unwrap();
        let [value, bound]: [i128; 2] =
            [&plan.bound.value, &plan.bound.bound].map(|text| text.parse().unwrap());
        assert!(value >= bound, "row {at}");
        if let Some(mark) = &row.never_better {
            let other = &comparison.rows[mark.than].plan.as_ref().unwrap().figures;
            assert!(other.money <= plan.figures.money && other.passes <= plan.figures.passes, "row {at}");
            assert!(!mark.reason.is_empty());
        }
    }
    let recommended = comparison.recommended.unwrap();
    assert!(comparison.rows[recommended].never_better.is_none());
}

#[test]
fn any_row_becomes_its_plan() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("compare");
    assert_eq!(compare("smallest", &out, &[]).code, Some(0));
    let scenario = demo("smallest");
    for (at, row) in read(&out).rows.iter().enumerate() {
        let row = row.plan.as_ref().unwrap();
        let (loading, plies) = (row.made_as.loading.name(), row.made_as.plies.name());
        let out = folder.path().join(at.to_string());
        let mut words = vec!["plan", scenario.to_str().unwrap(), "--out", out.to_str().unwrap()];
        words.extend(["--effort", "1", "--loading", loading, "--plies", plies]);
        let limit = row.made_as.ply_limit.map(|limit| limit.to_string());
        if let Some(limit) = &limit {
            words.extend(["--ply-limit", limit]);
        }
        let ended = run(&words).unwrap();
        assert_eq!(ended.code, Some(0), "{}", ended.said());
        let plan = Plan::from_json(&fs::read_to_string(out.join("plan.json")).unwrap()).unwrap();
        assert_eq!((plan.number, plan.figures), (row.number.clone(), row.figures.clone()), "row {at}");
        assert_eq!(plan.strategy, row.made_as);
    }
}

#[test]
fn a_limit_above_the_cutters_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out");
    let scenario = demo("smallest");
    let words = ["plan", scenario.to_str().unwrap(), "--out", out.to_str().unwrap(), "--ply-limit", "99"];
    let ended = run(words).unwrap();
    assert_eq!(ended.code, Some(2));
    assert!(ended.said().contains("R008"), "{}", ended.said());
    assert!(names_in(&out).is_empty());
}

/// By hand: thirty stars want 150 squares and, on the star board, 20 passes for their triangles, which cut 120 of the
/// squares as well. With a board of two squares the other 30, twelve a pass, take 3: 23 passes instead of 25. A board
/// of a shape that is not wanted saves nothing.
#[test]
fn a_board_thought_of_says_what_it_saves() {
    let folder = tempfile::tempdir().unwrap();
    let text = fs::read_to_string(demo("star-hand-check")).unwrap();
    let mut scenario: serde_json::Value = serde_json::from_str(&text).unwrap();
    let of = |name: &str, shape: &str, columns: u32| {
        let position =
            serde_json::json!({ "shape": shape, "at": ["1", "1"], "columns": columns, "gap_across": "1" });
        serde_json::json!({ "name": name, "width": "14", "length": "8", "positions": [position] })
    };
    let other = serde_json::json!({ "name": "other", "kind": "square", "side": "3" });
    scenario["shapes"].as_array_mut().unwrap().push(other);
    scenario["could_have"] = serde_json::json!([of("two squares", "square 4", 2), of("other", "other", 2)]);
    let file = folder.path().join("stars.json");
    let out = folder.path().join("out");
    let compared = |scenario: &serde_json::Value| {
        fs::write(&file, scenario.to_string()).unwrap();
        run(["compare", file.to_str().unwrap(), "--out", out.to_str().unwrap()]).unwrap()
    };
    let ended = compared(&scenario);
    assert_eq!(ended.code, Some(0), "{}", ended.said());
    let boards = read(&out).boards;
    let passes: Vec<u64> = boards.iter().map(|row| row.figures.as_ref().unwrap().passes).collect();
    assert_eq!(passes, [23, 25]);
    assert!(boards.iter().all(|row| !row.owned), "there is no doing without the only board");
    // It is no board of the plan, and needs a name of its own.
    assert!(read(&out).rows.iter().all(|row| row.plan.as_ref().unwrap().figures.passes_by_board.len() == 1));
    scenario["could_have"][0]["name"] = "star board".into();
    let ended = compared(&scenario);
    assert_eq!(ended.code, Some(2));
    assert!(ended.said().contains("could_have[0].name") && ended.said().contains("S302"), "{}", ended.said());
}

/// The crib quilt's two boards cut a shape each: there is no plan without either, and the reason is told.
#[test]
fn a_board_that_nothing_replaces_is_told() {
    let folder = tempfile::tempdir().unwrap();
    assert_eq!(compare("crib-nine-patch", folder.path(), &[]).code, Some(0));
    let boards = read(folder.path()).boards;
    let reasons: Vec<&String> = boards.iter().filter_map(|row| row.figures.as_ref().err()).collect();
    assert_eq!(reasons.len(), 2);
    assert!(reasons[0].contains("no board cuts square 2") && reasons[1].contains("no board cuts square 6"));
}
