//! What the search tells while it works, in a quilter's figures, and the stop signal that Ctrl-C passes to it.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use patchlay_measure::{Area, Length, Money};
use patchlay_optimise::{Listener, Progress};
use patchlay_plan::FigureKind;
use patchlay_scenario::Job;

use crate::print::Ticker;
use crate::{interrupt, print};

/// Hears the search: shows on a terminal how far it is, and stops it when Ctrl-C was pressed.
pub(crate) struct Watch<'a> {
    job: &'a Job,
    ticker: Ticker,
    stop: Arc<AtomicBool>,
}

impl<'a> Watch<'a> {
    /// Starts to listen for Ctrl-C.
    pub(crate) fn new(job: &'a Job) -> Self {
        let stop = interrupt::flag().unwrap_or_else(|error| {
            print::aside(&format!("Ctrl-C will end patchlay without a plan: {error}."));
            Arc::default()
        });
        Self { job, ticker: Ticker::new(), stop }
    }

    /// Takes the last line away.
    pub(crate) fn done(&self) {
        self.ticker.clear();
    }
}

impl Listener for Watch<'_> {
    fn event(&self, event: &Progress) {
        self.ticker.show(&told(self.job, event));
    }

    fn stop(&self) -> bool {
        self.stop.load(Ordering::Relaxed)
    }
}

/// An event in words.
fn told(job: &Job, event: &Progress) -> String {
    match event {
        Progress::Phase { name } => format!("{name} … (Ctrl-C: keep the best plan so far)"),
        Progress::Value { figure, value, bound } => {
            let value = shown(job, *figure, value);
            match bound {
                Some(bound) => {
                    format!("so far: {value}; no plan takes less than {}", shown(job, *figure, bound))
                }
                None => format!("so far: {value}"),
            }
        }
    }
}

/// A figure as people read it; one that is not a number stays as it came.
fn shown(job: &Job, figure: FigureKind, exact: &str) -> String {
    let Ok(units) = exact.parse::<i128>() else { return exact.to_owned() };
    match figure {
        FigureKind::Passes => format!("{units} passes"),
        FigureKind::Seconds => format!("{} minutes", (units + 30) / 60),
        FigureKind::Area => format!("{} of cloth", Area::from_units(units).show(job.units)),
        FigureKind::Money if !job.priced => format!("{} of cloth", Area::from_units(units).show(job.units)),
        FigureKind::Money | FigureKind::Cost => Money::from_units(units).show(&job.currency),
        FigureKind::Weighted => match i64::try_from(units) {
            Ok(units) => {
                format!("{} of cloth, passes counted in", Length::from_units(units).show_cloth(job.units))
            }
            Err(_) => exact.to_owned(),
        },
    }
}
