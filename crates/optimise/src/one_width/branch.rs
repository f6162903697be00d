//! Whether so few strips do, exactly: all patterns that could stand in such a plan are listed, as their worth at the
//! prices of the relaxation cannot lack more than the plan as a whole may (Baldacci, Christofides and Mingozzi,
//! Mathematical Programming 115 (2008), for routes). Over the list a branch and bound with cuts finds a plan or shows
//! that there is none. It branches on how many strips carry a pair of lengths, or more (Ryan and Foster, in Computer
//! Scheduling of Public Transport (1981); Vanderbeck, Mathematical Programming 86 (1999)).

use std::collections::BTreeMap;

use super::cuts::{self, Cut};
use super::knapsack::{Listing, Table};
use super::listed::{Branch, Point, Rows, carries};
use super::relax::{Relaxed, SCALE};
use super::{Count, Pattern, Patterns, Stop};

/// Patterns listed at most.
const MOST_LISTED: usize = 400_000;
/// Nodes of the search that lists them.
const LISTING_NODES: u64 = 50_000_000;
/// Rounds of cuts at the root and below.
const ROOT_ROUNDS: usize = 60;
const ROUNDS: usize = 8;
/// Cuts added in one round.
const FRESH_CUTS: usize = 40;

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

/// All patterns that may stand in a plan of `goal` strips.
pub(super) fn listed(
    capacity: i64,
    sizes: &[i64],
    wanted: &[Count],
    relaxed: &Relaxed,
    goal: Count,
) -> Option<Vec<Pattern>> {
    let prices: Vec<i64> = relaxed.prices.iter().map(|&price| price.max(1)).collect();
    let worth: i64 = prices.iter().zip(wanted).map(|(price, count)| price * count).sum();
    let mut table = Table::default();
    table.fill(capacity, sizes, wanted, &prices);
    let (_, most) = table.best(SCALE, LISTING_NODES);
    let mut list = Vec::new();
    let listing = Listing { least: most - (goal * most - worth), nodes: LISTING_NODES };
    let complete = table.list(listing, &mut |_, pattern| {
        list.push(pattern.clone());
        if list.len() > MOST_LISTED { i64::MAX } else { listing.least }
    });
    (complete && list.len() <= MOST_LISTED).then_some(list)
}

/// A search over a list.
pub(super) struct Search<'a> {
    pub(super) wanted: &'a [Count],
    pub(super) list: &'a [Pattern],
    pub(super) goal: Count,
    /// Linear programs at most.
    pub(super) programs: u64,
    pub(super) stop: Stop<'a>,
}

struct Node {
    places: Vec<u32>,
    branches: Vec<Branch>,
    cuts: Vec<Cut>,
    start: Vec<u32>,
}

enum Outcome {
    Found(Patterns),
    Closed,
    Failed,
    Split(Vec<Node>),
}

impl Search<'_> {
    /// Searches to the end or until the work is done.
    pub(super) fn run(&mut self) -> Verdict {
        let places = (0..self.list.len()).filter_map(|at| u32::try_from(at).ok()).collect();
        let root = Node { places, branches: Vec::new(), cuts: Vec::new(), start: Vec::new() };
        let mut open = vec![root];
        while let Some(node) = open.pop() {
            if self.programs == 0 || (self.stop)() {
                return Verdict::Open;
            }
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
        let rounds = if node.branches.is_empty() { ROOT_ROUNDS } else { ROUNDS };
        let mut last = None;
        for round in 0..=rounds {
            self.programs = self.programs.saturating_sub(1);
            let rows = Rows::new(self.wanted, &node.cuts, &node.branches);
            let Some(point) = rows.solve(self.list, &node.places, &node.start, self.stop) else {
                return Outcome::Failed;
            };
            let proof = rows.proof(self.list, &node.places, &point);
            if std::env::var("DBG").is_ok() && (round % 5 == 0 || proof.room(self.goal) < 0) {
                eprintln!("  node depth {} round {round} list {} cuts {} value {} missing {} room {}", node.branches.len(), node.places.len(), node.cuts.len(), point.value, point.missing, proof.room(self.goal) as f64 / SCALE as f64);
            }
            if proof.room(self.goal) < 0 {
                return Outcome::Closed;
            }
            node.places = rows.within(self.list, &node.places, &proof, self.goal);
            node.start = point.uses.iter().map(|of| of.0).filter(|at| node.places.binary_search(at).is_ok()).collect();
            if let Some(patterns) = self.whole(&point) {
                return Outcome::Found(patterns);
            }
            let fresh = self.fresh_cuts(&node, &point);
            let done = round == rounds || fresh.is_empty();
            last = Some(point);
            if done {
                break;
            }
            node.cuts.extend(fresh);
        }
        last.map_or(Outcome::Failed, |point| self.split(node, &point))
    }

    fn fresh_cuts(&self, node: &Node, point: &Point) -> Vec<Cut> {
        let uses: Vec<(&Pattern, f64)> =
            point.uses.iter().map(|&(place, amount)| (&self.list[place as usize], amount)).collect();
        let mut fresh = cuts::violated(self.wanted, &uses, FRESH_CUTS, true);
        fresh.retain(|cut| !node.cuts.contains(cut));
        fresh
    }

    /// The point as a plan, if it is whole.
    #[allow(clippy::cast_possible_truncation, clippy::cast_precision_loss, reason = "amounts are small")]
    fn whole(&self, point: &Point) -> Option<Patterns> {
        if point.missing > 1e-6 || point.uses.iter().any(|of| (of.1 - of.1.round()).abs() > 1e-6) {
            return None;
        }
        let mut left = self.wanted.to_vec();
        let mut plan = Patterns::new();
        for &(place, amount) in &point.uses {
            for _ in 0..amount.round() as Count {
                let mut pattern = self.list[place as usize].clone();
                pattern.iter_mut().for_each(|of| of.1 = of.1.min(left[of.0]));
                pattern.retain(|of| of.1 > 0);
                pattern.iter().for_each(|&(item, count)| left[item] -= count);
                if !pattern.is_empty() {
                    plan.push((pattern, 1));
                }
            }
        }
        (left.iter().all(|&count| count == 0) && super::strips(&plan) <= self.goal).then_some(plan)
    }

    /// Two nodes, the one that asks for more to be visited first.
    fn split(&self, node: Node, point: &Point) -> Outcome {
        let Some((part, sum)) = self.part(point) else { return Outcome::Failed };
        #[allow(clippy::cast_possible_truncation, reason = "sums are small")]
        let below = sum.floor() as Count;
        if std::env::var("DBG").is_ok() {
            eprintln!("  split depth {} {part:?} {sum}", node.branches.len());
        }
        let child = |at_least: bool| {
            let branch =
                Branch { part: part.clone(), at_least, strips: if at_least { below + 1 } else { below } };
            let keeps = |place: &u32| self.agrees(&self.list[*place as usize], &branch);
            let mut branches = node.branches.clone();
            branches.push(branch.clone());
            Node {
                places: node.places.iter().copied().filter(keeps).collect(),
                start: node.start.iter().copied().filter(keeps).collect(),
                cuts: node.cuts.clone(),
                branches,
            }
        };
        Outcome::Split(vec![child(false), child(true)])
    }

    /// Whether a pattern can stand in a plan that keeps to a branch.
    fn agrees(&self, pattern: &Pattern, branch: &Branch) -> bool {
        let carried = carries(pattern, &branch.part);
        if !branch.at_least {
            return branch.strips > 0 || !carried;
        }
        // Where the strips asked for take up an item, it is nowhere else, and once on each.
        branch.part.iter().filter(|of| self.wanted[of.0] == branch.strips * of.1).all(|&(item, count)| {
            pattern.iter().find(|of| of.0 == item).is_none_or(|of| carried && of.1 == count)
        })
    }

    /// What to branch on, and on how many strips it lies.
    fn part(&self, point: &Point) -> Option<(Pattern, f64)> {
        let mut pairs: BTreeMap<(usize, usize), f64> = BTreeMap::new();
        for &(place, amount) in &point.uses {
            let pattern = &self.list[place as usize];
            for (at, &(a, count)) in pattern.iter().enumerate() {
                if count > 1 {
                    *pairs.entry((a, a)).or_insert(0.0) += amount;
                }
                pattern[at + 1..].iter().for_each(|&(b, _)| *pairs.entry((a, b)).or_insert(0.0) += amount);
            }
        }
        let fraction = |sum: f64| sum - sum.floor();
        let ideal = |sum: f64| (fraction(sum) - 0.65).abs();
        let open = |sum: f64| fraction(sum) > 1e-5 && fraction(sum) < 1.0 - 1e-5;
        let pair = pairs.into_iter().filter(|of| open(of.1)).min_by(|a, b| ideal(a.1).total_cmp(&ideal(b.1)));
        if let Some(((a, b), sum)) = pair {
            return Some((if a == b { vec![(a, 2)] } else { vec![(a, 1), (b, 1)] }, sum));
        }
        let sum = |part: &Pattern| {
            let carrying = point.uses.iter().filter(|of| carries(&self.list[of.0 as usize], part));
            carrying.map(|of| of.1).sum::<f64>()
        };
        let patterns = point.uses.iter().map(|of| &self.list[of.0 as usize]);
        patterns.map(|part| (part.clone(), sum(part))).find(|of| open(of.1))
    }
}
