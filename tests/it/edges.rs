//! Where each rule of the rehearsal begins: just inside it nothing is said, just outside it is.

use crate::demo::machines;
use bradawl::{
    diag::Source,
    machine::{self, Dwell, KeepClear, Lift, Machine, Waits},
    sim::{Setting, WorkSize, rehearse},
};

/// A router whose work does not lie in the corner of the bed: X0 Y0 is at 50, 40. The bed reaches to
/// X850 Y560 of the work, and the work, 600 x 400 x 12, has room all round.
fn router() -> Machine {
    let mut machine = machines().remove("bench-router").expect("a demo machine");
    machine.bed.work_at = [50.0, 40.0];
    machine.keep_clear.clear();
    machine
}

/// The same with a pin at X 300 to 310, Y 200 to 210 of the work, its top at Z28.
fn with_pin() -> Machine {
    let mut machine = router();
    machine.keep_clear = vec![KeepClear { x: [350.0, 360.0], y: [240.0, 250.0], height: 40.0 }];
    machine
}

/// Its controller does not wait for the spindle.
fn without_waiting() -> Machine {
    let mut machine = router();
    machine.spindle.as_mut().expect("a router").waits = Some(Waits::Program);
    machine
}

fn in_milliseconds() -> Machine {
    let mut machine = router();
    machine.speech.dwell = Dwell::Milliseconds;
    machine
}

/// Tool 1 does not plunge, tool 2 has two flutes.
fn test_router() -> Machine {
    let text = include_str!("../dangers/test-router.toml").to_string();
    machine::read("test-router", &Source { name: "test-router".into(), text }).expect("a machine")
}

/// Lengths stand in its controller's table.
fn mill() -> Machine {
    machines().remove("knee-mill").expect("a demo machine")
}

fn plotter() -> Machine {
    machines().remove("roll-plotter").expect("a demo machine")
}

/// A router with a pen clipped on, whose work lies half an inch in.
fn trimmer() -> Machine {
    machines().remove("trim-router").expect("a demo machine")
}

fn names(machine: &Machine, program: &str, thickness: f64) -> Vec<&'static str> {
    let work = Some(WorkSize { x: 600.0, y: 400.0, thickness, at: [0.0; 2] });
    let rehearsal = rehearse(program.as_bytes(), &Setting { machine, work }, |_| {})
        .expect("reading from memory");
    let faults = rehearsal.faults.iter().map(|fault| fault.rule.name());
    faults.chain(rehearsal.warnings.iter().map(|warning| warning.doubt.name())).collect()
}

/// Rule, what comes before, what is just fine, what is just wrong.
type Edge = (&'static str, &'static str, &'static str, &'static str);

fn hold(machine: fn() -> Machine, thickness: f64, head: &str, edges: &[Edge]) {
    let machine = machine();
    for (rule, before, fine, wrong) in edges {
        let [fine, wrong] = [fine, wrong].map(|line| format!("{head}{before}{line}\n"));
        let found = names(&machine, &fine, thickness);
        assert!(!found.contains(rule), "`{rule}` is too strict: {found:?}\n{fine}");
        let found = names(&machine, &wrong, thickness);
        assert!(found.contains(rule), "`{rule}` is too lax: {found:?}\n{wrong}");
    }
}

const UP: &str = "G21 G17 G90 G94 G54\nG0 Z20\n";
/// An 8 mm bit at speed: 300 mm/min, reach 60, it does not cut sideways.
const BIT: &str = "G21 G17 G90 G94 G54\nG0 Z20\nT1\nM0\nS3000\nM3\nG4 P3\n";
/// A 6 mm cutter at speed: 1200 mm/min, reach 32.
const CUTTER: &str = "G21 G17 G90 G94 G54\nG0 Z20\nT3\nM0\nS16000\nM3\nG4 P3\n";

#[test]
fn the_bed_ends_where_the_machine_file_says() {
    hold(
        router,
        12.0,
        UP,
        &[
            ("outside-bed", "", "G0 X850", "G0 X850.001"),
            ("outside-bed", "", "G0 X-50", "G0 X-50.001"),
            ("outside-bed", "", "G0 Y560", "G0 Y560.001"),
            ("outside-bed", "", "G53 G0 X0 Y0", "G53 G0 X-0.001"),
            ("outside-bed", "", "G53 G0 X900 Y600", "G53 G0 Y-0.001"),
            ("outside-bed", "", "G0 Y-40", "G0 Y-40.001"),
            ("outside-bed", "F1000\nG0 X840 Y100\n", "G3 Y120 J10", "G3 Y120.1 J10.05"),
            ("outside-bed", "F1000\nG0 X-40 Y100\n", "G2 Y120 J10", "G2 Y120.1 J10.05"),
            ("outside-bed", "F1000\nG0 X100 Y550\n", "G2 X120 I10", "G2 X120.1 I10.05"),
            ("outside-bed", "F1000\nG0 X100 Y-30\n", "G3 X120 I10", "G3 X120.1 I10.05"),
            ("too-high", "", "G0 Z68", "G0 Z68.001"),
            ("too-high", "F1000\nG0 X100 Y100 Z58\n", "G18 G3 X120 I10", "G18 G3 X120.1 I10.05"),
            ("tight-fit", "", "G0 X849.5", "G0 X849.5 Y100\nT1\nM0\nS3000\nM3\nG4 P3\nG1 Z-1 F300"),
        ],
    );
    hold(
        router,
        12.0,
        CUTTER,
        &[
            ("through-spoilboard", "G0 X100 Y100\n", "G1 Z-30 F300", "G1 Z-30.001 F300"),
            (
                "through-spoilboard",
                "G0 X100 Y100 Z2\nG1 Z-20 F300\n",
                "G18 G2 X120 I10",
                "G18 G2 X120.1 I10.05",
            ),
            ("tight-fit", "G0 Y100 ", "X849\nG1 Z-1 F300", "X849.001\nG1 Z-1 F300"),
            ("tight-fit", "G0 Y100 ", "X-49\nG1 Z-1 F300", "X-49.001\nG1 Z-1 F300"),
            ("tight-fit", "G0 X100 ", "Y559\nG1 Z-1 F300", "Y559.001\nG1 Z-1 F300"),
        ],
    );
}

#[test]
fn the_work_ends_where_it_is_said_to() {
    hold(
        router,
        12.0,
        BIT,
        &[
            ("outside-work", "G0 Y100 ", "X600\nG1 Z-1 F300", "X600.001\nG1 Z-1 F300"),
            ("outside-work", "G0 Y100 ", "X0\nG1 Z-1 F300", "X-0.001\nG1 Z-1 F300"),
            ("outside-work", "G0 X100 ", "Y400\nG1 Z-1 F300", "Y400.001\nG1 Z-1 F300"),
            ("outside-work", "G0 X100 ", "Y0\nG1 Z-1 F300", "Y-0.001\nG1 Z-1 F300"),
        ],
    );
    // Sideways a cutter may run in from beside the work by its own width.
    hold(
        router,
        12.0,
        CUTTER,
        &[
            ("outside-work", "G0 X590 Y100\nG1 Z-1 F300\n", "G1 X606", "G1 X606.001"),
            ("outside-work", "G0 X10 Y100\nG1 Z-1 F300\n", "G1 X-6", "G1 X-6.001"),
            ("outside-work", "G0 X100 Y10\nG1 Z-1 F300\n", "G1 Y-6", "G1 Y-6.001"),
            ("outside-work", "G0 X100 Y390\nG1 Z-1 F300\n", "G1 Y406", "G1 Y406.001"),
            ("outside-work", "G0 X596 Y100\nG1 Z-1 F300\n", "G3 Y120 J10", "G3 Y120.1 J10.05"),
            ("outside-work", "G0 X4 Y100\nG1 Z-1 F300\n", "G2 Y120 J10", "G2 Y120.1 J10.05"),
        ],
    );
    // A rapid low beside the work is no nearer than half the tool.
    hold(
        router,
        12.0,
        BIT,
        &[
            ("rapid-too-low", "G0 X50 Y100\n", "G0 X100 Z10", "G0 X100 Z9.999"),
            ("rapid-too-low", "G0 X604.001 Y-20\nG0 Z1\n", "G0 Y500", "G0 X603.9 Y500"),
            ("rapid-too-low", "G0 X-4.001 Y-20\nG0 Z1\n", "G0 Y500", "G0 X-3.9 Y500"),
            ("rapid-too-low", "G0 X-20 Y404.001\nG0 Z1\n", "G0 X700", "G0 X700 Y403.9"),
            ("rapid-too-low", "G0 X-20 Y-4.001\nG0 Z1\n", "G0 X700", "G0 X700 Y-3.9"),
            ("rapid-too-low", "G0 X-20 Y-8\nG0 Z1\n", "G0 X-8 Y-20", "G0 X8 Y-4"),
            ("rapid-too-low", "G0 X700 Y100\nG0 ", "Z-12\nG0 X720", "Z-12.001\nG0 X720"),
            ("rapid-into-work", "G0 X100 Y100\n", "G0 Z0", "G0 Z-0.001"),
            ("rapid-into-work", "G0 X100 Y100\nG1 Z-8 F300\nG0 Z2\n", "G0 Z-8", "G0 Z-8.001"),
            ("rapid-into-work", "G0 X100 Y100\nG1 Z-8 F300\nG0 Z20\n", "G0 Z-1", "G0 X101\nG0 Z-1"),
            ("rapid-into-work", "G0 X100 Y100\nG1 Z-8 F300\nG1 Z-2\nG0 Z2\n", "G0 Z-7", "G0 Z-9"),
        ],
    );
    // Where nobody knows what hangs there, it is as wide as the holder.
    hold(
        router,
        12.0,
        UP,
        &[("rapid-too-low", "G0 X630.001 Y-20\nG0 Z1\n", "G0 Y500", "G0 X629 Y500")],
    );
}

#[test]
fn pins_are_passed_with_a_millimetre_to_spare() {
    hold(
        with_pin,
        12.0,
        CUTTER,
        &[
            // Beside it, on each side, at Z10: the holder ends at Z42.
            ("keep-clear", "G0 X200 Y205\nG0 Z10\n", "G0 X297", "G0 X297.001"),
            ("keep-clear", "G0 X400 Y205\nG0 Z10\n", "G0 X313", "G0 X312.999"),
            ("keep-clear", "G0 X305 Y100\nG0 Z10\n", "G0 Y197", "G0 Y197.001"),
            ("keep-clear", "G0 X305 Y300\nG0 Z10\n", "G0 Y213", "G0 Y212.999"),
            ("tight-fit", "G0 X200 Y205\nG0 Z10\n", "G0 X296", "G0 X296.001"),
            ("tight-fit", "G0 X400 Y205\nG0 Z10\n", "G0 X314", "G0 X313.999"),
            ("tight-fit", "G0 X305 Y100\nG0 Z10\n", "G0 Y196", "G0 Y196.001"),
            ("tight-fit", "G0 X305 Y300\nG0 Z10\n", "G0 Y214", "G0 Y213.999"),
            // Past its corner: 3 mm off both ways is 4.24 mm off it.
            ("keep-clear", "G0 X290 Y207\nG0 Z10\n", "G0 X303 Y220", "G0 X294 Y206\nG0 X304 Y216"),
            ("tight-fit", "G0 X297 Y300\nG0 Z10\n", "G0 Y213", "G0 X297.2 Y212.5"),
            // Over it.
            ("keep-clear", "G0 X305 Y100\n", "G0 Z28\nG0 Y300", "G0 Z27.999\nG0 Y300"),
            ("tight-fit", "G0 X305 Y100\n", "G0 Z29\nG0 Y300", "G0 Z28.999\nG0 Y300"),
            // Down beside it: its holder, 30 mm from its middle, 32 mm above its tip.
            ("keep-clear", "G0 X269 Y205\n", "G1 Z-4 F300", "G1 X270.5 Z-4.001 F300"),
            ("keep-clear", "G0 X275 Y205\nG1 F300 ", "Z-4", "Z-4.001"),
            ("tight-fit", "G0 X275 Y205\nG1 F300 ", "Z-3", "Z-3.001"),
            ("keep-clear", "G0 X270 Y205\n", "G1 Z-8 F300", "G0 X270.001\nG1 Z-8 F300"),
            // Only the part of a slope that is low enough counts.
            (
                "keep-clear",
                "G0 X200 Y205\nG0 Z50\nG1 F1000 ",
                "X305 Z28.1\nG0 Z30",
                "X305 Z27\nG0 Z30",
            ),
            ("keep-clear", "G0 X200 Y205\nG0 Z20\nG1 F1000 ", "X305 Z32.5", "X305 Z28.3"),
            (
                "keep-clear",
                "G0 Z50\nG0 X305 Y205\nG1 F1000 ",
                "X400 Z10\nG0 Z50",
                "X316 Z10\nG0 Z50",
            ),
            // Through it, from every side.
            ("keep-clear", "G0 X200 Y205\nG0 Z10\n", "G0 X100", "G0 X400"),
            ("keep-clear", "G0 X400 Y205\nG0 Z10\n", "G0 X500", "G0 X200"),
            ("keep-clear", "G0 X305 Y100\nG0 Z10\n", "G0 Y50", "G0 Y350"),
            ("keep-clear", "G0 X305 Y350\nG0 Z10\n", "G0 Y390", "G0 Y100"),
            // The middle of an arc comes nearer than its ends: 3.03 and 2.99 mm.
            (
                "keep-clear",
                "F1000\nG0 X276.97 Y185\nG0 Z10\n",
                "G3 X276.97 Y225 J20\nG0 Z20",
                "G0 X277.01\nG3 X277.01 Y225 J20\nG0 Z20",
            ),
            // A round way that ends where it began.
            ("keep-clear", "F1000\nG0 X280 Y205\nG0 Z10\n", "G2 X280 I-10", "G2 X280 I10"),
            (
                "keep-clear",
                "F1000\nG0 X285.1 Y190\nG0 Z10\n",
                "G2 X285.1 Y220 J15",
                "G3 X285.1 Y220 J15",
            ),
        ],
    );
    // With nothing fitted, as wide as the holder all the way.
    hold(with_pin, 12.0, UP, &[("keep-clear", "G0 X200 Y205\n", "G0 X270", "G0 X270.001")]);
}

#[test]
fn the_holder_stays_above_the_work() {
    hold(
        router,
        40.0,
        CUTTER,
        &[
            ("holder-strikes", "G0 X100 Y100\n", "G1 Z-32 F300", "G1 Z-32.001 F300"),
            ("tight-fit", "G0 X100 Y100\n", "G1 Z-31 F300", "G1 Z-31.001 F300"),
            ("holder-strikes", "G0 Y100 ", "X630\nG1 Z-33 F300", "X629.999\nG1 Z-33 F300"),
            ("holder-strikes", "G0 X100 ", "Y430\nG1 Z-33 F300", "Y429.999\nG1 Z-33 F300"),
            ("holder-strikes", "G0 X700 Y100\nG1 Z-33 F1000\n", "G1 X631", "G1 X629"),
        ],
    );
    // Beside thin work it comes down on the spoilboard.
    hold(
        router,
        2.0,
        CUTTER,
        &[("holder-strikes", "G0 X700 Y100\n", "G1 Z-20 F300", "G1 Z-34.001 F300")],
    );
}

/// Where nobody has said how large the work is, it may lie anywhere.
#[test]
fn the_holder_is_watched_over_work_of_unknown_size() {
    let found = |depth: f64| {
        let program = format!("{CUTTER}G0 X700 Y100\nG1 Z-{depth} F300\n");
        let setting = Setting { machine: &router(), work: None };
        let rehearsal = rehearse(program.as_bytes(), &setting, |_| {}).expect("from memory");
        rehearsal.faults.iter().any(|fault| fault.rule.name() == "holder-strikes")
    };
    assert_eq!([found(32.0), found(32.001)], [false, true]);
}

/// The tool is taken to be at the park place; and the size of the work is stated before the first move.
#[test]
fn a_program_starts_at_the_park_place_and_says_its_work_first() {
    let run = |program: &str| {
        let setting = Setting { machine: &router(), work: None };
        rehearse(program.as_bytes(), &setting, |_| {}).expect("from memory")
    };
    let rehearsal = run("(work 600 x 400 x 12 mm)\nG21\nG0 Z20\nG0 X10\nM2\n");
    assert_eq!(rehearsal.start, [-50.0, -40.0, 0.0]);
    assert_eq!(rehearsal.end, [10.0, -40.0, 20.0]);
    assert!(rehearsal.stated_work.is_some());
    for first in ["G0 Z20", "G92 X1", "G10 L2 P1 X3", "G28 Z20"] {
        let rehearsal = run(&format!("G21\n{first}\n(work 600 x 400 x 12 mm)\nM2\n"));
        assert_eq!(rehearsal.stated_work, None, "{first}");
    }
}

#[test]
fn tools_turn_and_feed_as_their_file_says() {
    let cut = "G0 X100 Y100\nG0 Z2\n";
    hold(
        router,
        12.0,
        "G21 G90\nG0 Z20\nT3\nM0\n",
        &[
            ("speed-beyond-spindle", "", "S3000 M3", "S2999 M3"),
            ("speed-beyond-spindle", "", "S24000 M3", "S24001 M3"),
            ("no-speed", "", "S3000 M3", "M3"),
        ],
    );
    let at =
        |speed: u32, tool: u32| format!("G21 G90\nG0 Z20\nT{tool}\nM0\nS{speed}\nM3\nG4 P3\n{cut}");
    let turns = |speed: u32, tool: u32| {
        let found = names(&router(), &format!("{}G1 Z-1 F300\n", at(speed, tool)), 12.0);
        [found.contains(&"too-slow-for-tool"), found.contains(&"too-fast-for-tool")]
    };
    assert_eq!(turns(12_000, 3), [false, false]);
    assert_eq!(turns(11_999, 3), [true, false]);
    assert_eq!(turns(17_600, 3), [false, false]);
    assert_eq!(turns(17_601, 3), [false, true]);
    hold(
        router,
        12.0,
        BIT,
        &[
            ("feed-beyond-tool", cut, "G1 Z-1 F303", "G1 Z-1 F304"),
            ("feed-beyond-tool", "G0 X100 Y100\nG1 Z-5 F300\n", "G1 Z2 F900", "G1 Z-6 F900"),
            ("feed-beyond-machine", "", "G1 Z10 F1515", "G1 Z10 F1516"),
            ("feed-beyond-machine", "", "G1 X100 F5050", "G1 X100 F5051"),
            ("feed-beyond-machine", "", "G1 Y100 F5050", "G1 Y100 F5051"),
            // Three along, four down: five for every four of the slow axis.
            ("feed-beyond-machine", "G0 X100 Y100\n", "G1 X103 Z16 F1893", "G1 X103 Z16 F1894"),
            ("feed-beyond-machine", "G0 X100 Y100\n", "G2 X100 I5 F5050", "G2 X100 I5 F5051"),
            ("tool-change-low", "M5\nT3\n", "G0 Z10\nM0", "G0 Z9.999\nM0"),
            ("tool-change-turning", "T3\n", "M5\nM0", "M0"),
            ("pause-turning", "", "M5\nM0", "M0"),
            ("no-tool", "M5\nT0\nM0\nS3000 M3\nG4 P3\nG0 X100 Y100\n", "G1 Z0 F300", "G1 Z-1 F300"),
            ("unknown-tool", "", "T0", "T9"),
            (
                "length-not-set",
                "M5\n",
                "T1\nM0\nM3\nG4 P3\nG1 Z-1 F300",
                "T3\nM0\nM3\nG4 P3\nG1 Z-1 F300",
            ),
            (
                "length-not-set",
                "M5\nT3\nM0\nM3\nG4 P3\n",
                "G43 H3\nG1 Z-1 F300",
                "G49\nG1 Z-1 F300",
            ),
            ("wrong-length-offset", "", "G43 H1\nG1 Z-1 F300", "G43 H2\nG1 Z-1 F300"),
            ("cannot-cut-sideways", "G0 X100 Y100\n", "G1 Z-1 F300", "G1 X101 Z-1 F300"),
            ("cannot-cut-sideways", "G0 X100 Y100\n", "G1 X101 Z0 F300", "G1 Y101 Z-0.001 F300"),
        ],
    );
    hold(
        mill,
        12.0,
        "G21 G90\nG0 Z30\n",
        &[
            ("length-not-used", "T1 M6\n", "G43 H1\nG0 Z20", "G0 Z20"),
            ("length-not-used", "T1 M6\nG43 H1\n", "G0 Z20", "G49\nG0 Z20"),
            ("length-not-used", "T1 M6\n", "G0 Z40", "G0 Z29.99"),
            ("length-not-used", "", "G0 Z20", "T1 M6\nG0 Z20"),
        ],
    );
    hold(
        test_router,
        12.0,
        "G21 G90\nG0 Z20\nT1\nM0\nS16000\nM3\nG4 P3\nG0 X100 Y100\nG0 Z2\n",
        &[
            ("cannot-plunge", "", "G1 X104 Z-2 F300", "G1 X103.999 Z-2 F300"),
            ("cannot-plunge", "", "G1 Y104 Z-2 F300", "G1 Y103.999 Z-2 F300"),
            ("cannot-plunge", "G1 X110 Z-2 F300\n", "G1 Z2", "G1 Z-3"),
            ("cannot-plunge", "", "G2 X100 I0.7 Z-2 F300", "G2 X100 I0.6 Z-2 F300"),
        ],
    );
    hold(
        test_router,
        12.0,
        "G21 G90\nG0 Z20\nT2\nM0\nS12000\nM3\nG4 P3\nG0 X100 Y100\nG0 Z2\n",
        &[
            ("feed-per-tooth", "", "G1 Z-1 F480", "G1 Z-1 F479"),
            ("feed-per-tooth", "", "G1 Z-1 F1440", "G1 Z-1 F1441"),
        ],
    );
}

#[test]
fn pens_are_held_to_their_file() {
    let up = "G21 G90\nG0 Z5\n";
    let down = "G21 G90\nG0 Z5\nG0 X100 Y100\nG1 Z0 F1000\nG4 P0.15\n";
    hold(
        plotter,
        0.0,
        up,
        &[
            ("pen-down-on-rapid", "G0 Z0.011\n", "G0 X100", "G0 Z0.01\nG0 X100"),
            ("rapid-too-low", "", "G0 X100 Z5", "G0 X100 Z4.999"),
            ("outside-work", "G0 Y100 ", "X600.01\nG1 Z0 F1000", "X600.011\nG1 Z0 F1000"),
            ("outside-work", "G0 X100 ", "Y400.01\nG1 Z0 F1000", "Y400.011\nG1 Z0 F1000"),
            ("outside-work", "G0 Y100 ", "X0\nG1 Z0 F1000", "X-0.011\nG1 Z0 F1000"),
            ("outside-work", "G0 X100 ", "Y0\nG1 Z0 F1000", "Y-0.011\nG1 Z0 F1000"),
            ("tight-fit", "", "G0 X0 Y0\nG1 Z0 F1000", "G0 X1599.5\nG1 Z0 F1000"),
            ("tight-fit", "", "G0 X0.5 Y100\nG1 Z0 F1000", "G0 Y2599.5\nG1 Z0 F1000"),
        ],
    );
    hold(
        plotter,
        0.0,
        down,
        &[
            ("pen-too-low", "", "G1 Z-0.01", "G1 Z-0.011"),
            ("pen-too-fast", "", "G1 X200 F3030", "G1 X200 F3031"),
            ("pen-too-fast", "G0 Z5\n", "G1 Z0 F6000", "G1 Z0 X110 F6000"),
            ("outside-work", "G1 X0.5 F1000\n", "X-0.01", "X-0.011"),
            ("outside-work", "F1000\nG1 X590\n", "G3 Y120 J10", "G3 Y120.1 J10.05"),
            ("pen-left-down", "", "G4 P0.65", "G4 P0.66"),
            ("pen-left-down", "", "G0 Z5\nM0", "M0"),
            ("pen-down-at-end", "", "G0 Z5\nM2", "M2"),
            ("pen-left-down", "", "G1 Z0.011\nG4 P1", "G1 Z0.01\nG4 P1"),
            ("low-at-end", "", "G0 Z5\nM2", "G1 Z4.999\nM2"),
            (
                "pen-not-settled",
                "G0 Z5\nG0 X200\nG1 Z0\n",
                "G4 P0.15\nG1 X210",
                "G4 P0.14\nG1 X210",
            ),
        ],
    );
    // The feed is held against the axes that it goes along, whichever is the slow one.
    for (slow, along) in [(0, "G1 X90 F1010"), (1, "G1 Y90 F1010"), (2, "G1 Z19 F1010")] {
        let mut machine = router();
        machine.motion.rapid[slow] = 1000.0;
        let found = |line: &str| {
            let program = format!("G21 G90\nG0 X100 Y100 Z20\n{line}\n");
            names(&machine, &program, 12.0).contains(&"feed-beyond-machine")
        };
        assert!(!found(along) && found(&along.replace("1010", "1011")), "{along}");
        let round = "G2 X100 I5 F1011";
        assert_eq!(found(round), slow < 2, "{slow}");
    }
    // On a router a pen is at work only while nothing is fitted and nothing turns.
    hold(
        trimmer,
        50.0,
        "G21 G90\nG0 Z20\nG0 X100 Y100\n",
        &[
            ("pen-turning", "", "G1 Z0 F500", "S10000 M3\nG1 Z0.01 F500"),
            ("pen-turning", "S10000 M3\n", "G1 Z0.011 F500", "G1 Z0.01 F500"),
            ("spindle-stopped", "", "G1 Z0 F500", "T1\nM0\nG1 Z-1 F500"),
            ("no-tool", "", "G1 Z0 F500", "S10000 M3\nG4 P3\nG1 Z-1 F500"),
            ("tool-not-changed", "", "G1 Z0 F500", "T1\nG1 Z0 F500"),
            ("outside-bed", "", "G0 X-12.7", "G0 X-12.701"),
            ("not-parked", "", "G0 X0 Y0\nM2", "G0 X-12.7 Y-12.7\nM2"),
        ],
    );
}

/// A pen that words move: it is down or up by what was said last, and has to settle after each change.
#[test]
fn pens_moved_by_words_go_by_what_was_said_last() {
    let plotter = || machines().remove("servo-plotter").expect("a demo machine");
    let up = "G21 G90\nM5\nG4 P0.25\nG0 X100 Y100\n";
    hold(
        plotter,
        0.0,
        up,
        &[
            (
                "pen-not-settled",
                "",
                "M3 S90\nG4 P0.25\nG1 X110 F1000",
                "M3 S90\nG4 P0.24\nG1 X110 F1000",
            ),
            ("pen-not-settled", "M3 S90\nG4 P0.25\n", "M3 S90\nG1 X110 F1000", "M5\nG0 X110"),
            ("pen-not-settled", "", "M5\nG0 X110", "M3 S90\nM5"),
            ("pen-down-on-rapid", "", "G0 X110", "M3 S90\nG4 P1\nG0 X110"),
            (
                "pen-down-on-rapid",
                "M3 S90\nG4 P1\nG1 X110 F1000\n",
                "M5\nG4 P1\nG0 X120",
                "G0 X120",
            ),
            ("pen-words-unclear", "", "M3 S90", "M3 S80"),
            ("pen-words-unclear", "", "M5", "M4"),
            ("pen-words-unclear", "", "G0 X110", "S90"),
            ("outside-work", "G0 X600.01\n", "M3 S90", "G0 X600.011\nM3 S90"),
            ("outside-work", "G0 X601\n", "M5", "M3 S90"),
            ("pen-left-down", "M3 S90\n", "G4 P0.75", "G4 P0.76"),
            ("pen-down-at-end", "M3 S90\nG4 P1\n", "M5\nM2", "M2"),
        ],
    );
}

/// Where the words of one are among those of the other, the longer ones count.
#[test]
fn a_pen_moved_by_words_of_its_own_is_where_they_put_it() {
    for (up, down) in [("M300", "M300 S30 P1"), ("M300 S50", "M300"), ("M5", "M3 S90")] {
        let mut machine = machines().remove("servo-plotter").expect("a demo machine");
        let lift = Lift::Words { up: up.to_string(), down: down.to_string() };
        machine.pen.as_mut().expect("a plotter").lift = lift;
        let drawn =
            format!("G21 G90\n{up}\nG0 X10 Y10\n{down}\nG4 P0.3\nG1 X20 F1000\n{up}\nG4 P0.3\n");
        let setting = Setting { machine: &machine, work: None };
        let program = format!("{drawn}G0 X0 Y0\nM2\n");
        let rehearsal = rehearse(program.as_bytes(), &setting, |_| {}).expect("from memory");
        assert_eq!((rehearsal.faults, rehearsal.strokes), (vec![], 1), "{up} {down}");
        let found = names(&machine, &format!("{drawn}{down}\nG0 X0 Y0\nM2\n"), 0.0);
        assert!(found.contains(&"pen-down-at-end"), "{up} {down}: {found:?}");
    }
    assert!(names(&plotter(), "M300\n", 0.0).contains(&"unknown-m"));
}

#[test]
fn waits_lines_and_ends_have_their_limits() {
    hold(
        router,
        12.0,
        UP,
        &[
            ("long-dwell", "", "G4 P30", "G4 P30.1"),
            ("dwell-unit", "", "G4 P300", "G4 P300.1"),
            (
                "line-too-long",
                "",
                "(                                                                    )",
                "(                                                                     )",
            ),
            ("acted-upon", "", "(one) ; two", "(one ; two)"),
            ("not-parked", "", "G0 X-50 Y-40\nM2", "G0 X-50 Y-39.989\nM2"),
            ("not-parked", "", "G0 X-49.991 Y-40\nM2", "G0 X-49.989 Y-40\nM2"),
            ("low-at-end", "", "G0 Z10\nM2", "G0 Z9.999\nM2"),
            ("spindle-on-at-end", "S3000 M3\n", "M5\nM2", "M2"),
        ],
    );
    hold(
        in_milliseconds,
        12.0,
        UP,
        &[
            ("dwell-unit", "", "G4 P20", "G4 P19"),
            ("dwell-unit", "", "G4 P0", "G4 P0.5"),
            ("long-dwell", "", "G4 P30000", "G4 P30001"),
        ],
    );
    // Into the work as the spindle comes to speed, 3 s after M3: a wait, a travel and a feed all count, and
    // the way down to the work (2 mm at 5 mm/s and 200 mm/s² take 0.4125 s).
    let still = "G21 G90\nG0 Z20\nT1\nM0\nG0 X100 Y100\nG0 Z2\nS3000\nM3\n";
    let edges = |rule| -> [Edge; 7] {
        [
            (rule, "", "G4 P2.588\nG1 Z-1 F300", "G4 P2.587\nG1 Z-1 F300"),
            // Down to the work and a stop there take 0.425 s.
            (rule, "G1 Z0 F300\n", "G4 P2.575\nG1 Z-1 F300", "G4 P2.574\nG1 Z-1 F300"),
            // Up 5 mm takes 1.025 s and down 7 mm to the work another 1.4125 s.
            (rule, "G4 P0.563\n", "G1 Z7 F300\nG1 Z-1", "G1 Z6.99 F300\nG1 Z-1"),
            (rule, "G0 Z20\n", "G0 X350\nG0 Z2\nG1 Z-1 F300", "G0 X110\nG0 Z2\nG1 Z-1 F300"),
            // Round a coil of 31.558 mm, a third of it in the work, at 20 mm/s: 1.0768 s in the air.
            (rule, "F1200\n", "G4 P1.924\nG3 X100 I5 Z-1", "G4 P1.922\nG3 X100 I5 Z-1"),
            // Of an upright arc nothing is counted on.
            (rule, "F300\n", "G4 P3\nG18 G2 X110 Z-8 I10 K0", "G4 P2.99\nG18 G2 X110 Z-8 I10 K0"),
            (rule, "G4 P3\n", "M3\nG1 Z-1 F300", "M5\nM3\nG1 Z-1 F300"),
        ]
    };
    hold(router, 12.0, still, &edges("spindle-maybe-slow"));
    hold(without_waiting, 12.0, still, &edges("spindle-not-at-speed"));
    // Before any height is known only a height may be said.
    hold(
        router,
        12.0,
        "G21 G90\n",
        &[
            ("height-unknown", "", "G0 Z20\nG0 X10", "G0 X10 Z20"),
            ("height-unknown", "", "G91 G0 Z20", "G91 G0 Z-1"),
            ("height-unknown", "", "G0 Z20\nG28", "G28"),
            ("height-unknown", "", "G28 Z20\nG0 X10", "G91 G0 Z20\nY10"),
            ("feed-missing", "G0 Z20\n", "F100 G81 X1 Z-1 R20", "G81 X1 Z-1 R20"),
            ("feed-missing", "G0 Z20\n", "F100 G91 G2 X1 I0.5", "G91 G2 X1 I0.5"),
            ("height-unknown", "", "G91 G0 Z0", "G91 G0 Z-0.001"),
            ("height-unknown", "F100\n", "G99 G81 Z-1 R20\nG0 X10", "G99 G81 X1 Z-1 R20"),
            ("height-unknown", "", "G53 G0 Z-5\nG0 X10", "G53 G0 X10"),
            ("zero-at-unknown-height", "", "G92 X1", "G92 Z1"),
            ("zero-at-unknown-height", "", "G0 Z20\nG92 Z1", "G91 G0 Z20\nG92 Z1"),
            ("units-changed", "", "G20\nG0 Z1", "G0 Z20\nG20"),
            ("units-changed", "", "G92.1\nG20", "G92 X1\nG20"),
            ("units-changed", "G0 Z20\n", "G21", "G20"),
        ],
    );
}
