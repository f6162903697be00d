//! The page of a replan: which passes stay, what is cut for nobody, and who settles the money.

mod common;

use common::html::{Html, read};
use patchlay_plan::replan::{Dropped, Kept, Lost, REPLAN_VERSION, Reason, Recount, Replan};
use patchlay_plan::{Hand, Plan};
use patchlay_scenario::Job;
use patchlay_sheets::{Hours, PageOptions, replan_page};

/// Of the lay-up that is made most often two passes are made, the last falls away, the rest stays; two kinds of patches
/// come out in plenty.
fn changed(plan: &Plan) -> (Replan, usize) {
    let made = |at: &usize| plan.layups[*at].passes.len();
    let most = (0..plan.layups.len()).max_by_key(made).expect("lay-ups");
    let (layup, all) = (plan.layups[most].name.clone(), made(&most) as u64);
    assert!(all >= 5);
    let count = |fabric: &str, wanted, good| Recount {
        fabric: fabric.to_owned(),
        shape: "square 4".to_owned(),
        hand: Hand::Any,
        wanted,
        good,
        kept: 400,
        supplement: 10,
    };
    let replan = Replan {
        patchlay_replan: REPLAN_VERSION,
        made_by: "by hand".to_owned(),
        number: "56ef-78ab".to_owned(),
        plan: plan.number.clone(),
        log_bytes: 0,
        records: 0,
        changes: vec!["quilt dropped: quilt 12".to_owned()],
        done: Vec::new(),
        kept: vec![Kept { layup: layup.clone(), passes: (3..all).collect() }],
        dropped: vec![Dropped { layup, passes: vec![Lost { pass: all, reason: Reason::NotWanted }] }],
        fewest_changed: true,
        strips: Vec::new(),
        on_hand: Vec::new(),
        cloth: Vec::new(),
        // 300 + 400 + 10 - 110 = 600 and 0 + 400 + 10 - 10 = 400 are too many; of the third kind there are too few.
        recount: vec![count("Navy", 110, 300), count("Snow", 10, 0), count("Rust", 500, 0)],
        supplement: None,
    };
    (replan, most)
}

fn made(replan: &Replan, plan: &Plan, job: &Job) -> Html {
    let page = replan_page(replan, plan, job, None, Hours::None, &PageOptions::default()).expect("a page");
    assert!(!page.contains("overfull"));
    read(&page)
}

#[test]
fn what_stays_and_what_is_cut_for_nobody_is_said_in_numbers() {
    let job = common::demo("twelve-lap-quilts");
    let plan = common::plan(&job);
    let (replan, most) = changed(&plan);
    let text = made(&replan, &plan, &job).text;
    let (layup, all) = (&plan.layups[most].name, plan.layups[most].passes.len());
    let before: u64 = plan.patches.iter().map(|line| line.cut - line.needed - line.spare).sum();
    assert!(before > 1);
    for wanted in [
        format!("Keep {layup} (passes 3 to {} of its {all}).", all - 1),
        format!("On card {layup} cross out pass {all} of its {all}."),
        format!("1000 patches are now cut for nobody, where {before} were as planned"),
        "Money is not divided again".to_owned(),
        "Settle by hand".to_owned(),
        "Navy: square 4 110 300 400 10 600 Snow: square 4 10 0 400 10 400".to_owned(),
    ] {
        assert!(text.contains(&wanted), "{wanted}\n{text}");
    }
}

#[test]
fn without_a_group_the_numbers_on_the_card_are_said_too() {
    // Two cards of ten passes: 120 squares, two to a ply, six plies to a pass. The second counts from 11 to 20.
    let mut job = common::job(&common::many_fabrics(2, |at| format!("N{at}")));
    for demand in &mut job.demands {
        demand.needed = 120;
    }
    let plan = common::plan(&job);
    let (replan, most) = changed(&plan);
    let text = made(&replan, &plan, &job).text;
    assert_eq!((most, plan.layups.len(), plan.layups[0].passes.len()), (1, 2, 10));
    let said = "passes 3 to 9 of its 10, on the card 13 to 19";
    assert!(text.contains(said), "{text}");
    assert!(!text.contains("Money is not divided"), "{text}");
}
