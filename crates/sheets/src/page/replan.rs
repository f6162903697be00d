//! The page of a replan: in large type which plan it belongs to and which cards to throw away, then what happened, what
//! changed and why, and the strips and cards of the supplement.

use maud::html;
use patchlay_plan::day::Day;
use patchlay_plan::replan::{ClothLeft, Dropped, Lost, Reason, Recount, Replan};
use patchlay_plan::{Hand, Plan};
use patchlay_scenario::Job;

use super::flow::{Banner, Block, Part, mm, sheets};
use super::parts::{Cell, numbers_row, row, ticks, tight_row};
use super::{PageOptions, cards, cautions, document_of, strips, tags};
use crate::day::MONEY_BY_HAND;
use crate::fit::{Tenths, Type};
use crate::view::{SheetError, View};
use crate::words;

/// What became of the hours of a group's day.
#[derive(Clone, Copy, Debug)]
pub enum Hours<'a> {
    /// There are none to plan.
    None,
    /// The rest of the day, planned anew.
    Anew(&'a Day),
    /// Why they could not be planned anew.
    Not(&'a [String]),
}

/// The page. `supplement` is the job of the supplement, where the replan has one.
///
/// # Errors
/// [`SheetError`] if a plan names something that its job does not have.
pub fn replan_page(
    replan: &Replan,
    plan: &Plan,
    job: &Job,
    supplement: Option<&Job>,
    hours: Hours<'_>,
    options: &PageOptions,
) -> Result<String, SheetError> {
    // Refuses a plan that does not belong to the job before anything is written about it.
    let whole = View::new(plan, job)?;
    let mut parts = vec![
        Part { title: None, head: None, blocks: first(replan, &whole, hours), new_sheet: false },
        Part::titled("What happened", happened(replan)),
        Part::titled("What is not cut any more, and why", changed(replan)),
        still_to_cut(replan, plan, job),
        cloth(replan, job),
        Part::titled("Everything wanted comes out", recount(replan)).headed(recount_head()),
    ];
    parts.retain(|part| !part.blocks.is_empty());
    let number = replan.supplement.as_ref().map_or(&replan.number, |plan| &plan.number);
    if let (Some(anew), Some(anew_job)) = (&replan.supplement, supplement) {
        let cut = to_cut(replan, anew);
        // The supplement's own job has no group; what is cut of it, and when, is said by the day all the same.
        let by_day = job.group.is_some();
        let view = View::ordered(anew, anew_job, by_day)?;
        parts.extend(cautions::parts(&view));
        parts.extend(strips::parts(&View::ordered(&cut, anew_job, by_day)?));
        parts.extend(on_hand(replan, anew_job));
        parts.extend(cards::parts(&view, options));
        parts.extend(tags::parts(&view));
    }
    let what = if replan.supplement.is_some() { "Supplement" } else { "Changes" };
    let body = sheets(&parts, &Banner { scenario: &job.name, what, plan: number });
    let title = format!("{} · {} {number} to plan {}", job.name, what.to_lowercase(), plan.number);
    Ok(document_of(&title, supplement.unwrap_or(job), options.paper, body).into_string())
}

/// The supplement with the strips only that are cut from a bolt.
fn to_cut(replan: &Replan, supplement: &Plan) -> Plan {
    let mut cut = supplement.clone();
    for cloth in &mut cut.fabrics {
        cloth.strips.retain(|strip| !replan.on_hand.iter().any(|taken| taken.strip == strip.name));
    }
    cut
}

/// Which plan, and what to do with its cards.
fn first(replan: &Replan, view: &View<'_>, hours: Hours<'_>) -> Vec<Block> {
    let mut blocks = vec![match &replan.supplement {
        Some(plan) => Block::text(&format!("Supplement {} to plan {}", plan.number, replan.plan), Type::HUGE),
        None => Block::text(&format!("Changes to plan {}: nothing is cut anew", replan.plan), Type::HUGE),
    }];
    blocks.push(Block::space(30));
    let mut say = |text: String| {
        blocks.push(Block::text(&text, Type::TITLE));
        blocks.push(Block::space(15));
    };
    let kept = |layup: &str| replan.kept.iter().find(|kept| kept.layup == layup);
    let whole: Vec<String> = replan
        .dropped
        .iter()
        .filter(|lost| kept(&lost.layup).is_none())
        .map(|lost| lost.layup.clone())
        .collect();
    if !whole.is_empty() {
        say(format!("Throw away the card{} {}.", if whole.len() == 1 { "" } else { "s" }, whole.join(", ")));
    }
    for lost in replan.dropped.iter().filter(|lost| kept(&lost.layup).is_some()) {
        say(format!(
            "On card {} cross out {}.",
            lost.layup,
            which(view, &lost.layup, &lost.passes.iter().map(|lost| lost.pass).collect::<Vec<_>>())
        ));
    }
    if replan.dropped.is_empty() {
        say("No card is thrown away.".to_owned());
    }
    let kept: Vec<String> = replan
        .kept
        .iter()
        .map(|kept| format!("{} ({})", kept.layup, which(view, &kept.layup, &kept.passes)))
        .collect();
    if !kept.is_empty() {
        say(format!("Keep {}.", kept.join(", ")));
    }
    if !replan.done.is_empty() {
        say(format!("Done: {}.", replan.done.join(", ")));
    }
    if let Some(plan) = &replan.supplement {
        let names: Vec<String> = plan.layups.iter().map(|layup| layup.name.clone()).collect();
        say(format!("New cards, in these sheets: {}.", names.join(", ")));
    }
    for text in surplus(replan, view.plan).into_iter().chain(by_hand(view.job)) {
        say(text);
    }
    match hours {
        Hours::None => {}
        Hours::Anew(day) => say(format!(
            "Throw away all day sheets: the rest of the day is planned anew as day {}, in sheets of its own.",
            day.number
        )),
        Hours::Not(reasons) => {
            say("The hours could not be planned anew; the old day sheets do not hold any more.".to_owned());
            reasons.iter().for_each(|reason| say(format!("Because {reason}.")));
        }
    }
    blocks
}

/// `pass 3`, `passes 3 to 8`.
#[must_use]
pub fn passes_named(passes: &[u64]) -> String {
    let noun = if passes.len() == 1 { "pass" } else { "passes" };
    format!("{noun} {}", words::ranges(passes))
}

/// `all 4 passes`, `passes 3 to 8 of its 8`, and where the card counts passes through the whole plan, `on the card 86 to 91`.
fn which(view: &View<'_>, layup: &str, passes: &[u64]) -> String {
    let said = passes_named(passes);
    let Some(laid) = view.layups.iter().find(|laid| laid.layup.name == layup) else { return said };
    let all = laid.layup.passes.len();
    if passes.len() == all {
        return if all == 1 { "its one pass".to_owned() } else { format!("all {all} passes") };
    }
    let before = laid.first_pass as u64 - 1;
    let on_card: Vec<u64> = passes.iter().map(|pass| pass.saturating_add(before)).collect();
    let card = if before > 0 { format!(", on the card {}", words::ranges(&on_card)) } else { String::new() };
    format!("{said} of its {all}{card}")
}

/// Patches of one kind that are there or still come, beyond what is wanted.
fn for_nobody(own: &Recount) -> u64 {
    own.good.saturating_add(own.kept).saturating_add(own.supplement).saturating_sub(own.wanted)
}

/// Patches that are there or still come and that nobody wants any more, beyond what the plan cut over anyway.
fn surplus(replan: &Replan, plan: &Plan) -> Option<String> {
    let now: u64 = replan.recount.iter().map(for_nobody).sum();
    let wanted = |line: &patchlay_plan::PatchLine| line.needed + line.spare;
    let before: u64 = plan.patches.iter().map(|line| line.cut.saturating_sub(wanted(line))).sum();
    (now > before).then(|| {
        let before = match before {
            0 => String::new(),
            before => format!(", where {} as planned", words::count(before, "was", "were")),
        };
        format!(
            "{} cut for nobody{before}: the last table says which.",
            words::count(now, "patch is now", "patches are now")
        )
    })
}

/// What a group has to settle by hand.
fn by_hand(job: &Job) -> Option<String> {
    (job.group.is_some() && job.priced).then(|| MONEY_BY_HAND.to_owned())
}

fn happened(replan: &Replan) -> Vec<Block> {
    let mut blocks: Vec<Block> = replan.changes.iter().map(|text| Block::point(text, Type::BODY)).collect();
    if blocks.is_empty() {
        blocks.push(Block::text("All that is noted went as planned.", Type::BODY));
    }
    let read = format!(
        "{} and {} bytes of the log were read.",
        words::count(replan.records, "record", "records"),
        replan.log_bytes
    );
    blocks.push(Block::text(&read, Type::SMALL));
    blocks
}

fn changed(replan: &Replan) -> Vec<Block> {
    let mut blocks = Vec::new();
    for dropped in &replan.dropped {
        for (passes, why) in reasons(dropped) {
            blocks.push(row(&[
                Cell::text(&dropped.layup, Type::STRONG, 200),
                Cell::text(&format!("pass {}", words::list(&passes)), Type::BODY, 460),
                Cell::text(&why, Type::BODY, 1200),
            ]));
        }
    }
    if !blocks.is_empty() {
        let text = if replan.fewest_changed {
            "Everything else is cut as on its card. No fewer cards can change for want of cloth."
        } else {
            "Everything else is cut as on its card. Whether fewer cards could change was not looked for to the end."
        };
        blocks.push(Block::text(text, Type::SMALL));
    }
    blocks
}

/// Passes of a lay-up that fall away for like reasons: their numbers, and why in words.
#[must_use]
pub fn reasons(dropped: &Dropped) -> Vec<(Vec<String>, String)> {
    let kind = |lost: &Lost| std::mem::discriminant(&lost.reason);
    let runs = dropped.passes.chunk_by(|one, other| kind(one) == kind(other));
    runs.map(|like| (like.iter().map(|lost| lost.pass.to_string()).collect(), why(like))).collect()
}

/// Why passes fall away for like reasons.
fn why(like: &[Lost]) -> String {
    let mut names: Vec<String> = Vec::new();
    for lost in like {
        match &lost.reason {
            Reason::Mat { mat: name }
            | Reason::Piece { piece: name }
            | Reason::Narrow { piece: name }
            | Reason::Short { strip: name }
                if !names.contains(name) =>
            {
                names.push(name.clone());
            }
            _ => {}
        }
    }
    let names = names.join(", ");
    match like.first().map(|lost| &lost.reason) {
        Some(Reason::Board) => "no whole copy of its board is left".to_owned(),
        Some(Reason::Mat { .. }) => format!("too few whole mats are left: {names}"),
        Some(Reason::Piece { .. }) => format!("spoiled or used elsewhere: {names}"),
        Some(Reason::Narrow { .. }) => format!("the cloth is too narrow for {names}"),
        Some(Reason::Short { .. }) => format!("what is left of the bolt does not do for {names}"),
        Some(Reason::NotWanted) => "nothing that it cuts is missing".to_owned(),
        None => String::new(),
    }
}

/// Strips of the plan that are still to be cut.
fn still_to_cut(replan: &Replan, plan: &Plan, job: &Job) -> Part {
    let strips: Vec<_> =
        plan.fabrics.iter().flat_map(|cloth| cloth.strips.iter().map(move |strip| (cloth, strip))).collect();
    let line = |left: &patchlay_plan::replan::StripLeft| {
        let found = strips.iter().find(|(_, strip)| strip.name == left.strip);
        let (fabric, width) = found.map_or_else(Default::default, |(cloth, strip)| {
            (cloth.fabric.clone(), strip.width.show(job.units))
        });
        let without = match left.without.is_empty() {
            true => "as on the list".to_owned(),
            false => format!("without {}", left.without.join(", ")),
        };
        let cells = [
            Cell::text(&left.strip, Type::STRONG, 200),
            Cell::text(&fabric, Type::BODY, 500),
            Cell::text(&width, Type::BODY, 260),
            Cell::text(&without, Type::BODY, 800),
        ];
        let block = tight_row(&cells);
        let html = html! {
            div.row style={"height:" (mm(block.height))} {
                div style={"width:" (mm(80)) ";padding-top:0.8mm"} { (ticks(1, 35)) }
                (block.html)
            }
        };
        Block::new(block.height, html)
    };
    Part::titled("Strips of the plan still to be cut", replan.strips.iter().map(line).collect())
}

/// Columns of the cloth.
const CLOTH: [(&str, Tenths); 6] = [
    ("fabric", 480),
    ("width found", 240),
    ("left on the bolt", 280),
    ("for the plan's strips", 300),
    ("for the supplement", 280),
    ("buy on top", 260),
];

fn cloth(replan: &Replan, job: &Job) -> Part {
    let cells = |texts: [String; 6], face: Type| numbers_row(&CLOTH, &texts, face);
    let line = |own: &ClothLeft| {
        let show = |length: patchlay_measure::Length| length.show_cloth(job.units);
        let buy = if own.beyond == 0 { "nothing".to_owned() } else { show(own.buy) };
        let face = if own.beyond == 0 { Type::BODY } else { Type::STRONG };
        let width = own.width.show(job.units);
        cells([own.fabric.clone(), width, show(own.left), show(own.kept), show(own.supplement), buy], face)
    };
    let head = cells(CLOTH.map(|(name, _)| name.to_owned()), Type::SMALL);
    Part::titled("Cloth", replan.cloth.iter().map(line).collect()).headed(head)
}

/// Strips of the supplement that are not cut from a bolt, length by length.
fn on_hand(replan: &Replan, job: &Job) -> Option<Part> {
    let supplement = replan.supplement.as_ref().filter(|_| !replan.on_hand.is_empty())?;
    let about = "These are not cut from the bolt: take them from what is cut already and not used any more, in this \
                 order. Trim what is wider; tag it with the new name and take the old tag off.";
    let mut blocks = vec![Block::text(about, Type::BODY)];
    for taken in &replan.on_hand {
        let strips = supplement.fabrics.iter().flat_map(|cloth| &cloth.strips);
        let Some(strip) = strips.into_iter().find(|strip| strip.name == taken.strip) else { continue };
        for (at, piece) in strip.pieces.iter().enumerate() {
            // A whole strip is named once, lengths and cuts one by one.
            let from = taken.from.get(at).or(taken.from.first()).map_or("", String::as_str);
            blocks.push(row(&[
                Cell::text(&piece.name, Type::STRONG, 260),
                Cell::text(&format!("from {from}"), Type::BODY, 260),
                Cell::text(&strip.width.show(job.units), Type::BODY, 240),
                Cell::text(&words::becomes(piece, strip.width, job.units), Type::BODY, 1100),
            ]));
        }
    }
    Some(Part::titled("Taken from what is cut already", blocks))
}

const RECOUNT: [(&str, Tenths); 6] = [
    ("patches", 760),
    ("wanted", 190),
    ("good ones there", 250),
    ("kept passes", 210),
    ("supplement", 210),
    ("for nobody", 210),
];

fn recount_head() -> Block {
    recount_row(RECOUNT.map(|(name, _)| name.to_owned()), Type::SMALL)
}

fn recount_row(texts: [String; 6], face: Type) -> Block {
    numbers_row(&RECOUNT, &texts, face)
}

fn recount(replan: &Replan) -> Vec<Block> {
    let line = |own: &patchlay_plan::replan::Recount| {
        let hand = match own.hand {
            Hand::Any => "",
            Hand::Drawn => ", as drawn",
            Hand::Mirrored => ", mirror image",
        };
        let name = format!("{}: {}{hand}", own.fabric, own.shape);
        let counts = [own.wanted, own.good, own.kept, own.supplement].map(|count| count.to_string());
        let [wanted, good, kept, supplement] = counts;
        let over = match for_nobody(own) {
            0 => String::new(),
            over => over.to_string(),
        };
        recount_row([name, wanted, good, kept, supplement, over], Type::BODY)
    };
    replan.recount.iter().map(line).collect()
}

#[cfg(test)]
mod tests {
    use super::super::flow::SHEET_WIDTH;
    use super::*;

    #[test]
    fn the_columns_fit_the_sheet() {
        for widths in [CLOTH.map(|(_, width)| width).to_vec(), RECOUNT.map(|(_, width)| width).to_vec()] {
            assert!(widths.iter().sum::<Tenths>() <= SHEET_WIDTH);
        }
    }
}
