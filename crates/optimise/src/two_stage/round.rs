//! Whole plans of every fabric from the relaxation's mixture.

use rayon::prelude::*;

use super::mixture::mixture;
use super::slots::passes_of;
use crate::costs::Costs;
use crate::decompose::{self, FineCosts, Loads};
use crate::dive::{self, Diver};
use crate::kinds::Kinds;
use crate::listen::Stop;
use crate::lp::Prices;
use crate::model::Model;
use crate::oracle::{FabricPlan, Oracle, Strip};
use crate::pricing::Column;

/// How far to search.
pub struct Reach<'a> {
    /// Attempts to make a fabric's plan cheaper.
    pub tries: u32,
    /// Seed.
    pub seed: u64,
    /// Hears of whole plans on the way.
    pub told: &'a mut dyn FnMut(&[FabricPlan]),
    /// Asked between attempts.
    pub stop: Stop<'a>,
}

/// Turns in which the fabrics share the attempts: a stop leaves none of them behind, and what loads cost is looked at anew
/// after each.
const TURNS: u32 = 8;
/// Part of what a load costs next that comes from the plans at hand, which are not as even as the relaxation.
const ANEW: f64 = 0.15;

/// A fabric's plan so far, and the strips to choose from.
struct Known {
    plan: FabricPlan,
    strips: Vec<Strip>,
}

/// A whole plan of every fabric near the relaxation's mixture, together cheap.
#[must_use]
pub fn rounded(
    model: &Model,
    kinds: &Kinds,
    costs: (&Costs, &FineCosts),
    prices: &Prices,
    loads: &Loads,
    reach: Reach<'_>,
) -> Option<Vec<FabricPlan>> {
    let mixture = mixture(model, costs.0, prices)?;
    let costs = costs.1;
    let oracles: Vec<_> =
        model.fabrics.iter().zip(&kinds.of).map(|(fabric, kinds)| Oracle::new(fabric, kinds)).collect();
    let begun = |(f, uses): (usize, &Vec<(&Column, f64)>)| {
        let at = decompose::prices(kinds, costs, f, loads);
        let mut diver = Diver::new(&model.fabrics[f], &kinds.of[f], oracles[f].steps(), &at);
        let mut kept = FabricPlan::default();
        for &(column, uses) in uses {
            let strip = strip_of(model, kinds, column);
            let _ = diver.learn(strip.clone());
            #[allow(clippy::cast_possible_truncation, reason = "strips of a plan are few")]
            let whole = (uses + 1e-6).floor() as i64;
            if whole > 0 {
                *kept.strips.entry(strip).or_default() += whole;
            }
        }
        // Every fabric gets its plan: the stop only ends what makes it cheaper.
        let plan = diver.completed(oracles[f].demand(), kept, &|| false)?;
        Some(Known { plan, strips: diver.strips().cloned().collect() })
    };
    let all: Option<Vec<Known>> = mixture.par_iter().enumerate().map(begun).collect();
    let (mut all, mut loads) = (all?, loads.clone());
    let mut best = cost_and_loads(model, kinds, costs, &all)?.0;
    let mut plans: Vec<FabricPlan> = all.iter().map(|known| known.plan.clone()).collect();
    for turn in 0..TURNS {
        let (dives, seed) = (reach.tries / TURNS, reach.seed.wrapping_add(u64::from(turn)));
        let stop = reach.stop;
        let improved = |(f, known): (usize, Known)| {
            let at = decompose::prices(kinds, costs, f, &loads);
            let mut diver = Diver::new(&model.fabrics[f], &kinds.of[f], oracles[f].steps(), &at);
            for strip in known.strips {
                let _ = diver.learn(strip);
            }
            let within = dive::Reach { dives, chains: 1, seed, stop };
            let plan = diver.improved(oracles[f].demand(), known.plan, &within);
            Known { plan, strips: diver.strips().cloned().collect() }
        };
        all = all.into_par_iter().enumerate().map(improved).collect();
        let Some((cost, anew)) = cost_and_loads(model, kinds, costs, &all) else { break };
        if cost < best {
            best = cost;
            plans = all.iter().map(|known| known.plan.clone()).collect();
            (reach.told)(&plans);
        }
        if stop() {
            break;
        }
        loads.groups.iter_mut().zip(anew).for_each(|(load, anew)| *load = mixed(*load, anew));
    }
    Some(plans)
}

/// A price mostly as before.
#[allow(clippy::cast_precision_loss, clippy::cast_possible_truncation, reason = "prices are below 2^53")]
fn mixed(before: i64, anew: f64) -> i64 {
    (before as f64 * (1.0 - ANEW) + anew * ANEW).round() as i64
}

/// What the plans cost with the passes that they share, and what a ply of every group costs more of these, in fine costs.
#[allow(clippy::cast_precision_loss, reason = "costs are below 2^53")]
fn cost_and_loads(model: &Model, kinds: &Kinds, costs: &FineCosts, all: &[Known]) -> Option<(f64, Vec<f64>)> {
    let mut sums = vec![0; kinds.groups.len()];
    let nothing = Loads { groups: vec![0; kinds.groups.len()], ..Loads::default() };
    let mut own = 0;
    for (f, Known { plan, .. }) in all.iter().enumerate() {
        own += plan.cost(&decompose::prices(kinds, costs, f, &nothing));
        let counts = plan.counts(kinds.of[f].len());
        kinds.in_groups(f, &counts).into_iter().for_each(|(group, n)| sums[group] += n);
    }
    let (passes, groups) = passes_of(model, kinds, &sums)?;
    let pass = costs.pass as f64;
    Some((own as f64 + passes * pass, groups.into_iter().map(|group| group * pass).collect()))
}

/// A column with its plies by kind.
fn strip_of(model: &Model, kinds: &Kinds, column: &Column) -> Strip {
    let f = column.fabric;
    let mut plies: Vec<(usize, i64)> = Vec::new();
    for &(ply, n) in &column.plies {
        let kind = kinds.kind_of(f, &model.fabrics[f].plies[ply]);
        plies.extend(kind.map(|kind| (kind, n)));
    }
    plies.sort_unstable();
    plies.dedup_by(|later, earlier| {
        let same = later.0 == earlier.0;
        earlier.1 += if same { later.1 } else { 0 };
        same
    });
    Strip { width: column.width, plies }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::costs::Limits;
    use crate::lp;
    use crate::model::{Board, Class, Fabric, Face, Item, Ply};
    use crate::oracle::Floors;

    /// Rectangles (width, run) of one patch a ply on a board of their own, six plies a pass.
    fn model(wanted: &[u64]) -> Model {
        let sizes = [(3, 7), (4, 9), (5, 11), (7, 6), (8, 13)];
        let items = wanted.iter().map(|&wanted| Item { line: None, wanted }).collect();
        let mut fabric = Fabric { capacity: 41, items, ..Fabric::default() };
        for (item, &size) in sizes.iter().enumerate().take(wanted.len()) {
            let class = fabric.class_of(Class { ways: vec![size] }.ways);
            let yields = vec![(item, 1)];
            fabric.plies.push(Ply { board: Some(0), bay: item, face: Face::Up, class, yields, load: 1 });
        }
        fabric.set_widths();
        let points = (0..wanted.len()).map(|bay| vec![bay]).collect();
        let board = Board::new(6, wanted.len(), points, Vec::new());
        Model { grid: 1, fabrics: vec![fabric], boards: vec![board] }
    }

    /// The rounded plan gives all that is wanted, costs no less than the least that the oracle proves and little more.
    #[test]
    fn rounded_plans_are_whole_and_cheap() {
        let model = model(&[31, 22, 17, 26, 9]);
        let kinds = Kinds::of_model(&model);
        let costs = Costs { width: vec![1], pass: 2, ..Costs::zero(1) };
        let prices = lp::solve(&model, &costs, &Limits::default(), &[]).expect("prices");
        let fine = FineCosts::of(&model, &costs);
        let loads = Loads { groups: vec![0; kinds.groups.len()], ..Loads::default() };
        let reach = Reach { tries: 40, seed: 1, told: &mut |_| (), stop: &|| false };
        let plans = rounded(&model, &kinds, (&costs, &fine), &prices, &loads, reach).expect("plans");
        let counts = plans[0].counts(kinds.of[0].len());
        for (kind, n) in kinds.of[0].iter().zip(counts) {
            let wanted = model.fabrics[0].items[kind.yields[0].0].wanted;
            assert!(u64::try_from(n).expect("plies") >= wanted);
        }
        let at = decompose::prices(&kinds, &fine, 0, &loads);
        let exact = Oracle::new(&model.fabrics[0], &kinds.of[0])
            .cheapest(&at, &Floors::default(), None, &|| false)
            .expect("a plan");
        assert_eq!(exact.value, exact.bound, "proved");
        let value = plans[0].cost(&at);
        assert!(value >= exact.bound && value * 50 <= exact.bound * 51);
    }
}
