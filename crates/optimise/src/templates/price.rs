//! Refutes lists of pressings by prices of places: where even the cheapest places for every design cost more than all
//! places together, the templates cannot hold them. Any prices that are not negative will do; better ones are found by
//! steps towards what is overfull (Held, Wolfe and Crowder, Mathematical Programming 6 (1974), from memory).

use super::{Count, Order, Work};

/// Steps towards better prices.
const STEPS: u32 = 40;
/// Prices are whole numbers of about this size.
const SCALE: i64 = 1 << 20;

/// What prices say of a list of pressings.
pub(super) enum Verdict {
    /// It cannot be.
    Refuted,
    /// It may be.
    Open {
        /// Cheapest places for every design, as a part of what all places cost: at most 1.
        load: f64,
        /// The prices that say so.
        weights: Vec<i64>,
    },
}

/// Tables for the cheapest places of every design.
pub(super) struct Prices<'a> {
    order: &'a Order,
    most: usize,
    /// By pieces wanted: cost, and the template whose place was added last.
    costs: Vec<(i64, usize)>,
}

impl<'a> Prices<'a> {
    pub(super) fn new(order: &'a Order) -> Self {
        let most =
            order.wanted.iter().copied().max().and_then(|most| usize::try_from(most).ok()).unwrap_or(0);
        Self { order, most, costs: vec![(0, 0); most + 1] }
    }

    /// Cost of the cheapest places that yield so many pieces, for all numbers of pieces.
    fn fill(&mut self, list: &[Count], weights: &[i64], work: &mut Work<'_>) {
        work.done(self.most * list.len());
        let steps: Vec<usize> =
            list.iter().map(|&times| usize::try_from(times).unwrap_or(usize::MAX)).collect();
        for pieces in 1..=self.most {
            let with = |j: usize| (weights[j] + self.costs[pieces.saturating_sub(steps[j])].0, j);
            self.costs[pieces] = (0..steps.len()).map(with).min().unwrap_or((0, 0));
        }
    }

    /// Cheapest places of that many pieces; `costs` must be filled.
    pub(super) fn cost(&self, pieces: Count) -> i64 {
        self.costs[usize::try_from(pieces).unwrap_or(0).min(self.most)].0
    }

    /// Places taken on every template by the cheapest choice.
    fn taken(&self, list: &[Count]) -> Vec<i64> {
        let mut taken = vec![0; list.len()];
        for &count in &self.order.wanted {
            let mut pieces = count;
            while pieces > 0 {
                let j = self.costs[usize::try_from(pieces).unwrap_or(0)].1;
                taken[j] += 1;
                pieces -= list[j];
            }
        }
        taken
    }

    /// Tries prices; a list is refuted by the first that do.
    pub(super) fn judge(&mut self, list: &[Count], work: &mut Work<'_>) -> Verdict {
        let sum: Count = list.iter().sum::<Count>().max(1);
        // A place is first worth what it yields.
        let mut weights: Vec<i64> = list.iter().map(|&times| times * SCALE / sum).collect();
        let mut best: Option<(f64, Vec<i64>)> = None;
        for step in 0..STEPS {
            self.fill(list, &weights, work);
            let need: i64 = self.order.wanted.iter().map(|&count| self.cost(count)).sum();
            let have = self.order.places * weights.iter().sum::<i64>();
            if need > have {
                return Verdict::Refuted;
            }
            #[allow(clippy::cast_precision_loss, reason = "only an order of trial")]
            let load = need as f64 / have.max(1) as f64;
            if best.as_ref().is_none_or(|best| load > best.0) {
                best = Some((load, weights.clone()));
            }
            let taken = self.taken(list);
            for (j, weight) in weights.iter_mut().enumerate() {
                let over = (taken[j] - self.order.places).clamp(-self.order.places, 2 * self.order.places);
                let change = (*weight).max(64) * over / (self.order.places * (4 + i64::from(step)));
                *weight = (*weight + change).max(1);
            }
        }
        best.map_or(Verdict::Refuted, |(load, weights)| Verdict::Open { load, weights })
    }

    /// Cheapest places for every design at these prices.
    pub(super) fn each(&mut self, list: &[Count], weights: &[i64], work: &mut Work<'_>) -> Vec<i64> {
        self.fill(list, weights, work);
        self.order.wanted.iter().map(|&count| self.cost(count)).collect()
    }
}
