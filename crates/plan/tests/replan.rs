//! The schema of a replan in the repository is the one that the types make.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on should stop")]

use std::path::PathBuf;

use patchlay_plan::replan::replan_schema;

/// Set `PATCHLAY_REWRITE` to write the file anew after the types have changed.
#[test]
fn the_schema_of_a_replan_is_current() {
    let file = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("schema/replan.schema.json");
    if std::env::var_os("PATCHLAY_REWRITE").is_some() {
        std::fs::write(&file, replan_schema()).unwrap();
    }
    let kept = std::fs::read_to_string(&file).unwrap_or_default();
    assert!(kept == replan_schema(), "run this test with PATCHLAY_REWRITE=1 and look at the difference");
}
