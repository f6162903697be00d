//! Quilts that come on top with fabrics and blocks of their own: the plan with the scenario that they belong to, and a file
//! of them judged with it.

use std::borrow::Cow;

use patchlay_measure::{Length, Money};
use patchlay_plan::record::{Entry, Note, counting};
use patchlay_plan::{FabricPlan, Plan};
use patchlay_scenario::spec::{Block, Fabric, Quilt, Scenario};
use patchlay_scenario::{Code, Job, Problem, load, place_of};
use serde_json::{Map, Value, json};

use crate::state::State;

/// What such a file holds.
const FIELDS: [&str; 3] = ["fabrics", "blocks", "quilts"];

/// The plan with the fabrics and blocks that quilts brought with them: in its scenario, after those that were there, and
/// without a strip. What does not fit the scenario is left out.
#[must_use]
pub fn with_added<'p>(plan: &'p Plan, entries: &[Entry]) -> Cow<'p, Plan> {
    let mut plan = Cow::Borrowed(plan);
    for entry in counting(entries) {
        if let Note::QuiltsAdded { fabrics, blocks, .. } = &entry.note
            && let Some(more) = with(&plan, fabrics, blocks)
        {
            plan = Cow::Owned(more);
        }
    }
    plan
}

fn with(plan: &Plan, fabrics: &[Fabric], blocks: &[Block]) -> Option<Plan> {
    let spec: Scenario = serde_json::from_value(plan.scenario.clone()).ok()?;
    let mut scenario = lettered(&plan.scenario)?;
    let mut more = plan.clone();
    for fabric in fabrics {
        match spec.fabrics.iter().find(|known| known.name == fabric.name) {
            Some(known) if same_fabric(known, fabric) => continue,
            Some(_) => return None,
            None if !fabric.kept_back.is_empty() => return None,
            None => {}
        }
        list(&mut scenario, "fabrics")?.push(a_gift_costs_nothing(&spec, json!(fabric)));
        more.fabrics.push(FabricPlan {
            fabric: fabric.name.clone(),
            strips: Vec::new(),
            kept_back: Length::ZERO,
            squaring: Length::ZERO,
            taken: Length::ZERO,
            bought: Length::ZERO,
            money: Money::ZERO,
        });
    }
    for block in blocks {
        match spec.blocks.iter().find(|known| known.name == block.name) {
            Some(known) if known == block => {}
            Some(_) => return None,
            None => list(&mut scenario, "blocks")?.push(json!(block)),
        }
    }
    load(&scenario.to_string()).ok()?;
    more.scenario = scenario;
    Some(more)
}

/// Whether the scenario has these fabrics and blocks.
pub(crate) fn has(scenario: &Value, fabrics: &[Fabric], blocks: &[Block]) -> bool {
    let Ok(spec) = serde_json::from_value::<Scenario>(scenario.clone()) else { return false };
    let fabric = |fabric: &Fabric| spec.fabrics.iter().any(|known| same_fabric(known, fabric));
    fabrics.iter().all(fabric) && blocks.iter().all(|block| spec.blocks.contains(block))
}

/// Whether two are one fabric; letters are given here, and no price is a price of nothing.
fn same_fabric(known: &Fabric, fabric: &Fabric) -> bool {
    let bare = |fabric: &Fabric| Fabric {
        letter: None,
        price: fabric.price.clone().filter(|price| price.typed() != "0"),
        ..fabric.clone()
    };
    bare(known) == bare(fabric)
}

/// The scenario with the letters of its fabrics stated: they stand on tags and cards already.
fn lettered(scenario: &Value) -> Option<Value> {
    let (_, job) = load(&scenario.to_string()).ok()?;
    let mut scenario = scenario.clone();
    for (fabric, known) in list(&mut scenario, "fabrics")?.iter_mut().zip(&job.fabrics) {
        fabric.as_object_mut()?.insert("letter".to_owned(), json!(known.letter));
    }
    Some(scenario)
}

/// Where others have a price, one without was given.
fn a_gift_costs_nothing(spec: &Scenario, mut fabric: Value) -> Value {
    let priced = spec.fabrics.iter().any(|fabric| fabric.price.is_some());
    if let Some(fields) = fabric.as_object_mut().filter(|_| priced) {
        fields.entry("price").or_insert_with(|| json!("0"));
    }
    fabric
}

fn list<'v>(scenario: &'v mut Value, field: &str) -> Option<&'v mut Vec<Value>> {
    scenario.as_object_mut()?.entry(field).or_insert_with(|| json!([])).as_array_mut()
}

/// Whether a text is a file of quilts with what they bring, rather than one quilt.
#[must_use]
pub fn brings_more(text: &str) -> bool {
    let fields = serde_json::from_str::<Map<String, Value>>(text).unwrap_or_default();
    // A quilt has a name, and blocks too.
    let has = |field: &str| fields.contains_key(field);
    has("quilts") || has("fabrics") || (has("blocks") && !has("name"))
}

/// Reads a file with `fabrics`, `blocks` and `quilts` in the scenario's own words and judges it with the scenario of a plan
/// (with its job) and what was noted. The note is judged again when it is taken.
///
/// # Errors
/// Everything that is wrong with it, with places in the text.
pub fn read_added(plan: &Plan, job: &Job, entries: &[Entry], text: &str) -> Result<Note, Vec<Problem>> {
    let file: Map<String, Value> = serde_json::from_str(text).map_err(|error| {
        let (line, column) = (Some(error.line()), Some(error.column()));
        let hint = "write it as a scenario is written: fabrics, blocks and quilts between braces";
        vec![Problem { line, column, ..problem(Code::JsonSyntax, "", error.to_string(), hint) }]
    })?;
    let mut problems = strangers(&file);
    let mut files_own = Vec::new();
    let judged = Judging::of(plan, job, entries).and_then(|mut judging| {
        for field in FIELDS {
            let items = file.get(field).and_then(Value::as_array);
            judging.add(field, items.map_or(&[][..], Vec::as_slice))?;
        }
        let refused = load(&judging.scenario.to_string()).err();
        files_own = judging.numbers;
        Some(refused.map_or_else(Vec::new, |error| error.problems().to_vec()))
    });
    match judged {
        Some(found) => problems.extend(found.into_iter().map(|problem| in_file(problem, &files_own))),
        None => problems.push(problem(
            Code::Unexplained,
            "",
            "the plan's scenario cannot be read".to_owned(),
            "name the plan.json that 'patchlay plan' wrote",
        )),
    }
    if !problems.is_empty() {
        for problem in problems.iter_mut().filter(|problem| problem.line.is_none()) {
            let place = place_of(text, &problem.path);
            (problem.line, problem.column) = (place.map(|place| place.0), place.map(|place| place.1));
        }
        problems.sort_by_key(|problem| (problem.line, problem.column));
        return Err(problems);
    }
    let typed = |error: serde_json::Error| {
        vec![problem(Code::WrongType, "", error.to_string(), "write it as in a scenario")]
    };
    let field = |field: &str| file.get(field).cloned().unwrap_or_else(|| json!([]));
    let fabrics: Vec<Fabric> = serde_json::from_value(field("fabrics")).map_err(typed)?;
    let blocks: Vec<Block> = serde_json::from_value(field("blocks")).map_err(typed)?;
    let quilts: Vec<Quilt> = serde_json::from_value(field("quilts")).map_err(typed)?;
    Ok(Note::QuiltsAdded { fabrics, blocks, quilts })
}

fn problem(code: Code, path: &str, problem: String, hint: &str) -> Problem {
    let (path, hint) = (path.to_owned(), hint.to_owned());
    Problem { code, path, line: None, column: None, value: String::new(), problem, hint }
}

/// What has no place in such a file.
fn strangers(file: &Map<String, Value>) -> Vec<Problem> {
    let mut problems = Vec::new();
    for (name, value) in file {
        if !FIELDS.contains(&name.as_str()) {
            let hint =
                "such a file holds fabrics, blocks and quilts; shapes and boards are those of the scenario";
            problems.push(problem(Code::UnknownField, name, format!("`{name}` has no place here"), hint));
        } else if !value.is_array() {
            let what = format!("`{name}` must be a list");
            problems.push(problem(Code::WrongType, name, what, "write it between square brackets"));
        }
    }
    let quilts = file.get("quilts").and_then(Value::as_array);
    if quilts.is_none_or(Vec::is_empty) {
        let hint = "add the quilt that the fabrics and blocks are for";
        problems.push(problem(Code::NothingToCut, "quilts", "there is no quilt".to_owned(), hint));
    }
    let fabrics = file.get("fabrics").and_then(Value::as_array);
    for (at, fabric) in fabrics.into_iter().flatten().enumerate() {
        if fabric.get("kept_back").is_some() {
            let path = format!("fabrics[{at}].kept_back");
            let what = "lengths of a fabric that comes on top are not kept back".to_owned();
            let hint = "leave it out, and buy what borders and binding take besides what the replan says";
            problems.push(problem(Code::UnknownField, &path, what, hint));
        }
    }
    problems
}

/// The scenario as it now is, to which a file is added.
struct Judging {
    spec: Scenario,
    scenario: Value,
    /// By field: how many the scenario has, and the numbers in the file of those that were added.
    numbers: Vec<(&'static str, usize, Vec<usize>)>,
}

impl Judging {
    fn of(plan: &Plan, job: &Job, entries: &[Entry]) -> Option<Self> {
        let plan = with_added(plan, entries);
        let own = matches!(plan, Cow::Owned(_)).then(|| load(&plan.scenario.to_string()).ok());
        let own = own.flatten();
        let job = own.as_ref().map_or(job, |(_, job)| job);
        let (state, _) = State::of(&plan, job, entries).ok()?;
        let mut spec: Scenario = serde_json::from_value(plan.scenario.clone()).ok()?;
        let mut scenario = lettered(&plan.scenario)?;
        let fields = scenario.as_object_mut()?;
        for field in ["proof_block", "could_have"] {
            fields.shift_remove(field);
        }
        fields.insert("quilts".to_owned(), json!(state.quilts));
        spec.quilts = state.quilts;
        Some(Self { spec, scenario, numbers: Vec::new() })
    }

    /// Adds what the file has of a kind, but for what the scenario has already.
    fn add(&mut self, field: &'static str, items: &[Value]) -> Option<()> {
        let before = list(&mut self.scenario, field)?.len();
        let mut numbers = Vec::new();
        for (at, item) in items.iter().enumerate() {
            let known = match field {
                "fabrics" => serde_json::from_value(item.clone()).is_ok_and(|fabric: Fabric| {
                    self.spec.fabrics.iter().any(|known| same_fabric(known, &fabric))
                }),
                "blocks" => serde_json::from_value(item.clone())
                    .is_ok_and(|block: Block| self.spec.blocks.contains(&block)),
                _ => false,
            };
            if known {
                continue;
            }
            let mut item = item.clone();
            if field == "fabrics" {
                item = a_gift_costs_nothing(&self.spec, item);
                // Said already.
                item.as_object_mut().map(|fields| fields.shift_remove("kept_back"));
            }
            numbers.push(at);
            list(&mut self.scenario, field)?.push(item);
        }
        self.numbers.push((field, before, numbers));
        Some(())
    }
}

/// A problem of the whole scenario with its place in the file, where it is about something in it.
fn in_file(found: Problem, numbers: &[(&'static str, usize, Vec<usize>)]) -> Problem {
    let place = || {
        let (field, rest) = found.path.split_once('[')?;
        let (number, rest) = rest.split_once(']')?;
        let (_, before, own) = numbers.iter().find(|(known, ..)| *known == field)?;
        let at = own.get(number.parse::<usize>().ok()?.checked_sub(*before)?)?;
        Some(format!("{field}[{at}]{rest}"))
    };
    let (path, outside) = match place() {
        Some(path) => (path, ""),
        None => (String::new(), "with the scenario of the plan, "),
    };
    let problem = match outside.is_empty() {
        true => found.problem.clone(),
        false => format!("{outside}{}: {}", found.path, found.problem),
    };
    Problem { path, problem, line: None, column: None, ..found }
}
