//! Replans that are sound pass their check, and every kind of damage to one is refused by name.

#![allow(clippy::unwrap_used, reason = "a test ends where something cannot be had")]

use std::path::Path;

use patchlay_check::{FaultCode, check, check_replan};
use patchlay_optimise::{Options, Quiet, optimise};
use patchlay_plan::record::{Entry, Fewer, Note, Patches};
use patchlay_plan::replan::{Replan, replan_number};
use patchlay_plan::{Hand, Plan};
use patchlay_record::log::{self, Log};
use patchlay_record::replan::{Half, mark};
use patchlay_record::sound;
use patchlay_scenario::Job;

struct Case {
    plan: Plan,
    log: Log,
    replan: Replan,
}

fn options() -> Options {
    Options { effort: 1, ..Options::default() }
}

fn planned(text: &str) -> (Plan, Job) {
    let (_, job) = patchlay_scenario::load(text).unwrap();
    let plan = optimise(&job, text, &options(), &Quiet).unwrap();
    check(text, &plan).unwrap();
    (plan, job)
}

fn noted(folder: &Path, plan: &Plan, job: &Job, notes: Vec<Note>) -> Log {
    let file = folder.join("plan.log");
    for note in notes {
        log::append(&file, plan, (7, None), note, |log, entry| sound(plan, job, log, entry))
            .unwrap_or_else(|error| panic!("{error:?}"));
    }
    log::read(&file, plan).unwrap()
}

fn replanned(plan: &Plan, job: &Job, log: &Log) -> Replan {
    let half = Half::new(plan, job, log).unwrap();
    let supplement = half.supplement().map(|text| {
        let (mut anew, job) = planned(&text);
        mark(&mut anew).unwrap();
        check(&text, &anew).unwrap();
        (anew, job)
    });
    half.whole(supplement.as_ref().map(|(plan, job)| (plan, job)), "test").unwrap()
}

/// A crib quilt in the middle of its day: one pass made with plies missing, all duck strips cut and two lengths of them
/// spoiled.
fn crib() -> Case {
    let (plan, job) = planned(&std::fs::read_to_string(patchlay_tests::demo("crib-nine-patch")).unwrap());
    let ducks = plan.fabric("Ducks").unwrap();
    let large = plan
        .layups
        .iter()
        .find(|layup| layup.bays.iter().flat_map(|bay| &bay.groups).all(|g| g.fabric == "Ducks"));
    let spoiled: Vec<String> = large.unwrap().passes[0][0][..2].to_vec();
    let small = plan
        .layups
        .iter()
        .find(|layup| layup.passes.len() > 1 && layup.board != large.unwrap().board)
        .unwrap();
    let fewer = vec![Fewer { area: 1, group: Some(1), plies: 0 }];
    let mut notes = vec![
        Note::StripsCut { strips: ducks.strips.iter().map(|strip| strip.name.clone()).collect() },
        Note::Passes { layup: small.name.clone(), passes: 1, first: None, fewer },
    ];
    notes.extend(spoiled.into_iter().map(|name| Note::ClothSpoiled { name }));
    let folder = tempfile::tempdir().unwrap();
    let log = noted(folder.path(), &plan, &job, notes);
    let replan = replanned(&plan, &job, &log);
    Case { plan, log, replan }
}

type Damage = (&'static str, FaultCode, fn(&mut Case));

const DAMAGES: [Damage; 22] = [
    ("another number", FaultCode::ReplanDocument, |case| case.replan.number = "0000-0000".to_owned()),
    ("another plan", FaultCode::ReplanDocument, |case| case.replan.plan = "0000-0000".to_owned()),
    ("another version", FaultCode::ReplanDocument, |case| case.replan.patchlay_replan = 2),
    ("a pass forgotten", FaultCode::ReplanPasses, |case| {
        case.replan.kept[0].passes.pop();
    }),
    ("a pass kept twice", FaultCode::ReplanPasses, |case| {
        let pass = case.replan.kept[0].passes[0];
        case.replan.kept[0].passes.push(pass);
    }),
    ("a made pass kept", FaultCode::ReplanPasses, |case| case.replan.kept[0].passes.push(1)),
    ("a pass that is not there", FaultCode::ReplanPasses, |case| case.replan.kept[0].passes.push(0)),
    ("a lay-up that is not there", FaultCode::ReplanPasses, |case| {
        case.replan.kept[0].layup = "L99".to_owned()
    }),
    ("a lay-up called done", FaultCode::ReplanPasses, |case| {
        let name = case.replan.kept[0].layup.clone();
        case.replan.done.push(name);
    }),
    ("a dropped pass kept", FaultCode::ReplanKept, |case| {
        let lost = case.replan.dropped.remove(0);
        let passes = lost.passes.iter().map(|lost| lost.pass).collect();
        case.replan.kept.push(patchlay_plan::replan::Kept { layup: lost.layup, passes });
    }),
    ("a strip forgotten", FaultCode::ReplanStrips, |case| drop(case.replan.strips.pop())),
    ("a strip listed twice", FaultCode::ReplanStrips, |case| {
        let strip = case.replan.strips[0].clone();
        case.replan.strips.push(strip);
    }),
    ("a length left out that is needed", FaultCode::ReplanStrips, |case| {
        let needed: Vec<&String> = case
            .replan
            .kept
            .iter()
            .flat_map(|kept| {
                let layup = case.plan.layups.iter().find(|own| own.name == kept.layup).unwrap();
                kept.passes
                    .iter()
                    .flat_map(|pass| layup.passes[usize::try_from(*pass).unwrap() - 1].iter().flatten())
            })
            .collect();
        let left = &case.replan.strips[0];
        let strips = case.plan.fabrics.iter().flat_map(|cloth| &cloth.strips);
        let strip = strips.into_iter().find(|own| own.name == left.strip).unwrap();
        let name = strip.pieces.iter().find(|piece| needed.contains(&&piece.name)).unwrap().name.clone();
        case.replan.strips[0].without.push(name);
    }),
    ("more cloth left than there is", FaultCode::ReplanCloth, |case| {
        case.replan.cloth[0].left += patchlay_measure::Length::from_inches(1);
    }),
    ("less to buy", FaultCode::ReplanCloth, |case| {
        let short = case.replan.cloth.iter_mut().find(|cloth| cloth.beyond > 0).unwrap();
        short.buy = patchlay_measure::Length::from_64ths(1);
    }),
    ("cloth taken for less", FaultCode::ReplanCloth, |case| {
        let taken = case.replan.cloth.iter_mut().find(|cloth| cloth.kept.is_positive()).unwrap();
        taken.kept = patchlay_measure::Length::ZERO;
    }),
    ("a spoiled length taken", FaultCode::ReplanOnHand, |case| {
        let spoiled = case.log.entries.iter().find_map(|entry| match &entry.note {
            Note::ClothSpoiled { name } => Some(name.clone()),
            _ => None,
        });
        case.replan.on_hand[0].from[0] = spoiled.unwrap();
    }),
    ("a length taken twice", FaultCode::ReplanOnHand, |case| {
        let again = case.replan.on_hand[0].clone();
        case.replan.on_hand.push(again);
    }),
    ("a strip on hand that the supplement has not", FaultCode::ReplanOnHand, |case| {
        case.replan.on_hand[0].strip = "S-Z9".to_owned();
    }),
    ("more good patches than there are", FaultCode::ReplanCount, |case| case.replan.recount[0].good += 1),
    ("a line left out", FaultCode::ReplanCount, |case| drop(case.replan.recount.pop())),
    ("no supplement", FaultCode::ReplanShort, |case| {
        case.replan.supplement = None;
        case.replan.on_hand.clear();
    }),
];

fn faults(case: &Case) -> Vec<FaultCode> {
    let found = check_replan(&case.plan, &case.log.entries, &case.replan);
    found.err().unwrap_or_default().iter().map(|fault| fault.code).collect()
}

#[test]
fn a_sound_replan_passes_and_every_damage_to_it_is_refused_by_name() {
    let good = crib();
    assert_eq!(faults(&good), []);
    assert!(
        !good.replan.on_hand.is_empty() && !good.replan.strips.is_empty() && good.replan.supplement.is_some()
    );
    let mut failures = String::new();
    for (name, expected, damage) in DAMAGES {
        let mut case = Case { plan: good.plan.clone(), log: good.log.clone(), replan: good.replan.clone() };
        damage(&mut case);
        if name != "another number" {
            case.replan.number = replan_number(&case.replan).unwrap();
        }
        let found = faults(&case);
        if !found.contains(&expected) {
            failures += &format!("{name}: no {expected}, but {found:?}\n");
        }
    }
    assert!(failures.is_empty(), "{failures}");
}

/// A record that the replan does not know of.
fn also(case: &Case, note: Note) -> Vec<FaultCode> {
    let mut entries = case.log.entries.clone();
    entries.push(Entry { plan: case.plan.number.clone(), number: 99, at: 0, who: None, note });
    let found = check_replan(&case.plan, &entries, &case.replan);
    found.err().unwrap_or_default().iter().map(|fault| fault.code).collect()
}

#[test]
fn a_replan_that_is_older_than_its_log_is_refused() {
    let case = crib();
    let patches =
        Patches { fabric: "White".to_owned(), shape: "square 2".to_owned(), hand: Hand::Any, patches: 1 };
    assert!(also(&case, Note::PatchesSpoiled { patches }).contains(&FaultCode::ReplanCount));
    let board = |board: &str| Note::BoardDamaged { board: board.to_owned(), copies: 1 };
    let all: Vec<FaultCode> =
        ["large square", "six small squares"].iter().flat_map(|name| also(&case, board(name))).collect();
    assert!(all.contains(&FaultCode::ReplanKept) && all.contains(&FaultCode::ReplanSupplement), "{all:?}");
    let narrow =
        Note::BoltNarrow { fabric: "White".to_owned(), width: patchlay_measure::Length::from_inches(20) };
    let found = also(&case, narrow);
    assert!(
        found.contains(&FaultCode::ReplanStrips) || found.contains(&FaultCode::ReplanSupplement),
        "{found:?}"
    );
}

#[test]
fn a_supplement_with_other_rules_or_taken_names_is_refused() {
    let good = crib();
    let with = |change: &dyn Fn(&mut Plan)| {
        let mut replan = good.replan.clone();
        change(replan.supplement.as_mut().unwrap());
        replan.number = replan_number(&replan).unwrap();
        let found = check_replan(&good.plan, &good.log.entries, &replan);
        found.err().unwrap_or_default().iter().map(|fault| fault.code).collect::<Vec<_>>()
    };
    let renumbered = |plan: &mut Plan| plan.number = patchlay_plan::plan_number(plan).unwrap();
    let named = with(&|plan| {
        plan.layups[0].name = good.plan.layups[0].name.clone();
        renumbered(plan);
    });
    assert_eq!(named, [FaultCode::ReplanSupplement]);
    let owned = with(&|plan| {
        plan.scenario["cutter"]["mats"][0]["owned"] = 9.into();
        renumbered(plan);
    });
    assert_eq!(owned, [FaultCode::ReplanSupplement]);
    // What is wrong with the supplement as a plan is told under its own code.
    let passes = with(&|plan| plan.figures.passes += 1);
    assert!(passes.contains(&FaultCode::Figure), "{passes:?}");
}

#[test]
fn days_of_many_kinds_are_replanned_and_pass_the_check() {
    let (plan, job) = planned(&std::fs::read_to_string(patchlay_tests::demo("crib-nine-patch")).unwrap());
    let bolt = |fabric: &str, inches| Note::BoltShort {
        fabric: fabric.to_owned(),
        left: patchlay_measure::Length::from_inches(inches),
    };
    let narrow = |inches| Note::BoltNarrow {
        fabric: "Teal dots".to_owned(),
        width: patchlay_measure::Length::from_inches(inches),
    };
    let strips: Vec<String> =
        plan.fabrics.iter().flat_map(|cloth| cloth.strips.iter().map(|strip| strip.name.clone())).collect();
    let passes =
        Note::Passes { layup: plan.layups[0].name.clone(), passes: 1, first: None, fewer: Vec::new() };
    let quilt = || Note::QuiltDropped { quilt: "Pebble Row".to_owned(), copies: None };
    let mat = Note::MatDamaged { mat: "half mat".to_owned(), mats: 1 };
    let days: Vec<Vec<Note>> = vec![
        vec![],
        vec![bolt("Ducks", 9)],
        vec![bolt("White", 12), narrow(39)],
        vec![narrow(30)],
        vec![mat],
        vec![passes.clone(), quilt()],
        vec![Note::StripsCut { strips }, passes, bolt("Ducks", 0), quilt()],
    ];
    for notes in days {
        let folder = tempfile::tempdir().unwrap();
        let log = noted(folder.path(), &plan, &job, notes.clone());
        let replan = replanned(&plan, &job, &log);
        if let Err(faults) = check_replan(&plan, &log.entries, &replan) {
            let lines: Vec<String> = faults.iter().map(ToString::to_string).collect();
            panic!("{notes:?}\n{}", lines.join("\n"));
        }
    }
}
