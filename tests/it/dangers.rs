//! Dangerous programs: one for every rule of the catalogue, refused for that rule at that line.
//!
//! Each file in `tests/dangers/` names its machine in its first line and marks the faulty line with
//! `(fault`. A rule without a program does not compile here.

use crate::demo::machines;
use bradawl::{
    diag::Source,
    gcode::LanguageRule,
    machine::{self, Machine},
    sim::{DangerRule, Kind, Rehearsal, Rule, Setting, rehearse},
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
    let machine = named_machine(&String::from_utf8_lossy(program));
    rehearse(program, &Setting { machine: &machine, work: None }, |_| {})
        .expect("reading from memory")
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
