//! What is noted while a plan is cut, as plain data. One [`Entry`] is one record of the log beside the plan; nothing
//! in a log is ever changed or taken out, an [`Note::Undo`] says that an earlier record does not count.

use patchlay_measure::Length;
use patchlay_scenario::spec::{Block, Fabric, Quilt, Work};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::Hand;

/// The version of the log format.
pub const LOG_VERSION: u32 = 1;

/// The first record of a log: which plan it belongs to.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Opening {
    /// Format version: 1.
    pub patchlay_log: u32,
    /// Number of the plan.
    pub plan: String,
    /// Digest of the scenario that was planned.
    pub scenario_digest: String,
}

/// One record.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Entry {
    /// Number of the plan, so that a record is told from another plan's even where the first record is damaged.
    pub plan: String,
    /// Its own number, from 1, ascending.
    pub number: u64,
    /// When it was written: seconds since 1970-01-01 00:00 UTC.
    pub at: u64,
    /// Who noted it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub who: Option<String>,
    /// What happened.
    pub note: Note,
}

/// Plies that lay in one area where they were fewer than planned.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Fewer {
    /// Area of the lay-up, from 1 (area A).
    pub area: usize,
    /// Group in the area, from 1, bottom up; all groups of the area together unless given, the top ones missing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub group: Option<usize>,
    /// Plies that lay there.
    pub plies: u32,
}

/// Where a group of plies lay: pass of a lay-up, area, group.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Spot {
    /// Name of the lay-up.
    pub layup: String,
    /// Pass of the lay-up, from 1.
    pub pass: u64,
    /// Area of the lay-up, from 1 (area A).
    pub area: usize,
    /// Group in the area, from 1, bottom up.
    pub group: usize,
}

/// Like patches.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Patches {
    /// Name of the fabric.
    pub fabric: String,
    /// Name of the shape.
    pub shape: String,
    /// Hand.
    pub hand: Hand,
    /// How many.
    pub patches: u64,
}

/// What happened.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "what", rename_all = "snake_case", deny_unknown_fields)]
pub enum Note {
    /// Passes of a lay-up were made.
    Passes {
        /// Name of the lay-up.
        layup: String,
        /// How many.
        passes: u64,
        /// Number of the first of them, from 1; the next that are not made unless given.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        first: Option<u64>,
        /// Areas with fewer plies than planned, in each of these passes.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        fewer: Vec<Fewer>,
    },
    /// Another fabric lay where the card names one.
    WrongFabric {
        /// Where.
        spot: Spot,
        /// Name of the fabric that lay there; none of the plan's if left out.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        instead: Option<String>,
        /// Name of the length or cut that lay there, if it was one of the plan's.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        used: Option<String>,
    },
    /// Plies of a pass came out spoiled.
    PliesSpoiled {
        /// Where.
        spot: Spot,
        /// How many plies.
        plies: u32,
    },
    /// Patches were spoiled after they were cut.
    PatchesSpoiled {
        /// Which.
        patches: Patches,
    },
    /// Good patches are there that no recorded pass has cut.
    PatchesFound {
        /// Which.
        patches: Patches,
    },
    /// A strip, length or cut was spoiled before it lay under a roller.
    ClothSpoiled {
        /// Name of the strip, length or cut.
        name: String,
    },
    /// Length that is left on a bolt for strips, as measured now; what is kept back is not counted.
    BoltShort {
        /// Name of the fabric.
        fabric: String,
        /// Length left.
        #[schemars(with = "i64")]
        left: Length,
    },
    /// Usable width of a bolt, as measured now.
    BoltNarrow {
        /// Name of the fabric.
        fabric: String,
        /// Width when cut.
        #[schemars(with = "i64")]
        width: Length,
    },
    /// Strips were cut.
    StripsCut {
        /// Their names.
        strips: Vec<String>,
    },
    /// Lengths and cuts of the next passes of a lay-up lie ready on its tray.
    TrayPrepared {
        /// Name of the lay-up.
        layup: String,
        /// How many passes.
        passes: u64,
    },
    /// Copies of a board were damaged.
    BoardDamaged {
        /// Name of the board.
        board: String,
        /// How many copies.
        copies: u32,
    },
    /// Mats were damaged.
    MatDamaged {
        /// Name of the mat.
        mat: String,
        /// How many.
        mats: u32,
    },
    /// Somebody helps: came on top, or does other work than before.
    PersonHelps {
        /// Name of the helper.
        person: String,
        /// What they do from now on, and nothing else.
        can: Vec<Work>,
        /// Their speed in percent of the standard times; 100 unless given.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        speed_percent: Option<u32>,
    },
    /// A helper has gone.
    PersonGone {
        /// Name of the helper.
        person: String,
    },
    /// A quilt came on top.
    QuiltAdded {
        /// The quilt, as in a scenario.
        quilt: Quilt,
    },
    /// Quilts came on top, with fabrics and blocks of their own.
    QuiltsAdded {
        /// Fabrics that come with them, as in a scenario; without a price they are gifts.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        fabrics: Vec<Fabric>,
        /// Blocks that come with them, as in a scenario, of shapes that it has.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        blocks: Vec<Block>,
        /// The quilts, as in a scenario.
        quilts: Vec<Quilt>,
    },
    /// A quilt is not wanted any more.
    QuiltDropped {
        /// Name of the quilt.
        quilt: String,
        /// How many copies of it; all unless given.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        copies: Option<u32>,
    },
    /// An earlier record does not count.
    Undo {
        /// Number of the record.
        record: u64,
    },
}

/// The records that count: those that no undo that counts itself takes back, in their order.
#[must_use]
pub fn counting(entries: &[Entry]) -> Vec<&Entry> {
    let mut undone = std::collections::BTreeSet::new();
    for entry in entries.iter().rev() {
        if let Note::Undo { record } = entry.note
            && !undone.contains(&entry.number)
        {
            undone.insert(record);
        }
    }
    let counts = |entry: &&Entry| !undone.contains(&entry.number) && !matches!(entry.note, Note::Undo { .. });
    entries.iter().filter(counts).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn entries(undone: &[Option<u64>]) -> Vec<Entry> {
        let note = |undone: Option<u64>| match undone {
            Some(record) => Note::Undo { record },
            None => Note::PersonGone { person: "someone".to_owned() },
        };
        let entry = |(at, undone): (usize, &Option<u64>)| Entry {
            plan: "0000-0000".to_owned(),
            number: at as u64 + 1,
            at: 0,
            who: None,
            note: note(*undone),
        };
        undone.iter().enumerate().map(entry).collect()
    }

    #[test]
    fn an_undone_undo_counts_no_more() {
        let numbers = |undone: &[Option<u64>]| {
            counting(&entries(undone)).iter().map(|entry| entry.number).collect::<Vec<_>>()
        };
        assert_eq!(numbers(&[None, None]), [1, 2]);
        assert_eq!(numbers(&[None, None, Some(1)]), [2]);
        assert_eq!(numbers(&[None, None, Some(1), Some(3)]), [1, 2]);
        assert_eq!(numbers(&[None, None, Some(1), Some(3), Some(4)]), [2]);
    }
}
