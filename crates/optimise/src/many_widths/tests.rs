//! Cases by hand, and small random ones against all there is.

use super::cuts::violated;
use super::*;
use crate::model::Class;
use crate::search::Random;

/// Pieces with the ways round that they may lie, as (strip width, run), and how many are wanted.
type Pieces = Vec<(Vec<(i64, i64)>, usize)>;

fn fabric(capacity: i64, pieces: &Pieces) -> (Fabric, Vec<usize>) {
    let classes = pieces.iter().map(|(ways, _)| Class { ways: ways.clone() }).collect();
    let mut fabric = Fabric { capacity, classes, ..Fabric::default() };
    fabric.widths = pieces.iter().flat_map(|(ways, _)| ways.iter().map(|way| way.0)).collect();
    fabric.widths.sort_unstable();
    fabric.widths.dedup();
    (fabric, pieces.iter().map(|of| of.1).collect())
}

/// Every piece on a strip of its own.
fn singly(pieces: &Pieces) -> FabricPlan {
    let mut plan = FabricPlan::default();
    for (class, (ways, wanted)) in pieces.iter().enumerate() {
        let strip = Strip { width: ways[0].0, plies: vec![(class, 1)] };
        plan.strips.insert(strip, i64::try_from(*wanted).expect("few"));
    }
    plan
}

const REACH: Reach = Reach { programs: 10_000, seed: 1 };

/// Cost and bound of a sound plan.
fn go(capacity: i64, pieces: &Pieces, (width, each): (i64, i64)) -> (i64, i64) {
    let (fabric, wanted) = fabric(capacity, pieces);
    let prices = Prices { width, each, plies: vec![0; pieces.len()] };
    let settled = settle(&fabric, &wanted, &prices, singly(pieces), REACH, &|| false).expect("an answer");
    for strip in settled.plan.strips.keys() {
        let run = |&(class, n): &(usize, i64)| Some(fabric.classes[class].run_in(strip.width)? * n);
        let length = strip.plies.iter().map(run).sum::<Option<i64>>().expect("every piece fits");
        assert!(length <= capacity);
    }
    assert!(covers(&settled.plan, &wanted));
    (settled.plan.cost(&prices), settled.bound)
}

/// By hand: two of 4 fit a strip of 10, so five need three strips of 2; two and a half, said the relaxation.
#[test]
fn strips_come_whole() {
    assert_eq!(go(10, &vec![(vec![(2, 4)], 5)], (1, 0)), (6, 6));
}

/// By hand: the wide piece leaves room for a narrow one; the other two narrow ones share a strip. With 10 a strip besides
/// its width that is 3 + 2 + 20.
#[test]
fn narrow_pieces_fill_wide_strips() {
    let pieces = vec![(vec![(3, 6)], 1), (vec![(2, 4)], 3)];
    assert_eq!(go(10, &pieces, (1, 10)), (25, 25));
}

/// By hand: upright, 4 wide and 3 long, three fit a strip of 10; lying, 3 wide and 4 long, two do. Three cost 4 upright,
/// 6 lying.
#[test]
fn pieces_may_lie_either_way() {
    assert_eq!(go(10, &vec![(vec![(3, 4), (4, 3)], 3)], (1, 0)), (4, 4));
}

/// By hand: with the wide piece goes one narrow one, without it two lie together; the narrow ones on a wide strip would
/// be on a narrow one as well, and strips with room left are not full.
#[test]
fn only_full_strips_are_listed() {
    let (fabric, wanted) = fabric(10, &vec![(vec![(3, 6)], 1), (vec![(2, 4)], 3)]);
    let prices = Prices { width: 1, each: 0, plies: vec![0; 2] };
    let task = Task::of(&fabric, &[0, 1], &wanted, &prices).expect("a task");
    let relaxed = Relaxed::of(&task, &|| false).expect("prices");
    let list = list::listed(&task, &relaxed, 100).expect("a list");
    let mut pieces: Vec<_> = list.into_iter().map(|pattern| (pattern.width, pattern.pieces)).collect();
    pieces.sort();
    assert_eq!(pieces, vec![(2, vec![(1, 2)]), (3, vec![(0, 1), (1, 1)])]);
}

/// By hand: three pieces of which any two share a strip; half of every pair covers them by one strip and a half, and
/// half of the three rows, rounded up, asks for two.
#[test]
fn three_pairs_are_two_strips() {
    let pair = |a, b| Pattern { width: 1, cost: 1, pieces: vec![(a, 1), (b, 1)] };
    let pairs = [pair(0, 1), pair(0, 2), pair(1, 2)];
    let uses: Vec<(&Pattern, f64)> = pairs.iter().map(|pair| (pair, 0.5)).collect();
    let cuts = violated(&[1, 1, 1], &uses, &mut Random::new(1), 1);
    assert_eq!(cuts[0].least, 2);
    assert!(pairs.iter().all(|pair| cuts[0].entry(pair) == 1));
}

#[test]
fn stops_before_a_bound() {
    let pieces = vec![(vec![(2, 4)], 5)];
    let (fabric, wanted) = fabric(10, &pieces);
    let prices = Prices { width: 1, each: 0, plies: vec![0] };
    assert_eq!(settle(&fabric, &wanted, &prices, singly(&pieces), REACH, &|| true), None);
}

/// The least cost of single pieces over all ways to divide them into strips.
fn by_sets(capacity: i64, pieces: &[&[(i64, i64)]], (width, each): (i64, i64)) -> i64 {
    let sets = 1_usize << pieces.len();
    let widths: Vec<i64> = pieces.iter().flat_map(|ways| ways.iter().map(|way| way.0)).collect();
    let run = |piece: usize, width: i64| {
        pieces[piece].iter().filter(|way| way.0 <= width).map(|way| way.1).min().unwrap_or(capacity + 1)
    };
    let strip = |set: usize| {
        let length = |width: i64| -> i64 {
            (0..pieces.len()).filter(|piece| set >> piece & 1 == 1).map(|piece| run(piece, width)).sum()
        };
        widths.iter().filter(|&&width| length(width) <= capacity).min().map(|&least| each + width * least)
    };
    let strips: Vec<Option<i64>> = (0..sets).map(strip).collect();
    let mut least = vec![0; sets];
    for set in 1..sets {
        least[set] = i64::MAX;
        let mut part = set;
        while part > 0 {
            if let Some(cost) = strips[part] {
                least[set] = least[set].min(cost + least[set ^ part]);
            }
            part = (part - 1) & set;
        }
    }
    least[sets - 1]
}

/// Up to nine pieces of several sizes, some of which may lie either way: all are settled at the least cost.
#[test]
fn agrees_with_all_there_is() {
    let mut random = Random::new(7);
    for round in 0..300 {
        let mut number = |from: i64, n: usize| from + i64::try_from(random.below(n)).expect("small");
        let capacity = number(8, 20);
        let mut left = number(3, 7);
        let mut pieces = Pieces::new();
        while left > 0 {
            let count = number(1, 3).min(left);
            left -= count;
            let (width, run) = (number(1, 7), number(1, 8));
            let mut ways = vec![(width, run)];
            if number(0, 2) == 1 && width != run {
                let (narrow, wide) = (width.min(run), width.max(run));
                ways = vec![(narrow, wide), (wide, narrow)];
            }
            if !pieces.iter().any(|piece| piece.0 == ways) {
                pieces.push((ways, usize::try_from(count).expect("small")));
            }
        }
        let costs = (number(1, 3), number(0, 4));
        let single: Vec<&[(i64, i64)]> =
            pieces.iter().flat_map(|(ways, n)| std::iter::repeat_n(ways.as_slice(), *n)).collect();
        let least = by_sets(capacity, &single, costs);
        assert_eq!(go(capacity, &pieces, costs), (least, least), "round {round}");
    }
}
