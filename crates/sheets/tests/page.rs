//! The printable page: everything that a quilter needs stands on it, on sheets that add up.

mod common;

use common::html::{Html, read};
use patchlay_plan::{Face, FigureKind, Outcome, Plan};
use patchlay_scenario::Job;
use patchlay_sheets::{PageOptions, Paper, page};

const DEMOS: [&str; 7] = [
    "crib-nine-patch",
    "crib-nine-patch-metric",
    "handed-half-rectangles",
    "queen-churn-dash",
    "smallest",
    "star-hand-check",
    "twelve-lap-quilts",
];

fn made(plan: &Plan, job: &Job) -> Html {
    let text = page(plan, job, &PageOptions::default()).expect("a page");
    assert!(!text.contains("overfull"), "a block is higher than a sheet");
    read(&text)
}

fn demo(name: &str) -> (Plan, Job, Html) {
    let job = common::demo(name);
    let plan = common::plan(&job);
    let html = made(&plan, &job);
    (plan, job, html)
}

/// What a failing test shows of a page.
fn excerpt(text: &str) -> &str {
    text.find("The aim was").map_or("no proof", |at| &text[at..])
}

/// One square of 5 in of cloth to a ply, so many of them.
fn squares(count: u32) -> Job {
    common::job(&format!(
        r##"{{
        "patchlay_scenario": 1, "name": "Squares", "units": "inch",
        "cutter": {{ "bed_width": "12", "longest_board": "18", "ply_limit": 6,
            "mats": [{{ "name": "mat", "width": "12", "length": "12" }}] }},
        "rules": {{ "travel_rule": "either" }},
        "fabrics": [{{ "name": "Navy", "usable_width": "42", "print": "none" }}],
        "shapes": [{{ "name": "square", "kind": "square", "side": "4" }}],
        "boards": [{{ "name": "one square", "width": "8", "length": "8",
            "positions": [{{ "shape": "square", "at": ["1", "1"] }}] }}],
        "loose_patches": [{{ "shape": "square", "fabric": "Navy", "count": {count} }}],
        "spare_patches": {{ "number": 0 }}, "aim": {{ "put_first": "fewest_passes" }}
    }}"##
    ))
}

#[test]
fn the_whole_sum_is_written_out() {
    // By hand: nine passes of a folded length of 25 1/4 in and a flat cut of 5 in need nine strips 5 in wide;
    // 1 + 45 + 1/4 = 46 1/4 in = 1.2847 yd, sold by 1/8 yd: 1 3/8. The fullest strip: 25 1/4 + 3 x 5 = 40 1/4 in,
    // and 1/2 in stays at its end.
    let job = squares(54);
    let html = made(&common::plan(&job), &job);
    let text = html.sheets[0].clone();
    assert!(
        text.contains("1 in squaring + 9 x 5 + 1/4 squaring again = 46 1/4 in = 1.28 yd -> buy 1 3/8 yd"),
        "{text}"
    );
    assert!(
        text.contains("this plan needs at least 40 3/4 in. If yours is narrower, stop and plan again."),
        "{text}"
    );
}

#[test]
fn every_demo_has_every_part() {
    for name in DEMOS {
        let (plan, job, html) = demo(name);
        let first = &html.sheets[0];
        for wanted in
            ["What to buy", "pin a snip here", "Measure now, selvedges off", "press flat, let it cool"]
        {
            assert!(first.contains(wanted), "{name}: page 1 lacks {wanted}");
        }
        for fabric in &job.fabrics {
            assert!(
                html.text.contains(&format!("Strips to cut: {} {}", fabric.letter, fabric.name)),
                "{name}"
            );
        }
        for layup in &plan.layups {
            assert!(
                html.text.contains(&format!("{} · {}", layup.name, layup.board)),
                "{name}: {}",
                layup.name
            );
        }
        for wanted in [
            "What was assumed",
            "Before the first full stack",
            "First cut two plies, then the full stack, and compare",
            "Cautions",
            "Rollers",
            "Blades",
            "Irons",
            "this end goes in first",
            "handle side",
            "far side",
            "area A",
            "Where the cloth goes",
            "100.0 %",
            "Totals",
            "What the proof means",
            "Standard time",
        ] {
            assert!(html.text.contains(wanted), "{name} lacks {wanted}");
        }
        let in_plan_order = ["mat side 1", "piles now", "Pile tags", "Count the piles", "Cut in this order"];
        for wanted in in_plan_order.into_iter().filter(|_| job.group.is_none()) {
            assert!(html.text.contains(wanted), "{name} lacks {wanted}");
        }
    }
}

#[test]
fn a_groups_cards_say_nothing_that_holds_in_the_order_of_the_plan_alone() {
    let (plan, job, html) = demo("twelve-lap-quilts");
    assert!(job.group.is_some());
    for unwanted in [
        "piles now",
        "mat side",
        "the rest as before",
        "nothing stays as it was",
        "from L",
        "Count the piles",
        "Cut in this order",
        "Square the end",
        "areas and mats that change",
    ] {
        assert!(!html.text.contains(unwanted), "{unwanted}");
    }
    let passes: usize = plan.layups.iter().map(|layup| layup.passes.len()).sum();
    assert!(!html.text.contains(&format!("of {passes} · never more than")));
    for layup in &plan.layups {
        let said = match layup.passes.len() {
            1 => "1 pass · never more than".to_owned(),
            more => format!("{more} passes, 1 to {more} of {} · never more than", layup.name),
        };
        assert!(html.text.contains(&said), "{said}");
    }
    assert_eq!(
        html.text.matches("The day sheets say when each pass is cranked").count(),
        html.text.matches(" · make it ").count()
    );
    for wanted in
        ["every bag is checked against its list", "This list is no order", "Turn it over after every pass"]
    {
        assert!(html.text.contains(wanted), "{wanted}");
    }
    // The same passes as on the day sheets and in the log, not those of the whole plan.
    let table = patchlay_sheets::csv_layups(&plan, &job).unwrap();
    let most = plan.layups.iter().map(|layup| layup.passes.len()).max().unwrap();
    let numbers = table.lines().skip(1).filter_map(|line| line.split(',').nth(2)?.parse::<usize>().ok());
    assert_eq!(numbers.max(), Some(most));
}

#[test]
fn every_tag_stands_on_the_strips_and_on_a_card() {
    let (plan, _, html) = demo("queen-churn-dash");
    let words: std::collections::BTreeSet<&str> =
        html.text.split(|letter: char| letter.is_whitespace() || letter == ';').collect();
    let ranges = ranges(&html.text);
    assert!(!ranges.is_empty());
    for strip in plan.fabrics.iter().flat_map(|fabric| &fabric.strips) {
        let stands = words.contains(strip.name.as_str()) || ranges.contains(&strip.name);
        assert!(stands, "strip {}", strip.name);
        for piece in &strip.pieces {
            assert!(words.contains(piece.name.as_str()), "tag {}", piece.name);
        }
    }
}

/// The names inside `A3 to A7`.
fn ranges(text: &str) -> Vec<String> {
    let split = |word: &str| {
        let letters = word.trim_end_matches(|letter: char| letter.is_ascii_digit());
        let number = word[letters.len()..].parse::<u32>().ok()?;
        (!letters.is_empty()).then(|| (letters.to_owned(), number))
    };
    let words: Vec<&str> = text.split_whitespace().collect();
    let range = |three: &[&str]| match (split(three[0]), three[1], split(three[2])) {
        (Some((letters, from)), "to", Some((same, to))) if letters == same => {
            (from..=to).map(|number| format!("{letters}{number}")).collect()
        }
        _ => Vec::new(),
    };
    words.windows(3).flat_map(range).collect()
}

#[test]
fn every_sheet_says_scenario_plan_and_page() {
    for name in DEMOS {
        let (plan, job, html) = demo(name);
        let of = html.sheets.len();
        for (at, sheet) in html.sheets.iter().enumerate() {
            assert!(sheet.contains(&job.name), "{name}");
            assert!(
                sheet.contains(&format!("Plan {} · page {} of {of}", plan.number, at + 1)),
                "{name}: sheet {at}"
            );
        }
    }
}

#[test]
fn sides_of_a_board_are_never_left_or_right() {
    for name in DEMOS {
        let (_, _, html) = demo(name);
        let text = html.text.to_lowercase();
        let harmless = text
            .replace("left on the bolt", "")
            .replace("left unused", "")
            .replace("left-handed", "")
            .replace("right side up", "")
            .replace("right side down", "")
            .replace("is the right side, plain the wrong side", "")
            .replace("come out right", "");
        let words = || harmless.split(|letter: char| !letter.is_alphanumeric());
        let before: Vec<&str> = words().take_while(|word| *word != "left" && *word != "right").collect();
        assert_eq!(
            before.len(),
            words().count(),
            "{name}: after {:?}",
            &before[before.len().saturating_sub(6)..]
        );
    }
}

#[test]
fn cards_are_whole_and_share_a_sheet_where_two_fit() {
    let mut shared = 0;
    for name in DEMOS {
        let (plan, _, html) = demo(name);
        assert!(!html.text.contains('…'), "{name}: something is cut short");
        for layup in &plan.layups {
            assert!(html.text.contains(&format!("{} · {} · make it", layup.name, layup.board)), "{name}");
        }
        for sheet in &html.sheets {
            let cards = sheet.matches(" · make it ").count();
            assert!(cards <= 2, "{name}");
            shared += usize::from(cards == 2);
        }
    }
    assert!(shared > 0);
}

#[test]
fn engineers_words_stay_away() {
    for name in DEMOS {
        let (_, _, html) = demo(name);
        let text = html.text.to_lowercase();
        for word in ["incumbent", "dominated", "lower bound", "bay ", "optimal", "best", "objective"] {
            assert!(!text.contains(word), "{name}: {word}");
        }
    }
}

#[test]
fn a_metric_page_has_no_inches_and_no_yards() {
    let (_, _, html) = demo("crib-nine-patch-metric");
    let words: Vec<&str> = html.text.split_whitespace().collect();
    for pair in words.windows(2) {
        let number = pair[0].starts_with(|letter: char| letter.is_ascii_digit());
        let unit = pair[1].trim_end_matches([',', ';', '.', ')', ':']);
        assert!(!(number && ["in", "yd", "sq"].contains(&unit) && pair[1] != "sq"), "{pair:?}");
    }
    assert!(html.text.contains("25 mm") && html.text.contains(" cm") && html.text.contains(" m"));
    assert!(!html.text.contains("yd") && !html.text.contains("sq in"));
}

#[test]
fn numbers_in_pictures_are_finite() {
    for name in DEMOS {
        let job = common::demo(name);
        let text = page(&common::plan(&job), &job, &PageOptions::default()).unwrap();
        for board in &job.boards {
            let svg = patchlay_sheets::board_svg(&job, board);
            assert!(!svg.contains("NaN") && !svg.contains("inf"));
            assert!(svg.matches("<path ").count() > board.positions.len());
        }
        assert!(!text.contains("NaN") && !text.contains("\"inf") && !text.contains(" inf"), "{name}");
    }
}

#[test]
fn sixty_fabrics_with_long_names_and_two_hundred_lay_ups_still_fit() {
    let long =
        |at: usize| format!("Nr{at} Donaudampfschifffahrtsgesellschaftskapitänsblau 藍色の布地藍色 WWWW");
    let job = common::job(&common::many_fabrics(60, long));
    let mut plan = common::plan(&job);
    while plan.layups.len() < 200 {
        let copy = plan.layups[plan.layups.len() % 60].clone();
        plan.layups.push(copy);
    }
    let html = made(&plan, &job);
    assert!(html.sheets.len() > 100);
    assert!(html.text.contains("& <friends>"));
    assert!(html.sheets.iter().all(|sheet| sheet.contains(&format!("of {}", html.sheets.len()))));
}

#[test]
fn a_hundred_plies_and_a_hundred_passes_still_fit() {
    let job = squares(600);
    let mut plan = common::plan(&job);
    let layup = &mut plan.layups[0];
    let group = layup.bays[0].groups[1].clone();
    layup.bays[0].groups = vec![group; 100];
    // Like flat cuts are said once; these differ from their neighbours.
    layup.bays[0].groups.iter_mut().step_by(2).for_each(|group| group.first_face = Face::Down);
    layup.passes = vec![vec![vec!["A1a".to_owned(); 100]]; 100];
    let html = made(&plan, &job);
    assert!(html.text.contains("card 2 of"));
    assert!(html.text.contains("on top of those before"));
}

#[test]
fn nothing_is_fetched_and_nothing_runs() {
    let job = common::demo("queen-churn-dash");
    let text = page(&common::plan(&job), &job, &PageOptions::default()).unwrap();
    for word in ["<script", "<link", "<img", "src=", "href=", "@import", "javascript"] {
        assert!(!text.contains(word), "{word}");
    }
    // The one address is the name of the SVG format, which is never fetched.
    let addresses = text.matches("http").count();
    assert_eq!(addresses, text.matches("http://www.w3.org/2000/svg").count());
}

#[test]
fn what_is_typed_never_becomes_markup() {
    let nasty = "</style><script>alert(1)</script>\"'&";
    let job = common::job(&common::many_fabrics(2, |at| format!("{nasty}{at}")));
    let text = page(&common::plan(&job), &job, &PageOptions::default()).unwrap();
    assert!(!text.contains("<script>"));
    let html = read(&text);
    assert!(html.text.contains("</style><script>"));
}

#[test]
fn letter_and_a4_have_the_same_sheets() {
    let job = common::demo("queen-churn-dash");
    let plan = common::plan(&job);
    let on = |paper| page(&plan, &job, &PageOptions { paper, left_handed: false }).unwrap();
    let (letter, a4) = (on(Paper::Letter), on(Paper::A4));
    assert!(letter.contains("@page{size:letter") && a4.contains("@page{size:A4"));
    let body = |text: &str| text.split_once("<body>").unwrap().1.to_owned();
    assert_eq!(body(&letter), body(&a4));
}

#[test]
fn for_the_other_hand_the_handle_moves_and_the_blades_stay() {
    let job = common::demo("handed-half-rectangles");
    let plan = common::plan(&job);
    let on = |left_handed| page(&plan, &job, &PageOptions { left_handed, paper: Paper::A4 }).unwrap();
    let (one, other) = (on(false), on(true));
    let blades = |text: &str| {
        let all = text
            .split("<path class=\"blade\"")
            .skip(1)
            .map(|rest| rest.split("/>").next().unwrap().to_owned());
        all.collect::<Vec<_>>()
    };
    assert!(blades(&one) == blades(&other), "blades were moved");
    let side = |text: &str, turn: &str| {
        let (before, _) = text.split_once("</text><text transform").unwrap();
        (before.contains("handle side"), before.contains(turn))
    };
    assert_eq!(side(&one, "rotate(90)"), (true, true));
    assert_eq!(side(&other, "rotate(90)"), (false, true));
}

#[test]
fn the_same_plan_gives_the_same_page() {
    let job = common::demo("twelve-lap-quilts");
    let plan = common::plan(&job);
    let once = page(&plan, &job, &PageOptions::default()).unwrap();
    assert_eq!(once, page(&plan, &job, &PageOptions::default()).unwrap());
}

#[test]
fn piles_end_at_what_the_plan_cuts() {
    let (plan, job, html) = demo("handed-half-rectangles");
    for line in &plan.patches {
        let wanted = line.needed + line.spare;
        let over = line.cut - wanted;
        let hand = match line.hand {
            patchlay_plan::Hand::Any => "",
            patchlay_plan::Hand::Drawn => ", as drawn",
            patchlay_plan::Hand::Mirrored => ", mirror image",
        };
        let mut last = format!("{}: {}{hand}: {wanted} of {wanted}", line.fabric, line.shape);
        if over > 0 {
            last.push_str(&format!(", and {over} extra"));
        }
        assert!(html.text.contains(&last), "{last}");
    }
    assert!(job.fabrics.iter().any(|fabric| fabric.reversible));
}

#[test]
fn patches_that_nothing_needs_are_called_extra() {
    // Twelve of Navy are wanted; the first lay-up is made from Rust, of which nobody asked for any.
    let mut job = squares(12);
    let mut other = job.fabrics[0].clone();
    (other.name, other.letter) = ("Rust".into(), "B".into());
    job.fabrics.push(other);
    let mut plan = common::plan(&job);
    plan.layups[0].bays[0].groups.iter_mut().for_each(|group| group.fabric = "Rust".into());
    let html = made(&plan, &job);
    let plies: u32 = plan.layups[0].bays[0].groups.iter().map(|group| group.plies).sum();
    let cut = plies as usize * plan.layups[0].passes.len();
    let said = format!("extra (spare) patches, needed nowhere: {cut} Rust: square");
    assert!(html.text.contains(&said), "{said}");
}

#[test]
fn a_fabric_is_never_named_at_the_foot_of_a_sheet_without_a_strip() {
    for name in DEMOS {
        let (_, _, html) = demo(name);
        for sheet in &html.sheets {
            if let Some((_, last)) = sheet.rsplit_once("Strips to cut: ") {
                assert!(last.contains(" usable"), "{name}: {last}");
            }
        }
    }
}

#[test]
fn a_ply_laid_face_down_is_said_to_be() {
    let job = squares(12);
    let mut plan = common::plan(&job);
    plan.layups[0].bays[0].groups[0].first_face = Face::Down;
    let html = made(&plan, &job);
    assert!(html.text.contains("first ply right side down"));
}

#[test]
fn the_proof_block_sheet_comes_only_where_asked_for() {
    let (_, _, asked) = demo("queen-churn-dash");
    for wanted in ["If it fails: what is still uncut", "costs 1 pass more", "Proof block first"] {
        assert!(asked.text.contains(wanted), "{wanted}");
    }
    let (_, _, not_asked) = demo("smallest");
    assert!(!not_asked.text.contains("Proof block"));
}

#[test]
fn the_proof_is_told_in_plain_words() {
    let job = squares(150);
    let mut plan = common::plan(&job);
    let bound = &mut plan.bounds[0];
    (bound.value, bound.bound) = ("25".into(), "24".into());
    let text = made(&plan, &job).text;
    let said = "No plan with these boards, fabrics and limits takes fewer than 24 passes; this one takes 25.";
    assert!(text.contains(said), "{}", excerpt(&text));
    assert!(text.contains("has not been ruled out"));
    let bound = &mut plan.bounds[0];
    (bound.bound, bound.proved) = ("25".into(), true);
    plan.outcome = Outcome::Proved;
    let mut area = plan.bounds[0].clone();
    (area.figure, area.conditional, area.proved) = (FigureKind::Area, true, false);
    (area.value, area.bound) = ("66064384000".into(), "66064384".into());
    plan.bounds.push(area);
    let text = made(&plan, &job).text;
    assert!(text.contains("takes fewer than 25 passes, and this one takes no more."), "{}", excerpt(&text));
    assert!(text.contains("it is proved that no plan meets it better"), "{}", excerpt(&text));
    // 66,064,384 square units are 1 sq in.
    assert!(
        text.contains("With passes as in this plan, none takes less cloth off the bolt than 1.00 sq in"),
        "{text}"
    );
    assert!(text.contains("not proved for plans that do better in passes"), "{}", excerpt(&text));
}

#[test]
fn a_plan_of_another_scenario_is_refused() {
    let job = squares(12);
    let plan = common::plan(&common::demo("smallest"));
    let error = page(&plan, &job, &PageOptions::default()).unwrap_err().to_string();
    assert!(error.contains("does not belong to this scenario"), "{error}");
}

#[test]
fn a_card_says_what_changes_from_the_one_before() {
    // By hand: nine passes of five plies folded and a flat cut, then one of the two squares left, as flat cuts.
    let job = squares(56);
    let html = made(&common::plan(&job), &job);
    assert!(html.text.contains("from L1: area A now Navy 2; nothing stays as it was"), "{}", html.text);
    assert!(!html.text.contains("from L2"));
}

#[test]
fn a_card_names_what_is_taken_off_and_what_stays() {
    // By hand: Light's squares, Light's triangles, Dark's squares. The load of the second also lies on the first and on
    // the third: the squares come off, and others come on.
    let job = common::demo("star-hand-check");
    let mut plan = common::plan(&job);
    let (load, pieces) = (plan.layups[1].bays[0].clone(), plan.layups[1].passes[0][0].clone());
    assert_eq!(load.positions, [1]);
    for at in [0, 2] {
        let layup = &mut plan.layups[at];
        layup.bays.push(load.clone());
        layup.passes.iter_mut().for_each(|pass| pass.push(pieces.clone()));
    }
    let text = made(&plan, &job).text;
    assert!(text.contains("from L1: nothing in area A; the rest as before"), "{text}");
    assert!(text.contains("from L2: area A now Dark 5 folded + Dark 1; the rest as before"), "{text}");
}
