//! Lengths as they are printed.

use crate::number::rounded;
use crate::{Length, UnitSystem};

impl Length {
    /// As a quilter writes it: `4 1/2 in` or `11.5 cm`.
    ///
    /// Inches are printed in sixty-fourths, reduced; centimetres to 0.1 mm. A
    /// length that is not whole in that step is printed as the nearest one
    /// with `~` before it, so a rounded figure never passes for an exact one.
    #[must_use]
    pub fn show(self, system: UnitSystem) -> String {
        let unit = match system {
            UnitSystem::Inch => "in",
            UnitSystem::Metric => "cm",
        };
        format!("{} {unit}", self.show_bare(system))
    }

    /// As [`Length::show`], without the unit.
    #[must_use]
    pub fn show_bare(self, system: UnitSystem) -> String {
        match system {
            UnitSystem::Inch => mixed(self.units(), Self::UNITS_PER_64TH, 64),
            UnitSystem::Metric => centimetres(self.units()),
        }
    }

    /// As cloth is bought: `2 1/8 yd` where it is whole in eighths, else
    /// `1.28 yd`; or `1.25 m`. Two decimals are rounded half up.
    #[must_use]
    pub fn show_cloth(self, system: UnitSystem) -> String {
        let eighth = Self::UNITS_PER_YARD / 8;
        match system {
            UnitSystem::Inch if self.units() % eighth == 0 => {
                format!("{} yd", mixed(self.units(), eighth, 8))
            }
            UnitSystem::Inch => {
                format!("{} yd", rounded(self.units().into(), Self::UNITS_PER_YARD.into(), 2))
            }
            UnitSystem::Metric => {
                format!("{} m", rounded(self.units().into(), Self::UNITS_PER_METRE.into(), 2))
            }
        }
    }
}

/// A whole number and a reduced fraction in steps of `step` units, `parts` of
/// them to the whole.
fn mixed(units: i64, step: i64, parts: u64) -> String {
    let size = units.unsigned_abs();
    let step = step.unsigned_abs();
    let near = if size.is_multiple_of(step) { "" } else { "~" };
    let count = (size + step / 2) / step;
    let sign = if units < 0 && count > 0 { "-" } else { "" };
    let (whole, mut above, mut below) = (count / parts, count % parts, parts);
    while above > 0 && above.is_multiple_of(2) {
        above /= 2;
        below /= 2;
    }
    match (whole, above) {
        (_, 0) => format!("{near}{sign}{whole}"),
        (0, _) => format!("{near}{sign}{above}/{below}"),
        _ => format!("{near}{sign}{whole} {above}/{below}"),
    }
}

/// Centimetres with up to two decimals, trailing zeros dropped.
fn centimetres(units: i64) -> String {
    let near = if units % Length::UNITS_PER_MM_TENTH == 0 { "" } else { "~" };
    let text = rounded(units.into(), 100 * i128::from(Length::UNITS_PER_MM_TENTH), 2);
    let text = text.trim_end_matches('0').trim_end_matches('.');
    format!("{near}{text}")
}
