//! Whether a shape differs from its mirror image.

use patchlay_measure::Length;

use crate::geometry::Point;
use crate::{Angle, Finished, simple};

/// How far, in length units, a corner of a free outline may be from its mirror
/// image's and still count as the same: 4 units are 0.0125 mm.
const TOLERANCE: f64 = 4.0;

/// Whether no turn maps the shape to its mirror image. Decided from the exact
/// sizes of the named kinds, from the corners of a free shape.
pub(crate) fn handed(kind: &Finished) -> bool {
    match kind {
        Finished::HalfRectangle { width, height } => width != height,
        Finished::Parallelogram { base, side, angle } => base != side && *angle != Angle::RIGHT,
        Finished::Trapezoid { inset: None, .. } => false,
        Finished::Trapezoid { bottom, top, height, inset: Some(inset) } => {
            let equal_slants = *inset * 2 + *top == *bottom;
            let rhombus = bottom == top && square(*inset) + square(*height) == square(*bottom);
            !equal_slants && !rhombus
        }
        Finished::Polygon { corners } => match simple::checked_corners(corners) {
            Ok(corners) => {
                let corners: Vec<Point> = corners.iter().map(simple::Corner::point).collect();
                !has_mirror_line(&corners)
            }
            Err(_) => false,
        },
        _ => false,
    }
}

fn square(length: Length) -> i128 {
    (length * length).units()
}

/// Whether some mirroring maps the corners onto themselves within the
/// tolerance. A mirroring turns the walk round, so it pairs corner i with
/// corner k - i for one k; each k is tried with the line that fits it best.
fn has_mirror_line(corners: &[Point]) -> bool {
    let count = corners.len();
    let middle =
        corners.iter().fold(Point::new(0.0, 0.0), |sum, &corner| sum.plus(corner)).scaled(1.0 / count as f64);
    let about: Vec<Point> = corners.iter().map(|corner| corner.minus(middle)).collect();
    (0..count).any(|shift| {
        let partner = |at: usize| about[(shift + count - at) % count];
        mirrors(&about, partner)
    })
}

/// With points as complex numbers a mirroring is z -> w . conj(z) with |w| = 1;
/// the best w for given pairs has the direction of the sum of partner . z.
fn mirrors(about: &[Point], partner: impl Fn(usize) -> Point) -> bool {
    let sum = about.iter().enumerate().fold(Point::new(0.0, 0.0), |sum, (at, &z)| {
        let p = partner(at);
        sum.plus(Point::new(p.x * z.x - p.y * z.y, p.x * z.y + p.y * z.x))
    });
    if sum.length() == 0.0 {
        return false;
    }
    let w = sum.unit();
    about.iter().enumerate().all(|(at, z)| {
        let image = Point::new(w.x * z.x + w.y * z.y, w.y * z.x - w.x * z.y);
        image.minus(partner(at)).length() <= TOLERANCE
    })
}
