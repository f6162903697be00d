//! Outlines as path data.

use std::fmt::Write as _;

use patchlay_shape::{Edge, Outline, Point};

use super::num;

/// From a board to the paper. Seen from above, blades up, by somebody who feeds the board away from themselves:
/// the leading end is at the top, and x runs from the handle side, which is at the east of the picture. That is the
/// board turned half round and never mirrored, whichever hand cranks.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Paper {
    /// Millimetres of paper per length unit.
    pub(crate) scale: f64,
    /// Where the board's corner at the handle side and leading end lies on the paper.
    pub(crate) corner: (f64, f64),
}

impl Paper {
    /// A point of the board on the paper.
    pub(crate) fn at(self, x: f64, y: f64) -> (f64, f64) {
        (self.corner.0 - x * self.scale, self.corner.1 + y * self.scale)
    }

    /// A closed outline on the board as path data.
    pub(crate) fn outline(self, outline: &Outline) -> String {
        let mut text = String::new();
        let put = |point: Point| {
            let (x, y) = self.at(point.x, point.y);
            format!("{} {}", num(x), num(y))
        };
        for (at, edge) in outline.edges().iter().enumerate() {
            if at == 0 {
                let _ = write!(text, "M{}", put(edge.from()));
            }
            match *edge {
                Edge::Line { to, .. } => {
                    let _ = write!(text, "L{}", put(to));
                }
                // Counter-clockwise on the board; the paper's y axis points down and its x axis the other way, so the
                // walk stays counter-clockwise to the eye: sweep flag 0.
                Edge::Arc { to, radius, convex, .. } => {
                    let radius = num(radius * self.scale);
                    let _ = write!(text, "A{radius} {radius} 0 0 {} {}", u8::from(!convex), put(to));
                }
            }
        }
        text.push('Z');
        text
    }

    /// A polygon of board corners as path data.
    pub(crate) fn corners(self, corners: impl IntoIterator<Item = (f64, f64)>) -> String {
        let mut text = String::new();
        for (at, (x, y)) in corners.into_iter().enumerate() {
            let (x, y) = self.at(x, y);
            let _ = write!(text, "{}{} {}", if at == 0 { "M" } else { "L" }, num(x), num(y));
        }
        text.push('Z');
        text
    }
}
