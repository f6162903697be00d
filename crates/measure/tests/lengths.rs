//! Lengths as people write them, and what they come to.

#![allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]

use patchlay_measure::{Area, Length, LengthFault, UnitSystem, parse_length};
use proptest::prelude::*;

fn inch(text: &str) -> Length {
    parse_length(text, UnitSystem::Inch).unwrap()
}

fn fault(text: &str) -> LengthFault {
    parse_length(text, UnitSystem::Inch).unwrap_err().fault
}

/// 1 in = 25.4 mm and 1 yd = 0.9144 m exactly (NIST Special Publication 811,
/// appendix B.8; NIST Handbook 44, appendix C; from memory).
#[test]
fn inch_yard_and_metre_agree_exactly() {
    assert_eq!(inch("1 in"), inch("25.4 mm"));
    assert_eq!(inch("1 yd"), inch("0.9144 m"));
    assert_eq!(inch("1 ft"), inch("12 in"));
    assert_eq!(inch("1 yd"), inch("36"));
    assert_eq!(inch("1/8 yd"), inch("114.3 mm"));
    assert_eq!(inch("1/8 yd"), inch("4 1/2"));
    assert_eq!(inch("1/64").units() * 64, Length::UNITS_PER_INCH);
    assert_eq!(inch("0.1 mm").units() * 254, Length::UNITS_PER_INCH);
}

/// Fabric widths in both systems, derived from 1 in = 2.54 cm; the metric
/// ones to four decimals of an inch.
#[test]
fn fabric_widths_convert() {
    assert_eq!(inch("42").show(UnitSystem::Metric), "106.68 cm");
    assert_eq!(inch("44").show(UnitSystem::Metric), "111.76 cm");
    for (cm, inches) in
        [("110", 43.3071), ("112", 44.0945), ("115", 45.2756), ("150", 59.0551), ("100", 39.3701)]
    {
        let units = parse_length(cm, UnitSystem::Metric).unwrap().units() as f64;
        assert!((units / 8128.0 - inches).abs() < 0.00005, "{cm} cm");
    }
}

/// 1 sq yd = 1296 sq in = 0.83612736 m², derived.
#[test]
fn a_square_yard_is_1296_square_inches() {
    let yard = inch("1 yd");
    assert_eq!(yard * yard, Area::from_units(1296 * 8128 * 8128));
    let metre = inch("1 m");
    let square_metre = (metre * metre).units();
    assert_eq!((yard * yard).units() * 100_000_000, square_metre * 83_612_736);
    assert_eq!((yard * yard).show(UnitSystem::Inch), "1296 sq in");
    assert_eq!((inch("4 1/2") * inch("4 1/2")).show(UnitSystem::Inch), "20.3 sq in");
    assert_eq!((inch("10 cm") * inch("10 cm")).show(UnitSystem::Metric), "100.0 sq cm");
}

#[test]
fn every_usual_spelling_is_read() {
    let half = Length::from_64ths(4 * 64 + 32);
    for text in ["4 1/2", "4.5", "4 1/2 in", "4 1/2\"", "4.50in", " 4  1/2  inches ", "9/2", "114.3 mm"] {
        assert_eq!(inch(text), half, "{text}");
    }
    let metric = |text: &str| parse_length(text, UnitSystem::Metric).unwrap();
    assert_eq!(metric("11.5"), Length::from_mm_tenths(1150));
    assert_eq!(inch("11.5 cm"), inch("115 mm"));
    assert_eq!(metric("1.5 m"), metric("150"));
    assert_eq!(inch("2 1/8 yd"), inch("76 1/2"));
    assert_eq!(metric("4 1/2 in"), half);
    assert_eq!(inch("0"), Length::ZERO);
    assert_eq!(inch("1000 m"), Length::MAX_TYPED);
}

#[test]
fn a_length_that_is_not_whole_names_both_neighbours() {
    let named =
        |below: &str, above: &str| LengthFault::NotWhole { below: below.to_owned(), above: above.to_owned() };
    assert_eq!(fault("0.1"), named("3/32 in", "7/64 in"));
    assert_eq!(fault("1/3"), named("21/64 in", "11/32 in"));
    assert_eq!(fault("0.33 mm"), named("0.03 cm", "0.04 cm"));
    let error = parse_length("0.1 in", UnitSystem::Inch).unwrap_err();
    assert!(error.problem().contains("3/32 in") && error.hint().contains("7/64 in"));
}

#[test]
fn nonsense_is_refused_by_name() {
    assert_eq!(fault(""), LengthFault::Empty);
    assert_eq!(fault("in"), LengthFault::Empty);
    assert_eq!(fault("-1"), LengthFault::Negative);
    assert_eq!(fault("\u{2212}1"), LengthFault::Negative);
    assert_eq!(fault("1/0"), LengthFault::ZeroDenominator);
    assert_eq!(fault("1000.1 m"), LengthFault::TooLarge);
    assert_eq!(fault(&"9".repeat(400)), LengthFault::TooLarge);
    assert_eq!(fault(&format!("1/{}", "9".repeat(400))), LengthFault::TooLarge);
    for text in ["1.2.3", "1/2/3", "4 5", "1.5/2", "1 2 1/2", ".", "/", "1/ 2 3"] {
        assert!(
            matches!(fault(text), LengthFault::NotANumber | LengthFault::Empty),
            "{text}: {:?}",
            fault(text)
        );
    }
    for text in ["1e400", "NaN", "inf", "4 furlongs", "4-1/2", "1,5", "٣"] {
        assert!(matches!(fault(text), LengthFault::UnknownUnit { .. }), "{text}: {:?}", fault(text));
    }
}

#[test]
fn a_long_text_is_not_repeated_in_full() {
    let error = parse_length(&"x".repeat(100_000), UnitSystem::Inch).unwrap_err();
    assert!(error.to_string().len() < 300);
}

#[test]
fn lengths_read_as_a_quilter_writes_them() {
    let both = |units: i64| {
        let length = Length::from_units(units);
        (length.show(UnitSystem::Inch), length.show(UnitSystem::Metric))
    };
    assert_eq!(both(0), ("0 in".to_owned(), "0 cm".to_owned()));
    assert_eq!(both(36_576), ("4 1/2 in".to_owned(), "11.43 cm".to_owned()));
    assert_eq!(both(127), ("1/64 in".to_owned(), "~0.04 cm".to_owned()));
    assert_eq!(both(36_800), ("~4 17/32 in".to_owned(), "11.5 cm".to_owned()));
    assert_eq!(both(-8128), ("-1 in".to_owned(), "-2.54 cm".to_owned()));
    assert_eq!(inch("2 1/8 yd").show_cloth(UnitSystem::Inch), "2 1/8 yd");
    assert_eq!(inch("3 yd").show_cloth(UnitSystem::Inch), "3 yd");
    assert_eq!(inch("46 1/4").show_cloth(UnitSystem::Inch), "1.28 yd");
    assert_eq!(inch("1.25 m").show_cloth(UnitSystem::Metric), "1.25 m");
    assert_eq!(inch("4 1/2").show_bare(UnitSystem::Inch), "4 1/2");
}

/// 42 in holds eight runs of 5 1/4 in; 9 in divides 1/4, 1/2, 3/4 and 1 yd
/// (derived by counting).
#[test]
fn exact_fits_fit() {
    assert_eq!(inch("42").whole_runs(inch("5 1/4")), 8);
    assert_eq!((inch("42") - Length::UNIT).whole_runs(inch("5 1/4")), 7);
    for (yards, count) in [("1/4 yd", 1), ("1/2 yd", 2), ("3/4 yd", 3), ("1 yd", 4)] {
        assert_eq!(inch(yards).whole_runs(inch("9")), count);
    }
}

#[test]
fn areas_survive_json_as_text() {
    let area = Area::from_units(i128::MAX);
    let text = serde_json::to_string(&area).unwrap();
    assert_eq!(text, format!("\"{}\"", i128::MAX));
    assert_eq!(serde_json::from_str::<Area>(&text).unwrap(), area);
    assert_eq!(serde_json::to_string(&Length::from_units(-7)).unwrap(), "-7");
    for bad in ["\"007\"", "\"1e5\"", "7", "\"\"", "\"+1\""] {
        assert!(serde_json::from_str::<Area>(bad).is_err(), "{bad}");
    }
}

proptest! {
    #[test]
    fn what_is_printed_exactly_reads_back(units in 0_i64..319_999_900) {
        for (system, step) in [(UnitSystem::Inch, 127), (UnitSystem::Metric, 32)] {
            let text = Length::from_units(units).show(system);
            prop_assert_eq!(text.starts_with('~'), units % step != 0);
            let back = parse_length(text.trim_start_matches('~'), system).unwrap();
            prop_assert!((back.units() - units).abs() * 2 <= step);
        }
    }

    #[test]
    fn rounding_to_a_step_lands_on_the_nearest_multiple(
        units in -1_000_000_i64..1_000_000, step in 1_i64..5_000,
    ) {
        let (length, step) = (Length::from_units(units), Length::from_units(step));
        let (up, down) = (length.ceil_to(step), length.floor_to(step));
        prop_assert_eq!(up.units() % step.units(), 0);
        prop_assert_eq!(down.units() % step.units(), 0);
        prop_assert!(down <= length && length <= up && up - down <= step);
        prop_assert_eq!(up == down, units % step.units() == 0);
    }

    #[test]
    fn no_text_makes_the_reader_panic(text in "[-0-9 ./a-z\"″½]{0,24}|\\PC{0,30}") {
        for system in [UnitSystem::Inch, UnitSystem::Metric] {
            if let Ok(length) = parse_length(&text, system) {
                prop_assert!(length >= Length::ZERO && length <= Length::MAX_TYPED);
            }
        }
    }
}
