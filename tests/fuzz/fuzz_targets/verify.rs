//! Proven programs, changed in any way: whatever the checker still accepts must do what was planned,
//! as looked at here point by point along every move; and a second, plain reading of the text must find the
//! very same moves.

#![no_main]

use arbitrary::Arbitrary;
use bradawl::{
    diag::Source,
    job,
    machine::{self, Machine, Rotation, Work},
    make::{Wanted, make},
    paper::Paper,
    plan::{Plan, Step, mm},
    program::Program,
    route::Effort,
    sim::{Move, MoveKind, PenState, Turning},
    verify::{SLACK, verify},
};
use std::{collections::BTreeMap, f64::consts::TAU, sync::LazyLock};

/// How far a point may lie from its plan, mm: the checker's own slack on both axes, and the rounding.
const NEAR: f64 = 0.0085;

static PROGRAMS: LazyLock<Vec<Program>> = LazyLock::new(|| {
    let files = [
        ("bench-router", include_str!("../../../machines/bench-router.toml")),
        ("roll-plotter", include_str!("../../../machines/roll-plotter.toml")),
        ("servo-plotter", include_str!("../../../machines/servo-plotter.toml")),
    ];
    let source = |text: &str| Source { name: "file".into(), text: text.into() };
    let mut machines: BTreeMap<String, Machine> = files
        .iter()
        .map(|(name, text)| {
            (name.to_string(), machine::read(name, &source(text)).expect("a machine"))
        })
        .collect();
    let mut cycles = machines["bench-router"].clone();
    cycles.speech.drill_cycle = true;
    cycles.speech.tool_change = machine::ToolChange::M6;
    cycles.name = "cycle-router".into();
    machines.insert(cycles.name.clone(), cycles);
    let programs = |board: &str, hole: u32, fabric: &str| {
        let text = format!(
            "title = \"Trial\"\n[panel.rectangle]\nwidth = 360\nheight = 300\n\
             [board]\nthickness = 12\nhole = {hole}\n[foam]\nthickness = 50\nhole = 30\n\
             [wadding]\nthickness = 8\n[button]\ndiameter = \"36 line\"\n\
             [pattern.diamond]\nwidth = 180\nheight = 180\nedge = 60\n\
             [fabric]\nroll_width = 1400\nturn_in = 75\n\
             [fabric.allowance.measured]\nacross = 60\ndown = 60\n\
             [on]\nboard = \"{board}\"\nfoam = \"bench-router\"\nfabric = \"{fabric}\"\n"
        );
        let job = job::read(&source(&text)).expect("a job");
        make(
            &Wanted {
                job: &job,
                machines: &machines,
                works: &Work::ALL,
                effort: Effort::Quick,
                paper: Paper::A4,
            },
            &|_| {},
        )
            .expect("it can be made")
            .programs
    };
    let mut all = programs("bench-router", 8, "roll-plotter");
    all.extend(programs("bench-router", 10, "servo-plotter"));
    all.extend(programs("cycle-router", 8, "roll-plotter"));
    all
});

#[derive(Arbitrary, Debug)]
enum Edit {
    LeaveOut(u16),
    Exchange(u16, u16),
    Repeat {
        from: u16,
        count: u8,
        to: u16,
    },
    /// One digit of one number.
    Digit {
        line: u16,
        place: u8,
        digit: u8,
    },
    Letter {
        line: u16,
        place: u8,
        letter: u8,
    },
    Insert {
        line: u16,
        what: u8,
        x: i16,
        y: i16,
    },
}

libfuzzer_sys::fuzz_target!(|input: (u8, Vec<Edit>)| {
    let (choice, edits) = input;
    let program = &PROGRAMS[usize::from(choice) % PROGRAMS.len()];
    let mut lines: Vec<String> = program.verified.text().lines().map(str::to_string).collect();
    for edit in edits.iter().take(8) {
        apply(edit, &mut lines);
    }
    let text = lines.join("\n") + "\n";
    if text == program.verified.text() {
        return;
    }
    if let Ok(verified) = verify(text, &program.plan, &program.machine) {
        read_again(verified.text(), verified.trace(), verified.rehearsal().start);
        as_planned(verified.trace(), &program.plan);
    }
});

fn apply(edit: &Edit, lines: &mut Vec<String>) {
    let count = lines.len();
    let at = |line: u16| usize::from(line) % count;
    match *edit {
        Edit::LeaveOut(line) if count > 1 => drop(lines.remove(at(line))),
        Edit::LeaveOut(_) => {}
        Edit::Exchange(a, b) => lines.swap(at(a), at(b)),
        Edit::Repeat { from, count: more, to } => {
            let from = at(from);
            let some = lines[from..count.min(from + usize::from(more % 8))].to_vec();
            let to = at(to);
            lines.splice(to..to, some);
        }
        Edit::Digit { line, place, digit } => {
            change(
                &mut lines[at(line)],
                place,
                |c| c.is_ascii_digit(),
                char::from(b'0' + digit % 10),
            );
        }
        Edit::Letter { line, place, letter } => {
            let letter = char::from(b"XYZFGMSTIJKRP-"[usize::from(letter) % 14]);
            change(&mut lines[at(line)], place, |c| c.is_ascii_alphabetic() || c == '-', letter);
        }
        Edit::Insert { line, what, x, y } => {
            let (x, y) = (f64::from(x) / 64.0, f64::from(y) / 64.0);
            let line = at(line);
            let new = match what % 16 {
                0 => format!("G0 X{x:.3} Y{y:.3}"),
                1 => format!("G1 X{x:.3} Y{y:.3} F300"),
                2 => format!("G0 Z{x:.3}"),
                3 => format!("G1 Z{x:.3} F300"),
                4 => format!("G92 X{x:.3}"),
                5 => format!("G10 L2 P1 Y{y:.3}"),
                6 => format!("G2 X{x:.3} Y{y:.3} I{y:.3} F300"),
                7 => format!("G18 G3 X{x:.3} Z{y:.3} R{x:.3} F300"),
                8 => "G91".to_string(),
                9 => "G20".to_string(),
                10 => "M3 S90".to_string(),
                11 => "M5".to_string(),
                12 => "G17".to_string(),
                13 => format!("G53 G0 Z{y:.3}"),
                14 => format!("G81 X{x:.3} Y{y:.3} Z-3 R2"),
                _ => "G90".to_string(),
            };
            lines.insert(line, new);
        }
    }
}

fn change(line: &mut String, place: u8, which: impl Fn(char) -> bool, to: char) {
    let places: Vec<usize> =
        line.char_indices().filter(|(_, c)| which(*c)).map(|(place, _)| place).collect();
    if !places.is_empty() {
        let place = places[usize::from(place) % places.len()];
        line.replace_range(place..place + 1, to.encode_utf8(&mut [0; 4]));
    }
}

/// Reads the few words that our programs are made of, and nothing else: a text with any other is left alone.
fn read_again(text: &str, trace: &[Move], start: [f64; 3]) {
    let mut moves = trace.iter().filter(|step| step.kind != MoveKind::Dwell);
    let (mut at, mut kind, mut turning) = (start, MoveKind::Rapid, Turning::Stopped);
    for line in text.lines() {
        let code = line.split(['(', ';']).next().unwrap_or("");
        let (mut to, mut goes, mut ends, mut aside) = (at, false, false, [0.0; 2]);
        for word in code.split_whitespace() {
            let (letter, number) = word.split_at(1);
            let Ok(number) = number.parse::<f64>() else { return };
            match (letter, number) {
                ("G", 0.0) => kind = MoveKind::Rapid,
                ("G", 1.0) => kind = MoveKind::Feed,
                ("G", 2.0) => kind = MoveKind::ArcCw,
                ("G", 3.0) => kind = MoveKind::ArcCcw,
                ("G", 4.0 | 17.0 | 21.0 | 54.0 | 90.0 | 94.0) | ("F" | "P" | "S" | "T", _) => {}
                ("M", 0.0) => {}
                ("M", 2.0) => ends = true,
                ("M", 3.0) => turning = Turning::Forward,
                ("M", 4.0) => turning = Turning::Reverse,
                ("M", 5.0) => turning = Turning::Stopped,
                ("X", x) => (to[0], goes) = (x, true),
                ("Y", y) => (to[1], goes) = (y, true),
                ("Z", z) => (to[2], goes) = (z, true),
                ("I", i) => aside[0] = i,
                ("J", j) => aside[1] = j,
                _ => return,
            }
        }
        if goes {
            let step = moves.next().unwrap_or_else(|| panic!("`{line}` moves nothing"));
            let near = |a: f64, b: f64| (a - b).abs() < 1e-9;
            assert_eq!(step.kind, kind, "`{line}`: {step:?}");
            assert!((0..3).all(|axis| near(step.to[axis], to[axis])), "`{line}`: {step:?}");
            if let Some(arc) = &step.arc {
                let centred = (0..2).all(|axis| near(arc.centre[axis], at[axis] + aside[axis]));
                assert!(centred, "`{line}`: {step:?}");
            }
            assert!(step.pen.is_some() || step.turning == turning, "`{line}`: {step:?}");
        }
        at = to;
        if ends {
            break;
        }
    }
    assert_eq!(moves.next(), None, "a move that no line tells");
}

/// Points along a move, a quarter of a millimetre apart or less where it is not very long.
fn points(step: &Move) -> Vec<[f64; 3]> {
    let d: [f64; 3] = std::array::from_fn(|axis| step.to[axis] - step.from[axis]);
    let round = step.arc.as_ref().map_or(0.0, |arc| arc.radius * arc.turned.abs());
    let length = (d[0] * d[0] + d[1] * d[1] + d[2] * d[2]).sqrt().max(round);
    let count = (length * 4.0).ceil().clamp(1.0, 4000.0) as u32;
    let part = |i: u32| f64::from(i) / f64::from(count);
    let straight = |part: f64| std::array::from_fn(|axis| step.from[axis] + d[axis] * part);
    let Some(arc) = &step.arc else {
        return (0..=count).map(|i| straight(part(i))).collect();
    };
    let [a, b, _] = arc.plane.axes();
    let start = [step.from[a] - arc.centre[0], step.from[b] - arc.centre[1]];
    let at = |i: u32| {
        let (sin, cos) = (arc.turned * part(i)).sin_cos();
        let mut place = straight(part(i));
        place[a] = arc.centre[0] + start[0] * cos - start[1] * sin;
        place[b] = arc.centre[1] + start[0] * sin + start[1] * cos;
        place
    };
    (0..=count).map(at).collect()
}

fn as_planned(trace: &[Move], plan: &Plan) {
    let mut fitted = None;
    let mut holes = Vec::new();
    let mut strokes: Vec<Vec<[f64; 2]>> = Vec::new();
    for step in &plan.steps {
        match step {
            Step::Fit { tool, turn, .. } => {
                let turning = match turn {
                    Rotation::Forward => Turning::Forward,
                    Rotation::Reverse => Turning::Reverse,
                };
                fitted = Some((*tool, turning));
            }
            Step::Drill { at, depth, .. } => holes.push((at.map(mm), mm(*depth), 0.0, fitted)),
            Step::Bore { at, depth, circle, .. } => {
                holes.push((at.map(mm), mm(*depth), mm(*circle), fitted));
            }
            Step::Cut { .. } => unreachable!("these jobs cut nothing out"),
            Step::Stroke { points } => strokes.push(points.iter().map(|p| p.map(mm)).collect()),
            // Passed in the air: nothing is touched there, which is looked at below.
            Step::Air { .. } | Step::Show { .. } => {}
        }
    }
    let mut reached = vec![0.0_f64; holes.len()];
    let mut turned = vec![0.0_f64; holes.len()];
    let around: Vec<[[f64; 2]; 2]> = strokes.iter().map(|points| bounds(points)).collect();
    let mut met: Vec<Vec<bool>> = strokes.iter().map(|points| vec![false; points.len()]).collect();
    let mut drawn = 0.0;
    for step in trace {
        let along = points(step);
        if step.pen == Some(PenState::Down) {
            for pair in along.windows(2) {
                drawn += apart([pair[0][0], pair[0][1]], [pair[1][0], pair[1][1]]);
            }
            for point in along.iter().map(|p| [p[0], p[1]]) {
                let mut planned = false;
                let near = |[low, high]: [[f64; 2]; 2]| {
                    (0..2).all(|i| point[i] >= low[i] - NEAR && point[i] <= high[i] + NEAR)
                };
                for (i, points) in strokes.iter().enumerate().filter(|(i, _)| near(around[*i])) {
                    planned |= points.windows(2).any(|leg| from_leg(point, leg[0], leg[1]) <= NEAR);
                    for (planned, met) in points.iter().zip(&mut met[i]) {
                        *met |= apart(point, *planned) <= NEAR;
                    }
                }
                assert!(planned, "drawn at {point:?}: {step:?}");
            }
            continue;
        }
        for &[x, y, z] in along.iter().filter(|p| p[2] < -1e-6) {
            // Of a bored hole the middle has its slack, and the circle its own.
            let within = |circle: f64| if circle > 0.0 { circle + NEAR + mm(SLACK) } else { NEAR };
            let hole =
                holes.iter().position(|(at, _, circle, _)| apart([x, y], *at) <= within(*circle));
            let hole = hole.unwrap_or_else(|| panic!("touched at {x} {y} {z}: {step:?}"));
            let (_, depth, _, fitted) = holes[hole];
            assert!(-z <= depth + mm(SLACK) + 1e-3, "too deep at {x} {y}: {z}");
            assert_eq!(step.tool.zip(Some(step.turning)), fitted, "{step:?}");
            reached[hole] = reached[hole].min(z);
        }
        if let Some(arc) = &step.arc
            && let Some(hole) = holes.iter().position(|(at, ..)| apart(arc.centre, *at) <= NEAR)
            && step.from[2] == step.to[2]
            && -step.to[2] >= holes[hole].1 - NEAR
        {
            turned[hole] += arc.turned.abs();
        }
    }
    for ((at, depth, circle, _), (reached, turned)) in holes.iter().zip(reached.iter().zip(&turned))
    {
        assert!((-reached - depth).abs() <= NEAR, "hole at {at:?} is {reached} deep, not {depth}");
        assert!(*circle == 0.0 || *turned >= TAU - 0.01, "hole at {at:?} is not bored round");
    }
    assert!(met.iter().flatten().all(|met| *met), "every point of every stroke is met");
    let wanted: f64 =
        strokes.iter().flat_map(|points| points.windows(2)).map(|leg| apart(leg[0], leg[1])).sum();
    let count: usize = strokes.iter().map(Vec::len).sum();
    assert!((drawn - wanted).abs() <= 0.02 * count as f64 + 1e-6, "{drawn} mm drawn, not {wanted}");
}

/// The lower left and the upper right corner of the box round some points.
fn bounds(points: &[[f64; 2]]) -> [[f64; 2]; 2] {
    let start = [[f64::INFINITY; 2], [f64::NEG_INFINITY; 2]];
    points.iter().fold(start, |[low, high], p| {
        [[low[0].min(p[0]), low[1].min(p[1])], [high[0].max(p[0]), high[1].max(p[1])]]
    })
}

fn apart(a: [f64; 2], b: [f64; 2]) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}

fn from_leg(point: [f64; 2], from: [f64; 2], to: [f64; 2]) -> f64 {
    let d = [to[0] - from[0], to[1] - from[1]];
    let p = [point[0] - from[0], point[1] - from[1]];
    let squared = d[0] * d[0] + d[1] * d[1];
    let part =
        if squared > 0.0 { ((p[0] * d[0] + p[1] * d[1]) / squared).clamp(0.0, 1.0) } else { 0.0 };
    apart(p, [d[0] * part, d[1] * part])
}
