//! The style sheet of the page.

use std::fmt::Write as _;

use super::Paper;
use super::flow::{SHEET_HEIGHT, SHEET_WIDTH, mm};
use crate::fit::Type;
use crate::svg::board;

const FIXED: &str = "\
*{box-sizing:border-box;margin:0;padding:0}\
html{-webkit-print-color-adjust:exact;print-color-adjust:exact}\
body{font-family:Arial,Helvetica,'Liberation Sans',sans-serif;color:#000;background:#fff}\
.l{white-space:nowrap}\
h2,h3{font-weight:bold}\
.banner{height:6mm;margin-bottom:1.5mm;display:flex;justify-content:space-between;align-items:flex-end;\
border-bottom:.3mm solid #000;white-space:nowrap}\
.row{display:flex;align-items:flex-start;overflow:hidden}\
.row>*{flex:none}\
.line{border-bottom:.2mm solid #888}\
.point{padding-left:4mm;position:relative}\
.point::before{content:'';position:absolute;left:.6mm;top:1.7mm;width:1.4mm;height:1.4mm;background:#000}\
.num{text-align:right}\
.snip{border:.3mm dashed #000;display:flex;align-items:center;justify-content:center;text-align:center}\
.tick{display:inline-block;border:.35mm solid #000;background:#fff;vertical-align:middle}\
.card{border:.5mm solid #000;border-radius:2mm;padding:2mm;overflow:hidden}\
.five{border-bottom:.3mm solid #000}\
.cut{border-top:.2mm dashed #000}\
.stack{display:block}\
.tag{border:.3mm dashed #000;padding:2mm;overflow:hidden}\
@media screen{body{background:#ddd;padding:4mm}.sheet{margin:0 auto 5mm;background:#fff;padding:5mm;\
box-shadow:0 0 2mm #888}}\
@media print{.sheet{break-after:page;break-inside:avoid;page-break-after:always;page-break-inside:avoid;\
overflow:hidden}.sheet:last-child{break-after:auto;page-break-after:auto}}";

/// The whole style sheet.
pub(crate) fn sheet(paper: Paper) -> String {
    let mut text = String::from(FIXED);
    // The margins leave exactly the sheet's width, and at least its height.
    let (name, across) = match paper {
        Paper::Letter => ("letter", "14.9mm"),
        Paper::A4 => ("A4", "12mm"),
    };
    let _ = write!(text, "@page{{size:{name};margin:12mm {across}}}");
    let (wide, high) = (mm(SHEET_WIDTH), mm(SHEET_HEIGHT));
    let _ = write!(text, "@media print{{.sheet{{width:{wide};height:{high}}}}}");
    let _ = write!(text, "@media screen{{.sheet{{width:calc({wide} + 10mm);height:calc({high} + 10mm)}}}}");
    for face in Type::ALL {
        let (points, line) = (face.points, mm(face.line));
        let weight = if face.bold { "bold" } else { "normal" };
        let _ = write!(
            text,
            ".{}{{font-size:{}.{}pt;line-height:{line};font-weight:{weight}}}",
            face.class,
            points / 10,
            points % 10,
        );
    }
    text.push_str(board::STYLE);
    text
}
