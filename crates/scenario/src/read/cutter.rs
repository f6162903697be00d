//! Reads the cutter and the rules of the job.

use crate::path::Path;
use crate::read::fields::{Fields, Need};
use crate::read::{most, no_length};
use crate::report::Report;
use crate::spec::{Cutter, Mat, Rules, Times, TravelRule};
use crate::tree::Node;

const PLY_LIMIT: &str = "six plies of quilting cotton is common practice as a top figure, fewer for thick or tightly \
     woven cloth; the maker of your cutter says what it takes. Start lower, and check the bottom patch against the \
     top one";
/// Why a travel rule has no default.
pub(crate) const TRAVEL_RULE: &str = "teachers differ. \"strip_along_travel\": the strip's cut end leads into the \
     rollers, as some teach; \"strip_across_travel\": the threads along the selvedge lie along the travel, as others \
     teach, because cloth stretches more across its width; \"either\" leaves the plan free and takes least cloth";

/// Reads the cutter.
pub(crate) fn cutter(report: &mut Report<'_>, node: &Node, path: &Path) -> Cutter {
    let mut f = Fields::open(report, node, path, "the cutter");
    let cutter = Cutter {
        bed_width: f
            .length("bed_width", Need::Needed("measure the widest board that goes between the rollers"))
            .unwrap_or_else(no_length),
        longest_board: f
            .length("longest_board", Need::Needed("give the longest board that can be handled"))
            .unwrap_or_else(no_length),
        ply_limit: f.count("ply_limit", Need::Stated(PLY_LIMIT)).unwrap_or(1),
        mats: f.list(
            "mats",
            Need::Needed("describe the cutting mats owned: name, width, length"),
            most::MATS,
            mat,
        ),
        times: f.object("times", Need::Optional, times),
    };
    f.finish();
    cutter
}

/// What stands in for a cutter that is missing.
pub(crate) fn stand_in() -> Cutter {
    Cutter { bed_width: no_length(), longest_board: no_length(), ply_limit: 1, mats: Vec::new(), times: None }
}

fn mat(report: &mut Report<'_>, node: &Node, path: &Path) -> Mat {
    let mut f = Fields::open(report, node, path, "a mat");
    let mat = Mat {
        name: f.text("name", Need::Needed("give the mat a name")).unwrap_or_default(),
        width: f.length("width", Need::Needed("give its size across the travel")).unwrap_or_else(no_length),
        length: f.length("length", Need::Needed("give its size along the travel")).unwrap_or_else(no_length),
        owned: f.count("owned", Need::Optional),
    };
    f.finish();
    mat
}

fn times(report: &mut Report<'_>, node: &Node, path: &Path) -> Times {
    let mut f = Fields::open(report, node, path, "the standard times");
    let times = Times {
        square: f.count("square", Need::Optional),
        cut_strip: f.count("cut_strip", Need::Optional),
        press_strip: f.count("press_strip", Need::Optional),
        cross_cut: f.count("cross_cut", Need::Optional),
        trim: f.count("trim", Need::Optional),
        fold: f.count("fold", Need::Optional),
        place: f.count("place", Need::Optional),
        change_board: f.count("change_board", Need::Optional),
        crank: f.count("crank", Need::Optional),
        turn_mat: f.count("turn_mat", Need::Optional),
        lift_out: f.count("lift_out", Need::Optional),
        count: f.count("count", Need::Optional),
    };
    f.finish();
    times
}

/// Reads the rules.
pub(crate) fn rules(report: &mut Report<'_>, node: &Node, path: &Path) -> Rules {
    let mut f = Fields::open(report, node, path, "the rules");
    let rules = Rules {
        travel_rule: f.choice("travel_rule", Need::Stated(TRAVEL_RULE)).unwrap_or(TravelRule::Either),
        margin: f.length("margin", Need::Optional),
        least_margin: f.length("least_margin", Need::Optional),
        ruler_step: f.length("ruler_step", Need::Optional),
        fold_allowance: f.length("fold_allowance", Need::Optional),
        seam: f.length("seam", Need::Optional),
    };
    f.finish();
    rules
}

/// What stands in for rules that are missing.
pub(crate) fn rules_stand_in() -> Rules {
    Rules {
        travel_rule: TravelRule::Either,
        margin: None,
        least_margin: None,
        ruler_step: None,
        fold_allowance: None,
        seam: None,
    }
}
