//! From floating-point prices to an exact proof: prices are rounded down to fractions, every strip column is priced
//! again in integers, and only what survives is claimed. See `patchlay_plan::proof` for what the proof says.

use patchlay_plan::Rational;
use patchlay_plan::proof::PartProof;

use crate::costs::{Costs, Limits};
use crate::lp::{self, Prices};
use crate::model::Model;
use crate::pricing::{best_by_class, best_strip};

/// Exact prices over one denominator, and the value they prove.
#[derive(Clone, Debug)]
pub struct Proof {
    /// Denominator of everything.
    pub scale: i128,
    /// By fabric and item.
    pub items: Vec<Vec<i128>>,
    /// By board and own point.
    pub points: Vec<Vec<i128>>,
    /// Per grid step, by fabric.
    pub held_width: Vec<i128>,
    /// On the passes.
    pub held_passes: i128,
    /// Proved value times `scale`, without the constant.
    pub value: i128,
}

/// Proves a lower bound for the costs under the limits. `None` where the relaxation cannot be solved.
#[must_use]
pub fn prove(model: &Model, costs: &Costs, limits: &Limits) -> Option<Proof> {
    let own = without_apart_points(model);
    let prices = lp::solve(&own, costs, limits, &[])?;
    of_prices(&own, costs, limits, &prices)
}

/// What these prices prove, in a model without points that stand for pairs kept apart. `None` if they are no numbers.
#[must_use]
pub fn of_prices(model: &Model, costs: &Costs, limits: &Limits, prices: &Prices) -> Option<Proof> {
    let sane = |v: &f64| v.is_finite() && *v < 1e18;
    let all = || prices.items.iter().chain(&prices.points).flatten().chain(&prices.held_width);
    if !all().chain([&prices.held_passes]).all(sane) {
        return None;
    }
    Some(rounded(model, costs, limits, prices))
}

/// The certificate speaks only of the points of the job.
#[must_use]
pub fn without_apart_points(model: &Model) -> Model {
    let mut own = model.clone();
    for board in &mut own.boards {
        board.points.truncate(board.own_points);
        let points = board.points.len();
        board.bay_points.iter_mut().for_each(|list| list.retain(|&p| p < points));
    }
    own
}

#[allow(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    reason = "rounded down, then checked exactly"
)]
fn rounded(model: &Model, costs: &Costs, limits: &Limits, prices: &Prices) -> Proof {
    let largest = prices
        .items
        .iter()
        .chain(&prices.points)
        .flatten()
        .chain(&prices.held_width)
        .copied()
        .fold(prices.held_passes, f64::max)
        .max(1e-12);
    let mut fine: i128 = 1;
    let dearest = dearest(costs);
    while largest * costs.unit as f64 * (fine as f64) < 1e14 && dearest * fine < 1_000_000_000_000_000_000 {
        fine *= 10;
    }
    let scale = costs.unit * fine;
    let down = |v: f64| (v * scale as f64).floor().max(0.0) as i128;
    let up = |v: f64| (v * scale as f64).ceil().max(0.0) as i128;
    let mut proof = Proof {
        scale,
        items: prices.items.iter().map(|row| row.iter().map(|&v| down(v)).collect()).collect(),
        points: prices.points.iter().map(|row| row.iter().map(|&v| down(v)).collect()).collect(),
        held_width: prices.held_width.iter().map(|&v| up(v)).collect(),
        held_passes: up(prices.held_passes),
        value: 0,
    };
    let most = costs.pass * fine + proof.held_passes;
    for (at, board) in proof.points.iter_mut().enumerate() {
        // Where passes have a most, points may cost more than a pass: what they are over is taken off below.
        let mut over = if limits.board(at).most.is_some() { 0 } else { board.iter().sum::<i128>() - most };
        for price in board.iter_mut() {
            let cut = over.clamp(0, *price);
            *price -= cut;
            over -= cut;
        }
    }
    for f in 0..model.fabrics.len() {
        settle(model, costs, fine, &mut proof, f);
    }
    let passes = proof.points.iter().enumerate();
    let passes: i128 =
        passes.map(|(at, board)| limits.board(at).at_least(most - board.iter().sum::<i128>())).sum();
    proof.value = passes
        + (0..model.fabrics.len())
            .map(|f| {
                let gain: i128 = proof.items[f]
                    .iter()
                    .zip(&model.fabrics[f].items)
                    .map(|(p, i)| p * i128::from(i.wanted))
                    .sum();
                let held = limits.width.as_ref().map_or(0, |most| proof.held_width[f] * i128::from(most[f]));
                gain - held
            })
            .sum::<i128>()
        - limits.passes.map_or(0, |passes| proof.held_passes * i128::from(passes));
    proof
}

fn dearest(costs: &Costs) -> i128 {
    costs.width.iter().chain(&costs.ply).chain([&costs.strip, &costs.pass]).copied().max().unwrap_or(1)
}

/// Lowers a fabric's patch prices until no strip column is worth more than it costs. Each time ten times as much is taken
/// off: a part of the price, and the same of what the simplex takes for nothing, which matters where strips cost nothing.
fn settle(model: &Model, costs: &Costs, fine: i128, proof: &mut Proof, f: usize) {
    let start = proof.items[f].clone();
    for digits in (3..=15).rev() {
        if holds(model, costs, fine, proof, f) {
            return;
        }
        let part = 10_i128.pow(digits);
        let noise = dearest(costs) * fine / 10_i128.pow(digits - 3);
        let less = |&price: &i128| (price - price / part - noise - 1).max(0);
        proof.items[f] = start.iter().map(less).collect();
    }
    if !holds(model, costs, fine, proof, f) {
        proof.items[f] = vec![0; start.len()];
    }
}

fn holds(model: &Model, costs: &Costs, fine: i128, proof: &Proof, f: usize) -> bool {
    let fabric = &model.fabrics[f];
    let common = model.boards.iter().fold(1, |all, board| crate::model::num_lcm(all, board.full.max(1)));
    let common = i128::from(common);
    let values: Vec<i128> = fabric
        .plies
        .iter()
        .map(|ply| {
            let gain: i128 = ply.yields.iter().map(|&(item, n)| proof.items[f][item] * i128::from(n)).sum();
            let load: i128 = ply.board.map_or(0, |b| {
                let board = &model.boards[b];
                let sum: i128 = board.bay_points[ply.bay].iter().map(|&p| proof.points[b][p]).sum();
                sum * i128::from(ply.load) * (common / i128::from(board.full))
            });
            (gain - costs.ply[f] * fine) * common - load
        })
        .collect();
    let best = best_by_class(fabric, &values);
    fabric.widths.iter().all(|&width| {
        let cost = (costs.width[f] * fine + proof.held_width[f]) * i128::from(width) + costs.strip * fine;
        best_strip(fabric, &best, width).0 <= cost * common
    })
}

impl Proof {
    /// The proof as the plan stores it; `lines` is the number of demand lines of the job.
    #[must_use]
    pub fn part(
        &self,
        model: &Model,
        lines: usize,
        fabric: Option<(usize, String)>,
        limits: &Limits,
    ) -> PartProof {
        let fraction = |n: i128| Rational { n, d: self.scale };
        let mut demand = vec![fraction(0); lines];
        for (f, data) in model.fabrics.iter().enumerate() {
            if fabric.as_ref().is_some_and(|(only, _)| *only != f) {
                continue;
            }
            for (item, price) in data.items.iter().zip(&self.items[f]) {
                if let Some(line) = item.line {
                    demand[line] = fraction(*price);
                }
            }
        }
        let held_cloth = match limits.width {
            Some(_) => {
                let d = self.scale * i128::from(model.grid);
                self.held_width.iter().map(|&n| Rational { n, d }).collect()
            }
            None => Vec::new(),
        };
        PartProof {
            fabric: fabric.map(|(_, name)| name),
            demand,
            points: self.points.iter().map(|row| row.iter().map(|&n| fraction(n)).collect()).collect(),
            held_cloth,
            held_passes: fraction(if limits.passes.is_some() { self.held_passes } else { 0 }),
            whole: Vec::new(),
            passes: Vec::new(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cases::tests::two_boards;

    /// By hand: six plies of the first patch fill one pass of the first board, at a sixth of a pass each. The simplex left a
    /// trace on the second patch, whose board costs nothing: taking it off leaves the first price next to what it was.
    #[test]
    fn a_trace_on_one_price_does_not_cost_the_others() {
        let model = two_boards([6, 6]);
        let costs = Costs { pass: 1, ..Costs::zero(1) };
        let prices = Prices {
            items: vec![vec![1.0 / 6.0, 1e-9]],
            points: vec![vec![1.0], vec![0.0]],
            held_width: vec![0.0],
            ..Prices::default()
        };
        let proof = of_prices(&model, &costs, &Limits::default(), &prices).expect("a proof");
        let millionths = proof.value * 1_000_000 / proof.scale;
        assert!((999_990..=1_000_000).contains(&millionths), "{millionths}");
    }
}
