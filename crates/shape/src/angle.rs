//! Angles in whole hundredths of a degree.

use std::fmt;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::trig;

/// A full turn in hundredths of a degree.
const FULL: i32 = 36_000;

/// An inside corner of a shape, in whole hundredths of a degree.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(transparent)]
pub struct Angle(i32);

/// How far something is turned counter-clockwise, in whole hundredths of a
/// degree, always from 0 to 35,999.
///
/// On a board, counter-clockwise is as seen from above with x to the right and
/// y upwards on the drawing: it carries the x axis towards the y axis.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, JsonSchema)]
#[serde(transparent)]
pub struct Turn(i32);

/// Why a text is not an angle.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("this is not an angle in degrees with at most two decimals")]
pub struct AngleError;

impl Angle {
    /// 90 degrees.
    pub const RIGHT: Self = Self(9_000);

    /// An angle of so many hundredths of a degree.
    #[must_use]
    pub const fn from_hundredths(hundredths: i32) -> Self {
        Self(hundredths)
    }

    /// An angle of so many whole degrees, for constants.
    #[must_use]
    pub const fn from_degrees(degrees: i32) -> Self {
        Self(degrees * 100)
    }

    /// The number of hundredths of a degree.
    #[must_use]
    pub const fn hundredths(self) -> i32 {
        self.0
    }

    /// Reads degrees such as `45` or `22.5`.
    ///
    /// # Errors
    /// [`AngleError`] if it is not a number of degrees with at most two
    /// decimals, or is beyond 100,000 degrees either way.
    pub fn parse(text: &str) -> Result<Self, AngleError> {
        hundredths(text).map(Self)
    }

    /// Sine and cosine for drawing and for sizes; the same bits everywhere.
    pub(crate) fn sin_cos(self) -> (f64, f64) {
        trig::sin_cos_float(i128::from(self.0))
    }
}

impl Turn {
    /// Not turned.
    pub const NONE: Self = Self(0);
    /// A quarter turn counter-clockwise.
    pub const QUARTER: Self = Self(9_000);
    /// Half a turn.
    pub const HALF: Self = Self(18_000);

    /// A turn of so many hundredths of a degree, full turns taken away.
    #[must_use]
    pub const fn from_hundredths(hundredths: i32) -> Self {
        Self(hundredths.rem_euclid(FULL))
    }

    /// A turn of so many whole degrees, for constants.
    #[must_use]
    pub const fn from_degrees(degrees: i32) -> Self {
        Self::from_hundredths(degrees.rem_euclid(360) * 100)
    }

    /// Hundredths of a degree, 0 to 35,999.
    #[must_use]
    pub const fn hundredths(self) -> i32 {
        self.0
    }

    /// Reads degrees such as `45`, `22.5` or `-30`.
    ///
    /// # Errors
    /// [`AngleError`] if it is not a number of degrees with at most two
    /// decimals, or is beyond 100,000 degrees either way.
    pub fn parse(text: &str) -> Result<Self, AngleError> {
        hundredths(text).map(Self::from_hundredths)
    }

    /// This turn and then another.
    #[must_use]
    pub const fn then(self, other: Self) -> Self {
        Self::from_hundredths(self.0 + other.0)
    }

    /// The turn that undoes this one.
    #[must_use]
    pub const fn back(self) -> Self {
        Self::from_hundredths(-self.0)
    }

    /// Whether it is a whole number of quarter turns.
    #[must_use]
    pub const fn is_square(self) -> bool {
        self.0 % 9_000 == 0
    }

    /// Sine and cosine in 60 binary places: exact at quarter turns, equal at
    /// 45 degrees.
    #[must_use]
    pub fn sin_cos_fixed(self) -> (i128, i128) {
        trig::sin_cos(i128::from(self.0))
    }

    /// Sine and cosine for drawing; the same bits on every machine.
    #[must_use]
    pub fn sin_cos(self) -> (f64, f64) {
        trig::sin_cos_float(i128::from(self.0))
    }
}

impl<'de> Deserialize<'de> for Turn {
    fn deserialize<D: serde::Deserializer<'de>>(input: D) -> Result<Self, D::Error> {
        i32::deserialize(input).map(Self::from_hundredths)
    }
}

impl fmt::Display for Angle {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write_degrees(self.0, out)
    }
}

impl fmt::Display for Turn {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write_degrees(self.0, out)
    }
}

fn write_degrees(hundredths: i32, out: &mut fmt::Formatter<'_>) -> fmt::Result {
    let sign = if hundredths < 0 { "-" } else { "" };
    let (whole, part) = (hundredths.unsigned_abs() / 100, hundredths.unsigned_abs() % 100);
    match part {
        0 => write!(out, "{sign}{whole}°"),
        _ if part % 10 == 0 => write!(out, "{sign}{whole}.{}°", part / 10),
        _ => write!(out, "{sign}{whole}.{part:02}°"),
    }
}

fn hundredths(text: &str) -> Result<i32, AngleError> {
    let text = text.trim();
    let text = text.strip_suffix('°').unwrap_or(text).trim_end();
    let (negative, text) = match text.strip_prefix('-') {
        Some(rest) => (true, rest),
        None => (false, text),
    };
    let (whole, part) = text.split_once('.').unwrap_or((text, ""));
    let digits = |piece: &str| piece.bytes().all(|byte| byte.is_ascii_digit());
    if whole.is_empty() || whole.len() > 5 || part.len() > 2 || !digits(whole) || !digits(part) {
        return Err(AngleError);
    }
    let number = format!("{whole}{part:0<2}").parse::<i32>().map_err(|_| AngleError)?;
    Ok(if negative { -number } else { number })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn degrees_are_read_and_printed() {
        for (text, hundredths, shown) in [
            ("45", 4_500, "45°"),
            ("22.5", 2_250, "22.5°"),
            (" 33.75° ", 3_375, "33.75°"),
            ("0.05", 5, "0.05°"),
            ("-30", -3_000, "-30°"),
        ] {
            let angle = Angle::parse(text).unwrap();
            assert_eq!((angle.hundredths(), angle.to_string().as_str()), (hundredths, shown));
        }
        let huge = "9".repeat(400);
        for text in ["", "x", "1e3", "1.234", "NaN", "--1", ".5", "4 5", huge.as_str()] {
            assert_eq!(Angle::parse(text), Err(AngleError), "{text}");
        }
    }

    #[test]
    fn turns_stay_within_one_turn() {
        assert_eq!(Turn::parse("-90").unwrap(), Turn::from_degrees(270));
        assert_eq!(Turn::from_degrees(350).then(Turn::from_degrees(20)), Turn::from_degrees(10));
        assert_eq!(Turn::from_degrees(350).back(), Turn::from_degrees(10));
        assert_eq!(Turn::from_hundredths(i32::MAX).hundredths(), i32::MAX.rem_euclid(36_000));
    }
}
