//! Cloth larger than the pen's reach: tiles, the crosses between them, and the proof over all of them.

use crate::demo::{demo_jobs, job, job_text, machines};
use bradawl::{
    job::Job,
    layout::{LineKind, Name, Part as PieceOf},
    machine::{Cloth, Machine, Work},
    make::{self, Made, Wanted},
    paper::Paper,
    plan::{Plan, Step, Um, mm, um},
    program,
    route::Effort,
    verify::{Part, across_cover},
};
use std::collections::{BTreeMap, BTreeSet};

/// A plotter that reaches so far, and tiles.
fn small(bed: [f64; 2], name: &str) -> BTreeMap<String, Machine> {
    let mut machines = machines();
    let plotter = machines.get_mut(name).expect("it comes with the tool");
    (plotter.bed.x, plotter.bed.y, plotter.cloth) = (bed[0], bed[1], Cloth::Tiles);
    machines
}

fn make(job: &Job, machines: &BTreeMap<String, Machine>) -> Made {
    make::make(
        &Wanted { job, machines, works: &[Work::Fabric], effort: Effort::Quick, paper: Paper::A4 },
        &|_| {},
    )
    .unwrap_or_else(|refused| panic!("{refused:#?}"))
}

/// Length of all strokes, mm.
fn ink(made: &Made) -> f64 {
    let strokes = made.programs.iter().flat_map(|p| &p.plan.steps);
    let lengths = strokes.filter_map(|step| match step {
        Step::Stroke { points } => Some(points.windows(2).map(|leg| {
            let [x, y] = [0, 1].map(|axis| mm(leg[1][axis] - leg[0][axis]));
            (x * x + y * y).sqrt()
        })),
        _ => None,
    });
    lengths.flatten().sum()
}

/// Where the crosses are shown, on the cloth.
fn shown(plan: &Plan) -> Vec<[Um; 2]> {
    let at = |step: &Step| match step {
        Step::Show { at, .. } => Some(plan.setup.lay.back(*at)),
        _ => None,
    };
    plan.steps.iter().filter_map(at).collect()
}

/// Length of all that the layout draws, mm.
fn lines(made: &Made) -> f64 {
    let legs = made.layout.cover.pieces.iter().flat_map(|piece| &piece.lines);
    legs.flat_map(|line| line.points.windows(2)).map(|leg| leg[0].distance(leg[1])).sum()
}

#[test]
fn a_cover_larger_than_the_bed_both_ways_is_drawn_in_tiles() {
    for (name, bed, most) in
        [("roll-plotter", [500.0, 420.0], 0.1), ("servo-plotter", [700.0, 350.0], 0.1)]
    {
        let on = job_text(&[("on", &format!("[on]\nfabric = \"{name}\""))]);
        let made = make(&crate::demo::job(&on), &small(bed, name));
        let [w, h] = made.layout.cover.cut;
        let needed =
            |size: f64, room: f64| ((size - room + 2.0) / (room - 26.0)).ceil() as usize + 1;
        let tiles = needed(w, bed[0]) * needed(h, bed[1]);
        assert!(tiles >= 6);
        assert_eq!(made.programs.len(), tiles, "{name}");
        // Nothing is drawn but the cover and two crosses of two arms of 12 mm at each move.
        let crosses = 48.0 * (tiles - 1) as f64;
        assert!((ink(&made) - lines(&made) - crosses).abs() < most, "{name}");
        // All crosses stand apart from each other.
        let mut all: Vec<[Um; 2]> = Vec::new();
        for program in &made.programs[1..] {
            let shown = shown(&program.plan);
            assert_eq!(shown.len(), 2);
            for cross in shown {
                let far = |other: &[Um; 2]| {
                    (0..2).any(|axis| (cross[axis] - other[axis]).abs() > um(13.0))
                };
                assert!(all.iter().all(far), "{name}: {cross:?}");
                all.push(cross);
            }
            let head = program.verified.text();
            assert!(head.contains("loth"), "{head}");
            assert!(!program.plan.setup.moved.is_empty());
            assert_eq!(head.lines().filter(|line| *line == "M0").count(), 2);
        }
        let ways: BTreeSet<&str> = made.programs.iter().map(|p| p.plan.setup.moved).collect();
        let asked = [
            "",
            "Move the cloth to the left",
            "Move the cloth to the right",
            "Pull the cloth towards you",
        ];
        assert_eq!(ways, BTreeSet::from(asked), "there and back");
    }
}

/// Every demo's cover in tiles, on small beds of several sizes: each is proven line by line.
#[test]
fn every_demo_is_drawn_in_tiles() {
    for (name, mut job) in demo_jobs() {
        if job.on.fabric.is_none() {
            continue;
        }
        for bed in [[610.0, 430.0], [333.0, 777.0]] {
            job.on.fabric.as_mut().expect("it has one").value = "servo-plotter".to_string();
            let made = make(&job, &small(bed, "servo-plotter"));
            assert!(made.programs.len() > 1, "{name}");
            // Each mark is drawn in one program, or parted at a border between two.
            for piece in &made.layout.cover.pieces {
                let marks: BTreeSet<Name> = piece.marks.iter().map(|(name, _)| *name).collect();
                let drawn: BTreeSet<Name> = piece
                    .lines
                    .iter()
                    .filter_map(|line| match line.kind {
                        LineKind::Mark(name) => Some(name),
                        _ => None,
                    })
                    .collect();
                assert_eq!(marks, drawn, "{name}");
            }
        }
    }
}

/// Accepted tiles, spoilt: each time something is objected to.
#[test]
fn tiles_that_do_not_make_the_cover_are_objected_to() {
    let machines = small([700.0, 350.0], "roll-plotter");
    let made = make(&job(&job_text(&[])), &machines);
    let piece = &made.layout.cover.pieces[0];
    assert_eq!(piece.part, PieceOf::WHOLE);
    let plans: Vec<Plan> = made.programs.iter().map(|p| p.plan.clone()).collect();
    let hold = |plans: &[Plan]| -> BTreeSet<&str> {
        let programs: Vec<_> = plans
            .iter()
            .map(|plan| {
                program::prove("Trial", plan.clone(), &machines["roll-plotter"])
                    .unwrap_or_else(|why| panic!("each by itself is sound: {why:?}"))
            })
            .collect();
        let parts: Vec<Part> = programs
            .iter()
            .map(|p| Part { plan: &p.plan, machine: &p.machine, verified: &p.verified })
            .collect();
        let lapses = across_cover(piece, &parts).err().unwrap_or_default();
        lapses.iter().map(|lapse| lapse.name()).collect()
    };
    assert!(hold(&plans).is_empty());
    let is_stroke = |step: &&Step| matches!(step, Step::Stroke { .. });
    // A stroke left out, in each tile.
    for k in 0..plans.len() {
        let mut short = plans.clone();
        let at = short[k].steps.iter().position(|step| is_stroke(&step)).expect("it draws");
        short[k].steps.remove(at);
        let found = hold(&short);
        assert!(found.contains("not-drawn") || found.contains("no-cross"), "{k}: {found:?}");
    }
    // A whole tile left out.
    let found = hold(&[&plans[..1], &plans[2..]].concat());
    assert!(found.contains("not-drawn") && found.contains("no-cross"), "{found:?}");
    // The same tile twice.
    let found = hold(&[&plans[..1], &plans[..]].concat());
    assert!(found.contains("drawn-twice"), "{found:?}");
    // The cloth laid a millimetre from where it is thought to lie.
    let mut astray = plans.clone();
    // The middle row lies over the bed near and far, so that no edge of the cloth comes to lie on it.
    astray[2].setup.lay.corner[1] -= 1000;
    let found = hold(&astray);
    assert!(found.contains("unwanted") && found.contains("no-cross"), "{found:?}");
    // The pen stops beside a cross.
    let mut beside = plans.clone();
    for step in &mut beside[1].steps {
        if let Step::Show { at, .. } = step {
            at[0] += 500;
        }
    }
    let found = hold(&beside);
    assert!(found.contains("no-cross") && found.contains("unwanted"), "{found:?}");
    // A line that belongs to nothing.
    let mut more = plans.clone();
    let points = vec![[um(100.0), um(100.0)], [um(101.0), um(130.0)]];
    more[0].steps.push(Step::Stroke { points });
    assert_eq!(hold(&more), BTreeSet::from(["unwanted"]));
}
