//! Trimmed tips: where the mitre of an acute corner is cut off.
//!
//! Take an acute corner V between two sides A and B. Once the seam on B is sewn
//! and pressed, the mitre would stick out past the raw edge of A; that part, the
//! dog-ear, is what trimming takes away beforehand. The patch sewn on across B
//! ends at its own raw edge, and the tip is clipped along that line:
//!
//! - In a right triangle (half square, quarter square, half rectangle) the
//!   outer edge of the sewn unit goes straight on, so the next patch's seam lies
//!   at a right angle to it through V and its raw edge one seam allowance
//!   further. The tip is clipped at a right angle to the outer edge, one seam
//!   allowance beyond V. Outer edges are the legs of half squares and half
//!   rectangles and the long side of quarter squares. The trimmed triangle then
//!   matches the cut size of the square or rectangle it is sewn into.
//! - At any other acute corner the patch across B is taken to be this one's
//!   mirror image in B, and the other way round across A. The tip is clipped by
//!   both mirrored raw edges. At 60° the two are one line, square to the tip,
//!   one seam allowance beyond V.
//!
//! For 45° both rules give the same line. A clip always lies beyond the
//! finished corner, so no seam line is ever shortened. Right, obtuse and curved
//! corners keep their mitre.

use crate::Finished;
use crate::geometry::{Edge, Point};
use crate::outline::Outline;

/// Keeps the points p with (p - V) . normal <= reach.
struct Clip {
    corner: Point,
    normal: Point,
    reach: f64,
}

impl Clip {
    fn beyond(&self, point: Point) -> f64 {
        point.minus(self.corner).dot(self.normal) - self.reach
    }

    /// A path that starts and ends on the kept side, clipped.
    fn path(&self, path: &[Point]) -> Vec<Point> {
        let mut kept = Vec::with_capacity(path.len() + 1);
        for (at, &point) in path.iter().enumerate() {
            let here = self.beyond(point);
            if here <= 0.0 {
                kept.push(point);
            }
            if let Some(&next) = path.get(at + 1) {
                let there = self.beyond(next);
                if (here < 0.0 && there > 0.0) || (here > 0.0 && there < 0.0) {
                    kept.push(point.plus(next.minus(point).scaled(here / (here - there))));
                }
            }
        }
        kept
    }
}

/// The mitred outline with its acute tips clipped.
pub(crate) fn trimmed(kind: &Finished, finished: &Outline, mitred: &Outline, seam: f64) -> Outline {
    if seam <= 0.0 {
        // Without a seam there is no mitre to trim, and the clips would run through the corners themselves, where
        // noise of the arithmetic could take a corner off the patch.
        return mitred.clone();
    }
    let (old, new) = (finished.edges(), mitred.edges());
    let count = old.len();
    let chains: Vec<Vec<Point>> = (0..count)
        .map(|at| {
            let clips = clips_at(kind, old, at, seam);
            let before = (at + count - 1) % count;
            chain(&old[before], &old[at], new[at].from(), &clips, seam)
        })
        .collect();
    let mut edges = Vec::new();
    for at in 0..count {
        edges.extend(chains[at].windows(2).map(|pair| Edge::Line { from: pair[0], to: pair[1] }));
        let ends = (chains[at].last(), chains[(at + 1) % count].first());
        if let (Some(&from), Some(&to)) = ends {
            edges.push(match new[at] {
                Edge::Line { .. } => Edge::Line { from, to },
                arc @ Edge::Arc { .. } => arc,
            });
        }
    }
    Outline::new(edges)
}

fn clips_at(kind: &Finished, edges: &[Edge], at: usize, seam: f64) -> Vec<Clip> {
    let count = edges.len();
    let before = (at + count - 1) % count;
    let (Edge::Line { from: a, to: corner }, Edge::Line { to: b, .. }) = (edges[before], edges[at]) else {
        return Vec::new();
    };
    let (into, out_of) = (corner.minus(a).unit(), b.minus(corner).unit());
    let acute = into.cross(out_of) > 0.0 && into.dot(out_of) < -1e-9;
    if !acute {
        return Vec::new();
    }
    let clip = |normal: Point| Clip { corner, normal, reach: seam };
    match outer_edges(kind) {
        Some(outer) if outer.contains(&before) => vec![clip(into)],
        Some(_) => vec![clip(out_of.scaled(-1.0))],
        None => vec![clip(reflected(into.outwards(), out_of)), clip(reflected(out_of.outwards(), into))],
    }
}

/// The outer edges of right triangles, by place in their outlines.
const fn outer_edges(kind: &Finished) -> Option<&'static [usize]> {
    match kind {
        Finished::HalfSquare { .. } | Finished::HalfRectangle { .. } => Some(&[0, 2]),
        Finished::QuarterSquare { .. } => Some(&[0]),
        _ => None,
    }
}

/// A direction mirrored in a line along the unit vector `axis`.
fn reflected(direction: Point, axis: Point) -> Point {
    axis.scaled(2.0 * direction.dot(axis)).minus(direction)
}

/// The points that stand in for one mitre, in walking order.
fn chain(before: &Edge, after: &Edge, mitre: Point, clips: &[Clip], seam: f64) -> Vec<Point> {
    if clips.is_empty() {
        return vec![mitre];
    }
    let corner = after.from();
    let foot = |edge: &Edge| corner.plus(edge.to().minus(edge.from()).unit().outwards().scaled(seam));
    let start = vec![foot(before), mitre, foot(after)];
    let path = clips.iter().fold(start, |path, clip| clip.path(&path));
    let mut points: Vec<Point> = path[1..path.len() - 1].to_vec();
    // At 60° both clips are one line and give the same points twice.
    points.dedup_by(|one, other| one.minus(*other).length() < 1e-6);
    points
}
