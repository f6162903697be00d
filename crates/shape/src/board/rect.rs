//! Rectangles in turned axes.

use patchlay_measure::Length;

use super::span::{Fixed, Span};
use crate::{Turn, trig};

/// A rectangle on the board, square to axes turned by `turn`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Rect {
    /// How far its axes are turned.
    pub turn: Turn,
    /// Its range along the u axis.
    pub u: Span,
    /// Its range along the v axis.
    pub v: Span,
}

/// A corner: x and y, or u and v.
type Corner = (Fixed, Fixed);

impl Rect {
    /// A rectangle square to the board with a corner at the board's origin:
    /// the board itself, or a mat laid on that corner.
    #[must_use]
    pub fn at_origin(width: Length, length: Length) -> Self {
        Self { turn: Turn::NONE, u: Span::from_zero(width), v: Span::from_zero(length) }
    }

    /// The smallest rectangle in axes turned by `turn` that covers this one;
    /// exact if the two turns are a whole number of quarter turns apart.
    #[must_use]
    pub fn seen_from(&self, turn: Turn) -> Self {
        let by = self.turn.then(turn.back());
        let [first, rest @ ..] = self.own_corners().map(|corner| carried(corner, by));
        let point = |(u, v): Corner| (Span { low: u, high: u }, Span { low: v, high: v });
        let (u, v) = rest.iter().fold(point(first), |(us, vs), &corner| {
            let (u, v) = point(corner);
            (us.cover(&u), vs.cover(&v))
        });
        Self { turn, u, v }
    }

    /// Its range along the u axis of `turn`.
    #[must_use]
    pub fn u_range(&self, turn: Turn) -> Span {
        self.seen_from(turn).u
    }

    /// Its range along the v axis of `turn`.
    #[must_use]
    pub fn v_range(&self, turn: Turn) -> Span {
        self.seen_from(turn).v
    }

    /// The corners (x, y) on the board, counter-clockwise from low u, low v.
    #[must_use]
    pub fn corners(&self) -> [(Fixed, Fixed); 4] {
        self.own_corners().map(|corner| carried(corner, self.turn))
    }

    fn own_corners(&self) -> [Corner; 4] {
        [
            (self.u.low, self.v.low),
            (self.u.high, self.v.low),
            (self.u.high, self.v.high),
            (self.u.low, self.v.high),
        ]
    }

    /// Across its own u axis, rounded up.
    #[must_use]
    pub fn width(&self) -> Length {
        self.u.extent()
    }

    /// Along its own v axis, rounded up.
    #[must_use]
    pub fn length(&self) -> Length {
        self.v.extent()
    }

    /// Whether it lies on a board from the origin to (`width`, `length`).
    #[must_use]
    pub fn inside(&self, width: Length, length: Length) -> bool {
        Self::at_origin(width, length).covers(self)
    }

    /// Whether `other` lies within this rectangle, up to the tolerance.
    #[must_use]
    pub fn covers(&self, other: &Self) -> bool {
        let other = other.seen_from(self.turn);
        self.u.holds(&other.u) && self.v.holds(&other.v)
    }

    /// Whether the two overlap; touching is not overlapping.
    #[must_use]
    pub fn overlaps(&self, other: &Self) -> bool {
        // Two convex outlines are apart exactly if a side of one separates them.
        [self.turn, other.turn].iter().all(|&turn| {
            let (one, two) = (self.seen_from(turn), other.seen_from(turn));
            one.u.meets(&two.u) && one.v.meets(&two.v)
        })
    }

    /// The smallest rectangle in this one's axes that covers both.
    #[must_use]
    pub fn cover(&self, other: &Self) -> Self {
        let other = other.seen_from(self.turn);
        Self { turn: self.turn, u: self.u.cover(&other.u), v: self.v.cover(&other.v) }
    }

    /// Grown by a margin on each side: low u, high u, low v, high v.
    #[must_use]
    pub fn grown(&self, low_u: Length, high_u: Length, low_v: Length, high_v: Length) -> Self {
        Self { turn: self.turn, u: self.u.grown(low_u, high_u), v: self.v.grown(low_v, high_v) }
    }
}

/// Coordinates in axes turned by `by`, as seen without the turn.
pub(super) fn carried((u, v): Corner, by: Turn) -> Corner {
    let (sin, cos) = by.sin_cos_fixed();
    let (u, v) = (u.steps(), v.steps());
    let half = 1 << (trig::PLACES - 1);
    let rounded = |product: i128| Fixed::from_steps((product + half) >> trig::PLACES);
    (rounded(u * cos - v * sin), rounded(u * sin + v * cos))
}

/// Whether some ground lies under every one of the rectangles, more than a
/// tolerance wide. Rectangles of different turns may overlap two by two and
/// still have none in common. True for no rectangles at all.
#[must_use]
pub fn share_ground(rects: &[Rect]) -> bool {
    let Some((first, others)) = rects.split_first() else {
        return true;
    };
    // Shrunk by half the tolerance a side, so that touching leaves nothing.
    let mut ground = shrunk(first).map_or_else(Vec::new, |rect| rect.corners().to_vec());
    for other in others {
        let Some(other) = shrunk(other) else { return false };
        let into = other.turn.back();
        ground = ground.iter().map(|&corner| carried(corner, into)).collect();
        for (limit, along_u, upper) in [
            (other.u.low, true, false),
            (other.u.high, true, true),
            (other.v.low, false, false),
            (other.v.high, false, true),
        ] {
            ground = clipped(&ground, limit, along_u, upper);
        }
        ground = ground.iter().map(|&corner| carried(corner, other.turn)).collect();
    }
    !ground.is_empty()
}

fn shrunk(rect: &Rect) -> Option<Rect> {
    let half = Fixed::from_steps(Fixed::TOLERANCE.steps() / 2);
    let shrink = |span: &Span| Span { low: span.low + half, high: span.high - half };
    let (u, v) = (shrink(&rect.u), shrink(&rect.v));
    (u.low < u.high && v.low < v.high).then_some(Rect { turn: rect.turn, u, v })
}

/// The part of a convex outline on one side of a line along an axis.
fn clipped(outline: &[Corner], limit: Fixed, along_u: bool, upper: bool) -> Vec<Corner> {
    let beyond = |corner: &Corner| {
        let at = if along_u { corner.0 } else { corner.1 };
        let past = (at - limit).steps();
        if upper { past } else { -past }
    };
    let next = outline.iter().cycle().skip(1);
    let mut kept = Vec::with_capacity(outline.len() + 1);
    for (corner, after) in outline.iter().zip(next) {
        let (here, there) = (beyond(corner), beyond(after));
        if here <= 0 {
            kept.push(*corner);
        }
        if (here < 0 && there > 0) || (here > 0 && there < 0) {
            let part = |from: Fixed, to: Fixed| {
                let step = (to - from).steps() * here / (here - there);
                from + Fixed::from_steps(step)
            };
            kept.push((part(corner.0, after.0), part(corner.1, after.1)));
        }
    }
    kept
}
