//! Why the figures of a plan are what they are, as plain data: what sets the passes of each board, where the cloth of
//! each fabric goes, and what a change would do. Nothing here computes anything.

use patchlay_measure::{Area, Length, Money};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::compare::found;
use crate::{Bound, Figures, Outcome, Rational};

/// The version of the explanation's format.
pub const EXPLANATION_VERSION: u32 = 1;

/// A plan explained.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Explanation {
    /// Format version: 1.
    pub patchlay_explanation: u32,
    /// Program version that made it.
    pub made_by: String,
    /// The plan's number.
    pub plan: String,
    /// Seed of the searches.
    pub seed: u64,
    /// Effort of the searches.
    pub effort: u32,
    /// What sets the passes, by board, in the order of the scenario.
    pub boards: Vec<BoardWhy>,
    /// Where the cloth goes, by fabric, in the order of the scenario.
    pub fabrics: Vec<FabricWhy>,
    /// What changes would do, each planned again; the first changes nothing.
    pub changes: Vec<Change>,
    /// One selling step less and one more, for every fabric that is bought.
    pub steps: Vec<StepWhy>,
}

/// What sets the passes of a board.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BoardWhy {
    /// Name of the board.
    pub board: String,
    /// Passes made.
    pub passes: u64,
    /// Plies that the board takes.
    pub ply_limit: u32,
    /// Every position, then every other place where cloth of several areas meets, then pairs kept apart.
    pub points: Vec<PointWhy>,
    /// Passes by fabric, where a pass holds one fabric; else empty.
    pub by_fabric: Vec<FabricPasses>,
}

/// The load of one point of a board over all passes.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PointWhy {
    /// Which point.
    pub at: Place,
    /// Plies that lie there in all passes together.
    pub plies: u64,
    /// The same in full stacks: every ply counts 1 / (most plies of its fabric on this board).
    pub stacks: Rational,
    /// Full stacks rounded up: passes that this point needs by itself.
    pub needs: u64,
    /// It needs every pass that is made.
    pub full: bool,
    /// Plies, of a fabric that stacks as high as the board takes, that would still fit in the passes made.
    pub room: u64,
}

/// A point of a board.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Place {
    /// A position, by its label.
    Position(String),
    /// Where the cloth of these areas overlaps; each area by the labels of its positions.
    Overlap(Vec<Vec<String>>),
    /// Two areas that are never loaded in one pass; each by the labels of its positions.
    Apart(Vec<String>, Vec<String>),
}

/// Passes of one fabric on a board where a pass holds one fabric.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FabricPasses {
    /// Name of the fabric.
    pub fabric: String,
    /// Passes made.
    pub passes: u64,
    /// Passes that its fullest point needs.
    pub needs: u64,
}

/// Where the cloth of a fabric goes.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FabricWhy {
    /// Name of the fabric.
    pub fabric: String,
    /// What a strip can carry: usable width less the end reserve.
    #[schemars(with = "i64")]
    pub capacity: Length,
    /// The strips, in the order of the plan.
    pub strips: Vec<StripWhy>,
    /// Length lost to squaring before the first strip.
    #[schemars(with = "i64")]
    pub squaring: Length,
    /// Length lost to squaring again.
    #[schemars(with = "i64")]
    pub squaring_again: Length,
    /// Length kept at the end of every strip.
    #[schemars(with = "i64")]
    pub end_reserve: Length,
    /// Cloth of all end reserves.
    #[schemars(with = "String")]
    pub end_reserves: Area,
    /// Cloth of all strips beyond what they carry, end reserves left out.
    #[schemars(with = "String")]
    pub strip_ends: Area,
    /// Length taken off the bolt.
    #[schemars(with = "i64")]
    pub taken: Length,
    /// Length that the wash takes off what must be bought.
    #[schemars(with = "i64")]
    pub shrinkage: Length,
    /// Length bought only because cloth is sold in steps.
    #[schemars(with = "i64")]
    pub rounding: Length,
    /// Price of it.
    #[schemars(with = "String")]
    pub rounding_money: Money,
    /// Length bought.
    #[schemars(with = "i64")]
    pub bought: Length,
}

/// How full a strip is.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StripWhy {
    /// Name of the strip.
    pub strip: String,
    /// Lengths and cuts on it, end to end.
    #[schemars(with = "i64")]
    pub carries: Length,
}

/// A change and the plan found with it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Change {
    /// What is changed.
    pub what: Changed,
    /// The plan as it is keeps to the changed rules too.
    pub still_fits: bool,
    /// The plan found, or why there is none.
    #[serde(with = "found")]
    #[schemars(with = "found::Found<Replanned>")]
    pub plan: Result<Replanned, String>,
}

/// What is changed.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Changed {
    /// Nothing: the same search for the job as it is, against which the others are held.
    Nothing,
    /// Stacks may be one ply higher.
    OnePlyMore {
        /// Plies that the cutter then takes.
        to: u32,
    },
    /// The usable width of some fabrics is less.
    Narrower {
        /// Their names.
        fabrics: Vec<String>,
        /// By how much.
        #[schemars(with = "i64")]
        by: Length,
    },
}

/// What is known of a plan that was made under a change.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Replanned {
    /// Number of the plan.
    pub number: String,
    /// How its search ended.
    pub outcome: Outcome,
    /// Its figures.
    pub figures: Figures,
    /// The figures of the aim with their bounds.
    pub bounds: Vec<Bound>,
}

/// One selling step of a fabric less, and one more, the other fabrics bought at most as now.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StepWhy {
    /// Name of the fabric.
    pub fabric: String,
    /// The selling step.
    #[schemars(with = "i64")]
    pub step: Length,
    /// Length bought now.
    #[schemars(with = "i64")]
    pub bought: Length,
    /// Length taken that may not be passed to buy a step less.
    #[schemars(with = "i64")]
    pub less_means: Length,
    /// Least length taken of this fabric in any plan, proved.
    #[schemars(with = "i64")]
    pub least: Length,
    /// A step less.
    pub less: Step,
    /// A step more.
    pub more: Step,
    /// The search was stopped early: more may be found.
    pub stopped: bool,
}

/// What is known of buying a step less or a step more.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Step {
    /// A step less: proved that no plan can do with it. A step more: proved that it saves no pass.
    Proved,
    /// This was found.
    Found {
        /// Figures of the plan.
        figures: Box<Figures>,
        /// No plan that buys no more than this takes fewer passes.
        fewest: u64,
    },
    /// Nothing was found that does with a step less, or that a step more would save; it is not ruled out.
    Open {
        /// No plan that buys no more than this takes fewer passes.
        fewest: u64,
    },
    /// It was not asked, for this reason.
    NotAsked(String),
}

impl StripWhy {
    /// How full the strip is, in percent of what it can carry, rounded down.
    #[must_use]
    pub fn percent(&self, capacity: Length) -> i64 {
        self.carries.units() * 100 / capacity.units().max(1)
    }
}
