//! What can be wrong with a log or a record: one enum of codes that drives messages, documentation and tests.

use std::fmt;

use serde::Serialize;

/// One thing that is wrong, where, and the way out.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Problem {
    /// Which kind of problem.
    pub code: Code,
    /// Where: a record by its number, or what was typed.
    pub place: String,
    /// The offending value; empty where there is none.
    pub value: String,
    /// What is wrong.
    pub problem: String,
    /// What to do.
    pub hint: String,
}

impl Problem {
    /// A problem; the place is filled in by whoever knows the record.
    pub(crate) fn new(
        code: Code,
        value: impl fmt::Display,
        problem: impl Into<String>,
        hint: impl Into<String>,
    ) -> Self {
        let value = value.to_string();
        Self { code, place: String::new(), value, problem: problem.into(), hint: hint.into() }
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "error[{}]: {}: {}; {}", self.code, self.place, self.problem, self.hint)
    }
}

/// Declares the codes once: name, number, title, explanation.
macro_rules! codes {
    ($($name:ident = $number:literal, $title:literal, $explanation:literal;)*) => {
        /// Kinds of problems. The number groups them: 0 the log, 1 names, 2 counts, 3 planning the rest.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
        #[serde(rename_all = "snake_case")]
        pub enum Code {
            $(#[doc = $title] $name,)*
        }

        impl Code {
            /// All codes in the order of their numbers.
            pub const ALL: &[Self] = &[$(Self::$name),*];

            /// What stands in messages and in the page of codes, for example `L201`.
            #[must_use]
            pub const fn number(self) -> &'static str {
                match self { $(Self::$name => $number,)* }
            }

            /// What is wrong, in a few words.
            #[must_use]
            pub const fn title(self) -> &'static str {
                match self { $(Self::$name => $title,)* }
            }

            /// What is wrong and why it matters, in a sentence or two.
            #[must_use]
            pub const fn explanation(self) -> &'static str {
                match self { $(Self::$name => $explanation,)* }
            }
        }
    };
}

codes! {
    AnotherPlan = "L001", "the log belongs to another plan",
        "Records name lay-ups and strips, and those of another plan are other things.";
    AnotherVersion = "L002", "the log is of a version that is not known",
        "This program reads logs of version 1.";
    Damaged = "L003", "a record in the log cannot be read",
        "Its checksum does not fit. The records before and after it are read; what it said must be noted again.";
    Torn = "L004", "the end of the log was never written to its end",
        "The program or the machine stopped during a write that was not reported as done. The bytes are set aside in a file of their own.";
    Missing = "L005", "records are missing from the log",
        "The numbers of the records leave some out, so the log was changed by something else.";
    DoesNotFit = "L006", "a record does not fit those before it",
        "It was sound when it was written, so a record before it is damaged or missing. It is not counted.";
    TooLarge = "L007", "the log is larger than any log",
        "A day's records are a few hundred kilobytes at most.";
    Doubled = "L008", "a record stands in the log twice",
        "Every record has a number of its own and is written once, so the log was changed by something else. The first counts.";
    UnknownLayUp = "L101", "the plan has no such lay-up", "Lay-ups are named on their cards: L1, L2 and so on.";
    UnknownFabric = "L102", "the scenario has no such fabric", "Fabrics are called as in the scenario, or by their letter.";
    UnknownShape = "L103", "the scenario has no such shape", "Shapes are called as in the scenario.";
    UnknownStrip = "L104", "the plan has no such strip, length or cut", "Strips, lengths and cuts are named on their tags: A3, A3b.";
    UnknownBoard = "L105", "the scenario has no such board", "Boards are called as in the scenario.";
    UnknownMat = "L106", "the scenario has no such mat", "Mats are called as in the scenario.";
    UnknownPerson = "L107", "the scenario has no such helper", "Helpers are called as in the scenario's group.";
    UnknownQuilt = "L108", "no such quilt is wanted", "Quilts are called as in the scenario, or as they were added.";
    UnknownArea = "L109", "the lay-up has no such area or group", "Areas are lettered on the card, and their groups are numbered from the bottom up.";
    UnknownRecord = "L110", "there is no such record, or it is undone already", "Records are listed with their numbers by 'record PLAN show'.";
    NoSuchPatches = "L111", "no pass and no quilt has such patches", "Fabric, shape and hand must be those of a pile.";
    TooManyPasses = "L201", "more passes than the lay-up has", "A lay-up is made as often as its card says.";
    PassMadeTwice = "L202", "the pass is made already", "Every pass has its own lengths and cuts, so it is made once.";
    PassNotMade = "L203", "the pass is not made yet", "What lay in a pass, or came out spoiled, is noted after the pass.";
    MorePlies = "L204", "not fewer plies than planned", "The plies of an area are noted only where they are fewer than on the card.";
    SpoiledAboveCut = "L205", "more spoiled than was cut", "What is spoiled was cut first.";
    Nothing = "L206", "a number is zero", "A record says that something happened.";
    CutTwice = "L207", "the strip is cut already", "Every strip is cut once.";
    TooNarrow = "L208", "the strip is longer than the cloth is wide", "The cloth was found narrower than this strip needs.";
    NotLess = "L209", "not less than there was", "A bolt that came up short or narrow has less than was planned.";
    MoreThanOwned = "L210", "more than there are", "No more boards, mats or quilts can go than there are.";
    Conflict = "L211", "a later record needs this one", "Undoing this record would leave a later one that makes no sense.";
    UsedAlready = "L212", "the length or cut is used or spoiled already", "Every length and cut is used once.";
    QuiltTwice = "L213", "a quilt of that name is wanted already", "Quilts are told apart by their names.";
    QuiltUnusable = "L214", "the added quilt cannot be planned", "It must use blocks and fabrics of the scenario.";
}

impl fmt::Display for Code {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(self.number())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_are_told_apart_by_number_and_explained() {
        let mut numbers: Vec<&str> = Code::ALL.iter().map(|code| code.number()).collect();
        assert!(numbers.is_sorted());
        numbers.dedup();
        assert_eq!(numbers.len(), Code::ALL.len());
        for code in Code::ALL {
            assert!(code.explanation().ends_with('.') && !code.title().ends_with('.'), "{code}");
        }
    }
}
