//! Sums over a whole program: times, ways, bounds, counts.

use super::{
    Move, MoveKind, PenState, Turning,
    contact::{TOUCH, Visit, Visits, Way},
    timing::{Chain, Leg, Ride, joint_squared},
};
use crate::{
    gcode::{PathMode, Plane},
    machine::{Machine, Motion},
};

/// Seconds, by what they are spent on.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Times {
    pub rapid: f64,
    /// Moves with a feed, but for those straight down.
    pub feed: f64,
    /// Feeding straight down.
    pub plunge: f64,
    /// Waits for nothing else of this list.
    pub dwell: f64,
    /// The spindle coming up to speed, whether the program waits for it or not.
    pub spin_up: f64,
    /// The pen settling, whether the program waits for it or not.
    pub pen_settle: f64,
    /// As long as the machine file says for each change.
    pub tool_change: f64,
}

impl Times {
    pub fn total(&self) -> f64 {
        let Times { rapid, feed, plunge, dwell, spin_up, pen_settle, tool_change } = self;
        rapid + feed + plunge + dwell + spin_up + pen_settle + tool_change
    }
}

/// Least and greatest of each axis, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds {
    pub min: [f64; 3],
    pub max: [f64; 3],
}

impl Bounds {
    /// What the tip of the tool reaches on one move.
    #[inline]
    pub fn of(step: &Move) -> Self {
        let mut min: [f64; 3] = std::array::from_fn(|axis| step.from[axis].min(step.to[axis]));
        let mut max: [f64; 3] = std::array::from_fn(|axis| step.from[axis].max(step.to[axis]));
        if let Some(arc) = &step.arc {
            arc.widen(step.from, &mut min, &mut max);
        }
        Bounds { min, max }
    }
}

/// What the machine has still to wait for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Owed {
    SpinUp,
    Settle,
}

/// Times every move and adds it all up.
pub(super) struct Clock<W> {
    motion: Limits,
    cornering: f64,
    chain: Chain<Move>,
    /// Direction and acceleration at the end of the last move of the chain.
    leaving: ([f64; 3], f64),
    owed: Option<(Owed, f64)>,
    pub sums: Sums,
    watch: W,
}

/// The spindle on its way to speed, as if nobody but the program waited for it.
#[derive(Debug, Default)]
struct Warming {
    /// Seconds that it still takes.
    left: f64,
    early: Option<Early>,
}

/// The first cut since the spindle was started begins before it is at speed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Early {
    pub line: u64,
    pub seconds: f64,
}

/// Less than this is nothing, s.
const AT_ONCE: f64 = 1e-6;

/// Axis limits, mm/s and mm/s².
struct Limits {
    speed: [f64; 3],
    acceleration: [f64; 3],
}

/// What has been added up so far.
#[derive(Debug)]
pub(super) struct Sums {
    pub time: Times,
    pub bounds: Option<Bounds>,
    pub depths: Option<[f64; 2]>,
    pub holes: u64,
    pub cuts: u64,
    pub strokes: u64,
    pub rapid_mm: f64,
    pub feed_mm: f64,
    visits: Visits,
    pen: PenState,
    warming: Warming,
}

/// Along its path: what a move is to the clock.
struct Course {
    leg: Leg,
    entering: [f64; 3],
    leaving: [f64; 3],
}

impl<W: FnMut(&Move)> Clock<W> {
    pub fn new(machine: &Machine, watch: W) -> Self {
        let Motion { rapid, acceleration, cornering, .. } = machine.motion;
        Clock {
            motion: Limits { speed: rapid.map(|v| v / 60.0), acceleration },
            cornering,
            chain: Chain::default(),
            leaving: ([0.0; 3], 0.0),
            owed: None,
            sums: Sums {
                time: Times::default(),
                bounds: None,
                depths: None,
                holes: 0,
                cuts: 0,
                strokes: 0,
                rapid_mm: 0.0,
                feed_mm: 0.0,
                visits: Visits::default(),
                pen: PenState::Up,
                warming: Warming::default(),
            },
            watch,
        }
    }

    /// Takes a move. `extent` is what it reaches.
    pub fn take(&mut self, mut step: Move, extent: &Bounds, path: PathMode) {
        self.sums.see(&step, extent);
        if step.kind == MoveKind::Dwell {
            self.rest();
            self.dwell(step.seconds);
            (self.watch)(&step);
            return;
        }
        self.pay();
        let Course { leg, mut entering, mut leaving } = self.motion.course(&step);
        if step.kind == MoveKind::Rapid {
            self.rest();
            step.seconds = leg.seconds(0.0, 0.0);
            self.sums.warming.left -= step.seconds;
            self.sums.time.rapid += step.seconds;
            self.sums.rapid_mm += leg.length;
            (self.watch)(&step);
            return;
        }
        self.sums.feed_mm += leg.length;
        let (before, acceleration) = self.leaving;
        if leg.length == 0.0 {
            // It has no direction of its own, and must not make a corner.
            (entering, leaving) = (before, before);
        }
        let cornering = if path == PathMode::Blended { self.cornering } else { 0.0 };
        let joint = if self.chain.is_empty() {
            0.0
        } else {
            joint_squared(before, entering, acceleration.min(leg.acceleration), cornering)
        };
        self.leaving = (leaving, leg.acceleration);
        let (sums, watch) = (&mut self.sums, &mut self.watch);
        self.chain.push(leg, joint, step, |step, ride| watch(&sums.fed(step, ride)));
        if path == PathMode::ExactStop {
            self.rest();
        }
    }

    /// The machine comes to a stop.
    pub fn rest(&mut self) {
        if self.chain.is_empty() {
            return;
        }
        let (sums, watch) = (&mut self.sums, &mut self.watch);
        self.chain.rest(|step, ride| watch(&sums.fed(step, ride)));
    }

    /// Something takes `seconds` from here on; a wait in the program counts towards it.
    pub fn owe(&mut self, what: Owed, seconds: f64) {
        self.rest();
        self.pay();
        self.owed = Some((what, seconds));
        if what == Owed::SpinUp {
            self.sums.warming.left = seconds;
        }
    }

    /// A cut that came before the spindle was at speed, once it is certain and once only. It may belong to an
    /// earlier line than the last, since times are certain only some moves later.
    #[inline]
    pub fn early(&mut self) -> Option<Early> {
        self.sums.warming.early.take()
    }

    /// Is what was owed last not waited for yet?
    pub fn owes(&self, what: Owed) -> bool {
        self.owed.is_some_and(|(owed, seconds)| owed == what && seconds > 1e-9)
    }

    pub fn change_tool(&mut self, seconds: f64) {
        self.rest();
        self.sums.time.tool_change += seconds;
    }

    pub fn finish(mut self) -> Sums {
        self.rest();
        self.pay();
        if let Some(visit) = self.sums.visits.finish() {
            self.sums.visited(&visit);
        }
        self.sums
    }

    fn dwell(&mut self, seconds: f64) {
        self.sums.warming.left -= seconds;
        let mut rest = seconds;
        if let Some((what, owed)) = &mut self.owed {
            let part = owed.min(rest);
            (*owed, rest) = (*owed - part, rest - part);
            *self.sums.time.account(*what) += part;
        }
        self.sums.time.dwell += rest;
    }

    #[inline]
    fn pay(&mut self) {
        if let Some((what, seconds)) = self.owed.take() {
            *self.sums.time.account(what) += seconds;
        }
    }
}

impl Times {
    fn account(&mut self, owed: Owed) -> &mut f64 {
        match owed {
            Owed::SpinUp => &mut self.spin_up,
            Owed::Settle => &mut self.pen_settle,
        }
    }
}

/// How much of a move into the work lies above it, 0 to 1. Nothing of an upright arc is counted on.
fn in_the_air(step: &Move) -> f64 {
    let [from, to] = [step.from[2], step.to[2]];
    let level = step.arc.is_none_or(|arc| arc.plane == Plane::Xy);
    if level && to < 0.0 && from > 0.0 { from / (from - to) } else { 0.0 }
}

impl Limits {
    /// Straight: `v = min v_i·L/|d_i|` and the same for the acceleration. Round: the slower axis of the
    /// plane counts all the way, and the speed stays below sqrt(a·r).
    #[inline]
    fn course(&self, step: &Move) -> Course {
        let d: [f64; 3] = std::array::from_fn(|axis| step.to[axis] - step.from[axis]);
        let feed = if step.kind == MoveKind::Rapid { f64::INFINITY } else { step.feed / 60.0 };
        let Some(arc) = &step.arc else {
            let length = (d[0] * d[0] + d[1] * d[1] + d[2] * d[2]).sqrt();
            if length == 0.0 {
                let leg = Leg {
                    length,
                    speed: feed.min(self.speed[0]),
                    acceleration: self.acceleration[0],
                };
                return Course { leg, entering: [0.0; 3], leaving: [0.0; 3] };
            }
            let way = d.map(|d| d / length);
            let (mut speed, mut acceleration) = (feed, f64::INFINITY);
            for (axis, along) in way.iter().enumerate() {
                let share = along.abs();
                if share > 0.0 {
                    speed = speed.min(self.speed[axis] / share);
                    acceleration = acceleration.min(self.acceleration[axis] / share);
                }
            }
            return Course {
                leg: Leg { length, speed, acceleration },
                entering: way,
                leaving: way,
            };
        };
        let [a, b, c] = arc.plane.axes();
        let round = arc.length();
        let length = (round * round + d[c] * d[c]).sqrt();
        let (flat, rise) = (round / length, d[c] / length);
        let mut speed = feed.min(self.speed[a].min(self.speed[b]) / flat);
        let mut acceleration = self.acceleration[a].min(self.acceleration[b]) / flat;
        if rise != 0.0 {
            speed = speed.min(self.speed[c] / rise.abs());
            acceleration = acceleration.min(self.acceleration[c] / rise.abs());
        }
        speed = speed.min((acceleration * arc.radius).sqrt());
        let [entering, leaving] = arc.tangents(step.from).map(|way| {
            let mut whole = [0.0; 3];
            (whole[a], whole[b], whole[c]) = (way[0] * flat, way[1] * flat, rise);
            whole
        });
        Course { leg: Leg { length, speed, acceleration }, entering, leaving }
    }
}

impl Sums {
    /// A move with a feed, whose time is now certain.
    fn fed(&mut self, mut step: Move, ride: Ride) -> Move {
        step.seconds = ride.seconds();
        if step.is_plunge() {
            self.time.plunge += step.seconds;
        } else {
            self.time.feed += step.seconds;
        }
        if self.warming.left > AT_ONCE {
            self.warm(&step, ride);
        }
        step
    }

    #[cold]
    fn warm(&mut self, step: &Move, ride: Ride) {
        let cuts = step.pen.is_none() && step.turning != Turning::Stopped;
        if cuts && Bounds::of(step).min[2] < -TOUCH {
            let seconds = self.warming.left - ride.seconds_to(in_the_air(step) * ride.leg.length);
            if seconds > AT_ONCE {
                self.warming.early = Some(Early { line: step.line, seconds });
            }
            self.warming.left = 0.0;
        }
        self.warming.left -= step.seconds;
    }

    #[inline]
    fn see(&mut self, step: &Move, extent: &Bounds) {
        let bounds = self.bounds.get_or_insert(Bounds { min: step.to, max: step.to });
        // The beginning was the end of another move, and the very first one is only supposed.
        let (min, max) = match step.arc {
            Some(_) => (extent.min, extent.max),
            None => (step.to, step.to),
        };
        for axis in 0..3 {
            bounds.min[axis] = bounds.min[axis].min(min[axis]);
            bounds.max[axis] = bounds.max[axis].max(max[axis]);
        }
        if let Some(visit) = self.visits.watch(step, extent.min[2]) {
            self.visited(&visit);
        }
        let pen = step.pen.unwrap_or(PenState::Up);
        self.strokes += u64::from(pen == PenState::Down && self.pen == PenState::Up);
        self.pen = pen;
    }

    fn visited(&mut self, visit: &Visit) {
        if visit.way() == Way::Sideways {
            self.cuts += 1;
            return;
        }
        self.holes += 1;
        let depth = -visit.lowest;
        let [least, greatest] = self.depths.unwrap_or([depth; 2]);
        self.depths = Some([least.min(depth), greatest.max(depth)]);
    }
}
