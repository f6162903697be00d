//! Where the cloth of every fabric goes, line by line.

use patchlay_measure::Area;
use patchlay_plan::{BalanceItem, Plan};

use crate::fault::{FaultCode, Faults};
use crate::figures::Counted;

/// Lines of one fabric, in the order of [`BalanceItem::ALL`], and their total.
fn lines(counted: &Counted<'_>, fabric: usize) -> ([i128; 11], i128) {
    let (facts, taken) = (counted.facts, &counted.cloth[fabric]);
    let cloth = &facts.fabrics[fabric];
    let patches = Patches::of(counted, fabric);
    let plies = Plies::of(counted, fabric);
    let (strips, pieces) = strips(counted.plan, fabric);
    let width = i128::from(cloth.width.units());
    let total = (taken.bought * cloth.stated_width).units();
    let washed = cloth.area(cloth.washed_length(taken.bought)).units();
    let mut lines = BalanceItem::ALL.map(|item| match item {
        BalanceItem::FinishedPatches => patches.finished,
        BalanceItem::Seams => patches.needed - patches.finished,
        BalanceItem::SparePatches => patches.cut - patches.needed,
        BalanceItem::BetweenBlades => plies.boxes - patches.cut,
        BalanceItem::Margins => plies.cloth - plies.boxes,
        BalanceItem::RoundingFoldsTrimmings => pieces - plies.cloth,
        BalanceItem::StripEnds => strips * width - pieces,
        BalanceItem::Squaring => cloth.area(taken.squaring).units(),
        BalanceItem::KeptBack => cloth.area(cloth.kept_back).units(),
        BalanceItem::Shrinkage => total - washed,
        BalanceItem::LeftOnBolt => 0,
    });
    lines[10] = total - lines.iter().sum::<i128>();
    (lines, total)
}

/// Areas of patches, in square units.
struct Patches {
    finished: i128,
    needed: i128,
    cut: i128,
}

impl Patches {
    fn of(counted: &Counted<'_>, fabric: usize) -> Self {
        let areas = |shape: usize| counted.facts.shapes[shape].shape.areas();
        let mut sums = Self { finished: 0, needed: 0, cut: 0 };
        for line in counted.facts.demand.lines.iter().filter(|line| line.fabric == fabric) {
            sums.finished += i128::from(line.needed) * areas(line.shape).finished.units();
            sums.needed += i128::from(line.needed) * areas(line.shape).cut.units();
        }
        for ((_, shape), &count) in counted.cut.all.range((fabric, 0)..=(fabric, usize::MAX)) {
            sums.cut += i128::from(count) * areas(*shape).cut.units();
        }
        sums
    }
}

/// Areas of all plies, in square units.
struct Plies {
    boxes: i128,
    cloth: i128,
}

impl Plies {
    fn of(counted: &Counted<'_>, fabric: usize) -> Self {
        let mut sums = Self { boxes: 0, cloth: 0 };
        for layup in counted.layups {
            for load in &layup.loads {
                let plies: u64 = load
                    .groups
                    .iter()
                    .filter(|(own, _)| *own == fabric)
                    .map(|(_, group)| u64::from(group.plies))
                    .sum();
                let plies = i128::from(plies) * i128::from(layup.passes);
                let bay = &counted.facts.boards[layup.board].bays[load.bay];
                sums.boxes += plies * bay.box_area.units();
                sums.cloth += plies * bay.cloth_area.units();
            }
        }
        sums
    }
}

/// Sum of the strip widths, and area of the pieces as they come from the strip.
fn strips(plan: &Plan, fabric: usize) -> (i128, i128) {
    let strips = plan.fabrics.get(fabric).map_or(&[][..], |fabric| &fabric.strips);
    let widths = strips.iter().map(|strip| i128::from(strip.width.units())).sum();
    let pieces = strips
        .iter()
        .flat_map(|strip| strip.pieces.iter().map(move |piece| (piece.length * strip.width).units()))
        .sum();
    (widths, pieces)
}

/// Judges the balances.
pub(crate) fn judge(counted: &Counted<'_>, faults: &mut Faults) {
    let (facts, found) = (counted.facts, &counted.plan.balance);
    faults.equal(FaultCode::ListDiffers, "balance", found.len(), facts.fabrics.len());
    for (at, (found, cloth)) in found.iter().zip(&facts.fabrics).enumerate() {
        let place = format!("balance of {}", cloth.name);
        if found.fabric != cloth.name {
            faults.add(FaultCode::ListDiffers, &place, &found.fabric, &cloth.name);
            continue;
        }
        let (lines, total) = lines(counted, at);
        faults.equal(FaultCode::BalanceTotal, &place, found.total.units(), total);
        faults.equal(FaultCode::BalanceLine, format!("{place}, lines"), found.lines.len(), lines.len());
        for ((line, item), area) in found.lines.iter().zip(BalanceItem::ALL).zip(lines) {
            let place = format!("{place}, {item:?}");
            if line.item != item {
                faults.add(FaultCode::BalanceLine, &place, format!("{:?}", line.item), format!("{item:?}"));
            }
            faults.equal(FaultCode::BalanceLine, place, line.area.units(), area);
        }
        adds_up(found.lines.iter().map(|line| line.area), found.total, &place, faults);
    }
}

fn adds_up(mut lines: impl Iterator<Item = Area>, total: Area, place: &str, faults: &mut Faults) {
    let sum = lines.try_fold(0_i128, |sum, area| sum.checked_add(area.units()));
    if sum != Some(total.units()) {
        let sum = sum.map_or_else(|| "more than can be counted".to_owned(), |sum| sum.to_string());
        faults.add(FaultCode::BalanceTotal, format!("{place}, sum of the lines"), sum, total.units());
    }
}
