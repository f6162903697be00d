//! Folded lengths for lay-ups that are known by their plies: how every stack is made up of lengths and cuts, and how
//! the strips are divided to give them, decided together for one fabric.
//!
//! Strips of one width may change places: whatever fits on a strip of that width is a column, so plies are spread over
//! the strips again wherever that leaves room for folds. Columns are generated as in cutting stock (Gilmore and Gomory,
//! Operations Research 9 (1961) 849-859): the prices come from the dual program, the best strip for them from a
//! knapsack, and one integer program over all columns found decides. The strips as they were are among the columns, and
//! the caller keeps them where nothing cheaper is found.

use std::collections::BTreeMap;

use minilp::Variable;
use patchlay_measure::Length;

use crate::asked::Asked;
use crate::integer::{Found, IntegerModel, Relation};
use crate::pieces::{Measures, OpenStrip};
use crate::simplex;
use crate::stock::{Group, Handling, way_on};

/// A stack of one group in one bay of one lay-up.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Stack {
    /// Group, as an index.
    pub group: usize,
    /// How often the lay-up is made.
    pub times: i64,
    /// Plies face up; all where faces do not matter.
    pub up: i64,
    /// Plies face down.
    pub down: i64,
}

/// A part of a stack: way round, plies, lowest face down.
pub type Part = (usize, u32, bool);

/// The parts of a stack, and how many of each.
pub type Parts = Vec<(Part, i64)>;

/// Strips and the parts of every stack.
#[derive(Clone, Debug)]
pub struct Folded {
    /// Strips with their pieces.
    pub strips: Vec<OpenStrip>,
    /// (part, how many) of every stack, in the order given.
    pub parts: Vec<Parts>,
    /// Seconds to prepare them all.
    pub cost: i64,
}

/// How to look for folded lengths.
#[derive(Clone, Copy, Debug, Default)]
pub struct Search {
    /// Over all ways to divide strips, where those are few.
    pub thorough: bool,
    /// Without lengths or cuts of this kind, of which there must be none so far.
    pub without: Option<Kind>,
}

/// A kind of piece on a strip: class, way round, plies.
pub type Kind = (usize, usize, u32);

/// A way to make up a stack: kind, part, how many of it.
type Whole = Vec<(usize, Part, i64)>;

/// Plies up to which stacks are made up as wholes.
const MOST_WHOLE: i64 = 8;
/// Rounds of column generation.
const ROUNDS: u32 = 60;
/// Nodes of the integer program.
const NODES: u64 = 120;
/// Most that a ply is thought to be worth, in seconds.
const MOST_WORTH: f64 = 1e6;
/// Ways to divide strips up to which all are listed.
const MOST_LISTED: usize = 150;
/// Steps of the knapsack; finer lengths are rounded up to a coarser grid.
const STEPS: i64 = 4_000;

/// What there is to decide for a fabric.
struct Folds<'a> {
    thorough: bool,
    measures: &'a Measures<'a>,
    handling: Handling,
    capacity: Length,
    groups: &'a [Group],
    stacks: &'a [Stack],
    /// (strip width, strips), ascending.
    widths: Vec<(i64, i64)>,
    /// All kinds of piece that a stack may take.
    kinds: Vec<Kind>,
}

/// One way to divide a strip of the width at that place: (kind, how many).
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Column {
    width: usize,
    pieces: Vec<(usize, i64)>,
}

/// Decides for a fabric whose strips are, so far, divided as given and whose stacks are, so far, made up as given.
/// `None` if nothing is found.
#[must_use]
pub fn fold(
    (measures, handling, capacity): (&Measures<'_>, Handling, Length),
    groups: &[Group],
    stacks: &[Stack],
    strips: &[OpenStrip],
    parts: &[Parts],
    Search { thorough, without }: Search,
) -> Option<Folded> {
    static DECIDED: Asked<Option<Folded>> = Asked::new();
    let question = (measures, handling, capacity, groups, stacks, strips, parts, (thorough, without));
    DECIDED.answer(&question, || {
        let mut folds = Folds::new(thorough, (measures, handling, capacity), groups, stacks, strips);
        folds.kinds.retain(|kind| Some(*kind) != without);
        let (known, counts) = folds.known(strips)?;
        let columns = match thorough.then(|| folds.listed()).flatten() {
            Some(all) => known
                .iter()
                .cloned()
                .chain(all.into_iter().filter(|column| !known.contains(column)))
                .collect(),
            None => folds.generate(known),
        };
        folds.decide(&columns, &counts, parts)
    })
}

impl<'a> Folds<'a> {
    fn new(
        thorough: bool,
        (measures, handling, capacity): (&'a Measures<'a>, Handling, Length),
        groups: &'a [Group],
        stacks: &'a [Stack],
        strips: &[OpenStrip],
    ) -> Self {
        let mut widths: BTreeMap<i64, i64> = BTreeMap::new();
        strips.iter().for_each(|strip| *widths.entry(strip.width).or_default() += 1);
        let mut kinds: Vec<Kind> = Vec::new();
        for stack in stacks {
            let class = groups[stack.group].class;
            let ways = widths.keys().filter(|width| measures.classes[class].run_in(**width).is_some());
            for way in ways.map(|&width| way_on(measures, class, width)) {
                let parts = sizes(&groups[stack.group], stack);
                kinds.extend(parts.into_iter().map(|(plies, _)| (class, way, plies)));
            }
        }
        kinds.sort_unstable();
        kinds.dedup();
        Self {
            thorough,
            measures,
            handling,
            capacity,
            groups,
            stacks,
            widths: widths.into_iter().collect(),
            kinds,
        }
    }

    /// Length of a piece of that kind on a strip of that width, and its seconds as far as the strip bears them; `None` if
    /// it does not lie so there.
    fn piece(&self, (class, way, plies): Kind, width: i64) -> Option<(Length, i64)> {
        let class_ways = &self.measures.classes[class].ways;
        let _ = self.measures.classes[class].run_in(width)?;
        if way_on(self.measures, class, width) != way {
            return None;
        }
        let seconds = self.handling.of(plies, class_ways[way].0 < width) - self.of_stack(plies);
        Some((self.measures.length(class, width, plies), seconds))
    }

    /// The columns of the strips as they are, with how often each is used.
    fn known(&self, strips: &[OpenStrip]) -> Option<(Vec<Column>, Vec<i64>)> {
        let mut known: BTreeMap<Column, i64> = BTreeMap::new();
        for strip in strips {
            let width = self.widths.iter().position(|&(width, _)| width == strip.width)?;
            let mut pieces: BTreeMap<usize, i64> = BTreeMap::new();
            for &(class, plies) in &strip.pieces {
                let kind = (class, way_on(self.measures, class, strip.width), plies);
                *pieces.entry(self.kinds.binary_search(&kind).ok()?).or_default() += 1;
            }
            *known.entry(Column { width, pieces: pieces.into_iter().collect() }).or_default() += 1;
        }
        Some(known.into_iter().unzip())
    }

    /// All strips to which nothing can be added; `None` if they are many.
    fn listed(&self) -> Option<Vec<Column>> {
        let mut all = Vec::new();
        for (width, &(wide, _)) in self.widths.iter().enumerate() {
            let of_kind = |(index, &kind): (usize, &Kind)| Some((index, self.piece(kind, wide)?.0));
            let mut lengths: Vec<(usize, Length)> =
                self.kinds.iter().enumerate().filter_map(of_kind).collect();
            lengths.sort_by_key(|&(index, length)| (std::cmp::Reverse(length), index));
            let first = all.len();
            if !list(&lengths, self.capacity, &mut Vec::new(), &mut all) {
                return None;
            }
            for column in &mut all[first..] {
                column.width = width;
                column.pieces.sort_unstable();
            }
        }
        Some(all)
    }

    /// Seconds of what is on a strip, as far as the strip bears them.
    fn cost(&self, column: &Column) -> i64 {
        let width = self.widths[column.width].0;
        let each = |kind: usize| self.piece(self.kinds[kind], width).map_or(0, |piece| piece.1);
        column.pieces.iter().map(|&(kind, n)| n * each(kind)).sum()
    }

    /// Adds columns until no strip is worth more than it costs. The variables of the dual program are what a strip of
    /// each width and a piece of each kind are worth; only where to look for strips hangs on these floats.
    fn generate(&self, known: Vec<Column>) -> Vec<Column> {
        let mut columns = known;
        let Some((widths, kinds, mut solution)) = self.dual(&columns) else { return columns };
        for _ in 0..ROUNDS {
            let worth: Vec<f64> = kinds.iter().map(|&v| solution[v]).collect();
            let mut found: Vec<Column> = Vec::new();
            for (width, &v) in widths.iter().enumerate() {
                found.extend(
                    self.best_strip(width, solution[v], &worth).filter(|column| !columns.contains(column)),
                );
            }
            if found.is_empty() {
                break;
            }
            for column in found {
                let (row, cost) = self.dual_row(&column, &widths, &kinds);
                columns.push(column);
                match simplex::with_row(solution, row.as_slice(), minilp::ComparisonOp::Le, cost) {
                    Some(next) => solution = next,
                    None => return columns,
                }
            }
        }
        columns
    }

    /// The dual program of the columns so far: its variables for widths and kinds, and its solution.
    #[allow(clippy::cast_precision_loss, reason = "counts and seconds are far below 2^53")]
    fn dual(&self, columns: &[Column]) -> Option<(Vec<Variable>, Vec<Variable>, minilp::Solution)> {
        use minilp::{ComparisonOp, OptimizationDirection, Problem};
        let mut problem = Problem::new(OptimizationDirection::Maximize);
        let widths: Vec<_> =
            self.widths.iter().map(|&(_, n)| problem.add_var(-n as f64, (0.0, f64::INFINITY))).collect();
        let kinds: Vec<_> = self.kinds.iter().map(|_| problem.add_var(0.0, (0.0, f64::INFINITY))).collect();
        for column in columns {
            let (row, cost) = self.dual_row(column, &widths, &kinds);
            problem.add_constraint(row.as_slice(), ComparisonOp::Le, cost);
        }
        for stack in self.stacks {
            let group = &self.groups[stack.group];
            if let Some(wholes) = self.wholes(stack) {
                let worth = problem.add_var(stack.times as f64, (f64::NEG_INFINITY, MOST_WORTH));
                for whole in wholes {
                    let taken = whole.iter().map(|&(index, _, n)| (kinds[index], -n as f64));
                    let row: Vec<_> = taken.chain([(worth, 1.0)]).collect();
                    problem.add_constraint(row.as_slice(), ComparisonOp::Le, self.seconds(&whole) as f64);
                }
                continue;
            }
            let faces = [stack.up, stack.down]
                .map(|plies| problem.add_var((plies * stack.times) as f64, (f64::NEG_INFINITY, MOST_WORTH)));
            for (plies, down) in sizes(group, stack) {
                let (up, below) = faces_of(group, plies, down);
                for (index, _) in self.of(group.class, plies) {
                    let row = [(faces[0], up as f64), (faces[1], below as f64), (kinds[index], -1.0)];
                    let seconds = self.of_stack(plies) as f64;
                    problem.add_constraint(row.as_slice(), ComparisonOp::Le, seconds);
                }
            }
        }
        Some((widths, kinds, simplex::solved(&problem)?))
    }

    #[allow(clippy::cast_precision_loss, reason = "counts and seconds are far below 2^53")]
    fn dual_row(
        &self,
        column: &Column,
        widths: &[Variable],
        kinds: &[Variable],
    ) -> (Vec<(Variable, f64)>, f64) {
        let pieces = column.pieces.iter().map(|&(kind, n)| (kinds[kind], n as f64));
        let row = pieces.chain([(widths[column.width], -1.0)]).collect();
        (row, self.cost(column) as f64)
    }

    /// All ways to make up a stack, as (kind, part, how many), where it is low, faces do not matter and its cloth lies one
    /// way round: one of them is chosen as a whole, which makes the program tighter. Else parts are chosen one by one.
    fn wholes(&self, stack: &Stack) -> Option<Vec<Whole>> {
        let group = &self.groups[stack.group];
        let sizes = sizes(group, stack);
        let one_way = sizes.iter().all(|&(plies, _)| self.of(group.class, plies).count() == 1);
        if group.by_face || !one_way || stack.up > MOST_WHOLE {
            return None;
        }
        let mut wholes: Vec<(i64, Whole)> = vec![(stack.up, Vec::new())];
        for &(plies, down) in sizes.iter().rev() {
            let (index, way) = self.of(group.class, plies).next()?;
            let part = (way, plies, down);
            let mut next = Vec::new();
            for (left, whole) in wholes {
                let most = left / i64::from(plies);
                for n in if plies == 1 { most..=most } else { 0..=most } {
                    let mut with = whole.clone();
                    if n > 0 {
                        with.push((index, part, n));
                    }
                    next.push((left - n * i64::from(plies), with));
                }
            }
            wholes = next;
        }
        Some(wholes.into_iter().map(|(_, whole)| whole).collect())
    }

    /// Seconds of a part, trimming aside, where the stack bears them: then whatever else fits on a strip costs nothing, and
    /// full strips are enough to list.
    fn of_stack(&self, plies: u32) -> i64 {
        if self.thorough { self.handling.of(plies, false) } else { 0 }
    }

    /// Seconds of all parts of a stack, as far as the stack bears them.
    fn seconds(&self, whole: &Whole) -> i64 {
        whole.iter().map(|&(_, (_, plies, _), n)| n * self.of_stack(plies)).sum()
    }

    /// Kinds of a class with so many plies: (kind, way).
    fn of(&self, class: usize, plies: u32) -> impl Iterator<Item = (usize, usize)> + '_ {
        let kinds = self.kinds.iter().enumerate();
        kinds.filter(move |(_, kind)| (kind.0, kind.2) == (class, plies)).map(|(index, kind)| (index, kind.1))
    }

    /// The strip worth most beyond its cost, if it is worth more than `price`.
    #[allow(clippy::cast_precision_loss, reason = "seconds are far below 2^53")]
    fn best_strip(&self, width: usize, price: f64, pieces: &[f64]) -> Option<Column> {
        let grain = self.grain();
        let steps = usize::try_from(self.capacity.units() / grain).ok()?;
        let items: Vec<(usize, usize, f64)> = self
            .kinds
            .iter()
            .enumerate()
            .filter_map(|(index, &kind)| {
                let (length, seconds) = self.piece(kind, self.widths[width].0)?;
                let worth = pieces[index] - seconds as f64;
                let length = usize::try_from((length.units() + grain - 1) / grain).ok()?;
                (worth > 1e-7 && length > 0 && length <= steps).then_some((index, length, worth))
            })
            .collect();
        let mut best: Vec<(f64, Option<usize>)> = vec![(0.0, None); steps + 1];
        for at in 1..=steps {
            best[at] = (best[at - 1].0, None);
            for (place, &(_, length, worth)) in items.iter().enumerate() {
                if length <= at && best[at - length].0 + worth > best[at].0 + 1e-9 {
                    best[at] = (best[at - length].0 + worth, Some(place));
                }
            }
        }
        if best[steps].0 <= price + 1e-6 {
            return None;
        }
        let mut counts: BTreeMap<usize, i64> = BTreeMap::new();
        let mut at = steps;
        while at > 0 {
            match best[at].1 {
                Some(place) => {
                    *counts.entry(items[place].0).or_default() += 1;
                    at -= items[place].1;
                }
                None => at -= 1,
            }
        }
        Some(Column { width, pieces: counts.into_iter().collect() })
    }

    /// Units in a step of the knapsack.
    fn grain(&self) -> i64 {
        let step = self.measures.step.units().max(1);
        step * (self.capacity.units() / step / STEPS + 1)
    }

    fn decide(&self, columns: &[Column], counts: &[i64], parts: &[Parts]) -> Option<Folded> {
        let mut program = IntegerModel::default();
        let mut supply: Vec<Vec<(usize, i64)>> = vec![Vec::new(); self.kinds.len()];
        let mut of_width: Vec<Vec<(usize, i64)>> = vec![Vec::new(); self.widths.len()];
        let mut hint = Vec::new();
        for (index, column) in columns.iter().enumerate() {
            let v = program.variable(self.cost(column), 0, self.widths[column.width].1);
            of_width[column.width].push((v, 1));
            column.pieces.iter().for_each(|&(kind, n)| supply[kind].push((v, n)));
            hint.push(counts.get(index).copied().unwrap_or(0));
        }
        let mut taken: Vec<Vec<(usize, Part, i64)>> = Vec::new();
        for (stack, made) in self.stacks.iter().zip(parts) {
            let group = &self.groups[stack.group];
            let mut faces = [Vec::new(), Vec::new()];
            let mut of_stack = Vec::new();
            if let Some(wholes) = self.wholes(stack) {
                let mut one = Vec::new();
                for whole in wholes {
                    let v = program.variable(stack.times * self.seconds(&whole), 0, 1);
                    one.push((v, 1));
                    let alike = whole.iter().all(|&(_, part, n)| made.contains(&(part, n)));
                    hint.push(i64::from(alike && whole.len() == made.len()));
                    for (index, part, n) in whole {
                        supply[index].push((v, -stack.times * n));
                        of_stack.push((v, part, n));
                    }
                }
                program.row(one, Relation::Equal, 1);
                taken.push(of_stack);
                continue;
            }
            for (plies, down) in sizes(group, stack) {
                let (up, below) = faces_of(group, plies, down);
                for (index, way) in self.of(group.class, plies) {
                    let most = (stack.up + stack.down) / i64::from(plies);
                    let v = program.variable(stack.times * self.of_stack(plies), 0, most);
                    supply[index].push((v, -stack.times));
                    faces[0].push((v, up));
                    faces[1].push((v, below));
                    let part = (way, plies, down);
                    hint.push(made.iter().find(|known| known.0 == part).map_or(0, |known| known.1));
                    of_stack.push((v, part, 1));
                }
            }
            for (terms, plies) in faces.into_iter().zip([stack.up, stack.down]) {
                if terms.iter().any(|term| term.1 != 0) || plies > 0 {
                    program.row(terms, Relation::Equal, plies);
                }
            }
            taken.push(of_stack);
        }
        for (terms, &(_, strips)) in of_width.into_iter().zip(&self.widths) {
            program.row(terms, Relation::AtMost, strips);
        }
        supply.into_iter().for_each(|terms| program.row(terms, Relation::AtLeast, 0));
        let hint = program.passes(&hint).then_some(hint);
        let Found::Point { values, cost, .. } = program.solve(NODES, None, hint.as_deref()) else {
            return None;
        };
        let parts = taken
            .into_iter()
            .map(|of_stack| {
                let used = of_stack.into_iter().map(|(v, part, n)| (part, n * values[v]));
                used.filter(|used| used.1 > 0).collect()
            })
            .collect();
        let mut folded = Folded { strips: Vec::new(), parts, cost };
        for (column, &n) in columns.iter().zip(&values) {
            (0..n).for_each(|_| folded.strips.push(self.strip(column)));
        }
        self.drop_unused(&mut folded);
        Some(folded)
    }

    fn strip(&self, column: &Column) -> OpenStrip {
        let width = self.widths[column.width].0;
        let mut pieces = Vec::new();
        for &(kind, n) in column.pieces.iter().rev() {
            let (class, _, plies) = self.kinds[kind];
            pieces.extend((0..n).map(|_| (class, plies)));
        }
        let mut strip = OpenStrip { width, free: BTreeMap::new(), slack: Length::ZERO, pieces };
        self.set_slack(&mut strip);
        strip
    }

    fn set_slack(&self, strip: &mut OpenStrip) {
        let used: Length =
            strip.pieces.iter().map(|&(class, plies)| self.measures.length(class, strip.width, plies)).sum();
        strip.slack = self.capacity - used;
    }

    /// Takes off the strips what no stack takes, and strips with nothing left.
    fn drop_unused(&self, folded: &mut Folded) {
        let mut wanted: BTreeMap<Kind, i64> = BTreeMap::new();
        for (stack, parts) in self.stacks.iter().zip(&folded.parts) {
            for &((way, plies, _), n) in parts {
                *wanted.entry((self.groups[stack.group].class, way, plies)).or_default() += n * stack.times;
            }
        }
        for strip in &mut folded.strips {
            let width = strip.width;
            strip.pieces.retain(|&(class, plies)| {
                let kind = (class, way_on(self.measures, class, width), plies);
                let left = wanted.entry(kind).or_default();
                *left -= 1;
                *left >= 0
            });
        }
        folded.strips.retain(|strip| !strip.pieces.is_empty());
        folded.strips.iter_mut().for_each(|strip| self.set_slack(strip));
        folded.cost = cost(self.measures, self.handling, &folded.strips);
    }
}

/// Adds every way to fill the room with lengths, the longest first, until nothing more fits; false if they are many.
fn list(
    lengths: &[(usize, Length)],
    room: Length,
    so_far: &mut Vec<(usize, i64)>,
    all: &mut Vec<Column>,
) -> bool {
    let Some((&(kind, length), shorter)) = lengths.split_first() else {
        all.push(Column { width: 0, pieces: so_far.clone() });
        return all.len() <= MOST_LISTED;
    };
    let most = if length.is_positive() { room.units() / length.units() } else { 0 };
    // Of the shortest as many as fit, or something could be added.
    for n in (if shorter.is_empty() { most } else { 0 }..=most).rev() {
        if n > 0 {
            so_far.push((kind, n));
        }
        let go_on = list(shorter, room - length * n, so_far, all);
        if n > 0 {
            let _ = so_far.pop();
        }
        if !go_on {
            return false;
        }
    }
    true
}

/// Sizes of the parts that a stack may have: plies, and whether the lowest lies face down.
fn sizes(group: &Group, stack: &Stack) -> Vec<(u32, bool)> {
    let most = u32::try_from(stack.up + stack.down).unwrap_or(0).min(group.limit);
    let most = if group.folding { most } else { most.min(1) };
    let mut sizes = Vec::new();
    for plies in 1..=most {
        for down in [false, true] {
            let (up, below) = faces_of(group, plies, down);
            let needless = down && (!group.by_face || plies % 2 == 0);
            if !needless && up <= stack.up && below <= stack.down {
                sizes.push((plies, down));
            }
        }
    }
    sizes
}

/// Plies face up and face down of a part; all count as face up where faces do not matter.
pub(crate) fn faces_of(group: &Group, plies: u32, down: bool) -> (i64, i64) {
    let (first, second) = (i64::from(plies.div_ceil(2)), i64::from(plies / 2));
    match (group.by_face, down) {
        (false, _) => (i64::from(plies), 0),
        (true, false) => (first, second),
        (true, true) => (second, first),
    }
}

/// Seconds to prepare what is on the strips.
#[must_use]
pub fn cost(measures: &Measures<'_>, handling: Handling, strips: &[OpenStrip]) -> i64 {
    let of_strip = |strip: &OpenStrip| -> i64 {
        let each = |&(class, plies): &(usize, u32)| {
            let way = way_on(measures, class, strip.width);
            handling.of(plies, measures.classes[class].ways[way].0 < strip.width)
        };
        strip.pieces.iter().map(each).sum()
    };
    strips.iter().map(of_strip).sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::Class;

    const HANDLING: Handling = Handling { flat: 14, folded: 28, trim: 12 };

    /// Ruler steps of one grid step; a fold takes half a step, so k plies take (k - 1)/2 steps more, rounded up.
    fn measures(classes: &[Class]) -> Measures<'_> {
        Measures { classes, grid: 2, fold: Length::from_units(1), step: Length::from_units(2) }
    }

    fn group(class: usize, by_face: bool) -> Group {
        Group {
            stage: 1,
            board: 0,
            fabric: 0,
            class,
            bays: vec![0],
            load: 1,
            limit: 6,
            folding: true,
            alone: false,
            up: 0,
            down: 0,
            by_face,
        }
    }

    fn strip(width: i64, pieces: Vec<(usize, u32)>) -> OpenStrip {
        OpenStrip { width, free: BTreeMap::new(), slack: Length::ZERO, pieces }
    }

    /// Plies of every class on the strips, and whether every strip holds what is on it.
    fn held(measures: &Measures<'_>, strips: &[OpenStrip], capacity: Length) -> [i64; 2] {
        let mut plies = [0; 2];
        for strip in strips {
            let used: Length = strip.pieces.iter().map(|&(c, k)| measures.length(c, strip.width, k)).sum();
            assert!(used <= capacity, "{strip:?}");
            strip.pieces.iter().for_each(|&(class, k)| plies[class] += i64::from(k));
        }
        plies
    }

    /// By hand: strips of 44 carry three runs of 10 and two of 6 each, 42. A length of four runs of 10 takes 42 with its
    /// folds and so has a strip of its own; the other two and all four runs of 6 take 44 and stay flat. That is 28 + 6 x
    /// 14 seconds. Three plies folded save only 14, two none, and nothing else of four or more fits.
    #[test]
    fn plies_are_spread_over_the_strips_again_where_that_leaves_room_for_folds() {
        let classes = [Class { ways: vec![(20, 10)] }, Class { ways: vec![(20, 6)] }];
        let measures = measures(&classes);
        let capacity = Length::from_units(2 * 44);
        let full = vec![(0, 1), (0, 1), (0, 1), (1, 1), (1, 1)];
        let strips = [strip(20, full.clone()), strip(20, full)];
        let groups = [group(0, false), group(1, false)];
        let stacks = [
            Stack { group: 0, times: 1, up: 4, down: 0 },
            Stack { group: 0, times: 1, up: 2, down: 0 },
            Stack { group: 1, times: 1, up: 4, down: 0 },
        ];
        let parts = [4, 2, 4].map(|n| vec![((0, 1, false), n)]);
        let folded =
            fold((&measures, HANDLING, capacity), &groups, &stacks, &strips, &parts, Search::default())
                .unwrap();
        assert_eq!(folded.cost, 28 + 6 * 14);
        assert_eq!(held(&measures, &folded.strips, capacity), [6, 4]);
        assert!(folded.strips.len() <= 2);
        assert!(folded.strips.iter().flat_map(|strip| &strip.pieces).any(|&piece| piece == (0, 4)));
    }

    /// By hand: nine strips hold seven runs each, so at most nine lengths of four, and a stack of four that is made fifteen
    /// times is none of them. Two lengths of three and a cut fill a strip: fifteen lengths of three, eighteen are possible,
    /// and fifteen cuts, 15 x (28 + 14) seconds; twice two plies save nothing over flat cuts.
    #[test]
    fn what_is_alike_in_every_pass_is_found_among_all_strips() {
        let classes = [Class { ways: vec![(20, 10)] }];
        let measures = measures(&classes);
        let capacity = Length::from_units(2 * 72);
        let stacks = [Stack { group: 0, times: 15, up: 4, down: 0 }];
        let mut strips = vec![strip(20, vec![(0, 1); 7]); 8];
        strips.push(strip(20, vec![(0, 1); 4]));
        let parts = [vec![((0, 1, false), 4)]];
        let terms = (&measures, HANDLING, capacity);
        let search = Search { thorough: true, without: None };
        let folded = fold(terms, &[group(0, false)], &stacks, &strips, &parts, search).unwrap();
        assert_eq!(folded.cost, 15 * (28 + 14));
        assert_eq!(held(&measures, &folded.strips, capacity)[0], 60);
        let without = Search { without: Some((0, 0, 3)), ..search };
        let folded = fold(terms, &[group(0, false)], &stacks, &strips, &parts, without).unwrap();
        assert_eq!(folded.cost, 15 * 4 * 14, "nothing but lengths of three saves any time");
    }

    /// Faces: a stack of three up and two down is one length of five, face up first; one of two down and three up made
    /// twice needs two of them. Three up and none down cannot be folded.
    #[test]
    fn faces_are_kept() {
        let classes = [Class { ways: vec![(20, 10)] }];
        let measures = measures(&classes);
        let capacity = Length::from_units(2 * 80);
        let groups = [group(0, true)];
        let stacks =
            [Stack { group: 0, times: 2, up: 3, down: 2 }, Stack { group: 0, times: 1, up: 3, down: 0 }];
        let strips = [strip(20, vec![(0, 1); 7]), strip(20, vec![(0, 1); 6])];
        let parts = [vec![((0, 1, false), 3), ((0, 1, true), 2)], vec![((0, 1, false), 3)]];
        let folded =
            fold((&measures, HANDLING, capacity), &groups, &stacks, &strips, &parts, Search::default())
                .unwrap();
        assert_eq!(folded.parts, [vec![((0, 5, false), 1)], vec![((0, 1, false), 3)]]);
        assert_eq!(held(&measures, &folded.strips, capacity)[0], 13);
        assert_eq!(folded.cost, 2 * 28 + 3 * 14);
    }
}
