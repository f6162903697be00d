//! Bags and their lists, derived again from the quilts.

use std::collections::{BTreeMap, BTreeSet};

use patchlay_measure::largest_remainder;
use patchlay_plan::day::{Bag, BagLine};
use patchlay_scenario::spec::{BagsBy, Quilt, QuiltBlocks, Scenario, SparesGo};

use super::{Case, hand_number, kind_name, yields};
use crate::demand::{Counter, Key, block_named};
use crate::facts::Unusable;
use crate::fault::{FaultCode, Faults};

/// Most bags derived.
const MOST_BAGS: usize = 5_000;

/// A bag as it must be.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Wanted {
    pub(super) name: String,
    pub(super) destination: String,
    pub(super) urgent: bool,
    /// Whether it is the bag of spares for all.
    pub(super) for_spares: bool,
    /// Needed and spare patches by kind.
    pub(super) lines: BTreeMap<Key, (u64, u64)>,
}

/// All bags as they must be; the bag of spares, if there is one, is the last.
pub(super) fn wanted(spec: &Scenario, case: &Case<'_>) -> Result<Vec<Wanted>, Unusable> {
    let counter = Counter { fabrics: &case.facts.fabrics, shapes: &case.facts.shapes };
    let by = spec.group.as_ref().map_or(BagsBy::Quilt, |group| group.bags.by);
    let mut packer = Packer { spec, counter, bags: Vec::new() };
    for quilt in &spec.quilts {
        packer.quilt(quilt, by)?;
    }
    packer.loose_patches()?;
    let mut bags = packer.bags;
    spares(case, &mut bags)?;
    Ok(bags)
}

struct Packer<'a> {
    spec: &'a Scenario,
    counter: Counter<'a>,
    bags: Vec<Wanted>,
}

impl Packer<'_> {
    fn quilt(&mut self, quilt: &Quilt, by: BagsBy) -> Result<(), Unusable> {
        let copies = quilt.copies.unwrap_or(1);
        for copy in 1..=copies {
            let name = if copies > 1 { format!("{} {copy}", quilt.name) } else { quilt.name.clone() };
            match by {
                BagsBy::Quilt => {
                    let bag = self.start(name, quilt)?;
                    self.add(bag, &quilt.blocks)?;
                }
                BagsBy::Helper => {
                    let to = quilt.destination.clone();
                    let to = to.ok_or_else(|| Unusable::new("quilts", format!("{name} is for nobody")))?;
                    let known = self.bags.iter().position(|bag| bag.name == to);
                    let bag = known.map_or_else(|| self.start(to, quilt), Ok)?;
                    self.bags[bag].urgent |= quilt.urgent == Some(true);
                    self.add(bag, &quilt.blocks)?;
                }
                BagsBy::Block => {
                    for blocks in &quilt.blocks {
                        let one = QuiltBlocks { count: 1, ..blocks.clone() };
                        for number in 1..=blocks.count {
                            let bag = self.start(format!("{name}, {} {number}", blocks.block), quilt)?;
                            self.add(bag, std::slice::from_ref(&one))?;
                        }
                    }
                }
            }
        }
        Ok(())
    }

    /// Adds an empty bag and gives its index.
    fn start(&mut self, name: String, quilt: &Quilt) -> Result<usize, Unusable> {
        if self.bags.len() >= MOST_BAGS {
            return Err(Unusable::new("group.bags", "there are too many"));
        }
        let destination = quilt.destination.clone().unwrap_or_default();
        let urgent = quilt.urgent == Some(true);
        self.bags.push(Wanted { name, destination, urgent, ..Wanted::default() });
        Ok(self.bags.len() - 1)
    }

    fn add(&mut self, bag: usize, all: &[QuiltBlocks]) -> Result<(), Unusable> {
        let mut patches = BTreeMap::new();
        for blocks in all {
            let block = block_named(self.spec, &blocks.block)?;
            self.counter.add_blocks(&mut patches, block, blocks, blocks.count.into())?;
        }
        self.put(bag, patches);
        Ok(())
    }

    fn put(&mut self, bag: usize, patches: BTreeMap<Key, u128>) {
        for (kind, patches) in patches.into_iter().filter(|(_, patches)| *patches > 0) {
            let line = self.bags[bag].lines.entry(kind).or_default();
            line.0 = line.0.saturating_add(u64::try_from(patches).unwrap_or(u64::MAX));
        }
    }

    fn loose_patches(&mut self) -> Result<(), Unusable> {
        if self.spec.loose_patches.is_empty() {
            return Ok(());
        }
        let mut patches = BTreeMap::new();
        for loose in &self.spec.loose_patches {
            let kind = self.counter.key(&loose.fabric, &loose.shape, loose.mirrored)?;
            *patches.entry(kind).or_default() += u128::from(loose.count);
        }
        self.bags.push(Wanted { name: "loose patches".to_owned(), ..Wanted::default() });
        self.put(self.bags.len() - 1, patches);
        Ok(())
    }
}

/// Puts everything that is cut beyond the needs into bags.
fn spares(case: &Case<'_>, bags: &mut Vec<Wanted>) -> Result<(), Unusable> {
    let mut left = Wanted { name: "spares".to_owned(), for_spares: true, ..Wanted::default() };
    let mut urgent_first: Vec<usize> = (0..bags.len()).collect();
    urgent_first.sort_by_key(|&bag| !bags[bag].urgent);
    for (kind, cut) in yields::of_all(case) {
        let needs = |bag: &Wanted| bag.lines.get(&kind).map_or(0, |line| line.0);
        let needed: Vec<i128> = urgent_first.iter().map(|&bag| needs(&bags[bag]).into()).collect();
        let sum: i128 = needed.iter().sum();
        let spare = u32::try_from(i128::from(cut) - sum)
            .map_err(|_| Unusable::new("plan", "it does not cut what is needed"))?;
        if spare == 0 {
            continue;
        }
        if sum == 0 || case.hall.spares == SparesGo::OneBag {
            left.lines.insert(kind, (0, spare.into()));
            continue;
        }
        for (&bag, share) in urgent_first.iter().zip(largest_remainder(&needed, spare)) {
            if let Some(line) = bags[bag].lines.get_mut(&kind) {
                line.1 = share.into();
            }
        }
    }
    if !left.lines.is_empty() {
        bags.push(left);
    }
    Ok(())
}

/// Judges the bags.
pub(super) fn judge(case: &Case<'_>, wanted: &[Wanted], faults: &mut Faults) {
    let found = &case.day.bags;
    faults.equal(FaultCode::BagList, "bags", found.len(), wanted.len());
    for (at, (found, wanted)) in found.iter().zip(wanted).enumerate() {
        let place = format!("bag {}", at + 1);
        faults.equal(FaultCode::BagList, &place, &found.name, &wanted.name);
        let to = format!("{place}, destination");
        faults.equal(FaultCode::BagList, to, &found.destination, &wanted.destination);
        faults.equal(FaultCode::BagList, format!("{place}, urgent"), found.urgent, wanted.urgent);
        lines(case, found, wanted, &place, faults);
    }
}

fn lines(case: &Case<'_>, found: &Bag, wanted: &Wanted, place: &str, faults: &mut Faults) {
    let mut list: BTreeMap<Key, (u64, u64)> = BTreeMap::new();
    let mut last = None;
    for line in &found.lines {
        let Some(kind) = kind_of(case, line) else {
            let name = format!("{} {}", line.fabric, line.shape);
            faults.add(FaultCode::BagNeeds, place, name, "a fabric and a shape of the scenario");
            continue;
        };
        if last >= Some(kind) || line.needed == 0 && line.spare == 0 {
            let name = kind_name(case.facts, kind);
            faults.add(FaultCode::BagNeeds, place, name, "one line for each, in order, with patches");
        }
        last = Some(kind);
        list.insert(kind, (line.needed, line.spare));
    }
    for kind in list.keys().chain(wanted.lines.keys()).collect::<BTreeSet<_>>() {
        let of = |lines: &BTreeMap<Key, (u64, u64)>| lines.get(kind).copied().unwrap_or((0, 0));
        let (found, wanted) = (of(&list), of(&wanted.lines));
        let place = format!("{place}, {}", kind_name(case.facts, *kind));
        faults.equal(FaultCode::BagNeeds, &place, found.0, wanted.0);
        faults.equal(FaultCode::BagSpares, &place, found.1, wanted.1);
    }
}

/// What lies in the bags when the day begins, by kind and bag: nothing, or for the rest of a day every good patch that is
/// there; none if that is not so.
pub(super) fn there(
    case: &Case<'_>,
    wanted: &[Wanted],
    faults: &mut Faults,
) -> Option<BTreeMap<(Key, usize), u64>> {
    let mut there = BTreeMap::new();
    let mut sums: BTreeMap<Key, u64> = BTreeMap::new();
    let mut well = true;
    for (at, bag) in case.day.bags.iter().enumerate() {
        for line in bag.lines.iter().filter(|line| line.there > 0) {
            let Some(kind) = kind_of(case, line) else { continue };
            let whole = wanted.get(at).and_then(|bag| bag.lines.get(&kind));
            let most = whole.map_or(0, |line| line.0.saturating_add(line.1));
            if line.there > most {
                let place = format!("bag {}, {}", at + 1, kind_name(case.facts, kind));
                faults.add(FaultCode::BagThere, place, line.there, format!("at most {most}"));
                well = false;
            }
            there.insert((kind, at), line.there);
            let sum = sums.entry(kind).or_default();
            *sum = sum.saturating_add(line.there);
        }
    }
    let good = case.rest.map(|rest| rest.good.clone()).unwrap_or_default();
    for kind in sums.keys().chain(good.keys()).collect::<BTreeSet<_>>() {
        let of = |counts: &BTreeMap<Key, u64>| counts.get(kind).copied().unwrap_or(0);
        faults.equal(FaultCode::BagThere, kind_name(case.facts, *kind), of(&sums), of(&good));
        well &= of(&sums) == of(&good);
    }
    well.then_some(there)
}

/// Bags, but for that of spares, that have patches already and get more.
pub(super) fn begun(bags: &[Wanted], there: &BTreeMap<(Key, usize), u64>) -> BTreeSet<usize> {
    let has = |bag: usize| there.keys().any(|(_, own)| *own == bag);
    let gets = |bag: usize| {
        bags[bag].lines.iter().any(|(kind, line)| {
            line.0.saturating_add(line.1) > there.get(&(*kind, bag)).copied().unwrap_or(0)
        })
    };
    (0..bags.len()).filter(|&bag| !bags[bag].for_spares && has(bag) && gets(bag)).collect()
}

fn kind_of(case: &Case<'_>, line: &BagLine) -> Option<Key> {
    let fabric = case.facts.fabrics.iter().position(|fabric| fabric.name == line.fabric)?;
    let shape = case.facts.shapes.iter().position(|shape| shape.name == line.shape)?;
    Some((fabric, shape, hand_number(line.hand)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::day::Hall;
    use crate::facts::Facts;
    use crate::supply;
    use patchlay_plan::Plan;
    use patchlay_plan::day::Day;
    use serde_json::{Value, json};

    /// The bags of the two quilts, with another scenario that asks for as much.
    fn bags(change: impl FnOnce(&mut Value)) -> Vec<Wanted> {
        let mut scenario: Value =
            serde_json::from_str(include_str!("../../../../tests/damage/good/two.json")).unwrap();
        change(&mut scenario);
        let plan = Plan::from_json(include_str!("../../../../tests/damage/good/two.plan.json")).unwrap();
        let day = Day::from_json(include_str!("../../../../tests/damage/good/two.day.json")).unwrap();
        let (facts, value) = Facts::read(&scenario.to_string()).unwrap();
        let spec: Scenario = serde_json::from_value(value).unwrap();
        let hall = Hall::read(spec.group.as_ref().unwrap(), &spec, &facts).unwrap();
        let layups = supply::layups(&facts, &plan, &mut Faults::default());
        let case = Case { facts: &facts, hall: &hall, plan: &plan, day: &day, layups: &layups, rest: None };
        wanted(&spec, &case).unwrap()
    }

    fn names(bags: &[Wanted]) -> Vec<&str> {
        bags.iter().map(|bag| bag.name.as_str()).collect()
    }

    /// Needed and spare patches of every line.
    fn lines(bag: &Wanted) -> Vec<(u64, u64)> {
        bag.lines.values().copied().collect()
    }

    #[test]
    fn every_block_of_every_copy_has_a_bag() {
        let bags = bags(|scenario| {
            scenario["group"]["bags"]["by"] = json!("block");
            scenario["quilts"][0]["blocks"][0]["count"] = json!(2);
            scenario["quilts"][1]["copies"] = json!(2);
            scenario["quilts"][1]["blocks"][0]["count"] = json!(1);
        });
        let wanted = [
            "north, Four Patch 1",
            "north, Four Patch 2",
            "south 1, Four Patch 1",
            "south 2, Four Patch 1",
            "spares",
        ];
        assert_eq!(names(&bags), wanted);
        assert!(bags[..4].iter().all(|bag| lines(bag) == [(2, 0), (2, 0)]));
        assert_eq!(bags.iter().map(|bag| bag.urgent).collect::<Vec<_>>(), [false, false, true, true, false]);
        // 26, 16 and 11 patches are cut.
        assert_eq!(lines(&bags[4]), [(0, 18), (0, 12), (0, 7)]);
    }

    #[test]
    fn quilts_for_one_person_share_a_bag_that_is_urgent_if_any_is() {
        let bags = bags(|scenario| {
            scenario["group"]["bags"]["by"] = json!("helper");
            scenario["quilts"][1]["for"] = json!("Ann");
        });
        assert_eq!(names(&bags), ["Ann", "spares"]);
        assert!(bags[0].urgent && bags[0].destination == "Ann");
        assert_eq!(lines(&bags[0]), [(24, 0), (14, 0), (10, 0)]);
    }

    #[test]
    fn loose_patches_have_a_bag_of_their_own() {
        let bags = bags(|scenario| {
            scenario["quilts"][0]["blocks"][0]["count"] = json!(6);
            scenario["loose_patches"] = json!([{ "shape": "square 4", "fabric": "Gold", "count": 3 }]);
        });
        assert_eq!(names(&bags), ["north", "south", "loose patches", "spares"]);
        assert_eq!(lines(&bags[2]), [(3, 0)]);
    }

    #[test]
    fn spares_are_shared_out_in_proportion_and_the_urgent_bag_gets_the_odd_one() {
        let shared = bags(|scenario| scenario["group"]["bags"]["spares"] = json!("shared_out"));
        // Two spare blue ones for 14 and 10: 1.17 and 0.83. Nobody but the first quilt has gold.
        assert_eq!(names(&shared), ["north", "south"]);
        assert_eq!((lines(&shared[0]), lines(&shared[1])), (vec![(14, 1), (14, 2)], vec![(10, 1), (10, 1)]));
        let tie = bags(|scenario| {
            scenario["group"]["bags"]["spares"] = json!("shared_out");
            scenario["quilts"][1]["blocks"][0]["count"] = json!(2);
            let mut early = scenario["quilts"][1].clone();
            early["name"] = json!("early");
            early["urgent"] = json!(false);
            scenario["quilts"].as_array_mut().unwrap().insert(1, early);
        });
        // Three spare red ones for four and four.
        assert_eq!((lines(&tie[1])[1], lines(&tie[2])[1]), ((4, 1), (4, 2)));
    }

    #[test]
    fn what_nobody_needs_goes_into_the_bag_of_spares() {
        let bags = bags(|scenario| {
            scenario["group"]["bags"]["spares"] = json!("shared_out");
            scenario["quilts"][1]["blocks"][0]["fabrics"]["other"] = json!("Blue");
            scenario["quilts"][1]["blocks"][0]["count"] = json!(3);
        });
        assert_eq!(names(&bags), ["north", "south", "spares"]);
        assert_eq!(lines(&bags[2]), [(0, 11)]);
    }
}
