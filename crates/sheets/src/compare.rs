//! Strategies side by side as text and tables. The printable page is in `page::compare`.

use patchlay_measure::{Area, Length, Money};
use patchlay_plan::compare::{Asked, BoardRow, Comparison, LAYUP, Point, Row, RowPlan};
use patchlay_plan::{Bound, FigureKind, Figures, Strategy};
use patchlay_scenario::Job;
use patchlay_scenario::job::AimKind;

use crate::table::Table;
use crate::terminal::{Lines, padded, to_the_end, visible};
use crate::{SheetError, bounds, words};

/// A strategy in words: `fabric by fabric, folded, 4 plies`.
#[must_use]
pub fn strategy_name(strategy: Strategy) -> String {
    let rules = format!("{}, {}", strategy.loading.name(), strategy.plies.name());
    match strategy.ply_limit {
        Some(limit) => format!("{rules}, {}", words::plies(limit)),
        None => rules,
    }
}

/// What to type after `patchlay plan SCENARIO` to get the plan of a row.
#[must_use]
pub fn strategy_options(strategy: Strategy, seed: u64, effort: u32) -> String {
    let mut options = format!("--loading \"{}\" --plies {}", strategy.loading.name(), strategy.plies.name());
    if let Some(limit) = strategy.ply_limit {
        options.push_str(&format!(" --ply-limit {limit}"));
    }
    options.push_str(&format!(" --effort {effort}"));
    if seed != 1 {
        options.push_str(&format!(" --seed {seed}"));
    }
    options
}

/// The gap as printed.
pub(crate) fn gap(bound: &Bound) -> String {
    match bound.gap_tenths() {
        _ if bound.proved => "proved".to_owned(),
        Some(tenths) => words::share(tenths),
        None => "-".to_owned(),
    }
}

/// The bound of a row; a mark says where it is that of freer rules.
pub(crate) fn bound_cell(plan: &RowPlan, job: &Job) -> String {
    let mark = if plan.bound_of_freer_rules { "*" } else { "" };
    format!("{}{mark}", bounds::amount(plan.bound.figure, &plan.bound.bound, job))
}

/// What the mark beside a bound means.
pub(crate) const BOUND_OF_FREER_RULES: &str = "* a bound of freer rules: it holds here too, but under the rules of this \
     row the least may be higher.";

/// What the gaps are about.
pub(crate) fn about_bounds(comparison: &Comparison, job: &Job) -> String {
    let plan = comparison.rows.iter().find_map(|row| row.plan.as_ref().ok());
    let noun = plan.map_or("", |plan| bounds::noun(plan.bound.figure, job));
    format!("Bound and gap are those of {noun}, the first figure of the scenario's aim.")
}

/// The one sentence that recommends, with the numbers behind it.
pub(crate) fn recommendation(comparison: &Comparison, job: &Job) -> Option<String> {
    let at = comparison.recommended?;
    let plan = |at: usize| comparison.rows.get(at)?.plan.as_ref().ok();
    let taken = plan(at)?;
    let units = job.units;
    let cost = |plan: &RowPlan| {
        let bought = plan.figures.length_bought.show_cloth(units);
        if job.priced {
            format!("{bought} to buy for {}", plan.figures.money.show(&job.currency))
        } else {
            format!("{bought} to buy")
        }
    };
    let name = |at: usize| format!("row {} ({})", at + 1, strategy_name(comparison.rows[at].strategy));
    let mut said = format!(
        "Take {}: {}, {} in {} with {} lengths and cuts to prepare, about {}",
        name(at),
        cost(taken),
        words::passes(taken.figures.passes),
        words::count(taken.figures.layups, "lay-up", "lay-ups"),
        taken.figures.pieces,
        words::time(taken.figures.seconds),
    );
    let all = || (0..comparison.rows.len()).filter_map(|at| Some((at, &plan(at)?.figures)));
    let cheapest = all().min_by_key(|(at, f)| (f.money.units(), f.passes, f.seconds, *at))?;
    let quickest = all().min_by_key(|(at, f)| (f.passes, f.money.units(), f.seconds, *at))?;
    if cheapest.1.money < taken.figures.money {
        said.push_str(&format!("; {} buys least, {}", name(cheapest.0), cost(plan(cheapest.0)?)));
    } else {
        said.push_str("; no row buys less");
    }
    if quickest.1.passes < taken.figures.passes {
        let passes = words::passes(quickest.1.passes);
        said.push_str(&format!("; {} takes fewest passes, {passes}", name(quickest.0)));
    } else {
        said.push_str("; no row takes fewer passes");
    }
    said.push('.');
    Some(said)
}

/// A point of the curve, found when the scenario's aim was another, that beats the recommended row.
pub(crate) fn better_still(comparison: &Comparison, job: &Job) -> Option<String> {
    let row = comparison.rows.get(comparison.recommended?)?.plan.as_ref().ok()?;
    let merits = |figures: &Figures| [figures.money.units(), figures.passes.into(), figures.seconds.into()];
    let own = merits(&row.figures);
    let beats = |point: &&Point| {
        let theirs = merits(&point.figures);
        let other_aim = !matches!(point.asked, Asked::Row(_));
        other_aim && theirs != own && theirs.iter().zip(&own).all(|(a, b)| a <= b)
    };
    let point = comparison.curve.iter().filter(beats).min_by_key(|point| merits(&point.figures))?;
    Some(format!(
        "A plan of the curve is better still in cloth, passes and time: the one found when asked for {} ({}, {}); to \
         get it, put that first in the scenario's aim.",
        asked(point, job),
        words::passes(point.figures.passes),
        words::time(point.figures.seconds),
    ))
}

/// How a row was chosen.
pub(crate) fn how_chosen() -> String {
    format!(
        "Chosen among the rows that cost at most 3 % more to buy than the cheapest: the one done soonest, every lay-up \
         counted as {} minutes (an assumption).",
        f64::from(LAYUP) / 60.0
    )
}

/// What is to be said of a row beside its figures.
pub(crate) fn remarks(comparison: &Comparison, at: usize) -> Vec<String> {
    let row = &comparison.rows[at];
    let mut said = Vec::new();
    match &row.plan {
        Err(reason) => said.push(format!("no plan: {reason}")),
        Ok(plan) if plan.made_as != row.strategy => {
            said.push(format!(
                "the plan of {}, which these rules allow, is the best found",
                strategy_name(plan.made_as)
            ));
        }
        Ok(_) => {}
    }
    if let Some(mark) = &row.never_better {
        said.push(format!("never better than row {}: {}", mark.than + 1, mark.reason));
    }
    said
}

/// What a point was asked for, in words.
pub(crate) fn asked(point: &Point, job: &Job) -> String {
    match point.asked {
        Asked::LeastCloth => "least cloth".to_owned(),
        Asked::FewestPasses => "fewest passes".to_owned(),
        Asked::Together(pass) => format!("a pass counted as {}", pass.show_cloth(job.units)),
        Asked::Row(at) => format!("row {}", at + 1),
    }
}

/// Cloth taken off the bolts, as length.
fn taken(row: &RowPlan, job: &Job) -> String {
    row.figures.length_taken.show_cloth(job.units)
}

/// The comparison for the terminal, at most 100 columns wide. `file` is the scenario as it was named.
#[must_use]
pub fn compare_terminal(comparison: &Comparison, job: &Job, file: &str) -> String {
    let mut out = Lines::default();
    out.push(&visible(&job.name));
    out.push("");
    what_it_takes(&mut out, comparison, job);
    out.push("");
    what_to_follow(&mut out, comparison);
    let remarked: Vec<(usize, Vec<String>)> = (0..comparison.rows.len())
        .map(|at| (at, remarks(comparison, at)))
        .filter(|(_, said)| !said.is_empty())
        .collect();
    if !remarked.is_empty() {
        out.head("Rows");
        for (at, said) in remarked {
            out.hang(&format!("  {:>2}  ", at + 1), &format!("{}.", said.join("; ")));
        }
    }
    out.head("Which to take");
    if let Some(text) = recommendation(comparison, job) {
        out.point(&text);
        better_still(comparison, job).iter().for_each(|text| out.point(text));
        out.point(&how_chosen());
    }
    if let Some(plan) = comparison.recommended.and_then(|at| comparison.rows[at].plan.as_ref().ok()) {
        let options = strategy_options(plan.made_as, comparison.seed, comparison.effort);
        out.point(&format!("Its plan: patchlay plan {} {options}", visible(file)));
    }
    out.point(&about_bounds(comparison, job));
    out.point(BOUND_OF_FREER_RULES);
    curve(&mut out, comparison, job);
    let boards = boards(comparison, job);
    if !boards.is_empty() {
        out.head(BOARDS);
        boards.iter().for_each(|text| out.point(text));
    }
    out.text
}

fn what_it_takes(out: &mut Lines, comparison: &Comparison, job: &Job) {
    let row = |cells: [&str; 8]| {
        let [name, taken, buy, price, passes, time, bound, gap] = cells;
        format!(
            "  {}{}{}{}{}{}{}{}",
            padded(name, 35, 34),
            to_the_end(taken, 10),
            to_the_end(buy, 10),
            if job.priced { to_the_end(price, 10) } else { String::new() },
            to_the_end(passes, 7),
            to_the_end(time, 11),
            to_the_end(bound, if job.priced { 9 } else { 16 }),
            to_the_end(gap, 7),
        )
    };
    out.push(&row(["Strategy", "taken", "buy", "price", "passes", "time", "bound", "gap"]));
    for (at, line) in comparison.rows.iter().enumerate() {
        let name = format!("{:>2}  {}", at + 1, strategy_name(line.strategy));
        match &line.plan {
            Err(_) => out.push(&row([&name, "-", "-", "-", "-", "-", "-", "-"])),
            Ok(plan) => out.push(&row([
                &name,
                &taken(plan, job),
                &plan.figures.length_bought.show_cloth(job.units),
                &plan.figures.money.show(&visible(&job.currency)),
                &plan.figures.passes.to_string(),
                &words::time(plan.figures.seconds),
                &short_bound(plan, job),
                &gap(&plan.bound),
            ])),
        }
    }
}

/// The bound without its noun: the column says what it is.
fn short_bound(plan: &RowPlan, job: &Job) -> String {
    let mark = if plan.bound_of_freer_rules { "*" } else { "" };
    let units: i128 = plan.bound.bound.parse().unwrap_or(0);
    let text = match plan.bound.figure {
        FigureKind::Passes => units.to_string(),
        FigureKind::Money if job.priced => Money::from_units(units).show(&visible(&job.currency)),
        FigureKind::Seconds => words::time(u64::try_from(units).unwrap_or(0)),
        FigureKind::Money | FigureKind::Area => Area::from_units(units).show(job.units),
        figure => bounds::amount(figure, &plan.bound.bound, job),
    };
    format!("{text}{mark}")
}

/// What a row's plan asks of those who follow it.
pub(crate) const FOLLOW: [&str; 6] =
    ["lay-ups", "lengths and cuts", "strips", "most fabrics in a stack", "trimmed", "spare patches"];

pub(crate) fn follow(plan: &RowPlan) -> [u64; 6] {
    let figures = &plan.figures;
    let fabrics = u64::from(figures.most_fabrics);
    [figures.layups, figures.pieces, figures.strips, fabrics, figures.trimmed, figures.spare_patches]
}

fn what_to_follow(out: &mut Lines, comparison: &Comparison) {
    let widths = [8, 9, 8, 13, 10, 8];
    let heads = ["lay-ups", "lengths", "strips", "fabrics in", "cuts to", "spare"];
    let below = ["", "and cuts", "", "one stack", "trim", "patches"];
    let row = |name: &str, cells: &[String]| {
        let cells = cells.iter().zip(widths).map(|(cell, width)| to_the_end(cell, width));
        format!("  {}{}", padded(name, 35, 34), cells.collect::<String>())
    };
    out.push(&row("What there is to follow", &heads.map(str::to_owned)));
    out.push(&row("", &below.map(str::to_owned)));
    for (at, line) in comparison.rows.iter().enumerate() {
        let name = format!("{:>2}  {}", at + 1, strategy_name(line.strategy));
        let cells = line.plan.as_ref().map_or_else(
            |_| vec!["-".to_owned(); 6],
            |plan| follow(plan).iter().map(u64::to_string).collect(),
        );
        out.push(&row(&name, &cells));
    }
}

/// The title of the curve.
pub(crate) const CURVE: &str = "Cloth against passes and minutes";

/// What its points are.
pub(crate) const POINTS: &str =
    "Plans (mixed, either) that no other plan found beats in cloth, passes and minutes together.";

/// What is proved of the curve's ends.
pub(crate) fn ends(comparison: &Comparison, job: &Job) -> Vec<String> {
    let said = comparison.ends.iter().map(|end| {
        let noun = bounds::noun(end.figure, job);
        let best = bounds::amount(end.figure, &end.value, job);
        if end.proved {
            return format!("The end of {noun}: {best}, proved to be the least.");
        }
        let least = bounds::amount(end.figure, &end.bound, job);
        format!("The end of {noun}: {best} found; none takes less than {least}; gap {}.", gap(end))
    });
    let without = comparison.passes_without_proof_block.as_ref().map(|end| {
        let best = bounds::amount(end.figure, &end.value, job);
        let proved = if end.proved {
            "proved to be the least".to_owned()
        } else {
            format!("none takes less than {}", bounds::amount(end.figure, &end.bound, job))
        };
        format!("Without a proof block cut first: {best}, {proved}.")
    });
    said.chain(without).collect()
}

/// How far a point lies above the bounds of cloth and of passes.
pub(crate) fn point_gaps(comparison: &Comparison, point: &Point) -> [String; 2] {
    [FigureKind::Money, FigureKind::Passes].map(|figure| {
        let end = comparison.ends.iter().find(|end| end.figure == figure);
        end.map_or_else(String::new, |end| {
            let value = match figure {
                FigureKind::Money => point.figures.money.units(),
                _ => i128::from(point.figures.passes),
            };
            let proved = value.to_string() == end.bound;
            gap(&Bound { value: value.to_string(), proved, ..end.clone() })
        })
    })
}

/// The title of what boards change.
pub(crate) const BOARDS: &str = "Which board helps (mixed, either)";

/// What each board changes, in words.
pub(crate) fn boards(comparison: &Comparison, job: &Job) -> Vec<String> {
    let plans = comparison.rows.iter().filter_map(|row| row.plan.as_ref().ok());
    let value = |plan: &&RowPlan| plan.bound.value.parse::<i128>().unwrap_or(i128::MAX);
    // The row with the freest rules has the best of all plans.
    let usual = comparison.rows.iter().find(|row| row.strategy.is_usual());
    let Some(now) = usual.and_then(|row| row.plan.as_ref().ok()).or_else(|| plans.min_by_key(value)) else {
        return Vec::new();
    };
    comparison.boards.iter().map(|row| board(row, &now.figures, job)).collect()
}

fn board(row: &BoardRow, now: &Figures, job: &Job) -> String {
    let begin = if row.owned { format!("Without {}", row.board) } else { format!("With {}", row.board) };
    let figures = match &row.figures {
        Err(reason) => return format!("{begin}: {reason}."),
        Ok(figures) => figures,
    };
    let like = |a: &Figures| (a.money, a.length_bought, a.passes, a.seconds);
    if like(figures) == like(now) {
        let nothing =
            if row.owned { "nothing is lost: the plan does not use it" } else { "no better plan was found" };
        return format!("{begin} {nothing}.");
    }
    // A plan that does without a board is one with it too: if it is the better one, the other search fell short.
    let order = |figures: &Figures| {
        let (money, passes) = (figures.money.units(), i128::from(figures.passes));
        if job.aim.kind() == AimKind::FewestPasses { (passes, money) } else { (money, passes) }
    };
    let missed = order(figures) >= order(now);
    let begin = if row.owned && !missed {
        format!("{begin} (not missed: the plan found without it is the better one)")
    } else {
        begin
    };
    format!("{begin}: {}.", differences(figures, now, job))
}

/// Cloth, passes and time of one plan, each with how far it is from another's.
pub(crate) fn differences(figures: &Figures, now: &Figures, job: &Job) -> String {
    let cloth = if job.priced {
        let money = |figures: &Figures| figures.money.units();
        let off = money(figures) - money(now);
        let show = |units: i128| Money::from_units(units).show(&job.currency);
        format!("{} for the cloth ({})", show(money(figures)), change(off, &show(off.abs())))
    } else {
        let off = figures.length_bought.units() - now.length_bought.units();
        let show = |units: i64| Length::from_units(units).show_cloth(job.units);
        let all = figures.length_bought.show_cloth(job.units);
        format!("{all} to buy ({})", change(off.into(), &show(off.abs())))
    };
    let wide = |n: u64| i128::from(n);
    let passes = wide(figures.passes) - wide(now.passes);
    let seconds = wide(figures.seconds) - wide(now.seconds);
    let small = |n: i128| u64::try_from(n.abs()).unwrap_or(u64::MAX);
    format!(
        "{cloth}, {} ({}), {} ({})",
        words::passes(figures.passes),
        change(passes, &small(passes).to_string()),
        words::time(figures.seconds),
        change(seconds, &words::time(small(seconds))),
    )
}

/// `11 more`, `3 less`, `the same`.
fn change(off: i128, size: &str) -> String {
    match off {
        0 => "the same".to_owned(),
        more if more > 0 => format!("{size} more"),
        _ => format!("{size} less"),
    }
}

fn curve(out: &mut Lines, comparison: &Comparison, job: &Job) {
    out.head(CURVE);
    out.point(POINTS);
    let row = |cells: [&str; 7]| {
        let [name, taken, buy, passes, time, cloth_gap, passes_gap] = cells;
        format!(
            "  {}{}{}{}{}{}{}",
            padded(name, 31, 30),
            to_the_end(taken, 10),
            to_the_end(buy, 11),
            to_the_end(passes, 8),
            to_the_end(time, 12),
            to_the_end(cloth_gap, 11),
            to_the_end(passes_gap, 12),
        )
    };
    out.push(&row(["found when asked for", "taken", "buy", "passes", "time", "gap, cloth", "gap, passes"]));
    for point in &comparison.curve {
        let [cloth_gap, passes_gap] = point_gaps(comparison, point);
        out.push(&row([
            &asked(point, job),
            &point.figures.length_taken.show_cloth(job.units),
            &point.figures.length_bought.show_cloth(job.units),
            &point.figures.passes.to_string(),
            &words::time(point.figures.seconds),
            &cloth_gap,
            &passes_gap,
        ]));
    }
    ends(comparison, job).iter().for_each(|text| out.point(text));
}

/// The comparison as CSV: one row for every strategy.
///
/// # Errors
/// [`SheetError`] if the table cannot be written.
pub fn csv_compare(comparison: &Comparison, job: &Job) -> Result<String, SheetError> {
    let unit = crate::table::unit(job.units);
    let mut table = Table::new(&[
        "row",
        "loading",
        "plies",
        "ply limit",
        &format!("taken ({unit})"),
        &format!("buy ({unit})"),
        "price",
        "passes",
        "minutes",
        "lay-ups",
        "lengths and cuts",
        "strips",
        "most fabrics in a stack",
        "trimmed",
        "spare patches",
        "bound",
        "bound of freer rules",
        "gap",
        "remarks",
        "plan with",
    ])?;
    for (at, row) in comparison.rows.iter().enumerate() {
        table.row(cells(comparison, at, row, job))?;
    }
    table.text()
}

fn cells(comparison: &Comparison, at: usize, row: &Row, job: &Job) -> [String; 20] {
    let plan = row.plan.as_ref().ok();
    let of = |text: &dyn Fn(&RowPlan) -> String| plan.map_or_else(String::new, text);
    let followed = |at: usize| of(&move |plan| follow(plan)[at].to_string());
    let limit = row.strategy.ply_limit.unwrap_or(job.cutter.ply_limit);
    [
        (at + 1).to_string(),
        row.strategy.loading.name().to_owned(),
        row.strategy.plies.name().to_owned(),
        limit.to_string(),
        of(&|plan| plan.figures.length_taken.show_bare(job.units)),
        of(&|plan| plan.figures.length_bought.show_bare(job.units)),
        of(&|plan| if job.priced { plan.figures.money.show(&job.currency) } else { String::new() }),
        of(&|plan| plan.figures.passes.to_string()),
        of(&|plan| plan.figures.seconds.div_ceil(60).to_string()),
        followed(0),
        followed(1),
        followed(2),
        followed(3),
        followed(4),
        followed(5),
        of(&|plan| bounds::amount(plan.bound.figure, &plan.bound.bound, job)),
        of(&|plan| if plan.bound_of_freer_rules { "yes" } else { "no" }.to_owned()),
        of(&|plan| gap(&plan.bound)),
        remarks(comparison, at).join("; "),
        of(&|plan| strategy_options(plan.made_as, comparison.seed, comparison.effort)),
    ]
}
