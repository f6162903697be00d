//! What records refer to: the plan and its job joined, every name looked up with the nearest known one at hand.

use std::collections::BTreeMap;

use patchlay_measure::{Length, width_after_washing};
use patchlay_plan::{Face, Group, Piece, Plan, Strip};
use patchlay_scenario::job::{Bay, BoardId, FabricId, Hand, Job};
use patchlay_scenario::nearest;

use super::Laid;
use crate::problem::{Code, Problem};
use crate::replan::MARK;
use crate::wanted::Counts;

/// Plan and job, joined.
pub(crate) struct Ground<'a> {
    pub(crate) plan: &'a Plan,
    pub(crate) job: &'a Job,
    /// Strips in the order of the plan, with their fabric.
    pub(crate) strips: Vec<(FabricId, &'a Strip)>,
    /// Lengths and cuts in the order of the plan, with their strip.
    pub(crate) pieces: Vec<(usize, &'a Piece)>,
    names: BTreeMap<&'a str, usize>,
    /// By lay-up: its board.
    pub(crate) boards: Vec<BoardId>,
    /// By lay-up and area: the bay.
    bays: Vec<Vec<&'a Bay>>,
    /// By lay-up, area and group: its fabric.
    fabrics: Vec<Vec<Vec<FabricId>>>,
    /// By lay-up and pass: its lengths and cuts, group by group.
    pub(crate) supply: Vec<Vec<Vec<usize>>>,
}

impl<'a> Ground<'a> {
    pub(crate) fn new(plan: &'a Plan, job: &'a Job) -> Result<Self, String> {
        let fabric = |name: &str| {
            let at = job.fabrics.iter().position(|fabric| fabric.name == name);
            at.ok_or_else(|| format!("there is no fabric `{name}`"))
        };
        let mut strips = Vec::new();
        for cloth in &plan.fabrics {
            let id = fabric(&cloth.fabric)?;
            strips.extend(cloth.strips.iter().map(|strip| (id, strip)));
        }
        let pieces: Vec<(usize, &Piece)> = strips
            .iter()
            .enumerate()
            .flat_map(|(at, (_, strip))| strip.pieces.iter().map(move |piece| (at, piece)))
            .collect();
        let names = pieces.iter().enumerate().map(|(at, (_, piece))| (piece.name.as_str(), at)).collect();
        let mut ground = Self {
            plan,
            job,
            strips,
            pieces,
            names,
            boards: Vec::new(),
            bays: Vec::new(),
            fabrics: Vec::new(),
            supply: Vec::new(),
        };
        for layup in &plan.layups {
            let board = job.boards.iter().position(|board| board.name == layup.board);
            let board = board.ok_or_else(|| format!("there is no board `{}`", layup.board))?;
            let bay = |positions: &[usize]| {
                let bay = job.boards[board].bays.iter().find(|bay| bay.positions == positions);
                bay.ok_or_else(|| format!("board `{}` has no area of positions {positions:?}", layup.board))
            };
            let bays = layup.bays.iter().map(|load| bay(&load.positions)).collect::<Result<_, _>>()?;
            let of =
                |groups: &[Group]| groups.iter().map(|group| fabric(&group.fabric)).collect::<Result<_, _>>();
            let fabrics = layup.bays.iter().map(|load| of(&load.groups)).collect::<Result<_, _>>()?;
            let named = |name: &String| {
                let at = ground.names.get(name.as_str()).copied();
                at.ok_or_else(|| format!("there is no length or cut `{name}`"))
            };
            let whole = |pass: &&Vec<Vec<String>>| {
                pass.len() == layup.bays.len()
                    && pass.iter().zip(&layup.bays).all(|(names, load)| names.len() == load.groups.len())
            };
            if !layup.passes.iter().all(|pass| whole(&pass)) {
                return Err(format!("a pass of lay-up {} is not supplied", layup.name));
            }
            let supply = layup.passes.iter().map(|pass| pass.iter().flatten().map(named).collect());
            let supply = supply.collect::<Result<_, _>>()?;
            ground.boards.push(board);
            ground.bays.push(bays);
            ground.fabrics.push(fabrics);
            ground.supply.push(supply);
        }
        Ok(ground)
    }

    /// Length of a bolt when it is cut.
    pub(crate) fn washed(&self, fabric: FabricId) -> Length {
        let own = &self.job.fabrics[fabric];
        let bought = self.plan.fabric(&own.name).map_or(Length::ZERO, |cloth| cloth.bought);
        width_after_washing(bought, own.shrinkage).unwrap_or(Length::ZERO)
    }

    /// A lay-up by its name.
    pub(crate) fn layup(&self, name: &str) -> Result<usize, Problem> {
        let known = self.plan.layups.iter().map(|layup| layup.name.as_str());
        find(Code::UnknownLayUp, "lay-up", name, known).map_err(|problem| match name.starts_with(MARK) {
            true => Problem { hint: of_supplement(), ..problem },
            false => problem,
        })
    }

    /// A fabric by its name or letter.
    pub(crate) fn fabric(&self, name: &str) -> Result<FabricId, Problem> {
        match self.job.fabrics.iter().position(|fabric| fabric.letter == name) {
            Some(lettered) if !self.job.fabrics.iter().any(|fabric| fabric.name == name) => Ok(lettered),
            _ => {
                let known = self.job.fabrics.iter().map(|fabric| fabric.name.as_str());
                find(Code::UnknownFabric, "fabric", name, known)
            }
        }
    }

    /// A strip by its name.
    pub(crate) fn strip(&self, name: &str) -> Result<usize, Problem> {
        find(Code::UnknownStrip, "strip", name, self.strips.iter().map(|(_, strip)| strip.name.as_str()))
    }

    /// A length or cut by its name.
    pub(crate) fn piece(&self, name: &str) -> Result<usize, Problem> {
        let known = self.pieces.iter().map(|(_, piece)| piece.name.as_str());
        self.names
            .get(name)
            .copied()
            .map_or_else(|| find(Code::UnknownStrip, "length or cut", name, known), Ok)
    }

    /// The lengths and cuts of a strip.
    pub(crate) fn pieces_of(&self, strip: usize) -> impl Iterator<Item = usize> + '_ {
        self.pieces.iter().enumerate().filter(move |(_, (on, _))| *on == strip).map(|(at, _)| at)
    }

    /// Areas of a lay-up with the plies of their groups, as planned.
    pub(crate) fn planned(&self, layup: usize) -> super::Made {
        let areas = self.plan.layups[layup].bays.iter().zip(&self.fabrics[layup]);
        areas
            .map(|(load, fabrics)| {
                let laid = |(group, fabric): (&Group, &FabricId)| Laid {
                    fabric: Some(*fabric),
                    plies: group.plies,
                    spoiled: 0,
                    wrong: false,
                };
                load.groups.iter().zip(fabrics).map(laid).collect()
            })
            .collect()
    }

    /// Adds the good patches of a group of plies.
    pub(crate) fn add_yields(
        &self,
        (layup, area, group): (usize, usize, usize),
        laid: &Laid,
        sum: &mut Counts,
    ) {
        let Some(fabric) = laid.fabric else { return };
        let planned = &self.plan.layups[layup].bays[area].groups[group];
        let plies = u64::from(laid.plies);
        let (first, second) = (plies.div_ceil(2), plies / 2);
        let (up, down) = match planned.first_face {
            Face::Up => (first, second),
            Face::Down => (second, first),
        };
        let spoiled = u64::from(laid.spoiled);
        for &(shape, drawn, mirrored) in &self.bays[layup][area].yields {
            let (drawn, mirrored) = (u64::from(drawn), u64::from(mirrored));
            let handed = self.job.shapes[shape].shape.handed() && !self.job.fabrics[fabric].reversible;
            let hands = match handed {
                true => vec![(Hand::Drawn, drawn, mirrored), (Hand::Mirrored, mirrored, drawn)],
                false => vec![(Hand::Any, drawn + mirrored, drawn + mirrored)],
            };
            for (hand, face_up, face_down) in hands {
                let cut = up * face_up + down * face_down;
                let lost = |of_up: u64| of_up * face_up + (spoiled - of_up) * face_down;
                let lost = lost(spoiled.saturating_sub(down)).max(lost(spoiled.min(up)));
                if cut > 0 {
                    *sum.entry((fabric, shape, hand)).or_default() += cut.saturating_sub(lost);
                }
            }
        }
    }

    /// Patches of one pass of a lay-up, made as planned.
    pub(crate) fn yields(&self, layup: usize) -> Counts {
        let mut sum = Counts::new();
        for (area, groups) in self.planned(layup).iter().enumerate() {
            for (group, laid) in groups.iter().enumerate() {
                self.add_yields((layup, area, group), laid, &mut sum);
            }
        }
        sum
    }
}

/// What to do with a lay-up of a supplement.
fn of_supplement() -> String {
    "it is on a card of a supplement, which is a plan of its own: note its passes with 'patchlay record \
     replan/supplement.json passes', and in this plan the patches that they cut with 'patches-found', so that the next \
     replan counts them"
        .to_owned()
}

/// Looks a name up; what is not known is answered with the nearest name that is.
pub(crate) fn find<'n>(
    code: Code,
    what: &str,
    name: &str,
    known: impl Iterator<Item = &'n str> + Clone,
) -> Result<usize, Problem> {
    if let Some(at) = known.clone().position(|known| known == name) {
        return Ok(at);
    }
    let shown: String = name.chars().take(60).collect();
    let hint = match nearest(name, known.clone()) {
        Some(near) => format!("did you mean `{near}`?"),
        None => {
            let some: Vec<&str> = known.take(8).collect();
            match some.is_empty() {
                true => format!("there is no {what} at all"),
                false => format!("for example: {}", some.join(", ")),
            }
        }
    };
    Err(Problem::new(code, &shown, format!("there is no {what} `{shown}`"), hint))
}
