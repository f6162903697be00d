//! Every kind of problem is found, at its place, and nothing else is.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test that cannot go on should stop")]

mod support;

use std::collections::BTreeSet;

use patchlay_scenario::{Code, LARGEST_FILE, LoadError, Problem, code_page, load, load_bytes};
use serde_json::Value;
use support::{BASE, base, drop_field, set};

const CASES: &str = include_str!("cases/problems.txt");

/// A bad file and what must be found in it.
struct Case {
    title: String,
    text: String,
    expected: Vec<(String, String)>,
}

fn cases() -> Vec<Case> {
    CASES.split("\n--- ").skip(1).map(case).collect()
}

fn case(section: &str) -> Case {
    let mut lines = section.lines();
    let title = lines.next().unwrap().to_owned();
    let (mut value, mut text, mut expected) = (base(), None, Vec::new());
    for line in lines.filter(|line| !line.is_empty()) {
        let (word, rest) = line.split_once(' ').unwrap_or((line, ""));
        match word {
            "set" => {
                let (path, json) = rest.split_once(' ').unwrap();
                set(&mut value, path, serde_json::from_str(json).unwrap());
            }
            "drop" => drop_field(&mut value, rest),
            "list" => value = Value::Array(vec![value]),
            "text" => {
                let (old, new) = rest.split_once(" => ").unwrap();
                let before: &str = text.as_deref().unwrap_or(BASE);
                assert!(before.contains(old), "{title}: no {old}");
                text = Some(before.replacen(old, new, 1));
            }
            "expect" => {
                let (code, path) = rest.split_once(' ').unwrap_or((rest, ""));
                expected.push((code.to_owned(), path.to_owned()));
            }
            other => panic!("{title}: {other}?"),
        }
    }
    assert!(!expected.is_empty(), "{title}");
    Case { title, text: text.unwrap_or_else(|| serde_json::to_string_pretty(&value).unwrap()), expected }
}

fn found(error: &LoadError) -> Vec<(String, String)> {
    error.problems().iter().map(|problem| (problem.code.to_string(), problem.path.clone())).collect()
}

#[test]
fn the_base_is_sound() {
    assert!(load(BASE).is_ok());
}

#[test]
fn every_case_is_found_and_nothing_else() {
    for case in cases() {
        let error = load(&case.text).err().unwrap_or_else(|| panic!("{}: nothing is wrong", case.title));
        if std::env::var_os("SHOW").is_some() {
            println!("--- {}\n{error}\n", case.title);
        }
        let (mut found, mut expected) = (found(&error), case.expected);
        found.sort();
        expected.sort();
        assert_eq!(found, expected, "{}\n{error}", case.title);
        let impossible = expected.iter().all(|(code, _)| code.starts_with("S8"));
        assert_eq!(impossible, matches!(error, LoadError::Impossible(_)), "{}", case.title);
        for problem in error.problems() {
            well_said(problem);
        }
    }
}

/// Every problem says where, what and what to do.
fn well_said(problem: &Problem) {
    assert!(!problem.problem.is_empty() && !problem.hint.is_empty(), "{problem}");
    assert!(problem.line.is_some() && problem.column.is_some(), "{problem}");
    assert!(problem.value.chars().count() <= 61, "{problem}");
    let shown = problem.to_string();
    assert!(
        shown.starts_with(&format!("error[{}]: ", problem.code)) && shown.contains("\n  hint: "),
        "{shown}"
    );
}

#[test]
fn every_code_has_a_bad_file() {
    let mut found: BTreeSet<Code> = BTreeSet::new();
    let files = cases().into_iter().map(|case| load(&case.text));
    let others = [load_bytes(&vec![b' '; LARGEST_FILE + 1]), load_bytes(b"\xff\xfe"), load(&thousands())];
    for error in files.chain(others).filter_map(Result::err) {
        found.extend(error.problems().iter().map(|problem| problem.code));
    }
    // A file that is refused without a reason would be a fault of the program, so no file shows it.
    found.insert(Code::Unexplained);
    // Lists are no part of the file; `tests/lists.rs` shows what is wrong with them.
    found.insert(Code::BadList);
    let missing: Vec<Code> = Code::ALL.iter().copied().filter(|code| !found.contains(code)).collect();
    assert_eq!(missing, []);
}

/// A file with more mistakes than are listed.
fn thousands() -> String {
    let mut value = base();
    for at in 0..1_200 {
        set(&mut value, &format!("x{at}"), Value::Null);
    }
    value.to_string()
}

#[test]
fn the_list_of_problems_ends() {
    let error = load(&thousands()).unwrap_err();
    assert_eq!(error.problems().len(), 1_001);
    let last = error.problems().last().unwrap();
    assert_eq!((last.code, last.problem.as_str()), (Code::MoreProblems, "200 more problems are not listed"));
}

#[test]
fn codes_are_numbered_once_and_explained() {
    let numbers: BTreeSet<&str> = Code::ALL.iter().map(|code| code.number()).collect();
    assert_eq!(numbers.len(), Code::ALL.len());
    let page = code_page();
    for code in Code::ALL {
        assert_eq!(Code::numbered(&code.number().to_lowercase()), Some(*code));
        assert!(code.explanation().len() > 40 && page.contains(code.explanation()), "{code}");
    }
    assert!(Code::ALL.is_sorted_by_key(|code| code.number()));
    assert_eq!(Code::numbered("S999"), None);
}

#[test]
fn all_at_once() {
    let mut value = base();
    for (path, json) in [
        ("curency", "\"$\""),
        ("cutter.bed_width", "\"twelve\""),
        ("rules.travel_rule", "\"along\""),
        ("fabrics[0].letter", "\"\""),
        ("fabrics[1].print", "true"),
        ("shapes[0].side", "0"),
        ("shapes[1].radius", "1"),
        ("boards[0].positions[0].shape_turn", "30"),
        ("boards[1].name", "\"squares\""),
        ("boards[1].positions[1].at[0]", "\"4 1/3\""),
        ("quilts[0].blocks[0].block", "\"Nein\""),
        ("loose_patches[0].count", "0"),
        ("spare_patches.number", "-1"),
        ("aim.hour_is_worth", "1"),
    ] {
        set(&mut value, path, serde_json::from_str(json).unwrap());
    }
    drop_field(&mut value, "cutter.ply_limit");
    let error = load(&serde_json::to_string_pretty(&value).unwrap()).unwrap_err();
    let mut expected: Vec<(String, String)> = [
        ("S102", "cutter.ply_limit"),
        ("S103", "curency"),
        ("S104", "fabrics[1].print"),
        ("S105", "rules.travel_rule"),
        ("S201", "boards[1].positions[1].at[0]"),
        ("S201", "cutter.bed_width"),
        ("S202", "shapes[0].side"),
        ("S203", "loose_patches[0].count"),
        ("S203", "spare_patches.number"),
        ("S302", "boards[1].name"),
        ("S303", "quilts[0].blocks[0].block"),
        ("S304", "fabrics[0].letter"),
        ("S402", "shapes[1].radius"),
        ("S510", "boards[0].positions[0].shape_turn"),
        ("S707", "aim.hour_is_worth"),
    ]
    .map(|(code, path)| (code.to_owned(), path.to_owned()))
    .to_vec();
    let mut found = found(&error);
    found.sort();
    expected.sort();
    assert_eq!(found, expected, "{error}");
    let lines: Vec<usize> = error.problems().iter().filter_map(|problem| problem.line).collect();
    assert!(lines.is_sorted(), "{lines:?}");
}

#[test]
fn places_and_hints_are_exact() {
    let text = BASE.replace("\"units\": \"inch\"", "\"units\": \"inhc\"");
    let error = load(&text).unwrap_err();
    let problem = &error.problems()[0];
    assert_eq!((problem.line, problem.column), (Some(4), Some(12)));
    assert_eq!(problem.value, "\"inhc\"");
    assert!(problem.hint.starts_with("did you mean \"inch\"?"), "{}", problem.hint);

    let text = BASE.replace("\"usable_width\": 41", "\"usable_widht\": 41");
    let error = load(&text).unwrap_err();
    let hints: Vec<&str> = error.problems().iter().map(|problem| problem.hint.as_str()).collect();
    assert!(hints.contains(&"did you mean `usable_width`?"), "{error}");
    assert!(hints.iter().any(|hint| hint.contains("40 to 42 in")), "{error}");
    assert!(error.problems().iter().all(|problem| problem.line == Some(14)), "{error}");
}

#[test]
fn the_reasons_of_an_impossible_demand_are_true() {
    let text = CASES.split("\n--- ").find(|section| section.starts_with("too long the stated way")).unwrap();
    let error = load(&case(text).text).unwrap_err();
    let problem = &error.problems()[0];
    // 5 in wide less 1/2 in reserve.
    assert!(problem.problem.contains("a strip of Navy gives 4 1/2 in"), "{problem}");
    assert!(problem.hint.contains("the other way round"), "{problem}");
}

/// What people type who have never written such a file, and what they must be told.
#[test]
fn newcomers_mistakes_are_named() {
    let first = |text: &str| load(text).unwrap_err().problems()[0].clone();
    for (old, new, problem, hint) in [
        ("\"inch\"", "\u{201c}inch\u{201d}", "a curved quote", "straight double quotes"),
        ("\"units\"", "'units'", "a single quote", "between double quotes"),
        ("\"inch\"", "'inch'", "a single quote", "between double quotes"),
        ("\"units\"", "// in inches\n  \"units\"", "a comment", "\"about\""),
        ("\"inch\"", "inch", "neither a number nor a text", "quote"),
        ("\"units\": \"inch\",", "\"units\": \"inch\"", "expected `,`", "just before this place"),
        ("\"usable_width\": 41", "\"usable_width\": \"41,5\"", "a comma stands", "\"41.5\""),
        ("\"usable_width\": 41", "\"usable_width\": \"42 feet\"", "504 in is too long", "400 in"),
        ("\"put_first\": \"", "\"put_first\": \"un", "is not known here", "least_cloth"),
        ("\"ply_limit\": 6", "\"ply_limit\": 0", "0 is too small", "from 1 to 24"),
        ("\"price\": 12", "\"price\": -12", "`-12` is not an amount", "without a sign"),
    ] {
        assert!(BASE.contains(old), "{old}");
        let said = first(&BASE.replacen(old, new, 1));
        assert!(said.problem.contains(problem), "{new}: {said}");
        assert!(said.hint.contains(hint), "{new}: {said}");
    }
    for (text, problem) in
        [("", "the file is empty"), (" \n", "the file is empty"), (&BASE[..300], "the file ends too early")]
    {
        assert_eq!(first(text).problem, problem);
    }
}

#[test]
fn missing_mats_are_said_once() {
    let mut value = base();
    set(&mut value, "cutter.mats", serde_json::json!([]));
    let error = load(&value.to_string()).unwrap_err();
    assert_eq!(found(&error), [("S107".to_owned(), "cutter.mats".to_owned())], "{error}");
}

#[test]
fn a_width_that_looks_like_centimetres_is_cautioned_about() {
    let mut value = base();
    assert!(!support::job(&value).cautions.iter().any(|caution| caution.contains("more than most cloth")));
    set(&mut value, "fabrics[0].usable_width", serde_json::json!(110));
    let cautions = support::job(&value).cautions;
    assert!(
        cautions.iter().any(|caution| caution.starts_with("Navy is stated to be 110 in wide")),
        "{cautions:?}"
    );
}

#[test]
fn too_many_bags_are_not_answered_with_how_they_are_divided_already() {
    for (by, copies) in [("quilt", 5_001), ("block", 5_000)] {
        let mut value = base();
        set(&mut value, "group", serde_json::json!({ "bags": { "by": by, "spares": "one_bag" } }));
        set(&mut value, "quilts[0].copies", serde_json::json!(copies));
        let error = load(&value.to_string()).unwrap_err();
        let problem = &error.problems()[0];
        assert_eq!(problem.code, Code::TooManyBags, "{error}");
        assert!(!problem.hint.contains(&format!("\"{by}\"")), "{problem}");
    }
}
