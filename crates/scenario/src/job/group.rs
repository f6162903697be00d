//! What a group adds to a job, with everything resolved: bags with their patches, stations, helpers with their hours.

use patchlay_measure::Length;

use super::{DemandId, FabricId};
use crate::spec::{SparesGo, Work};

/// Index into [`Group::bags`].
pub type BagId = usize;

/// A group's hall, helpers and bags.
#[derive(Clone, Debug)]
pub struct Group {
    /// The bags, in the order of the file; a bag of loose patches last.
    pub bags: Vec<Bag>,
    /// Where spare patches go.
    pub spares: SparesGo,
    /// Most bags open at a time, if asked for.
    pub most_open: Option<u32>,
    /// Kinds of cutters.
    pub classes: Vec<CutterClass>,
    /// Copies of each board, in the order of [`super::Job::boards`].
    pub copies: Vec<u32>,
    /// Irons.
    pub irons: u32,
    /// Rulers with hand cutter and mat.
    pub rulers: u32,
    /// Places at tables.
    pub tables: u32,
    /// Most trays that wait for a cutter.
    pub trays_ahead: u32,
    /// Most passes that one tray serves.
    pub passes_a_tray: u32,
    /// Who helps; nobody means that no schedule is wanted.
    pub helpers: Vec<Helper>,
    /// Minutes after midnight when work starts.
    pub starts: u32,
    /// Slack on every standard time, percent.
    pub slack_percent: u32,
    /// Seconds of rest that a pass brings.
    pub rest_per_pass: u32,
    /// Seconds to lay one part of a stack into its bag.
    pub sort_part: u32,
    /// Seconds to check one line of a bag's list.
    pub check_line: u32,
    /// Who brought each fabric, in the order of [`super::Job::fabrics`].
    pub brought: Vec<Option<Brought>>,
    /// Label sheets, if described.
    pub labels: Option<Labels>,
}

/// A bag.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Bag {
    /// What stands on it.
    pub name: String,
    /// Where it goes; empty if the file does not say.
    pub destination: String,
    /// Needed before the others.
    pub urgent: bool,
    /// Patches needed, by demand line, ascending.
    pub patches: Vec<(DemandId, u64)>,
}

/// A kind of cutter. Lay-ups belong to the classes whose bed and ply limit take them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CutterClass {
    /// Name.
    pub name: String,
    /// Bed width.
    pub bed_width: Length,
    /// Longest board.
    pub longest_board: Length,
    /// Ply limit.
    pub ply_limit: u32,
    /// How many stations.
    pub number: u32,
}

impl CutterClass {
    /// Whether a board of that size goes through.
    #[must_use]
    pub fn takes(&self, width: Length, length: Length) -> bool {
        width <= self.bed_width && length <= self.longest_board
    }
}

/// A helper.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Helper {
    /// Name.
    pub name: String,
    /// What they can do, ascending.
    pub can: Vec<Work>,
    /// Speed in percent of the standard times.
    pub speed_percent: u32,
    /// Seconds after the start of the day when they come.
    pub from: u64,
    /// Seconds after the start of the day when they go; `None` stays to the end.
    pub to: Option<u64>,
}

impl Helper {
    /// Seconds that a standard time takes this helper, slack included, rounded up.
    #[must_use]
    pub fn seconds(&self, standard: u64, slack_percent: u32) -> u64 {
        let slack = u64::from(100 + slack_percent);
        (standard * slack).div_ceil(u64::from(self.speed_percent.max(1)))
    }
}

/// Who brought a cloth.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Brought {
    /// Who brought it.
    pub by: String,
    /// Who takes what is left.
    pub leftovers_to: String,
}

/// A label sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Labels {
    /// Labels below one another.
    pub rows: u32,
    /// Labels side by side.
    pub columns: u32,
    /// Width of one.
    pub width: Length,
    /// Height of one.
    pub height: Length,
    /// From the left edge of the sheet; `None` centres.
    pub left: Option<Length>,
    /// From the top edge; `None` centres.
    pub top: Option<Length>,
    /// Between columns.
    pub gap_across: Length,
    /// Between rows.
    pub gap_down: Length,
}

impl super::Job {
    /// Fabrics that are gifts: brought by someone and without a price in a job that has prices.
    #[must_use]
    pub fn is_gift(&self, fabric: FabricId) -> bool {
        let brought = self.group.as_ref().and_then(|group| group.brought.get(fabric)?.as_ref());
        let free = self.fabrics[fabric].price.is_some_and(|price| price.amount.ten_thousandths() == 0);
        brought.is_some() && free
    }
}
