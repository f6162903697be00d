//! What lies on templates that are pressed so often: a table over the places taken, design by design. For places taken
//! on all templates but the last it keeps the fewest on the last, which decides the question exactly. Prices leave out
//! what can no longer end within the places.

use super::price::Prices;
use super::{Count, Order, Outcome, Template, Work};

/// States of a table at most.
const STATES: usize = 400_000;
/// A state that no choice reaches.
const NEVER: u16 = u16::MAX;

/// The question.
pub(super) struct Fill<'a> {
    pub(super) order: &'a Order,
    /// Pressings, falling.
    pub(super) list: &'a [Count],
    /// Prices of places, one a template.
    pub(super) weights: &'a [i64],
}

/// Places for a design: what they add to the place in the table, and how many on every template.
struct Choice {
    offset: usize,
    copies: Vec<Count>,
    cost: i64,
}

/// A bound on what may be spent at given prices.
struct Purse {
    weights: Vec<i64>,
    /// Cheapest places for every design.
    each: Vec<i64>,
    /// What may be spent beyond the cheapest.
    spare: i64,
}

impl Fill<'_> {
    /// Answers it.
    pub(super) fn run(&self, work: &mut Work<'_>) -> Outcome {
        let parts = self.list.len();
        let side = usize::try_from(self.order.places).unwrap_or(usize::MAX) + 1;
        let states = (1..parts).try_fold(1_usize, |states, _| states.checked_mul(side));
        let Some(states) = states.filter(|&states| states <= STATES) else { return Outcome::Open };
        let mut prices = Prices::new(self.order);
        let mut purse = |weights: Vec<i64>| {
            let each = prices.each(self.list, &weights, work);
            let spare = self.order.places * weights.iter().sum::<i64>() - each.iter().sum::<i64>();
            Purse { weights, each, spare }
        };
        let purses = [purse(self.weights.to_vec()), purse(self.list.to_vec())];
        let mut order: Vec<usize> =
            (0..self.order.wanted.len()).filter(|&i| self.order.wanted[i] > 0).collect();
        order.sort_by_key(|&design| (std::cmp::Reverse(self.order.wanted[design]), design));
        let choices: Vec<Vec<Choice>> =
            order.iter().map(|&design| self.choices(design, side, &purses)).collect();
        let mut layers: Vec<Vec<u16>> = Vec::new();
        let mut layer = vec![NEVER; states];
        layer[0] = 0;
        let mut paid = vec![0; purses.len()];
        for (at, choices) in choices.iter().enumerate() {
            if !work.goes_on() {
                return Outcome::Open;
            }
            paid.iter_mut().zip(&purses).for_each(|(paid, purse)| *paid += purse.each[order[at]]);
            let next = self.next(&layer, choices, side, (&paid, &purses), work);
            layers.push(std::mem::replace(&mut layer, next));
        }
        match layer.iter().position(|&last| last != NEVER) {
            Some(end) => Outcome::Found(self.back(&layers, &choices, &order, (end, layer[end]))),
            None => Outcome::None,
        }
    }

    /// Choices for a design of which no place can be left out, and that the purses pay for.
    fn choices(&self, design: usize, side: usize, purses: &[Purse]) -> Vec<Choice> {
        let mut all = Vec::new();
        self.extend(self.order.wanted[design], &mut Vec::new(), &mut |copies| {
            let cost =
                |purse: &Purse| copies.iter().zip(&purse.weights).map(|(n, weight)| n * weight).sum::<i64>();
            if purses.iter().all(|purse| cost(purse) - purse.each[design] <= purse.spare) {
                let offset = copies[..copies.len() - 1]
                    .iter()
                    .rev()
                    .fold(0, |offset, &n| offset * side + usize::try_from(n).unwrap_or(0));
                all.push(Choice { offset, copies: copies.to_vec(), cost: cost(&purses[0]) });
            }
        });
        all.sort_by(|one, other| one.cost.cmp(&other.cost).then_with(|| one.copies.cmp(&other.copies)));
        all
    }

    fn extend(&self, left: Count, copies: &mut Vec<Count>, found: &mut dyn FnMut(&[Count])) {
        let at = copies.len();
        if at == self.list.len() {
            let surplus = -left;
            let spare = |(&n, &times): (&Count, &Count)| n == 0 || times > surplus;
            if left <= 0 && copies.iter().zip(self.list).all(spare) {
                found(copies);
            }
            return;
        }
        let need = if left > 0 { (left - 1) / self.list[at] + 1 } else { 0 };
        let from = if at + 1 == self.list.len() { need } else { 0 };
        for n in from..=need.min(self.order.places) {
            copies.push(n);
            self.extend(left - n * self.list[at], copies, found);
            let _ = copies.pop();
        }
    }

    /// The table after one more design.
    fn next(
        &self,
        layer: &[u16],
        choices: &[Choice],
        side: usize,
        (paid, purses): (&[i64], &[Purse]),
        work: &mut Work<'_>,
    ) -> Vec<u16> {
        let parts = self.list.len();
        let mut next = vec![NEVER; layer.len()];
        let mut taken = vec![0; parts];
        let mut steps = layer.len();
        for (state, &last) in layer.iter().enumerate().filter(|(_, last)| **last != NEVER) {
            decode(state, last, side, &mut taken);
            steps += choices.len();
            for choice in choices {
                if (0..parts).any(|j| taken[j] + choice.copies[j] > self.order.places) {
                    continue;
                }
                let spent = |purse: &Purse| -> i64 {
                    (0..parts).map(|j| (taken[j] + choice.copies[j]) * purse.weights[j]).sum()
                };
                if purses.iter().zip(paid).any(|(purse, paid)| spent(purse) - paid > purse.spare) {
                    continue;
                }
                let value = last + u16::try_from(choice.copies[parts - 1]).unwrap_or(NEVER - last);
                let cell = &mut next[state + choice.offset];
                *cell = (*cell).min(value);
            }
        }
        work.done(steps);
        next
    }

    /// The templates that end so.
    fn back(
        &self,
        layers: &[Vec<u16>],
        choices: &[Vec<Choice>],
        order: &[usize],
        (mut state, mut last): (usize, u16),
    ) -> Vec<Template> {
        let mut templates: Vec<Template> = self
            .list
            .iter()
            .map(|&pressings| Template { pressings, copies: vec![0; self.order.wanted.len()] })
            .collect();
        let side = usize::try_from(self.order.places).unwrap_or(0) + 1;
        let parts = self.list.len();
        let mut taken = vec![0; parts];
        for (at, layer) in layers.iter().enumerate().rev() {
            decode(state, last, side, &mut taken);
            let came = choices[at].iter().find(|choice| {
                (0..parts).all(|j| taken[j] >= choice.copies[j])
                    && Count::from(layer[state - choice.offset]) + choice.copies[parts - 1]
                        == Count::from(last)
            });
            let Some(choice) = came else { break };
            for (template, &copies) in templates.iter_mut().zip(&choice.copies) {
                template.copies[order[at]] = copies;
            }
            state -= choice.offset;
            last = layer[state];
        }
        templates
    }
}

/// Places taken on every template.
fn decode(state: usize, last: u16, side: usize, taken: &mut [Count]) {
    let mut rest = state;
    let parts = taken.len();
    for places in &mut taken[..parts - 1] {
        *places = Count::try_from(rest % side).unwrap_or(0);
        rest /= side;
    }
    taken[parts - 1] = Count::from(last);
}
