//! Closed outlines.

use patchlay_measure::{Area, Length};

use crate::geometry::{Bounds, Edge, Point};
use crate::{Grain, Turn};

/// How near to a whole unit a computed length is taken to be that unit. A
/// thousandth of a unit is 3 nanometres; float error is far below it.
const SNAP: f64 = 1e-3;

/// A closed outline, walked counter-clockwise, in length units.
#[derive(Clone, Debug, PartialEq)]
pub struct Outline {
    edges: Vec<Edge>,
}

impl Outline {
    /// An outline of edges that already join up counter-clockwise.
    pub(crate) const fn new(edges: Vec<Edge>) -> Self {
        Self { edges }
    }

    /// Straight sides between corners listed counter-clockwise.
    pub(crate) fn from_corners(corners: &[Point]) -> Self {
        let next = corners.iter().cycle().skip(1);
        let side = |(from, to): (&Point, &Point)| Edge::Line { from: *from, to: *to };
        Self { edges: corners.iter().zip(next).map(side).collect() }
    }

    /// The edges in order, counter-clockwise; each starts where the last ended.
    #[must_use]
    pub fn edges(&self) -> &[Edge] {
        &self.edges
    }

    /// The corners in order, counter-clockwise: the starts of the edges.
    #[must_use]
    pub fn corners(&self) -> Vec<Point> {
        self.edges.iter().map(Edge::from).collect()
    }

    /// The smallest upright rectangle around it.
    #[must_use]
    pub fn bounds(&self) -> Bounds {
        Bounds::around(self.edges.iter().flat_map(Edge::extremes))
    }

    /// The enclosed area in square length units.
    #[must_use]
    pub fn area(&self) -> f64 {
        // Walked about a nearby point, so that nothing large cancels.
        let near = self.edges.first().map_or(Point::new(0.0, 0.0), Edge::from);
        let shifted = self.moved(-near.x, -near.y);
        shifted.edges.iter().map(Edge::area_part).sum()
    }

    /// The area rounded to the nearest square unit.
    #[must_use]
    pub fn rounded_area(&self) -> Area {
        Area::from_units(self.area().round() as i128)
    }

    /// Moved to the right and up.
    #[must_use]
    pub fn moved(&self, right: f64, up: f64) -> Self {
        let step = Point::new(right, up);
        Self { edges: self.edges.iter().map(|edge| edge.carried(|p| p.plus(step), false)).collect() }
    }

    /// Turned counter-clockwise about the origin.
    #[must_use]
    pub fn turned(&self, turn: Turn) -> Self {
        let (sin, cos) = turn.sin_cos();
        let step = |p: Point| Point::new(p.x * cos - p.y * sin, p.x * sin + p.y * cos);
        Self { edges: self.edges.iter().map(|edge| edge.carried(step, false)).collect() }
    }

    /// Mirrored left to right about the y axis, still walked counter-clockwise.
    #[must_use]
    pub fn mirrored(&self) -> Self {
        let step = |p: Point| Point::new(-p.x, p.y);
        Self { edges: self.edges.iter().rev().map(|edge| edge.carried(step, true)).collect() }
    }

    /// How each edge lies to the threads of a cloth whose threads run along the
    /// axes, after turning this outline by `turn`.
    #[must_use]
    pub fn grain(&self, turn: Turn) -> Vec<Grain> {
        self.edges.iter().map(|edge| Grain::of(edge, turn)).collect()
    }
}

/// A computed length as an exact one: the nearest unit where it is within a
/// thousandth of it, else rounded up.
pub(crate) fn rounded_up(units: f64) -> Length {
    let near = units.round();
    let whole = if (units - near).abs() <= SNAP { near } else { units.ceil() };
    Length::from_units(whole as i64)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn float_dust_does_not_cost_a_unit() {
        for (units, whole) in
            [(5.0, 5), (5.000_9, 5), (4.999_1, 5), (5.001_1, 6), (4.5, 5), (5.5, 6), (0.0, 0)]
        {
            assert_eq!(rounded_up(units), Length::from_units(whole), "{units}");
        }
    }
}
