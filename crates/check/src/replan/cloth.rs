//! Cloth of a replan: what is left of every bolt, what kept strips and the supplement take of it, what is taken from
//! cloth already cut, and what must be bought.

use std::collections::BTreeSet;

use patchlay_measure::Length;
use patchlay_plan::Strip;
use patchlay_plan::replan::{ClothLeft, Replan};

use super::day::Day;
use crate::fault::{FaultCode, Faults};

pub(super) fn judge(day: &Day<'_>, kept: &BTreeSet<(usize, usize)>, replan: &Replan, faults: &mut Faults) {
    on_hand(day, kept, replan, faults);
    let code = FaultCode::ReplanCloth;
    faults.equal(code, "cloth", replan.cloth.len(), day.facts.fabrics.len());
    for (fabric, (stated, own)) in replan.cloth.iter().zip(&day.facts.fabrics).enumerate() {
        let place = format!("cloth of {}", own.name);
        match counted(day, fabric, replan) {
            None => faults.add(code, place, "too large to be counted", "less"),
            Some(counted) => {
                faults.equal(code, format!("{place}, name"), stated.fabric.as_str(), counted.fabric.as_str());
                let both = |what: fn(&ClothLeft) -> i64| (what(stated), what(&counted));
                let figures: [(&str, (i64, i64)); 5] = [
                    ("width", both(|own| own.width.units())),
                    ("left", both(|own| own.left.units())),
                    ("kept", both(|own| own.kept.units())),
                    ("supplement", both(|own| own.supplement.units())),
                    ("buy", both(|own| own.buy.units())),
                ];
                for (what, (found, expected)) in figures {
                    faults.equal(code, format!("{place}, {what}"), found, expected);
                }
                faults.equal(code, format!("{place}, beyond"), stated.beyond, counted.beyond);
                if counted.kept > counted.left {
                    let most = format!("at most {}", counted.left.units());
                    faults.add(code, format!("{place}, kept"), counted.kept.units(), most);
                }
            }
        }
    }
}

fn counted(day: &Day<'_>, fabric: usize, replan: &Replan) -> Option<ClothLeft> {
    let cloth = &day.facts.fabrics[fabric];
    let now = day.taken(fabric, &[])?;
    let left = day.left(fabric)?;
    let listed = replan.strips.iter().filter_map(|own| day.strips.get(own.strip.as_str()));
    let mut widths: Vec<Length> =
        listed.filter(|(own, _)| *own == fabric).map(|(_, strip)| strip.width).collect();
    let kept = day.taken(fabric, &widths)? - now;
    let strips = replan
        .supplement
        .as_ref()
        .and_then(|plan| plan.fabrics.get(fabric))
        .map_or(&[][..], |own| &own.strips);
    let on_hand = |strip: &&Strip| replan.on_hand.iter().any(|own| own.strip == strip.name);
    let mut anew: Vec<Length> =
        strips.iter().filter(|strip| !on_hand(strip)).map(|strip| strip.width).collect();
    anew.sort_unstable();
    let (mut beyond, mut beyond_widths) = (0, Length::ZERO);
    for width in anew.into_iter().rev() {
        widths.push(width);
        if day.taken(fabric, &widths)? - now > left {
            widths.pop();
            beyond += 1;
            beyond_widths = beyond_widths.checked_add(width)?;
        }
    }
    let supplement = day.taken(fabric, &widths)? - now - kept;
    let buy = match beyond {
        0 => Length::ZERO,
        beyond => cloth.bought(cloth.squaring_for(beyond)?.checked_add(beyond_widths)?)?,
    };
    Some(ClothLeft {
        fabric: cloth.name.clone(),
        width: day.widths[fabric],
        left,
        kept,
        supplement,
        beyond,
        buy,
    })
}

/// Judges what is taken from cloth already cut.
fn on_hand(day: &Day<'_>, kept: &BTreeSet<(usize, usize)>, replan: &Replan, faults: &mut Faults) {
    let code = FaultCode::ReplanOnHand;
    let needed: BTreeSet<&str> = kept
        .iter()
        .flat_map(|(layup, pass)| day.plan.layups[*layup].passes[*pass].iter().flatten())
        .map(String::as_str)
        .collect();
    let fabrics = replan.supplement.iter().flat_map(|plan| plan.fabrics.iter().enumerate());
    let strips: Vec<(usize, &Strip)> =
        fabrics.flat_map(|(at, cloth)| cloth.strips.iter().map(move |strip| (at, strip))).collect();
    let free = |piece: &str| !needed.contains(piece) && !day.gone.contains(piece);
    let mut taken = BTreeSet::new();
    for own in &replan.on_hand {
        let place = format!("strip {}", own.strip);
        let Some(&(fabric, strip)) = strips.iter().find(|(_, strip)| strip.name == own.strip) else {
            faults.add(code, place, "none", "a strip of the supplement");
            continue;
        };
        // A strip that is taken whole takes its lengths and cuts with it.
        let once = own.from.iter().all(|name| {
            let pieces = day.strips.get(name.as_str()).map_or(&[][..], |(_, strip)| &strip.pieces);
            let names: Vec<&str> =
                pieces.iter().map(|piece| piece.name.as_str()).chain([name.as_str()]).collect();
            names.into_iter().all(|name| taken.insert(name))
        });
        let whole = || {
            let [name] = &own.from[..] else { return false };
            day.strips.get(name.as_str()).is_some_and(|(cloth, from)| {
                let content: Length = strip.pieces.iter().map(|piece| piece.length).sum();
                *cloth == fabric
                    && day.cut.contains(name.as_str())
                    && !day.divided.contains(name.as_str())
                    && from.pieces.iter().all(|piece| free(&piece.name))
                    && from.width >= strip.width
                    && content <= day.room(fabric)
            })
        };
        let each = || {
            own.from.len() == strip.pieces.len()
                && own.from.iter().zip(&strip.pieces).all(|(name, piece)| {
                    day.pieces.get(name.as_str()).is_some_and(|(on, from)| {
                        day.strips[on.name.as_str()].0 == fabric
                            && day.cut.contains(on.name.as_str())
                            && free(name)
                            && from.length >= piece.length
                            && from.width >= piece.width
                    })
                })
        };
        if !once || !(whole() || each()) {
            faults.add(code, place, own.from.join(" "), "cloth that is there and large enough");
        }
    }
}
