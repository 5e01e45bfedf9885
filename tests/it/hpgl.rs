//! Plotters that read HP-GL/2: the same cover, the same strokes, read back.

use crate::demo::{job, job_text, machines};
use bradawl::{
    machine::{Comments, Machine, Work},
    make,
    paper::Paper,
    program::Program,
    route::Effort,
    sim::{Move, PenState, Setting, rehearse_hpgl},
    verify::verify,
};
use std::collections::BTreeMap;

fn cover(on: &str, machines: &BTreeMap<String, Machine>) -> Program {
    let text = job_text(&[("on", &format!("[on]\nfabric = \"{on}\""))])
        .replace("turn_in = \"75 mm\"", "turn_in = \"75 mm\"\npleat_lines = true");
    let made =
        make::make(&job(&text), machines, &[Work::Fabric], Effort::Quick, Paper::A4, &|_| {})
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
    let machines = machines();
    let (plotter, gcode) = (cover("hpgl-plotter", &machines), cover("roll-plotter", &machines));
    assert_eq!((plotter.file.as_str(), gcode.file.as_str()), ("fabric.plt", "fabric.nc"));
    // The two plotters travel differently, so the order may differ: each stroke is looked up.
    let sorted = |program: &Program| {
        let mut strokes = strokes(program.verified.trace());
        for stroke in &mut strokes {
            let closed = stroke.first() == stroke.last();
            if closed {
                // A closed line may be begun anywhere, and run either way.
                stroke.pop();
            }
            let ends = |p: &[f64; 2]| p.map(|mm| (mm * 10.0).round() as i64);
            stroke.sort_by_key(ends);
        }
        strokes.sort_by_key(|stroke| {
            stroke.iter().map(|p| p.map(|mm| (mm * 2.0).round() as i64)).collect::<Vec<_>>()
        });
        strokes
    };
    let points = |strokes: &[Vec<[f64; 2]>]| strokes.iter().flatten().copied().collect::<Vec<_>>();
    let (mut a, mut b) = (points(&sorted(&plotter)), points(&sorted(&gcode)));
    let key = |p: &[f64; 2]| p.map(|mm| (mm * 4.0).round() as i64);
    a.sort_by_key(key);
    b.sort_by_key(key);
    assert_eq!(strokes(plotter.verified.trace()).len(), strokes(gcode.verified.trace()).len());
    assert_eq!(a.len(), b.len());
    for p in &a {
        let near = b.iter().any(|q| (p[0] - q[0]).abs() < 0.014 && (p[1] - q[1]).abs() < 0.014);
        assert!(near, "{p:?}");
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
