//! What is wanted of each fabric, shape and hand; what is assumed; and the figures of a fabric.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on should stop")]

mod support;

use patchlay_measure::Length;
use patchlay_scenario::job::{Aim, Demand, Hand};
use serde_json::json;
use support::{base, drop_field, job, set};

fn demand(fabric: usize, shape: usize, hand: Hand, needed: u64, spare: u64) -> Demand {
    Demand { fabric, shape, hand, needed, spare }
}

#[test]
fn lines_are_merged_and_sorted() {
    let mut value = base();
    set(&mut value, "quilts[0].copies", json!(3));
    set(
        &mut value,
        "quilts[1]",
        json!({ "name": "Second", "blocks": [
            { "block": "Nine", "count": 1, "fabrics": { "dark": "Cream", "light": "Navy" } }
        ] }),
    );
    set(&mut value, "loose_patches[1]", json!({ "shape": "square", "fabric": "Cream", "count": 7 }));
    // Navy: 3 x 2 x 5 + 4; Cream: 3 x 2 x 4 + 5 + 7.
    assert_eq!(
        job(&value).demands,
        [demand(0, 0, Hand::Any, 34, 1), demand(0, 1, Hand::Drawn, 2, 1), demand(1, 0, Hand::Any, 36, 1),]
    );
}

#[test]
fn hands_are_counted_apart_unless_the_fabric_is_reversible() {
    let mut value = base();
    set(
        &mut value,
        "loose_patches[1]",
        json!({ "shape": "half", "fabric": "Navy", "count": 3, "mirrored": true }),
    );
    set(
        &mut value,
        "loose_patches[2]",
        json!({ "shape": "square", "fabric": "Navy", "count": 3, "mirrored": true }),
    );
    let apart = job(&value).demands;
    assert_eq!(apart[0], demand(0, 0, Hand::Any, 13, 1));
    assert_eq!(apart[1..3], [demand(0, 1, Hand::Drawn, 2, 1), demand(0, 1, Hand::Mirrored, 3, 1)]);
    set(&mut value, "fabrics[0].reversible", json!(true));
    assert_eq!(job(&value).demands[1], demand(0, 1, Hand::Any, 5, 1));
}

#[test]
fn percent_rounds_up_for_each_line() {
    let mut value = base();
    set(&mut value, "loose_patches[0].count", json!(41));
    set(&mut value, "spare_patches", json!({ "percent": 5 }));
    // 5 % of 10 is 0.5, of 41 is 2.05, of 8 is 0.4.
    let spares: Vec<u64> = job(&value).demands.iter().map(|demand| demand.spare).collect();
    assert_eq!(spares, [1, 3, 1]);
    set(&mut value, "spare_patches", json!({ "percent": "0" }));
    assert!(job(&value).demands.iter().all(|demand| demand.spare == 0 && demand.total() == demand.needed));
}

#[test]
fn the_proof_block_names_its_demand_lines() {
    let mut value = base();
    set(&mut value, "proof_block.block", json!("Nine"));
    let proof = job(&value).proof_block.unwrap();
    assert_eq!((proof.quilt, proof.block, proof.patches), (0, 0, vec![(0, 5), (2, 4)]));
}

#[test]
fn aims_carry_their_figures() {
    let mut value = base();
    set(&mut value, "aim", json!({ "put_first": "weighted", "pass_is_worth": 4 }));
    assert_eq!(job(&value).aim, Aim::Weighted { pass: Length::from_inches(4) });
    set(&mut value, "aim", json!({ "put_first": "least_cost", "hour_is_worth": "15.25" }));
    assert_eq!(job(&value).aim, Aim::LeastCost { hour: 152_500 });
}

#[test]
fn what_was_assumed_is_said() {
    let mut value = base();
    set(&mut value, "fabrics[0].squaring", json!(2));
    let said = job(&value).assumptions;
    let has = |words: &str| assert!(said.iter().any(|line| line == words), "{words}: {said:#?}");
    has("Cloth reaches past the outermost blades, the set margin, by 1/4 in.");
    has("Sold by 1/8 yd, that is in steps of 4 1/2 in, for every fabric.");
    has("Stacked as high as the cutter takes, for every fabric.");
    has("Lost to squaring before the first strip: 1 in, for Cream.");
    has("Left unused at the end of every strip: 1/2 in, for every fabric.");
    assert!(said.iter().any(|line| line.starts_with("Standard times in seconds, our guesses: square 120, ")));
    assert!(!said.iter().any(|line| line.contains("no prices")));
    // What is stated is no assumption.
    set(&mut value, "rules.margin", json!("3/8"));
    assert!(!job(&value).assumptions.iter().any(|line| line.contains("the set margin")));
}

#[test]
fn cautions_are_said() {
    let mut value = base();
    set(&mut value, "fabrics[1].print", json!("caution"));
    set(&mut value, "fabrics[2]", json!({ "name": "Idle", "usable_width": 41, "print": "none", "price": 0 }));
    // 9.01 in is within half a percent of what nine squares of 3 in fill, but not what they fill.
    set(&mut value, "blocks[0].finished", json!("9 1/64"));
    let said = job(&value).cautions.join("\n");
    for words in
        ["Cream has a direction", "Nothing is cut from Idle.", "Block Nine: its patches make 81.0 sq in"]
    {
        assert!(said.contains(words), "{words}: {said}");
    }
}

#[test]
fn letters_leave_out_the_stated_ones() {
    let mut value = base();
    set(&mut value, "fabrics[1].letter", json!("A"));
    let letters: Vec<String> = job(&value).fabrics.into_iter().map(|fabric| fabric.letter).collect();
    assert_eq!(letters, ["B", "A"]);
}

#[test]
fn cloth_taken_and_bought() {
    let mut value = base();
    set(&mut value, "fabrics[0].kept_back", json!([{ "what": "binding", "length": "1/2 yd" }]));
    set(&mut value, "fabrics[1].shrinkage_percent", json!(5));
    set(&mut value, "fabrics[1].width_measured", json!("before_washing"));
    let job = job(&value);
    let inch = Length::from_inches;
    let navy = &job.fabrics[0];
    assert_eq!(navy.taken(0, Length::ZERO), inch(18));
    // Squaring 1 in; again 1/4 in only where a sixth strip follows five.
    assert_eq!(navy.taken(5, inch(20)), inch(39));
    assert_eq!(navy.taken(6, inch(24)), inch(43) + Length::from_64ths(16));
    assert_eq!(navy.taken(11, inch(44)), inch(63) + Length::from_64ths(32));
    assert_eq!(navy.strip_capacity(), inch(40) + Length::from_64ths(32));
    // An exact multiple of 4 1/2 in does not round further.
    assert_eq!(navy.bought(inch(45)), inch(45));
    let cream = &job.fabrics[1];
    // To keep 36 in at 5 % buy 37.895 (exact arithmetic: 36 / 0.95), which is nine steps of 4 1/2 in.
    assert_eq!(cream.bought(inch(36)), Length::from_64ths(9 * 288));
    // 40 1/2 in x 0.95 = 38.475 in = 312,724.8 units.
    assert_eq!((cream.stated_width, cream.width), (Length::from_64ths(2592), Length::from_units(312_724)));
}

#[test]
fn prices_are_for_all_or_none() {
    let mut value = base();
    assert!(job(&value).priced);
    drop_field(&mut value, "fabrics[0].price");
    drop_field(&mut value, "fabrics[1].price");
    let job = job(&value);
    assert!(!job.priced);
    // One per square unit of bought cloth.
    let bought = Length::from_inches(10);
    assert_eq!(job.fabrics[0].money(bought).units(), (bought * job.fabrics[0].stated_width).units());
}

#[test]
fn one_way_prints_are_not_folded_unless_allowed() {
    let mut value = base();
    set(&mut value, "fabrics[0].print", json!("one_way"));
    set(&mut value, "fabrics[0].travel_rule", json!("strip_along_travel"));
    assert!(!job(&value).fabrics[0].folding);
    set(&mut value, "fabrics[0].allow_turned", json!(true));
    drop_field(&mut value, "fabrics[0].travel_rule");
    assert!(job(&value).fabrics[0].folding);
}

#[test]
fn metric_numbers_are_centimetres() {
    let mut value = base();
    set(&mut value, "units", json!("metric"));
    set(&mut value, "cutter.bed_width", json!("12 in"));
    for at in ["cutter.longest_board", "cutter.mats[0].length"] {
        set(&mut value, at, json!("24 in"));
    }
    set(&mut value, "cutter.mats[0].width", json!("12 in"));
    set(&mut value, "boards[0].width", json!(12));
    set(&mut value, "boards[0].positions[0].gap_across", json!("1.2"));
    let job = job(&value);
    assert_eq!(job.boards[0].width, Length::from_mm_tenths(1_200));
    assert_eq!(job.ruler_step, Length::from_mm_tenths(10));
    assert_eq!(job.fabrics[0].selling_step, Length::from_mm_tenths(1_000));
}
