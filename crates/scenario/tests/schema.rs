//! The schema in the repository is the one that the types make.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on should stop")]

use std::path::PathBuf;

use patchlay_scenario::scenario_schema;
use serde_json::Value;

/// Set `PATCHLAY_REWRITE` to write the file anew after the types have changed.
#[test]
fn the_schema_is_current() {
    let file = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("schema/scenario.schema.json");
    if std::env::var_os("PATCHLAY_REWRITE").is_some() {
        std::fs::write(&file, scenario_schema()).unwrap();
    }
    let kept = std::fs::read_to_string(&file).unwrap_or_default();
    assert!(kept == scenario_schema(), "run this test with PATCHLAY_REWRITE=1 and look at the difference");
}

#[test]
fn the_schema_refuses_unknown_fields_and_wants_what_has_no_default() {
    let schema: Value = serde_json::from_str(&scenario_schema()).unwrap();
    assert_eq!(schema["additionalProperties"], Value::Bool(false));
    let required = |of: &Value| -> Vec<String> { serde_json::from_value(of["required"].clone()).unwrap() };
    let whole = required(&schema);
    assert!(
        ["units", "spare_patches", "cutter", "rules"]
            .iter()
            .all(|name| whole.iter().any(|field| field == name))
    );
    let parts = &schema["$defs"];
    assert!(required(&parts["Cutter"]).contains(&String::from("ply_limit")));
    assert!(required(&parts["Rules"]).contains(&String::from("travel_rule")));
    let fabric = required(&parts["Fabric"]);
    assert!(["usable_width", "print"].iter().all(|name| fabric.iter().any(|field| field == name)));
}
