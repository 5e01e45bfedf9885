//! Where a tool went into the work: holes told from sideways cuts.

use super::{
    Bounds, Move, MoveKind,
    ring::{Way as Chord, ring},
};
use crate::gcode::Plane;
use std::{collections::BTreeMap, f64::consts::TAU};

/// Deeper than this below Z0 is in the work, mm.
pub(super) const TOUCH: f64 = 1e-6;
/// Places nearer than this are one place, mm.
const SAME_PLACE: f64 = 1e-3;
/// A hole that is bored in more chords than this is told as a sideways cut, so that memory has an end.
const MOST_CHORDS: usize = 10_000;

/// One place where the tool was below Z0, from its going in to its going elsewhere.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Visit {
    /// In the frame of the work: of a bored hole, its middle.
    at: [f64; 2],
    /// The same and the lowest point, in the program's own coordinates.
    pub said: [f64; 3],
    /// Lowest point below Z0.
    pub lowest: f64,
    /// The radius that the tool's middle went round on, 0 if it went straight down.
    circle: f64,
    /// How far round, radians.
    turned: f64,
    /// Straight ways aside, which may turn out to be the chords of a circle.
    chords: Vec<Chord>,
    strayed: bool,
    inside: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Way {
    /// Straight down, or all the way round one circle, in arcs or in chords.
    Hole,
    Sideways,
}

impl Visit {
    pub fn way(&self) -> Way {
        // As much of the circle as was not gone round.
        let left = (TAU - self.turned) * self.circle;
        if self.strayed || left > SAME_PLACE { Way::Sideways } else { Way::Hole }
    }

    /// It is over: were its straight ways aside the chords of one circle?
    fn closed(mut self) -> Self {
        if self.chords.is_empty() || self.strayed {
            return self;
        }
        match ring(std::mem::take(&mut self.chords)).filter(|_| self.circle == 0.0) {
            Some(ring) => {
                for axis in 0..2 {
                    self.said[axis] += ring.centre[axis] - self.at[axis];
                }
                (self.at, self.circle, self.turned) = (ring.centre, ring.radius, ring.turned);
            }
            None => self.strayed = true,
        }
        self
    }
}

/// Tells visits apart while moves come in.
#[derive(Debug, Default)]
pub(super) struct Visits {
    open: Option<Visit>,
}

impl Visits {
    /// Takes one move whose lowest point is `lowest`; gives the visit that it ended, if it did.
    #[inline]
    pub fn watch(&mut self, step: &Move, lowest: f64) -> Option<Visit> {
        if step.kind == MoveKind::Dwell {
            return None;
        }
        let touches = lowest < -TOUCH && step.pen.is_none();
        let mut ended = None;
        if let Some(open) = &self.open {
            let elsewhere = distance([step.to[0], step.to[1]], open.at) > open.circle + SAME_PLACE;
            if !open.inside && (elsewhere || step.pen.is_some()) {
                ended = self.open.take().map(Visit::closed);
            }
        }
        if touches {
            self.touch(step, lowest);
        }
        ended
    }

    pub fn finish(&mut self) -> Option<Visit> {
        self.open.take().map(Visit::closed)
    }

    fn touch(&mut self, step: &Move, lowest: f64) {
        let place = [step.to[0], step.to[1]];
        let shift: [f64; 3] = std::array::from_fn(|axis| step.said[axis] - step.to[axis]);
        let visit = self.open.get_or_insert_with(|| Visit {
            at: place,
            said: [place[0] + shift[0], place[1] + shift[1], lowest + shift[2]],
            lowest,
            circle: 0.0,
            turned: 0.0,
            chords: Vec::new(),
            strayed: false,
            inside: true,
        });
        let moved = [step.from, step.to].map(|p| distance([p[0], p[1]], visit.at));
        let strays = match step.arc {
            Some(arc) if arc.plane == Plane::Xy => {
                let aside = distance(arc.centre, visit.at);
                // The first circle of a bored hole: its middle is the place.
                if visit.circle == 0.0 && (aside - arc.radius).abs() <= SAME_PLACE {
                    visit.at = arc.centre;
                    visit.circle = arc.radius;
                    visit.said[0] = arc.centre[0] + shift[0];
                    visit.said[1] = arc.centre[1] + shift[1];
                }
                visit.turned += arc.turned.abs();
                distance(arc.centre, visit.at) > SAME_PLACE
                    || arc.radius > visit.circle + SAME_PLACE
            }
            Some(_) => true,
            None => {
                let aside = moved.iter().any(|d| *d > visit.circle + SAME_PLACE);
                let room = visit.chords.len() < MOST_CHORDS;
                if aside && room && !visit.strayed {
                    visit.chords.push([step.from, step.to]);
                }
                aside && !room
            }
        };
        visit.strayed |= strays;
        if lowest < visit.lowest {
            visit.lowest = lowest;
            visit.said[2] = lowest + shift[2];
        }
        visit.inside = step.to[2] < -TOUCH;
    }
}

fn distance(a: [f64; 2], b: [f64; 2]) -> f64 {
    let [x, y] = [a[0] - b[0], a[1] - b[1]];
    (x * x + y * y).sqrt()
}

/// Collects the holes of a program from its moves.
#[derive(Debug, Default)]
pub struct Holes {
    visits: Visits,
    holes: Vec<[f64; 3]>,
    by_place: BTreeMap<[i64; 2], usize>,
}

impl Holes {
    /// Takes the next move.
    pub fn watch(&mut self, step: &Move) {
        if let Some(visit) = self.visits.watch(step, Bounds::of(step).min[2]) {
            self.note(&visit);
        }
    }

    /// Each place where a tool went below Z0 and came up again, in the order of the program: x, y and
    /// lowest z in the program's coordinates, mm. Pecks at one place, and second visits, are one hole.
    pub fn found(mut self) -> Vec<[f64; 3]> {
        if let Some(visit) = self.visits.finish() {
            self.note(&visit);
        }
        self.holes
    }

    fn note(&mut self, visit: &Visit) {
        if visit.way() == Way::Sideways {
            return;
        }
        let place = visit.at.map(|mm| (mm / SAME_PLACE).round() as i64);
        let holes = &mut self.holes;
        let index = *self.by_place.entry(place).or_insert_with(|| {
            holes.push(visit.said);
            holes.len() - 1
        });
        holes[index][2] = holes[index][2].min(visit.said[2]);
    }
}
