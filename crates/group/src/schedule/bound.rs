//! No schedule ends earlier: bounds from who can do what, from the stations, boards, mats, irons, rulers and tables, and
//! from the longest chain of work. Each is the load of something, in whole seconds, after the least time before it can
//! begin and before the least time that must follow. All are relaxations: tasks may be split and shared at will.
//! The loads of people are taken over every set of tasks that are late to begin and have long to follow (heads and tails
//! at least so great: Carlier, "The one-machine sequencing problem", European Journal of Operational Research 11, 1982;
//! described from memory), with the helpers' speeds and hours in place of one machine.

use patchlay_scenario::spec::Work;

use super::hall::{Batch, Hall, Run, Shop, Sorting, fastest};

/// A bound and what sets it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Bound {
    pub(crate) finish: u64,
    pub(crate) held_by: String,
}

/// A task with the least time before and after it.
struct Link {
    work: Work,
    standard: u64,
    /// Fastest time for it.
    long: u64,
    head: u64,
    tail: u64,
}

/// The greatest of the bounds.
pub(crate) fn bound(hall: &Hall, shop: &Shop, sorting: &Sorting, board_names: &[&str]) -> Bound {
    let chain = Chain::of(hall, shop, sorting);
    let mut best = Bound { finish: 0, held_by: "there is nothing to do".to_owned() };
    let mut offer = |finish: u64, held_by: &dyn Fn() -> String| {
        if finish > best.finish {
            best = Bound { finish, held_by: held_by() };
        }
    };
    for link in &chain.links {
        offer(link.head + link.long + link.tail, &|| "a shorter chain of work".to_owned());
    }
    // Every board in use is put on at least once.
    let boards = shop.boards().len() as u64;
    let squarings: u64 = shop.batches.iter().map(|batch| batch.squarings).sum();
    for set in 1_u32..64 {
        let works: Vec<Work> = Work::ALL
            .into_iter()
            .enumerate()
            .filter(|(at, _)| set >> at & 1 == 1)
            .map(|(_, work)| work)
            .collect();
        let mut extra = if works.contains(&Work::Crank) { boards * shop.change } else { 0 };
        if works.contains(&Work::Strips) {
            extra += squarings * shop.square;
        }
        let of = |link: &&Link| works.contains(&link.work);
        offer(helpers(hall, &works, chain.links.iter().filter(of), extra), &|| {
            let names: Vec<&str> = works.iter().map(|work| word(*work)).collect();
            format!("hours of those who {}", names.join(" or "))
        });
    }
    // Putting a board on makes one of its runs longer, at least by what it does to the run where that is least.
    let put_on = |board: usize| {
        let of_board = shop.runs.iter().filter(|run| run.board == board);
        let longer = |run: &Run| {
            fastest(hall, Work::Crank, run.crank + shop.change) - fastest(hall, Work::Crank, run.crank)
        };
        of_board.map(longer).min().unwrap_or(0)
    };
    for set in class_sets(shop) {
        let only = |run: usize| shop.runs[run].classes.iter().zip(&set).all(|(fits, taken)| !fits || *taken);
        let stations: u32 =
            hall.classes.iter().zip(&set).filter(|(_, taken)| **taken).map(|(c, _)| c.number).sum();
        let runs = (0..shop.runs.len()).filter(|&run| only(run)).map(|run| chain.crank(run));
        // A run that other cutters take too may be the one for which a board is put on.
        let changes =
            if set.iter().all(|taken| *taken) { shop.boards().into_iter().map(put_on).sum() } else { 0 };
        offer(load(runs, u64::from(stations), changes), &|| {
            let names: Vec<&str> =
                hall.classes.iter().zip(&set).filter(|(_, t)| **t).map(|(c, _)| c.name.as_str()).collect();
            format!("cutters: {}", names.join(", "))
        });
    }
    for board in shop.boards() {
        let runs =
            (0..shop.runs.len()).filter(|&run| shop.runs[run].board == board).map(|run| chain.crank(run));
        offer(load(runs, u64::from(hall.copies[board]), put_on(board)), &|| {
            format!("copies of {}", board_names.get(board).copied().unwrap_or("a board"))
        });
    }
    for (kind, &owned) in hall.mats.iter().enumerate() {
        let uses = |run: usize| {
            shop.runs[run].mats.iter().find(|mat| mat.0 == kind).map_or(0, |mat| u64::from(mat.1))
        };
        let runs = (0..shop.runs.len()).filter(|&run| uses(run) > 0);
        let links = runs.flat_map(|run| (0..uses(run)).map(move |_| run)).map(|run| chain.crank(run));
        offer(load(links, u64::from(owned), 0), &|| "mats".to_owned());
    }
    let squaring = fastest(hall, Work::Strips, shop.square).saturating_sub(1);
    let shared: [(&str, u32, &[Work]); 3] = [
        ("irons", hall.irons, &[Work::Press]),
        ("rulers", hall.rulers, &[Work::Strips, Work::Fold]),
        ("tables", hall.tables, &[Work::Strips, Work::Fold, Work::LiftOut, Work::CheckBags]),
    ];
    for (what, count, works) in shared {
        let links = chain.links.iter().filter(|link| works.contains(&link.work));
        // A squaring makes its batch longer by at least its own time, rounded down.
        let squaring = if works.contains(&Work::Strips) { squarings * squaring } else { 0 };
        offer(load(links, u64::from(count), squaring), &|| what.to_owned());
    }
    best
}

fn word(work: Work) -> &'static str {
    match work {
        Work::Press => "press",
        Work::Strips => "cut strips",
        Work::Fold => "fold",
        Work::Crank => "crank",
        Work::LiftOut => "count",
        Work::CheckBags => "check bags",
    }
}

/// The least time for work that all who can do any of these kinds share.
fn together(hall: &Hall, works: &[Work], standard: u64) -> u64 {
    let able = hall.helpers.iter().filter(|helper| works.iter().any(|work| helper.can.contains(work)));
    let speed: u64 = able.map(|helper| u64::from(helper.speed_percent)).sum();
    (standard * u64::from(100 + hall.slack)).div_ceil(speed.max(1))
}

/// Load of like things: least head, all work and `extra` shared evenly, least tail.
fn load<'a>(links: impl Iterator<Item = &'a Link>, count: u64, extra: u64) -> u64 {
    let (mut head, mut tail, mut sum) = (u64::MAX, u64::MAX, extra);
    for link in links {
        head = head.min(link.head);
        tail = tail.min(link.tail);
        sum += link.long;
    }
    if head == u64::MAX || count == 0 { 0 } else { head + sum.div_ceil(count) + tail }
}

/// Values of heads and of tails at which sets of tasks are looked at.
const LEVELS: usize = 12;

/// About evenly spread values of some that ascend, the least among them.
fn levels(mut values: Vec<u64>) -> Vec<u64> {
    values.sort_unstable();
    values.dedup();
    let count = values.len().min(LEVELS);
    (0..count).map(|at| values[at * values.len() / count]).collect()
}

/// The earliest finish at which those who can do any of these kinds of work have hours enough for it, at their speeds:
/// the greatest over sets of tasks with at least such a head and such a tail. Board changes and squarings go with some tasks, so
/// they count where all tasks do.
fn helpers<'a>(hall: &Hall, works: &[Work], links: impl Iterator<Item = &'a Link>, extra: u64) -> u64 {
    let links: Vec<&Link> = links.collect();
    let heads = levels(links.iter().map(|link| link.head).collect());
    let tails = levels(links.iter().map(|link| link.tail).collect());
    let mut best = 0;
    for (h, &head) in heads.iter().enumerate() {
        for (t, &tail) in tails.iter().enumerate() {
            let late: Vec<&Link> =
                links.iter().copied().filter(|link| link.head >= head && link.tail >= tail).collect();
            let extra = if h + t == 0 { extra } else { 0 };
            best = hours(hall, works, &late, extra, best).max(best);
        }
    }
    best
}

/// The earliest finish, `known` or later, at which the hours suffice for these tasks. A helper works on them from the least
/// head of those that they can do, and the least tail of these follows their work.
fn hours(hall: &Hall, works: &[Work], links: &[&Link], extra: u64, known: u64) -> u64 {
    let mut ends = [None; Work::ALL.len()];
    for link in links {
        let (head, tail) = ends[link.work as usize].get_or_insert((link.head, link.tail));
        (*head, *tail) = (link.head.min(*head), link.tail.min(*tail));
    }
    let sum = extra + links.iter().map(|link| link.standard).sum::<u64>();
    let wanted = u128::from(sum) * u128::from(100 + hall.slack);
    let able: Vec<(u64, u64, u64, u32)> = hall
        .helpers
        .iter()
        .filter_map(|helper| {
            let own = works.iter().filter(|work| helper.can.contains(work));
            let own = own.filter_map(|work| ends[*work as usize]);
            let (head, tail) = own.reduce(|a, b| (a.0.min(b.0), a.1.min(b.1)))?;
            Some((helper.from.max(head), helper.to.unwrap_or(u64::MAX), tail, helper.speed_percent))
        })
        .collect();
    let enough = |finish: u64| {
        let given = able.iter().map(|&(from, to, tail, speed)| {
            u128::from(to.min(finish.saturating_sub(tail)).saturating_sub(from)) * u128::from(speed)
        });
        given.sum::<u128>() >= wanted
    };
    if enough(known) {
        return known;
    }
    let (mut low, mut high) = (known, known + 1);
    while !enough(high) {
        if high > 1 << 40 {
            return u64::MAX;
        }
        low = high;
        high *= 2;
    }
    // `low` does not suffice, `high` does.
    while low + 1 < high {
        let middle = low + (high - low) / 2;
        if enough(middle) {
            high = middle;
        } else {
            low = middle;
        }
    }
    high
}

impl Shop {
    /// Boards in use.
    pub(crate) fn boards(&self) -> Vec<usize> {
        let mut boards: Vec<usize> = self.runs.iter().map(|run| run.board).collect();
        boards.sort_unstable();
        boards.dedup();
        boards
    }
}

/// Sets of classes that some lay-up is bound to, and all classes.
fn class_sets(shop: &Shop) -> Vec<Vec<bool>> {
    let mut sets: Vec<Vec<bool>> = shop.runs.iter().map(|run| run.classes.clone()).collect();
    sets.extend(shop.runs.first().map(|run| vec![true; run.classes.len()]));
    sets.sort_unstable();
    sets.dedup();
    sets
}

/// All tasks with their heads and tails.
struct Chain {
    links: Vec<Link>,
    /// The link of every run's cranking.
    cranks: Vec<usize>,
}

impl Chain {
    fn of(hall: &Hall, shop: &Shop, sorting: &Sorting) -> Self {
        let long = |work, standard| fastest(hall, work, standard);
        let comes = |work: Work| {
            let able = hall.helpers.iter().filter(|helper| helper.can.contains(&work));
            able.map(|helper| helper.from).min().unwrap_or(0)
        };
        let pressed: Vec<u64> = shop.batches.iter().map(|batch| long(Work::Press, batch.press)).collect();
        // Which batch a squaring falls to depends on their order; how many there are does not.
        let cut: Vec<u64> = shop.batches.iter().map(|batch| long(Work::Strips, batch.cut)).collect();
        let press_from = comes(Work::Press);
        let strips_from = |batch: usize| (press_from + pressed[batch]).max(comes(Work::Strips));
        let mut tail_of_run = vec![0; shop.runs.len()];
        let mut head_of_bag = vec![0; sorting.bags.len()];
        let mut checks_of_run = vec![0; shop.runs.len()];
        for (runs, seconds) in &sorting.bags {
            let check = long(Work::CheckBags, *seconds);
            for &run in runs {
                tail_of_run[run] = check.max(tail_of_run[run]);
                checks_of_run[run] += *seconds;
            }
        }
        // All bags with patches of a run are checked after it.
        for (tail, checks) in tail_of_run.iter_mut().zip(checks_of_run) {
            *tail = together(hall, &[Work::CheckBags], checks).max(*tail);
        }
        let (mut of_runs, mut cranks) = (Vec::new(), Vec::new());
        let mut tail_of_batch = vec![0; shop.batches.len()];
        for (at, run) in shop.runs.iter().enumerate() {
            let counting = run.count + sorting.runs[at];
            let crank = long(Work::Crank, run.crank);
            let count = long(Work::LiftOut, counting);
            let alone = run.batches.iter().map(|&batch| strips_from(batch) + cut[batch]).max().unwrap_or(0);
            let sum =
                |of: &dyn Fn(&Batch) -> u64| run.batches.iter().map(|&at| of(&shop.batches[at])).sum::<u64>();
            let (presses, cuts) = (sum(&|batch| batch.press), sum(&|batch| batch.cut));
            let least = |of: &[u64]| run.batches.iter().map(|&batch| of[batch]).min().unwrap_or(0);
            // All batches of a run are pressed and cut before it, by all who can; one is pressed before any is cut, and one is
            // cut after all are pressed.
            let ready = [
                alone,
                press_from + together(hall, &[Work::Press], presses) + least(&cut),
                press_from + least(&pressed) + together(hall, &[Work::Strips], cuts),
                press_from.min(comes(Work::Strips))
                    + together(hall, &[Work::Press, Work::Strips], presses + cuts),
            ];
            let ready = ready.into_iter().max().filter(|_| !run.batches.is_empty()).unwrap_or(0);
            let after = tail_of_run[at];
            let (mut filled, mut tray) = (ready, 0);
            if let Some(standard) = run.tray {
                let head = ready.max(comes(Work::Fold));
                tray = long(Work::Fold, standard);
                filled = head + tray;
                let tail = crank + count + after;
                of_runs.push(Link { work: Work::Fold, standard, long: tray, head, tail });
            }
            let from = filled.max(comes(Work::Crank));
            let counts = (from + crank).max(comes(Work::LiftOut));
            cranks.push(of_runs.len());
            of_runs.extend([
                Link { work: Work::Crank, standard: run.crank, long: crank, head: from, tail: count + after },
                Link { work: Work::LiftOut, standard: counting, long: count, head: counts, tail: after },
            ]);
            for &batch in &run.batches {
                tail_of_batch[batch] = (tray + crank + count + after).max(tail_of_batch[batch]);
            }
            for (bag, (runs, _)) in sorting.bags.iter().enumerate() {
                if runs.binary_search(&at).is_ok() {
                    head_of_bag[bag] = (counts + count).max(head_of_bag[bag]);
                }
            }
        }
        let mut links = Vec::new();
        for (at, batch) in shop.batches.iter().enumerate() {
            let tail = tail_of_batch[at];
            links.push(Link {
                work: Work::Press,
                standard: batch.press,
                long: pressed[at],
                head: press_from,
                tail: cut[at] + tail,
            });
            links.push(Link {
                work: Work::Strips,
                standard: batch.cut,
                long: cut[at],
                head: strips_from(at),
                tail,
            });
        }
        cranks.iter_mut().for_each(|crank| *crank += links.len());
        links.extend(of_runs);
        for (bag, (_, seconds)) in sorting.bags.iter().enumerate().filter(|(_, bag)| !bag.0.is_empty()) {
            let head = head_of_bag[bag].max(comes(Work::CheckBags));
            let check = long(Work::CheckBags, *seconds);
            links.push(Link { work: Work::CheckBags, standard: *seconds, long: check, head, tail: 0 });
        }
        Self { links, cranks }
    }

    fn crank(&self, run: usize) -> &Link {
        &self.links[self.cranks[run]]
    }
}
