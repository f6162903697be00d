//! Costs of one question put to the model, exact.

use std::collections::BTreeMap;

use crate::oracle::Floors;

/// Linear costs, all integers over one `unit`: a cost of `unit` is 1 in the figure's own unit.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Costs {
    /// Denominator of all coefficients, positive.
    pub unit: i128,
    /// Per grid step of strip width, by fabric.
    pub width: Vec<i128>,
    /// Per strip.
    pub strip: i128,
    /// Per ply, by fabric.
    pub ply: Vec<i128>,
    /// Per pass.
    pub pass: i128,
}

impl Costs {
    /// Nothing costs anything.
    #[must_use]
    pub fn zero(fabrics: usize) -> Self {
        Self { unit: 1, width: vec![0; fabrics], strip: 0, ply: vec![0; fabrics], pass: 0 }
    }
}

/// What earlier figures of the aim's order allow.
#[derive(Clone, Debug, Default, PartialEq, Eq, Hash)]
pub struct Limits {
    /// Most strip width in all, grid steps, by fabric.
    pub width: Option<Vec<i64>>,
    /// Most passes in all.
    pub passes: Option<i64>,
    /// Passes of every board; empty where none is limited.
    pub boards: Vec<Range>,
}

impl Limits {
    /// How many passes a board may make.
    #[must_use]
    pub fn board(&self, board: usize) -> Range {
        self.boards.get(board).copied().unwrap_or_default()
    }
}

/// From the least to the most that there may be of something.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Range {
    /// Least.
    pub least: i64,
    /// Most, if there is a limit.
    pub most: Option<i64>,
}

impl Range {
    /// What as many cost at least at a price that may be below zero; where there is no limit it counts as zero.
    #[must_use]
    pub fn at_least(&self, price: i128) -> i128 {
        price * i128::from(if price < 0 { self.most.unwrap_or(0) } else { self.least })
    }
}

/// A part of all plans, of which a proof speaks on its own.
#[derive(Clone, Debug, Default, PartialEq, Eq, Hash)]
pub struct Region {
    /// Passes, by board.
    pub passes: Vec<Range>,
    /// Strip widths in all, by fabric, grid steps.
    pub cloth: Vec<Range>,
    /// Plies, by fabric and kind; any number of what is not named.
    pub plies: BTreeMap<(usize, usize), Range>,
    /// Most passes in all.
    pub most_passes: Option<i64>,
}

impl Region {
    /// All plans within the limits, in a model of so many boards and fabrics.
    #[must_use]
    pub fn within(limits: &Limits, boards: usize, fabrics: usize) -> Self {
        let most = |f: usize| limits.width.as_ref().map(|width| width[f]);
        Self {
            passes: (0..boards).map(|board| limits.board(board)).collect(),
            cloth: (0..fabrics).map(|f| Range { least: 0, most: most(f) }).collect(),
            plies: BTreeMap::new(),
            most_passes: limits.passes,
        }
    }

    /// What a fabric's plans must have at least.
    #[must_use]
    pub fn floors(&self, f: usize) -> Floors {
        let plies = self.plies.iter().filter(|((of, _), range)| *of == f && range.least > 0);
        Floors { cloth: self.cloth[f].least, plies: plies.map(|((_, k), range)| (*k, range.least)).collect() }
    }
}

/// Greatest common divisor.
#[must_use]
pub fn gcd(a: i128, b: i128) -> i128 {
    if b == 0 { a.abs() } else { gcd(b, a % b) }
}
