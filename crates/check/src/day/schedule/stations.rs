//! Stations: which there are, what they take, one run at a time, and every change of the board.

use std::collections::{BTreeMap, BTreeSet};

use patchlay_plan::day::{At, On, Schedule, Work};

use super::jobs::{Jobs, place};
use super::shared::most_at_once;
use super::{Input, Timed};
use crate::day::Case;
use crate::day::hall::Class;
use crate::fault::{FaultCode, Faults};
use crate::supply::Loaded;
use crate::{mats, stacks};

/// Where a run is cranked.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Station {
    class: usize,
    number: u32,
    copy: u32,
}

/// The classes of cutters that take a lay-up.
pub(super) fn takers(case: &Case<'_>, layup: &Loaded<'_>) -> BTreeSet<usize> {
    let board = &case.facts.boards[layup.board];
    let width = mats::width_in_bed(case.facts, layup);
    let takes = |class: &Class| {
        width <= class.bed_width
            && board.length <= class.longest_board
            && stacks::borne(case.facts, layup, class.ply_limit) == Some(true)
    };
    (0..case.hall.classes.len()).filter(|&class| takes(&case.hall.classes[class])).collect()
}

/// The station of every run; none if some do not exist.
pub(super) fn resolve(
    case: &Case<'_>,
    input: &Input<'_>,
    jobs: &Jobs,
    schedule: &Schedule,
    faults: &mut Faults,
) -> Option<Vec<Station>> {
    let mut stations = vec![None; input.runs.len()];
    let mut well = true;
    for task in &schedule.tasks {
        let run = match task.on {
            On::Run(run) if task.work == Work::Crank && jobs.find(task.work, &task.on).is_some() => {
                Some(run - 1)
            }
            _ => None,
        };
        let place = || place(task.work, &task.on);
        let shown = |at: &At| format!("{} {}, copy {}", at.cutter, at.number, at.copy);
        match (run, &task.at) {
            (None, None) => {}
            (None, Some(at)) => {
                faults.add(FaultCode::NoStation, place(), shown(at), "no station");
                well = false;
            }
            (Some(run), at) => {
                let board = case.layups[input.runs[run].layup].board;
                stations[run] = at.as_ref().and_then(|at| station(case, at, board));
                if stations[run].is_none() {
                    let found = at.as_ref().map_or_else(|| "none".to_owned(), shown);
                    faults.add(FaultCode::NoStation, place(), found, "a station and a copy of the board");
                    well = false;
                }
            }
        }
    }
    stations.into_iter().collect::<Option<Vec<_>>>().filter(|_| well)
}

fn station(case: &Case<'_>, at: &At, board: usize) -> Option<Station> {
    let class = case.hall.classes.iter().position(|class| class.name == at.cutter)?;
    let there = (1..=case.hall.classes[class].number).contains(&at.number)
        && (1..=case.hall.copies[board]).contains(&at.copy);
    there.then_some(Station { class, number: at.number, copy: at.copy })
}

/// Judges stations and copies of boards; gives for every run whether the board is changed for it.
pub(super) fn judge(
    case: &Case<'_>,
    input: &Input<'_>,
    jobs: &Jobs,
    found: &[Timed],
    stations: &[Station],
    faults: &mut Faults,
) -> Vec<bool> {
    let times: Vec<Timed> = jobs.cranks().map(|job| found[job]).collect();
    let boards: Vec<usize> = input.runs.iter().map(|run| case.layups[run.layup].board).collect();
    let takers: Vec<_> = case.layups.iter().map(|layup| takers(case, layup)).collect();
    let mut at_station: BTreeMap<(usize, u32), Vec<usize>> = BTreeMap::new();
    let mut on_copy: BTreeMap<(usize, u32), Vec<usize>> = BTreeMap::new();
    let mut last = 0;
    for (run, station) in stations.iter().enumerate() {
        at_station.entry((station.class, station.number)).or_default().push(run);
        on_copy.entry((boards[run], station.copy)).or_default().push(run);
        let place = format!("run {}", run + 1);
        let class = &case.hall.classes[station.class].name;
        if !takers[input.runs[run].layup].contains(&station.class) {
            let layup = &case.layups[input.runs[run].layup].plan.name;
            faults.add(
                FaultCode::StationTooSmall,
                &place,
                format!("{layup} on {class}"),
                "one that takes it",
            );
        }
        if times[run].start < last {
            faults.add(FaultCode::RunOrder, place, times[run].start, format!("{last} or later"));
        }
        last = last.max(times[run].start);
    }
    let mut busy = |runs: &[usize], place: String| {
        let most = most_at_once(runs.iter().map(|&run| (times[run].start, times[run].end, 1)));
        if most > 1 {
            faults.add(FaultCode::StationTwice, place, most, 1);
        }
    };
    let by_time = |mut runs: Vec<usize>| {
        runs.sort_by_key(|&run| (times[run].start, times[run].end, run));
        runs
    };
    let mut before_at_station = vec![None; stations.len()];
    for ((class, number), runs) in at_station {
        busy(&runs, format!("{} {number}", case.hall.classes[class].name));
        by_time(runs).windows(2).for_each(|pair| before_at_station[pair[1]] = Some(pair[0]));
    }
    // A board that was on another station since has to be put on again.
    let mut changed = vec![true; stations.len()];
    for ((board, copy), runs) in on_copy {
        busy(&runs, format!("{}, copy {copy}", case.facts.boards[board].name));
        for pair in by_time(runs).windows(2) {
            changed[pair[1]] = before_at_station[pair[1]] != Some(pair[0]);
        }
    }
    changed
}

#[cfg(test)]
mod tests {
    use patchlay_plan::Plan;
    use patchlay_plan::day::{Day, On, Task, Work};

    use crate::FaultCode;

    /// Where the time of a run's cranking is found wrong, after some change to the day.
    fn wrong_times(change: impl Fn(&mut Task)) -> Vec<String> {
        let scenario = include_str!("../../../../../tests/damage/good/two.json");
        let plan = Plan::from_json(include_str!("../../../../../tests/damage/good/two.plan.json")).unwrap();
        let mut day = Day::from_json(include_str!("../../../../../tests/damage/good/two.day.json")).unwrap();
        let tasks = &mut day.schedule.as_mut().unwrap().tasks;
        tasks.iter_mut().filter(|task| task.work == Work::Crank).for_each(change);
        let faults = crate::check_day(scenario, &plan, &day).err().unwrap_or_default();
        let times = faults.into_iter().filter(|fault| fault.code == FaultCode::TaskTime);
        times.map(|fault| fault.place).collect()
    }

    #[test]
    fn a_board_that_was_elsewhere_is_put_on_again() {
        assert_eq!(wrong_times(|_| ()), Vec::<String>::new());
        // All runs are on one cutter, whose board is put on once. With the third on the other cutter it takes longer, on
        // the same copy the fourth as well: the board has to come back. Another copy can stay where it is.
        let moved = |copy: u32| {
            wrong_times(move |task| {
                if let (On::Run(3), Some(at)) = (&task.on, &mut task.at) {
                    (at.number, at.copy) = (2, copy);
                }
            })
        };
        let of =
            |wrong: &[String], run: usize| wrong.iter().any(|place| place.contains(&format!("run {run}")));
        for (copy, comes_back) in [(1, true), (2, false)] {
            let wrong = moved(copy);
            assert!(of(&wrong, 3), "{wrong:?}");
            assert_eq!(of(&wrong, 4), comes_back, "{wrong:?}");
            assert!(!of(&wrong, 5), "{wrong:?}");
        }
    }
}
