//! Why the figures of a plan are what they are: what sets the passes of every board (`loads`), where the cloth goes
//! (`cloth`), and what changes would do, each of them planned again (`changes`, `steps`). Questions are answered in
//! parallel and gathered in a fixed order.

mod changes;
mod cloth;
mod loads;
mod reading;
mod steps;

use patchlay_plan::Plan;
use patchlay_plan::explain::{Change, Changed, EXPLANATION_VERSION, Explanation, StepWhy};
use patchlay_scenario::Job;
use rayon::prelude::*;

use crate::compare::Made;
use crate::listen::{Listener, Parts};
use crate::{OptimiseError, Options, Task, in_pool};

/// Up to so many fabrics each is made narrower by itself; beyond that all are at once.
const ONE_AT_A_TIME: usize = 6;

/// A question about the plan.
enum Question {
    Changed(Changed),
    Step(usize),
}

impl Question {
    /// In a few words, for people who watch.
    fn name(&self, job: &Job) -> String {
        match self {
            Self::Changed(Changed::Nothing) => "nothing changed".to_owned(),
            Self::Changed(Changed::OnePlyMore { .. }) => "one more ply".to_owned(),
            Self::Changed(Changed::Narrower { fabrics, .. }) => match &fabrics[..] {
                [one] => format!("{one} narrower"),
                _ => "all fabrics narrower".to_owned(),
            },
            Self::Step(f) => job.fabrics[*f].name.clone(),
        }
    }
}

/// The answer to one.
enum Answer {
    Changed(Box<Change>),
    Step(Box<StepWhy>),
}

/// Explains a checked plan; `job` is that of the scenario which the plan echoes. Gives every plan made on the way as
/// well, to be checked.
///
/// # Errors
/// Our own faults. A change under which there is no plan is an answer.
pub fn explain(
    job: &Job,
    plan: &Plan,
    options: &Options,
    listener: &dyn Listener,
) -> Result<(Explanation, Vec<Made>), OptimiseError> {
    let job = job.under(plan.strategy);
    in_pool(options, || run(&job, plan, options, listener))
}

fn run(
    job: &Job,
    plan: &Plan,
    options: &Options,
    listener: &dyn Listener,
) -> Result<(Explanation, Vec<Made>), OptimiseError> {
    let text = crate::compare::written(&plan.scenario)?;
    let now = steps::Now::new(Task::new(job, &text, options, listener)?, plan);
    let wanted = now.fabrics();
    let questions = questions(job, &wanted);
    let parts = Parts::new(listener, "questions", questions.len());
    let answer = |(at, question): (usize, Question)| -> Result<(Answer, Vec<Made>), OptimiseError> {
        let listener = &parts.begin(at, question.name(job));
        Ok(match question {
            Question::Changed(what) => {
                let (change, made) = changes::changed(job, plan, what, options, listener)?;
                (Answer::Changed(Box::new(change)), made.into_iter().collect())
            }
            Question::Step(f) => {
                let (step, made) = now.heard_by(listener).step(f)?;
                (Answer::Step(Box::new(step)), made)
            }
        })
    };
    let answers: Vec<(Answer, Vec<Made>)> =
        questions.into_par_iter().enumerate().map(answer).collect::<Result<_, _>>()?;
    let mut explanation = Explanation {
        patchlay_explanation: EXPLANATION_VERSION,
        made_by: format!("patchlay {}", env!("CARGO_PKG_VERSION")),
        plan: plan.number.clone(),
        seed: options.seed,
        effort: options.effort,
        boards: loads::boards(job, plan),
        fabrics: cloth::fabrics(job, plan),
        changes: Vec::new(),
        steps: Vec::new(),
    };
    let mut all = Vec::new();
    for (answer, made) in answers {
        match answer {
            Answer::Changed(change) => explanation.changes.push(*change),
            Answer::Step(step) => explanation.steps.push(*step),
        }
        all.extend(made);
    }
    Ok((explanation, all))
}

fn questions(job: &Job, wanted: &[usize]) -> Vec<Question> {
    let by = changes::narrower_by(job.units);
    let name = |f: &usize| job.fabrics[*f].name.clone();
    let narrower = |fabrics: Vec<String>| Question::Changed(Changed::Narrower { fabrics, by });
    let mut questions = vec![
        Question::Changed(Changed::Nothing),
        Question::Changed(Changed::OnePlyMore { to: job.cutter.ply_limit + 1 }),
    ];
    if wanted.len() > ONE_AT_A_TIME {
        questions.push(narrower(wanted.iter().map(name).collect()));
    } else {
        questions.extend(wanted.iter().map(|f| narrower(vec![name(f)])));
    }
    questions.extend(wanted.iter().map(|&f| Question::Step(f)));
    questions
}
