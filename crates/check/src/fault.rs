//! What can be wrong with a plan: one enum of codes that drives messages, documentation and tests.

use std::fmt;

use serde::Serialize;

/// Most faults listed; the rest are counted.
const MOST: usize = 200;
/// Most faults of one kind listed, so that one kind does not crowd out the others.
const MOST_ALIKE: usize = 20;

/// One thing that is wrong with a plan.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Fault {
    /// Which kind of fault.
    pub code: FaultCode,
    /// Where in the plan, for example `lay-up L3, pass 2, area 1+2`.
    pub place: String,
    /// What the plan says; empty where there is nothing to quote.
    pub found: String,
    /// What it must say; empty where there is no single answer.
    pub expected: String,
    /// What is wrong, as one sentence.
    pub message: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "{} {}: {}", self.code, self.place, self.message)?;
        if !self.found.is_empty() {
            write!(out, " (found {}", self.found)?;
            if !self.expected.is_empty() {
                write!(out, ", expected {}", self.expected)?;
            }
            write!(out, ")")?;
        }
        Ok(())
    }
}

/// Faults found so far.
#[derive(Debug, Default)]
pub(crate) struct Faults {
    list: Vec<Fault>,
    unlisted: usize,
}

impl Faults {
    /// Whether nothing is wrong, or nothing but that.
    pub(crate) fn only(&self, code: FaultCode) -> bool {
        self.unlisted == 0 && self.list.iter().all(|fault| fault.code == code)
    }

    /// Notes a fault.
    pub(crate) fn add(
        &mut self,
        code: FaultCode,
        place: impl Into<String>,
        found: impl fmt::Display,
        expected: impl fmt::Display,
    ) {
        let alike = self.list.iter().filter(|fault| fault.code == code).count();
        if alike >= MOST_ALIKE || self.list.len() >= MOST {
            self.unlisted = self.unlisted.saturating_add(1);
            return;
        }
        self.list.push(Fault {
            code,
            place: place.into(),
            found: shortened(&found.to_string()),
            expected: shortened(&expected.to_string()),
            message: code.title().to_owned(),
        });
    }

    /// Notes a fault unless the two agree.
    pub(crate) fn equal<T: PartialEq + fmt::Display>(
        &mut self,
        code: FaultCode,
        place: impl Into<String>,
        found: T,
        expected: T,
    ) {
        if found != expected {
            self.add(code, place, found, expected);
        }
    }

    /// Whether nothing is wrong so far.
    pub(crate) fn none(&self) -> bool {
        self.list.is_empty()
    }

    /// All faults; a last one says how many are not listed.
    pub(crate) fn into_list(mut self) -> Vec<Fault> {
        if self.unlisted > 0 {
            self.list.push(Fault {
                code: FaultCode::MoreFaults,
                place: "plan".to_owned(),
                found: format!("{} more", self.unlisted),
                expected: String::new(),
                message: FaultCode::MoreFaults.title().to_owned(),
            });
        }
        self.list
    }
}

/// Keeps messages readable whatever the plan holds.
fn shortened(text: &str) -> String {
    const KEPT: usize = 120;
    if text.chars().count() <= KEPT {
        return text.to_owned();
    }
    text.chars().take(KEPT).chain(std::iter::once('…')).collect()
}

/// Declares the codes once: name, number, title, explanation.
macro_rules! codes {
    ($($name:ident = $number:literal, $title:literal, $explanation:literal;)*) => {
        /// Kinds of faults. The number groups them: 0 documents, 1 names, 2 strips, 3 supply of lay-ups, 4 stacks,
        /// 5 mats, 6 patches, 7 cloth, 8 figures, 9 bounds and their proof, R the rest of a day. Those of a group's day
        /// start with D: 0 documents, 1 bags, 2 lots, 3 runs and batches, 4 figures, 5 schedule, 6 money.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
        #[serde(rename_all = "snake_case")]
        pub enum FaultCode {
            $(#[doc = $title] $name,)*
        }

        impl FaultCode {
            /// All codes in the order of their numbers.
            pub const ALL: &[Self] = &[$(Self::$name),*];

            /// What stands in messages and in the page of codes, for example `C401`.
            #[must_use]
            pub const fn number(self) -> &'static str {
                match self { $(Self::$name => $number,)* }
            }

            /// What is wrong, in a few words.
            #[must_use]
            pub const fn title(self) -> &'static str {
                match self { $(Self::$name => $title,)* }
            }

            /// What is wrong and why it matters, in a sentence or two.
            #[must_use]
            pub const fn explanation(self) -> &'static str {
                match self { $(Self::$name => $explanation,)* }
            }
        }
    };
}

codes! {
    ScenarioUnusable = "C001", "the scenario cannot be used to check a plan",
        "The scenario file cannot be read, or contradicts itself, so nothing can be judged from it.";
    ScenarioChanged = "C002", "the scenario is not the one that was planned",
        "The plan names the digest of the scenario file it was made from, and this file has another. Plan again.";
    EchoDiffers = "C003", "the scenario repeated in the plan differs from the file",
        "The plan repeats its scenario so that it can be read alone; the repetition must be the file.";
    WrongVersion = "C004", "the format version is not known",
        "This program judges plans of version 1 made from scenarios of version 1.";
    PlanNumber = "C005", "the plan number does not belong to this plan",
        "The number on every sheet is derived from the plan. If it does not fit, the plan was changed after it was made.";
    OutOfRange = "C006", "a number or a list is beyond anything that can be cut",
        "Absurd numbers are refused before anything is computed from them.";
    MoreFaults = "C007", "there are more faults than are listed",
        "At most twenty faults of one kind and two hundred in all are listed one by one.";
    UnknownName = "C101", "a name refers to nothing",
        "The plan names a fabric, a board, a mat or a piece that the scenario or the plan does not have.";
    DuplicateName = "C102", "a name is used twice",
        "Strips, lengths, cuts and lay-ups are told apart by their names on the tags, so each needs its own.";
    EmptyName = "C103", "a name is empty",
        "Strips, lengths, cuts and lay-ups are told apart by their names on the tags.";
    ListDiffers = "C104", "a list does not match the scenario",
        "Fabrics, boards and balances stand in the plan one by one in the order of the scenario.";
    OffRulerStep = "C201", "a size to be cut is not a multiple of the ruler step",
        "Everything measured with the ruler is rounded up to the ruler step before planning, so that what is printed is what was planned.";
    SizeNotPositive = "C202", "a size to be cut is not above zero",
        "A strip, a length or a cut without a size cannot be cut.";
    WiderThanStrip = "C203", "a length or cut is wider than its strip",
        "Cloth can be trimmed narrower than its strip, never wider.";
    StripTooLong = "C204", "the lengths on a strip are longer than the cloth is wide",
        "The lengths along a strip must fit the usable width less the end reserve.";
    PieceLength = "C205", "a length does not make its plies",
        "A folded length is its plies times the run plus the folds, rounded up to the ruler step; a flat cut is its run.";
    PliesZero = "C206", "a length, cut or group has no plies",
        "Every length and cut makes at least one ply.";
    NoSuchBay = "C301", "the positions are not an area that one rectangle of cloth can cover",
        "An area is one position, a run of neighbours in a row or column, or a full rectangle of them, whose rectangle touches no other blades.";
    BayTwice = "C302", "an area is loaded twice in one lay-up",
        "All plies of an area stand in one list, from the bottom up.";
    EmptyLoad = "C303", "a lay-up or an area is loaded with nothing",
        "A lay-up without plies or without passes cuts nothing.";
    WayNotAllowed = "C304", "the strip lies on the area in a way that the travel rule forbids",
        "The travel rule of the fabric, or of the job, says which of an area's two dimensions runs along the strip.";
    OneWayTurned = "C305", "a one-way fabric is folded or laid face down",
        "A one-way print keeps its direction along the strip: no folding and no face-down plies unless the scenario allows it.";
    PieceRun = "C306", "a length or cut has the wrong run for its area",
        "Fold to fold, or end to end, it must be as long as the cloth for one ply of that area, in the way round in which it lies.";
    PieceWidth = "C307", "a length or cut has the wrong width for its area",
        "After trimming it must be exactly as wide as the cloth for one ply of that area, in the way round in which it lies.";
    PieceFabric = "C308", "a length or cut is of another fabric than the plies it supplies",
        "The card names one fabric and the tag another.";
    PiecePlies = "C309", "a length or cut makes another number of plies than its group has",
        "Every group of plies comes from one folded length or one flat cut.";
    PieceUsedTwice = "C310", "a length or cut is used more than once",
        "Cloth can be cut only once.";
    PieceUnused = "C311", "a length or cut is never used",
        "Every length and cut that is prepared must supply one group of one pass.";
    PassIncomplete = "C312", "a pass does not name one length or cut for every group",
        "Each pass lists, for every loaded area and every group, the piece that supplies it.";
    LayUpTwice = "C313", "two lay-ups are the same",
        "Passes with the same board, mats and plies are one lay-up, made several times.";
    StackTooHigh = "C401", "a stack has more plies than its limits allow",
        "The plies on one position share the stack in proportion to their limits: the sum over the plies of one over their limit is at most 1.";
    OverlapTooHigh = "C402", "plies are stacked too high where the cloth of several areas overlaps",
        "The limit holds at every point of the board, also between the blades.";
    BaysApart = "C403", "two areas are loaded together that must be kept apart",
        "Between them there is less than the least margin for each.";
    FabricsShare = "C404", "several fabrics share a pass though the plan goes fabric by fabric",
        "Under fabric by fabric a pass holds one fabric.";
    NotFlat = "C405", "a folded length is laid though every ply is to be a flat cut",
        "The plan's ply rule is flat.";
    NotFolded = "C406", "flat cuts are laid where folded lengths are to be",
        "Under folded, the plies of one fabric in one area of one pass come from folded lengths; a flat cut may be there only where it is the only ply.";
    StrategyLimit = "C407", "the ply limit of the strategy is none that the cutter has",
        "A strategy may stack lower than the cutter allows, never higher.";
    BatchList = "C408", "the batches are not those that the scenario asks for",
        "Under block by block every pass serves one batch of the list, and the batches together are every block, the loose patches and the spare patches.";
    BatchShort = "C409", "the passes of a batch cut too few patches for it",
        "What is left over from one batch serves no other.";
    BatchPasses = "C410", "a batch of several blocks passes a board more than once",
        "Several like blocks are one batch only if each board does all of them in one pass.";
    MatsOwned = "C501", "a mat is used more often in one pass than it is owned",
        "All mats of a pass go through the cutter at the same time.";
    NotUnderMat = "C502", "a used position does not lie wholly under one mat",
        "Blades that are not under a mat do not cut through, and an edge of a mat must not lie on a blade.";
    MatsOverlap = "C503", "two mats overlap",
        "Two mats on top of each other are too high for the rollers.";
    MatTooWide = "C504", "mats and board are wider than the cutter's bed",
        "Board and mats together must pass between the rollers' sides.";
    DemandShort = "C601", "fewer patches are cut than are needed",
        "The quilts and loose patches need more patches of this fabric, shape and hand than the lay-ups yield.";
    SparesShort = "C602", "fewer spare patches are cut than were asked for",
        "The lay-ups yield what is needed, but not all spare patches of this fabric, shape and hand.";
    PatchLine = "C603", "a line of the list of patches is wrong",
        "The list has one line for every fabric, shape and hand in demand, with what is needed, spare and cut.";
    ProofBlockMissing = "C604", "the proof block is missing or was not asked for",
        "The plan has a proof block if and only if the scenario asks for one.";
    ProofBlockIncomplete = "C605", "the first lay-ups do not yield the proof block",
        "The first lay-ups, as many as the plan says, must yield all patches of one block.";
    ProofBlockPasses = "C606", "the passes of the proof block are miscounted",
        "The passes are those of the lay-ups that yield the proof block.";
    KeptBack = "C701", "the length kept back is wrong",
        "Lengths kept back for borders, binding or backing come off first.";
    Squaring = "C702", "the length lost to squaring is wrong",
        "Squaring before the first strip, and squaring again after every five strips where another follows.";
    Taken = "C703", "the length taken is wrong",
        "The length taken is what is kept back, what squaring takes and the strips.";
    Bought = "C704", "the length to buy is wrong",
        "The length to buy is the length taken, more by the shrinkage, rounded up to the selling step.";
    Price = "C705", "the price of a fabric is wrong",
        "The price is the length bought times the price; without prices, the area bought.";
    BalanceLine = "C706", "a line of the cloth balance is wrong",
        "The balance says where every bit of the cloth goes.";
    BalanceTotal = "C707", "the total of a cloth balance is wrong",
        "The total is the length bought times the stated width, and the lines add up to it.";
    Figure = "C801", "a figure is wrong",
        "Every figure is counted again from the strips and lay-ups.";
    EventTime = "C802", "a line of the standard time is wrong",
        "The standard time is the number of events times the seconds of each.";
    Outcome = "C901", "the outcome does not fit the bounds",
        "A plan is proved if and only if every figure of the aim meets its bound.";
    BoundOrder = "C902", "the bounds are not those of the aim",
        "There is one bound for every figure of the aim, in the aim's order, and one proof for each.";
    BoundValue = "C903", "a bound states another value than the plan has",
        "The value beside a bound is the plan's own figure.";
    BoundAboveValue = "C904", "a bound is above the plan's value",
        "No plan can be below a lower bound, this one included.";
    ProvedFlag = "C905", "a bound is called proved or unproved wrongly",
        "A figure is proved if and only if value and bound are the same.";
    ConditionalFlag = "C906", "a bound is called conditional or unconditional wrongly",
        "A bound is conditional if its proof holds an earlier figure of the aim that is not proved.";
    CertificateForm = "C907", "a proof does not have the form of this job",
        "A proof has a price for every demand line and every point of every board, and parts for all fabrics together or one by one.";
    NegativePrice = "C908", "a price in a proof is negative",
        "Prices below zero prove nothing.";
    PassPrice = "C909", "the prices of a board's points add up to more than a pass costs",
        "Then the proof would claim more for a pass than a pass can bear.";
    StripPrice = "C910", "a strip is worth more than it costs at the prices of a proof",
        "Then a plan could be cheaper than the bound, and the bound is not proved.";
    BoundNotProved = "C911", "a bound is not what its proof shows",
        "The bound is computed again from the proof, exactly, and rounded up to the step of the figure.";
    HeldWrongly = "C912", "a proof holds a figure that is not held before it",
        "Only the cloth of an earlier area and earlier passes may be held.";
    CertificateTooLarge = "C913", "the numbers of a proof are too large to be checked exactly",
        "A proof that cannot be computed again in exact numbers is not accepted.";
    WholePlans = "C914", "a whole plan of a fabric costs less than a proof says",
        "The proof would claim more for the strips of a fabric than they need cost.";
    Cases = "C915", "the cases of a proof leave some plans out",
        "A proof by cases of passes shows nothing of plans that are in none of its cases.";
    FewestNotProved = "C916", "fewer lay-ups, or lengths and cuts, are not ruled out",
        "How few there can be at least is searched for again, from the plan's own strips, areas and passes.";
    ReplanDocument = "CR01", "a replan does not belong to this plan, or was changed",
        "It names its plan, and its number is derived from everything in it.";
    ReplanPasses = "CR02", "a pass of the plan is not accounted for once",
        "Every pass is made, kept or dropped.";
    ReplanKept = "CR03", "a kept pass cannot be made",
        "It needs a whole board, whole mats, and lengths and cuts that are there or can still be cut.";
    ReplanStrips = "CR04", "the strips still to be cut are wrong",
        "Every strip of a kept pass is cut or in the list, and fits the cloth as it was found.";
    ReplanCloth = "CR05", "the cloth left or to be bought is wrong",
        "What is left of every bolt, what strips take of it, and what must be bought are counted again from the log.";
    ReplanOnHand = "CR06", "a strip is taken from cloth that is not there",
        "It must be cut, large enough, neither used nor spoiled, and taken once.";
    ReplanSupplement = "CR07", "the supplement is not made for this job",
        "It has the same fabrics, cutter and rules, cloth as wide as it was found, and only boards and mats that are whole.";
    ReplanCount = "CR08", "a line of the recount is wrong",
        "Wanted, good, kept and new patches of every fabric, shape and hand are counted again from scenario and log.";
    ReplanShort = "CR09", "fewer patches come out than are wanted",
        "Good patches, kept passes and supplement together must yield everything wanted.";
    DayVersion = "D001", "the format version of the day is not known",
        "This program judges days of version 1.";
    DayPlan = "D002", "the day belongs to another plan",
        "A day says what is done with the strips and passes of one plan, which it names by its number.";
    DayNumber = "D003", "the day number does not belong to this day",
        "The number on every sheet of the day is derived from it. If it does not fit, the day was changed after it was made.";
    NoGroup = "D004", "the scenario has no group",
        "Bags, helpers and the day stand in the scenario's group; without one there is nothing to judge a day by.";
    DayRest = "D005", "the rest of a day does not begin as it must",
        "Only a replan has the rest of a day; it begins no earlier than the day, and a whole day states no such beginning.";
    BagList = "D101", "the bags are not those that the scenario asks for",
        "Every quilt, block or person has a bag of its own, with its name, where it goes and whether it is urgent, in the order of the scenario; then come loose patches and spares.";
    BagNeeds = "D102", "a bag's list is not what its quilts need",
        "The list of a bag has one line for every fabric, shape and hand that goes into it, in the order of the scenario.";
    BagSpares = "D103", "a bag's list has other spare patches than its share",
        "What is cut beyond the needs goes into one bag or is shared out in proportion to what is needed, urgent bags first where a patch is left over.";
    BagThere = "D104", "what lies in the bags already is not what is there",
        "In the rest of a day every good patch lies in a bag that wants it, and no more than there is.";
    LotList = "D201", "the lots are not what the passes yield in the order of work",
        "There is one lot for every run, pass, position and kind of patch, in that order, and no other.";
    LotParts = "D202", "the parts of a lot do not make the lot",
        "The parts name each bag once, hold at least one patch each, and add up to what the position yields.";
    LotSums = "D203", "the lots put something else into a bag than stands on its list",
        "Over all lots every bag gets its list, patch by patch.";
    RunUnknown = "D301", "a run is of passes that the plan does not have",
        "A run names a lay-up of the plan and passes of it.";
    RunCover = "D302", "a pass is in no run, or in two",
        "Every pass is cranked once.";
    RunTooLong = "D303", "a run has more passes than a tray holds",
        "The passes of a run are laid out on one tray.";
    RunProof = "D304", "the proof block is not cut first",
        "The runs of the lay-ups that yield the proof block come before all others.";
    RunOrder = "D305", "the runs are not in the order in which they are cranked",
        "With a schedule, runs are numbered by the start of their cranking.";
    BatchStrips = "D306", "the batches are not the strips of the plan",
        "Every strip is pressed and cut in one batch, with strips of its own fabric.";
    BatchTooLong = "D307", "a batch has more than five strips",
        "After five strips the cloth is squared again.";
    DayFigure = "D401", "a figure of the day is wrong",
        "Every figure is counted again from lots, runs and schedule.";
    OpenTooMany = "D402", "more bags are open at a time than the scenario allows",
        "A bag is open from the first run that cuts for it to the last.";
    OpenBound = "D403", "fewer open bags are not ruled out",
        "How few bags can be open is searched for again over all orders of the runs; what cannot be shown is not accepted.";
    ScheduleMissing = "D501", "the schedule is missing, or nobody is listed to help",
        "There is a schedule if and only if the scenario lists helpers.";
    TaskList = "D502", "the tasks are not those that there are to do",
        "Every batch is pressed and cut once; every run is folded, cranked and lifted out once; every bag with patches is checked once. Tasks stand in the order of their start.";
    TaskHelper = "D503", "a helper is not listed or cannot do this work",
        "Tasks go to helpers of the scenario who say that they can do that kind of work.";
    TaskHours = "D504", "a helper works before coming or after going",
        "A task lies within the hours of its helper.";
    TaskTwice = "D505", "a helper does two things at once",
        "Every task takes its helper wholly.";
    TaskTime = "D506", "a task does not take the time it takes",
        "A task takes its standard time, more by the slack, at the speed of its helper, rounded up to the second.";
    TaskTooEarly = "D507", "a task starts before what it needs is done",
        "Pressing comes before cutting strips, that before folding, then cranking, lifting out, and checking bags. The batches of a fabric are pressed one after the other, and cut one after the other.";
    SharedThings = "D508", "more irons, rulers, tables or mats are used at a time than there are",
        "Each is used by one task at a time.";
    NoStation = "D509", "a task is at a station or with a copy of a board that does not exist",
        "Cranking, and nothing else, names a cutter of the scenario, which of them, and which copy of the board.";
    StationTwice = "D510", "a station or a copy of a board is used by two runs at once",
        "A cutter takes one board at a time, and a board can be in one cutter at a time.";
    StationTooSmall = "D511", "a cutter does not take this lay-up",
        "Board and mats must go between its rollers, and no stack may be higher than it takes.";
    TraysAhead = "D512", "more filled trays wait than there may",
        "A tray waits from the end of folding to the start of cranking.";
    Finish = "D513", "the end of the day is wrong",
        "The day ends with the last task.";
    FinishBound = "D514", "an earlier end is not ruled out",
        "The earliest possible end is bounded again from helpers, stations, boards, mats, shared things and the longest chain of tasks.";
    OneMore = "D515", "one more of something makes the day longer",
        "Whatever is added can be left standing, so that the day ends no later.";
    MoneyMissing = "D601", "the money is missing, or there are no prices",
        "Money is shared if and only if the scenario has prices.";
    MoneyTotal = "D602", "the total of the money is wrong",
        "The total is the plan's money, rounded half up to cents.";
    FabricMoney = "D603", "the money or the rest of a fabric is wrong",
        "Each fabric has its share of the total, who brought it, what is left and who takes that.";
    FabricShares = "D604", "a fabric is paid for by the wrong bags",
        "Bags pay in proportion to the area of the patches in them; a fabric that none has patches of is paid by all alike.";
    BagMoney = "D605", "what a bag pays is wrong",
        "A bag pays the sum of its shares.";
    AloneFigure = "D606", "the figures for all together are not the plan's",
        "What cutting together saves is told from the plan's own money, area, passes and seconds.";
}

impl fmt::Display for FaultCode {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(self.number())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_are_told_apart_by_number_and_explained() {
        let mut numbers: Vec<&str> = FaultCode::ALL.iter().map(|code| code.number()).collect();
        assert!(numbers.is_sorted());
        numbers.dedup();
        assert_eq!(numbers.len(), FaultCode::ALL.len());
        for code in FaultCode::ALL {
            assert!(code.explanation().ends_with('.') && !code.title().ends_with('.'), "{code}");
        }
    }

    #[test]
    fn a_long_list_ends_with_the_number_left_out() {
        let mut faults = Faults::default();
        for at in 0..250 {
            faults.add(FaultCode::Figure, format!("figure {at}"), at, at + 1);
        }
        faults.add(FaultCode::Outcome, "outcome", "proved", "with a gap");
        let list = faults.into_list();
        assert_eq!(list.len(), 22);
        assert_eq!(list[20].code, FaultCode::Outcome);
        assert_eq!((list[21].code, list[21].found.as_str()), (FaultCode::MoreFaults, "230 more"));
    }
}
