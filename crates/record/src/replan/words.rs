//! What happened, in words for the sheets.

use patchlay_measure::UnitSystem;
use patchlay_plan::Hand;
use patchlay_plan::record::{Entry, Note, Patches, Spot};
use patchlay_scenario::job::Job;
use patchlay_scenario::spec::{Quilt, Work};

/// What a record changes of the plan; none where all goes as planned.
pub(super) fn change(entry: &Entry, job: &Job) -> Option<String> {
    match &entry.note {
        Note::Passes { fewer, .. } if fewer.is_empty() => None,
        Note::StripsCut { .. } | Note::TrayPrepared { .. } => None,
        note => Some(said(note, job.units)),
    }
}

/// A record in words.
#[must_use]
pub fn said(note: &Note, units: UnitSystem) -> String {
    match note {
        Note::Passes { layup, passes, first, fewer } => {
            let which = first.map(|first| format!(" from pass {first}")).unwrap_or_default();
            let fewer: Vec<String> = fewer
                .iter()
                .map(|fewer| {
                    let group = fewer.group.map(|group| format!(", group {group}")).unwrap_or_default();
                    format!("; area {}{group}: {} only", letter(fewer.area), plies(fewer.plies))
                })
                .collect();
            format!("{layup}: {} made{which}{}", counted(*passes, "pass", "passes"), fewer.concat())
        }
        Note::WrongFabric { spot, instead, used } => {
            let instead = match (used, instead) {
                (Some(used), _) => used.clone(),
                (None, Some(fabric)) => fabric.clone(),
                (None, None) => "a fabric that is none of the plan's".to_owned(),
            };
            format!("{}: {instead} lay there instead", place(spot))
        }
        Note::PliesSpoiled { spot, plies: spoiled } => {
            format!("{}: {} spoiled", place(spot), plies(*spoiled))
        }
        Note::PatchesSpoiled { patches } => format!("{} spoiled", kind(patches)),
        Note::PatchesFound { patches } => format!("{} found", kind(patches)),
        Note::ClothSpoiled { name } => format!("{name}: cloth spoiled before it was cut on a board"),
        Note::BoltShort { fabric, left } => format!("{fabric}: {} left on the bolt", left.show(units)),
        Note::BoltNarrow { fabric, width } => format!("{fabric}: only {} wide", width.show(units)),
        Note::StripsCut { strips } => format!("strips cut: {}", strips.join(" ")),
        Note::TrayPrepared { layup, passes } => {
            format!("{layup}: tray ready for {}", counted(*passes, "pass", "passes"))
        }
        Note::BoardDamaged { board, copies } => damaged(board, *copies),
        Note::MatDamaged { mat, mats } => damaged(mat, *mats),
        Note::PersonHelps { person, can, .. } => {
            let can: Vec<&str> = can.iter().map(|work| does(*work)).collect();
            format!("{person} helps: {}", can.join(", "))
        }
        Note::PersonGone { person } => format!("{person} has gone"),
        Note::QuiltsAdded { fabrics, quilts, .. } => {
            let copies = |quilt: &Quilt| {
                format!("{}, {}", quilt.name, counted(quilt.copies.unwrap_or(1), "copy", "copies"))
            };
            let quilts: Vec<String> = quilts.iter().map(copies).collect();
            let fabrics: Vec<&str> = fabrics.iter().map(|fabric| fabric.name.as_str()).collect();
            let with = match fabrics.is_empty() {
                true => String::new(),
                false => format!(", with fabrics of their own: {}", fabrics.join(", ")),
            };
            format!("quilts added: {}{with}", quilts.join("; "))
        }
        Note::QuiltAdded { quilt } => {
            let copies = quilt.copies.unwrap_or(1);
            format!("quilt added: {}, {}", quilt.name, counted(copies, "copy", "copies"))
        }
        Note::QuiltDropped { quilt, copies: None } => format!("quilt dropped: {quilt}"),
        Note::QuiltDropped { quilt, copies: Some(copies) } => {
            format!("quilt dropped: {quilt}, {}", counted(*copies, "copy", "copies"))
        }
        Note::Undo { record } => format!("record {record} does not count"),
    }
}

/// What a helper does, in words.
fn does(work: Work) -> &'static str {
    match work {
        Work::Press => "press",
        Work::Strips => "cut strips",
        Work::Fold => "fold and fill trays",
        Work::Crank => "crank",
        Work::LiftOut => "count and sort",
        Work::CheckBags => "check bags",
    }
}

fn damaged(what: &str, number: u32) -> String {
    if number == 1 { format!("{what}: damaged") } else { format!("{what}: {number} damaged") }
}

fn place(spot: &Spot) -> String {
    format!("{}, pass {}, area {}, group {}", spot.layup, spot.pass, letter(spot.area), spot.group)
}

fn kind(patches: &Patches) -> String {
    let hand = match patches.hand {
        Hand::Any => "",
        Hand::Drawn => ", as drawn",
        Hand::Mirrored => ", mirror image",
    };
    let count = counted(patches.patches, "patch", "patches");
    format!("{} {}{hand}: {count}", patches.fabric, patches.shape)
}

fn plies(count: u32) -> String {
    counted(count, "ply", "plies")
}

fn counted(count: impl Into<u64>, one: &str, many: &str) -> String {
    match count.into() {
        1 => format!("1 {one}"),
        count => format!("{count} {many}"),
    }
}

/// `A` … `Z`, `AA` …, for 1, 2, …, as on the cards.
#[must_use]
pub fn letter(area: usize) -> String {
    let mut at = area;
    let mut letters = Vec::new();
    while at > 0 {
        at -= 1;
        letters.push(char::from(b'A' + u8::try_from(at % 26).unwrap_or(0)));
        at /= 26;
    }
    letters.iter().rev().collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn areas_are_lettered_as_on_cards() {
        let all: Vec<String> = [1, 2, 26, 27, 52, 53, 702, 703].into_iter().map(letter).collect();
        assert_eq!(all, ["A", "B", "Z", "AA", "AZ", "BA", "ZZ", "AAA"]);
    }
}
