//! Strips of 41 1/2 in, filled by hand.

use super::*;
use crate::facts::Facts;

fn cloth() -> Cloth {
    let (mut facts, _) = Facts::read(include_str!("../../../../../tests/damage/good/star.json")).unwrap();
    facts.fabrics.remove(0)
}

fn number(n: i64, d: i64) -> BigRational {
    BigRational::new(n.into(), d.into())
}

fn cut(width: i64, run: i64, worth: BigRational) -> Cut {
    Cut { width: Length::from_64ths(width * 16), run: Length::from_64ths(run * 16), worth }
}

/// In quarter inches: 5 in squares and 5 3/4 in squares; eight or seven fit a strip, or 4 + 3 (37 1/4 in).
fn cuts(small: BigRational, large: BigRational) -> [Cut; 2] {
    [cut(20, 20, small), cut(23, 23, large)]
}

fn pays(cuts: &[Cut]) -> bool {
    strips_pay(&cloth(), cuts, &number(1, 1), &number(0, 1)).is_ok()
}

#[test]
fn an_exact_fit_counts_and_one_unit_of_worth_decides() {
    let narrow = Length::from_64ths(20 * 16).units();
    let wide = Length::from_64ths(23 * 16).units();
    assert!(pays(&cuts(number(narrow, 8), number(0, 1))));
    assert!(!pays(&cuts(number(8 * narrow + 1, 64), number(0, 1))));
    assert!(pays(&cuts(number(narrow, 8), number(wide, 7))));
    assert!(!pays(&cuts(number(narrow, 8), number(wide * 1_000 + 1, 7_000))));
}

#[test]
fn a_wide_strip_carries_narrow_cuts_too() {
    // 2 x 5 3/4 + 6 x 5 in = 41 1/2 in fills the strip to the end: 2 large + 6 small at a cost of 5 3/4 in.
    let wide = Length::from_64ths(23 * 16).units();
    let small = number(1, 2);
    let rest = number(wide, 1) - number(3, 1);
    let large = rest / number(2, 1);
    let dear = [cut(20, 20, small), cut(23, 23, large.clone() + number(1, 1_000))];
    let fair = [cut(20, 20, number(1, 2)), cut(23, 23, large / number(4, 1))];
    assert!(!pays(&dear));
    assert!(pays(&fair));
}

#[test]
fn a_strip_costs_something_of_its_own() {
    let list = cuts(number(1, 8), number(1, 8));
    let zero = number(0, 1);
    assert!(strips_pay(&cloth(), &list, &zero, &number(1, 1)).is_ok());
    assert!(strips_pay(&cloth(), &list, &zero, &number(99, 100)).is_err());
}

#[test]
fn numbers_beyond_exact_reckoning_are_refused() {
    let huge = BigRational::new(i128::MAX.into(), 1.into());
    let refused = strips_pay(&cloth(), &cuts(huge, number(1, 3)), &number(1, 1), &number(0, 1)).unwrap_err();
    assert_eq!(refused.code, FaultCode::CertificateTooLarge);
}
