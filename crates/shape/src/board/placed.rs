//! A position's box as it is placed on a board.

use patchlay_measure::Length;

use super::rect::{Rect, carried};
use super::span::{Fixed, Span};
use crate::Turn;

/// A box placed by the centre of its grid, its turn, and its offset in the
/// grid's own axes.
///
/// Boxes of one grid have one anchor and one turn, so the distances between
/// them are exact whatever the turn: only their common anchor is rounded, and
/// that cancels. A single box is a grid of one with offset (0, 0).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct PlacedBox {
    /// Centre of the grid on the board (x, y), in half units.
    pub anchor: (i64, i64),
    /// How far the grid is turned.
    pub turn: Turn,
    /// Centre of the box from the anchor along the grid's own axes (u, v), in
    /// half units.
    pub offset: (i64, i64),
    /// Size along the own u axis.
    pub width: Length,
    /// Size along the own v axis.
    pub length: Length,
}

impl PlacedBox {
    /// The rectangle it covers, in its own axes.
    #[must_use]
    pub fn rect(&self) -> Rect {
        let anchor = (Fixed::from_half_units(self.anchor.0), Fixed::from_half_units(self.anchor.1));
        let (u, v) = carried(anchor, self.turn.back());
        Rect {
            turn: self.turn,
            u: around(u + Fixed::from_half_units(self.offset.0), self.width),
            v: around(v + Fixed::from_half_units(self.offset.1), self.length),
        }
    }

    /// Its range along its own u axis.
    #[must_use]
    pub fn u_range(&self) -> Span {
        self.rect().u
    }

    /// Its range along its own v axis.
    #[must_use]
    pub fn v_range(&self) -> Span {
        self.rect().v
    }

    /// Its corners (x, y) on the board, counter-clockwise.
    #[must_use]
    pub fn corners(&self) -> [(Fixed, Fixed); 4] {
        self.rect().corners()
    }

    /// Whether it lies on a board from the origin to (`width`, `length`).
    #[must_use]
    pub fn inside(&self, width: Length, length: Length) -> bool {
        self.rect().inside(width, length)
    }

    /// Whether two boxes overlap; touching is not overlapping.
    #[must_use]
    pub fn overlaps(&self, other: &Self) -> bool {
        self.rect().overlaps(&other.rect())
    }
}

/// A range of a given length about its middle.
fn around(middle: Fixed, length: Length) -> Span {
    let half = Fixed::from_half_units(length.units());
    Span { low: middle - half, high: middle + half }
}
