//! A rehearsal: what a program would do to a machine, move by move, and every rule it breaks, by line.
//!
//! The program is interpreted as RS274/NGC says (NIST IR 6556), timed as a controller with look-ahead
//! would run it, and watched for danger. Nothing here knows who wrote it or what was planned.
//!
//! **Frame.** Places are millimetres from X0 Y0 as the machine file sets it at the start, which is the
//! work's lower left corner unless it lies otherwise, Z up from its top. The frame stays with the work
//! whatever the program does to its zeros. The start is taken to be the park place at Z0, and the height counts
//! as unknown until the program states one.
//!
//! **Memory** does not grow with the program: the first [`LISTED`] faults are kept and the rest counted.
//!
//! **Not modelled:** jerk, a controller's own buffers and step rates, feed override, the time a person
//! takes at a pause. Times are those of ideal trapezoids.

mod arc;
mod contact;
mod cycle;
mod explain;
mod guard;
mod hpgl;
mod interpret;
mod pen;
mod report;
mod ring;
mod rules;
mod tally;
pub mod timing;
mod zeros;

pub use arc::Arc;
pub use contact::Holes;
pub use explain::explain;
pub use hpgl::rehearse_hpgl;
pub use report::{Fault, LISTED, Warning};
pub use ring::{Ring, rings};
pub use rules::{DangerRule, Doubt, Kind, Rule};
pub use tally::{Bounds, Times};

use crate::{
    gcode::{Parameters, Reader},
    machine::Machine,
};
use std::io::{self, BufRead};

/// What the rehearsal is held against.
#[derive(Debug, Clone, Copy)]
pub struct Setting<'a> {
    pub machine: &'a Machine,
    /// The work on the bed, where it is known. A program whose head has the comment
    /// `work 1400 x 600 x 12 mm` states it itself, and after that `lies at X -560 Y 0` where its corner
    /// does not lie at X0 Y0.
    pub work: Option<WorkSize>,
}

/// The work, its top at Z0. Millimetres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WorkSize {
    pub x: f64,
    pub y: f64,
    pub thickness: f64,
    /// Where its lower left corner lies, seen from X0 Y0.
    pub at: [f64; 2],
}

impl WorkSize {
    /// From where to where it lies along X and along Y.
    pub fn sides(&self) -> [[f64; 2]; 2] {
        let [x, y] = self.at;
        [[x, x + self.x], [y, y + self.y]]
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MoveKind {
    Rapid,
    Feed,
    /// Clockwise, seen against the plane's upright axis.
    ArcCw,
    ArcCcw,
    Dwell,
}

/// Which way the spindle turns.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Turning {
    Stopped,
    /// Clockwise seen from above, M3.
    Forward,
    /// Anticlockwise, M4.
    Reverse,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PenState {
    Up,
    Down,
}

/// One motion, or one wait. Cycles are spelled out as the moves they make.
#[derive(Debug, Clone, PartialEq)]
pub struct Move {
    /// Counted from 1.
    pub line: u64,
    pub kind: MoveKind,
    pub from: [f64; 3],
    pub to: [f64; 3],
    /// The end in the program's own coordinates as they stand at that moment, mm.
    pub said: [f64; 3],
    pub arc: Option<Arc>,
    /// mm/min as programmed; 0 for rapids and waits.
    pub feed: f64,
    pub seconds: f64,
    /// The tool in the spindle.
    pub tool: Option<u32>,
    pub turning: Turning,
    pub rpm: f64,
    /// Where a pen is at work: on a plotter, or on a router that has a pen and no tool in its spindle.
    pub pen: Option<PenState>,
}

/// How a program ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ending {
    /// M2 or M30.
    Stated,
    /// The second `%`.
    Fenced,
    /// The file just stops.
    Missing,
    /// A language fault: nothing more was read.
    Refused,
}

/// What came of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Rehearsal {
    /// At most [`LISTED`], in the order of their lines.
    pub faults: Vec<Fault>,
    /// How many more there were.
    pub unlisted: u64,
    pub warnings: Vec<Warning>,
    pub time: Times,
    /// What the tool's tip reached.
    pub bounds: Bounds,
    /// Least and greatest depth of the holes below Z0, mm.
    pub depths: Option<[f64; 2]>,
    /// Places where the tool went below Z0 and came up again without cutting sideways, but for boring.
    pub holes: u64,
    /// Times that the tool cut sideways below Z0.
    pub cuts: u64,
    /// Times that the pen went down.
    pub strokes: u64,
    /// Way of all rapids and of all other moves, mm.
    pub rapid_mm: f64,
    pub feed_mm: f64,
    /// In the order in which they were fitted, each once.
    pub tools: Vec<u32>,
    /// The size that the program's own head states.
    pub stated_work: Option<WorkSize>,
    pub start: [f64; 3],
    pub end: [f64; 3],
    pub ending: Ending,
    pub lines: u64,
}

/// Rehearses the program on `setting` and shows every move to `watch`, in order, once its time is
/// known. After a language fault nothing more is read, as a controller would; dangers are all counted.
///
/// # Errors
/// Only those of `input`. Whatever is wrong with the program is in [`Rehearsal::faults`].
pub fn rehearse(
    input: impl BufRead,
    setting: &Setting,
    watch: impl FnMut(&Move),
) -> io::Result<Rehearsal> {
    let pen_words = pen::Words::of(setting.machine);
    let mut reader = Reader::new(input).also_m(pen_words.m_numbers());
    let mut parameters = Parameters::default();
    let mut run = interpret::Run::new(setting, pen_words, watch);
    run.mirror_zeros(&mut parameters);
    let ending = loop {
        match reader.next_block(&mut parameters)? {
            None => break Ending::Missing,
            Some(Err(refusal)) => {
                run.refused(*refusal);
                break Ending::Refused;
            }
            Some(Ok(block)) => {
                if let Some(number) = parameters.guessed() {
                    run.doubt_parameter(number, block.line);
                }
                match run.block(block) {
                    Ok(interpret::Then::GoOn) => {}
                    Ok(interpret::Then::Mirror) => run.mirror_zeros(&mut parameters),
                    Ok(interpret::Then::End) => break Ending::Stated,
                    Err(mut refusal) => {
                        refusal.line = block.line;
                        run.refused(*refusal);
                        break Ending::Refused;
                    }
                }
            }
        }
    };
    let ending = match ending {
        Ending::Missing if reader.closed() => Ending::Fenced,
        ending => ending,
    };
    Ok(run.finish(ending, reader.lines()))
}
