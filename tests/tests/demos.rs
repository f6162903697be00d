//! Every demo scenario is planned, checked and written; the same input gives the same plan.

#![allow(clippy::unwrap_used, reason = "a test ends where something cannot be had")]

use std::fs;
use std::path::Path;

use patchlay_plan::{Outcome, Plan};
use patchlay_tests::{demo, demos, names_in, plan, run};

/// The files of a plan, right-handed.
const FILES: [&str; 5] = ["layups.csv", "plan.json", "sheets.html", "shopping.csv", "strips.csv"];
/// The files that a group's plan has besides.
const OF_A_DAY: [&str; 3] = ["day.html", "day.json", "labels.html"];
/// The demo that is planned with least effort, because it is large.
const LARGE: &str = "hundred-childrens-quilts";

fn read(folder: &Path) -> Plan {
    Plan::from_json(&fs::read_to_string(folder.join("plan.json")).unwrap()).unwrap()
}

#[test]
fn every_demo_plans_verifies_and_writes_all_files() {
    let names = demos().unwrap();
    assert!(names.len() >= 7, "{names:?}");
    for name in names {
        let folder = tempfile::tempdir().unwrap();
        let out = folder.path().join("plan");
        let effort: &[&str] = if name == LARGE { &["--effort", "1"] } else { &[] };
        let ended = plan(&demo(&name), &out, effort).unwrap();
        assert_eq!(ended.code, Some(0), "{name}: {}", ended.said());
        let group = fs::read_to_string(demo(&name)).unwrap().contains("\"group\"");
        let mut files: Vec<&str> = FILES.iter().chain(OF_A_DAY.iter().filter(|_| group)).copied().collect();
        files.sort_unstable();
        assert_eq!(names_in(&out), files, "{name}");
        if group {
            assert_pages(&name, &fs::read_to_string(out.join("day.html")).unwrap());
        }
        let verified = run([Path::new("verify"), &demo(&name), &out.join("plan.json")]).unwrap();
        assert_eq!(verified.code, Some(0), "{name}: {}", verified.said());
        assert_sound(&name, &read(&out));
        assert_pages(&name, &fs::read_to_string(out.join("sheets.html")).unwrap());
        let widest = ended.out.lines().map(|line| line.chars().count()).max().unwrap_or(0);
        assert!(widest <= 100, "{name}: the summary is {widest} columns wide");
    }
}

/// What must hold of any plan, whatever the scenario.
fn assert_sound(name: &str, plan: &Plan) {
    for line in &plan.patches {
        assert!(line.cut >= line.needed + line.spare, "{name}: {line:?}");
    }
    let mut all_proved = true;
    for bound in &plan.bounds {
        let [value, least]: [i128; 2] = [&bound.value, &bound.bound].map(|text| text.parse().unwrap());
        assert!(value >= least, "{name}: {bound:?}");
        assert_eq!(bound.proved, value == least, "{name}: {bound:?}");
        all_proved &= bound.proved;
    }
    assert_eq!(plan.outcome == Outcome::Proved, all_proved, "{name}");
    for fabric in &plan.fabrics {
        assert!(fabric.bought >= fabric.taken, "{name}: {}", fabric.fabric);
    }
    let passes: usize = plan.layups.iter().map(|layup| layup.passes.len()).sum();
    assert_eq!(u64::try_from(passes).unwrap(), plan.figures.passes, "{name}");
}

/// One page of its own: nothing is fetched from elsewhere, nothing runs.
fn assert_pages(name: &str, html: &str) {
    for foreign in ["src=\"http", "href=\"http", "@import", "<script", "<link"] {
        assert!(!html.contains(foreign), "{name}: {foreign}");
    }
    assert!(html.contains("<svg"), "{name}: no pictures");
}

#[test]
fn the_same_scenario_gives_the_same_plan_whatever_the_threads() {
    for name in ["smallest", "crib-nine-patch", "handed-half-rectangles"] {
        let folder = tempfile::tempdir().unwrap();
        let texts: Vec<String> = ["1", "1", "2"]
            .iter()
            .enumerate()
            .map(|(run, threads)| {
                let out = folder.path().join(run.to_string());
                let ended = plan(&demo(name), &out, &["--threads", threads]).unwrap();
                assert_eq!(ended.code, Some(0), "{name}: {}", ended.said());
                fs::read_to_string(out.join("plan.json")).unwrap()
            })
            .collect();
        assert!(texts[0] == texts[1], "{name}: planned twice, two plans");
        assert!(texts[0] == texts[2], "{name}: the plan depends on the number of threads");
    }
}

#[test]
fn left_handed_sheets_come_when_asked_for_and_go_when_not() {
    let folder = tempfile::tempdir().unwrap();
    assert_eq!(plan(&demo("smallest"), folder.path(), &["--left-handed"]).unwrap().code, Some(0));
    assert!(names_in(folder.path()).contains(&"sheets-left-handed.html".to_owned()));
    assert_eq!(plan(&demo("smallest"), folder.path(), &[]).unwrap().code, Some(0));
    assert_eq!(names_in(folder.path()), FILES);
}

#[test]
fn the_star_that_is_checked_by_hand_takes_twenty_five_passes() {
    // Worked by hand: 30 stars x 5 squares = 150 plies on one position, six plies a stack (common practice, no
    // source); the 120 plies of triangles ride along.
    let folder = tempfile::tempdir().unwrap();
    let ended = plan(&demo("star-hand-check"), folder.path(), &[]).unwrap();
    assert_eq!(ended.code, Some(0), "{}", ended.said());
    let made = read(folder.path());
    assert_eq!(made.figures.passes, 25);
    assert!(made.bounds[0].proved);
}
