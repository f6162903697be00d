//! What strips, plies and passes cost in a figure, exactly.

use num_rational::BigRational;
use patchlay_measure::{Amount, Length, Money};
use patchlay_plan::{Event, FigureKind, PlyRule};

use crate::facts::{Aim, Cloth, Facts};

/// Costs of one figure.
#[derive(Debug)]
pub(super) struct Costs {
    /// Per unit of strip width, by fabric.
    pub(super) width: Vec<BigRational>,
    /// Per strip.
    pub(super) strip: BigRational,
    /// Per ply, by fabric.
    pub(super) ply: Vec<BigRational>,
    /// Per pass.
    pub(super) pass: BigRational,
    /// Whatever the plan does.
    constant: BigRational,
    /// What varies is rounded up to multiples of this.
    step: i128,
}

fn number(units: impl Into<i128>) -> BigRational {
    BigRational::from_integer(units.into().into())
}

impl Costs {
    /// Costs of a figure; none if the aim does not have it.
    pub(super) fn of(facts: &Facts, figure: FigureKind) -> Option<Self> {
        Some(match (figure, facts.aim) {
            (FigureKind::Passes, _) => Self { pass: number(1), ..Self::zero(facts, 1) },
            (FigureKind::Weighted, Aim::Weighted(pass)) => Self::weighted(facts, pass),
            (FigureKind::Area, _) => Self::area(facts),
            (FigureKind::Money, _) => Self::money(facts),
            (FigureKind::Seconds, _) => Self::seconds(facts),
            (FigureKind::Cost, Aim::LeastCost(hour)) => Self::cost(facts, hour),
            (FigureKind::Weighted | FigureKind::Cost, _) => return None,
        })
    }

    /// What varies, at least nothing and rounded up to the step, and the constant; none beyond 128 bits.
    pub(super) fn rounded_up(&self, varies: &BigRational) -> Option<i128> {
        let step = number(self.step);
        // No plan costs less than nothing, whatever a proof with held figures comes to.
        let varies = (varies / &step).ceil().max(number(0)) * step;
        i128::try_from((varies + &self.constant).to_integer()).ok()
    }

    fn zero(facts: &Facts, step: i128) -> Self {
        let none = || vec![number(0); facts.fabrics.len()];
        Self { width: none(), strip: number(0), ply: none(), pass: number(0), constant: number(0), step }
    }

    fn weighted(facts: &Facts, pass: Length) -> Self {
        let wanted = wanted(facts).map(|cloth| cloth.resquaring.units());
        let step = wanted.fold(gcd(facts.rules.step.units(), pass.units()), gcd);
        Self {
            width: vec![number(1); facts.fabrics.len()],
            pass: number(pass.units()),
            constant: fixed_cloth(facts).map(|(_, length)| number(length.units())).sum(),
            ..Self::zero(facts, step.max(1).into())
        }
    }

    fn area(facts: &Facts) -> Self {
        let of = |cloth: &Cloth| {
            let step = gcd(facts.rules.step.units(), cloth.resquaring.units());
            i128::from(step) * i128::from(cloth.width.units())
        };
        let step = wanted(facts).map(of).fold(0_i128, gcd_wide);
        Self {
            width: facts.fabrics.iter().map(|cloth| number(cloth.width.units())).collect(),
            constant: fixed_cloth(facts).map(|(cloth, length)| number(cloth.area(length).units())).sum(),
            ..Self::zero(facts, step.max(1))
        }
    }

    fn money(facts: &Facts) -> Self {
        let width: Vec<BigRational> = facts.fabrics.iter().map(unit_price).collect();
        // A price over what is left after washing need not be whole. Rounded down fabric by fabric, the constant
        // stays below whatever is paid, and the sum with what varies is whole.
        let constant = fixed_cloth(facts)
            .map(|(cloth, length)| (unit_price(cloth) * number(length.units())).floor())
            .sum();
        Self { width, constant, ..Self::zero(facts, 1) }
    }

    fn seconds(facts: &Facts) -> Self {
        let squares = wanted(facts).count();
        let each = |event| number(seconds_of(facts, event));
        let mut constant = number(squares as i128) * each(Event::Square);
        if squares > 0 {
            constant += each(Event::ChangeBoard);
        }
        Self {
            width: vec![number(0); facts.fabrics.len()],
            strip: each(Event::CutStrip) + each(Event::PressStrip),
            ply: (0..facts.fabrics.len()).map(|fabric| ply_seconds(facts, fabric)).collect(),
            pass: each(Event::Crank) + each(Event::TurnMat) + each(Event::LiftOut) + each(Event::Count),
            constant,
            step: 1,
        }
    }

    fn cost(facts: &Facts, hour: Amount) -> Self {
        let worth = number(Money::from_hourly(hour, 1).units());
        let (money, time) = (Self::money(facts), Self::seconds(facts));
        Self {
            width: money.width,
            strip: &worth * time.strip,
            ply: time.ply.iter().map(|seconds| &worth * seconds).collect(),
            pass: &worth * time.pass,
            constant: money.constant + &worth * time.constant,
            step: 1,
        }
    }
}

/// Fabrics of which something is wanted.
fn wanted(facts: &Facts) -> impl Iterator<Item = &Cloth> {
    facts.fabrics.iter().enumerate().filter(|(at, _)| facts.demand.wants(*at)).map(|(_, cloth)| cloth)
}

/// Lengths that go whatever is cut: kept back always, squaring where something is wanted.
fn fixed_cloth(facts: &Facts) -> impl Iterator<Item = (&Cloth, Length)> {
    facts.fabrics.iter().enumerate().map(|(at, cloth)| {
        let squaring = if facts.demand.wants(at) { cloth.squaring } else { Length::ZERO };
        (cloth, cloth.kept_back + squaring)
    })
}

/// Money for one unit of length taken, before the selling step rounds it up.
fn unit_price(cloth: &Cloth) -> BigRational {
    let kept = 10_000 - i128::from(cloth.shrinkage.hundredths());
    number(cloth.money(Length::UNIT).units()) * number(10_000) / number(kept.max(1))
}

fn seconds_of(facts: &Facts, event: Event) -> i128 {
    let at = Event::ALL.iter().position(|known| *known == event);
    at.map_or(0, |at| facts.cutter.seconds[at].into())
}

/// The least time that a ply of a fabric can take.
fn ply_seconds(facts: &Facts, fabric: usize) -> BigRational {
    let each = |event| number(seconds_of(facts, event));
    let flat = each(Event::CrossCut) + each(Event::Place);
    if !facts.fabrics[fabric].turnable || facts.strategy.plies == PlyRule::Flat {
        return flat;
    }
    let most = (0..facts.boards.len()).map(|board| facts.limit(fabric, board)).max().unwrap_or(1);
    if most < 2 {
        return flat;
    }
    flat.min((each(Event::CrossCut) + each(Event::Fold)) / number(most))
}

fn gcd(a: i64, b: i64) -> i64 {
    if b == 0 { a } else { gcd(b, a % b) }
}

fn gcd_wide(a: i128, b: i128) -> i128 {
    if b == 0 { a } else { gcd_wide(b, a % b) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn star() -> Facts {
        Facts::read(include_str!("../../../../tests/damage/good/star.json")).unwrap().0
    }

    fn ratio(n: i64, d: i64) -> BigRational {
        BigRational::new(n.into(), d.into())
    }

    #[test]
    fn time_counts_what_no_plan_can_avoid() {
        let costs = Costs::of(&star(), FigureKind::Seconds).unwrap();
        // Assumed times: strips 40 + 45; passes 20 + 8 + 25 + 15; two fabrics squared at 120 and one board at 60.
        assert_eq!((costs.strip, costs.pass, costs.constant), (ratio(85, 1), ratio(68, 1), ratio(300, 1)));
        // A ply costs (8 + 20) / 4 in a folded length of four, less than 8 + 6 as a flat cut.
        assert_eq!(costs.ply, [ratio(7, 1), ratio(7, 1)]);
    }

    #[test]
    fn money_per_length_includes_what_the_wash_takes() {
        let costs = Costs::of(&star(), FigureKind::Money).unwrap();
        // $10 a yard of 36 x 8128 units; $12 over 0.95.
        let unit = ratio(3_657_600_000_000, 36 * 8_128);
        assert_eq!(costs.width[0], &unit * ratio(10, 1));
        assert_eq!(costs.width[1], &unit * ratio(12, 1) * ratio(100, 95));
    }

    #[test]
    fn what_varies_is_rounded_up_to_the_step_and_never_below_nothing() {
        let facts = star();
        let costs = Costs::of(&facts, FigureKind::Passes).unwrap();
        assert_eq!(costs.rounded_up(&ratio(149, 6)), Some(25));
        assert_eq!(costs.rounded_up(&ratio(25, 1)), Some(25));
        assert_eq!(costs.rounded_up(&ratio(-3, 1)), Some(0));
        // Figures of other aims have no costs here.
        assert!(Costs::of(&facts, FigureKind::Weighted).is_none());
        assert!(Costs::of(&facts, FigureKind::Cost).is_none());
    }

    #[test]
    fn weighted_length_moves_in_common_steps() {
        let spires = Facts::read(include_str!("../../../../tests/damage/good/spires.json")).unwrap().0;
        let costs = Costs::of(&spires, FigureKind::Weighted).unwrap();
        // The ruler step of 1/8 in divides 1/4 in of squaring again and 10 in for a pass.
        assert_eq!((costs.step, &costs.pass), (1_016, &ratio(81_280, 1)));
        assert_eq!(costs.rounded_up(&ratio(1, 1)), Some(1_016 + 2 * 8_128));
    }
}
