//! Shapes and the boards that cut them. Lengths are counted in the steps of [`Dice::length`].

use serde_json::{Value, json};

use super::Dice;

/// Seam allowance: 1/4 in, or 6 mm.
pub(crate) const SEAM: i64 = 2;

/// A shape with its finished sizes.
#[derive(Clone)]
pub(crate) struct Shape {
    /// What it is called.
    pub(crate) name: String,
    kind: &'static str,
    /// Width and height of the finished patch's box; for a parallelogram its base and slanted side.
    sizes: (i64, i64),
}

impl Shape {
    fn new(name: &str, kind: &'static str, sizes: (i64, i64)) -> Self {
        Self { name: name.to_owned(), kind, sizes }
    }

    /// A hexagon by its side.
    pub(crate) fn hexagon(name: &str, side: i64) -> Self {
        Self::new(name, "hexagon", (side, side))
    }

    /// Half a rectangle.
    pub(crate) fn half_rectangle(name: &str, width: i64, height: i64) -> Self {
        Self::new(name, "half_rectangle_triangle", (width, height))
    }

    /// Whether it differs from its mirror image. The generator makes no half-rectangle with two equal sides.
    pub(crate) fn is_handed(&self) -> bool {
        matches!(self.kind, "half_rectangle_triangle" | "parallelogram")
    }

    /// A length that a box round the cut patch exceeds in both directions. The seam allowance alone adds to every
    /// finished size; a parallelogram of 60 degrees is as high as 0.866 of its slanted side, a quarter-square triangle
    /// as half its long side.
    pub(crate) fn least_extent(&self) -> i64 {
        let (width, height) = self.sizes;
        match self.kind {
            "quarter_square_triangle" => width / 2,
            "parallelogram" => width.min(height * 866 / 1000),
            _ => width.min(height),
        }
    }

    /// As the scenario file says it.
    pub(crate) fn written(&self, dice: &Dice) -> Value {
        let (width, height) = (dice.length(self.sizes.0), dice.length(self.sizes.1));
        let (name, kind) = (&self.name, self.kind);
        match kind {
            "rectangle" | "half_rectangle_triangle" => {
                json!({ "name": name, "kind": kind, "width": width, "height": height })
            }
            "quarter_square_triangle" => json!({ "name": name, "kind": kind, "width": width }),
            "parallelogram" => {
                json!({ "name": name, "kind": kind, "width": width, "side": height, "angle": "60" })
            }
            _ => json!({ "name": name, "kind": kind, "side": width }),
        }
    }

    /// A box that one patch, or the pair or four that share a box, surely fits into. The offset triangle is the
    /// triangle about its incentre, larger by seam over inradius; tips are counted untrimmed.
    fn roomy_box(&self) -> (i64, i64) {
        let (width, height) = self.sizes;
        let triangle = |a: f64, b: f64, size: i64| {
            let inradius = (a + b - a.hypot(b)) / 2.0;
            (size as f64 * (1.0 + SEAM as f64 / inradius)).ceil() as i64
        };
        let (wide, high) = (width as f64, height as f64);
        match self.kind {
            "half_square_triangle" | "half_rectangle_triangle" => {
                (triangle(wide, high, width), triangle(wide, high, height))
            }
            "quarter_square_triangle" => {
                let leg = wide / f64::sqrt(2.0);
                (triangle(leg, leg, width), triangle(leg, leg, width))
            }
            // Seams of slanted sides reach out by seam times the cotangent of half the angle, below twice the seam.
            "parallelogram" => (width + (height + 1) / 2 + 4 * SEAM, height + 2 * SEAM),
            "hexagon" => (2 * width + 3 * SEAM, 2 * width + 3 * SEAM),
            _ => (width + 2 * SEAM, height + 2 * SEAM),
        }
    }
}

/// One to three shapes.
pub(crate) fn shapes(dice: &mut Dice) -> Vec<Shape> {
    let count = dice.between(1, 3);
    (0..count).map(|number| shape(dice, &format!("shape {number}"))).collect()
}

fn shape(dice: &mut Dice, name: &str) -> Shape {
    // Half inches, or 12 mm.
    let (small, large) = (4 * dice.between(2, 5), 4 * dice.between(6, 9));
    let side = 4 * dice.between(3, 9);
    match dice.below(8) {
        0 | 1 => Shape::new(name, "square", (side, side)),
        2 if dice.one_in(2) => Shape::new(name, "rectangle", (large, small)),
        2 => Shape::new(name, "rectangle", (small, large)),
        3 => Shape::new(name, "half_square_triangle", (side, side)),
        4 => Shape::new(name, "quarter_square_triangle", (side, side)),
        5 => Shape::half_rectangle(name, small.max(12), large),
        6 => Shape::new(name, "parallelogram", (large, small.max(12))),
        _ => Shape::hexagon(name, small.max(8)),
    }
}

/// All boards and the room they take.
pub(crate) struct Boards {
    list: Vec<Value>,
    widest: i64,
    longest: i64,
}

/// One to three boards that between them cut every shape, and both hands of handed ones where a print keeps its
/// direction. Where none does, plies may lie face down, and one hand is enough.
pub(crate) fn boards(dice: &mut Dice, shapes: &[Shape], directed: bool, cutter_plies: i64) -> Boards {
    let count = dice.between(1, 3);
    let mut boards = Boards { list: Vec::new(), widest: 0, longest: 0 };
    for number in 0..count {
        let mut drawing = Drawing::new(dice, number);
        for (at, shape) in shapes.iter().enumerate() {
            // Every shape has its board; others may cut it too.
            let own = i64::try_from(at).unwrap_or(0) % count == number;
            if own || dice.one_in(4) {
                drawing.add(dice, shape, directed);
            }
        }
        if drawing.entries.is_empty() {
            drawing.add(dice, &shapes[0], directed);
        }
        boards.take(dice, drawing, cutter_plies);
    }
    boards
}

/// A board while it is drawn: entries one behind the other along the travel.
struct Drawing {
    name: String,
    entries: Vec<Value>,
    gap: i64,
    width: i64,
    length: i64,
    positions: i64,
}

/// Most positions on a board.
const MOST_POSITIONS: i64 = 6;

impl Drawing {
    fn new(dice: &mut Dice, number: i64) -> Self {
        // Neighbours this close share a piece of cloth as often as not.
        let gap = dice.of(&[1, 2, 3, 4, 5, 8, 12]);
        let (name, entries) = (format!("board {number}"), Vec::new());
        Self { name, entries, gap, width: 0, length: EDGE, positions: 0 }
    }

    /// Adds a row or grid of like positions; of a handed shape both hands, or one.
    fn add(&mut self, dice: &mut Dice, shape: &Shape, directed: bool) {
        if !shape.is_handed() {
            return self.entry(dice, shape, ["as_drawn", ""]);
        }
        if shape.kind == "parallelogram" && dice.one_in(2) {
            return self.entry(dice, shape, ["as_drawn", "mirrored"]);
        }
        let hands = dice.of(&[["as_drawn", "mirrored"], ["mirrored", "as_drawn"]]);
        self.entry(dice, shape, [hands[0], ""]);
        if directed || dice.one_in(2) {
            self.entry(dice, shape, [hands[1], ""]);
        }
    }

    fn entry(&mut self, dice: &mut Dice, shape: &Shape, hands: [&str; 2]) {
        let (mut wide, mut high) = shape.roomy_box();
        let mut entry = json!({ "shape": shape.name, "at": [dice.length(EDGE), dice.length(self.length)] });
        let two_hands = !hands[1].is_empty();
        let patches = match shape.kind {
            "square" | "rectangle" if dice.one_in(3) => dice.between(2, 3),
            "half_square_triangle" | "half_rectangle_triangle" if !dice.one_in(3) => 2,
            "quarter_square_triangle" if !dice.one_in(3) => 4,
            _ => 1,
        };
        entry[hands[0]] = json!(patches);
        if two_hands {
            entry[hands[1]] = json!(patches);
        }
        let in_row = two_hands || (patches > 1 && matches!(shape.kind, "square" | "rectangle"));
        if in_row {
            let apart = dice.between(0, 2);
            let side_by_side = if two_hands { 2 * patches } else { patches };
            entry["arrangement"] = json!("row");
            entry["patch_gap"] = dice.length(apart);
            wide = side_by_side * wide + (side_by_side - 1) * apart;
        } else if patches == 2 {
            entry["arrangement"] = json!("pair");
        } else if patches == 4 {
            entry["arrangement"] = json!("four");
        }
        if dice.one_in(5) {
            entry["shape_turn"] = json!(90);
            (wide, high) = (high, wide);
        }
        self.place(dice, entry, (wide, high));
    }

    /// Puts an entry behind the others: a grid, or now and then one position with its blades at an angle.
    fn place(&mut self, dice: &mut Dice, mut entry: Value, (wide, high): (i64, i64)) {
        if dice.one_in(10) {
            // Wherever it is turned about, a box stays within its two sides' sum of where it was.
            let room = wide + high;
            entry["turn"] = json!(dice.of(&["3", "12", "30", "45"]));
            entry["at"] = json!([dice.length(EDGE + room), dice.length(self.length + room)]);
            self.width = self.width.max(2 * EDGE + 3 * room);
            self.length += 3 * room + self.gap;
            self.positions += 1;
            self.entries.push(entry);
            return;
        }
        let left = (MOST_POSITIONS - self.positions).max(1);
        let columns = dice.between(1, left.min(3));
        let rows = dice.between(1, (left / columns).clamp(1, 2));
        for (count, counted, gap) in [(columns, "columns", "gap_across"), (rows, "rows", "gap_along")] {
            if count > 1 {
                entry[counted] = json!(count);
                entry[gap] = dice.length(self.gap);
            }
        }
        self.width = self.width.max(2 * EDGE + columns * wide + (columns - 1) * self.gap);
        self.length += rows * (high + self.gap);
        self.positions += columns * rows;
        self.entries.push(entry);
    }
}

/// Board left free before the first blades.
const EDGE: i64 = 6;

impl Boards {
    fn take(&mut self, dice: &mut Dice, drawing: Drawing, cutter_plies: i64) {
        let (width, length) = (drawing.width, drawing.length + EDGE);
        let mut board = json!({
            "name": drawing.name,
            "width": dice.length(width),
            "length": dice.length(length),
            "positions": drawing.entries,
        });
        if dice.one_in(6) {
            board["ply_limit"] = json!(dice.between(1, cutter_plies));
        }
        self.list.push(board);
        self.widest = self.widest.max(width);
        self.longest = self.longest.max(length);
    }

    /// With one board more, which cuts two patches of a shape as drawn and none mirrored.
    pub(crate) fn with_drawn_only(mut self, dice: &Dice, shape: &str) -> Self {
        let (width, length) = (60, 80);
        self.list.push(json!({
            "name": "one hand",
            "width": dice.length(width),
            "length": dice.length(length),
            "positions": [{ "shape": shape, "at": [dice.length(EDGE), dice.length(EDGE)], "as_drawn": 2, "arrangement": "pair" }],
        }));
        self.widest = self.widest.max(width);
        self.longest = self.longest.max(length);
        self
    }

    /// A cutter that takes all boards, with a mat over the largest.
    pub(crate) fn cutter(&self, dice: &Dice, plies: i64) -> Value {
        let (width, length) = (dice.length(self.widest), dice.length(self.longest));
        json!({
            "bed_width": width,
            "longest_board": length,
            "ply_limit": plies,
            "mats": [{ "name": "mat", "width": width, "length": length }],
        })
    }

    /// As the scenario file says them.
    pub(crate) fn written(&self) -> &[Value] {
        &self.list
    }
}
