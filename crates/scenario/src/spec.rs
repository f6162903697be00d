//! Serde mirror of the scenario file, version 1. Every field is what the person typed; lengths stay text until
//! validation reads them. Unknown fields are errors.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

mod group;

pub use group::{
    Bags, BagsBy, BoardCopies, Brought, DayRules, Equipment, Group, GroupCutter, Helper, Labels, SparesGo,
    Work,
};

/// The version of the scenario format that this program reads.
pub const SCENARIO_VERSION: u32 = 1;

/// A length as people write it: `"4 1/2"`, `"4.5 in"`, `"11.5 cm"`, `"1/8 yd"`, or a plain number.
/// A bare number is inches, or centimetres where `units` is `metric`.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(untagged)]
pub enum LengthText {
    /// Text, with or without a unit.
    Text(String),
    /// A plain JSON number in the scenario's unit.
    Number(serde_json::Number),
}

/// An amount of money, a percentage or an angle as people write it: `"12.95"` or `12.95`.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(untagged)]
pub enum DecimalText {
    /// Text such as `"12.95"`.
    Text(String),
    /// A plain JSON number.
    Number(serde_json::Number),
}

/// The whole file.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Scenario {
    /// Format version: 1.
    pub patchlay_scenario: u32,
    /// What this job is called; stands on every sheet.
    pub name: String,
    /// Remarks for people; printed nowhere but in the file.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub about: Option<String>,
    /// Inches and yards, or centimetres and metres, on everything printed.
    pub units: Units,
    /// Currency sign for prices, for example `"$"`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub currency: Option<String>,
    /// The roller cutter and its mats.
    pub cutter: Cutter,
    /// Margins, steps and rules that hold for the whole job.
    pub rules: Rules,
    /// The fabrics, each with its letter.
    pub fabrics: Vec<Fabric>,
    /// The shapes, by finished size.
    pub shapes: Vec<Shape>,
    /// The boards, drawn up position by position.
    pub boards: Vec<Board>,
    /// Blocks: patches by shape and role.
    #[serde(default)]
    pub blocks: Vec<Block>,
    /// Quilts: so many of a block, with a fabric for every role.
    #[serde(default)]
    pub quilts: Vec<Quilt>,
    /// Patches wanted outside any quilt.
    #[serde(default)]
    pub loose_patches: Vec<LoosePatches>,
    /// Spare patches per shape, hand and fabric: must be stated, zero included.
    pub spare_patches: Spares,
    /// What the plan puts first.
    pub aim: Aim,
    /// Cut and sew one block before the rest is cut.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub proof_block: Option<ProofBlock>,
    /// Boards that are not owned but thought of: no plan uses them, a comparison says what each would save.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub could_have: Vec<Board>,
    /// Cutting for a group: bags, several cutters, helpers, the day.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub group: Option<Group>,
}

/// The units of everything printed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Units {
    /// Inches, yards.
    Inch,
    /// Centimetres, metres.
    Metric,
}

/// The roller cutter.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Cutter {
    /// Widest board that goes between the rollers.
    pub bed_width: LengthText,
    /// Longest board that can be handled.
    pub longest_board: LengthText,
    /// Most plies of quilting cotton in a stack. Must be stated.
    pub ply_limit: u32,
    /// The cutting mats owned.
    pub mats: Vec<Mat>,
    /// Standard times in seconds; what is left out is assumed, and the plan says so.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub times: Option<Times>,
}

/// A kind of cutting mat.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Mat {
    /// What it is called.
    pub name: String,
    /// Across the travel.
    pub width: LengthText,
    /// Along the travel.
    pub length: LengthText,
    /// How many are owned; 1 unless stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub owned: Option<u32>,
}

/// Standard times, whole seconds an event.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Times {
    /// Squaring the end of a length of fabric, first or again.
    pub square: Option<u32>,
    /// Cutting one strip.
    pub cut_strip: Option<u32>,
    /// Pressing one strip.
    pub press_strip: Option<u32>,
    /// Cross-cutting one length or cut from a strip.
    pub cross_cut: Option<u32>,
    /// Trimming one length or cut narrower than its strip.
    pub trim: Option<u32>,
    /// Fan-folding and placing one folded length.
    pub fold: Option<u32>,
    /// Placing one flat cut.
    pub place: Option<u32>,
    /// Putting another board on the bed.
    pub change_board: Option<u32>,
    /// Cranking one pass.
    pub crank: Option<u32>,
    /// Turning and moving the mats of one pass.
    pub turn_mat: Option<u32>,
    /// Lifting out the patches of one pass and clearing the board.
    pub lift_out: Option<u32>,
    /// Counting the patches of one pass.
    pub count: Option<u32>,
}

/// Rules that hold for the whole job.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Rules {
    /// Which way a strip lies on a board. Must be stated: teachers differ.
    pub travel_rule: TravelRule,
    /// Cloth past the outermost blade on each side; 1/4 in unless stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub margin: Option<LengthText>,
    /// Least margin between two loaded areas; 1/8 in unless stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub least_margin: Option<LengthText>,
    /// Step to which sizes to be cut are rounded up; 1/8 in (or 1 mm) unless stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ruler_step: Option<LengthText>,
    /// Cloth that one fold takes; 1/16 in unless stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fold_allowance: Option<LengthText>,
    /// Seam allowance built into the boards; 1/4 in unless stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub seam: Option<LengthText>,
}

/// Which of an area's two dimensions runs along the strip.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum TravelRule {
    /// The strip's cut end leads into the rollers.
    StripAlongTravel,
    /// The strip lies across the travel.
    StripAcrossTravel,
    /// Both are allowed.
    Either,
}

/// One cloth.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Fabric {
    /// What it is called; blocks and quilts refer to it by this name.
    pub name: String,
    /// The letter on tags and cards; A, B, C … unless stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub letter: Option<String>,
    /// Colour in pictures, `"#rrggbb"`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub colour: Option<String>,
    /// Width between the selvedges after they are cut off. Must be stated.
    pub usable_width: LengthText,
    /// Whether `usable_width` was measured before or after washing; after unless stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub width_measured: Option<Washing>,
    /// Most plies of this fabric alone; the cutter's limit unless stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ply_limit: Option<u32>,
    /// Print direction. Must be stated.
    pub print: PrintDirection,
    /// For a one-way print: allow plies turned round and fan-folded lengths all the same.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub allow_turned: Option<bool>,
    /// Both faces look alike, so a patch may be used either side up.
    #[serde(default)]
    pub reversible: bool,
    /// Travel rule of this fabric where it differs from the job's.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub travel_rule: Option<TravelRule>,
    /// Price of a yard, or of a metre where `units` is `metric`. State it for all fabrics or for none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price: Option<DecimalText>,
    /// Step in which it is sold; 1/8 yd (or 10 cm) unless stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub selling_step: Option<LengthText>,
    /// Shrinkage in the wash, percent each way; 0 unless stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shrinkage_percent: Option<DecimalText>,
    /// Lost to squaring before the first strip; 1 in unless stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub squaring: Option<LengthText>,
    /// Lost to squaring again after every five strips; 1/4 in unless stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub resquaring: Option<LengthText>,
    /// Kept unused at the end of every strip; 1/2 in unless stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub end_reserve: Option<LengthText>,
    /// Lengths set aside first, for borders, binding or backing.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub kept_back: Vec<KeptBack>,
}

/// When a width was measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Washing {
    /// Before washing: shrinkage still comes off.
    BeforeWashing,
    /// After washing, or never washed.
    AfterWashing,
}

/// Whether the print has a direction.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum PrintDirection {
    /// Plain or scattered print.
    None,
    /// One way: no turned plies, no folding.
    OneWay,
    /// Has a direction, but only a caution is printed.
    Caution,
}

/// A length of fabric set aside first.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct KeptBack {
    /// What it is for.
    pub what: String,
    /// Length of fabric, full width.
    pub length: LengthText,
}

/// A shape by its finished size. Which sizes are needed depends on `kind`.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Shape {
    /// What it is called; boards and blocks refer to it by this name.
    pub name: String,
    /// Which shape.
    pub kind: ShapeKind,
    /// Side of a square, diamond, hexagon, octagon, equilateral triangle; leg of a half-square triangle; slanted
    /// side of a parallelogram.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub side: Option<LengthText>,
    /// Width of a rectangle or half-rectangle triangle; base of a parallelogram or trapezoid; long side of a
    /// quarter-square triangle or goose; width of a kite.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub width: Option<LengthText>,
    /// Height of a rectangle, half-rectangle triangle, trapezoid or kite.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub height: Option<LengthText>,
    /// Top side of a trapezoid; distance from a kite's top corner to its widest line.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub top: Option<LengthText>,
    /// Sharp angle of a diamond or parallelogram, degrees.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub angle: Option<DecimalText>,
    /// Radius of a curved patch.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub radius: Option<LengthText>,
    /// Corners of a free polygon, `[x, y]` in order round the finished outline.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub corners: Vec<[LengthText; 2]>,
    /// Whether sharp corners come already trimmed; `trimmed` unless stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tips: Option<Tips>,
    /// Seam allowance of this shape where it differs from the job's.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub seam: Option<LengthText>,
}

/// The shapes known by name.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum ShapeKind {
    /// `side`.
    Square,
    /// `width`, `height`.
    Rectangle,
    /// `side`: the finished leg.
    HalfSquareTriangle,
    /// `width`: the finished long side.
    QuarterSquareTriangle,
    /// `width`, `height`: the finished legs.
    HalfRectangleTriangle,
    /// The goose of a flying-geese pair; `width`: the finished long side.
    Goose,
    /// The sky triangle of a flying-geese pair; `width`: the finished long side of its goose.
    GooseSky,
    /// `side`.
    EquilateralTriangle,
    /// `side`, `angle`.
    Diamond,
    /// `width` (base), `side`, `angle`.
    Parallelogram,
    /// `width` (base), `top`, `height`; both slanted sides alike.
    Trapezoid,
    /// `width`, `height`, `top`.
    Kite,
    /// `side`.
    Hexagon,
    /// `side`.
    Octagon,
    /// Quarter of a disc; `radius`.
    ConvexQuarter,
    /// A square with a quarter of a disc taken out; `side`, `radius`.
    ConcaveQuarter,
    /// `corners`.
    Polygon,
}

/// Sharp corners as cut.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Tips {
    /// The dog-ears are already cut away.
    Trimmed,
    /// Full points.
    Untrimmed,
}

/// A cutting board.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Board {
    /// What it is called.
    pub name: String,
    /// Across the travel.
    pub width: LengthText,
    /// Along the travel.
    pub length: LengthText,
    /// Its own ply limit, if lower than the cutter's.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ply_limit: Option<u32>,
    /// The positions, one by one or in rows and columns.
    pub positions: Vec<Positions>,
}

/// One position, or a grid of like positions.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Positions {
    /// The shape cut here.
    pub shape: String,
    /// `[x, y]` of the grid's corner before turning: x from the handle side, y from the leading end.
    pub at: [LengthText; 2],
    /// Patches per ply as drawn, seen from above; 1 unless stated (0 if only `mirrored` is stated).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub as_drawn: Option<u32>,
    /// Patches per ply mirrored; 0 unless stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mirrored: Option<u32>,
    /// How the patches of one position lie together; `single` for one patch.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub arrangement: Option<Arrangement>,
    /// Gap between the patches of a position laid in a row.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub patch_gap: Option<LengthText>,
    /// Outer size of the blades `[across, along]` where it is not the smallest box round the patches.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub blade_box: Option<[LengthText; 2]>,
    /// Quarter turn of the shape inside its box: 0, 90, 180 or 270 degrees.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shape_turn: Option<u32>,
    /// Turn of the blades against the board, degrees anticlockwise seen from above.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub turn: Option<DecimalText>,
    /// Columns across the travel; 1 unless stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub columns: Option<u32>,
    /// Rows along the travel; 1 unless stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rows: Option<u32>,
    /// Gap between neighbouring boxes across the travel; needed with more than one column.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gap_across: Option<LengthText>,
    /// Gap between neighbouring boxes along the travel; needed with more than one row.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gap_along: Option<LengthText>,
}

/// How the patches of one position lie together.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Arrangement {
    /// One patch.
    Single,
    /// Side by side across the box, `patch_gap` apart.
    Row,
    /// Two right triangles that make up a square or rectangle.
    Pair,
    /// Four quarter-square triangles that make up a square.
    Four,
}

/// A block: patches by shape and role.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Block {
    /// What it is called.
    pub name: String,
    /// Finished side, for the check that the patches fill it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub finished: Option<LengthText>,
    /// Its patches.
    pub patches: Vec<BlockPatches>,
}

/// Like patches of a block.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BlockPatches {
    /// Which shape.
    pub shape: String,
    /// Which role; each quilt gives every role a fabric.
    pub role: String,
    /// How many in one block.
    pub count: u32,
    /// Wanted as the mirror image of the shape as drawn (only matters for handed shapes).
    #[serde(default)]
    pub mirrored: bool,
}

/// A quilt.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Quilt {
    /// What it is called.
    pub name: String,
    /// How many quilts just like it; 1 unless stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub copies: Option<u32>,
    /// Where it goes: a sewer, a block party, a size.
    #[serde(default, rename = "for", skip_serializing_if = "Option::is_none")]
    pub destination: Option<String>,
    /// Needed before the others.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub urgent: Option<bool>,
    /// Its blocks.
    pub blocks: Vec<QuiltBlocks>,
}

/// So many of a block in one quilt.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct QuiltBlocks {
    /// Which block.
    pub block: String,
    /// How many.
    pub count: u32,
    /// Role -> fabric.
    pub fabrics: BTreeMap<String, String>,
}

/// Patches wanted outside any quilt.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LoosePatches {
    /// Which shape.
    pub shape: String,
    /// Of which fabric.
    pub fabric: String,
    /// How many.
    pub count: u32,
    /// Wanted as the mirror image of the shape as drawn.
    #[serde(default)]
    pub mirrored: bool,
}

/// Spare patches for each shape, hand and fabric.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Spares {
    /// So many of each.
    Number(u32),
    /// So many percent of each, rounded up.
    Percent(DecimalText),
}

/// What the plan puts first.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Aim {
    /// Which aim.
    pub put_first: AimKind,
    /// For `least_cost`: what an hour of the user's time is worth.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hour_is_worth: Option<DecimalText>,
    /// For `weighted`: the length of cloth that one pass is worth.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pass_is_worth: Option<LengthText>,
}

/// The aims.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum AimKind {
    /// Money of bought length, area taken, passes, minutes.
    LeastCloth,
    /// Passes, money, area taken, minutes.
    FewestPasses,
    /// Minutes, money.
    LeastTime,
    /// Money plus minutes at the worth of an hour.
    LeastCost,
    /// Cloth length plus a price per pass.
    Weighted,
}

/// Cut and sew one block first.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ProofBlock {
    /// Of which quilt.
    pub quilt: String,
    /// Which of its blocks; its first unless stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub block: Option<String>,
}

impl LengthText {
    /// What was typed, as [`patchlay_measure::parse_length`] reads it.
    #[must_use]
    pub fn typed(&self) -> String {
        match self {
            Self::Text(text) => text.clone(),
            Self::Number(number) => number.to_string(),
        }
    }
}

impl DecimalText {
    /// What was typed.
    #[must_use]
    pub fn typed(&self) -> String {
        match self {
            Self::Text(text) => text.clone(),
            Self::Number(number) => number.to_string(),
        }
    }
}
