//! Whole plans of every fabric from the relaxation's mixture.

use rayon::prelude::*;

use super::mixture::mixture;
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
    /// Asked between attempts.
    pub stop: Stop<'a>,
}

/// Turns in which the fabrics share the attempts, so that a stop leaves none of them behind.
const TURNS: u32 = 4;

/// A whole plan of every fabric near the relaxation's mixture, cheap at the prices of load.
#[must_use]
pub fn rounded(
    model: &Model,
    kinds: &Kinds,
    costs: (&Costs, &FineCosts),
    prices: &Prices,
    loads: &Loads,
    reach: &Reach<'_>,
) -> Option<Vec<FabricPlan>> {
    let mixture = mixture(model, costs.0, prices)?;
    let at: Vec<_> = (0..mixture.len()).map(|f| decompose::prices(kinds, costs.1, f, loads)).collect();
    let oracles: Vec<_> =
        model.fabrics.iter().zip(&kinds.of).map(|(fabric, kinds)| Oracle::new(fabric, kinds)).collect();
    let begun = |(f, uses): (usize, &Vec<(&Column, f64)>)| {
        let mut diver = Diver::new(&model.fabrics[f], &kinds.of[f], oracles[f].steps(), &at[f]);
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
        Some((diver, plan))
    };
    let all: Option<Vec<_>> = mixture.par_iter().enumerate().map(begun).collect();
    let mut all = all?;
    for turn in 0..TURNS {
        let (dives, seed) = (reach.tries / TURNS, reach.seed.wrapping_add(u64::from(turn)));
        all.par_iter_mut().enumerate().for_each(|(f, (diver, plan))| {
            let within = dive::Reach { dives, chains: 1, seed, stop: reach.stop };
            *plan = diver.improved(oracles[f].demand(), std::mem::take(plan), &within);
        });
    }
    Some(all.into_iter().map(|(_, plan)| plan).collect())
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
        let reach = Reach { tries: 40, seed: 1, stop: &|| false };
        let plans = rounded(&model, &kinds, (&costs, &fine), &prices, &loads, &reach).expect("plans");
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
