//! The fewest bags open at a time, against published cases of the minimisation of open stacks. Their source stands in
//! `tests/reference/data/open-stacks/README.md`.

#![allow(clippy::unwrap_used, reason = "a test ends where something cannot be had")]

use patchlay_group::open::{fewest_open, most_open};
use serde_json::Value;

/// Name, bags by run, published fewest, published order.
type Published = (String, Vec<Vec<usize>>, usize, Vec<usize>);

fn published() -> Vec<Published> {
    let text = include_str!("../../../tests/reference/data/open-stacks/instances.jsonl");
    let number = |value: &Value| usize::try_from(value.as_u64().unwrap()).unwrap();
    text.lines()
        .map(|line| {
            let case: Value = serde_json::from_str(line).unwrap();
            let orders: Vec<&str> =
                case["orders"].as_array().unwrap().iter().map(|o| o.as_str().unwrap()).collect();
            let order: Vec<usize> =
                case["order"].as_array().unwrap().iter().map(|run| number(run) - 1).collect();
            let wants = |bag: &usize, run: usize| orders[*bag].as_bytes()[run] == b'1';
            let needs = (0..order.len()).map(|run| (0..orders.len()).filter(|bag| wants(bag, run)).collect());
            (case["name"].as_str().unwrap().to_owned(), needs.collect(), number(&case["fewest"]), order)
        })
        .collect()
}

#[test]
fn published_orders_have_as_many_open_as_published() {
    for (name, needs, fewest, order) in published() {
        assert_eq!(most_open(&needs, &order), fewest, "{name}");
    }
}

#[test]
fn the_published_fewest_are_found_and_proved() {
    for (name, needs, fewest, _) in published() {
        let found = fewest_open(&needs);
        assert_eq!(found.at_least, fewest, "{name}");
        let order = found.order.unwrap_or_else(|| panic!("{name}: no order found"));
        assert_eq!(most_open(&needs, &order), fewest, "{name}");
    }
}
