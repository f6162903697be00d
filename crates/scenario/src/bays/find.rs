//! Finds the sets of positions that one rectangle covers.
//!
//! A set S of boxes of equal turn is an area if its bounding rectangle overlaps no other box and S is a full grid:
//! it splits into rows by overlapping v-ranges, each of the same number of boxes, and into columns by overlapping
//! u-ranges, with one box for every row and column. Every such S is closed: whatever its rectangle overlaps is in
//! it. So all closed sets are visited, from single boxes on, adding one box at a time.

use std::collections::BTreeSet;

use patchlay_shape::board::{Rect, Span};

use super::members::Members;
use super::{Area, MOST_BAYS, TooComplex};

/// Most closed sets visited before a board is refused.
const MOST_VISITED: usize = 2 * MOST_BAYS;

/// All areas, sorted by the positions they cover.
pub(super) fn areas(rects: &[Rect]) -> Result<Vec<Area>, TooComplex> {
    let overlaps = Overlaps::new(rects);
    let mut seen: BTreeSet<Members> = (0..rects.len()).map(|at| Members::from_iter([at])).collect();
    let mut waiting: Vec<Members> = seen.iter().copied().collect();
    let mut areas = Vec::new();
    while let Some(set) = waiting.pop() {
        let (rect, _) = overlaps.rect(&set);
        if is_grid(&set, rects) {
            areas.push(Area { positions: set.iter().collect(), rect });
        }
        let mates = &overlaps.mates[set.iter().next().unwrap_or(0)];
        for added in mates.iter().filter(|mate| !set.contains(*mate)) {
            let mut wider = set;
            wider.insert(added);
            if let Some(closed) = overlaps.close(wider)
                && seen.insert(closed)
            {
                waiting.push(closed);
            }
        }
        if seen.len() > MOST_VISITED || areas.len() > MOST_BAYS {
            return Err(TooComplex);
        }
    }
    areas.sort_by(|a, b| a.positions.cmp(&b.positions));
    Ok(areas)
}

/// For every box, which boxes of the same turn lie past each of its sides: so the boxes that a rectangle overlaps
/// are four sets met together.
struct Overlaps<'r> {
    rects: &'r [Rect],
    /// Boxes of the same turn.
    mates: Vec<Members>,
    /// Boxes of another turn.
    strangers: Vec<Members>,
    above_low_u: Vec<Members>,
    below_high_u: Vec<Members>,
    above_low_v: Vec<Members>,
    below_high_v: Vec<Members>,
}

/// Which boxes bound a set: lowest u, highest u, lowest v, highest v.
type Ends = [usize; 4];

impl<'r> Overlaps<'r> {
    fn new(rects: &'r [Rect]) -> Self {
        let sets = |test: &dyn Fn(&Rect, &Rect) -> bool| -> Vec<Members> {
            rects.iter().map(|one| (0..rects.len()).filter(|at| test(one, &rects[*at])).collect()).collect()
        };
        // A rectangle from the low side of one box on: what reaches past that side by more than the tolerance.
        let above =
            |low: &Span, other: &Span| Span { low: low.low, high: other.high.max(low.low) }.meets(other);
        let below =
            |high: &Span, other: &Span| Span { low: other.low.min(high.high), high: high.high }.meets(other);
        Self {
            rects,
            mates: sets(&|one, other| one.turn == other.turn),
            strangers: sets(&|one, other| one.turn != other.turn),
            above_low_u: sets(&|one, other| above(&one.u, &other.u)),
            below_high_u: sets(&|one, other| below(&one.u, &other.u)),
            above_low_v: sets(&|one, other| above(&one.v, &other.v)),
            below_high_v: sets(&|one, other| below(&one.v, &other.v)),
        }
    }

    fn rect(&self, set: &Members) -> (Rect, Ends) {
        let mut members = set.iter();
        let first = members.next().unwrap_or(0);
        let mut ends = [first; 4];
        for at in members {
            let (rect, ends_of) = (&self.rects[at], |end: usize| &self.rects[end]);
            if rect.u.low < ends_of(ends[0]).u.low {
                ends[0] = at;
            }
            if rect.u.high > ends_of(ends[1]).u.high {
                ends[1] = at;
            }
            if rect.v.low < ends_of(ends[2]).v.low {
                ends[2] = at;
            }
            if rect.v.high > ends_of(ends[3]).v.high {
                ends[3] = at;
            }
        }
        let [low_u, high_u, low_v, high_v] = ends.map(|end| self.rects[end]);
        let u = Span { low: low_u.u.low, high: high_u.u.high };
        let v = Span { low: low_v.v.low, high: high_v.v.high };
        (Rect { turn: low_u.turn, u, v }, ends)
    }

    /// Adds whatever the set's rectangle overlaps, until nothing more is; `None` if a box of another turn is.
    fn close(&self, mut set: Members) -> Option<Members> {
        loop {
            let (rect, [low_u, high_u, low_v, high_v]) = self.rect(&set);
            let met = self.mates[low_u]
                .and(&self.above_low_u[low_u])
                .and(&self.below_high_u[high_u])
                .and(&self.above_low_v[low_v])
                .and(&self.below_high_v[high_v]);
            if self.strangers[low_u].iter().any(|other| self.rects[other].overlaps(&rect)) {
                return None;
            }
            if met == set {
                return Some(set);
            }
            set = met;
        }
    }
}

/// Whether a set is a full grid of rows and columns.
fn is_grid(set: &Members, rects: &[Rect]) -> bool {
    let members: Vec<&Rect> = set.iter().map(|at| &rects[at]).collect();
    let (rows, row_count) = lines(&members.iter().map(|rect| rect.v).collect::<Vec<_>>());
    let (columns, column_count) = lines(&members.iter().map(|rect| rect.u).collect::<Vec<_>>());
    let places: BTreeSet<(usize, usize)> = rows.into_iter().zip(columns).collect();
    places.len() == members.len() && members.len() == row_count * column_count
}

/// Which line each range belongs to, where ranges that overlap, directly or through others, share a line.
fn lines(spans: &[Span]) -> (Vec<usize>, usize) {
    let mut order: Vec<usize> = (0..spans.len()).collect();
    order.sort_by_key(|at| (spans[*at].low, spans[*at].high, *at));
    let mut line_of = vec![0; spans.len()];
    let mut count = 0;
    let mut reach: Option<Span> = None;
    for at in order {
        reach = match reach {
            Some(reach) if reach.meets(&spans[at]) => Some(reach.cover(&spans[at])),
            _ => {
                count += 1;
                Some(spans[at])
            }
        };
        line_of[at] = count - 1;
    }
    (line_of, count)
}
