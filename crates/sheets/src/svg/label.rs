//! Names of the areas on a picture, each with an arrow along the threads, set so that they do not hide each other
//! where areas overlap.

use std::cmp::Reverse;
use std::fmt::Write as _;

use patchlay_plan::Way;
use patchlay_shape::Turn;

use super::board::{Frame, angle};
use super::num;
use crate::view::Area;

/// A label that has its place: centre and half sizes, millimetres.
#[derive(Clone, Copy)]
struct Placed {
    x: f64,
    y: f64,
    half_wide: f64,
    half_high: f64,
}

impl Placed {
    /// Area that two labels share.
    fn overlap(self, other: Self) -> f64 {
        let share = |at: f64, half: f64, other_at: f64, other_half: f64| {
            (half + other_half - (at - other_at).abs()).clamp(0.0, 2.0 * half)
        };
        share(self.x, self.half_wide, other.x, other.half_wide)
            * share(self.y, self.half_high, other.y, other.half_high)
    }
}

/// Where in an area a label may stand, as parts of its width and length.
const PARTS: [f64; 7] = [0.5, 0.35, 0.65, 0.2, 0.8, 0.1, 0.9];

/// Labels of all areas; small areas choose first, for they have the least room.
pub(super) fn put(text: &mut String, frame: &Frame, areas: &[Area<'_>]) {
    let mut order: Vec<usize> = (0..areas.len()).collect();
    order.sort_by_key(|&at| (areas[at].bay.positions.len(), Reverse(at)));
    let crowded = areas.iter().enumerate().any(|(at, one)| {
        areas[at + 1..].iter().any(|other| one.bay.positions.iter().any(|p| other.bay.positions.contains(p)))
    });
    let mut placed: Vec<Placed> = Vec::new();
    for at in order {
        let label = Label::new(frame, &areas[at], crowded);
        let place = label.place(frame, &areas[at], &placed);
        label.draw(text, frame, &areas[at], place);
        placed.push(place);
    }
}

struct Label {
    name: String,
    size: f64,
    wide: f64,
    arrow: f64,
}

impl Label {
    fn new(frame: &Frame, area: &Area<'_>, crowded: bool) -> Self {
        let (u, v) = (area.bay.place.u, area.bay.place.v);
        let across = (u.high.units_f64() - u.low.units_f64()) * frame.paper.scale;
        let along = (v.high.units_f64() - v.low.units_f64()) * frame.paper.scale;
        let most = if crowded { 4.0 } else { 5.4 };
        let size = (across.min(along) * 0.3).clamp(3.0, most);
        let roomy = !crowded && across > size * 6.0;
        let mut name = if roomy { format!("area {}", area.letter) } else { area.letter.clone() };
        if let Some(angle) = angle(area.bay.place.turn) {
            let _ = write!(name, " {angle}");
        }
        let across_threads = area.groups.iter().any(|lying| lying.group.way == Way::Across);
        // A lying arrow needs its length, an upright one only its heads.
        let lying =
            across_threads || angle(area.bay.place.turn).is_some() || area.bay.place.turn != Turn::NONE;
        let arrow = size * if lying { 1.6 } else { 0.8 };
        let wide = name.chars().count() as f64 * size * 0.58 + arrow + size * 0.5;
        Self { name, size, wide, arrow }
    }

    /// The place nearest the middle of the area that hides no label yet, else the one that hides least.
    fn place(&self, frame: &Frame, area: &Area<'_>, placed: &[Placed]) -> Placed {
        let (u, v) = (area.bay.place.u, area.bay.place.v);
        let (low_u, low_v) = (u.low.units_f64(), v.low.units_f64());
        let (across, along) = (u.high.units_f64() - low_u, v.high.units_f64() - low_v);
        let mut parts: Vec<(f64, f64)> =
            PARTS.iter().flat_map(|p| PARTS.iter().map(move |q| (*p, *q))).collect();
        let off = |part: f64| (part - 0.5) * (part - 0.5);
        parts.sort_by(|one, other| (off(one.0) + off(one.1)).total_cmp(&(off(other.0) + off(other.1))));
        let candidates = parts.iter().map(|(p, q)| {
            let (x, y) = frame.turned(area.bay.place.turn, low_u + across * p, low_v + along * q);
            Placed { x, y, half_wide: self.wide / 2.0, half_high: self.size * 0.9 }
        });
        let hidden = |one: &Placed| placed.iter().map(|other| one.overlap(*other)).sum::<f64>();
        // The first of the least, so the order of the candidates decides ties.
        let middle = frame.turned(area.bay.place.turn, low_u + across / 2.0, low_v + along / 2.0);
        let first =
            Placed { x: middle.0, y: middle.1, half_wide: self.wide / 2.0, half_high: self.size * 0.9 };
        candidates.min_by(|one, other| hidden(one).total_cmp(&hidden(other))).unwrap_or(first)
    }

    fn draw(&self, text: &mut String, frame: &Frame, area: &Area<'_>, at: Placed) {
        let text_wide = self.wide - self.arrow - self.size * 0.4;
        let _ = write!(
            text,
            "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" rx=\"1\" fill=\"#ffffff\" stroke=\"#000000\" \
             stroke-width=\".35\"/><text x=\"{}\" y=\"{}\" font-size=\"{}\" font-weight=\"bold\" \
             text-anchor=\"middle\">{}</text>",
            num(at.x - at.half_wide),
            num(at.y - at.half_high),
            num(self.wide),
            num(2.0 * at.half_high),
            num(at.x - at.half_wide + self.size * 0.2 + text_wide / 2.0),
            num(at.y + self.size * 0.36),
            num(self.size),
            super::escape(&self.name),
        );
        let centre = (at.x + at.half_wide - self.size * 0.2 - self.arrow / 2.0, at.y);
        for (way, across, along) in [(Way::Along, 0.0, 1.0), (Way::Across, 1.0, 0.0)] {
            if area.groups.iter().any(|lying| lying.group.way == way) {
                let origin = frame.turned(area.bay.place.turn, 0.0, 0.0);
                let far = frame.turned(area.bay.place.turn, across * 1e5, along * 1e5);
                thread(text, centre, (far.0 - origin.0, far.1 - origin.1), self.size * 0.78);
            }
        }
    }
}

/// A double-headed arrow about a point: the direction of the strip's length.
fn thread(text: &mut String, (x, y): (f64, f64), (dx, dy): (f64, f64), half: f64) {
    let length = (dx * dx + dy * dy).sqrt().max(1e-9);
    let (dx, dy) = (dx / length, dy / length);
    let (from, to) = ((x - dx * half, y - dy * half), (x + dx * half, y + dy * half));
    let _ = write!(
        text,
        "<path class=\"arrow\" d=\"M{} {}L{} {}\"/>",
        num(from.0 + dx * 0.6),
        num(from.1 + dy * 0.6),
        num(to.0 - dx * 0.6),
        num(to.1 - dy * 0.6)
    );
    let head = half * 0.5;
    for ((x, y), way) in [(to, 1.0), (from, -1.0)] {
        let (back_x, back_y) = (x - dx * way * head, y - dy * way * head);
        let (side_x, side_y) = (-dy * head * 0.6, dx * head * 0.6);
        let _ = write!(
            text,
            "<path class=\"tip\" d=\"M{} {}L{} {}L{} {}Z\"/>",
            num(x),
            num(y),
            num(back_x + side_x),
            num(back_y + side_y),
            num(back_x - side_x),
            num(back_y - side_y),
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_side_by_side_do_not_overlap() {
        let at = |x| Placed { x, y: 0.0, half_wide: 2.0, half_high: 1.0 };
        assert_eq!(at(0.0).overlap(at(4.0)), 0.0);
        assert!(at(0.0).overlap(at(3.0)) > 0.0);
    }
}
