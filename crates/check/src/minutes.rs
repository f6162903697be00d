//! Standard time: how often every event happens and what it takes.

use patchlay_plan::{Event, Plan};

use crate::cloth::Taken;
use crate::facts::Facts;
use crate::fault::{FaultCode, Faults};

/// How often every event happens, in the order of [`Event::ALL`].
fn times(plan: &Plan, cloth: &[Taken]) -> [u64; 12] {
    let strips = || plan.fabrics.iter().flat_map(|fabric| &fabric.strips);
    let pieces = || strips().flat_map(|strip| strip.pieces.iter().map(move |piece| (strip, piece)));
    let strip_count = strips().count() as u64;
    let piece_count = pieces().count() as u64;
    let folded = pieces().filter(|(_, piece)| piece.plies > 1).count() as u64;
    let passes: u64 = plan.layups.iter().map(|layup| layup.passes.len() as u64).sum();
    let mut boards: Vec<&str> = plan.layups.iter().map(|layup| layup.board.as_str()).collect();
    boards.dedup();
    Event::ALL.map(|event| match event {
        Event::Square => cloth.iter().map(|fabric| fabric.strips.div_ceil(5)).sum(),
        Event::CutStrip | Event::PressStrip => strip_count,
        Event::CrossCut => piece_count,
        Event::Trim => pieces().filter(|(strip, piece)| piece.width < strip.width).count() as u64,
        Event::Fold => folded,
        Event::Place => piece_count - folded,
        Event::ChangeBoard => boards.len() as u64,
        Event::Crank | Event::TurnMat | Event::LiftOut | Event::Count => passes,
    })
}

/// Judges the table of events and gives the seconds in all.
pub(crate) fn judge(facts: &Facts, plan: &Plan, cloth: &[Taken], faults: &mut Faults) -> u64 {
    let found = &plan.figures.seconds_by_event;
    let times = times(plan, cloth);
    faults.equal(FaultCode::EventTime, "standard time", found.len(), times.len());
    let mut sum = 0_u64;
    for (at, event) in Event::ALL.into_iter().enumerate() {
        let seconds = times[at].saturating_mul(facts.cutter.seconds[at]);
        sum = sum.saturating_add(seconds);
        let Some(line) = found.get(at) else { continue };
        let place = format!("standard time, {event:?}");
        if line.event != event {
            faults.add(FaultCode::EventTime, &place, format!("{:?}", line.event), format!("{event:?}"));
        }
        faults.equal(FaultCode::EventTime, format!("{place}, times"), line.times, times[at]);
        faults.equal(FaultCode::EventTime, format!("{place}, seconds"), line.seconds, seconds);
    }
    sum
}
