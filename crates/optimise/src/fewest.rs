//! How few lay-ups, and how few lengths and cuts, there can be at least with the strips, areas and passes of a plan.
//!
//! *Lay-ups.* Over all passes of a board an area takes so many plies of each fabric. If n different lay-ups were enough,
//! made m1, m2, … mn times, every such number would be a sum of their times (k plies in a lay-up made m times give
//! k x m), and no lay-up would hold more plies than a stack may. Where that is impossible for every choice of
//! m1 + … + mn = passes, n are too few. A choice is refuted at one position, or at two of them at once, for a ply in an
//! area of both lies on both. A proof block made first as one lay-up is taken as it lies: some lay-up is that one, made
//! once or more. Faces, folds, and more than two positions at once are not looked at, so more may be needed.
//!
//! *Lengths and cuts.* What lies on a strip comes from lengths of at most a full stack, and every length takes room for
//! its folds: as the strip is filled, only so much is left for them.

use std::collections::{BTreeMap, BTreeSet, HashSet};

use patchlay_plan::{Fewest, LayUp, Plan, Strip};
use patchlay_scenario::PlyRule;
use patchlay_scenario::job::{Fabric, Job};

/// Most steps for one board; where they end, the lay-ups known to be needed until then count.
const MOST_STEPS: u64 = 2_000_000;
/// More lay-ups of one board than this are not asked about.
const MOST_LAYUPS: usize = 6;
/// Positions of one board beyond which no two are looked at together.
const MOST_POSITIONS: usize = 8;

/// The bounds of a sound plan; names that the job does not have count for nothing.
#[must_use]
pub fn fewest(plan: &Plan, job: &Job) -> Fewest {
    let first = plan.proof_block.as_ref().map_or(0, |proof| proof.layups).min(plan.layups.len());
    let (first, rest) = plan.layups.split_at(first);
    let boards: BTreeSet<&str> = plan.layups.iter().map(|layup| layup.board.as_str()).collect();
    let layups = boards.into_iter().map(|board| {
        let [first, rest] = [first, rest].map(|layups| layups.iter().filter(|layup| layup.board == board));
        let (first, rest): (Vec<&LayUp>, Vec<&LayUp>) = (first.collect(), rest.collect());
        Board { job, name: board }.layups(&first, &rest)
    });
    Fewest { layups: layups.sum(), pieces: pieces(plan, job) }
}

/// Plies by area and fabric.
type Counts<'p> = BTreeMap<(&'p [usize], &'p str), u64>;

/// Plies of some lay-ups, all passes.
fn counts<'p>(layups: &[&'p LayUp], passes: impl Fn(&LayUp) -> u64) -> Counts<'p> {
    let mut counts = Counts::new();
    for layup in layups {
        for load in &layup.bays {
            for group in &load.groups {
                let plies = u64::from(group.plies) * passes(layup);
                *counts.entry((&load.positions, &group.fabric)).or_default() += plies;
            }
        }
    }
    counts
}

fn made(layup: &LayUp) -> u64 {
    layup.passes.len() as u64
}

/// A board of the job.
struct Board<'a> {
    job: &'a Job,
    name: &'a str,
}

impl Board<'_> {
    /// Fewest lay-ups of the board; `first` are those of the proof block.
    fn layups(&self, first: &[&LayUp], rest: &[&LayUp]) -> u64 {
        let all = [first, rest].concat();
        let passes: u64 = all.iter().map(|layup| made(layup)).sum();
        let counts = counts(&all, made);
        let most = all.len().min(usize::try_from(passes).unwrap_or(usize::MAX));
        let mut steps = MOST_STEPS;
        for n in 1..most {
            let can = match first {
                [fixed] => self.can_beside(fixed, &counts, n, passes, &mut steps),
                _ => self.can(&counts, n, passes, &mut steps),
            };
            if n > MOST_LAYUPS || can {
                return n as u64;
            }
        }
        most as u64
    }

    /// Whether n lay-ups could do where one of them is that one.
    fn can_beside(&self, fixed: &LayUp, all: &Counts<'_>, n: usize, passes: u64, steps: &mut u64) -> bool {
        let one = counts(&[fixed], |_| 1);
        for times in 1..=passes {
            let mut left = all.clone();
            for (key, plies) in &one {
                match left.get_mut(key).and_then(|all| all.checked_sub(plies * times).map(|left| (all, left)))
                {
                    Some((all, left)) => *all = left,
                    None => return false,
                }
            }
            left.retain(|_, plies| *plies > 0);
            if self.can(&left, n - 1, passes - times, steps) {
                return true;
            }
        }
        false
    }

    fn can(&self, counts: &Counts<'_>, n: usize, passes: u64, steps: &mut u64) -> bool {
        let places = self.places(counts);
        if places.iter().any(|place| place.too_much(passes)) {
            return false;
        }
        can_do(&places, n, passes, passes, &mut Vec::new(), steps)
    }

    /// Every position, then every two that share an area.
    fn places(&self, counts: &Counts<'_>) -> Vec<Place> {
        let used: BTreeSet<usize> = counts.keys().flat_map(|(area, _)| area.iter().copied()).collect();
        let mut places: Vec<Place> = used.iter().map(|&at| self.place(counts, at, None)).collect();
        if used.len() <= MOST_POSITIONS {
            for (at, also) in used.iter().flat_map(|at| used.range(at + 1..).map(move |also| (*at, *also))) {
                let shared = |(area, _): &(&[usize], &str)| area.contains(&at) && area.contains(&also);
                if counts.keys().any(shared) {
                    places.push(self.place(counts, at, Some(also)));
                }
            }
        }
        places
    }

    fn place(&self, counts: &Counts<'_>, at: usize, also: Option<usize>) -> Place {
        let on = |area: &[usize]| [area.contains(&at), also.is_some_and(|also| area.contains(&also))];
        let here = || counts.iter().filter(|((area, _), _)| on(area) != [false, false]);
        let limits = here().map(|((_, fabric), _)| limit(self.job, fabric, self.name));
        let full = limits.fold(1, |all, limit| all / gcd(all, limit) * limit);
        let mut plies: Vec<Plies> = here()
            .map(|(&(area, fabric), &count)| Plies {
                count,
                load: full / limit(self.job, fabric, self.name),
                on: on(area),
            })
            .collect();
        // Plies alike in where they lie one after another: their rooms then meet again and again.
        plies.sort_by_key(|plies| std::cmp::Reverse((plies.on, plies.count, plies.load)));
        Place { plies, full }
    }
}

/// Plies that a stack of a fabric may have on a board.
fn limit(job: &Job, fabric: &str, board: &str) -> u64 {
    let fabric = job.fabrics.iter().find(|of| of.name == fabric).map_or(1, |of| of.ply_limit);
    let board = job.boards.iter().find(|of| of.name == board).map_or(1, |of| of.ply_limit);
    u64::from(fabric.min(board).max(1))
}

fn gcd(a: u64, b: u64) -> u64 {
    if b == 0 { a } else { gcd(b, a % b) }
}

/// Plies of one fabric in one area: how many in all passes, what one takes of a full stack, and on which of the two
/// positions they lie.
#[derive(Clone, Copy, Debug)]
struct Plies {
    count: u64,
    load: u64,
    on: [bool; 2],
}

/// The stacks at one position or two in all passes.
#[derive(Debug)]
struct Place {
    plies: Vec<Plies>,
    full: u64,
}

impl Place {
    /// Whether so many full stacks do not hold the plies.
    fn too_much(&self, passes: u64) -> bool {
        let load = |place: usize| -> u64 {
            self.plies.iter().filter(|plies| plies.on[place]).map(|plies| plies.count * plies.load).sum()
        };
        load(0).max(load(1)) > passes * self.full
    }
}

/// Whether so many more lay-ups could do, none made more often than `most`; also where the steps ran out.
fn can_do(places: &[Place], n: usize, left: u64, most: u64, times: &mut Vec<u64>, steps: &mut u64) -> bool {
    if n == 0 {
        return left == 0 && places.iter().all(|place| divides(place, times, steps));
    }
    if *steps == 0 {
        return true;
    }
    *steps -= 1;
    // At least a fair share of what is left, and something for each of the rest.
    let rest = n as u64 - 1;
    for made in (left.div_ceil(n as u64).max(1)..=most.min(left.saturating_sub(rest))).rev() {
        times.push(made);
        let can = can_do(places, n - 1, left - made, made, times, steps);
        times.pop();
        if can {
            return true;
        }
    }
    false
}

/// Room at each position in each lay-up.
type Room = Vec<[u64; 2]>;

/// Whether the plies at a place can be divided over lay-ups made so many times; also where the steps ran out.
fn divides(place: &Place, times: &[u64], steps: &mut u64) -> bool {
    let mut division = Division { place, times, dead: HashSet::new(), steps };
    division.place(0, &mut vec![[place.full; 2]; times.len()])
}

struct Division<'a> {
    place: &'a Place,
    times: &'a [u64],
    dead: HashSet<(usize, Room)>,
    steps: &'a mut u64,
}

impl Division<'_> {
    fn place(&mut self, at: usize, room: &mut Room) -> bool {
        let Some(&Plies { count, .. }) = self.place.plies.get(at) else { return true };
        if self.dead.contains(&(at, room.clone())) {
            return false;
        }
        if self.divide((at, 0), count, room) {
            return true;
        }
        let _ = self.dead.insert((at, room.clone()));
        false
    }

    fn divide(&mut self, (at, lay): (usize, usize), left: u64, room: &mut Room) -> bool {
        if *self.steps == 0 {
            return true;
        }
        *self.steps -= 1;
        if left == 0 {
            return self.place(at + 1, room);
        }
        let Some(&made) = self.times.get(lay) else { return false };
        let Plies { load, on, .. } = self.place.plies[at];
        let free = (0..2).filter(|&position| on[position]).map(|position| room[lay][position]).min();
        let most = (left / made).min(free.unwrap_or(0) / load);
        for plies in (0..=most).rev() {
            let before = room[lay];
            for position in (0..2).filter(|&position| on[position]) {
                room[lay][position] -= plies * load;
            }
            let can = self.divide((at, lay + 1), left - plies * made, room);
            room[lay] = before;
            if can {
                return true;
            }
        }
        false
    }
}

/// Fewest lengths and cuts as every strip is filled.
fn pieces(plan: &Plan, job: &Job) -> u64 {
    let mut sum = 0;
    for cloth in &plan.fabrics {
        let Some(fabric) = job.fabrics.iter().find(|fabric| fabric.name == cloth.fabric) else { continue };
        let limits = job.boards.iter().map(|board| limit(job, &cloth.fabric, &board.name));
        let folds = plan.strategy.plies != PlyRule::Flat && fabric.folding;
        let most = if folds { limits.max().unwrap_or(1) } else { 1 };
        let rooms = Rooms::new(job, most);
        sum += cloth.strips.iter().map(|strip| rooms.of_strip(strip, fabric)).sum::<u64>();
    }
    sum
}

/// Room that the folds of a length take, in ruler steps, by plies; none for no ply and for one.
struct Rooms {
    step: u64,
    of: Vec<usize>,
}

impl Rooms {
    fn new(job: &Job, most: u64) -> Self {
        let units = |length: patchlay_measure::Length| u64::try_from(length.units()).unwrap_or(0);
        let (fold, step) = (units(job.fold_allowance), units(job.ruler_step).max(1));
        let room = |plies: u64| (plies.saturating_sub(1) * fold).div_ceil(step);
        Self {
            step,
            of: (0..=most).map(|plies| usize::try_from(room(plies)).unwrap_or(usize::MAX)).collect(),
        }
    }

    fn of_strip(&self, strip: &Strip, fabric: &Fabric) -> u64 {
        let mut sizes: BTreeMap<(i64, i64), usize> = BTreeMap::new();
        let mut flat = 0;
        for piece in &strip.pieces {
            let (run, width, plies) = (piece.run.units(), piece.width.units(), piece.plies);
            *sizes.entry((run.min(width), run.max(width))).or_default() += plies as usize;
            flat += run * i64::from(plies);
        }
        let slack = u64::try_from(fabric.strip_capacity().units() - flat).unwrap_or(0) / self.step;
        // What folds take at most, all plies in lengths as long as may be: beyond that, room is no help.
        let all: usize =
            sizes.values().map(|&plies| plies.saturating_mul(*self.of.last().unwrap_or(&0))).sum();
        let slack = usize::try_from(slack).unwrap_or(usize::MAX).min(all);
        let mut fewest = vec![0; slack + 1];
        for plies in sizes.into_values() {
            let of_size = self.of_size(plies, slack);
            fewest = (0..=slack)
                .map(|room| (0..=room).map(|own| of_size[own] + fewest[room - own]).min().unwrap_or(0))
                .collect();
        }
        fewest[slack]
    }

    /// Fewest lengths and cuts for so many plies of a size, by the room that their folds may take together.
    fn of_size(&self, plies: usize, slack: usize) -> Vec<u64> {
        let mut fewest: Vec<Vec<u64>> = vec![vec![0; slack + 1]];
        for plies in 1..=plies {
            let of = |room: usize| {
                let lengths = (1..self.of.len().min(plies + 1)).filter(|&k| self.of[k] <= room);
                lengths.map(|k| 1 + fewest[plies - k][room - self.of[k]]).min().unwrap_or(plies as u64)
            };
            let next = (0..=slack).map(of).collect();
            fewest.push(next);
        }
        fewest.pop().unwrap_or_default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const ONE: [bool; 2] = [true, false];

    fn can(places: &[Place], n: usize, passes: u64) -> bool {
        can_do(places, n, passes, passes, &mut Vec::new(), &mut 1_000_000)
    }

    fn one(counts: &[u64], full: u64) -> [Place; 1] {
        [Place { plies: counts.iter().map(|&count| Plies { count, load: 1, on: ONE }).collect(), full }]
    }

    /// Twelve plies in three passes of at most six: four in each.
    #[test]
    fn a_multiple_of_the_passes_needs_one_lay_up() {
        assert!(can(&one(&[12], 6), 1, 3));
        assert!(!can(&one(&[13], 6), 1, 3), "thirteen is no multiple of three");
        // Five plies twice and three once.
        assert!(can(&one(&[13], 6), 2, 3));
    }

    /// Seven plies of each of two fabrics in three passes of at most five. Two lay-ups are made twice and once: of each
    /// fabric 2 a + b = 7, so a = 3, b = 1 or a = 2, b = 3 (a = 1 needs b = 5, and nothing else fits beside it twice).
    /// Both a together are at most five, and so are both b: 3 + 2 and 1 + 3.
    #[test]
    fn stacks_hold_what_they_may() {
        assert!(can(&one(&[7, 7], 5), 2, 3));
        assert!(!can(&one(&[7, 7], 4), 2, 3), "fourteen plies do not go into three stacks of four");
        assert!(can(&one(&[7, 7], 5), 3, 3));
    }

    /// One ply of each of seven fabrics, two passes of at most six: no fabric is in both, so two lay-ups.
    #[test]
    fn single_plies_need_lay_ups_of_their_own() {
        assert!(!can(&one(&[1; 7], 6), 1, 2));
        assert!(can(&one(&[1; 7], 6), 2, 2));
    }

    /// Three passes as two lay-ups, made twice and once; a full stack is six, of plies that take two or three. Two plies
    /// of two lie in an area of both positions: twice one, or once two. Beside them the first position has one ply of
    /// three, so once: then once two leaves it no room. The second has four of three and one of two, so once: after
    /// twice one, four of both rooms are left, and no more than one of three fits. Each position alone can do.
    #[test]
    fn two_positions_refute_what_neither_does_alone() {
        let of = |plies: &[(u64, u64, [bool; 2])]| {
            let plies = plies.iter().map(|&(count, load, on)| Plies { count, load, on });
            Place { plies: plies.collect(), full: 6 }
        };
        let other = [false, true];
        assert!(can(&[of(&[(2, 2, ONE), (1, 3, ONE)])], 2, 3));
        assert!(can(&[of(&[(2, 2, ONE), (4, 3, ONE), (1, 2, ONE)])], 2, 3));
        let two = of(&[(2, 2, [true, true]), (1, 3, ONE), (4, 3, other), (1, 2, other)]);
        assert!(!can(&[two], 2, 3));
    }

    fn rooms(most: usize) -> Rooms {
        // Folds of half a step: a length of k plies takes (k - 1) / 2 steps, rounded up.
        Rooms { step: 1, of: (0..=most).map(|plies: usize| plies.saturating_sub(1).div_ceil(2)).collect() }
    }

    /// By hand: ten plies are ten cuts without room for folds. With four steps they are two lengths of five (two steps
    /// each); with three a five and a three (2 + 1) and two cuts; with one, a three and seven cuts.
    #[test]
    fn folds_take_room() {
        let fewest = rooms(6).of_size(10, 5);
        assert_eq!(fewest, [10, 8, 6, 4, 2, 2]);
    }
}
