//! The log beside a plan: one file, appended to and never changed. A record counts once its line has reached the disk;
//! an append that was cut off is set aside before the next, and damage to one line leaves all others readable.

use std::fs::{File, OpenOptions};
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

use patchlay_plan::Plan;
use patchlay_plan::record::{Entry, LOG_VERSION, Note, Opening};
use serde_json::Value;

use crate::line::{encode, scan};
use crate::problem::{Code, Problem};

/// Largest log that is read, bytes.
const LARGEST: u64 = 64 << 20;

/// The log that stands beside a plan's file: `plan.log` beside `plan.json`.
#[must_use]
pub fn beside(plan: &Path) -> PathBuf {
    plan.with_extension("log")
}

/// Where the end of a write that was cut off is set aside: `plan.log.torn`.
#[must_use]
pub fn torn_beside(log: &Path) -> PathBuf {
    let mut name = log.as_os_str().to_os_string();
    name.push(".torn");
    PathBuf::from(name)
}

/// What a log says.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Log {
    /// Every record that can be read, in the order of writing.
    pub entries: Vec<Entry>,
    /// What cannot be read, and what is missing. None of it stops the reading.
    pub troubles: Vec<Problem>,
    /// Length of the file, bytes, without an end that was never written to its end.
    pub bytes: u64,
    /// Number that the next record gets.
    next: u64,
    opened: bool,
}

/// Why a record was not written.
#[derive(Debug)]
pub enum LogError {
    /// The log does not take it.
    Refused(Problem),
    /// The file cannot be read or written.
    File(io::Error),
}

impl From<io::Error> for LogError {
    fn from(error: io::Error) -> Self {
        Self::File(error)
    }
}

impl From<Problem> for LogError {
    fn from(problem: Problem) -> Self {
        Self::Refused(problem)
    }
}

/// A record that has reached the disk.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Written {
    /// The record.
    pub entry: Entry,
    /// The log that it was added to, as it was before.
    pub before: Log,
    /// Bytes of a write that was cut off earlier and is now set aside.
    pub set_aside: u64,
}

/// Reads the log of a plan; a missing file is a log without records.
///
/// # Errors
/// The file cannot be read, is too large, or belongs to another plan.
pub fn read(file: &Path, plan: &Plan) -> Result<Log, LogError> {
    Ok(understand(&bytes_of(file)?, plan)?.0)
}

/// The log as [`read`] gives it, and as it was when it was so many bytes long: without what was noted after that.
///
/// # Errors
/// As [`read`].
pub fn read_as_of(file: &Path, plan: &Plan, bytes: u64) -> Result<(Log, Log), LogError> {
    let all = bytes_of(file)?;
    let before = usize::try_from(bytes).ok().and_then(|bytes| all.get(..bytes)).unwrap_or(&all);
    Ok((understand(&all, plan)?.0, understand(before, plan)?.0))
}

/// Adds a record. `sound` looks at the log as it is, with nobody else writing, and may refuse.
///
/// # Errors
/// What `sound` says, or the log belongs to another plan, or the file cannot be written. Then the record does not
/// count, and nothing of the log has changed.
pub fn append(
    file: &Path,
    plan: &Plan,
    (at, who): (u64, Option<String>),
    note: Note,
    sound: impl FnOnce(&Log, &Entry) -> Result<(), Problem>,
) -> Result<Written, LogError> {
    let mut opened = OpenOptions::new().read(true).write(true).create(true).truncate(false).open(file)?;
    opened.lock()?;
    let bytes = contents(&mut opened)?;
    let (before, torn) = understand(&bytes, plan)?;
    let entry = Entry { plan: plan.number.clone(), number: before.next, at, who, note };
    sound(&before, &entry)?;
    let set_aside = match torn {
        Some(torn) => set_aside(&mut opened, file, &bytes[torn..], torn as u64)?,
        None => 0,
    };
    let end = opened.seek(SeekFrom::End(0))?;
    let mut text = String::new();
    // A whole line of which only the newline is missing is read, so it stays.
    if set_aside == 0 && bytes.last().is_some_and(|last| *last != b'\n') {
        text.push('\n');
    }
    if !before.opened {
        text.push_str(&encode(&json(&opening(plan))?));
    }
    text.push_str(&encode(&json(&entry)?));
    if let Err(error) = opened.write_all(text.as_bytes()).and_then(|()| opened.sync_all()) {
        // Nothing was acknowledged. Where even this fails the end is torn, which the next append sees.
        drop(opened.set_len(end));
        return Err(error.into());
    }
    if end == 0 {
        sync_folder(file)?;
    }
    Ok(Written { entry, before, set_aside })
}

fn opening(plan: &Plan) -> Opening {
    Opening {
        patchlay_log: LOG_VERSION,
        plan: plan.number.clone(),
        scenario_digest: plan.scenario_digest.clone(),
    }
}

fn json(value: &impl serde::Serialize) -> io::Result<String> {
    serde_json::to_string(value).map_err(io::Error::from)
}

/// Copies the end of a write that was cut off into a file of its own, and only then takes it off the log.
fn set_aside(opened: &mut File, file: &Path, torn: &[u8], from: u64) -> io::Result<u64> {
    let mut aside = OpenOptions::new().append(true).create(true).open(torn_beside(file))?;
    aside.write_all(torn)?;
    aside.write_all(b"\n")?;
    aside.sync_all()?;
    sync_folder(file)?;
    opened.set_len(from)?;
    Ok(torn.len() as u64)
}

/// A new file reaches the disk with its folder. Not every system lets a folder be opened; what can be synced is.
fn sync_folder(file: &Path) -> io::Result<()> {
    let folder = file.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    match File::open(folder) {
        Ok(folder) => folder.sync_all(),
        Err(_) => Ok(()),
    }
}

/// All bytes of a log; none where there is no file.
fn bytes_of(file: &Path) -> Result<Vec<u8>, LogError> {
    let mut opened = match File::open(file) {
        Ok(opened) => opened,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Vec::new()),
        Err(error) => return Err(error.into()),
    };
    // A write that is under way ends before the lock is given.
    opened.lock_shared()?;
    contents(&mut opened)
}

fn contents(opened: &mut File) -> Result<Vec<u8>, LogError> {
    if opened.metadata()?.len() > LARGEST {
        let problem = format!("the log is larger than {} MB", LARGEST >> 20);
        return Err(Problem::new(Code::TooLarge, "", problem, "look at what stands beside the plan").into());
    }
    let mut bytes = Vec::new();
    opened.seek(SeekFrom::Start(0))?;
    opened.take(LARGEST).read_to_end(&mut bytes)?;
    Ok(bytes)
}

/// The log in these bytes, and where its torn end begins.
fn understand(bytes: &[u8], plan: &Plan) -> Result<(Log, Option<usize>), Problem> {
    let scan = scan(bytes);
    let mut log = Log { next: 1, bytes: bytes.len() as u64, ..Log::default() };
    // Damage may hide as many records as it has lines; their numbers are not given again.
    let hides = |range: &std::ops::Range<usize>| lines(&bytes[range.clone()]);
    let mut hidden: u64 = scan.damaged.iter().map(hides).sum();
    let hidden_last: u64 = scan.damaged.iter().filter(|range| range.start >= scan.end).map(hides).sum();
    let mut seen: std::collections::BTreeMap<u64, usize> = std::collections::BTreeMap::new();
    for payload in &scan.payloads {
        let value: Value = serde_json::from_str(payload).unwrap_or_default();
        belongs(&value, plan)?;
        if value.get("patchlay_log").is_some() {
            log.opened = true;
        } else if let Ok(entry) = serde_json::from_value::<Entry>(value) {
            log.next = log.next.max(entry.number.saturating_add(1));
            match seen.insert(entry.number, log.entries.len()) {
                Some(known) => {
                    let _ = seen.insert(entry.number, known);
                    log.troubles.push(twice(&log.entries[known], &entry));
                }
                None => log.entries.push(entry),
            }
        } else {
            hidden += 1;
            log.troubles.push(unreadable(payload));
        }
    }
    let damage = |range: &std::ops::Range<usize>| {
        let place = format!("bytes {} to {} of the log", range.start, range.end);
        let hint =
            "the records before and after it are read; note again what is missing, as far as you know it";
        let problem =
            Problem::new(Code::Damaged, "", "a record cannot be read: its bytes were changed", hint);
        Problem { place, ..problem }
    };
    log.troubles.extend(scan.damaged.iter().map(damage));
    if let Some(torn) = &scan.torn {
        log.bytes = torn.start as u64;
        let place = format!("bytes {} to {} of the log", torn.start, torn.end);
        let problem = "a write was cut off before it was done; it was never reported as recorded";
        let hint = "note it again; the next record sets these bytes aside in a file ending in .torn";
        log.troubles.push(Problem { place, ..Problem::new(Code::Torn, "", problem, hint) });
    }
    missing(&mut log, hidden);
    log.next = log.next.saturating_add(hidden_last);
    Ok((log, scan.torn.map(|torn| torn.start)))
}

fn lines(bytes: &[u8]) -> u64 {
    (bytes.iter().filter(|byte| **byte == b'\n').count() as u64).max(1)
}

/// A number that is given again. No record is written twice, so something else has changed the log.
fn twice(known: &Entry, again: &Entry) -> Problem {
    let hint = match known == again {
        true => "the line was doubled by something else; it counts once, and nothing is lost",
        false => "the first of them counts; note again what the other says, where it is true",
    };
    let problem = format!("record {} stands in the log twice", again.number);
    Problem { place: format!("record {}", again.number), ..Problem::new(Code::Doubled, "", problem, hint) }
}

/// A record whose checksum fits but that is none of this version's.
fn unreadable(payload: &str) -> Problem {
    let start: String = payload.chars().take(60).collect();
    let problem = "a record is of a kind that this version does not know";
    Problem::new(Code::AnotherVersion, start, problem, "read the log with the version that wrote it")
}

/// Refuses a record of another plan or version.
fn belongs(value: &Value, plan: &Plan) -> Result<(), Problem> {
    let version = value.get("patchlay_log").and_then(Value::as_u64);
    if version.is_some_and(|version| version != u64::from(LOG_VERSION)) {
        let problem = format!("the log is of version {}", version.unwrap_or_default());
        let hint = "read it with the version of the program that wrote it";
        return Err(Problem::new(Code::AnotherVersion, "", problem, hint));
    }
    match value.get("plan").and_then(Value::as_str) {
        Some(other) if other != plan.number => {
            let problem = format!("the log belongs to plan {other}, and this is plan {}", plan.number);
            let hint = format!(
                "name the plan.json of plan {other}; or, if plan {} is cut now, move the log to another folder and \
                 begin a new one",
                plan.number
            );
            Err(Problem::new(Code::AnotherPlan, other, problem, hint))
        }
        _ => Ok(()),
    }
}

/// Notes numbers that are left out beyond what damage explains.
fn missing(log: &mut Log, hidden: u64) {
    let have: std::collections::BTreeSet<u64> = log.entries.iter().map(|entry| entry.number).collect();
    let gaps: Vec<u64> = (1..log.next).filter(|number| !have.contains(number)).take(1000).collect();
    if gaps.len() as u64 > hidden {
        let numbers: Vec<String> = gaps.iter().take(10).map(u64::to_string).collect();
        let problem = format!("records are missing: {}", numbers.join(", "));
        let hint = "the log was changed by something else; note again what they said";
        log.troubles.push(Problem::new(Code::Missing, "", problem, hint));
    }
}
