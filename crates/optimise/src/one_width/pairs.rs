//! Branch and price on pairs: every piece is on its own, two pieces that a branch puts together become one, and two that
//! it keeps apart are not let into one pattern (Ryan and Foster, in Computer Scheduling of Public Transport (1981);
//! Vance, Barnhart, Johnson and Nemhauser, Computational Optimization and Applications 3 (1994)). It needs no list of
//! patterns, so it serves where that would be too long.

use std::collections::BTreeMap;

use super::branch::Verdict;
use super::relax::{Generator, Until};
use super::{Count, Pattern, Patterns};
use crate::listen::Stop;

/// Pieces at most.
const MOST_PIECES: Count = 400;
/// Columns handed down to a child.
const HANDED: usize = 800;
/// Share of a pair that is best to branch on: it leans towards putting together, which settles more.
const IDEAL: f64 = 0.65;

/// The search.
pub(super) struct Pairs<'a> {
    pub(super) capacity: i64,
    pub(super) goal: Count,
    /// Linear programs at most.
    pub(super) programs: u64,
    pub(super) stop: Stop<'a>,
}

/// An order of single pieces.
#[derive(Clone, Default)]
struct Node {
    sizes: Vec<i64>,
    /// 1, or 0 for a piece that was put together with another.
    wanted: Vec<Count>,
    /// Items that a piece is made of.
    made_of: Vec<Vec<usize>>,
    apart: Vec<(usize, usize)>,
    pool: Vec<Pattern>,
}

impl Pairs<'_> {
    /// Searches to the end or until the work is done.
    pub(super) fn run(&self, sizes: &[i64], wanted: &[Count]) -> Verdict {
        if wanted.iter().sum::<Count>() > MOST_PIECES {
            return Verdict::Open;
        }
        let mut root = Node::default();
        for (item, (&size, &count)) in sizes.iter().zip(wanted).enumerate() {
            for _ in 0..count {
                root.push(size, vec![item]);
            }
        }
        let mut open = vec![root];
        for _ in 0..self.programs {
            let Some(node) = open.pop() else { return Verdict::None };
            let mut generator = Generator::new(self.capacity, &node.sizes);
            generator.keep_apart(&node.apart);
            node.pool.iter().for_each(|pattern| {
                generator.learn(pattern);
            });
            let until = Until { goal: self.goal, settled: false, seed: 1, stop: self.stop };
            let relaxed = generator.relax(&node.wanted, until);
            let Some(relaxed) = relaxed.filter(|_| !(self.stop)()) else { return Verdict::Open };
            if relaxed.bound > self.goal {
                continue;
            }
            let Some((a, b)) = pair(&relaxed.uses) else { return Verdict::Found(node.plan(&relaxed.uses)) };
            let handed = generator.near(&relaxed, HANDED);
            open.push(node.apart(a, b, &handed));
            open.push(node.together(a, b, &handed));
        }
        Verdict::Open
    }
}

fn has(pattern: &Pattern, piece: usize) -> bool {
    pattern.iter().any(|of| of.0 == piece)
}

impl Node {
    fn push(&mut self, size: i64, made_of: Vec<usize>) {
        self.sizes.push(size);
        self.wanted.push(1);
        self.made_of.push(made_of);
    }

    fn apart(&self, a: usize, b: usize, pool: &[Pattern]) -> Self {
        let mut child = Self { pool: Vec::new(), ..self.clone() };
        child.apart.push((a, b));
        child.pool = pool.iter().filter(|pattern| !(has(pattern, a) && has(pattern, b))).cloned().collect();
        child
    }

    fn together(&self, a: usize, b: usize, pool: &[Pattern]) -> Self {
        let mut child = Self { pool: Vec::new(), ..self.clone() };
        let both = child.sizes.len();
        child.push(self.sizes[a] + self.sizes[b], [&self.made_of[a][..], &self.made_of[b][..]].concat());
        (child.wanted[a], child.wanted[b]) = (0, 0);
        let moved = |piece: usize| if piece == a || piece == b { both } else { piece };
        child.apart.iter_mut().for_each(|pair| *pair = (moved(pair.0), moved(pair.1)));
        let kept = pool.iter().filter(|pattern| has(pattern, a) == has(pattern, b));
        let merged = kept.map(|pattern| {
            let mut pattern: Pattern = pattern.iter().map(|&(piece, count)| (moved(piece), count)).collect();
            pattern.sort_unstable();
            pattern.dedup();
            pattern
        });
        child.pool = merged.collect();
        child
    }

    /// Patterns of pieces as patterns of items.
    fn plan(&self, uses: &[(Pattern, f64)]) -> Patterns {
        let strip = |pattern: &Pattern| {
            let mut counts: BTreeMap<usize, Count> = BTreeMap::new();
            for &(piece, _) in pattern {
                self.made_of[piece].iter().for_each(|&item| *counts.entry(item).or_insert(0) += 1);
            }
            (counts.into_iter().collect(), 1)
        };
        uses.iter().map(|of| strip(&of.0)).collect()
    }
}

/// The pair to branch on; none where all are whole, and with them all patterns.
fn pair(uses: &[(Pattern, f64)]) -> Option<(usize, usize)> {
    let mut pairs: BTreeMap<(usize, usize), f64> = BTreeMap::new();
    for (pattern, amount) in uses {
        for (at, &(a, _)) in pattern.iter().enumerate() {
            pattern[at + 1..].iter().for_each(|&(b, _)| *pairs.entry((a, b)).or_insert(0.0) += amount);
        }
    }
    let open = pairs.into_iter().filter(|of| of.1 > 1e-5 && of.1 < 1.0 - 1e-5);
    open.min_by(|x, y| (x.1 - IDEAL).abs().total_cmp(&(y.1 - IDEAL).abs())).map(|of| of.0)
}
