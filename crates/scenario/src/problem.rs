//! What can be wrong with a scenario file: one enum of codes that drives messages, documentation and tests.

use std::fmt;

use serde::Serialize;

/// One thing that is wrong, and where, and what to do about it. The same fields stand in text and in JSON.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Problem {
    /// Which kind of problem.
    pub code: Code,
    /// Place in the file, for example `boards[2].positions[0].at[1]`; empty for the file as a whole.
    pub path: String,
    /// Line in the file, from 1, where it is known.
    pub line: Option<usize>,
    /// Column in that line, from 1, where it is known.
    pub column: Option<usize>,
    /// The offending value as it stands in the file, shortened; empty where there is none.
    pub value: String,
    /// What is wrong.
    pub problem: String,
    /// What to do.
    pub hint: String,
}

impl fmt::Display for Problem {
    /// `error[S201]: …`, then where, then `hint: …`.
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "error[{}]: {}", self.code, self.problem)?;
        let path = if self.path.is_empty() { "the file" } else { &self.path };
        match (self.line, self.column) {
            (Some(line), Some(column)) => write!(out, "\n  --> line {line}, column {column}: {path}")?,
            _ => write!(out, "\n  --> {path}")?,
        }
        if !self.value.is_empty() {
            write!(out, " = {}", self.value)?;
        }
        write!(out, "\n  hint: {}", self.hint)
    }
}

/// Why a scenario could not be turned into a job.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub enum LoadError {
    /// The file is not a scenario: exit code 2.
    Bad(Vec<Problem>),
    /// The file is a scenario, but its demand cannot be met on these boards and fabrics: exit code 1.
    Impossible(Vec<Problem>),
}

impl LoadError {
    /// All problems, whichever kind.
    #[must_use]
    pub fn problems(&self) -> &[Problem] {
        match self {
            Self::Bad(list) | Self::Impossible(list) => list,
        }
    }
}

impl fmt::Display for LoadError {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (at, problem) in self.problems().iter().enumerate() {
            let gap = if at == 0 { "" } else { "\n" };
            write!(out, "{gap}{problem}")?;
        }
        Ok(())
    }
}

impl std::error::Error for LoadError {}

/// Declares the codes once: name, number, title, explanation.
macro_rules! codes {
    ($($name:ident = $number:literal, $title:literal, $explanation:literal;)*) => {
        /// Kinds of problems. The number groups them: 0 file, 1 fields, 2 measures, 3 names, 4 shapes, 5 boards,
        /// 6 fabrics, 7 blocks, quilts and aims, 8 demand that cannot be met, 9 groups.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
        #[serde(rename_all = "snake_case")]
        pub enum Code {
            $(#[doc = $title] $name,)*
        }

        impl Code {
            /// All codes in the order of their numbers.
            pub const ALL: &[Self] = &[$(Self::$name),*];

            /// What stands in messages and in the page of codes, for example `S201`.
            #[must_use]
            pub const fn number(self) -> &'static str {
                match self { $(Self::$name => $number,)* }
            }

            /// What is wrong, in a few words.
            #[must_use]
            pub const fn title(self) -> &'static str {
                match self { $(Self::$name => $title,)* }
            }

            /// What is wrong and why it matters, in a few sentences.
            #[must_use]
            pub const fn explanation(self) -> &'static str {
                match self { $(Self::$name => $explanation,)* }
            }
        }
    };
}

codes! {
    FileTooLarge = "S001",
        "the file is too large",
        "A scenario is at most 16 MB long; a whole quilt takes a few kilobytes. A larger file is not read at all. Check that the right file was named.";
    NotText = "S002",
        "the file is not UTF-8 text",
        "The file is not text in UTF-8, for example because it is a picture, an archive or a spreadsheet. Save it as plain text in UTF-8.";
    JsonSyntax = "S003",
        "the file is not JSON",
        "The text breaks the rules of JSON at the line and column given: a comma too many or too few, a missing quote or bracket, a comment, a number beyond all measure, or brackets nested too deep. Nothing else can be judged until this is mended.";
    DuplicateKey = "S004",
        "a name stands twice in one object",
        "Two fields of one object have the same name, so one of them would be ignored without a word. Remove one.";
    MoreProblems = "S005",
        "there are more problems than are listed",
        "Only the first thousand problems of a file are listed one by one.";
    WrongVersion = "S006",
        "the format version is not known",
        "`patchlay_scenario` names the version of the format. This program reads version 1.";
    Unexplained = "S007",
        "the file was refused without a reason",
        "This never happens unless the program itself is at fault: every refusal has a reason.";
    BadList = "S008",
        "a list is not a table",
        "Fabrics, quilts and demand can be kept as CSV: a header in plain words, then one row for each, with as many cells as the header. The line and column are those of the list.";
    MissingField = "S101",
        "a needed field is missing",
        "The object lacks a field that it cannot do without.";
    MustBeStated = "S102",
        "something that has no default must be stated",
        "Teachers and machines differ on this, and a wrong guess spoils cloth, so the program does not guess: usable width, ply limit, travel rule, print direction and spare patches are stated in every file. The message says what people usually choose, and why.";
    UnknownField = "S103",
        "a field is not known",
        "The object has a field that this program does not know, usually a slip of the pen. It would have been ignored, so it is an error. The nearest known name is offered.";
    WrongType = "S104",
        "a value is of the wrong kind",
        "A text stands where a number is wanted, a list where an object is wanted, and so on.";
    UnknownValue = "S105",
        "a choice is not known",
        "The field takes one of a few words, and this is none of them. The nearest known one is offered.";
    TooMany = "S106",
        "a list is too long",
        "The list has more entries than this program takes. The caps are far above any quilt: 500 fabrics, 1,000 shapes, 200 boards, 400 positions on a board.";
    EmptyList = "S107",
        "a list is empty",
        "The list needs at least one entry; without it nothing can be planned.";
    BadLength = "S201",
        "a length cannot be read",
        "Lengths are written like `\"4 1/2\"`, `\"4.5 in\"`, `\"11.5 cm\"` or as a plain number in the scenario's unit. A length that is not whole in 1/64 in or 0.1 mm is refused with both neighbours, because it cannot be measured.";
    LengthOutOfRange = "S202",
        "a length is too short or too long",
        "Sizes are above zero, margins and reserves are zero or more, and each has a sensible top.";
    NumberOutOfRange = "S203",
        "a number is too small or too large",
        "Counts, times, percentages and angles each have a lowest and a highest value, which the message names.";
    BadNumber = "S204",
        "a number cannot be read",
        "Money, percentages and angles are written like `\"12.95\"` or `12.95`, with no sign and only a few decimals.";
    BadName = "S301",
        "a name is empty or too long",
        "Names stand on tags and cards: they need at least one and at most 80 characters, none of them a control character or one that turns the direction of writing.";
    DuplicateName = "S302",
        "a name is used twice",
        "Two fabrics, shapes, boards, blocks, quilts or mats have the same name, so a reference to it could mean either.";
    UnknownReference = "S303",
        "a name refers to nothing",
        "The file names a fabric, shape, block or quilt that it does not describe. The nearest known name is offered.";
    BadLetter = "S304",
        "a letter is not one to three letters or digits",
        "The letter of a fabric stands on every tag; it is one to three letters or digits.";
    DuplicateLetter = "S305",
        "two fabrics have the same letter",
        "The letters on tags and cards tell fabrics apart. Give each its own, or leave them all to the program.";
    BadColour = "S306",
        "a colour cannot be read",
        "Colours in pictures are written like `\"#1f3a5f\"`: a number sign and six hexadecimal digits.";
    SizeMissing = "S401",
        "a shape lacks a size",
        "Each kind of shape needs its own sizes: a square its `side`, a rectangle its `width` and `height`, and so on.";
    SizeNotUsed = "S402",
        "a shape has a size that its kind does not use",
        "The size would be ignored, so either the kind or the size is a slip.";
    ShapeImpossible = "S403",
        "a shape cannot be made",
        "These sizes make no patch that can be cut and sewn: the outline crosses itself, a corner is too sharp, the seam allowance eats a curve up.";
    BoardTooWide = "S501",
        "a board is wider than the cutter's bed",
        "The board does not go between the rollers.";
    BoardTooLong = "S502",
        "a board is longer than the cutter takes",
        "The board is longer than `longest_board`.";
    OutsideBoard = "S503",
        "blades stick out of a board",
        "The box of a position reaches past the edge of its board.";
    BoxesOverlap = "S504",
        "the boxes of two positions overlap",
        "Two positions claim the same place on the board. Touching boxes are allowed.";
    Arrangement = "S505",
        "patches cannot lie together like that",
        "The arrangement does not go with the shape or the number of patches: `single` is one patch, `pair` two right triangles, `four` four quarter-square triangles, `row` any number.";
    GapMissing = "S506",
        "a gap is missing",
        "A grid of several columns or rows, or several patches in a row, needs to know the gap between neighbours: the margins of the cloth depend on it.";
    GapNotUsed = "S507",
        "a gap is stated that nothing uses",
        "There is only one column, one row or one patch, so the gap would be ignored; either the count or the gap is a slip.";
    BladeBoxTooSmall = "S508",
        "a blade box is smaller than its patches",
        "`blade_box` is the outer size of the blades; it cannot be smaller than the patches they cut.";
    MatTooSmall = "S509",
        "no mats cover a board",
        "The mat lies on top of the stack and has to cover every used position. The mats owned, laid one alone or several one behind the other and turned or not, do not cover this board within the bed.";
    ShapeTurn = "S510",
        "a shape is turned by something else than a quarter",
        "`shape_turn` turns the patches inside their box by 0, 90, 180 or 270 degrees; blades at another angle are `turn`.";
    NoPatches = "S511",
        "a position cuts nothing",
        "Both `as_drawn` and `mirrored` are zero, so the position would take up room for nothing.";
    BoardTooComplex = "S512",
        "a board has too many areas",
        "The positions can be covered together in too many ways to be planned. Wider gaps or fewer positions in one grid help.";
    PricesPartial = "S601",
        "some fabrics have a price and some have none",
        "A sum over some of the fabrics would mislead: state the price of all fabrics (0 for a gift) or of none.";
    OneWayEither = "S602",
        "a one-way print needs one stated way",
        "A one-way print keeps its direction along the strip. Under the travel rule `either` its patches would come out both ways.";
    AllowTurnedNotUsed = "S603",
        "`allow_turned` is only for one-way prints",
        "The field would be ignored, so either it or the print direction is a slip.";
    PlyLimitAboveCutter = "S604",
        "a fabric's ply limit is above the cutter's",
        "The cutter's ply limit is the most that goes through; a fabric can only be stacked lower.";
    BadCurrency = "S605",
        "a currency sign is too long",
        "The sign stands before every amount; it is one to five characters.";
    NothingLeft = "S606",
        "a fabric has no usable width left",
        "After shrinkage and the end reserve nothing is left of the width.";
    BlockNotFilled = "S701",
        "the patches of a block do not fill it",
        "The finished areas of the patches do not add up to the square of the finished side, so a patch is missing, one is too many or a size is wrong.";
    RoleWithoutFabric = "S702",
        "a role has no fabric",
        "Every role of a block needs a fabric in every quilt that uses the block.";
    RoleNotInBlock = "S703",
        "a role is not in the block",
        "The quilt gives a fabric to a role that no patch of the block has.";
    NothingToCut = "S704",
        "there is nothing to cut",
        "The file has neither quilts nor loose patches.";
    BlockNotInQuilt = "S705",
        "the proof block is not in that quilt",
        "The block to be cut first has to be one of the quilt's blocks.";
    AimFigureMissing = "S706",
        "the aim needs a figure",
        "`least_cost` weighs time by what an hour is worth; `weighted` weighs passes by a length of cloth.";
    AimFigureNotUsed = "S707",
        "the aim does not use this figure",
        "The figure would be ignored, so either it or the aim is a slip.";
    AimNeedsPrices = "S708",
        "the aim needs prices",
        "`least_cost` adds the price of cloth to the price of time; without the price of every fabric that sum means nothing.";
    TooManyPatches = "S709",
        "too many patches",
        "All patches together, spares included, are at most ten million.";
    NoBoardCutsShape = "S801",
        "no board cuts a shape",
        "Patches of a shape are wanted, and no position of any board cuts it.";
    NoAreaFitsFabric = "S802",
        "no area for a shape fits a fabric",
        "Every area of every board that cuts the shape needs cloth wider than this fabric, or longer than a strip of it, under its travel rule.";
    HandNotCut = "S803",
        "a hand cannot be cut",
        "The shape differs from its mirror image; the boards cut only one hand of it from cloth lying face up, and this one-way fabric may not be laid face down.";
    QuiltWithoutBag = "S901",
        "a quilt has no bag",
        "Bags go by helper, and the quilt does not say whom it is for, so its patches would be left over. Say whom it is `for`, or divide the bags by quilt.";
    TooManyBags = "S902",
        "there are too many bags",
        "At most five thousand bags are planned for one day.";
    CutterAboveLargest = "S903",
        "a cutter of the group is above the job's cutter",
        "`cutter` describes the largest cutter there is; every board and stack is judged by it first. The group's cutters are at most as wide, as long and as high.";
    BoardWithoutCutter = "S904",
        "no cutter of the group takes a board",
        "The board is wider than the bed or longer than the longest board of every cutter in the hall.";
    HelperCannotWork = "S905",
        "a helper can't do any work",
        "The helper has nothing that they can do, or goes before they come.";
    NobodyCan = "S906",
        "nobody can do some kind of work",
        "Every kind of work, from pressing to checking bags, needs at least one helper who can do it; otherwise the day cannot end.";
    BadClock = "S907",
        "a time of day cannot be read",
        "Times of day are written with hours and minutes, like `\"9:30\"` or `\"14:00\"`.";
    LabelTooSmall = "S908",
        "a label is too small for print",
        "Bag, patches and day stand on a label in three lines; it has to be at least 1 in wide and 3/8 in high.";
    LabelsBeyondSheet = "S909",
        "the labels do not fit on the sheet",
        "Columns, gaps and the distance from the edge together are wider than the paper, or rows, gaps and the distance from the top edge are higher. Print would fall beside the labels.";
}

impl Code {
    /// The code with a number such as `S201`; case does not matter.
    #[must_use]
    pub fn numbered(number: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|code| code.number().eq_ignore_ascii_case(number.trim()))
    }
}

impl fmt::Display for Code {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(self.number())
    }
}

/// The page of codes: every code with its title and explanation, as Markdown.
#[must_use]
pub fn code_page() -> String {
    let mut page = String::from("# What can be wrong with a scenario\n");
    for code in Code::ALL {
        page.push_str(&format!("\n## {code}: {}\n\n{}\n", code.title(), code.explanation()));
    }
    page
}
