//! Cases made up to look like the work of quilters, of any size: shapes with several positions on a board, blocks that
//! need a few patches of each, spread over fabrics. A seed gives the same case on every machine.
//!
//! The sizes are common practice, no source: usable widths of 40 to 43 1/4 in, four to six plies, boards of one to four
//! positions, patches of 2 1/2 to 8 1/2 in with their margins, in eighths.

use std::collections::BTreeMap;

use patchlay_optimise::search::Random;

use crate::cloth_and_passes::{Bay, Spec};

/// What a family's cases are like.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Size {
    pub(crate) fabrics: usize,
    pub(crate) shapes: usize,
    pub(crate) boards: usize,
    pub(crate) quilts: usize,
    /// Blocks of every quilt.
    pub(crate) blocks: u64,
    /// Fabrics of every quilt.
    pub(crate) palette: usize,
    /// Price of a pass in eighths of an inch of cloth: one of these.
    pub(crate) pass: &'static [i32],
}

/// Usable widths, eighths of an inch.
const USABLE: [i32; 4] = [320, 332, 336, 346];
/// Plies of a pass.
const PLIES: [i64; 4] = [4, 5, 6, 6];
/// Smallest and largest size of the cloth of one ply on one position, eighths of an inch.
const SIZES: (i32, i32) = (20, 68);
/// What two neighbours share of their margins, eighths of an inch.
const SHARED: i32 = 2;
/// Longest run of positions, eighths of an inch.
const LONGEST: i32 = 184;
/// Most positions of a board.
const MOST_POSITIONS: usize = 4;
/// Most shapes of a block.
const BLOCK_SHAPES: usize = 3;
/// Patches of one shape and one role in a block.
const PER_BLOCK: [u64; 5] = [1, 2, 4, 4, 8];

/// Cloth of one ply on a single position, and its patches.
struct Shape {
    width: i32,
    length: i32,
    patches: u32,
}

/// A case of a size.
pub(crate) fn case(size: &Size, seed: u64) -> Spec {
    let mut draw = Draw(Random::new(seed));
    let usable = draw.one_of(&USABLE);
    let shapes: Vec<Shape> = (0..size.shapes).map(|_| shape(&mut draw)).collect();
    let (board_positions, bays) = boards(&mut draw, size, &shapes);
    Spec {
        usable_width_in: inches(usable),
        ply_limit: draw.one_of(&PLIES),
        pass_cost_in: inches(draw.one_of(size.pass)),
        board_positions,
        bays,
        demand: demand(&mut draw, size),
    }
}

fn inches(eighths: i32) -> f64 {
    f64::from(eighths) / 8.0
}

/// Draws from a generator.
struct Draw(Random);

impl Draw {
    fn one_of<T: Copy>(&mut self, of: &[T]) -> T {
        of[self.0.below(of.len())]
    }

    fn between(&mut self, from: usize, to: usize) -> usize {
        from + self.0.below(to - from + 1)
    }

    fn shuffled(&mut self, n: usize) -> Vec<usize> {
        let mut all: Vec<usize> = (0..n).collect();
        (1..n).for_each(|at| all.swap(at, self.0.below(at + 1)));
        all
    }
}

/// Half of the shapes take square cloth; the larger the cloth the more patches are cut from it.
fn shape(draw: &mut Draw) -> Shape {
    let mut side = || {
        let steps = usize::try_from(SIZES.1 - SIZES.0).unwrap_or(0);
        SIZES.0 + i32::try_from(draw.0.below(steps + 1)).unwrap_or(0)
    };
    let (width, other) = (side(), side());
    let length = if draw.0.below(2) == 0 { width } else { other };
    let patches = match width.min(length) {
        ..28 => draw.one_of(&[1, 1, 2]),
        28..44 => draw.one_of(&[1, 2, 4]),
        _ => draw.one_of(&[2, 4, 8]),
    };
    Shape { width, length, patches }
}

/// Every shape is on a board; where there are more boards than shapes, some are on several.
fn boards(draw: &mut Draw, size: &Size, shapes: &[Shape]) -> (Vec<usize>, Vec<Bay>) {
    let order = draw.shuffled(shapes.len());
    let (mut positions, mut bays) = (Vec::new(), Vec::new());
    for board in 0..size.boards {
        let mut of_board: Vec<usize> =
            (0..size.shapes).filter(|at| at % size.boards == board).map(|at| order[at]).collect();
        if of_board.is_empty() {
            of_board.push(order[board % size.shapes]);
        }
        if of_board.len() == 1 && draw.0.below(2) == 0 {
            of_board.push(draw.0.below(size.shapes));
            of_board.dedup();
        }
        let each = (MOST_POSITIONS / of_board.len()).max(1);
        let mut count = 0;
        for shape in of_board {
            let row = draw.between(each.min(2), each);
            count += run(board, count, row, shape, &shapes[shape], &mut bays);
        }
        positions.push(count);
    }
    (positions, bays)
}

/// The bays of a row of positions of one shape: every run of neighbours. Returns how many positions there was room for.
fn run(board: usize, first: usize, row: usize, number: usize, shape: &Shape, bays: &mut Vec<Bay>) -> usize {
    let across = |n: usize| i32::try_from(n).unwrap_or(0) * (shape.width - SHARED) + SHARED;
    let row = (1..=row).rev().find(|&n| across(n) <= LONGEST).unwrap_or(1);
    for from in 0..row {
        for to in from + 1..=row {
            bays.push(Bay {
                board,
                positions: (first + from..first + to).collect(),
                width_in: inches(across(to - from)),
                length_in: inches(shape.length),
                shape: number,
                patches_per_ply: shape.patches * u32::try_from(to - from).unwrap_or(0),
            });
        }
    }
    row
}

/// Patches of every shape by fabric. In a quilt every shape of the block has one to three roles; the fabrics of the quilt
/// are dealt out to the roles, each to two, and the blocks of a role go round its fabrics.
fn demand(draw: &mut Draw, size: &Size) -> Vec<BTreeMap<String, u64>> {
    let mut demand = vec![BTreeMap::new(); size.fabrics];
    let mut deck = Vec::new();
    for _ in 0..size.quilts {
        if deck.len() < size.palette {
            deck = draw.shuffled(size.fabrics);
        }
        let fabrics = deck.split_off(deck.len() - size.palette);
        let mut shapes = draw.shuffled(size.shapes);
        shapes.truncate(BLOCK_SHAPES);
        let mut roles = Vec::new();
        for shape in shapes {
            for _ in 0..draw.between(1, 3) {
                roles.push((shape, draw.one_of(&PER_BLOCK)));
            }
        }
        let slots = (2 * size.palette).max(roles.len());
        for (role, &(shape, patches)) in roles.iter().enumerate() {
            let own: Vec<usize> =
                (role..slots).step_by(roles.len()).map(|slot| fabrics[slot % fabrics.len()]).collect();
            for (at, &fabric) in own.iter().enumerate() {
                let blocks = (at as u64..size.blocks).step_by(own.len()).count() as u64;
                *demand[fabric].entry(shape.to_string()).or_default() += blocks * patches;
            }
        }
    }
    demand
}

#[cfg(test)]
mod tests {
    use super::*;

    const BED: Size =
        Size { fabrics: 8, shapes: 4, boards: 3, quilts: 1, blocks: 42, palette: 8, pass: &[8, 16] };

    fn text(seed: u64) -> String {
        serde_json::to_string(&case(&BED, seed)).expect("a case file")
    }

    #[test]
    fn a_seed_gives_the_same_case() {
        assert_eq!(text(5), text(5));
        assert_ne!(text(5), text(6));
    }

    /// By hand: forty-two like blocks need a multiple of forty-two patches of each shape, however fabrics share them.
    #[test]
    fn all_blocks_are_alike_and_can_be_cut() {
        for seed in 0..50 {
            let spec = case(&BED, seed);
            let mut patches: BTreeMap<&String, u64> = BTreeMap::new();
            for (shape, n) in spec.demand.iter().flatten() {
                *patches.entry(shape).or_default() += n;
                assert!(spec.bays.iter().any(|bay| bay.shape.to_string() == *shape), "seed {seed}");
            }
            assert!(patches.values().all(|n| n % 42 == 0), "seed {seed}");
            assert!(spec.demand.iter().all(|demand| !demand.is_empty()), "seed {seed}");
        }
    }

    /// By hand: three positions of 3 in, of which neighbours share 1/4 in, make bays of 3, 5 3/4 and 8 1/2 in.
    #[test]
    fn bays_are_runs_of_neighbours() {
        let mut bays = Vec::new();
        let shape = Shape { width: 24, length: 40, patches: 2 };
        assert_eq!(run(0, 1, 3, 0, &shape, &mut bays), 3);
        let mut found: Vec<_> =
            bays.iter().map(|bay| (bay.positions.clone(), bay.width_in, bay.patches_per_ply)).collect();
        found.sort_by(|a, b| a.0.cmp(&b.0));
        let by_hand = [
            (vec![1], 3.0, 2),
            (vec![1, 2], 5.75, 4),
            (vec![1, 2, 3], 8.5, 6),
            (vec![2], 3.0, 2),
            (vec![2, 3], 5.75, 4),
            (vec![3], 3.0, 2),
        ];
        assert_eq!(found, by_hand);
    }
}
