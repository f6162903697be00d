//! The day of a group as plain data: which patches of which pass go into which bag, the order of work, who does
//! what at which station, and who pays what. It belongs to one [`Plan`](crate::Plan), which says what is cut.

use patchlay_measure::Length;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

pub use patchlay_scenario::spec::Work;

use crate::{FigureKind, Hand};

/// The version of the day format.
pub const DAY_VERSION: u32 = 1;

/// A group's day.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Day {
    /// Format version: 1.
    pub patchlay_day: u32,
    /// Number of the plan that is cut; for the rest of a day that has begun, of the replan.
    pub plan: String,
    /// Set where this is the rest of a day that has begun.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rest: Option<Rest>,
    /// Short number printed on every sheet of the day; see [`day_number`].
    pub number: String,
    /// Every bag, numbered from 1 in this order. A bag of spares, if there is one, is the last.
    pub bags: Vec<Bag>,
    /// Where every patch that is cut goes, by run in the order of work, pass and position.
    pub lots: Vec<Lot>,
    /// Strips as they are pressed and cut, numbered from 1: of one fabric, at most five. The batches of a fabric are pressed
    /// in this order, one after the other, and cut in this order, one after the other; it is squared before its first strip
    /// and after every five.
    pub batches: Vec<Batch>,
    /// Runs in the order of work, numbered from 1. Every pass of the plan is in one of them.
    pub runs: Vec<Run>,
    /// What is counted.
    pub figures: DayFigures,
    /// Who does what when, if helpers are listed.
    pub schedule: Option<Schedule>,
    /// Who pays what, if the job has prices.
    pub money: Option<MoneyPlan>,
    /// What cutting together saves.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub alone: Option<Alone>,
}

/// The rest of a day that has begun. Runs are of passes that are still to be made and batches of strips that are still to
/// be cut; bags that nothing comes to any more are not checked again, and trays that lay ready are not filled again. All
/// times are counted from its own start.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Rest {
    /// Minutes after midnight of the first day when it begins.
    pub starts: u32,
}

/// Strips of a fabric that are pressed and cut together.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Batch {
    /// Name of the fabric.
    pub fabric: String,
    /// Names of the strips, in the order in which they are cut.
    pub strips: Vec<String>,
}

/// Passes of one lay-up that are cranked without a break, from one tray.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Run {
    /// Name of the lay-up.
    pub layup: String,
    /// First pass of the lay-up, from 1.
    pub first: u64,
    /// How many.
    pub passes: u64,
}

/// A bag and what must be in it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Bag {
    /// What stands on it.
    pub name: String,
    /// Where it goes; empty if the scenario does not say.
    pub destination: String,
    /// Needed before the others.
    pub urgent: bool,
    /// Its list.
    pub lines: Vec<BagLine>,
}

/// Like patches in a bag.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BagLine {
    /// Name of the fabric.
    pub fabric: String,
    /// Name of the shape.
    pub shape: String,
    /// Hand.
    pub hand: Hand,
    /// Needed by what the bag is for.
    pub needed: u64,
    /// Put in on top.
    pub spare: u64,
    /// Of all these, patches that are there when the rest of a day begins.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub there: u64,
}

impl BagLine {
    /// Patches that still come.
    #[must_use]
    pub fn to_come(&self) -> u64 {
        self.needed.saturating_add(self.spare).saturating_sub(self.there)
    }
}

#[allow(clippy::trivially_copy_pass_by_ref, reason = "serde hands over a reference")]
fn is_zero(count: &u64) -> bool {
    *count == 0
}

/// Like patches that one position yields in one pass, and the bags they go to.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Lot {
    /// Name of the lay-up.
    pub layup: String,
    /// Pass of the lay-up, from 1.
    pub pass: u64,
    /// Index into the board's positions, from 0.
    pub position: usize,
    /// Name of the fabric.
    pub fabric: String,
    /// Name of the shape.
    pub shape: String,
    /// Hand.
    pub hand: Hand,
    /// Bags and how many patches each gets.
    pub to: Vec<Part>,
}

impl Lot {
    /// Patches in it.
    #[must_use]
    pub fn patches(&self) -> u64 {
        self.to.iter().map(|part| part.patches).sum()
    }
}

/// A part of a lot.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Part {
    /// Number of the bag, from 1.
    pub bag: usize,
    /// Patches.
    pub patches: u64,
}

/// What is counted of a day.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DayFigures {
    /// Lots.
    pub lots: u64,
    /// Parts of lots: every one is counted out and laid into its bag.
    pub parts: u64,
    /// Parts of lots there must be at least: as many as there are lots, and for every fabric, shape and hand as many as
    /// there are bags that need such patches.
    pub parts_at_least: u64,
    /// Seconds that sorting takes, standard time without slack.
    pub sorting_seconds: u64,
    /// Most bags open at a time: a bag is open from the first run in the order of work that cuts a patch for it to the
    /// last. The bag of spares does not count. In the rest of a day, bags that have patches and get more are open from
    /// the start.
    pub most_open: u64,
    /// Fewest bags open at a time that any order of these runs can have, as far as it was found out.
    pub open_at_least: u64,
    /// Runs made, in the order of work, until the last urgent bag is full; 0 if none is urgent.
    pub urgent_after: u64,
    /// Times that a run in the order of work is on another board than the one before, the first included. With a
    /// schedule: the same for board and copy, station by station.
    pub board_changes: u64,
}

/// Who does what when. All times are seconds after the start of the day, slack included.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Schedule {
    /// Every task, by its start.
    pub tasks: Vec<Task>,
    /// When the last task ends.
    pub finish: u64,
    /// No schedule of these runs, strips and bags ends earlier.
    pub finish_at_least: u64,
    /// What sets that bound, in words.
    pub held_by: String,
    /// What one more of something would do, each planned anew.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub one_more: Vec<OneMore>,
}

/// Something that one helper does without a break.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Task {
    /// Kind of work.
    pub work: Work,
    /// On what.
    pub on: On,
    /// Name of the helper.
    pub helper: String,
    /// For cranking: where and with what.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<At>,
    /// Start.
    pub start: u64,
    /// End.
    pub end: u64,
}

/// What a task is on.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "snake_case")]
pub enum On {
    /// A batch of strips, by its number.
    Batch(usize),
    /// A run, by its number.
    Run(usize),
    /// A bag, by its number.
    Bag(usize),
}

/// A station and the copy of the board on it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct At {
    /// Name of the kind of cutter.
    pub cutter: String,
    /// Which of them, from 1.
    pub number: u32,
    /// Which copy of the board, from 1: A, B, …
    pub copy: u32,
}

/// What one more of something would do.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OneMore {
    /// Of what, in words.
    pub what: String,
    /// When the last task would end.
    pub finish: u64,
}

/// Who pays what. All amounts are whole cents.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MoneyPlan {
    /// Everything bought.
    pub total: i64,
    /// Fabric by fabric, in the order of the scenario.
    pub fabrics: Vec<FabricShare>,
    /// What each bag's patches cost, in the order of the bags; adds up to the total.
    pub bags: Vec<i64>,
}

/// Money of one fabric.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FabricShare {
    /// Name of the fabric.
    pub fabric: String,
    /// Who brought it; empty if the group bought it.
    pub brought_by: String,
    /// A gift costs nothing.
    pub gift: bool,
    /// Its price.
    pub price: i64,
    /// Length left over.
    #[schemars(with = "i64")]
    pub left: Length,
    /// Who takes that; empty if the group keeps it.
    pub left_to: String,
    /// Bags that pay for it and how much, ascending by bag number; adds up to the price.
    pub shares: Vec<BagShare>,
}

/// What one bag pays for one fabric.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BagShare {
    /// Number of the bag, from 1.
    pub bag: usize,
    /// Cents.
    pub cents: i64,
}

/// Every quilt planned alone, purchases rounded for each, against the plan for all.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Alone {
    /// Quilts planned alone, copies counted.
    pub quilts: u64,
    /// Figures of the plans for each alone, added up, and of the plan for all.
    pub figures: Vec<Saving>,
}

/// A figure alone and together.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Saving {
    /// Which figure: money, area taken, passes or seconds.
    pub figure: FigureKind,
    /// Every quilt alone, in the figure's exact units.
    pub alone: String,
    /// All together.
    pub together: String,
}

impl Day {
    /// The day as JSON text, two-space indented, with a newline at the end.
    ///
    /// # Errors
    /// Only if serde_json fails, which plain data never makes it do.
    pub fn to_json(&self) -> serde_json::Result<String> {
        let mut text = serde_json::to_string_pretty(self)?;
        text.push('\n');
        Ok(text)
    }

    /// Reads a day.
    ///
    /// # Errors
    /// The text is not JSON, or not a day of this version.
    pub fn from_json(text: &str) -> serde_json::Result<Self> {
        serde_json::from_str(text)
    }
}

/// The number of a day: as that of a plan, without bounds and without what one more of something would do.
///
/// # Errors
/// Only if serde_json fails, which plain data never makes it do.
pub fn day_number(day: &Day) -> serde_json::Result<String> {
    let mut bare = day.clone();
    bare.number.clear();
    bare.alone = None;
    if let Some(schedule) = &mut bare.schedule {
        schedule.finish_at_least = 0;
        schedule.held_by.clear();
        schedule.one_more.clear();
    }
    let digest = crate::digest::hex(&Sha256::digest(serde_json::to_string(&bare)?.as_bytes()));
    Ok(format!("{}-{}", &digest[..4], &digest[4..8]))
}

/// JSON Schema of the day.
#[must_use]
pub fn day_schema() -> String {
    let schema = schemars::schema_for!(Day);
    let mut text = serde_json::to_string_pretty(&schema).unwrap_or_default();
    text.push('\n');
    text
}
