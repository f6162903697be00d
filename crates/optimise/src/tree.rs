//! Proofs by cases of passes: the decomposition's bound does not know that passes come whole. Where a board would make
//! five and a half passes, plans with at most five and plans with at least six are looked at apart, each with a proof of
//! its own, until none of them can be better than a known plan (branch and price; Barnhart, Johnson, Nemhauser,
//! Savelsbergh and Vance, Operations Research 46 (1998)).

use crate::costs::{Costs, Limits, Range, Region};
use crate::decompose::{Decomposition, Reach};
use crate::listen::Stop;
use crate::model::{Model, num_gcd};
use crate::whole::{Proof, Question};

/// Rounds of the decomposition for one case.
const ROUNDS: u32 = 60;
/// How far from a whole number passes are still whole, for the choice of cases only.
const NEAR: f64 = 1e-6;

/// One case with its proof.
#[derive(Clone, Debug)]
pub struct Case {
    /// The plans that it is about.
    pub region: Region,
    /// What is proved of it.
    pub proof: Proof,
}

/// How far to go.
pub struct Aim<'a> {
    /// Value to reach, in the figure's own unit.
    pub value: i128,
    /// Step of the values that there can be.
    pub step: i128,
    /// Most cases.
    pub cases: usize,
    /// Asked between cases.
    pub stop: Stop<'a>,
}

/// Cases that together are all plans within the limits. The lowest of their bounds holds for all.
#[must_use]
pub fn prove(model: &Model, costs: &Costs, limits: &Limits, aim: &Aim<'_>) -> Option<Vec<Case>> {
    let question = Question::of(model, costs)?;
    let mut search = Search::new(model, &question, aim);
    let mut open = vec![search.case(Region::within(limits, model.boards.len(), model.fabrics.len()))?];
    let mut closed: Vec<Case> = Vec::new();
    let bound = |case: &Case| case.proof.rounded_up(1);
    while open.len() + closed.len() < aim.cases && !(aim.stop)() {
        let Some(lowest) = (0..open.len()).min_by_key(|&at| bound(&open[at])) else { break };
        if open[lowest].proof.rounded_up(aim.step) >= aim.value {
            break;
        }
        let case = open.swap_remove(lowest);
        if std::env::var("TRACE_TREE").is_ok() {
            eprintln!(
                "{} {:?} {:?}",
                bound(&case) as f64 / 8128.0,
                case.region.passes.iter().map(|r| (r.least, r.most.unwrap_or(-1))).collect::<Vec<_>>(),
                case.region.cloth.iter().map(|r| (r.least, r.most.unwrap_or(-1))).collect::<Vec<_>>()
            );
        }
        let two = search.split(&case.region);
        let two = two.and_then(|[lower, upper]| search.case(lower).zip(search.case(upper)));
        match two {
            Some((lower, upper)) => open.extend([lower, upper]),
            None => closed.push(case),
        }
    }
    closed.extend(open);
    Some(closed)
}

struct Search<'a> {
    model: &'a Model,
    question: &'a Question<'a>,
    decomposition: Decomposition<'a>,
    aim: &'a Aim<'a>,
    enough: i64,
}

impl<'a> Search<'a> {
    fn new(model: &'a Model, question: &'a Question<'a>, aim: &'a Aim<'a>) -> Self {
        // Rounding the prices of loads takes less than one off a fabric and off a board.
        let lost = i64::try_from(model.fabrics.len() + model.boards.len()).unwrap_or(0);
        let enough = question.in_costs(aim.value - aim.step).saturating_add(lost + 1);
        Self { model, question, decomposition: question.decomposition(), aim, enough }
    }

    fn case(&mut self, region: Region) -> Option<Case> {
        let reach = Reach { rounds: ROUNDS, enough: self.enough, stop: self.aim.stop };
        let found = self.decomposition.solve(&region, &reach)?;
        let proof = self.question.proof(&found, &region, self.aim.stop)?;
        Some(Case { region, proof })
    }

    /// Two parts of a region that the best mixture of whole plans is in neither of: by the passes of a board, where
    /// they are not whole, else by the cloth of a fabric.
    fn split(&self, region: &Region) -> Option<[Region; 2]> {
        let mixture = self.decomposition.mixture(region)?;
        if let Some((board, below)) = between(mixture.passes.iter().map(|&passes| (passes, 1))) {
            return Some(parts(region, |region| &mut region.passes[board], below, below + 1));
        }
        let step =
            |f: usize| self.model.fabrics[f].widths.iter().fold(0, |all, &width| num_gcd(all, width)).max(1);
        let cloth = mixture.cloth.iter().enumerate().map(|(f, &cloth)| (cloth, step(f)));
        let (fabric, below) = between(cloth)?;
        let step = step(fabric);
        Some(parts(region, |region| &mut region.cloth[fabric], below * step, (below + 1) * step))
    }
}

/// Of amounts with their steps, the one that is farthest from a whole number of steps, and the whole steps below it.
#[allow(clippy::cast_possible_truncation, clippy::cast_precision_loss, reason = "amounts are small")]
fn between(amounts: impl Iterator<Item = (f64, i64)>) -> Option<(usize, i64)> {
    let mut best: Option<(f64, usize, i64)> = None;
    for (at, (amount, step)) in amounts.enumerate() {
        let steps = amount / step as f64;
        let off = (steps - steps.floor()).min(steps.ceil() - steps);
        if off > NEAR && best.is_none_or(|(most, _, _)| off > most + NEAR) {
            best = Some((off, at, steps.floor() as i64));
        }
    }
    best.map(|(_, at, below)| (at, below))
}

/// A region with a range of it ending at `below`, and beginning at `above`.
fn parts(region: &Region, of: impl Fn(&mut Region) -> &mut Range, below: i64, above: i64) -> [Region; 2] {
    let (mut lower, mut upper) = (region.clone(), region.clone());
    of(&mut lower).most = Some(below);
    of(&mut upper).least = above;
    [lower, upper]
}
