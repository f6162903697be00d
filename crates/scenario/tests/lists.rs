//! Lists as CSV are merged into a scenario, and what is wrong with a cell is found at its place.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test that cannot go on should stop")]

mod support;

use patchlay_scenario::lists::{List, ListKind, Place, merge};
use patchlay_scenario::{Code, load};
use serde_json::{Value, json};
use support::base;

const FABRICS: &str = "name;usable width;print;price\nRust;41;plain;\"10.50\"\nSage;40 1/2;one way;9\n";
const QUILTS: &str = "quilt,copies,for,urgent,block,count,dark,light\n\
                      Cushion,2,Ada,yes,Nine,4,Rust,Cream\n\
                      Cushion,,,,Nine,1,Navy,Cream\n";
const DEMAND: &str = "shape,fabric,count\nsquare,Rust,7\n";

fn lists<'a>(fabrics: &'a str, quilts: &'a str, demand: &'a str) -> [List<'a>; 3] {
    [
        List { kind: ListKind::Fabrics, text: fabrics },
        List { kind: ListKind::Quilts, text: quilts },
        List { kind: ListKind::Demand, text: demand },
    ]
}

/// The base with its rule for one-way prints.
fn scenario() -> String {
    let mut base = base();
    base["rules"]["travel_rule"] = json!("strip_along_travel");
    base.to_string()
}

#[test]
fn what_the_lists_say_is_in_the_job() {
    let merged = merge(&scenario(), &lists(FABRICS, QUILTS, DEMAND)).unwrap();
    let (_, job) = load(&merged.text).unwrap_or_else(|error| panic!("{error}"));
    assert_eq!(job.fabrics.len(), 4);
    assert!(!job.fabrics[3].folding, "a one-way print");
    let quilt = &job.quilts[1];
    assert_eq!((quilt.name.as_str(), quilt.copies, quilt.blocks.len()), ("Cushion", 2, 2));
    // 2 cushions of 4 blocks with 5 dark squares each, and 7 loose ones.
    let rust = job.demands.iter().find(|demand| demand.fabric == 2 && demand.shape == 0).unwrap();
    assert_eq!(rust.needed, 47);
}

#[test]
fn a_wrong_cell_is_found_at_its_line_and_column() {
    let quilts = QUILTS.replace("4,Rust", "4,Ruts");
    let merged = merge(&scenario(), &lists(FABRICS, &quilts, DEMAND)).unwrap();
    let error = load(&merged.text).unwrap_err();
    let problem = &error.problems()[0];
    assert_eq!(problem.code, Code::UnknownReference);
    // "Cushion,2,Ada,yes,Nine,4," has 25 characters.
    assert_eq!(merged.place(&problem.path), Some(Place { list: 1, line: 2, column: 26 }));
    let fabrics = FABRICS.replace("40 1/2", "40 1/3");
    let merged = merge(&scenario(), &lists(&fabrics, QUILTS, DEMAND)).unwrap();
    let error = load(&merged.text).unwrap_err();
    assert_eq!(merged.place(&error.problems()[0].path), Some(Place { list: 0, line: 3, column: 6 }));
    assert_eq!(merged.place("boards[0].name"), None);
}

#[test]
fn a_table_that_is_none_is_refused_with_every_fault_at_its_place() {
    let cases = [
        ("", "name,usable width\n", 1, 1),
        ("fabrics", "", 1, 1),
        ("fabrics", "name,usable widht\nRust,41\n", 1, 6),
        ("fabrics", "name,usable width,name\nRust,41,Rust\n", 1, 19),
        ("fabrics", "name,usable width\nRust,41,plain\n", 2, 9),
        ("fabrics", "name,usable width,ply limit\nRust,41,four\n", 2, 9),
        ("fabrics", "name,usable width,brought by\nRust,41,Ada\n", 2, 1),
        ("quilts", "quilt,block,count,urgent\nCushion,Nine,1,perhaps\n", 2, 16),
        ("demand", "shape,count\nsquare,1\n", 1, 1),
    ];
    for (what, text, line, column) in cases {
        let kind = match what {
            "fabrics" => ListKind::Fabrics,
            "quilts" => ListKind::Quilts,
            "demand" => ListKind::Demand,
            _ => continue,
        };
        let problems = merge(&scenario(), &[List { kind, text }]).unwrap_err();
        assert!(
            problems.iter().any(|(_, problem)| (problem.line, problem.column) == (Some(line), Some(column))),
            "{text}: {problems:?}"
        );
    }
}

#[test]
fn cloth_from_the_list_that_somebody_brought_is_noted_in_the_group() {
    let mut value: Value = serde_json::from_str(&scenario()).unwrap();
    value["group"] = json!({ "bags": { "by": "quilt", "spares": "one_bag" } });
    let text = "name,usable width,print,brought by\nRust,41,plain,Ada\n";
    let merged = merge(&value.to_string(), &[List { kind: ListKind::Fabrics, text }]).unwrap();
    let (_, job) = load(&merged.text).unwrap_or_else(|error| panic!("{error}"));
    assert!(job.is_gift(2));
}
