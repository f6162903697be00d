use super::*;
use crate::search::Random;

fn go(places: Count, wanted: &[Count], templates: usize) -> Answer {
    let order = Order { places, wanted: wanted.to_vec(), templates };
    let answer = solve(&order, Reach::default(), &|| false).expect("a sound order");
    assert!(is_sound(&order, &answer.templates));
    answer
}

/// CSPLib prob002 (B. Smith; CC BY 4.0) and Proll and Smith, INFORMS J. Computing 10(3) (1998): cat food cartons, nine to
/// a template, in thousands: 550, 418 and 408 pressings with one, two and three templates, each the fewest.
#[test]
fn cat_food() {
    let wanted = [250, 255, 260, 500, 500, 800, 1100];
    for (templates, fewest) in [(1, 550), (2, 418), (3, 408)] {
        let answer = go(9, &wanted, templates);
        assert_eq!((answer.pressings(), answer.bound), (fewest, fewest));
    }
}

/// Three places. One template: 4 and 8 as one and two places are 4 pressings, which is 12 / 3.
/// With 4 and 9 the pieces alone ask for 13 / 3, so 5: one and two places yield 5 and 10. Two templates cannot do with 4.
#[test]
fn two_designs() {
    assert_eq!(go(3, &[4, 8], 1).pressings(), 4);
    for templates in [1, 2] {
        let answer = go(3, &[4, 9], templates);
        assert_eq!((answer.pressings(), answer.bound), (5, 5));
    }
}

/// One place, two designs: one template each, 3 + 4 pressings.
#[test]
fn one_place() {
    let answer = go(1, &[3, 4], 2);
    assert_eq!((answer.pressings(), answer.bound), (7, 7));
}

#[test]
fn nothing_wanted_takes_no_pressing() {
    assert_eq!(go(4, &[], 1).pressings(), 0);
    assert_eq!(go(4, &[0, 0], 2).pressings(), 0);
}

#[test]
fn all_faults_at_once() {
    let order = Order { places: 0, wanted: vec![1, -1], templates: 9 };
    let faults = solve(&order, Reach::default(), &|| false).expect_err("three faults");
    let expected =
        [OrderError::Places(0), OrderError::Templates(9), OrderError::Wanted { index: 1, count: -1 }];
    assert_eq!(faults, expected);
    let order = Order { places: 2, wanted: vec![1, 1, 0, 1], templates: 1 };
    let fault = OrderError::TooMany { designs: 3, templates: 1, places: 2, needed: 2 };
    assert_eq!(solve(&order, Reach::default(), &|| false), Err(vec![fault]));
}

/// Stopped at once there is still a plan, and the bound holds.
#[test]
fn a_stop_leaves_a_plan() {
    let order = Order { places: 9, wanted: vec![250, 255, 260, 500, 500, 800, 1100], templates: 2 };
    let answer = solve(&order, Reach::default(), &|| true).expect("a sound order");
    assert!(is_sound(&order, &answer.templates) && answer.pressings() >= 418 && answer.bound <= 418);
}

/// Every way to fill a template, with one design after the other.
fn fillings(places: Count, designs: usize) -> Vec<Vec<Count>> {
    if designs == 0 {
        return vec![Vec::new()];
    }
    let with = |n: Count| {
        let rest = fillings(places - n, designs - 1);
        rest.into_iter().map(move |mut filling| {
            filling.push(n);
            filling
        })
    };
    (0..=places).flat_map(with).collect()
}

/// Against all fillings and all pressings of two templates.
#[test]
fn against_all_fillings() {
    let mut random = Random::new(3);
    for _ in 0..40 {
        let places = 2 + Count::try_from(random.below(3)).expect("small");
        let wanted: Vec<Count> =
            (0..3).map(|_| 1 + Count::try_from(random.below(9)).expect("small")).collect();
        let all = fillings(places, wanted.len());
        let mut fewest = Count::MAX;
        for one in &all {
            for other in &all {
                // Two templates of 9 pressings each always do.
                for first in 0..=18 {
                    let left = |i: usize| (wanted[i] - first * one[i]).max(0);
                    let can = (0..wanted.len()).all(|i| left(i) == 0 || other[i] > 0);
                    if can {
                        let more = (0..wanted.len()).filter(|&i| left(i) > 0);
                        let second = more.map(|i| (left(i) + other[i] - 1) / other[i]).max().unwrap_or(0);
                        fewest = fewest.min(first + second);
                    }
                }
            }
        }
        let answer = go(places, &wanted, 2);
        assert_eq!((answer.pressings(), answer.bound), (fewest, fewest), "{places} {wanted:?}");
    }
}
