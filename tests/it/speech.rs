//! Each controller in its own speech: the same job, written differently, making the same holes.

use crate::demo::{home, job, job_text, machines, source};
use bradawl::{
    machine::{self, Machine},
    make::{self, Made, Refused},
    paper::Paper,
    plan::{Plan, Step, um},
    route::Effort,
    units::Unit,
    verify,
};
use std::{collections::BTreeMap, fs};

/// The bench router with this for its `[speech]`.
fn speaking(speech: &str) -> BTreeMap<String, Machine> {
    let text = fs::read_to_string(home().join("machines/bench-router.toml")).expect("it is there");
    let start = text.find("[speech]").expect("it speaks");
    let end = start + text[start..].find("[[tool]]").expect("it has tools");
    let text = format!("{}[speech]\n{speech}\n\n{}", &text[..start], &text[end..]);
    let router = machine::read("bench-router", &source(&text))
        .unwrap_or_else(|wrong| panic!("{wrong:#?}\n{text}"));
    let mut machines = machines();
    machines.insert("bench-router".to_string(), router);
    machines
}

/// A board whose holes are bored with a smaller cutter.
fn bored() -> String {
    job_text(&[("board", "[board]\nthickness = \"12 mm\"\nhole = \"10 mm\"")])
}

fn make(text: &str, machines: &BTreeMap<String, Machine>) -> Result<Made, Refused> {
    crate::demo::board(&job(text), machines)
}

fn board(text: &str, speech: &str) -> (Plan, String) {
    let made = make(text, &speaking(speech)).unwrap_or_else(|why| panic!("{speech}: {why:#?}"));
    let program = &made.programs[0];
    (program.plan.clone(), program.verified.text().to_string())
}

#[test]
fn every_speech_makes_the_same_holes() {
    let plain = board(&bored(), "").0;
    for (speech, says, never) in [
        ("comments = \"semicolon\"", "; X0 Y0", "("),
        ("comments = \"none\"", "G21 G17", "("),
        ("line_numbers = true", "N10 G21", "\nG21"),
        ("percent = true\nend_word = \"M30\"", "\nM30\n%\n", "M2\n"),
        ("writes_in = \"in\"", "G20 G17", "G21"),
        ("writes_in = \"in\"\ndecimals = 5", "Z0.07874\n", "G21"),
        ("arc_words = \"R\"", " R2.000 F", " I"),
        ("arcs = false", "G1 X", "G3"),
        ("arcs = false\nchord_error = 0.001", "G1 X", "G3"),
        // Nobody told the controller how long the bit is: it stops to be touched off.
        ("tool_change = \"M6\"", "T3 M6\n(Wait: touch off Z0", "G43"),
        ("tool_change = \"M6\"\nlength_offset = true", "G43 H3", "M0"),
        ("dwell = \"milliseconds\"", "G4 P3000", "P3.000"),
        ("start = [\"M8\"]\nend = [\"M9\"]", "M8", "?"),
    ] {
        let (plan, text) = board(&bored(), speech);
        assert!(text.contains(says), "{speech}: {says}\n{text}");
        assert!(!text.contains(never), "{speech}: {never}\n{text}");
        // Proven against the plan, so the same plan means the same holes.
        assert_eq!(plan.steps, plain.steps, "{speech}");
    }
}

/// A safe height of 10 mm is not 0.3937 in, which is lower: every work of the job, said in inches.
#[test]
fn an_inch_controller_travels_no_lower_than_its_file_asks() {
    for (decimals, step) in [(4, 25.4e-4), (5, 25.4e-5)] {
        let mut machines = machines();
        for machine in machines.values_mut().filter(|m| m.speech.writes == machine::Language::Gcode)
        {
            machine.speech.unit = Unit::Inch;
            machine.speech.decimals = decimals;
            let asked = machine.motion.safe_height;
            let height = machine.speech.at_least(asked);
            assert!(height >= asked && height < asked + step + 1e-3, "{height} for {asked}");
        }
        let wanted = make::Wanted {
            job: &job(&job_text(&[])),
            machines: &machines,
            works: &machine::Work::ALL,
            effort: Effort::Quick,
            paper: Paper::A4,
        };
        let made = make::make(&wanted, &|_| {});
        let made = made.unwrap_or_else(|why| panic!("{decimals} decimals: {why:#?}"));
        assert!(made.programs.iter().all(|p| p.verified.text().contains("G20")));
    }
}

#[test]
fn drilling_cycles_drill_the_same_holes() {
    let spelled = board(&job_text(&[]), "").0;
    let (plan, text) = board(&job_text(&[]), "drill_cycle = true\nwrites_in = \"in\"");
    assert!(text.contains("G98 G83"), "{text}");
    assert_eq!(plan.steps, spelled.steps);
}

#[test]
fn chords_stay_within_the_stated_error_and_none_is_left_out() {
    for (error, chords) in [("0.1", 8), ("0.02", 24), ("0.005", 48)] {
        let speech = format!("arcs = false\nchord_error = {error}");
        let (plan, text) = board(&bored(), &speech);
        let machine = &speaking(&speech)["bench-router"];
        let first: Vec<&str> =
            text.lines().skip_while(|line| !line.starts_with("G1 Z0.000")).skip(1).collect();
        let turn = first.iter().take_while(|line| line.contains(" Y")).count();
        assert_eq!(turn % chords, 0, "{turn} chords, {chords} in a turn");
        // Each chord of the first hole left out: the hole would have a flat.
        let at = text.find(first[0]).expect("there");
        for line in &first[..turn] {
            let found = at + text[at..].find(line).expect("there");
            let spoilt = format!("{}{}", &text[..found], &text[found + line.len() + 1..]);
            let objections = verify::verify(spoilt, &plan, machine);
            assert!(objections.is_err(), "left out: {line}");
        }
    }
}

/// A cutter hardly narrower than the hole goes round on a circle of a tenth of a millimetre and more, whose points
/// are rounded by as much as matters there.
#[test]
fn small_turns_are_bored_in_chords_whatever_the_last_decimal() {
    for hole in ["6.9", "7", "8.8", "11.3"] {
        let text = job_text(&[(
            "board",
            &format!("[board]\nthickness = \"12 mm\"\nhole = \"{hole} mm\""),
        )]);
        for unit in ["mm", "in"] {
            for decimals in [4, 5] {
                let speech = format!("arcs = false\nwrites_in = \"{unit}\"\ndecimals = {decimals}");
                let (plan, text) = board(&text, &speech);
                let bored = |step: &Step| matches!(step, Step::Bore { .. });
                assert!(plan.steps.iter().any(bored), "{hole}: {text}");
            }
        }
    }
}

#[test]
fn the_workshops_own_lines_are_rehearsed_like_the_rest() {
    let refused = make(&bored(), &speaking("start = [\"G0 Z-20\"]"));
    match refused {
        Err(Refused::Program(why)) => {
            assert!(why.objections.iter().any(|o| o.name() == "rapid-into-work"), "{why:?}");
        }
        other => panic!("{other:?}"),
    }
    let refused = make(&bored(), &speaking("end = [\"G99999\"]"));
    assert!(matches!(refused, Err(Refused::Program(_))));
}

#[test]
fn a_tool_is_changed_where_the_machine_file_says() {
    let mut machines = speaking("");
    let router = machines.get_mut("bench-router").expect("there");
    router.motion.change_at = [450.0, 300.0];
    let made = make(&bored(), &machines).expect("it can be made");
    let text = made.programs[0].verified.text();
    assert!(text.contains("G0 X450.000 Y300.000\n(Tool 3"), "{text}");
    assert_eq!(made.programs[0].plan.change_at, [um(450.0), um(300.0)]);
}
