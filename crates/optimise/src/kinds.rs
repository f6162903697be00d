//! Plies that are alike: for a fabric it does not matter in which of several like bays a ply lies, only how many plies
//! of each *kind* (cut class and yield) it gives. Which bay takes them is one decision for all fabrics together. This
//! takes both the fabrics' symmetry among bays and the bays' symmetry among fabrics out of the integer programs.

use std::collections::BTreeMap;

use crate::model::{Model, Ply};
use crate::oracle::Strip;
use crate::solution::{Pattern, Solution};

/// A place that takes plies: a bay of a board, with the load of one ply there.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Slot {
    /// Board.
    pub board: usize,
    /// Bay of that board.
    pub bay: usize,
    /// Load of one ply on every point of the bay.
    pub load: i64,
}

/// A kind of ply of one fabric.
#[derive(Clone, Debug, Hash)]
pub struct Kind {
    /// Cut class.
    pub class: usize,
    /// (item, patches) that a ply yields.
    pub yields: Vec<(usize, u32)>,
    /// Group of slots that take it; none for plies whose passes are laid down elsewhere.
    pub group: Option<usize>,
    /// The fabric's plies of this kind, one for each slot of the group, in its order.
    pub plies: Vec<usize>,
}

/// The kinds of every fabric, and the groups of slots that several fabrics' kinds share.
#[derive(Clone, Debug, Default, Hash)]
pub struct Kinds {
    /// Kinds, by fabric.
    pub of: Vec<Vec<Kind>>,
    /// Slots of every group.
    pub groups: Vec<Vec<Slot>>,
}

/// Without a board, cut class, yields: plies that agree in these are of one kind.
type Key<'a> = (bool, usize, &'a [(usize, u32)]);

impl Kinds {
    /// The kinds of a model.
    #[must_use]
    pub fn of_model(model: &Model) -> Self {
        let mut kinds = Self::default();
        let mut known: BTreeMap<Vec<Slot>, usize> = BTreeMap::new();
        for fabric in &model.fabrics {
            let mut alike: BTreeMap<Key<'_>, Vec<usize>> = BTreeMap::new();
            for (ply, data) in fabric.plies.iter().enumerate() {
                let key = (data.board.is_none(), data.class, data.yields.as_slice());
                alike.entry(key).or_default().push(ply);
            }
            let mut of_fabric = Vec::new();
            for ((nowhere, class, yields), mut plies) in alike {
                plies.sort_by_key(|&ply| slot(&fabric.plies[ply]));
                // Both faces of a bay are one place.
                plies.dedup_by_key(|ply| slot(&fabric.plies[*ply]));
                let slots: Vec<Slot> = plies.iter().filter_map(|&ply| slot(&fabric.plies[ply])).collect();
                let group = (!nowhere).then(|| {
                    *known.entry(slots.clone()).or_insert_with(|| {
                        kinds.groups.push(slots);
                        kinds.groups.len() - 1
                    })
                });
                of_fabric.push(Kind { class, yields: yields.to_vec(), group, plies });
            }
            kinds.of.push(of_fabric);
        }
        kinds
    }

    /// How many of so many plies of every kind of a fabric go to each group of slots, by group.
    #[must_use]
    pub fn in_groups(&self, f: usize, counts: &[i64]) -> BTreeMap<usize, i64> {
        let mut groups = BTreeMap::new();
        for (kind, &n) in self.of[f].iter().zip(counts).filter(|(_, n)| **n > 0) {
            if let Some(group) = kind.group {
                *groups.entry(group).or_default() += n;
            }
        }
        groups
    }

    /// A strip of kinds as a pattern of classes.
    #[must_use]
    pub fn pattern(&self, f: usize, strip: &Strip) -> Pattern {
        let mut plies: BTreeMap<usize, i64> = BTreeMap::new();
        for &(kind, n) in &strip.plies {
            *plies.entry(self.of[f][kind].class).or_default() += n;
        }
        Pattern { width: strip.width, plies: plies.into_iter().collect() }
    }

    /// How many plies of every kind a solution has of a fabric.
    #[must_use]
    pub fn counts(&self, model: &Model, at: &Solution, f: usize) -> Vec<i64> {
        let fabric = &model.fabrics[f];
        let mut counts = vec![0; self.of[f].len()];
        for (ply, &count) in at.plies[f].iter().enumerate().filter(|(_, count)| **count > 0) {
            if let Some(kind) = self.kind_of(f, &fabric.plies[ply]) {
                counts[kind] += count;
            }
        }
        counts
    }

    /// The kind of a ply of a fabric.
    #[must_use]
    pub fn kind_of(&self, f: usize, ply: &Ply) -> Option<usize> {
        self.of[f].iter().position(|kind| {
            kind.class == ply.class
                && kind.yields == ply.yields
                && kind.group.is_none() == ply.board.is_none()
        })
    }

    /// How many plies of all fabrics lie in every slot of every group.
    #[must_use]
    pub fn in_slots(&self, model: &Model, at: &Solution) -> Vec<Vec<i64>> {
        let mut sums: Vec<Vec<i64>> = self.groups.iter().map(|slots| vec![0; slots.len()]).collect();
        for (f, plies) in at.plies.iter().enumerate() {
            for (ply, &count) in plies.iter().enumerate().filter(|(_, count)| **count > 0) {
                let data = &model.fabrics[f].plies[ply];
                let here = |kind: &&Kind| kind.class == data.class && kind.yields == data.yields;
                let group = self.of[f].iter().filter(here).find_map(|kind| kind.group);
                if let (Some(group), Some(slot)) = (group, slot(data))
                    && let Some(place) = self.groups[group].iter().position(|known| *known == slot)
                {
                    sums[group][place] += count;
                }
            }
        }
        sums
    }

    /// Puts the plies of every fabric into slots that take so many each: whole fabrics into one slot where they fit.
    #[must_use]
    pub fn spread(&self, model: &Model, counts: &[Vec<i64>], slots: &[Vec<i64>]) -> Vec<Vec<i64>> {
        let mut plies: Vec<Vec<i64>> =
            model.fabrics.iter().map(|fabric| vec![0; fabric.plies.len()]).collect();
        for (group, room) in slots.iter().enumerate() {
            let mut room = room.clone();
            let mut wanted: Vec<(i64, usize, usize)> = Vec::new();
            for (f, of_fabric) in self.of.iter().enumerate() {
                for (k, kind) in of_fabric.iter().enumerate().filter(|(_, kind)| kind.group == Some(group)) {
                    if counts[f][k] > 0 {
                        wanted.push((counts[f][k], f, k));
                    }
                    debug_assert_eq!(kind.plies.len(), room.len());
                }
            }
            wanted.sort_by_key(|&(count, f, k)| (std::cmp::Reverse(count), f, k));
            for (mut count, f, k) in wanted {
                while count > 0 {
                    // The tightest slot that takes all of it, else the roomiest.
                    let whole = (0..room.len()).filter(|&s| room[s] >= count).min_by_key(|&s| (room[s], s));
                    let most = (0..room.len()).max_by_key(|&s| (room[s], std::cmp::Reverse(s)));
                    let Some(s) = whole.or(most) else { break };
                    let taken = if room[s] > 0 { count.min(room[s]) } else { count };
                    plies[f][self.of[f][k].plies[s]] += taken;
                    room[s] -= taken;
                    count -= taken;
                }
            }
        }
        for (f, of_fabric) in self.of.iter().enumerate() {
            for (k, kind) in of_fabric.iter().enumerate().filter(|(_, kind)| kind.group.is_none()) {
                if let Some(&ply) = kind.plies.first() {
                    plies[f][ply] += counts[f][k];
                }
            }
        }
        plies
    }
}

fn slot(ply: &Ply) -> Option<Slot> {
    ply.board.map(|board| Slot { board, bay: ply.bay, load: ply.load })
}
