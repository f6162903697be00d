//! Plies seen from the side: a fan-fold as one zigzag, a flat cut as one bar. The right side of the cloth is dotted,
//! the wrong side plain.

use std::fmt::Write as _;

use patchlay_plan::Face;

use super::num;

/// Size of a picture.
#[derive(Clone, Copy)]
pub(crate) struct Size {
    /// Width in millimetres.
    pub(crate) wide: f64,
    /// From ply to ply in millimetres, where there are few.
    pitch: f64,
}

impl Size {
    /// To be seen at arm's length.
    pub(crate) const LARGE: Self = Self { wide: 18.0, pitch: 3.2 };
    /// Where room is scarce.
    pub(crate) const SMALL: Self = Self { wide: 14.0, pitch: 2.1 };

    /// Height of the picture of so many plies, millimetres.
    pub(crate) fn height(self, plies: u32) -> f64 {
        f64::from(plies) * self.pitch(plies) + 1.6
    }

    /// From ply to ply; thinner where there are many.
    fn pitch(self, plies: u32) -> f64 {
        (30.0 / f64::from(plies.max(1))).min(self.pitch)
    }
}

/// So many flat cuts on each other, all with the same face up.
pub(crate) fn flat_svg(size: Size, cuts: u32, face: Face) -> String {
    let high = size.height(cuts);
    let mut text = opening(size.wide, high, &format!("{cuts} flat cuts from the side"));
    let pitch = size.pitch(cuts);
    let (half, from, to) = (pitch * 0.27, 3.0, size.wide - 3.0);
    for cut in 0..cuts {
        let middle = high - 0.8 - pitch * (f64::from(cut) + 0.5);
        line(&mut text, from, to, middle - half, face == Face::Up);
        line(&mut text, from, to, middle + half, face == Face::Down);
        for x in [from, to] {
            let _ = write!(
                text,
                "<path class=\"wrong\" d=\"M{} {}v{}\"/>",
                num(x),
                num(middle - half),
                num(2.0 * half)
            );
        }
    }
    text.push_str("</svg>");
    text
}

fn opening(wide: f64, high: f64, label: &str) -> String {
    format!(
        "<svg class=\"stack\" viewBox=\"0 0 {w} {h}\" width=\"{w}mm\" height=\"{h}mm\" role=\"img\" \
         aria-label=\"{label}\">",
        w = num(wide),
        h = num(high),
    )
}

/// A fan-folded length, first ply at the bottom.
pub(crate) fn svg(size: Size, plies: u32, first: Face) -> String {
    let high = size.height(plies);
    let mut text = opening(size.wide, high, &format!("{plies} plies from the side"));
    let pitch = size.pitch(plies);
    let half = pitch * 0.27;
    let (from, to) = (3.0, size.wide - 3.0);
    let mut face = first;
    for ply in 0..plies {
        let middle = high - 0.8 - pitch * (f64::from(ply) + 0.5);
        let (upper, lower) = (middle - half, middle + half);
        line(&mut text, from, to, upper, face == Face::Up);
        line(&mut text, from, to, lower, face == Face::Down);
        if ply + 1 < plies {
            // Folds alternate: the first at the far end of the picture.
            let (x, sweep) = if ply % 2 == 0 { (to, 0) } else { (from, 1) };
            let above = middle - pitch;
            fold(&mut text, x, sweep, (upper, above + half), face == Face::Up);
            fold(&mut text, x, sweep, (lower, above - half), face == Face::Down);
        }
        // Cut ends are closed, so that a flat cut reads as one bar.
        if ply == 0 {
            let _ = write!(
                text,
                "<path class=\"wrong\" d=\"M{x} {}V{}\"/>",
                num(upper),
                num(lower),
                x = num(from)
            );
        }
        if ply + 1 == plies {
            let x = if ply % 2 == 0 { to } else { from };
            let _ =
                write!(text, "<path class=\"wrong\" d=\"M{x} {}V{}\"/>", num(upper), num(lower), x = num(x));
        }
        face = face.other();
    }
    text.push_str("</svg>");
    text
}

fn class(right: bool) -> &'static str {
    if right { "right" } else { "wrong" }
}

fn line(text: &mut String, from: f64, to: f64, y: f64, right: bool) {
    let _ =
        write!(text, "<path class=\"{}\" d=\"M{} {y}H{}\"/>", class(right), num(from), num(to), y = num(y));
}

fn fold(text: &mut String, x: f64, sweep: u8, (from, to): (f64, f64), right: bool) {
    let radius = num((from - to) / 2.0);
    let (x, from, to) = (num(x), num(from), num(to));
    let _ = write!(
        text,
        "<path class=\"{}\" d=\"M{x} {from}A{radius} {radius} 0 0 {sweep} {x} {to}\"/>",
        class(right)
    );
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fan_fold_has_one_fold_less_than_plies_and_half_its_lines_dotted() {
        for plies in [1, 2, 5, 40] {
            let text = svg(Size::LARGE, plies, Face::Up);
            assert_eq!(text.matches("A").count() / 2, plies as usize - 1, "{plies}");
            let dotted = text.matches("class=\"right\"").count();
            assert_eq!(dotted, plies as usize + plies as usize - 1);
            assert!(Size::LARGE.height(plies) < 33.0);
        }
    }

    #[test]
    fn flat_cuts_have_no_folds() {
        let text = flat_svg(Size::SMALL, 6, Face::Up);
        assert!(!text.contains("A"));
        assert_eq!(text.matches("class=\"right\"").count(), 6);
    }

    #[test]
    fn the_right_side_of_a_ply_laid_face_down_is_its_lower_line() {
        let up = svg(Size::LARGE, 1, Face::Up);
        let down = svg(Size::LARGE, 1, Face::Down);
        assert!(up.find("class=\"right\"") < up.find("class=\"wrong\""));
        assert!(down.find("class=\"wrong\"") < down.find("class=\"right\""));
    }
}
