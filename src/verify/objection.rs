//! What can be said against a program.

use super::Lapse;
use crate::{
    layout::Name,
    sim::{Fault, Warning},
};
use std::fmt;

/// Why a program is not its plan.
#[derive(Debug, Clone, PartialEq)]
pub enum Objection {
    /// The rehearsal found a fault.
    Fault(Fault),
    /// The rehearsal is in doubt, so controllers may differ. Ours leave nothing to a controller's memory.
    Doubt(Warning),
    /// The head says another size of work than the plan.
    WorkMisstated,
    HoleMissing {
        name: Name,
    },
    HoleDoubled {
        name: Name,
        line: u64,
    },
    /// Deeper or less deep than planned, mm below Z0.
    HoleDepth {
        name: Name,
        line: u64,
        planned: f64,
        found: f64,
    },
    HoleTool {
        name: Name,
        line: u64,
    },
    /// Deeper in one bite, or bored deeper in one turn, than planned.
    HoleSteep {
        name: Name,
        line: u64,
    },
    /// Bored without a whole turn at its bottom.
    HoleUnround {
        name: Name,
        line: u64,
    },
    HoleTurning {
        name: Name,
        line: u64,
    },
    /// A bit came before the one that should have gone into the hole first.
    HoleOutOfTurn {
        name: Name,
        line: u64,
    },
    /// The tool is changed where nobody planned to reach for it, mm from X0 Y0.
    ChangedElsewhere {
        line: u64,
        at: [f64; 2],
    },
    /// A tool touched the work where nothing is planned, mm from the sheet's corner.
    UnplannedContact {
        line: u64,
        at: [f64; 2],
    },
    /// A cut along a way is not made, or not as planned, mm from the sheet's corner.
    CutMissing {
        what: String,
        from: [f64; 2],
    },
    CutDoubled {
        what: String,
        line: u64,
    },
    CutTool {
        what: String,
        line: u64,
    },
    StrokeMissing {
        from: [f64; 2],
    },
    StrokeDoubled {
        line: u64,
        from: [f64; 2],
    },
    UnplannedStroke {
        line: u64,
        from: [f64; 2],
    },
    /// The set-ups together do not make the sheet.
    Across(Lapse),
}

impl Objection {
    pub fn name(&self) -> &'static str {
        match self {
            Objection::Fault(fault) => fault.rule.name(),
            Objection::Doubt(warning) => warning.doubt.name(),
            Objection::WorkMisstated => "work-misstated",
            Objection::HoleMissing { .. } => "hole-missing",
            Objection::HoleDoubled { .. } => "hole-doubled",
            Objection::HoleDepth { .. } => "hole-depth",
            Objection::HoleTool { .. } => "hole-tool",
            Objection::HoleSteep { .. } => "hole-steep",
            Objection::HoleUnround { .. } => "hole-unround",
            Objection::HoleTurning { .. } => "hole-turning",
            Objection::HoleOutOfTurn { .. } => "hole-out-of-turn",
            Objection::ChangedElsewhere { .. } => "changed-elsewhere",
            Objection::UnplannedContact { .. } => "unplanned-contact",
            Objection::CutMissing { .. } => "cut-missing",
            Objection::CutDoubled { .. } => "cut-doubled",
            Objection::CutTool { .. } => "cut-tool",
            Objection::StrokeMissing { .. } => "stroke-missing",
            Objection::StrokeDoubled { .. } => "stroke-doubled",
            Objection::UnplannedStroke { .. } => "unplanned-stroke",
            Objection::Across(lapse) => lapse.name(),
        }
    }
}

impl fmt::Display for Objection {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        match self {
            Objection::Fault(fault) => write!(f, "line {}: {}", fault.line, fault.message),
            Objection::Doubt(warning) => write!(f, "line {}: {}", warning.line, warning.message),
            Objection::WorkMisstated => {
                write!(f, "the head states another size of work than was planned")
            }
            Objection::HoleMissing { name } => write!(f, "hole {name} is missing"),
            Objection::HoleDoubled { name, line } => {
                write!(f, "line {line}: hole {name} is made twice")
            }
            Objection::HoleDepth { name, line, planned, found } => {
                write!(f, "line {line}: hole {name} goes to {found} mm, not {planned} mm")
            }
            Objection::HoleSteep { name, line } => {
                write!(f, "line {line}: hole {name} goes deeper in one bite or turn than planned")
            }
            Objection::HoleUnround { name, line } => {
                write!(f, "line {line}: hole {name} is not bored all the way round at its bottom")
            }
            Objection::HoleTool { name, line } => {
                write!(f, "line {line}: hole {name} is made with another tool than planned")
            }
            Objection::HoleTurning { name, line } => {
                write!(f, "line {line}: hole {name} is made with the tool turning the wrong way")
            }
            Objection::HoleOutOfTurn { name, line } => {
                write!(f, "line {line}: another bit should have gone into hole {name} before")
            }
            Objection::ChangedElsewhere { line, at: [x, y] } => {
                write!(
                    f,
                    "before line {line} the tool is changed at X{x} Y{y}, which is not the place for it"
                )
            }
            Objection::UnplannedContact { line, at: [x, y] } => {
                write!(
                    f,
                    "line {line}: the tool touches the work at X{x} Y{y}, where nothing is planned"
                )
            }
            Objection::CutMissing { what, from: [x, y] } => {
                write!(f, "the cut of {what} from X{x} Y{y} is missing, or is not as planned")
            }
            Objection::CutDoubled { what, line } => {
                write!(f, "line {line}: the same cut of {what} is made twice")
            }
            Objection::CutTool { what, line } => {
                write!(
                    f,
                    "line {line}: {what} is cut with another tool than planned, or turning the wrong way"
                )
            }
            Objection::StrokeMissing { from: [x, y] } => {
                write!(f, "the stroke from X{x} Y{y} is missing")
            }
            Objection::StrokeDoubled { line, from: [x, y] } => {
                write!(f, "line {line}: the stroke from X{x} Y{y} is drawn twice")
            }
            Objection::Across(lapse) => lapse.fmt(f),
            Objection::UnplannedStroke { line, from: [x, y] } => {
                write!(f, "line {line}: the pen draws from X{x} Y{y}, where nothing is planned")
            }
        }
    }
}
