//! Block by block: like blocks are cut together in batches, each by passes of its own. For every block from the same
//! fabrics a small integer program finds the plies of a batch of one, two, three … copies while each board still does
//! with one pass; the copies wanted are then divided into batches at least cost. Strips are cut for all batches together.

use std::collections::BTreeMap;
use std::sync::atomic::{AtomicU64, Ordering};

use patchlay_plan::{Batch, FigureKind};
use patchlay_scenario::job::{Demand, hand as hand_of};
use patchlay_scenario::{Job, PlyRule};
use rayon::prelude::*;

use crate::aim;
use crate::costs::Costs;
use crate::draft::{Draft, Lay, Packed, worth};
use crate::groups;
use crate::integer::{Found, IntegerModel, Relation};
use crate::listen::{Listener, Progress};
use crate::loading::{Item, Loading, Packing};
use crate::model::{Face, Model};
use crate::proof_block;
use crate::questions;
use crate::search::Effort;
use crate::solution::Solution;
use crate::stock;
use crate::work::{self, Work};

/// Copies beyond which a batch is not looked for.
const MOST_COPIES: u64 = 60;
/// Nodes of the program of a batch.
const NODES: u64 = 1_000;
/// What costs of plies are brought to for the program.
const FINE: i128 = 1_000_000;
/// The same for the figure that decides between like ones.
const COARSE: i128 = 1_000;

/// Patches that are cut together, and how many copies of them are wanted.
struct Wanted {
    of: Batch,
    /// Patches of one copy, by demand line.
    lines: Vec<u64>,
    copies: u64,
    /// Several copies may be one batch.
    together: bool,
    proof: bool,
}

/// What lies in a lay-up: item, bay, how many.
type Loads = Vec<(usize, usize, i64)>;

/// A ply in a lay-up of a batch: fabric, class, bay, lying face down, how many.
type Laid = (usize, usize, usize, bool, i64);

/// How a batch of so many copies is cut.
#[derive(Clone, Debug)]
struct Cut {
    copies: u64,
    cost: i64,
    /// Plies by fabric.
    plies: Vec<Vec<i64>>,
    /// Lay-ups: board, passes, plies.
    layups: Vec<(usize, i64, Vec<Laid>)>,
}

/// Everything to do, the model that the strips were cut in, and the batches.
pub(crate) struct Batched {
    pub(crate) model: Model,
    pub(crate) work: Work,
    pub(crate) batches: Vec<Batch>,
}

/// Plans a job block by block. `None` where the relaxation or some batch has no solution.
pub(crate) fn plan(job: &Job, model: &Model, effort: Effort, listener: &dyn Listener) -> Option<Batched> {
    listener.event(&Progress::Phase { name: "dividing blocks into batches".to_owned() });
    let terms = Terms { job, model, costs: ply_costs(job, model) };
    let wanted = wanted(job);
    let (done, of) = (AtomicU64::new(0), wanted.len() as u64);
    let divided = |wanted: &Wanted| {
        let cut = terms.divided(wanted);
        let done = done.fetch_add(1, Ordering::Relaxed) + 1;
        listener.event(&Progress::Share { done, of });
        cut
    };
    let cuts: Vec<Vec<(Cut, u64)>> = wanted.par_iter().map(divided).collect::<Option<_>>()?;
    let mut all = Solution::empty(model);
    let mut batches: Vec<Batch> = Vec::new();
    let mut lots: Vec<Lot> = Vec::new();
    let mut order: Vec<usize> = (0..wanted.len()).collect();
    order.sort_by_key(|&kind| !wanted[kind].proof);
    for kind in order {
        for (cut, times) in &cuts[kind] {
            for (all, one) in all.plies.iter_mut().flatten().zip(cut.plies.iter().flatten()) {
                *all += one * i64::try_from(*times).ok()?;
            }
            let first = batches.len();
            let proof = wanted[kind].proof && lots.iter().all(|lot| !lot.proof || lot.first == first);
            for (board, passes, laid) in &cut.layups {
                let times = passes * i64::try_from(*times).ok()?;
                lots.push(Lot { first, board: *board, each: *passes, times, laid: laid.clone(), proof });
            }
            let of = match &wanted[kind].of {
                Batch::Block { block, fabrics, .. } => {
                    Batch::Block { block: block.clone(), fabrics: fabrics.clone(), copies: cut.copies }
                }
                other => other.clone(),
            };
            batches.extend((0..*times).map(|_| of.clone()));
        }
    }
    all.set_passes(model);
    // Every ply is decided; only its cloth is still to be found, and how it is divided.
    let rest = proof_block::rest(model, &all);
    let laid = lots.iter().map(|lot| lot.times).sum();
    let cloth = aim::solve(job, (&rest, laid), effort, listener)?;
    listener.event(&Progress::Phase { name: "dividing the strips".to_owned() });
    let groups = groups::of_solution(job, &rest, &all, 0);
    let lay = Lay {
        job,
        model: &rest,
        solution: &cloth,
        proof: Some(&all),
        groups: &groups,
        layup: worth(job),
        thorough: true,
        programs: crate::fewer::Programs::FEW,
    };
    let work = laid_up(&lay, &lots)?;
    Some(Batched { work, batches, model: rest })
}

/// Lay-ups alike of a kind of batch.
#[derive(Clone, Debug)]
struct Lot {
    /// First batch that it serves.
    first: usize,
    board: usize,
    /// Passes for each batch.
    each: i64,
    /// Passes in all.
    times: i64,
    laid: Vec<Laid>,
    proof: bool,
}

/// Divides the strips, takes every lot's plies from them, folds what can be folded, and writes the work out.
fn laid_up(lay: &Lay<'_>, lots: &[Lot]) -> Option<Work> {
    let stocks: Vec<stock::Stock> = (0..lay.model.fabrics.len())
        .map(|f| {
            let measures = lay.measures(f);
            let groups: Vec<stock::Group> = lay.groups.iter().filter(|g| g.fabric == f).cloned().collect();
            let mut needed = vec![0; lay.model.fabrics[f].classes.len()];
            groups.iter().for_each(|group| needed[group.class] += group.plies());
            let capacity = lay.job.fabrics[f].strip_capacity();
            let opened = stock::open(&measures, &lay.solution.strips[f], &needed, capacity);
            stock::flat(&measures, lay.handling(), &opened, &groups)
        })
        .collect();
    let items = crate::draft::items(lay.groups, &stocks);
    let mut left: Vec<i64> = items.iter().map(|item| item.count).collect();
    // The lots of the proof block come first, then board after board.
    let mut order: Vec<&Lot> = lots.iter().collect();
    order.sort_by_key(|lot| (!lot.proof, lot.board));
    let mut packed: Vec<Packed> = Vec::new();
    let mut serves: Vec<Vec<Vec<usize>>> = Vec::new();
    for lot in order {
        if packed.last().is_none_or(|last| (last.board, last.stage == 0) != (lot.board, lot.proof)) {
            let packing = Packing { items: items.clone(), ..Packing::default() };
            packed.push(Packed { stage: usize::from(!lot.proof), board: lot.board, packing });
            serves.push(Vec::new());
        }
        let (packing, serves) = (&mut packed.last_mut()?.packing, serves.last_mut()?);
        let mut done = 0;
        while done < lot.times {
            let (times, loads) = take(lay, &items, &mut left, lot, lot.times - done)?;
            let batch = |pass: i64| Some(lot.first + usize::try_from(pass / lot.each.max(1)).ok()?);
            serves.push((done..done + times).map(batch).collect::<Option<_>>()?);
            packing.loadings.push(Loading { times, loads });
            done += times;
        }
    }
    let price = lay.price(&stocks, &packed);
    let draft = lay.settled(Draft { stocks, packed, price });
    Some(work::of_draft(lay, draft, Some(&serves)))
}

/// Takes the plies of a lot for as many of its passes as can be alike.
fn take(lay: &Lay<'_>, items: &[Item], left: &mut [i64], lot: &Lot, most: i64) -> Option<(i64, Loads)> {
    let fits = |item: &Item, &(f, class, bay, down, _): &Laid| {
        let group = &lay.groups[item.group];
        (group.fabric, group.class, group.board) == (f, class, lot.board)
            && group.bays.contains(&bay)
            && item.down == (down && group.by_face)
    };
    // One kind of cut for every ply as long as there is enough of it, else whatever is left, pass by pass.
    let mut spare = left.to_vec();
    let mut loads: Vec<(usize, usize, i64)> = Vec::new();
    for laid in &lot.laid {
        let mut wanted = laid.4;
        while wanted > 0 {
            let item = (0..items.len())
                .filter(|&index| spare[index] > 0 && fits(&items[index], laid))
                .max_by_key(|&index| (spare[index], std::cmp::Reverse(index)))?;
            let taken = wanted.min(spare[item]);
            spare[item] -= taken;
            wanted -= taken;
            match loads.iter_mut().find(|load| (load.0, load.1) == (item, laid.2)) {
                Some(load) => load.2 += taken,
                None => loads.push((item, laid.2, taken)),
            }
        }
    }
    let mut each: BTreeMap<usize, i64> = BTreeMap::new();
    loads.iter().for_each(|&(item, _, n)| *each.entry(item).or_default() += n);
    let times = each.iter().map(|(&item, n)| left[item] / n).min().unwrap_or(most).clamp(1, most);
    each.iter().for_each(|(&item, n)| left[item] -= n * times);
    Some((times, loads))
}

/// What is wanted, block by block.
fn wanted(job: &Job) -> Vec<Wanted> {
    let mut all: Vec<(usize, &Vec<usize>, u64)> = Vec::new();
    for quilt in &job.quilts {
        for (block, count, fabrics) in &quilt.blocks {
            let copies = u64::from(quilt.copies) * u64::from(*count);
            match all.iter_mut().find(|known| (known.0, known.1) == (*block, fabrics)) {
                Some(known) => known.2 += copies,
                None => all.push((*block, fabrics, copies)),
            }
        }
    }
    let mut loose: Vec<u64> = job.demands.iter().map(|demand| demand.needed).collect();
    let mut wanted = Vec::new();
    for (block, fabrics, copies) in all {
        let mut lines = vec![0; job.demands.len()];
        for (patches, &fabric) in job.blocks[block].patches.iter().zip(fabrics) {
            let shape = &job.shapes[patches.shape].shape;
            let hand = hand_of(shape, &job.fabrics[fabric], patches.mirrored);
            let of = |d: &Demand| (d.fabric, d.shape, d.hand) == (fabric, patches.shape, hand);
            if let Some(line) = job.demands.iter().position(of) {
                lines[line] += u64::from(patches.count);
            }
        }
        loose.iter_mut().zip(&lines).for_each(|(all, each)| *all = all.saturating_sub(each * copies));
        let proof = job.proof_block.as_ref().is_some_and(|proof| {
            let asked = &job.quilts[proof.quilt].blocks;
            proof.block == block && asked.iter().any(|(asked, _, map)| (*asked, map) == (block, fabrics))
        });
        if copies > 0 && lines.iter().any(|&count| count > 0) {
            let names = fabrics.iter().map(|&fabric| job.fabrics[fabric].name.clone()).collect();
            let of = Batch::Block { block: job.blocks[block].name.clone(), fabrics: names, copies };
            wanted.push(Wanted { of, lines, copies, together: true, proof });
        }
    }
    let spare = job.demands.iter().map(|demand| demand.spare).collect();
    for (of, lines) in [(Batch::LoosePatches, loose), (Batch::SparePatches, spare)] {
        if lines.iter().any(|&count| count > 0) {
            wanted.push(Wanted { of, lines, copies: 1, together: false, proof: false });
        }
    }
    wanted
}

/// Costs of plies by fabric, and of a pass: the first figure of the aim, and between like ones the next.
struct PlyCosts {
    plies: Vec<Vec<i64>>,
    pass: i64,
}

/// A ply costs its share of a strip.
fn ply_costs(job: &Job, model: &Model) -> PlyCosts {
    let mut figures = questions::order(&job.aim);
    figures.retain(|figure| *figure != FigureKind::Area);
    let by_figure: Vec<(Vec<Vec<i128>>, i128)> = figures
        .into_iter()
        .take(2)
        .map(|figure| {
            let costs = questions::costs(job, model, figure);
            (shares(model, &costs), costs.pass)
        })
        .collect();
    let mut all = PlyCosts { plies: model.fabrics.iter().map(|f| vec![0; f.plies.len()]).collect(), pass: 0 };
    for ((plies, pass), most) in by_figure.into_iter().zip([FINE, COARSE]) {
        let largest = plies.iter().flatten().copied().chain([pass]).max().unwrap_or(1).max(1);
        let small = |cost: i128| i64::try_from(cost * most / largest).unwrap_or(0);
        for (sum, cost) in all.plies.iter_mut().flatten().zip(plies.into_iter().flatten()) {
            *sum += small(cost);
        }
        all.pass += small(pass);
    }
    // Whatever costs nothing is still not cut for nothing.
    all.plies.iter_mut().flatten().for_each(|cost| *cost += 1);
    all
}

fn shares(model: &Model, costs: &Costs) -> Vec<Vec<i128>> {
    let of_fabric = |(f, fabric): (usize, &crate::model::Fabric)| {
        let share = |ply: &crate::model::Ply| {
            let ways = &fabric.classes[ply.class].ways;
            let strip = |&(width, run): &(i64, i64)| {
                let strip = costs.width[f] * i128::from(width) + costs.strip;
                strip * i128::from(run) / i128::from(fabric.capacity.max(1))
            };
            costs.ply[f] + ways.iter().map(strip).min().unwrap_or(0)
        };
        fabric.plies.iter().map(share).collect()
    };
    model.fabrics.iter().enumerate().map(of_fabric).collect()
}

struct Terms<'a> {
    job: &'a Job,
    model: &'a Model,
    costs: PlyCosts,
}

impl Terms<'_> {
    /// The copies wanted, divided into batches at least cost: how each is cut, and how many there are of it.
    fn divided(&self, wanted: &Wanted) -> Option<Vec<(Cut, u64)>> {
        let ways = [self.cut(wanted, 1, true), self.cut(wanted, 1, false)];
        let single = ways.into_iter().flatten().min_by_key(|cut| cut.cost)?;
        let mut cuts = vec![single];
        let most = if wanted.together { wanted.copies.min(MOST_COPIES) } else { 1 };
        for copies in 2..=most {
            match self.cut(wanted, copies, true) {
                Some(cut) => cuts.push(cut),
                None => break,
            }
        }
        let size = usize::try_from(wanted.copies).ok()?;
        let mut best: Vec<(i64, usize)> = vec![(0, 0); size + 1];
        for n in 1..=size {
            best[n] = cuts
                .iter()
                .enumerate()
                .filter_map(|(index, cut)| {
                    let before = n.checked_sub(usize::try_from(cut.copies).ok()?)?;
                    Some((best[before].0.saturating_add(cut.cost), index))
                })
                .min_by_key(|&(cost, index)| (cost, std::cmp::Reverse(index)))?;
        }
        let mut times = vec![0_u64; cuts.len()];
        let mut n = size;
        while n > 0 {
            let index = best[n].1;
            times[index] += 1;
            n -= usize::try_from(cuts[index].copies).ok()?;
        }
        let used = cuts.into_iter().zip(times).filter(|(_, times)| *times > 0);
        let mut used: Vec<(Cut, u64)> = used.collect();
        used.reverse();
        Some(used)
    }

    /// How a batch of so many copies is cut; `once`: in at most one pass of every board.
    fn cut(&self, wanted: &Wanted, copies: u64, once: bool) -> Option<Cut> {
        let mut program = IntegerModel::default();
        let mut columns: Vec<(usize, usize)> = Vec::new();
        let boards = &self.model.boards;
        let mut loads: Vec<Vec<Vec<(usize, i64)>>> =
            boards.iter().map(|board| vec![Vec::new(); board.points.len()]).collect();
        let mut in_bay: BTreeMap<(usize, usize), Vec<usize>> = BTreeMap::new();
        for (f, fabric) in self.model.fabrics.iter().enumerate() {
            let of_item = |item: usize| fabric.items[item].line.map_or(0, |line| wanted.lines[line] * copies);
            let mut rows: Vec<Vec<(usize, i64)>> = vec![Vec::new(); fabric.items.len()];
            for (ply, data) in fabric.plies.iter().enumerate() {
                let Some(b) = data.board else { continue };
                let full = |&(item, n): &(usize, u32)| of_item(item).div_ceil(u64::from(n));
                let most = data.yields.iter().map(full).max().unwrap_or(0);
                if most == 0 {
                    continue;
                }
                let most = i64::try_from(most).ok()?;
                let v = program.variable(self.costs.plies[f][ply], 0, most);
                columns.push((f, ply));
                data.yields.iter().for_each(|&(item, n)| rows[item].push((v, i64::from(n))));
                boards[b].bay_points[data.bay].iter().for_each(|&p| loads[b][p].push((v, data.load)));
                in_bay.entry((b, data.bay)).or_default().push(v);
            }
            for (item, row) in rows.into_iter().enumerate().filter(|(item, _)| of_item(*item) > 0) {
                program.row(row, Relation::AtLeast, i64::try_from(of_item(item)).ok()?);
            }
        }
        let mut passes = Vec::new();
        for (board, loads) in boards.iter().zip(loads) {
            let v = program.variable(self.costs.pass, 0, if once { 1 } else { 1_000_000 });
            for mut row in loads.into_iter().filter(|row| !row.is_empty()) {
                row.push((v, -board.full));
                program.row(row, Relation::AtMost, 0);
            }
            passes.push(v);
        }
        if once {
            self.one_pass(&mut program, &in_bay, &columns);
        } else {
            self.one_a_pass(&mut program, &in_bay, &columns, &passes);
        }
        let plain = (!once).then(|| self.plain(wanted, &columns, &passes, program.costs.len()));
        let plain = plain.filter(|values| program.passes(values));
        let values = match (program.solve(NODES, None, plain.as_deref()), plain) {
            (Found::Point { values, .. }, _) => values,
            (_, Some(plain)) => plain,
            _ => return None,
        };
        let cost = program.cost(&values);
        let mut plies: Vec<Vec<i64>> = self.model.fabrics.iter().map(|f| vec![0; f.plies.len()]).collect();
        columns.iter().zip(&values).for_each(|(&(f, ply), &n)| plies[f][ply] = n);
        let each: Vec<i64> = passes.iter().map(|&v| values[v]).collect();
        let layups = self.layups(&plies, &each, once)?;
        let more = layups.iter().map(|layup| layup.1).sum::<i64>();
        let more = more - each.iter().sum::<i64>();
        (!once || more <= 0).then(|| Cut { copies, cost: cost + more * self.costs.pass, plies, layups })
    }

    /// A plain way to cut one copy, as a point of the program: every line from the ply that yields most of it.
    fn plain(&self, wanted: &Wanted, columns: &[(usize, usize)], passes: &[usize], size: usize) -> Vec<i64> {
        let mut values = vec![0; size];
        let mut got = vec![0_u64; wanted.lines.len()];
        for (line, &wanted) in wanted.lines.iter().enumerate() {
            let of_line = |&(f, ply): &(usize, usize)| {
                let fabric = &self.model.fabrics[f];
                let yields = fabric.plies[ply].yields.iter();
                yields.filter(|(item, _)| fabric.items[*item].line == Some(line)).map(|y| y.1).sum::<u32>()
            };
            let best = (0..columns.len()).max_by_key(|&v| (of_line(&columns[v]), std::cmp::Reverse(v)));
            let Some(v) = best.filter(|&v| of_line(&columns[v]) > 0) else { continue };
            let (f, ply) = columns[v];
            while got[line] < wanted {
                values[v] += 1;
                let fabric = &self.model.fabrics[f];
                for &(item, n) in &fabric.plies[ply].yields {
                    if let Some(line) = fabric.items[item].line {
                        got[line] += u64::from(n);
                    }
                }
            }
        }
        let mut plies: Vec<Vec<i64>> = self.model.fabrics.iter().map(|f| vec![0; f.plies.len()]).collect();
        columns.iter().zip(&values).for_each(|(&(f, ply), &n)| plies[f][ply] = n);
        let mut solution = Solution { plies, ..Solution::empty(self.model) };
        solution.set_passes(self.model);
        passes.iter().zip(solution.passes).for_each(|(&v, n)| values[v] = n);
        values
    }

    /// What loads alone do not say of a single pass: bays kept apart, and plies that must be alone of their fabric.
    fn one_pass(
        &self,
        program: &mut IntegerModel,
        in_bay: &BTreeMap<(usize, usize), Vec<usize>>,
        columns: &[(usize, usize)],
    ) {
        for (b, board) in self.model.boards.iter().enumerate() {
            for &(low, high) in &board.apart {
                let flag = program.variable(0, 0, 1);
                let most = board.full;
                for &v in in_bay.get(&(b, low)).into_iter().flatten() {
                    program.row([(v, 1), (flag, -most)], Relation::AtMost, 0);
                }
                for &v in in_bay.get(&(b, high)).into_iter().flatten() {
                    program.row([(v, 1), (flag, most)], Relation::AtMost, most);
                }
            }
        }
        if self.job.strategy.plies != PlyRule::Folded {
            return;
        }
        for here in in_bay.values() {
            for f in 0..self.model.fabrics.len() {
                // A fabric's plies in a bay are one single ply, or all folded lengths.
                let of_fabric = here.iter().copied().filter(|v| columns[*v].0 == f);
                let (singles, folded): (Vec<usize>, Vec<usize>) =
                    of_fabric.partition(|&v| self.is_single(columns[v]));
                if singles.is_empty() {
                    continue;
                }
                let flag = program.variable(0, 0, 1);
                let row = singles.iter().map(|&v| (v, 1)).chain([(flag, -1)]);
                program.row(row, Relation::AtMost, 0);
                let most = i64::from(self.job.fabrics[f].ply_limit);
                folded.iter().for_each(|&v| program.row([(v, 1), (flag, most)], Relation::AtMost, most));
            }
        }
    }

    /// Whether a ply is a single one, not a whole folded length.
    fn is_single(&self, (f, ply): (usize, usize)) -> bool {
        let fabric = &self.model.fabrics[f];
        fabric.plies_of(fabric.plies[ply].class) == 1
    }

    /// Under `folded` a bay takes at most one single ply of a fabric in each pass.
    fn one_a_pass(
        &self,
        program: &mut IntegerModel,
        in_bay: &BTreeMap<(usize, usize), Vec<usize>>,
        columns: &[(usize, usize)],
        passes: &[usize],
    ) {
        if self.job.strategy.plies != PlyRule::Folded {
            return;
        }
        for (&(b, _), here) in in_bay {
            for f in 0..self.model.fabrics.len() {
                let singles = here.iter().filter(|&&v| columns[v].0 == f && self.is_single(columns[v]));
                let row: Vec<(usize, i64)> = singles.map(|&v| (v, 1)).collect();
                if !row.is_empty() {
                    program.row(row.into_iter().chain([(passes[b], -1)]), Relation::AtMost, 0);
                }
            }
        }
    }

    /// The lay-ups of a batch's plies: as they lie where one pass takes them, else packed.
    fn layups(&self, plies: &[Vec<i64>], passes: &[i64], once: bool) -> Option<Vec<(usize, i64, Vec<Laid>)>> {
        let solution = Solution { plies: plies.to_vec(), ..Solution::empty(self.model) };
        let mut layups = Vec::new();
        let groups = groups::of_solution(self.job, self.model, &solution, 0);
        let lay = Lay {
            job: self.job,
            model: self.model,
            solution: &solution,
            proof: Some(&solution),
            groups: &groups,
            layup: worth(self.job),
            thorough: true,
            programs: crate::fewer::Programs::FEW,
        };
        for (b, &passes) in passes.iter().enumerate().filter(|(_, passes)| **passes > 0) {
            if once {
                layups.push((b, 1, self.as_they_lie(plies, b)));
                continue;
            }
            let mut items: Vec<Item> = Vec::new();
            for (index, group) in groups.iter().enumerate().filter(|(_, group)| group.board == b) {
                let (up, down) = if group.by_face { (group.up, group.down) } else { (group.plies(), 0) };
                for (down, count) in [(false, up), (true, down)] {
                    if count > 0 {
                        items.push(Item { group: index, way: 0, plies: 1, down, count });
                    }
                }
            }
            let question = lay.question(b, &items);
            let most = items.iter().map(|item| item.count).sum::<i64>();
            let packing = (passes..=most.max(passes)).find_map(|passes| question.pack(passes, 4))?;
            for loading in &packing.loadings {
                let laid = loading.loads.iter().map(|&(item, bay, n)| {
                    let group = &groups[packing.items[item].group];
                    (group.fabric, group.class, bay, packing.items[item].down, n)
                });
                layups.push((b, loading.times, laid.collect()));
            }
        }
        Some(layups)
    }

    fn as_they_lie(&self, plies: &[Vec<i64>], board: usize) -> Vec<Laid> {
        let mut laid = Vec::new();
        for (f, fabric) in self.model.fabrics.iter().enumerate() {
            for (ply, &n) in plies[f].iter().enumerate().filter(|(_, n)| **n > 0) {
                let data = &fabric.plies[ply];
                if data.board == Some(board) {
                    laid.push((f, data.class, data.bay, data.face == Face::Down, n));
                }
            }
        }
        laid
    }
}
