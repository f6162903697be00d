//! Plies of every group into its slots, so that few passes take them.

use microlp::{ComparisonOp, OptimizationDirection, Problem, Variable};

use crate::kinds::Kinds;
use crate::model::Model;

/// Plies of every slot of every group, near fewest passes in all: the linear program over the slots, rounded down, and
/// what is then left of a group one by one to the slots that lost most. `None` where the simplex fails.
#[must_use]
pub fn slots(model: &Model, kinds: &Kinds, sums: &[i64]) -> Option<Vec<Vec<i64>>> {
    let mut problem = Problem::new(OptimizationDirection::Minimize);
    let mut points: Vec<Vec<Vec<(Variable, f64)>>> = Vec::new();
    for board in &model.boards {
        let passes = problem.add_var(1.0, (0.0, f64::INFINITY));
        points.push(vec![vec![(passes, -1.0)]; board.points.len()]);
    }
    let mut amounts: Vec<Vec<Variable>> = Vec::new();
    for (slots, &sum) in kinds.groups.iter().zip(sums) {
        let here: Vec<Variable> = slots.iter().map(|_| problem.add_var(0.0, (0.0, f64::INFINITY))).collect();
        let row: Vec<(Variable, f64)> = here.iter().map(|&amount| (amount, 1.0)).collect();
        problem.add_constraint(row.as_slice(), ComparisonOp::Eq, float(sum));
        for (slot, &amount) in slots.iter().zip(&here) {
            let board = &model.boards[slot.board];
            for &point in &board.bay_points[slot.bay] {
                points[slot.board][point].push((amount, float(slot.load) / float(board.full)));
            }
        }
        amounts.push(here);
    }
    for row in points.iter().flatten() {
        problem.add_constraint(row.as_slice(), ComparisonOp::Le, 0.0);
    }
    let solution = problem.solve().ok()?.into_solution().ok()?;
    let rounded = |(here, &sum): (&Vec<Variable>, &i64)| {
        let parts: Vec<f64> = here.iter().map(|&amount| solution.var_value(amount).max(0.0)).collect();
        whole(&parts, sum)
    };
    Some(amounts.iter().zip(sums).map(rounded).collect())
}

/// How many passes so many plies of every group need where they come in shares, and how many more a ply of each group
/// makes: the dual of the linear program of [`slots`].
pub(super) fn passes_of(model: &Model, kinds: &Kinds, sums: &[i64]) -> Option<(f64, Vec<f64>)> {
    let mut problem = minilp::Problem::new(minilp::OptimizationDirection::Maximize);
    let free = (0.0, f64::INFINITY);
    let groups: Vec<_> = sums.iter().map(|&sum| problem.add_var(float(sum), free)).collect();
    let boards = model.boards.iter();
    let points: Vec<Vec<_>> =
        boards.map(|board| board.points.iter().map(|_| problem.add_var(0.0, free)).collect()).collect();
    for points in points.iter().filter(|points| !points.is_empty()) {
        let row: Vec<_> = points.iter().map(|&point| (point, 1.0)).collect();
        problem.add_constraint(row.as_slice(), minilp::ComparisonOp::Le, 1.0);
    }
    for (slots, &group) in kinds.groups.iter().zip(&groups) {
        for slot in slots {
            let board = &model.boards[slot.board];
            let part = float(slot.load) / float(board.full);
            let mut row = vec![(group, 1.0)];
            row.extend(board.bay_points[slot.bay].iter().map(|&p| (points[slot.board][p], -part)));
            problem.add_constraint(row.as_slice(), minilp::ComparisonOp::Le, 0.0);
        }
    }
    let solution = crate::simplex::solved(&problem)?;
    Some((solution.objective(), groups.iter().map(|&group| solution[group].max(0.0)).collect()))
}

/// Whole numbers that add up to a sum, each near its part of it.
fn whole(parts: &[f64], sum: i64) -> Vec<i64> {
    #[allow(clippy::cast_possible_truncation, reason = "plies are few")]
    let mut whole: Vec<i64> = parts.iter().map(|part| (part + 1e-6).floor() as i64).collect();
    let mut order: Vec<usize> = (0..parts.len()).collect();
    let lost = |at: usize| parts[at] - float(whole[at]);
    order.sort_by(|&a, &b| lost(b).total_cmp(&lost(a)).then(a.cmp(&b)));
    let left = usize::try_from(sum - whole.iter().sum::<i64>()).unwrap_or(0);
    for &at in order.iter().cycle().take(if order.is_empty() { 0 } else { left }) {
        whole[at] += 1;
    }
    whole
}

#[allow(clippy::cast_precision_loss, reason = "plies are few")]
fn float(n: i64) -> f64 {
    n as f64
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::kinds::Slot;
    use crate::model::Board;

    /// By hand: twelve plies that either of two bays takes and six that only the second takes, six a pass: a pass and a
    /// half takes nine in each bay, and any other division loads one of them with more.
    #[test]
    fn loads_are_evened_out() {
        let board = Board::new(6, 2, vec![vec![0], vec![1]], Vec::new());
        let model = Model { grid: 1, fabrics: Vec::new(), boards: vec![board] };
        let slot = |bay| Slot { board: 0, bay, load: 1 };
        let kinds = Kinds { of: Vec::new(), groups: vec![vec![slot(0), slot(1)], vec![slot(1)]] };
        assert_eq!(slots(&model, &kinds, &[12, 6]), Some(vec![vec![9, 3], vec![6]]));
        // One and a half passes, and six plies more are half a pass more, whichever bays take them.
        let (passes, more) = passes_of(&model, &kinds, &[12, 6]).expect("passes");
        assert!((passes - 1.5).abs() < 1e-9);
        assert!(more.iter().all(|more| (more * 6.0 - 0.5).abs() < 1e-9));
    }

    /// By hand: the largest remainder gets the ply that rounding down loses.
    #[test]
    fn parts_keep_their_sum() {
        assert_eq!(whole(&[1.3, 2.6, 0.1], 4), vec![1, 3, 0]);
        assert_eq!(whole(&[], 0), Vec::<i64>::new());
    }
}
