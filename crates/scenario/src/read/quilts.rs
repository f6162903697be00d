//! Reads blocks, quilts, loose patches, the aim and the proof block.

use std::collections::BTreeMap;

use crate::path::Path;
use crate::problem::Code;
use crate::read::fields::{Fields, Need, text};
use crate::read::most;
use crate::report::Report;
use crate::spec::{Aim, AimKind, Block, BlockPatches, LoosePatches, ProofBlock, Quilt, QuiltBlocks};
use crate::tree::{Kind, Node};

/// Reads one block.
pub(crate) fn block(report: &mut Report<'_>, node: &Node, path: &Path) -> Block {
    let mut f = Fields::open(report, node, path, "a block");
    let block = Block {
        name: f.text("name", Need::Needed("give the block a name")).unwrap_or_default(),
        finished: f.length("finished", Need::Optional),
        patches: f.list(
            "patches",
            Need::Needed("list its patches: shape, role, count"),
            most::PATCH_LINES,
            block_patches,
        ),
    };
    f.finish();
    block
}

fn block_patches(report: &mut Report<'_>, node: &Node, path: &Path) -> BlockPatches {
    let mut f = Fields::open(report, node, path, "a line of patches");
    let patches = BlockPatches {
        shape: f.text("shape", Need::Needed("name the shape")).unwrap_or_default(),
        role: f
            .text("role", Need::Needed("name the role, for example \"star\"; quilts give it a fabric"))
            .unwrap_or_default(),
        count: f.count("count", Need::Needed("say how many in one block")).unwrap_or(1),
        mirrored: f.flag("mirrored").unwrap_or(false),
    };
    f.finish();
    patches
}

/// Reads one quilt.
pub(crate) fn quilt(report: &mut Report<'_>, node: &Node, path: &Path) -> Quilt {
    let mut f = Fields::open(report, node, path, "a quilt");
    let quilt = Quilt {
        name: f.text("name", Need::Needed("give the quilt a name")).unwrap_or_default(),
        copies: f.count("copies", Need::Optional),
        destination: f.text("for", Need::Optional),
        urgent: f.flag("urgent"),
        blocks: f.list(
            "blocks",
            Need::Needed("list its blocks: block, count, fabrics"),
            most::QUILT_BLOCKS,
            quilt_blocks,
        ),
    };
    f.finish();
    quilt
}

fn quilt_blocks(report: &mut Report<'_>, node: &Node, path: &Path) -> QuiltBlocks {
    let mut f = Fields::open(report, node, path, "so many of a block");
    let blocks = QuiltBlocks {
        block: f.text("block", Need::Needed("name the block")).unwrap_or_default(),
        count: f.count("count", Need::Needed("say how many in one quilt")).unwrap_or(1),
        fabrics: f
            .object(
                "fabrics",
                Need::Needed("give every role of the block a fabric: {\"star\": \"Navy\"}"),
                roles,
            )
            .unwrap_or_default(),
    };
    f.finish();
    blocks
}

/// Role -> fabric. A fabric that cannot be read stays in the map as an empty name, noted in the report.
fn roles(report: &mut Report<'_>, node: &Node, path: &Path) -> BTreeMap<String, String> {
    let Kind::Object(members) = &node.kind else {
        report.add(Code::WrongType, path, "roles are an object in braces", "write {\"role\": \"fabric\"}");
        report.cannot_read(path);
        return BTreeMap::new();
    };
    if members.len() > most::PATCH_LINES {
        report.add(Code::TooMany, path, "too many roles", format!("give at most {}", most::PATCH_LINES));
        report.cannot_read(path);
        return BTreeMap::new();
    }
    let mut roles = BTreeMap::new();
    for member in members {
        let here = path.field(&member.name);
        let fabric = text(report, &member.value, &here).unwrap_or_default();
        roles.insert(member.name.clone(), fabric);
    }
    roles
}

/// Reads one line of loose patches.
pub(crate) fn loose(report: &mut Report<'_>, node: &Node, path: &Path) -> LoosePatches {
    let mut f = Fields::open(report, node, path, "loose patches");
    let loose = LoosePatches {
        shape: f.text("shape", Need::Needed("name the shape")).unwrap_or_default(),
        fabric: f.text("fabric", Need::Needed("name the fabric")).unwrap_or_default(),
        count: f.count("count", Need::Needed("say how many")).unwrap_or(1),
        mirrored: f.flag("mirrored").unwrap_or(false),
    };
    f.finish();
    loose
}

/// Reads the aim.
pub(crate) fn aim(report: &mut Report<'_>, node: &Node, path: &Path) -> Aim {
    let mut f = Fields::open(report, node, path, "the aim");
    let aim = Aim {
        put_first: f
            .choice("put_first", Need::Needed("write \"least_cloth\", \"fewest_passes\", \"least_time\", \"least_cost\" or \"weighted\""))
            .unwrap_or(AimKind::LeastCloth),
        hour_is_worth: f.decimal("hour_is_worth", Need::Optional),
        pass_is_worth: f.length("pass_is_worth", Need::Optional),
    };
    f.finish();
    aim
}

/// What stands in for an aim that is missing.
pub(crate) fn aim_stand_in() -> Aim {
    Aim { put_first: AimKind::LeastCloth, hour_is_worth: None, pass_is_worth: None }
}

/// Reads the proof block.
pub(crate) fn proof_block(report: &mut Report<'_>, node: &Node, path: &Path) -> ProofBlock {
    let mut f = Fields::open(report, node, path, "the proof block");
    let proof = ProofBlock {
        quilt: f.text("quilt", Need::Needed("name the quilt")).unwrap_or_default(),
        block: f.text("block", Need::Optional),
    };
    f.finish();
    proof
}
