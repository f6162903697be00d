//! Several patches on one position: the box they share, and that they neither
//! overlap nor stick out of it.

#![allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]

mod common;

use common::{cut, inch, rounds_up, shared_area, trimmed};
use patchlay_measure::Length;
use patchlay_shape::{Angle, Arranged, Arrangement, Finished, Grain, Shape, ShapeError, Tips, arrange};
use proptest::prelude::*;

/// Patches stay in the box, and no two share ground (more than float dust).
fn check(arranged: &Arranged) {
    for patch in &arranged.patches {
        let bounds = patch.outline.bounds();
        assert!(bounds.low.x > -1e-3 && bounds.low.y > -1e-3, "{bounds:?}");
        assert!(bounds.high.x < arranged.width.units() as f64 + 1e-3, "{bounds:?}");
        assert!(bounds.high.y < arranged.height.units() as f64 + 1e-3, "{bounds:?}");
    }
    for (at, one) in arranged.patches.iter().enumerate() {
        for other in &arranged.patches[at + 1..] {
            let shared = shared_area(&one.outline, &other.outline);
            assert!(shared < 1.0, "{shared} square units shared");
        }
    }
}

/// Two half squares share a square of the cut leg, so that two blades and a
/// diagonal cut both: 3.853553 for 3 in finished. They fill it.
#[test]
fn a_pair_of_half_squares_fills_a_square() {
    let shape = cut(&Finished::HalfSquare { leg: inch("3") });
    for (drawn, mirrored) in [(2, 0), (1, 1), (0, 2)] {
        let pair = arrange(&shape, drawn, mirrored, Arrangement::Pair).unwrap();
        rounds_up(pair.width, 3.853553);
        assert_eq!(pair.width, pair.height);
        check(&pair);
        let area: f64 = pair.patches.iter().map(|patch| patch.outline.area()).sum();
        assert!((area / 8128.0 / 8128.0 - 3.853553 * 3.853553).abs() < 1e-5);
        for patch in &pair.patches {
            let grain = patch.finished.grain(patchlay_shape::Turn::NONE);
            assert_eq!(grain.iter().filter(|&&side| side == Grain::Straight).count(), 2);
        }
    }
}

/// Two half rectangles of one hand share a rectangle of the cut legs; two hands
/// cannot.
#[test]
fn a_pair_of_half_rectangles_is_of_one_hand() {
    let shape = cut(&Finished::HalfRectangle { width: inch("2"), height: inch("4") });
    for (drawn, mirrored) in [(2, 0), (0, 2)] {
        let pair = arrange(&shape, drawn, mirrored, Arrangement::Pair).unwrap();
        rounds_up(pair.width, 2.654508);
        rounds_up(pair.height, 5.309017);
        assert!(pair.patches.iter().all(|patch| patch.mirrored == (mirrored == 2)));
        check(&pair);
    }
    assert_eq!(arrange(&shape, 1, 1, Arrangement::Pair), Err(ShapeError::MixedHands));
    let row = arrange(&shape, 1, 1, Arrangement::Row { gap: inch("1/2") }).unwrap();
    assert_eq!(row.width, shape.cut_width() * 2 + inch("1/2"));
    assert_eq!(row.patches.iter().map(|patch| patch.mirrored).collect::<Vec<_>>(), [false, true]);
    check(&row);
}

/// Four quarter squares share a square of the cut long side: f + s(2+2√2),
/// 5.207107 for 4 in finished, long sides on the straight grain.
#[test]
fn four_quarter_squares_fill_a_square() {
    let shape = cut(&Finished::QuarterSquare { long_side: inch("4") });
    for drawn in 0..=4 {
        let four = arrange(&shape, drawn, 4 - drawn, Arrangement::Four).unwrap();
        rounds_up(four.width, 5.207107);
        assert_eq!(four.width, four.height);
        check(&four);
        let area: f64 = four.patches.iter().map(|patch| patch.outline.area()).sum();
        assert!((area / 8128.0 / 8128.0 - 5.207107 * 5.207107).abs() < 1e-5);
        for patch in &four.patches {
            let grain = patch.finished.grain(patchlay_shape::Turn::NONE);
            assert_eq!(grain.iter().filter(|&&side| side == Grain::Straight).count(), 1);
        }
    }
}

/// A half square is also a quarter of a larger square: four legs of 3 in share
/// a square of the cut long side, 5.449747.
#[test]
fn four_half_squares_share_the_square_of_their_long_side() {
    let shape = cut(&Finished::HalfSquare { leg: inch("3") });
    for drawn in 0..=4 {
        let four = arrange(&shape, drawn, 4 - drawn, Arrangement::Four).unwrap();
        rounds_up(four.width, 5.449747);
        check(&four);
    }
}

/// The blade on the diagonal is common, so trimmed tips share the same square.
#[test]
fn trimmed_tips_keep_the_shared_square() {
    for kind in [Finished::HalfSquare { leg: inch("3") }, Finished::QuarterSquare { long_side: inch("4") }] {
        let (full, short) = (cut(&kind), trimmed(&kind));
        for (count, how) in [(2, Arrangement::Pair), (4, Arrangement::Four)] {
            let one = arrange(&full, count, 0, how).unwrap();
            let other = arrange(&short, count, 0, how).unwrap();
            assert_eq!((one.width, one.height), (other.width, other.height));
            check(&other);
            // The finished patches lie in the same places.
            for (a, b) in one.patches.iter().zip(&other.patches) {
                for (p, q) in a.finished.corners().iter().zip(b.finished.corners()) {
                    assert!((p.x - q.x).abs() < 1e-6 && (p.y - q.y).abs() < 1e-6);
                }
            }
        }
    }
}

#[test]
fn rows_and_grids_have_their_gaps() {
    let shape = cut(&Finished::Square { side: inch("2") });
    let row = arrange(&shape, 3, 0, Arrangement::Row { gap: inch("3/4") }).unwrap();
    assert_eq!((row.width, row.height), (inch("9"), inch("2 1/2")));
    let grid = Arrangement::Grid { columns: 3, rows: 2, gap: inch("1/4") };
    let grid = arrange(&shape, 4, 2, grid).unwrap();
    assert_eq!((grid.width, grid.height), (inch("8"), inch("5 1/4")));
    assert_eq!(grid.patches.iter().filter(|patch| patch.mirrored).count(), 2);
    check(&row);
    check(&grid);
}

#[test]
fn counts_that_do_not_suit_are_refused_by_name() {
    let square = cut(&Finished::Square { side: inch("2") });
    let half = cut(&Finished::HalfSquare { leg: inch("2") });
    let gap = Length::ZERO;
    for (shape, drawn, mirrored, how, error) in [
        (&square, 0, 0, Arrangement::Single, ShapeError::CountOutOfRange { count: 0 }),
        (&square, 900, 101, Arrangement::Row { gap }, ShapeError::CountOutOfRange { count: 1001 }),
        (&square, 2, 0, Arrangement::Single, ShapeError::CountMismatch { holds: 1, count: 2 }),
        (&half, 3, 0, Arrangement::Pair, ShapeError::CountMismatch { holds: 2, count: 3 }),
        (&half, 1, 1, Arrangement::Four, ShapeError::CountMismatch { holds: 4, count: 2 }),
        (
            &square,
            5,
            0,
            Arrangement::Grid { columns: u32::MAX, rows: u32::MAX, gap },
            ShapeError::CountMismatch { holds: u64::from(u32::MAX).pow(2), count: 5 },
        ),
        (&square, 2, 0, Arrangement::Row { gap: inch("1") * -1 }, ShapeError::NegativeGap),
        (&square, 2, 0, Arrangement::Pair, ShapeError::DoesNotShare { which: "right triangles" }),
    ] {
        assert_eq!(arrange(shape, drawn, mirrored, how), Err(error.clone()));
        assert!(!error.problem().is_empty() && !error.hint().is_empty());
    }
}

proptest! {
    #[test]
    fn nothing_overlaps_and_nothing_sticks_out(
        a in 32_i64..640, b in 32_i64..640, which in 0_u8..9, tips: bool, gap in 0_i64..64,
        drawn in 0_u32..4, mirrored in 1_u32..4, degrees in 25_i32..155,
    ) {
        let (a, b) = (Length::from_64ths(a), Length::from_64ths(b));
        let angle = Angle::from_degrees(degrees);
        let kind = match which {
            0 => Finished::HalfSquare { leg: a },
            1 => Finished::QuarterSquare { long_side: a },
            2 => Finished::HalfRectangle { width: a + b, height: a.max(b) },
            3 => Finished::Equilateral { side: a },
            4 => Finished::Diamond { side: a, angle },
            5 => Finished::Parallelogram { base: a, side: b, angle },
            6 => Finished::Trapezoid { bottom: a + b, top: a, height: b, inset: Some(b) },
            7 => Finished::Octagon { side: a },
            _ => Finished::Kite { width: a, height: a + b, shoulder: a },
        };
        let tips = if tips { Tips::Trimmed } else { Tips::Untrimmed };
        let shape = Shape::new(&kind, inch("1/4"), tips);
        prop_assume!(shape.is_ok());
        let shape = shape.unwrap();
        let gap = Length::from_64ths(gap);
        check(&arrange(&shape, drawn, mirrored, Arrangement::Row { gap }).unwrap());
        let (columns, rows) = (drawn + mirrored, 2);
        let grid = Arrangement::Grid { columns, rows, gap };
        check(&arrange(&shape, drawn * 2, mirrored * 2, grid).unwrap());
        if which < 3 {
            check(&arrange(&shape, 2, 0, Arrangement::Pair).unwrap());
            check(&arrange(&shape, 0, 2, Arrangement::Pair).unwrap());
        }
        if which < 2 {
            check(&arrange(&shape, drawn, 4 - drawn, Arrangement::Four).unwrap());
        }
    }
}
