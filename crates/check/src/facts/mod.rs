//! What the scenario file says, read again from its text: exact lengths, fabrics, shapes, boards, demand and aim.
//! Nothing here comes from the validated job of the scenario crate.

mod cutter;
mod fabric;
mod read;
mod shapes;

use patchlay_measure::{Amount, Length};
use patchlay_plan::Strategy;
use patchlay_scenario::spec::{AimKind, SCENARIO_VERSION, Scenario};

pub(crate) use cutter::{Cutter, MatKind, Rules};
pub(crate) use fabric::Cloth;
pub(crate) use read::{Reader, Unusable};
pub(crate) use shapes::NamedShape;

use crate::demand::{self, Demand};
use crate::geometry::Board;

/// Longest scenario text read, bytes.
const MOST_TEXT: usize = 16 << 20;

/// Everything that a plan is judged by.
#[derive(Debug)]
pub(crate) struct Facts {
    /// Bed, ply limit, mats, standard times.
    pub(crate) cutter: Cutter,
    /// Margins and steps.
    pub(crate) rules: Rules,
    /// Fabrics in the order of the file.
    pub(crate) fabrics: Vec<Cloth>,
    /// Shapes in the order of the file.
    pub(crate) shapes: Vec<NamedShape>,
    /// Boards in the order of the file.
    pub(crate) boards: Vec<Board>,
    /// Patches wanted and the proof block.
    pub(crate) demand: Demand,
    /// What comes first.
    pub(crate) aim: Aim,
    /// How the plan says that boards are loaded.
    pub(crate) strategy: Strategy,
}

/// What the plan puts first, with the figure it needs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Aim {
    /// Money, area, passes, seconds.
    LeastCloth,
    /// Passes, money, area, seconds.
    FewestPasses,
    /// Seconds, money.
    LeastTime,
    /// Money and time at the worth of an hour.
    LeastCost(Amount),
    /// Length taken and a length for every pass.
    Weighted(Length),
}

impl Facts {
    /// Reads the scenario's text; also gives it as plain JSON.
    pub(crate) fn read(text: &str) -> Result<(Self, serde_json::Value), Unusable> {
        if text.len() > MOST_TEXT {
            return Err(Unusable::new("scenario", "it is longer than 16 MB"));
        }
        // Some editors put a mark before the text that JSON does not know.
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let value: serde_json::Value =
            serde_json::from_str(text).map_err(|error| Unusable::new("scenario", error.to_string()))?;
        let spec: Scenario =
            serde_json::from_str(text).map_err(|error| Unusable::new("scenario", error.to_string()))?;
        if spec.patchlay_scenario != SCENARIO_VERSION {
            return Err(Unusable::new("patchlay_scenario", "the version is not known"));
        }
        Ok((Self::of(&spec)?, value))
    }

    /// Reads a scenario that is parsed already.
    pub(crate) fn of(spec: &Scenario) -> Result<Self, Unusable> {
        let reader = Reader::new(spec.units);
        let rules = Rules::read(&reader, &spec.rules)?;
        let cutter = Cutter::read(&reader, &spec.cutter)?;
        let fabrics = fabric::all(&reader, spec, &cutter)?;
        let shapes = shapes::all(&reader, spec, rules.seam)?;
        let boards = crate::geometry::boards(&reader, spec, &shapes, &rules, &cutter)?;
        let demand = demand::read(&reader, spec, &fabrics, &shapes)?;
        let aim = aim(&reader, spec)?;
        let strategy = Strategy::default();
        Ok(Self { cutter, rules, fabrics, shapes, boards, demand, aim, strategy })
    }

    /// Plies of a fabric alone on a board: the lowest of the limits.
    pub(crate) fn limit(&self, fabric: usize, board: usize) -> u32 {
        self.fabrics[fabric].ply_limit.min(self.boards[board].ply_limit)
    }
}

fn aim(reader: &Reader, spec: &Scenario) -> Result<Aim, Unusable> {
    let missing = |field: &str| Unusable::new(format!("aim.{field}"), "it must be stated");
    Ok(match spec.aim.put_first {
        AimKind::LeastCloth => Aim::LeastCloth,
        AimKind::FewestPasses => Aim::FewestPasses,
        AimKind::LeastTime => Aim::LeastTime,
        AimKind::LeastCost => {
            let hour = spec.aim.hour_is_worth.as_ref().ok_or_else(|| missing("hour_is_worth"))?;
            Aim::LeastCost(reader.amount("aim.hour_is_worth", hour)?)
        }
        AimKind::Weighted => {
            let pass = spec.aim.pass_is_worth.as_ref().ok_or_else(|| missing("pass_is_worth"))?;
            Aim::Weighted(reader.length("aim.pass_is_worth", pass)?)
        }
    })
}
