//! The cutter, its mats and standard times, and the rules of the job.

use patchlay_measure::{Length, UnitSystem};
use patchlay_scenario::spec::{self, Times};

use super::{Reader, Unusable};

/// Highest ply limit judged; no stack is anywhere near.
const MOST_PLIES: u32 = 1_000;

/// Margins and steps.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Rules {
    pub(crate) margin: Length,
    pub(crate) least_margin: Length,
    pub(crate) step: Length,
    pub(crate) fold: Length,
    pub(crate) seam: Length,
}

impl Rules {
    pub(crate) fn read(reader: &Reader, rules: &spec::Rules) -> Result<Self, Unusable> {
        let margin = reader.length_or("rules.margin", rules.margin.as_ref(), Length::from_64ths(16))?;
        // Cloth that is set to reach less far than the usual least margin is not kept apart for that alone.
        let usual = Length::from_64ths(8).min(margin);
        let least_margin = reader.length_or("rules.least_margin", rules.least_margin.as_ref(), usual)?;
        let usual = match reader.units {
            UnitSystem::Inch => Length::from_64ths(8),
            UnitSystem::Metric => Length::from_mm_tenths(10),
        };
        let step = reader.length_or("rules.ruler_step", rules.ruler_step.as_ref(), usual)?;
        if !step.is_positive() {
            return Err(Unusable::new("rules.ruler_step", "it is not above zero"));
        }
        let fold =
            reader.length_or("rules.fold_allowance", rules.fold_allowance.as_ref(), Length::from_64ths(4))?;
        let seam = reader.length_or("rules.seam", rules.seam.as_ref(), Length::from_64ths(16))?;
        Ok(Self { margin, least_margin, step, fold, seam })
    }
}

/// A kind of mat.
#[derive(Clone, Debug)]
pub(crate) struct MatKind {
    pub(crate) name: String,
    pub(crate) width: Length,
    pub(crate) length: Length,
    pub(crate) owned: u32,
}

/// The cutter.
#[derive(Clone, Debug)]
pub(crate) struct Cutter {
    pub(crate) bed_width: Length,
    pub(crate) longest_board: Length,
    pub(crate) ply_limit: u32,
    pub(crate) mats: Vec<MatKind>,
    /// Seconds of every event, in the order of the plan's events.
    pub(crate) seconds: [u64; 12],
}

impl Cutter {
    pub(crate) fn read(reader: &Reader, cutter: &spec::Cutter) -> Result<Self, Unusable> {
        let mats = cutter.mats.iter().map(|mat| {
            Ok(MatKind {
                name: mat.name.clone(),
                width: reader.size("cutter.mats.width", &mat.width)?,
                length: reader.size("cutter.mats.length", &mat.length)?,
                owned: mat.owned.unwrap_or(1),
            })
        });
        Ok(Self {
            bed_width: reader.size("cutter.bed_width", &cutter.bed_width)?,
            longest_board: reader.size("cutter.longest_board", &cutter.longest_board)?,
            ply_limit: plies("cutter.ply_limit", cutter.ply_limit)?,
            mats: mats.collect::<Result<_, Unusable>>()?,
            seconds: seconds(cutter.times.as_ref()),
        })
    }
}

/// A ply limit that can be divided by.
pub(super) fn plies(place: &str, limit: u32) -> Result<u32, Unusable> {
    if (1..=MOST_PLIES).contains(&limit) {
        Ok(limit)
    } else {
        Err(Unusable::new(place, format!("{limit} plies is not between 1 and {MOST_PLIES}")))
    }
}

/// Stated times, and the assumed ones (common practice, no source) where none is stated.
fn seconds(times: Option<&Times>) -> [u64; 12] {
    let none = Times::default();
    let times = times.unwrap_or(&none);
    [
        (times.square, 120),
        (times.cut_strip, 40),
        (times.press_strip, 45),
        (times.cross_cut, 8),
        (times.trim, 12),
        (times.fold, 20),
        (times.place, 6),
        (times.change_board, 60),
        (times.crank, 20),
        (times.turn_mat, 8),
        (times.lift_out, 25),
        (times.count, 15),
    ]
    .map(|(stated, usual)| u64::from(stated.unwrap_or(usual)))
}
