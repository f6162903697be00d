//! Ctrl-C: the search ends, and the best plan so far is checked and written, and says that it was stopped. And nothing of
//! what is shown on a terminal while the search goes on reaches a file or a pipe.

#![cfg(target_os = "linux")]
#![allow(clippy::unwrap_used, reason = "a test that cannot go on should stop")]

use std::ffi::OsStr;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};
use std::thread::sleep;
use std::time::Duration;

use patchlay_plan::{Outcome, Plan};

fn scenario(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("../../scenarios/{name}.json"))
}

fn begun<S: AsRef<OsStr>>(words: &[S]) -> Child {
    let mut command = Command::new(env!("CARGO_BIN_EXE_patchlay"));
    command.args(words).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap()
}

/// Whether the program has asked the system for Ctrl-C: the mask of caught signals, in which signal 2 is the second bit
/// (proc(5), SigCgt).
fn listens(child: &Child) -> bool {
    let status = fs::read_to_string(format!("/proc/{}/status", child.id())).unwrap_or_default();
    let mask = status.lines().find_map(|line| line.strip_prefix("SigCgt:")).unwrap_or("0").trim();
    u64::from_str_radix(mask, 16).unwrap() & 0b10 != 0
}

/// Sends Ctrl-C as soon as it is listened for.
fn stopped(mut child: Child) -> Output {
    while !listens(&child) {
        assert!(child.try_wait().unwrap().is_none(), "it ended before it could be stopped");
        sleep(Duration::from_millis(5));
    }
    let sent = Command::new("kill").args(["-INT", &child.id().to_string()]).status().unwrap();
    assert!(sent.success());
    child.wait_with_output().unwrap()
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

/// The largest demo at the highest effort takes far longer than what is waited for here, on any machine.
#[test]
fn a_stopped_plan_is_written_whole_and_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let (out, file) = (folder.path().join("out"), scenario("twelve-lap-quilts"));
    let words = [OsStr::new("plan"), file.as_os_str(), OsStr::new("--effort"), OsStr::new("10")];
    let ended = stopped(begun(&[&words[..], &[OsStr::new("--out"), out.as_os_str()]].concat()));
    let (said, aside) = (text(&ended.stdout), text(&ended.stderr));
    assert_eq!(ended.status.code(), Some(0), "{said}{aside}");
    assert!(said.contains("The search was stopped early: the plan is sound and was checked"), "{said}");
    assert!(aside.starts_with("Stopped after") && aside.lines().count() == 1, "{aside}");
    let json = fs::read_to_string(out.join("plan.json")).unwrap();
    assert_eq!(Plan::from_json(&json).unwrap().outcome, Outcome::Stopped);
    for name in ["sheets.html", "shopping.csv", "strips.csv", "layups.csv"] {
        assert!(out.join(name).is_file(), "{name}");
    }
    let verified = begun(&[OsStr::new("verify"), file.as_os_str(), out.join("plan.json").as_os_str()])
        .wait_with_output();
    assert_eq!(verified.unwrap().status.code(), Some(0));
}

/// Answers that were stopped are answers too, each of a checked plan, and it is said which were.
#[test]
fn a_stopped_explanation_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let file = scenario("queen-churn-dash");
    let words = [OsStr::new("plan"), file.as_os_str(), OsStr::new("--out"), folder.path().as_os_str()];
    assert_eq!(stopped(begun(&words)).status.code(), Some(0));
    let plan = folder.path().join("plan.json");
    let ended =
        stopped(begun(&[OsStr::new("explain"), plan.as_os_str(), OsStr::new("--effort"), OsStr::new("10")]));
    let (said, aside) = (text(&ended.stdout), text(&ended.stderr));
    assert_eq!(ended.status.code(), Some(0), "{said}{aside}");
    assert!(said.contains("stopped early"), "{said}");
}

#[test]
fn nothing_is_drawn_where_nobody_watches() {
    let folder = tempfile::tempdir().unwrap();
    for command in ["plan", "compare"] {
        let file = scenario("smallest");
        let out = folder.path().join(command);
        let words = [OsStr::new(command), file.as_os_str(), OsStr::new("--out"), out.as_os_str()];
        let ended = begun(&words).wait_with_output().unwrap();
        let aside = text(&ended.stderr);
        assert_eq!(ended.status.code(), Some(0), "{aside}");
        assert_eq!(aside.lines().count(), 1, "{aside}");
        assert!(!aside.contains(['\r', '\u{1b}']), "{aside:?}");
    }
}
