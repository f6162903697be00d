//! Whether there can be no fewer lay-ups, lengths and cuts than a plan says: searched for again, from the plan's own
//! lay-ups and strips and the scenario's limits.
//!
//! A board's passes are divided among fewer lay-ups in every way; for each way there must be a position, or two that
//! share an area, whose plies no such lay-ups can hold. Lengths and cuts are one for every ply less what folds save in
//! the room that a strip has left.

use std::collections::{BTreeMap, BTreeSet};

use patchlay_plan::{Fewest, Plan, PlyRule, Strip};

use crate::facts::Facts;
use crate::fault::{FaultCode, Faults};
use crate::supply::Loaded;

/// Most lay-ups tried for one board, over everything; many times what the planner spends on its proof.
const MOST_TRIED: u64 = 60_000_000;
/// Positions of one board beyond which no two are looked at together.
const MOST_POSITIONS: usize = 8;

/// Judges what the plan says, if it says anything.
pub(crate) fn judge(facts: &Facts, plan: &Plan, layups: &[Loaded<'_>], faults: &mut Faults) {
    let Some(stated) = plan.fewest else { return };
    let (found, shown) = (&plan.figures, Judge { facts, plan, layups });
    let pieces = plan.fabrics.iter().enumerate().map(|(at, _)| shown.pieces(at)).sum::<u64>();
    let wanted = stated.layups;
    let layups = if wanted > found.layups { 0 } else { shown.layups(wanted) };
    let Fewest { pieces: wanted_pieces, .. } = stated;
    for (what, stated, shown) in [("layups", wanted, layups), ("pieces", wanted_pieces, pieces)] {
        if stated > shown {
            faults.add(
                FaultCode::FewestNotProved,
                format!("fewest.{what}"),
                stated,
                format!("at most {shown}"),
            );
        }
    }
}

struct Judge<'a> {
    facts: &'a Facts,
    plan: &'a Plan,
    layups: &'a [Loaded<'a>],
}

/// Plies of a fabric in an area, by both as indices.
type Plies = BTreeMap<(usize, usize), u64>;

/// What is shown of a board so far.
struct Shown<'a> {
    board: usize,
    /// Of all its lay-ups, all passes.
    plies: Plies,
    passes: u64,
    /// Its lay-ups that hold a proof block.
    early: Vec<&'a Loaded<'a>>,
    /// Its lay-ups in the plan, or its passes if these are fewer.
    all: u64,
    /// Lay-ups that it needs.
    shown: u64,
    tried: u64,
}

fn plies_of(layup: &Loaded<'_>, times: u64, plies: &mut Plies) {
    for load in &layup.loads {
        for (fabric, group) in &load.groups {
            *plies.entry((load.bay, *fabric)).or_default() += u64::from(group.plies) * times;
        }
    }
}

impl Judge<'_> {
    /// Fewest lay-ups, added up over the boards; no more than are wanted. Every board is asked for one more in turn, so
    /// that what is easily shown is shown first.
    fn layups(&self, wanted: u64) -> u64 {
        let boards: BTreeSet<usize> = self.layups.iter().map(|layup| layup.board).collect();
        let mut shown = boards.len() as u64;
        let mut open: Vec<Shown<'_>> = boards.into_iter().map(|board| self.of_board(board)).collect();
        while shown < wanted && !open.is_empty() {
            open.retain_mut(|board| {
                let one_more = shown < wanted && self.one_more(board);
                shown += u64::from(one_more);
                one_more
            });
        }
        shown.min(wanted)
    }

    fn of_board(&self, board: usize) -> Shown<'_> {
        let of_board = || self.layups.iter().enumerate().filter(|(_, layup)| layup.board == board);
        let mut plies = Plies::new();
        of_board().for_each(|(_, layup)| plies_of(layup, layup.passes, &mut plies));
        let passes: u64 = of_board().map(|(_, layup)| layup.passes).sum();
        let early = self.plan.proof_block.as_ref().map_or(0, |proof| proof.layups);
        let early = of_board().filter(|(at, _)| *at < early).map(|(_, layup)| layup).collect();
        let all = (of_board().count() as u64).min(passes);
        Shown { board, plies, passes, early, all, shown: 1, tried: 0 }
    }

    /// Whether a board needs one lay-up more than was shown so far.
    fn one_more(&self, of: &mut Shown<'_>) -> bool {
        if of.shown >= of.all {
            return false;
        }
        let n = usize::try_from(of.shown).unwrap_or(usize::MAX);
        let too_few = match of.early[..] {
            [first] => self.too_few_beside(first, n, &of.plies, of.passes, &mut of.tried),
            _ => self.too_few((of.board, n), &of.plies, of.passes, &mut of.tried),
        };
        of.shown += u64::from(too_few);
        too_few
    }

    /// Whether n lay-ups are too few where one of them is that one, made however often.
    fn too_few_beside(
        &self,
        first: &Loaded<'_>,
        n: usize,
        all: &Plies,
        passes: u64,
        tried: &mut u64,
    ) -> bool {
        let mut one = Plies::new();
        plies_of(first, 1, &mut one);
        let most = one.iter().map(|(key, &each)| all[key] / each.max(1)).min().unwrap_or(passes).min(passes);
        (1..=most).all(|times| {
            let left = all.iter().map(|(key, &plies)| (*key, plies - times * one.get(key).unwrap_or(&0)));
            let left: Plies = left.filter(|(_, plies)| *plies > 0).collect();
            self.too_few((first.board, n - 1), &left, passes - times, tried)
        })
    }

    fn too_few(&self, (board, n): (usize, usize), plies: &Plies, passes: u64, tried: &mut u64) -> bool {
        let views = self.views(board, plies);
        let mut all_ways = Vec::new();
        ways(passes, n, passes, &mut Vec::new(), &mut |times| {
            if *tried < MOST_TRIED && !views.iter().any(|view| view.cannot(times, tried)) {
                all_ways.push(times.to_vec());
            }
            all_ways.is_empty() && *tried < MOST_TRIED
        });
        all_ways.is_empty() && *tried < MOST_TRIED
    }

    /// Single positions first, then two that share an area.
    fn views(&self, board: usize, plies: &Plies) -> Vec<View> {
        let positions = |bay: usize| &self.facts.boards[board].bays[bay].positions;
        let used: BTreeSet<usize> =
            plies.keys().flat_map(|(bay, _)| positions(*bay).iter().copied()).collect();
        let view = |seen: &[usize]| -> View {
            let mut full = 1_u64;
            let mut heaps = Vec::new();
            for (&(bay, fabric), &count) in plies {
                let on: Vec<usize> =
                    (0..seen.len()).filter(|&at| positions(bay).contains(&seen[at])).collect();
                if !on.is_empty() {
                    let limit = u64::from(self.facts.limit(fabric, board)).max(1);
                    full = full / gcd(full, limit) * limit;
                    heaps.push((on, count, limit));
                }
            }
            let mut heaps: Vec<Heap> =
                heaps.into_iter().map(|(on, count, limit)| Heap { on, count, load: full / limit }).collect();
            heaps.sort_by(|a, b| {
                (b.on.len(), &a.on, b.count, b.load).cmp(&(a.on.len(), &b.on, a.count, a.load))
            });
            View { positions: seen.len(), full, heaps }
        };
        let mut views: Vec<View> = used.iter().map(|&at| view(&[at])).collect();
        if used.len() <= MOST_POSITIONS {
            for &one in &used {
                for &other in used.range(one + 1..) {
                    let both = |(bay, _): &(usize, usize)| {
                        positions(*bay).contains(&one) && positions(*bay).contains(&other)
                    };
                    if plies.keys().any(both) {
                        views.push(view(&[one, other]));
                    }
                }
            }
        }
        views
    }

    /// Fewest lengths and cuts of a fabric's strips as they are filled.
    fn pieces(&self, at: usize) -> u64 {
        let (cloth, facts) = (&self.plan.fabrics[at], self.facts);
        let Some(fabric) = facts.fabrics.get(at) else { return 0 };
        let highest = (0..facts.boards.len()).map(|board| facts.limit(at, board)).max().unwrap_or(1);
        let flat = self.plan.strategy.plies == PlyRule::Flat || !fabric.turnable;
        let highest = if flat { 1 } else { usize::try_from(highest).unwrap_or(1) };
        let (step, fold) = (facts.rules.step.units().max(1), facts.rules.fold.units());
        let fold_room = |plies: usize| {
            let folds = i64::try_from(plies.saturating_sub(1)).unwrap_or(0);
            usize::try_from((fold * folds + step - 1) / step).unwrap_or(usize::MAX)
        };
        let rooms: Vec<usize> = (0..=highest).map(fold_room).collect();
        let capacity = fabric.strip_capacity().units();
        cloth.strips.iter().map(|strip| of_strip(strip, capacity, step, &rooms)).sum()
    }
}

/// Lengths and cuts of a strip: as many as plies, less what folds save.
fn of_strip(strip: &Strip, capacity: i64, step: i64, rooms: &[usize]) -> u64 {
    let mut of_size: BTreeMap<[i64; 2], usize> = BTreeMap::new();
    let mut left = capacity;
    for piece in &strip.pieces {
        let mut size = [piece.run.units(), piece.width.units()];
        size.sort_unstable();
        let plies = usize::try_from(piece.plies).unwrap_or(0);
        *of_size.entry(size).or_default() += plies;
        left -= piece.run.units() * i64::from(piece.plies);
    }
    let plies: usize = of_size.values().sum();
    let useful = rooms.last().unwrap_or(&0).saturating_mul(plies);
    let left = usize::try_from(left / step).unwrap_or(0).min(useful);
    let mut saved = vec![0_usize; left + 1];
    for plies in of_size.into_values() {
        let own = savings(plies, left, rooms);
        let best = |room: usize| (0..=room).map(|part| own[part] + saved[room - part]).max().unwrap_or(0);
        saved = (0..=left).map(best).collect();
    }
    (plies - saved[left]) as u64
}

/// Most that lengths of so many plies of a size save, by the room for their folds: one of k plies saves k - 1.
fn savings(plies: usize, left: usize, rooms: &[usize]) -> Vec<usize> {
    let mut saved = vec![vec![0; left + 1]; plies + 1];
    for have in 1..=plies {
        for room in 0..=left {
            let without = saved[have - 1][room];
            let lengths = (2..rooms.len()).filter(|&k| k <= have && rooms[k] <= room);
            let with = lengths.map(|k| saved[have - k][room - rooms[k]] + k - 1).max();
            saved[have][room] = without.max(with.unwrap_or(0));
        }
    }
    saved.swap_remove(plies)
}

/// Every way to write a number as n falling numbers above 0; goes on as long as `each` says so.
fn ways(left: u64, n: usize, most: u64, so_far: &mut Vec<u64>, each: &mut dyn FnMut(&[u64]) -> bool) -> bool {
    if n == 0 {
        return left > 0 || each(so_far);
    }
    let mut times = most.min(left);
    // The rest takes at most as much each as this one.
    while times > 0 && times.saturating_mul(n as u64) >= left {
        so_far.push(times);
        let go_on = ways(left - times, n - 1, times, so_far, each);
        let _ = so_far.pop();
        if !go_on {
            return false;
        }
        times -= 1;
    }
    true
}

fn gcd(a: u64, b: u64) -> u64 {
    if b == 0 { a } else { gcd(b, a % b) }
}

/// Plies of one fabric in one area, as seen from one position or two.
struct Heap {
    /// On which of these they lie.
    on: Vec<usize>,
    count: u64,
    /// What one takes of a full stack.
    load: u64,
}

/// What lies on one position or two.
struct View {
    positions: usize,
    full: u64,
    heaps: Vec<Heap>,
}

impl View {
    /// Whether lay-ups made so many times cannot hold it all; no if too much would have to be tried.
    fn cannot(&self, times: &[u64], tried: &mut u64) -> bool {
        let mut open = vec![(0, vec![self.full; self.positions * times.len()])];
        let mut seen = BTreeSet::new();
        while let Some((at, mut room)) = open.pop() {
            let Some(heap) = self.heaps.get(at) else { return false };
            let mut laid = Vec::new();
            self.lay(heap, times, (0, heap.count), &mut room, &mut laid, tried);
            if *tried >= MOST_TRIED {
                return false;
            }
            open.extend(laid.into_iter().map(|room| (at + 1, room)).filter(|next| seen.insert(next.clone())));
        }
        true
    }

    /// Every room that is left once the plies lie in the lay-ups from one on.
    fn lay(
        &self,
        heap: &Heap,
        times: &[u64],
        (from, left): (usize, u64),
        room: &mut [u64],
        laid: &mut Vec<Vec<u64>>,
        tried: &mut u64,
    ) {
        *tried += 1;
        if left == 0 {
            laid.push(room.to_vec());
            return;
        }
        let Some(&made) = times.get(from) else { return };
        let places = || heap.on.iter().map(|on| from * self.positions + on);
        let free = places().map(|place| room[place]).min().unwrap_or(0);
        let most = (left / made).min(free / heap.load);
        for plies in 0..=most {
            self.lay(heap, times, (from + 1, left - plies * made), room, laid, tried);
            if plies < most {
                places().for_each(|place| room[place] -= heap.load);
            }
        }
        places().for_each(|place| room[place] += most * heap.load);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn view(positions: usize, full: u64, heaps: &[(&[usize], u64, u64)]) -> View {
        let heap = |&(on, count, load): &(&[usize], u64, u64)| Heap { on: on.to_vec(), count, load };
        View { positions, full, heaps: heaps.iter().map(heap).collect() }
    }

    /// By hand: seven plies of each of two fabrics in stacks of five, made twice and once, are 3 and 1 of the one and 2
    /// and 3 of the other; stacks of four do not hold them.
    #[test]
    fn stacks_hold_what_they_may() {
        let of = |full| view(1, full, &[(&[0], 7, 1), (&[0], 7, 1)]);
        assert!(!of(5).cannot(&[2, 1], &mut 0));
        assert!(of(4).cannot(&[2, 1], &mut 0));
        assert!(
            !of(4).cannot(&[2, 1], &mut (MOST_TRIED - 1)),
            "what was not tried to the end proves nothing"
        );
    }

    /// By hand: two plies on both positions lie twice one or once two. The first position wants them twice one, for its
    /// own ply of half a stack is made once; the second wants them once two, for it has two halves twice and a third once.
    #[test]
    fn two_positions_refute_what_neither_does_alone() {
        assert!(!view(1, 6, &[(&[0], 2, 2), (&[0], 1, 3)]).cannot(&[2, 1], &mut 0));
        assert!(!view(1, 6, &[(&[0], 2, 2), (&[0], 4, 3), (&[0], 1, 2)]).cannot(&[2, 1], &mut 0));
        let both = view(2, 6, &[(&[0, 1], 2, 2), (&[0], 1, 3), (&[1], 4, 3), (&[1], 1, 2)]);
        assert!(both.cannot(&[2, 1], &mut 0));
    }

    /// By hand: 7 is three falling numbers above 0 in four ways.
    #[test]
    fn ways_are_complete() {
        let mut found = Vec::new();
        let _ = ways(7, 3, 7, &mut Vec::new(), &mut |times| {
            found.push(times.to_vec());
            true
        });
        assert_eq!(found, [vec![5, 1, 1], vec![4, 2, 1], vec![3, 3, 1], vec![3, 2, 2]]);
    }

    /// By hand: folds of half a step, rounded up. In four steps ten plies are two lengths of five and save eight cuts; in
    /// three a five and a three save six; one step is a three, or a two.
    #[test]
    fn folds_save_what_they_have_room_for() {
        assert_eq!(savings(10, 5, &[0, 0, 1, 1, 2, 2, 3]), [0, 2, 4, 6, 8, 8]);
    }
}
