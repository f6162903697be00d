//! Rank-one cuts: rows of the pieces times fractions, added up, entries and right-hand side rounded up (Chvatal, Discrete
//! Mathematics 4 (1973); halves of three rows: Jepsen, Petersen, Spoorendonk and Pisinger, Operations Research 56 (2008);
//! both from memory). They hold for strips that carry more than is wanted as well.

use std::collections::BTreeSet;

use super::relax::float;
use super::{Count, Pattern};
use crate::search::Random;

/// The sum over the strips of a fraction of their pieces, rounded up, is at least `least`.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Cut {
    /// Times of every piece.
    times: Vec<Count>,
    over: Count,
    pub(super) least: Count,
}

impl Cut {
    fn new(times: &[Count], over: Count, wanted: &[Count]) -> Self {
        let sum: Count = times.iter().zip(wanted).map(|(times, wanted)| times * wanted).sum();
        Self { times: times.to_vec(), over, least: divided_up(sum, over) }
    }

    /// Entry of a strip.
    pub(super) fn entry(&self, pattern: &Pattern) -> Count {
        let sum: Count = pattern.pieces.iter().map(|&(piece, count)| self.times[piece] * count).sum();
        divided_up(sum, self.over)
    }

    fn violation(&self, uses: &[(&Pattern, f64)]) -> f64 {
        float(self.least)
            - uses.iter().map(|(pattern, amount)| float(self.entry(pattern)) * amount).sum::<f64>()
    }

    /// Violation for the size of the cut: wide cuts are weak.
    fn depth(&self, violation: f64) -> f64 {
        let pieces = self.times.iter().filter(|&&times| times > 0).count();
        violation / (1.0 + float(i64::try_from(pieces).unwrap_or(0))).sqrt()
    }
}

/// Strips in use at a point of the relaxation.
struct Point<'a> {
    wanted: &'a [Count],
    uses: &'a [(&'a Pattern, f64)],
    /// (use, count) of every piece.
    of: Vec<Vec<(usize, Count)>>,
}

/// `a / b`, rounded up, of numbers that are not negative.
fn divided_up(a: Count, b: Count) -> Count {
    (a + b - 1) / b
}

/// Violation from which a cut is worth having.
const LEAST: f64 = 0.02;
/// Largest denominator.
const OVER: Count = 5;
/// Starts of the search for each denominator.
const STARTS: usize = 40;
/// Changes from a start at most.
const CHANGES: usize = 8;
/// Worth of one piece less in a cut.
const SMALLER: f64 = 0.002;
/// One piece of so many is in a start.
const RARE: usize = 4;

/// The most violated cuts at a point, at most so many.
pub(super) fn violated(
    wanted: &[Count],
    uses: &[(&Pattern, f64)],
    random: &mut Random,
    most: usize,
) -> Vec<Cut> {
    let halves = halves(wanted, uses);
    let mut of = vec![Vec::new(); wanted.len()];
    for (at, (pattern, _)) in uses.iter().enumerate() {
        pattern.pieces.iter().for_each(|&(piece, count)| of[piece].push((at, count)));
    }
    let point = Point { wanted, uses, of };
    let mut found: BTreeSet<Cut> = halves.iter().map(|of| of.1.clone()).collect();
    let starts: Vec<Cut> = halves.into_iter().take(STARTS).map(|of| of.1).collect();
    found.extend(starts.into_iter().map(|start| Draft::new(&point, start.times, 2).deepened()));
    for over in 3..=OVER {
        for _ in 0..STARTS {
            let mut any = || if random.below(RARE) == 0 { number(random, over) } else { 0 };
            let times: Vec<Count> = wanted.iter().map(|_| any()).collect();
            let _ = found.insert(Draft::new(&point, times, over).deepened());
        }
    }
    let mut found: Vec<(f64, Cut)> = found.into_iter().map(|cut| (cut.violation(uses), cut)).collect();
    found.retain(|of| of.0 > LEAST);
    found.iter_mut().for_each(|of| of.0 = of.1.depth(of.0));
    found.sort_by(|a, b| b.0.total_cmp(&a.0).then_with(|| a.1.cmp(&b.1)));
    found.truncate(most);
    found.into_iter().map(|of| of.1).collect()
}

/// A number from 1 to below `over`.
fn number(random: &mut Random, over: Count) -> Count {
    let below = usize::try_from(over - 1).unwrap_or(1);
    1 + Count::try_from(random.below(below)).unwrap_or(0)
}

/// Violated halves of one to three rows, the most violated first.
fn halves(wanted: &[Count], uses: &[(&Pattern, f64)]) -> Vec<(f64, Cut)> {
    let mut found = Vec::new();
    let mut times = vec![0; wanted.len()];
    let pieces = wanted.len();
    // One row three times, two rows, or three.
    let rows = (0..pieces).flat_map(|a| (a..pieces).flat_map(move |b| (b..pieces).map(move |c| [a, b, c])));
    for rows in rows.filter(|&[a, b, c]| b > a || c == a) {
        rows.iter().for_each(|&row| times[row] = 1);
        let cut = Cut::new(&times, 2, wanted);
        let violation = cut.violation(uses);
        if violation > LEAST {
            found.push((violation, cut));
        }
        rows.iter().for_each(|&row| times[row] = 0);
    }
    found.sort_by(|a, b| b.0.total_cmp(&a.0).then_with(|| a.1.cmp(&b.1)));
    found
}

/// A cut in the making at a point.
struct Draft<'a> {
    wanted: &'a [Count],
    uses: &'a [(&'a Pattern, f64)],
    /// (use, count) of every piece.
    of: &'a [Vec<(usize, Count)>],
    times: Vec<Count>,
    over: Count,
    /// Numerators of the right-hand side and of every use.
    sum: Count,
    sums: Vec<Count>,
}

impl<'a> Draft<'a> {
    fn new(point: &'a Point<'a>, times: Vec<Count>, over: Count) -> Self {
        let Point { wanted, uses, of } = point;
        let sum = times.iter().zip(*wanted).map(|(times, wanted)| times * wanted).sum();
        let of_use =
            |pattern: &Pattern| pattern.pieces.iter().map(|&(piece, count)| times[piece] * count).sum();
        let sums = uses.iter().map(|(pattern, _)| of_use(pattern)).collect();
        Self { wanted, uses, of, times, over, sum, sums }
    }

    /// How much more the cut is violated where a piece's factor changes by so much.
    fn gain(&self, piece: usize, by: Count) -> f64 {
        let more = |sum: Count, by: Count| divided_up(sum + by, self.over) - divided_up(sum, self.over);
        let entries = self.of[piece]
            .iter()
            .map(|&(at, count)| float(more(self.sums[at], by * count)) * self.uses[at].1);
        float(more(self.sum, by * self.wanted[piece])) - entries.sum::<f64>()
    }

    /// The change that makes most of the cut: gain, piece, by how much.
    fn best(&self) -> Option<(f64, usize, Count)> {
        let mut best: Option<(f64, (f64, usize, Count))> = None;
        for (piece, &times) in self.times.iter().enumerate() {
            for next in (0..self.over).filter(|&next| next != times) {
                let gain = self.gain(piece, next - times);
                let score = gain - SMALLER * float(next.signum() - times.signum());
                if best.is_none_or(|best| score > best.0) {
                    best = Some((score, (gain, piece, next - times)));
                }
            }
        }
        best.map(|of| of.1)
    }

    /// Changes one factor after the other as long as the cut is violated more.
    fn deepened(mut self) -> Cut {
        for _ in 0..CHANGES {
            let Some((_, piece, by)) = self.best().filter(|best| best.0 > 1e-6) else { break };
            self.times[piece] += by;
            self.sum += by * self.wanted[piece];
            self.of[piece].iter().for_each(|&(at, count)| self.sums[at] += by * count);
        }
        Cut::new(&self.times, self.over, self.wanted)
    }
}
