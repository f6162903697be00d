//! Positions one by one from the grids of the file.

use patchlay_measure::Length;
use patchlay_scenario::spec;
use patchlay_shape::board::{PlacedBox, Rect};
use patchlay_shape::{Arrangement, Shape, Turn, arrange};

use super::MOST_POSITIONS;
use crate::facts::{NamedShape, Reader, Unusable};

/// One position.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Position {
    /// Index of its shape.
    pub(crate) shape: usize,
    /// Patches of a ply lying face up, as drawn.
    pub(crate) drawn: u32,
    /// Patches of a ply lying face up, mirrored.
    pub(crate) mirrored: u32,
    /// Its box.
    pub(crate) rect: Rect,
}

/// All positions of a board.
pub(super) fn all(
    reader: &Reader,
    place: &str,
    board: &spec::Board,
    shapes: &[NamedShape],
) -> Result<Vec<Position>, Unusable> {
    let mut positions = Vec::new();
    for entry in &board.positions {
        positions.extend(grid(reader, place, entry, shapes)?);
        if positions.len() > MOST_POSITIONS {
            return Err(Unusable::new(place, "it has too many positions"));
        }
    }
    Ok(positions)
}

fn grid(
    reader: &Reader,
    place: &str,
    entry: &spec::Positions,
    shapes: &[NamedShape],
) -> Result<Vec<Position>, Unusable> {
    let shape = shapes
        .iter()
        .position(|shape| shape.name == entry.shape)
        .ok_or_else(|| Unusable::new(place, format!("there is no shape {}", entry.shape)))?;
    let drawn = entry.as_drawn.unwrap_or(u32::from(entry.mirrored.is_none()));
    let mirrored = entry.mirrored.unwrap_or(0);
    let size = box_size(reader, place, entry, &shapes[shape].shape, (drawn, mirrored))?;
    let turn = entry.turn.as_ref().map_or(Ok(Turn::NONE), |text| reader.turn(place, text))?;
    let at = (reader.length(place, &entry.at[0])?, reader.length(place, &entry.at[1])?);
    let across = line(reader, place, size.0, entry.columns, entry.gap_across.as_ref())?;
    let along = line(reader, place, size.1, entry.rows, entry.gap_along.as_ref())?;
    if across.centres.len().saturating_mul(along.centres.len()) > MOST_POSITIONS {
        return Err(Unusable::new(place, "it has too many positions"));
    }
    // The whole grid turns about its middle; half units keep middles whole.
    let anchor = (2 * at.0.units() + across.whole, 2 * at.1.units() + along.whole);
    let position = |u: i64, v: i64| {
        let offset = (u - across.whole, v - along.whole);
        let rect = PlacedBox { anchor, turn, offset, width: size.0, length: size.1 }.rect();
        Position { shape, drawn, mirrored, rect }
    };
    let rows = along.centres.iter();
    Ok(rows.flat_map(|&v| across.centres.iter().map(move |&u| (u, v))).map(|(u, v)| position(u, v)).collect())
}

/// A line of equal boxes: twice the middles of the boxes from its start, and its length.
struct Line {
    centres: Vec<i64>,
    whole: i64,
}

fn line(
    reader: &Reader,
    place: &str,
    size: Length,
    count: Option<u32>,
    gap: Option<&spec::LengthText>,
) -> Result<Line, Unusable> {
    let count = usize::try_from(count.unwrap_or(1)).unwrap_or(usize::MAX);
    if count == 0 || count > MOST_POSITIONS {
        return Err(Unusable::new(place, "a grid has no positions, or too many"));
    }
    let gap = match gap {
        Some(text) => reader.length(place, text)?,
        None if count == 1 => Length::ZERO,
        None => return Err(Unusable::new(place, "a grid has no gap")),
    };
    let mut centres = Vec::with_capacity(count);
    let mut start = 0_i64;
    for _ in 0..count {
        centres.push(2 * start + size.units());
        start += size.units() + gap.units();
    }
    Ok(Line { centres, whole: start - gap.units() })
}

/// Size of the box across and along the board's axes before it is turned.
fn box_size(
    reader: &Reader,
    place: &str,
    entry: &spec::Positions,
    shape: &Shape,
    (drawn, mirrored): (u32, u32),
) -> Result<(Length, Length), Unusable> {
    let arrangement = match entry.arrangement.unwrap_or(spec::Arrangement::Single) {
        spec::Arrangement::Single => Arrangement::Single,
        spec::Arrangement::Row => {
            Arrangement::Row { gap: reader.length_or(place, entry.patch_gap.as_ref(), Length::ZERO)? }
        }
        spec::Arrangement::Pair => Arrangement::Pair,
        spec::Arrangement::Four => Arrangement::Four,
    };
    let arranged = arrange(shape, drawn, mirrored, arrangement)
        .map_err(|error| Unusable::new(place, error.problem()))?;
    let (width, length) = match entry.shape_turn.unwrap_or(0) {
        0 | 180 => (arranged.width, arranged.height),
        90 | 270 => (arranged.height, arranged.width),
        _ => return Err(Unusable::new(place, "a shape is turned by something else than a quarter")),
    };
    let Some([across, along]) = &entry.blade_box else { return Ok((width, length)) };
    let (across, along) = (reader.length(place, across)?, reader.length(place, along)?);
    if across < width || along < length {
        return Err(Unusable::new(place, "a blade box is smaller than its patches"));
    }
    Ok((across, along))
}
