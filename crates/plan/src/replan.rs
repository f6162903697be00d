//! What becomes of a plan in the middle of the day, as plain data: which passes stay, which fall away and why, what is
//! cut anew to make up for them, and a count that shows that everything wanted comes out.

use patchlay_measure::Length;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use crate::digest::hex;
use crate::{Hand, Plan};

/// The version of the format.
pub const REPLAN_VERSION: u32 = 1;

/// A plan as it goes on, with a supplement where one is needed.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Replan {
    /// Format version: 1.
    pub patchlay_replan: u32,
    /// Program version that made it.
    pub made_by: String,
    /// Short number printed on its sheets; see [`replan_number`].
    pub number: String,
    /// Number of the plan that goes on.
    pub plan: String,
    /// Length of the log that was read, bytes.
    pub log_bytes: u64,
    /// Records in it that count.
    pub records: u64,
    /// What happened, in words, in the order of the log.
    pub changes: Vec<String>,
    /// Lay-ups whose passes are all made.
    pub done: Vec<String>,
    /// Lay-ups with passes that are still to be made as their cards say, in the order of work.
    pub kept: Vec<Kept>,
    /// Lay-ups with passes that are not to be made, in the order of work.
    pub dropped: Vec<Dropped>,
    /// No fewer lay-ups could change for want of cloth, those aside that change for other reasons; otherwise fewer were
    /// not looked for to the end.
    pub fewest_changed: bool,
    /// Strips of the plan that are still to be cut, in the order of the plan.
    pub strips: Vec<StripLeft>,
    /// Strips of the supplement that are taken from cloth already cut.
    pub on_hand: Vec<OnHand>,
    /// What is left of each bolt and what must be bought, in the order of the scenario.
    pub cloth: Vec<ClothLeft>,
    /// Patches wanted and where they come from, one line for every fabric, shape and hand.
    pub recount: Vec<Recount>,
    /// What is cut anew, a plan of its own; none if nothing is missing.
    pub supplement: Option<Plan>,
}

/// A lay-up that goes on.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Kept {
    /// Name of the lay-up.
    pub layup: String,
    /// Its passes that are still to be made, from 1.
    pub passes: Vec<u64>,
}

/// A lay-up of which passes fall away.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Dropped {
    /// Name of the lay-up.
    pub layup: String,
    /// The passes that fall away, from 1.
    pub passes: Vec<Lost>,
}

/// A pass that falls away.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Lost {
    /// Number of the pass, from 1.
    pub pass: u64,
    /// Why.
    pub reason: Reason,
}

/// Why a pass falls away.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "because", rename_all = "snake_case", deny_unknown_fields)]
pub enum Reason {
    /// No whole copy of its board is left.
    Board,
    /// Too few whole mats are left.
    Mat {
        /// Name of the mat.
        mat: String,
    },
    /// A length or cut was spoiled or used elsewhere.
    Piece {
        /// Its name.
        piece: String,
    },
    /// The cloth is too narrow for a length or cut.
    Narrow {
        /// Its name.
        piece: String,
    },
    /// What is left of the bolt does not do for a strip.
    Short {
        /// Name of the strip.
        strip: String,
    },
    /// Nothing that it cuts is missing.
    NotWanted,
}

/// A strip of the plan that is still to be cut.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StripLeft {
    /// Name of the strip.
    pub strip: String,
    /// Lengths and cuts of it that are left out, because the cloth is too narrow or their passes fall away.
    pub without: Vec<String>,
}

/// A strip of the supplement that is not cut from the bolt.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OnHand {
    /// Name of the supplement's strip.
    pub strip: String,
    /// A whole strip of the plan that it is taken from; or else, one by one, the plan's length or cut that each length
    /// or cut of the supplement's strip is taken from.
    pub from: Vec<String>,
}

/// What is left of a bolt.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ClothLeft {
    /// Name of the fabric.
    pub fabric: String,
    /// Usable width when cut, as found.
    #[schemars(with = "i64")]
    pub width: Length,
    /// Length left for strips.
    #[schemars(with = "i64")]
    pub left: Length,
    /// Length of it that the plan's strips still take, squaring included.
    #[schemars(with = "i64")]
    pub kept: Length,
    /// Length of it that strips of the supplement take: the widest first, each as long as the cloth does for it.
    #[schemars(with = "i64")]
    pub supplement: Length,
    /// Strips of the supplement for which there is no cloth left.
    pub beyond: u64,
    /// Length to buy for them: squaring, shrinkage and selling step included.
    #[schemars(with = "i64")]
    pub buy: Length,
}

/// Patches wanted of one kind and where they come from.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Recount {
    /// Name of the fabric.
    pub fabric: String,
    /// Name of the shape.
    pub shape: String,
    /// Hand.
    pub hand: Hand,
    /// Wanted by the quilts that are wanted now, spare patches included.
    pub wanted: u64,
    /// Good patches that are there.
    pub good: u64,
    /// Patches that the kept passes cut.
    pub kept: u64,
    /// Patches that the supplement cuts.
    pub supplement: u64,
}

impl Replan {
    /// As JSON text, two-space indented, with a newline at the end.
    ///
    /// # Errors
    /// Only if serde_json fails, which plain data never makes it do.
    pub fn to_json(&self) -> serde_json::Result<String> {
        Ok(serde_json::to_string_pretty(self)? + "\n")
    }

    /// Reads it.
    ///
    /// # Errors
    /// The text is not JSON, or not of this version.
    pub fn from_json(text: &str) -> serde_json::Result<Self> {
        serde_json::from_str(text)
    }
}

/// The first eight hexadecimal digits of the SHA-256 of its JSON without its number, in two groups of four.
///
/// # Errors
/// Only if serde_json fails, which plain data never makes it do.
pub fn replan_number(replan: &Replan) -> serde_json::Result<String> {
    let bare = Replan { number: String::new(), ..replan.clone() };
    let digest = hex(&Sha256::digest(serde_json::to_string(&bare)?.as_bytes()));
    Ok(format!("{}-{}", &digest[..4], &digest[4..8]))
}

/// JSON Schema of it.
#[must_use]
pub fn replan_schema() -> String {
    let schema = schemars::schema_for!(Replan);
    serde_json::to_string_pretty(&schema).unwrap_or_default() + "\n"
}
