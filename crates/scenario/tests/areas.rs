//! Areas, margins and points of boards, with numbers worked out by hand. All squares finish 3 in and are cut 3 1/2.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on should stop")]

mod support;

use patchlay_measure::Length;
use patchlay_scenario::job::{Board, TravelRule, Way};
use serde_json::{Value, json};
use support::{base, job, set};

/// The first board of the base with these positions.
fn board(positions: Value) -> Board {
    let mut value = base();
    set(
        &mut value,
        "boards[0]",
        json!({ "name": "squares", "width": 12, "length": 12, "positions": positions }),
    );
    job(&value).boards.swap_remove(0)
}

fn squares(at: [&str; 2]) -> Value {
    json!({ "shape": "square", "at": at })
}

/// A length in 1/64 in.
fn parts(count: i64) -> Length {
    Length::from_64ths(count)
}

#[test]
fn a_grid_of_two_by_three_has_eighteen_areas() {
    let board = board(json!([{
        "shape": "square", "at": ["1/4", 1], "columns": 3, "rows": 2, "gap_across": "1/2", "gap_along": "1/2"
    }]));
    // Three runs of rows (1, 2, both) times six runs of columns (1, 2, 3, 12, 23, 123).
    assert_eq!(board.bays.len(), 18);
    assert!(board.bays.is_sorted_by_key(|bay| bay.positions.clone()));
    let size = |positions: &[usize]| {
        let bay = board.bays.iter().find(|bay| bay.positions == positions).unwrap();
        assert_eq!(bay.margins, [parts(16); 4]);
        (bay.across, bay.along, bay.yields.clone())
    };
    let inch = Length::from_inches;
    assert_eq!(size(&[0]), (inch(4), inch(4), vec![(0, 1, 0)]));
    assert_eq!(size(&[0, 1, 2]), (inch(12), inch(4), vec![(0, 3, 0)]));
    assert_eq!(size(&[1, 4]), (inch(4), inch(8), vec![(0, 2, 0)]));
    assert_eq!(size(&[0, 1, 2, 3, 4, 5]), (inch(12), inch(8), vec![(0, 6, 0)]));
    assert!(board.apart.is_empty());
    // Margins of 1/4 in meet in the middle of gaps of 1/2 in, so nothing overlaps beyond the positions.
    assert_eq!(board.points.len(), 6);
    // Position 2 of the middle column: four of the six column runs hold it, two of the three row runs.
    assert_eq!((board.points[1].position, board.points[1].bays.len()), (Some(1), 8));
    let numbers: Vec<&str> = board.positions.iter().map(|position| position.label.as_str()).collect();
    assert_eq!(numbers, ["1", "2", "3", "4", "5", "6"]);
}

#[test]
fn a_narrow_gap_keeps_neighbours_apart() {
    let board = board(json!([{ "shape": "square", "at": [1, 1], "columns": 2, "gap_across": "3/16" }]));
    let covered: Vec<&[usize]> = board.bays.iter().map(|bay| bay.positions.as_slice()).collect();
    assert_eq!(covered, [&[0][..], &[0, 1], &[1]]);
    // Half of 3/16 is 3/32, below the least margin of 1/8: 3 1/2 + 1/4 + 3/32 is cut as 3 7/8.
    assert_eq!(board.bays[0].margins, [parts(16), parts(6), parts(16), parts(16)]);
    assert_eq!(board.bays[2].margins, [parts(6), parts(16), parts(16), parts(16)]);
    assert_eq!(board.bays[0].across, parts(3 * 64 + 56));
    assert_eq!(board.bays[1].margins, [parts(16); 4]);
    // Whatever covers position 2 is apart from the area of position 1 alone, and the other way round.
    let pairs: Vec<(usize, usize)> = board.apart.iter().map(|(low, high, _)| (*low, *high)).collect();
    assert_eq!(pairs, [(0, 1), (0, 2), (1, 2)]);
    assert_eq!(
        board.apart[0].2,
        "position 2 is 3/16 in away, which leaves a margin of 3/32 in where 1/8 in is the least"
    );
}

#[test]
fn a_gap_of_twice_the_least_margin_is_enough() {
    let board = board(json!([{ "shape": "square", "at": [1, 1], "columns": 2, "gap_across": "1/4" }]));
    assert!(board.apart.is_empty());
    // 3 1/2 + 1/4 + 1/8.
    assert_eq!(board.bays[0].across, parts(3 * 64 + 56));
}

#[test]
fn cloth_overlaps_at_the_corners_of_diagonal_neighbours() {
    // Boxes end at 4 1/2 and begin at 4 5/8 both ways: no projection meets, so all margins are 1/4 and both cloths
    // lie on the ground between 4 3/8 and 4 3/4.
    let close = board(json!([squares(["1", "1"]), squares(["4 5/8", "4 5/8"])]));
    assert_eq!(close.bays.len(), 2);
    assert!(close.bays.iter().all(|bay| bay.margins == [parts(16); 4]));
    let points: Vec<(Option<usize>, &[usize])> =
        close.points.iter().map(|point| (point.position, point.bays.as_slice())).collect();
    assert_eq!(points, [(Some(0), &[0][..]), (Some(1), &[1]), (None, &[0, 1])]);
    // At 5 in the cloths touch at 4 3/4; touching is not overlapping.
    let touching = board(json!([squares(["1", "1"]), squares(["5", "5"])]));
    assert_eq!(touching.points.len(), 2);
}

#[test]
fn an_area_is_a_full_grid() {
    // Three corners of a square of four: two runs of two, but no rectangle of three.
    let board = board(json!([squares(["1", "1"]), squares(["5", "1"]), squares(["1", "5"])]));
    let covered: Vec<&[usize]> = board.bays.iter().map(|bay| bay.positions.as_slice()).collect();
    assert_eq!(covered, [&[0][..], &[0, 1], &[0, 2], &[1], &[2]]);
}

#[test]
fn a_box_in_between_stops_an_area() {
    // The triangle's box, 2 1/2 x 4 1/2, stands between the squares at another turn.
    let board = board(json!([
        squares(["1/4", "1"]),
        { "shape": "half", "at": ["4 3/4", "1"], "turn": 180 },
        squares(["8 1/4", "1"])
    ]));
    let covered: Vec<&[usize]> = board.bays.iter().map(|bay| bay.positions.as_slice()).collect();
    assert_eq!(covered, [[0], [1], [2]]);
}

#[test]
fn differently_turned_fields_overlap_in_their_margins() {
    // The second square is turned by 5 degrees about (6 7/16, 6 7/16); its corners are 1.8959 in from there both
    // ways, so its box stays clear of the first (4.5416 > 4 1/2), while its cloth reaches (4.69, 4.28), where the
    // first one's cloth, up to 4 3/4, already lies.
    let board = board(json!([
        squares(["1", "1"]),
        { "shape": "square", "at": ["4 11/16", "4 11/16"], "turn": 5 }
    ]));
    assert_eq!(board.bays.len(), 2);
    let overlap: Vec<&[usize]> = board
        .points
        .iter()
        .filter(|point| point.position.is_none())
        .map(|point| point.bays.as_slice())
        .collect();
    assert_eq!(overlap, [[0, 1]]);
}

#[test]
fn turned_grids_keep_their_gaps() {
    let board = board(json!([{
        "shape": "square", "at": [3, "1/2"], "columns": 1, "rows": 2, "gap_along": "1/2", "turn": 45
    }]));
    let run = board.bays.iter().find(|bay| bay.positions == [0, 1]).unwrap();
    // Exactly 8 in along its own axis, margins included, whatever the turn.
    assert_eq!((run.across, run.along), (Length::from_inches(4), Length::from_inches(8)));
}

#[test]
fn the_travel_rule_of_turned_areas() {
    for (turn, along, across) in [
        (0, vec![Way::Along], vec![Way::Across]),
        (44, vec![Way::Along], vec![Way::Across]),
        (45, vec![Way::Along, Way::Across], vec![Way::Along, Way::Across]),
        (46, vec![Way::Across], vec![Way::Along]),
        (90, vec![Way::Across], vec![Way::Along]),
        (135, vec![Way::Along, Way::Across], vec![Way::Along, Way::Across]),
        (170, vec![Way::Along], vec![Way::Across]),
        (180, vec![Way::Along], vec![Way::Across]),
        (270, vec![Way::Across], vec![Way::Along]),
    ] {
        let board = board(json!([{ "shape": "square", "at": [4, 4], "turn": turn }]));
        let bay = &board.bays[0];
        assert_eq!(bay.ways(TravelRule::StripAlongTravel), along, "{turn}");
        assert_eq!(bay.ways(TravelRule::StripAcrossTravel), across, "{turn}");
        assert_eq!(bay.ways(TravelRule::Either), [Way::Along, Way::Across]);
    }
}

#[test]
fn sizes_round_up_to_the_ruler_step() {
    let mut value = base();
    set(&mut value, "rules.ruler_step", json!("1 in"));
    set(&mut value, "rules.margin", json!("3/16"));
    let job = job(&value);
    // 3 1/2 + 3/16 + 3/16 = 3 7/8.
    assert_eq!(job.boards[0].bays[0].across, Length::from_inches(4));
    assert_eq!(job.boards[0].bays[1].across, Length::from_inches(8));
}

#[test]
fn sixty_positions_are_quick() {
    let mut value = base();
    for (path, size) in [
        ("cutter.bed_width", 40),
        ("cutter.longest_board", 40),
        ("cutter.mats[0].width", 40),
        ("cutter.mats[0].length", 40),
    ] {
        set(&mut value, path, json!(size));
    }
    set(&mut value, "boards[0].width", json!(40));
    set(&mut value, "boards[0].length", json!(40));
    let mut grid = json!({
        "shape": "square", "at": ["1/2", "1/2"], "columns": 9, "rows": 6, "gap_across": "1/2", "gap_along": "1/2"
    });
    set(&mut value, "boards[0].positions", json!([grid]));
    // 45 runs of columns times 21 runs of rows.
    assert_eq!(job(&value).boards[0].bays.len(), 945);
    set(&mut grid, "gap_across", json!("3/16"));
    set(&mut grid, "gap_along", json!("3/16"));
    set(&mut value, "boards[0].positions", json!([grid]));
    let started = std::time::Instant::now();
    let board = job(&value).boards.swap_remove(0);
    assert_eq!(board.bays.len(), 945);
    assert!(!board.apart.is_empty());
    assert!(started.elapsed().as_secs() < 20, "{:?}", started.elapsed());
}
