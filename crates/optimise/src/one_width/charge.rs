//! Pieces of some patterns cut anew from as few different patterns as a dive finds.
//!
//! The relaxation charges a strip of a pattern one part in u, where u strips of it are the most that what is left allows:
//! a pattern that is cut so often costs just one, so the sum is never more than the patterns of any plan from the pool
//! (the linearised fixed charge of Balinski, Naval Research Logistics Quarterly 8 (1961), from memory). The dive fixes
//! patterns that are used in full, else the one used most nearly so. The last few patterns come from `anew`.

use super::anew::{Anew, Contents};
use super::pool::pool;
use super::simplex::{Column, Simplex};
use super::{Count, Pattern, Patterns};
use crate::search::Random;

/// Cost of a piece that no pattern carries: more than most prices; if it is not, a dive is lost.
const MISSING: f64 = 60.0;
/// Patterns from which all that is left is made by `anew`.
const FEW: usize = 3;
/// Nodes of its search for one list.
const NODES: u64 = 400;
/// Second choices of a dive.
const BACK: u32 = 6;
/// Patterns looked at where one must be chosen.
const LOOK: usize = 3;
/// By what part costs are raised at random, at most.
const WHIM: f64 = 0.02;
/// By what part uses are raised at random, at most, where one is chosen.
const LUCK: f64 = 0.1;
/// Patterns added to the relaxation at once.
const FRESH: usize = 20;
/// Rounding errors.
const TINY: f64 = 1e-6;

/// What is left to cut.
#[derive(Clone)]
struct Left {
    /// Pieces of every item.
    pieces: Vec<Count>,
    strips: Count,
    /// Length that may be wasted.
    spare: i64,
}

impl Left {
    /// How often a pattern fits.
    fn most(&self, entry: &Entry) -> Count {
        let fits = entry.pattern.iter().map(|&(item, count)| self.pieces[item] / count).min().unwrap_or(0);
        let fits = fits.min(self.strips);
        if entry.waste > 0 { fits.min(self.spare / entry.waste) } else { fits }
    }

    fn take(&mut self, entry: &Entry, times: Count) {
        entry.pattern.iter().for_each(|&(item, count)| self.pieces[item] -= count * times);
        self.strips -= times;
        self.spare -= entry.waste * times;
    }
}

/// A pattern that may be cut.
#[derive(Clone)]
struct Entry {
    pattern: Pattern,
    waste: i64,
    /// Most strips of it in what is left.
    most: Count,
    /// Whether the last relaxation used it.
    used: bool,
}

/// A dive on its way.
#[derive(Clone)]
struct State {
    left: Left,
    entries: Vec<Entry>,
    fixed: Patterns,
    /// Patterns at least, from here on.
    least: usize,
    /// (entry, strips), those used most nearly in full first.
    uses: Vec<(usize, f64)>,
}

/// At most so many patterns of these contents; `known` are patterns that carry them.
pub(super) fn dive(
    anew: &mut Anew<'_>,
    contents: &Contents,
    known: &[(Pattern, Count)],
    most: usize,
    random: &mut Random,
) -> Option<Patterns> {
    let mut state = begun(anew, contents, known);
    relax(&mut state, anew, random)?;
    let mut back = BACK;
    loop {
        if state.fixed.len() + state.least > most {
            return None;
        }
        let room = most - state.fixed.len();
        if fix_full(&mut state) {
            if state.left.strips == 0 {
                return Some(state.fixed);
            }
            if state.fixed.len() >= most {
                return None;
            }
            relax(&mut state, anew, random)?;
        } else if room <= FEW {
            let contents = left_over(&state.left);
            let mut parts = state.least.max(1)..=room;
            let found = parts.find_map(|parts| anew.patterns(&contents, parts, NODES, &[], random))?;
            state.fixed.extend(found);
            return Some(state.fixed);
        } else {
            state = step(&state, room, &mut back, anew, random)?;
        }
    }
}

fn begun(anew: &mut Anew<'_>, contents: &Contents, known: &[(Pattern, Count)]) -> State {
    let (rules, sizes) = (anew.rules, anew.sizes);
    let mut pieces = vec![0; sizes.len()];
    contents.pieces.iter().for_each(|&(item, count)| pieces[item] = count);
    let spare = contents.strips * rules.capacity - contents.length(sizes);
    let mut patterns = pool(rules, sizes, contents, spare, &mut anew.work);
    patterns.extend(known.iter().map(|of| of.0.clone()));
    patterns.sort_unstable();
    patterns.dedup();
    let entry = |pattern: Pattern| {
        let length: i64 = pattern.iter().map(|&(item, count)| sizes[item] * count).sum();
        Entry { pattern, waste: rules.capacity - length, most: 0, used: false }
    };
    let entries = patterns.into_iter().map(entry).collect();
    let left = Left { pieces, strips: contents.strips, spare };
    State { left, entries, fixed: Patterns::new(), least: 0, uses: Vec::new() }
}

fn left_over(left: &Left) -> Contents {
    let pieces = left.pieces.iter().copied().enumerate().filter(|of| of.1 > 0).collect();
    Contents { pieces, strips: left.strips }
}

/// Fixes what is used in full: the relaxation has room for all of it together. False where there is nothing.
#[allow(clippy::cast_precision_loss, reason = "numbers of strips")]
fn fix_full(state: &mut State) -> bool {
    let State { left, entries, fixed, uses, .. } = state;
    let before = fixed.len();
    for &(at, used) in uses.iter() {
        let entry = &entries[at];
        if used > entry.most as f64 - TINY && left.most(entry) >= entry.most {
            left.take(entry, entry.most);
            fixed.push((entry.pattern.clone(), entry.most));
        }
    }
    fixed.len() > before
}

/// Fixes one pattern, as often as it fits or as the relaxation says, so that enough others may still do for the rest.
#[allow(clippy::cast_possible_truncation, reason = "numbers of strips")]
fn step(
    state: &State,
    room: usize,
    back: &mut u32,
    anew: &mut Anew<'_>,
    random: &mut Random,
) -> Option<State> {
    for &(at, used) in state.uses.iter().take(LOOK) {
        let entry = &state.entries[at];
        let rounded = (used.round() as Count).max(anew.rules.times);
        let lists = [entry.most, rounded];
        for &times in &lists[..1 + usize::from(rounded < entry.most)] {
            let mut next = state.clone();
            next.left.take(entry, times);
            next.fixed.push((entry.pattern.clone(), times));
            if relax(&mut next, anew, random).is_some() && next.least < room {
                return Some(next);
            }
            *back = back.checked_sub(1)?;
        }
    }
    None
}

/// The relaxation of what is left; entries that no longer fit are dropped. `None` where it cannot be cut from them.
#[allow(clippy::cast_precision_loss, reason = "numbers of pieces")]
fn relax(state: &mut State, anew: &mut Anew<'_>, random: &mut Random) -> Option<()> {
    let State { left, entries, .. } = state;
    entries.iter_mut().for_each(|of| of.most = left.most(of));
    entries.retain(|of| of.most >= anew.rules.times);
    let mut rows = vec![0; left.pieces.len()];
    let mut rhs: Vec<f64> = Vec::new();
    for (item, &count) in left.pieces.iter().enumerate().filter(|of| *of.1 > 0) {
        rows[item] = rhs.len();
        rhs.push(count as f64);
    }
    // The strips are a row only where waste leaves their number open.
    let strips = (left.spare > 0).then_some(rhs.len());
    rhs.extend(strips.map(|_| left.strips as f64));
    let column = |of: &Entry, cost: f64| {
        let pieces = of.pattern.iter().map(|&(item, count)| (rows[item], count as f64));
        Column { cost, entries: pieces.chain(strips.map(|row| (row, 1.0))).collect() }
    };
    let mut whim = || 1.0 + random.below(1000) as f64 * WHIM / 1e3;
    let costs: Vec<f64> = entries.iter().map(|of| whim() / of.most as f64).collect();
    let mut simplex = Simplex::new(&rhs, &vec![MISSING; rhs.len()], random.below(1 << 30) as u64);
    let mut inside: Vec<usize> = (0..entries.len()).filter(|&at| entries[at].used).collect();
    let mut is_inside: Vec<bool> = entries.iter().map(|of| of.used).collect();
    for &at in &inside {
        let _ = simplex.add(column(&entries[at], costs[at]));
    }
    loop {
        anew.work += (8 * entries.len() + 20 * rhs.len() * rhs.len()) as u64;
        if !simplex.optimise() {
            return None;
        }
        let prices = simplex.prices();
        let reduced = |at: usize| {
            let pieces = entries[at].pattern.iter().map(|&(item, count)| prices[rows[item]] * count as f64);
            costs[at] - pieces.sum::<f64>() - strips.map_or(0.0, |row| prices[row])
        };
        let outside = (0..entries.len()).filter(|&at| !is_inside[at]);
        let mut fresh: Vec<(f64, usize)> =
            outside.map(|at| (reduced(at), at)).filter(|of| of.0 < -TINY / 10.0).collect();
        if fresh.is_empty() {
            break;
        }
        fresh.sort_unstable_by(|one, other| one.0.total_cmp(&other.0).then(one.1.cmp(&other.1)));
        for &(_, at) in fresh.iter().take(FRESH) {
            is_inside[at] = true;
            inside.push(at);
            let _ = simplex.add(column(&entries[at], costs[at]));
        }
    }
    let used = simplex.basic_amounts().into_iter().filter(|of| of.1 > TINY);
    let used: Option<Vec<(usize, f64)>> =
        used.map(|(column, amount)| Some((inside[column.checked_sub(rhs.len())?], amount))).collect();
    settle(state, &used?, &costs, random);
    Some(())
}

/// Keeps what the relaxation says.
#[allow(clippy::cast_precision_loss, reason = "numbers of strips")]
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a number of patterns")]
fn settle(state: &mut State, used: &[(usize, f64)], costs: &[f64], random: &mut Random) {
    let value: f64 = used.iter().map(|&(at, amount)| amount * costs[at]).sum();
    state.least = (value / (1.0 + WHIM) - TINY).ceil().max(0.0) as usize;
    state.entries.iter_mut().for_each(|of| of.used = false);
    let mut uses: Vec<(f64, usize, f64)> = Vec::new();
    for &(at, amount) in used {
        let entry = &mut state.entries[at];
        entry.used = true;
        let luck = random.below(1000) as f64 * LUCK / 1e3;
        uses.push((amount / entry.most as f64 + luck, at, amount));
    }
    uses.sort_by(|one, other| other.0.total_cmp(&one.0).then(one.1.cmp(&other.1)));
    state.uses = uses.into_iter().map(|of| (of.1, of.2)).collect();
}
