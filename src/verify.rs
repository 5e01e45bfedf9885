//! The proof that a program does what its plan says **and nothing else**.
//!
//! The text is read back by [`crate::gcode`] and rehearsed by [`crate::sim`], which know nothing of how it
//! was written. Then every contact of tool or pen with the work is matched with one step of the plan:
//! each step exactly once, in any order, within [`SLACK`]; a contact that nobody planned is an objection,
//! and so is any fault of the rehearsal. A [`Verified`] is the only thing that can be saved, and
//! [`verify`] is the only place where one is made.

mod across;
mod cover;
mod cuts;
mod objection;
mod strokes;
mod whole;

pub use across::{Lapse, Part, across};
pub use cover::across_cover;
pub use objection::Objection;

use crate::{
    gcode::Plane,
    layout::Name,
    machine::{Comments, Language, Machine, Rotation},
    plan::{Plan, Step, Um, mm, um},
    sim::{
        self, Bounds, Doubt, Move, MoveKind, PenState, Rehearsal, Ring, Setting, Turning, WorkSize,
    },
};
use std::{
    collections::BTreeMap,
    ops::{Bound, Range},
};
use strokes::{Strokes, air, runs};

/// How far a hole or a line may be from its plan, µm.
pub const SLACK: Um = 5;

/// The same for a plotter whose unit is 25 µm.
const PLOTTER_SLACK: Um = 13;

/// A program that was read back and found to be its plan.
#[derive(Debug, Clone)]
pub struct Verified {
    text: String,
    rehearsal: Rehearsal,
    trace: Vec<Move>,
}

impl Verified {
    /// The very bytes that were read back.
    pub fn text(&self) -> &str {
        &self.text
    }

    pub fn rehearsal(&self) -> &Rehearsal {
        &self.rehearsal
    }

    /// Every move, for pictures.
    pub fn trace(&self) -> &[Move] {
        &self.trace
    }
}

/// Reads `text` back and holds it against `plan`. All objections come back at once.
pub fn verify(text: String, plan: &Plan, machine: &Machine) -> Result<Verified, Vec<Objection>> {
    let [x, y, thickness] = plan.size.map(mm);
    let size = WorkSize { x, y, thickness, at: plan.setup.lay.corner.map(mm) };
    let setting = Setting { machine, work: Some(size) };
    let mut trace = Vec::new();
    let watch = |step: &Move| trace.push(step.clone());
    let (rehearsal, slack) = match machine.speech.writes {
        Language::Gcode => {
            let read = sim::rehearse(text.as_bytes(), &setting, watch);
            (read.expect("reading from memory does not fail"), SLACK)
        }
        Language::Hpgl => (sim::rehearse_hpgl(&text, &setting, watch), PLOTTER_SLACK),
    };
    let mut objections: Vec<Objection> =
        rehearsal.faults.iter().cloned().map(Objection::Fault).collect();
    objections.extend(
        rehearsal.warnings.iter().filter(|w| leaves_open(w.doubt)).cloned().map(Objection::Doubt),
    );
    // A controller that reads no comments is told nothing of the work.
    let silent = machine.speech.comments == Comments::None && rehearsal.stated_work.is_none();
    if rehearsal.stated_work != Some(size) && !silent {
        objections.push(Objection::WorkMisstated);
    }
    let cuts = cuts::compare(plan, &trace, machine, slack, &mut objections);
    Holes::planned(plan).compare(&visits(&trace, &cuts, machine), &mut objections);
    air(plan, &trace, slack, &mut objections);
    changes(plan, &trace, slack, &mut objections);
    Strokes::planned(plan, slack).compare(&runs(&trace), &mut objections);
    if objections.is_empty() { Ok(Verified { text, rehearsal, trace }) } else { Err(objections) }
}

/// Whether a doubt is about the program. The others are for the person at the machine.
fn leaves_open(doubt: Doubt) -> bool {
    !matches!(doubt, Doubt::TightFit | Doubt::LongDwell | Doubt::LengthNotSet | Doubt::LengthTable)
}

/// One going down into the work and coming up again to travel height.
struct Visit {
    line: u64,
    at: [f64; 2],
    lowest: f64,
    tool: Option<u32>,
    turning: Turning,
    /// The circle that the tool went round on, or `None` if it went straight down.
    circle: Option<Um>,
    /// The most that it went down in one turn, mm; without end if it did so without turning.
    per_turn: f64,
    /// How far round it went at the lowest point, radians.
    level_turn: f64,
    /// The most that it went down before it came out of the hole with the chips, mm.
    bite: f64,
    /// The lowest point when it last was out of the hole.
    cleared: f64,
    /// Neither straight down nor round one circle.
    strayed: bool,
}

/// All that a tool did below Z0 but for the planned cuts, one visit for each time it rose to the safe height in
/// between.
fn visits(trace: &[Move], cuts: &[Range<usize>], machine: &Machine) -> Vec<Visit> {
    let mut visits = Vec::new();
    let mut open: Option<Visit> = None;
    for (i, (step, ring)) in trace.iter().zip(sim::rings(trace)).enumerate() {
        let planned = || cuts.iter().any(|cut| cut.contains(&i));
        if touches(step) && !planned() {
            let visit = open.get_or_insert_with(|| Visit {
                line: step.line,
                at: ring.map_or_else(|| centre(step), |ring| ring.centre),
                lowest: 0.0,
                tool: step.tool,
                turning: step.turning,
                circle: None,
                per_turn: 0.0,
                level_turn: 0.0,
                bite: 0.0,
                cleared: 0.0,
                strayed: false,
            });
            let chord_error = machine.speech.chord_error + mm(SLACK);
            let ring = ring.filter(|ring| !machine.speech.arcs && ring.chord_error <= chord_error);
            visit.take(step, ring);
        }
        if step.to[2] >= machine.motion.safe_height {
            visits.extend(open.take());
        }
    }
    visits.extend(open);
    visits
}

/// Whether a tool is in the work.
fn touches(step: &Move) -> bool {
    step.pen != Some(PenState::Down) && Bounds::of(step).min[2] < 0.0
}

fn centre(step: &Move) -> [f64; 2] {
    step.arc.as_ref().map_or([step.to[0], step.to[1]], |arc| arc.centre)
}

impl Visit {
    fn take(&mut self, step: &Move, ring: Option<Ring>) {
        let before = self.lowest;
        self.lowest = before.min(Bounds::of(step).min[2]);
        if um(self.lowest) < um(before) {
            self.level_turn = 0.0;
        }
        self.bite = self.bite.max(self.cleared - self.lowest);
        if step.tool != self.tool || step.turning != self.turning {
            self.strayed = true;
        }
        let sideways = [step.from, step.to].map(|p| distance([p[0], p[1]], self.at));
        let far = um(sideways[0].max(sideways[1]));
        if let Some(ring) = ring {
            self.circle = Some(um(ring.radius));
            self.per_turn = self.per_turn.max(ring.per_turn);
            let [from, to] = [step.from, step.to].map(|p| [p[0], p[1]]);
            // The way out to the middle is no part of the turn.
            let round = distance(to, ring.centre) > ring.radius / 2.0;
            if round && [step.from, step.to].iter().all(|p| um(p[2]) == um(self.lowest)) {
                self.level_turn += ring.turn(from, to);
            }
        }
        match (&step.arc, step.kind) {
            (Some(arc), _) => {
                let radius = um(arc.radius);
                let circle = *self.circle.get_or_insert(radius);
                let turns = arc.turned.abs() / std::f64::consts::TAU;
                self.per_turn = self.per_turn.max((step.from[2] - step.to[2]) / turns);
                if [step.from, step.to].iter().all(|p| um(p[2]) == um(self.lowest)) {
                    self.level_turn += arc.turned.abs();
                }
                let same_centre = um(distance(arc.centre, self.at)) <= SLACK;
                let level = arc.plane == Plane::Xy;
                self.strayed |= !level || !same_centre || (radius - circle).abs() > SLACK;
            }
            (None, MoveKind::Dwell) => {}
            // Straight moves stay within the circle already cut, and go no deeper.
            (None, _) => {
                self.strayed |= far > self.circle.unwrap_or(0) + SLACK;
                if ring.is_none() && self.circle.is_some() && um(self.lowest) < um(before) {
                    self.per_turn = f64::INFINITY;
                }
            }
        }
        if step.to[2] >= 0.0 {
            self.cleared = self.lowest;
        }
    }
}

fn distance(a: [f64; 2], b: [f64; 2]) -> f64 {
    let [x, y] = [a[0] - b[0], a[1] - b[1]];
    (x * x + y * y).sqrt()
}

/// What is done to the holes of a plan, found by place.
struct Holes {
    holes: Vec<Planned>,
    /// Which of them at each place, in turn: several bits may go into one hole.
    by_place: BTreeMap<[Um; 2], Vec<usize>>,
}

struct Planned {
    name: Name,
    at: [Um; 2],
    depth: Um,
    how: How,
    tool: u32,
    turning: Turning,
}

enum How {
    /// Straight down, with the most that it goes down in one bite.
    Drilled { peck: Um },
    /// Round on a circle of this radius, with the most that it goes down in one turn.
    Bored { circle: Um, per_turn: Um },
}

impl Holes {
    fn planned(plan: &Plan) -> Self {
        let mut fitted = None;
        let mut holes = Vec::new();
        for step in &plan.steps {
            let (name, at, depth, how) = match step {
                Step::Fit { tool, turn, .. } => {
                    fitted = Some((*tool, *turn));
                    continue;
                }
                &Step::Drill { name, at, depth, peck } => (name, at, depth, How::Drilled { peck }),
                &Step::Bore { name, at, depth, circle, per_turn } => {
                    (name, at, depth, How::Bored { circle, per_turn })
                }
                _ => continue,
            };
            let (tool, turn) = fitted.expect("a plan fits a tool before it drills");
            let turning = match turn {
                Rotation::Forward => Turning::Forward,
                Rotation::Reverse => Turning::Reverse,
            };
            holes.push(Planned { name, at, depth, how, tool, turning });
        }
        let mut by_place: BTreeMap<[Um; 2], Vec<usize>> = BTreeMap::new();
        for (i, hole) in holes.iter().enumerate() {
            let here = by_place.entry(hole.at).or_default();
            let twice = here.iter().any(|&other: &usize| holes[other].tool == hole.tool);
            assert!(!twice, "one tool is planned twice at one place");
            here.push(i);
        }
        Holes { holes, by_place }
    }

    /// What was planned for a visit: of all that is done at its place, what its tool does; where none does
    /// anything there, what comes next.
    fn meant(&self, visit: &Visit, made: &[u32]) -> Option<usize> {
        let here = near(&self.by_place, visit.at.map(um))?;
        let of_tool = here.iter().find(|&&i| Some(self.holes[i].tool) == visit.tool);
        let next = || here.iter().find(|&&i| made[i] == 0);
        of_tool.or_else(next).or(here.first()).copied()
    }

    /// Is something to be done first at the place of this hole that is not done yet?
    fn is_early(&self, i: usize, made: &[u32]) -> bool {
        let mut before = self.by_place[&self.holes[i].at].iter().take_while(|&&other| other != i);
        before.any(|&other| made[other] == 0)
    }

    fn compare(&self, visits: &[Visit], objections: &mut Vec<Objection>) {
        let mut made = vec![0; self.holes.len()];
        for visit in visits {
            let line = visit.line;
            let planned = self.meant(visit, &made);
            let hole = planned.map(|i| (i, &self.holes[i])).filter(|(_, hole)| visit.fits(hole));
            let Some((i, hole)) = hole else {
                objections.push(Objection::UnplannedContact { line, at: visit.at });
                continue;
            };
            let name = hole.name;
            made[i] += 1;
            if made[i] > 1 {
                objections.push(Objection::HoleDoubled { name, line });
            }
            if self.is_early(i, &made) {
                objections.push(Objection::HoleOutOfTurn { name, line });
            }
            if (um(-visit.lowest) - hole.depth).abs() > SLACK {
                objections.push(Objection::HoleDepth {
                    name,
                    line,
                    planned: mm(hole.depth),
                    found: -visit.lowest,
                });
            }
            if visit.is_steep(hole) {
                objections.push(Objection::HoleSteep { name, line });
            }
            if visit.is_unround(hole) {
                objections.push(Objection::HoleUnround { name, line });
            }
            if visit.tool != Some(hole.tool) {
                objections.push(Objection::HoleTool { name, line });
            }
            if visit.turning != hole.turning {
                objections.push(Objection::HoleTurning { name, line });
            }
        }
        let missing = self.holes.iter().zip(&made).filter(|&(_, &made)| made == 0);
        objections.extend(missing.map(|(hole, _)| Objection::HoleMissing { name: hole.name }));
    }
}

impl Visit {
    fn fits(&self, hole: &Planned) -> bool {
        let same_circle = match (self.circle, &hole.how) {
            (None, How::Drilled { .. }) => true,
            (Some(found), How::Bored { circle, .. }) => (found - circle).abs() <= SLACK,
            _ => false,
        };
        same_circle && !self.strayed
    }

    fn is_steep(&self, hole: &Planned) -> bool {
        let (found, most) = match hole.how {
            How::Drilled { peck } => (self.bite, peck),
            How::Bored { per_turn, .. } => (self.per_turn, per_turn),
        };
        found > mm(most + SLACK)
    }

    fn is_unround(&self, hole: &Planned) -> bool {
        let How::Bored { circle, .. } = hole.how else { return false };
        let left = (std::f64::consts::TAU - self.level_turn) * mm(circle);
        left > mm(SLACK)
    }
}

/// What stands within [`SLACK`] of a place.
fn near<T>(by_place: &BTreeMap<[Um; 2], T>, at: [Um; 2]) -> Option<&T> {
    let from = Bound::Included([at[0] - SLACK, Um::MIN]);
    let to = Bound::Included([at[0] + SLACK, Um::MAX]);
    by_place.range((from, to)).find(|(place, _)| (place[1] - at[1]).abs() <= SLACK).map(|(_, i)| i)
}

/// Every tool but the first, which a person fits before the start, is fitted at the place for it.
fn changes(plan: &Plan, trace: &[Move], slack: Um, objections: &mut Vec<Objection>) {
    for pair in trace.windows(2) {
        let [before, after] = [&pair[0], &pair[1]];
        let at = [before.to[0], before.to[1]];
        let there = (0..2).all(|axis| (um(at[axis]) - plan.change_at[axis]).abs() <= slack);
        if before.tool.is_some() && after.tool != before.tool && !there {
            objections.push(Objection::ChangedElsewhere { line: after.line, at });
        }
    }
}
