//! Better drafts: lay-ups are taken apart a few at a time and made anew, as fewer, as many or one more, and the stacks
//! made up again from folded lengths; whatever is cheaper is kept. What a change costs is always the true price, with
//! strips divided for it.

use std::collections::{BTreeMap, BTreeSet};

use rayon::prelude::*;

use crate::draft::{Draft, Lay, Packed};
use crate::fewer::{self, Luck, Wanted};
use crate::folds::{self, Parts, Stack};
use crate::loading::{Item, Loading, Packing};
use crate::pieces::OpenStrip;
use crate::search::Random;
use crate::stock::{Stock, way_on};
use crate::work::Looked;

/// Changes tried side by side before the best of them is taken.
const BATCH: u64 = 8;

/// How long to change a draft, and how.
#[derive(Clone, Copy)]
pub(crate) struct Turn {
    /// Batches, and batches in a row that make nothing cheaper.
    pub(crate) rounds: u64,
    pub(crate) patience: u64,
    /// Variables of all programs.
    pub(crate) work: u64,
    pub(crate) seed: u64,
    /// Plies are laid in few stacks, and neither lay-ups nor seconds of preparing become more than they are.
    pub(crate) few_stacks: bool,
}

impl Lay<'_> {
    /// The draft with its broken lengths cut, and every stack made up anew.
    pub(crate) fn settled(&self, draft: Draft) -> Draft {
        let Draft { stocks, packed, .. } = draft;
        let mut strips: Vec<Vec<OpenStrip>> = stocks.into_iter().map(|stock| stock.strips).collect();
        self.break_pieces(&packed, &mut strips);
        let packed = packed
            .into_iter()
            .map(|packed| Packed { packing: Packing { broken: Vec::new(), ..packed.packing }, ..packed });
        self.folded(strips, packed.collect(), &|_| true, None)
    }

    /// The draft with as few lay-ups as its lengths and cuts allow, whatever that does to them afterwards.
    pub(crate) fn fewest(&self, draft: &Draft, work: u64, stop: &(dyn Fn() -> bool + Sync)) -> Draft {
        let mut packed = draft.packed.clone();
        for packed in &mut packed {
            let Packing { items, loadings, .. } = &packed.packing;
            let question = self.question(packed.board, items);
            packed.packing.loadings =
                fewer::fewer(&question, items, loadings.clone(), work, self.programs, stop);
        }
        let strips = draft.stocks.iter().map(|stock| stock.strips.clone()).collect();
        self.folded(strips, packed, &|_| true, None)
    }

    /// Changes the draft for the better until the turn ends, half of its rounds in a row found nothing cheaper, or `stop`
    /// says so.
    pub(crate) fn refined(
        &self,
        draft: Draft,
        turn: Turn,
        stop: &(dyn Fn() -> bool + Sync),
        looked: &Looked<'_>,
    ) -> Draft {
        let Turn { rounds, patience, work, seed, few_stacks } = turn;
        let most = draft.work();
        let within = |draft: &Draft| !few_stacks || (draft.work().0 <= most.0 && draft.work().1 <= most.1);
        let mut best = draft;
        let (mut done, mut failed) = (0, 0);
        looked.draft(&best);
        for round in 0..rounds {
            looked.rounds(round);
            if done >= work || failed >= patience || 2 * failed > rounds || stop() {
                break;
            }
            failed += 1;
            let found: Vec<(Option<Draft>, u64)> = (0..BATCH)
                .into_par_iter()
                .map(|place| {
                    let number = seed.wrapping_mul(1_000_003).wrapping_add(round * BATCH + place);
                    let mut luck = Luck { random: Random::new(number), work: 0, programs: self.programs };
                    (self.changed(&best, few_stacks, &mut luck), luck.work)
                })
                .collect();
            done += found.iter().map(|found| found.1).sum::<u64>();
            let found = found.into_iter().filter_map(|found| found.0).filter(within);
            let found = found.min_by_key(|draft| draft.price);
            // What costs the same is taken too: it may lead further.
            if let Some(found) = found.filter(|found| found.price <= best.price) {
                failed = if found.price < best.price { 0 } else { failed };
                best = found;
                looked.draft(&best);
            }
        }
        best
    }

    /// The draft at this worth of a lay-up.
    pub(crate) fn priced(&self, draft: Draft) -> Draft {
        let price = self.price(&draft.stocks, &draft.packed);
        Draft { price, ..draft }
    }

    /// The draft with fewer kinds of lengths and cuts, as long as the strips give the same stacks without one of them and
    /// neither seconds nor lengths and cuts are more.
    pub(crate) fn with_fewer_kinds(&self, draft: Draft, stop: &(dyn Fn() -> bool + Sync)) -> Draft {
        let mut best = draft;
        while !stop() {
            let mut seldom: Vec<(i64, usize, folds::Kind)> = Vec::new();
            for (f, stock) in best.stocks.iter().enumerate() {
                seldom.extend(self.kinds(f, &stock.strips).into_iter().map(|(kind, n)| (n, f, kind)));
            }
            seldom.sort_unstable();
            let lengths = |draft: &Draft, f: usize| -> usize {
                draft.stocks[f].strips.iter().map(|strip| strip.pieces.len()).sum()
            };
            let less = |draft: &Draft, f: usize| {
                draft.price < best.price
                    && draft.stocks[f].cost.0 <= best.stocks[f].cost.0
                    && lengths(draft, f) <= lengths(&best, f)
            };
            let found = seldom.par_iter().find_map_first(|&(_, f, kind)| {
                Some(self.without(&best, f, kind)).filter(|draft| less(draft, f))
            });
            match found {
                Some(found) => best = found,
                None => break,
            }
        }
        best
    }

    /// The draft without lengths of a kind: what they were is cut flat, and all stacks of the fabric made up anew.
    fn without(&self, draft: &Draft, f: usize, kind: folds::Kind) -> Draft {
        let mut packed = draft.packed.clone();
        for Packed { packing, .. } in &mut packed {
            let Packing { items, loadings, .. } = std::mem::take(packing);
            let mut next = Packing::default();
            for loading in &loadings {
                let mut flat = Loading { times: loading.times, loads: Vec::new() };
                let mut parts: Vec<Item> = Vec::new();
                for &(index, bay, n) in &loading.loads {
                    let item = &items[index];
                    let group = &self.groups[item.group];
                    let (up, down) = folds::faces_of(group, item.plies, item.down);
                    let single = |down| Item { plies: 1, down, count: 0, ..item.clone() };
                    if (group.fabric, (group.class, item.way, item.plies)) == (f, kind) {
                        for (item, each) in [(single(false), up), (single(true), down)] {
                            if each > 0 {
                                flat.loads.push((parts.len(), bay, each * n));
                                parts.push(item);
                            }
                        }
                    } else {
                        flat.loads.push((parts.len(), bay, n));
                        parts.push(item.clone());
                    }
                }
                put(&mut next, &flat, &parts);
            }
            *packing = next;
        }
        let strips = draft.stocks.iter().map(|stock| stock.strips.clone()).collect();
        self.folded(strips, packed, &|fabric| fabric == f, Some(kind))
    }

    /// A few lay-ups of one board taken apart and made anew.
    fn changed(&self, draft: &Draft, few_stacks: bool, luck: &mut Luck) -> Option<Draft> {
        let places: Vec<usize> = draft
            .packed
            .iter()
            .enumerate()
            .flat_map(|(place, packed)| packed.packing.loadings.iter().map(move |_| place))
            .collect();
        let place = *places.get(luck.random.below(places.len()))?;
        let Packed { board, packing, .. } = &draft.packed[place];
        let apart = fewer::chosen(&packing.loadings, &mut luck.random);
        let by_plies = luck.random.below(2) == 0;
        let (items, counts) = if by_plies {
            self.as_plies(packing, &apart)
        } else {
            (packing.items.clone(), used(packing, &apart, packing.items.len()))
        };
        let passes = apart.iter().map(|&index| packing.loadings[index].times).sum();
        let layups = match luck.random.below(6) {
            0..=2 => apart.len() - 1,
            3 | 4 => apart.len(),
            _ => apart.len() + 1,
        };
        if layups == 0 {
            return None;
        }
        let question = self.question(*board, &items);
        // Single plies can be folded as they come to lie; so few stacks are worth looking for.
        let wanted = if few_stacks && by_plies { Wanted::FewStacks } else { Wanted::Any };
        let made = fewer::anew(&question, &items, &counts, (passes, layups), wanted, luck)?;
        let touched: BTreeSet<usize> = (items.iter().zip(&counts).filter(|(_, count)| **count > 0))
            .map(|(item, _)| self.groups[item.group].fabric)
            .collect();
        let kept = packing.loadings.iter().enumerate().filter(|(index, _)| !apart.contains(index));
        let mut next = Packing::default();
        for loading in kept.map(|(_, loading)| loading) {
            put(&mut next, loading, &packing.items);
        }
        for loading in &made {
            put(&mut next, loading, &items);
        }
        let mut packed = draft.packed.clone();
        packed[place].packing = next;
        let strips = draft.stocks.iter().map(|stock| stock.strips.clone()).collect();
        Some(self.folded(strips, packed, &|f| touched.contains(&f), None))
    }

    /// What lies in some lay-ups as single plies: items and how many of each.
    fn as_plies(&self, packing: &Packing, apart: &[usize]) -> (Vec<Item>, Vec<i64>) {
        let mut plies: BTreeMap<(usize, usize, bool), i64> = BTreeMap::new();
        for loading in apart.iter().map(|&index| &packing.loadings[index]) {
            for &(index, _, n) in &loading.loads {
                let item = &packing.items[index];
                let faces = folds::faces_of(&self.groups[item.group], item.plies, item.down);
                for (down, each) in [(false, faces.0), (true, faces.1)] {
                    if each > 0 {
                        *plies.entry((item.group, item.way, down)).or_default() += each * n * loading.times;
                    }
                }
            }
        }
        let item = |(group, way, down), count| Item { group, way, plies: 1, down, count };
        plies.into_iter().map(|(key, count)| (item(key, count), count)).unzip()
    }

    /// Stacks made up anew, and strips divided for them, for the fabrics that were touched.
    fn folded(
        &self,
        strips: Vec<Vec<OpenStrip>>,
        packed: Vec<Packed>,
        touched: &(dyn Fn(usize) -> bool + Sync),
        without: Option<folds::Kind>,
    ) -> Draft {
        let fabrics = strips.len();
        let mut stacked = vec![Stacked::default(); fabrics];
        for (p, packed) in packed.iter().enumerate() {
            self.collect(p, &packed.packing, &mut stacked);
        }
        let made: Vec<(Stock, Vec<Parts>)> = strips
            .into_par_iter()
            .zip(stacked.par_iter())
            .enumerate()
            .map(|(f, (strips, stacked))| self.fold_fabric(f, strips, stacked, touched(f).then_some(without)))
            .collect();
        let mut next: Vec<Packed> = packed
            .iter()
            .map(|packed| {
                let bare = |loading: &Loading| Loading { times: loading.times, loads: Vec::new() };
                let loadings = packed.packing.loadings.iter().map(bare).collect();
                Packed { packing: Packing { loadings, ..Packing::default() }, ..*packed }
            })
            .collect();
        let mut stocks = Vec::new();
        for ((stock, parts), stacked) in made.into_iter().zip(stacked) {
            for ((&(p, l, bay), stack), parts) in stacked.places.iter().zip(&stacked.stacks).zip(parts) {
                for ((way, plies, down), n) in parts {
                    let item = Item { group: stack.group, way, plies, down, count: n * stack.times };
                    let index = place_of(&mut next[p].packing.items, &item);
                    next[p].packing.loadings[l].loads.push((index, bay, n));
                }
            }
            stocks.push(stock);
        }
        let price = self.price(&stocks, &next);
        Draft { stocks, packed: next, price }
    }

    fn fold_fabric(
        &self,
        f: usize,
        strips: Vec<OpenStrip>,
        stacked: &Stacked,
        touched: Option<Option<folds::Kind>>,
    ) -> (Stock, Vec<Parts>) {
        let measures = self.measures(f);
        let capacity = self.job.fabrics[f].strip_capacity();
        let strips = if touched.is_some() { self.cut_for(f, strips, stacked) } else { strips };
        let cost = folds::cost(&measures, self.handling(), &strips);
        let terms = (&measures, self.handling(), capacity);
        let search = |without| folds::Search { thorough: self.thorough, without };
        if let Some(search) = touched.map(search)
            && let Some(folded) =
                folds::fold(terms, self.groups, &stacked.stacks, &strips, &stacked.parts, search)
            && folded.cost < cost
        {
            let stock = Stock { strips: folded.strips, shares: Vec::new(), cost: (folded.cost, 0) };
            return (stock, folded.parts);
        }
        (Stock { strips, shares: Vec::new(), cost: (cost, 0) }, stacked.parts.clone())
    }

    /// The strips with what no stack takes any more cut flat: single plies always have the room.
    fn cut_for(&self, f: usize, mut strips: Vec<OpenStrip>, stacked: &Stacked) -> Vec<OpenStrip> {
        let measures = self.measures(f);
        let mut wanted: BTreeMap<(usize, usize, u32), i64> = BTreeMap::new();
        for (stack, parts) in stacked.stacks.iter().zip(&stacked.parts) {
            for &((way, plies, _), n) in parts {
                *wanted.entry((self.groups[stack.group].class, way, plies)).or_default() += n * stack.times;
            }
        }
        for strip in &mut strips {
            let mut pieces = Vec::with_capacity(strip.pieces.len());
            for &(class, plies) in &strip.pieces {
                let left = wanted.entry((class, way_on(&measures, class, strip.width), plies)).or_default();
                *left -= 1;
                if *left >= 0 || plies == 1 {
                    pieces.push((class, plies));
                } else {
                    pieces.extend((0..plies).map(|_| (class, 1)));
                    strip.slack += measures.extra(class, strip.width, plies);
                }
            }
            strip.pieces = pieces;
        }
        strips
    }

    /// The stacks of a packing, by fabric.
    fn collect(&self, p: usize, packing: &Packing, stacked: &mut [Stacked]) {
        for (l, loading) in packing.loadings.iter().enumerate() {
            let mut here: BTreeMap<(usize, usize), Parts> = BTreeMap::new();
            for &(index, bay, n) in &loading.loads {
                let item = &packing.items[index];
                let known = here.entry((item.group, bay)).or_default();
                let part = (item.way, item.plies, item.down);
                match known.iter_mut().find(|known| known.0 == part) {
                    Some(known) => known.1 += n,
                    None => known.push((part, n)),
                }
            }
            for ((group, bay), parts) in here {
                let (mut up, mut down) = (0, 0);
                for &((_, plies, face), n) in &parts {
                    let faces = folds::faces_of(&self.groups[group], plies, face);
                    up += n * faces.0;
                    down += n * faces.1;
                }
                let of_fabric = &mut stacked[self.groups[group].fabric];
                of_fabric.places.push((p, l, bay));
                of_fabric.stacks.push(Stack { group, times: loading.times, up, down });
                of_fabric.parts.push(parts);
            }
        }
    }
}

/// The stacks of a fabric, and how they are made up so far.
#[derive(Clone, Default)]
struct Stacked {
    /// Packing, lay-up and bay of each.
    places: Vec<(usize, usize, usize)>,
    stacks: Vec<Stack>,
    parts: Vec<Parts>,
}

/// How many of each item some lay-ups take.
fn used(packing: &Packing, apart: &[usize], items: usize) -> Vec<i64> {
    let mut counts = vec![0; items];
    for loading in apart.iter().map(|&index| &packing.loadings[index]) {
        loading.loads.iter().for_each(|&(item, _, n)| counts[item] += n * loading.times);
    }
    counts
}

/// Adds a lay-up of those items to a packing.
fn put(packing: &mut Packing, loading: &Loading, items: &[Item]) {
    let mut loads = Vec::with_capacity(loading.loads.len());
    for &(index, bay, n) in &loading.loads {
        let item = Item { count: n * loading.times, ..items[index].clone() };
        loads.push((place_of(&mut packing.items, &item), bay, n));
    }
    packing.loadings.push(Loading { times: loading.times, loads });
}

/// Adds so many of an item, and says where it is.
fn place_of(items: &mut Vec<Item>, item: &Item) -> usize {
    let alike = |known: &Item| Item { count: item.count, ..known.clone() } == *item;
    match items.iter().position(alike) {
        Some(index) => {
            items[index].count += item.count;
            index
        }
        None => {
            items.push(item.clone());
            items.len() - 1
        }
    }
}
