//! Fewer lay-ups in the same passes: a few of them are taken apart and made anew as one lay-up less.
//!
//! How often each of the new ones is made is chosen first; then one small integer program decides what lies in them.
//! A number of times is worth trying only if every item's count is a sum of such numbers, which rules out most. Taking
//! patterns apart and combining them anew is the idea of Foerster and Waescher, Int. J. Prod. Res. 38 (2000) 1657-1676
//! (pattern reduction in cutting stock); choosing the numbers first makes the program linear.

use std::collections::BTreeMap;

use rayon::prelude::*;

use crate::integer::{Found, IntegerModel, Relation};
use crate::loading::{Item, Loading, Question};
use crate::search::Random;

/// Lists of numbers that are looked at for one set of lay-ups.
const MOST_LISTS: usize = 600;
/// Sets tried side by side before the first that succeeded is taken.
const BATCH: u64 = 8;
/// Most lay-ups taken apart at once.
const MOST_APART: usize = 6;
/// What a stack costs where few are wanted: more than any whim about what lies in it.
const STACK: i64 = 64;
/// Variables beyond which a program is not solved.
const MOST_VARIABLES: usize = 300;

/// The programs that fill lay-ups.
#[derive(Clone, Copy, Debug)]
pub struct Programs {
    /// Nodes of each.
    pub nodes: u64,
    /// Lists of numbers for which one is solved, for one set of lay-ups.
    pub most: usize,
    /// Batches in a row without success before lay-ups are left as they are.
    pub patience: u64,
}

impl Programs {
    /// For a plan among many.
    pub const FEW: Self = Self { nodes: 8, most: 5, patience: 4 };
    /// For a plan that is kept.
    pub const MANY: Self = Self { nodes: 60, most: 8, patience: 6 };
}

/// Makes the lay-ups fewer until so many batches in a row find nothing, the work (variables of all programs) is done, or
/// `stop` says so.
#[must_use]
pub fn fewer(
    question: &Question<'_>,
    items: &[Item],
    loadings: Vec<Loading>,
    work: u64,
    programs: Programs,
    stop: &(dyn Fn() -> bool + Sync),
) -> Vec<Loading> {
    let mut best = loadings;
    let (mut batch, mut failed, mut done) = (0, 0, 0);
    while failed < programs.patience && done < work && best.len() > 1 && !stop() {
        let found: Vec<(Option<Vec<Loading>>, u64)> = (0..BATCH)
            .into_par_iter()
            .map(|seed| {
                let mut luck = Luck { random: Random::new(batch * BATCH + seed), work: 0, programs };
                let apart = chosen(&best, &mut luck.random);
                (one_less(question, items, &best, &apart, &mut luck), luck.work)
            })
            .collect();
        batch += 1;
        done += found.iter().map(|found| found.1).sum::<u64>();
        match found.into_iter().filter_map(|found| found.0).min_by_key(|loadings| stacks(loadings)) {
            Some(found) => (best, failed) = (found, 0),
            None => failed += 1,
        }
    }
    best
}

/// What an attempt draws from and adds to.
pub(crate) struct Luck {
    /// Decides between like choices.
    pub(crate) random: Random,
    /// Variables of all programs solved.
    pub(crate) work: u64,
    pub(crate) programs: Programs,
}

/// Stacks to lay in all passes.
fn stacks(loadings: &[Loading]) -> (usize, i64) {
    let each =
        |loading: &Loading| loading.times * i64::try_from(loading.loads.len()).unwrap_or(i64::MAX / 200);
    (loadings.len(), loadings.iter().map(each).sum())
}

/// Which lay-ups to take apart: those made seldom more often than the others.
pub(crate) fn chosen(loadings: &[Loading], random: &mut Random) -> Vec<usize> {
    let most = loadings.len().min(MOST_APART);
    let wanted = 2 + random.below(most - 1);
    let mut order: Vec<(usize, usize)> = loadings
        .iter()
        .enumerate()
        .map(|(index, loading)| {
            let times = usize::try_from(loading.times).unwrap_or(1).min(6);
            (random.below(1_000 * (times + 1)), index)
        })
        .collect();
    order.sort_unstable();
    let mut chosen: Vec<usize> = order.into_iter().take(wanted).map(|(_, index)| index).collect();
    chosen.sort_unstable();
    chosen
}

fn one_less(
    question: &Question<'_>,
    items: &[Item],
    loadings: &[Loading],
    apart: &[usize],
    luck: &mut Luck,
) -> Option<Vec<Loading>> {
    let mut counts = vec![0_i64; items.len()];
    let mut passes = 0;
    for &index in apart {
        let loading = &loadings[index];
        passes += loading.times;
        loading.loads.iter().for_each(|&(item, _, n)| counts[item] += n * loading.times);
    }
    let made = anew(question, items, &counts, (passes, apart.len() - 1), Wanted::Any, luck)?;
    let kept = loadings.iter().enumerate().filter(|(index, _)| !apart.contains(index));
    Some(kept.map(|(_, loading)| loading.clone()).chain(made).collect())
}

/// What is wanted of lay-ups made anew.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Wanted {
    /// Any that hold everything.
    Any,
    /// Few stacks of one group each, so that what lies in them can come from few folded lengths.
    FewStacks,
}

/// So many of each item in so many passes of so many lay-ups.
#[must_use]
pub(crate) fn anew(
    question: &Question<'_>,
    items: &[Item],
    counts: &[i64],
    (passes, layups): (i64, usize),
    wanted: Wanted,
    luck: &mut Luck,
) -> Option<Vec<Loading>> {
    let of_list = |times: &[i64]| match wanted {
        Wanted::Any => score(question, items, counts, times),
        Wanted::FewStacks => least_stacks(question, items, counts, times).map(|stacks| u64::MAX - stacks),
    };
    let mut scored: Vec<(u64, Vec<i64>)> = lists(passes, layups, &mut luck.random)
        .into_iter()
        .filter_map(|times| Some((of_list(&times)?, times)))
        .collect();
    scored.sort_by(|one, other| other.cmp(one));
    // The first list that can be filled is taken: by turns the likeliest, and any of them.
    if scored.len() > 1 && luck.random.below(2) == 0 {
        let any = luck.random.below(scored.len());
        scored[..=any].rotate_right(1);
    }
    let spread = scored.len().min(3 * luck.programs.most);
    scored.truncate(spread);
    while scored.len() > luck.programs.most {
        let _ = scored.remove(1 + luck.random.below(scored.len() - 1));
    }
    scored.into_iter().find_map(|(_, times)| filled(question, items, counts, &times, wanted, luck))
}

/// Lists of so many numbers, falling, that add up to `sum`: all, or where they are many a sample.
fn lists(sum: i64, parts: usize, random: &mut Random) -> Vec<Vec<i64>> {
    let mut found = Vec::new();
    if !all_lists(sum, parts, sum, &mut Vec::new(), &mut found) {
        found.clear();
        let sum = usize::try_from(sum).unwrap_or(1);
        for _ in 0..MOST_LISTS {
            let mut cuts: Vec<usize> = (1..parts).map(|_| 1 + random.below(sum - 1)).collect();
            cuts.extend([0, sum]);
            cuts.sort_unstable();
            let mut list: Vec<i64> =
                cuts.windows(2).map(|pair| i64::try_from(pair[1] - pair[0]).unwrap_or(0)).collect();
            list.sort_unstable_by_key(|&times| std::cmp::Reverse(times));
            if list.last().is_some_and(|&least| least > 0) {
                found.push(list);
            }
        }
        found.sort_unstable();
        found.dedup();
    }
    found
}

/// False if there are too many.
fn all_lists(sum: i64, parts: usize, most: i64, list: &mut Vec<i64>, found: &mut Vec<Vec<i64>>) -> bool {
    if parts == 0 {
        if sum == 0 {
            found.push(list.clone());
        }
        return found.len() <= MOST_LISTS;
    }
    let rest = i64::try_from(parts).unwrap_or(i64::MAX) - 1;
    for times in (1..=most.min(sum - rest)).rev() {
        if times * (rest + 1) < sum {
            break;
        }
        list.push(times);
        let go_on = all_lists(sum - times, parts - 1, times, list, found);
        let _ = list.pop();
        if !go_on {
            return false;
        }
    }
    true
}

/// In how many ways the counts are sums of these numbers, as a sum of logarithms; `None` if some count is none.
fn score(question: &Question<'_>, items: &[Item], counts: &[i64], times: &[i64]) -> Option<u64> {
    let most = |item: &Item| {
        let group = &question.groups[item.group];
        (i64::from(group.limit) / i64::from(item.plies)).max(1)
            * i64::try_from(group.bays.len()).unwrap_or(1)
    };
    let logarithm = |ways: u64| Some(u64::from((256 * ways).checked_ilog2()?.checked_sub(7)?));
    let by_most = answers(items, counts, most, |most, size| Some(ways(most, size, times)))?;
    by_most.into_iter().map(logarithm).sum()
}

/// What a table over all counts says of each item that is wanted; items with the same key share a table.
fn answers<K: PartialEq + Copy, V: Copy>(
    items: &[Item],
    counts: &[i64],
    key: impl Fn(&Item) -> K,
    table: impl Fn(K, usize) -> Option<Vec<V>>,
) -> Option<Vec<V>> {
    let size = usize::try_from(counts.iter().copied().max()?).ok()? + 1;
    let mut known: Vec<(K, Vec<V>)> = Vec::new();
    let mut said = Vec::new();
    for (item, &count) in items.iter().zip(counts).filter(|(_, count)| **count > 0) {
        let key = key(item);
        let at = match known.iter().position(|known| known.0 == key) {
            Some(at) => at,
            None => {
                known.push((key, table(key, size)?));
                known.len() - 1
            }
        };
        said.push(known[at].1[usize::try_from(count).ok()?]);
    }
    Some(said)
}

/// More ways than that are as good as any.
const MANY_WAYS: u64 = 1 << 40;

/// In how many ways each count below `size` is a sum of these numbers, each taken at most so often.
fn ways(most: i64, size: usize, times: &[i64]) -> Vec<u64> {
    let most = usize::try_from(most).unwrap_or(usize::MAX);
    let mut ways = vec![0_u64; size];
    ways[0] = 1;
    for step in times.iter().filter_map(|&times| usize::try_from(times).ok()) {
        // The sum over what is one step lower, without what would be a step too many.
        let mut next = vec![0_u64; size];
        let mut sums = vec![0_u128; size];
        for at in 0..size {
            let lower = at.checked_sub(step).map_or(0, |lower| sums[lower]);
            let beyond = step.checked_mul(most.saturating_add(1)).and_then(|far| at.checked_sub(far));
            sums[at] = lower + u128::from(ways[at]);
            let within = sums[at] - beyond.map_or(0, |far| sums[far]);
            next[at] = u64::try_from(within).unwrap_or(u64::MAX).min(MANY_WAYS);
        }
        ways = next;
    }
    ways
}

/// Fewest stacks, all passes, that hold the counts if each item is looked at alone; `None` if some count is no sum of
/// these numbers.
fn least_stacks(question: &Question<'_>, items: &[Item], counts: &[i64], times: &[i64]) -> Option<u64> {
    let key = |item: &Item| {
        let group = &question.groups[item.group];
        let each = u64::from(group.limit / item.plies).max(1);
        (each, each * group.bays.len() as u64)
    };
    answers(items, counts, key, |(each, most), size| stacks_of(each, most, size, times))?.into_iter().sum()
}

/// Fewest stacks of `each` plies that hold each count below `size`; a lay-up holds at most `most` plies.
fn stacks_of(each: u64, most: u64, size: usize, times: &[i64]) -> Option<Vec<Option<u64>>> {
    let mut least: Vec<Option<u64>> = vec![None; size];
    least[0] = Some(0);
    for &times in times {
        let (step, made) = (usize::try_from(times).ok()?, u64::try_from(times).ok()?);
        let mut next = least.clone();
        for (at, known) in least.iter().enumerate() {
            let Some(known) = known else { continue };
            for n in 1..=most {
                let Some(place) = next.get_mut(at + step * usize::try_from(n).ok()?) else { break };
                let with = known + made * n.div_ceil(each);
                *place = Some(place.map_or(with, |other| other.min(with)));
            }
        }
        least = next;
    }
    Some(least)
}

/// Lay-ups made that often, by the integer program.
fn filled(
    question: &Question<'_>,
    items: &[Item],
    counts: &[i64],
    times: &[i64],
    wanted: Wanted,
    luck: &mut Luck,
) -> Option<Vec<Loading>> {
    let board = question.board;
    let mut program = IntegerModel::default();
    let mut columns: Vec<(usize, usize, usize)> = Vec::new();
    let mut points: Vec<Vec<(usize, i64)>> = vec![Vec::new(); board.points.len() * times.len()];
    for (index, item) in items.iter().enumerate().filter(|(index, _)| counts[*index] > 0) {
        let group = &question.groups[item.group];
        let load = group.load * i64::from(item.plies);
        let first = columns.len();
        for (j, &made) in times.iter().enumerate() {
            let whim = i64::try_from(luck.random.below(6)).unwrap_or(0);
            for &bay in &group.bays {
                let most = (counts[index] / made).min(board.full / load.max(1));
                if most == 0 {
                    continue;
                }
                let v = program.variable(whim * made + i64::from(bay != group.bays[0]), 0, most);
                columns.push((j, index, bay));
                for &point in &board.bay_points[bay] {
                    points[j * board.points.len() + point].push((v, load));
                }
            }
        }
        let all = (first..columns.len()).map(|v| (v, times[columns[v].0]));
        program.row(all, Relation::Equal, counts[index]);
    }
    if columns.len() > MOST_VARIABLES {
        return None;
    }
    for terms in points.into_iter().filter(|terms| !terms.is_empty()) {
        program.row(terms, Relation::AtMost, board.full);
    }
    if wanted == Wanted::FewStacks {
        charge_stacks(question, items, &mut program, &columns, times);
    }
    luck.work += program.costs.len() as u64;
    for j in 0..times.len() {
        question.apart_rows(&mut program, items, &|bay| {
            let here = columns.iter().enumerate().filter(|(_, column)| (column.0, column.2) == (j, bay));
            here.map(|(v, column)| (v, column.1)).collect()
        });
    }
    let Found::Point { values, .. } = program.solve(luck.programs.nodes, None, None) else { return None };
    let mut loadings: Vec<Loading> =
        times.iter().map(|&times| Loading { times, loads: Vec::new() }).collect();
    for (&(j, item, bay), &n) in columns.iter().zip(&values).filter(|(_, n)| **n > 0) {
        loadings[j].loads.push((item, bay, n));
    }
    loadings.retain(|loading| !loading.loads.is_empty());
    Some(loadings)
}

/// Makes every stack of a group dear, whatever its plies.
fn charge_stacks(
    question: &Question<'_>,
    items: &[Item],
    program: &mut IntegerModel,
    columns: &[(usize, usize, usize)],
    times: &[i64],
) {
    let mut stacks: BTreeMap<(usize, usize, usize), Vec<usize>> = BTreeMap::new();
    for (v, &(j, item, bay)) in columns.iter().enumerate() {
        stacks.entry((j, items[item].group, bay)).or_default().push(v);
    }
    for ((j, group, _), here) in stacks {
        let flag = program.variable(STACK * times[j], 0, 1);
        let most = i64::from(question.groups[group].limit);
        let plies = here.iter().map(|&v| (v, i64::from(items[columns[v].1].plies)));
        program.row(plies.chain([(flag, -most)]), Relation::AtMost, 0);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::loading::Split;
    use crate::model::Board;
    use crate::stock::Group;

    struct Halves;

    impl Split for Halves {
        fn split(&self, plies: u32) -> (u32, u32) {
            (plies.div_ceil(2), plies / 2)
        }
    }

    fn group(bays: &[usize]) -> Group {
        Group {
            stage: 1,
            board: 0,
            fabric: 0,
            class: 0,
            bays: bays.to_vec(),
            load: 1,
            limit: 6,
            folding: true,
            alone: false,
            up: 0,
            down: 0,
            by_face: false,
        }
    }

    fn flat(group: usize, count: i64) -> Item {
        Item { group, way: 0, plies: 1, down: false, count }
    }

    /// By hand: 20 plies of one fabric and 10 of another on one position, six a stack, are five passes of one lay-up,
    /// four plies and two; here they come as three lay-ups.
    #[test]
    fn three_layups_become_one() {
        let board = Board::new(6, 1, vec![vec![0]], Vec::new());
        let (groups, items) = ([group(&[0]), group(&[0])], [flat(0, 20), flat(1, 10)]);
        let question = Question { board: &board, groups: &groups, items: &items, split: &Halves, layup: 4 };
        let of = |times, loads: &[(usize, usize, i64)]| Loading { times, loads: loads.to_vec() };
        let loadings = vec![of(3, &[(0, 0, 6)]), of(1, &[(0, 0, 2), (1, 0, 4)]), of(1, &[(1, 0, 6)])];
        let found = fewer(
            &question,
            &items,
            loadings.clone(),
            10_000,
            Programs { patience: 8, ..Programs::MANY },
            &|| false,
        );
        assert_eq!(found, [of(5, &[(0, 0, 4), (1, 0, 2)])]);
        assert_eq!(
            fewer(
                &question,
                &items,
                loadings.clone(),
                10_000,
                Programs { patience: 8, ..Programs::MANY },
                &|| true
            ),
            loadings
        );
    }

    /// By hand: 7 is written as three falling numbers above 0 in four ways.
    #[test]
    fn lists_are_complete() {
        let found = lists(7, 3, &mut Random::new(1));
        assert_eq!(found, [vec![5, 1, 1], vec![4, 2, 1], vec![3, 3, 1], vec![3, 2, 2]]);
    }

    /// Whatever is made anew from random lay-ups of two rows of three positions lays as many of every item, in no more
    /// passes, and overloads no point.
    #[test]
    fn what_is_made_anew_is_the_same_plies() {
        let points = (0..6).map(|p| vec![p, 6 + p / 3]).collect();
        let board = Board::new(6, 8, points, vec![(0, 5)]);
        let groups = [group(&[0, 1, 2, 3, 4, 5]), group(&[6, 7]), group(&[2])];
        let mut fewer_found = 0;
        for seed in 0..20 {
            let mut random = Random::new(seed);
            let loadings: Vec<Loading> = (0..5)
                .map(|_| {
                    let mut loads = vec![(0, 1 + random.below(4), 1 + random.below(3) as i64)];
                    loads.extend([(1, 6 + random.below(2), 1 + random.below(2) as i64), (2, 2, 1)]);
                    Loading { times: 1 + random.below(4) as i64, loads }
                })
                .collect();
            let total = |loadings: &[Loading], item: usize| -> i64 {
                let of = |loading: &Loading| {
                    let loads = loading.loads.iter().filter(|load| load.0 == item);
                    loading.times * loads.map(|load| load.2).sum::<i64>()
                };
                loadings.iter().map(of).sum()
            };
            let items: Vec<Item> = (0..3).map(|item| flat(item, total(&loadings, item))).collect();
            let question =
                Question { board: &board, groups: &groups, items: &items, split: &Halves, layup: 4 };
            let found = fewer(
                &question,
                &items,
                loadings.clone(),
                20_000,
                Programs { patience: 4, ..Programs::MANY },
                &|| false,
            );
            let passes = |loadings: &[Loading]| loadings.iter().map(|loading| loading.times).sum::<i64>();
            assert!(passes(&found) <= passes(&loadings));
            fewer_found += usize::from(found.len() < loadings.len());
            for item in 0..3 {
                assert_eq!(total(&found, item), total(&loadings, item));
            }
            for loading in &found {
                let mut loads = [0; 7];
                for &(item, bay, n) in &loading.loads {
                    assert!(groups[items[item].group].bays.contains(&bay));
                    board.bay_points[bay].iter().for_each(|&point| loads[point] += n);
                }
                assert!(loads[..6].iter().all(|&load| load <= 6));
                let used = |bay| loading.loads.iter().any(|load| load.1 == bay);
                assert!(!(used(0) && used(5)));
            }
        }
        assert!(fewer_found > 10, "{fewer_found}");
    }
}
