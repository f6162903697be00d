//! Published values of one-dimensional cutting stock. Source of the values: BPPLIB (Delorme, Iori and Martello,
//! Optimization Letters 12 (2018)); source of the instances: `one_width/README.md`.

use std::path::Path;

use patchlay_optimise::Quiet;
use patchlay_optimise::costs::{Costs, Limits};
use patchlay_optimise::model::{Fabric, Face, Item, Model, Ply};
use patchlay_optimise::one_width::{Order, Reach, solve};
use patchlay_optimise::search::{Effort, Search};

fn instance(name: &str) -> Order {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/one_width").join(format!("{name}.csp"));
    let text = std::fs::read_to_string(path).expect("the instance");
    let numbers: Vec<i64> = text.split_whitespace().map(|word| word.parse().expect("a number")).collect();
    let lengths: Vec<(i64, i64)> = numbers[2..].chunks(2).map(|pair| (pair[0], pair[1])).collect();
    assert_eq!(lengths.len(), usize::try_from(numbers[0]).expect("a count"));
    Order { capacity: numbers[1], lengths }
}

fn published(name: &str, strips: i64) {
    let order = instance(name);
    let answer = solve(&order, Reach::default(), &|| false).expect("a sound order");
    assert_eq!((answer.count(), answer.bound), (strips, strips));
    let mut cut = vec![0; order.lengths.len()];
    for (pattern, times) in &answer.strips {
        let length: i64 = pattern.iter().map(|&(place, count)| order.lengths[place].0 * count).sum();
        assert!(length <= order.capacity);
        pattern.iter().for_each(|&(place, count)| cut[place] += count * times);
    }
    assert!(cut.iter().zip(&order.lengths).all(|(cut, of)| *cut == of.1));
}

/// The search cuts a fabric of one strip width by it: the same value through the general model.
#[test]
fn a_fabric_of_one_strip_width() {
    let order = instance("schwerin1_BPP1");
    let mut fabric = Fabric { capacity: order.capacity, ..Fabric::default() };
    for (item, &(run, wanted)) in order.lengths.iter().enumerate() {
        fabric.items.push(Item { line: None, wanted: u64::try_from(wanted).expect("a count") });
        let class = fabric.class_of(vec![(1, run)]);
        let yields = vec![(item, 1)];
        fabric.plies.push(Ply { board: None, bay: 0, face: Face::Up, class, yields, load: 0 });
    }
    fabric.set_widths();
    let model = Model { grid: 1, fabrics: vec![fabric], boards: Vec::new() };
    let mut costs = Costs::zero(1);
    costs.width = vec![1];
    let effort = Effort { pool: 60, nodes: 300, branches: 300, patience: 2, seed: 1, until: None };
    let limits = Limits::default();
    let mut search = Search::new(&model, &costs, &limits, effort, &Quiet).expect("every length fits");
    let first = search.first();
    let best = search.improve(first);
    assert!(best.is_sound(&model));
    assert_eq!(best.cost(&costs), 18);
}

/// No cloth to waste.
#[test]
fn triplets() {
    published("falkenauer_t60_00", 20);
}

/// The bound of the relaxation is the value, but few plans reach it.
#[test]
fn few_plans_reach_the_bound() {
    published("hard28_BPP40", 59);
    published("schwerin1_BPP1", 18);
    published("scholl1_N1C1W1_A", 25);
}

/// One strip more than the relaxation says: the proof is by search.
#[test]
fn one_strip_more_than_the_relaxation_says() {
    published("hard28_BPP14", 62);
    published("hard28_BPP175", 84);
    published("waescher_TEST0022", 15);
    published("waescher_TEST0065", 16);
}

/// Strips of a hundred thousand steps.
#[test]
fn long_strips() {
    published("scholl3_HARD1", 57);
}
