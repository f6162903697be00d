//! The printable comparison: strategies side by side, which to take, and the curve between cloth and passes.

use std::fmt::Write as _;

use maud::html;
use patchlay_plan::compare::{Comparison, Point};
use patchlay_scenario::Job;

use super::flow::{Banner, Block, Part, SHEET_WIDTH, mm, picture, sheets};
use super::parts::{Cell, tight_row};
use super::{Paper, self_contained};
use crate::compare::{
    BOARDS, BOUND_OF_FREER_RULES, CURVE, FOLLOW, POINTS, about_bounds, asked, better_still, boards,
    bound_cell, ends, follow, gap, how_chosen, point_gaps, recommendation, remarks, strategy_name,
};
use crate::fit::{Tenths, Type};
use crate::svg::{escape, num};
use crate::words;

const NAME: Tenths = 560;

/// The page.
#[must_use]
pub fn compare_page(comparison: &Comparison, job: &Job, paper: Paper) -> String {
    let number = comparison.scenario_digest.get(..8).unwrap_or_default();
    let mut parts = vec![
        Part::titled("Strategies side by side: what each takes", takes(comparison, job))
            .headed(takes_head(job)),
        Part::titled("What there is to follow", follows(comparison)).headed(follow_head()),
    ];
    let said: Vec<Block> = (0..comparison.rows.len())
        .map(|at| (at, remarks(comparison, at)))
        .filter(|(_, said)| !said.is_empty())
        .map(|(at, said)| Block::point(&format!("Row {}: {}.", at + 1, said.join("; ")), Type::BODY))
        .collect();
    if !said.is_empty() {
        parts.push(Part::titled("Rows", said));
    }
    let mut which: Vec<Block> =
        recommendation(comparison, job).into_iter().map(|text| Block::point(&text, Type::CARD)).collect();
    which.extend(better_still(comparison, job).iter().map(|text| Block::point(text, Type::CARD)));
    which.extend([&how_chosen(), BOUND_OF_FREER_RULES].map(|text| Block::point(text, Type::BODY)));
    which.push(Block::point(&about_bounds(comparison, job), Type::BODY));
    parts.push(Part::titled("Which to take", which).together());
    if !comparison.curve.is_empty() {
        let mut blocks = vec![Block::text(POINTS, Type::BODY), drawn(comparison, job)];
        let points = comparison.curve.iter().enumerate();
        blocks.extend(points.map(|(at, point)| point_line(comparison, at, point, job)));
        blocks.extend(ends(comparison, job).iter().map(|text| Block::point(text, Type::BODY)));
        let part = Part::titled(CURVE, blocks);
        parts.push(part.on_new_sheet());
    }
    let boards = boards(comparison, job);
    if !boards.is_empty() {
        let blocks = boards.iter().map(|text| Block::point(text, Type::BODY)).collect();
        parts.push(Part::titled(BOARDS, blocks));
    }
    let body = sheets(&parts, &Banner { scenario: &job.name, what: "Comparison", plan: number });
    self_contained(&format!("{} · strategies side by side", job.name), paper, &body).into_string()
}

fn line(cells: &[(String, Tenths)], face: Type) -> Block {
    let cells: Vec<Cell> = cells
        .iter()
        .enumerate()
        .map(|(at, (text, width))| match at {
            0 => Cell::text(text, face, *width),
            _ => Cell::number(text, face, *width),
        })
        .collect();
    tight_row(&cells)
}

/// Columns of the first table.
const TAKES: [(&str, Tenths); 8] = [
    ("strategy", NAME),
    ("cloth taken", 190),
    ("buy", 190),
    ("price", 190),
    ("passes", 140),
    ("time", 220),
    ("bound", 220),
    ("gap", 150),
];

fn takes_head(job: &Job) -> Block {
    let head = TAKES.map(|(name, width)| {
        let name = if name == "price" && !job.priced { "" } else { name };
        (name.to_owned(), width)
    });
    line(&head, Type::SMALL)
}

fn takes(comparison: &Comparison, job: &Job) -> Vec<Block> {
    let rows = comparison.rows.iter().enumerate().map(|(at, row)| {
        let name = format!("{} {}", at + 1, strategy_name(row.strategy));
        let cells = match &row.plan {
            Err(_) => std::array::from_fn(|at| if at == 0 { name.clone() } else { "-".to_owned() }),
            Ok(plan) => [
                name,
                plan.figures.length_taken.show_cloth(job.units),
                plan.figures.length_bought.show_cloth(job.units),
                if job.priced { plan.figures.money.show(&job.currency) } else { String::new() },
                plan.figures.passes.to_string(),
                words::time(plan.figures.seconds),
                bound_cell(plan, job),
                gap(&plan.bound),
            ],
        };
        let face = if comparison.recommended == Some(at) { Type::SMALL_STRONG } else { Type::SMALL };
        let cells: Vec<(String, Tenths)> =
            cells.into_iter().zip(TAKES).map(|(text, (_, width))| (text, width)).collect();
        line(&cells, face)
    });
    rows.collect()
}

const FOLLOWED: Tenths = (SHEET_WIDTH - NAME) / 6;

fn follow_head() -> Block {
    let first = [("strategy".to_owned(), NAME)];
    let all: Vec<_> = first.into_iter().chain(FOLLOW.map(|name| (name.to_owned(), FOLLOWED))).collect();
    line(&all, Type::SMALL)
}

fn follows(comparison: &Comparison) -> Vec<Block> {
    let rows = comparison.rows.iter().enumerate().map(|(at, row)| {
        let name = format!("{} {}", at + 1, strategy_name(row.strategy));
        let cells = match &row.plan {
            Ok(plan) => follow(plan).map(|count| count.to_string()),
            Err(_) => std::array::from_fn(|_| "-".to_owned()),
        };
        let cells = cells.into_iter().map(|text| (text, FOLLOWED));
        let face = if comparison.recommended == Some(at) { Type::SMALL_STRONG } else { Type::SMALL };
        line(&[(name, NAME)].into_iter().chain(cells).collect::<Vec<_>>(), face)
    });
    rows.collect()
}

fn point_line(comparison: &Comparison, at: usize, point: &Point, job: &Job) -> Block {
    let [cloth_gap, passes_gap] = point_gaps(comparison, point);
    let said = format!(
        "{}. {}: {} taken, {} to buy, {}, {}; gap in cloth {cloth_gap}, in passes {passes_gap}.",
        at + 1,
        asked(point, job),
        point.figures.length_taken.show_cloth(job.units),
        point.figures.length_bought.show_cloth(job.units),
        words::passes(point.figures.passes),
        words::time(point.figures.seconds),
    );
    Block::point(&said, Type::BODY)
}

/// Size of the drawing and of the space around its field, millimetres.
const WIDE: f64 = 186.0;
const HIGH: f64 = 110.0;
const AROUND: [f64; 4] = [22.0, 8.0, 16.0, 8.0];

/// The curve: cloth taken across, passes upward, a numbered point for every plan with its time beside it.
fn drawn(comparison: &Comparison, job: &Job) -> Block {
    let [low, top, bottom, high] = AROUND;
    let spread = |values: Vec<f64>| {
        let least = values.iter().copied().fold(f64::INFINITY, f64::min);
        let most = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let room = ((most - least) * 0.12).max(0.5);
        (least - room, most + room)
    };
    #[allow(clippy::cast_precision_loss, reason = "a drawing coordinate")]
    let cloth = |point: &Point| point.figures.length_taken.units() as f64;
    #[allow(clippy::cast_precision_loss, reason = "a drawing coordinate")]
    let passes = |point: &Point| point.figures.passes as f64;
    let across = spread(comparison.curve.iter().map(cloth).collect());
    let upward = spread(comparison.curve.iter().map(passes).collect());
    let x = |value: f64| low + (value - across.0) / (across.1 - across.0) * (WIDE - low - high);
    let y = |value: f64| HIGH - bottom - (value - upward.0) / (upward.1 - upward.0) * (HIGH - top - bottom);
    let mut svg = format!(
        "<svg viewBox=\"0 0 {w} {h}\" width=\"{w}mm\" height=\"{h}mm\" role=\"img\" aria-label=\"cloth taken against \
         passes\"><path d=\"M{l} {t}V{b}H{r}\" fill=\"none\" stroke=\"#000000\" stroke-width=\".4\"/>",
        w = num(WIDE),
        h = num(HIGH),
        l = num(low),
        t = num(top),
        b = num(HIGH - bottom),
        r = num(WIDE - high),
    );
    let label = |svg: &mut String, at: (f64, f64), anchor: &str, text: &str| {
        let _ = write!(
            svg,
            "<text x=\"{}\" y=\"{}\" font-size=\"3.4\" text-anchor=\"{anchor}\">{}</text>",
            num(at.0),
            num(at.1),
            escape(text)
        );
    };
    label(&mut svg, ((low + WIDE - high) / 2.0, HIGH - 2.0), "middle", "cloth taken");
    label(&mut svg, (2.0, top - 2.0), "start", "passes");
    // Steps between the points that no other beats in cloth and passes alone; the others are there for their minutes.
    let mut steps: Vec<&Point> = Vec::new();
    for point in &comparison.curve {
        if steps.last().is_none_or(|last| point.figures.passes < last.figures.passes) {
            steps.push(point);
        }
    }
    for pair in steps.windows(2) {
        let _ = write!(
            svg,
            "<path d=\"M{} {}H{}V{}\" fill=\"none\" stroke=\"#000000\" stroke-width=\".3\" stroke-dasharray=\"1.5 \
             1.5\"/>",
            num(x(cloth(pair[0]))),
            num(y(passes(pair[0]))),
            num(x(cloth(pair[1]))),
            num(y(passes(pair[1]))),
        );
    }
    let mut ticks: Vec<u64> = comparison.curve.iter().map(|point| point.figures.passes).collect();
    ticks.sort_unstable();
    ticks.dedup();
    for point in ticks {
        #[allow(clippy::cast_precision_loss, reason = "a drawing coordinate")]
        let height = y(point as f64);
        label(&mut svg, (low - 2.0, height + 1.2), "end", &point.to_string());
    }
    for (at, point) in comparison.curve.iter().enumerate() {
        let (cx, cy) = (x(cloth(point)), y(passes(point)));
        let _ = write!(
            svg,
            "<circle cx=\"{x}\" cy=\"{y}\" r=\"2.6\" fill=\"#000000\"/><text \
             x=\"{x}\" y=\"{b}\" font-size=\"3.2\" font-weight=\"bold\" text-anchor=\"middle\" style=\"fill:#ffffff\">{n}</text>",
            x = num(cx),
            y = num(cy),
            b = num(cy + 1.15),
            n = at + 1,
        );
        // Beyond the middle the text stands before its point.
        let before = cx > (low + WIDE - high) / 2.0;
        let (tx, anchor) = if before { (cx - 4.0, "end") } else { (cx + 4.0, "start") };
        let text = format!(
            "{}, {}",
            point.figures.length_taken.show_cloth(job.units),
            words::time(point.figures.seconds)
        );
        label(&mut svg, (tx, cy - 2.2), anchor, &text);
    }
    svg.push_str("</svg>");
    let height = 1_130;
    Block::new(height, html! { div style={"height:" (mm(height))} { (picture(svg)) } })
}
