//! The bounds of a plan's figures, each proved on its own.

use std::cell::OnceCell;

use patchlay_measure::Length;
use patchlay_plan::proof::PartProof;
use patchlay_plan::{Bound, Certificate, FigureKind, Figures, StageProof};
use patchlay_scenario::LoadingRule;
use patchlay_scenario::job::{Aim, Job};

use rayon::prelude::*;

use crate::cases;
use crate::certify::{self, Proof};
use crate::costs::{Costs, Limits};
use crate::finish::Written;
use crate::kinds::Kinds;
use crate::listen::{Listener, Progress, Stop};
use crate::model::Model;
use crate::questions;
use crate::solution::Solution;
use crate::tree;
use crate::whole;

/// How far to go.
#[derive(Clone, Copy)]
pub struct Reach<'a> {
    /// For so many figures of the order whole plans are looked at; for those after them only the relaxation.
    pub in_full: usize,
    /// Rounds of decomposition.
    pub rounds: u32,
    /// The plan as a solution of the model, where it is one: whole plans are looked for from there.
    pub known: Option<&'a Solution>,
    /// A stop: what is proved by then is kept.
    pub stop: Stop<'a>,
}

/// Most cases of passes with the plain relaxation.
const CASES: usize = 100;
/// Most of them times fabrics: a case takes time in proportion to these.
const CASES_OF_FABRICS: usize = 4_000;
/// With fewer rounds of decomposition than this whole plans show no more than cases do.
const FEWEST_ROUNDS: u32 = 10;
/// Rounds for a question on the way.
const ROUNDS: u32 = 60;

/// The value of a figure in a plan.
#[must_use]
pub fn value(job: &Job, figures: &Figures, figure: FigureKind) -> i128 {
    match figure {
        FigureKind::Money => figures.money.units(),
        FigureKind::Area => figures.area_taken.units(),
        FigureKind::Passes => i128::from(figures.passes),
        FigureKind::Seconds => i128::from(figures.seconds),
        FigureKind::Cost => {
            figures.money.units() + questions::second_is_worth(&job.aim) * i128::from(figures.seconds)
        }
        FigureKind::Weighted => {
            let pass = if let Aim::Weighted { pass } = job.aim { pass.units() } else { 0 };
            i128::from(figures.length_taken.units()) + i128::from(pass) * i128::from(figures.passes)
        }
    }
}

/// Bounds and certificate of what was written.
#[must_use]
pub fn of(
    job: &Job,
    model: &Model,
    written: &Written,
    reach: Reach<'_>,
    listener: &dyn Listener,
) -> (Vec<Bound>, Certificate) {
    let order = questions::order(&job.aim);
    let of = order.len() as u64;
    let at_once = || true;
    let mut bounds: Vec<Bound> = Vec::new();
    let mut certificate = Certificate::default();
    let alone = OnceCell::new();
    for (done, figure) in order.into_iter().enumerate() {
        let reach = if done < reach.in_full { reach } else { Reach { stop: &at_once, in_full: 0, ..reach } };
        let earlier_open = bounds.iter().any(|bound| !bound.proved);
        let limits = held(job, model, written, figure);
        let value = value(job, &written.figures, figure);
        let told = |bound: Option<i128>| {
            let bound = bound.map(|bound| bound.to_string());
            listener.event(&Progress::Value { figure, value: value.to_string(), bound });
        };
        listener.event(&Progress::Share { done: done as u64, of });
        told(None);
        let (bound, proof, holds) =
            best_proof(job, model, (figure, value), &limits, reach, &alone, &|bound| told(Some(bound)));
        told(Some(bound));
        bounds.push(Bound {
            figure,
            value: value.to_string(),
            bound: bound.to_string(),
            conditional: earlier_open && holds,
            proved: bound == value,
        });
        certificate.stages.push(proof);
    }
    (bounds, certificate)
}

/// What earlier figures of the order hold when this one is bounded.
fn held(job: &Job, model: &Model, written: &Written, figure: FigureKind) -> Limits {
    let widths = || {
        let sum = |f: usize| written.fabrics[f].strips.iter().map(|strip| strip.width).sum::<Length>();
        Some((0..model.fabrics.len()).map(|f| sum(f).units() / model.grid).collect())
    };
    let passes = || i64::try_from(written.figures.passes).ok();
    match (&job.aim, figure) {
        (Aim::LeastCloth, FigureKind::Passes) => Limits { width: widths(), ..Limits::default() },
        (Aim::LeastCloth, FigureKind::Seconds) => {
            Limits { width: widths(), passes: passes(), ..Limits::default() }
        }
        (Aim::FewestPasses, FigureKind::Money | FigureKind::Area | FigureKind::Seconds) => {
            Limits { passes: passes(), ..Limits::default() }
        }
        _ => Limits::default(),
    }
}

/// The better of the proofs there are; its bound, and whether it holds anything. What every fabric takes alone is found
/// once for all figures; a bound on the way is told.
fn best_proof(
    job: &Job,
    model: &Model,
    (figure, value): (FigureKind, i128),
    limits: &Limits,
    reach: Reach<'_>,
    alone: &OnceCell<Vec<Alone>>,
    told: &dyn Fn(i128),
) -> (i128, StageProof, bool) {
    let holds = limits.width.is_some() || limits.passes.is_some();
    let by_fabric = matches!(figure, FigureKind::Money | FigureKind::Area);
    let apart = by_fabric
        .then(|| fabric_by_fabric(job, alone.get_or_init(|| least_alone(job, model, reach.stop)), figure));
    if by_fabric && !holds {
        let (bound, proof) = apart.unwrap_or_else(|| (0, StageProof { figure, parts: Vec::new() }));
        return (bound, proof, false);
    }
    if figure == FigureKind::Passes && job.strategy.loading == LoadingRule::FabricByFabric {
        let (bound, proof) = passes_by_fabric(job, model, limits);
        return (bound, proof, holds);
    }
    let together = all_together(job, model, (figure, value), limits, reach, told);
    match apart {
        Some((bound, proof)) if bound >= together.0 => (bound, proof, false),
        _ => (together.0, together.1, holds),
    }
}

fn all_together(
    job: &Job,
    model: &Model,
    (figure, value): (FigureKind, i128),
    limits: &Limits,
    reach: Reach<'_>,
    told: &dyn Fn(i128),
) -> (i128, StageProof) {
    let costs = questions::costs(job, model, figure);
    let constant = questions::constant(job, figure);
    let own = certify::without_apart_points(model);
    let step = questions::step(job, figure);
    let late = figure == FigureKind::Seconds && job.aim != Aim::LeastTime;
    let mut best = (0, StageProof { figure, parts: Vec::new() });
    let boards: Vec<&str> = job.boards.iter().map(|board| board.name.as_str()).collect();
    let lines = job.demands.len();
    // Passes that come whole show where a pass costs more than a step.
    let most = CASES.min(CASES_OF_FABRICS / model.fabrics.len().max(1)).max(1);
    let cases = if late || costs.pass < step || reach.in_full == 0 { 1 } else { most };
    let aim = cases::Aim { value: value - constant, step, cases };
    let cases = cases::prove(&own, &costs, limits, aim).unwrap_or_default();
    if let Some(least) = cases.iter().map(|case| case.rounded_up(step)).min() {
        let parts = cases.iter().map(|case| case.part(&own, lines, &boards)).collect();
        best = (constant + least, StageProof { figure, parts });
        // What follows can take long.
        told(best.0);
    }
    // Whole plans are only worth asking for where strips cost something and the bound is not met. Time that comes after
    // other figures is far from its bound in any case, because lay-ups are not in the model.
    let strips = costs.strip > 0
        || costs.width.iter().any(|&v| v > 0)
        || limits.width.is_some()
        || figure == FigureKind::Passes;
    if !strips || best.0 >= value || late || reach.rounds < FEWEST_ROUNDS {
        return best;
    }
    let aim = tree::Aim {
        value: value - constant,
        step,
        rounds: reach.rounds,
        by_passes: true,
        known: reach.known,
        stop: reach.stop,
    };
    let cases = tree::prove(&own, &costs, limits, &aim, &mut |_| None).unwrap_or_default();
    let bound = cases.iter().map(|case| constant + case.proof.rounded_up(step).max(0)).min();
    if let Some(bound) = bound.filter(|bound| *bound > best.0) {
        let fabrics: Vec<&str> = job.fabrics.iter().map(|fabric| fabric.name.as_str()).collect();
        let part = |case: &tree::Case| case.part(&own, lines, &boards, &fabrics);
        best = (bound, StageProof { figure, parts: cases.iter().map(part).collect() });
    }
    best
}

fn ceil_div(n: i128, d: i128) -> i128 {
    -(-n).div_euclid(d)
}

/// What a fabric takes at least, whatever the others do.
struct Alone {
    taken: Length,
    part: Option<PartProof>,
}

/// Least cloth of every fabric, each on its own.
fn fabric_by_fabric(job: &Job, alone: &[Alone], figure: FigureKind) -> (i128, StageProof) {
    let mut stage = StageProof { figure, parts: Vec::new() };
    let mut sum = 0;
    for (fabric, alone) in job.fabrics.iter().zip(alone) {
        sum += match figure {
            FigureKind::Money => fabric.money(fabric.bought(alone.taken)).units(),
            _ => (alone.taken * fabric.width).units(),
        };
        stage.parts.extend(alone.part.clone());
    }
    (sum, stage)
}

/// Length that every fabric takes at least, proved for each on its own.
#[must_use]
pub fn least_taken(job: &Job, model: &Model, stop: Stop<'_>) -> Vec<Length> {
    least_alone(job, model, stop).into_iter().map(|alone| alone.taken).collect()
}

/// Fewest passes of any plan whose strip widths keep to the limits.
#[must_use]
pub fn fewest_passes(job: &Job, model: &Model, limits: &Limits, stop: Stop<'_>) -> u64 {
    let reach = Reach { in_full: 1, rounds: ROUNDS, known: None, stop };
    let (bound, ..) =
        best_proof(job, model, (FigureKind::Passes, i128::MAX), limits, reach, &OnceCell::new(), &|_| {});
    u64::try_from(bound).unwrap_or(0)
}

fn least_alone(job: &Job, model: &Model, stop: Stop<'_>) -> Vec<Alone> {
    let mut costs = Costs::zero(model.fabrics.len());
    costs.width = vec![i128::from(model.grid); model.fabrics.len()];
    let limits = Limits::default();
    let proof = certify::prove(model, &costs, &limits);
    let kinds = Kinds::of_model(model);
    let names: Vec<&str> = job.fabrics.iter().map(|fabric| fabric.name.as_str()).collect();
    let lines = job.demands.len();
    let whole: Vec<Option<whole::Proof>> = (0..model.fabrics.len())
        .into_par_iter()
        .map(|f| if questions::is_wanted(job, f) { whole::width_of(model, &kinds, f, stop) } else { None })
        .collect();
    let of_fabric = |(f, whole): (usize, &Option<whole::Proof>)| {
        let fabric = &job.fabrics[f];
        let rounded = |units: i128| {
            Length::from_units(i64::try_from(units.max(0)).unwrap_or(0)).ceil_to(job.ruler_step)
        };
        let plain = proof.as_ref().map_or(Length::ZERO, |proof| rounded(least_width(model, proof, f)));
        let better = whole.as_ref().map(|whole| (rounded(whole.rounded_up(1)), whole));
        let better = better.filter(|(least, _)| *least > plain);
        let least = better.map_or(plain, |(least, _)| least);
        let widest = model.length(model.fabrics[f].widest).units().max(1);
        let strips = usize::try_from(-(-least.units()).div_euclid(widest)).unwrap_or(0);
        let taken = fabric.taken(strips, least);
        let part = match (better, &proof) {
            _ if !questions::is_wanted(job, f) => None,
            (Some((_, whole)), _) => Some(whole.part(model, lines, Some(f), &names)),
            (None, Some(proof)) => Some(proof.part(model, lines, Some((f, fabric.name.clone())), &limits)),
            (None, None) => None,
        };
        Alone { taken, part }
    };
    whole.iter().enumerate().map(of_fabric).collect()
}

/// Fewest passes where a pass holds one fabric: those of each fabric alone, added up.
fn passes_by_fabric(job: &Job, model: &Model, limits: &Limits) -> (i128, StageProof) {
    let figure = FigureKind::Passes;
    let costs = questions::costs(job, model, figure);
    let mut stage = StageProof { figure, parts: Vec::new() };
    let mut sum = 0;
    for f in (0..model.fabrics.len()).filter(|&f| questions::is_wanted(job, f)) {
        let alone = model.only(f);
        if let Some(proof) = certify::prove(&alone, &costs, limits) {
            sum += ceil_div(proof.value.max(0), proof.scale);
            let name = job.fabrics[f].name.clone();
            stage.parts.push(proof.part(&alone, job.demands.len(), Some((f, name)), limits));
        }
    }
    (sum, stage)
}

/// Least strip width of a fabric by the plain relaxation, in units of length.
fn least_width(model: &Model, proof: &Proof, f: usize) -> i128 {
    let items = proof.items[f].iter().zip(&model.fabrics[f].items);
    let value: i128 = items.map(|(price, item)| price * i128::from(item.wanted)).sum();
    ceil_div(value, proof.scale)
}
