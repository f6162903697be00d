//! The integer program over cloth and passes together, for some of the fabrics while the others stay as they are:
//! with one or two fabrics free it is the move of a neighbourhood search, with all of them the whole problem over a
//! pool of strip patterns.

use std::collections::BTreeMap;
use std::time::Duration;

use crate::costs::{Costs, Limits, gcd};
use crate::decompose::{Decomposed, FineCosts};
use crate::integer::{Found, IntegerModel, Relation};
use crate::kinds::Kinds;
use crate::model::Model;
use crate::oracle::{FabricPlan, Strip};
use crate::solution::{Pattern, Solution};

/// Costs brought to whole numbers that a floating-point solver takes well.
#[derive(Clone, Debug)]
pub struct SmallCosts {
    width: Vec<i64>,
    strip: i64,
    ply: Vec<i64>,
    pass: i64,
}

impl SmallCosts {
    /// Divides by the greatest common divisor; where coefficients stay above a million they are rounded.
    #[must_use]
    pub fn of(costs: &Costs) -> Self {
        let all = || costs.width.iter().chain(&costs.ply).chain([&costs.strip, &costs.pass]).copied();
        let gcd = all().fold(0, gcd);
        let largest = all().max().unwrap_or(1).max(1);
        let divisor = gcd.max(1).max(largest / 1_000_000);
        let small = |v: i128| i64::try_from((v + divisor / 2) / divisor).unwrap_or(i64::MAX / 4);
        Self {
            width: costs.width.iter().map(|&v| small(v)).collect(),
            strip: small(costs.strip),
            ply: costs.ply.iter().map(|&v| small(v)).collect(),
            pass: small(costs.pass),
        }
    }
}

/// The question.
pub struct Joint<'a> {
    /// The model.
    pub model: &'a Model,
    /// Its plies by kind.
    pub kinds: &'a Kinds,
    /// Costs.
    pub costs: &'a SmallCosts,
    /// Limits.
    pub limits: &'a Limits,
    /// Strip patterns to choose from, by fabric.
    pub pools: &'a [Vec<Pattern>],
    /// Whether strips matter (false where only passes and plies are counted).
    pub strips: bool,
    /// What the decomposition knows of every fabric's least cost.
    pub cuts: Option<&'a Cuts>,
}

/// For every fabric a row that all its whole plans keep: cost of its strips and plies, with the prices of load at
/// which the decomposition asked, is at least the least that it then found. These rows carry the bound of the
/// decomposition into the program (Lagrangian cuts; Geoffrion, Mathematical Programming Study 2 (1974)).
#[derive(Clone, Debug)]
pub struct Cuts {
    costs: FineCosts,
    groups: Vec<i64>,
    least: Vec<i64>,
}

/// Prices of the decomposition are divided by this much for the solver, rounded so that the rows stay true.
const COARSER: i64 = 100;

impl Cuts {
    /// From a decomposition.
    #[must_use]
    pub fn new(costs: &FineCosts, decomposed: &Decomposed) -> Option<Self> {
        let least: Vec<i64> = decomposed.answers.iter().map(|answer| answer.bound).collect();
        let new = Self { costs: costs.clone(), groups: decomposed.loads.groups.clone(), least };
        (new.least.len() == new.costs.width.len()).then_some(new)
    }
}

/// How far a program may be searched.
#[derive(Clone, Copy, Debug)]
pub struct Reach {
    /// Nodes.
    pub nodes: u64,
    /// A stop only.
    pub stop: Option<Duration>,
    /// Hand the solver the solution at hand.
    pub hinted: bool,
}

/// The integer program with the meaning of its variables.
#[derive(Default)]
struct Layout {
    program: IntegerModel,
    /// (fabric, pattern of its pool, variable).
    strips: Vec<(usize, usize, usize)>,
    /// (fabric, kind, variable).
    kinds: Vec<(usize, usize, usize)>,
    /// Variable of every slot of a group, for groups of more than one slot.
    slots: Vec<Vec<usize>>,
    /// Variable of every board's passes.
    passes: Vec<usize>,
}

impl Joint<'_> {
    /// Solves for the free fabrics around `at`, which must be sound: what the others are cut into stays, which bays
    /// their plies lie in does not. Returns the solution found, if any, and whether the solver searched to the end.
    #[must_use]
    pub fn improve(&self, at: &Solution, free: &[usize], reach: Reach) -> Option<(Solution, bool)> {
        let counts: Vec<Vec<i64>> =
            (0..self.model.fabrics.len()).map(|f| self.kinds.counts(self.model, at, f)).collect();
        let layout = self.program(&counts, free);
        let hint = reach.hinted.then(|| self.point(at, &counts, &layout));
        let hint = hint.filter(|point| layout.program.passes(point));
        match layout.program.solve(reach.nodes, reach.stop, hint.as_deref()) {
            Found::Point { values, finished, .. } => {
                Some((self.read(at, counts, free, &layout, &values), finished))
            }
            _ => None,
        }
    }

    /// Of every free fabric one of the whole plans given, so that all together cost least: far fewer choices than over
    /// strips, and each of them whole. Returns the solution, if any.
    #[must_use]
    pub fn choose(
        &self,
        at: &Solution,
        free: &[usize],
        plans: &[Vec<FabricPlan>],
        reach: Reach,
    ) -> Option<Solution> {
        let counts: Vec<Vec<i64>> =
            (0..self.model.fabrics.len()).map(|f| self.kinds.counts(self.model, at, f)).collect();
        let mut layout = Layout::default();
        let mut choices: Vec<(usize, usize, usize)> = Vec::new();
        for &f in free {
            let cost = |plan: &FabricPlan| -> i64 {
                let strip = |strip: &Strip| {
                    let plies: i64 = strip.plies.iter().map(|ply| ply.1).sum();
                    self.costs.width[f] * strip.width + self.costs.strip + self.costs.ply[f] * plies
                };
                plan.strips.iter().map(|(of, n)| strip(of) * n).sum()
            };
            let fits = |plan: &&FabricPlan| {
                let width: i64 = plan.strips.iter().map(|(strip, n)| strip.width * n).sum();
                self.limits.width.as_ref().is_none_or(|most| width <= most[f])
            };
            let least = plans[f].iter().map(cost).min()?;
            let own: Vec<(usize, usize, usize)> = plans[f]
                .iter()
                .enumerate()
                .filter(|(_, plan)| fits(plan))
                .map(|(p, plan)| (f, p, layout.program.variable(cost(plan) - least, 0, 1)))
                .collect();
            layout.program.row(own.iter().map(|&(_, _, variable)| (variable, 1)), Relation::Equal, 1);
            let plies: Vec<Vec<i64>> = plans[f].iter().map(|plan| plan.counts(counts[f].len())).collect();
            for k in 0..counts[f].len() {
                let most = plies.iter().map(|plies| plies[k]).max().unwrap_or(0);
                let variable = layout.program.variable(0, 0, most);
                let row = own.iter().map(|&(_, p, choice)| (choice, plies[p][k])).chain([(variable, -1)]);
                layout.program.row(row.collect::<Vec<_>>(), Relation::Equal, 0);
                layout.kinds.push((f, k, variable));
            }
            choices.extend(own);
        }
        self.passes_part(&mut layout, &counts, free);
        let Found::Point { values, .. } = layout.program.solve(reach.nodes, reach.stop, None) else {
            return None;
        };
        let mut next = self.read(at, counts, free, &layout, &values);
        for &(f, p, _) in choices.iter().filter(|choice| values[choice.2] > 0) {
            next.strips[f] = BTreeMap::new();
            for (strip, n) in &plans[f][p].strips {
                *next.strips[f].entry(self.kinds.pattern(f, strip)).or_default() += n;
            }
        }
        Some(next)
    }

    fn program(&self, counts: &[Vec<i64>], free: &[usize]) -> Layout {
        let mut layout = Layout::default();
        for &f in free {
            self.fabric_part(&mut layout, f);
        }
        self.passes_part(&mut layout, counts, free);
        layout
    }

    fn fabric_part(&self, layout: &mut Layout, f: usize) {
        let fabric = &self.model.fabrics[f];
        let first = layout.kinds.len();
        for (k, kind) in self.kinds.of[f].iter().enumerate() {
            let full = |&(item, n): &(usize, u32)| fabric.items[item].wanted.div_ceil(u64::from(n));
            let most = kind.yields.iter().map(full).max().unwrap_or(0);
            let most = i64::try_from(most).unwrap_or(i64::MAX);
            let variable = layout.program.variable(self.costs.ply[f], 0, most);
            layout.kinds.push((f, k, variable));
        }
        for (item, data) in fabric.items.iter().enumerate() {
            let terms = layout.kinds[first..].iter().flat_map(|&(_, k, variable)| {
                let of_item = self.kinds.of[f][k].yields.iter().filter(move |(i, _)| *i == item);
                of_item.map(move |&(_, n)| (variable, i64::from(n)))
            });
            let wanted = i64::try_from(data.wanted).unwrap_or(i64::MAX);
            layout.program.row(terms.collect::<Vec<_>>(), Relation::AtLeast, wanted);
        }
        if self.strips {
            self.strip_part(layout, f, first);
        }
    }

    fn strip_part(&self, layout: &mut Layout, f: usize, first_kind: usize) {
        let fabric = &self.model.fabrics[f];
        let kinds = layout.kinds[first_kind..].to_vec();
        let most = kinds.iter().map(|kind| i64::from(layout.program.bounds[kind.2].1)).max().unwrap_or(0);
        let first = layout.strips.len();
        for (index, pattern) in self.pools[f].iter().enumerate() {
            let cost = self.costs.width[f] * pattern.width + self.costs.strip;
            let variable = layout.program.variable(cost, 0, most);
            layout.strips.push((f, index, variable));
        }
        let strips = &layout.strips[first..];
        for class in 0..fabric.classes.len() {
            let supply = strips.iter().flat_map(|&(_, index, variable)| {
                let plies = self.pools[f][index].plies.iter().filter(move |(c, _)| *c == class);
                plies.map(move |&(_, n)| (variable, n))
            });
            let used = kinds.iter().filter(|&&(_, k, _)| self.kinds.of[f][k].class == class);
            let row: Vec<_> = supply.chain(used.map(|&(_, _, variable)| (variable, -1))).collect();
            layout.program.row(row, Relation::AtLeast, 0);
        }
        if let Some(cuts) = self.cuts.filter(|cuts| cuts.least[f] > 0) {
            let up = |price: i64| price.div_euclid(COARSER) + 1;
            let strips = strips.iter().map(|&(_, index, variable)| {
                (variable, up(cuts.costs.width[f] * self.pools[f][index].width + cuts.costs.strip))
            });
            let plies = kinds.iter().map(|&(_, k, variable)| {
                let load = self.kinds.of[f][k].group.map_or(0, |group| cuts.groups[group]);
                (variable, up(cuts.costs.ply[f] + load))
            });
            let row: Vec<_> = strips.chain(plies).collect();
            layout.program.row(row, Relation::AtLeast, cuts.least[f].div_euclid(COARSER) - 1);
        }
        if let Some(most) = &self.limits.width {
            let terms = strips.iter().map(|&(_, index, variable)| (variable, self.pools[f][index].width));
            layout.program.row(terms, Relation::AtMost, most[f]);
        }
    }

    /// Plies into bays, and the loads of the bays into passes.
    fn passes_part(&self, layout: &mut Layout, counts: &[Vec<i64>], free: &[usize]) {
        let boards = &self.model.boards;
        let mut loads: Vec<Vec<Vec<(usize, i64)>>> =
            boards.iter().map(|board| vec![Vec::new(); board.points.len()]).collect();
        let mut fixed: Vec<Vec<i64>> = boards.iter().map(|board| vec![0; board.points.len()]).collect();
        for (group, slots) in self.kinds.groups.iter().enumerate() {
            let free_here: Vec<usize> = layout
                .kinds
                .iter()
                .filter(|&&(f, k, _)| self.kinds.of[f][k].group == Some(group))
                .map(|kind| kind.2)
                .collect();
            let fixed_here: i64 = (0..self.kinds.of.len())
                .filter(|f| !free.contains(f))
                .flat_map(|f| self.kinds.of[f].iter().zip(&counts[f]))
                .filter(|(kind, _)| kind.group == Some(group))
                .map(|(_, count)| *count)
                .sum();
            let mut variables = Vec::new();
            if slots.len() > 1 && (fixed_here > 0 || !free_here.is_empty()) {
                variables = slots.iter().map(|_| layout.program.variable(0, 0, 1_000_000)).collect();
                let all = variables.iter().map(|&v| (v, 1)).chain(free_here.iter().map(|&v| (v, -1)));
                layout.program.row(all.collect::<Vec<_>>(), Relation::AtLeast, fixed_here);
            }
            for (s, slot) in slots.iter().enumerate() {
                for &point in &boards[slot.board].bay_points[slot.bay] {
                    let row = &mut loads[slot.board][point];
                    if slots.len() > 1 {
                        row.extend(variables.get(s).map(|&v| (v, slot.load)));
                    } else {
                        row.extend(free_here.iter().map(|&v| (v, slot.load)));
                        fixed[slot.board][point] += fixed_here * slot.load;
                    }
                }
            }
            layout.slots.push(variables);
        }
        for (b, board) in boards.iter().enumerate() {
            let variable = layout.program.variable(self.costs.pass, 0, 1_000_000);
            layout.passes.push(variable);
            for (mut row, fixed) in loads[b].drain(..).zip(&fixed[b]) {
                if !row.is_empty() || *fixed > 0 {
                    row.push((variable, -board.full));
                    layout.program.row(row, Relation::AtMost, -fixed);
                }
            }
        }
        if let Some(most) = self.limits.passes {
            let row = layout.passes.iter().map(|&variable| (variable, 1));
            layout.program.row(row.collect::<Vec<_>>(), Relation::AtMost, most);
        }
    }

    /// The solution at hand as a point of the program.
    fn point(&self, at: &Solution, counts: &[Vec<i64>], layout: &Layout) -> Vec<i64> {
        let mut values = vec![0; layout.program.costs.len()];
        for &(f, k, variable) in &layout.kinds {
            values[variable] = counts[f][k];
        }
        for &(f, index, variable) in &layout.strips {
            values[variable] = at.strips[f].get(&self.pools[f][index]).copied().unwrap_or(0);
        }
        for (variables, sums) in layout.slots.iter().zip(self.kinds.in_slots(self.model, at)) {
            for (&variable, sum) in variables.iter().zip(sums) {
                values[variable] = sum;
            }
        }
        for (b, &variable) in layout.passes.iter().enumerate() {
            values[variable] = at.passes[b];
        }
        values
    }

    fn read(
        &self,
        at: &Solution,
        mut counts: Vec<Vec<i64>>,
        free: &[usize],
        layout: &Layout,
        values: &[i64],
    ) -> Solution {
        let mut next = at.clone();
        if self.strips {
            free.iter().for_each(|&f| next.strips[f] = BTreeMap::new());
        }
        for &(f, k, variable) in &layout.kinds {
            counts[f][k] = values[variable];
        }
        for &(f, index, variable) in layout.strips.iter().filter(|strip| values[strip.2] > 0) {
            let _ = next.strips[f].insert(self.pools[f][index].clone(), values[variable]);
        }
        let slots: Vec<Vec<i64>> = layout
            .slots
            .iter()
            .zip(&self.kinds.groups)
            .map(|(variables, slots)| match variables.len() {
                0 => vec![0; slots.len()],
                _ => variables.iter().map(|&v| values[v]).collect(),
            })
            .collect();
        next.plies = self.kinds.spread(self.model, &counts, &slots);
        next.set_passes(self.model);
        next
    }
}
