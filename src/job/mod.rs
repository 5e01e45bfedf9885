//! A job: one panel as it was measured, with every default filled in.
//!
//! Lengths are millimetres. A value that a later room may have to complain of keeps its place in the
//! file ([`Given`]).

mod area;
mod board;
mod fabric;
pub mod prices;
mod read;
mod shape;

pub use area::{Area, AreaKind, AreaSize, GivesWay};
pub use fabric::{
    Allowance, ButtonNames, EdgeFullness, Fabric, MOST_STRETCH, Mark, MarkShape, Motif, Pile,
    PleatLines, Repeat, Turned,
};
pub use prices::Prices;
pub use read::{keys, read};
pub use shape::{Arcs, Drawn, Panel, Shape, Shoulder};

use crate::{diag::Given, machine::Work, units::Unit};

#[derive(Debug, Clone, PartialEq)]
pub struct Job {
    pub title: String,
    pub quantity: u32,
    pub hand: Hand,
    /// What its files' names begin with: one of a pair says which it is.
    pub prefix: &'static str,
    /// Of a pair, the panel that is made with it: cloth is cut for both together.
    pub other_hand: Option<Box<Job>>,
    /// The unit the person thinks in; all values here are millimetres all the same.
    pub unit: Unit,
    /// Where the panel will be used, as stated by the user and checked by nobody.
    pub used_in: Option<String>,
    pub panel: Panel,
    /// Openings first, then keep-outs.
    pub areas: Vec<Area>,
    pub board: Board,
    pub foam: Foam,
    pub wadding: f64,
    /// How far the wadding goes beyond the board's edge, to be wrapped round it.
    pub wadding_overhang: f64,
    pub button_diameter: f64,
    pub pattern: Pattern,
    pub fabric: Fabric,
    pub on: On,
    /// A price list, where the person gave one.
    pub prices: Option<Prices>,
}

/// A panel and its mirror image. The file describes the left hand, or the only one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hand {
    Only,
    Left,
    Right,
    /// Both.
    Pair,
}

impl Hand {
    /// "left" or "right", of one of a pair.
    pub const fn word(self) -> &'static str {
        match self {
            Hand::Left => "left",
            Hand::Right => "right",
            Hand::Only => "only",
            Hand::Pair => "pair",
        }
    }
}

impl Job {
    /// A job for each panel to make, labelled: both hands of a pair.
    pub fn hands(&self) -> Vec<Job> {
        match self.hand {
            Hand::Only => vec![self.clone()],
            Hand::Left => vec![self.left()],
            Hand::Right => vec![self.right()],
            Hand::Pair => {
                let left = Job { prefix: "left-", ..self.left() };
                let right = Job { prefix: "right-", ..self.right() };
                vec![
                    Job { other_hand: Some(Box::new(right.clone())), ..left.clone() },
                    Job { other_hand: Some(Box::new(left)), ..right },
                ]
            }
        }
    }

    /// The drawings that the job names, and where their bytes go.
    pub fn drawings(&mut self) -> Vec<(&Given<String>, &mut Vec<u8>)> {
        let old = self.pattern.survey.as_mut().and_then(|old| old.drawing.as_mut());
        let places = old.map(|drawing| (&drawing.file, &mut drawing.bytes));
        self.panel.drawing().into_iter().chain(places).collect()
    }

    fn left(&self) -> Job {
        Job { title: format!("{}, left hand", self.title), hand: Hand::Left, ..self.clone() }
    }

    fn right(&self) -> Job {
        let mut job = self.clone();
        job.title = format!("{}, right hand", self.title);
        job.hand = Hand::Right;
        job.panel.drawn = Drawn::Mirrored;
        for area in &mut job.areas {
            area.at[0] = -area.at[0];
        }
        for hole in &mut job.board.holes {
            hole.at[0] = -hole.at[0];
        }
        for single in &mut job.pattern.singles {
            single.at[0] = -single.at[0];
        }
        if let Some(Fan { centre: Some(centre), .. }) = &mut job.pattern.fan {
            centre[0] = -centre[0];
        }
        for at in job.board.locating.iter_mut().flat_map(|locating| &mut locating.at) {
            at.value[0] = -at.value[0];
        }
        job
    }
}

#[derive(Debug, Clone, PartialEq)]
pub struct Board {
    pub thickness: f64,
    /// Diameter of the hole for the twine.
    pub hole: Given<f64>,
    pub face_up: FaceUp,
    /// How far play of the dowels may put a hole off before a person is warned.
    pub tolerance: f64,
    /// Holes that are no button's.
    pub holes: Vec<BoardHole>,
    /// Where the board itself is cut by the machine, out of a larger sheet.
    pub cut_out: Option<CutOut>,
    /// Words cut into the face that lies up.
    pub engraved: Option<Engraved>,
    pub locating: Option<Locating>,
}

/// Where the board may have holes of its own for dowels.
#[derive(Debug, Clone, PartialEq)]
pub struct Locating {
    pub hole: f64,
    /// From the middle of the panel, seen from the front.
    pub at: Vec<Given<[f64; 2]>>,
}

/// A hole for a fixing, a cleat or a dowel.
#[derive(Debug, Clone, PartialEq)]
pub struct BoardHole {
    pub reason: String,
    /// From the middle of the panel, right and up, seen from the front.
    pub at: [f64; 2],
    pub diameter: Given<f64>,
    /// From the face that lies up; right through unless given.
    pub depth: Option<Given<f64>>,
    pub span: std::ops::Range<usize>,
}

/// How the board is cut out of its sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct CutOut {
    /// What the sheet is larger than the panel, on every side.
    pub margin: f64,
    pub cut: CutWay,
    /// Bridges that hold the board in its sheet until it is sawn free.
    pub tabs: u32,
    pub tab_length: f64,
    pub tab_height: Given<f64>,
    pub span: std::ops::Range<usize>,
}

/// How the cutter meets the wood.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CutWay {
    /// Its teeth come out of the wood where the tool is going.
    Conventional,
    /// Its teeth bite into the wood where the tool is going.
    Climb,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Engraved {
    pub words: Given<String>,
    /// Of a capital letter.
    pub height: f64,
    pub depth: Given<f64>,
}

/// Which face of the board lies up on the machine.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FaceUp {
    Front,
    Back,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Foam {
    pub thickness: f64,
    /// Diameter of the hole for the button.
    pub hole: Given<f64>,
    /// Foam left under the button; nought cuts through.
    pub leave: Given<f64>,
    pub work: Given<FoamWork>,
    /// How far it goes beyond the board's edge.
    pub overhang: Given<f64>,
    pub rest: Rest,
    /// Glued to the board before either is drilled.
    pub bonded: bool,
}

/// Whether foam is let recover before a hole's neighbour is drilled.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Rest {
    No,
    BetweenNeighbours,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FoamWork {
    /// Cut by the machine.
    Drill,
    /// Pen marks only; cut by hand.
    Mark,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Pattern {
    pub kind: PatternKind,
    pub fit: Fit,
    /// Button to button along a row, and buttons in a long row.
    pub across: Axis,
    /// A diamond's top button to its bottom button (in a square pattern: row to row), and rows.
    pub down: Axis,
    pub top_row: Row,
    pub top: Top,
    pub edge: Given<Edge>,
    /// Rows that radiate, instead of level ones.
    pub fan: Option<Fan>,
    /// Buttons at places of their own, instead of a pattern.
    pub singles: Vec<Single>,
    /// Positions of an old panel's buttons, instead of a fit.
    pub survey: Option<Survey>,
    /// Where the pattern's table stands.
    pub place: Given<()>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PatternKind {
    Diamond,
    Square,
    /// Grooves from the top to the bottom, drawn down where they are tied.
    Flutes,
    /// Buttons at places of their own.
    Single,
}

/// Rays that spread from one place, and rows that lie round it.
#[derive(Debug, Clone, PartialEq)]
pub struct Fan {
    /// Where the rays meet, from the middle of the panel. Unless given, the middle of its lower edge, or of the panel
    /// where the rays go all the way round.
    pub centre: Option<[f64; 2]>,
    /// From there to the innermost row.
    pub inner: Given<f64>,
    /// Between the outermost rays, degrees; as wide as the edges let it be unless given.
    pub sweep: Option<Given<f64>>,
    /// A button where the rays meet, on a fan that goes all the way round.
    pub centre_button: bool,
}

impl Fan {
    /// A sweep of the whole circle.
    pub const ALL_ROUND: f64 = 360.0;

    pub fn is_all_round(&self) -> bool {
        self.sweep.as_ref().is_some_and(|sweep| sweep.value == Fan::ALL_ROUND)
    }
}

/// A button at a place of its own.
#[derive(Debug, Clone, PartialEq)]
pub struct Single {
    /// From the middle of the panel, right and up, seen from the front.
    pub at: [f64; 2],
    /// As the job calls it, or its number.
    pub name: Given<String>,
    /// Where its place stands.
    pub span: std::ops::Range<usize>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fit {
    /// The outside buttons stand exactly at the edges; the diamond gives way.
    Whole,
    /// The diamond is exactly as given; the edges give way.
    Exact,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Row {
    Long,
    Short,
}

/// How the upper rows run.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Top {
    Straight,
    /// With the top of the outline; so many rows bend, at most all but the lowest.
    Following {
        rows: u32,
    },
}

/// An old panel, measured.
#[derive(Debug, Clone, PartialEq)]
pub struct Survey {
    /// Right and up.
    pub places: Vec<Given<[f64; 2]>>,
    /// Where they are read from instead, if they were drawn.
    pub drawing: Option<DrawnPlaces>,
    pub from: MeasuredFrom,
    pub positions: Positions,
}

/// Circles and points of a DXF file beside the job file.
#[derive(Debug, Clone, PartialEq)]
pub struct DrawnPlaces {
    pub file: Given<String>,
    pub layer: Option<Given<String>>,
    /// Of the drawing, if it does not say so itself.
    pub unit: Option<Given<Unit>>,
    /// What the file holds; read by whoever reads files.
    pub bytes: Vec<u8>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MeasuredFrom {
    /// The lower left corner of the panel's bounding box, seen from the front.
    Corner,
    /// The middle of the panel.
    Middle,
}

/// What a survey is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Positions {
    /// Every button where the old one stood.
    Reproduce,
    /// On the best grid, upright and about the centre line.
    True,
}

/// What was asked for in one direction: a size, a count, or both. At least one is there.
#[derive(Debug, Clone, PartialEq)]
pub struct Axis {
    pub size: Option<Given<f64>>,
    pub count: Option<Given<u32>>,
}

/// From the outside buttons to the outline.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Edge {
    pub sides: f64,
    pub top: f64,
    pub bottom: f64,
}

impl Edge {
    /// The least of the three: no button stands nearer the outline.
    pub fn least(self) -> f64 {
        self.sides.min(self.top).min(self.bottom)
    }
}

/// Which machine makes what, by the machine file's stem. What is not listed gets a drawing only.
#[derive(Debug, Clone, PartialEq)]
pub struct On {
    pub board: Option<Given<String>>,
    pub foam: Option<Given<String>>,
    pub fabric: Option<Given<String>>,
}

impl On {
    pub fn machine_for(&self, work: Work) -> Option<&Given<String>> {
        match work {
            Work::Board => self.board.as_ref(),
            Work::Foam => self.foam.as_ref(),
            Work::Fabric => self.fabric.as_ref(),
        }
    }
}
