//! Page 1: what to buy, whether it is enough, and what was assumed.

use maud::{Markup, html};
use patchlay_measure::UnitSystem;

use super::flow::{Block, Part, SHEET_WIDTH, mm, picture};
use super::parts::swatch;
use crate::fit::{self, Tenths, Type};
use crate::svg::num;
use crate::view::{Cloth, View, of_cents};
use crate::words;

const SWATCH: Tenths = 150;
const TEXT: Tenths = 1380;
const SNIP: (Tenths, Tenths) = (300, 230);

/// What to buy, then what was assumed.
pub(crate) fn parts(view: &View<'_>) -> Vec<Part> {
    let mut blocks = vec![first_steps(view), Block::space(20)];
    for cloth in &view.cloths {
        blocks.push(fabric(view, *cloth));
    }
    blocks.push(in_all(view));
    vec![Part::titled("What to buy", blocks), Part::titled("What was assumed", assumed(view))]
}

/// The square to measure, and what to do with the cloth before anything is cut.
fn first_steps(view: &View<'_>) -> Block {
    let (side, name) = match view.job.units {
        UnitSystem::Inch => (25.4, "1 in"),
        UnitSystem::Metric => (25.0, "25 mm"),
    };
    let room = SHEET_WIDTH - 420;
    let order = fit::wrap(
        "Wash, starch, press flat, let it cool; then measure, and only then cut.",
        Type::STRONG,
        room,
    );
    let check = fit::wrap(
        &format!(
            "The square must measure {name} each way. If it does not, print again at 100 %, without fitting to the page."
        ),
        Type::BODY,
        room,
    );
    let pin = fit::wrap(
        "Pin a snip of each fabric into its box: the letter beside it stands for that fabric on every sheet.",
        Type::BODY,
        room,
    );
    let html = html! {
        div.row style={"height:" (mm(270))} {
            div style="width:32mm" { (square(side, name)) }
            div {
                div.t-strong { @for line in &order { div.l { (line) } } }
                div.t-body style="margin-top:1mm" { @for line in check.iter().chain(&pin) { div.l { (line) } } }
            }
        }
    };
    Block::new(270, html)
}

fn square(side: f64, name: &str) -> Markup {
    let size = num(side + 0.6);
    picture(format!(
        "<svg viewBox=\"0 0 {size} {size}\" width=\"{size}mm\" height=\"{size}mm\" role=\"img\" \
         aria-label=\"a square of {name} to measure\"><rect x=\".3\" y=\".3\" width=\"{s}\" height=\"{s}\" \
         fill=\"none\" stroke=\"#000000\" stroke-width=\".25\"/><text x=\"{m}\" y=\"{m}\" font-size=\"4\" \
         text-anchor=\"middle\" dominant-baseline=\"middle\">{name}</text></svg>",
        s = num(side),
        m = num(side / 2.0 + 0.3),
    ))
}

/// One fabric: what to buy, the sum, the width it needs, what was assumed of it, a box for a snip.
fn fabric(view: &View<'_>, cloth: Cloth<'_>) -> Block {
    let units = view.job.units;
    let room = TEXT - 30;
    let mut buy = format!("buy {}", cloth.plan.bought.show_cloth(units));
    if view.job.priced {
        buy.push_str(&format!(" · {}", of_cents(cloth.cents).show(&view.job.currency)));
    }
    let buy = fit::one_line(&buy, Type::TITLE, room * 2 / 3);
    let name =
        fit::wrap(&cloth.fabric.name, Type::HEAD, room.saturating_sub(fit::width(&buy, Type::TITLE) + 30));
    let heading = Type::TITLE.line.max(Type::HEAD.line * lines_of(&name));
    let mut lines = fit::wrap(&words::shopping_sum(cloth, units), Type::BODY, room);
    lines.extend(fit::wrap(&width_needed(view, cloth), Type::BODY, room));
    let about = fit::wrap(&capital(&words::assumed(cloth.fabric, units).join("; ")), Type::SMALL, room);
    let text = heading + Type::BODY.line * lines_of(&lines) + Type::SMALL.line * lines_of(&about);
    let height = (text + 30).max(SNIP.1 + 30);
    Block::new(
        height,
        html! {
            div.row.line style={"height:" (mm(height)) ";padding-top:1.5mm"} {
                div style={"width:" (mm(SWATCH + 30))} { (swatch(cloth.id, &cloth.fabric.letter, SWATCH)) }
                div style={"width:" (mm(TEXT))} {
                    div style={"height:" (mm(heading)) ";width:" (mm(room)) ";display:flex;justify-content:space-between"} {
                        div.t-head { @for line in &name { div.l { (line) } } }
                        div.t-title.l { (buy) }
                    }
                    div.t-body { @for line in &lines { div.l { (line) } } }
                    div.t-small { @for line in &about { div.l { (line) } } }
                }
                div.snip.t-small style={"width:" (mm(SNIP.0)) ";height:" (mm(SNIP.1))} { "pin a snip here" }
            }
        },
    )
}

fn lines_of(lines: &[String]) -> u32 {
    u32::try_from(lines.len()).unwrap_or(u32::MAX)
}

fn width_needed(view: &View<'_>, cloth: Cloth<'_>) -> String {
    match cloth.least_width() {
        Some(width) => format!(
            "Measure now, selvedges off: this plan needs at least {}. If yours is narrower, stop and plan again.",
            width.show(view.job.units)
        ),
        None => "No strip is cut from it.".to_owned(),
    }
}

fn in_all(view: &View<'_>) -> Block {
    let figures = &view.plan.figures;
    let mut text = format!("In all: buy {}", figures.length_bought.show_cloth(view.job.units));
    if view.job.priced {
        text.push_str(&format!(", {}", figures.money.show(&view.job.currency)));
    }
    Block::new(
        Type::HEAD.line + 20,
        html! { div.t-head style={"height:" (mm(Type::HEAD.line + 20)) ";padding-top:1mm"} { (text) } },
    )
}

/// What the plan takes for granted, in points.
fn assumed(view: &View<'_>) -> Vec<Block> {
    let job = view.job;
    let kept: Vec<String> = job
        .fabrics
        .iter()
        .flat_map(|fabric| {
            let kept = |(what, length): &(String, _)| {
                let length: &patchlay_measure::Length = length;
                format!("{} of {} for {what}", length.show(job.units), fabric.name)
            };
            fabric.kept_back.iter().map(kept)
        })
        .collect();
    let mut said = Vec::new();
    if kept.is_empty() {
        said.push("Borders, binding and backing are not in this list.".to_owned());
    } else {
        said.push(format!(
            "Kept back and in this list: {}. Anything else for borders, binding or backing is not.",
            kept.join("; ")
        ));
    }
    said.extend(job.assumptions.iter().map(|text| capital(text)));
    said.extend(job.cautions.iter().map(|text| format!("Look out: {text}")));
    points(&said)
}

/// Points of a list: short neighbours side by side. One too long for a sheet goes on in the next block.
fn points(said: &[String]) -> Vec<Block> {
    const WORDS: usize = 300;
    const HALF: Tenths = SHEET_WIDTH / 2;
    let short = |text: &str| fit::width(text, Type::BODY) <= HALF - 60;
    let mut blocks = Vec::new();
    for group in said.chunk_by(|one, other| short(one) && short(other)) {
        if group.len() == 1 {
            let words: Vec<&str> = group[0].split_whitespace().collect();
            blocks.extend(words.chunks(WORDS).map(|some| Block::point(&some.join(" "), Type::BODY)));
            continue;
        }
        blocks.extend(group.chunks(2).map(|pair| {
            let point = |text: &String| html! { div style={"width:" (mm(HALF))} { div.point.t-body { div.l { (text) } } } };
            Block::new(
                Type::BODY.line,
                html! { div.row style={"height:" (mm(Type::BODY.line))} { @for text in pair { (point(text)) } } },
            )
        }));
    }
    blocks
}

/// With a capital letter first.
fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
