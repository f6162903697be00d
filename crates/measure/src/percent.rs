//! Percentages, shrinkage and shares that add up.

use std::fmt;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::Length;
use crate::number::{decimal, excerpt, rounded};

/// A percentage in hundredths of a percent: 2.5 % is 250.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(transparent)]
pub struct Percent(u32);

/// Why a text is not a percentage, or a percentage cannot be a shrinkage.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum PercentError {
    /// Not a plain number.
    #[error("`{0}` is not a percentage such as 3 or 2.5")]
    NotANumber(String),
    /// More than two decimals.
    #[error("`{0}` has more than two decimals")]
    TooFine(String),
    /// Above [`Percent::MAX_TYPED`].
    #[error("`{0}` is more than 1000 %")]
    TooLarge(String),
    /// Cloth that shrinks to nothing.
    #[error("cloth cannot shrink by {0}")]
    ShrinksAway(Percent),
}

impl Percent {
    /// Nothing.
    pub const ZERO: Self = Self(0);
    /// All of it.
    pub const HUNDRED: Self = Self(10_000);
    /// The largest percentage a person may type, 1000 %.
    pub const MAX_TYPED: Self = Self(100_000);

    /// So many hundredths of a percent.
    #[must_use]
    pub const fn from_hundredths(count: u32) -> Self {
        Self(count)
    }

    /// The number of hundredths of a percent.
    #[must_use]
    pub const fn hundredths(self) -> u32 {
        self.0
    }

    /// Reads `3`, `2.5` or `2.5 %`.
    ///
    /// # Errors
    /// [`PercentError`] if it is not a plain number from 0 to 1000 with at most
    /// two decimals.
    pub fn parse(text: &str) -> Result<Self, PercentError> {
        let text = text.trim();
        let number = text.strip_suffix('%').unwrap_or(text).trim_end();
        let Some((numerator, denominator)) = decimal(number) else {
            return Err(PercentError::NotANumber(excerpt(text)));
        };
        let scaled = numerator * 100;
        if scaled % denominator != 0 {
            return Err(PercentError::TooFine(excerpt(text)));
        }
        match u32::try_from(scaled / denominator) {
            Ok(count) if count <= Self::MAX_TYPED.0 => Ok(Self(count)),
            _ => Err(PercentError::TooLarge(excerpt(text))),
        }
    }

    /// This share of a count, rounded up: 5 % of 41 patches is 3.
    #[must_use]
    pub fn of_count_rounded_up(self, count: u64) -> u64 {
        let product = u128::from(count) * u128::from(self.0);
        u64::try_from(product.div_ceil(10_000)).unwrap_or(u64::MAX)
    }
}

impl fmt::Display for Percent {
    /// `3 %`, `2.5 %`.
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let text = rounded(self.0.into(), 100, 2);
        write!(out, "{} %", text.trim_end_matches('0').trim_end_matches('.'))
    }
}

/// The length to buy so that `needed` is left after washing: needed / (1 - p),
/// rounded up to the unit.
///
/// # Errors
/// [`PercentError::ShrinksAway`] if the shrinkage is 100 % or more, or so near
/// that the length leaves 64 bits.
pub fn buy_length(needed: Length, shrinkage: Percent) -> Result<Length, PercentError> {
    let kept = i128::from(10_000_u32.saturating_sub(shrinkage.0));
    if kept == 0 {
        return Err(PercentError::ShrinksAway(shrinkage));
    }
    let units = (i128::from(needed.units()) * 10_000 + kept - 1).div_euclid(kept);
    i64::try_from(units).map(Length::from_units).map_err(|_| PercentError::ShrinksAway(shrinkage))
}

/// The width left after washing: width x (1 - p), rounded down to the unit.
///
/// # Errors
/// [`PercentError::ShrinksAway`] if the shrinkage is 100 % or more.
pub fn width_after_washing(width: Length, shrinkage: Percent) -> Result<Length, PercentError> {
    let kept = i128::from(10_000_u32.saturating_sub(shrinkage.0));
    let units = (i128::from(width.units()) * kept).div_euclid(10_000);
    match i64::try_from(units) {
        Ok(units) if kept > 0 => Ok(Length::from_units(units)),
        _ => Err(PercentError::ShrinksAway(shrinkage)),
    }
}

/// `length` rounded up to a multiple of `step`; an exact multiple is not
/// rounded further. The same as [`Length::ceil_to`].
#[must_use]
pub const fn round_up_to_step(length: Length, step: Length) -> Length {
    length.ceil_to(step)
}

/// Shares `total` among `parts` in proportion, in whole numbers that add up to
/// `total` exactly, by the largest remainder (ties go to the earlier part).
///
/// With `total` = 1000 the answers are tenths of a percent. Parts below zero
/// count as zero; if no part is above zero, every share is 0.
#[must_use]
pub fn largest_remainder(parts: &[i128], total: u32) -> Vec<u32> {
    let (parts, sum) = scaled_down(parts);
    if sum == 0 {
        return vec![0; parts.len()];
    }
    let products: Vec<u128> = parts.iter().map(|part| part * u128::from(total)).collect();
    let mut shares: Vec<u32> =
        products.iter().map(|product| u32::try_from(product / sum).unwrap_or(total)).collect();
    let given: u32 = shares.iter().sum();
    let mut order: Vec<usize> = (0..parts.len()).collect();
    order.sort_by_key(|&at| (std::cmp::Reverse(products[at] % sum), at));
    for &at in order.iter().take((total - given) as usize) {
        shares[at] += 1;
    }
    shares
}

/// The parts without signs, all shifted right alike until their sum leaves
/// room for a 32-bit factor.
fn scaled_down(parts: &[i128]) -> (Vec<u128>, u128) {
    let mut parts: Vec<u128> = parts.iter().map(|&part| part.max(0).unsigned_abs()).collect();
    loop {
        let sum = parts.iter().try_fold(0_u128, |sum, &part| sum.checked_add(part));
        match sum {
            Some(sum) if sum <= u128::MAX >> 32 => return (parts, sum),
            _ => parts.iter_mut().for_each(|part| *part >>= 1),
        }
    }
}
