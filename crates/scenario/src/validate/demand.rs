//! Adds up the patches wanted: one line for each fabric, shape and hand.

use std::collections::BTreeMap;

use patchlay_shape::Shape;

use super::judge::{Judge, Names};
use super::quilts::MOST_COUNT;
use crate::job::{Block, Demand, Fabric, FabricId, Hand, Quilt, ShapeId, hand};
use crate::path::Path;
use crate::problem::Code;
use crate::spec::{self, Spares};

/// Most patches in all.
const MOST_PATCHES: u64 = 10_000_000;

/// What a demand is for.
pub(crate) type Key = (FabricId, ShapeId, Hand);

/// Patches wanted, with the place in the file that first asks for each.
#[derive(Default)]
pub(crate) struct Wanted {
    lines: BTreeMap<Key, (u64, Option<Path>)>,
}

impl Wanted {
    fn add(&mut self, key: Key, count: u64, path: impl FnOnce() -> Path) {
        let line = self.lines.entry(key).or_insert_with(|| (0, Some(path())));
        line.0 = line.0.saturating_add(count);
    }
}

/// Loose patches, judged: shape, fabric, count, mirrored.
pub(crate) fn loose(
    judge: &mut Judge<'_, '_>,
    loose: &[spec::LoosePatches],
    shape_names: &Names<'_>,
    fabric_names: &Names<'_>,
) -> Vec<Option<(ShapeId, FabricId, u32, bool)>> {
    let list = Path::of("loose_patches");
    let one = |(at, spec): (usize, &spec::LoosePatches)| {
        let path = list.element(at);
        let shape = judge.refer(&path.field("shape"), &spec.shape, shape_names);
        let fabric = judge.refer(&path.field("fabric"), &spec.fabric, fabric_names);
        let count = judge.count(&path.field("count"), spec.count, 1, MOST_COUNT);
        Some((shape?, fabric?, count?, spec.mirrored))
    };
    loose.iter().enumerate().map(one).collect()
}

/// Adds up quilts and loose patches.
pub(crate) fn wanted(
    fabrics: &[Fabric],
    shapes: &[&Shape],
    blocks: &[Block],
    quilts: &[Quilt],
    loose: &[(ShapeId, FabricId, u32, bool)],
) -> Wanted {
    let mut wanted = Wanted::default();
    for (quilt_id, quilt) in quilts.iter().enumerate() {
        for (at, (block_id, count, line_fabrics)) in quilt.blocks.iter().enumerate() {
            let lines = blocks[*block_id].patches.iter().zip(line_fabrics);
            for (line, fabric) in lines {
                let key = (*fabric, line.shape, hand(shapes[line.shape], &fabrics[*fabric], line.mirrored));
                let each = u64::from(quilt.copies).saturating_mul(u64::from(*count));
                let path = || Path::of("quilts").element(quilt_id).field("blocks").element(at);
                wanted.add(key, each.saturating_mul(u64::from(line.count)), path);
            }
        }
    }
    for (at, (shape, fabric, count, mirrored)) in loose.iter().enumerate() {
        let key = (*fabric, *shape, hand(shapes[*shape], &fabrics[*fabric], *mirrored));
        wanted.add(key, u64::from(*count), || Path::of("loose_patches").element(at));
    }
    wanted
}

/// The demand lines with their spare patches, and where each was first asked for.
pub(crate) fn demands(
    judge: &mut Judge<'_, '_>,
    wanted: Wanted,
    spares: &Spares,
) -> Option<(Vec<Demand>, Vec<Path>)> {
    let path = Path::of("spare_patches");
    let spare: Box<dyn Fn(u64) -> u64> = match spares {
        Spares::Number(number) => {
            let number = u64::from(judge.count(&path.field("number"), *number, 0, MOST_COUNT)?);
            Box::new(move |_| number)
        }
        Spares::Percent(text) => {
            let percent = super::fabrics::percent(judge, &path.field("percent"), text)?;
            Box::new(move |needed| percent.of_count_rounded_up(needed))
        }
    };
    let mut demands = Vec::new();
    let mut paths = Vec::new();
    let mut sum = 0_u64;
    for ((fabric, shape, hand), (needed, path)) in wanted.lines {
        let demand = Demand { fabric, shape, hand, needed, spare: spare(needed) };
        sum = sum.saturating_add(needed).saturating_add(demand.spare);
        demands.push(demand);
        paths.push(path.unwrap_or_default());
    }
    if sum > MOST_PATCHES {
        let problem = format!("{sum} patches in all, spares included, are more than this program plans");
        let hint = format!("check counts and copies; at most {MOST_PATCHES} are taken");
        let place =
            if judge.report.readable(&Path::of("quilts")) { Path::of("quilts") } else { Path::root() };
        judge.report.add(Code::TooManyPatches, &place, problem, hint);
        return None;
    }
    Some((demands, paths))
}
