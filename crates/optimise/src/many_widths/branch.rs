//! Whether strips of a list make a plan up to a goal: branch and bound with cuts. It branches on how many strips are at
//! least so wide, else on how many carry a pair of pieces (Ryan and Foster, in Computer Scheduling of Public Transport
//! (1981); Vanderbeck, Mathematical Programming 86 (1999)), on what settles most when tried (Applegate, Bixby, Chvatal and
//! Cook 1995, strong branching; all from memory).

use std::collections::{BTreeMap, BTreeSet};

use super::cuts::{self, Cut};
use super::rows::{Branch, Counted, Part, Point, Rows};
use super::{Count, Pattern, Patterns, Reach, Task};
use crate::listen::Stop;
use crate::search::Random;

/// Rounds of cuts at the root and below.
const ROOT_ROUNDS: usize = 25;
const ROUNDS: usize = 3;
/// Cuts added in one round at the root and below.
const ROOT_CUTS: usize = 60;
const CUTS: usize = 30;
/// Widths and pairs tried before a branch, of each so many.
const TRIED: usize = 8;
/// Columns to begin with, for every piece.
const START: usize = 4;
/// How far from a whole number a number of strips is still whole.
const NEAR: f64 = 1e-5;

/// What is known of a goal.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Verdict {
    /// A plan up to it.
    Found(Patterns),
    /// There is none: exact.
    None,
    /// Too much work.
    Open,
}

/// A search over lists.
pub(super) struct Search<'a> {
    task: &'a Task,
    /// Linear programs at most.
    programs: u64,
    random: Random,
    stop: Stop<'a>,
    /// Cuts of the last root.
    cuts: Vec<Cut>,
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

/// A list with the goal that it is complete for.
#[derive(Clone, Copy)]
struct Question<'a> {
    list: &'a [Pattern],
    goal: i64,
}

impl<'a> Search<'a> {
    pub(super) fn new(task: &'a Task, reach: Reach, stop: Stop<'a>) -> Self {
        Self { task, programs: reach.programs, random: Random::new(reach.seed), stop, cuts: Vec::new() }
    }

    /// Searches a list to the end or until the work is done.
    pub(super) fn run(&mut self, list: &[Pattern], goal: i64) -> Verdict {
        let question = Question { list, goal };
        let places: Vec<u32> = (0..list.len()).filter_map(|at| u32::try_from(at).ok()).collect();
        let start = places.iter().copied().take(START * self.task.wanted.len()).collect();
        let mut open = vec![Node { places, branches: Vec::new(), cuts: self.cuts.clone(), start }];
        while let Some(node) = open.pop() {
            match self.visit(question, node) {
                Outcome::Found(patterns) => return Verdict::Found(patterns),
                Outcome::Closed => {}
                Outcome::Failed => return Verdict::Open,
                Outcome::Split(children) => open.extend(children),
            }
        }
        Verdict::None
    }

    fn visit(&mut self, question: Question<'_>, mut node: Node) -> Outcome {
        let root = node.branches.is_empty();
        let (mut rounds, most) = if root { (ROOT_ROUNDS, ROOT_CUTS) } else { (ROUNDS, CUTS) };
        loop {
            let Some((point, closed)) = self.relax(question, &mut node) else { return Outcome::Failed };
            if root {
                self.cuts.clone_from(&node.cuts);
            }
            if closed {
                return Outcome::Closed;
            }
            if let Some(patterns) = whole(question.list, &point) {
                return Outcome::Found(patterns);
            }
            let fresh = if rounds > 0 { self.fresh_cuts(question, &node, &point, most) } else { Vec::new() };
            if fresh.is_empty() {
                return self.split(question, &node, &point);
            }
            node.cuts.extend(fresh);
            rounds -= 1;
        }
    }

    /// Solves a node, leaves in it only the strips and cuts that still matter, and says whether it is closed.
    fn relax(&mut self, question: Question<'_>, node: &mut Node) -> Option<(Point, bool)> {
        self.programs = self.programs.checked_sub(1)?;
        let rows = Rows::new(self.task, &node.cuts, &node.branches);
        let part = Part { list: question.list, places: &node.places };
        let point = rows.solve(part, &node.start, self.stop)?;
        let proof = rows.proof(part, &point, question.goal);
        if proof.is_closed() {
            return Some((point, true));
        }
        node.places = proof.within(part);
        let used = point.uses.iter().map(|of| of.0);
        node.start = used.filter(|at| node.places.binary_search(at).is_ok()).collect();
        let mut cut = 0;
        node.cuts.retain(|_| {
            cut += 1;
            proof.is_tight(self.task, cut - 1)
        });
        Some((point, false))
    }

    fn fresh_cuts(&mut self, question: Question<'_>, node: &Node, point: &Point, most: usize) -> Vec<Cut> {
        let uses: Vec<(&Pattern, f64)> =
            point.uses.iter().map(|&(place, amount)| (&question.list[place as usize], amount)).collect();
        let mut fresh = cuts::violated(&self.task.wanted, &uses, &mut self.random, most);
        fresh.retain(|cut| !node.cuts.contains(cut));
        fresh
    }

    /// Two nodes, or one where the other is closed at once; the cheaper one is visited first.
    fn split(&mut self, question: Question<'_>, node: &Node, point: &Point) -> Outcome {
        let mut best: Option<(f64, Vec<(f64, Node)>)> = None;
        for (counted, sum) in candidates(question.list, point) {
            let mut score = 1.0;
            let mut children = Vec::new();
            for at_least in [false, true] {
                let mut child = node.clone();
                child.branches.push(branch(counted.clone(), sum, at_least));
                let Some((tried, closed)) = self.relax(question, &mut child) else { return Outcome::Failed };
                let rise = if closed { CLOSED } else { (tried.value - point.value).clamp(0.0, CLOSED) };
                score *= rise + 1e-4;
                if !closed {
                    children.push((tried.value, child));
                }
            }
            if children.is_empty() {
                return Outcome::Closed;
            }
            if best.as_ref().is_none_or(|best| score > best.0) {
                best = Some((score, children));
            }
        }
        let Some((_, mut children)) = best else { return Outcome::Failed };
        children.sort_by(|a, b| b.0.total_cmp(&a.0));
        Outcome::Split(children.into_iter().map(|of| of.1).collect())
    }
}

/// What closing a node counts against a rise of its cost, in dearest strips.
const CLOSED: f64 = 1.0;

#[allow(clippy::cast_possible_truncation, reason = "sums are small")]
fn branch(counted: Counted, sum: f64, at_least: bool) -> Branch {
    Branch { counted, at_least, strips: (sum + NEAR).floor() as Count + Count::from(at_least) }
}

/// The point as a plan, if it is whole.
#[allow(clippy::cast_possible_truncation, reason = "amounts are small")]
fn whole(list: &[Pattern], point: &Point) -> Option<Patterns> {
    if point.missing > 1e-6 || point.uses.iter().any(|of| (of.1 - of.1.round()).abs() > 1e-6) {
        return None;
    }
    let plan =
        point.uses.iter().map(|&(place, amount)| (list[place as usize].clone(), amount.round() as Count));
    Some(plan.filter(|of| of.1 > 0).collect())
}

/// What to branch on, and how many strips of it there are: widths and pairs nearest to a half, else a strip.
fn candidates(list: &[Pattern], point: &Point) -> Vec<(Counted, f64)> {
    let uses: Vec<(&Pattern, f64)> =
        point.uses.iter().map(|&(place, amount)| (&list[place as usize], amount)).collect();
    let strips = |counted: &Counted| -> f64 {
        uses.iter().filter(|(pattern, _)| counted.counts(pattern)).map(|of| of.1).sum()
    };
    let widths: BTreeSet<i64> = uses.iter().map(|(pattern, _)| pattern.width).collect();
    let widths = widths.into_iter().map(|width| (Counted::Wide(width), strips(&Counted::Wide(width))));
    let mut pairs: BTreeMap<Counted, f64> = BTreeMap::new();
    for (pattern, amount) in &uses {
        for (at, &(a, count)) in pattern.pieces.iter().enumerate() {
            let twice = (count > 1).then_some(a);
            let others = pattern.pieces[at + 1..].iter().map(|of| of.0);
            for b in twice.into_iter().chain(others) {
                *pairs.entry(Counted::Pair(a, b)).or_insert(0.0) += amount;
            }
        }
    }
    let mut found = open(widths.collect());
    found.extend(open(pairs.into_iter().collect()));
    if found.is_empty() {
        let strips = uses.iter().map(|&(pattern, amount)| (Counted::Whole(pattern.clone()), amount));
        found = open(strips.collect());
        found.truncate(1);
    }
    found
}

/// Those that are not whole, nearest to a half first, and only some.
fn open(mut all: Vec<(Counted, f64)>) -> Vec<(Counted, f64)> {
    let off_half = |sum: f64| (sum - (sum + NEAR).floor() - 0.5).abs();
    all.retain(|of| off_half(of.1) < 0.5 - NEAR);
    all.sort_by(|a, b| off_half(a.1).total_cmp(&off_half(b.1)).then_with(|| a.0.cmp(&b.0)));
    all.truncate(TRIED);
    all
}
