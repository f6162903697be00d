//! Whether so few strips do, exactly: all patterns that could stand in such a plan are listed, as their worth at the
//! prices of the relaxation cannot lack more than the plan as a whole may (for routes: Baldacci, Christofides and
//! Mingozzi, Mathematical Programming 115 (2008)). Over the list a branch and bound with cuts finds a plan or shows that
//! there is none. It branches on how many strips carry a pair of lengths, or more (Ryan and Foster, in Computer
//! Scheduling of Public Transport (1981); Vanderbeck, Mathematical Programming 86 (1999)), on the pair that settles
//! most when tried (Applegate, Bixby, Chvatal and Cook 1995, strong branching; from memory).

use std::collections::{BTreeMap, VecDeque};

use super::cuts::{self, Cut};
use super::knapsack::{Listing, Table};
use super::listed::{Branch, Part, Point, Rows, carries};
use super::relax::SCALE;
use super::{Count, Pattern, Patterns};
use crate::listen::Stop;

/// Patterns listed at most.
const MOST_LISTED: usize = 20_000;
/// Nodes of the search that lists them.
const LISTING_NODES: u64 = 5_000_000;
/// Rounds of cuts at the root and below.
const ROOT_ROUNDS: usize = 60;
const ROUNDS: usize = 2;
/// Cuts added in one round.
const FRESH_CUTS: usize = 40;
/// Pairs tried before a branch.
const TRIED: usize = 8;
/// Pairs remembered that closed a node; they come first elsewhere, as the same reason often closes the next one too.
const REMEMBERED: usize = 8;

/// What is known of a goal.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Verdict {
    /// A plan.
    Found(Patterns),
    /// There is none: exact.
    None,
    /// Too much work.
    Open,
}

/// All patterns that may stand in a plan of `goal` strips; `None` where there are too many.
pub(super) fn listed(
    capacity: i64,
    sizes: &[i64],
    wanted: &[Count],
    prices: &[i64],
    goal: Count,
) -> Option<Vec<Pattern>> {
    // A length without a price would be in no pattern.
    let prices: Vec<i64> = prices.iter().map(|&price| price.max(1)).collect();
    let worth: i64 = prices.iter().zip(wanted).map(|(price, count)| price * count).sum();
    let mut table = Table::default();
    table.fill(capacity, sizes, wanted, &prices);
    let (_, most) = table.best(SCALE, LISTING_NODES, &[]);
    let mut list = Vec::new();
    let listing = Listing { least: most - (goal * most - worth), nodes: LISTING_NODES };
    let complete = table.list(listing, &[], &mut |_, pattern| {
        list.push(pattern.clone());
        if list.len() > MOST_LISTED { i64::MAX } else { listing.least }
    });
    (complete && list.len() <= MOST_LISTED).then_some(list)
}

/// A search over a list.
pub(super) struct Search<'a> {
    wanted: &'a [Count],
    list: &'a [Pattern],
    goal: Count,
    /// Linear programs at most.
    programs: u64,
    stop: Stop<'a>,
    closers: VecDeque<Pattern>,
}

#[derive(Clone)]
struct Node {
    places: Vec<u32>,
    branches: Vec<Branch>,
    cuts: Vec<Cut>,
    /// Columns to begin with.
    start: Vec<u32>,
}

enum Outcome {
    Found(Patterns),
    Closed,
    Failed,
    Split(Vec<Node>),
}

impl<'a> Search<'a> {
    /// For a plan of `goal` strips, with so many linear programs at most.
    pub(super) fn new(
        wanted: &'a [Count],
        list: &'a [Pattern],
        goal: Count,
        programs: u64,
        stop: Stop<'a>,
    ) -> Self {
        Self { wanted, list, goal, programs, stop, closers: VecDeque::new() }
    }

    /// Searches to the end or until the work is done.
    pub(super) fn run(&mut self) -> Verdict {
        let places = (0..self.list.len()).filter_map(|at| u32::try_from(at).ok()).collect();
        let mut open = vec![Node { places, branches: Vec::new(), cuts: Vec::new(), start: Vec::new() }];
        while let Some(node) = open.pop() {
            match self.visit(node) {
                Outcome::Found(patterns) => return Verdict::Found(patterns),
                Outcome::Closed => {}
                Outcome::Failed => return Verdict::Open,
                Outcome::Split(children) => open.extend(children),
            }
        }
        Verdict::None
    }

    fn visit(&mut self, mut node: Node) -> Outcome {
        let mut rounds = if node.branches.is_empty() { ROOT_ROUNDS } else { ROUNDS };
        loop {
            let Some((point, closed)) = self.relax(&mut node) else { return Outcome::Failed };
            if closed {
                return Outcome::Closed;
            }
            if let Some(patterns) = self.whole(&point) {
                return Outcome::Found(patterns);
            }
            let fresh = if rounds > 0 { self.fresh_cuts(&node, &point) } else { Vec::new() };
            if fresh.is_empty() {
                return self.split(&node, &point);
            }
            node.cuts.extend(fresh);
            rounds -= 1;
        }
    }

    /// Solves a node, leaves in it only the patterns that still matter, and says whether it is closed.
    fn relax(&mut self, node: &mut Node) -> Option<(Point, bool)> {
        self.programs = self.programs.checked_sub(1)?;
        let mut rows = Rows::new(self.wanted, &node.cuts, &node.branches);
        let part = Part { list: self.list, places: &node.places };
        let point = rows.solve(part, &node.start, self.stop)?;
        let proof = rows.proof(part, &point);
        if proof.room(self.goal) < 0 {
            return Some((point, true));
        }
        let places = rows.within(part, &proof, self.goal);
        node.places = places;
        let used = point.uses.iter().map(|of| of.0);
        node.start = used.filter(|at| node.places.binary_search(at).is_ok()).collect();
        Some((point, false))
    }

    fn fresh_cuts(&self, node: &Node, point: &Point) -> Vec<Cut> {
        let uses: Vec<(&Pattern, f64)> =
            point.uses.iter().map(|&(place, amount)| (&self.list[place as usize], amount)).collect();
        let mut fresh = cuts::violated(self.wanted, &uses, FRESH_CUTS);
        fresh.retain(|cut| !node.cuts.contains(cut));
        fresh
    }

    /// The point as a plan, if it is whole.
    #[allow(clippy::cast_possible_truncation, reason = "amounts are small")]
    fn whole(&self, point: &Point) -> Option<Patterns> {
        if point.missing > 1e-6 || point.uses.iter().any(|of| (of.1 - of.1.round()).abs() > 1e-6) {
            return None;
        }
        let plan = point
            .uses
            .iter()
            .map(|&(place, amount)| (self.list[place as usize].clone(), amount.round() as Count));
        Some(plan.filter(|of| of.1 > 0).collect())
    }

    /// Two nodes, or one where the other is closed at once; the one that asks for more is visited first.
    fn split(&mut self, node: &Node, point: &Point) -> Outcome {
        let mut best: Option<(f64, Vec<Node>)> = None;
        for (part, sum) in self.parts(point) {
            let mut score = 1.0;
            let mut children = Vec::new();
            for at_least in [false, true] {
                let mut child = self.child(node, &part, sum, at_least);
                let Some((tried, closed)) = self.relax(&mut child) else { return Outcome::Failed };
                let rise = if closed { 1.0 } else { (tried.value - point.value).clamp(0.0, 1.0) };
                score *= rise + 1e-4;
                if !closed {
                    children.push(child);
                }
            }
            if children.is_empty() {
                self.closers.retain(|known| *known != part);
                self.closers.push_front(part);
                self.closers.truncate(REMEMBERED);
                return Outcome::Closed;
            }
            if best.as_ref().is_none_or(|best| score > best.0) {
                best = Some((score, children));
            }
        }
        best.map_or(Outcome::Failed, |best| Outcome::Split(best.1))
    }

    #[allow(clippy::cast_possible_truncation, reason = "sums are small")]
    fn child(&self, node: &Node, part: &Pattern, sum: f64, at_least: bool) -> Node {
        let below = sum.floor() as Count;
        let branch = Branch { part: part.clone(), at_least, strips: below + Count::from(at_least) };
        let mut child = node.clone();
        child.places.retain(|&place| self.agrees(&self.list[place as usize], &branch));
        child.start.retain(|&place| self.agrees(&self.list[place as usize], &branch));
        child.branches.push(branch);
        child
    }

    /// Whether a pattern can stand in a plan that keeps to a branch.
    fn agrees(&self, pattern: &Pattern, branch: &Branch) -> bool {
        let carried = carries(pattern, &branch.part);
        if !branch.at_least {
            return branch.strips > 0 || !carried;
        }
        // Where the strips asked for take up an item, it is nowhere else, and not more of it on any of them.
        let taken_up = branch.part.iter().filter(|of| self.wanted[of.0] == branch.strips * of.1);
        taken_up.into_iter().all(|&(item, count)| {
            pattern.iter().find(|of| of.0 == item).is_none_or(|of| carried && of.1 == count)
        })
    }

    /// What to branch on, and on how many strips it lies: pairs that closed a node before, pairs nearest to a half, else
    /// a whole pattern.
    fn parts(&self, point: &Point) -> Vec<(Pattern, f64)> {
        let mut pairs: BTreeMap<Pattern, f64> = BTreeMap::new();
        for &(place, amount) in &point.uses {
            let pattern = &self.list[place as usize];
            for (at, &(a, count)) in pattern.iter().enumerate() {
                if count > 1 {
                    *pairs.entry(vec![(a, 2)]).or_insert(0.0) += amount;
                }
                for &(b, _) in &pattern[at + 1..] {
                    *pairs.entry(vec![(a, 1), (b, 1)]).or_insert(0.0) += amount;
                }
            }
        }
        pairs.retain(|_, sum| off_half(*sum) < OPEN);
        if pairs.is_empty() {
            return self.open_pattern(point).into_iter().collect();
        }
        let known = self.closers.iter().filter_map(|part| pairs.remove_entry(part));
        let mut parts: Vec<(Pattern, f64)> = known.collect();
        let mut others: Vec<(Pattern, f64)> = pairs.into_iter().collect();
        others.sort_by(|a, b| off_half(a.1).total_cmp(&off_half(b.1)).then_with(|| a.0.cmp(&b.0)));
        parts.extend(others.into_iter().take(TRIED));
        parts
    }

    /// A pattern that lies on no whole number of strips, itself or within others.
    fn open_pattern(&self, point: &Point) -> Option<(Pattern, f64)> {
        let carrying = |part: &Pattern| -> f64 {
            let carry = point.uses.iter().filter(|of| carries(&self.list[of.0 as usize], part));
            carry.map(|of| of.1).sum()
        };
        let patterns = point.uses.iter().map(|of| &self.list[of.0 as usize]);
        patterns.map(|part| (part.clone(), carrying(part))).find(|of| off_half(of.1) < OPEN)
    }
}

/// Distance of a number's fraction from a half below which it is not whole.
const OPEN: f64 = 0.5 - 1e-5;

fn off_half(sum: f64) -> f64 {
    (sum - sum.floor() - 0.5).abs()
}
