//! Cases by hand, and small random ones against all there is.

use super::branch::{Search, Verdict};
use super::knapsack::{Listing, Table};
use super::pairs::Pairs;
use super::relax::{Generator, Until};
use super::simplex::{Column, Simplex};
use super::*;

fn go(capacity: i64, lengths: &[(i64, Count)]) -> Answer {
    let order = Order { capacity, lengths: lengths.to_vec() };
    let answer = solve(&order, Reach::default(), &|| false).expect("a sound order");
    let mut cut = vec![0; lengths.len()];
    for (pattern, times) in &answer.strips {
        assert!(pattern.iter().map(|&(place, count)| lengths[place].0 * count).sum::<i64>() <= capacity);
        pattern.iter().for_each(|&(place, count)| cut[place] += count * times);
    }
    assert_eq!(cut, lengths.iter().map(|of| of.1).collect::<Vec<_>>());
    answer
}

/// Fewest strips for single pieces, over all sets of pieces.
fn by_sets(capacity: i64, pieces: &[i64]) -> Count {
    let sets = 1_usize << pieces.len();
    let length =
        |set: usize| -> i64 { (0..pieces.len()).filter(|i| set >> i & 1 == 1).map(|i| pieces[i]).sum() };
    let fits: Vec<bool> = (0..sets).map(|set| length(set) <= capacity).collect();
    let mut fewest = vec![0; sets];
    for set in 1..sets {
        fewest[set] = Count::MAX;
        let mut part = set;
        while part > 0 {
            if fits[part] {
                fewest[set] = fewest[set].min(1 + fewest[set ^ part]);
            }
            part = (part - 1) & set;
        }
    }
    fewest[sets - 1]
}

/// A random order of few pieces: capacity, sizes descending, counts.
fn few_pieces(random: &mut Random) -> (i64, Vec<i64>, Vec<Count>) {
    let mut number = |from: i64, n: usize| from + i64::try_from(random.below(n)).expect("small");
    let capacity = number(8, 40);
    let pieces = number(1, 9);
    let mut counts: BTreeMap<i64, Count> = BTreeMap::new();
    for _ in 0..pieces {
        let most = usize::try_from(capacity).expect("small");
        *counts.entry(number(1, most)).or_insert(0) += 1;
    }
    let (sizes, counts) = counts.into_iter().rev().unzip();
    (capacity, sizes, counts)
}

fn pieces(sizes: &[i64], counts: &[Count]) -> Vec<i64> {
    let each = |(&size, &count): (&i64, &Count)| (0..count).map(move |_| size);
    sizes.iter().zip(counts).flat_map(each).collect()
}

/// Six 5s fill three strips of 10; three 7s want a strip each, and two of them take a 3 along.
#[test]
fn exact_fits_fit() {
    let answer = go(10, &[(5, 6), (7, 3), (3, 2)]);
    assert_eq!((answer.count(), answer.bound), (6, 6));
}

/// 40 + 30 + 30 = 100 three times over; any other filling of three strips would waste cloth, and there is none to waste.
#[test]
fn a_plan_without_waste() {
    let answer = go(100, &[(40, 3), (30, 6)]);
    assert_eq!((answer.count(), answer.bound), (3, 3));
}

/// Two 44, three 33 and six 12 add up to 259, less than two strips of 132, and the relaxation says 2/3 + 3/4 + 6/11 < 2.
/// Two strips could waste 5 in all. Both 44 on one: with a 33 that is 121 and no 12 fits, without at most 88 + 36 = 124.
/// One 44 on each: with two 33 and a 12 at most 122, with one 33 and four 12 at most 125, with six 12 only 116. So three.
#[test]
fn proves_what_the_relaxation_does_not_know() {
    let answer = go(132, &[(44, 2), (33, 3), (12, 6)]);
    assert_eq!((answer.count(), answer.bound), (3, 3));
}

#[test]
fn nothing_wanted_takes_no_strip() {
    assert_eq!(go(10, &[]).count(), 0);
    assert_eq!(go(10, &[(4, 0)]).bound, 0);
}

/// A size that stands in the order twice is cut for both places: 3 + 2 fours, two on a strip of 9.
#[test]
fn one_size_at_two_places() {
    assert_eq!(go(9, &[(4, 3), (4, 2)]).count(), 3);
}

#[test]
fn all_faults_at_once() {
    let order = Order { capacity: 10, lengths: vec![(0, 1), (11, 1), (5, -1), (5, 2)] };
    let faults = solve(&order, Reach::default(), &|| false).expect_err("three faults");
    let expected = [
        OrderError::Length { index: 0, length: 0 },
        OrderError::TooLong { index: 1, length: 11, capacity: 10 },
        OrderError::Wanted { index: 2, count: -1 },
    ];
    assert_eq!(faults, expected);
    let order = Order { capacity: 0, lengths: Vec::new() };
    assert_eq!(solve(&order, Reach::default(), &|| false), Err(vec![OrderError::Capacity(0)]));
}

/// Stopped at once there is still a plan, and the bound holds.
#[test]
fn a_stop_leaves_a_plan() {
    let order = Order { capacity: 132, lengths: vec![(44, 2), (33, 3), (12, 6)] };
    let answer = solve(&order, Reach::default(), &|| true).expect("a sound order");
    assert!(answer.count() >= 3 && answer.bound <= 3);
}

/// Against all sets of pieces.
#[test]
fn few_pieces_are_settled() {
    let mut random = Random::new(11);
    for _ in 0..300 {
        let (capacity, sizes, counts) = few_pieces(&mut random);
        let lengths: Vec<(i64, Count)> = sizes.iter().copied().zip(counts.iter().copied()).collect();
        let fewest = by_sets(capacity, &pieces(&sizes, &counts));
        let answer = go(capacity, &lengths);
        assert_eq!((answer.count(), answer.bound), (fewest, fewest), "{capacity} {lengths:?}");
    }
}

/// Both exact searches, each on its own, find a plan of the fewest strips and none of one less.
#[test]
fn exact_searches_against_all_sets() {
    let mut random = Random::new(5);
    for _ in 0..200 {
        let (capacity, sizes, counts) = few_pieces(&mut random);
        let fewest = by_sets(capacity, &pieces(&sizes, &counts));
        let task = Task { capacity, sizes: sizes.clone(), wanted: counts.clone() };
        let mut generator = Generator::new(capacity, &sizes);
        let until = Until { goal: i64::MAX, settled: true, seed: 1, stop: &|| false };
        let relaxed = generator.relax(&counts, until).expect("not stopped");
        assert!(relaxed.bound <= fewest);
        for goal in relaxed.bound..=fewest {
            let list = branch::listed(capacity, &sizes, &counts, &relaxed.prices, goal).expect("few");
            let by_list = Search::new(&counts, &list, goal, 10_000, &|| false).run();
            let by_pairs = Pairs { capacity, goal, programs: 10_000, stop: &|| false }.run(&sizes, &counts);
            for verdict in [by_list, by_pairs] {
                match verdict {
                    Verdict::Found(plan) => {
                        assert_eq!(goal, fewest);
                        let plan = task.trimmed(&plan);
                        assert!(task.is_sound(&plan) && strips(&plan) <= goal);
                    }
                    Verdict::None => assert!(goal < fewest),
                    Verdict::Open => panic!("not settled: {capacity} {sizes:?} {counts:?}"),
                }
            }
        }
    }
}

/// Every pattern worth enough is listed once, also where the table is coarse.
#[test]
fn lists_all_patterns() {
    let mut random = Random::new(7);
    for round in 0..60 {
        let (capacity, mut sizes, counts) = few_pieces(&mut random);
        // A strip of millions of steps makes the table coarse without changing what fits.
        let factor = if round % 2 == 0 { 1 } else { 100_003 };
        sizes.iter_mut().for_each(|size| *size *= factor);
        let capacity = capacity * factor + factor / 2;
        let profits: Vec<i64> =
            sizes.iter().map(|_| 1 + i64::try_from(random.below(9)).expect("small")).collect();
        let mut expected: Vec<(i64, Pattern)> = vec![(0, Pattern::new())];
        for (item, &count) in counts.iter().enumerate() {
            let before = expected.clone();
            for n in 1..=count {
                expected.extend(before.iter().map(|(worth, pattern)| {
                    (worth + n * profits[item], pattern.iter().copied().chain([(item, n)]).collect())
                }));
            }
        }
        let length = |pattern: &Pattern| pattern.iter().map(|&(i, n)| sizes[i] * n).sum::<i64>();
        expected.retain(|of| of.0 >= 8 && length(&of.1) <= capacity);
        expected.sort();
        let mut table = Table::default();
        table.fill(capacity, &sizes, &counts, &profits);
        let mut listed = Vec::new();
        let complete = table.list(Listing { least: 8, nodes: 1_000_000 }, &[], &mut |worth, pattern| {
            listed.push((worth, pattern.clone()));
            8
        });
        listed.sort();
        assert!(complete);
        assert_eq!(listed, expected);
        let best = table.best(1, 1_000_000, &[]).0.map(|of| of.0);
        if let Some(last) = expected.last() {
            assert_eq!(best, Some(last.0));
        }
    }
}

/// Least 2x + 3y with x + y = 4 and x + 3y = 6 is at x = 3, y = 1, the only point: 9. Its prices p, q pay for both
/// columns, p + q = 2 and p + 3q = 3, so q = 1/2 and p = 3/2.
#[test]
fn simplex_by_hand() {
    let mut simplex = Simplex::new(&[4.0, 6.0], &[100.0, 100.0], 1);
    simplex.add(Column { cost: 2.0, entries: vec![(0, 1.0), (1, 1.0)] });
    simplex.add(Column { cost: 3.0, entries: vec![(0, 1.0), (1, 3.0)] });
    assert!(simplex.optimise());
    assert!((simplex.value() - 9.0).abs() < 1e-9);
    assert!((simplex.prices()[0] - 1.5).abs() < 1e-9 && (simplex.prices()[1] - 0.5).abs() < 1e-9);
    let mut amounts = simplex.basic_amounts();
    amounts.sort_by_key(|of| of.0);
    assert!((amounts[0].1 - 3.0).abs() < 1e-9 && (amounts[1].1 - 1.0).abs() < 1e-9);
}

/// On strips of 10: an 8 leaves 2, which only the 2 fits; 7 and 3 fill a strip; then each 6 takes the longest that fits,
/// a 4; what is left of 4s goes two on a strip, as a third does not fit.
#[test]
fn settles_without_search() {
    let wanted = BTreeMap::from([(8, 1), (7, 1), (6, 2), (4, 4), (3, 1), (2, 1)]);
    let reduced = reduce::reduce(10, wanted);
    assert!(reduced.left.is_empty());
    let mut settled = reduced.settled;
    settled.sort();
    assert_eq!(settled, [(vec![4, 4], 1), (vec![6, 4], 2), (vec![7, 3], 1), (vec![8, 2], 1)]);
}
