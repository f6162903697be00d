//! Judges the cutter and the rules of the job.

use patchlay_measure::{Length, UnitSystem};

use super::judge::{Judge, Range};
use crate::job::{Cutter, Mat, Times};
use crate::path::Path;
use crate::problem::Code;
use crate::spec;

/// Highest ply limit taken: no roller cutter takes that many.
pub(crate) const MOST_PLIES: u32 = 24;
/// Most mats of one kind.
const MOST_MATS: u32 = 100;
/// Longest standard time, one day in seconds.
const LONGEST_TIME: u32 = 86_400;

/// The lengths of the rules.
#[derive(Clone, Copy)]
pub(crate) struct Rules {
    pub(crate) margin: Length,
    pub(crate) least_margin: Length,
    pub(crate) ruler_step: Length,
    pub(crate) fold_allowance: Length,
    pub(crate) seam: Length,
}

/// Judges the rules.
pub(crate) fn rules(judge: &mut Judge<'_, '_>, rules: &spec::Rules) -> Option<Rules> {
    let margin = length(
        judge,
        "margin",
        &rules.margin,
        Range::SMALL,
        Length::from_64ths(16),
        "Cloth reaches past the outermost blades, the set margin, by",
    );
    // A least margin above the set margin would keep all areas apart.
    let usual = Length::from_64ths(8).min(margin.unwrap_or(Length::from_64ths(8)));
    let least = length(
        judge,
        "least_margin",
        &rules.least_margin,
        Range::SMALL,
        usual,
        "Cloth reaches past blades beside other loaded blades, the least margin, by at least",
    );
    let step = match judge.units {
        UnitSystem::Inch => Length::from_64ths(8),
        UnitSystem::Metric => Length::from_mm_tenths(10),
    };
    let step =
        length(judge, "ruler_step", &rules.ruler_step, Range::STEP, step, "Sizes to be cut rounded up to");
    let fold = Length::from_64ths(4);
    let fold =
        length(judge, "fold_allowance", &rules.fold_allowance, Range::SMALL, fold, "Cloth lost in a fold:");
    let seam =
        length(judge, "seam", &rules.seam, Range::SMALL, Length::from_64ths(16), "A seam allowance of");
    let rules = Rules {
        margin: margin?,
        least_margin: least?,
        ruler_step: step?,
        fold_allowance: fold?,
        seam: seam?,
    };
    if rules.least_margin > rules.margin {
        let problem =
            "the least margin is more than the margin, so no two areas could ever be loaded in one pass";
        let path = Path::of("rules").field("least_margin");
        judge.report.add(Code::LengthOutOfRange, &path, problem, "make it at most the margin");
        return None;
    }
    Some(rules)
}

fn length(
    judge: &mut Judge<'_, '_>,
    field: &str,
    stated: &Option<spec::LengthText>,
    range: Range,
    usual: Length,
    words: &str,
) -> Option<Length> {
    let path = Path::of("rules").field(field);
    match stated {
        Some(text) => judge.length(&path, text, range),
        None if judge.report.readable(&path) => {
            let what = format!("{words} {}", judge.show(usual));
            judge.assume(what, "");
            Some(usual)
        }
        None => None,
    }
}

/// Judges the cutter.
pub(crate) fn cutter(judge: &mut Judge<'_, '_>, cutter: &spec::Cutter) -> Option<Cutter> {
    let path = Path::of("cutter");
    let bed_width = judge.length(&path.field("bed_width"), &cutter.bed_width, Range::SIZE);
    let longest_board = judge.length(&path.field("longest_board"), &cutter.longest_board, Range::SIZE);
    let ply_limit = judge.count(&path.field("ply_limit"), cutter.ply_limit, 1, MOST_PLIES);
    let list = path.field("mats");
    judge.names(&list, "mat", cutter.mats.iter().map(|mat| mat.name.as_str()));
    let mats: Vec<Option<Mat>> =
        cutter.mats.iter().enumerate().map(|(at, each)| mat(judge, &list.element(at), each)).collect();
    let times = times(judge, &path.field("times"), cutter.times.as_ref());
    Some(Cutter {
        bed_width: bed_width?,
        longest_board: longest_board?,
        ply_limit: ply_limit?,
        mats: mats.into_iter().collect::<Option<_>>()?,
        times: times?,
    })
}

fn mat(judge: &mut Judge<'_, '_>, path: &Path, mat: &spec::Mat) -> Option<Mat> {
    let width = judge.length(&path.field("width"), &mat.width, Range::SIZE);
    let length = judge.length(&path.field("length"), &mat.length, Range::SIZE);
    let owned = match mat.owned {
        Some(owned) => judge.count(&path.field("owned"), owned, 1, MOST_MATS),
        None => {
            judge.assume(format!("You have one mat called \"{}\"", mat.name), "");
            Some(1)
        }
    };
    Some(Mat { name: mat.name.clone(), width: width?, length: length?, owned: owned? })
}

fn times(judge: &mut Judge<'_, '_>, path: &Path, stated: Option<&spec::Times>) -> Option<Times> {
    let none = spec::Times::default();
    let stated = stated.unwrap_or(&none);
    let usual = Times::ASSUMED;
    let mut assumed = Vec::new();
    let mut time = |name: &'static str, stated: Option<u32>, usual: u32| match stated {
        Some(seconds) => judge.count(&path.field(name), seconds, 0, LONGEST_TIME),
        None => {
            assumed.push(format!("{} {usual}", name.replace('_', " ")));
            Some(usual)
        }
    };
    let square = time("square", stated.square, usual.square);
    let cut_strip = time("cut_strip", stated.cut_strip, usual.cut_strip);
    let press_strip = time("press_strip", stated.press_strip, usual.press_strip);
    let cross_cut = time("cross_cut", stated.cross_cut, usual.cross_cut);
    let trim = time("trim", stated.trim, usual.trim);
    let fold = time("fold", stated.fold, usual.fold);
    let place = time("place", stated.place, usual.place);
    let change_board = time("change_board", stated.change_board, usual.change_board);
    let crank = time("crank", stated.crank, usual.crank);
    let turn_mat = time("turn_mat", stated.turn_mat, usual.turn_mat);
    let lift_out = time("lift_out", stated.lift_out, usual.lift_out);
    let count = time("count", stated.count, usual.count);
    if !assumed.is_empty() {
        let what = format!("Standard times in seconds, our guesses: {}", assumed.join(", "));
        judge.assume(what, "");
    }
    Some(Times {
        square: square?,
        cut_strip: cut_strip?,
        press_strip: press_strip?,
        cross_cut: cross_cut?,
        trim: trim?,
        fold: fold?,
        place: place?,
        change_board: change_board?,
        crank: crank?,
        turn_mat: turn_mat?,
        lift_out: lift_out?,
        count: count?,
    })
}
