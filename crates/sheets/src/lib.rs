//! What people read: the terminal summary, the printable page, SVG pictures and CSV tables. Everything here turns a
//! checked plan and its job into text; it decides nothing, computes no figure that the plan already holds, and never
//! says more about a plan than its bounds do. What must not live here: files, colours of a terminal, anything that
//! changes a plan.

mod bounds;
mod compare;
mod day;
mod explain;
mod fit;
mod follow;
mod page;
mod svg;
mod table;
mod terminal;
mod view;
mod words;

pub use compare::{compare_terminal, csv_compare, strategy_name, strategy_options};
pub use day::day_terminal;
pub use explain::explain_terminal;
pub use page::compare::compare_page;
pub use page::day::labels::labels_page;
pub use page::day::{day_page, rest_page};
pub use page::replan::{Hours, passes_named, reasons, replan_page};
pub use page::tally::tally_page;
pub use page::{PageOptions, Paper, page};
pub use table::{csv_layups, csv_shopping, csv_strips};
pub use terminal::terminal;
pub use view::SheetError;

use patchlay_plan::Plan;
use patchlay_scenario::Job;
use patchlay_scenario::job::Board;

use svg::board::Picture;
use view::View;

/// Largest picture of a board, millimetres: width and height.
const LARGEST: (f64, f64) = (120.0, 160.0);

/// A board from above as an SVG file of its own.
#[must_use]
pub fn board_svg(job: &Job, board: &Board) -> String {
    Picture::bare(job, board).svg(LARGEST.0, LARGEST.1, true)
}

/// A lay-up of a plan from above as an SVG file of its own; `layup` counts from 0.
///
/// # Errors
/// [`SheetError`] if the plan names something that the job does not have, or has no such lay-up.
pub fn layup_svg(plan: &Plan, job: &Job, layup: usize, left_handed: bool) -> Result<String, SheetError> {
    let view = View::new(plan, job)?;
    match view.layups.get(layup) {
        Some(laid) => Ok(Picture::laid(job, laid, left_handed).svg(LARGEST.0, LARGEST.1, true)),
        None => Err(SheetError::NotOfThisScenario { what: format!("it has no lay-up number {layup}") }),
    }
}
