//! Points, edges and boxes, in floats counted in length units.

use crate::trig;

/// A point in length units (1/8128 in). For drawing; never for deciding a fit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// To the right.
    pub x: f64,
    /// Upwards.
    pub y: f64,
}

impl Point {
    pub(crate) const fn new(x: f64, y: f64) -> Self {
        Self { x, y }
    }

    pub(crate) fn minus(self, other: Self) -> Self {
        Self::new(self.x - other.x, self.y - other.y)
    }

    pub(crate) fn plus(self, other: Self) -> Self {
        Self::new(self.x + other.x, self.y + other.y)
    }

    pub(crate) fn scaled(self, factor: f64) -> Self {
        Self::new(self.x * factor, self.y * factor)
    }

    pub(crate) fn dot(self, other: Self) -> f64 {
        self.x * other.x + self.y * other.y
    }

    pub(crate) fn cross(self, other: Self) -> f64 {
        self.x * other.y - self.y * other.x
    }

    pub(crate) fn length(self) -> f64 {
        self.dot(self).sqrt()
    }

    pub(crate) fn unit(self) -> Self {
        self.scaled(1.0 / self.length())
    }

    /// A quarter turn clockwise: outwards for a side walked counter-clockwise.
    pub(crate) const fn outwards(self) -> Self {
        Self::new(self.y, -self.x)
    }
}

/// One edge of an outline that is walked counter-clockwise.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Edge {
    /// A straight side.
    Line {
        /// Where it starts.
        from: Point,
        /// Where it ends.
        to: Point,
    },
    /// Part of a circle, less than half of it.
    Arc {
        /// Where it starts.
        from: Point,
        /// Where it ends.
        to: Point,
        /// Centre of the circle.
        centre: Point,
        /// Radius of the circle.
        radius: f64,
        /// Whether it bulges out of the patch (walked counter-clockwise about
        /// its centre); false for a hollow curve.
        convex: bool,
    },
}

impl Edge {
    /// Where the edge starts.
    #[must_use]
    pub const fn from(&self) -> Point {
        match self {
            Self::Line { from, .. } | Self::Arc { from, .. } => *from,
        }
    }

    /// Where the edge ends.
    #[must_use]
    pub const fn to(&self) -> Point {
        match self {
            Self::Line { to, .. } | Self::Arc { to, .. } => *to,
        }
    }

    /// The edge with every point carried along by `step`, which must keep
    /// distances; `flips` says whether it mirrors, so that the walk reverses.
    pub(crate) fn carried(&self, step: impl Fn(Point) -> Point, flips: bool) -> Self {
        let (start, end) = (step(self.from()), step(self.to()));
        let (from, to) = if flips { (end, start) } else { (start, end) };
        match *self {
            Self::Line { .. } => Self::Line { from, to },
            Self::Arc { centre, radius, convex, .. } => {
                Self::Arc { from, to, centre: step(centre), radius, convex }
            }
        }
    }

    /// The angle swept about the centre, in radians, negative for a hollow
    /// curve; 0 for a line.
    pub(crate) fn sweep(&self) -> f64 {
        match *self {
            Self::Line { .. } => 0.0,
            Self::Arc { from, to, centre, radius, convex } => {
                let (a, b) = (from.minus(centre), to.minus(centre));
                let size = 2.0 * trig::atan(a.cross(b).abs() / (radius * radius + a.dot(b)));
                if convex { size } else { -size }
            }
        }
    }

    /// Its part of the enclosed area by Green's theorem.
    pub(crate) fn area_part(&self) -> f64 {
        let chord = self.from().cross(self.to());
        match *self {
            Self::Line { .. } => chord / 2.0,
            Self::Arc { from, to, centre, radius, .. } => {
                let around = centre.cross(to.minus(from));
                (radius * radius * self.sweep() + around) / 2.0
            }
        }
    }

    /// The points of the edge that can be furthest out along an axis.
    pub(crate) fn extremes(&self) -> Vec<Point> {
        let mut points = vec![self.from(), self.to()];
        if let Self::Arc { from, to, centre, radius, convex } = *self {
            let (a, b) = (from.minus(centre), to.minus(centre));
            let (a, b) = if convex { (a, b) } else { (b, a) };
            for (x, y) in [(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)] {
                let axis = Point::new(x, y);
                if a.cross(axis) >= 0.0 && axis.cross(b) >= 0.0 && axis.dot(a.plus(b)) > 0.0 {
                    points.push(centre.plus(axis.scaled(radius)));
                }
            }
        }
        points
    }
}

/// The smallest upright rectangle around something, in length units.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bounds {
    /// Lower left corner.
    pub low: Point,
    /// Upper right corner.
    pub high: Point,
}

impl Bounds {
    /// Around points; a single point at the origin if there are none.
    pub(crate) fn around(points: impl IntoIterator<Item = Point>) -> Self {
        let mut points = points.into_iter();
        let first = points.next().unwrap_or(Point::new(0.0, 0.0));
        points.fold(Self { low: first, high: first }, |bounds, point| Self {
            low: Point::new(bounds.low.x.min(point.x), bounds.low.y.min(point.y)),
            high: Point::new(bounds.high.x.max(point.x), bounds.high.y.max(point.y)),
        })
    }

    /// From side to side.
    #[must_use]
    pub fn width(&self) -> f64 {
        self.high.x - self.low.x
    }

    /// From bottom to top.
    #[must_use]
    pub fn height(&self) -> f64 {
        self.high.y - self.low.y
    }
}
