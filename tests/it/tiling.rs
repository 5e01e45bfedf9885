//! Cloth larger than the pen's reach: tiles, the crosses between them, and the proof over all of them.

use crate::demo::{demo_jobs, job, job_text, machines};
use bradawl::{
    frame::Point,
    job::Job,
    layout::{Drawn, LineKind, Name, Part as PieceOf, Piece},
    machine::{Cloth, Machine, Work},
    make::{self, Made, Wanted},
    paper::Paper,
    plan::{Plan, Step, Um, mm, um},
    program,
    route::Effort,
    verify::{Part, across_cover, verify},
};
use std::{
    collections::{BTreeMap, BTreeSet},
    sync::LazyLock,
};

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

/// What the proof over all tiles says of these plans, each of which is sound by itself.
fn lapses(piece: &Piece, machine: &Machine, plans: &[Plan]) -> BTreeSet<&'static str> {
    let prove = |plan: &Plan| {
        program::prove("Trial", plan.clone(), machine)
            .unwrap_or_else(|why| panic!("each by itself is sound: {why:?}"))
    };
    let programs: Vec<_> = plans.iter().map(prove).collect();
    let parts: Vec<Part> = programs
        .iter()
        .map(|p| Part { plan: &p.plan, machine: &p.machine, verified: &p.verified })
        .collect();
    let lapses = across_cover(piece, &parts).err().unwrap_or_default();
    lapses.iter().map(|lapse| lapse.name()).collect()
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
    let hold = |plans: &[Plan]| lapses(piece, &machines["roll-plotter"], plans);
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

/// What is said where these lines are wanted, each straight, and the pen draws these, mm.
fn told(lines: &[[[f64; 2]; 2]], strokes: &[&[[f64; 2]]]) -> BTreeSet<&'static str> {
    static MADE: LazyLock<Made> = LazyLock::new(|| make(&job(&job_text(&[])), &machines()));
    let mut piece = MADE.layout.cover.pieces[0].clone();
    piece.lines = lines
        .iter()
        .map(|line| Drawn {
            kind: LineKind::Pleat,
            points: line.iter().map(|[x, y]| Point::new(*x, *y)).collect(),
        })
        .collect();
    let mut plan = MADE.programs[0].plan.clone();
    let lay = plan.setup.lay;
    let stroke = |points: &&[[f64; 2]]| Step::Stroke {
        points: points.iter().map(|at| lay.place(at.map(um))).collect(),
    };
    plan.steps = strokes.iter().map(stroke).collect();
    let program = program::prove("Trial", plan, &machines()["roll-plotter"])
        .unwrap_or_else(|why| panic!("sound by itself: {why:?}"));
    let (plan, machine, verified) = (&program.plan, &program.machine, &program.verified);
    let lapses = across_cover(&piece, &[Part { plan, machine, verified }]).err();
    lapses.iter().flatten().map(|lapse| lapse.name()).collect()
}

/// Lines drawn nearly where they are wanted, nearly once, nearly to their ends.
#[test]
fn a_line_of_the_cover_is_drawn_once_and_to_its_ends() {
    let right = BTreeSet::new();
    let not_drawn = BTreeSet::from(["not-drawn"]);
    let twice = BTreeSet::from(["drawn-twice"]);
    let both = BTreeSet::from(["drawn-twice", "not-drawn"]);
    let line = [[100.0, 120.0], [400.0, 120.0]];
    let to = |x: f64| [x, 120.0];
    let one = |strokes: &[&[[f64; 2]]]| told(&[line], strokes);
    assert_eq!(one(&[&line]), right);
    assert_eq!(one(&[&[line[1], line[0]]]), right);
    assert_eq!(one(&[]), not_drawn);
    // In two, with a gap between them, or over each other.
    for (from, wanted) in [
        (250.0, &right),
        (250.05, &right),
        (250.07, &not_drawn),
        (249.95, &right),
        (249.93, &both),
        (150.0, &both),
    ] {
        assert_eq!(&one(&[&[line[0], to(250.0)], &[to(from), line[1]]]), wanted, "{from}");
        assert_eq!(&one(&[&[line[1], to(from)], &[to(250.0), line[0]]]), wanted, "{from}");
    }
    // Not to its ends, or over them.
    for (by, wanted) in [(0.02, true), (-0.02, true), (0.07, false), (-0.04, false)] {
        assert_eq!(one(&[&[to(100.0 + by), line[1]]]) == right, wanted, "{by}");
        assert_eq!(one(&[&[line[0], to(400.0 - by)]]) == right, wanted, "{by}");
    }
    // Beside it, or at one end only.
    let beside = |by: [f64; 2]| one(&[&[[100.0, 120.0 + by[0]], [400.0, 120.0 + by[1]]]]);
    for by in [[0.029, 0.029], [-0.029, -0.029], [0.0, 0.029], [-0.029, 0.0]] {
        assert_eq!(beside(by), right, "{by:?}");
    }
    for by in [[0.031, 0.031], [-0.031, -0.031], [0.0, 0.031], [-0.031, 0.0]] {
        assert_eq!(beside(by), BTreeSet::from(["not-drawn", "unwanted"]), "{by:?}");
    }
    // A pen that is not lifted may go back over its own line, as often as it likes, and another may not.
    assert_eq!(one(&[&[line[0], line[1], line[0]]]), right);
    assert_eq!(one(&[&[line[0], to(300.0), to(200.0), line[1]]]), right);
    assert_eq!(one(&[&[to(200.0), line[0], line[1]]]), right);
    assert_eq!(one(&[&[line[0], to(300.0), to(200.0)]]), not_drawn);
    assert_eq!(one(&[&line, &[to(200.0), to(300.0)]]), twice);
    assert_eq!(one(&[&line, &line]), twice);
    assert_eq!(one(&[&[line[0], to(300.0)], &[to(300.0), line[1], line[0]]]), twice);
    // Lines that lie on one another, in any order.
    let (short, long) = ([to(200.0), to(300.0)], [to(100.0), to(400.0)]);
    assert_eq!(told(&[short, long], &[&short, &long]), right);
    assert_eq!(told(&[short, long], &[&long, &short]), right);
    assert_eq!(told(&[long, short], &[&short, &long]), right);
    assert_eq!(told(&[long, short], &[&long]), not_drawn);
    assert_eq!(told(&[long, short], &[&long, &short, &short]), twice);
    assert_eq!(told(&[long, long], &[&long, &long]), right);
    assert_eq!(told(&[long, long], &[&long]), not_drawn);
    let (left, right_hand) = ([to(100.0), to(300.0)], [to(200.0), to(500.0)]);
    assert_eq!(told(&[left, right_hand], &[&right_hand, &left]), right);
    assert_eq!(told(&[left, right_hand], &[&[to(250.0), to(500.0)], &left]), not_drawn);
    // What the pen goes back over is its own line, not the other that lies there.
    let whole = [to(100.0), to(700.0)];
    let back = [to(100.0), to(400.0), to(200.0)];
    let rest = [to(400.0), to(700.0)];
    assert_eq!(told(&[whole, right_hand], &[&back, &right_hand, &rest]), right);
    assert_eq!(one(&[&[to(250.0), to(400.0), to(249.0)], &[to(249.0), to(100.0)]]), right);
    // Wherever its middle lies.
    let aslant = [[110.0, 320.0], [430.0, 80.0]];
    let at = |share: f64| {
        [0, 1].map(|axis| aslant[0][axis] + share * (aslant[1][axis] - aslant[0][axis]))
    };
    let bits: Vec<[[f64; 2]; 2]> =
        (0..40).map(|i| [at(f64::from(i) / 40.0), at(f64::from(i + 1) / 40.0)]).collect();
    let bits: Vec<&[[f64; 2]]> = bits.iter().map(|bit| bit.as_slice()).collect();
    assert_eq!(told(&[aslant], &bits), right);
    assert_eq!(told(&[aslant], &bits[1..]), not_drawn);
    assert_eq!(told(&[aslant, line], &[&bits[..], &[&line]].concat()), right);
}

/// Arms of a cross are 12 mm long, and two.
#[test]
fn a_cross_between_tiles_has_two_arms_of_its_length() {
    let machines = small([700.0, 350.0], "roll-plotter");
    let made = make(&job(&job_text(&[])), &machines);
    let piece = &made.layout.cover.pieces[0];
    let plans: Vec<Plan> = made.programs.iter().map(|p| p.plan.clone()).collect();
    let hold = |plans: &[Plan]| lapses(piece, &machines["roll-plotter"], plans);
    let cross = shown(&plans[1])[0];
    let on = plans[0].setup.lay;
    let middle = on.place(cross);
    // An arm of the first cross, and which way it lies.
    let arm = plans[0].steps.iter().position(|step| match step {
        Step::Stroke { points } => {
            let [a, b] = [points[0], points[points.len() - 1]];
            (0..2).all(|axis| (a[axis] + b[axis] - 2 * middle[axis]).abs() <= 2)
                && (0..2).any(|axis| (a[axis] - b[axis]).abs() == 12_000)
        }
        _ => false,
    });
    let arm = arm.expect("it is drawn");
    let longer = |by: Um| {
        let mut plans = plans.clone();
        let Step::Stroke { points } = &mut plans[0].steps[arm] else { panic!("a stroke") };
        let axis = usize::from(points[0][0] == points[1][0]);
        let sense = (points[1][axis] - points[0][axis]).signum();
        points[0][axis] -= sense * by;
        points[1][axis] += sense * by;
        hold(&plans)
    };
    assert_eq!(longer(29), BTreeSet::new());
    assert_eq!(longer(-29), BTreeSet::new());
    assert!(longer(32).contains("no-cross"));
    assert!(longer(-32).contains("no-cross"));
    // Where the cloth is moved on the pen does not go back over its own line.
    let mut back = plans.clone();
    let stroke = back[0].steps.iter_mut().enumerate().find_map(|(i, step)| match step {
        Step::Stroke { points } if i != arm && points.len() == 2 => Some(points),
        _ => None,
    });
    let stroke = stroke.expect("a straight line");
    stroke.push(stroke[0]);
    assert_eq!(hold(&back), BTreeSet::from(["drawn-twice"]));
    // It does not stop over the cross.
    let second = &made.programs[1];
    let [x, y] = plans[1].setup.lay.place(cross).map(mm);
    let over = format!("G0 X{x:.3} Y{y:.3}\n");
    let text = second.verified.text();
    assert_eq!(text.matches(&over).count(), 1, "{text}");
    let found = verify(text.replace(&over, ""), &second.plan, &second.machine);
    let found = found.expect_err("passed by");
    assert!(found.iter().all(|why| why.name() == "stroke-missing"), "{found:?}");
    let mut third = plans.clone();
    let arm = third[0].steps[arm].clone();
    third[0].steps.push(arm);
    assert_eq!(hold(&third), BTreeSet::from(["unwanted"]));
}
