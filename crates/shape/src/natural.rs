//! The finished outline of each kind in its natural placing.

use crate::finished::float;
use crate::geometry::{Edge, Point};
use crate::outline::Outline;
use crate::{Angle, Finished, ShapeError, simple};

impl Finished {
    /// The number, from 1, that the user gave the corner at this place of the
    /// outline: a free shape may have been listed the other way round.
    pub(crate) fn corner_number(&self, at: usize) -> usize {
        match self {
            Self::Polygon { corners } => simple::checked_corners(corners)
                .ok()
                .and_then(|corners| corners.get(at).map(|corner| corner.number))
                .unwrap_or(at + 1),
            _ => at + 1,
        }
    }

    /// The finished outline in its natural placing.
    pub(crate) fn outline(&self) -> Result<Outline, ShapeError> {
        self.check_sizes()?;
        match self {
            Self::ConvexQuarter { radius } => Ok(convex_quarter(float(*radius))),
            Self::ConcaveQuarter { radius, outer } => Ok(concave_quarter(float(*radius), float(*outer))),
            Self::Polygon { corners } => {
                let corners = simple::checked_corners(corners)?;
                self.sharp_enough(corners.iter().map(simple::Corner::point).collect())
            }
            _ => self.sharp_enough(self.straight_corners()),
        }
    }

    /// Refuses corners sharper than 5°, whose mitre would run on for feet.
    fn sharp_enough(&self, corners: Vec<Point>) -> Result<Outline, ShapeError> {
        /// Cosine of 5 degrees.
        const COS_LIMIT: f64 = 0.996_194_698_091_745_5;
        let count = corners.len();
        for at in 0..count {
            let before = corners[(at + count - 1) % count].minus(corners[at]).unit();
            let after = corners[(at + 1) % count].minus(corners[at]).unit();
            // A 5° diamond must pass whatever the last bit says.
            if before.dot(after) > COS_LIMIT + 1e-9 {
                return Err(ShapeError::TooSharp { corner: self.corner_number(at) });
            }
        }
        Ok(Outline::from_corners(&corners))
    }

    /// Corners of the straight-sided named kinds, counter-clockwise.
    fn straight_corners(&self) -> Vec<Point> {
        match *self {
            Self::Square { side } => box_corners(float(side), float(side)),
            Self::Rectangle { width, height } => box_corners(float(width), float(height)),
            Self::HalfSquare { leg } => points(&[(0.0, 0.0), (float(leg), 0.0), (0.0, float(leg))]),
            Self::HalfRectangle { width, height } => {
                points(&[(0.0, 0.0), (float(width), 0.0), (0.0, float(height))])
            }
            Self::QuarterSquare { long_side } => {
                let half = float(long_side) / 2.0;
                points(&[(0.0, 0.0), (2.0 * half, 0.0), (half, half)])
            }
            Self::Equilateral { side } => {
                let half = float(side) / 2.0;
                points(&[(0.0, 0.0), (2.0 * half, 0.0), (half, half * 3_f64.sqrt())])
            }
            Self::Diamond { side, angle } => slanted(float(side), float(side), angle),
            Self::Parallelogram { base, side, angle } => slanted(float(base), float(side), angle),
            Self::Trapezoid { bottom, top, height, inset } => {
                let (bottom, top, height) = (float(bottom), float(top), float(height));
                let left = inset.map_or((bottom - top) / 2.0, float);
                points(&[(0.0, 0.0), (bottom, 0.0), (left + top, height), (left, height)])
            }
            Self::Kite { width, height, shoulder } => {
                let (half, height, shoulder) = (float(width) / 2.0, float(height), float(shoulder));
                points(&[(half, 0.0), (2.0 * half, shoulder), (half, height), (0.0, shoulder)])
            }
            Self::Hexagon { side } => hexagon(float(side)),
            Self::Octagon { side } => octagon(float(side)),
            Self::ConvexQuarter { .. } | Self::ConcaveQuarter { .. } | Self::Polygon { .. } => Vec::new(),
        }
    }
}

fn points(corners: &[(f64, f64)]) -> Vec<Point> {
    corners.iter().map(|&(x, y)| Point::new(x, y)).collect()
}

fn box_corners(width: f64, height: f64) -> Vec<Point> {
    points(&[(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)])
}

fn slanted(base: f64, side: f64, angle: Angle) -> Vec<Point> {
    let (sin, cos) = angle.sin_cos();
    let (over, up) = (side * cos, side * sin);
    points(&[(0.0, 0.0), (base, 0.0), (base + over, up), (over, up)])
}

fn hexagon(side: f64) -> Vec<Point> {
    let (half, up) = (side / 2.0, side * 3_f64.sqrt() / 2.0);
    points(&[
        (half, 0.0),
        (3.0 * half, 0.0),
        (4.0 * half, up),
        (3.0 * half, 2.0 * up),
        (half, 2.0 * up),
        (0.0, up),
    ])
}

fn octagon(side: f64) -> Vec<Point> {
    let near = side / 2_f64.sqrt();
    let (far, end) = (near + side, 2.0 * near + side);
    points(&[
        (near, 0.0),
        (far, 0.0),
        (end, near),
        (end, far),
        (far, end),
        (near, end),
        (0.0, far),
        (0.0, near),
    ])
}

fn convex_quarter(radius: f64) -> Outline {
    let centre = Point::new(0.0, 0.0);
    let (right, top) = (Point::new(radius, 0.0), Point::new(0.0, radius));
    Outline::new(vec![
        Edge::Line { from: centre, to: right },
        Edge::Arc { from: right, to: top, centre, radius, convex: true },
        Edge::Line { from: top, to: centre },
    ])
}

fn concave_quarter(radius: f64, outer: f64) -> Outline {
    let centre = Point::new(0.0, 0.0);
    let corners = points(&[(radius, 0.0), (outer, 0.0), (outer, outer), (0.0, outer), (0.0, radius)]);
    let mut edges: Vec<Edge> =
        corners.windows(2).map(|pair| Edge::Line { from: pair[0], to: pair[1] }).collect();
    let (from, to) = (corners[4], corners[0]);
    edges.push(Edge::Arc { from, to, centre, radius, convex: false });
    Outline::new(edges)
}
