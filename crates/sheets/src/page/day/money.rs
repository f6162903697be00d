//! The bags with what each costs, who brought which cloth, and who takes what is left.

use super::Hall;
use crate::day::cents;
use crate::fit::{Tenths, Type};
use crate::page::flow::{Block, Part, SHEET_WIDTH};
use crate::page::parts::{Cell, tight_row};

const NUMBER: Tenths = 150;
const NAME: Tenths = 620;
const FOR: Tenths = 480;
const COUNT: Tenths = 200;

/// What stands above the bags.
pub(super) fn title(hall: &Hall<'_>) -> &'static str {
    if hall.day.money.is_some() { "Bags, and what each costs" } else { "Bags" }
}

pub(super) fn parts(hall: &Hall<'_>) -> Vec<Part> {
    let money = hall.day.money.as_ref();
    let rows = hall.day.bags.iter().enumerate().map(|(at, bag)| {
        let needed: u64 = bag.lines.iter().map(|line| line.needed).sum();
        let spare: u64 = bag.lines.iter().map(|line| line.spare).sum();
        let urgent = if bag.urgent { ", urgent" } else { "" };
        let cost = money
            .and_then(|money| money.bags.get(at))
            .map_or_else(String::new, |paid| cents(hall.job, *paid));
        tight_row(&[
            Cell::number(&(at + 1).to_string(), Type::BODY, NUMBER),
            Cell::text(&format!("{}{urgent}", bag.name), Type::BODY, NAME),
            Cell::text(&bag.destination, Type::BODY, FOR),
            Cell::number(&needed.to_string(), Type::BODY, COUNT),
            Cell::number(&spare.to_string(), Type::BODY, COUNT),
            Cell::number(&cost, Type::BODY, SHEET_WIDTH - NUMBER - NAME - FOR - 2 * COUNT),
        ])
    });
    let head = tight_row(&[
        Cell::number("bag", Type::SMALL, NUMBER),
        Cell::text("what", Type::SMALL, NAME),
        Cell::text("for", Type::SMALL, FOR),
        Cell::number("patches", Type::SMALL, COUNT),
        Cell::number("spare", Type::SMALL, COUNT),
        Cell::number(
            if money.is_some() { "cost" } else { "" },
            Type::SMALL,
            SHEET_WIDTH - NUMBER - NAME - FOR - 2 * COUNT,
        ),
    ]);
    let mut parts = vec![Part::titled(title(hall), rows.collect()).headed(head)];
    let Some(money) = money else { return parts };
    parts[0].blocks.push(Block::text(
        &format!(
            "All bags together: {}, exactly what was bought. Every fabric is divided in proportion to the cut area of the \
             patches, strip waste shared in the same way, cents by the largest remainder.",
            cents(hall.job, money.total)
        ),
        Type::SMALL,
    ));
    let rows = money.fabrics.iter().map(|fabric| {
        let from = match (fabric.brought_by.as_str(), fabric.gift) {
            ("", _) => "bought together".to_owned(),
            (by, true) => format!("a gift from {by}"),
            (by, false) => format!("brought by {by}"),
        };
        let left = match (fabric.left.is_positive(), fabric.left_to.as_str()) {
            (false, _) => "nothing left".to_owned(),
            (true, "") => format!("{} left", fabric.left.show(hall.job.units)),
            (true, to) => format!("{} left, to {to}", fabric.left.show(hall.job.units)),
        };
        tight_row(&[
            Cell::text(&fabric.fabric, Type::BODY, 420),
            Cell::text(&from, Type::BODY, 600),
            Cell::number(&cents(hall.job, fabric.price), Type::BODY, 250),
            Cell::text(&left, Type::BODY, SHEET_WIDTH - 1270),
        ])
    });
    parts.push(Part::titled("Who brought which cloth, and who takes the rest", rows.collect()));
    parts
}
