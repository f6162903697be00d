//! What one pass of a lay-up yields, position by position.

use std::collections::BTreeMap;

use patchlay_plan::Face;

use super::Case;
use crate::demand::Key;
use crate::facts::Facts;
use crate::supply::{Load, Loaded};

/// Patches by position and kind of one pass; kinds that nobody wants included.
pub(super) fn of_pass(facts: &Facts, layup: &Loaded<'_>) -> BTreeMap<(usize, Key), u64> {
    let board = &facts.boards[layup.board];
    let mut sums: BTreeMap<(usize, Key), u64> = BTreeMap::new();
    for load in &layup.loads {
        for &at in &board.bays[load.bay].positions {
            let position = &board.positions[at];
            for &(fabric, group) in &load.groups {
                let handed = facts.shapes[position.shape].shape.handed() && !facts.fabrics[fabric].reversible;
                for (face, plies) in Load::faces(group) {
                    // Cloth that lies face down comes out as the mirror image.
                    let (drawn, mirrored) = match face {
                        Face::Up => (position.drawn, position.mirrored),
                        Face::Down => (position.mirrored, position.drawn),
                    };
                    let hands = if handed { [1, 2] } else { [0, 0] };
                    for (hand, each) in hands.into_iter().zip([drawn, mirrored]) {
                        let sum = sums.entry((at, (fabric, position.shape, hand))).or_default();
                        *sum = sum.saturating_add(plies.saturating_mul(each.into()));
                    }
                }
            }
        }
    }
    sums.retain(|_, patches| *patches > 0);
    sums
}

/// Patches by kind that are there when the day begins, and of all passes that are to be made.
pub(super) fn of_all(case: &Case<'_>) -> BTreeMap<Key, u64> {
    let mut sums: BTreeMap<Key, u64> = case.rest.map(|rest| rest.good.clone()).unwrap_or_default();
    for (at, layup) in case.layups.iter().enumerate() {
        let passes = case.rest.map_or(layup.passes, |rest| rest.passes_of(at));
        for ((_, kind), patches) in of_pass(case.facts, layup) {
            let sum = sums.entry(kind).or_default();
            *sum = sum.saturating_add(patches.saturating_mul(passes));
        }
    }
    sums.retain(|_, patches| *patches > 0);
    sums
}

#[cfg(test)]
mod tests {
    use super::*;
    use patchlay_plan::{Group, LayUp, Way};

    fn yields(reversible: bool) -> Vec<((usize, Key), u64)> {
        let text = include_str!("../../../../tests/damage/good/spires.json");
        let mut scenario: serde_json::Value = serde_json::from_str(text).unwrap();
        scenario["fabrics"][0]["reversible"] = reversible.into();
        let (facts, _) = Facts::read(&scenario.to_string()).unwrap();
        let group = Group { fabric: "Slate".to_owned(), plies: 3, first_face: Face::Down, way: Way::Along };
        let plan = LayUp {
            name: "L1".to_owned(),
            board: "spires".to_owned(),
            mats: Vec::new(),
            bays: Vec::new(),
            passes: Vec::new(),
            serves: Vec::new(),
        };
        let bay = facts.boards[0].bay_of(&[1, 2]).unwrap();
        let loads = vec![Load { bay, groups: vec![(0, &group)] }];
        let layup = Loaded { plan: &plan, board: 0, loads, passes: 1 };
        of_pass(&facts, &layup).into_iter().collect()
    }

    #[test]
    fn every_position_is_counted_and_plies_face_down_yield_mirror_images() {
        // Two plies face down and one face up. The second position cuts two as drawn, the third two mirrored.
        let (drawn, mirrored) = ((0, 0, 1), (0, 0, 2));
        let wanted = [((1, drawn), 2), ((1, mirrored), 4), ((2, drawn), 4), ((2, mirrored), 2)];
        assert_eq!(yields(false), wanted);
        assert_eq!(yields(true), [((1, (0, 0, 0)), 6), ((2, (0, 0, 0)), 6)]);
    }
}
