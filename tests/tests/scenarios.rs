//! The demo scenarios are read without a single complaint, and say what they are for.

#![allow(clippy::unwrap_used, reason = "a test ends where something cannot be had")]

use std::fs;

use patchlay_tests::{demo, demos, root};

#[test]
fn every_demo_is_read_without_complaint() {
    for name in demos().unwrap() {
        let bytes = fs::read(demo(&name)).unwrap();
        let (scenario, job) =
            patchlay_scenario::load_bytes(&bytes).unwrap_or_else(|error| panic!("{name}: {error}"));
        assert!(scenario.about.is_some_and(|about| about.len() > 40), "{name} does not say what it is for");
        assert!(!job.demands.is_empty(), "{name}");
    }
}

#[test]
fn every_demo_is_described_beside_it() {
    let listed = fs::read_to_string(root().join("scenarios/README.md")).unwrap();
    for name in demos().unwrap() {
        assert!(listed.contains(&format!("`{name}.json`")), "{name}");
    }
}
