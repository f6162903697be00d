//! `patchlay schema`: the JSON Schemas, generated from the types.

use crate::args::SchemaOf;
use crate::print;
use crate::report::Failure;

/// Prints a schema.
///
/// # Errors
/// Only where the output cannot be written.
pub(crate) fn run(of: SchemaOf) -> Result<(), Failure> {
    print::out(&match of {
        SchemaOf::Scenario => patchlay_scenario::scenario_schema(),
        SchemaOf::Plan => patchlay_plan::plan_schema(),
        SchemaOf::Replan => patchlay_plan::replan::replan_schema(),
    })
}
