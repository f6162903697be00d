//! A small board with one area black: where on the board an area lies, told apart even where areas overlap.

use std::fmt::Write as _;

use patchlay_scenario::job::Board;

use super::board::{cloth, float};
use super::num;
use super::path::Paper;
use crate::view::Area;

/// Width and height of the picture in millimetres.
pub(crate) const SIZE: (f64, f64) = (15.0, 14.0);

/// The board with the area of all these, which are laid alike, in black.
pub(crate) fn svg(board: &Board, areas: &[Area<'_>]) -> String {
    let (width, length) = (float(board.width).max(1.0), float(board.length).max(1.0));
    let scale = ((SIZE.0 - 1.0) / width).min((SIZE.1 - 1.0) / length);
    let corner = ((SIZE.0 + width * scale) / 2.0, (SIZE.1 - length * scale) / 2.0);
    let paper = Paper { scale, corner };
    let mut text = format!(
        "<svg viewBox=\"0 0 {w} {h}\" width=\"{w}mm\" height=\"{h}mm\" role=\"img\" aria-label=\"where it lies\">",
        w = num(SIZE.0),
        h = num(SIZE.1),
    );
    let outline = paper.corners([(0.0, 0.0), (width, 0.0), (width, length), (0.0, length)]);
    let _ = write!(text, "<path d=\"{outline}\" fill=\"#ffffff\" stroke=\"#000000\" stroke-width=\".35\"/>");
    for area in areas {
        let corners = cloth(area).corners().map(|(x, y)| (x.units_f64(), y.units_f64()));
        let _ = write!(text, "<path d=\"{}\" fill=\"#555555\"/>", paper.corners(corners));
    }
    for position in &board.positions {
        let corners = position.place.corners().map(|(x, y)| (x.units_f64(), y.units_f64()));
        let _ = write!(
            text,
            "<path d=\"{}\" fill=\"none\" stroke=\"#000000\" stroke-width=\".25\"/>",
            paper.corners(corners)
        );
    }
    let (east, north) = paper.at(0.0, 0.0);
    let _ = write!(text, "<path d=\"M{} {}h-2l2 2Z\" fill=\"#000000\"/></svg>", num(east), num(north));
    text
}
