//! The watch on every move: the bed, the work, clamps, and what is in the spindle.

mod cutting;
mod room;

use super::{
    Bounds, DangerRule as Danger, Doubt, Move, MoveKind, PenState, Setting, Turning, WorkSize,
    contact::TOUCH, pen, report::Report,
};
use crate::{
    machine::{Lift, Machine, Pen, Rotation, Tool},
    words::decimal,
};

/// Lengths that differ by less are the same, mm.
const SAME: f64 = 1e-6;
/// The pen counts as down up to this far above its `down`, mm.
const PEN_DOWN: f64 = 0.01;
/// How far below its `down` a pen may be pressed, mm.
const PEN_PRESSED: f64 = 0.01;
/// A tool may turn this much faster than its file says.
const FASTER: f64 = 1.1;
/// Or this much slower.
const SLOWER: f64 = 0.75;
/// A tool may be fed, and a pen drawn, this much faster than the file says.
const FED: f64 = 1.01;
/// Passing by nearer than this is worth a look, mm.
const TIGHT: f64 = 1.0;
/// Arcs are held against clamps in chords no farther from them than this, mm.
const CHORD: f64 = 0.02;

/// What is known of the machine at one moment, and the rules that hold for its next move.
pub(super) struct Guard<'a> {
    machine: &'a Machine,
    pub work: Option<WorkSize>,
    /// Bed limits in the frame of the work: X and Y.
    low: [f64; 2],
    high: [f64; 2],
    clamps: Vec<Clamp>,
    pub words: pen::Words,
    /// What the program last did to a pen that is moved by words.
    worded: PenState,
    pub fitted: Option<u32>,
    tool: Option<&'a Tool>,
    called: Option<u32>,
    pub turning: Turning,
    pub rpm: f64,
    pub length_offset: Option<u32>,
    changed_before: Changed,
    /// Has the program stated a height yet, or where a pen is that words move?
    pub height: Height,
    /// How deep the present tool has cut at the very place where it is.
    bottom: Option<f64>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Height {
    Unknown,
    Known,
}

/// Was another tool in the spindle before the present one?
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Changed {
    NotYet,
    Yes,
}

/// A box on the bed, in the frame of the work.
struct Clamp {
    x: [f64; 2],
    y: [f64; 2],
    top: f64,
}

impl<'a> Guard<'a> {
    pub fn new(setting: &Setting<'a>, words: pen::Words) -> Self {
        let machine = setting.machine;
        let [x, y] = machine.bed.work_at;
        let clamps = machine.keep_clear.iter().map(|clamp| Clamp {
            x: clamp.x.map(|place| place - x),
            y: clamp.y.map(|place| place - y),
            top: clamp.height,
        });
        Guard {
            machine,
            work: setting.work,
            low: [-x, -y],
            high: [machine.bed.x - x, machine.bed.y - y],
            clamps: clamps.collect(),
            height: Height::Unknown,
            words,
            worded: PenState::Up,
            fitted: None,
            tool: None,
            called: None,
            turning: Turning::Stopped,
            rpm: 0.0,
            length_offset: None,
            changed_before: Changed::NotYet,
            bottom: None,
        }
    }

    fn thickness(&self) -> f64 {
        self.work.map_or(0.0, |work| work.thickness)
    }

    /// The pen, where one is at work: no tool fitted and nothing turning.
    pub fn pen(&self) -> Option<&'a Pen> {
        let pen = self.machine.pen.as_ref()?;
        (self.fitted.is_none() && self.turning == Turning::Stopped).then_some(pen)
    }

    /// Where the pen is at the end of a move, or all along it if it goes sideways.
    pub fn pen_on(&self, step: &Move) -> Option<PenState> {
        let pen = self.pen()?;
        Some(match pen.lift {
            Lift::Words { .. } => self.worded,
            Lift::Height { down, .. } => {
                let lowest = if sideways(step) { Bounds::of(step).min[2] } else { step.to[2] };
                if lowest <= down + PEN_DOWN { PenState::Down } else { PenState::Up }
            }
        })
    }

    /// Where the pen is now.
    pub fn pen_now(&self, at: [f64; 3]) -> Option<PenState> {
        let pen = self.pen()?;
        Some(match pen.lift {
            Lift::Words { .. } => self.worded,
            Lift::Height { down, .. } if at[2] <= down + PEN_DOWN => PenState::Down,
            Lift::Height { .. } => PenState::Up,
        })
    }

    /// The program moved the pen by words. Says whether that changed anything.
    pub fn word_pen(&mut self, to: PenState) -> bool {
        std::mem::replace(&mut self.worded, to) != to
    }

    pub fn call_tool(&mut self, number: u32, line: u64, report: &mut Report) {
        self.called = Some(number);
        // T0 is no tool: the spindle is emptied.
        if number != 0 && self.machine.tools.iter().all(|tool| tool.number != number) {
            report.danger(Danger::UnknownTool, line, || {
                format!("tool {number} is not in the file of `{}`", self.machine.name)
            });
        }
    }

    pub fn called(&self) -> Option<u32> {
        self.called.filter(|called| self.fitted.unwrap_or(0) != *called)
    }

    /// The tool that was called is fitted. Says which.
    pub fn change_tool(&mut self, at: [f64; 3], line: u64, report: &mut Report) -> Option<u32> {
        if self.called.is_none() {
            report
                .danger(Danger::NoTool, line, || "a tool change, and no T says which tool".into());
        }
        let safe = self.machine.motion.safe_height;
        if self.height == Height::Known && at[2] < safe - SAME {
            report.danger(Danger::ToolChangeLow, line, || {
                format!("the tool is changed at Z{}, below the safe height of {safe} mm", mm(at[2]))
            });
        }
        let fitted = self.called.filter(|called| *called != 0);
        if self.fitted.is_some() && fitted != self.fitted {
            self.changed_before = Changed::Yes;
        }
        self.fitted = fitted;
        self.tool = self.machine.tools.iter().find(|tool| Some(tool.number) == self.fitted);
        self.bottom = None;
        self.fitted
    }

    /// M3, M4. Gives the seconds that the spindle takes to come up.
    pub fn turn(&mut self, turning: Turning, line: u64, report: &mut Report) -> f64 {
        let before = std::mem::replace(&mut self.turning, turning);
        if turning == Turning::Stopped {
            return 0.0;
        }
        let Some(spindle) = &self.machine.spindle else {
            report.danger(Danger::NoSpindle, line, || {
                format!("`{}` has no spindle to turn", self.machine.name)
            });
            return 0.0;
        };
        if turning == Turning::Reverse && !spindle.reverse {
            report.danger(Danger::CannotReverse, line, || {
                format!("the spindle of `{}` cannot turn in reverse", self.machine.name)
            });
        }
        if self.rpm == 0.0 {
            report.danger(Danger::NoSpeed, line, || {
                "the spindle is started with no speed".to_string()
            });
        }
        if before == turning { 0.0 } else { spindle.spin_up }
    }

    /// S, as it stands after the line.
    pub fn check_speed(&self, line: u64, report: &mut Report) {
        let Some(spindle) = &self.machine.spindle else { return };
        if self.rpm > 0.0 && !(spindle.rpm_min..=spindle.rpm_max).contains(&self.rpm) {
            report.danger(Danger::SpeedBeyondSpindle, line, || {
                format!(
                    "S{} and the spindle turns from {} to {} rpm",
                    mm(self.rpm),
                    mm(spindle.rpm_min),
                    mm(spindle.rpm_max)
                )
            });
        }
    }

    /// Holds one move against every rule that speaks of moves.
    #[inline]
    pub fn check(&mut self, step: &Move, extent: &Bounds, report: &mut Report) {
        self.check_travel(step, extent, report);
        self.check_length(step, report);
        if step.kind == MoveKind::Rapid {
            self.check_rapid(step, extent, report);
        } else {
            self.check_feed(step, report);
        }
        // Where the height is not known yet, nobody can say what it stands beside.
        if !self.clamps.is_empty() && self.height == Height::Known {
            self.check_clamps(step, extent, report);
        }
        if extent.min[2] < TOUCH {
            self.check_holder(step, extent, report);
        }
        match step.pen {
            Some(PenState::Down) => self.check_stroke(step, extent, report),
            Some(PenState::Up) => {}
            None if step.kind != MoveKind::Rapid && extent.min[2] < -TOUCH => {
                self.check_cut(step, extent, report);
            }
            None => {}
        }
        self.check_pen_turning(step, extent, report);
        self.remember_bottom(step, extent);
    }

    fn check_feed(&self, step: &Move, report: &mut Report) {
        let rapid = self.machine.motion.rapid;
        let slowest = rapid[0].min(rapid[1]).min(rapid[2]);
        if step.feed <= slowest {
            return;
        }
        let mut d: [f64; 3] = std::array::from_fn(|axis| (step.to[axis] - step.from[axis]).abs());
        let mut limit = rapid;
        if let Some(arc) = &step.arc {
            // Somewhere on the way round, all of it is along the one axis or the other.
            let [a, b, _] = arc.plane.axes();
            (d[a], d[b]) = (arc.length(), 0.0);
            limit[a] = rapid[a].min(rapid[b]);
        }
        let length = (d[0] * d[0] + d[1] * d[1] + d[2] * d[2]).sqrt();
        let mut most = f64::INFINITY;
        for axis in 0..3 {
            if d[axis] > 0.0 {
                most = most.min(limit[axis] * length / d[axis]);
            }
        }
        if step.feed > most * FED {
            report.danger(Danger::FeedBeyondMachine, step.line, || {
                format!("F{} and the machine goes {} mm/min that way", mm(step.feed), mm(most))
            });
        }
    }

    #[inline]
    fn remember_bottom(&mut self, step: &Move, extent: &Bounds) {
        if sideways(step) {
            self.bottom = None;
        }
        if step.kind != MoveKind::Rapid && step.to[2] < -TOUCH {
            let lowest = if sideways(step) { step.to[2] } else { extent.min[2] };
            self.bottom = Some(self.bottom.map_or(lowest, |bottom| bottom.min(lowest)));
        }
    }

    /// What must be so when the program ends.
    pub fn check_end(&self, at: [f64; 3], line: u64, report: &mut Report) {
        let motion = &self.machine.motion;
        if self.turning != Turning::Stopped {
            report.danger(Danger::SpindleOnAtEnd, line, || {
                "the program ends with the spindle turning".to_string()
            });
        }
        if self.pen_now(at) == Some(PenState::Down) && self.height == Height::Known {
            report.danger(Danger::PenDownAtEnd, line, || {
                "the program ends with the pen down".to_string()
            });
        } else if self.height == Height::Known && at[2] < motion.safe_height - SAME {
            report.danger(Danger::LowAtEnd, line, || {
                format!(
                    "the program ends at Z{}, below the safe height of {} mm",
                    mm(at[2]),
                    motion.safe_height
                )
            });
        }
        let park = [motion.park[0] + self.low[0], motion.park[1] + self.low[1]];
        if (0..2).any(|axis| (at[axis] - park[axis]).abs() > PEN_DOWN) {
            report.danger(Danger::NotParked, line, || {
                format!(
                    "the program ends at X{} Y{}, and the park place is X{} Y{}",
                    mm(at[0]),
                    mm(at[1]),
                    mm(park[0]),
                    mm(park[1])
                )
            });
        }
    }
}

/// Does it go anywhere but up or down?
fn sideways(step: &Move) -> bool {
    step.from[0] != step.to[0] || step.from[1] != step.to[1] || step.arc.is_some()
}

impl Move {
    /// A feed straight down.
    pub(super) fn is_plunge(&self) -> bool {
        self.kind == MoveKind::Feed && !sideways(self) && self.to[2] < self.from[2]
    }
}

fn mm(value: f64) -> String {
    decimal(value, 3)
}
