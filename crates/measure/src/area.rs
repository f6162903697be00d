//! Areas.

use std::borrow::Cow;
use std::iter::Sum;
use std::ops::{Add, AddAssign, Mul, Sub, SubAssign};

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Serialize};

use crate::number::{as_text, rounded};
use crate::{Length, UnitSystem};

/// An area in whole square units, (1/8128 in)².
///
/// In JSON it is decimal text, because a square inch is already 66 million
/// units and readers that hold numbers in doubles would lose digits. May be
/// negative, as a difference.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Area(#[serde(with = "as_text")] i128);

impl Area {
    /// No area.
    pub const ZERO: Self = Self(0);

    /// An area of so many square units.
    #[must_use]
    pub const fn from_units(units: i128) -> Self {
        Self(units)
    }

    /// The number of square units.
    #[must_use]
    pub const fn units(self) -> i128 {
        self.0
    }

    /// `23.4 sq in` or `151 sq cm`: two decimals below 10, one below 1000, none
    /// from there on; rounded half up. Never for deciding anything.
    #[must_use]
    pub fn show(self, system: UnitSystem) -> String {
        let (side, name) = match system {
            UnitSystem::Inch => (Length::UNITS_PER_INCH, "sq in"),
            UnitSystem::Metric => (100 * Length::UNITS_PER_MM_TENTH, "sq cm"),
        };
        let one = i128::from(side) * i128::from(side);
        let decimals = match self.0.unsigned_abs() / one.unsigned_abs() {
            0..10 => 2,
            10..1000 => 1,
            _ => 0,
        };
        format!("{} {name}", rounded(self.0, one, decimals))
    }
}

impl JsonSchema for Area {
    fn schema_name() -> Cow<'static, str> {
        "Area".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "type": "string",
            "pattern": "^(0|-?[1-9][0-9]*)$",
            "description": "area in whole square units of (1/8128 in)², as decimal text"
        })
    }
}

impl Add for Area {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

impl AddAssign for Area {
    fn add_assign(&mut self, other: Self) {
        self.0 += other.0;
    }
}

impl Sub for Area {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
}

impl SubAssign for Area {
    fn sub_assign(&mut self, other: Self) {
        self.0 -= other.0;
    }
}

impl Mul<i64> for Area {
    type Output = Self;
    fn mul(self, times: i64) -> Self {
        Self(self.0 * i128::from(times))
    }
}

impl Sum for Area {
    fn sum<I: Iterator<Item = Self>>(areas: I) -> Self {
        areas.fold(Self::ZERO, Add::add)
    }
}
