//! Areas: which sets of positions one rectangle of cloth covers, and how large that cloth is.

use std::collections::BTreeSet;

use patchlay_measure::{Area, Length};
use patchlay_plan::Way;
use patchlay_shape::board::{Rect, Span};

use super::{MOST_BAYS, Position, overlap};
use crate::facts::Rules;

/// An area of a board.
#[derive(Clone, Debug)]
pub(crate) struct Bay {
    /// Positions it covers, ascending.
    pub(crate) positions: Vec<usize>,
    /// Its box without margins.
    pub(crate) rect: Rect,
    /// Its cloth, margins included, not rounded.
    pub(crate) cloth: Rect,
    /// Area of the box.
    pub(crate) box_area: Area,
    /// Area of the cloth, not rounded.
    pub(crate) cloth_area: Area,
    /// Cloth across its own axis, rounded up to the ruler step.
    pub(crate) across: Length,
    /// Cloth along its own axis, rounded up to the ruler step.
    pub(crate) along: Length,
    /// Positions so near that an area that covers one of them is not loaded in the same pass.
    near: BTreeSet<usize>,
}

impl Bay {
    /// (run along the strip, width of the strip).
    pub(crate) fn cut(&self, way: Way) -> (Length, Length) {
        match way {
            Way::Along => (self.along, self.across),
            Way::Across => (self.across, self.along),
        }
    }
}

/// All areas of a board, sorted by their positions; none if there are too many.
pub(super) fn all(positions: &[Position], rules: &Rules) -> Option<Vec<Bay>> {
    let mut sets = BTreeSet::new();
    for first in 0..positions.len() {
        for last in first..positions.len() {
            if positions[first].rect.turn == positions[last].rect.turn
                && let Some(set) = closed(positions, first, last)
            {
                sets.insert(set);
            }
        }
        if sets.len() > MOST_BAYS {
            return None;
        }
    }
    let full = sets.into_iter().filter(|set| is_full_rectangle(positions, set));
    Some(full.map(|set| bay(positions, set, rules)).collect())
}

/// The least set of positions that holds both and whose rectangle touches no other; none if a differently turned
/// box is in the way.
fn closed(positions: &[Position], first: usize, last: usize) -> Option<Vec<usize>> {
    let mut rect = positions[first].rect.cover(&positions[last].rect);
    loop {
        let inside: Vec<usize> =
            (0..positions.len()).filter(|&at| overlap(&positions[at].rect, &rect)).collect();
        if inside.iter().any(|&at| positions[at].rect.turn != rect.turn) {
            return None;
        }
        let grown = inside.iter().fold(rect, |rect, &at| rect.cover(&positions[at].rect));
        if grown == rect {
            return Some(inside);
        }
        rect = grown;
    }
}

/// Whether the positions make whole rows and whole columns: every row has a box in every column.
fn is_full_rectangle(positions: &[Position], set: &[usize]) -> bool {
    let rows = lines(set, |at| positions[at].rect.v);
    let columns = lines(set, |at| positions[at].rect.u);
    let cells: BTreeSet<(usize, usize)> =
        rows.iter().zip(&columns).map(|(&row, &column)| (row, column)).collect();
    let count = |lines: &[usize]| lines.iter().max().map_or(0, |last| last + 1);
    cells.len() == set.len() && count(&rows) * count(&columns) == set.len()
}

/// Numbers the lines in which boxes lie: boxes whose ranges meet are in one line.
fn lines(set: &[usize], range: impl Fn(usize) -> Span) -> Vec<usize> {
    let mut order: Vec<usize> = (0..set.len()).collect();
    order.sort_by_key(|&at| range(set[at]).low);
    let mut line = vec![0; set.len()];
    let mut reach: Option<Span> = None;
    let mut current = 0;
    for at in order {
        let here = range(set[at]);
        reach = Some(match reach {
            Some(reach) if reach.meets(&here) => reach.cover(&here),
            Some(_) => {
                current += 1;
                here
            }
            None => here,
        });
        line[at] = current;
    }
    line
}

fn bay(positions: &[Position], set: Vec<usize>, rules: &Rules) -> Bay {
    let first = positions[set[0]].rect;
    let rect = set.iter().fold(first, |rect, &at| rect.cover(&positions[at].rect));
    let mut near = BTreeSet::new();
    // Low u, high u, low v, high v.
    let mut margins = [rules.margin; 4];
    for (at, other) in positions.iter().enumerate() {
        if set.binary_search(&at).is_ok() {
            continue;
        }
        let other = other.rect.seen_from(rect.turn);
        for (side, gap) in gaps(&rect, &other) {
            let half = gap.max(Length::ZERO).half_floor();
            margins[side] = margins[side].min(half);
            if half < rules.least_margin {
                near.insert(at);
            }
        }
    }
    let cloth = rect.grown(margins[0], margins[1], margins[2], margins[3]);
    let (width, length) = (rect.width(), rect.length());
    let (across, along) = (width + margins[0] + margins[1], length + margins[2] + margins[3]);
    Bay {
        positions: set,
        rect,
        cloth,
        box_area: width * length,
        cloth_area: across * along,
        across: across.ceil_to(rules.step),
        along: along.ceil_to(rules.step),
        near,
    }
}

/// Gaps from an area to a box beside it, by side of the area.
fn gaps(area: &Rect, other: &Rect) -> Vec<(usize, Length)> {
    let mut gaps = Vec::new();
    if area.v.meets(&other.v) {
        gaps.push(gap(&area.u, &other.u, 0));
    }
    if area.u.meets(&other.u) {
        gaps.push(gap(&area.v, &other.v, 2));
    }
    gaps
}

fn gap(area: &Span, other: &Span, low_side: usize) -> (usize, Length) {
    let (low, high) = (area.gap_low(other), area.gap_high(other));
    if low > high { (low_side, low) } else { (low_side + 1, high) }
}

/// Pairs of areas that are not loaded in one pass, the lower index first.
pub(super) fn apart(bays: &[Bay]) -> BTreeSet<(usize, usize)> {
    let mut pairs = BTreeSet::new();
    for (at, bay) in bays.iter().enumerate().filter(|(_, bay)| !bay.near.is_empty()) {
        for (to, other) in bays.iter().enumerate() {
            if at != to && other.positions.iter().any(|position| bay.near.contains(position)) {
                pairs.insert((at.min(to), at.max(to)));
            }
        }
    }
    pairs
}
