//! The aims: one question after the other, each with the answers before it held.

use patchlay_plan::FigureKind;
use patchlay_scenario::LoadingRule;
use patchlay_scenario::job::{Aim, Job};
use rayon::prelude::*;

use crate::asked::Asked;
use crate::costs::{Costs, Limits};
use crate::listen::{Listener, Progress, StopOnly};
use crate::model::Model;
use crate::questions;
use crate::search::{self, Effort, Search};
use crate::solution::Solution;

/// Solves for the job's aim; `laid` passes are laid down already and not in the model. `None` where the relaxation has no solution.
#[must_use]
pub fn solve(
    job: &Job,
    (model, laid): (&Model, i64),
    effort: Effort,
    listener: &dyn Listener,
) -> Option<Solution> {
    if job.strategy.loading == LoadingRule::FabricByFabric {
        return fabric_by_fabric(job, model, effort, listener);
    }
    in_order(job, (model, laid), effort, listener)
}

/// Where no pass holds two fabrics they have nothing in common: each is solved alone.
fn fabric_by_fabric(job: &Job, model: &Model, effort: Effort, listener: &dyn Listener) -> Option<Solution> {
    listener.event(&Progress::Phase { name: "every fabric alone".to_owned() });
    let asked: Vec<usize> =
        (0..model.fabrics.len()).filter(|&f| !model.fabrics[f].items.is_empty()).collect();
    let solved: Vec<Solution> = asked
        .par_iter()
        .map(|&f| in_order(job, (&model.only(f), 0), effort, &StopOnly(listener)))
        .collect::<Option<_>>()?;
    let mut all = Solution::empty(model);
    for (f, mut alone) in asked.into_iter().zip(solved) {
        all.strips[f] = std::mem::take(&mut alone.strips[f]);
        all.plies[f] = std::mem::take(&mut alone.plies[f]);
    }
    all.set_passes(model);
    Some(all)
}

fn in_order(
    job: &Job,
    (model, laid): (&Model, i64),
    effort: Effort,
    listener: &dyn Listener,
) -> Option<Solution> {
    let mut limits = Limits::default();
    let mut best: Option<Solution> = None;
    for figure in questions::order(&job.aim) {
        if is_settled(figure, &limits, job) {
            continue;
        }
        listener.event(&Progress::Phase { name: phase(figure).to_owned() });
        let costs = search_costs(job, model, figure);
        let question = Question { job, model, figure: Some((figure, laid)), costs: &costs, limits: &limits };
        let next = question.stage(best.take(), effort, listener)?;
        hold(figure, &next, model, &mut limits);
        best = Some(next);
    }
    best.map(|solution| trimmed(model, solution))
}

/// Questions that an earlier one has already answered: with money and area of every fabric at its least, or with the
/// strip widths held, asking for area again changes nothing; money after time is only bounded.
fn is_settled(figure: FigureKind, limits: &Limits, job: &Job) -> bool {
    match figure {
        FigureKind::Area => limits.width.is_some(),
        FigureKind::Money => matches!(job.aim, Aim::LeastTime),
        _ => false,
    }
}

fn phase(figure: FigureKind) -> &'static str {
    match figure {
        FigureKind::Money | FigureKind::Area => "least cloth",
        FigureKind::Passes => "fewest passes",
        FigureKind::Seconds => "least time",
        FigureKind::Cost => "least cost",
        FigureKind::Weighted => "cloth and passes together",
    }
}

/// Money alone asks for the least cloth of every fabric: then area follows, and selling steps round it up.
fn search_costs(job: &Job, model: &Model, figure: FigureKind) -> Costs {
    let mut costs = questions::costs(job, model, figure);
    if figure == FigureKind::Money && costs.width.contains(&0) {
        // A gift costs nothing, but is not wasted: its area decides.
        let area = questions::costs(job, model, FigureKind::Area);
        for (width, area) in costs.width.iter_mut().zip(area.width) {
            *width = *width * 1_000 + area / 1_000_000;
        }
    }
    // Among plans of like cloth those with fewer passes are the better start, and among plans of as few passes those of
    // less cloth: what comes second weighs so little that all of it in a plain plan is less than a step of the first.
    match (figure, &job.aim) {
        (FigureKind::Money, Aim::LeastCloth) => {
            let step = costs.width.iter().copied().filter(|&width| width > 0).min().unwrap_or(0);
            costs.pass = step / i128::from(plain(model).passes_in_all() + 1);
        }
        (FigureKind::Passes, Aim::FewestPasses) => {
            costs = search_costs(job, model, FigureKind::Money);
            costs.pass = plain(model).cost(&costs) + 1;
        }
        _ => {}
    }
    costs
}

fn plain(model: &Model) -> Solution {
    let mut plain = Solution::empty(model);
    for f in 0..model.fabrics.len() {
        search::plain(model, &mut plain, f);
    }
    plain.set_passes(model);
    plain
}

fn hold(figure: FigureKind, solution: &Solution, model: &Model, limits: &mut Limits) {
    match figure {
        FigureKind::Passes => limits.passes = Some(solution.passes_in_all()),
        FigureKind::Money | FigureKind::Area => {
            limits.width = Some((0..model.fabrics.len()).map(|f| solution.strips_of(f).0).collect());
        }
        _ => {}
    }
}

/// One question of the model.
pub(crate) struct Question<'a> {
    pub(crate) job: &'a Job,
    pub(crate) model: &'a Model,
    /// The figure that is asked for, and the passes made beside those of the model; none where the costs are no figure
    /// of the plan's.
    pub(crate) figure: Option<(FigureKind, i64)>,
    pub(crate) costs: &'a Costs,
    pub(crate) limits: &'a Limits,
}

impl Question<'_> {
    /// A first solution if there is none yet, then the search. Better values of the figure are told.
    pub(crate) fn stage(
        &self,
        start: Option<Solution>,
        effort: Effort,
        listener: &dyn Listener,
    ) -> Option<Solution> {
        static FOUND: Asked<Solution> = Asked::new();
        let Self { job, model, costs, limits, .. } = self;
        let tell = |at: &Solution, bound: f64| {
            if let Some((figure, laid)) = self.figure {
                // In a search for fewest passes all the cloth weighs less than one of them.
                #[allow(clippy::cast_precision_loss, reason = "only for people to watch")]
                let bound = match figure {
                    FigureKind::Passes => (bound * costs.unit as f64 / costs.pass.max(1) as f64).floor(),
                    _ => bound,
                };
                listener.event(&questions::so_far(job, model, figure, (at, laid), bound));
            }
        };
        let mut search = Search::new(model, costs, limits, effort, listener)?;
        search.teller = Some(&tell);
        let found = || {
            let start = match &start {
                Some(start) => with_strips(model, start.clone()),
                None => search.first(),
            };
            with_strips(model, search.improve(start))
        };
        // Strategies that differ in what comes after this question ask it alike.
        let Effort { pool, nodes, branches, patience, seed, until } = effort;
        let stopped = || until.is_some() || listener.stop();
        let asked = (model, costs, limits, &start, (pool, nodes, branches, patience, seed));
        Some(FOUND.answer_unless(stopped, &asked, found))
    }
}

/// After a question about passes alone the plies have no strips yet.
fn with_strips(model: &Model, mut solution: Solution) -> Solution {
    for f in 0..model.fabrics.len() {
        if solution.strips[f].is_empty() && solution.plies[f].iter().any(|&n| n > 0) {
            solution.strips[f] = crate::search::first_fit(model, f, &solution.plies[f]);
        }
    }
    solution
}

/// Drops plies that no demand needs, heaviest first.
#[must_use]
pub fn trimmed(model: &Model, mut solution: Solution) -> Solution {
    for (f, fabric) in model.fabrics.iter().enumerate() {
        let mut got = vec![0_u64; fabric.items.len()];
        for (ply, &count) in solution.plies[f].iter().enumerate() {
            for &(item, n) in &fabric.plies[ply].yields {
                got[item] += u64::from(n) * u64::try_from(count).unwrap_or(0);
            }
        }
        let mut order: Vec<usize> = (0..fabric.plies.len()).collect();
        order
            .sort_by_key(|&ply| std::cmp::Reverse(fabric.plies[ply].yields.iter().map(|y| y.1).sum::<u32>()));
        for ply in order {
            let yields = &fabric.plies[ply].yields;
            while solution.plies[f][ply] > 0
                && yields.iter().all(|&(item, n)| got[item] >= fabric.items[item].wanted + u64::from(n))
            {
                solution.plies[f][ply] -= 1;
                yields.iter().for_each(|&(item, n)| got[item] -= u64::from(n));
            }
        }
    }
    solution.set_passes(model);
    solution
}
