//! The printable page: one HTML file with everything in it, no scripts, nothing fetched. It is laid out in sheets
//! of fixed size (`flow`), part by part.

mod balance;
mod card_lists;
mod cards;
mod cautions;
pub(crate) mod compare;
pub(crate) mod day;
pub(crate) mod flow;
mod parts;
mod pass_boxes;
pub(crate) mod proof;
pub(crate) mod replan;
mod shopping;
mod strips;
mod style;
mod tags;
pub(crate) mod tally;
mod totals;

use maud::{DOCTYPE, Markup, PreEscaped, html};
use patchlay_plan::Plan;
use patchlay_scenario::Job;

use crate::SheetError;
use crate::svg::pattern;
use crate::view::View;
use flow::{Banner, sheets};

/// The paper to print on. Sheets fit both; this only tells the printer which.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Paper {
    /// 8 1/2 x 11 in.
    #[default]
    Letter,
    /// 210 x 297 mm.
    A4,
}

/// How the page is to be printed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct PageOptions {
    /// The handle is worked with the left hand: boards are drawn with the handle on that side.
    pub left_handed: bool,
    /// The paper.
    pub paper: Paper,
}

/// The printable page: shopping, strips, cards, tags, balance, totals and cautions as one HTML file.
///
/// # Errors
/// [`SheetError`] if the plan names something that the job does not have.
pub fn page(plan: &Plan, job: &Job, options: &PageOptions) -> Result<String, SheetError> {
    let view = View::new(plan, job)?;
    let mut parts = shopping::parts(&view);
    parts.extend(cautions::parts(&view));
    parts.extend(strips::parts(&view));
    parts.extend(proof::parts(&view));
    parts.extend(cards::parts(&view, options));
    parts.extend(tags::parts(&view));
    parts.extend(totals::parts(&view));
    let body = sheets(&parts, &Banner { scenario: &job.name, what: "Plan", plan: &plan.number });
    Ok(document(plan, job, options, body).into_string())
}

fn document(plan: &Plan, job: &Job, options: &PageOptions, body: Markup) -> Markup {
    document_of(&format!("{} · plan {}", job.name, plan.number), job, options.paper, body)
}

/// A page with the patterns of the fabrics.
fn document_of(title: &str, job: &Job, paper: Paper, body: Markup) -> Markup {
    let colours = job.fabrics.iter().map(|fabric| fabric.colour.as_str());
    let body = html! {
        svg width="0" height="0" style="position:absolute" aria-hidden="true" {
            defs { (PreEscaped(pattern::definitions(colours))) }
        }
        (body)
    };
    self_contained(title, paper, &body)
}

/// A whole page with its style and nothing from elsewhere.
fn self_contained(title: &str, paper: Paper, body: &Markup) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) }
                style { (PreEscaped(style::sheet(paper))) }
            }
            body { (body) }
        }
    }
}
