//! Pieces of a few patterns cut anew from as few different patterns as a dive finds.
//!
//! The relaxation charges a pattern one part in u for each strip, where u strips are the most that what is left allows:
//! a pattern that is cut that often costs just one, so the sum is never more than the patterns of any plan. The dive
//! fixes patterns that are used in full, else the one used most nearly so (the linearised fixed charge of Balinski, Naval
//! Research Logistics Quarterly 8 (1961), from memory). The last few patterns come from `anew`.

use super::anew::{Anew, Contents};
use super::pool::pool;
use super::simplex::{Column, Simplex};
use super::{Count, Pattern, Patterns};
use crate::search::Random;

/// Cost of a piece that no pattern carries: more than any price.
const MISSING: f64 = 60.0;
/// Patterns from which all that is left is made by `anew`.
const FEW: usize = 3;
/// Second choices of a dive.
const BACK: u32 = 6;
const WHIM: f64 = 0.02;
const FRESH: usize = 20;

/// What is left of a dive.
#[derive(Clone)]
struct Left {
    /// Pieces of every item.
    pieces: Vec<Count>,
    strips: Count,
    spare: i64,
}

impl Left {
    /// How often a pattern of that waste fits.
    fn most(&self, pattern: &Pattern, waste: i64) -> Count {
        let most = pattern.iter().map(|&(item, count)| self.pieces[item] / count).min().unwrap_or(0);
        let most = most.min(self.strips);
        if waste > 0 { most.min(self.spare / waste) } else { most }
    }

    fn take(&mut self, pattern: &Pattern, waste: i64, times: Count) {
        pattern.iter().for_each(|&(item, count)| self.pieces[item] -= count * times);
        self.strips -= times;
        self.spare -= waste * times;
    }
}

/// A pattern of the pool: its waste, and the most strips of it.
type Entry = (Pattern, i64, Count, bool);

struct Relaxed {
    value: f64,
    /// (entry of the pool, strips), those used most nearly in full first.
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
    let (rules, sizes) = (anew.rules, anew.sizes);
    let mut pieces = vec![0; sizes.len()];
    contents.pieces.iter().for_each(|&(item, count)| pieces[item] = count);
    let length: i64 = contents.pieces.iter().map(|&(item, count)| sizes[item] * count).sum();
    let spare = contents.strips * rules.capacity - length;
    let mut left = Left { pieces, strips: contents.strips, spare };
    let mut patterns = pool(rules, sizes, contents, spare, random, &mut anew.work);
    patterns.extend(known.iter().map(|of| of.0.clone()));
    patterns.sort_unstable();
    patterns.dedup();
    let waste = |p: &Pattern| rules.capacity - p.iter().map(|&(item, count)| sizes[item] * count).sum::<i64>();
    let mut entries: Vec<Entry> = patterns.into_iter().map(|p| { let w = waste(&p); (p, w, 0, false) }).collect();
    let mut fixed = Patterns::new();
    let mut relaxed = relax(&mut entries, &left, rules.times, anew, random)?;
    let mut back = BACK;
    loop {
        let room = most - fixed.len();
        if (relaxed.value - 1e-6).ceil() > room as f64 {
            return None;
        }
        // All that are used in full can be fixed together.
        let full: Vec<usize> = relaxed.uses.iter().filter(|of| of.1 > entries[of.0].2 as f64 - 1e-6).map(|of| of.0).collect();
        if !full.is_empty() {
            for at in full {
                let (pattern, waste, most, _) = &entries[at];
                let times = *most;
                if left.most(pattern, *waste) >= times {
                    left.take(pattern, *waste, times);
                    fixed.push((pattern.clone(), times));
                }
            }
            if left.strips == 0 {
                return (fixed.len() <= most).then_some(fixed);
            }
            if fixed.len() >= most { return None; }
            relaxed = relax(&mut entries, &left, rules.times, anew, random)?;
            continue;
        }
        if room <= FEW {
            let pieces: Vec<(usize, Count)> = left.pieces.iter().copied().enumerate().filter(|of| of.1 > 0).collect();
            let contents = Contents { pieces, strips: left.strips };
            let least = ((relaxed.value - 1e-6).ceil() as usize).max(1);
            let found = (least..=room).find_map(|parts| anew.patterns(&contents, parts, 400, &[], random))?;
            fixed.extend(found);
            return Some(fixed);
        }
        let mut next = None;
        'tries: for &(at, used) in relaxed.uses.iter().take(3) {
            let (pattern, waste, most_times, _) = entries[at].clone();
            let rounded = (used.round() as Count).max(rules.times);
            let list = if rounded < most_times { vec![most_times, rounded] } else { vec![most_times] };
            for times in list {
                let mut then = left.clone();
                then.take(&pattern, waste, times);
                let mut fewer = entries.clone();
                if let Some(r) = relax(&mut fewer, &then, rules.times, anew, random)
                    && (r.value - 1e-6).ceil() <= (room - 1) as f64
                {
                    next = Some((then, fewer, r, (pattern, times)));
                    break 'tries;
                }
                if back == 0 { return None; }
                back -= 1;
            }
        }
        let (then, fewer, r, of) = next?;
        left = then; entries = fewer; relaxed = r;
        fixed.push(of);
    }
}

/// The relaxation of what is left; entries that no longer fit are dropped.
fn relax(entries: &mut Vec<Entry>, left: &Left, times: Count, anew: &mut Anew<'_>, random: &mut Random) -> Option<Relaxed> {
    entries.iter_mut().for_each(|of| of.2 = left.most(&of.0, of.1));
    entries.retain(|of| of.2 >= times);
    let mut rows = vec![usize::MAX; left.pieces.len()];
    let mut rhs: Vec<f64> = Vec::new();
    for (item, &count) in left.pieces.iter().enumerate().filter(|of| *of.1 > 0) {
        rows[item] = rhs.len();
        rhs.push(count as f64);
    }
    let strips = rhs.len();
    if left.spare > 0 {
        rhs.push(left.strips as f64);
    }
    let mut simplex = Simplex::new(&rhs, &vec![MISSING; rhs.len()], random.below(1 << 30) as u64);
    let column = |of: &Entry, cost: f64| {
        let mut column: Vec<(usize, f64)> = of.0.iter().map(|&(item, count)| (rows[item], count as f64)).collect();
        if left.spare > 0 { column.push((strips, 1.0)); }
        Column { cost, entries: column }
    };
    let costs: Vec<f64> = entries.iter().map(|of| (1.0 + random.below(1000) as f64 * WHIM / 1e3) / of.2 as f64).collect();
    let mut of_column: Vec<usize> = Vec::new();
    let mut inside = vec![false; entries.len()];
    for (at, of) in entries.iter().enumerate().filter(|of| of.1.3) {
        of_column.push(at);
        inside[at] = true;
        let _ = simplex.add(column(of, costs[at]));
    }
    loop {
        anew.work += (entries.len() * 2 + rhs.len() * rhs.len()) as u64;
        if !simplex.optimise() { return None; }
        let prices = simplex.prices();
        let extra = if left.spare > 0 { prices[strips] } else { 0.0 };
        let mut fresh: Vec<(f64, usize)> = Vec::new();
        for (at, of) in entries.iter().enumerate().filter(|of| !inside[of.0]) {
            let worth: f64 = of.0.iter().map(|&(item, count)| prices[rows[item]] * count as f64).sum();
            let reduced = costs[at] - worth - extra;
            if reduced < -1e-7 { fresh.push((reduced, at)); }
        }
        if fresh.is_empty() { break; }
        if fresh.len() > FRESH { let _ = fresh.select_nth_unstable_by(FRESH, |a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1))); fresh.truncate(FRESH); }
        for (_, at) in fresh {
            of_column.push(at);
            inside[at] = true;
            let _ = simplex.add(column(&entries[at], costs[at]));
        }
    }
    let mut value = 0.0;
    let mut uses: Vec<(usize, f64, f64)> = Vec::new();
    for (column, amount) in simplex.basic_amounts() {
        if amount < 1e-6 { continue; }
        if column < rhs.len() { return None; }
        let at = of_column[column - rhs.len()];
        let ratio = amount / entries[at].2 as f64;
        value += ratio;
        uses.push((at, amount, ratio + random.below(1000) as f64 * 1e-4));
    }
    uses.sort_by(|a, b| b.2.total_cmp(&a.2).then_with(|| a.0.cmp(&b.0)));
    entries.iter_mut().for_each(|of| of.3 = false);
    uses.iter().for_each(|of| entries[of.0].3 = true);
    Some(Relaxed { value: value / (1.0 + WHIM), uses: uses.into_iter().map(|u| (u.0, u.1)).collect() })
}
