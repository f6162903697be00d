//! Every figure counted again.

use std::collections::BTreeMap;

use patchlay_measure::{Area, Length, Money};
use patchlay_plan::{Figures, Group, LayUp, Plan};

use crate::cloth::Taken;
use crate::facts::Facts;
use crate::fault::{FaultCode, Faults};
use crate::patches::Cut;
use crate::stacks::Highest;
use crate::supply::Loaded;

/// The figures that an aim can order, and those that a proof may hold.
#[derive(Clone, Debug)]
pub(crate) struct Totals {
    pub(crate) money: Money,
    pub(crate) area: Area,
    pub(crate) length: Length,
    pub(crate) passes: u64,
    pub(crate) seconds: u64,
    /// Strip widths in all, by fabric.
    pub(crate) widths: Vec<Length>,
}

/// What has been counted.
pub(crate) struct Counted<'a> {
    pub(crate) facts: &'a Facts,
    pub(crate) plan: &'a Plan,
    pub(crate) layups: &'a [Loaded<'a>],
    pub(crate) cloth: &'a [Taken],
    pub(crate) cut: &'a Cut,
    pub(crate) highest: Highest,
    pub(crate) seconds: u64,
}

impl Counted<'_> {
    /// Totals; none if they leave the range of exact numbers.
    pub(crate) fn totals(&self) -> Option<Totals> {
        let length = |of: fn(&Taken) -> Length| {
            self.cloth.iter().try_fold(Length::ZERO, |sum, taken| sum.checked_add(of(taken)))
        };
        let cloths = || self.facts.fabrics.iter().zip(self.cloth);
        Some(Totals {
            money: self.cloth.iter().map(|taken| taken.money).sum(),
            area: cloths().map(|(cloth, taken)| cloth.area(taken.taken)).sum(),
            length: length(|taken| taken.taken)?,
            passes: self.plan.layups.iter().map(|layup| layup.passes.len() as u64).sum(),
            seconds: self.seconds,
            widths: self.cloth.iter().map(|taken| taken.widths).collect(),
        })
    }

    /// Judges all figures against the totals.
    pub(crate) fn judge(&self, totals: &Totals, faults: &mut Faults) {
        let found = &self.plan.figures;
        let bought = |taken: &Taken| i128::from(taken.bought.units());
        let area_bought: Area = self
            .facts
            .fabrics
            .iter()
            .zip(self.cloth)
            .map(|(cloth, taken)| taken.bought * cloth.stated_width)
            .sum();
        let wanted = [
            ("money", found.money.units(), totals.money.units()),
            ("length_taken", found.length_taken.units().into(), totals.length.units().into()),
            ("length_bought", found.length_bought.units().into(), self.cloth.iter().map(bought).sum()),
            ("area_taken", found.area_taken.units(), totals.area.units()),
            ("area_bought", found.area_bought.units(), area_bought.units()),
            ("passes", found.passes.into(), totals.passes.into()),
            ("seconds", found.seconds.into(), totals.seconds.into()),
        ];
        let counts = self.counts(found);
        for (name, found, wanted) in wanted.into_iter().chain(counts) {
            faults.equal(FaultCode::Figure, format!("figures.{name}"), found, wanted);
        }
        self.passes_by_board(found, faults);
    }

    fn counts(&self, found: &Figures) -> [(&'static str, i128, i128); 10] {
        let strips = || self.plan.fabrics.iter().flat_map(|fabric| &fabric.strips);
        let pieces = || strips().flat_map(|strip| strip.pieces.iter().map(move |piece| (strip, piece)));
        let whole = |count: usize| i128::try_from(count).unwrap_or(i128::MAX);
        let folded = pieces().filter(|(_, piece)| piece.plies > 1).count();
        let trimmed = pieces().filter(|(strip, piece)| piece.width < strip.width).count();
        let mut kinds: Vec<_> = (self.plan.fabrics.iter().enumerate())
            .flat_map(|(fabric, cloth)| cloth.strips.iter().map(move |strip| (fabric, strip)))
            .flat_map(|(fabric, strip)| strip.pieces.iter().map(move |piece| (fabric, piece)))
            .map(|(fabric, piece)| (fabric, piece.plies, piece.run, piece.width))
            .collect();
        kinds.sort_unstable();
        kinds.dedup();
        [
            ("layups", found.layups.into(), whole(self.plan.layups.len())),
            ("changes", found.changes.into(), whole(changes(self.plan))),
            ("kinds", found.kinds.into(), whole(kinds.len())),
            ("pieces", found.pieces.into(), whole(pieces().count())),
            ("folded_lengths", found.folded_lengths.into(), whole(folded)),
            ("trimmed", found.trimmed.into(), whole(trimmed)),
            ("strips", found.strips.into(), whole(strips().count())),
            ("spare_patches", found.spare_patches.into(), self.spare_patches()),
            ("most_plies", found.most_plies.into(), self.highest.plies.into()),
            ("most_fabrics", found.most_fabrics.into(), whole(self.highest.fabrics)),
        ]
    }

    /// Every patch cut, wanted by a line or not, less what is needed.
    fn spare_patches(&self) -> i128 {
        let cut: i128 = self.cut.all.values().copied().map(i128::from).sum();
        let needed: i128 = self.facts.demand.lines.iter().map(|line| i128::from(line.needed)).sum();
        cut - needed
    }

    fn passes_by_board(&self, found: &Figures, faults: &mut Faults) {
        let boards = self.facts.boards.len();
        faults.equal(FaultCode::Figure, "figures.passes_by_board", found.passes_by_board.len(), boards);
        let mut passes = vec![0_u64; boards];
        self.layups.iter().for_each(|layup| passes[layup.board] += layup.passes);
        for ((found, wanted), board) in found.passes_by_board.iter().zip(passes).zip(&self.facts.boards) {
            faults.equal(
                FaultCode::Figure,
                format!("figures.passes_by_board, {}", board.name),
                *found,
                wanted,
            );
        }
    }
}

/// Areas loaded otherwise than in the lay-up before, where that has the same board, and mats that differ.
fn changes(plan: &Plan) -> usize {
    let mut changes = 0;
    let mut before: Option<&LayUp> = None;
    for layup in &plan.layups {
        if let Some(before) = before.filter(|before| before.board == layup.board) {
            let loads = |layup: &'_ LayUp| -> BTreeMap<Vec<usize>, Vec<Group>> {
                layup.bays.iter().map(|load| (load.positions.clone(), load.groups.clone())).collect()
            };
            let (mut old, new) = (loads(before), loads(layup));
            for (area, groups) in new {
                changes += usize::from(old.remove(&area).is_none_or(|known| known != groups));
            }
            // What is left was taken off.
            changes += old.len() + usize::from(before.mats != layup.mats);
        }
        before = Some(layup);
    }
    changes
}
