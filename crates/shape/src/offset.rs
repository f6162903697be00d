//! The seam allowance: an outline moved outwards, with mitred corners.

use crate::geometry::{Edge, Point};
use crate::outline::Outline;
use crate::{Finished, ShapeError};

/// The finished outline moved outwards by `seam` length units. Straight sides
/// move along their normals, a convex curve grows by the seam, a hollow one
/// shrinks by it, and neighbours are carried on until they meet.
pub(crate) fn outwards(kind: &Finished, finished: &Outline, seam: f64) -> Result<Outline, ShapeError> {
    let moved: Vec<Edge> = finished.edges().iter().map(|edge| shifted(edge, seam)).collect();
    let count = moved.len();
    let mut corners = Vec::with_capacity(count);
    for at in 0..count {
        let near = moved[at].from();
        corners.push(
            meeting(&moved[(at + count - 1) % count], &moved[at], near)
                .ok_or(ShapeError::InnerCurveCollapsed)?,
        );
    }
    let joined = joined(&moved, &corners);
    refuse_swallowed(kind, finished, &joined)?;
    Ok(joined)
}

fn shifted(edge: &Edge, seam: f64) -> Edge {
    match *edge {
        Edge::Line { from, to } => {
            let step = to.minus(from).unit().outwards().scaled(seam);
            Edge::Line { from: from.plus(step), to: to.plus(step) }
        }
        Edge::Arc { from, to, centre, radius, convex } => {
            let radius_now = if convex { radius + seam } else { radius - seam };
            let pull = |p: Point| centre.plus(p.minus(centre).scaled(radius_now / radius));
            Edge::Arc { from: pull(from), to: pull(to), centre, radius: radius_now, convex }
        }
    }
}

/// Where two moved edges, carried on, meet; for a curve the meeting nearest to
/// `near`. `None` if a curve no longer reaches the line.
fn meeting(before: &Edge, after: &Edge, near: Point) -> Option<Point> {
    match (*before, *after) {
        (Edge::Line { from: a, to: b }, Edge::Line { from: c, to: d }) => {
            let (u, v) = (b.minus(a), d.minus(c));
            let along = c.minus(a).cross(v) / u.cross(v);
            Some(a.plus(u.scaled(along)))
        }
        (Edge::Line { from, to }, Edge::Arc { centre, radius, .. })
        | (Edge::Arc { centre, radius, .. }, Edge::Line { from, to }) => {
            on_circle(from, to, centre, radius, near)
        }
        (Edge::Arc { .. }, Edge::Arc { .. }) => None,
    }
}

fn on_circle(from: Point, to: Point, centre: Point, radius: f64, near: Point) -> Option<Point> {
    let along = to.minus(from).unit();
    let foot = from.plus(along.scaled(centre.minus(from).dot(along)));
    let height = foot.minus(centre).length();
    if radius <= height {
        return None;
    }
    let reach = along.scaled((radius * radius - height * height).sqrt());
    let (one, other) = (foot.plus(reach), foot.minus(reach));
    let nearer = one.minus(near).length() <= other.minus(near).length();
    Some(if nearer { one } else { other })
}

fn joined(moved: &[Edge], corners: &[Point]) -> Outline {
    let count = moved.len();
    let edge = |at: usize| {
        let (from, to) = (corners[at], corners[(at + 1) % count]);
        match moved[at] {
            Edge::Line { .. } => Edge::Line { from, to },
            Edge::Arc { centre, radius, convex, .. } => Edge::Arc { from, to, centre, radius, convex },
        }
    };
    Outline::new((0..count).map(edge).collect())
}

/// Refuses an allowance that turns a side round or makes sides cross, which
/// only hollow outlines can do.
fn refuse_swallowed(kind: &Finished, finished: &Outline, cut: &Outline) -> Result<(), ShapeError> {
    let (old, new) = (finished.edges(), cut.edges());
    let count = old.len();
    for at in 0..count {
        let before = old[at].to().minus(old[at].from());
        let after = new[at].to().minus(new[at].from());
        // What is left of the side, signed: a hundredth of a unit is nothing.
        if before.unit().dot(after) < 0.01 {
            let corner = kind.corner_number(at);
            return Err(ShapeError::SeamRunsIntoItself { corner });
        }
    }
    for first in 0..count {
        for second in first + 2..count {
            let next_to = first == 0 && second == count - 1;
            if !next_to && lines_meet(&new[first], &new[second]) {
                let corner = kind.corner_number(first);
                return Err(ShapeError::SeamRunsIntoItself { corner });
            }
        }
    }
    Ok(())
}

/// Whether two straight sides cross, touch or lie on each other, to within a
/// thousandth of a unit.
fn lines_meet(one: &Edge, other: &Edge) -> bool {
    let (Edge::Line { from: a, to: b }, Edge::Line { from: c, to: d }) = (*one, *other) else {
        return false;
    };
    let (c_off, d_off) = (off_line(a, b, c), off_line(a, b, d));
    let (a_off, b_off) = (off_line(c, d, a), off_line(c, d, b));
    if [a_off, b_off, c_off, d_off] == [0.0; 4] {
        // On one line: they meet if their stretches of it do.
        let along = b.minus(a).unit();
        let (c, d) = (c.minus(a).dot(along), d.minus(a).dot(along));
        return c.min(d) <= b.minus(a).dot(along) && c.max(d) >= 0.0;
    }
    a_off * b_off <= 0.0 && c_off * d_off <= 0.0
}

/// How far p lies to the left of the line from a to b; float dust is nothing.
fn off_line(a: Point, b: Point, p: Point) -> f64 {
    const DUST: f64 = 1e-3;
    let off = b.minus(a).unit().cross(p.minus(a));
    if off.abs() < DUST { 0.0 } else { off }
}
