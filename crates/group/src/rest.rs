//! What a day that has begun still has to do, and what lies in the bags by then.

use std::collections::{BTreeMap, BTreeSet};

use patchlay_scenario::job::Group;

use crate::lots::Kind;

/// What a day that has begun still has to do.
#[derive(Clone, Debug, Default)]
pub struct Rest {
    /// By lay-up of the plan: passes still to be made, from 0.
    pub passes: Vec<BTreeSet<usize>>,
    /// By lay-up of the plan: of these, passes whose lengths and cuts lie ready on a tray.
    pub ready: Vec<BTreeSet<usize>>,
    /// Names of the strips that are still to be cut.
    pub strips: BTreeSet<String>,
    /// Good patches that are there, by kind.
    pub good: BTreeMap<Kind, u64>,
    /// What was to be sorted so far: kind, name of the bag, patches. What is good need not agree with it.
    pub sorted: BTreeMap<(Kind, String), u64>,
    /// Minutes after midnight when it begins; the group of the job begins then too.
    pub starts: u32,
}

impl Rest {
    /// Whether the lengths and cuts of a pass lie ready.
    pub(crate) fn is_ready(&self, layup: usize, pass: usize) -> bool {
        self.ready.get(layup).is_some_and(|ready| ready.contains(&pass))
    }

    /// How many of the good patches of a kind each of these bags (bag, needed, spare) has: what was sorted into it, as far
    /// as so much is good and it still wants it; what is left goes to the bags in order.
    pub(crate) fn there(&self, group: &Group, kind: Kind, bags: &[(usize, u64, u64)]) -> Vec<u64> {
        let mut left = self.good.get(&kind).copied().unwrap_or(0);
        let mut give = |most: u64| {
            let given = left.min(most);
            left -= given;
            given
        };
        let name = |bag: usize| group.bags.get(bag).map_or("spares", |bag| bag.name.as_str()).to_owned();
        let sorted = |bag: usize| self.sorted.get(&(kind, name(bag))).copied().unwrap_or(0);
        let mut there: Vec<u64> =
            bags.iter().map(|&(bag, needed, spare)| give(sorted(bag).min(needed + spare))).collect();
        for (&(_, needed, spare), there) in bags.iter().zip(&mut there) {
            *there += give(needed + spare - *there);
        }
        there
    }
}
