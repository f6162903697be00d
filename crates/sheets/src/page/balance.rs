//! Where every square inch of the cloth goes.

use patchlay_measure::{Area, largest_remainder};
use patchlay_plan::{Balance, BalanceItem};

use super::flow::{Block, Part, SHEET_WIDTH};
use super::parts::{Cell, tight_row};
use crate::fit::{Tenths, Type};
use crate::view::View;
use crate::words;

const NAME: Tenths = 470;
const AREA: Tenths = 250;
const SHARE: Tenths = 180;

/// Title of the balance of all fabrics together.
pub(crate) const TITLE: &str = "Where the cloth goes";

/// The area of one line over some fabrics.
fn area(balances: &[Balance], item: BalanceItem) -> Area {
    let lines = balances.iter().flat_map(|balance| &balance.lines);
    lines.filter(|line| line.item == item).map(|line| line.area).sum()
}

/// Shares of the lines in tenths of a percent; they add up to 100 %.
fn shares(balances: &[Balance]) -> Vec<u32> {
    let areas: Vec<i128> = BalanceItem::ALL.iter().map(|item| area(balances, *item).units()).collect();
    largest_remainder(&areas, 1000)
}

/// All fabrics together; nothing where the plan has no balance.
pub(crate) fn whole(view: &View<'_>) -> Vec<Block> {
    let balances = &view.plan.balance;
    if balances.is_empty() {
        return Vec::new();
    }
    let units = view.job.units;
    let mut blocks = vec![tight_row(&[
        Cell::text("", Type::SMALL, NAME),
        Cell::number("area", Type::SMALL, AREA),
        Cell::number("share", Type::SMALL, SHARE),
    ])];
    blocks.extend(BalanceItem::ALL.iter().zip(shares(balances)).map(|(item, share)| {
        line(words::balance(*item), &area(balances, *item).show(units), share, Type::SMALL)
    }));
    let total: Area = balances.iter().map(|balance| balance.total).sum();
    let sum = shares(balances).iter().sum();
    blocks.push(line("all the cloth bought", &total.show(units), sum, Type::SMALL_STRONG));
    let last = blocks.len() - 1;
    blocks.iter_mut().take(last).for_each(|block| block.with_next = true);
    blocks
}

fn line(name: &str, area: &str, share: u32, face: Type) -> Block {
    tight_row(&[
        Cell::text(name, face, NAME),
        Cell::number(area, face, AREA),
        Cell::number(&words::share(share), face, SHARE),
    ])
}

/// Each fabric by itself where there are several: percent only, a fabric to a row.
pub(crate) fn by_fabric(view: &View<'_>) -> Option<Part> {
    if view.plan.balance.len() < 2 {
        return None;
    }
    let first = 300;
    let each = (SHEET_WIDTH - first) / BalanceItem::ALL.len() as Tenths;
    let head = |item: &BalanceItem| Cell::number(column_name(*item), Type::TINY, each);
    let mut heads = vec![Cell::text("share of each fabric, percent", Type::TINY, first)];
    heads.extend(BalanceItem::ALL.iter().map(head));
    let rows = view.plan.balance.iter().map(|balance| {
        let letter = view.job.fabrics.iter().find(|fabric| fabric.name == balance.fabric);
        let name = letter
            .map_or_else(|| balance.fabric.clone(), |fabric| format!("{} {}", fabric.letter, fabric.name));
        let mut cells = vec![Cell::text(&name, Type::SMALL, first)];
        let balances = std::slice::from_ref(balance);
        let cell = |share: u32| Cell::number(&format!("{}.{}", share / 10, share % 10), Type::SMALL, each);
        cells.extend(shares(balances).into_iter().map(cell));
        tight_row(&cells)
    });
    Some(Part::titled("Fabric by fabric", rows.collect()).headed(tight_row(&heads)))
}

/// Short enough for a narrow column.
fn column_name(item: BalanceItem) -> &'static str {
    match item {
        BalanceItem::FinishedPatches => "finished patches",
        BalanceItem::Seams => "seams",
        BalanceItem::SparePatches => "spare patches",
        BalanceItem::BetweenBlades => "tips, gaps",
        BalanceItem::Margins => "margins",
        BalanceItem::RoundingFoldsTrimmings => "round, fold, trim",
        BalanceItem::StripEnds => "strip ends",
        BalanceItem::Squaring => "square",
        BalanceItem::KeptBack => "kept back",
        BalanceItem::Shrinkage => "the wash",
        BalanceItem::LeftOnBolt => "left on the bolt",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use patchlay_plan::BalanceLine;

    #[test]
    fn printed_shares_add_up_to_a_hundred() {
        // Three equal lines are 33.3 % each, and one of them has to be 33.4 %.
        let lines =
            BalanceItem::ALL[..3].iter().map(|item| BalanceLine { item: *item, area: Area::from_units(7) });
        let balance = Balance { fabric: "Navy".into(), total: Area::from_units(21), lines: lines.collect() };
        let shares = shares(&[balance]);
        assert_eq!(shares.iter().sum::<u32>(), 1000);
        assert_eq!(&shares[..3], [334, 333, 333]);
    }
}
