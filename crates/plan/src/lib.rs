//! The plan as plain data: strips and what each carries, lay-ups and what supplies each pass, figures, bounds and
//! their certificate, with the scenario echoed. Nothing here computes anything but names, digests and JSON; the
//! optimiser fills a plan, the checker judges it, the sheets print it.

use patchlay_measure::{Area, Length, Money};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

pub mod compare;
pub mod day;
mod digest;
pub mod explain;
pub mod proof;
pub mod record;
pub mod replan;

pub use digest::{plan_number, scenario_digest};
pub use patchlay_scenario::{LoadingRule, PlyRule, Strategy};
pub use proof::{Certificate, Rational, StageProof, WholePlans};

/// The version of the plan format.
pub const PLAN_VERSION: u32 = 1;

/// A whole cutting plan.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Plan {
    /// Format version: 1.
    pub patchlay_plan: u32,
    /// Program version that made it.
    pub made_by: String,
    /// Short number printed on every sheet; see [`plan_number`].
    pub number: String,
    /// Seed of the search.
    pub seed: u64,
    /// Digest of the scenario file's text; see [`scenario_digest`].
    pub scenario_digest: String,
    /// The scenario, echoed as it was read.
    pub scenario: serde_json::Value,
    /// How boards may be loaded. Left out: any fabrics share a pass, folded or flat, as high as the cutter takes.
    #[serde(default, skip_serializing_if = "Strategy::is_usual")]
    pub strategy: Strategy,
    /// Under `block_by_block`: every batch that is cut, in the order of work.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub batches: Vec<Batch>,
    /// How the search ended.
    pub outcome: Outcome,
    /// Cloth per fabric, in the order of the scenario.
    pub fabrics: Vec<FabricPlan>,
    /// Lay-ups in the order of work.
    pub layups: Vec<LayUp>,
    /// Patches by demand line, in the order of the job.
    pub patches: Vec<PatchLine>,
    /// The proof block, if asked for.
    pub proof_block: Option<ProofBlock>,
    /// All figures.
    pub figures: Figures,
    /// Where every square inch goes: one balance per fabric, in the order of the scenario.
    pub balance: Vec<Balance>,
    /// Lower bounds of the aim's figures, in the aim's order.
    pub bounds: Vec<Bound>,
    /// What proves the bounds.
    pub certificate: Certificate,
    /// How little there is to set up and to prepare at least, where that was looked for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fewest: Option<Fewest>,
}

/// Lower bounds on what there is to set up and to prepare with the strips, areas and passes of the plan, a proof block
/// laid up as it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Fewest {
    /// Distinct lay-ups.
    pub layups: u64,
    /// Lengths and cuts, strips filled as they are.
    pub pieces: u64,
}

/// How the search ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Outcome {
    /// Every figure of the aim meets its bound.
    Proved,
    /// The plan is sound; some figure is above its bound.
    WithGap,
    /// Stopped early; the plan is sound.
    Stopped,
}

/// What is cut together under `block_by_block`.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, tag = "of", rename_all = "snake_case")]
pub enum Batch {
    /// Copies of one block from the same fabrics.
    Block {
        /// Name of the block.
        block: String,
        /// Fabric of every line of the block's patches, in the order of the scenario.
        fabrics: Vec<String>,
        /// How many copies.
        copies: u64,
    },
    /// All loose patches.
    LoosePatches,
    /// All spare patches.
    SparePatches,
}

/// Cloth of one fabric.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FabricPlan {
    /// Name of the fabric.
    pub fabric: String,
    /// Strips, in the order in which they are cut.
    pub strips: Vec<Strip>,
    /// Length kept back.
    #[schemars(with = "i64")]
    pub kept_back: Length,
    /// Length lost to squaring and resquaring.
    #[schemars(with = "i64")]
    pub squaring: Length,
    /// Length taken: kept back + squaring + strips.
    #[schemars(with = "i64")]
    pub taken: Length,
    /// Length to buy, shrinkage and selling step included.
    #[schemars(with = "i64")]
    pub bought: Length,
    /// Price of it.
    #[schemars(with = "String")]
    pub money: Money,
}

/// A strip across the width of a fabric.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Strip {
    /// Name, unique in the plan: letter and number, `A3`.
    pub name: String,
    /// Width.
    #[schemars(with = "i64")]
    pub width: Length,
    /// Lengths and cuts in order along the strip.
    pub pieces: Vec<Piece>,
}

/// A folded length or a flat cut.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Piece {
    /// Name, unique in the plan: strip and lower-case letter, `A3b`.
    pub name: String,
    /// Plies it makes: 1 for a flat cut, 2 or more for a folded length.
    pub plies: u32,
    /// Fold-to-fold distance without the fold allowance; the length of a flat cut.
    #[schemars(with = "i64")]
    pub run: Length,
    /// Length along the strip.
    #[schemars(with = "i64")]
    pub length: Length,
    /// Width after trimming; the strip's width if it need not be trimmed.
    #[schemars(with = "i64")]
    pub width: Length,
}

/// One loading of a board, made one or more times.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LayUp {
    /// Name, unique in the plan: `L1`.
    pub name: String,
    /// Name of the board.
    pub board: String,
    /// Mats and where they lie.
    pub mats: Vec<MatUse>,
    /// Loaded bays, in the order in which they are laid (bottom first where they share a position).
    pub bays: Vec<BayLoad>,
    /// One entry per pass: for every bay, for every group, the piece that supplies it.
    pub passes: Vec<Vec<Vec<String>>>,
    /// Under `block_by_block`, one entry per pass: the batch that it serves, as an index into the plan's batches.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub serves: Vec<usize>,
}

/// A mat on a lay-up.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MatUse {
    /// Name of the mat.
    pub mat: String,
    /// Handle-side edge on the board (may be negative: a mat may reach past the board).
    #[schemars(with = "i64")]
    pub x: Length,
    /// Leading edge on the board.
    #[schemars(with = "i64")]
    pub y: Length,
    /// Laid with its length across the travel.
    pub turned: bool,
}

/// Plies in one bay of a lay-up.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BayLoad {
    /// Positions of the bay, as indices into the board's positions from 0, ascending.
    pub positions: Vec<usize>,
    /// Groups from the bottom up.
    pub groups: Vec<Group>,
}

/// Plies that come from one length or cut.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Group {
    /// Name of the fabric.
    pub fabric: String,
    /// Plies: 1 is a flat cut, 2 or more a folded length.
    pub plies: u32,
    /// Face of the lowest ply; faces alternate above it.
    pub first_face: Face,
    /// Which way the strip lies on the bay.
    pub way: Way,
}

/// Which face of the cloth is up.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Face {
    /// Right side up.
    Up,
    /// Right side down.
    Down,
}

impl Face {
    /// The other face.
    #[must_use]
    pub fn other(self) -> Self {
        match self {
            Self::Up => Self::Down,
            Self::Down => Self::Up,
        }
    }
}

/// Which way a strip lies on a bay.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Way {
    /// The strip's length runs along the bay's own travel-side axis.
    Along,
    /// The strip's length runs across it.
    Across,
}

/// What one demand line wants and gets.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PatchLine {
    /// Name of the fabric.
    pub fabric: String,
    /// Name of the shape.
    pub shape: String,
    /// Hand: `any`, `drawn` or `mirrored`.
    pub hand: Hand,
    /// Needed by quilts and loose patches.
    pub needed: u64,
    /// Spare patches asked for.
    pub spare: u64,
    /// Patches that the plan cuts.
    pub cut: u64,
}

/// Hand of a demand line.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Hand {
    /// Not handed, or the fabric is reversible.
    Any,
    /// As drawn.
    Drawn,
    /// Mirror image.
    Mirrored,
}

/// The proof block of a plan.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ProofBlock {
    /// How many lay-ups, from the first, yield one complete block.
    pub layups: usize,
    /// Passes they take.
    pub passes: u64,
    /// Passes of the whole plan more than without asking for the proof block first.
    pub extra_passes: i64,
    /// Length taken, all fabrics, more than without asking.
    #[schemars(with = "i64")]
    pub extra_cloth: Length,
}

/// Everything counted.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Figures {
    /// Price of all fabrics (without prices: bought area).
    #[schemars(with = "String")]
    pub money: Money,
    /// Length taken, all fabrics.
    #[schemars(with = "i64")]
    pub length_taken: Length,
    /// Length bought, all fabrics.
    #[schemars(with = "i64")]
    pub length_bought: Length,
    /// Area taken: sum of length taken x width when cut.
    #[schemars(with = "String")]
    pub area_taken: Area,
    /// Area bought: sum of length bought x stated width.
    #[schemars(with = "String")]
    pub area_bought: Area,
    /// Passes.
    pub passes: u64,
    /// Passes per board, in the order of the scenario.
    pub passes_by_board: Vec<u64>,
    /// Standard time, seconds.
    pub seconds: u64,
    /// Standard time by event, in the order of [`Event::ALL`].
    pub seconds_by_event: Vec<EventTime>,
    /// Distinct lay-ups.
    pub layups: u64,
    /// What changes from each lay-up to the next, summed over all lay-ups that follow one of the same board: one for
    /// every area (set of positions) loaded in one of the two and not, or otherwise, in the other, and one where the
    /// mats are others or lie elsewhere. A load is otherwise if its groups differ, or their order from the bottom up.
    pub changes: u64,
    /// Lengths and cuts to prepare.
    pub pieces: u64,
    /// Kinds of these: different ones by fabric, plies, run and width.
    pub kinds: u64,
    /// Of these, folded lengths.
    pub folded_lengths: u64,
    /// Lengths and cuts to trim narrower than their strip.
    pub trimmed: u64,
    /// Strips.
    pub strips: u64,
    /// Patches cut beyond what quilts and loose patches need.
    pub spare_patches: u64,
    /// Most plies in a stack.
    pub most_plies: u32,
    /// Most fabrics in a stack.
    pub most_fabrics: u32,
}

/// One line of the standard time.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct EventTime {
    /// Which event.
    pub event: Event,
    /// How often.
    pub times: u64,
    /// Seconds in all.
    pub seconds: u64,
}

/// Events of the standard time.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Event {
    /// Squaring and resquaring: once per fabric that has strips, and again after every five strips where
    /// another follows.
    Square,
    /// Per strip.
    CutStrip,
    /// Per strip.
    PressStrip,
    /// Per length or cut.
    CrossCut,
    /// Per length or cut narrower than its strip.
    Trim,
    /// Per folded length.
    Fold,
    /// Per flat cut.
    Place,
    /// Each time the board differs from the lay-up before, the first included.
    ChangeBoard,
    /// Per pass.
    Crank,
    /// Per pass.
    TurnMat,
    /// Per pass.
    LiftOut,
    /// Per pass.
    Count,
}

impl Event {
    /// All events in order of work.
    pub const ALL: [Self; 12] = [
        Self::Square,
        Self::CutStrip,
        Self::PressStrip,
        Self::CrossCut,
        Self::Trim,
        Self::Fold,
        Self::Place,
        Self::ChangeBoard,
        Self::Crank,
        Self::TurnMat,
        Self::LiftOut,
        Self::Count,
    ];
}

/// Where the cloth of one fabric goes. All areas are of cloth as it is when cut (after washing); they add up to
/// `total`.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Balance {
    /// Name of the fabric.
    pub fabric: String,
    /// Bought length x stated width: all the cloth there is.
    #[schemars(with = "String")]
    pub total: Area,
    /// Lines in the order of [`BalanceItem::ALL`]; they add up to `total`.
    pub lines: Vec<BalanceLine>,
}

/// One line of a cloth balance.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BalanceLine {
    /// What it is.
    pub item: BalanceItem,
    /// Area.
    #[schemars(with = "String")]
    pub area: Area,
}

/// What cloth becomes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum BalanceItem {
    /// Finished area of the patches needed (needed x finished area, rounded to the square unit per patch).
    FinishedPatches,
    /// Seam allowances of the patches needed: cut area less finished area.
    Seams,
    /// Spare patches: cut area of every patch beyond what is needed.
    SparePatches,
    /// Tips and gaps between the blades inside the bays' boxes: box area less patches, all plies.
    BetweenBlades,
    /// Margins: cloth of the plies outside the bays' boxes, exact size.
    Margins,
    /// Rounding up to the ruler step, fold allowances and trimmings: pieces as cut from the strip (length x strip
    /// width) less the exact cloth of their plies.
    RoundingFoldsTrimmings,
    /// Strip ends: strip area less the pieces' length x strip width, the end reserve included.
    StripEnds,
    /// Squaring and resquaring.
    Squaring,
    /// Kept back.
    KeptBack,
    /// Lost in the wash: stated width x bought length less the same after shrinkage (rounded down to the unit
    /// each way).
    Shrinkage,
    /// The remainder.
    LeftOnBolt,
}

impl BalanceItem {
    /// All lines in order; the last is the remainder.
    pub const ALL: [Self; 11] = [
        Self::FinishedPatches,
        Self::Seams,
        Self::SparePatches,
        Self::BetweenBlades,
        Self::Margins,
        Self::RoundingFoldsTrimmings,
        Self::StripEnds,
        Self::Squaring,
        Self::KeptBack,
        Self::Shrinkage,
        Self::LeftOnBolt,
    ];
}

/// A figure of the aim's order and its lower bound.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Bound {
    /// Which figure.
    pub figure: FigureKind,
    /// The plan's value, as a decimal integer: money and area in their exact units, passes, seconds, length units.
    pub value: String,
    /// The lower bound, in the same units, rounded up to the objective's step.
    pub bound: String,
    /// Proved only if the figures before it are held at the plan's values and those are not all proved.
    pub conditional: bool,
    /// Value equals bound.
    pub proved: bool,
}

/// Figures that an aim can order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum FigureKind {
    /// Money of bought length (area bought where there are no prices).
    Money,
    /// Area taken.
    Area,
    /// Passes.
    Passes,
    /// Seconds.
    Seconds,
    /// Money + time at its worth.
    Cost,
    /// Length taken + a length for every pass.
    Weighted,
}

impl Plan {
    /// The plan as JSON text, two-space indented, with a newline at the end.
    ///
    /// # Errors
    /// Only if serde_json fails, which plain data never makes it do.
    pub fn to_json(&self) -> serde_json::Result<String> {
        let mut text = serde_json::to_string_pretty(self)?;
        text.push('\n');
        Ok(text)
    }

    /// Reads a plan.
    ///
    /// # Errors
    /// The text is not JSON, or not a plan of this version.
    pub fn from_json(text: &str) -> serde_json::Result<Self> {
        serde_json::from_str(text)
    }

    /// Length taken by the fabric of that name.
    #[must_use]
    pub fn fabric(&self, name: &str) -> Option<&FabricPlan> {
        self.fabrics.iter().find(|fabric| fabric.fabric == name)
    }
}

/// JSON Schema of the plan.
#[must_use]
pub fn plan_schema() -> String {
    let schema = schemars::schema_for!(Plan);
    let mut text = serde_json::to_string_pretty(&schema).unwrap_or_default();
    text.push('\n');
    text
}
