//! What is wanted now: the scenario with the quilts that came on top and without those that were dropped.

use std::collections::BTreeMap;

use patchlay_plan::Hand;
use patchlay_scenario::job::{self, Fabric, FabricId, Job, NamedShape, ShapeId};
use patchlay_scenario::spec::Quilt;
use patchlay_scenario::{LoadError, load};
use serde_json::{Value, json};

/// Fabric, shape and hand.
pub type Line = (FabricId, ShapeId, job::Hand);

/// Patches by fabric, shape and hand.
pub(crate) type Counts = BTreeMap<Line, u64>;

/// The scenario for other quilts. What belongs to the day's beginning is left out: the proof block and the group; what
/// the group was given costs nothing still.
#[must_use]
pub(crate) fn amended(scenario: &Value, quilts: &[Quilt]) -> Value {
    let mut amended = scenario.clone();
    let Some(fields) = amended.as_object_mut() else { return amended };
    for field in ["proof_block", "group", "could_have"] {
        fields.shift_remove(field);
    }
    fields.insert("quilts".to_owned(), json!(quilts));
    if let Some(fabrics) = fields.get_mut("fabrics").and_then(Value::as_array_mut)
        && fabrics.iter().any(|fabric| fabric.get("price").is_some())
    {
        for fabric in fabrics.iter_mut().filter_map(Value::as_object_mut) {
            fabric.entry("price").or_insert_with(|| json!("0"));
        }
    }
    amended
}

/// Patches wanted by these quilts and the loose patches, spare patches included.
///
/// # Errors
/// What is wrong with the quilts.
pub(crate) fn wanted(scenario: &Value, quilts: &[Quilt]) -> Result<Counts, LoadError> {
    let loose =
        scenario.get("loose_patches").and_then(Value::as_array).is_some_and(|loose| !loose.is_empty());
    if quilts.is_empty() && !loose {
        return Ok(Counts::new());
    }
    let (_, job) = load(&amended(scenario, quilts).to_string())?;
    Ok(demand(&job))
}

/// Patches that a job wants, spare patches included.
pub(crate) fn demand(job: &Job) -> Counts {
    job.demands.iter().map(|line| ((line.fabric, line.shape, line.hand), line.total())).collect()
}

/// The hand of patches that are called by a hand; none if that cannot be told.
pub(crate) fn hand(shape: &NamedShape, fabric: &Fabric, called: Hand) -> Option<job::Hand> {
    let handed = shape.shape.handed() && !fabric.reversible;
    match (handed, called) {
        (false, _) => Some(job::Hand::Any),
        (true, Hand::Any) => None,
        (true, Hand::Drawn) => Some(job::Hand::Drawn),
        (true, Hand::Mirrored) => Some(job::Hand::Mirrored),
    }
}

/// A hand in the plan's words.
pub(crate) fn plan_hand(hand: job::Hand) -> Hand {
    match hand {
        job::Hand::Any => Hand::Any,
        job::Hand::Drawn => Hand::Drawn,
        job::Hand::Mirrored => Hand::Mirrored,
    }
}
