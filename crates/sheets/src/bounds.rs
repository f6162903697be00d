//! What the proof of a plan means, in plain words.

use patchlay_measure::{Area, Length, Money};
use patchlay_plan::{Bound, FigureKind, Outcome, Plan};
use patchlay_scenario::job::{Aim, Job};

use crate::words;

/// How the search ended, then one sentence for every figure of the aim.
pub(crate) fn sentences(plan: &Plan, job: &Job) -> Vec<String> {
    let mut said = vec![outcome(plan, job)];
    let kinds: Vec<FigureKind> = plan.bounds.iter().map(|bound| bound.figure).collect();
    for (at, bound) in plan.bounds.iter().enumerate() {
        said.push(sentence(bound, &kinds[..at], job));
    }
    said.extend(set_up(plan));
    said
}

/// How few lay-ups, lengths and cuts there are at least with what the plan cuts and lays.
fn set_up(plan: &Plan) -> Option<String> {
    let least = plan.fewest?;
    let figures = &plan.figures;
    let layups = words::count(least.layups, "lay-up", "different lay-ups");
    let pieces = words::count(least.pieces, "length or cut", "lengths and cuts");
    let (set_up, prepared) = (figures.layups, figures.pieces);
    let first =
        if plan.proof_block.is_some() { ", and the proof block first as it is laid up here," } else { "" };
    Some(format!(
        "With the strips, areas and passes of this plan{first} there can be no fewer than {layups} to set up (here \
         {set_up}) and, as the strips are filled, {pieces} to prepare (here {prepared}). They are not part of the aim."
    ))
}

fn outcome(plan: &Plan, job: &Job) -> String {
    let aim = words::aim(job.aim.kind());
    match plan.outcome {
        Outcome::Proved => {
            format!("The aim was {aim}, and it is proved that no plan meets it better than this one.")
        }
        Outcome::WithGap => with_gap(plan, job, aim),
        Outcome::Stopped => format!(
            "The aim was {aim}. The search was stopped early: the plan is sound and was checked, but a longer \
             search may find a better one."
        ),
    }
}

/// What is settled of the aim's figures from the first on, and that the rest is not.
fn with_gap(plan: &Plan, job: &Job, aim: &str) -> String {
    let settled = plan.bounds.iter().take_while(|bound| bound.proved);
    let settled: Vec<String> = settled.map(|bound| noun(bound.figure, job).to_owned()).collect();
    if settled.is_empty() {
        return format!(
            "The aim was {aim}. The plan is sound and was checked; a somewhat better one has not been ruled out."
        );
    }
    format!(
        "The aim was {aim}. The plan is sound and was checked. It is proved that none does better in {}; of those \
         that do as well, a somewhat better one has not been ruled out.",
        words::list(&settled)
    )
}

fn sentence(bound: &Bound, before: &[FigureKind], job: &Job) -> String {
    let earlier = words::list(&before.iter().map(|kind| noun(*kind, job).to_owned()).collect::<Vec<_>>());
    let among = if before.is_empty() {
        "No plan with these boards, fabrics and limits".to_owned()
    } else if bound.conditional {
        format!("With {earlier} as in this plan, none")
    } else {
        format!("Of the plans that do as well in {earlier}, none")
    };
    let least = amount(bound.figure, &bound.bound, job);
    let value = match bound.figure {
        // "takes fewer than 24 passes; this one takes 25"
        FigureKind::Passes => bound.value.clone(),
        figure => amount(figure, &bound.value, job),
    };
    let verb = verb(bound.figure, job);
    let this = this(bound.figure, job);
    let mut said = if bound.proved {
        format!("{among} {verb} {least}, and this one {this} no more")
    } else if least == value {
        format!("{among} {verb} {least}; this one {this} a hair more")
    } else {
        format!("{among} {verb} {least}; this one {this} {value}")
    };
    if bound.conditional {
        said.push_str(&format!(" (not proved for plans that do better in {earlier})"));
    }
    said.push('.');
    said
}

pub(crate) fn noun(kind: FigureKind, job: &Job) -> &'static str {
    match kind {
        FigureKind::Money if job.priced => "the price of the cloth",
        FigureKind::Money => "the cloth to buy",
        FigureKind::Area => "the cloth taken",
        FigureKind::Passes => "passes",
        FigureKind::Seconds => "time",
        FigureKind::Cost => "cost",
        FigureKind::Weighted => "cloth and passes weighed together",
    }
}

fn verb(kind: FigureKind, job: &Job) -> String {
    match (kind, &job.aim) {
        (FigureKind::Money, _) if job.priced => "costs less in cloth than".to_owned(),
        (FigureKind::Money, _) => "buys less cloth than".to_owned(),
        (FigureKind::Area, _) => "takes less cloth off the bolt than".to_owned(),
        (FigureKind::Passes, _) => "takes fewer than".to_owned(),
        (FigureKind::Seconds, _) => "takes less standard time than".to_owned(),
        (FigureKind::Cost, _) => "costs less in cloth and time together than".to_owned(),
        (FigureKind::Weighted, Aim::Weighted { pass }) => {
            format!("comes to less, every pass counted as {} of cloth, than", pass.show(job.units))
        }
        (FigureKind::Weighted, _) => "comes to less than".to_owned(),
    }
}

fn this(kind: FigureKind, job: &Job) -> &'static str {
    match kind {
        FigureKind::Money if job.priced => "costs",
        FigureKind::Money => "buys",
        FigureKind::Area | FigureKind::Passes | FigureKind::Seconds => "takes",
        FigureKind::Cost => "costs",
        FigureKind::Weighted => "comes to",
    }
}

/// A figure in its unit. A text that is no number is shown as it is: the checker refuses such a plan.
pub(crate) fn amount(kind: FigureKind, text: &str, job: &Job) -> String {
    let Ok(units) = text.parse::<i128>() else { return text.to_owned() };
    let small = i64::try_from(units).unwrap_or(i64::MAX);
    match kind {
        FigureKind::Money if job.priced => Money::from_units(units).show(&job.currency),
        FigureKind::Cost => Money::from_units(units).show(&job.currency),
        FigureKind::Money | FigureKind::Area => Area::from_units(units).show(job.units),
        FigureKind::Passes => words::passes(u64::try_from(units).unwrap_or(0)),
        FigureKind::Seconds => exact_time(small),
        FigureKind::Weighted => Length::from_units(small).show(job.units),
    }
}

fn exact_time(seconds: i64) -> String {
    let (hours, minutes, seconds) = (seconds / 3600, seconds / 60 % 60, seconds % 60);
    if hours > 0 {
        format!("{hours} h {minutes} min {seconds} s")
    } else {
        format!("{minutes} min {seconds} s")
    }
}
