//! A group's day in words, for terminal and page alike: rough hours, stations, bags, who pays what.

use std::collections::{BTreeMap, BTreeSet};

use patchlay_plan::Plan;
use patchlay_plan::day::{At, Batch, Day, On, Run, Schedule, Task, Work};
use patchlay_plan::{FigureKind, Hand};
use patchlay_scenario::Job;
use patchlay_scenario::job::Group;

use crate::terminal::{Lines, padded, to_the_end, visible};
use crate::view::{letters, of_cents};
use crate::words;

/// Seconds that a gain has to come to: no day is kept more exactly than that.
const GAIN: u64 = 60;

/// What a change in the middle of the day means for who pays what.
pub(crate) const MONEY_BY_HAND: &str = "Money is not divided again: what each bag costs stays as on the first sheets of \
                                        the day. Settle by hand what is bought on top and what goes to others than planned.";

/// Bags shown on the terminal; the rest stand on the page.
const BAGS_SHOWN: usize = 15;

/// The rough hour of a time, never minutes: `9 to 10`.
pub(crate) fn hour(group: &Group, seconds: u64) -> String {
    let hour = u64::from(group.starts) * 60 + seconds;
    let hour = hour / 3600;
    let day = hour / 24;
    let on = if day == 0 { String::new() } else { format!(", day {}", day + 1) };
    format!("{} to {}{on}", hour % 24, (hour + 1) % 24)
}

/// The rough hour of a time in a sentence: `9 to 10 o'clock`, `3 to 4 o'clock on day 2`.
pub(crate) fn hour_words(group: &Group, seconds: u64) -> String {
    let hour = hour(group, seconds);
    match hour.split_once(", ") {
        Some((hour, day)) => format!("{hour} o'clock on {day}"),
        None => format!("{hour} o'clock"),
    }
}

/// `large cutter 2`; no number where there is one of them.
pub(crate) fn station(group: &Group, at: &At) -> String {
    let number = group.classes.iter().find(|class| class.name == at.cutter).map_or(1, |class| class.number);
    if number > 1 { format!("{} {}", at.cutter, at.number) } else { at.cutter.clone() }
}

/// `square board B`; no letter where there is one copy.
pub(crate) fn board_copy(job: &Job, group: &Group, board: &str, copy: u32) -> String {
    let at = job.boards.iter().position(|known| known.name == board);
    let copies = at.and_then(|at| group.copies.get(at)).copied().unwrap_or(1);
    if copies > 1 {
        format!("{board} {}", letters(copy.saturating_sub(1) as usize))
    } else {
        board.to_owned()
    }
}

/// The run with this number.
pub(crate) fn run(day: &Day, number: usize) -> Option<&Run> {
    number.checked_sub(1).and_then(|at| day.runs.get(at))
}

/// The board of a lay-up.
pub(crate) fn board<'p>(plan: &'p Plan, layup: &str) -> &'p str {
    plan.layups.iter().find(|known| known.name == layup).map_or("", |known| known.board.as_str())
}

/// `L3, passes 7 to 12` or `L3, all 4 passes`.
pub(crate) fn run_words(plan: &Plan, run: &Run) -> String {
    let all = plan.layups.iter().find(|layup| layup.name == run.layup).map_or(0, |layup| layup.passes.len());
    if run.passes == all as u64 {
        return match all {
            1 => format!("{}, its one pass", run.layup),
            _ => format!("{}, all {all} passes", run.layup),
        };
    }
    match run.passes {
        1 => format!("{}, pass {}", run.layup, run.first),
        _ => format!("{}, passes {} to {}", run.layup, run.first, run.first + run.passes - 1),
    }
}

/// Strips between two squarings.
const BEFORE_SQUARING: usize = 5;

/// For every batch, before each of its strips, whether the end of the cloth is squared: for the first time, or again. As
/// the day has it: before the first strip of a fabric and after every five.
pub(crate) fn squarings(day: &Day) -> Vec<Vec<Option<Squaring>>> {
    let mut cut: BTreeMap<String, usize> = BTreeMap::new();
    let squared = |batch: &Batch| {
        let cut = cut.entry(batch.fabric.clone()).or_default();
        let before = *cut..*cut + batch.strips.len();
        *cut = before.end;
        let squaring = |at: usize| match at {
            0 => Some(Squaring::First),
            at => at.is_multiple_of(BEFORE_SQUARING).then_some(Squaring::Again),
        };
        before.map(squaring).collect()
    };
    day.batches.iter().map(squared).collect()
}

/// Squaring the end of a cloth.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Squaring {
    /// Before the first strip.
    First,
    /// After every five strips.
    Again,
}

/// Batches of one fabric, by their numbers, as one task: `Snow B57, B58`; for who cuts them with the squarings, `Snow:
/// square the end (1 in goes), B57, B58; square again (1/4 in goes), B59`.
pub(crate) fn batch_words(
    day: &Day,
    job: &Job,
    numbers: &[usize],
    squared: Option<&[Vec<Option<Squaring>>]>,
) -> String {
    let mut text = String::new();
    for at in numbers.iter().filter_map(|number| number.checked_sub(1)) {
        let Some(batch) = day.batches.get(at) else { continue };
        let squarings = squared.and_then(|squared| squared.get(at));
        for (place, strip) in batch.strips.iter().enumerate() {
            let squaring = squarings.and_then(|squarings| squarings.get(place).copied().flatten());
            let square =
                squaring.map_or_else(String::new, |squaring| square_words(day, job, &batch.fabric, squaring));
            let before = match (text.is_empty(), square.is_empty()) {
                (true, true) => format!("{} ", batch.fabric),
                (true, false) => format!("{}: ", batch.fabric),
                (false, true) => ", ".to_owned(),
                (false, false) => "; ".to_owned(),
            };
            text.push_str(&format!("{before}{square}{strip}"));
        }
    }
    text
}

/// `square again (1/4 in goes), `; nothing where nothing goes.
fn square_words(day: &Day, job: &Job, fabric: &str, squaring: Squaring) -> String {
    let known = job.fabrics.iter().find(|known| known.name == fabric);
    let (what, length) = match squaring {
        Squaring::First => ("square the end", known.map(|known| known.squaring)),
        Squaring::Again => ("square again", known.map(|known| known.resquaring)),
    };
    match length.filter(|length| length.is_positive()) {
        None => String::new(),
        // How much goes off a bolt that was cut from before is not known.
        Some(_) if day.rest.is_some() && squaring == Squaring::First => format!("{what}, "),
        Some(length) => format!("{what} ({} goes), ", length.show(job.units)),
    }
}

/// Every cutter of the group, and whether it is used.
pub(crate) fn stations(group: &Group, schedule: &Schedule) -> Vec<(String, bool)> {
    let class = |class: &patchlay_scenario::job::group::CutterClass| {
        let at = |number| At { cutter: class.name.clone(), number, copy: 1 };
        (1..=class.number).map(at).collect::<Vec<_>>()
    };
    let used = |at: &At| {
        cranked(schedule).any(|(_, used, _)| (&used.cutter, used.number) == (&at.cutter, at.number))
    };
    group.classes.iter().flat_map(class).map(|at| (station(group, &at), used(&at))).collect()
}

/// Who has nothing to do, and which cutters nobody uses; nothing where there is none.
fn unused(group: &Group, schedule: &Schedule) -> Option<String> {
    let busy: BTreeSet<&str> = schedule.tasks.iter().map(|task| task.helper.as_str()).collect();
    let idle = group.helpers.iter().filter(|helper| !busy.contains(helper.name.as_str()));
    let idle: Vec<String> = idle.map(|helper| helper.name.clone()).collect();
    let still = stations(group, schedule).into_iter().filter(|(_, used)| !used);
    let still: Vec<String> = still.map(|(name, _)| format!("the {name}")).collect();
    let have = if idle.len() == 1 { "has" } else { "have" };
    let are = if still.len() == 1 { "is" } else { "are" };
    let said = [
        (!idle.is_empty()).then(|| format!("{} {have} nothing to do", words::list(&idle))),
        (!still.is_empty()).then(|| format!("{} {are} not used", words::list(&still))),
    ];
    let mut said = said.into_iter().flatten().collect::<Vec<_>>().join("; ");
    if let Some(first) = said.get_mut(..1) {
        first.make_ascii_uppercase();
    }
    (!said.is_empty()).then(|| format!("{said}."))
}

/// What a task is on, in words.
pub(crate) fn on_words(plan: &Plan, day: &Day, task: &Task) -> String {
    match &task.on {
        On::Batch(number) => match number.checked_sub(1).and_then(|at| day.batches.get(at)) {
            Some(batch) => format!("{} {}", batch.fabric, batch.strips.join(", ")),
            None => String::new(),
        },
        On::Run(number) => run(day, *number)
            .map_or_else(String::new, |run| format!("run {number}: {}", run_words(plan, run))),
        On::Bag(number) => bag_name(day, *number),
    }
}

/// `bag 7, quilt 3`.
pub(crate) fn bag_name(day: &Day, number: usize) -> String {
    let name = number.checked_sub(1).and_then(|at| day.bags.get(at)).map_or("", |bag| bag.name.as_str());
    format!("bag {number}, {name}")
}

/// A kind of patch: `Navy square 4`.
pub(crate) fn patch(fabric: &str, shape: &str, hand: Hand) -> String {
    let hand = match hand {
        Hand::Any => "",
        Hand::Drawn => ", as drawn",
        Hand::Mirrored => ", mirror image",
    };
    format!("{fabric} {shape}{hand}")
}

/// Cents with the currency sign.
pub(crate) fn cents(job: &Job, cents: i64) -> String {
    of_cents(cents).show(&visible(&job.currency))
}

/// What a kind of work is called on sheets.
pub(crate) fn work_words(work: Work) -> &'static str {
    match work {
        Work::Press => "press",
        Work::Strips => "square, and cut strips",
        Work::Fold => "cut lengths, fold, and fill trays",
        Work::Crank => "crank",
        Work::LiftOut => "count, and sort into bags",
        Work::CheckBags => "check bags",
    }
}

/// A board that goes from one station to another.
pub(crate) struct HandOver {
    pub(crate) board: String,
    pub(crate) from: String,
    pub(crate) to: String,
    pub(crate) hour: String,
    /// Run after which it is free, and run for which it is needed.
    pub(crate) runs: (usize, usize),
}

/// Boards that change stations, in order.
pub(crate) fn hand_overs(plan: &Plan, day: &Day, job: &Job, group: &Group) -> Vec<HandOver> {
    let Some(schedule) = &day.schedule else { return Vec::new() };
    let mut last: Vec<(String, u32, &At, usize)> = Vec::new();
    let mut all = Vec::new();
    for (task, at, number) in cranked(schedule) {
        let Some(run) = run(day, number) else { continue };
        let board = board(plan, &run.layup).to_owned();
        match last.iter_mut().find(|(name, copy, ..)| *name == board && *copy == at.copy) {
            Some(known) => {
                if (&known.2.cutter, known.2.number) != (&at.cutter, at.number) {
                    all.push(HandOver {
                        board: board_copy(job, group, &board, at.copy),
                        from: station(group, known.2),
                        to: station(group, at),
                        hour: hour_words(group, task.start),
                        runs: (known.3, number),
                    });
                }
                (known.2, known.3) = (at, number);
            }
            None => last.push((board, at.copy, at, number)),
        }
    }
    all
}

/// Numbers of the runs for which the board is on already: it was on no other station since, and nothing else was on
/// theirs.
pub(crate) fn staying(plan: &Plan, day: &Day) -> BTreeSet<usize> {
    let Some(schedule) = &day.schedule else { return BTreeSet::new() };
    let mut on_station: BTreeMap<(&str, u32), usize> = BTreeMap::new();
    let mut of_copy: BTreeMap<(&str, u32), usize> = BTreeMap::new();
    let mut all = BTreeSet::new();
    for (_, at, number) in cranked(schedule) {
        let Some(run) = run(day, number) else { continue };
        let before = on_station.insert((&at.cutter, at.number), number);
        let same = of_copy.insert((board(plan, &run.layup), at.copy), number);
        if before.is_some() && before == same {
            all.insert(number);
        }
    }
    all
}

/// Tasks at the stations, with the number of the run, by their start.
pub(crate) fn cranked(schedule: &Schedule) -> impl Iterator<Item = (&Task, &At, usize)> {
    schedule.tasks.iter().filter_map(|task| match (&task.at, &task.on) {
        (Some(at), On::Run(number)) => Some((task, at, *number)),
        _ => None,
    })
}

/// The day in sentences: bags, order, finish, what one more of something saves, what cutting together saves.
pub(crate) fn sentences(day: &Day, job: &Job) -> Vec<String> {
    let Some(group) = &job.group else { return Vec::new() };
    let figures = &day.figures;
    let mut said = Vec::new();
    if day.rest.is_some() {
        said.push(format!(
            "This is the rest of the day, from {}:{:02} on, with those who are there and what is whole. It takes the place \
             of all day sheets before it. What is noted as made counts as sorted; bags that nothing comes to any more are not \
             checked again.",
            group.starts / 60 % 24,
            group.starts % 60
        ));
        said.push(
            "First make the bags what their lists say is there: with what is spoiled, found or not wanted any more, some \
             patches change bags, and a bag that has no list now is emptied. Go by the names of the bags; their numbers may \
             be new."
                .to_owned(),
        );
        let ready = ready(day);
        if !ready.is_empty() {
            said.push(format!("Trays that lie ready and are not filled again: {}.", ready.join("; ")));
        }
        if job.priced {
            said.push(MONEY_BY_HAND.to_owned());
        }
    }
    said.extend([
        format!(
            "{} are filled from {} stacks of like patches in {} parts; any way of sharing them out has at least {}. Sorting \
             takes {} by the standard time.",
            words::count(day.bags.len(), "bag", "bags"),
            figures.lots,
            figures.parts,
            figures.parts_at_least,
            words::time(figures.sorting_seconds)
        ),
        match figures.open_at_least == figures.most_open {
            true => format!(
                "At most {} bags are open at a time, which no other order of these runs betters.",
                figures.most_open
            ),
            false => format!(
                "At most {} bags are open at a time; no order of these runs has fewer than {}.",
                figures.most_open, figures.open_at_least
            ),
        },
    ]);
    if figures.urgent_after > 0 {
        said.push(format!(
            "The urgent bags are full after {} of {} runs.",
            figures.urgent_after,
            day.runs.len()
        ));
    }
    said.push(format!("Boards are put on {}.", words::count(figures.board_changes, "time", "times")));
    if let Some(schedule) = &day.schedule {
        said.extend(unused(group, schedule));
        let (finish_at, bound) = (schedule.finish, schedule.finish_at_least);
        let proved = if finish_at == bound {
            "No schedule of these runs ends sooner.".to_owned()
        } else {
            let over = u128::from(finish_at - bound) * 1000 / u128::from(bound.max(1));
            format!(
                "No schedule of these runs can end sooner than {} after the start, for lack of {}; this one takes {}.{} % longer.",
                words::time(bound),
                schedule.held_by,
                over / 10,
                over % 10
            )
        };
        said.push(format!(
            "The last bag is checked between {}, {} after the start, {} % slack included. {proved}",
            hour_words(group, finish_at.saturating_sub(1)).replacen(" to ", " and ", 1),
            words::time(finish_at),
            group.slack_percent
        ));
        let mut more: Vec<&patchlay_plan::day::OneMore> =
            schedule.one_more.iter().filter(|more| more.finish + GAIN <= finish_at).collect();
        more.sort_by_key(|more| more.finish);
        for more in more.iter().take(6) {
            said.push(format!(
                "With {} it would end {} sooner.",
                more.what,
                words::time(finish_at - more.finish)
            ));
        }
        let none: Vec<String> = schedule
            .one_more
            .iter()
            .filter(|more| more.finish + GAIN > finish_at)
            .map(|more| more.what.clone())
            .collect();
        if !none.is_empty() {
            said.push(format!("No gain of a minute was found from {}.", words::list(&none)));
        }
    }
    said.extend(together(day, job));
    said
}

/// Runs of the rest of a day whose trays were filled before it, in words.
fn ready(day: &Day) -> Vec<String> {
    let Some(schedule) = &day.schedule else { return Vec::new() };
    let filled: BTreeSet<usize> = schedule
        .tasks
        .iter()
        .filter_map(|task| match (task.work, &task.on) {
            (Work::Fold, On::Run(number)) => Some(*number),
            _ => None,
        })
        .collect();
    let numbered = day.runs.iter().enumerate().map(|(at, run)| (at + 1, run));
    let ready = numbered.filter(|(number, _)| !filled.contains(number));
    ready
        .map(|(number, run)| match run.passes {
            1 => format!("run {number} ({}, pass {})", run.layup, run.first),
            _ => {
                let last = run.first + run.passes - 1;
                format!("run {number} ({}, passes {} to {last})", run.layup, run.first)
            }
        })
        .collect()
}

/// What cutting together saves.
fn together(day: &Day, job: &Job) -> Option<String> {
    let alone = day.alone.as_ref()?;
    let figure = |kind: FigureKind| alone.figures.iter().find(|saving| saving.figure == kind);
    let number = |text: &str| text.parse::<i128>().unwrap_or(0);
    let mut said = Vec::new();
    if job.priced
        && let Some(money) = figure(FigureKind::Money)
    {
        let show =
            |text: &str| patchlay_measure::Money::from_units(number(text)).show(&visible(&job.currency));
        said.push(format!("cloth for {} instead of {}", show(&money.together), show(&money.alone)));
    }
    if let Some(passes) = figure(FigureKind::Passes) {
        said.push(format!("{} passes instead of {}", passes.together, passes.alone));
    }
    if let Some(seconds) = figure(FigureKind::Seconds) {
        let time = |text: &str| words::time(text.parse().unwrap_or(0));
        said.push(format!(
            "{} of standard time instead of {}",
            time(&seconds.together),
            time(&seconds.alone)
        ));
    }
    Some(format!(
        "Cut together rather than each of the {} alone, every one with its own purchases: {}.",
        words::count(alone.quilts, "quilt", "quilts"),
        words::list(&said)
    ))
}

/// The day on the terminal, at most 100 columns wide.
#[must_use]
pub fn day_terminal(day: &Day, job: &Job) -> String {
    let mut out = Lines::default();
    let what = if day.rest.is_some() { "The rest of the day" } else { "The day" };
    out.push(&format!("{what}, number {}", day.number));
    sentences(day, job).iter().for_each(|text| out.point(text));
    out.push("");
    out.push(&format!("  {}{}{}", padded("Bags", 44, 43), to_the_end("patches", 10), to_the_end("spare", 8)));
    for (at, bag) in day.bags.iter().enumerate().take(BAGS_SHOWN) {
        let needed: u64 = bag.lines.iter().map(|line| line.needed).sum();
        let spare: u64 = bag.lines.iter().map(|line| line.spare).sum();
        let urgent = if bag.urgent { ", urgent" } else { "" };
        let name = visible(&format!("{} {}{urgent}", at + 1, bag.name));
        let cost = match &day.money {
            Some(money) => {
                money.bags.get(at).map_or_else(String::new, |paid| to_the_end(&cents(job, *paid), 12))
            }
            None => String::new(),
        };
        out.push(&format!(
            "  {}{}{}{cost}",
            padded(&name, 44, 43),
            to_the_end(&needed.to_string(), 10),
            to_the_end(&spare.to_string(), 8)
        ));
    }
    if day.bags.len() > BAGS_SHOWN {
        out.push(&format!("  and {} more: every one has its list on the page", day.bags.len() - BAGS_SHOWN));
    }
    out.text
}
