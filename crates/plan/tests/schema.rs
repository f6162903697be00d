//! The schema in the repository is the one that the types make.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on should stop")]

use std::path::PathBuf;

use patchlay_plan::plan_schema;
use serde_json::Value;

/// Set `PATCHLAY_REWRITE` to write the file anew after the types have changed.
#[test]
fn the_schema_is_current() {
    let file = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("schema/plan.schema.json");
    if std::env::var_os("PATCHLAY_REWRITE").is_some() {
        std::fs::write(&file, plan_schema()).unwrap();
    }
    let kept = std::fs::read_to_string(&file).unwrap_or_default();
    assert!(kept == plan_schema(), "run this test with PATCHLAY_REWRITE=1 and look at the difference");
}

#[test]
fn the_schema_refuses_unknown_fields_and_wants_every_part() {
    let schema: Value = serde_json::from_str(&plan_schema()).unwrap();
    assert_eq!(schema["additionalProperties"], Value::Bool(false));
    let required: Vec<String> = serde_json::from_value(schema["required"].clone()).unwrap();
    for part in
        ["scenario_digest", "fabrics", "layups", "patches", "figures", "balance", "bounds", "certificate"]
    {
        assert!(required.iter().any(|field| field == part), "{part}");
    }
}
