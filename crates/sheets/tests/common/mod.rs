//! Plans filled by hand for small jobs: simple, wasteful, but consistent in every figure that is printed. Independent
//! of the optimiser, so that the sheets can be tested by themselves.
#![allow(dead_code, reason = "every test file uses its own part of it")]

pub(crate) mod html;

use patchlay_measure::{Area, Length, Money};
use patchlay_plan::*;
use patchlay_scenario::job::{self, Board, Job};

/// Reads a scenario text, or fails the test with everything that is wrong with it.
pub(crate) fn job(text: &str) -> Job {
    match patchlay_scenario::load(text) {
        Ok((_, job)) => job,
        Err(error) => panic!("{error:?}"),
    }
}

/// Reads one of the demo scenarios.
pub(crate) fn demo(name: &str) -> Job {
    let path = format!("{}/../../scenarios/{name}.json", env!("CARGO_MANIFEST_DIR"));
    job(&std::fs::read_to_string(path).expect("a demo scenario"))
}

/// One stack on one bay in one pass: fabric and plies, bottom first.
type Stack = Vec<(usize, u32)>;

/// A plan that cuts every demand line by itself, one bay to a pass, full stacks first.
pub(crate) fn plan(job: &Job) -> Plan {
    let mut fabrics: Vec<Vec<Strip>> = vec![Vec::new(); job.fabrics.len()];
    let mut layups: Vec<LayUp> = Vec::new();
    let mut passes_by_board = vec![0; job.boards.len()];
    let mut cut = vec![0; job.demands.len()];
    for (at, demand) in job.demands.iter().enumerate() {
        let (board_id, bay_id, each) = home(job, demand);
        let board = &job.boards[board_id];
        let most = board.ply_limit.min(job.fabrics[demand.fabric].ply_limit);
        let plies = demand.total().div_ceil(u64::from(each)) as u32;
        cut[at] = u64::from(plies * each);
        for (stack, times) in [(most, plies / most), (plies % most, 1)] {
            if stack > 0 && times > 0 {
                let load = load(job, board, bay_id, &vec![(demand.fabric, stack)], demand);
                let passes = (0..times).map(|_| supply(job, board, bay_id, &load, &mut fabrics)).collect();
                passes_by_board[board_id] += u64::from(times);
                let name = format!("L{}", layups.len() + 1);
                let mats = mats(job, board, &load.positions);
                layups.push(LayUp {
                    name,
                    board: board.name.clone(),
                    mats,
                    bays: vec![load],
                    passes,
                    serves: Vec::new(),
                });
            }
        }
    }
    finish(job, fabrics, layups, passes_by_board, &cut)
}

/// The bay that yields most of a demand line per ply.
fn home(job: &Job, demand: &job::Demand) -> (usize, usize, u32) {
    let yields = |bay: &job::Bay| {
        bay.yields
            .iter()
            .filter(|(shape, ..)| *shape == demand.shape)
            .map(|(_, drawn, mirrored)| match demand.hand {
                job::Hand::Any => drawn + mirrored,
                // A flat cut of each ply lies as it must, so the better hand counts.
                _ => *drawn.max(mirrored),
            })
            .sum::<u32>()
    };
    let rule = job.fabrics[demand.fabric].travel_rule;
    let mut best = (0, 0, 0);
    for (board_id, board) in job.boards.iter().enumerate() {
        for (bay_id, bay) in board.bays.iter().enumerate() {
            let one_shape = bay.yields.len() == 1 && !bay.ways(rule).is_empty();
            // Nothing is cut that another demand line would count.
            let one_hand = demand.hand == job::Hand::Any || bay.yields[0].1 == 0 || bay.yields[0].2 == 0;
            if one_shape && one_hand && yields(bay) > best.2 {
                best = (board_id, bay_id, yields(bay));
            }
        }
    }
    assert!(best.2 > 0, "no bay for {demand:?}");
    best
}

fn load(job: &Job, board: &Board, bay_id: usize, stack: &Stack, demand: &job::Demand) -> BayLoad {
    let bay = &board.bays[bay_id];
    let mut groups = Vec::new();
    for &(fabric, plies) in stack {
        let way = match bay.ways(job.fabrics[fabric].travel_rule)[0] {
            job::Way::Along => Way::Along,
            job::Way::Across => Way::Across,
        };
        let (_, drawn, mirrored) = bay.yields[0];
        let face = match demand.hand {
            job::Hand::Mirrored if drawn >= mirrored => Face::Down,
            job::Hand::Drawn if drawn < mirrored => Face::Down,
            _ => Face::Up,
        };
        let group = |plies| Group { fabric: job.fabrics[fabric].name.clone(), plies, first_face: face, way };
        // Folds turn every second ply over, so a handed line gets flat cuts only.
        let run = bay.cut(bay.ways(job.fabrics[fabric].travel_rule)[0]).0 + job.fold_allowance;
        let most = job.fabrics[fabric].strip_capacity().whole_runs(run) as u32;
        if demand.hand == job::Hand::Any && job.fabrics[fabric].folding && plies > 2 {
            let folded = (plies - 1).min(most);
            groups.push(group(folded));
            groups.extend((folded..plies).map(|_| group(1)));
        } else {
            groups.extend((0..plies).map(|_| group(1)));
        }
    }
    BayLoad { positions: bay.positions.clone(), groups }
}

/// Cuts what one pass needs, and names it by bay and group.
fn supply(
    job: &Job,
    board: &Board,
    bay_id: usize,
    load: &BayLoad,
    fabrics: &mut [Vec<Strip>],
) -> Vec<Vec<String>> {
    let bay = &board.bays[bay_id];
    let piece = |group: &Group| {
        let fabric = job.fabrics.iter().position(|fabric| fabric.name == group.fabric).expect("a fabric");
        let (run, width) = bay.cut(match group.way {
            Way::Along => job::Way::Along,
            Way::Across => job::Way::Across,
        });
        let length = run * i64::from(group.plies) + job.fold_allowance * i64::from(group.plies - 1);
        let length = length.ceil_to(job.ruler_step);
        onto_strip(job, fabric, &mut fabrics[fabric], (group.plies, run, length, width))
    };
    vec![load.groups.iter().map(piece).collect()]
}

/// Puts a length on the first strip with room that is wide enough by half an inch at most, else on a new one.
fn onto_strip(
    job: &Job,
    fabric: usize,
    strips: &mut Vec<Strip>,
    (plies, run, length, width): (u32, Length, Length, Length),
) -> String {
    let room = job.fabrics[fabric].strip_capacity();
    let used = |strip: &Strip| strip.pieces.iter().map(|piece| piece.length).sum::<Length>();
    let fits = |strip: &Strip| {
        strip.width >= width && strip.width - width <= Length::from_64ths(32) && used(strip) + length <= room
    };
    let at = strips.iter().position(fits).unwrap_or_else(|| {
        let name = format!("{}{}", job.fabrics[fabric].letter, strips.len() + 1);
        strips.push(Strip { name, width, pieces: Vec::new() });
        strips.len() - 1
    });
    let strip = &mut strips[at];
    let name = format!("{}{}", strip.name, letters(strip.pieces.len()));
    strip.pieces.push(Piece { name: name.clone(), plies, run, length, width });
    name
}

fn letters(at: usize) -> String {
    let letter = char::from(b'a' + (at % 26) as u8);
    if at < 26 { letter.to_string() } else { format!("{}{letter}", letters(at / 26 - 1)) }
}

fn mats(job: &Job, board: &Board, positions: &[usize]) -> Vec<MatUse> {
    let places = patchlay_scenario::choose_mats(&job.cutter, board, positions).expect("mats");
    let used = |place: patchlay_scenario::MatPlace| MatUse {
        mat: job.cutter.mats[place.mat].name.clone(),
        x: place.x,
        y: place.y,
        turned: place.turned,
    };
    places.into_iter().map(used).collect()
}

fn finish(
    job: &Job,
    strips: Vec<Vec<Strip>>,
    layups: Vec<LayUp>,
    passes_by_board: Vec<u64>,
    cut: &[u64],
) -> Plan {
    let fabrics: Vec<FabricPlan> =
        job.fabrics.iter().zip(strips).map(|(fabric, strips)| fabric_plan(fabric, strips)).collect();
    let pieces = || fabrics.iter().flat_map(|fabric| &fabric.strips).flat_map(|strip| &strip.pieces);
    let passes: u64 = passes_by_board.iter().sum();
    let trimmed = fabrics.iter().flat_map(|fabric| &fabric.strips);
    let trimmed = trimmed
        .map(|strip| strip.pieces.iter().filter(|piece| piece.width < strip.width).count())
        .sum::<usize>();
    let widths = || fabrics.iter().zip(&job.fabrics);
    let figures = Figures {
        money: fabrics.iter().map(|fabric| fabric.money).sum(),
        length_taken: fabrics.iter().map(|fabric| fabric.taken).sum(),
        length_bought: fabrics.iter().map(|fabric| fabric.bought).sum(),
        area_taken: widths().map(|(plan, fabric)| plan.taken * fabric.width).sum(),
        area_bought: widths().map(|(plan, fabric)| plan.bought * fabric.stated_width).sum(),
        passes,
        passes_by_board,
        seconds: 60 * passes,
        seconds_by_event: vec![EventTime { event: Event::Crank, times: passes, seconds: 60 * passes }],
        layups: layups.len() as u64,
        changes: 0,
        pieces: pieces().count() as u64,
        kinds: 1,
        folded_lengths: pieces().filter(|piece| piece.plies > 1).count() as u64,
        trimmed: trimmed as u64,
        strips: fabrics.iter().map(|fabric| fabric.strips.len() as u64).sum(),
        spare_patches: job.demands.iter().zip(cut).map(|(demand, cut)| cut - demand.needed).sum(),
        most_plies: job.cutter.ply_limit,
        most_fabrics: 1,
    };
    Plan {
        patchlay_plan: PLAN_VERSION,
        made_by: "by hand".into(),
        number: "12ab-34cd".into(),
        seed: 1,
        scenario_digest: String::new(),
        scenario: serde_json::Value::Null,
        strategy: patchlay_plan::Strategy::default(),
        batches: Vec::new(),
        outcome: Outcome::WithGap,
        layups,
        patches: job.demands.iter().zip(cut).map(|(demand, cut)| patch_line(job, demand, *cut)).collect(),
        proof_block: job.proof_block.as_ref().map(|_| ProofBlock {
            layups: 2,
            passes: 3,
            extra_passes: 1,
            extra_cloth: Length::from_inches(4),
        }),
        balance: fabrics.iter().zip(&job.fabrics).map(|(plan, fabric)| balance(plan, fabric)).collect(),
        bounds: vec![Bound {
            figure: FigureKind::Passes,
            value: passes.to_string(),
            bound: (passes - 1).to_string(),
            conditional: false,
            proved: false,
        }],
        certificate: Certificate::default(),
        fewest: None,
        fabrics,
        figures,
    }
}

fn fabric_plan(fabric: &job::Fabric, strips: Vec<Strip>) -> FabricPlan {
    let taken = fabric.taken(strips.len(), strips.iter().map(|strip| strip.width).sum());
    let bought = fabric.bought(taken);
    let money: Money = fabric.money(bought);
    let squaring = fabric.taken(strips.len(), Length::ZERO) - fabric.kept_back_total();
    let kept_back = fabric.kept_back_total();
    FabricPlan { fabric: fabric.name.clone(), strips, kept_back, squaring, taken, bought, money }
}

fn patch_line(job: &Job, demand: &job::Demand, cut: u64) -> PatchLine {
    PatchLine {
        fabric: job.fabrics[demand.fabric].name.clone(),
        shape: job.shapes[demand.shape].name.clone(),
        hand: match demand.hand {
            job::Hand::Any => Hand::Any,
            job::Hand::Drawn => Hand::Drawn,
            job::Hand::Mirrored => Hand::Mirrored,
        },
        needed: demand.needed,
        spare: demand.spare,
        cut,
    }
}

/// Two lines that are right and a remainder: enough for printing.
fn balance(plan: &FabricPlan, fabric: &job::Fabric) -> Balance {
    let total = plan.bought * fabric.stated_width;
    let area = |item| match item {
        BalanceItem::Squaring => plan.squaring * fabric.width,
        BalanceItem::KeptBack => plan.kept_back * fabric.width,
        BalanceItem::LeftOnBolt => total - (plan.squaring + plan.kept_back) * fabric.width,
        _ => Area::ZERO,
    };
    let lines = BalanceItem::ALL.into_iter().map(|item| BalanceLine { item, area: area(item) }).collect();
    Balance { fabric: fabric.name.clone(), total, lines }
}

/// A scenario with many fabrics and long names: every fabric gives loose squares.
pub(crate) fn many_fabrics(fabrics: usize, name: impl Fn(usize) -> String) -> String {
    let fabric = |at: usize| serde_json::json!({ "name": name(at), "usable_width": "42", "print": "none", "colour": "#808080" });
    let loose = |at: usize| serde_json::json!({ "shape": "square 4", "fabric": name(at), "count": 30 + at });
    let scenario = serde_json::json!({
        "patchlay_scenario": 1,
        "name": format!("{} & <friends>", name(0)),
        "units": "inch",
        "cutter": {
            "bed_width": "12", "longest_board": "18", "ply_limit": 6,
            "mats": [{ "name": "mat", "width": "12", "length": "12" }]
        },
        "rules": { "travel_rule": "either" },
        "fabrics": (0..fabrics).map(fabric).collect::<Vec<_>>(),
        "shapes": [{ "name": "square 4", "kind": "square", "side": "4" }],
        "boards": [{
            "name": "two squares", "width": "11", "length": "7",
            "positions": [{ "shape": "square 4", "at": ["3/4", "1"], "columns": 2, "gap_across": "1/2" }]
        }],
        "loose_patches": (0..fabrics).map(loose).collect::<Vec<_>>(),
        "spare_patches": { "number": 0 },
        "aim": { "put_first": "fewest_passes" }
    });
    scenario.to_string()
}
