//! Places in the file, as structured paths that print like `boards[2].positions[0].at[1]`.

use std::fmt;

/// One step into the file.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Step {
    /// Into a named field.
    Field(String),
    /// Into the element of a list.
    Element(usize),
}

/// A place in the file; empty for the file as a whole.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Path(Vec<Step>);

impl Path {
    /// The file as a whole.
    pub(crate) fn root() -> Self {
        Self::default()
    }

    /// A top-level field.
    pub(crate) fn of(name: &str) -> Self {
        Self::root().field(name)
    }

    /// A field of the object here.
    pub(crate) fn field(&self, name: &str) -> Self {
        self.then(Step::Field(name.to_owned()))
    }

    /// An element of the list here.
    pub(crate) fn element(&self, index: usize) -> Self {
        self.then(Step::Element(index))
    }

    fn then(&self, step: Step) -> Self {
        let mut steps = self.0.clone();
        steps.push(step);
        Self(steps)
    }

    /// The steps from the top.
    pub(crate) fn steps(&self) -> &[Step] {
        &self.0
    }

    /// The place that holds this one; `None` for the file as a whole.
    pub(crate) fn parent(&self) -> Option<Self> {
        let (_, rest) = self.0.split_last()?;
        Some(Self(rest.to_vec()))
    }
}

impl fmt::Display for Path {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (at, step) in self.0.iter().enumerate() {
            match step {
                Step::Element(index) => write!(out, "[{index}]")?,
                Step::Field(name) if !is_plain(name) => {
                    write!(out, "[{}]", serde_json::Value::from(shortened(name, 60)))?;
                }
                Step::Field(name) if at == 0 => out.write_str(name)?,
                Step::Field(name) => write!(out, ".{name}")?,
            }
        }
        Ok(())
    }
}

/// Whether a field name can stand in a path without quotes.
fn is_plain(name: &str) -> bool {
    !name.is_empty() && name.len() <= 60 && name.chars().all(|c| c.is_ascii_alphanumeric() || c == '_')
}

/// `text` on one line, cut to a length that is safe to repeat in a message.
pub(crate) fn shortened(text: &str, most: usize) -> String {
    let mut words = String::new();
    for word in text.split(|c: char| c.is_whitespace() || c.is_control()).filter(|word| !word.is_empty()) {
        if !words.is_empty() {
            words.push(' ');
        }
        words.extend(word.chars().take(most + 1));
        if words.chars().count() > most {
            let mut cut: String = words.chars().take(most).collect();
            cut.push('…');
            return cut;
        }
    }
    words
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn prints_like_a_person_would_write_it() {
        let path = Path::of("boards").element(2).field("positions").element(0).field("at").element(1);
        assert_eq!(path.to_string(), "boards[2].positions[0].at[1]");
        assert_eq!(Path::of("fabrics").field("dark blue").to_string(), "fabrics[\"dark blue\"]");
        assert_eq!(Path::root().to_string(), "");
    }

    #[test]
    fn shortening_keeps_one_line() {
        assert_eq!(shortened("a\n\t b", 10), "a b");
        assert_eq!(shortened(&"x".repeat(500), 3), "xxx…");
    }
}
