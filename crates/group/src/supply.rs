//! Which length or cut of a kind goes to which pass. Lengths and cuts of one fabric, number of plies, run and width are
//! alike; a plan names one for every place all the same. For a group, passes that come early should not wait for strips
//! that are cut late, so alike pieces change places: every pass takes its pieces from strips that are begun already, as
//! far as there are any.

use std::collections::{BTreeMap, BTreeSet};

use patchlay_measure::Length;
use patchlay_plan::{Plan, plan_number};
use patchlay_scenario::Job;
use patchlay_scenario::job::Group;

use crate::schedule::hall::Shop;
use crate::schedule::trays::Trays;

/// What makes pieces alike: fabric, plies, run, width.
type Alike<'a> = (&'a str, u32, Length, Length);

/// A strip: fabric and index.
type StripId = (usize, usize);

/// Pieces by kind, and what is begun of them.
struct Stock<'a> {
    /// Pieces of every kind that are not yet spoken for, strip by strip.
    left: BTreeMap<Alike<'a>, Vec<(StripId, &'a str)>>,
    kind_of: BTreeMap<&'a str, Alike<'a>>,
    /// Kinds of the pieces on every strip.
    on: BTreeMap<StripId, Vec<Alike<'a>>>,
    begun: BTreeSet<StripId>,
}

impl<'a> Stock<'a> {
    fn of(plan: &'a Plan) -> Self {
        let (mut left, mut kind_of, mut on) = (BTreeMap::new(), BTreeMap::new(), BTreeMap::new());
        for (f, fabric) in plan.fabrics.iter().enumerate() {
            for (s, strip) in fabric.strips.iter().enumerate() {
                for piece in &strip.pieces {
                    let kind = (fabric.fabric.as_str(), piece.plies, piece.run, piece.width);
                    kind_of.insert(piece.name.as_str(), kind);
                    left.entry(kind).or_insert_with(Vec::new).push(((f, s), piece.name.as_str()));
                    on.entry((f, s)).or_insert_with(Vec::new).push(kind);
                }
            }
        }
        Self { left, kind_of, on, begun: BTreeSet::new() }
    }

    /// How many of each kind these pieces are.
    fn kinds<'n>(&self, names: impl Iterator<Item = &'n String>) -> BTreeMap<Alike<'a>, usize> {
        let mut kinds = BTreeMap::new();
        for kind in names.filter_map(|name| self.kind_of.get(name.as_str())) {
            *kinds.entry(*kind).or_insert(0) += 1;
        }
        kinds
    }

    /// Strips that would have to be begun for so many of each kind.
    fn new_strips(&self, kinds: &BTreeMap<Alike<'a>, usize>) -> usize {
        let mut new: BTreeSet<StripId> = BTreeSet::new();
        for (kind, &count) in kinds {
            let Some(left) = self.left.get(kind) else { continue };
            let there =
                left.iter().filter(|(strip, _)| self.begun.contains(strip) || new.contains(strip)).count();
            let mut missing = count.saturating_sub(there);
            for (strip, _) in left {
                if missing == 0 {
                    break;
                }
                if !self.begun.contains(strip) && new.insert(*strip) {
                    let gives = self.on[strip].iter().filter(|on| *on == kind).count();
                    missing = missing.saturating_sub(gives);
                }
            }
        }
        new.len()
    }

    /// A piece like this one, from a strip that is begun if there is one.
    fn take(&mut self, name: &str) -> Option<&'a str> {
        let left = self.left.get_mut(self.kind_of.get(name)?)?;
        let begun = left.iter().position(|(strip, _)| self.begun.contains(strip));
        let (strip, taken) = if left.is_empty() { return None } else { left.remove(begun.unwrap_or(0)) };
        self.begun.insert(strip);
        Some(taken)
    }
}

/// The plan with alike pieces exchanged so that runs need few strips at a time; the plan itself if it does not belong to
/// the job. What is cut, and from how much cloth, stays as it was. The run that needs fewest new strips for what there is
/// to fold in it always comes next.
#[must_use]
pub fn resupplied(job: &Job, group: &Group, plan: &Plan) -> Plan {
    let Some(shop) = Shop::of(job, group, plan, &Trays::full(group.passes_a_tray as usize), None) else {
        return plan.clone();
    };
    let mut stock = Stock::of(plan);
    let mut changed = plan.clone();
    let passes = |run: usize| {
        let run = &shop.runs[run];
        plan.layups[run.layup].passes[run.first..run.first + run.passes].iter()
    };
    let mut waiting: Vec<(usize, BTreeMap<Alike<'_>, usize>)> =
        shop.in_turn().into_iter().map(|run| (run, stock.kinds(passes(run).flatten().flatten()))).collect();
    let mut fixed = shop.proof;
    while !waiting.is_empty() {
        let ahead = if fixed > 0 { 1 } else { waiting.len() };
        fixed = fixed.saturating_sub(1);
        // Compared as fractions: new strips for the seconds of folding.
        let next = (0..ahead).min_by(|&a, &b| {
            let of = |at: usize| {
                (stock.new_strips(&waiting[at].1) as u64, shop.runs[waiting[at].0].tray.unwrap_or(0).max(1))
            };
            let ((new_a, fold_a), (new_b, fold_b)) = (of(a), of(b));
            (new_a * fold_b).cmp(&(new_b * fold_a)).then(a.cmp(&b))
        });
        let (run, _) = waiting.remove(next.unwrap_or(0));
        let run = &shop.runs[run];
        for pass in run.first..run.first + run.passes {
            for (area, names) in plan.layups[run.layup].passes[pass].iter().enumerate() {
                for (at, name) in names.iter().enumerate() {
                    if let Some(taken) = stock.take(name) {
                        taken.clone_into(&mut changed.layups[run.layup].passes[pass][area][at]);
                    }
                }
            }
        }
    }
    changed.number = plan_number(&changed).unwrap_or_default();
    changed
}

/// Runs in an order in which each needs few strips that none before it needs, for what there is to fold in it; those of
/// the proof block first.
pub(crate) fn few_new_strips(shop: &Shop) -> Vec<usize> {
    let mut begun: BTreeSet<StripId> = BTreeSet::new();
    let mut waiting = shop.in_turn();
    let mut order = Vec::new();
    while !waiting.is_empty() {
        let ahead = if order.len() < shop.proof { 1 } else { waiting.len() };
        let next = (0..ahead).min_by(|&a, &b| {
            let of = |at: usize| {
                let run = &shop.runs[waiting[at]];
                let new = run.strips.iter().filter(|strip| !begun.contains(strip)).count();
                (new as u64, run.tray.unwrap_or(0).max(1))
            };
            let ((new_a, fold_a), (new_b, fold_b)) = (of(a), of(b));
            (new_a * fold_b).cmp(&(new_b * fold_a)).then(a.cmp(&b))
        });
        let run = waiting.remove(next.unwrap_or(0));
        begun.extend(shop.runs[run].strips.iter().copied());
        order.push(run);
    }
    order
}

/// Strips of every fabric in batches, in the order in which the runs need them: strips that the same run needs first,
/// at most `size` of them.
/// `open` says which strips are still to be cut.
pub(crate) fn batches(
    plan: &Plan,
    runs: &[&[StripId]],
    size: usize,
    open: impl Fn(usize, usize) -> bool,
) -> Vec<Strips> {
    let mut of_fabric: Vec<Vec<(usize, usize)>> = vec![Vec::new(); plan.fabrics.len()];
    let mut seen: BTreeSet<StripId> = BTreeSet::new();
    for (turn, strips) in runs.iter().enumerate() {
        for &(f, s) in strips.iter().filter(|strip| seen.insert(**strip)) {
            of_fabric[f].push((turn, s));
        }
    }
    // A sound plan uses all its strips; any other is judged elsewhere.
    for (f, fabric) in plan.fabrics.iter().enumerate() {
        let unseen = (0..fabric.strips.len()).filter(|&s| !seen.contains(&(f, s)) && open(f, s));
        of_fabric[f].extend(unseen.map(|s| (runs.len(), s)));
    }
    let mut batches: Vec<Strips> = Vec::new();
    for (fabric, strips) in of_fabric.into_iter().enumerate() {
        let mut turn_before = None;
        for (turn, strip) in strips {
            match batches.last_mut() {
                Some(last)
                    if last.fabric == fabric && last.strips.len() < size && turn_before == Some(turn) =>
                {
                    last.strips.push(strip);
                }
                _ => batches.push(Strips { fabric, strips: vec![strip] }),
            }
            turn_before = Some(turn);
        }
    }
    batches
}

/// Strips that are pressed and cut together.
pub(crate) struct Strips {
    pub(crate) fabric: usize,
    pub(crate) strips: Vec<usize>,
}
