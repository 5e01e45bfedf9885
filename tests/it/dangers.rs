//! Dangerous programs: one for every rule of the catalogue, refused for that rule at that line.
//!
//! Each file in `tests/dangers/` names its machine in its first line and marks the faulty line with
//! `(fault`. A rule without a program does not compile here.

use crate::demo::machines;
use bradawl::{
    diag::Source,
    gcode::LanguageRule,
    machine::{self, Machine},
    sim::{DangerRule, Doubt, Kind, Rehearsal, Rule, Setting, WorkSize, rehearse},
};

macro_rules! program {
    ($name:literal) => {
        include_bytes!(concat!("../dangers/", $name, ".nc"))
    };
}

fn language(rule: LanguageRule) -> &'static [u8] {
    match rule {
        LanguageRule::NotText => program!("not-text"),
        LanguageRule::LineOver256 => program!("line-over-256"),
        LanguageRule::UnknownSign => program!("unknown-sign"),
        LanguageRule::UnknownLetter => program!("unknown-letter"),
        LanguageRule::UnknownG => program!("unknown-g"),
        LanguageRule::UnknownM => program!("unknown-m"),
        LanguageRule::NotRehearsed => program!("not-rehearsed"),
        LanguageRule::NumberMissing => program!("number-missing"),
        LanguageRule::NotWhole => program!("not-whole"),
        LanguageRule::Negative => program!("negative"),
        LanguageRule::NumberOutOfRange => program!("number-out-of-range"),
        LanguageRule::LineNumber => program!("line-number"),
        LanguageRule::CommentOpen => program!("comment-open"),
        LanguageRule::CommentNested => program!("comment-nested"),
        LanguageRule::CommentStray => program!("comment-stray"),
        LanguageRule::BadExpression => program!("bad-expression"),
        LanguageRule::ImpossibleSum => program!("impossible-sum"),
        LanguageRule::NoSuchParameter => program!("no-such-parameter"),
        LanguageRule::LetterTwice => program!("letter-twice"),
        LanguageRule::GroupClash => program!("group-clash"),
        LanguageRule::TooManyM => program!("too-many-m"),
        LanguageRule::UnusedWord => program!("unused-word"),
        LanguageRule::AxesWantedTwice => program!("axes-wanted-twice"),
        LanguageRule::AxisMissing => program!("axis-missing"),
        LanguageRule::MotionMissing => program!("motion-missing"),
        LanguageRule::FeedMissing => program!("feed-missing"),
        LanguageRule::ArcCentreMissing => program!("arc-centre-missing"),
        LanguageRule::ArcCentreDoubled => program!("arc-centre-doubled"),
        LanguageRule::ArcRadiiDiffer => program!("arc-radii-differ"),
        LanguageRule::ArcRadius => program!("arc-radius"),
        LanguageRule::DwellTimeMissing => program!("dwell-time-missing"),
        LanguageRule::LengthOffsetMissing => program!("length-offset-missing"),
        LanguageRule::MachineMove => program!("machine-move"),
        LanguageRule::WorkSystem => program!("work-system"),
        LanguageRule::CycleWordMissing => program!("cycle-word-missing"),
        LanguageRule::CycleUpsideDown => program!("cycle-upside-down"),
        LanguageRule::CycleCount => program!("cycle-count"),
        LanguageRule::CycleInInverseTime => program!("cycle-in-inverse-time"),
        LanguageRule::PercentMisplaced => program!("percent-misplaced"),
    }
}

fn danger(rule: DangerRule) -> &'static [u8] {
    match rule {
        DangerRule::OutsideBed => program!("outside-bed"),
        DangerRule::TooHigh => program!("too-high"),
        DangerRule::ThroughSpoilboard => program!("through-spoilboard"),
        DangerRule::OutsideWork => program!("outside-work"),
        DangerRule::KeepClear => program!("keep-clear"),
        DangerRule::HolderStrikes => program!("holder-strikes"),
        DangerRule::HeightUnknown => program!("height-unknown"),
        DangerRule::ZeroAtUnknownHeight => program!("zero-at-unknown-height"),
        DangerRule::RapidTooLow => program!("rapid-too-low"),
        DangerRule::RapidIntoWork => program!("rapid-into-work"),
        DangerRule::SpindleStopped => program!("spindle-stopped"),
        DangerRule::SpindleNotAtSpeed => program!("spindle-not-at-speed"),
        DangerRule::TurningWrongWay => program!("turning-wrong-way"),
        DangerRule::CannotReverse => program!("cannot-reverse"),
        DangerRule::NoSpindle => program!("no-spindle"),
        DangerRule::NoSpeed => program!("no-speed"),
        DangerRule::SpeedBeyondSpindle => program!("speed-beyond-spindle"),
        DangerRule::TooFastForTool => program!("too-fast-for-tool"),
        DangerRule::TooSlowForTool => program!("too-slow-for-tool"),
        DangerRule::NoTool => program!("no-tool"),
        DangerRule::UnknownTool => program!("unknown-tool"),
        DangerRule::ToolNotChanged => program!("tool-not-changed"),
        DangerRule::ToolChangeNotKnown => program!("tool-change-not-known"),
        DangerRule::ToolChangeTurning => program!("tool-change-turning"),
        DangerRule::ToolChangeLow => program!("tool-change-low"),
        DangerRule::WrongLengthOffset => program!("wrong-length-offset"),
        DangerRule::LengthNotUsed => program!("length-not-used"),
        DangerRule::CannotPlunge => program!("cannot-plunge"),
        DangerRule::CannotCutSideways => program!("cannot-cut-sideways"),
        DangerRule::FeedBeyondMachine => program!("feed-beyond-machine"),
        DangerRule::FeedBeyondTool => program!("feed-beyond-tool"),
        DangerRule::FeedPerTooth => program!("feed-per-tooth"),
        DangerRule::PenDownOnRapid => program!("pen-down-on-rapid"),
        DangerRule::PenTurning => program!("pen-turning"),
        DangerRule::PenTooLow => program!("pen-too-low"),
        DangerRule::PenTooFast => program!("pen-too-fast"),
        DangerRule::PenLeftDown => program!("pen-left-down"),
        DangerRule::PenWordsUnclear => program!("pen-words-unclear"),
        DangerRule::LineTooLong => program!("line-too-long"),
        DangerRule::ActedUpon => program!("acted-upon"),
        DangerRule::CycleNotKnown => program!("cycle-not-known"),
        DangerRule::ArcNotKnown => program!("arc-not-known"),
        DangerRule::DwellUnit => program!("dwell-unit"),
        DangerRule::NoSuchAxis => program!("no-such-axis"),
        DangerRule::UnitsChanged => program!("units-changed"),
        DangerRule::WorkOffsetUnset => program!("work-offset-unset"),
        DangerRule::NotParked => program!("not-parked"),
        DangerRule::SpindleOnAtEnd => program!("spindle-on-at-end"),
        DangerRule::LowAtEnd => program!("low-at-end"),
        DangerRule::PenDownAtEnd => program!("pen-down-at-end"),
        DangerRule::EndMissing => program!("end-missing"),
    }
}

/// Further ways into a danger.
const MORE: [(DangerRule, &[u8]); 20] = [
    (DangerRule::OutsideWork, program!("outside-work-sideways")),
    (DangerRule::OutsideWork, program!("outside-work-arc")),
    (DangerRule::OutsideWork, program!("outside-work-dot")),
    (DangerRule::OutsideWork, program!("outside-work-words")),
    (DangerRule::KeepClear, program!("keep-clear-arc")),
    (DangerRule::KeepClear, program!("keep-clear-helix")),
    (DangerRule::KeepClear, program!("keep-clear-upright-arc")),
    (DangerRule::KeepClear, program!("keep-clear-holder")),
    (DangerRule::KeepClear, program!("keep-clear-nothing-fitted")),
    (DangerRule::HolderStrikes, program!("holder-strikes-beside")),
    (DangerRule::CannotPlunge, program!("cannot-plunge-slope")),
    (DangerRule::FeedBeyondMachine, program!("feed-beyond-machine-helix")),
    (DangerRule::UnitsChanged, program!("units-changed-after-zero")),
    (DangerRule::WorkOffsetUnset, program!("work-offset-partly-set")),
    (DangerRule::HeightUnknown, program!("height-unknown-home")),
    (DangerRule::ActedUpon, program!("acted-upon-semicolon")),
    (DangerRule::ToolNotChanged, program!("tool-not-changed-pen")),
    (DangerRule::EndMissing, program!("empty-but-for-words")),
    (DangerRule::EndMissing, program!("end-optional")),
    (DangerRule::HolderStrikes, program!("holder-strikes-work-aside")),
];

fn doubtful(doubt: Doubt) -> &'static [u8] {
    match doubt {
        Doubt::WorkUnknown => program!("work-unknown"),
        Doubt::WorkStatedOtherwise => program!("work-stated-otherwise"),
        Doubt::UnitsUnstated => program!("units-unstated"),
        Doubt::DistanceUnstated => program!("distance-unstated"),
        Doubt::RetractUnstated => program!("retract-unstated"),
        Doubt::RetractSwitched => program!("retract-switched"),
        Doubt::StickyStep => program!("sticky-step"),
        Doubt::StickyRetract => program!("sticky-retract"),
        Doubt::HomeUnknown => program!("home-unknown"),
        Doubt::MachineHeight => program!("machine-height"),
        Doubt::HomePartly => program!("home-partly"),
        Doubt::ArcWithoutEnd => program!("arc-without-end"),
        Doubt::ArcNearlyClosed => program!("arc-nearly-closed"),
        Doubt::FeedAfterInverseTime => program!("feed-after-inverse-time"),
        Doubt::FeedBeforeUnits => program!("feed-before-units"),
        Doubt::ParameterUnset => program!("parameter-unset"),
        Doubt::OptionalLine => program!("optional-line"),
        Doubt::LongDwell => program!("long-dwell"),
        Doubt::LengthTable => program!("length-table"),
        Doubt::LengthNotSet => program!("length-not-set"),
        Doubt::SpindleMaybeSlow => program!("spindle-maybe-slow"),
        Doubt::PauseTurning => program!("pause-turning"),
        Doubt::PenNotSettled => program!("pen-not-settled"),
        Doubt::TightFit => program!("tight-fit"),
        Doubt::CommentStyle => program!("comment-style"),
    }
}

/// Further ways for a move to be a tight fit.
const TIGHT: [&[u8]; 3] =
    [program!("tight-fit-over"), program!("tight-fit-holder"), program!("tight-fit-bed")];

/// The machine that a program names in its first line.
fn named_machine(text: &str) -> Machine {
    let first = text.lines().next().expect("a first line");
    let name =
        first.strip_prefix("(on ").and_then(|rest| rest.strip_suffix(')')).expect("`(on NAME)`");
    if name == "test-router" {
        let text = include_str!("../dangers/test-router.toml").to_string();
        return machine::read(name, &Source { name: name.to_string(), text }).expect("a machine");
    }
    machines().remove(name).unwrap_or_else(|| panic!("there is no machine `{name}`"))
}

fn rehearsed(program: &[u8]) -> Rehearsal {
    rehearsed_on(program, None)
}

fn rehearsed_on(program: &[u8], work: Option<WorkSize>) -> Rehearsal {
    let machine = named_machine(&String::from_utf8_lossy(program));
    rehearse(program, &Setting { machine: &machine, work }, |_| {}).expect("reading from memory")
}

fn refused_at_its_line(rule: Rule, program: &[u8]) {
    let text = String::from_utf8_lossy(program);
    let marked =
        1 + text.lines().position(|line| line.contains("(fault")).expect("a marked line") as u64;
    let faults = rehearsed(program).faults;
    let found: Vec<(u64, &str)> =
        faults.iter().map(|fault| (fault.line, fault.rule.name())).collect();
    assert!(found.contains(&(marked, rule.name())), "{} at line {marked}: {found:?}", rule.name());
    assert!(
        found.iter().all(|(line, _)| *line >= marked),
        "{}: nothing before its line: {found:?}",
        rule.name()
    );
    if rule.kind() == Kind::Language {
        assert_eq!(
            found.last(),
            Some(&(marked, rule.name())),
            "nothing is read after a language fault"
        );
    }
}

#[test]
fn every_rule_of_the_language_is_found_at_its_line() {
    for &rule in LanguageRule::ALL {
        refused_at_its_line(Rule::Language(rule), language(rule));
    }
}

#[test]
fn every_danger_is_found_at_its_line() {
    for &rule in DangerRule::ALL {
        refused_at_its_line(Rule::Danger(rule), danger(rule));
    }
    for (rule, program) in MORE {
        refused_at_its_line(Rule::Danger(rule), program);
    }
}

#[test]
fn an_empty_file_is_no_program() {
    let machine = machines().remove("bench-router").expect("a demo machine");
    for empty in ["", "\n", "\r\n\r\n", "   ", "%\n"] {
        let setting = Setting { machine: &machine, work: None };
        let faults = rehearse(empty.as_bytes(), &setting, |_| {}).expect("from memory").faults;
        let names: Vec<&str> = faults.iter().map(|fault| fault.rule.name()).collect();
        assert_eq!(names, ["end-missing"], "{empty:?}");
    }
}

/// A doubt is said at its line, and is no fault.
#[test]
fn every_doubt_is_raised_at_its_line() {
    let all = Doubt::ALL.iter().map(|&doubt| (doubt, doubtful(doubt)));
    for (doubt, program) in all.chain(TIGHT.map(|program| (Doubt::TightFit, program))) {
        let text = String::from_utf8_lossy(program);
        let stated = WorkSize { x: 800.0, y: 500.0, thickness: 12.0, at: [0.0; 2] };
        let given = (doubt == Doubt::WorkStatedOtherwise).then_some(stated);
        let marked = text.lines().position(|line| line.contains("(note"));
        // Nothing else may stand in the comment that states the work.
        let line = 1 + marked.unwrap_or(1) as u64;
        let rehearsal = rehearsed_on(program, given);
        let found: Vec<(u64, Doubt)> =
            rehearsal.warnings.iter().map(|warning| (warning.line, warning.doubt)).collect();
        assert!(found.contains(&(line, doubt)), "{doubt:?} at line {line}: {found:?}\n{text}");
        // Home is known to one controller only, so there it is said as well.
        let alone = |&(_, other): &(u64, Doubt)| other == doubt || other == Doubt::HomeUnknown;
        assert!(found.iter().all(alone), "{doubt:?} alone: {found:?}");
        if doubt != Doubt::ArcWithoutEnd {
            assert_eq!(rehearsal.faults, [], "{doubt:?} is no fault");
        }
    }
}

/// The same programs with the fault mended: a rule that always objects would be no rule.
#[test]
fn clean_programs_are_clean() {
    let clean: [&[u8]; 3] =
        [program!("clean-drilling"), program!("clean-boring"), program!("clean-drawing")];
    for program in clean {
        let rehearsal = rehearsed(program);
        assert_eq!(rehearsal.faults, [], "{}", String::from_utf8_lossy(program));
    }
}

/// What to do about each rule is in the machines' page, in the catalogue's own words.
#[test]
fn the_catalogue_is_the_users_page() {
    let page = include_str!("../../machines/README.md");
    for rule in Rule::all() {
        let line = format!("| `{}` | {} |", rule.name(), rule.advice());
        assert!(page.contains(&line), "machines/README.md lacks\n{line}");
    }
    for doubt in Doubt::ALL {
        let line = format!("| `{}` | {} |", doubt.name(), doubt.advice());
        assert!(page.contains(&line), "machines/README.md lacks\n{line}");
    }
}

/// Programs that looked clean to an earlier rehearsal, each for a reason of its own.
#[test]
fn dangers_that_were_missed_once_are_found() {
    let up = "G21 G17 G90 G94 G54\nG0 Z20\n";
    let turning = "T1\nM0\nS3000\nM3\nG4 P3\n";
    let end = "G0 Z20\nM5\nG0 X0 Y0\nM2\n";
    let rows = [
        // A zero that was moved before the size of the work is stated stays moved.
        (
            "bench-router",
            format!("G92 X50\n(work 800 x 500 x 12 mm)\n{up}G0 X-60 Y100\n{end}"),
            "outside-bed",
            5,
        ),
        // CR alone ends a line for a controller.
        ("bench-router", format!("{up}G0 X1\r2\n{end}"), "not-text", 3),
        // At a rapid into the spoilboard beside the work.
        (
            "bench-router",
            format!(
                "(work 300 x 300 x 12 mm)\n{up}{turning}G0 X500 Y100\nG1 Z-20 F300\nG0 X600\n{end}"
            ),
            "rapid-too-low",
            11,
        ),
        // A tool that was called and passed over by a pause, on a machine that changes at M6.
        (
            "changer",
            format!("{up}{turning}G0 X200 Y200\nG1 Z-5 F300\n{end}"),
            "tool-not-changed",
            9,
        ),
        // A pause that a controller passes over unless a switch is on.
        ("bench-router", format!("{up}T1\nM1\n{end}"), "tool-change-not-known", 4),
        // T on the line that moves the pen.
        ("servo-plotter", "M5 T7\nG21\nG0 X0 Y0\nM2\n".to_string(), "unknown-tool", 1),
        // Nobody has said yet where the pen is.
        ("servo-plotter", "G21\nG0 X10 Y10\nM5\nG0 X0 Y0\nM2\n".to_string(), "height-unknown", 2),
        // An arc in an upright plane rises above its ends.
        (
            "bench-router",
            format!("{up}G0 Z70\nG18 G3 X30 Z70 I15 K0 F1000\nG17\n{end}"),
            "too-high",
            4,
        ),
    ];
    for (name, program, rule, line) in rows {
        let mut machine = match name {
            "changer" => machines().remove("bench-router"),
            name => machines().remove(name),
        }
        .expect("a demo machine");
        if name == "changer" {
            machine.speech.tool_change = machine::ToolChange::M6;
        }
        let setting = Setting { machine: &machine, work: None };
        let faults = rehearse(program.as_bytes(), &setting, |_| {}).expect("from memory").faults;
        let found: Vec<(u64, &str)> = faults.iter().map(|f| (f.line, f.rule.name())).collect();
        assert!(found.contains(&(line, rule)), "{rule} at line {line}: {found:?}\n{program}");
    }
}
