//! One selling step of a fabric less, and one more, while every other fabric is bought at most as now.

use patchlay_measure::Length;
use patchlay_plan::explain::{Step, StepWhy};
use patchlay_plan::{FigureKind, Plan};
use patchlay_scenario::job::Fabric;
use patchlay_scenario::{LoadingRule, PlyRule};

use super::reading;
use crate::aim::{self, Question};
use crate::compare::Made;
use crate::costs::{Costs, Limits};
use crate::listen::{Listener, Progress};
use crate::solution::Solution;
use crate::{Care, OptimiseError, Task, bounds, effort, questions};

/// A fabric, and how much of it may be bought.
type Asked = (usize, Length);

/// The plan at hand, as the questions about selling steps need it.
#[derive(Clone)]
pub(super) struct Now<'a> {
    task: Task<'a>,
    plan: &'a Plan,
    /// The plan as a solution of the model, or why it is not one.
    start: Result<Solution, String>,
    /// What every fabric takes at least.
    least: Vec<Length>,
}

impl<'a> Now<'a> {
    pub(super) fn new(task: Task<'a>, plan: &'a Plan) -> Self {
        let strategy = task.job.strategy;
        let start = if strategy.loading == LoadingRule::BlockByBlock {
            Err("not asked where blocks are cut in batches of their own".to_owned())
        } else if strategy.plies == PlyRule::Folded {
            Err("not asked where every ply must come from a folded length".to_owned())
        } else {
            let read = reading::solution(task.job, &task.model, plan);
            read.ok_or_else(|| "not asked: the plan could not be taken up again".to_owned())
        };
        let least = bounds::least_taken(task.job, &task.relaxed, &|| task.stopped());
        Self { task, plan, start, least }
    }

    /// The same, with another who hears of progress, and its own time.
    pub(super) fn heard_by<'b>(&'b self, listener: &'b dyn Listener) -> Now<'b> {
        let now: Now<'b> = self.clone();
        let effort = effort(now.task.job, now.task.options);
        Now { task: Task { listener, effort, ..now.task }, ..now }
    }

    /// The fabrics that are cut.
    pub(super) fn fabrics(&self) -> Vec<usize> {
        (0..self.task.job.fabrics.len()).filter(|&f| questions::is_wanted(self.task.job, f)).collect()
    }

    /// Both questions about one fabric, with the plans found.
    pub(super) fn step(&self, f: usize) -> Result<(StepWhy, Vec<Made>), OptimiseError> {
        let fabric = &self.task.job.fabrics[f];
        let bought = self.bought(f);
        let target = bought - fabric.selling_step;
        let mut made = Vec::new();
        let less = if fabric.bought(self.least[f]) > target {
            Step::Proved
        } else {
            self.asked(|start| self.less((f, target), start, &mut made))?
        };
        let more = self.asked(|start| self.more((f, bought + fabric.selling_step), start, &mut made))?;
        let why = StepWhy {
            fabric: fabric.name.clone(),
            step: fabric.selling_step,
            bought,
            less_means: most_taken(fabric, target),
            least: self.least[f],
            less,
            more,
            stopped: self.task.stopped(),
        };
        let text = crate::compare::written(&self.plan.scenario)?;
        Ok((why, made.into_iter().map(|plan| Made { scenario: text.clone(), plan }).collect()))
    }

    fn phase(&self, name: &str) {
        self.task.listener.event(&Progress::Phase { name: name.to_owned() });
    }

    fn bought(&self, f: usize) -> Length {
        self.plan.fabrics[f].bought
    }

    fn asked(
        &self,
        question: impl FnOnce(&Solution) -> Result<Step, OptimiseError>,
    ) -> Result<Step, OptimiseError> {
        match &self.start {
            Ok(start) => question(start),
            Err(reason) => Ok(Step::NotAsked(reason.clone())),
        }
    }

    /// Least cloth of the fabric on its own, then as few passes as the step less allows.
    fn less(
        &self,
        (f, target): Asked,
        start: &Solution,
        made: &mut Vec<Plan>,
    ) -> Result<Step, OptimiseError> {
        self.phase("a selling step less");
        let fewest = self.fewest(f, target);
        let Some(start) = self.least_of(f, start) else { return Ok(Step::Open { fewest }) };
        if self.bought_in(f, &start) > target {
            return Ok(Step::Open { fewest });
        }
        let best = self.fewest_passes(f, target, &start);
        for solution in [&best, &start] {
            if let Some(figures) = self.written(solution, f, target, u64::MAX, made)? {
                return Ok(Step::Found { figures, fewest });
            }
        }
        Ok(Step::Open { fewest })
    }

    /// As few passes as a step more allows.
    fn more(
        &self,
        (f, target): Asked,
        start: &Solution,
        made: &mut Vec<Plan>,
    ) -> Result<Step, OptimiseError> {
        self.phase("a selling step more");
        let passes = self.plan.figures.passes;
        let fewest = self.fewest(f, target);
        if fewest >= passes {
            return Ok(Step::Proved);
        }
        let best = self.fewest_passes(f, target, start);
        let below = passes.saturating_sub(1);
        Ok(match self.written(&best, f, target, below, made)? {
            Some(figures) => Step::Found { figures, fewest },
            None => Step::Open { fewest },
        })
    }

    /// Most length that may be bought of every fabric, that of `f` being set.
    fn targets(&self, f: usize, target: Length) -> impl Iterator<Item = Length> {
        (0..self.plan.fabrics.len()).map(move |other| if other == f { target } else { self.bought(other) })
    }

    /// No plan that buys no more takes fewer passes. Squaring again is left out, so that no plan is.
    fn fewest(&self, f: usize, target: Length) -> u64 {
        let Task { job, relaxed, .. } = &self.task;
        let steps = |(fabric, target): (&Fabric, Length)| {
            let width = most_taken(fabric, target) - fabric.kept_back_total() - fabric.squaring;
            width.units().max(0).div_euclid(relaxed.grid)
        };
        let width = job.fabrics.iter().zip(self.targets(f, target)).map(steps).collect();
        let limits = Limits { width: Some(width), ..Limits::default() };
        bounds::fewest_passes(job, relaxed, &limits, &|| self.task.stopped())
    }

    /// The solution with the fabric cut from as little cloth as was found, passes second.
    fn least_of(&self, f: usize, start: &Solution) -> Option<Solution> {
        let Task { job, model, effort, listener, .. } = &self.task;
        let alone = model.only(f);
        let mut costs = Costs::zero(model.fabrics.len());
        costs.pass = 1;
        costs.width[f] = i128::from(start.passes_in_all()) + 1;
        let limits = Limits::default();
        let question = Question { job, model: &alone, figure: None, costs: &costs, limits: &limits };
        let found = question.stage(None, *effort, *listener)?;
        let mut next = start.clone();
        next.strips[f].clone_from(&found.strips[f]);
        next.plies[f].clone_from(&found.plies[f]);
        next.set_passes(model);
        next.is_sound(model).then_some(next)
    }

    /// The solution with as few passes as were found within what may be bought.
    fn fewest_passes(&self, f: usize, target: Length, start: &Solution) -> Solution {
        let Task { job, model, effort, listener, .. } = &self.task;
        let steps = |(at, target): (usize, Length)| {
            let fabric = &job.fabrics[at];
            let (own, strips) = start.strips_of(at);
            let around = fabric.taken(usize::try_from(strips).unwrap_or(0), Length::ZERO);
            let width = (most_taken(fabric, target) - around).units().max(0).div_euclid(model.grid);
            width.max(own)
        };
        let width = self.targets(f, target).enumerate().map(steps).collect();
        let limits = Limits { width: Some(width), ..Limits::default() };
        let mut costs = Costs::zero(model.fabrics.len());
        costs.pass = 1;
        let figure = Some((FigureKind::Passes, 0));
        let question = Question { job, model, figure, costs: &costs, limits: &limits };
        let found = question.stage(Some(start.clone()), *effort, *listener);
        found.map_or_else(|| start.clone(), |found| aim::trimmed(model, found))
    }

    fn bought_in(&self, f: usize, solution: &Solution) -> Length {
        let fabric = &self.task.job.fabrics[f];
        let (width, strips) = solution.strips_of(f);
        let strips = usize::try_from(strips).unwrap_or(0);
        fabric.bought(fabric.taken(strips, self.task.model.length(width)))
    }

    /// The solution as a plan, if it keeps to what may be bought, to the passes, and to the proof block where one is asked
    /// for; looked at quickly first.
    fn written(
        &self,
        solution: &Solution,
        f: usize,
        target: Length,
        passes: u64,
        made: &mut Vec<Plan>,
    ) -> Result<Option<Box<patchlay_plan::Figures>>, OptimiseError> {
        let keeps = |plan: &Plan| {
            let bought = plan.fabrics.iter().zip(self.targets(f, target));
            let block = self.task.job.proof_block.is_none() || plan.proof_block.is_some();
            block
                && plan.figures.passes <= passes
                && bought.into_iter().all(|(plan, most)| plan.bought <= most)
        };
        let quick = self.task.written_up(solution, Care::Quick)?;
        if !keeps(&quick) {
            return Ok(None);
        }
        let long = self.task.written_up(solution, Care::LayUps)?;
        let kept = if keeps(&long) { long } else { quick };
        let figures = Box::new(kept.figures.clone());
        made.push(kept);
        Ok(Some(figures))
    }
}

/// Most length that may be taken off the bolt where so much is bought.
fn most_taken(fabric: &Fabric, bought: Length) -> Length {
    let left = 10_000 - i128::from(fabric.shrinkage.hundredths());
    let most = i128::from(bought.units()) * left / 10_000;
    let mut most = Length::from_units(i64::try_from(most).unwrap_or(0).max(0));
    // Shrinkage rounds up to the unit.
    while most.is_positive() && fabric.bought(most) > bought {
        most -= Length::UNIT;
    }
    most
}
