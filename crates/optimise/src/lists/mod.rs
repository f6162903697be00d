//! The end of a proof: where a bound leaves little room below the best value known, every fabric has few whole plans
//! that a better solution can have. They are all listed, and better solutions are looked for among the lists (as routes
//! are by Baldacci, Christofides and Mingozzi, Mathematical Programming 115 (2008) 351-385). Where there is none, the
//! best value is proved. Everything here is whole numbers.
//!
//! A solution of a region costs what its plans cost at the prices of the decomposition and more; so a plan that is above
//! its fabric's least by more than the room between bound and best value is in no better solution. Of two plans that
//! are near enough, one that costs no more and loads no set of points more can take the place of the other; passes then
//! follow from the loads of sets of points (`gauges`), which are at least those of the boards.

mod choose;
mod gauges;

use rayon::prelude::*;

use crate::costs::{Range, Region};
use crate::decompose::{self, Decomposed, FineCosts};
use crate::kinds::{Kind, Kinds};
use crate::listen::Stop;
use crate::model::Model;
use crate::oracle::near::{Near, Question};
use crate::oracle::{FabricPlan, Oracle};
use choose::Choice;

/// What the lists say of the solutions of a region.
#[derive(Debug)]
pub enum Found {
    /// None costs as little as asked for.
    Nothing,
    /// Plans of every fabric of those that may cost as little.
    Plans(Vec<Vec<FabricPlan>>),
    /// There is too much to look at.
    Unknown,
}

/// What is asked about.
#[derive(Clone, Copy)]
pub struct Given<'a> {
    /// The model.
    pub model: &'a Model,
    /// Its plies by kind.
    pub kinds: &'a Kinds,
    /// Costs.
    pub costs: &'a FineCosts,
    /// Of every fabric.
    pub oracles: &'a [Oracle<'a>],
    /// Most comparisons for every fabric.
    pub steps: u64,
}

/// Solutions of a region that cost at most so much (fine costs), by what the decomposition found there. Only regions that
/// passes alone tell apart are looked at. A stop counts as too much.
#[must_use]
pub fn look(given: Given<'_>, region: &Region, found: &Decomposed, most: i64, stop: Stop<'_>) -> Found {
    let by_passes = region.plies.is_empty() && region.cloth.iter().all(|range| *range == Range::default());
    if !by_passes || found.answers.len() != given.oracles.len() {
        return Found::Unknown;
    }
    let bounds: Vec<i64> = found.answers.iter().map(|answer| answer.bound).collect();
    let rest = decompose::rest(given.costs, region, &found.loads, &found.points);
    let room = most.saturating_sub(bounds.iter().sum::<i64>().saturating_add(rest));
    if room < 0 {
        return Found::Nothing;
    }
    let gauges = gauges::of(given.model, given.kinds);
    let measured = |kind: &Kind| -> Vec<i64> {
        gauges.iter().map(|gauge| kind.group.map_or(0, |group| gauge.loads[group])).collect()
    };
    let list = |(f, oracle): (usize, &Oracle<'_>)| {
        let measures: Vec<Vec<i64>> = given.kinds.of[f].iter().map(measured).collect();
        let asked = Question {
            prices: &decompose::prices(given.kinds, given.costs, f, &found.loads),
            own: &decompose::own_prices(given.kinds, given.costs, f),
            measures: &measures,
            measured: gauges.len(),
            most: found.answers[f].bound.saturating_add(room),
            steps: given.steps,
        };
        if stop() { None } else { oracle.near(&asked, &found.answers[f]) }
    };
    let lists: Option<Vec<Vec<Near>>> = given.oracles.par_iter().enumerate().map(list).collect();
    let Some(lists) = lists else { return Found::Unknown };
    let pass = given.costs.pass;
    let choice = Choice { gauges: &gauges, region, pass, lists: &lists, bounds: &bounds, room, most };
    match choice.all() {
        Some(choices) if choices.is_empty() => Found::Nothing,
        Some(choices) => Found::Plans(plans(&lists, &choices)),
        None => Found::Unknown,
    }
}

/// The plans of every fabric that are in some choice, which says the place of one in each list.
fn plans(lists: &[Vec<Near>], choices: &[Vec<usize>]) -> Vec<Vec<FabricPlan>> {
    let of = |(f, list): (usize, &Vec<Near>)| {
        let mut places: Vec<usize> = choices.iter().map(|choice| choice[f]).collect();
        places.sort_unstable();
        places.dedup();
        places.into_iter().map(|at| list[at].plan.clone()).collect()
    };
    lists.iter().enumerate().map(of).collect()
}

#[cfg(test)]
mod tests;
