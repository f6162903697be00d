//! Bounds from whole fabric plans: strips and plies come whole, which the plain relaxation does not know. Prices of load
//! come from the decomposition by fabric ([`crate::decompose`]), are rounded to whole numbers, and every fabric's least
//! cost at those prices is found exactly ([`crate::oracle`]). What the proof says stands in `patchlay_plan::proof`.

use patchlay_plan::proof::PartProof;
use patchlay_plan::{Rational, WholePlans};

use crate::asked::Asked;
use crate::costs::{Costs, Limits, Region, gcd};
use crate::decompose::{self, Decomposed, Decomposition, FineCosts, Reach};
use crate::kinds::Kinds;
use crate::listen::Stop;
use crate::model::{Fabric, Model};
use crate::oracle::{Answer, Floors, Oracle, Prices as PlyPrices};
use crate::search::plain;
use crate::solution::Solution;

/// A proof in whole numbers; one of them is worth `step.0 / step.1` of the figure's own unit.
#[derive(Clone, Debug)]
pub struct Proof {
    step: (i128, i128),
    /// Of every fabric: what its whole plans cost at least, and the worth of its items.
    fabrics: Vec<Least>,
    points: Vec<Vec<i64>>,
    held_width: Vec<i64>,
    held_passes: i64,
    /// As a fraction.
    value: (i128, i128),
}

/// What a fabric's whole plans cost at least.
#[derive(Clone, Debug)]
struct Least {
    /// Where it can be checked. Otherwise the worth of the demand stands for it.
    stated: Option<i64>,
    /// Worth of a patch of every item, as a fraction.
    worth: Vec<(i64, i64)>,
    /// Worth of a grid step of strip width, where the region has a floor of it.
    cloth: (i64, i64),
    /// Worth of a ply of every kind with a floor.
    plies: Vec<(usize, (i64, i64))>,
}

impl Least {
    fn of(answer: &Answer, fabric: &Fabric, steps: &[u64], floors: &Floors) -> Self {
        let mut worth = answer.worth.iter().copied();
        let over = |step: u64| i64::try_from(step).unwrap_or(i64::MAX).saturating_mul(answer.fine);
        let items = steps.iter().zip(worth.by_ref()).map(|(&step, worth)| (worth, over(step))).collect();
        let cloth = if floors.cloth > 0 { worth.next() } else { None };
        let step = fabric.width_step().unsigned_abs();
        let plies = floors.plies.iter().zip(worth).map(|(&(k, _), worth)| (k, (worth, answer.fine)));
        Self {
            stated: answer.checkable.then_some(answer.bound),
            worth: items,
            cloth: cloth.map_or((0, 1), |cloth| (cloth, over(step))),
            plies: plies.collect(),
        }
    }

    fn value(&self, fabric: &Fabric, floors: &Floors) -> (i128, i128) {
        let times = |&(n, d): &(i64, i64), wanted: i128| (i128::from(n) * wanted, i128::from(d));
        let items = fabric.items.iter().zip(&self.worth);
        let items = items.map(|(item, worth)| times(worth, item.wanted.into()));
        let plies = floors.plies.iter().zip(&self.plies);
        let plies = plies.map(|((_, least), (_, worth))| times(worth, (*least).into()));
        let all = items.chain(plies).chain([times(&self.cloth, floors.cloth.into())]);
        self.stated.map_or_else(|| all.fold((0, 1), sum), |least| (i128::from(least), 1))
    }
}

/// Sum of two fractions.
fn sum(a: (i128, i128), b: (i128, i128)) -> (i128, i128) {
    let common = a.1 / gcd(a.1, b.1) * b.1;
    (a.0 * (common / a.1) + b.0 * (common / b.1), common)
}

/// Rounds of the decomposition.
const ROUNDS: u32 = 60;
/// The dearest strip, pass or ply in whole numbers, where the costs leave a choice.
const DEAREST: i128 = 10_000_000;
/// Beyond this whole numbers would no longer be exact in the solvers.
const TOO_DEAR: i128 = 10_000_000_000_000;

/// Least strip width of one fabric in units of length, strips coming whole.
#[must_use]
pub fn width_of(model: &Model, kinds: &Kinds, f: usize, stop: Stop<'_>) -> Option<Proof> {
    static PROVED: Asked<Option<Proof>> = Asked::new();
    PROVED.answer_unless(stop, &(model, f), || least_width(model, kinds, f, stop))
}

fn least_width(model: &Model, kinds: &Kinds, f: usize, stop: Stop<'_>) -> Option<Proof> {
    let prices = PlyPrices { width: model.grid, each: 0, plies: vec![0; kinds.of[f].len()] };
    let mut oracle = Oracle::new(&model.fabrics[f], &kinds.of[f]);
    let answer = oracle.cheapest(&prices, &Floors::default(), None, stop)?;
    let mut oracle = oracle.for_checker();
    let answer = oracle.cheapest(&prices, &Floors::default(), Some(&answer.plan), stop)?;
    let none = |fabric: &Fabric| {
        let worth = vec![(0, 1); fabric.items.len()];
        Least { stated: None, worth, cloth: (0, 1), plies: Vec::new() }
    };
    let floors = Floors::default();
    let mut fabrics: Vec<Least> = model.fabrics.iter().map(none).collect();
    fabrics[f] = Least::of(&answer, &model.fabrics[f], oracle.steps(), &floors);
    Some(Proof {
        step: (1, 1),
        value: fabrics[f].value(&model.fabrics[f], &floors),
        fabrics,
        points: model.boards.iter().map(|board| vec![0; board.own_points]).collect(),
        held_width: vec![0; model.fabrics.len()],
        held_passes: 0,
    })
}

/// A bound over all fabrics, in a model without points that stand for pairs kept apart.
#[must_use]
pub fn prove(model: &Model, costs: &Costs, limits: &Limits, stop: Stop<'_>) -> Option<Proof> {
    let question = Question::of(model, costs, None)?;
    let region = Region::within(limits, model.boards.len(), model.fabrics.len());
    let mut by = question.decomposition();
    let found = by.solve(&region, &Reach { rounds: ROUNDS, enough: i64::MAX, stop })?;
    let found = by.checkable(found, &region, stop);
    Some(question.proof(&by, &found, &region))
}

/// A question about whole plans of all fabrics, in whole numbers.
pub struct Question<'a> {
    model: &'a Model,
    kinds: Kinds,
    step: (i128, i128),
    costs: FineCosts,
    start: Solution,
}

impl<'a> Question<'a> {
    /// `None` where whole plans would show no more than the relaxation does, or where costs are too far apart. A known
    /// solution is where the decomposition starts: the master program then knows plans that keep what is held.
    #[must_use]
    pub fn of(model: &'a Model, costs: &Costs, known: Option<&Solution>) -> Option<Self> {
        let (step, costs) = in_whole(model, costs)?;
        let kinds = Kinds::of_model(model);
        let answers_exactly = |f: usize| Oracle::new(&model.fabrics[f], &kinds.of[f]).is_searched();
        if !(0..model.fabrics.len()).any(|f| !model.fabrics[f].items.is_empty() && answers_exactly(f)) {
            return None;
        }
        let start = known.cloned().unwrap_or_else(|| {
            let mut start = Solution::empty(model);
            for f in (0..model.fabrics.len()).filter(|&f| !model.fabrics[f].items.is_empty()) {
                plain(model, &mut start, f);
            }
            start
        });
        Some(Self { model, kinds, step, costs, start })
    }

    /// Its decomposition.
    #[must_use]
    pub fn decomposition(&self) -> Decomposition<'_> {
        Decomposition::new(self.model, &self.kinds, &self.costs, &self.start)
    }

    /// The costs of the decomposition.
    #[must_use]
    pub fn costs(&self) -> &FineCosts {
        &self.costs
    }

    /// So much of the figure's own unit in the costs of the decomposition, rounded up.
    #[must_use]
    pub fn in_costs(&self, value: i128) -> i64 {
        let (n, d) = self.step;
        let all = value.checked_mul(d).map_or(i128::MAX, |all| -(-all).div_euclid(n));
        i64::try_from(all).unwrap_or(i64::MAX)
    }

    /// The proof that follows from what the decomposition found about the plans of a region.
    #[must_use]
    pub fn proof(&self, by: &Decomposition<'_>, found: &Decomposed, region: &Region) -> Proof {
        let all = &self.model.fabrics;
        let floors: Vec<Floors> = (0..all.len()).map(|f| region.floors(f)).collect();
        let answers = found.answers.iter().enumerate();
        let fabrics = answers.map(|(f, answer)| Least::of(answer, &all[f], by.steps(f), &floors[f]));
        let fabrics: Vec<Least> = fabrics.collect();
        let rest = decompose::rest(&self.costs, region, &found.loads, &found.points);
        let covers = fabrics.iter().enumerate().map(|(f, of)| of.value(&all[f], &floors[f]));
        Proof {
            step: self.step,
            value: covers.fold((i128::from(rest), 1), sum),
            fabrics,
            points: found.points.clone(),
            held_width: found.loads.cloth.clone(),
            held_passes: found.loads.pass,
        }
    }
}

/// Costs in whole numbers, and what one of them is worth of the figure's own unit.
#[allow(clippy::cast_precision_loss, reason = "a scale need not be exact")]
fn in_whole(model: &Model, costs: &Costs) -> Option<((i128, i128), FineCosts)> {
    let all = || costs.width.iter().chain(&costs.ply).chain([&costs.strip, &costs.pass]).copied();
    let common = all().fold(0, gcd).max(1);
    let steps = |f: usize| i128::from(model.fabrics[f].widths.last().copied().unwrap_or(0));
    let strips = (0..model.fabrics.len()).map(|f| costs.width[f] * steps(f) + costs.strip);
    let dearest = strips.chain(costs.ply.iter().copied()).chain([costs.pass]).max().unwrap_or(0) / common;
    let times = (DEAREST / dearest.max(1)).max(1);
    let dearest = (dearest * times).max(1);
    if dearest > TOO_DEAR {
        return None;
    }
    let whole = |v: i128| i64::try_from(v / common * times).ok();
    let fine = FineCosts {
        width: costs.width.iter().map(|&v| whole(v)).collect::<Option<_>>()?,
        strip: whole(costs.strip)?,
        ply: costs.ply.iter().map(|&v| whole(v)).collect::<Option<_>>()?,
        pass: whole(costs.pass)?,
        fine: times as f64 / common as f64,
        scale: dearest as f64,
    };
    Some(((common, costs.unit * times), fine))
}

impl Proof {
    /// Counts a bound in the costs of the decomposition that is known from elsewhere.
    pub fn raise(&mut self, bound: i64) {
        if self.value.0 < i128::from(bound) * self.value.1 {
            self.value = (i128::from(bound), 1);
        }
    }

    /// The proved value, rounded up to a multiple of `step`, without the constant.
    #[must_use]
    pub fn rounded_up(&self, step: i128) -> i128 {
        let (n, d) = (self.value.0 * self.step.0, self.value.1 * self.step.1);
        -(-n).div_euclid(d * step) * step
    }

    /// The proof as the plan stores it; `fabric` where it is about one alone, `names` those of all fabrics.
    #[must_use]
    pub fn part(&self, model: &Model, lines: usize, fabric: Option<usize>, names: &[&str]) -> PartProof {
        let (n, d) = self.step;
        let real = |v: i64, over: i128| Rational { n: i128::from(v) * n, d: d * over };
        let mut demand = vec![real(0, 1); lines];
        for (data, of) in model.fabrics.iter().zip(&self.fabrics) {
            for (item, &(worth, over)) in data.items.iter().zip(&of.worth) {
                if let Some(line) = item.line {
                    demand[line] = real(worth, i128::from(over));
                }
            }
        }
        let wanted = |f: &usize| !model.fabrics[*f].items.is_empty() && fabric.is_none_or(|only| only == *f);
        let whole = (0..model.fabrics.len()).filter(wanted).filter_map(|f| {
            let least = real(self.fabrics[f].stated?, 1);
            Some(WholePlans { fabric: names[f].to_owned(), least })
        });
        let held = self.held_width.iter().any(|&price| price != 0);
        let held_cloth = self.held_width.iter().map(|&price| real(price, i128::from(model.grid)));
        PartProof {
            fabric: fabric.map(|f| names[f].to_owned()),
            demand,
            points: self.points.iter().map(|row| row.iter().map(|&v| real(v, 1)).collect()).collect(),
            held_cloth: if held { held_cloth.collect() } else { Vec::new() },
            held_passes: real(self.held_passes, 1),
            whole: whole.collect(),
            passes: Vec::new(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lp;
    use crate::model::{Board, Class, Face, Item, Ply};

    /// Squares of 10, so many wanted of every item of every fabric, on strips of 40; six plies of them a pass.
    fn squares(wanted: &[&[u64]]) -> Model {
        let fabric = |wanted: &&[u64]| {
            let items = wanted.iter().map(|&wanted| Item { line: None, wanted }).collect();
            let mut fabric = Fabric { capacity: 40, items, ..Fabric::default() };
            fabric.classes = vec![Class { ways: vec![(10, 10)] }];
            let ply = |item| Ply {
                board: Some(0),
                bay: 0,
                face: Face::Up,
                class: 0,
                yields: vec![(item, 1)],
                load: 1,
            };
            fabric.plies = (0..wanted.len()).map(ply).collect();
            fabric.set_widths();
            fabric
        };
        let board = Board::new(6, 1, vec![vec![0]], Vec::new());
        Model { grid: 1, fabrics: wanted.iter().map(fabric).collect(), boards: vec![board] }
    }

    fn proved(model: &Model, costs: &Costs, limits: &Limits) -> i128 {
        prove(model, costs, limits, &|| false).expect("a proof").rounded_up(1)
    }

    /// By hand: nine squares, four a strip, are three strips of 10; by their share of strips alone 22 1/2.
    #[test]
    fn widths_come_whole() {
        let model = squares(&[&[9]]);
        let proof = width_of(&model, &Kinds::of_model(&model), 0, &|| false).expect("a proof");
        assert_eq!(proof.rounded_up(1), 30);
    }

    /// By hand: nine and five squares are three strips and two, 50 wide; fourteen plies are at least 14/6 passes, at 7
    /// each 16 1/3. The plain relaxation sees 35 of cloth and the same of passes.
    #[test]
    fn strips_of_every_fabric_come_whole_and_loads_are_paid() {
        let model = squares(&[&[9], &[5]]);
        let costs = Costs { width: vec![1, 1], pass: 7, ..Costs::zero(2) };
        assert_eq!(proved(&model, &costs, &Limits::default()), 67);
        let prices = lp::solve(&model, &costs, &Limits::default(), &[]).expect("prices");
        let plain = crate::certify::of_prices(&model, &costs, &Limits::default(), &prices).expect("a proof");
        assert_eq!(-(-plain.value).div_euclid(plain.scale), 52);
    }

    /// By hand: 8009 squares of eight sizes of patch have too many demands to be searched. Their worth, 2 1/2 each, is
    /// taken for them, nothing is stated, and the other fabric counts whole.
    #[test]
    fn what_cannot_be_checked_is_not_stated() {
        let many = [1001, 1001, 1001, 1001, 1001, 1001, 1001, 1002];
        let model = squares(&[&[9], &many]);
        let costs = Costs { width: vec![1, 1], ..Costs::zero(2) };
        let proof = prove(&model, &costs, &Limits::default(), &|| false).expect("a proof");
        let part = proof.part(&model, 0, None, &["few", "many"]);
        let stated: Vec<&str> = part.whole.iter().map(|whole| whole.fabric.as_str()).collect();
        assert_eq!(stated, ["few"]);
        assert_eq!(proof.rounded_up(1), 30 + 20_023);
    }

    /// By hand: 1401 squares, four a strip, are 351 strips, however they are divided.
    #[test]
    fn many_demands_are_searched_along_what_is_worth_it() {
        let model = squares(&[&[700, 701]]);
        let proof = width_of(&model, &Kinds::of_model(&model), 0, &|| false).expect("a proof");
        assert_eq!(proof.rounded_up(1), 3_510);
    }
}
