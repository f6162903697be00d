//! Refuses absurd numbers and lists before anything is computed from them, so that sums and products stay exact.

use patchlay_measure::Length;
use patchlay_plan::{LayUp, Plan};

use crate::fault::{FaultCode, Faults};

/// Most entries of any list, and most entries that lists of one kind have in all.
const MOST: usize = 1_000_000;
/// Most plies of a group.
const MOST_PLIES: u32 = 1_000;

/// Notes everything out of range; whether all is within.
pub(crate) fn judge(plan: &Plan, faults: &mut Faults) -> bool {
    let mut judge = Judge { faults, well: true };
    let strips = || plan.fabrics.iter().flat_map(|fabric| &fabric.strips);
    judge.count("fabrics", plan.fabrics.len());
    judge.count("strips", strips().count());
    judge.count("lengths and cuts", strips().map(|strip| strip.pieces.len()).sum());
    for strip in strips() {
        judge.length(|| format!("strip {}", strip.name), strip.width);
        for piece in &strip.pieces {
            let place = || format!("length or cut {}", piece.name);
            judge.length(place, piece.run);
            judge.length(place, piece.length);
            judge.length(place, piece.width);
            judge.plies(place, piece.plies);
        }
    }
    judge.count("lay-ups", plan.layups.len());
    let bays = || plan.layups.iter().flat_map(|layup| &layup.bays);
    judge.count("areas", bays().count());
    judge.count("groups", bays().map(|bay| bay.groups.len()).sum());
    judge.count("passes", plan.layups.iter().map(|layup| layup.passes.len()).sum());
    judge.count("mats (by the hundred)", plan.layups.iter().map(|layup| layup.mats.len() * 100).sum());
    plan.layups.iter().for_each(|layup| judge.layup(layup));
    judge.count("patches", plan.patches.len());
    judge.count("bounds", plan.bounds.len());
    judge.well
}

struct Judge<'f> {
    faults: &'f mut Faults,
    well: bool,
}

impl Judge<'_> {
    fn layup(&mut self, layup: &LayUp) {
        let place = || format!("lay-up {}", layup.name);
        for bay in &layup.bays {
            self.count("positions of an area", bay.positions.len());
            bay.groups.iter().for_each(|group| self.plies(place, group.plies));
        }
        for mat in &layup.mats {
            self.length(place, mat.x);
            self.length(place, mat.y);
        }
        let names: usize = layup.passes.iter().flatten().map(Vec::len).sum();
        self.count("names of a lay-up", names);
    }

    fn count(&mut self, what: &str, count: usize) {
        if count > MOST {
            self.refuse(what.to_owned(), count.to_string(), MOST.to_string());
        }
    }

    fn length(&mut self, place: impl Fn() -> String, length: Length) {
        if length > Length::MAX_TYPED || length.units() < -Length::MAX_TYPED.units() {
            self.refuse(
                place(),
                length.units().to_string(),
                format!("at most {}", Length::MAX_TYPED.units()),
            );
        }
    }

    fn plies(&mut self, place: impl Fn() -> String, plies: u32) {
        if plies > MOST_PLIES {
            self.refuse(place(), plies.to_string(), format!("at most {MOST_PLIES}"));
        }
    }

    fn refuse(&mut self, place: String, found: String, expected: String) {
        self.well = false;
        self.faults.add(FaultCode::OutOfRange, place, found, expected);
    }
}
