//! The cover: joined, marked, laid off the roll, and spread where rows differ.

use crate::demo::{job, job_text, made};
use approx::assert_abs_diff_eq;
use bradawl::{
    frame::{Point, Sheet},
    layout::{Cover, Layout, LineKind, Name, Piece, bays, lay_out},
    machine::Work,
};
use proptest::prelude::*;
use std::collections::BTreeMap;

const WIDE: &str = "[panel.rectangle]\nwidth = 2000\nheight = 700";
const WIDE_PATTERN: &str =
    "[pattern.diamond]\nacross = 10\nrows = 5\nedge = { sides = 100, top = 90, bottom = 90 }";
const FORTY: &str = "[fabric.allowance.measured]\nacross = 40\ndown = 40";

fn laid_out(changes: &[(&str, &str)]) -> Layout {
    lay_out(&job(&job_text(changes))).unwrap_or_else(|wrong| panic!("{wrong:#?}"))
}

fn roll(width: u32) -> String {
    format!("[fabric]\nroll_width = {width}\nturn_in = 75")
}

fn marks(piece: &Piece) -> BTreeMap<Name, Point<Sheet>> {
    piece.marks.iter().copied().collect()
}

/// Lays the pieces seam to seam, by the buttons that two of them share, on the sheet of the last one.
fn joined(cover: &Cover) -> BTreeMap<Name, [f64; 2]> {
    let mut all: BTreeMap<Name, [f64; 2]> = BTreeMap::new();
    for piece in cover.pieces.iter().rev() {
        let here = marks(piece);
        let shared: Vec<_> = here.iter().filter(|(name, _)| all.contains_key(name)).collect();
        let shift = match shared.first() {
            None => [0.0, 0.0],
            Some((name, at)) => [all[name][0] - at.x, all[name][1] - at.y],
        };
        assert!(all.is_empty() || shared.len() > 1, "pieces share the buttons of their join");
        for (name, at) in here {
            let place = [at.x + shift[0], at.y + shift[1]];
            if let Some(there) = all.insert(name, place) {
                assert_abs_diff_eq!(there[0], place[0], epsilon = 1e-6);
                assert_abs_diff_eq!(there[1], place[1], epsilon = 1e-6);
            }
        }
    }
    all
}

/// By hand. Panel 2000 x 700, edges 100 and 90: nine diamonds of 200 across, rows 130 apart, so H = 260. With
/// 40 allowed, W_f = 240 and H_f = 300. Round the edge go 50 + 8 + 12 + 75 = 145, so the cover is cut
/// 9 x 240 + 2 x (100 + 20 + 145) = 2690 wide; half of it is 1345. The roll is 1372.
///
/// A 13 mm seam reaches 13·sqrt(240² + 300²)/300 = 16.6480 sideways. Columns stand 120 apart. A middle piece
/// whose outermost buttons stand c columns out is 2·(120·c + 16.648) wide: 1233.296 for c = 5, 1473 for c = 6. So
/// the join zig-zags between the fourth and the fifth column. The side pieces reach from 480 - 16.648 to
/// 1345: 881.648. Both side pieces beside each other are wider than the roll: three drops for one panel.
#[test]
fn a_back_two_metres_wide_is_joined_from_three_pieces_as_by_hand() {
    let layout = laid_out(&[
        ("panel", WIDE),
        ("pattern", WIDE_PATTERN),
        ("allowance", FORTY),
        ("fabric", &roll(1372)),
    ]);
    let cover = &layout.cover;
    assert_abs_diff_eq!(cover.cut[0], 2690.0, epsilon = 1e-9);
    let widths: Vec<f64> = cover.pieces.iter().map(|piece| piece.cut[0]).collect();
    for (found, expected) in widths.iter().zip([881.648, 1233.296, 881.648]) {
        assert_abs_diff_eq!(*found, expected, epsilon = 5e-4);
    }
    assert_eq!(widths.len(), 3);
    // Long rows have ten buttons: their fifth column out from the middle is their third button.
    let names = |piece: &Piece| -> Vec<String> {
        piece.marks.iter().map(|(name, _)| name.to_string()).collect()
    };
    let left: Vec<&str> = vec![
        "1-1", "1-2", "1-3", "2-1", "2-2", "2-3", "3-1", "3-2", "3-3", "4-1", "4-2", "4-3", "5-1",
        "5-2", "5-3",
    ];
    assert_eq!(names(&cover.pieces[0]), left);
    let middle = names(&cover.pieces[1]);
    assert!(
        ["1-3", "2-3", "3-3", "4-3", "5-3"].iter().all(|name| middle.contains(&name.to_string()))
    );
    assert_eq!(cover.roll.drops.len(), 3);
    assert_abs_diff_eq!(cover.roll.length, 3.0 * cover.cut[1], epsilon = 1e-9);
}

/// Derived: 9 x 12 in diamonds with a 13 mm seam; seam·sqrt(W_f² + H_f²)/H_f = 16.25 mm.
#[test]
fn a_seam_along_the_diamonds_reaches_farther_sideways() {
    let layout = laid_out(&[
        ("panel", "[panel.rectangle]\nwidth = 1900\nheight = 900"),
        (
            "pattern",
            "[pattern.diamond]\nwidth = \"8 in\"\nheight = \"11 in\"\nfit = \"exact\"\nedge = 90",
        ),
        ("allowance", "[fabric.allowance.measured]\nacross = \"1 in\"\ndown = \"1 in\""),
        ("fabric", &roll(1372)),
    ]);
    let middle = &layout.cover.pieces[1];
    let outermost = middle.marks.iter().map(|(_, at)| at.x).fold(f64::INFINITY, f64::min);
    assert_abs_diff_eq!(outermost, 16.25, epsilon = 1e-9);
}

/// Source: Stephenson, Cutting and Draping, figs 113-115: 12 x 18 in in bays of 3 in, fullness 1 1/2 in in every
/// bay, edge bays too, 1 in to tack all round: cut 29 x 20 in. His panel has no depth; ours is taken off again.
#[test]
fn stephensons_cover_is_cut_29_by_20_inches() {
    let layout = laid_out(&[
        ("units", "\"in\""),
        ("panel", "[panel.rectangle]\nwidth = 18\nheight = 12"),
        ("pattern", "[pattern.square]\nacross = 5\nrows = 3\nedge = 3"),
        ("fabric", "[fabric]\nroll_width = 54\nturn_in = 1\nedge_fullness = \"whole\""),
        ("allowance", "[fabric.allowance.measured]\nacross = 1.5\ndown = 1.5"),
    ]);
    let depth = 2.0 * (50.0 + 8.0 + 12.0);
    assert_abs_diff_eq!(layout.cover.cut[0] - depth, 736.6, epsilon = 1e-9);
    assert_abs_diff_eq!(layout.cover.cut[1] - depth, 508.0, epsilon = 1e-9);
}

/// Source: "Settees and Couches", convex scroll, diamonds 7 x 5 in; the book is, from memory, Spons' Mechanics'
/// Own Book (London, 1885): the fullness down grows by 1 in a row, 1 1/2, 2 1/2 (3 1/2 by extension).
#[test]
fn a_convex_scroll_gets_more_in_each_row_and_lies_flat() {
    let layout = laid_out(&[
        ("panel", "[panel.rectangle]\nwidth = \"35 in\"\nheight = \"17 in\""),
        (
            "pattern",
            "[pattern.diamond]\nacross = 4\nrows = 4\nedge = { sides = \"7 in\", top = \"4 3/4 in\", bottom = \"4 3/4 in\" }",
        ),
        ("allowance", "[fabric.allowance.measured]\nacross = \"2 in\"\ndown = [38.1, 63.5, 88.9]"),
    ]);
    assert_abs_diff_eq!(layout.fitted.width, 177.8, epsilon = 1e-9);
    assert_abs_diff_eq!(layout.fitted.height, 127.0, epsilon = 1e-9);
    let cover = &layout.cover;
    let row = |row: u32| {
        cover.pieces[0].marks.iter().find(|(name, _)| name.row() == row).expect("a row").1.y
    };
    // Half of a diamond and half of its allowance in each gap.
    for (gap, allowed) in [(1, 38.1), (2, 63.5), (3, 88.9)] {
        assert_abs_diff_eq!(row(gap) - row(gap + 1), (127.0 + allowed) / 2.0, epsilon = 1e-9);
    }
    assert!(
        cover.strained.is_empty(),
        "rows that differ only in depth lie flat: {:?}",
        cover.strained
    );
}

/// A stretched cloth reaches what an unstretched one would: the marks stand so much nearer together.
#[test]
fn cloth_that_stretches_is_marked_shorter() {
    let fabric = "[fabric]\nroll_width = 1400\nturn_in = 75\nstretch = { across = 4, down = 1 }";
    let [plain, stretched] = [laid_out(&[]), laid_out(&[("fabric", fabric)])].map(|l| l.cover);
    assert_abs_diff_eq!(stretched.marked[0] * 1.04, plain.marked[0], epsilon = 1e-9);
    assert_abs_diff_eq!(stretched.marked[1] * 1.01, plain.marked[1], epsilon = 1e-9);
    assert_eq!(stretched.reach.map(f64::round), plain.reach.map(f64::round));
}

/// Derived: sqrt(((P + A)/2)² - (P/2)²); the least allowance reaches exactly the seat.
#[test]
fn the_least_allowance_reaches_exactly_the_seat() {
    let plain = laid_out(&[]).cover;
    let least = plain.bounds.map(|bounds| bounds.least);
    let allowance =
        format!("[fabric.allowance.measured]\nacross = {}\ndown = {}", least[0], least[1]);
    let cover = laid_out(&[("allowance", &allowance)]).cover;
    assert_abs_diff_eq!(cover.reach[0], cover.depth, epsilon = 1e-6);
    assert_abs_diff_eq!(cover.reach[1], cover.depth, epsilon = 1e-6);
}

/// Turned sideways, the cover's top points right: across the panel runs along the roll.
#[test]
fn a_cover_without_pile_may_lie_sideways() {
    let fabric =
        "[fabric]\nroll_width = 1372\nturn_in = 75\npile = \"none\"\nturned = \"sideways\"";
    let sideways = laid_out(&[
        ("panel", WIDE),
        ("pattern", WIDE_PATTERN),
        ("allowance", FORTY),
        ("fabric", fabric),
    ]);
    let cover = &sideways.cover;
    assert_eq!(cover.pieces.len(), 1);
    assert_eq!(cover.pieces[0].cut, [cover.cut[1], cover.cut[0]]);
    let at = marks(&cover.pieces[0]);
    let place = |row, column| at[&Name::in_row(row, column)];
    assert!(place(1, 1).x > place(5, 1).x, "the top row lies right");
    assert!(place(1, 1).y < place(1, 2).y, "the left of the panel lies towards the person");
    let none = "[fabric]\nroll_width = 1372\nturn_in = 75\npile = \"none\"";
    let upright = laid_out(&[
        ("panel", WIDE),
        ("pattern", WIDE_PATTERN),
        ("allowance", FORTY),
        ("fabric", none),
    ]);
    assert_eq!(upright.cover.sideways, Some(cover.roll.length));
    let pile = laid_out(&[
        ("panel", WIDE),
        ("pattern", WIDE_PATTERN),
        ("allowance", FORTY),
        ("fabric", &roll(1372)),
    ]);
    assert_eq!(pile.cover.sideways, None, "pile cloth is never offered sideways");
}

/// The diamonds ruled on the back: every side of every diamond, in straight strokes.
#[test]
fn pleat_lines_rule_every_side_of_every_diamond_once() {
    let fabric = "[fabric]\nroll_width = 1400\nturn_in = 75\npleat_lines = true";
    let panel = "[panel.rectangle]\nwidth = 720\nheight = 540";
    let layout = laid_out(&[("fabric", fabric), ("panel", panel)]);
    let cover = &layout.cover;
    let ruled: f64 = cover.pieces[0]
        .lines
        .iter()
        .filter(|line| line.kind == LineKind::Pleat)
        .flat_map(|line| line.points.windows(2))
        .map(|pair| pair[0].distance(pair[1]))
        .sum();
    let [w, h] = cover.marked;
    let side = (w * w + h * h).sqrt() / 2.0;
    // Each button of a short row has four sides round it, and every side ends at one.
    let short = layout.buttons.iter().filter(|b| b.name.row() % 2 == 0).count();
    let rows = layout.fitted.rows;
    assert!(rows % 2 == 1, "short rows lie between long ones");
    assert_abs_diff_eq!(ruled, 4.0 * short as f64 * side, epsilon = 1e-6);
}

/// Words, marks and lines are told apart by eye only where none covers another.
#[test]
fn no_word_stands_on_a_mark_or_a_line() {
    let fabric =
        "[fabric]\nroll_width = 1372\nturn_in = 75\nbutton_names = \"all\"\npleat_lines = true";
    let layout = laid_out(&[
        ("panel", WIDE),
        ("pattern", WIDE_PATTERN),
        ("allowance", FORTY),
        ("fabric", fabric),
    ]);
    for piece in &layout.cover.pieces {
        let (words, lines): (Vec<_>, Vec<_>) =
            piece.lines.iter().partition(|line| matches!(line.kind, LineKind::Words(_)));
        assert!(words.len() > 100, "there are words");
        let strokes = |of: &[&bradawl::layout::Drawn]| -> Vec<kurbo::Line> {
            of.iter()
                .flat_map(|line| line.points.windows(2))
                .map(|p| kurbo::Line::new((p[0].x, p[0].y), (p[1].x, p[1].y)))
                .collect()
        };
        let lines = strokes(&lines);
        for word in strokes(&words) {
            for line in &lines {
                assert!(apart(word, *line) > 0.5, "{word:?} stands on {line:?}");
            }
        }
    }
}

/// Least distance of two straight strokes.
fn apart(a: kurbo::Line, b: kurbo::Line) -> f64 {
    use kurbo::{ParamCurve, ParamCurveNearest};
    let cross = |o: kurbo::Point, p: kurbo::Point, q: kurbo::Point| (p - o).cross(q - o);
    let opposite =
        |l: kurbo::Line, m: kurbo::Line| cross(l.p0, l.p1, m.p0) * cross(l.p0, l.p1, m.p1) < 0.0;
    if opposite(a, b) && opposite(b, a) {
        return 0.0;
    }
    let from =
        |l: kurbo::Line, m: kurbo::Line| [0.0, 1.0].map(|t| m.nearest(l.eval(t), 1e-9).distance_sq);
    let all = [from(a, b), from(b, a)].concat();
    all.into_iter().fold(f64::INFINITY, f64::min).sqrt()
}

/// One full diamond with its half neighbours round it, board, foam and cover, three times.
#[test]
fn a_test_bay_is_one_diamond_at_three_allowances() {
    let layout = laid_out(&[]);
    let job = job(&job_text(&[]));
    for (bay, share) in bays(&job, &layout.fitted, &layout.cover).iter().zip([0.8, 1.0, 1.2]) {
        let made = made(bay);
        let fitted = &made.layout.fitted;
        assert_eq!(made.layout.buttons.len(), 4);
        assert_abs_diff_eq!(fitted.width, layout.fitted.width, epsilon = 1e-9);
        assert_abs_diff_eq!(fitted.height, layout.fitted.height, epsilon = 1e-9);
        let found = made.layout.cover.allowance;
        assert_abs_diff_eq!(found[0], share * layout.cover.allowance[0], epsilon = 1e-9);
        assert_abs_diff_eq!(found[1], share * layout.cover.allowance[1], epsilon = 1e-9);
        for work in ["board", "foam", "fabric"] {
            assert!(made.files.contains_key(&format!("{}{work}.nc", bay.prefix)));
        }
    }
}

/// Two names in one piece are told apart, and each piece's programs pass the dry run.
#[test]
fn every_piece_has_its_own_program_and_drawing() {
    let job = job(&job_text(&[
        ("panel", "[panel.rectangle]\nwidth = 1575\nheight = 560"),
        ("fabric", &roll(1372)),
        ("on", "[on]\nfabric = \"roll-plotter\""),
    ]));
    let made = made(&job);
    let pieces = made.layout.cover.pieces.len();
    assert_eq!(pieces, 3);
    for number in 1..=pieces {
        assert!(made.files.contains_key(&format!("fabric-{number}.nc")));
        assert!(made.files.contains_key(&format!("fabric-{number}.dxf")));
    }
    assert_eq!(made.programs.iter().filter(|p| p.plan.work == Work::Fabric).count(), pieces);
}

/// With a repeat the marked diamond divides it, and every piece is laid so that its motif lies on one of
/// the roll's.
#[test]
fn a_repeat_decides_the_diamond_and_where_pieces_lie() {
    let fabric = "[fabric]\nroll_width = 1372\nturn_in = 75\nrepeat = { across = 320, down = 480, from_edge = 100 }\nmotif = \"button\"";
    let exact = "[pattern.diamond]\nwidth = 110\nheight = 200\nfit = \"exact\"\nedge = 90";
    let text = job_text(&[
        ("title", "\"Motif\"\nquantity = 3"),
        ("panel", "[panel.rectangle]\nwidth = 1575\nheight = 560"),
        ("pattern", exact),
        ("fabric", fabric),
    ]);
    let layout = lay_out(&job(&text)).expect("a matching diamond");
    let cover = &layout.cover;
    // 320 / 2 - 60 = 100 wide, 480 / 2 - 45 = 195 high.
    assert_abs_diff_eq!(cover.marked[0], 160.0, epsilon = 1e-9);
    assert_abs_diff_eq!(cover.marked[1], 240.0, epsilon = 1e-9);
    let plain = cover.roll.without_repeat.expect("there is a repeat");
    assert!(cover.roll.length >= plain && cover.roll.least <= cover.roll.length);
    for drop in &cover.roll.drops {
        assert_abs_diff_eq!((drop.at / 480.0).round() * 480.0, drop.at, epsilon = 1e-9);
        for laid in &drop.pieces {
            // Every button stands a whole number of marked half-columns from a motif's middle.
            let (_, at) = cover.pieces[laid.piece].marks[0];
            let steps = (laid.x + at.x - 100.0) / 80.0;
            assert_abs_diff_eq!(steps, steps.round(), epsilon = 1e-6);
        }
    }
}

/// On cloth turned sideways the panel's width meets the repeat along the roll, and its height that across.
#[test]
fn a_repeat_lies_on_the_roll_also_where_the_cloth_is_turned() {
    let text = job_text(&[
        ("panel", "[panel.rectangle]\nwidth = 900\nheight = 560"),
        ("pattern", "[pattern.diamond]\nwidth = 110\nheight = 200\nfit = \"exact\"\nedge = 90"),
        (
            "fabric",
            "[fabric]\nroll_width = 1372\nturn_in = 75\npile = \"none\"\nturned = \"sideways\"\nmotif = \"button\"\n\
             repeat = { across = 480, down = 320, from_edge = 100 }",
        ),
    ]);
    let cover = lay_out(&job(&text)).expect("a matching diamond").cover;
    assert_abs_diff_eq!(cover.marked[0], 160.0, epsilon = 1e-9);
    assert_abs_diff_eq!(cover.marked[1], 240.0, epsilon = 1e-9);
    assert!(cover.drift.is_none(), "{:?}", cover.drift);
    let first = cover.roll.first_cut.expect("there is a repeat");
    // The roll may begin just past a motif.
    assert_abs_diff_eq!(cover.roll.to_buy(), cover.roll.length + 320.0, epsilon = 1e-9);
    let laid = cover.roll.drops[0].pieces[0];
    for (name, at) in &cover.pieces[0].marks {
        // Columns of half a marked diamond run along the roll, rows of half a one across it.
        let along = (at.y - first) / 80.0;
        let across = (laid.x + at.x - 100.0) / 120.0;
        assert_abs_diff_eq!(along, along.round(), epsilon = 1e-6);
        assert_abs_diff_eq!(across, across.round(), epsilon = 1e-6);
        assert_eq!((along + across).round() as i64 % 2, 0, "{name}: rows are staggered");
    }
}

/// Whoever buys the roll that a refusal names can go on.
#[test]
fn a_roll_that_would_do_does() {
    let mut named = 0;
    for (width, roll, repeat) in [
        (800, 150, ""),
        (1600, 240, ""),
        (1600, 240, "repeat = { across = 320, down = 480 }"),
        (2030, 300, "repeat = { across = 640, down = 240, from_edge = 10 }"),
        (1410, 200, "seam = 30"),
    ] {
        let text = |roll: f64| {
            job_text(&[
                ("panel", &format!("[panel.rectangle]\nwidth = {width}\nheight = 560")),
                (
                    "pattern",
                    "[pattern.diamond]\nwidth = 110\nheight = 200\nfit = \"exact\"\nedge = 90",
                ),
                ("fabric", &format!("[fabric]\nroll_width = {roll}\nturn_in = 75\n{repeat}")),
            ])
        };
        let refused = lay_out(&job(&text(f64::from(roll)))).expect_err("the roll is too narrow");
        let help = refused.iter().find_map(|refusal| {
            refusal
                .help
                .as_ref()?
                .strip_prefix("a roll of ")?
                .split_once(" mm would do")
                .map(|h| h.0.to_string())
        });
        let Some(would_do) = help else { continue };
        named += 1;
        let would_do = would_do.parse().expect("a width");
        if let Err(refused) = lay_out(&job(&text(would_do))) {
            panic!("{width} mm on {would_do}: {refused:#?}");
        }
        // A motif may push a piece in by less than the whole repeat that is allowed for.
        let narrower = lay_out(&job(&text(would_do - 1.0)));
        assert!(!repeat.is_empty() || narrower.is_err(), "{would_do} is the least");
    }
    assert!(named >= 4, "{named} refusals name a roll");
}

/// Rows of their own width leave the repeat, and the farthest is named.
#[test]
fn uneven_rows_on_a_repeat_are_said_to_drift() {
    let text = |across: &str| {
        job_text(&[
            ("pattern", "[pattern.diamond]\nwidth = 110\nheight = 200\nfit = \"exact\"\nedge = 90"),
            (
                "fabric",
                "[fabric]\nroll_width = 1372\nturn_in = 75\nrepeat = { across = 320, down = 480 }\nease = 20",
            ),
            ("allowance", &format!("[fabric.allowance.measured]\nacross = {across}\ndown = 45")),
        ])
    };
    let even = lay_out(&job(&text("60"))).expect("a matching diamond");
    assert!(even.cover.drift.is_none());
    let rows = even.fitted.rows;
    let wide: Vec<String> = (0..rows).map(|r| if r == 0 { "72" } else { "60" }.into()).collect();
    let uneven = lay_out(&job(&text(&format!("[{}]", wide.join(", "))))).expect("within the ease");
    let drift = uneven.cover.drift.expect("the first row is wider");
    assert!(drift.by[0].abs() > 2.0, "{drift:?}");
    assert!(uneven.warnings.iter().any(|w| w.contains(&format!("by button {}", drift.name))));
}

/// The rows that would reach do not make up for one that would not.
#[test]
fn a_row_too_short_is_said_though_the_mean_would_reach() {
    let with = |first: f64| {
        laid_out(&[
            ("fabric", "[fabric]\nroll_width = 1400\nturn_in = 75\nease = 20"),
            (
                "allowance",
                &format!(
                    "[fabric.allowance.measured]\nacross = [60, {first:.2}, 60, 60]\ndown = 45"
                ),
            ),
            ("pattern", "[pattern.diamond]\nwidth = 120\nrows = 4\nedge = 90"),
        ])
    };
    let least = with(60.0).cover.bounds[0].least;
    assert!(least < 60.0, "{least}");
    let short = |layout: &Layout| -> Vec<String> {
        let mut said = layout.warnings.clone();
        said.retain(|w| w.contains("TOO SHORT?") && w.contains("across"));
        said
    };
    let layout = with(least - 1.0);
    assert!(layout.cover.allowance[0] > least, "the mean reaches");
    let said = short(&layout);
    assert!(said.len() == 1 && said[0].contains("across in row 2 from the top"), "{said:?}");
    assert_eq!(short(&with(least + 1.0)), Vec::<String>::new());
}

/// A cover whose rows differ in width: what is left over is the least in the sense of squares, so the pulls
/// of a button's neighbours cancel.
#[test]
fn the_pulls_on_every_button_of_irregular_work_cancel() {
    let layout = laid_out(&[
        ("fabric", "[fabric]\nroll_width = 1400\nturn_in = 75\nease = 9"),
        ("allowance", "[fabric.allowance.measured]\nacross = [60, 68, 61, 69]\ndown = 45"),
        ("pattern", "[pattern.diamond]\nwidth = 120\nrows = 4\nedge = 90"),
    ]);
    let cover = &layout.cover;
    assert!(!cover.strained.is_empty(), "rows that differ in width are strained");
    let at = marks(&cover.pieces[0]);
    let mut pull: BTreeMap<Name, [f64; 2]> = BTreeMap::new();
    for strain in &cover.strained {
        let (a, b) = (at[&strain.from], at[&strain.to]);
        assert_abs_diff_eq!(a.distance(b), strain.found, epsilon = 1e-6);
        let over = strain.found - strain.wanted;
        let way = [(b.x - a.x) / strain.found, (b.y - a.y) / strain.found];
        for (name, sign) in [(strain.from, 1.0), (strain.to, -1.0)] {
            let sum = pull.entry(name).or_default();
            *sum = [sum[0] + sign * over * way[0], sum[1] + sign * over * way[1]];
        }
    }
    for (name, [x, y]) in pull {
        assert!((x * x + y * y).sqrt() < 1e-4, "{name} is pulled by {x}, {y}");
    }
}

/// Pieces side by side in their drops never overlap, and stay within the roll.
fn lie_apart(cover: &Cover) {
    for drop in &cover.roll.drops {
        for (i, a) in drop.pieces.iter().enumerate() {
            assert!(a.x > -1e-6 && a.x + cover.pieces[a.piece].cut[0] <= cover.roll.width + 1e-5);
            for b in &drop.pieces[i + 1..] {
                let (left, right) = (&cover.pieces[a.piece], &cover.pieces[b.piece]);
                let height = left.cut[1];
                for step in 1..200 {
                    let y = height * f64::from(step) / 200.0;
                    let reach = at_height(left, y)[1] + a.x;
                    let begin = at_height(right, y)[0] + b.x;
                    assert!(reach <= begin + 1e-6, "{reach} over {begin} at {y}");
                }
            }
        }
    }
}

/// Where a piece begins and ends at a height.
fn at_height(piece: &Piece, y: f64) -> [f64; 2] {
    let mut crossings: Vec<f64> = piece
        .outline
        .windows(2)
        .filter(|p| (p[0].y > y) != (p[1].y > y))
        .map(|p| p[0].x + (p[1].x - p[0].x) * (y - p[0].y) / (p[1].y - p[0].y))
        .collect();
    crossings.sort_by(f64::total_cmp);
    [crossings[0], crossings[crossings.len() - 1]]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    /// Whatever the panel and the roll: the pieces laid seam to seam are the whole cover, mark for mark; each
    /// fits the roll; joins are even about the centre; and the cutting plan is possible and bounded.
    #[test]
    fn pieces_laid_seam_to_seam_are_the_whole_cover(
        (width, height) in (500..2600i32, 300..900i32),
        (w, h) in (90..260i32, 120..380i32),
        kind in prop_oneof![Just("diamond"), Just("square")],
        top in prop_oneof![Just("long"), Just("short")],
        (across, down) in (20..80i32, 20..80i32),
        narrow in 700..1500u32,
        quantity in 1..6u32,
    ) {
        let text = |roll: u32| job_text(&[
            ("title", &format!("\"Trial\"\nquantity = {quantity}")),
            ("panel", &format!("[panel.rectangle]\nwidth = {width}\nheight = {height}")),
            ("pattern", &format!("[pattern.{kind}]\nwidth = {w}\nheight = {h}\ntop_row = \"{top}\"\nedge = 85")),
            ("allowance", &format!("[fabric.allowance.measured]\nacross = {across}\ndown = {down}")),
            ("fabric", &self::roll(roll)),
        ]);
        let Ok(whole) = lay_out(&job(&text(19_000))) else { return Ok(()) };
        let Ok(layout) = lay_out(&job(&text(narrow))) else { return Ok(()) };
        let cover = &layout.cover;
        prop_assert!(cover.pieces.len() % 2 == 1);
        let middle = cover.pieces[cover.pieces.len() / 2].cut[0];
        for (a, b) in cover.pieces.iter().zip(cover.pieces.iter().rev()) {
            prop_assert!(a.cut[0] <= f64::from(narrow) + 1e-6);
            prop_assert!((a.cut[0] - b.cut[0]).abs() < 1e-6, "even about the centre");
            prop_assert!(cover.pieces.len() < 3 || middle > 0.0);
        }
        let expected = marks(&whole.cover.pieces[0]);
        let found = joined(cover);
        prop_assert_eq!(expected.len(), found.len());
        let name = *expected.keys().next().expect("a button");
        let shift = [found[&name][0] - expected[&name].x, found[&name][1] - expected[&name].y];
        for (name, at) in &expected {
            prop_assert!((found[name][0] - at.x - shift[0]).abs() < 0.005, "{name}");
            prop_assert!((found[name][1] - at.y - shift[1]).abs() < 0.005, "{name}");
        }
        lie_apart(cover);
        let laid: usize = cover.roll.drops.iter().map(|drop| drop.pieces.len()).sum();
        prop_assert_eq!(laid, cover.pieces.len() * quantity as usize);
        prop_assert!(cover.roll.least <= cover.roll.length + 1e-6);
    }
}

#[test]
fn cloth_is_said_in_whole_centimetres_and_never_said_short() {
    let mut roll = laid_out(&[]).cover.roll;
    for (length, lead, takes, to_buy) in [
        (3470.0, 0.0, 3470.0, 3470.0),
        (3470.0 + 1e-9, 0.0, 3470.0, 3470.0),
        (3470.4, 0.0, 3480.0, 3480.0),
        (3474.9, 320.0, 3480.0, 3800.0),
        (3474.9, 320.1, 3480.0, 3800.0),
        (3474.9, 320.2, 3480.0, 3800.0),
        (3474.9, 325.2, 3480.0, 3810.0),
    ] {
        (roll.length, roll.lead) = (length, lead);
        assert_abs_diff_eq!(roll.takes(), takes, epsilon = 1e-9);
        assert_abs_diff_eq!(roll.to_buy(), to_buy, epsilon = 1e-9);
    }
}
