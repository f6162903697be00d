//! The rest of a group's day: planned anew from what is noted, it passes its check, and every kind of damage to it is
//! refused by name.

#![allow(clippy::unwrap_used, reason = "a test ends where something cannot be had")]

use std::collections::BTreeSet;
use std::path::Path;

use patchlay_check::{FaultCode, check, check_day, check_replan, check_rest};
use patchlay_group::{DayError, plan_day, plan_rest, resupplied};
use patchlay_optimise::{Options, Quiet, optimise};
use patchlay_plan::day::{Day, On, Work, day_number};
use patchlay_plan::record::{Entry, Note, Patches};
use patchlay_plan::replan::Replan;
use patchlay_plan::{Hand, Plan};
use patchlay_record::log::{self, Log};
use patchlay_record::replan::{Begun, Half, HoursError, mark};
use patchlay_record::sound;
use patchlay_scenario::Job;
use patchlay_tests::star_hall;

fn options() -> patchlay_group::Options<'static> {
    patchlay_group::Options { seed: 1, effort: 1, one_more: false, threads: None, stop: &|| false }
}

fn planned(text: &str) -> (Plan, Job) {
    let (_, job) = patchlay_scenario::load(text).unwrap();
    let plan = optimise(&job, text, &Options { effort: 1, ..Options::default() }, &Quiet).unwrap();
    let plan = job.group.as_ref().map_or_else(|| plan.clone(), |group| resupplied(&job, group, &plan));
    check(text, &plan).unwrap();
    (plan, job)
}

fn noted(plan: &Plan, job: &Job, notes: Vec<Note>) -> Log {
    let folder = tempfile::tempdir().unwrap();
    let file: &Path = &folder.path().join("plan.log");
    for note in notes {
        log::append(file, plan, (7, None), note, |log, entry| sound(plan, job, log, entry))
            .unwrap_or_else(|error| panic!("{error:?}"));
    }
    log::read(file, plan).unwrap()
}

/// A morning: plan, day, and what is noted by then.
struct Morning {
    plan: Plan,
    job: Job,
    day: Day,
}

impl Morning {
    fn new() -> Self {
        Self::of(&star_hall().to_string())
    }

    fn of(text: &str) -> Self {
        let (plan, job) = planned(text);
        let day = plan_day(&job, &plan, &options()).unwrap();
        check_day(text, &plan, &day).unwrap();
        Self { plan, job, day }
    }

    /// Records of so many runs of the day, all made as planned.
    fn runs(&self, count: usize) -> Vec<Note> {
        let pass = |run: &patchlay_plan::day::Run| Note::Passes {
            layup: run.layup.clone(),
            passes: run.passes,
            first: Some(run.first),
            fewer: Vec::new(),
        };
        self.day.runs[..count].iter().map(pass).collect()
    }

    fn replanned(&self, log: &Log) -> (Replan, Result<Option<Begun>, HoursError>) {
        let half = Half::new(&self.plan, &self.job, log).unwrap();
        let anew = half.supplement().map(|text| {
            let (mut plan, job) = planned(&text);
            mark(&mut plan).unwrap();
            (plan, job)
        });
        let replan = half.whole(anew.as_ref().map(|(plan, job)| (plan, job)), "test").unwrap();
        check_replan(&self.plan, &log.entries, &replan).unwrap();
        let begun = half.begun(&replan, Some(&self.day), None);
        (replan, begun)
    }

    /// The rest of the day after these notes, checked.
    fn rest(&self, notes: Vec<Note>) -> Case {
        let log = noted(&self.plan, &self.job, notes);
        let (replan, begun) = self.replanned(&log);
        let begun = begun.unwrap().unwrap();
        let day = plan_rest(&begun.job, &begun.plan, &begun.rest, &options()).unwrap();
        let case = Case { plan: self.plan.clone(), entries: log.entries, replan, day };
        assert_eq!(case.faults(), []);
        case
    }
}

#[derive(Clone)]
struct Case {
    plan: Plan,
    entries: Vec<Entry>,
    replan: Replan,
    day: Day,
}

impl Case {
    fn faults(&self) -> Vec<FaultCode> {
        let found = check_rest(&self.plan, &self.entries, &self.replan, &self.day);
        found.err().unwrap_or_default().iter().map(|fault| fault.code).collect()
    }

    fn renumbered(mut self) -> Self {
        self.day.number = day_number(&self.day).unwrap();
        self
    }
}

fn patches(case: &Morning, patches: u64) -> Patches {
    let lot = &case.day.lots[0];
    Patches { fabric: lot.fabric.clone(), shape: lot.shape.clone(), hand: Hand::Any, patches }
}

fn gone(person: &str) -> Note {
    Note::PersonGone { person: person.to_owned() }
}

type Damage = (&'static str, FaultCode, fn(&mut Case));

const DAMAGES: [Damage; 13] = [
    ("another plan", FaultCode::DayPlan, |case| case.day.plan = case.plan.number.clone()),
    ("no beginning", FaultCode::DayRest, |case| case.day.rest = None),
    ("a beginning before the day", FaultCode::DayRest, |case| {
        case.day.rest.as_mut().unwrap().starts = 60;
    }),
    ("a made pass in a run", FaultCode::RunCover, |case| {
        let first = case.day.runs.iter_mut().find(|run| run.first > 1).unwrap();
        (first.first, first.passes) = (first.first - 1, first.passes);
    }),
    ("a run left out", FaultCode::RunCover, |case| drop(case.day.runs.pop())),
    ("a strip cut again", FaultCode::BatchStrips, |case| {
        let batched: BTreeSet<&String> = case.day.batches.iter().flat_map(|batch| &batch.strips).collect();
        let cloth = case
            .plan
            .fabrics
            .iter()
            .find(|cloth| cloth.strips.iter().any(|strip| !batched.contains(&strip.name)));
        let cloth = cloth.unwrap();
        let cut = cloth.strips.iter().find(|strip| !batched.contains(&strip.name)).unwrap();
        let batch =
            patchlay_plan::day::Batch { fabric: cloth.fabric.clone(), strips: vec![cut.name.clone()] };
        case.day.batches.push(batch);
    }),
    ("a strip forgotten", FaultCode::BatchStrips, |case| drop(case.day.batches.pop())),
    ("a task for one who has gone", FaultCode::TaskHelper, |case| {
        let tasks = &mut case.day.schedule.as_mut().unwrap().tasks;
        tasks.iter_mut().find(|task| task.work == Work::LiftOut).unwrap().helper = "Three".to_owned();
    }),
    ("more in a bag than there is", FaultCode::BagThere, |case| {
        case.day.bags[0].lines[0].there += 1;
    }),
    ("more in a bag than it wants", FaultCode::BagThere, |case| {
        let line = &mut case.day.bags[0].lines[0];
        line.there = line.needed + line.spare + 1;
    }),
    ("a stack in another bag", FaultCode::LotSums, |case| {
        let bags = case.day.bags.len();
        let part = &mut case.day.lots.last_mut().unwrap().to[0];
        part.bag = part.bag % bags + 1;
    }),
    ("an early finish", FaultCode::Finish, |case| case.day.schedule.as_mut().unwrap().finish -= 1),
    ("a bound too high", FaultCode::FinishBound, |case| {
        let schedule = case.day.schedule.as_mut().unwrap();
        schedule.finish_at_least = schedule.finish + 1;
    }),
];

#[test]
fn the_rest_of_a_day_passes_and_every_damage_to_it_is_refused_by_name() {
    let morning = Morning::new();
    let mut notes = morning.runs(3);
    notes.extend([gone("Three"), Note::PatchesSpoiled { patches: patches(&morning, 3) }]);
    let good = morning.rest(notes);
    assert!(good.day.runs.len() >= 2 && !good.day.batches.is_empty() && good.replan.supplement.is_some());
    let mut failures = String::new();
    for (name, expected, damage) in DAMAGES {
        let mut case = good.clone();
        damage(&mut case);
        let found = case.renumbered().faults();
        if !found.contains(&expected) {
            failures += &format!("{name}: no {expected}, but {found:?}\n");
        }
    }
    assert!(failures.is_empty(), "{failures}");
    let mut changed = good.clone();
    changed.day.number = "0000-0000".to_owned();
    assert_eq!(changed.faults(), [FaultCode::DayNumber]);
    // A whole day may not call itself a rest, nor a rest pass for a whole day.
    let whole = check_day(&good.plan.scenario.to_string(), &good.plan, &good.day).unwrap_err();
    assert!(whole.iter().any(|fault| fault.code == FaultCode::DayRest), "{whole:?}");
}

#[test]
fn a_rest_that_is_older_than_its_log_is_refused() {
    let morning = Morning::new();
    let good = morning.rest(morning.runs(2));
    let also = |note: Note| {
        let mut case = good.clone();
        case.entries.push(Entry { plan: case.plan.number.clone(), number: 99, at: 0, who: None, note });
        case.faults()
    };
    assert!(also(gone("One")).contains(&FaultCode::TaskHelper));
    let found = also(Note::PatchesFound { patches: patches(&morning, 1) });
    assert!(found.contains(&FaultCode::BagThere), "{found:?}");
    // With one less of them what is cut does not do any more, so no bags follow from it.
    let spoiled = also(Note::PatchesSpoiled { patches: patches(&morning, 1) });
    assert!(!spoiled.is_empty());
    let dropped = Note::QuiltDropped { quilt: "west".to_owned(), copies: None };
    assert!(also(dropped).contains(&FaultCode::BagList));
    // On the second copy of the board all is well until that is damaged.
    let mut second = good.clone();
    let tasks = &mut second.day.schedule.as_mut().unwrap().tasks;
    tasks.iter_mut().filter_map(|task| task.at.as_mut()).for_each(|at| at.copy = 2);
    let mut second = second.renumbered();
    assert_eq!(second.faults(), []);
    let note = Note::BoardDamaged { board: morning.plan.layups[0].board.clone(), copies: 1 };
    second.entries.push(Entry { plan: second.plan.number.clone(), number: 99, at: 0, who: None, note });
    assert!(second.faults().contains(&FaultCode::NoStation));
}

#[test]
fn days_of_many_kinds_go_on() {
    let morning = Morning::new();
    let quilt = |name: &str| {
        let mut quilt: patchlay_scenario::spec::Quilt =
            serde_json::from_value(star_hall()["quilts"][0].clone()).unwrap();
        quilt.name = name.to_owned();
        Note::QuiltAdded { quilt }
    };
    let board = || Note::BoardDamaged { board: morning.plan.layups[0].board.clone(), copies: 1 };
    let dropped = |quilt: &str| Note::QuiltDropped { quilt: quilt.to_owned(), copies: None };
    let after = |runs: usize, notes: Vec<Note>| {
        let mut all = morning.runs(runs);
        all.extend(notes);
        morning.rest(all)
    };
    let whole = after(0, vec![]);
    assert!(whole.day.bags.iter().flat_map(|bag| &bag.lines).all(|line| line.there == 0));
    let fewer = after(2, vec![board(), gone("Four")]);
    let tasks = &fewer.day.schedule.as_ref().unwrap().tasks;
    assert!(tasks.iter().all(|task| task.helper != "Four" && task.at.as_ref().is_none_or(|at| at.copy == 1)));
    let more = after(3, vec![quilt("east"), dropped("south")]);
    let names: Vec<&str> = more.day.bags.iter().map(|bag| bag.name.as_str()).collect();
    assert!(names.contains(&"east") && !names.contains(&"south"), "{names:?}");
    let strips: Vec<String> = morning
        .plan
        .fabrics
        .iter()
        .flat_map(|cloth| cloth.strips.iter().map(|strip| strip.name.clone()))
        .collect();
    let cut = after(0, vec![Note::StripsCut { strips }]);
    assert!(cut.day.batches.is_empty(), "what is cut is not cut again");
    let works = cut.day.schedule.as_ref().unwrap().tasks.iter().map(|task| task.work);
    assert!(works.clone().all(|work| !matches!(work, Work::Press | Work::Strips)));
    let spoiled = after(2, vec![Note::PatchesFound { patches: patches(&morning, 2) }, dropped("north")]);
    assert!(spoiled.day.bags.last().unwrap().name == "spares");
}

#[test]
fn somebody_else_takes_over_where_nobody_is_left_to_crank() {
    let morning = Morning::new();
    let mut notes = morning.runs(1);
    notes.extend([gone("Two"), gone("Three")]);
    let log = noted(&morning.plan, &morning.job, notes.clone());
    let (_, begun) = morning.replanned(&log);
    let begun = begun.unwrap().unwrap();
    let Err(DayError::Impossible(why)) = plan_rest(&begun.job, &begun.plan, &begun.rest, &options()) else {
        panic!("nobody can crank")
    };
    assert!(why.iter().any(|why| why.contains("can crank") && why.contains("helper")), "{why:?}");
    let can = vec![Work::Crank, Work::LiftOut];
    notes.push(Note::PersonHelps { person: "Five".to_owned(), can, speed_percent: Some(80) });
    let case = morning.rest(notes.clone());
    let cranks = case.day.schedule.as_ref().unwrap().tasks.iter().filter(|task| task.work == Work::Crank);
    assert!(cranks.clone().all(|task| task.helper == "Five") && cranks.count() == case.day.runs.len());
    notes.extend(["One", "Four", "Five"].map(gone));
    let log = noted(&morning.plan, &morning.job, notes);
    assert!(matches!(morning.replanned(&log).1, Err(HoursError::NobodyLeft)));
}

#[test]
fn the_rest_begins_when_the_last_pass_noted_ends_and_never_before_the_day() {
    let morning = Morning::new();
    let log = noted(&morning.plan, &morning.job, morning.runs(2));
    let (replan, begun) = morning.replanned(&log);
    let schedule = morning.day.schedule.as_ref().unwrap();
    let cranked = |run: usize| {
        let of = |task: &&patchlay_plan::day::Task| task.work == Work::Crank && task.on == On::Run(run);
        schedule.tasks.iter().find(of).unwrap().end
    };
    let last = cranked(1).max(cranked(2));
    assert_eq!(u64::from(begun.unwrap().unwrap().rest.starts), 540 + last.div_ceil(60));
    let half = Half::new(&morning.plan, &morning.job, &log).unwrap();
    assert!(matches!(half.begun(&replan, None, Some(539)), Err(HoursError::BeforeTheDay(540))));
    assert_eq!(half.begun(&replan, None, None).unwrap().unwrap().rest.starts, 540);
}

fn prepared(layup: &str, passes: u64) -> Note {
    Note::TrayPrepared { layup: layup.to_owned(), passes }
}

impl Case {
    /// Adds a record that the rest did not know of, and takes its claim back that it could not end earlier.
    fn knowing(&self, note: Note) -> Self {
        let mut case = self.clone();
        case.entries.push(Entry { plan: case.plan.number.clone(), number: 99, at: 0, who: None, note });
        case.day.schedule.as_mut().unwrap().finish_at_least = 0;
        case.renumbered()
    }

    fn schedule(&mut self) -> &mut patchlay_plan::day::Schedule {
        self.day.schedule.as_mut().unwrap()
    }

    fn folded(&self) -> BTreeSet<usize> {
        let tasks = &self.day.schedule.as_ref().unwrap().tasks;
        let folds = tasks.iter().filter(|task| task.work == Work::Fold);
        folds.map(|task| if let On::Run(run) = task.on { run } else { 0 }).collect()
    }

    /// Whether each run, from 1, is of passes of a lay-up up to this one.
    fn up_to(&self, layup: &str, last: u64) -> BTreeSet<usize> {
        let own = |run: &patchlay_plan::day::Run| run.layup == layup && run.first + run.passes - 1 <= last;
        (1..=self.day.runs.len()).filter(|run| own(&self.day.runs[run - 1])).collect()
    }
}

#[test]
fn a_tray_that_is_ready_is_not_filled_again() {
    let morning = Morning::new();
    let longest = morning.plan.layups.iter().max_by_key(|layup| layup.passes.len()).unwrap();
    assert!(longest.passes.len() > 3, "{}", longest.passes.len());
    let fresh = morning.rest(vec![]);
    assert_eq!(fresh.folded().len(), fresh.day.runs.len());
    // Of two passes to a tray three lie ready: one tray and a part of one; the rest is filled.
    let mut some = morning.rest(vec![prepared(&longest.name, 3)]);
    let ready = some.up_to(&longest.name, 3);
    assert_eq!(ready.iter().map(|run| some.day.runs[run - 1].passes).sum::<u64>(), 3);
    let all: BTreeSet<usize> = (1..=some.day.runs.len()).collect();
    assert_eq!(some.folded(), all.difference(&ready).copied().collect());
    assert!(some.day.batches.len() <= fresh.day.batches.len());
    // Filled again, or not filled though it must be.
    let again = *ready.first().unwrap();
    let needed = *some.folded().first().unwrap();
    let mut twice = some.clone();
    let tasks = &mut twice.schedule().tasks;
    let mut task = tasks.iter().find(|task| task.work == Work::Fold).unwrap().clone();
    task.on = On::Run(again);
    let at = tasks.iter().position(|task| task.work == Work::Fold).unwrap();
    tasks.insert(at, task);
    assert!(twice.renumbered().faults().contains(&FaultCode::TaskList));
    some.schedule().tasks.retain(|task| (task.work, &task.on) != (Work::Fold, &On::Run(needed)));
    assert!(some.renumbered().faults().contains(&FaultCode::TaskList));
}

#[test]
fn with_all_trays_ready_nobody_need_fold_and_more_may_wait_than_were_to_be_filled_ahead() {
    let morning = Morning::new();
    let all = |layup: &patchlay_plan::LayUp| prepared(&layup.name, layup.passes.len() as u64);
    let mut notes: Vec<Note> = morning.plan.layups.iter().map(all).collect();
    notes.push(gone("One"));
    let can = vec![Work::Crank];
    notes.push(Note::PersonHelps { person: "Two".to_owned(), can, speed_percent: Some(110) });
    let rest = morning.rest(notes);
    assert!(rest.folded().is_empty() && rest.day.batches.is_empty());
    assert!(rest.day.runs.len() > 3, "no more than may wait");
}

#[test]
fn a_tray_that_is_ready_in_part_is_filled_up_in_the_time_for_the_rest_of_it() {
    let morning = Morning::new();
    let case = morning.rest(vec![]);
    let both = |run: &&patchlay_plan::day::Run| run.passes == 2 && run.first == 1;
    let run = case.day.runs.iter().find(both).unwrap().clone();
    let on = On::Run(case.day.runs.iter().position(|own| *own == run).unwrap() + 1);
    let fold = |task: &&mut patchlay_plan::day::Task| task.work == Work::Fold && task.on == on;
    // One pass lies ready: what is left takes as long as its own lengths and cuts, by the times of the scenario.
    let one = case.knowing(prepared(&run.layup, 1));
    assert_eq!(one.faults(), [FaultCode::TaskTime]);
    let layup = case.plan.layups.iter().find(|layup| layup.name == run.layup).unwrap();
    let strips = || case.plan.fabrics.iter().flat_map(|cloth| &cloth.strips);
    let times = &morning.job.cutter.times;
    let seconds = |name: &String| {
        let on = |strip: &&patchlay_plan::Strip| strip.pieces.iter().any(|piece| piece.name == *name);
        let strip = strips().find(on).unwrap();
        let piece = strip.pieces.iter().find(|piece| piece.name == *name).unwrap();
        let trim = if piece.width < strip.width { times.trim } else { 0 };
        u64::from(times.cross_cut + trim + if piece.plies > 1 { times.fold } else { times.place })
    };
    let standard: u64 = layup.passes[1].iter().flatten().map(seconds).sum();
    let group = morning.job.group.as_ref().unwrap();
    let mut right = one.clone();
    let task = right.schedule().tasks.iter_mut().find(fold).unwrap();
    let helper = group.helpers.iter().find(|helper| helper.name == task.helper).unwrap();
    let slowed = standard * u64::from(100 + group.slack_percent);
    task.end = task.start + slowed.div_ceil(u64::from(helper.speed_percent));
    assert_eq!(right.renumbered().faults(), []);
    // Both lie ready: then there is nothing to fill.
    let mut two = case.knowing(prepared(&run.layup, 2));
    assert!(two.faults().contains(&FaultCode::TaskList));
    two.schedule().tasks.retain(|task| (task.work, &task.on) != (Work::Fold, &on));
    assert_eq!(two.renumbered().faults(), []);
}

#[test]
fn a_tray_of_which_a_length_is_spoiled_is_ready_no_more() {
    let morning = Morning::new();
    let layup = &morning.plan.layups[0];
    let name = layup.passes[0][0][0].clone();
    let rest = morning.rest(vec![prepared(&layup.name, 1), Note::ClothSpoiled { name }]);
    assert_eq!(rest.folded().len(), rest.day.runs.len());
}

#[test]
fn whichever_trays_lie_ready_the_rest_passes() {
    let mut text = star_hall();
    text["group"]["equipment"] = serde_json::json!({ "passes_a_tray": 2, "trays_ahead": 1 });
    let morning = Morning::of(&text.to_string());
    for seed in 0..12_u64 {
        let mut notes = morning.runs(usize::try_from(seed % 3).unwrap());
        for (at, layup) in (0_u64..).zip(&morning.plan.layups) {
            let made: u64 = notes
                .iter()
                .map(|note| match note {
                    Note::Passes { layup: own, passes, .. } if *own == layup.name => *passes,
                    _ => 0,
                })
                .sum();
            let open = layup.passes.len() as u64 - made;
            let ready = (seed * 7 + at * 5) % (open + 1);
            if ready > 0 {
                notes.push(prepared(&layup.name, ready));
            }
        }
        let _ = morning.rest(notes);
    }
}
