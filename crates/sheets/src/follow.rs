//! What changes from one lay-up to the next of the same board, in words.

use patchlay_plan::{BayLoad, Group};

use crate::view::{Area, Laid};
use crate::words;

/// Areas that change up to which it is said what lies in each.
const MOST_SAID: usize = 3;

/// `from L3: area B now Navy 4 folded + White 1, nothing in area D; the rest as before`. `None` after another board.
pub(crate) fn from_before(before: &Laid<'_>, laid: &Laid<'_>) -> Option<String> {
    if before.board.name != laid.board.name {
        return None;
    }
    let load = |laid: &Laid<'_>, area: &Area<'_>| load_of(laid, area).map(|load| load.groups.clone());
    let changed: Vec<&Area<'_>> =
        laid.areas.iter().filter(|area| load(before, area).as_ref() != Some(&area.load.groups)).collect();
    let emptied: Vec<&Area<'_>> = before.areas.iter().filter(|area| load_of(laid, area).is_none()).collect();
    let mut said = Vec::new();
    if changed.len() > MOST_SAID {
        said.push(format!("{} change", areas(&changed)));
    } else {
        said.extend(changed.iter().map(|area| now(area, load(before, area).as_deref())));
    }
    if !emptied.is_empty() {
        said.push(format!("nothing in {}", areas(&emptied)));
    }
    if before.layup.mats != laid.layup.mats {
        said.push("mats otherwise".to_owned());
    }
    let rest =
        if changed.len() < laid.areas.len() { "the rest as before" } else { "nothing stays as it was" };
    Some(format!("from {}: {}; {rest}", before.layup.name, said.join(", ")))
}

fn load_of<'a>(laid: &Laid<'a>, area: &Area<'_>) -> Option<&'a BayLoad> {
    laid.layup.bays.iter().find(|load| load.positions == area.load.positions)
}

fn areas(areas: &[&Area<'_>]) -> String {
    let letters: Vec<String> = areas.iter().map(|area| area.letter.clone()).collect();
    format!("{} {}", if letters.len() == 1 { "area" } else { "areas" }, words::list(&letters))
}

fn now(area: &Area<'_>, before: Option<&[Group]>) -> String {
    let text = brief(&area.load.groups, " folded");
    match before {
        Some(before) if brief(before, " folded") == text => {
            format!("area {} turned or ordered anew", area.letter)
        }
        _ => format!("area {} now {text}", area.letter),
    }
}

/// `Navy 4f + White 1`; like flat cuts are counted together.
pub(crate) fn brief(groups: &[Group], folded: &str) -> String {
    let like = groups.chunk_by(|one, other| one.plies == 1 && one == other);
    let said = like.map(|like| match like[0].plies {
        1 => format!("{} {}", like[0].fabric, like.len()),
        plies => format!("{} {plies}{folded}", like[0].fabric),
    });
    said.collect::<Vec<_>>().join(" + ")
}
