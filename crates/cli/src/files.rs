//! Reading the files that are named on the command line. The size is looked at first, and never more than the limit
//! is read, whatever the file turns out to be.

use std::fs::File;
use std::io::{self, Read};
use std::path::Path;

use patchlay_plan::Plan;
use patchlay_plan::day::Day;
use patchlay_plan::replan::Replan;
use patchlay_scenario::lists::{self, List, ListKind};
use patchlay_scenario::spec::Scenario;
use patchlay_scenario::{Code, Job, LARGEST_FILE, LoadError, Problem};

use crate::report::{Failure, Message, Ours};

/// The largest plan file that is read, bytes. A plan of a hundred quilts is a few million.
const LARGEST_PLAN: u64 = 256 * 1024 * 1024;

/// A scenario file, read and validated.
pub(crate) struct Loaded {
    /// Its text, without the mark that some editors put before it.
    pub(crate) text: String,
    /// What it says.
    pub(crate) scenario: Scenario,
    /// The job that follows from it.
    pub(crate) job: Job,
}

/// Reads and validates a scenario file.
///
/// # Errors
/// The file cannot be read, or everything that is wrong with it.
pub(crate) fn scenario(file: &Path) -> Result<Loaded, Failure> {
    let bytes = read(file, LARGEST_FILE as u64 + 1)?;
    if bytes.len() > LARGEST_FILE {
        let code = Code::FileTooLarge.to_string();
        return Err(Failure::bad(too_large(code, file, "scenario", LARGEST_FILE as u64)));
    }
    let (scenario, job) =
        patchlay_scenario::load_bytes(&bytes).map_err(|error| Failure::of_load(&error, file))?;
    let text = String::from_utf8(bytes)
        .map_err(|_| Failure::our_fault("a scenario was accepted that is not UTF-8 text"))?;
    let text = text.strip_prefix('\u{feff}').map(str::to_owned).unwrap_or(text);
    Ok(Loaded { text, scenario, job })
}

/// The job of the scenario that a plan holds, without the plan's strategy.
///
/// # Errors
/// The scenario in the plan is refused.
pub(crate) fn job_of(plan: &Plan, file: &Path) -> Result<Job, Failure> {
    let (_, job) = patchlay_scenario::load(&plan.scenario.to_string()).map_err(|error| {
        // Places in the echo are not places in the file, so only the words are told.
        let refused = error.problems().iter().map(|problem| {
            let problem = format!("the scenario in it is refused: {}: {}", problem.path, problem.problem);
            Message::new(Ours::NotAPlan, problem).about(file).hint("plan its scenario again")
        });
        Failure::Bad(refused.collect())
    })?;
    Ok(job)
}

/// Reads a small file whole.
///
/// # Errors
/// The file cannot be read, is larger than a scenario may be, or is not text.
pub(crate) fn text(file: &Path, what: &str) -> Result<String, Failure> {
    let bytes = read(file, LARGEST_FILE as u64 + 1)?;
    if bytes.len() > LARGEST_FILE {
        let code = Ours::TooLarge.code().to_owned();
        return Err(Failure::bad(too_large(code, file, what, LARGEST_FILE as u64)));
    }
    utf8(bytes, file)
}

/// The text of a file, or the place of the first byte that is none.
fn utf8(bytes: Vec<u8>, file: &Path) -> Result<String, Failure> {
    String::from_utf8(bytes).map_err(|error| {
        let at = error.utf8_error().valid_up_to();
        let before = String::from_utf8_lossy(&error.as_bytes()[..at]).into_owned();
        let line = before.matches('\n').count() + 1;
        let column = before.rsplit('\n').next().map_or(0, |last| last.chars().count()) + 1;
        let hint = "save it as plain text in UTF-8; in a spreadsheet that is one of the kinds of CSV";
        let message = Message::new(Ours::CannotRead, "the file is not UTF-8 text").about(file);
        Failure::bad(message.at(line, column).hint(hint))
    })
}

/// Reads a scenario file and lists that are merged into it.
///
/// # Errors
/// As [`scenario`]; what is wrong with a cell of a list is told with the line and column of the list.
pub(crate) fn scenario_with(file: &Path, lists: &[(ListKind, &Path)]) -> Result<Loaded, Failure> {
    if lists.is_empty() {
        return scenario(file);
    }
    let bytes = read(file, LARGEST_FILE as u64 + 1)?;
    let text = |bytes: Vec<u8>, file: &Path| {
        if bytes.len() > LARGEST_FILE {
            let code = Code::FileTooLarge.to_string();
            return Err(Failure::bad(too_large(code, file, "file", LARGEST_FILE as u64)));
        }
        utf8(bytes, file)
    };
    let whole = text(bytes, file)?;
    let texts = lists
        .iter()
        .map(|(kind, file)| Ok((*kind, text(read(file, LARGEST_FILE as u64 + 1)?, file)?)))
        .collect::<Result<Vec<_>, Failure>>()?;
    let given: Vec<List<'_>> = texts.iter().map(|(kind, text)| List { kind: *kind, text }).collect();
    let merged = lists::merge(&whole, &given).map_err(|problems| {
        let message = |(list, problem): (usize, Problem)| Message::of_problem(&problem, lists[list].1);
        Failure::Bad(problems.into_iter().map(message).collect())
    })?;
    let (scenario, job) = patchlay_scenario::load(&merged.text).map_err(|error| {
        let message = |problem: &Problem| match merged.place(&problem.path) {
            Some(place) => Message::of_problem(problem, lists[place.list].1).at(place.line, place.column),
            // Lines of the merged text are in no file.
            None => {
                let mut bare = problem.clone();
                (bare.line, bare.column) = (None, None);
                Message::of_problem(&bare, file)
            }
        };
        let messages = error.problems().iter().map(message).collect();
        match error {
            LoadError::Bad(_) => Failure::Bad(messages),
            LoadError::Impossible(_) => Failure::CannotBeMet(messages),
        }
    })?;
    Ok(Loaded { text: merged.text, scenario, job })
}

/// Reads a plan file.
///
/// # Errors
/// The file cannot be read, or is not a plan.
pub(crate) fn plan(file: &Path) -> Result<Plan, Failure> {
    document(file, ("plan", "name the plan.json that 'patchlay plan' wrote"), Plan::from_json)
}

/// Reads the file of a day.
///
/// # Errors
/// The file cannot be read, or is not a day.
pub(crate) fn day(file: &Path) -> Result<Day, Failure> {
    document(file, ("day", "name the day.json that 'patchlay plan' wrote"), Day::from_json)
}

/// Reads the file of a replan.
///
/// # Errors
/// The file cannot be read, or is not a replan.
pub(crate) fn replan(file: &Path) -> Result<Replan, Failure> {
    document(file, ("replan", "name the replan.json that 'patchlay replan' wrote"), Replan::from_json)
}

fn document<T>(
    file: &Path,
    (what, name_it): (&'static str, &str),
    parse: impl Fn(&str) -> serde_json::Result<T>,
) -> Result<T, Failure> {
    let bytes = read(file, LARGEST_PLAN + 1)?;
    if bytes.len() as u64 > LARGEST_PLAN {
        return Err(Failure::bad(too_large(Ours::TooLarge.code().to_owned(), file, what, LARGEST_PLAN)));
    }
    let hint = format!("{name_it}; if another version wrote it, plan again");
    let not_one = |problem: String| Message::new(Ours::NotAPlan, problem).about(file).hint(&hint);
    let text = std::str::from_utf8(&bytes)
        .map_err(|error| Failure::bad(not_one(format!("the file is not UTF-8 text: {error}"))))?;
    parse(text).map_err(|error| {
        let said = error.to_string();
        // serde_json closes with the place, which stands in the message's own fields.
        let said = said.rsplit_once(" at line ").map_or(said.as_str(), |(before, _)| before);
        Failure::bad(not_one(format!("the file is not a {what}: {said}")).at(error.line(), error.column()))
    })
}

fn too_large(code: String, file: &Path, what: &str, most: u64) -> Message {
    let megabytes = most / (1024 * 1024);
    let problem = format!("the file is larger than {megabytes} MB; no {what} is that large");
    let message =
        Message::new(Ours::TooLarge, problem).about(file).hint("look whether the right file was named");
    Message { code, ..message }
}

/// Reads at most `limit` bytes of a file.
fn read(file: &Path, limit: u64) -> Result<Vec<u8>, Failure> {
    bytes(file, limit).map_err(|error| {
        let (problem, hint) = match error.kind() {
            io::ErrorKind::NotFound => {
                ("there is no such file".to_owned(), "look at the name and the folder")
            }
            io::ErrorKind::IsADirectory => {
                ("this is a folder, not a file".to_owned(), "name the file inside the folder")
            }
            io::ErrorKind::PermissionDenied => {
                ("the file may not be read".to_owned(), "look at the file's permissions")
            }
            _ => (format!("the file cannot be read: {error}"), "look at the file and where it is kept"),
        };
        Failure::bad(Message::new(Ours::CannotRead, problem).about(file).hint(hint))
    })
}

fn bytes(file: &Path, limit: u64) -> io::Result<Vec<u8>> {
    let opened = File::open(file)?;
    let told = opened.metadata()?;
    if told.is_dir() {
        return Err(io::ErrorKind::IsADirectory.into());
    }
    let mut bytes = Vec::with_capacity(usize::try_from(told.len().min(limit)).unwrap_or(0));
    opened.take(limit).read_to_end(&mut bytes)?;
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn only(failure: Failure) -> Message {
        match failure {
            Failure::Bad(mut list) if list.len() == 1 => list.remove(0),
            other => panic!("{other:?}"),
        }
    }

    #[test]
    fn no_more_than_the_limit_is_read() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("long");
        std::fs::write(&file, vec![b'x'; 1000]).unwrap();
        assert_eq!(read(&file, 10).unwrap().len(), 10);
    }

    #[test]
    fn folders_and_missing_files_are_told_apart() {
        let folder = tempfile::tempdir().unwrap();
        assert_eq!(only(plan(folder.path()).unwrap_err()).problem, "this is a folder, not a file");
        assert_eq!(only(plan(&folder.path().join("none")).unwrap_err()).problem, "there is no such file");
    }

    #[test]
    fn a_plan_that_is_not_json_is_placed() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("plan.json");
        std::fs::write(&file, "{\n  \"patchlay_plan\": 1,,\n}").unwrap();
        let message = only(plan(&file).unwrap_err());
        assert_eq!((message.code.as_str(), message.line), ("R004", Some(2)));
        assert!(!message.problem.contains("at line"), "{}", message.problem);
    }
}
