//! Which shapes differ from their mirror image, and how edges lie to the
//! threads. All by geometry.

mod common;

use common::{cut, inch};
use patchlay_measure::Length;
use patchlay_shape::{Angle, Finished, Grain, Shape, Tips, Turn};
use proptest::prelude::*;

fn handed(kind: &Finished) -> bool {
    cut(kind).handed()
}

fn polygon(corners: &[(i64, i64)]) -> Finished {
    let unit = |units: i64| Length::from_units(units);
    Finished::Polygon { corners: corners.iter().map(|&(x, y)| (unit(x), unit(y))).collect() }
}

#[test]
fn symmetric_kinds_have_no_hand() {
    let (a, b) = (inch("3"), inch("2"));
    for kind in [
        Finished::Square { side: a },
        Finished::Rectangle { width: a, height: b },
        Finished::HalfSquare { leg: a },
        Finished::QuarterSquare { long_side: a },
        Finished::HalfRectangle { width: a, height: a },
        Finished::Equilateral { side: a },
        Finished::Diamond { side: a, angle: Angle::from_degrees(45) },
        Finished::Parallelogram { base: a, side: a, angle: Angle::from_degrees(45) },
        Finished::Parallelogram { base: a, side: b, angle: Angle::RIGHT },
        Finished::Trapezoid { bottom: a, top: b, height: b, inset: None },
        Finished::Trapezoid { bottom: a, top: b, height: b, inset: Some(inch("1/2")) },
        Finished::Trapezoid { bottom: inch("5"), top: inch("5"), height: inch("4"), inset: Some(a) },
        Finished::Kite { width: b, height: a, shoulder: inch("1") },
        Finished::Hexagon { side: a },
        Finished::Octagon { side: a },
        Finished::ConvexQuarter { radius: a },
        Finished::ConcaveQuarter { radius: b, outer: a },
    ] {
        assert!(!handed(&kind), "{kind:?}");
    }
}

#[test]
fn slanted_kinds_have_a_hand() {
    let (a, b) = (inch("3"), inch("2"));
    for kind in [
        Finished::HalfRectangle { width: a, height: b },
        Finished::HalfRectangle { width: a, height: a + Length::UNIT },
        Finished::Parallelogram { base: a, side: b, angle: Angle::from_degrees(45) },
        Finished::Trapezoid { bottom: a, top: b, height: b, inset: Some(inch("0")) },
        Finished::Trapezoid { bottom: a, top: a, height: b, inset: Some(inch("1")) },
    ] {
        assert!(handed(&kind), "{kind:?}");
    }
}

/// Free shapes are judged by their corners, to within 4 units.
#[test]
fn free_shapes_are_judged_by_their_corners() {
    // A square with one corner cut off, an arrow head, an L with equal arms.
    assert!(!handed(&polygon(&[(0, 0), (30_000, 0), (30_000, 20_000), (20_000, 30_000), (0, 30_000)])));
    let arrow = [(0, 0), (20_000, 8_000), (40_000, 0), (20_000, 40_000)];
    assert!(!handed(&polygon(&arrow)));
    let arms = |long: i64| {
        polygon(&[(0, 0), (long, 0), (long, 15_000), (15_000, 15_000), (15_000, 40_000), (0, 40_000)])
    };
    assert!(!handed(&arms(40_000)));
    assert!(!handed(&arms(40_004)), "within the tolerance");
    assert!(handed(&arms(40_040)), "40 units spread over the corners are more than 4 at one");
    assert!(handed(&arms(40_100)));
    assert!(handed(&arms(50_000)));
    // Turned half round it is itself, yet it has no mirror line.
    let pin = [(0, 0), (30_000, 0), (40_000, 20_000), (10_000, 20_000)];
    assert!(handed(&polygon(&pin)));
    // Listing the corners the other way round changes nothing.
    let mut back = pin;
    back.reverse();
    assert!(handed(&polygon(&back)));
}

#[test]
fn the_grain_turns_with_the_placing() {
    use Grain::{Bias, Curve, Straight};
    let half = cut(&Finished::HalfSquare { leg: inch("3") });
    assert_eq!(half.grain(Turn::NONE), [Straight, Bias, Straight]);
    assert_eq!(half.grain(Turn::QUARTER), [Straight, Bias, Straight]);
    assert_eq!(half.grain(Turn::from_degrees(45)), [Bias, Straight, Bias]);
    let quarter = cut(&Finished::QuarterSquare { long_side: inch("3") });
    assert_eq!(quarter.grain(Turn::NONE), [Straight, Bias, Bias]);
    assert_eq!(quarter.grain(Turn::from_degrees(135)), [Bias, Straight, Straight]);
    let triangle = cut(&Finished::Equilateral { side: inch("3") });
    assert_eq!(triangle.grain(Turn::NONE), [Straight, Bias, Bias]);
    // Its sides run at 0, 120 and 240 degrees; the last comes to 270.
    assert_eq!(triangle.grain(Turn::from_degrees(30)), [Bias, Bias, Straight]);
    let pie = cut(&Finished::ConvexQuarter { radius: inch("3") });
    assert_eq!(pie.grain(Turn::HALF), [Straight, Curve, Straight]);
    let square = cut(&Finished::Square { side: inch("3") });
    assert_eq!(square.grain(Turn::from_hundredths(20)), [Straight; 4], "within a quarter degree");
    assert_eq!(square.grain(Turn::from_degrees(1)), [Bias; 4]);
}

proptest! {
    /// Two ways to decide: the exact sizes of a named kind, and the corners of
    /// the same outline given as a free shape, turned anyhow.
    #[test]
    fn corners_agree_with_exact_sizes(
        a in 64_i64..640, b in 64_i64..640, same: bool, degrees in 20_i32..160,
        which in 0_u8..4, turn in 0_i32..36_000,
    ) {
        let a64 = Length::from_64ths(a);
        let b64 = if same { a64 } else { Length::from_64ths(b) };
        let angle = Angle::from_degrees(degrees);
        let kind = match which {
            0 => Finished::HalfRectangle { width: a64, height: b64 },
            1 => Finished::Parallelogram { base: a64, side: b64, angle },
            2 => Finished::Trapezoid { bottom: a64 + b64, top: a64, height: b64, inset: None },
            _ => Finished::Trapezoid {
                bottom: a64 + b64, top: a64, height: b64, inset: Some(inch("1/4")),
            },
        };
        let shape = Shape::new(&kind, Length::ZERO, Tips::Untrimmed);
        prop_assume!(shape.is_ok());
        let shape = shape.expect("assumed");
        let corners = shape.finished().turned(Turn::from_hundredths(turn)).corners();
        let unit = |x: f64| Length::from_units(x.round() as i64);
        let free = Finished::Polygon {
            corners: corners.iter().map(|p| (unit(p.x), unit(p.y))).collect(),
        };
        let free = Shape::new(&free, Length::ZERO, Tips::Untrimmed).expect("a turned outline");
        // Sizes that differ by 1/64 in may lie within the tolerance of 4 units
        // once spread over all corners.
        prop_assume!(same || (a - b).abs() > 4);
        prop_assume!(degrees == 90 || (degrees - 90).abs() > 4);
        let inset = (a64 + b64 - a64) - inch("1/2");
        prop_assume!(which < 3 || inset == Length::ZERO || inset.units().abs() > 600);
        prop_assert_eq!(free.handed(), shape.handed(), "{:?}", kind);
    }
}
