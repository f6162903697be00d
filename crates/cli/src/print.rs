//! Printing. A reader that has gone away (a closed pipe) ends the program quietly; every other failure to print is
//! an error like any other.

use std::io::{ErrorKind, Write, stderr, stdout};

use crate::report::{Failure, Message, Ours};

/// Width of everything printed.
pub(crate) const COLUMNS: usize = 100;

/// Prints a text to standard output.
///
/// # Errors
/// The reader has gone, or the output cannot be written.
pub(crate) fn out(text: &str) -> Result<(), Failure> {
    let mut out = stdout().lock();
    out.write_all(text.as_bytes()).and_then(|()| out.flush()).map_err(|error| match error.kind() {
        ErrorKind::BrokenPipe => Failure::ClosedPipe,
        _ => Failure::bad(
            Message::new(Ours::CannotWrite, format!("standard output cannot be written: {error}"))
                .hint("look at where the output is sent; a full disk is the usual reason"),
        ),
    })
}

/// Prints a JSON value to standard output.
///
/// # Errors
/// As [`out`].
pub(crate) fn json(value: &serde_json::Value) -> Result<(), Failure> {
    out(&format!("{value:#}\n"))
}

/// Prints a line to standard error. Whether anybody reads it makes no difference to the work, so a failure is
/// passed over.
pub(crate) fn aside(line: &str) {
    drop(writeln!(stderr().lock(), "{line}"));
}

/// A text without control characters, which could play tricks on a terminal.
pub(crate) fn clean(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { '\u{FFFD}' } else { c }).collect()
}

/// Breaks a text at spaces into lines of at most [`COLUMNS`] columns; `first` stands before the first line, and the
/// others are indented as far.
pub(crate) fn wrapped(first: &str, text: &str) -> String {
    let indent = first.chars().count();
    let (mut lines, mut line) = (String::new(), first.to_owned());
    let (mut width, mut empty) = (indent, true);
    for word in clean(text).split_whitespace() {
        let length = word.chars().count();
        if !empty && width + 1 + length > COLUMNS {
            lines.push_str(&line);
            lines.push('\n');
            line = " ".repeat(indent);
            (width, empty) = (indent, true);
        }
        if !empty {
            line.push(' ');
            width += 1;
        }
        line.push_str(word);
        width += length;
        empty = false;
    }
    lines.push_str(line.trim_end());
    lines.push('\n');
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wrapped_lines_are_indented_and_fit() {
        let text = "word ".repeat(60);
        let lines = wrapped("  so: ", &text);
        assert!(lines.lines().count() > 2);
        assert!(lines.lines().all(|line| line.chars().count() <= COLUMNS));
        assert!(lines.lines().skip(1).all(|line| line.starts_with("      word")));
        assert_eq!(lines.matches("word").count(), 60);
    }

    #[test]
    fn a_word_longer_than_a_line_is_kept_whole() {
        let word = "x".repeat(200);
        assert_eq!(wrapped("- ", &word), format!("- {word}\n"));
    }

    #[test]
    fn control_characters_do_not_reach_the_terminal() {
        assert_eq!(clean("a\u{1b}[2Jb\u{9b}c"), "a\u{FFFD}[2Jb\u{FFFD}c");
    }
}
