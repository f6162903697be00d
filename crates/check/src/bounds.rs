//! The bounds beside the aim's figures: the right figures, the right values, and what their proofs show.

use patchlay_measure::Money;
use patchlay_plan::{Bound, FigureKind, Outcome, Plan};

use crate::certificate::{self, Earlier};
use crate::facts::{Aim, Facts};
use crate::fault::{FaultCode, Faults};
use crate::figures::Totals;

/// The figures of an aim, in its order.
fn order(aim: Aim) -> &'static [FigureKind] {
    use FigureKind::{Area, Cost, Money, Passes, Seconds, Weighted};
    match aim {
        Aim::LeastCloth => &[Money, Area, Passes, Seconds],
        Aim::FewestPasses => &[Passes, Money, Area, Seconds],
        Aim::LeastTime => &[Seconds, Money],
        Aim::LeastCost(_) => &[Cost],
        Aim::Weighted(_) => &[Weighted],
    }
}

/// The plan's value of a figure.
fn value(aim: Aim, totals: &Totals, figure: FigureKind) -> Option<i128> {
    Some(match (figure, aim) {
        (FigureKind::Money, _) => totals.money.units(),
        (FigureKind::Area, _) => totals.area.units(),
        (FigureKind::Passes, _) => totals.passes.into(),
        (FigureKind::Seconds, _) => totals.seconds.into(),
        (FigureKind::Cost, Aim::LeastCost(hour)) => {
            let time = Money::from_hourly(hour, i64::try_from(totals.seconds).ok()?);
            totals.money.units().checked_add(time.units())?
        }
        (FigureKind::Weighted, Aim::Weighted(pass)) => {
            i128::from(totals.length.units()) + i128::from(pass.units()) * i128::from(totals.passes)
        }
        // Such figures stand in no other aim's order.
        (FigureKind::Cost | FigureKind::Weighted, _) => return None,
    })
}

/// A decimal integer as the plan writes it, in one way only.
fn integer(text: &str) -> Option<i128> {
    let number: i128 = text.parse().ok()?;
    (number.to_string() == text).then_some(number)
}

/// Judges bounds, proofs and the outcome; gives how many bounds were computed again.
pub(crate) fn judge(facts: &Facts, plan: &Plan, totals: &Totals, faults: &mut Faults) -> usize {
    let order = order(facts.aim);
    let bounds: Vec<FigureKind> = plan.bounds.iter().map(|bound| bound.figure).collect();
    let stages: Vec<FigureKind> = plan.certificate.stages.iter().map(|stage| stage.figure).collect();
    for (what, found) in [("bounds", &bounds), ("certificate", &stages)] {
        if found != order {
            faults.add(FaultCode::BoundOrder, what, format!("{found:?}"), format!("{order:?}"));
        }
    }
    let all = plan.bounds.iter().all(|bound| bound.proved);
    if all != (plan.outcome == Outcome::Proved) {
        let expected = if all { "proved" } else { "with a gap, or stopped" };
        faults.add(FaultCode::Outcome, "outcome", format!("{:?}", plan.outcome), expected);
    }
    if bounds != order || stages != order {
        return 0;
    }
    for at in 0..order.len() {
        one(facts, plan, totals, at, faults);
    }
    order.len()
}

fn one(facts: &Facts, plan: &Plan, totals: &Totals, at: usize, faults: &mut Faults) {
    let (bound, stage) = (&plan.bounds[at], &plan.certificate.stages[at]);
    let place = format!("bound of {:?}", bound.figure);
    let stated = integer(&bound.bound);
    match value(facts.aim, totals, bound.figure) {
        Some(value) => values(bound, value, stated, &place, faults),
        None => {
            faults.add(FaultCode::BoundOrder, &place, format!("{:?}", bound.figure), "a figure of the aim")
        }
    }
    let earlier = Earlier::of(&plan.bounds[..at]);
    let unproved = plan.bounds[..at].iter().any(|earlier| earlier.value != earlier.bound);
    let conditional = certificate::holds(stage) && unproved;
    // A proof that could have held something and did not may still be called conditional: that claims less.
    if bound.conditional != conditional && !(bound.conditional && unproved && earlier.anything()) {
        faults.add(FaultCode::ConditionalFlag, &place, bound.conditional, conditional);
    }
    let proved = certificate::Prover { facts, totals, earlier, place: &place }.bound(stage, faults);
    if let Some(proved) = proved
        && stated != Some(proved)
    {
        faults.add(FaultCode::BoundNotProved, &place, &bound.bound, proved);
    }
}

fn values(bound: &Bound, value: i128, stated: Option<i128>, place: &str, faults: &mut Faults) {
    if integer(&bound.value) != Some(value) {
        faults.add(FaultCode::BoundValue, place, &bound.value, value);
    }
    match stated {
        None => faults.add(FaultCode::BoundNotProved, place, &bound.bound, "a whole number"),
        Some(stated) if stated > value => {
            faults.add(FaultCode::BoundAboveValue, place, stated, format!("at most {value}"));
        }
        Some(stated) => faults.equal(FaultCode::ProvedFlag, place, bound.proved, stated == value),
    }
}
