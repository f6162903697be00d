//! Reads the fabrics.

use crate::path::Path;
use crate::read::fields::{Fields, Need};
use crate::read::{most, no_length};
use crate::report::Report;
use crate::spec::{Fabric, KeptBack, PrintDirection};
use crate::tree::Node;

const USABLE_WIDTH: &str = "measure your own cloth between the selvedges after cutting them off: cloth sold as 44 in \
     wide is planned at 40 to 42 in, because selvedges and washing take their share, and a plan for 42 in cannot be \
     cut from 40";
const PRINT: &str = "\"none\" for plain or scattered prints; \"one_way\" keeps the direction, so that no ply is \
     turned or folded, and takes more cloth; \"caution\" only prints a caution. Small prints are mostly cut as \
     \"none\", stripes and pictures as \"one_way\"";

/// Reads one fabric.
pub(crate) fn fabric(report: &mut Report<'_>, node: &Node, path: &Path) -> Fabric {
    let mut f = Fields::open(report, node, path, "a fabric");
    let fabric = Fabric {
        name: f.text("name", Need::Needed("give the fabric a name; quilts refer to it")).unwrap_or_default(),
        letter: f.text("letter", Need::Optional),
        colour: f.text("colour", Need::Optional),
        usable_width: f.length("usable_width", Need::Stated(USABLE_WIDTH)).unwrap_or_else(no_length),
        width_measured: f.choice("width_measured", Need::Optional),
        ply_limit: f.count("ply_limit", Need::Optional),
        print: f.choice("print", Need::Stated(PRINT)).unwrap_or(PrintDirection::None),
        allow_turned: f.flag("allow_turned"),
        reversible: f.flag("reversible").unwrap_or(false),
        travel_rule: f.choice("travel_rule", Need::Optional),
        price: f.decimal("price", Need::Optional),
        selling_step: f.length("selling_step", Need::Optional),
        shrinkage_percent: f.decimal("shrinkage_percent", Need::Optional),
        squaring: f.length("squaring", Need::Optional),
        resquaring: f.length("resquaring", Need::Optional),
        end_reserve: f.length("end_reserve", Need::Optional),
        kept_back: f.list("kept_back", Need::Optional, most::KEPT_BACK, kept_back),
    };
    f.finish();
    fabric
}

fn kept_back(report: &mut Report<'_>, node: &Node, path: &Path) -> KeptBack {
    let mut f = Fields::open(report, node, path, "a length kept back");
    let kept_back = KeptBack {
        what: f.text("what", Need::Needed("say what it is for, for example \"binding\"")).unwrap_or_default(),
        length: f
            .length("length", Need::Needed("give the length of cloth, full width"))
            .unwrap_or_else(no_length),
    };
    f.finish();
    kept_back
}
