//! Whole cutting plans of one fabric where there are too many items for the oracle's table: diving. The linear program
//! over strips is solved by column generation for what is still wanted, strips that it uses whole are fixed, else the
//! one it uses most, and so on until nothing is wanted. Columns are generated anew for each remainder, so the strips
//! fit it (Belov and Scheithauer, European Journal of Operational Research 141 (2002); Sadykov, Vanderbeck, Pessoa,
//! Tahiri and Uchoa, INFORMS Journal on Computing 31 (2019)). Then a neighbourhood search takes some strips out of the
//! best plan and dives again for what they carried.

use std::collections::BTreeMap;

use minilp::{ComparisonOp, OptimizationDirection, Problem};

use crate::integer::{Found, IntegerModel, Relation};
use crate::kinds::Kind;
use crate::listen::Stop;
use crate::model::{Fabric, num_gcd};
use crate::oracle::{FabricPlan, Prices, Strip};
use crate::pricing::{Bounded, Choice};
use crate::search::Random;
use crate::simplex;
use crate::two_stage::beam;

/// A strip with what it gives (in the oracle's counted steps).
#[derive(Clone, Debug)]
struct Column {
    strip: Strip,
    gives: Vec<usize>,
    cost: f64,
}

/// The linear program's answer for a remainder.
struct Relaxed {
    value: f64,
    /// Worth of a patch of every item.
    worth: Vec<f64>,
    /// (column of the pool, how often), only those used.
    uses: Vec<(usize, f64)>,
}

/// What an integer program says of a plan at hand (in floating point: a guide for the search, not a proof).
enum Exact {
    /// Here is a cheaper one.
    Better(FabricPlan),
    /// There is none.
    NoBetter,
    /// Too large, or not searched to the end.
    Unknown,
}

/// How far to dive.
pub struct Reach<'a> {
    /// Dives in all.
    pub dives: u32,
    /// Chains of dives without a better plan before it ends.
    pub chains: u32,
    /// Seed of the neighbourhood search.
    pub seed: u64,
    /// Asked between linear programs.
    pub stop: Stop<'a>,
}

/// Dives for plans of one fabric at given prices.
pub struct Diver<'a> {
    fabric: &'a Fabric,
    kinds: &'a [Kind],
    steps: &'a [u64],
    prices: &'a Prices,
    scale: f64,
    /// All costs of strips are multiples of this.
    step: i64,
    pool: Vec<Column>,
    known: BTreeMap<Strip, usize>,
    /// Worth of a patch of every item in the last linear program that wanted it.
    last: Vec<f64>,
    /// Columns of one ply each, which keep every linear program bounded.
    singles: usize,
}

/// Columns of the pool that a linear program starts from, for every item wanted.
const START_PER_ITEM: usize = 2;
/// Columns added after each pricing at most.
const MOST_FRESH: usize = 12;
/// Dives without a better plan after which a chain starts anew.
const CHAIN_PATIENCE: u32 = 150;
/// Nodes of the integer programs over a part of the plan, and over all of it when a chain ends.
const PART_NODES: u64 = 300;
const WHOLE_NODES: u64 = 3000;
/// Most strips taken out of a plan at once.
const MOST_OUT: usize = 20;
/// Strips of the pool in a beam search for a part of a plan, states that it keeps of those with about as much left, and
/// how finely it tells these apart.
const MOST_OF_POOL: usize = 200;
const BEAM: usize = 20;
const LEVELS_PER_STRIP: f64 = 3.0;
/// Attempts at a part of a plan for every dive among them.
const TRIES_PER_DIVE: u32 = 12;
/// Strips still to come for every strip fixed in one step.
const STRIPS_PER_STEP: f64 = 12.0;
/// Most strips of an integer program over what was taken out.
const MOST_LISTED: usize = 3000;
/// Most pricings of one linear program: what is left undone only costs quality.
const MOST_ROUNDS: usize = 400;

impl<'a> Diver<'a> {
    /// For a fabric, its kinds, and the patches by which each item is counted.
    #[must_use]
    pub fn new(fabric: &'a Fabric, kinds: &'a [Kind], steps: &'a [u64], prices: &'a Prices) -> Self {
        let widest = fabric.widths.last().copied().unwrap_or(1);
        let dearest = prices.plies.iter().copied().max().unwrap_or(0);
        let scale = float(prices.width * widest + prices.each).max(float(dearest)).max(1.0);
        let strips = fabric.widths.iter().map(|&width| prices.width * width + prices.each);
        let step = strips.chain(prices.plies.iter().copied()).fold(0, num_gcd).max(1);
        let mut diver = Self {
            fabric,
            kinds,
            steps,
            prices,
            scale,
            step,
            pool: Vec::new(),
            known: BTreeMap::new(),
            singles: 0,
            last: vec![0.0; steps.len()],
        };
        for (k, kind) in kinds.iter().enumerate() {
            if let Some(&(width, _)) = fabric.classes[kind.class].ways.first() {
                let _ = diver.learn(Strip { width, plies: vec![(k, 1)] });
            }
        }
        diver.singles = diver.pool.len();
        diver
    }

    /// Adds a strip to the pool unless it is there; its place.
    pub fn learn(&mut self, strip: Strip) -> usize {
        if let Some(&index) = self.known.get(&strip) {
            return index;
        }
        let gives = gives(&strip, self.kinds, self.steps);
        let cost = float(self.prices.strip(&strip)) / self.scale;
        let index = self.pool.len();
        let _ = self.known.insert(strip.clone(), index);
        self.pool.push(Column { strip, gives, cost });
        index
    }

    /// The strips of the pool, in the order in which they were learnt.
    pub fn strips(&self) -> impl Iterator<Item = &Strip> {
        self.pool.iter().map(|column| &column.strip)
    }

    /// The best plan found from `start`, if any.
    #[must_use]
    pub fn best(
        &mut self,
        wanted: &[usize],
        start: Option<FabricPlan>,
        reach: &Reach<'_>,
    ) -> Option<FabricPlan> {
        let mut random = Random::new(reach.seed);
        let mut best = start.map(|plan| (plan.cost(self.prices), plan));
        // A chain starts from a whole dive and goes on by taking strips out of its own plan.
        let mut chain: Option<(i64, FabricPlan)> = None;
        let (mut since, mut idle) = (0, 0);
        for dive in 0..reach.dives {
            if (reach.stop)() {
                break;
            }
            let chance = (dive > 0).then_some(&mut random);
            let next = match &chain {
                None => self.dive(FabricPlan::default(), wanted.to_vec(), i64::MAX, chance, reach.stop),
                Some((cost, _)) if since == 0 || since == CHAIN_PATIENCE => {
                    let nodes = if since == 0 { PART_NODES } else { WHOLE_NODES };
                    match self.exactly(wanted, *cost, nodes) {
                        Exact::Better(plan) => Some(plan),
                        Exact::NoBetter if best.as_ref().is_none_or(|best| cost <= &best.0) => {
                            return chain.map(|chain| chain.1);
                        }
                        Exact::NoBetter | Exact::Unknown => None,
                    }
                }
                Some((cost, plan)) => {
                    let (kept, left) = self.keep_some(plan, wanted, &mut random);
                    if since.is_multiple_of(4) {
                        let spent = kept.cost(self.prices);
                        match self.exactly(&left, cost - spent, PART_NODES) {
                            Exact::Better(rest) => Some(kept.and(rest)),
                            Exact::NoBetter | Exact::Unknown => None,
                        }
                    } else {
                        self.dive(kept, left, *cost, Some(&mut random), reach.stop)
                    }
                }
            };
            since += 1;
            if let Some(plan) = next {
                let cost = plan.cost(self.prices);
                if chain.as_ref().is_none_or(|chain| cost < chain.0) {
                    since = 0;
                }
                if best.as_ref().is_none_or(|best| cost < best.0) {
                    best = Some((cost, plan.clone()));
                    idle = 0;
                }
                if chain.as_ref().is_none_or(|chain| cost <= chain.0) {
                    chain = Some((cost, plan));
                }
            }
            if since > CHAIN_PATIENCE {
                (chain, since) = (None, 0);
                idle += 1;
                if idle >= reach.chains {
                    break;
                }
            }
        }
        best.map(|best| best.1)
    }

    /// A plan that begins with the strips of `kept`: a dive for what they leave. `None` if it fails or is stopped.
    #[must_use]
    pub fn completed(&mut self, wanted: &[usize], kept: FabricPlan, stop: Stop<'_>) -> Option<FabricPlan> {
        let mut left = wanted.to_vec();
        for (strip, &n) in &kept.strips {
            take(&mut left, &gives(strip, self.kinds, self.steps), n);
        }
        self.dive(kept, left, i64::MAX, None, stop)
    }

    /// A plan at most as dear: some strips are taken out again and again and better ones of the pool put in by a beam
    /// search, now and then by a dive, which brings new strips into the pool.
    #[must_use]
    pub fn improved(&mut self, wanted: &[usize], mut plan: FabricPlan, reach: &Reach<'_>) -> FabricPlan {
        let mut random = Random::new(reach.seed);
        let mut cost = plan.cost(self.prices);
        for at in 0..reach.dives {
            if (reach.stop)() {
                break;
            }
            let (kept, left) = self.keep_some(&plan, wanted, &mut random);
            let next = if at % TRIES_PER_DIVE == 0 {
                self.dive(kept, left, cost, Some(&mut random), reach.stop)
            } else {
                self.of_pool(&left, cost - kept.cost(self.prices)).map(|rest| kept.and(rest))
            };
            if let Some(next) = next.filter(|next| next.cost(self.prices) <= cost) {
                cost = next.cost(self.prices);
                plan = next;
            }
        }
        plan
    }

    /// Part of a plan, and what the rest of it must still give.
    fn keep_some(
        &self,
        plan: &FabricPlan,
        wanted: &[usize],
        random: &mut Random,
    ) -> (FabricPlan, Vec<usize>) {
        let mut strips: Vec<&Strip> = plan
            .strips
            .iter()
            .flat_map(|(strip, &n)| std::iter::repeat_n(strip, usize::try_from(n).unwrap_or(0)))
            .collect();
        // Take out between a sixth and two thirds: any, or those next to each other by width.
        let most = (strips.len() * 2 / 3).clamp(2, MOST_OUT);
        let least = (strips.len() / 6).max(2).min(most);
        let out = least + random.below(most - least + 1);
        if random.below(2) == 0 {
            let first = random.below(strips.len());
            strips.rotate_left(first);
        } else {
            for at in (1..strips.len()).rev() {
                strips.swap(at, random.below(at + 1));
            }
        }
        let mut kept = FabricPlan::default();
        let mut left = wanted.to_vec();
        for strip in strips.into_iter().skip(out) {
            *kept.strips.entry(strip.clone()).or_default() += 1;
            take(&mut left, &gives(strip, self.kinds, self.steps), 1);
        }
        (kept, left)
    }

    /// One dive: `kept` and strips for what is `left`, at most as dear as `limit`.
    fn dive(
        &mut self,
        mut kept: FabricPlan,
        mut left: Vec<usize>,
        limit: i64,
        mut chance: Option<&mut Random>,
        stop: Stop<'_>,
    ) -> Option<FabricPlan> {
        let mut spent = kept.cost(self.prices);
        while left.iter().any(|&n| n > 0) {
            if stop() {
                return None;
            }
            let relaxed = self.relax(&left)?;
            // Costs are whole: a plan from here costs at least the program's value, rounded up.
            let rest = relaxed.value * self.scale;
            if limit < i64::MAX && float(spent) + rest > float(limit) + 0.5 {
                return None;
            }
            let mut fixed = false;
            for &(column, use_) in &relaxed.uses {
                #[allow(clippy::cast_possible_truncation, reason = "strips of a plan are few")]
                let whole = (use_ + 1e-6).floor() as i64;
                if whole > 0 {
                    spent += self.fix(column, whole, &mut kept, &mut left);
                    fixed = true;
                }
            }
            if !fixed {
                let column = choose(&relaxed.uses, chance.as_deref_mut())?;
                spent += self.fix(column, 1, &mut kept, &mut left);
                // Where many strips are still to come, some more in one go: a linear program for each would take long.
                let to_come: f64 = relaxed.uses.iter().map(|used| used.1).sum();
                let more = (to_come / STRIPS_PER_STEP).floor();
                let mut order = relaxed.uses;
                order.retain(|&(other, use_)| other != column && use_ > 0.5);
                order.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
                let mut done = 0.0;
                for (other, _) in order {
                    let gives = &self.pool[other].gives;
                    if done < more && gives.iter().zip(&left).all(|(gives, left)| gives <= left) {
                        spent += self.fix(other, 1, &mut kept, &mut left);
                        done += 1.0;
                    }
                }
            }
        }
        Some(kept)
    }

    /// The best strips for what is `left`, if there are some that cost less than `limit`: an integer program over all
    /// strips that such a plan can have.
    fn exactly(&mut self, left: &[usize], limit: i64, nodes: u64) -> Exact {
        let Some(relaxed) = self.relax(left) else { return Exact::Unknown };
        let most: Vec<i64> = self.kinds.iter().map(|kind| self.needed(kind, left)).collect();
        let gap = float(limit - self.step) / self.scale - relaxed.value;
        if gap < -1e-7 {
            return Exact::NoBetter;
        }
        let Some(strips) = self.near(&relaxed.worth, &most, gap + 1e-6, MOST_LISTED) else {
            return Exact::Unknown;
        };
        let program = self.program(&strips, left, limit - self.step);
        match program.solve(nodes, None, None) {
            Found::Point { values, .. } => {
                let used = strips.into_iter().zip(values).filter(|(_, n)| *n > 0);
                Exact::Better(FabricPlan { strips: used.collect() })
            }
            Found::Infeasible => Exact::NoBetter,
            Found::Nothing => Exact::Unknown,
        }
    }

    /// Strips of the pool for what is `left` that cost no more than `limit`, by a beam search over those nearest to their
    /// worth.
    fn of_pool(&mut self, left: &[usize], limit: i64) -> Option<FabricPlan> {
        let relaxed = self.relax(left)?;
        let room = float(limit) / self.scale - relaxed.value + 1e-9;
        let most: Vec<i64> = self.kinds.iter().map(|kind| self.needed(kind, left)).collect();
        let suits = |column: &Column| column.strip.plies.iter().all(|&(k, n)| n <= most[k]);
        let above = |column: &Column| column.cost - self.worth(column, &relaxed.worth);
        let suiting = self.pool.iter().enumerate().filter(|(_, column)| suits(column));
        let near = suiting.map(|(index, column)| (above(column), index));
        let mut near: Vec<(f64, usize)> = near.filter(|near| near.0 <= room).collect();
        near.sort_by(|a, b| a.0.total_cmp(&b.0).then(b.1.cmp(&a.1)));
        near.truncate(MOST_OF_POOL);
        let columns = near.iter().map(|&(above, index)| (self.pool[index].gives.as_slice(), above));
        let strips: f64 = relaxed.uses.iter().map(|used| used.1).sum();
        #[allow(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "strips of a plan are few"
        )]
        let levels = (strips * LEVELS_PER_STRIP).ceil() as usize;
        let reach = beam::Reach { room, kept: BEAM, levels };
        let used = beam::cover(&columns.collect::<Vec<_>>(), left, &relaxed.worth, reach)?;
        let strips = used.into_iter().map(|(at, n)| (self.pool[near[at].1].strip.clone(), n));
        Some(FabricPlan { strips: strips.collect() })
    }

    /// The integer program over these strips for what is `left`, at no more than `limit`.
    fn program(&self, strips: &[Strip], left: &[usize], limit: i64) -> IntegerModel {
        let mut program = IntegerModel::default();
        for strip in strips {
            let _ = program.variable(self.prices.strip(strip) / self.step, 0, 1000);
        }
        let given: Vec<Vec<usize>> =
            strips.iter().map(|strip| gives(strip, self.kinds, self.steps)).collect();
        let count = |n: usize| i64::try_from(n).unwrap_or(i64::MAX);
        for (item, &n) in left.iter().enumerate().filter(|(_, n)| **n > 0) {
            let terms: Vec<(usize, i64)> =
                given.iter().enumerate().map(|(v, gives)| (v, count(gives[item]))).collect();
            program.row(terms, Relation::AtLeast, count(n));
        }
        let everything = strips.iter().enumerate();
        let everything = everything.map(|(v, strip)| (v, self.prices.strip(strip) / self.step));
        program.row(everything, Relation::AtMost, limit / self.step);
        program
    }

    /// All strips that cost at most `gap` more than what they give is worth, none that another makes useless; none at
    /// all if there are more than so many.
    fn near(&self, worth: &[f64], most: &[i64], gap: f64, at_most: usize) -> Option<Vec<Strip>> {
        let mut found = Vec::new();
        let mut narrower: Option<i64> = None;
        for &width in &self.fabric.widths {
            let mut choices: Vec<Choice> = Vec::new();
            for (k, kind) in self.kinds.iter().enumerate().filter(|(k, _)| most[*k] > 0) {
                if let Some(run) = self.fabric.classes[kind.class].run_in(width) {
                    let value = self.value(k, worth);
                    choices.push(Choice { what: k, width, run, value, most: most[k] });
                }
            }
            choices.retain(|choice| choice.value > -gap);
            choices.sort_by(|a, b| {
                (b.value * float(a.run)).total_cmp(&(a.value * float(b.run))).then(a.what.cmp(&b.what))
            });
            let cost = float(self.prices.width * width + self.prices.each) / self.scale;
            let mut listing = Near {
                diver: self,
                width,
                narrower,
                rest: rest_tables(&choices, self.fabric.capacity),
                choices: &choices,
                least: cost - gap,
                counts: vec![0; choices.len()],
                budget: 200_000,
                at_most,
                found: &mut found,
            };
            listing.descend(0, self.fabric.capacity, 0.0);
            if listing.budget == 0 || found.len() > at_most {
                return None;
            }
            narrower = Some(width);
        }
        Some(found)
    }

    /// Worth of a ply of a kind above its price.
    fn value(&self, k: usize, worth: &[f64]) -> f64 {
        #[allow(clippy::cast_precision_loss, reason = "patches of a ply are few")]
        let gain = |&(item, n): &(usize, u32)| worth[item] * (u64::from(n) / self.steps[item]) as f64;
        self.kinds[k].yields.iter().map(gain).sum::<f64>() - float(self.prices.plies[k]) / self.scale
    }

    fn fix(&self, column: usize, count: i64, kept: &mut FabricPlan, left: &mut [usize]) -> i64 {
        let column = &self.pool[column];
        *kept.strips.entry(column.strip.clone()).or_default() += count;
        take(left, &column.gives, count);
        self.prices.strip(&column.strip) * count
    }

    /// The linear program over strips that give no more than what is left (rounded up to whole plies).
    fn relax(&mut self, left: &[usize]) -> Option<Relaxed> {
        let mut problem = Problem::new(OptimizationDirection::Maximize);
        #[allow(clippy::cast_precision_loss, reason = "demands are small")]
        let worth: Vec<Option<minilp::Variable>> =
            left.iter().map(|&n| (n > 0).then(|| problem.add_var(n as f64, (0.0, f64::INFINITY)))).collect();
        let row = |gives: &[usize]| -> Vec<(minilp::Variable, f64)> {
            #[allow(clippy::cast_precision_loss, reason = "patches of a strip are few")]
            let terms =
                worth.iter().zip(gives).filter_map(|(v, &n)| v.filter(|_| n > 0).map(|v| (v, n as f64)));
            terms.collect()
        };
        let most: Vec<i64> = self.kinds.iter().map(|kind| self.needed(kind, left)).collect();
        let mut rows: Vec<usize> = self.start(left, &most);
        for &column in &rows {
            let column = &self.pool[column];
            problem.add_constraint(row(&column.gives).as_slice(), ComparisonOp::Le, column.cost);
        }
        let mut solution = simplex::solved(&problem)?;
        let mut inside: std::collections::BTreeSet<usize> = rows.iter().copied().collect();
        let mut at: Vec<f64> = Vec::new();
        for _ in 0..MOST_ROUNDS {
            at = worth.iter().map(|v| v.map_or(0.0, |v| solution.var_value(v).max(0.0))).collect();
            let fresh = self.violated(&at, &most);
            let mut added = false;
            for strip in fresh {
                let index = self.learn(strip);
                if inside.insert(index) {
                    let column = &self.pool[index];
                    rows.push(index);
                    let row = row(&column.gives);
                    solution = simplex::with_row(solution, row.as_slice(), ComparisonOp::Le, column.cost)?;
                    added = true;
                }
            }
            if !added {
                break;
            }
        }
        let value = solution.objective();
        for ((last, &at), _) in self.last.iter_mut().zip(&at).zip(left).filter(|(_, left)| **left > 0) {
            *last = at;
        }
        let tight: Vec<usize> = rows
            .into_iter()
            .filter(|&index| {
                let column = &self.pool[index];
                column.cost - self.worth(column, &at) < 1e-7
            })
            .collect();
        let uses = self.primal(&tight, left)?;
        Some(Relaxed { value, worth: at, uses })
    }

    /// How often the linear program uses each of the columns that cost what they are worth.
    fn primal(&self, tight: &[usize], left: &[usize]) -> Option<Vec<(usize, f64)>> {
        use microlp::{ComparisonOp, OptimizationDirection, Problem};
        let mut problem = Problem::new(OptimizationDirection::Minimize);
        let vars: Vec<_> =
            tight.iter().map(|&index| problem.add_var(self.pool[index].cost, (0.0, f64::INFINITY))).collect();
        #[allow(clippy::cast_precision_loss, reason = "demands are small")]
        for (item, &n) in left.iter().enumerate().filter(|(_, n)| **n > 0) {
            let of = |(&v, &index): (&microlp::Variable, &usize)| {
                let given = self.pool[index].gives[item];
                (given > 0).then_some((v, given as f64))
            };
            let terms: Vec<_> = vars.iter().zip(tight).filter_map(of).collect();
            problem.add_constraint(terms.as_slice(), ComparisonOp::Ge, n as f64);
        }
        let solution = problem.solve().ok()?.into_solution().ok()?;
        let uses = vars.iter().zip(tight).map(|(&v, &index)| (index, solution.var_value(v)));
        Some(uses.filter(|(_, use_)| *use_ > 1e-6).collect())
    }

    /// Columns to start from: the single plies, and of the others those that suit what is left and waste least.
    fn start(&self, left: &[usize], most: &[i64]) -> Vec<usize> {
        let wanted = left.iter().filter(|n| **n > 0).count();
        let mut rows: Vec<usize> = (0..self.singles)
            .filter(|&index| self.pool[index].strip.plies.iter().all(|&(k, _)| most[k] > 0))
            .collect();
        let suits = |column: &Column| column.strip.plies.iter().all(|&(k, n)| n <= most[k]);
        let mut others: Vec<(f64, usize)> = (self.singles..self.pool.len())
            .filter(|&index| suits(&self.pool[index]))
            .map(|index| (self.pool[index].cost - self.worth(&self.pool[index], &self.last), index))
            .collect();
        others.sort_by(|a, b| a.0.total_cmp(&b.0).then(b.1.cmp(&a.1)));
        others.truncate(START_PER_ITEM * wanted);
        rows.extend(others.into_iter().map(|other| other.1));
        rows
    }

    /// Plies of a kind that can be of use for what is left.
    fn needed(&self, kind: &Kind, left: &[usize]) -> i64 {
        let of = |&(item, n): &(usize, u32)| {
            let each = usize::try_from(u64::from(n) / self.steps[item]).unwrap_or(1).max(1);
            left[item].div_ceil(each)
        };
        i64::try_from(kind.yields.iter().map(of).max().unwrap_or(0)).unwrap_or(i64::MAX)
    }

    #[allow(clippy::cast_precision_loss, reason = "patches of a ply are few")]
    fn worth(&self, column: &Column, at: &[f64]) -> f64 {
        at.iter().zip(&column.gives).map(|(worth, &n)| worth * n as f64).sum()
    }

    /// Strips worth more than they cost, at most a few: of every width the one most above its cost, then, without the
    /// plies of the best so far, the best again and again, so that the strips found complement each other.
    fn violated(&self, at: &[f64], most: &[i64]) -> Vec<Strip> {
        let mut most = most.to_vec();
        let mut strips: Vec<Strip> = Vec::new();
        while strips.len() < MOST_FRESH {
            let found = self.dearest(at, &most);
            let Some(best) = found.first() else { break };
            for &(k, n) in &best.plies {
                most[k] -= n;
            }
            let count = if strips.is_empty() { MOST_FRESH } else { 1 };
            strips.extend(found.into_iter().take(count));
        }
        strips
    }

    /// Of every width the strip most above its cost, if there is one, the best first.
    fn dearest(&self, at: &[f64], most: &[i64]) -> Vec<Strip> {
        let mut choices: Vec<Choice> = Vec::new();
        for (k, kind) in self.kinds.iter().enumerate().filter(|(k, _)| most[*k] > 0) {
            let value = self.value(k, at);
            if value > 0.0 {
                let ways = &self.fabric.classes[kind.class].ways;
                let choice = |&(width, run)| Choice { what: k, width, run, value, most: most[k] };
                choices.extend(ways.iter().map(choice));
            }
        }
        let table = Bounded::fill(&choices, self.fabric.capacity);
        let mut found: Vec<(f64, i64)> = Vec::new();
        for (width, value) in table.values() {
            let cost = float(self.prices.width * width + self.prices.each) / self.scale;
            if value > cost + 1e-8 {
                found.push((value - cost, width));
            }
        }
        found.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        found.into_iter().map(|(_, width)| Strip { width, plies: table.chosen(width) }).collect()
    }
}

/// Best value of what the choices from each on can bring at each length.
fn rest_tables(choices: &[Choice], capacity: i64) -> Vec<Vec<f64>> {
    let length = usize::try_from(capacity.max(0)).unwrap_or(0);
    let mut tables = vec![vec![0.0; length + 1]; choices.len() + 1];
    for (index, choice) in choices.iter().enumerate().rev() {
        let run = usize::try_from(choice.run.max(1)).unwrap_or(usize::MAX);
        let (before, after) = tables.split_at_mut(index + 1);
        let (table, next) = (&mut before[index], &after[0]);
        table.clone_from(next);
        for at in run..=length {
            table[at] = f64::max(table[at], table[at - run] + choice.value);
        }
    }
    tables
}

/// Lists the strips of one width, depth first, cut off where the rest can't bring enough.
struct Near<'a> {
    diver: &'a Diver<'a>,
    width: i64,
    narrower: Option<i64>,
    choices: &'a [Choice],
    rest: Vec<Vec<f64>>,
    least: f64,
    counts: Vec<i64>,
    budget: u32,
    at_most: usize,
    found: &'a mut Vec<Strip>,
}

impl Near<'_> {
    fn descend(&mut self, at: usize, left: i64, worth: f64) {
        if self.budget == 0 || self.found.len() > self.at_most {
            return;
        }
        self.budget -= 1;
        let rest = usize::try_from(left).map_or(0.0, |left| self.rest[at][left]);
        if worth + rest < self.least {
            return;
        }
        let Some(&choice) = self.choices.get(at) else {
            self.keep(left);
            return;
        };
        for count in (0..=choice.most.min(left / choice.run.max(1))).rev() {
            self.counts[at] = count;
            self.descend(at + 1, left - count * choice.run, worth + choice.value * float(count));
        }
        self.counts[at] = 0;
    }

    fn keep(&mut self, left: i64) {
        let roomy = |(choice, &count): (&Choice, &i64)| {
            choice.value > 0.0 && count < choice.most && choice.run <= left
        };
        if self.choices.iter().zip(&self.counts).any(roomy) {
            return;
        }
        let mut plies: Vec<(usize, i64)> = self
            .choices
            .iter()
            .zip(&self.counts)
            .filter(|(_, count)| **count > 0)
            .map(|(choice, &count)| (choice.what, count))
            .collect();
        plies.sort_unstable();
        // A strip whose plies all fit a narrower one is never needed.
        if let Some(narrower) = self.narrower {
            let runs = plies.iter().map(|&(k, n)| {
                let class = &self.diver.fabric.classes[self.diver.kinds[k].class];
                class.run_in(narrower).map(|run| run * n)
            });
            if runs.sum::<Option<i64>>().is_some_and(|run| run <= self.diver.fabric.capacity) {
                return;
            }
        }
        self.found.push(Strip { width: self.width, plies });
    }
}

/// The column used most, or by chance any, the likelier the more it is used.
fn choose(uses: &[(usize, f64)], chance: Option<&mut Random>) -> Option<usize> {
    const FINE: usize = 1 << 20;
    let Some(random) = chance else {
        let most = uses.iter().max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.cmp(&a.0)));
        return most.map(|found| found.0);
    };
    let weight = |use_: f64| use_ * use_;
    let all: f64 = uses.iter().map(|found| weight(found.1)).sum();
    #[allow(clippy::cast_precision_loss, reason = "a million steps")]
    let mut at = all * random.below(FINE) as f64 / FINE as f64;
    for &(column, use_) in uses {
        at -= weight(use_);
        if at < 0.0 {
            return Some(column);
        }
    }
    uses.last().map(|found| found.0)
}

fn gives(strip: &Strip, kinds: &[Kind], steps: &[u64]) -> Vec<usize> {
    let mut gives = vec![0; steps.len()];
    for &(kind, n) in &strip.plies {
        for &(item, yields) in &kinds[kind].yields {
            let each = usize::try_from(u64::from(yields) / steps[item]).unwrap_or(0);
            gives[item] += each * usize::try_from(n).unwrap_or(0);
        }
    }
    gives
}

fn take(left: &mut [usize], gives: &[usize], count: i64) {
    let count = usize::try_from(count).unwrap_or(0);
    for (left, given) in left.iter_mut().zip(gives) {
        *left = left.saturating_sub(given * count);
    }
}

#[allow(clippy::cast_precision_loss, reason = "costs are kept below 2^53")]
fn float(n: i64) -> f64 {
    n as f64
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{Class, Item};

    fn case(capacity: i64, items: &[(i64, i64, usize)]) -> (Fabric, Vec<Kind>, Vec<usize>) {
        let mut fabric = Fabric { capacity, ..Fabric::default() };
        let mut kinds = Vec::new();
        for (item, &(width, run, wanted)) in items.iter().enumerate() {
            fabric.items.push(Item { line: None, wanted: wanted as u64 });
            fabric.classes.push(Class { ways: vec![(width, run)] });
            kinds.push(Kind { class: item, yields: vec![(item, 1)], group: None, plies: vec![item] });
        }
        fabric.set_widths();
        let wanted = items.iter().map(|item| item.2).collect();
        (fabric, kinds, wanted)
    }

    fn solve(capacity: i64, items: &[(i64, i64, usize)], dives: u32) -> (FabricPlan, i64) {
        let (fabric, kinds, wanted) = case(capacity, items);
        let prices = Prices { width: 1, each: 0, plies: vec![0; kinds.len()] };
        let steps = vec![1; wanted.len()];
        let mut diver = Diver::new(&fabric, &kinds, &steps, &prices);
        let reach = Reach { dives, chains: 9, seed: 1, stop: &|| false };
        let plan = diver.best(&wanted, None, &reach).expect("a plan");
        let counts = plan.counts(kinds.len());
        assert!(counts.iter().zip(&wanted).all(|(n, wanted)| *n >= i64::try_from(*wanted).expect("small")));
        for strip in plan.strips.keys() {
            let run = |&(k, n): &(usize, i64)| Some(fabric.classes[k].run_in(strip.width)? * n);
            let length = strip.plies.iter().map(run).sum::<Option<i64>>().expect("every ply fits");
            assert!(length <= capacity);
        }
        let cost = plan.cost(&prices);
        (plan, cost)
    }

    /// By hand: strips of 10; 6 + 4, 6 + 4, 5 + 5 fill three strips, and 30 of length needs three.
    #[test]
    fn fills_strips_of_one_width() {
        let items = [(1, 6, 2), (1, 4, 2), (1, 5, 2)];
        assert_eq!(solve(10, &items, 1).1, 3);
    }

    /// By hand: a strip of 3 takes one of each (7 + 3), a second strip of 2 the last narrow one; three strips of 2 for
    /// the narrow ones alone and one of 3 would be dearer.
    #[test]
    fn narrow_plies_fill_wide_strips() {
        let items = [(3, 7, 1), (2, 3, 4)];
        let (plan, cost) = solve(10, &items, 4);
        assert_eq!(cost, 5);
        assert_eq!(plan.strips.values().sum::<i64>(), 2);
    }

    /// Every fabric small enough for the table: never below the exact answer, and equal to it after a few dives.
    #[test]
    fn agrees_with_the_table() {
        let mut random = Random::new(11);
        for round in 0..40 {
            let mut number = |from: usize, n: usize| from + random.below(n);
            let items: Vec<(i64, i64, usize)> = (0..4)
                .map(|_| {
                    let size = |n: usize| i64::try_from(n).expect("small");
                    (size(number(2, 6)), size(number(3, 9)), number(1, 5))
                })
                .collect();
            let capacity = i64::try_from(number(14, 10)).expect("small");
            let (fabric, kinds, _) = case(capacity, &items);
            let prices = Prices { width: 1, each: 0, plies: vec![0; kinds.len()] };
            let exact = crate::oracle::Oracle::new(&fabric, &kinds)
                .cheapest(&prices, &crate::oracle::Floors::default(), None, &|| false)
                .expect("a plan");
            assert_eq!(exact.value, exact.bound, "the table answers exactly");
            assert_eq!(solve(capacity, &items, 60).1, exact.value, "round {round}");
        }
    }
}
