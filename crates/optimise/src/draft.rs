//! Drafts: strips divided into lengths and cuts, and the lay-ups packed from them, with what they cost.

use std::collections::BTreeMap;

use patchlay_plan::compare::LAYUP;
use patchlay_scenario::job::Job;
use patchlay_scenario::spec::AimKind;

use crate::fewer::Programs;
use crate::folds;
use crate::layups::{self, Kind, load_bound};
use crate::loading::{Broken, Item, Loading, Packing, Question, Split};
use crate::model::Model;
use crate::pieces::{Measures, OpenStrip};
use crate::solution::Solution;
use crate::stock::{self, Group, Handling, Stock};

/// What every different length or cut in a lay-up is worth, in seconds (to be found and sorted): an assumption like the
/// standard times, but none of them. It only weighs lay-ups against lengths and cuts.
const PART: i64 = 8;
/// What every kind of length or cut is worth, in seconds (a size to set): like that, and less than a length or cut.
const KIND: i64 = 3;
/// What a further kind of length or cut is worth, in seconds, when strips are first divided.
const KINDS: [i64; 3] = [0, 20, 80];
/// Attempts at packing each board.
pub(crate) const ATTEMPTS: u64 = 4;

/// What a further lay-up is worth for the aim, in seconds: where time comes first, lay-ups only decide between plans that take as
/// long.
pub(crate) fn worth(job: &Job) -> i64 {
    match job.aim.kind() {
        AimKind::LeastTime | AimKind::LeastCost => 1,
        AimKind::LeastCloth | AimKind::FewestPasses | AimKind::Weighted => LAYUP.into(),
    }
}

#[derive(Clone, Copy)]
pub(crate) struct Lay<'a> {
    pub(crate) job: &'a Job,
    pub(crate) model: &'a Model,
    pub(crate) solution: &'a Solution,
    pub(crate) proof: Option<&'a Solution>,
    pub(crate) groups: &'a [Group],
    /// What a lay-up is worth, in seconds.
    pub(crate) layup: i64,
    /// Folded lengths are looked for over all ways to divide strips, where those are few.
    pub(crate) thorough: bool,
    /// How lay-ups are made anew.
    pub(crate) programs: Programs,
}

/// Divided strips and the lay-ups made of them.
#[derive(Clone)]
pub(crate) struct Draft {
    /// Strips of every fabric.
    pub(crate) stocks: Vec<Stock>,
    /// Packings in the order of work.
    pub(crate) packed: Vec<Packed>,
    /// Passes, then seconds.
    pub(crate) price: (i64, i64),
}

impl Draft {
    /// Lay-ups, and seconds of preparing lengths and cuts.
    pub(crate) fn work(&self) -> (usize, i64) {
        let layups = self.packed.iter().map(|packed| packed.packing.loadings.len()).sum();
        (layups, self.stocks.iter().map(|stock| stock.cost.0).sum())
    }
}

/// The lay-ups of one board.
#[derive(Clone)]
pub(crate) struct Packed {
    /// 0 for the proof block, 1 for the rest.
    pub(crate) stage: usize,
    /// Board.
    pub(crate) board: usize,
    /// Its lay-ups.
    pub(crate) packing: Packing,
}

impl Lay<'_> {
    pub(crate) fn measures(&self, f: usize) -> Measures<'_> {
        Measures {
            classes: &self.model.fabrics[f].classes,
            grid: self.model.grid,
            fold: self.job.fold_allowance,
            step: self.job.ruler_step,
        }
    }

    pub(crate) fn handling(&self) -> Handling {
        let times = &self.job.cutter.times;
        Handling {
            flat: i64::from(times.cross_cut) + i64::from(times.place),
            folded: i64::from(times.cross_cut) + i64::from(times.fold),
            trim: i64::from(times.trim),
        }
    }

    /// Ways to divide the strips of every fabric, the plain one (all flat) first.
    pub(crate) fn options(&self) -> Vec<Vec<(Vec<u32>, Stock)>> {
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
    pub(crate) fn choices(&self, options: &[Vec<(Vec<u32>, Stock)>]) -> Vec<Vec<Stock>> {
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
    pub(crate) fn draft(&self, stocks: Vec<Stock>, attempts: u64) -> Draft {
        let items = items(self.groups, &stocks);
        let mut packed = Vec::new();
        for stage in 0..2 {
            for b in 0..self.model.boards.len() {
                let here = |item: &&Item| {
                    let group = &self.groups[item.group];
                    (group.stage, group.board) == (stage, b)
                };
                let items: Vec<Item> = items.iter().filter(here).cloned().collect();
                if items.is_empty() {
                    continue;
                }
                let packing = self.pack(&self.question(b, &items), attempts, stage, b);
                packed.push(Packed { stage, board: b, packing });
            }
        }
        let price = self.price(&stocks, &packed);
        Draft { stocks, packed, price }
    }

    /// What a kind is worth, in seconds: no more than a lay-up.
    fn kind(&self) -> i64 {
        KIND.min(self.layup)
    }

    /// Kinds of lengths and cuts on the strips of a fabric, with how many there are of each.
    pub(crate) fn kinds(&self, f: usize, strips: &[OpenStrip]) -> BTreeMap<folds::Kind, i64> {
        let measures = self.measures(f);
        let mut kinds = BTreeMap::new();
        for strip in strips {
            for &(class, plies) in &strip.pieces {
                let kind = (class, stock::way_on(&measures, class, strip.width), plies);
                *kinds.entry(kind).or_default() += 1;
            }
        }
        kinds
    }

    /// Passes, then seconds of preparing and of lay-ups.
    pub(crate) fn price(&self, stocks: &[Stock], packed: &[Packed]) -> (i64, i64) {
        let many = |n: usize| i64::try_from(n).unwrap_or(i64::MAX / 1_000);
        let kinds = (0..stocks.len()).map(|f| self.kinds(f, &stocks[f].strips).len()).sum();
        let mut seconds = stocks.iter().map(|stock| stock.cost.0).sum::<i64>() + self.kind() * many(kinds);
        let mut passes = 0;
        for Packed { packing, .. } in packed {
            passes += packing.passes();
            let parts = packing.loadings.iter().map(|loading| loading.loads.len()).sum();
            seconds += self.layup * many(packing.loadings.len()) + PART * many(parts);
            seconds +=
                packing.broken.iter().map(|b| self.handling().of_breaking(b.plies, b.into)).sum::<i64>();
        }
        (passes, seconds)
    }

    /// What is to be packed on a board.
    pub(crate) fn question<'q>(&'q self, board: usize, items: &'q [Item]) -> Question<'q> {
        Question { board: &self.model.boards[board], groups: self.groups, items, split: self, layup: 4 }
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
        if question.has_alone() {
            // The loads say too little here; one ply of each in a pass is always possible.
            let most = question.items.iter().map(|item| item.count).sum();
            least = (least..most).find(|&passes| question.loads_fit(passes)).unwrap_or(most);
            let packing = (least..=most).find_map(|passes| question.pack(passes, attempts));
            return packing.unwrap_or_else(|| one_by_one(question));
        }
        let packed = layups::pack(question.board, &kinds);
        let known: i64 = packed.iter().map(|packed| packed.times).sum();
        (least..=known)
            .find_map(|passes| question.pack(passes, attempts))
            .unwrap_or_else(|| plain(self.groups, question, &packed, &kinds, &sources))
    }

    pub(crate) fn break_pieces(&self, packed: &[Packed], strips: &mut [Vec<OpenStrip>]) {
        for broken in packed.iter().flat_map(|packed| &packed.packing.broken) {
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
    }
}

impl Split for Lay<'_> {
    /// Into two halves if their folds take no more of the strip, else one ply off.
    fn split(&self, plies: u32) -> (u32, u32) {
        let folds = |k: u32| (self.job.fold_allowance * i64::from(k - 1)).ceil_to(self.job.ruler_step);
        let (low, high) = (plies.div_ceil(2), plies / 2);
        if folds(low) + folds(high) <= folds(plies) { (low, high) } else { (plies - 1, 1) }
    }
}

/// Everything to pack, over all groups.
pub(crate) fn items(groups: &[Group], stocks: &[Stock]) -> Vec<Item> {
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

/// Every length and cut in a pass of its own.
fn one_by_one(question: &Question<'_>) -> Packing {
    let alone = |(index, item): (usize, &Item)| {
        let bay = question.groups[item.group].bays.first().copied().unwrap_or(0);
        Loading { times: item.count, loads: vec![(index, bay, 1)] }
    };
    let loadings = question.items.iter().enumerate().map(alone).collect();
    Packing { loadings, items: question.items.to_vec(), broken: Vec::new() }
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
