//! What each kind of record does.

use std::ops::RangeInclusive;

use patchlay_plan::record::{Fewer, Note, Patches, Spot};
use patchlay_scenario::job::FabricId;
use patchlay_scenario::job::group::Helper;
use patchlay_scenario::spec::Work;
use patchlay_scenario::unseen;

use super::ground::find;
use super::{Ground, Laid, State};
use crate::added;
use crate::problem::{Code, Problem};
use crate::replan::letter;
use crate::wanted::{self, Line};

/// Slowest to fastest helper, percent of the standard times, as in a scenario.
const SPEEDS: RangeInclusive<u32> = 10..=400;

impl State {
    /// Takes a record. After an error the state is of no use.
    pub(super) fn apply(&mut self, ground: &Ground<'_>, note: &Note) -> Result<(), Problem> {
        match note {
            Note::Passes { layup, passes, first, fewer } => {
                self.passes(ground, layup, *passes, *first, fewer)
            }
            Note::WrongFabric { spot, instead, used } => {
                self.wrong_fabric(ground, spot, instead.as_deref(), used.as_deref())
            }
            Note::PliesSpoiled { spot, plies } => self.plies_spoiled(ground, spot, *plies),
            Note::PatchesSpoiled { patches } => self.patches_spoiled(ground, patches),
            Note::PatchesFound { patches } => {
                let line = line(ground, patches)?;
                *self.found.entry(line).or_default() += some(patches.patches)?;
                Ok(())
            }
            Note::ClothSpoiled { name } => self.cloth_spoiled(ground, name),
            Note::BoltShort { fabric, left } => {
                let fabric = ground.fabric(fabric)?;
                self.measured[fabric] = Some((*left, self.taken(ground, fabric, &[])));
                Ok(())
            }
            Note::BoltNarrow { fabric, width } => {
                let fabric = ground.fabric(fabric)?;
                let units = ground.job.units;
                let known = self.widths[fabric];
                if *width >= known {
                    let problem = format!("{} is not narrower than {}", width.show(units), known.show(units));
                    let hint =
                        "state the width between the selvedges; cloth as wide as planned needs no record";
                    return Err(Problem::new(Code::NotLess, width.show(units), problem, hint));
                }
                self.widths[fabric] = *width;
                Ok(())
            }
            Note::StripsCut { strips } => self.strips_cut(ground, strips),
            Note::TrayPrepared { layup, passes } => self.tray(ground, layup, *passes),
            Note::BoardDamaged { board, copies } => {
                let known = ground.job.boards.iter().map(|board| board.name.as_str());
                let board = find(Code::UnknownBoard, "board", board, known)?;
                fewer_left(&mut self.boards[board], *copies, "copies of this board")
            }
            Note::MatDamaged { mat, mats } => {
                let known = ground.job.cutter.mats.iter().map(|mat| mat.name.as_str());
                let mat = find(Code::UnknownMat, "mat", mat, known)?;
                fewer_left(&mut self.mats[mat], *mats, "mats of this kind")
            }
            Note::PersonGone { person } => {
                let known = self.helpers.iter().map(|helper| helper.name.as_str());
                let at = find(Code::UnknownPerson, "helper who is still here", person, known)?;
                let _ = self.helpers.remove(at);
                Ok(())
            }
            Note::PersonHelps { person, can, speed_percent } => {
                self.person_helps(ground, person, can, *speed_percent)
            }
            Note::QuiltAdded { quilt } => self.quilt_added(ground, quilt),
            Note::QuiltsAdded { fabrics, blocks, quilts } => {
                if !added::has(&ground.plan.scenario, fabrics, blocks) {
                    let problem = "the fabrics and blocks that come with the quilts do not fit the scenario";
                    let hint = "give each a name that the scenario does not have, or leave out what it has";
                    return Err(Problem::new(Code::QuiltUnusable, "", problem, hint));
                }
                some(quilts.len() as u64)?;
                quilts.iter().try_for_each(|quilt| self.quilt_added(ground, quilt))
            }
            Note::QuiltDropped { quilt, copies } => self.quilt_dropped(quilt, *copies),
            Note::Undo { .. } => Ok(()),
        }
    }

    fn passes(
        &mut self,
        ground: &Ground<'_>,
        layup: &str,
        passes: u64,
        first: Option<u64>,
        fewer: &[Fewer],
    ) -> Result<(), Problem> {
        let at = ground.layup(layup)?;
        some(passes)?;
        let all = self.made[at].len() as u64;
        let open: Vec<usize> =
            (0..self.made[at].len()).filter(|pass| self.made[at][*pass].is_none()).collect();
        let which: Vec<usize> = match first {
            None if passes > open.len() as u64 => {
                let problem =
                    format!("{layup} has {} passes left of {all}, and {passes} are noted", open.len());
                let hint = "look at the card; if a pass was noted twice, undo that record";
                return Err(Problem::new(Code::TooManyPasses, passes, problem, hint));
            }
            None => open.into_iter().take(usize::try_from(passes).unwrap_or(usize::MAX)).collect(),
            Some(first) => {
                let last = first.saturating_add(passes - 1);
                if first == 0 || last > all {
                    let problem = format!("{layup} has passes 1 to {all}, not {first} to {last}");
                    return Err(Problem::new(Code::TooManyPasses, last, problem, "look at the card"));
                }
                (first..=last).filter_map(|pass| usize::try_from(pass - 1).ok()).collect()
            }
        };
        let mut laid = ground.planned(at);
        for fewer in fewer {
            lay_fewer(&mut laid, fewer)?;
        }
        for pass in which {
            if self.made[at][pass].is_some() {
                let problem = format!("pass {} of {layup} is made already", pass + 1);
                let hint = "leave the number of the pass away: then the next that is not made is noted";
                return Err(Problem::new(Code::PassMadeTwice, pass + 1, problem, hint));
            }
            for piece in &ground.supply[at][pass] {
                self.gone.insert(*piece);
                self.divide(ground, *piece);
            }
            self.made[at][pass] = Some(laid.clone());
        }
        Ok(())
    }

    /// A length or cut has come off its strip.
    fn divide(&mut self, ground: &Ground<'_>, piece: usize) {
        let strip = ground.pieces[piece].0;
        self.cut.insert(strip);
        self.divided.insert(strip);
    }

    /// Where a made pass is noted: lay-up and pass, the group, and its number among the lengths and cuts of the pass.
    fn laid(
        &mut self,
        ground: &Ground<'_>,
        spot: &Spot,
    ) -> Result<(usize, usize, usize, &mut Laid), Problem> {
        let at = ground.layup(&spot.layup)?;
        let all = self.made[at].len();
        let none = |problem: String| Problem::new(Code::UnknownArea, "", problem, "look at the card");
        let pass = usize::try_from(spot.pass.wrapping_sub(1)).ok().filter(|pass| *pass < all);
        let pass =
            pass.ok_or_else(|| none(format!("{} has no pass {}; it has {all}", spot.layup, spot.pass)))?;
        let Some(made) = self.made[at][pass].as_mut() else {
            let problem = format!("pass {} of {} is not noted as made", spot.pass, spot.layup);
            let hint = "note the pass first: 'passes', the lay-up and how many";
            return Err(Problem::new(Code::PassNotMade, spot.pass, problem, hint));
        };
        let (named, last) = (letter(spot.area), letter(made.len()));
        let no_area = || none(format!("{} has no area {named}; its last area is {last}", spot.layup));
        let area = spot.area.checked_sub(1).filter(|area| *area < made.len()).ok_or_else(no_area)?;
        let groups = made[area].len();
        let no_group = || {
            none(format!(
                "area {named} of {} has no group {}, the top one is {groups}",
                spot.layup, spot.group
            ))
        };
        let group = spot.group.checked_sub(1).filter(|group| *group < groups).ok_or_else(no_group)?;
        let number = made[..area].iter().map(Vec::len).sum::<usize>() + group;
        Ok((at, pass, number, &mut made[area][group]))
    }

    fn wrong_fabric(
        &mut self,
        ground: &Ground<'_>,
        spot: &Spot,
        instead: Option<&str>,
        used: Option<&str>,
    ) -> Result<(), Problem> {
        let used = used.map(|name| ground.piece(name)).transpose()?;
        let instead: Option<FabricId> = match (instead, used) {
            (Some(name), _) => Some(ground.fabric(name)?),
            (None, Some(piece)) => Some(ground.strips[ground.pieces[piece].0].0),
            (None, None) => None,
        };
        let (layup, pass, number, laid) = self.laid(ground, spot)?;
        if laid.wrong {
            let problem = "another fabric is noted there already";
            return Err(Problem::new(Code::UsedAlready, "", problem, "undo that record first"));
        }
        (laid.fabric, laid.wrong) = (instead, true);
        // What should have lain there lies somewhere still.
        self.gone.remove(&ground.supply[layup][pass][number]);
        if let Some(piece) = used {
            self.use_up(ground, piece)?;
        }
        Ok(())
    }

    fn use_up(&mut self, ground: &Ground<'_>, piece: usize) -> Result<(), Problem> {
        if !self.gone.insert(piece) {
            let name = &ground.pieces[piece].1.name;
            let problem = format!("{name} is used or spoiled already");
            let hint = "look at the tag; if an earlier record is wrong, undo it";
            return Err(Problem::new(Code::UsedAlready, name, problem, hint));
        }
        self.divide(ground, piece);
        Ok(())
    }

    fn plies_spoiled(&mut self, ground: &Ground<'_>, spot: &Spot, plies: u32) -> Result<(), Problem> {
        some(u64::from(plies))?;
        let (.., laid) = self.laid(ground, spot)?;
        let left = laid.plies - laid.spoiled;
        if plies > left {
            let problem = format!("{plies} plies spoiled where {left} good ones lay");
            return Err(spoiled_above_cut(u64::from(plies), problem));
        }
        laid.spoiled += plies;
        Ok(())
    }

    fn patches_spoiled(&mut self, ground: &Ground<'_>, patches: &Patches) -> Result<(), Problem> {
        let line = line(ground, patches)?;
        let good = self.good_of(ground, line);
        if some(patches.patches)? > good {
            let problem = format!("{} patches spoiled where {good} good ones are there", patches.patches);
            return Err(spoiled_above_cut(patches.patches, problem));
        }
        *self.spoiled.entry(line).or_default() += patches.patches;
        Ok(())
    }

    fn cloth_spoiled(&mut self, ground: &Ground<'_>, name: &str) -> Result<(), Problem> {
        let Ok(strip) = ground.strip(name) else {
            let piece = ground.piece(name)?;
            return self.use_up(ground, piece);
        };
        let whole: Vec<usize> = ground.pieces_of(strip).filter(|piece| !self.gone.contains(piece)).collect();
        if whole.is_empty() {
            let problem = format!("every length and cut of {name} is used or spoiled already");
            return Err(Problem::new(Code::UsedAlready, name, problem, "look at the tag"));
        }
        whole.into_iter().try_for_each(|piece| self.use_up(ground, piece))
    }

    fn strips_cut(&mut self, ground: &Ground<'_>, strips: &[String]) -> Result<(), Problem> {
        some(strips.len() as u64)?;
        for name in strips {
            let at = ground.strip(name)?;
            let (fabric, strip) = ground.strips[at];
            let needed = strip.pieces.iter().map(|piece| piece.length).sum::<patchlay_measure::Length>()
                + ground.job.fabrics[fabric].end_reserve;
            if needed > self.widths[fabric] {
                let units = ground.job.units;
                let (needed, wide) = (needed.show(units), self.widths[fabric].show(units));
                let problem = format!("strip {name} needs cloth {needed} wide, and it was found {wide} wide");
                let hint =
                    "'patchlay replan' says what stays; if the width was noted wrongly, undo that record";
                return Err(Problem::new(Code::TooNarrow, name, problem, hint));
            }
            if !self.cut.insert(at) {
                let problem = format!("strip {name} is cut already");
                let hint = "look at the tag; a pass that was noted has its strips cut";
                return Err(Problem::new(Code::CutTwice, name, problem, hint));
            }
        }
        Ok(())
    }

    fn tray(&mut self, ground: &Ground<'_>, layup: &str, passes: u64) -> Result<(), Problem> {
        let at = ground.layup(layup)?;
        some(passes)?;
        let open: Vec<usize> =
            (0..self.made[at].len()).filter(|pass| self.made[at][*pass].is_none()).collect();
        if passes > open.len() as u64 {
            let problem = format!("{layup} has {} passes left, and {passes} lie ready", open.len());
            return Err(Problem::new(Code::TooManyPasses, passes, problem, "look at the card"));
        }
        for pass in open.into_iter().take(usize::try_from(passes).unwrap_or(usize::MAX)) {
            ground.supply[at][pass].iter().for_each(|piece| self.divide(ground, *piece));
            self.ready.insert((at, pass));
        }
        Ok(())
    }

    fn person_helps(
        &mut self,
        ground: &Ground<'_>,
        person: &str,
        can: &[Work],
        speed_percent: Option<u32>,
    ) -> Result<(), Problem> {
        if ground.job.group.is_none() {
            let problem = "the scenario has no group, so nobody's hours are planned";
            return Err(Problem::new(Code::UnknownPerson, person, problem, "leave such a record away"));
        }
        let speed_percent = speed_percent.unwrap_or(100);
        if person.trim().is_empty() || can.is_empty() || !SPEEDS.contains(&speed_percent) {
            let problem =
                "a helper has a name, does something, and is 10 to 400 percent as fast as the standard";
            let hint = "say what they do with --can, for example --can crank,fold";
            return Err(Problem::new(Code::Nothing, person, problem, hint));
        }
        let mut can = can.to_vec();
        can.sort_unstable();
        can.dedup();
        if person.chars().any(unseen) {
            let problem = "the name holds a character that cannot be seen";
            return Err(Problem::new(Code::Nothing, "", problem, "type the name anew"));
        }
        let helper = Helper { name: person.to_owned(), can, speed_percent, from: 0, to: None };
        match self.helpers.iter_mut().find(|known| known.name == person) {
            Some(known) => *known = helper,
            None => self.helpers.push(helper),
        }
        Ok(())
    }

    fn quilt_added(
        &mut self,
        ground: &Ground<'_>,
        quilt: &patchlay_scenario::spec::Quilt,
    ) -> Result<(), Problem> {
        if self.quilts.iter().any(|known| known.name == quilt.name) {
            let problem = format!("a quilt `{}` is wanted already", quilt.name);
            return Err(Problem::new(
                Code::QuiltTwice,
                &quilt.name,
                problem,
                "give the new one a name of its own",
            ));
        }
        self.quilts.push(quilt.clone());
        if let Err(refused) = wanted::wanted(&ground.plan.scenario, &self.quilts) {
            let (problem, hint) = refused.problems().first().map_or_else(Default::default, |first| {
                (
                    format!("the quilt cannot be planned: {}: {}", first.path, first.problem),
                    first.hint.clone(),
                )
            });
            return Err(Problem::new(Code::QuiltUnusable, &quilt.name, problem, hint));
        }
        Ok(())
    }

    fn quilt_dropped(&mut self, quilt: &str, copies: Option<u32>) -> Result<(), Problem> {
        let at =
            find(Code::UnknownQuilt, "quilt", quilt, self.quilts.iter().map(|quilt| quilt.name.as_str()))?;
        let mut left = self.quilts[at].copies.unwrap_or(1);
        let all = left;
        fewer_left(&mut left, copies.unwrap_or(all), "copies of this quilt")?;
        match left {
            0 => drop(self.quilts.remove(at)),
            left => self.quilts[at].copies = Some(left),
        }
        Ok(())
    }
}

fn spoiled_above_cut(value: u64, problem: String) -> Problem {
    let hint = "count again; if the passes that cut them are not noted yet, note those first";
    Problem::new(Code::SpoiledAboveCut, value, problem, hint)
}

/// At least one.
fn some(count: u64) -> Result<u64, Problem> {
    match count {
        0 => Err(Problem::new(
            Code::Nothing,
            0,
            "nothing is noted: the number is zero",
            "leave such a record away",
        )),
        1..=1_000_000_000 => Ok(count),
        more => {
            Err(Problem::new(Code::MoreThanOwned, more, "the number is absurd", "look at what was typed"))
        }
    }
}

fn fewer_left(left: &mut u32, gone: u32, what: &str) -> Result<(), Problem> {
    some(u64::from(gone))?;
    *left = left.checked_sub(gone).ok_or_else(|| {
        let hint = "look at the earlier records with 'record PLAN show'";
        Problem::new(Code::MoreThanOwned, gone, format!("{gone} gone, and there are {left} {what}"), hint)
    })?;
    Ok(())
}

/// Fewer plies in an area: of one group, or of all together with the top ones missing.
fn lay_fewer(laid: &mut [Vec<Laid>], fewer: &Fewer) -> Result<(), Problem> {
    let none = || {
        let group = fewer.group.map(|group| format!(" with a group {group}")).unwrap_or_default();
        let problem = format!("the lay-up has no area {}{group}", letter(fewer.area));
        Problem::new(Code::UnknownArea, fewer.area, problem, "look at the card")
    };
    let area = fewer.area.checked_sub(1).and_then(|area| laid.get_mut(area)).ok_or_else(none)?;
    let groups = match fewer.group {
        None => &mut area[..],
        Some(group) => group.checked_sub(1).and_then(|at| area.get_mut(at..=at)).ok_or_else(none)?,
    };
    let planned: u32 = groups.iter().map(|laid| laid.plies).sum();
    if fewer.plies >= planned {
        let problem = format!("{} plies are not fewer than the {planned} planned", fewer.plies);
        let hint = "name only areas with fewer plies than on the card";
        return Err(Problem::new(Code::MorePlies, fewer.plies, problem, hint));
    }
    let mut left = fewer.plies;
    for laid in groups {
        laid.plies = laid.plies.min(left);
        left -= laid.plies;
    }
    Ok(())
}

/// The kind of patches that a record names.
fn line(ground: &Ground<'_>, patches: &Patches) -> Result<Line, Problem> {
    let fabric = ground.fabric(&patches.fabric)?;
    let known = ground.job.shapes.iter().map(|shape| shape.name.as_str());
    let shape = find(Code::UnknownShape, "shape", &patches.shape, known)?;
    let hand = wanted::hand(&ground.job.shapes[shape], &ground.job.fabrics[fabric], patches.hand);
    let hand = hand.ok_or_else(|| {
        let problem = format!("patches of {} come in two hands", patches.shape);
        Problem::new(
            Code::NoSuchPatches,
            &patches.shape,
            problem,
            "say whether they are as drawn or mirrored",
        )
    })?;
    Ok((fabric, shape, hand))
}
