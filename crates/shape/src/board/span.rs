//! Coordinates in fixed point and ranges of them.

use std::ops::{Add, Neg, Sub};

use patchlay_measure::Length;

/// Steps of the fixed point in one length unit.
const STEPS: i128 = 1 << 20;
/// What counts as nothing: 2^-10 of a unit.
const TOLERANCE: i128 = 1 << 10;

/// A signed coordinate or distance in 2^-20 of a length unit.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Fixed(i128);

impl Fixed {
    /// The origin, or no distance.
    pub const ZERO: Self = Self(0);
    /// What counts as nothing: 2^-10 of a unit.
    pub const TOLERANCE: Self = Self(TOLERANCE);

    /// A whole length, exactly.
    #[must_use]
    pub const fn from_length(length: Length) -> Self {
        Self(length.units() as i128 * STEPS)
    }

    /// Half units, exactly.
    #[must_use]
    pub const fn from_half_units(half_units: i64) -> Self {
        Self(half_units as i128 * (STEPS / 2))
    }

    /// So many 2^-20 of a unit.
    #[must_use]
    pub const fn from_steps(steps: i128) -> Self {
        Self(steps)
    }

    /// The number of 2^-20 of a unit.
    #[must_use]
    pub const fn steps(self) -> i128 {
        self.0
    }

    /// Rounded down to a length, after taking a value within the tolerance of a
    /// whole unit to be that unit.
    #[must_use]
    pub fn rounded_down(self) -> Length {
        Self::length((self.0 + TOLERANCE).div_euclid(STEPS))
    }

    /// Rounded up to a length, after taking a value within the tolerance of a
    /// whole unit to be that unit.
    #[must_use]
    pub fn rounded_up(self) -> Length {
        Self::length(-(-self.0 + TOLERANCE).div_euclid(STEPS))
    }

    fn length(units: i128) -> Length {
        let limit = if units < 0 { i64::MIN } else { i64::MAX };
        Length::from_units(i64::try_from(units).unwrap_or(limit))
    }

    /// In length units, for drawing.
    #[must_use]
    pub fn units_f64(self) -> f64 {
        self.0 as f64 / STEPS as f64
    }
}

impl Add for Fixed {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

impl Sub for Fixed {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
}

impl Neg for Fixed {
    type Output = Self;
    fn neg(self) -> Self {
        Self(-self.0)
    }
}

/// A range along one axis, `low` <= `high`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Span {
    /// Lower end.
    pub low: Fixed,
    /// Upper end.
    pub high: Fixed,
}

impl Span {
    /// A range between two coordinates, given in either order.
    #[must_use]
    pub fn between(one: Fixed, other: Fixed) -> Self {
        Self { low: one.min(other), high: one.max(other) }
    }

    /// From 0 to a length.
    #[must_use]
    pub fn from_zero(length: Length) -> Self {
        Self::between(Fixed::ZERO, Fixed::from_length(length))
    }

    /// Its length rounded up (with snapping).
    #[must_use]
    pub fn extent(&self) -> Length {
        (self.high - self.low).rounded_up()
    }

    /// From the upper end of `other`, on the low side, to this: rounded down
    /// (with snapping), negative if they overlap.
    #[must_use]
    pub fn gap_low(&self, other: &Self) -> Length {
        (self.low - other.high).rounded_down()
    }

    /// From this to the lower end of `other`, on the high side: rounded down
    /// (with snapping), negative if they overlap.
    #[must_use]
    pub fn gap_high(&self, other: &Self) -> Length {
        (other.low - self.high).rounded_down()
    }

    /// Whether the two share more than the tolerance; touching is not meeting.
    #[must_use]
    pub fn meets(&self, other: &Self) -> bool {
        self.high.min(other.high) - self.low.max(other.low) > Fixed::TOLERANCE
    }

    /// Whether `other` lies within this, up to the tolerance.
    #[must_use]
    pub fn holds(&self, other: &Self) -> bool {
        other.low + Fixed::TOLERANCE >= self.low && other.high <= self.high + Fixed::TOLERANCE
    }

    /// The smallest range that covers both.
    #[must_use]
    pub fn cover(&self, other: &Self) -> Self {
        Self { low: self.low.min(other.low), high: self.high.max(other.high) }
    }

    /// Grown by a length at each end.
    #[must_use]
    pub fn grown(&self, low: Length, high: Length) -> Self {
        Self { low: self.low - Fixed::from_length(low), high: self.high + Fixed::from_length(high) }
    }
}
