//! Money stays exact until it is printed.

#![allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]

use patchlay_measure::{Amount, AmountError, Length, Money, Per, Price};
use proptest::prelude::*;

fn amount(text: &str) -> Amount {
    Amount::parse(text).unwrap()
}

#[test]
fn amounts_are_read_and_refused() {
    assert_eq!(amount("12.95").ten_thousandths(), 129_500);
    assert_eq!(amount(" 7 ").ten_thousandths(), 70_000);
    assert_eq!(amount("0.0001").ten_thousandths(), 1);
    assert_eq!(amount("1000000"), Amount::MAX_TYPED);
    assert_eq!(Amount::parse("1000000.01"), Err(AmountError::TooLarge("1000000.01".into())));
    assert_eq!(Amount::parse("0.00001"), Err(AmountError::TooFine("0.00001".into())));
    let long = "9".repeat(300);
    for text in ["", "-1", "$5", "1e400", "NaN", "1,5", long.as_str()] {
        assert!(matches!(Amount::parse(text), Err(AmountError::NotANumber(_))), "{text}");
    }
}

/// Hand sums: 2 1/8 yd at 12.00 = 25.50; 1.25 m at 9.60 = 12.00; 20 minutes at
/// 15 an hour = 5.00.
#[test]
fn hand_sums_come_out() {
    let yard = Price { amount: amount("12"), per: Per::Yard };
    assert_eq!(yard * Length::from_64ths(76 * 64 + 32), amount("25.5").money());
    let metre = Price { amount: amount("9.6"), per: Per::Metre };
    assert_eq!(metre * Length::from_mm_tenths(12_500), amount("12").money());
    assert_eq!(Money::from_hourly(amount("15"), 1_200), amount("5").money());
    // A price per yard and the same price per 0.9144 m are one price.
    let same = Price { amount: amount("9.144"), per: Per::Yard } * Length::from_inches(36);
    assert_eq!(same, Price { amount: amount("10"), per: Per::Metre } * Length::from_inches(36));
}

#[test]
fn printing_rounds_half_up_to_cents() {
    let cents = |ten_thousandths: i64| Amount::from_ten_thousandths(ten_thousandths).money().show("$");
    assert_eq!(cents(129_500), "$12.95");
    assert_eq!(cents(49), "$0.00");
    assert_eq!(cents(50), "$0.01");
    assert_eq!(cents(99_950), "$10.00");
    assert_eq!((Money::ZERO - amount("1.5").money()).show("€"), "-€1.50");
    assert_eq!((Money::ZERO - Money::from_units(1)).show("$"), "$0.00");
}

#[test]
fn money_survives_json_as_text() {
    let money = amount("1000000").money() * 1_000_000;
    let text = serde_json::to_string(&money).unwrap();
    assert!(text.starts_with('"'));
    assert_eq!(serde_json::from_str::<Money>(&text).unwrap(), money);
}

proptest! {
    #[test]
    fn prices_add_up_over_pieces(
        count in 0_i64..10_000_000_000, a in 0_i64..400_000_000, b in 0_i64..400_000_000,
        per_yard: bool,
    ) {
        let per = if per_yard { Per::Yard } else { Per::Metre };
        let price = Price { amount: Amount::from_ten_thousandths(count), per };
        let (a, b) = (Length::from_units(a), Length::from_units(b));
        prop_assert_eq!(price * a + price * b, price * (a + b));
    }

    #[test]
    fn an_hour_costs_its_worth(count in 0_i64..10_000_000_000, hours in 0_i64..1_000) {
        let worth = Amount::from_ten_thousandths(count);
        prop_assert_eq!(Money::from_hourly(worth, hours * 3_600), worth.money() * hours);
        let seconds: Money = (0..3).map(|_| Money::from_hourly(worth, 1_200)).sum();
        prop_assert_eq!(seconds, worth.money());
    }
}
