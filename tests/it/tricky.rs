//! Programs that are easy to read wrongly: what each does was worked out by hand from the standard's text.
//!
//! Pages are of *The NIST RS274NGC Interpreter, Version 3*, NIST IR 6556 (Kramer, Proctor, Messina, 2000).

use crate::demo::machines;
use MoveKind::{ArcCw, Dwell, Feed, Rapid};
use bradawl::{
    machine::Machine,
    sim::{Holes, Kind, Move, MoveKind, Rehearsal, Setting, WorkSize, rehearse},
};

fn router() -> Machine {
    machines().remove("bench-router").expect("a demo machine")
}

fn run(program: &str, work: Option<WorkSize>) -> (Rehearsal, Vec<Move>) {
    let mut trace = Vec::new();
    let machine = router();
    let setting = Setting { machine: &machine, work };
    let rehearsal = rehearse(program.as_bytes(), &setting, |step| trace.push(step.clone()))
        .expect("reading from memory");
    (rehearsal, trace)
}

/// The moves after the first line of `program`: what they are and where they end on the work.
fn moves(program: &str) -> Vec<(MoveKind, [f64; 3])> {
    let (rehearsal, trace) = run(program, None);
    let refusal = rehearsal.faults.iter().find(|fault| fault.rule.kind() == Kind::Language);
    assert_eq!(refusal, None, "{program}");
    trace.iter().filter(|step| step.line > 1).map(|step| (step.kind, step.to.map(round))).collect()
}

fn round(value: f64) -> f64 {
    (value * 1e6).round() / 1e6 + 0.0
}

/// Said first in each program: (10, 10, 20), G90, G21.
const AT: &str = "G21 G90 G17 F100 G0 X10 Y10 Z20\n";

fn goes(lines: &str, expected: &[(MoveKind, [f64; 3])]) {
    assert_eq!(moves(&format!("{AT}{lines}\n")), expected, "{lines}");
}

#[test]
fn distance_modes_change_before_the_move_of_their_line() {
    goes(
        "G91 X5\nG90 Y5\nG91 G1 Z-1\nX-5 G90\nG91 X1 Y1\nX1",
        &[
            (Rapid, [15.0, 10.0, 20.0]),
            (Rapid, [15.0, 5.0, 20.0]),
            (Feed, [15.0, 5.0, 19.0]),
            (Feed, [-5.0, 5.0, 19.0]),
            (Feed, [-4.0, 6.0, 19.0]),
            (Feed, [-3.0, 6.0, 19.0]),
        ],
    );
}

/// Pages 36, 37.
#[test]
fn a_shift_holds_in_every_system_until_it_is_dropped() {
    goes("G92 X0 Y0\nG0 X5", &[(Rapid, [15.0, 10.0, 20.0])]);
    // Given anew, it is reckoned from the system and not from the last shift.
    goes("G92 X0 Y0\nG92 X1\nG0 X0 Y0", &[(Rapid, [9.0, 10.0, 20.0])]);
    goes(
        "G92 X0\nG92.2\nG0 X1\nG92.3\nX1",
        &[(Rapid, [1.0, 10.0, 20.0]), (Rapid, [11.0, 10.0, 20.0])],
    );
    goes("G92 X0\nG92.1\nG92.3\nG0 X1", &[(Rapid, [1.0, 10.0, 20.0])]);
    // In G91 the words of G92 are still what the place reads.
    goes("G91 G92 X2\nG90 G0 X0", &[(Rapid, [8.0, 10.0, 20.0])]);
    goes("G92 X0\nG91 G0 X1\nG90 X1", &[(Rapid, [11.0, 10.0, 20.0]), (Rapid, [11.0, 10.0, 20.0])]);
    // The second system lies at 100, 50, 20 of the work: G10 counts from machine zero, at 0, 0, 80.
    goes(
        "G92 X0\nG10 L2 P2 X100 Y50 Z-60\nG55\nG0 X1 Y1 Z1\nG54 X1 Y1",
        &[(Rapid, [111.0, 51.0, 21.0]), (Rapid, [11.0, 1.0, 21.0])],
    );
    // A system moved while it is in use: the place stays and reads anew.
    goes(
        "G10 L2 P1 X3\nG91 G0 X1\nG90 X0",
        &[(Rapid, [11.0, 10.0, 20.0]), (Rapid, [3.0, 10.0, 20.0])],
    );
    goes("G92 X0\nG10 L2 P1 X3\nG0 X0", &[(Rapid, [13.0, 10.0, 20.0])]);
    goes("G10 L2 P1 X3\nG92 X0\nG0 X0 Y5", &[(Rapid, [10.0, 5.0, 20.0])]);
    // The parameters that stand for the zeros are in the unit of the program (page 10).
    goes("G10 L2 P2 X50.8\nG20\nG0 X#5241", &[(Rapid, [50.8, 10.0, 20.0])]);
    goes("G0 Z[#5223+#5221+#5222+111]", &[(Rapid, [10.0, 10.0, 31.0])]);
    goes("G92 Y3\nG0 X#5212", &[(Rapid, [7.0, 10.0, 20.0])]);
    goes("G20\nG92 Y0\nG0 X#5212", &[(Rapid, [10.0, 10.0, 20.0])]);
    goes("G10 L2 P2 X0 Y0 Z-80\nG55\nG0 X#5220", &[(Rapid, [2.0, 10.0, 20.0])]);
}

/// Page 27: machine coordinates for one line, whatever shifts there are.
#[test]
fn machine_moves_pass_over_every_zero() {
    goes(
        "G92 X0 Y0 Z0\nG53 G0 X7 Z-5\nX1",
        &[(Rapid, [7.0, 10.0, 75.0]), (Rapid, [11.0, 10.0, 75.0])],
    );
    goes("G1 G53 X7\nG53 Y8", &[(Feed, [7.0, 10.0, 20.0]), (Feed, [7.0, 8.0, 20.0])]);
}

/// Page 26: by way of the place given, then all axes.
#[test]
fn home_is_reached_by_way_of_the_place_given() {
    goes("G91 G28 X0 Y5 Z5", &[(Rapid, [10.0, 15.0, 25.0]), (Rapid, [0.0, 0.0, 80.0])]);
    goes("G28 Z50", &[(Rapid, [10.0, 10.0, 50.0]), (Rapid, [0.0, 0.0, 80.0])]);
    goes(
        "G92 X0\nG30 X1 Y0 Z50\nG0 X0",
        &[(Rapid, [11.0, 0.0, 50.0]), (Rapid, [0.0, 0.0, 80.0]), (Rapid, [10.0, 0.0, 80.0])],
    );
    goes("G28", &[(Rapid, [0.0, 0.0, 80.0])]);
}

/// Pages 30 to 36, in the planes whose upright axis is not Z.
#[test]
fn cycles_drill_along_the_upright_axis_of_their_plane() {
    goes(
        "G18 G98 G81 X4 Z35 Y2 R5",
        &[
            (Rapid, [4.0, 10.0, 35.0]),
            (Rapid, [4.0, 5.0, 35.0]),
            (Feed, [4.0, 2.0, 35.0]),
            (Rapid, [4.0, 10.0, 35.0]),
        ],
    );
    goes(
        "G19 G99 G83 Y5 Z32 X-6 R0 Q3",
        &[
            (Rapid, [10.0, 5.0, 32.0]),
            (Rapid, [0.0, 5.0, 32.0]),
            (Feed, [-3.0, 5.0, 32.0]),
            (Rapid, [0.0, 5.0, 32.0]),
            (Rapid, [-2.746, 5.0, 32.0]),
            (Feed, [-6.0, 5.0, 32.0]),
            (Rapid, [0.0, 5.0, 32.0]),
        ],
    );
}

#[test]
fn steps_of_a_repeated_cycle_add_up() {
    let once = |x: f64| {
        [
            (Feed, [x, 10.0, 6.0]),
            (Rapid, [x, 10.0, 10.0]),
            (Rapid, [x, 10.0, 6.254]),
            (Feed, [x, 10.0, 4.0]),
            (Rapid, [x, 10.0, 10.0]),
        ]
    };
    let mut expected = vec![(Rapid, [15.0, 10.0, 20.0]), (Rapid, [15.0, 10.0, 10.0])];
    expected.extend(once(15.0));
    expected.push((Rapid, [20.0, 10.0, 10.0]));
    expected.extend(once(20.0));
    goes("G91 G99 G83 X5 Y0 Z-6 R-10 Q4 L2", &expected);
    // In G90 the same place is drilled again; L does not stay for the next line, R and Z do.
    let hole = |x: f64, out: f64| {
        [(Rapid, [x, 10.0, 5.0]), (Feed, [x, 10.0, 1.0]), (Rapid, [x, 10.0, out])]
    };
    let mut expected = vec![(Rapid, [15.0, 10.0, 20.0])];
    expected.extend(hole(15.0, 20.0));
    expected.push((Rapid, [15.0, 10.0, 20.0]));
    expected.extend(hole(15.0, 20.0));
    expected.push((Rapid, [16.0, 10.0, 20.0]));
    expected.extend(hole(16.0, 20.0));
    goes("G98 G81 X15 Z1 R5 L2\nX16", &expected);
    // At R already it does not rise; lengths are in the program's unit.
    goes(
        "G99 G81 X15 Z1 R20",
        &[(Rapid, [15.0, 10.0, 20.0]), (Feed, [15.0, 10.0, 1.0]), (Rapid, [15.0, 10.0, 20.0])],
    );
    goes(
        "G20 G99 G83 X1 Y1 Z0.4 R0.5 Q0.06",
        &[
            (Rapid, [25.4, 25.4, 20.0]),
            (Rapid, [25.4, 25.4, 12.7]),
            (Feed, [25.4, 25.4, 11.176]),
            (Rapid, [25.4, 25.4, 12.7]),
            (Rapid, [25.4, 25.4, 11.43]),
            (Feed, [25.4, 25.4, 10.16]),
            (Rapid, [25.4, 25.4, 12.7]),
        ],
    );
    // From below R it rises first; R is then the higher of the two heights to come back to.
    goes(
        "G98 G82 X15 Z15 R25 P0.5",
        &[
            (Rapid, [10.0, 10.0, 25.0]),
            (Rapid, [15.0, 10.0, 25.0]),
            (Feed, [15.0, 10.0, 15.0]),
            (Dwell, [15.0, 10.0, 15.0]),
            (Rapid, [15.0, 10.0, 25.0]),
        ],
    );
}

#[test]
fn what_sticks_to_a_cycle_goes_when_the_cycle_goes() {
    let refused = |lines: &str| {
        let (rehearsal, _) = run(&format!("{AT}{lines}\n"), None);
        let language = rehearsal.faults.iter().find(|f| f.rule.kind() == Kind::Language);
        language.map(|fault| (fault.line, fault.rule.name()))
    };
    assert_eq!(refused("G81 X1 Z1 R5\nG81 X2"), None);
    assert_eq!(refused("G81 X1 Z1 R5\nG82 X2 P1"), Some((3, "cycle-word-missing")));
    assert_eq!(refused("G81 X1 Z1 R5\nG80\nG81 X2"), Some((4, "cycle-word-missing")));
    assert_eq!(refused("G81 X1 Z1 R5\nG0 X3\nG81 X2"), Some((4, "cycle-word-missing")));
    assert_eq!(refused("G83 X1 Z1 R5 Q1\nX2 Q2\nX3"), None);
    assert_eq!(refused("G81 X1 Z1 R5\nL3"), Some((3, "unused-word")));
    assert_eq!(refused("G81 X1 Z5 R5"), None);
    assert_eq!(refused("G81 X1 Z5 R4.999"), Some((2, "cycle-upside-down")));
    assert_eq!(refused("G83 X1 Z-10 R2 Q0.001"), None);
    assert_eq!(refused("G83 X1 Z-10 R2 Q0.0001"), Some((2, "not-rehearsed")));
    assert_eq!(refused("G81 X1 Z1 R2 L100001"), Some((2, "not-rehearsed")));
    assert_eq!(refused("G53"), Some((2, "machine-move")));
    assert_eq!(refused("G53 G2 X12 I1"), Some((2, "machine-move")));
    assert_eq!(refused("G81 X1 Z1 R5\nG53 X2"), Some((3, "machine-move")));
    assert_eq!(refused("G1 X1 G28"), Some((2, "axes-wanted-twice")));
    assert_eq!(refused("G80 G92"), Some((2, "axis-missing")));
    assert_eq!(refused("G80 G92 X1"), None);
}

/// How far an arc's way reaches on X, Y and Z beside its ends.
fn reaches(lines: &str) -> [[f64; 3]; 2] {
    let (rehearsal, trace) = run(&format!("{AT}{lines}\n"), None);
    let refusal = rehearsal.faults.iter().find(|fault| fault.rule.kind() == Kind::Language);
    assert_eq!(refusal, None, "{lines}");
    assert_eq!(trace.len(), 2, "{lines}");
    [rehearsal.bounds.min.map(round), rehearsal.bounds.max.map(round)]
}

/// Page 24: R above nought turns at most half round, below nought more, however near they are.
#[test]
fn radius_arcs_near_half_a_turn_lie_on_the_right_side() {
    // From (10, 10) to (30, 10): the middle of the chord is (20, 10).
    let aside = (10.001_f64 * 10.001 - 100.0).sqrt();
    let top = |lines: &str| reaches(lines)[1][1];
    let bottom = |lines: &str| reaches(lines)[0][1];
    assert_eq!(top("G2 X30 Y10 R10"), 20.0);
    assert_eq!(bottom("G3 X30 Y10 R10"), 0.0);
    assert_eq!(top("G2 X30 Y10 R-10"), 20.0);
    assert_eq!(top("G2 X30 Y10 R10.001"), round(10.0 - aside + 10.001));
    assert_eq!(top("G2 X30 Y10 R-10.001"), round(10.0 + aside + 10.001));
    assert_eq!(bottom("G3 X30 Y10 R10.001"), round(10.0 + aside - 10.001));
    assert_eq!(bottom("G3 X30 Y10 R-10.001"), round(10.0 - aside - 10.001));
    // A tenth short of a full turn: nearly the whole circle, on the far side.
    assert_eq!(reaches("G2 X10 Y10.1 R-5")[0][0], round(10.0 - (25.0_f64 - 0.0025).sqrt() - 5.0));
}

/// Page 24: the way round is as seen from the upright axis' far end, in each plane.
#[test]
fn arcs_in_inches_have_their_middles_in_inches() {
    let half = [(ArcCw, [60.8, 10.0, 20.0])];
    goes("G20 G91 G2 X2 Y0 I1", &half);
    goes("G20 G91 G2 X2 Y0 R1", &half);
}

#[test]
fn arcs_turn_the_right_way_in_every_plane() {
    assert_eq!(reaches("G17 G3 X12 I1 J0")[0][1], 9.0);
    assert_eq!(reaches("G17 G2 X12 I1 J0")[1][1], 11.0);
    assert_eq!(reaches("G18 G3 X12 I1 K0")[1][2], 21.0);
    assert_eq!(reaches("G18 G2 X12 I1 K0")[0][2], 19.0);
    assert_eq!(reaches("G19 G3 Y12 J1 K0")[0][2], 19.0);
    assert_eq!(reaches("G19 G2 Y12 J1 K0")[1][2], 21.0);
    // A helix in an upright plane goes along Y.
    assert_eq!(reaches("G18 G3 X12 Y15 I1 K0"), [[10.0, 10.0, 20.0], [12.0, 15.0, 21.0]]);
}

/// Round (14, 13) from 216.87 to 53.13 degrees, either way, between lines that lead in and out without a
/// corner: so the whole way is run at one speed.
#[test]
fn an_arc_between_any_two_angles_is_as_long_as_it_is() {
    let angle = |y: f64, x: f64| libm::atan2(y, x).to_degrees();
    let ccw = angle(4.0, 3.0) - angle(-3.0, -4.0);
    let rows = [
        ("G0 X4 Y18", "G3 X17 Y17 I4 J3", "G1 X9 Y23", ccw),
        ("G0 X16 Y2", "G2 X17 Y17 I4 J3", "G1 X25 Y11", ccw - 360.0),
    ];
    for (before, arc, after, degrees) in rows {
        let program = format!("{AT}{before}\nG1 X10 Y10 F600\n{arc}\n{after}\n");
        let (rehearsal, trace) = run(&program, None);
        let turned = trace[3].arc.expect("an arc").turned;
        assert!((turned - degrees.to_radians()).abs() < 1e-9, "{arc}: {turned}");
        let length = 20.0 + 5.0 * degrees.to_radians().abs();
        // 10 mm/s; the slower axis has 400 mm/s², so four of five along the lines makes 500. No slower
        // anywhere but at the two ends.
        let seconds = length / 10.0 + 10.0 / 500.0;
        let found = rehearsal.time.feed;
        assert!((found - seconds).abs() < 1e-6, "{arc}: {found} s and not {seconds} s");
    }
    assert_eq!(reaches("G3 X17 Y17 I4 J3"), [[10.0, 8.0, 20.0], [19.0, 17.0, 20.0]]);
    assert_eq!(reaches("G2 X17 Y17 I4 J3"), [[9.0, 10.0, 20.0], [17.0, 18.0, 20.0]]);
}

/// End = start is a full circle, also where a moved zero leaves a rest in the sums; next to it is not.
#[test]
fn a_circle_closes_whatever_the_zero() {
    for tenths in 1..200 {
        let reads = f64::from(tenths) / 10.0;
        let lines = format!("{AT}G92 X{reads} Y{reads}\nG2 X{reads} Y{reads} I5 J-2 F1000\n");
        let (_, trace) = run(&lines, None);
        let turned = trace[1].arc.expect("an arc").turned;
        assert_eq!(turned, -std::f64::consts::TAU, "G92 X{reads}");
    }
    goes("G91 G2 X0 Y0 I5", &[(ArcCw, [10.0, 10.0, 20.0])]);
    let (_, trace) = run(&format!("{AT}G3 X10 Y10.004 I5\n"), None);
    let turned = trace[1].arc.expect("an arc").turned;
    assert!((turned - (std::f64::consts::TAU - 0.0008)).abs() < 1e-6, "{turned}");
}

/// Pages 15 to 18.
/// Round from `start` degrees on in `count` chords of a 20 mm circle about (100, 100), 1 mm down in all and
/// then `level` of them more, back to the middle and out.
fn in_chords(count: u32, start: f64, level: u32) -> String {
    let point = |k: u32| {
        let angle = (start + 360.0 * f64::from(k) / f64::from(count)).to_radians();
        format!("X{:.3} Y{:.3}", 100.0 + 10.0 * libm::cos(angle), 100.0 + 10.0 * libm::sin(angle))
    };
    let mut text = format!("G0 {}\nZ1\nG1 Z0\n", point(0));
    for k in 1..=count {
        text += &format!("{} Z{:.3}\n", point(k), -f64::from(k) / f64::from(count));
    }
    for k in 1..=level {
        text += &format!("{}\n", point(k));
    }
    text + "X100 Y100\nG0 Z20\nX0"
}

/// A controller without arcs bores a hole in many straight moves.
#[test]
fn a_hole_bored_in_chords_is_told_as_a_hole() {
    let told = |lines: &str| {
        let (rehearsal, trace) = run(&format!("{AT}{lines}\n"), None);
        let mut holes = Holes::default();
        trace.iter().for_each(|step| holes.watch(step));
        (holes.found(), rehearsal.holes, rehearsal.cuts, rehearsal.depths)
    };
    let off = |x: f64, y: f64| (x - 100.0).abs().max((y - 100.0).abs());
    for (count, start) in [(8, 0.0), (16, 0.0), (17, 11.0), (72, 45.0), (360, 123.4)] {
        let (holes, bored, cuts, depths) = told(&in_chords(count, start, count));
        let case = format!("{count} chords from {start} degrees");
        // Eight chords are 0.8 mm off their circle: that is an eight-cornered pocket.
        if count == 8 {
            assert_eq!((bored, cuts, depths), (0, 1, None), "{case}");
            continue;
        }
        assert_eq!((bored, cuts, depths), (1, 0, Some([1.0, 1.0])), "{case}");
        let [[x, y, z]] = holes[..] else { panic!("{case}: {holes:?}") };
        assert!(off(x, y) < 1e-3 && z == -1.0, "{case}: {x} {y} {z}");
    }
    // A turn and a bit lies to one side of its middle.
    let (holes, ..) = told(&in_chords(72, 10.0, 31));
    let [[x, y, _]] = holes[..] else { panic!("{holes:?}") };
    assert!(off(x, y) < 1e-3, "{x} {y}");
    // One chord short of a turn, a corner beside the circle, an arc among the chords, and a way past the middle.
    let whole = in_chords(72, 0.0, 72);
    let beside = whole.replacen("X90.000 Y100.000", "X89.980 Y100.000", 1);
    let mixed = whole.replace("X100 Y100\n", "G2 X110 Y100 I-10\nG1 X100 Y100\n");
    let past = whole.replace("X100 Y100\n", "X100 Y90\n");
    for spoilt in
        [in_chords(72, 0.0, 0).replacen("X110.000 Y100.000 Z-1", "Z-1", 1), beside, mixed, past]
    {
        let (holes, bored, cuts, _) = told(&spoilt);
        assert_eq!((holes.len(), bored, cuts), (0, 0, 1), "{spoilt}");
    }
    // Half of it there and back again, twice, is half a hole.
    let points: Vec<&str> = whole.lines().skip(75).take(36).collect();
    let there_and_back =
        [&points[..], &points.iter().rev().copied().collect::<Vec<_>>()].concat().join("\n");
    let half = format!(
        "G0 {}\nZ1\nG1 Z-1\n{there_and_back}\n{there_and_back}\nX100 Y100\nG0 Z20\nX0",
        points[0]
    );
    let (holes, bored, cuts, _) = told(&half);
    assert_eq!((holes.len(), bored, cuts), (0, 0, 1), "{half}");
    // The same two holes twice are four visits and two holes.
    let both = format!("{whole}\n{}", whole.replace("X1", "X3").replace("X9", "X29"));
    let (holes, bored, ..) = told(&format!("{both}\n{both}"));
    assert_eq!((holes.len(), bored), (2, 4));
}

/// Straight down, in pecks, and round on arcs; what is none of these is a cut.
#[test]
fn holes_are_told_from_cuts() {
    let told = |lines: &str| {
        let (rehearsal, trace) = run(&format!("{AT}{lines}\n"), None);
        let mut found = Holes::default();
        trace.iter().for_each(|step| found.watch(step));
        let holes = found.found();
        assert!(holes.len() as u64 <= rehearsal.holes, "{lines}");
        (holes, rehearsal.holes, rehearsal.cuts, rehearsal.depths)
    };
    let at = "G0 X30 Y40\nZ1\n";
    // The end of the program may be in the work.
    assert_eq!(told(&format!("{at}G1 Z-3")), (vec![[30.0, 40.0, -3.0]], 1, 0, Some([3.0; 2])));
    let pecks = format!("{at}G1 Z-3\nG0 Z1\nG0 Z-2\nG1 Z-5\nG0 Z20\nX0 Y0");
    assert_eq!(told(&pecks), (vec![[30.0, 40.0, -5.0]], 1, 0, Some([5.0; 2])));
    let two = format!("{at}G1 Z-5\nG0 Z20\nX50\nG1 Z-3\nG0 Z20\nX30\nG1 Z-4\nG0 Z20");
    let places = vec![[30.0, 40.0, -5.0], [50.0, 40.0, -3.0]];
    assert_eq!(told(&two), (places, 3, 0, Some([3.0, 5.0])));
    // From the right of a circle of 5 mm: round, round again deeper, to the middle, and out.
    let round = format!("{at}G1 Z-1\nG3 I-5 X30\nG1 Z-2\nG3 I-5 X30\nG1 X25\nG0 Z20");
    assert_eq!(told(&round), (vec![[25.0, 40.0, -2.0]], 1, 0, Some([2.0; 2])));
    let coil = format!("{at}G3 I-5 X30 Z-2\nG3 I-5 X30\nG0 Z20\nX0");
    assert_eq!(told(&coil), (vec![[25.0, 40.0, -2.0]], 1, 0, Some([2.0; 2])));
    // In the program's own coordinates.
    let shifted = format!("{at}G92 X0 Y0 Z0\nG3 I-5 X0 Z-2\nG3 I-5 X0\nG0 Z19\nX9");
    assert_eq!(told(&shifted).0, [[-5.0, 0.0, -2.0]]);
    for cut in [
        "G1 Z-3\nX31\nG0 Z20",
        "G1 Z-1\nG1 X31 Z-2\nG0 Z20",
        // Half round; two halves of unlike circles; a wider one; one aside; upright; past the rim.
        "G1 Z-1\nG3 I-5 X20\nG0 Z20",
        "G1 Z-1\nG3 I-5 X20\nG3 I6 X32\nG0 Z20",
        "G1 Z-1\nG3 I-5 X30\nG1 X31\nG3 I-6 X31\nG0 Z20",
        "G1 Z-1\nG3 I-5 X30\nG3 J-5 X30\nG0 Z20",
        "G1 Z-1\nG18 G2 I-5 K0 X20\nG17 G0 Z20",
        "G1 Z-1\nG3 I-5 X30\nG1 X31\nG0 Z20",
    ] {
        let (holes, bored, cuts, depths) = told(&format!("{at}{cut}"));
        assert_eq!((holes.len(), bored, cuts, depths), (0, 0, 1, None), "{cut}");
    }
}

#[test]
fn sums_are_done_in_the_standards_order() {
    let value = |settings: &str, sum: &str| {
        let moves = moves(&format!("{AT}{settings}\nG0 X{sum}\n"));
        moves.last().expect("a move").1[0]
    };
    let rows = [
        ("[2 ** 2 - 10 MOD 3 * 2]", 2.0),
        ("[1 + 2 OR 0]", 1.0),
        ("[1 OR 0 + 5]", 6.0),
        ("[2 AND 0 XOR 1]", 1.0),
        ("[2 * 3 ** 2]", 18.0),
        ("[2 - 3 - 4]", -5.0),
        ("[8 / 4 * 2]", 4.0),
        ("[-7 MOD 3]", 2.0),
        ("[7 MOD -3]", 1.0),
        ("FIX[-2.8]", -3.0),
        ("FUP[-2.8]", -2.0),
        ("ROUND[-2.5]", -3.0),
        ("ATAN[1]/[-1]", 135.0),
        ("ACOS[0]", 90.0),
        ("TAN[45]", 1.0),
        ("LN[EXP[2]]", 2.0),
        ("SQRT[[3**2]+[4**2]]", 5.0),
        ("s q r t [ 9 ]", 3.0),
        ("1 2 . 5", 12.5),
    ];
    for (sum, expected) in rows {
        assert_eq!(value("", sum), expected, "{sum}");
    }
    // All values of a line are read before any setting of it holds.
    assert_eq!(value("#1=5 #2=[#1+1]", "#2"), 1.0);
    assert_eq!(value("#1=2 #2=7", "##1"), 7.0);
    assert_eq!(value("#1=2\n#[#1+1]=9", "#3"), 9.0);
    assert_eq!(value("#1=4 #1=6", "#1"), 6.0);
    // The parameters of the zeros follow them.
    assert_eq!(value("G10 L2 P1 X3", "[#5221 - 3]"), 3.0);
    assert_eq!(value("G92 X4", "#5211"), round(6.0 + 6.0));
    assert_eq!(value("G10 L2 P2 X0 Y0 Z0\nG55", "#5220"), 2.0);
}

/// Page 41.
#[test]
fn a_line_is_done_in_the_standards_order() {
    // F and the shift in the units before the line's own, places and arcs in the line's.
    let (_, trace) = run("G21 F60 G0 Z30\nF600 G20 G1 X1\nF1 Y1\n", None);
    assert_eq!(trace[1].feed, 600.0);
    assert_eq!(round(trace[1].to[0]), 25.4);
    assert_eq!(round(trace[2].feed), 25.4);
    // The wait comes before the move, the move before the end.
    goes(
        "G4 P1 X5\nM2 X6",
        &[(Dwell, [10.0, 10.0, 20.0]), (Rapid, [5.0, 10.0, 20.0]), (Rapid, [6.0, 10.0, 20.0])],
    );
    // The zero is moved before the move that the next line makes in it, and the system before both.
    goes("G55 G0 X1", &[(Rapid, [1.0, 10.0, 20.0])]);
    // One over minutes: ten millimetres, twice a minute.
    let (_, trace) = run(&format!("{AT}G93 G1 X20 F2\n"), None);
    assert_eq!(round(trace[1].feed), 20.0);
}

/// What a danger is does not hang on how a program says it.
#[test]
fn dangers_are_found_however_they_are_said() {
    let head = "G21 G17 G90 G94 G54\nG0 Z20\nT1\nM0\nS3000\nM3\nG4 P3\n";
    let rows = [
        // Into the work: by steps, by a shift, by a moved system, in inches, in machine places.
        ("G0 X200 Y200\nG91 G0 Z-10\nZ-8\nZ-4", 11, "rapid-into-work"),
        ("G0 X200 Y200\nG92 Z30\nG0 Z5", 10, "rapid-into-work"),
        ("G0 X200 Y200\nG10 L2 P1 Z-78\nG0 Z5", 10, "rapid-into-work"),
        ("G0 X200 Y200\nG53 G0 Z-69", 9, "rapid-into-work"),
        ("G0 X200 Y200\nG99 G81 Z-5 R-2 F300", 9, "rapid-into-work"),
        ("G0 X200 Y200\n#1=[-3]\nG0 Z#1", 10, "rapid-into-work"),
        ("G0 X200 Y200\nG0 Z2\nG28 X210 Y200 Z-1", 10, "rapid-too-low"),
        // Low over the work: from hole to hole at R.
        ("F300 G99 G81 X200 Y200 Z-5 R2\nX220", 9, "rapid-too-low"),
        // Repeats that run off the bed.
        ("G0 X700 Y200\nG91 G98 G81 X60 Y0 Z-15 R-8 L4 F300", 9, "outside-bed"),
        // A hole through everything, deep by an exponent or by steps.
        ("G0 X200 Y200\nG1 Z[-2**5] F300", 9, "through-spoilboard"),
        ("G0 X200 Y200 Z2\nG91 G83 Z-40 R-1 Q5 F300", 9, "through-spoilboard"),
        // The spindle is stopped by the words of the line before it moves.
        ("G0 X200 Y200 Z2\nG1 Z-3 F300 M5", 9, "spindle-stopped"),
        ("G0 X200 Y200 Z2\nT1 M6\nG1 Z-3 F300", 10, "spindle-stopped"),
        // The tool is changed by the words of the line before it moves.
        ("G0 X200 Y200\nM5\nT3 M6 S16000 M3 G0 Z2\nG1 Z-3 F2000", 11, "feed-beyond-tool"),
        // An upright arc dips into the work between two ends above it.
        ("G0 X200 Y200 Z2\nG18 G2 X220 Z2 I10 K0 F300", 9, "cannot-cut-sideways"),
    ];
    let work = Some(WorkSize { x: 800.0, y: 500.0, thickness: 12.0, at: [0.0; 2] });
    for (lines, line, rule) in rows {
        let program = format!("{head}{lines}\n");
        let (rehearsal, _) = run(&program, work);
        let found: Vec<(u64, &str)> =
            rehearsal.faults.iter().map(|fault| (fault.line, fault.rule.name())).collect();
        assert!(found.contains(&(line, rule)), "{rule} at line {line}: {found:?}\n{program}");
    }
}

/// What the head says of the work, beside what a person said.
#[test]
fn the_work_that_the_head_states_is_held_against_the_work_that_was_given() {
    let doubts = |head: &str, given: WorkSize| -> Vec<&str> {
        let (rehearsal, _) = run(&format!("{head}\nG21 G90\nG0 Z20\nM2\n"), Some(given));
        rehearsal.warnings.iter().map(|warning| warning.doubt.name()).collect()
    };
    let given = WorkSize { x: 800.0, y: 500.0, thickness: 12.0, at: [0.0; 2] };
    let aside = WorkSize { at: [-40.0, 30.0], ..given };
    let head = "(work 800 x 500 x 12 mm)";
    assert_eq!(doubts(head, given), [""; 0]);
    assert_eq!(doubts(&format!("{head}\n(lies at X -40 Y 30)"), aside), [""; 0]);
    for other in ["(work 801 x 500 x 12 mm)", "(work 800 x 500 x 13 mm)"] {
        assert_eq!(doubts(other, given), ["work-stated-otherwise"]);
    }
    let other = format!("{head}\n(lies at X -40 Y 0)");
    assert_eq!(doubts(&other, aside), ["work-stated-otherwise"]);
}

/// Of work that nobody stated only the top is known.
#[test]
fn a_holder_stays_above_work_of_any_size() {
    let found = |z: &str| -> Vec<&str> {
        let text = format!("{AT}T3\nM0\nS16000\nM3\nG4 P3\nG1 Z{z} F300\n");
        let (rehearsal, _) = run(&text, None);
        let faults = rehearsal.faults.iter().map(|fault| fault.rule.name());
        faults.chain(rehearsal.warnings.iter().map(|warning| warning.doubt.name())).collect()
    };
    let near = |z| ["holder-strikes", "tight-fit"].map(|name| found(z).contains(&name));
    assert_eq!(near("-31"), [false, false]);
    assert_eq!(near("-31.5"), [false, true]);
    assert_eq!(near("-32.5"), [true, false]);
}

#[test]
fn every_tool_is_told_once() {
    let change = |tool: u32| format!("T{tool}\nM0\n");
    let text = format!("{AT}{}{}{}{}", change(1), change(3), change(1), change(2));
    assert_eq!(run(&text, None).0.tools, [1, 3, 2]);
}

/// Seconds by what they are spent on: 5000 mm/min and 400 mm/s² along X, 1500 and 200 along Z.
#[test]
fn time_is_split_by_what_it_is_spent_on() {
    let rest = |length: f64, speed: f64, acceleration: f64| length / speed + speed / acceleration;
    let program = "G21 G90\nG0 Z20\nT3\nM0\nS16000\nM3\nG4 P4\nG0 X100\nG1 Z10 F300\nX120\nG1 Z12\n\
                   G4 P2\nM5\nM3\nG0 X0\nM2\n";
    let (rehearsal, _) = run(program, None);
    let time = rehearsal.time;
    let near = |found: f64, expected: f64, what: &str| {
        assert!((found - expected).abs() < 1e-6, "{what}: {found} s and not {expected} s");
    };
    let [x, z] = [5000.0 / 60.0, 1500.0 / 60.0];
    near(time.rapid, rest(20.0, z, 200.0) + 2.0 * rest(100.0, x, 400.0) + 20.0 / x, "travel");
    // A square corner is passed at v² = a·δ·s/(1-s), s = sqrt(1/2), with the lesser acceleration.
    let s = 0.5_f64.sqrt();
    let corner = (200.0 * 0.02 * s / (1.0 - s)).sqrt();
    let ends = |from: f64, to: f64, a: f64| {
        (5.0 - from) * (5.0 - from) / (2.0 * a * 5.0) + (5.0 - to) * (5.0 - to) / (2.0 * a * 5.0)
    };
    near(time.plunge, 10.0 / 5.0 + ends(0.0, corner, 200.0), "straight down");
    near(time.feed, 22.0 / 5.0 + ends(corner, corner, 400.0) + ends(corner, 0.0, 200.0), "cutting");
    near(time.spin_up, 6.0, "spindle");
    near(time.dwell, 3.0, "waiting");
    near(time.tool_change, 120.0, "tool change");
    near(time.pen_settle, 0.0, "pen");
    near(rehearsal.rapid_mm, 240.0, "mm of travel");
    near(rehearsal.feed_mm, 32.0, "mm of cutting");
    let sum = time.rapid + time.feed + time.plunge + time.dwell + time.spin_up + time.tool_change;
    near(time.total(), sum, "all");
}
