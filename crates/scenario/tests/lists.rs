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
        ("fabrics", "name,usable width\n", 1, 1),
        ("fabrics", "name,usable width,print\nRust,41,plane\n", 2, 9),
        ("fabrics", "name,usable width\nRust,41\n\"Sage,40\n", 3, 1),
        ("fabrics", "name,usable width\nNavy,41\nNavy,40\n", 3, 1),
        ("fabrics", "name,usable width,width measured\nRust,41,42\n", 2, 9),
        ("quilts", "quilt,block,count,copies\nCushion,Nine,1,2\nCushion,Nine,1,3\n", 3, 16),
        ("quilts", "quilt,for,block,count\nCushion,Ada,Nine,1\nCushion,Bea,Nine,1\n", 3, 9),
        ("quilts", "quilt,urgent,block,count\nCushion,no,Nine,1\nCushion,yes,Nine,1\n", 3, 9),
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

fn fabrics_alone(text: &str) -> patchlay_scenario::lists::Merged {
    merge(&scenario(), &[List { kind: ListKind::Fabrics, text }]).unwrap_or_else(|found| panic!("{found:?}"))
}

#[test]
fn a_row_of_a_fabric_that_the_scenario_has_states_what_was_measured() {
    let before: Value = serde_json::from_str(&scenario()).unwrap();
    let merged =
        fabrics_alone("name,width measured,print,letter,price\nCream,40 1/4,caution,,\nRust,41,plain,R,9\n");
    let after: Value = serde_json::from_str(&merged.text).unwrap();
    assert_eq!(after["fabrics"].as_array().unwrap().len(), before["fabrics"].as_array().unwrap().len() + 1);
    let of = |whole: &Value| {
        let all = whole["fabrics"].as_array().unwrap().clone();
        all.into_iter().find(|fabric| fabric["name"] == "Cream").unwrap()
    };
    let (before, after) = (of(&before), of(&after));
    assert_eq!((&after["usable_width"], &after["print"]), (&json!("40 1/4"), &json!("caution")));
    // What the row leaves open stays.
    assert_eq!((&after["price"], &after["letter"]), (&before["price"], &before["letter"]));
    load(&merged.text).unwrap_or_else(|error| panic!("{error}"));
}

#[test]
fn what_is_wrong_with_a_known_fabric_is_told_where_it_stands() {
    let merged = fabrics_alone("name,width\nCream,4 feet\n");
    let at = |field: &str| {
        let whole: Value = serde_json::from_str(&merged.text).unwrap();
        let at = whole["fabrics"].as_array().unwrap().iter().position(|fabric| fabric["name"] == "Cream");
        merged.place(&format!("fabrics[{}].{field}", at.unwrap()))
    };
    assert_eq!(at("usable_width"), Some(Place { list: 0, line: 2, column: 7 }));
    assert_eq!(at("price"), None);
}

#[test]
fn a_message_repeats_what_was_typed() {
    let told = |column: &str, text: &str| {
        let text = format!("name,usable width,print,{column}\nRust,41,plain,{text}\n");
        let (_, problem) =
            merge(&scenario(), &[List { kind: ListKind::Fabrics, text: &text }]).unwrap_err().remove(0);
        problem
    };
    let problem = told("width measured", "wet & 3/4");
    assert_eq!(problem.value, "wet & 3/4");
    assert!(problem.hint.contains("before washing"), "{}", problem.hint);
    let problem = told("travel rule", "Along");
    assert!(problem.value == "Along" && problem.hint.contains("strip along travel"), "{problem}");
}

#[test]
fn words_of_people_and_of_the_scenario_are_both_understood() {
    for (said, written) in [
        ("plain", "none"),
        ("none", "none"),
        ("One way", "one_way"),
        ("one_way", "one_way"),
        ("caution", "caution"),
    ] {
        let merged = fabrics_alone(&format!("name,usable width,print\nRust,41,{said}\n"));
        let whole: Value = serde_json::from_str(&merged.text).unwrap();
        assert_eq!(whole["fabrics"][2]["print"], written, "{said}");
    }
}

#[test]
fn decimals_after_a_comma_are_understood_between_semicolons() {
    let merged = fabrics_alone("name;usable width;print;price\nRust;41,5;plain;8,40\n");
    let (_, job) = load(&merged.text).unwrap_or_else(|error| panic!("{error}"));
    let price = job.fabrics[2].price.unwrap().amount;
    assert_eq!(price.ten_thousandths(), 84_000);
    // A thousand, or one: nobody knows.
    let merged = fabrics_alone("name;usable width;print;price\nRust;41;plain;1,000\n");
    assert_eq!(load(&merged.text).unwrap_err().problems()[0].code, Code::BadNumber);
}

#[test]
fn an_unclosed_quote_is_named_once_where_it_opens() {
    let text = "quilt,block,count\nCushion,Nine,1\n\"Pillow,Nine,1\nLine two\",Nine,1\nSeat,Nine\n";
    let found = merge(&scenario(), &[List { kind: ListKind::Quilts, text }]).unwrap_err();
    let told: Vec<(Option<usize>, bool)> =
        found.iter().map(|(_, problem)| (problem.line, problem.problem.contains("quote"))).collect();
    assert_eq!(told, [(Some(3), true), (Some(5), false)], "{found:?}");
}

#[test]
fn further_rows_of_a_quilt_may_repeat_or_add_but_not_contradict() {
    let text = "quilt,copies,urgent,block,count,dark,light\nCushion,,,Nine,1,Navy,Cream\n\
                Cushion,2,yes,Nine,1,Navy,Cream\nCushion,2,,Nine,2,Navy,Cream\n";
    let merged = merge(&scenario(), &[List { kind: ListKind::Quilts, text }]).unwrap();
    let (_, job) = load(&merged.text).unwrap_or_else(|error| panic!("{error}"));
    assert_eq!((job.quilts[1].copies, job.quilts[1].blocks.len()), (2, 3));
    let text = text.replace("Cushion,2,,Nine", "Cushion,3,,Nine");
    let (_, problem) =
        merge(&scenario(), &[List { kind: ListKind::Quilts, text: &text }]).unwrap_err().remove(0);
    assert!(problem.problem.contains("copies: 2, and this one 3"), "{problem}");
}
