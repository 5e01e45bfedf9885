//! Boards cut out of a larger sheet.

use crate::{
    demo::{board, job, job_text, machines, made},
    messages::{job_message, refusal_of},
};
use approx::assert_relative_eq;
use bradawl::{
    layout::HoleSheet,
    machine::{ArcWords, Comments, Machine, Work},
    make::{self, Made},
    paper::Paper,
    plan::{Leg, Plan, Round, Step, Thing, mm, um},
    program::{self, Program},
    route::Effort,
    units::Unit,
    verify::{Lapse, Part, across, verify},
};
use std::collections::BTreeSet;

const ROUTER: &str = include_str!("../../machines/bench-router.toml");

/// An arched board with a socket, small enough for the bench router with its margins.
fn text(more: &str) -> String {
    let board = format!(
        "[board]\nthickness = 12\nhole = 8\n{more}\n[[opening]]\nreason = \"socket\"\nat = [180, -110]\nwidth = 70\nheight = 60\nradius = 8"
    );
    job_text(&[("panel", "[panel.arch]\nwidth = 620\nheight = 460\nrise = 120"), ("board", &board)])
}

const CUT_OUT: &str = "[board.cut_out]\nmargin = 50";

fn ways(made: &Made) -> Vec<(String, Vec<[f64; 2]>, Vec<Leg>)> {
    let cut = |step: &Step| match step {
        Step::Cut { what, from, legs } => {
            let ends = legs.iter().map(|leg| [mm(leg.to[0]), mm(leg.to[1])]);
            let places = std::iter::once(from.map(mm)).chain(ends).collect();
            Some((what.to_string(), places, legs.clone()))
        }
        _ => None,
    };
    made.programs[0].plan.steps.iter().filter_map(cut).collect()
}

/// Twice the area of a closed way's chords: positive where it turns anticlockwise. Only its last time round counts.
fn turned(places: &[[f64; 2]]) -> f64 {
    places.windows(2).map(|pair| pair[0][0] * pair[1][1] - pair[0][1] * pair[1][0]).sum()
}

#[test]
fn the_cutter_keeps_its_radius_off_the_line() {
    let made = made(&job(&text(CUT_OUT)));
    let sheet: &HoleSheet = &made.layout.board;
    assert_eq!(sheet.size, [720.0, 560.0]);
    let found = ways(&made);
    assert_eq!(
        found.iter().map(|(what, ..)| what.as_str()).collect::<Vec<_>>(),
        ["an opening", "the outline"]
    );
    for (what, places, legs) in &found {
        for at in places {
            assert_relative_eq!(sheet.inside(*at), -3.0, epsilon = 0.003);
        }
        let deepest = legs.iter().map(|leg| -mm(leg.to[2])).fold(0.0, f64::max);
        assert_relative_eq!(deepest, 12.5);
        // Where it comes by again it is deeper by no more than a bite: half the cutter.
        for (i, leg) in legs.iter().enumerate() {
            let before = legs[..i].iter().filter(|other| other.to[..2] == leg.to[..2]);
            let deepest = before.map(|other| other.to[2]).min().unwrap_or(0);
            assert!(mm(deepest - leg.to[2]) <= 3.0 + 0.002, "{what}: {i}");
        }
    }
    // The whole comes last.
    assert!(
        matches!(made.programs[0].plan.steps.last(), Some(Step::Cut { what, .. }) if what.to_string() == "the outline")
    );
}

#[test]
fn tabs_are_left_and_none_where_none_are_asked_for() {
    for (more, tabs) in [("tabs = 4", 4), ("tabs = 0", 0), ("", 6)] {
        let made = made(&job(&text(&format!("{CUT_OUT}\n{more}"))));
        let (_, _, legs) = ways(&made).pop().expect("the outline");
        let lowest = legs.iter().map(|leg| leg.to[2]).min().expect("legs");
        // On the last time round every lift from the bottom is a tab.
        let from = legs.iter().position(|leg| leg.to[2] == lowest).expect("the bottom is reached");
        let last: Vec<&Leg> = legs[from..].iter().collect();
        let lifts =
            last.windows(2).filter(|pair| pair[0].to[2] == lowest && pair[1].to[2] > lowest);
        assert_eq!(lifts.clone().count(), tabs, "{more}");
        for pair in lifts {
            assert_eq!(mm(pair[1].to[2]), -9.0, "3 mm are left");
            assert_eq!(pair[0].to[..2], pair[1].to[..2], "straight up");
        }
    }
}

#[test]
fn climbing_goes_round_the_outline_clockwise_and_round_openings_the_other_way() {
    for (cut, side) in [("climb", -1.0), ("conventional", 1.0)] {
        let made = made(&job(&text(&format!("{CUT_OUT}\ncut = \"{cut}\""))));
        for (what, places, legs) in ways(&made) {
            let wanted = if what == "the outline" { side } else { -side };
            assert!(turned(&places) * wanted > 0.0, "{cut}, {what}");
            let way = if wanted > 0.0 { Round::Anticlockwise } else { Round::Clockwise };
            // Convex, so that every arc turns as the whole does.
            assert!(legs.iter().filter_map(|leg| leg.round).all(|(_, round)| round == way));
        }
    }
}

#[test]
fn every_way_of_speaking_is_proven_alike() {
    let job = job(&text(
        "engraved = \"NOOK 4\"\n[board.cut_out]\nmargin = 50\n[[board.holes]]\nreason = \"dowel\"\nat = [0, -195]\ndiameter = 10\n[[board.holes]]\nreason = \"cleat\"\nat = [-280, -40]\ndiameter = 8\ndepth = 7",
    ));
    let speak = |change: &dyn Fn(&mut Machine)| {
        let mut machines = machines();
        change(machines.get_mut("bench-router").expect("there"));
        let wanted = make::Wanted {
            job: &job,
            machines: &machines,
            works: &[Work::Board],
            effort: Effort::Quick,
            paper: Paper::A4,
        };
        let made = make::make(&wanted, &|_| {});
        let made = made.unwrap_or_else(|refused| panic!("{refused:#?}"));
        made.programs[0].verified.text().to_string()
    };
    let plain = speak(&|_| {});
    assert!(plain.contains("G2 X") || plain.contains("G3 X"));
    assert!(plain.contains("leave the tabs until the spindle stands still"));
    let chords = speak(&|machine| machine.speech.arcs = false);
    assert!(!chords.contains("G2 X") && !chords.contains("G3 X"));
    let radius = speak(&|machine| machine.speech.arc_words = ArcWords::Radius);
    assert!(radius.contains(" R"));
    let inches = speak(&|machine| (machine.speech.unit, machine.speech.decimals) = (Unit::Inch, 4));
    assert!(inches.contains("G20"));
    speak(&|machine| machine.speech.comments = Comments::Semicolon);
    speak(&|machine| machine.speech.drill_cycle = true);
}

/// All of it is held against the layout's own outline, not only against the plan.
#[test]
fn a_cut_into_the_panel_is_found_by_the_proof_over_the_sheet() {
    let made = made(&job(&text(CUT_OUT)));
    let program = &made.programs[0];
    let parts =
        [Part { plan: &program.plan, machine: &program.machine, verified: &program.verified }];
    assert!(across(&made.layout.board, &parts).is_ok());
    let mut larger = made.layout.board.clone();
    larger.edge.iter_mut().for_each(|corner| corner.at[0] += 0.1);
    let lapses = across(&larger, &parts).expect_err("a tenth of a millimetre is gouged");
    assert!(lapses.iter().any(|lapse| lapse.name() == "gouged"), "{lapses:?}");
    let mut one_more = made.layout.board.clone();
    let mut other = one_more.places[0];
    other.1.x += 40.0;
    one_more.places.push(other);
    let lapses = across(&one_more, &parts).expect_err("a hole is not made");
    assert!(lapses.iter().any(|lapse| lapse.name() == "not-made"), "{lapses:?}");
}

#[test]
fn other_holes_are_bored_or_drilled_as_deep_as_asked() {
    let made = made(&job(&text(
        "[[board.holes]]\nreason = \"dowel\"\nat = [0, -195]\ndiameter = 10\n[[board.holes]]\nreason = \"cleat\"\nat = [-280, -40]\ndiameter = 8\ndepth = 7",
    )));
    let steps = &made.programs[0].plan.steps;
    let named = |wanted: &str| {
        let it = steps.iter().find(|step| match step {
            Step::Drill { name, .. } | Step::Bore { name, .. } => name.to_string() == wanted,
            _ => false,
        });
        it.expect("made").clone()
    };
    assert!(
        matches!(named("H1"), Step::Bore { circle: 2000, depth: 12500, .. }),
        "{:?}",
        named("H1")
    );
    assert!(matches!(named("H2"), Step::Drill { depth: 7000, .. }), "{:?}", named("H2"));
    assert_eq!(
        made.layout.board.size,
        [620.0, 460.0],
        "nothing is cut out, so there is no larger sheet"
    );
}

macro_rules! messages {
    ($($name:ident: $text:expr;)*) => {$(
        #[test]
        fn $name() {
            insta::assert_snapshot!(stringify!($name), job_message(&$text));
        }
    )*};
}

messages! {
    board_holes_out_of_place: text("[[board.holes]]\nreason = \"bolt\"\nat = [305, 0]\ndiameter = 10\n[[board.holes]]\nreason = \"cleat\"\nat = [-215, -40]\ndiameter = 20\n[[board.holes]]\nreason = \"dowel\"\nat = [-215, -35]\ndiameter = 10\ndepth = 5");
    a_hole_as_deep_as_the_board: text("[[board.holes]]\nreason = \"bolt\"\nat = [0, -195]\ndiameter = 10\ndepth = 12");
    tabs_as_high_as_the_board: text("cut_out = { tab_height = 12 }");
    words_without_room: text("engraved = \"A long name for a small board\"\nengraved_height = 90");
    words_of_nothing: text("engraved = \"  \"");
    words_too_deep: text("engraved = \"NOOK\"\nengraved_depth = 7");
}

#[test]
fn a_machine_that_cannot_cut_the_board_says_why() {
    let no_cutter = ROUTER.replace("peck     = 3", "peck     = 3\nsideways = false");
    let short = ROUTER.replace("reach    = 32", "reach    = 10");
    let slow = ROUTER.replace("rpm      = 16000", "rpm      = 40000");
    let bolt = "[[board.holes]]\nreason = \"bolt\"\nat = [0, -195]\ndiameter = 20";
    // As large as the bed, so that it lies in one way only.
    let tight = ROUTER.replace("over = { left = 2000, right = 2000, near = 120, far = 120 }", "")
        + "\n[[keep_clear]]\nx = [860, 900]\ny = [570, 600]\nheight = 25\n";
    let full = job_text(&[
        ("panel", "[panel.rectangle]\nwidth = 840\nheight = 540"),
        ("board", "[board]\nthickness = 12\nhole = 8\ncut_out = { margin = 30 }"),
    ]);
    // Whichever side is near, both its edges lie over.
    let square = job_text(&[
        ("panel", "[panel.rectangle]\nwidth = 760\nheight = 760"),
        ("board", "[board]\nthickness = 12\nhole = 8\ncut_out = { margin = 30 }"),
        ("fabric", "[fabric]\nroll_width = 3000\nturn_in = 75"),
    ]);
    let glued = job_text(&[
        ("board", "[board]\nthickness = 12\nhole = 8\nface_up = \"front\"\ncut_out = true"),
        ("foam", "[foam]\nthickness = 40\nhole = 30\nbonded = true"),
    ]);
    let loose = job_text(&[
        ("panel", "[panel.rectangle]\nwidth = 1400\nheight = 480"),
        ("board", "[board]\nthickness = 12\nhole = 8\ncut_out = { margin = 30, tabs = 2 }"),
        ("fabric", "[fabric]\nroll_width = 3000\nturn_in = 75"),
    ]);
    let slot = job_text(&[
        (
            "panel",
            "[panel.polygon]\npoints = [[0, 0], [600, 0], [600, 400], [304, 400], [304, 340], [299, 340], [299, 400], [0, 400]]",
        ),
        ("board", "[board]\nthickness = 12\nhole = 8\ncut_out = { margin = 50 }"),
    ]);
    let long_bit = ROUTER.replace("reach    = 60", "reach    = 90").replace("z = 80 ", "z = 120 ");
    let notch = job_text(&[
        (
            "panel",
            "[panel.polygon]\npoints = [[0, 0], [600, 0], [600, 400], [304, 400], [304, 384], [320, 384], [320, 364], [280, 364], [280, 384], [302, 384], [302, 400], [0, 400]]",
        ),
        ("board", "[board]\nthickness = 12\nhole = 8\ncut_out = { margin = 50 }"),
    ]);
    let narrow = job_text(&[
        ("panel", "[panel.rectangle]\nwidth = 620\nheight = 460"),
        (
            "board",
            "[board]\nthickness = 12\nhole = 8\ncut_out = true\n[[opening]]\nreason = \"cable\"\nat = [0, 0]\nwidth = 40\nheight = 5",
        ),
    ]);
    let cases = [
        ("no_cutter_for_the_board", text(CUT_OUT), no_cutter.as_str()),
        ("no_cutter_long_enough", text(CUT_OUT), short.as_str()),
        ("a_cutter_the_spindle_cannot_turn", text(CUT_OUT), slow.as_str()),
        ("a_hole_no_tool_makes", text(bolt), ROUTER),
        (
            "a_hole_deeper_than_the_tool",
            text("[[board.holes]]\nreason = \"bolt\"\nat = [0, -195]\ndiameter = 10"),
            short.as_str(),
        ),
        ("a_margin_too_narrow", text("cut_out = { margin = 4 }"), ROUTER),
        ("a_clamp_in_the_way_of_the_cut", full, tight.as_str()),
        ("a_cut_out_of_reach", square, ROUTER),
        ("a_cut_under_glued_foam", glued, long_bit.as_str()),
        ("a_notch_too_narrow", notch, ROUTER),
        ("a_slot_too_narrow", slot, ROUTER),
        ("a_board_loose_between_set_ups", loose, ROUTER),
        ("tabs_too_long_to_hold", text("cut_out = { margin = 30, tab_length = 900 }"), ROUTER),
        ("an_opening_too_narrow", narrow, ROUTER),
    ];
    for (name, job, router) in cases {
        insta::assert_snapshot!(name, refusal_of(&job, "bench-router", router, Work::Board));
    }
}

#[test]
fn a_tool_changed_over_the_work_is_objected_to() {
    let made = made(&job(&text(CUT_OUT)));
    let program = &made.programs[0];
    let lines: Vec<&str> = program.verified.text().lines().collect();
    let call = lines.iter().position(|line| *line == "T3").expect("a second tool");
    let place = lines[..call].iter().rposition(|line| line.starts_with("G0 X")).expect("a place");
    let without: Vec<&str> =
        lines.iter().enumerate().filter(|(i, _)| *i != place).map(|(_, line)| *line).collect();
    let wrong =
        verify(without.join("\n") + "\n", &program.plan, &program.machine).expect_err("wrong");
    let names: Vec<&str> = wrong.iter().map(|objection| objection.name()).collect();
    assert_eq!(names, ["changed-elsewhere"]);
    // A hair beside the place for it, on each side.
    for (axis, letter) in ['X', 'Y'].iter().enumerate() {
        for (by, objected) in [(0.005, false), (-0.005, false), (0.006, true), (-0.006, true)] {
            let mut at = program.plan.change_at.map(mm);
            let park = format!("G0 X{:.3} Y{:.3}", at[0], at[1]);
            assert_eq!(lines[place], park);
            at[axis] += by;
            let mut beside: Vec<String> = lines.iter().map(|line| line.to_string()).collect();
            beside[place] = format!("G0 X{:.3} Y{:.3}", at[0], at[1]);
            assert_eq!(
                said(program, &beside).contains("changed-elsewhere"),
                objected,
                "{letter} {by}"
            );
        }
    }
}

/// The lines with every word of place in each move, so that one can be spoilt by itself.
fn in_full(text: &str) -> Vec<String> {
    let mut at = ["X0.000", "Y0.000", "Z0.000"].map(str::to_string);
    let full = |line: &str| {
        let words: Vec<&str> = line.split(' ').collect();
        for word in &words {
            if let Some(axis) = ["X", "Y", "Z"].iter().position(|axis| word.starts_with(axis)) {
                at[axis] = word.to_string();
            }
        }
        if !["G1", "G2", "G3"].contains(&words[0]) {
            return line.to_string();
        }
        let rest: Vec<&str> =
            words[1..].iter().filter(|word| !word.starts_with(['X', 'Y', 'Z'])).copied().collect();
        format!("{} {} {}", words[0], at.join(" "), rest.join(" "))
    };
    text.lines().map(full).collect()
}

fn place([x, y, z]: [f64; 3]) -> String {
    format!("X{x:.3} Y{y:.3} Z{z:.3}")
}

/// What is said of these lines, each kind once.
fn said(program: &Program, lines: &[String]) -> BTreeSet<&'static str> {
    let verdict = verify(lines.join("\n") + "\n", &program.plan, &program.machine);
    verdict.err().iter().flatten().map(|objection| objection.name()).collect()
}

/// An opening's way, one line of it spoilt: arcs and straight legs of one program, chords of another.
#[test]
fn a_cut_that_leaves_its_way_is_objected_to() {
    let job = job(&text(CUT_OUT));
    for arcs in [true, false] {
        let mut machines = machines();
        machines.get_mut("bench-router").expect("there").speech.arcs = arcs;
        let made = board(&job, &machines).expect("it can be made");
        let program = &made.programs[0];
        let lines = in_full(program.verified.text());
        assert_eq!(said(program, &lines), BTreeSet::new());
        let legs = program.plan.steps.iter().find_map(|step| match step {
            Step::Cut { legs, .. } => Some(legs),
            _ => None,
        });
        let legs = legs.expect("the opening is cut");
        let line_of = |leg: &Leg| {
            let ends = place(leg.to.map(mm));
            lines.iter().position(|line| line.contains(&ends)).expect("it is written")
        };
        let spoilt = |range: std::ops::Range<usize>, with: &[String]| {
            said(program, &[&lines[..range.start], with, &lines[range.end..]].concat())
        };
        let off_the_way = BTreeSet::from(["cut-missing", "unplanned-contact"]);
        // Between two straight legs, upright on the sheet.
        let straight = |at: usize| legs[at..at + 3].iter().all(|leg| leg.round.is_none());
        let at = (0..legs.len() - 3).rfind(|&at| straight(at)).expect("straight legs") + 1;
        let (end, i) = (legs[at].to.map(mm), line_of(&legs[at]));
        for axis in 0..3 {
            for (by, objected) in [(0.005, false), (-0.005, false), (0.006, true), (-0.006, true)] {
                let mut to = end;
                to[axis] += by;
                let found = spoilt(i..i + 1, &[format!("G1 {} F1200", place(to))]);
                assert_eq!(!found.is_empty(), objected, "{axis} {by}: {found:?}");
            }
        }
        let bent = [format!("G2 {} R900 F1200", place(end))];
        assert!(spoilt(i..i + 1, &bent).is_superset(&off_the_way));
        // Twice over.
        let from = lines[..i].iter().rposition(|line| line.starts_with("G0 X")).expect("a way");
        let to = i + lines[i..].iter().position(|line| line.starts_with("G0 X")).expect("on");
        assert_eq!(spoilt(to..to, &lines[from..to]), BTreeSet::from(["cut-doubled"]));
        // Aside before it rises, and up at a feed.
        let rise = i + lines[i..].iter().position(|line| line.starts_with("G0 Z")).expect("up");
        let aside = |by: f64| [format!("G1 X{:.3} F1200", mm(legs[legs.len() - 1].to[0]) + by)];
        assert_eq!(spoilt(rise..rise, &aside(3.0)), off_the_way);
        assert_eq!(spoilt(rise..rise, &aside(-3.0)), off_the_way);
        assert_eq!(spoilt(rise..rise, &["G1 Z2.000 F1200".to_string()]), off_the_way);
        // Round a corner of the opening.
        let (leg, round) = legs.iter().rev().find_map(|leg| Some((leg, leg.round?))).expect("arcs");
        let (end, centre, i) = (leg.to.map(mm), round.0.map(mm), line_of(leg));
        let (way, other) = match round.1 {
            Round::Clockwise => ("G2", "G3"),
            Round::Anticlockwise => ("G3", "G2"),
        };
        let turn = |way: &str, radius: &str| [format!("{way} {} R{radius} F1200", place(end))];
        if arcs {
            assert_eq!(spoilt(i..i + 1, &turn(way, "5.001")), BTreeSet::new());
            for wrong in [
                turn(way, "5.02"),
                turn(way, "4.98"),
                turn(other, "5"),
                [format!("G1 {} F1200", place(end))],
            ] {
                assert_eq!(spoilt(i..i + 1, &wrong), off_the_way, "{wrong:?}");
            }
            continue;
        }
        // In the middle of its chords.
        let i = i - 4;
        let number = |line: &str, letter: char| -> f64 {
            let word = line.split(' ').find_map(|word| word.strip_prefix(letter)).expect("a word");
            word.parse().expect("a number")
        };
        let here = ['X', 'Y', 'Z'].map(|letter| number(&lines[i], letter));
        let aside = |by: f64| {
            let [x, y] =
                [0, 1].map(|axis| centre[axis] + (here[axis] - centre[axis]) * (1.0 + by / 5.0));
            [format!("G1 {} F1200", place([x, y, here[2]]))]
        };
        let lower = |by: f64| [format!("G1 {} F1200", place([here[0], here[1], here[2] - by]))];
        for near in [aside(0.003), aside(-0.003)] {
            assert_eq!(spoilt(i..i + 1, &near), BTreeSet::new(), "{near:?}");
        }
        for far in [aside(0.008), aside(-0.008), lower(0.06), lower(-0.06)] {
            assert_eq!(spoilt(i..i + 1, &far), off_the_way, "{far:?}");
        }
        // Left out; there, back and there again; bent.
        assert_eq!(spoilt(i..i + 1, &[]), off_the_way);
        let again = [lines[i - 1].clone(), lines[i].clone()];
        assert_eq!(spoilt(i + 1..i + 1, &again), off_the_way);
        let bent = [format!("{way} {} R2 F1200", place(here))];
        assert!(spoilt(i..i + 1, &bent).is_superset(&off_the_way));
    }
}

/// Where the proof over the sheet begins to object: the sheet is another than the one that was cut.
#[test]
fn a_sheet_hardly_other_than_what_was_cut_is_told_from_it() {
    let job = job(&text("engraved = \"NOOK 4\"\n[board.cut_out]\nmargin = 50\ntabs = 6"));
    // Chords may be so far from their arcs.
    for (arcs, graze) in [(true, 0.02), (false, 0.04)] {
        let mut machines = machines();
        machines.get_mut("bench-router").expect("there").speech.arcs = arcs;
        let made = board(&job, &machines).expect("it can be made");
        let program = &made.programs[0];
        let sheet = &made.layout.board;
        let names = |sheet: &HoleSheet, p: &Program| {
            let part = Part { plan: &p.plan, machine: &p.machine, verified: &p.verified };
            let lapses = across(sheet, &[part]).err();
            lapses.iter().flatten().map(Lapse::name).collect::<BTreeSet<_>>()
        };
        let spoilt = |plan: Plan| {
            let program = program::prove("Trial", plan, &program.machine);
            names(sheet, &program.unwrap_or_else(|why| panic!("sound by itself: {why:?}")))
        };
        let other = |change: &dyn Fn(&mut HoleSheet)| {
            let mut sheet = sheet.clone();
            change(&mut sheet);
            names(&sheet, program)
        };
        let moved = |by: f64| {
            other(&move |sheet| sheet.edge.iter_mut().for_each(|corner| corner.at[0] += by))
        };
        let nothing = BTreeSet::new();
        assert_eq!(moved(0.017), nothing);
        assert!(moved(graze + 0.003).contains("gouged"));
        if !arcs {
            continue;
        }
        // The cutter goes half a millimetre into the spoilboard, and over a tab it leaves 3 mm.
        let tab = sheet.tabs.height;
        let thicker = |by: f64| {
            other(&move |sheet| {
                (sheet.thickness, sheet.tabs.height) = (12.5 + by, tab + 0.5 + by);
            })
        };
        assert_eq!(thicker(0.004), nothing);
        assert_eq!(thicker(0.006), BTreeSet::from(["not-cut"]));
        assert_eq!(other(&|sheet| sheet.tabs.height -= 0.004), nothing);
        assert_eq!(other(&|sheet| sheet.tabs.height -= 0.006), BTreeSet::from(["not-cut"]));
        assert_eq!(other(&|sheet| sheet.engraved_depth += 0.004), nothing);
        assert_eq!(other(&|sheet| sheet.engraved_depth += 0.006), BTreeSet::from(["not-cut"]));
        assert_eq!(
            other(&|sheet| sheet.engraved_depth -= 0.006),
            BTreeSet::from(["gouged", "not-cut"])
        );
        // A tab is told every two millimetres at both ends.
        assert_eq!(other(&|sheet| sheet.tabs.length -= 3.5), nothing);
        assert_eq!(other(&|sheet| sheet.tabs.length -= 7.0), BTreeSet::from(["not-cut"]));
        // Six are left. A short way has room for fewer than are asked for, and three hold it.
        assert_eq!(other(&|sheet| sheet.tabs.count = 7), nothing);
        assert_eq!(other(&|sheet| sheet.tabs.count = 5), BTreeSet::from(["wrong-tabs"]));
        let mut plan = program.plan.clone();
        for step in &mut plan.steps {
            let Step::Cut { what: Thing::Way("the outline"), legs, .. } = step else { continue };
            let lowest = legs.iter().map(|leg| leg.to[2]).min().expect("legs");
            let right = legs.iter_mut().filter(|leg| leg.to[0] < um(sheet.size[0] - 150.0));
            right.filter(|leg| leg.to[2] == um(tab - 12.0)).for_each(|leg| leg.to[2] = lowest);
            legs.dedup_by_key(|leg| leg.to);
        }
        assert_eq!(spoilt(plan), BTreeSet::from(["wrong-tabs"]));
        // Tabs a little lower than asked for, and shorter.
        assert_eq!(other(&|sheet| sheet.tabs.height += 0.004), nothing);
        assert_eq!(other(&|sheet| sheet.tabs.height += 0.006), BTreeSet::from(["weak-tab"]));
        assert_eq!(other(&|sheet| sheet.tabs.length += 6.0), nothing);
        assert_eq!(other(&|sheet| sheet.tabs.length += 12.0), BTreeSet::from(["weak-tab"]));
        // A groove as deep as the letters, which are elsewhere; a letter half as long again.
        let [x, y] = [sheet.size[0] / 2.0, 100.0].map(um);
        let groove = |from: [i64; 2], to: [i64; 2]| {
            let mut plan = program.plan.clone();
            let depth = -um(sheet.engraved_depth);
            let legs = [from, to].map(|[x, y]| Leg { to: [x, y, depth], round: None }).to_vec();
            plan.steps.push(Step::Cut { what: Thing::Words, from, legs });
            spoilt(plan)
        };
        assert_eq!(groove([x, y], [x + um(60.0), y]), BTreeSet::from(["gouged"]));
        let stroke = sheet.engraved.iter().find(|stroke| stroke.len() == 2).expect("a bar");
        let [a, b] = [0, 1].map(|i| [um(stroke[i].x), um(stroke[i].y)]);
        assert_eq!(groove(a, b), nothing);
        let on = [0, 1].map(|axis| b[axis] + (b[axis] - a[axis]) / 2);
        assert_eq!(groove(a, on), BTreeSet::from(["gouged"]));
        // A stroke of a letter is not cut, or the opening.
        let mut plan = program.plan.clone();
        let words = |step: &Step| matches!(step, Step::Cut { what: Thing::Words, .. });
        plan.steps.remove(plan.steps.iter().rposition(words).expect("letters"));
        assert_eq!(spoilt(plan), BTreeSet::from(["not-cut"]));
        let mut plan = program.plan.clone();
        plan.steps.retain(|step| !matches!(step, Step::Cut { what: Thing::Way("an opening"), .. }));
        assert_eq!(spoilt(plan), BTreeSet::from(["not-cut"]));
    }
}
