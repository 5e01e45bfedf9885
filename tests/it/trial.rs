//! Machines found out about, tried, and made to do the same job.

use crate::demo::{home, job, job_text, machines, source};
use assert_cmd::Command;
use bradawl::{
    machine::{self, Kind, Work},
    make::{self, Wanted},
    paper::Paper,
    plan::{self, Step, mm},
    program,
    route::Effort,
    sim::MoveKind,
    verify::verify,
};
use std::{collections::BTreeSet, fs};

#[test]
fn every_machine_is_tried_by_a_ruler_and_its_outline_in_the_air() {
    for (name, machine) in machines() {
        let (plan, ruler) = plan::trial(&machine).unwrap_or_else(|why| panic!("{name}: {why:?}"));
        let program = program::prove("Trial", plan, &machine)
            .unwrap_or_else(|why| panic!("{name}: {why:#?}"));
        let rehearsal = program.verified.rehearsal();
        let marks = if machine.kind == Kind::Router { rehearsal.holes } else { rehearsal.strokes };
        assert_eq!(marks, 10, "{name}");
        assert!(rehearsal.bounds.min[2] >= -2.001, "{name}: shallow");
        // The corners of the bed, 5 mm in, are passed in the air.
        let zero = machine.bed.work_at;
        for [x, y] in [[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]] {
            let corner = [x * machine.bed.x, y * machine.bed.y];
            let there = program.verified.trace().iter().any(|step| {
                let at = [step.to[0] + zero[0], step.to[1] + zero[1]];
                step.kind == MoveKind::Rapid
                    && (0..2).all(|axis| ((at[axis] - corner[axis]).abs() - 5.0).abs() < 0.02)
            });
            assert!(there, "{name}: {corner:?}");
        }
        assert!(ruler >= 45.0, "{name}: {ruler}");
    }
}

/// A corner of the bed passed beside its place, at a feed, out of turn, or not at all.
#[test]
fn a_corner_shown_elsewhere_is_objected_to() {
    for name in ["bench-router", "roll-plotter"] {
        let machine = machines().remove(name).expect("there");
        let (plan, _) = plan::trial(&machine).expect("it can be tried");
        let program = program::prove("Trial", plan, &machine).expect("sound");
        let lines: Vec<&str> = program.verified.text().lines().collect();
        let corners = program.plan.steps.iter().find_map(|step| match step {
            Step::Air { points } => Some(points),
            _ => None,
        });
        let corners = corners.expect("the outline is shown");
        let rapid = |at: [f64; 2]| format!("G0 X{:.3} Y{:.3}", at[0], at[1]);
        let said = |lines: &[&str]| -> BTreeSet<&str> {
            let verdict = verify(lines.join("\n") + "\n", &program.plan, &program.machine);
            verdict.err().iter().flatten().map(|objection| objection.name()).collect()
        };
        let missing = BTreeSet::from(["stroke-missing"]);
        // The second: the last is the first again.
        let at = corners[1].map(mm);
        let i = lines.iter().position(|line| *line == rapid(at)).expect("it is passed");
        let spoilt = |with: &[&str]| said(&[&lines[..i], with, &lines[i + 1..]].concat());
        for axis in 0..2 {
            for (by, right) in [(0.005, true), (-0.005, true), (0.006, false), (-0.006, false)] {
                let mut beside = at;
                beside[axis] += by;
                let found = spoilt(&[&rapid(beside)]);
                assert_eq!(found.is_empty(), right, "{name} {axis} {by}: {found:?}");
            }
        }
        assert_eq!(spoilt(&[]), missing);
        assert_eq!(spoilt(&[&rapid(at).replace("G0", "G1 F1000")]), missing);
        let mut swapped = lines.clone();
        swapped.swap(i, i + 1);
        assert_eq!(said(&swapped), missing);
    }
}

#[test]
fn the_same_job_is_made_on_every_machine_in_its_own_speech() {
    let text = |on: &str, work: &str| {
        job_text(&[
            ("board", "[board]\nthickness = \"12 mm\"\nhole = \"3/8 in\""),
            ("on", &format!("[on]\n{work} = \"{on}\"")),
        ])
    };
    let speech = |name: &str| match name {
        "bench-router" => ["G21 G17", "G3 X", "\nM2"],
        "trim-router" => ["G21 G17", "; Tool", "\nM2"],
        "kit-router" => ["; Tool", "G1 X", "G4 P4000"],
        "knee-mill" => ["N10 G20", "G43 H", "M30\n%"],
        "roll-plotter" => ["G1 Z0.000", "G1 X", "M2"],
        "servo-plotter" => ["M3 S90", "; ", "M5"],
        "hpgl-plotter" => ["IN;\n", "PD", "SP0;"],
        other => panic!("{other} came along: say what its speech is known by"),
    };
    let machines = machines();
    assert_eq!(machines.len(), 7);
    for (name, machine) in &machines {
        let (work, word) = match machine.kind {
            Kind::Router => (Work::Board, "board"),
            Kind::Plotter => (Work::Fabric, "fabric"),
        };
        let made = make::make(
            &Wanted {
                job: &job(&text(name, word)),
                machines: &machines,
                works: &[work],
                effort: Effort::Quick,
                paper: Paper::A4,
            },
            &|_| {},
        )
        .unwrap_or_else(|why| panic!("{name}: {why:#?}"));
        assert!(!made.programs.is_empty());
        for program in &made.programs {
            for words in speech(name) {
                let text = program.verified.text();
                assert!(text.contains(words), "{name} says `{words}`:\n{}", &text[..600]);
            }
        }
    }
}

#[test]
fn a_machine_is_asked_about_and_its_file_can_be_read() {
    let folder = tempfile::tempdir().expect("a folder");
    let run = |answers: &str| {
        let mut command = Command::cargo_bin("bradawl").expect("the program is built");
        command.current_dir(folder.path()).args(["machines", "shed-router"]);
        command.write_stdin(answers.to_string()).assert()
    };
    // Not answered to the end: nothing is written.
    run("Shed\nrouter\n700\n").code(2);
    assert!(!folder.path().join("machines").exists());
    // An answer that cannot be used is asked for again.
    let answers = "Router in the shed\nrouter\nwide\n700 mm\n20 in\n80\n18\n0\n1500\n120\n120\n\
                   4000\n250\n1200\n120\n12\n6000\n18000\nmaybe\nno\n3\nsemicolon\nmm\nno\nno\npause\n\
                   8\n45\n6000\n350\nyes\n";
    let said = run(answers).code(0);
    let said = String::from_utf8_lossy(&said.get_output().stdout).into_owned();
    assert!(said.contains("bradawl machines --try shed-router"), "{said}");
    let text =
        fs::read_to_string(folder.path().join("machines/shed-router.toml")).expect("written");
    let shed = machine::read("shed-router", &source(&text)).expect("it can be read");
    assert_eq!((shed.bed.x, shed.bed.y), (700.0, 508.0));
    assert_eq!(shed.bed.over, [0.0, 1500.0, 120.0, 120.0]);
    assert_eq!(shed.motion.rapid, [4000.0, 4000.0, 1200.0]);
    assert!(!shed.speech.arcs && !shed.tools[0].sideways);
    assert!(text.lines().filter(|line| line.contains('#')).count() >= 8, "{text}");
    // Never over a file that is there.
    run(answers).code(2);
    // And tried.
    let mut command = Command::cargo_bin("bradawl").expect("the program is built");
    let tried = command.current_dir(folder.path()).args(["machines", "--try", "shed-router"]);
    let said = tried.assert().code(0);
    let said = String::from_utf8_lossy(&said.get_output().stdout).into_owned();
    assert!(said.contains("out/shed-router-try.nc") && said.contains("450 mm"), "{said}");
    assert!(folder.path().join("out/shed-router-try.nc").exists());
    assert!(said.contains("touch off Z0"), "{said}");
    // A plotter that lifts its own pen has no height to be told.
    let mut command = Command::cargo_bin("bradawl").expect("the program is built");
    command.current_dir(folder.path()).arg("--machines").arg(home().join("machines"));
    let said = command.args(["machines", "--try", "hpgl-plotter"]).assert().code(0);
    let said = String::from_utf8_lossy(&said.get_output().stdout).into_owned();
    assert!(said.contains("out/hpgl-plotter-try.plt") && !said.contains("Z0"), "{said}");
    let unknown = Command::cargo_bin("bradawl")
        .expect("the program is built")
        .current_dir(home())
        .args(["machines", "--try", "no-such"])
        .assert();
    unknown.code(2);
}
