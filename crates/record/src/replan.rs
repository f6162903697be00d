//! From what stays to the document: the scenario of what is cut anew, names that nobody mixes up with the first plan's,
//! strips taken from cloth already cut, and what must be bought.

use std::collections::BTreeSet;

use patchlay_measure::Length;
use patchlay_plan::record::counting;
use patchlay_plan::replan::{
    ClothLeft, Dropped, Kept, Lost, OnHand, REPLAN_VERSION, Recount, Replan, StripLeft, replan_number,
};
use patchlay_plan::{Piece, Plan, Strip, plan_number};
use patchlay_scenario::job::{self, FabricId, Job};
use serde_json::{Value, json};

use crate::log::Log;
use crate::problem::{Code, Problem};
use crate::state::{Ground, Misfit, State};
use crate::stays::{Stays, stays_on};
use crate::wanted::{Counts, Line, amended, plan_hand};

mod hours;
mod words;

pub use hours::{Begun, HoursError};
pub use words::{letter, said};

/// Stands before every name of a supplement's lay-ups, strips, lengths and cuts.
pub const MARK: &str = "S-";

/// Everything that follows from plan and log, before anything is planned anew.
pub struct Half<'a> {
    ground: Ground<'a>,
    log: &'a Log,
    state: State,
    misfits: Vec<Misfit>,
    stays: Stays,
}

impl<'a> Half<'a> {
    /// Reads what happened.
    ///
    /// # Errors
    /// What of the plan does not belong to the job.
    pub fn new(plan: &'a Plan, job: &'a Job, log: &'a Log) -> Result<Self, String> {
        let ground = Ground::new(plan, job)?;
        let (state, misfits) = State::on(&ground, &log.entries);
        let stays = stays_on(&ground, &state)?;
        Ok(Self { ground, log, state, misfits, stays })
    }

    /// Where things stand.
    #[must_use]
    pub fn state(&self) -> &State {
        &self.state
    }

    /// What of the log cannot be counted: damage, what is missing, records that make no sense any more.
    #[must_use]
    pub fn troubles(&self) -> Vec<Problem> {
        let misfit = |misfit: &Misfit| {
            let why = &misfit.problem;
            let problem =
                format!("{} does not fit those before it and is not counted: {}", why.place, why.problem);
            let hint = "a record before it is damaged, missing or undone; note again what is missing";
            Problem { place: why.place.clone(), ..Problem::new(Code::DoesNotFit, &why.value, problem, hint) }
        };
        self.log.troubles.iter().cloned().chain(self.misfits.iter().map(misfit)).collect()
    }

    /// Passes of every lay-up still to be made whose lengths and cuts lie ready on a tray.
    #[must_use]
    pub fn ready(&self) -> Vec<BTreeSet<usize>> {
        // What is kept has all its lengths and cuts, so a tray that was ready still is.
        let kept = self.stays.kept.iter().enumerate();
        let still = |(layup, kept): (usize, &BTreeSet<usize>)| {
            kept.iter().copied().filter(|pass| self.state.ready.contains(&(layup, *pass))).collect()
        };
        kept.map(still).collect()
    }

    /// Length left on every bolt for strips, in the order of the job.
    #[must_use]
    pub fn cloth_left(&self) -> Vec<Length> {
        (0..self.ground.job.fabrics.len()).map(|fabric| self.state.left(&self.ground, fabric)).collect()
    }

    /// What happened, in words, and after it what could not be counted.
    fn changes(&self) -> Vec<String> {
        let counting = counting(&self.log.entries).into_iter();
        let changes = counting.filter_map(|entry| words::change(entry, self.ground.job));
        changes
            .chain(self.troubles().into_iter().map(|trouble| format!("Look out: {}", trouble.problem)))
            .collect()
    }

    /// What stays.
    #[must_use]
    pub fn stays(&self) -> &Stays {
        &self.stays
    }

    /// Good patches, as a plan's names and numbers: fabric, shape, hand, good, wanted.
    #[must_use]
    pub fn patches(&self) -> Vec<(String, String, patchlay_plan::Hand, u64, u64)> {
        let line = |line: Line| {
            let (fabric, shape, hand) = self.names(line);
            (fabric, shape, hand, count(&self.stays.good, line), count(&self.stays.wanted, line))
        };
        self.lines().into_iter().map(line).collect()
    }

    fn names(&self, (fabric, shape, hand): Line) -> (String, String, patchlay_plan::Hand) {
        let job = self.ground.job;
        (job.fabrics[fabric].name.clone(), job.shapes[shape].name.clone(), plan_hand(hand))
    }

    /// Kinds of patches that are wanted or there.
    fn lines(&self) -> BTreeSet<Line> {
        self.stays.wanted.keys().chain(self.stays.good.keys()).chain(self.stays.cut.keys()).copied().collect()
    }

    /// The scenario of what is cut anew: the missing patches as loose ones, cloth as wide as found, whole boards and
    /// mats only. None if nothing is missing.
    #[must_use]
    pub fn supplement(&self) -> Option<String> {
        let missing = self.stays.missing();
        if missing.is_empty() {
            return None;
        }
        let job = self.ground.job;
        let mut scenario = amended(&self.ground.plan.scenario, &[]);
        let fields = scenario.as_object_mut()?;
        fields.shift_remove("about");
        fields.insert("name".to_owned(), json!(format!("{}: supplement", job.name)));
        fields.insert("blocks".to_owned(), json!([]));
        fields.insert("spare_patches".to_owned(), json!({ "number": 0 }));
        let loose = |((fabric, shape, hand), count): (&Line, &u64)| {
            json!({
                "shape": job.shapes[*shape].name, "fabric": job.fabrics[*fabric].name, "count": count,
                "mirrored": *hand == job::Hand::Mirrored,
            })
        };
        fields.insert("loose_patches".to_owned(), missing.iter().map(loose).collect());
        let boards = std::mem::take(fields.get_mut("boards")?.as_array_mut()?);
        let whole =
            boards.into_iter().zip(&self.state.boards).zip(&job.boards).filter(|((_, left), _)| **left > 0);
        // The cutters of a group may take less than the largest; that is part of the board from here on.
        let limited = |((mut board, _), own): ((Value, &u32), &job::Board)| {
            board["ply_limit"] = json!(own.ply_limit);
            board
        };
        fields.insert("boards".to_owned(), whole.map(limited).collect());
        let mats = std::mem::take(fields.get_mut("cutter")?.get_mut("mats")?.as_array_mut()?);
        let whole = mats.into_iter().zip(&self.state.mats).filter(|(_, left)| **left > 0);
        let owned = |(mut mat, left): (Value, &u32)| {
            mat["owned"] = json!(left);
            mat
        };
        fields.get_mut("cutter")?["mats"] = whole.map(owned).collect();
        for (at, fabric) in fields.get_mut("fabrics")?.as_array_mut()?.iter_mut().enumerate() {
            let fabric = fabric.as_object_mut()?;
            fabric.shift_remove("kept_back");
            // Letters stay those of the snips that are pinned up already.
            fabric.insert("letter".to_owned(), json!(job.fabrics[at].letter));
            if self.state.widths[at] != job.fabrics[at].width {
                fabric.insert("usable_width".to_owned(), json!(exact(self.state.widths[at])));
                fabric.insert("width_measured".to_owned(), json!("after_washing"));
            }
        }
        serde_json::to_string_pretty(&scenario).ok().map(|text| text + "\n")
    }

    /// The document, with the supplement where there is one.
    ///
    /// # Errors
    /// Only if serde_json fails, which plain data never makes it do.
    pub fn whole(&self, supplement: Option<(&Plan, &Job)>, made_by: &str) -> serde_json::Result<Replan> {
        let (ground, stays) = (&self.ground, &self.stays);
        let name = |layup: usize| ground.plan.layups[layup].name.clone();
        let layups = || 0..ground.plan.layups.len();
        let done = layups().filter(|layup| self.state.made[*layup].iter().all(Option::is_some)).map(name);
        let numbers = |passes: &BTreeSet<usize>| passes.iter().map(|pass| *pass as u64 + 1).collect();
        let kept = layups().filter(|layup| !stays.kept[*layup].is_empty());
        let kept = kept.map(|layup| Kept { layup: name(layup), passes: numbers(&stays.kept[layup]) });
        let lost = |(pass, reason): (&usize, &_)| -> Lost {
            Lost { pass: *pass as u64 + 1, reason: Clone::clone(reason) }
        };
        let dropped = layups().filter(|layup| !stays.lost[*layup].is_empty()).map(|layup| Dropped {
            layup: name(layup),
            passes: stays.lost[layup].iter().map(lost).collect(),
        });
        let piece = |piece: &usize| ground.pieces[*piece].1.name.clone();
        let strips = stays.strips(ground, &self.state);
        let left = strips.iter().map(|(strip, without)| StripLeft {
            strip: ground.strips[*strip].1.name.clone(),
            without: without.iter().map(piece).collect(),
        });
        let on_hand = supplement.map(|(plan, _)| self.on_hand(plan)).unwrap_or_default();
        let strips: Vec<usize> = strips.iter().map(|(strip, _)| *strip).collect();
        let cloth = |fabric| self.cloth(fabric, &strips, supplement.map(|(plan, _)| plan), &on_hand);
        let mut replan = Replan {
            patchlay_replan: REPLAN_VERSION,
            made_by: made_by.to_owned(),
            number: String::new(),
            plan: ground.plan.number.clone(),
            log_bytes: self.log.bytes,
            records: counting(&self.log.entries).len() as u64,
            changes: self.changes(),
            done: done.collect(),
            kept: kept.collect(),
            dropped: dropped.collect(),
            fewest_changed: stays.fewest,
            strips: left.collect(),
            cloth: (0..ground.job.fabrics.len()).map(cloth).collect(),
            on_hand,
            recount: self.recount(supplement),
            supplement: supplement.map(|(plan, _)| plan.clone()),
        };
        replan.number = replan_number(&replan)?;
        Ok(replan)
    }

    fn recount(&self, supplement: Option<(&Plan, &Job)>) -> Vec<Recount> {
        let mut anew = Counts::new();
        if let Some((plan, _)) = supplement {
            // The supplement's own count covers every line that it was asked for.
            for line in self.lines() {
                let (fabric, shape, hand) = self.names(line);
                let same = |own: &&patchlay_plan::PatchLine| {
                    own.fabric == fabric && own.shape == shape && own.hand == hand
                };
                anew.insert(line, plan.patches.iter().filter(same).map(|own| own.cut).sum());
            }
        }
        let recount = |line: Line| {
            let (fabric, shape, hand) = self.names(line);
            let (wanted, good) = (count(&self.stays.wanted, line), count(&self.stays.good, line));
            Recount {
                fabric,
                shape,
                hand,
                wanted,
                good,
                kept: count(&self.stays.cut, line),
                supplement: count(&anew, line),
            }
        };
        self.lines().into_iter().map(recount).collect()
    }

    /// Takes strips of the supplement from cloth that is cut and not needed: whole strips first, then length by length.
    fn on_hand(&self, supplement: &Plan) -> Vec<OnHand> {
        let mut stock = self.stock();
        let mut taken = Vec::new();
        for cloth in &supplement.fabrics {
            let Some(fabric) = self.ground.job.fabrics.iter().position(|own| own.name == cloth.fabric) else {
                continue;
            };
            for strip in &cloth.strips {
                if let Some(from) = stock.take(fabric, strip) {
                    taken.push(OnHand { strip: strip.name.clone(), from });
                }
            }
        }
        taken
    }

    fn stock(&self) -> Stock {
        let used = self.stays.pieces(&self.ground);
        let mut stock = Stock::default();
        for &strip in &self.state.cut {
            let (fabric, own) = self.ground.strips[strip];
            let free: Vec<usize> = self
                .ground
                .pieces_of(strip)
                .filter(|piece| !used.contains(piece) && !self.state.gone.contains(piece))
                .collect();
            let whole = !self.state.divided.contains(&strip) && free.len() == own.pieces.len();
            if whole {
                let length = self.state.widths[fabric] - self.ground.job.fabrics[fabric].end_reserve;
                stock.strips.push(Spare { fabric, width: own.width, length, name: own.name.clone() });
                continue;
            }
            stock.pieces.extend(free.into_iter().map(|piece| {
                let piece = self.ground.pieces[piece].1;
                Spare { fabric, width: piece.width, length: piece.length, name: piece.name.clone() }
            }));
        }
        stock
    }

    fn cloth(
        &self,
        fabric: FabricId,
        strips: &[usize],
        supplement: Option<&Plan>,
        on_hand: &[OnHand],
    ) -> ClothLeft {
        let own = &self.ground.job.fabrics[fabric];
        let taken = |more: &[Length]| self.state.taken(&self.ground, fabric, more);
        let mut widths: Vec<Length> = strips
            .iter()
            .map(|strip| self.ground.strips[*strip])
            .filter(|(cloth, _)| *cloth == fabric)
            .map(|(_, strip)| strip.width)
            .collect();
        let left = self.state.left(&self.ground, fabric);
        let kept = taken(&widths) - taken(&[]);
        let anew = supplement.and_then(|plan| plan.fabric(&own.name)).map_or(&[][..], |cloth| &cloth.strips);
        let mut anew: Vec<Length> = anew
            .iter()
            .filter(|strip| !on_hand.iter().any(|taken| taken.strip == strip.name))
            .map(|strip| strip.width)
            .collect();
        anew.sort_unstable_by(|a, b| b.cmp(a));
        let mut beyond = Vec::new();
        for width in anew {
            widths.push(width);
            if taken(&widths) - taken(&[]) > left {
                widths.pop();
                beyond.push(width);
            }
        }
        let supplement = taken(&widths) - taken(&[]) - kept;
        let bare = own.taken(beyond.len(), beyond.iter().copied().sum()) - own.kept_back_total();
        let buy = if beyond.is_empty() { Length::ZERO } else { own.bought(bare) };
        ClothLeft {
            fabric: own.name.clone(),
            width: self.state.widths[fabric],
            left,
            kept,
            supplement,
            beyond: beyond.len() as u64,
            buy,
        }
    }
}

fn count(counts: &Counts, line: Line) -> u64 {
    counts.get(&line).copied().unwrap_or_default()
}

/// A length as text that is read as exactly that length: whole tenths of a millimetre, 64ths of an inch, or else in the
/// units that all lengths are counted in.
fn exact(length: Length) -> String {
    let units = length.units();
    let (inch, tenth) = (Length::from_64ths(1).units(), Length::from_mm_tenths(1).units());
    if units % inch != 0 && units % tenth == 0 {
        let tenths = units / tenth;
        return format!("{}.{} mm", tenths / 10, tenths % 10);
    }
    match units % inch {
        0 => format!("{}/64 in", units / inch),
        _ => format!("{units}/{} in", Length::from_inches(1).units()),
    }
}

/// Cloth that is cut and not needed.
struct Spare {
    fabric: FabricId,
    width: Length,
    length: Length,
    name: String,
}

#[derive(Default)]
struct Stock {
    strips: Vec<Spare>,
    pieces: Vec<Spare>,
}

impl Stock {
    /// What a strip is taken from, if that is there; it is there no more then.
    fn take(&mut self, fabric: FabricId, strip: &Strip) -> Option<Vec<String>> {
        let content: Length = strip.pieces.iter().map(|piece| piece.length).sum();
        if let Some(at) = narrowest(&self.strips, &BTreeSet::new(), fabric, strip.width, content) {
            return Some(vec![self.strips.remove(at).name]);
        }
        let mut used = BTreeSet::new();
        let mut from = Vec::new();
        let mut longest: Vec<&Piece> = strip.pieces.iter().collect();
        longest.sort_by_key(|piece| std::cmp::Reverse(piece.length));
        for piece in longest {
            let at = narrowest(&self.pieces, &used, fabric, piece.width, piece.length)?;
            used.insert(at);
            from.push((&piece.name, at));
        }
        // In the order of the strip.
        let of = |piece: &Piece| {
            let (_, at) = from.iter().find(|(name, _)| **name == piece.name)?;
            Some(self.pieces[*at].name.clone())
        };
        let names = strip.pieces.iter().filter_map(of).collect();
        for at in used.iter().rev() {
            self.pieces.remove(*at);
        }
        Some(names)
    }
}

/// The narrowest, then shortest, that is large enough.
fn narrowest(
    spares: &[Spare],
    used: &BTreeSet<usize>,
    fabric: FabricId,
    width: Length,
    length: Length,
) -> Option<usize> {
    let fits = |(at, spare): &(usize, &Spare)| {
        !used.contains(at) && spare.fabric == fabric && spare.width >= width && spare.length >= length
    };
    let fitting = spares.iter().enumerate().filter(fits);
    fitting.min_by_key(|(_, spare)| (spare.width, spare.length)).map(|(at, _)| at)
}

/// Gives a supplement names that nobody mixes up with those of the plan, and the number that follows.
///
/// # Errors
/// Only if serde_json fails, which plain data never makes it do.
pub fn mark(plan: &mut Plan) -> serde_json::Result<()> {
    let marked = |name: &mut String| name.insert_str(0, MARK);
    for strip in plan.fabrics.iter_mut().flat_map(|cloth| &mut cloth.strips) {
        marked(&mut strip.name);
        strip.pieces.iter_mut().for_each(|piece| marked(&mut piece.name));
    }
    for layup in &mut plan.layups {
        marked(&mut layup.name);
        layup.passes.iter_mut().flatten().flatten().for_each(marked);
    }
    plan.number = plan_number(plan)?;
    Ok(())
}
