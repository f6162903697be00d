//! What can be typed after `patchlay`.

use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::time::Duration;

use clap::{Args, Parser, Subcommand, ValueEnum, value_parser};
use patchlay_measure::UnitSystem;
use patchlay_scenario::spec::Work;
use patchlay_scenario::{LoadingRule, PlyRule, Strategy};
use patchlay_sheets::Paper;

/// Plans the cutting of patchwork on a roller cutter: cloth to buy, strips to cut, every lay-up of every board,
/// and a proof of how good the plan is.
#[derive(Debug, Parser)]
#[command(name = "patchlay", version, max_term_width = 100, after_help = EXIT_CODES)]
pub(crate) struct Arguments {
    /// What to do.
    #[command(subcommand)]
    pub(crate) command: Command,
}

const EXIT_CODES: &str = "\
Exit codes:
  0  done
  1  the demand cannot be met with these boards and fabrics; the reasons are printed
  2  bad input or usage, a file that cannot be read or written, or stopped before there was a plan
  3  a plan that was given fails the check
  4  a fault of patchlay itself";

/// The commands.
#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Plan the cutting of a scenario, check the plan, and write it to a folder.
    Plan(PlanArgs),
    /// Compare ways to load boards and to make plies: whole blocks, one fabric at a time or mixed; folded or flat.
    Compare(CompareArgs),
    /// Explain a plan: what sets its passes, where its cloth goes, and what one more ply, narrower cloth or a selling step
    /// less or more would do, each planned anew.
    Explain(ExplainArgs),
    /// Note what happens while a plan is cut, in a log beside the plan.
    Record(RecordArgs),
    /// Plan the rest of the day from what is noted: the fewest changed lay-ups, and what makes up for them.
    Replan(ReplanArgs),
    /// Check a plan against its scenario, from the scenario alone; and what a replan wrote, from the log beside the plan.
    Verify(VerifyArgs),
    /// Print what patchlay takes the shapes and boards to measure; compare with your own before cutting.
    Sizes(SizesArgs),
    /// Print the JSON Schema of a file.
    Schema {
        /// Of which file.
        of: SchemaOf,
    },
    /// Print every error and fault code with its explanation.
    Codes(CodesArgs),
}

/// `patchlay plan`.
#[derive(Args, Debug)]
pub(crate) struct PlanArgs {
    /// The scenario file.
    pub(crate) scenario: PathBuf,
    /// Fabrics in a CSV file, merged into the scenario: name, usable width, print, price, letter, brought by, …
    #[arg(long, value_name = "CSV")]
    pub(crate) fabrics: Option<PathBuf>,
    /// Quilts in a CSV file, merged into the scenario: quilt, copies, for, urgent, block, count, and a column for every role.
    #[arg(long, value_name = "CSV")]
    pub(crate) quilts: Option<PathBuf>,
    /// Loose patches in a CSV file, merged into the scenario: shape, fabric, count, mirrored.
    #[arg(long, value_name = "CSV")]
    pub(crate) demand: Option<PathBuf>,
    /// Folder for the plan and its sheets; out/ and the scenario file's name unless given.
    #[arg(long, value_name = "DIR")]
    pub(crate) out: Option<PathBuf>,
    /// Seed of the search. Same scenario, seed, effort and version: same plan.
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub(crate) seed: u64,
    /// How hard to search, from 1 to 10.
    #[arg(long, value_name = "N", default_value_t = 3, value_parser = value_parser!(u32).range(1..=10))]
    pub(crate) effort: u32,
    /// Stop after so many seconds and keep the best plan found. Such a plan depends on the machine's speed.
    #[arg(long, value_name = "SECONDS", value_parser = value_parser!(u64).range(1..=604_800))]
    pub(crate) time_limit: Option<u64>,
    /// Threads to use; as many as the machine has unless given. The plan does not depend on it.
    #[arg(long, value_name = "N", value_parser = value_parser!(u16).range(1..=256))]
    pub(crate) threads: Option<u16>,
    /// How fabrics share passes.
    #[arg(long, value_name = "RULE", default_value = "mixed")]
    pub(crate) loading: LoadingName,
    /// How plies are made.
    #[arg(long, value_name = "RULE", default_value = "either")]
    pub(crate) plies: PliesName,
    /// Most plies in a stack, below what the cutter takes.
    #[arg(long, value_name = "N", value_parser = value_parser!(u32).range(1..=1_000))]
    pub(crate) ply_limit: Option<u32>,
    /// Write the sheets for left-handed work as well.
    #[arg(long)]
    pub(crate) left_handed: bool,
    /// Paper for the sheets; letter where the scenario is in inches, A4 where it is metric, unless given.
    #[arg(long, value_name = "PAPER")]
    pub(crate) paper: Option<PaperName>,
    /// Print JSON instead of text, errors included.
    #[arg(long)]
    pub(crate) json: bool,
}

/// Loading rules.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub(crate) enum LoadingName {
    /// Any fabrics of any blocks share a pass.
    Mixed,
    /// A pass holds one fabric.
    #[value(name = "fabric by fabric", alias = "fabric-by-fabric")]
    FabricByFabric,
    /// A pass serves one batch of like blocks.
    #[value(name = "block by block", alias = "block-by-block")]
    BlockByBlock,
}

impl LoadingName {
    fn rule(self) -> LoadingRule {
        match self {
            Self::Mixed => LoadingRule::Mixed,
            Self::FabricByFabric => LoadingRule::FabricByFabric,
            Self::BlockByBlock => LoadingRule::BlockByBlock,
        }
    }
}

/// Ply rules.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub(crate) enum PliesName {
    /// Folded lengths and flat cuts, as suits.
    Either,
    /// Flat cuts only.
    Flat,
    /// Folded lengths; a flat cut only for a single ply.
    Folded,
}

impl PliesName {
    fn rule(self) -> PlyRule {
        match self {
            Self::Either => PlyRule::Either,
            Self::Flat => PlyRule::Flat,
            Self::Folded => PlyRule::Folded,
        }
    }
}

/// `patchlay compare`.
#[derive(Args, Debug)]
pub(crate) struct CompareArgs {
    /// The scenario file.
    pub(crate) scenario: PathBuf,
    /// Folder for the comparison; out/, the scenario file's name and -compare unless given.
    #[arg(long, value_name = "DIR")]
    pub(crate) out: Option<PathBuf>,
    /// Every strategy with every ply limit, not only the freest.
    #[arg(long)]
    pub(crate) every_limit: bool,
    /// How to search.
    #[command(flatten)]
    pub(crate) search: SearchArgs,
    /// Paper for the page; letter where the scenario is in inches, A4 where it is metric, unless given.
    #[arg(long, value_name = "PAPER")]
    pub(crate) paper: Option<PaperName>,
    /// Print JSON instead of text, errors included.
    #[arg(long)]
    pub(crate) json: bool,
}

impl CompareArgs {
    /// The paper for the page.
    pub(crate) fn paper(&self, units: UnitSystem) -> Paper {
        paper(self.paper, units)
    }

    /// The folder for the comparison.
    pub(crate) fn folder(&self) -> PathBuf {
        folder(self.out.as_deref(), &self.scenario, "-compare")
    }
}

/// How to search where many plans are made.
#[derive(Args, Debug)]
pub(crate) struct SearchArgs {
    /// Seed of the searches.
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub(crate) seed: u64,
    /// How hard to search for each, from 1 to 10.
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = value_parser!(u32).range(1..=10))]
    pub(crate) effort: u32,
    /// Stop every search after so many seconds and keep the best found. What is found then depends on the machine's speed.
    #[arg(long, value_name = "SECONDS", value_parser = value_parser!(u64).range(1..=604_800))]
    pub(crate) time_limit: Option<u64>,
    /// Threads to use; as many as the machine has unless given. What is found does not depend on it.
    #[arg(long, value_name = "N", value_parser = value_parser!(u16).range(1..=256))]
    pub(crate) threads: Option<u16>,
}

impl SearchArgs {
    /// The options of every search.
    pub(crate) fn options(&self) -> patchlay_optimise::Options {
        options(self.seed, self.effort, self.time_limit, self.threads)
    }
}

fn options(
    seed: u64,
    effort: u32,
    time_limit: Option<u64>,
    threads: Option<u16>,
) -> patchlay_optimise::Options {
    let time_limit = time_limit.map(Duration::from_secs);
    patchlay_optimise::Options { seed, effort, time_limit, threads: threads.map(usize::from) }
}

/// The folder named, or one in `out` that is named after the scenario.
fn folder(named: Option<&Path>, scenario: &Path, ending: &str) -> PathBuf {
    match (named, scenario.file_stem()) {
        (Some(folder), _) => folder.to_owned(),
        (None, Some(stem)) => {
            let mut name = stem.to_os_string();
            name.push(ending);
            PathBuf::from("out").join(name)
        }
        (None, None) => PathBuf::from("out"),
    }
}

fn paper(named: Option<PaperName>, units: UnitSystem) -> Paper {
    match (named, units) {
        (Some(PaperName::Letter), _) | (None, UnitSystem::Inch) => Paper::Letter,
        (Some(PaperName::A4), _) | (None, UnitSystem::Metric) => Paper::A4,
    }
}

/// Papers.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub(crate) enum PaperName {
    /// 8 1/2 x 11 in.
    Letter,
    /// 210 x 297 mm.
    A4,
}

impl PlanArgs {
    /// The paper for the sheets.
    pub(crate) fn paper(&self, units: UnitSystem) -> Paper {
        paper(self.paper, units)
    }

    /// The strategy.
    pub(crate) fn strategy(&self) -> Strategy {
        Strategy { loading: self.loading.rule(), plies: self.plies.rule(), ply_limit: self.ply_limit }
    }

    /// The options of the search.
    pub(crate) fn options(&self) -> patchlay_optimise::Options {
        options(self.seed, self.effort, self.time_limit, self.threads)
    }

    /// The folder for the plan and its sheets.
    pub(crate) fn folder(&self) -> PathBuf {
        folder(self.out.as_deref(), &self.scenario, "")
    }
}

/// `patchlay explain`.
#[derive(Args, Debug)]
pub(crate) struct ExplainArgs {
    /// The plan: the plan.json that `patchlay plan` wrote. It holds its scenario.
    pub(crate) plan: PathBuf,
    /// How to search.
    #[command(flatten)]
    pub(crate) search: SearchArgs,
    /// Print JSON instead of text, errors included.
    #[arg(long)]
    pub(crate) json: bool,
}

/// `patchlay replan`.
#[derive(Args, Debug)]
pub(crate) struct ReplanArgs {
    /// The plan: the plan.json that `patchlay plan` wrote; its log stands beside it.
    pub(crate) plan: PathBuf,
    /// Folder for the changes and the supplement; replan/ beside the plan unless given.
    #[arg(long, value_name = "DIR")]
    pub(crate) out: Option<PathBuf>,
    /// How to search for the supplement.
    #[command(flatten)]
    pub(crate) search: SearchArgs,
    /// For a group: time of day at which the rest of the hours begins, `13:30`; when the last pass that is noted ends in
    /// the day as planned, unless given. After midnight hours go on: `25:00`.
    #[arg(long, value_name = "HH:MM", value_parser = clock)]
    pub(crate) starts: Option<u32>,
    /// Draw the boards for left-handed work.
    #[arg(long)]
    pub(crate) left_handed: bool,
    /// Paper for the sheets; letter where the scenario is in inches, A4 where it is metric, unless given.
    #[arg(long, value_name = "PAPER")]
    pub(crate) paper: Option<PaperName>,
    /// Print JSON instead of text, errors included.
    #[arg(long)]
    pub(crate) json: bool,
}

/// The last second of the year 9999, counted from 1970-01-01 00:00 UTC by the calendar as it is in use since 1582:
/// 8,030 years with 1,947 leap days.
const LAST_SECOND: u64 = (8_030 * 365 + 1_947) * 86_400 - 1;

/// Minutes after midnight of the first day.
fn clock(text: &str) -> Result<u32, String> {
    let parts = text.trim().split_once(':').filter(|(_, minutes)| minutes.len() == 2);
    let read = parts.and_then(|(hours, minutes)| Some((hours.parse().ok()?, minutes.parse().ok()?)));
    match read {
        Some((hours @ 0..48, minutes @ 0..60)) => Ok(hours * 60 + minutes),
        _ => Err(
            "this is not a time of day: write it like 13:30, and 25:00 for one o'clock in the night after; \
                  47:59 is the last"
                .to_owned(),
        ),
    }
}

impl ReplanArgs {
    /// The paper for the sheets.
    pub(crate) fn paper(&self, units: UnitSystem) -> Paper {
        paper(self.paper, units)
    }

    /// The folder for the changes and the supplement.
    pub(crate) fn folder(&self) -> PathBuf {
        self.out.clone().unwrap_or_else(|| self.plan.with_file_name("replan"))
    }
}

/// Kinds of work, by the names that a scenario has for them.
#[derive(Clone, Copy, Debug, ValueEnum)]
#[value(rename_all = "snake_case")]
pub(crate) enum WorkName {
    Press,
    Strips,
    Fold,
    Crank,
    LiftOut,
    CheckBags,
}

impl WorkName {
    pub(crate) fn work(self) -> Work {
        match self {
            Self::Press => Work::Press,
            Self::Strips => Work::Strips,
            Self::Fold => Work::Fold,
            Self::Crank => Work::Crank,
            Self::LiftOut => Work::LiftOut,
            Self::CheckBags => Work::CheckBags,
        }
    }
}

/// `patchlay record`.
#[derive(Args, Debug)]
pub(crate) struct RecordArgs {
    /// The plan: the plan.json that `patchlay plan` wrote. The log is plan.log beside it.
    pub(crate) plan: PathBuf,
    /// What happened.
    #[command(subcommand)]
    pub(crate) what: Noted,
    /// Who notes it.
    #[arg(long, global = true, value_name = "NAME")]
    pub(crate) who: Option<String>,
    /// When it was noted, seconds since 1970-01-01 00:00 UTC; now unless given.
    #[arg(long, global = true, value_name = "SECONDS", value_parser = value_parser!(u64).range(..=LAST_SECOND))]
    pub(crate) at: Option<u64>,
    /// Print JSON instead of text, errors included.
    #[arg(long, global = true)]
    pub(crate) json: bool,
}

/// What can be noted.
#[derive(Debug, Subcommand)]
pub(crate) enum Noted {
    /// A run of a group's day was made: its passes, or what is left of them.
    Run {
        /// Its number on the sheets of the day.
        run: usize,
        /// How many of its passes; all that are not made unless given.
        #[arg(long, value_name = "N", value_parser = value_parser!(u64).range(1..))]
        passes: Option<u64>,
        /// An area that had fewer plies than planned, `A=4`, or one group of it, `A.2=1`. May be given again.
        #[arg(long, value_name = "AREA=N")]
        plies: Vec<String>,
        /// The day whose sheets were followed; that of the replan in replan/ beside the plan, or else the day.json beside
        /// the plan, unless given.
        #[arg(long, value_name = "DAY")]
        day: Option<PathBuf>,
    },
    /// Passes of a lay-up were made.
    Passes {
        /// Which lay-up.
        layup: String,
        /// How many passes.
        #[arg(default_value_t = 1)]
        passes: u64,
        /// Number of the first of them; the next that are not made unless given, in a group's day in the order of its runs.
        #[arg(long, value_name = "PASS")]
        first: Option<u64>,
        /// An area that had fewer plies than planned, `A=4`, or one group of it, `A.2=1`. May be given again.
        #[arg(long = "plies", value_name = "AREA=PLIES")]
        plies: Vec<String>,
    },
    /// Plies of a pass came out spoiled.
    Spoiled {
        /// Which lay-up.
        layup: String,
        /// Which pass, from 1.
        pass: u64,
        /// Which area, `A`, or which group of it from the bottom up, `A.2`.
        area: String,
        /// How many plies.
        plies: u32,
    },
    /// Another fabric lay where the card names one.
    WrongFabric {
        /// Which lay-up.
        layup: String,
        /// Which pass, from 1.
        pass: u64,
        /// Which area, `A`, or which group of it from the bottom up, `A.2`.
        area: String,
        /// The fabric that lay there; left out, none of the plan's.
        #[arg(long, value_name = "FABRIC")]
        instead: Option<String>,
        /// The length or cut that lay there, if it was one of the plan's.
        #[arg(long, value_name = "TAG")]
        used: Option<String>,
    },
    /// Patches were spoiled or lost after they were cut.
    PatchesSpoiled(PatchesArgs),
    /// Good patches are there that no noted pass has cut, a supplement's for example.
    PatchesFound(PatchesArgs),
    /// A strip, length or cut was spoiled before it lay under the roller.
    ClothSpoiled {
        /// Its tag.
        name: String,
    },
    /// A bolt came up short or narrow.
    Bolt {
        /// Which fabric.
        fabric: String,
        /// Length left for strips, as measured now; what is kept back is not counted.
        #[arg(long, value_name = "LENGTH", required_unless_present = "width", conflicts_with = "width")]
        left: Option<String>,
        /// Usable width, as measured now.
        #[arg(long, value_name = "LENGTH")]
        width: Option<String>,
    },
    /// Strips were cut.
    Strips {
        /// Their tags.
        #[arg(required = true)]
        strips: Vec<String>,
    },
    /// Lengths and cuts lie ready on a lay-up's tray; when the rest of the day is planned it is not filled again.
    Tray {
        /// Which lay-up.
        layup: String,
        /// For how many passes, counted from the next that is not made.
        #[arg(default_value_t = 1)]
        passes: u64,
    },
    /// A board was damaged.
    Board {
        /// Which board.
        board: String,
        /// How many copies of it.
        #[arg(default_value_t = 1)]
        copies: u32,
    },
    /// A mat was damaged.
    Mat {
        /// Which mat.
        mat: String,
        /// How many.
        #[arg(default_value_t = 1)]
        mats: u32,
    },
    /// A helper comes: somebody came to help, or does other work from now on. (Who goes is noted with 'person'.)
    Helper {
        /// Who.
        person: String,
        /// What they do, and nothing else.
        #[arg(long, value_name = "WORK", value_delimiter = ',', required = true)]
        can: Vec<WorkName>,
        /// Their speed in percent of the standard times; 100 unless given.
        #[arg(long, value_name = "PERCENT", value_parser = value_parser!(u32).range(10..=400))]
        speed: Option<u32>,
    },
    /// A helper goes: somebody who helped has left, and works no more. (Who comes is noted with 'helper'.)
    Person {
        /// Who.
        person: String,
    },
    /// A quilt came on top, or several, with fabrics and blocks of their own.
    QuiltAdded {
        /// A file with the quilt as it would stand in the scenario; or with `fabrics`, `blocks` and `quilts` as in a scenario.
        file: PathBuf,
    },
    /// A quilt is not wanted any more.
    QuiltDropped {
        /// Which quilt.
        quilt: String,
        /// How many copies of it; all unless given.
        #[arg(long, value_name = "N")]
        copies: Option<u32>,
    },
    /// A record does not count.
    Undo {
        /// Its number.
        record: u64,
    },
    /// Print what is noted and what is left to do.
    Show,
    /// Write tally.html beside the plan: a form to fill in by hand and to type in later.
    Tally {
        /// Paper for it; letter where the scenario is in inches, A4 where it is metric, unless given.
        #[arg(long, value_name = "PAPER")]
        paper: Option<PaperName>,
    },
}

/// Like patches.
#[derive(Args, Debug)]
pub(crate) struct PatchesArgs {
    /// Of which fabric.
    pub(crate) fabric: String,
    /// Which shape.
    pub(crate) shape: String,
    /// How many.
    pub(crate) patches: u64,
    /// Which hand, for shapes that have two.
    #[arg(long, value_name = "HAND")]
    pub(crate) hand: Option<HandName>,
}

/// Hands.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub(crate) enum HandName {
    /// As drawn.
    Drawn,
    /// The mirror image.
    Mirrored,
}

/// The paper named, or the usual one.
pub(crate) fn paper_named(named: Option<PaperName>, units: UnitSystem) -> Paper {
    paper(named, units)
}

/// `patchlay verify`.
#[derive(Args, Debug)]
pub(crate) struct VerifyArgs {
    /// The scenario file that the plan was made from.
    pub(crate) scenario: PathBuf,
    /// The plan: the plan.json that `patchlay plan` wrote.
    pub(crate) plan: PathBuf,
    /// The day of a group as well: the day.json beside the plan. The rest of a day needs --replan besides.
    #[arg(long, value_name = "DAY")]
    pub(crate) day: Option<PathBuf>,
    /// What `patchlay replan` wrote as well: its folder, with supplement and rest of the day, or the replan.json alone.
    #[arg(long, value_name = "DIR or FILE")]
    pub(crate) replan: Option<PathBuf>,
    /// The log that the replan was made from; plan.log beside the plan unless given.
    #[arg(long, value_name = "LOG", requires = "replan")]
    pub(crate) log: Option<PathBuf>,
    /// Judge the replan by the log as it was when the replan was made, though more has been noted since.
    #[arg(long, requires = "replan")]
    pub(crate) as_of_replan: bool,
    /// Print JSON instead of text, errors included.
    #[arg(long)]
    pub(crate) json: bool,
}

/// `patchlay sizes`.
#[derive(Args, Debug)]
pub(crate) struct SizesArgs {
    /// The scenario file.
    pub(crate) scenario: PathBuf,
    /// Print JSON instead of text, errors included.
    #[arg(long)]
    pub(crate) json: bool,
}

/// `patchlay codes`.
#[derive(Args, Debug)]
pub(crate) struct CodesArgs {
    /// Print JSON instead of text.
    #[arg(long)]
    pub(crate) json: bool,
}

/// Files that have a schema.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub(crate) enum SchemaOf {
    /// The scenario file.
    Scenario,
    /// The plan file.
    Plan,
    /// The file of a group's day.
    Day,
    /// The file of a replan.
    Replan,
}

/// Reads the command line.
///
/// # Errors
/// The exit code, when there is nothing left to do: help was asked for (0) or the usage is wrong (2).
pub(crate) fn parse() -> Result<Arguments, ExitCode> {
    Arguments::try_parse().map_err(|told| {
        // Nobody is left to read a message about a message that could not be printed.
        drop(told.print());
        if told.use_stderr() { ExitCode::from(2) } else { ExitCode::SUCCESS }
    })
}

#[cfg(test)]
mod tests {
    use clap::CommandFactory;

    use super::*;

    #[test]
    fn the_command_line_is_consistent() {
        Arguments::command().debug_assert();
    }

    #[test]
    fn the_folder_follows_the_scenario_unless_given() {
        let folder = |words: &[&str]| match Arguments::try_parse_from(words).unwrap().command {
            Command::Plan(wanted) => wanted.folder(),
            other => panic!("{other:?}"),
        };
        assert_eq!(folder(&["patchlay", "plan", "some/where/quilt.json"]), PathBuf::from("out/quilt"));
        assert_eq!(folder(&["patchlay", "plan", "a.json", "--out", "b"]), PathBuf::from("b"));
    }

    #[test]
    fn absurd_options_are_usage_errors() {
        for words in [
            ["--effort", "0"],
            ["--effort", "11"],
            ["--time-limit", "0"],
            ["--threads", "0"],
            ["--threads", "100000"],
            ["--seed", "-1"],
        ] {
            let line = ["patchlay", "plan", "a.json", words[0], words[1]];
            let told = Arguments::try_parse_from(line).unwrap_err();
            assert_eq!(told.exit_code(), 2, "{words:?}");
        }
    }
}
