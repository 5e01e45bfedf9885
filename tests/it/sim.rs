//! Times of the rehearsal against reference values, and programs written by others.

use crate::demo::machines;
use approx::assert_abs_diff_eq;
use bradawl::{
    machine::Machine,
    sim::{
        Ending, Kind, Move, MoveKind, Rehearsal, Ring, Setting, rehearse, rings,
        timing::{Chain, Leg, joint_squared},
    },
};
use proptest::prelude::*;
use std::{
    f64::consts::{PI, TAU},
    fs,
    path::Path,
};

fn router() -> Machine {
    machines().remove("bench-router").expect("a demo machine")
}

fn run(machine: &Machine, program: &[u8]) -> (Rehearsal, Vec<Move>) {
    let mut trace = Vec::new();
    let setting = Setting { machine, work: None };
    let rehearsal =
        rehearse(program, &setting, |step| trace.push(step.clone())).expect("reading from memory");
    (rehearsal, trace)
}

/// Rest to rest under limits of each axis: d mm, v mm/s, a mm/s², seconds. Source: made with the PyPI
/// library ruckig 0.19.4 (MIT), one degree of freedom, jerk without limit.
type Straight = ([f64; 3], [f64; 3], [f64; 3], f64);

/// Name, points, [v, a, deviation], seconds.
type Way = (&'static str, Vec<[f64; 2]>, [f64; 3], f64);

const STRAIGHT: [Straight; 12] = [
    ([100.0, 0.0, 0.0], [50.0, 50.0, 10.0], [500.0, 500.0, 100.0], 2.1),
    ([0.5, 0.25, 0.0], [80.0, 60.0, 10.0], [400.0, 200.0, 50.0], 0.070710678),
    ([300.0, 200.0, 0.0], [80.0, 80.0, 10.0], [400.0, 400.0, 100.0], 3.95),
    ([100.0, 100.0, 0.0], [50.0, 200.0, 10.0], [1000.0, 100.0, 100.0], 2.5),
    ([200.0, 150.0, 0.0], [100.0, 40.0, 10.0], [150.0, 800.0, 100.0], 4.105555556),
    ([10.0, 10.0, -5.0], [80.0, 60.0, 8.0], [400.0, 200.0, 50.0], 0.785),
    ([0.0, 0.0, -12.0], [80.0, 60.0, 8.0], [400.0, 200.0, 50.0], 1.66),
    ([-250.5, 125.25, 30.0], [100.0, 100.0, 20.0], [1000.0, 500.0, 50.0], 2.744520958),
    ([600.0, -400.0, 15.0], [150.0, 80.0, 25.0], [300.0, 600.0, 10.0], 5.4),
    ([3.0, 4.0, 1.0], [1000.0, 1000.0, 1000.0], [100.0, 80.0, 60.0], 0.447213595),
    ([3.0, 0.001, 0.0], [100.0, 1.0, 1.0], [1000.0, 10.0, 10.0], 0.109544512),
    (
        [45.678, -12.345, 6.789],
        [83.333333, 83.333333, 16.666667],
        [200.0, 200.0, 50.0],
        0.964802667,
    ),
];

#[test]
fn rapids_take_the_time_of_their_slowest_axis() {
    for (d, v, a, seconds) in STRAIGHT {
        let mut machine = router();
        machine.motion.rapid = v.map(|v| v * 60.0);
        machine.motion.acceleration = a;
        let program = format!("G21 G90\nG0 X{} Y{} Z{}\n", d[0], d[1], d[2]);
        let (_, trace) = run(&machine, program.as_bytes());
        assert_eq!(trace.len(), 1);
        assert_abs_diff_eq!(trace[0].seconds, seconds, epsilon = 1e-6);
    }
}

/// Way through several points: v mm/s, a mm/s², junction deviation mm, seconds. Source: as above, one
/// degree of freedom a move, joint speeds from v² = a·δ·s/(1-s), s = sqrt((1-cos θ)/2).
#[test]
fn corners_slow_a_feed_down_as_far_as_they_must() {
    let turned = |degrees: f64| {
        let (y, x) = (libm::sin(degrees.to_radians()), libm::cos(degrees.to_radians()));
        vec![[50.0, 0.0], [50.0 + 50.0 * x, 50.0 * y]]
    };
    let circle = (1..=72).map(|k| {
        let angle = (f64::from(k) * 5.0).to_radians();
        [10.0 - 10.0 * libm::cos(angle), 10.0 * libm::sin(angle)]
    });
    let zigzag = (1..=20).map(|k| [f64::from(k), f64::from(k % 2)]);
    let square = vec![[20.0, 0.0], [20.0, 20.0], [0.0, 20.0], [0.0, 0.0]];
    let table: [Way; 8] = [
        ("straight on", vec![[50.0, 0.0], [100.0, 0.0]], [50.0, 500.0, 0.01], 2.1),
        ("square corner", vec![[50.0, 0.0], [50.0, 50.0]], [50.0, 500.0, 0.01], 2.186585),
        ("45 degrees", turned(45.0), [50.0, 500.0, 0.01], 2.171267),
        ("10 degrees", turned(10.0), [50.0, 500.0, 0.01], 2.107640),
        ("there and back", vec![[50.0, 0.0], [0.0, 0.0]], [50.0, 500.0, 0.01], 2.2),
        ("square", square, [80.0, 400.0, 0.02], 1.735890),
        ("circle in 72 chords", circle.collect(), [80.0, 400.0, 0.01], 1.115252),
        ("zigzag", zigzag.collect(), [60.0, 300.0, 0.05], 2.093236),
    ];
    for (name, points, [v, a, deviation], seconds) in table {
        // The figures are for limits along the way, alike in every direction; a machine's are by axis.
        let (mut chain, mut found) = (Chain::default(), 0.0);
        let (mut at, mut before) = ([0.0; 2], None);
        for point in points {
            let d = [point[0] - at[0], point[1] - at[1]];
            let length = (d[0] * d[0] + d[1] * d[1]).sqrt();
            let way = [d[0] / length, d[1] / length, 0.0];
            let joint = before.map_or(0.0, |before| joint_squared(before, way, a, deviation));
            chain.push(Leg { length, speed: v, acceleration: a }, joint, (), |(), ride| {
                found += ride.seconds()
            });
            (at, before) = (point, Some(way));
        }
        chain.rest(|(), ride| found += ride.seconds());
        assert!((found - seconds).abs() < 1e-6, "{name}: {found} and not {seconds}");
    }
}

/// However many moves a straight way is cut into, it takes its time, and few of them wait for theirs.
#[test]
fn a_way_of_five_thousand_moves_takes_the_time_of_one() {
    let (speed, acceleration) = (50.0, 500.0);
    let whole = Leg { length: 500.0, speed, acceleration };
    let (mut chain, mut found, mut done) = (Chain::default(), 0.0, 0);
    for i in 0..5000 {
        let joint = if i == 0 { 0.0 } else { f64::INFINITY };
        chain.push(Leg { length: 0.1, ..whole }, joint, (), |(), ride| {
            (found, done) = (found + ride.seconds(), done + 1);
        });
        assert!(i < 1024 + done, "{i} pushed and {done} done");
    }
    chain.rest(|(), ride| found += ride.seconds());
    assert!(chain.is_empty());
    assert_abs_diff_eq!(found, whole.seconds(0.0, 0.0), epsilon = 1e-6);
}

/// A line runs into an arc without a stop where it touches it, and slows down where it meets it at an angle.
#[test]
fn lines_and_arcs_are_joined_by_the_angle_between_them() {
    let machine = router();
    let seconds = |program: &str| {
        let (rehearsal, _) = run(&machine, format!("G21 G90 F600\nG0 Z0\n{program}\n").as_bytes());
        rehearsal.time.feed
    };
    let leg = |length: f64| Leg { length, speed: 10.0, acceleration: 400.0 };
    let arc = std::f64::consts::PI * 20.0;
    for round in ["G1 X100\nG3 X100 Y40 J20\nG1 X0", "G1 X100\nG3 X100 Y40 R20\nG1 X0"] {
        assert_abs_diff_eq!(seconds(round), leg(200.0 + arc).seconds(0.0, 0.0), epsilon = 1e-6);
    }
    let clockwise = "G0 Y40\nG1 X100\nG2 X100 Y0 J-20\nG1 X0";
    assert_abs_diff_eq!(seconds(clockwise), leg(200.0 + arc).seconds(0.0, 0.0), epsilon = 1e-6);
    // A square corner: v² = a·δ·s/(1-s), s = sqrt(1/2); then a corner of 45 degrees out of a quarter.
    let joint = |s: f64| (400.0 * 0.02 * s / (1.0 - s)).sqrt();
    let square = joint(0.5_f64.sqrt());
    let met = leg(100.0).seconds(0.0, square) + leg(arc).seconds(square, 0.0);
    assert_abs_diff_eq!(seconds("G1 X100\nG3 X140 I20"), met, epsilon = 1e-6);
    let quarter = arc / 2.0;
    // Leaves the quarter upwards, and goes on at 45 degrees to that: the legs' own angle is 135.
    let out = joint(((1.0 + 0.5_f64.sqrt()) / 2.0).sqrt());
    let slanting =
        Leg { length: 800.0_f64.sqrt(), speed: 10.0, acceleration: 400.0 * 2.0_f64.sqrt() };
    let least = out.min(10.0);
    let met = leg(100.0 + quarter).seconds(0.0, least) + slanting.seconds(least, 0.0);
    assert_abs_diff_eq!(seconds("G1 X100\nG3 X120 Y20 J20\nG1 X140 Y40"), met, epsilon = 1e-6);
}

/// Straight moves between end speeds: L mm, from and to mm/s, v mm/s, a mm/s², seconds. Source: as above.
#[test]
fn a_leg_between_two_speeds_takes_its_time() {
    let table = [
        ([100.0, 10.0, 0.0, 50.0, 500.0], 2.082),
        ([100.0, 0.0, 20.0, 50.0, 500.0], 2.068),
        ([5.0, 30.0, 30.0, 50.0, 500.0], 0.116),
        ([2.0, 10.0, 40.0, 50.0, 500.0], 0.072046505),
        ([1.6, 0.0, 40.0, 50.0, 500.0], 0.08),
        ([30.0, 45.0, 5.0, 50.0, 100.0], 0.805),
    ];
    for ([length, from, to, speed, acceleration], seconds) in table {
        let leg = Leg { length, speed, acceleration };
        assert_abs_diff_eq!(leg.seconds(from, to), seconds, epsilon = 1e-6);
        // However far it has come, what is left takes as long the other way round.
        for part in [0.0, 0.01, 0.3, 0.5, 0.77, 0.99, 1.0].map(|part| part * length) {
            let there = leg.seconds_to(part, from, to);
            let back = leg.seconds_to(length - part, to, from);
            assert_abs_diff_eq!(there + back, seconds, epsilon = 1e-6);
        }
    }
    // By hand: 2.5 mm and 0.1 s to come to speed, 95 mm at 50 mm/s, and the same to stop.
    let leg = Leg { length: 100.0, speed: 50.0, acceleration: 500.0 };
    for (part, seconds) in
        [(0.0, 0.0), (0.625, 0.05), (2.5, 0.1), (50.0, 1.05), (97.5, 2.0), (99.375, 2.05)]
    {
        assert_abs_diff_eq!(leg.seconds_to(part, 0.0, 0.0), seconds, epsilon = 1e-9);
    }
}

/// IR 6556 page 32, at (1, 2, 3): the cycle in G90 and in G91 with three repeats.
#[test]
fn the_standards_worked_cycles_go_where_it_says() {
    let ends = |program: &str| {
        let (rehearsal, trace) = run(&router(), program.as_bytes());
        let language = rehearsal.faults.iter().find(|fault| fault.rule.kind() == Kind::Language);
        assert_eq!(language, None, "{program}");
        trace.iter().skip(1).map(|step| (step.kind, step.said)).collect::<Vec<_>>()
    };
    use MoveKind::{Feed, Rapid};
    assert_eq!(
        ends("G21 F100\nG0 X1 Y2 Z3\nG90 G81 G98 X4 Y5 Z1.5 R2.8\n"),
        [
            (Rapid, [4.0, 5.0, 3.0]),
            (Rapid, [4.0, 5.0, 2.8]),
            (Feed, [4.0, 5.0, 1.5]),
            (Rapid, [4.0, 5.0, 3.0])
        ]
    );
    let round = |p: Vec<(MoveKind, [f64; 3])>| -> Vec<(MoveKind, [f64; 3])> {
        p.into_iter().map(|(k, at)| (k, at.map(|v| (v * 1e6).round() / 1e6))).collect()
    };
    let mut expected = vec![(Rapid, [1.0, 2.0, 4.8])];
    for [x, y] in [[5.0, 7.0], [9.0, 12.0], [13.0, 17.0]] {
        expected.extend([(Rapid, [x, y, 4.8]), (Feed, [x, y, 4.2]), (Rapid, [x, y, 4.8])]);
    }
    assert_eq!(round(ends("G21 F100\nG0 X1 Y2 Z3\nG91 G81 G98 X4 Y5 Z-0.6 R1.8 L3\n")), expected);
}

/// The end points of the straight moves and arcs in the standard's own listing, mm.
fn listed(listing: &str) -> Vec<[f64; 3]> {
    let mut unit = 1.0;
    let mut ends = Vec::new();
    for line in listing.lines() {
        if line.contains("CANON_UNITS_INCHES") {
            unit = 25.4;
        } else if line.contains("CANON_UNITS_MM") {
            unit = 1.0;
        }
        let numbers = |name: &str| -> Option<Vec<f64>> {
            let inside = line.split(name).nth(1)?.strip_prefix('(')?.split(')').next()?;
            inside.split(',').map(|n| n.trim().parse().ok()).collect()
        };
        if let Some(n) = numbers("STRAIGHT_TRAVERSE").or_else(|| numbers("STRAIGHT_FEED")) {
            ends.push([n[0] * unit, n[1] * unit, n[2] * unit]);
        } else if let Some(n) = numbers("ARC_FEED") {
            ends.push([n[0] * unit, n[1] * unit, n[5] * unit]);
        }
    }
    ends
}

/// Without the places where nothing moves, which one listing has and the other has not.
fn moving(ends: Vec<[f64; 3]>) -> Vec<[f64; 3]> {
    let mut kept: Vec<[f64; 3]> = Vec::new();
    for at in ends {
        let same = |last: &[f64; 3]| (0..3).all(|axis| (last[axis] - at[axis]).abs() < 1e-3);
        if !kept.last().is_some_and(same) {
            kept.push(at);
        }
    }
    kept
}

/// Programs with what the standard's own interpreter prints for them (IR 6556, appendix C, and others),
/// where the folder of them stands beside this one.
#[test]
fn programs_written_by_others_go_where_the_standards_interpreter_goes() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../shared/corpus");
    let Ok(entries) = fs::read_dir(&folder) else {
        println!("not done: the programs of others are not here");
        return;
    };
    let mut compared = 0;
    for entry in entries {
        let path = entry.expect("readable").path();
        if path.extension().is_none_or(|e| e != "ngc") {
            continue;
        }
        let listing =
            fs::read_to_string(format!("{}.nist.txt", path.display())).expect("a listing");
        let (rehearsal, trace) = run(&router(), &fs::read(&path).expect("readable"));
        let found =
            moving(trace.iter().filter(|s| s.kind != MoveKind::Dwell).map(|s| s.said).collect());
        let expected = moving(listed(&listing));
        // What is not rehearsed (tapping and the like) ends our reading by name; up to there all agrees.
        if rehearsal.ending != Ending::Refused {
            assert_eq!(found.len(), expected.len(), "{}", path.display());
        }
        for (at, (f, e)) in found.iter().zip(&expected).enumerate() {
            // Four decimals of an inch are all that the listing has.
            let near = (0..3).all(|axis| (f[axis] - e[axis]).abs() < 5.1e-5 * 25.4);
            assert!(near, "{} move {at}: {f:?} and not {e:?}", path.display());
        }
        compared += found.len();
    }
    println!("{compared} moves compared");
    assert!(compared > 100);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    /// Any bytes get an answer.
    #[test]
    fn any_bytes_are_read_without_a_panic(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        run(&router(), &bytes);
    }

    /// So do any words in any order, and what is accepted twice is accepted the same.
    #[test]
    fn any_words_get_the_same_answer_twice(
        words in proptest::collection::vec(
            (proptest::sample::select(b"GMXYZIJKRFSTPQLHDN#[]()/;%".to_vec()), -20..120i32, 0..12u8), 0..80)
    ) {
        let mut program = String::from("G21 G90 F100\n");
        for (letter, number, end) in words {
            let letter = char::from(letter);
            program.push_str(&match letter {
                '#' | '[' | ']' | '(' | ')' | '/' | ';' | '%' => letter.to_string(),
                _ => format!("{letter}{number}"),
            });
            program.push_str(if end < 3 { "\n" } else { " " });
        }
        let (first, trace) = run(&router(), program.as_bytes());
        prop_assert!(trace.iter().all(|s| s.seconds.is_finite() && s.to.iter().all(|v| v.is_finite())));
        let (second, _) = run(&router(), program.as_bytes());
        prop_assert_eq!(first, second);
    }
}

/// The circle that straight cuts from place to place are told to be chords of, if of any.
fn ring(points: &[[f64; 3]]) -> Option<Ring> {
    let [x, y, z] = points[0];
    let mut text = format!("G21 G90 G17 G0 X{x:.9} Y{y:.9} Z20\nG1 Z{z:.9} F100\n");
    for [x, y, z] in &points[1..] {
        text.push_str(&format!("X{x:.9} Y{y:.9} Z{z:.9}\n"));
    }
    let (_, trace) = run(&router(), (text + "G0 Z20\n").as_bytes());
    let rings = rings(&trace);
    assert!(rings[0].is_none() && rings[1..].iter().all(|ring| *ring == rings[1]), "{rings:?}");
    rings[1]
}

/// So many places round a circle about X100 Y90, and one more; each turn goes down by `down`.
fn round(count: u32, radius: f64, turns: f64, down: f64) -> Vec<[f64; 3]> {
    let at = |i: u32| {
        let turn = turns * f64::from(i) / f64::from(count);
        let (sin, cos) = libm::sincos(turn * TAU);
        [100.0 + radius * cos, 90.0 + radius * sin, -1.0 - turn.abs() * down]
    };
    (0..=count).map(at).collect()
}

#[test]
fn chords_are_told_by_their_circle() {
    let told = |points: &[[f64; 3]], [radius, error, per_turn, turned]: [f64; 4]| {
        let ring = ring(points).expect("a circle");
        for (found, by_hand) in [
            (ring.centre[0], 100.0),
            (ring.centre[1], 90.0),
            (ring.radius, radius),
            (ring.chord_error, error),
            (ring.per_turn, per_turn),
            (ring.turned, turned),
        ] {
            assert_abs_diff_eq!(found, by_hand, epsilon = 1e-6);
        }
    };
    // A chord's middle is off by r (1 - cos of half its angle).
    let error = |radius: f64, angle: f64| radius * (1.0 - libm::cos(angle / 2.0));
    told(&round(8, 2.0, 1.0, 0.0), [2.0, error(2.0, TAU / 8.0), 0.0, TAU]);
    told(&round(8, 2.0, -1.0, 0.0), [2.0, error(2.0, TAU / 8.0), 0.0, TAU]);
    told(&round(8, 9.0, 0.25, 0.0), [9.0, error(9.0, PI / 16.0), 0.0, PI / 2.0]);
    told(&round(12, 5.0, 1.0, 0.0), [5.0, error(5.0, TAU / 12.0), 0.0, TAU]);
    // No circle of so few, and none of a corner more than a fifth of a millimetre off.
    assert_eq!(ring(&round(7, 1.0, 1.0, 0.0)), None);
    assert_eq!(ring(&round(8, 5.0, 1.0, 0.0)), None);
    // Evenly down; then the second turn twice as steep; then up.
    let error_of_12 = error(2.0, TAU / 12.0);
    for turns in [3.0, -3.0] {
        let coil = round(36, 2.0, turns, 0.5);
        told(&coil, [2.0, error_of_12, 0.5, 3.0 * TAU]);
        let mut steep = coil.clone();
        steep.iter_mut().skip(13).for_each(|p| p[2] -= 0.5);
        told(&steep, [2.0, error_of_12, 1.0, 3.0 * TAU]);
        told(&round(36, 2.0, turns, -0.25), [2.0, error_of_12, 0.0, 3.0 * TAU]);
    }
    // A place beside the circle, wherever it comes.
    for at in [0, 1, 11, 23] {
        for (by, is_one) in [(0.004, true), (-0.004, true), (0.008, false), (-0.008, false)] {
            let mut points = round(24, 2.0, 0.97, 0.0);
            for axis in 0..2 {
                points[at][axis] += by * (points[at][axis] - [100.0, 90.0][axis]) / 2.0;
            }
            assert_eq!(ring(&points).is_some(), is_one, "{at} {by}");
        }
    }
    // Out to the middle, beside it, and elsewhere.
    let turn = round(24, 2.0, 1.0, 0.0);
    let out_to = |x: f64, y: f64| ring(&[&turn[..], &[[x, y, -1.0]]].concat());
    assert_eq!(out_to(100.0, 90.0), ring(&turn));
    assert!(out_to(100.004, 90.004).is_some());
    for [x, y] in [[100.0, 90.008], [99.992, 90.0], [104.0, 90.0], [100.0, 88.0]] {
        assert_eq!(out_to(x, y), None);
    }
    // There and back again.
    let back: Vec<[f64; 3]> = turn.iter().rev().skip(1).copied().collect();
    assert_eq!(ring(&[&turn[..], &back].concat()), None);
    // Hardly bent, of 20 mm: the root of the mean square off a straight line is 0.3 of what it is off in its middle.
    for lies in [0.0, 0.6, PI / 2.0, 2.2] {
        let bent = |radius: f64| -> Vec<[f64; 3]> {
            let at = |i: i32| {
                let (sin, cos) = libm::sincos(lies + f64::from(i) / radius);
                let [x, y] = [cos - libm::cos(lies), sin - libm::sin(lies)];
                [100.0 + radius * x, 90.0 + radius * y, -1.0]
            };
            (-10..=10).map(at).collect()
        };
        assert!((ring(&bent(2000.0)).expect("one").radius - 2000.0).abs() < 1.0, "{lies}");
        assert_eq!(ring(&bent(3500.0)), None, "{lies}");
    }
}

/// Between two `%` a program ends without M2; after the first alone it does not.
#[test]
fn a_fenced_program_ends_at_its_second_fence() {
    let machine = router();
    let named = |program: &str| -> Vec<&str> {
        let (rehearsal, _) = run(&machine, program.as_bytes());
        rehearsal.faults.iter().map(|fault| fault.rule.name()).collect()
    };
    let body = "G21 G90 G17 G94 G54\nG0 Z20\nG0 X10 Y10\nG0 X0 Y0\n";
    assert!(named(body).contains(&"end-missing"));
    assert!(named(&format!("%\n{body}")).contains(&"end-missing"));
    assert!(!named(&format!("%\n{body}%\n")).contains(&"end-missing"));
    assert!(!named(&format!("{body}M2\n")).contains(&"end-missing"));
}

/// The numbers of a pen's words are M numbers after an M only.
#[test]
fn a_pens_own_numbers_are_no_words_of_the_machine() {
    let plotter = machines().remove("servo-plotter").expect("a demo machine");
    let named = |line: &str| -> Vec<&str> {
        let program = format!("G21 G90 G17 G94 G54\nM5\nG4 P1\n{line}\nG0 X0 Y0\nM2\n");
        let (rehearsal, _) = run(&plotter, program.as_bytes());
        rehearsal.faults.iter().map(|fault| fault.rule.name()).collect()
    };
    assert!(!named("M3 S90").contains(&"unknown-m"));
    assert!(named("M90").contains(&"unknown-m"));
}
