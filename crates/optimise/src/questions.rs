//! What each figure of an aim's order costs, as `patchlay_plan::proof` tabulates it.

use patchlay_measure::{Amount, Length, Money};
use patchlay_plan::FigureKind;
use patchlay_scenario::PlyRule;
use patchlay_scenario::job::{Aim, Job};

use crate::costs::{Costs, gcd};
use crate::listen::Progress;
use crate::model::{Model, num_lcm};
use crate::solution::Solution;

/// The figures of an aim, in its order.
#[must_use]
pub fn order(aim: &Aim) -> Vec<FigureKind> {
    use FigureKind::{Area, Cost, Money, Passes, Seconds, Weighted};
    match aim {
        Aim::LeastCloth => vec![Money, Area, Passes, Seconds],
        Aim::FewestPasses => vec![Passes, Money, Area, Seconds],
        Aim::LeastTime => vec![Seconds, Money],
        Aim::LeastCost { .. } => vec![Cost],
        Aim::Weighted { .. } => vec![Weighted],
    }
}

/// Whether a plan must cut strips of a fabric.
#[must_use]
pub fn is_wanted(job: &Job, f: usize) -> bool {
    job.demands.iter().any(|demand| demand.fabric == f && demand.total() > 0)
}

/// Price of one length unit, shrinkage included, rounded down to whole units of money: (with prices) the price,
/// (without) the stated width, over 1 - p.
fn money_per_unit(job: &Job, f: usize, times: i64) -> i128 {
    let fabric = &job.fabrics[f];
    let plain = match fabric.price {
        Some(price) => (price * Length::from_units(times)).units(),
        None => (Length::from_units(times) * fabric.stated_width).units(),
    };
    plain * 10_000 / (10_000 - i128::from(fabric.shrinkage.hundredths()))
}

/// The worth of a second in units of money.
#[must_use]
pub fn second_is_worth(aim: &Aim) -> i128 {
    match aim {
        Aim::LeastCost { hour } => Money::from_hourly(Amount::from_ten_thousandths(*hour), 1).units(),
        _ => 0,
    }
}

/// Seconds per ply, as a fraction.
fn ply_seconds(job: &Job, f: usize) -> (i64, i64) {
    let times = &job.cutter.times;
    let fabric = &job.fabrics[f];
    let most = job.boards.iter().map(|board| board.ply_limit.min(fabric.ply_limit)).max().unwrap_or(1).max(1);
    let flat = i64::from(times.cross_cut) + i64::from(times.place);
    let folded = i64::from(times.cross_cut) + i64::from(times.fold);
    let may_fold = fabric.folding && job.strategy.plies != PlyRule::Flat;
    if may_fold && most >= 2 && folded < flat * i64::from(most) {
        (folded, i64::from(most))
    } else {
        (flat, 1)
    }
}

/// Costs of a figure.
#[must_use]
pub fn costs(job: &Job, model: &Model, figure: FigureKind) -> Costs {
    let fabrics = 0..job.fabrics.len();
    let mut costs = Costs::zero(job.fabrics.len());
    match figure {
        FigureKind::Passes => costs.pass = 1,
        FigureKind::Weighted => {
            costs.width = vec![i128::from(model.grid); job.fabrics.len()];
            if let Aim::Weighted { pass } = job.aim {
                costs.pass = i128::from(pass.units());
            }
        }
        FigureKind::Area => {
            let area = |f: usize| (job.fabrics[f].width * Length::from_units(model.grid)).units();
            costs.width = fabrics.map(area).collect();
        }
        FigureKind::Money => costs.width = fabrics.map(|f| money_per_unit(job, f, model.grid)).collect(),
        FigureKind::Seconds => seconds(job, &mut costs),
        FigureKind::Cost => {
            seconds(job, &mut costs);
            let worth = second_is_worth(&job.aim);
            let unit = costs.unit;
            costs.unit = 1;
            costs.strip = costs.strip / unit * worth;
            costs.pass = costs.pass / unit * worth;
            costs.ply.iter_mut().for_each(|ply| *ply = *ply * worth / unit);
            costs.width = fabrics.map(|f| money_per_unit(job, f, model.grid)).collect();
        }
    }
    costs
}

fn seconds(job: &Job, costs: &mut Costs) {
    let times = &job.cutter.times;
    let plies: Vec<(i64, i64)> = (0..job.fabrics.len()).map(|f| ply_seconds(job, f)).collect();
    let unit = plies.iter().fold(1, |unit, ply| num_lcm(unit, ply.1));
    costs.unit = i128::from(unit);
    costs.strip = i128::from(times.cut_strip + times.press_strip) * costs.unit;
    costs.pass = i128::from(times.crank + times.turn_mat + times.lift_out + times.count) * costs.unit;
    costs.ply = plies.iter().map(|&(n, d)| i128::from(n * (unit / d))).collect();
}

/// The constant of a figure over all fabrics, in its own unit.
#[must_use]
pub fn constant(job: &Job, figure: FigureKind) -> i128 {
    let ahead = |f: usize| {
        let fabric = &job.fabrics[f];
        let squaring = if is_wanted(job, f) { fabric.squaring } else { Length::from_units(0) };
        fabric.kept_back_total() + squaring
    };
    let fabrics = 0..job.fabrics.len();
    let anything = fabrics.clone().any(|f| is_wanted(job, f));
    let seconds = || {
        let squared = fabrics.clone().filter(|&f| is_wanted(job, f)).count();
        i128::from(job.cutter.times.square) * i128::try_from(squared).unwrap_or(0)
            + if anything { i128::from(job.cutter.times.change_board) } else { 0 }
    };
    let money = || fabrics.clone().map(|f| money_per_unit(job, f, ahead(f).units())).sum::<i128>();
    match figure {
        FigureKind::Passes => 0,
        FigureKind::Weighted => fabrics.map(|f| i128::from(ahead(f).units())).sum(),
        FigureKind::Area => fabrics.map(|f| (job.fabrics[f].width * ahead(f)).units()).sum(),
        FigureKind::Money => money(),
        FigureKind::Seconds => seconds(),
        FigureKind::Cost => money() + second_is_worth(&job.aim) * seconds(),
    }
}

/// What a solution of the search, with its bound, comes to in the figure's own unit, for people to watch: selling steps
/// are rounded up, lay-ups are not made yet. `laid` passes are made beside those of the solution.
#[must_use]
#[allow(clippy::cast_possible_truncation, clippy::cast_precision_loss, reason = "only for people to watch")]
pub fn so_far(
    job: &Job,
    model: &Model,
    figure: FigureKind,
    (at, laid): (&Solution, i64),
    bound: f64,
) -> Progress {
    let taken = |f: usize| {
        let (width, strips) = at.strips_of(f);
        job.fabrics[f].taken(usize::try_from(strips).unwrap_or(0), model.length(width))
    };
    let cloth = |of: &dyn Fn(usize) -> i128| (0..job.fabrics.len()).map(of).sum::<i128>();
    let money = || cloth(&|f| job.fabrics[f].money(job.fabrics[f].bought(taken(f))).units());
    let own = costs(job, model, figure);
    let beside = |costs: &Costs| costs.pass * i128::from(laid) / costs.unit;
    let plain = |costs: &Costs| at.cost(costs) / costs.unit + beside(costs);
    let value = match figure {
        FigureKind::Money => money(),
        FigureKind::Area => cloth(&|f| (taken(f) * job.fabrics[f].width).units()),
        FigureKind::Passes => plain(&own),
        FigureKind::Weighted => {
            let around = |f: usize| taken(f) - model.length(at.strips_of(f).0);
            plain(&own) + cloth(&|f| i128::from(around(f).units()))
        }
        FigureKind::Seconds => plain(&own) + constant(job, figure),
        FigureKind::Cost => {
            let time = plain(&costs(job, model, FigureKind::Seconds)) + constant(job, FigureKind::Seconds);
            money() + second_is_worth(&job.aim) * time
        }
    };
    // A gift's search has costs of its own, and passes weigh up to a step of cloth in a search for the least money.
    let cheapest = own.width.iter().min().copied().unwrap_or(0);
    let least = match figure {
        FigureKind::Money if cheapest == 0 => None,
        FigureKind::Money => Some(bound - cheapest as f64),
        _ => Some(bound),
    };
    let around = constant(job, figure) + beside(&own);
    let whole = |least: f64| ((least - 1e-6).ceil() as i128 + around).min(value);
    let bound = least.filter(|least| least.is_finite()).map(|least| whole(least).to_string());
    Progress::Value { figure, value: value.to_string(), bound }
}

/// The step to which what varies is rounded up.
#[must_use]
pub fn step(job: &Job, figure: FigureKind) -> i128 {
    let wanted = || (0..job.fabrics.len()).filter(|&f| is_wanted(job, f));
    let ruler = i128::from(job.ruler_step.units());
    let again = |f: usize| i128::from(job.fabrics[f].resquaring.units());
    let step = match figure {
        FigureKind::Weighted => {
            let pass = if let Aim::Weighted { pass } = job.aim { i128::from(pass.units()) } else { 0 };
            wanted().map(again).fold(gcd(ruler, pass), gcd)
        }
        FigureKind::Area => {
            wanted().map(|f| gcd(ruler, again(f)) * i128::from(job.fabrics[f].width.units())).fold(0, gcd)
        }
        _ => 1,
    };
    step.max(1)
}
