//! The linear relaxation over patterns by column generation (Gilmore and Gomory, Operations Research 9 (1961)), and the
//! bound that its prices prove: with prices rounded to integers and no pattern worth more than V, the strips are at
//! least the worth of all that is wanted divided by V (Farley, Operations Research 38 (1990)).

use std::collections::BTreeSet;

use super::knapsack::Table;
use super::simplex::{Column, Simplex};
use super::{Count, Pattern};
use crate::listen::Stop;

/// Prices are rounded down to multiples of one part of this.
pub(super) const SCALE: i64 = 1 << 32;
/// Patterns added in one round at most.
const FRESH: usize = 12;
/// Nodes of one search for the best pattern.
const NODES: u64 = 400_000;
/// Best prices in a mean.
const MEAN_OF: u64 = 6;
/// Rounds of column generation.
const ROUNDS: usize = 5000;

/// What the relaxation says.
#[derive(Clone, Debug, Default)]
pub(super) struct Relaxed {
    /// Strips, as a fraction (floating point).
    pub(super) value: f64,
    /// Strips at least: exact.
    pub(super) bound: i64,
    /// Price of each item, in parts of `SCALE`, of the round with the best bound.
    pub(super) prices: Vec<i64>,
    /// No pattern is worth more than this at those prices.
    pub(super) most: i64,
    /// Patterns used and how often.
    pub(super) uses: Vec<(Pattern, f64)>,
    /// Whether the prices settled.
    pub(super) settled: bool,
}

/// When the column generation may end.
#[derive(Clone, Copy)]
pub(super) struct Until<'a> {
    /// More strips than this are of no interest.
    pub(super) goal: i64,
    /// Go on until the prices settle, even where the bound is settled.
    pub(super) settled: bool,
    /// Decides between prices that are equally good.
    pub(super) seed: u64,
    /// Asked between rounds.
    pub(super) stop: Stop<'a>,
}

/// Patterns of one order, and what is needed to find more.
#[derive(Clone, Debug)]
pub(super) struct Generator {
    capacity: i64,
    sizes: Vec<i64>,
    pool: Vec<Pattern>,
    known: BTreeSet<Pattern>,
    /// Items that must not lie with each item.
    apart: Vec<Vec<usize>>,
    table: Table,
}

impl Generator {
    /// For lengths of a strip, descending.
    pub(super) fn new(capacity: i64, sizes: &[i64]) -> Self {
        Self {
            capacity,
            sizes: sizes.to_vec(),
            pool: Vec::new(),
            known: BTreeSet::new(),
            apart: vec![Vec::new(); sizes.len()],
            table: Table::default(),
        }
    }

    /// Keeps pairs of items out of one pattern.
    pub(super) fn keep_apart(&mut self, pairs: &[(usize, usize)]) {
        for &(a, b) in pairs {
            self.apart[a].push(b);
            self.apart[b].push(a);
        }
    }

    /// Patterns of the pool nearest to a strip's worth.
    pub(super) fn near(&self, relaxed: &Relaxed, most: usize) -> Vec<Pattern> {
        let worth = |pattern: &Pattern| -> i64 {
            pattern.iter().map(|&(item, count)| relaxed.prices[item] * count).sum()
        };
        let mut near: Vec<(i64, &Pattern)> =
            self.pool.iter().map(|pattern| (-worth(pattern), pattern)).collect();
        near.sort();
        near.into_iter().take(most).map(|of| of.1.clone()).collect()
    }

    /// Takes a pattern into the pool.
    pub(super) fn learn(&mut self, pattern: &Pattern) -> bool {
        let fresh = self.known.insert(pattern.clone());
        if fresh {
            self.pool.push(pattern.clone());
        }
        fresh
    }

    /// Solves the relaxation for what is wanted. `None` where the simplex fails or it was stopped before any bound.
    pub(super) fn relax(&mut self, wanted: &[Count], until: Until<'_>) -> Option<Relaxed> {
        let mut master = Master::new(wanted, until.seed);
        let fits = |pattern: &&Pattern| pattern.iter().all(|&(item, count)| count <= wanted[item]);
        for pattern in self.pool.iter().filter(fits) {
            master.add(pattern.clone());
        }
        let mut best = Relaxed::default();
        for _ in 0..ROUNDS {
            if !master.simplex.optimise() {
                return None;
            }
            let prices = master.prices(wanted.len());
            let (fresh, most) = self.fresh(wanted, &prices);
            let worth: i64 = prices.iter().zip(wanted).map(|(price, count)| price * count).sum();
            let bound = divided_up(worth, most);
            let better =
                i128::from(worth) * i128::from(best.most) > i128::from(best.worth(wanted)) * i128::from(most);
            if best.prices.is_empty() || better {
                (best.bound, best.prices, best.most) = (bound, prices, most);
            }
            best.value = master.simplex.value();
            best.settled = fresh.is_empty();
            #[allow(clippy::cast_possible_truncation, reason = "strips are few")]
            let met = best.bound >= (best.value - 1e-6).ceil() as i64;
            if best.settled || best.bound > until.goal || met && !until.settled || (until.stop)() {
                break;
            }
            for pattern in fresh {
                self.learn(&pattern);
                master.add(pattern);
            }
        }
        best.uses = master.uses();
        Some(best)
    }

    /// The mean of several best prices: a pattern that any of them leaves slack in has slack.
    pub(super) fn mean_prices(&mut self, wanted: &[Count], first: &Relaxed, until: Until<'_>) -> Vec<i64> {
        let mut sum = first.prices.clone();
        let mut taken = 1;
        for seed in 1..MEAN_OF {
            let Some(other) = self.relax(wanted, Until { seed: until.seed + seed, ..until }) else { break };
            sum.iter_mut().zip(&other.prices).for_each(|(sum, price)| *sum += price);
            taken += 1;
        }
        sum.iter().map(|price| price / taken).collect()
    }

    /// Patterns worth more than a strip, of different items, and the most that any pattern may be worth.
    fn fresh(&mut self, wanted: &[Count], prices: &[i64]) -> (Vec<Pattern>, i64) {
        let least = SCALE + SCALE / 1_000_000_000 + 1;
        let mut left = wanted.to_vec();
        let mut found = Vec::new();
        let mut most = None;
        while found.len() < FRESH {
            self.table.fill(self.capacity, &self.sizes, &left, prices);
            let (best, bound) = self.table.best(least, NODES, &self.apart);
            most.get_or_insert(bound.max(SCALE));
            let Some((_, pattern)) = best else { break };
            pattern.iter().for_each(|&(item, count)| left[item] -= count);
            found.push(pattern);
        }
        (found, most.unwrap_or(SCALE))
    }
}

impl Relaxed {
    fn worth(&self, wanted: &[Count]) -> i64 {
        self.prices.iter().zip(wanted).map(|(price, count)| price * count).sum()
    }
}

/// `a / b`, rounded up, for positive `b`.
pub(super) fn divided_up(a: i64, b: i64) -> i64 {
    -(-a).div_euclid(b.max(1))
}

/// The master program over the items wanted.
struct Master {
    simplex: Simplex,
    /// Row of each item.
    row: Vec<Option<usize>>,
    /// Column of the simplex where the patterns begin.
    begin: usize,
    patterns: Vec<Pattern>,
}

impl Master {
    #[allow(clippy::cast_precision_loss, reason = "counts are far below 2^53")]
    fn new(wanted: &[Count], seed: u64) -> Self {
        let live: Vec<usize> = (0..wanted.len()).filter(|&item| wanted[item] > 0).collect();
        let mut row = vec![None; wanted.len()];
        live.iter().enumerate().for_each(|(at, &item)| row[item] = Some(at));
        let rhs: Vec<f64> = live.iter().map(|&item| wanted[item] as f64).collect();
        let mut simplex = Simplex::new(&rhs, &vec![1.0; live.len()], seed);
        for at in 0..live.len() {
            simplex.add(Column { cost: 0.0, entries: vec![(at, -1.0)] });
        }
        let patterns = live.iter().map(|&item| vec![(item, 1)]).collect();
        Self { begin: simplex.len(), simplex, row, patterns }
    }

    #[allow(clippy::cast_precision_loss, reason = "counts are far below 2^53")]
    fn add(&mut self, pattern: Pattern) {
        let entries = pattern.iter().filter_map(|&(item, count)| Some((self.row[item]?, count as f64)));
        self.simplex.add(Column { cost: 1.0, entries: entries.collect() });
        self.patterns.push(pattern);
    }

    /// Prices in parts of `SCALE`, by item.
    fn prices(&self, items: usize) -> Vec<i64> {
        #[allow(
            clippy::cast_possible_truncation,
            clippy::cast_precision_loss,
            reason = "a price is at most 1"
        )]
        let whole = |price: f64| (price.clamp(0.0, 2.0) * SCALE as f64).floor() as i64;
        (0..items).map(|item| self.row[item].map_or(0, |row| whole(self.simplex.prices()[row]))).collect()
    }

    fn uses(&self) -> Vec<(Pattern, f64)> {
        let rows = self.begin / 2;
        let pattern = |column: usize| match column {
            single if single < rows => Some(&self.patterns[single]),
            slack if slack < self.begin => None,
            later => Some(&self.patterns[later - self.begin + rows]),
        };
        let amounts = self.simplex.basic_amounts().into_iter();
        let used = amounts.filter(|&(_, amount)| amount > 1e-6);
        let mut uses: Vec<(Pattern, f64)> =
            used.filter_map(|(column, amount)| Some((pattern(column)?.clone(), amount))).collect();
        uses.sort_by(|a, b| a.0.cmp(&b.0));
        uses
    }
}
