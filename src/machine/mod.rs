//! What one machine can reach, turn, hold and understand.
//!
//! The writer and the checker share this room and nothing else. All places in a machine file are on
//! the **bed**: X right, Y up from its lower left corner, Z up from the spoilboard's top.
//! Lengths are millimetres, speeds mm/min, accelerations mm/s², times seconds.

mod read;
mod speech;

pub use read::{keys, read, read_unit};

use crate::units::Unit;
use std::fmt;

/// One machine file, every default filled in.
#[derive(Debug, Clone, PartialEq)]
pub struct Machine {
    /// The file's stem: what a job calls it by.
    pub name: String,
    pub title: String,
    pub kind: Kind,
    pub bed: Bed,
    pub motion: Motion,
    pub spindle: Option<Spindle>,
    pub pen: Option<Pen>,
    pub speech: Speech,
    pub cloth: Cloth,
    pub tools: Vec<Tool>,
    pub keep_clear: Vec<KeepClear>,
}

impl Machine {
    /// Diameter of what hangs down while no known tool is fitted, mm. Nobody has said where it narrows,
    /// so it is as wide all the way.
    pub fn unknown_width(&self) -> f64 {
        let spindle = self.spindle.as_ref().map_or(0.0, |spindle| spindle.holder);
        self.pen.as_ref().map_or(spindle, |pen| pen.holder.max(spindle))
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    Router,
    Plotter,
}

/// What is done about cloth larger than the bed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cloth {
    /// It is refused.
    Fixed,
    /// It is pulled on towards the person between programs.
    Steps,
    /// It is moved on both ways between programs.
    Tiles,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Bed {
    pub x: f64,
    pub y: f64,
    /// Highest tool tip above the spoilboard.
    pub z: f64,
    /// Thickness of the spoilboard: how far below the work a tool may go.
    pub spoilboard: f64,
    /// Where a program's X0 Y0 sits on the bed.
    pub work_at: [f64; 2],
    /// How far work may lie over the left, right, near and far side: where nothing of the machine is in
    /// its way.
    pub over: [f64; 4],
    /// How much wider a hole is than the dowel in it.
    pub dowel_play: f64,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Motion {
    /// Fastest travel of each axis, mm/min.
    pub rapid: [f64; 3],
    /// mm/s² of each axis.
    pub acceleration: [f64; 3],
    /// Junction deviation, mm: how far a corner may be cut.
    pub cornering: f64,
    /// Height above the work at which travel over it is safe.
    pub safe_height: f64,
    /// Where the tool rests, on the bed.
    pub park: [f64; 2],
    /// Where it waits for a person to change it, on the bed.
    pub change_at: [f64; 2],
}

#[derive(Debug, Clone, PartialEq)]
pub struct Spindle {
    pub rpm_min: f64,
    pub rpm_max: f64,
    /// Can it turn anticlockwise (M4)?
    pub reverse: bool,
    /// Seconds to come up to speed.
    pub spin_up: f64,
    /// Who waits for that, where the file says so.
    pub waits: Option<Waits>,
    /// Diameter of the widest of what turns above the tool: its holder and the spindle's nose.
    pub holder: f64,
}

/// Who sees to it that the spindle is at speed before the next move.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Waits {
    /// The controller goes on when it is told, or knows, that the spindle is at speed.
    Controller,
    /// Nobody but a wait (G4) in the program.
    Program,
}

/// A pen, on a plotter or clipped by hand to a router.
#[derive(Debug, Clone, PartialEq)]
pub struct Pen {
    pub lift: Lift,
    /// Seconds to wait after the pen goes down and after it comes up.
    pub settle: f64,
    /// Width of its line.
    pub width: f64,
    /// Diameter of the widest of the pen and what holds it.
    pub holder: f64,
    /// Speed while drawing, mm/min.
    pub speed: f64,
}

/// How the pen is lifted and set down.
#[derive(Debug, Clone, PartialEq)]
pub enum Lift {
    /// The pen moves in Z; heights above the cloth.
    Height { up: f64, down: f64 },
    /// Words for the controller, as written in the machine file.
    Words { up: String, down: String },
}

/// What the controller understands.
#[derive(Debug, Clone, PartialEq)]
pub struct Speech {
    pub writes: Language,
    pub comments: Comments,
    /// G81 and G83; otherwise drilling is spelled out in G0 and G1.
    pub drill_cycle: bool,
    /// G2 and G3; otherwise arcs are spelled out in chords.
    pub arcs: bool,
    /// How an arc's middle is said.
    pub arc_words: ArcWords,
    /// Largest difference of an arc's two radii that the controller lets pass, mm.
    pub arc_tolerance: f64,
    /// How far a chord may be from its arc, mm.
    pub chord_error: f64,
    pub tool_change: ToolChange,
    /// Whether tools have their lengths in the controller's table (G43 H), after M6.
    pub length_offset: bool,
    /// Minutes a tool change takes the person or the changer.
    pub tool_change_minutes: f64,
    pub dwell: Dwell,
    /// Longest line, in bytes without its end.
    pub line_length: usize,
    /// The unit that programs are written in.
    pub unit: Unit,
    pub decimals: usize,
    /// N words, counted in tens.
    pub line_numbers: bool,
    /// A line of `%` before and after.
    pub percent: bool,
    pub end_word: EndWord,
    /// The workshop's own lines, after the modes are stated and before the end.
    pub start: Vec<String>,
    pub end: Vec<String>,
}

impl Speech {
    /// The least length, mm, of whole micrometres that a program says no shorter than this one: a safe height
    /// of 10 mm is 0.3938 in, for 0.3937 in would be too low.
    pub fn at_least(&self, mm: f64) -> f64 {
        let counts = (0..self.decimals).fold(1.0, |ten, _| ten * 10.0);
        let (asked, step) = (mm * 1e3 - 1e-6, self.unit.mm() * 1e3 / counts);
        let mut um = asked.ceil();
        while (um / step).round() * step < asked {
            um += 1.0;
        }
        um / 1e3
    }
}

/// What programs are written in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Language {
    Gcode,
    /// HP-GL/2, for plotters.
    Hpgl,
}

impl Language {
    /// What a program's file name ends in.
    pub const fn ending(self) -> &'static str {
        match self {
            Language::Gcode => "nc",
            Language::Hpgl => "plt",
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ArcWords {
    /// I and J, from the arc's beginning.
    Centre,
    /// R; a full circle is four of them.
    Radius,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EndWord {
    M2,
    M30,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Comments {
    Parentheses,
    Semicolon,
    /// The controller reads none, so programs have none.
    None,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ToolChange {
    /// The program stops (M0) and a person changes the tool.
    Pause,
    /// M6.
    M6,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Dwell {
    Seconds,
    Milliseconds,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Tool {
    pub number: u32,
    pub name: String,
    pub work: Vec<Work>,
    pub diameter: f64,
    /// How far the tool stands out below its holder.
    pub reach: f64,
    pub rotation: Rotation,
    pub rpm: f64,
    /// mm/min.
    pub feed: f64,
    /// Depth of one peck.
    pub peck: f64,
    /// How far the tool goes into the spoilboard when it cuts through.
    pub break_through: f64,
    /// Can it be driven straight down?
    pub plunges: bool,
    /// Can it cut sideways? Drill bits cannot, so they never bore on a helix.
    pub sideways: bool,
    /// How deep it marks where another bit starts, if that is all that it does.
    pub spots: Option<f64>,
    /// The thinner tool that goes first where this one drills or bores.
    pub follows: Option<u32>,
    /// Cutting edges, where the maker states them.
    pub flutes: Option<u32>,
    /// Least and most feed per tooth, mm, where the maker states it.
    pub feed_per_tooth: Option<[f64; 2]>,
}

/// What a sheet is made of, and so which tool and which machine may work it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Work {
    Board,
    Foam,
    Fabric,
}

impl Work {
    pub const ALL: [Work; 3] = [Work::Board, Work::Foam, Work::Fabric];

    /// The word in job files, file names and messages.
    pub const fn word(self) -> &'static str {
        match self {
            Work::Board => "board",
            Work::Foam => "foam",
            Work::Fabric => "fabric",
        }
    }
}

impl fmt::Display for Work {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str(self.word())
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Rotation {
    /// Clockwise seen from above, M3.
    Forward,
    /// Anticlockwise, M4: how toothed foam cutters must run, or they grab.
    Reverse,
}

/// A clamp or pin: a box on the bed that nothing may enter, from the spoilboard up to `height`.
#[derive(Debug, Clone, PartialEq)]
pub struct KeepClear {
    pub x: [f64; 2],
    pub y: [f64; 2],
    pub height: f64,
}
