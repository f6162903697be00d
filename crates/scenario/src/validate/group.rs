//! Judges what a group adds: every quilt has a bag, every board a cutter, every kind of work a helper.

use std::collections::{BTreeMap, BTreeSet};

use super::judge::{Judge, Names, Range};
use super::quilts::MOST_COUNT;
use crate::job::group::{Bag, Brought, CutterClass, Group, Helper, Labels};
use crate::job::{Board, DemandId, Job, hand};
use crate::path::Path;
use crate::problem::Code;
use crate::sheet::{LabelSheet, PAPERS, beyond};
use crate::spec::{self, BagsBy, Work};

/// Most bags.
const MOST_BAGS: usize = 5_000;
/// Most of anything that stands in a hall and is no cutter.
const MOST_THINGS: u32 = 1_000;
/// Most cutters of one kind. Every one is a station with hours of its own.
const MOST_CUTTERS: u32 = 50;
/// Most copies of a board.
const MOST_COPIES: u32 = 100;
/// Names of bags that no quilt has a bag of its own for.
const SHARED_BAGS: [&str; 2] = ["spares", "loose patches"];
/// Slowest and fastest helper, percent of the standard times.
const SPEEDS: (u32, u32) = (10, 400);

/// What a group is judged against.
pub(crate) struct Against<'a, 's> {
    pub(crate) boards: &'a [Option<Board>],
    pub(crate) board_names: &'a Names<'s>,
    pub(crate) fabric_names: &'a Names<'s>,
}

/// Judges the group; `None` if there is none or it cannot be used. Bags get their patches later, by [`fill`].
pub(crate) fn group(
    judge: &mut Judge<'_, '_>,
    scenario: &spec::Scenario,
    against: &Against<'_, '_>,
) -> Option<Group> {
    let spec = scenario.group.as_ref()?;
    let path = Path::of("group");
    let most_open = match spec.bags.most_open {
        Some(most) => judge.count(&path.field("bags").field("most_open"), most, 1, MOST_COUNT).map(Some),
        None => Some(None),
    };
    let bags = bags(judge, scenario, spec);
    let classes = classes(judge, &path.field("cutters"), spec, scenario);
    if let Some(classes) = &classes {
        boards_are_taken(judge, against.boards, classes);
    }
    let copies = copies(judge, &path.field("copies"), spec, against);
    let thing =
        |judge: &mut Judge<'_, '_>, name: &'static str, stated: Option<u32>, usual: u32, what: &str| {
            match stated {
                Some(count) => judge.count(&path.field("equipment").field(name), count, 1, MOST_THINGS),
                None => {
                    judge.assume(format!("{what}: {usual}"), "");
                    Some(usual)
                }
            }
        };
    let none = spec::Equipment::default();
    let equipment = spec.equipment.as_ref().unwrap_or(&none);
    let irons = thing(judge, "irons", equipment.irons, 1, "Irons");
    let rulers = thing(judge, "rulers", equipment.rulers, 1, "Rulers with hand cutter");
    let tables = thing(judge, "tables", equipment.tables, 4, "Places at tables");
    let trays_ahead =
        thing(judge, "trays_ahead", equipment.trays_ahead, 3, "Trays that wait for a cutter at most");
    let passes_a_tray =
        thing(judge, "passes_a_tray", equipment.passes_a_tray, 6, "Passes that one tray serves at most");
    let day = day(judge, &path.field("day"), spec.day.as_ref());
    let starts = day.map(|day| day.starts);
    let helpers = helpers(judge, &path.field("helpers"), &spec.helpers, starts);
    let brought = brought(judge, &path.field("brought"), spec, scenario.fabrics.len(), against);
    let labels = match &spec.labels {
        Some(labels) => self::labels(judge, &path.field("labels"), labels).map(Some),
        None => Some(None),
    };
    let day = day?;
    Some(Group {
        bags: bags?,
        spares: spec.bags.spares,
        most_open: most_open?,
        classes: classes?,
        copies: copies?,
        irons: irons?,
        rulers: rulers?,
        tables: tables?,
        trays_ahead: trays_ahead?,
        passes_a_tray: passes_a_tray?,
        helpers: helpers?,
        starts: day.starts,
        slack_percent: day.slack,
        rest_per_pass: day.rest,
        sort_part: day.sort,
        check_line: day.check,
        brought: brought?,
        labels: labels?,
    })
}

/// The bags without their patches.
fn bags(judge: &mut Judge<'_, '_>, scenario: &spec::Scenario, group: &spec::Group) -> Option<Vec<Bag>> {
    let by = group.bags.by;
    let mut bags: Vec<Bag> = Vec::new();
    let mut whole = judge.report.readable(&Path::of("group").field("bags").field("by"));
    let mut names = BTreeSet::new();
    for (at, quilt) in scenario.quilts.iter().enumerate() {
        let path = Path::of("quilts").element(at);
        if let Some(to) = &quilt.destination {
            whole &= judge.name(&path.field("for"), to);
        } else if by == BagsBy::Helper && judge.report.readable(&path.field("for")) {
            let problem = "this quilt has no bag: bags go by helper, and it is for nobody";
            let hint = "add \"for\": and who gets it, or divide the bags by \"quilt\"";
            judge.report.add(Code::QuiltWithoutBag, &path, problem, hint);
            whole = false;
        }
        if bags.len() <= MOST_BAGS && whole {
            let before = bags.len();
            add_bags(&mut bags, quilt, by);
            let field = if by == BagsBy::Helper { "for" } else { "name" };
            // Two quilts of one name are told where quilts are judged.
            let twice = scenario.quilts[..at].iter().any(|known| known.name == quilt.name);
            whole &= (twice && by != BagsBy::Helper)
                || told_apart(judge, &path.field(field), &bags[before..], &mut names);
        }
    }
    if bags.len() > MOST_BAGS {
        let problem = format!("there would be more than {MOST_BAGS} bags");
        let hint = match by {
            BagsBy::Block => "divide them by \"quilt\" or by \"helper\", or plan fewer quilts for one day",
            BagsBy::Quilt => "divide them by \"helper\", or plan fewer quilts for one day",
            BagsBy::Helper => "plan quilts for fewer people in one day",
        };
        judge.report.add(Code::TooManyBags, &Path::of("group").field("bags").field("by"), problem, hint);
        return None;
    }
    if !scenario.loose_patches.is_empty() {
        bags.push(Bag {
            name: "loose patches".to_owned(),
            destination: String::new(),
            urgent: false,
            patches: Vec::new(),
        });
    }
    whole.then_some(bags)
}

/// Whether new bags have names that no other bag has: people find a bag by what stands on it.
fn told_apart(judge: &mut Judge<'_, '_>, path: &Path, new: &[Bag], names: &mut BTreeSet<String>) -> bool {
    for bag in new {
        let shared = SHARED_BAGS.iter().find(|shared| bag.name.eq_ignore_ascii_case(shared));
        if shared.is_none() && names.insert(bag.name.clone()) {
            continue;
        }
        let problem = match shared {
            Some(shared) => format!("a bag would be called \"{}\", as the bag of {shared} is", bag.name),
            None => format!("two bags would be called \"{}\"", bag.name),
        };
        judge.report.add(Code::DuplicateName, path, problem, "give this another name");
        return false;
    }
    true
}

fn add_bags(bags: &mut Vec<Bag>, quilt: &spec::Quilt, by: BagsBy) {
    let urgent = quilt.urgent.unwrap_or(false);
    let destination = quilt.destination.clone().unwrap_or_default();
    let bag = |name: String| Bag { name, destination: destination.clone(), urgent, patches: Vec::new() };
    let copies = quilt.copies.unwrap_or(1);
    for copy in 1..=copies {
        let name = if copies == 1 { quilt.name.clone() } else { format!("{} {copy}", quilt.name) };
        match by {
            BagsBy::Quilt => bags.push(bag(name)),
            BagsBy::Helper => match bags.iter_mut().find(|bag| bag.name == destination) {
                Some(known) => known.urgent |= urgent,
                None => bags.push(bag(destination.clone())),
            },
            BagsBy::Block => {
                for blocks in &quilt.blocks {
                    let each = (1..=blocks.count).take(MOST_BAGS + 1);
                    bags.extend(each.map(|number| bag(format!("{name}, {} {number}", blocks.block))));
                }
            }
        }
        if bags.len() > MOST_BAGS {
            return;
        }
    }
}

/// Puts into every bag the patches that its quilts need. `job` is complete but for this.
pub(crate) fn fill(job: &mut Job, scenario: &spec::Scenario) {
    let Some(mut group) = job.group.take() else { return };
    let Some(by) = scenario.group.as_ref().map(|group| group.bags.by) else { return };
    let mut patches: Vec<BTreeMap<DemandId, u64>> = vec![BTreeMap::new(); group.bags.len()];
    let mut next = 0;
    for (quilt, spec) in job.quilts.iter().zip(&scenario.quilts) {
        for _ in 0..quilt.copies {
            let helper = || group.bags.iter().position(|bag| Some(&bag.name) == spec.destination.as_ref());
            let shared = if by == BagsBy::Helper { helper() } else { None };
            let own = next;
            for (block, count, fabrics) in &quilt.blocks {
                let times = if by == BagsBy::Block { 1 } else { u64::from(*count) };
                for number in 0..(if by == BagsBy::Block { *count } else { 1 }) {
                    let bag = match by {
                        BagsBy::Quilt => own,
                        BagsBy::Block => next + usize::try_from(number).unwrap_or(0),
                        BagsBy::Helper => shared.unwrap_or(0),
                    };
                    for (line, fabric) in job.blocks[*block].patches.iter().zip(fabrics) {
                        let hand = hand(&job.shapes[line.shape].shape, &job.fabrics[*fabric], line.mirrored);
                        let of = |demand: &crate::job::Demand| {
                            (demand.fabric, demand.shape, demand.hand) == (*fabric, line.shape, hand)
                        };
                        if let (Some(demand), Some(bag)) =
                            (job.demands.iter().position(of), patches.get_mut(bag))
                        {
                            *bag.entry(demand).or_default() += times * u64::from(line.count);
                        }
                    }
                }
                if by == BagsBy::Block {
                    next += usize::try_from(*count).unwrap_or(0);
                }
            }
            if by == BagsBy::Quilt {
                next += 1;
            }
        }
    }
    if !scenario.loose_patches.is_empty()
        && let Some(last) = patches.len().checked_sub(1)
    {
        for (at, demand) in job.demands.iter().enumerate() {
            let others: u64 = patches[..last].iter().filter_map(|bag| bag.get(&at)).sum();
            if demand.needed > others {
                patches[last].insert(at, demand.needed - others);
            }
        }
    }
    for (bag, patches) in group.bags.iter_mut().zip(patches) {
        bag.patches = patches.into_iter().collect();
    }
    job.group = Some(group);
}

/// The kinds of cutters: those listed, or the job's own.
fn classes(
    judge: &mut Judge<'_, '_>,
    list: &Path,
    group: &spec::Group,
    scenario: &spec::Scenario,
) -> Option<Vec<CutterClass>> {
    let whole = Path::of("cutter");
    let bed = judge.quietly(&whole.field("bed_width"), &scenario.cutter.bed_width);
    let longest = judge.quietly(&whole.field("longest_board"), &scenario.cutter.longest_board);
    let most = scenario.cutter.ply_limit;
    if group.cutters.is_empty() {
        return judge.report.readable(list).then_some(vec![CutterClass {
            name: "cutter".to_owned(),
            bed_width: bed?,
            longest_board: longest?,
            ply_limit: most,
            number: 1,
        }]);
    }
    judge.names(list, "cutter", group.cutters.iter().map(|cutter| cutter.name.as_str()));
    let mut classes = Vec::new();
    for (at, spec) in group.cutters.iter().enumerate() {
        let path = list.element(at);
        let bed_width = judge.length(&path.field("bed_width"), &spec.bed_width, Range::SIZE);
        let board = judge.length(&path.field("longest_board"), &spec.longest_board, Range::SIZE);
        let ply_limit = judge.count(&path.field("ply_limit"), spec.ply_limit, 1, super::cutter::MOST_PLIES);
        let number = judge.count(&path.field("number"), spec.number.unwrap_or(1), 1, MOST_CUTTERS);
        for (field, above) in [
            ("bed_width", bed_width > bed && bed.is_some()),
            ("longest_board", board > longest && longest.is_some()),
            ("ply_limit", ply_limit.is_some_and(|limit| limit > most)),
        ] {
            if above {
                let problem = format!("its {} is above that of `cutter`", field.replace('_', " "));
                let hint = "describe the largest cutter of the hall in `cutter`";
                judge.report.add(Code::CutterAboveLargest, &path.field(field), problem, hint);
            }
        }
        classes.push(bed_width.zip(board).zip(ply_limit).zip(number).map(
            |(((bed_width, longest_board), ply_limit), number)| CutterClass {
                name: spec.name.clone(),
                bed_width,
                longest_board,
                ply_limit,
                number,
            },
        ));
    }
    classes.into_iter().collect()
}

fn boards_are_taken(judge: &mut Judge<'_, '_>, boards: &[Option<Board>], classes: &[CutterClass]) {
    for (at, board) in boards.iter().enumerate() {
        let Some(board) = board else { continue };
        if !classes.iter().any(|class| class.takes(board.width, board.length)) {
            let problem = "no cutter of the group takes this board";
            let hint = "check its size and those of `group.cutters`, or leave the board out";
            judge.report.add(Code::BoardWithoutCutter, &Path::of("boards").element(at), problem, hint);
        }
    }
}

/// A board is never stacked higher than the best cutter that takes it.
pub(crate) fn lower_limits(job: &mut Job) {
    let Some(group) = &job.group else { return };
    for board in job.boards.iter_mut().chain(&mut job.could_have) {
        let taking = group.classes.iter().filter(|class| class.takes(board.width, board.length));
        if let Some(most) = taking.map(|class| class.ply_limit).max() {
            board.ply_limit = board.ply_limit.min(most);
        }
    }
}

fn copies(
    judge: &mut Judge<'_, '_>,
    list: &Path,
    group: &spec::Group,
    against: &Against<'_, '_>,
) -> Option<Vec<u32>> {
    let mut copies = vec![1; against.boards.len()];
    let mut first: BTreeMap<usize, usize> = BTreeMap::new();
    let mut whole = judge.report.readable(list);
    for (at, spec) in group.copies.iter().enumerate() {
        let path = list.element(at);
        let board = judge.refer(&path.field("board"), &spec.board, against.board_names);
        let count = judge.count(&path.field("copies"), spec.copies, 1, MOST_COPIES);
        if let Some(board) = board
            && let Some(known) = first.insert(board, at)
        {
            let problem = format!("this board is listed already, in {}", list.element(known));
            let hint = "keep one, with all its copies";
            judge.report.add(Code::DuplicateName, &path.field("board"), problem, hint);
            whole = false;
        }
        match (board, count) {
            (Some(board), Some(count)) => copies[board] = count,
            _ => whole = false,
        }
    }
    whole.then_some(copies)
}

#[derive(Clone, Copy)]
struct Day {
    starts: u32,
    slack: u32,
    rest: u32,
    sort: u32,
    check: u32,
}

fn day(judge: &mut Judge<'_, '_>, path: &Path, spec: Option<&spec::DayRules>) -> Option<Day> {
    let none = spec::DayRules::default();
    let spec = spec.unwrap_or(&none);
    let starts = match &spec.starts {
        Some(text) => clock(judge, &path.field("starts"), text),
        None => {
            judge.assume("The day starts at 9:00", "");
            Some(9 * 60)
        }
    };
    let mut number = |name: &'static str, stated: Option<u32>, usual: u32, most: u32, what: &str| match stated
    {
        Some(value) => judge.count(&path.field(name), value, 0, most),
        None => {
            judge.assume(format!("{what} {usual}"), "");
            Some(usual)
        }
    };
    let slack =
        number("slack_percent", spec.slack_percent, 20, 300, "Slack on every time of the day, percent:");
    let rest =
        number("rest_per_pass", spec.rest_per_pass, 10, 3_600, "Seconds of rest for every pass, our guess:");
    let sort = number(
        "sort_part",
        spec.sort_part,
        10,
        3_600,
        "Seconds to lay part of a stack into its bag, our guess:",
    );
    let check = number(
        "check_line",
        spec.check_line,
        15,
        3_600,
        "Seconds to check a line of a bag's list, our guess:",
    );
    Some(Day { starts: starts?, slack: slack?, rest: rest?, sort: sort?, check: check? })
}

/// Minutes after midnight of `"9:30"`.
fn clock(judge: &mut Judge<'_, '_>, path: &Path, text: &str) -> Option<u32> {
    if !judge.report.readable(path) {
        return None;
    }
    let parts = text.trim().split_once(':');
    let read = parts.and_then(|(hours, minutes)| {
        let (hours, least): (u32, u32) = (hours.parse().ok()?, minutes.parse().ok()?);
        (hours < 24 && least < 60 && minutes.len() == 2).then_some(hours * 60 + least)
    });
    if read.is_none() {
        let problem = "this is not a time of day";
        judge.report.add(Code::BadClock, path, problem, "write it like \"9:30\" or \"14:00\"");
    }
    read
}

fn helpers(
    judge: &mut Judge<'_, '_>,
    list: &Path,
    specs: &[spec::Helper],
    starts: Option<u32>,
) -> Option<Vec<Helper>> {
    judge.names(list, "helper", specs.iter().map(|helper| helper.name.as_str()));
    let mut helpers = Vec::new();
    for (at, spec) in specs.iter().enumerate() {
        helpers.push(helper(judge, &list.element(at), spec, starts));
    }
    let helpers: Vec<Helper> = helpers.into_iter().collect::<Option<_>>()?;
    if !judge.report.readable(list) {
        return None;
    }
    if helpers.is_empty() {
        judge.assume("Nobody is listed to help, so there is no schedule", "");
        return Some(helpers);
    }
    for work in Work::ALL {
        let known = (0..specs.len()).all(|at| judge.report.readable(&list.element(at).field("can")));
        if known && !helpers.iter().any(|helper| helper.can.contains(&work)) {
            let problem = format!("none of the helpers can do this: {}", words(work));
            let hint = "add it to what one of them can do";
            judge.report.add(Code::NobodyCan, list, problem, hint);
        }
    }
    Some(helpers)
}

fn words(work: Work) -> &'static str {
    match work {
        Work::Press => "press",
        Work::Strips => "square cloth and cut strips (strips)",
        Work::Fold => "cut lengths and fold them (fold)",
        Work::Crank => "crank",
        Work::LiftOut => "count what is lifted out (lift_out)",
        Work::CheckBags => "check bags (check_bags)",
    }
}

fn helper(
    judge: &mut Judge<'_, '_>,
    path: &Path,
    spec: &spec::Helper,
    starts: Option<u32>,
) -> Option<Helper> {
    let mut can = spec.can.clone();
    can.sort_unstable();
    can.dedup();
    if can.is_empty() && judge.report.readable(&path.field("can")) {
        let hint = "say what they can do, for example [\"press\", \"fold\"], or leave them out";
        judge.report.add(Code::HelperCannotWork, path, "this helper can't do any work", hint);
    }
    let speed = spec.speed_percent.unwrap_or(100);
    let speed = judge.count(&path.field("speed_percent"), speed, SPEEDS.0, SPEEDS.1);
    let time = |judge: &mut Judge<'_, '_>, field: &str, text: &Option<String>| match text {
        Some(text) => clock(judge, &path.field(field), text).map(Some),
        None => Some(None),
    };
    let (from, to) = (time(judge, "from", &spec.from), time(judge, "to", &spec.to));
    let (starts, speed_percent, from, to) = (starts?, speed?, from?, to?);
    let seconds = |minutes: u32| u64::from(minutes.saturating_sub(starts)) * 60;
    let (from, to) = (from.map_or(0, seconds), to.map(seconds));
    if to.is_some_and(|to| to <= from) {
        let hint = "check `from`, `to` and the start of the day";
        let problem = "this helper goes before work can start for them";
        judge.report.add(Code::HelperCannotWork, path, problem, hint);
        return None;
    }
    (!can.is_empty()).then(|| Helper { name: spec.name.clone(), can, speed_percent, from, to })
}

fn brought(
    judge: &mut Judge<'_, '_>,
    list: &Path,
    group: &spec::Group,
    fabrics: usize,
    against: &Against<'_, '_>,
) -> Option<Vec<Option<Brought>>> {
    let mut brought: Vec<Option<Brought>> = vec![None; fabrics];
    let mut whole = judge.report.readable(list);
    for (at, spec) in group.brought.iter().enumerate() {
        let path = list.element(at);
        let fabric = judge.refer(&path.field("fabric"), &spec.fabric, against.fabric_names);
        let mut named = judge.name(&path.field("by"), &spec.by);
        if let Some(to) = &spec.leftovers_to {
            named &= judge.name(&path.field("leftovers_to"), to);
        }
        let leftovers_to = spec.leftovers_to.clone().unwrap_or_else(|| spec.by.clone());
        match fabric {
            Some(fabric) if brought[fabric].is_some() => {
                let problem = "this fabric is listed twice";
                let hint = "keep one; give cloth that two people brought two names";
                judge.report.add(Code::DuplicateName, &path.field("fabric"), problem, hint);
                whole = false;
            }
            Some(fabric) if named => {
                brought[fabric] = Some(Brought { by: spec.by.clone(), leftovers_to });
            }
            _ => whole = false,
        }
    }
    whole.then_some(brought)
}

fn labels(judge: &mut Judge<'_, '_>, path: &Path, spec: &spec::Labels) -> Option<Labels> {
    let rows = judge.count(&path.field("rows"), spec.rows, 1, 100);
    let columns = judge.count(&path.field("columns"), spec.columns, 1, 100);
    let width = judge.length(&path.field("width"), &spec.width, Range::SIZE);
    let height = judge.length(&path.field("height"), &spec.height, Range::SIZE);
    let mut maybe = |field: &str, text: &Option<spec::LengthText>| match text {
        Some(text) => judge.length(&path.field(field), text, Range::SMALL).map(Some),
        None => Some(None),
    };
    let (left, top) = (maybe("left", &spec.left), maybe("top", &spec.top));
    let (across, down) = (maybe("gap_across", &spec.gap_across), maybe("gap_down", &spec.gap_down));
    let labels = Labels {
        rows: rows?,
        columns: columns?,
        width: width?,
        height: height?,
        left: left?,
        top: top?,
        gap_across: across?.unwrap_or_default(),
        gap_down: down?.unwrap_or_default(),
    };
    let (least_width, least_height) = LabelSheet::least(judge.units);
    let mut small = false;
    for (field, length, least) in
        [("width", labels.width, least_width), ("height", labels.height, least_height)]
    {
        if length < least {
            let problem = format!("a label {} of {} holds no print", field, judge.show(length));
            let hint =
                format!("labels are at least {} x {}", judge.show(least_width), judge.show(least_height));
            judge.report.add(Code::LabelTooSmall, &path.field(field), problem, hint);
            small = true;
        }
    }
    if small {
        return None;
    }
    // The paper is chosen when the pages are made; what fits on none is wrong whatever is chosen.
    if PAPERS.iter().all(|paper| !beyond(&labels, paper, judge.units).is_empty()) {
        let found = beyond(&labels, &LabelSheet::usual(judge.units), judge.units);
        for (field, problem, hint) in found {
            judge.report.add(Code::LabelsBeyondSheet, &path.field(field), problem, hint);
        }
        return None;
    }
    Some(labels)
}
