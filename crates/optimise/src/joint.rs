//! The integer program over cloth and passes together, for some of the fabrics while the others stay as they are:
//! with one or two fabrics free it is the move of a neighbourhood search, with all of them the whole problem over a
//! pool of strip patterns.

use std::collections::BTreeMap;
use std::time::Duration;

use crate::costs::{Costs, Limits};
use crate::integer::{Found, IntegerModel, Relation};
use crate::model::Model;
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
        let gcd = all().fold(0_i128, |a, b| {
            let (mut a, mut b) = (a, b);
            while b != 0 {
                (a, b) = (b, a % b);
            }
            a
        });
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
    /// Costs.
    pub costs: &'a SmallCosts,
    /// Limits.
    pub limits: &'a Limits,
    /// Strip patterns to choose from, by fabric.
    pub pools: &'a [Vec<Pattern>],
    /// Whether strips matter (false where only passes and plies are counted).
    pub strips: bool,
}

struct Layout {
    strips: Vec<(usize, usize, usize)>,
    plies: Vec<(usize, usize, usize)>,
    passes: Vec<usize>,
}

impl Joint<'_> {
    /// Solves for the free fabrics around `at`, which must be sound; at most `nodes` nodes. Returns the better
    /// solution found, if any.
    #[must_use]
    pub fn improve(
        &self,
        at: &Solution,
        free: &[usize],
        nodes: u64,
        stop: Option<Duration>,
        hinted: bool,
    ) -> Option<(Solution, bool)> {
        let (program, layout) = self.program(at, free);
        let hint = hinted.then(|| self.point(at, free, &layout)).filter(|point| program.passes(point));
        match program.solve(nodes, stop, hint.as_deref()) {
            Found::Point { values, finished, .. } => Some((self.read(at, free, &layout, &values), finished)),
            _ => None,
        }
    }

    fn program(&self, at: &Solution, free: &[usize]) -> (IntegerModel, Layout) {
        let mut program = IntegerModel::default();
        let mut layout = Layout { strips: Vec::new(), plies: Vec::new(), passes: Vec::new() };
        let fixed = at.loads(self.model, |f| !free.contains(&f));
        for &f in free {
            self.fabric_part(&mut program, &mut layout, f);
        }
        self.passes_part(&mut program, &mut layout, &fixed);
        (program, layout)
    }

    fn fabric_part(&self, program: &mut IntegerModel, layout: &mut Layout, f: usize) {
        let fabric = &self.model.fabrics[f];
        let first_ply = layout.plies.len();
        for (ply, data) in fabric.plies.iter().enumerate() {
            let most = data
                .yields
                .iter()
                .map(|&(item, n)| fabric.items[item].wanted.div_ceil(u64::from(n)))
                .max()
                .unwrap_or(0);
            let variable = program.variable(self.costs.ply[f], 0, i64::try_from(most).unwrap_or(i64::MAX));
            layout.plies.push((f, ply, variable));
        }
        let plies = layout.plies[first_ply..].to_vec();
        for (item, data) in fabric.items.iter().enumerate() {
            let terms = plies.iter().flat_map(|&(_, ply, variable)| {
                let of_item = fabric.plies[ply].yields.iter().filter(move |(i, _)| *i == item);
                of_item.map(move |&(_, n)| (variable, i64::from(n)))
            });
            program.row(terms, Relation::AtLeast, i64::try_from(data.wanted).unwrap_or(i64::MAX));
        }
        if self.strips {
            self.strip_part(program, layout, f, &plies);
        }
    }

    fn strip_part(
        &self,
        program: &mut IntegerModel,
        layout: &mut Layout,
        f: usize,
        plies: &[(usize, usize, usize)],
    ) {
        let fabric = &self.model.fabrics[f];
        let first = layout.strips.len();
        for (index, pattern) in self.pools[f].iter().enumerate() {
            let cost = self.costs.width[f] * pattern.width + self.costs.strip;
            let most = program.bounds.iter().map(|b| i64::from(b.1)).max().unwrap_or(0);
            let variable = program.variable(cost, 0, most);
            layout.strips.push((f, index, variable));
        }
        let strips = &layout.strips[first..];
        for class in 0..fabric.classes.len() {
            let supply = strips.iter().flat_map(|&(_, index, variable)| {
                let plies = self.pools[f][index].plies.iter().filter(move |(c, _)| *c == class);
                plies.map(move |&(_, n)| (variable, n))
            });
            let use_up = plies
                .iter()
                .filter(|&&(_, ply, _)| fabric.plies[ply].class == class)
                .map(|&(_, _, variable)| (variable, -1));
            program.row(supply.chain(use_up), Relation::AtLeast, 0);
        }
        if let Some(most) = &self.limits.width {
            let terms = strips.iter().map(|&(_, index, variable)| (variable, self.pools[f][index].width));
            program.row(terms, Relation::AtMost, most[f]);
        }
    }

    fn passes_part(&self, program: &mut IntegerModel, layout: &mut Layout, fixed: &[Vec<i64>]) {
        for (b, board) in self.model.boards.iter().enumerate() {
            let variable = program.variable(self.costs.pass, 0, 1_000_000);
            layout.passes.push(variable);
            for (point, bays) in board.points.iter().enumerate() {
                let loads = layout.plies.iter().filter_map(|&(f, ply, variable)| {
                    let data = &self.model.fabrics[f].plies[ply];
                    (data.board == Some(b) && bays.contains(&data.bay)).then_some((variable, data.load))
                });
                let row: Vec<_> = loads.chain([(variable, -board.full)]).collect();
                if row.len() > 1 || fixed[b][point] > 0 {
                    program.row(row, Relation::AtMost, -fixed[b][point]);
                }
            }
        }
        if let Some(most) = self.limits.passes {
            program.row(layout.passes.iter().map(|&variable| (variable, 1)), Relation::AtMost, most);
        }
    }

    fn point(&self, at: &Solution, free: &[usize], layout: &Layout) -> Vec<i64> {
        let size = layout.strips.len() + layout.plies.len() + layout.passes.len();
        let mut values = vec![0; size];
        let _ = free;
        for &(f, ply, variable) in &layout.plies {
            values[variable] = at.plies[f][ply];
        }
        for &(f, index, variable) in &layout.strips {
            values[variable] = at.strips[f].get(&self.pools[f][index]).copied().unwrap_or(0);
        }
        for (b, &variable) in layout.passes.iter().enumerate() {
            values[variable] = at.passes[b];
        }
        values
    }

    fn read(&self, at: &Solution, free: &[usize], layout: &Layout, values: &[i64]) -> Solution {
        let mut next = at.clone();
        for &f in free {
            next.plies[f] = vec![0; self.model.fabrics[f].plies.len()];
            if self.strips {
                next.strips[f] = BTreeMap::new();
            }
        }
        for &(f, ply, variable) in &layout.plies {
            next.plies[f][ply] = values[variable];
        }
        for &(f, index, variable) in layout.strips.iter().filter(|strip| values[strip.2] > 0) {
            let _ = next.strips[f].insert(self.pools[f][index].clone(), values[variable]);
        }
        next.set_passes(self.model);
        next
    }
}
