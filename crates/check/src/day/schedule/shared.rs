//! What is shared in the hall: irons, rulers, tables, mats, and trays that wait.

use std::collections::BTreeMap;

use patchlay_plan::day::Work;

use super::jobs::Jobs;
use super::{Input, Timed};
use crate::day::Case;
use crate::fault::{FaultCode, Faults};

/// Kinds of work that use an iron, a ruler or a place at a table.
pub(super) const USES: [(&str, &[Work]); 3] = [
    ("irons", &[Work::Press]),
    ("rulers", &[Work::Strips, Work::Fold]),
    ("tables", &[Work::Strips, Work::Fold, Work::LiftOut, Work::CheckBags]),
];

/// How many there are of each, in the order of [`USES`].
pub(super) fn owned(case: &Case<'_>) -> [u64; 3] {
    [case.hall.irons, case.hall.rulers, case.hall.tables]
}

/// Mats of every kind that a lay-up uses, by lay-up and in the order of the scenario.
pub(super) fn mats_of(case: &Case<'_>) -> Vec<Vec<u64>> {
    let kinds = &case.facts.cutter.mats;
    let of = |name: &str, layup: &crate::supply::Loaded<'_>| {
        layup.plan.mats.iter().filter(|mat| mat.mat == name).count() as u64
    };
    case.layups.iter().map(|layup| kinds.iter().map(|kind| of(&kind.name, layup)).collect()).collect()
}

/// Most in use at any time; what ends in the second in which another starts is free for it.
pub(super) fn most_at_once(uses: impl Iterator<Item = (u64, u64, u64)>) -> u64 {
    let mut change: BTreeMap<u64, (u64, u64)> = BTreeMap::new();
    for (start, end, count) in uses.filter(|(start, end, _)| start < end) {
        let more = &mut change.entry(start).or_default().0;
        *more = more.saturating_add(count);
        let less = &mut change.entry(end).or_default().1;
        *less = less.saturating_add(count);
    }
    let mut now = 0_u64;
    change.into_values().fold(0, |most, (more, less)| {
        now = now.saturating_sub(less).saturating_add(more);
        most.max(now)
    })
}

/// Most trays that wait at any time at which one waits that was filled on the day (`true`): those that are ready when the rest
/// of a day begins wait however many they are, but no other beside them where they are enough.
fn most_with_another(trays: Vec<(u64, u64, bool)>) -> u64 {
    let mut change: BTreeMap<u64, (i64, i64)> = BTreeMap::new();
    for (start, end, filled) in trays.into_iter().filter(|(start, end, _)| start < end) {
        for (second, by) in [(start, 1), (end, -1)] {
            let (all, own) = change.entry(second).or_default();
            *all += by;
            *own += by * i64::from(filled);
        }
    }
    let (mut all, mut own, mut most) = (0, 0, 0);
    for (more, more_own) in change.into_values() {
        all += more;
        own += more_own;
        if own > 0 {
            most = most.max(all);
        }
    }
    u64::try_from(most).unwrap_or(0)
}

/// Judges everything shared.
pub(super) fn judge(case: &Case<'_>, input: &Input<'_>, jobs: &Jobs, found: &[Timed], faults: &mut Faults) {
    let mut at_most = |code: FaultCode, what: &str, found: u64, owned: u64| {
        if found > owned {
            faults.add(code, format!("{what} at a time"), found, format!("at most {owned}"));
        }
    };
    for ((what, works), owned) in USES.into_iter().zip(owned(case)) {
        let users = jobs.all.iter().zip(found).filter(|(job, _)| works.contains(&job.work));
        let most = most_at_once(users.map(|(_, timed)| (timed.start, timed.end, 1)));
        at_most(FaultCode::SharedThings, what, most, owned);
    }
    let cranks: Vec<Timed> = jobs.cranks().map(|job| found[job]).collect();
    let mats = mats_of(case);
    for (at, kind) in case.facts.cutter.mats.iter().enumerate() {
        let uses = cranks.iter().zip(input.runs).map(|(timed, run)| (timed, mats[run.layup][at]));
        let most = most_at_once(uses.map(|(timed, count)| (timed.start, timed.end, count)));
        at_most(FaultCode::SharedThings, &kind.name, most, kind.owned.into());
    }
    let waiting = jobs.cranks().map(|crank| {
        let filled = jobs.all[crank].before.iter().map(|&fold| found[fold].end).max();
        (filled.unwrap_or(0), found[crank].start, filled.is_some())
    });
    let most = most_with_another(waiting.collect());
    at_most(FaultCode::TraysAhead, "trays that wait", most, case.hall.trays_ahead);
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn an_end_and_a_start_in_the_same_second_do_not_meet() {
        let most = |uses: &[(u64, u64, u64)]| most_at_once(uses.iter().copied());
        assert_eq!(most(&[]), 0);
        assert_eq!(most(&[(0, 10, 1), (10, 20, 1)]), 1);
        assert_eq!(most(&[(0, 10, 1), (9, 20, 2)]), 3);
        assert_eq!(most(&[(5, 5, 9), (0, u64::MAX, u64::MAX), (1, 2, 1)]), u64::MAX);
    }

    #[test]
    fn trays_that_are_ready_are_never_too_many_by_themselves() {
        let ready = [(0, 10, false), (0, 20, false), (0, 30, false)];
        let most = |filled: &[(u64, u64, bool)]| most_with_another([&ready[..], filled].concat());
        assert_eq!(most(&[]), 0);
        assert_eq!(most(&[(5, 6, true)]), 4);
        assert_eq!(most(&[(10, 12, true), (20, 21, true)]), 3);
        assert_eq!(most(&[(20, 29, true), (15, 15, true)]), 2);
        assert_eq!(most(&[(30, 40, true)]), 1);
    }

    proptest! {
        #[test]
        fn the_most_in_use_is_that_of_the_busiest_second(
            uses in prop::collection::vec((0..30_u64, 0..30_u64, 0..3_u64), 0..12)
        ) {
            let at = |second: u64| {
                let now = uses.iter().filter(|(start, end, _)| (*start..*end).contains(&second));
                now.map(|(_, _, count)| count).sum::<u64>()
            };
            prop_assert_eq!(most_at_once(uses.iter().copied()), (0..30).map(at).max().unwrap_or(0));
        }
    }
}
