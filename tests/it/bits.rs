//! Several bits in one program: spotted, drilled smaller, drilled to size; changed as seldom as can be.

use crate::demo::{home, job, job_text, machines, source};
use bradawl::{
    layout::HoleSheet,
    machine::{self, Machine, Work},
    make::{self, Made, Refused, Wanted},
    paper::Paper,
    plan::{Plan, Step, mm, um},
    program,
    route::{Cost, Effort},
    verify::{self, Part, across},
};
use std::{
    collections::{BTreeMap, BTreeSet},
    fs,
};

/// A spotting bit, and a thinner bit that goes first.
const MORE: &str = r#"
[[tool]]
number   = 4
name     = "spotting bit"
work     = ["board"]
diameter = 10
reach    = 40
rpm      = 5000
feed     = 200
spots    = 1.5

[[tool]]
number   = 5
name     = "5 mm bit"
work     = ["board"]
diameter = 5
reach    = 50
rpm      = 4000
feed     = 250
peck     = 6
sideways = false
"#;

/// The bench router with three bits for a hole of 8 mm, and this in its `[speech]`.
fn three_bits(speech: &str) -> BTreeMap<String, Machine> {
    let text = fs::read_to_string(home().join("machines/bench-router.toml")).expect("it is there");
    let (before, after) = text.split_once("tool_change = \"pause\"").expect("it says so");
    let follows = after.replacen("peck     = 8 ", "follows  = 5\npeck     = 8 ", 1);
    assert_ne!(follows, after);
    let text = format!("{before}{speech}{follows}{MORE}");
    let router = machine::read("bench-router", &source(&text))
        .unwrap_or_else(|wrong| panic!("{wrong:#?}\n{text}"));
    let mut machines = machines();
    machines.insert("bench-router".to_string(), router);
    machines
}

const PAUSE: &str = "tool_change = \"pause\"";

fn make(text: &str, machines: &BTreeMap<String, Machine>) -> Made {
    crate::demo::board(&job(text), machines).unwrap_or_else(|refused| panic!("{refused:#?}"))
}

/// Which tools go into each place, in turn.
fn bits_of(plan: &Plan) -> BTreeMap<[i64; 2], Vec<u32>> {
    let mut fitted = 0;
    let mut bits: BTreeMap<[i64; 2], Vec<u32>> = BTreeMap::new();
    for step in &plan.steps {
        match step {
            Step::Fit { tool, .. } => fitted = *tool,
            Step::Drill { at, .. } | Step::Bore { at, .. } => {
                bits.entry(*at).or_default().push(fitted);
            }
            _ => {}
        }
    }
    bits
}

#[test]
fn every_hole_is_spotted_then_drilled_thinner_then_to_size_with_two_changes() {
    let made = make(&job_text(&[]), &three_bits(PAUSE));
    let plan = &made.programs[0].plan;
    assert_eq!(plan.fitted(), [4, 5, 1]);
    let bits = bits_of(plan);
    assert_eq!(bits.len(), made.layout.board.places.len());
    assert_eq!(plan.holes(), bits.len());
    assert!(bits.values().all(|tools| tools == &[4, 5, 1]), "{bits:?}");
    for step in &plan.steps {
        if let Step::Drill { depth, .. } = step {
            assert!([1.5, 12.5].contains(&mm(*depth)));
        }
    }
    // Each bit at its own speed.
    let text = made.programs[0].verified.text();
    for says in ["S5000\n", "F200.000", "S4000\n", "F250.000", "S3000\n", "F300.000"] {
        assert!(text.contains(says), "{says}\n{text}");
    }
    assert!(text.contains("(Tools in turn: 4, 5, 1)"));
    // Touched off each time at one stated place, where no hole is.
    let [x, y] = plan.touch_at.map(mm);
    let again = format!("touch off Z0 at X {x} Y {y} again");
    assert_eq!(text.matches(&again).count(), 2, "{text}");
    assert!(bits.keys().all(|at| Cost::Distance.between(at.map(mm), [x, y]) > 14.0));
    let sheet = String::from_utf8(made.files["sheet.html"].clone()).expect("text");
    for tool in ["4: spotting bit", "5: 5 mm bit", "1: 8 mm brad-point bit"] {
        assert!(sheet.contains(tool), "{tool}");
    }
}

#[test]
fn what_the_travel_is_said_to_be_is_what_the_program_travels() {
    let mut machines = three_bits(PAUSE);
    machines.get_mut("bench-router").expect("there").motion.change_at = [450.0, 300.0];
    let made = make(&job_text(&[]), &machines);
    let program = &made.programs[0];
    let travelled: f64 = program
        .verified
        .trace()
        .iter()
        .map(|step| Cost::Distance.between([step.from[0], step.from[1]], [step.to[0], step.to[1]]))
        .sum();
    let travel = program.plan.travel;
    assert!((travelled - travel.mm).abs() < 0.01, "{travelled} {travel:?}");
    assert!(travel.mm >= travel.mm_bound && travel.seconds >= travel.seconds_bound, "{travel:?}");
}

#[test]
fn tools_are_changed_as_the_machine_speaks() {
    let changed = |speech: &str| make(&job_text(&[]), &three_bits(speech)).programs.remove(0);
    let plain = changed(PAUSE);
    let by_m6 = changed("tool_change = \"M6\"");
    let by_length = changed("tool_change = \"M6\"\nlength_offset = true");
    for program in [&by_m6, &by_length] {
        assert_eq!(program.plan.steps, plain.plan.steps);
    }
    let count = |text: &str, word: &str| text.lines().filter(|line| *line == word).count();
    assert_eq!(count(plain.verified.text(), "M0"), 3);
    // Nobody has told this one how long its tools are: it stops, so that they can be touched off.
    assert_eq!(count(by_m6.verified.text(), "M0"), 3);
    assert_eq!(count(by_length.verified.text(), "M0"), 0);
    for tool in [4, 5, 1] {
        assert!(by_length.verified.text().contains(&format!("T{tool} M6\nG43 H{tool}\n")));
    }
}

#[test]
fn work_in_several_set_ups_has_all_bits_in_each_and_dowels_in_holes_of_full_size() {
    let text = job_text(&[
        ("panel", "[panel.rectangle]\nwidth = 2030\nheight = 760"),
        ("pattern", "[pattern.diamond]\nwidth = 200\nheight = 290\nedge = 90"),
        ("fabric", "[fabric]\nroll_width = 3400\nturn_in = 75"),
        ("allowance", "[fabric.allowance.measured]\nacross = 32\ndown = 32"),
    ]);
    let made = make(&text, &three_bits(PAUSE));
    assert_eq!(made.programs.len(), 3);
    let mut places = 0;
    for program in &made.programs {
        let bits = bits_of(&program.plan);
        places += bits.len();
        assert!(bits.values().all(|tools| tools == &[4, 5, 1]));
    }
    assert_eq!(places, made.layout.board.places.len());
}

/// Accepted programs of three bits, with their changes spoilt.
#[test]
fn spoilt_tool_changes_are_objected_to() {
    for speech in [PAUSE, "tool_change = \"M6\"\nlength_offset = true"] {
        let program = make(&job_text(&[]), &three_bits(speech)).programs.remove(0);
        let lines: Vec<String> = program.verified.text().lines().map(str::to_string).collect();
        let start = |words: &str| lines.iter().position(|line| line.starts_with(words));
        let [first, second, third] =
            ["T4", "T5", "T1"].map(|tool| start(tool).expect("it is fitted"));
        assert!(first < second && second < third);
        // From one change to the next, with the spindle's stop before it.
        let stop = |from: usize| (0..from).rev().find(|&i| lines[i] == "M5").expect("it stops");
        let (b, c) = (stop(second), stop(third));
        let end = lines.iter().rposition(|line| line == "M5").expect("it stops");
        let mut spoilt: Vec<(&str, Vec<String>, &str)> = Vec::new();
        let with = |at: usize, line: &str| {
            let mut lines = lines.clone();
            lines[at] = line.to_string();
            lines
        };
        let without =
            |range: std::ops::Range<usize>| [&lines[..range.start], &lines[range.end..]].concat();
        let called = |tool: &str| lines[second].replacen("T5", tool, 1);
        spoilt.push((
            "the last bit fitted in place of the thin one",
            with(second, &called("T1")),
            "hole-out-of-turn",
        ));
        spoilt.push(("a bit that is not there", with(second, &called("T9")), "unknown-tool"));
        spoilt.push(("the thin bit left out", without(b..c), "hole-missing"));
        spoilt.push(("the last bit left out", without(c..end), "hole-missing"));
        let swapped = [&lines[..b], &lines[c..end], &lines[b..c], &lines[end..]].concat();
        spoilt.push(("the last bit before the thin one", swapped, "hole-out-of-turn"));
        let twice = [&lines[..c], &lines[b..]].concat();
        spoilt.push(("the thin bit twice over", twice, "hole-doubled"));
        let place = (second..third).find(|&i| lines[i].starts_with("G0 X") && i > second + 8);
        let place = place.expect("it drills");
        let next = (place + 1..third).find(|&i| lines[i].starts_with("G0 X")).expect("and goes on");
        spoilt.push(("one place left out by the thin bit", without(place..next), "hole-missing"));
        let speed = (second..third).find(|&i| lines[i].starts_with('S')).expect("a speed");
        spoilt.push(("the speed of the bit before", with(speed, "S8000"), "too-fast-for-tool"));
        let starts = (second..third).find(|&i| lines[i] == "M3").expect("it starts");
        spoilt.push((
            "the spindle not started again",
            without(starts..starts + 1),
            "spindle-stopped",
        ));
        if speech == PAUSE {
            // M6 stops the spindle by itself; hands come near at a pause.
            spoilt.push((
                "the spindle left turning at the change",
                without(b..b + 1),
                "tool-change-turning",
            ));
            let pause = (second..third).find(|&i| lines[i] == "M0").expect("it pauses");
            spoilt.push(("no pause for the change", without(pause..pause + 1), "tool-not-changed"));
        } else {
            let length = start("G43 H5").expect("its length");
            spoilt.push((
                "the length of another tool",
                with(length, "G43 H4"),
                "wrong-length-offset",
            ));
            spoilt.push(("no length", without(length..length + 1), "wrong-length-offset"));
        }
        for (what, lines, objection) in spoilt {
            let text = lines.join("\n") + "\n";
            let wrong = verify::verify(text, &program.plan, &program.machine);
            let names: BTreeSet<&str> = match wrong {
                Ok(_) => panic!("{what}: accepted"),
                Err(objections) => objections.iter().map(|o| o.name()).collect(),
            };
            let found = names.contains(objection);
            assert!(found, "{speech}: {what}: {names:?}");
        }
    }
}

/// The proof over the whole sheet knows the diameter from the layout, not from the plan.
#[test]
fn a_plan_whose_last_bit_leaves_another_diameter_is_objected_to() {
    let machines = three_bits(PAUSE);
    let made = make(&job_text(&[]), &machines);
    let sheet: &HoleSheet = &made.layout.board;
    let hold = |plan: &Plan| {
        let program = program::prove("Trial", plan.clone(), &machines["bench-router"])
            .unwrap_or_else(|why| panic!("sound by itself: {why:?}"));
        let part =
            Part { plan: &program.plan, machine: &program.machine, verified: &program.verified };
        let lapses = across(sheet, &[part]).err().unwrap_or_default();
        lapses.iter().map(|lapse| lapse.name()).collect::<BTreeSet<_>>()
    };
    let plan = &made.programs[0].plan;
    assert!(hold(plan).is_empty());
    let fit = |number: u32| {
        let fits = |step: &Step| matches!(step, Step::Fit { tool, .. } if *tool == number);
        plan.steps.iter().position(fits).expect("it is fitted")
    };
    // Without the last bit every hole stays too thin.
    let thin = Plan { steps: plan.steps[..fit(1)].to_vec(), ..plan.clone() };
    assert_eq!(hold(&thin), BTreeSet::from(["wrong-diameter"]));
    // The last bit first, the thin one after it: the hole has its size, but the last bit did not make it.
    let [a, b, c] = [fit(4), fit(5), fit(1)];
    let steps = [&plan.steps[a..b], &plan.steps[c..], &plan.steps[b..c]].concat();
    let turned = Plan { steps, ..plan.clone() };
    assert_eq!(hold(&turned), BTreeSet::from(["wrong-diameter"]));
    // Only marked where they start.
    let spotted = Plan { steps: plan.steps[..b].to_vec(), ..plan.clone() };
    assert_eq!(hold(&spotted), BTreeSet::from(["wrong-depth", "wrong-diameter"]));
    // The wide bit for the marks goes deeper than it may, and stands in the hole for good.
    let deep = |bit: u32, depth: f64| {
        let mut plan = plan.clone();
        let mut fitted = 0;
        for step in &mut plan.steps {
            match step {
                Step::Fit { tool, .. } => fitted = *tool,
                Step::Drill { depth: deep, .. } if fitted == bit => *deep = um(depth),
                _ => {}
            }
        }
        hold(&plan)
    };
    assert_eq!(deep(4, 1.505), BTreeSet::new());
    assert_eq!(deep(4, 1.506), BTreeSet::from(["wrong-diameter"]));
    // Right through the board, or hardly so.
    let through = |depth: f64| {
        let mut plan = plan.clone();
        for step in &mut plan.steps {
            if let Step::Drill { depth: deep, .. } = step {
                *deep = (*deep).min(um(depth));
            }
        }
        hold(&plan)
    };
    assert_eq!(through(11.995), BTreeSet::new());
    assert_eq!(through(11.994), BTreeSet::from(["wrong-depth"]));
}

#[test]
fn the_first_bit_that_can_do_it_is_taken() {
    // The 8 mm bit is too short: the hole is bored with the 6 mm cutter.
    let mut machines = machines();
    let router = machines.get_mut("bench-router").expect("there");
    router.tools[0].reach = 10.0;
    let made = make(&job_text(&[]), &machines);
    assert_eq!(made.programs[0].plan.fitted(), [3]);
    // None can: what is wrong with the one that suits best is said.
    machines.get_mut("bench-router").expect("there").tools[2].reach = 10.0;
    match make::make(
        &Wanted {
            job: &job(&job_text(&[])),
            machines: &machines,
            works: &[Work::Board],
            effort: Effort::Quick,
            paper: Paper::A4,
        },
        &|_| {},
    ) {
        Err(Refused::Job(wrong)) => {
            assert_eq!(wrong.len(), 1);
            assert!(wrong[0].message.contains("tool 1 (8 mm brad-point bit) reaches 10 mm"));
        }
        other => panic!("{other:?}"),
    }
}
