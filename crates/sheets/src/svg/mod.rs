//! Pictures as SVG text: boards, lay-ups and stacks of plies. Drawing units are millimetres of paper. Everything is
//! told apart by line and letter as well as by colour. Floats live here and decide nothing.

pub(crate) mod board;
mod label;
pub(crate) mod path;
pub(crate) mod pattern;
pub(crate) mod stack;
pub(crate) mod thumb;

/// Text that may stand inside an element or an attribute.
pub(crate) fn escape(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '"' => safe.push_str("&quot;"),
            '\'' => safe.push_str("&#39;"),
            // Control characters are not allowed in XML at all.
            control if control.is_control() => safe.push(' '),
            other => safe.push(other),
        }
    }
    safe
}

/// A coordinate with two decimals and no more signs than it needs; what is not finite becomes 0.
pub(crate) fn num(value: f64) -> String {
    let value = if value.is_finite() { value } else { 0.0 };
    let text = format!("{value:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_short_and_finite() {
        let all: Vec<String> =
            [0.0, -0.001, 1.5, 2.0, 1.239, f64::NAN, f64::INFINITY].into_iter().map(num).collect();
        assert_eq!(all, ["0", "0", "1.5", "2", "1.24", "0", "0"]);
    }

    #[test]
    fn nothing_typed_becomes_markup() {
        assert_eq!(escape("<a href=\"x\">&'\u{1}"), "&lt;a href=&quot;x&quot;&gt;&amp;&#39; ");
    }
}
