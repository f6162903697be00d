//! Cut sizes against the allowances sewers use. Unless a test names a source,
//! its figures are derived by exact geometry (each side moved outwards by the
//! seam), to six decimals of an inch, and not from this program.

#![allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]

mod common;

use std::f64::consts::FRAC_1_SQRT_2;

use common::{cut, edge_inches, inch, inches, nearest, rounds_up};
use patchlay_measure::Length;
use patchlay_shape::{Angle, Edge, Finished, Shape, Tips};

/// Squares and rectangles gain 1/2 in each way: unsigned lesson sheet "Allowing
/// for Seam Allowances"; also exact geometry.
#[test]
fn squares_and_rectangles_gain_half_an_inch() {
    for finished in ["1", "3", "4 1/2", "12"] {
        let square = cut(&Finished::Square { side: inch(finished) });
        assert_eq!(square.cut_width(), inch(finished) + inch("1/2"));
        assert_eq!(square.cut_height(), square.cut_width());
    }
    let bar = cut(&Finished::Rectangle { width: inch("1 1/2"), height: inch("3") });
    assert_eq!((bar.cut_width(), bar.cut_height()), (inch("2"), inch("3 1/2")));
}

/// Half-square triangles: the rule adds 7/8 in to the square, and 3 in finished
/// is cut 3 7/8 (unsigned lesson sheet "Allowing for Seam Allowances"). Exactly
/// it is 0.853553, so the rule is 0.021447 generous.
#[test]
fn half_squares_gain_seven_eighths() {
    for (finished, leg) in [("3", 3.853553), ("4", 4.853553), ("2", 2.853553)] {
        let shape = cut(&Finished::HalfSquare { leg: inch(finished) });
        rounds_up(shape.cut_width(), leg);
        rounds_up(shape.cut_height(), leg);
        let rule = inch(finished) + inch("7/8");
        assert!((inches(rule - shape.cut_width()) - 0.021447).abs() < 0.000_13);
    }
    // 3 in: the long side is cut 5.449747.
    let shape = cut(&Finished::HalfSquare { leg: inch("3") });
    assert!((edge_inches(shape.cut(), 1) - 5.449747).abs() < 1e-6);
}

/// Quarter-square triangles: common practice (no source) adds 1 1/4 in; exactly
/// it is 1.207107, so 4 in finished is cut 5.207107 along the long side.
#[test]
fn quarter_squares_gain_an_inch_and_a_quarter() {
    let shape = cut(&Finished::QuarterSquare { long_side: inch("4") });
    rounds_up(shape.cut_width(), 5.207107);
    rounds_up(shape.cut_height(), 2.603553);
    let rule = inch("4") + inch("1 1/4");
    assert!((inches(rule - shape.cut_width()) - 0.042893).abs() < 0.000_13);
}

/// A pair at a time takes squares of f + 7/8, eight at a time 2f + 1 3/4.
#[test]
fn paired_methods_take_no_less_than_the_exact_squares() {
    let shape = cut(&Finished::HalfSquare { leg: inch("3") });
    assert!(shape.cut_width() <= inch("3 7/8"));
    assert!(shape.cut_width() * 2 <= inch("7 3/4"));
    assert!(shape.cut_width() > inch("3 27/32"));
}

/// Two 5 in squares sewn all round and cut on both diagonals give four units
/// that finish (S - 2s)/√2 - 2s = 2.681981. Turned round: the cut size of such a
/// unit has a diagonal of the 4 1/2 in that lie between the seams.
#[test]
fn four_units_from_two_squares_sewn_all_round() {
    let unit = cut(&Finished::Square { side: nearest(2.681981) });
    let raw_diagonal = inches(unit.cut_width()) * 2_f64.sqrt();
    assert!((raw_diagonal - 4.5).abs() < 0.000_3);
}

/// A goose f x f/2 is one quarter square of f and two half squares of f/2: for
/// f = 4, squares of 5 1/4 and 2 7/8 by the rules; stitched and flipped it is a
/// rectangle 4 1/2 x 2 1/2 and squares of 2 1/2.
#[test]
fn flying_geese_are_a_goose_and_two_skies() {
    let goose = cut(&Finished::goose(inch("4")));
    let sky = cut(&Finished::sky(inch("4")).unwrap());
    rounds_up(goose.cut_width(), 5.207107);
    rounds_up(sky.cut_width(), 2.853553);
    assert!(goose.cut_width() <= inch("5 1/4") && sky.cut_width() <= inch("2 7/8"));
    let ground = cut(&Finished::Rectangle { width: inch("4"), height: inch("2") });
    assert_eq!((ground.cut_width(), ground.cut_height()), (inch("4 1/2"), inch("2 1/2")));
    let pair = goose.areas().finished + sky.areas().finished * 2;
    assert_eq!(pair, ground.areas().finished);
    assert!(Finished::sky(Length::from_units(3)).is_err());
}

/// A diamond's side gains 2s/sin θ: 0.707107 at 45°, 0.577350 at 60°; it is cut
/// from strips of f sin θ + 1/2.
#[test]
fn diamonds_gain_by_their_angle() {
    for (degrees, gain, sine) in
        [(45, FRAC_1_SQRT_2, FRAC_1_SQRT_2), (60, 0.577350, 0.866025404), (30, 1.0, 0.5)]
    {
        let diamond = cut(&Finished::Diamond { side: inch("3"), angle: Angle::from_degrees(degrees) });
        assert!((edge_inches(diamond.cut(), 0) - 3.0 - gain).abs() < 1e-6, "{degrees}°");
        assert!((edge_inches(diamond.cut(), 1) - 3.0 - gain).abs() < 1e-6, "{degrees}°");
        rounds_up(diamond.cut_height(), 3.0 * sine + 0.5);
    }
}

/// Equilateral triangle: side + 0.866025 (2√3 s), height + 3/4 (3s).
#[test]
fn equilateral_triangles_gain_three_seams_of_height() {
    let triangle = cut(&Finished::Equilateral { side: inch("2") });
    rounds_up(triangle.cut_width(), 2.866025);
    rounds_up(triangle.cut_height(), 1.732050808 + 0.75);
}

/// Hexagon: side + 0.288675 (2s/√3), across the flats + 1/2.
#[test]
fn hexagons_gain_half_an_inch_across_flats() {
    let hexagon = cut(&Finished::Hexagon { side: inch("1") });
    assert!((edge_inches(hexagon.cut(), 0) - 1.288675).abs() < 1e-6);
    rounds_up(hexagon.cut_height(), 1.732050808 + 0.5);
    rounds_up(hexagon.cut_width(), 2.0 * 1.288675135);
}

/// Octagon: side + 0.207107 (2s tan 22.5°).
#[test]
fn octagons_gain_by_the_tangent() {
    let octagon = cut(&Finished::Octagon { side: inch("2") });
    assert!((edge_inches(octagon.cut(), 0) - 2.207107).abs() < 1e-6);
    rounds_up(octagon.cut_width(), 2.0 * 2.414213562 + 0.5);
}

/// Half rectangles: w + s(1 + (w+d)/h) by h + s(1 + (h+d)/w); 2 x 4 finished is
/// cut 2.654508 x 5.309017.
#[test]
fn half_rectangles_gain_by_both_sides() {
    let shape = cut(&Finished::HalfRectangle { width: inch("2"), height: inch("4") });
    rounds_up(shape.cut_width(), 2.654508);
    rounds_up(shape.cut_height(), 5.309017);
    let equal = cut(&Finished::HalfRectangle { width: inch("3"), height: inch("3") });
    rounds_up(equal.cut_width(), 3.853553);
}

/// Curved two-piece unit of finished radius R: the convex piece is cut with
/// R + s, its concave partner with R - s, straight edges + s each.
#[test]
fn curves_gain_outwards_and_lose_inwards() {
    let radius_of = |shape: &Shape| {
        shape.cut().edges().iter().find_map(|edge| match edge {
            Edge::Arc { radius, convex, .. } => Some((*radius / 8128.0, *convex)),
            Edge::Line { .. } => None,
        })
    };
    let pie = cut(&Finished::ConvexQuarter { radius: inch("3") });
    assert_eq!(radius_of(&pie), Some((3.25, true)));
    assert_eq!((pie.cut_width(), pie.cut_height()), (inch("3 1/2"), inch("3 1/2")));
    let partner = cut(&Finished::ConcaveQuarter { radius: inch("3"), outer: inch("4") });
    assert_eq!(radius_of(&partner), Some((2.75, false)));
    assert_eq!((partner.cut_width(), partner.cut_height()), (inch("4 1/2"), inch("4 1/2")));
}

/// Metric seams: half and quarter squares gain s(2+√2) and s(2+2√2): 5 mm gives
/// 17.071 and 24.142 mm, 6 mm 20.485 and 28.971, 7 mm 23.899 and 33.799, 7.5 mm
/// 25.607 and 36.213.
#[test]
fn metric_seams_gain_in_proportion() {
    for (seam, half, quarter) in [
        ("5 mm", 17.071, 24.142),
        ("6 mm", 20.485, 28.971),
        ("7 mm", 23.899, 33.799),
        ("7.5 mm", 25.607, 36.213),
    ] {
        let size = inch("10 cm");
        let gain = |kind: Finished| {
            let shape = Shape::new(&kind, inch(seam), Tips::Untrimmed).unwrap();
            (shape.cut_width() - size).units() as f64 / 320.0
        };
        // 0.0005 from the table's rounding, one unit (0.003125 mm) from ours.
        let near = |gain: f64, table: f64| (-0.0006..0.0038).contains(&(gain - table));
        assert!(near(gain(Finished::HalfSquare { leg: size }), half), "{seam}");
        assert!(near(gain(Finished::QuarterSquare { long_side: size }), quarter), "{seam}");
    }
}

/// Setting triangles of quilts on point, finished block b: side triangles have a
/// long side of b√2, corner triangles legs of b/√2. Cut exactly they gain
/// 1.207107 and 0.853553; by the rules (common practice, no source) 1 1/4 and
/// 7/8, and the sum is rounded up to the next eighth.
#[test]
fn setting_triangles_round_up_to_eighths() {
    for (block, side, side_cut, corner, corner_cut) in [
        (6.0, 9.6924, "9 3/4", 5.0962, "5 1/8"),
        (8.0, 12.5208, "12 5/8", 6.5104, "6 5/8"),
        (9.0, 13.9350, "14", 7.2175, "7 1/4"),
        (10.0, 15.3492, "15 1/2", 7.9246, "8"),
        (12.0, 18.1777, "18 1/4", 9.3388, "9 3/8"),
        (14.0, 21.0061, "21 1/8", 10.7530, "10 7/8"),
        (16.0, 23.8345, "24", 12.1673, "12 1/4"),
    ] {
        let (long_side, leg) = (nearest(block * 2_f64.sqrt()), nearest(block / 2_f64.sqrt()));
        let side_shape = cut(&Finished::QuarterSquare { long_side });
        let corner_shape = cut(&Finished::HalfSquare { leg });
        assert!((inches(side_shape.cut_width()) - side).abs() < 0.0003, "{block}");
        assert!((inches(corner_shape.cut_width()) - corner).abs() < 0.0003, "{block}");
        let eighth = inch("1/8");
        assert_eq!((long_side + inch("1 1/4")).ceil_to(eighth), inch(side_cut), "{block}");
        assert_eq!((leg + inch("7/8")).ceil_to(eighth), inch(corner_cut), "{block}");
        assert!(side_shape.cut_width() <= inch(side_cut));
        assert!(corner_shape.cut_width() <= inch(corner_cut));
    }
}

/// A quarter-square position for 4 in finished holds four triangles in a square
/// of 5.207107; with 1/4 in margins it needs a run of 5.7071, so seven exact
/// runs fit 40 in and seven printed runs of 5 3/4 do not.
#[test]
fn the_run_of_a_quarter_square_position() {
    let shape = cut(&Finished::QuarterSquare { long_side: inch("4") });
    let run = shape.cut_width() + inch("1/2");
    rounds_up(run, 5.707107);
    assert_eq!(inch("40").whole_runs(run), 7);
    assert_eq!(run.ceil_to(inch("1/8")), inch("5 3/4"));
    assert_eq!(inch("40").whole_runs(inch("5 3/4")), 6);
}
