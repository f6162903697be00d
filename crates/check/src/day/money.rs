//! Money: every fabric's price in cents, and what each bag pays of it.

use patchlay_measure::{Money, largest_remainder};
use patchlay_plan::day::{BagShare, FabricShare, MoneyPlan};

use super::Case;
use super::bags::Wanted;
use crate::fault::{FaultCode, Faults};

/// Judges the money; gives the number of shares.
pub(super) fn judge(case: &Case<'_>, bags: &[Wanted], faults: &mut Faults) -> usize {
    // The rest of a day divides no money: what was bought stays with those who had it.
    let priced = case.rest.is_none() && case.facts.fabrics.iter().any(|fabric| fabric.price.is_some());
    match (&case.day.money, priced) {
        (None, false) => 0,
        (None, true) => {
            faults.add(FaultCode::MoneyMissing, "money", "none", "shares");
            0
        }
        (Some(_), false) => {
            faults.add(FaultCode::MoneyMissing, "money", "shares", "none");
            0
        }
        (Some(found), true) => shares(case, bags, found, faults),
    }
}

/// Whole cents, half a cent up.
fn cents(money: Money) -> Option<u32> {
    let twice = money.units().checked_mul(200)?.checked_add(Money::UNITS_PER_ONE)?;
    u32::try_from(twice.div_euclid(2 * Money::UNITS_PER_ONE)).ok()
}

fn shares(case: &Case<'_>, bags: &[Wanted], found: &MoneyPlan, faults: &mut Faults) -> usize {
    let Some(total) = cents(case.plan.figures.money) else {
        faults.add(FaultCode::OutOfRange, "money", "more than can be shared in cents", "less");
        return 0;
    };
    faults.equal(FaultCode::MoneyTotal, "money", found.total, total.into());
    let exact: Vec<i128> = case.plan.fabrics.iter().map(|fabric| fabric.money.units()).collect();
    let prices = largest_remainder(&exact, total);
    faults.equal(FaultCode::FabricMoney, "money, fabrics", found.fabrics.len(), prices.len());
    let mut paid = vec![0_i64; bags.len()];
    let mut count = 0;
    for (at, (found, &price)) in found.fabrics.iter().zip(&prices).enumerate() {
        let wanted = fabric(case, bags, at, price);
        compare(found, &wanted, faults);
        count += wanted.shares.len();
        wanted.shares.iter().for_each(|share| paid[share.bag - 1] += share.cents);
    }
    faults.equal(FaultCode::BagMoney, "money, bags", found.bags.len(), paid.len());
    for (at, (found, paid)) in found.bags.iter().zip(&paid).enumerate() {
        faults.equal(FaultCode::BagMoney, format!("money, bag {}", at + 1), found, paid);
    }
    count
}

fn fabric(case: &Case<'_>, bags: &[Wanted], at: usize, price: u32) -> FabricShare {
    let cloth = &case.facts.fabrics[at];
    let brought = case.hall.brought.get(&at);
    let free = cloth.price.is_none_or(|price| price.amount.ten_thousandths() == 0);
    let plan = &case.plan.fabrics[at];
    let who = |name: fn(&super::hall::Bringer) -> &String| brought.map(name).cloned().unwrap_or_default();
    FabricShare {
        fabric: cloth.name.clone(),
        brought_by: who(|brought| &brought.by),
        gift: brought.is_some() && free,
        price: price.into(),
        left: plan.bought - plan.taken,
        left_to: who(|brought| &brought.left_to),
        shares: of_bags(case, bags, at, price),
    }
}

fn of_bags(case: &Case<'_>, bags: &[Wanted], fabric: usize, price: u32) -> Vec<BagShare> {
    let paying: Vec<&Wanted> = bags.iter().filter(|bag| !bag.for_spares).collect();
    let area = |bag: &&Wanted| {
        let lines = bag.lines.iter().filter(|((own, _, _), _)| *own == fabric);
        lines.fold(0_i128, |sum, ((_, shape, _), line)| {
            let each = case.facts.shapes[*shape].shape.areas().cut.units();
            sum.saturating_add(each.saturating_mul((line.0.saturating_add(line.1)).into()))
        })
    };
    let mut areas: Vec<i128> = paying.iter().map(area).collect();
    if areas.iter().all(|&area| area == 0) {
        areas.fill(1);
    }
    let shares = largest_remainder(&areas, price).into_iter().enumerate();
    let shares = shares.map(|(bag, cents)| BagShare { bag: bag + 1, cents: cents.into() });
    shares.filter(|share| share.cents > 0).collect()
}

fn compare(found: &FabricShare, wanted: &FabricShare, faults: &mut Faults) {
    let code = FaultCode::FabricMoney;
    let place = |what: &str| format!("money, {}, {what}", wanted.fabric);
    faults.equal(code, place("name"), &found.fabric, &wanted.fabric);
    faults.equal(code, place("brought by"), &found.brought_by, &wanted.brought_by);
    faults.equal(code, place("gift"), found.gift, wanted.gift);
    faults.equal(code, place("price"), found.price, wanted.price);
    faults.equal(code, place("left"), found.left.units(), wanted.left.units());
    faults.equal(code, place("left to"), &found.left_to, &wanted.left_to);
    if found.shares != wanted.shares {
        let text = |shares: &[BagShare]| {
            let each = shares.iter().take(20).map(|share| format!("{}: {}", share.bag, share.cents));
            each.collect::<Vec<_>>().join(", ")
        };
        faults.add(FaultCode::FabricShares, place("shares"), text(&found.shares), text(&wanted.shares));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn half_a_cent_is_rounded_up() {
        let of = |cents_200: i128| Money::from_units(Money::UNITS_PER_ONE / 200 * cents_200);
        assert_eq!(cents(of(0)), Some(0));
        assert_eq!(cents(of(1)), Some(1));
        assert_eq!(cents(of(2)), Some(1));
        assert_eq!(cents(of(3)), Some(2));
        assert_eq!(cents(Money::from_units(of(3).units() - 1)), Some(1));
        assert_eq!(cents(Money::from_units(i128::MAX)), None);
    }
}
