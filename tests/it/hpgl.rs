//! Plotters that read HP-GL/2: the same cover, the same strokes, read back.

use crate::demo::{job, job_text, machines};
use bradawl::{
    machine::{Comments, Language, Lift, Machine, Work},
    make::{self, Wanted},
    paper::Paper,
    program::Program,
    route::Effort,
    sim::{Move, MoveKind, PenState, Setting, rehearse_hpgl},
    verify::verify,
};
use std::collections::BTreeMap;

fn cover(on: &str, machines: &BTreeMap<String, Machine>) -> Program {
    let text = job_text(&[("on", &format!("[on]\nfabric = \"{on}\""))])
        .replace("turn_in = \"75 mm\"", "turn_in = \"75 mm\"\npleat_lines = true");
    let made = make::make(
        &Wanted {
            job: &job(&text),
            machines,
            works: &[Work::Fabric],
            effort: Effort::Quick,
            paper: Paper::A4,
        },
        &|_| {},
    )
    .unwrap_or_else(|why| panic!("{why:#?}"));
    made.programs.into_iter().next().expect("a program")
}

/// What the pen drew: a list of points for each time that it went down.
fn strokes(trace: &[Move]) -> Vec<Vec<[f64; 2]>> {
    let mut strokes: Vec<Vec<[f64; 2]>> = Vec::new();
    let mut down = false;
    for step in trace {
        let now = step.pen == Some(PenState::Down);
        if now && step.from[..2] != step.to[..2] {
            if !down {
                strokes.push(vec![[step.from[0], step.from[1]]]);
            }
            strokes.last_mut().expect("begun").push([step.to[0], step.to[1]]);
            down = true;
        }
        if !now {
            down = false;
        }
    }
    strokes
}

#[test]
fn hpgl_and_gcode_of_the_same_cover_draw_the_same_strokes() {
    let mut machines = machines();
    // The same plotter, told in G-code: it travels alike, so its strokes come in the same order.
    let mut told = machines["hpgl-plotter"].clone();
    told.speech.writes = Language::Gcode;
    told.speech.comments = Comments::Parentheses;
    let pen = told.pen.as_mut().expect("a plotter");
    pen.lift = Lift::Words { up: "M5".to_string(), down: "M3 S90".to_string() };
    machines.insert("gcode-plotter".to_string(), told);
    let (plotter, gcode) = (cover("hpgl-plotter", &machines), cover("gcode-plotter", &machines));
    assert_eq!((plotter.file.as_str(), gcode.file.as_str()), ("fabric.plt", "fabric.nc"));
    let (a, b) = (strokes(plotter.verified.trace()), strokes(gcode.verified.trace()));
    assert_eq!(a.len(), b.len());
    assert!(a.len() > 50, "{}", a.len());
    for (a, b) in a.iter().zip(&b) {
        assert_eq!(a.len(), b.len());
        for (p, q) in a.iter().zip(b) {
            // Half a plotter unit.
            assert!((0..2).all(|axis| (p[axis] - q[axis]).abs() < 0.013), "{p:?} {q:?}");
        }
    }
    let text = plotter.verified.text();
    assert!(text.starts_with("IN;\nSP1;\nPA;\nVS5;\nPU"), "{text}");
    assert!(text.ends_with("PU;\nPU0,0;\nSP0;\n"), "{text}");
}

#[test]
fn words_for_people_stand_in_co_where_the_plotter_reads_them() {
    let mut machines = machines();
    let plotter = machines.get_mut("hpgl-plotter").expect("there");
    plotter.speech.comments = Comments::Parentheses;
    let program = cover("hpgl-plotter", &machines);
    assert!(program.verified.text().contains("\nCO\"work "), "{}", program.verified.text());
    assert!(program.verified.rehearsal().stated_work.is_some());
}

#[test]
fn spoilt_hpgl_is_objected_to_and_unknown_words_stop_the_reading() {
    let machines = machines();
    let program = cover("hpgl-plotter", &machines);
    let text = program.verified.text();
    let middle = |start: &str| {
        let lines: Vec<usize> = text.match_indices(start).map(|(at, _)| at).collect();
        lines[lines.len() / 2]
    };
    let spoil = |at: usize, old: &str, new: &str| {
        assert_eq!(&text[at..at + old.len()], old);
        format!("{}{new}{}", &text[..at], &text[at + old.len()..])
    };
    for (kind, spoilt) in [
        ("never down", spoil(middle("PD"), "PD", "PU")),
        ("never up", spoil(middle("PU"), "PU", "PD")),
        ("too fast", text.replace("VS5;", "VS6;")),
        ("not parked", text.replace("PU0,0;", "PU1000,0;")),
        ("cut off", text[..text.len() / 2].to_string()),
        ("an arc", text.replace("PA;", "PA;\nAA0,0,90;")),
        ("half a place", spoil(middle("PD"), "PD", "PD7,")),
        ("relative", text.replace("PA;", "PR;")),
        ("off the bed", text.replace("PU;\nPU0,0;", "PU;\nPU-400,0;\nPU0,0;")),
    ] {
        assert!(verify(spoilt, &program.plan, &program.machine).is_err(), "{kind} was accepted");
    }
    let setting = Setting { machine: &program.machine, work: None };
    let rehearsal = rehearse_hpgl("IN;\nSP1;\nPE<=>;\n", &setting, |_| {});
    let fault = rehearsal.faults.last().expect("it stops there");
    assert_eq!((fault.rule.name(), fault.line), ("not-rehearsed", 3));
}

#[test]
fn the_pen_is_up_after_in_and_stands_where_the_machine_parks_it() {
    let mut machine = machines().remove("hpgl-plotter").expect("there");
    let drawn = |text: &str, machine: &Machine| {
        let mut trace = Vec::new();
        let setting = Setting { machine, work: None };
        rehearse_hpgl(text, &setting, |step| trace.push(step.clone()));
        strokes(&trace)
    };
    let text = "IN;SP1;PU400,400;PD800,400;IN;PD800,800;SP1;PD400,800;PU;PU0,0;SP0;";
    let corners = [[10.0, 10.0], [20.0, 10.0], [20.0, 20.0], [10.0, 20.0]];
    // Without a way in the air between them, the three are one.
    assert_eq!(drawn(text, &machine), [corners]);
    machine.motion.park = [100.0, 50.0];
    assert_eq!(drawn("IN;SP1;PD0,0;PU4000,2000;SP0;", &machine), [[[100.0, 50.0], [0.0, 0.0]]]);
}

/// Which rules a text breaks, and on which lines.
fn broken(text: &str) -> Vec<(&'static str, u64)> {
    let machine = &machines()["hpgl-plotter"];
    let rehearsal = rehearse_hpgl(text, &Setting { machine, work: None }, |_| {});
    let faults = rehearsal.faults.iter();
    faults.map(|fault| (fault.rule.name(), fault.line)).collect()
}

#[test]
fn instructions_are_told_from_each_other_and_from_words() {
    let right =
        "IN;\nSP1;\nPA;\nCO\"a, no. 1\";\nVS5;\nPU400,400;\nPD800,400;\nPU;\nPU0,0;\nSP0;\n";
    assert_eq!(broken(right), []);
    assert_eq!(broken(&right.replace('\n', "\r\n")), []);
    assert_eq!(broken(&right.replace("PU400,400", " P U 400 ,\n400")), []);
    // A semicolon among words ends none of them, and some plotters think otherwise.
    assert_eq!(broken(&right.replace("a, no", "a; no")), [("acted-upon", 4)]);
    let stops = |old: &str, new: &str, line: u64| {
        let spoilt = right.replacen(old, new, 1);
        assert_ne!(spoilt, right);
        assert_eq!(broken(&spoilt).last(), Some(&("not-rehearsed", line)), "{spoilt}");
    };
    // Words that would end a comment, or are none; a quote too few or too many.
    for words in ["a(", "a)", "a\nb", "a\tb", "\u{e4}"] {
        stops("a, no. 1", words, 4);
    }
    stops("CO\"a", "COa", 4);
    stops("1\";", "1;", 4);
    stops("CO\"a", "CO\"a\"b", 4);
    for speed in ["VS0", "VS-5", "VS", "VS5,5", "VS5.5"] {
        stops("VS5", speed, 5);
    }
    for place in ["400", "400,400,", "400,x", "16777216,0", "0,-16777216", "1e3,0"] {
        stops("400,400", place, 6);
    }
    stops("SP1", "SP2", 2);
    stops("IN;", "IN1;", 1);
    stops("IN;", "I;", 1);
    stops("PA;", "PA400,400;", 3);
    stops("PA;", "\n\nPR;", 5);
    stops("PA;", "PA\n;\nPR;", 5);
    stops("SP0;", "SP0;\nPU;", 11);
    stops("SP0;", "SP0", 10);
    // What is broken after that is not known.
    let early = right.replace("PU400", "PU-400").replace("PU0,0;", "PR;\nPU-800,0;PU0,0;");
    let found = broken(&early);
    assert_eq!(found.last(), Some(&("not-rehearsed", 9)));
    assert!(found.iter().all(|(_, line)| *line <= 9), "{found:?}");
    assert!(found.contains(&("outside-bed", 6)), "{found:?}");
}

/// Each time that the pen is set down or lifted it settles, and not where it is so already.
#[test]
fn the_pen_settles_by_itself() {
    let mut machine = machines().remove("hpgl-plotter").expect("there");
    machine.pen.as_mut().expect("a pen").settle = 0.2;
    let mut waits = Vec::new();
    let text = "IN;SP1;VS5;PU400,400;PD800,400;PD800,800;PU;PU0,0;SP0;";
    rehearse_hpgl(text, &Setting { machine: &machine, work: None }, |step| {
        if step.kind == MoveKind::Dwell {
            waits.push((step.pen, step.seconds));
        }
    });
    assert_eq!(waits, [(Some(PenState::Down), 0.2), (Some(PenState::Up), 0.2)]);
}
