//! Programs written to slip past the rehearsal: for each, every rule that it breaks and where, by hand.
//!
//! On the test router with a 6 mm cutter (radius 3, reach 32, its holder 60 wide) at speed, over work of
//! 800 x 500 x 12. A clamp stands at X 400 to 440, Y 300 to 330, its top at Z48; the bed ends at X900 Y600,
//! the machine reaches up to Z68 and down to Z-30.

use bradawl::{
    diag::Source,
    machine::{self, Machine},
    sim::{Setting, rehearse},
};

const HEAD: &str =
    "(work 800 x 500 x 12 mm)\nG21 G17 G90 G94 G54 F1000\nG0 Z60\nT2\nM0\nS16000\nM3\nG4 P3\n";
const END: &str = "\nG0 Z60\nM5\nG0 X0 Y0\nM2\n";

fn test_router() -> Machine {
    let text = include_str!("../dangers/test-router.toml").to_string();
    machine::read("test-router", &Source { name: "test-router".into(), text }).expect("a machine")
}

/// `lines` stand between the head and the end; what is found is told by their own numbers.
fn found(machine: &Machine, lines: &str) -> String {
    let program = format!("{HEAD}{lines}{END}");
    let setting = Setting { machine, work: None };
    let rehearsal = rehearse(program.as_bytes(), &setting, |_| {}).expect("reading from memory");
    let faults = rehearsal.faults.iter().map(|fault| (fault.line, fault.rule.name()));
    let doubts = rehearsal.warnings.iter().map(|doubt| (doubt.line, doubt.doubt.name()));
    assert!(rehearsal.faults.is_sorted_by_key(|fault| fault.line), "{lines}");
    let mut all: Vec<(u64, &str)> = faults.chain(doubts).collect();
    all.sort();
    let before = HEAD.lines().count() as u64;
    let told = all.iter().map(|(line, name)| format!("{} {name}", line - before));
    told.collect::<Vec<_>>().join(", ")
}

/// What is done, and what is wrong with it.
type Row = (&'static str, &'static str);

fn hold(rows: &[Row]) {
    let machine = test_router();
    let wrong: Vec<String> = rows
        .iter()
        .map(|&(lines, expected)| (lines, expected, found(&machine, lines)))
        .filter(|(_, expected, found)| expected != found)
        .map(|(lines, expected, found)| {
            format!("{lines}\n  must be: {expected}\n  but is:  {found}")
        })
        .collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n\n"));
}

#[test]
fn arcs_and_helices_are_followed_all_the_way_round_a_clamp() {
    hold(&[
        // Upright over the clamp: dips to Z20 with its ends at Z60, or rises to Z100.
        ("G0 X380 Y315\nG18 G2 X460 I40 K0\nG17", "2 keep-clear"),
        ("G0 X380 Y315\nG18 G3 X460 I40 K0\nG17", "2 too-high"),
        ("G0 X420 Y275 Z58\nG19 G3 Y355 J40 K0\nG17", "2 keep-clear"),
        // Down by 10 over the clamp: to 2 mm, to half of one, to a hair over it, and into it.
        ("G0 X380 Y315\nG18 G2 X460 I40 K75\nG17", ""),
        ("G0 X380 Y315\nZ58.5\nG18 G2 X460 I40 K75\nG17", "3 tight-fit"),
        ("G0 X380 Y315\nZ58.021\nG18 G2 X460 I40 K75\nG17", "3 tight-fit"),
        ("G0 X380 Y315\nZ57.99\nG18 G2 X460 I40 K75\nG17", "3 keep-clear"),
        // A coil about Y that dips to Z40 over the clamp only.
        ("G0 X420 Y280\nG18 G2 X420 Z60 Y350 I0 K-10\nG17", "2 keep-clear"),
        // Round the clamp at Z5: the holder, at Z37, needs 30 mm from a corner 25 mm from the middle.
        ("G0 X480 Y315\nG1 Z5\nG3 X480 Y315 I-60 J0 Z3\nG1 Z60", ""),
        ("G0 X475.5 Y315\nG1 Z5\nG3 X475.5 Y315 I-55.5 J0 Z3\nG1 Z60", "3 tight-fit"),
        ("G0 X474 Y315\nG1 Z5\nG3 X474 Y315 I-54 J0 Z3\nG1 Z60", "3 keep-clear"),
        // From above into it, only at the end.
        ("G0 X435 Y315\nG3 X435 Y315 I-15 Z40\nG1 Z60", "2 keep-clear, 3 keep-clear"),
        // The long way round bulges into it; the short way does not.
        ("G0 X400 Y260\nG0 Z20\nG2 X410 Y260 R-30\nG1 Z60", "3 keep-clear"),
        ("G0 X300 Y260\nG0 Z20\nG2 X310 Y260 R30\nG1 Z60", ""),
        ("G0 X360 Y315\nZ45\nG91 G2 X80 Y0 I40 J0\nG90 G0 Z60", "3 keep-clear, 4 keep-clear"),
        // A full circle leaves the bed where no end of it does.
        ("G0 X100 Y100\nG0 Z20\nG2 X100 Y100 I400\nG0 Z60", "3 outside-bed"),
    ]);
}

#[test]
fn straight_moves_pass_a_clamp_by_what_they_pass_it_by() {
    hold(&[
        // 0.5 mm in front of it, its holder at Z52 well over it; then the same at 1 mm.
        ("G0 X380 Y200\nG0 Z20\nG1 Y296.5\nG1 X460\nG0 Y200\nG0 Z60", "4 tight-fit"),
        ("G0 X380 Y200\nG0 Z20\nG1 Y296\nG1 X460\nG0 Y200\nG0 Z60", ""),
        // Half a millimetre over it, and into it by as much.
        ("G0 X420 Y315\nG1 Z48.5", "2 tight-fit"),
        ("G0 X420 Y315\nG1 Z47.5", "2 keep-clear, 3 keep-clear"),
        // Aslant by each of its corners, 14 mm away, there and back.
        ("G0 X400 Y390\nG0 Z20\nG1 X500 Y290\nX400 Y390\nG0 Z60", ""),
        ("G0 X340 Y290\nG0 Z20\nG1 X440 Y390\nX340 Y290\nG0 Z60", ""),
        ("G0 X340 Y340\nG0 Z20\nG1 X440 Y240\nX340 Y340\nG0 Z60", ""),
        ("G0 X400 Y240\nG0 Z20\nG1 X500 Y340\nX400 Y240\nG0 Z60", ""),
        // Aslant through its middle, no corner nearer than 10 mm.
        ("G0 X390 Y345\nG0 Z20\nG1 X450 Y285\nG0 Z60", "3 keep-clear"),
        ("G0 X450 Y345\nG0 Z20\nG1 X390 Y285\nG0 Z60", "3 keep-clear"),
        // In the middle of a long way down, high at one end and past it at the other.
        ("G0 X300 Y315\nG0 X500 Z12", "2 keep-clear"),
        ("G0 X300 Y250\nG1 Z0\nG1 X500\nG0 Z60", ""),
        ("G0 X300 Y280\nG1 Z0\nG1 X500\nG0 Z60", "3 keep-clear"),
    ]);
}

#[test]
fn zeros_may_be_moved_and_the_bed_stays() {
    hold(&[
        ("G0 X100 Y100\nG92 X40\nG92 X40 Y100\nG0 X-60\nG92.1", ""),
        ("G0 X100 Y100\nG92 X40\nG92 X40 Y100\nG0 X-61\nG92.1", "4 outside-bed, 6 outside-bed"),
        ("G0 X100 Y100\nG92 X40\nG92.2\nG92.3\nG0 X-61\nG92.1", "5 outside-bed, 7 outside-bed"),
        ("G0 X100 Y100\nG92 X40\nG92.2\nG0 X-1\nG92.1", "4 outside-bed, 6 outside-bed"),
        // Whoever forgets it does not come home.
        ("G0 X100\nG92 X40", "6 not-parked"),
        // Arcs go with the zero.
        ("G0 X100 Y100\nG0 Z20\nG92 X0 Y0\nG2 X0 Y0 I400\nG92.1\nG0 Z60", "4 outside-bed"),
        ("G0 X300 Y300\nG0 Z20\nG92 X0 Y0\nG2 X0 Y0 I30\nG92.1\nG0 Z60", ""),
        // Z60 is made Z0: down 63 is 3 deep, and Z20 is higher than the machine.
        ("G0 X100 Y100\nG92 Z0\nG1 Z-63\nG0 Z20\nG92.1", "4 too-high"),
        // The system in use is let down by 10: 21 deep is 31 deep.
        (
            "G0 X100 Y100\nG10 L2 P1 Z-78\nG0 Z12\nG1 Z-21\nG10 L2 P1 Z-68",
            "2 machine-height, 4 through-spoilboard",
        ),
        ("G0 X100 Y100\nG10 L2 P1 X500 Y0\nG0 X380 Y100\nG1 Z-3\nG10 L2 P1 X0", "4 outside-work"),
        ("G10 L2 P2 X100 Y100\nG55\nG54", "2 work-offset-unset"),
        ("G10 L2 P1 X0 R10", "1 unused-word"),
        ("G52 X10", "1 unknown-g"),
        // Machine coordinates: 75 below the highest is 7 deep, and what no tool length is known for.
        ("G0 X100 Y100\nG53 G1 Z-75", "2 machine-height"),
        ("G53 G0 Z0", ""),
        ("G91\nG53 G0 Z-1", "2 machine-move"),
        // Home by way of Z0 goes aside from there, whoever else goes home.
        ("G0 X100 Y100\nG28 Z0\nG0 Z60", "2 home-partly, 2 home-unknown, 2 rapid-too-low"),
        ("G0 X100 Y100\nG91 G28 Z0\nG90", "2 home-partly, 2 home-unknown"),
        ("G0 X100 Y100\nG20\nG21", "2 units-changed, 3 units-changed"),
    ]);
}

#[test]
fn cycles_go_where_their_sticky_words_send_them() {
    hold(&[
        // Back to Z60 over the clamp, and back to R only.
        ("G0 X360 Y315\nG98 G81 X300 Y315 Z-3 R12\nX480\nG80", ""),
        ("G0 X360 Y315\nG99 G81 X300 Y315 Z-3 R12\nX480\nG80", "3 keep-clear"),
        ("G0 X300 Y100\nG99 G81 X300 Y100 Z-3 R2\nX350\nG80", "3 rapid-too-low"),
        // Steps of 150 from X100: the fifth hole is at 850, beside work that ends at 800.
        ("G0 X100 Y100 Z12\nG91 G99 G81 X150 Y0 Z-15 R0 L5\nG80 G90", "2 outside-work"),
        ("G0 X100 Y100 Z12\nG91 G99 G81 X150 Y0 Z-15 R0 L4\nG80 G90", ""),
        // R is reckoned from Z12: one below the top.
        (
            "G0 X100 Y100 Z12\nG91 G99 G81 X50 Y0 Z-2 R-13 L2\nG80 G90",
            "2 rapid-into-work, 2 rapid-too-low",
        ),
        // What stuck goes with the cycle, and with any other motion.
        (
            "G0 X100 Y100\nG99 G83 X100 Z-3 R12 Q1\nG81 X120 Z-3 R12\nG83 X140 Z-3 R12",
            "4 cycle-word-missing",
        ),
        ("G0 X100 Y100\nG99 G81 X100 Z-3 R12\nG0 X120\nG81 X130", "4 cycle-word-missing"),
        ("G0 X100 Y100\nG99 G81 X100 Z-3 R12 L0", "2 cycle-count"),
        ("G0 X100 Y100\nG99 G83 Z-3 R12 Q0.05 L400", "2 not-rehearsed"),
        ("G0 X100 Y100\nG99 G81 X100 Z-3 R12\nG80\nG98", ""),
        // In G18 it drills along Y, above the work.
        ("G0 X100 Y100\nG18 G99 G81 X150 Z50 Y50 R90\nG80 G17", ""),
        ("G0 X100 Y100\nG18 G99 G81 X150 Z-1 Y50 R90\nG80 G17", "2 rapid-too-low"),
    ]);
}

#[test]
fn the_spindle_is_at_speed_where_the_tool_touches() {
    hold(&[
        ("M5\nG0 X100 Y100\nG0 Z0\nM3 S16000 G1 Z-3", "4 spindle-not-at-speed"),
        // Started again in the work, which it never left.
        ("G0 X100 Y100\nG1 Z-3\nM5\nM3\nG1 X110", "5 spindle-not-at-speed"),
        ("G0 X100 Y100\nG1 Z-3\nM5\nM3\nG4 P3\nG1 X110", ""),
        // Found only when the way has come to an end, and told before what came later.
        (
            "M5\nG0 X100 Y100\nG0 Z1\nM3\nG1 Z-1\nX110\nX120\nX820",
            "5 spindle-not-at-speed, 8 outside-work",
        ),
        ("M5\nM4\nG4 P3\nG0 X100 Y100\nG1 Z-3", "5 turning-wrong-way"),
        ("S0\nG0 X100 Y100\nG1 Z-3", "3 too-slow-for-tool"),
        ("/M5\n/M3\nG4 P3\nG0 X100 Y100\nG1 Z-3", "1 optional-line"),
        ("T1\nG0 X100 Y100\nG1 Z-3", "3 tool-not-changed"),
        ("T2\nG0 X100 Y100\nG1 Z-3", ""),
        ("G43 H1\nG0 X100 Y100\nG1 Z-3", "1 length-table, 3 wrong-length-offset"),
        ("G4 P3000", "1 dwell-unit"),
        ("M0", "1 pause-turning"),
        ("/M30", "1 end-missing, 1 optional-line, 1 spindle-on-at-end"),
    ]);
}

#[test]
fn the_work_ends_where_it_ends_below_and_beside() {
    hold(&[
        ("G0 X100 Y100\nG0 Z1\nG3 X100 Y100 I5 J0 Z-30.001", "3 through-spoilboard"),
        ("G0 X100 Y100\nG1 Z-30", ""),
        ("G0 X0.5 Y100\nG1 Z-3", "2 tight-fit"),
        // Out again it may go as fast as the machine, be it still in the work.
        ("G0 X100 Y100\nG1 Z-20\nG1 Z-10 F1500\nZ-11 F1000", ""),
        ("G0 X790 Y100\nG1 Z-3\nG1 X806", ""),
        ("G0 X790 Y100\nG1 Z-3\nG1 X806.1", "3 outside-work"),
        // Radii that differ by 0.005 and by 0.006; ends that are one place or hardly two.
        ("G0 X100 Y100\nG2 X120.005 Y100 I10", ""),
        ("G0 X100 Y100\nG2 X120.006 Y100 I10", "2 arc-radii-differ"),
        ("G0 X100 Y100\nG2 X100.001 Y100 I10", "2 arc-nearly-closed"),
        ("G0 X100 Y100\nG2 X100 Y100 R-20", "2 arc-radius"),
        ("G0 X100 Y100\nG93 G1 Z20 F20\nG94\nG1 Z-3", "4 feed-after-inverse-time"),
        // Inverse time: three along, a coil, and no time at all.
        ("G0 X100 Y100\nG93 G1 X110 Y110 Z50 F151\nG94", ""),
        ("G0 X100 Y100\nG93 G1 X110 Y110 Z50 F152\nG94", "2 feed-beyond-machine"),
        ("G0 X100 Y100\nG93 G2 X100 Y100 I10 Z20 F37\nG94", ""),
        ("G0 X100 Y100\nG93 G2 X100 Y100 I10 Z20 F38\nG94", "2 feed-beyond-machine"),
        ("G93 G1 X10 F0", "1 feed-missing"),
        ("G1 X100 N20", "1 line-number"),
        ("G1 X10 F-5", "1 negative"),
        ("G1 X1E2", "1 unknown-letter"),
        ("G41 D2", "1 not-rehearsed"),
        ("G0 X#1 Y100", "1 parameter-unset"),
    ]);
}

/// Whatever the program, the list of faults has an end.
#[test]
fn a_thousand_faults_are_listed_and_the_rest_counted() {
    let machine = test_router();
    let program = format!("{HEAD}{}M5\nG0 X0 Z60\nY0\nM2\n", "G0 X-1\n".repeat(1250));
    let setting = Setting { machine: &machine, work: None };
    let rehearsal = rehearse(program.as_bytes(), &setting, |_| {}).expect("reading from memory");
    assert_eq!((rehearsal.faults.len(), rehearsal.unlisted), (1000, 250));
    let early = format!("{}G1 Z-1\n{program}", HEAD.replace("G4 P3", "G0 Z0"));
    let rehearsal = rehearse(early.as_bytes(), &setting, |_| {}).expect("reading from memory");
    let slow = rehearsal.faults.iter().filter(|f| f.rule.name() == "spindle-not-at-speed").count();
    assert_eq!((rehearsal.faults.len(), slow), (1000, 1));
}
