//! How far the cloth of an area reaches past its box on each side.

use patchlay_measure::Length;
use patchlay_shape::board::{Rect, Span};

use super::Area;

/// The margins of an area, and the neighbours that narrow them.
pub(super) struct Margins {
    /// Low u, high u, low v, high v.
    pub(super) sides: [Length; 4],
    /// Every box whose projection meets the area's, with the gap to it along the area's own axes.
    pub(super) facing: Vec<(usize, Length)>,
}

impl Margins {
    /// The cloth over an area, not rounded to the ruler step.
    pub(super) fn grow(&self, rect: &Rect) -> Rect {
        let [low_u, high_u, low_v, high_v] = self.sides;
        rect.grown(low_u, high_u, low_v, high_v)
    }
}

/// min(set margin, half the gap rounded down) on each side.
pub(super) fn of(area: &Area, rects: &[Rect], set_margin: Length) -> Margins {
    let mut margins = Margins { sides: [set_margin; 4], facing: Vec::new() };
    for (at, other) in rects.iter().enumerate() {
        if area.positions.binary_search(&at).is_ok() {
            continue;
        }
        let other = other.seen_from(area.rect.turn);
        if area.rect.v.meets(&other.v) {
            face(&mut margins, at, &area.rect.u, &other.u, 0);
        }
        if area.rect.u.meets(&other.u) {
            face(&mut margins, at, &area.rect.v, &other.v, 2);
        }
    }
    margins
}

/// Narrows the margin on the side on which another box lies. A box at another turn may reach into the area's
/// projections both ways; then nothing is left of the margin on that side.
fn face(margins: &mut Margins, other: usize, own: &Span, its: &Span, low_side: usize) {
    let on_high_side = own.low + own.high <= its.low + its.high;
    let (side, gap) =
        if on_high_side { (low_side + 1, own.gap_high(its)) } else { (low_side, own.gap_low(its)) };
    let gap = gap.max(Length::ZERO);
    margins.sides[side] = margins.sides[side].min(gap.half_floor());
    margins.facing.push((other, gap));
}
