//! Damage to the documents as wholes: versions, digests, names, lists.

use patchlay_check::FaultCode;
use patchlay_measure::Length;
use patchlay_plan::Plan;
use serde_json::json;

use super::{Damage, change_scenario, damage};

pub(super) fn damages() -> Vec<Damage> {
    vec![
        damage("scenario changed after planning", FaultCode::ScenarioChanged, |_, text| {
            text.push(' ');
            true
        }),
        damage("scenario cut off", FaultCode::ScenarioUnusable, |_, text| {
            text.pop();
            text.truncate(text.len() / 2);
            true
        }),
        damage("echoed scenario edited", FaultCode::EchoDiffers, |plan, _| {
            plan.scenario["name"] = json!("another name");
            true
        }),
        damage("another plan version", FaultCode::WrongVersion, |plan, _| {
            plan.patchlay_plan += 1;
            true
        }),
        damage("plan number of another plan", FaultCode::PlanNumber, |plan, _| {
            plan.number = "0000-0000".to_owned();
            true
        }),
        damage("seed edited, number stale", FaultCode::PlanNumber, |plan, _| {
            plan.seed += 1;
            true
        }),
        damage("absurd strip width", FaultCode::OutOfRange, |plan, _| {
            first_strip(plan).map(|strip| strip.width = Length::from_units(i64::MAX)).is_some()
        }),
        damage("absurd number of plies", FaultCode::OutOfRange, |plan, _| {
            first_strip(plan)
                .and_then(|strip| strip.pieces.first_mut())
                .map(|piece| piece.plies = u32::MAX)
                .is_some()
        }),
        damage("two strips of one name", FaultCode::DuplicateName, |plan, _| {
            let mut strips = plan.fabrics.iter_mut().flat_map(|fabric| &mut fabric.strips);
            let (Some(one), Some(other)) = (strips.next(), strips.next()) else { return false };
            other.name.clone_from(&one.name);
            true
        }),
        damage("two lengths of one name", FaultCode::DuplicateName, |plan, _| {
            let strips = plan.fabrics.iter_mut().flat_map(|fabric| &mut fabric.strips);
            let mut pieces = strips.flat_map(|strip| &mut strip.pieces);
            let (Some(one), Some(other)) = (pieces.next(), pieces.next()) else { return false };
            other.name.clone_from(&one.name);
            true
        }),
        damage("two lay-ups of one name", FaultCode::DuplicateName, |plan, _| {
            let [one, other, ..] = plan.layups.as_mut_slice() else { return false };
            other.name.clone_from(&one.name);
            true
        }),
        damage("strip without a name", FaultCode::EmptyName, |plan, _| {
            first_strip(plan).map(|strip| strip.name.clear()).is_some()
        }),
        damage("fabrics in another order", FaultCode::ListDiffers, |plan, _| {
            let many = plan.fabrics.len() > 1;
            plan.fabrics.reverse();
            many
        }),
        damage("fabric left out", FaultCode::ListDiffers, |plan, _| plan.fabrics.pop().is_some()),
        damage("balance left out", FaultCode::ListDiffers, |plan, _| plan.balance.pop().is_some()),
        damage("board of another name", FaultCode::UnknownName, |plan, _| {
            plan.layups.first_mut().map(|layup| layup.board.push('?')).is_some()
        }),
        damage("mat of another name", FaultCode::UnknownName, |plan, _| {
            let mat = plan.layups.iter_mut().flat_map(|layup| &mut layup.mats).next();
            mat.map(|mat| mat.mat.push('?')).is_some()
        }),
        damage("group of an unknown fabric", FaultCode::UnknownName, |plan, _| {
            let load = plan.layups.iter_mut().flat_map(|layup| &mut layup.bays).next();
            load.and_then(|load| load.groups.first_mut()).map(|group| group.fabric.push('?')).is_some()
        }),
        damage("pass supplied by a length that is not there", FaultCode::UnknownName, |plan, _| {
            let mut names = plan.layups.iter_mut().flat_map(|layup| &mut layup.passes).flatten().flatten();
            names.next().map(|name| name.push('?')).is_some()
        }),
        damage("cutter takes fewer plies than were planned", FaultCode::StackTooHigh, |plan, text| {
            let most = plan.figures.most_plies;
            most > 1
                && change_scenario(plan, text, |scenario| {
                    for fabric in scenario["fabrics"].as_array_mut()? {
                        fabric.as_object_mut()?.remove("ply_limit");
                    }
                    scenario["cutter"]["ply_limit"] = json!(most - 1);
                    Some(())
                })
        }),
        damage("one patch more is wanted", FaultCode::DemandShort, |plan, text| {
            more_patches(plan, text, true)
        }),
        damage("more spare patches are wanted", FaultCode::SparesShort, |plan, text| {
            more_patches(plan, text, false)
        }),
        damage("fabric is narrower than was planned", FaultCode::StripTooLong, |plan, text| {
            let longest = |plan: &Plan| {
                let strips = plan.fabrics.first()?.strips.iter();
                strips.map(|strip| strip.pieces.iter().map(|piece| piece.length).sum::<Length>()).max()
            };
            let Some(longest) = longest(plan) else { return false };
            // The end reserve alone now makes the strip too short.
            let width = longest.floor_to(Length::from_64ths(1)).units() / Length::UNITS_PER_64TH;
            change_scenario(plan, text, |scenario| {
                let fabric = scenario["fabrics"].get_mut(0)?.as_object_mut()?;
                fabric.insert("usable_width".to_owned(), json!(format!("{width}/64 in")));
                fabric.insert("end_reserve".to_owned(), json!("1 in"));
                Some(())
            })
        }),
        damage("more is kept back than was planned", FaultCode::KeptBack, |plan, text| {
            change_scenario(plan, text, |scenario| {
                let fabric = scenario["fabrics"].get_mut(0)?.as_object_mut()?;
                let more = json!({ "what": "more binding", "length": "2 in" });
                fabric.entry("kept_back").or_insert_with(|| json!([])).as_array_mut()?.push(more);
                Some(())
            })
        }),
        damage("a mat fewer is owned", FaultCode::MatsOwned, |plan, text| {
            let Some(mat) = plan.layups.iter().flat_map(|layup| &layup.mats).next() else { return false };
            let name = mat.mat.clone();
            change_scenario(plan, text, |scenario| {
                let mats = scenario["cutter"]["mats"].as_array_mut()?;
                mats.iter_mut().find(|mat| mat["name"] == json!(name))?["owned"] = json!(0);
                Some(())
            })
        }),
        damage("a mat is smaller than was planned", FaultCode::NotUnderMat, |plan, text| {
            change_scenario(plan, text, |scenario| {
                for mat in scenario["cutter"]["mats"].as_array_mut()? {
                    mat["length"] = json!("1 in");
                }
                Some(())
            })
        }),
        damage("travel rule is the other way", FaultCode::WayNotAllowed, |plan, text| {
            let Some(ways) = one_way_used(plan) else { return false };
            change_scenario(plan, text, |scenario| {
                for fabric in scenario["fabrics"].as_array_mut()? {
                    fabric.as_object_mut()?.remove("travel_rule");
                }
                scenario["rules"]["travel_rule"] = json!(ways);
                Some(())
            })
        }),
    ]
}

fn first_strip(plan: &mut Plan) -> Option<&mut patchlay_plan::Strip> {
    plan.fabrics.iter_mut().flat_map(|fabric| &mut fabric.strips).next()
}

/// Asks for more loose patches of the first line than are cut, or for more spare patches of it.
fn more_patches(plan: &mut Plan, text: &mut String, needed: bool) -> bool {
    let Some(line) = plan.patches.first().cloned() else { return false };
    let more = line.cut - line.needed + 1;
    change_scenario(plan, text, |scenario| {
        if !needed {
            scenario["spare_patches"] = json!({ "number": more });
            return Some(());
        }
        let wanted = json!({
            "shape": line.shape, "fabric": line.fabric, "count": more,
            "mirrored": line.hand == patchlay_plan::Hand::Mirrored,
        });
        let file = scenario.as_object_mut()?;
        file.entry("loose_patches").or_insert_with(|| json!([])).as_array_mut()?.push(wanted);
        Some(())
    })
}

/// The rule that forbids the only way in which strips lie on square areas of the plan's boards; none for turned
/// blades or where both ways are used.
fn one_way_used(plan: &Plan) -> Option<&'static str> {
    let boards = plan.scenario["boards"].as_array()?;
    let turned = boards.iter().flat_map(|board| board["positions"].as_array().into_iter().flatten());
    if turned.into_iter().any(|position| position.get("turn").is_some()) {
        return None;
    }
    let groups = plan.layups.iter().flat_map(|layup| &layup.bays).flat_map(|load| &load.groups);
    let mut ways: Vec<patchlay_plan::Way> = groups.map(|group| group.way).collect();
    ways.dedup();
    match ways.as_slice() {
        [patchlay_plan::Way::Along] => Some("strip_across_travel"),
        [patchlay_plan::Way::Across] => Some("strip_along_travel"),
        _ => None,
    }
}
