//! The optimiser: from a validated [`Job`] to a [`Plan`] with bounds and their certificate.
//!
//! Here live the model of cloth and passes (`model`), the relaxation by column generation (`pricing`, `lp`, `simplex`), the
//! integer programs (`integer`, `joint`) over plies of a kind (`kinds`), the decomposition by fabric (`decompose`,
//! `oracle`; `lists` ends its proofs), dives for strips (`dive`), the fewest strips of one width and the fewest different patterns in them
//! (`one_width`), few templates and their pressings (`templates`), the search (`search`, `aim`), which plies may
//! change places (`groups`), the division of strips into lengths and cuts (`pieces`, `stock`), their packing into
//! lay-ups (`loading`; plain plies: `layups`), fewer and better lay-ups (`draft`, `fewer`, `folds`, `refine`) with few
//! changes from one to the next (`follow`, `order`) in the order of work (`work`), the exact proofs (`certify`, `whole`, `bounds`, `fewest`) and the writing of the plan (`finish`).
//! Nothing here judges a plan (that is the checker's work, on its own derivation), prints, or reads files. Floating point
//! stays inside the solvers: what comes back is rounded and checked in integers.

use std::time::{Duration, Instant};

use patchlay_measure::Length;
use patchlay_plan::{Batch, Outcome, PLAN_VERSION, Plan, ProofBlock, plan_number, scenario_digest};
use patchlay_scenario::job::Aim;
use patchlay_scenario::{Job, LoadingRule, PlyRule};

pub mod aim;
mod alone;
mod asked;
mod batches;
pub mod bounds;
pub mod cases;
pub mod certify;
pub mod compare;
mod corner;
pub mod costs;
pub mod decompose;
pub mod dive;
mod draft;
pub mod explain;
pub mod fewer;
pub mod fewest;
pub mod finish;
pub mod folds;
mod follow;
pub mod groups;
pub mod integer;
pub mod joint;
pub mod kinds;
pub mod layups;
pub mod listen;
pub mod lists;
pub mod loading;
pub mod lp;
pub mod many_widths;
pub mod model;
pub mod one_width;
pub mod oracle;
mod order;
pub mod patterns;
pub mod pieces;
pub mod pricing;
pub mod proof_block;
pub mod questions;
mod refine;
pub mod search;
mod simplex;
pub mod solution;
pub mod stock;
pub mod templates;
mod terms;
pub mod tree;
pub mod two_stage;
pub mod whole;
pub mod work;

pub use alone::alone;
pub use listen::{Listener, Progress, Quiet};

use model::Model;
use search::Effort;

/// How to search.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Options {
    /// Seed of the neighbourhood search.
    pub seed: u64,
    /// Work units, 1 to 10: the same effort gives the same plan on every machine.
    pub effort: u32,
    /// A stop only: the search ends at this age with the best it has.
    pub time_limit: Option<Duration>,
    /// Threads; all there are unless stated. The plan does not depend on it.
    pub threads: Option<usize>,
}

impl Default for Options {
    fn default() -> Self {
        Self { seed: 1, effort: 3, time_limit: None, threads: None }
    }
}

/// Why there is no plan.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum OptimiseError {
    /// Some demand cannot be met, with reasons.
    #[error("the demand cannot be met: {}", .0.join("; "))]
    Impossible(Vec<String>),
    /// Stopped before there was any plan.
    #[error("stopped before there was a plan")]
    Stopped,
    /// Our own fault.
    #[error("our own fault: {0}")]
    Internal(String),
}

/// Plans a job.
///
/// # Errors
/// Demands that no ply yields; our own faults.
pub fn optimise(
    job: &Job,
    scenario_text: &str,
    options: &Options,
    listener: &dyn Listener,
) -> Result<Plan, OptimiseError> {
    in_pool(options, || plan(job, scenario_text, options, listener, Care::Whole))
}

/// Works on as many threads as the options say.
///
/// # Errors
/// Those of the work; threads that cannot be had.
pub fn in_pool<T: Send>(
    options: &Options,
    work: impl FnOnce() -> Result<T, OptimiseError> + Send,
) -> Result<T, OptimiseError> {
    match options.threads {
        None => work(),
        Some(threads) => rayon::ThreadPoolBuilder::new()
            .num_threads(threads.max(1))
            .build()
            .map_err(|error| OptimiseError::Internal(error.to_string()))?
            .install(work),
    }
}

/// Rounds of decomposition for the proof of one figure, by effort.
const ROUNDS_PER_LEVEL: u32 = 50;
/// The same, times fabrics: every round asks each of them.
const FABRIC_ROUNDS_PER_LEVEL: u32 = 400;
/// Rounds of branching by effort, where the bound that comes with them is not asked for: on the demos those after them
/// found nothing better.
const BRANCHES_UNPROVED: u32 = 40;

/// Fabrics beyond which all of them share the work that so many would get.
const FABRICS: u32 = 20;

/// The level of effort for a search over all fabrics.
fn level(job: &Job, options: &Options) -> u32 {
    let fabrics = u32::try_from(job.fabrics.len()).unwrap_or(u32::MAX);
    (options.effort.clamp(1, 10) * FABRICS / fabrics.max(FABRICS)).max(1)
}

fn effort(job: &Job, options: &Options) -> Effort {
    let level = level(job, options);
    Effort {
        pool: 40 + 20 * usize::try_from(level).unwrap_or(1),
        nodes: 100 * u64::from(level),
        branches: 100 * level,
        patience: 6 * level,
        seed: options.seed,
        until: options.time_limit.and_then(|limit| Instant::now().checked_add(limit)),
    }
}

/// A job to be planned, and how.
#[derive(Clone)]
struct Task<'a> {
    job: &'a Job,
    text: &'a str,
    model: Model,
    relaxed: Model,
    options: &'a Options,
    effort: Effort,
    listener: &'a dyn Listener,
}

/// What is done for a solution when it becomes a plan.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Care {
    /// Everything: for a plan to keep.
    Whole,
    /// The plan itself as if it were kept, but long proofs only of the aim's first figure: for a plan among others.
    Compared,
    /// Good lay-ups, but no long proofs: for a plan that answers a question of its own, not that of the aim.
    LayUps,
    /// Neither: to see whether passes and cloth hold.
    Quick,
}

fn plan(
    job: &Job,
    scenario_text: &str,
    options: &Options,
    listener: &dyn Listener,
    care: Care,
) -> Result<Plan, OptimiseError> {
    let mut task = Task::new(job, scenario_text, options, listener)?;
    if care == Care::LayUps {
        task.effort.branches = BRANCHES_UNPROVED * level(job, options);
    }
    if job.strategy.loading == LoadingRule::BlockByBlock {
        return by_block(&task, care);
    }
    let without = task.solved(&task.model, 0)?;
    task.written_up(&without, care)
}

/// Plans a job, and the same job without its proof block if it asks for one, from one solution.
fn plan_with_and_without_proof_block(
    with: (&Job, &str),
    without: Option<(&Job, &str)>,
    options: &Options,
    listener: &dyn Listener,
    care: Care,
) -> Result<(Plan, Option<Plan>), OptimiseError> {
    let task = |(job, text)| Task::new(job, text, options, listener);
    let first = task(with)?;
    let solution = first.solved(&first.model, 0)?;
    let write = |task: &Task<'_>| task.written_up(&solution, care);
    let second = without.map(task).transpose()?;
    let (first, second) = rayon::join(|| write(&first), || second.as_ref().map(write).transpose());
    Ok((first?, second?))
}

impl<'a> Task<'a> {
    fn new(
        job: &'a Job,
        text: &'a str,
        options: &'a Options,
        listener: &'a dyn Listener,
    ) -> Result<Self, OptimiseError> {
        let (model, relaxed) = (Model::of_job(job), Model::relaxed(job));
        nothing_impossible(job, &model)?;
        Ok(Self { job, text, model, relaxed, options, effort: effort(job, options), listener })
    }

    /// The best solution of a model beside which so many passes are made.
    fn solved(&self, model: &Model, laid: i64) -> Result<solution::Solution, OptimiseError> {
        let missing = || OptimiseError::Internal("the relaxation could not be solved".to_owned());
        aim::solve(self.job, (model, laid), self.effort, self.listener).ok_or_else(missing)
    }

    fn stopped(&self) -> bool {
        self.listener.stop() || self.effort.until.is_some_and(|until| Instant::now() >= until)
    }

    /// The solution as a plan, the proof block first where one is asked for.
    fn written_up(&self, without: &solution::Solution, care: Care) -> Result<Plan, OptimiseError> {
        let Self { job, model, options, effort, listener, .. } = self;
        let stop = || self.stopped();
        // Plans are compared by quick lay-ups; only those of the plan that is kept are worth the long look.
        let quick = work::Diligence { rounds: 0, seed: options.seed, stop: &stop, listener: *listener };
        let rounds = if care == Care::Quick { 0 } else { 14 * u64::from(level(job, options)) };
        let long = work::Diligence { rounds, ..quick };
        let mut ways: Vec<Way> = Vec::new();
        if let Some((block, left)) = proof_block::within(job, model, without, *effort, *listener) {
            // What is filled up is cut before the block is sewn; only who puts passes first wants that.
            if job.aim == Aim::FewestPasses
                && let Some((block, left)) = proof_block::filled_up(model, without, &block)
            {
                ways.push(Way::new(job, proof_block::rest(model, &block), left, block, quick)?);
            }
            ways.push(Way::new(job, proof_block::rest(model, &block), left, block, quick)?);
        }
        // The plan's own plies are in order if they take no more cloth and at most one pass more: planning the rest anew
        // around a proof block can then save little, and takes long.
        let (most, held) = (without.passes_in_all() + 1, widths(without));
        let in_order = |way: &Way| {
            way.written.figures.passes <= u64::try_from(most).unwrap_or(0) && widths(&way.solution) == held
        };
        if matches!(care, Care::Whole | Care::Compared)
            && !ways.iter().any(in_order)
            && let Some(block) = proof_block::plies(job, model, *effort, *listener)
        {
            let rest = proof_block::rest(model, &block);
            let around = self.solved(&rest, block.passes_in_all())?;
            ways.push(Way::new(job, rest, around, block, quick)?);
        }
        let best = ways.into_iter().min_by_key(|way| by_aim(job, &way.written));
        listener.event(&Progress::Phase { name: "fewest lay-ups".to_owned() });
        let (written, proof_block) = match best {
            Some(Way { model: rest, solution, block, .. }) => {
                let plain = write(job, model, without, None, quick)?;
                let with = write(job, &rest, &solution, Some(&block), long)?;
                let costs = proof_costs(job, &with, &plain);
                (with, Some(costs))
            }
            None => (write(job, model, without, None, long)?, None),
        };
        // Under the other rules the model has other plies than the one that bounds are about.
        let alike = job.strategy.loading == LoadingRule::Mixed && job.strategy.plies != PlyRule::Folded;
        self.finished((written, proof_block, Vec::new()), alike.then_some(without), care)
    }

    /// The plan with its bounds.
    fn finished(
        &self,
        (written, proof_block, batches): (finish::Written, Option<ProofBlock>, Vec<Batch>),
        known: Option<&solution::Solution>,
        care: Care,
    ) -> Result<Plan, OptimiseError> {
        let Self { job, options, .. } = self;
        self.listener.event(&Progress::Phase { name: "proving the bounds".to_owned() });
        let stop = || self.stopped();
        let in_full = match care {
            Care::Whole => usize::MAX,
            Care::Compared => 1,
            Care::LayUps | Care::Quick => 0,
        };
        let fabrics = u32::try_from(job.fabrics.len()).unwrap_or(u32::MAX).max(1);
        let rounds = ROUNDS_PER_LEVEL.min(FABRIC_ROUNDS_PER_LEVEL.div_ceil(fabrics));
        let rounds = rounds * level(job, options);
        let reach = bounds::Reach { in_full, rounds, known, stop: &stop };
        let (bounds, certificate) = bounds::of(job, &self.relaxed, &written, reach, self.listener);
        let outcome = match bounds.iter().all(|bound| bound.proved) {
            true => Outcome::Proved,
            false if self.stopped() => Outcome::Stopped,
            false => Outcome::WithGap,
        };
        let fault = |error: serde_json::Error| OptimiseError::Internal(error.to_string());
        let mut plan = Plan {
            patchlay_plan: PLAN_VERSION,
            made_by: format!("patchlay {}", env!("CARGO_PKG_VERSION")),
            number: String::new(),
            seed: options.seed,
            scenario_digest: scenario_digest(self.text),
            scenario: serde_json::from_str(self.text).map_err(fault)?,
            strategy: job.strategy,
            batches,
            outcome,
            fabrics: written.fabrics,
            layups: written.layups,
            patches: written.patches,
            proof_block,
            figures: written.figures,
            balance: written.balance,
            bounds,
            certificate,
            fewest: None,
        };
        plan.fewest = (care == Care::Whole).then(|| fewest::fewest(&plan, job));
        plan.number = plan_number(&plan).map_err(fault)?;
        Ok(plan)
    }
}

/// Plans a job block by block.
fn by_block(task: &Task<'_>, care: Care) -> Result<Plan, OptimiseError> {
    let job = task.job;
    let found = batches::plan(job, &task.model, task.effort, task.listener)
        .ok_or_else(|| OptimiseError::Internal("a batch could not be laid up".to_owned()))?;
    let written = finish::write(job, &found.model, &found.work).ok_or_else(|| {
        OptimiseError::Internal("no mats cover a lay-up that validation allowed".to_owned())
    })?;
    // The first batch of that block is made first in any case.
    let proof_block = job.proof_block.as_ref().map(|_| proof_costs(job, &written, &written));
    task.finished((written, proof_block, found.batches), None, care)
}

/// A plan that cuts the proof block first.
struct Way {
    model: Model,
    solution: solution::Solution,
    block: solution::Solution,
    written: finish::Written,
}

impl Way {
    fn new(
        job: &Job,
        model: Model,
        solution: solution::Solution,
        block: solution::Solution,
        diligence: work::Diligence<'_>,
    ) -> Result<Self, OptimiseError> {
        let written = write(job, &model, &solution, Some(&block), diligence)?;
        Ok(Self { model, solution, block, written })
    }
}

/// Strip widths in all of every fabric, grid steps.
fn widths(solution: &solution::Solution) -> Vec<i64> {
    (0..solution.strips.len()).map(|f| solution.strips_of(f).0).collect()
}

fn write(
    job: &Job,
    model: &Model,
    solution: &solution::Solution,
    proof: Option<&solution::Solution>,
    diligence: work::Diligence<'_>,
) -> Result<finish::Written, OptimiseError> {
    if !solution.is_sound(model) {
        return Err(OptimiseError::Internal("the search ended in an unsound solution".to_owned()));
    }
    let work = work::lay_up(job, model, solution, proof, diligence);
    finish::write(job, model, &work)
        .ok_or_else(|| OptimiseError::Internal("no mats cover a lay-up that validation allowed".to_owned()))
}

/// The figures of the aim, in its order.
fn by_aim(job: &Job, written: &finish::Written) -> Vec<i128> {
    let order = questions::order(&job.aim);
    order.into_iter().map(|figure| bounds::value(job, &written.figures, figure)).collect()
}

/// What asking for the proof block costs against the same search without it. A plan that cuts the proof block first is
/// a plan for the job without that wish too: where it is the better of the two by the aim's order, asking costs nothing.
fn proof_costs(job: &Job, with: &finish::Written, without: &finish::Written) -> ProofBlock {
    let without = if by_aim(job, with) <= by_aim(job, without) { with } else { without };
    let signed = |n: u64| i64::try_from(n).unwrap_or(i64::MAX);
    let first = &with.layups[..with.proof_layups];
    let taken = |written: &finish::Written| written.figures.length_taken;
    ProofBlock {
        layups: with.proof_layups,
        passes: first.iter().map(|layup| layup.passes.len() as u64).sum(),
        extra_passes: signed(with.figures.passes) - signed(without.figures.passes),
        extra_cloth: Length::from_units(taken(with).units() - taken(without).units()),
    }
}

/// Names demands that no ply yields (validation finds them first; this is the net below it).
fn nothing_impossible(job: &Job, model: &Model) -> Result<(), OptimiseError> {
    let mut reasons = Vec::new();
    for (f, fabric) in model.fabrics.iter().enumerate() {
        for (index, item) in fabric.items.iter().enumerate().filter(|(_, item)| item.wanted > 0) {
            let yields = |ply: &model::Ply| ply.yields.iter().any(|(i, _)| *i == index);
            if !fabric.plies.iter().any(yields)
                && let Some(line) = item.line
            {
                let shape = &job.shapes[job.demands[line].shape].name;
                reasons.push(format!("no board cuts {shape} from {}", job.fabrics[f].name));
            }
        }
    }
    if reasons.is_empty() { Ok(()) } else { Err(OptimiseError::Impossible(reasons)) }
}
