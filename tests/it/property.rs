//! What must hold for any job: every valid one is made, and its programs do what was laid out.

use crate::demo::{job_text, machines, source};
use bradawl::{
    frame::{Map, PanelFront, Point, Sheet},
    job, layout,
    machine::{KeepClear, Work},
    make::{self, Refused, Wanted},
    paper::Paper,
    plan::um,
    route::Effort,
    sim::{Holes, Setting, WorkSize, rehearse},
};
use proptest::prelude::*;

/// Job files over many sizes, fits and patterns; most are valid.
fn any_job() -> impl Strategy<Value = String> {
    let size = (300..850i32, 250..580i32);
    let cell = (60..260i32, 60..320i32);
    let kind = prop_oneof![Just("diamond"), Just("square")];
    let fit = prop_oneof![Just("whole"), Just("exact")];
    let top = prop_oneof![Just("long"), Just("short")];
    let face = prop_oneof![Just("front"), Just("back")];
    let edges = (40..110i32, 40..110i32, 40..110i32);
    (size, cell, kind, fit, top, face, edges).prop_map(|((w, h), (cw, ch), kind, fit, top, face, (s, t, b))| {
        job_text(&[
            ("panel", &format!("[panel.rectangle]\nwidth = {w}.5\nheight = {h}")),
            (
                "pattern",
                &format!(
                    "[pattern.{kind}]\nwidth = {cw}\nheight = {ch}.25\nfit = \"{fit}\"\ntop_row = \"{top}\"\n\
                     edge = {{ sides = {s}, top = {t}, bottom = {b} }}"
                ),
            ),
            ("board", &format!("[board]\nthickness = 12\nhole = 9\nface_up = \"{face}\"")),
        ])
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 32, failure_persistence: None, ..ProptestConfig::default() })]

    /// A job that can be laid out and fits the bed is made, symmetric, and its board program drills just
    /// the holes of the layout, mapped here anew.
    #[test]
    fn any_valid_job_is_made_as_it_was_laid_out(text in any_job()) {
        let job = job::read(&source(&text)).expect("the text is a job");
        let Ok(layout) = layout::lay_out(&job) else { return Ok(()) };
        let made = match make::make(&Wanted { job: &job, machines: &machines(), works: &Work::ALL, effort: Effort::Quick, paper: Paper::A4 }, &|_| {}) {
            Ok(made) => made,
            Err(Refused::Job(_)) => return Ok(()),
            Err(Refused::Program(unproven)) => panic!("{unproven:#?}\n{text}"),
        };
        for button in &layout.buttons {
            let mirrored = Point::<PanelFront>::new(-button.at.x, button.at.y);
            prop_assert!(layout.buttons.iter().any(|b| b.at.distance(mirrored) < 1e-6), "{} has a twin", button.name);
        }
        let least = job.pattern.edge.value.least();
        prop_assert!(layout.nearest_edge >= least - 1e-6);
        let board = made.programs.iter().find(|p| p.plan.work == Work::Board).expect("a board program");
        let [x, y, thickness] = board.plan.size.map(|um| um as f64 / 1000.0);
        let setting = Setting { machine: &board.machine, work: Some(WorkSize { x, y, thickness, at: [0.0; 2] }) };
        let mut holes = Holes::default();
        rehearse(board.verified.text().as_bytes(), &setting, |step| holes.watch(step)).expect("memory");
        let mirror = if text.contains("face_up = \"back\"") { -1.0 } else { 1.0 };
        let mut drilled: Vec<[i64; 2]> = holes.found().iter().map(|h: &[f64; 3]| [um(h[0]), um(h[1])]).collect();
        let mut wanted: Vec<[i64; 2]> =
            layout.buttons.iter().map(|b| [um(x / 2.0 + mirror * b.at.x), um(y / 2.0 + b.at.y)]).collect();
        drilled.sort_unstable();
        wanted.sort_unstable();
        prop_assert_eq!(drilled.len(), wanted.len());
        for (d, w) in drilled.iter().zip(&wanted) {
            prop_assert!((d[0] - w[0]).abs() <= 5 && (d[1] - w[1]).abs() <= 5, "{:?} {:?}", d, w);
        }
    }

    #[test]
    fn turned_over_twice_is_as_it_was(x in -1e4..1e4f64, y in -1e4..1e4f64, corner in -1e4..1e4f64) {
        let over: Map<PanelFront, Sheet> = Map::turn_over(Point::new(corner, -3.0));
        let back = over.inverse().apply(over.apply(Point::new(x, y)));
        prop_assert!(back.distance(Point::new(x, y)) < 1e-9);
    }
}

/// Foam that is let rest is drilled all the same, and no neighbour comes within two holes where that can be.
#[test]
fn rested_foam_waits_before_a_neighbour() {
    let text = |rest: &str| {
        job_text(&[("foam", &format!("[foam]\nthickness = \"50 mm\"\nhole = \"30 mm\"\n{rest}"))])
    };
    let foam = |text: &str| {
        let made = make::make(
            &Wanted {
                job: &job::read(&source(text)).expect("a job"),
                machines: &machines(),
                works: &[Work::Foam],
                effort: Effort::Normal,
                paper: Paper::A4,
            },
            &|_| {},
        );
        made.expect("it can be made").programs.remove(0)
    };
    let neighbours_soon = |text: &str| {
        let at: Vec<[f64; 2]> = foam(text)
            .plan
            .steps
            .iter()
            .filter_map(|step| match step {
                bradawl::plan::Step::Drill { at, .. } => Some(at.map(|um| um as f64 / 1000.0)),
                _ => None,
            })
            .collect();
        let near =
            |a: [f64; 2], b: [f64; 2]| (a[0] - b[0]).abs() < 60.0 && (a[1] - b[1]).abs() < 110.0;
        at.windows(3).filter(|w| near(w[0], w[1]) || near(w[0], w[2])).count()
    };
    assert!(neighbours_soon(&text("")) > 5, "without rest, neighbours follow each other");
    assert_eq!(neighbours_soon(&text("rest = true")), 0);
}

/// A clamp may stand where the tool passes it, but not where its holder or the pen's would strike it.
#[test]
fn clamps_beside_a_place_keep_the_holder_away() {
    let beside = |work: Work, name: &str, from: f64, height: f64, holder: f64| {
        let mut machines = machines();
        let machine = machines.get_mut(name).expect("a demo machine");
        machine.keep_clear = vec![KeepClear { x: [from, 120.0], y: [80.0, 100.0], height }];
        if let Some(spindle) = &mut machine.spindle {
            spindle.holder = holder;
        }
        match make::make(
            &Wanted {
                job: &job::read(&source(&job_text(&[]))).expect("a job"),
                machines: &machines,
                works: &[work],
                effort: Effort::Quick,
                paper: Paper::A4,
            },
            &|_| {},
        ) {
            Ok(made) => Ok(made.programs.len()),
            Err(Refused::Job(wrong)) => Err(format!("{wrong:?}")),
            Err(Refused::Program(unproven)) => panic!("planned and not proven: {unproven:#?}"),
        }
    };
    // A hole at 90, 90: the bit is 4 mm from its middle outwards, and its holder ends 59.5 mm above the bed.
    assert_eq!(beside(Work::Board, "bench-router", 110.0, 50.0, 60.0), Ok(1));
    // Or it lies where the holder comes down clear of the clamp: the dry run has passed what was made.
    assert!(beside(Work::Board, "bench-router", 110.0, 56.0, 60.0).is_ok());
    assert_eq!(beside(Work::Board, "bench-router", 110.0, 56.0, 20.0), Ok(1));
    // The cut line runs along the left edge.
    let refused = beside(Work::Fabric, "roll-plotter", 10.0, 10.0, 60.0).expect_err("refused");
    assert!(refused.contains("stands in the way"), "{refused}");
}
