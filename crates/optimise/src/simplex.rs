//! The linear programs of `minilp`, which panics where a basis comes out singular. Here that is an answer like any other
//! failure of the simplex: none. Callers then build the program afresh, or go on without it.

use std::panic::{AssertUnwindSafe, catch_unwind};

use minilp::{ComparisonOp, LinearExpr, Problem, Solution};

/// Solves a program; none where it has no solution or the simplex fails.
pub(crate) fn solved(problem: &Problem) -> Option<Solution> {
    whole(|| problem.solve())
}

/// The solution with one constraint more; none where there is none or the simplex fails.
pub(crate) fn with_row(
    solution: Solution,
    row: impl Into<LinearExpr>,
    compared: ComparisonOp,
    to: f64,
) -> Option<Solution> {
    let row = row.into();
    whole(|| solution.add_constraint(row, compared, to))
}

/// What is left behind by a panic is dropped with it, so nothing half done is seen.
fn whole(work: impl FnOnce() -> Result<Solution, minilp::Error>) -> Option<Solution> {
    catch_unwind(AssertUnwindSafe(work)).ok()?.ok()
}

#[cfg(test)]
mod tests {
    use super::*;
    use minilp::OptimizationDirection;

    #[test]
    fn a_panic_of_the_simplex_is_no_solution() {
        assert!(whole(|| panic!("singular")).is_none());
    }

    /// By hand: at most 4, then at most 3.
    #[test]
    fn a_row_more_is_kept() {
        let mut problem = Problem::new(OptimizationDirection::Maximize);
        let x = problem.add_var(1.0, (0.0, f64::INFINITY));
        problem.add_constraint([(x, 1.0)], ComparisonOp::Le, 4.0);
        let solution = solved(&problem).expect("4");
        let solution = with_row(solution, [(x, 1.0)], ComparisonOp::Le, 3.0).expect("3");
        assert!((solution.objective() - 3.0).abs() < 1e-9);
    }
}
