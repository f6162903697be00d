//! Straight grain and bias.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::Turn;
use crate::geometry::{Edge, Point};

/// How an edge lies to the threads of the cloth.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Grain {
    /// Along or across the threads, to within a quarter of a degree.
    Straight,
    /// A straight side at a slant to the threads, which stretches.
    Bias,
    /// A curve, which runs through every direction between its ends.
    Curve,
}

/// Sine of a quarter of a degree: cloth is not lined up better than that.
const NEARLY: f64 = 0.004_363;

impl Grain {
    /// Of an edge that has been turned by `turn` on the cloth.
    pub(crate) fn of(edge: &Edge, turn: Turn) -> Self {
        let Edge::Line { from, to } = edge else {
            return Self::Curve;
        };
        let (sin, cos) = turn.sin_cos();
        let side = to.minus(*from).unit();
        let side = Point::new(side.x * cos - side.y * sin, side.x * sin + side.y * cos);
        if side.x.abs().min(side.y.abs()) <= NEARLY { Self::Straight } else { Self::Bias }
    }
}
