//! Helpers that the tests of this crate share.

#![allow(dead_code, reason = "each test file uses its own part")]
#![allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]

use patchlay_measure::{Area, Length, UnitSystem, parse_length};
use patchlay_shape::{Finished, Outline, Point, Shape, Tips};

pub(crate) fn inch(text: &str) -> Length {
    parse_length(text, UnitSystem::Inch).unwrap()
}

/// A size in inches rounded to the nearest unit, for irrational finished sizes.
pub(crate) fn nearest(inches: f64) -> Length {
    Length::from_units((inches * 8128.0).round() as i64)
}

pub(crate) fn inches(length: Length) -> f64 {
    length.units() as f64 / 8128.0
}

pub(crate) fn square_inches(area: Area) -> f64 {
    area.units() as f64 / (8128.0 * 8128.0)
}

/// The shape with full mitres and the usual 1/4 in seam.
pub(crate) fn cut(kind: &Finished) -> Shape {
    Shape::new(kind, inch("1/4"), Tips::Untrimmed).unwrap()
}

pub(crate) fn trimmed(kind: &Finished) -> Shape {
    Shape::new(kind, inch("1/4"), Tips::Trimmed).unwrap()
}

/// A length is an irrational number of inches, known to six decimals, rounded
/// up to the unit: at most one unit above it, never below.
#[track_caller]
pub(crate) fn rounds_up(length: Length, exact_inches: f64) {
    let over = length.units() as f64 - exact_inches * 8128.0;
    assert!((-0.02..1.02).contains(&over), "{} in, not {exact_inches}", inches(length));
}

/// Six decimals of a square inch.
#[track_caller]
pub(crate) fn is_area(area: Area, exact: f64) {
    assert!((square_inches(area) - exact).abs() < 2e-6, "{} not {exact}", square_inches(area));
}

/// Length of the straight edge at this place of an outline, in inches.
pub(crate) fn edge_inches(outline: &Outline, at: usize) -> f64 {
    let edge = outline.edges()[at];
    let (from, to) = (edge.from(), edge.to());
    ((to.x - from.x).powi(2) + (to.y - from.y).powi(2)).sqrt() / 8128.0
}

/// Area that two convex straight-sided outlines share, in square units.
pub(crate) fn shared_area(one: &Outline, other: &Outline) -> f64 {
    let mut ground = one.corners();
    let clips = other.corners();
    for (at, &a) in clips.iter().enumerate() {
        let b = clips[(at + 1) % clips.len()];
        let side = |p: Point| (b.x - a.x) * (p.y - a.y) - (b.y - a.y) * (p.x - a.x);
        let mut kept = Vec::new();
        for (at, &p) in ground.iter().enumerate() {
            let q = ground[(at + 1) % ground.len()];
            let (here, there) = (side(p), side(q));
            if here >= 0.0 {
                kept.push(p);
            }
            if here * there < 0.0 {
                let part = here / (here - there);
                kept.push(Point { x: p.x + (q.x - p.x) * part, y: p.y + (q.y - p.y) * part });
            }
        }
        ground = kept;
    }
    shoelace(&ground)
}

pub(crate) fn shoelace(corners: &[Point]) -> f64 {
    let twice: f64 = corners
        .iter()
        .enumerate()
        .map(|(at, p)| {
            let q = corners[(at + 1) % corners.len()];
            p.x * q.y - p.y * q.x
        })
        .sum();
    twice / 2.0
}
