//! A plan and its job, joined: names resolved, passes numbered, piles counted. Everything that is printed starts
//! here, so that terminal, pages and tables say the same.

use std::collections::BTreeMap;

use patchlay_measure::{Length, Money, largest_remainder};
use patchlay_plan::{BayLoad, FabricPlan, Face, Group, Hand, LayUp, Piece, Plan, Strip, Way};
use patchlay_scenario::job::{self, Bay, Board, Fabric, FabricId, Job, ShapeId};

use crate::follow;

/// Why a plan cannot be printed.
#[derive(Debug, thiserror::Error)]
pub enum SheetError {
    /// The plan names something that the scenario does not have: they do not belong together.
    #[error("the plan does not belong to this scenario: {what}")]
    NotOfThisScenario {
        /// What is missing.
        what: String,
    },
    /// A table cannot be written.
    #[error("a table cannot be written: {0}")]
    Table(#[from] csv::Error),
}

fn stranger<T>(what: String) -> Result<T, SheetError> {
    Err(SheetError::NotOfThisScenario { what })
}

/// Plan and job, joined.
pub(crate) struct View<'a> {
    pub(crate) plan: &'a Plan,
    pub(crate) job: &'a Job,
    /// The lay-ups are made in the order of a group's day, which its day sheets say, and not in that of the plan: nothing
    /// may be said that holds in the order of the plan alone.
    pub(crate) by_day: bool,
    /// One per fabric of the job, in its order.
    pub(crate) cloths: Vec<Cloth<'a>>,
    /// Lay-ups in the order of work.
    pub(crate) layups: Vec<Laid<'a>>,
    /// Which pass of which lay-up each length or cut goes to: indices from 0.
    homes: BTreeMap<&'a str, (usize, usize)>,
}

/// A fabric and what the plan takes of it.
#[derive(Clone, Copy)]
pub(crate) struct Cloth<'a> {
    pub(crate) id: FabricId,
    pub(crate) fabric: &'a Fabric,
    pub(crate) plan: &'a FabricPlan,
    /// Its price in cents, as it stands on every sheet: the prices of all fabrics add up to the plan's.
    pub(crate) cents: i64,
}

/// A lay-up with its board and areas.
pub(crate) struct Laid<'a> {
    pub(crate) layup: &'a LayUp,
    pub(crate) board: &'a Board,
    pub(crate) areas: Vec<Area<'a>>,
    /// Number of its first pass, from 1: in the whole plan; for a group's day in the lay-up, so always 1.
    pub(crate) first_pass: usize,
    /// Piles that grow with this lay-up, as they are after it; none for a group's day.
    pub(crate) piles: Vec<Pile>,
    /// What changes from the lay-up before, if that has the same board; nothing for a group's day.
    pub(crate) follows: Option<String>,
}

/// A loaded area of a board.
pub(crate) struct Area<'a> {
    /// `A`, `B`, … `Z`, `AA`: the same on every lay-up of the board.
    pub(crate) letter: String,
    /// The letter as a number, from 0.
    pub(crate) number: usize,
    pub(crate) bay: &'a Bay,
    pub(crate) load: &'a BayLoad,
    /// Groups from the bottom up.
    pub(crate) groups: Vec<Lying<'a>>,
}

/// A folded length or flat cut as it lies on an area.
#[derive(Clone, Copy)]
pub(crate) struct Lying<'a> {
    pub(crate) group: &'a Group,
    pub(crate) fabric: FabricId,
    /// Fold to fold, or the length of a flat cut along the strip.
    pub(crate) run: Length,
    /// Width of cloth across the strip.
    pub(crate) width: Length,
}

/// A pile of like patches.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Pile {
    pub(crate) fabric: FabricId,
    pub(crate) shape: ShapeId,
    pub(crate) hand: Hand,
    /// Cut so far.
    pub(crate) so_far: u64,
    /// Wanted in all, spare patches included; 0 for a pile that nothing needs.
    pub(crate) wanted: u64,
}

type PileKey = (FabricId, ShapeId, u8);

impl<'a> View<'a> {
    /// Joins a plan and its job.
    pub(crate) fn new(plan: &'a Plan, job: &'a Job) -> Result<Self, SheetError> {
        Self::ordered(plan, job, job.group.is_some())
    }

    /// The same for a job that does not say itself whether a group's day orders its lay-ups.
    pub(crate) fn ordered(plan: &'a Plan, job: &'a Job, by_day: bool) -> Result<Self, SheetError> {
        let cloths = cloths(plan, job)?;
        let mut layups = Vec::with_capacity(plan.layups.len());
        let mut homes = BTreeMap::new();
        let mut piles: BTreeMap<PileKey, Pile> = BTreeMap::new();
        let mut first_pass = 1;
        for (at, layup) in plan.layups.iter().enumerate() {
            let mut laid = laid(layup, plan, job, first_pass)?;
            if !by_day {
                laid.piles = grow(&mut piles, &laid, job);
                laid.follows = layups.last().and_then(|before| follow::from_before(before, &laid));
                first_pass += layup.passes.len();
            }
            layups.push(laid);
            for (pass, bays) in layup.passes.iter().enumerate() {
                homes.extend(bays.iter().flatten().map(|piece| (piece.as_str(), (at, pass))));
            }
        }
        Ok(Self { plan, job, by_day, cloths, layups, homes })
    }

    /// The lay-up that a length or cut goes to.
    pub(crate) fn home(&self, piece: &str) -> Option<&Laid<'a>> {
        self.homes.get(piece).and_then(|(layup, _)| self.layups.get(*layup))
    }

    /// Whether a strip carries anything that the proof block needs.
    pub(crate) fn for_proof(&self, strip: &Strip) -> bool {
        let first = self.plan.proof_block.as_ref().map_or(0, |proof| proof.layups);
        strip
            .pieces
            .iter()
            .any(|piece| self.homes.get(piece.name.as_str()).is_some_and(|home| home.0 < first))
    }

    /// The strips of a fabric in the order of cutting: what the proof block needs, then the rest, widest first.
    /// The flag says whether the proof block needs it.
    pub(crate) fn strips_in_order(&self, cloth: Cloth<'a>) -> Vec<(&'a Strip, bool)> {
        let mut strips: Vec<_> =
            cloth.plan.strips.iter().map(|strip| (strip, self.for_proof(strip))).collect();
        strips.sort_by_key(|(strip, proof)| (!*proof, std::cmp::Reverse(strip.width)));
        strips
    }

    /// Passes in all.
    pub(crate) fn passes(&self) -> usize {
        self.plan.layups.iter().map(|layup| layup.passes.len()).sum()
    }

    /// How a pile is called: `Navy: square 4`.
    pub(crate) fn pile_name(&self, pile: &Pile) -> String {
        patch_name(self.job, pile.fabric, pile.shape, pile.hand)
    }
}

/// `Navy: square 4`, `Slate: spire, mirror image`.
pub(crate) fn patch_name(job: &Job, fabric: FabricId, shape: ShapeId, hand: Hand) -> String {
    let hand = match hand {
        Hand::Any => "",
        Hand::Drawn => ", as drawn",
        Hand::Mirrored => ", mirror image",
    };
    format!("{}: {}{hand}", job.fabrics[fabric].name, job.shapes[shape].name)
}

impl<'a> Cloth<'a> {
    /// The usable width that the fullest strip needs; `None` if no strip is cut.
    pub(crate) fn least_width(self) -> Option<Length> {
        self.plan.strips.iter().map(content).max().map(|widest| widest + self.fabric.end_reserve)
    }

    /// Distinct strip widths, widest first, with their number.
    pub(crate) fn widths(self) -> Vec<(Length, usize)> {
        let mut counts: BTreeMap<Length, usize> = BTreeMap::new();
        for strip in &self.plan.strips {
            *counts.entry(strip.width).or_default() += 1;
        }
        counts.into_iter().rev().collect()
    }

    /// Squaring before the first strip and squaring again, as the plan has them.
    pub(crate) fn squaring(self) -> (Length, Length) {
        let first = if self.plan.strips.is_empty() { Length::ZERO } else { self.fabric.squaring };
        let first = first.min(self.plan.squaring);
        (first, self.plan.squaring - first)
    }
}

/// What lies on a strip: its lengths and cuts end to end.
pub(crate) fn content(strip: &Strip) -> Length {
    strip.pieces.iter().map(|piece| piece.length).sum()
}

/// An amount of whole cents.
pub(crate) fn of_cents(cents: i64) -> Money {
    Money::from_units(i128::from(cents) * (Money::UNITS_PER_ONE / 100))
}

/// What every fabric of the plan costs, in whole cents by largest remainder, so that the lines of a list add up to the
/// total that stands below them. It is how a group divides its money too: who brought a cloth is owed one sum only.
fn prices(plan: &Plan) -> Vec<i64> {
    let cent = Money::UNITS_PER_ONE / 100;
    let exact: Vec<i128> = plan.fabrics.iter().map(|fabric| fabric.money.units()).collect();
    let half_up = |units: i128| (units + cent / 2) / cent;
    match u32::try_from(half_up(plan.figures.money.units())) {
        Ok(total) => largest_remainder(&exact, total).into_iter().map(i64::from).collect(),
        // Forty million and more: nobody divides that to the cent.
        Err(_) => exact.iter().map(|units| i64::try_from(half_up(*units)).unwrap_or(i64::MAX)).collect(),
    }
}

/// Whether a length or cut is trimmed narrower than its strip.
pub(crate) fn trimmed(strip: &Strip, piece: &Piece) -> bool {
    piece.width < strip.width
}

/// `A` … `Z`, `AA` …, for 0, 1, ….
pub(crate) fn letters(mut at: usize) -> String {
    let mut text = Vec::new();
    loop {
        text.push(char::from(b'A' + u8::try_from(at % 26).unwrap_or(0)));
        if at < 26 {
            break;
        }
        at = at / 26 - 1;
    }
    text.iter().rev().collect()
}

fn cloths<'a>(plan: &'a Plan, job: &'a Job) -> Result<Vec<Cloth<'a>>, SheetError> {
    let prices = prices(plan);
    let find = |(id, fabric): (FabricId, &'a Fabric)| match plan
        .fabrics
        .iter()
        .zip(&prices)
        .find(|(known, _)| known.fabric == fabric.name)
    {
        Some((plan, cents)) => Ok(Cloth { id, fabric, plan, cents: *cents }),
        None => stranger(format!("it has no fabric `{}`", fabric.name)),
    };
    job.fabrics.iter().enumerate().map(find).collect()
}

fn laid<'a>(layup: &'a LayUp, plan: &Plan, job: &'a Job, first_pass: usize) -> Result<Laid<'a>, SheetError> {
    let Some(board) = job.boards.iter().find(|board| board.name == layup.board) else {
        return stranger(format!("there is no board `{}`", layup.board));
    };
    // Letters run over all areas that the plan uses of the board, so that an area is called the same on every card.
    let of_board = plan.layups.iter().filter(|other| other.board == layup.board);
    let used: Vec<&BayLoad> = of_board.flat_map(|other| &other.bays).collect();
    let used = board.bays.iter().filter(|bay| used.iter().any(|load| load.positions == bay.positions));
    let used: Vec<&Bay> = used.collect();
    let area = |load: &'a BayLoad| {
        let number = used.iter().position(|bay| bay.positions == load.positions).unwrap_or(0);
        area(number, load, board, job)
    };
    let areas = layup.bays.iter().map(area).collect::<Result<_, _>>()?;
    Ok(Laid { layup, board, areas, first_pass, piles: Vec::new(), follows: None })
}

fn area<'a>(number: usize, load: &'a BayLoad, board: &'a Board, job: &Job) -> Result<Area<'a>, SheetError> {
    let Some(bay) = board.bays.iter().find(|bay| bay.positions == load.positions) else {
        return stranger(format!("board `{}` has no area of positions {:?}", board.name, load.positions));
    };
    let lying = |group: &'a Group| match job.fabrics.iter().position(|fabric| fabric.name == group.fabric) {
        Some(fabric) => {
            let (run, width) = bay.cut(match group.way {
                Way::Along => job::Way::Along,
                Way::Across => job::Way::Across,
            });
            Ok(Lying { group, fabric, run, width })
        }
        None => stranger(format!("there is no fabric `{}`", group.fabric)),
    };
    let groups = load.groups.iter().map(lying).collect::<Result<_, _>>()?;
    Ok(Area { letter: letters(number), number, bay, load, groups })
}

/// Adds the patches of a lay-up to the piles; the piles that grew, as they are now.
fn grow(piles: &mut BTreeMap<PileKey, Pile>, laid: &Laid<'_>, job: &Job) -> Vec<Pile> {
    let times = laid.layup.passes.len() as u64;
    let mut grown: BTreeMap<PileKey, u64> = BTreeMap::new();
    for area in &laid.areas {
        for lying in &area.groups {
            let (face_up, face_down) = faces(lying.group);
            for &(shape, drawn, mirrored) in &area.bay.yields {
                let (drawn, mirrored) = (u64::from(drawn), u64::from(mirrored));
                let hands = if handed(job, lying.fabric, shape) {
                    [
                        (Hand::Drawn, face_up * drawn + face_down * mirrored),
                        (Hand::Mirrored, face_up * mirrored + face_down * drawn),
                    ]
                } else {
                    [(Hand::Any, (face_up + face_down) * (drawn + mirrored)), (Hand::Drawn, 0)]
                };
                for (hand, count) in hands.into_iter().filter(|(_, count)| *count > 0) {
                    *grown.entry((lying.fabric, shape, rank(hand))).or_default() += count * times;
                }
            }
        }
    }
    let add = |(key, more): (PileKey, u64)| {
        let hand = [Hand::Any, Hand::Drawn, Hand::Mirrored][usize::from(key.2)];
        let pile = piles.entry(key).or_insert_with(|| Pile {
            fabric: key.0,
            shape: key.1,
            hand,
            so_far: 0,
            wanted: wanted(job, key.0, key.1, hand),
        });
        pile.so_far += more;
        pile.clone()
    };
    grown.into_iter().map(add).collect()
}

fn handed(job: &Job, fabric: FabricId, shape: ShapeId) -> bool {
    job.shapes[shape].shape.handed() && !job.fabrics[fabric].reversible
}

fn rank(hand: Hand) -> u8 {
    match hand {
        Hand::Any => 0,
        Hand::Drawn => 1,
        Hand::Mirrored => 2,
    }
}

/// Patches wanted of a pile, spare patches included.
fn wanted(job: &Job, fabric: FabricId, shape: ShapeId, hand: Hand) -> u64 {
    let same = |demand: &&job::Demand| {
        demand.fabric == fabric && demand.shape == shape && plan_hand(demand.hand) == hand
    };
    job.demands.iter().filter(same).map(job::Demand::total).sum()
}

/// The hand of a demand line in the plan's words.
pub(crate) fn plan_hand(hand: job::Hand) -> Hand {
    match hand {
        job::Hand::Any => Hand::Any,
        job::Hand::Drawn => Hand::Drawn,
        job::Hand::Mirrored => Hand::Mirrored,
    }
}

/// Plies lying face up and face down.
fn faces(group: &Group) -> (u64, u64) {
    let plies = u64::from(group.plies);
    let (first, second) = (plies.div_ceil(2), plies / 2);
    match group.first_face {
        Face::Up => (first, second),
        Face::Down => (second, first),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn area_letters_go_on_after_z() {
        let all: Vec<String> = [0, 1, 25, 26, 51, 52, 701, 702].into_iter().map(letters).collect();
        assert_eq!(all, ["A", "B", "Z", "AA", "AZ", "BA", "ZZ", "AAA"]);
    }

    #[test]
    fn faces_alternate_from_the_first() {
        let group = |plies, first_face| Group { fabric: String::new(), plies, first_face, way: Way::Along };
        assert_eq!(faces(&group(5, Face::Up)), (3, 2));
        assert_eq!(faces(&group(5, Face::Down)), (2, 3));
        assert_eq!(faces(&group(1, Face::Down)), (0, 1));
    }
}
