//! One plan out of every fabric's list: all sums that a better solution can have, fabric by fabric, but for those that
//! another makes needless.

use super::gauges::Gauge;
use crate::costs::{Range, Region};
use crate::oracle::near::Near;

/// Most comparisons of sums.
const MOST_STEPS: u64 = 20_000_000;
/// Most choices in the answer.
const MOST_CHOICES: usize = 20;

/// The question.
pub(super) struct Choice<'a> {
    pub(super) gauges: &'a [Gauge],
    pub(super) region: &'a Region,
    /// Cost of a pass.
    pub(super) pass: i64,
    pub(super) lists: &'a [Vec<Near>],
    /// What no plan of a fabric costs less than, at the prices with those of load.
    pub(super) bounds: &'a [i64],
    /// How much more all plans together may cost there.
    pub(super) room: i64,
    /// Most cost of a solution.
    pub(super) most: i64,
}

/// Sums over the fabrics so far, what was chosen last, and the sums before it.
struct Sum {
    sizes: Vec<i64>,
    chosen: usize,
    before: usize,
}

impl Choice<'_> {
    /// Places in the lists of what may be better solutions, cheapest first; all of them are worse if there are none. `None`
    /// where there are too many sums.
    pub(super) fn all(&self) -> Option<Vec<Vec<usize>>> {
        let order = self.order();
        let later = self.later(&order)?;
        let mut layers = vec![vec![Sum { sizes: vec![0; 2 + self.gauges.len()], chosen: 0, before: 0 }]];
        let mut steps = 0_u64;
        for (&f, later) in order.iter().zip(&later) {
            let mut next: Vec<Sum> = Vec::new();
            for (before, sum) in layers.last()?.iter().enumerate() {
                for (chosen, near) in self.lists[f].iter().enumerate() {
                    let mut sizes: Vec<i64> = sum.sizes.iter().zip(&near.sizes).map(|(a, b)| a + b).collect();
                    sizes[0] -= self.bounds[f];
                    steps += 1;
                    if !self.may_do(&sizes, later) {
                        continue;
                    }
                    steps += next.len() as u64;
                    if next.iter().any(|known| within(&known.sizes, &sizes)) {
                        continue;
                    }
                    next.retain(|known| !within(&sizes, &known.sizes));
                    next.push(Sum { sizes, chosen, before });
                }
                if steps > MOST_STEPS {
                    return None;
                }
            }
            layers.push(next);
        }
        Some(self.read(&order, &layers))
    }

    /// Fabrics with short lists first.
    fn order(&self) -> Vec<usize> {
        let mut order: Vec<usize> = (0..self.lists.len()).collect();
        order.sort_by_key(|&f| self.lists[f].len());
        order
    }

    /// The least that the fabrics after each in the order add to every size. `None` where a list is empty.
    fn later(&self, order: &[usize]) -> Option<Vec<Vec<i64>>> {
        let mut rest = vec![0; 2 + self.gauges.len()];
        let mut later = Vec::new();
        for &f in order.iter().rev() {
            later.push(rest.clone());
            for (size, rest) in rest.iter_mut().enumerate() {
                let least = self.lists[f].iter().map(|near| near.sizes[size]).min().unwrap_or(0);
                *rest += least - if size == 0 { self.bounds[f] } else { 0 };
            }
        }
        later.reverse();
        Some(later)
    }

    /// Whether a solution that begins with such sums can cost as little as asked for and be in the region.
    fn may_do(&self, sizes: &[i64], later: &[i64]) -> bool {
        if sizes[0] + later[0] > self.room {
            return false;
        }
        self.cost(sizes, later).is_some_and(|cost| cost <= self.most)
    }

    /// What it costs at least, if the region allows for its passes.
    fn cost(&self, sizes: &[i64], later: &[i64]) -> Option<i64> {
        let mut passes: Vec<i64> = self.region.passes.iter().map(|range| range.least).collect();
        let needed = self.gauges.iter().zip(sizes[2..].iter().zip(&later[2..]));
        let needed: Vec<(&Gauge, i64)> =
            needed.map(|(gauge, (here, later))| (gauge, gauge.passes(here + later))).collect();
        for (gauge, needed) in &needed {
            if let [board] = gauge.boards[..] {
                passes[board] = passes[board].max(*needed);
            }
        }
        let few = |(&passes, range): (&i64, &Range)| range.most.is_none_or(|most| passes <= most);
        if !passes.iter().zip(&self.region.passes).all(few) {
            return None;
        }
        // What boards that share plies need beyond that, counted at the first of them.
        let mut more = vec![0; passes.len()];
        for (gauge, needed) in needed.iter().filter(|(gauge, _)| gauge.boards.len() > 1) {
            let made: i64 = gauge.boards.iter().map(|&board| passes[board]).sum();
            let most: Option<i64> = gauge.boards.iter().map(|&board| self.region.passes[board].most).sum();
            if most.is_some_and(|most| *needed > most) {
                return None;
            }
            let more = &mut more[gauge.boards[0]];
            *more = (*more).max(needed - made);
        }
        let all: i64 = passes.iter().chain(&more).sum();
        let allowed = self.region.most_passes.is_none_or(|most| all <= most);
        allowed.then(|| sizes[1] + later[1] + self.pass * all)
    }

    fn read(&self, order: &[usize], layers: &[Vec<Sum>]) -> Vec<Vec<usize>> {
        let nothing = vec![0; 2 + self.gauges.len()];
        let ends = layers.last().map_or(&[][..], Vec::as_slice);
        let mut ends: Vec<(i64, &Sum)> =
            ends.iter().filter_map(|end| Some((self.cost(&end.sizes, &nothing)?, end))).collect();
        ends.sort_by(|a, b| (a.0, &a.1.sizes).cmp(&(b.0, &b.1.sizes)));
        ends.truncate(MOST_CHOICES);
        let read = |(_, mut sum): (i64, &Sum)| {
            let mut choice = vec![0; self.lists.len()];
            for (&f, layer) in order.iter().zip(layers).rev() {
                choice[f] = sum.chosen;
                sum = &layer[sum.before];
            }
            choice
        };
        ends.into_iter().map(read).collect()
    }
}

/// Whether the first is nowhere larger.
fn within(one: &[i64], other: &[i64]) -> bool {
    one.iter().zip(other).all(|(one, other)| one <= other)
}
