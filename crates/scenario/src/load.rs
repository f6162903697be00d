//! From the bytes of a file to a job, or to everything that is wrong with it.

use crate::job::Job;
use crate::path::Path;
use crate::problem::{Code, LoadError, Problem};
use crate::report::Report;
use crate::spec::Scenario;
use crate::tree::Tree;
use crate::{read, validate};

/// Largest scenario file in bytes, 16 MB.
pub const LARGEST_FILE: usize = 16 * 1024 * 1024;

/// Reads a scenario from the bytes of a file.
///
/// # Errors
/// Besides those of [`load`]: [`Code::FileTooLarge`] above [`LARGEST_FILE`], [`Code::NotText`] for bytes that are
/// not UTF-8.
pub fn load_bytes(bytes: &[u8]) -> Result<(Scenario, Job), LoadError> {
    not_too_large(bytes.len())?;
    match std::str::from_utf8(bytes) {
        Ok(text) => load(text),
        Err(error) => {
            let at = error.valid_up_to();
            let before = &bytes[..at];
            let line = before.iter().filter(|byte| **byte == b'\n').count() + 1;
            let problem = format!("byte {at} is not UTF-8 text");
            Err(whole_file(Code::NotText, Some(line), problem, "save the file as plain text in UTF-8"))
        }
    }
}

/// Reads a scenario and turns it into a job.
///
/// # Errors
/// [`LoadError::Bad`] with every problem of the file, in the order of the file; or, if the file is a sound scenario,
/// [`LoadError::Impossible`] with every demand that no board or cloth can meet.
pub fn load(text: &str) -> Result<(Scenario, Job), LoadError> {
    not_too_large(text.len())?;
    // Some editors put a mark before the text that JSON does not know.
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let (tree, duplicates) = Tree::parse(text).map_err(|error| {
        LoadError::Bad(vec![Problem {
            code: Code::JsonSyntax,
            path: String::new(),
            line: Some(error.line),
            column: Some(error.column),
            value: String::new(),
            hint: syntax_hint(&error.problem),
            problem: error.problem,
        }])
    })?;
    let mut report = Report::new(&tree);
    for duplicate in duplicates {
        let problem = format!("{} stands twice", duplicate.path);
        let hint = String::from("remove one of the two; only one could count");
        report.add_at(Code::DuplicateKey, &duplicate.path, duplicate.at, "", problem, hint);
    }
    let scenario = read::scenario(&mut report, tree.root());
    let judged = validate::judge(&mut report, &scenario);
    let Some(judged) = judged else { return Err(LoadError::Bad(at_least_one(report.finish()))) };
    let job = judged.meetable(&mut report);
    match report.finish() {
        problems if problems.is_empty() => Ok((scenario, job)),
        problems => Err(LoadError::Impossible(problems)),
    }
}

fn not_too_large(size: usize) -> Result<(), LoadError> {
    if size <= LARGEST_FILE {
        return Ok(());
    }
    let problem = format!("the file has {size} bytes, and {LARGEST_FILE} is the most that is read");
    Err(whole_file(Code::FileTooLarge, None, problem, "check that the right file was named"))
}

fn whole_file(code: Code, line: Option<usize>, problem: String, hint: &str) -> LoadError {
    let (path, value, hint) = (Path::root().to_string(), String::new(), hint.to_owned());
    LoadError::Bad(vec![Problem { code, path, line, column: None, value, problem, hint }])
}

/// A refusal always has a reason; if validation ever gave none, that is our own fault and says so.
fn at_least_one(mut problems: Vec<Problem>) -> Vec<Problem> {
    if problems.is_empty() {
        problems.push(Problem {
            code: Code::Unexplained,
            path: String::new(),
            line: None,
            column: None,
            value: String::new(),
            problem: String::from("the file was refused without a reason"),
            hint: String::from("this is a fault of the program; please report it with the file"),
        });
    }
    problems
}

fn syntax_hint(problem: &str) -> String {
    let hint = if problem.contains("recursion") {
        "a scenario nests a few brackets deep, not hundreds"
    } else if problem.contains("trailing comma") {
        "remove the comma before the closing bracket"
    } else if problem.contains("EOF") {
        "the text ends too early: a bracket, brace or quote is not closed"
    } else if problem.contains("out of range") {
        "no size of a quilt needs a number like that"
    } else if problem.contains("trailing characters") {
        "remove what stands after the last closing brace"
    } else {
        "look for a comma, quote or bracket too many or too few at or just before this place"
    };
    hint.to_owned()
}
