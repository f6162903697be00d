//! Whatever the file holds, the answer is a job or a list of problems: no panic, no overflow, no endless wait.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test that cannot go on should stop")]

mod support;

use std::time::{Duration, Instant};

use patchlay_scenario::{Code, LoadError, load, load_bytes};
use proptest::prelude::*;
use serde_json::{Value, json};
use support::{BASE, base, set};

fn only_code(error: &LoadError) -> Code {
    assert_eq!(error.problems().len(), 1, "{error}");
    error.problems()[0].code
}

/// A refusal has reasons, each with a place that exists.
fn sound_answer(text: &str) {
    if let Err(error) = load(text) {
        assert!(!error.problems().is_empty());
        for problem in error.problems() {
            assert_ne!(problem.code, Code::Unexplained, "{text}");
            assert!(problem.line.is_none_or(|line| line <= text.lines().count() + 1), "{problem}\n{text}");
            assert!(!problem.problem.is_empty() && !problem.hint.is_empty(), "{problem}");
        }
    }
}

#[test]
fn a_hundred_megabytes_are_not_read() {
    let started = Instant::now();
    assert_eq!(only_code(&load_bytes(&vec![b'['; 100_000_000]).unwrap_err()), Code::FileTooLarge);
    assert!(started.elapsed() < Duration::from_secs(5));
}

#[test]
fn sixteen_megabytes_of_one_list_end_in_a_message() {
    let text = format!("{{\"fabrics\": [{}0]}}", "0,".repeat(8_000_000));
    let started = Instant::now();
    assert!(load(&text).is_err());
    assert!(started.elapsed() < Duration::from_secs(30), "{:?}", started.elapsed());
}

#[test]
fn many_unknown_fields_end_in_a_message() {
    let fields: Vec<String> = (0..200_000).map(|at| format!("\"field number {at}\": {at}")).collect();
    let started = Instant::now();
    assert!(load(&format!("{{{}}}", fields.join(","))).is_err());
    assert!(started.elapsed() < Duration::from_secs(30), "{:?}", started.elapsed());
}

#[test]
fn ten_thousand_brackets_deep() {
    for (open, close) in [("[", "]"), ("{\"a\":", "}")] {
        let text = format!("{}0{}", open.repeat(10_000), close.repeat(10_000));
        assert_eq!(only_code(&load(&text).unwrap_err()), Code::JsonSyntax);
        assert_eq!(only_code(&load(&open.repeat(10_000)).unwrap_err()), Code::JsonSyntax);
    }
}

#[test]
fn nonsense_is_named() {
    for bytes in [&b"\xff\xfe\x00"[..], b"{\"name\": \"\xc3\"}", b"\x89PNG\r\n\x1a\n"] {
        assert_eq!(only_code(&load_bytes(bytes).unwrap_err()), Code::NotText);
    }
    for text in [
        "",
        " ",
        "\0",
        "nul",
        "{",
        "]",
        "\"",
        "{\"a\" 1}",
        "{} {}",
        "\u{feff}",
        "'a'",
        "{a: 1}",
        "[1,]",
        "+1",
        "0x10",
        ".5",
    ] {
        assert_eq!(only_code(&load(text).unwrap_err()), Code::JsonSyntax, "{text}");
    }
    for text in ["null", "1", "\"text\"", "true", "[]", "{}"] {
        sound_answer(text);
        assert!(load(text).is_err());
    }
}

#[test]
fn a_byte_order_mark_is_no_matter() {
    assert!(load(&format!("\u{feff}{BASE}")).is_ok());
}

#[test]
fn lone_surrogates_and_long_names() {
    sound_answer(&BASE.replace("Navy", "\\ud800"));
    sound_answer(&BASE.replace("Navy", &"N".repeat(1_000_000)));
    sound_answer(&BASE.replace("\"units\"", &format!("\"{}\"", "u".repeat(1_000_000))));
}

/// Every place in a value, as paths.
fn places(value: &Value, here: String, all: &mut Vec<String>) {
    match value {
        Value::Object(fields) => {
            for (name, value) in fields {
                let dot = if here.is_empty() { "" } else { "." };
                places(value, format!("{here}{dot}{name}"), all);
            }
        }
        Value::Array(list) => {
            for (at, value) in list.iter().enumerate() {
                places(value, format!("{here}[{at}]"), all);
            }
        }
        _ => {}
    }
    if !here.is_empty() {
        all.push(here);
    }
}

fn base_places() -> Vec<String> {
    let mut all = Vec::new();
    places(&base(), String::new(), &mut all);
    all
}

#[test]
fn absurd_values_at_every_place() {
    for place in base_places() {
        for absurd in [
            json!(0),
            json!(-1),
            json!(u32::MAX),
            json!(u64::MAX),
            json!(i64::MIN),
            json!(1e308),
            json!(1e-308),
            json!("999999999999 m"),
            json!("9".repeat(5_000)),
            json!("1/0"),
            json!("400 in"),
            json!("1/64"),
            json!(""),
            json!(null),
            json!([]),
            json!({}),
        ] {
            let mut value = base();
            set(&mut value, &place, absurd);
            sound_answer(&value.to_string());
        }
    }
}

/// Values that look like parts of a scenario more often than chance would have it.
fn any_value() -> impl Strategy<Value = Value> {
    let leaf = prop_oneof![
        Just(Value::Null),
        any::<bool>().prop_map(Value::from),
        any::<i64>().prop_map(Value::from),
        (0..30_i64).prop_map(Value::from),
        any::<f64>()
            .prop_map(|number| serde_json::Number::from_f64(number).map_or(Value::Null, Value::Number)),
        (0..200_i64).prop_map(|parts| json!(format!("{parts}/64"))),
        "\\PC{0,12}".prop_map(Value::from),
        prop::sample::select(vec![
            "square", "half", "Navy", "Nine", "Quilt", "either", "one_way", "row", "four", "pair"
        ])
        .prop_map(Value::from),
    ];
    leaf.prop_recursive(3, 24, 4, |inner| {
        let names = prop::sample::select(vec![
            "name", "shape", "at", "columns", "rows", "turn", "side", "kind", "number", "percent", "block",
            "count",
        ]);
        prop_oneof![
            prop::collection::vec(inner.clone(), 0..4).prop_map(Value::from),
            prop::collection::vec((names, inner), 0..4).prop_map(|fields| {
                Value::Object(fields.into_iter().map(|(name, value)| (name.to_owned(), value)).collect())
            }),
        ]
    })
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(400) })]

    #[test]
    fn any_bytes(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        if let Err(error) = load_bytes(&bytes) {
            prop_assert!(!error.problems().is_empty());
        }
    }

    #[test]
    fn any_json(value in any_value()) {
        sound_answer(&value.to_string());
    }

    #[test]
    fn a_sound_scenario_with_any_values_put_in(
        edits in prop::collection::vec((prop::sample::select(base_places()), any_value()), 1..4)
    ) {
        let mut value = base();
        for (place, put_in) in edits {
            // An earlier edit may have taken the place away.
            if value.pointer(&pointer(&place)).is_some() {
                set(&mut value, &place, put_in);
            }
        }
        sound_answer(&serde_json::to_string_pretty(&value).unwrap());
    }

    #[test]
    fn a_sound_scenario_with_text_cut_or_put_in(at in 0..BASE.len(), length in 0_usize..20, put_in in "[\\[\\]{},:\"0-9a-z ]{0,5}") {
        let end = (at + length).min(BASE.len());
        sound_answer(&format!("{}{put_in}{}", &BASE[..at], &BASE[end..]));
    }

    /// Positions anywhere: whatever is accepted has areas that keep what they promise.
    #[test]
    fn boards_that_are_accepted_keep_their_promises(
        spots in prop::collection::vec((0_i64..40, 0_i64..40, prop::sample::select(vec![0, 0, 0, 5, 45, 90])), 1..7)
    ) {
        let mut value = base();
        set(&mut value, "boards[0].width", json!(12));
        set(&mut value, "boards[0].length", json!(12));
        set(&mut value, "shapes[0]", json!({ "name": "square", "kind": "square", "side": 1 }));
        set(&mut value, "blocks[0].finished", json!(3));
        let positions: Vec<Value> = spots
            .iter()
            .map(|(x, y, turn)| json!({
                "shape": "square", "at": [format!("{x}/4"), format!("{y}/4")], "turn": turn
            }))
            .collect();
        set(&mut value, "boards[0].positions", Value::from(positions));
        let text = value.to_string();
        sound_answer(&text);
        let Ok((_, job)) = load(&text) else { return Ok(()) };
        let board = &job.boards[0];
        for position in 0..board.positions.len() {
            prop_assert!(board.bays.iter().any(|bay| bay.positions == [position]), "no area of its own");
        }
        for bay in &board.bays {
            for (at, position) in board.positions.iter().enumerate() {
                let inside = bay.positions.contains(&at);
                prop_assert_eq!(inside, bay.place.overlaps(&position.place.rect()));
                prop_assert!(!inside || bay.place.covers(&position.place.rect()));
            }
            prop_assert!(bay.margins.iter().all(|margin| *margin >= patchlay_measure::Length::ZERO));
        }
        // Wherever two cloths overlap, some point holds both.
        let cloth = |id: usize| {
            let bay = &board.bays[id];
            let [low_u, high_u, low_v, high_v] = bay.margins;
            bay.place.grown(low_u, high_u, low_v, high_v)
        };
        for one in 0..board.bays.len() {
            for two in 0..one {
                let together = board.points.iter().any(|point| point.bays.contains(&one) && point.bays.contains(&two));
                prop_assert_eq!(together, cloth(one).overlaps(&cloth(two)), "{} {}", one, two);
            }
        }
    }
}

/// A path as a JSON pointer.
fn pointer(path: &str) -> String {
    format!("/{}", path.replace('[', ".").replace(']', "").replace('.', "/"))
}
