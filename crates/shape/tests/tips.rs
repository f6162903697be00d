//! Trimmed tips, against figures worked out by hand from the definition (s =
//! 1/4 in). That trimmed triangles match the cut square or rectangle they are
//! sewn into is common practice, no source.

mod common;

use common::{cut, inch, inches, is_area, rounds_up, trimmed};
use patchlay_shape::{Angle, Edge, Finished};

/// A 45° tip beyond the trimming line is a triangle with two sides of s√2: s²,
/// so two of them are 0.125 sq in. The trimmed legs are f + 1/2.
#[test]
fn half_squares_match_the_cut_square() {
    let kind = Finished::HalfSquare { leg: inch("3") };
    let (full, short) = (cut(&kind), trimmed(&kind));
    assert_eq!((short.cut_width(), short.cut_height()), (inch("3 1/2"), inch("3 1/2")));
    is_area(short.areas().tips, 0.125);
    is_area(full.areas().tips, 0.125);
    is_area(full.areas().cut, 7.424937);
    is_area(short.areas().cut, 7.299937);
    is_area(short.areas().finished, 4.5);
    is_area(short.areas().seam, 2.799937);
    assert_eq!(short.cut().edges().len(), 5);
}

/// The long side of a trimmed quarter square is f + 1/2; the right angle at the
/// top keeps its mitre.
#[test]
fn quarter_squares_match_the_cut_edge() {
    let kind = Finished::QuarterSquare { long_side: inch("4") };
    let short = trimmed(&kind);
    assert_eq!(short.cut_width(), inch("4 1/2"));
    rounds_up(short.cut_height(), 2.603553);
    is_area(short.areas().tips, 0.125);
    // (5.207107²)/4 less the tips.
    is_area(short.areas().cut, 6.778490 - 0.125);
}

/// 2 x 4: the tip at the far end of a leg of length w is cut square to it at
/// w + s. Untrimmed it reaches w + s(w+d)/h, d = √20, so the parts cut off are
/// right triangles of length s((w+d)/h - 1) and (its slope) h/w or w/h.
#[test]
fn half_rectangles_match_the_cut_rectangle() {
    let kind = Finished::HalfRectangle { width: inch("2"), height: inch("4") };
    let short = trimmed(&kind);
    assert_eq!((short.cut_width(), short.cut_height()), (inch("2 1/2"), inch("4 1/2")));
    let d = 20_f64.sqrt();
    let (x, y) = (0.25 * ((2.0 + d) / 4.0 - 1.0), 0.25 * ((4.0 + d) / 2.0 - 1.0));
    is_area(short.areas().tips, x * x * 2.0 / 2.0 + y * y / 2.0 / 2.0);
}

/// At 60° the tip is cut square to itself one seam beyond the corner: what goes
/// is a triangle of height s and half-angle 30°, s²/√3; three are 0.108253. The
/// height is √3 f/2 + 2s; the blunt ends reach 2s/√3 past each corner.
#[test]
fn equilateral_triangles_are_blunted_square_to_the_tip() {
    let short = trimmed(&Finished::Equilateral { side: inch("2") });
    is_area(short.areas().tips, 0.108253);
    rounds_up(short.cut_height(), 1.732050808 + 0.5);
    rounds_up(short.cut_width(), 2.0 + 4.0 * 0.25 / 1.732050808);
    assert_eq!(short.cut().edges().len(), 6);
}

/// A 45° diamond loses (4 - 2√2)s² at each of its two sharp ends and nothing at
/// the blunt ones: by hand, the tip lies s/sin 22.5° beyond the corner, the
/// clips meet s/sin 67.5° beyond it and leave the raw edges at a distance
/// s cos 45°/cos 22.5° from the axis.
#[test]
fn diamonds_lose_two_tips() {
    let kind = Finished::Diamond { side: inch("3"), angle: Angle::from_degrees(45) };
    let short = trimmed(&kind);
    is_area(short.areas().tips, 2.0 * (4.0 - 8_f64.sqrt()) / 16.0);
    assert_eq!(short.cut().edges().len(), 8);
    rounds_up(short.cut_height(), 3.0 * std::f64::consts::FRAC_1_SQRT_2 + 0.5);
}

#[test]
fn blunt_and_curved_corners_keep_their_mitres() {
    for kind in [
        Finished::Square { side: inch("3") },
        Finished::Rectangle { width: inch("3"), height: inch("1") },
        Finished::Hexagon { side: inch("1") },
        Finished::Octagon { side: inch("1") },
        Finished::ConvexQuarter { radius: inch("3") },
        Finished::ConcaveQuarter { radius: inch("3"), outer: inch("4") },
    ] {
        let (full, short) = (cut(&kind), trimmed(&kind));
        assert_eq!(full.cut(), short.cut(), "{}", kind.kind());
        assert_eq!(short.areas().tips.units(), 0, "{}", kind.kind());
    }
}

/// A sharp kite tip and a free triangle: the clip never reaches the finished
/// corner, and every blunt end is a straight edge.
#[test]
fn trimming_stays_clear_of_the_finished_outline() {
    for kind in [
        Finished::Kite { width: inch("1"), height: inch("5"), shoulder: inch("1/2") },
        Finished::Polygon {
            corners: vec![(inch("0"), inch("0")), (inch("5"), inch("0")), (inch("4"), inch("1"))],
        },
    ] {
        let short = trimmed(&kind);
        for corner in short.finished().corners() {
            let clear = short.cut().edges().iter().all(|edge| {
                let (a, b) = (edge.from(), edge.to());
                let cross = (b.x - a.x) * (corner.y - a.y) - (b.y - a.y) * (corner.x - a.x);
                let length = ((b.x - a.x).powi(2) + (b.y - a.y).powi(2)).sqrt();
                matches!(edge, Edge::Line { .. }) && cross / length >= 0.25 * 8128.0 - 1e-6
            });
            assert!(clear, "{}", kind.kind());
        }
        assert!(inches(short.cut_width()) < inches(cut(&kind).cut_width()) + 1e-9);
    }
}
