//! How time grows with the number of fabrics.

/// The exponent k of `seconds = c x fabrics^k` that fits best, by least squares of the logarithms. `None` where there
/// are fewer than two numbers of fabrics.
pub(crate) fn exponent(points: &[(f64, f64)]) -> Option<f64> {
    let logs: Vec<(f64, f64)> = points.iter().map(|&(n, seconds)| (n.ln(), seconds.max(1e-6).ln())).collect();
    #[allow(clippy::cast_precision_loss, reason = "a few points")]
    let count = logs.len() as f64;
    let (x, y) = logs.iter().fold((0.0, 0.0), |sum, at| (sum.0 + at.0 / count, sum.1 + at.1 / count));
    let across: f64 = logs.iter().map(|at| (at.0 - x) * (at.0 - x)).sum();
    let both: f64 = logs.iter().map(|at| (at.0 - x) * (at.1 - y)).sum();
    (across > 0.0).then(|| both / across)
}

/// The exponent in words, and how many cases it says nothing of.
pub(crate) fn sentence(points: &[(usize, Option<f64>)]) -> String {
    #[allow(clippy::cast_precision_loss, reason = "a few hundred fabrics")]
    let reached: Vec<(f64, f64)> =
        points.iter().filter_map(|&(n, seconds)| Some((n as f64, seconds?))).collect();
    let missed = points.len() - reached.len();
    match exponent(&reached) {
        Some(exponent) => format!(
            "seconds to the gap grow as fabrics^{exponent:.2} ({} cases; {missed} did not reach it)",
            reached.len()
        ),
        None => format!("no exponent: {missed} of {} cases did not reach the gap", points.len()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: 3 n^2 has the exponent 2; a single number of fabrics has none.
    #[test]
    fn a_square_law_is_found() {
        let points: Vec<(f64, f64)> = [20.0, 50.0, 100.0].iter().map(|&n| (n, 3.0 * n * n)).collect();
        let found = exponent(&points).expect("three numbers of fabrics");
        assert!((found - 2.0).abs() < 1e-9);
        assert_eq!(exponent(&points[..1]), None);
    }
}
