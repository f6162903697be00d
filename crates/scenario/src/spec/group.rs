//! Serde mirror of what a group adds to a scenario: bags, cutters and boards by number, helpers, the day, who brought
//! which cloth, and label sheets. As in the rest of the file, lengths, times of day and percentages stay as typed.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::LengthText;

/// Cutting for a group: everything that one person at one cutter does not need.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Group {
    /// How patches are divided into bags.
    pub bags: Bags,
    /// The cutters in the hall; the job's own, once, unless stated. None may exceed `cutter`, which is the largest.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub cutters: Vec<GroupCutter>,
    /// Boards of which there is more than one copy, each once.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub copies: Vec<BoardCopies>,
    /// Irons, rulers, tables and trays; assumed where left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub equipment: Option<Equipment>,
    /// Who helps. Without helpers there are bags and an order of work, but no schedule.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub helpers: Vec<Helper>,
    /// The day: when it starts, slack, rests.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub day: Option<DayRules>,
    /// Who brought which cloth. A fabric that is not listed was bought by the group.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub brought: Vec<Brought>,
    /// The label sheets at hand.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub labels: Option<Labels>,
}

/// How patches are divided into bags.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Bags {
    /// What has a bag of its own.
    pub by: BagsBy,
    /// Where spare patches go. Must be stated: some want them at home with the quilt, some at the hall.
    pub spares: SparesGo,
    /// Most bags open at a time, from the first patch cut for it to the last; no limit unless stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub most_open: Option<u32>,
}

/// What has a bag of its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum BagsBy {
    /// Every quilt, every copy of it its own.
    Quilt,
    /// Every single block of every quilt, as for a block party.
    Block,
    /// Every person or party that quilts are `for`.
    Helper,
}

/// Where spare patches go.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum SparesGo {
    /// Into one bag of spares for all.
    OneBag,
    /// Shared out among the bags that need such patches, in proportion.
    SharedOut,
}

/// Cutters of one kind: a class of stations.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct GroupCutter {
    /// What they are called.
    pub name: String,
    /// Widest board that goes between the rollers.
    pub bed_width: LengthText,
    /// Longest board that can be handled.
    pub longest_board: LengthText,
    /// Most plies of quilting cotton in a stack.
    pub ply_limit: u32,
    /// How many of them, at most 50; 1 unless stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub number: Option<u32>,
}

/// Copies of a board, told apart by a letter.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BoardCopies {
    /// Which board.
    pub board: String,
    /// How many there are, at most 100.
    pub copies: u32,
}

/// What is shared in the hall.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Equipment {
    /// Irons with their boards; 1 unless stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub irons: Option<u32>,
    /// Rulers with hand cutter and mat; 1 unless stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rulers: Option<u32>,
    /// Places at tables, for cutting strips, folding, counting and checking; 4 unless stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tables: Option<u32>,
    /// Most filled trays that wait for a cutter; 3 unless stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub trays_ahead: Option<u32>,
    /// Most passes whose lengths and cuts one tray holds; 6 unless stated. The passes of a tray are cranked without a
    /// break, and a lay-up of more passes is made in several runs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub passes_a_tray: Option<u32>,
}

/// A person who helps.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Helper {
    /// Who.
    pub name: String,
    /// What they can do.
    pub can: Vec<Work>,
    /// Their speed in percent of the standard times; 100 unless stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub speed_percent: Option<u32>,
    /// When they come, `"9:30"`; the start of the day unless stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from: Option<String>,
    /// When they go, `"13:00"`; at the end unless stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub to: Option<String>,
}

/// Kinds of work, in the order in which cloth passes through the hall.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Work {
    /// Pressing cloth for strips.
    Press,
    /// Squaring, and cutting strips.
    Strips,
    /// Cutting lengths and cuts from strips, trimming, fan-folding, and placing them on a tray.
    Fold,
    /// Changing the board, cranking, turning mats and lifting the cut stacks off the board.
    Crank,
    /// Counting what was lifted out, and sorting it into bags.
    LiftOut,
    /// Checking a bag against its list.
    CheckBags,
}

impl Work {
    /// All kinds in order.
    pub const ALL: [Self; 6] =
        [Self::Press, Self::Strips, Self::Fold, Self::Crank, Self::LiftOut, Self::CheckBags];
}

/// The day.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DayRules {
    /// When work starts, `"9:00"`, which is assumed unless stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub starts: Option<String>,
    /// Slack added to every standard time, percent; 20 unless stated (common practice, no source).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub slack_percent: Option<u32>,
    /// Seconds of rest for the arms that every pass brings, taken at the end of its run; 10 unless stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rest_per_pass: Option<u32>,
    /// Seconds to lay one part of a lifted stack into its bag; 10 unless stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sort_part: Option<u32>,
    /// Seconds to check one line of a bag's list; 15 unless stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub check_line: Option<u32>,
}

/// Who brought a cloth.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Brought {
    /// Which fabric. Without a price it is a gift.
    pub fabric: String,
    /// Who brought it.
    pub by: String,
    /// Who takes what is left of it; who brought it unless stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub leftovers_to: Option<String>,
}

/// A sheet of labels. All of them must fit on the paper: letter where the scenario is in inches, A4 where it is metric,
/// unless another is chosen when the pages are made. A label is at least 1 in (2.5 cm) wide and 3/8 in (1 cm) high.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Labels {
    /// Labels below one another.
    pub rows: u32,
    /// Labels side by side.
    pub columns: u32,
    /// Width of one label.
    pub width: LengthText,
    /// Height of one label.
    pub height: LengthText,
    /// From the left edge of the sheet to the first label; centred unless stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub left: Option<LengthText>,
    /// From the top edge of the sheet to the first label; centred unless stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub top: Option<LengthText>,
    /// Gap between columns; 0 unless stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gap_across: Option<LengthText>,
    /// Gap between rows; 0 unless stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gap_down: Option<LengthText>,
}
