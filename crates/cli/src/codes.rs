//! `patchlay codes`: every code that a message can carry, with its explanation.

use patchlay_check::FaultCode;
use patchlay_scenario::Code;
use serde_json::{Value, json};

use crate::args::CodesArgs;
use crate::print;
use crate::report::{Failure, Ours};

/// One line of the table.
struct Line {
    code: String,
    title: String,
    explanation: String,
}

/// Prints the codes.
///
/// # Errors
/// Only where the output cannot be written.
pub(crate) fn run(wanted: &CodesArgs) -> Result<(), Failure> {
    if wanted.json { print::json(&as_json()) } else { print::out(&as_text()) }
}

/// The groups with their headings.
fn groups() -> [(&'static str, Vec<Line>); 4] {
    let scenario = Code::ALL.iter().map(|code| line(code.number(), code.title(), code.explanation()));
    let faults = FaultCode::ALL.iter().map(|code| line(code.number(), code.title(), code.explanation()));
    let log =
        patchlay_record::Code::ALL.iter().map(|code| line(code.number(), code.title(), code.explanation()));
    let ours = Ours::ALL.iter().map(|(_, code, title)| line(code, title, ""));
    [
        ("What can be wrong with a scenario", scenario.collect()),
        ("What the checker finds in a plan", faults.collect()),
        ("What can be wrong with what is noted during the day", log.collect()),
        ("What can go wrong when patchlay runs", ours.collect()),
    ]
}

fn line(code: &str, title: &str, explanation: &str) -> Line {
    Line { code: code.to_owned(), title: title.to_owned(), explanation: explanation.to_owned() }
}

fn as_text() -> String {
    let mut text = String::new();
    for (heading, lines) in groups() {
        let gap = if text.is_empty() { "" } else { "\n" };
        text.push_str(&format!("{gap}{heading}\n"));
        for line in lines {
            text.push_str(&print::wrapped(&format!("  {}  ", line.code), &line.title));
            if !line.explanation.is_empty() {
                text.push_str(&print::wrapped(&" ".repeat(line.code.len() + 6), &line.explanation));
            }
        }
    }
    text
}

fn as_json() -> Value {
    let all = groups().into_iter().flat_map(|(_, lines)| lines);
    let lines =
        all.map(|line| json!({ "code": line.code, "title": line.title, "explanation": line.explanation }));
    json!(lines.collect::<Vec<_>>())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_code_stands_twice_and_every_one_is_explained() {
        let mut seen = std::collections::BTreeSet::new();
        for (_, lines) in groups() {
            assert!(!lines.is_empty());
            for line in lines {
                assert!(!line.title.is_empty(), "{}", line.code);
                assert!(seen.insert(line.code.clone()), "{} stands twice", line.code);
            }
        }
    }
}
