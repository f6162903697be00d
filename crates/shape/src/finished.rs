//! The kinds of finished shape and their sizes.

use patchlay_measure::Length;

use crate::{Angle, ShapeError};

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

    /// Refuses sizes from which no outline can be drawn.
    pub(crate) fn check_sizes(&self) -> Result<(), ShapeError> {
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
}

pub(crate) const fn float(length: Length) -> f64 {
    length.units() as f64
}
