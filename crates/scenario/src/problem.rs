//! What can be wrong with a scenario file: one enum of codes that drives messages, documentation and tests.

use serde::Serialize;

/// One thing that is wrong, and where, and what to do about it. The same fields stand in text and in JSON.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Problem {
    /// Which kind of problem.
    pub code: Code,
    /// Place in the file, for example `boards[2].positions[0].at[1]`; empty for the file as a whole.
    pub path: String,
    /// Line in the file, from 1, where it is known.
    pub line: Option<usize>,
    /// Column in that line, from 1, where it is known.
    pub column: Option<usize>,
    /// The offending value as it stands in the file, shortened; empty where there is none.
    pub value: String,
    /// What is wrong.
    pub problem: String,
    /// What to do.
    pub hint: String,
}

/// Why a scenario could not be turned into a job.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub enum LoadError {
    /// The file is not a scenario: exit code 2.
    Bad(Vec<Problem>),
    /// The file is a scenario, but its demand cannot be met on these boards and fabrics: exit code 1.
    Impossible(Vec<Problem>),
}

impl LoadError {
    /// All problems, whichever kind.
    #[must_use]
    pub fn problems(&self) -> &[Problem] {
        match self {
            Self::Bad(list) | Self::Impossible(list) => list,
        }
    }
}

/// Kinds of problems. The number groups them: 0 file, 1 fields, 2 measures, 3 names, 4 shapes, 5 boards,
/// 6 fabrics, 7 quilts, 8 demand that cannot be met.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Code {
    /// S001: the file is too large to be a scenario.
    FileTooLarge,
}
