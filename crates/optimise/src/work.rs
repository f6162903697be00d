//! From a solution of the model to lay-ups with their supply, in the order of work.

use std::collections::{BTreeMap, VecDeque};

use patchlay_scenario::job::{Job, Way};

use crate::groups;
use crate::layups::{self, Kind, load_bound};
use crate::loading::{Broken, Item, Loading, Packing, Question};
use crate::model::Model;
use crate::pieces::{Measures, OpenStrip, PieceRef};
use crate::solution::Solution;
use crate::stock::{self, Group, Handling, Stock, way_on};

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
}

/// Everything to do: strips opened by fabric and lay-ups in order.
#[derive(Clone, Debug)]
pub struct Work {
    /// Strips of every fabric with their pieces.
    pub strips: Vec<Vec<OpenStrip>>,
    /// Lay-ups in the order of work.
    pub laid: Vec<Laid>,
}

/// What a further lay-up is worth, in seconds: a card to read, cloth to sort. An assumption like the standard times,
/// but none of them; it only weighs lay-ups against lengths and cuts.
const LAYUP: i64 = 60;
/// What a further kind of length or cut is worth, in seconds, when strips are divided.
const KINDS: [i64; 3] = [0, 20, 80];
/// Attempts at packing each board, for every choice and for the best of them.
const GLANCES: u64 = 2;
const ATTEMPTS: u64 = 8;

/// Lays everything up: first the proof block's plies, if any, then the rest.
#[must_use]
pub fn lay_up(job: &Job, model: &Model, solution: &Solution, proof: Option<&Solution>) -> Work {
    let mut groups = Vec::new();
    if let Some(proof) = proof {
        groups.extend(groups::of_solution(job, model, proof, 0));
    }
    groups.extend(groups::of_solution(job, model, solution, 1));
    let lay = Lay { job, model, solution, proof, groups: &groups };
    let options = lay.options();
    let drafts = lay.choices(&options).into_iter().map(|stocks| lay.draft(stocks, GLANCES));
    let draft = drafts.min_by_key(|draft| draft.price).map(|first| {
        let again = lay.draft(first.stocks.clone(), ATTEMPTS);
        if again.price < first.price { again } else { first }
    });
    draft.map_or_else(|| Work { strips: Vec::new(), laid: Vec::new() }, |draft| lay.work(draft))
}

struct Lay<'a> {
    job: &'a Job,
    model: &'a Model,
    solution: &'a Solution,
    proof: Option<&'a Solution>,
    groups: &'a [Group],
}

/// Divided strips and the lay-ups made of them.
struct Draft {
    stocks: Vec<Stock>,
    /// Stage, board and packing, in the order of work.
    packed: Vec<(usize, usize, Packing)>,
    /// Passes, then seconds.
    price: (i64, i64),
}

impl Lay<'_> {
    fn measures(&self, f: usize) -> Measures<'_> {
        Measures {
            classes: &self.model.fabrics[f].classes,
            grid: self.model.grid,
            fold: self.job.fold_allowance,
            step: self.job.ruler_step,
        }
    }

    fn handling(&self) -> Handling {
        let times = &self.job.cutter.times;
        Handling {
            flat: i64::from(times.cross_cut) + i64::from(times.place),
            folded: i64::from(times.cross_cut) + i64::from(times.fold),
            trim: i64::from(times.trim),
        }
    }

    /// Ways to divide the strips of every fabric, the plain one (all flat) first.
    fn options(&self) -> Vec<Vec<(Vec<u32>, Stock)>> {
        (0..self.model.fabrics.len())
            .map(|f| {
                let measures = self.measures(f);
                let groups: Vec<Group> =
                    self.groups.iter().filter(|group| group.fabric == f).cloned().collect();
                let mut needed = vec![0; self.model.fabrics[f].classes.len()];
                groups.iter().for_each(|group| needed[group.class] += group.plies());
                let capacity = self.job.fabrics[f].strip_capacity();
                let opened = stock::open(&measures, &self.solution.strips[f], &needed, capacity);
                let most = groups.iter().map(|group| group.limit).max().unwrap_or(1);
                let mut options =
                    vec![(Vec::new(), stock::flat(&measures, self.handling(), &opened, &groups))];
                for menu in menus(most) {
                    if let Some(stock) = stock::divide(&measures, self.handling(), &opened, &groups, &menu) {
                        options.push((menu, stock));
                    }
                }
                options
            })
            .collect()
    }

    /// Choices worth packing: for every fabric the cheapest option, by several measures of cheap.
    fn choices(&self, options: &[Vec<(Vec<u32>, Stock)>]) -> Vec<Vec<Stock>> {
        let mut choices: Vec<Vec<Stock>> = Vec::new();
        for even in [false, true] {
            for kinds in KINDS {
                let stocks = options.iter().enumerate().filter_map(|(f, options)| {
                    let limit = self.job.fabrics[f].ply_limit;
                    let fits = |menu: &[u32]| !even || menu.iter().all(|&k| limit.is_multiple_of(k));
                    let cost = |stock: &Stock| {
                        stock.cost.0 + kinds * i64::try_from(stock.cost.1).unwrap_or(i64::MAX / 200)
                    };
                    let fitting = options.iter().filter(|(menu, _)| fits(menu)).map(|(_, stock)| stock);
                    fitting.min_by_key(|stock| cost(stock)).cloned()
                });
                let stocks: Vec<Stock> = stocks.collect();
                if !choices.contains(&stocks) {
                    choices.push(stocks);
                }
            }
        }
        choices
    }

    /// Packs what the strips give into lay-ups.
    fn draft(&self, stocks: Vec<Stock>, attempts: u64) -> Draft {
        let items = items(self.groups, &stocks);
        let split = |plies: u32| self.split(plies);
        let mut packed = Vec::new();
        for stage in 0..2 {
            for (b, board) in self.model.boards.iter().enumerate() {
                let here = |item: &&Item| {
                    let group = &self.groups[item.group];
                    (group.stage, group.board) == (stage, b)
                };
                let items: Vec<Item> = items.iter().filter(here).cloned().collect();
                if items.is_empty() {
                    continue;
                }
                let question =
                    Question { board, groups: self.groups, items: &items, split: &split, layup: 4 };
                packed.push((stage, b, self.pack(&question, attempts, stage, b)));
            }
        }
        let mut seconds: i64 = stocks.iter().map(|stock| stock.cost.0).sum();
        let mut passes = 0;
        for (_, _, packing) in &packed {
            passes += packing.passes();
            seconds += LAYUP * i64::try_from(packing.loadings.len()).unwrap_or(i64::MAX / 200);
            seconds +=
                packing.broken.iter().map(|b| self.handling().of_breaking(b.plies, b.into)).sum::<i64>();
        }
        Draft { stocks, packed, price: (passes, seconds) }
    }

    /// Into two halves if their folds take no more of the strip, else one ply off.
    fn split(&self, plies: u32) -> (u32, u32) {
        let folds = |k: u32| (self.job.fold_allowance * i64::from(k - 1)).ceil_to(self.job.ruler_step);
        let (low, high) = (plies.div_ceil(2), plies / 2);
        if folds(low) + folds(high) <= folds(plies) { (low, high) } else { (plies - 1, 1) }
    }

    fn pack(&self, question: &Question<'_>, attempts: u64, stage: usize, b: usize) -> Packing {
        let solution = if stage == 0 { self.proof.unwrap_or(self.solution) } else { self.solution };
        let (kinds, sources) = kinds_of(self.model, solution, b);
        let bound = load_bound(question.board, &kinds);
        // Plies may change places within their groups: now and then that saves a pass.
        let mut least = bound;
        while least > 1 && question.loads_fit(least - 1) {
            least -= 1;
        }
        let packed = layups::pack(question.board, &kinds);
        let known: i64 = packed.iter().map(|packed| packed.times).sum();
        (least..=known)
            .find_map(|passes| question.pack(passes, attempts))
            .unwrap_or_else(|| plain(self.groups, question, &packed, &kinds, &sources))
    }
}

impl Lay<'_> {
    /// The draft written out: every pass with its pieces.
    fn work(&self, draft: Draft) -> Work {
        let mut strips: Vec<Vec<OpenStrip>> = draft.stocks.into_iter().map(|stock| stock.strips).collect();
        for broken in draft.packed.iter().flat_map(|(_, _, packing)| &packing.broken) {
            let group = &self.groups[broken.group];
            let measures = self.measures(group.fabric);
            stock::break_piece(
                &measures,
                &mut strips[group.fabric],
                group.class,
                (broken.way, broken.plies),
                broken.into,
            );
        }
        let mut supply = Supply::of(self, &strips);
        let mut laid: Vec<Laid> = Vec::new();
        for (stage, board, packing) in draft.packed {
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
                laid.push(Laid { board, stacks: stacks.clone(), passes, proof: stage == 0 });
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
                parts.push(((item.plies, item.down, way), source));
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
        let bay = &self.job.boards[board].bays[bay];
        let wanted = self.model.fabrics[group.fabric].classes[group.class].ways.get(way);
        let (length, width) = bay.cut(Way::Along);
        let along = (width.units() / self.model.grid, length.units() / self.model.grid);
        let allowed = bay.ways(self.job.fabrics[group.fabric].travel_rule);
        u8::from(!(allowed.contains(&Way::Along) && wanted == Some(&along)))
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

/// Everything to pack, over all groups.
fn items(groups: &[Group], stocks: &[Stock]) -> Vec<Item> {
    let mut seen = vec![0_usize; stocks.len()];
    let mut items = Vec::new();
    for (index, group) in groups.iter().enumerate() {
        let share = &stocks[group.fabric].shares[seen[group.fabric]];
        seen[group.fabric] += 1;
        let pairs: i64 = share.iter().map(|(cut, n)| i64::from(cut.1 / 2) * n).sum();
        // Odd lengths and flat cuts lie face down as often as pairs leave plies face down over.
        let mut down_left = if group.by_face { group.down - pairs } else { 0 };
        for (&(way, plies), &count) in share.iter().rev() {
            let down = if plies % 2 == 1 { count.min(down_left) } else { 0 };
            down_left -= down;
            for (down, count) in [(false, count - down), (true, down)] {
                if count > 0 {
                    items.push(Item { group: index, way, plies, down, count });
                }
            }
        }
    }
    items
}

/// Sets of folded lengths to try: all, and every one or two of them.
fn menus(most: u32) -> Vec<Vec<u32>> {
    let sizes: Vec<u32> = (2..=most.min(12)).rev().collect();
    let mut menus: Vec<Vec<u32>> = sizes.iter().map(|&k| vec![k]).collect();
    for (place, &high) in sizes.iter().enumerate() {
        menus.extend(sizes[place + 1..].iter().map(|&low| vec![high, low]));
    }
    let even: Vec<u32> = sizes.iter().copied().filter(|&k| most.is_multiple_of(k)).collect();
    for menu in [even, sizes] {
        if menu.len() > 2 {
            menus.push(menu);
        }
    }
    menus
}

/// Plies of a board as kinds, with the fabric and whether face down.
fn kinds_of(model: &Model, solution: &Solution, board: usize) -> (Vec<Kind>, Vec<(usize, bool)>) {
    let mut kinds = Vec::new();
    let mut sources = Vec::new();
    for (f, plies) in solution.plies.iter().enumerate() {
        for (ply, &count) in plies.iter().enumerate().filter(|(_, count)| **count > 0) {
            let data = &model.fabrics[f].plies[ply];
            if data.board == Some(board) {
                kinds.push(Kind { bay: data.bay, load: data.load, count });
                sources.push((f, data.face == crate::model::Face::Down));
            }
        }
    }
    (kinds, sources)
}

/// The plain way: every ply a flat cut in the bay that the solution gives it.
fn plain(
    groups: &[Group],
    question: &Question<'_>,
    packed: &[layups::Packed],
    kinds: &[Kind],
    sources: &[(usize, bool)],
) -> Packing {
    let mut packing = Packing::default();
    let mut flats: Vec<Item> = Vec::new();
    for item in question.items {
        let odd = i64::from(item.plies % 2) * item.count;
        let pairs = i64::from(item.plies / 2) * item.count;
        let by_face = groups[item.group].by_face;
        let up = if by_face { pairs } else { 2 * pairs } + if item.down { 0 } else { odd };
        let down = i64::from(item.plies) * item.count - up;
        for (down, count) in [(false, up), (true, down)] {
            let flat = Item { plies: 1, down, count: 0, ..item.clone() };
            let known = flats.iter().position(|known| Item { count: 0, ..known.clone() } == flat);
            let place = known.unwrap_or_else(|| {
                flats.push(flat);
                flats.len() - 1
            });
            flats[place].count += count;
        }
        for _ in 0..item.count {
            packing.broken.extend((2..=item.plies).rev().map(|plies| Broken {
                group: item.group,
                way: item.way,
                plies,
                into: (plies - 1, 1),
            }));
        }
    }
    let mut left: Vec<i64> = flats.iter().map(|flat| flat.count).collect();
    for (packed, _) in packed.iter().flat_map(|p| (0..p.times).map(move |time| (p, time))) {
        let mut loads: BTreeMap<(usize, usize), i64> = BTreeMap::new();
        for ((&n, kind), &(fabric, down)) in packed.plies.iter().zip(kinds).zip(sources) {
            for _ in 0..n {
                let place = flats.iter().zip(&left).position(|(flat, &left)| {
                    let group = &groups[flat.group];
                    let same = group.fabric == fabric && group.bays.contains(&kind.bay);
                    same && left > 0 && flat.down == (down && group.by_face)
                });
                if let Some(place) = place {
                    left[place] -= 1;
                    *loads.entry((place, kind.bay)).or_default() += 1;
                }
            }
        }
        let loads = loads.into_iter().map(|((item, bay), n)| (item, bay, n)).collect();
        packing.loadings.push(Loading { times: 1, loads });
    }
    packing.items = flats;
    packing
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
            Some(known) => known.passes.extend(next.passes),
            None => kept.push(next),
        }
    }
    kept
}
