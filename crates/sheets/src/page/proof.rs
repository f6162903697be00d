//! The proof block: what is cut first, what is still uncut if it fails, what asking for it costs.

use patchlay_measure::Length;
use patchlay_plan::ProofBlock;

use super::flow::{Block, Part};
use super::parts::{Cell, row};
use crate::fit::{Tenths, Type};
use crate::view::{Cloth, View, patch_name, plan_hand};
use crate::words;

const NAME: Tenths = 760;
const CUT: Tenths = 360;
const UNCUT: Tenths = 500;
/// Lines that are rather moved to the next sheet than split.
const FEW: usize = 20;

/// Nothing, unless a proof block was asked for.
pub(crate) fn parts(view: &View<'_>) -> Vec<Part> {
    let Some(proof) = &view.plan.proof_block else { return Vec::new() };
    let mut parts = vec![Part::titled("Proof block first", steps(view, proof))];
    let patches = patches(view);
    let few = patches.len() <= FEW;
    let patches = Part::titled("Patches of the proof block", patches);
    parts.push(if few { patches.together() } else { patches });
    let rows = view.cloths.iter().map(|cloth| still_uncut(view, *cloth)).collect();
    let head = row(&[
        Cell::text("fabric", Type::SMALL, NAME),
        Cell::number("cut for the proof block", Type::SMALL, CUT),
        Cell::number("still uncut, of what the plan takes", Type::SMALL, UNCUT),
    ]);
    parts.push(Part::titled("If it fails: what is still uncut", rows).headed(head));
    parts
}

fn steps(view: &View<'_>, proof: &ProofBlock) -> Vec<Block> {
    let names: Vec<String> =
        view.layups.iter().take(proof.layups).map(|laid| laid.layup.name.clone()).collect();
    let block = view.job.proof_block.as_ref().map_or_else(String::new, |asked| {
        let block = &view.job.blocks[asked.block].name;
        let quilt = &view.job.quilts[asked.quilt].name;
        format!(" {block} of {quilt}")
    });
    let mut said = vec![
        format!(
            "Cut the strips marked \"Proof block first\", then make {}: {}.",
            words::list(&names),
            words::passes(proof.passes)
        ),
        format!(
            "Sew one block{block} from these patches, press it and measure it before you cut anything else."
        ),
        "If it does not come out right, stop: change seam, board or cloth, and plan again.".to_owned(),
        cost(view, proof),
    ];
    said.retain(|text| !text.is_empty());
    said.iter().map(|text| Block::point(text, Type::CARD)).collect()
}

/// What asking for the proof block costs.
pub(crate) fn cost(view: &View<'_>, proof: &ProofBlock) -> String {
    let passes = match proof.extra_passes {
        0 => "no pass".to_owned(),
        more if more > 0 => format!("{} more", words::passes(more.unsigned_abs())),
        fewer => format!("{} fewer", words::passes(fewer.unsigned_abs())),
    };
    let cloth = if proof.extra_cloth == Length::ZERO {
        "no cloth".to_owned()
    } else if proof.extra_cloth.is_positive() {
        format!("{} more of cloth", proof.extra_cloth.show(view.job.units))
    } else {
        format!("{} less of cloth", (-proof.extra_cloth).show(view.job.units))
    };
    if proof.extra_passes < 0 || proof.extra_cloth < Length::ZERO {
        // Better in one, worse in the other: not simply a cost.
        return format!(
            "Against the plan without the proof block first, this one takes {passes} and {cloth}."
        );
    }
    format!("Asking for the proof block first costs {passes} and {cloth} in the whole plan.")
}

fn patches(view: &View<'_>) -> Vec<Block> {
    let Some(asked) = &view.job.proof_block else { return Vec::new() };
    let line = |(demand, count): &(usize, u64)| {
        let demand = &view.job.demands[*demand];
        let name = patch_name(view.job, demand.fabric, demand.shape, plan_hand(demand.hand));
        row(&[Cell::text(&name, Type::BODY, NAME + CUT), Cell::number(&count.to_string(), Type::BODY, UNCUT)])
    };
    asked.patches.iter().map(line).collect()
}

fn still_uncut(view: &View<'_>, cloth: Cloth<'_>) -> Block {
    let units = view.job.units;
    let strips: Vec<Length> =
        cloth.plan.strips.iter().filter(|strip| view.for_proof(strip)).map(|strip| strip.width).collect();
    let squaring = cloth.fabric.taken(strips.len(), Length::ZERO) - cloth.fabric.kept_back_total();
    let cut = strips.iter().sum::<Length>() + squaring;
    let name = format!("{} {}", cloth.fabric.letter, cloth.fabric.name);
    row(&[
        Cell::text(&name, Type::BODY, NAME),
        Cell::number(&cut.show(units), Type::BODY, CUT),
        Cell::number(&(cloth.plan.taken - cut).show_cloth(units), Type::BODY, UNCUT),
    ])
}
