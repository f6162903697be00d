//! Batches: every strip once, of one fabric, at most five.

use std::collections::BTreeMap;

use super::Case;
use crate::fault::{FaultCode, Faults};

/// Strips between two squarings.
const SQUARED_EVERY: usize = 5;

/// A batch with what it takes.
#[derive(Clone, Copy, Debug)]
pub(super) struct Resolved {
    pub(super) strips: u64,
    /// How often the fabric is squared for it.
    pub(super) squarings: u64,
    /// The batch of this fabric before it.
    pub(super) after: Option<usize>,
}

/// All batches.
#[derive(Debug)]
pub(super) struct Batches<'a> {
    pub(super) all: Vec<Resolved>,
    /// The batch of every strip.
    pub(super) of_strip: BTreeMap<&'a str, usize>,
}

/// Judges the batches; none if they are not all strips.
pub(super) fn judge<'a>(case: &Case<'a>, faults: &mut Faults) -> Option<Batches<'a>> {
    let of_strip = strips(case, faults)?;
    let mut cut: BTreeMap<&str, (usize, Option<usize>)> = BTreeMap::new();
    let mut all = Vec::new();
    for (at, batch) in case.day.batches.iter().enumerate() {
        let place = format!("batch {}", at + 1);
        let (count, (before, after)) = (batch.strips.len(), cut.entry(&batch.fabric).or_default());
        if count > SQUARED_EVERY {
            faults.add(FaultCode::BatchTooLong, place, count, "at most 5");
        }
        // Squared before the first strip of the fabric, the sixth, and so on.
        let squarings = (*before..*before + count).filter(|strip| strip % SQUARED_EVERY == 0).count() as u64;
        all.push(Resolved { strips: count as u64, squarings, after: *after });
        (*before, *after) = (*before + count, Some(at));
    }
    Some(Batches { all, of_strip })
}

/// The batch of every strip; none if some are in none, in two, in an empty one or in one of another fabric.
fn strips<'a>(case: &Case<'a>, faults: &mut Faults) -> Option<BTreeMap<&'a str, usize>> {
    let known = case.plan.fabrics.iter().flat_map(|fabric| {
        fabric.strips.iter().map(move |strip| (strip.name.as_str(), fabric.fabric.as_str()))
    });
    let to_cut = |strip: &str| case.rest.is_none_or(|rest| rest.strips.contains(strip));
    let known: BTreeMap<&str, &str> = known.filter(|(strip, _)| to_cut(strip)).collect();
    let mut of_strip = BTreeMap::new();
    let mut well = true;
    let mut refuse = |place: String, found: &str, expected: &str| {
        faults.add(FaultCode::BatchStrips, place, found, expected);
        well = false;
    };
    for (at, batch) in case.day.batches.iter().enumerate() {
        let place = || format!("batch {}", at + 1);
        if batch.strips.is_empty() {
            refuse(place(), "no strips", "at least one");
        }
        for strip in &batch.strips {
            let own = known.get(strip.as_str()) == Some(&batch.fabric.as_str());
            if !own || of_strip.insert(strip.as_str(), at).is_some() {
                refuse(place(), strip, "each strip of this fabric once");
            }
        }
    }
    for strip in known.keys().filter(|strip| !of_strip.contains_key(**strip)) {
        refuse(format!("strip {strip}"), "in no batch", "in one");
    }
    well.then_some(of_strip)
}
