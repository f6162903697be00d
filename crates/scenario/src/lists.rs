//! Lists that people keep as tables: fabrics as measured at check-in, quilts, and loose demand, each a CSV file with a
//! header in plain words. They are merged into the text of a scenario, which is then read like any other; what is wrong
//! with a cell is told with the line and column of its file. A fabric that the scenario has already gets what its row
//! states; all else of it stays.

use std::collections::BTreeMap;

use serde_json::{Map, Value, json};

use crate::path::shortened;
use crate::problem::{Code, Problem};
use crate::words::{listed, nearest};

/// What a list holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum ListKind {
    /// One fabric a row, new or one that the scenario has.
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

/// Fields whose numbers may stand with a comma before the decimals where semicolons part the cells.
const WITH_COMMA: [&str; 4] = ["usable_width", "price", "shrinkage_percent", "selling_step"];

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
/// Prints: as people say it, and as the scenario writes it.
const PRINTS: [(&str, &str); 4] =
    [("plain", "none"), ("one way", "one_way"), ("caution", "caution"), ("scattered", "none")];
/// When a width was measured.
const WASHED: [(&str, &str); 2] = [("before washing", "before_washing"), ("after washing", "after_washing")];
/// Travel rules.
const TRAVELS: [(&str, &str); 3] = [
    ("strip along travel", "strip_along_travel"),
    ("strip across travel", "strip_across_travel"),
    ("either", "either"),
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
            // A fabric that the scenario has needs no more; what a new one lacks is told with its row.
            ListKind::Fabrics => &[&["name", "fabric"]],
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
        let (mut rows, mut any, mut open) = (Vec::new(), false, false);
        for (line, raw) in lines {
            any = true;
            let quotes = raw.matches('"').count() % 2 == 1;
            if open || quotes {
                // Up to where it closes again nothing is known of the cells.
                if !open {
                    self.unclosed(Place { list, line, column: opened(raw) });
                }
                open ^= quotes;
                continue;
            }
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
        if !any {
            let problem = "the list has a header and no rows".to_owned();
            let hint = "write a row for each, or leave the list away".to_owned();
            self.wrong(Place { list, line: first, column: 1 }, Code::BadList, "", problem, hint);
        }
        (self.problems.len() == before).then_some(Table { list, header, rows })
    }

    fn unclosed(&mut self, place: Place) {
        let problem = "a double quote opens here, and none closes it in this line".to_owned();
        let hint = "close it in the same line, a cell holds no line break; write a quote inside a quoted cell twice, and in \
                    for inches"
            .to_owned();
        self.wrong(place, Code::BadList, "", problem, hint);
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

    /// The value of a cell under a field's rules: counts, choices and yes or no are read here, all else by the scenario's
    /// reader.
    fn value(&mut self, field: &str, text: &str, separator: char, place: Place) -> Value {
        match field {
            _ if WITH_COMMA.contains(&field) && separator == ';' => json!(with_point(text)),
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
            "print" => self.choice(&PRINTS, text, place),
            "width_measured" => self.choice(&WASHED, text, place),
            "travel_rule" => self.choice(&TRAVELS, text, place),
            _ => json!(text),
        }
    }

    /// One of a few words: as people say it, or as the scenario writes it.
    fn choice(&mut self, choices: &[(&str, &str)], text: &str, place: Place) -> Value {
        let plain = text.to_lowercase().replace(['_', '-'], " ");
        if let Some((_, written)) =
            choices.iter().find(|(said, written)| *said == plain || written.replace('_', " ") == plain)
        {
            return json!(written);
        }
        let said: Vec<&str> = choices.iter().map(|(said, _)| *said).collect();
        let mut hint = match nearest(&plain, said.iter().copied()) {
            Some(near) => format!("did you mean \"{near}\"? known here are {}", listed(&said)),
            None => format!("write one of {}", listed(&said)),
        };
        if *choices == WASHED {
            hint.push_str("; or the usable width as it was measured, such as 42 3/4");
        }
        let problem = format!("\"{}\" is not known here", shortened(text, 60));
        self.wrong(place, Code::UnknownValue, text, problem, hint);
        Value::Null
    }

    fn fabrics(&mut self, table: &Table<'_>, root: &mut Map<String, Value>) {
        let mut listed_in: BTreeMap<String, usize> = BTreeMap::new();
        let mut brought = Vec::new();
        for row in &table.rows {
            let here = Place { list: table.list, line: row.line, column: 1 };
            let (mut fabric, mut from, mut cells) = (Map::new(), Map::new(), BTreeMap::new());
            for (cell, (word, text)) in table.header.iter().zip(&row.cells).enumerate() {
                let place = Place { column: row.column(cell), ..here };
                let field = FABRIC.iter().find(|(known, _)| known == word).map_or("", |(_, field)| field);
                // A plain measurement under "width measured" is the usable width as it was measured.
                let measured =
                    field == "width_measured" && text.starts_with(|first: char| first.is_ascii_digit());
                let field = if measured { "usable_width" } else { field };
                if text.is_empty() {
                    let _ = cells.entry(field).or_insert((place, false));
                    continue;
                }
                let value = match field {
                    "brought by" | "leftovers to" => json!(text),
                    _ => self.value(field, text, row.separator, place),
                };
                let into = match field {
                    "brought by" | "leftovers to" => &mut from,
                    _ => &mut fabric,
                };
                let name = if field == "brought by" { "by".to_owned() } else { field.replace(' ', "_") };
                if into.get(&name).is_some_and(|known| *known != value) {
                    let problem =
                        format!("this row gives {} twice, and not the same", field.replace('_', " "));
                    self.wrong(place, Code::BadList, text, problem, "keep the one that is right".to_owned());
                }
                let _ = into.insert(name, value);
                let _ = cells.insert(field, (place, true));
            }
            let name = fabric.get("name").and_then(Value::as_str).unwrap_or_default().to_owned();
            let name_at = cells.get("name").map_or(here, |(place, _)| *place);
            if let Some(line) = listed_in.insert(name.clone(), row.line).filter(|_| !name.is_empty()) {
                let problem = format!("this fabric stands in the list already, in line {line}");
                let hint = "keep one row for each fabric; give cloth of two widths two names".to_owned();
                self.wrong(name_at, Code::DuplicateName, &name, problem, hint);
                continue;
            }
            let named = |known: &Value| known.get("name").and_then(Value::as_str) == Some(name.as_str());
            let known =
                root.get("fabrics").and_then(Value::as_array).and_then(|all| all.iter().position(named));
            let path = format!("fabrics[{}]", known.unwrap_or_else(|| length(root, "fabrics")));
            if known.is_none() {
                let _ = self.places.insert(path.clone(), here);
            }
            for (field, (place, stated)) in cells {
                // What a row leaves open of a known fabric stands in the scenario.
                if stated || known.is_none() {
                    let _ = self.places.insert(format!("{path}.{field}"), place);
                }
            }
            if !from.is_empty() {
                let _ = from.insert("fabric".to_owned(), json!(name));
                brought.push((from, here));
            }
            let entry = known.and_then(|at| root.get_mut("fabrics")?.get_mut(at)?.as_object_mut());
            match entry {
                Some(entry) => entry.extend(fabric),
                None => push(root, "fabrics", Value::Object(fabric)),
            }
        }
        for (from, place) in brought {
            let Some(Value::Object(group)) = root.get_mut("group") else {
                let problem = "the scenario has no group, so nobody brings cloth".to_owned();
                let hint = "add \"group\" to the scenario, or leave the column out".to_owned();
                self.wrong(place, Code::BadList, "", problem, hint);
                return;
            };
            let same = |known: &Value| known.get("fabric") == from.get("fabric");
            let known =
                group.get("brought").and_then(Value::as_array).and_then(|all| all.iter().position(same));
            let path = format!("group.brought[{}]", known.unwrap_or_else(|| length(group, "brought")));
            for field in from.keys() {
                let _ = self.places.insert(format!("{path}.{field}"), place);
            }
            let entry = known.and_then(|at| group.get_mut("brought")?.get_mut(at)?.as_object_mut());
            match entry {
                Some(entry) => entry.extend(from),
                None => {
                    let _ = self.places.insert(path, place);
                    push(group, "brought", Value::Object(from));
                }
            }
        }
    }

    /// What a further row of a quilt says about the quilt itself: nothing new, or what no row has said yet.
    fn again(
        &mut self,
        quilt: &mut Map<String, Value>,
        path: &str,
        row: Map<String, Value>,
        cells: &[(String, Place)],
    ) {
        for (field, value) in row {
            let Some((_, place)) = cells.iter().find(|(name, _)| *name == field) else { continue };
            match quilt.get(&field) {
                Some(known) if *known == value || value.is_null() => {}
                Some(known) => {
                    let shown = |value: &Value| match value {
                        Value::Bool(yes) => String::from(if *yes { "yes" } else { "no" }),
                        Value::String(text) => text.clone(),
                        other => other.to_string(),
                    };
                    let (was, now) = (shown(known), shown(&value));
                    let problem =
                        format!("an earlier row of this quilt says {field}: {was}, and this one {now}");
                    let hint =
                        "say it once, or the same in every row of the quilt; two quilts need two names";
                    self.wrong(*place, Code::BadList, &now, problem, hint.to_owned());
                }
                None => {
                    let _ = self.places.insert(format!("{path}.{field}"), *place);
                    let _ = quilt.insert(field, value);
                }
            }
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
                    let _ = into.insert(field.to_owned(), self.value(field, text, row.separator, place));
                }
            }
            let name = quilt.get("name").and_then(Value::as_str).unwrap_or_default().to_owned();
            let first = !known.contains_key(&name);
            let at = *known.entry(name).or_insert_with(|| length(root, "quilts"));
            let path = format!("quilts[{at}]");
            if first {
                let _ = self.places.insert(path.clone(), here(0));
                let _ = quilt.insert("blocks".to_owned(), json!([]));
                push(root, "quilts", Value::Object(std::mem::take(&mut quilt)));
            }
            let entry = root.get_mut("quilts").and_then(|list| list.get_mut(at)?.as_object_mut());
            let Some(entry) = entry else { continue };
            self.again(entry, &path, quilt, &cells);
            let Some(Value::Array(blocks)) = entry.get_mut("blocks") else { continue };
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
                    let _ = wanted.insert(field.clone(), self.value(field, text, row.separator, place));
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

/// Column in characters at which the quote stands that nothing closes.
fn opened(line: &str) -> usize {
    line.chars().enumerate().filter(|(_, letter)| *letter == '"').last().map_or(1, |(at, _)| at + 1)
}

/// A number with a point where a comma stood before one or two decimals, as much of the world writes them; `1,000` may be
/// either, so it stays and is refused.
fn with_point(text: &str) -> String {
    let read = || {
        let (before, after) = text.split_once(',')?;
        let decimals = after.bytes().take_while(u8::is_ascii_digit).count();
        let fits = before.ends_with(|last: char| last.is_ascii_digit())
            && (1..=2).contains(&decimals)
            && !after[decimals..].contains(',');
        fits.then(|| format!("{before}.{after}"))
    };
    read().unwrap_or_else(|| text.to_owned())
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
