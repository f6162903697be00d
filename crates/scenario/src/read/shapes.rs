//! Reads the shapes.

use crate::path::Path;
use crate::read::fields::{Fields, Need, corner};
use crate::read::most;
use crate::report::Report;
use crate::spec::{Shape, ShapeKind};
use crate::tree::Node;

/// Reads one shape.
pub(crate) fn shape(report: &mut Report<'_>, node: &Node, path: &Path) -> Shape {
    let mut f = Fields::open(report, node, path, "a shape");
    let shape = Shape {
        name: f
            .text("name", Need::Needed("give the shape a name; boards and blocks refer to it"))
            .unwrap_or_default(),
        kind: f
            .choice(
                "kind",
                Need::Needed("say which shape, for example \"square\" or \"half_square_triangle\""),
            )
            .unwrap_or(ShapeKind::Square),
        side: f.length("side", Need::Optional),
        width: f.length("width", Need::Optional),
        height: f.length("height", Need::Optional),
        top: f.length("top", Need::Optional),
        angle: f.decimal("angle", Need::Optional),
        radius: f.length("radius", Need::Optional),
        corners: f.list("corners", Need::Optional, most::CORNERS, corner),
        tips: f.choice("tips", Need::Optional),
        seam: f.length("seam", Need::Optional),
    };
    f.finish();
    shape
}
