//! A few patterns made anew: given pieces cut from so many strips of a given number of different patterns.
//!
//! How often each pattern is cut is chosen first: every size's pieces must then be a sum of such numbers, which rules out
//! most lists at once. For the rest a search over the sizes decides; sets of lengths that what is left can still fill cut
//! it short.

use super::{Count, Pattern, Patterns};
use crate::search::Random;

/// Cells of a set of lengths at most; longer strips are counted in coarser steps.
const CELLS: i64 = 4096;
/// Lists of numbers of strips at most, for one question.
const LISTS: usize = 3000;
/// Choices for all sizes at most.
const CHOICES: usize = 400;

/// What a pattern may be.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Rules {
    /// Longest that a pattern's pieces may be together.
    pub capacity: i64,
    /// Shortest.
    pub least: i64,
    /// Most pieces of a pattern.
    pub pieces: Count,
    /// Most different sizes of a pattern.
    pub kinds: Count,
    /// Fewest strips of a pattern.
    pub times: Count,
}

impl Rules {
    /// Whether so many strips of a pattern are allowed.
    pub(super) fn allow(&self, sizes: &[i64], pattern: &[(usize, Count)], times: Count) -> bool {
        let length: i128 =
            pattern.iter().map(|&(item, count)| i128::from(sizes[item]) * i128::from(count)).sum();
        let pieces: i128 = pattern.iter().map(|of| i128::from(of.1)).sum();
        let kinds = Count::try_from(pattern.len()).unwrap_or(Count::MAX);
        pattern.iter().all(|of| of.1 >= 1)
            && (i128::from(self.least.max(1))..=i128::from(self.capacity)).contains(&length)
            && pieces <= i128::from(self.pieces)
            && kinds <= self.kinds
            && times >= self.times.max(1)
    }
}

/// Answers questions; keeps its tables between them.
pub(super) struct Anew<'a> {
    pub(super) rules: &'a Rules,
    pub(super) sizes: &'a [i64],
    /// Greatest common step of lengths, or a coarser one.
    grain: i64,
    /// Whether every length is a number of steps.
    exact: bool,
    /// Choices of all sizes one after the other: places of each pattern.
    choices: Vec<Count>,
    /// Each size's pieces, and where its choices begin and how many they are.
    rows: Vec<Row>,
    /// Sets of lengths: by row from the last, then by pattern.
    sets: Vec<u64>,
    words: usize,
    /// Steps done.
    pub(super) work: u64,
}

#[derive(Clone, Copy)]
struct Row {
    item: usize,
    first: usize,
    count: usize,
    /// The choice taken.
    taken: usize,
}

/// What a pattern holds so far.
#[derive(Clone, Copy, Default)]
struct Filled {
    length: i64,
    pieces: Count,
    kinds: Count,
}

impl Filled {
    /// Adds pieces of a size, or with a sign of -1 takes them away.
    fn add(&mut self, size: i64, count: Count, sign: i64) {
        self.length += sign * count * size;
        self.pieces += sign * count;
        self.kinds += sign * Count::from(count > 0);
    }
}

/// Pieces of some patterns: what has to lie in the new ones.
#[derive(PartialEq, Eq)]
pub(super) struct Contents {
    /// (item, pieces), by item.
    pub(super) pieces: Vec<(usize, Count)>,
    pub(super) strips: Count,
}

impl Contents {
    pub(super) fn of(patterns: &Patterns, apart: &[usize]) -> Self {
        let mut pieces: Vec<(usize, Count)> = Vec::new();
        let mut strips = 0;
        for &at in apart {
            let (pattern, times) = &patterns[at];
            strips += times;
            pieces.extend(pattern.iter().map(|&(item, count)| (item, count * times)));
        }
        pieces.sort_unstable();
        pieces.dedup_by(|later, earlier| {
            let same = later.0 == earlier.0;
            if same {
                earlier.1 += later.1;
            }
            same
        });
        Self { pieces, strips }
    }

    pub(super) fn length(&self, sizes: &[i64]) -> i64 {
        self.pieces.iter().map(|&(item, count)| sizes[item] * count).sum()
    }
}

impl<'a> Anew<'a> {
    pub(super) fn new(rules: &'a Rules, sizes: &'a [i64]) -> Self {
        let step = sizes.iter().copied().fold(rules.capacity, common);
        let grain = step.max(rules.capacity / CELLS + 1);
        let words = usize::try_from(rules.capacity / grain / 64 + 1).unwrap_or(1);
        let (choices, rows, sets) = (Vec::new(), Vec::new(), Vec::new());
        Self { rules, sizes, grain, exact: grain == step, choices, rows, sets, words, work: 0 }
    }

    /// So many patterns of these contents, other than `known`; the search of one list of numbers ends after `nodes`.
    pub(super) fn patterns(
        &mut self,
        contents: &Contents,
        parts: usize,
        nodes: u64,
        known: &[(Pattern, Count)],
        random: &mut Random,
    ) -> Option<Patterns> {
        let length = contents.length(self.sizes);
        let spare = contents.strips * self.rules.capacity - length;
        if spare < 0 || contents.strips * self.rules.least > length {
            return None;
        }
        let mut order: Vec<(usize, Count)> = contents.pieces.clone();
        order.sort_by_key(|of| (std::cmp::Reverse(self.sizes[of.0]), of.0));
        let mut lists: Vec<Vec<Count>> = Vec::new();
        self.lists(contents.strips, parts, contents.strips, &order, &mut Vec::new(), &mut lists);
        let from = if lists.is_empty() { 0 } else { random.below(lists.len()) };
        for at in 0..lists.len() {
            let list = &lists[(from + at) % lists.len()];
            if let Some(found) = self.with(list, &order, spare, nodes, random)
                && found != known
            {
                return Some(found);
            }
        }
        None
    }

    /// Lists of so many falling numbers of strips whose sums yield the pieces of every size.
    fn lists(
        &mut self,
        sum: Count,
        parts: usize,
        most: Count,
        order: &[(usize, Count)],
        list: &mut Vec<Count>,
        found: &mut Vec<Vec<Count>>,
    ) {
        if parts == 1 {
            if sum <= most && sum >= self.rules.times {
                list.push(sum);
                self.work += 20;
                if order
                    .iter()
                    .all(|&(item, count)| sums(list, count, self.rules.capacity / self.sizes[item]))
                {
                    found.push(list.clone());
                }
                let _ = list.pop();
            }
            return;
        }
        let rest = Count::try_from(parts).unwrap_or(1) - 1;
        let high = most.min(sum - rest * self.rules.times);
        for times in (self.rules.times..=high).rev() {
            if times * (rest + 1) < sum || found.len() >= LISTS {
                break;
            }
            list.push(times);
            self.lists(sum - times, parts - 1, times, order, list, found);
            let _ = list.pop();
        }
    }

    /// Patterns cut so often.
    fn with(
        &mut self,
        list: &[Count],
        order: &[(usize, Count)],
        spare: i64,
        mut nodes: u64,
        random: &mut Random,
    ) -> Option<Patterns> {
        self.choices.clear();
        self.rows.clear();
        let parts = list.len();
        for &(item, count) in order {
            let first = self.choices.len();
            let most = (self.rules.capacity / self.sizes[item]).min(self.rules.pieces);
            choices(list, count, most, &mut vec![0; parts], 0, &mut self.choices);
            let count = (self.choices.len() - first) / parts;
            if count == 0 || self.choices.len() > CHOICES * parts {
                return None;
            }
            self.rows.push(Row { item, first, count, taken: random.below(count) });
        }
        self.rows.sort_by_key(|row| row.count);
        let shortest: Vec<i64> = list
            .iter()
            .map(|times| (self.rules.capacity - spare / times).max(self.rules.least).max(1))
            .collect();
        self.fill_sets(parts);
        self.work += (4 * self.rows.len() * parts * self.words) as u64;
        let mut filled = vec![Filled::default(); parts];
        if !self.may(0, &filled, &shortest) || !self.search(0, &mut filled, &shortest, &mut nodes) {
            return None;
        }
        let mut patterns: Patterns = list.iter().map(|&times| (Pattern::new(), times)).collect();
        for row in &self.rows {
            let taken = &self.choices[row.first + row.taken * parts..][..parts];
            for (pattern, &count) in patterns.iter_mut().zip(taken).filter(|(_, count)| **count > 0) {
                pattern.0.push((row.item, count));
            }
        }
        patterns.iter_mut().for_each(|of| of.0.sort_unstable());
        patterns.sort_unstable();
        Some(patterns)
    }

    /// Which lengths the rows from each on can add to a pattern.
    fn fill_sets(&mut self, parts: usize) {
        let words = self.words;
        self.sets.clear();
        self.sets.resize((self.rows.len() + 1) * parts * words, 0);
        for part in 0..parts {
            self.sets[(self.rows.len() * parts + part) * words] = 1;
        }
        for at in (0..self.rows.len()).rev() {
            let row = self.rows[at];
            let step = self.sizes[row.item] / self.grain;
            for part in 0..parts {
                let (before, after) = self.sets.split_at_mut((at + 1) * parts * words);
                let from = &after[part * words..(part + 1) * words];
                let to = &mut before[(at * parts + part) * words..][..words];
                let mut seen = 0_u64;
                for choice in 0..row.count {
                    let count = self.choices[row.first + choice * parts + part];
                    let mark = 1 << count.min(63);
                    if seen & mark == 0 {
                        seen |= mark;
                        add_moved(to, from, usize::try_from(count * step).unwrap_or(usize::MAX));
                    }
                }
            }
        }
    }

    /// Whether rows from `at` on can bring every pattern to a length that is allowed.
    fn may(&self, at: usize, filled: &[Filled], shortest: &[i64]) -> bool {
        let parts = filled.len();
        filled.iter().zip(shortest).enumerate().all(|(part, (filled, shortest))| {
            let room = self.rules.capacity - filled.length;
            let set = &self.sets[(at * parts + part) * self.words..][..self.words];
            // Coarse steps are rounded down, one piece at a time.
            let slack = if self.exact { 0 } else { self.rules.pieces.min(self.rules.capacity) };
            let low = (shortest - filled.length + self.grain - 1).div_euclid(self.grain) - slack;
            room >= 0 && any(set, low.max(0), room / self.grain)
        })
    }

    fn search(&mut self, at: usize, filled: &mut [Filled], shortest: &[i64], nodes: &mut u64) -> bool {
        let Some(&row) = self.rows.get(at) else {
            return filled
                .iter()
                .zip(shortest)
                .all(|(filled, least)| filled.length >= *least && filled.length <= self.rules.capacity);
        };
        let parts = filled.len();
        let size = self.sizes[row.item];
        for turn in 0..row.count {
            if *nodes == 0 {
                return false;
            }
            *nodes -= 1;
            self.work += 20 * parts as u64;
            let choice = (row.taken + turn) % row.count;
            let counts = row.first + choice * parts;
            let counts = counts..counts + parts;
            filled
                .iter_mut()
                .zip(&self.choices[counts.clone()])
                .for_each(|(of, &count)| of.add(size, count, 1));
            let fits = filled.iter().all(|of| of.pieces <= self.rules.pieces && of.kinds <= self.rules.kinds);
            if fits && self.may(at + 1, filled, shortest) && self.search(at + 1, filled, shortest, nodes) {
                self.rows[at].taken = choice;
                return true;
            }
            filled.iter_mut().zip(&self.choices[counts]).for_each(|(of, &count)| of.add(size, count, -1));
        }
        false
    }
}

/// Greatest common divisor.
fn common(one: i64, other: i64) -> i64 {
    if other == 0 { one } else { common(other, one % other) }
}

/// Whether a number is a sum of these, each at most so often.
fn sums(list: &[Count], count: Count, most: Count) -> bool {
    match list {
        [] => count == 0,
        [last] => count % last == 0 && count / last <= most,
        [first, rest @ ..] => (0..=most.min(count / first)).any(|n| sums(rest, count - n * first, most)),
    }
}

/// All ways to write a number as a sum of these, each at most so often.
fn choices(list: &[Count], left: Count, most: Count, at: &mut [Count], part: usize, all: &mut Vec<Count>) {
    if part + 1 == list.len() {
        if left % list[part] == 0 && left / list[part] <= most {
            at[part] = left / list[part];
            all.extend_from_slice(at);
        }
        return;
    }
    for n in 0..=most.min(left / list[part]) {
        at[part] = n;
        choices(list, left - n * list[part], most, at, part + 1, all);
    }
}

/// Adds a set moved up by `by`.
fn add_moved(to: &mut [u64], from: &[u64], by: usize) {
    let (words, bits) = (by / 64, by % 64);
    for at in words..to.len() {
        to[at] |= from[at - words] << bits;
        if bits > 0 && at > words {
            to[at] |= from[at - words - 1] >> (64 - bits);
        }
    }
}

/// Whether a set has something from `low` to `high`.
fn any(set: &[u64], low: i64, high: i64) -> bool {
    let (Ok(low), Ok(high)) = (usize::try_from(low), usize::try_from(high)) else { return false };
    let high = high.min(set.len() * 64 - 1);
    if low > high {
        return false;
    }
    (low / 64..=high / 64).any(|word| {
        let from = if word == low / 64 { u64::MAX << (low % 64) } else { u64::MAX };
        let to = if word == high / 64 { u64::MAX >> (63 - high % 64) } else { u64::MAX };
        set[word] & from & to != 0
    })
}
