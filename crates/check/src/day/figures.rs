//! The figures of a day, counted again.

use std::collections::{BTreeMap, BTreeSet};

use super::bags::{Wanted, begun};
use super::lots::Sorted;
use super::runs::Resolved;
use super::{Case, open};
use crate::demand::Key;
use crate::fault::{FaultCode, Faults};

/// Judges what needs no schedule; whether no order of the runs has fewer bags open.
pub(super) fn judge(
    case: &Case<'_>,
    bags: &[Wanted],
    there: &BTreeMap<(Key, usize), u64>,
    runs: &[Resolved],
    lots: &Sorted,
    faults: &mut Faults,
) -> bool {
    let found = &case.day.figures;
    let counted: Vec<BTreeSet<usize>> = lots
        .bags_of_run
        .iter()
        .map(|of_run| of_run.iter().copied().filter(|&bag| !bags[bag].for_spares).collect())
        .collect();
    // Bags that were begun before are open from the start.
    let begun = begun(bags, there);
    let with_begun: Vec<BTreeSet<usize>> =
        std::iter::once(begun.clone()).chain(counted.iter().cloned()).collect();
    let most_open = open::most(&with_begun);
    let begun = begun.len() as u64;
    let urgent = counted.iter().rposition(|of_run| of_run.iter().any(|&bag| bags[bag].urgent));
    let urgent_after = urgent.map_or(0, |run| run as u64 + 1);
    let wanted = [
        ("lots", found.lots, case.day.lots.len() as u64),
        ("parts", found.parts, lots.parts),
        ("parts_at_least", found.parts_at_least, lots.parts_at_least()),
        ("sorting_seconds", found.sorting_seconds, lots.parts.saturating_mul(case.hall.sort_part)),
        ("most_open", found.most_open, most_open),
        ("urgent_after", found.urgent_after, urgent_after),
    ];
    for (name, found, wanted) in wanted {
        faults.equal(FaultCode::DayFigure, format!("figures.{name}"), found, wanted);
    }
    if case.day.schedule.is_none() {
        let mut boards: Vec<usize> = runs.iter().map(|run| case.layups[run.layup].board).collect();
        boards.dedup();
        changes(case, boards.len() as u64, faults);
    }
    if let Some(most) = case.hall.most_open.filter(|&most| most_open > most.max(begun)) {
        faults.add(FaultCode::OpenTooMany, "figures.most_open", most_open, format!("at most {most}"));
    }
    let claim = found.open_at_least;
    if claim > most_open || claim > begun && !open::proved(claim, &counted) {
        let least = "what can be shown";
        faults.add(FaultCode::OpenBound, "figures.open_at_least", claim, least);
    }
    claim == most_open
}

/// Judges the number of board changes.
pub(super) fn changes(case: &Case<'_>, wanted: u64, faults: &mut Faults) {
    let found = case.day.figures.board_changes;
    faults.equal(FaultCode::DayFigure, "figures.board_changes", found, wanted);
}
