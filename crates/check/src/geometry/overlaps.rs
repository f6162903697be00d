//! Sets of cloth rectangles that share ground: the places of a board, other than its positions, where plies lie on
//! each other.

use std::collections::BTreeSet;

use patchlay_shape::board::{Rect, share_ground};

use super::{Bay, overlap};

/// A bound on the work, so that no file can keep the checker busy for hours.
pub(crate) type Step = u64;

/// Most steps of one search.
const MOST_STEPS: Step = 5_000_000;

/// The largest sets of areas whose cloth shares ground but which share no position: every overlap that the positions
/// do not account for. None if there are too many to list.
pub(super) fn beside_positions(bays: &[&Bay]) -> Option<Vec<Vec<usize>>> {
    let common = |a: &Bay, b: &Bay| a.positions.iter().any(|at| b.positions.binary_search(at).is_ok());
    let mut found = BTreeSet::new();
    let mut steps = MOST_STEPS;
    for (low, bay) in bays.iter().enumerate() {
        for (high, other) in bays.iter().enumerate().skip(low + 1) {
            if !overlap(&bay.cloth, &other.cloth) || common(bay, other) {
                continue;
            }
            let both =
                |at: usize| overlap(&bays[at].cloth, &bay.cloth) && overlap(&bays[at].cloth, &other.cloth);
            let near: Vec<usize> =
                (0..bays.len()).filter(|&at| at == low || at == high || both(at)).collect();
            let cloths: Vec<Rect> = near.iter().map(|&at| bays[at].cloth).collect();
            for set in shared_sets(&cloths, &mut steps)? {
                let set: Vec<usize> = set.into_iter().map(|at| near[at]).collect();
                if set.contains(&low) && set.contains(&high) {
                    found.insert(set);
                }
            }
        }
    }
    Some(found.into_iter().collect())
}

/// The largest sets of rectangles that share ground, as ascending indices. None if the search takes too long.
pub(crate) fn shared_sets(rects: &[Rect], steps: &mut Step) -> Option<Vec<Vec<usize>>> {
    let meets: Vec<Vec<bool>> = rects
        .iter()
        .enumerate()
        .map(|(at, one)| {
            rects.iter().enumerate().map(|(to, other)| at != to && overlap(one, other)).collect()
        })
        .collect();
    let mut search = Search { rects, meets, found: BTreeSet::new(), steps };
    search.grow(&mut Vec::new(), (0..rects.len()).collect(), Vec::new())?;
    Some(search.found.into_iter().collect())
}

/// The search for all maximal sets that overlap two by two (Bron and Kerbosch, Communications of the ACM 16 (1973)).
struct Search<'a> {
    rects: &'a [Rect],
    meets: Vec<Vec<bool>>,
    found: BTreeSet<Vec<usize>>,
    steps: &'a mut Step,
}

impl Search<'_> {
    fn grow(&mut self, set: &mut Vec<usize>, mut open: Vec<usize>, mut done: Vec<usize>) -> Option<()> {
        *self.steps = self.steps.checked_sub(1 + open.len() as Step)?;
        if open.is_empty() && done.is_empty() {
            let mut set = set.clone();
            set.sort_unstable();
            return self.keep(set);
        }
        let pivot = open
            .iter()
            .chain(&done)
            .copied()
            .max_by_key(|&at| open.iter().filter(|&&to| self.meets[at][to]).count())?;
        let tried: Vec<usize> = open.iter().copied().filter(|&at| !self.meets[pivot][at]).collect();
        for at in tried {
            let beside =
                |list: &[usize]| list.iter().copied().filter(|&to| self.meets[at][to]).collect::<Vec<_>>();
            let (open_beside, done_beside) = (beside(&open), beside(&done));
            set.push(at);
            self.grow(set, open_beside, done_beside)?;
            set.pop();
            open.retain(|&to| to != at);
            done.push(at);
        }
        Some(())
    }

    /// Rectangles of different turns may overlap two by two without a common point; then smaller sets count.
    fn keep(&mut self, set: Vec<usize>) -> Option<()> {
        *self.steps = self.steps.checked_sub(set.len() as Step + 1)?;
        if set.is_empty()
            || self.found.iter().any(|known| set.iter().all(|at| known.binary_search(at).is_ok()))
        {
            return Some(());
        }
        let rects: Vec<Rect> = set.iter().map(|&at| self.rects[at]).collect();
        let one_turn = rects.iter().all(|rect| rect.turn == rects[0].turn);
        if one_turn || share_ground(&rects) {
            self.found.retain(|known| !known.iter().all(|at| set.binary_search(at).is_ok()));
            self.found.insert(set);
            return Some(());
        }
        for left_out in 0..set.len() {
            let mut smaller = set.clone();
            smaller.remove(left_out);
            self.keep(smaller)?;
        }
        Some(())
    }
}
