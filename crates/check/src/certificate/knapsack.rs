//! The most valuable strip of every width: an unbounded knapsack over the length of a strip in exact integers
//! (Gilmore and Gomory, Operations Research 11 (1963)).

use num_rational::BigRational;
use patchlay_measure::Length;

use super::Refused;
use crate::facts::Cloth;
use crate::fault::FaultCode;

/// Most cells of the table: a strip of ten metres in the finest unit.
const MOST_CELLS: usize = 4_000_000;

/// One ply as it is cut.
#[derive(Clone, Debug)]
pub(super) struct Cut {
    pub(super) width: Length,
    pub(super) run: Length,
    /// Above zero.
    pub(super) worth: BigRational,
}

/// Whether no strip is worth more than its cost: `width` per unit of its width, and `strip` on top. Cuts are sorted
/// by width.
pub(super) fn strips_pay(
    cloth: &Cloth,
    cuts: &[Cut],
    width: &BigRational,
    strip: &BigRational,
) -> Result<(), Refused> {
    let Some(most) = cuts.iter().map(|cut| &cut.worth).max() else { return Ok(()) };
    let scale = common_denominator(cuts)?;
    let worth =
        |cut: &Cut| i128::try_from((&cut.worth * &scale).to_integer()).map_err(|_| Refused::too_large());
    let gcd = cuts.iter().fold(0, |step, cut| gcd(cut.run.units(), step)).max(1);
    let cells = usize::try_from(cloth.strip_capacity().units().div_euclid(gcd)).unwrap_or(0);
    if cells > MOST_CELLS {
        return Err(Refused::too_large());
    }
    // No filling has more cuts than cells, so this bounds every entry of the table.
    let bound = most * &scale * BigRational::from_integer((cells as u64 + 1).into());
    i128::try_from(bound.ceil().to_integer()).map_err(|_| Refused::too_large())?;
    let mut table = vec![0_i128; cells + 1];
    for (at, cut) in cuts.iter().enumerate() {
        let (run, worth) = (usize::try_from(cut.run.units() / gcd).unwrap_or(usize::MAX).max(1), worth(cut)?);
        for end in run..=cells {
            table[end] = table[end].max(table[end - run] + worth);
        }
        // A wider strip carries narrower cuts as well, so each width is judged once all its cuts are in.
        if cuts.get(at + 1).is_some_and(|next| next.width == cut.width) {
            continue;
        }
        let worth = BigRational::from_integer(table[cells].into()) / &scale;
        let cost = width * BigRational::from_integer(cut.width.units().into()) + strip;
        if worth > cost {
            let found = format!("{worth} for {} of width {}", cloth.name, cut.width.units());
            return Err(Refused::new(FaultCode::StripPrice, found, format!("at most {cost}")));
        }
    }
    Ok(())
}

fn common_denominator(cuts: &[Cut]) -> Result<BigRational, Refused> {
    let mut common = 1_i128;
    for cut in cuts {
        let denominator = i128::try_from(cut.worth.denom().clone()).map_err(|_| Refused::too_large())?;
        let shared = wide_gcd(common, denominator);
        common = (common / shared).checked_mul(denominator).ok_or_else(Refused::too_large)?;
    }
    Ok(BigRational::from_integer(common.into()))
}

fn gcd(a: i64, b: i64) -> i64 {
    if b == 0 { a } else { gcd(b, a % b) }
}

fn wide_gcd(a: i128, b: i128) -> i128 {
    if b == 0 { a } else { wide_gcd(b, a % b) }
}

#[cfg(test)]
mod tests;
