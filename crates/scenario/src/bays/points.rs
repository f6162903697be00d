//! Where the cloth of several areas lies on one point of the board.
//!
//! At every position, all areas that contain it. Beyond that, cloth can overlap in the margins: at the corners of
//! diagonal neighbours, and between fields that are turned differently. Rectangles of one turn have ground in
//! common exactly if they do two by two, and then at the lowest corner of that ground, which is the low u of one
//! and the low v of another; so those corners are all that need to be looked at. Of different turns, sets that
//! overlap two by two are taken apart until they do have ground in common.

use std::collections::BTreeSet;

use patchlay_shape::Turn;
use patchlay_shape::board::{Fixed, Rect, share_ground};

use crate::job::{Bay, BayId, Point};

/// Most sets looked at when one is taken apart; beyond that it is kept whole, which is the strict side.
const MOST_SPLITS: usize = 2_000;

/// One point for each position, then the overlaps that no shared position accounts for.
pub(super) fn points(position_count: usize, bays: &[Bay], cloths: &[Rect]) -> Vec<Point> {
    let mut points: Vec<Point> = (0..position_count)
        .map(|position| Point { position: Some(position), bays: containing(bays, position) })
        .collect();
    let mut overlaps = BTreeSet::new();
    for turn in turns(cloths) {
        same_turn(turn, cloths, &mut overlaps);
    }
    different_turns(cloths, &mut overlaps);
    overlaps.retain(|set| !shares_position(bays, set));
    let maximal: Vec<Vec<BayId>> =
        overlaps.iter().filter(|set| !overlaps.iter().any(|other| is_part(set, other))).cloned().collect();
    points.extend(maximal.into_iter().map(|bays| Point { position: None, bays }));
    points
}

fn containing(bays: &[Bay], position: usize) -> Vec<BayId> {
    (0..bays.len()).filter(|id| bays[*id].positions.binary_search(&position).is_ok()).collect()
}

fn turns(cloths: &[Rect]) -> BTreeSet<i32> {
    cloths.iter().map(|cloth| cloth.turn.hundredths()).collect()
}

/// Whether one position lies in every area of the set.
fn shares_position(bays: &[Bay], set: &[BayId]) -> bool {
    let Some((first, others)) = set.split_first() else { return true };
    let in_all =
        |position: &usize| others.iter().all(|id| bays[*id].positions.binary_search(position).is_ok());
    bays[*first].positions.iter().any(in_all)
}

/// Whether a set is a part of another, larger one; both ascending.
fn is_part(set: &[BayId], other: &[BayId]) -> bool {
    set.len() < other.len() && set.iter().all(|id| other.binary_search(id).is_ok())
}

/// Adds the sets of cloths of one turn that overlap.
fn same_turn(turn: i32, cloths: &[Rect], overlaps: &mut BTreeSet<Vec<BayId>>) {
    let turn = Turn::from_hundredths(turn);
    let ids: Vec<BayId> = (0..cloths.len()).filter(|id| cloths[*id].turn == turn).collect();
    let lows_u: BTreeSet<Fixed> = ids.iter().map(|id| cloths[*id].u.low).collect();
    let lows_v: BTreeSet<Fixed> = ids.iter().map(|id| cloths[*id].v.low).collect();
    for u in &lows_u {
        let there: Vec<BayId> = ids.iter().copied().filter(|id| over(cloths[*id].u, *u)).collect();
        let mut last = Vec::new();
        for v in &lows_v {
            let set: Vec<BayId> = there.iter().copied().filter(|id| over(cloths[*id].v, *v)).collect();
            if set.len() > 1 && set != last {
                overlaps.insert(set.clone());
            }
            last = set;
        }
    }
}

/// Whether a range lies over the ground just above a coordinate, by more than the tolerance.
fn over(span: patchlay_shape::board::Span, at: Fixed) -> bool {
    span.low <= at + Fixed::TOLERANCE && at + Fixed::TOLERANCE < span.high
}

/// Adds the largest sets of cloths of several turns that have ground in common.
fn different_turns(cloths: &[Rect], overlaps: &mut BTreeSet<Vec<BayId>>) {
    if turns(cloths).len() < 2 {
        return;
    }
    let crosses = |a: &Rect, b: &Rect| a.turn != b.turn && a.overlaps(b);
    let ids: Vec<BayId> =
        (0..cloths.len()).filter(|id| cloths.iter().any(|other| crosses(&cloths[*id], other))).collect();
    let beside = |a: BayId| -> BTreeSet<BayId> {
        ids.iter().copied().filter(|b| *b != a && cloths[a].overlaps(&cloths[*b])).collect()
    };
    let graph: std::collections::BTreeMap<BayId, BTreeSet<BayId>> =
        ids.iter().map(|id| (*id, beside(*id))).collect();
    let mut cliques = Vec::new();
    grow(&graph, Vec::new(), ids.iter().copied().collect(), BTreeSet::new(), &mut cliques);
    for clique in cliques {
        if clique.windows(2).all(|pair| cloths[pair[0]].turn == cloths[pair[1]].turn) {
            continue;
        }
        split(clique, cloths, overlaps);
    }
}

/// Bron and Kerbosch's search for the largest sets that overlap two by two, with a pivot.
fn grow(
    graph: &std::collections::BTreeMap<BayId, BTreeSet<BayId>>,
    chosen: Vec<BayId>,
    mut open: BTreeSet<BayId>,
    mut done: BTreeSet<BayId>,
    cliques: &mut Vec<Vec<BayId>>,
) {
    let best = open.union(&done).max_by_key(|id| graph[*id].intersection(&open).count()).copied();
    let Some(pivot) = best else {
        let mut clique = chosen;
        clique.sort_unstable();
        cliques.push(clique);
        return;
    };
    let next: Vec<BayId> = open.difference(&graph[&pivot]).copied().collect();
    for id in next {
        let mut wider = chosen.clone();
        wider.push(id);
        let beside = &graph[&id];
        let still_open = open.intersection(beside).copied().collect();
        let still_done = done.intersection(beside).copied().collect();
        grow(graph, wider, still_open, still_done, cliques);
        open.remove(&id);
        done.insert(id);
    }
}

/// Adds the largest parts of a set that have ground in common.
fn split(set: Vec<BayId>, cloths: &[Rect], overlaps: &mut BTreeSet<Vec<BayId>>) {
    let mut seen = BTreeSet::from([set.clone()]);
    let mut waiting = vec![set.clone()];
    while let Some(part) = waiting.pop() {
        let rects: Vec<Rect> = part.iter().map(|id| cloths[*id]).collect();
        if share_ground(&rects) {
            if part.len() > 1 {
                overlaps.insert(part);
            }
            continue;
        }
        for left_out in &part {
            let smaller: Vec<BayId> = part.iter().copied().filter(|id| id != left_out).collect();
            if seen.insert(smaller.clone()) {
                waiting.push(smaller);
            }
        }
        if seen.len() > MOST_SPLITS {
            overlaps.insert(set);
            return;
        }
    }
}

#[cfg(test)]
mod tests {
    use patchlay_measure::Length;
    use patchlay_shape::board::Span;

    use super::*;

    /// Three bands of the same spans at turns a third of a circle apart: the sides of a triangle about the origin.
    fn triangle(low_v: i64) -> (Vec<Bay>, Vec<Rect>) {
        let span = |low: i64, high: i64| {
            Span::between(
                Fixed::from_length(Length::from_units(low)),
                Fixed::from_length(Length::from_units(high)),
            )
        };
        let rect =
            |turn: i32| Rect { turn: Turn::from_degrees(turn), u: span(-200, 200), v: span(low_v, 110) };
        let rects = vec![rect(0), rect(120), rect(240)];
        let bay = |(at, rect): (usize, &Rect)| Bay {
            positions: vec![at],
            place: *rect,
            margins: [Length::ZERO; 4],
            across: rect.width(),
            along: rect.length(),
            yields: Vec::new(),
        };
        (rects.iter().enumerate().map(bay).collect(), rects)
    }

    fn overlaps(low_v: i64) -> Vec<Vec<BayId>> {
        let (bays, rects) = triangle(low_v);
        let points = points(3, &bays, &rects);
        points.into_iter().filter(|point| point.position.is_none()).map(|point| point.bays).collect()
    }

    #[test]
    fn overlapping_two_by_two_is_not_a_common_point() {
        // Bands 90 to 110 from the middle cross at the corners of the triangle, and nowhere all three.
        assert_eq!(overlaps(90), [vec![0, 1], vec![0, 2], vec![1, 2]]);
    }

    #[test]
    fn bands_over_the_middle_have_it_in_common() {
        assert_eq!(overlaps(-10), [vec![0, 1, 2]]);
    }
}
