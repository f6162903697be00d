//! Divides what is cut among the bags, with few bags at one stack.
//!
//! Patches of one kind are alike, so kind by kind this is a transport of lots to bags. The order of work decides which
//! lots come first and which bags are filled first; parts of lots are to be few. Two ways are tried for every kind:
//! lots and bags both in order, and, bag by bag, first a choice of whole lots that fill the bag exactly (a table of sums
//! over the lots ahead), else in order. No bag waits for a later run because of whole lots than it would in order. A way
//! with fewer parts is taken.

use std::collections::BTreeMap;

use patchlay_scenario::Job;
use patchlay_scenario::job::Group;
use patchlay_scenario::spec::SparesGo;

use crate::lots::{Kind, Yield};
use crate::rest::Rest;

/// Lots looked at ahead for a bag that whole lots fill.
const AHEAD: usize = 40;

/// Who gets what of one kind: bags in the order in which they are filled, and how many patches.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Wants {
    pub(crate) kind: Kind,
    /// (bag, needed, spare).
    pub(crate) bags: Vec<(usize, u64, u64)>,
    /// What each of these bags has already.
    pub(crate) there: Vec<u64>,
}

impl Wants {
    /// What still comes into each bag.
    pub(crate) fn to_come(&self) -> impl Iterator<Item = (usize, u64)> + '_ {
        let bags = self.bags.iter().zip(&self.there);
        bags.map(|(&(bag, needed, spare), &there)| (bag, (needed + spare).saturating_sub(there)))
    }
}

/// A part of a lot that goes to a bag: (index of the lot, bag, patches).
pub(crate) type Part = (usize, usize, u64);

/// What every bag gets of what is cut, kind by kind. Everything that is cut goes somewhere: what no bag needs goes to
/// the bag of spares, which has the number after the last, or is shared out in proportion (largest remainder).
pub(crate) fn wants(job: &Job, group: &Group, lots: &[Yield], rest: Option<&Rest>) -> Vec<Wants> {
    let spares_bag = group.bags.len();
    let mut cut: BTreeMap<Kind, u64> = rest.map(|rest| rest.good.clone()).unwrap_or_default();
    cut.retain(|_, patches| *patches > 0);
    for lot in lots {
        *cut.entry(lot.kind).or_default() += lot.patches;
    }
    let mut order: Vec<usize> = (0..group.bags.len()).collect();
    order.sort_by_key(|&bag| (!group.bags[bag].urgent, bag));
    let mut needs: BTreeMap<Kind, Vec<(usize, u64)>> = BTreeMap::new();
    for bag in order {
        for &(demand, needed) in &group.bags[bag].patches {
            let demand = &job.demands[demand];
            let kind = (demand.fabric, demand.shape, demand.hand);
            needs.entry(kind).or_default().push((bag, needed));
        }
    }
    cut.into_iter()
        .map(|(kind, cut)| {
            let needs = needs.remove(&kind).unwrap_or_default();
            let over = cut.saturating_sub(needs.iter().map(|(_, needed)| needed).sum());
            let urgent = needs.iter().filter(|(bag, _)| group.bags[*bag].urgent).count();
            let bags = shared(&needs, urgent, over, group.spares, spares_bag);
            let there = rest.map_or_else(|| vec![0; bags.len()], |rest| rest.there(group, kind, &bags));
            Wants { kind, bags, there }
        })
        .collect()
}

/// Needs of urgent bags come first, `urgent` of them.
fn shared(
    needs: &[(usize, u64)],
    urgent: usize,
    over: u64,
    spares: SparesGo,
    spares_bag: usize,
) -> Vec<(usize, u64, u64)> {
    if spares == SparesGo::OneBag || needs.is_empty() {
        let mut bags: Vec<_> = needs.iter().map(|&(bag, needed)| (bag, needed, 0)).collect();
        // Spares are laid aside before bags that are not urgent are filled: a bag with some of every kind would else be
        // checked last, when all others are.
        if over > 0 {
            bags.insert(urgent, (spares_bag, 0, over));
        }
        return bags;
    }
    let weights: Vec<i128> = needs.iter().map(|(_, needed)| i128::from(*needed)).collect();
    let shares = patchlay_measure::largest_remainder(&weights, u32::try_from(over).unwrap_or(u32::MAX));
    let each = needs.iter().zip(shares);
    each.map(|(&(bag, needed), spare)| (bag, needed, u64::from(spare))).collect()
}

/// What comes of one kind in one place: (index of the lot, its run, patches).
pub(crate) type Stack = (usize, usize, u64);

/// Divides the lots of a kind, which stand in the order of work, among the bags.
pub(crate) fn divide(lots: &[Stack], want: &Wants) -> Vec<Part> {
    let bags: Vec<(usize, u64)> = want.to_come().collect();
    let plain = in_order(lots, &bags);
    let whole = whole_lots_first(lots, &bags);
    if whole.len() < plain.len() { whole } else { plain }
}

/// Lots and bags both in order.
fn in_order(lots: &[Stack], bags: &[(usize, u64)]) -> Vec<Part> {
    let mut parts = Vec::new();
    let mut bags = bags.iter().copied().filter(|(_, wanted)| *wanted > 0);
    let mut open = bags.next();
    for &(lot, _, mut left) in lots {
        while left > 0 {
            let Some((bag, wanted)) = open else { return parts };
            let given = left.min(wanted);
            parts.push((lot, bag, given));
            left -= given;
            open = if wanted > given { Some((bag, wanted - given)) } else { bags.next() };
        }
    }
    parts
}

/// Bag by bag: whole lots that fill it exactly, earliest first, of the runs that it needs in order; where there are none,
/// lots in order.
fn whole_lots_first(lots: &[Stack], bags: &[(usize, u64)]) -> Vec<Part> {
    let mut left: Vec<Stack> = lots.to_vec();
    let mut parts = Vec::new();
    for &(bag, wanted) in bags.iter().filter(|(_, wanted)| *wanted > 0) {
        if let Some(chosen) = exactly(in_time(&left, wanted), wanted) {
            parts.extend(chosen.iter().map(|&at| (left[at].0, bag, left[at].2)));
            let mut at = 0;
            left.retain(|_| {
                at += 1;
                !chosen.contains(&(at - 1))
            });
            continue;
        }
        let mut wanted = wanted;
        while wanted > 0 && !left.is_empty() {
            let given = left[0].2.min(wanted);
            parts.push((left[0].0, bag, given));
            wanted -= given;
            left[0].2 -= given;
            if left[0].2 == 0 {
                left.remove(0);
            }
        }
    }
    parts
}

/// The lots of the runs after which there are enough.
fn in_time(lots: &[Stack], wanted: u64) -> &[Stack] {
    let mut sum = 0;
    let last = lots.iter().position(|lot| {
        sum += lot.2;
        sum >= wanted
    });
    let Some(last) = last else { return lots };
    let more = lots[last..].iter().take_while(|lot| lot.1 == lots[last].1).count();
    &lots[..last + more]
}

/// Indices of lots that add up to `wanted`, the last of them as early as can be.
fn exactly(lots: &[Stack], wanted: u64) -> Option<Vec<usize>> {
    let size = usize::try_from(wanted).ok().filter(|size| *size <= 100_000)?;
    // For every sum: the lot that first reached it.
    let mut by: Vec<Option<usize>> = vec![None; size + 1];
    let mut reached = vec![0];
    for (at, (.., patches)) in lots.iter().enumerate().take(AHEAD) {
        let Ok(patches) = usize::try_from(*patches) else { continue };
        for from in 0..reached.len() {
            let sum: usize = reached[from] + patches;
            if sum <= size && sum > 0 && by[sum].is_none() {
                by[sum] = Some(at);
                reached.push(sum);
            }
        }
        if by[size].is_some() {
            return Some(back(&by, lots, size));
        }
    }
    None
}

/// The lots that make up a sum. A sum was first reached from one that was reached by an earlier lot, so no lot counts
/// twice.
fn back(by: &[Option<usize>], lots: &[Stack], mut sum: usize) -> Vec<usize> {
    let mut chosen = Vec::new();
    while let Some(at) = by[sum].filter(|_| sum > 0) {
        chosen.push(at);
        sum -= usize::try_from(lots[at].2).unwrap_or(sum);
    }
    chosen
}

/// Bags, without that of spares, that have patches already and get more.
pub(crate) fn begun(wants: &[Wants], spares_bag: usize) -> Vec<usize> {
    let mut has = vec![(false, false); spares_bag + 1];
    for want in wants {
        for ((bag, to_come), there) in want.to_come().zip(&want.there) {
            has[bag].0 |= *there > 0;
            has[bag].1 |= to_come > 0;
        }
    }
    (0..spares_bag).filter(|&bag| has[bag] == (true, true)).collect()
}

/// Parts that there must be at least: for every kind, one for each lot and one for each bag that wants some of it.
pub(crate) fn parts_at_least(lots: &[Yield], wants: &[Wants]) -> u64 {
    let mut of_kind: BTreeMap<Kind, u64> = BTreeMap::new();
    for lot in lots {
        *of_kind.entry(lot.kind).or_default() += 1;
    }
    let bags = |want: &Wants| want.to_come().filter(|(_, wanted)| *wanted > 0).count() as u64;
    wants.iter().map(|want| bags(want).max(of_kind.get(&want.kind).copied().unwrap_or(0))).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn total(parts: &[Part], bag: usize) -> u64 {
        parts.iter().filter(|part| part.1 == bag).map(|part| part.2).sum()
    }

    #[test]
    fn whole_lots_are_found_that_fill_a_bag() {
        // In order the bags cut three stacks; 6 + 4 and 5 + 5 fill them whole.
        let lots = [(0, 0, 6), (1, 0, 5), (2, 0, 4), (3, 0, 5)];
        let bags = [(7, 10), (8, 10)];
        assert_eq!(in_order(&lots, &bags).len(), 5);
        let whole = whole_lots_first(&lots, &bags);
        assert_eq!(whole.len(), 4);
        assert_eq!((total(&whole, 7), total(&whole, 8)), (10, 10));
    }

    #[test]
    fn no_bag_waits_for_whole_lots_of_a_later_run() {
        // 6 + 4 would fill the first bag, but the 4 come from a run after the one that has enough for it.
        let lots = [(0, 0, 6), (1, 0, 5), (2, 1, 4), (3, 1, 5)];
        let bags = [(7, 10), (8, 10)];
        let divided = whole_lots_first(&lots, &bags);
        assert!(divided.iter().all(|part| part.1 != 7 || part.0 < 2), "{divided:?}");
        assert_eq!((total(&divided, 7), total(&divided, 8)), (10, 10));
    }

    #[test]
    fn a_lot_is_never_used_twice_for_one_sum() {
        assert_eq!(exactly(&[(0, 0, 5)], 10), None);
        assert_eq!(exactly(&[(0, 0, 5), (1, 0, 3), (2, 0, 5)], 10), Some(vec![2, 0]));
    }

    #[test]
    fn everything_that_is_cut_goes_somewhere() {
        let parts = in_order(&[(0, 0, 6), (1, 0, 6)], &[(0, 4), (1, 3), (2, 5)]);
        assert_eq!(parts, [(0, 0, 4), (0, 1, 2), (1, 1, 1), (1, 2, 5)]);
    }

    #[test]
    fn spares_go_to_one_bag_or_are_shared_in_proportion() {
        let needs = [(0, 30), (1, 10)];
        assert_eq!(shared(&needs, 1, 6, SparesGo::OneBag, 9), [(0, 30, 0), (9, 0, 6), (1, 10, 0)]);
        // 6 in proportion 3 to 1: 4.5 and 1.5; the earlier of two equal remainders is rounded up.
        assert_eq!(shared(&needs, 0, 6, SparesGo::SharedOut, 9), [(0, 30, 5), (1, 10, 1)]);
    }
}
