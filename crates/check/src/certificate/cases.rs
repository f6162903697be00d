//! Cases of passes: what each part of a proof speaks of, and whether together they are all plans.

use patchlay_plan::proof::PartProof;

use super::Refused;
use crate::facts::Facts;
use crate::fault::FaultCode;

/// Passes that a board makes in a case.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Range {
    pub(super) least: u32,
    pub(super) most: Option<u32>,
}

impl Range {
    /// Whether everything in the other is in this one.
    fn holds(self, other: Self) -> bool {
        self.least <= other.least
            && self.most.is_none_or(|most| other.most.is_some_and(|other| other <= most))
    }

    fn is_empty(self) -> bool {
        self.most.is_some_and(|most| most < self.least)
    }
}

/// Most boxes looked at.
const MOST_BOXES: u32 = 100_000;

/// The passes of every board in the case that a part is about.
pub(super) fn of(facts: &Facts, part: &PartProof) -> Result<Vec<Range>, Refused> {
    let form =
        |found: String| Refused::new(FaultCode::CertificateForm, found, "each board of the job at most once");
    let mut ranges: Vec<Option<Range>> = vec![None; facts.boards.len()];
    for passes in &part.passes {
        let at = facts.boards.iter().position(|board| board.name == passes.board);
        let range = at.and_then(|at| ranges.get_mut(at)).filter(|range| range.is_none());
        *range.ok_or_else(|| form(passes.board.clone()))? =
            Some(Range { least: passes.at_least, most: passes.at_most });
    }
    Ok(ranges.into_iter().map(Option::unwrap_or_default).collect())
}

/// Whether every plan is in the case of some part.
pub(super) fn cover_all(facts: &Facts, parts: &[PartProof]) -> Result<(), Refused> {
    let cases = parts.iter().map(|part| of(facts, part)).collect::<Result<Vec<_>, _>>()?;
    let mut boxes = MOST_BOXES;
    let all = vec![Range::default(); facts.boards.len()];
    if covers(&cases.iter().collect::<Vec<_>>(), &all, &mut boxes) {
        Ok(())
    } else {
        Err(Refused::new(
            FaultCode::Cases,
            format!("{} cases", parts.len()),
            "cases that are all plans together",
        ))
    }
}

/// Whether the cases hold everything in a box: one of them does, or a line between two of their numbers of passes
/// divides it into boxes that they hold.
fn covers(cases: &[&Vec<Range>], all: &[Range], boxes: &mut u32) -> bool {
    if all.iter().any(|range| range.is_empty()) {
        return true;
    }
    let holds = |case: &&Vec<Range>| case.iter().zip(all).all(|(case, range)| case.holds(*range));
    if cases.iter().any(holds) {
        return true;
    }
    if *boxes == 0 {
        return false;
    }
    *boxes -= 1;
    // Lines at which cases end, inside the box; of these the one that fewest cases cross.
    let mut best: Option<(usize, usize, u32)> = None;
    for (at, range) in all.iter().enumerate() {
        for below in cases.iter().filter_map(|case| case[at].most) {
            let inside = below >= range.least && range.most.is_none_or(|most| below < most);
            let crossing = |case: &&&Vec<Range>| {
                case[at].least <= below && case[at].most.is_none_or(|most| most > below)
            };
            let crossed = cases.iter().filter(crossing).count();
            if inside && best.is_none_or(|(fewest, _, _)| crossed < fewest) {
                best = Some((crossed, at, below));
            }
        }
    }
    let Some((_, at, below)) = best else { return false };
    let half = |part: Range| {
        let mut all = all.to_vec();
        all[at] = part;
        let meets = |case: &&&Vec<Range>| {
            let case = case[at];
            case.most.is_none_or(|most| most >= part.least) && part.most.is_none_or(|most| case.least <= most)
        };
        (cases.iter().filter(meets).copied().collect::<Vec<_>>(), all)
    };
    let (lower, lower_box) = half(Range { most: Some(below), ..all[at] });
    let (upper, upper_box) = half(Range { least: below + 1, ..all[at] });
    covers(&lower, &lower_box, boxes) && covers(&upper, &upper_box, boxes)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn range(least: u32, most: Option<u32>) -> Range {
        Range { least, most }
    }

    fn are_all(cases: &[Vec<Range>], boards: usize) -> bool {
        covers(&cases.iter().collect::<Vec<_>>(), &vec![Range::default(); boards], &mut 1_000)
    }

    #[test]
    fn a_line_divides_all_plans() {
        assert!(are_all(&[vec![range(0, Some(3))], vec![range(4, None)]], 1));
        assert!(!are_all(&[vec![range(0, Some(3))], vec![range(5, None)]], 1), "four passes are missing");
        assert!(!are_all(&[vec![range(0, Some(3))]], 1));
        assert!(are_all(&[vec![range(0, None)]], 1));
        assert!(!are_all(&[], 1));
    }

    /// The first board at most 2; else at least 3 and the second at most 1, or at least 2.
    #[test]
    fn lines_within_lines() {
        let any = range(0, None);
        let mut cases = vec![
            vec![range(0, Some(2)), any],
            vec![range(3, None), range(0, Some(1))],
            vec![range(3, None), range(2, None)],
        ];
        assert!(are_all(&cases, 2));
        cases[2][1].least = 3;
        assert!(!are_all(&cases, 2));
    }

    /// Four cases around a middle one, no line through all of them: the middle is missing without it.
    #[test]
    fn a_pinwheel_needs_its_middle() {
        let mut cases = vec![
            vec![range(0, Some(0)), range(0, Some(1))],
            vec![range(0, Some(1)), range(2, None)],
            vec![range(2, None), range(1, None)],
            vec![range(1, None), range(0, Some(0))],
        ];
        assert!(!are_all(&cases, 2));
        cases.push(vec![range(1, Some(1)), range(1, Some(1))]);
        assert!(are_all(&cases, 2));
    }
}
