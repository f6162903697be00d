//! The pages of a group's day: an index, the chart for the wall, a sheet per station, how stacks go into bags, a list
//! for every bag, and who pays what.

mod bag_lists;
mod chart;
pub(crate) mod labels;
mod money;
mod sorting;
mod stations;

use maud::html;
use patchlay_plan::Plan;
use patchlay_plan::day::Day;
use patchlay_plan::replan::Replan;
use patchlay_scenario::Job;
use patchlay_scenario::job::Group;

use super::flow::{Banner, Block, Part, SHEET_WIDTH, first_pages, mm, sheets};
use super::{Paper, document_of};
use crate::SheetError;
use crate::day::sentences;
use crate::fit::{self, Type};

/// Everything that the pages of a day draw on.
pub(crate) struct Hall<'a> {
    pub(crate) plan: &'a Plan,
    pub(crate) day: &'a Day,
    pub(crate) job: &'a Job,
    pub(crate) group: &'a Group,
}

/// The pages of a group's day as one HTML file.
///
/// # Errors
/// [`SheetError`] if the job has no group or the day is not of this plan.
pub fn day_page(plan: &Plan, day: &Day, job: &Job, paper: Paper) -> Result<String, SheetError> {
    pages(plan, day, job, &format!("of plan {}", plan.number), paper)
}

/// The pages of the rest of a day. `both` is plan and supplement in one, under the number of the replan; the job says who
/// and what is there.
///
/// # Errors
/// As for [`day_page`].
pub fn rest_page(
    replan: &Replan,
    both: &Plan,
    day: &Day,
    job: &Job,
    paper: Paper,
) -> Result<String, SheetError> {
    let with = match &replan.supplement {
        Some(supplement) => format!("with supplement {}", supplement.number),
        None => format!("with changes {}", replan.number),
    };
    pages(both, day, job, &format!("for the rest of plan {} {with}", replan.plan), paper)
}

fn pages(plan: &Plan, day: &Day, job: &Job, of: &str, paper: Paper) -> Result<String, SheetError> {
    let stranger = |what: &str| SheetError::NotOfThisScenario { what: what.to_owned() };
    let group = job.group.as_ref().ok_or_else(|| stranger("it has no group"))?;
    if day.plan != plan.number {
        return Err(stranger("the day is of another plan"));
    }
    let hall = Hall { plan, day, job, group };
    let mut sections: Vec<(String, Vec<Part>)> = vec![
        ("The day at a glance".to_owned(), chart::parts(&hall)),
        (money::title(&hall).to_owned(), money::parts(&hall)),
    ];
    sections.extend(stations::sections(&hall));
    sections.push(("From stacks to bags".to_owned(), sorting::parts(&hall)));
    sections.push(("Bag lists".to_owned(), bag_lists::parts(&hall)));
    sections.retain(|(_, parts)| !parts.is_empty());
    for part in sections.iter_mut().filter_map(|(_, parts)| parts.first_mut()) {
        part.new_sheet = true;
    }
    let names: Vec<String> = sections.iter().map(|(name, _)| name.clone()).collect();
    let counts: Vec<usize> = sections.iter().map(|(_, parts)| parts.len()).collect();
    let mut parts = vec![summary(&hall, of), index(&names, &vec![0; names.len()])];
    parts.extend(sections.into_iter().flat_map(|(_, parts)| parts));
    // The index has the same height whatever stands in it, so the pages are known before it is written.
    let first = first_pages(&parts);
    let mut at = 2;
    let pages: Vec<usize> = counts
        .iter()
        .map(|count| {
            let page = first.get(at).copied().unwrap_or(0);
            at += count;
            page
        })
        .collect();
    parts[1] = index(&names, &pages);
    let body = sheets(&parts, &Banner { scenario: &job.name, what: "Day", plan: &day.number });
    let title = format!("{} · day {} {of}", job.name, day.number);
    Ok(document_of(&title, job, paper, body).into_string())
}

fn summary(hall: &Hall<'_>, of: &str) -> Part {
    let mut blocks = vec![Block::text(&format!("Day {} {of}", hall.day.number), Type::HEAD)];
    blocks.extend(sentences(hall.day, hall.job).iter().map(|text| Block::point(text, Type::BODY)));
    blocks.push(Block::point(
        "Blades, rollers and irons hurt people: nobody reaches towards the rollers while another cranks, irons stand where \
         no sleeve or cord passes, and cutters for strips are closed when laid down. The makers' instructions and the \
         rules of the hall come first.",
        Type::BODY,
    ));
    Part::titled("The day", blocks)
}

fn index(names: &[String], pages: &[usize]) -> Part {
    let rows = names.iter().zip(pages).map(|(name, page)| {
        let name = fit::one_line(name, Type::CARD, SHEET_WIDTH - 300);
        let height = Type::CARD.line + 10;
        Block::new(
            height,
            html! {
                div.row.line.t-card style={"height:" (mm(height)) ";justify-content:space-between"} {
                    a.l href={"#p" (page)} style="color:#000;text-decoration:none" { (name) }
                    span.l { "page " (page) }
                }
            },
        )
    });
    Part::titled("What is where", rows.collect())
}
