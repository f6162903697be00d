//! Collects problems while a file is read and judged, and remembers which places could not be read, so that
//! nothing is judged by a stand-in.

use std::collections::BTreeSet;

use crate::path::{Path, shortened};
use crate::problem::{Code, Problem};
use crate::tree::{Node, Tree};

/// Most problems that are listed one by one.
const MOST_LISTED: usize = 1_000;
/// Most characters of a value that a message repeats.
const MOST_VALUE: usize = 60;

/// Everything found wrong so far.
pub(crate) struct Report<'t> {
    tree: &'t Tree<'t>,
    problems: Vec<Problem>,
    unreadable: BTreeSet<Path>,
    unlisted: usize,
}

impl<'t> Report<'t> {
    /// Nothing wrong yet.
    pub(crate) fn new(tree: &'t Tree<'t>) -> Self {
        Self { tree, problems: Vec::new(), unreadable: BTreeSet::new(), unlisted: 0 }
    }

    /// Adds a problem with the value at `path`, or with the nearest one around it if there is none.
    pub(crate) fn add(
        &mut self,
        code: Code,
        path: &Path,
        problem: impl Into<String>,
        hint: impl Into<String>,
    ) {
        let (node, found) = self.tree.find(path);
        let value = if found { self.value(node) } else { String::new() };
        let start = node.start;
        self.push(code, path, start, value, problem.into(), hint.into());
    }

    /// Adds a problem whose place is known in bytes.
    pub(crate) fn add_at(
        &mut self,
        code: Code,
        path: &Path,
        at: usize,
        value: &str,
        problem: String,
        hint: String,
    ) {
        self.push(code, path, at, shortened(value, MOST_VALUE), problem, hint);
    }

    fn push(&mut self, code: Code, path: &Path, at: usize, value: String, problem: String, hint: String) {
        if self.is_full() {
            self.count_unlisted();
            return;
        }
        let (line, column) = self.tree.line_and_column(at);
        let path = path.to_string();
        self.problems.push(Problem {
            code,
            path,
            line: Some(line),
            column: Some(column),
            value,
            problem,
            hint,
        });
    }

    /// How a value is written.
    pub(crate) fn written(&self, node: &Node) -> &'t str {
        self.tree.written(node)
    }

    /// How a value is written, shortened.
    pub(crate) fn value(&self, node: &Node) -> String {
        shortened(self.tree.written(node), MOST_VALUE)
    }

    /// Notes that a place holds nothing that can be judged.
    pub(crate) fn cannot_read(&mut self, path: &Path) {
        self.unreadable.insert(path.clone());
    }

    /// Whether the value at a place, and everything around it, could be read.
    pub(crate) fn readable(&self, path: &Path) -> bool {
        if self.unreadable.is_empty() {
            return true;
        }
        let mut here = Some(path.clone());
        while let Some(place) = here {
            if self.unreadable.contains(&place) {
                return false;
            }
            here = place.parent();
        }
        true
    }

    /// Whether every element of a list could be read, and its names too: only then is a name that is not in the
    /// list wrong for certain.
    pub(crate) fn names_readable(&self, list: &Path, count: usize) -> bool {
        self.readable(list) && (0..count).all(|at| self.readable(&list.element(at).field("name")))
    }

    /// Whether no more problems are listed.
    pub(crate) fn is_full(&self) -> bool {
        self.problems.len() >= MOST_LISTED
    }

    /// Counts a problem that is not listed.
    pub(crate) fn count_unlisted(&mut self) {
        self.unlisted += 1;
    }

    /// Whether nothing is wrong so far.
    pub(crate) fn is_clean(&self) -> bool {
        self.problems.is_empty()
    }

    /// All problems in the order of the file.
    pub(crate) fn finish(mut self) -> Vec<Problem> {
        self.problems.sort_by(|a, b| {
            (a.line, a.column, a.code, &a.path, &a.problem)
                .cmp(&(b.line, b.column, b.code, &b.path, &b.problem))
        });
        if self.unlisted > 0 {
            self.problems.push(Problem {
                code: Code::MoreProblems,
                path: String::new(),
                line: None,
                column: None,
                value: String::new(),
                problem: format!("{} more problems are not listed", self.unlisted),
                hint: "mend the ones above first, then read the file again".to_owned(),
            });
        }
        self.problems
    }
}
