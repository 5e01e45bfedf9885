//! The cloth of a job: the roll, how much longer the cover is, and what is marked on its back.

use crate::diag::Given;

/// More stretch than this would not be a cover but a stocking, per cent.
pub const MOST_STRETCH: f64 = 25.0;

#[derive(Debug, Clone, PartialEq)]
pub struct Fabric {
    /// Usable width of the roll, without selvedges.
    pub roll_width: Given<f64>,
    pub pile: Pile,
    pub turned: Given<Turned>,
    /// Cloth beyond the line where two pieces are sewn together.
    pub seam: Given<f64>,
    pub turn_in: f64,
    pub pleat_lines: PleatLines,
    pub mark: Mark,
    pub names: ButtonNames,
    pub allowance: Allowance,
    pub edge_fullness: EdgeFullness,
    /// How far the cloth stretches under the hand, across and down, per cent. The marks stand so much
    /// nearer together.
    pub stretch: [f64; 2],
    /// How much a diamond of irregular work may be strained, per cent.
    pub ease: f64,
    pub repeat: Option<Repeat>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pile {
    /// Runs down the hung panel.
    Down,
    None,
}

/// How the cover lies on the roll.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Turned {
    /// Its top to bottom runs along the roll.
    Upright,
    /// Its left to right runs along the roll.
    Sideways,
}

/// Whether the pen also draws the diamonds' sides.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PleatLines {
    Drawn,
    LeftOut,
}

/// How a button is marked on the back.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mark {
    pub shape: MarkShape,
    /// From end to end, mm.
    pub size: f64,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MarkShape {
    Cross,
    /// A small ring: a pen that rests on cloth bleeds.
    Dot,
}

/// Which buttons have their names beside their marks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ButtonNames {
    RowEnds,
    All,
    LeftOut,
}

/// How much longer the cover is, per full diamond.
#[derive(Debug, Clone, PartialEq)]
pub enum Allowance {
    /// With a tape pushed into the holes: one figure, or one for each row (`across`) or each gap
    /// between rows (`down`), from the top.
    Measured { across: Given<Vec<f64>>, down: Given<Vec<f64>> },
    /// `factor` times the pull-down depth.
    Depth { factor: Given<f64> },
    /// From the hole: its radius, and how far below its rim the button sits.
    Hole { radius: f64, seat: Given<f64> },
}

/// What the cloth between an outside button and the edge takes up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum EdgeFullness {
    /// Half of a diamond's allowance.
    Half,
    /// A whole diamond's: every bay gets the same, edge bays too. Published: J. W. Stephenson, Cutting
    /// and Draping, buttoned panel.
    Whole,
    Given {
        sides: f64,
        top: f64,
        bottom: f64,
    },
}

/// A cloth with a pattern that repeats.
#[derive(Debug, Clone, PartialEq)]
pub struct Repeat {
    pub across: Given<f64>,
    pub down: Given<f64>,
    /// From the usable edge of the roll to the middle of the first motif.
    pub from_edge: f64,
    pub motif: Motif,
}

impl Repeat {
    /// What a panel's width and height meet of the repeat, as the cover lies on the roll.
    pub fn on_panel(&self, turned: Turned) -> [&Given<f64>; 2] {
        match turned {
            Turned::Upright => [&self.across, &self.down],
            Turned::Sideways => [&self.down, &self.across],
        }
    }
}

/// Where the middle of a motif is to lie.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Motif {
    Diamond,
    Button,
}
