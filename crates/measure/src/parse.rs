//! Lengths as people write them.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::Length;
use crate::number::{decimal, excerpt, looks_decimal};

/// Which units a person works in: what a bare number means and how results are
/// printed.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "lowercase")]
pub enum UnitSystem {
    /// Inches and yards; a bare number is inches.
    #[default]
    Inch,
    /// Centimetres and metres; a bare number is centimetres.
    Metric,
}

/// Why a text is not a length.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{text}`: {fault}")]
pub struct LengthError {
    /// The text, shortened if it was very long.
    pub text: String,
    /// What is wrong with it.
    pub fault: LengthFault,
}

/// What is wrong with a text that should be a length.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum LengthFault {
    /// Nothing was written.
    #[error("there is no number")]
    Empty,
    /// The number part cannot be read.
    #[error("this is not a number")]
    NotANumber,
    /// The unit after the number is unknown.
    #[error("the unit `{unit}` is not known")]
    UnknownUnit {
        /// The unit as written.
        unit: String,
    },
    /// A minus sign was written.
    #[error("a length cannot be negative")]
    Negative,
    /// A fraction over zero.
    #[error("a fraction cannot have 0 below the line")]
    ZeroDenominator,
    /// Beyond [`Length::MAX_TYPED`], or more digits than any length needs.
    #[error("this is more than 1000 m, or has more digits than a length can need")]
    TooLarge,
    /// Not a whole number of units.
    #[error("this is not a whole number of 1/64 in or 0.1 mm; the nearest are {below} and {above}")]
    NotWhole {
        /// The nearest shorter length that can be typed, as text.
        below: String,
        /// The nearest longer length that can be typed, as text.
        above: String,
    },
}

impl LengthError {
    /// What is wrong, as one sentence without the text itself.
    #[must_use]
    pub fn problem(&self) -> String {
        self.fault.to_string()
    }

    /// What to write instead.
    #[must_use]
    pub fn hint(&self) -> String {
        match &self.fault {
            LengthFault::NotWhole { below, above } => format!("write \"{below}\" or \"{above}\""),
            LengthFault::UnknownUnit { .. } => "use in, yd, mm, cm or m".to_owned(),
            LengthFault::TooLarge => "give a length of at most 1000 m".to_owned(),
            LengthFault::Negative => "leave out the minus sign".to_owned(),
            _ => "write it like 4 1/2, 4.5 in, 11.5 cm or 2 1/8 yd".to_owned(),
        }
    }
}

/// Reads a length: a whole number, a decimal, a fraction or a whole number and
/// a fraction, then an optional unit (`in`, `"`, `ft`, `yd`, `mm`, `cm`, `m`).
/// A bare number means inches or centimetres, as `system` says.
///
/// # Errors
/// [`LengthError`] if the text is no such thing, is negative, is longer than
/// [`Length::MAX_TYPED`], or is not a whole number of units (both neighbours
/// that can be typed are named).
pub fn parse_length(text: &str, system: UnitSystem) -> Result<Length, LengthError> {
    read(text.trim(), system).map_err(|fault| LengthError { text: excerpt(text.trim()), fault })
}

fn read(text: &str, system: UnitSystem) -> Result<Length, LengthFault> {
    if text.is_empty() {
        return Err(LengthFault::Empty);
    }
    if text.starts_with(['-', '\u{2212}']) {
        return Err(LengthFault::Negative);
    }
    let (number, unit) = split_unit(text);
    let unit = Unit::named(unit, system)?;
    let (numerator, denominator) = fraction(number.trim())?;
    whole_units(numerator, denominator, unit)
}

/// Splits before the first character that cannot belong to a number.
fn split_unit(text: &str) -> (&str, &str) {
    let in_number = |c: char| c.is_ascii_digit() || c == '.' || c == '/' || c.is_whitespace();
    let at = text.find(|c| !in_number(c)).unwrap_or(text.len());
    text.split_at(at)
}

/// The unit a number was typed in.
#[derive(Clone, Copy)]
struct Unit {
    units: i64,
    step: Length,
    system: UnitSystem,
}

impl Unit {
    fn named(name: &str, system: UnitSystem) -> Result<Self, LengthFault> {
        let inch = Length::UNITS_PER_INCH;
        let mm = 10 * Length::UNITS_PER_MM_TENTH;
        let (units, system) = match (name.trim().to_ascii_lowercase().as_str(), system) {
            ("", UnitSystem::Inch)
            | ("in" | "in." | "inch" | "inches" | "\"" | "\u{2033}" | "\u{201d}", _) => {
                (inch, UnitSystem::Inch)
            }
            ("ft" | "foot" | "feet", _) => (12 * inch, UnitSystem::Inch),
            ("yd" | "yds" | "yard" | "yards", _) => (Length::UNITS_PER_YARD, UnitSystem::Inch),
            ("", UnitSystem::Metric) | ("cm", _) => (10 * mm, UnitSystem::Metric),
            ("mm", _) => (mm, UnitSystem::Metric),
            ("m" | "metre" | "metres" | "meter" | "meters", _) => {
                (Length::UNITS_PER_METRE, UnitSystem::Metric)
            }
            _ => return Err(LengthFault::UnknownUnit { unit: excerpt(name.trim()) }),
        };
        let step = match system {
            UnitSystem::Inch => Length::from_64ths(1),
            UnitSystem::Metric => Length::from_mm_tenths(1),
        };
        Ok(Self { units, step, system })
    }
}

/// `4`, `4.5`, `1/2` or `4 1/2` as an exact fraction.
fn fraction(text: &str) -> Result<(i128, i128), LengthFault> {
    let Some((left, below)) = text.split_once('/') else {
        return plain(text);
    };
    let below = whole(below.trim())?;
    let (whole_part, above) = match left.trim().split_once(char::is_whitespace) {
        Some((whole_part, above)) => (whole(whole_part)?, whole(above.trim())?),
        None => (0, whole(left.trim())?),
    };
    if below == 0 {
        return Err(LengthFault::ZeroDenominator);
    }
    Ok((whole_part * below + above, below))
}

fn plain(text: &str) -> Result<(i128, i128), LengthFault> {
    decimal(text).ok_or(if text.is_empty() {
        LengthFault::Empty
    } else if looks_decimal(text) {
        LengthFault::TooLarge
    } else {
        LengthFault::NotANumber
    })
}

fn whole(text: &str) -> Result<i128, LengthFault> {
    match plain(text)? {
        (number, 1) if !text.contains('.') => Ok(number),
        _ => Err(LengthFault::NotANumber),
    }
}

fn whole_units(numerator: i128, denominator: i128, unit: Unit) -> Result<Length, LengthFault> {
    // Both factors are below 10^25 and 2^20, so the product stays in 128 bits.
    let scaled = numerator * i128::from(unit.units);
    let floor = scaled.div_euclid(denominator);
    let max = i128::from(Length::MAX_TYPED.units());
    let too_large = floor > max || (floor == max && scaled % denominator != 0);
    let units = match i64::try_from(floor) {
        Ok(units) if !too_large => Length::from_units(units),
        _ => return Err(LengthFault::TooLarge),
    };
    if scaled % denominator == 0 {
        return Ok(units);
    }
    let below = units.floor_to(unit.step);
    Err(LengthFault::NotWhole {
        below: below.show(unit.system),
        above: (below + unit.step).show(unit.system),
    })
}
