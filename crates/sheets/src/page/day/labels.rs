//! Labels for the bags, one for inside and one for outside, on the label sheets that the group has.

use maud::{DOCTYPE, Markup, html};
use patchlay_measure::Length;
use patchlay_plan::day::{Bag, Day};
use patchlay_scenario::Job;
use patchlay_scenario::job::group::Labels;

use crate::page::Paper;
use crate::svg::board::float;
use crate::svg::num;

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
    let large = (height / 5.2).clamp(2.2, 8.0);
    let small = (height / 8.5).clamp(1.7, 4.5);
    let fits = |size: f64| ((width - 4.0) / (size * 0.56)).max(4.0) as usize;
    let cut = |text: &str, size: f64| crate::fit::shorten_by(text, |text| text.chars().count() <= fits(size));
    let patches: u64 = bag.lines.iter().map(|line| line.needed + line.spare).sum();
    let place = format!("left:{}mm;top:{}mm;width:{}mm;height:{}mm", num(x), num(y), num(width), num(height));
    html! {
        div.label style=(place) {
            div style={"font-weight:bold;font-size:" (num(large)) "mm"} { (cut(&format!("Bag {number}: {}", bag.name), large)) }
            @if !bag.destination.is_empty() && bag.destination != bag.name {
                div style={"font-size:" (num(small)) "mm"} { (cut(&format!("for {}", bag.destination), small)) }
            }
            div style={"font-size:" (num(small)) "mm"} {
                (cut(&format!("{patches} patches · day {} · {side}", day.number), small))
            }
        }
    }
}
