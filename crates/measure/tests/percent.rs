//! Shrinkage, selling steps and shares that add up.

#![allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]

use patchlay_measure::{
    Length, Percent, PercentError, UnitSystem, buy_length, largest_remainder, parse_length, round_up_to_step,
    width_after_washing,
};
use proptest::prelude::*;

fn inch(text: &str) -> Length {
    parse_length(text, UnitSystem::Inch).unwrap()
}

fn percent(text: &str) -> Percent {
    Percent::parse(text).unwrap()
}

fn near(length: Length, inches: f64) -> bool {
    (length.units() as f64 / 8128.0 - inches).abs() < 0.0005
}

/// To keep 36 in at 2, 3 and 5 % buy 36.735, 37.113 and 37.895 in; 44 in wide
/// becomes 43.12, 42.68 and 41.80 in (derived: needed/(1 - p), not
/// needed x (1 + p)).
#[test]
fn shrinkage_is_divided_not_added() {
    for (shrinkage, bought, width) in [("2", 36.735, 43.12), ("3 %", 37.113, 42.68), ("5", 37.895, 41.80)] {
        let p = percent(shrinkage);
        assert!(near(buy_length(inch("36"), p).unwrap(), bought), "{shrinkage}");
        assert!(near(width_after_washing(inch("44"), p).unwrap(), width), "{shrinkage}");
    }
    assert_eq!(buy_length(inch("36"), Percent::ZERO), Ok(inch("36")));
    assert_eq!(buy_length(inch("36"), percent("50")), Ok(inch("72")));
    let gone = Err(PercentError::ShrinksAway(Percent::HUNDRED));
    assert_eq!(buy_length(inch("36"), Percent::HUNDRED), gone);
    assert_eq!(width_after_washing(inch("36"), Percent::HUNDRED), gone);
}

/// 76 1/2 in is 2 1/8 yd and 45 in is 1 1/4 yd exactly: neither rounds up to
/// the next eighth (derived; usual traps for floats).
#[test]
fn exact_multiples_of_the_selling_step_stay() {
    let eighth = inch("1/8 yd");
    assert_eq!(round_up_to_step(inch("76.5"), eighth), inch("2 1/8 yd"));
    assert_eq!(round_up_to_step(inch("45"), eighth), inch("1 1/4 yd"));
    assert_eq!(round_up_to_step(inch("45") + Length::UNIT, eighth), inch("1 3/8 yd"));
    assert_eq!(round_up_to_step(inch("46 1/4"), eighth), inch("1 3/8 yd"));
    assert_eq!(round_up_to_step(inch("1.21 m"), inch("10 cm")), inch("1.3 m"));
}

#[test]
fn percentages_are_read_and_printed() {
    assert_eq!(percent("2.5 %").hundredths(), 250);
    assert_eq!(percent("3").to_string(), "3 %");
    assert_eq!(percent("2.50").to_string(), "2.5 %");
    assert_eq!(percent("10").to_string(), "10 %");
    assert!(matches!(Percent::parse("0.001"), Err(PercentError::TooFine(_))));
    assert!(matches!(Percent::parse("1001"), Err(PercentError::TooLarge(_))));
    for text in ["", "%", "-3", "NaN", "1e400", "3 % %"] {
        assert!(matches!(Percent::parse(text), Err(PercentError::NotANumber(_))), "{text}");
    }
    assert_eq!(percent("5").of_count_rounded_up(40), 2);
    assert_eq!(percent("5").of_count_rounded_up(41), 3);
    assert_eq!(percent("0").of_count_rounded_up(41), 0);
}

/// Hand sums by the largest remainder.
#[test]
fn shares_add_up() {
    assert_eq!(largest_remainder(&[1, 1, 1], 100), [34, 33, 33]);
    assert_eq!(largest_remainder(&[1, 2, 4], 100), [14, 29, 57]);
    assert_eq!(largest_remainder(&[0, 0], 100), [0, 0]);
    assert_eq!(largest_remainder(&[], 100), [0_u32; 0]);
    assert_eq!(largest_remainder(&[i128::MAX, i128::MAX, -5], 1_000), [500, 500, 0]);
}

proptest! {
    #[test]
    fn what_is_bought_is_just_enough(units in 1_i64..400_000_000, p in 0_u32..9_900) {
        let (needed, p) = (Length::from_units(units), Percent::from_hundredths(p));
        let bought = buy_length(needed, p).unwrap();
        prop_assert!(width_after_washing(bought, p).unwrap() >= needed);
        prop_assert!(width_after_washing(bought - Length::UNIT, p).unwrap() < needed);
    }

    #[test]
    fn shares_are_whole_and_within_one(
        parts in proptest::collection::vec(0_i128..1_000_000_000_000, 1..12), total in 0_u32..10_001,
    ) {
        let shares = largest_remainder(&parts, total);
        let sum: i128 = parts.iter().sum();
        if sum > 0 {
            prop_assert_eq!(shares.iter().sum::<u32>(), total);
            for (share, part) in shares.iter().zip(&parts) {
                let floor = part * i128::from(total) / sum;
                prop_assert!(i128::from(*share) >= floor && i128::from(*share) <= floor + 1);
            }
        }
    }
}
