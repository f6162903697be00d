//! What is wrong, as text and as JSON with the same fields, and the exit code that goes with it.

use std::path::Path;
use std::process::ExitCode;

use patchlay_check::Fault;
use patchlay_scenario::{LoadError, Problem};
use serde::Serialize;

use crate::print;

/// One thing that is wrong: where, what, and what to do about it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub(crate) struct Message {
    /// The code, as `patchlay codes` lists it.
    pub(crate) code: String,
    /// The file, where there is one.
    pub(crate) file: Option<String>,
    /// Line in the file, from 1, where it is known.
    pub(crate) line: Option<usize>,
    /// Column in that line, from 1, where it is known.
    pub(crate) column: Option<usize>,
    /// Place in the file; empty for the file as a whole.
    pub(crate) path: String,
    /// The offending value; empty where there is none.
    pub(crate) value: String,
    /// What it must be; empty where there is no single answer.
    pub(crate) expected: String,
    /// What is wrong.
    pub(crate) problem: String,
    /// Why it matters; empty where that is plain.
    pub(crate) why: String,
    /// What to do; empty where the problem says it all.
    pub(crate) hint: String,
}

/// Codes of what goes wrong outside the scenario and the plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Ours {
    /// A file cannot be read.
    CannotRead,
    /// A file is too large to be what it should be.
    TooLarge,
    /// Something cannot be written.
    CannotWrite,
    /// A plan file is not a plan.
    NotAPlan,
    /// The search was stopped before it had a plan.
    Stopped,
    /// The search found that the demand cannot be met.
    CannotBeMet,
    /// A ply limit that the cutter does not have.
    PlyLimit,
    /// The program itself failed.
    OurFault,
    /// A word on the command line is not what it should be.
    Typed,
    /// A folder holds a supplement that is being cut.
    SupplementInUse,
    /// Files that are judged together were not made from each other.
    NotTogether,
}

impl Ours {
    /// All codes with their explanations.
    pub(crate) const ALL: [(Self, &'static str, &'static str); 11] = [
        (Self::CannotRead, "R001", "a file cannot be read: it is missing, a folder, or not ours to read"),
        (Self::TooLarge, "R002", "a plan file is larger than any plan"),
        (Self::CannotWrite, "R003", "the output cannot be written; no file was left half written"),
        (Self::NotAPlan, "R004", "a plan file is not JSON, or not a plan of this version"),
        (Self::Stopped, "R005", "the search was stopped before it had found a plan"),
        (Self::CannotBeMet, "R006", "the search found that no plan meets the demand"),
        (Self::OurFault, "R007", "patchlay itself failed; please report it"),
        (Self::PlyLimit, "R008", "a strategy stacks higher than the cutter takes"),
        (Self::Typed, "R009", "a length, an area or a number of plies that was typed cannot be read"),
        (
            Self::SupplementInUse,
            "R010",
            "the folder holds a supplement that is being cut, with a log of its own",
        ),
        (
            Self::NotTogether,
            "R011",
            "files do not belong together: plan, log, replan and the rest of the day are judged by each other",
        ),
    ];

    /// The code as it is printed.
    pub(crate) fn code(self) -> &'static str {
        Self::ALL.iter().find(|(ours, ..)| *ours == self).map_or("R000", |(_, code, _)| code)
    }
}

impl Message {
    /// A message of the command line itself.
    pub(crate) fn new(code: Ours, problem: impl Into<String>) -> Self {
        Self {
            code: code.code().to_owned(),
            file: None,
            line: None,
            column: None,
            path: String::new(),
            value: String::new(),
            expected: String::new(),
            problem: problem.into(),
            why: String::new(),
            hint: String::new(),
        }
    }

    /// The same about a file.
    pub(crate) fn about(mut self, file: &Path) -> Self {
        self.file = Some(file.display().to_string());
        self
    }

    /// The same with a place in the file.
    pub(crate) fn at(mut self, line: usize, column: usize) -> Self {
        (self.line, self.column) = (Some(line), Some(column));
        self
    }

    /// The same with what to do.
    pub(crate) fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = hint.into();
        self
    }

    /// A problem of the scenario file.
    pub(crate) fn of_problem(problem: &Problem, file: &Path) -> Self {
        Self {
            code: problem.code.to_string(),
            file: Some(file.display().to_string()),
            line: problem.line,
            column: problem.column,
            path: problem.path.clone(),
            value: problem.value.clone(),
            expected: String::new(),
            problem: problem.problem.clone(),
            why: String::new(),
            hint: problem.hint.clone(),
        }
    }

    /// Something that is wrong with a log or a record.
    pub(crate) fn of_record(problem: &patchlay_record::Problem, file: &Path) -> Self {
        let mut message =
            Self::new(Ours::OurFault, problem.problem.clone()).about(file).hint(problem.hint.clone());
        message.code = problem.code.to_string();
        (message.path, message.value) = (problem.place.clone(), problem.value.clone());
        message
    }

    /// A fault of a plan.
    pub(crate) fn of_fault(fault: &Fault, file: &Path) -> Self {
        Self {
            code: fault.code.to_string(),
            file: Some(file.display().to_string()),
            line: None,
            column: None,
            path: fault.place.clone(),
            value: fault.found.clone(),
            expected: fault.expected.clone(),
            problem: fault.message.clone(),
            why: fault.code.explanation().to_owned(),
            hint: String::new(),
        }
    }

    /// The message as text, with a newline at the end.
    pub(crate) fn text(&self) -> String {
        let mut text = print::wrapped(&format!("error[{}]: ", self.code), &self.problem);
        let place = self.place();
        if !place.is_empty() {
            text.push_str(&format!("  --> {}\n", print::clean(&place)));
        }
        for (label, said) in
            [("it must be: ", &self.expected), ("why: ", &self.why), ("what to do: ", &self.hint)]
        {
            if !said.is_empty() {
                text.push_str(&print::wrapped(&format!("  {label}"), said));
            }
        }
        text
    }

    /// `quilt.json:41:7 boards[2].width = "0.1 in"`, as far as it is known.
    fn place(&self) -> String {
        let mut words = Vec::new();
        if let Some(file) = &self.file {
            let line = self.line.map(|line| format!(":{line}")).unwrap_or_default();
            let column = self.column.map(|column| format!(":{column}")).unwrap_or_default();
            words.push(format!("{file}{line}{column}"));
        }
        if !self.path.is_empty() {
            words.push(self.path.clone());
        }
        // The value of the whole file would be its first line.
        if !self.value.is_empty() && !self.path.is_empty() {
            words.push(format!("= {}", self.value));
        }
        words.join(" ")
    }
}

/// How a command can end other than well.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Failure {
    /// The demand cannot be met: exit code 1.
    CannotBeMet(Vec<Message>),
    /// Bad input or usage: exit code 2.
    Bad(Vec<Message>),
    /// Something failed after files had been written, and the message says which: exit code 2.
    HalfDone(Vec<Message>),
    /// A plan fails the check: exit code 3.
    PlanFails(Vec<Message>),
    /// A fault of this program: exit code 4.
    OurFault(Vec<Message>),
    /// Nobody reads the output any more: no message, exit code 0.
    ClosedPipe,
}

impl Failure {
    /// One thing is wrong with the input or the usage.
    pub(crate) fn bad(message: Message) -> Self {
        Self::Bad(vec![message])
    }

    /// The program itself failed; `what` happened.
    pub(crate) fn our_fault(what: &str) -> Self {
        Self::OurFault(vec![Message::new(Ours::OurFault, format!("patchlay itself failed: {what}")).hint(
            format!(
                "this is our fault, not yours; please report it with the scenario file, the command and this \
                 message (patchlay {})",
                env!("CARGO_PKG_VERSION")
            ),
        )])
    }

    /// Everything that is wrong with a scenario file.
    pub(crate) fn of_load(error: &LoadError, file: &Path) -> Self {
        let messages = error.problems().iter().map(|problem| Message::of_problem(problem, file)).collect();
        match error {
            LoadError::Bad(_) => Self::Bad(messages),
            LoadError::Impossible(_) => Self::CannotBeMet(messages),
        }
    }

    /// Exit code, name in JSON, closing words, messages.
    fn parts(&self) -> (u8, &'static str, &'static str, &[Message]) {
        match self {
            Self::CannotBeMet(list) => (1, "cannot_be_met", "the demand cannot be met", list),
            Self::Bad(list) => (2, "bad_input", "nothing was done", list),
            Self::HalfDone(list) => (2, "half_done", "what was written is named above", list),
            Self::PlanFails(list) => (3, "plan_fails", "the plan fails the check: do not cut from it", list),
            Self::OurFault(list) => (4, "our_fault", "no plan was printed or written", list),
            Self::ClosedPipe => (0, "closed_pipe", "", &[]),
        }
    }

    /// The exit code.
    pub(crate) fn exit_code(&self) -> u8 {
        self.parts().0
    }

    /// All messages and a closing line.
    fn text(&self) -> String {
        let (_, _, closing, messages) = self.parts();
        let mut text: String = messages.iter().map(|message| message.text() + "\n").collect();
        let errors = if messages.len() == 1 { "error" } else { "errors" };
        text.push_str(&format!("{} {errors}; {closing}.\n", messages.len()));
        text
    }

    /// The same as one JSON value.
    fn json(&self) -> serde_json::Value {
        let (exit_code, outcome, _, messages) = self.parts();
        serde_json::json!({ "outcome": outcome, "exit_code": exit_code, "errors": messages })
    }
}

/// Tells how a command ended: text to standard error, or JSON to standard output.
pub(crate) fn close(failure: &Failure, json: bool) -> ExitCode {
    if *failure != Failure::ClosedPipe {
        if json {
            // A reader that has gone away does not change how the command ended.
            drop(print::json(&failure.json()));
        } else {
            print::aside(failure.text().trim_end());
        }
    }
    ExitCode::from(failure.exit_code())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn message() -> Message {
        let mut message =
            Message::new(Ours::CannotRead, "it is not there").about(Path::new("a.json")).at(41, 7);
        message.path = "boards[2].width".to_owned();
        message.value = "\"0.1 in\"".to_owned();
        message.hint("look again")
    }

    #[test]
    fn a_message_names_code_place_value_and_what_to_do() {
        assert_eq!(
            message().text(),
            "error[R001]: it is not there\n  --> a.json:41:7 boards[2].width = \"0.1 in\"\n  what to do: look again\n"
        );
    }

    #[test]
    fn text_and_json_carry_the_same_fields() {
        let json = Failure::bad(message()).json();
        assert_eq!(json["exit_code"], 2);
        let first = json["errors"][0].as_object().unwrap();
        let fields: Vec<&str> = first.keys().map(String::as_str).collect();
        assert_eq!(
            fields,
            ["code", "file", "line", "column", "path", "value", "expected", "problem", "why", "hint"]
        );
        assert_eq!(first["value"], "\"0.1 in\"");
    }

    #[test]
    fn empty_parts_leave_no_line() {
        assert_eq!(Message::new(Ours::Stopped, "stopped").text(), "error[R005]: stopped\n");
    }

    #[test]
    fn codes_are_all_different() {
        let mut codes: Vec<&str> = Ours::ALL.iter().map(|(ours, ..)| ours.code()).collect();
        codes.sort_unstable();
        codes.dedup();
        assert_eq!(codes.len(), Ours::ALL.len());
        assert!(!codes.contains(&"R000"));
    }
}
