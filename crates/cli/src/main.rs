//! The command line of patchlay: it parses the arguments, calls the crates that do the work, prints, and turns the
//! end of a command into an exit code. What must not live here: anything that decides about cloth, boards or plans,
//! and any ending of the process below `main`.

mod args;
mod codes;
mod compare;
mod day;
mod explain;
mod files;
mod hours;
mod interrupt;
mod ours;
mod plan;
mod print;
mod progress;
mod record;
mod replan;
mod report;
mod schema;
mod sizes;
mod verify;
mod write;

use std::process::ExitCode;

/// The solvers ask for memory and give it back millions of times; the system's own allocator took an eighth of the time
/// of `compare`.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> ExitCode {
    ours::guarded(run)
}

/// Runs one command; the exit codes are explained in `report`.
fn run() -> ExitCode {
    let args = match args::parse() {
        Ok(args) => args,
        Err(code) => return code,
    };
    let (ended, json) = match &args.command {
        args::Command::Plan(wanted) => (plan::run(wanted), wanted.json),
        args::Command::Compare(wanted) => (compare::run(wanted), wanted.json),
        args::Command::Explain(wanted) => (explain::run(wanted), wanted.json),
        args::Command::Record(wanted) => (record::run(wanted), wanted.json),
        args::Command::Replan(wanted) => (replan::run(wanted), wanted.json),
        args::Command::Verify(wanted) => (verify::run(wanted), wanted.json),
        args::Command::Sizes(wanted) => (sizes::run(wanted), wanted.json),
        args::Command::Schema { of } => (schema::run(*of), false),
        args::Command::Codes(wanted) => (codes::run(wanted), wanted.json),
    };
    match ended {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => report::close(&failure, json),
    }
}
