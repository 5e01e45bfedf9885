//! What must hold of every rehearsal, whatever was read.

use bradawl::{
    diag::Source,
    machine::{self, Machine},
    sim::{Ending, Holes, Kind, LISTED, Move, Rehearsal, Setting, WorkSize, rehearse},
};
use std::{io::BufReader, sync::LazyLock};

static MACHINES: LazyLock<Vec<Machine>> = LazyLock::new(|| {
    let files = [
        include_str!("../../dangers/test-router.toml"),
        include_str!("../../../machines/bench-router.toml"),
        include_str!("../../../machines/trim-router.toml"),
        include_str!("../../../machines/roll-plotter.toml"),
        include_str!("../../../machines/servo-plotter.toml"),
    ];
    let read = |text: &str| {
        let source = Source { name: "machine".into(), text: text.into() };
        machine::read("machine", &source).expect("a machine file of our own")
    };
    files.map(read).into()
});

/// Rehearses `program` twice, the second time handed over a few bytes at a time, and holds what comes
/// back against itself.
pub fn check(choice: u8, program: &[u8]) {
    let machine = &MACHINES[usize::from(choice) % MACHINES.len()];
    let work = (choice & 0x80 != 0).then_some(WorkSize { x: 300.0, y: 200.0, thickness: 12.0, at: [0.0; 2] });
    let setting = Setting { machine, work };
    let mut trace = Vec::new();
    let mut holes = Holes::default();
    let once = rehearse(program, &setting, |step| {
        holes.watch(step);
        trace.push(step.clone());
    })
    .expect("reading from memory");
    let mut moves = 0;
    let in_drops = BufReader::with_capacity(7, program);
    let again = rehearse(in_drops, &setting, |step| {
        assert_eq!(step, &trace[moves], "the same moves however the bytes arrive");
        moves += 1;
    })
    .expect("reading from memory");
    assert_eq!(moves, trace.len());
    assert_eq!(once, again, "the same answer however the bytes arrive");
    hold(&once, &trace);
    assert!(holes.found().len() as u64 <= once.holes, "a place counts at least once");
}

fn hold(rehearsal: &Rehearsal, trace: &[Move]) {
    let finite = |place: &[f64; 3]| place.iter().all(|value| value.is_finite());
    let mut at = rehearsal.start;
    for step in trace {
        assert_eq!(step.from, at, "every move begins where the last one ended");
        assert!(finite(&step.to) && finite(&step.said), "places are numbers");
        assert!(step.seconds.is_finite() && step.seconds >= 0.0, "time passes: {step:?}");
        at = step.to;
    }
    assert_eq!(rehearsal.end, at);
    assert!(rehearsal.time.total().is_finite());
    assert!(rehearsal.faults.len() <= LISTED + 1);
    let language = |kind| kind == Kind::Language;
    let refusals = rehearsal.faults.iter().filter(|fault| language(fault.rule.kind())).count();
    assert_eq!(refusals, usize::from(rehearsal.ending == Ending::Refused), "one refusal ends it");
    assert!(rehearsal.faults.iter().all(|fault| fault.line <= rehearsal.lines.max(1)));
    if rehearsal.faults.is_empty() {
        assert!(
            matches!(rehearsal.ending, Ending::Stated | Ending::Fenced),
            "a clean program says where it ends"
        );
        assert!(rehearsal.bounds.min[2].is_finite());
    }
}
