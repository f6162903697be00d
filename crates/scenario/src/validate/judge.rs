//! What every part of validation needs: lengths and numbers within their ranges, names, references, and the
//! list of what was assumed.

use std::collections::BTreeMap;

use patchlay_measure::{Length, UnitSystem, parse_length};

use crate::path::{Path, shortened};
use crate::problem::Code;
use crate::report::Report;
use crate::spec::LengthText;
use crate::words::nearest;

/// Most characters of a name.
const MOST_NAME: usize = 80;

/// The lowest and highest length that a field takes.
#[derive(Clone, Copy)]
pub(crate) struct Range {
    low: Length,
    high: Length,
}

impl Range {
    /// Sizes of boards, mats, cloth and shapes: above zero, at most 400 in.
    pub(crate) const SIZE: Self = Self { low: Length::UNIT, high: Length::from_inches(400) };
    /// Places on a board, gaps: zero or more, at most 400 in.
    pub(crate) const PLACE: Self = Self { low: Length::ZERO, high: Length::from_inches(400) };
    /// Margins, seams, folds: zero or more, at most 4 in.
    pub(crate) const SMALL: Self = Self { low: Length::ZERO, high: Length::from_inches(4) };
    /// The ruler step: above zero, at most 4 in.
    pub(crate) const STEP: Self = Self { low: Length::UNIT, high: Length::from_inches(4) };
    /// Squaring and reserves: zero or more, at most 36 in.
    pub(crate) const RESERVE: Self = Self { low: Length::ZERO, high: Length::from_inches(36) };
    /// Lengths of cloth: above zero, at most 100 m.
    pub(crate) const CLOTH: Self = Self { low: Length::UNIT, high: Length::from_mm_tenths(1_000_000) };
    /// Weights in lengths of cloth: zero or more, at most 100 m.
    pub(crate) const WEIGHT: Self = Self { low: Length::ZERO, high: Self::CLOTH.high };
}

/// The state of a validation.
pub(crate) struct Judge<'r, 't> {
    pub(crate) report: &'r mut Report<'t>,
    pub(crate) units: UnitSystem,
    pub(crate) cautions: Vec<String>,
    assumed: Vec<(String, Vec<String>)>,
}

impl<'r, 't> Judge<'r, 't> {
    /// Nothing judged yet.
    pub(crate) fn new(report: &'r mut Report<'t>, units: UnitSystem) -> Self {
        Self { report, units, cautions: Vec::new(), assumed: Vec::new() }
    }

    /// A length as it is printed.
    pub(crate) fn show(&self, length: Length) -> String {
        length.show(self.units)
    }

    /// Reads a length and judges its range.
    pub(crate) fn length(&mut self, path: &Path, text: &LengthText, range: Range) -> Option<Length> {
        if !self.report.readable(path) {
            return None;
        }
        match parse_length(&text.typed(), self.units) {
            Err(error) => {
                let (problem, hint) = match with_point(&text.typed()) {
                    Some(point) => (
                        String::from("a comma stands in this number"),
                        format!("write the decimals after a point: \"{point}\""),
                    ),
                    None => (error.problem(), error.hint()),
                };
                self.report.add(Code::BadLength, path, problem, hint);
                None
            }
            Ok(length) => self.in_range(path, length, range),
        }
    }

    fn in_range(&mut self, path: &Path, length: Length, range: Range) -> Option<Length> {
        let hint = if length < range.low {
            String::from("give a length above zero")
        } else if length > range.high {
            format!("give at most {}; a bare number means {}", self.show(range.high), self.bare_unit())
        } else {
            return Some(length);
        };
        let problem =
            format!("{} is too {}", self.show(length), if length < range.low { "short" } else { "long" });
        self.report.add(Code::LengthOutOfRange, path, problem, hint);
        None
    }

    fn bare_unit(&self) -> &'static str {
        match self.units {
            UnitSystem::Inch => "inches",
            UnitSystem::Metric => "centimetres",
        }
    }

    /// A length that may be left out, without a default.
    pub(crate) fn maybe(&mut self, path: &Path, text: Option<&LengthText>, range: Range) -> Option<Length> {
        text.and_then(|text| self.length(path, text, range))
    }

    /// Both of a pair of lengths.
    pub(crate) fn pair(&mut self, path: &Path, pair: &[LengthText; 2], range: Range) -> Option<[Length; 2]> {
        let first = self.length(&path.element(0), &pair[0], range);
        let second = self.length(&path.element(1), &pair[1], range);
        Some([first?, second?])
    }

    /// A count between two bounds.
    pub(crate) fn count(&mut self, path: &Path, count: u32, low: u32, high: u32) -> Option<u32> {
        if !self.report.readable(path) {
            return None;
        }
        if (low..=high).contains(&count) {
            return Some(count);
        }
        let problem = format!("{count} is too {}", if count < low { "small" } else { "large" });
        self.report.add(
            Code::NumberOutOfRange,
            path,
            problem,
            format!("give a whole number from {low} to {high}"),
        );
        None
    }

    /// Notes that something was assumed, for one of several things or (empty) for the job.
    pub(crate) fn assume(&mut self, what: impl Into<String>, of: &str) {
        let what = what.into();
        let at = match self.assumed.iter().position(|(known, _)| *known == what) {
            Some(at) => at,
            None => {
                self.assumed.push((what, Vec::new()));
                self.assumed.len() - 1
            }
        };
        if !of.is_empty() {
            self.assumed[at].1.push(of.to_owned());
        }
    }

    /// What was assumed, in words.
    pub(crate) fn assumptions(&self, fabric_count: usize) -> Vec<String> {
        let words = |(what, of): &(String, Vec<String>)| match of.len() {
            0 => format!("{what}."),
            all if all == fabric_count && all > 1 => format!("{what}, for every fabric."),
            _ => format!("{what}, for {}.", of.join(", ")),
        };
        self.assumed.iter().map(words).collect()
    }

    /// Judges a name that stands on tags and cards.
    pub(crate) fn name(&mut self, path: &Path, name: &str) -> bool {
        if !self.report.readable(path) {
            return false;
        }
        let problem = if name.trim().is_empty() {
            "the name is empty"
        } else if name.chars().count() > MOST_NAME {
            "the name is too long"
        } else if name.chars().any(char::is_control) {
            "the name holds a line break or another control character"
        } else if name.chars().any(unseen) {
            "the name holds a character that cannot be seen and changes how the text around it is read"
        } else if name.trim() != name {
            "the name starts or ends with a space"
        } else {
            return true;
        };
        self.report.add(Code::BadName, path, problem, format!("give a name of 1 to {MOST_NAME} characters"));
        // Nothing that refers to it is to blame.
        self.report.cannot_read(path);
        false
    }

    /// Judges the names of a list and gives the index of each.
    pub(crate) fn names<'s>(
        &mut self,
        list: &Path,
        what: &'static str,
        names: impl IntoIterator<Item = &'s str>,
    ) -> Names<'s> {
        let mut known = Names { what, index: BTreeMap::new(), complete: true };
        let mut count = 0;
        for (at, name) in names.into_iter().enumerate() {
            count = at + 1;
            let path = list.element(at).field("name");
            if !self.name(&path, name) {
                continue;
            }
            if let Some(first) = known.index.get(name) {
                let problem = format!("another {what} has the same name, {}", list.element(*first));
                self.report.add(Code::DuplicateName, &path, problem, "give each its own name");
            } else {
                known.index.insert(name, at);
            }
        }
        known.complete = self.report.names_readable(list, count);
        known
    }

    /// The index of each name of a list that is judged elsewhere.
    pub(crate) fn quiet_names<'s>(
        &self,
        what: &'static str,
        names: impl IntoIterator<Item = &'s str>,
    ) -> Names<'s> {
        let mut known = Names { what, index: BTreeMap::new(), complete: true };
        for (at, name) in names.into_iter().enumerate() {
            known.index.entry(name).or_insert(at);
        }
        let list = Path::of("boards");
        known.complete = self.report.names_readable(&list, known.index.len());
        known
    }

    /// A length that is judged elsewhere.
    pub(crate) fn quietly(&self, path: &Path, text: &LengthText) -> Option<Length> {
        if self.report.readable(path) { parse_length(&text.typed(), self.units).ok() } else { None }
    }

    /// The index that a reference means.
    pub(crate) fn refer(&mut self, path: &Path, name: &str, names: &Names<'_>) -> Option<usize> {
        if !self.report.readable(path) {
            return None;
        }
        if let Some(index) = names.index.get(name) {
            return Some(*index);
        }
        // If a name in the list could not be read, the reference may well mean that one.
        if names.complete {
            let what = names.what;
            let hint = match nearest(name, names.index.keys().copied()) {
                Some(near) => format!("did you mean \"{near}\"?"),
                None if names.index.is_empty() => format!("the file describes no {what}"),
                None => format!("describe the {what}, or name one of {}", names.some()),
            };
            let problem = format!("there is no {what} \"{}\"", shortened(name, 40));
            self.report.add(Code::UnknownReference, path, problem, hint);
        }
        None
    }
}

/// The names of a list.
pub(crate) struct Names<'s> {
    what: &'static str,
    index: BTreeMap<&'s str, usize>,
    complete: bool,
}

impl Names<'_> {
    /// The first few names.
    fn some(&self) -> String {
        let some: Vec<String> = self.index.keys().take(8).map(|name| format!("\"{name}\"")).collect();
        let more = if self.index.len() > some.len() { ", …" } else { "" };
        format!("{}{more}", some.join(", "))
    }
}

/// Control characters, and marks that turn the direction of writing, break lines or take no room: on a label they make
/// one name look like another. Joiners are none of them, some scripts need these.
#[must_use]
pub fn unseen(letter: char) -> bool {
    letter.is_control()
        || matches!(
            letter,
            '\u{61c}' | '\u{200b}' | '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{feff}'
        )
}

/// `42,5` with a point instead of its comma, as much of the world writes decimals; none for anything else.
fn with_point(typed: &str) -> Option<String> {
    let (before, after) = typed.split_once(',')?;
    let number = before.ends_with(|letter: char| letter.is_ascii_digit())
        && after.starts_with(|letter: char| letter.is_ascii_digit())
        && !after.contains(',');
    number.then(|| format!("{before}.{after}"))
}
