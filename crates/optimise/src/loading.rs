//! Lay-ups from the lengths and cuts that there are: as few different ones as the peeling finds, within the passes.
//!
//! Lay-ups are peeled off: the largest number of times m for which some lay-up, made m times, leaves a rest whose loads
//! fit the passes that remain, wherever among its bays the rest of each group may come to lie. Folded lengths do not
//! always fill the passes to the last ply: where nothing fits any more, the longest length left is broken into two.

use rayon::prelude::*;

use crate::integer::{Found, IntegerModel, Relation};
use crate::model::Board;
use crate::search::Random;
use crate::stock::Group;

/// Lengths or cuts of one kind for one group.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Item {
    /// Group, as an index.
    pub group: usize,
    /// Way round, as a place among the class's ways.
    pub way: usize,
    /// Plies.
    pub plies: u32,
    /// The lowest ply lies face down.
    pub down: bool,
    /// How many.
    pub count: i64,
}

/// A lay-up: items in bays, made a number of times.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Loading {
    /// Passes.
    pub times: i64,
    /// (item, bay, how many).
    pub loads: Vec<(usize, usize, i64)>,
}

/// A length that is cut as two after all.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Broken {
    /// Group.
    pub group: usize,
    /// Way round.
    pub way: usize,
    /// Plies before.
    pub plies: u32,
    /// Plies of the two; they add up.
    pub into: (u32, u32),
}

/// Lay-ups of a board.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Packing {
    /// The lay-ups.
    pub loadings: Vec<Loading>,
    /// The items that they mean; those from breaking come last.
    pub items: Vec<Item>,
    /// What was broken, in order.
    pub broken: Vec<Broken>,
}

impl Packing {
    /// Passes.
    #[must_use]
    pub fn passes(&self) -> i64 {
        self.loadings.iter().map(|loading| loading.times).sum()
    }
}

/// How lengths are broken.
pub trait Split: Sync {
    /// The two into which a length of so many plies may be broken; they take no more of the strip.
    fn split(&self, plies: u32) -> (u32, u32);
}

/// What is to be packed.
#[derive(Clone, Copy)]
pub struct Question<'a> {
    /// The board.
    pub board: &'a Board,
    /// All groups, those of other boards too.
    pub groups: &'a [Group],
    /// The items of this board.
    pub items: &'a [Item],
    /// How lengths are broken.
    pub split: &'a dyn Split,
    /// What a lay-up is worth in broken lengths.
    pub layup: usize,
}

/// Lengths broken beyond which an attempt is given up: another does better.
const MOST_BROKEN: usize = 60;

/// A lay-up to be found: made `times` times of the `left` passes, from `rest` (so many of each item).
#[derive(Clone, Copy)]
struct Layer<'a> {
    items: &'a [Item],
    rest: &'a [i64],
    times: i64,
    left: i64,
}

/// What an attempt carries along.
struct State {
    /// Shuffles preferences, if any.
    random: Option<Random>,
    /// Looks left.
    looks: u32,
}

/// Nodes of the program of a lay-up.
const NODES: u64 = 40;

impl Question<'_> {
    /// Packs into at most so many passes: the best of a number of attempts, the later ones in a shuffled order of
    /// preference.
    #[must_use]
    pub fn pack(&self, passes: i64, attempts: u64) -> Option<Packing> {
        let packings: Vec<Packing> = (0..attempts)
            .into_par_iter()
            .filter_map(|attempt| {
                // By turns with and without the integer program: either may lead to a corner that the other avoids.
                let random = (attempt > 1).then(|| Random::new(attempt));
                self.attempt(passes, attempt.is_multiple_of(2), random)
            })
            .collect();
        packings.into_iter().min_by_key(|p| p.loadings.len() * self.layup + p.broken.len())
    }

    /// Whether the loads fit into so many passes, wherever among its bays each ply lies. Packing may need more.
    #[must_use]
    pub fn loads_fit(&self, passes: i64) -> bool {
        let rest: Vec<i64> = self.items.iter().map(|item| item.count).collect();
        self.rest_fits_in(self.items, &rest, passes)
    }

    fn attempt(&self, passes: i64, by_program: bool, random: Option<Random>) -> Option<Packing> {
        let mut state = State { random, looks: LOOKS };
        let mut packing = Packing { items: self.items.to_vec(), ..Packing::default() };
        let mut rest: Vec<i64> = self.items.iter().map(|item| item.count).collect();
        let mut left = passes;
        let mut most = passes;
        while rest.iter().any(|&n| n > 0) {
            if left == 0 || state.looks == 0 {
                return None;
            }
            let mut tries = self.tries(&packing.items, &rest, left, most);
            if let Some(random) = &mut state.random {
                // Now and then the largest number of times is passed over.
                while tries.len() > 3 && random.below(3) == 0 {
                    let _ = tries.remove(random.below(3));
                }
            }
            let found = tries.into_iter().find_map(|m| {
                let layer = Layer { items: &packing.items, rest: &rest, times: m, left };
                let filled = self.filled(layer, &mut state);
                let program = || self.by_program(layer, &mut state);
                let loads = if by_program { filled.or_else(program) } else { filled };
                loads.map(|loads| (m, loads))
            });
            match found {
                Some((times, loads)) => {
                    for &(item, _, n) in &loads {
                        rest[item] -= n * times;
                    }
                    left -= times;
                    most = left;
                    packing.loadings.push(Loading { times, loads });
                }
                None if packing.broken.len() >= MOST_BROKEN => return None,
                None => {
                    // The two new ones are single, so no lay-up with them is made twice.
                    self.break_one(&mut packing, &mut rest)?;
                    most = 1;
                }
            }
        }
        Some(packing)
    }

    /// Breaks one of the longest lengths left.
    fn break_one(&self, packing: &mut Packing, rest: &mut Vec<i64>) -> Option<()> {
        let longest = (0..rest.len())
            .filter(|&i| rest[i] > 0 && packing.items[i].plies > 1)
            .max_by_key(|&i| (packing.items[i].plies, rest[i], std::cmp::Reverse(i)))?;
        let item = packing.items[longest].clone();
        let (low, high) = self.split.split(item.plies);
        rest[longest] -= 1;
        packing.items[longest].count -= 1;
        packing.broken.push(Broken {
            group: item.group,
            way: item.way,
            plies: item.plies,
            into: (low, high),
        });
        let turned = low % 2 == 1 && self.groups[item.group].by_face;
        for (plies, down) in [(low, item.down), (high, item.down != turned)] {
            let part = Item { plies, down, count: 1, ..item.clone() };
            let known = packing.items.iter().position(|known| Item { count: 1, ..known.clone() } == part);
            match known {
                Some(known) => {
                    packing.items[known].count += 1;
                    rest[known] += 1;
                }
                None => {
                    packing.items.push(part);
                    rest.push(1);
                }
            }
        }
        Some(())
    }

    /// Numbers of times worth trying, most first.
    fn tries(&self, items: &[Item], rest: &[i64], left: i64, most: i64) -> Vec<i64> {
        let mut tries: Vec<i64> = vec![left, left - 1, 1];
        for (item, &n) in items.iter().zip(rest).filter(|(_, n)| **n > 0) {
            let group = &self.groups[item.group];
            let bays = i64::try_from(group.bays.len()).unwrap_or(1);
            let parts = i64::from(group.limit / item.plies).max(1) * bays;
            tries.extend((1..=parts).map(|parts| n / parts));
        }
        tries.retain(|&m| m >= 1 && m <= left.min(most));
        tries.sort_unstable_by_key(|&m| std::cmp::Reverse(m));
        tries.dedup();
        // Of very many the small ones, and every so many of the others.
        let apart = tries.len().div_ceil(MOST_TRIES).max(1);
        let small = tries.len().saturating_sub(4);
        tries.into_iter().enumerate().filter(|(i, _)| i % apart == 0 || *i >= small).map(|(_, m)| m).collect()
    }

    /// Columns beyond which a lay-up is not asked of the integer program.
    const MOST_COLUMNS: usize = 60;

    /// A lay-up that can be made `times` times and leaves a rest whose loads fit `left - times` passes, by the integer
    /// program; only where that is small.
    fn by_program(&self, layer: Layer<'_>, state: &mut State) -> Option<Vec<(usize, usize, i64)>> {
        let (program, columns) = self.program(layer, state);
        if columns.len() > Self::MOST_COLUMNS && layer.times > 1 {
            return None;
        }
        state.looks = state.looks.saturating_sub(1);
        let Found::Point { values, .. } = program?.solve(NODES, None, None) else { return None };
        let loads: Vec<(usize, usize, i64)> = columns
            .iter()
            .zip(&values)
            .filter(|(_, n)| **n > 0)
            .map(|(&(item, bay), &n)| (item, bay, n))
            .collect();
        (!loads.is_empty()).then_some(loads)
    }

    /// The same by filling point after point.
    fn filled(&self, layer: Layer<'_>, state: &mut State) -> Option<Vec<(usize, usize, i64)>> {
        let Layer { items, rest, times, left } = layer;
        let mut fill = Fill::new(self, layer, state)?;
        let mut checks = CHECKS;
        fill.go(0, None, &mut |loads| {
            checks -= 1;
            state.looks = state.looks.saturating_sub(1);
            let mut after = rest.to_vec();
            loads.iter().for_each(|&(item, _)| after[item] -= times);
            let fits = !loads.is_empty() && self.rest_fits_in(items, &after, left - times);
            if fits || checks == 0 { Some(fits) } else { None }
        })?;
        let mut loads: Vec<(usize, usize, i64)> = Vec::new();
        for (item, bay) in fill.chosen {
            match loads.iter_mut().find(|load| (load.0, load.1) == (item, bay)) {
                Some(load) => load.2 += 1,
                None => loads.push((item, bay, 1)),
            }
        }
        (!loads.is_empty()).then_some(loads)
    }

    fn rest_fits_in(&self, items: &[Item], rest: &[i64], passes: i64) -> bool {
        let (program, _) = self
            .program(Layer { items, rest, times: 0, left: passes }, &mut State { random: None, looks: 0 });
        program.is_some_and(|program| matches!(program.solve(NODES, None, None), Found::Point { .. }))
    }

    /// The program of a lay-up: parts of each item in each bay of its group, then plies of the rest of each group in
    /// each of its bays. `None` if the loads alone say no.
    fn program(
        &self,
        Layer { items, rest, times, left }: Layer<'_>,
        state: &mut State,
    ) -> (Option<IntegerModel>, Vec<(usize, usize)>) {
        let board = self.board;
        let mut program = IntegerModel::default();
        let mut points: Vec<Vec<(usize, i64)>> = vec![Vec::new(); board.points.len()];
        let mut of_group: Vec<Vec<(usize, i64)>> = vec![Vec::new(); self.groups.len()];
        let mut columns: Vec<(usize, usize)> = Vec::new();
        let mut plies = vec![0_i64; self.groups.len()];
        for (index, item) in items.iter().enumerate().filter(|(index, _)| rest[*index] > 0) {
            let group = &self.groups[item.group];
            let k = i64::from(item.plies);
            plies[item.group] += k * rest[index];
            let most = (rest[index].checked_div(times).unwrap_or(0)).min(i64::from(group.limit) / k);
            if most == 0 {
                continue;
            }
            let first = columns.len();
            let whim = state.random.as_mut().map_or(0, |random| i64::try_from(random.below(8)).unwrap_or(0));
            for &bay in &group.bays {
                let area = i64::try_from(board.bay_points[bay].len()).unwrap_or(1);
                let v = program.variable(1 - (10 + whim) * group.load * k * area, 0, most);
                columns.push((index, bay));
                for &point in &board.bay_points[bay] {
                    points[point].push((v, group.load * k));
                }
                of_group[item.group].push((v, k * times));
            }
            program.row((first..columns.len()).map(|v| (v, times)), Relation::AtMost, rest[index]);
        }
        for terms in points.into_iter().filter(|terms| !terms.is_empty()) {
            program.row(terms, Relation::AtMost, board.full);
        }
        let fits = self.rest_fits(&mut program, &of_group, &plies, left - times);
        self.keep_apart(&mut program, items, &columns);
        (fits.then_some(program), columns)
    }

    /// Adds what makes the rest fit into so many passes; false if it cannot.
    fn rest_fits(
        &self,
        program: &mut IntegerModel,
        of_group: &[Vec<(usize, i64)>],
        plies: &[i64],
        left: i64,
    ) -> bool {
        let board = self.board;
        let mut after: Vec<Vec<(usize, i64)>> = vec![Vec::new(); board.points.len()];
        let mut given = vec![0_i64; board.points.len()];
        for (g, group) in self.groups.iter().enumerate().filter(|(g, _)| plies[*g] > 0) {
            if group.alone {
                let room = left * i64::try_from(group.bays.len()).unwrap_or(1) - plies[g];
                if of_group[g].is_empty() && room < 0 {
                    return false;
                }
                let laid = of_group[g].iter().map(|&(v, n)| (v, -n));
                program.row(laid.collect::<Vec<_>>(), Relation::AtMost, room);
            }
            if let [bay] = group.bays[..] {
                for &point in &board.bay_points[bay] {
                    given[point] += group.load * plies[g];
                    after[point].extend(of_group[g].iter().map(|&(v, n)| (v, -n * group.load)));
                }
                continue;
            }
            let mut row = of_group[g].clone();
            for &bay in &group.bays {
                let v = program.variable(0, 0, plies[g]);
                row.push((v, 1));
                after.iter_mut().zip(&board.points).filter(|(_, bays)| bays.contains(&bay)).for_each(
                    |(terms, _)| {
                        terms.push((v, group.load));
                    },
                );
            }
            program.row(row, Relation::Equal, plies[g]);
        }
        after.into_iter().zip(given).all(|(terms, given)| {
            let room = board.full * left - given;
            if terms.is_empty() {
                return room >= 0;
            }
            program.row(terms, Relation::AtMost, room);
            true
        })
    }

    fn keep_apart(&self, program: &mut IntegerModel, items: &[Item], columns: &[(usize, usize)]) {
        self.apart_rows(program, items, &|bay| {
            let here = columns.iter().enumerate().filter(|(_, column)| column.1 == bay);
            here.map(|(v, column)| (v, column.0)).collect()
        });
    }

    /// Lets only one of two bays that are kept apart be loaded; `columns` gives the (variable, item) of a bay.
    pub(crate) fn apart_rows(
        &self,
        program: &mut IntegerModel,
        items: &[Item],
        columns: &dyn Fn(usize) -> Vec<(usize, usize)>,
    ) {
        let mut flags: Vec<Option<usize>> = vec![None; self.board.bay_points.len()];
        for &(low, high) in &self.board.apart {
            let of_both = [low, high].map(|bay| (bay, columns(bay)));
            if of_both.iter().any(|(_, columns)| columns.is_empty()) {
                continue;
            }
            for (bay, columns) in of_both {
                if flags[bay].is_none() {
                    let flag = program.variable(0, 0, 1);
                    flags[bay] = Some(flag);
                    for (v, item) in columns {
                        let most = i64::from(self.groups[items[item].group].limit);
                        program.row([(v, 1), (flag, -most)], Relation::AtMost, 0);
                    }
                }
            }
            let both = [low, high].into_iter().filter_map(|bay| flags[bay]);
            program.row(both.map(|flag| (flag, 1)), Relation::AtMost, 1);
        }
        self.alone_rows(program, items, columns);
    }

    /// Where one ply has to be alone of its fabric in a bay: either one such ply, or none and any others.
    fn alone_rows(
        &self,
        program: &mut IntegerModel,
        items: &[Item],
        columns: &dyn Fn(usize) -> Vec<(usize, usize)>,
    ) {
        if !self.has_alone() {
            return;
        }
        for bay in 0..self.board.bay_points.len() {
            let here = columns(bay);
            let group = |item: usize| &self.groups[items[item].group];
            let mut fabrics: Vec<usize> =
                here.iter().map(|&(_, item)| group(item)).filter(|g| g.alone).map(|g| g.fabric).collect();
            fabrics.sort_unstable();
            fabrics.dedup();
            for fabric in fabrics {
                let flag = program.variable(0, 0, 1);
                let mut single = vec![(flag, -1)];
                for &(v, item) in here.iter().filter(|(_, item)| group(*item).fabric == fabric) {
                    let most = i64::from(group(item).limit);
                    match group(item).alone {
                        true => single.push((v, 1)),
                        false => program.row([(v, 1), (flag, most)], Relation::AtMost, most),
                    }
                }
                program.row(single, Relation::AtMost, 0);
            }
        }
    }

    /// Whether some ply here has to be alone of its fabric in its bay.
    pub(crate) fn has_alone(&self) -> bool {
        self.items.iter().any(|item| self.groups[item.group].alone)
    }
}

/// Steps of filling one lay-up, and how often the rest is looked at.
const STEPS: u32 = 400;
const CHECKS: u32 = 4;
/// How often an attempt may look at a rest, or ask for a lay-up by program, before it is given up: work is counted, not
/// timed, so that the plan is the same everywhere.
const LOOKS: u32 = 1_500;
/// Numbers of times tried for a lay-up.
const MOST_TRIES: usize = 40;

/// Fills a lay-up point by point, going back where nothing fits.
struct Fill<'a> {
    question: &'a Question<'a>,
    items: &'a [Item],
    /// Parts that one lay-up may take of each item.
    cap: Vec<i64>,
    /// Load that each point still takes.
    room: Vec<i64>,
    /// Load that each point may leave unused, and all points together.
    allow: Vec<i64>,
    waste: i64,
    done: Vec<bool>,
    /// For every point the (item, bay) that may cover it, in the order of preference.
    order: Vec<Vec<(usize, usize)>>,
    chosen: Vec<(usize, usize)>,
    steps: u32,
}

/// Judges a filled lay-up, given as (item, bay): yes, no for good, or try on.
type Judge<'a> = &'a mut dyn FnMut(&[(usize, usize)]) -> Option<bool>;

impl<'a> Fill<'a> {
    fn new(
        question: &'a Question<'a>,
        Layer { items, rest, times, left }: Layer<'a>,
        state: &mut State,
    ) -> Option<Self> {
        let board = question.board;
        let full = board.full;
        let points = board.points.len();
        let cap: Vec<i64> = rest.iter().map(|&n| n / times).collect();
        let mut given = vec![0_i64; points];
        let mut can = vec![0_i64; points];
        let mut order: Vec<((i64, i64, i64), usize, usize)> = Vec::new();
        let area = |bay: usize| i64::try_from(board.bay_points[bay].len()).unwrap_or(1);
        let mut all = 0;
        for (index, item) in items.iter().enumerate().filter(|(index, _)| rest[*index] > 0) {
            let group = &question.groups[item.group];
            let load = group.load * i64::from(item.plies);
            all += load * rest[index] * group.bays.iter().map(|&bay| area(bay)).min().unwrap_or(1);
            let whim =
                state.random.as_mut().map_or(0, |random| i64::try_from(random.below(100)).unwrap_or(0));
            for (point, bays) in board.points.iter().enumerate() {
                if group.bays.iter().all(|bay| bays.contains(bay)) {
                    given[point] += load * rest[index];
                }
                if group.bays.iter().any(|bay| bays.contains(bay)) {
                    can[point] += load * cap[index];
                }
            }
            if cap[index] > 0 {
                order.extend(group.bays.iter().map(|&bay| {
                    let key = match state.random {
                        Some(_) => (whim + 20 * area(bay), load, rest[index]),
                        None => (area(bay), load, rest[index]),
                    };
                    (key, index, bay)
                }));
            }
        }
        order.sort_by_key(|&(key, item, bay)| (std::cmp::Reverse(key), item, bay));
        let allow: Vec<i64> = given.iter().map(|given| full - (given - full * (left - times))).collect();
        let slack = full * left * i64::try_from(points).unwrap_or(1) - all;
        let waste = slack / times;
        let least: i64 = can.iter().map(|&can| (full - can).max(0)).sum();
        let possible = can.iter().zip(&allow).all(|(&can, &allow)| full - can <= allow);
        (possible && slack >= 0 && least <= waste).then(|| Self {
            question,
            items,
            cap,
            room: vec![full; points],
            allow,
            waste,
            done: vec![false; points],
            order: board
                .points
                .iter()
                .map(|bays| {
                    let here = order.iter().filter(|(_, _, bay)| bays.contains(bay));
                    here.map(|&(_, item, bay)| (item, bay)).collect()
                })
                .collect(),
            chosen: Vec::new(),
            steps: STEPS,
        })
    }

    /// Goes on filling: `Some(())` once `judge` says yes; `None` if it says no for good, or nothing is left to try.
    fn go(&mut self, from: usize, at: Option<usize>, judge: Judge<'_>) -> Option<()> {
        let same = at.filter(|&point| self.room[point] > 0);
        let next = || (0..self.room.len()).find(|&point| self.room[point] > 0 && !self.done[point]);
        let Some(point) = same.or_else(next) else {
            return match judge(&self.chosen) {
                Some(true) => Some(()),
                Some(false) => {
                    self.steps = 0;
                    None
                }
                None => None,
            };
        };
        let from = if same.is_some() { from } else { 0 };
        for place in from..self.order[point].len() {
            let (item, bay) = self.order[point][place];
            if !self.fits(item, bay) {
                continue;
            }
            if self.steps == 0 {
                return None;
            }
            self.steps -= 1;
            self.put(item, bay, 1);
            self.chosen.push((item, bay));
            if self.go(place, Some(point), judge).is_some() {
                return Some(());
            }
            let _ = self.chosen.pop();
            self.put(item, bay, -1);
        }
        let unused = self.room[point];
        if unused > self.allow[point] || unused > self.waste || self.steps == 0 {
            return None;
        }
        self.waste -= unused;
        self.done[point] = true;
        if self.go(0, None, judge).is_some() {
            return Some(());
        }
        self.done[point] = false;
        self.waste += unused;
        None
    }

    fn fits(&self, item: usize, bay: usize) -> bool {
        let board = self.question.board;
        if self.cap[item] == 0 {
            return false;
        }
        let load = self.load(item);
        board.bay_points[bay].iter().all(|&p| self.room[p] >= load)
            && self.leaves_alone(item, bay)
            && !board.apart.iter().any(|&(low, high)| {
                let other = if low == bay { high } else { low };
                (low == bay || high == bay) && self.chosen.iter().any(|&(_, used)| used == other)
            })
    }

    /// Whether nothing of the fabric lies in the bay already that has to be alone there, or would have to be.
    fn leaves_alone(&self, item: usize, bay: usize) -> bool {
        let group = |item: usize| &self.question.groups[self.items[item].group];
        let new = group(item);
        let clash = |&(used, at): &(usize, usize)| {
            at == bay && group(used).fabric == new.fabric && (new.alone || group(used).alone)
        };
        !self.chosen.iter().any(clash)
    }

    fn load(&self, item: usize) -> i64 {
        self.question.groups[self.items[item].group].load * i64::from(self.items[item].plies)
    }

    fn put(&mut self, item: usize, bay: usize, count: i64) {
        let load = self.load(item) * count;
        self.cap[item] -= count;
        self.question.board.bay_points[bay].iter().for_each(|&point| self.room[point] -= load);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    struct Halves;

    impl Split for Halves {
        fn split(&self, plies: u32) -> (u32, u32) {
            (plies.div_ceil(2), plies / 2)
        }
    }

    fn group(bays: &[usize], load: i64, limit: u32, by_face: bool) -> Group {
        Group {
            stage: 1,
            board: 0,
            fabric: 0,
            class: 0,
            bays: bays.to_vec(),
            load,
            limit,
            folding: true,
            alone: false,
            up: 0,
            down: 0,
            by_face,
        }
    }

    fn item(group: usize, plies: u32, count: i64) -> Item {
        Item { group, way: 0, plies, down: false, count }
    }

    fn question<'a>(board: &'a Board, groups: &'a [Group], items: &'a [Item]) -> Question<'a> {
        Question { board, groups, items, split: &Halves, layup: 4 }
    }

    /// By hand: twelve lengths of six, half of one fabric and half of another, on two like positions are six passes of
    /// one lay-up: one fabric on each.
    #[test]
    fn two_fabrics_on_two_positions_are_one_layup() {
        let board = Board::new(6, 2, vec![vec![0], vec![1]], Vec::new());
        let groups = [group(&[0, 1], 1, 6, false), group(&[0, 1], 1, 6, false)];
        let items = [item(0, 6, 6), item(1, 6, 6)];
        let packing = question(&board, &groups, &items).pack(6, 2).unwrap_or_default();
        assert_eq!(packing.loadings.len(), 1);
        assert_eq!(packing.loadings[0].times, 6);
        assert!(packing.broken.is_empty());
    }

    /// By hand: three lengths of four plies are twelve plies, two full passes; one of them has to be broken.
    #[test]
    fn a_length_is_broken_where_passes_would_not_do() {
        let board = Board::new(6, 1, vec![vec![0]], Vec::new());
        let (groups, items) = ([group(&[0], 1, 6, false)], [item(0, 4, 3)]);
        let packing = question(&board, &groups, &items).pack(2, 2).unwrap_or_default();
        assert_eq!(packing.passes(), 2);
        assert_eq!(packing.broken.len(), 1);
        assert!(question(&board, &groups, &items).pack(1, 2).is_none());
    }

    /// A length of five, face up first, has three plies up and two down; so have the two that it is broken into.
    #[test]
    fn breaking_keeps_faces() {
        let board = Board::new(6, 1, vec![vec![0]], Vec::new());
        let (groups, items) = ([group(&[0], 1, 6, true)], [item(0, 5, 1)]);
        let mut packing = Packing { items: items.to_vec(), ..Packing::default() };
        let mut rest = vec![1];
        assert!(question(&board, &groups, &items).break_one(&mut packing, &mut rest).is_some());
        let (mut up, mut down) = (0, 0);
        for (item, &n) in packing.items.iter().zip(&rest) {
            assert_eq!(item.count, n);
            let (first, second) = (i64::from(item.plies.div_ceil(2)), i64::from(item.plies / 2));
            up += n * if item.down { second } else { first };
            down += n * if item.down { first } else { second };
        }
        assert_eq!((up, down), (3, 2));
    }

    /// Bays kept apart never share a lay-up.
    #[test]
    fn bays_apart_share_no_layup() {
        let board = Board::new(6, 2, vec![vec![0], vec![1]], vec![(0, 1)]);
        let groups = [group(&[0], 1, 6, false), group(&[1], 1, 6, false)];
        let items = [item(0, 6, 2), item(1, 6, 3)];
        let packing = question(&board, &groups, &items).pack(5, 2).unwrap_or_default();
        assert_eq!(packing.passes(), 5);
        assert!(packing.loadings.iter().all(|loading| {
            let used = |bay| loading.loads.iter().any(|load| load.1 == bay);
            !(used(0) && used(1))
        }));
    }

    /// Over random jobs on two rows of three positions with limits of six and four: whatever is packed keeps to its
    /// bays, no point is overloaded in any pass, the passes are kept, and every item is used as often as there is of it.
    #[test]
    fn every_item_is_laid_once_and_no_point_is_overloaded() {
        // Bays 0 to 5 are the positions, 6 and 7 the rows, 8 the whole board.
        let points = (0..6).map(|p| vec![p, 6 + p / 3, 8]).collect();
        let board = Board::new(12, 9, points, Vec::new());
        let bays: [&[usize]; 4] = [&[0, 1, 2, 3, 4, 5], &[6, 7], &[8], &[2, 3]];
        let mut random = Random::new(7);
        for _ in 0..40 {
            let mut groups = Vec::new();
            let mut items = Vec::new();
            for g in 0..2 + random.below(4) {
                let (load, limit) = if random.below(3) == 0 { (3, 4) } else { (2, 6) };
                groups.push(group(bays[random.below(4)], load, limit, random.below(4) == 0));
                for plies in [1, 3, limit] {
                    let count = i64::try_from(random.below(8)).unwrap_or(0);
                    items
                        .push(Item { down: plies % 2 == 1 && random.below(2) == 0, ..item(g, plies, count) });
                }
            }
            items.retain(|item| item.count > 0);
            let question = question(&board, &groups, &items);
            let least = (0..200).find(|&passes| question.loads_fit(passes)).unwrap_or(200);
            let Some(packing) = (least..least + 3).find_map(|passes| question.pack(passes, 4)) else {
                panic!("{items:?} not packed in {least} + 2 passes");
            };
            assert!(packing.passes() <= least + 2);
            let mut used = vec![0; packing.items.len()];
            for loading in &packing.loadings {
                let mut loads = [0; 6];
                for &(index, bay, n) in &loading.loads {
                    let group = &groups[packing.items[index].group];
                    assert!(group.bays.contains(&bay));
                    used[index] += n * loading.times;
                    for &point in &board.bay_points[bay] {
                        loads[point] += n * group.load * i64::from(packing.items[index].plies);
                    }
                }
                assert!(loads.iter().all(|&load| load <= 12));
            }
            let counts: Vec<i64> = packing.items.iter().map(|item| item.count).collect();
            assert_eq!(used, counts);
            for g in 0..groups.len() {
                let plies = |items: &[Item]| -> i64 {
                    let mine = items.iter().filter(|item| item.group == g);
                    mine.map(|item| i64::from(item.plies) * item.count).sum()
                };
                assert_eq!(plies(&items), plies(&packing.items));
            }
        }
    }
}
