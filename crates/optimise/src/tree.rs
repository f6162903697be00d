//! Proofs by cases of passes: the decomposition's bound does not know that passes come whole. Where a board would make
//! five and a half passes, plans with at most five and plans with at least six are looked at apart, each with a proof of
//! its own, until none of them can be better than a known plan (branch and price; Barnhart, Johnson, Nemhauser,
//! Savelsbergh and Vance, Operations Research 46 (1998)).

use patchlay_plan::proof::{PartProof, PassesOf};

use crate::costs::{Costs, Limits, Range, Region};
use crate::decompose::{Decomposed, Decomposition, FineCosts, Mixture, Reach};
use crate::listen::Stop;
use crate::lists;
use crate::model::Model;
use crate::oracle::FabricPlan;
use crate::solution::Solution;
use crate::whole::{Proof, Question};

/// Rounds of the decomposition for one case.
const ROUNDS: u32 = 60;
/// Cases between looks for a better solution while passes are told apart.
const OFTEN: usize = 8;
/// Comparisons for every fabric's list of near plans, and for one that is only tried.
const STEPS: u64 = 400_000;
const QUICK_STEPS: u64 = 100_000;
/// How often lists are tried in vain with all their steps: where they end nothing they should not take long.
const FULL_TRIES: u32 = 1;
/// How often lists are tried in vain.
const TRIES: u32 = 4;
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

impl Case {
    /// The proof as the plan stores it; `boards` and `names` are those of the boards and the fabrics.
    #[must_use]
    pub fn part(&self, model: &Model, lines: usize, boards: &[&str], names: &[&str]) -> PartProof {
        let passes = passes_of(boards, &self.region.passes);
        PartProof { passes, ..self.proof.part(model, lines, None, names) }
    }
}

/// Passes of the boards that they are told apart by.
#[must_use]
pub fn passes_of(boards: &[&str], passes: &[Range]) -> Vec<PassesOf> {
    let whole = |passes: i64| u32::try_from(passes).unwrap_or(u32::MAX);
    let ranges = boards.iter().zip(passes).filter(|(_, range)| **range != Range::default());
    let passes = ranges.map(|(board, range)| PassesOf {
        board: (*board).to_owned(),
        at_least: whole(range.least),
        at_most: range.most.map(whole),
    });
    passes.collect()
}

/// How far to go.
pub struct Aim<'a> {
    /// Value to reach, in the figure's own unit.
    pub value: i128,
    /// Step of the values that there can be.
    pub step: i128,
    /// Most rounds of decomposition in all.
    pub rounds: u32,
    /// Whether plans are told apart by passes alone.
    pub by_passes: bool,
    /// A solution to start from.
    pub known: Option<&'a Solution>,
    /// Asked between rounds.
    pub stop: Stop<'a>,
}

/// What is seen on the way: plans of every fabric that may be part of a better solution in some case.
pub struct Sight<'a> {
    /// The cases so far.
    pub cases: usize,
    /// Plans of every fabric that the case's bound leaves room for.
    pub plans: Vec<Vec<FabricPlan>>,
    /// The decomposition of the case.
    pub found: &'a Decomposed,
    /// Its costs.
    pub costs: &'a FineCosts,
}

/// Hears of what is seen, and answers with the value of a better solution if that leads to one.
pub type Watch<'a> = &'a mut dyn FnMut(&Sight<'_>) -> Option<i128>;

/// Cases that together are all plans within the limits. The lowest of their bounds holds for all.
#[must_use]
pub fn prove(
    model: &Model,
    costs: &Costs,
    limits: &Limits,
    aim: &Aim<'_>,
    watch: Watch<'_>,
) -> Option<Vec<Case>> {
    let question = Question::of(model, costs, aim.known)?;
    let mut search = Search::new(model, &question, aim);
    let all = Region::within(limits, model.boards.len(), model.fabrics.len());
    let (root, found) = search.case(all)?;
    search.look(&found, 1, watch);
    let mut open = vec![(root, found)];
    let mut closed: Vec<Case> = Vec::new();
    let bound = |case: &Case| case.proof.rounded_up(1);
    while search.rounds > 0 && !(aim.stop)() {
        let Some(lowest) = (0..open.len()).min_by_key(|&at| bound(&open[at].0)) else { break };
        if open[lowest].0.proof.rounded_up(aim.step) >= search.value {
            break;
        }
        let (mut case, found) = open.swap_remove(lowest);
        let cases = open.len() + closed.len() + 1;
        let split = search.split(&case.region);
        let by_passes = split.as_ref().is_some_and(|split| split.by_passes);
        if !by_passes || split.as_ref().is_some_and(|split| split.shared) {
            let at = (&case, &found, cases);
            match if by_passes { search.refuted(&case, &found) } else { search.listed(at, watch) } {
                Listed::Nothing => {
                    case.proof.raise(search.question.in_costs(search.value));
                    closed.push(case);
                    continue;
                }
                Listed::Better => {
                    open.push((case, found));
                    continue;
                }
                Listed::Unknown => {}
            }
        }
        let Some(Split { parts: [lower, upper], .. }) = split else {
            closed.push(case);
            continue;
        };
        let Some((lower, upper)) = search.case(lower).zip(search.case(upper)) else {
            closed.push(case);
            continue;
        };
        if [&lower, &upper].iter().any(|part| bound(&part.0) < bound(&case) - aim.step) {
            // A stop came too early.
            closed.push(case);
            continue;
        }
        let cases = cases + 1;
        for (case, found) in [lower, upper] {
            if case.proof.rounded_up(aim.step) < search.value && (!by_passes || cases.is_multiple_of(OFTEN)) {
                search.look(&found, cases, watch);
            }
            open.push((case, found));
        }
    }
    closed.extend(open.into_iter().map(|(case, _)| case));
    Some(closed)
}

struct Search<'a> {
    model: &'a Model,
    question: &'a Question<'a>,
    decomposition: Decomposition<'a>,
    stop: Stop<'a>,
    by_passes: bool,
    step: i128,
    /// Best value known.
    value: i128,
    /// Rounds left.
    rounds: u32,
    /// How often lists may still be tried in vain.
    tries: u32,
    /// The same with all their steps.
    full_tries: u32,
}

/// What lists of near plans came to.
enum Listed {
    /// Nothing in the case is better than the best value known.
    Nothing,
    /// A better solution.
    Better,
    /// Neither.
    Unknown,
}

/// Two parts of a region.
struct Split {
    parts: [Region; 2],
    /// Told apart by passes.
    by_passes: bool,
    /// By passes of a board that shares plies with others, which may make more in its place.
    shared: bool,
}

impl<'a> Search<'a> {
    fn new(model: &'a Model, question: &'a Question<'a>, aim: &'a Aim<'a>) -> Self {
        let decomposition = question.decomposition();
        let Aim { value, step, rounds, by_passes, stop, .. } = *aim;
        Self {
            model,
            question,
            decomposition,
            stop,
            by_passes,
            step,
            value,
            rounds,
            tries: TRIES,
            full_tries: FULL_TRIES,
        }
    }

    /// What is between this and the value there cannot be.
    fn enough(&self) -> i64 {
        self.question.in_costs(self.value - self.step).saturating_add(1)
    }

    /// Looks for better solutions in lists of near plans.
    fn listed(&mut self, (case, found, cases): (&Case, &Decomposed, usize), watch: Watch<'_>) -> Listed {
        if self.full_tries == 0 {
            return Listed::Unknown;
        }
        self.full_tries -= 1;
        match self.lists(case, found, STEPS) {
            lists::Found::Nothing => {
                self.full_tries += 1;
                Listed::Nothing
            }
            lists::Found::Plans(plans) => {
                match watch(&Sight { cases, plans, found, costs: self.question.costs() }) {
                    Some(value) if value < self.value => {
                        self.value = value;
                        self.full_tries += 1;
                        Listed::Better
                    }
                    _ => Listed::Unknown,
                }
            }
            lists::Found::Unknown => Listed::Unknown,
        }
    }

    /// Whether lists soon show that there is no better solution, where that is less than a pass away.
    fn refuted(&mut self, case: &Case, found: &Decomposed) -> Listed {
        let room = self.enough().saturating_sub(found.bound);
        if self.tries == 0 || room > self.question.costs().pass {
            return Listed::Unknown;
        }
        if let lists::Found::Nothing = self.lists(case, found, QUICK_STEPS) {
            return Listed::Nothing;
        }
        self.tries -= 1;
        Listed::Unknown
    }

    fn lists(&self, case: &Case, found: &Decomposed, steps: u64) -> lists::Found {
        // A checker does not list plans.
        if self.by_passes {
            return lists::Found::Unknown;
        }
        let most = self.question.in_costs(self.value - self.step);
        self.decomposition.listed((&case.region, found), most, steps, self.stop)
    }

    fn case(&mut self, region: Region) -> Option<(Case, Decomposed)> {
        let rounds = ROUNDS.min(self.rounds);
        let reach = Reach { rounds, enough: self.enough(), stop: self.stop };
        let found = self.decomposition.solve(&region, &reach)?;
        self.rounds -= found.rounds.min(self.rounds);
        // Proofs by passes alone are for the checker.
        let found =
            if self.by_passes { self.decomposition.checkable(found, &region, self.stop) } else { found };
        let mut proof = self.question.proof(&self.decomposition, &found, &region);
        if !self.by_passes {
            // Nobody checks it: what took long to find counts as well.
            proof.raise(found.bound);
        }
        Some((Case { region, proof }, found))
    }

    /// Shows the plans that a better solution may have.
    fn look(&mut self, found: &Decomposed, cases: usize, watch: Watch<'_>) {
        let room = self.enough().saturating_sub(found.bound);
        if room <= 0 {
            return;
        }
        let plans = self.decomposition.near(found, room);
        let sight = Sight { cases, plans, found, costs: self.question.costs() };
        if let Some(value) = watch(&sight) {
            self.value = self.value.min(value);
        }
    }

    /// Two parts of a region that the best mixture of whole plans is in neither of: by the passes of a board, where
    /// they are not whole, else by the cloth of a fabric, where no strips have such widths in all, else by plies.
    fn split(&self, region: &Region) -> Option<Split> {
        let mixture = self.decomposition.mixture(region)?;
        let passes = mixture.passes.iter().map(|&passes| whole_numbers(passes));
        if let Some((board, gap)) = widest(passes) {
            let parts = parts(region, |region| &mut region.passes[board], &gap);
            let shared = self.decomposition.shares(board);
            return Some(Split { parts, by_passes: true, shared });
        }
        if self.by_passes {
            return None;
        }
        (0..self.model.fabrics.len()).find_map(|f| {
            let two =
                self.split_cloth(region, &mixture, f).or_else(|| self.split_plies(region, &mixture, f))?;
            let affords = two.iter().all(|part| self.decomposition.affords(part, f));
            affords.then_some(Split { parts: two, by_passes: false, shared: false })
        })
    }

    /// By a fabric's cloth: where no strips have such widths in all, or where plans of more and of less are mixed.
    fn split_cloth(&self, region: &Region, mixture: &Mixture, f: usize) -> Option<[Region; 2]> {
        let widths: Vec<i64> = mixture.used[f].iter().map(FabricPlan::width).collect();
        let mean = mixture.cloth[f];
        let gap = sums(&self.model.fabrics[f].widths, mean).or_else(|| below_mean(&widths, mean))?;
        Some(parts(region, |region| &mut region.cloth[f], &gap))
    }

    /// By a fabric's plies of a kind, in the same way.
    fn split_plies(&self, region: &Region, mixture: &Mixture, f: usize) -> Option<[Region; 2]> {
        let kinds = mixture.plies[f].len();
        let counts: Vec<Vec<i64>> = mixture.used[f].iter().map(|plan| plan.counts(kinds)).collect();
        let gap = |(k, &mean): (usize, &f64)| {
            let counts: Vec<i64> = counts.iter().map(|counts| counts[k]).collect();
            Some((k, whole_numbers(mean).or_else(|| below_mean(&counts, mean))?))
        };
        let (k, gap) = mixture.plies[f].iter().enumerate().find_map(gap)?;
        Some(parts(region, |region| region.plies.entry((f, k)).or_default(), &gap))
    }
}

/// Two neighbours among the values that there can be, and where between them an amount lies: 0 at either, 1/2 midway.
pub struct Gap {
    /// The lower neighbour.
    pub below: i64,
    /// The upper neighbour.
    pub above: i64,
    off: f64,
}

#[allow(clippy::cast_precision_loss, reason = "amounts are small")]
fn gap(amount: f64, below: i64, above: i64) -> Option<Gap> {
    let off = (amount - below as f64).min(above as f64 - amount) / (above - below).max(1) as f64;
    (off > NEAR).then_some(Gap { below, above, off })
}

/// The neighbours of an amount that is not whole.
#[must_use]
#[allow(clippy::cast_possible_truncation, reason = "amounts are small")]
pub fn whole_numbers(amount: f64) -> Option<Gap> {
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
pub fn widest(gaps: impl Iterator<Item = Option<Gap>>) -> Option<(usize, Gap)> {
    let mut best: Option<(usize, Gap)> = None;
    for (at, gap) in gaps.enumerate() {
        if let Some(gap) = gap.filter(|gap| best.as_ref().is_none_or(|(_, known)| gap.off > known.off + NEAR))
        {
            best = Some((at, gap));
        }
    }
    best
}

/// The gap just below a whole mean of unlike amounts.
#[allow(clippy::cast_possible_truncation, reason = "amounts are small")]
fn below_mean(amounts: &[i64], mean: f64) -> Option<Gap> {
    let above = mean.round() as i64;
    let (least, most) = (amounts.iter().min()?, amounts.iter().max()?);
    (least < most && *least < above).then_some(Gap { below: above - 1, above, off: 1.0 })
}

/// A region with a range of it ending below the gap, and beginning above it.
fn parts(region: &Region, of: impl Fn(&mut Region) -> &mut Range, gap: &Gap) -> [Region; 2] {
    let (mut lower, mut upper) = (region.clone(), region.clone());
    of(&mut lower).most = Some(gap.below);
    of(&mut upper).least = gap.above;
    [lower, upper]
}
