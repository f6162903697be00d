//! Costs of one question put to the model, exact.

/// Linear costs, all integers over one `unit`: a cost of `unit` is 1 in the figure's own unit.
#[derive(Clone, Debug, PartialEq, Eq)]
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
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Limits {
    /// Most strip width in all, grid steps, by fabric.
    pub width: Option<Vec<i64>>,
    /// Most passes in all.
    pub passes: Option<i64>,
}

/// Passes that a board may make: a part of all plans, of which a proof speaks on its own.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct PassRange {
    /// Fewest.
    pub least: i64,
    /// Most, if there is a limit.
    pub most: Option<i64>,
}

/// Greatest common divisor.
#[must_use]
pub fn gcd(a: i128, b: i128) -> i128 {
    if b == 0 { a.abs() } else { gcd(b, a % b) }
}
