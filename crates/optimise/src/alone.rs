//! What cutting together saves: every quilt planned by itself, with its own purchases rounded, against the plan for all.

use std::collections::BTreeMap;

use patchlay_plan::day::{Alone, Saving};
use patchlay_plan::{FigureKind, Figures, Plan, Strategy};
use patchlay_scenario::spec::{Quilt, Scenario};
use rayon::prelude::*;

use crate::listen::{Listener, StopOnly};
use crate::{Care, OptimiseError, Options, in_pool, plan};

/// Plans every quilt alone, quilts of the same blocks and fabrics once. `None` where that says nothing, because there is
/// only one quilt, or where it was stopped. Loose patches belong to no quilt and are left out on both sides: then there
/// is nothing to compare either.
///
/// # Errors
/// Our own faults; a quilt that the whole plan contains can always be planned.
pub fn alone(
    scenario: &Scenario,
    together: &Plan,
    options: &Options,
    listener: &dyn Listener,
) -> Result<Option<Alone>, OptimiseError> {
    let mut kinds: BTreeMap<String, (Quilt, u64)> = BTreeMap::new();
    for quilt in &scenario.quilts {
        let mut bare = quilt.clone();
        (bare.copies, bare.destination, bare.urgent) = (None, None, None);
        "quilt".clone_into(&mut bare.name);
        let key = serde_json::to_string(&bare).unwrap_or_default();
        kinds.entry(key).or_insert((bare, 0)).1 += u64::from(quilt.copies.unwrap_or(1));
    }
    let quilts: u64 = kinds.values().map(|(_, copies)| copies).sum();
    if quilts < 2 || !scenario.loose_patches.is_empty() {
        return Ok(None);
    }
    let quiet = StopOnly(listener);
    let options = Options { effort: 1, ..*options };
    let one = |(quilt, copies): (Quilt, u64)| {
        let figures = figures_of(scenario, quilt, together.strategy, &options, &quiet)?;
        Ok((figures, copies))
    };
    let kinds: Vec<(Quilt, u64)> = kinds.into_values().collect();
    let all: Vec<Result<(Figures, u64), OptimiseError>> =
        in_pool(&options, || Ok(kinds.into_par_iter().map(one).collect()))?;
    if listener.stop() {
        return Ok(None);
    }
    let all: Vec<(Figures, u64)> = all.into_iter().collect::<Result<_, _>>()?;
    let value = |figures: &Figures, figure: FigureKind| match figure {
        FigureKind::Money => figures.money.units(),
        FigureKind::Area => figures.area_taken.units(),
        FigureKind::Passes => i128::from(figures.passes),
        _ => i128::from(figures.seconds),
    };
    let compared = [FigureKind::Money, FigureKind::Area, FigureKind::Passes, FigureKind::Seconds];
    let figures = compared.map(|figure| Saving {
        figure,
        alone: all
            .iter()
            .map(|(figures, copies)| value(figures, figure) * i128::from(*copies))
            .sum::<i128>()
            .to_string(),
        together: value(&together.figures, figure).to_string(),
    });
    Ok(Some(Alone { quilts, figures: figures.into() }))
}

fn figures_of(
    scenario: &Scenario,
    quilt: Quilt,
    strategy: Strategy,
    options: &Options,
    listener: &dyn Listener,
) -> Result<Figures, OptimiseError> {
    let fault =
        |what: String| OptimiseError::Internal(format!("a quilt by itself cannot be planned: {what}"));
    let mut single = scenario.clone();
    single.quilts = vec![quilt];
    single.proof_block = None;
    if let Some(group) = &mut single.group {
        // Bags and helpers do not matter here; whose cutters and whose gifts does.
        group.bags.by = patchlay_scenario::spec::BagsBy::Quilt;
        group.bags.most_open = None;
        group.helpers.clear();
    }
    let text = serde_json::to_string(&single).map_err(|error| fault(error.to_string()))?;
    let (_, job) = patchlay_scenario::load(&text).map_err(|error| fault(error.to_string()))?;
    plan(&job.under(strategy), &text, options, listener, Care::Quick).map(|plan| plan.figures)
}
