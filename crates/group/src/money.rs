//! Who pays what: the price of every fabric divided among the bags by the cut area of their patches, strip waste shared
//! in the same proportion, in whole cents by largest remainder, so that all shares add up to what was bought.

use std::collections::BTreeMap;

use patchlay_measure::{Money, largest_remainder};
use patchlay_plan::Plan;
use patchlay_plan::day::{BagShare, FabricShare, MoneyPlan};
use patchlay_scenario::Job;
use patchlay_scenario::job::Group;

use crate::bags::Wants;

/// The division of the money; `None` where the job has no prices.
pub(crate) fn divided(job: &Job, group: &Group, plan: &Plan, wants: &[Wants]) -> Option<MoneyPlan> {
    if !job.priced {
        return None;
    }
    let cents = |money: Money| {
        let cent = Money::UNITS_PER_ONE / 100;
        u32::try_from((money.units() + cent / 2) / cent).unwrap_or(u32::MAX)
    };
    let total = cents(plan.figures.money);
    let exact: Vec<i128> = plan.fabrics.iter().map(|fabric| fabric.money.units()).collect();
    let prices = largest_remainder(&exact, total);
    let spares = wants.iter().flat_map(|want| &want.bags).any(|bag| bag.0 == group.bags.len());
    let mut bags = vec![0_i64; group.bags.len() + usize::from(spares)];
    let mut fabrics = Vec::new();
    for (f, (fabric, price)) in plan.fabrics.iter().zip(prices).enumerate() {
        let weights = weights(job, group.bags.len(), wants, f);
        let parts: Vec<i128> = weights.iter().map(|(_, weight)| *weight).collect();
        let shares: Vec<BagShare> = weights
            .iter()
            .zip(largest_remainder(&parts, price))
            .filter(|(_, cents)| *cents > 0)
            .map(|((bag, _), cents)| BagShare { bag: bag + 1, cents: i64::from(cents) })
            .collect();
        for share in &shares {
            bags[share.bag - 1] += share.cents;
        }
        let brought = group.brought.get(f).and_then(Option::as_ref);
        fabrics.push(FabricShare {
            fabric: fabric.fabric.clone(),
            brought_by: brought.map(|brought| brought.by.clone()).unwrap_or_default(),
            gift: job.is_gift(f),
            price: i64::from(price),
            left: fabric.bought - fabric.taken,
            left_to: brought.map(|brought| brought.leftovers_to.clone()).unwrap_or_default(),
            shares,
        });
    }
    Some(MoneyPlan { total: i64::from(total), fabrics, bags })
}

/// Bags that have patches of a fabric, and the cut area of these. Spare patches in the bag of spares are paid for by
/// those who need such cloth; what nobody needs is paid for by all alike.
fn weights(job: &Job, spares_bag: usize, wants: &[Wants], fabric: usize) -> Vec<(usize, i128)> {
    let mut weights: BTreeMap<usize, i128> = BTreeMap::new();
    for want in wants.iter().filter(|want| want.kind.0 == fabric) {
        let area = job.shapes[want.kind.1].shape.areas().cut.units();
        for &(bag, needed, spare) in want.bags.iter().filter(|(bag, ..)| *bag != spares_bag) {
            *weights.entry(bag).or_default() += area * i128::from(needed + spare);
        }
    }
    if weights.values().all(|weight| *weight == 0) {
        return (0..spares_bag.max(1)).map(|bag| (bag, 1)).collect();
    }
    weights.into_iter().collect()
}
