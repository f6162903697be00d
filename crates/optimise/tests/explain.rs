//! Explanations of small plans, against what can be worked out on paper. Every plan made on the way passes the
//! independent checker.

#![allow(clippy::unwrap_used, reason = "helpers of tests")]

use patchlay_measure::Length;
use patchlay_optimise::explain::explain;
use patchlay_optimise::{Options, Quiet, optimise};
use patchlay_plan::explain::{Changed, Explanation, Place, Step};
use patchlay_plan::{Figures, Plan, Rational};
use patchlay_scenario::{LoadingRule, PlyRule, Strategy};
use serde_json::{Value, json};

const OPTIONS: Options = Options { seed: 1, effort: 1, time_limit: None, threads: None };

fn planned(text: &str, strategy: Strategy) -> Plan {
    let (_, job) = patchlay_scenario::load(text).unwrap();
    optimise(&job.under(strategy), text, &OPTIONS, &Quiet).unwrap()
}

/// The explanation of a plan; that of several threads must be the same.
fn explained(plan: &Plan) -> Explanation {
    let (_, job) = patchlay_scenario::load(&plan.scenario.to_string()).unwrap();
    let on = |threads| explain(&job, plan, &Options { threads: Some(threads), ..OPTIONS }, &Quiet).unwrap();
    let (explanation, made) = on(1);
    assert_eq!(on(3).0, explanation);
    for made in made {
        if let Err(faults) = patchlay_check::check(&made.scenario, &made.plan) {
            panic!("{}: {}", made.plan.number, faults[0]);
        }
    }
    explanation
}

fn stars() -> String {
    let path = format!("{}/../../scenarios/star-hand-check.json", env!("CARGO_MANIFEST_DIR"));
    std::fs::read_to_string(path).unwrap()
}

/// Passes, and whether they are proved, with one more ply.
fn one_ply_more(explanation: &Explanation) -> (u32, u64, bool) {
    let found = explanation.changes.iter().find_map(|change| match change.what {
        Changed::OnePlyMore { to } => Some((to, change.plan.as_ref().unwrap())),
        _ => None,
    });
    let (to, plan) = found.unwrap();
    let passes = plan.bounds.iter().find(|bound| bound.figure == patchlay_plan::FigureKind::Passes).unwrap();
    (to, plan.figures.passes, passes.proved)
}

/// Thirty three-by-three stars on a board with one square position and one that gives four triangles, six plies
/// (common practice, no source). By hand: 150 squares are 150 plies, 25 stacks of six and so 25 passes; 480 triangles
/// are 120 plies, 20 stacks, and 25 x 6 - 120 = 30 plies more would fit. At seven plies 150 / 7 is 22 passes.
#[test]
fn the_square_position_sets_the_passes_of_the_stars() {
    let plan = planned(&stars(), Strategy::default());
    let explanation = explained(&plan);
    let board = &explanation.boards[0];
    assert_eq!((board.passes, board.points.len()), (25, 2));
    let [squares, triangles] = [&board.points[0], &board.points[1]];
    assert_eq!(squares.at, Place::Position("1".to_owned()));
    assert_eq!((squares.plies, squares.stacks, squares.full, squares.room), (150, whole(25), true, 0));
    assert_eq!(
        (triangles.plies, triangles.stacks, triangles.full, triangles.room),
        (120, whole(20), false, 30)
    );
    assert_eq!(one_ply_more(&explanation), (7, 22, true));
    // No plan takes fewer than 25 passes, whatever is bought.
    assert!(explanation.steps.iter().all(|step| step.more == Step::Proved));
    assert_eq!(explanation.steps.len(), 3);
}

fn whole(n: i128) -> Rational {
    Rational { n, d: 1 }
}

/// Fabric by fabric, by hand (as in `strategies.rs`): 20 passes of light, 5 of dark, 10 of bright. Under a ply limit of
/// five the one ply more is the sixth, which the cutter takes as it is: 35 passes again.
#[test]
fn a_strategy_is_kept() {
    let strategy =
        Strategy { loading: LoadingRule::FabricByFabric, plies: PlyRule::Either, ply_limit: Some(5) };
    let explanation = explained(&planned(&stars(), strategy));
    // 120 / 5, 30 / 5 and 60 / 5.
    let by_fabric: Vec<(u64, u64)> =
        explanation.boards[0].by_fabric.iter().map(|fabric| (fabric.passes, fabric.needs)).collect();
    assert_eq!(by_fabric, [(24, 24), (6, 6), (12, 12)]);
    let (to, passes, _) = one_ply_more(&explanation);
    assert_eq!((to, passes), (6, 35));
}

/// Triangles from two boards. A ply of one is cut into two triangles on one position; each of the three positions of the
/// other gives one of a ply of the same size, 5 3/8 square (full points: 4 + 1/4 x (2 + root 2) for the leg, 1/4 in for either margin,
/// up to 1/8 in). So a pass of five plies gives ten or fifteen, and the one that gives fifteen takes three times the cloth.
/// Five plies fit a strip (26 7/8 of 27), and a selling step is one strip.
fn triangles(count: u32, aim: &str) -> String {
    let pair = json!({ "shape": "triangle 4", "at": ["3/4", "3/4"], "as_drawn": 2, "arrangement": "pair" });
    let three = json!({ "shape": "triangle 4", "at": ["3/4", "3/4"], "columns": 3, "gap_across": "1/2" });
    json!({
        "patchlay_scenario": 1, "name": "Triangles", "units": "inch",
        "cutter": {
            "bed_width": "18", "longest_board": "14", "ply_limit": 5,
            "mats": [{ "name": "mat", "width": "18", "length": "14" }]
        },
        "rules": { "travel_rule": "strip_along_travel", "margin": "1/4", "ruler_step": "1/8", "fold_allowance": "0" },
        "fabrics": [{
            "name": "Rust", "usable_width": "27 1/2", "print": "none", "squaring": "0", "resquaring": "0",
            "end_reserve": "1/2", "selling_step": "5 3/8"
        }],
        "shapes": [{ "name": "triangle 4", "kind": "half_square_triangle", "side": "4", "tips": "untrimmed" }],
        "boards": [
            { "name": "pair", "width": "7", "length": "7", "positions": [pair] },
            { "name": "three", "width": "18", "length": "7", "positions": [three] }
        ],
        "loose_patches": [{ "shape": "triangle 4", "fabric": "Rust", "count": count }],
        "spare_patches": { "number": 0 },
        "aim": { "put_first": aim }
    })
    .to_string()
}

/// So many strips of 5 3/8.
fn strips(n: i64) -> Length {
    Length::from_64ths(n * (5 * 64 + 24))
}

/// Passes and cloth bought of a plan.
fn both(figures: &Figures) -> (u64, Length) {
    (figures.passes, figures.length_bought)
}

fn narrower(explanation: &Explanation) -> (u64, Length) {
    let narrower = &explanation.changes[2];
    assert!(matches!(narrower.what, Changed::Narrower { .. }));
    both(&narrower.plan.as_ref().unwrap().figures)
}

/// By hand: sixty triangles in 4 passes are four of fifteen (three of those and one of ten give 55), so 60 plies and 12
/// strips. With 11 strips, 55 plies, at least five plies give two; 4 passes will then not do, and 5 will: two of ten and
/// three of fifteen, 10 + 40 plies. By the loads alone 5/5 + 50/15 is more than 4, so that is proved. No plan takes fewer
/// than 60/15 = 4 passes, whatever it buys, and none fewer than 30 plies, 6 strips. On strips 1/2 in shorter four plies
/// fit: 15 strips.
#[test]
fn a_step_less_of_cloth_costs_a_pass() {
    let plan = planned(&triangles(60, "fewest_passes"), Strategy::default());
    assert_eq!(both(&plan.figures), (4, strips(12)));
    let explanation = explained(&plan);
    let step = &explanation.steps[0];
    assert_eq!((step.bought, step.less_means, step.least), (strips(12), strips(11), strips(6)));
    let Step::Found { figures, fewest } = &step.less else { panic!("{:?}", step.less) };
    assert!(figures.length_bought <= strips(11));
    assert_eq!((figures.passes, *fewest), (5, 5));
    assert_eq!(step.more, Step::Proved);
    assert_eq!(narrower(&explanation), (4, strips(15)));
    assert!(!explanation.changes[2].still_fits);
    // Whatever is cut how wide, every strip carries 26 7/8 of 27.
    let cloth = &explanation.fabrics[0];
    assert!(cloth.strips.iter().all(|strip| strip.percent(cloth.capacity) == 99));
    assert_eq!(cloth.strip_ends, strips(12) * Length::from_64ths(8));
    assert_eq!(cloth.end_reserves, strips(12) * Length::from_64ths(32));
    assert_eq!((cloth.rounding, cloth.squaring, cloth.shrinkage), (Length::ZERO, Length::ZERO, Length::ZERO));
}

/// By hand: 31 triangles are at least 16 plies, 4 strips, so no step less. Four strips hold 20 plies, of which 11 must
/// give two: 3 passes of ten, and one more for the odd triangle (or nine of a ply each): 4 in all. A fifth strip allows
/// 10 plies for two and 11 for one: 2 + 1 = 3 passes, and 6/5 + 19/15 says that 2 will not do. With a sixth ply 11 plies
/// are 2 passes and 9 are one: 3, and two passes give at most 30 from 20 plies. On strips 1/2 in shorter four strips hold
/// 16 plies: 15 or 16 for two, 4 passes either way.
#[test]
fn a_step_more_of_cloth_saves_a_pass() {
    let plan = planned(&triangles(31, "least_cloth"), Strategy::default());
    assert_eq!(both(&plan.figures), (4, strips(4)));
    let explanation = explained(&plan);
    let step = &explanation.steps[0];
    assert_eq!((&step.less, step.less_means, step.least), (&Step::Proved, strips(3), strips(4)));
    let Step::Found { figures, fewest } = &step.more else { panic!("{:?}", step.more) };
    assert_eq!((both(figures), *fewest), ((3, strips(5)), 3));
    let (to, passes, _) = one_ply_more(&explanation);
    assert_eq!((to, passes), (6, 3));
    assert_eq!(narrower(&explanation), (4, strips(4)));
}

/// Plies of limits 2, 3 and 5, one, two and four of them, on one position: 1/2 + 2/3 + 4/5 is 59/30, so the position
/// needs 2 passes by its load; but no two passes hold them (a pass takes at most one of: the first with one of the
/// second, which leaves 1/6; two of the second with one of the third), so there are 3. Five plies more of the highest
/// limit would fit: (3 - 59/30) x 5 is 5 1/6.
#[test]
fn where_no_position_is_full_none_is_called_so() {
    let mut scenario: Value = serde_json::from_str(&triangles(1, "fewest_passes")).unwrap();
    scenario["boards"] = json!([scenario["boards"][0]]);
    scenario["boards"][0]["positions"][0]["as_drawn"] = 1.into();
    scenario["boards"][0]["positions"][0].as_object_mut().unwrap().remove("arrangement");
    let fabric = |name: &str, limit: u32| json!({ "name": name, "usable_width": "25", "print": "none", "ply_limit": limit });
    scenario["fabrics"] = json!([fabric("Thick", 2), fabric("Middling", 3), fabric("Thin", 5)]);
    let patches = |name: &str, count: u32| json!({ "shape": "triangle 4", "fabric": name, "count": count });
    scenario["loose_patches"] = json!([patches("Thick", 1), patches("Middling", 2), patches("Thin", 4)]);
    let explanation = explained(&planned(&scenario.to_string(), Strategy::default()));
    let board = &explanation.boards[0];
    let point = &board.points[0];
    assert_eq!(board.passes, 3);
    assert_eq!((point.plies, point.stacks, point.needs), (7, Rational { n: 59, d: 30 }, 2));
    assert_eq!((point.full, point.room), (false, 5));
}
