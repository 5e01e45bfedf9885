//! Where every button, hole and mark goes: from a job to board, foam and cover, each in its own frame.
//!
//! The three are tied together by button names and by nothing else. Positions on the cover are never
//! mapped from the panel: the cover is longer than the panel and is laid out anew.

mod areas;
mod bay;
mod board;
mod cover;
mod fan;
mod fit;
mod flutes;
mod following;
mod locating;
mod name;
mod notes;
mod pleats;
mod single;
mod survey;

pub use areas::Cleared;
pub use bay::bays;
pub use cover::{
    Bounds, Cover, Drawn, Drift, Drop, Laid, LineKind, Methods, Pair, Piece, RollPlan, Strain,
    hole_allowance, piece_letter, reach,
};
pub use fan::Rays;
pub use fit::{Choice, Fitted, choices, shape_word};
pub use locating::Locating;
pub use name::{Name, listed};
pub use pleats::EdgePleat;
pub use single::Neighbours;
pub use survey::Surveyed;

use crate::{
    diag::Diagnostic,
    frame::{Map, PanelFront, Point, Sheet},
    job::{AreaKind, FaceUp, Hand, Job, PatternKind, Row, Top},
    machine::Work,
    outline::{self, Corner, Outline},
};
use following::Following;
use pleats::{Lattice, plus};
use std::collections::BTreeMap;

/// No edge is measured finer than this, mm: a button exactly at the edge distance is far enough in.
const HAIR: f64 = 1e-6;

#[derive(Debug, Clone)]
pub struct Layout {
    pub outline: Outline,
    pub fitted: Fitted,
    /// The buttons that are made, row by row from the top left.
    pub buttons: Vec<Button>,
    /// Places of the pattern too near the outline, or in the way of an area.
    pub dropped: Vec<Button>,
    /// Ties that were moved along their groove to keep their distance from the edge.
    pub slid: Vec<Name>,
    /// Openings, then keep-outs.
    pub areas: Vec<Cleared>,
    /// The largest angle by which a pleat turns from the straight lattice, degrees.
    pub turned: f64,
    /// How the old panel's buttons stood, where this one is made after it.
    pub surveyed: Option<Surveyed>,
    /// In order along the outline.
    pub edge_pleats: Vec<EdgePleat>,
    /// From the outline to the nearest button.
    pub nearest_edge: f64,
    pub board: HoleSheet,
    pub foam: HoleSheet,
    pub cover: Cover,
    /// Of one of a pair, the cloth of both.
    pub pair: Option<Pair>,
    /// What a person should know before cutting, in plain words.
    pub warnings: Vec<String>,
}

/// One button of the pattern.
#[derive(Debug, Clone)]
pub struct Button {
    pub name: Name,
    /// Half-columns right of the upright centre line, and half row gaps above the field's middle.
    pub lattice: [i32; 2],
    pub at: Point<PanelFront>,
}

/// Which of how many of one work: a piece of the cover, a set-up of the board.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Part {
    /// From 1.
    pub number: u32,
    pub of: u32,
}

impl Part {
    /// The only one.
    pub const WHOLE: Part = Part { number: 1, of: 1 };

    /// What its files are called, without their ending.
    pub fn stem(self, work: Work) -> String {
        if self.of == 1 { work.to_string() } else { format!("{work}-{}", self.number) }
    }
}

/// A board or a foam as it lies on the machine, with its holes.
#[derive(Debug, Clone)]
pub struct HoleSheet {
    pub work: Work,
    /// Width and height as it lies.
    pub size: [f64; 2],
    pub thickness: f64,
    pub up: FaceUp,
    pub hole: f64,
    /// In the order of [`Layout::buttons`].
    pub places: Vec<(Name, Point<Sheet>)>,
    /// Where it may have other holes, for dowels.
    pub locating: Option<Locating>,
    /// The outline as it lies, anticlockwise.
    pub edge: Vec<Corner>,
    /// What is cut out of it, each anticlockwise.
    pub openings: Vec<Vec<Corner>>,
    /// Where foam is slit: from the top tie of a groove to its lowest.
    pub grooves: Vec<[Point<Sheet>; 2]>,
    /// Holes that are no button's.
    pub others: Vec<OtherHole>,
    /// Letters cut into the face that lies up, stroke by stroke, and how deep.
    pub engraved: Vec<Vec<Point<Sheet>>>,
    pub engraved_depth: f64,
    /// What the sheet is larger than the panel on every side: a board's that the panel is cut out of, or a foam's
    /// that goes beyond its board.
    pub margin: f64,
    /// What holds the panel in its sheet.
    pub tabs: Tabs,
}

/// Bridges of wood along a way that is cut out.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Tabs {
    pub count: u32,
    pub length: f64,
    /// What is left of the board's thickness.
    pub height: f64,
}

/// A hole of the board for a fixing, a cleat or a dowel.
#[derive(Debug, Clone, PartialEq)]
pub struct OtherHole {
    pub name: Name,
    pub reason: String,
    pub at: Point<Sheet>,
    /// The same on the panel.
    pub on_panel: [f64; 2],
    pub diameter: f64,
    /// From the face that lies up; `None` is right through.
    pub depth: Option<f64>,
}

impl HoleSheet {
    /// The holes of the buttons and, after them, those that it may have for dowels, with their diameters.
    pub fn holes(&self) -> impl Iterator<Item = (Name, Point<Sheet>, f64)> {
        let buttons = self.places.iter().map(|(name, at)| (*name, *at, self.hole));
        let locating = self.locating.iter().flat_map(|locating| {
            locating.places.iter().map(|(name, at)| (*name, *at, locating.hole))
        });
        buttons.chain(locating)
    }

    /// The same, and the holes for other things.
    pub fn all_holes(&self) -> impl Iterator<Item = (Name, Point<Sheet>, f64)> {
        let others = self.others.iter().map(|other| (other.name, other.at, other.diameter));
        self.holes().chain(others)
    }
}

/// Lays out the whole panel. Errors point into the job file.
pub fn lay_out(job: &Job) -> Result<Layout, Vec<Diagnostic>> {
    let mut layout = one_hand(job)?;
    // What is wrong with the other hand is said when it is made.
    if let Some(Ok(other)) = job.other_hand.as_deref().map(one_hand) {
        let covers = match job.hand {
            Hand::Right => [&other.cover, &layout.cover],
            _ => [&layout.cover, &other.cover],
        };
        layout.pair = cover::pair(job, covers);
    }
    Ok(layout)
}

fn one_hand(job: &Job) -> Result<Layout, Vec<Diagnostic>> {
    let outline = outline::outline(&job.panel)?;
    let found = match &job.pattern.survey {
        Some(old) => Some(survey::find(job, old, &outline)?),
        None => None,
    };
    let (fitted, placed) = match &found {
        Some(found) => (found.fitted, None),
        None if job.pattern.kind == PatternKind::Single => {
            let (fitted, buttons) = single::buttons(job, &outline)?;
            (fitted, Some(buttons))
        }
        None => {
            let fitted = fit::fit(&cover::matched(job)?, &outline)?;
            let edge = job.pattern.edge.value.least();
            let on_rays = fitted.fan.and_then(|rays| rays.places(&fitted, &outline, edge));
            (fitted, on_rays)
        }
    };
    cover::refuse_unmatched(job, &fitted)?;
    let least_edge = job.pattern.edge.value.least();
    let following = match job.pattern.top {
        Top::Straight => None,
        Top::Following { rows } => {
            Some(Following::new(&fitted, &outline, job.pattern.edge.value.top, rows))
        }
    };
    let places: Vec<Button> = match (&found, placed) {
        (Some(found), _) => found.buttons.clone(),
        (None, Some(placed)) => placed,
        (None, None) => fitted
            .lattice()
            .map(|(name, lattice)| {
                let straight = fitted.on_panel(lattice);
                let below = following.as_ref().map_or(0.0, |top| top.below(&fitted, lattice));
                Button { name, lattice, at: Point::new(straight.x, straight.y - below) }
            })
            .collect(),
    };
    let mut slid = Vec::new();
    let places: Vec<Button> = match fitted.kind {
        PatternKind::Flutes if found.is_none() => {
            let keeping = |tie: Button| {
                let kept = flutes::keeping_edge(&fitted, &outline, least_edge, &tie);
                kept.inspect(|kept| slid.extend((kept.at != tie.at).then_some(kept.name)))
                    .unwrap_or(tie)
            };
            places.into_iter().map(keeping).collect()
        }
        _ => places,
    };
    let (buttons, mut dropped): (Vec<_>, Vec<_>) =
        places.into_iter().partition(|button| outline.depth(button.at) >= least_edge - HAIR);
    let areas::Left { buttons, dropped: in_the_way, areas } =
        areas::clear(job, &outline, least_edge, buttons)?;
    dropped.extend(in_the_way);
    dropped.sort_by_key(|button| button.name);
    if buttons.is_empty() {
        return Err(vec![
            Diagnostic::at(
                job.pattern.edge.span.clone(),
                "every button stands too near the edge, so none is left",
            )
            .help("make `edge` smaller, or the diamonds"),
        ]);
    }
    if let Some(following) = &following {
        following.refuse_crossed(job, &fitted, &buttons)?;
    }
    let nearest_edge = buttons.iter().map(|b| outline.depth(b.at)).fold(f64::INFINITY, f64::min);
    let openings: Vec<Vec<Corner>> = areas
        .iter()
        .filter(|area| area.kind == AreaKind::Opening)
        .map(|area| area.corners.clone())
        .collect();
    let board = board::sheet(job, &outline, &openings, &buttons)?;
    let mut foam = hole_sheet(
        &outline,
        &openings,
        &buttons,
        Work::Foam,
        job.foam.thickness,
        FaceUp::Front,
        job.foam.hole.value,
        job.foam.overhang.value,
    );
    if fitted.kind == PatternKind::Flutes {
        foam.grooves = grooves(&buttons, &foam.places);
    }
    let edge_pleats = pleats::edge_pleats(&fitted, &outline, &buttons, &dropped);
    let panel = cover::Panel {
        outline: &outline,
        fitted: &fitted,
        buttons: &buttons,
        edge_pleats: &edge_pleats,
        openings: &openings,
    };
    let cover = cover::lay_out(job, &panel)?;
    let mut layout = Layout {
        outline,
        fitted,
        buttons,
        dropped,
        slid,
        areas,
        turned: following.map_or(0.0, |top| top.largest_turn(&fitted)),
        surveyed: found.map(|found| found.surveyed),
        edge_pleats,
        nearest_edge,
        board,
        foam,
        cover,
        pair: None,
        warnings: Vec::new(),
    };
    layout.warnings = notes::warnings(job, &layout);
    Ok(layout)
}

impl Layout {
    /// Whether a round has its button where the rays meet.
    pub fn has_centre_button(&self) -> bool {
        let centre = self.fitted.fan.and_then(|rays| rays.at_centre(self.fitted.rows));
        self.buttons.iter().any(|button| Some(button.lattice) == centre)
    }

    /// Every pleat (or groove) from button to button, by their places among the buttons.
    pub fn pleats(&self) -> Vec<[usize; 2]> {
        pleats::between(&self.fitted, &self.buttons)
    }
}

impl Fitted {
    /// Every place of the pattern by name, row by row from the top left; all the way round from the upright ray,
    /// clockwise, the centre last.
    fn lattice(&self) -> impl Iterator<Item = (Name, [i32; 2])> + '_ {
        let rows = (0..self.rows).flat_map(move |row| {
            let buttons = self.in_row(row);
            let first = match self.all_round() {
                Some(_) => i32::from(!self.is_long(row)),
                None => 1 - buttons as i32,
            };
            (0..buttons).map(move |column| {
                let name = Name::in_row(row + 1, column + 1);
                let up = (self.rows as i32 - 1) - 2 * row as i32;
                (name, [first + 2 * column as i32, up])
            })
        });
        let centre = self.fan.and_then(|rays| rays.at_centre(self.rows));
        rows.chain(centre.map(|centre| (Name::in_row(self.rows + 1, 1), centre)))
    }

    /// Where a step leads from a place of the lattice.
    fn beside(&self, from: Lattice, step: Lattice) -> Lattice {
        match &self.fan {
            Some(rays) => rays.beside(self, from, step),
            None => plus(from, step),
        }
    }

    /// Buttons in a row counted from nought at the top: a short row has one fewer.
    fn in_row(&self, row: u32) -> u32 {
        let all = self.is_long(row) || self.all_round().is_some();
        if all { self.across } else { self.across - 1 }
    }

    fn is_long(&self, row: u32) -> bool {
        match self.kind {
            PatternKind::Square | PatternKind::Flutes | PatternKind::Single => true,
            PatternKind::Diamond => row.is_multiple_of(2) == (self.top_row == Row::Long),
        }
    }

    fn on_panel(&self, lattice: [i32; 2]) -> Point<PanelFront> {
        let [x, y] = place_on(lattice, [self.width, self.row_gap()]);
        Point::new(x, self.middle + y)
    }
}

/// A place of the lattice from its middle, for a pitch along a row and a row gap.
fn place_on(lattice: [i32; 2], pitch: [f64; 2]) -> [f64; 2] {
    [f64::from(lattice[0]) * pitch[0] / 2.0, f64::from(lattice[1]) * pitch[1] / 2.0]
}

#[allow(clippy::too_many_arguments)]
fn hole_sheet(
    outline: &Outline,
    openings: &[Vec<Corner>],
    buttons: &[Button],
    work: Work,
    thickness: f64,
    up: FaceUp,
    hole: f64,
    margin: f64,
) -> HoleSheet {
    let size = [outline.width(), outline.height()].map(|side| side + 2.0 * margin);
    let to_sheet = to_sheet(size, up);
    let places = buttons.iter().map(|b| (b.name, to_sheet.apply(b.at))).collect();
    let edge = outline::in_frame(outline.corners(), &to_sheet);
    let openings = openings.iter().map(|o| outline::in_frame(o, &to_sheet)).collect();
    HoleSheet {
        work,
        size,
        thickness,
        up,
        hole,
        places,
        edge,
        openings,
        grooves: Vec::new(),
        others: Vec::new(),
        engraved: Vec::new(),
        engraved_depth: 0.0,
        margin,
        tabs: Tabs::default(),
        locating: None,
    }
}

/// Lays a sheet of this size down, the panel in its middle.
fn to_sheet(size: [f64; 2], up: FaceUp) -> Map<PanelFront, Sheet> {
    match up {
        FaceUp::Front => Map::lay_down(Point::new(-size[0] / 2.0, -size[1] / 2.0)),
        FaceUp::Back => Map::turn_over(Point::new(size[0] / 2.0, -size[1] / 2.0)),
    }
}

impl HoleSheet {
    /// How far inside the panel's own outline a place of the sheet is, mm; negative outside and in openings.
    pub fn inside(&self, at: [f64; 2]) -> f64 {
        let openings = self.openings.iter().map(|opening| -outline::depth(opening, at));
        openings.fold(outline::depth(&self.edge, at), f64::min)
    }

    /// The line so far beyond the panel's own outline, mm, as it lies; the outline itself where there is none.
    pub fn beyond(&self, by: f64) -> Vec<Corner> {
        if by == 0.0 {
            return self.edge.clone();
        }
        // Beyond a narrow notch a second, inner way closes; the outer one is the larger.
        let size = |way: &Vec<Corner>| outline::bounds(way).area();
        let ways = outline::inset(&self.edge, -by).into_iter();
        ways.max_by(|a, b| size(a).total_cmp(&size(b))).unwrap_or_else(|| self.edge.clone())
    }

    /// Whether it is a larger sheet that the panel is cut out of.
    pub fn is_cut_out(&self) -> bool {
        self.work == Work::Board && self.margin > 0.0
    }

    /// Places along one of its closed ways, all the way round and no farther apart than `step`, mm; each with the
    /// direction, of length one, in which the wood is cut away. At a corner of the way there are two.
    pub fn edge_places(&self, way: Edge, step: f64) -> Vec<([f64; 2], [f64; 2])> {
        let (corners, side) = match way {
            Edge::Outline => (&self.edge, 1.0),
            Edge::Opening(i) => (&self.openings[i], -1.0),
        };
        let mut places = Vec::new();
        for piece in outline::pieces(corners) {
            let steps = (piece.length() / step).ceil().max(1.0);
            places.extend((0..=steps as u32).map(|i| {
                // A hair off the ends, where a piece has no second half.
                let share = (f64::from(i) / steps).clamp(1e-9, 1.0 - 1e-9);
                let [before, after] = piece.parted(share);
                let [[x, y], _] = after.directions();
                (before.to, [y * side, -x * side])
            }));
        }
        places
    }
}

/// One of a sheet's closed ways.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Edge {
    Outline,
    /// By its place among the openings.
    Opening(usize),
}

/// From the first to the last tie of each groove that has two.
fn grooves(buttons: &[Button], places: &[(Name, Point<Sheet>)]) -> Vec<[Point<Sheet>; 2]> {
    let mut ends: BTreeMap<i32, [Point<Sheet>; 2]> = BTreeMap::new();
    for (button, (_, at)) in buttons.iter().zip(places) {
        ends.entry(button.lattice[0]).and_modify(|ends| ends[1] = *at).or_insert([*at, *at]);
    }
    ends.into_values().filter(|[from, to]| from != to).collect()
}
