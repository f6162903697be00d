//! Proofs by cases of passes: the decomposition's bound does not know that passes come whole. Where a board would make
//! five and a half passes, plans with at most five and plans with at least six are looked at apart, each with a proof of
//! its own, until none of them can be better than a known plan (branch and price; Barnhart, Johnson, Nemhauser,
//! Savelsbergh and Vance, Operations Research 46 (1998)).

use crate::costs::{Costs, Limits, PassRange};
use crate::decompose::{Decomposition, Reach};
use crate::listen::Stop;
use crate::lp::Prices;
use crate::model::Model;
use crate::whole::{Proof, Question};

/// Rounds of the decomposition for one case.
const ROUNDS: u32 = 60;
/// How far from a whole number passes are still whole, for the choice of cases only.
const NEAR: f64 = 1e-6;

/// One case with its proof.
#[derive(Clone, Debug)]
pub struct Case {
    /// Passes of every board.
    pub ranges: Vec<PassRange>,
    /// What is proved of it.
    pub proof: Proof,
}

/// How far to go.
pub struct Aim<'a> {
    /// Value to reach, in the figure's own unit, and the step of the values that there can be.
    pub value: i128,
    /// That step.
    pub step: i128,
    /// Most cases.
    pub cases: usize,
    /// Asked between cases.
    pub stop: Stop<'a>,
}

/// Cases that together are all plans. The lowest of their bounds holds for all.
#[must_use]
pub fn prove(
    model: &Model,
    costs: &Costs,
    limits: &Limits,
    prices: &Prices,
    aim: &Aim<'_>,
) -> Option<Vec<Case>> {
    let question = Question::of(model, costs, limits, prices)?;
    let enough = question.in_costs(aim.value - aim.step).saturating_add(model.fabrics.len() as i64 + 1);
    let mut search = Search { question: &question, decomposition: question.decomposition(), aim, enough };
    let all = vec![PassRange::default(); model.boards.len()];
    let mut cases = vec![(search.case(all)?, true)];
    let trace = std::env::var("TRACE_TREE").is_ok();
    while cases.len() < aim.cases && !(aim.stop)() {
        let bound = |case: &Case| case.proof.rounded_up(1);
        let open = cases
            .iter()
            .enumerate()
            .filter(|(_, (case, open))| *open && case.proof.rounded_up(aim.step) < aim.value);
        let Some((at, _)) = open.min_by_key(|(_, (case, _))| bound(case)) else { break };
        let ranges = cases[at].0.ranges.clone();
        let split = search.split(&ranges);
        if trace {
            eprintln!(
                "bound {} {:?} split {:?}",
                bound(&cases[at].0) as f64 / 8128.0,
                ranges.iter().map(|r| (r.least, r.most.unwrap_or(-1))).collect::<Vec<_>>(),
                split
            );
        }
        let Some((board, below)) = split else {
            cases[at].1 = false;
            continue;
        };
        let (mut fewer, mut more) = (ranges.clone(), ranges);
        fewer[board].most = Some(below);
        more[board].least = below + 1;
        let Some(two) = search.case(fewer).zip(search.case(more)) else { break };
        cases[at] = (two.0, true);
        cases.push((two.1, true));
    }
    Some(cases.into_iter().map(|(case, _)| case).collect())
}

struct Search<'a> {
    question: &'a Question<'a>,
    decomposition: Decomposition<'a>,
    aim: &'a Aim<'a>,
    enough: i64,
}

impl Search<'_> {
    fn case(&mut self, ranges: Vec<PassRange>) -> Option<Case> {
        let reach = Reach { rounds: ROUNDS, enough: self.enough, stop: self.aim.stop };
        let found = self.decomposition.solve(&Limits::default(), &ranges, &reach)?;
        let proof = self.question.proof(&found, &ranges, self.aim.stop)?;
        Some(Case { ranges, proof })
    }

    /// A board to tell cases apart by, and the most passes of the lower one.
    #[allow(clippy::cast_possible_truncation, reason = "passes are few")]
    fn split(&self, ranges: &[PassRange]) -> Option<(usize, i64)> {
        let passes = self.decomposition.passes(&Limits::default(), ranges)?;
        let part = |passes: f64| (passes - passes.floor()).min(passes.ceil() - passes);
        let (board, passes) = passes
            .into_iter()
            .enumerate()
            .max_by(|a, b| part(a.1).total_cmp(&part(b.1)).then(b.0.cmp(&a.0)))?;
        (part(passes) > NEAR).then_some((board, passes.floor() as i64))
    }
}
