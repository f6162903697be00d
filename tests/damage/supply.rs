//! Damage to strips, lengths, cuts, lay-ups and mats.

use patchlay_check::FaultCode;
use patchlay_measure::Length;
use patchlay_plan::{Face, Group, Hand, LayUp, Piece, Plan, Strip, Way};

use super::{Damage, damage};

pub(super) fn damages() -> Vec<Damage> {
    let mut all = cloth();
    all.extend(loads());
    all.extend(passes());
    all.extend(mats());
    all
}

fn strips(plan: &mut Plan) -> impl Iterator<Item = &mut Strip> {
    plan.fabrics.iter_mut().flat_map(|fabric| &mut fabric.strips)
}

fn pieces(plan: &mut Plan) -> impl Iterator<Item = &mut Piece> {
    strips(plan).flat_map(|strip| &mut strip.pieces)
}

fn groups(plan: &mut Plan) -> impl Iterator<Item = &mut Group> {
    plan.layups.iter_mut().flat_map(|layup| &mut layup.bays).flat_map(|load| &mut load.groups)
}

fn sixty_fourth() -> Length {
    Length::from_64ths(1)
}

fn cloth() -> Vec<Damage> {
    vec![
        damage("strip 1/64 in narrower than its widest cut", FaultCode::WiderThanStrip, |plan, _| {
            let full = strips(plan).find(|strip| strip.pieces.iter().any(|piece| piece.width == strip.width));
            full.map(|strip| strip.width -= sixty_fourth()).is_some()
        }),
        damage("strip 1/64 in wider, off the ruler step", FaultCode::OffRulerStep, |plan, _| {
            strips(plan).next().map(|strip| strip.width += Length::UNIT).is_some()
        }),
        damage("length 1/64 in too short", FaultCode::PieceLength, |plan, _| {
            pieces(plan).next().map(|piece| piece.length -= sixty_fourth()).is_some()
        }),
        damage("length off the ruler step", FaultCode::OffRulerStep, |plan, _| {
            pieces(plan).next().map(|piece| piece.length += Length::UNIT).is_some()
        }),
        damage("length without fold allowance", FaultCode::PieceLength, |plan, _| {
            let folded = pieces(plan)
                .find(|piece| piece.plies > 1 && piece.length != piece.run * i64::from(piece.plies));
            folded.map(|piece| piece.length = piece.run * i64::from(piece.plies)).is_some()
        }),
        damage("run 1/64 in too short", FaultCode::PieceRun, |plan, _| {
            pieces(plan).next().map(|piece| piece.run -= sixty_fourth()).is_some()
        }),
        damage("cut trimmed 1/64 in too narrow", FaultCode::PieceWidth, |plan, _| {
            pieces(plan).next().map(|piece| piece.width -= sixty_fourth()).is_some()
        }),
        damage("cut wider than its strip", FaultCode::WiderThanStrip, |plan, _| {
            let strip = strips(plan).find(|strip| !strip.pieces.is_empty());
            strip.map(|strip| strip.pieces[0].width = strip.width + Length::from_inches(1)).is_some()
        }),
        damage("strip of no width", FaultCode::SizeNotPositive, |plan, _| {
            strips(plan).next().map(|strip| strip.width = Length::ZERO).is_some()
        }),
        damage("length of negative run", FaultCode::SizeNotPositive, |plan, _| {
            pieces(plan).next().map(|piece| piece.run = -piece.run).is_some()
        }),
        damage("all lengths on one strip", FaultCode::StripTooLong, |plan, _| {
            let Some(fabric) = plan.fabrics.iter_mut().find(|fabric| fabric.strips.len() > 1) else {
                return false;
            };
            let moved: Vec<Piece> =
                fabric.strips.iter_mut().flat_map(|strip| std::mem::take(&mut strip.pieces)).collect();
            fabric.strips[0].pieces = moved;
            true
        }),
        damage("flat cut of no plies", FaultCode::PliesZero, |plan, _| {
            pieces(plan).find(|piece| piece.plies == 1).map(|piece| piece.plies = 0).is_some()
        }),
        damage("length left over", FaultCode::PieceUnused, |plan, _| {
            let Some(strip) = strips(plan).find(|strip| !strip.pieces.is_empty()) else { return false };
            let mut more = strip.pieces[0].clone();
            more.name.push_str(" more");
            strip.pieces.push(more);
            true
        }),
        damage("length moved to another fabric", FaultCode::PieceFabric, |plan, _| {
            let Some(from) =
                plan.fabrics.iter().position(|fabric| fabric.strips.iter().any(|s| !s.pieces.is_empty()))
            else {
                return false;
            };
            let Some(to) = plan.fabrics.iter().rposition(|fabric| !fabric.strips.is_empty()) else {
                return false;
            };
            let strip = plan.fabrics[from].strips.iter_mut().find(|strip| !strip.pieces.is_empty());
            let Some(piece) = strip.and_then(|strip| strip.pieces.pop()) else { return false };
            plan.fabrics[to].strips[0].pieces.push(piece);
            from != to
        }),
    ]
}

fn loads() -> Vec<Damage> {
    vec![
        damage("one ply too many in a full stack", FaultCode::StackTooHigh, |plan, _| {
            // A whole stack of one more folded length over every area.
            let Some(load) = plan.layups.iter_mut().flat_map(|layup| &mut layup.bays).next() else {
                return false;
            };
            load.groups.first_mut().map(|group| group.plies += 24).is_some()
        }),
        damage("one ply more than its length makes", FaultCode::PiecePlies, |plan, _| {
            groups(plan).next().map(|group| group.plies += 1).is_some()
        }),
        damage("group of no plies", FaultCode::PliesZero, |plan, _| {
            groups(plan).next().map(|group| group.plies = 0).is_some()
        }),
        damage("handed patches mirrored where none are over", FaultCode::DemandShort, |plan, _| {
            // With spares a ply turned over may eat them up and no more.
            let exact = |plan: &Plan, fabric: &str| {
                let mut lines = plan.patches.iter().filter(|line| line.fabric == fabric);
                lines.all(|line| line.hand != Hand::Any && line.cut == line.needed)
            };
            handed(plan, exact).map(|group| group.first_face = group.first_face.other()).is_some()
        }),
        damage("handed patches mirrored, list as before", FaultCode::PatchLine, |plan, _| {
            let wanted = |plan: &Plan, fabric: &str| {
                plan.patches.iter().any(|line| line.fabric == fabric && line.hand != Hand::Any)
            };
            handed(plan, wanted).map(|group| group.first_face = group.first_face.other()).is_some()
        }),
        damage("an area that is none", FaultCode::NoSuchBay, |plan, _| {
            let load = plan.layups.iter_mut().flat_map(|layup| &mut layup.bays).next();
            load.map(|load| load.positions.push(usize::MAX)).is_some()
        }),
        damage("an area twice in one lay-up", FaultCode::BayTwice, |plan, _| {
            let Some(layup) = plan.layups.iter_mut().find(|layup| !layup.bays.is_empty()) else {
                return false;
            };
            layup.bays.push(layup.bays[0].clone());
            true
        }),
        damage("an area without plies", FaultCode::EmptyLoad, |plan, _| {
            let load = plan.layups.iter_mut().flat_map(|layup| &mut layup.bays).next();
            load.map(|load| load.groups.clear()).is_some()
        }),
        damage("areas kept apart loaded together", FaultCode::BaysApart, |plan, _| {
            // Only where the two first positions of a board are known to be too near.
            let Some(layup) = plan.layups.iter_mut().find(|layup| layup.board == "spires") else {
                return false;
            };
            let mut moved = layup.bays[0].clone();
            moved.positions = vec![1];
            moved.groups = vec![moved.groups.remove(1)];
            layup.bays[0].groups.remove(1);
            layup.bays.push(moved);
            for pass in &mut layup.passes {
                let name = pass[0].remove(1);
                pass.push(vec![name]);
            }
            true
        }),
        damage("strip laid the other way round", FaultCode::WayNotAllowed, |plan, _| {
            let rule = &plan.scenario["rules"]["travel_rule"];
            let (rule, other) = match rule.as_str() {
                Some("strip_along_travel") => (Way::Along, Way::Across),
                Some("strip_across_travel") => (Way::Across, Way::Along),
                _ => return false,
            };
            groups(plan).find(|group| group.way == rule).map(|group| group.way = other).is_some()
        }),
        damage("one-way fabric laid face down", FaultCode::OneWayTurned, |plan, _| {
            let Some(name) = one_way(plan) else { return false };
            groups(plan)
                .find(|group| group.fabric == name)
                .map(|group| group.first_face = Face::Down)
                .is_some()
        }),
        damage("one-way fabric folded", FaultCode::OneWayTurned, |plan, _| {
            let Some(name) = one_way(plan) else { return false };
            groups(plan).find(|group| group.fabric == name).map(|group| group.plies = 2).is_some()
        }),
        damage("a lay-up split into two like ones", FaultCode::LayUpTwice, |plan, _| {
            let Some(at) = plan.layups.iter().position(|layup| layup.passes.len() > 1) else { return false };
            let mut more = plan.layups[at].clone();
            more.name.push_str(" again");
            more.passes.truncate(1);
            plan.layups[at].passes.remove(0);
            plan.layups.push(more);
            true
        }),
        damage("a group of another fabric", FaultCode::PieceFabric, |plan, _| {
            let names: Vec<String> = plan.fabrics.iter().map(|fabric| fabric.fabric.clone()).collect();
            let Some(group) = groups(plan).next() else { return false };
            let other = names.into_iter().find(|name| *name != group.fabric);
            other.map(|name| group.fabric = name).is_some()
        }),
    ]
}

/// A flat cut, on a single position, of a fabric of which handed patches are wanted.
fn handed(plan: &mut Plan, fits: impl Fn(&Plan, &str) -> bool) -> Option<&mut Group> {
    let fabrics: Vec<String> = plan.fabrics.iter().map(|fabric| fabric.fabric.clone()).collect();
    let fabric = fabrics.into_iter().find(|fabric| fits(plan, fabric))?;
    let loads = plan.layups.iter_mut().flat_map(|layup| &mut layup.bays);
    let mut groups = loads.filter(|load| load.positions.len() == 1).flat_map(|load| &mut load.groups);
    groups.find(|group| group.fabric == fabric && group.plies == 1)
}

fn one_way(plan: &Plan) -> Option<String> {
    let fabrics = plan.scenario["fabrics"].as_array()?;
    let fabric = fabrics.iter().find(|fabric| {
        fabric["print"] == "one_way" && fabric.get("allow_turned").is_none_or(|allowed| allowed != true)
    })?;
    Some(fabric["name"].as_str()?.to_owned())
}

/// Names of the pieces of a lay-up with at least two in one pass.
fn pair(layup: &mut LayUp) -> Option<(&mut String, &mut String)> {
    let mut names = layup.passes.iter_mut().flatten().flatten();
    Some((names.next()?, names.next()?))
}

fn passes() -> Vec<Damage> {
    vec![
        damage("length used twice", FaultCode::PieceUsedTwice, |plan, _| {
            let Some((one, other)) = plan.layups.iter_mut().find_map(pair) else { return false };
            other.clone_from(one);
            true
        }),
        damage("length never used", FaultCode::PieceUnused, |plan, _| {
            let Some((one, other)) = plan.layups.iter_mut().find_map(pair) else { return false };
            other.clone_from(one);
            true
        }),
        damage("folded length and flat cut exchanged", FaultCode::PiecePlies, |plan, _| {
            let plies: std::collections::BTreeMap<String, u32> =
                pieces(plan).map(|piece| (piece.name.clone(), piece.plies)).collect();
            for layup in &mut plan.layups {
                for pass in &mut layup.passes {
                    let mut names = pass.iter_mut().flatten();
                    let Some(first) = names.next() else { continue };
                    if let Some(other) = names.find(|name| plies.get(*name) != plies.get(first)) {
                        std::mem::swap(first, other);
                        return true;
                    }
                }
            }
            false
        }),
        damage("pass without its last piece", FaultCode::PassIncomplete, |plan, _| {
            let mut groups = plan.layups.iter_mut().flat_map(|layup| &mut layup.passes).flatten();
            groups.next().map(|names| names.pop()).is_some()
        }),
        damage("pass with one area too many", FaultCode::PassIncomplete, |plan, _| {
            let mut passes = plan.layups.iter_mut().flat_map(|layup| &mut layup.passes);
            passes.next().map(|pass| pass.push(Vec::new())).is_some()
        }),
        damage("all passes left out", FaultCode::DemandShort, |plan, _| {
            // Leaving out one alone may be made up for by spare patches.
            plan.layups.iter_mut().map(|layup| layup.passes.clear()).count() > 0
        }),
        damage("a lay-up never made", FaultCode::EmptyLoad, |plan, _| {
            plan.layups.first_mut().map(|layup| layup.passes.clear()).is_some()
        }),
    ]
}

fn mats() -> Vec<Damage> {
    vec![
        damage("no mat", FaultCode::NotUnderMat, |plan, _| {
            plan.layups.first_mut().map(|layup| layup.mats.clear()).is_some()
        }),
        damage("mat moved off the blades", FaultCode::NotUnderMat, |plan, _| {
            let mat = plan.layups.iter_mut().flat_map(|layup| &mut layup.mats).next();
            mat.map(|mat| mat.y += Length::from_inches(100)).is_some()
        }),
        damage("mat past the bed", FaultCode::MatTooWide, |plan, _| {
            let mat = plan.layups.iter_mut().flat_map(|layup| &mut layup.mats).next();
            mat.map(|mat| mat.x += Length::from_inches(100)).is_some()
        }),
        damage("mat laid twice", FaultCode::MatsOverlap, |plan, _| {
            let Some(layup) = plan.layups.iter_mut().find(|layup| !layup.mats.is_empty()) else {
                return false;
            };
            layup.mats.push(layup.mats[0].clone());
            true
        }),
        damage("mat used more often than owned", FaultCode::MatsOwned, |plan, _| {
            let Some(layup) = plan.layups.iter_mut().find(|layup| !layup.mats.is_empty()) else {
                return false;
            };
            for place in 1..=101 {
                let mut more = layup.mats[0].clone();
                more.y += Length::from_inches(350) * place;
                layup.mats.push(more);
            }
            true
        }),
    ]
}
