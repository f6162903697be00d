//! Families of cases made up by this package, and how fast they are solved.

mod growth;
mod quilts;
mod watch;

use std::io::Write as _;
use std::path::Path;
use std::time::{Duration, Instant};

use clap::ValueEnum;

use crate::cases::{Case, Run, solve};
use crate::cloth_and_passes;
use quilts::Size;
use watch::Watch;

/// Seeds of the cases of every family.
const SEEDS: [u64; 3] = [1, 2, 3];
/// Most rounds, each with twice the effort of the one before; the clock stops earlier.
const ROUNDS: u32 = 1000;

/// A family of cases.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Family {
    /// One bed quilt: 8 fabrics, 42 blocks, 3 boards.
    Bed,
    /// A guild's quilt: 15 fabrics, 84 blocks, 4 boards.
    Guild,
    /// A county's quilts: 100 quilts, 60 fabrics, 12 shapes, 15 boards.
    County,
    /// Ever more fabrics with the same work for each.
    Growth,
}

/// Fabrics of the cases of growth.
const GROWTH: [usize; 4] = [20, 50, 100, 200];

impl Family {
    fn name(self) -> &'static str {
        match self {
            Self::Bed => "bed",
            Self::Guild => "guild",
            Self::County => "county",
            Self::Growth => "growth",
        }
    }

    /// Sizes with the names of their cases.
    fn sizes(self) -> Vec<(String, Size)> {
        let few =
            Size { fabrics: 8, shapes: 4, boards: 3, quilts: 1, blocks: 42, palette: 8, pass: &[8, 16, 32] };
        let one = |size| vec![(self.name().to_owned(), size)];
        match self {
            Self::Bed => one(few),
            Self::Guild => one(Size { fabrics: 15, shapes: 5, boards: 4, blocks: 84, palette: 15, ..few }),
            Self::County => {
                let (fabrics, shapes, boards) = (60, 12, 15);
                one(Size { fabrics, shapes, boards, quilts: 100, blocks: 42, pass: &[4], ..few })
            }
            Self::Growth => {
                let of = |fabrics| {
                    let (quilts, palette) = (fabrics / 10, 10);
                    let name = format!("growth-{fabrics:03}");
                    (name, Size { fabrics, shapes: 6, boards: 6, quilts, blocks: 50, palette, ..few })
                };
                GROWTH.map(of).to_vec()
            }
        }
    }
}

/// Every family, or the one asked for.
fn chosen(family: Option<Family>) -> Vec<Family> {
    family.map_or_else(|| Family::value_variants().to_vec(), |family| vec![family])
}

/// Every case with its name, its fabrics and its file.
fn all(family: Family) -> impl Iterator<Item = (String, usize, cloth_and_passes::Spec)> {
    let of = |(name, size): (String, Size)| {
        SEEDS.map(|seed| (format!("{name}-{seed}"), size.fabrics, quilts::case(&size, seed)))
    };
    family.sizes().into_iter().flat_map(of)
}

/// Writes the cases as files that `cases cloth-and-passes` and other solvers read.
pub(crate) fn write(family: Option<Family>, dir: &Path) -> Result<(), String> {
    let failed = |e: std::io::Error| format!("{}: {e}", dir.display());
    std::fs::create_dir_all(dir).map_err(failed)?;
    for (name, _, spec) in chosen(family).into_iter().flat_map(all) {
        let text = serde_json::to_string_pretty(&spec).map_err(|e| e.to_string())?;
        std::fs::write(dir.join(format!("{name}.json")), text + "\n").map_err(failed)?;
    }
    Ok(())
}

/// How far to go with a case.
#[derive(Clone, Copy)]
pub(crate) struct Reach {
    /// A stop.
    pub(crate) seconds: f64,
    /// A gap at which a case ends, percent of the value.
    pub(crate) gap: f64,
    /// How often each case is solved; the median time is printed.
    pub(crate) times: usize,
}

/// Solves the cases and prints a line for each.
pub(crate) fn run(family: Option<Family>, only: &dyn Fn(&str) -> bool, reach: Reach) {
    println("name,value,bound,gap_percent,proved,seconds,seconds_to_gap,peak_mb");
    for family in chosen(family) {
        let mut points = Vec::new();
        for (name, fabrics, spec) in all(family).filter(|(name, ..)| only(name)) {
            let line = measured(&cloth_and_passes::case(name.clone(), &spec), reach);
            println(&format!("{name},{line}", line = line.text));
            points.push((fabrics, line.to_gap));
        }
        if family == Family::Growth {
            println(&growth::sentence(&points));
        }
    }
}

fn println(line: &str) {
    // A closed pipe ends the listing quietly.
    let _ = writeln!(std::io::stdout(), "{line}");
}

/// What is printed of a case.
struct Line {
    text: String,
    /// Seconds to the gap, if it was reached.
    to_gap: Option<f64>,
}

fn measured(case: &Case, reach: Reach) -> Line {
    let mut runs: Vec<(Watch, f64)> = (0..reach.times.max(1)).map(|_| once(case, reach)).collect();
    runs.sort_by(|a, b| a.1.total_cmp(&b.1));
    let (watch, seconds) = runs.swap_remove(runs.len() / 2);
    let seen = watch.seen();
    let proved = seen.gap() == 0.0;
    let to_gap = seen.to_gap.map_or(String::new(), |seconds| format!("{seconds:.3}"));
    let text = format!(
        "{},{},{:.3},{proved},{seconds:.3},{to_gap},{}",
        inches(seen.value, case),
        inches(Some(seen.bound), case),
        100.0 * seen.gap(),
        watch::peak_mb().map_or(String::new(), |mb| mb.to_string()),
    );
    Line { text, to_gap: seen.to_gap }
}

#[allow(clippy::cast_precision_loss, reason = "printing only")]
fn inches(value: Option<i128>, case: &Case) -> String {
    value.map_or(String::new(), |value| format!("{}", value as f64 / case.unit as f64))
}

/// One run and its seconds.
fn once(case: &Case, reach: Reach) -> (Watch, f64) {
    let begun = Instant::now();
    let watch = Watch::new(begun, reach.gap / 100.0);
    let until = begun + Duration::from_secs_f64(reach.seconds.max(0.0));
    let tell = |at: &_, bound| watch.hear(case, at, bound);
    let run = Run { until, rounds: ROUNDS, certified: false, listener: &watch, teller: Some(&tell) };
    if let Some((value, bound)) = solve(case, &run) {
        watch.settle(value, bound);
    }
    let seconds = begun.elapsed().as_secs_f64();
    (watch, seconds)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against HiGHS 1.16 on the plain compact integer program (`tests/reference/families.py`), which proved both. The
    /// seconds are a stop far off.
    #[test]
    fn bed_quilts_are_proved() {
        for (name, inches) in [("bed-1", 1058.5), ("bed-3", 318.25)] {
            let (_, _, spec) = all(Family::Bed).find(|case| case.0 == name).expect("a case");
            let case = cloth_and_passes::case(name.to_owned(), &spec);
            let (watch, _) = once(&case, Reach { seconds: 600.0, gap: 0.0, times: 1 });
            let seen = watch.seen();
            assert_eq!(super::inches(seen.value, &case), inches.to_string(), "{name}");
            assert_eq!(seen.value, Some(seen.bound), "{name}");
        }
    }
}
