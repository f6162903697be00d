//! Lists that people keep as tables: fabrics as measured at check-in, quilts, and loose demand, each a CSV file with a
//! header in plain words. They are merged into the text of a scenario, which is then read like any other; what is wrong
//! with a cell is told with the line and column of its file.

use std::collections::BTreeMap;

use serde_json::{Map, Value, json};

use crate::problem::{Code, Problem};
use crate::words::{listed, nearest};

/// What a list holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum ListKind {
    /// One fabric a row.
    Fabrics,
    /// One block line of a quilt a row; further columns are roles.
    Quilts,
    /// Patches wanted outside any quilt.
    Demand,
}

/// A list and its text.
#[derive(Clone, Copy, Debug)]
pub struct List<'a> {
    /// What it holds.
    pub kind: ListKind,
    /// The CSV text; commas, or semicolons where the header has more of these.
    pub text: &'a str,
}

/// A place in a list.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Place {
    /// Index of the list.
    pub list: usize,
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
}

/// A scenario with lists merged in.
#[derive(Clone, Debug)]
pub struct Merged {
    /// The whole scenario as JSON text.
    pub text: String,
    /// Where values come from, by path.
    places: BTreeMap<String, Place>,
}

impl Merged {
    /// Where the value at a path of the scenario comes from: its cell, or the row of what is around it. `None` for what
    /// stands in the scenario file itself.
    #[must_use]
    pub fn place(&self, path: &str) -> Option<Place> {
        let mut here = path;
        loop {
            if let Some(place) = self.places.get(here) {
                return Some(*place);
            }
            here = &here[..here.rfind(['.', '['])?];
        }
    }
}

/// Something wrong with a list, with the list it is in.
pub type ListProblem = (usize, Problem);

/// Merges lists into the text of a scenario.
///
/// # Errors
/// Everything that is wrong with the lists as tables. A scenario that is not a JSON object is left to be refused by
/// [`crate::load()`], whatever the lists say.
pub fn merge(scenario: &str, lists: &[List<'_>]) -> Result<Merged, Vec<ListProblem>> {
    let plain = |text: &str| Merged { text: text.to_owned(), places: BTreeMap::new() };
    let bare = scenario.strip_prefix('\u{feff}').unwrap_or(scenario);
    let Ok(Value::Object(mut root)) = serde_json::from_str(bare) else { return Ok(plain(scenario)) };
    let mut merging = Merging { places: BTreeMap::new(), problems: Vec::new() };
    for (at, list) in lists.iter().enumerate() {
        let Some(table) = merging.table(at, list) else { continue };
        match list.kind {
            ListKind::Fabrics => merging.fabrics(&table, &mut root),
            ListKind::Quilts => merging.quilts(&table, &mut root),
            ListKind::Demand => merging.demand(&table, &mut root),
        }
    }
    if !merging.problems.is_empty() {
        return Err(merging.problems);
    }
    let text = serde_json::to_string_pretty(&Value::Object(root)).unwrap_or_default() + "\n";
    Ok(Merged { text, places: merging.places })
}

/// A table that was read: headers in plain words, rows with their lines.
struct Table<'a> {
    list: usize,
    header: Vec<String>,
    rows: Vec<Row<'a>>,
}

struct Row<'a> {
    line: usize,
    raw: &'a str,
    separator: char,
    cells: Vec<String>,
}

impl Row<'_> {
    /// Column in characters at which a cell begins.
    fn column(&self, cell: usize) -> usize {
        let (mut quoted, mut seen) = (false, 0);
        for (at, letter) in self.raw.chars().enumerate() {
            if seen == cell {
                return at + 1;
            }
            match letter {
                '"' => quoted = !quoted,
                other if other == self.separator && !quoted => seen += 1,
                _ => {}
            }
        }
        self.raw.chars().count() + 1
    }
}

struct Merging {
    places: BTreeMap<String, Place>,
    problems: Vec<ListProblem>,
}

/// Columns of fabrics: words of the header and field of the scenario.
const FABRIC: [(&str, &str); 16] = [
    ("name", "name"),
    ("fabric", "name"),
    ("letter", "letter"),
    ("colour", "colour"),
    ("usable width", "usable_width"),
    ("width", "usable_width"),
    ("width measured", "width_measured"),
    ("print", "print"),
    ("price", "price"),
    ("ply limit", "ply_limit"),
    ("shrinkage percent", "shrinkage_percent"),
    ("selling step", "selling_step"),
    ("travel rule", "travel_rule"),
    ("reversible", "reversible"),
    ("brought by", "brought by"),
    ("leftovers to", "leftovers to"),
];
/// Columns of quilts that are not roles.
const QUILT: [&str; 6] = ["quilt", "copies", "for", "urgent", "block", "count"];
/// Columns of demand.
const DEMAND: [&str; 4] = ["shape", "fabric", "count", "mirrored"];

impl Merging {
    fn wrong(&mut self, place: Place, code: Code, value: &str, problem: String, hint: String) {
        self.problems.push((
            place.list,
            Problem {
                code,
                path: String::new(),
                line: Some(place.line),
                column: Some(place.column),
                value: value.to_owned(),
                problem,
                hint,
            },
        ));
    }

    /// Reads a table; a quoted cell may hold separators, not line breaks.
    fn table<'a>(&mut self, list: usize, of: &List<'a>) -> Option<Table<'a>> {
        let text = of.text.strip_prefix('\u{feff}').unwrap_or(of.text);
        let mut lines = text
            .lines()
            .enumerate()
            .map(|(at, line)| (at + 1, line))
            .filter(|(_, line)| !line.trim().is_empty());
        let Some((first, head)) = lines.next() else {
            let place = Place { list, line: 1, column: 1 };
            let hint = "write a header in the first line, for example: name, usable width, print".to_owned();
            self.wrong(place, Code::BadList, "", "the list is empty".to_owned(), hint);
            return None;
        };
        let separator = if head.matches(';').count() > head.matches(',').count() { ';' } else { ',' };
        let header: Vec<String> =
            cells(head, separator).iter().map(|word| word.to_lowercase().replace('_', " ")).collect();
        let head_row = Row { line: first, raw: head, separator, cells: Vec::new() };
        let before = self.problems.len();
        for (at, word) in header.iter().enumerate() {
            let place = Place { list, line: first, column: head_row.column(at) };
            if header[..at].contains(word) {
                let problem = format!("the column \"{word}\" stands twice");
                self.wrong(place, Code::BadList, word, problem, "remove one of them".to_owned());
            }
            self.known(of.kind, word, place);
        }
        let needed: &[&[&str]] = match of.kind {
            ListKind::Fabrics => &[&["name", "fabric"], &["usable width", "width"]],
            ListKind::Quilts => &[&["quilt"], &["block"], &["count"]],
            ListKind::Demand => &[&["shape"], &["fabric"], &["count"]],
        };
        for words in needed {
            if !header.iter().any(|word| words.contains(&word.as_str())) {
                let place = Place { list, line: first, column: 1 };
                let problem = format!("the header lacks a column \"{}\"", words[0]);
                self.wrong(place, Code::BadList, "", problem, "add the column".to_owned());
            }
        }
        let mut rows = Vec::new();
        for (line, raw) in lines {
            let row = Row { line, raw, separator, cells: cells(raw, separator) };
            if row.cells.len() == header.len() {
                rows.push(row);
                continue;
            }
            let problem = format!("this row has {} cells, the header has {}", row.cells.len(), header.len());
            let hint =
                "put a cell that holds a separator between double quotes; leave empty cells empty".to_owned();
            let column = row.column(row.cells.len().min(header.len()));
            self.wrong(Place { list, line, column }, Code::BadList, "", problem, hint);
        }
        (self.problems.len() == before).then_some(Table { list, header, rows })
    }

    /// Whether a column is known; in quilts any other word is a role.
    fn known(&mut self, kind: ListKind, word: &str, place: Place) {
        let words: Vec<&str> = match kind {
            ListKind::Fabrics => FABRIC.iter().map(|(word, _)| *word).collect(),
            ListKind::Demand => DEMAND.to_vec(),
            ListKind::Quilts if word.is_empty() => QUILT.to_vec(),
            ListKind::Quilts => return,
        };
        if !words.contains(&word) {
            let hint = match nearest(word, words.iter().copied()) {
                Some(near) => format!("did you mean \"{near}\"?"),
                None => format!("known here are {}", listed(&words)),
            };
            self.wrong(place, Code::BadList, word, format!("the column \"{word}\" is not known"), hint);
        }
    }

    /// The value of a cell under a field's rules: counts and yes or no are read here, all else by the scenario's reader.
    fn value(&mut self, field: &str, text: &str, place: Place) -> Value {
        match field {
            "count" | "copies" | "ply_limit" => match text.parse::<u32>() {
                Ok(number) => json!(number),
                Err(_) => {
                    let problem = "this is not a whole number".to_owned();
                    self.wrong(
                        place,
                        Code::BadNumber,
                        text,
                        problem,
                        "write it in digits, like 12".to_owned(),
                    );
                    Value::Null
                }
            },
            "urgent" | "mirrored" | "reversible" => match text.to_lowercase().as_str() {
                "yes" | "y" | "true" | "x" => json!(true),
                "no" | "n" | "false" => json!(false),
                _ => {
                    let problem = "this is neither yes nor no".to_owned();
                    let hint = "write yes or no, or leave the cell empty".to_owned();
                    self.wrong(place, Code::UnknownValue, text, problem, hint);
                    Value::Null
                }
            },
            "print" => json!(match text.to_lowercase().as_str() {
                "plain" | "none" | "scattered" => "none",
                "one way" | "one-way" => "one_way",
                _ => text,
            }),
            "width_measured" | "travel_rule" => json!(text.to_lowercase().replace(' ', "_")),
            _ => json!(text),
        }
    }

    fn fabrics(&mut self, table: &Table<'_>, root: &mut Map<String, Value>) {
        let mut brought = Vec::new();
        for row in &table.rows {
            let at = length(root, "fabrics");
            let path = format!("fabrics[{at}]");
            let (mut fabric, mut from) = (Map::new(), Map::new());
            let _ = self.places.insert(path.clone(), Place { list: table.list, line: row.line, column: 1 });
            for (cell, (word, text)) in table.header.iter().zip(&row.cells).enumerate() {
                let place = Place { list: table.list, line: row.line, column: row.column(cell) };
                let field = FABRIC.iter().find(|(known, _)| known == word).map_or("", |(_, field)| field);
                let _ = self.places.insert(format!("{path}.{field}"), place);
                match (field, text.is_empty()) {
                    (_, true) => {}
                    ("brought by", _) => drop(from.insert("by".to_owned(), json!(text))),
                    ("leftovers to", _) => drop(from.insert("leftovers_to".to_owned(), json!(text))),
                    _ => drop(fabric.insert(field.to_owned(), self.value(field, text, place))),
                }
            }
            if !from.is_empty() {
                let _ = from.insert("fabric".to_owned(), fabric.get("name").cloned().unwrap_or_default());
                brought.push((from, Place { list: table.list, line: row.line, column: 1 }));
            }
            push(root, "fabrics", Value::Object(fabric));
        }
        for (from, place) in brought {
            let Some(Value::Object(group)) = root.get_mut("group") else {
                let problem = "the scenario has no group, so nobody brings cloth".to_owned();
                let hint = "add \"group\" to the scenario, or leave the column out".to_owned();
                self.wrong(place, Code::BadList, "", problem, hint);
                return;
            };
            let path = format!("group.brought[{}]", length(group, "brought"));
            let _ = self.places.insert(path, place);
            push(group, "brought", Value::Object(from));
        }
    }

    fn quilts(&mut self, table: &Table<'_>, root: &mut Map<String, Value>) {
        let mut known: BTreeMap<String, usize> = BTreeMap::new();
        for row in &table.rows {
            let here = |cell: usize| Place { list: table.list, line: row.line, column: row.column(cell) };
            let (mut quilt, mut line, mut roles) = (Map::new(), Map::new(), Map::new());
            let mut cells = Vec::new();
            for (cell, (word, text)) in table.header.iter().zip(&row.cells).enumerate() {
                let place = here(cell);
                let into = match word.as_str() {
                    "quilt" | "copies" | "for" | "urgent" => &mut quilt,
                    "block" | "count" => &mut line,
                    _ => &mut roles,
                };
                let field = if word == "quilt" { "name" } else { word };
                cells.push((field.to_owned(), place));
                if !text.is_empty() {
                    let _ = into.insert(field.to_owned(), self.value(field, text, place));
                }
            }
            let name = quilt.get("name").and_then(Value::as_str).unwrap_or_default().to_owned();
            let first = !known.contains_key(&name);
            let at = *known.entry(name).or_insert_with(|| length(root, "quilts"));
            let path = format!("quilts[{at}]");
            if first {
                let _ = self.places.insert(path.clone(), here(0));
                let _ = quilt.insert("blocks".to_owned(), json!([]));
                push(root, "quilts", Value::Object(quilt));
            }
            let blocks = root.get_mut("quilts").and_then(|list| list.get_mut(at)?.get_mut("blocks"));
            let Some(Value::Array(blocks)) = blocks else { continue };
            let inner = format!("{path}.blocks[{}]", blocks.len());
            let _ = self.places.insert(inner.clone(), here(0));
            for (field, place) in cells {
                let whole = match field.as_str() {
                    "name" | "copies" | "for" | "urgent" if first => format!("{path}.{field}"),
                    "name" | "copies" | "for" | "urgent" => continue,
                    "block" | "count" => format!("{inner}.{field}"),
                    role => format!("{inner}.fabrics.{role}"),
                };
                let _ = self.places.insert(whole, place);
            }
            let _ = line.insert("fabrics".to_owned(), Value::Object(roles));
            blocks.push(Value::Object(line));
        }
    }

    fn demand(&mut self, table: &Table<'_>, root: &mut Map<String, Value>) {
        for row in &table.rows {
            let path = format!("loose_patches[{}]", length(root, "loose_patches"));
            let _ = self.places.insert(path.clone(), Place { list: table.list, line: row.line, column: 1 });
            let mut wanted = Map::new();
            for (cell, (field, text)) in table.header.iter().zip(&row.cells).enumerate() {
                let place = Place { list: table.list, line: row.line, column: row.column(cell) };
                let _ = self.places.insert(format!("{path}.{field}"), place);
                if !text.is_empty() {
                    let _ = wanted.insert(field.clone(), self.value(field, text, place));
                }
            }
            push(root, "loose_patches", Value::Object(wanted));
        }
    }
}

fn length(object: &Map<String, Value>, list: &str) -> usize {
    object.get(list).and_then(Value::as_array).map_or(0, Vec::len)
}

fn push(object: &mut Map<String, Value>, list: &str, value: Value) {
    let entry = object.entry(list).or_insert_with(|| json!([]));
    // What is no list is refused by the scenario's reader.
    if let Value::Array(entries) = entry {
        entries.push(value);
    }
}

/// The cells of a line, trimmed; a doubled quote inside quotes is one.
fn cells(line: &str, separator: char) -> Vec<String> {
    let mut cells = vec![String::new()];
    let mut quoted = false;
    let mut letters = line.trim_end().chars().peekable();
    while let Some(letter) = letters.next() {
        let Some(cell) = cells.last_mut() else { break };
        match letter {
            '"' if quoted && letters.peek() == Some(&'"') => {
                let _ = letters.next();
                cell.push('"');
            }
            '"' => quoted = !quoted,
            other if other == separator && !quoted => cells.push(String::new()),
            other => cell.push(other),
        }
    }
    cells.into_iter().map(|cell| cell.trim().to_owned()).collect()
}
