//! The file's text as a tree that remembers where everything stands.
//!
//! `serde_json` decides what is JSON (it is strict, and its nesting limit turns deep files into a message); a
//! second parser that keeps byte ranges then gives every value its line and column.

use jsonc_parser::ast;

use crate::path::{Path, Step};

/// A parsed file.
pub(crate) struct Tree<'t> {
    text: &'t str,
    root: Node,
    line_starts: Vec<usize>,
}

/// A value and where it stands, in bytes.
pub(crate) struct Node {
    pub(crate) start: usize,
    pub(crate) end: usize,
    pub(crate) kind: Kind,
}

/// What a value is.
pub(crate) enum Kind {
    /// `null`.
    Null,
    /// `true` or `false`.
    Flag(bool),
    /// A number; what counts is how it is written, see [`Tree::written`].
    Number,
    /// A text.
    Text(String),
    /// A list.
    List(Vec<Node>),
    /// An object; fields in the order of the file, later duplicates left out.
    Object(Vec<Field>),
}

/// A field of an object.
pub(crate) struct Field {
    pub(crate) name: String,
    pub(crate) name_at: usize,
    pub(crate) value: Node,
}

/// Why a text is not JSON.
pub(crate) struct SyntaxError {
    pub(crate) line: usize,
    pub(crate) column: usize,
    pub(crate) problem: String,
}

/// A name that stands twice in one object.
pub(crate) struct Duplicate {
    pub(crate) path: Path,
    pub(crate) at: usize,
}

impl<'t> Tree<'t> {
    /// Parses a text and lists the names that stand twice in one object.
    pub(crate) fn parse(text: &'t str) -> Result<(Self, Vec<Duplicate>), SyntaxError> {
        // Parsed for its verdict only.
        serde_json::from_str::<serde_json::Value>(text).map_err(|error| syntax(&error))?;
        let line_starts = line_starts(text);
        let parsed = jsonc_parser::parse_to_ast(text, &Default::default(), &strict()).map_err(|error| {
            SyntaxError {
                line: error.line_display(),
                column: error.column_display(),
                problem: error.kind().to_string(),
            }
        })?;
        let mut duplicates = Vec::new();
        let root = match parsed.value {
            Some(value) => node(value, &Path::root(), &mut duplicates),
            None => Node { start: 0, end: 0, kind: Kind::Null },
        };
        Ok((Self { text, root, line_starts }, duplicates))
    }

    /// The value that is the whole file.
    pub(crate) fn root(&self) -> &Node {
        &self.root
    }

    /// The value at a place, or the nearest one around it, and whether it is the place itself.
    pub(crate) fn find(&self, path: &Path) -> (&Node, bool) {
        let mut here = &self.root;
        for step in path.steps() {
            let next = match (step, &here.kind) {
                (Step::Field(name), Kind::Object(fields)) => {
                    fields.iter().find(|field| field.name == *name).map(|field| &field.value)
                }
                (Step::Element(index), Kind::List(nodes)) => nodes.get(*index),
                _ => None,
            };
            match next {
                Some(node) => here = node,
                None => return (here, false),
            }
        }
        (here, true)
    }

    /// Line and column of a byte, both from 1; columns count characters.
    pub(crate) fn line_and_column(&self, at: usize) -> (usize, usize) {
        let line = self.line_starts.partition_point(|start| *start <= at);
        let start = self.line_starts.get(line.saturating_sub(1)).copied().unwrap_or(0);
        let column = self.text.get(start..at).map_or(at - start, |before| before.chars().count());
        (line, column + 1)
    }

    /// How a value is written in the file.
    pub(crate) fn written(&self, node: &Node) -> &'t str {
        self.text.get(node.start..node.end).unwrap_or_default()
    }
}

/// Line and column in a JSON text, both from 1, of the place that a path names, as it stands in a problem
/// (`fabrics[2].price`); or of the nearest place around it. None if the text is not JSON.
#[must_use]
pub fn place_of(text: &str, path: &str) -> Option<(usize, usize)> {
    let (tree, _) = Tree::parse(text).ok()?;
    let mut found = (0, tree.root.start);
    let mut open = vec![(Path::root(), &tree.root)];
    while let Some((here, node)) = open.pop() {
        let name = here.to_string();
        let around = path.strip_prefix(&name).filter(|rest| {
            name.is_empty() || rest.is_empty() || rest.starts_with('.') || rest.starts_with('[')
        });
        if around.is_none() {
            continue;
        }
        found = found.max((name.len(), node.start));
        match &node.kind {
            Kind::List(nodes) => {
                open.extend(nodes.iter().enumerate().map(|(at, node)| (here.element(at), node)));
            }
            Kind::Object(fields) => {
                open.extend(fields.iter().map(|field| (here.field(&field.name), &field.value)));
            }
            Kind::Null | Kind::Flag(_) | Kind::Number | Kind::Text(_) => {}
        }
    }
    Some(tree.line_and_column(found.1))
}

fn syntax(error: &serde_json::Error) -> SyntaxError {
    let text = error.to_string();
    let problem = text.split(" at line ").next().unwrap_or_default().to_owned();
    SyntaxError { line: error.line(), column: error.column().max(1), problem }
}

fn strict() -> jsonc_parser::ParseOptions {
    jsonc_parser::ParseOptions {
        allow_comments: false,
        allow_loose_object_property_names: false,
        allow_trailing_commas: false,
        allow_missing_commas: false,
        allow_single_quoted_strings: false,
        allow_hexadecimal_numbers: false,
        allow_unary_plus_numbers: false,
        allow_bare_decimal_point_numbers: false,
        allow_non_finite_numbers: false,
        allow_extended_string_escapes: false,
    }
}

fn line_starts(text: &str) -> Vec<usize> {
    std::iter::once(0).chain(text.match_indices('\n').map(|(at, _)| at + 1)).collect()
}

fn node(value: ast::Value<'_>, path: &Path, duplicates: &mut Vec<Duplicate>) -> Node {
    let range = jsonc_parser::common::Ranged::range(&value);
    let kind = match value {
        ast::Value::StringLit(text) => Kind::Text(text.value.into_owned()),
        ast::Value::NumberLit(_) => Kind::Number,
        ast::Value::BooleanLit(flag) => Kind::Flag(flag.value),
        ast::Value::NullKeyword(_) => Kind::Null,
        ast::Value::Array(array) => {
            let elements = array.elements.into_iter().enumerate();
            Kind::List(elements.map(|(at, value)| node(value, &path.element(at), duplicates)).collect())
        }
        ast::Value::Object(object) => Kind::Object(fields(object, path, duplicates)),
    };
    Node { start: range.start, end: range.end, kind }
}

fn fields(object: ast::Object<'_>, path: &Path, duplicates: &mut Vec<Duplicate>) -> Vec<Field> {
    let mut seen = std::collections::BTreeSet::new();
    let mut fields = Vec::new();
    for property in object.properties {
        let name_at = property.range.start;
        let name = property.name.into_string();
        let here = path.field(&name);
        if seen.insert(name.clone()) {
            fields.push(Field { name, name_at, value: node(property.value, &here, duplicates) });
        } else {
            duplicates.push(Duplicate { path: here, at: name_at });
        }
    }
    fields
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_and_columns_count_from_one() {
        let (tree, duplicates) = Tree::parse("{\n  \"é\": 1,\n  \"b\": [2, 3]\n}").ok().unwrap();
        assert!(duplicates.is_empty());
        let (node, found) = tree.find(&Path::of("b").element(1));
        assert!(found);
        assert_eq!(tree.line_and_column(node.start), (3, 12));
        assert_eq!(tree.written(node), "3");
        let (node, _) = tree.find(&Path::of("é"));
        assert_eq!(tree.line_and_column(node.start), (2, 8));
    }

    #[test]
    fn a_place_is_found_by_the_path_of_a_problem() {
        let text = "{\n \"a\": [\n  {\"b\": 1},\n  {\"b\": 2, \"bc\": 3}\n ]\n}";
        let of = |path: &str| place_of(text, path).unwrap();
        assert_eq!(of("a[1].b"), (4, 9));
        assert_eq!(of("a[1].bc"), (4, 18));
        // What is not there is looked for where it ought to be.
        assert_eq!(of("a[0].missing"), (3, 3));
        assert_eq!((of(""), of("b")), ((1, 1), (1, 1)));
        assert_eq!(place_of("{", ""), None);
    }
}
