//! The plan written out: names, sizes, figures and the cloth balance.

use std::collections::BTreeSet;

use patchlay_measure::{Area, Length};
use patchlay_plan::{
    Balance, BalanceItem, BalanceLine, BayLoad, Event, EventTime, FabricPlan, Face, Figures, Group, Hand,
    LayUp, MatUse, PatchLine, Piece, Strip, Way,
};
use patchlay_scenario::job::{self, Job};

use crate::model::Model;
use crate::pieces::{Measures, OpenStrip};
use crate::work::{Laid, Work};

/// The parts of a plan that follow from the work alone.
#[derive(Clone, Debug)]
pub struct Written {
    /// Cloth.
    pub fabrics: Vec<FabricPlan>,
    /// Lay-ups.
    pub layups: Vec<LayUp>,
    /// Patches.
    pub patches: Vec<PatchLine>,
    /// Figures.
    pub figures: Figures,
    /// Cloth balances.
    pub balance: Vec<Balance>,
    /// Lay-ups of the proof block.
    pub proof_layups: usize,
}

/// Writes the plan out. `None` if a lay-up finds no mats, which validation rules out.
#[must_use]
pub fn write(job: &Job, model: &Model, work: &Work) -> Option<Written> {
    let order: Vec<Vec<usize>> = (0..job.fabrics.len()).map(|f| strip_order(work, f)).collect();
    let fabrics: Vec<FabricPlan> =
        (0..job.fabrics.len()).map(|f| fabric_plan(job, model, work, f, &order[f])).collect();
    let names = |f: usize, piece: (usize, usize)| {
        let place = order[f].iter().position(|&s| s == piece.0).unwrap_or(0);
        piece_name(&strip_name(job, f, place), piece.1)
    };
    let mut layups = Vec::new();
    for (index, laid) in work.laid.iter().enumerate() {
        layups.push(layup(job, laid, index, &names)?);
    }
    let patches = patch_lines(job, work);
    let figures = figures(job, work, &fabrics, &layups, &patches);
    let balance = (0..job.fabrics.len()).map(|f| balance(job, work, f, &fabrics[f])).collect();
    let proof_layups = work.laid.iter().filter(|laid| laid.proof).count();
    Some(Written { fabrics, layups, patches, figures, balance, proof_layups })
}

/// Strips that the proof block needs first, then widest first.
fn strip_order(work: &Work, f: usize) -> Vec<usize> {
    let mut order: Vec<usize> = (0..work.strips[f].len()).collect();
    let early = |s: usize| {
        work.laid.iter().filter(|laid| laid.proof).any(|laid| {
            laid.stacks.iter().enumerate().any(|(k, stack)| {
                stack.fabric == f && laid.passes.iter().any(|pass| pass[k].iter().any(|piece| piece.0 == s))
            })
        })
    };
    order.sort_by_key(|&s| (!early(s), std::cmp::Reverse(work.strips[f][s].width), s));
    order
}

fn strip_name(job: &Job, f: usize, place: usize) -> String {
    format!("{}{}", job.fabrics[f].letter, place + 1)
}

/// `A3` and 1 give `A3b`; past z letters double.
fn piece_name(strip: &str, index: usize) -> String {
    let letter = char::from(b'a' + u8::try_from(index % 26).unwrap_or(0));
    let again = index / 26 + 1;
    format!("{strip}{}", letter.to_string().repeat(again))
}

fn fabric_plan(job: &Job, model: &Model, work: &Work, f: usize, order: &[usize]) -> FabricPlan {
    let fabric = &job.fabrics[f];
    let measures = Measures {
        classes: &model.fabrics[f].classes,
        grid: model.grid,
        fold: job.fold_allowance,
        step: job.ruler_step,
    };
    let strips: Vec<Strip> = order
        .iter()
        .enumerate()
        .map(|(place, &s)| strip(model, &measures, f, &work.strips[f][s], strip_name(job, f, place)))
        .collect();
    let widths: Length = strips.iter().map(|strip| strip.width).sum();
    let taken = fabric.taken(strips.len(), widths);
    let bought = fabric.bought(taken);
    FabricPlan {
        fabric: fabric.name.clone(),
        kept_back: fabric.kept_back_total(),
        squaring: taken - fabric.kept_back_total() - widths,
        taken,
        bought,
        money: fabric.money(bought),
        strips,
    }
}

fn strip(model: &Model, measures: &Measures<'_>, f: usize, open: &OpenStrip, name: String) -> Strip {
    let pieces: Vec<Piece> = open
        .pieces
        .iter()
        .enumerate()
        .map(|(index, &(class, plies))| {
            let way =
                model.fabrics[f].classes[class].ways.iter().rev().find(|(width, _)| *width <= open.width);
            let width = way.map_or(open.width, |way| way.0);
            Piece {
                name: piece_name(&name, index),
                plies: plies * model.fabrics[f].plies_of(class),
                run: model.length(model.fabrics[f].run_of(class, open.width)),
                length: measures.length(class, open.width, plies),
                width: model.length(width),
            }
        })
        .collect();
    Strip { name, width: model.length(open.width), pieces }
}

fn layup(
    job: &Job,
    laid: &Laid,
    index: usize,
    names: &dyn Fn(usize, (usize, usize)) -> String,
) -> Option<LayUp> {
    let board = &job.boards[laid.board];
    let mut used: Vec<usize> =
        laid.stacks.iter().flat_map(|stack| board.bays[stack.bay].positions.clone()).collect();
    used.sort_unstable();
    used.dedup();
    let mats = patchlay_scenario::choose_mats(&job.cutter, board, &used)?
        .into_iter()
        .map(|place| MatUse {
            mat: job.cutter.mats[place.mat].name.clone(),
            x: place.x,
            y: place.y,
            turned: place.turned,
        })
        .collect();
    let mut bays: Vec<BayLoad> = Vec::new();
    let mut slots: Vec<(usize, usize)> = Vec::new();
    for stack in &laid.stacks {
        let positions = &board.bays[stack.bay].positions;
        if bays.last().is_none_or(|last| last.positions != *positions) {
            bays.push(BayLoad { positions: positions.clone(), groups: Vec::new() });
        }
        let bay = bays.len() - 1;
        slots.push((bay, stack.fabric));
        bays[bay].groups.extend(stack.parts.iter().map(|&(plies, down, way)| Group {
            fabric: job.fabrics[stack.fabric].name.clone(),
            plies,
            first_face: if down { Face::Down } else { Face::Up },
            way: if way == 0 { Way::Along } else { Way::Across },
        }));
    }
    let passes = laid
        .passes
        .iter()
        .map(|pass| {
            let mut by_bay: Vec<Vec<String>> = vec![Vec::new(); bays.len()];
            for (&(bay, f), pieces) in slots.iter().zip(pass) {
                by_bay[bay].extend(pieces.iter().map(|&piece| names(f, piece)));
            }
            by_bay
        })
        .collect();
    let name = format!("L{}", index + 1);
    Some(LayUp { name, board: board.name.clone(), mats, bays, passes, serves: laid.serves.clone() })
}

/// Plies face up and face down of one part.
fn faces(plies: u32, down_first: bool) -> (u64, u64) {
    let (first, second) = (u64::from(plies.div_ceil(2)), u64::from(plies / 2));
    if down_first { (second, first) } else { (first, second) }
}

/// For every stack of the work: (board, bay, fabric, plies face up, plies face down), passes multiplied in.
fn plies_of(work: &Work) -> impl Iterator<Item = (usize, usize, usize, u64, u64)> + '_ {
    work.laid.iter().flat_map(|laid| {
        let passes = laid.passes.len() as u64;
        laid.stacks.iter().map(move |stack| {
            let (up, down) = stack.parts.iter().fold((0, 0), |sum, &(plies, down, _)| {
                let (up, down) = faces(plies, down);
                (sum.0 + up, sum.1 + down)
            });
            (laid.board, stack.bay, stack.fabric, up * passes, down * passes)
        })
    })
}

fn patch_lines(job: &Job, work: &Work) -> Vec<PatchLine> {
    let mut cut = vec![0_u64; job.demands.len()];
    for (b, y, f, up, down) in plies_of(work) {
        for &(shape, drawn, mirrored) in &job.boards[b].bays[y].yields {
            let (drawn, mirrored) = (u64::from(drawn), u64::from(mirrored));
            for (line, demand) in
                job.demands.iter().enumerate().filter(|(_, d)| d.fabric == f && d.shape == shape)
            {
                cut[line] += match demand.hand {
                    job::Hand::Any => (up + down) * (drawn + mirrored),
                    job::Hand::Drawn => up * drawn + down * mirrored,
                    job::Hand::Mirrored => up * mirrored + down * drawn,
                };
            }
        }
    }
    job.demands
        .iter()
        .zip(cut)
        .map(|(demand, cut)| PatchLine {
            fabric: job.fabrics[demand.fabric].name.clone(),
            shape: job.shapes[demand.shape].name.clone(),
            hand: match demand.hand {
                job::Hand::Any => Hand::Any,
                job::Hand::Drawn => Hand::Drawn,
                job::Hand::Mirrored => Hand::Mirrored,
            },
            needed: demand.needed,
            spare: demand.spare,
            cut,
        })
        .collect()
}

fn figures(
    job: &Job,
    work: &Work,
    fabrics: &[FabricPlan],
    layups: &[LayUp],
    patches: &[PatchLine],
) -> Figures {
    let mut by_board = vec![0_u64; job.boards.len()];
    for laid in &work.laid {
        by_board[laid.board] += laid.passes.len() as u64;
    }
    let seconds_by_event = events(job, work, fabrics, by_board.iter().sum());
    let strips = || fabrics.iter().flat_map(|fabric| &fabric.strips);
    let pieces = || strips().flat_map(|strip| strip.pieces.iter().map(move |piece| (strip, piece)));
    let all_cut: u64 = plies_of(work)
        .map(|(b, y, _, up, down)| {
            let each: u64 = job.boards[b].bays[y].yields.iter().map(|y| u64::from(y.1 + y.2)).sum();
            each * (up + down)
        })
        .sum();
    let (most_plies, most_fabrics) = fullest(job, work);
    Figures {
        money: fabrics.iter().map(|fabric| fabric.money).sum(),
        length_taken: fabrics.iter().map(|fabric| fabric.taken).sum(),
        length_bought: fabrics.iter().map(|fabric| fabric.bought).sum(),
        area_taken: fabrics.iter().zip(&job.fabrics).map(|(plan, fabric)| plan.taken * fabric.width).sum(),
        area_bought: fabrics
            .iter()
            .zip(&job.fabrics)
            .map(|(plan, fabric)| plan.bought * fabric.stated_width)
            .sum(),
        passes: by_board.iter().sum(),
        passes_by_board: by_board,
        seconds: seconds_by_event.iter().map(|event| event.seconds).sum(),
        seconds_by_event,
        layups: layups.len() as u64,
        changes: layups.windows(2).map(|pair| changes(&pair[0], &pair[1])).sum(),
        pieces: pieces().count() as u64,
        kinds: fabrics.iter().map(kinds).sum(),
        folded_lengths: pieces().filter(|(_, piece)| piece.plies > 1).count() as u64,
        trimmed: pieces().filter(|(strip, piece)| piece.width < strip.width).count() as u64,
        strips: strips().count() as u64,
        spare_patches: all_cut - patches.iter().map(|line| line.needed).sum::<u64>().min(all_cut),
        most_plies,
        most_fabrics,
    }
}

/// Kinds of lengths and cuts of a fabric.
fn kinds(fabric: &FabricPlan) -> u64 {
    let pieces = fabric.strips.iter().flat_map(|strip| &strip.pieces);
    pieces.map(|piece| (piece.plies, piece.run, piece.width)).collect::<BTreeSet<_>>().len() as u64
}

/// What changes from a lay-up to the next of the same board: areas, and the mats.
fn changes(one: &LayUp, next: &LayUp) -> u64 {
    if one.board != next.board {
        return 0;
    }
    let stays = |load: &&BayLoad| next.bays.contains(load);
    let areas: BTreeSet<&[usize]> =
        one.bays.iter().chain(&next.bays).map(|load| load.positions.as_slice()).collect();
    let staying = one.bays.iter().filter(stays).count() as u64;
    areas.len() as u64 - staying + u64::from(one.mats != next.mats)
}

/// Most plies, and most different fabrics, at any point of any lay-up.
fn fullest(job: &Job, work: &Work) -> (u32, u32) {
    let mut most = (0, 0);
    for laid in &work.laid {
        for point in &job.boards[laid.board].points {
            let here: Vec<_> = laid.stacks.iter().filter(|stack| point.bays.contains(&stack.bay)).collect();
            let plies: u32 = here.iter().flat_map(|stack| &stack.parts).map(|part| part.0).sum();
            let mut fabrics: Vec<usize> = here.iter().map(|stack| stack.fabric).collect();
            fabrics.sort_unstable();
            fabrics.dedup();
            most = (most.0.max(plies), most.1.max(u32::try_from(fabrics.len()).unwrap_or(u32::MAX)));
        }
    }
    most
}

fn events(job: &Job, work: &Work, fabrics: &[FabricPlan], passes: u64) -> Vec<EventTime> {
    let times = &job.cutter.times;
    let strips: u64 = fabrics.iter().map(|fabric| fabric.strips.len() as u64).sum();
    let squarings: u64 = fabrics.iter().map(|fabric| (fabric.strips.len() as u64).div_ceil(5)).sum();
    let pieces = || fabrics.iter().flat_map(|f| &f.strips).flat_map(|s| s.pieces.iter().map(move |p| (s, p)));
    let folded = pieces().filter(|(_, piece)| piece.plies > 1).count() as u64;
    let all = pieces().count() as u64;
    let trimmed = pieces().filter(|(strip, piece)| piece.width < strip.width).count() as u64;
    let changes = 1 + work.laid.windows(2).filter(|pair| pair[0].board != pair[1].board).count() as u64;
    let changes = if work.laid.is_empty() { 0 } else { changes };
    Event::ALL
        .iter()
        .map(|&event| {
            let (count, each) = match event {
                Event::Square => (squarings, times.square),
                Event::CutStrip => (strips, times.cut_strip),
                Event::PressStrip => (strips, times.press_strip),
                Event::CrossCut => (all, times.cross_cut),
                Event::Trim => (trimmed, times.trim),
                Event::Fold => (folded, times.fold),
                Event::Place => (all - folded, times.place),
                Event::ChangeBoard => (changes, times.change_board),
                Event::Crank => (passes, times.crank),
                Event::TurnMat => (passes, times.turn_mat),
                Event::LiftOut => (passes, times.lift_out),
                Event::Count => (passes, times.count),
            };
            EventTime { event, times: count, seconds: count * u64::from(each) }
        })
        .collect()
}

fn balance(job: &Job, work: &Work, f: usize, plan: &FabricPlan) -> Balance {
    let fabric = &job.fabrics[f];
    let zero = Area::from_units(0);
    let times = |area: Area, n: u64| area * i64::try_from(n).unwrap_or(i64::MAX);
    let (mut finished, mut seams, mut needed_cut) = (zero, zero, zero);
    for demand in job.demands.iter().filter(|demand| demand.fabric == f) {
        let areas = job.shapes[demand.shape].shape.areas();
        finished += times(areas.finished, demand.needed);
        seams += times(areas.cut - areas.finished, demand.needed);
        needed_cut += times(areas.cut, demand.needed);
    }
    let (mut patches, mut boxes, mut cloth) = (zero, zero, zero);
    for (b, y, _, up, down) in plies_of(work).filter(|ply| ply.2 == f) {
        let bay = &job.boards[b].bays[y];
        let plies = up + down;
        for &(shape, drawn, mirrored) in &bay.yields {
            patches += times(job.shapes[shape].shape.areas().cut, plies * u64::from(drawn + mirrored));
        }
        let (width, length) = (bay.place.width(), bay.place.length());
        boxes += times(width * length, plies);
        let m = bay.margins;
        cloth += times((width + m[0] + m[1]) * (length + m[2] + m[3]), plies);
    }
    let as_cut: Area =
        plan.strips.iter().map(|s| s.width * s.pieces.iter().map(|p| p.length).sum::<Length>()).sum();
    let in_strips: Area = plan.strips.iter().map(|s| s.width * fabric.width).sum();
    let total = plan.bought * fabric.stated_width;
    let after = patchlay_measure::width_after_washing(plan.bought, fabric.shrinkage).unwrap_or(plan.bought);
    let known = [
        finished,
        seams,
        patches - needed_cut,
        boxes - patches,
        cloth - boxes,
        as_cut - cloth,
        in_strips - as_cut,
        plan.squaring * fabric.width,
        plan.kept_back * fabric.width,
        total - after * fabric.width,
    ];
    let rest = total - known.iter().copied().sum();
    let lines = BalanceItem::ALL
        .iter()
        .zip(known.into_iter().chain([rest]))
        .map(|(&item, area)| BalanceLine { item, area })
        .collect();
    Balance { fabric: fabric.name.clone(), total, lines }
}
