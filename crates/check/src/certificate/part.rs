//! The prices of one part of a proof, and whether passes and strips cost at least what they are worth.

use std::collections::BTreeMap;

use num_rational::BigRational;
use patchlay_measure::Length;
use patchlay_plan::proof::PartProof;
use patchlay_plan::{Face, Rational, Way};

use super::cases::Range;
use super::knapsack::{self, Cut};
use super::{Refused, exact, whole};
use crate::demand::{Line, yields};
use crate::facts::Facts;
use crate::fault::FaultCode;
use crate::geometry::{Bay, Board, ways};

/// Prices as exact numbers.
#[derive(Debug)]
pub(super) struct Prices {
    demand: Vec<BigRational>,
    /// By board and area: what one unit of load in that area costs at all points that it touches.
    bays: Vec<Vec<BigRational>>,
    /// By board: the sum over its points.
    boards: Vec<BigRational>,
    /// By fabric, zero where nothing is held.
    pub(super) held_cloth: Vec<BigRational>,
    pub(super) held_passes: BigRational,
}

/// (Strip width, run) of all ways round and patches by item: plies that agree in these are of one kind.
type Alike = (Vec<(Length, Length)>, Vec<u64>);

fn zero() -> BigRational {
    BigRational::from_integer(0.into())
}

fn form(found: impl std::fmt::Display, expected: impl std::fmt::Display) -> Refused {
    Refused::new(FaultCode::CertificateForm, found, expected)
}

fn price(price: &Rational) -> Result<BigRational, Refused> {
    let exact =
        exact(price).ok_or_else(|| form(format!("{}/{}", price.n, price.d), "a denominator above zero"))?;
    if price.n < 0 {
        return Err(Refused::new(FaultCode::NegativePrice, exact, "at least 0"));
    }
    Ok(exact)
}

fn prices(list: &[Rational]) -> Result<Vec<BigRational>, Refused> {
    list.iter().map(price).collect()
}

/// The least common denominator must stay within 128 bits, or exact sums would grow without end.
fn common_denominator<'r>(mut all: impl Iterator<Item = &'r Rational>) -> Result<(), Refused> {
    fn gcd(a: i128, b: i128) -> i128 {
        if b == 0 { a } else { gcd(b, a % b) }
    }
    let common = all.try_fold(1_i128, |common, price| {
        if price.d <= 0 { Some(common) } else { (common / gcd(common, price.d)).checked_mul(price.d) }
    });
    common.map(|_| ()).ok_or_else(Refused::too_large)
}

impl Prices {
    pub(super) fn read(facts: &Facts, part: &PartProof) -> Result<Self, Refused> {
        let lines = facts.demand.lines.len();
        if part.demand.len() != lines {
            return Err(form(format!("{} demand prices", part.demand.len()), lines));
        }
        if !part.held_cloth.is_empty() && part.held_cloth.len() != facts.fabrics.len() {
            return Err(form(format!("{} held fabrics", part.held_cloth.len()), facts.fabrics.len()));
        }
        if !part.points.is_empty() && part.points.len() != facts.boards.len() {
            return Err(form(format!("prices for {} boards", part.points.len()), facts.boards.len()));
        }
        let points = part.points.iter().flatten();
        let least = part.whole.iter().map(|whole| &whole.least);
        common_denominator(
            least.chain(&part.demand).chain(points).chain(&part.held_cloth).chain([&part.held_passes]),
        )?;
        let mut bays = Vec::new();
        let mut boards = Vec::new();
        for (at, board) in facts.boards.iter().enumerate() {
            // No prices at all stand for zeros.
            let list = part.points.get(at).map(|list| prices(list)).transpose()?;
            let by_bay = on_board(board, list.as_deref())?;
            boards.push(list.unwrap_or_default().into_iter().sum());
            bays.push(by_bay);
        }
        let mut held_cloth = prices(&part.held_cloth)?;
        held_cloth.resize(facts.fabrics.len(), zero());
        Ok(Self {
            demand: prices(&part.demand)?,
            bays,
            boards,
            held_cloth,
            held_passes: price(&part.held_passes)?,
        })
    }

    /// Whether the part speaks of one fabric's cloth and nothing else.
    pub(super) fn only_fabric(&self, facts: &Facts, fabric: usize) -> Result<(), Refused> {
        let others = facts.demand.lines.iter().zip(&self.demand).filter(|(line, _)| line.fabric != fabric);
        let mut rest = others
            .map(|(_, price)| price)
            .chain(&self.boards)
            .chain(&self.held_cloth)
            .chain([&self.held_passes]);
        match rest.find(|price| **price != zero()) {
            Some(price) => Err(form(price, "0 for everything but this fabric's patches")),
            None => Ok(()),
        }
    }

    /// Whether the part speaks of one fabric's patches and cloth and of its passes; passes in all are not its own.
    pub(super) fn only_passes_of(&self, facts: &Facts, fabric: usize) -> Result<(), Refused> {
        let others = facts.demand.lines.iter().zip(&self.demand).filter(|(line, _)| line.fabric != fabric);
        let held = self.held_cloth.iter().enumerate().filter(|(at, _)| *at != fabric);
        let mut rest =
            others.map(|(_, price)| price).chain(held.map(|(_, price)| price)).chain([&self.held_passes]);
        match rest.find(|price| **price != zero()) {
            Some(price) => Err(form(price, "0 for everything but this fabric's patches, cloth and passes")),
            None => Ok(()),
        }
    }

    /// Sum of demand times price of one fabric.
    pub(super) fn worth_of_demand(&self, facts: &Facts, fabric: usize) -> BigRational {
        let lines = facts.demand.lines.iter().zip(&self.demand);
        lines
            .filter(|(line, _)| line.fabric == fabric)
            .map(|(line, price)| price * BigRational::from_integer((line.needed + line.spare).into()))
            .sum()
    }

    /// The points of every board together cost at most a pass, unless its passes have a most. What the passes of a case
    /// cost beside their loads at least: the rest of a pass times the fewest, or what is over it times the most.
    pub(super) fn passes_pay(
        &self,
        facts: &Facts,
        pass: &BigRational,
        made: &[Range],
    ) -> Result<BigRational, Refused> {
        let cost = pass + &self.held_passes;
        let mut rest = zero();
        for ((sum, board), range) in self.boards.iter().zip(&facts.boards).zip(made) {
            let left = &cost - sum;
            let times = match range.most {
                _ if left >= zero() => range.least,
                Some(most) => most,
                None => {
                    let found = format!("{sum} on {}", board.name);
                    return Err(Refused::new(FaultCode::PassPrice, found, format!("at most {cost}")));
                }
            };
            rest += left * BigRational::from_integer(times.into());
        }
        Ok(rest)
    }

    /// A fabric as its whole plans are priced: `width` for a unit of strip width, `strip` and `ply` for each.
    pub(super) fn whole<'f>(
        &self,
        facts: &'f Facts,
        fabric: usize,
        [width, strip, ply]: [&BigRational; 3],
    ) -> whole::Fabric<'f> {
        let cloth = &facts.fabrics[fabric];
        let lines = || facts.demand.lines.iter().zip(&self.demand).filter(|(line, _)| line.fabric == fabric);
        let faces: &[Face] = if cloth.turnable { &[Face::Up, Face::Down] } else { &[Face::Up] };
        // Plies that are cut alike and yield alike are one kind, at the least cost of any.
        let mut kinds: BTreeMap<Alike, BigRational> = BTreeMap::new();
        for (at, board) in facts.boards.iter().enumerate() {
            let limit = BigRational::from_integer(facts.limit(fabric, at).max(1).into());
            for (bay, area) in board.bays.iter().enumerate() {
                let mut ways: Vec<(Length, Length)> =
                    cut_ways(facts, fabric, area).map(|(run, width)| (width, run)).collect();
                ways.sort_unstable();
                let cost = ply + &self.bays[at][bay] / &limit;
                for &face in faces {
                    let count = |line: &Line| yields(board, area, face, line.shape, line.hand);
                    let yields: Vec<u64> = lines().map(|(line, _)| count(line)).collect();
                    if ways.is_empty() || yields.iter().all(|&n| n == 0) {
                        continue;
                    }
                    let known = kinds.entry((ways.clone(), yields)).or_insert_with(|| cost.clone());
                    if cost < *known {
                        known.clone_from(&cost);
                    }
                }
            }
        }
        let kind = |((ways, yields), cost)| whole::Kind { ways, yields, cost };
        whole::Fabric {
            name: &cloth.name,
            capacity: cloth.strip_capacity(),
            items: lines().map(|(line, price)| (line.needed + line.spare, price.clone())).collect(),
            kinds: kinds.into_iter().map(kind).collect(),
            width: width.clone(),
            strip: strip.clone(),
        }
    }

    /// No strip of a fabric, whatever its width and whatever it carries, is worth more than it costs.
    pub(super) fn strips_pay(
        &self,
        facts: &Facts,
        fabric: usize,
        width: &BigRational,
        strip: &BigRational,
        ply: &BigRational,
    ) -> Result<(), Refused> {
        let mut cuts: BTreeMap<(Length, Length), BigRational> = BTreeMap::new();
        for (board, at) in facts.boards.iter().zip(0..) {
            for (bay, area) in board.bays.iter().enumerate() {
                let Some(worth) = self.worth_of_ply(facts, fabric, at, bay) else { continue };
                let worth = worth - ply;
                if worth <= zero() {
                    continue;
                }
                for (run, width) in cut_ways(facts, fabric, area) {
                    let best = cuts.entry((width, run)).or_insert_with(zero);
                    if worth > *best {
                        *best = worth.clone();
                    }
                }
            }
        }
        let cuts: Vec<Cut> =
            cuts.into_iter().map(|((width, run), worth)| Cut { width, run, worth }).collect();
        knapsack::strips_pay(&facts.fabrics[fabric], &cuts, width, strip)
    }

    /// What the better face of a ply is worth: its patches less its load; none if it yields nothing wanted.
    fn worth_of_ply(&self, facts: &Facts, fabric: usize, at: usize, bay: usize) -> Option<BigRational> {
        let board = &facts.boards[at];
        let faces: &[Face] =
            if facts.fabrics[fabric].turnable { &[Face::Up, Face::Down] } else { &[Face::Up] };
        let patches = |face: Face| {
            let lines = facts.demand.lines.iter().zip(&self.demand).filter(|(line, _)| line.fabric == fabric);
            lines
                .map(|(line, price)| {
                    let count = yields(board, &board.bays[bay], face, line.shape, line.hand);
                    price * BigRational::from_integer(count.into())
                })
                .sum::<BigRational>()
        };
        let best = faces.iter().map(|&face| patches(face)).max()?;
        let limit = BigRational::from_integer(facts.limit(fabric, at).max(1).into());
        (best > zero()).then(|| best - &self.bays[at][bay] / limit)
    }
}

/// The (run, width) of one ply, for the ways round that the travel rule allows and that fit a strip.
fn cut_ways(facts: &Facts, fabric: usize, bay: &Bay) -> impl Iterator<Item = (Length, Length)> {
    let cloth = &facts.fabrics[fabric];
    let (along, across) = ways(bay.rect.turn, cloth.travel_rule);
    let allowed = [(Way::Along, along), (Way::Across, across)].into_iter().filter(|(_, allowed)| *allowed);
    let capacity = cloth.strip_capacity();
    allowed.map(|(way, _)| bay.cut(way)).filter(move |(run, _)| *run <= capacity)
}

/// The widest strip that any ply of a fabric needs that yields something wanted and fits a strip.
pub(super) fn widest_strip(facts: &Facts, fabric: usize) -> Option<Length> {
    let faces: &[Face] = if facts.fabrics[fabric].turnable { &[Face::Up, Face::Down] } else { &[Face::Up] };
    let wanted = |board: &Board, bay: &Bay| {
        let mut lines = facts.demand.lines.iter().filter(|line| line.fabric == fabric);
        lines.any(|line| faces.iter().any(|&face| yields(board, bay, face, line.shape, line.hand) > 0))
    };
    let bays = facts.boards.iter().flat_map(|board| board.bays.iter().map(move |bay| (board, bay)));
    bays.filter(|(board, bay)| wanted(board, bay))
        .flat_map(|(_, bay)| cut_ways(facts, fabric, bay))
        .map(|(_, width)| width)
        .max()
}

/// What a unit of load in every area costs.
fn on_board(board: &Board, prices: Option<&[BigRational]>) -> Result<Vec<BigRational>, Refused> {
    let mut bays = vec![zero(); board.bays.len()];
    let Some(prices) = prices else { return Ok(bays) };
    // Two areas kept apart share a pass no more than two at one point do, so such a pair may have a price as well.
    let together = |pair: (usize, usize)| {
        board
            .points
            .iter()
            .any(|point| point.binary_search(&pair.0).is_ok() && point.binary_search(&pair.1).is_ok())
    };
    let own = board.points.len();
    let pairs: Vec<Vec<usize>> = if prices.len() == own {
        Vec::new()
    } else {
        board.apart.iter().filter(|pair| !together(**pair)).map(|pair| vec![pair.0, pair.1]).collect()
    };
    if prices.len() != own + pairs.len() {
        return Err(form(format!("{} point prices on {}", prices.len(), board.name), own));
    }
    for (point, price) in board.points.iter().chain(&pairs).zip(prices) {
        if *price != zero() {
            point.iter().for_each(|&bay| bays[bay] += price);
        }
    }
    Ok(bays)
}
