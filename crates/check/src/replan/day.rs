//! The records taken one by one, as the checker understands them. A record that makes no sense is passed over.

use std::collections::{BTreeMap, BTreeSet};

use patchlay_measure::Length;
use patchlay_plan::record::{Entry, Fewer, Note, Patches, Spot};
use patchlay_plan::replan::Replan;
use patchlay_plan::{Face, Hand, Piece, Plan, Strip};
use patchlay_scenario::spec::Scenario;

use super::added::{self, counted};
use super::{Counts, handed, hands, shapes};
use crate::demand::yields;
use crate::facts::Facts;
use crate::fault::{FaultCode, Faults};
use crate::supply::Loaded;

/// Fabric, shape, and the hand as a number.
pub(super) type Key = (usize, usize, u8);

fn rank(hand: Hand) -> u8 {
    match hand {
        Hand::Any => 0,
        Hand::Drawn => 1,
        Hand::Mirrored => 2,
    }
}

/// Plies of one group of a pass that was made.
#[derive(Clone, Copy, Debug)]
pub(super) struct Lay {
    fabric: Option<usize>,
    plies: u64,
    spoiled: u64,
    wrong: bool,
}

/// Where things stand.
#[derive(Clone)]
pub(super) struct Day<'d> {
    pub(super) facts: &'d Facts,
    pub(super) plan: &'d Plan,
    layups: &'d [Loaded<'d>],
    /// Strips by name, with fabric.
    pub(super) strips: BTreeMap<&'d str, (usize, &'d Strip)>,
    /// Lengths and cuts by name, with their strip.
    pub(super) pieces: BTreeMap<&'d str, (&'d Strip, &'d Piece)>,
    pub(super) made: Vec<Vec<Option<Vec<Vec<Lay>>>>>,
    found: Counts,
    lost: Counts,
    /// Names of strips.
    pub(super) cut: BTreeSet<&'d str>,
    pub(super) divided: BTreeSet<&'d str>,
    /// Lay-ups and passes for which all lay ready on a tray at some time.
    ready: BTreeSet<(usize, usize)>,
    /// Names of lengths and cuts.
    pub(super) gone: BTreeSet<&'d str>,
    /// Copies of the boards that are whole.
    pub(super) boards: Vec<u32>,
    /// Mats that are whole, by name.
    pub(super) mats: BTreeMap<String, u32>,
    /// Who went, and who helps with what, in the order of the records.
    pub(super) people: Vec<&'d Note>,
    pub(super) widths: Vec<Length>,
    /// Length measured, and what had been taken by then.
    measured: Vec<Option<(Length, Length)>>,
    /// The scenario with the quilts that are wanted now.
    pub(super) spec: Option<Scenario>,
    /// Patches wanted now.
    pub(super) wanted: Counts,
}

impl<'d> Day<'d> {
    pub(super) fn of(
        facts: &'d Facts,
        plan: &'d Plan,
        layups: &'d [Loaded<'d>],
        entries: &'d [Entry],
    ) -> Self {
        let mut day = Self::before(facts, plan, layups);
        for entry in counted(entries) {
            let before = day.clone();
            if day.take(&entry.note).is_none() {
                day = before;
            }
        }
        day.wanted = day.wanted_now().unwrap_or_default();
        day
    }

    fn before(facts: &'d Facts, plan: &'d Plan, layups: &'d [Loaded<'d>]) -> Self {
        let mut strips = BTreeMap::new();
        for (fabric, cloth) in plan.fabrics.iter().enumerate() {
            strips.extend(cloth.strips.iter().map(|strip| (strip.name.as_str(), (fabric, strip))));
        }
        let named =
            |strip: &'d Strip| strip.pieces.iter().map(move |piece| (piece.name.as_str(), (strip, piece)));
        let pieces = strips.values().flat_map(|(_, strip)| named(strip)).collect();
        let spec: Option<Scenario> = serde_json::from_value(plan.scenario.clone()).ok();
        let copies = |name: &str| {
            let group = spec.as_ref().and_then(|spec| spec.group.as_ref());
            let own = group.and_then(|group| group.copies.iter().find(|copies| copies.board == name));
            own.map_or(1, |copies| copies.copies)
        };
        let mats = spec.iter().flat_map(|spec| &spec.cutter.mats);
        Self {
            facts,
            plan,
            layups,
            strips,
            pieces,
            made: plan.layups.iter().map(|layup| vec![None; layup.passes.len()]).collect(),
            found: Counts::new(),
            lost: Counts::new(),
            cut: BTreeSet::new(),
            divided: BTreeSet::new(),
            ready: BTreeSet::new(),
            gone: BTreeSet::new(),
            boards: facts.boards.iter().map(|board| copies(&board.name)).collect(),
            mats: mats.map(|mat| (mat.name.clone(), mat.owned.unwrap_or(1))).collect(),
            people: Vec::new(),
            widths: facts.fabrics.iter().map(|fabric| fabric.width).collect(),
            measured: vec![None; facts.fabrics.len()],
            wanted: Counts::new(),
            spec,
        }
    }

    /// A kind of patches by its names; none if there is none or its hand is not told.
    pub(super) fn key(&self, fabric: &str, shape: &str, hand: Hand) -> Option<Key> {
        let fabric = self.fabric(fabric)?;
        let shape = self.facts.shapes.iter().position(|known| known.name == shape)?;
        match (handed(self.facts, fabric, shape), hand) {
            (false, _) => Some((fabric, shape, 0)),
            (true, Hand::Any) => None,
            (true, hand) => Some((fabric, shape, rank(hand))),
        }
    }

    pub(super) fn name(&self, (fabric, shape, hand): Key) -> String {
        let hand = ["", ", as drawn", ", mirrored"][usize::from(hand)];
        format!("{} {}{hand}", self.facts.fabrics[fabric].name, self.facts.shapes[shape].name)
    }

    fn fabric(&self, name: &str) -> Option<usize> {
        self.facts.fabrics.iter().position(|known| known.name == name)
    }

    fn layup(&self, name: &str) -> Option<usize> {
        self.plan.layups.iter().position(|layup| layup.name == name)
    }

    /// Takes a record; none if it makes no sense.
    fn take(&mut self, note: &'d Note) -> Option<()> {
        match note {
            Note::Passes { layup, passes, first, fewer } => self.passes(layup, *passes, *first, fewer),
            Note::WrongFabric { spot, instead, used } => {
                self.wrong(spot, instead.as_deref(), used.as_deref())
            }
            Note::PliesSpoiled { spot, plies } => {
                let (.., lay) = self.lay(spot)?;
                lay.spoiled += u64::from(*plies);
                (*plies > 0 && lay.spoiled <= lay.plies).then_some(())
            }
            Note::PatchesSpoiled { patches } => {
                let key = self.kind(patches)?;
                let good = self.good().get(&key).copied().unwrap_or_default();
                let lost = self.lost.entry(key).or_default();
                *lost = lost.checked_add(patches.patches)?;
                (patches.patches <= good).then_some(())
            }
            Note::PatchesFound { patches } => {
                let found = self.found.entry(self.kind(patches)?).or_default();
                *found = found.checked_add(patches.patches)?;
                Some(())
            }
            Note::ClothSpoiled { name } => {
                let Some((_, strip)) = self.strips.get(name.as_str()).copied() else {
                    return self.use_up(name);
                };
                let whole: Vec<&str> = strip
                    .pieces
                    .iter()
                    .map(|piece| piece.name.as_str())
                    .filter(|piece| !self.gone.contains(piece))
                    .collect();
                (!whole.is_empty()).then_some(())?;
                whole.into_iter().try_for_each(|piece| self.use_up(piece))
            }
            Note::BoltShort { fabric, left } => {
                let fabric = self.fabric(fabric)?;
                self.measured[fabric] = Some((*left, self.taken(fabric, &[])?));
                Some(())
            }
            Note::BoltNarrow { fabric, width } => {
                let fabric = self.fabric(fabric)?;
                (*width < self.widths[fabric]).then(|| self.widths[fabric] = *width)
            }
            Note::StripsCut { strips } => strips.iter().try_for_each(|name| self.strip_cut(name)),
            Note::TrayPrepared { layup, passes } => {
                let at = self.layup(layup)?;
                let open = self.open(at, *passes)?;
                open.iter().for_each(|&pass| self.divide(at, pass));
                self.ready.extend(open.into_iter().map(|pass| (at, pass)));
                Some(())
            }
            Note::BoardDamaged { board, copies } => {
                let at = self.facts.boards.iter().position(|known| known.name == *board)?;
                self.boards[at] = self.boards[at].checked_sub(*copies).filter(|_| *copies > 0)?;
                Some(())
            }
            Note::MatDamaged { mat, mats } => {
                let left = self.mats.get_mut(mat)?;
                *left = left.checked_sub(*mats).filter(|_| *mats > 0)?;
                Some(())
            }
            Note::QuiltAdded { quilt } => {
                let quilts = &mut self.spec.as_mut()?.quilts;
                quilts.iter().all(|known| known.name != quilt.name).then_some(())?;
                quilts.push(quilt.clone());
                self.wanted_now().map(drop)
            }
            Note::QuiltsAdded { fabrics, blocks, quilts } => {
                let spec = self.spec.as_mut()?;
                (!quilts.is_empty() && added::has(spec, fabrics, blocks)).then_some(())?;
                for quilt in quilts {
                    spec.quilts.iter().all(|known| known.name != quilt.name).then_some(())?;
                    spec.quilts.push(quilt.clone());
                }
                self.wanted_now().map(drop)
            }
            Note::QuiltDropped { quilt, copies } => {
                let quilts = &mut self.spec.as_mut()?.quilts;
                let at = quilts.iter().position(|known| known.name == *quilt)?;
                let all = quilts[at].copies.unwrap_or(1);
                let left = all.checked_sub(copies.unwrap_or(all)).filter(|left| *left < all)?;
                if left == 0 {
                    quilts.remove(at);
                } else {
                    quilts[at].copies = Some(left);
                }
                Some(())
            }
            Note::PersonGone { .. } => {
                self.people.push(note);
                Some(())
            }
            Note::PersonHelps { can, .. } => {
                self.people.push(note);
                (!can.is_empty()).then_some(())
            }
            Note::Undo { .. } => Some(()),
        }
    }

    fn kind(&self, patches: &Patches) -> Option<Key> {
        self.key(&patches.fabric, &patches.shape, patches.hand).filter(|_| patches.patches > 0)
    }

    /// The next passes that are not made.
    fn open(&self, at: usize, passes: u64) -> Option<Vec<usize>> {
        let open: Vec<usize> =
            (0..self.made[at].len()).filter(|pass| self.made[at][*pass].is_none()).collect();
        let count = usize::try_from(passes).ok().filter(|count| (1..=open.len()).contains(count))?;
        Some(open[..count].to_vec())
    }

    fn passes(&mut self, layup: &str, passes: u64, first: Option<u64>, fewer: &[Fewer]) -> Option<()> {
        let at = self.layup(layup)?;
        let which = match first {
            None => self.open(at, passes)?,
            Some(first) => {
                let last = first.checked_add(passes)?.checked_sub(1)?;
                let all = self.made[at].len() as u64;
                (first > 0 && passes > 0 && last <= all).then_some(())?;
                (first..=last).map(|pass| usize::try_from(pass - 1).unwrap_or(usize::MAX)).collect()
            }
        };
        let group = |(fabric, group): &(usize, &patchlay_plan::Group)| Lay {
            fabric: Some(*fabric),
            plies: u64::from(group.plies),
            spoiled: 0,
            wrong: false,
        };
        let mut areas: Vec<Vec<Lay>> =
            self.layups[at].loads.iter().map(|load| load.groups.iter().map(group).collect()).collect();
        for fewer in fewer {
            let area = areas.get_mut(fewer.area.checked_sub(1)?)?;
            let lays = match fewer.group {
                None => &mut area[..],
                Some(group) => std::slice::from_mut(area.get_mut(group.checked_sub(1)?)?),
            };
            let mut left = u64::from(fewer.plies);
            (left < lays.iter().map(|lay| lay.plies).sum()).then_some(())?;
            for lay in lays {
                lay.plies = lay.plies.min(left);
                left -= lay.plies;
            }
        }
        for pass in which {
            self.made[at][pass].is_none().then_some(())?;
            let pieces = self.plan.layups[at].passes[pass].iter().flatten();
            self.gone.extend(pieces.map(String::as_str));
            self.divide(at, pass);
            self.made[at][pass] = Some(areas.clone());
        }
        Some(())
    }

    fn divide(&mut self, at: usize, pass: usize) {
        for name in self.plan.layups[at].passes[pass].iter().flatten() {
            if let Some((strip, _)) = self.pieces.get(name.as_str()) {
                self.cut.insert(&strip.name);
                self.divided.insert(&strip.name);
            }
        }
    }

    fn lay(&mut self, spot: &Spot) -> Option<(usize, usize, &mut Lay)> {
        let at = self.layup(&spot.layup)?;
        let pass = usize::try_from(spot.pass.checked_sub(1)?).ok()?;
        let areas = self.made[at].get_mut(pass)?.as_mut()?;
        let lay = areas.get_mut(spot.area.checked_sub(1)?)?.get_mut(spot.group.checked_sub(1)?)?;
        Some((at, pass, lay))
    }

    fn wrong(&mut self, spot: &Spot, instead: Option<&str>, used: Option<&'d str>) -> Option<()> {
        let fabric = match (instead, used) {
            (Some(name), _) => Some(self.fabric(name)?),
            (None, Some(piece)) => Some(self.strips[self.pieces.get(piece)?.0.name.as_str()].0),
            (None, None) => None,
        };
        let (at, pass, lay) = self.lay(spot)?;
        (!lay.wrong).then_some(())?;
        (lay.fabric, lay.wrong) = (fabric, true);
        let planned = self.plan.layups[at].passes[pass].get(spot.area - 1)?.get(spot.group - 1)?;
        self.gone.remove(planned.as_str());
        used.map_or(Some(()), |piece| self.use_up(piece))
    }

    fn use_up(&mut self, name: &'d str) -> Option<()> {
        let (strip, piece) = *self.pieces.get(name)?;
        self.gone.insert(&piece.name).then_some(())?;
        self.cut.insert(&strip.name);
        self.divided.insert(&strip.name);
        Some(())
    }

    fn strip_cut(&mut self, name: &str) -> Option<()> {
        let (fabric, strip) = *self.strips.get(name)?;
        let content: Length = strip.pieces.iter().map(|piece| piece.length).sum();
        (content <= self.room(fabric)).then_some(())?;
        self.cut.insert(&strip.name).then_some(())
    }

    /// Longest sum of lengths on a strip of the cloth as it was found.
    pub(super) fn room(&self, fabric: usize) -> Length {
        self.widths[fabric] - self.facts.fabrics[fabric].end_reserve
    }

    /// Length taken by the strips that are cut and some more.
    pub(super) fn taken(&self, fabric: usize, more: &[Length]) -> Option<Length> {
        let cut = self.cut.iter().map(|name| self.strips[name]).filter(|(own, _)| *own == fabric);
        let widths: Vec<Length> = cut.map(|(_, strip)| strip.width).chain(more.iter().copied()).collect();
        self.facts.fabrics[fabric].taken(widths.len() as u64, widths.iter().copied().sum())
    }

    /// Length left for strips.
    pub(super) fn left(&self, fabric: usize) -> Option<Length> {
        let taken = self.taken(fabric, &[])?;
        let left = match self.measured[fabric] {
            Some((measured, before)) => measured.checked_sub(taken - before)?,
            None => {
                let cloth = &self.facts.fabrics[fabric];
                let bought = self.plan.fabrics.get(fabric).map_or(Length::ZERO, |own| own.bought);
                cloth.washed_length(bought) - taken
            }
        };
        Some(left.max(Length::ZERO))
    }

    /// Passes not made whose lengths and cuts all lie ready on a tray.
    pub(super) fn ready(&self) -> BTreeSet<(usize, usize)> {
        let still = |&(at, pass): &(usize, usize)| {
            let mut pieces = self.plan.layups[at].passes[pass].iter().flatten();
            self.made[at][pass].is_none() && pieces.all(|piece| !self.gone.contains(piece.as_str()))
        };
        self.ready.iter().copied().filter(still).collect()
    }

    fn wanted_now(&self) -> Option<Counts> {
        let mut spec = self.spec.clone()?;
        spec.proof_block = None;
        let facts = Facts::of(&spec).ok()?;
        let line = |line: &crate::demand::Line| {
            ((line.fabric, line.shape, rank(line.hand)), line.needed + line.spare)
        };
        Some(facts.demand.lines.iter().map(line).collect())
    }

    /// Good patches there are.
    pub(super) fn good(&self) -> Counts {
        let mut good = self.found.clone();
        for (at, passes) in self.made.iter().enumerate() {
            for areas in passes.iter().flatten() {
                self.add(at, areas, &mut good);
            }
        }
        for (key, lost) in &self.lost {
            if let Some(count) = good.get_mut(key) {
                *count = count.saturating_sub(*lost);
            }
        }
        good
    }

    /// Patches of these passes, made as planned.
    pub(super) fn yields(&self, passes: &BTreeSet<(usize, usize)>) -> Counts {
        let mut sum = Counts::new();
        for (at, _) in passes {
            let group = |(fabric, group): &(usize, &patchlay_plan::Group)| Lay {
                fabric: Some(*fabric),
                plies: u64::from(group.plies),
                spoiled: 0,
                wrong: false,
            };
            let loads = self.layups[*at].loads.iter();
            let areas: Vec<Vec<Lay>> = loads.map(|load| load.groups.iter().map(group).collect()).collect();
            self.add(*at, &areas, &mut sum);
        }
        sum
    }

    /// Adds what lay in one pass. Of plies that alternate it is not known which were spoiled; the worst counts.
    fn add(&self, at: usize, areas: &[Vec<Lay>], sum: &mut Counts) {
        let layup = &self.layups[at];
        let board = &self.facts.boards[layup.board];
        for (area, lays) in areas.iter().enumerate() {
            let bay = &board.bays[layup.loads[area].bay];
            for (lay, (_, group)) in lays.iter().zip(&layup.loads[area].groups) {
                let Some(fabric) = lay.fabric else { continue };
                // From the lowest ply up, faces alternate.
                let first = lay.plies.div_ceil(2);
                let second = lay.plies - first;
                for shape in shapes(self.facts, layup, area) {
                    for hand in hands(self.facts, fabric, shape) {
                        let each = |face: Face| yields(board, bay, face, shape, *hand);
                        let (low, high) = (each(group.first_face), each(group.first_face.other()));
                        let cut = first * low + second * high;
                        let worst = (0..=lay.spoiled)
                            .filter(|of_first| *of_first <= first && lay.spoiled - of_first <= second)
                            .map(|of_first| of_first * low + (lay.spoiled - of_first) * high)
                            .max();
                        if cut > 0 {
                            *sum.entry((fabric, shape, rank(*hand))).or_default() +=
                                cut - worst.unwrap_or(cut);
                        }
                    }
                }
            }
        }
    }

    /// Judges whether the kept passes can be made.
    pub(super) fn judge_kept(&self, kept: &BTreeSet<(usize, usize)>, replan: &Replan, faults: &mut Faults) {
        let mut to_cut: BTreeMap<&str, Length> = BTreeMap::new();
        let listed: BTreeMap<&str, &[String]> =
            replan.strips.iter().map(|left| (left.strip.as_str(), &left.without[..])).collect();
        for &(at, pass) in kept {
            let layup = &self.plan.layups[at];
            let place = format!("lay-up {}, pass {}", layup.name, pass + 1);
            if self.boards[self.layups[at].board] == 0 {
                faults.add(FaultCode::ReplanKept, &place, &layup.board, "a whole board");
            }
            for (mat, left) in &self.mats {
                let used = layup.mats.iter().filter(|used| used.mat == *mat).count();
                if used > *left as usize {
                    faults.add(FaultCode::ReplanKept, &place, mat, format!("at most {left}"));
                }
            }
            for name in layup.passes[pass].iter().flatten() {
                let Some((strip, piece)) = self.pieces.get(name.as_str()) else { continue };
                if self.gone.contains(name.as_str()) {
                    faults.add(FaultCode::ReplanKept, &place, name, "neither used nor spoiled");
                }
                if self.cut.contains(strip.name.as_str()) {
                    continue;
                }
                match listed.get(strip.name.as_str()) {
                    Some(without) if !without.contains(name) => {
                        let sum = to_cut.entry(&strip.name).or_default();
                        *sum += piece.length;
                    }
                    _ => faults.add(FaultCode::ReplanStrips, &place, name, "a strip that is cut with it"),
                }
            }
        }
        if listed.len() != replan.strips.len() || listed.len() != to_cut.len() {
            let expected = format!("{} strips, each once", to_cut.len());
            faults.add(FaultCode::ReplanStrips, "strips", replan.strips.len(), expected);
        }
        for (name, length) in &to_cut {
            let room = self.room(self.strips[name].0);
            if *length > room {
                faults.add(
                    FaultCode::ReplanStrips,
                    format!("strip {name}"),
                    length.units(),
                    format!("at most {}", room.units()),
                );
            }
        }
    }
}
