//! Strips with what is cut from them, and how long that is.

use std::collections::BTreeMap;

use patchlay_measure::Length;

/// A strip with what is still uncut on it.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct OpenStrip {
    /// Its pattern's width, grid steps.
    pub width: i64,
    /// Plies left, by class.
    pub free: BTreeMap<usize, i64>,
    /// Unused length once every ply left is cut flat.
    pub slack: Length,
    /// Pieces cut so far: class and plies, in order.
    pub pieces: Vec<(usize, u32)>,
}

/// A piece: strip (index into the fabric's open strips) and its place in `OpenStrip::pieces`.
pub type PieceRef = (usize, usize);

/// Lengths on a strip.
#[derive(Clone, Copy, Debug, Hash)]
pub struct Measures<'a> {
    /// Classes of the fabric.
    pub classes: &'a [crate::model::Class],
    /// Units in a grid step.
    pub grid: i64,
    /// Fold allowance.
    pub fold: Length,
    /// Ruler step.
    pub step: Length,
}

impl Measures<'_> {
    /// Length of a piece of so many plies along a strip of that width.
    #[must_use]
    pub fn length(&self, class: usize, width: i64, plies: u32) -> Length {
        let run = self.classes[class].run_in(width).unwrap_or(0) * self.grid;
        let folds = i64::from(plies.saturating_sub(1));
        Length::from_units(run * i64::from(plies) + self.fold.units() * folds).ceil_to(self.step)
    }

    /// Length that folding so many plies takes beyond cutting them flat.
    #[must_use]
    pub fn extra(&self, class: usize, width: i64, plies: u32) -> Length {
        let flat = self.length(class, width, 1).units() * i64::from(plies);
        self.length(class, width, plies) - Length::from_units(flat)
    }
}
