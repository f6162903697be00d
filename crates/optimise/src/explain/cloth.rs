//! Where the cloth of every fabric goes: how full its strips are, and what is lost before and after them.

use patchlay_measure::{Area, Length};
use patchlay_plan::explain::{FabricWhy, StripWhy};
use patchlay_plan::{FabricPlan, Plan};
use patchlay_scenario::job::{Fabric, Job};

/// The fabrics of a plan in the order of the job.
pub(super) fn fabrics(job: &Job, plan: &Plan) -> Vec<FabricWhy> {
    job.fabrics.iter().filter_map(|fabric| Some(fabric_why(fabric, plan.fabric(&fabric.name)?))).collect()
}

fn fabric_why(fabric: &Fabric, plan: &FabricPlan) -> FabricWhy {
    let capacity = fabric.strip_capacity();
    let strips: Vec<StripWhy> = plan
        .strips
        .iter()
        .map(|strip| StripWhy {
            strip: strip.name.clone(),
            carries: strip.pieces.iter().map(|piece| piece.length).sum(),
        })
        .collect();
    let ends = plan.strips.iter().zip(&strips).map(|(strip, why)| strip.width * (capacity - why.carries));
    let squaring = if plan.strips.is_empty() { Length::ZERO } else { fabric.squaring.min(plan.squaring) };
    let needed = patchlay_measure::buy_length(plan.taken, fabric.shrinkage).unwrap_or(plan.taken);
    let rounding = plan.bought - needed;
    FabricWhy {
        fabric: fabric.name.clone(),
        capacity,
        squaring,
        squaring_again: plan.squaring - squaring,
        end_reserve: fabric.end_reserve,
        end_reserves: plan.strips.iter().map(|strip| strip.width * fabric.end_reserve).sum::<Area>(),
        strip_ends: ends.sum::<Area>(),
        strips,
        taken: plan.taken,
        shrinkage: needed - plan.taken,
        rounding,
        rounding_money: fabric.money(rounding),
        bought: plan.bought,
    }
}
