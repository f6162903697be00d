//! Which areas are not loaded in one pass, and why.

use std::collections::BTreeMap;

use super::margins::Margins;
use super::{Steps, TooComplex};
use crate::job::{Bay, BayId};

/// Most pairs of one board.
const MOST_PAIRS: usize = 300_000;

/// An area and every area of a box that it faces at less than twice the least margin.
pub(super) fn pairs(
    bays: &[Bay],
    margins: &[Margins],
    steps: Steps,
) -> Result<Vec<(BayId, BayId, String)>, TooComplex> {
    let positions = bays.iter().flat_map(|bay| bay.positions.iter()).max().map_or(0, |last| last + 1);
    let mut bays_of: Vec<Vec<BayId>> = vec![Vec::new(); positions];
    for (id, bay) in bays.iter().enumerate() {
        bay.positions.iter().for_each(|position| bays_of[*position].push(id));
    }
    let mut pairs: BTreeMap<(BayId, BayId), String> = BTreeMap::new();
    for (id, margins) in margins.iter().enumerate() {
        for (position, gap) in &margins.facing {
            let left = steps.margin.min(gap.half_floor());
            if left >= steps.least_margin {
                continue;
            }
            let reason = format!(
                "position {} is {} away, which leaves a margin of {} where {} is the least",
                position + 1,
                gap.show(steps.units),
                left.show(steps.units),
                steps.least_margin.show(steps.units)
            );
            for other in &bays_of[*position] {
                let pair = (id.min(*other), id.max(*other));
                pairs.entry(pair).or_insert_with(|| reason.clone());
            }
            if pairs.len() > MOST_PAIRS {
                return Err(TooComplex);
            }
        }
    }
    Ok(pairs.into_iter().map(|((low, high), reason)| (low, high, reason)).collect())
}
