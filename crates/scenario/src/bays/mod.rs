//! The areas of a board, from its geometry alone: which sets of positions one rectangle of cloth covers, the
//! margins it may have, which areas are not loaded in one pass, and where the cloth of several lies on one point.

mod apart;
mod find;
mod margins;
mod members;
mod points;

use patchlay_measure::{Length, UnitSystem};
use patchlay_shape::board::Rect;

use crate::job::{Bay, BayId, Point, Position, ShapeId};
use margins::Margins;

/// Most areas of one board.
const MOST_BAYS: usize = 4_000;

/// The lengths that decide margins and sizes.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Steps {
    pub(crate) margin: Length,
    pub(crate) least_margin: Length,
    pub(crate) ruler_step: Length,
    pub(crate) units: UnitSystem,
}

/// Everything derived from where the boxes of a board lie.
#[derive(Debug)]
pub(crate) struct Derived {
    pub(crate) bays: Vec<Bay>,
    pub(crate) points: Vec<Point>,
    pub(crate) apart: Vec<(BayId, BayId, String)>,
}

/// The board has more areas than can be planned.
#[derive(Debug)]
pub(crate) struct TooComplex;

/// Derives the areas of a board from its positions.
pub(crate) fn derive(positions: &[Position], steps: Steps) -> Result<Derived, TooComplex> {
    let rects: Vec<Rect> = positions.iter().map(|position| position.place.rect()).collect();
    let areas = find::areas(&rects)?;
    let margins: Vec<Margins> = areas.iter().map(|area| margins::of(area, &rects, steps.margin)).collect();
    let cloths: Vec<Rect> =
        areas.iter().zip(&margins).map(|(area, margins)| margins.grow(&area.rect)).collect();
    let bays: Vec<Bay> =
        areas.iter().zip(&margins).map(|(area, margins)| bay(positions, area, margins, steps)).collect();
    let apart = apart::pairs(&bays, &margins, steps)?;
    let points = points::points(positions.len(), &bays, &cloths);
    Ok(Derived { bays, points, apart })
}

/// A set of positions that one rectangle covers.
#[derive(Debug)]
struct Area {
    /// Ascending.
    positions: Vec<usize>,
    /// The smallest rectangle round their boxes.
    rect: Rect,
}

fn bay(positions: &[Position], area: &Area, margins: &Margins, steps: Steps) -> Bay {
    let [low_u, high_u, low_v, high_v] = margins.sides;
    let size = |size: Length| size.ceil_to(steps.ruler_step);
    Bay {
        positions: area.positions.clone(),
        place: area.rect,
        margins: margins.sides,
        across: size(area.rect.width() + low_u + high_u),
        along: size(area.rect.length() + low_v + high_v),
        yields: yields(positions, area),
    }
}

fn yields(positions: &[Position], area: &Area) -> Vec<(ShapeId, u32, u32)> {
    let mut yields = std::collections::BTreeMap::new();
    for at in &area.positions {
        let position = &positions[*at];
        let sum = yields.entry(position.shape).or_insert((0, 0));
        *sum = (sum.0 + position.drawn, sum.1 + position.mirrored);
    }
    yields.into_iter().map(|(shape, (drawn, mirrored))| (shape, drawn, mirrored)).collect()
}
