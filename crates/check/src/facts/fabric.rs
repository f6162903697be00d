//! Fabrics: widths, prices, steps, and what may be done with them.

use std::collections::BTreeSet;

use patchlay_measure::{
    Amount, Area, Length, Money, Per, Percent, Price, UnitSystem, buy_length, width_after_washing,
};
use patchlay_scenario::spec::{self, PrintDirection, Scenario, TravelRule, Washing};

use super::cutter::plies;
use super::{Cutter, Reader, Unusable};

/// Most fabrics judged.
const MOST: usize = 1_000;

/// One fabric.
#[derive(Clone, Debug)]
pub(crate) struct Cloth {
    pub(crate) name: String,
    /// Width as stated.
    pub(crate) stated_width: Length,
    /// Width when it is cut.
    pub(crate) width: Length,
    /// The lower of its own limit and the cutter's.
    pub(crate) ply_limit: u32,
    /// May be folded, and laid face down.
    pub(crate) turnable: bool,
    pub(crate) reversible: bool,
    pub(crate) travel_rule: TravelRule,
    /// Price; without prices in the file, money is area.
    pub(crate) price: Option<Price>,
    pub(crate) selling_step: Length,
    pub(crate) shrinkage: Percent,
    pub(crate) squaring: Length,
    pub(crate) resquaring: Length,
    pub(crate) end_reserve: Length,
    pub(crate) kept_back: Length,
}

/// Reads all fabrics.
pub(super) fn all(reader: &Reader, spec: &Scenario, cutter: &Cutter) -> Result<Vec<Cloth>, Unusable> {
    if spec.fabrics.len() > MOST {
        return Err(Unusable::new("fabrics", "there are too many"));
    }
    let names: BTreeSet<&str> = spec.fabrics.iter().map(|fabric| fabric.name.as_str()).collect();
    if names.len() != spec.fabrics.len() {
        return Err(Unusable::new("fabrics", "two have the same name"));
    }
    let priced = spec.fabrics.iter().any(|fabric| fabric.price.is_some());
    let sound = |fabric: &spec::Fabric| fabric.price.is_some() || is_gift(spec, fabric);
    if priced && !spec.fabrics.iter().all(sound) {
        return Err(Unusable::new("fabrics", "some have a price and some have none"));
    }
    spec.fabrics.iter().map(|fabric| Cloth::read(reader, fabric, spec, cutter)).collect()
}

impl Cloth {
    fn read(
        reader: &Reader,
        fabric: &spec::Fabric,
        spec: &Scenario,
        cutter: &Cutter,
    ) -> Result<Self, Unusable> {
        let at = |field: &str| format!("fabric {}, {field}", fabric.name);
        let length = |field: &str, text: &Option<spec::LengthText>, usual: Length| {
            reader.length_or(&at(field), text.as_ref(), usual)
        };
        let stated_width = reader.size(&at("usable_width"), &fabric.usable_width)?;
        let shrinkage = match &fabric.shrinkage_percent {
            Some(text) => reader.percent(&at("shrinkage_percent"), text)?,
            None => Percent::ZERO,
        };
        let before = fabric.width_measured == Some(Washing::BeforeWashing);
        let usual_step = match reader.units {
            UnitSystem::Inch => Length::from_units(Length::UNITS_PER_YARD / 8),
            UnitSystem::Metric => Length::from_mm_tenths(1_000),
        };
        let selling_step = length("selling_step", &fabric.selling_step, usual_step)?;
        if !selling_step.is_positive() {
            return Err(Unusable::new(at("selling_step"), "it is not above zero"));
        }
        let cloth = Self {
            name: fabric.name.clone(),
            stated_width,
            width: if before { washed(&at("usable_width"), stated_width, shrinkage)? } else { stated_width },
            ply_limit: plies(&at("ply_limit"), fabric.ply_limit.unwrap_or(cutter.ply_limit))?
                .min(cutter.ply_limit),
            turnable: fabric.print != PrintDirection::OneWay || fabric.allow_turned == Some(true),
            reversible: fabric.reversible,
            travel_rule: fabric.travel_rule.unwrap_or(spec.rules.travel_rule),
            price: price(reader, &at("price"), fabric, spec)?,
            selling_step,
            shrinkage,
            squaring: length("squaring", &fabric.squaring, Length::from_inches(1))?,
            resquaring: length("resquaring", &fabric.resquaring, Length::from_64ths(16))?,
            end_reserve: length("end_reserve", &fabric.end_reserve, Length::from_64ths(32))?,
            kept_back: kept_back(reader, &at("kept_back"), fabric)?,
        };
        // Proves that a bought length exists, so that nothing later can fail.
        buy_length(Length::MAX_TYPED, shrinkage)
            .map_err(|error| Unusable::new(at("shrinkage_percent"), error.to_string()))?;
        Ok(cloth)
    }

    /// Longest sum of lengths along one strip.
    pub(crate) fn strip_capacity(&self) -> Length {
        self.width - self.end_reserve
    }

    /// Length that squaring takes for so many strips: before the first, and after every five where another follows.
    pub(crate) fn squaring_for(&self, strips: u64) -> Option<Length> {
        let Some(after_first) = strips.checked_sub(1) else { return Some(Length::ZERO) };
        let again = i64::try_from(after_first / 5).ok()?;
        self.resquaring.checked_mul(again)?.checked_add(self.squaring)
    }

    /// Length taken by so many strips that are so wide in all.
    pub(crate) fn taken(&self, strips: u64, widths: Length) -> Option<Length> {
        self.kept_back.checked_add(self.squaring_for(strips)?)?.checked_add(widths)
    }

    /// Length to buy for a length taken.
    pub(crate) fn bought(&self, taken: Length) -> Option<Length> {
        let needed = buy_length(taken, self.shrinkage).ok()?;
        let limit = Length::from_units(i64::MAX / 4);
        (needed <= limit).then(|| needed.ceil_to(self.selling_step))
    }

    /// What a bought length costs; without prices, its area.
    pub(crate) fn money(&self, bought: Length) -> Money {
        match self.price {
            Some(price) => price * bought,
            None => Money::from_units((bought * self.stated_width).units()),
        }
    }

    /// Area of a length when it is cut.
    pub(crate) fn area(&self, length: Length) -> Area {
        length * self.width
    }

    /// Length that is left of a bought length after washing.
    pub(crate) fn washed_length(&self, bought: Length) -> Length {
        width_after_washing(bought, self.shrinkage).unwrap_or(Length::ZERO)
    }
}

fn washed(place: &str, width: Length, shrinkage: Percent) -> Result<Length, Unusable> {
    width_after_washing(width, shrinkage).map_err(|error| Unusable::new(place, error.to_string()))
}

/// A fabric without a price that someone of the group brought, where other fabrics have prices.
fn is_gift(spec: &Scenario, fabric: &spec::Fabric) -> bool {
    let brought = spec.group.iter().flat_map(|group| &group.brought);
    fabric.price.is_none() && brought.into_iter().any(|brought| brought.fabric == fabric.name)
}

fn price(
    reader: &Reader,
    place: &str,
    fabric: &spec::Fabric,
    spec: &Scenario,
) -> Result<Option<Price>, Unusable> {
    let per = match reader.units {
        UnitSystem::Inch => Per::Yard,
        UnitSystem::Metric => Per::Metre,
    };
    let Some(text) = &fabric.price else {
        let gift = is_gift(spec, fabric) && spec.fabrics.iter().any(|other| other.price.is_some());
        return Ok(gift.then(|| Price { amount: Amount::from_ten_thousandths(0), per }));
    };
    Ok(Some(Price { amount: reader.amount(place, text)?, per }))
}

fn kept_back(reader: &Reader, place: &str, fabric: &spec::Fabric) -> Result<Length, Unusable> {
    fabric.kept_back.iter().try_fold(Length::ZERO, |sum, kept| {
        let length = reader.length(place, &kept.length)?;
        sum.checked_add(length).ok_or_else(|| Unusable::new(place, "it is too long"))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::facts::Facts;

    fn cloths() -> Vec<Cloth> {
        Facts::read(include_str!("../../../../tests/damage/good/star.json")).unwrap().0.fabrics
    }

    #[test]
    fn squaring_comes_again_only_where_another_strip_follows() {
        let light = &cloths()[0];
        for (strips, quarters) in [(0, 0), (1, 4), (5, 4), (6, 5), (10, 5), (11, 6)] {
            assert_eq!(light.squaring_for(strips), Some(Length::from_64ths(16 * quarters)), "{strips}");
        }
    }

    #[test]
    fn cloth_is_bought_by_the_step_and_shrinkage_comes_first() {
        let [light, dark] = &cloths()[..] else { panic!("two fabrics") };
        // 4 1/2 in is an eighth of a yard: an exact multiple does not round further.
        assert_eq!(light.bought(Length::from_64ths(18 * 64)), Some(Length::from_64ths(18 * 64)));
        assert_eq!(light.bought(Length::from_units(18 * 8_128 + 1)), Some(Length::from_64ths(45 * 32)));
        // 11 3/4 in / 0.95 = 12.37 in, so 13 1/2 in. 41 1/2 in are 337,312 units; 95 % of them are 320,446.4.
        assert_eq!(dark.bought(Length::from_64ths(47 * 16)), Some(Length::from_64ths(27 * 32)));
        assert_eq!(dark.width.units(), 320_446);
        assert_eq!(dark.stated_width, Length::from_64ths(83 * 32));
        // 13 1/2 in at 12 a yard are 4.50.
        assert_eq!(dark.money(Length::from_64ths(27 * 32)).show("$"), "$4.50");
    }

    #[test]
    fn without_prices_money_is_area() {
        let text = include_str!("../../../../tests/damage/good/spires.json");
        let slate = &Facts::read(text).unwrap().0.fabrics[0];
        let yard = Length::from_inches(36);
        assert_eq!(slate.money(yard).units(), 36 * 8_128 * 42 * 8_128);
    }
}
