//! Damage to bounds and their proofs.

use patchlay_check::FaultCode;
use patchlay_plan::proof::{PartProof, PassesOf};
use patchlay_plan::{Fewest, Outcome, Plan, Rational, StageProof};

use super::{Damage, damage};

fn parts(plan: &mut Plan) -> impl Iterator<Item = &mut PartProof> {
    plan.certificate.stages.iter_mut().flat_map(|stage| &mut stage.parts)
}

fn has_cases(stage: &StageProof) -> bool {
    stage.parts.iter().any(|part| !part.passes.is_empty())
}

fn cases(plan: &mut Plan) -> impl Iterator<Item = &mut PassesOf> {
    parts(plan).flat_map(|part| &mut part.passes)
}

/// Adds to a bound's text.
fn shift(text: &mut String, by: i128) -> bool {
    let Ok(number) = text.parse::<i128>() else { return false };
    *text = (number + by).to_string();
    true
}

fn priced(prices: &mut [Rational]) -> Option<&mut Rational> {
    prices.iter_mut().find(|price| price.n > 0)
}

pub(super) fn damages() -> Vec<Damage> {
    let mut all = stated();
    all.extend(proofs());
    all
}

fn stated() -> Vec<Damage> {
    vec![
        // Not one more than the plan says: the checker searches further and may well prove that.
        damage("one more lay-up called needed than there are", FaultCode::FewestNotProved, |plan, _| {
            plan.fewest = Some(Fewest { layups: plan.figures.layups + 1, pieces: 0 });
            true
        }),
        damage("one more length called needed than is proved", FaultCode::FewestNotProved, |plan, _| {
            let least = plan.fewest.map_or(plan.figures.pieces, |fewest| fewest.pieces);
            plan.fewest = Some(Fewest { layups: 0, pieces: least + 1 });
            true
        }),
        damage("outcome proved without proof, or the reverse", FaultCode::Outcome, |plan, _| {
            plan.outcome = match plan.outcome {
                Outcome::Proved => Outcome::WithGap,
                Outcome::WithGap | Outcome::Stopped => Outcome::Proved,
            };
            true
        }),
        damage("bound left out", FaultCode::BoundOrder, |plan, _| plan.bounds.pop().is_some()),
        damage("bounds in another order", FaultCode::BoundOrder, |plan, _| {
            let many = plan.bounds.len() > 1;
            plan.bounds.reverse();
            many
        }),
        damage("proof left out", FaultCode::BoundOrder, |plan, _| plan.certificate.stages.pop().is_some()),
        damage("value beside a bound off by one", FaultCode::BoundValue, |plan, _| {
            plan.bounds.first_mut().is_some_and(|bound| shift(&mut bound.value, -1))
        }),
        damage("value beside a bound with a leading zero", FaultCode::BoundValue, |plan, _| {
            plan.bounds.first_mut().map(|bound| bound.value.insert(0, '0')).is_some()
        }),
        damage("bound above the value", FaultCode::BoundAboveValue, |plan, _| {
            let Some(bound) = plan.bounds.first_mut() else { return false };
            bound.bound.clone_from(&bound.value);
            shift(&mut bound.bound, 1)
        }),
        damage("bound above what its proof shows", FaultCode::BoundNotProved, |plan, _| {
            plan.bounds.last_mut().is_some_and(|bound| shift(&mut bound.bound, 1))
        }),
        damage("bound below what its proof shows", FaultCode::BoundNotProved, |plan, _| {
            plan.bounds.first_mut().is_some_and(|bound| shift(&mut bound.bound, -1))
        }),
        damage("bound that is no number", FaultCode::BoundNotProved, |plan, _| {
            plan.bounds.first_mut().map(|bound| bound.bound.push('?')).is_some()
        }),
        damage("a figure called proved, or the reverse", FaultCode::ProvedFlag, |plan, _| {
            plan.bounds.first_mut().map(|bound| bound.proved = !bound.proved).is_some()
        }),
        damage("the first bound called conditional", FaultCode::ConditionalFlag, |plan, _| {
            plan.bounds.first_mut().map(|bound| bound.conditional = true).is_some()
        }),
        damage("a conditional bound called unconditional", FaultCode::ConditionalFlag, |plan, _| {
            let holds = |at: usize, plan: &Plan| {
                plan.certificate.stages[at].parts.iter().any(|part| part.held_passes.n != 0)
            };
            let at = (0..plan.bounds.len()).find(|&at| plan.bounds[at].conditional && holds(at, plan));
            at.map(|at| plan.bounds[at].conditional = false).is_some()
        }),
    ]
}

fn proofs() -> Vec<Damage> {
    vec![
        damage("patch price in a proof doubled", FaultCode::StripPrice, |plan, _| {
            let price = parts(plan).find_map(|part| priced(&mut part.demand));
            price.map(|price| price.n *= 2).is_some()
        }),
        damage("patch price in a proof raised by one percent", FaultCode::StripPrice, |plan, _| {
            // Where passes alone are priced a patch is worth just what its share of a stack costs.
            let Some(stage) = plan.certificate.stages.iter_mut().find(|stage| {
                stage.figure == patchlay_plan::FigureKind::Passes
                    && !stage.parts.is_empty()
                    && stage.parts.iter().all(|part| part.whole.is_empty())
            }) else {
                return false;
            };
            let price = priced(&mut stage.parts[0].demand);
            price.map(|price| *price = Rational { n: price.n * 101, d: price.d * 100 }).is_some()
        }),
        damage("point price in a proof raised", FaultCode::PassPrice, |plan, _| {
            // In a case of passes a board that makes no more than so many may bear more.
            let mut all = parts(plan).filter(|part| part.passes.is_empty());
            let price = all.find_map(|part| part.points.iter_mut().find_map(|board| priced(board)));
            price.map(|price| price.n *= 1_000).is_some()
        }),
        damage("a case of a proof left out", FaultCode::Cases, |plan, _| {
            let stage =
                plan.certificate.stages.iter_mut().find(|stage| stage.parts.len() > 1 && has_cases(stage));
            stage.map(|stage| stage.parts.pop()).is_some()
        }),
        damage("a case of a proof that ends a pass too early", FaultCode::Cases, |plan, _| {
            let most = cases(plan).find_map(|case| case.at_most.as_mut().filter(|most| **most > 0));
            most.map(|most| *most -= 1).is_some()
        }),
        damage("a case of a proof that begins a pass too late", FaultCode::Cases, |plan, _| {
            let case = cases(plan).find(|case| case.at_least > 0 && case.at_most.is_none());
            case.map(|case| case.at_least += 1).is_some()
        }),
        damage("a case of a proof about an unknown board", FaultCode::CertificateForm, |plan, _| {
            cases(plan).next().map(|case| case.board.push('?')).is_some()
        }),
        damage("a case of a proof that names a board twice", FaultCode::CertificateForm, |plan, _| {
            let part = parts(plan).find(|part| !part.passes.is_empty());
            part.map(|part| part.passes.push(part.passes[0].clone())).is_some()
        }),
        damage("negative price in a proof", FaultCode::NegativePrice, |plan, _| {
            let price = parts(plan).find_map(|part| priced(&mut part.demand));
            price.map(|price| price.n = -price.n).is_some()
        }),
        damage("negative point price in a proof", FaultCode::NegativePrice, |plan, _| {
            let price =
                parts(plan).find_map(|part| part.points.iter_mut().find_map(|board| board.first_mut()));
            price.map(|price| price.n = -1).is_some()
        }),
        damage("price missing in a proof", FaultCode::CertificateForm, |plan, _| {
            parts(plan).next().and_then(|part| part.demand.pop()).is_some()
        }),
        damage("point prices missing in a proof", FaultCode::CertificateForm, |plan, _| {
            let board = parts(plan).find_map(|part| part.points.iter_mut().find(|board| !board.is_empty()));
            board.map(|board| board.pop()).is_some()
        }),
        damage("a part of a proof left out", FaultCode::CertificateForm, |plan, _| {
            let mut stages = plan.certificate.stages.iter_mut();
            let stage = stages.find(|stage| stage.parts.len() > 1 && !has_cases(stage));
            stage.map(|stage| stage.parts.pop()).is_some()
        }),
        damage("price over zero", FaultCode::CertificateForm, |plan, _| {
            parts(plan).next().and_then(|part| part.demand.first_mut()).map(|price| price.d = 0).is_some()
        }),
        damage("least cost of whole plans raised by one percent", FaultCode::WholePlans, |plan, _| {
            let first = parts(plan).find_map(|part| part.whole.first_mut());
            first
                .map(|whole| whole.least = Rational { n: whole.least.n * 101, d: whole.least.d * 100 })
                .is_some()
        }),
        damage("least cost of whole plans of no fabric", FaultCode::CertificateForm, |plan, _| {
            let first = parts(plan).find_map(|part| part.whole.first_mut());
            first.map(|whole| whole.fabric.push('?')).is_some()
        }),
        damage("least cost of whole plans stated twice", FaultCode::CertificateForm, |plan, _| {
            let part = parts(plan).find(|part| !part.whole.is_empty());
            part.map(|part| part.whole.push(part.whole[0].clone())).is_some()
        }),
        damage("a figure held that comes later", FaultCode::HeldWrongly, |plan, _| {
            let part = plan
                .certificate
                .stages
                .first_mut()
                .and_then(|stage| stage.parts.iter_mut().find(|part| part.fabric.is_none()));
            part.map(|part| part.held_passes = Rational { n: 1, d: 1 }).is_some()
        }),
        damage("denominators that nobody can add up", FaultCode::CertificateTooLarge, |plan, _| {
            let part = parts(plan).find(|part| part.demand.len() > 1);
            let denominators = [(1_i128 << 126) - 1, (1_i128 << 125) - 3];
            part.map(|part| {
                for (price, d) in part.demand.iter_mut().zip(denominators) {
                    *price = Rational { n: 1, d };
                }
            })
            .is_some()
        }),
    ]
}
