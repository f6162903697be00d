//! From a solution of the model to lay-ups with their supply, in the order of work.

use std::collections::{BTreeMap, BTreeSet, VecDeque};
use std::sync::{Mutex, PoisonError};

use patchlay_scenario::MatPlace;
use patchlay_scenario::job::{Job, Way};

use crate::draft::{ATTEMPTS, Draft, Lay, Packed, worth};
use crate::fewer::Programs;
use crate::groups;
use crate::listen::{Listener, Progress};
use crate::loading::Item;
use crate::model::Model;
use crate::order::Distances;
use crate::pieces::{OpenStrip, PieceRef};
use crate::refine::Turn;
use crate::solution::Solution;
use crate::stock::{Group, way_on};

/// A stack in a lay-up: fabric, bay, parts with the way round of each, bottom first.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct LaidStack {
    /// Bay.
    pub bay: usize,
    /// Fabric.
    pub fabric: usize,
    /// (plies, lowest face down, way) of every part.
    pub parts: Vec<(u32, bool, WayKey)>,
}

/// A way round that can be a key: 0 along, 1 across.
pub type WayKey = u8;

/// A lay-up with the pieces of every pass.
#[derive(Clone, Debug)]
pub struct Laid {
    /// Board.
    pub board: usize,
    /// Stacks, by bay and fabric.
    pub stacks: Vec<LaidStack>,
    /// For every pass, for every stack, the pieces of its parts (fabric's strip, place on it).
    pub passes: Vec<Vec<Vec<PieceRef>>>,
    /// Belongs to the proof block.
    pub proof: bool,
    /// Under block by block, the batch that every pass serves.
    pub serves: Vec<usize>,
}

/// Everything to do: strips opened by fabric and lay-ups in order.
#[derive(Clone, Debug)]
pub struct Work {
    /// Strips of every fabric with their pieces.
    pub strips: Vec<Vec<OpenStrip>>,
    /// Lay-ups in the order of work.
    pub laid: Vec<Laid>,
}

/// How hard to look for better lay-ups.
#[derive(Clone, Copy)]
pub struct Diligence<'a> {
    /// Rounds of changes to each of the best drafts; none for a quick answer.
    pub rounds: u64,
    /// Seed of the changes.
    pub seed: u64,
    /// Whether to stop: what is being looked at is finished, and the best so far is written.
    pub stop: &'a (dyn Fn() -> bool + Sync),
    /// Hears of better lay-ups.
    pub listener: &'a dyn Listener,
}

/// How far the looking for better lay-ups is, for people to watch.
#[derive(Clone, Copy)]
pub(crate) struct Looked<'a> {
    listener: &'a dyn Listener,
    /// Rounds done before those under way, and in all.
    before: u64,
    of: u64,
    /// Price of the cheapest draft so far; none where lay-ups are held dearer than they are, for prices then tell nothing.
    cheapest: Option<&'a Mutex<Price>>,
}

/// The price of a draft.
type Price = (i64, i64);

impl Looked<'_> {
    /// So many rounds of those under way are done.
    pub(crate) fn rounds(&self, done: u64) {
        self.listener.event(&Progress::Share { done: self.before + done, of: self.of });
    }

    /// A draft; it is told if it is the cheapest so far.
    pub(crate) fn draft(&self, draft: &Draft) {
        let Some(cheapest) = self.cheapest else { return };
        let mut cheapest = cheapest.lock().unwrap_or_else(PoisonError::into_inner);
        if draft.price >= *cheapest {
            return;
        }
        *cheapest = draft.price;
        let layups = draft.packed.iter().map(|packed| packed.packing.loadings.len()).sum();
        self.listener.event(&Progress::LayUps { layups });
    }
}

/// Drafts that are changed for the better.
const STARTS: usize = 2;
/// Work before lay-ups made fewer are left as they are; work for changing a draft.
const FEWER: u64 = 12_000;
/// Rounds from which on a plan is worth many programs.
const MANY_ROUNDS: u64 = 20;
const REFINING: u64 = 3_000;
/// How much dearer lay-ups are held at first.
const DEAR: i64 = 3;

/// Lays everything up: first the proof block's plies, if any, then the rest.
#[must_use]
pub fn lay_up(
    job: &Job,
    model: &Model,
    solution: &Solution,
    proof: Option<&Solution>,
    diligence: Diligence<'_>,
) -> Work {
    let mut groups = Vec::new();
    if let Some(proof) = proof {
        groups.extend(groups::of_solution(job, model, proof, 0));
    }
    groups.extend(groups::of_solution(job, model, solution, 1));
    let programs = if diligence.rounds >= MANY_ROUNDS { Programs::MANY } else { Programs::FEW };
    let lay =
        Lay { job, model, solution, proof, groups: &groups, layup: worth(job), thorough: false, programs };
    let draft = best(&lay, diligence);
    draft.map_or_else(|| Work { strips: Vec::new(), laid: Vec::new() }, |draft| lay.work(draft, None))
}

/// The draft written out as it is; `serves` says for every packing and lay-up which batch each pass serves.
pub(crate) fn of_draft(lay: &Lay<'_>, draft: Draft, serves: Option<&[Vec<Vec<usize>>]>) -> Work {
    lay.work(draft, serves)
}

/// The best draft: several ways to divide the strips, with lay-ups as they are packed and made fewer, and from the best
/// of these on whatever change is for the better.
fn best(lay: &Lay<'_>, Diligence { rounds, seed, stop, listener }: Diligence<'_>) -> Option<Draft> {
    let mut drafts: Vec<Draft> = Vec::new();
    let cheapest = Mutex::new((i64::MAX, i64::MAX));
    let begun = Looked { listener, before: 0, of: 0, cheapest: Some(&cheapest) };
    for stocks in lay.choices(&lay.options()) {
        if !drafts.is_empty() && stop() {
            break;
        }
        let packed = lay.settled(lay.draft(stocks, ATTEMPTS));
        if rounds > 0 && !stop() {
            let few = lay.fewest(&packed, FEWER, stop);
            begun.draft(&few);
            drafts.push(few);
        }
        begun.draft(&packed);
        drafts.push(packed);
    }
    drafts.sort_by_key(|draft| draft.price);
    drafts.dedup_by_key(|draft| draft.price);
    drafts.truncate(STARTS);
    let half = |seed| {
        let rounds = rounds / 2;
        Turn { rounds, patience: rounds, work: REFINING * rounds, seed, few_stacks: false }
    };
    let whole = Turn { rounds: 3 * rounds, patience: rounds, few_stacks: true, ..half(seed) };
    let of = 3 * drafts.len() as u64 * (rounds / 2) + whole.rounds;
    let looked = |turn| Looked { before: turn * (rounds / 2), of, ..begun };
    // Once as they are; once with lay-ups held dearer at first: of those made fewer, what does not pay comes back later.
    let dear = Lay { layup: DEAR * lay.layup, ..*lay };
    let last = looked(3 * drafts.len() as u64);
    let refined = (0..).zip(drafts).flat_map(|(at, draft)| {
        let [first, second, third] = [0, 1, 2].map(|turn| looked(3 * at + turn));
        let first = Looked { cheapest: None, ..first };
        let few = lay.priced(dear.refined(dear.priced(draft.clone()), half(seed), stop, &first));
        [
            lay.refined(draft, half(seed), stop, &second),
            lay.refined(few, half(seed.wrapping_add(1)), stop, &third),
        ]
    });
    let best = refined.min_by_key(|draft| draft.price)?;
    if rounds == 0 {
        return Some(best);
    }
    // Then stacks that can be folded whole, and as few kinds of lengths as there can be.
    let lay = Lay { thorough: true, ..*lay };
    Some(lay.with_fewer_kinds(lay.refined(best, whole, stop, &last), stop))
}

impl Lay<'_> {
    /// The draft written out: every pass with its pieces. Under `block by block` batches keep their order.
    fn work(&self, draft: Draft, serves: Option<&[Vec<Vec<usize>>]>) -> Work {
        let mut strips: Vec<Vec<OpenStrip>> = draft.stocks.into_iter().map(|stock| stock.strips).collect();
        self.break_pieces(&draft.packed, &mut strips);
        let mut sections: Vec<Section> = (draft.packed.iter().enumerate())
            .map(|(place, packed)| self.section(packed, serves.map(|serves| serves[place].as_slice())))
            .collect();
        merge(&mut sections);
        if serves.is_none() {
            self.arrange(&mut sections);
        }
        let mut supply = Supply::of(self, &strips);
        let mut laid: Vec<Laid> = Vec::new();
        for Section { board, proof, bare } in sections {
            laid.extend(bare.into_iter().map(|Bare { stacks, sources, times, serves }| {
                let passes = (0..times).map(|_| supply.pass(&sources)).collect();
                Laid { board, stacks, passes, proof, serves }
            }));
        }
        Work { strips, laid }
    }

    fn section(&self, packed: &Packed, serves: Option<&[Vec<usize>]>) -> Section {
        let Packed { stage, board, packing } = packed;
        let loadings = if serves.is_some() { packing.loadings.clone() } else { self.followed(packed) };
        let bare = loadings.iter().enumerate().map(|(index, loading)| {
            let (stacks, sources) = self.stacks(*board, &packing.items, &loading.loads);
            let serves = serves.and_then(|serves| serves.get(index)).cloned().unwrap_or_default();
            Bare { stacks, sources, times: loading.times, serves }
        });
        Section { board: self.model.boards[*board].origin, proof: *stage == 0, bare: bare.collect() }
    }

    /// Puts sections, and the lay-ups of each, into the order of work: the rest begins with the board on which the proof
    /// block ends, and every lay-up changes as little as can be from the one before.
    fn arrange(&self, sections: &mut [Section]) {
        let proofs = sections.iter().take_while(|section| section.proof).count();
        let (first, rest) = sections.split_at_mut(proofs);
        let goes_on = |section: &Section| rest.iter().any(|other| other.board == section.board);
        if let Some(last) = first.iter().rfind(|section| goes_on(section)).map(|section| section.board) {
            first.sort_by_key(|section| section.board == last);
        }
        let ended = first.last().map(|section| section.board);
        rest.sort_by_key(|section| Some(section.board) != ended);
        let mut last: Option<(usize, Set)> = None;
        for section in sections {
            section.bare.sort_by_key(|bare| std::cmp::Reverse(bare.times));
            let sets: Vec<Set> =
                section.bare.iter().map(|bare| self.set(section.board, &bare.stacks)).collect();
            let before = last.as_ref().filter(|last| last.0 == section.board);
            let from = |set: &Set| before.map_or(0, |(_, before)| changes(before, set));
            let between = sets.iter().map(|one| sets.iter().map(|other| changes(one, other)).collect());
            let distances = Distances { between: between.collect(), first: sets.iter().map(from).collect() };
            let order = distances.shortest();
            let mut bare: Vec<Option<Bare>> =
                std::mem::take(&mut section.bare).into_iter().map(Some).collect();
            section.bare = order.iter().filter_map(|&index| bare[index].take()).collect();
            last = order.last().map(|&index| (section.board, sets[index].clone())).or(last);
        }
    }

    /// What is set up for a lay-up.
    fn set(&self, board: usize, stacks: &[LaidStack]) -> Set {
        let board = &self.job.boards[board];
        let mut used: Vec<usize> =
            stacks.iter().flat_map(|stack| board.bays[stack.bay].positions.clone()).collect();
        used.sort_unstable();
        used.dedup();
        let mats = patchlay_scenario::choose_mats(&self.job.cutter, board, &used).unwrap_or_default();
        let mut bays: BTreeMap<usize, Vec<LaidStack>> = BTreeMap::new();
        for stack in stacks {
            bays.entry(stack.bay).or_default().push(stack.clone());
        }
        Set { bays, mats }
    }

    /// The stacks of a lay-up and, for every part, where its pieces come from.
    fn stacks(
        &self,
        board: usize,
        items: &[Item],
        loads: &[(usize, usize, i64)],
    ) -> (Vec<LaidStack>, Vec<Vec<Source>>) {
        type Part = ((u32, bool, WayKey), Source);
        let mut stacks: BTreeMap<(usize, usize), Vec<Part>> = BTreeMap::new();
        for &(index, bay, count) in loads {
            let item = &items[index];
            let group = &self.groups[item.group];
            let way = self.way_key(board, bay, group, item.way);
            let source = (group.fabric, group.class, item.way, item.plies);
            for _ in 0..count {
                let parts = stacks.entry((bay, group.fabric)).or_default();
                let plies = item.plies * self.model.fabrics[group.fabric].plies_of(group.class);
                parts.push(((plies, item.down, way), source));
            }
        }
        stacks
            .into_iter()
            .map(|((bay, fabric), mut parts)| {
                parts.sort_by_key(|((plies, down, way), _)| (std::cmp::Reverse(*plies), *down, *way));
                let (parts, sources) = parts.into_iter().unzip();
                (LaidStack { bay, fabric, parts }, sources)
            })
            .unzip()
    }

    /// 0 along, 1 across: how the group's cloth lies in the bay.
    fn way_key(&self, board: usize, bay: usize, group: &Group, way: usize) -> WayKey {
        let bay = &self.job.boards[self.model.boards[board].origin].bays[bay];
        let fabric = &self.model.fabrics[group.fabric];
        let wanted = fabric.classes[group.class].ways.get(way);
        let wanted = wanted.map(|&(width, _)| (width, fabric.run_of(group.class, width)));
        let (length, width) = bay.cut(Way::Along);
        let along = (width.units() / self.model.grid, length.units() / self.model.grid);
        let allowed = bay.ways(self.job.fabrics[group.fabric].travel_rule);
        u8::from(!(allowed.contains(&Way::Along) && wanted == Some(along)))
    }
}

/// Where a part comes from: fabric, class, way round, plies.
type Source = (usize, usize, usize, u32);

/// A lay-up without its pieces.
struct Bare {
    stacks: Vec<LaidStack>,
    /// Where the parts of every stack come from.
    sources: Vec<Vec<Source>>,
    times: i64,
    serves: Vec<usize>,
}

/// Lay-ups of one board that follow each other.
struct Section {
    board: usize,
    proof: bool,
    bare: Vec<Bare>,
}

/// What is set up for a lay-up: the stacks in every bay, and the mats.
#[derive(Clone)]
struct Set {
    bays: BTreeMap<usize, Vec<LaidStack>>,
    mats: Vec<MatPlace>,
}

/// Pieces not yet used, by what they are, in the order of the strips.
struct Supply(BTreeMap<Source, VecDeque<PieceRef>>);

impl Supply {
    fn of(lay: &Lay<'_>, strips: &[Vec<OpenStrip>]) -> Self {
        let mut supply: BTreeMap<Source, VecDeque<PieceRef>> = BTreeMap::new();
        for (f, strips) in strips.iter().enumerate() {
            let measures = lay.measures(f);
            for (s, strip) in strips.iter().enumerate() {
                for (place, &(class, plies)) in strip.pieces.iter().enumerate() {
                    let way = way_on(&measures, class, strip.width);
                    supply.entry((f, class, way, plies)).or_default().push_back((s, place));
                }
            }
        }
        Self(supply)
    }

    fn pass(&mut self, sources: &[Vec<Source>]) -> Vec<Vec<PieceRef>> {
        let mut next = |source: &Source| self.0.get_mut(source).and_then(VecDeque::pop_front);
        sources.iter().map(|parts| parts.iter().filter_map(&mut next).collect()).collect()
    }
}

/// Bays loaded otherwise, and one more for other mats.
fn changes(one: &Set, other: &Set) -> u64 {
    let bays: BTreeSet<usize> = one.bays.keys().chain(other.bays.keys()).copied().collect();
    let differing = bays.iter().filter(|bay| one.bays.get(bay) != other.bays.get(bay)).count() as u64;
    differing + u64::from(one.mats != other.mats)
}

/// Lay-ups that agree are one, at the place of the first.
fn merge(sections: &mut Vec<Section>) {
    let mut kept: Vec<Section> = Vec::new();
    for Section { board, proof, bare } in sections.drain(..) {
        let mut own: Vec<Bare> = Vec::new();
        for next in bare {
            let earlier = kept.iter_mut().filter(|section| section.board == board);
            let mut known = earlier.flat_map(|section| &mut section.bare).chain(&mut own);
            match known.find(|known| known.stacks == next.stacks) {
                Some(known) => {
                    known.times += next.times;
                    known.serves.extend(next.serves);
                }
                None => own.push(next),
            }
        }
        kept.push(Section { board, proof, bare: own });
    }
    kept.retain(|section| !section.bare.is_empty());
    *sections = kept;
}
