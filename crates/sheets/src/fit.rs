//! How wide a text comes out, and where its lines break. Sheets are laid out here and not by the printer, so that
//! the number of pages is known when the page is written.

/// Tenths of a millimetre on paper.
pub(crate) type Tenths = u32;

/// A size of type: what a line of it takes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Type {
    /// Class in the style sheet.
    pub(crate) class: &'static str,
    /// Size in tenths of a point.
    pub(crate) points: u32,
    /// Height of a line.
    pub(crate) line: Tenths,
    /// Bold.
    pub(crate) bold: bool,
}

impl Type {
    /// What must be read first of all.
    pub(crate) const HUGE: Self = Self { class: "t-huge", points: 260, line: 120, bold: true };
    /// Headings of a part.
    pub(crate) const TITLE: Self = Self { class: "t-title", points: 170, line: 80, bold: true };
    /// Headings inside a part, and what is read at arm's length.
    pub(crate) const HEAD: Self = Self { class: "t-head", points: 130, line: 62, bold: true };
    /// What must stand out in running text.
    pub(crate) const STRONG: Self = Self { class: "t-strong", points: 110, line: 52, bold: true };
    /// Running text.
    pub(crate) const BODY: Self = Self { class: "t-body", points: 100, line: 47, bold: false };
    /// Second lines on cards.
    pub(crate) const CARD: Self = Self { class: "t-card", points: 110, line: 52, bold: false };
    /// The same, larger.
    pub(crate) const LARGE: Self = Self { class: "t-large", points: 125, line: 59, bold: false };
    /// Tables and remarks.
    pub(crate) const SMALL: Self = Self { class: "t-small", points: 85, line: 40, bold: false };
    /// The same, to stand out.
    pub(crate) const SMALL_STRONG: Self = Self { class: "t-small-strong", points: 85, line: 40, bold: true };
    /// Names of narrow columns.
    pub(crate) const TINY: Self = Self { class: "t-tiny", points: 70, line: 33, bold: false };

    /// All sizes, for the style sheet.
    pub(crate) const ALL: [Self; 10] = [
        Self::HUGE,
        Self::TITLE,
        Self::HEAD,
        Self::STRONG,
        Self::BODY,
        Self::CARD,
        Self::LARGE,
        Self::SMALL,
        Self::SMALL_STRONG,
        Self::TINY,
    ];
}

/// Widths of the printable ASCII characters in thousandths of the type size, as in the metrics of the common
/// sans-serif printer fonts, which all agree (from memory).
const ASCII: [u16; 95] = [
    278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333, 278, 278, 556, 556, 556, 556, 556,
    556, 556, 556, 556, 556, 278, 278, 584, 584, 584, 556, 1015, 667, 667, 722, 722, 667, 611, 778, 722, 278,
    500, 667, 556, 833, 722, 778, 667, 778, 722, 667, 611, 722, 667, 944, 667, 667, 611, 278, 278, 278, 469,
    556, 333, 556, 556, 500, 556, 556, 278, 556, 556, 222, 222, 500, 222, 833, 556, 556, 556, 556, 333, 500,
    278, 556, 500, 722, 500, 500, 500, 334, 260, 334, 584,
];

/// Thousandths by which every width is stretched, because another machine may have a wider font.
const SLACK: u32 = 1080;
/// The same for bold type, which runs wider.
const BOLD_SLACK: u32 = 1160;

fn thousandths(letter: char) -> u32 {
    let code = u32::from(letter);
    match usize::try_from(code).ok().and_then(|code| code.checked_sub(32)).and_then(|at| ASCII.get(at)) {
        Some(width) => u32::from(*width),
        // Latin with marks, Greek, Cyrillic run up to about 0.8 em; everything further on may be a full em.
        None if code < 0x0590 => 800,
        None => 1000,
    }
}

/// How wide a text comes out, at most.
pub(crate) fn width(text: &str, face: Type) -> Tenths {
    let sum: u64 = text.chars().map(|letter| u64::from(thousandths(letter))).sum();
    let slack = if face.bold { BOLD_SLACK } else { SLACK };
    // 1 point is 25.4 / 72 mm, so 0.1 point is 0.352778 tenths of a millimetre.
    let tenths = sum * u64::from(face.points) * 352_778 * u64::from(slack) / 1_000_000_000_000;
    u32::try_from(tenths + 1).unwrap_or(u32::MAX)
}

/// The text in lines no wider than `room`; words that are wider by themselves are broken. Never without a line.
pub(crate) fn wrap(text: &str, face: Type, room: Tenths) -> Vec<String> {
    wrap_by(text, |line| width(line, face) <= room)
}

/// The text in lines that `fits` accepts, broken between words, or inside a word that does not fit by itself.
pub(crate) fn wrap_by(text: &str, fits: impl Fn(&str) -> bool) -> Vec<String> {
    let mut lines = Vec::new();
    let mut line = String::new();
    for word in words(text) {
        let longer = if line.is_empty() { word.clone() } else { format!("{line} {word}") };
        if fits(&longer) {
            line = longer;
            continue;
        }
        if !line.is_empty() {
            lines.push(std::mem::take(&mut line));
        }
        for letter in word.chars() {
            line.push(letter);
            if !fits(&line) && line.chars().count() > 1 {
                line.pop();
                lines.push(std::mem::replace(&mut line, letter.to_string()));
            }
        }
    }
    if !line.is_empty() || lines.is_empty() {
        lines.push(line);
    }
    lines
}

/// The words of a text; a number stays with its fraction, its unit and its factor, so that no line ends in `4` or
/// `5 x` and the next begins with `1/2 in`.
fn words(text: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        let number = |text: &str| text.starts_with(|letter: char| letter.is_ascii_digit());
        let bare = word.trim_end_matches(['.', ',', ';', ':', ')', '?']);
        let factor = words.last().is_some_and(|last| {
            let mut before = last.rsplit(' ');
            matches!(before.next(), Some("x" | "of")) && before.next().is_some_and(number)
        });
        if let Some(last) = words.last_mut().filter(|_| factor && number(word)) {
            last.push(' ');
            last.push_str(word);
            continue;
        }
        let tied =
            matches!(bare, "x" | "of" | "in" | "yd" | "mm" | "cm" | "m" | "%" | "sq" | "min" | "h" | "s")
                || (bare.contains('/')
                    && bare.bytes().all(|letter| letter.is_ascii_digit() || letter == b'/'));
        match words.last_mut() {
            Some(last)
                if tied
                    && number(
                        last.rsplit(' ').next().unwrap_or(last).trim_start_matches(['(', '~', '-']),
                    ) =>
            {
                last.push(' ');
                last.push_str(word);
            }
            _ => words.push(word.to_owned()),
        }
    }
    words
}

/// The text in at most so many lines, cut short with `…` only where even these are not enough.
pub(crate) fn wrap_within(text: &str, face: Type, room: Tenths, most: usize) -> Vec<String> {
    wrap(&shorten_by(text, |text| wrap(text, face, room).len() <= most), face, room)
}

/// The text on one line, cut short with `…` where it is too wide.
pub(crate) fn one_line(text: &str, face: Type, room: Tenths) -> String {
    shorten_by(text, |line| width(line, face) <= room)
}

/// The text cut short with `…` until `fits` accepts it; at least one letter stays.
pub(crate) fn shorten_by(text: &str, fits: impl Fn(&str) -> bool) -> String {
    if fits(text) {
        return text.to_owned();
    }
    let mut kept: Vec<char> = text.chars().collect();
    while kept.len() > 1 {
        kept.pop();
        let shorter = format!("{}…", kept.iter().collect::<String>().trim_end());
        if fits(&shorter) {
            return shorter;
        }
    }
    kept.into_iter().collect()
}

/// Columns that a text takes on a terminal: wide scripts take two a letter.
pub(crate) fn columns(text: &str) -> usize {
    text.chars()
        .map(|letter| match u32::from(letter) {
            0x0300..=0x036f | 0x200b..=0x200f | 0xfe00..=0xfe0f => 0,
            0x1100..=0x115f | 0x2e80..=0xa4cf | 0xac00..=0xd7a3 | 0xf900..=0xfaff | 0xfe30..=0xfe6f => 2,
            0xff00..=0xff60 | 0xffe0..=0xffe6 | 0x1f300..=0x1faff | 0x20000..=0x3fffd => 2,
            _ => 1,
        })
        .sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_stay_inside_the_room_and_lose_no_letter() {
        let text = "Wash, starch and press flat Donaudampfschifffahrtsgesellschaftskapitän's cloth 1 3/8 yd";
        for room in [60, 150, 400, 2000] {
            let lines = wrap(text, Type::BODY, room);
            assert!(lines.iter().all(|line| width(line, Type::BODY) <= room), "{room}: {lines:?}");
            let joined: String = lines.concat().split_whitespace().collect();
            assert_eq!(joined, text.split_whitespace().collect::<String>());
        }
    }

    #[test]
    fn a_quantity_is_never_torn_apart() {
        let text = "this plan needs at least 41 1/4 in; if yours is narrower, stop -> buy 1 3/8 yd (97 %) 5 x 4 1/2 in, 24 of 84";
        for most in 13..60 {
            let lines = wrap_by(text, |line| columns(line) <= most);
            for whole in ["41 1/4 in;", "1 3/8 yd", "(97 %)", "5 x 4 1/2 in", "24 of 84"] {
                assert!(lines.iter().any(|line| line.contains(whole)), "{most}: {lines:?}");
            }
        }
    }

    #[test]
    fn even_no_room_ends() {
        assert_eq!(wrap("abc", Type::BODY, 0), ["a", "b", "c"]);
        assert_eq!(wrap("", Type::BODY, 100), [""]);
        assert_eq!(one_line("abc", Type::BODY, 0), "a");
    }

    #[test]
    fn a_shortened_text_says_so() {
        let short = one_line("A very long name of a fabric indeed", Type::BODY, 300);
        assert!(short.ends_with('…') && width(&short, Type::BODY) <= 300);
    }

    #[test]
    fn a_heading_is_whole_while_its_lines_last() {
        let text = "areas B, C and F, each: bar 1 1/2 x 3";
        assert_eq!(wrap_within(text, Type::HEAD, 500, 3).join(" "), text);
        let short = wrap_within(text, Type::HEAD, 300, 2);
        assert!(short.len() == 2 && short[1].ends_with('…'), "{short:?}");
    }

    #[test]
    fn wide_letters_take_two_columns() {
        assert_eq!(columns("Navy"), 4);
        assert_eq!(columns("藍色"), 4);
        assert_eq!(columns("e\u{301}"), 1);
    }
}
