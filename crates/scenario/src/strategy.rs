//! How boards may be loaded: the rules that a plan follows beyond what the scenario says.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// How boards may be loaded. The usual strategy rules nothing out.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(deny_unknown_fields)]
pub struct Strategy {
    /// How fabrics share passes.
    pub loading: LoadingRule,
    /// How plies are made.
    pub plies: PlyRule,
    /// Most plies in a stack, below the cutter's own limit. None: as high as the cutter takes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ply_limit: Option<u32>,
}

impl Strategy {
    /// Whether it rules nothing out.
    #[must_use]
    pub fn is_usual(&self) -> bool {
        *self == Self::default()
    }
}

/// How fabrics share passes.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum LoadingRule {
    /// Any fabrics of any blocks and quilts share a pass.
    #[default]
    Mixed,
    /// A pass holds one fabric.
    FabricByFabric,
    /// A pass serves one batch of like blocks.
    BlockByBlock,
}

impl LoadingRule {
    /// All of them, the freest last.
    pub const ALL: [Self; 3] = [Self::BlockByBlock, Self::FabricByFabric, Self::Mixed];

    /// Its name in words.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Mixed => "mixed",
            Self::FabricByFabric => "fabric by fabric",
            Self::BlockByBlock => "block by block",
        }
    }
}

/// How plies are made.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum PlyRule {
    /// Folded lengths and flat cuts, as suits.
    #[default]
    Either,
    /// Every ply a flat cut.
    Flat,
    /// The plies of one fabric in one area of one pass come from folded lengths; a flat cut only for a single ply.
    Folded,
}

impl PlyRule {
    /// All of them, the freest last.
    pub const ALL: [Self; 3] = [Self::Folded, Self::Flat, Self::Either];

    /// Its name in words.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Either => "either",
            Self::Flat => "flat",
            Self::Folded => "folded",
        }
    }
}
