//! Several patches of one shape on one position.

use patchlay_measure::Length;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::finished::float;
use crate::geometry::Point;
use crate::outline::rounded_up;
use crate::{Finished, Outline, Shape, ShapeError, Turn};

/// How the patches of one position lie to each other.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Arrangement {
    /// One patch in its natural placing.
    Single,
    /// Side by side in their natural placing, left to right, those as drawn
    /// first.
    Row {
        /// Cloth between two neighbouring boxes.
        gap: Length,
    },
    /// Full rows of boxes, bottom row first, each left to right.
    Grid {
        /// Patches in a row.
        columns: u32,
        /// Rows.
        rows: u32,
        /// Cloth between two neighbouring boxes, both ways.
        gap: Length,
    },
    /// Two right triangles of one hand along the diagonal of one square or
    /// rectangle, the second turned half round.
    Pair,
    /// Four right triangles with equal legs around the centre of one square,
    /// long sides outwards.
    Four,
}

/// One patch of an arrangement.
#[derive(Clone, Debug, PartialEq)]
pub struct PlacedPatch {
    /// Where its blades are, in the box of the arrangement.
    pub outline: Outline,
    /// Where its seam lines will be.
    pub finished: Outline,
    /// Whether it is the mirror image of the shape as drawn.
    pub mirrored: bool,
    /// How far it is turned from its natural placing (after mirroring).
    pub turn: Turn,
}

/// Several patches and the box around them.
#[derive(Clone, Debug, PartialEq)]
pub struct Arranged {
    /// Width of the smallest rectangle, square to the blades, that covers the
    /// patches; rounded up like [`Shape::cut_width`].
    pub width: Length,
    /// Height of that rectangle.
    pub height: Length,
    /// The patches, with the lower left corner of the rectangle at the origin.
    pub patches: Vec<PlacedPatch>,
}

/// Most patches on one position.
const MAX_PATCHES: u64 = 1_000;

/// Lays `drawn` patches of the shape as drawn and `mirrored` mirror images out
/// on one position.
///
/// Patches that share a rectangle share it with full mitres even where their
/// tips are trimmed, because the blade on the diagonal is common to both: the
/// box of a pair or a four is that of untrimmed tips.
///
/// # Errors
/// [`ShapeError`] if the number of patches does not suit the arrangement, or
/// the shape does not share a rectangle like that.
pub fn arrange(
    shape: &Shape,
    drawn: u32,
    mirrored: u32,
    arrangement: Arrangement,
) -> Result<Arranged, ShapeError> {
    let count = u64::from(drawn) + u64::from(mirrored);
    if count == 0 || count > MAX_PATCHES {
        return Err(ShapeError::CountOutOfRange { count });
    }
    let holds = |holds: u64| {
        if holds == count { Ok(()) } else { Err(ShapeError::CountMismatch { holds, count }) }
    };
    match arrangement {
        Arrangement::Single => {
            holds(1)?;
            Ok(grid(shape, drawn, count, 1, Length::ZERO))
        }
        Arrangement::Row { gap } => checked_grid(shape, drawn, count, count, gap),
        Arrangement::Grid { columns, rows, gap } => {
            holds(u64::from(columns) * u64::from(rows))?;
            checked_grid(shape, drawn, count, u64::from(columns), gap)
        }
        Arrangement::Pair => {
            holds(2)?;
            pair(shape, drawn, mirrored)
        }
        Arrangement::Four => {
            holds(4)?;
            four(shape, drawn)
        }
    }
}

fn checked_grid(
    shape: &Shape,
    drawn: u32,
    count: u64,
    columns: u64,
    gap: Length,
) -> Result<Arranged, ShapeError> {
    if gap < Length::ZERO {
        return Err(ShapeError::NegativeGap);
    }
    if gap > crate::finished::MAX_SIDE {
        return Err(ShapeError::TooLarge { what: "gap" });
    }
    Ok(grid(shape, drawn, count, columns, gap))
}

fn grid(shape: &Shape, drawn: u32, count: u64, columns: u64, gap: Length) -> Arranged {
    let (width, height) = (shape.cut_width(), shape.cut_height());
    let rows = count.div_ceil(columns);
    let across = |size: Length, times: u64| {
        let times = times as i64;
        size * times + gap * (times - 1)
    };
    let patches = (0..count)
        .map(|at| {
            let (column, row) = ((at % columns) as f64, (at / columns) as f64);
            let right = column * float(width + gap);
            let up = row * float(height + gap);
            natural(shape, at >= u64::from(drawn)).moved(right, up)
        })
        .collect();
    Arranged { width: across(width, columns), height: across(height, rows), patches }
}

/// Two patches on one diagonal.
fn pair(shape: &Shape, drawn: u32, mirrored: u32) -> Result<Arranged, ShapeError> {
    if !matches!(
        shape.kind(),
        Finished::HalfSquare { .. } | Finished::HalfRectangle { .. } | Finished::QuarterSquare { .. }
    ) {
        return Err(ShapeError::DoesNotShare { which: "right triangles" });
    }
    if shape.handed() && drawn > 0 && mirrored > 0 {
        return Err(ShapeError::MixedHands);
    }
    let (first, size) = corner_patch(shape, drawn == 0, legs_on_axes(shape, drawn == 0));
    let (second, _) = corner_patch(shape, mirrored > 0, legs_on_axes(shape, mirrored > 0));
    let second = second.turned(Turn::HALF).moved(size.x, size.y);
    let (width, height) = (rounded_up(size.x), rounded_up(size.y));
    Ok(Arranged { width, height, patches: vec![first, second] })
}

/// The turn that lays the legs of a right triangle along the axes, the right
/// angle always in the same corner for shapes that are not handed.
fn legs_on_axes(shape: &Shape, mirrored: bool) -> Turn {
    match shape.kind() {
        Finished::QuarterSquare { .. } => Turn::from_degrees(135),
        _ if mirrored && !shape.handed() => Turn::from_degrees(270),
        _ => Turn::NONE,
    }
}

/// Four patches around the centre of a square.
fn four(shape: &Shape, drawn: u32) -> Result<Arranged, ShapeError> {
    let long_side_down = match shape.kind() {
        Finished::QuarterSquare { .. } => Turn::NONE,
        Finished::HalfSquare { .. } => Turn::from_degrees(225),
        _ => return Err(ShapeError::DoesNotShare { which: "right triangles with equal legs" }),
    };
    let side = corner_patch(shape, false, long_side_down).1.x;
    let patches = (0..4_u32)
        .map(|at| {
            let mirrored = at >= drawn;
            // Mirrored left to right, a half square's right angle points the
            // other way along x.
            let turn = match (shape.kind(), mirrored) {
                (Finished::HalfSquare { .. }, true) => Turn::from_degrees(135),
                _ => long_side_down,
            };
            let (patch, _) = corner_patch(shape, mirrored, turn);
            let half = side / 2.0;
            patch.moved(-half, -half).turned(Turn::from_degrees(90 * at as i32)).moved(half, half)
        })
        .collect();
    Ok(Arranged { width: rounded_up(side), height: rounded_up(side), patches })
}

/// A patch turned and moved so that the box of its *full* mitres starts at the
/// origin, with the size of that box.
fn corner_patch(shape: &Shape, mirrored: bool, turn: Turn) -> (PlacedPatch, Point) {
    let patch = natural(shape, mirrored).turned(turn);
    let mitred = if mirrored {
        shape.mitred().mirrored().moved(shape.cut().bounds().high.x, 0.0)
    } else {
        shape.mitred().clone()
    };
    let bounds = mitred.turned(turn).bounds();
    let size = Point::new(bounds.width(), bounds.height());
    (patch.moved(-bounds.low.x, -bounds.low.y), size)
}

/// A patch in the natural placing of the shape or of its mirror image.
fn natural(shape: &Shape, mirrored: bool) -> PlacedPatch {
    let (outline, finished) = if mirrored {
        let width = shape.cut().bounds().high.x;
        (shape.mirrored(), shape.finished().mirrored().moved(width, 0.0))
    } else {
        (shape.cut().clone(), shape.finished().clone())
    };
    PlacedPatch { outline, finished, mirrored, turn: Turn::NONE }
}

impl PlacedPatch {
    fn moved(&self, right: f64, up: f64) -> Self {
        Self { outline: self.outline.moved(right, up), finished: self.finished.moved(right, up), ..*self }
    }

    fn turned(&self, turn: Turn) -> Self {
        Self {
            outline: self.outline.turned(turn),
            finished: self.finished.turned(turn),
            mirrored: self.mirrored,
            turn: self.turn.then(turn),
        }
    }
}
