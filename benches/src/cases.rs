//! A case and how it is solved.

use std::fmt::Display;
use std::io::Write as _;
use std::path::Path;
use std::time::{Duration, Instant};

use patchlay_optimise::aim::trimmed;
use patchlay_optimise::certify;
use patchlay_optimise::costs::{Costs, Limits};
use patchlay_optimise::listen::{Listener, Quiet, Stop};
use patchlay_optimise::model::Model;
use patchlay_optimise::search::{Effort, Search, Teller};
use patchlay_optimise::whole;
use serde::de::DeserializeOwned;

/// A case: a model, its costs, and the unit in which its value is printed.
pub(crate) struct Case {
    pub(crate) name: String,
    pub(crate) model: Model,
    pub(crate) costs: Costs,
    /// Costs per printed unit.
    pub(crate) unit: i128,
    /// Step of every value, in costs.
    pub(crate) step: i128,
}

/// How far to go with a case.
#[derive(Clone, Copy)]
pub(crate) struct Reach {
    /// A stop.
    pub(crate) seconds: f64,
    /// Rounds, each with twice the effort of the one before: unlike the clock the same on every machine.
    pub(crate) rounds: u32,
}

/// What a case's line says.
#[derive(Default)]
pub(crate) struct Outcome {
    value: String,
    bound: String,
    proved: bool,
}

impl Outcome {
    fn found(value: String, bound: String, proved: bool) -> Self {
        Self { value, bound, proved }
    }

    /// Of whole numbers.
    pub(crate) fn of_count(value: i64, bound: i64) -> Self {
        Self::found(value.to_string(), bound.to_string(), value == bound)
    }
}

/// Prints a case's line; false where nobody listens any more.
fn print(name: &str, outcome: &Outcome, begun: Instant) -> bool {
    let Outcome { value, bound, proved } = outcome;
    let seconds = begun.elapsed().as_secs_f64();
    // A closed pipe ends the listing quietly.
    writeln!(std::io::stdout(), "{name},{value},{bound},{proved},{seconds:.2}").is_ok()
}

/// Lines of JSON, of a file or of the file `instances.jsonl` in a folder.
pub(crate) fn json_lines<T: DeserializeOwned>(path: &Path) -> Result<Vec<T>, String> {
    let file = if path.is_dir() { path.join("instances.jsonl") } else { path.to_path_buf() };
    let text = std::fs::read_to_string(&file).map_err(|e| format!("{}: {e}", file.display()))?;
    let lines = text.lines().enumerate().filter(|(_, line)| !line.trim().is_empty());
    lines
        .map(|(at, line)| {
            serde_json::from_str(line).map_err(|e| format!("{}:{}: {e}", file.display(), at + 1))
        })
        .collect()
}

/// Solves and prints cases that are no models: each a name and an order. A refused order prints its faults.
pub(crate) fn run_orders<O, E: Display>(
    orders: impl Iterator<Item = (String, O)>,
    seconds: f64,
    mut solve: impl FnMut(&O, Stop<'_>) -> Result<Outcome, Vec<E>>,
) {
    for (name, order) in orders {
        let begun = Instant::now();
        let until = begun + Duration::from_secs_f64(seconds.max(0.0));
        let outcome = solve(&order, &|| Instant::now() >= until).unwrap_or_else(|wrong| {
            wrong.iter().for_each(|fault| eprintln!("{name}: {fault}"));
            Outcome::default()
        });
        if !print(&name, &outcome, begun) {
            return;
        }
    }
}

/// Prints the sum of all values.
pub(crate) fn print_total(total: usize) {
    // A closed pipe ends the listing quietly.
    let _ = writeln!(std::io::stdout(), "total,{total}");
}

/// Solves and prints every case.
pub(crate) fn run(cases: impl Iterator<Item = Case>, reach: Reach) {
    for case in cases {
        let begun = Instant::now();
        let until = begun + Duration::from_secs_f64(reach.seconds.max(0.0));
        let run = Run { until, rounds: reach.rounds, certified: true, listener: &Quiet, teller: None };
        let outcome = solve(&case, &run);
        let outcome = outcome.map_or_else(Outcome::default, |(value, bound)| {
            Outcome::found(decimal(value, case.unit), decimal(bound, case.unit), value == bound)
        });
        if !print(&case.name, &outcome, begun) {
            return;
        }
    }
}

fn decimal(value: i128, unit: i128) -> String {
    #[allow(clippy::cast_precision_loss, reason = "printing only")]
    let number = value as f64 / unit as f64;
    format!("{number}")
}

/// One run of the search.
pub(crate) struct Run<'a> {
    pub(crate) until: Instant,
    pub(crate) rounds: u32,
    /// Whether the certificate of the bound is made first, as for a plan.
    pub(crate) certified: bool,
    pub(crate) listener: &'a dyn Listener,
    pub(crate) teller: Option<Teller<'a>>,
}

/// A bound in the figure's own unit, brought up to the next value that there can be.
#[allow(clippy::cast_precision_loss, clippy::cast_possible_truncation, reason = "values are below 2^53")]
pub(crate) fn rounded_up(bound: f64, step: i128) -> i128 {
    (bound / step as f64 - 1e-6).ceil() as i128 * step
}

/// Value and bound, both in costs: restarts with more effort until they meet or time or rounds are up.
pub(crate) fn solve(case: &Case, run: &Run<'_>) -> Option<(i128, i128)> {
    let limits = Limits::default();
    let stop = || run.listener.stop() || Instant::now() >= run.until;
    let mut bound: Option<i128> = None;
    let mut best: Option<i128> = None;
    for round in 0..run.rounds {
        let effort = Effort {
            pool: 60 + 60 * usize::try_from(round.min(4)).unwrap_or(0),
            nodes: 300_u64 << round.min(8),
            branches: 300_u32 << round.min(8),
            patience: 12,
            seed: u64::from(round) + 1,
            until: Some(run.until),
        };
        let mut search = Search::new(&case.model, &case.costs, &limits, effort, run.listener)?;
        search.teller = run.teller;
        if bound.is_none() && run.certified {
            let proof = certify::of_prices(&case.model, &case.costs, &limits, &search.prices)?;
            let plain = -(-proof.value).div_euclid(proof.scale * case.step) * case.step;
            let whole = whole::prove(&case.model, &case.costs, &limits, &stop);
            bound = Some(whole.map_or(plain, |whole| plain.max(whole.rounded_up(case.step))));
        }
        let first = search.first();
        let solution = trimmed(&case.model, search.improve(first));
        let proved = rounded_up(search.bound(), case.step);
        bound = Some(bound.map_or(proved, |bound| bound.max(proved)));
        if solution.is_sound(&case.model) {
            let value = solution.cost(&case.costs);
            best = Some(best.map_or(value, |known| known.min(value)));
        }
        if best == bound || stop() {
            break;
        }
    }
    best.zip(bound)
}
