//! Nothing that was recorded is lost, whatever happens to the file.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on should stop")]

mod common;

use std::fs;

use common::{Desk, passes, star, strips};
use patchlay_plan::record::Note;
use patchlay_record::Code;
use patchlay_record::log::{self, LogError, torn_beside};
use proptest::prelude::*;

fn gone(person: &str) -> Note {
    Note::PersonGone { person: person.to_owned() }
}

/// Takes any record, so that these tests are about the file only.
fn write(desk: &Desk, note: Note) -> u64 {
    log::append(&desk.file(), &desk.plan, (7, None), note, |_, _| Ok(())).unwrap().entry.number
}

fn people(desk: &Desk) -> Vec<String> {
    let name = |note: &Note| match note {
        Note::PersonGone { person } => person.clone(),
        other => panic!("{other:?}"),
    };
    desk.read().entries.iter().map(|entry| name(&entry.note)).collect()
}

fn codes(desk: &Desk) -> Vec<Code> {
    desk.read().troubles.iter().map(|trouble| trouble.code).collect()
}

#[test]
fn a_missing_log_is_empty_and_the_first_record_opens_it() {
    let desk = star();
    assert_eq!(desk.read().entries, []);
    assert_eq!(write(&desk, gone("a")), 1);
    let log = desk.read();
    assert_eq!((log.entries.len(), log.entries[0].at, log.troubles.len()), (1, 7, 0));
    assert_eq!(log.bytes, fs::metadata(desk.file()).unwrap().len());
}

#[test]
fn cut_off_anywhere_in_the_last_record_all_earlier_ones_are_read_and_writing_goes_on() {
    let desk = star();
    for name in ["a", "b"] {
        write(&desk, gone(name));
    }
    let before = fs::read(desk.file()).unwrap().len();
    write(&desk, gone("c"));
    let whole = fs::read(desk.file()).unwrap();
    for end in before..whole.len() {
        fs::write(desk.file(), &whole[..end]).unwrap();
        drop(fs::remove_file(torn_beside(&desk.file())));
        // Only the newline is missing from the last one: its bytes are all there.
        let kept = if end + 1 == whole.len() { vec!["a", "b", "c"] } else { vec!["a", "b"] };
        assert_eq!(people(&desk), kept, "{end}");
        let torn = end > before && kept.len() == 2;
        assert_eq!(codes(&desk), if torn { vec![Code::Torn] } else { vec![] }, "{end}");
        assert_eq!(write(&desk, gone("d")), kept.len() as u64 + 1, "{end}");
        assert_eq!(people(&desk).last().unwrap(), "d", "{end}");
        assert_eq!(people(&desk).len(), kept.len() + 1, "{end}");
        assert_eq!(codes(&desk), [], "{end}");
        let aside = fs::read(torn_beside(&desk.file())).unwrap_or_default();
        let expected = if torn { [&whole[before..end], b"\n"].concat() } else { Vec::new() };
        assert_eq!(aside, expected, "{end}");
    }
}

#[test]
fn a_first_write_cut_off_anywhere_leaves_a_log_that_can_be_begun() {
    let desk = star();
    write(&desk, gone("a"));
    let whole = fs::read(desk.file()).unwrap();
    for end in 0..whole.len() - 1 {
        fs::write(desk.file(), &whole[..end]).unwrap();
        assert_eq!(people(&desk), [""; 0], "{end}");
        assert_eq!(write(&desk, gone("b")), 1, "{end}");
        assert_eq!(people(&desk), ["b"], "{end}");
    }
}

#[test]
fn a_changed_byte_costs_one_record_and_its_number_is_not_given_again() {
    let desk = star();
    for name in ["a", "b", "c"] {
        write(&desk, gone(name));
    }
    let whole = fs::read(desk.file()).unwrap();
    for at in 0..whole.len() {
        let mut changed = whole.clone();
        changed[at] ^= 0x20;
        fs::write(desk.file(), &changed).unwrap();
        let left = people(&desk);
        assert!(left.len() >= 2, "{at}: {left:?}");
        assert!(!codes(&desk).is_empty(), "{at}");
        let number = write(&desk, gone("d"));
        let log = desk.read();
        let numbers: std::collections::BTreeSet<u64> = log.entries.iter().map(|entry| entry.number).collect();
        assert_eq!(numbers.len(), log.entries.len(), "{at}");
        assert!(number >= 4, "{at}: {number}");
        assert_eq!(log.entries.len(), left.len() + 1, "{at}");
        assert!(log.troubles.iter().all(|trouble| trouble.code != Code::Missing), "{at}: {:?}", log.troubles);
    }
}

#[test]
fn numbers_go_on_by_one_after_damage() {
    let desk = star();
    for name in ["a", "b"] {
        write(&desk, gone(name));
    }
    let mut bytes = fs::read(desk.file()).unwrap();
    let last = bytes.len() - 5;
    bytes[last] ^= 1;
    fs::write(desk.file(), bytes).unwrap();
    assert_eq!([write(&desk, gone("c")), write(&desk, gone("d"))], [3, 4]);
    assert_eq!(codes(&desk), [Code::Damaged]);
}

#[test]
fn a_line_taken_out_is_missed() {
    let desk = star();
    for name in ["a", "b", "c"] {
        write(&desk, gone(name));
    }
    let text = fs::read_to_string(desk.file()).unwrap();
    let lines: Vec<&str> = text.lines().collect();
    fs::write(desk.file(), format!("{}\n{}\n{}\n", lines[0], lines[1], lines[3])).unwrap();
    assert_eq!(people(&desk), ["a", "c"]);
    assert_eq!(codes(&desk), [Code::Missing]);
}

#[test]
fn a_log_of_another_plan_is_refused_and_left_alone() {
    let desk = star();
    write(&desk, gone("a"));
    let before = fs::read(desk.file()).unwrap();
    let mut other = star();
    other.plan.number = "0000-0000".to_owned();
    let refused = log::append(&desk.file(), &other.plan, (7, None), gone("b"), |_, _| Ok(()));
    let Err(LogError::Refused(problem)) = refused else { panic!("{refused:?}") };
    assert_eq!(problem.code, Code::AnotherPlan);
    assert!(
        problem.problem.contains(&desk.plan.number) && problem.hint.contains("move the log"),
        "{problem}"
    );
    assert!(matches!(log::read(&desk.file(), &other.plan), Err(LogError::Refused(_))));
    // The same where the first record, which names the plan, is damaged.
    let mut damaged = before.clone();
    damaged[30] ^= 1;
    fs::write(desk.file(), damaged).unwrap();
    assert!(matches!(log::read(&desk.file(), &other.plan), Err(LogError::Refused(_))));
    fs::write(desk.file(), &before).unwrap();
    assert_eq!(fs::read(desk.file()).unwrap(), before);
}

#[test]
fn a_record_that_makes_no_sense_leaves_the_log_as_it_was() {
    let desk = star();
    desk.note(passes("L1", 1));
    let before = fs::read(desk.file()).unwrap();
    assert_eq!(desk.refuse(passes("L1", 2)).code, Code::TooManyPasses);
    assert_eq!(desk.refuse(strips(&["A1"])).code, Code::CutTwice);
    assert_eq!(fs::read(desk.file()).unwrap(), before);
}

#[test]
fn several_threads_write_at_once_and_every_record_is_there_once() {
    let desk = star();
    std::thread::scope(|scope| {
        for thread in 0..4 {
            let desk = &desk;
            scope.spawn(move || (0..10).map(|at| write(desk, gone(&format!("{thread}.{at}")))).max());
        }
    });
    let log = desk.read();
    let numbers: Vec<u64> = log.entries.iter().map(|entry| entry.number).collect();
    assert_eq!(numbers, (1..=40).collect::<Vec<u64>>());
    let mut people = people(&desk);
    people.sort();
    people.dedup();
    assert_eq!((people.len(), log.troubles.len()), (40, 0));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// Writes, losses of the end of a write that was not done, and writes again, in any order.
    #[test]
    fn what_was_reported_as_written_is_read(steps in proptest::collection::vec((any::<bool>(), 1_usize..60), 1..12)) {
        let desk = star();
        let mut written = Vec::new();
        for (at, (torn, bytes)) in steps.into_iter().enumerate() {
            if torn {
                // A line that is not finished: what a write leaves that was stopped.
                let mut text = fs::read(desk.file()).unwrap_or_default();
                let line = "77 0123456789abcdef {\"plan\":\"d2a8-0e1e\",\"number\":99,\"at\":7,\"note\":{}}";
                text.extend(&line.as_bytes()[..bytes]);
                fs::write(desk.file(), text).unwrap();
            } else {
                let name = format!("{at}");
                written.push((write(&desk, gone(&name)), name));
            }
            let read: Vec<(u64, String)> =
                desk.read().entries.iter().map(|entry| entry.number).zip(people(&desk)).collect();
            prop_assert_eq!(&read, &written);
        }
    }
}

#[test]
fn a_doubled_line_counts_once_and_is_named() {
    let desk = star();
    for name in ["a", "b"] {
        write(&desk, gone(name));
    }
    let bytes = fs::read_to_string(desk.file()).unwrap();
    let last = bytes.lines().last().unwrap().to_owned();
    fs::write(desk.file(), format!("{bytes}{last}\n")).unwrap();
    assert_eq!(people(&desk), ["a", "b"]);
    assert_eq!(codes(&desk), [Code::Doubled]);
    assert_eq!(write(&desk, gone("c")), 3);
    assert_eq!(people(&desk), ["a", "b", "c"]);
}
