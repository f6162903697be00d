//! Paper that labels are printed on, and whether labels fit on it.

use patchlay_measure::{Length, UnitSystem};

use crate::job::group::Labels;

/// A size of paper for labels.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LabelSheet {
    /// What it is called.
    pub name: &'static str,
    /// Its width.
    pub width: Length,
    /// Its height.
    pub height: Length,
}

/// Letter, 8 1/2 x 11 in (ANSI/ASME Y14.1, size A; from memory).
pub const LETTER: LabelSheet =
    LabelSheet { name: "letter", width: Length::from_mm_tenths(2_159), height: Length::from_inches(11) };
/// A4, 210 x 297 mm (ISO 216; from memory).
pub const A4: LabelSheet =
    LabelSheet { name: "A4", width: Length::from_mm_tenths(2_100), height: Length::from_mm_tenths(2_970) };
/// All papers.
pub(crate) const PAPERS: [LabelSheet; 2] = [LETTER, A4];

impl LabelSheet {
    /// The paper that is used where none is named.
    #[must_use]
    pub const fn usual(units: UnitSystem) -> Self {
        match units {
            UnitSystem::Inch => LETTER,
            UnitSystem::Metric => A4,
        }
    }

    /// Least width and height of a label: three lines of the smallest print and about twenty letters.
    pub(crate) fn least(units: UnitSystem) -> (Length, Length) {
        match units {
            UnitSystem::Inch => (Length::from_inches(1), Length::from_64ths(24)),
            UnitSystem::Metric => (Length::from_mm_tenths(250), Length::from_mm_tenths(100)),
        }
    }
}

/// Where labels reach past the paper: the field of the label's size, what is wrong, what to do.
#[must_use]
pub fn beyond(labels: &Labels, paper: &LabelSheet, units: UnitSystem) -> Vec<(&'static str, String, String)> {
    let across = (labels.columns, labels.width, labels.gap_across, labels.left, paper.width);
    let down = (labels.rows, labels.height, labels.gap_down, labels.top, paper.height);
    let words = [("width", "columns", "wide", "left", across), ("height", "rows", "high", "top", down)];
    let mut found = Vec::new();
    for (field, many, how, edge, (count, size, gap, from, room)) in words {
        let all =
            size * i64::from(count) + gap * i64::from(count.saturating_sub(1)) + from.unwrap_or_default();
        if all <= room {
            continue;
        }
        let show = |length: Length| length.show(units);
        let gaps = match count {
            0 | 1 => String::new(),
            _ if gap == Length::ZERO => String::new(),
            2 => format!(" and a gap of {}", show(gap)),
            more => format!(" and {} gaps of {}", more - 1, show(gap)),
        };
        let margin = from.map(|from| format!(" and {} from the {edge} edge", show(from))).unwrap_or_default();
        let problem = format!(
            "the labels do not fit on {} paper: {count} {many} of {}{gaps}{margin} are {}, and the paper is {} {how}",
            paper.name,
            show(size),
            show(all),
            show(room)
        );
        let hint = format!("measure the label sheet again: {field}, {many}, gaps and the {edge} edge");
        found.push((field, problem, hint));
    }
    found
}
