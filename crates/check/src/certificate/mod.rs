//! Proofs of bounds, computed again in exact numbers: every price at least zero, no pass and no strip worth more than
//! it costs, and the bound that follows from them. What the prices mean stands in the plan crate's module on proofs.

mod cases;
mod costs;
mod knapsack;
mod part;
mod whole;

use num_rational::BigRational;
use patchlay_measure::Length;
use patchlay_plan::proof::PartProof;
use patchlay_plan::{Bound, FigureKind, LoadingRule, Rational, StageProof};
use rayon::prelude::*;

use crate::facts::{Cloth, Facts};
use crate::fault::{FaultCode, Faults};
use crate::figures::Totals;
use costs::Costs;
use part::Prices;

/// Which figures stand earlier in the aim's order.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Earlier {
    area: bool,
    passes: bool,
}

impl Earlier {
    pub(crate) fn of(bounds: &[Bound]) -> Self {
        let has = |figure| bounds.iter().any(|bound| bound.figure == figure);
        Self { area: has(FigureKind::Area), passes: has(FigureKind::Passes) }
    }

    /// Whether there is anything that a proof may hold.
    pub(crate) fn anything(self) -> bool {
        self.area || self.passes
    }
}

/// Whether a proof holds anything: a multiplier of zero does not.
pub(crate) fn holds(stage: &StageProof) -> bool {
    let in_part =
        |part: &PartProof| part.held_passes.n != 0 || part.held_cloth.iter().any(|price| price.n != 0);
    stage.parts.iter().any(in_part)
}

/// Why a proof fails.
#[derive(Debug)]
pub(crate) struct Refused {
    code: FaultCode,
    found: String,
    expected: String,
}

impl Refused {
    fn new(code: FaultCode, found: impl std::fmt::Display, expected: impl std::fmt::Display) -> Self {
        Self { code, found: found.to_string(), expected: expected.to_string() }
    }

    fn too_large() -> Self {
        Self::new(FaultCode::CertificateTooLarge, "too large", "numbers that can be computed again")
    }
}

/// Computes one bound again.
pub(crate) struct Prover<'a> {
    pub(crate) facts: &'a Facts,
    pub(crate) totals: &'a Totals,
    pub(crate) earlier: Earlier,
    pub(crate) place: &'a str,
}

impl Prover<'_> {
    /// The bound that a proof shows; none if it shows nothing (the reasons stand among the faults).
    pub(crate) fn bound(&self, stage: &StageProof, faults: &mut Faults) -> Option<i128> {
        let result = match stage.parts.as_slice() {
            parts if !parts.is_empty() && parts.iter().all(|part| part.fabric.is_none()) => {
                self.by_cases(stage.figure, parts)
            }
            // Without any proof nothing is bounded but what is kept back.
            [] if !matches!(stage.figure, FigureKind::Money | FigureKind::Area) => Ok(0),
            parts if stage.figure == FigureKind::Passes && self.one_fabric_a_pass() => {
                self.passes_by_fabric(parts)
            }
            parts => self.by_fabric(stage.figure, parts),
        };
        result.map_err(|refused| faults.add(refused.code, self.place, refused.found, refused.expected)).ok()
    }

    /// Parts over all fabrics, each about a case: every plan is in one of them, so the lowest bound holds.
    fn by_cases(&self, figure: FigureKind, parts: &[PartProof]) -> Result<i128, Refused> {
        cases::cover_all(self.facts, parts)?;
        let bounds: Vec<Result<i128, Refused>> =
            parts.par_iter().map(|part| self.joint(figure, part)).collect();
        let bounds = bounds.into_iter().collect::<Result<Vec<_>, _>>()?;
        bounds.into_iter().min().ok_or_else(Refused::too_large)
    }

    /// One part over all fabrics.
    fn joint(&self, figure: FigureKind, part: &PartProof) -> Result<i128, Refused> {
        let prices = Prices::read(self.facts, part)?;
        self.may_hold(&prices)?;
        let costs = Costs::of(self.facts, figure).ok_or_else(|| {
            Refused::new(FaultCode::CertificateForm, format!("{figure:?}"), "a figure of the aim")
        })?;
        let passes_made = prices.passes_pay(self.facts, &costs.pass, &cases::of(self.facts, part)?)?;
        let mut covers = BigRational::from_integer(0.into());
        for fabric in 0..self.facts.fabrics.len() {
            let width = &costs.width[fabric] + &prices.held_cloth[fabric];
            prices.strips_pay(self.facts, fabric, &width, &costs.strip, &costs.ply[fabric])?;
            covers += self.cover(fabric, part, &prices, [&width, &costs.strip, &costs.ply[fabric]])?;
        }
        let names = || self.facts.fabrics.iter().map(|cloth| &cloth.name);
        if let Some(stray) = part.whole.iter().find(|whole| names().all(|name| *name != whole.fabric)) {
            return Err(Refused::new(FaultCode::CertificateForm, &stray.fabric, "a fabric"));
        }
        let held: BigRational = prices
            .held_cloth
            .iter()
            .zip(&self.totals.widths)
            .map(|(price, width)| price * whole(width))
            .sum();
        let passes = BigRational::from_integer(self.totals.passes.into());
        let varies = covers + passes_made - held - &prices.held_passes * passes;
        costs.rounded_up(&varies).ok_or_else(Refused::too_large)
    }

    /// What covering the demand for a fabric costs at least: a least that the part states for its whole plans, once it
    /// is found true, else the demand at its prices.
    fn cover(
        &self,
        fabric: usize,
        part: &PartProof,
        prices: &Prices,
        costs: [&BigRational; 3],
    ) -> Result<BigRational, Refused> {
        let name = &self.facts.fabrics[fabric].name;
        let mut stated = part.whole.iter().filter(|whole| whole.fabric == *name);
        match (stated.next(), stated.next()) {
            (None, _) => Ok(prices.worth_of_demand(self.facts, fabric)),
            (Some(whole), None) => {
                let form = || Refused::new(FaultCode::CertificateForm, name, "a denominator above zero");
                let least = exact(&whole.least).ok_or_else(form)?;
                prices.whole(self.facts, fabric, costs).costs_at_least(&least)?;
                Ok(least)
            }
            _ => Err(Refused::new(FaultCode::CertificateForm, format!("{name} twice"), "one least cost")),
        }
    }

    fn may_hold(&self, prices: &Prices) -> Result<(), Refused> {
        let zero = BigRational::from_integer(0.into());
        let cloth = prices.held_cloth.iter().any(|price| *price != zero);
        if (cloth && !self.earlier.area) || (prices.held_passes != zero && !self.earlier.passes) {
            return Err(Refused::new(
                FaultCode::HeldWrongly,
                "held",
                "only what stands earlier in the aim's order",
            ));
        }
        Ok(())
    }

    /// One part for every fabric with demand; only cloth can be bounded so.
    fn by_fabric(&self, figure: FigureKind, parts: &[PartProof]) -> Result<i128, Refused> {
        if !matches!(figure, FigureKind::Money | FigureKind::Area) {
            let found = format!("{} parts", parts.len());
            return Err(Refused::new(FaultCode::CertificateForm, found, "one part over all fabrics"));
        }
        let named: Vec<Option<&str>> = parts.iter().map(|part| part.fabric.as_deref()).collect();
        let of_fabric = |(fabric, cloth): (usize, &Cloth)| {
            let mut own = parts.iter().filter(|part| part.fabric.as_ref() == Some(&cloth.name));
            match (own.next(), own.next(), self.facts.demand.wants(fabric)) {
                (Some(part), None, true) => Ok((1, self.strips(fabric, part)?)),
                (None, None, wanted) if !wanted || parts.is_empty() => Ok((0, (0, Length::ZERO))),
                _ => {
                    let (found, expected) = (format!("{named:?}"), format!("one part for {}", cloth.name));
                    Err(Refused::new(FaultCode::CertificateForm, found, expected))
                }
            }
        };
        let fabrics: Vec<Result<_, Refused>> =
            self.facts.fabrics.par_iter().enumerate().map(of_fabric).collect();
        let (mut seen, mut bound) = (0, 0_i128);
        for (cloth, found) in self.facts.fabrics.iter().zip(fabrics) {
            let (of_parts, (strips, widths)) = found?;
            seen += of_parts;
            let own = (|| {
                let taken = cloth.taken(strips, widths)?;
                Some(match figure {
                    FigureKind::Money => cloth.money(cloth.bought(taken)?).units(),
                    _ => cloth.area(taken).units(),
                })
            })();
            bound = own.and_then(|own| bound.checked_add(own)).ok_or_else(Refused::too_large)?;
        }
        if seen != parts.len() {
            return Err(Refused::new(
                FaultCode::CertificateForm,
                format!("{named:?}"),
                "one part for every fabric",
            ));
        }
        Ok(bound)
    }

    fn one_fabric_a_pass(&self) -> bool {
        self.facts.strategy.loading == LoadingRule::FabricByFabric
    }

    /// Where a pass holds one fabric, the fewest passes of each fabric alone add up. A fabric without a part takes at
    /// least none.
    fn passes_by_fabric(&self, parts: &[PartProof]) -> Result<i128, Refused> {
        let form =
            |found: String| Refused::new(FaultCode::CertificateForm, found, "one part for every fabric");
        let (zero, one) = (BigRational::from_integer(0.into()), BigRational::from_integer(1.into()));
        let mut seen: Vec<usize> = Vec::new();
        let mut bound = 0_i128;
        for part in parts {
            let name = part.fabric.as_deref().unwrap_or_default();
            let fabric = self.facts.fabrics.iter().position(|cloth| cloth.name == name);
            let fabric =
                fabric.filter(|fabric| !seen.contains(fabric)).ok_or_else(|| form(name.to_owned()))?;
            seen.push(fabric);
            let prices = Prices::read(self.facts, part)?;
            self.may_hold(&prices)?;
            prices.only_passes_of(self.facts, fabric)?;
            let _ = prices.passes_pay(self.facts, &one, &cases::of(self.facts, part)?)?;
            prices.strips_pay(self.facts, fabric, &prices.held_cloth[fabric], &zero, &zero)?;
            let held = self.totals.widths.get(fabric).map_or_else(|| zero.clone(), whole);
            let worth = prices.worth_of_demand(self.facts, fabric) - &prices.held_cloth[fabric] * held;
            let passes = i128::try_from(worth.ceil().max(zero.clone()).to_integer());
            bound = passes.ok().and_then(|own| bound.checked_add(own)).ok_or_else(Refused::too_large)?;
        }
        Ok(bound)
    }

    /// At least so many strips, and so much strip width in all, of one fabric.
    fn strips(&self, fabric: usize, part: &PartProof) -> Result<(u64, Length), Refused> {
        let prices = Prices::read(self.facts, part)?;
        prices.only_fabric(self.facts, fabric)?;
        let (zero, one) = (BigRational::from_integer(0.into()), BigRational::from_integer(1.into()));
        prices.strips_pay(self.facts, fabric, &one, &zero, &zero)?;
        if !part.passes.is_empty() {
            return Err(Refused::new(
                FaultCode::CertificateForm,
                "a case of passes",
                "one part over all fabrics",
            ));
        }
        if let Some(stray) = part.whole.iter().find(|whole| Some(&whole.fabric) != part.fabric.as_ref()) {
            return Err(Refused::new(FaultCode::CertificateForm, &stray.fabric, "the fabric of the part"));
        }
        let least = self.cover(fabric, part, &prices, [&one, &zero, &zero])?.ceil().to_integer();
        let widths = i64::try_from(least).ok().filter(|&units| units <= i64::MAX / 4);
        let widths =
            Length::from_units(widths.ok_or_else(Refused::too_large)?).ceil_to(self.facts.rules.step);
        let widest = part::widest_strip(self.facts, fabric).map_or(1, Length::units).max(1);
        let strips = u64::try_from(widths.units()).unwrap_or(0).div_ceil(u64::try_from(widest).unwrap_or(1));
        Ok((strips, widths))
    }
}

fn whole(length: &Length) -> BigRational {
    BigRational::from_integer(length.units().into())
}

/// A price of the plan as an exact number; none if its denominator is not above zero.
fn exact(price: &Rational) -> Option<BigRational> {
    (price.d > 0).then(|| BigRational::new(price.n.into(), price.d.into()))
}
