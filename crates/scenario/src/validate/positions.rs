//! Judges the positions of a board: how patches lie together, and where the boxes of a grid are.

use patchlay_measure::Length;
use patchlay_shape::board::PlacedBox;
use patchlay_shape::{Arranged, Arrangement, Shape, Turn, arrange};

use super::judge::{Judge, Names, Range};
use crate::job::ShapeId;
use crate::path::Path;
use crate::problem::Code;
use crate::read::most;
use crate::spec;

/// Most patches on one position.
const MOST_PATCHES: u32 = 1_000;

/// Like positions, judged: what they cut and where each of them lies.
pub(crate) struct Grid {
    pub(crate) shape: ShapeId,
    pub(crate) drawn: u32,
    pub(crate) mirrored: u32,
    pub(crate) arranged: Arranged,
    pub(crate) quarter_turns: u8,
    /// Row by row from the leading end, each row from the handle side.
    pub(crate) places: Vec<PlacedBox>,
}

/// Judges one entry of a board's positions.
pub(crate) fn grid(
    judge: &mut Judge<'_, '_>,
    path: &Path,
    spec: &spec::Positions,
    names: &Names<'_>,
    shapes: &[Option<Shape>],
) -> Option<Grid> {
    let shape = judge.refer(&path.field("shape"), &spec.shape, names);
    let counts = counts(judge, path, spec);
    let patch_gap = judge.maybe(&path.field("patch_gap"), spec.patch_gap.as_ref(), Range::PLACE);
    let arrangement =
        counts.and_then(|(drawn, mirrored)| arrangement(judge, path, spec, drawn + mirrored, patch_gap));
    let quarter_turns = quarter_turns(judge, &path.field("shape_turn"), spec.shape_turn);
    let blade_box = match &spec.blade_box {
        Some(pair) => judge.pair(&path.field("blade_box"), pair, Range::SIZE).map(Some),
        None => judge.report.readable(&path.field("blade_box")).then_some(None),
    };
    let lattice = Lattice::judge(judge, path, spec);

    let (drawn, mirrored) = counts?;
    let shape = shape?;
    let known = shapes.get(shape)?.as_ref()?;
    let arranged = match arrange(known, drawn, mirrored, arrangement?) {
        Ok(arranged) => arranged,
        Err(error) => {
            let field = if spec.arrangement.is_some() { path.field("arrangement") } else { path.clone() };
            judge.report.add(Code::Arrangement, &field, error.problem(), error.hint());
            return None;
        }
    };
    let quarter_turns = quarter_turns?;
    let size = box_size(judge, path, &arranged, quarter_turns, blade_box?)?;
    let places = lattice?.places(size);
    Some(Grid { shape, drawn, mirrored, arranged, quarter_turns, places })
}

/// Patches per ply as drawn and mirrored.
fn counts(judge: &mut Judge<'_, '_>, path: &Path, spec: &spec::Positions) -> Option<(u32, u32)> {
    let usual = u32::from(spec.mirrored.is_none());
    let drawn = judge.count(&path.field("as_drawn"), spec.as_drawn.unwrap_or(usual), 0, MOST_PATCHES);
    let mirrored = judge.count(&path.field("mirrored"), spec.mirrored.unwrap_or(0), 0, MOST_PATCHES);
    let (drawn, mirrored) = (drawn?, mirrored?);
    if drawn + mirrored == 0 {
        judge.report.add(
            Code::NoPatches,
            path,
            "this position cuts no patch",
            "give `as_drawn` or `mirrored` at least 1",
        );
        return None;
    }
    Some((drawn, mirrored))
}

fn arrangement(
    judge: &mut Judge<'_, '_>,
    path: &Path,
    spec: &spec::Positions,
    count: u32,
    patch_gap: Option<Length>,
) -> Option<Arrangement> {
    let (here, gap_here) = (path.field("arrangement"), path.field("patch_gap"));
    if !judge.report.readable(&here) {
        return None;
    }
    let wanted = match spec.arrangement {
        Some(wanted) => wanted,
        None if count == 1 => spec::Arrangement::Single,
        None => {
            let problem = format!("{count} patches lie on one position, and nothing says how");
            let hint = "state \"arrangement\": \"row\", \"pair\" or \"four\"";
            judge.report.add(Code::Arrangement, &here, problem, hint);
            return None;
        }
    };
    let in_row = wanted == spec::Arrangement::Row && count > 1;
    if !in_row && spec.patch_gap.is_some() {
        let hint = "remove it, or lay several patches in a row";
        judge.report.add(Code::GapNotUsed, &gap_here, "no two patches lie in a row here", hint);
        return None;
    }
    if in_row && spec.patch_gap.is_none() && judge.report.readable(&gap_here) {
        let hint = "give the cloth between two patches, 0 where they share a blade";
        judge.report.add(Code::GapMissing, &gap_here, "several patches lie in a row without a gap", hint);
        return None;
    }
    match wanted {
        spec::Arrangement::Single => Some(Arrangement::Single),
        spec::Arrangement::Pair => Some(Arrangement::Pair),
        spec::Arrangement::Four => Some(Arrangement::Four),
        spec::Arrangement::Row if in_row => Some(Arrangement::Row { gap: patch_gap? }),
        spec::Arrangement::Row => Some(Arrangement::Row { gap: Length::ZERO }),
    }
}

fn quarter_turns(judge: &mut Judge<'_, '_>, path: &Path, degrees: Option<u32>) -> Option<u8> {
    if !judge.report.readable(path) {
        return None;
    }
    match degrees {
        None | Some(0) => Some(0),
        Some(90) => Some(1),
        Some(180) => Some(2),
        Some(270) => Some(3),
        Some(other) => {
            let problem = format!("{other} degrees is not a quarter turn");
            let hint = "give 0, 90, 180 or 270; blades set at another angle are `turn`";
            judge.report.add(Code::ShapeTurn, path, problem, hint);
            None
        }
    }
}

/// Size of the box: the patches', or the stated one if it is not smaller.
fn box_size(
    judge: &mut Judge<'_, '_>,
    path: &Path,
    arranged: &Arranged,
    quarter_turns: u8,
    stated: Option<[Length; 2]>,
) -> Option<(Length, Length)> {
    let upright = quarter_turns.is_multiple_of(2);
    let (width, length) =
        if upright { (arranged.width, arranged.height) } else { (arranged.height, arranged.width) };
    let Some([across, along]) = stated else { return Some((width, length)) };
    if across >= width && along >= length {
        return Some((across, along));
    }
    let problem = format!("the patches need {} x {}", judge.show(width), judge.show(length));
    let hint = "measure the outer size of the blades, or leave `blade_box` out";
    judge.report.add(Code::BladeBoxTooSmall, &path.field("blade_box"), problem, hint);
    None
}

/// Where the boxes of a grid lie, before their size is known.
struct Lattice {
    at: [Length; 2],
    turn: Turn,
    columns: u32,
    rows: u32,
    gap_across: Length,
    gap_along: Length,
}

impl Lattice {
    fn judge(judge: &mut Judge<'_, '_>, path: &Path, spec: &spec::Positions) -> Option<Self> {
        let at = judge.pair(&path.field("at"), &spec.at, Range::PLACE);
        let turn = turn(judge, &path.field("turn"), spec.turn.as_ref());
        let most = u32::try_from(most::POSITIONS).unwrap_or(u32::MAX);
        let columns = judge.count(&path.field("columns"), spec.columns.unwrap_or(1), 1, most);
        let rows = judge.count(&path.field("rows"), spec.rows.unwrap_or(1), 1, most);
        let gap_across = gap(judge, &path.field("gap_across"), spec.gap_across.as_ref(), columns, "columns");
        let gap_along = gap(judge, &path.field("gap_along"), spec.gap_along.as_ref(), rows, "rows");
        let (columns, rows) = (columns?, rows?);
        if columns.saturating_mul(rows) > most {
            let problem = format!("{columns} x {rows} positions are more than this program takes");
            judge.report.add(Code::TooMany, path, problem, format!("give at most {most} on a board"));
            return None;
        }
        Some(Self { at: at?, turn: turn?, columns, rows, gap_across: gap_across?, gap_along: gap_along? })
    }

    /// The grid is turned as a whole, about its centre.
    fn places(&self, (width, length): (Length, Length)) -> Vec<PlacedBox> {
        let (columns, rows) = (i64::from(self.columns), i64::from(self.rows));
        // Centres in half units from the grid's corner, so that halves stay whole.
        let span = |size: Length, gap: Length, count: i64| (size * count + gap * (count - 1)).units();
        let across = span(width, self.gap_across, columns);
        let along = span(length, self.gap_along, rows);
        let anchor = (2 * self.at[0].units() + across, 2 * self.at[1].units() + along);
        let centre = |size: Length, gap: Length, index: i64, whole: i64| {
            2 * index * (size + gap).units() + size.units() - whole
        };
        let box_at = |column: i64, row: i64| PlacedBox {
            anchor,
            turn: self.turn,
            offset: (
                centre(width, self.gap_across, column, across),
                centre(length, self.gap_along, row, along),
            ),
            width,
            length,
        };
        (0..rows)
            .flat_map(|row| (0..columns).map(move |column| (column, row)))
            .map(|(c, r)| box_at(c, r))
            .collect()
    }
}

fn turn(judge: &mut Judge<'_, '_>, path: &Path, text: Option<&spec::DecimalText>) -> Option<Turn> {
    if !judge.report.readable(path) {
        return None;
    }
    let Some(text) = text else { return Some(Turn::NONE) };
    let turn = Turn::parse(&text.typed());
    let hint = "write degrees anticlockwise, such as 45 or -22.5";
    turn.map_err(|error| judge.report.add(Code::BadNumber, path, error.to_string(), hint)).ok()
}

fn gap(
    judge: &mut Judge<'_, '_>,
    path: &Path,
    text: Option<&spec::LengthText>,
    count: Option<u32>,
    what: &str,
) -> Option<Length> {
    if !judge.report.readable(path) {
        return None;
    }
    let gap = match text {
        Some(text) => judge.length(path, text, Range::PLACE),
        None => Some(Length::ZERO),
    };
    let count = count?;
    if count > 1 && text.is_none() {
        let problem = format!("{count} {what} stand side by side without a gap");
        judge.report.add(
            Code::GapMissing,
            path,
            problem,
            "measure from blade to blade between neighbouring boxes",
        );
        return None;
    }
    if count == 1 && text.is_some() {
        let problem = format!("there are no {what} side by side here");
        judge.report.add(Code::GapNotUsed, path, problem, format!("remove it, or state `{what}`"));
        return None;
    }
    gap
}
