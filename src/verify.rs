//! The proof that a program does what its plan says **and nothing else**.
//!
//! The text is read back by [`crate::gcode`] and rehearsed by [`crate::sim`], which know nothing of how it
//! was written. Then every contact of tool or pen with the work is matched with one step of the plan:
//! each step exactly once, in any order, within [`SLACK`]; a contact that nobody planned is an objection,
//! and so is any fault of the rehearsal. A [`Verified`] is the only thing that can be saved, and
//! [`verify`] is the only place where one is made.

mod across;
mod cuts;
mod strokes;

pub use across::{Lapse, Part, across};

use crate::{
    gcode::Plane,
    layout::Name,
    machine::{Comments, Language, Machine, Rotation},
    plan::{Plan, Step, Um, mm, um},
    sim::{
        self, Bounds, Doubt, Fault, Move, MoveKind, PenState, Rehearsal, Ring, Setting, Turning,
        Warning, WorkSize,
    },
};
use std::{
    collections::BTreeMap,
    fmt,
    ops::{Bound, Range},
};
use strokes::{Run, Strokes, runs};

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
            if [step.from, step.to].iter().all(|p| um(p[2]) == um(self.lowest)) {
                let [from, to] = [step.from, step.to].map(|p| [p[0], p[1]]);
                let half = (distance(from, to) / 2.0 / ring.radius).min(1.0);
                self.level_turn += 2.0 * libm::asin(half);
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

/// The holes of a plan, found by place.
struct Holes {
    holes: Vec<Planned>,
    by_place: BTreeMap<[Um; 2], usize>,
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
        let by_place = holes.iter().enumerate().map(|(i, hole)| (hole.at, i)).collect();
        Holes { holes, by_place }
    }

    fn compare(&self, visits: &[Visit], objections: &mut Vec<Objection>) {
        assert_eq!(self.holes.len(), self.by_place.len(), "two holes are planned at one place");
        let mut made = vec![0; self.holes.len()];
        for visit in visits {
            let line = visit.line;
            let planned = near(&self.by_place, visit.at.map(um));
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
fn near(by_place: &BTreeMap<[Um; 2], usize>, at: [Um; 2]) -> Option<usize> {
    let from = Bound::Included([at[0] - SLACK, Um::MIN]);
    let to = Bound::Included([at[0] + SLACK, Um::MAX]);
    by_place.range((from, to)).find(|(place, _)| (place[1] - at[1]).abs() <= SLACK).map(|(_, &i)| i)
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

/// Every point that is to be passed in the air is come to, one after the other. That nothing is touched
/// there follows from all contacts being planned.
fn air(plan: &Plan, trace: &[Move], slack: Um, objections: &mut Vec<Objection>) {
    let mut moves = trace.iter().filter(|step| step.kind == MoveKind::Rapid);
    let points = plan.steps.iter().flat_map(|step| match step {
        Step::Air { points } => points.as_slice(),
        Step::Show { at, .. } => std::slice::from_ref(at),
        _ => &[],
    });
    for point in points {
        let there =
            |step: &Move| (0..2).all(|axis| (um(step.to[axis]) - point[axis]).abs() <= slack);
        if !moves.by_ref().any(there) {
            objections.push(Objection::StrokeMissing { from: point.map(mm) });
        }
    }
}
