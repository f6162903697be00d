//! Reads the boards.

use crate::path::Path;
use crate::read::fields::{Fields, Need};
use crate::read::{most, no_length, no_pair};
use crate::report::Report;
use crate::spec::{Board, Positions};
use crate::tree::Node;

/// Reads one board.
pub(crate) fn board(report: &mut Report<'_>, node: &Node, path: &Path) -> Board {
    let mut f = Fields::open(report, node, path, "a board");
    let board = Board {
        name: f.text("name", Need::Needed("give the board a name")).unwrap_or_default(),
        width: f.length("width", Need::Needed("give its size across the travel")).unwrap_or_else(no_length),
        length: f.length("length", Need::Needed("give its size along the travel")).unwrap_or_else(no_length),
        ply_limit: f.count("ply_limit", Need::Optional),
        positions: f.list(
            "positions",
            Need::Needed("describe at least one position: shape and at"),
            most::POSITIONS,
            positions,
        ),
    };
    f.finish();
    board
}

fn positions(report: &mut Report<'_>, node: &Node, path: &Path) -> Positions {
    let mut f = Fields::open(report, node, path, "a position");
    let positions = Positions {
        shape: f.text("shape", Need::Needed("name the shape cut here")).unwrap_or_default(),
        at: f
            .pair(
                "at",
                Need::Needed(
                    "give [x, y] of the corner of its box, from the handle side and the leading end",
                ),
            )
            .unwrap_or_else(no_pair),
        as_drawn: f.count("as_drawn", Need::Optional),
        mirrored: f.count("mirrored", Need::Optional),
        arrangement: f.choice("arrangement", Need::Optional),
        patch_gap: f.length("patch_gap", Need::Optional),
        blade_box: f.pair("blade_box", Need::Optional),
        shape_turn: f.count("shape_turn", Need::Optional),
        turn: f.decimal("turn", Need::Optional),
        columns: f.count("columns", Need::Optional),
        rows: f.count("rows", Need::Optional),
        gap_across: f.length("gap_across", Need::Optional),
        gap_along: f.length("gap_along", Need::Optional),
    };
    f.finish();
    positions
}
