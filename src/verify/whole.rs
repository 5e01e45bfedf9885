//! The proof over all set-ups that a board is cut out: its edge all the way round but for its tabs, its openings, and the
//! words that are engraved. It is held against the layout's own outline and knows nothing of how the ways were planned.

use super::{
    SLACK,
    across::{GRAZE, Lapse, Part},
    cuts, distance,
};
use crate::{
    layout::{Edge, HoleSheet},
    plan::{mm, um},
    sim::Move,
};
use std::{f64::consts::TAU, ops::Range};

/// The edge is looked at every so many millimetres.
const STEP: f64 = 2.0;
/// So much longer or shorter a tab may seem, told by such places at both ends, mm.
const BOTH_ENDS: f64 = 2.0 * STEP;
/// A cutter is in a corner that it just gets into, mm.
const TIGHT: f64 = 0.005;
/// With fewer an outline is not left, unless fewer were asked for.
const FEWEST_TABS: u32 = 3;
/// In an inside corner wood is left no farther from the cut than this, mm; farther, a notch is not cut.
const CORNER: f64 = 10.0;

/// The cuts of one set-up.
pub(super) struct Cuts<'a> {
    part: &'a Part<'a>,
    /// With the radius of the tool that makes it.
    moves: Vec<(&'a Move, f64)>,
    /// How far a move may be from where it should be, mm.
    slack: f64,
}

impl<'a> Cuts<'a> {
    /// `made` says which moves of the trace they are.
    pub fn of(part: &'a Part<'a>, made: &[Range<usize>]) -> Self {
        let trace = part.verified.trace();
        let speech = &part.machine.speech;
        let radius = |step: &Move| {
            let tool = part.machine.tools.iter().find(|tool| Some(tool.number) == step.tool);
            tool.map_or(0.0, |tool| tool.diameter / 2.0)
        };
        let moves = made.iter().cloned().flatten();
        let moves = moves.map(|i| (&trace[i], radius(&trace[i]))).collect();
        // Chords may be so far from their arcs.
        let slack = GRAZE + mm(SLACK) + if speech.arcs { 0.0 } else { speech.chord_error };
        Cuts { part, moves, slack }
    }

    /// How near the edge of a tool comes to a place of the program, mm, and on which line.
    pub fn nearest(&self, at: [f64; 2]) -> Option<(f64, u64)> {
        let near = self.moves.iter().map(|(step, radius)| (foot(step, at).0 - radius, step.line));
        near.min_by(|(a, _), (b, _)| a.total_cmp(b))
    }

    /// Of each move of tools of this radius, how near their middle comes to a place of the sheet, and how high it is there.
    fn passing(&self, at: [f64; 2], wide: f64) -> impl Iterator<Item = (f64, f64)> {
        let at = self.part.plan.setup.lay.place(at.map(um)).map(mm);
        let of_them = self.moves.iter().filter(move |(_, radius)| *radius == wide);
        of_them.map(move |(step, _)| foot(step, at))
    }

    /// How deep tools of this radius go whose middle passes over a place of the sheet.
    fn lowest(&self, at: [f64; 2], wide: f64) -> Option<f64> {
        let over = self.passing(at, wide).filter(|(away, _)| *away <= self.slack);
        over.map(|(_, z)| z).min_by(f64::total_cmp)
    }

    /// How near tools of this radius come with their middle to a place of the sheet while they are so deep, mm.
    fn nearest_at(&self, depth: f64, at: [f64; 2], wide: f64) -> f64 {
        let deep = self.passing(at, wide).filter(|(_, z)| *z <= mm(SLACK) - depth);
        deep.map(|(away, _)| away).fold(f64::INFINITY, f64::min)
    }

    /// Radii of the tools that go right through, or no deeper.
    fn radii(&self, thickness: f64, right_through: bool) -> impl Iterator<Item = f64> {
        let deep = move |step: &Move| step.to[2] <= mm(SLACK) - thickness;
        self.moves
            .iter()
            .filter(move |(step, _)| !right_through || deep(step))
            .map(|(_, radius)| *radius)
    }
}

/// How far a place is from the nearest one of a move, seen from above, and how high the tool is there.
fn foot(step: &Move, at: [f64; 2]) -> (f64, f64) {
    let [from, to] = [step.from, step.to];
    let share = match &step.arc {
        None => {
            let way = [to[0] - from[0], to[1] - from[1]];
            let square = way[0] * way[0] + way[1] * way[1];
            let along = (at[0] - from[0]) * way[0] + (at[1] - from[1]) * way[1];
            // Straight down the lower end is meant.
            if square == 0.0 { 1.0 } else { (along / square).clamp(0.0, 1.0) }
        }
        Some(arc) => {
            let angle = |p: [f64; 2]| libm::atan2(p[1] - arc.centre[1], p[0] - arc.centre[0]);
            let sense = arc.turned.signum();
            let turned = ((angle(at) - angle([from[0], from[1]])) * sense).rem_euclid(TAU);
            let whole = arc.turned.abs();
            // Beyond its end, the nearer of both ends.
            if turned <= whole {
                turned / whole
            } else {
                f64::from(u8::from(turned < (whole + TAU) / 2.0))
            }
        }
    };
    let nearest = match &step.arc {
        None => [0, 1].map(|axis| from[axis] + share * (to[axis] - from[axis])),
        Some(arc) => cuts::at_share([from[0], from[1]], arc.centre, arc.turned, share),
    };
    (distance(nearest, at), from[2] + share * (to[2] - from[2]))
}

/// What is left uncut.
pub(super) fn left(sheet: &HoleSheet, all: &[Cuts]) -> Vec<Lapse> {
    let mut lapses = Vec::new();
    if sheet.is_cut_out() {
        let openings = (0..sheet.openings.len()).map(|i| ("an opening", Edge::Opening(i)));
        for (what, way) in openings.chain([("the outline", Edge::Outline)]) {
            lapses.extend(left_of_edge(sheet, what, way, all));
        }
    }
    let radii = radii(sheet, all, false);
    let engraved = |at: [f64; 2]| {
        let depths =
            all.iter().flat_map(|cuts| radii.iter().filter_map(|&wide| cuts.lowest(at, wide)));
        depths.min_by(f64::total_cmp).is_some_and(|z| (z + sheet.engraved_depth).abs() <= mm(SLACK))
    };
    let lines = sheet.engraved.iter().flat_map(|stroke| stroke.windows(2));
    let bare = lines.flat_map(|line| {
        let [a, b] = [[line[0].x, line[0].y], [line[1].x, line[1].y]];
        [a, [0, 1].map(|axis| (a[axis] + b[axis]) / 2.0), b]
    });
    let what = "the engraved words";
    lapses.extend(bare.into_iter().find(|at| !engraved(*at)).map(|at| Lapse::NotCut { what, at }));
    lapses
}

/// Of all tools that cut, or of those that cut right through.
fn radii(sheet: &HoleSheet, all: &[Cuts], right_through: bool) -> Vec<f64> {
    let mut radii: Vec<f64> =
        all.iter().flat_map(|cuts| cuts.radii(sheet.thickness, right_through)).collect();
    radii.sort_by(f64::total_cmp);
    radii.dedup();
    radii
}

/// How a place of the edge is left.
#[derive(Clone, Copy, PartialEq)]
enum Left {
    Through,
    /// Cut down to a tab.
    Tab,
    /// Cut lower than a tab is high, and not through.
    Low,
    /// No cutter gets into such a corner, but one comes near it.
    Corner,
    Uncut,
}

/// A place of the edge that was looked at.
struct Looked {
    at: [f64; 2],
    /// Where the tool's middle is beside it.
    tool: [f64; 2],
    left: Left,
}

/// The first place that is not cut, or that is a tab too long, too short or too low; and tabs that are not as many as
/// those asked for.
fn left_of_edge(sheet: &HoleSheet, what: &'static str, way: Edge, all: &[Cuts]) -> Option<Lapse> {
    let radii = radii(sheet, all, true);
    let tab = sheet.thickness - sheet.tabs.height;
    let state = |at: [f64; 2], out: [f64; 2]| {
        let beside = |r: f64| [0, 1].map(|axis| at[axis] + r * out[axis]);
        let fits = |r: &&f64| sheet.inside(beside(**r)) <= TIGHT - **r;
        let near = |&r: &f64| all.iter().any(|cuts| cuts.nearest_at(tab, at, r) <= r + CORNER);
        if !radii.iter().any(|r| fits(&r)) {
            return if radii.iter().any(near) { Left::Corner } else { Left::Uncut };
        }
        let depths = radii
            .iter()
            .filter(fits)
            .flat_map(|&r| all.iter().filter_map(move |cuts| cuts.lowest(beside(r), r)));
        match depths.min_by(f64::total_cmp) {
            Some(z) if z <= mm(SLACK) - sheet.thickness => Left::Through,
            Some(z) if (z + tab).abs() <= mm(SLACK) => Left::Tab,
            Some(z) if z < -tab => Left::Low,
            _ => Left::Uncut,
        }
    };
    let widest = radii.last().copied().unwrap_or(0.0);
    let place = |(at, out): ([f64; 2], [f64; 2])| Looked {
        at,
        tool: [0, 1].map(|axis| at[axis] + widest * out[axis]),
        left: state(at, out),
    };
    let mut places: Vec<Looked> = sheet.edge_places(way, STEP).into_iter().map(place).collect();
    let not_cut = |place: &Looked| Lapse::NotCut { what, at: place.at };
    if let Some(place) = places.iter().find(|place| place.left == Left::Uncut) {
        return Some(not_cut(place));
    }
    if let Some(place) = places.iter().find(|place| place.left == Left::Low) {
        return Some(Lapse::WeakTab { what, at: place.at });
    }
    // A tab may go round a corner that no cutter gets into.
    places.retain(|place| place.left != Left::Corner);
    // From a place that is no tab, so that no tab is cut in two.
    let Some(start) = places.iter().position(|place| place.left != Left::Tab) else {
        return places.first().map(not_cut);
    };
    places.rotate_left(start);
    let runs = places.chunk_by(|a, b| a.left == b.left);
    let tabs: Vec<&[Looked]> = runs.filter(|run| run[0].left == Left::Tab).collect();
    // As long as the tool's own way, which is shorter than the edge where it goes round inside a corner.
    let length =
        |tab: &[Looked]| tab.windows(2).map(|w| distance(w[0].tool, w[1].tool)).sum::<f64>();
    let longest = sheet.tabs.length + 2.0 * widest + BOTH_ENDS;
    if let Some(tab) = tabs.iter().find(|tab| length(tab) > longest) {
        return Some(not_cut(&tab[0]));
    }
    if let Some(tab) = tabs.iter().find(|tab| length(tab) < sheet.tabs.length - BOTH_ENDS) {
        return Some(Lapse::WeakTab { what, at: tab[0].at });
    }
    // A short way has room for fewer.
    let least = if way == Edge::Outline { sheet.tabs.count.min(FEWEST_TABS) } else { 0 };
    let found = tabs.len() as u32;
    let right = (least..=sheet.tabs.count).contains(&found);
    (!right).then_some(Lapse::WrongTabs { what, found, wanted: sheet.tabs.count })
}
