//! Reads what a group adds.

use crate::path::Path;
use crate::read::fields::{Fields, Need, choice};
use crate::read::{most, no_length};
use crate::report::Report;
use crate::spec::{
    Bags, BagsBy, BoardCopies, Brought, DayRules, Equipment, Group, GroupCutter, Helper, Labels, SparesGo,
    Work,
};
use crate::tree::{Kind, Node};

const SPARES: &str = "write \"one_bag\" for one bag of spares that stays at the hall, or \"shared_out\" to give every bag its share";
const CAN: &str =
    "list what they can do: \"press\", \"strips\", \"fold\", \"crank\", \"lift_out\", \"check_bags\"";

/// Reads the group.
pub(crate) fn group(report: &mut Report<'_>, node: &Node, path: &Path) -> Group {
    let mut f = Fields::open(report, node, path, "the group");
    let bags = Need::Needed("say how patches are divided: {\"by\": \"quilt\", \"spares\": \"one_bag\"}");
    let group = Group {
        bags: f.object("bags", bags, self::bags).unwrap_or_else(no_bags),
        cutters: f.list("cutters", Need::Optional, most::CUTTERS, cutter),
        copies: f.list("copies", Need::Optional, most::BOARDS, copies),
        equipment: f.object("equipment", Need::Optional, equipment),
        helpers: f.list("helpers", Need::Optional, most::HELPERS, helper),
        day: f.object("day", Need::Optional, day),
        brought: f.list("brought", Need::Optional, most::FABRICS, brought),
        labels: f.object("labels", Need::Optional, labels),
    };
    f.finish();
    group
}

fn no_bags() -> Bags {
    Bags { by: BagsBy::Quilt, spares: SparesGo::OneBag, most_open: None }
}

fn bags(report: &mut Report<'_>, node: &Node, path: &Path) -> Bags {
    let mut f = Fields::open(report, node, path, "the bags");
    let bags = Bags {
        by: f.choice("by", Need::Needed("write \"quilt\", \"block\" or \"helper\"")).unwrap_or(BagsBy::Quilt),
        spares: f.choice("spares", Need::Stated(SPARES)).unwrap_or(SparesGo::OneBag),
        most_open: f.count("most_open", Need::Optional),
    };
    f.finish();
    bags
}

fn cutter(report: &mut Report<'_>, node: &Node, path: &Path) -> GroupCutter {
    let mut f = Fields::open(report, node, path, "a cutter");
    let cutter = GroupCutter {
        name: f.text("name", Need::Needed("give it a name")).unwrap_or_default(),
        bed_width: f
            .length("bed_width", Need::Needed("measure the widest board that goes between the rollers"))
            .unwrap_or_else(no_length),
        longest_board: f
            .length("longest_board", Need::Needed("give the longest board that can be handled"))
            .unwrap_or_else(no_length),
        ply_limit: f.count("ply_limit", Need::Needed("say how many plies it takes")).unwrap_or(1),
        number: f.count("number", Need::Optional),
    };
    f.finish();
    cutter
}

fn copies(report: &mut Report<'_>, node: &Node, path: &Path) -> BoardCopies {
    let mut f = Fields::open(report, node, path, "copies of a board");
    let copies = BoardCopies {
        board: f.text("board", Need::Needed("name the board")).unwrap_or_default(),
        copies: f.count("copies", Need::Needed("say how many there are")).unwrap_or(1),
    };
    f.finish();
    copies
}

fn equipment(report: &mut Report<'_>, node: &Node, path: &Path) -> Equipment {
    let mut f = Fields::open(report, node, path, "the equipment");
    let equipment = Equipment {
        irons: f.count("irons", Need::Optional),
        rulers: f.count("rulers", Need::Optional),
        tables: f.count("tables", Need::Optional),
        trays_ahead: f.count("trays_ahead", Need::Optional),
        passes_a_tray: f.count("passes_a_tray", Need::Optional),
    };
    f.finish();
    equipment
}

fn helper(report: &mut Report<'_>, node: &Node, path: &Path) -> Helper {
    let mut f = Fields::open(report, node, path, "a helper");
    let name = f.text("name", Need::Needed("name the helper")).unwrap_or_default();
    // An empty list is judged later, with the helper's name in the message.
    let can = f.get("can", Need::Needed(CAN)).map(|node| (node, f.at("can")));
    let can = can.map(|(node, at)| match &node.kind {
        Kind::List(nodes) if nodes.len() <= most::KINDS_OF_WORK => {
            let each = nodes.iter().enumerate();
            let read: Vec<Work> =
                each.filter_map(|(n, node)| choice(f.report, node, &at.element(n))).collect();
            if read.len() < nodes.len() {
                f.report.cannot_read(&at);
            }
            read
        }
        _ => {
            f.report.add(crate::problem::Code::WrongType, &at, "this is a list in square brackets", CAN);
            f.report.cannot_read(&at);
            Vec::new()
        }
    });
    let helper = Helper {
        name,
        can: can.unwrap_or_default(),
        speed_percent: f.count("speed_percent", Need::Optional),
        from: f.text("from", Need::Optional),
        to: f.text("to", Need::Optional),
    };
    f.finish();
    helper
}

fn day(report: &mut Report<'_>, node: &Node, path: &Path) -> DayRules {
    let mut f = Fields::open(report, node, path, "the day");
    let day = DayRules {
        starts: f.text("starts", Need::Optional),
        slack_percent: f.count("slack_percent", Need::Optional),
        rest_per_pass: f.count("rest_per_pass", Need::Optional),
        sort_part: f.count("sort_part", Need::Optional),
        check_line: f.count("check_line", Need::Optional),
    };
    f.finish();
    day
}

fn brought(report: &mut Report<'_>, node: &Node, path: &Path) -> Brought {
    let mut f = Fields::open(report, node, path, "a cloth that was brought");
    let brought = Brought {
        fabric: f.text("fabric", Need::Needed("name the fabric")).unwrap_or_default(),
        by: f.text("by", Need::Needed("say who brought it")).unwrap_or_default(),
        leftovers_to: f.text("leftovers_to", Need::Optional),
    };
    f.finish();
    brought
}

fn labels(report: &mut Report<'_>, node: &Node, path: &Path) -> Labels {
    let mut f = Fields::open(report, node, path, "the label sheets");
    let labels = Labels {
        rows: f.count("rows", Need::Needed("say how many labels stand below one another")).unwrap_or(1),
        columns: f.count("columns", Need::Needed("say how many labels stand side by side")).unwrap_or(1),
        width: f.length("width", Need::Needed("measure one label")).unwrap_or_else(no_length),
        height: f.length("height", Need::Needed("measure one label")).unwrap_or_else(no_length),
        left: f.length("left", Need::Optional),
        top: f.length("top", Need::Optional),
        gap_across: f.length("gap_across", Need::Optional),
        gap_down: f.length("gap_down", Need::Optional),
    };
    f.finish();
    labels
}
