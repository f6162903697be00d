//! Cloth of every fabric: what is kept back, squaring, length taken, length bought, money.

use patchlay_measure::{Length, Money};
use patchlay_plan::{FabricPlan, Plan};

use crate::facts::{Cloth, Facts};
use crate::fault::{FaultCode, Faults};

/// Cloth of one fabric, counted again.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Taken {
    pub(crate) strips: u64,
    /// Sum of the strip widths.
    pub(crate) widths: Length,
    pub(crate) squaring: Length,
    pub(crate) taken: Length,
    pub(crate) bought: Length,
    pub(crate) money: Money,
}

impl Taken {
    fn of(cloth: &Cloth, plan: Option<&FabricPlan>) -> Option<Self> {
        let strips = plan.map_or(&[][..], |plan| &plan.strips);
        let count = strips.len() as u64;
        let widths = strips.iter().try_fold(Length::ZERO, |sum, strip| sum.checked_add(strip.width))?;
        let taken = cloth.taken(count, widths)?;
        let bought = cloth.bought(taken)?;
        let squaring = cloth.squaring_for(count)?;
        Some(Self { strips: count, widths, squaring, taken, bought, money: cloth.money(bought) })
    }
}

/// Judges the cloth and gives it fabric by fabric in the order of the scenario; none if it cannot be counted.
pub(crate) fn judge(facts: &Facts, plan: &Plan, faults: &mut Faults) -> Option<Vec<Taken>> {
    let found: Vec<&str> = plan.fabrics.iter().map(|fabric| fabric.fabric.as_str()).collect();
    let wanted: Vec<&str> = facts.fabrics.iter().map(|fabric| fabric.name.as_str()).collect();
    if found != wanted {
        faults.add(FaultCode::ListDiffers, "fabrics", found.join(", "), wanted.join(", "));
        for name in found.iter().filter(|name| !wanted.contains(name)) {
            faults.add(FaultCode::UnknownName, "fabrics", name, "a fabric of the scenario");
        }
    }
    let mut all = Vec::new();
    for (at, cloth) in facts.fabrics.iter().enumerate() {
        let own = plan.fabrics.get(at).filter(|own| own.fabric == cloth.name);
        let Some(taken) = Taken::of(cloth, own) else {
            faults.add(FaultCode::OutOfRange, format!("fabric {}", cloth.name), "too much cloth", "less");
            return None;
        };
        if let Some(own) = own {
            compare(cloth, own, &taken, faults);
        }
        all.push(taken);
    }
    Some(all)
}

fn compare(cloth: &Cloth, plan: &FabricPlan, taken: &Taken, faults: &mut Faults) {
    let place = format!("fabric {}", cloth.name);
    faults.equal(FaultCode::KeptBack, &place, plan.kept_back.units(), cloth.kept_back.units());
    faults.equal(FaultCode::Squaring, &place, plan.squaring.units(), taken.squaring.units());
    faults.equal(FaultCode::Taken, &place, plan.taken.units(), taken.taken.units());
    faults.equal(FaultCode::Bought, &place, plan.bought.units(), taken.bought.units());
    faults.equal(FaultCode::Price, &place, plan.money.units(), taken.money.units());
}
