//! The day itself, as people at the cutter see it: notes, undoing, showing, two at once, power cuts, and the rest planned
//! anew.

#![allow(clippy::unwrap_used, reason = "a test ends where something cannot be had")]

use std::ffi::OsStr;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::OnceLock;
use std::time::Duration;

use patchlay_tests::{Ended, demo, names_in, plan, program, run};
use serde_json::{Value, json};

/// The plan of a demo, made once.
fn made(name: &'static str) -> &'static Path {
    static STAR: OnceLock<(tempfile::TempDir, PathBuf)> = OnceLock::new();
    static CRIB: OnceLock<(tempfile::TempDir, PathBuf)> = OnceLock::new();
    static METRIC: OnceLock<(tempfile::TempDir, PathBuf)> = OnceLock::new();
    let kept = match name {
        "crib-nine-patch" => &CRIB,
        "crib-nine-patch-metric" => &METRIC,
        _ => &STAR,
    };
    let (_, file) = kept.get_or_init(|| {
        let folder = tempfile::tempdir().unwrap();
        assert_eq!(plan(&demo(name), folder.path(), &["--effort", "1"]).unwrap().code, Some(0));
        let file = folder.path().join("plan.json");
        (folder, file)
    });
    file
}

/// A folder with a plan and no log yet.
struct Day {
    folder: tempfile::TempDir,
}

impl Day {
    fn of(name: &'static str) -> Self {
        let folder = tempfile::tempdir().unwrap();
        fs::copy(made(name), folder.path().join("plan.json")).unwrap();
        Self { folder }
    }

    fn star() -> Self {
        Self::of("star-hand-check")
    }

    fn file(&self) -> PathBuf {
        self.folder.path().join("plan.json")
    }

    fn log(&self) -> PathBuf {
        self.folder.path().join("plan.log")
    }

    fn plan(&self) -> Value {
        serde_json::from_str(&fs::read_to_string(self.file()).unwrap()).unwrap()
    }

    fn record(&self, words: &[&str]) -> Ended {
        let file = self.file();
        let ended =
            run([OsStr::new("record"), file.as_os_str()].into_iter().chain(words.iter().map(OsStr::new)));
        let ended = ended.unwrap();
        assert!(!ended.said().contains("panicked"), "{}", ended.said());
        ended
    }

    fn note(&self, words: &[&str]) {
        let ended = self.record(words);
        assert_eq!(ended.code, Some(0), "{words:?}: {}", ended.said());
    }

    /// The error of a record that is refused.
    fn refused(&self, words: &[&str]) -> Value {
        let before = fs::read(self.log()).unwrap_or_default();
        let ended = self.record(&[words, &["--json"]].concat());
        assert_eq!(ended.code, Some(2), "{words:?}: {}", ended.said());
        assert_eq!(fs::read(self.log()).unwrap_or_default(), before, "{words:?}");
        let told: Value = serde_json::from_str(&ended.out).unwrap();
        told["errors"][0].clone()
    }

    fn show(&self) -> Value {
        let ended = self.record(&["show", "--json"]);
        assert_eq!(ended.code, Some(0), "{}", ended.said());
        serde_json::from_str(&ended.out).unwrap()
    }

    fn replan(&self) -> Ended {
        run([OsStr::new("replan"), self.file().as_os_str(), OsStr::new("--json")]).unwrap()
    }

    /// The document of a replan that is made.
    fn replanned(&self) -> Value {
        let ended = self.replan();
        assert_eq!(ended.code, Some(0), "{}", ended.said());
        let told: Value = serde_json::from_str(&ended.out).unwrap();
        let replan = told["replan"].clone();
        for line in replan["recount"].as_array().unwrap() {
            let of = |what: &str| line[what].as_u64().unwrap();
            assert!(of("good") + of("kept") + of("supplement") >= of("wanted"), "{line}");
        }
        replan
    }

    fn page(&self) -> String {
        fs::read_to_string(self.folder.path().join("replan/replan.html")).unwrap()
    }
}

fn numbers(shown: &Value) -> Vec<u64> {
    shown["records"].as_array().unwrap().iter().map(|entry| entry["number"].as_u64().unwrap()).collect()
}

#[test]
fn notes_are_kept_shown_and_undone() {
    let day = Day::star();
    assert_eq!(day.show()["records"], json!([]));
    day.note(&["passes", "L1", "2", "--who", "the helper at the second table"]);
    day.note(&["passes", "L2", "--plies", "A.1=0"]);
    day.note(&["undo", "1"]);
    let shown = day.show();
    assert_eq!(numbers(&shown), [1, 2, 3]);
    assert_eq!(shown["counting"], json!([2]));
    assert_eq!(shown["records"][0]["who"], "the helper at the second table");
    let made: Vec<u64> =
        shown["layups"].as_array().unwrap().iter().map(|l| l["made"].as_u64().unwrap()).collect();
    assert_eq!(made[..2], [0, 1]);
    let text = day.record(&["show"]);
    assert!(text.out.contains("L1: 2 passes made (the helper at the second table) - undone"), "{}", text.out);
    day.note(&["tally"]);
    let page = fs::read_to_string(day.folder.path().join("tally.html")).unwrap();
    assert!(page.contains("Passes made") && !page.contains("overfull\""), "tally");
}

#[test]
fn what_makes_no_sense_is_refused_with_the_way_out() {
    let day = Day::star();
    day.note(&["passes", "L1", "1"]);
    for (words, code) in [
        (&["passes", "L99"][..], "L101"),
        (&["passes", "L1", "999"], "L201"),
        (&["passes", "L1", "--first", "1"], "L202"),
        (&["passes", "L1", "0"], "L206"),
        (&["passes", "L1", "--plies", "nonsense"], "R009"),
        (&["passes", "L1", "--plies", "A=99"], "L204"),
        (&["spoiled", "L1", "2", "A.1", "1"], "L203"),
        (&["spoiled", "L1", "1", "A.1", "99"], "L205"),
        (&["spoiled", "L1", "1", "?", "1"], "R009"),
        (&["spoiled", "L1", "1", "Q", "1"], "L109"),
        (&["passes", "S-L1"], "L101"),
        (&["run", "1"], "R009"),
        (&["patches-spoiled", "Light", "square 4", "99999"], "L205"),
        (&["patches-spoiled", "Lihgt", "square 4", "1"], "L102"),
        (&["patches-found", "Light", "sqare 4", "1"], "L103"),
        (&["strips", "A999"], "L104"),
        (&["cloth-spoiled", "nothing"], "L104"),
        (&["board", "star bord"], "L105"),
        (&["board", "star board", "2"], "L210"),
        (&["mat", "mta"], "L106"),
        (&["person", "anybody"], "L107"),
        (&["quilt-dropped", "Thirty strs"], "L108"),
        (&["quilt-added", "there-is-no-such-file.json"], "R001"),
        (&["bolt", "Light", "--left", "some"], "R009"),
        (&["bolt", "Light", "--width", "9 yd"], "L209"),
        (&["undo", "77"], "L110"),
    ] {
        let error = day.refused(words);
        assert_eq!(error["code"], code, "{words:?}: {error}");
        assert!(error["hint"].as_str().is_some_and(|hint| !hint.is_empty()), "{words:?}: {error}");
    }
    assert_eq!(numbers(&day.show()), [1]);
    let area = day.refused(&["spoiled", "L1", "1", "Q", "1"]);
    assert!(area["problem"].as_str().unwrap().contains("no area Q"), "{area}");
    let supplement = day.refused(&["passes", "S-L1"]);
    assert!(supplement["hint"].as_str().unwrap().contains("patches-found"), "{supplement}");
    let late = ["passes", "L1", "--at", "253402300800"];
    for words in
        [&["bolt", "Light"][..], &["passes"], &["nonsense"], &["passes", "L1", "-1"], &["run", "0x1"], &late]
    {
        assert_eq!(day.record(words).code, Some(2), "{words:?}");
    }
}

#[test]
fn a_log_of_another_plan_and_a_changed_plan_are_refused() {
    let (day, other) = (Day::star(), Day::of("crib-nine-patch"));
    other.note(&["passes", "L1"]);
    fs::copy(other.log(), day.log()).unwrap();
    let error = day.refused(&["passes", "L1"]);
    assert_eq!(error["code"], "L001");
    assert!(error["hint"].as_str().unwrap().contains("move the log"), "{error}");
    assert_eq!(day.replan().code, Some(2));
    fs::remove_file(day.log()).unwrap();
    let mut changed = day.plan();
    changed["layups"][0]["board"] = json!("another");
    fs::write(day.file(), changed.to_string()).unwrap();
    assert_eq!(day.refused(&["passes", "L1"])["code"], "R004");
}

#[test]
fn a_plan_that_is_being_cut_is_not_written_over() {
    let day = Day::star();
    day.note(&["passes", "L1"]);
    let before = fs::read(day.file()).unwrap();
    let ended = plan(&demo("smallest"), day.folder.path(), &["--json"]).unwrap();
    assert_eq!(ended.code, Some(2), "{}", ended.said());
    assert!(ended.out.contains("R010"), "{}", ended.out);
    assert_eq!(fs::read(day.file()).unwrap(), before);
}

#[test]
fn two_who_note_at_once_lose_nothing() {
    let day = Day::star();
    let file = day.file();
    let note = |name: String| {
        let words =
            [OsStr::new("record"), file.as_os_str(), OsStr::new("patches-found"), OsStr::new("Light")];
        let more = ["square 4", "1", "--who", &name].map(OsStr::new).map(OsStr::to_os_string);
        let mut command = Command::new(program());
        command.args(words).args(more).stdout(Stdio::null()).stderr(Stdio::null());
        command.spawn().unwrap()
    };
    for round in 0..8 {
        let both = [note(format!("one {round}")), note(format!("two {round}"))];
        for mut child in both {
            assert!(child.wait().unwrap().success());
        }
    }
    let shown = day.show();
    assert_eq!(numbers(&shown), (1..=16).collect::<Vec<u64>>());
    let who: std::collections::BTreeSet<&str> =
        shown["records"].as_array().unwrap().iter().map(|entry| entry["who"].as_str().unwrap()).collect();
    assert_eq!((who.len(), &shown["troubles"]), (16, &json!([])));
}

#[test]
fn killed_at_any_instant_the_log_reads_and_has_all_that_was_acknowledged() {
    let day = Day::star();
    let file = day.file();
    let mut acknowledged = Vec::new();
    let mut killed = 0;
    for round in 0..60_u64 {
        let name = format!("round {round}");
        let mut child = Command::new(program())
            .arg("record")
            .arg(&file)
            .args(["patches-found", "Light", "square 4", "1", "--who", &name])
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        std::thread::sleep(Duration::from_micros(round % 30 * 400));
        drop(child.kill());
        if child.wait().unwrap().success() {
            acknowledged.push(name);
        } else {
            killed += 1;
        }
    }
    day.note(&["patches-found", "Light", "square 4", "1", "--who", "the last"]);
    acknowledged.push("the last".to_owned());
    let shown = day.show();
    let who: Vec<&str> =
        shown["records"].as_array().unwrap().iter().map(|entry| entry["who"].as_str().unwrap()).collect();
    for name in &acknowledged {
        assert_eq!(who.iter().filter(|who| *who == name).count(), 1, "{name}: {who:?}");
    }
    assert_eq!(shown["troubles"], json!([]));
    assert!(killed > 0, "no run was stopped in time, so nothing was tried");
}

#[test]
fn without_trouble_nothing_changes() {
    let day = Day::star();
    day.note(&["passes", "L1", "3"]);
    let replan = day.replanned();
    assert_eq!((&replan["dropped"], &replan["supplement"]), (&json!([]), &Value::Null));
    assert_eq!(names_in(&day.folder.path().join("replan")), ["replan.html", "replan.json"]);
    assert!(day.page().contains("Changes to plan"));
}

#[test]
fn a_spoiled_pass_gets_a_supplement_and_no_card_is_thrown_away() {
    let day = Day::star();
    day.note(&["passes", "L1", "1"]);
    day.note(&["spoiled", "L1", "1", "A.1", "1"]);
    let replan = day.replanned();
    assert_eq!(replan["dropped"], json!([]));
    let plan = day.plan();
    let kept: usize =
        replan["kept"].as_array().unwrap().iter().map(|own| own["passes"].as_array().unwrap().len()).sum();
    let all: usize =
        plan["layups"].as_array().unwrap().iter().map(|own| own["passes"].as_array().unwrap().len()).sum();
    assert_eq!(kept, all - 1);
    assert_eq!(replan["supplement"]["layups"].as_array().unwrap().len(), 1);
    let page = day.page();
    let number = replan["supplement"]["number"].as_str().unwrap();
    let title = format!("Supplement {number} to plan");
    assert!(page.contains(&title) && page.contains("No card is thrown away."), "{title}");
    assert!(!page.contains("overfull\""));
    // The supplement is a plan like any other.
    let folder = day.folder.path().join("replan");
    let [scenario, plan] = ["supplement-scenario.json", "supplement.json"].map(|name| folder.join(name));
    let verified = run([OsStr::new("verify"), scenario.as_os_str(), plan.as_os_str()]).unwrap();
    assert_eq!(verified.code, Some(0), "{}", verified.said());
    let noted =
        run([OsStr::new("record"), plan.as_os_str(), OsStr::new("passes"), OsStr::new("S-L1")]).unwrap();
    assert_eq!(noted.code, Some(0), "{}", noted.said());
    // What was cut of it is noted there, so another one is not written over it.
    day.note(&["patches-spoiled", "Light", "square 4", "2"]);
    let ended = day.replan();
    assert_eq!(ended.code, Some(2), "{}", ended.said());
    assert!(ended.out.contains("R010"), "{}", ended.out);
}

#[test]
fn a_damaged_board_that_nothing_replaces_is_said_and_another_is_taken_where_there_is_one() {
    let day = Day::of("crib-nine-patch");
    day.note(&["board", "large square"]);
    let ended = day.replan();
    assert_eq!(ended.code, Some(1), "{}", ended.said());
    assert!(ended.out.contains("drop a quilt"), "{}", ended.out);
    assert!(!day.folder.path().join("replan").exists());
    day.note(&["undo", "1"]);
    day.note(&["mat", "half mat"]);
    let replan = day.replanned();
    assert!(!replan["dropped"].as_array().unwrap().is_empty());
    let mats = replan["supplement"]["scenario"]["cutter"]["mats"].as_array().unwrap();
    assert!(mats.iter().all(|mat| mat["name"] != "half mat"), "{mats:?}");
    assert!(day.page().contains("Throw away the card"));
}

#[test]
fn a_short_bolt_says_what_to_buy() {
    let day = Day::of("crib-nine-patch");
    day.note(&["bolt", "Ducks", "--left", "9 in"]);
    let replan = day.replanned();
    let ducks = replan["cloth"].as_array().unwrap().iter().find(|cloth| cloth["fabric"] == "Ducks").unwrap();
    assert!(ducks["beyond"].as_u64().unwrap() > 0 && ducks["buy"].as_i64().unwrap() > 0, "{ducks}");
    assert!(
        ducks["kept"].as_i64().unwrap() + ducks["supplement"].as_i64().unwrap()
            <= ducks["left"].as_i64().unwrap()
    );
    let reasons = replan["dropped"].to_string();
    assert!(reasons.contains("short"), "{reasons}");
}

#[test]
fn a_quilt_dropped_in_the_middle_of_the_day_leaves_out_what_is_not_needed() {
    let day = Day::star();
    day.note(&["passes", "L1", "1"]);
    day.note(&["quilt-dropped", "Thirty stars"]);
    let replan = day.replanned();
    assert_eq!((&replan["kept"], &replan["supplement"]), (&json!([]), &Value::Null));
    assert!(replan["dropped"].to_string().contains("not_wanted"));
}

#[test]
fn a_quilt_added_in_the_middle_of_the_day_is_cut_on_top() {
    let day = Day::star();
    let file = day.folder.path().join("quilt.json");
    let quilt = json!({ "name": "One more", "blocks": [
        { "block": "Ohio Star", "count": 2, "fabrics": { "light": "Light", "dark": "Dark", "bright": "Bright" } }
    ] });
    fs::write(&file, quilt.to_string()).unwrap();
    day.note(&["quilt-added", file.to_str().unwrap()]);
    let replan = day.replanned();
    assert_eq!(replan["dropped"], json!([]));
    assert!(replan["supplement"].is_object());
    fs::write(&file, quilt.to_string().replace("Ohio", "Oiho")).unwrap();
    assert_eq!(day.refused(&["quilt-added", file.to_str().unwrap()])["code"], "L213");
    fs::write(&file, quilt.to_string().replace("Ohio", "Oiho").replace("One more", "Two more")).unwrap();
    assert_eq!(day.refused(&["quilt-added", file.to_str().unwrap()])["code"], "L214");
    fs::write(&file, "[1,").unwrap();
    assert_eq!(day.refused(&["quilt-added", file.to_str().unwrap()])["code"], "R009");
}

#[test]
fn a_fabric_that_was_given_costs_nothing_beside_priced_ones() {
    let day = Day::of("crib-nine-patch-metric");
    let scenario: Value =
        serde_json::from_str(&fs::read_to_string(demo("crib-nine-patch-metric")).unwrap()).unwrap();
    let mut fabric = scenario["fabrics"][0].clone();
    assert!(fabric.get("price").is_some(), "the demo has no prices");
    let letter = day.plan()["fabrics"][0]["strips"][0]["name"].as_str().unwrap()[..1].to_owned();
    let fields = fabric.as_object_mut().unwrap();
    fields.insert("name".to_owned(), json!("A gift"));
    for field in ["price", "letter", "kept_back"] {
        let _ = fields.remove(field);
    }
    let mut quilt = scenario["quilts"][0].clone();
    quilt["name"] = json!("One more");
    quilt["copies"] = json!(1);
    let roles = quilt["blocks"][0]["fabrics"].as_object_mut().unwrap();
    *roles.values_mut().next().unwrap() = json!("A gift");
    let file = day.folder.path().join("quilt.json");
    fs::write(&file, json!({ "fabrics": [fabric], "quilts": [quilt] }).to_string()).unwrap();
    day.note(&["quilt-added", file.to_str().unwrap()]);
    let replan = day.replanned();
    let anew = replan["supplement"]["scenario"]["fabrics"].as_array().unwrap();
    let gift = anew.iter().find(|fabric| fabric["name"] == "A gift").unwrap();
    assert!(gift["price"] == "0" && gift["letter"] != json!(letter), "{gift}");
    assert!(replan["cloth"].as_array().unwrap().iter().any(|cloth| cloth["fabric"] == "A gift"));
    // Letters that are on tags already may not be given again.
    let mut again = anew[0].clone();
    again["name"] = json!("Another gift");
    quilt["name"] = json!("Two more");
    fs::write(&file, json!({ "fabrics": [again], "quilts": [quilt] }).to_string()).unwrap();
    let error = day.refused(&["quilt-added", file.to_str().unwrap()]);
    assert_eq!((&error["code"], &error["path"]), (&json!("S305"), &json!("fabrics[0].letter")));
    let words = [demo("crib-nine-patch-metric").into_os_string(), day.file().into_os_string()];
    let words = [OsStr::new("verify"), &words[0], &words[1], OsStr::new("--replan")].map(OsStr::to_owned);
    let folder = day.folder.path().join("replan").into_os_string();
    let verified = run(words.into_iter().chain([folder])).unwrap();
    assert_eq!(verified.code, Some(0), "{}", verified.said());
}

#[test]
fn a_damaged_log_is_read_as_far_as_it_goes_and_says_so() {
    let day = Day::star();
    for _ in 0..3 {
        day.note(&["passes", "L1"]);
    }
    let mut bytes = fs::read(day.log()).unwrap();
    let middle = bytes.iter().enumerate().filter(|(_, byte)| **byte == b'\n').nth(1).unwrap().0 - 8;
    bytes[middle] ^= 1;
    fs::write(day.log(), &bytes).unwrap();
    let shown = day.show();
    assert_eq!(numbers(&shown), [2, 3]);
    assert_eq!(shown["troubles"][0]["code"], "damaged");
    let text = day.record(&["passes", "L1"]);
    assert!(text.err.contains("look out[L003]"), "{}", text.err);
    let replan = day.replanned();
    assert!(replan["changes"].to_string().contains("cannot be read"));
    fs::write(day.log(), &bytes[..bytes.len() - 9]).unwrap();
    assert_eq!(day.show()["troubles"][1]["code"], "torn");
    day.note(&["passes", "L1"]);
    assert!(day.folder.path().join("plan.log.torn").exists());
}
