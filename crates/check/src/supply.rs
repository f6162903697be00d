//! Strips, the lengths and cuts on them, and the lay-ups that they supply: every name resolved, every piece used
//! once, every ply of the size, fabric and number that its group says.

use std::collections::{BTreeMap, BTreeSet};

use patchlay_measure::Length;
use patchlay_plan::{BayLoad, Face, Group, LayUp, Piece, Plan, Strip, Way};

use crate::facts::Facts;
use crate::fault::{FaultCode, Faults};
use crate::geometry::{Board, ways};

/// A lay-up with every name resolved; what could not be resolved is left out (and stands among the faults).
#[derive(Debug)]
pub(crate) struct Loaded<'p> {
    pub(crate) plan: &'p LayUp,
    pub(crate) board: usize,
    pub(crate) loads: Vec<Load<'p>>,
    pub(crate) passes: u64,
}

/// An area of a lay-up and its groups.
#[derive(Clone, Debug)]
pub(crate) struct Load<'p> {
    pub(crate) bay: usize,
    /// Fabric and group, from the bottom up.
    pub(crate) groups: Vec<(usize, &'p Group)>,
}

impl Load<'_> {
    /// Plies of a group lying face up and face down.
    pub(crate) fn faces(group: &Group) -> [(Face, u64); 2] {
        let plies = u64::from(group.plies);
        [(group.first_face, plies.div_ceil(2)), (group.first_face.other(), plies / 2)]
    }
}

/// Judges the strips of every fabric; fabrics that the scenario does not have are named elsewhere.
pub(crate) fn strips(facts: &Facts, plan: &Plan, faults: &mut Faults) {
    let mut strip_names = BTreeSet::new();
    let mut piece_names = BTreeSet::new();
    for (at, fabric) in plan.fabrics.iter().enumerate() {
        for strip in &fabric.strips {
            name(&mut strip_names, &strip.name, "strip", faults);
            strip
                .pieces
                .iter()
                .for_each(|piece| name(&mut piece_names, &piece.name, "length or cut", faults));
            if let Some(cloth) = facts.fabrics.get(at) {
                one_strip(facts, strip, cloth.strip_capacity(), faults);
            }
        }
    }
}

fn name<'p>(known: &mut BTreeSet<&'p str>, name: &'p str, what: &str, faults: &mut Faults) {
    if name.is_empty() {
        faults.add(FaultCode::EmptyName, what, "", "a name");
    } else if !known.insert(name) {
        faults.add(FaultCode::DuplicateName, what, name, "a name of its own");
    }
}

fn one_strip(facts: &Facts, strip: &Strip, capacity: Length, faults: &mut Faults) {
    let place = format!("strip {}", strip.name);
    on_step(facts, &place, "width", strip.width, faults);
    let mut used: i64 = 0;
    for piece in &strip.pieces {
        one_piece(facts, strip, piece, faults);
        used = used.saturating_add(piece.length.units());
    }
    if used > capacity.units() {
        faults.add(FaultCode::StripTooLong, place, used, format!("at most {}", capacity.units()));
    }
}

fn on_step(facts: &Facts, place: &str, what: &str, length: Length, faults: &mut Faults) {
    let place = format!("{place}, {what}");
    if !length.is_positive() {
        faults.add(FaultCode::SizeNotPositive, place, length.units(), "above 0");
    } else if length.ceil_to(facts.rules.step) != length {
        let step = facts.rules.step.units();
        faults.add(FaultCode::OffRulerStep, place, length.units(), format!("a multiple of {step}"));
    }
}

fn one_piece(facts: &Facts, strip: &Strip, piece: &Piece, faults: &mut Faults) {
    let place = format!("length or cut {}", piece.name);
    on_step(facts, &place, "run", piece.run, faults);
    on_step(facts, &place, "length", piece.length, faults);
    on_step(facts, &place, "width", piece.width, faults);
    if piece.width > strip.width {
        faults.add(
            FaultCode::WiderThanStrip,
            &place,
            piece.width.units(),
            format!("at most {}", strip.width.units()),
        );
    }
    if piece.plies == 0 {
        faults.add(FaultCode::PliesZero, &place, 0, "at least 1");
        return;
    }
    let folds = facts.rules.fold * i64::from(piece.plies - 1);
    let wanted = (piece.run * i64::from(piece.plies) + folds).ceil_to(facts.rules.step);
    let wanted = if piece.plies == 1 { piece.run } else { wanted };
    faults.equal(FaultCode::PieceLength, place, piece.length.units(), wanted.units());
}

/// A piece and the fabric that it is cut from.
type Pieces<'p> = BTreeMap<&'p str, (usize, &'p Piece)>;

/// Resolves the lay-ups and judges what supplies them.
pub(crate) fn layups<'p>(facts: &Facts, plan: &'p Plan, faults: &mut Faults) -> Vec<Loaded<'p>> {
    let mut pieces = Pieces::new();
    for (fabric, cloth) in plan.fabrics.iter().enumerate() {
        for piece in cloth.strips.iter().flat_map(|strip| &strip.pieces) {
            pieces.entry(&piece.name).or_insert((fabric, piece));
        }
    }
    let mut names = BTreeSet::new();
    let mut used = BTreeSet::new();
    let mut loaded = Vec::new();
    for layup in &plan.layups {
        name(&mut names, &layup.name, "lay-up", faults);
        let place = format!("lay-up {}", layup.name);
        let Some(board) = facts.boards.iter().position(|board| board.name == layup.board) else {
            faults.add(FaultCode::UnknownName, place, &layup.board, "a board of the scenario");
            continue;
        };
        if layup.bays.is_empty() || layup.passes.is_empty() {
            faults.add(FaultCode::EmptyLoad, &place, "nothing", "at least one area and one pass");
        }
        let loads = loads(facts, &facts.boards[board], layup, &place, faults);
        for (pass, supply) in layup.passes.iter().enumerate() {
            let place = format!("{place}, pass {}", pass + 1);
            Pass { facts, board: &facts.boards[board], pieces: &pieces, place }
                .judge(layup, supply, &mut used, faults);
        }
        loaded.push(Loaded { plan: layup, board, loads, passes: layup.passes.len() as u64 });
    }
    for name in pieces.keys().filter(|name| !used.contains(*name)) {
        faults.add(FaultCode::PieceUnused, format!("length or cut {name}"), "not used", "used once");
    }
    alike(plan, faults);
    loaded
}

fn loads<'p>(
    facts: &Facts,
    board: &Board,
    layup: &'p LayUp,
    place: &str,
    faults: &mut Faults,
) -> Vec<Load<'p>> {
    let mut seen = BTreeSet::new();
    let mut loads = Vec::new();
    for load in &layup.bays {
        let place = area(place, load);
        let Some(bay) = board.bay_of(&load.positions) else {
            faults.add(FaultCode::NoSuchBay, place, Board::bay_name(&load.positions), "an area of the board");
            continue;
        };
        if !seen.insert(bay) {
            faults.add(FaultCode::BayTwice, &place, "again", "once");
        }
        if load.groups.is_empty() {
            faults.add(FaultCode::EmptyLoad, &place, "nothing", "at least one ply");
        }
        let groups = load.groups.iter().filter_map(|group| {
            let fabric = facts.fabrics.iter().position(|fabric| fabric.name == group.fabric);
            if fabric.is_none() {
                faults.add(FaultCode::UnknownName, &place, &group.fabric, "a fabric of the scenario");
            }
            let fabric = fabric?;
            one_group(facts, board, bay, fabric, group, &place, faults);
            Some((fabric, group))
        });
        let groups = groups.collect();
        loads.push(Load { bay, groups });
    }
    loads
}

fn area(place: &str, load: &BayLoad) -> String {
    format!("{place}, area {}", Board::bay_name(&load.positions))
}

fn one_group(
    facts: &Facts,
    board: &Board,
    bay: usize,
    fabric: usize,
    group: &Group,
    place: &str,
    faults: &mut Faults,
) {
    let cloth = &facts.fabrics[fabric];
    if group.plies == 0 {
        faults.add(FaultCode::PliesZero, place, 0, "at least 1");
    }
    if !cloth.turnable && (group.plies > 1 || group.first_face == Face::Down) {
        let found = if group.plies > 1 { "folded" } else { "face down" };
        faults.add(FaultCode::OneWayTurned, place, format!("{} {found}", cloth.name), "flat cuts, face up");
    }
    let (along, across) = ways(board.bays[bay].rect.turn, cloth.travel_rule);
    let (allowed, found, other) = match group.way {
        Way::Along => (along, "along", "across"),
        Way::Across => (across, "across", "along"),
    };
    if !allowed {
        faults.add(FaultCode::WayNotAllowed, place, format!("{} {found}", cloth.name), other);
    }
}

/// One pass being judged.
struct Pass<'a, 'p> {
    facts: &'a Facts,
    board: &'a Board,
    pieces: &'a Pieces<'p>,
    place: String,
}

impl<'p> Pass<'_, 'p> {
    fn judge(
        &self,
        layup: &'p LayUp,
        supply: &'p [Vec<String>],
        used: &mut BTreeSet<&'p str>,
        faults: &mut Faults,
    ) {
        if supply.len() != layup.bays.len() {
            let expected = format!("{} areas", layup.bays.len());
            faults.add(FaultCode::PassIncomplete, &self.place, format!("{} areas", supply.len()), expected);
        }
        for (load, names) in layup.bays.iter().zip(supply) {
            let place = area(&self.place, load);
            if names.len() != load.groups.len() {
                let expected = format!("{} groups", load.groups.len());
                faults.add(FaultCode::PassIncomplete, &place, format!("{} groups", names.len()), expected);
            }
            for name in names {
                if self.pieces.contains_key(name.as_str()) && !used.insert(name) {
                    faults.add(FaultCode::PieceUsedTwice, &place, name, "used once");
                }
            }
            for (group, name) in load.groups.iter().zip(names) {
                match self.pieces.get(name.as_str()) {
                    Some(&(fabric, piece)) => self.fits(&place, load, group, fabric, piece, faults),
                    None => faults.add(FaultCode::UnknownName, &place, name, "a length or cut of the plan"),
                }
            }
        }
    }

    fn fits(
        &self,
        place: &str,
        load: &BayLoad,
        group: &Group,
        fabric: usize,
        piece: &Piece,
        faults: &mut Faults,
    ) {
        let place = format!("{place}, {}", piece.name);
        if let Some(cloth) = self.facts.fabrics.get(fabric)
            && cloth.name != group.fabric
        {
            faults.add(FaultCode::PieceFabric, &place, &cloth.name, &group.fabric);
        }
        faults.equal(FaultCode::PiecePlies, &place, piece.plies, group.plies);
        if let Some(bay) = self.board.bay_of(&load.positions) {
            let (run, width) = self.board.bays[bay].cut(group.way);
            faults.equal(FaultCode::PieceRun, &place, piece.run.units(), run.units());
            faults.equal(FaultCode::PieceWidth, &place, piece.width.units(), width.units());
        }
    }
}

/// Notes lay-ups that agree in everything but their passes. The order in which areas are listed makes no difference.
fn alike(plan: &Plan, faults: &mut Faults) {
    let mut known: BTreeMap<Vec<String>, &str> = BTreeMap::new();
    for layup in &plan.layups {
        let mut key: Vec<String> =
            layup
                .bays
                .iter()
                .map(|load| format!("area {:?} {:?}", load.positions, load.groups))
                .chain(layup.mats.iter().map(|mat| {
                    format!("mat {:?} {} {} {}", mat.mat, mat.x.units(), mat.y.units(), mat.turned)
                }))
                .collect();
        key.sort_unstable();
        key.push(layup.board.clone());
        if let Some(first) = known.insert(key, &layup.name) {
            faults.add(
                FaultCode::LayUpTwice,
                format!("lay-up {}", layup.name),
                format!("as {first}"),
                "its own",
            );
        }
    }
}
