//! Lengths and cuts: which strip supplies which plies of which pass, folded where a strip has the room.
//!
//! Strips are bins and stacks are items that may be split at a cost (bin packing with item fragmentation). A stack of
//! k plies is supplied by one folded length where some strip still has k plies of that class in one go and the fold
//! allowance fits into its unused end; else by as few lengths and cuts as there are, the same for all passes of a
//! lay-up unless splitting the lay-up saves more lengths and cuts than it costs.

use std::collections::BTreeMap;

use patchlay_measure::Length;

use crate::solution::Pattern;

/// A strip with what is still uncut on it.
#[derive(Clone, Debug)]
pub struct OpenStrip {
    /// Its pattern's width, grid steps.
    pub width: i64,
    /// Plies left, by class.
    pub free: BTreeMap<usize, i64>,
    /// Unused length once every ply left is cut flat.
    pub slack: Length,
    /// Pieces cut so far: class and plies, in order.
    pub pieces: Vec<(usize, u32)>,
}

/// A piece: strip (index into the fabric's open strips) and its place in `OpenStrip::pieces`.
pub type PieceRef = (usize, usize);

/// How a stack is made up: plies and whether the lowest lies face down, bottom first.
pub type Parts = Vec<(u32, bool)>;

/// Passes in a row whose stack is made up alike, with the pieces of each pass.
#[derive(Clone, Debug)]
pub struct Segment {
    /// Make-up of the stack.
    pub parts: Parts,
    /// One entry per pass: the piece of every part.
    pub passes: Vec<Vec<PieceRef>>,
}

/// A stack wanted in every pass of a lay-up.
#[derive(Clone, Copy, Debug)]
pub struct Stack {
    /// Class of its plies.
    pub class: usize,
    /// Plies that must lie face up.
    pub up: u32,
    /// Plies that must lie face down.
    pub down: u32,
    /// The faces do not matter.
    pub any_face: bool,
    /// Folding is allowed.
    pub folding: bool,
    /// Passes.
    pub times: i64,
}

/// What a split of a lay-up is worth in lengths and cuts.
const SPLIT: i64 = 6;

/// Lengths on a strip.
#[derive(Clone, Copy, Debug)]
pub struct Measures<'a> {
    /// Classes of the fabric.
    pub classes: &'a [crate::model::Class],
    /// Units in a grid step.
    pub grid: i64,
    /// Fold allowance.
    pub fold: Length,
    /// Ruler step.
    pub step: Length,
}

impl Measures<'_> {
    /// Length of a piece of so many plies along a strip of that width.
    #[must_use]
    pub fn length(&self, class: usize, width: i64, plies: u32) -> Length {
        let run = self.classes[class].run_in(width).unwrap_or(0) * self.grid;
        let folds = i64::from(plies.saturating_sub(1));
        Length::from_units(run * i64::from(plies) + self.fold.units() * folds).ceil_to(self.step)
    }

    fn extra(&self, class: usize, width: i64, plies: u32) -> Length {
        let flat = self.length(class, width, 1).units() * i64::from(plies);
        self.length(class, width, plies) - Length::from_units(flat)
    }
}

/// Opens strips for cutting: widest first; plies that nobody needs stay uncut.
#[must_use]
pub fn open(
    measures: &Measures<'_>,
    strips: &BTreeMap<Pattern, i64>,
    needed: &[i64],
    capacity: Length,
) -> Vec<OpenStrip> {
    let mut opened: Vec<OpenStrip> = Vec::new();
    let mut left = needed.to_vec();
    for (pattern, count) in strips.iter().rev() {
        for _ in 0..*count {
            let mut free = BTreeMap::new();
            let mut slack = capacity;
            for &(class, n) in &pattern.plies {
                let n = n.min(left[class]);
                left[class] -= n;
                if n > 0 {
                    let _ = free.insert(class, n);
                    slack -= Length::from_units(measures.length(class, pattern.width, 1).units() * n);
                }
            }
            if !free.is_empty() {
                opened.push(OpenStrip { width: pattern.width, free, slack, pieces: Vec::new() });
            }
        }
    }
    opened
}

/// Supplies a stack in all its passes.
#[must_use]
pub fn supply(measures: &Measures<'_>, strips: &mut Vec<OpenStrip>, stack: &Stack) -> Vec<Segment> {
    let options = make_ups(stack);
    let uniform = options.iter().find_map(|parts| {
        let mut trial = strips.clone();
        let segment = carve(measures, &mut trial, stack.class, parts, stack.times);
        (segment.passes.len() as i64 == stack.times).then_some((vec![segment], trial))
    });
    let mut trial = strips.clone();
    let mut mixed: Vec<Segment> = Vec::new();
    let mut left = stack.times;
    for parts in &options {
        if left == 0 {
            break;
        }
        let segment = carve(measures, &mut trial, stack.class, parts, left);
        if !segment.passes.is_empty() {
            left -= segment.passes.len() as i64;
            mixed.push(segment);
        }
    }
    let chosen = match uniform {
        Some((segments, after)) if left > 0 || price(&segments) <= price(&mixed) => (segments, after),
        _ => (mixed, trial),
    };
    *strips = chosen.1;
    chosen.0
}

fn price(segments: &[Segment]) -> i64 {
    let pieces: usize = segments.iter().map(|segment| segment.parts.len() * segment.passes.len()).sum();
    pieces as i64 + SPLIT * segments.len().saturating_sub(1) as i64
}

/// Ways to make up a stack, fewest parts first; the last is all flat cuts.
fn make_ups(stack: &Stack) -> Vec<Parts> {
    let total = stack.up + stack.down;
    let mut options: Vec<Parts> = Vec::new();
    let flats = |up: u32, down: u32| -> Parts {
        (0..up).map(|_| (1, false)).chain((0..down).map(|_| (1, true))).collect()
    };
    if stack.folding && stack.any_face {
        let mut sizes = Vec::new();
        partitions(total, total, &mut Vec::new(), &mut sizes);
        sizes.sort_by_key(Vec::len);
        options.extend(sizes.into_iter().map(|parts| parts.into_iter().map(|n| (n, false)).collect()));
    } else {
        if stack.folding {
            let pairs = stack.up.min(stack.down);
            for folded in (1..=pairs).rev() {
                let (up, down) = (stack.up - folded, stack.down - folded);
                let odd = u32::from(up + down > 0);
                let from_down = down > up;
                let mut parts: Parts = vec![(2 * folded + odd, from_down)];
                parts.extend(if from_down { flats(up, down - odd) } else { flats(up - odd.min(up), down) });
                options.push(parts);
                let mut even: Parts = vec![(2 * folded, false)];
                even.extend(flats(up, down));
                options.push(even);
            }
        }
        options.push(flats(stack.up, stack.down));
    }
    options
}

fn partitions(left: u32, most: u32, at: &mut Vec<u32>, found: &mut Vec<Vec<u32>>) {
    if left == 0 {
        found.push(at.clone());
        return;
    }
    for part in (1..=most.min(left)).rev() {
        at.push(part);
        partitions(left - part, part, at, found);
        let _ = at.pop();
    }
}

/// Cuts as many passes of that make-up as the strips hold, at most `times`.
fn carve(
    measures: &Measures<'_>,
    strips: &mut [OpenStrip],
    class: usize,
    parts: &Parts,
    times: i64,
) -> Segment {
    let mut segment = Segment { parts: parts.clone(), passes: Vec::new() };
    for _ in 0..times {
        let mut undo: Vec<(usize, OpenStrip)> = Vec::new();
        let mut pieces = Vec::new();
        for &(plies, _) in parts {
            let Some(index) = best_fit(measures, strips, class, plies) else { break };
            undo.push((index, strips[index].clone()));
            pieces.push(take(measures, &mut strips[index], class, plies, index));
        }
        if pieces.len() < parts.len() {
            for (index, strip) in undo.into_iter().rev() {
                strips[index] = strip;
            }
            break;
        }
        segment.passes.push(pieces);
    }
    segment
}

/// The strip with fewest plies of the class to spare that holds the piece.
fn best_fit(measures: &Measures<'_>, strips: &[OpenStrip], class: usize, plies: u32) -> Option<usize> {
    (0..strips.len())
        .filter(|&index| {
            let strip = &strips[index];
            strip.free.get(&class).copied().unwrap_or(0) >= i64::from(plies)
                && measures.extra(class, strip.width, plies) <= strip.slack
        })
        .min_by_key(|&index| (strips[index].free.get(&class).copied().unwrap_or(0), index))
}

fn take(measures: &Measures<'_>, strip: &mut OpenStrip, class: usize, plies: u32, index: usize) -> PieceRef {
    strip.slack -= measures.extra(class, strip.width, plies);
    if let Some(free) = strip.free.get_mut(&class) {
        *free -= i64::from(plies);
    }
    strip.pieces.push((class, plies));
    (index, strip.pieces.len() - 1)
}
