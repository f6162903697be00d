//! The job: a scenario after validation. Immutable, exact lengths, dense ids in the order of the file.

use patchlay_measure::{Area, Length, Money, Percent, Price, UnitSystem};
use patchlay_shape::{
    Arranged, Shape, Turn,
    board::{PlacedBox, Rect},
};

pub use crate::spec::{AimKind, PrintDirection, TravelRule};
use crate::strategy::Strategy;

pub mod group;

pub use group::Group;

/// Index into [`Job::fabrics`].
pub type FabricId = usize;
/// Index into [`Job::shapes`].
pub type ShapeId = usize;
/// Index into [`Job::boards`].
pub type BoardId = usize;
/// Index into [`Board::positions`].
pub type PositionId = usize;
/// Index into [`Board::bays`].
pub type BayId = usize;
/// Index into [`Job::demands`].
pub type DemandId = usize;

/// A whole cutting job, ready to be optimised.
#[derive(Clone, Debug)]
pub struct Job {
    /// Name of the scenario.
    pub name: String,
    /// Units of everything printed.
    pub units: UnitSystem,
    /// Currency sign; empty if none was stated.
    pub currency: String,
    /// Whether every fabric has a price. Without prices every fabric costs 1 per area.
    pub priced: bool,
    /// The cutter.
    pub cutter: Cutter,
    /// Seam allowance of shapes that do not state their own.
    pub seam: Length,
    /// Step to which every size cut from or as a strip is rounded up.
    pub ruler_step: Length,
    /// Cloth that one fold takes.
    pub fold_allowance: Length,
    /// Set margin.
    pub margin: Length,
    /// Least margin between two areas loaded in one pass.
    pub least_margin: Length,
    /// The fabrics.
    pub fabrics: Vec<Fabric>,
    /// The shapes.
    pub shapes: Vec<NamedShape>,
    /// The boards.
    pub boards: Vec<Board>,
    /// Boards that are thought of; no plan uses them.
    pub could_have: Vec<Board>,
    /// The blocks.
    pub blocks: Vec<Block>,
    /// The quilts.
    pub quilts: Vec<Quilt>,
    /// Patches wanted, one line for each shape, hand and fabric; sorted by (fabric, shape, hand).
    pub demands: Vec<Demand>,
    /// What the plan puts first.
    pub aim: Aim,
    /// The proof block, if asked for.
    pub proof_block: Option<ProofBlock>,
    /// What a group adds, if the scenario has a group.
    pub group: Option<Group>,
    /// How boards may be loaded.
    pub strategy: Strategy,
    /// Values that were assumed because the file leaves them out, in words for the sheets.
    pub assumptions: Vec<String>,
    /// Cautions that do not stop the job, in words for the sheets.
    pub cautions: Vec<String>,
}

impl Job {
    /// The job under a strategy: a ply limit below the cutter's lowers those of all boards and fabrics.
    #[must_use]
    pub fn under(&self, strategy: Strategy) -> Self {
        let mut job = self.clone();
        let most = strategy.ply_limit.unwrap_or(job.cutter.ply_limit).max(1);
        job.cutter.ply_limit = job.cutter.ply_limit.min(most);
        let boards = job.boards.iter_mut().chain(&mut job.could_have);
        boards.for_each(|board| board.ply_limit = board.ply_limit.min(most));
        job.fabrics.iter_mut().for_each(|fabric| fabric.ply_limit = fabric.ply_limit.min(most));
        job.strategy = strategy;
        job
    }
}

/// The roller cutter.
#[derive(Clone, Debug)]
pub struct Cutter {
    /// Bed width.
    pub bed_width: Length,
    /// Longest board.
    pub longest_board: Length,
    /// Ply limit L.
    pub ply_limit: u32,
    /// Mats owned.
    pub mats: Vec<Mat>,
    /// Standard times.
    pub times: Times,
}

/// A kind of mat.
#[derive(Clone, Debug)]
pub struct Mat {
    /// Name.
    pub name: String,
    /// Across the travel.
    pub width: Length,
    /// Along the travel.
    pub length: Length,
    /// How many are owned.
    pub owned: u32,
}

/// Standard times in seconds; see the fields of [`crate::spec::Times`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[allow(missing_docs, reason = "the fields carry the names and docs of spec::Times")]
pub struct Times {
    pub square: u32,
    pub cut_strip: u32,
    pub press_strip: u32,
    pub cross_cut: u32,
    pub trim: u32,
    pub fold: u32,
    pub place: u32,
    pub change_board: u32,
    pub crank: u32,
    pub turn_mat: u32,
    pub lift_out: u32,
    pub count: u32,
}

impl Times {
    /// Assumed times, common practice, no source; every sheet that uses them says so.
    pub const ASSUMED: Self = Self {
        square: 120,
        cut_strip: 40,
        press_strip: 45,
        cross_cut: 8,
        trim: 12,
        fold: 20,
        place: 6,
        change_board: 60,
        crank: 20,
        turn_mat: 8,
        lift_out: 25,
        count: 15,
    };
}

/// One cloth.
#[derive(Clone, Debug)]
pub struct Fabric {
    /// Name.
    pub name: String,
    /// Letter on tags and cards.
    pub letter: String,
    /// `#rrggbb`.
    pub colour: String,
    /// Usable width as stated in the file.
    pub stated_width: Length,
    /// Usable width when it is cut: after shrinkage where the stated width is before washing.
    pub width: Length,
    /// Whether the stated width was measured before washing.
    pub width_before_washing: bool,
    /// Most plies of this fabric alone, l_f <= L.
    pub ply_limit: u32,
    /// Print direction as stated.
    pub print: PrintDirection,
    /// Whether lengths of it may be fan-folded and plies turned over (false for a one-way print).
    pub folding: bool,
    /// Patches may be used either side up.
    pub reversible: bool,
    /// Travel rule that binds its plies.
    pub travel_rule: TravelRule,
    /// Price; zero for a gift. `None` if the job has no prices.
    pub price: Option<Price>,
    /// Selling step.
    pub selling_step: Length,
    /// Shrinkage each way.
    pub shrinkage: Percent,
    /// Squaring before the first strip.
    pub squaring: Length,
    /// Squaring again after every five strips (only if another strip follows).
    pub resquaring: Length,
    /// Unused end of every strip.
    pub end_reserve: Length,
    /// Lengths set aside first: what for, and how long.
    pub kept_back: Vec<(String, Length)>,
}

impl Fabric {
    /// Longest sum of lengths along one strip: width less the end reserve.
    #[must_use]
    pub fn strip_capacity(&self) -> Length {
        self.width - self.end_reserve
    }

    /// Sum of the lengths kept back.
    #[must_use]
    pub fn kept_back_total(&self) -> Length {
        self.kept_back.iter().map(|(_, length)| *length).sum()
    }

    /// Length taken off the bolt by strips of these widths: kept back, squaring before the first strip,
    /// resquaring after every five strips where another follows, and the strips. Zero strips take only what is
    /// kept back.
    #[must_use]
    pub fn taken(&self, strip_count: usize, strip_widths: Length) -> Length {
        let mut taken = self.kept_back_total() + strip_widths;
        if strip_count > 0 {
            let again = i64::try_from((strip_count - 1) / 5).unwrap_or(i64::MAX);
            taken = taken + self.squaring + self.resquaring * again;
        }
        taken
    }

    /// Length to buy for a length taken: shrinkage first, then up to the selling step.
    #[must_use]
    pub fn bought(&self, taken: Length) -> Length {
        // Validation caps shrinkage at 50 %, far from the only error (nothing left of the cloth).
        let needed = patchlay_measure::buy_length(taken, self.shrinkage).unwrap_or(taken);
        patchlay_measure::round_up_to_step(needed, self.selling_step)
    }

    /// Price of a bought length; without prices, 1 per square unit of bought length x stated width.
    #[must_use]
    pub fn money(&self, bought: Length) -> Money {
        match self.price {
            Some(price) => price * bought,
            None => Money::from_units((bought * self.stated_width).units()),
        }
    }
}

/// A shape with its name.
#[derive(Clone, Debug)]
pub struct NamedShape {
    /// Name.
    pub name: String,
    /// Geometry.
    pub shape: Shape,
}

/// Which hand a patch must have.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Hand {
    /// Not handed, or the fabric is reversible: any ply will do.
    Any,
    /// As drawn.
    Drawn,
    /// Mirror image.
    Mirrored,
}

/// A board with everything derived from its geometry.
#[derive(Clone, Debug)]
pub struct Board {
    /// Name.
    pub name: String,
    /// Across the travel.
    pub width: Length,
    /// Along the travel.
    pub length: Length,
    /// Plies it takes: the lower of its own limit and the cutter's.
    pub ply_limit: u32,
    /// Positions in the order of the file, grids row by row from the leading end, each row from the handle side.
    pub positions: Vec<Position>,
    /// Bays, sorted by the positions they cover.
    pub bays: Vec<Bay>,
    /// Sets of bays that share a point of the board: at each of them the plies must fit the limit. One for every
    /// position, then one for every overlap of rectangles that no position already accounts for.
    pub points: Vec<Point>,
    /// Pairs of bays (lower id first) that are not loaded in one pass, with the reason.
    pub apart: Vec<(BayId, BayId, String)>,
}

/// One position of a board.
#[derive(Clone, Debug)]
pub struct Position {
    /// What stands on cards: `1`, `2`, … in the order of [`Board::positions`].
    pub label: String,
    /// Which shape.
    pub shape: ShapeId,
    /// Patches per ply as drawn.
    pub drawn: u32,
    /// Patches per ply mirrored.
    pub mirrored: u32,
    /// Where its box lies.
    pub place: PlacedBox,
    /// Its patches inside the box, for pictures (before `shape_turn` is applied).
    pub arranged: Arranged,
    /// Quarter turns of the arrangement inside the box, 0 to 3.
    pub quarter_turns: u8,
}

/// An area of a board that one rectangle of fabric covers.
#[derive(Clone, Debug)]
pub struct Bay {
    /// The positions it covers, ascending.
    pub positions: Vec<PositionId>,
    /// Its box without margins, in its own axes.
    pub place: Rect,
    /// Margins: low u (across, handle side at turn 0), high u, low v (along, leading end at turn 0), high v.
    pub margins: [Length; 4],
    /// Cloth for one ply across the bay's own axis, with margins, rounded up to the ruler step.
    pub across: Length,
    /// Cloth for one ply along the bay's own axis, with margins, rounded up to the ruler step.
    pub along: Length,
    /// Patches of one ply lying face up: (shape, as drawn, mirrored), by shape. Face down swaps the hands.
    pub yields: Vec<(ShapeId, u32, u32)>,
}

/// Which way a strip lies on a bay.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Way {
    /// The strip's length runs along the bay's `along` axis.
    Along,
    /// The strip's length runs along the bay's `across` axis.
    Across,
}

impl Bay {
    /// (run along the strip, width of the strip) for a way round.
    #[must_use]
    pub fn cut(&self, way: Way) -> (Length, Length) {
        match way {
            Way::Along => (self.along, self.across),
            Way::Across => (self.across, self.along),
        }
    }

    /// The ways round that a travel rule allows: for a turned bay the side nearer the travel counts, at 45
    /// degrees both do.
    #[must_use]
    pub fn ways(&self, rule: TravelRule) -> Vec<Way> {
        let (along, across) = nearness_to_travel(self.place.turn);
        match rule {
            TravelRule::Either => vec![Way::Along, Way::Across],
            TravelRule::StripAlongTravel => ways_where(along, across),
            TravelRule::StripAcrossTravel => ways_where(across, along),
        }
    }
}

/// Whether the bay's `along` axis, and whether its `across` axis, counts as lying along the travel.
fn nearness_to_travel(turn: Turn) -> (bool, bool) {
    let off = turn.hundredths() % 18_000;
    let off = off.min(18_000 - off);
    (off <= 4_500, off >= 4_500)
}

fn ways_where(along: bool, across: bool) -> Vec<Way> {
    let mut ways = Vec::new();
    if along {
        ways.push(Way::Along);
    }
    if across {
        ways.push(Way::Across);
    }
    ways
}

/// A point of a board where the plies of several bays lie on each other.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Point {
    /// The position, if the point stands for one.
    pub position: Option<PositionId>,
    /// The bays whose cloth lies there, ascending.
    pub bays: Vec<BayId>,
}

/// Patches wanted of one shape, hand and fabric.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Demand {
    /// Of which fabric.
    pub fabric: FabricId,
    /// Which shape.
    pub shape: ShapeId,
    /// Which hand.
    pub hand: Hand,
    /// Needed by the quilts and loose patches.
    pub needed: u64,
    /// Spare patches on top.
    pub spare: u64,
}

impl Demand {
    /// Patches to cut at least.
    #[must_use]
    pub fn total(&self) -> u64 {
        self.needed + self.spare
    }
}

/// A block.
#[derive(Clone, Debug)]
pub struct Block {
    /// Name.
    pub name: String,
    /// Finished side if stated.
    pub finished: Option<Length>,
    /// Its patches: shape, role, how many, mirrored.
    pub patches: Vec<BlockPatches>,
}

/// Like patches of a block.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BlockPatches {
    /// Which shape.
    pub shape: ShapeId,
    /// Which role.
    pub role: String,
    /// How many in one block.
    pub count: u32,
    /// Wanted mirrored.
    pub mirrored: bool,
}

/// A quilt.
#[derive(Clone, Debug)]
pub struct Quilt {
    /// Name.
    pub name: String,
    /// How many just like it.
    pub copies: u32,
    /// Its blocks: block, how many in one quilt, fabric of each patch line of the block (same order as
    /// [`Block::patches`]).
    pub blocks: Vec<(usize, u32, Vec<FabricId>)>,
}

/// What the plan puts first, with the figures it needs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Aim {
    /// (money of bought length, area taken, passes, minutes).
    LeastCloth,
    /// (passes, money, area, minutes).
    FewestPasses,
    /// (minutes, money).
    LeastTime,
    /// Money + minutes at the worth of an hour (in 1/10,000 of a currency unit).
    LeastCost {
        /// Worth of an hour in 1/10,000 of a currency unit.
        hour: i64,
    },
    /// Cloth length taken + `pass` for every pass.
    Weighted {
        /// Length of cloth that a pass is worth.
        pass: Length,
    },
}

impl Aim {
    /// Its name in files.
    #[must_use]
    pub fn kind(&self) -> AimKind {
        match self {
            Self::LeastCloth => AimKind::LeastCloth,
            Self::FewestPasses => AimKind::FewestPasses,
            Self::LeastTime => AimKind::LeastTime,
            Self::LeastCost { .. } => AimKind::LeastCost,
            Self::Weighted { .. } => AimKind::Weighted,
        }
    }
}

/// The proof block: its patches by demand line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ProofBlock {
    /// Which quilt.
    pub quilt: usize,
    /// Which block.
    pub block: usize,
    /// Patches of one block: (demand line, how many), ascending.
    pub patches: Vec<(DemandId, u64)>,
}

/// Which hand a patch must have.
#[must_use]
pub fn hand(shape: &Shape, fabric: &Fabric, mirrored: bool) -> Hand {
    match (shape.handed() && !fabric.reversible, mirrored) {
        (false, _) => Hand::Any,
        (true, false) => Hand::Drawn,
        (true, true) => Hand::Mirrored,
    }
}

/// Sum of finished areas of a block's patches, for the check that they fill it.
#[must_use]
pub fn block_area(job: &Job, block: &Block) -> Area {
    block
        .patches
        .iter()
        .map(|line| job.shapes[line.shape].shape.areas().finished * i64::from(line.count))
        .sum()
}
