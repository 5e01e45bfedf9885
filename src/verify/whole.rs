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
use std::f64::consts::TAU;

/// The edge is looked at every so many millimetres.
const STEP: f64 = 2.0;
/// A cutter is in a corner that it just gets into, mm.
const TIGHT: f64 = 0.005;

/// The cuts of one set-up.
pub(super) struct Cuts<'a> {
    part: &'a Part<'a>,
    /// With the radius of the tool that makes it.
    moves: Vec<(&'a Move, f64)>,
    /// How far a move may be from where it should be, mm.
    slack: f64,
}

impl<'a> Cuts<'a> {
    pub fn of(part: &'a Part<'a>) -> Self {
        let trace = part.verified.trace();
        let speech = &part.machine.speech;
        let radius = |step: &Move| {
            let tool = part.machine.tools.iter().find(|tool| Some(tool.number) == step.tool);
            tool.map_or(0.0, |tool| tool.diameter / 2.0)
        };
        let made = cuts::made(part.plan, trace, part.machine, SLACK);
        let moves = made.into_iter().flatten().map(|i| (&trace[i], radius(&trace[i]))).collect();
        // Chords may be so far from their arcs.
        let slack = GRAZE + mm(SLACK) + if speech.arcs { 0.0 } else { speech.chord_error };
        Cuts { part, moves, slack }
    }

    /// The moves that bring a tool's middle nearer than `within` to a place of the program, beyond its own radius: how
    /// near, and on which line.
    pub fn nearest(&self, at: [f64; 2]) -> Option<(f64, u64)> {
        let near = self.moves.iter().map(|(step, radius)| (foot(step, at).0 - radius, step.line));
        near.min_by(|(a, _), (b, _)| a.total_cmp(b))
    }

    /// How deep tools of this radius go whose middle passes over a place of the sheet.
    fn lowest(&self, at: [f64; 2], wide: f64) -> Option<f64> {
        let at = self.part.plan.setup.lay.place(at.map(um)).map(mm);
        let over =
            self.moves.iter().filter(|(_, radius)| *radius == wide).map(|(step, _)| foot(step, at));
        over.filter(|(away, _)| *away <= self.slack).map(|(_, z)| z).min_by(f64::total_cmp)
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
    if sheet.margin > 0.0 {
        let openings = (0..sheet.openings.len()).map(|i| ("an opening", Edge::Opening(i)));
        for (what, way) in openings.chain([("the outline", Edge::Outline)]) {
            lapses.extend(left_of_edge(sheet, what, way, all));
        }
    }
    let radii = radii(all);
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

fn radii(all: &[Cuts]) -> Vec<f64> {
    let mut radii: Vec<f64> =
        all.iter().flat_map(|cuts| cuts.moves.iter().map(|(_, r)| *r)).collect();
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
    /// No cutter gets into such a corner.
    Corner,
    Uncut,
}

/// The first place that is not cut, and tabs that are more or longer than those asked for.
fn left_of_edge(sheet: &HoleSheet, what: &'static str, way: Edge, all: &[Cuts]) -> Option<Lapse> {
    let radii = radii(all);
    let state = |at: [f64; 2], out: [f64; 2]| {
        let beside = |r: f64| [0, 1].map(|axis| at[axis] + r * out[axis]);
        let fits = |r: &&f64| sheet.inside(beside(**r)) <= TIGHT - **r;
        let mut fitting = radii.iter().filter(fits).peekable();
        if fitting.peek().is_none() && !radii.is_empty() {
            return Left::Corner;
        }
        let depths =
            fitting.flat_map(|&r| all.iter().filter_map(move |cuts| cuts.lowest(beside(r), r)));
        match depths.min_by(f64::total_cmp) {
            Some(z) if z <= mm(SLACK) - sheet.thickness => Left::Through,
            Some(z) if z <= mm(SLACK) - (sheet.thickness - sheet.tabs.height) => Left::Tab,
            _ => Left::Uncut,
        }
    };
    let edge = sheet.edge_places(way, STEP).into_iter();
    let mut places: Vec<([f64; 2], Left)> = edge.map(|(at, out)| (at, state(at, out))).collect();
    if let Some((at, _)) = places.iter().find(|(_, left)| *left == Left::Uncut) {
        return Some(Lapse::NotCut { what, at: *at });
    }
    // From a place that is no tab, so that no tab is cut in two.
    let start = places.iter().position(|(_, left)| *left != Left::Tab)?;
    places.rotate_left(start);
    let tabs = places.chunk_by(|a, b| a.1 == b.1).filter(|run| run[0].1 == Left::Tab);
    let widest = radii.last().map_or(0.0, |r| 2.0 * r);
    let mut count = 0;
    for tab in tabs {
        count += 1;
        let long: f64 = tab.windows(2).map(|pair| distance(pair[0].0, pair[1].0)).sum();
        if count > sheet.tabs.count || long > sheet.tabs.length + widest + 2.0 * STEP {
            return Some(Lapse::NotCut { what, at: tab[0].0 });
        }
    }
    None
}
