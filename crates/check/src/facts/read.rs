//! Texts of the scenario to exact numbers, with the place of what cannot be read.

use patchlay_measure::{Amount, Length, Percent, UnitSystem, parse_length};
use patchlay_scenario::spec::{DecimalText, LengthText, Units};
use patchlay_shape::{Angle, Turn};

/// Why nothing can be judged by a scenario.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Unusable {
    /// Place in the file.
    pub(crate) place: String,
    /// What is wrong.
    pub(crate) why: String,
}

impl Unusable {
    pub(crate) fn new(place: impl Into<String>, why: impl Into<String>) -> Self {
        Self { place: place.into(), why: why.into() }
    }
}

/// Reads typed values in the scenario's units.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Reader {
    /// What a bare number means.
    pub(crate) units: UnitSystem,
}

fn length_text(text: &LengthText) -> String {
    match text {
        LengthText::Text(text) => text.clone(),
        LengthText::Number(number) => number.to_string(),
    }
}

fn decimal_text(text: &DecimalText) -> String {
    match text {
        DecimalText::Text(text) => text.clone(),
        DecimalText::Number(number) => number.to_string(),
    }
}

impl Reader {
    pub(crate) fn new(units: Units) -> Self {
        let units = match units {
            Units::Inch => UnitSystem::Inch,
            Units::Metric => UnitSystem::Metric,
        };
        Self { units }
    }

    /// A length, zero included.
    pub(crate) fn length(&self, place: &str, text: &LengthText) -> Result<Length, Unusable> {
        parse_length(&length_text(text), self.units).map_err(|error| Unusable::new(place, error.to_string()))
    }

    /// A length above zero.
    pub(crate) fn size(&self, place: &str, text: &LengthText) -> Result<Length, Unusable> {
        let length = self.length(place, text)?;
        if length.is_positive() { Ok(length) } else { Err(Unusable::new(place, "it is not above zero")) }
    }

    /// A length with a default.
    pub(crate) fn length_or(
        &self,
        place: &str,
        text: Option<&LengthText>,
        usual: Length,
    ) -> Result<Length, Unusable> {
        text.map_or(Ok(usual), |text| self.length(place, text))
    }

    pub(crate) fn percent(&self, place: &str, text: &DecimalText) -> Result<Percent, Unusable> {
        Percent::parse(&decimal_text(text)).map_err(|error| Unusable::new(place, error.to_string()))
    }

    pub(crate) fn amount(&self, place: &str, text: &DecimalText) -> Result<Amount, Unusable> {
        Amount::parse(&decimal_text(text)).map_err(|error| Unusable::new(place, error.to_string()))
    }

    pub(crate) fn angle(&self, place: &str, text: &DecimalText) -> Result<Angle, Unusable> {
        Angle::parse(&decimal_text(text)).map_err(|error| Unusable::new(place, error.to_string()))
    }

    pub(crate) fn turn(&self, place: &str, text: &DecimalText) -> Result<Turn, Unusable> {
        Turn::parse(&decimal_text(text)).map_err(|error| Unusable::new(place, error.to_string()))
    }
}
