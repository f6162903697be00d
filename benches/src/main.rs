//! The bench package: runs published and computed cases through the optimiser and prints one line each,
//! `name,value,bound,proved,seconds`. It reads case files only; no case's answer is known to the code.

mod cases;
mod cloth_and_passes;
mod csp1d;
mod layup_templates;
mod pattern_min;
mod pattern_reduction;
mod two_stage_roll;

use std::path::PathBuf;
use std::process::ExitCode;

use clap::{Parser, Subcommand};

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

fn main() -> ExitCode {
    let Command::Cases { seconds, rounds, only, kind } = Cli::parse().command;
    let chosen = |name: &str| only.is_empty() || only.iter().any(|text| name.contains(text));
    let reach = cases::Reach { seconds, rounds };
    let run = |list: Vec<cases::Case>| cases::run(list.into_iter().filter(|case| chosen(&case.name)), reach);
    let done = match &kind {
        Kind::ClothAndPasses { dir } => cloth_and_passes::read(dir).map(run),
        Kind::TwoStageRoll { file } => two_stage_roll::read(file).map(run),
        Kind::Csp1d { dir } => {
            csp1d::read(dir).map(|list| csp1d::run(list.into_iter().filter(|case| chosen(&case.0)), seconds))
        }
        Kind::PatternMin { path } => pattern_min::read(path)
            .map(|list| pattern_min::run(list.into_iter().filter(|case| chosen(&case.0)), seconds)),
        Kind::PatternReduction { path } => pattern_reduction::read(path)
            .map(|list| pattern_reduction::run(list.into_iter().filter(|case| chosen(&case.0)), seconds)),
        Kind::LayupTemplates { path } => layup_templates::read(path)
            .map(|list| layup_templates::run(list.into_iter().filter(|case| chosen(&case.0)), seconds)),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(problem) => {
            eprintln!("cannot read the cases: {problem}");
            ExitCode::from(2)
        }
    }
}
