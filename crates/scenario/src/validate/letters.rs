//! Letters and colours of fabrics.

use std::collections::BTreeSet;

use super::judge::Judge;
use crate::path::Path;
use crate::problem::Code;
use crate::spec;

/// Colours of fabrics that state none; only for pictures.
const COLOURS: [&str; 12] = [
    "#2f4b7c", "#d8a03d", "#7a9e7e", "#b5533c", "#8e6c8a", "#c9c2b0", "#4f8a8b", "#9c8b5a", "#d98e8e",
    "#5d5d5d", "#a3b8cc", "#6b4f3a",
];

/// The letter of every fabric: as stated, else A, B, C … AA leaving out the stated ones.
pub(crate) fn letters(
    judge: &mut Judge<'_, '_>,
    list: &Path,
    fabrics: &[spec::Fabric],
) -> Vec<Option<String>> {
    let mut taken = BTreeSet::new();
    let mut letters = Vec::new();
    for (at, fabric) in fabrics.iter().enumerate() {
        let path = list.element(at).field("letter");
        let Some(letter) = &fabric.letter else {
            letters.push(None);
            continue;
        };
        let short = (1..=3).contains(&letter.chars().count());
        if !short || !letter.chars().all(char::is_alphanumeric) {
            let hint = "give one to three letters or digits, or leave it out";
            judge.report.add(Code::BadLetter, &path, "this cannot stand on a tag", hint);
        } else if !taken.insert(letter.to_uppercase()) {
            let hint = "give each fabric its own letter, or leave the letters out";
            judge.report.add(
                Code::DuplicateLetter,
                &path,
                format!("another fabric has the letter {letter}"),
                hint,
            );
        }
        letters.push(Some(letter.clone()));
    }
    let mut free = (0_usize..).map(lettered).filter(|letter| !taken.contains(letter));
    let filled = letters.into_iter().map(|letter| letter.or_else(|| free.next()));
    filled.collect()
}

/// A, B, … Z, AA, AB, …
fn lettered(mut index: usize) -> String {
    let mut letters = Vec::new();
    loop {
        letters.push(char::from(b'A' + u8::try_from(index % 26).unwrap_or(0)));
        if index < 26 {
            break;
        }
        index = index / 26 - 1;
    }
    letters.iter().rev().collect()
}

/// A colour as `#rrggbb`.
pub(crate) fn colour_of(
    judge: &mut Judge<'_, '_>,
    path: &Path,
    stated: Option<&str>,
    at: usize,
) -> Option<String> {
    if !judge.report.readable(path) {
        return None;
    }
    let Some(stated) = stated else {
        return Some(COLOURS[at % COLOURS.len()].to_owned());
    };
    let hex = stated.strip_prefix('#').unwrap_or_default();
    if hex.len() == 6 && hex.bytes().all(|byte| byte.is_ascii_hexdigit()) {
        return Some(stated.to_ascii_lowercase());
    }
    let hint = "write it like \"#1f3a5f\", or leave it out";
    judge.report.add(Code::BadColour, path, "this is not a colour", hint);
    None
}

#[cfg(test)]
mod tests {
    use super::lettered;

    #[test]
    fn letters_go_on_after_z() {
        assert_eq!([0, 25, 26, 51, 52, 701, 702].map(lettered), ["A", "Z", "AA", "AZ", "BA", "ZZ", "AAA"]);
    }
}
