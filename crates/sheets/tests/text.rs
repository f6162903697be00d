//! The terminal summary and the CSV tables.

mod common;

use patchlay_sheets::{csv_layups, csv_shopping, csv_strips, layup_svg, terminal};

#[test]
fn the_summary_fits_a_hundred_columns() {
    let long =
        |at: usize| format!("Number {at} of a very long row of names 藍色の布地藍色 {}", "W".repeat(20));
    let jobs = [common::demo("queen-churn-dash"), common::job(&common::many_fabrics(60, long))];
    for mut job in jobs {
        job.name.push_str("\u{1b}[31m");
        let text = terminal(&common::plan(&job), &job).unwrap();
        for line in text.lines() {
            assert!(line.chars().count() <= 100, "{line}");
            assert!(!line.contains('\u{1b}'), "a name must not steer the terminal");
        }
    }
}

#[test]
fn the_summary_says_what_a_person_asks_first() {
    let job = common::demo("queen-churn-dash");
    let plan = common::plan(&job);
    let text = terminal(&plan, &job).unwrap();
    for wanted in ["What to buy", "Lay-ups", "What the proof means", "Assumed", "First cut two plies"] {
        assert!(text.contains(wanted), "{wanted}\n{text}");
    }
    let price = plan.figures.money.show("$");
    assert!(text.contains(&price) && text.contains(&plan.number) && text.contains(&job.name));
    for fabric in &plan.fabrics {
        assert!(text.contains(&fabric.bought.show_cloth(job.units)));
    }
}

#[test]
fn lay_ups_that_are_not_shown_are_counted() {
    let job = common::job(&common::many_fabrics(60, |at| format!("N{at}")));
    let plan = common::plan(&job);
    let text = terminal(&plan, &job).unwrap();
    assert!(text.contains(&format!("and {} more", plan.layups.len() - 24)), "{text}");
}

#[test]
fn a_metric_summary_has_no_inches() {
    let job = common::demo("crib-nine-patch-metric");
    let plan = common::plan(&job);
    let all = [
        terminal(&plan, &job).unwrap(),
        csv_shopping(&plan, &job).unwrap(),
        csv_strips(&plan, &job).unwrap(),
        csv_layups(&plan, &job).unwrap(),
    ];
    for text in all {
        assert!(!text.contains("yd") && !text.contains("(in)") && !text.contains("sq in"), "{text}");
        let inches = text.lines().any(|line| {
            line.split_whitespace().zip(line.split_whitespace().skip(1)).any(|(number, unit)| {
                number.ends_with(|letter: char| letter.is_ascii_digit())
                    && unit.trim_end_matches([',', ';', '.']) == "in"
            })
        });
        assert!(!inches, "{text}");
    }
}

fn rows(text: &str) -> Vec<Vec<String>> {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    reader.records().map(|row| row.expect("a row").iter().map(str::to_owned).collect()).collect()
}

#[test]
fn tables_hold_every_fabric_length_and_pass() {
    let job = common::demo("queen-churn-dash");
    let plan = common::plan(&job);
    assert_eq!(rows(&csv_shopping(&plan, &job).unwrap()).len(), job.fabrics.len());
    let strips = rows(&csv_strips(&plan, &job).unwrap());
    assert_eq!(strips.len() as u64, plan.figures.pieces);
    let layups = rows(&csv_layups(&plan, &job).unwrap());
    assert_eq!(layups.len() as u64, plan.figures.pieces);
    let mut cut: Vec<&String> = strips.iter().map(|row| &row[4]).collect();
    let mut used: Vec<&String> = layups.iter().map(|row| &row[8]).collect();
    cut.sort();
    used.sort();
    assert_eq!(cut, used);
}

#[test]
fn the_lines_of_the_shopping_list_add_up_to_its_total() {
    // By hand: four times $10.004 is $40.016, so $40.02; each alone is $10.00, so the two cents go to the first two.
    let mut job = common::job(&common::many_fabrics(4, |at| format!("N{at}")));
    job.priced = true;
    let mut plan = common::plan(&job);
    let each = patchlay_measure::Amount::parse("10.004").unwrap().money();
    plan.fabrics.iter_mut().for_each(|fabric| fabric.money = each);
    plan.figures.money = each * 4;
    let sign = &job.currency;
    let wanted = ["10.01", "10.01", "10.00", "10.00"].map(|price| format!("{sign}{price}"));
    let table = rows(&csv_shopping(&plan, &job).unwrap());
    assert_eq!(table.iter().map(|row| row[4].clone()).collect::<Vec<_>>(), wanted);
    let page = patchlay_sheets::page(&plan, &job, &patchlay_sheets::PageOptions::default()).unwrap();
    for text in [terminal(&plan, &job).unwrap(), page] {
        for price in ["10.00", "10.01"] {
            assert_eq!(text.matches(&format!("{sign}{price}")).count(), 2, "{price}");
        }
        assert!(text.contains(&format!("{sign}40.02")));
    }
    // More than can be divided to the cent is printed all the same.
    let each = patchlay_measure::Money::from_units(patchlay_measure::Money::UNITS_PER_ONE * 50_000_000);
    plan.fabrics.iter_mut().for_each(|fabric| fabric.money = each);
    plan.figures.money = each * 4;
    let table = rows(&csv_shopping(&plan, &job).unwrap());
    assert!(table.iter().all(|row| row[4] == format!("{sign}50000000.00")));
}

#[test]
fn a_name_is_no_formula() {
    let job = common::job(&common::many_fabrics(2, |at| format!("=SUM({at})")));
    let table = rows(&csv_shopping(&common::plan(&job), &job).unwrap());
    assert_eq!(table[0][1], "'=SUM(0)");
}

#[test]
fn what_the_proof_block_needs_is_cut_first_then_the_widest() {
    let job = common::demo("queen-churn-dash");
    let plan = common::plan(&job);
    let table = rows(&csv_strips(&plan, &job).unwrap());
    let cream: Vec<(bool, f64)> = table
        .iter()
        .filter(|row| row[0] == "Cream")
        .map(|row| {
            let width = patchlay_measure::parse_length(&row[2], job.units).unwrap();
            (row[3] == "yes", width.units() as f64)
        })
        .collect();
    let proof = cream.iter().take_while(|row| row.0).count();
    assert!(proof > 0 && cream[proof..].iter().all(|row| !row.0));
    assert!(cream[proof..].is_sorted_by(|a, b| a.1 >= b.1));
}

#[test]
fn a_picture_stands_by_itself() {
    let job = common::demo("queen-churn-dash");
    let plan = common::plan(&job);
    let svg = layup_svg(&plan, &job, 0, false).unwrap();
    assert!(svg.starts_with("<svg xmlns=") && svg.ends_with("</svg>"));
    for wanted in ["<style>", "<pattern id=\"cloth0\"", "this end goes in first", "area A"] {
        assert!(svg.contains(wanted), "{wanted}");
    }
    assert!(layup_svg(&plan, &job, 999, false).is_err());
}
