//! CSV tables of shopping, strips and lay-ups, their columns named in plain words.

use patchlay_measure::UnitSystem;
use patchlay_plan::{Face, Plan};
use patchlay_scenario::Job;

use crate::SheetError;
use crate::view::{View, of_cents, trimmed};
use crate::words;

/// Rows collected as CSV text.
pub(crate) struct Table(csv::Writer<Vec<u8>>);

impl Table {
    pub(crate) fn new(columns: &[&str]) -> Result<Self, SheetError> {
        let mut table = Self(csv::Writer::from_writer(Vec::new()));
        table.0.write_record(columns)?;
        Ok(table)
    }

    pub(crate) fn row<const N: usize>(&mut self, cells: [String; N]) -> Result<(), SheetError> {
        Ok(self.0.write_record(cells.map(harmless))?)
    }

    pub(crate) fn text(self) -> Result<String, SheetError> {
        let bytes = self.0.into_inner().map_err(|error| csv::Error::from(error.into_error()))?;
        // Everything written was text, so this changes nothing.
        Ok(String::from_utf8_lossy(&bytes).into_owned())
    }
}

/// A cell that no spreadsheet takes for a formula: names are typed by people, and files are passed on.
fn harmless(cell: String) -> String {
    if cell.starts_with(['=', '+', '-', '@', '\t', '\r']) { format!("'{cell}") } else { cell }
}

pub(crate) fn unit(units: UnitSystem) -> &'static str {
    match units {
        UnitSystem::Inch => "in",
        UnitSystem::Metric => "cm",
    }
}

/// What to buy: one row per fabric.
///
/// # Errors
/// [`SheetError`] if the plan names something that the job does not have.
pub fn csv_shopping(plan: &Plan, job: &Job) -> Result<String, SheetError> {
    let view = View::new(plan, job)?;
    let units = job.units;
    let unit = unit(units);
    let mut table = Table::new(&[
        "letter",
        "fabric",
        &format!("taken ({unit})"),
        "buy",
        "price",
        &format!("usable width needed ({unit})"),
        &format!("kept back ({unit})"),
        "strips",
        "sum",
    ])?;
    for cloth in &view.cloths {
        table.row([
            cloth.fabric.letter.clone(),
            cloth.fabric.name.clone(),
            cloth.plan.taken.show_bare(units),
            cloth.plan.bought.show_cloth(units),
            if job.priced { of_cents(cloth.cents).show(&job.currency) } else { String::new() },
            cloth.least_width().map_or_else(String::new, |width| width.show_bare(units)),
            cloth.plan.kept_back.show_bare(units),
            cloth.plan.strips.len().to_string(),
            words::shopping_sum(*cloth, units),
        ])?;
    }
    table.text()
}

/// Strips to cut: one row per length or cut, in the order of cutting.
///
/// # Errors
/// [`SheetError`] if the plan names something that the job does not have.
pub fn csv_strips(plan: &Plan, job: &Job) -> Result<String, SheetError> {
    let view = View::new(plan, job)?;
    let units = job.units;
    let unit = unit(units);
    let mut table = Table::new(&[
        "fabric",
        "strip",
        &format!("strip width ({unit})"),
        "proof block first",
        "tag",
        "plies",
        &format!("length along the strip ({unit})"),
        &format!("fold to fold ({unit})"),
        &format!("trim to width ({unit})"),
        "lay-up",
        "what it becomes",
    ])?;
    for cloth in &view.cloths {
        for (strip, proof) in view.strips_in_order(*cloth) {
            for piece in &strip.pieces {
                let home = view.home(&piece.name).map_or_else(String::new, |laid| laid.layup.name.clone());
                table.row([
                    cloth.fabric.name.clone(),
                    strip.name.clone(),
                    strip.width.show_bare(units),
                    if proof { "yes".to_owned() } else { String::new() },
                    piece.name.clone(),
                    piece.plies.to_string(),
                    piece.length.show_bare(units),
                    if piece.plies > 1 { piece.run.show_bare(units) } else { String::new() },
                    if trimmed(strip, piece) { piece.width.show_bare(units) } else { String::new() },
                    home,
                    words::becomes(piece, strip.width, units),
                ])?;
            }
        }
    }
    table.text()
}

/// Lay-ups: one row per pass and length or cut, from the bottom up.
///
/// # Errors
/// [`SheetError`] if the plan names something that the job does not have.
pub fn csv_layups(plan: &Plan, job: &Job) -> Result<String, SheetError> {
    let view = View::new(plan, job)?;
    let mut table = Table::new(&[
        "lay-up",
        "board",
        "pass",
        "area",
        "from the bottom",
        "fabric",
        "plies",
        "first ply",
        "tag",
    ])?;
    for laid in &view.layups {
        for (at, pass) in laid.layup.passes.iter().enumerate() {
            for (area, pieces) in laid.areas.iter().zip(pass) {
                for (group, (lying, piece)) in area.groups.iter().zip(pieces).enumerate() {
                    table.row([
                        laid.layup.name.clone(),
                        laid.board.name.clone(),
                        (laid.first_pass + at).to_string(),
                        area.letter.clone(),
                        (group + 1).to_string(),
                        lying.group.fabric.clone(),
                        lying.group.plies.to_string(),
                        match lying.group.first_face {
                            Face::Up => "right side up".to_owned(),
                            Face::Down => "right side down".to_owned(),
                        },
                        piece.clone(),
                    ])?;
                }
            }
        }
    }
    table.text()
}
