//! All plans of one fabric that cost little more than its cheapest, but for those that another makes needless: one that
//! costs no more, at the prices asked and without the prices of load, and measures no more in everything that is
//! measured. Labels are set state by state over what is left to cover (Martins, European Journal of Operational Research
//! 16 (1984) 236-245). Only strips that a near plan can have are looked at (reduced-cost fixing, as in [`super`]), and
//! of those that carry less than they could only such as measure less for it.

use std::collections::BTreeMap;

use super::{Answer, Corner, FabricPlan, Floors, Oracle, Prices, Strip, Wanted, corner, to_float};
use crate::pricing::Knapsack;

/// Most strips looked at.
const MOST_NODES: u32 = 100_000;
/// Most strips that near plans can have.
const MOST_STRIPS: usize = 2_000;

/// What is asked of near plans.
pub struct Question<'a> {
    /// Prices with those of load.
    pub prices: &'a Prices,
    /// Prices without them.
    pub own: &'a Prices,
    /// What a ply of every kind adds to everything that is measured.
    pub measures: &'a [Vec<i64>],
    /// How many things are measured.
    pub measured: usize,
    /// Most cost at the prices with those of load.
    pub most: i64,
    /// Most comparisons of labels.
    pub steps: u64,
}

/// A near plan.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Near {
    /// Cost at the prices with those of load, then without them, then what it measures.
    pub sizes: Vec<i64>,
    /// The plan.
    pub plan: FabricPlan,
}

/// A strip with what it gives, and what it adds to the sizes of a plan.
struct Offer {
    strip: Strip,
    gives: Vec<usize>,
    sizes: Vec<i64>,
}

/// Whether the first is nowhere larger.
fn within(one: &[i64], other: &[i64]) -> bool {
    one.iter().zip(other).all(|(one, other)| one <= other)
}

impl Oracle<'_> {
    /// All near plans, after an answer at the same prices, or `None` where there is too much to look at.
    #[must_use]
    pub fn near(&self, asked: &Question<'_>, answer: &Answer) -> Option<Vec<Near>> {
        let wanted = self.wanted(&Floors::default());
        if self.is_idle() {
            let sizes = vec![0; 2 + asked.measured];
            return Some(vec![Near { sizes, plan: FabricPlan::default() }]);
        }
        if !self.is_searched() {
            return None;
        }
        let offers = self.near_offers(&wanted, asked, answer)?;
        let columns: Vec<corner::Column<'_>> =
            offers.iter().map(|offer| (offer.gives.as_slice(), offer.sizes[0])).collect();
        // Worths of the answer are finer than the prices; here they are rounded down.
        let worth = || answer.worth.iter().map(|worth| worth.div_euclid(answer.fine)).collect();
        let ahead = Corner::of(&columns, &wanted.counts, asked.most.saturating_add(1))
            .unwrap_or_else(|| Corner::plain(worth()));
        let start = vec![0; 2 + asked.measured];
        let (most, steps) = (asked.most, asked.steps);
        Labels { offers: &offers, ahead, wanted: &wanted.counts, most, steps }.all(start)
    }

    /// The strips that a near plan can have, none that another makes needless.
    fn near_offers(&self, wanted: &Wanted, asked: &Question<'_>, answer: &Answer) -> Option<Vec<Offer>> {
        let prices = asked.prices.times(answer.fine);
        let worth: Vec<f64> = answer.worth.iter().map(|&worth| to_float(worth)).collect();
        let all = wanted.counts.iter().zip(&answer.worth);
        let all: i64 = all.map(|(&n, worth)| i64::try_from(n).unwrap_or(i64::MAX) * worth).sum();
        // What all strips of a near plan may cost above what they are worth.
        let distance = to_float(asked.most.checked_mul(answer.fine)?.checked_sub(all)?);
        let values = self.values(wanted, &prices, &worth);
        let mut offers = BTreeMap::new();
        let mut budget = MOST_NODES;
        for &width in &self.fabric.widths {
            let least = Self::strip_alone(wanted, &prices, &worth, width) - distance;
            let kinds = self.near_kinds(&values, width, distance);
            for plies in Listing::strips(&kinds, self.fabric.capacity, least, &mut budget)? {
                let offer = self.near_offer(wanted, asked, Strip { width, plies });
                let _ = offers.entry((offer.sizes.clone(), offer.gives.clone())).or_insert(offer);
            }
            if offers.len() > MOST_STRIPS {
                return None;
            }
        }
        // They come by their sizes, so that none makes one before it needless.
        let mut kept: Vec<Offer> = Vec::new();
        for offer in offers.into_values() {
            let gives_no_less = |known: &Offer| known.gives.iter().zip(&offer.gives).all(|(a, b)| a >= b);
            if !kept.iter().any(|known| within(&known.sizes, &offer.sizes) && gives_no_less(known)) {
                kept.push(offer);
            }
        }
        Some(kept)
    }

    /// (kind, run, value) of the kinds that may lie on a strip of that width, those worth most for their length first. A ply
    /// of little worth may still be wanted: what it loses counts against the distance.
    fn near_kinds(&self, values: &[f64], width: i64, distance: f64) -> Vec<(usize, i64, f64)> {
        let run = |k: usize| self.fabric.classes[self.kinds[k].class].run_in(width);
        let near = (0..self.kinds.len()).filter(|&k| values[k] >= -distance);
        let mut kinds: Vec<(usize, i64, f64)> = near.filter_map(|k| Some((k, run(k)?, values[k]))).collect();
        let rate = |&(_, run, value): &(usize, i64, f64)| value / to_float(run.max(1));
        kinds.sort_by(|a, b| rate(b).total_cmp(&rate(a)).then(a.0.cmp(&b.0)));
        kinds
    }

    fn near_offer(&self, wanted: &Wanted, asked: &Question<'_>, mut strip: Strip) -> Offer {
        strip.plies.sort_unstable();
        let gives = self.gives(wanted, &strip);
        let gives = gives.into_iter().zip(&wanted.counts).map(|(gives, &wanted)| gives.min(wanted)).collect();
        let mut sizes = vec![asked.prices.strip(&strip), asked.own.strip(&strip)];
        sizes.resize(2 + asked.measured, 0);
        for &(k, n) in &strip.plies {
            sizes[2..].iter_mut().zip(&asked.measures[k]).for_each(|(size, each)| *size += each * n);
        }
        Offer { strip, gives, sizes }
    }
}

/// Lists the strips of one width that are worth enough, depth first, cut off where even the best filling of the rest is
/// worth too little. Worths are whole numbers below 2^53, so sums are exact.
struct Listing<'a> {
    /// Kinds with run and value, those worth most for their length first.
    kinds: &'a [(usize, i64, f64)],
    /// Best filling of every length from each kind on; the last stands for all after it.
    tables: Vec<Vec<f64>>,
    least: f64,
    budget: u32,
    plies: Vec<(usize, i64)>,
    found: Vec<Vec<(usize, i64)>>,
}

impl<'a> Listing<'a> {
    /// The plies of every strip worth at least so much; `None` where the budget is used up.
    fn strips(
        kinds: &'a [(usize, i64, f64)],
        capacity: i64,
        least: f64,
        budget: &mut u32,
    ) -> Option<Vec<Vec<(usize, i64)>>> {
        let worth_it = kinds.iter().filter(|kind| kind.2 > 0.0).count();
        let table = |from: usize| Knapsack::fill(&kinds[from..worth_it], capacity).values;
        let tables = (0..=worth_it).map(table).collect();
        let mut listing =
            Self { kinds, tables, least, budget: *budget, plies: Vec::new(), found: Vec::new() };
        listing.descend(0, capacity, 0.0);
        *budget = listing.budget;
        (listing.budget > 0).then_some(listing.found)
    }

    fn descend(&mut self, at: usize, left: i64, worth: f64) {
        if self.budget == 0 {
            return;
        }
        self.budget -= 1;
        let table = &self.tables[at.min(self.tables.len() - 1)];
        let rest = usize::try_from(left).map_or(0.0, |left| table.get(left).copied().unwrap_or(0.0));
        if worth + rest < self.least {
            return;
        }
        let Some(&(kind, run, value)) = self.kinds.get(at) else {
            if !self.plies.is_empty() {
                self.found.push(self.plies.clone());
            }
            return;
        };
        self.descend(at + 1, left, worth);
        for count in 1..=left / run.max(1) {
            self.plies.push((kind, count));
            self.descend(at + 1, left - count * run, worth + value * to_float(count));
            let _ = self.plies.pop();
        }
    }
}

/// A plan of a part of the demand: its sizes, the last strip and the label before.
struct Label {
    sizes: Vec<i64>,
    offer: usize,
    before: usize,
}

/// Labels of everything that can be left to cover.
struct Labels<'a> {
    offers: &'a [Offer],
    ahead: Corner,
    wanted: &'a [usize],
    most: i64,
    steps: u64,
}

impl Labels<'_> {
    /// What is left as one number, the first item first.
    fn code(&self, left: &[usize]) -> u64 {
        left.iter()
            .zip(self.wanted)
            .fold(0, |code, (&left, &wanted)| code * (wanted as u64 + 1) + left as u64)
    }

    fn left(&self, mut code: u64) -> Vec<usize> {
        let digits = self.wanted.iter().rev().map(|&wanted| {
            let radix = wanted as u64 + 1;
            let digit = usize::try_from(code % radix).unwrap_or(0);
            code /= radix;
            digit
        });
        let mut left: Vec<usize> = digits.collect();
        left.reverse();
        left
    }

    /// Strips may come in any order: the next one always gives the first item of which something is left. Every strip makes
    /// the number of what is left smaller, so the largest number has all its labels.
    fn all(&self, start: Vec<i64>) -> Option<Vec<Near>> {
        let mut known: Vec<Label> = Vec::new();
        let mut open: BTreeMap<u64, Vec<usize>> = BTreeMap::new();
        known.push(Label { sizes: start, offer: usize::MAX, before: usize::MAX });
        let _ = open.insert(self.code(self.wanted), vec![0]);
        let most = self.most.saturating_mul(self.ahead.scale());
        let mut steps = 0_u64;
        while let Some((code, here)) = open.pop_last() {
            if code == 0 {
                return Some(here.iter().map(|&at| self.read(&known, at)).collect());
            }
            let Some(cheapest) = here.iter().map(|&at| known[at].sizes[0]).min() else { continue };
            let left = self.left(code);
            let first = left.iter().position(|&n| n > 0).unwrap_or(0);
            for (number, offer) in self.offers.iter().enumerate().filter(|(_, offer)| offer.gives[first] > 0)
            {
                let next: Vec<usize> =
                    left.iter().zip(&offer.gives).map(|(left, gives)| left.saturating_sub(*gives)).collect();
                let to_go = self.ahead.to_go(&next);
                steps += 1;
                // What no label reaches in time needs no place.
                if (cheapest + offer.sizes[0]).saturating_mul(self.ahead.scale()).saturating_add(to_go) > most
                {
                    continue;
                }
                let there = open.entry(self.code(&next)).or_default();
                for &at in &here {
                    steps += 1 + there.len() as u64;
                    let sizes: Vec<i64> =
                        known[at].sizes.iter().zip(&offer.sizes).map(|(a, b)| a + b).collect();
                    let far = sizes[0].saturating_mul(self.ahead.scale()).saturating_add(to_go);
                    if far > most || there.iter().any(|&other| within(&known[other].sizes, &sizes)) {
                        continue;
                    }
                    there.retain(|&other| !within(&sizes, &known[other].sizes));
                    there.push(known.len());
                    known.push(Label { sizes, offer: number, before: at });
                }
            }
            if steps > self.steps {
                return None;
            }
        }
        Some(Vec::new())
    }

    fn read(&self, known: &[Label], at: usize) -> Near {
        let mut plan = FabricPlan::default();
        let mut label = &known[at];
        while let Some(offer) = self.offers.get(label.offer) {
            *plan.strips.entry(offer.strip.clone()).or_default() += 1;
            label = &known[label.before];
        }
        Near { sizes: known[at].sizes.clone(), plan }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::kinds::Kind;
    use crate::model::{Class, Fabric, Item};
    use crate::search::Random;

    /// What a strip gives and adds to the sizes.
    type Column = (Vec<usize>, Vec<i64>);

    /// Sizes of all plans of at most so much, but for those that others make needless.
    fn all(columns: &[Column], left: &[usize], sizes: &[i64], most: i64, found: &mut Vec<Vec<i64>>) {
        if left.iter().all(|&n| n == 0) {
            if !found.iter().any(|known| within(known, sizes)) {
                found.retain(|known| !within(sizes, known));
                found.push(sizes.to_vec());
            }
            return;
        }
        for (at, (gives, adds)) in columns.iter().enumerate() {
            let next: Vec<usize> = left.iter().zip(gives).map(|(left, n)| left.saturating_sub(*n)).collect();
            let sizes: Vec<i64> = sizes.iter().zip(adds).map(|(a, b)| a + b).collect();
            if sizes[0] <= most && next != left {
                all(&columns[at..], &next, &sizes, most, found);
            }
        }
    }

    /// Every list against all plans there are, over strips with every number of plies that fits.
    #[test]
    fn all_near_plans_are_listed() {
        let mut random = Random::new(11);
        let mut number = |from: i64, n: usize| from + i64::try_from(random.below(n)).expect("small");
        let mut listed = 0;
        for round in 0..60 {
            let mut fabric = Fabric { capacity: number(8, 6), ..Fabric::default() };
            let wanted = [number(1, 6).unsigned_abs(), number(1, 5).unsigned_abs()];
            fabric.items = wanted.iter().map(|&wanted| Item { line: None, wanted }).collect();
            let mut class = || {
                let (a, b) = (number(2, 3), number(3, 4));
                Class { ways: Class::undominated(vec![(a, b), (b, a)]).expect("two ways") }
            };
            fabric.classes = vec![class(), class(), class()];
            fabric.set_widths();
            let kind = |class, yields: &[(usize, u32)]| Kind {
                class,
                yields: yields.to_vec(),
                group: None,
                plies: vec![0],
            };
            let kinds = [kind(0, &[(0, 1)]), kind(1, &[(1, 1)]), kind(2, &[(0, 2), (1, 1)])];
            let own = Prices { width: 10, each: number(0, 5), plies: vec![0; 3] };
            let prices = Prices { plies: (0..3).map(|_| number(0, 30)).collect(), ..own.clone() };
            let measures: Vec<Vec<i64>> = (0..3).map(|_| vec![number(0, 3), number(0, 3)]).collect();
            let mut oracle = Oracle::new(&fabric, &kinds);
            let answer = oracle.cheapest(&prices, &Floors::default(), None, &|| false).expect("a plan");
            let most = answer.value + number(10, 50);
            let question = Question {
                prices: &prices,
                own: &own,
                measures: &measures,
                measured: 2,
                most,
                steps: 1_000_000,
            };
            let mut found: Vec<Vec<i64>> =
                oracle.near(&question, &answer).expect("a list").into_iter().map(|near| near.sizes).collect();
            found.sort();
            let mut expected = Vec::new();
            let wanted: Vec<usize> = wanted.iter().map(|&n| usize::try_from(n).expect("few")).collect();
            let columns = columns(&fabric, &prices, &own, &measures);
            all(&columns, &wanted, &[0; 4], most, &mut expected);
            expected.sort();
            assert_eq!(found, expected, "round {round}");
            listed += found.len();
        }
        assert!(listed > 100, "{listed}");
    }

    /// All strips; the third kind gives two of the first item and one of the second.
    fn columns(fabric: &Fabric, prices: &Prices, own: &Prices, measures: &[Vec<i64>]) -> Vec<Column> {
        let mut columns = Vec::new();
        for &width in &fabric.widths {
            let runs: Vec<i64> = fabric
                .classes
                .iter()
                .map(|class| class.run_in(width).unwrap_or(fabric.capacity + 1))
                .collect();
            let most = |k: usize| fabric.capacity / runs[k];
            for (a, b, c) in (0..=most(0))
                .flat_map(|a| (0..=most(1)).map(move |b| (a, b)))
                .flat_map(|(a, b)| (0..=most(2)).map(move |c| (a, b, c)))
            {
                if a * runs[0] + b * runs[1] + c * runs[2] > fabric.capacity || a + b + c == 0 {
                    continue;
                }
                let count = |n: i64| usize::try_from(n).expect("few");
                let at = |prices: &Prices| {
                    let plies = prices.plies[0] * a + prices.plies[1] * b + prices.plies[2] * c;
                    prices.width * width + prices.each + plies
                };
                let measured = (0..2).map(|m| measures[0][m] * a + measures[1][m] * b + measures[2][m] * c);
                let sizes = [at(prices), at(own)].into_iter().chain(measured).collect();
                columns.push((vec![count(a + 2 * c), count(b + c)], sizes));
            }
        }
        columns
    }
}
