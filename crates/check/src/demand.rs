//! Patches wanted, line by line, and the patches that plies yield.

use std::collections::BTreeMap;

use patchlay_plan::{Face, Hand};
use patchlay_scenario::spec::{Block, QuiltBlocks, Scenario, Spares};

use crate::facts::{Cloth, NamedShape, Reader, Unusable};
use crate::geometry::{Bay, Board};

/// Most patches that are counted.
const MOST_PATCHES: u128 = 1_000_000_000;

/// Patches wanted of one fabric, shape and hand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Line {
    pub(crate) fabric: usize,
    pub(crate) shape: usize,
    pub(crate) hand: Hand,
    /// By quilts and loose patches.
    pub(crate) needed: u64,
    /// On top.
    pub(crate) spare: u64,
}

/// Everything wanted.
#[derive(Debug, Default)]
pub(crate) struct Demand {
    /// By fabric, shape and hand.
    pub(crate) lines: Vec<Line>,
    /// Patches of the proof block by line, if one is asked for.
    pub(crate) proof_block: Option<Vec<u64>>,
    /// Blocks by the fabrics that they are cut from.
    pub(crate) blocks: Vec<BlockWanted>,
    /// Loose patches by line.
    pub(crate) loose: Vec<u64>,
}

/// Copies wanted of one block from the same fabrics, over all quilts.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct BlockWanted {
    pub(crate) block: String,
    /// Fabric of every line of the block's patches.
    pub(crate) fabrics: Vec<String>,
    pub(crate) copies: u64,
    /// Patches of one copy, by demand line.
    pub(crate) lines: Vec<u64>,
}

impl Demand {
    /// Whether anything of a fabric is wanted.
    pub(crate) fn wants(&self, fabric: usize) -> bool {
        self.lines.iter().any(|line| line.fabric == fabric)
    }
}

/// Fabric, shape, and the hand as a number in the order of the lines.
pub(crate) type Key = (usize, usize, u8);

/// Counts patches by fabric, shape and hand.
pub(crate) struct Counter<'a> {
    pub(crate) fabrics: &'a [Cloth],
    pub(crate) shapes: &'a [NamedShape],
}

impl Counter<'_> {
    pub(crate) fn key(&self, fabric: &str, shape: &str, mirrored: bool) -> Result<Key, Unusable> {
        let missing = |what: &str, name: &str| Unusable::new("quilts", format!("there is no {what} {name}"));
        let f = self
            .fabrics
            .iter()
            .position(|known| known.name == fabric)
            .ok_or_else(|| missing("fabric", fabric))?;
        let s = self
            .shapes
            .iter()
            .position(|known| known.name == shape)
            .ok_or_else(|| missing("shape", shape))?;
        let hand = match (self.shapes[s].shape.handed() && !self.fabrics[f].reversible, mirrored) {
            (false, _) => 0,
            (true, false) => 1,
            (true, true) => 2,
        };
        Ok((f, s, hand))
    }

    /// Adds the patches of so many blocks.
    pub(crate) fn add_blocks(
        &self,
        wanted: &mut BTreeMap<Key, u128>,
        block: &Block,
        blocks: &QuiltBlocks,
        times: u128,
    ) -> Result<(), Unusable> {
        for patches in &block.patches {
            let fabric = blocks.fabrics.get(&patches.role).ok_or_else(|| {
                Unusable::new("quilts", format!("block {} has no fabric for {}", block.name, patches.role))
            })?;
            let key = self.key(fabric, &patches.shape, patches.mirrored)?;
            // Three factors below 2^32 stay far below 2^128.
            *wanted.entry(key).or_default() += times * u128::from(patches.count);
            if wanted[&key] > MOST_PATCHES {
                return Err(Unusable::new("quilts", "there are too many patches"));
            }
        }
        Ok(())
    }
}

/// Reads what is wanted.
pub(crate) fn read(
    reader: &Reader,
    spec: &Scenario,
    fabrics: &[Cloth],
    shapes: &[NamedShape],
) -> Result<Demand, Unusable> {
    let counter = Counter { fabrics, shapes };
    let mut wanted = BTreeMap::new();
    for quilt in &spec.quilts {
        for blocks in &quilt.blocks {
            let times = u128::from(quilt.copies.unwrap_or(1)) * u128::from(blocks.count);
            counter.add_blocks(&mut wanted, block_named(spec, &blocks.block)?, blocks, times)?;
        }
    }
    for loose in &spec.loose_patches {
        let key = counter.key(&loose.fabric, &loose.shape, loose.mirrored)?;
        *wanted.entry(key).or_default() += u128::from(loose.count);
    }
    wanted.retain(|_, count| *count > 0);
    if wanted.values().sum::<u128>() > MOST_PATCHES {
        return Err(Unusable::new("quilts", "there are too many patches"));
    }
    let keys: Vec<Key> = wanted.keys().copied().collect();
    let lines = wanted
        .into_iter()
        .map(|((fabric, shape, hand), needed)| {
            let needed = u64::try_from(needed).unwrap_or(u64::MAX);
            let hand = [Hand::Any, Hand::Drawn, Hand::Mirrored][usize::from(hand)];
            Ok(Line { fabric, shape, hand, needed, spare: spares(reader, &spec.spare_patches, needed)? })
        })
        .collect::<Result<_, Unusable>>()?;
    let loose = loose_patches(spec, &counter, &keys)?;
    let blocks = blocks_wanted(spec, &counter, &keys)?;
    Ok(Demand { lines, proof_block: proof_block(spec, &counter, &keys)?, blocks, loose })
}

fn by_line(wanted: &BTreeMap<Key, u128>, keys: &[Key]) -> Vec<u64> {
    let of = |key: &Key| wanted.get(key).map_or(0, |&count| u64::try_from(count).unwrap_or(u64::MAX));
    keys.iter().map(of).collect()
}

fn loose_patches(spec: &Scenario, counter: &Counter<'_>, keys: &[Key]) -> Result<Vec<u64>, Unusable> {
    let mut wanted = BTreeMap::new();
    for loose in &spec.loose_patches {
        let key = counter.key(&loose.fabric, &loose.shape, loose.mirrored)?;
        *wanted.entry(key).or_default() += u128::from(loose.count);
    }
    Ok(by_line(&wanted, keys))
}

fn blocks_wanted(spec: &Scenario, counter: &Counter<'_>, keys: &[Key]) -> Result<Vec<BlockWanted>, Unusable> {
    let mut all: Vec<BlockWanted> = Vec::new();
    for quilt in &spec.quilts {
        for blocks in &quilt.blocks {
            let block = block_named(spec, &blocks.block)?;
            let role = |role: &String| blocks.fabrics.get(role).cloned().unwrap_or_default();
            let fabrics: Vec<String> = block.patches.iter().map(|patches| role(&patches.role)).collect();
            let copies = u64::from(quilt.copies.unwrap_or(1)) * u64::from(blocks.count);
            match all.iter_mut().find(|known| known.block == block.name && known.fabrics == fabrics) {
                Some(known) => known.copies = known.copies.saturating_add(copies),
                None => {
                    let mut wanted = BTreeMap::new();
                    counter.add_blocks(&mut wanted, block, blocks, 1)?;
                    let lines = by_line(&wanted, keys);
                    all.push(BlockWanted { block: block.name.clone(), fabrics, copies, lines });
                }
            }
        }
    }
    all.retain(|known| known.copies > 0 && known.lines.iter().any(|&count| count > 0));
    Ok(all)
}

pub(crate) fn block_named<'s>(spec: &'s Scenario, name: &str) -> Result<&'s Block, Unusable> {
    let block = spec.blocks.iter().find(|block| block.name == name);
    block.ok_or_else(|| Unusable::new("quilts", format!("there is no block {name}")))
}

fn spares(reader: &Reader, spares: &Spares, needed: u64) -> Result<u64, Unusable> {
    Ok(match spares {
        Spares::Number(number) => u64::from(*number),
        Spares::Percent(text) => reader.percent("spare_patches", text)?.of_count_rounded_up(needed),
    })
}

fn proof_block(spec: &Scenario, counter: &Counter<'_>, keys: &[Key]) -> Result<Option<Vec<u64>>, Unusable> {
    let Some(asked) = &spec.proof_block else { return Ok(None) };
    let none = || Unusable::new("proof_block", "there is no such block of such a quilt");
    let quilt = spec.quilts.iter().find(|quilt| quilt.name == asked.quilt).ok_or_else(none)?;
    let blocks = match &asked.block {
        Some(name) => quilt.blocks.iter().find(|blocks| blocks.block == *name),
        None => quilt.blocks.first(),
    };
    let blocks = blocks.ok_or_else(none)?;
    let mut wanted = BTreeMap::new();
    counter.add_blocks(&mut wanted, block_named(spec, &blocks.block)?, blocks, 1)?;
    let of = |key: &Key| wanted.get(key).map_or(0, |&count| u64::try_from(count).unwrap_or(u64::MAX));
    Ok(Some(keys.iter().map(of).collect()))
}

/// Patches of a demand line that one ply in an area yields.
pub(crate) fn yields(board: &Board, bay: &Bay, face: Face, shape: usize, hand: Hand) -> u64 {
    let mut count = 0;
    for position in
        bay.positions.iter().map(|&at| &board.positions[at]).filter(|position| position.shape == shape)
    {
        let (drawn, mirrored) = (u64::from(position.drawn), u64::from(position.mirrored));
        // Cloth that lies face down comes out as the mirror image.
        let (drawn, mirrored) = match face {
            Face::Up => (drawn, mirrored),
            Face::Down => (mirrored, drawn),
        };
        count += match hand {
            Hand::Any => drawn + mirrored,
            Hand::Drawn => drawn,
            Hand::Mirrored => mirrored,
        };
    }
    count
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::facts::Facts;

    /// The spires by hand, with other fabrics, spares and quilts.
    fn facts(change: impl FnOnce(&mut serde_json::Value)) -> Facts {
        let text = include_str!("../../../tests/damage/good/spires.json");
        let mut scenario: serde_json::Value = serde_json::from_str(text).unwrap();
        change(&mut scenario);
        Facts::read(&scenario.to_string()).unwrap().0
    }

    fn lines(facts: &Facts) -> Vec<(usize, Hand, u64, u64)> {
        facts.demand.lines.iter().map(|line| (line.fabric, line.hand, line.needed, line.spare)).collect()
    }

    #[test]
    fn hands_are_counted_apart_unless_the_fabric_is_reversible() {
        let apart = [(0, Hand::Drawn, 4, 0), (0, Hand::Mirrored, 2, 0), (1, Hand::Drawn, 2, 0)];
        assert_eq!(lines(&facts(|_| ())), apart);
        let reversible = facts(|scenario| scenario["fabrics"][0]["reversible"] = true.into());
        assert_eq!(lines(&reversible), [(0, Hand::Any, 6, 0), (1, Hand::Drawn, 2, 0)]);
    }

    #[test]
    fn spare_patches_round_up_line_by_line() {
        // 30 % of 4, 2 and 2 patches are 1.2, 0.6 and 0.6.
        let some = facts(|scenario| scenario["spare_patches"] = serde_json::json!({ "percent": 30 }));
        assert_eq!(lines(&some).iter().map(|line| line.3).collect::<Vec<_>>(), [2, 1, 1]);
        // 50 % are exactly 2, 1 and 1.
        let half = facts(|scenario| scenario["spare_patches"] = serde_json::json!({ "percent": "50" }));
        assert_eq!(lines(&half).iter().map(|line| line.3).collect::<Vec<_>>(), [2, 1, 1]);
    }

    #[test]
    fn quilts_multiply_copies_blocks_and_patches() {
        let facts = facts(|scenario| {
            scenario["blocks"] = serde_json::json!([{ "name": "B", "patches": [
                { "shape": "spire", "role": "r", "count": 3 },
                { "shape": "spire", "role": "r", "count": 1, "mirrored": true }
            ] }]);
            scenario["quilts"] = serde_json::json!([{ "name": "Q", "copies": 2, "blocks": [
                { "block": "B", "count": 5, "fabrics": { "r": "Meadow" } }
            ] }]);
            scenario["proof_block"] = serde_json::json!({ "quilt": "Q" });
        });
        // 2 quilts x 5 blocks x 3 patches, and the 2 loose ones.
        assert_eq!(lines(&facts)[2..], [(1, Hand::Drawn, 32, 0), (1, Hand::Mirrored, 10, 0)]);
        assert_eq!(facts.demand.proof_block, Some(vec![0, 0, 3, 1]));
    }

    #[test]
    fn a_ply_face_down_yields_mirror_images() {
        let facts = facts(|_| ());
        let board = &facts.boards[0];
        // Positions 1 and 2 cut two as drawn each, position 3 two mirrored.
        let all = &board.bays[board.bay_of(&[0, 1, 2]).unwrap()];
        for (face, drawn, mirrored) in [(Face::Up, 4, 2), (Face::Down, 2, 4)] {
            assert_eq!(yields(board, all, face, 0, Hand::Drawn), drawn);
            assert_eq!(yields(board, all, face, 0, Hand::Mirrored), mirrored);
            assert_eq!(yields(board, all, face, 0, Hand::Any), 6);
        }
    }
}
