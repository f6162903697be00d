//! The demo scenarios load, and the reader agrees with serde about what they say.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on should stop")]

use std::path::PathBuf;

use patchlay_scenario::{load, spec::Scenario};

fn demos() -> Vec<(PathBuf, String)> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../scenarios");
    let mut files: Vec<PathBuf> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|end| end == "json"))
        .collect();
    files.sort();
    assert!(!files.is_empty());
    files.into_iter().map(|file| (file.clone(), std::fs::read_to_string(file).unwrap())).collect()
}

#[test]
fn every_demo_loads() {
    for (file, text) in demos() {
        let (_, job) = load(&text).unwrap_or_else(|error| panic!("{}:\n{error}", file.display()));
        assert!(!job.demands.is_empty());
        assert!(job.boards.iter().all(|board| !board.bays.is_empty()));
        if std::env::var_os("SHOW").is_some() {
            println!("{}\n{:#?}\n{:#?}", file.display(), job.assumptions, job.cautions);
            for board in &job.boards {
                println!(
                    "{}: {} bays, {} points, {} apart",
                    board.name,
                    board.bays.len(),
                    board.points.len(),
                    board.apart.len()
                );
            }
        }
    }
}

#[test]
fn the_reader_agrees_with_serde() {
    for (file, text) in demos() {
        let (scenario, _) = load(&text).unwrap();
        let by_serde: Scenario = serde_json::from_str(&text).unwrap();
        assert_eq!(scenario, by_serde, "{}", file.display());
        let again = serde_json::to_string(&scenario).unwrap();
        assert_eq!(load(&again).unwrap().0, scenario, "{}", file.display());
    }
}
