//! Lots: what every pass yields at every position, in the order of work, and the bags that it goes to.

use std::collections::{BTreeMap, BTreeSet};

use patchlay_plan::day::Lot;

use super::bags::Wanted;
use super::runs::Resolved;
use super::{Case, hand_number, kind_name, yields};
use crate::demand::Key;
use crate::fault::{FaultCode, Faults};

/// What the lots come to.
#[derive(Debug, Default)]
pub(super) struct Sorted {
    /// Patches in all.
    pub(super) patches: u64,
    /// Parts in all.
    pub(super) parts: u64,
    /// Parts by run.
    pub(super) parts_of_run: Vec<u64>,
    /// Bags that a run cuts for, by run; the bag of spares included.
    pub(super) bags_of_run: Vec<BTreeSet<usize>>,
    /// Lots by kind.
    pub(super) lots_of_kind: BTreeMap<Key, u64>,
    /// Patches by kind and bag.
    got: BTreeMap<(Key, usize), u64>,
}

impl Sorted {
    /// Parts that there must be at least.
    pub(super) fn parts_at_least(&self) -> u64 {
        let bags = |kind: Key| self.got.range((kind, 0)..=(kind, usize::MAX)).count() as u64;
        self.lots_of_kind.iter().map(|(&kind, &lots)| lots.max(bags(kind))).sum()
    }
}

/// Judges all lots; none if they are not those that there must be.
pub(super) fn judge(
    case: &Case<'_>,
    bags: &[Wanted],
    there: &BTreeMap<(Key, usize), u64>,
    runs: &[Resolved],
    faults: &mut Faults,
) -> Option<Sorted> {
    let each: Vec<_> = case.layups.iter().map(|layup| yields::of_pass(case.facts, layup)).collect();
    let mut found = case.day.lots.iter();
    let mut sorted = Sorted::default();
    let mut well = true;
    for run in runs {
        sorted.parts_of_run.push(0);
        sorted.bags_of_run.push(BTreeSet::new());
        for pass in run.first..run.first.saturating_add(run.passes) {
            for (&(position, kind), &patches) in &each[run.layup] {
                let wanted = Place { case, layup: run.layup, pass, position, kind };
                match found.next() {
                    Some(lot) if wanted.is(lot) => {
                        well &= parts(lot, &wanted, patches, &mut sorted, bags, faults)
                    }
                    other => {
                        let found = other.map_or_else(|| "no lot".to_owned(), name);
                        faults.add(FaultCode::LotList, wanted.name(), found, "this lot");
                        return None;
                    }
                }
            }
        }
    }
    if let Some(lot) = found.next() {
        faults.add(FaultCode::LotList, "lots", name(lot), "no further lot");
        return None;
    }
    (well && sums(case, bags, there, &sorted, faults)).then_some(sorted)
}

/// Where a lot must come from.
struct Place<'a> {
    case: &'a Case<'a>,
    layup: usize,
    pass: u64,
    position: usize,
    kind: Key,
}

impl Place<'_> {
    fn is(&self, lot: &Lot) -> bool {
        let (fabric, shape, hand) = self.kind;
        let facts = self.case.facts;
        lot.layup == self.case.layups[self.layup].plan.name
            && (lot.pass, lot.position) == (self.pass, self.position)
            && lot.fabric == facts.fabrics[fabric].name
            && lot.shape == facts.shapes[shape].name
            && hand_number(lot.hand) == hand
    }

    fn name(&self) -> String {
        let layup = &self.case.layups[self.layup].plan.name;
        let kind = kind_name(self.case.facts, self.kind);
        format!("lot of {layup}, pass {}, position {}, {kind}", self.pass, self.position + 1)
    }
}

fn name(lot: &Lot) -> String {
    let position = lot.position.saturating_add(1);
    format!("{}, pass {}, position {position}, {} {}", lot.layup, lot.pass, lot.fabric, lot.shape)
}

fn parts(
    lot: &Lot,
    place: &Place<'_>,
    patches: u64,
    sorted: &mut Sorted,
    bags: &[Wanted],
    faults: &mut Faults,
) -> bool {
    let run = sorted.parts_of_run.len() - 1;
    let mut own = BTreeSet::new();
    let mut sum = Some(0_u64);
    for part in &lot.to {
        if !(1..=bags.len()).contains(&part.bag) || part.patches == 0 || !own.insert(part.bag - 1) {
            let found = format!("{} to bag {}", part.patches, part.bag);
            faults.add(FaultCode::LotParts, place.name(), found, "patches to each bag once");
            return false;
        }
        sum = sum.and_then(|sum| sum.checked_add(part.patches));
    }
    if sum != Some(patches) {
        let found = sum.map_or_else(|| "too many".to_owned(), |sum| sum.to_string());
        faults.add(FaultCode::LotParts, place.name(), found, patches);
        return false;
    }
    for part in &lot.to {
        let got = sorted.got.entry((place.kind, part.bag - 1)).or_default();
        *got = got.saturating_add(part.patches);
    }
    sorted.patches = sorted.patches.saturating_add(patches);
    sorted.parts += lot.to.len() as u64;
    sorted.parts_of_run[run] += lot.to.len() as u64;
    sorted.bags_of_run[run].extend(own);
    *sorted.lots_of_kind.entry(place.kind).or_default() += 1;
    true
}

/// Whether every bag gets its list.
fn sums(
    case: &Case<'_>,
    bags: &[Wanted],
    there: &BTreeMap<(Key, usize), u64>,
    sorted: &Sorted,
    faults: &mut Faults,
) -> bool {
    let to_come = |kind: Key, bag: usize, line: (u64, u64)| {
        let there = there.get(&(kind, bag)).copied().unwrap_or(0);
        ((kind, bag), line.0.saturating_add(line.1).saturating_sub(there))
    };
    let lists = bags
        .iter()
        .enumerate()
        .flat_map(|(bag, wanted)| wanted.lines.iter().map(move |(&kind, &line)| to_come(kind, bag, line)));
    let lists: BTreeMap<(Key, usize), u64> = lists.filter(|(_, patches)| *patches > 0).collect();
    for at in lists.keys().chain(sorted.got.keys()).collect::<BTreeSet<_>>() {
        let of = |list: &BTreeMap<(Key, usize), u64>| list.get(at).copied().unwrap_or(0);
        let place = format!("bag {}, {}", at.1 + 1, kind_name(case.facts, at.0));
        faults.equal(FaultCode::LotSums, place, of(&sorted.got), of(&lists));
    }
    lists == sorted.got
}
