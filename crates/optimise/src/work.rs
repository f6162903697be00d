//! From a solution of the model to lay-ups with their supply, in the order of work.

use std::collections::{BTreeMap, VecDeque};
use std::sync::{Mutex, PoisonError};

use patchlay_scenario::job::{Job, Way};

use crate::draft::{ATTEMPTS, Draft, Lay, Packed, worth};
use crate::groups;
use crate::listen::{Listener, Progress};
use crate::loading::Item;
use crate::model::Model;
use crate::pieces::{OpenStrip, PieceRef};
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
/// Batches without success, and work, before lay-ups made fewer are left as they are; work for changing a draft.
const FEWER: (u64, u64) = (4, 12_000);
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
    let lay = Lay { job, model, solution, proof, groups: &groups, layup: worth(job) };
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
    let half = |seed| (rounds / 2, REFINING * rounds / 2, seed);
    let turns = 3 * drafts.len() as u64;
    let looked = |turn| Looked { before: turn * (rounds / 2), of: turns * (rounds / 2), ..begun };
    // Once as they are; once with lay-ups held dearer at first: of those made fewer, what does not pay comes back later.
    let dear = Lay { layup: DEAR * lay.layup, ..*lay };
    let refined = (0..).zip(drafts).flat_map(|(at, draft)| {
        let [first, second, third] = [0, 1, 2].map(|turn| looked(3 * at + turn));
        let first = Looked { cheapest: None, ..first };
        let few = lay.priced(dear.refined(dear.priced(draft.clone()), half(seed), stop, &first));
        [
            lay.refined(draft, half(seed), stop, &second),
            lay.refined(few, half(seed.wrapping_add(1)), stop, &third),
        ]
    });
    refined.min_by_key(|draft| draft.price)
}

impl Lay<'_> {
    /// The draft written out: every pass with its pieces.
    fn work(&self, draft: Draft, serves: Option<&[Vec<Vec<usize>>]>) -> Work {
        let mut strips: Vec<Vec<OpenStrip>> = draft.stocks.into_iter().map(|stock| stock.strips).collect();
        self.break_pieces(&draft.packed, &mut strips);
        let mut supply = Supply::of(self, &strips);
        let mut laid: Vec<Laid> = Vec::new();
        for (place, Packed { stage, board, packing }) in draft.packed.into_iter().enumerate() {
            let bare: Vec<Bare> = packing
                .loadings
                .iter()
                .map(|loading| {
                    let (stacks, sources) = self.stacks(board, &packing.items, &loading.loads);
                    (stacks, sources, loading.times)
                })
                .collect();
            for index in in_order(&bare) {
                let (stacks, sources, times) = &bare[index];
                let passes = (0..*times).map(|_| supply.pass(sources)).collect();
                let board = self.model.boards[board].origin;
                let serves =
                    serves.and_then(|serves| serves.get(place)?.get(index)).cloned().unwrap_or_default();
                laid.push(Laid { board, stacks: stacks.clone(), passes, proof: stage == 0, serves });
            }
        }
        Work { strips, laid: merged(laid) }
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

/// A lay-up without its pieces: stacks, where their parts come from, times.
type Bare = (Vec<LaidStack>, Vec<Vec<Source>>, i64);

/// Parts by bay and fabric, with how many there are.
type Parts = BTreeMap<(usize, usize, (u32, bool, WayKey)), i64>;

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

/// Lay-ups in the order of work: the one made most often first, then always the one that differs least.
fn in_order(bare: &[Bare]) -> Vec<usize> {
    let mut left: Vec<usize> = (0..bare.len()).collect();
    let mut order: Vec<usize> = Vec::new();
    while !left.is_empty() {
        let next = left.iter().copied().min_by_key(|&index| {
            let changes = order.last().map_or(0, |&last| changes(&bare[last].0, &bare[index].0));
            (changes, std::cmp::Reverse(bare[index].2), index)
        });
        let Some(next) = next else { break };
        left.retain(|&index| index != next);
        order.push(next);
    }
    order
}

/// Parts that one lay-up has and the other has not.
fn changes(one: &[LaidStack], other: &[LaidStack]) -> usize {
    let parts = |stacks: &[LaidStack]| -> Parts {
        let mut parts = Parts::new();
        for stack in stacks {
            for &part in &stack.parts {
                *parts.entry((stack.bay, stack.fabric, part)).or_default() += 1;
            }
        }
        parts
    };
    let (one, other) = (parts(one), parts(other));
    let beyond = |a: &Parts, b: &Parts| -> usize {
        let more = a.iter().map(|(part, n)| (n - b.get(part).unwrap_or(&0)).max(0));
        more.map(|n| usize::try_from(n).unwrap_or(0)).sum()
    };
    beyond(&one, &other) + beyond(&other, &one)
}

/// Lay-ups that agree are one, at the place of the first.
fn merged(laid: Vec<Laid>) -> Vec<Laid> {
    let mut kept: Vec<Laid> = Vec::new();
    for next in laid {
        match kept.iter_mut().find(|known| known.board == next.board && known.stacks == next.stacks) {
            Some(known) => {
                known.passes.extend(next.passes);
                known.serves.extend(next.serves);
            }
            None => kept.push(next),
        }
    }
    kept
}
