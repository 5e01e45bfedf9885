//! One line each: what the standard takes and what it refuses, with its page beside it.
//!
//! Pages are of *The NIST RS274NGC Interpreter, Version 3*, NIST IR 6556 (Kramer, Proctor, Messina, 2000).

use crate::demo::machines;
use bradawl::sim::{Kind, Setting, rehearse};

/// Said before each line: units, a feed, and a place well above the work.
const BEFORE: &str = "G21 G90 G17 F100\nG0 X1 Y2 Z30\n";

/// The name of the language rule that refuses the line, or `None`.
fn refused(line: &str) -> Option<&'static str> {
    let machine = machines().remove("bench-router").expect("a demo machine");
    let program = format!("{BEFORE}{line}\n");
    let setting = Setting { machine: &machine, work: None };
    let rehearsal = rehearse(program.as_bytes(), &setting, |_| {}).expect("reading from memory");
    rehearsal.faults.iter().find(|f| f.rule.kind() == Kind::Language).map(|f| f.rule.name())
}

/// Where the line ends up, in the program's own millimetres.
fn end_of(line: &str) -> [f64; 3] {
    let machine = machines().remove("bench-router").expect("a demo machine");
    let program = format!("{BEFORE}{line}\n");
    let mut end = [f64::NAN; 3];
    let setting = Setting { machine: &machine, work: None };
    rehearse(program.as_bytes(), &setting, |step| end = step.said).expect("reading from memory");
    end.map(|v| (v * 1e6).round() / 1e6)
}

#[test]
fn what_the_standard_takes_is_taken() {
    let rows = [
        ("G1 X5", 14),
        ("g1 x5", 15),
        ("G 1 X 5", 15),
        ("G1X5Y6Z7", 15),
        ("G1 X+5.", 16),
        ("G1 X-.5", 16),
        ("G01 X005.00", 16),
        ("G1 X 1 2 . 5", 15),
        ("N1 G1 X5", 15),
        ("N00001 G1 X5", 15),
        ("/G1 X5", 15),
        ("/N5 G1 X5", 15),
        ("", 14),
        ("(a remark)", 18),
        ("(one) G1 (two) X5 (three)", 18),
        ("(MSG, look here)", 18),
        ("G1 X5 ; to the end", 18),
        ("X5", 20),
        ("G1 X[1+2]", 17),
        ("G1 X[2**3]", 17),
        ("G1 X[[1+2]*3]", 17),
        ("G1 X[15 MOD 4]", 17),
        ("G1 X[1 OR 0]", 17),
        ("G1 XSQRT[9]", 17),
        ("G1 XATAN[1]/[1]", 17),
        ("#1=5", 16),
        ("#1=5 G1 X#1", 16),
        ("#2=7\n##2=3", 16),
        ("G1 X#[1+1]", 16),
        ("G20 G1 X1", 20),
        ("G2 X3 Y2 I1 J0", 24),
        ("G2 X3 Y2 R1", 24),
        ("G3 X3 Y2 R-2", 24),
        ("G2 X1 Y2 I5", 24),
        ("G2 X3 Y2 Z20 I1", 24),
        ("G18 G2 X3 Z30 I1 K0", 24),
        ("G19 G3 Y4 Z30 J1 K0", 24),
        ("G4 P0.5", 26),
        ("G10 L2 P1 X5", 26),
        ("G53 G0 X5", 27),
        ("G92 X0", 36),
        ("G92.1", 37),
        ("G92.2", 37),
        ("G92.3", 37),
        ("G28 X5 Y5 Z30", 26),
        ("G80", 29),
        ("G81 X5 Y5 Z1 R20", 30),
        ("G82 X5 Y5 Z1 R20 P1", 31),
        ("G83 X5 Y5 Z1 R20 Q3", 31),
        ("G98 G81 X5 Y5 Z1 R20 L3", 30),
        ("G91 G81 X5 Y5 Z-1 R-2 L3", 32),
        ("G93 G1 X5 F2", 38),
        ("G61", 28),
        ("G64", 28),
        ("G55", 28),
        ("G59.3", 28),
        ("M3 S4000", 39),
        ("M5 M9 M48", 39),
        ("T1 M6", 39),
        ("M2", 38),
        ("M30", 38),
        ("M0", 38),
    ];
    for (line, page) in rows {
        assert_eq!(refused(line), None, "`{line}` is taken, page {page}");
    }
    assert!(rows.len() >= 60);
}

#[test]
fn what_the_standard_refuses_is_refused_by_name() {
    let rows = [
        ("G1 X", "number-missing", 16),
        ("G1 X1.2.3", "unknown-sign", 16),
        ("G1 X1E3", "unknown-letter", 15),
        ("G1 X5 X6", "letter-twice", 20),
        ("G0 G1 X5", "group-clash", 20),
        ("M3 M4", "group-clash", 20),
        ("G17 G18", "group-clash", 20),
        ("G1 X5 P3", "unused-word", 20),
        ("G1 X5 L3", "unused-word", 20),
        ("G1", "axis-missing", 23),
        ("G0", "axis-missing", 23),
        ("G1 X5 F-3", "negative", 20),
        ("S-5", "negative", 20),
        ("T-1", "negative", 20),
        ("G4 P-1", "negative", 26),
        ("G4", "dwell-time-missing", 26),
        ("G2 X3 Y2", "arc-centre-missing", 24),
        ("G2 X3 Y2 I1 R1", "arc-centre-doubled", 24),
        ("G2 X3 Y2 I1.5", "arc-radii-differ", 24),
        ("G2 X9 Y2 R1", "arc-radius", 24),
        ("G2 X1 Y2 R1", "arc-radius", 24),
        ("G91 G53 G0 X5", "machine-move", 27),
        ("G10 L1 P1 X0", "work-system", 26),
        ("G10 L2 P10 X0", "work-system", 26),
        ("G81 X5 Y5 R20", "cycle-word-missing", 30),
        ("G81 X5 Y5 Z1", "cycle-word-missing", 30),
        ("G81 X5 Y5 Z20 R1", "cycle-upside-down", 30),
        ("G81 X5 Y5 Z1 R20 L0", "cycle-count", 30),
        ("G81 X5 Y5 Z1 R20 L1.5", "cycle-count", 30),
        ("G82 X5 Y5 Z1 R20", "cycle-word-missing", 31),
        ("G83 X5 Y5 Z1 R20", "cycle-word-missing", 31),
        ("G83 X5 Y5 Z1 R20 Q0", "cycle-count", 31),
        ("G84 X5 Y5 Z1 R20", "not-rehearsed", 31),
        ("G38.2 X5", "not-rehearsed", 25),
        ("G41 D1", "not-rehearsed", 27),
        ("G80 X5", "motion-missing", 29),
        ("G1 X-[1+2]", "number-missing", 16),
        ("(open", "comment-open", 18),
        ("(one (two))", "comment-nested", 18),
        ("G1 X[1", "bad-expression", 17),
        ("G1 X[1/0]", "impossible-sum", 17),
        ("G1 XSQRT[-1]", "impossible-sum", 17),
        ("G1 X#6000", "no-such-parameter", 16),
        ("G1 X#1.5", "no-such-parameter", 16),
        ("N1.5 G1 X5", "unknown-sign", 15),
        ("N123456", "line-number", 15),
        ("G999", "unknown-g", 20),
        ("M99", "unknown-m", 20),
        ("O100", "not-rehearsed", 15),
        ("M0 M3 M6 M7 M48 T1", "too-many-m", 20),
        ("G93 G1 X5", "feed-missing", 38),
        ("G92", "axis-missing", 36),
    ];
    for (line, rule, page) in rows {
        assert_eq!(refused(line), Some(rule), "`{line}` is refused, page {page}");
    }
}

/// Where things happen in an order that shows (page 41), and the sums of page 17 and 18.
#[test]
fn what_a_line_does_is_done_in_the_standards_order() {
    let rows: [(&str, [f64; 3]); 11] = [
        ("G91 G1 X5", [6.0, 2.0, 30.0]),
        ("G92 X0\nG1 X5", [5.0, 2.0, 30.0]),
        ("G1 X[1+2*3-4/5]", [6.2, 2.0, 30.0]),
        ("G1 X[2**3**1]", [8.0, 2.0, 30.0]),
        ("G1 XFIX[-0.5] YFUP[-0.5]", [-1.0, 0.0, 30.0]),
        ("G1 XROUND[2.5] YABS[-3]", [3.0, 3.0, 30.0]),
        ("#3=7\n#3=5 G1 X#3", [7.0, 2.0, 30.0]),
        ("G1 XSIN[30] YCOS[60]", [0.5, 0.5, 30.0]),
        ("G20 G1 X1", [25.4, 2.0, 30.0]),
        ("M2\nG1 X99", [1.0, 2.0, 30.0]),
        ("G53 G1 X7 Y8 Z-20", [7.0, 8.0, f64::NAN]),
    ];
    for (lines, expected) in rows {
        let found = end_of(lines);
        for axis in 0..3 {
            if !expected[axis].is_nan() {
                assert_eq!(found[axis], expected[axis], "`{lines}` axis {axis}: {found:?}");
            }
        }
    }
}
