//! Judges the shapes: the sizes each kind needs, then the geometry.

use patchlay_measure::Length;
use patchlay_shape::{Angle, Finished, Shape, ShapeError, Tips};

use super::judge::{Judge, Range};
use crate::path::Path;
use crate::problem::Code;
use crate::spec::{self, ShapeKind};
use crate::words::listed;

/// Judges all shapes; `None` for one that cannot be used.
pub(crate) fn shapes(
    judge: &mut Judge<'_, '_>,
    scenario: &spec::Scenario,
    seam: Option<Length>,
) -> Vec<Option<Shape>> {
    let list = Path::of("shapes");
    let each = scenario.shapes.iter().enumerate();
    each.map(|(at, shape)| one(judge, &list.element(at), shape, seam)).collect()
}

fn one(judge: &mut Judge<'_, '_>, path: &Path, shape: &spec::Shape, seam: Option<Length>) -> Option<Shape> {
    let sizes = Sizes::judge(judge, path, shape);
    let seam = match &shape.seam {
        Some(text) => judge.length(&path.field("seam"), text, Range::SMALL),
        None if judge.report.readable(&path.field("seam")) => seam,
        None => None,
    };
    let tips_path = path.field("tips");
    let tips = match shape.tips {
        Some(spec::Tips::Untrimmed) => Tips::Untrimmed,
        Some(spec::Tips::Trimmed) => Tips::Trimmed,
        None if judge.report.readable(&tips_path) => {
            if has_sharp_corners(shape.kind) {
                judge.assume("Sharp corners come trimmed off the boards", "");
            }
            Tips::Trimmed
        }
        None => return None,
    };
    if !needed_sizes(judge, path, shape) {
        return None;
    }
    let (sizes, seam) = (sizes?, seam?);
    if shape.kind == ShapeKind::Kite && sizes.top >= sizes.height {
        let problem = "the widest line of the kite is not between its two ends";
        let hint = "`top` runs from the top corner down to the widest line, and is less than `height`";
        judge.report.add(Code::ShapeImpossible, &path.field("top"), problem, hint);
        return None;
    }
    let shape = sizes.finished(shape.kind).and_then(|finished| Shape::new(&finished, seam, tips));
    shape.map_err(|error| judge.report.add(Code::ShapeImpossible, path, error.problem(), error.hint())).ok()
}

fn has_sharp_corners(kind: ShapeKind) -> bool {
    !matches!(kind, ShapeKind::Square | ShapeKind::Rectangle | ShapeKind::Hexagon | ShapeKind::Octagon)
}

/// The sizes that a kind needs; it takes no others.
fn needed(kind: ShapeKind) -> &'static [&'static str] {
    match kind {
        ShapeKind::Square
        | ShapeKind::HalfSquareTriangle
        | ShapeKind::EquilateralTriangle
        | ShapeKind::Hexagon
        | ShapeKind::Octagon => &["side"],
        ShapeKind::Rectangle | ShapeKind::HalfRectangleTriangle => &["width", "height"],
        ShapeKind::QuarterSquareTriangle | ShapeKind::Goose | ShapeKind::GooseSky => &["width"],
        ShapeKind::Diamond => &["side", "angle"],
        ShapeKind::Parallelogram => &["width", "side", "angle"],
        ShapeKind::Trapezoid => &["width", "top", "height"],
        ShapeKind::Kite => &["width", "height", "top"],
        ShapeKind::ConvexQuarter => &["radius"],
        ShapeKind::ConcaveQuarter => &["side", "radius"],
        ShapeKind::Polygon => &["corners"],
    }
}

/// Names the sizes that are missing and those that the kind does not use; whether all is well.
fn needed_sizes(judge: &mut Judge<'_, '_>, path: &Path, shape: &spec::Shape) -> bool {
    if !judge.report.readable(&path.field("kind")) {
        return false;
    }
    let needed = needed(shape.kind);
    let stated = [
        ("side", shape.side.is_some()),
        ("width", shape.width.is_some()),
        ("height", shape.height.is_some()),
        ("top", shape.top.is_some()),
        ("angle", shape.angle.is_some()),
        ("radius", shape.radius.is_some()),
        ("corners", !shape.corners.is_empty()),
    ];
    let mut well = true;
    for (name, stated) in stated {
        let here = path.field(name);
        if !judge.report.readable(&here) || stated == needed.contains(&name) {
            continue;
        }
        well = false;
        let needs = format!("this kind takes {}", listed(needed));
        if stated {
            judge.report.add(Code::SizeNotUsed, &here, format!("this kind of shape has no `{name}`"), needs);
        } else {
            judge.report.add(
                Code::SizeMissing,
                &here,
                format!("this kind of shape needs its `{name}`"),
                needs,
            );
        }
    }
    well
}

/// The sizes of a shape, zero where none is stated.
struct Sizes {
    side: Length,
    width: Length,
    height: Length,
    top: Length,
    radius: Length,
    angle: Angle,
    corners: Vec<(Length, Length)>,
}

impl Sizes {
    /// Reads every size that is stated, so that every problem is named; `None` if one cannot be read.
    fn judge(judge: &mut Judge<'_, '_>, path: &Path, shape: &spec::Shape) -> Option<Self> {
        let mut size = |name: &str, text: &Option<spec::LengthText>| match text {
            Some(text) => judge.length(&path.field(name), text, Range::SIZE),
            None => judge.report.readable(&path.field(name)).then_some(Length::ZERO),
        };
        let side = size("side", &shape.side);
        let width = size("width", &shape.width);
        let height = size("height", &shape.height);
        let top = size("top", &shape.top);
        let radius = size("radius", &shape.radius);
        let angle = angle(judge, &path.field("angle"), shape.angle.as_ref());
        let corners = corners(judge, &path.field("corners"), &shape.corners);
        Some(Self {
            side: side?,
            width: width?,
            height: height?,
            top: top?,
            radius: radius?,
            angle: angle?,
            corners: corners?,
        })
    }

    fn finished(self, kind: ShapeKind) -> Result<Finished, ShapeError> {
        let Self { side, width, height, top, radius, angle, corners } = self;
        Ok(match kind {
            ShapeKind::Square => Finished::Square { side },
            ShapeKind::Rectangle => Finished::Rectangle { width, height },
            ShapeKind::HalfSquareTriangle => Finished::HalfSquare { leg: side },
            ShapeKind::QuarterSquareTriangle => Finished::QuarterSquare { long_side: width },
            ShapeKind::HalfRectangleTriangle => Finished::HalfRectangle { width, height },
            ShapeKind::Goose => Finished::goose(width),
            ShapeKind::GooseSky => Finished::sky(width)?,
            ShapeKind::EquilateralTriangle => Finished::Equilateral { side },
            ShapeKind::Diamond => Finished::Diamond { side, angle },
            ShapeKind::Parallelogram => Finished::Parallelogram { base: width, side, angle },
            ShapeKind::Trapezoid => Finished::Trapezoid { bottom: width, top, height, inset: None },
            // The file measures from the top corner, the geometry from the bottom one.
            ShapeKind::Kite => Finished::Kite { width, height, shoulder: height - top },
            ShapeKind::Hexagon => Finished::Hexagon { side },
            ShapeKind::Octagon => Finished::Octagon { side },
            ShapeKind::ConvexQuarter => Finished::ConvexQuarter { radius },
            ShapeKind::ConcaveQuarter => Finished::ConcaveQuarter { radius, outer: side },
            ShapeKind::Polygon => Finished::Polygon { corners },
        })
    }
}

fn angle(judge: &mut Judge<'_, '_>, path: &Path, text: Option<&spec::DecimalText>) -> Option<Angle> {
    if !judge.report.readable(path) {
        return None;
    }
    let Some(text) = text else { return Some(Angle::RIGHT) };
    let angle = Angle::parse(&text.typed());
    let hint = "write degrees, such as 45 or 22.5";
    angle.map_err(|error| judge.report.add(Code::BadNumber, path, error.to_string(), hint)).ok()
}

fn corners(
    judge: &mut Judge<'_, '_>,
    path: &Path,
    corners: &[[spec::LengthText; 2]],
) -> Option<Vec<(Length, Length)>> {
    if !judge.report.readable(path) {
        return None;
    }
    let read: Vec<Option<[Length; 2]>> = corners
        .iter()
        .enumerate()
        .map(|(at, pair)| judge.pair(&path.element(at), pair, Range::PLACE))
        .collect();
    read.into_iter().map(|pair| pair.map(|[x, y]| (x, y))).collect()
}
