//! Proofs by cases of passes: the decomposition's bound does not know that passes come whole. Where a board would make
//! five and a half passes, plans with at most five and plans with at least six are looked at apart, each with a proof of
//! its own, until none of them can be better than a known plan (branch and price; Barnhart, Johnson, Nemhauser,
//! Savelsbergh and Vance, Operations Research 46 (1998)).

use crate::costs::{Costs, Limits, Range, Region};
use crate::decompose::{Decomposition, Reach};
use crate::listen::Stop;
use crate::model::Model;
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
        // What is between this and the value there cannot be.
        let enough = question.in_costs(aim.value - aim.step).saturating_add(1);
        Self { model, question, decomposition: question.decomposition(), aim, enough }
    }

    fn case(&mut self, region: Region) -> Option<Case> {
        let reach = Reach { rounds: ROUNDS, enough: self.enough, stop: self.aim.stop };
        let found = self.decomposition.solve(&region, &reach)?;
        let proof = self.question.proof(&self.decomposition, &found, &region);
        Some(Case { region, proof })
    }

    /// Two parts of a region that the best mixture of whole plans is in neither of: by the passes of a board, where
    /// they are not whole, else by the cloth of a fabric, where no strips have such widths in all, else by plies.
    fn split(&self, region: &Region) -> Option<[Region; 2]> {
        let mixture = self.decomposition.mixture(region)?;
        let passes = mixture.passes.iter().map(|&passes| whole_numbers(passes));
        if let Some((board, gap)) = widest(passes) {
            return Some(parts(region, |region| &mut region.passes[board], gap));
        }
        let cloth = mixture.cloth.iter().zip(&self.model.fabrics);
        if let Some((fabric, gap)) = widest(cloth.map(|(&cloth, fabric)| sums(&fabric.widths, cloth))) {
            return Some(parts(region, |region| &mut region.cloth[fabric], gap));
        }
        let plies = mixture.plies.iter().enumerate();
        let plies: Vec<((usize, usize), f64)> =
            plies.flat_map(|(f, plies)| plies.iter().enumerate().map(move |(k, &n)| ((f, k), n))).collect();
        let (at, gap) = widest(plies.iter().map(|&(_, n)| whole_numbers(n)))?;
        Some(parts(region, |region| region.plies.entry(plies[at].0).or_default(), gap))
    }
}

/// Two neighbours among the values that there can be, and where between them an amount lies: 0 at either, 1/2 midway.
struct Gap {
    below: i64,
    above: i64,
    off: f64,
}

#[allow(clippy::cast_precision_loss, reason = "amounts are small")]
fn gap(amount: f64, below: i64, above: i64) -> Option<Gap> {
    let off = (amount - below as f64).min(above as f64 - amount) / (above - below).max(1) as f64;
    (off > NEAR).then_some(Gap { below, above, off })
}

#[allow(clippy::cast_possible_truncation, reason = "amounts are small")]
fn whole_numbers(amount: f64) -> Option<Gap> {
    gap(amount, amount.floor() as i64, amount.ceil() as i64)
}

/// Neighbours among the sums of strip widths.
#[allow(clippy::cast_possible_truncation, reason = "amounts are small")]
fn sums(widths: &[i64], amount: f64) -> Option<Gap> {
    let (least, most) = (*widths.first()?, *widths.last()?);
    let end = usize::try_from(amount.ceil() as i64 + most).ok()?;
    let mut reached = vec![false; end + 1];
    reached[0] = true;
    for sum in usize::try_from(least).ok()?..=end {
        reached[sum] = widths
            .iter()
            .any(|&width| usize::try_from(width).is_ok_and(|width| width <= sum && reached[sum - width]));
    }
    let at = usize::try_from((amount + NEAR).floor() as i64).ok()?;
    let below = (0..=at).rev().find(|&sum| reached[sum])?;
    let above = (below + 1..=end).find(|&sum| reached[sum])?;
    gap(amount, i64::try_from(below).ok()?, i64::try_from(above).ok()?)
}

/// The gap in which an amount is farthest from both ends, the first of equals.
fn widest(gaps: impl Iterator<Item = Option<Gap>>) -> Option<(usize, Gap)> {
    let mut best: Option<(usize, Gap)> = None;
    for (at, gap) in gaps.enumerate() {
        if let Some(gap) = gap.filter(|gap| best.as_ref().is_none_or(|(_, known)| gap.off > known.off + NEAR))
        {
            best = Some((at, gap));
        }
    }
    best
}

/// A region with a range of it ending below the gap, and beginning above it.
fn parts(region: &Region, of: impl Fn(&mut Region) -> &mut Range, gap: Gap) -> [Region; 2] {
    let (mut lower, mut upper) = (region.clone(), region.clone());
    of(&mut lower).most = Some(gap.below);
    of(&mut upper).least = gap.above;
    [lower, upper]
}
