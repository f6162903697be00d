//! Plans drawn up by hand, and logs about them.

#![allow(dead_code, reason = "every test file uses some of it")]

use std::path::PathBuf;

use patchlay_plan::Plan;
use patchlay_plan::record::{Note, Spot};
use patchlay_record::log::{self, Log, LogError, Written};
use patchlay_record::{Problem, sound};
use patchlay_scenario::Job;

/// A plan with its job, and a folder for its log.
pub(crate) struct Desk {
    pub(crate) plan: Plan,
    pub(crate) job: Job,
    pub(crate) folder: tempfile::TempDir,
}

/// Two small stars: the plan and its cloth were worked out on paper.
pub(crate) fn star() -> Desk {
    desk(
        include_str!("../../../../tests/damage/good/star.json"),
        include_str!("../../../../tests/damage/good/star.plan.json"),
    )
}

/// Eight spires in two hands, one fabric of them with a one-way print.
pub(crate) fn spires() -> Desk {
    desk(
        include_str!("../../../../tests/damage/good/spires.json"),
        include_str!("../../../../tests/damage/good/spires.plan.json"),
    )
}

fn desk(scenario: &str, plan: &str) -> Desk {
    let (_, job) = patchlay_scenario::load(scenario).unwrap();
    Desk { plan: Plan::from_json(plan).unwrap(), job, folder: tempfile::tempdir().unwrap() }
}

impl Desk {
    pub(crate) fn file(&self) -> PathBuf {
        self.folder.path().join("plan.log")
    }

    pub(crate) fn append(&self, note: Note) -> Result<Written, LogError> {
        let judge = |log: &Log, entry: &_| sound(&self.plan, &self.job, log, entry);
        log::append(&self.file(), &self.plan, (7, None), note, judge)
    }

    /// Notes something that makes sense.
    pub(crate) fn note(&self, note: Note) -> u64 {
        match self.append(note) {
            Ok(written) => written.entry.number,
            Err(error) => panic!("{error:?}"),
        }
    }

    /// Notes something that makes none.
    pub(crate) fn refuse(&self, note: Note) -> Problem {
        match self.append(note) {
            Err(LogError::Refused(problem)) => problem,
            other => panic!("{other:?}"),
        }
    }

    pub(crate) fn read(&self) -> Log {
        log::read(&self.file(), &self.plan).unwrap_or_else(|error| panic!("{error:?}"))
    }
}

pub(crate) fn passes(layup: &str, passes: u64) -> Note {
    Note::Passes { layup: layup.to_owned(), passes, first: None, fewer: Vec::new() }
}

pub(crate) fn spot(layup: &str, pass: u64, area: usize, group: usize) -> Spot {
    Spot { layup: layup.to_owned(), pass, area, group }
}

pub(crate) fn strips(names: &[&str]) -> Note {
    Note::StripsCut { strips: names.iter().map(|name| (*name).to_owned()).collect() }
}
