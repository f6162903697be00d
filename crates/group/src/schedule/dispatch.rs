//! From a sequence of runs to a schedule as it would go by itself: whoever becomes free takes what comes first in the
//! sequence of all that can be begun now (a parallel schedule generation scheme; Kolisch, "Serial and parallel
//! resource-constrained project scheduling methods revisited", European Journal of Operational Research 90, 1996; described
//! from memory). Nobody waits while there is something to do, and nobody does early what another does in good time.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use patchlay_scenario::job::group::Helper;
use patchlay_scenario::spec::Work;

use super::hall::{Hall, Shop, Sorting, squarings};
use super::place::{Of, Placed, Rule, Shared, shared};

/// What can be begun, by place in the sequence and index.
type Open = BTreeSet<(usize, usize)>;

/// A helper at work.
struct Busy {
    until: u64,
    task: Placed,
}

struct Station {
    class: usize,
    busy: bool,
    /// Board and copy that were on last, and since when it is idle.
    on: Option<(usize, usize)>,
    idle_from: u64,
}

/// A place to crank a run: station, copy of the board, and whether it is put on for it.
#[derive(Clone, Copy)]
struct Stand {
    station: usize,
    copy: usize,
    changes: bool,
}

/// What a helper would begin: how late it seems, with reluctance, its place in the sequence, and what it is.
#[derive(Clone, Copy)]
struct First {
    felt: u64,
    work: Work,
    place: usize,
    at: usize,
    stand: Option<Stand>,
}

struct Going<'a> {
    hall: &'a Hall,
    shop: &'a Shop,
    sorting: &'a Sorting,
    rule: &'a Rule,
    now: u64,
    /// What can be begun of each kind of work.
    open: [Open; 6],
    /// Place of every run in the sequence.
    place: Vec<usize>,
    busy: Vec<Option<Busy>>,
    /// Helpers whose tray is full and has no place yet, by run.
    holding: BTreeMap<usize, usize>,
    /// Trays that are full and not yet cranked, without those that are held.
    waiting: usize,
    folding: usize,
    /// Whether some trays were full before the start.
    some_lay_ready: bool,
    in_use: [u32; 3],
    mats: Vec<u32>,
    stations: Vec<Station>,
    /// Whether a copy is in use, and the station that had it last.
    copies: Vec<Vec<(bool, Option<usize>)>>,
    /// Batches that each run still waits for; runs that each bag still waits for.
    batches_left: Vec<usize>,
    runs_left: Vec<usize>,
    /// What of each fabric is still to be pressed, and to be cut once it is pressed, in this order: batches with the place
    /// of the run that needs them first. One presses it and one cuts it at a time.
    to_press: Vec<VecDeque<(usize, usize)>>,
    to_cut: Vec<VecDeque<(usize, usize)>>,
    /// Whether somebody cuts it, and strips cut.
    cutting: Vec<(bool, usize)>,
    /// Runs of each batch; bags of each run.
    runs_of: Vec<Vec<usize>>,
    bags_of: Vec<Vec<usize>>,
    /// Runs of the proof block that are not yet begun to be cranked.
    proof_left: usize,
    /// Seconds that a place in the sequence counts for.
    unit: u64,
    tasks: Vec<Placed>,
    left: usize,
}

fn index(what: Shared) -> usize {
    match what {
        Shared::Iron => 0,
        Shared::Ruler => 1,
        Shared::Table => 2,
    }
}

/// The schedule; `None` if the helpers' hours do not suffice.
pub(crate) fn dispatch(hall: &Hall, shop: &Shop, sorting: &Sorting, rule: &Rule) -> Option<Vec<Placed>> {
    let mut going = Going::of(hall, shop, sorting, rule);
    loop {
        going.give_out();
        let ends = going.busy.iter().flatten().map(|busy| busy.until).filter(|until| *until > going.now);
        let comes = hall.helpers.iter().map(|helper| helper.from).filter(|from| *from > going.now);
        let Some(next) = ends.chain(comes).min() else { break };
        going.now = next;
        going.finish();
    }
    (going.left == 0).then_some(going.tasks)
}

impl<'a> Going<'a> {
    fn of(hall: &'a Hall, shop: &'a Shop, sorting: &'a Sorting, rule: &'a Rule) -> Self {
        let runs = shop.runs.len();
        let mut place = vec![0; runs];
        for (at, &run) in rule.sequence.iter().enumerate() {
            place[run] = at;
        }
        let mut runs_of = vec![Vec::new(); shop.batches.len()];
        let mut first = vec![runs; shop.batches.len()];
        for (at, run) in shop.runs.iter().enumerate() {
            for &batch in &run.batches {
                runs_of[batch].push(at);
                first[batch] = first[batch].min(place[at]);
            }
        }
        let mut bags_of = vec![Vec::new(); runs];
        for (bag, (runs, _)) in sorting.bags.iter().enumerate() {
            runs.iter().for_each(|&run| bags_of[run].push(bag));
        }
        let mut open: [Open; 6] = Default::default();
        let mut batches: Vec<(usize, usize)> =
            first.iter().enumerate().map(|(batch, &first)| (first, batch)).collect();
        batches.sort_unstable();
        let mut to_press = vec![VecDeque::new(); shop.fabrics()];
        for (first, batch) in batches {
            to_press[shop.batches[batch].fabric].push_back((first, batch));
        }
        open[Work::Press as usize] = to_press.iter_mut().filter_map(VecDeque::pop_front).collect();
        let (to_fill, filled): (Vec<usize>, Vec<usize>) =
            (0..runs).partition(|&run| shop.runs[run].tray.is_some());
        let ready = to_fill.iter().filter(|run| shop.runs[**run].batches.is_empty());
        open[Work::Fold as usize] = ready.map(|&run| (place[run], run)).collect();
        open[Work::Crank as usize] = filled.iter().map(|&run| (place[run], run)).collect();
        let stations = hall.stations().into_iter();
        let stations = stations.map(|(class, _)| Station { class, busy: false, on: None, idle_from: 0 });
        let bags = sorting.bags.iter().filter(|bag| !bag.0.is_empty()).count();
        let all: u64 = shop.runs.iter().map(|run| run.tray.unwrap_or(0) + run.crank + run.count).sum::<u64>()
            + shop.batches.iter().map(|batch| batch.press + batch.cut).sum::<u64>();
        Self {
            hall,
            shop,
            sorting,
            rule,
            now: 0,
            open,
            place,
            busy: hall.helpers.iter().map(|_| None).collect(),
            holding: BTreeMap::new(),
            waiting: filled.len(),
            folding: 0,
            some_lay_ready: !filled.is_empty(),
            in_use: [0; 3],
            mats: vec![0; hall.mats.len()],
            stations: stations.collect(),
            copies: hall.copies.iter().map(|&copies| vec![(false, None); copies as usize]).collect(),
            batches_left: shop.runs.iter().map(|run| run.batches.len()).collect(),
            runs_left: sorting.bags.iter().map(|bag| bag.0.len()).collect(),
            to_press,
            to_cut: vec![VecDeque::new(); shop.fabrics()],
            cutting: vec![(false, 0); shop.fabrics()],
            runs_of,
            bags_of,
            proof_left: shop.proof,
            unit: all / (runs.max(1) * hall.helpers.len().max(1)) as u64,
            tasks: Vec::new(),
            left: 2 * shop.batches.len() + to_fill.len() + 2 * runs + bags,
        }
    }

    /// Gives everybody who is free something to do, as long as there is something.
    fn give_out(&mut self) {
        let mut order: Vec<usize> = (0..self.hall.helpers.len()).collect();
        order.sort_by_key(|&at| (self.hall.helpers[at].can.len(), at));
        loop {
            self.put_down();
            let mut begun = false;
            for &helper in &order {
                if self.busy[helper].is_none() && self.hall.helpers[helper].from <= self.now {
                    begun |= self.begin(helper);
                }
            }
            if !begun && !self.crank_own() {
                return;
            }
        }
    }

    /// Somebody cranks from the tray that they hold themselves; whether there was one.
    fn crank_own(&mut self) -> bool {
        let own = self.holding.iter().find_map(|(&run, &helper)| {
            let can = self.hall.helpers[helper].can.contains(&Work::Crank);
            let stand = self.stand(run).filter(|_| can && self.allowed(helper, Work::Crank, run))?;
            self.in_time(helper, Work::Crank, run, stand.changes).then_some((run, helper, stand))
        });
        let Some((run, helper, stand)) = own else { return false };
        self.release(run);
        self.waiting += 1;
        self.start(
            helper,
            First { felt: 0, work: Work::Crank, place: self.place[run], at: run, stand: Some(stand) },
        );
        true
    }

    /// Trays that are held find a place.
    fn put_down(&mut self) {
        while self.waiting < self.hall.trays as usize
            && let Some((&run, _)) = self.holding.iter().min_by_key(|(run, _)| self.place[**run])
        {
            self.release(run);
            self.waiting += 1;
        }
    }

    /// Who holds the tray of a run is free again; they may as well have filled it later.
    fn release(&mut self, run: usize) {
        let Some(helper) = self.holding.remove(&run) else { return };
        if let Some(Busy { mut task, .. }) = self.busy[helper].take() {
            let long = task.end - task.start;
            (task.start, task.end) = (self.now - long, self.now);
            self.give_back(Work::Fold);
            self.tasks.push(task);
        }
    }

    fn give_back(&mut self, work: Work) {
        for &what in shared(work) {
            self.in_use[index(what)] -= 1;
        }
    }

    /// Whether there is what the work needs; for a tray, also a place for it when it is full, if those who crank now go on
    /// with one of those that wait. Who does not crank may fill as many as can be cranked besides.
    fn may_begin(&self, helper: usize, work: Work) -> bool {
        let all = [self.hall.irons, self.hall.rulers, self.hall.tables];
        let cranks = |helper: &Helper| helper.can.contains(&Work::Crank);
        let cranking = if cranks(&self.hall.helpers[helper]) {
            self.stations.iter().filter(|station| station.busy).count()
        } else {
            self.hall.helpers.iter().filter(|helper| cranks(helper)).count().min(self.stations.len())
        };
        let trays = (self.hall.trays as usize + cranking).max(1);
        shared(work).iter().all(|&what| self.in_use[index(what)] < all[index(what)])
            && (work != Work::Fold || self.waiting + self.folding < trays || self.one_in_hand())
    }

    /// Trays that lay ready before may leave no room for those of the proof block, which must be cranked first: then these are
    /// filled one at a time, and held.
    fn one_in_hand(&self) -> bool {
        self.some_lay_ready && self.proof_left > 0 && self.folding == 0 && self.holding.is_empty()
    }

    /// What of a kind of work a helper would begin first.
    fn first(&self, helper: usize, work: Work) -> Option<First> {
        let reluctance = self.rule.reluctance[helper][work as usize];
        let mut best: Option<First> = None;
        for &(place, at) in &self.open[work as usize] {
            let felt = place as u64 * self.unit + reluctance;
            if best.is_some_and(|best| best.felt <= felt) {
                break;
            }
            if !self.allowed(helper, work, at) {
                continue;
            }
            let stand = if work == Work::Crank { self.stand(at) } else { None };
            if work == Work::Crank && stand.is_none() {
                continue;
            }
            let changes = stand.is_some_and(|stand| stand.changes);
            let felt = felt + if changes { self.rule.keep } else { 0 };
            if best.is_none_or(|best| felt < best.felt) && self.in_time(helper, work, at, changes) {
                best = Some(First { felt, work, place, at, stand });
            }
        }
        best
    }

    fn allowed(&self, helper: usize, work: Work, at: usize) -> bool {
        self.rule.settled.get(&(work, at)).is_none_or(|settled| *settled == helper)
    }

    /// Begins what comes first for a helper; whether there was something.
    fn begin(&mut self, helper: usize) -> bool {
        let able = self.hall.helpers[helper].can.iter().filter(|work| self.may_begin(helper, **work));
        let best = able.filter_map(|&work| self.first(helper, work)).min_by_key(|first| first.felt);
        let Some(first) = best else { return false };
        self.start(helper, first);
        true
    }

    fn start(&mut self, helper: usize, First { work, place, at, stand, .. }: First) {
        let _ = self.open[work as usize].remove(&(place, at));
        let long = self.long(helper, work, at, stand.is_some_and(|stand| stand.changes));
        for &what in shared(work) {
            self.in_use[index(what)] += 1;
        }
        let of = match work {
            Work::Press | Work::Strips => Of::Batch(at),
            Work::Fold | Work::Crank | Work::LiftOut => Of::Run(at),
            Work::CheckBags => Of::Bag(at),
        };
        match work {
            Work::Fold => self.folding += 1,
            Work::Crank => {
                if self.holding.contains_key(&at) {
                    self.release(at);
                } else {
                    self.waiting -= 1;
                }
                if at < self.shop.proof {
                    self.proof_left -= 1;
                }
                for &(kind, count) in &self.shop.runs[at].mats {
                    self.mats[kind] += count;
                }
                if let Some(Stand { station, copy, .. }) = stand {
                    let board = self.shop.runs[at].board;
                    self.copies[board][copy] = (true, Some(station));
                    self.stations[station].busy = true;
                    self.stations[station].on = Some((board, copy));
                }
            }
            Work::Press | Work::Strips | Work::LiftOut | Work::CheckBags => (),
        }
        let end = self.now + long;
        let task = Placed {
            work,
            of,
            helper,
            at: stand.map(|stand| (stand.station, stand.copy as u32)),
            start: self.now,
            end,
        };
        self.busy[helper] = Some(Busy { until: end, task });
    }

    fn standard(&self, work: Work, at: usize) -> u64 {
        match work {
            Work::Press => self.shop.batches[at].press,
            Work::Strips => {
                let batch = &self.shop.batches[at];
                batch.cut + self.shop.square * squarings(self.cutting[batch.fabric].1, batch.strips.len())
            }
            Work::Fold => self.shop.runs[at].tray.unwrap_or(0),
            Work::Crank => self.shop.runs[at].crank,
            Work::LiftOut => self.shop.runs[at].count + self.sorting.runs[at],
            Work::CheckBags => self.sorting.bags[at].1,
        }
    }

    fn long(&self, helper: usize, work: Work, at: usize, changes: bool) -> u64 {
        let change = if changes { self.shop.change } else { 0 };
        self.hall.helpers[helper].seconds(self.standard(work, at) + change, self.hall.slack)
    }

    fn in_time(&self, helper: usize, work: Work, at: usize, changes: bool) -> bool {
        let to = self.hall.helpers[helper].to;
        to.is_none_or(|to| self.now + self.long(helper, work, at, changes) <= to)
    }

    /// Where a run can be cranked now: where its board is on, else where least would have to go for it.
    fn stand(&self, run_id: usize) -> Option<Stand> {
        let run = &self.shop.runs[run_id];
        if run_id >= self.shop.proof && self.proof_left > 0 {
            return None;
        }
        if run.mats.iter().any(|&(kind, count)| self.mats[kind] + count > self.hall.mats[kind]) {
            return None;
        }
        let free =
            |station: &usize| !self.stations[*station].busy && run.classes[self.stations[*station].class];
        let mut best: Option<((bool, bool, u64), usize, usize)> = None;
        for station in (0..self.stations.len()).filter(free) {
            for (copy, &(busy, last)) in self.copies[run.board].iter().enumerate() {
                if busy {
                    continue;
                }
                let changes = self.stations[station].on != Some((run.board, copy)) || last != Some(station);
                // Rather a copy that lies about than one that is on another station.
                let elsewhere = last.is_some_and(|last| self.stations[last].on == Some((run.board, copy)));
                let key = (changes, changes && elsewhere, self.stations[station].idle_from);
                if best.is_none_or(|best| key < best.0) {
                    best = Some((key, station, copy));
                }
            }
        }
        best.map(|(key, station, copy)| Stand { station, copy, changes: key.0 })
    }

    /// Ends what is done by now.
    fn finish(&mut self) {
        for helper in 0..self.busy.len() {
            let Some(busy) = self.busy[helper].as_ref().filter(|busy| busy.until == self.now) else {
                continue;
            };
            let (work, of) = (busy.task.work, busy.task.of);
            self.left -= 1;
            if let (Work::Fold, Of::Run(run)) = (work, of) {
                self.folding -= 1;
                let _ = self.holding.insert(run, helper);
                let _ = self.open[Work::Crank as usize].insert((self.place[run], run));
                continue;
            }
            if let Some(Busy { task, .. }) = self.busy[helper].take() {
                self.done(&task);
                self.tasks.push(task);
            }
            self.give_back(work);
        }
    }

    /// What of a fabric is cut next, if nobody cuts it.
    fn next_cut(&mut self, fabric: usize) {
        if !self.cutting[fabric].0
            && let Some(next) = self.to_cut[fabric].pop_front()
        {
            self.cutting[fabric].0 = true;
            let _ = self.open[Work::Strips as usize].insert(next);
        }
    }

    fn done(&mut self, task: &Placed) {
        match (task.work, task.of) {
            (Work::Press, Of::Batch(batch)) => {
                let fabric = self.shop.batches[batch].fabric;
                let first = self.runs_of[batch].iter().map(|&run| self.place[run]).min();
                self.to_cut[fabric].push_back((first.unwrap_or(self.place.len()), batch));
                self.next_cut(fabric);
                if let Some(next) = self.to_press[fabric].pop_front() {
                    let _ = self.open[Work::Press as usize].insert(next);
                }
            }
            (Work::Strips, Of::Batch(batch)) => {
                let fabric = self.shop.batches[batch].fabric;
                self.cutting[fabric] =
                    (false, self.cutting[fabric].1 + self.shop.batches[batch].strips.len());
                self.next_cut(fabric);
                for run in std::mem::take(&mut self.runs_of[batch]) {
                    self.batches_left[run] -= 1;
                    if self.batches_left[run] == 0 {
                        let _ = self.open[Work::Fold as usize].insert((self.place[run], run));
                    }
                }
            }
            (Work::Crank, Of::Run(run)) => {
                for &(kind, count) in &self.shop.runs[run].mats {
                    self.mats[kind] -= count;
                }
                if let Some((station, copy)) = task.at {
                    self.stations[station].busy = false;
                    self.stations[station].idle_from = self.now;
                    self.copies[self.shop.runs[run].board][copy as usize].0 = false;
                }
                let place = self.place[run] + self.rule.later[run];
                let _ = self.open[Work::LiftOut as usize].insert((place, run));
            }
            (Work::LiftOut, Of::Run(run)) => {
                for bag in std::mem::take(&mut self.bags_of[run]) {
                    self.runs_left[bag] -= 1;
                    if self.runs_left[bag] == 0 {
                        let _ = self.open[Work::CheckBags as usize].insert((self.place[run], bag));
                    }
                }
            }
            _ => (),
        }
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use super::super::Random;
    use super::super::place::tests::{hall, is_sound, made_up, sorting};
    use super::*;

    /// A kind of work on a batch, run or bag.
    type What = (Work, (u8, usize));

    fn what(task: &Placed) -> What {
        let of = match task.of {
            Of::Batch(at) => (0, at),
            Of::Run(at) => (1, at),
            Of::Bag(at) => (2, at),
        };
        (task.work, of)
    }

    /// Most of these tasks at a time; what ends in the second in which another starts is free for it.
    fn at_once<'a>(tasks: impl Iterator<Item = &'a Placed>) -> i32 {
        let mut steps: Vec<(u64, i32)> = tasks.flat_map(|task| [(task.start, 1), (task.end, -1)]).collect();
        steps.sort_unstable();
        let sums = steps.into_iter().scan(0, |now, (_, step)| {
            *now += step;
            Some(*now)
        });
        sums.max().unwrap_or(0)
    }

    /// The hall has one iron, two rulers, three tables and two places for trays.
    fn is_possible(shop: &Shop, tasks: &[Placed]) {
        let of: BTreeMap<What, &Placed> = tasks.iter().map(|task| (what(task), task)).collect();
        assert_eq!((tasks.len(), of.len()), (2 * 30 + 3 * 40 + 1, 2 * 30 + 3 * 40 + 1));
        let before = |one: What, other: What| {
            assert!(of[&one].end <= of[&other].start, "{one:?} after {other:?}");
        };
        for batch in 0..30 {
            before((Work::Press, (0, batch)), (Work::Strips, (0, batch)));
        }
        for (at, run) in shop.runs.iter().enumerate() {
            for &batch in &run.batches {
                before((Work::Strips, (0, batch)), (Work::Fold, (1, at)));
            }
            before((Work::Fold, (1, at)), (Work::Crank, (1, at)));
            before((Work::Crank, (1, at)), (Work::LiftOut, (1, at)));
            before((Work::LiftOut, (1, at)), (Work::CheckBags, (2, 0)));
        }
        let of_works = |works: &'static [Work]| tasks.iter().filter(move |task| works.contains(&task.work));
        for helper in 0..3 {
            assert!(at_once(tasks.iter().filter(|task| task.helper == helper)) <= 1);
        }
        for fabric in 0..3 {
            let own = |task: &&Placed| matches!(task.of, Of::Batch(at) if shop.batches[at].fabric == fabric);
            assert!(at_once(of_works(&[Work::Press]).filter(own)) <= 1);
            assert!(at_once(of_works(&[Work::Strips]).filter(own)) <= 1);
        }
        assert!(at_once(of_works(&[Work::Press])) <= 1);
        assert!(at_once(of_works(&[Work::Strips, Work::Fold])) <= 2);
        assert!(at_once(of_works(&[Work::Strips, Work::Fold, Work::LiftOut, Work::CheckBags])) <= 3);
        let wait = |run: usize| {
            let (fold, crank) = (of[&(Work::Fold, (1, run))], of[&(Work::Crank, (1, run))]);
            Placed { start: fold.end, end: crank.start, ..fold.clone() }
        };
        let waits: Vec<Placed> = (0..40).map(wait).filter(|wait| wait.start < wait.end).collect();
        assert!(at_once(waits.iter()) <= 2);
    }

    #[test]
    fn what_is_given_out_is_a_schedule() {
        let all = &Work::ALL[..];
        let hall = hall(&[(all, 120), (&[Work::Press, Work::Fold, Work::LiftOut], 100), (all, 90)], 2);
        let mut random = Random(3);
        for turn in 0..200 {
            let shop = made_up(&mut random);
            let mut rule = Rule::plain(&hall, (0..40).collect());
            for _ in 0..turn {
                rule.sequence.swap(random.below(40), random.below(40));
            }
            rule.reluctance[random.below(3)][random.below(6)] = 600;
            rule.keep = 100 * random.below(4) as u64;
            let tasks = dispatch(&hall, &shop, &sorting(40), &rule).unwrap();
            is_sound(&hall, &shop, &tasks);
            is_possible(&shop, &tasks);
        }
    }
}
