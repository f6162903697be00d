//! The JSON Schema of the scenario file, made from the types that read it.

use crate::spec::Scenario;

/// The schema as indented JSON with a line end.
///
/// It is kept in `schema/scenario.schema.json`; a test compares the two.
#[must_use]
pub fn scenario_schema() -> String {
    let schema = schemars::schema_for!(Scenario);
    // A schema is plain JSON with text keys, which always prints.
    let mut text = serde_json::to_string_pretty(&schema).unwrap_or_default();
    text.push('\n');
    text
}
