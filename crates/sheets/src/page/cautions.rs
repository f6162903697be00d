//! How to begin, and cautions for blades, rollers and irons.

use super::flow::{Block, Part};
use crate::fit::Type;
use crate::view::View;

/// Before the first stack.
const FIRST_CUT: [&str; 5] = [
    "First cut two plies, then the full stack, and compare the bottom patch with the top patch. If they differ, or \
     threads hang on, cut fewer plies and plan again.",
    "Line cloth up with the blades, not with the edge of the board. Cloth must reach past the outermost blade all \
     round; folds lie beyond the blades, never over one.",
    "Lay the mat so that it covers every blade you load. Write 1 and 2 on its two sides in pen and follow the card: \
     sides in turn, then both again turned end for end, so that it wears evenly.",
    "Count the piles after every lay-up and compare with the card before you go on.",
    "If a stack has slipped or a ply is short, stop at that pass and mark it; do not make it up from another stack.",
];

/// The same two points for a group, whose stacks go into bags and whose lay-ups are made in the order of the day.
const MAT_BY_DAY: &str = "Lay the mat so that it covers every blade you load. Write 1 and 2 on its two sides in pen. Turn it over \
     after every pass, and end for end after every second one, so that it wears evenly.";
const COUNT_BY_DAY: &str = "Nobody counts piles: stacks are counted out into bags as the day sheets say, and every bag is checked \
     against its list.";

/// What the cards show.
const CARDS: [&str; 4] = [
    "The picture shows the board from above, blades up. Black corner: the mark on the board. Long and short dashes: \
     the mat. Blades stand square to the board unless the card says otherwise.",
    "Arrows in the areas: threads along the strip. Two sizes of cloth: the first along the strip, for a folded length \
     from fold to fold, the second across it.",
    "Side view of a stack: dotted is the right side, plain the wrong side; first laid at the bottom.",
    "All right side up: every flat cut, and the first ply of every folded length; the plies after it lie by turns.",
];

/// Rollers.
const ROLLERS: [&str; 5] = [
    "Keep fingers away from the gap where board and rollers meet: whatever goes in there is drawn in and crushed. \
     One hand on the handle, the other well clear of the board.",
    "Tie hair back, push sleeves up, take rings, bracelets and scarves off before cranking; wear closed shoes.",
    "If it sticks, crank back. Never force it, and never reach between the rollers to help the board along.",
    "One person cranks and nobody else touches board or cutter meanwhile. Children only beside an adult who watches.",
    "Work only after somebody has shown you how, and stop when you are tired.",
];

/// Blades.
const BLADES: [&str; 4] = [
    "The blades of a board stand in foam and cut skin as readily as cloth. Carry a board by its edges, blades away \
     from you, and never press cloth down on it with a bare hand.",
    "Lift patches out with a flat stick or by their edge; brush lint out, do not pick it out with fingers.",
    "Close a rotary cutter after every single cut, cut away from your body, keep fingers off the ruler's edge.",
    "Wrap used blades before you throw them away. Store boards and cutters where children cannot reach them.",
];

/// Irons.
const IRONS: [&str; 3] = [
    "An iron burns long after it is switched off. Stand it on its heel, keep its cord out of the way, and switch it \
     off when you leave the room.",
    "Steam scalds: keep hands and face out of it. Let starch dry and cloth cool before you touch or measure it.",
    "Air the room when you spray starch, and wipe the floor: it is slippery.",
];

/// What comes before everything else.
const FIRST: &str =
    "The maker's instructions for your own equipment and your local rules come before this sheet.";

/// Begin, then the cautions.
pub(crate) fn parts(view: &View<'_>) -> Vec<Part> {
    let mut cautions = vec![Block::text(FIRST, Type::STRONG), Block::space(15)];
    for (title, said) in [("Rollers", &ROLLERS[..]), ("Blades", &BLADES[..]), ("Irons", &IRONS[..])] {
        cautions.push(Block::text(title, Type::HEAD).with_next());
        cautions.extend(points(said));
        cautions.push(Block::space(20));
    }
    vec![
        Part::titled("Before the first full stack", points(&first_cut(view.by_day))).together(),
        Part::titled("How to read the cards", points(&CARDS)).together(),
        Part::titled("Cautions", cautions).together(),
    ]
}

fn first_cut(by_day: bool) -> [&'static str; 5] {
    let [plies, cloth, _, _, slipped] = FIRST_CUT;
    if by_day { [plies, cloth, MAT_BY_DAY, COUNT_BY_DAY, slipped] } else { FIRST_CUT }
}

fn points(said: &[&str]) -> Vec<Block> {
    said.iter().map(|text| Block::point(text, Type::BODY)).collect()
}
