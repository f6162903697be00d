//! What the scenario says about the group: helpers, cutters, copies of boards, shared things and the rules of the day.

use std::collections::{BTreeMap, BTreeSet};

use patchlay_measure::Length;
use patchlay_scenario::spec::{self, DayRules, Equipment, Group, Scenario, SparesGo, Work};

use crate::facts::{Facts, Reader, Unusable};

/// A class of cutters.
#[derive(Clone, Debug)]
pub(super) struct Class {
    pub(super) name: String,
    pub(super) bed_width: Length,
    pub(super) longest_board: Length,
    pub(super) ply_limit: u32,
    pub(super) number: u32,
}

/// A helper.
#[derive(Clone, Debug)]
pub(super) struct Helper {
    pub(super) name: String,
    pub(super) can: BTreeSet<Work>,
    /// Percent of the standard.
    pub(super) speed: u64,
    /// Seconds after the start of the day.
    pub(super) from: u64,
    pub(super) to: Option<u64>,
}

/// Who brought a fabric.
#[derive(Clone, Debug)]
pub(super) struct Bringer {
    pub(super) by: String,
    pub(super) left_to: String,
}

/// The group of a scenario.
#[derive(Debug)]
pub(crate) struct Hall {
    /// When the day starts, seconds after midnight.
    pub(super) starts: u64,
    pub(super) spares: SparesGo,
    pub(super) most_open: Option<u64>,
    pub(super) classes: Vec<Class>,
    /// Copies by board.
    pub(super) copies: Vec<u32>,
    pub(super) irons: u64,
    pub(super) rulers: u64,
    pub(super) tables: u64,
    pub(super) trays_ahead: u64,
    pub(super) passes_a_tray: u64,
    pub(super) helpers: Vec<Helper>,
    pub(super) slack: u64,
    pub(super) rest: u64,
    pub(super) sort_part: u64,
    pub(super) check_line: u64,
    /// By fabric.
    pub(super) brought: BTreeMap<usize, Bringer>,
}

impl Hall {
    pub(super) fn read(group: &Group, spec: &Scenario, facts: &Facts) -> Result<Self, Unusable> {
        let none = Equipment::default();
        let things = group.equipment.as_ref().unwrap_or(&none);
        let none = DayRules::default();
        let day = group.day.as_ref().unwrap_or(&none);
        let some = |what: &str, stated: Option<u32>, usual: u32| match stated.unwrap_or(usual) {
            0 => Err(Unusable::new(format!("group.equipment.{what}"), "there are none")),
            count => Ok(u64::from(count)),
        };
        let seconds = |stated: Option<u32>, usual: u32| u64::from(stated.unwrap_or(usual));
        let starts = match &day.starts {
            Some(text) => clock("group.day.starts", text)?,
            None => 9 * 3_600,
        };
        Ok(Self {
            starts,
            spares: group.bags.spares,
            most_open: group.bags.most_open.map(u64::from),
            classes: classes(&Reader::new(spec.units), group, facts)?,
            copies: copies(group, facts)?,
            irons: some("irons", things.irons, 1)?,
            rulers: some("rulers", things.rulers, 1)?,
            tables: some("tables", things.tables, 4)?,
            trays_ahead: some("trays_ahead", things.trays_ahead, 3)?,
            passes_a_tray: some("passes_a_tray", things.passes_a_tray, 6)?,
            helpers: helpers(group, starts)?,
            slack: seconds(day.slack_percent, 20),
            rest: seconds(day.rest_per_pass, 10),
            sort_part: seconds(day.sort_part, 10),
            check_line: seconds(day.check_line, 15),
            brought: brought(group, facts)?,
        })
    }

    /// Seconds that work takes at a speed, slack included, rounded up.
    pub(super) fn lasts(&self, standard: u64, speed: u64) -> u64 {
        let slowed = u128::from(standard).saturating_mul(u128::from(self.slack) + 100);
        u64::try_from(slowed.div_ceil(u128::from(speed.max(1)))).unwrap_or(u64::MAX)
    }

    /// Helpers who can do a kind of work.
    pub(super) fn able(&self, work: Work) -> impl Iterator<Item = &Helper> {
        self.helpers.iter().filter(move |helper| helper.can.contains(&work))
    }
}

/// Seconds after midnight of `"9:30"`.
fn clock(place: &str, text: &str) -> Result<u64, Unusable> {
    let parts = text.trim().split_once(':').filter(|(_, minutes)| minutes.len() == 2);
    let read = parts.and_then(|(hours, minutes)| Some((hours.parse().ok()?, minutes.parse().ok()?)));
    match read {
        Some((hours @ 0..24, minutes @ 0..60)) => Ok((hours * 60 + minutes) * 60),
        _ => Err(Unusable::new(place, format!("{text} is not a time of day"))),
    }
}

fn classes(reader: &Reader, group: &Group, facts: &Facts) -> Result<Vec<Class>, Unusable> {
    if group.cutters.is_empty() {
        return Ok(vec![Class {
            name: "cutter".to_owned(),
            bed_width: facts.cutter.bed_width,
            longest_board: facts.cutter.longest_board,
            ply_limit: facts.cutter.ply_limit,
            number: 1,
        }]);
    }
    let one = |cutter: &spec::GroupCutter| {
        let place = format!("cutter {}", cutter.name);
        let number = cutter.number.unwrap_or(1);
        if number == 0 || cutter.ply_limit == 0 {
            return Err(Unusable::new(place, "its number or its ply limit is zero"));
        }
        Ok(Class {
            name: cutter.name.clone(),
            bed_width: reader.size(&place, &cutter.bed_width)?,
            longest_board: reader.size(&place, &cutter.longest_board)?,
            ply_limit: cutter.ply_limit,
            number,
        })
    };
    let classes: Vec<Class> = group.cutters.iter().map(one).collect::<Result<_, _>>()?;
    different("group.cutters", classes.iter().map(|class| class.name.as_str()))?;
    Ok(classes)
}

fn different<'n>(place: &str, names: impl Iterator<Item = &'n str>) -> Result<(), Unusable> {
    let mut known = BTreeSet::new();
    for name in names {
        if !known.insert(name) {
            return Err(Unusable::new(place, format!("{name} stands twice")));
        }
    }
    Ok(())
}

fn copies(group: &Group, facts: &Facts) -> Result<Vec<u32>, Unusable> {
    let place = "group.copies";
    different(place, group.copies.iter().map(|copies| copies.board.as_str()))?;
    let mut all = vec![1; facts.boards.len()];
    for copies in &group.copies {
        let board = facts.boards.iter().position(|board| board.name == copies.board);
        match board {
            Some(board) if copies.copies > 0 => all[board] = copies.copies,
            _ => return Err(Unusable::new(place, format!("no board {}, or no copies", copies.board))),
        }
    }
    Ok(all)
}

fn helpers(group: &Group, starts: u64) -> Result<Vec<Helper>, Unusable> {
    different("group.helpers", group.helpers.iter().map(|helper| helper.name.as_str()))?;
    let one = |helper: &spec::Helper| {
        let place = format!("helper {}", helper.name);
        let time = |text: &Option<String>| text.as_ref().map(|text| clock(&place, text)).transpose();
        let speed = u64::from(helper.speed_percent.unwrap_or(100));
        if speed == 0 {
            return Err(Unusable::new(&place, "the speed is zero"));
        }
        Ok(Helper {
            name: helper.name.clone(),
            can: helper.can.iter().copied().collect(),
            speed,
            from: time(&helper.from)?.unwrap_or(0).saturating_sub(starts),
            to: time(&helper.to)?.map(|to| to.saturating_sub(starts)),
        })
    };
    group.helpers.iter().map(one).collect()
}

fn brought(group: &Group, facts: &Facts) -> Result<BTreeMap<usize, Bringer>, Unusable> {
    let place = "group.brought";
    different(place, group.brought.iter().map(|brought| brought.fabric.as_str()))?;
    let one = |brought: &spec::Brought| {
        let fabric = facts.fabrics.iter().position(|fabric| fabric.name == brought.fabric);
        let fabric =
            fabric.ok_or_else(|| Unusable::new(place, format!("there is no fabric {}", brought.fabric)))?;
        let left_to = brought.leftovers_to.clone().unwrap_or_else(|| brought.by.clone());
        Ok((fabric, Bringer { by: brought.by.clone(), left_to }))
    };
    group.brought.iter().map(one).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_of_day_are_read_and_others_refused() {
        assert_eq!(clock("", "9:30"), Ok(34_200));
        assert_eq!(clock("", " 14:05 "), Ok(50_700));
        for text in ["", "9", "9:3", "9:60", "24:00", "-1:00", "9:30:00", "nine"] {
            assert!(clock("", text).is_err(), "{text}");
        }
    }
}
