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
        let (problem, hint) = syntax(text, error.line, error.column, &error.problem);
        LoadError::Bad(vec![Problem {
            code: Code::JsonSyntax,
            path: String::new(),
            line: Some(error.line),
            column: Some(error.column),
            value: String::new(),
            problem,
            hint,
        }])
    })?;
    let mut report = Report::new(&tree);
    for duplicate in duplicates {
        let problem = format!("`{}` stands twice", duplicate.path);
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

/// What a syntax error is called and what to do about it. `told` is the parser's word for it, which knows nothing of
/// the mistakes that people make who have never written such a file.
fn syntax(text: &str, line: usize, column: usize, told: &str) -> (String, String) {
    let around = around(text, line, column);
    let has = |letters: &[char]| around.contains(letters);
    let hint_of_place = "look for a comma, quote or bracket too many or too few at or just before this place";
    let (problem, hint) = if told.contains("recursion") {
        ("the brackets are nested too deep", "a scenario nests a few brackets deep, not hundreds")
    } else if text.trim().is_empty() {
        (
            "the file is empty",
            "look whether the right file was named; scenarios/smallest.json is a short example",
        )
    } else if told.contains("EOF") {
        ("the file ends too early", "a bracket, brace or quote is not closed")
    } else if told.contains("trailing comma") {
        (told, "remove the comma before the closing bracket")
    } else if told.contains("trailing characters") {
        (told, "remove what stands after the last closing brace")
    } else if told.contains("out of range") {
        (told, "no size of a quilt needs a number like that")
    } else if has(&['\u{201c}', '\u{201d}', '\u{201e}', '\u{2018}', '\u{2019}', '\u{ab}', '\u{bb}']) {
        ("a curved quote stands here", "use straight double quotes (\"), as a plain text editor writes them")
    } else if around.starts_with('\'') {
        ("a single quote stands here", "texts and names stand between double quotes (\")")
    } else if around.starts_with("//") || around.starts_with("/*") || around.starts_with('#') {
        ("a comment stands here", "the file has no comments; remarks go into \"about\"")
    } else if told.contains("key must be a string") {
        ("a name between double quotes must stand here", hint_of_place)
    } else if told.contains("expected value") {
        ("this is neither a number nor a text between quotes nor a list", hint_of_place)
    } else {
        (told, hint_of_place)
    };
    (problem.to_owned(), hint.to_owned())
}

/// The character at a place and the one after it. Columns count bytes, and may point just past what is wrong.
fn around(text: &str, line: usize, column: usize) -> &str {
    let line = text.lines().nth(line.saturating_sub(1)).unwrap_or_default();
    let mut from = column.saturating_sub(1).min(line.len());
    while !line.is_char_boundary(from) {
        from -= 1;
    }
    let length = line[from..].chars().take(2).map(char::len_utf8).sum::<usize>();
    &line[from..from + length]
}
