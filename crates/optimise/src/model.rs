//! The model that every method works on: fabrics with demand items, cut classes and plies; boards with points.
//!
//! All lengths are whole numbers of a *grid* step (the greatest common divisor of everything cut), all loads whole
//! numbers out of a board's `full` load, so that whatever is decided here is decided in integers. The model knows no
//! names and no money; costs come with each question (see [`crate::costs`]).

use std::collections::BTreeMap;

use patchlay_measure::Length;
use patchlay_scenario::job::{Hand, Job, TravelRule, Way};
use patchlay_scenario::{LoadingRule, PlyRule};

/// Which face of a ply is up.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Face {
    /// Right side up.
    Up,
    /// Right side down.
    Down,
}

/// The whole model.
#[derive(Clone, Debug, Hash)]
pub struct Model {
    /// Units of [`Length`] in one grid step.
    pub grid: i64,
    /// One entry per fabric of the job (fabrics without demand have no items).
    pub fabrics: Vec<Fabric>,
    /// One entry per board of the job.
    pub boards: Vec<Board>,
}

/// A fabric: what is wanted of it and how it can be cut.
#[derive(Clone, Debug, Default, Hash)]
pub struct Fabric {
    /// Longest sum of runs along a strip, grid steps.
    pub capacity: i64,
    /// Demand items.
    pub items: Vec<Item>,
    /// Cut classes: plies that any strip supplies alike.
    pub classes: Vec<Class>,
    /// Everything a ply of this fabric can be.
    pub plies: Vec<Ply>,
    /// Strip widths worth cutting, ascending, grid steps.
    pub widths: Vec<i64>,
    /// Widest strip that any ply may lie in, ways that others dominate included.
    pub widest: i64,
    /// What a ply of each class stands for where it is a whole folded length; empty where every ply is a single one.
    pub folded: Vec<Folded>,
}

/// A whole folded length as one ply of the model: plies, and the run of each by the ways of the class, grid steps.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Folded {
    /// Plies of the length.
    pub plies: u32,
    /// Run between folds, by the ways of the class.
    pub runs: Vec<i64>,
}

/// Patches wanted of one shape and hand.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Item {
    /// The demand line of the job, if it stands for one.
    pub line: Option<usize>,
    /// Patches wanted.
    pub wanted: u64,
}

/// A cut class: the ways round in which one ply's rectangle may be cut.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Class {
    /// (strip width, run), by ascending width; a wider way has the shorter run (dominated ways are dropped).
    pub ways: Vec<(i64, i64)>,
}

impl Class {
    /// Shortest run in a strip of that width, if it fits at all.
    #[must_use]
    pub fn run_in(&self, strip_width: i64) -> Option<i64> {
        self.ways.iter().rev().find(|(width, _)| *width <= strip_width).map(|(_, run)| *run)
    }
}

/// Something a ply can be: face up or down in a bay of a board.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Ply {
    /// Board, or `None` for plies whose passes are already laid down elsewhere.
    pub board: Option<usize>,
    /// Bay of that board.
    pub bay: usize,
    /// Face.
    pub face: Face,
    /// Cut class, index into [`Fabric::classes`].
    pub class: usize,
    /// (item, patches) it yields.
    pub yields: Vec<(usize, u32)>,
    /// Load on every point its bay touches, out of the board's `full`.
    pub load: i64,
}

/// A board: points at which loads add up.
#[derive(Clone, Debug, Default, Hash)]
pub struct Board {
    /// Load that one pass takes at a point.
    pub full: i64,
    /// Points: the bays that load each. The job's points come first, in their order.
    pub points: Vec<Vec<usize>>,
    /// How many of the points are the job's own; those after it stand for pairs kept apart.
    pub own_points: usize,
    /// For every bay, the points it loads.
    pub bay_points: Vec<Vec<usize>>,
    /// Pairs of bays not loaded in one pass.
    pub apart: Vec<(usize, usize)>,
    /// The job's board that it stands for: under `fabric by fabric` there is a copy of each for every fabric.
    pub origin: usize,
}

impl Board {
    /// A board from its points and the pairs kept apart. A pair kept apart becomes a point of its own: in each pass
    /// only one of the two is loaded, so their loads add up to at most one full load a pass.
    #[must_use]
    pub fn new(full: i64, bays: usize, points: Vec<Vec<usize>>, apart: Vec<(usize, usize)>) -> Self {
        let own_points = points.len();
        let mut points = points;
        for &(low, high) in &apart {
            if !points.iter().any(|point| point.contains(&low) && point.contains(&high)) {
                points.push(vec![low, high]);
            }
        }
        let bay_points =
            (0..bays).map(|bay| (0..points.len()).filter(|&p| points[p].contains(&bay)).collect()).collect();
        Self { full, points, own_points, bay_points, apart, origin: 0 }
    }
}

impl Model {
    /// The model of a job under its strategy. Whole folded lengths stand for plies under `folded`; boards have a copy
    /// for every fabric under `fabric by fabric`.
    #[must_use]
    pub fn of_job(job: &Job) -> Self {
        let copies = match job.strategy.loading {
            LoadingRule::FabricByFabric => job.fabrics.len(),
            LoadingRule::Mixed | LoadingRule::BlockByBlock => 1,
        };
        Self::of(job, copies, job.strategy.plies == PlyRule::Folded)
    }

    /// The model without the rules of loading and of plies: whatever it proves holds under every strategy with the same
    /// ply limit. Certificates are about this model.
    #[must_use]
    pub fn relaxed(job: &Job) -> Self {
        Self::of(job, 1, false)
    }

    fn of(job: &Job, copies: usize, folded: bool) -> Self {
        let boards: Vec<Board> = job
            .boards
            .iter()
            .enumerate()
            .flat_map(|(origin, board)| {
                let full = job
                    .fabrics
                    .iter()
                    .map(|fabric| i64::from(fabric.ply_limit.min(board.ply_limit)))
                    .fold(1, num_lcm);
                let new = Board::new(
                    full,
                    board.bays.len(),
                    board.points.iter().map(|point| point.bays.clone()).collect(),
                    board.apart.iter().map(|(low, high, _)| (*low, *high)).collect(),
                );
                std::iter::repeat_n(Board { origin, ..new }, copies)
            })
            .collect();
        let terms = Terms { job, grid: grid_of(job, folded), boards: &boards, copies, folded };
        let fabrics = (0..job.fabrics.len()).map(|f| terms.fabric(f)).collect();
        Self { grid: terms.grid, fabrics, boards }
    }

    /// The model with nothing wanted of any fabric but one.
    #[must_use]
    pub fn only(&self, f: usize) -> Self {
        let mut alone = self.clone();
        for other in alone.fabrics.iter_mut().enumerate().filter(|(at, _)| *at != f).map(|(_, other)| other) {
            other.plies.clear();
            other.items.clear();
        }
        alone
    }

    /// A grid length as a [`Length`].
    #[must_use]
    pub fn length(&self, steps: i64) -> Length {
        Length::from_units(steps * self.grid)
    }
}

/// Greatest common divisor.
#[must_use]
pub fn num_gcd(a: i64, b: i64) -> i64 {
    if b == 0 { a.abs() } else { num_gcd(b, a % b) }
}

/// Least common multiple.
#[must_use]
pub fn num_lcm(a: i64, b: i64) -> i64 {
    if a == 0 || b == 0 { a.max(b) } else { a / num_gcd(a, b) * b }
}

/// All sizes cut are multiples of the ruler step, but where the step is a single unit a coarser grid may do. The length
/// of a folded length is any multiple of the step.
fn grid_of(job: &Job, folded: bool) -> i64 {
    let bays = job.boards.iter().flat_map(|board| &board.bays);
    let sizes = bays.flat_map(|bay| [bay.across.units(), bay.along.units()]);
    let first = if folded { job.ruler_step.units() } else { 0 };
    sizes.fold(first, num_gcd).max(1)
}

/// Ways round of a length of cloth: width, run, length.
type LongWays = Vec<(i64, i64, i64)>;

/// What plies there are is read from.
struct Terms<'a> {
    job: &'a Job,
    grid: i64,
    boards: &'a [Board],
    /// Copies of every board, one for each fabric, or 1.
    copies: usize,
    /// Whole folded lengths stand for plies.
    folded: bool,
}

impl Terms<'_> {
    fn fabric(&self, f: usize) -> Fabric {
        let (job, grid) = (self.job, self.grid);
        let spec = &job.fabrics[f];
        let mut fabric =
            Fabric { capacity: spec.strip_capacity().units().div_euclid(grid), ..Fabric::default() };
        let lines: Vec<usize> = (0..job.demands.len()).filter(|&d| job.demands[d].fabric == f).collect();
        fabric.items =
            lines.iter().map(|&d| Item { line: Some(d), wanted: job.demands[d].total() }).collect();
        for (b, board) in job.boards.iter().enumerate() {
            let limit = spec.ply_limit.min(board.ply_limit);
            let copy = if self.copies > 1 { b * self.copies + f } else { b };
            for (y, bay) in board.bays.iter().enumerate() {
                let Some(ways) = ways_of(bay, spec.travel_rule, grid, fabric.capacity) else { continue };
                let faces = [Face::Up, Face::Down].map(|face| yields_of(job, &lines, bay, face));
                if faces[0].is_empty() && (faces[1].is_empty() || !spec.folding) {
                    continue;
                }
                fabric.widest = fabric.widest.max(widest_of(bay, spec.travel_rule, grid, fabric.capacity));
                for (plies, ways) in self.lengths(f, limit, &ways, fabric.capacity) {
                    for face in [Face::Up, Face::Down] {
                        if face == Face::Down && !spec.folding {
                            continue;
                        }
                        let yields = of_length(&faces, plies, face);
                        let twin = face == Face::Down
                            && fabric.plies.last().is_some_and(|last| {
                                let same = (last.board, last.bay) == (Some(copy), y);
                                same && last.yields == yields && fabric.plies_of(last.class) == plies
                            });
                        if yields.is_empty() || twin {
                            continue;
                        }
                        let lengths: Vec<(i64, i64)> = ways.iter().map(|way| (way.0, way.2)).collect();
                        let class = match self.folded {
                            false => fabric.class_of(lengths),
                            true => {
                                let runs = ways.iter().map(|way| way.1).collect();
                                fabric.folded_class_of(lengths, Folded { plies, runs })
                            }
                        };
                        fabric.plies.push(Ply {
                            board: Some(copy),
                            bay: y,
                            face,
                            class,
                            yields,
                            load: self.boards[copy].full / i64::from(limit) * i64::from(plies),
                        });
                    }
                }
            }
        }
        fabric.set_widths();
        fabric
    }

    /// Numbers of plies that one length of a bay's cloth may have, each with its ways (width, run, length): just one
    /// where plies are counted singly. Under `folded` twos and threes make any number but one, and longer lengths save
    /// folds; a single ply is left only where nothing can be folded.
    fn lengths(&self, f: usize, limit: u32, ways: &[(i64, i64)], capacity: i64) -> Vec<(u32, LongWays)> {
        let job = self.job;
        let single = || vec![(1, ways.iter().map(|&(width, run)| (width, run, run)).collect())];
        if !self.folded || !job.fabrics[f].folding {
            return single();
        }
        let long = |run: i64, plies: u32| {
            let folds = job.fold_allowance * i64::from(plies - 1);
            let all = Length::from_units(run * self.grid * i64::from(plies)) + folds;
            all.ceil_to(job.ruler_step).units() / self.grid
        };
        let folded = [2, 3].into_iter().filter(|&plies| plies <= limit).filter_map(|plies| {
            let all = ways.iter().map(|&(width, run)| (width, run, long(run, plies)));
            let fitting: Vec<(i64, i64, i64)> = all.filter(|way| way.2 <= capacity).collect();
            (!fitting.is_empty()).then_some((plies, fitting))
        });
        let folded: Vec<_> = folded.collect();
        // Between batches a single ply can be told from several; where passes are counted only by their loads it cannot.
        match job.strategy.loading {
            LoadingRule::BlockByBlock => single().into_iter().chain(folded).collect(),
            _ if folded.is_empty() => single(),
            _ => folded,
        }
    }
}

/// What a length of so many plies yields, the first of them with that face up.
fn of_length(faces: &[Vec<(usize, u32)>; 2], plies: u32, first: Face) -> Vec<(usize, u32)> {
    let (more, fewer) = (plies.div_ceil(2), plies / 2);
    let times = if first == Face::Up { [more, fewer] } else { [fewer, more] };
    let mut yields: BTreeMap<usize, u32> = BTreeMap::new();
    for (face, times) in faces.iter().zip(times).filter(|(_, times)| *times > 0) {
        face.iter().for_each(|&(item, n)| *yields.entry(item).or_default() += n * times);
    }
    yields.into_iter().collect()
}

/// (width, run) by ascending width, without ways that another dominates or that no strip holds.
fn ways_of(
    bay: &patchlay_scenario::job::Bay,
    rule: TravelRule,
    grid: i64,
    capacity: i64,
) -> Option<Vec<(i64, i64)>> {
    let ways = bay.ways(rule).into_iter().map(|way: Way| {
        let (run, width) = bay.cut(way);
        (width.units() / grid, run.units() / grid)
    });
    Class::undominated(ways.filter(|&(_, run)| run <= capacity).collect())
}

/// Widest way round that a strip of the fabric holds.
fn widest_of(bay: &patchlay_scenario::job::Bay, rule: TravelRule, grid: i64, capacity: i64) -> i64 {
    let ways = bay.ways(rule).into_iter().map(|way| bay.cut(way));
    let fitting = ways.filter(|(run, _)| run.units() / grid <= capacity);
    fitting.map(|(_, width)| width.units() / grid).max().unwrap_or(0)
}

impl Class {
    /// Sorts ways by width and drops those that a narrower one with no longer run makes useless.
    #[must_use]
    pub fn undominated(mut ways: Vec<(i64, i64)>) -> Option<Vec<(i64, i64)>> {
        ways.sort_unstable();
        let mut kept: Vec<(i64, i64)> = Vec::new();
        for (width, run) in ways {
            if kept.last().is_none_or(|&(_, shortest)| run < shortest) {
                kept.push((width, run));
            }
        }
        if kept.is_empty() { None } else { Some(kept) }
    }
}

impl Fabric {
    /// Patches by which an item is counted: what every ply yields of it is a multiple of this.
    #[must_use]
    pub fn step_of(&self, item: usize) -> u64 {
        let yields = self.plies.iter().flat_map(|ply| &ply.yields).filter(|(i, _)| *i == item);
        yields.fold(0, |all, (_, n)| num_gcd(all, i64::from(*n))).unsigned_abs().max(1)
    }

    /// Patches of an item that whole plies give at least.
    #[must_use]
    pub fn least_of(&self, item: usize) -> u64 {
        self.items[item].wanted.next_multiple_of(self.step_of(item))
    }

    /// Index of the class with these ways, new if need be.
    pub fn class_of(&mut self, ways: Vec<(i64, i64)>) -> usize {
        let class = Class { ways };
        if let Some(found) = self.classes.iter().position(|known| *known == class) {
            return found;
        }
        self.classes.push(class);
        self.classes.len() - 1
    }

    /// The same for whole folded lengths: classes of different plies stay apart, even where they are as long.
    fn folded_class_of(&mut self, ways: Vec<(i64, i64)>, folded: Folded) -> usize {
        let class = Class { ways };
        let known = |(known, as_folded): (&Class, &Folded)| *known == class && *as_folded == folded;
        if let Some(found) = self.classes.iter().zip(&self.folded).position(known) {
            return found;
        }
        self.classes.push(class);
        self.folded.push(folded);
        self.classes.len() - 1
    }

    /// Plies of cloth that one ply of that class stands for.
    #[must_use]
    pub fn plies_of(&self, class: usize) -> u32 {
        self.folded.get(class).map_or(1, |folded| folded.plies)
    }

    /// Run of one ply of cloth of that class in a strip of that width, grid steps.
    #[must_use]
    pub fn run_of(&self, class: usize, width: i64) -> i64 {
        let ways = &self.classes[class].ways;
        let way = ways.iter().rposition(|(narrow, _)| *narrow <= width).unwrap_or(0);
        let run = ways.get(way).map_or(0, |way| way.1);
        self.folded.get(class).and_then(|folded| folded.runs.get(way)).copied().unwrap_or(run)
    }

    /// Of which step all strip widths are multiples.
    #[must_use]
    pub fn width_step(&self) -> i64 {
        self.widths.iter().fold(0, |all, &width| num_gcd(all, width)).max(1)
    }

    /// Collects the strip widths worth cutting: the widths of all ways of all classes.
    pub fn set_widths(&mut self) {
        let mut widths: Vec<i64> =
            self.classes.iter().flat_map(|class| class.ways.iter().map(|(width, _)| *width)).collect();
        widths.sort_unstable();
        widths.dedup();
        self.widths = widths;
    }
}

/// What one ply yields, by item of the fabric; items without a patch are left out.
fn yields_of(job: &Job, lines: &[usize], bay: &patchlay_scenario::job::Bay, face: Face) -> Vec<(usize, u32)> {
    let mut yields = Vec::new();
    for (item, &line) in lines.iter().enumerate() {
        let demand = &job.demands[line];
        let count: u32 = bay
            .yields
            .iter()
            .filter(|(shape, _, _)| *shape == demand.shape)
            .map(|&(_, drawn, mirrored)| match (demand.hand, face) {
                (Hand::Any, _) => drawn + mirrored,
                (Hand::Drawn, Face::Up) | (Hand::Mirrored, Face::Down) => drawn,
                (Hand::Mirrored, Face::Up) | (Hand::Drawn, Face::Down) => mirrored,
            })
            .sum();
        if count > 0 {
            yields.push((item, count));
        }
    }
    yields
}
