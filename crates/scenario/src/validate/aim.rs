//! Judges the aim and the proof block.

use super::judge::{Judge, Range};
use crate::job::hand;
use crate::job::{Aim, Block, Demand, Job, ProofBlock, Quilt};
use crate::path::{Path, shortened};
use crate::problem::Code;
use crate::spec::{self, AimKind};

/// Judges the aim.
pub(crate) fn aim(judge: &mut Judge<'_, '_>, scenario: &spec::Scenario) -> Option<Aim> {
    let path = Path::of("aim");
    let spec = &scenario.aim;
    let (hour_path, pass_path) = (path.field("hour_is_worth"), path.field("pass_is_worth"));
    let hour = spec.hour_is_worth.as_ref().map(|text| super::fabrics::amount(judge, &hour_path, text));
    let pass = spec.pass_is_worth.as_ref().map(|text| judge.length(&pass_path, text, Range::WEIGHT));
    if !judge.report.readable(&path) || !judge.report.readable(&path.field("put_first")) {
        return None;
    }
    let kind = spec.put_first;
    let hour_well = used(
        judge,
        &hour_path,
        hour.is_some(),
        kind == AimKind::LeastCost,
        "what an hour of your time is worth, 0 included",
    );
    let pass_well = used(
        judge,
        &pass_path,
        pass.is_some(),
        kind == AimKind::Weighted,
        "the length of cloth that one pass is worth to you",
    );
    if kind == AimKind::LeastCost && scenario.fabrics.iter().all(|fabric| fabric.price.is_none()) {
        let problem = "cost cannot be weighed without prices";
        let hint = "state the price of every fabric, or choose another aim";
        judge.report.add(Code::AimNeedsPrices, &path.field("put_first"), problem, hint);
        return None;
    }
    if !hour_well || !pass_well {
        return None;
    }
    Some(match kind {
        AimKind::LeastCloth => Aim::LeastCloth,
        AimKind::FewestPasses => Aim::FewestPasses,
        AimKind::LeastTime => Aim::LeastTime,
        AimKind::LeastCost => Aim::LeastCost { hour: hour??.ten_thousandths() },
        AimKind::Weighted => Aim::Weighted { pass: pass?? },
    })
}

fn used(judge: &mut Judge<'_, '_>, path: &Path, stated: bool, needed: bool, what: &str) -> bool {
    if !judge.report.readable(path) || stated == needed {
        return true;
    }
    if needed {
        judge.report.add(Code::AimFigureMissing, path, "this aim needs a figure", format!("state {what}"));
    } else {
        judge.report.add(
            Code::AimFigureNotUsed,
            path,
            "this aim does not use this figure",
            "remove it, or change the aim",
        );
    }
    false
}

/// Which quilt and block come first; the outer `None` if what is asked for is wrong.
pub(crate) fn proof_place(
    judge: &mut Judge<'_, '_>,
    scenario: &spec::Scenario,
    quilts: &super::judge::Names<'_>,
) -> Option<Option<(usize, usize)>> {
    let Some(proof) = &scenario.proof_block else { return Some(None) };
    let path = Path::of("proof_block");
    let quilt_id = judge.refer(&path.field("quilt"), &proof.quilt, quilts)?;
    let quilt = &scenario.quilts[quilt_id];
    let here = path.field("block");
    if !judge.report.readable(&here) {
        return None;
    }
    let Some(wanted) = &proof.block else {
        return quilt.blocks.first().map(|_| Some((quilt_id, 0)));
    };
    let found = quilt.blocks.iter().position(|blocks| blocks.block == *wanted);
    if found.is_none() && judge.report.readable(&Path::of("quilts").element(quilt_id).field("blocks")) {
        let known: Vec<&str> = quilt.blocks.iter().map(|blocks| blocks.block.as_str()).collect();
        let hint = match crate::words::nearest(wanted, known.iter().copied()) {
            Some(near) => format!("did you mean \"{near}\"?"),
            None => format!("its blocks are {}", crate::words::listed(&known)),
        };
        let problem = format!("the quilt has no block \"{}\"", shortened(wanted, 40));
        judge.report.add(Code::BlockNotInQuilt, &here, problem, hint);
    }
    found.map(|entry| Some((quilt_id, entry)))
}

/// The patches of the proof block by demand line.
pub(crate) fn proof_block(
    (quilt, entry): (usize, usize),
    quilts: &[Quilt],
    blocks: &[Block],
    demands: &[Demand],
    job: &Job,
) -> Option<ProofBlock> {
    let (block, _, fabrics) = quilts.get(quilt)?.blocks.get(entry)?;
    let mut patches = std::collections::BTreeMap::new();
    for (line, fabric) in blocks.get(*block)?.patches.iter().zip(fabrics) {
        let hand = hand(&job.shapes[line.shape].shape, &job.fabrics[*fabric], line.mirrored);
        let demand = demands
            .iter()
            .position(|demand| (demand.fabric, demand.shape, demand.hand) == (*fabric, line.shape, hand))?;
        *patches.entry(demand).or_insert(0) += u64::from(line.count);
    }
    Some(ProofBlock { quilt, block: *block, patches: patches.into_iter().collect() })
}
