//! Damage to everything that is counted: patches, cloth, balance, figures, time, proof block.

use patchlay_check::FaultCode;
use patchlay_measure::{Area, Length, Money};
use patchlay_plan::{BayLoad, Plan, ProofBlock};

use super::{Damage, damage};

fn more(length: &mut Length) {
    *length += Length::UNIT;
}

fn fewer(money: &mut Money) {
    *money = *money - Money::from_units(1);
}

fn larger(area: &mut Area) {
    *area += Area::from_units(1);
}

pub(super) fn damages() -> Vec<Damage> {
    let mut all = patches();
    all.extend(cloth());
    all.extend(balance());
    all.extend(figures());
    all
}

fn patches() -> Vec<Damage> {
    vec![
        damage("patches cut off by one", FaultCode::PatchLine, |plan, _| {
            plan.patches.first_mut().map(|line| line.cut += 1).is_some()
        }),
        damage("patches needed off by one", FaultCode::PatchLine, |plan, _| {
            plan.patches.first_mut().map(|line| line.needed += 1).is_some()
        }),
        damage("spare patches off by one", FaultCode::PatchLine, |plan, _| {
            plan.patches.first_mut().map(|line| line.spare += 1).is_some()
        }),
        damage("patch line left out", FaultCode::PatchLine, |plan, _| plan.patches.pop().is_some()),
        damage("patch line of another shape", FaultCode::PatchLine, |plan, _| {
            plan.patches.first_mut().map(|line| line.shape.push('?')).is_some()
        }),
        damage("proof block left out or made up", FaultCode::ProofBlockMissing, |plan, _| {
            plan.proof_block = match plan.proof_block {
                Some(_) => None,
                None => Some(ProofBlock { layups: 1, passes: 1, extra_passes: 0, extra_cloth: Length::ZERO }),
            };
            true
        }),
        damage("proof block incomplete", FaultCode::ProofBlockIncomplete, |plan, _| {
            plan.proof_block.as_mut().map(|block| block.layups = 0).is_some()
        }),
        damage("proof block after the end", FaultCode::ProofBlockIncomplete, |plan, _| {
            plan.proof_block.as_mut().map(|block| block.layups = usize::MAX).is_some()
        }),
        damage("passes of the proof block off by one", FaultCode::ProofBlockPasses, |plan, _| {
            plan.proof_block.as_mut().map(|block| block.passes += 1).is_some()
        }),
    ]
}

fn cloth() -> Vec<Damage> {
    vec![
        damage("kept back off by one", FaultCode::KeptBack, |plan, _| {
            plan.fabrics.first_mut().map(|fabric| more(&mut fabric.kept_back)).is_some()
        }),
        damage("squaring off by one", FaultCode::Squaring, |plan, _| {
            plan.fabrics.first_mut().map(|fabric| more(&mut fabric.squaring)).is_some()
        }),
        damage("length taken off by one", FaultCode::Taken, |plan, _| {
            plan.fabrics.first_mut().map(|fabric| more(&mut fabric.taken)).is_some()
        }),
        damage("length bought rounded down", FaultCode::Bought, |plan, _| {
            let fabric = plan.fabrics.iter_mut().find(|fabric| fabric.bought > fabric.taken);
            fabric.map(|fabric| fabric.bought = fabric.taken).is_some()
        }),
        damage("wrong money", FaultCode::Price, |plan, _| {
            plan.fabrics.first_mut().map(|fabric| fewer(&mut fabric.money)).is_some()
        }),
    ]
}

fn balance() -> Vec<Damage> {
    vec![
        damage("balance line off by one", FaultCode::BalanceLine, |plan, _| {
            let line = plan.balance.first_mut().and_then(|balance| balance.lines.first_mut());
            line.map(|line| larger(&mut line.area)).is_some()
        }),
        damage("two balance lines off, sum as before", FaultCode::BalanceLine, |plan, _| {
            let Some([one, other, ..]) = plan.balance.first_mut().map(|balance| balance.lines.as_mut_slice())
            else {
                return false;
            };
            larger(&mut one.area);
            other.area -= Area::from_units(1);
            true
        }),
        damage("balance line left out", FaultCode::BalanceLine, |plan, _| {
            plan.balance.first_mut().and_then(|balance| balance.lines.pop()).is_some()
        }),
        damage("balance total off by one", FaultCode::BalanceTotal, |plan, _| {
            plan.balance.first_mut().map(|balance| larger(&mut balance.total)).is_some()
        }),
        damage("balance line that no longer adds up", FaultCode::BalanceTotal, |plan, _| {
            let line = plan.balance.first_mut().and_then(|balance| balance.lines.last_mut());
            line.map(|line| larger(&mut line.area)).is_some()
        }),
    ]
}

fn figures() -> Vec<Damage> {
    macro_rules! off_by_one {
        ($($name:literal, $field:ident;)*) => {
            vec![$(damage($name, FaultCode::Figure, |plan: &mut Plan, _| {
                plan.figures.$field += 1;
                true
            }),)*]
        };
    }
    let mut all = off_by_one! {
        "passes off by one", passes;
        "seconds off by one", seconds;
        "number of lay-ups off by one", layups;
        "number of changes between lay-ups off by one", changes;
        "number of lengths and cuts off by one", pieces;
        "number of kinds off by one", kinds;
        "number of folded lengths off by one", folded_lengths;
        "number of cuts to trim off by one", trimmed;
        "number of strips off by one", strips;
        "number of spare patches off by one", spare_patches;
        "most plies off by one", most_plies;
        "most fabrics off by one", most_fabrics;
    };
    all.extend([
        damage("a stack turned over that the changes do not count", FaultCode::Figure, |plan, _| {
            // An area that stays as it was in the next lay-up, and has more than one group to turn over.
            let [before, next, ..] = &mut plan.layups[..] else { return false };
            let stays = |load: &BayLoad| load.groups.len() > 1 && before.bays.contains(load);
            let Some(area) = next.bays.iter().position(stays) else { return false };
            next.bays[area].groups.reverse();
            next.passes.iter_mut().for_each(|pass| pass[area].reverse());
            true
        }),
        damage("money in all off by one", FaultCode::Figure, |plan, _| {
            fewer(&mut plan.figures.money);
            true
        }),
        damage("length taken in all off by one", FaultCode::Figure, |plan, _| {
            more(&mut plan.figures.length_taken);
            true
        }),
        damage("length bought in all off by one", FaultCode::Figure, |plan, _| {
            more(&mut plan.figures.length_bought);
            true
        }),
        damage("area taken off by one", FaultCode::Figure, |plan, _| {
            larger(&mut plan.figures.area_taken);
            true
        }),
        damage("area bought off by one", FaultCode::Figure, |plan, _| {
            larger(&mut plan.figures.area_bought);
            true
        }),
        damage("passes of a board off by one", FaultCode::Figure, |plan, _| {
            plan.figures.passes_by_board.first_mut().map(|passes| *passes += 1).is_some()
        }),
        damage("passes by board without the last board", FaultCode::Figure, |plan, _| {
            plan.figures.passes_by_board.pop().is_some()
        }),
        damage("number of an event off by one", FaultCode::EventTime, |plan, _| {
            plan.figures.seconds_by_event.first_mut().map(|line| line.times += 1).is_some()
        }),
        damage("time of an event off by one", FaultCode::EventTime, |plan, _| {
            plan.figures.seconds_by_event.last_mut().map(|line| line.seconds += 1).is_some()
        }),
        damage("events in another order", FaultCode::EventTime, |plan, _| {
            plan.figures.seconds_by_event.swap(0, 1);
            true
        }),
    ]);
    all
}
