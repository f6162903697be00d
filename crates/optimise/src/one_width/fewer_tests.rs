//! Cases by hand, and one published.

use std::collections::BTreeSet;

use super::fewer::{Fewer, PlanError, Rules, Walk, fewer};
use super::{Count, Patterns};
use crate::search::Random;

fn rules(capacity: i64) -> Rules {
    Rules { capacity, least: 0, pieces: 100, kinds: 100, times: 1 }
}

fn total(plan: &Patterns, item: usize) -> Count {
    let of = |(pattern, times): &(Vec<(usize, Count)>, Count)| {
        times * pattern.iter().filter(|of| of.0 == item).map(|of| of.1).sum::<Count>()
    };
    plan.iter().map(of).sum()
}

/// Fewer patterns of the same pieces and strips, each once and within the rules.
fn go(rules: &Rules, sizes: &[i64], plan: &Patterns, steps: u64) -> Fewer {
    let found = fewer(rules, sizes, plan, Walk { steps, seed: 1 }, &|| false).expect("a sound plan");
    let strips = |plan: &Patterns| plan.iter().map(|of| of.1).sum::<Count>();
    assert_eq!(strips(&found.patterns), strips(plan));
    for item in 0..sizes.len() {
        assert_eq!(total(&found.patterns, item), total(plan, item));
    }
    for (pattern, times) in &found.patterns {
        let length: i64 = pattern.iter().map(|&(item, count)| sizes[item] * count).sum();
        assert!(length <= rules.capacity && length >= rules.least && *times >= rules.times);
        assert!(pattern.iter().map(|of| of.1).sum::<Count>() <= rules.pieces);
        assert!(Count::try_from(pattern.len()).expect("few") <= rules.kinds);
    }
    let different: BTreeSet<_> = found.patterns.iter().map(|of| &of.0).collect();
    assert_eq!(different.len(), found.patterns.len());
    assert!(found.bound <= found.patterns.len());
    found
}

/// Two strips of 4 + 4 and two of 6 + 6 hold four of each size, as do four of 4 + 6.
#[test]
fn two_become_one() {
    let plan = vec![(vec![(0, 2)], 2), (vec![(1, 2)], 2)];
    let found = go(&rules(12), &[4, 6], &plan, 1_000_000);
    assert_eq!((found.patterns, found.bound), (vec![(vec![(0, 1), (1, 1)], 4)], 1));
}

/// Five 5s, three 4s and two 3s in five strips of 10, where 5 + 4 + 3 do not fit one strip: three strips of 5 + 4 and two
/// of 5 + 3 are two patterns, and one is too few.
#[test]
fn four_become_two() {
    let plan =
        vec![(vec![(0, 2)], 1), (vec![(0, 1), (1, 1)], 1), (vec![(0, 1), (2, 1)], 2), (vec![(1, 2)], 1)];
    let found = go(&rules(10), &[5, 4, 3], &plan, 1_000_000);
    assert_eq!((found.patterns.len(), found.bound), (2, 2));
}

/// The first plan again, but with one size only in a pattern; then with one piece only. Last, four 4s and eight 6s in six
/// strips: one pattern would need four to be a multiple of six.
#[test]
fn rules_are_kept() {
    let sizes = [4, 6];
    let plan = vec![(vec![(0, 2)], 2), (vec![(1, 2)], 2)];
    let kinds = Rules { kinds: 1, ..rules(12) };
    assert_eq!(go(&kinds, &sizes, &plan, 1_000_000).patterns.len(), 2);
    let plan = vec![(vec![(0, 1)], 2), (vec![(1, 1)], 2)];
    let pieces = Rules { pieces: 1, ..rules(12) };
    assert_eq!(go(&pieces, &sizes, &plan, 1_000_000).patterns.len(), 2);
    let plan = vec![(vec![(0, 1), (1, 1)], 4), (vec![(1, 2)], 2)];
    let least = Rules { least: 10, times: 2, ..rules(12) };
    assert_eq!(go(&least, &sizes, &plan, 1_000_000).patterns.len(), 2);
}

/// Random plans: whatever is found has the same pieces and strips and keeps the rules, with the same result every time.
#[test]
fn random_plans_stay_sound() {
    let mut random = Random::new(4);
    let mut became_fewer = 0;
    for _ in 0..20 {
        let mut number = |from: i64, n: usize| from + i64::try_from(random.below(n)).expect("small");
        let sizes: Vec<i64> = (0..8).map(|_| number(15, 30)).collect();
        let plan: Patterns = (0..10)
            .map(|at| {
                let other = usize::try_from(number(0, 8)).expect("small");
                let one = at % 8;
                let pattern = if one == other { vec![(one, 2)] } else { vec![(one, 1), (other, 1)] };
                (pattern, number(1, 9))
            })
            .collect();
        let rules = rules(100);
        let found = go(&rules, &sizes, &plan, 2_000_000);
        assert_eq!(found, go(&rules, &sizes, &plan, 2_000_000));
        became_fewer += usize::from(found.patterns.len() < plan.len());
    }
    assert!(became_fewer > 10, "{became_fewer}");
}

#[test]
fn all_faults_at_once() {
    let plan = vec![(vec![(0, 1), (0, 1)], 1), (vec![(2, 1)], 1), (vec![(1, 3)], 1), (vec![(1, 1)], 100_001)];
    let rules = Rules { capacity: 10, ..rules(10) };
    let walk = Walk::default();
    let faults = fewer(&rules, &[0, 4], &plan, walk, &|| false).expect_err("five faults");
    let expected = [
        PlanError::Size { index: 0, size: 0 },
        PlanError::Item { index: 0, item: 0 },
        PlanError::Item { index: 1, item: 2 },
        PlanError::Rules { index: 2 },
        PlanError::Times { index: 3, times: 100_001 },
    ];
    assert_eq!(faults, expected);
    let rules = Rules { capacity: 0, ..rules };
    assert_eq!(fewer(&rules, &[], &[], walk, &|| false), Err(vec![PlanError::Capacity(0)]));
}

#[test]
fn a_stop_leaves_the_plan() {
    let plan = vec![(vec![(0, 2)], 2), (vec![(1, 2)], 2)];
    let found = fewer(&rules(12), &[4, 6], &plan, Walk::default(), &|| true).expect("a sound plan");
    assert_eq!(found.patterns, plan);
}

/// PR_00113 of C. Goulimis, Pattern Reduction Test Instances v1.1 (2015), CC0: 18 patterns at the start, 12 is the best
/// that is published.
#[test]
fn a_published_plan() {
    let sizes = [
        2250, 2200, 1895, 2145, 2095, 2500, 2350, 2445, 1995, 2045, 2495, 2345, 1795, 2300, 2195, 2000, 2620,
        1800, 2800, 2180, 1600, 2795,
    ];
    let rules = Rules { capacity: 8_500, least: 4_000, pieces: 9, kinds: 9, times: 1 };
    let plan = vec![
        (vec![(0, 1), (1, 1), (2, 1), (3, 1)], 1),
        (vec![(4, 1), (5, 1), (6, 1)], 1),
        (vec![(7, 1), (8, 2), (9, 1)], 2),
        (vec![(7, 2), (10, 1)], 2),
        (vec![(6, 1), (8, 1), (11, 1), (12, 1)], 3),
        (vec![(4, 2), (8, 1), (13, 1)], 4),
        (vec![(1, 1), (9, 2), (14, 1)], 4),
        (vec![(4, 1), (8, 2), (11, 1)], 4),
        (vec![(3, 1), (8, 2), (11, 1)], 5),
        (vec![(11, 2), (12, 1), (15, 1)], 6),
        (vec![(2, 2), (6, 1), (11, 1)], 6),
        (vec![(5, 2), (16, 1)], 9),
        (vec![(13, 1), (14, 2), (17, 1)], 10),
        (vec![(0, 1), (4, 1), (11, 1), (12, 1)], 10),
        (vec![(10, 1), (18, 2)], 11),
        (vec![(8, 1), (9, 1), (14, 1), (19, 1)], 11),
        (vec![(11, 2), (14, 1), (20, 1)], 11),
        (vec![(10, 2), (21, 1)], 25),
    ];
    assert!(go(&rules, &sizes, &plan, 4_000_000_000).patterns.len() <= 12);
}
