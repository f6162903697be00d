//! Judges blocks and quilts.

use std::collections::BTreeSet;

use patchlay_measure::{Area, Length};
use patchlay_shape::Shape;

use super::judge::{Judge, Names, Range};
use crate::job::{Block, BlockPatches, FabricId, Quilt};
use crate::path::{Path, shortened};
use crate::problem::Code;
use crate::spec;
use crate::words::nearest;

/// Highest count of anything that is sewn.
pub(crate) const MOST_COUNT: u32 = 10_000_000;

/// Judges all blocks; `None` for one that cannot be used.
pub(crate) fn blocks(
    judge: &mut Judge<'_, '_>,
    blocks: &[spec::Block],
    shape_names: &Names<'_>,
    shapes: &[Option<Shape>],
) -> Vec<Option<Block>> {
    let list = Path::of("blocks");
    let mut judged = Vec::new();
    for (at, spec) in blocks.iter().enumerate() {
        let path = list.element(at);
        let finished = match &spec.finished {
            Some(text) => judge.length(&path.field("finished"), text, Range::SIZE).map(Some),
            None => judge.report.readable(&path.field("finished")).then_some(None),
        };
        let patches = patches(judge, &path.field("patches"), &spec.patches, shape_names);
        let block = finished.zip(patches).map(|(finished, patches)| Block {
            name: spec.name.clone(),
            finished,
            patches,
        });
        if let Some(Block { finished: Some(side), patches, .. }) = &block {
            filled(judge, &path, &spec.name, *side, patches, shapes);
        }
        judged.push(block);
    }
    judged
}

fn patches(
    judge: &mut Judge<'_, '_>,
    list: &Path,
    specs: &[spec::BlockPatches],
    shape_names: &Names<'_>,
) -> Option<Vec<BlockPatches>> {
    let line = |(at, spec): (usize, &spec::BlockPatches)| {
        let path = list.element(at);
        let shape = judge.refer(&path.field("shape"), &spec.shape, shape_names);
        let role = judge.name(&path.field("role"), &spec.role);
        let count = judge.count(&path.field("count"), spec.count, 1, MOST_COUNT);
        let mirrored = judge.report.readable(&path.field("mirrored"));
        let line =
            BlockPatches { shape: shape?, role: spec.role.clone(), count: count?, mirrored: spec.mirrored };
        (role && mirrored).then_some(line)
    };
    let lines: Vec<Option<BlockPatches>> = specs.iter().enumerate().map(line).collect();
    lines.into_iter().collect::<Option<Vec<_>>>().filter(|_| judge.report.readable(list))
}

/// Whether the patches fill the block: exactly up to the rounding of areas, with a caution up to half a percent
/// (typed sizes of slanted patches are rounded), else an error.
fn filled(
    judge: &mut Judge<'_, '_>,
    path: &Path,
    name: &str,
    side: Length,
    patches: &[BlockPatches],
    shapes: &[Option<Shape>],
) {
    let mut sum = Area::ZERO;
    let mut count = 0_i128;
    for line in patches {
        let Some(shape) = shapes.get(line.shape).and_then(Option::as_ref) else { return };
        sum += shape.areas().finished * i64::from(line.count);
        count += i128::from(line.count);
    }
    let whole = side * side;
    let difference = (sum - whole).units();
    if difference.abs() <= count {
        return;
    }
    let words = format!(
        "its patches make {}, the block has {}: {} {}",
        sum.show(judge.units),
        whole.show(judge.units),
        Area::from_units(difference.abs()).show(judge.units),
        if difference > 0 { "too much" } else { "too little" }
    );
    if difference.abs() * 200 <= whole.units() {
        judge.cautions.push(format!("Block {name}: {words}. Check the finished sizes."));
        return;
    }
    judge.report.add(
        Code::BlockNotFilled,
        &path.field("finished"),
        words,
        "check the counts and sizes of the patches",
    );
}

/// Judges all quilts; `None` for one that cannot be used.
pub(crate) fn quilts<'s>(
    judge: &mut Judge<'_, '_>,
    scenario: &'s spec::Scenario,
    block_names: &Names<'_>,
    fabric_names: &Names<'_>,
) -> (Names<'s>, Vec<Option<Quilt>>) {
    let list = Path::of("quilts");
    let names = judge.names(&list, "quilt", scenario.quilts.iter().map(|quilt| quilt.name.as_str()));
    let one = |(at, quilt): (usize, &spec::Quilt)| {
        let path = list.element(at);
        let copies_path = path.field("copies");
        let copies = judge.count(&copies_path, quilt.copies.unwrap_or(1), 1, MOST_COUNT);
        let blocks_path = path.field("blocks");
        let blocks: Vec<Option<_>> = quilt
            .blocks
            .iter()
            .enumerate()
            .map(|(at, blocks)| {
                so_many(judge, &blocks_path.element(at), blocks, &scenario.blocks, block_names, fabric_names)
            })
            .collect();
        let blocks = blocks.into_iter().collect::<Option<Vec<_>>>()?;
        Some(Quilt { name: quilt.name.clone(), copies: copies?, blocks })
    };
    let quilts = scenario.quilts.iter().enumerate().map(one).collect();
    (names, quilts)
}

fn so_many(
    judge: &mut Judge<'_, '_>,
    path: &Path,
    spec: &spec::QuiltBlocks,
    blocks: &[spec::Block],
    block_names: &Names<'_>,
    fabric_names: &Names<'_>,
) -> Option<(usize, u32, Vec<FabricId>)> {
    let block = judge.refer(&path.field("block"), &spec.block, block_names);
    let count = judge.count(&path.field("count"), spec.count, 1, MOST_COUNT);
    let roles = path.field("fabrics");
    let fabrics: Vec<(&str, Option<FabricId>)> = spec
        .fabrics
        .iter()
        .map(|(role, fabric)| (role.as_str(), judge.refer(&roles.field(role), fabric, fabric_names)))
        .collect();
    let block_id = block?;
    let block = blocks.get(block_id)?;
    if !judge.report.readable(&roles) || !roles_match(judge, &roles, block, block_id, &fabrics) {
        return None;
    }
    let fabric_of =
        |role: &str| fabrics.iter().find(|(known, _)| *known == role).and_then(|(_, fabric)| *fabric);
    let lines: Option<Vec<FabricId>> = block.patches.iter().map(|line| fabric_of(&line.role)).collect();
    Some((block_id, count?, lines?))
}

/// Every role of the block has a fabric, and no other role has.
fn roles_match(
    judge: &mut Judge<'_, '_>,
    path: &Path,
    block: &spec::Block,
    block_id: usize,
    fabrics: &[(&str, Option<FabricId>)],
) -> bool {
    let list = Path::of("blocks").element(block_id).field("patches");
    let readable = judge.report.readable(&list)
        && (0..block.patches.len()).all(|at| judge.report.readable(&list.element(at).field("role")));
    if !readable {
        return false;
    }
    let wanted: BTreeSet<&str> = block.patches.iter().map(|line| line.role.as_str()).collect();
    let given: BTreeSet<&str> = fabrics.iter().map(|(role, _)| *role).collect();
    for role in wanted.difference(&given) {
        let role = shortened(role, 40);
        let problem =
            format!("the role \"{role}\" of block \"{}\" has no fabric", shortened(&block.name, 40));
        judge.report.add(
            Code::RoleWithoutFabric,
            path,
            problem,
            format!("add \"{role}\": and the name of a fabric"),
        );
    }
    for role in given.difference(&wanted) {
        let problem =
            format!("block \"{}\" has no role \"{}\"", shortened(&block.name, 40), shortened(role, 40));
        let hint = match nearest(role, wanted.iter().copied()) {
            Some(near) => format!("did you mean \"{near}\"?"),
            None => String::from("remove it"),
        };
        judge.report.add(Code::RoleNotInBlock, &path.field(role), problem, hint);
    }
    wanted == given
}
