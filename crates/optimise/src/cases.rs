//! Cases of passes with the plain relaxation: passes come whole, strips and plies in shares. Where a board would make
//! five and a half passes, plans with at most five and plans with at least six are looked at apart (branch and bound;
//! Land and Doig, Econometrica 28 (1960)). A case takes milliseconds, where [`crate::tree`] takes the whole plans of every
//! fabric into account and up to seconds.

use std::collections::BTreeMap;

use minilp::{ComparisonOp, OptimizationDirection, Problem, Variable};
use patchlay_plan::proof::PartProof;

use crate::certify::{self, Proof};
use crate::costs::{Costs, Limits};
use crate::lp::{self, Prices};
use crate::model::Model;
use crate::pricing::Column;
use crate::simplex;
use crate::tree::{passes_of, whole_numbers, widest};

/// Shares below this are noise of the simplex.
const LEAST_SHARE: f64 = 1e-9;

/// One case with its proof.
#[derive(Clone, Debug)]
pub struct Case {
    /// The limits of the question and the passes of the case.
    pub limits: Limits,
    /// What is proved of it.
    pub proof: Proof,
    /// Passes of every board in the relaxation.
    passes: Vec<f64>,
    /// The strips that it is made of: a case within this one starts from them.
    used: Vec<Column>,
}

/// How far to go.
#[derive(Clone, Copy, Debug)]
pub struct Aim {
    /// Value to reach, in the figure's own unit.
    pub value: i128,
    /// Step of the values that there can be.
    pub step: i128,
    /// Most cases.
    pub cases: usize,
}

impl Case {
    fn of(model: &Model, costs: &Costs, limits: Limits, prices: &Prices) -> Option<Self> {
        let proof = certify::of_prices(model, costs, &limits, prices)?;
        let (passes, used) = mixture(model, costs, &limits, &prices.columns).unwrap_or_default();
        Some(Self { limits, proof, passes, used })
    }

    /// The proved value, rounded up to a multiple of `step`.
    #[must_use]
    pub fn rounded_up(&self, step: i128) -> i128 {
        -(-self.proof.value.max(0)).div_euclid(self.proof.scale * step) * step
    }

    /// The proof as the plan stores it.
    #[must_use]
    pub fn part(&self, model: &Model, lines: usize, boards: &[&str]) -> PartProof {
        let passes = passes_of(boards, &self.limits.boards);
        PartProof { passes, ..self.proof.part(model, lines, None, &self.limits) }
    }

    /// The two cases that this one falls into.
    fn halves(&self, boards: usize) -> Option<[Limits; 2]> {
        let (board, gap) = widest(self.passes.iter().map(|&passes| whole_numbers(passes)))?;
        let mut halves = [self.limits.clone(), self.limits.clone()];
        halves.iter_mut().for_each(|half| half.boards.resize_with(boards, Default::default));
        halves[0].boards[board].most = Some(gap.below);
        halves[1].boards[board].least = gap.above;
        Some(halves)
    }
}

/// Cases that together are all plans within the limits, in a model without points that stand for pairs kept apart. The
/// lowest of their bounds holds for all.
#[must_use]
pub fn prove(model: &Model, costs: &Costs, limits: &Limits, aim: Aim) -> Option<Vec<Case>> {
    let prices = lp::solve(model, costs, limits, &[])?;
    let singles = lp::one_ply_each(model);
    let mut open = vec![Case::of(model, costs, limits.clone(), &prices)?];
    let mut closed = Vec::new();
    while open.len() + closed.len() < aim.cases {
        let by_value = |case: &Case| (case.proof.value * 1_000_000).div_euclid(case.proof.scale);
        let Some(lowest) = (0..open.len()).min_by_key(|&at| by_value(&open[at])) else { break };
        if open[lowest].rounded_up(aim.step) >= aim.value {
            break;
        }
        let whole = open.swap_remove(lowest);
        let columns = [&singles[..], &whole.used].concat();
        let half = |limits: Limits| {
            let prices = lp::again(model, costs, &limits, &columns)?;
            Case::of(model, costs, limits, &prices)
        };
        let halves = whole.halves(model.boards.len());
        let halves = halves.map(|[lower, upper]| rayon::join(|| half(lower), || half(upper)));
        let Some((Some(lower), Some(upper))) = halves else {
            closed.push(whole);
            continue;
        };
        open.extend([lower, upper]);
    }
    closed.extend(open);
    Some(closed)
}

/// Passes of every board in the best mixture of these strips, and the strips that it has a share of.
#[allow(clippy::cast_precision_loss, reason = "floating-point choice of cases; the proof is made elsewhere")]
fn mixture(
    model: &Model,
    costs: &Costs,
    limits: &Limits,
    columns: &[Column],
) -> Option<(Vec<f64>, Vec<Column>)> {
    let all = costs.width.iter().chain(&costs.ply).chain([&costs.strip, &costs.pass]);
    let dearest = all.copied().max().unwrap_or(1).max(1) as f64;
    let cost = |cost: i128| cost as f64 / dearest;
    let any = (0.0, f64::INFINITY);
    let mut problem = Problem::new(OptimizationDirection::Minimize);
    let range = |board: usize| {
        let range = limits.board(board);
        (range.least as f64, range.most.map_or(f64::INFINITY, |most| most as f64))
    };
    let passes: Vec<Variable> =
        (0..model.boards.len()).map(|board| problem.add_var(cost(costs.pass), range(board))).collect();
    let mut rows: BTreeMap<Row, Vec<(Variable, f64)>> = BTreeMap::new();
    let mut shares = Vec::new();
    for column in columns {
        let plies: i64 = column.plies.iter().map(|&(_, n)| n).sum();
        let own = cost(costs.width[column.fabric]) * column.width as f64
            + cost(costs.strip)
            + cost(costs.ply[column.fabric]) * plies as f64;
        let variable = problem.add_var(own, any);
        shares.push(variable);
        let mut terms: BTreeMap<Row, f64> = BTreeMap::new();
        for &(ply, count) in &column.plies {
            let data = &model.fabrics[column.fabric].plies[ply];
            for &(item, n) in &data.yields {
                *terms.entry(Row::Item(column.fabric, item)).or_default() += f64::from(n) * count as f64;
            }
            let Some(board) = data.board else { continue };
            let load = data.load as f64 / model.boards[board].full as f64 * count as f64;
            for &point in &model.boards[board].bay_points[data.bay] {
                *terms.entry(Row::Point(board, point)).or_default() += load;
            }
        }
        let _ = terms.insert(Row::Width(column.fabric), column.width as f64);
        for (row, n) in terms {
            rows.entry(row).or_default().push((variable, n));
        }
    }
    for (row, mut terms) in rows {
        match row {
            Row::Item(f, item) => {
                let wanted = model.fabrics[f].items[item].wanted as f64;
                problem.add_constraint(terms.as_slice(), ComparisonOp::Ge, wanted);
            }
            Row::Point(board, _) => {
                terms.push((passes[board], -1.0));
                problem.add_constraint(terms.as_slice(), ComparisonOp::Le, 0.0);
            }
            Row::Width(f) => {
                if let Some(widths) = &limits.width {
                    problem.add_constraint(terms.as_slice(), ComparisonOp::Le, widths[f] as f64);
                }
            }
        }
    }
    if let Some(most) = limits.passes {
        let row: Vec<(Variable, f64)> = passes.iter().map(|&board| (board, 1.0)).collect();
        problem.add_constraint(row.as_slice(), ComparisonOp::Le, most as f64);
    }
    let solution = simplex::solved(&problem)?;
    let used = columns.iter().zip(shares).filter(|(_, share)| *solution.var_value(*share) > LEAST_SHARE);
    let passes = passes.iter().map(|&board| *solution.var_value(board)).collect();
    Some((passes, used.map(|(column, _)| column.clone()).collect()))
}

/// What a strip adds to.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Row {
    Item(usize, usize),
    Point(usize, usize),
    Width(usize),
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use crate::model::{Board, Class, Fabric, Face, Item, Ply};

    /// Squares of 10 of two sizes of patch, so many of each wanted, each cut by a board of its own, six plies a pass.
    pub(crate) fn two_boards(wanted: [u64; 2]) -> Model {
        let items = wanted.map(|wanted| Item { line: None, wanted }).to_vec();
        let mut fabric = Fabric { capacity: 40, items, ..Fabric::default() };
        fabric.classes = vec![Class { ways: vec![(10, 10)] }];
        let ply = |item| Ply {
            board: Some(item),
            bay: 0,
            face: Face::Up,
            class: 0,
            yields: vec![(item, 1)],
            load: 1,
        };
        fabric.plies = vec![ply(0), ply(1)];
        fabric.set_widths();
        let board = || Board::new(6, 1, vec![vec![0]], Vec::new());
        Model { grid: 1, fabrics: vec![fabric], boards: vec![board(), board()] }
    }

    fn fewest(model: &Model, limits: &Limits, cases: usize) -> i128 {
        let costs = Costs { pass: 1, ..Costs::zero(1) };
        let found = prove(model, &costs, limits, Aim { value: 100, step: 1, cases }).expect("cases");
        found.iter().map(|case| case.rounded_up(1)).min().expect("a case")
    }

    /// By hand: seven plies are two passes of a board, so two boards make four; shares of passes come to 7/6 + 7/6, three
    /// at least.
    #[test]
    fn passes_of_every_board_come_whole() {
        let model = two_boards([7, 7]);
        assert_eq!(fewest(&model, &Limits::default(), 1), 3);
        assert_eq!(fewest(&model, &Limits::default(), 100), 4);
    }

    /// By hand: thirteen and twelve plies are three passes and two.
    #[test]
    fn a_board_that_is_full_is_not_divided() {
        assert_eq!(fewest(&two_boards([13, 12]), &Limits::default(), 100), 5);
    }

    /// By hand: thirteen plies are 13/6 of a pass, twelve are two, whatever strips the relaxation starts from; twenty-five
    /// squares of 10 are 25/4 of a strip, so held widths of seven do not bind.
    #[test]
    fn few_columns_do_for_the_relaxation() {
        let model = two_boards([13, 12]);
        let costs = Costs { pass: 1, ..Costs::zero(1) };
        let limits = Limits { width: Some(vec![70]), ..Limits::default() };
        let columns = lp::one_ply_each(&model);
        let found = lp::again(&model, &costs, &limits, &columns).expect("prices");
        assert!((found.value - 25.0 / 6.0).abs() < 1e-6, "{}", found.value);
    }
}
