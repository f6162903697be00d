//! Fabrics of every kind: wide and narrow, with and without direction, washed or not.

use serde_json::{Value, json};

use super::Dice;

/// All travel rules.
pub(crate) const TRAVEL_RULES: [&str; 3] = ["strip_along_travel", "strip_across_travel", "either"];

/// Whether no ply of a fabric may be turned over.
pub(crate) fn keeps_direction(fabric: &Value) -> bool {
    fabric["print"] == "one_way" && fabric["allow_turned"] != true
}

/// One to four fabrics, with prices where they are needed and otherwise every second time.
pub(crate) fn fabrics(dice: &mut Dice, travel: &str, cutter_plies: i64, priced: bool) -> Vec<Value> {
    let priced = priced || dice.one_in(2);
    let count = dice.between(1, 4);
    (0..count).map(|number| fabric(dice, travel, cutter_plies, priced, number)).collect()
}

fn fabric(dice: &mut Dice, travel: &str, cutter_plies: i64, priced: bool, number: i64) -> Value {
    // A quarter cut, about 20 in wide, or whole cloth, 37 to 44 in: common practice, no source.
    let width = if dice.one_in(6) { dice.between(150, 168) } else { dice.between(296, 352) };
    let mut fabric = json!({
        "name": format!("fabric {number}"),
        "usable_width": dice.length(width),
        "print": dice.of(&["none", "none", "none", "caution", "one_way"]),
    });
    if fabric["print"] == "one_way" {
        directed(dice, &mut fabric, travel);
    } else if dice.one_in(4) {
        fabric["travel_rule"] = json!(dice.of(&TRAVEL_RULES));
    }
    if dice.one_in(5) {
        fabric["reversible"] = json!(true);
    }
    if dice.one_in(4) {
        fabric["ply_limit"] = json!(dice.between(1, cutter_plies));
    }
    if priced {
        fabric["price"] = json!(dice.of(&["0", "7.20", "9.80", "11.40", "12.95"]));
    }
    if dice.one_in(4) {
        fabric["shrinkage_percent"] = json!(dice.of(&["1", "2.5", "3", "5"]));
        fabric["width_measured"] = json!(dice.of(&["before_washing", "after_washing"]));
    }
    reserves(dice, &mut fabric);
    fabric
}

/// Squaring, end reserve, selling step and what is kept back, each only now and then.
fn reserves(dice: &mut Dice, fabric: &mut Value) {
    for (field, low, high) in
        [("squaring", 0, 16), ("resquaring", 0, 6), ("end_reserve", 0, 10), ("selling_step", 8, 72)]
    {
        if dice.one_in(4) {
            let steps = dice.between(low, high);
            fabric[field] = dice.length(steps);
        }
    }
    if dice.one_in(6) {
        let steps = dice.between(20, 200);
        fabric["kept_back"] = json!([{ "what": "border", "length": dice.length(steps) }]);
    }
}

/// A one-way print needs one stated way, or leave to be turned.
fn directed(dice: &mut Dice, fabric: &mut Value, travel: &str) {
    match dice.below(3) {
        0 => fabric["allow_turned"] = json!(true),
        1 if travel != "either" => {}
        _ => fabric["travel_rule"] = json!(dice.of(&TRAVEL_RULES[..2])),
    }
}

/// A fabric so narrow that a strip of it is shorter than a patch.
pub(crate) fn ribbon(dice: &Dice, like: &Value, width: i64) -> Value {
    let mut ribbon = json!({
        "name": "ribbon",
        "usable_width": dice.length(width),
        "end_reserve": dice.length(0),
        "print": "none",
    });
    priced_like(&mut ribbon, like);
    ribbon
}

/// A one-way print of usual width that may not be turned over.
pub(crate) fn one_way(dice: &Dice, like: &Value, travel: &str) -> Value {
    let mut banner = json!({ "name": "banner", "usable_width": dice.length(336), "print": "one_way" });
    if travel == "either" {
        banner["travel_rule"] = json!(TRAVEL_RULES[0]);
    }
    priced_like(&mut banner, like);
    banner
}

/// All fabrics have a price or none has.
fn priced_like(fabric: &mut Value, like: &Value) {
    if !like["price"].is_null() {
        fabric["price"] = like["price"].clone();
    }
}
