//! The terminal summary, at most 100 columns wide.

use patchlay_plan::Plan;
use patchlay_scenario::Job;

use crate::fit::{columns, shorten_by, wrap_by};
use crate::view::{Area, Laid, View, of_cents};
use crate::{SheetError, bounds, follow, page, words};

/// Widest line.
const WIDE: usize = 100;
/// Lay-ups shown; the rest stand on the cards.
const LAYUPS_SHOWN: usize = 24;

/// The summary: what to buy, passes, lay-ups in brief, what the proof means, what was assumed.
///
/// # Errors
/// [`SheetError`] if the plan names something that the job does not have.
pub fn terminal(plan: &Plan, job: &Job) -> Result<String, SheetError> {
    let view = View::new(plan, job)?;
    let mut out = Lines::default();
    let number = format!("plan {}", plan.number);
    let room = WIDE.saturating_sub(columns(&number) + 2);
    out.push(&format!("{}{number}", padded(&visible(&job.name), room + 2, room)));
    out.push("");
    shopping(&mut out, &view);
    work(&mut out, &view);
    if !plan.strategy.is_usual() {
        out.point(&format!("Strategy: {}", crate::compare::strategy_name(plan.strategy)));
    }
    layups(&mut out, &view);
    out.head("What the proof means");
    bounds::sentences(plan, job).iter().for_each(|text| out.point(text));
    if let Some(proof) = &plan.proof_block {
        out.head("Proof block first");
        let first = match proof.layups {
            1 => "first lay-up yields".to_owned(),
            more => format!("first {more} lay-ups yield"),
        };
        out.point(&format!("The {first} one whole block, in {}.", words::passes(proof.passes)));
        out.point(&page::proof::cost(&view, proof));
    }
    assumed(&mut out, &view);
    Ok(out.text)
}

/// Lines no wider than the terminal.
#[derive(Default)]
pub(crate) struct Lines {
    pub(crate) text: String,
}

impl Lines {
    pub(crate) fn push(&mut self, line: &str) {
        self.text.push_str(line.trim_end());
        self.text.push('\n');
    }

    pub(crate) fn head(&mut self, title: &str) {
        self.push("");
        self.push(title);
    }

    /// A text after `lead`, further lines indented below it.
    pub(crate) fn hang(&mut self, lead: &str, text: &str) {
        let room = WIDE - columns(lead);
        for (at, line) in wrap_by(&visible(text), |line| columns(line) <= room).iter().enumerate() {
            if at == 0 {
                self.push(&format!("{lead}{line}"));
            } else {
                self.push(&format!("{}{line}", " ".repeat(columns(lead))));
            }
        }
    }

    pub(crate) fn point(&mut self, text: &str) {
        self.hang("  - ", text);
    }
}

/// Without control characters: a name from a file must not steer the terminal.
pub(crate) fn visible(text: &str) -> String {
    text.chars().map(|letter| if letter.is_control() { ' ' } else { letter }).collect()
}

/// Cut short to `most` columns and filled up to `width`.
pub(crate) fn padded(text: &str, width: usize, most: usize) -> String {
    let short = shorten_by(text, |text| columns(text) <= most);
    let fill = width.saturating_sub(columns(&short));
    format!("{short}{}", " ".repeat(fill))
}

/// Filled up in front.
pub(crate) fn to_the_end(text: &str, width: usize) -> String {
    format!("{}{text}", " ".repeat(width.saturating_sub(columns(text))))
}

fn shopping(out: &mut Lines, view: &View<'_>) {
    let (units, priced) = (view.job.units, view.job.priced);
    let row = |name: &str, strips: &str, taken: &str, width: &str, buy: &str, price: &str| {
        format!(
            "  {}{}{}{}{}{}",
            padded(name, 36, 34),
            to_the_end(strips, 7),
            to_the_end(taken, 12),
            to_the_end(width, 16),
            to_the_end(buy, 12),
            if priced { to_the_end(price, 13) } else { String::new() },
        )
    };
    out.push(&row("What to buy", "strips", "taken", "width at least", "buy", "price"));
    for cloth in &view.cloths {
        let name = visible(&format!("{} {}", cloth.fabric.letter, cloth.fabric.name));
        let width = cloth.least_width().map_or_else(|| "-".to_owned(), |width| width.show(units));
        let strips = cloth.plan.strips.len().to_string();
        let (taken, buy) = (cloth.plan.taken.show_cloth(units), cloth.plan.bought.show_cloth(units));
        let price = of_cents(cloth.cents).show(&visible(&view.job.currency));
        out.push(&row(&name, &strips, &taken, &width, &buy, &price));
    }
    let figures = &view.plan.figures;
    out.push(&row(
        "in all",
        &figures.strips.to_string(),
        &figures.length_taken.show_cloth(units),
        "",
        &figures.length_bought.show_cloth(units),
        &figures.money.show(&visible(&view.job.currency)),
    ));
    if view.job.fabrics.iter().all(|fabric| fabric.kept_back.is_empty()) {
        out.push("  Borders, binding and backing are not in this list.");
    }
}

fn work(out: &mut Lines, view: &View<'_>) {
    let figures = &view.plan.figures;
    out.head("Work");
    let boards: Vec<String> = view
        .job
        .boards
        .iter()
        .zip(&figures.passes_by_board)
        .filter(|(_, passes)| **passes > 0)
        .map(|(board, passes)| format!("{} on {}", passes, board.name))
        .collect();
    out.point(&format!(
        "{} in {}: {}; about {} by the standard times",
        words::passes(figures.passes),
        words::count(figures.layups, "lay-up", "lay-ups"),
        boards.join(", "),
        words::time(figures.seconds),
    ));
    if figures.changes > 0 && !view.by_day {
        out.point(&format!(
            "From each lay-up to the next on the same board {} in all",
            words::count(figures.changes, "area or mat changes", "areas and mats change"),
        ));
    }
    out.point(&format!(
        "{} to cut into {} of {} ({} folded, {} to trim narrower); {}",
        words::count(figures.strips, "strip", "strips"),
        words::count(figures.pieces, "length or cut", "lengths and cuts"),
        words::count(figures.kinds, "kind", "kinds"),
        figures.folded_lengths,
        figures.trimmed,
        words::count(figures.spare_patches, "spare patch", "spare patches"),
    ));
}

fn layups(out: &mut Lines, view: &View<'_>) {
    out.head("Lay-ups (plies from the bottom up; f: folded)");
    for laid in view.layups.iter().take(LAYUPS_SHOWN) {
        let lead = format!("  {} ", padded(&visible(&laid.layup.name), 5, 12));
        out.hang(&lead, &layup(laid));
    }
    let more = view.layups.len().saturating_sub(LAYUPS_SHOWN);
    if more > 0 {
        out.push(&format!("  and {more} more: every one has its card on the printable page"));
    }
}

fn layup(laid: &Laid<'_>) -> String {
    let brief = |area: &Area<'_>| format!("area {}: {}", area.letter, follow::brief(&area.load.groups, "f"));
    let areas: Vec<String> = laid.areas.iter().map(brief).collect();
    format!("{} x {}; {}", laid.layup.passes.len(), laid.board.name, areas.join("; "))
}

fn assumed(out: &mut Lines, view: &View<'_>) {
    let job = view.job;
    if !job.assumptions.is_empty() {
        out.head("Assumed");
        job.assumptions.iter().for_each(|text| out.point(text));
    }
    out.head("Look out");
    job.cautions.iter().for_each(|text| out.point(text));
    out.point(
        "First cut two plies, then the full stack, and compare bottom and top patch. Blades, rollers and irons hurt: \
         read the cautions on the page; the maker's instructions come first.",
    );
}
