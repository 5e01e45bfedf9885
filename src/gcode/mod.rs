//! G-code: text to blocks, one for each line, refused by line where the language does not allow it.
//!
//! The language is RS274/NGC, *The NIST RS274NGC Interpreter, Version 3*, NIST IR 6556 (Kramer,
//! Proctor, Messina, 2000), whose pages are named where a rule comes from. `;` comments are not in it
//! but are read everywhere, so they are read here. **Nothing is skipped**: a word is either understood,
//! or the line is refused by name.
//!
//! A [`Reader`] knows one line at a time and the parameters. What a block does to a machine is the
//! business of [`crate::sim`].

mod read;
mod rules;
mod value;

pub use read::Reader;
pub(crate) use rules::catalogue;
pub use rules::{LanguageRule, Refusal, Refused};
pub use value::{Parameters, whole};

use std::ops::Range;

/// Longest line that the standard allows, in bytes without its end (page 14).
pub const LONGEST_LINE: usize = 256;

/// Group 1, what a line does with its axis words.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Motion {
    /// G0
    Rapid,
    /// G1
    Feed,
    /// G2
    ArcCw,
    /// G3
    ArcCcw,
    /// G80
    Nothing,
    /// G81, G82, G83
    Cycle(Cycle),
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cycle {
    /// G81: down and out.
    Drill,
    /// G82: down, wait, out.
    DrillAndWait,
    /// G83: down in pecks.
    Peck,
}

/// Group 2.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Plane {
    /// G17
    Xy,
    /// G18
    Zx,
    /// G19
    Yz,
}

impl Plane {
    /// First axis, second axis and the one upright on both, so that the three are right-handed.
    pub const fn axes(self) -> [usize; 3] {
        match self {
            Plane::Xy => [0, 1, 2],
            Plane::Zx => [2, 0, 1],
            Plane::Yz => [1, 2, 0],
        }
    }
}

/// Group 3.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Distance {
    /// G90
    Absolute,
    /// G91
    Incremental,
}

/// Group 5.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FeedMode {
    /// G94
    PerMinute,
    /// G93: F is one over the minutes that the move takes.
    InverseTime,
}

/// Group 6.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Units {
    /// G20
    Inches,
    /// G21
    Millimetres,
}

/// Group 8.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LengthOffset {
    /// G43, with the number after H
    Use,
    /// G49
    Cancel,
}

/// Group 10.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Retract {
    /// G98
    OldHeight,
    /// G99
    RHeight,
}

/// Group 13.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PathMode {
    /// G61
    Exact,
    /// G61.1
    ExactStop,
    /// G64
    Blended,
}

/// Group 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Once {
    /// G4
    Dwell,
    /// G10
    SetSystem,
    /// G28
    Home,
    /// G30
    SecondHome,
    /// G53
    MachineMove,
    /// G92
    Shift,
    /// G92.1
    DropShift,
    /// G92.2
    SuspendShift,
    /// G92.3
    ResumeShift,
}

/// M0, M60; M1; M2, M30.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stop {
    Pause,
    /// Where a switch on the controller asks for it.
    PauseIfSwitched,
    End,
}

/// M3, M4, M5.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SpindleWord {
    Forward,
    Reverse,
    Stop,
}

/// M6.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ChangeTool;

/// A line began with `/`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Optional;

/// The words of a line that belong to a group, at most one of each (pages 19, 20). Coolant, feed
/// override and G40 change nothing that can be rehearsed: they are read, held against their groups,
/// and leave no trace here.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Modes {
    pub motion: Option<Motion>,
    pub plane: Option<Plane>,
    pub distance: Option<Distance>,
    pub feed_mode: Option<FeedMode>,
    pub units: Option<Units>,
    pub length_offset: Option<LengthOffset>,
    pub retract: Option<Retract>,
    pub path: Option<PathMode>,
    /// 1 to 9 for G54 to G59.3.
    pub system: Option<u8>,
    pub once: Option<Once>,
    pub stop: Option<Stop>,
    pub spindle: Option<SpindleWord>,
    pub change_tool: Option<ChangeTool>,
}

/// What one line says.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Block {
    /// Counted from 1.
    pub line: u64,
    /// In bytes, without its end.
    pub length: usize,
    pub optional: Option<Optional>,
    pub modes: Modes,
    /// The M numbers of the line, for machines that move a pen by one of them.
    pub m: [Option<u16>; 4],
    letters: u32,
    values: [f64; 26],
    comments: Vec<u8>,
    last_comment: Range<usize>,
}

impl Block {
    /// The value after a letter (`b'A'` to `b'Z'`, but not G, M or N), in the program's own units.
    #[inline]
    pub fn word(&self, letter: u8) -> Option<f64> {
        (self.letters & letters(&[letter]) != 0).then(|| self.values[usize::from(letter - b'A')])
    }

    /// Which letters of `of` stand on the line.
    #[inline]
    pub fn letters(&self, of: u32) -> u32 {
        self.letters & of
    }

    /// The last comment of the line, without its signs; empty if there is none.
    pub fn comment(&self) -> &[u8] {
        &self.comments[self.last_comment.clone()]
    }

    /// Every byte of the line's comments, signs and all.
    pub fn comments(&self) -> &[u8] {
        &self.comments
    }
}

/// A set of letters, for [`Block::letters`].
pub const fn letters(of: &[u8]) -> u32 {
    let (mut set, mut i) = (0, 0);
    while i < of.len() {
        set |= 1 << (of[i] - b'A');
        i += 1;
    }
    set
}
