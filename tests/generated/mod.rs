//! Writes scenarios from a seed: small quilts of every kind that the format can say. What must not live here: anything
//! derived by the program. Sizes of boards and what cannot be met follow from what was written, not from validation.

mod boards;
mod cloth;

use patchlay_optimise::search::Random;
use patchlay_plan::{LoadingRule, PlyRule, Strategy};
use serde_json::{Value, json};

use boards::Shape;

/// What was made impossible on purpose, and whom the reason has to name.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Hopeless {
    /// A shape of this name is wanted and stands on no board.
    NoBoard(String),
    /// The strips of this fabric are shorter than the smallest finished patch is either way.
    ShortStrips(String),
    /// The mirror image of this shape is wanted from a one-way print, and all blades cut it as drawn.
    OneHand(String),
}

/// A scenario and how it is to be planned.
pub(crate) struct Generated {
    /// The text of the scenario file.
    pub(crate) text: String,
    /// The strategy to plan it under.
    pub(crate) strategy: Strategy,
    /// What cannot be met in it; nothing if it can be planned.
    pub(crate) hopeless: Option<Hopeless>,
}

/// Numbers drawn from a seed, and lengths in the unit of the scenario.
pub(crate) struct Dice {
    random: Random,
    metric: bool,
}

impl Dice {
    /// One of so many, from 0.
    pub(crate) fn below(&mut self, n: usize) -> usize {
        self.random.below(n)
    }

    /// A whole number from `low` to `high`, both included.
    pub(crate) fn between(&mut self, low: i64, high: i64) -> i64 {
        let span = usize::try_from(high - low + 1).unwrap_or(1);
        low + i64::try_from(self.below(span)).unwrap_or(0)
    }

    /// True once in so many times on average.
    pub(crate) fn one_in(&mut self, n: usize) -> bool {
        self.below(n) == 0
    }

    /// One of a list.
    pub(crate) fn of<T: Clone>(&mut self, list: &[T]) -> T {
        list[self.below(list.len())].clone()
    }

    /// A length of so many steps as a person writes it: of 1/8 in, or of 3 mm where the scenario is metric. The two are
    /// within 6 % of one another, so that one drawing serves both.
    pub(crate) fn length(&self, steps: i64) -> Value {
        if self.metric {
            return json!(format!("{} mm", steps * 3));
        }
        match (steps / 8, steps % 8) {
            (whole, 0) => json!(whole.to_string()),
            (0, part) => json!(format!("{part}/8")),
            (whole, part) => json!(format!("{whole} {part}/8")),
        }
    }
}

/// The scenario of a seed.
pub(crate) fn scenario(seed: u64) -> Generated {
    let mut random = Random::new(seed);
    let metric = random.below(3) == 0;
    let mut dice = Dice { random, metric };
    let cutter_plies = dice.between(2, 8);
    let travel = dice.of(&cloth::TRAVEL_RULES);
    let aim = aim(&mut dice);
    let mut fabrics = cloth::fabrics(&mut dice, travel, cutter_plies, aim["put_first"] == "least_cost");
    let directed = fabrics.iter().any(cloth::keeps_direction);
    let mut shapes = boards::shapes(&mut dice);
    let boards = boards::boards(&mut dice, &shapes, directed, cutter_plies);
    let mut wanted = wanted(&mut dice, &shapes, &fabrics);
    let hopeless = if dice.one_in(9) {
        Some(spoil(&mut dice, &mut shapes, &mut fabrics, &mut wanted["loose_patches"], travel))
    } else {
        None
    };
    // A hand that no blade cuts has a board of its own; the others came with the shapes that are wanted.
    let boards = match &hopeless {
        Some(Hopeless::OneHand(shape)) => boards.with_drawn_only(&dice, shape),
        _ => boards,
    };
    let mut file = json!({
        "patchlay_scenario": 1,
        "name": format!("Generated quilt {seed}"),
        "units": if metric { "metric" } else { "inch" },
        "cutter": boards.cutter(&dice, cutter_plies),
        "rules": rules(&mut dice, travel),
        "fabrics": fabrics,
        "shapes": shapes.iter().map(|shape| shape.written(&dice)).collect::<Vec<_>>(),
        "boards": boards.written(),
    });
    let parts = file.as_object_mut().unwrap();
    for (field, value) in wanted.as_object().unwrap() {
        let _ = parts.insert(field.clone(), value.clone());
    }
    let spares = match dice.one_in(2) {
        true => json!({ "percent": dice.of(&["0", "2", "2.5", "5", "10"]) }),
        false => json!({ "number": dice.between(0, 2) }),
    };
    let _ = parts.insert("spare_patches".to_owned(), spares);
    let _ = parts.insert("aim".to_owned(), aim);
    Generated { text: file.to_string(), strategy: strategy(&mut dice, cutter_plies), hopeless }
}

/// Every aim, with the figure that it needs.
fn aim(dice: &mut Dice) -> Value {
    match dice.below(5) {
        0 => json!({ "put_first": "least_cloth" }),
        1 => json!({ "put_first": "fewest_passes" }),
        2 => json!({ "put_first": "least_time" }),
        3 => json!({ "put_first": "least_cost", "hour_is_worth": dice.of(&["0", "12", "27.50"]) }),
        _ => {
            let steps = dice.between(0, 40);
            json!({ "put_first": "weighted", "pass_is_worth": dice.length(steps) })
        }
    }
}

/// The usual strategy every third time, else any.
fn strategy(dice: &mut Dice, cutter_plies: i64) -> Strategy {
    if dice.one_in(3) {
        return Strategy::default();
    }
    let lower = dice.between(1, cutter_plies);
    let ply_limit = if dice.one_in(4) { u32::try_from(lower).ok() } else { None };
    Strategy { loading: dice.of(&LoadingRule::ALL), plies: dice.of(&PlyRule::ALL), ply_limit }
}

fn rules(dice: &mut Dice, travel: &str) -> Value {
    // The boards are drawn for this seam allowance.
    let mut rules = json!({ "travel_rule": travel, "seam": dice.length(boards::SEAM) });
    if dice.one_in(4) {
        let margin = dice.between(1, 4);
        rules["margin"] = dice.length(margin);
        let least = dice.between(0, margin);
        rules["least_margin"] = dice.length(least);
    }
    if dice.one_in(4) {
        let fold = dice.between(0, 2);
        rules["fold_allowance"] = dice.length(fold);
    }
    if dice.one_in(4) {
        let step = dice.between(1, 4);
        rules["ruler_step"] = dice.length(step);
    }
    rules
}

/// The name of any fabric.
fn any_name(dice: &mut Dice, fabrics: &[Value]) -> Value {
    let at = dice.below(fabrics.len());
    fabrics[at]["name"].clone()
}

/// Blocks and quilts, loose patches, or both. Every shape is wanted at least once.
fn wanted(dice: &mut Dice, shapes: &[Shape], fabrics: &[Value]) -> Value {
    let mut loose = Vec::new();
    let mut blocks: Vec<Value> = Vec::new();
    let mut uses: Vec<Value> = Vec::new();
    for number in 0..dice.below(3) {
        let name = format!("block {number}");
        let (mut patches, mut roles) = (Vec::new(), serde_json::Map::new());
        for (line, shape) in shapes.iter().enumerate() {
            let role = format!("role {}", line % 2);
            let mirrored = shape.is_handed() && dice.one_in(2);
            let count = dice.between(1, 4);
            patches.push(json!({ "shape": shape.name, "role": role, "count": count, "mirrored": mirrored }));
            let _ = roles.insert(role, any_name(dice, fabrics));
        }
        blocks.push(json!({ "name": name, "patches": patches }));
        uses.push(json!({ "block": name, "count": dice.between(1, 4), "fabrics": roles }));
    }
    for shape in shapes {
        if uses.is_empty() || dice.one_in(4) {
            let mirrored = shape.is_handed() && dice.one_in(2);
            let fabric = any_name(dice, fabrics);
            let count = dice.between(1, 24);
            loose
                .push(json!({ "shape": shape.name, "fabric": fabric, "count": count, "mirrored": mirrored }));
        }
    }
    if uses.is_empty() {
        return json!({ "loose_patches": loose });
    }
    let mut quilt = json!({ "name": "quilt", "blocks": uses });
    if dice.one_in(5) {
        quilt["copies"] = json!(2);
    }
    let mut wanted = json!({ "blocks": blocks, "quilts": [quilt], "loose_patches": loose });
    if dice.one_in(4) {
        wanted["proof_block"] = json!({ "quilt": "quilt" });
    }
    wanted
}

/// Adds something that cannot be met, and says what it is.
fn spoil(
    dice: &mut Dice,
    shapes: &mut Vec<Shape>,
    fabrics: &mut Vec<Value>,
    loose: &mut Value,
    travel: &str,
) -> Hopeless {
    let mut want = |shape: &str, fabric: Value, mirrored: bool| {
        let line = json!({ "shape": shape, "fabric": fabric, "count": 3, "mirrored": mirrored });
        loose.as_array_mut().unwrap().push(line);
    };
    match dice.below(3) {
        0 => {
            let lost = Shape::hexagon("lost hexagon", 12);
            let fabric = any_name(dice, fabrics);
            want(&lost.name, fabric, false);
            let name = lost.name.clone();
            shapes.push(lost);
            Hopeless::NoBoard(name)
        }
        1 => {
            let shape = dice.of(shapes);
            let like = fabrics[0].clone();
            fabrics.push(cloth::ribbon(dice, &like, shape.least_extent() - 1));
            want(&shape.name, json!("ribbon"), false);
            Hopeless::ShortStrips("ribbon".to_owned())
        }
        _ => {
            let leaning = Shape::half_rectangle("leaning triangle", 12, 28);
            let like = fabrics[0].clone();
            fabrics.push(cloth::one_way(dice, &like, travel));
            want(&leaning.name, json!("banner"), true);
            let name = leaning.name.clone();
            shapes.push(leaning);
            Hopeless::OneHand(name)
        }
    }
}
