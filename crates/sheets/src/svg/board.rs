//! A board from above: blades, loaded areas, mats, travel and threads.

use std::fmt::Write as _;

use patchlay_measure::Length;
use patchlay_plan::MatUse;
use patchlay_scenario::job::{Board, Job, Position};
use patchlay_shape::{
    Turn,
    board::{Fixed, Rect, Span},
};

use super::path::Paper;
use super::{escape, label, num, pattern};
use crate::view::{Area, Laid};

/// Line styles of the pictures; also part of the page's style sheet.
pub(crate) const STYLE: &str = "\
svg text{font-family:Arial,Helvetica,'Liberation Sans',sans-serif;fill:#000}\
.edge{fill:#fff;stroke:#000;stroke-width:.8}\
.bare{fill:none;stroke:#666;stroke-width:.25}\
.blade{stroke:#000;stroke-width:.55;stroke-linejoin:round}\
.cloth{fill:none;stroke:#000;stroke-width:.45;stroke-dasharray:1.6 1}\
.mat{fill:none;stroke:#000;stroke-width:1;stroke-dasharray:6 1.6 1 1.6}\
.arrow{fill:none;stroke:#000;stroke-width:.7}\
.tip{fill:#000;stroke:#fff;stroke-width:.2}\
.over{paint-order:stroke;stroke:#fff;stroke-width:1.2;stroke-linejoin:round}\
.right{fill:none;stroke:#000;stroke-width:.65;stroke-dasharray:.1 1.25;stroke-linecap:round}\
.wrong{fill:none;stroke:#000;stroke-width:.35}";

/// Room around the board for words, millimetres: top, sides, bottom.
const ROOM: (f64, f64, f64) = (13.0, 8.0, 6.5);

/// Steps of [`Fixed`] in one length unit.
const FIXED_STEPS: f64 = (1 << 20) as f64;

/// What a picture of a board shows.
pub(crate) struct Picture<'a> {
    pub(crate) job: &'a Job,
    pub(crate) board: &'a Board,
    pub(crate) areas: &'a [Area<'a>],
    pub(crate) mats: &'a [MatUse],
    pub(crate) left_handed: bool,
}

impl<'a> Picture<'a> {
    /// A board with nothing on it.
    pub(crate) fn bare(job: &'a Job, board: &'a Board) -> Self {
        Self { job, board, areas: &[], mats: &[], left_handed: false }
    }

    /// A lay-up.
    pub(crate) fn laid(job: &'a Job, laid: &'a Laid<'a>, left_handed: bool) -> Self {
        Self { job, board: laid.board, areas: &laid.areas, mats: &laid.layup.mats, left_handed }
    }

    /// The picture, at most `wide` x `high` mm. `alone`: with its own styles and patterns, as a file of its own.
    pub(crate) fn svg(&self, wide: f64, high: f64, alone: bool) -> String {
        let frame = Frame::around(self, wide, high);
        let mut text = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"board\" viewBox=\"0 0 {w} {h}\" width=\"{w}mm\" \
             height=\"{h}mm\" role=\"img\" aria-label=\"{}\">",
            escape(&format!("board {} from above", self.board.name)),
            w = num(frame.size.0),
            h = num(frame.size.1),
        );
        if alone {
            let colours = self.job.fabrics.iter().map(|fabric| fabric.colour.as_str());
            let _ = write!(text, "<style>{STYLE}</style><defs>{}</defs>", pattern::definitions(colours));
            let _ = write!(
                text,
                "<rect width=\"{}\" height=\"{}\" fill=\"#ffffff\"/>",
                num(frame.size.0),
                num(frame.size.1)
            );
        }
        self.ground(&mut text, &frame);
        for (at, position) in self.board.positions.iter().enumerate() {
            self.position(&mut text, &frame, at, position);
        }
        for area in self.areas {
            let _ = write!(text, "<path class=\"cloth\" d=\"{}\"/>", frame.rect(&cloth(area)));
        }
        self.mats(&mut text, &frame);
        label::put(&mut text, &frame, self.areas);
        text.push_str("</svg>");
        text
    }

    /// Height of the picture in millimetres.
    pub(crate) fn height(&self, wide: f64, high: f64) -> f64 {
        Frame::around(self, wide, high).size.1
    }

    /// Board, corner mark, travel arrow, names of the sides.
    fn ground(&self, text: &mut String, frame: &Frame) {
        let (width, length) = (float(self.board.width), float(self.board.length));
        let board = [(0.0, 0.0), (width, 0.0), (width, length), (0.0, length)];
        let _ = write!(text, "<path class=\"edge\" d=\"{}\"/>", frame.paper.corners(board));
        let (east, north) = frame.paper.at(0.0, 0.0);
        let (west, south) = frame.paper.at(width, length);
        let mark = (east - west).min(south - north).min(30.0) * 0.16;
        let _ = write!(
            text,
            "<path d=\"M{e} {n}h-{m}l{m} {m}Z\" fill=\"#000000\"/>",
            e = num(east),
            n = num(north),
            m = num(mark),
        );
        let middle = (east + west) / 2.0;
        let tip = 4.8;
        let _ = write!(
            text,
            "<text x=\"{m}\" y=\"3.6\" font-size=\"3.8\" font-weight=\"bold\" text-anchor=\"middle\">this end goes in \
             first</text><path class=\"arrow\" style=\"stroke-width:1.4\" d=\"M{m} {}V{}\"/><path class=\"tip\" \
             d=\"M{m} {}l2.6 4h-5.2Z\"/>",
            num(north - 0.6),
            num(tip + 3.0),
            num(tip),
            m = num(middle),
        );
        let (east_name, west_name) =
            if self.left_handed { ("far side", "handle side") } else { ("handle side", "far side") };
        let centre = (north + south) / 2.0;
        // Beside whatever reaches furthest out, a mat or the board.
        let (east_most, west_most) =
            (frame.paper.at(frame.low.0, 0.0).0, frame.paper.at(frame.high.0, 0.0).0);
        for (x, name, turn) in [(east_most + 4.4, east_name, 90), (west_most - 4.4, west_name, -90)] {
            let _ = write!(
                text,
                "<text transform=\"translate({} {}) rotate({turn})\" font-size=\"3.6\" text-anchor=\"middle\" \
                 dominant-baseline=\"middle\"{}>{name}</text>",
                num(x),
                num(centre),
                if name == "handle side" { " font-weight=\"bold\"" } else { "" },
            );
        }
    }

    /// The blades of a position, filled with the topmost cloth where it is loaded.
    fn position(&self, text: &mut String, frame: &Frame, at: usize, position: &Position) {
        let top = self.areas.iter().rev().find(|area| area.bay.positions.contains(&at));
        let fill = top.and_then(|area| area.groups.last()).map(|lying| pattern::id(lying.fabric));
        let style = match (fill, self.areas.is_empty()) {
            (Some(id), _) => format!("class=\"blade\" fill=\"url(#{id})\""),
            (None, true) => "class=\"blade\" fill=\"#eeeeee\"".to_owned(),
            (None, false) => "class=\"bare\"".to_owned(),
        };
        for outline in outlines(position) {
            let _ = write!(text, "<path {style} d=\"{}\"/>", frame.paper.outline(&outline));
        }
        let rect = position.place.rect();
        let (u, v) = (rect.u.high.units_f64(), rect.v.low.units_f64());
        let (size, inset) = (frame.small(), frame.small() / frame.paper.scale);
        let (x, y) = frame.turned(rect.turn, u - inset * 0.75, v + inset * 0.85);
        let _ = write!(
            text,
            "<text class=\"over\" x=\"{}\" y=\"{}\" font-size=\"{}\" text-anchor=\"middle\" \
             dominant-baseline=\"middle\">{}</text>",
            num(x),
            num(y),
            num(size),
            escape(&position.label),
        );
    }

    fn mats(&self, text: &mut String, frame: &Frame) {
        for used in self.mats {
            let Some((width, length)) = mat_size(self.job, used) else { continue };
            let (x, y) = (float(used.x), float(used.y));
            let corners = [(x, y), (x + width, y), (x + width, y + length), (x, y + length)];
            let kept = corners.map(|(x, y)| frame.clamped(x, y));
            let _ = write!(text, "<path class=\"mat\" d=\"{}\"/>", frame.paper.corners(kept));
            if self.mats.len() < 2 {
                continue;
            }
            let (px, py) = frame.paper.at(kept[2].0, kept[2].1);
            let _ = write!(
                text,
                "<text class=\"over\" x=\"{}\" y=\"{}\" font-size=\"3.2\">{}</text>",
                num(px + 1.6),
                num(py - 1.4),
                escape(
                    &crate::fit::shorten_by(&format!("mat: {}", used.mat), |text| text.chars().count() <= 24)
                ),
            );
        }
    }
}

/// The scale and place of a board on the paper.
pub(super) struct Frame {
    pub(super) paper: Paper,
    size: (f64, f64),
    low: (f64, f64),
    high: (f64, f64),
}

impl Frame {
    fn around(picture: &Picture<'_>, wide: f64, high: f64) -> Self {
        let (width, length) = (float(picture.board.width).max(1.0), float(picture.board.length).max(1.0));
        // A mat may reach past the board; so much of it is shown.
        let (spare_x, spare_y) = (width * 0.08, length * 0.08);
        let (mut low, mut top) = ((0.0, 0.0), (width, length));
        for used in picture.mats {
            let Some((mat_width, mat_length)) = mat_size(picture.job, used) else { continue };
            let (x, y) = (float(used.x), float(used.y));
            low = (f64::min(low.0, x.max(-spare_x)), f64::min(low.1, y.max(-spare_y)));
            top.0 = f64::max(top.0, (x + mat_width).min(width + spare_x));
            top.1 = f64::max(top.1, (y + mat_length).min(length + spare_y));
        }
        let (across, along) = (top.0 - low.0, top.1 - low.1);
        let scale = ((wide - 2.0 * ROOM.1) / across).min((high - ROOM.0 - ROOM.2) / along).max(1e-9);
        let size = ((across * scale + 2.0 * ROOM.1).max(46.0), along * scale + ROOM.0 + ROOM.2);
        let middle = size.0 / 2.0;
        let corner = (middle + (top.0 + low.0) / 2.0 * scale, ROOM.0 - low.1 * scale);
        Self { paper: Paper { scale, corner }, size, low, high: top }
    }

    pub(super) fn rect(&self, rect: &Rect) -> String {
        self.paper.corners(rect.corners().map(|(x, y)| (x.units_f64(), y.units_f64())))
    }

    /// A point of a turned rectangle's own axes on the paper.
    pub(super) fn turned(&self, turn: Turn, u: f64, v: f64) -> (f64, f64) {
        // Turned in fixed point, so that the picture is the same on every machine.
        let point = |at: f64| {
            let at = Fixed::from_steps((at * FIXED_STEPS) as i128);
            Span { low: at, high: at }
        };
        let [(x, y), ..] = Rect { turn, u: point(u), v: point(v) }.corners();
        self.paper.at(x.units_f64(), y.units_f64())
    }

    fn clamped(&self, x: f64, y: f64) -> (f64, f64) {
        (x.clamp(self.low.0, self.high.0), y.clamp(self.low.1, self.high.1))
    }

    /// Size of the positions' numbers.
    fn small(&self) -> f64 {
        2.6
    }
}

/// The cloth of one ply on an area, margins included.
pub(super) fn cloth(area: &Area<'_>) -> Rect {
    let [low_u, high_u, low_v, high_v] = area.bay.margins;
    area.bay.place.grown(low_u, high_u, low_v, high_v)
}

/// How far blades stand off the board's edges: `12°`; none where they are square to them.
pub(crate) fn angle(turn: Turn) -> Option<String> {
    let off = turn.hundredths().rem_euclid(9_000);
    let off = off.min(9_000 - off);
    (off != 0).then(|| format!("{}°", num(f64::from(off) / 100.0)))
}

/// The cut outlines of a position's patches on the board.
fn outlines(position: &Position) -> Vec<patchlay_shape::Outline> {
    let (half_width, half_height) =
        (float(position.arranged.width) / 2.0, float(position.arranged.height) / 2.0);
    let quarter = Turn::from_degrees(90 * i32::from(position.quarter_turns));
    let place = &position.place;
    let half = |units: i64| units as f64 / 2.0;
    position
        .arranged
        .patches
        .iter()
        .map(|patch| {
            patch
                .outline
                .moved(-half_width, -half_height)
                .turned(quarter)
                .moved(half(place.offset.0), half(place.offset.1))
                .turned(place.turn)
                .moved(half(place.anchor.0), half(place.anchor.1))
        })
        .collect()
}

/// Width and length of a mat as it lies.
fn mat_size(job: &Job, used: &MatUse) -> Option<(f64, f64)> {
    let mat = job.cutter.mats.iter().find(|mat| mat.name == used.mat)?;
    let (width, length) = (float(mat.width), float(mat.length));
    Some(if used.turned { (length, width) } else { (width, length) })
}

/// For drawing only.
pub(crate) fn float(length: Length) -> f64 {
    length.units() as f64
}
