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
    let mut waiting: Vec<(Members, Ends)> =
        (0..rects.len()).map(|at| (Members::from_iter([at]), [at; 4])).collect();
    let mut areas = Vec::new();
    while let Some((set, ends)) = waiting.pop() {
        if is_grid(&set, rects) {
            areas.push(Area { positions: set.iter().collect(), rect: overlaps.rect(ends) });
        }
        for added in overlaps.mates[ends[0]].without(&set).iter() {
            if let Some((closed, ends)) = overlaps.close(set, ends, added)
                && seen.insert(closed)
            {
                waiting.push((closed, ends));
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

    /// The rectangle round a set.
    fn rect(&self, ends: Ends) -> Rect {
        let [low_u, high_u, low_v, high_v] = ends.map(|end| &self.rects[end]);
        let u = Span { low: low_u.u.low, high: high_u.u.high };
        let v = Span { low: low_v.v.low, high: high_v.v.high };
        Rect { turn: low_u.turn, u, v }
    }

    fn widen(&self, ends: &mut Ends, added: usize) {
        let (rects, rect) = (self.rects, &self.rects[added]);
        let [low_u, high_u, low_v, high_v] = ends;
        if rect.u.low < rects[*low_u].u.low {
            *low_u = added;
        }
        if rect.u.high > rects[*high_u].u.high {
            *high_u = added;
        }
        if rect.v.low < rects[*low_v].v.low {
            *low_v = added;
        }
        if rect.v.high > rects[*high_v].v.high {
            *high_v = added;
        }
    }

    /// Adds a box to a closed set, and then whatever its rectangle overlaps, until nothing more is; `None` if a box
    /// of another turn is.
    fn close(&self, mut set: Members, mut ends: Ends, added: usize) -> Option<(Members, Ends)> {
        set.insert(added);
        self.widen(&mut ends, added);
        loop {
            let [low_u, high_u, low_v, high_v] = ends;
            let met = self.mates[low_u]
                .and(&self.above_low_u[low_u])
                .and(&self.below_high_u[high_u])
                .and(&self.above_low_v[low_v])
                .and(&self.below_high_v[high_v]);
            let more = met.without(&set);
            if more.is_empty() {
                let rect = self.rect(ends);
                let stopped = self.strangers[low_u].iter().any(|other| self.rects[other].overlaps(&rect));
                return (!stopped).then_some((set, ends));
            }
            for added in more.iter() {
                set.insert(added);
                self.widen(&mut ends, added);
            }
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
