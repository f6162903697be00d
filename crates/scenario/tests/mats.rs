//! Which mats are laid, with places worked out by hand. Squares are cut 3 1/2 in.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on should stop")]

mod support;

use patchlay_measure::Length;
use patchlay_scenario::{MatPlace, choose_mats, load};
use serde_json::{Value, json};
use support::{base, job, set};

fn with_mats(mats: Value, board: Value) -> Value {
    let mut value = base();
    set(&mut value, "cutter.mats", mats);
    set(&mut value, "boards[0]", board);
    value
}

/// Two squares side by side: x from 1 to 4 1/2 and 5 to 8 1/2, y from 1 to 4 1/2.
fn side_by_side() -> Value {
    base()["boards"][0].clone()
}

/// Two squares one behind the other: y from 1 to 4 1/2 and 12 to 15 1/2.
fn one_behind_the_other() -> Value {
    json!({ "name": "long", "width": 10, "length": 20, "positions": [
        { "shape": "square", "at": [1, 1] }, { "shape": "square", "at": [1, 12] }
    ] })
}

fn halves(parts: i64) -> Length {
    Length::from_64ths(32 * parts)
}

fn chosen(value: &Value, used: &[usize]) -> Option<Vec<MatPlace>> {
    let job = job(value);
    choose_mats(&job.cutter, &job.boards[0], used)
}

#[test]
fn the_smallest_single_mat_is_laid_centred() {
    let big = json!({ "name": "big", "width": 12, "length": 24 });
    let small = json!({ "name": "small", "width": 9, "length": 6 });
    let value = with_mats(json!([big, small]), side_by_side());
    // Across: centred, (10 - 9) / 2. Along: (10 - 6) / 2 would start at 2; the boxes begin at 1.
    let place = MatPlace { mat: 1, x: halves(1), y: halves(2), turned: false };
    assert_eq!(chosen(&value, &[0, 1]), Some(vec![place]));
    assert_eq!(chosen(&value, &[1]), Some(vec![place]));
    assert_eq!(chosen(&value, &[]), Some(Vec::new()));
}

#[test]
fn a_mat_may_reach_past_the_board_within_the_bed() {
    let value = with_mats(json!([{ "name": "mat", "width": 12, "length": 24 }]), side_by_side());
    // The board is 10 x 10, the bed 12 wide and the longest board 24.
    let place = MatPlace { mat: 0, x: halves(-2), y: halves(-14), turned: false };
    assert_eq!(chosen(&value, &[0]), Some(vec![place]));
    let too_wide = with_mats(json!([{ "name": "mat", "width": 13, "length": 25 }]), side_by_side());
    assert!(load(&too_wide.to_string()).is_err());
}

#[test]
fn a_mat_is_turned_where_that_helps() {
    let big = json!({ "name": "big", "width": 12, "length": 24 });
    let value = with_mats(json!([big, { "name": "long", "width": 4, "length": 9 }]), side_by_side());
    let places = chosen(&value, &[0, 1]).unwrap();
    assert_eq!((places.len(), places[0].mat, places[0].turned), (1, 1, true));
}

#[test]
fn mats_lie_one_behind_the_other() {
    let two = json!([
        { "name": "mat", "width": 10, "length": 8, "owned": 2 },
        // For the other board of the base, which is wider.
        { "name": "wide", "width": 12, "length": 7 }
    ]);
    let value = with_mats(two, one_behind_the_other());
    let places = chosen(&value, &[0, 1]).unwrap();
    // The smaller two of the three ways with two mats; the second follows the first.
    assert_eq!(places.len(), 2);
    assert!(places[0].y + Length::from_inches(8) <= places[1].y, "{places:?}");
    assert_eq!(places.iter().map(|place| place.mat).collect::<Vec<_>>(), [0, 0]);
    assert_eq!((places[0].y, places[1].y), (halves(0), halves(16)));
    assert_eq!(chosen(&value, &[1]).unwrap().len(), 1);
}

#[test]
fn no_more_mats_than_are_owned() {
    let one = json!([{ "name": "mat", "width": 12, "length": 8 }]);
    let value = with_mats(one, one_behind_the_other());
    let error = load(&value.to_string()).unwrap_err();
    let problem = &error.problems()[0];
    assert_eq!((problem.code.number(), problem.path.as_str()), ("S509", "boards[0]"));
    assert!(problem.hint.contains("one mat of at least 3 1/2 in x 14 1/2 in"), "{problem}");
}

#[test]
fn a_position_lies_under_one_mat() {
    // Together the two mats are long enough, but every cut between them runs through a box.
    let mut board = one_behind_the_other();
    set(&mut board, "positions[1].at", json!([5, 3]));
    set(&mut board, "positions[2]", json!({ "shape": "square", "at": [1, 6] }));
    let value = with_mats(json!([{ "name": "mat", "width": 12, "length": 7, "owned": 2 }]), board);
    let error = load(&value.to_string()).unwrap_err();
    assert_eq!(error.problems()[0].code.number(), "S509");
}
