//! Finished areas of the patches of traditional blocks add up to the block.
//! Piece counts by construction of public-domain blocks, sums derived by exact
//! geometry; none come from this program.

#![allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]

mod common;

use common::{cut, inch, inches, nearest, square_inches};
use patchlay_measure::{Area, Length};
use patchlay_shape::{Angle, Finished};

fn finished(kind: &Finished) -> Area {
    cut(kind).areas().finished
}

fn square(side: &str) -> Area {
    finished(&Finished::Square { side: inch(side) })
}

fn half_square(leg: &str) -> Area {
    finished(&Finished::HalfSquare { leg: inch(leg) })
}

fn quarter_square(long_side: &str) -> Area {
    finished(&Finished::QuarterSquare { long_side: inch(long_side) })
}

fn bar(width: &str, height: &str) -> Area {
    finished(&Finished::Rectangle { width: inch(width), height: inch(height) })
}

fn block(side: &str) -> Area {
    inch(side) * inch(side)
}

/// Cells of 3 in (2 in for the four-by-four and 1 in for the seven-by-seven).
#[test]
fn blocks_of_squares_and_triangles_add_up_exactly() {
    let (s, t, q) = (square("3"), half_square("3"), quarter_square("3"));
    for (name, sum, side) in [
        ("Four Patch", s * 4, "6"),
        ("Nine Patch", s * 9, "9"),
        ("Pinwheel", t * 8, "6"),
        ("Hourglass", q * 4, "3"),
        ("Shoo Fly", s * 5 + t * 8, "9"),
        ("Friendship Star", s * 5 + t * 8, "9"),
        ("Ohio Star", s * 5 + q * 16, "9"),
        ("Churn Dash", s + t * 8 + bar("1 1/2", "3") * 8, "9"),
        ("Jacob's Ladder", square("1 1/2") * 20 + t * 8, "9"),
    ] {
        assert_eq!(sum, block(side), "{name}");
    }
    let geese = quarter_square("4") * 4 + half_square("2") * 8;
    assert_eq!(square("4") + geese + square("2") * 4, block("8"), "Sawtooth Star");
    let paws = square("2") * 4 + half_square("1") * 32 + square("1") * 4;
    assert_eq!(paws + bar("1", "3") * 4 + square("1"), block("7"), "Bear's Paw");
}

/// One round: centre B/√2 and four corners; two rounds (Economy, B = 6): centre
/// 3 (cut 3 1/2), inner triangles with a long side of 3 (the square for two is
/// cut 2.9749 exactly, 3 by the rule), outer with legs of 3 (cut 3 7/8 by the
/// rule): 9 + 9 + 18 = 36.
#[test]
fn square_in_a_square_and_economy() {
    let inner = Finished::HalfSquare { leg: nearest(3.0 / 2_f64.sqrt()) };
    let outer = Finished::HalfSquare { leg: inch("3") };
    assert_eq!(cut(&Finished::Square { side: inch("3") }).cut_width(), inch("3 1/2"));
    assert!((inches(cut(&inner).cut_width()) - 2.9749).abs() < 0.0002);
    assert!(cut(&outer).cut_width() <= inch("3 7/8"));
    let parts = [square("3"), finished(&inner) * 4, finished(&outer) * 4];
    for (part, share) in parts.iter().zip([9.0, 9.0, 18.0]) {
        assert!((square_inches(*part) - share).abs() < 0.0005);
    }
    let centre = finished(&Finished::Square { side: nearest(6.0 / 2_f64.sqrt()) });
    assert!((square_inches(centre + half_square("3") * 4) - 36.0).abs() < 0.001);
}

/// Eight-point (LeMoyne) star: a = B/(2+√2), 3.514719 for B = 12 and 2.343146
/// for B = 8; 8 diamonds of 45°, 4 squares of a, 4 triangles with legs of a:
/// 8a² sin 45° + 4a² + 4 a²/2 = B².
#[test]
fn eight_point_star_adds_up() {
    for (side, a) in [(12.0, 3.514719), (8.0, 2.343146)] {
        let a = nearest(a);
        let diamond = Finished::Diamond { side: a, angle: Angle::from_degrees(45) };
        // The four triangles fill the middles of the sides: hypotenuse on the
        // outside, legs a.
        let sum = finished(&diamond) * 8
            + finished(&Finished::Square { side: a }) * 4
            + finished(&Finished::HalfSquare { leg: a }) * 4;
        // Half a unit in a is up to 0.005 sq in in the sum.
        assert!((square_inches(sum) - side * side).abs() < 0.006, "{side}");
    }
}

/// Log Cabin: centre c, n rounds of logs w: round k has logs S, S+w, S+w, S+2w
/// with S = c + 2(k-1)w; the block is c + 2nw.
#[test]
fn log_cabin_adds_up() {
    let (centre, w) = (inch("2"), inch("1 1/4"));
    let mut sum = finished(&Finished::Square { side: centre });
    for round in 1..=4 {
        let start = centre + w * (2 * (round - 1));
        for log in [start, start + w, start + w, start + w * 2] {
            sum += finished(&Finished::Rectangle { width: log, height: w });
        }
        let side = centre + w * (2 * round);
        assert_eq!(sum, side * side, "round {round}");
    }
}

/// Drunkard's Path: 16 convex and 16 concave patches fill a block of four by
/// four cells; one of each fills a cell, whatever the radius.
#[test]
fn drunkards_path_adds_up() {
    for (radius, outer) in [("2", "3"), ("2 1/2", "3 1/2"), ("1 1/4", "4")] {
        let convex = finished(&Finished::ConvexQuarter { radius: inch(radius) });
        let concave = finished(&Finished::ConcaveQuarter { radius: inch(radius), outer: inch(outer) });
        let quarter_disc = std::f64::consts::FRAC_PI_4 * inches(inch(radius)).powi(2);
        assert!((square_inches(convex) - quarter_disc).abs() < 1e-7);
        let block = inch(outer) * 4;
        let missing = (convex + concave) * 16 - block * block;
        // Each area is rounded to the nearest square unit.
        assert!(missing.units().abs() <= 16, "{radius}: {missing:?}");
    }
}

/// Six equilateral triangles, or three diamonds of 60°, fill a hexagon; four
/// corner triangles and an octagon fill a square.
#[test]
fn hexagons_and_octagons_are_made_of_triangles() {
    let side = inch("2");
    let hexagon = finished(&Finished::Hexagon { side });
    let near = |one: Area, other: Area| (one - other).units().abs() <= 4;
    assert!(near(hexagon, finished(&Finished::Equilateral { side }) * 6));
    let diamond = Finished::Diamond { side, angle: Angle::from_degrees(60) };
    assert!(near(hexagon, finished(&diamond) * 3));
    // 6 · √3/4 · 2² and 2(1+√2) · 2².
    assert!((square_inches(hexagon) - 10.392305).abs() < 1e-6);
    let octagon = finished(&Finished::Octagon { side });
    assert!((square_inches(octagon) - 19.313708).abs() < 1e-6);
}

/// Kites and trapezoids by hand: half the product of the diagonals; the mean of
/// the parallel sides times the height; base times side times sine.
#[test]
fn slanted_shapes_have_their_hand_areas() {
    let kite = Finished::Kite { width: inch("3"), height: inch("4"), shoulder: inch("1") };
    assert_eq!(square_inches(finished(&kite)), 6.0);
    let trapezoid = |inset: Option<Length>| Finished::Trapezoid {
        bottom: inch("5"),
        top: inch("3"),
        height: inch("2"),
        inset,
    };
    assert_eq!(square_inches(finished(&trapezoid(None))), 8.0);
    assert_eq!(square_inches(finished(&trapezoid(Some(inch("1/2"))))), 8.0);
    let slanted =
        Finished::Parallelogram { base: inch("4"), side: inch("3"), angle: Angle::from_degrees(30) };
    assert!((square_inches(finished(&slanted)) - 6.0).abs() < 1e-7);
}
