//! Reads the tree into [`spec::Scenario`](crate::spec::Scenario), collecting a problem for everything that is
//! missing, unknown or of the wrong kind. What cannot be read gets a stand-in and is noted in the report, so that
//! validation can judge the rest.

mod boards;
mod choice;
mod cutter;
mod fabrics;
pub(crate) mod fields;
mod group;
mod quilts;
mod shapes;

use crate::path::Path;
use crate::problem::Code;
use crate::report::Report;
use crate::spec::{LengthText, SCENARIO_VERSION, Scenario, Spares, Units};
use crate::tree::{Kind, Node};
use fields::{Fields, Need};

/// Most entries of each list.
pub(crate) mod most {
    pub(crate) const FABRICS: usize = 500;
    pub(crate) const KEPT_BACK: usize = 100;
    pub(crate) const SHAPES: usize = 1_000;
    pub(crate) const CORNERS: usize = 64;
    pub(crate) const BOARDS: usize = 200;
    pub(crate) const POSITIONS: usize = 400;
    pub(crate) const MATS: usize = 50;
    pub(crate) const BLOCKS: usize = 2_000;
    pub(crate) const PATCH_LINES: usize = 1_000;
    pub(crate) const QUILTS: usize = 2_000;
    pub(crate) const QUILT_BLOCKS: usize = 2_000;
    pub(crate) const LOOSE: usize = 10_000;
    pub(crate) const CUTTERS: usize = 50;
    pub(crate) const HELPERS: usize = 200;
    pub(crate) const KINDS_OF_WORK: usize = 20;
}

const SPARES: &str = "write {\"number\": 0} for none, {\"number\": 2} for two of each shape and fabric, or \
     {\"percent\": 5}. Many cut none where the cloth is at hand and a few where it cannot be had again, because a \
     patch spoilt in sewing stops the work; what they cost in cloth depends on the job";
const UNITS: &str =
    "write \"inch\" or \"metric\": it decides what a bare number means and how results are printed";

/// Reads the whole file.
pub(crate) fn scenario(report: &mut Report<'_>, node: &Node) -> Scenario {
    let mut f = Fields::open(report, node, &Path::root(), "a scenario");
    let scenario = Scenario {
        patchlay_scenario: version(&mut f),
        name: f
            .text("name", Need::Needed("give the job a name; it stands on every sheet"))
            .unwrap_or_default(),
        about: f.text("about", Need::Optional),
        units: f.choice("units", Need::Needed(UNITS)).unwrap_or(Units::Inch),
        currency: f.text("currency", Need::Optional),
        cutter: f
            .object(
                "cutter",
                Need::Needed("describe the cutter: bed_width, longest_board, ply_limit, mats"),
                cutter::cutter,
            )
            .unwrap_or_else(cutter::stand_in),
        rules: f
            .object("rules", Need::Needed("give the rules of the job, at least travel_rule"), cutter::rules)
            .unwrap_or_else(cutter::rules_stand_in),
        fabrics: f.list(
            "fabrics",
            Need::Needed("describe at least one fabric"),
            most::FABRICS,
            fabrics::fabric,
        ),
        shapes: f.list("shapes", Need::Needed("describe at least one shape"), most::SHAPES, shapes::shape),
        boards: f.list("boards", Need::Needed("describe at least one board"), most::BOARDS, boards::board),
        blocks: f.list("blocks", Need::Optional, most::BLOCKS, quilts::block),
        quilts: f.list("quilts", Need::Optional, most::QUILTS, quilts::quilt),
        loose_patches: f.list("loose_patches", Need::Optional, most::LOOSE, quilts::loose),
        spare_patches: f.object("spare_patches", Need::Stated(SPARES), spares).unwrap_or(Spares::Number(0)),
        aim: f
            .object(
                "aim",
                Need::Needed("say what comes first: {\"put_first\": \"least_cloth\"}"),
                quilts::aim,
            )
            .unwrap_or_else(quilts::aim_stand_in),
        proof_block: f.object("proof_block", Need::Optional, quilts::proof_block),
        could_have: f.list("could_have", Need::Optional, most::BOARDS, boards::board),
        group: f.object("group", Need::Optional, group::group),
    };
    f.finish();
    scenario
}

fn version(f: &mut Fields<'_, '_, '_>) -> u32 {
    let version =
        f.count("patchlay_scenario", Need::Needed("write \"patchlay_scenario\": 1, the format version"));
    if version.is_some_and(|version| version != SCENARIO_VERSION) {
        let path = f.at("patchlay_scenario");
        let hint = format!("this program reads version {SCENARIO_VERSION}");
        f.report.add(Code::WrongVersion, &path, "this format version is not known", hint);
    }
    version.unwrap_or(SCENARIO_VERSION)
}

fn spares(report: &mut Report<'_>, node: &Node, path: &Path) -> Spares {
    if !matches!(node.kind, Kind::Object(_)) {
        report.add(Code::WrongType, path, "spare patches are an object in braces", SPARES);
        report.cannot_read(path);
        return Spares::Number(0);
    }
    let mut f = Fields::open(report, node, path, "spare patches");
    let number = f.count("number", Need::Optional);
    let percent = f.decimal("percent", Need::Optional);
    let readable = f.report.readable(&f.at("number")) && f.report.readable(&f.at("percent"));
    let spares = match (number, percent) {
        (Some(number), None) => Spares::Number(number),
        (None, Some(percent)) => Spares::Percent(percent),
        (Some(_), Some(_)) => {
            f.report.add(
                Code::UnknownField,
                path,
                "both a number and a percentage stand here",
                "keep one of them",
            );
            Spares::Number(0)
        }
        (None, None) => {
            if readable {
                f.report.add(Code::MustBeStated, path, "spare patches must be stated", SPARES);
            }
            f.report.cannot_read(path);
            Spares::Number(0)
        }
    };
    f.finish();
    spares
}

/// What stands in for a length that cannot be read.
fn no_length() -> LengthText {
    LengthText::Text(String::new())
}

/// What stands in for a pair of lengths that cannot be read.
fn no_pair() -> [LengthText; 2] {
    [no_length(), no_length()]
}
