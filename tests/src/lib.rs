//! What the end-to-end tests share: the built program, run as a user runs it, and the demo scenarios. What must not
//! live here: any knowledge of how the program works inside.

use std::ffi::OsStr;
use std::io;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::sync::OnceLock;

use serde_json::{Value, json};

/// The built program. It is built on the first call, in release mode, because whole quilts are planned with it.
///
/// # Panics
/// If it cannot be built: no end-to-end test can say anything then.
#[must_use]
pub fn program() -> &'static Path {
    static PROGRAM: OnceLock<PathBuf> = OnceLock::new();
    PROGRAM.get_or_init(|| build().expect("the program must build before it can be tested"))
}

/// Builds the program and asks cargo where it put it.
fn build() -> io::Result<PathBuf> {
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let built = Command::new(cargo)
        .args(["build", "--quiet", "--release", "--package", "patchlay", "--message-format", "json"])
        .current_dir(root())
        .stderr(std::process::Stdio::inherit())
        .output()?;
    let told = String::from_utf8_lossy(&built.stdout).into_owned();
    told.lines()
        .filter_map(executable)
        .next_back()
        .ok_or_else(|| io::Error::other("cargo names no executable"))
}

/// The executable that one line of cargo's messages names.
fn executable(line: &str) -> Option<PathBuf> {
    let message: Value = serde_json::from_str(line).ok()?;
    message["executable"].as_str().map(PathBuf::from)
}

/// The root of the workspace.
#[must_use]
pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// A demo scenario by the name of its file, without the ending.
#[must_use]
pub fn demo(name: &str) -> PathBuf {
    root().join("scenarios").join(format!("{name}.json"))
}

/// The names of all demo scenarios, sorted.
///
/// # Errors
/// The folder cannot be read.
pub fn demos() -> io::Result<Vec<String>> {
    let mut names = Vec::new();
    for entry in std::fs::read_dir(root().join("scenarios"))? {
        let path = entry?.path();
        if path.extension() == Some(OsStr::new("json")) {
            names.extend(path.file_stem().map(|stem| stem.to_string_lossy().into_owned()));
        }
    }
    names.sort();
    Ok(names)
}

/// The stars of a demo as three quilts, cut by four people at two cutters with two copies of the board.
///
/// # Panics
/// If the demo cannot be read.
#[must_use]
pub fn star_hall() -> Value {
    let text = std::fs::read_to_string(demo("star-hand-check")).expect("the demo must be there");
    let mut scenario: Value = serde_json::from_str(&text).expect("the demo must be JSON");
    let mut quilt = scenario["quilts"][0].clone();
    quilt["blocks"][0]["count"] = json!(8);
    let named = |name: &str| {
        let mut quilt = quilt.clone();
        quilt["name"] = json!(name);
        quilt
    };
    scenario["quilts"] = json!([named("north"), named("south"), named("west")]);
    let board = scenario["boards"][0]["name"].clone();
    let cutter = &scenario["cutter"];
    let class = json!({
        "name": "press", "bed_width": cutter["bed_width"], "longest_board": cutter["longest_board"],
        "ply_limit": cutter["ply_limit"], "number": 2
    });
    scenario["group"] = json!({
        "bags": { "by": "quilt", "spares": "one_bag" },
        "cutters": [class],
        "copies": [{ "board": board, "copies": 2 }],
        "equipment": { "passes_a_tray": 2 },
        "helpers": [
            { "name": "One", "can": ["press", "strips", "fold"] },
            { "name": "Two", "can": ["fold", "crank"], "speed_percent": 110 },
            { "name": "Three", "can": ["crank", "lift_out", "check_bags"] },
            { "name": "Four", "can": ["lift_out", "check_bags"], "from": "9:40", "to": "23:00" }
        ]
    });
    scenario
}

/// How a run ended.
#[derive(Debug)]
pub struct Ended {
    /// Exit code; none if a signal ended it.
    pub code: Option<i32>,
    /// Standard output.
    pub out: String,
    /// Standard error.
    pub err: String,
}

impl Ended {
    /// Both outputs, for looking at what was said.
    #[must_use]
    pub fn said(&self) -> String {
        format!("{}{}", self.out, self.err)
    }
}

impl From<Output> for Ended {
    fn from(output: Output) -> Self {
        Self {
            code: output.status.code(),
            out: String::from_utf8_lossy(&output.stdout).into_owned(),
            err: String::from_utf8_lossy(&output.stderr).into_owned(),
        }
    }
}

/// Runs the program to its end.
///
/// # Errors
/// It cannot be started.
pub fn run<I: IntoIterator<Item = S>, S: AsRef<OsStr>>(arguments: I) -> io::Result<Ended> {
    Command::new(program()).args(arguments).output().map(Ended::from)
}

/// Plans a scenario file into a folder, with further options.
///
/// # Errors
/// The program cannot be started.
pub fn plan(scenario: &Path, folder: &Path, options: &[&str]) -> io::Result<Ended> {
    let words = [OsStr::new("plan"), scenario.as_os_str(), OsStr::new("--out"), folder.as_os_str()];
    run(words.into_iter().chain(options.iter().map(OsStr::new)))
}

/// The names in a folder, sorted; empty if there is no such folder.
#[must_use]
pub fn names_in(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = std::fs::read_dir(folder)
        .map(|entries| entries.flatten().map(|e| e.file_name().to_string_lossy().into_owned()).collect())
        .unwrap_or_default();
    names.sort();
    names
}
