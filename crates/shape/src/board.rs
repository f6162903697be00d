//! Rectangles turned on a board: the boxes of positions, bays with their
//! margins, mats.
//!
//! Board coordinates count from the handle side (x = 0) to the far side and
//! from the leading end (y = 0) to the trailing end. A turned rectangle has
//! axes of its own: u, the x axis carried counter-clockwise by the turn, and v,
//! the y axis likewise, both through the board's origin. Coordinates in turned
//! axes are irrational, so they are kept in fixed point, 2^20 steps to a length
//! unit; whatever is within 2^-10 of a unit of a whole unit is that unit, and
//! two rectangles that overlap by no more than that only touch. All of it is
//! integer arithmetic and gives the same answers on every machine.
//!
//! Lengths are expected to have passed validation (at most 1000 m).

mod placed;
mod rect;
mod span;

pub use placed::PlacedBox;
pub use rect::{Rect, share_ground};
pub use span::{Fixed, Span};
