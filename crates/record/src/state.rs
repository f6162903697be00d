//! What follows from a plan and its log: passes made, good patches, strips cut, cloth, boards and mats left, quilts
//! wanted. Records are taken one by one in their order; one that makes no sense after those before it is not counted
//! and named.

mod apply;
mod ground;

use std::borrow::Cow;
use std::collections::BTreeSet;

use patchlay_measure::Length;
use patchlay_plan::Plan;
use patchlay_plan::record::{Entry, Note, counting};
use patchlay_scenario::job::group::Helper;
use patchlay_scenario::job::{FabricId, Job};
use patchlay_scenario::load;
use patchlay_scenario::spec::{Quilt, Scenario};

pub(crate) use ground::Ground;

use crate::added::with_added;
use crate::log::Log;
use crate::problem::{Code, Problem};
use crate::wanted::{Counts, Line};

/// Plies of one group in a pass that was made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Laid {
    /// Fabric that lay there; none if it was none of the plan's.
    pub fabric: Option<FabricId>,
    /// Plies that lay there.
    pub plies: u32,
    /// Of these, plies that came out spoiled.
    pub spoiled: u32,
    /// Another fabric than planned was noted.
    pub wrong: bool,
}

/// A pass that was made: its areas, and the groups of each.
pub type Made = Vec<Vec<Laid>>;

/// Where things stand.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct State {
    /// By lay-up and pass: what lay in it, if it was made.
    pub made: Vec<Vec<Option<Made>>>,
    /// Good patches that no recorded pass has cut.
    pub found: Counts,
    /// Patches spoiled after they were cut.
    pub spoiled: Counts,
    /// Strips that are cut, as numbers in the order of the plan.
    pub cut: BTreeSet<usize>,
    /// Of these, strips that are divided into their lengths and cuts.
    pub divided: BTreeSet<usize>,
    /// Lay-ups and passes whose lengths and cuts were laid ready on a tray; some may be made or lack something by now.
    pub ready: BTreeSet<(usize, usize)>,
    /// Lengths and cuts that are used or spoiled, as numbers in the order of the plan.
    pub gone: BTreeSet<usize>,
    /// Whole copies of every board, in the order of the job.
    pub boards: Vec<u32>,
    /// Whole mats of every kind, in the order of the job.
    pub mats: Vec<u32>,
    /// Helpers who are there or still come, with their hours as in the scenario.
    pub helpers: Vec<Helper>,
    /// Usable width of every fabric when cut, as found.
    pub widths: Vec<Length>,
    /// By fabric, where it was measured: length left for strips, and what had been taken by then.
    measured: Vec<Option<(Length, Length)>>,
    /// Quilts wanted now.
    pub quilts: Vec<Quilt>,
}

/// A record that is not counted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Misfit {
    /// Its number.
    pub number: u64,
    /// Why.
    pub problem: Problem,
}

impl State {
    /// Where things stand after these records, and the records that do not fit.
    ///
    /// # Errors
    /// What of the plan does not belong to the job.
    pub fn of(plan: &Plan, job: &Job, entries: &[Entry]) -> Result<(Self, Vec<Misfit>), String> {
        Ok(Self::on(&Ground::new(plan, job)?, entries))
    }

    pub(crate) fn on(ground: &Ground<'_>, entries: &[Entry]) -> (Self, Vec<Misfit>) {
        let mut state = Self::before(ground);
        let mut misfits = Vec::new();
        for entry in counting(entries) {
            let before = state.clone();
            if let Err(problem) = state.apply(ground, &entry.note) {
                state = before;
                let problem = Problem { place: format!("record {}", entry.number), ..problem };
                misfits.push(Misfit { number: entry.number, problem });
            }
        }
        (state, misfits)
    }

    fn before(ground: &Ground<'_>) -> Self {
        let (plan, job) = (ground.plan, ground.job);
        let copies = |board: usize| job.group.as_ref().and_then(|group| group.copies.get(board).copied());
        let spec: Option<Scenario> = serde_json::from_value(plan.scenario.clone()).ok();
        Self {
            made: plan.layups.iter().map(|layup| vec![None; layup.passes.len()]).collect(),
            found: Counts::new(),
            spoiled: Counts::new(),
            cut: BTreeSet::new(),
            divided: BTreeSet::new(),
            ready: BTreeSet::new(),
            gone: BTreeSet::new(),
            boards: (0..job.boards.len()).map(|board| copies(board).unwrap_or(1)).collect(),
            mats: job.cutter.mats.iter().map(|mat| mat.owned).collect(),
            helpers: job.group.as_ref().map_or_else(Vec::new, |group| group.helpers.clone()),
            widths: job.fabrics.iter().map(|fabric| fabric.width).collect(),
            measured: vec![None; job.fabrics.len()],
            quilts: spec.map(|spec| spec.quilts).unwrap_or_default(),
        }
    }

    /// Good patches there are: cut and not spoiled, or found. Where it is not known which plies of a folded length
    /// were spoiled, those count that cost most.
    pub(crate) fn good(&self, ground: &Ground<'_>) -> Counts {
        let mut good = Counts::new();
        for (layup, passes) in self.made.iter().enumerate() {
            for made in passes.iter().flatten() {
                for (area, groups) in made.iter().enumerate() {
                    for (group, laid) in groups.iter().enumerate() {
                        ground.add_yields((layup, area, group), laid, &mut good);
                    }
                }
            }
        }
        for (line, count) in &self.found {
            *good.entry(*line).or_default() += count;
        }
        for (line, count) in &self.spoiled {
            let left = good.entry(*line).or_default();
            *left = left.saturating_sub(*count);
        }
        good
    }

    /// Good patches of one kind.
    pub(crate) fn good_of(&self, ground: &Ground<'_>, line: Line) -> u64 {
        self.good(ground).get(&line).copied().unwrap_or_default()
    }

    /// Length that the strips cut so far and some more have taken off a bolt, what is kept back included.
    pub(crate) fn taken(&self, ground: &Ground<'_>, fabric: FabricId, more: &[Length]) -> Length {
        let cut = self.cut.iter().filter(|strip| ground.strips[**strip].0 == fabric);
        let widths: Vec<Length> =
            cut.map(|strip| ground.strips[*strip].1.width).chain(more.iter().copied()).collect();
        ground.job.fabrics[fabric].taken(widths.len(), widths.iter().copied().sum())
    }

    /// Length left on a bolt for strips.
    pub(crate) fn left(&self, ground: &Ground<'_>, fabric: FabricId) -> Length {
        let taken = self.taken(ground, fabric, &[]);
        let left = match self.measured[fabric] {
            Some((measured, before)) => measured - (taken - before),
            None => ground.washed(fabric) - taken,
        };
        left.max(Length::ZERO)
    }
}

/// Whether a new record makes sense: by itself, and to the records that are there.
///
/// # Errors
/// What is wrong with it.
pub fn sound(plan: &Plan, job: &Job, log: &Log, entry: &Entry) -> Result<(), Problem> {
    let stranger = |what: String| {
        let hint = "name the plan.json that 'patchlay plan' wrote";
        Problem::new(Code::AnotherPlan, "", format!("the plan does not hold together: {what}"), hint)
    };
    let misfits = |entries: &[Entry]| {
        let whole = with_added(plan, entries);
        let own = match &whole {
            Cow::Borrowed(_) => None,
            Cow::Owned(plan) => Some(
                load(&plan.scenario.to_string())
                    .map_err(|_| stranger("what was added does not fit its scenario".to_owned()))?,
            ),
        };
        let job = own.as_ref().map_or(job, |(_, job)| job);
        let ground = Ground::new(&whole, job).map_err(stranger)?;
        Ok::<_, Problem>(State::on(&ground, entries).1)
    };
    let typed = |problem: Problem| Problem { place: "what was typed".to_owned(), ..problem };
    if let Note::Undo { record } = entry.note {
        let counts = counting(&log.entries).iter().any(|known| known.number == record);
        let undo =
            log.entries.iter().any(|known| known.number == record && matches!(known.note, Note::Undo { .. }));
        if !counts && !undo {
            let problem = format!("there is no record {record} that counts");
            let hint = "'patchlay record PLAN show' lists the records with their numbers";
            return Err(typed(Problem::new(Code::UnknownRecord, record, problem, hint)));
        }
    }
    let before = misfits(&log.entries)?;
    let mut entries = log.entries.clone();
    entries.push(entry.clone());
    match misfits(&entries)?
        .into_iter()
        .find(|misfit| !before.iter().any(|known| known.number == misfit.number))
    {
        None => Ok(()),
        Some(misfit) if misfit.number == entry.number => Err(typed(misfit.problem)),
        Some(misfit) => {
            let problem =
                format!("record {} would then make no sense: {}", misfit.number, misfit.problem.problem);
            let hint = format!("undo record {} first", misfit.number);
            Err(typed(Problem::new(Code::Conflict, misfit.number, problem, hint)))
        }
    }
}
