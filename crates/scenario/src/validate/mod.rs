//! Turns a scenario into a job, collecting a problem for everything that cannot be right. Each part judges what it
//! can read; the job is put together only if nothing at all is wrong.

mod aim;
mod boards;
mod cautions;
mod cutter;
mod demand;
mod fabrics;
mod group;
mod impossible;
mod judge;
mod letters;
mod positions;
mod quilts;
mod shapes;

use patchlay_measure::UnitSystem;
use patchlay_shape::Shape;

use crate::job::{Job, NamedShape};
use crate::path::Path;
use crate::problem::Code;
use crate::report::Report;
use crate::spec::{self, Units};
use crate::strategy::Strategy;
use judge::Judge;
pub use judge::unseen;

/// A job and, for each of its demand lines, the place in the file that first asks for it.
pub(crate) struct Judged {
    job: Job,
    asked_for: Vec<Path>,
}

impl Judged {
    /// The job, unless some of its demand cannot be met.
    pub(crate) fn meetable(self, report: &mut Report<'_>) -> Job {
        impossible::impossible(report, &self.job, &self.asked_for);
        self.job
    }
}

/// Judges a scenario; `None` if anything was wrong, now or while it was read.
pub(crate) fn judge(report: &mut Report<'_>, scenario: &spec::Scenario) -> Option<Judged> {
    let units = match scenario.units {
        Units::Inch => UnitSystem::Inch,
        Units::Metric => UnitSystem::Metric,
    };
    // Without its units no length of the file can be read.
    if !report.readable(&Path::of("units")) {
        report.cannot_read(&Path::root());
    }
    let mut judge = Judge::new(report, units);
    let name = judge.name(&Path::of("name"), &scenario.name);

    let rules = cutter::rules(&mut judge, &scenario.rules);
    let cutter = cutter::cutter(&mut judge, &scenario.cutter);
    let fabric_names = judge.names(
        &Path::of("fabrics"),
        "fabric",
        scenario.fabrics.iter().map(|fabric| fabric.name.as_str()),
    );
    let shape_names =
        judge.names(&Path::of("shapes"), "shape", scenario.shapes.iter().map(|shape| shape.name.as_str()));
    let block_names =
        judge.names(&Path::of("blocks"), "block", scenario.blocks.iter().map(|block| block.name.as_str()));
    let fabrics = fabrics::fabrics(&mut judge, scenario);
    let shapes = shapes::shapes(&mut judge, scenario, rules.map(|rules| rules.seam));
    let against =
        boards::Against { cutter: cutter.as_ref(), rules, shapes: &shapes, shape_names: &shape_names };
    let boards = boards::boards(&mut judge, "boards", &scenario.boards, &against);
    let could_have = boards::boards(&mut judge, "could_have", &scenario.could_have, &against);
    boards::told_apart(&mut judge, &scenario.boards, &scenario.could_have);
    let blocks = quilts::blocks(&mut judge, &scenario.blocks, &shape_names, &shapes);
    let (quilt_names, quilts) = quilts::quilts(&mut judge, scenario, &block_names, &fabric_names);
    let board_names = judge.quiet_names("board", scenario.boards.iter().map(|board| board.name.as_str()));
    let against = group::Against { boards: &boards, board_names: &board_names, fabric_names: &fabric_names };
    let group = group::group(&mut judge, scenario, &against);
    let loose = demand::loose(&mut judge, &scenario.loose_patches, &shape_names, &fabric_names);
    let aim = aim::aim(&mut judge, scenario);
    let proof = aim::proof_place(&mut judge, scenario, &quilt_names);
    something_to_cut(&mut judge, scenario);

    let fabrics: Option<Vec<_>> = fabrics.into_iter().collect();
    let shapes: Option<Vec<Shape>> = shapes.into_iter().collect();
    let blocks: Option<Vec<_>> = blocks.into_iter().collect();
    let quilts: Option<Vec<_>> = quilts.into_iter().collect();
    let loose: Option<Vec<_>> = loose.into_iter().collect();
    let wanted = match (&fabrics, &shapes, &blocks, &quilts, &loose) {
        (Some(fabrics), Some(shapes), Some(blocks), Some(quilts), Some(loose)) => {
            let shapes: Vec<&Shape> = shapes.iter().collect();
            demand::wanted(fabrics, &shapes, blocks, quilts, loose)
        }
        _ => demand::Wanted::default(),
    };
    // Judged even where nothing could be added up, so that a wrong number of spares is named too.
    let demands = demand::demands(&mut judge, wanted, &scenario.spare_patches);
    if !judge.report.is_clean() || !name {
        return None;
    }
    let (fabrics, (demands, asked_for)) = (fabrics?, demands?);
    let named = |(shape, spec): (Shape, &spec::Shape)| NamedShape { name: spec.name.clone(), shape };
    let rules = rules?;
    let mut job = Job {
        name: scenario.name.clone(),
        units,
        currency: scenario.currency.clone().unwrap_or_default(),
        priced: fabrics.iter().all(|fabric| fabric.price.is_some()),
        cutter: cutter?,
        seam: rules.seam,
        ruler_step: rules.ruler_step,
        fold_allowance: rules.fold_allowance,
        margin: rules.margin,
        least_margin: rules.least_margin,
        fabrics,
        shapes: shapes?.into_iter().zip(&scenario.shapes).map(named).collect(),
        boards: boards.into_iter().collect::<Option<_>>()?,
        could_have: could_have.into_iter().collect::<Option<_>>()?,
        blocks: blocks?,
        quilts: quilts?,
        demands,
        aim: aim?,
        proof_block: None,
        group,
        strategy: Strategy::default(),
        assumptions: Vec::new(),
        cautions: Vec::new(),
    };
    if let Some(place) = proof? {
        job.proof_block = aim::proof_block(place, &job.quilts, &job.blocks, &job.demands, &job);
    }
    group::fill(&mut job, scenario);
    group::lower_limits(&mut job);
    job.assumptions = judge.assumptions(job.fabrics.len());
    job.cautions = judge.cautions;
    cautions::add(&mut job);
    Some(Judged { job, asked_for })
}

fn something_to_cut(judge: &mut Judge<'_, '_>, scenario: &spec::Scenario) {
    let readable = ["quilts", "loose_patches"].iter().all(|list| judge.report.readable(&Path::of(list)));
    if readable && scenario.quilts.is_empty() && scenario.loose_patches.is_empty() {
        let hint = "add `quilts`, with blocks and a fabric for every role, or `loose_patches`";
        judge.report.add(Code::NothingToCut, &Path::root(), "no patches are wanted", hint);
    }
}
