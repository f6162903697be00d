//! Random changes to a tree of JSON.

use proptest::prelude::*;
use serde_json::{Value, json};

/// One change: where (the how-manieth value of the tree) and what.
#[derive(Clone, Debug)]
pub(crate) struct Change {
    at: prop::sample::Index,
    what: What,
}

#[derive(Clone, Debug)]
enum What {
    Put(Value),
    Add(i64),
    Remove,
    Double,
    Reverse,
}

fn what() -> impl Strategy<Value = What> {
    let number = prop_oneof![
        Just(0_i64),
        Just(1),
        Just(-1),
        Just(i64::MAX),
        Just(i64::MIN),
        Just(i64::from(u32::MAX)),
        any::<i64>(),
        0..1_000_000_i64,
    ];
    let text = prop_oneof![
        Just("".to_owned()),
        Just("Light".to_owned()),
        Just("A1a".to_owned()),
        Just(i128::MAX.to_string()),
        Just(i128::MIN.to_string()),
        Just(format!("{}/{}", i128::MAX, i128::MAX - 1)),
        Just(format!("{}/1", i128::MIN)),
        Just("1/3".to_owned()),
        Just("399 in".to_owned()),
        Just("0".to_owned()),
        Just("99.99".to_owned()),
        Just("along".to_owned()),
        Just("down".to_owned()),
        "[0-9]{1,30}",
    ];
    prop_oneof![
        number.prop_map(|number| What::Put(json!(number))),
        text.prop_map(|text| What::Put(json!(text))),
        any::<bool>().prop_map(|put| What::Put(json!(put))),
        Just(What::Put(Value::Null)),
        Just(What::Put(json!([]))),
        prop_oneof![Just(1_i64), Just(-1), Just(127), Just(-127), Just(1_016)].prop_map(What::Add),
        Just(What::Remove),
        Just(What::Double),
        Just(What::Reverse),
    ]
}

/// One to three changes.
pub(crate) fn changes() -> impl Strategy<Value = Vec<Change>> {
    prop::collection::vec((any::<prop::sample::Index>(), what()), 1..4)
        .prop_map(|list| list.into_iter().map(|(at, what)| Change { at, what }).collect())
}

fn count(value: &Value) -> usize {
    1 + match value {
        Value::Array(list) => list.iter().map(count).sum(),
        Value::Object(fields) => fields.values().map(count).sum::<usize>(),
        _ => 0,
    }
}

/// Finds a value of the tree by its number, the root being 0.
fn find(value: &mut Value, mut number: usize) -> Option<&mut Value> {
    if number == 0 {
        return Some(value);
    }
    number -= 1;
    let children: Vec<&mut Value> = match value {
        Value::Array(list) => list.iter_mut().collect(),
        Value::Object(fields) => fields.values_mut().collect(),
        _ => return None,
    };
    for child in children {
        let size = count(child);
        if number < size {
            return find(child, number);
        }
        number -= size;
    }
    None
}

/// Does one change.
pub(crate) fn apply(tree: &mut Value, change: &Change) {
    let number = change.at.index(count(tree));
    let Some(value) = find(tree, number) else { return };
    match &change.what {
        What::Put(new) => *value = new.clone(),
        What::Add(more) => {
            if let Some(old) = value.as_i64() {
                *value = json!(old.saturating_add(*more));
            } else if let Some(old) = value.as_str().and_then(|text| text.parse::<i128>().ok()) {
                *value = json!(old.saturating_add(i128::from(*more)).to_string());
            }
        }
        What::Remove => {
            if let Some(list) = value.as_array_mut() {
                list.pop();
            }
        }
        What::Double => {
            if let Some(list) = value.as_array_mut() {
                list.extend(list.clone());
            }
        }
        What::Reverse => {
            if let Some(list) = value.as_array_mut() {
                list.reverse();
            }
        }
    }
}
