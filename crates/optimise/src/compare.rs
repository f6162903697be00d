//! Strategies side by side: every one planned, each row taking the best plan that its rules allow, rows that are never
//! better marked, one recommended; and the trade-off curve between cloth, passes and minutes. Rows and points are
//! solved in parallel and gathered in a fixed order.

use patchlay_measure::Length;
use patchlay_plan::compare::{
    Asked, BoardRow, COMPARISON_VERSION, Comparison, LAYUP, NeverBetter, Point, Row, RowPlan,
};
use patchlay_plan::{Bound, FigureKind, Figures, Plan, scenario_digest};
use patchlay_scenario::job::Aim;
use patchlay_scenario::{Job, LoadingRule, PlyRule, Strategy};
use rayon::prelude::*;

use crate::listen::{Listener, Parts};
use crate::{Care, OptimiseError, Options, in_pool, plan, plan_with_and_without_proof_block};

/// A row may cost so much more to buy than the cheapest and still be recommended, in percent: an assumption of ours.
const DEARER: i128 = 3;

/// A plan with the text of the scenario that it belongs to.
#[derive(Clone, Debug)]
pub struct Made {
    /// The scenario's text; for points of the curve with another aim than the file's.
    pub scenario: String,
    /// The plan.
    pub plan: Plan,
}

/// The strategies to compare: every loading rule with every ply rule, and the freest of them with two lower ply limits;
/// with `every`, all of them with all limits.
#[must_use]
pub fn strategies(job: &Job, every: bool) -> Vec<Strategy> {
    let most = job.cutter.ply_limit;
    let mut limits: Vec<Option<u32>> = vec![None];
    let mut lower: Vec<u32> = [(2 * most).div_ceil(3), most.div_ceil(2)].into();
    lower.retain(|&limit| limit >= 1 && limit < most);
    lower.dedup();
    limits.extend(lower.into_iter().map(Some));
    let mut all = Vec::new();
    for &ply_limit in &limits {
        for loading in LoadingRule::ALL {
            for plies in PlyRule::ALL {
                let free = (loading, plies) == (LoadingRule::Mixed, PlyRule::Either);
                if every || ply_limit.is_none() || free {
                    all.push(Strategy { loading, plies, ply_limit });
                }
            }
        }
    }
    all
}

/// Compares the strategies. Gives the comparison and every plan in it, to be checked.
///
/// # Errors
/// Our own faults. Strategies under which the demand cannot be met, or that were stopped before there was a plan, are
/// rows without a plan.
pub fn compare(
    job: &Job,
    scenario_text: &str,
    strategies: &[Strategy],
    options: &Options,
    listener: &dyn Listener,
) -> Result<(Comparison, Vec<Made>), OptimiseError> {
    in_pool(options, || run(job, scenario_text, strategies, options, listener))
}

fn run(
    job: &Job,
    text: &str,
    strategies: &[Strategy],
    options: &Options,
    listener: &dyn Listener,
) -> Result<(Comparison, Vec<Made>), OptimiseError> {
    let parts = Parts::new(listener, "strategies", strategies.len());
    let plans: Vec<Result<Plan, String>> = strategies
        .par_iter()
        .enumerate()
        .map(|(at, &strategy)| {
            let listener = &parts.begin(at, name(strategy));
            match plan(&job.under(strategy), text, options, listener, Care::Compared) {
                Ok(plan) => Ok(Ok(plan)),
                Err(OptimiseError::Internal(what)) => Err(OptimiseError::Internal(what)),
                Err(other) => Ok(Err(other.to_string())),
            }
        })
        .collect::<Result<_, _>>()?;
    let mut rows: Vec<Row> = strategies
        .iter()
        .enumerate()
        .map(|(at, &strategy)| Row { strategy, plan: row_plan(strategies, &plans, at), never_better: None })
        .collect();
    let marks: Vec<Option<NeverBetter>> = (0..rows.len()).map(|at| never_better(&rows, at)).collect();
    rows.iter_mut().zip(marks).for_each(|(row, mark)| row.never_better = mark);
    let recommended = recommended(&rows);
    let usual = strategies.iter().position(Strategy::is_usual).and_then(|at| plans[at].as_ref().ok());
    // Every plan of a row is a plan of the freest strategy: the best of them is what a board is measured by.
    let best = plans.iter().flatten().min_by_key(|plan| values(plan));
    let (points, boards) = rayon::join(
        || curve(job, text, usual, options, listener),
        || with_other_boards(job, text, best, options, listener),
    );
    let (Points { points, no_proof_block }, boards) = (points?, boards?);
    let (curve, ends) = as_curve(&points, &plans);
    let (boards, on_them): (Vec<BoardRow>, Vec<Option<Made>>) = boards.into_iter().unzip();
    let comparison = Comparison {
        patchlay_comparison: COMPARISON_VERSION,
        made_by: format!("patchlay {}", env!("CARGO_PKG_VERSION")),
        scenario_digest: scenario_digest(text),
        seed: options.seed,
        effort: options.effort,
        rows,
        recommended,
        curve,
        ends,
        passes_without_proof_block: no_proof_block
            .as_ref()
            .and_then(|made| made.plan.bounds.first().cloned()),
        boards,
    };
    let rows = plans.into_iter().flatten().map(|plan| Made { scenario: text.to_owned(), plan });
    let of_curve = points.into_iter().map(|(_, made)| made).chain(no_proof_block);
    Ok((comparison, rows.chain(of_curve).chain(on_them.into_iter().flatten()).collect()))
}

/// A strategy in a few words, for people who watch.
fn name(strategy: Strategy) -> String {
    let rules = format!("{}, {}", strategy.loading.name(), strategy.plies.name());
    strategy.ply_limit.map_or(rules.clone(), |limit| format!("{rules}, at most {limit} in a stack"))
}

/// Whether every plan under `strict` is a plan under `free`.
fn allows(free: Strategy, strict: Strategy) -> bool {
    let limit = |strategy: Strategy| strategy.ply_limit.unwrap_or(u32::MAX);
    (free.loading == LoadingRule::Mixed || free.loading == strict.loading)
        && (free.plies == PlyRule::Either || free.plies == strict.plies)
        && limit(strict) <= limit(free)
}

/// The values of the aim's figures, in its order.
fn values(plan: &Plan) -> Vec<i128> {
    plan.bounds.iter().map(|bound| bound.value.parse().unwrap_or(i128::MAX)).collect()
}

/// The best plan that the row's rules allow, with the best bound that holds for it.
fn row_plan(strategies: &[Strategy], plans: &[Result<Plan, String>], at: usize) -> Result<RowPlan, String> {
    let own = strategies[at];
    let allowed = (0..plans.len()).filter(|&other| allows(own, strategies[other]));
    let found = allowed.filter_map(|other| plans[other].as_ref().ok().map(|plan| (other, plan)));
    let best = found.min_by_key(|(other, plan)| (values(plan), *other != at, *other));
    let Some((from, plan)) = best else {
        return Err(plans[at].as_ref().err().cloned().unwrap_or_default());
    };
    let first = |plan: &Plan| plan.bounds.first().cloned();
    let Some(mut bound) = first(plan) else { return Err("the plan has no bound".to_owned()) };
    let number = |bound: &Bound| bound.bound.parse::<i128>().unwrap_or(0);
    // A bound of freer rules holds for stricter ones.
    let freer = (0..plans.len()).filter(|&other| allows(strategies[other], own));
    let proved = freer.filter_map(|other| plans[other].as_ref().ok().and_then(first));
    if let Some(highest) = proved.max_by_key(number) {
        bound.bound = highest.bound;
        bound.proved = bound.bound == bound.value;
    }
    Ok(RowPlan {
        number: plan.number.clone(),
        made_as: strategies[from],
        outcome: plan.outcome,
        figures: plan.figures.clone(),
        bound_of_freer_rules: is_of_freer_rules(own, bound.figure),
        bound,
    })
}

/// Whether a bound says less of a strategy than it might. Cloth by itself does not ask which fabrics share a pass, and
/// passes are bounded fabric by fabric where they are so made.
fn is_of_freer_rules(strategy: Strategy, figure: FigureKind) -> bool {
    let by_fabric = matches!(figure, FigureKind::Money | FigureKind::Area | FigureKind::Passes);
    match strategy.loading {
        _ if strategy.plies == PlyRule::Folded => true,
        LoadingRule::Mixed => false,
        LoadingRule::FabricByFabric => !by_fabric,
        LoadingRule::BlockByBlock => true,
    }
}

/// Cloth to buy, cloth taken, passes, minutes and lay-ups, each the less the better.
fn merits(figures: &Figures) -> [i128; 5] {
    [
        figures.money.units(),
        figures.area_taken.units(),
        figures.passes.into(),
        figures.seconds.into(),
        figures.layups.into(),
    ]
}

/// The row that is at least as good in everything and better in something, and the reason in plain words.
fn never_better(rows: &[Row], at: usize) -> Option<NeverBetter> {
    let own = merits(&rows[at].plan.as_ref().ok()?.figures);
    let better = rows.iter().enumerate().filter_map(|(other, row)| {
        let theirs = merits(&row.plan.as_ref().ok()?.figures);
        let beats = theirs.iter().zip(&own).all(|(a, b)| a <= b) && theirs != own;
        beats.then_some((theirs, other))
    });
    let (theirs, than) = better.min()?;
    Some(NeverBetter { than, reason: reason(own, theirs) })
}

/// Where the first is worse, and that it is nowhere better.
fn reason(own: [i128; 5], theirs: [i128; 5]) -> String {
    let more = |at: usize| own[at] > theirs[at];
    let words = [
        (more(0) || more(1), "more cloth", "no less cloth"),
        (more(2), "more passes", "no fewer passes"),
        (more(3), "more time", "no less time"),
        (more(4), "more lay-ups", "no fewer lay-ups"),
    ];
    let worse = words.iter().filter(|word| word.0).map(|word| word.1);
    let like = words.iter().filter(|word| !word.0).map(|word| word.2);
    worse.chain(like).collect::<Vec<_>>().join(", ")
}

/// Of the rows that cost little more to buy than the cheapest, the one that is done soonest, every lay-up counted as a
/// card to read.
fn recommended(rows: &[Row]) -> Option<usize> {
    let figures = |at: usize| rows[at].plan.as_ref().ok().map(|plan| &plan.figures);
    let good = || (0..rows.len()).filter(|&at| rows[at].never_better.is_none());
    let cheapest = good().filter_map(|at| figures(at).map(|f| f.money.units())).min()?;
    good()
        .filter_map(|at| figures(at).map(|figures| (at, figures)))
        .filter(|(_, figures)| figures.money.units() * 100 <= cheapest * (100 + DEARER))
        .min_by_key(|(at, figures)| {
            (figures.seconds + u64::from(LAYUP) * figures.layups, figures.money.units(), *at)
        })
        .map(|(at, _)| at)
}

/// What the curve is drawn from.
struct Points {
    points: Vec<(Asked, Made)>,
    /// The plan of fewest passes that does not cut the proof block first, where one is asked for.
    no_proof_block: Option<Made>,
}

/// The curve's own plans: both ends, then cloth and passes together at half, once and twice what a pass costs in cloth
/// between the ends. Every one is a plan of the same scenario with that aim; `usual` is what is known of the
/// scenario's own.
fn curve(
    job: &Job,
    text: &str,
    usual: Option<&Plan>,
    options: &Options,
    listener: &dyn Listener,
) -> Result<Points, OptimiseError> {
    let solve = |asked: &Asked, listener: &dyn Listener| -> Result<Option<(Asked, Made)>, OptimiseError> {
        let own = match (asked, &job.aim) {
            (Asked::LeastCloth, Aim::LeastCloth) => usual,
            _ => None,
        };
        if let Some(plan) = own {
            return Ok(Some((*asked, Made { scenario: text.to_owned(), plan: plan.clone() })));
        }
        let (scenario, job) = asking(job, text, *asked)?;
        // Only the ends are proved.
        let care = if matches!(asked, Asked::Together(_)) { Care::LayUps } else { Care::Compared };
        Ok(unless_impossible(plan(&job, &scenario, options, listener, care))?
            .map(|plan| (*asked, Made { scenario, plan })))
    };
    let fewest = |listener: &dyn Listener| fewest_passes(job, text, options, listener);
    let parts = Parts::new(listener, "ends of the curve", 2);
    let (cloth, passes) = rayon::join(
        || solve(&Asked::LeastCloth, &parts.begin(0, "least cloth".to_owned())),
        || fewest(&parts.begin(1, "fewest passes".to_owned())),
    );
    let (passes, no_proof_block) = passes?;
    let mut points: Vec<(Asked, Made)> =
        cloth?.into_iter().chain(passes.map(|made| (Asked::FewestPasses, made))).collect();
    if let [(_, cloth), (_, passes)] = &points[..] {
        let (cloth, passes) = (&cloth.plan.figures, &passes.plan.figures);
        let dearer = (passes.length_taken - cloth.length_taken).units();
        let fewer = i64::try_from(cloth.passes.saturating_sub(passes.passes)).unwrap_or(0);
        if dearer > 0 && fewer > 0 {
            let worth = |twice: i64| {
                let length = Length::from_units((dearer * twice / (2 * fewer)).max(1));
                Asked::Together(length.ceil_to(Length::from_64ths(8)))
            };
            let mut between = vec![worth(1), worth(2), worth(4)];
            between.dedup();
            let parts = Parts::new(listener, "points of the curve", between.len());
            let one = |(at, asked): (usize, &Asked)| {
                solve(asked, &parts.begin(at, "cloth and passes together".to_owned()))
            };
            let found: Vec<_> = between.par_iter().enumerate().map(one).collect::<Result<_, _>>()?;
            points.extend(found.into_iter().flatten());
        }
    }
    Ok(Points { points, no_proof_block })
}

/// The plan of fewest passes, and the one that does not cut a proof block first: that may take passes which no bound
/// counts.
fn fewest_passes(
    job: &Job,
    text: &str,
    options: &Options,
    listener: &dyn Listener,
) -> Result<(Option<Made>, Option<Made>), OptimiseError> {
    let (text, job) = asking(job, text, Asked::FewestPasses)?;
    let without = job.proof_block.is_some().then(|| -> Result<_, OptimiseError> {
        let mut scenario = read(&text)?;
        let _ = scenario.as_object_mut().and_then(|scenario| scenario.remove("proof_block"));
        Ok((Job { proof_block: None, ..job.clone() }, written(&scenario)?))
    });
    let without = without.transpose()?;
    let other = without.as_ref().map(|(job, text)| (job, text.as_str()));
    let plans = plan_with_and_without_proof_block((&job, &text), other, options, listener, Care::Compared);
    let Some((first, second)) = unless_impossible(plans)? else { return Ok((None, None)) };
    let second = second.zip(without).map(|(plan, (_, scenario))| Made { scenario, plan });
    Ok((Some(Made { scenario: text, plan: first }), second))
}

/// Our own faults are errors; a demand that cannot be met, or a stop before there was a plan, is no plan.
fn unless_impossible<T>(found: Result<T, OptimiseError>) -> Result<Option<T>, OptimiseError> {
    match found {
        Ok(found) => Ok(Some(found)),
        Err(OptimiseError::Internal(what)) => Err(OptimiseError::Internal(what)),
        Err(_) => Ok(None),
    }
}

fn read(text: &str) -> Result<serde_json::Value, OptimiseError> {
    serde_json::from_str(text).map_err(|error| OptimiseError::Internal(error.to_string()))
}

/// A scenario as text that can be read and planned again.
pub(crate) fn written(scenario: &serde_json::Value) -> Result<String, OptimiseError> {
    let text = serde_json::to_string_pretty(scenario);
    text.map(|text| text + "\n").map_err(|error| OptimiseError::Internal(error.to_string()))
}

/// The scenario with another aim.
fn asking(job: &Job, text: &str, asked: Asked) -> Result<(String, Job), OptimiseError> {
    let (aim, wanted) = match asked {
        Asked::LeastCloth => (Aim::LeastCloth, serde_json::json!({ "put_first": "least_cloth" })),
        Asked::FewestPasses => (Aim::FewestPasses, serde_json::json!({ "put_first": "fewest_passes" })),
        Asked::Together(pass) => {
            let eighths = pass.units() / Length::from_64ths(8).units();
            let worth = format!("{} {}/8 in", eighths / 8, eighths % 8);
            let worth = worth.replace(" 0/8", "");
            let wanted = serde_json::json!({ "put_first": "weighted", "pass_is_worth": worth });
            (Aim::Weighted { pass }, wanted)
        }
        Asked::Row(_) => return Ok((text.to_owned(), job.clone())),
    };
    let mut scenario = read(text)?;
    scenario["aim"] = wanted;
    Ok((written(&scenario)?, Job { aim, ..job.clone() }))
}

/// Of the curve's own plans and those of the rows, which are plans of the freest strategy too, the ones that no other
/// beats; and the best values of its ends with their bounds.
fn as_curve(points: &[(Asked, Made)], rows: &[Result<Plan, String>]) -> (Vec<Point>, Vec<Bound>) {
    let own = points.iter().map(|(asked, made)| (*asked, &made.plan));
    let of_rows =
        rows.iter().enumerate().filter_map(|(at, plan)| Some((Asked::Row(at), plan.as_ref().ok()?)));
    let all: Vec<(Asked, &Plan)> = own.chain(of_rows).collect();
    let merits = |plan: &Plan| (plan.figures.length_taken, plan.figures.passes, plan.figures.seconds);
    let beaten = |at: usize| {
        let own = merits(all[at].1);
        all.iter().enumerate().any(|(other, (_, plan))| {
            let theirs = merits(plan);
            let as_good = theirs.0 <= own.0 && theirs.1 <= own.1 && theirs.2 <= own.2;
            // Of like points the first stays.
            as_good && (theirs != own || other < at)
        })
    };
    let mut curve: Vec<Point> = (0..all.len())
        .filter(|&at| !beaten(at))
        .map(|at| {
            let (asked, plan) = all[at];
            Point { asked, number: plan.number.clone(), figures: plan.figures.clone() }
        })
        .collect();
    curve.sort_by_key(|point| (point.figures.length_taken, point.figures.passes, point.figures.seconds));
    let end = |asked: Asked, least: &dyn Fn(&Figures) -> i128| {
        let plan = &points.iter().find(|point| point.0 == asked)?.1.plan;
        let value = all.iter().map(|(_, plan)| least(&plan.figures)).min()?;
        let bound = plan.bounds.first()?.clone();
        let proved = bound.bound == value.to_string();
        Some(Bound { value: value.to_string(), proved, ..bound })
    };
    let cloth = end(Asked::LeastCloth, &|figures| figures.money.units());
    let passes = end(Asked::FewestPasses, &|figures| figures.passes.into());
    (curve, cloth.into_iter().chain(passes).collect())
}

/// The job without each board that is used, if there are several, and with each that is thought of. `best` is the plan
/// with the boards that there are.
fn with_other_boards(
    job: &Job,
    text: &str,
    best: Option<&Plan>,
    options: &Options,
    listener: &dyn Listener,
) -> Result<Vec<(BoardRow, Option<Made>)>, OptimiseError> {
    let Some(best) = best else { return Ok(Vec::new()) };
    let owned = if job.boards.len() > 1 { job.boards.len() } else { 0 };
    let parts = Parts::new(listener, "boards", owned + job.could_have.len());
    let solve = |at: usize| -> Result<(BoardRow, Option<Made>), OptimiseError> {
        let board = job.boards[..owned].iter().chain(&job.could_have).nth(at);
        let with = if at < owned { "without" } else { "with" };
        let name = board.map(|board| format!("{with} {}", board.name)).unwrap_or_default();
        let listener = &parts.begin(at, name);
        let mut other = job.clone();
        let mut scenario = read(text)?;
        let is_owned = at < owned;
        let board = if is_owned {
            remove(&mut scenario["boards"], at);
            other.boards.remove(at)
        } else {
            let thought_of = job.could_have[at - owned].clone();
            let spec = scenario["could_have"][at - owned].clone();
            scenario["boards"].as_array_mut().into_iter().for_each(|boards| boards.push(spec.clone()));
            remove(&mut scenario["could_have"], at - owned);
            other.boards.push(thought_of.clone());
            other.could_have.remove(at - owned);
            thought_of
        };
        let row = |figures| BoardRow { board: board.name.clone(), owned: is_owned, figures };
        if is_owned && best.figures.passes_by_board.get(at) == Some(&0) {
            return Ok((row(Ok(best.figures.clone())), None));
        }
        let text = written(&scenario)?;
        match plan(&other, &text, options, listener, Care::Compared) {
            // Nobody has to use a board.
            Ok(plan) if !is_owned && values(&plan) >= values(best) => {
                Ok((row(Ok(best.figures.clone())), Some(Made { scenario: text, plan })))
            }
            Ok(plan) => Ok((row(Ok(plan.figures.clone())), Some(Made { scenario: text, plan }))),
            Err(OptimiseError::Internal(what)) => Err(OptimiseError::Internal(what)),
            Err(error) => Ok((row(Err(error.to_string())), None)),
        }
    };
    (0..owned + job.could_have.len()).into_par_iter().map(solve).collect()
}

fn remove(list: &mut serde_json::Value, at: usize) {
    if let Some(list) = list.as_array_mut().filter(|list| at < list.len()) {
        drop(list.remove(at));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stricter_rules_allow_no_more() {
        let of = |loading, plies, ply_limit| Strategy { loading, plies, ply_limit };
        let free = Strategy::default();
        let strict = of(LoadingRule::FabricByFabric, PlyRule::Flat, Some(3));
        assert!(allows(free, strict) && !allows(strict, free));
        assert!(allows(of(LoadingRule::FabricByFabric, PlyRule::Either, None), strict));
        assert!(!allows(of(LoadingRule::BlockByBlock, PlyRule::Either, None), strict));
        assert!(!allows(of(LoadingRule::Mixed, PlyRule::Folded, None), strict));
        assert!(!allows(of(LoadingRule::Mixed, PlyRule::Either, Some(2)), strict));
    }

    #[test]
    fn reasons_say_what_is_worse_first() {
        let said = reason([10, 5, 7, 100, 3], [9, 5, 7, 100, 3]);
        assert_eq!(said, "more cloth, no fewer passes, no less time, no fewer lay-ups");
        let said = reason([9, 5, 8, 100, 3], [9, 5, 7, 100, 3]);
        assert_eq!(said, "more passes, no less cloth, no less time, no fewer lay-ups");
    }
}
