//! Takes the fields of one object one by one, with a problem for everything that is not as it should be, and at
//! the end names the fields that nobody asked for.

use crate::path::Path;
use crate::problem::Code;
use crate::read::choice::Choice;
use crate::report::Report;
use crate::spec::{DecimalText, LengthText};
use crate::tree::{self, Kind, Node};
use crate::words::{listed, nearest};

/// What happens if a field is not there.
#[derive(Clone, Copy)]
pub(crate) enum Need {
    /// It may be left out.
    Optional,
    /// It is needed; the text says what to write.
    Needed(&'static str),
    /// It has no silent default; the text says what people usually choose and why.
    Stated(&'static str),
}

/// The fields of one object.
pub(crate) struct Fields<'r, 't, 'n> {
    pub(crate) report: &'r mut Report<'t>,
    members: Option<&'n [tree::Field]>,
    path: Path,
    known: Vec<&'static str>,
}

impl<'r, 't, 'n> Fields<'r, 't, 'n> {
    /// Opens an object; `what` names it in messages ("a fabric").
    pub(crate) fn open(report: &'r mut Report<'t>, node: &'n Node, path: &Path, what: &str) -> Self {
        let members = match &node.kind {
            Kind::Object(members) => Some(members.as_slice()),
            other => wrong_kind(report, path, &format!("{what} is an object in braces"), other),
        };
        Self { report, members, path: path.clone(), known: Vec::new() }
    }

    /// The place of a field.
    pub(crate) fn at(&self, name: &str) -> Path {
        self.path.field(name)
    }

    /// The value of a field; `null` counts as left out.
    pub(crate) fn get(&mut self, name: &'static str, need: Need) -> Option<&'n Node> {
        self.known.push(name);
        let members = self.members?;
        let found = members.iter().find(|member| member.name == name).map(|member| &member.value);
        let found = found.filter(|node| !matches!(node.kind, Kind::Null));
        if found.is_none() {
            self.missing(name, need);
        }
        found
    }

    fn missing(&mut self, name: &str, need: Need) {
        let (code, problem, hint) = match need {
            Need::Optional => return,
            Need::Needed(hint) => (Code::MissingField, format!("`{name}` is missing"), hint),
            Need::Stated(hint) => (Code::MustBeStated, format!("`{name}` must be stated"), hint),
        };
        let path = self.at(name);
        self.report.add(code, &path, problem, hint);
        self.report.cannot_read(&path);
    }

    /// Names the fields that nobody asked for.
    pub(crate) fn finish(self) {
        let Self { report, members, path, known } = self;
        for member in members.unwrap_or_default() {
            if known.contains(&member.name.as_str()) {
                continue;
            }
            if report.is_full() {
                // Looking for the nearest name takes its time; these are only counted.
                report.count_unlisted();
                continue;
            }
            let hint = match nearest(&member.name, known.iter().copied()) {
                Some(near) => format!("did you mean `{near}`?"),
                None => format!("remove it; known here are {}", listed(&known)),
            };
            let shown = crate::path::shortened(&member.name, 40);
            let value = report.value(&member.value);
            let here = path.field(&member.name);
            report.add_at(
                Code::UnknownField,
                &here,
                member.name_at,
                &value,
                format!("the field `{shown}` is not known"),
                hint,
            );
        }
    }

    fn read<T>(
        &mut self,
        name: &'static str,
        need: Need,
        reader: impl FnOnce(&mut Report<'t>, &'n Node, &Path) -> Option<T>,
    ) -> Option<T> {
        let node = self.get(name, need)?;
        let path = self.at(name);
        let value = reader(self.report, node, &path);
        if value.is_none() {
            self.report.cannot_read(&path);
        }
        value
    }

    /// A text.
    pub(crate) fn text(&mut self, name: &'static str, need: Need) -> Option<String> {
        self.read(name, need, text)
    }

    /// A whole number of at least zero.
    pub(crate) fn count(&mut self, name: &'static str, need: Need) -> Option<u32> {
        self.read(name, need, count)
    }

    /// `true` or `false`.
    pub(crate) fn flag(&mut self, name: &'static str) -> Option<bool> {
        self.read(name, Need::Optional, |report, node, path| match &node.kind {
            Kind::Flag(flag) => Some(*flag),
            other => wrong_kind(report, path, "this is true or false, without quotes", other),
        })
    }

    /// A length, not yet judged.
    pub(crate) fn length(&mut self, name: &'static str, need: Need) -> Option<LengthText> {
        self.read(name, need, length)
    }

    /// A pair of lengths.
    pub(crate) fn pair(&mut self, name: &'static str, need: Need) -> Option<[LengthText; 2]> {
        self.read(name, need, pair)
    }

    /// An amount, percentage or angle, not yet judged.
    pub(crate) fn decimal(&mut self, name: &'static str, need: Need) -> Option<DecimalText> {
        self.read(name, need, decimal)
    }

    /// One of a few words.
    pub(crate) fn choice<T: Choice>(&mut self, name: &'static str, need: Need) -> Option<T> {
        self.read(name, need, choice)
    }

    /// An object.
    pub(crate) fn object<T>(
        &mut self,
        name: &'static str,
        need: Need,
        reader: impl FnOnce(&mut Report<'t>, &'n Node, &Path) -> T,
    ) -> Option<T> {
        self.read(name, need, |report, node, path| Some(reader(report, node, path)))
    }

    /// A list of at most `most` elements. One that is needed must not be empty.
    pub(crate) fn list<T>(
        &mut self,
        name: &'static str,
        need: Need,
        most: usize,
        mut reader: impl FnMut(&mut Report<'t>, &'n Node, &Path) -> T,
    ) -> Vec<T> {
        let list = self.read(name, need, |report, node, path| {
            let nodes = elements(report, node, path, need, most)?;
            let read = nodes.iter().enumerate().map(|(at, node)| reader(report, node, &path.element(at)));
            Some(read.collect())
        });
        list.unwrap_or_default()
    }
}

fn elements<'n>(
    report: &mut Report<'_>,
    node: &'n Node,
    path: &Path,
    need: Need,
    most: usize,
) -> Option<&'n [Node]> {
    let Kind::List(nodes) = &node.kind else {
        return wrong_kind(report, path, "this is a list in square brackets", &node.kind);
    };
    if nodes.is_empty()
        && let Need::Needed(hint) | Need::Stated(hint) = need
    {
        report.add(Code::EmptyList, path, "this list is empty", hint);
        return None;
    }
    if nodes.len() > most {
        let problem = format!("{} entries are more than this program takes", nodes.len());
        report.add(Code::TooMany, path, problem, format!("give at most {most}"));
        return None;
    }
    Some(nodes)
}

/// A value of the wrong kind; always `None`.
fn wrong_kind<T>(report: &mut Report<'_>, path: &Path, wanted: &str, found: &Kind) -> Option<T> {
    let found = match found {
        Kind::Null => "nothing (null)",
        Kind::Flag(_) => "true or false",
        Kind::Number => "a number",
        Kind::Text(_) => "a text",
        Kind::List(_) => "a list",
        Kind::Object(_) => "an object",
    };
    report.add(Code::WrongType, path, format!("{found} stands here"), wanted);
    report.cannot_read(path);
    None
}

/// A text.
pub(crate) fn text(report: &mut Report<'_>, node: &Node, path: &Path) -> Option<String> {
    match &node.kind {
        Kind::Text(text) => Some(text.clone()),
        other => wrong_kind(report, path, "this is a text in double quotes", other),
    }
}

fn count(report: &mut Report<'_>, node: &Node, path: &Path) -> Option<u32> {
    if !matches!(node.kind, Kind::Number) {
        return wrong_kind(report, path, "this is a whole number, without quotes", &node.kind);
    }
    let number = report.written(node).parse().ok();
    if number.is_none() {
        let problem = "this is not a whole number that can be counted";
        report.add(
            Code::NumberOutOfRange,
            path,
            problem,
            "give a whole number from 0 up, without a decimal point",
        );
    }
    number
}

/// A length, not yet judged.
pub(crate) fn length(report: &mut Report<'_>, node: &Node, path: &Path) -> Option<LengthText> {
    match &node.kind {
        Kind::Text(text) => Some(LengthText::Text(text.clone())),
        Kind::Number => exact_number(report, node, path, Code::BadLength).map(LengthText::Number),
        other => wrong_kind(report, path, "a length is a text such as \"4 1/2\" or a plain number", other),
    }
}

fn pair(report: &mut Report<'_>, node: &Node, path: &Path) -> Option<[LengthText; 2]> {
    match &node.kind {
        Kind::List(nodes) => match nodes.as_slice() {
            [first, second] => {
                // Both are read before either may fail, so that both problems are named.
                let first = length(report, first, &path.element(0));
                let second = length(report, second, &path.element(1));
                Some([first?, second?])
            }
            other => {
                let problem = format!("{} values stand here", other.len());
                report.add(Code::WrongType, path, problem, "give two lengths, [across, along]");
                None
            }
        },
        other => wrong_kind(report, path, "this is a list of two lengths, [across, along]", other),
    }
}

/// One corner of a polygon; a stand-in where it cannot be read.
pub(crate) fn corner(report: &mut Report<'_>, node: &Node, path: &Path) -> [LengthText; 2] {
    pair(report, node, path).unwrap_or_else(|| {
        report.cannot_read(path);
        [LengthText::Text(String::new()), LengthText::Text(String::new())]
    })
}

/// An amount, percentage or angle, not yet judged.
pub(crate) fn decimal(report: &mut Report<'_>, node: &Node, path: &Path) -> Option<DecimalText> {
    match &node.kind {
        Kind::Text(text) => Some(DecimalText::Text(text.clone())),
        Kind::Number => exact_number(report, node, path, Code::BadNumber).map(DecimalText::Number),
        other => wrong_kind(report, path, "this is a number such as 12.95", other),
    }
}

/// A JSON number that means exactly what is written: plain digits, and few enough of them.
fn exact_number(report: &mut Report<'_>, node: &Node, path: &Path, code: Code) -> Option<serde_json::Number> {
    let written = report.written(node);
    let digits = written.bytes().filter(u8::is_ascii_digit).count();
    let plain = written.bytes().all(|byte| byte.is_ascii_digit() || matches!(byte, b'.' | b'-'));
    if plain && digits <= 15 {
        return written.parse().ok();
    }
    report.add(
        code,
        path,
        "this number is not written plainly",
        "write plain digits, at most 15, without an exponent",
    );
    None
}

/// One of a few words.
pub(crate) fn choice<T: Choice>(report: &mut Report<'_>, node: &Node, path: &Path) -> Option<T> {
    let Kind::Text(word) = &node.kind else {
        let wanted = format!("this is one of {}", listed(&T::words()));
        return wrong_kind(report, path, &wanted, &node.kind);
    };
    let found = T::WORDS.iter().find(|(known, _)| known == word).map(|(_, value)| *value);
    if found.is_none() {
        let words = T::words();
        let near = nearest(word, words.iter().copied());
        let near =
            near.map_or(String::from("known are"), |near| format!("did you mean \"{near}\"? Known are"));
        let problem = format!("\"{}\" is not known here", crate::path::shortened(word, 40));
        report.add(Code::UnknownValue, path, problem, format!("{near} {}", listed(&words)));
    }
    found
}
