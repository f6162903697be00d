//! Edits of a sound scenario, for tests of what is wrong with the edited ones.
#![allow(dead_code, reason = "each test file uses its own part")]
#![allow(clippy::unwrap_used, clippy::panic, reason = "a test that cannot go on should stop")]

use patchlay_scenario::{Job, load};
use serde_json::Value;

/// A sound scenario.
pub(crate) const BASE: &str = include_str!("../cases/base.json");

pub(crate) fn base() -> Value {
    serde_json::from_str(BASE).unwrap()
}

/// Loads a value that has to be a sound scenario.
pub(crate) fn job(value: &Value) -> Job {
    load(&value.to_string()).unwrap_or_else(|error| panic!("{error}")).1
}

/// Sets the value at a path like `boards[0].positions[0].at`; a list grows by one if asked.
pub(crate) fn set(root: &mut Value, path: &str, value: Value) {
    let mut here = root;
    for step in steps(path) {
        here = match step.parse::<usize>() {
            Ok(at) => {
                let list = here.as_array_mut().unwrap();
                if at == list.len() {
                    list.push(Value::Null);
                }
                &mut list[at]
            }
            Err(_) => here.as_object_mut().unwrap().entry(step).or_insert(Value::Null),
        };
    }
    *here = value;
}

/// Removes the field at a path.
pub(crate) fn drop_field(root: &mut Value, path: &str) {
    let (parent, name) = path.rsplit_once('.').unwrap_or(("", path));
    let mut here = root;
    for step in steps(parent) {
        here = match step.parse::<usize>() {
            Ok(at) => &mut here[at],
            Err(_) => &mut here[step],
        };
    }
    let removed = here.as_object_mut().unwrap().shift_remove(name);
    assert!(removed.is_some(), "nothing at {path}");
}

fn steps(path: &str) -> Vec<String> {
    path.replace('[', ".")
        .replace(']', "")
        .split('.')
        .filter(|step| !step.is_empty())
        .map(String::from)
        .collect()
}
