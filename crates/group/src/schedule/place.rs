//! From a sequence of runs to a schedule: run after run, every task at the earliest time at which a helper who
//! can do it and everything it needs are free (a serial schedule generation scheme). The helper with the earliest end is
//! taken, of equal ones the one who can do least else. Who can do several kinds of work is often better kept for one of
//! them: a reluctance, in seconds for every helper and kind of work, is added to the end when helpers are compared.

use std::collections::BTreeMap;
use std::sync::Arc;

use patchlay_scenario::job::group::Helper;
use patchlay_scenario::spec::Work;

use super::hall::{Hall, Run, Shop, Sorting, squarings};
use super::timeline::Timeline;

/// What a task is on, by index.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Of {
    Batch(usize),
    Run(usize),
    Bag(usize),
}

/// A task in its place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Placed {
    pub(crate) work: Work,
    pub(crate) of: Of,
    pub(crate) helper: usize,
    /// Station, and copy of the board from 0.
    pub(crate) at: Option<(usize, u32)>,
    pub(crate) start: u64,
    pub(crate) end: u64,
}

/// What helpers share.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Shared {
    Iron,
    Ruler,
    Table,
}

pub(super) fn shared(work: Work) -> &'static [Shared] {
    match work {
        Work::Press => &[Shared::Iron],
        Work::Strips => &[Shared::Ruler, Shared::Table],
        Work::Fold => &[Shared::Ruler, Shared::Table],
        Work::Crank => &[],
        Work::LiftOut | Work::CheckBags => &[Shared::Table],
    }
}

#[derive(Clone, Debug)]
struct Station {
    class: usize,
    /// What is cranked there, in order of time.
    slots: Vec<Slot>,
}

/// A run on a station: when, and whether its board has to be put on for it.
#[derive(Clone, Copy, Debug)]
struct Slot {
    start: u64,
    end: u64,
    station: usize,
    changes: bool,
}

/// Time between two slots of a station, or of a copy of a board.
struct Gap<'a> {
    begins: u64,
    ends: u64,
    before: Option<&'a Slot>,
    next: Option<&'a Slot>,
}

/// The gaps among slots, in order of time, that end after `from`.
fn gaps(slots: &[Slot], from: u64) -> impl Iterator<Item = Gap<'_>> {
    let first = slots.partition_point(|slot| slot.start <= from);
    (first..=slots.len()).map(move |at| {
        let (before, next) = (at.checked_sub(1).and_then(|before| slots.get(before)), slots.get(at));
        Gap {
            begins: before.map_or(0, |slot| slot.end),
            ends: next.map_or(u64::MAX, |slot| slot.start),
            before,
            next,
        }
    })
}

/// Whether a run between these has to have its board put on: unless it was the last on this station, and this station the
/// last to have it. `None` if a run that comes after would then be another as to that, since its time is settled.
fn changes(at_station: &Gap<'_>, of_copy: &Gap<'_>) -> Option<bool> {
    let same = |one: Option<&Slot>, other: Option<&Slot>| {
        one.zip(other).is_some_and(|(one, other)| (one.station, one.start) == (other.station, other.start))
    };
    let goes_on = same(at_station.next, of_copy.next);
    let stays = at_station.next.is_none_or(|next| next.changes != goes_on)
        && of_copy.next.is_none_or(|next| next.changes != goes_on);
    stays.then_some(!same(at_station.before, of_copy.before))
}

/// Where a run could be cranked.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Choice {
    /// End with the helper's reluctance.
    felt: u64,
    end: u64,
    changes: bool,
    can_do: usize,
    start: u64,
    helper: usize,
    station: usize,
    copy: u32,
}

/// Runs in sequence, after how many more runs each is counted, how reluctant helpers are to do some kinds of work (seconds;
/// by helper, by kind), and who does a task in any case.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Rule {
    pub(crate) sequence: Vec<usize>,
    /// By run. Who counts may first fold what comes next.
    pub(crate) later: Vec<usize>,
    pub(crate) reluctance: Vec<[u64; 6]>,
    pub(crate) settled: BTreeMap<(Work, usize), usize>,
    /// Whether work is given out as helpers become free ([`dispatch`](super::dispatch)).
    pub(crate) at_once: bool,
    /// How much later a run then comes for which the board has to be changed, in seconds.
    pub(crate) keep: u64,
}

impl Rule {
    /// A sequence without any reluctance.
    pub(crate) fn plain(hall: &Hall, sequence: Vec<usize>) -> Self {
        let later = vec![0; sequence.len()];
        Self {
            sequence,
            later,
            reluctance: vec![[0; 6]; hall.helpers.len()],
            settled: BTreeMap::new(),
            at_once: false,
            keep: 0,
        }
    }

    /// For every place in the sequence the runs that are counted after it, in order.
    fn counted_after(&self) -> Vec<Vec<usize>> {
        let mut after = vec![Vec::new(); self.sequence.len()];
        let last = self.sequence.len().saturating_sub(1);
        for (at, &run) in self.sequence.iter().enumerate() {
            after[(at + self.later[run]).min(last)].push(run);
        }
        after
    }
}

/// Until when a fabric is pressed and cut, and how many strips by then: one presses it and one cuts it at a time.
#[derive(Clone, Copy, Debug, Default)]
struct Cloth {
    pressed: u64,
    cut: u64,
    strips: usize,
}

/// What is placed so far.
#[derive(Clone, Debug)]
pub(crate) struct State {
    helpers: Vec<Timeline>,
    irons: Timeline,
    rulers: Timeline,
    tables: Timeline,
    trays: Timeline,
    mats: Vec<Timeline>,
    stations: Vec<Station>,
    /// Where each copy of each board is in use, in order of time.
    copies: Vec<Vec<Vec<Slot>>>,
    /// When each batch of strips is cut.
    cut: Vec<Option<u64>>,
    cloths: Vec<Cloth>,
    /// When each run is cranked.
    cranked: Vec<u64>,
    /// When each run is counted.
    counted: Vec<Option<u64>>,
    tasks: Vec<Placed>,
}

/// A schedule under construction.
struct Placing<'a> {
    hall: &'a Hall,
    shop: &'a Shop,
    rule: &'a Rule,
    binds: Binds,
    now: State,
}

/// What can run short at all: of anything else there is one for everybody who could use it at a time.
#[derive(Clone, Copy)]
struct Binds {
    irons: bool,
    rulers: bool,
    tables: bool,
}

impl Binds {
    fn of(hall: &Hall) -> Self {
        let short = |what: Shared, owned: u32| {
            let uses = |helper: &&Helper| helper.can.iter().any(|&work| shared(work).contains(&what));
            hall.helpers.iter().filter(uses).count() > owned as usize
        };
        Self {
            irons: short(Shared::Iron, hall.irons),
            rulers: short(Shared::Ruler, hall.rulers),
            tables: short(Shared::Table, hall.tables),
        }
    }

    fn on(self, what: Shared) -> bool {
        match what {
            Shared::Iron => self.irons,
            Shared::Ruler => self.rulers,
            Shared::Table => self.tables,
        }
    }
}

/// A schedule and what was placed at some of its places on the way, from which a changed rule can go on.
#[derive(Clone, Debug, Default)]
pub(crate) struct Track {
    pub(crate) tasks: Vec<Placed>,
    /// Runs placed, and the state then.
    pub(super) marks: Vec<(usize, Arc<State>)>,
}

/// Later than anything: a tray that is filled before anything is placed waits until its run is.
const NEVER: u64 = u64::MAX / 8;
/// Marks on a track.
const MARKS: usize = 12;

impl State {
    fn of(hall: &Hall, shop: &Shop) -> Self {
        let stations = hall.stations().into_iter().map(|(class, _)| Station { class, slots: Vec::new() });
        let mut trays = Timeline::default();
        shop.runs.iter().filter(|run| run.tray.is_none()).for_each(|_| trays.take(1, 0, NEVER));
        Self {
            helpers: vec![Timeline::default(); hall.helpers.len()],
            irons: Timeline::default(),
            rulers: Timeline::default(),
            tables: Timeline::default(),
            trays,
            mats: vec![Timeline::default(); hall.mats.len()],
            stations: stations.collect(),
            copies: hall.copies.iter().map(|&copies| vec![Vec::new(); copies as usize]).collect(),
            cut: vec![None; shop.batches.len()],
            cloths: vec![Cloth::default(); shop.fabrics()],
            cranked: vec![0; shop.runs.len()],
            counted: vec![None; shop.runs.len()],
            tasks: Vec::new(),
        }
    }
}

/// The schedule of a sequence of runs; `None` if the helpers' hours do not suffice. It goes on from a track of which so
/// many places are the same.
pub(crate) fn place(
    hall: &Hall,
    shop: &Shop,
    sorting: &Sorting,
    rule: &Rule,
    (track, same): (&Track, usize),
) -> Option<Track> {
    let mut marks: Vec<(usize, Arc<State>)> =
        track.marks.iter().take_while(|mark| mark.0 <= same).cloned().collect();
    let (begun, now) = marks
        .last()
        .map_or_else(|| (0, State::of(hall, shop)), |(placed, state)| (*placed, (**state).clone()));
    let mut placing = Placing { hall, shop, rule, binds: Binds::of(hall), now };
    let mut bags_of: Vec<Vec<usize>> = vec![Vec::new(); shop.runs.len()];
    for (bag, (runs, _)) in sorting.bags.iter().enumerate() {
        runs.iter().for_each(|&run| bags_of[run].push(bag));
    }
    // Runs of every bag that are still to be counted.
    let uncounted = |(runs, _): &(Vec<usize>, u64)| {
        runs.iter().filter(|&&run| placing.now.counted[run].is_none()).count()
    };
    let mut left: Vec<usize> = sorting.bags.iter().map(uncounted).collect();
    let step = rule.sequence.len().div_ceil(MARKS).max(8);
    for (at, counted) in rule.counted_after().into_iter().enumerate().skip(begun) {
        if at % step == 0 && at > begun {
            marks.push((at, Arc::new(placing.now.clone())));
        }
        placing.run(rule.sequence[at])?;
        for run in counted {
            placing.count(run, sorting.runs[run])?;
            for &bag in &bags_of[run] {
                left[bag] -= 1;
                if left[bag] == 0 {
                    let (runs, seconds) = &sorting.bags[bag];
                    let ready = runs.iter().filter_map(|&run| placing.now.counted[run]).max();
                    placing.task(Work::CheckBags, Of::Bag(bag), *seconds, ready.unwrap_or(0))?;
                }
            }
        }
    }
    Some(Track { tasks: placing.now.tasks, marks })
}

/// How many places of the sequence are filled in the same way by both rules.
pub(crate) fn same_places(rules: (&Rule, &Rule), sorting: (&Sorting, &Sorting)) -> usize {
    let (rule, other) = rules;
    if rule.at_once || other.at_once || rule.reluctance != other.reluctance || rule.settled != other.settled {
        return 0;
    }
    let differs = |at: &usize| {
        let run = rule.sequence[*at];
        run != other.sequence[*at]
            || rule.later[run] != other.later[run]
            || sorting.0.runs[run] != sorting.1.runs[run]
    };
    let mut same = (0..rule.sequence.len()).find(differs).unwrap_or(rule.sequence.len());
    // A bag is checked after the last of its runs.
    let changed = sorting.0.bags.iter().zip(&sorting.1.bags).filter(|(bag, other)| bag != other);
    let last =
        |rule: &Rule, runs: &[usize]| rule.sequence.iter().rposition(|run| runs.binary_search(run).is_ok());
    for (bag, before) in changed {
        let ends = [last(rule, &bag.0), last(other, &before.0)];
        same = ends.into_iter().flatten().fold(same, usize::min);
    }
    same
}

impl Placing<'_> {
    fn line(&mut self, what: Shared) -> &mut Timeline {
        match what {
            Shared::Iron => &mut self.now.irons,
            Shared::Ruler => &mut self.now.rulers,
            Shared::Table => &mut self.now.tables,
        }
    }

    /// The earliest time from `from` at which a helper and what the work needs are free for so long.
    fn earliest(&self, helper: usize, work: Work, from: u64, long: u64) -> Option<u64> {
        let who = &self.hall.helpers[helper];
        let mut start = from.max(who.from);
        loop {
            let mut next = self.now.helpers[helper].free(1, 1, start, long);
            for what in shared(work).iter().filter(|what| self.binds.on(**what)) {
                let (line, all) = match what {
                    Shared::Iron => (&self.now.irons, self.hall.irons),
                    Shared::Ruler => (&self.now.rulers, self.hall.rulers),
                    Shared::Table => (&self.now.tables, self.hall.tables),
                };
                next = next.max(line.free(all, 1, next, long));
            }
            if who.to.is_some_and(|to| next + long > to) {
                return None;
            }
            if next == start {
                return Some(start);
            }
            start = next;
        }
    }

    /// The best helper for a piece of work: (end, start, helper).
    fn best(&self, work: Work, of: Of, standard: u64, from: u64) -> Option<(u64, u64, usize)> {
        let able = self.hall.helpers.iter().enumerate().filter(|(at, helper)| {
            helper.can.contains(&work) && self.settled(work, of).is_none_or(|settled| settled == *at)
        });
        let choices = able.filter_map(|(at, helper)| {
            let long = helper.seconds(standard, self.hall.slack);
            let start = self.earliest(at, work, from, long)?;
            let end = start + long;
            Some((end + self.reluctance(at, work), helper.can.len(), start, end, at))
        });
        choices.min().map(|(_, _, start, end, helper)| (end, start, helper))
    }

    fn settled(&self, work: Work, of: Of) -> Option<usize> {
        let (Of::Batch(at) | Of::Run(at) | Of::Bag(at)) = of;
        self.rule.settled.get(&(work, at)).copied()
    }

    fn reluctance(&self, helper: usize, work: Work) -> u64 {
        self.rule.reluctance.get(helper).map_or(0, |kinds| kinds[work as usize])
    }

    fn take(&mut self, work: Work, helper: usize, start: u64, end: u64) {
        self.now.helpers[helper].take(1, start, end);
        let binds = self.binds;
        for &what in shared(work).iter().filter(|what| binds.on(**what)) {
            self.line(what).take(1, start, end);
        }
    }

    fn task(&mut self, work: Work, of: Of, standard: u64, from: u64) -> Option<u64> {
        let (end, start, helper) = self.best(work, of, standard, from)?;
        self.take(work, helper, start, end);
        self.now.tasks.push(Placed { work, of, helper, at: None, start, end });
        Some(end)
    }

    /// Places the counting of a run that is cranked.
    fn count(&mut self, run_id: usize, sorting: u64) -> Option<()> {
        let standard = self.shop.runs[run_id].count + sorting;
        let counted = self.task(Work::LiftOut, Of::Run(run_id), standard, self.now.cranked[run_id])?;
        self.now.counted[run_id] = Some(counted);
        Some(())
    }

    /// Places pressing and cutting a batch of strips; the time when they are cut.
    fn strips(&mut self, batch: usize) -> Option<u64> {
        let work = &self.shop.batches[batch];
        let cloth = self.now.cloths[work.fabric];
        let pressed = self.task(Work::Press, Of::Batch(batch), work.press, cloth.pressed)?;
        let squarings = squarings(cloth.strips, work.strips.len());
        let standard = work.cut + squarings * self.shop.square;
        let cut = self.task(Work::Strips, Of::Batch(batch), standard, pressed.max(cloth.cut))?;
        self.now.cloths[work.fabric] = Cloth { pressed, cut, strips: cloth.strips + work.strips.len() };
        self.now.cut[batch] = Some(cut);
        Some(cut)
    }

    /// Places everything of a run up to cranking.
    fn run(&mut self, run_id: usize) -> Option<()> {
        let mut ready = 0;
        for &batch in &self.shop.runs[run_id].batches {
            let cut = match self.now.cut[batch] {
                Some(cut) => cut,
                None => self.strips(batch)?,
            };
            ready = ready.max(cut);
        }
        let choice = match self.shop.runs[run_id].tray {
            Some(standard) => {
                let (tray, choice) = self.tray_and_run(run_id, standard, ready)?;
                let (filled, start, helper) = tray;
                self.take(Work::Fold, helper, start, filled);
                let of = Of::Run(run_id);
                self.now.tasks.push(Placed { work: Work::Fold, of, helper, at: None, start, end: filled });
                self.now.trays.take(1, filled, choice.start);
                choice
            }
            None => {
                let choice = self.where_to_crank(run_id, ready)?;
                self.now.trays.give_back(1, choice.start, NEVER);
                choice
            }
        };
        self.crank(run_id, choice);
        self.now.cranked[run_id] = choice.end;
        Some(())
    }

    /// When the tray is filled and where the run is cranked: as early as can be with no more trays waiting than may.
    fn tray_and_run(&self, run_id: usize, standard: u64, ready: u64) -> Option<((u64, u64, usize), Choice)> {
        let mut from = ready;
        loop {
            let tray = self.best(Work::Fold, Of::Run(run_id), standard, from)?;
            let choice = self.where_to_crank(run_id, tray.0)?;
            let waits = choice.start - tray.0;
            let place =
                if waits == 0 { tray.0 } else { self.now.trays.free(self.hall.trays, 1, tray.0, waits) };
            if place == tray.0 {
                return Some((tray, choice));
            }
            // A tray filled later waits less long; it is filled when another has gone, or, where it is not known yet when
            // those go that were filled before, so that it need not wait.
            let later = if place >= NEVER { waits } else { place - tray.0 };
            from = from.max(tray.1) + later.max(1);
        }
    }

    fn where_to_crank(&self, run_id: usize, from: u64) -> Option<Choice> {
        let run = &self.shop.runs[run_id];
        let settled = self.settled(Work::Crank, Of::Run(run_id));
        let mut best: Option<Choice> = None;
        for (station, at) in self.now.stations.iter().enumerate().filter(|(_, at)| run.classes[at.class]) {
            for (copy, line) in (0_u32..).zip(&self.now.copies[run.board]) {
                for (helper, who) in self.hall.helpers.iter().enumerate() {
                    if !who.can.contains(&Work::Crank) || settled.is_some_and(|settled| settled != helper) {
                        continue;
                    }
                    let felt_later = self.reluctance(helper, Work::Crank);
                    'gaps: for gap in gaps(&at.slots, from) {
                        for own in gaps(line, from.max(gap.begins)) {
                            let from = from.max(gap.begins).max(own.begins);
                            let ends = gap.ends.min(own.ends);
                            if from >= gap.ends {
                                break;
                            }
                            let Some(changes) = changes(&gap, &own) else { continue };
                            let standard = run.crank + if changes { self.shop.change } else { 0 };
                            let long = who.seconds(standard, self.hall.slack);
                            if best.is_some_and(|best| from + long + felt_later > best.felt) {
                                break 'gaps;
                            }
                            if from + long > ends {
                                continue;
                            }
                            let Some(start) = self.with_mats(helper, run, from, long) else { break 'gaps };
                            let end = start + long;
                            if end > ends {
                                continue;
                            }
                            let (felt, can_do) = (end + felt_later, who.can.len());
                            let choice = Choice { felt, end, changes, can_do, start, helper, station, copy };
                            best = Some(best.map_or(choice, |best| best.min(choice)));
                            break 'gaps;
                        }
                    }
                }
            }
        }
        best
    }

    fn with_mats(&self, helper: usize, run: &Run, from: u64, long: u64) -> Option<u64> {
        let mut start = from;
        loop {
            let mut next = self.earliest(helper, Work::Crank, start, long)?;
            for &(kind, count) in &run.mats {
                next = next.max(self.now.mats[kind].free(self.hall.mats[kind], count, next, long));
            }
            if next >= NEVER {
                return None;
            }
            if next == start {
                return Some(start);
            }
            start = next;
        }
    }

    fn crank(&mut self, run_id: usize, choice: Choice) {
        let run = &self.shop.runs[run_id];
        let Choice { start, end, helper, station, copy, changes, .. } = choice;
        self.take(Work::Crank, helper, start, end);
        for &(kind, count) in &run.mats {
            self.now.mats[kind].take(count, start, end);
        }
        let slot = Slot { start, end, station, changes };
        for slots in [&mut self.now.stations[station].slots, &mut self.now.copies[run.board][copy as usize]] {
            let at = slots.partition_point(|slot| slot.start <= start);
            slots.insert(at, slot);
        }
        let of = Of::Run(run_id);
        self.now.tasks.push(Placed { work: Work::Crank, of, helper, at: Some((station, copy)), start, end });
    }
}

#[cfg(test)]
pub(super) mod tests {
    use patchlay_measure::Length;
    use patchlay_scenario::job::group::CutterClass;

    use super::super::Random;
    use super::super::hall::Batch;
    use super::*;

    const CHANGE: u64 = 60;

    pub(in crate::schedule) fn hall(helpers: &[(&[Work], u32)], stations: u32) -> Hall {
        let helper = |&(can, speed_percent): &(&[Work], u32)| {
            let mut can = can.to_vec();
            can.sort_unstable();
            Helper { name: String::new(), can, speed_percent, from: 0, to: None }
        };
        let class = CutterClass {
            name: String::new(),
            bed_width: Length::ZERO,
            longest_board: Length::ZERO,
            ply_limit: 1,
            number: stations,
        };
        Hall {
            classes: vec![class],
            copies: vec![1, 2],
            irons: 1,
            rulers: 2,
            tables: 3,
            trays: 2,
            mats: vec![3],
            helpers: helpers.iter().map(helper).collect(),
            slack: 0,
        }
    }

    fn run(board: usize, batches: Vec<usize>, tray: u64, crank: u64) -> Run {
        Run {
            layup: 0,
            first: 0,
            passes: 1,
            board,
            classes: vec![true],
            strips: Vec::new(),
            batches,
            tray: Some(tray),
            crank,
            count: 20,
            mats: vec![(0, 1)],
        }
    }

    /// Forty runs of thirty batches of three fabrics.
    pub(in crate::schedule) fn made_up(random: &mut Random) -> Shop {
        let batch = |random: &mut Random| Batch {
            fabric: random.below(3),
            strips: vec![0; 1 + random.below(5)],
            press: 20 + random.below(100) as u64,
            cut: 20 + random.below(100) as u64,
            squarings: 0,
        };
        let batches: Vec<Batch> = (0..30).map(|_| batch(random)).collect();
        let made = |random: &mut Random| {
            let mut needs = vec![random.below(30), random.below(30)];
            needs.sort_unstable();
            needs.dedup();
            run(random.below(2), needs, 20 + random.below(300) as u64, 30 + random.below(200) as u64)
        };
        Shop::made_up(batches, (0..40).map(|_| made(random)).collect(), CHANGE)
    }

    /// Every run in one bag.
    pub(in crate::schedule) fn sorting(runs: usize) -> Sorting {
        Sorting { runs: vec![10; runs], bags: vec![((0..runs).collect(), 30)] }
    }

    fn placed(hall: &Hall, shop: &Shop, sorting: &Sorting, rule: &Rule) -> Track {
        place(hall, shop, sorting, rule, (&Track::default(), 0)).unwrap()
    }

    /// At every station the board is changed where it has to be, and only there, and no two runs meet.
    pub(in crate::schedule) fn is_sound(hall: &Hall, shop: &Shop, tasks: &[Placed]) {
        let mut tasks: Vec<&Placed> = tasks.iter().filter(|task| task.at.is_some()).collect();
        tasks.sort_by_key(|task| task.start);
        let mut at: BTreeMap<usize, (u64, (usize, u32))> = BTreeMap::new();
        let mut last_at: BTreeMap<(usize, u32), (u64, usize)> = BTreeMap::new();
        for task in tasks {
            let (Some((station, copy)), Of::Run(run)) = (task.at, task.of) else { continue };
            let has = (shop.runs[run].board, copy);
            let before = at.insert(station, (task.end, has));
            let own = last_at.insert(has, (task.end, station));
            let stays =
                before.is_some_and(|before| before.1 == has) && own.is_some_and(|own| own.1 == station);
            let change = if stays { 0 } else { CHANGE };
            let long = hall.helpers[task.helper].seconds(shop.runs[run].crank + change, hall.slack);
            assert_eq!(task.end - task.start, long);
            assert!(before.is_none_or(|before| before.0 <= task.start));
            assert!(own.is_none_or(|own| own.0 <= task.start));
        }
    }

    #[test]
    fn a_run_that_is_ready_does_not_wait_for_one_before_it_that_is_not() {
        use Work::{CheckBags, Crank, Fold, LiftOut};
        let hall = hall(&[(&[Fold], 100), (&[Fold], 100), (&[Crank], 100), (&[LiftOut, CheckBags], 100)], 1);
        for board in [0, 1] {
            let shop = Shop::made_up(
                Vec::new(),
                vec![run(0, vec![], 500, 50), run(board, vec![], 10, 50), run(0, vec![], 10, 50)],
                CHANGE,
            );
            let track = placed(&hall, &shop, &sorting(3), &Rule::plain(&hall, vec![0, 1, 2]));
            is_sound(&hall, &shop, &track.tasks);
            let starts = |wanted: usize| {
                let crank = |task: &&Placed| task.work == Crank && task.of == Of::Run(wanted);
                track.tasks.iter().find(crank).unwrap().start
            };
            // The board of the first run was put on for it; a gap before it takes no run on the same board and copy, since
            // nothing would then have to be put on.
            assert_eq!(starts(0), 500);
            assert_eq!(starts(1) < 500, board == 1);
        }
    }

    #[test]
    fn trays_that_lie_ready_leave_no_room_for_others_until_they_are_cranked() {
        let hall = hall(&[(&[Work::Fold], 100), (&[Work::Crank], 100), (&Work::ALL[3..], 100)], 1);
        let ready = || Run { tray: None, ..run(0, vec![], 0, 100) };
        // Two trays may wait, and two do. The first run of the sequence is not ready.
        let runs = vec![run(0, vec![], 10, 100), ready(), ready(), run(0, vec![], 10, 100)];
        let shop = Shop::made_up(Vec::new(), runs, 0);
        for sequence in [vec![0, 1, 2, 3], vec![1, 0, 2, 3], vec![3, 1, 2, 0], vec![1, 2, 0, 3]] {
            let track = placed(&hall, &shop, &sorting(4), &Rule::plain(&hall, sequence.clone()));
            let of = |work: Work, run: usize| {
                track.tasks.iter().find(|task| task.work == work && task.of == Of::Run(run))
            };
            assert!(of(Work::Fold, 1).is_none() && of(Work::Fold, 2).is_none());
            let waits = |run: usize| {
                (of(Work::Fold, run).map_or(0, |fold| fold.end), of(Work::Crank, run).unwrap().start)
            };
            for filled in [0, 3].map(waits) {
                let waiting = |second: u64| {
                    (0..4).map(waits).filter(|(from, to)| (*from..*to).contains(&second)).count()
                };
                assert!((filled.0..filled.1).all(|second| waiting(second) <= 2), "{sequence:?}");
            }
        }
    }

    fn changed(rule: &Rule, random: &mut Random) -> Rule {
        let (mut rule, all) = (rule.clone(), rule.sequence.len());
        match random.below(4) {
            0 => rule.sequence.swap(random.below(all), random.below(all)),
            1 => {
                let run = rule.sequence.remove(random.below(all));
                rule.sequence.insert(random.below(all), run);
            }
            2 => rule.later[random.below(all)] = random.below(4),
            _ => rule.reluctance[random.below(3)][random.below(6)] = 100,
        }
        rule
    }

    #[test]
    fn going_on_from_a_track_is_placing_anew() {
        let all = &Work::ALL[..];
        let hall = hall(&[(all, 120), (&[Work::Press, Work::Fold, Work::LiftOut], 100), (all, 90)], 2);
        let mut random = Random(7);
        let mut kept = 0;
        for _ in 0..20 {
            let mut shop = made_up(&mut random);
            // Some trays lie ready when the day begins.
            for run in shop.runs.iter_mut().step_by(5) {
                (run.tray, run.batches) = (None, Vec::new());
            }
            let mut rule = Rule::plain(&hall, (0..40).collect());
            let mut sorted = sorting(40);
            let mut track = placed(&hall, &shop, &sorted, &rule);
            for _ in 0..20 {
                let next = changed(&rule, &mut random);
                let mut other = sorted.clone();
                other.runs[random.below(40)] = 10 * random.below(5) as u64;
                let left_out = random.below(40);
                other.bags[0].0 = (0..40).filter(|&run| run != left_out).collect();
                let same = same_places((&next, &rule), (&other, &sorted));
                kept += same;
                let went_on = place(&hall, &shop, &other, &next, (&track, same)).unwrap();
                assert_eq!(went_on.tasks, placed(&hall, &shop, &other, &next).tasks);
                is_sound(&hall, &shop, &went_on.tasks);
                (rule, sorted, track) = (next, other, went_on);
            }
        }
        assert!(kept > 0, "nothing was ever kept");
    }
}
