//! Areas, margins, overlaps and ways round, each derived by hand from the sizes in the test (common practice, no
//! source).

use std::collections::BTreeSet;

use patchlay_measure::Length;
use patchlay_plan::Way;
use patchlay_shape::Turn;

use super::{Board, ways};
use crate::facts::Facts;
use patchlay_scenario::spec::TravelRule;

/// A board of 4 in squares (cut 4 1/2 in) whose positions are given as JSON.
fn board(rules: &str, positions: &str) -> Board {
    let text = format!(
        r#"{{
            "patchlay_scenario": 1, "name": "board", "units": "inch",
            "cutter": {{ "bed_width": "40", "longest_board": "60", "ply_limit": 6, "mats": [] }},
            "rules": {{ "travel_rule": "either", "ruler_step": "1/64" {rules} }},
            "fabrics": [{{ "name": "F", "usable_width": "42", "print": "none" }}],
            "shapes": [{{ "name": "s", "kind": "square", "side": "4" }}],
            "boards": [{{ "name": "b", "width": "40", "length": "60", "positions": [{positions}] }}],
            "loose_patches": [{{ "shape": "s", "fabric": "F", "count": 1 }}],
            "spare_patches": {{ "number": 0 }}, "aim": {{ "put_first": "least_cloth" }}
        }}"#
    );
    let (mut facts, _) = Facts::read(&text).unwrap();
    facts.boards.remove(0)
}

fn inches(sixty_fourths: i64) -> Length {
    Length::from_64ths(sixty_fourths)
}

fn sets(board: &Board) -> Vec<Vec<usize>> {
    board.bays.iter().map(|bay| bay.positions.clone()).collect()
}

#[test]
fn a_grid_has_an_area_for_every_run_and_full_rectangle() {
    let board = board(
        "",
        r#"{ "shape": "s", "at": ["1", "1"], "columns": 3, "rows": 2, "gap_across": "1", "gap_along": "1" }"#,
    );
    // Three columns give 6 runs, two rows give 3: 18 rectangles.
    assert_eq!(board.bays.len(), 18);
    assert!(sets(&board).contains(&vec![0, 1, 3, 4]) && board.bay_of(&[0, 4]).is_none());
    // Rows count from the leading end, each from the handle side: position 4 lies behind position 1.
    let (one, four) = (board.positions[0].rect, board.positions[3].rect);
    assert_eq!(one.u, four.u);
    assert!(one.v.high < four.v.low);
    // Nothing overlaps beside the six positions, and 1 in between them keeps nothing apart.
    assert_eq!((board.points.len(), board.apart.len()), (6, 0));
}

#[test]
fn three_corners_of_a_square_are_no_area() {
    let board = board(
        "",
        r#"{ "shape": "s", "at": ["1", "1"], "columns": 2, "gap_across": "1" }, { "shape": "s", "at": ["1", "6 1/2"] }"#,
    );
    assert_eq!(sets(&board), [vec![0], vec![0, 1], vec![0, 2], vec![1], vec![2]]);
}

#[test]
fn two_boxes_with_another_between_them_are_no_area() {
    let board = board("", r#"{ "shape": "s", "at": ["1", "1"], "columns": 3, "gap_across": "1" }"#);
    assert_eq!(sets(&board), [vec![0], vec![0, 1], vec![0, 1, 2], vec![1], vec![1, 2], vec![2]]);
}

#[test]
fn margins_are_the_set_margin_or_half_the_gap() {
    // Gap 3/8 in: half is 3/16 in, below the set margin of 1/4 in and not below the least margin of 1/8 in.
    let board = board("", r#"{ "shape": "s", "at": ["1", "1"], "columns": 2, "gap_across": "3/8" }"#);
    let one = &board.bays[board.bay_of(&[0]).unwrap()];
    // Across 4 1/2 + 1/4 + 3/16 = 4 15/16; along 4 1/2 + 2 x 1/4 = 5.
    assert_eq!((one.across, one.along), (inches(4 * 64 + 60), inches(5 * 64)));
    assert_eq!(one.cut(Way::Along), (inches(320), inches(316)));
    assert_eq!(one.cut(Way::Across), (inches(316), inches(320)));
    let both = &board.bays[board.bay_of(&[0, 1]).unwrap()];
    // 2 x 4 1/2 + 3/8 + 2 x 1/4 = 9 7/8.
    assert_eq!(both.across, inches(9 * 64 + 56));
    assert!(board.apart.is_empty());
}

#[test]
fn cloth_is_rounded_up_to_the_ruler_step_and_areas_are_not() {
    let text = r#", "margin": "17/64""#;
    let board = board(text, r#"{ "shape": "s", "at": ["1", "1"] }"#);
    // 4 1/2 + 34/64 in is 322/64 in on a ruler in 64ths.
    assert_eq!(board.bays[0].across, inches(322));
    assert_eq!(board.bays[0].box_area, inches(288) * inches(288));
    assert_eq!(board.bays[0].cloth_area, inches(322) * inches(322));
}

#[test]
fn areas_nearer_than_twice_the_least_margin_are_kept_apart() {
    let board = board("", r#"{ "shape": "s", "at": ["1", "1"], "columns": 3, "gap_across": "15/64" }"#);
    // Half of 15/64 in is below 1/8 in, so whatever faces position 2 is kept from every area that covers it.
    let bay = |set: &[usize]| board.bay_of(set).unwrap();
    let pair = |a: usize, b: usize| (a.min(b), a.max(b));
    let wanted: BTreeSet<(usize, usize)> = [
        pair(bay(&[0]), bay(&[1])),
        pair(bay(&[0]), bay(&[0, 1])),
        pair(bay(&[0]), bay(&[1, 2])),
        pair(bay(&[0]), bay(&[0, 1, 2])),
        pair(bay(&[0]), bay(&[2])),
    ]
    .into();
    // Positions 1 and 3 face each other past position 2: their gap is 4 1/2 + 30/64 in.
    assert!(wanted.iter().filter(|pair| board.apart.contains(pair)).count() == 4);
    assert!(!board.apart.contains(&pair(bay(&[0]), bay(&[2]))));
    assert!(board.apart.contains(&pair(bay(&[0, 1]), bay(&[1, 2]))));
}

#[test]
fn exactly_twice_the_least_margin_is_enough() {
    let board = board("", r#"{ "shape": "s", "at": ["1", "1"], "columns": 2, "gap_across": "1/4" }"#);
    assert!(board.apart.is_empty());
}

#[test]
fn diagonal_neighbours_overlap_with_their_margins() {
    // Corner to corner 1/4 in away both ways; each margin is 1/4 in because neither faces the other.
    let near = board("", r#"{ "shape": "s", "at": ["1", "1"] }, { "shape": "s", "at": ["5 3/4", "5 3/4"] }"#);
    assert_eq!(sets(&near), [vec![0], vec![1]]);
    assert_eq!(near.points, [vec![0], vec![1], vec![0, 1]]);
    // 1/2 in away the cloths touch, which is not overlapping.
    let far = board("", r#"{ "shape": "s", "at": ["1", "1"] }, { "shape": "s", "at": ["6", "6"] }"#);
    assert_eq!(far.points, [vec![0], vec![1]]);
}

#[test]
fn turned_blades_are_areas_of_their_own() {
    let board = board(
        "",
        r#"{ "shape": "s", "at": ["4", "4"], "turn": 45, "columns": 2, "gap_across": "1" }, { "shape": "s", "at": ["20", "20"] }"#,
    );
    assert_eq!(sets(&board), [vec![0], vec![0, 1], vec![1], vec![2]]);
    // Sizes along the turned axes are exact: 2 x 4 1/2 + 1 + 2 x 1/4 in.
    assert_eq!(board.bays[1].across, inches(10 * 64 + 32));
}

#[test]
fn the_side_nearer_the_travel_counts() {
    use TravelRule::{Either, StripAcrossTravel, StripAlongTravel};
    for (degrees, along) in
        [(0, true), (30, true), (60, false), (90, false), (135, true), (180, true), (270, false)]
    {
        let turn = Turn::from_degrees(degrees);
        let both = degrees == 135;
        assert_eq!(ways(turn, StripAlongTravel), (along, !along || both), "{degrees}");
        assert_eq!(ways(turn, StripAcrossTravel), (!along || both, along), "{degrees}");
        assert_eq!(ways(turn, Either), (true, true));
    }
    assert_eq!(ways(Turn::from_degrees(45), StripAlongTravel), (true, true));
    assert_eq!(ways(Turn::from_hundredths(4_499), StripAlongTravel), (true, false));
    assert_eq!(ways(Turn::from_hundredths(4_501), StripAlongTravel), (false, true));
}

#[test]
fn boxes_that_overlap_or_stick_out_make_the_scenario_unusable() {
    let text = include_str!("../../../../tests/damage/good/star.json");
    for (from, to) in [
        ("[\"7\", \"1\"]", "[\"5\", \"1\"]"),
        ("[\"7\", \"1\"]", "[\"9\", \"1\"]"),
        ("\"width\": \"14\", \"length\": \"8\"", "\"width\": \"15\", \"length\": \"8\""),
    ] {
        let changed = text.replace(from, to);
        assert_ne!(changed, text);
        assert!(Facts::read(&changed).is_err(), "{to}");
    }
}
