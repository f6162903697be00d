//! The one unit of length.

use std::iter::Sum;
use std::ops::{Add, AddAssign, Mul, Neg, Sub, SubAssign};

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::Area;

/// A length in whole units of 1/8128 in.
///
/// 8128 is the smallest count per inch in which both 1/64 in (127 units) and
/// 0.1 mm (32 units) are whole, because 1 in = 25.4 mm exactly. In JSON a
/// length is that plain integer.
///
/// The operators panic on overflow in debug builds; they are meant for lengths
/// that have passed validation against [`Length::MAX_TYPED`]. The `checked_`
/// methods are for everything before that.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(transparent)]
pub struct Length(i64);

impl Length {
    /// Units in one inch.
    pub const UNITS_PER_INCH: i64 = 8128;
    /// Units in one sixty-fourth of an inch.
    pub const UNITS_PER_64TH: i64 = 127;
    /// Units in a tenth of a millimetre.
    pub const UNITS_PER_MM_TENTH: i64 = 32;
    /// Units in one yard (36 in).
    pub const UNITS_PER_YARD: i64 = 36 * Self::UNITS_PER_INCH;
    /// Units in one metre.
    pub const UNITS_PER_METRE: i64 = 10_000 * Self::UNITS_PER_MM_TENTH;

    /// No length at all.
    pub const ZERO: Self = Self(0);
    /// The smallest length above zero, 1/8128 in.
    pub const UNIT: Self = Self(1);
    /// The longest length a person may type: 1,000 m. Sums and products of a
    /// few million such lengths stay far inside 64 bits.
    pub const MAX_TYPED: Self = Self(1_000 * Self::UNITS_PER_METRE);

    /// A length of `units` times 1/8128 in.
    #[must_use]
    pub const fn from_units(units: i64) -> Self {
        Self(units)
    }

    /// The number of 1/8128 in units.
    #[must_use]
    pub const fn units(self) -> i64 {
        self.0
    }

    /// A whole number of inches. For constants and defaults; panics if the
    /// product leaves 64 bits.
    #[must_use]
    pub const fn from_inches(inches: i64) -> Self {
        Self(inches * Self::UNITS_PER_INCH)
    }

    /// `count` sixty-fourths of an inch. For constants and defaults.
    #[must_use]
    pub const fn from_64ths(count: i64) -> Self {
        Self(count * Self::UNITS_PER_64TH)
    }

    /// `count` tenths of a millimetre. For constants and defaults.
    #[must_use]
    pub const fn from_mm_tenths(count: i64) -> Self {
        Self(count * Self::UNITS_PER_MM_TENTH)
    }

    /// The sum, or `None` on overflow.
    #[must_use]
    pub const fn checked_add(self, other: Self) -> Option<Self> {
        match self.0.checked_add(other.0) {
            Some(units) => Some(Self(units)),
            None => None,
        }
    }

    /// The difference, or `None` on overflow.
    #[must_use]
    pub const fn checked_sub(self, other: Self) -> Option<Self> {
        match self.0.checked_sub(other.0) {
            Some(units) => Some(Self(units)),
            None => None,
        }
    }

    /// `self` taken `times` times, or `None` on overflow.
    #[must_use]
    pub const fn checked_mul(self, times: i64) -> Option<Self> {
        match self.0.checked_mul(times) {
            Some(units) => Some(Self(units)),
            None => None,
        }
    }

    /// The least multiple of `step` that is not below `self`; an exact multiple
    /// stays as it is. A step of zero or less leaves `self` alone.
    #[must_use]
    pub const fn ceil_to(self, step: Self) -> Self {
        if step.0 <= 0 {
            return self;
        }
        match self.0.rem_euclid(step.0) {
            0 => self,
            rest => Self(self.0 + (step.0 - rest)),
        }
    }

    /// The greatest multiple of `step` that is not above `self`; an exact
    /// multiple stays as it is. A step of zero or less leaves `self` alone.
    #[must_use]
    pub const fn floor_to(self, step: Self) -> Self {
        if step.0 <= 0 {
            return self;
        }
        Self(self.0 - self.0.rem_euclid(step.0))
    }

    /// Half of it, rounded down to the unit (towards minus infinity).
    #[must_use]
    pub const fn half_floor(self) -> Self {
        Self(self.0.div_euclid(2))
    }

    /// How many whole `run`s fit end to end in `self`; 0 where either is not
    /// above zero. Exact: 42 in holds eight runs of 5 1/4 in.
    #[must_use]
    pub const fn whole_runs(self, run: Self) -> i64 {
        if run.0 <= 0 || self.0 <= 0 { 0 } else { self.0 / run.0 }
    }

    /// Whether it is above zero.
    #[must_use]
    pub const fn is_positive(self) -> bool {
        self.0 > 0
    }
}

impl Add for Length {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

impl AddAssign for Length {
    fn add_assign(&mut self, other: Self) {
        self.0 += other.0;
    }
}

impl Sub for Length {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
}

impl SubAssign for Length {
    fn sub_assign(&mut self, other: Self) {
        self.0 -= other.0;
    }
}

impl Neg for Length {
    type Output = Self;
    fn neg(self) -> Self {
        Self(-self.0)
    }
}

impl Mul<i64> for Length {
    type Output = Self;
    fn mul(self, times: i64) -> Self {
        Self(self.0 * times)
    }
}

impl Mul for Length {
    type Output = Area;
    fn mul(self, other: Self) -> Area {
        Area::from_units(i128::from(self.0) * i128::from(other.0))
    }
}

impl Sum for Length {
    fn sum<I: Iterator<Item = Self>>(lengths: I) -> Self {
        lengths.fold(Self::ZERO, Add::add)
    }
}

impl<'a> Sum<&'a Length> for Length {
    fn sum<I: Iterator<Item = &'a Length>>(lengths: I) -> Self {
        lengths.copied().sum()
    }
}
