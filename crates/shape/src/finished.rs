//! The kinds of finished shape and their outlines.

use patchlay_measure::Length;

use crate::geometry::{Edge, Point};
use crate::outline::Outline;
use crate::{Angle, ShapeError, simple};

/// A shape by its finished sizes.
///
/// Each kind has a *natural placing*, the way it lies before any turn: x to the
/// right, y up, square sides or the longest straight side along the axes.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub enum Finished {
    /// A square; sides on the axes.
    Square {
        /// Side.
        side: Length,
    },
    /// A rectangle; sides on the axes.
    Rectangle {
        /// Side along x.
        width: Length,
        /// Side along y.
        height: Length,
    },
    /// Half a square, cut on the diagonal; legs on the axes, right angle at the
    /// lower left.
    HalfSquare {
        /// Each leg.
        leg: Length,
    },
    /// A quarter of a square, cut on both diagonals; long side along x at the
    /// bottom.
    QuarterSquare {
        /// The long side, opposite the right angle.
        long_side: Length,
    },
    /// Half a rectangle, cut on the diagonal; legs on the axes, right angle at
    /// the lower left. Handed unless the legs are equal.
    HalfRectangle {
        /// Leg along x.
        width: Length,
        /// Leg along y.
        height: Length,
    },
    /// A triangle with three equal sides; one along x at the bottom.
    Equilateral {
        /// Each side.
        side: Length,
    },
    /// A rhombus; one side along x at the bottom, `angle` at its left end.
    Diamond {
        /// Each side.
        side: Length,
        /// One inside corner; the next is 180° less it.
        angle: Angle,
    },
    /// A parallelogram; `base` along x at the bottom, `angle` at its left end.
    /// Handed unless it is a rectangle or a rhombus.
    Parallelogram {
        /// The side along x.
        base: Length,
        /// The slanted side.
        side: Length,
        /// The inside corner between them at the lower left.
        angle: Angle,
    },
    /// A trapezoid; parallel sides along x.
    Trapezoid {
        /// Parallel side at the bottom.
        bottom: Length,
        /// Parallel side at the top.
        top: Length,
        /// Distance between the two.
        height: Length,
        /// How far the top's left end lies to the right of the bottom's left
        /// end (negative to the left); `None` for equal slants.
        inset: Option<Length>,
    },
    /// A kite; axis along y, one tip at the bottom.
    Kite {
        /// Across the widest point.
        width: Length,
        /// From tip to tip.
        height: Length,
        /// Height of the widest point above the lower tip.
        shoulder: Length,
    },
    /// A regular hexagon; two sides along x.
    Hexagon {
        /// Each side.
        side: Length,
    },
    /// A regular octagon; two sides along x.
    Octagon {
        /// Each side.
        side: Length,
    },
    /// A quarter of a disc; straight edges on the axes, centre at the lower
    /// left.
    ConvexQuarter {
        /// Finished radius, the seam line of the curve.
        radius: Length,
    },
    /// A square with a quarter of a disc taken out of its lower left corner;
    /// sides on the axes.
    ConcaveQuarter {
        /// Finished radius, the seam line of the curve.
        radius: Length,
        /// Side of the square.
        outer: Length,
    },
    /// Any outline of straight sides by its corners, in order either way round.
    Polygon {
        /// Corners (x, y).
        corners: Vec<(Length, Length)>,
    },
}

/// The longest side drawn: 10 m.
pub(crate) const MAX_SIDE: Length = Length::from_mm_tenths(100_000);

impl Finished {
    /// The large triangle of a flying-geese unit twice as long as high: a
    /// quarter square with that long side.
    #[must_use]
    pub const fn goose(long_side: Length) -> Self {
        Self::QuarterSquare { long_side }
    }

    /// The small triangle of a flying-geese unit (two of them to a goose): a
    /// half square with a leg of half the goose's long side.
    ///
    /// # Errors
    /// [`ShapeError::NotHalved`] if half of it is not a whole number of units.
    pub fn sky(long_side: Length) -> Result<Self, ShapeError> {
        if long_side.units() % 2 != 0 {
            return Err(ShapeError::NotHalved { what: "long side" });
        }
        Ok(Self::HalfSquare { leg: long_side.half_floor() })
    }

    /// The name a quilter uses for the kind.
    #[must_use]
    pub const fn kind(&self) -> &'static str {
        match self {
            Self::Square { .. } => "square",
            Self::Rectangle { .. } => "rectangle",
            Self::HalfSquare { .. } => "half-square triangle",
            Self::QuarterSquare { .. } => "quarter-square triangle",
            Self::HalfRectangle { .. } => "half-rectangle triangle",
            Self::Equilateral { .. } => "equilateral triangle",
            Self::Diamond { .. } => "diamond",
            Self::Parallelogram { .. } => "parallelogram",
            Self::Trapezoid { .. } => "trapezoid",
            Self::Kite { .. } => "kite",
            Self::Hexagon { .. } => "hexagon",
            Self::Octagon { .. } => "octagon",
            Self::ConvexQuarter { .. } => "convex quarter circle",
            Self::ConcaveQuarter { .. } => "concave quarter circle",
            Self::Polygon { .. } => "free shape",
        }
    }

    /// The sizes by name, for the check that each is above zero and sane.
    fn sizes(&self) -> Vec<(&'static str, Length)> {
        match *self {
            Self::Square { side }
            | Self::Equilateral { side }
            | Self::Diamond { side, .. }
            | Self::Hexagon { side }
            | Self::Octagon { side } => vec![("side", side)],
            Self::HalfSquare { leg } => vec![("leg", leg)],
            Self::QuarterSquare { long_side } => vec![("long side", long_side)],
            Self::Rectangle { width, height } | Self::HalfRectangle { width, height } => {
                vec![("width", width), ("height", height)]
            }
            Self::Parallelogram { base, side, .. } => vec![("base", base), ("side", side)],
            Self::Trapezoid { bottom, top, height, .. } => {
                vec![("bottom", bottom), ("top", top), ("height", height)]
            }
            Self::Kite { width, height, shoulder } => {
                vec![("width", width), ("height", height), ("shoulder", shoulder)]
            }
            Self::ConvexQuarter { radius } => vec![("radius", radius)],
            Self::ConcaveQuarter { radius, outer } => {
                vec![("radius", radius), ("outer side", outer)]
            }
            Self::Polygon { .. } => Vec::new(),
        }
    }

    fn check_sizes(&self) -> Result<(), ShapeError> {
        for (what, size) in self.sizes() {
            if !size.is_positive() {
                return Err(ShapeError::NotPositive { what });
            }
            if size > MAX_SIDE {
                return Err(ShapeError::TooLarge { what });
            }
        }
        match *self {
            Self::Diamond { angle, .. } | Self::Parallelogram { angle, .. }
                if !(500..=17_500).contains(&angle.hundredths()) =>
            {
                Err(ShapeError::AngleOutOfRange { angle })
            }
            Self::Trapezoid { inset: Some(inset), .. } if inset > MAX_SIDE || inset < -MAX_SIDE => {
                Err(ShapeError::TooLarge { what: "inset" })
            }
            Self::Kite { height, shoulder, .. } if shoulder >= height => Err(ShapeError::ShoulderOutside),
            Self::ConcaveQuarter { radius, outer } if outer <= radius => Err(ShapeError::CurveFillsSquare),
            _ => Ok(()),
        }
    }

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

pub(crate) const fn float(length: Length) -> f64 {
    length.units() as f64
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
