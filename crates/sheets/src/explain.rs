//! Why a plan's figures are what they are, in plain words for the terminal.

use patchlay_measure::Length;
use patchlay_plan::explain::{
    BoardWhy, Change, Changed, Explanation, FabricWhy, Place, PointWhy, Replanned, Step, StepWhy,
};
use patchlay_plan::{Bound, Figures, LoadingRule, Outcome, Plan, Rational};
use patchlay_scenario::Job;

use crate::compare::{differences, gap};
use crate::terminal::{Lines, visible};
use crate::{bounds, words};

/// Beside an answer.
const STOPPED: &str = " The search was stopped early.";

/// The explanation for the terminal, at most 100 columns wide.
#[must_use]
pub fn explain_terminal(explanation: &Explanation, plan: &Plan, job: &Job) -> String {
    let mut out = Lines::default();
    out.push(&format!("{}  (plan {})", visible(&job.name), plan.number));
    out.head("What sets the passes");
    explanation.boards.iter().for_each(|board| board_lines(&mut out, board, plan));
    out.head("Where the cloth goes");
    explanation.fabrics.iter().for_each(|fabric| fabric_lines(&mut out, fabric, job));
    out.head("What a change would do");
    changes(&mut out, explanation, plan, job);
    if !explanation.steps.is_empty() {
        out.head("One selling step less and one more, every other fabric bought at most as now");
        let fewest = plan.figures.passes;
        for step in &explanation.steps {
            let (less, more) = (less(step, &plan.figures, job), more(step, fewest, &plan.figures, job));
            let stopped = if step.stopped { STOPPED } else { "" };
            out.point(&format!("{}: {less} {more}{stopped}", step.fabric));
        }
    }
    out.text
}

fn board_lines(out: &mut Lines, board: &BoardWhy, plan: &Plan) {
    if board.passes == 0 {
        out.point(&format!("{}: not used", board.board));
        return;
    }
    let limit = words::plies(board.ply_limit);
    out.point(&format!("{}: {} of at most {limit}", board.board, words::passes(board.passes)));
    let (full, room): (Vec<&PointWhy>, Vec<&PointWhy>) = board.points.iter().partition(|point| point.full);
    let lead = "    ";
    for (places, point) in alike(&full) {
        let load = format!("{places}: {}, {}", words::count(point.plies, "ply", "plies"), full_stacks(point));
        out.hang(
            lead,
            &match point.room {
                0 => format!("full: {load}; no room is left"),
                room => {
                    let more = words::count(room, "ply", "plies");
                    format!("needs every pass: {load}, rounded up to {}; {more} more would fit", point.needs)
                }
            },
        );
    }
    if full.is_empty() {
        out.hang(lead, &not_full(board, plan));
    }
    // Where cloth of several areas meets beside the blades is only worth a word where it is what counts.
    let positions: Vec<&PointWhy> =
        room.into_iter().filter(|point| matches!(point.at, Place::Position(_))).collect();
    for (places, point) in alike(&positions) {
        let plies = words::count(point.plies, "ply", "plies");
        let more = words::count(point.room, "ply", "plies");
        out.hang(lead, &format!("room: {places}: {plies}, {}; {more} more would fit", full_stacks(point)));
    }
}

/// `24 5/6 full stacks`.
fn full_stacks(point: &PointWhy) -> String {
    let noun = if point.stacks == (Rational { n: 1, d: 1 }) { "full stack" } else { "full stacks" };
    format!("{} {noun}", mixed(point.stacks))
}

/// Why no position needs all the passes.
fn not_full(board: &BoardWhy, plan: &Plan) -> String {
    let fullest = board.points.iter().map(|point| point.needs).max().unwrap_or(0);
    let by_itself = format!("no position needs all of them: the fullest needs {fullest}");
    match plan.strategy.loading {
        LoadingRule::FabricByFabric => {
            let each = board.by_fabric.iter().map(|fabric| {
                let why =
                    if fabric.needs == fabric.passes { "" } else { ", of which its fullest position needs " };
                let needs = if why.is_empty() { String::new() } else { fabric.needs.to_string() };
                format!("{} {}{why}{needs}", fabric.fabric, fabric.passes)
            });
            format!("a pass holds one fabric, so they add up: {}", each.collect::<Vec<_>>().join("; "))
        }
        LoadingRule::BlockByBlock => format!("{by_itself}; every batch of blocks has passes of its own"),
        LoadingRule::Mixed => format!(
            "{by_itself}; the others are made because plies come whole and areas that share a position or overlap \
             cannot all be loaded at once"
        ),
    }
}

/// Points with like loads taken together, in words, with one of them.
fn alike<'a>(points: &[&'a PointWhy]) -> Vec<(String, &'a PointWhy)> {
    let mut groups: Vec<Vec<&'a PointWhy>> = Vec::new();
    for &point in points {
        let same = |group: &&mut Vec<&PointWhy>| {
            let first = group[0];
            let positions = [first, point].map(|point| matches!(point.at, Place::Position(_)));
            positions == [true, true] && (first.plies, first.stacks) == (point.plies, point.stacks)
        };
        match groups.iter_mut().find(same) {
            Some(group) => group.push(point),
            None => groups.push(vec![point]),
        }
    }
    groups.into_iter().map(|group| (places(&group), group[0])).collect()
}

fn places(points: &[&PointWhy]) -> String {
    let area = |labels: &[String]| match labels {
        [one] => one.clone(),
        more => more.join("+"),
    };
    let labels: Vec<String> = points
        .iter()
        .filter_map(|point| match &point.at {
            Place::Position(label) => Some(label.clone()),
            _ => None,
        })
        .collect();
    match points.first().map(|point| &point.at) {
        Some(Place::Overlap(areas)) => {
            let areas: Vec<String> = areas.iter().map(|labels| area(labels)).collect();
            format!("where the cloth of areas {} overlaps", words::list(&areas))
        }
        Some(Place::Apart(one, other)) => {
            format!("areas {} and {}, which are never loaded in one pass, together", area(one), area(other))
        }
        _ if labels.len() == 1 => format!("position {}", labels[0]),
        _ => format!("positions {}, each", words::list(&labels)),
    }
}

/// `24 5/6`, `25`.
fn mixed(number: Rational) -> String {
    let d = number.d.max(1);
    let (whole, rest) = (number.n.div_euclid(d), number.n.rem_euclid(d));
    match (whole, rest) {
        (whole, 0) => whole.to_string(),
        (0, rest) => format!("{rest}/{d}"),
        (whole, rest) => format!("{whole} {rest}/{d}"),
    }
}

fn fabric_lines(out: &mut Lines, fabric: &FabricWhy, job: &Job) {
    let units = job.units;
    let show = |length: Length| length.show(units);
    let taken = format!("{} taken, {} bought", show(fabric.taken), fabric.bought.show_cloth(units));
    let number = words::count(fabric.strips.len(), "strip", "strips");
    out.point(&format!("{}: {taken}; {number}", fabric.fabric));
    let lead = "    ";
    if let Some(filling) = filling(fabric, job) {
        out.hang(lead, &filling);
    }
    out.hang(lead, &format!("lost: {}", losses(fabric, job).join("; ")));
}

/// How full the strips are; none where there are none.
fn filling(fabric: &FabricWhy, job: &Job) -> Option<String> {
    let show = |length: Length| length.show(job.units);
    let emptiest = fabric.strips.iter().min_by_key(|strip| strip.carries)?;
    let percents = fabric.strips.iter().map(|strip| strip.percent(fabric.capacity));
    let number = i64::try_from(fabric.strips.len()).unwrap_or(1);
    let most = show(fabric.capacity);
    let (carries, percent) = (show(emptiest.carries), emptiest.percent(fabric.capacity));
    if number == 1 {
        return Some(format!("the strip carries {carries} of at most {most}: {percent} % full"));
    }
    let full = percents.clone().filter(|&percent| percent >= 90).count();
    let average = percents.sum::<i64>() / number;
    Some(format!(
        "a strip carries at most {most}; they are {average} % full on average, and {full} of {number} are nine tenths full \
         or more; the emptiest, {}, carries {carries}: {percent} % full",
        emptiest.strip
    ))
}

fn losses(fabric: &FabricWhy, job: &Job) -> Vec<String> {
    let units = job.units;
    let lengths = [
        (fabric.squaring, "to squaring"),
        (fabric.squaring_again, "to squaring again"),
        (fabric.shrinkage, "in the wash"),
    ];
    let lengths = lengths.iter().filter(|(length, _)| length.is_positive());
    let mut said: Vec<String> =
        lengths.map(|(length, what)| format!("{} {what}", length.show(units))).collect();
    if !fabric.strips.is_empty() {
        let each = fabric.end_reserve.show(units);
        said.push(format!("{} to the {each} kept at every strip's end", fabric.end_reserves.show(units)));
        said.push(format!("{} to strips not filled", fabric.strip_ends.show(units)));
    }
    let rounding = fabric.rounding.show(units);
    said.push(if fabric.rounding == Length::ZERO {
        "nothing by rounding up to the selling step".to_owned()
    } else if job.priced {
        let price = fabric.rounding_money.show(&job.currency);
        format!("{rounding} bought only because it is sold in steps ({price})")
    } else {
        format!("{rounding} bought only because it is sold in steps")
    });
    said
}

/// The values of the aim's figures, in its order.
fn values(bounds: &[Bound]) -> Vec<i128> {
    bounds.iter().map(|bound| bound.value.parse().unwrap_or(i128::MAX)).collect()
}

/// What the other plans are held against: the plan, or a better one that the same search finds with nothing changed.
struct Held<'a> {
    bounds: &'a [Bound],
    figures: &'a Figures,
}

fn changes(out: &mut Lines, explanation: &Explanation, plan: &Plan, job: &Job) {
    let mut held = Held { bounds: &plan.bounds, figures: &plan.figures };
    out.point(&format!(
        "Every answer was planned at effort {} and checked. Where nothing is proved of a figure, a small difference may \
         be the luck of the search.",
        explanation.effort
    ));
    for change in &explanation.changes {
        let plan = change.plan.as_ref();
        if change.what == Changed::Nothing
            && let Ok(again) = plan
            && values(&again.bounds) < values(held.bounds)
        {
            let better = differences(&again.figures, held.figures, job);
            out.point(&format!(
                "Nothing changed: the same search finds a better plan than this one, {better}. What \
                 follows is held against that plan."
            ));
            held = Held { bounds: &again.bounds, figures: &again.figures };
        } else if change.what == Changed::Nothing {
            out.point("Nothing changed: the same search finds no better plan than this one.");
        } else {
            out.point(&changed(change, &held, job));
        }
    }
}

fn changed(change: &Change, held: &Held<'_>, job: &Job) -> String {
    let begin = match &change.what {
        Changed::Nothing => "Nothing changed".to_owned(),
        Changed::OnePlyMore { to } => format!(
            "One more ply, {to} (the maker's instructions decide what the cutter may take; fabrics and boards with a \
             lower limit of their own keep it)"
        ),
        Changed::Narrower { fabrics, by } => {
            let together = if fabrics.len() > 1 { ", all at once" } else { "" };
            format!("{} {} narrower{together}", words::list(fabrics), by.show(job.units))
        }
    };
    let narrower = matches!(change.what, Changed::Narrower { .. });
    let fits = if narrower && change.still_fits { " This plan's strips still fit." } else { "" };
    let plan = match &change.plan {
        Err(reason) => return format!("{begin}: no plan, because {reason}.{fits}"),
        Ok(plan) => plan,
    };
    let stopped = match plan.outcome {
        Outcome::Stopped => STOPPED,
        Outcome::Proved | Outcome::WithGap => "",
    };
    let (theirs, ours) = (values(&plan.bounds), values(held.bounds));
    if change.still_fits && !narrower && theirs >= ours {
        return format!("{begin}: no better plan was found. {}{stopped}", saves_nothing(plan, held, job));
    }
    let said = differences(&plan.figures, held.figures, job);
    let layups = words::count(plan.figures.layups, "lay-up", "lay-ups");
    format!("{begin}: {said}, {layups}. {}{fits}{stopped}", proved(plan, job))
}

/// What is proved of a plan found under a change.
fn proved(plan: &Replanned, job: &Job) -> String {
    let noun = |bound: &Bound| bounds::noun(bound.figure, job).to_owned();
    let settled: Vec<String> = plan.bounds.iter().take_while(|bound| bound.proved).map(noun).collect();
    let open: Vec<String> = plan.bounds[settled.len()..].iter().map(|bound| open(bound, job)).collect();
    let mut said = Vec::new();
    if !settled.is_empty() {
        said.push(format!("Proved: with that change no plan does better in {}.", words::list(&settled)));
    }
    if !open.is_empty() {
        said.push(format!("Not proved: {}.", words::list(&open)));
    }
    said.join(" ")
}

/// `passes (at least 97, gap 1.1 %)`.
fn open(bound: &Bound, job: &Job) -> String {
    let noun = bounds::noun(bound.figure, job);
    let least = bounds::amount(bound.figure, &bound.bound, job);
    let held = if bound.conditional { "with the figures before it as they are " } else { "" };
    if bound.bound == bound.value {
        return format!("{noun} ({held}{least} is the least)");
    }
    format!("{noun} ({held}at least {least}, gap {})", gap(bound))
}

/// How far it is proved that the change saves nothing.
fn saves_nothing(plan: &Replanned, held: &Held<'_>, job: &Job) -> String {
    let all = || plan.bounds.iter().zip(held.bounds);
    let nothing = |(theirs, ours): &(&Bound, &Bound)| theirs.bound == ours.value && !theirs.conditional;
    let settled: Vec<String> =
        all().take_while(nothing).map(|(theirs, _)| bounds::noun(theirs.figure, job).to_owned()).collect();
    let open = all().nth(settled.len()).map(|(theirs, _)| open(theirs, job));
    let mut said = Vec::new();
    if !settled.is_empty() {
        said.push(format!("Proved: it saves nothing in {}.", words::list(&settled)));
    }
    if let Some(open) = open {
        said.push(format!("Not ruled out: a saving in {open}."));
    }
    said.join(" ")
}

/// A step less.
fn less(step: &StepWhy, now: &Figures, job: &Job) -> String {
    let units = job.units;
    let target = (step.bought - step.step).show_cloth(units);
    // The wash may leave an odd length; what is allowed is rounded down to what a ruler shows.
    let allows = step.less_means.floor_to(job.ruler_step.max(Length::from_64ths(1))).show(units);
    let least = step.least.show(units);
    let begin = format!("a step less than {} is {target}", step.bought.show_cloth(units));
    match &step.less {
        Step::Proved => {
            format!(
                "{begin}, at most {allows} taken: no plan can do with it, as every plan takes {least} or more."
            )
        }
        Step::Found { figures, fewest } => format!(
            "{begin}: it will do, with {}; no plan that buys so little takes fewer than {}.",
            differences(figures, now, job),
            words::passes(*fewest)
        ),
        Step::Open { fewest } => format!(
            "{begin}, at most {allows} taken: no plan was found that does with it; it is only proved that none takes \
             less than {least}, and that one that buys so little would take {} or more.",
            words::passes(*fewest)
        ),
        Step::NotAsked(reason) => format!("{begin}: {reason}."),
    }
}

/// A step more.
fn more(step: &StepWhy, passes: u64, now: &Figures, job: &Job) -> String {
    match &step.more {
        Step::Proved => "A step more saves no pass: proved.".to_owned(),
        Step::Found { figures, fewest } => {
            let saved = words::passes(passes.saturating_sub(figures.passes));
            format!(
                "A step more saves {saved}: {}; none that buys no more takes fewer than {}.",
                differences(figures, now, job),
                words::passes(*fewest)
            )
        }
        Step::Open { fewest } => format!(
            "A step more: no plan with fewer passes was found; fewer than {} are ruled out.",
            words::passes(*fewest)
        ),
        Step::NotAsked(_) => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stacks_are_mixed_numbers() {
        let all = [(0, 1), (5, 6), (25, 1), (149, 6)].map(|(n, d)| mixed(Rational { n, d }));
        assert_eq!(all, ["0", "5/6", "25", "24 5/6"]);
    }

    #[test]
    fn like_positions_are_told_together() {
        let point = |label: &str, plies: u64| PointWhy {
            at: Place::Position(label.to_owned()),
            plies,
            stacks: Rational { n: i128::from(plies), d: 6 },
            needs: plies.div_ceil(6),
            full: true,
            room: 0,
        };
        let points = [point("1", 12), point("2", 6), point("3", 12)];
        let all: Vec<String> =
            alike(&points.iter().collect::<Vec<_>>()).into_iter().map(|(places, _)| places).collect();
        assert_eq!(all, ["positions 1 and 3, each", "position 2"]);
    }
}
