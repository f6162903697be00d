//! The least that a whole plan of one fabric costs: all strips that a cheaper one could have, and a shortest path over
//! what they cover, in exact integers. The argument stands in the plan crate's module on proofs.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet, BinaryHeap, HashMap};
use std::sync::{Mutex, PoisonError};

use num_rational::BigRational;
use patchlay_measure::Length;

use super::Refused;
use crate::fault::FaultCode;

/// Most steps of the search for a cover.
const MOST_STEPS: u64 = 30_000_000;
/// Most strips looked at.
const MOST_NODES: u64 = 20_000_000;
/// Most cells of the table over the length of a strip.
const MOST_CELLS: usize = 4_000_000;

/// Statements remembered at most.
const MOST_REMEMBERED: usize = 1_000;

/// All that a statement about a fabric says: capacity, items, kinds, the costs of width and strips, and the least.
type Statement = (Length, Vec<(u64, BigRational)>, Vec<Kind>, [BigRational; 3]);

/// A kind of ply of the fabric.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Kind {
    /// The (strip width, run) in which it may be cut.
    pub(super) ways: Vec<(Length, Length)>,
    /// Patches by item.
    pub(super) yields: Vec<u64>,
    /// What one costs, its load included.
    pub(super) cost: BigRational,
}

/// One fabric: what is wanted of it and what its plies and strips cost.
pub(super) struct Fabric<'a> {
    pub(super) name: &'a str,
    pub(super) capacity: Length,
    /// (patches wanted, price of one) by item.
    pub(super) items: Vec<(u64, BigRational)>,
    pub(super) kinds: Vec<Kind>,
    /// Cost of a unit of strip width.
    pub(super) width: BigRational,
    /// Cost of a strip.
    pub(super) strip: BigRational,
}

/// A kind in whole numbers on strips of one width.
#[derive(Clone, Copy)]
struct Choice {
    kind: usize,
    run: usize,
    /// Worth of its patches less its cost.
    value: i128,
    most: usize,
}

/// Everything in whole numbers.
struct Whole {
    /// Demand in counted steps.
    wanted: Vec<usize>,
    /// What a kind gives in counted steps.
    gives: Vec<Vec<usize>>,
    /// What a kind costs, and its worth less that.
    costs: Vec<(i128, i128)>,
    /// Worth of every item by counted steps.
    worth: Vec<i128>,
    /// Of a strip alone, by width.
    strips: BTreeMap<Length, i128>,
    /// What a plan may cost above the worth of the demand, and that worth.
    gap: i128,
    base: i128,
}

impl Fabric<'_> {
    /// Whether no whole plan costs less than `least`.
    pub(super) fn costs_at_least(&self, least: &BigRational) -> Result<(), Refused> {
        // The plans of a comparison state the same of the same fabric. What is remembered is the whole statement, not a
        // mark of it.
        static FOUND: Mutex<BTreeSet<Statement>> = Mutex::new(BTreeSet::new());
        let found = || FOUND.lock().unwrap_or_else(PoisonError::into_inner);
        let statement = self.statement(least);
        if found().contains(&statement) {
            return Ok(());
        }
        self.search(least)?;
        let mut found = found();
        if found.len() >= MOST_REMEMBERED {
            found.clear();
        }
        let _ = found.insert(statement);
        Ok(())
    }

    fn statement(&self, least: &BigRational) -> Statement {
        let costs = [self.width.clone(), self.strip.clone(), least.clone()];
        (self.capacity, self.items.clone(), self.kinds.clone(), costs)
    }

    fn search(&self, least: &BigRational) -> Result<(), Refused> {
        let whole = self.whole(least)?;
        if whole.gap <= 0 {
            return Ok(());
        }
        if let Some(above) = self.cheapest(&whole)? {
            let found = format!("{} of {} in {}", whole.base + above, whole.base + whole.gap, self.name);
            return Err(Refused::new(FaultCode::WholePlans, found, format!("at least {least}")));
        }
        Ok(())
    }

    fn whole(&self, least: &BigRational) -> Result<Whole, Refused> {
        let prices = self.items.iter().map(|item| &item.1).chain(self.kinds.iter().map(|kind| &kind.cost));
        let mut common = 1_u128;
        for number in prices.chain([&self.width, &self.strip, least]) {
            let denominator = u128::try_from(number.denom().clone()).map_err(|_| Refused::too_large())?;
            let rest = denominator / gcd(common, denominator);
            common = common.checked_mul(rest).ok_or_else(Refused::too_large)?;
        }
        let scale = BigRational::from_integer(common.into());
        let number = |value: &BigRational| {
            // A tenth of the range leaves room for sums.
            let whole = i128::try_from((value * &scale).to_integer()).map_err(|_| Refused::too_large())?;
            if whole.abs() > i128::MAX / 1_000_000_000_000 { Err(Refused::too_large()) } else { Ok(whole) }
        };
        let mut steps = Vec::new();
        let mut wanted = Vec::new();
        let mut worth = Vec::new();
        for (item, (needed, price)) in self.items.iter().enumerate() {
            let step = self.kinds.iter().fold(0, |step, kind| gcd(kind.yields[item], step)).max(1);
            steps.push(step);
            wanted.push(usize::try_from(needed.div_ceil(step)).map_err(|_| Refused::too_large())?);
            worth.push(number(price)?.checked_mul(step.into()).ok_or_else(Refused::too_large)?);
        }
        let mut gives = Vec::new();
        let mut costs = Vec::new();
        for kind in &self.kinds {
            let given: Vec<usize> = kind
                .yields
                .iter()
                .zip(&steps)
                .map(|(yields, step)| usize::try_from(yields / step).unwrap_or(usize::MAX))
                .collect();
            let cost = number(&kind.cost)?;
            let gain: i128 = given.iter().zip(&worth).map(|(&n, worth)| n as i128 * worth).sum();
            gives.push(given);
            costs.push((cost, gain - cost));
        }
        let mut strips = BTreeMap::new();
        for (width, _) in self.kinds.iter().flat_map(|kind| &kind.ways) {
            let cost = &self.width * BigRational::from_integer(width.units().into()) + &self.strip;
            let _ = strips.insert(*width, number(&cost)?);
        }
        let base: i128 = wanted.iter().zip(&worth).map(|(&n, worth)| n as i128 * worth).sum();
        let gap = number(least)? - base;
        Ok(Whole { wanted, gives, costs, worth, strips, gap, base })
    }

    /// By how much a whole plan is above the worth of the demand at least, if by less than the gap.
    fn cheapest(&self, whole: &Whole) -> Result<Option<i128>, Refused> {
        let mut offers: BTreeMap<Vec<usize>, i128> = BTreeMap::new();
        let mut nodes = 0;
        for (&width, &cost) in &whole.strips {
            let (choices, cells) = self.choices(whole, width)?;
            let mut best = vec![0_i128; cells + 1];
            for choice in choices.iter().filter(|choice| choice.value > 0) {
                for end in choice.run..=cells {
                    best[end] = best[end].max(best[end - choice.run] + choice.value);
                }
            }
            let mut listing = Listing {
                whole,
                choices: &choices,
                best: &best,
                cost,
                counts: vec![0; choices.len()],
                nodes: &mut nodes,
                offers: &mut offers,
            };
            listing.descend(0, cells, 0)?;
        }
        Cover::new(whole, offers.into_iter().collect()).least(whole.gap)
    }

    /// What may lie on strips of one width, and the length of a strip in common steps of the runs.
    fn choices(&self, whole: &Whole, width: Length) -> Result<(Vec<Choice>, usize), Refused> {
        let fitting: Vec<(usize, Length)> = self
            .kinds
            .iter()
            .enumerate()
            .filter_map(|(at, kind)| {
                let ways = kind.ways.iter().filter(|(least, _)| *least <= width);
                Some((at, ways.map(|(_, run)| *run).min()?))
            })
            .collect();
        let units = |length: Length| u64::try_from(length.units()).unwrap_or(0);
        let step = fitting.iter().fold(0, |step, (_, run)| gcd(units(*run), step)).max(1);
        let cells = usize::try_from(units(self.capacity) / step).unwrap_or(usize::MAX);
        if cells > MOST_CELLS {
            return Err(Refused::too_large());
        }
        let mut choices: Vec<Choice> = fitting
            .into_iter()
            .map(|(kind, run)| {
                // In a cheapest plan no ply is without use, so there are no more of a kind than its patches need.
                let useful = whole.gives[kind].iter().zip(&whole.wanted).filter(|(gives, _)| **gives > 0);
                let most = useful.map(|(gives, wanted)| wanted.div_ceil(*gives)).max().unwrap_or(0);
                let run = usize::try_from(units(run) / step).unwrap_or(usize::MAX).max(1);
                Choice { kind, run, value: whole.costs[kind].1, most }
            })
            .filter(|choice| choice.value > -whole.gap)
            .collect();
        choices.sort_by(|a, b| {
            (b.value * a.run as i128).cmp(&(a.value * b.run as i128)).then(a.kind.cmp(&b.kind))
        });
        Ok((choices, cells))
    }
}

/// Lists the strips of one width that are above their worth by less than the gap.
struct Listing<'a> {
    whole: &'a Whole,
    choices: &'a [Choice],
    /// Most worth of any filling of a length.
    best: &'a [i128],
    /// Of the strip alone.
    cost: i128,
    counts: Vec<usize>,
    nodes: &'a mut u64,
    offers: &'a mut BTreeMap<Vec<usize>, i128>,
}

impl Listing<'_> {
    fn descend(&mut self, at: usize, left: usize, worth: i128) -> Result<(), Refused> {
        *self.nodes += 1;
        if *self.nodes > MOST_NODES {
            return Err(Refused::too_large());
        }
        if self.cost - worth - self.best[left] >= self.whole.gap {
            return Ok(());
        }
        let Some(&choice) = self.choices.get(at) else {
            self.keep();
            return Ok(());
        };
        for count in (0..=choice.most.min(left / choice.run)).rev() {
            self.counts[at] = count;
            self.descend(at + 1, left - count * choice.run, worth + choice.value * count as i128)?;
        }
        self.counts[at] = 0;
        Ok(())
    }

    fn keep(&mut self) {
        let mut gives = vec![0; self.whole.wanted.len()];
        let mut cost = self.cost;
        for (choice, &count) in self.choices.iter().zip(&self.counts) {
            cost += self.whole.costs[choice.kind].0 * count as i128;
            for (gives, each) in gives.iter_mut().zip(&self.whole.gives[choice.kind]) {
                *gives += each * count;
            }
        }
        for (gives, &wanted) in gives.iter_mut().zip(&self.whole.wanted) {
            *gives = wanted.min(*gives);
        }
        if gives.iter().any(|&n| n > 0) {
            let known = self.offers.entry(gives).or_insert(cost);
            *known = cost.min(*known);
        }
    }
}

/// Strips that cover a demand: the least that a cover costs above the worth of the demand, as a shortest path over what
/// is left (Dijkstra, Numerische Mathematik 1 (1959)). What a strip costs above the worth of what it adds is the length
/// of a step. Strips come in any order, so each next one gives the first item of which something is left.
struct Cover<'a> {
    wanted: &'a [usize],
    worth: &'a [i128],
    /// (gives, cost above the worth of all that it gives), ascending by the latter.
    offers: Vec<(Vec<usize>, i128)>,
    /// Items, those that fewest strips give first, with the strips that give them.
    items: Vec<(usize, Vec<usize>)>,
}

impl<'a> Cover<'a> {
    fn new(whole: &'a Whole, offers: Vec<(Vec<usize>, i128)>) -> Self {
        let (wanted, worth) = (whole.wanted.as_slice(), whole.worth.as_slice());
        let above = |(gives, cost): (Vec<usize>, i128)| {
            let gain: i128 = gives.iter().zip(worth).map(|(&n, worth)| n as i128 * worth).sum();
            (gives, cost - gain)
        };
        let mut offers: Vec<(Vec<usize>, i128)> = offers.into_iter().map(above).collect();
        offers.sort_by(|a, b| a.1.cmp(&b.1).then_with(|| a.0.cmp(&b.0)));
        let giving = |item: usize| (0..offers.len()).filter(|&at| offers[at].0[item] > 0).collect();
        let mut items: Vec<(usize, Vec<usize>)> =
            (0..wanted.len()).filter(|&item| wanted[item] > 0).map(|item| (item, giving(item))).collect();
        items.sort_by_key(|(item, giving)| (giving.len(), *item));
        Self { wanted, worth, offers, items }
    }

    /// The least below the gap; none if every cover is above its worth by at least as much.
    fn least(&self, gap: i128) -> Result<Option<i128>, Refused> {
        // With all that is wanted left the number of the demand is the largest.
        let mut all = 1_u64;
        for &wanted in self.wanted {
            let radix = u64::try_from(wanted).ok().and_then(|wanted| wanted.checked_add(1));
            all = radix.and_then(|radix| all.checked_mul(radix)).ok_or_else(Refused::too_large)?;
        }
        let mut known: HashMap<u64, i128> = HashMap::from([(all - 1, 0)]);
        let mut near = BinaryHeap::from([Reverse((0_i128, all - 1))]);
        let mut steps = 0;
        while let Some(Reverse((far, state))) = near.pop() {
            if state == 0 {
                return Ok(Some(far));
            }
            if known.get(&state).is_some_and(|known| *known < far) {
                continue;
            }
            let left = self.left(state);
            let Some((_, giving)) = self.items.iter().find(|(item, _)| left[*item] > 0) else { continue };
            for &at in giving {
                steps += 1;
                if steps > MOST_STEPS {
                    return Err(Refused::too_large());
                }
                let (gives, above) = &self.offers[at];
                if *above < 0 {
                    let found = format!("{above} above its worth");
                    return Err(Refused::new(FaultCode::StripPrice, found, "at least 0"));
                }
                if far + above >= gap {
                    break;
                }
                let (next, wasted) = self.after(&left, gives);
                let far = far + above + wasted;
                if far < gap && known.get(&next).is_none_or(|known| far < *known) {
                    let _ = known.insert(next, far);
                    near.push(Reverse((far, next)));
                }
            }
        }
        Ok(None)
    }

    fn left(&self, mut state: u64) -> Vec<usize> {
        let digit = |&wanted: &usize| {
            let radix = wanted as u64 + 1;
            let digit = state % radix;
            state /= radix;
            usize::try_from(digit).unwrap_or(usize::MAX)
        };
        self.wanted.iter().map(digit).collect()
    }

    /// What is left after a strip, and the worth of what it gives too much.
    fn after(&self, left: &[usize], gives: &[usize]) -> (u64, i128) {
        let (mut state, mut weight, mut wasted) = (0, 1, 0);
        for (((&left, &gives), &wanted), &worth) in left.iter().zip(gives).zip(self.wanted).zip(self.worth) {
            let used = gives.min(left);
            state += (left - used) as u64 * weight;
            weight *= wanted as u64 + 1;
            wasted += (gives - used) as i128 * worth;
        }
        (state, wasted)
    }
}

fn gcd<N: Copy + Default + PartialEq + std::ops::Rem<Output = N>>(a: N, b: N) -> N {
    if b == N::default() { a } else { gcd(b, a % b) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn number(n: i64) -> BigRational {
        BigRational::from_integer(n.into())
    }

    fn length(units: i64) -> Length {
        Length::from_units(units)
    }

    /// Strips of 40 for squares of 10; nine wanted at a price of 10/4 each.
    fn nine_squares() -> Fabric<'static> {
        Fabric {
            name: "grey",
            capacity: length(40),
            items: vec![(9, BigRational::new(10.into(), 4.into()))],
            kinds: vec![Kind { ways: vec![(length(10), length(10))], yields: vec![1], cost: number(0) }],
            width: number(1),
            strip: number(0),
        }
    }

    /// By hand: four squares a strip, so nine need three strips of 10; the prices alone show 22 1/2.
    #[test]
    fn strips_come_whole() {
        assert!(nine_squares().costs_at_least(&number(22)).is_ok());
        assert!(nine_squares().costs_at_least(&number(30)).is_ok());
        assert!(nine_squares().costs_at_least(&number(31)).is_err());
    }

    /// By hand: a ply of two squares in a 10 x 15 area costs 8, one of one square 8 too: four squares in two plies of
    /// two on one strip of 10, for 26; four single ones would be 42.
    #[test]
    fn loads_count() {
        let kind = |run: i64, yields: u64| Kind {
            ways: vec![(length(10), length(run)), (length(run), length(10))],
            yields: vec![yields],
            cost: number(8),
        };
        let fabric =
            Fabric { items: vec![(4, number(5))], kinds: vec![kind(10, 1), kind(15, 2)], ..nine_squares() };
        assert!(fabric.costs_at_least(&number(26)).is_ok());
        assert!(fabric.costs_at_least(&number(27)).is_err());
    }
}
