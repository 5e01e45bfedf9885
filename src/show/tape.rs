//! A trace as the preview's page plays it back: whole micrometres and microseconds, each figure as its
//! difference from the one before, in letters. Moves that were made before, one after another, are written
//! as a repeat of those: a drilled hole is mostly that.
//!
//! The letters are the base 64 variable-length quantities of source maps (ECMA-426): five bits a letter,
//! least first, the sixth bit says that more follow, the lowest bit of all is the sign.

use super::bed::{OnBed, Spot};
use crate::{
    machine::{Machine, Rotation},
    sim::{Move, MoveKind, PenState, Turning},
};
use serde::Serialize;
use std::collections::BTreeMap;

/// What the page's script reads of one program.
#[derive(Serialize)]
pub struct Tape<'a> {
    id: String,
    /// Left, bottom, width, height of the picture, mm from the work's corner.
    window: [f64; 4],
    /// The work's corner on the bed, mm.
    work_at: [f64; 2],
    /// Where the tool stands at first, µm.
    start: [i64; 3],
    /// For each move: its bits (see [`bits`]), then what they announce, then its microseconds.
    moves: String,
    /// What is in the spindle from which move on.
    tools: Vec<Fitted>,
    names: Vec<&'a str>,
    /// For each spot: x, y, depth, diameter, line.
    spots: String,
    /// For each spot its x and y on the panel; empty where no panel is known.
    on_panel: String,
}

#[derive(Serialize, PartialEq)]
struct Fitted {
    from_move: usize,
    says: String,
    diameter: f64,
}

/// Bits of a move, beside its kind in the lowest three.
mod bits {
    pub const X: i64 = 8;
    pub const Y: i64 = 16;
    pub const Z: i64 = 32;
    pub const PEN_DOWN: i64 = 64;
    /// Not on the line after the one before.
    pub const LINE: i64 = 128;
    /// No move: how many moves follow that were made before, and how many moves back they begin.
    pub const REPEAT: i64 = 5;
}

pub fn tape<'a>(program: &'a OnBed) -> Tape<'a> {
    let start = program.trace.first().map_or([0; 3], |step| step.from.map(um));
    let all_on_panel = program.spots.iter().all(|spot| spot.on_panel.is_some());
    Tape {
        id: program.id(),
        window: program.window().map(hundredth),
        work_at: program.machine.bed.work_at,
        start,
        moves: moves(program.trace, start),
        tools: fitted(program.trace, program.machine),
        names: program.spots.iter().map(|spot| spot.name.as_str()).collect(),
        spots: spots(&program.spots),
        on_panel: if all_on_panel { on_panel(&program.spots) } else { String::new() },
    }
}

fn moves(trace: &[Move], start: [i64; 3]) -> String {
    let figures = figures(trace, start);
    let mut letters = Letters::default();
    let (mut exact, mut told) = (0.0, 0);
    let mut took: Vec<i64> = Vec::with_capacity(trace.len());
    // Where three moves in a row were last seen to begin.
    let mut seen: BTreeMap<&[Figures], usize> = BTreeMap::new();
    let opening = |at: usize| figures.get(at..at + 3);
    while took.len() < trace.len() {
        let at = took.len();
        let mut alike = 1;
        if let Some(&before) = opening(at).and_then(|three| seen.get(three)) {
            let pairs = figures[at..].iter().zip(&figures[before..]);
            alike = pairs.take_while(|(now, then)| now == then).count();
            for n in [bits::REPEAT, alike as i64, (at - before) as i64] {
                letters.put(n);
            }
            for i in 0..alike {
                exact += trace[at + i].seconds;
                told += took[before + i];
                took.push(took[before + i]);
            }
        } else {
            exact += trace[at].seconds;
            // Up to the microsecond from the program's start, so that roundings do not add up.
            let micros = micros(exact) - told;
            for n in figures[at].told.iter().chain([&micros]) {
                letters.put(*n);
            }
            told += micros;
            took.push(micros);
        }
        seen.extend((at..at + alike).filter_map(|i| Some((opening(i)?, i))));
    }
    letters.0
}

/// A move as the page is told it, and how long it takes.
#[derive(PartialEq, Eq, PartialOrd, Ord)]
struct Figures {
    told: Vec<i64>,
    micros: i64,
}

fn figures(trace: &[Move], start: [i64; 3]) -> Vec<Figures> {
    let (mut at, mut line) = (start, 0);
    let mut all = Vec::with_capacity(trace.len());
    for step in trace {
        let to = step.to.map(um);
        let mut bits = match step.kind {
            MoveKind::Rapid => 0,
            MoveKind::Feed => 1,
            MoveKind::ArcCw => 2,
            MoveKind::ArcCcw => 3,
            MoveKind::Dwell => 4,
        };
        for (axis, bit) in [bits::X, bits::Y, bits::Z].into_iter().enumerate() {
            bits |= if to[axis] == at[axis] { 0 } else { bit };
        }
        bits |= if step.pen == Some(PenState::Down) { bits::PEN_DOWN } else { 0 };
        let on = step.line as i64 - line;
        bits |= if on == 1 { 0 } else { bits::LINE };
        let mut figures = vec![bits];
        figures.extend((on != 1).then_some(on));
        figures.extend((0..3).filter(|&axis| to[axis] != at[axis]).map(|axis| to[axis] - at[axis]));
        if let Some(arc) = &step.arc {
            figures.extend([um(arc.centre[0]) - at[0], um(arc.centre[1]) - at[1]]);
        }
        all.push(Figures { told: figures, micros: micros(step.seconds) });
        (at, line) = (to, step.line as i64);
    }
    all
}

fn micros(seconds: f64) -> i64 {
    (seconds * 1e6).round() as i64
}

fn fitted(trace: &[Move], machine: &Machine) -> Vec<Fitted> {
    let mut tools: Vec<Fitted> = Vec::new();
    for (from_move, step) in trace.iter().enumerate() {
        let tool = machine.tools.iter().find(|tool| Some(tool.number) == step.tool);
        let what = match (step.pen, tool, step.tool) {
            (Some(_), _, _) => "pen".to_string(),
            (None, Some(tool), _) => format!("tool {}, {}", tool.number, tool.name),
            (None, None, Some(number)) => format!("tool {number}"),
            (None, None, None) => "no tool named yet".to_string(),
        };
        let turns = match (step.pen, step.turning) {
            (Some(_), _) => String::new(),
            (None, Turning::Stopped) => ", stopped".to_string(),
            (None, Turning::Forward) => format!(", turning forward at {} rpm", step.rpm),
            (None, Turning::Reverse) => format!(", turning in reverse at {} rpm", step.rpm),
        };
        let pen_width = machine.pen.as_ref().filter(|_| step.pen.is_some()).map(|pen| pen.width);
        let diameter = pen_width.or(tool.map(|tool| tool.diameter)).unwrap_or(0.0);
        let now = Fitted { from_move, says: what + &turns, diameter };
        if tools.last().is_none_or(|last| last.says != now.says) {
            tools.push(now);
        }
    }
    tools
}

fn spots(spots: &[Spot]) -> String {
    let mut letters = Letters::default();
    let mut before = [0; 5];
    for spot in spots {
        let now =
            [um(spot.at[0]), um(spot.at[1]), um(spot.depth), um(spot.diameter), spot.line as i64];
        for (now, before) in now.iter().zip(before) {
            letters.put(now - before);
        }
        before = now;
    }
    letters.0
}

fn on_panel(spots: &[Spot]) -> String {
    let mut letters = Letters::default();
    let mut before = [0; 2];
    for at in spots.iter().filter_map(|spot| spot.on_panel) {
        let now = at.map(um);
        letters.put(now[0] - before[0]);
        letters.put(now[1] - before[1]);
        before = now;
    }
    letters.0
}

#[derive(Default)]
struct Letters(String);

impl Letters {
    fn put(&mut self, n: i64) {
        assert!(n.abs() < 1 << 52, "the page's script counts in doubles: {n}");
        let mut rest = n.unsigned_abs() << 1 | u64::from(n < 0);
        loop {
            let more = if rest >= 32 { 32 } else { 0 };
            let digit = (rest & 31 | more) as usize;
            self.0.push(char::from(ALPHABET[digit]));
            rest >>= 5;
            if more == 0 {
                return;
            }
        }
    }
}

const ALPHABET: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";

fn um(mm: f64) -> i64 {
    (mm * 1000.0).round() as i64
}

fn hundredth(mm: f64) -> f64 {
    (mm * 100.0).round() / 100.0
}

/// How a tool turns, in words.
pub fn turns(rotation: Rotation) -> &'static str {
    match rotation {
        Rotation::Forward => "forward (clockwise seen from above)",
        Rotation::Reverse => "IN REVERSE (anticlockwise seen from above)",
    }
}
