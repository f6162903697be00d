//! Shapes by their finished sizes.

use std::collections::BTreeSet;

use patchlay_measure::Length;
use patchlay_scenario::spec::{self, LengthText, Scenario, ShapeKind};
use patchlay_shape::{Finished, Shape, Tips};

use super::{Reader, Unusable};

/// Most shapes judged.
const MOST: usize = 2_000;

/// A shape with its name.
#[derive(Clone, Debug)]
pub(crate) struct NamedShape {
    pub(crate) name: String,
    pub(crate) shape: Shape,
}

/// Reads all shapes.
pub(super) fn all(reader: &Reader, spec: &Scenario, seam: Length) -> Result<Vec<NamedShape>, Unusable> {
    if spec.shapes.len() > MOST {
        return Err(Unusable::new("shapes", "there are too many"));
    }
    let names: BTreeSet<&str> = spec.shapes.iter().map(|shape| shape.name.as_str()).collect();
    if names.len() != spec.shapes.len() {
        return Err(Unusable::new("shapes", "two have the same name"));
    }
    spec.shapes.iter().map(|shape| one(reader, shape, seam)).collect()
}

fn one(reader: &Reader, spec: &spec::Shape, seam: Length) -> Result<NamedShape, Unusable> {
    let place = format!("shape {}", spec.name);
    let seam = reader.length_or(&place, spec.seam.as_ref(), seam)?;
    let tips = match spec.tips {
        None | Some(spec::Tips::Trimmed) => Tips::Trimmed,
        Some(spec::Tips::Untrimmed) => Tips::Untrimmed,
    };
    let finished = finished(reader, &place, spec)?;
    let shape = Shape::new(&finished, seam, tips).map_err(|error| Unusable::new(&place, error.problem()))?;
    Ok(NamedShape { name: spec.name.clone(), shape })
}

fn finished(reader: &Reader, place: &str, spec: &spec::Shape) -> Result<Finished, Unusable> {
    let needed = |name: &str, text: &Option<LengthText>| match text {
        Some(text) => reader.size(place, text),
        None => Err(Unusable::new(place, format!("it has no {name}"))),
    };
    let side = || needed("side", &spec.side);
    let width = || needed("width", &spec.width);
    let height = || needed("height", &spec.height);
    let top = || needed("top", &spec.top);
    let radius = || needed("radius", &spec.radius);
    let angle = || match &spec.angle {
        Some(text) => reader.angle(place, text),
        None => Err(Unusable::new(place, "it has no angle")),
    };
    Ok(match spec.kind {
        ShapeKind::Square => Finished::Square { side: side()? },
        ShapeKind::Rectangle => Finished::Rectangle { width: width()?, height: height()? },
        ShapeKind::HalfSquareTriangle => Finished::HalfSquare { leg: side()? },
        ShapeKind::QuarterSquareTriangle => Finished::QuarterSquare { long_side: width()? },
        ShapeKind::HalfRectangleTriangle => Finished::HalfRectangle { width: width()?, height: height()? },
        ShapeKind::Goose => Finished::goose(width()?),
        ShapeKind::GooseSky => {
            Finished::sky(width()?).map_err(|error| Unusable::new(place, error.problem()))?
        }
        ShapeKind::EquilateralTriangle => Finished::Equilateral { side: side()? },
        ShapeKind::Diamond => Finished::Diamond { side: side()?, angle: angle()? },
        ShapeKind::Parallelogram => {
            Finished::Parallelogram { base: width()?, side: side()?, angle: angle()? }
        }
        ShapeKind::Trapezoid => {
            Finished::Trapezoid { bottom: width()?, top: top()?, height: height()?, inset: None }
        }
        // The file measures the widest line from the top corner, the geometry from the bottom corner.
        ShapeKind::Kite => {
            Finished::Kite { width: width()?, height: height()?, shoulder: height()? - top()? }
        }
        ShapeKind::Hexagon => Finished::Hexagon { side: side()? },
        ShapeKind::Octagon => Finished::Octagon { side: side()? },
        ShapeKind::ConvexQuarter => Finished::ConvexQuarter { radius: radius()? },
        ShapeKind::ConcaveQuarter => Finished::ConcaveQuarter { radius: radius()?, outer: side()? },
        ShapeKind::Polygon => Finished::Polygon { corners: corners(reader, place, spec)? },
    })
}

fn corners(reader: &Reader, place: &str, spec: &spec::Shape) -> Result<Vec<(Length, Length)>, Unusable> {
    let corner = |[x, y]: &[LengthText; 2]| Ok((reader.length(place, x)?, reader.length(place, y)?));
    spec.corners.iter().map(corner).collect()
}
