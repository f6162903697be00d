//! Turned rectangles on a board, against hand geometry and plain counting.

mod common;

use common::inch;
use patchlay_measure::Length;
use patchlay_shape::Turn;
use patchlay_shape::board::{Fixed, PlacedBox, Rect, Span, share_ground};
use proptest::prelude::*;

/// A box in inches: centre, turn in degrees, size.
fn placed(x: i64, y: i64, degrees: i32, width: &str, length: &str) -> PlacedBox {
    PlacedBox {
        anchor: (x * 2 * 8128, y * 2 * 8128),
        turn: Turn::from_degrees(degrees),
        offset: (0, 0),
        width: inch(width),
        length: inch(length),
    }
}

fn inches(value: Fixed) -> f64 {
    value.units_f64() / 8128.0
}

#[test]
fn an_unturned_box_is_where_it_was_put() {
    let square = placed(10, 6, 0, "4", "3");
    assert_eq!(
        square.u_range(),
        Span::between(Fixed::from_length(inch("8")), Fixed::from_length(inch("12")))
    );
    assert_eq!(square.v_range().low.rounded_down(), inch("4 1/2"));
    assert!(square.inside(inch("12"), inch("7 1/2")));
    assert!(!square.inside(inch("12") - Length::UNIT, inch("7 1/2")));
    assert!(!square.inside(inch("12"), inch("7 1/2") - Length::UNIT));
    // Odd sizes have their centre on a half unit.
    let odd = PlacedBox {
        anchor: (7, 7),
        turn: Turn::NONE,
        offset: (0, 0),
        width: Length::from_units(7),
        length: Length::from_units(7),
    };
    assert_eq!(odd.u_range().low, Fixed::ZERO);
    assert!(odd.inside(Length::from_units(7), Length::from_units(7)));
}

#[test]
fn quarter_turns_are_exact() {
    let upright = placed(10, 10, 0, "6", "2").rect();
    for degrees in [90, 180, 270] {
        let turned = placed(10, 10, degrees, "6", "2").rect();
        let seen = turned.seen_from(Turn::NONE);
        let expected = if degrees == 180 { upright } else { placed(10, 10, 0, "2", "6").rect() };
        assert_eq!(seen, expected, "{degrees}");
        assert_eq!(seen.seen_from(turned.turn), turned);
    }
}

/// A 4 in square on its corner reaches 2√2 = 2.828427 from its centre.
#[test]
fn a_square_on_its_corner() {
    let diamond = placed(10, 10, 45, "4", "4");
    let seen = diamond.rect().seen_from(Turn::NONE);
    assert!((inches(seen.u.low) - (10.0 - 2.828427)).abs() < 1e-6);
    assert!((inches(seen.v.high) - (10.0 + 2.828427)).abs() < 1e-6);
    assert!(placed(3, 3, 45, "4", "4").inside(inch("6"), inch("6")));
    assert!(!placed(3, 2, 45, "4", "4").inside(inch("6"), inch("6")));
    // Counter-clockwise: the first corner (low u, low v) points to y = 0.
    let [first, second, ..] = diamond.corners();
    assert!((inches(first.0) - 10.0).abs() < 1e-6 && inches(first.1) < 7.2);
    assert!(inches(second.0) > 12.8 && (inches(second.1) - 10.0).abs() < 1e-6);
}

#[test]
fn touching_is_not_overlapping() {
    let left = placed(2, 2, 0, "4", "4");
    assert!(!left.overlaps(&placed(6, 2, 0, "4", "4")));
    assert!(!left.overlaps(&placed(6, 6, 0, "4", "4")));
    let nearer = PlacedBox { anchor: (12 * 8128 - 2, 4 * 8128), ..placed(6, 2, 0, "4", "4") };
    assert!(left.overlaps(&nearer), "one unit");
    // On its corner, the bounding boxes overlap and the squares do not.
    let corner = placed(6, 6, 45, "4", "4");
    assert!(left.rect().seen_from(Turn::NONE).u.meets(&corner.rect().seen_from(Turn::NONE).u));
    assert!(!left.overlaps(&corner));
    assert!(left.overlaps(&placed(5, 5, 45, "4", "4")));
    // Two turned alike that share a side.
    let one = placed(10, 10, 30, "4", "4");
    let two = PlacedBox { offset: (8 * 8128, 0), ..one };
    assert!(!one.overlaps(&two));
    assert!(one.overlaps(&PlacedBox { offset: (8 * 8128 - 2, 0), ..one }));
}

#[test]
fn gaps_round_down_and_extents_up_with_snapping() {
    let length = Length::from_units;
    let fixed = Fixed::from_steps;
    let unit = 1 << 20;
    assert_eq!(fixed(5 * unit).rounded_down(), length(5));
    assert_eq!(fixed(5 * unit - 1_024).rounded_down(), length(5), "snapped");
    assert_eq!(fixed(5 * unit - 1_025).rounded_down(), length(4));
    assert_eq!(fixed(5 * unit + 1_024).rounded_up(), length(5), "snapped");
    assert_eq!(fixed(5 * unit + 1_025).rounded_up(), length(6));
    assert_eq!(fixed(-5 * unit + 1_025).rounded_up(), length(-4));
    assert_eq!(fixed(-5 * unit + 1_025).rounded_down(), length(-5));
    let (one, two) = (placed(2, 2, 0, "4", "4").u_range(), placed(7, 2, 0, "4", "4").u_range());
    assert_eq!(one.gap_high(&two), inch("1"));
    assert_eq!(two.gap_low(&one), inch("1"));
    assert_eq!(one.gap_low(&two), inch("9") * -1);
    assert_eq!(one.cover(&two).extent(), inch("9"));
    assert_eq!(one.grown(inch("1/4"), inch("1/2")).extent(), inch("4 3/4"));
    assert!(one.holds(&one) && !one.meets(&two));
}

/// Three bars along the sides of a triangle overlap two by two at its corners
/// and have nothing in common; moved through one point they do.
#[test]
fn three_bars_overlap_in_pairs_only() {
    let bar = |degrees: i32, offset: &str| PlacedBox {
        anchor: (20 * 8128, 20 * 8128),
        turn: Turn::from_degrees(degrees),
        offset: (0, -2 * inch(offset).units()),
        width: inch("16"),
        length: inch("1"),
    };
    let ring = [0, 120, 240].map(|degrees| bar(degrees, "2").rect());
    for (one, other) in [(0, 1), (1, 2), (0, 2)] {
        assert!(ring[one].overlaps(&ring[other]));
        assert!(share_ground(&[ring[one], ring[other]]));
    }
    assert!(!share_ground(&ring));
    assert!(share_ground(&[0, 120, 240].map(|degrees| bar(degrees, "1/4").rect())));
    assert!(share_ground(&[]));
    let touching = [placed(2, 2, 0, "4", "4").rect(), placed(6, 2, 0, "4", "4").rect()];
    assert!(!share_ground(&touching));
}

proptest! {
    /// Boxes of one grid have exact distances whatever the turn and anchor.
    #[test]
    fn distances_in_a_grid_are_exact(
        x in -1_000_000_i64..1_000_000, y in -1_000_000_i64..1_000_000,
        turn in 0_i32..36_000, width in 1_i64..100_000, length in 1_i64..100_000,
        step in 0_i64..100_000,
    ) {
        let one = PlacedBox {
            anchor: (x, y),
            turn: Turn::from_hundredths(turn),
            offset: (-step, 0),
            width: Length::from_units(width),
            length: Length::from_units(length),
        };
        let two = PlacedBox { offset: (step, 0), ..one };
        prop_assert_eq!(one.u_range().gap_high(&two.u_range()).units(), step - width);
        prop_assert_eq!(two.u_range().gap_low(&one.u_range()).units(), step - width);
        prop_assert_eq!(one.rect().width().units(), width);
        prop_assert_eq!(one.rect().length().units(), length);
        prop_assert_eq!(one.overlaps(&two), step < width);
        prop_assert_eq!(share_ground(&[one.rect(), two.rect()]), step < width);
        prop_assert_eq!(one.rect().cover(&two.rect()).width().units(), step + width);
        // Another grid of the same turn and centre is a thousandth off at most.
        prop_assert!(one.rect().covers(&one.rect()));
    }

    /// Overlap by separating sides agrees with finding common ground by
    /// clipping, is symmetric, and agrees with a point seen to lie in both.
    #[test]
    fn two_ways_to_overlap_agree(
        x in -60_000_i64..60_000, y in -60_000_i64..60_000, one in 0_i32..36_000,
        two in 0_i32..36_000, width in 1_000_i64..40_000, length in 1_000_i64..40_000,
        spots in proptest::collection::vec((-500_i64..500, -500_i64..500), 20),
    ) {
        let a = PlacedBox {
            anchor: (0, 0), turn: Turn::from_hundredths(one), offset: (0, 0),
            width: Length::from_units(30_000), length: Length::from_units(12_000),
        };
        let b = PlacedBox {
            anchor: (x, y), turn: Turn::from_hundredths(two), offset: (0, 0),
            width: Length::from_units(width), length: Length::from_units(length),
        };
        let overlap = a.overlaps(&b);
        prop_assert_eq!(overlap, b.overlaps(&a));
        prop_assert_eq!(overlap, share_ground(&[a.rect(), b.rect()]));
        // Floats and the standard library's sine: an independent look.
        let holds = |rect: &PlacedBox, px: f64, py: f64| {
            let turn = f64::from(rect.turn.hundredths()).to_radians() / 100.0;
            let (dx, dy) = (px - rect.anchor.0 as f64 / 2.0, py - rect.anchor.1 as f64 / 2.0);
            let (u, v) = (dx * turn.cos() + dy * turn.sin(), dy * turn.cos() - dx * turn.sin());
            u.abs() < rect.width.units() as f64 / 2.0 - 0.1
                && v.abs() < rect.length.units() as f64 / 2.0 - 0.1
        };
        for (p, q) in spots {
            // Spots along b's box, most likely to be in both.
            let (px, py) = (x as f64 / 2.0 + p as f64 * 40.0, y as f64 / 2.0 + q as f64 * 40.0);
            prop_assert!(overlap || !(holds(&a, px, py) && holds(&b, px, py)));
        }
    }

    /// Seen from any axes, a rectangle's cover holds its corners and is no
    /// larger than it must be.
    #[test]
    fn a_cover_is_tight(
        x in 0_i64..200_000, y in 0_i64..200_000, turn in 0_i32..36_000, view in 0_i32..36_000,
        width in 1_i64..90_000, length in 1_i64..90_000,
    ) {
        let placed = PlacedBox {
            anchor: (x, y), turn: Turn::from_hundredths(turn), offset: (3, -5),
            width: Length::from_units(width), length: Length::from_units(length),
        };
        let view = Turn::from_hundredths(view);
        let rect = placed.rect();
        let seen = rect.seen_from(view);
        prop_assert!(seen.covers(&rect));
        let by = f64::from(turn - view.hundredths()).to_radians() / 100.0;
        let reach = width as f64 * by.cos().abs() + length as f64 * by.sin().abs();
        prop_assert!((seen.u.high - seen.u.low).units_f64() - reach < 1e-4);
        prop_assert!(reach - (seen.u.high - seen.u.low).units_f64() < 1e-4);
    }
}

#[test]
fn a_mat_covers_what_lies_on_it() {
    let mat = Rect::at_origin(inch("10"), inch("6"));
    assert!(mat.covers(&placed(5, 3, 0, "10", "6").rect()));
    assert!(mat.covers(&placed(5, 3, 45, "4", "4").rect()));
    assert!(!mat.covers(&placed(5, 3, 45, "5", "5").rect()));
    assert!(mat.grown(inch("1"), inch("1"), inch("1"), inch("1")).covers(&placed(5, 3, 45, "5", "5").rect()));
}
