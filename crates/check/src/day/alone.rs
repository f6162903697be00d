//! What cutting together saves: the figures for all together are the plan's.

use patchlay_plan::FigureKind;

use super::Case;
use crate::fault::{FaultCode, Faults};

/// Judges the figures of the plan for all.
pub(super) fn judge(case: &Case<'_>, faults: &mut Faults) {
    if let (Some(_), Some(alone)) = (case.rest, &case.day.alone) {
        faults.add(FaultCode::AloneFigure, "alone", alone.quilts, "none in the rest of a day");
    }
    let figures = &case.plan.figures;
    for saving in case.day.alone.iter().flat_map(|alone| &alone.figures) {
        let wanted = match saving.figure {
            FigureKind::Money => figures.money.units().to_string(),
            FigureKind::Area => figures.area_taken.units().to_string(),
            FigureKind::Passes => figures.passes.to_string(),
            FigureKind::Seconds => figures.seconds.to_string(),
            FigureKind::Cost | FigureKind::Weighted => "no such figure".to_owned(),
        };
        let place = format!("alone, {:?}", saving.figure);
        faults.equal(FaultCode::AloneFigure, place, &saving.together, &wanted);
    }
}
