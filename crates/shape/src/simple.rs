//! Checks on a free outline, exact in integers.

use patchlay_measure::Length;

use crate::finished::MAX_SIDE;
use crate::{Point, ShapeError};

/// Most corners taken.
const MAX_CORNERS: usize = 64;

/// A corner of a free outline with the number its user gave it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Corner {
    /// From 1, in the order listed.
    pub(crate) number: usize,
    x: i128,
    y: i128,
}

impl Corner {
    /// For drawing.
    pub(crate) fn point(&self) -> Point {
        Point::new(self.x as f64, self.y as f64)
    }
}

/// The real corners, counter-clockwise: straight-through ones dropped.
///
/// # Errors
/// Named errors for too few or too many corners, sizes beyond 10 m, repeated
/// corners, and outlines that cross or touch themselves.
pub(crate) fn checked_corners(listed: &[(Length, Length)]) -> Result<Vec<Corner>, ShapeError> {
    if listed.len() > MAX_CORNERS {
        return Err(ShapeError::TooManyCorners { count: listed.len() });
    }
    if listed.iter().any(|&(x, y)| [x, y, -x, -y].iter().any(|&size| size > MAX_SIDE)) {
        return Err(ShapeError::TooLarge { what: "distance of a corner from the origin" });
    }
    let mut corners: Vec<Corner> = listed
        .iter()
        .enumerate()
        .map(|(at, &(x, y))| Corner { number: at + 1, x: x.units().into(), y: y.units().into() })
        .collect();
    refuse_repeats(&corners)?;
    drop_straight(&mut corners);
    if corners.len() < 3 {
        return Err(ShapeError::TooFewCorners { count: corners.len() });
    }
    refuse_crossings(&corners)?;
    if twice_area(&corners) < 0 {
        corners.reverse();
    }
    Ok(corners)
}

fn refuse_repeats(corners: &[Corner]) -> Result<(), ShapeError> {
    for (first, second) in sides(corners) {
        if corners.len() > 1 && (first.x, first.y) == (second.x, second.y) {
            return Err(ShapeError::RepeatedCorner { first: first.number, second: second.number });
        }
    }
    Ok(())
}

fn sides(corners: &[Corner]) -> Vec<(Corner, Corner)> {
    let next = corners.iter().cycle().skip(1);
    corners.iter().zip(next).map(|(from, to)| (*from, *to)).collect()
}

/// Twice the signed area of a, b, c: above zero for a left turn.
fn turn(a: Corner, b: Corner, c: Corner) -> i128 {
    (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x)
}

/// Whether b, on the line through a and c, lies between them.
fn between(a: Corner, b: Corner, c: Corner) -> bool {
    (a.x - b.x) * (c.x - b.x) + (a.y - b.y) * (c.y - b.y) <= 0
}

fn drop_straight(corners: &mut Vec<Corner>) {
    loop {
        let count = corners.len();
        let straight = (0..count).find(|&at| {
            let (a, b, c) = (corners[(at + count - 1) % count], corners[at], corners[(at + 1) % count]);
            count > 2 && turn(a, b, c) == 0 && between(a, b, c)
        });
        match straight {
            Some(at) => _ = corners.remove(at),
            None => return,
        }
    }
}

fn refuse_crossings(corners: &[Corner]) -> Result<(), ShapeError> {
    let sides = sides(corners);
    let count = sides.len();
    for first in 0..count {
        for second in first + 1..count {
            let next_to = second == first + 1 || (first == 0 && second == count - 1);
            let bad = if next_to && count > 2 {
                folds_back(sides[first], sides[second])
            } else {
                meet(sides[first], sides[second])
            };
            if bad {
                let (first, second) = (sides[first].0.number, sides[second].0.number);
                return Err(ShapeError::CrossesItself { first, second });
            }
        }
    }
    Ok(())
}

/// Neighbouring sides that lie on each other.
fn folds_back(one: (Corner, Corner), other: (Corner, Corner)) -> bool {
    let (a, b, c) = if one.1 == other.0 { (one.0, one.1, other.1) } else { (other.0, other.1, one.1) };
    turn(a, b, c) == 0
}

/// Whether two sides share a point.
fn meet(one: (Corner, Corner), other: (Corner, Corner)) -> bool {
    let (a, b) = one;
    let (c, d) = other;
    let (t1, t2) = (turn(a, b, c).signum(), turn(a, b, d).signum());
    let (t3, t4) = (turn(c, d, a).signum(), turn(c, d, b).signum());
    (t1 * t2 < 0 && t3 * t4 < 0)
        || (t1 == 0 && between(a, c, b))
        || (t2 == 0 && between(a, d, b))
        || (t3 == 0 && between(c, a, d))
        || (t4 == 0 && between(c, b, d))
}

fn twice_area(corners: &[Corner]) -> i128 {
    sides(corners).iter().map(|(a, b)| a.x * b.y - a.y * b.x).sum()
}
