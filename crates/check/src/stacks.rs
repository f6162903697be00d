//! Stacks as exact fractions: at every position, and wherever the cloth of loaded areas overlaps, the plies add up
//! to at most one full stack; areas kept apart are not loaded together.

use std::collections::{BTreeMap, BTreeSet};

use num_rational::BigRational;
use patchlay_shape::board::Rect;

use crate::facts::Facts;
use crate::fault::{FaultCode, Faults};
use crate::geometry::{Board, Step, shared_sets};
use crate::supply::{Load, Loaded};

/// Most steps of all searches for overlaps.
const MOST_STEPS: Step = 20_000_000;

/// What the highest stacks hold, at any point of any board.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Highest {
    pub(crate) plies: u64,
    pub(crate) fabrics: usize,
}

impl Highest {
    fn raise(&mut self, loads: &[&Load<'_>]) {
        let groups = || loads.iter().flat_map(|load| &load.groups);
        self.plies = self.plies.max(groups().map(|(_, group)| u64::from(group.plies)).sum());
        let fabrics: BTreeSet<usize> = groups().map(|(fabric, _)| *fabric).collect();
        self.fabrics = self.fabrics.max(fabrics.len());
    }
}

/// Judges every stack of every lay-up.
pub(crate) fn judge(facts: &Facts, layups: &[Loaded<'_>], faults: &mut Faults) -> Highest {
    let mut highest = Highest::default();
    let mut steps = MOST_STEPS;
    for layup in layups {
        let board = &facts.boards[layup.board];
        let place = format!("lay-up {}", layup.plan.name);
        apart(board, layup, &place, faults);
        let well = positions(facts, board, layup, &place, &mut highest, faults);
        if well && overlaps(facts, board, layup, &place, &mut steps, faults).is_none() {
            faults.add(FaultCode::OutOfRange, place, "more overlaps than can be looked at", "fewer");
        }
    }
    highest
}

/// Whether no stack of a lay-up is too high for a cutter that takes so many plies; none if there are more overlaps than
/// can be looked at. Areas that cover one position share its ground, so overlaps are all the points there are.
pub(crate) fn borne(facts: &Facts, layup: &Loaded<'_>, most: u32) -> Option<bool> {
    let board = &facts.boards[layup.board];
    let cloths: Vec<Rect> = layup.loads.iter().map(|load| board.bays[load.bay].cloth).collect();
    let mut steps = MOST_STEPS;
    let sets = shared_sets(&cloths, &mut steps)?;
    Some(sets.iter().all(|set| {
        let mut plies: BTreeMap<u32, u64> = BTreeMap::new();
        for (limit, count) in plies_by_limit(facts, layup, set.iter().map(|&at| &layup.loads[at])) {
            *plies.entry(limit.min(most)).or_default() += count;
        }
        !too_high(&load_of(&plies))
    }))
}

/// Plies by limit, over some loads.
fn plies_by_limit<'l>(
    facts: &Facts,
    layup: &Loaded<'_>,
    loads: impl Iterator<Item = &'l Load<'l>>,
) -> BTreeMap<u32, u64> {
    let mut plies = BTreeMap::new();
    for (fabric, group) in loads.flat_map(|load| &load.groups) {
        *plies.entry(facts.limit(*fabric, layup.board)).or_default() += u64::from(group.plies);
    }
    plies
}

/// Sum of one over the limit, over all plies: a full stack is 1.
fn load_of(plies: &BTreeMap<u32, u64>) -> BigRational {
    plies.iter().map(|(&limit, &count)| BigRational::new(count.into(), limit.max(1).into())).sum()
}

fn too_high(load: &BigRational) -> bool {
    *load > BigRational::from_integer(1.into())
}

/// Judges every position and raises the highest; whether all is well there.
fn positions(
    facts: &Facts,
    board: &Board,
    layup: &Loaded<'_>,
    place: &str,
    highest: &mut Highest,
    faults: &mut Faults,
) -> bool {
    let mut at: BTreeMap<usize, Vec<&Load<'_>>> = BTreeMap::new();
    for load in &layup.loads {
        board.bays[load.bay]
            .positions
            .iter()
            .for_each(|position| at.entry(*position).or_default().push(load));
    }
    let mut well = true;
    for (position, loads) in at {
        let plies = plies_by_limit(facts, layup, loads.iter().copied());
        let load = load_of(&plies);
        if too_high(&load) {
            well = false;
            let place = format!("{place}, position {}", position + 1);
            faults.add(FaultCode::StackTooHigh, place, format!("{load} of a stack"), "at most 1");
        }
        highest.raise(&loads);
    }
    // Margins may be higher than any position, where the cloth of several areas overlaps beside them.
    for point in &board.points[board.positions.len()..] {
        let here = layup.loads.iter().filter(|load| point.binary_search(&load.bay).is_ok());
        highest.raise(&here.collect::<Vec<_>>());
    }
    well
}

fn overlaps(
    facts: &Facts,
    board: &Board,
    layup: &Loaded<'_>,
    place: &str,
    steps: &mut Step,
    faults: &mut Faults,
) -> Option<()> {
    *steps = steps.checked_sub((layup.loads.len() as Step).pow(2))?;
    let cloths: Vec<Rect> = layup.loads.iter().map(|load| board.bays[load.bay].cloth).collect();
    for set in shared_sets(&cloths, steps)? {
        let load = load_of(&plies_by_limit(facts, layup, set.iter().map(|&at| &layup.loads[at])));
        if too_high(&load) {
            let names = set.iter().map(|&at| Board::bay_name(&board.bays[layup.loads[at].bay].positions));
            let place = format!("{place}, areas {}", names.collect::<Vec<_>>().join(", "));
            faults.add(FaultCode::OverlapTooHigh, place, format!("{load} of a stack"), "at most 1");
        }
    }
    Some(())
}

fn apart(board: &Board, layup: &Loaded<'_>, place: &str, faults: &mut Faults) {
    if board.apart.is_empty() {
        return;
    }
    let used: BTreeSet<usize> = layup.loads.iter().map(|load| load.bay).collect();
    for &(low, high) in &board.apart {
        if used.contains(&low) && used.contains(&high) {
            let name = |bay: usize| Board::bay_name(&board.bays[bay].positions);
            faults.add(
                FaultCode::BaysApart,
                place,
                format!("areas {} and {}", name(low), name(high)),
                "one of them",
            );
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn load(plies: &[(u32, u64)]) -> BigRational {
        load_of(&plies.iter().copied().collect())
    }

    #[test]
    fn plies_share_a_stack_in_proportion_to_their_limits() {
        // Derived by hand: 1/2 + 1/3 + 1/6 = 1 exactly; 1/2 + 2/3 > 1; six of six fill the stack.
        assert!(!too_high(&load(&[(2, 1), (3, 1), (6, 1)])));
        assert!(too_high(&load(&[(2, 1), (3, 2)])));
        assert!(!too_high(&load(&[(6, 6)])));
        assert!(too_high(&load(&[(6, 7)])));
        // 1, 2 and 4 plies at limits 2, 3 and 5 make 59/30 of a stack.
        assert_eq!(load(&[(2, 1), (3, 2), (5, 4)]), BigRational::new(59.into(), 30.into()));
        // Floats would lose this one: three thirds and a hair.
        assert!(too_high(&load(&[(3, 3), (1_000, 1)])));
    }

    /// Two squares corner to corner 1/4 in apart: their cloth, 1/4 in wider all round, overlaps between the blades.
    const DIAGONAL: &str = r#"{
        "patchlay_scenario": 1, "name": "corner to corner", "units": "inch",
        "cutter": { "bed_width": "14", "longest_board": "20", "ply_limit": 6, "mats": [] },
        "rules": { "travel_rule": "either" },
        "fabrics": [{ "name": "F", "usable_width": "42", "print": "none" }],
        "shapes": [{ "name": "s", "kind": "square", "side": "4" }],
        "boards": [{ "name": "b", "width": "14", "length": "14", "positions": [
            { "shape": "s", "at": ["1", "1"] }, { "shape": "s", "at": ["5 3/4", "5 3/4"] }
        ] }],
        "loose_patches": [{ "shape": "s", "fabric": "F", "count": 7 }],
        "spare_patches": { "number": 0 }, "aim": { "put_first": "least_cloth" }
    }"#;

    fn codes(plies: [u32; 2]) -> (Vec<FaultCode>, Highest) {
        let (facts, _) = Facts::read(DIAGONAL).unwrap();
        let groups = plies.map(|plies| patchlay_plan::Group {
            fabric: "F".to_owned(),
            plies,
            first_face: patchlay_plan::Face::Up,
            way: patchlay_plan::Way::Along,
        });
        let plan = patchlay_plan::LayUp {
            name: "L1".to_owned(),
            board: "b".to_owned(),
            mats: Vec::new(),
            bays: Vec::new(),
            passes: Vec::new(),
            serves: Vec::new(),
        };
        let loads = (0..2).map(|bay| Load { bay, groups: vec![(0, &groups[bay])] }).collect();
        let mut faults = Faults::default();
        let highest = judge(&facts, &[Loaded { plan: &plan, board: 0, loads, passes: 1 }], &mut faults);
        (faults.into_list().iter().map(|fault| fault.code).collect(), highest)
    }

    #[test]
    fn the_limit_holds_between_the_blades_too() {
        assert_eq!(codes([3, 3]), (vec![], Highest { plies: 6, fabrics: 1 }));
        assert_eq!(codes([3, 4]).0, [FaultCode::OverlapTooHigh]);
        assert_eq!(codes([7, 1]).0, [FaultCode::StackTooHigh]);
    }
}
