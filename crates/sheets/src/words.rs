//! How a quilter says it: numbers with their noun, sums written out, times, lists.

use patchlay_measure::{Length, UnitSystem};
use patchlay_plan::{BalanceItem, Event, FabricPlan, Piece};
use patchlay_scenario::job::{AimKind, Fabric, PrintDirection};

use crate::view::Cloth;

/// `1 pass`, `25 passes`.
pub(crate) fn count(number: impl TryInto<u64>, one: &str, many: &str) -> String {
    let number = number.try_into().unwrap_or(u64::MAX);
    format!("{number} {}", if number == 1 { one } else { many })
}

/// `25 passes`.
pub(crate) fn passes(number: impl TryInto<u64>) -> String {
    count(number, "pass", "passes")
}

/// `1 ply`, `4 plies`.
pub(crate) fn plies(number: u32) -> String {
    count(number, "ply", "plies")
}

/// `a`, `a and b`, `a, b and c`.
pub(crate) fn list(items: &[String]) -> String {
    match items {
        [] => String::new(),
        [one] => one.clone(),
        [rest @ .., last] => format!("{} and {last}", rest.join(", ")),
    }
}

/// Ascending numbers: `3`, `1, 2`, `1 to 6, 9`.
pub(crate) fn ranges(numbers: &[u64]) -> String {
    let runs = numbers.chunk_by(|one, other| one.checked_add(1) == Some(*other));
    let said = runs.map(|run| match run {
        [first, _, .., last] => format!("{first} to {last}"),
        few => few.iter().map(u64::to_string).collect::<Vec<_>>().join(", "),
    });
    said.collect::<Vec<_>>().join(", ")
}

/// `45 s`, `12 min`, `1 h 50 min`; minutes rounded up.
pub(crate) fn time(seconds: u64) -> String {
    if seconds < 60 {
        return format!("{seconds} s");
    }
    let minutes = seconds.div_ceil(60);
    match (minutes / 60, minutes % 60) {
        (0, minutes) => format!("{minutes} min"),
        (hours, 0) => format!("{hours} h"),
        (hours, minutes) => format!("{hours} h {minutes} min"),
    }
}

/// Tenths of a percent: `12.3 %`.
pub(crate) fn share(tenths: u32) -> String {
    format!("{}.{} %", tenths / 10, tenths % 10)
}

/// Equal neighbours taken together: `9 x 5 + 2 x 3 1/4`. Without the unit.
pub(crate) fn sum(lengths: impl IntoIterator<Item = Length>, units: UnitSystem) -> String {
    let mut terms: Vec<(Length, usize)> = Vec::new();
    for length in lengths {
        match terms.last_mut() {
            Some((last, times)) if *last == length => *times += 1,
            _ => terms.push((length, 1)),
        }
    }
    let term = |(length, times): &(Length, usize)| match times {
        1 => length.show_bare(units),
        _ => format!("{times} x {}", length.show_bare(units)),
    };
    if terms.is_empty() { "0".to_owned() } else { terms.iter().map(term).collect::<Vec<_>>().join(" + ") }
}

/// The whole sum of a fabric: `1 in squaring + 9 x 5 + 1/4 squaring again = 46 1/4 in = 1.28 yd -> buy 1 3/8 yd`.
pub(crate) fn shopping_sum(cloth: Cloth<'_>, units: UnitSystem) -> String {
    let (squaring, again) = cloth.squaring();
    let mut terms: Vec<String> = cloth
        .fabric
        .kept_back
        .iter()
        .map(|(what, length)| format!("{} kept back ({what})", length.show(units)))
        .collect();
    if squaring.is_positive() {
        terms.push(format!("{} squaring", squaring.show(units)));
    }
    for (width, times) in cloth.widths() {
        terms.push(sum(std::iter::repeat_n(width, times), units));
    }
    if again.is_positive() {
        let each = cloth.fabric.resquaring;
        let times = if each.is_positive() { again.whole_runs(each) } else { 0 };
        let term = if times > 1 && each * times == again {
            format!("{times} x {}", each.show_bare(units))
        } else {
            again.show_bare(units)
        };
        terms.push(format!("{term} squaring again"));
    }
    if terms.is_empty() {
        terms.push("nothing".to_owned());
    }
    let FabricPlan { taken, bought, .. } = *cloth.plan;
    format!(
        "{} = {}{} -> buy {}",
        terms.join(" + "),
        taken.show(units),
        shrunk(cloth, units),
        bought.show_cloth(units)
    )
}

/// The middle of the sum: yards or metres, and what the wash takes.
fn shrunk(cloth: Cloth<'_>, units: UnitSystem) -> String {
    let taken = cloth.plan.taken;
    let shrinkage = cloth.fabric.shrinkage;
    let plain = format!(" = {}", taken.show_cloth(units));
    match patchlay_measure::buy_length(taken, shrinkage) {
        Ok(before) if before > taken => {
            format!("{plain}; the wash takes {shrinkage}, so {} before it", before.show_cloth(units))
        }
        _ => plain,
    }
}

/// One length or cut in words: what to do with it.
pub(crate) fn becomes(piece: &Piece, strip_width: Length, units: UnitSystem) -> String {
    let trim = if piece.width < strip_width {
        format!("; trim it to {} wide", piece.width.show(units))
    } else {
        String::new()
    };
    if piece.plies == 1 {
        return format!("flat cut {} long{trim}", piece.length.show(units));
    }
    let plies = i64::from(piece.plies);
    let folds = piece.length - piece.run * plies;
    let extra = if folds.is_positive() {
        format!(" + {} for the folds", folds.show_bare(units))
    } else {
        String::new()
    };
    format!(
        "{} long ({plies} x {}{extra}), fold into {plies} plies, {} fold to fold{trim}",
        piece.length.show(units),
        piece.run.show_bare(units),
        piece.run.show(units),
    )
}

/// What was assumed of a fabric, one sentence each.
pub(crate) fn assumed(fabric: &Fabric, units: UnitSystem) -> Vec<String> {
    let mut said = Vec::new();
    said.push(match fabric.print {
        PrintDirection::None => "print has no direction".to_owned(),
        PrintDirection::OneWay if fabric.folding => {
            "one-way print, but folding and turning are allowed for this job".to_owned()
        }
        PrintDirection::OneWay => "one-way print: never fold or turn it".to_owned(),
        PrintDirection::Caution => {
            "print has a direction, and the plan does not keep to it: look first".to_owned()
        }
    });
    if fabric.reversible {
        said.push("both faces may be used".to_owned());
    }
    said.push(match (fabric.shrinkage.hundredths(), fabric.width_before_washing) {
        (0, _) => "counted without shrinkage".to_owned(),
        (_, true) => format!(
            "washed first: shrinks by {}, from {} to {} wide",
            fabric.shrinkage,
            fabric.stated_width.show(units),
            width_when_cut(fabric, units).show(units),
        ),
        (_, false) => format!("washed first: shrinks by {}", fabric.shrinkage),
    });
    said
}

/// The usable width when it is cut, rounded down to what a tape shows where the wash has changed it.
pub(crate) fn width_when_cut(fabric: &Fabric, units: UnitSystem) -> Length {
    let step = match units {
        UnitSystem::Inch => Length::from_64ths(8),
        UnitSystem::Metric => Length::from_mm_tenths(10),
    };
    if fabric.width == fabric.stated_width { fabric.width } else { fabric.width.floor_to(step) }
}

/// An aim in a few words.
pub(crate) fn aim(kind: AimKind) -> &'static str {
    match kind {
        AimKind::LeastCloth => "least cloth",
        AimKind::FewestPasses => "fewest passes",
        AimKind::LeastTime => "least time",
        AimKind::LeastCost => "least cost",
        AimKind::Weighted => "cloth and passes weighed together",
    }
}

/// A line of the cloth balance.
pub(crate) fn balance(item: BalanceItem) -> &'static str {
    match item {
        BalanceItem::FinishedPatches => "finished patches",
        BalanceItem::Seams => "seams",
        BalanceItem::SparePatches => "spare patches",
        BalanceItem::BetweenBlades => "tips and gaps between blades",
        BalanceItem::Margins => "margins",
        BalanceItem::RoundingFoldsTrimmings => "rounding, folds, trimmings",
        BalanceItem::StripEnds => "strip ends",
        BalanceItem::Squaring => "squaring",
        BalanceItem::KeptBack => "kept back",
        BalanceItem::Shrinkage => "lost in the wash",
        BalanceItem::LeftOnBolt => "left on the bolt",
    }
}

/// An event of the standard time.
pub(crate) fn event(event: Event) -> &'static str {
    match event {
        Event::Square => "squaring an end",
        Event::CutStrip => "cutting strips",
        Event::PressStrip => "pressing strips",
        Event::CrossCut => "cutting lengths from strips",
        Event::Trim => "trimming narrower",
        Event::Fold => "folding and placing lengths",
        Event::Place => "placing flat cuts",
        Event::ChangeBoard => "changing the board",
        Event::Crank => "cranking",
        Event::TurnMat => "turning the mat",
        Event::LiftOut => "lifting out and clearing",
        Event::Count => "counting",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn equal_neighbours_are_taken_together() {
        let five = Length::from_inches(5);
        let quarter = Length::from_64ths(3 * 64 + 16);
        assert_eq!(sum([five, five, five, quarter, quarter], UnitSystem::Inch), "3 x 5 + 2 x 3 1/4");
        assert_eq!(sum([five], UnitSystem::Inch), "5");
        assert_eq!(sum([], UnitSystem::Inch), "0");
    }

    #[test]
    fn times_round_up_to_the_minute() {
        let all: Vec<String> = [0, 59, 60, 61, 3600, 6541].into_iter().map(time).collect();
        assert_eq!(all, ["0 s", "59 s", "1 min", "2 min", "1 h", "1 h 50 min"]);
    }

    #[test]
    fn numbers_that_follow_each_other_are_a_range() {
        assert_eq!(ranges(&[3]), "3");
        assert_eq!(ranges(&[1, 2, 4]), "1, 2, 4");
        assert_eq!(ranges(&[1, 2, 3, 5, 7, 8, 9, 10]), "1 to 3, 5, 7 to 10");
    }

    #[test]
    fn one_is_singular() {
        assert_eq!(passes(1_usize), "1 pass");
        assert_eq!(passes(25_u64), "25 passes");
        assert_eq!(list(&["a".into(), "b".into(), "c".into()]), "a, b and c");
    }
}
