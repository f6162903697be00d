//! Areas and plies as they are typed: `A`, `A.2`, `A.2=1`.

use patchlay_plan::Plan;
use patchlay_plan::record::{Fewer, Spot};
use patchlay_record::replan::letter;

use crate::print;
use crate::report::{Failure, Message, Ours};

fn unreadable(problem: String) -> Failure {
    let hint =
        "areas are lettered on the card, and their groups are numbered from the bottom up: A, A.2, A.2=1";
    Failure::bad(Message::new(Ours::Typed, problem).hint(hint))
}

/// Area and group from 1; the group where it was typed.
fn area(text: &str) -> Option<(usize, Option<usize>)> {
    let (area, group) = match text.split_once('.') {
        Some((area, group)) => (area, Some(group.parse().ok()?)),
        None => (text, None),
    };
    let short =
        !area.is_empty() && area.len() <= 3 && area.bytes().all(|letter| letter.is_ascii_alphabetic());
    let number = area
        .bytes()
        .fold(0, |sum, letter| sum * 26 + usize::from(letter.to_ascii_uppercase().wrapping_sub(b'A')) + 1);
    short.then_some((number, group))
}

/// Fewer plies in an area or group.
pub(super) fn fewer(text: &str) -> Result<Fewer, Failure> {
    let read = || {
        let (place, plies) = text.split_once('=')?;
        let (area, group) = area(place.trim())?;
        Some(Fewer { area, group, plies: plies.trim().parse().ok()? })
    };
    read().ok_or_else(|| unreadable(format!("`{}` is not an area and its plies", print::clean(text))))
}

/// A group in a pass of a lay-up. The group may be left out where the area has only one.
pub(super) fn spot(plan: &Plan, layup: &str, pass: u64, text: &str) -> Result<Spot, Failure> {
    let shown = print::clean(text);
    let (area, group) = area(text.trim()).ok_or_else(|| unreadable(format!("`{shown}` is not an area")))?;
    let load =
        plan.layups.iter().find(|own| own.name == layup).and_then(|own| own.bays.get(area.wrapping_sub(1)));
    let groups = load.map_or(1, |load| load.groups.len());
    if group.is_none() && groups > 1 {
        let letter = letter(area);
        let problem =
            format!("area {letter} of {layup} has {groups} groups: say which, {letter}.1 is the lowest");
        return Err(unreadable(problem));
    }
    Ok(Spot { layup: layup.to_owned(), pass, area, group: group.unwrap_or(1) })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn areas_are_read_as_they_stand_on_cards() {
        assert_eq!(area("A"), Some((1, None)));
        assert_eq!(area("z.3"), Some((26, Some(3))));
        assert_eq!(area("AB"), Some((28, None)));
        for wrong in ["", "1", "A.", "A.x", "ABCD", "A B", "ä"] {
            assert_eq!(area(wrong), None, "{wrong}");
        }
    }

    #[test]
    fn fewer_plies_are_read() {
        assert_eq!(fewer("B=4").unwrap(), Fewer { area: 2, group: None, plies: 4 });
        assert_eq!(fewer("B.2=0").unwrap(), Fewer { area: 2, group: Some(2), plies: 0 });
        for wrong in ["B", "B=", "B=-1", "=4", "B=99999999999"] {
            assert!(fewer(wrong).is_err(), "{wrong}");
        }
    }
}
