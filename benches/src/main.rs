//! The bench package: runs published and computed cases through the optimiser and prints one line each,
//! `name,value,bound,proved,seconds`. It reads case files only; no case's answer is known to the code. Families of cases
//! of its own are for measuring speed.

mod cases;
mod cloth_and_passes;
mod csp1d;
mod families;
mod layup_templates;
mod pattern_min;
mod pattern_reduction;
mod two_stage_roll;

use std::path::PathBuf;
use std::process::ExitCode;

use clap::{Parser, Subcommand};

use families::Family;

#[derive(Parser)]
#[command(about = "Cases and timings of patchlay's optimiser")]
struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    /// Solve case files and print `name,value,bound,proved,seconds`.
    Cases {
        /// Stop a case after so many seconds.
        #[arg(long, default_value_t = 60.0, global = true)]
        seconds: f64,
        /// Stop a case after so many rounds, each with twice the effort of the one before
        /// (not for one-dimensional cases, which have one round).
        #[arg(long, default_value_t = 1000, global = true)]
        rounds: u32,
        /// Only cases whose name contains this text; may be given several times.
        #[arg(long, global = true)]
        only: Vec<String>,
        #[command(subcommand)]
        kind: Kind,
    },
    /// Solve families of made-up cases and print value, bound, gap and times.
    #[command(args_conflicts_with_subcommands = true)]
    Families {
        #[command(subcommand)]
        write: Option<Write>,
        /// Only this family.
        family: Option<Family>,
        /// Stop a case after so many seconds.
        #[arg(long, default_value_t = 60.0)]
        seconds: f64,
        /// End a case at a gap of so many percent.
        #[arg(long, default_value_t = 0.0)]
        gap: f64,
        /// Solve every case so many times and print the run of median time.
        #[arg(long, default_value_t = 1)]
        times: usize,
        /// Only cases whose name contains this text; may be given several times.
        #[arg(long)]
        only: Vec<String>,
    },
}

#[derive(Subcommand)]
enum Write {
    /// Write the cases as files that `cases cloth-and-passes` reads.
    Write {
        /// The folder.
        dir: PathBuf,
        /// Only this family.
        family: Option<Family>,
    },
}

#[derive(Subcommand)]
enum Kind {
    /// Every `*.json` case of cloth and passes in a folder.
    ClothAndPasses {
        /// The folder.
        dir: PathBuf,
    },
    /// Two-stage strip cases, one JSON object a line; each is solved with strips along either side.
    TwoStageRoll {
        /// The file.
        file: PathBuf,
    },
    /// Every `*.csp` one-dimensional case in a folder.
    Csp1d {
        /// The folder.
        dir: PathBuf,
    },
    /// Fewest different patterns in the fewest rolls, JSON lines.
    PatternMin {
        /// The folder, or the file of JSON lines in it.
        path: PathBuf,
    },
    /// Plans whose different patterns are to be fewer.
    PatternReduction {
        /// The folder, or the file of JSON lines in it.
        path: PathBuf,
    },
    /// Fewest pressings of one to four templates.
    LayupTemplates {
        /// The folder, or the file of JSON lines in it.
        path: PathBuf,
    },
}

/// Whether a name contains one of the texts; without any, every name does.
fn is_chosen(only: &[String], name: &str) -> bool {
    only.is_empty() || only.iter().any(|text| name.contains(text))
}

fn cases(kind: &Kind, only: &[String], reach: cases::Reach) -> Result<(), String> {
    let chosen = |name: &str| is_chosen(only, name);
    let run = |list: Vec<cases::Case>| cases::run(list.into_iter().filter(|case| chosen(&case.name)), reach);
    match kind {
        Kind::ClothAndPasses { dir } => cloth_and_passes::read(dir).map(run),
        Kind::TwoStageRoll { file } => two_stage_roll::read(file).map(run),
        Kind::Csp1d { dir } => csp1d::read(dir)
            .map(|list| csp1d::run(list.into_iter().filter(|case| chosen(&case.0)), reach.seconds)),
        Kind::PatternMin { path } => pattern_min::read(path)
            .map(|list| pattern_min::run(list.into_iter().filter(|case| chosen(&case.0)), reach.seconds)),
        Kind::PatternReduction { path } => pattern_reduction::read(path).map(|list| {
            pattern_reduction::run(list.into_iter().filter(|case| chosen(&case.0)), reach.seconds)
        }),
        Kind::LayupTemplates { path } => layup_templates::read(path)
            .map(|list| layup_templates::run(list.into_iter().filter(|case| chosen(&case.0)), reach.seconds)),
    }
}

fn main() -> ExitCode {
    let done = match Cli::parse().command {
        Command::Cases { seconds, rounds, only, kind } => {
            cases(&kind, &only, cases::Reach { seconds, rounds })
        }
        Command::Families { write: Some(Write::Write { dir, family }), .. } => families::write(family, &dir),
        Command::Families { write: None, family, seconds, gap, times, only } => {
            families::run(family, &|name| is_chosen(&only, name), families::Reach { seconds, gap, times });
            Ok(())
        }
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(problem) => {
            eprintln!("patchlay-benches: {problem}");
            ExitCode::from(2)
        }
    }
}
