//! Money that never rounds until it is printed.

use std::borrow::Cow;
use std::iter::Sum;
use std::ops::{Add, AddAssign, Mul, Sub};

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Serialize};

use crate::Length;
use crate::number::{as_text, decimal, excerpt, rounded};

/// Money units in 1/10,000 of a currency unit: the least common multiple of
/// 292,608 (length units in a yard) and 320,000 (length units in a metre).
const PER_TEN_THOUSANDTH: i128 = 365_760_000;

/// An amount as typed: a whole number of 1/10,000 of a currency unit.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(transparent)]
pub struct Amount(i64);

/// Why a text is not an amount of money.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum AmountError {
    /// Not a plain number.
    #[error("`{0}` is not an amount such as 12.95")]
    NotANumber(String),
    /// More than four decimals.
    #[error("`{0}` has more than four decimals")]
    TooFine(String),
    /// Above [`Amount::MAX_TYPED`].
    #[error("`{0}` is more than 1000000")]
    TooLarge(String),
}

impl Amount {
    /// Nothing.
    pub const ZERO: Self = Self(0);
    /// The largest amount a person may type, one million.
    pub const MAX_TYPED: Self = Self(1_000_000 * 10_000);

    /// An amount of so many 1/10,000 of a currency unit.
    #[must_use]
    pub const fn from_ten_thousandths(count: i64) -> Self {
        Self(count)
    }

    /// The number of 1/10,000 of a currency unit.
    #[must_use]
    pub const fn ten_thousandths(self) -> i64 {
        self.0
    }

    /// Reads `12`, `12.95` or `0.125`, without a currency sign.
    ///
    /// # Errors
    /// [`AmountError`] if it is not a plain number from 0 to one million with
    /// at most four decimals.
    pub fn parse(text: &str) -> Result<Self, AmountError> {
        let text = text.trim();
        let Some((numerator, denominator)) = decimal(text) else {
            return Err(AmountError::NotANumber(excerpt(text)));
        };
        let scaled = numerator * 10_000;
        if scaled % denominator != 0 {
            return Err(AmountError::TooFine(excerpt(text)));
        }
        match i64::try_from(scaled / denominator) {
            Ok(count) if count <= Self::MAX_TYPED.0 => Ok(Self(count)),
            _ => Err(AmountError::TooLarge(excerpt(text))),
        }
    }

    /// The same amount as exact money.
    #[must_use]
    pub const fn money(self) -> Money {
        Money(self.0 as i128 * PER_TEN_THOUSANDTH)
    }
}

/// What a price is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Per {
    /// A yard of length.
    Yard,
    /// A metre of length.
    Metre,
}

/// The price of a length of fabric.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Price {
    /// How much.
    pub amount: Amount,
    /// For what length.
    pub per: Per,
}

impl Mul<Length> for Price {
    type Output = Money;
    /// The exact price of that length.
    fn mul(self, length: Length) -> Money {
        let units_per = match self.per {
            Per::Yard => Length::UNITS_PER_YARD,
            Per::Metre => Length::UNITS_PER_METRE,
        };
        let each = PER_TEN_THOUSANDTH / i128::from(units_per);
        Money(i128::from(self.amount.0) * i128::from(length.units()) * each)
    }
}

/// Exact money: a whole number of 1/3,657,600,000,000 of a currency unit.
///
/// That is 1/10,000 divided by 365,760,000, the least common multiple of the
/// length units in a yard (292,608) and in a metre (320,000). So a price with
/// four decimals per yard or per metre gives a whole number for every length,
/// and, 3600 dividing it too, so does an hourly worth for every second. In
/// JSON it is decimal text.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Money(#[serde(with = "as_text")] i128);

impl Money {
    /// No money.
    pub const ZERO: Self = Self(0);
    /// Money units in one currency unit.
    pub const UNITS_PER_ONE: i128 = 10_000 * PER_TEN_THOUSANDTH;

    /// So many units of 1/3,657,600,000,000.
    #[must_use]
    pub const fn from_units(units: i128) -> Self {
        Self(units)
    }

    /// The number of units of 1/3,657,600,000,000.
    #[must_use]
    pub const fn units(self) -> i128 {
        self.0
    }

    /// What so many seconds cost at so much an hour, exactly.
    #[must_use]
    pub fn from_hourly(worth_of_an_hour: Amount, seconds: i64) -> Self {
        Self(i128::from(worth_of_an_hour.0) * i128::from(seconds) * (PER_TEN_THOUSANDTH / 3_600))
    }

    /// Rounded half up to cents, the caller's sign in front: `$12.95`.
    #[must_use]
    pub fn show(self, symbol: &str) -> String {
        let size = rounded(self.0.abs(), Self::UNITS_PER_ONE, 2);
        let negative = self.0 < 0 && size != "0.00";
        format!("{}{symbol}{size}", if negative { "-" } else { "" })
    }
}

impl JsonSchema for Money {
    fn schema_name() -> Cow<'static, str> {
        "Money".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "type": "string",
            "pattern": "^(0|-?[1-9][0-9]*)$",
            "description": "exact money in units of 1/3657600000000 of the currency, as decimal text"
        })
    }
}

impl Add for Money {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

impl AddAssign for Money {
    fn add_assign(&mut self, other: Self) {
        self.0 += other.0;
    }
}

impl Sub for Money {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
}

impl Mul<i64> for Money {
    type Output = Self;
    fn mul(self, times: i64) -> Self {
        Self(self.0 * i128::from(times))
    }
}

impl Sum for Money {
    fn sum<I: Iterator<Item = Self>>(amounts: I) -> Self {
        amounts.fold(Self::ZERO, Add::add)
    }
}
