//! A comparison of strategies as plain data: a row for each, with the figures of its checked plan, and the trade-off
//! curve between cloth, passes and minutes.

use patchlay_measure::Length;
use patchlay_scenario::Strategy;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::{Bound, Figures, Outcome};

/// The version of the comparison format.
pub const COMPARISON_VERSION: u32 = 1;

/// Strategies side by side.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Comparison {
    /// Format version: 1.
    pub patchlay_comparison: u32,
    /// Program version that made it.
    pub made_by: String,
    /// Digest of the scenario file's text.
    pub scenario_digest: String,
    /// Seed of the searches.
    pub seed: u64,
    /// Effort of the searches.
    pub effort: u32,
    /// One row for every strategy.
    pub rows: Vec<Row>,
    /// The row to take, if any has a plan.
    pub recommended: Option<usize>,
    /// Plans that no other plan found beats in cloth, passes and minutes together, by cloth taken. Every one keeps to the
    /// scenario with mixed loading, folded or flat as suits.
    pub curve: Vec<Point>,
    /// The least that cloth may cost and the fewest passes there may be, for the curve's plans: each the best value found,
    /// with its lower bound.
    pub ends: Vec<Bound>,
    /// Where a proof block is asked for: the fewest passes of a plan that does not cut it first, with their lower bound.
    pub passes_without_proof_block: Option<Bound>,
    /// What the job would come to without each board, and with each board that is thought of; mixed loading, folded or
    /// flat as suits.
    pub boards: Vec<BoardRow>,
}

/// What a lay-up is worth, in seconds: a card to read, a board to set up, a stack to get wrong. An assumption of ours, by
/// which the search weighs lay-ups against time where cloth or passes come first, and by which a row is recommended.
pub const LAYUP: u32 = 450;

/// What a board changes.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BoardRow {
    /// Name of the board.
    pub board: String,
    /// The plan without it, if it is owned; with it, if it is thought of.
    pub owned: bool,
    /// The plan's figures, or why there is none.
    #[serde(with = "found")]
    #[schemars(with = "found::Found<Figures>")]
    pub figures: Result<Figures, String>,
}

/// A strategy and the plan found for it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Row {
    /// The strategy.
    pub strategy: Strategy,
    /// Its plan, or why there is none.
    #[serde(with = "found")]
    #[schemars(with = "found::Found<RowPlan>")]
    pub plan: Result<RowPlan, String>,
    /// The row that is at least as good in everything, and in what this one is worse.
    pub never_better: Option<NeverBetter>,
}

/// What is known of a row's plan.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RowPlan {
    /// Number of the plan.
    pub number: String,
    /// Strategy under which the plan was made: the row's own, or a stricter one whose plan is better than what was
    /// found for the row itself (a plan of flat cuts is a plan of either). Planning under it gives this plan.
    pub made_as: Strategy,
    /// How its search ended.
    pub outcome: Outcome,
    /// Its figures.
    pub figures: Figures,
    /// The first figure of the aim and its lower bound.
    pub bound: Bound,
    /// The bound is that of the same job with fewer rules (loading, plies); this strategy's may be higher.
    pub bound_of_freer_rules: bool,
}

/// Why a row is never the one to take.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct NeverBetter {
    /// The row that is at least as good in everything.
    pub than: usize,
    /// In plain words.
    pub reason: String,
}

/// A point of the trade-off curve.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Point {
    /// What was asked for.
    pub asked: Asked,
    /// Number of its plan.
    pub number: String,
    /// Its figures.
    pub figures: Figures,
}

/// What a point of the curve was asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Asked {
    /// The cloth end.
    LeastCloth,
    /// Cloth and passes together, a pass counted as so much cloth.
    Together(#[schemars(with = "i64")] Length),
    /// The passes end.
    FewestPasses,
    /// What the scenario asks for: the plan of a row.
    Row(usize),
}

/// What was found, or why nothing was, as it stands in files.
pub(crate) mod found {
    use schemars::JsonSchema;
    use serde::{Deserialize, Deserializer, Serialize, Serializer};

    /// `{"found": …}` or `{"none_because": "…"}`.
    #[derive(Serialize, Deserialize, JsonSchema)]
    #[serde(rename_all = "snake_case")]
    pub(crate) enum Found<T> {
        /// What was found.
        Found(T),
        /// Why nothing was.
        NoneBecause(String),
    }

    pub(crate) fn serialize<T: Serialize, S: Serializer>(
        found: &Result<T, String>,
        serializer: S,
    ) -> Result<S::Ok, S::Error> {
        let found = match found {
            Ok(found) => Found::Found(found),
            Err(reason) => Found::NoneBecause(reason.clone()),
        };
        found.serialize(serializer)
    }

    pub(crate) fn deserialize<'de, T: Deserialize<'de>, D: Deserializer<'de>>(
        deserializer: D,
    ) -> Result<Result<T, String>, D::Error> {
        Ok(match Found::deserialize(deserializer)? {
            Found::Found(found) => Ok(found),
            Found::NoneBecause(reason) => Err(reason),
        })
    }
}

impl Comparison {
    /// The comparison as JSON text, two-space indented, with a newline at the end.
    ///
    /// # Errors
    /// Only if serde_json fails, which plain data never makes it do.
    pub fn to_json(&self) -> serde_json::Result<String> {
        let mut text = serde_json::to_string_pretty(self)?;
        text.push('\n');
        Ok(text)
    }
}

impl Bound {
    /// How far the value lies above its bound, in tenths of a percent of the value, rounded up; none where either is
    /// no number.
    #[must_use]
    pub fn gap_tenths(&self) -> Option<u32> {
        let (value, bound): (i128, i128) = (self.value.parse().ok()?, self.bound.parse().ok()?);
        if value <= 0 {
            return Some(0);
        }
        u32::try_from(((value - bound).max(0) * 1_000 + value - 1) / value).ok()
    }
}
