//! The pages of a group's day: what stands on them, planned for a plan that is filled by hand.

mod common;

use std::sync::OnceLock;

use common::html::{Html, read};
use patchlay_group::{Options, plan_day};
use patchlay_plan::Plan;
use patchlay_plan::day::{Day, On, Work};
use patchlay_scenario::Job;
use patchlay_sheets::{Paper, csv_shopping, day_page, day_terminal, labels_page};

fn group() -> &'static (Job, Plan, Day) {
    static DAY: OnceLock<(Job, Plan, Day)> = OnceLock::new();
    DAY.get_or_init(|| {
        let job = common::demo("twelve-lap-quilts");
        let plan = common::plan(&job);
        let day = day_of(&job, &plan);
        (job, plan, day)
    })
}

fn day_of(job: &Job, plan: &Plan) -> Day {
    let options = Options { seed: 1, effort: 1, one_more: false, threads: None, stop: &|| false };
    plan_day(job, plan, &options).expect("a day")
}

fn made(plan: &Plan, day: &Day, job: &Job) -> Html {
    let text = day_page(plan, day, job, Paper::Letter).expect("a page");
    assert!(!text.contains("overfull"), "a block is higher than a sheet");
    read(&text)
}

/// What stands under a title, all its sheets together.
fn sheets_of(html: &Html, title: &str) -> String {
    let sheets = html.sheets.iter().filter(|sheet| sheet.contains(title) && !sheet.contains("What is where"));
    sheets.cloned().collect::<Vec<_>>().join(" ")
}

#[test]
fn a_fabric_costs_the_same_on_the_shopping_list_and_on_the_day_page() {
    let (job, plan, _) = group();
    let mut plan = plan.clone();
    // Every fabric costs four tenths of a cent more than whole cents, so that rounding each alone loses cents.
    let cent = patchlay_measure::Money::UNITS_PER_ONE / 100;
    for fabric in &mut plan.fabrics {
        let whole = fabric.money.units() / cent * cent;
        fabric.money = patchlay_measure::Money::from_units(whole + cent * 2 / 5);
    }
    plan.figures.money = plan.fabrics.iter().map(|fabric| fabric.money).sum();
    let day = day_of(job, &plan);
    let money = day.money.as_ref().expect("prices");
    let table = csv_shopping(&plan, job).expect("a table");
    let mut reader = csv::Reader::from_reader(table.as_bytes());
    let prices: Vec<i64> = reader
        .records()
        .map(|row| row.expect("a row")[4].replace(['$', '.'], "").parse().expect("cents"))
        .collect();
    assert_eq!(prices, money.fabrics.iter().map(|fabric| fabric.price).collect::<Vec<_>>());
    assert_eq!(prices.iter().sum::<i64>(), money.total);
}

#[test]
fn the_sheet_for_strips_gives_every_strip_and_every_squaring() {
    let (job, plan, day) = group();
    let html = made(plan, day, job);
    let text = sheets_of(&html, "Day sheet: Square, and cut strips");
    let words: Vec<&str> =
        text.split(|letter: char| letter.is_whitespace() || ",;".contains(letter)).collect();
    for cloth in &plan.fabrics {
        for strip in &cloth.strips {
            assert!(words.contains(&strip.name.as_str()), "{}", strip.name);
        }
    }
    let cut = plan.fabrics.iter().filter(|cloth| !cloth.strips.is_empty());
    assert_eq!(text.matches("square the end (").count(), cut.clone().count());
    // After every five strips, where more come.
    let again: usize = cut.map(|cloth| (cloth.strips.len() - 1) / 5).sum();
    assert_eq!(text.matches("square again (").count(), again);
}

#[test]
fn a_squaring_inside_a_batch_stands_before_its_strip() {
    let (job, plan, day) = group();
    let mut day = day.clone();
    // The first seven strips of a fabric as two batches: the fifth and the sixth, between which it is squared, in one.
    let fabric = day.batches[0].fabric.clone();
    let own = day.batches.iter_mut().filter(|batch| batch.fabric == fabric);
    for (batch, strips) in own.zip([&["Z1", "Z2", "Z3"][..], &["Z4", "Z5", "Z6", "Z7"]]) {
        batch.strips = strips.iter().map(|strip| (*strip).to_owned()).collect();
    }
    let text = made(plan, &day, job).text;
    assert!(text.contains(&format!("{fabric}: square the end (1 in goes), Z1, Z2, Z3")), "{text}");
    assert!(text.contains("Z4, Z5; square again (1/4 in goes), Z6, Z7"), "{text}");
    assert!(text.contains(&format!("{fabric} Z1, Z2, Z3")), "pressing needs no squaring");
}

#[test]
fn the_sheet_for_pressing_names_every_batch_once() {
    let (job, plan, day) = group();
    let text = sheets_of(&made(plan, day, job), "Day sheet: Press");
    let ticks = text.matches('☐').count();
    assert!(ticks > 0 && ticks <= day.batches.len());
    let schedule = day.schedule.as_ref().expect("helpers");
    let batches = schedule.tasks.iter().filter(|task| task.work == Work::Press);
    let strips = batches.filter_map(|task| match task.on {
        On::Batch(number) => Some(day.batches[number - 1].strips.clone()),
        _ => None,
    });
    let words: Vec<&str> = text.split(|letter: char| letter.is_whitespace() || letter == ',').collect();
    for strip in strips.flatten() {
        assert_eq!(words.iter().filter(|word| **word == strip).count(), 1, "{strip}");
    }
}

#[test]
fn sorting_stands_in_two_columns() {
    let (job, plan, day) = group();
    let html = made(plan, day, job);
    let text = sheets_of(&html, "From stacks to bags");
    let (sheets, lines) = (text.matches("From stacks to bags").count(), text.matches(" to bag ").count());
    // Fifty lines stand in a column 238 mm high; the names of runs and lines of two rows take some of that room.
    assert!(sheets > 1 && sheets <= lines.div_ceil(60), "{lines} lines on {sheets} sheets");
    for bag in 1..=day.bags.len() {
        assert!(text.contains(&format!("to bag {bag}")), "{bag}");
    }
}

#[test]
fn without_helpers_the_strips_have_their_order_and_squarings_all_the_same() {
    let (job, plan, _) = group();
    let mut job = job.clone();
    job.group.as_mut().expect("a group").helpers.clear();
    let day = day_of(&job, plan);
    assert!(day.schedule.is_none());
    let text = sheets_of(&made(plan, &day, &job), "Strips, fabric by fabric, in this order");
    assert_eq!(text.matches('☐').count(), day.batches.len());
    assert!(
        text.contains(": square the end (1 in goes), ") && text.contains("square again (1/4 in goes), "),
        "{text}"
    );
}

#[test]
fn who_and_what_is_not_needed_is_named() {
    let (job, plan, day) = group();
    let mut day = day.clone();
    let schedule = day.schedule.as_mut().expect("helpers");
    // Finn's and Gus's work goes to Hana, everything on one cutter: the page shows what it is given.
    for task in &mut schedule.tasks {
        if ["Finn", "Gus"].contains(&task.helper.as_str()) {
            task.helper = "Hana".to_owned();
        }
        if let Some(at) = &mut task.at {
            (at.cutter, at.number) = ("hall cutter".to_owned(), 1);
        }
    }
    let said = "Finn and Gus have nothing to do; the hall cutter 2 and the old cutter are not used.";
    let text = day_terminal(&day, job).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains(said), "{text}");
    let html = made(plan, &day, job);
    assert!(html.text.contains(said));
    let chart = sheets_of(&html, "Cutters: which run when");
    assert!(chart.contains("hall cutter 2") && chart.contains("old cutter"), "{chart}");
    assert_eq!(chart.matches("not used").count(), 2, "{chart}");
}

#[test]
fn columns_of_a_bag_list_are_named_and_spares_stand_alone() {
    let (job, plan, day) = group();
    let mut day = day.clone();
    let last = day.bags.last_mut().expect("bags");
    last.lines.truncate(1);
    (last.lines[0].needed, last.lines[0].spare) = (0, 18);
    let html = made(plan, &day, job);
    let text = sheets_of(&html, "Bag lists");
    let of_last = text.rsplit_once(&format!("Bag {}: ", day.bags.len())).expect("the last list").1;
    let words = of_last.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("patches needed spare ☐"), "{words}");
    assert!(words.contains(" 18 18 patches in all"), "{words}");
}

#[test]
fn an_urgent_bag_says_so_on_its_labels() {
    let (job, _, day) = group();
    let mut day = day.clone();
    day.bags.iter_mut().for_each(|bag| bag.urgent = false);
    day.bags[2].urgent = true;
    let text = labels_page(&day, job, Paper::Letter).expect("labels");
    assert_eq!(text.matches("Bag 3, urgent:").count(), 2);
    assert_eq!(text.matches("urgent").count(), 2);
}
