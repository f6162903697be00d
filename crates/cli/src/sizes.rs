//! `patchlay sizes`: what the program takes the shapes and boards to measure, so that a user can hold it against her
//! own boards before any cloth is cut.

use patchlay_measure::{Area, Length, UnitSystem};
use patchlay_scenario::Job;
use patchlay_scenario::job::{Bay, Board, NamedShape, Position, ShapeId};
use patchlay_shape::{Grain, Turn, board::PlacedBox};
use serde_json::{Value, json};

use crate::args::SizesArgs;
use crate::report::Failure;
use crate::{files, print};

/// Prints the sizes.
///
/// # Errors
/// The scenario cannot be read, or everything that is wrong with it.
pub(crate) fn run(wanted: &SizesArgs) -> Result<(), Failure> {
    let loaded = files::scenario(&wanted.scenario)?;
    if wanted.json { print::json(&as_json(&loaded.job)) } else { print::out(&as_text(&loaded.job)) }
}

fn as_text(job: &Job) -> String {
    let mut text =
        print::wrapped("", &format!("{}: shapes and boards as patchlay takes them to be.", job.name));
    text.push_str(
        "Measure your own boards and compare before you cut.\n\nShapes, cut size with seam allowance\n",
    );
    let rows = job.shapes.iter().map(|shape| shape_row(shape, job.units)).collect();
    text.push_str(&table(&["shape", "cut size", "cut area", "finished area", "edges", "mirror image"], rows));
    for board in &job.boards {
        text.push_str(&board_text(job, board));
    }
    text
}

fn shape_row(named: &NamedShape, units: UnitSystem) -> Vec<String> {
    let shape = &named.shape;
    vec![
        named.name.clone(),
        by(shape.cut_width(), shape.cut_height(), units),
        shape.areas().cut.show(units),
        shape.areas().finished.show(units),
        edges(named),
        (if shape.handed() { "differs: mind the hand" } else { "the same" }).to_owned(),
    ]
}

/// `2 straight, 1 bias`: how the edges lie to the threads when the cloth is lined up with the blades.
fn edges(named: &NamedShape) -> String {
    let grain = named.shape.grain(Turn::NONE);
    let kinds = [(Grain::Straight, "straight"), (Grain::Bias, "bias"), (Grain::Curve, "curved")];
    let counted = kinds.iter().filter_map(|(kind, word)| {
        let count = grain.iter().filter(|edge| *edge == kind).count();
        (count > 0).then(|| format!("{count} {word}"))
    });
    counted.collect::<Vec<_>>().join(", ")
}

fn board_text(job: &Job, board: &Board) -> String {
    let size = by(board.width, board.length, job.units);
    let limit = board.ply_limit;
    let heading =
        format!("Board '{}', {size} (across x along the travel), {limit} plies at most", board.name);
    let mut text = format!("\n{}", print::wrapped("", &heading));
    let rows = board.positions.iter().map(|position| position_row(job, position)).collect();
    text.push_str(&table(&["position", "shape", "blades, across x along", "corner at", ""], rows));
    text.push_str("  Cloth for one ply, lined up with the blades, margins included:\n");
    for (what, areas) in alike(job, board) {
        text.push_str(&print::wrapped("    ", &format!("{what}: position {}", areas.join(" or "))));
    }
    for (one, other, reason) in &board.apart {
        let (one, other) = (positions(board, &board.bays[*one]), positions(board, &board.bays[*other]));
        text.push_str(&print::wrapped("  ", &format!("Not in one pass: {one} with {other}: {reason}.")));
    }
    text
}

fn position_row(job: &Job, position: &Position) -> Vec<String> {
    let place = &position.place;
    vec![
        position.label.clone(),
        patches(job, position.shape, position.drawn, position.mirrored),
        by(place.width, place.length, job.units),
        corner(place).map(|(x, y)| by(x, y, job.units)).unwrap_or_default(),
        turned(place.turn),
    ]
}

/// The corner of a box that is not turned: from the handle side, and from the leading end.
fn corner(place: &PlacedBox) -> Option<(Length, Length)> {
    let half =
        |anchor: i64, offset: i64, size: Length| Length::from_units((anchor + offset - size.units()) / 2);
    (place.turn == Turn::NONE).then(|| {
        (
            half(place.anchor.0, place.offset.0, place.width),
            half(place.anchor.1, place.offset.1, place.length),
        )
    })
}

/// What one ply takes and gives, each with every area of the board where that holds; the smallest first.
fn alike(job: &Job, board: &Board) -> Vec<(String, Vec<String>)> {
    let mut kinds: Vec<(&Bay, Vec<String>)> = Vec::new();
    for bay in &board.bays {
        let like = |other: &Bay| {
            (other.across, other.along, other.place.turn) == (bay.across, bay.along, bay.place.turn)
        };
        match kinds.iter_mut().find(|(other, _)| like(other) && other.yields == bay.yields) {
            Some((_, areas)) => areas.push(positions(board, bay)),
            None => kinds.push((bay, vec![positions(board, bay)])),
        }
    }
    kinds.sort_by_key(|(bay, _)| (bay.positions.len(), bay.positions.clone()));
    let told = |bay: &Bay| {
        let turn = turned(bay.place.turn);
        let turn = if turn.is_empty() { turn } else { format!(", {turn}") };
        format!("{} gives {}{turn}", by(bay.across, bay.along, job.units), yields(job, bay))
    };
    kinds.into_iter().map(|(bay, areas)| (told(bay), areas)).collect()
}

fn positions(board: &Board, bay: &Bay) -> String {
    let labels: Vec<&str> = bay.positions.iter().map(|at| board.positions[*at].label.as_str()).collect();
    labels.join("+")
}

/// What one ply gives, face up.
fn yields(job: &Job, bay: &Bay) -> String {
    let told = bay.yields.iter().map(|(shape, drawn, mirrored)| patches(job, *shape, *drawn, *mirrored));
    told.collect::<Vec<_>>().join(" and ")
}

/// `4 x triangle 3`; hands apart where the shape differs from its mirror image.
fn patches(job: &Job, shape: ShapeId, drawn: u32, mirrored: u32) -> String {
    let named = &job.shapes[shape];
    match (named.shape.handed(), drawn, mirrored) {
        (false, ..) => format!("{} x {}", drawn + mirrored, named.name),
        (true, _, 0) => format!("{drawn} x {} as drawn", named.name),
        (true, 0, _) => format!("{mirrored} x {} mirrored", named.name),
        (true, ..) => format!("{drawn} x {} as drawn and {mirrored} mirrored", named.name),
    }
}

fn turned(turn: Turn) -> String {
    match turn.hundredths() {
        0 => String::new(),
        turn => format!("blades turned {} degrees", hundredths(turn)),
    }
}

/// A number of hundredths, without zeros at the end.
fn hundredths(number: i32) -> String {
    let text = format!("{}.{:02}", number / 100, (number % 100).abs());
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

fn by(one: Length, other: Length, units: UnitSystem) -> String {
    format!("{} x {}", one.show_bare(units), other.show(units))
}

/// Columns as wide as their widest cell, two apart, indented by two.
fn table(head: &[&str], rows: Vec<Vec<String>>) -> String {
    let head: Vec<String> = head.iter().map(|&title| title.to_owned()).collect();
    let all: Vec<Vec<String>> = std::iter::once(head).chain(rows).collect();
    let columns = all.first().map_or(0, Vec::len);
    let width = |column: usize| all.iter().map(|row| row[column].chars().count()).max().unwrap_or(0);
    let widths: Vec<usize> = (0..columns).map(width).collect();
    let line = |row: &Vec<String>| {
        let cells = row.iter().zip(&widths).map(|(cell, &width)| format!("{:width$}", print::clean(cell)));
        format!("  {}", cells.collect::<Vec<_>>().join("  ")).trim_end().to_owned() + "\n"
    };
    all.iter().map(line).collect()
}

fn as_json(job: &Job) -> Value {
    let shapes: Vec<Value> = job.shapes.iter().map(|shape| shape_json(shape, job.units)).collect();
    let boards: Vec<Value> = job.boards.iter().map(|board| board_json(job, board)).collect();
    json!({ "scenario": job.name, "shapes": shapes, "boards": boards })
}

fn shape_json(named: &NamedShape, units: UnitSystem) -> Value {
    let shape = &named.shape;
    json!({
        "name": named.name,
        "cut_width": length(shape.cut_width(), units),
        "cut_height": length(shape.cut_height(), units),
        "cut_area": area(shape.areas().cut, units),
        "finished_area": area(shape.areas().finished, units),
        "grain_of_edges": shape.grain(Turn::NONE),
        "handed": shape.handed(),
    })
}

fn board_json(job: &Job, board: &Board) -> Value {
    let areas = board.bays.iter().map(|bay| {
        let yields = bay.yields.iter().map(|(shape, drawn, mirrored)| {
            json!({ "shape": job.shapes[*shape].name, "as_drawn": drawn, "mirrored": mirrored })
        });
        json!({
            "positions": bay.positions.iter().map(|at| board.positions[*at].label.as_str()).collect::<Vec<_>>(),
            "one_ply_gives": yields.collect::<Vec<_>>(),
            "cloth_across": length(bay.across, job.units),
            "cloth_along": length(bay.along, job.units),
            "turn_degrees": hundredths(bay.place.turn.hundredths()),
        })
    });
    let places = board.positions.iter().map(|position| {
        json!({
            "position": position.label,
            "shape": job.shapes[position.shape].name,
            "as_drawn": position.drawn,
            "mirrored": position.mirrored,
            "blades_across": length(position.place.width, job.units),
            "blades_along": length(position.place.length, job.units),
            "turn_degrees": hundredths(position.place.turn.hundredths()),
        })
    });
    let apart = board.apart.iter().map(|(one, other, reason)| {
        json!({ "areas": [positions(board, &board.bays[*one]), positions(board, &board.bays[*other])], "reason": reason })
    });
    json!({
        "name": board.name,
        "width": length(board.width, job.units),
        "length": length(board.length, job.units),
        "ply_limit": board.ply_limit,
        "positions": places.collect::<Vec<_>>(),
        "areas": areas.collect::<Vec<_>>(),
        "not_in_one_pass": apart.collect::<Vec<_>>(),
    })
}

/// A length as people read it, and exactly.
fn length(length: Length, units: UnitSystem) -> Value {
    json!({ "text": length.show(units), "in_8128ths": length.units() })
}

/// An area as people read it.
fn area(area: Area, units: UnitSystem) -> Value {
    json!(area.show(units))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_line_up() {
        let rows = vec![vec!["a".to_owned(), "b".to_owned()], vec!["long".to_owned(), "c".to_owned()]];
        assert_eq!(table(&["x", "y"], rows), "  x     y\n  a     b\n  long  c\n");
    }

    #[test]
    fn hundredths_read_like_degrees() {
        assert_eq!(hundredths(1500), "15");
        assert_eq!(hundredths(2250), "22.5");
        assert_eq!(hundredths(1), "0.01");
    }
}
