//! Labels for the bags, one for inside and one for outside, on the label sheets that the group has.

use maud::{DOCTYPE, Markup, html};
use patchlay_measure::Length;
use patchlay_plan::day::{Bag, Day};
use patchlay_scenario::Job;
use patchlay_scenario::job::group::Labels;

use crate::fit::{self, Tenths, Type};
use crate::page::Paper;
use crate::svg::board::float;
use crate::svg::num;
use crate::words;

/// The labels as an HTML file of their own: its pages are label sheets, nothing else fits on them. `None` if the
/// scenario describes no label sheets.
#[must_use]
pub fn labels_page(day: &Day, job: &Job, paper: Paper) -> Option<String> {
    let labels = job.group.as_ref()?.labels?;
    let each = usize::try_from(labels.rows * labels.columns).unwrap_or(1).max(1);
    let all: Vec<(usize, &Bag, &str)> = day
        .bags
        .iter()
        .enumerate()
        .flat_map(|(at, bag)| [(at + 1, bag, "inside"), (at + 1, bag, "outside")])
        .collect();
    let (name, wide, high) = match paper {
        Paper::Letter => ("letter", 215.9, 279.4),
        Paper::A4 => ("A4", 210.0, 297.0),
    };
    let style = format!(
        "*{{box-sizing:border-box;margin:0;padding:0}}body{{font-family:Arial,Helvetica,'Liberation Sans',sans-serif;\
         color:#000}}@page{{size:{name};margin:0}}.sheet{{position:relative;width:{wide}mm;height:{high}mm;\
         overflow:hidden}}@media print{{.sheet{{break-after:page}}.sheet:last-child{{break-after:auto}}}}\
         @media screen{{body{{background:#ddd}}.sheet{{background:#fff;margin:5mm auto}}.label{{outline:.2mm dashed \
         #999}}}}.label{{position:absolute;overflow:hidden;padding:1.5mm 2mm;display:flex;flex-direction:column;\
         justify-content:center;line-height:1.15;white-space:nowrap}}"
    );
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                title { (job.name) " · labels of day " (day.number) }
                style { (maud::PreEscaped(style)) }
            }
            body {
                @for sheet in all.chunks(each) {
                    section.sheet {
                        @for (at, (number, bag, side)) in sheet.iter().enumerate() {
                            (label(day, &labels, (wide, high), at, (*number, bag, side)))
                        }
                    }
                }
            }
        }
    };
    Some(page.into_string())
}

fn label(
    day: &Day,
    labels: &Labels,
    page: (f64, f64),
    at: usize,
    (number, bag, side): (usize, &Bag, &str),
) -> Markup {
    let mm = |length: Length| float(length) * 25.4 / 8128.0;
    let (width, height) = (mm(labels.width), mm(labels.height));
    let (across, down) = (mm(labels.gap_across), mm(labels.gap_down));
    let all =
        |count: u32, size: f64, gap: f64| f64::from(count) * size + f64::from(count.saturating_sub(1)) * gap;
    let left = labels.left.map_or_else(|| (page.0 - all(labels.columns, width, across)) / 2.0, mm);
    let top = labels.top.map_or_else(|| (page.1 - all(labels.rows, height, down)) / 2.0, mm);
    let columns = usize::try_from(labels.columns).unwrap_or(1).max(1);
    let x = left + (at % columns) as f64 * (width + across);
    let y = top + (at / columns) as f64 * (height + down);
    let lines = lines(day, (number, bag, side), (width - PADDING.0, height - PADDING.1));
    let place = format!("left:{}mm;top:{}mm;width:{}mm;height:{}mm", num(x), num(y), num(width), num(height));
    html! {
        div.label style=(place) {
            @for line in &lines {
                div style={"font-size:" (num(line.size)) "mm" (if line.bold { ";font-weight:bold" } else { "" })} {
                    (line.text)
                }
            }
        }
    }
}

/// Space inside a label, both sides together: across and down, millimetres.
const PADDING: (f64, f64) = (4.0, 3.0);
/// Height of a line in type sizes.
const LINE: f64 = 1.15;
/// Smallest type, millimetres; only what does not fit even so is cut.
const SMALLEST: f64 = 1.7;

/// A line of a label with its type size in millimetres.
struct Line {
    text: String,
    size: f64,
    bold: bool,
}

/// What stands on a label: in type as large as all of it allows, on as many lines as that takes, so that whatever tells
/// two bags apart can be read.
fn lines(day: &Day, (number, bag, side): (usize, &Bag, &str), (wide, high): (f64, f64)) -> Vec<Line> {
    let patches: u64 = bag.lines.iter().map(|line| line.needed + line.spare).sum();
    let urgent = if bag.urgent { ", urgent" } else { "" };
    let destination = if bag.destination == bag.name { "" } else { &bag.destination };
    let foot = format!("{} · day {} · {side}", words::count(patches, "patch", "patches"), day.number);
    let (large, small) = ((high / 4.2).clamp(2.2, 8.0), (high / 7.0).clamp(SMALLEST, 4.5));
    let laid = |shrunk: f64, name: &str, destination: &str| {
        let title = (large * shrunk).max(SMALLEST);
        let rest = (small * shrunk.max(0.75)).max(SMALLEST).min(title);
        let mut lines = wrapped(&format!("Bag {number}{urgent}: {name}"), title, true, wide);
        if !destination.is_empty() {
            lines.extend(wrapped(&format!("for {destination}"), rest, false, wide));
        }
        lines.extend(wrapped(&foot, rest, false, wide));
        lines
    };
    let fits = |lines: &[Line]| lines.iter().map(|line| line.size * LINE).sum::<f64>() <= high;
    let sizes = (4..=20).rev().map(|part| f64::from(part) / 20.0);
    for shrunk in sizes {
        let lines = laid(shrunk, &bag.name, destination);
        if fits(&lines) {
            return lines;
        }
    }
    // Of what is too long even in the smallest type the middle goes: names of like bags differ at their ends.
    let mut most = bag.name.chars().count().max(destination.chars().count());
    loop {
        most = most * 9 / 10;
        let lines = laid(0.0, &without_middle(&bag.name, most), &without_middle(destination, most));
        if fits(&lines) || most < 3 {
            return lines;
        }
    }
}

/// At most so many letters, the middle left out.
fn without_middle(text: &str, most: usize) -> String {
    let letters: Vec<char> = text.chars().collect();
    if letters.len() <= most {
        return text.to_owned();
    }
    let half = most.saturating_sub(1) / 2;
    let (first, last) = (&letters[..half], &letters[letters.len() - half..]);
    format!("{}…{}", first.iter().collect::<String>(), last.iter().collect::<String>())
}

fn wrapped(text: &str, size: f64, bold: bool, wide: f64) -> Vec<Line> {
    // A tenth of a point is 25.4 / 720 mm.
    let points = (size * 720.0 / 25.4).ceil() as u32;
    let face = Type { class: "", points, line: 0, bold };
    let lines = fit::wrap(text, face, (wide * 10.0).floor().max(0.0) as Tenths);
    lines.into_iter().map(|text| Line { text, size, bold }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bag(name: &str, destination: &str, urgent: bool) -> Bag {
        let line = patchlay_plan::day::BagLine {
            fabric: "Navy".into(),
            shape: "square".into(),
            hand: patchlay_plan::Hand::Any,
            needed: 12,
            spare: 0,
            there: 0,
        };
        Bag { name: name.into(), destination: destination.into(), urgent, lines: vec![line] }
    }

    fn day() -> Day {
        let text = r#"{"patchlay_day":1,"plan":"1","number":"12ab-34cd","bags":[],"lots":[],"batches":[],"runs":[],
            "figures":{"lots":0,"parts":0,"parts_at_least":0,"sorting_seconds":0,"most_open":0,"open_at_least":0,
            "urgent_after":0,"board_changes":0},"schedule":null,"money":null}"#;
        Day::from_json(text).unwrap()
    }

    fn said(lines: &[Line]) -> String {
        lines.iter().map(|line| line.text.as_str()).collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn what_tells_bags_apart_is_whole_and_inside_the_label() {
        // A label of 2 5/8 x 1 in, as the demos have it.
        let room = (66.7 - PADDING.0, 25.4 - PADDING.1);
        let bag = bag(
            "quilt 6 of the long winter, Broken Dishes with a wide frame, block 30",
            "the ferry group",
            true,
        );
        let lines = lines(&day(), (166, &bag, "inside"), room);
        assert_eq!(
            said(&lines),
            "Bag 166, urgent: quilt 6 of the long winter, Broken Dishes with a wide frame, block 30 for the ferry group \
             12 patches · day 12ab-34cd · inside"
        );
        assert!(lines.iter().map(|line| line.size * LINE).sum::<f64>() <= room.1);
        assert!(lines.iter().all(|line| line.size >= SMALLEST));
    }

    #[test]
    fn a_short_name_is_printed_large() {
        let lines = lines(&day(), (3, &bag("quilt 3", "", false), "outside"), (62.7, 22.4));
        assert_eq!(lines.len(), 2);
        assert!(lines[0].bold && lines[0].size > 5.0);
    }

    #[test]
    fn of_what_does_not_fit_at_all_both_ends_stay() {
        let long = format!("quilt 6, {} block 30", "wonderful ".repeat(40));
        let text = said(&lines(&day(), (7, &bag(&long, "", false), "inside"), (30.0, 10.0)));
        assert!(
            text.starts_with("Bag 7: quilt 6, w") && text.contains('…') && text.contains(" block 30 "),
            "{text}"
        );
    }
}
