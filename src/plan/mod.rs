//! What one machine will do to one sheet: whole acts, in order, in whole micrometres.
//!
//! **The one rounding** of the project happens here. No step begins or ends below the travel height,
//! so any order of steps is safe, and none knows how a controller is spoken to.

mod bits;
mod budget;
mod cutting;
mod drawing;
mod drilling;
mod lay;
mod laying;
mod reach;
mod says;
mod setups;
mod tiling;
mod trial;
mod unit;
mod ways;

pub use budget::Footing;
pub use cutting::Thing;
pub use lay::{Lay, Turn};
pub use trial::{NoTrial, trial};

use crate::{
    diag::Diagnostic,
    job::{FoamWork, Job},
    layout::{Layout, Name, Part},
    machine::{Machine, Rotation, Work},
    route::{self, Effort},
    units::Unit,
};
use std::collections::BTreeSet;

/// Whole micrometres.
pub type Um = i64;

/// Millimetres to whole micrometres.
pub fn um(mm: f64) -> Um {
    let um = (mm * 1000.0).round();
    assert!(um.abs() < 1e12, "a length past the readers is at most 20 m");
    um as Um
}

/// Whole micrometres to millimetres.
pub fn mm(um: Um) -> f64 {
    um as f64 / 1000.0
}

/// One program's worth of work.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// What the person measures in; all lengths here are micrometres all the same.
    pub unit: Unit,
    pub work: Work,
    pub part: Part,
    /// How the sheet lies, in words for the person who lays it down.
    pub lies: &'static str,
    /// What Z0 is the top of.
    pub top: &'static str,
    pub setup: Setup,
    /// The sheet as it lies: width, height, thickness.
    pub size: [Um; 3],
    /// Where the tool starts and ends, from X0 Y0.
    pub park: [Um; 2],
    /// Where the tool is changed, from X0 Y0.
    pub change_at: [Um; 2],
    /// Where every tool is touched off on top of the work, from X0 Y0.
    pub touch_at: [Um; 2],
    /// Height above the sheet at which the tool travels.
    pub travel_height: Um,
    pub steps: Vec<Step>,
    pub travel: Travel,
}

/// One of the set-ups in which a sheet is worked, one program each.
#[derive(Debug, Clone, PartialEq)]
pub struct Setup {
    /// Counted from 1.
    pub number: u32,
    pub of: u32,
    pub lay: Lay,
    /// How far the sheet lies over the left, right, near and far side of the bed.
    pub over: [Um; 4],
    /// Where X0 Y0 is on the bed.
    pub zero: [Um; 2],
    /// What keeps a board in its place; the first set-up drills for them, the others stand on them.
    pub dowels: Option<[Dowel; 2]>,
    /// What play of the dowels could put farthest from all that the first set-up makes, and how far, mm.
    pub worst: Option<(Thing, f64)>,
    /// Why there are not fewer set-ups, in a sentence; empty where there is only one.
    pub fewest: String,
    /// How the work comes here from the set-up before, where that is to be said in words.
    pub moved: &'static str,
}

/// A dowel in the spoilboard, in a hole of the board.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dowel {
    /// The hole of the board that is drilled over it, or dropped onto it.
    pub hole: Name,
    pub at: [Um; 2],
    pub diameter: Um,
    /// How deep it stands in the spoilboard.
    pub depth: Um,
    /// How thick the board is that it holds, without what is glued on.
    pub through: Um,
}

impl Setup {
    /// The only one, the sheet's corner at X0 Y0.
    fn only(lay: Lay) -> Self {
        Setup {
            number: 1,
            of: 1,
            lay,
            over: [0; 4],
            zero: [0; 2],
            dowels: None,
            worst: None,
            fewest: String::new(),
            moved: "",
        }
    }
}

/// A whole act, begun and ended at travel height.
#[derive(Debug, Clone, PartialEq)]
pub enum Step {
    /// Have this tool in the spindle, and turn it; `feed` is for all that it does until the next is fitted, µm/min.
    Fit { tool: u32, rpm: f64, turn: Rotation, feed: Um },
    /// Straight down and up again, in pecks.
    Drill { name: Name, at: [Um; 2], depth: Um, peck: Um },
    /// Round and round on a helix: `circle` is the radius of the tool's own way.
    Bore { name: Name, at: [Um; 2], depth: Um, circle: Um, per_turn: Um },
    /// Into the work at a place of its top, along a way of lines and arcs, and up again at its end.
    Cut { what: Thing, from: [Um; 2], legs: Vec<Leg> },
    /// Pen down at the first point, up after the last.
    Stroke { points: Vec<[Um; 2]> },
    /// The tool or pen waits over a place in the air for a person.
    Show { at: [Um; 2], says: &'static str },
    /// From point to point at travel height, touching nothing.
    Air { points: Vec<[Um; 2]> },
}

/// One leg of a cut's way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Leg {
    pub to: [Um; 3],
    /// Round which centre, and which way; at most a quarter of a circle. Straight if `None`.
    pub round: Option<([Um; 2], Round)>,
}

/// Seen from above.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Round {
    Clockwise,
    Anticlockwise,
}

/// How far the machine goes between the steps, and how little it could go at the least.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Travel {
    pub mm: f64,
    /// Between the steps only.
    pub seconds: f64,
    /// No order at all takes less.
    pub seconds_bound: f64,
    /// No order at all is shorter.
    pub mm_bound: f64,
}

impl Plan {
    /// How many holes it makes or marks.
    pub fn holes(&self) -> usize {
        // A hole is marked by two lines.
        let strokes = self.steps.iter().filter(|step| matches!(step, Step::Stroke { .. })).count();
        self.drilled().len() + strokes / 2
    }

    /// Where holes are made, each once however many bits make it, from X0 Y0.
    pub fn drilled(&self) -> BTreeSet<[Um; 2]> {
        let place = |step: &Step| match step {
            Step::Drill { at, .. } | Step::Bore { at, .. } => Some(*at),
            _ => None,
        };
        self.steps.iter().filter_map(place).collect()
    }

    /// The tools in the order in which they are fitted.
    pub fn fitted(&self) -> Vec<u32> {
        let tool = |step: &Step| match step {
            Step::Fit { tool, .. } => Some(*tool),
            _ => None,
        };
        self.steps.iter().filter_map(tool).collect()
    }
}

impl Plan {
    /// Whether Z is anything to it. A pen that is lifted by words knows no height.
    pub fn has_heights(&self) -> bool {
        self.travel_height > 0
    }

    /// How many ways it is cut along: letters, openings, the outline or a part of it.
    pub fn cuts(&self) -> usize {
        let begins = self.steps.iter().map(|step| match step {
            Step::Cut { what, from, .. } => Some((what, from)),
            _ => None,
        });
        // What is cut bite by bite begins at the same place each time.
        let mut begins: Vec<_> = begins.collect();
        begins.dedup();
        begins.into_iter().flatten().count()
    }
}

impl Travel {
    /// At most this many per cent over the least possible.
    pub fn over_bound(self) -> f64 {
        if self.seconds_bound > 0.0 {
            // Sums that are alike may differ in their last bits.
            ((self.seconds / self.seconds_bound - 1.0) * 100.0).max(0.0)
        } else {
            0.0
        }
    }
}

/// Plans the programs for `work` on `machine`, one for each piece and set-up. Errors point into the job file.
pub fn plan(
    job: &Job,
    layout: &Layout,
    work: Work,
    machine: &Machine,
    effort: Effort,
) -> Result<Vec<Plan>, Vec<Diagnostic>> {
    let bench = Bench { job, machine, work, effort };
    match work {
        Work::Board => bench.drill(&layout.board),
        Work::Foam => match job.foam.work.value {
            FoamWork::Drill => bench.drill(&layout.foam),
            FoamWork::Mark => bench.mark(&layout.foam),
        },
        Work::Fabric => bench.draw(&layout.cover),
    }
}

/// What a program's steps are done on.
struct On {
    part: Part,
    lies: &'static str,
    top: &'static str,
    setup: Setup,
    /// Of all that lies under the tool, mm.
    thickness: f64,
    travel_height: Um,
}

/// What Z0 is the top of where nothing is glued on.
const OWN_TOP: &str = "its top";
/// And where the board is drilled through its foam.
const TOP_OF_FOAM: &str = "the top of the FOAM that is glued to it";

/// One work at one machine, while it is planned.
struct Bench<'a> {
    job: &'a Job,
    machine: &'a Machine,
    work: Work,
    effort: Effort,
}

impl Bench<'_> {
    /// A plan: what is alike for all works is filled in here and nowhere else.
    fn record(&self, on: On, steps: Vec<Step>, travel: Travel) -> Plan {
        let [width, height] = on.setup.lay.size();
        Plan {
            unit: self.job.unit,
            work: self.work,
            part: on.part,
            lies: on.lies,
            top: on.top,
            size: [width, height, um(on.thickness)],
            setup: on.setup,
            park: self.park().map(um),
            change_at: self.change_at(),
            touch_at: self.change_at(),
            travel_height: on.travel_height,
            steps,
            travel,
        }
    }

    /// Refuses what does not fit the bed in one set-up.
    fn fits(&self, size: [f64; 2]) -> Result<(), Vec<Diagnostic>> {
        let bed = &self.machine.bed;
        let room = [bed.x - bed.work_at[0], bed.y - bed.work_at[1]];
        let mut wrong = Vec::new();
        for (axis, word) in [(0, "wide"), (1, "high")] {
            let over = size[axis] - room[axis];
            if over > 0.0 {
                wrong.push(
                    self.at_machine(format!(
                        "the {} lies {:.1} mm {word} and there are {:.1} mm on the bed of `{}`: {over:.1} mm too much",
                        self.work, size[axis], room[axis], self.machine.name
                    ))
                    .help("name a larger machine"),
                );
            }
        }
        if wrong.is_empty() { Ok(()) } else { Err(wrong) }
    }

    /// The height to travel at over work so thick.
    fn travel_height(&self, thickness: f64) -> Result<Um, Vec<Diagnostic>> {
        let (bed, motion) = (&self.machine.bed, &self.machine.motion);
        // A clamp may stand higher than the safe height over thin work.
        let clamps = self.machine.keep_clear.iter().map(|box_| box_.height + CLEARANCE - thickness);
        let travel = self.machine.speech.at_least(clamps.fold(motion.safe_height, f64::max));
        let highest = bed.z - thickness;
        if travel <= highest {
            return Ok(um(travel));
        }
        Err(vec![
            self.at_machine(format!(
                "the {} is {thickness} mm thick, and `{}` can lift its tool only {highest:.1} mm above it: it needs {travel:.1} mm to travel safely",
                self.work, self.machine.name
            ))
            .help("name a machine with more height, or lower the clamps"),
        ])
    }

    /// Where the tool parks, seen from X0 Y0.
    fn park(&self) -> [f64; 2] {
        let (park, corner) = (self.machine.motion.park, self.machine.bed.work_at);
        [park[0] - corner[0], park[1] - corner[1]]
    }

    /// Where the tool is changed, seen from X0 Y0.
    fn change_at(&self) -> [Um; 2] {
        let (place, corner) = (self.machine.motion.change_at, self.machine.bed.work_at);
        [um(place[0] - corner[0]), um(place[1] - corner[1])]
    }

    fn cost(&self) -> route::Cost {
        let motion = &self.machine.motion;
        route::Cost::Time {
            rapid: [motion.rapid[0], motion.rapid[1]],
            acceleration: [motion.acceleration[0], motion.acceleration[1]],
        }
    }

    /// A complaint about the machine named for this work.
    fn at_machine(&self, message: String) -> Diagnostic {
        let named = self
            .job
            .on
            .machine_for(self.work)
            .expect("a plan is made for a machine that was named");
        Diagnostic::at(named.span.clone(), message)
    }
}

/// How far above a clamp the tool passes, mm.
const CLEARANCE: f64 = 5.0;
