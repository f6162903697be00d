//! Lengths and cuts before lay-ups: how every strip is divided, so that as many plies as there is room for come from
//! folded lengths.
//!
//! The runs on a strip were planned as flat cuts; folds have to fit into the strip's unused end. Which folded lengths a
//! strip can give is therefore known before any lay-up is: strips are divided first, by one small integer program per
//! fabric, and lay-ups are put together from the lengths and cuts that there are ([`crate::loading`]).

use std::collections::BTreeMap;

use patchlay_measure::Length;

use crate::integer::{Found, IntegerModel, Relation};
use crate::pieces::{Measures, OpenStrip};
use crate::solution::Pattern;

/// Plies of one fabric that may change places: same board, same cloth, same patches.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Group {
    /// 0 for the proof block, 1 for the rest.
    pub stage: usize,
    /// Board.
    pub board: usize,
    /// Fabric.
    pub fabric: usize,
    /// Cut class.
    pub class: usize,
    /// Bays in which the plies may lie.
    pub bays: Vec<usize>,
    /// Load of a ply.
    pub load: i64,
    /// Most plies in a stack.
    pub limit: u32,
    /// Folding is allowed.
    pub folding: bool,
    /// In one pass a ply of it lies in a bay without any other of its fabric.
    pub alone: bool,
    /// Plies wanted face up; all plies where faces do not matter.
    pub up: i64,
    /// Plies wanted face down.
    pub down: i64,
    /// Plies face up and face down are counted apart.
    pub by_face: bool,
}

impl Group {
    /// Plies in all.
    #[must_use]
    pub fn plies(&self) -> i64 {
        self.up + self.down
    }

    /// Most pairs of plies that may lie face to face.
    fn pairs(&self) -> i64 {
        match (self.folding, self.by_face) {
            (false, _) => 0,
            (true, true) => self.up.min(self.down),
            (true, false) => self.plies(),
        }
    }
}

/// A kind of length or cut: which of its class's ways round it lies, and its plies.
pub type Cut = (usize, u32);

/// The divided strips of a fabric, and what each group gets of them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stock {
    /// Strips with their pieces.
    pub strips: Vec<OpenStrip>,
    /// For every group, how many of each kind.
    pub shares: Vec<BTreeMap<Cut, i64>>,
    /// Seconds to prepare them all, and the number of kinds.
    pub cost: (i64, usize),
}

/// What preparing costs, in seconds.
#[derive(Clone, Copy, Debug, Hash)]
pub struct Handling {
    /// One flat cut.
    pub flat: i64,
    /// One folded length.
    pub folded: i64,
    /// Trimming either.
    pub trim: i64,
}

impl Handling {
    /// Seconds for a piece of so many plies.
    #[must_use]
    pub fn of(&self, plies: u32, trimmed: bool) -> i64 {
        let trim = if trimmed { self.trim } else { 0 };
        trim + if plies > 1 { self.folded } else { self.flat }
    }

    /// Seconds more for two lengths or cuts instead of one.
    #[must_use]
    pub fn of_breaking(&self, plies: u32, into: (u32, u32)) -> i64 {
        let each = |k: u32| if k > 1 { self.folded } else { self.flat };
        each(into.0) + each(into.1) - each(plies)
    }
}

/// A way to divide a strip: pieces by class, and its cost.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Division {
    pieces: BTreeMap<(usize, u32), i64>,
    extra: Length,
    cost: i64,
}

/// Divisions of one pattern beyond which only the cheapest are looked at.
const MOST_DIVISIONS: usize = 120;
/// Ways to share out the plies of one class beyond which no more are listed.
const MOST_PARTITIONS: usize = 600;
/// Nodes of the program of a fabric.
const NODES: u64 = 60;

/// Strips alike: how many, and what is on each.
#[derive(Clone, Debug)]
struct Alike {
    width: i64,
    plies: Vec<(usize, i64)>,
    slack: Length,
    count: i64,
}

/// Place of the way round that a strip of that width gives, among the ways of the class.
#[must_use]
pub fn way_on(measures: &Measures<'_>, class: usize, width: i64) -> usize {
    let ways = &measures.classes[class].ways;
    ways.iter().rposition(|(narrow, _)| *narrow <= width).unwrap_or(0)
}

/// Divides the strips of a fabric, folded lengths having only the plies in `menu`. `None` if the program finds nothing.
#[must_use]
pub fn divide(
    measures: &Measures<'_>,
    handling: Handling,
    opened: &[OpenStrip],
    groups: &[Group],
    menu: &[u32],
) -> Option<Stock> {
    let alike = alike(opened);
    let mut program = IntegerModel::default();
    let mut balance: BTreeMap<(usize, usize, u32), Vec<(usize, i64)>> = BTreeMap::new();
    let mut layout: Vec<Vec<(usize, Division)>> = Vec::new();
    let most = |class: usize| {
        let here = groups.iter().filter(|group| group.class == class && group.pairs() > 0);
        here.map(|group| group.limit).max().unwrap_or(1)
    };
    for strips in &alike {
        let sizes = |class: usize| -> Vec<u32> {
            menu.iter().copied().filter(|&k| k >= 2 && k <= most(class)).collect()
        };
        let divisions = divisions(measures, handling, strips, &sizes);
        let columns: Vec<(usize, Division)> = divisions
            .into_iter()
            .map(|division| (program.variable(division.cost, 0, strips.count), division))
            .collect();
        program.row(columns.iter().map(|(v, _)| (*v, 1)), Relation::Equal, strips.count);
        for (v, division) in &columns {
            for (&(class, k), &n) in &division.pieces {
                let way = way_on(measures, class, strips.width);
                balance.entry((class, way, k)).or_default().push((*v, n));
            }
        }
        layout.push(columns);
    }
    let mut shares: Vec<Vec<(Cut, usize)>> = Vec::new();
    let kinds: Vec<(usize, usize, u32)> = balance.keys().copied().collect();
    for group in groups {
        let mut share = Vec::new();
        for &(_, way, k) in kinds.iter().filter(|kind| kind.0 == group.class && kind.2 <= group.limit) {
            if k > 1 && group.pairs() == 0 {
                continue;
            }
            let v = program.variable(0, 0, group.plies() / i64::from(k));
            balance.entry((group.class, way, k)).or_default().push((v, -1));
            share.push(((way, k), v));
        }
        program.row(share.iter().map(|&((_, k), v)| (v, i64::from(k))), Relation::Equal, group.plies());
        if group.by_face {
            let pairs = share.iter().map(|&((_, k), v)| (v, i64::from(k / 2)));
            program.row(pairs, Relation::AtMost, group.pairs());
        }
        shares.push(share);
    }
    for terms in balance.into_values() {
        program.row(terms, Relation::Equal, 0);
    }
    let Found::Point { values, cost, .. } = program.solve(NODES, None, None) else { return None };
    let shares: Vec<BTreeMap<Cut, i64>> = shares
        .iter()
        .map(|share| share.iter().map(|&(cut, v)| (cut, values[v])).filter(|cut| cut.1 > 0).collect())
        .collect();
    let mut strips = Vec::new();
    for (alike, columns) in alike.iter().zip(&layout) {
        for (v, division) in columns {
            for _ in 0..values[*v] {
                strips.push(divided(alike, division));
            }
        }
    }
    let mut kinds: Vec<(usize, Cut)> = Vec::new();
    for (group, share) in groups.iter().zip(&shares) {
        kinds.extend(share.keys().map(|&cut| (group.class, cut)));
    }
    kinds.sort_unstable();
    kinds.dedup();
    Some(Stock { strips, shares, cost: (cost, kinds.len()) })
}

fn divided(alike: &Alike, division: &Division) -> OpenStrip {
    let mut pieces: Vec<(usize, u32)> = Vec::new();
    for (&(class, k), &n) in division.pieces.iter().rev() {
        pieces.extend((0..n).map(|_| (class, k)));
    }
    OpenStrip { width: alike.width, free: BTreeMap::new(), slack: alike.slack - division.extra, pieces }
}

fn alike(opened: &[OpenStrip]) -> Vec<Alike> {
    let mut alike: Vec<Alike> = Vec::new();
    for strip in opened {
        let plies: Vec<(usize, i64)> = strip.free.iter().map(|(&class, &n)| (class, n)).collect();
        match alike.iter_mut().find(|known| known.width == strip.width && known.plies == plies) {
            Some(known) => known.count += 1,
            None => alike.push(Alike { width: strip.width, plies, slack: strip.slack, count: 1 }),
        }
    }
    alike
}

/// Ways to divide a strip, cheapest first.
fn divisions(
    measures: &Measures<'_>,
    handling: Handling,
    strip: &Alike,
    sizes: &dyn Fn(usize) -> Vec<u32>,
) -> Vec<Division> {
    let none = Division { pieces: BTreeMap::new(), extra: Length::ZERO, cost: 0 };
    let mut found = vec![none];
    for &(class, plies) in &strip.plies {
        let narrow = measures.classes[class].ways[way_on(measures, class, strip.width)].0;
        let trim = if narrow < strip.width { handling.trim } else { 0 };
        let mut next = Vec::new();
        for of_class in partitions(plies, &sizes(class)) {
            let extra: Length =
                of_class.iter().map(|&(k, n)| measures.extra(class, strip.width, k) * n).sum();
            let each = |k: u32| trim + if k > 1 { handling.folded } else { handling.flat };
            let cost: i64 = of_class.iter().map(|&(k, n)| each(k) * n).sum();
            for before in found.iter().filter(|before| before.extra + extra <= strip.slack) {
                let mut division = before.clone();
                division.pieces.extend(of_class.iter().map(|&(k, n)| ((class, k), n)));
                division.extra += extra;
                division.cost += cost;
                next.push(division);
            }
        }
        next.sort_by_key(|division| (division.cost, division.extra));
        // All flat is always kept: it is what must be possible.
        let flat = next.iter().position(|d| d.pieces.keys().all(|key| key.1 == 1));
        if let Some(flat) = flat.filter(|&flat| flat >= MOST_DIVISIONS) {
            next.swap(flat, MOST_DIVISIONS - 1);
        }
        next.truncate(MOST_DIVISIONS);
        found = next;
    }
    found
}

/// Ways to write a number as a sum of the sizes and ones: (size, how many).
fn partitions(plies: i64, sizes: &[u32]) -> Vec<Vec<(u32, i64)>> {
    let mut found = vec![(plies, Vec::new())];
    for &k in sizes {
        let mut next = Vec::new();
        for (left, parts) in found {
            for n in (0..=left / i64::from(k)).rev() {
                let mut with: Vec<(u32, i64)> = parts.clone();
                if n > 0 {
                    with.push((k, n));
                }
                next.push((left - n * i64::from(k), with));
            }
        }
        next.truncate(MOST_PARTITIONS);
        found = next;
    }
    if !found.iter().any(|(_, parts)| parts.is_empty()) {
        found.push((plies, Vec::new()));
    }
    found
        .into_iter()
        .map(|(left, mut parts)| {
            if left > 0 {
                parts.push((1, left));
            }
            parts
        })
        .collect()
}

/// Drops plies that no group needs from the strips with the least room, so that folds find some.
pub fn drop_surplus(measures: &Measures<'_>, opened: &mut Vec<OpenStrip>, needed: &[i64]) {
    for (class, &wanted) in needed.iter().enumerate() {
        let held = |strip: &OpenStrip| strip.free.get(&class).copied().unwrap_or(0);
        let mut surplus = opened.iter().map(held).sum::<i64>() - wanted;
        while surplus > 0 {
            let tightest = (0..opened.len()).filter(|&s| held(&opened[s]) > 0).min_by_key(|&s| {
                let strip = &opened[s];
                (strip.slack, std::cmp::Reverse(strip.free.len()), s)
            });
            let Some(strip) = tightest.map(|s| &mut opened[s]) else { break };
            if let Some(free) = strip.free.get_mut(&class) {
                *free -= 1;
            }
            strip.slack += measures.length(class, strip.width, 1);
            surplus -= 1;
        }
    }
    for strip in opened.iter_mut() {
        strip.free.retain(|_, n| *n > 0);
    }
    opened.retain(|strip| !strip.free.is_empty());
}

/// Opens strips: widest first, with all that their patterns hold.
#[must_use]
pub fn open(
    measures: &Measures<'_>,
    strips: &BTreeMap<Pattern, i64>,
    needed: &[i64],
    capacity: Length,
) -> Vec<OpenStrip> {
    let mut opened: Vec<OpenStrip> = Vec::new();
    for (pattern, count) in strips.iter().rev() {
        let free: BTreeMap<usize, i64> = pattern.plies.iter().copied().collect();
        let used: Length = free.iter().map(|(&class, &n)| measures.length(class, pattern.width, 1) * n).sum();
        let strip = OpenStrip { width: pattern.width, free, slack: capacity - used, pieces: Vec::new() };
        opened.extend((0..*count).map(|_| strip.clone()));
    }
    drop_surplus(measures, &mut opened, needed);
    opened
}

/// Divides the strips of a fabric into flat cuts only, which is always possible.
#[must_use]
pub fn flat(measures: &Measures<'_>, handling: Handling, opened: &[OpenStrip], groups: &[Group]) -> Stock {
    let mut strips = opened.to_vec();
    let mut free: BTreeMap<(usize, usize), i64> = BTreeMap::new();
    let mut cost = 0;
    for strip in &mut strips {
        for (&class, &n) in &strip.free {
            let way = way_on(measures, class, strip.width);
            *free.entry((class, way)).or_default() += n;
            let trims = measures.classes[class].ways[way].0 < strip.width;
            cost += n * (handling.flat + if trims { handling.trim } else { 0 });
            strip.pieces.extend((0..n).map(|_| (class, 1)));
        }
        strip.free.clear();
    }
    let mut kinds: Vec<(usize, usize)> = Vec::new();
    let shares = groups.iter().map(|group| {
        let mut share = BTreeMap::new();
        let mut left = group.plies();
        for (&(class, way), free) in free.iter_mut().filter(|entry| entry.0.0 == group.class) {
            let taken = left.min(*free);
            if taken > 0 {
                *free -= taken;
                left -= taken;
                let _ = share.insert((way, 1), taken);
                kinds.push((class, way));
            }
        }
        share
    });
    let shares = shares.collect();
    kinds.sort_unstable();
    kinds.dedup();
    Stock { strips, shares, cost: (cost, kinds.len()) }
}

/// Cuts one piece of a kind as two.
pub fn break_piece(
    measures: &Measures<'_>,
    strips: &mut [OpenStrip],
    class: usize,
    (way, plies): Cut,
    into: (u32, u32),
) {
    for strip in strips.iter_mut().rev().filter(|strip| way_on(measures, class, strip.width) == way) {
        if let Some(place) = strip.pieces.iter().rposition(|&piece| piece == (class, plies)) {
            let _ = strip.pieces.splice(place..=place, [(class, into.0), (class, into.1)]);
            let extra = |k: u32| measures.extra(class, strip.width, k);
            strip.slack += extra(plies) - extra(into.0) - extra(into.1);
            return;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::Class;

    const HANDLING: Handling = Handling { flat: 14, folded: 28, trim: 12 };

    /// Steps and grid of 1/8 in, folds of 1/16 in: a length of k plies takes (k - 1)/2 steps more, rounded up.
    fn measures(classes: &[Class]) -> Measures<'_> {
        Measures { classes, grid: 1016, fold: Length::from_units(508), step: Length::from_units(1016) }
    }

    fn class() -> Vec<Class> {
        vec![Class { ways: vec![(32, 32)] }]
    }

    fn strip(plies: i64, slack: i64) -> OpenStrip {
        let free = std::iter::once((0, plies)).collect();
        OpenStrip { width: 32, free, slack: Length::from_units(slack * 1016), pieces: Vec::new() }
    }

    fn group(up: i64, down: i64, by_face: bool) -> Group {
        let (bays, load, limit) = (vec![0], 1, 6);
        Group {
            stage: 1,
            board: 0,
            fabric: 0,
            class: 0,
            bays,
            load,
            limit,
            folding: true,
            alone: false,
            up,
            down,
            by_face,
        }
    }

    /// By hand: ten plies with four steps to spare are two lengths of five (two steps each); with three steps one of
    /// the two has to give way: a length of five and one of three (2 + 1) and two flat cuts cost 28 + 28 + 14 + 14
    /// seconds, and no other division is cheaper (a length of six takes all three steps: 28 + 4 x 14 = 84 as well).
    #[test]
    fn folds_take_the_room_that_there_is() {
        let classes = class();
        let cost = |slack: i64| {
            let stock = divide(
                &measures(&classes),
                HANDLING,
                &[strip(10, slack)],
                &[group(10, 0, false)],
                &[6, 5, 4, 3, 2],
            );
            stock.map(|stock| stock.cost.0)
        };
        assert_eq!(cost(0), Some(140));
        assert_eq!(cost(3), Some(84));
        assert_eq!(cost(4), Some(56));
    }

    /// By hand: five plies that must all lie face up are five flat cuts; three up and two down are one length.
    #[test]
    fn faces_that_matter_limit_folding() {
        let classes = class();
        let pieces = |up, down| {
            let stock =
                divide(&measures(&classes), HANDLING, &[strip(5, 20)], &[group(up, down, true)], &[5, 3]);
            stock.map(|stock| stock.strips[0].pieces.clone())
        };
        assert_eq!(pieces(5, 0), Some(vec![(0, 1); 5]));
        assert_eq!(pieces(3, 2), Some(vec![(0, 5)]));
    }

    /// Plies that nobody needs leave the strip that has the least room.
    #[test]
    fn surplus_leaves_the_tightest_strip() {
        let classes = class();
        let mut strips = vec![strip(5, 20), strip(5, 1)];
        drop_surplus(&measures(&classes), &mut strips, &[9]);
        assert_eq!(strips[0].free[&0], 5);
        assert_eq!(strips[1].free[&0], 4);
        assert_eq!(strips[1].slack, Length::from_units(33 * 1016));
    }

    /// Every way to share out seven plies adds up to seven, and all flat is among them.
    #[test]
    fn partitions_add_up() {
        let found = partitions(7, &[5, 3]);
        assert!(found.iter().all(|parts| parts.iter().map(|&(k, n)| i64::from(k) * n).sum::<i64>() == 7));
        assert!(found.contains(&vec![(1, 7)]));
        // 5+1+1, 3+3+1, 3+1x4, 1x7
        assert_eq!(found.len(), 4);
    }

    /// A broken length keeps its plies, and gives back the room that its folds no longer take.
    #[test]
    fn breaking_keeps_plies() {
        let classes = class();
        let mut strips =
            vec![OpenStrip { free: BTreeMap::new(), pieces: vec![(0, 6), (0, 4)], ..strip(0, 0) }];
        break_piece(&measures(&classes), &mut strips, 0, (0, 6), (3, 3));
        assert_eq!(strips[0].pieces, vec![(0, 3), (0, 3), (0, 4)]);
        // Five folds took 3 steps, two pairs of folds take 1 + 1.
        assert_eq!(strips[0].slack, Length::from_units(1016));
    }
}
