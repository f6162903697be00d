//! What a replan wrote is judged from its files alone, by the built program: sound files pass, every damaged one is
//! refused, and files that do not belong together are told apart with what to do.

#![allow(clippy::unwrap_used, reason = "a test ends where something cannot be had")]

use std::ffi::OsStr;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use patchlay_check::{FaultCode, check_replan, check_rest};
use patchlay_plan::Plan;
use patchlay_plan::day::{Day, day_number};
use patchlay_plan::record::Note;
use patchlay_plan::replan::{Replan, replan_number};
use patchlay_record::log;
use patchlay_scenario::spec::{Block, Fabric, LengthText};
use patchlay_tests::{Ended, plan, run, star_hall};
use serde_json::{Value, json};

/// A folder with a scenario, the day of its group, and what was noted and replanned in it.
struct Hall {
    folder: tempfile::TempDir,
}

impl Hall {
    /// A copy of a day in which two passes were made, one ply of them spoiled, somebody left, and the rest was replanned.
    fn begun() -> Self {
        static MADE: OnceLock<tempfile::TempDir> = OnceLock::new();
        let made = MADE.get_or_init(|| {
            let hall = Self { folder: tempfile::tempdir().unwrap() };
            fs::write(hall.file("hall.json"), star_hall().to_string()).unwrap();
            let ended = plan(&hall.file("hall.json"), &hall.file("out"), &["--effort", "1"]).unwrap();
            assert_eq!(ended.code, Some(0), "{}", ended.said());
            hall.note(&["passes", "L1", "2"]);
            hall.note(&["spoiled", "L1", "1", "A.1", "1"]);
            hall.note(&["person", "Three"]);
            hall.replan();
            hall.folder
        });
        let folder = tempfile::tempdir().unwrap();
        copied(made.path(), folder.path());
        Self { folder }
    }

    fn file(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn run(&self, words: &[&str]) -> Ended {
        let ended = run(words.iter().map(|word| match word.strip_prefix('@') {
            Some(name) => self.file(name).into_os_string(),
            None => OsStr::new(word).to_owned(),
        }))
        .unwrap();
        assert!(!ended.said().contains("panicked"), "{}", ended.said());
        ended
    }

    fn note(&self, words: &[&str]) {
        let ended = self.run(&[&["record", "@out/plan.json"], words].concat());
        assert_eq!(ended.code, Some(0), "{words:?}: {}", ended.said());
    }

    fn replan(&self) {
        let ended = self.run(&["replan", "@out/plan.json"]);
        assert_eq!(ended.code, Some(0), "{}", ended.said());
    }

    fn verify(&self, words: &[&str]) -> Ended {
        self.run(&[&["verify", "@hall.json", "@out/plan.json"], words].concat())
    }

    /// What a check says that passes.
    fn passes(&self, words: &[&str]) -> Value {
        let ended = self.verify(&[words, &["--json"]].concat());
        assert_eq!(ended.code, Some(0), "{words:?}: {}", ended.said());
        serde_json::from_str(&ended.out).unwrap()
    }

    /// Codes of a check that fails, and all that it says.
    fn fails(&self, words: &[&str], code: i32) -> (Vec<String>, String) {
        let ended = self.verify(&[words, &["--json"]].concat());
        assert_eq!(ended.code, Some(code), "{words:?}: {}", ended.said());
        let told: Value = serde_json::from_str(&ended.out).unwrap();
        let codes = told["errors"].as_array().unwrap().iter();
        (codes.map(|error| error["code"].as_str().unwrap().to_owned()).collect(), ended.out)
    }

    fn json(&self, name: &str) -> Value {
        serde_json::from_str(&fs::read_to_string(self.file(name)).unwrap()).unwrap()
    }

    fn change(&self, name: &str, change: impl FnOnce(&mut Value)) {
        let mut value = self.json(name);
        change(&mut value);
        fs::write(self.file(name), value.to_string()).unwrap();
    }
}

fn copied(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let to = to.join(entry.file_name());
        if entry.path().is_dir() {
            copied(&entry.path(), &to);
        } else {
            fs::copy(entry.path(), to).unwrap();
        }
    }
}

const REPLAN: [&str; 2] = ["--replan", "@out/replan"];

#[test]
fn what_a_replan_wrote_passes_from_its_files_alone() {
    let hall = Hall::begun();
    let replan = hall.json("out/replan/replan.json");
    let rest = hall.json("out/replan/day.json");
    let told = hall.passes(&REPLAN);
    assert_eq!((&told["outcome"], &told["replan"]["number"]), (&json!("passes"), &replan["number"]));
    assert_eq!(told["replan"]["checked"]["made"], 2);
    assert_eq!(told["replan"]["records_since"], 0);
    assert_eq!(told["rest"][0]["number"], rest["number"]);
    assert_eq!(told["rest"][0]["checked"]["runs"], json!(rest["runs"].as_array().unwrap().len()));
    assert!(told["replan"]["supplement_checked"]["passes"].as_u64().unwrap() > 0, "{told}");
    // The whole day and the rest of it at once, the rest from a file of its own, and the replan alone.
    let both = hall.passes(&[&REPLAN[..], &["--day", "@out/day.json"]].concat());
    assert_eq!((both["day"]["number"].is_string(), both["rest"].as_array().unwrap().len()), (true, 1));
    let same = hall.passes(&[&REPLAN[..], &["--day", "@out/replan/day.json"]].concat());
    assert_eq!(same["rest"].as_array().unwrap().len(), 1);
    let alone = ["--replan", "@out/replan/replan.json"];
    assert_eq!(hall.passes(&alone)["rest"], json!([]));
    let named = hall.passes(&[&alone[..], &["--day", "@out/replan/day.json"]].concat());
    assert_eq!(named["rest"][0]["number"], rest["number"]);
    fs::rename(hall.file("out/plan.log"), hall.file("moved.log")).unwrap();
    let _ = hall.passes(&[&REPLAN[..], &["--log", "@moved.log"]].concat());
    let text = hall.verify(&[&REPLAN[..], &["--log", "@moved.log"]].concat()).out;
    for said in ["Replan", "supplement", "The rest of the day", "Plan"] {
        assert!(text.contains(said), "{said}: {text}");
    }
    // Nothing but the plan is as before.
    let plain = hall.passes(&[]);
    assert!(plain.get("replan").is_none() && plain.get("rest").is_none() && plain.get("day").is_none());
}

#[test]
fn the_rest_of_a_day_alone_says_what_to_add() {
    let hall = Hall::begun();
    let (codes, said) = hall.fails(&["--day", "@out/replan/day.json"], 2);
    assert_eq!(codes, ["R011"]);
    assert!(said.contains("add --replan"), "{said}");
    for words in [&["--log", "@out/plan.log"][..], &["--as-of-replan"]] {
        assert_eq!(hall.verify(words).code, Some(2), "{words:?}");
    }
}

#[test]
fn what_is_missing_or_belongs_to_something_else_is_named() {
    let hall = Hall::begun();
    let told = |change: &dyn Fn(&Hall), words: &[&str], code: &str, names: &str| {
        let hall = Hall::begun();
        change(&hall);
        let (codes, said) = hall.fails(words, 2);
        assert_eq!(codes, [code], "{said}");
        assert!(said.contains(names), "{names}: {said}");
    };
    told(&|_| {}, &["--replan", "@out"], "R001", "replan.json");
    told(&|_| {}, &["--replan", "@out/plan.json"], "R004", "not a replan");
    let gone = |name: &'static str| move |hall: &Hall| fs::remove_file(hall.file(name)).unwrap();
    told(&gone("out/plan.log"), &REPLAN, "R001", "--log");
    told(&gone("out/replan/supplement.json"), &REPLAN, "R001", "supplement.json");
    told(&gone("out/replan/supplement-scenario.json"), &REPLAN, "R001", "supplement-scenario.json");
    told(&|_| {}, &[&REPLAN[..], &["--log", "@none.log"]].concat(), "R001", "none.log");
    let number = hall.json("out/plan.json")["number"].as_str().unwrap().to_owned();
    let other =
        |hall: &Hall| hall.change("out/replan/replan.json", |replan| replan["plan"] = json!("0000-0000"));
    told(&other, &REPLAN, "R011", &number);
    let rest = |hall: &Hall| hall.change("out/replan/day.json", |day| day["plan"] = json!("0000-0000"));
    told(&rest, &REPLAN, "R011", "0000-0000");
    let supplement = |hall: &Hall| {
        hall.change("out/replan/supplement.json", |plan| plan["layups"][0]["name"] = json!("S-L9"));
    };
    told(&supplement, &REPLAN, "R011", "do not cut");
    let none = |hall: &Hall| {
        fs::remove_file(hall.file("out/plan.log")).unwrap();
        hall.note(&["passes", "L1", "1"]);
    };
    told(&none, &REPLAN, "R011", "another log");
}

#[test]
fn a_log_that_has_grown_is_told_and_may_be_read_as_it_was() {
    let hall = Hall::begun();
    hall.note(&["passes", "L1", "1"]);
    let (codes, said) = hall.fails(&REPLAN, 2);
    assert_eq!(codes, ["R011"]);
    assert!(said.contains("1 record more") && said.contains("--as-of-replan"), "{said}");
    let words = [&REPLAN[..], &["--as-of-replan"]].concat();
    assert_eq!(hall.passes(&words)["replan"]["records_since"], 1);
    let text = hall.verify(&words).out;
    assert!(text.starts_with("Look out: the log has 1 record more"), "{text}");
    // Replanned, all is well again.
    hall.replan();
    let _ = hall.passes(&REPLAN);
}

#[test]
fn a_damaged_replan_and_a_damaged_rest_fail() {
    type Damage = (&'static str, FaultCode, fn(&mut Value));
    let damages: [Damage; 6] = [
        ("out/replan/replan.json", FaultCode::ReplanDocument, |replan| replan["number"] = json!("0000-0000")),
        ("out/replan/replan.json", FaultCode::ReplanPasses, |replan| {
            let _ = replan["kept"][0]["passes"].as_array_mut().unwrap().pop();
        }),
        ("out/replan/replan.json", FaultCode::ReplanCount, |replan| {
            replan["recount"][0]["good"] = json!(9_999)
        }),
        ("out/replan/day.json", FaultCode::RunCover, |day| drop(day["runs"].as_array_mut().unwrap().pop())),
        ("out/replan/day.json", FaultCode::Finish, |day| day["schedule"]["finish"] = json!(1)),
        ("out/replan/day.json", FaultCode::DayRest, |day| {
            let _ = day.as_object_mut().unwrap().remove("rest");
        }),
    ];
    for (name, code, damage) in damages {
        let hall = Hall::begun();
        hall.change(name, damage);
        let (codes, said) = hall.fails(&REPLAN, 3);
        assert!(codes.iter().any(|found| found == code.number()), "{name}, {code}: {said}");
    }
    // The scenario of the supplement was changed under it.
    let hall = Hall::begun();
    let text = fs::read_to_string(hall.file("out/replan/supplement-scenario.json")).unwrap();
    fs::write(hall.file("out/replan/supplement-scenario.json"), text.replacen("supplement", "another", 1))
        .unwrap();
    let (codes, _) = hall.fails(&REPLAN, 3);
    assert!(codes.iter().any(|code| code == FaultCode::ScenarioChanged.number()), "{codes:?}");
}

#[test]
fn trays_noted_as_ready_are_counted_and_not_filled_again() {
    let hall = Hall::begun();
    hall.note(&["tray", "L1", "2"]);
    let shown = hall.run(&["record", "@out/plan.json", "show"]).out;
    assert!(shown.contains("trays for 2 more are ready"), "{shown}");
    let said = hall.run(&["replan", "@out/plan.json"]);
    assert!(said.out.contains("Trays that lie ready and are not filled again: run"), "{}", said.said());
    let _ = hall.passes(&REPLAN);
    // Without the record the same rest is refused: its trays would have to be filled.
    hall.note(&["undo", "4"]);
    let log = fs::metadata(hall.file("out/plan.log")).unwrap().len();
    hall.change("out/replan/replan.json", |replan| {
        (replan["log_bytes"], replan["records"]) = (json!(log), json!(3));
        let renumbered: Replan = serde_json::from_value(replan.clone()).unwrap();
        replan["number"] = json!(replan_number(&renumbered).unwrap());
    });
    let number = hall.json("out/replan/replan.json")["number"].clone();
    hall.change("out/replan/day.json", |day| day["plan"] = number);
    let (codes, said) = hall.fails(&REPLAN, 3);
    let missing = codes.iter().any(|code| code == FaultCode::TaskList.number() || code.starts_with("CR"));
    assert!(missing, "{said}");
}

/// A quilt in a block and a fabric that the scenario does not have, beside fabrics that it has.
fn guest() -> Value {
    let star = star_hall();
    let mut fabric = star["fabrics"][0].clone();
    let fields = fabric.as_object_mut().unwrap();
    fields.insert("name".to_owned(), json!("Guest cloth"));
    for field in ["letter", "price", "kept_back"] {
        let _ = fields.remove(field);
    }
    let mut block = star["blocks"][0].clone();
    block["name"] = json!("Guest star");
    let mut quilt = star["quilts"][0].clone();
    quilt["name"] = json!("Guest quilt");
    quilt["blocks"][0]["block"] = json!("Guest star");
    quilt["blocks"][0]["count"] = json!(2);
    let roles = quilt["blocks"][0]["fabrics"].as_object_mut().unwrap();
    *roles.values_mut().next().unwrap() = json!("Guest cloth");
    json!({ "fabrics": [fabric], "blocks": [block], "quilts": [quilt] })
}

impl Hall {
    fn brought(&self, file: &Value) {
        fs::write(self.file("guest.json"), serde_json::to_string_pretty(file).unwrap()).unwrap();
    }
}

#[test]
fn quilts_bring_their_own_fabrics_and_blocks() {
    let hall = Hall::begun();
    hall.brought(&guest());
    hall.note(&["quilt-added", "@guest.json"]);
    hall.replan();
    let replan = hall.json("out/replan/replan.json");
    let line = |what: &str, list: &str| {
        let list = replan[list].as_array().unwrap().iter();
        list.filter(|line| line[what] == "Guest cloth").cloned().collect::<Vec<_>>()
    };
    // All of it is bought and cut by the supplement, under letters that nothing had before.
    let cloth = line("fabric", "cloth");
    assert!(cloth.len() == 1 && cloth[0]["left"] == 0 && cloth[0]["buy"].as_i64().unwrap() > 0, "{cloth:?}");
    let counted = line("fabric", "recount");
    assert!(!counted.is_empty());
    for line in counted {
        assert!(line["wanted"].as_u64().unwrap() > 0 && line["kept"] == 0, "{line}");
        assert!(line["supplement"].as_u64() >= line["wanted"].as_u64(), "{line}");
    }
    let letters = |scenario: &Value| {
        let all = scenario["fabrics"].as_array().unwrap().iter();
        all.map(|fabric| fabric["letter"].as_str().unwrap_or_default().to_owned()).collect::<Vec<_>>()
    };
    let anew = letters(&replan["supplement"]["scenario"]);
    assert_eq!(anew.iter().collect::<std::collections::BTreeSet<_>>().len(), anew.len());
    let bags = hall.json("out/replan/day.json")["bags"].to_string();
    assert!(bags.contains("Guest quilt") && bags.contains("Guest cloth"), "{bags}");
    // The checker has it from the record, not from the replan.
    let plan = Plan::from_json(&fs::read_to_string(hall.file("out/plan.json")).unwrap()).unwrap();
    let log = log::read(&hall.file("out/plan.log"), &plan).unwrap();
    let sound: Replan = serde_json::from_value(replan.clone()).unwrap();
    let faults = |change: &dyn Fn(&mut Vec<Fabric>, &mut Vec<Block>)| {
        let mut entries = log.entries.clone();
        for entry in &mut entries {
            if let Note::QuiltsAdded { fabrics, blocks, .. } = &mut entry.note {
                change(fabrics, blocks);
            }
        }
        let found = check_replan(&plan, &entries, &sound).err().unwrap_or_default();
        found.iter().map(|fault| fault.code).collect::<Vec<_>>()
    };
    assert_eq!(faults(&|_, _| {}), []);
    let narrow = faults(&|fabrics, _| fabrics[0].usable_width = LengthText::Text("30 in".to_owned()));
    assert!(narrow.contains(&FaultCode::ReplanSupplement), "{narrow:?}");
    let more = faults(&|_, blocks| blocks[0].patches[0].count += 1);
    assert!(more.contains(&FaultCode::ReplanCount), "{more:?}");
    let none = faults(&|fabrics, _| fabrics.clear());
    assert!(none.contains(&FaultCode::ReplanCloth), "{none:?}");
    // Checker and files agree, and the same fabric may come again with another quilt.
    let _ = hall.passes(&REPLAN);
    let mut again = guest();
    again["quilts"][0]["name"] = json!("Second guest");
    hall.brought(&again);
    hall.note(&["quilt-added", "@guest.json"]);
    hall.note(&["bolt", "Guest cloth", "--left", "3 yd"]);
    let (codes, _) = hall.fails(&[&REPLAN[..], &["--day", "@out/day.json"]].concat(), 2);
    assert_eq!(codes, ["R011"]);
    hall.replan();
    let _ = hall.passes(&REPLAN);
    // Somebody says that there is more left of it than was noted: the count is made again from the records.
    hall.change("out/replan/replan.json", |replan| {
        let cloth = replan["cloth"].as_array_mut().unwrap().last_mut().unwrap();
        cloth["left"] = json!(cloth["left"].as_i64().unwrap() + 8128);
    });
    let (codes, said) = hall.fails(&REPLAN, 3);
    assert!(codes.iter().any(|code| code == FaultCode::ReplanCloth.number()), "{said}");
    // What is noted of the fabric keeps the record that brought it from being undone; without it, it goes.
    let undone = hall.run(&["record", "@out/plan.json", "undo", "4"]);
    assert_eq!(undone.code, Some(0), "the second quilt brought the same: {}", undone.said());
    let undone = hall.run(&["record", "@out/plan.json", "undo", "5"]);
    assert_eq!(undone.code, Some(2), "{}", undone.said());
    assert!(undone.said().contains("undo record 6 first"), "{}", undone.said());
    hall.note(&["undo", "6"]);
    hall.note(&["undo", "5"]);
    hall.replan();
    assert!(!hall.json("out/replan/replan.json").to_string().contains("Guest cloth"));
    let _ = hall.passes(&REPLAN);
}

#[test]
fn all_mistakes_of_what_is_brought_are_told_with_their_places() {
    let hall = Hall::begun();
    let told = |change: &dyn Fn(&mut Value)| {
        let mut file = guest();
        change(&mut file);
        hall.brought(&file);
        let ended = hall.run(&["record", "@out/plan.json", "quilt-added", "@guest.json", "--json"]);
        assert_eq!(ended.code, Some(2), "{}", ended.said());
        let told: Value = serde_json::from_str(&ended.out).unwrap();
        let text = fs::read_to_string(hall.file("guest.json")).unwrap();
        let lines: Vec<String> = text.lines().map(str::to_owned).collect();
        let errors = told["errors"].as_array().unwrap().clone();
        let of = |error: &Value| {
            let line = error["line"].as_u64().and_then(|line| lines.get(usize::try_from(line).unwrap() - 1));
            let text = |what: &str| error[what].as_str().unwrap().to_owned();
            assert!(error["file"].as_str().unwrap().ends_with("guest.json"), "{error}");
            (text("code"), text("path"), line.cloned().unwrap_or_default())
        };
        errors.iter().map(of).collect::<Vec<_>>()
    };
    let several = told(&|file| {
        file["fabrics"][0]["usable_width"] = json!("no width");
        file["fabrics"][0]["kept_back"] = json!([{ "for": "binding", "length": "1 yd" }]);
        file["blocks"][0]["patches"][0]["shape"] = json!("no shape");
        file["shapes"] = json!([]);
    });
    for (code, path, line) in [
        ("S201", "fabrics[0].usable_width", "no width"),
        ("S103", "fabrics[0].kept_back", "kept_back"),
        ("S303", "blocks[0].patches[0].shape", "no shape"),
        ("S103", "shapes", "shapes"),
    ] {
        let found = several.iter().find(|told| told.1 == path);
        assert!(found.is_some_and(|told| told.0 == code && told.2.contains(line)), "{path}: {several:?}");
    }
    let known = star_hall()["fabrics"][0]["name"].clone();
    let twice = told(&|file| {
        file["fabrics"][0]["name"] = known.clone();
        file["fabrics"][0]["usable_width"] = json!("30 in");
    });
    assert!(twice.iter().any(|told| told.0 == "S302" && told.1.starts_with("fabrics[0]")), "{twice:?}");
    let none = told(&|file| file["quilts"] = json!([]));
    assert!(none.iter().any(|told| told.1 == "quilts"), "{none:?}");
    let role = told(&|file| file["quilts"][0]["blocks"][0]["fabrics"] = json!({}));
    assert!(role.iter().any(|told| told.0 == "S702" && told.1.starts_with("quilts[0]")), "{role:?}");
    let name = told(&|file| file["quilts"][0]["name"] = json!("north"));
    assert!(name.iter().any(|told| told.1.starts_with("quilts[0]")), "{name:?}");
}

/// What of the rest of a day is its own number, words, what one more of something would do, and bounds that prove less than
/// they could: no check follows them, or they are not wrong where they are 0.
const MAY_DIFFER: [&str; 5] = [
    "/number",
    "/figures/open_at_least",
    "/schedule/finish_at_least",
    "/schedule/held_by",
    "/schedule/one_more",
];

/// Every value in a document that stands alone, and every list, by the way to it.
fn places(value: &Value, way: &str, all: &mut Vec<String>) {
    match value {
        Value::Object(fields) => {
            fields.iter().for_each(|(name, value)| places(value, &format!("{way}/{name}"), all));
        }
        Value::Array(list) => {
            all.push(way.to_owned());
            // What stands alike in a long list is read alike.
            list.iter()
                .take(3)
                .enumerate()
                .for_each(|(at, value)| places(value, &format!("{way}/{at}"), all));
        }
        _ => all.push(way.to_owned()),
    }
}

#[test]
fn whatever_stands_in_the_files_nothing_but_the_check_fails() {
    let hall = Hall::begun();
    let plan = Plan::from_json(&fs::read_to_string(hall.file("out/plan.json")).unwrap()).unwrap();
    let log = log::read(&hall.file("out/plan.log"), &plan).unwrap();
    let replan = hall.json("out/replan/replan.json");
    let sound: Replan = serde_json::from_value(replan.clone()).unwrap();
    let day = hall.json("out/replan/day.json");
    let mut read = 0;
    let mut with = |document: &Value, refused: &dyn Fn(Value) -> Option<bool>| {
        let mut all = Vec::new();
        places(document, "", &mut all);
        for way in all.iter().filter(|way| !way.is_empty() && !way.starts_with("/supplement/scenario")) {
            let others = match document.pointer(way).unwrap() {
                Value::Number(_) => vec![json!(0), json!(i64::MAX), json!(u64::MAX), json!(-1)],
                Value::Array(list) => vec![json!([]), json!([&list[..], &list[..]].concat())],
                Value::String(_) => vec![json!(""), json!("?")],
                Value::Bool(yes) => vec![json!(!yes)],
                _ => vec![json!({})],
            };
            let same = document.pointer(way).unwrap();
            for other in others.into_iter().filter(|other| other != same) {
                let mut changed = document.clone();
                *changed.pointer_mut(way).unwrap() = other.clone();
                // What cannot be read at all was refused before.
                let Some(refused) = refused(changed) else { continue };
                read += 1;
                let may = MAY_DIFFER.iter().any(|may| way.starts_with(may));
                assert!(refused || may, "{way} = {other} passes");
            }
        }
    };
    with(&replan, &|value| {
        let replan = serde_json::from_value(value).ok()?;
        Some(check_replan(&plan, &log.entries, &replan).is_err())
    });
    with(&day, &|value| {
        let mut day: Day = serde_json::from_value(value).ok()?;
        // The number alone would give away every change.
        day.number = day_number(&day).unwrap();
        Some(check_rest(&plan, &log.entries, &sound, &day).is_err())
    });
    assert!(read > 500, "{read}");
}
