//! What follows from plan and log. The plans were drawn up by hand, and so is what is expected here: two small stars
//! (pass 1 and 2 of L1 and the one of L2 yield 3 light and 1 dark squares each; L1 yields 8 dark and 4 light quarters in
//! a pass, L2 4 of each), and eight spires, where a ply yields 2 as drawn face up and 2 mirrored face down.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on should stop")]

mod common;

use common::{Desk, passes, spires, spot, star, strips};
use patchlay_measure::Length;
use patchlay_plan::Hand;
use patchlay_plan::record::{Fewer, Note, Patches};
use patchlay_plan::replan::Reason;
use patchlay_record::Code;
use patchlay_record::replan::Half;

/// Good patches in the order of fabric, shape, hand.
fn good(desk: &Desk) -> Vec<u64> {
    let log = desk.read();
    let half = Half::new(&desk.plan, &desk.job, &log).unwrap();
    half.patches().iter().map(|(.., good, _)| *good).collect()
}

fn left(desk: &Desk) -> Vec<Length> {
    let log = desk.read();
    Half::new(&desk.plan, &desk.job, &log).unwrap().cloth_left()
}

/// Kept passes and lost ones with their reason, as `L1: 1 2`.
fn stays(desk: &Desk) -> (Vec<String>, Vec<(String, u64, Reason)>) {
    let log = desk.read();
    let replan = Half::new(&desk.plan, &desk.job, &log).unwrap().whole(None, "test").unwrap();
    let kept = replan.kept.iter().map(|kept| format!("{}: {:?}", kept.layup, kept.passes)).collect();
    let lost = replan.dropped.iter().flat_map(|lost| {
        lost.passes
            .iter()
            .map(|pass| (lost.layup.clone(), pass.pass, pass.reason.clone()))
            .collect::<Vec<_>>()
    });
    (kept, lost.collect())
}

fn kind(fabric: &str, shape: &str, patches: u64) -> Patches {
    Patches { fabric: fabric.to_owned(), shape: shape.to_owned(), hand: Hand::Any, patches }
}

fn inches_64ths(count: i64) -> Length {
    Length::from_64ths(count)
}

#[test]
fn passes_yield_what_their_plies_do() {
    let desk = star();
    assert_eq!(good(&desk), [0, 0, 0, 0]);
    desk.note(passes("L1", 1));
    // Light squares, light quarters, dark squares, dark quarters.
    assert_eq!(good(&desk), [3, 4, 1, 8]);
    desk.note(passes("L1", 1));
    desk.note(passes("L2", 1));
    assert_eq!(good(&desk), [9, 12, 3, 20]);
    assert_eq!(desk.refuse(passes("L2", 1)).code, Code::TooManyPasses);
}

#[test]
fn fewer_plies_are_missing_from_the_top() {
    let desk = star();
    let fewer = vec![Fewer { area: 1, group: None, plies: 2 }, Fewer { area: 2, group: Some(1), plies: 1 }];
    desk.note(Note::Passes { layup: "L1".to_owned(), passes: 2, first: None, fewer });
    // Area A: 2 of 3 light plies and no dark one, twice; area B: 1 of 2 dark plies.
    assert_eq!(good(&desk), [4, 8, 0, 8]);
}

#[test]
fn spoiled_plies_and_patches_come_off_and_never_more_than_was_cut() {
    let desk = star();
    let spoiled = |plies| Note::PliesSpoiled { spot: spot("L1", 1, 2, 1), plies };
    assert_eq!(desk.refuse(spoiled(1)).code, Code::PassNotMade);
    desk.note(passes("L1", 1));
    desk.note(spoiled(1));
    assert_eq!(good(&desk), [3, 4, 1, 4]);
    assert_eq!(desk.refuse(spoiled(2)).code, Code::SpoiledAboveCut);
    let problem = desk.refuse(Note::PatchesSpoiled { patches: kind("Light", "square", 4) });
    assert_eq!(
        (problem.code, problem.problem.as_str()),
        (Code::SpoiledAboveCut, "4 patches spoiled where 3 good ones are there")
    );
    assert!(problem.hint.contains("count again"));
    desk.note(Note::PatchesSpoiled { patches: kind("Light", "square", 3) });
    desk.note(Note::PatchesFound { patches: kind("Light", "square", 1) });
    assert_eq!(good(&desk), [1, 4, 1, 4]);
}

#[test]
fn of_a_folded_length_the_ply_that_costs_most_counts_as_spoiled() {
    let desk = spires();
    desk.note(passes("L1", 1));
    // Slate as drawn, slate mirrored, meadow as drawn.
    assert_eq!(good(&desk), [4, 2, 2]);
    desk.note(Note::PliesSpoiled { spot: spot("L1", 1, 1, 1), plies: 1 });
    // It may have been the one face up or the one face down.
    assert_eq!(good(&desk), [2, 0, 2]);
    let hand = desk.refuse(Note::PatchesSpoiled { patches: kind("Slate", "spire", 1) });
    assert_eq!(hand.code, Code::NoSuchPatches);
}

#[test]
fn a_wrong_fabric_gives_other_patches_and_leaves_its_length() {
    let desk = star();
    desk.note(passes("L1", 1));
    let wrong = |used: Option<&str>| Note::WrongFabric {
        spot: spot("L1", 1, 2, 1),
        instead: None,
        used: used.map(str::to_owned),
    };
    desk.note(wrong(Some("A1b")));
    // Two plies of quarters are light now instead of dark, and pass 2 has lost A1b.
    assert_eq!(good(&desk), [3, 12, 1, 0]);
    assert_eq!(desk.refuse(wrong(None)).code, Code::UsedAlready);
    let (kept, lost) = stays(&desk);
    assert_eq!(kept, ["L2: [1]"]);
    assert_eq!(lost, [("L1".to_owned(), 2, Reason::Piece { piece: "A1b".to_owned() })]);
}

#[test]
fn cloth_left_follows_the_strips() {
    let desk = star();
    // 22 1/2 in less 10 in kept back; 13 1/2 in less 5 percent are 12.825 in, 104,241.6 units.
    assert_eq!(left(&desk), [inches_64ths(800), Length::from_units(104_241)]);
    desk.note(strips(&["A1"]));
    // 1 in of squaring and 5 3/4 in.
    assert_eq!(left(&desk)[0], inches_64ths(368));
    desk.note(Note::BoltShort { fabric: "Light".to_owned(), left: Length::from_inches(7) });
    desk.note(strips(&["A2"]));
    assert_eq!(left(&desk)[0], Length::from_inches(2));
}

#[test]
fn a_short_bolt_takes_as_few_cards_as_it_must() {
    let desk = star();
    let short = |left| Note::BoltShort { fabric: "Light".to_owned(), left };
    // Both light strips take 1 + 5 3/4 + 5 in.
    desk.note(short(inches_64ths(752)));
    assert_eq!(stays(&desk).0, ["L1: [1, 2]", "L2: [1]"]);
    // A1 alone takes 6 3/4 in, and pass 1 of L1 is all that it makes without A2.
    desk.note(short(Length::from_inches(7)));
    let strip = |layup: &str, pass| (layup.to_owned(), pass, Reason::Short { strip: "A1".to_owned() });
    assert_eq!(stays(&desk), (vec!["L1: [1]".to_owned()], vec![strip("L1", 2), strip("L2", 1)]));
    desk.note(short(Length::from_inches(6)));
    assert_eq!(stays(&desk).0, [""; 0]);
}

#[test]
fn narrow_cloth_takes_lengths_of_one_card_before_another() {
    let desk = star();
    // A1 holds 32 3/8 in and A2 30 1/4 in; 29 1/2 in are left of 30 in. A1a and A2a are both of L1.
    desk.note(Note::BoltNarrow { fabric: "Light".to_owned(), width: Length::from_inches(30) });
    let (kept, lost) = stays(&desk);
    assert_eq!(kept, ["L2: [1]"]);
    let narrow = |pass, piece: &str| ("L1".to_owned(), pass, Reason::Narrow { piece: piece.to_owned() });
    assert_eq!(lost, [narrow(1, "A1a"), narrow(2, "A2a")]);
    assert_eq!(desk.refuse(strips(&["A2"])).code, Code::TooNarrow);
}

#[test]
fn boards_and_mats_that_are_damaged_take_their_lay_ups() {
    let desk = star();
    desk.note(Note::MatDamaged { mat: "small mat".to_owned(), mats: 2 });
    assert_eq!(stays(&desk).1, []);
    desk.note(Note::MatDamaged { mat: "mat".to_owned(), mats: 1 });
    assert!(stays(&desk).1.iter().all(|(.., reason)| *reason == Reason::Mat { mat: "mat".to_owned() }));
    assert_eq!(desk.refuse(Note::MatDamaged { mat: "mat".to_owned(), mats: 1 }).code, Code::MoreThanOwned);
    desk.note(Note::BoardDamaged { board: "star board".to_owned(), copies: 1 });
    assert_eq!(stays(&desk).1.len(), 3);
}

#[test]
fn a_dropped_quilt_leaves_whole_cards_out() {
    let desk = star();
    desk.note(passes("L1", 1));
    desk.note(Note::QuiltDropped { quilt: "Two stars".to_owned(), copies: None });
    let lost = |layup: &str, pass| (layup.to_owned(), pass, Reason::NotWanted);
    assert_eq!(stays(&desk), (vec![], vec![lost("L1", 2), lost("L2", 1)]));
    assert_eq!(
        desk.refuse(Note::QuiltDropped { quilt: "Two stars".to_owned(), copies: None }).code,
        Code::UnknownQuilt
    );
}

#[test]
fn an_added_quilt_is_wanted_with_its_spare_patches_anew() {
    let desk = star();
    let quilt = |name: &str, block: &str| {
        serde_json::from_value(serde_json::json!({ "name": name, "copies": 2, "blocks": [
            { "block": block, "count": 1, "fabrics": { "light": "Dark", "dark": "Light" } }
        ] }))
        .unwrap()
    };
    assert_eq!(desk.refuse(Note::QuiltAdded { quilt: quilt("More", "Stra") }).code, Code::QuiltUnusable);
    assert_eq!(desk.refuse(Note::QuiltAdded { quilt: quilt("Two stars", "Star") }).code, Code::QuiltTwice);
    desk.note(Note::QuiltAdded { quilt: quilt("More", "Star") });
    let log = desk.read();
    let half = Half::new(&desk.plan, &desk.job, &log).unwrap();
    let wanted: Vec<u64> = half.patches().iter().map(|(.., wanted)| *wanted).collect();
    // 8 light squares and 2 x 1 more, 8 light quarters and 2 x 8, 2 dark squares and 2 x 4, 16 dark quarters and 2 x 4,
    // one spare of each.
    assert_eq!(wanted, [11, 25, 11, 25]);
}

#[test]
fn undone_records_do_not_count_and_what_others_rest_on_stays() {
    let desk = star();
    let first = desk.note(passes("L1", 1));
    let second = desk.note(Note::PliesSpoiled { spot: spot("L1", 1, 1, 1), plies: 1 });
    let problem = desk.refuse(Note::Undo { record: first });
    assert_eq!(problem.code, Code::Conflict);
    assert!(problem.hint.contains(&format!("undo record {second} first")), "{problem}");
    let undo = desk.note(Note::Undo { record: second });
    assert_eq!(good(&desk), [3, 4, 1, 8]);
    assert_eq!(desk.refuse(Note::Undo { record: second }).code, Code::UnknownRecord);
    assert_eq!(desk.refuse(Note::Undo { record: 99 }).code, Code::UnknownRecord);
    desk.note(Note::Undo { record: undo });
    assert_eq!(good(&desk), [2, 4, 1, 8]);
}

#[test]
fn names_are_answered_with_the_nearest_known_one() {
    let desk = star();
    let hint = |note| desk.refuse(note).hint;
    assert_eq!(hint(passes("l1", 1)), "did you mean `L1`?");
    assert_eq!(hint(strips(&["B3"])), "did you mean `B1`?");
    assert_eq!(hint(Note::ClothSpoiled { name: "A1x".to_owned() }), "did you mean `A1a`?");
    let board = Note::BoardDamaged { board: "sar board".to_owned(), copies: 1 };
    assert_eq!(hint(board), "did you mean `star board`?");
    let person = desk.refuse(Note::PersonGone { person: "x".to_owned() });
    assert_eq!(person.code, Code::UnknownPerson);
}

#[test]
fn zero_and_absurd_numbers_are_refused() {
    let desk = star();
    assert_eq!(desk.refuse(passes("L1", 0)).code, Code::Nothing);
    assert_eq!(desk.refuse(passes("L1", u64::MAX)).code, Code::MoreThanOwned);
    let found = |patches| Note::PatchesFound { patches: kind("Light", "square", patches) };
    assert_eq!(desk.refuse(found(u64::MAX)).code, Code::MoreThanOwned);
    let far = Note::Passes { layup: "L1".to_owned(), passes: 1, first: Some(u64::MAX), fewer: Vec::new() };
    assert_eq!(desk.refuse(far).code, Code::TooManyPasses);
    desk.note(passes("L1", 1));
    let spot = spot("L1", u64::MAX, usize::MAX, usize::MAX);
    assert_eq!(desk.refuse(Note::PliesSpoiled { spot, plies: 1 }).code, Code::UnknownArea);
}

#[test]
fn a_record_after_a_damaged_one_is_named_and_not_counted() {
    let desk = star();
    desk.note(passes("L1", 1));
    desk.note(Note::PliesSpoiled { spot: spot("L1", 1, 1, 1), plies: 1 });
    let text = std::fs::read_to_string(desk.file()).unwrap();
    std::fs::write(desk.file(), text.replacen("\"passes\":1", "\"passes\":2", 1)).unwrap();
    let log = desk.read();
    let half = Half::new(&desk.plan, &desk.job, &log).unwrap();
    let codes: Vec<Code> = half.troubles().iter().map(|trouble| trouble.code).collect();
    assert_eq!(codes, [Code::Damaged, Code::DoesNotFit]);
    assert_eq!(good(&desk), [0, 0, 0, 0]);
}
