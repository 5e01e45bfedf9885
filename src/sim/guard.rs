//! The watch on every move: the bed, the work, clamps, and what is in the spindle.

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
/// Diameter of what holds the tool, mm: common practice, no source.
const HOLDER: f64 = 60.0;
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
    /// Has the program stated a height yet?
    pub height: Height,
    /// How deep the present tool has cut at the very place where it is.
    bottom: Option<f64>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Height {
    Unknown,
    Known,
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
            // A pen moved by words has no height to be unknown.
            height: if words.any() { Height::Known } else { Height::Unknown },
            words,
            worded: PenState::Up,
            fitted: None,
            tool: None,
            called: None,
            turning: Turning::Stopped,
            rpm: 0.0,
            length_offset: None,
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
        if self.machine.tools.iter().all(|tool| tool.number != number) {
            report.danger(Danger::UnknownTool, line, || {
                format!("tool {number} is not in the file of `{}`", self.machine.name)
            });
        }
    }

    pub fn called(&self) -> Option<u32> {
        self.called.filter(|called| self.fitted != Some(*called))
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
        self.fitted = self.called;
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
        if step.kind == MoveKind::Rapid {
            self.check_rapid(step, extent, report);
        } else {
            self.check_feed(step, report);
        }
        // Where the height is not known yet, nobody can say what it stands beside.
        if !self.clamps.is_empty() && self.height == Height::Known {
            self.check_clamps(step, extent, report);
        }
        match step.pen {
            Some(PenState::Down) => self.check_stroke(step, extent, report),
            Some(PenState::Up) => {}
            None if step.kind != MoveKind::Rapid && extent.min[2] < -TOUCH => {
                self.check_cut(step, extent, report);
            }
            None => {}
        }
        self.remember_bottom(step, extent);
    }

    #[inline]
    fn check_travel(&self, step: &Move, extent: &Bounds, report: &mut Report) {
        let Move { line, to, .. } = *step;
        for axis in 0..2 {
            // A straight move's beginning was the end of the one before.
            let (least, most) = match step.arc {
                Some(_) => (extent.min[axis], extent.max[axis]),
                None => (to[axis], to[axis]),
            };
            if least < self.low[axis] - SAME || most > self.high[axis] + SAME {
                let bed = self.high[axis] - self.low[axis];
                let place = if least < self.low[axis] { least } else { most } - self.low[axis];
                let name = ['X', 'Y'][axis];
                report.danger(Danger::OutsideBed, line, || {
                    format!(
                        "{name} {} on the bed, which runs from 0 to {}; a number without its point may have been meant smaller",
                        mm(place),
                        mm(bed)
                    )
                });
            }
        }
        let thickness = self.thickness();
        let ceiling = self.machine.bed.z - thickness;
        if to[2] > ceiling + SAME {
            report.danger(Danger::TooHigh, line, || {
                format!("Z{} and the machine reaches Z{} over this work", mm(to[2]), mm(ceiling))
            });
        }
        let floor = -(thickness + self.machine.bed.spoilboard);
        let lowest = if step.arc.is_some() { extent.min[2] } else { to[2] };
        if lowest < floor - SAME {
            report.danger(Danger::ThroughSpoilboard, line, || {
                format!("Z{} and the spoilboard ends at Z{}", mm(lowest), mm(floor))
            });
        }
    }

    #[inline]
    fn check_rapid(&self, step: &Move, extent: &Bounds, report: &mut Report) {
        let Move { line, from, to, .. } = *step;
        let low = extent.min[2];
        if sideways(step) {
            let safe = self.machine.motion.safe_height;
            if low < safe - SAME && self.height == Height::Known && self.over_work(from, to) {
                report.danger(Danger::RapidTooLow, line, || {
                    format!("G0 over the work at Z{}, below the safe height of {safe} mm", mm(low))
                });
            }
        } else if to[2] < from[2]
            && low < -TOUCH
            && self.bottom.is_none_or(|bottom| bottom > low + SAME)
        {
            report.danger(Danger::RapidIntoWork, line, || {
                format!("G0 down to Z{}, where nothing is drilled yet", mm(low))
            });
        }
    }

    /// Does a straight way pass over the work, or nearer beside it than the tool is wide?
    fn over_work(&self, from: [f64; 3], to: [f64; 3]) -> bool {
        let Some(work) = self.work else { return true };
        let grown = self.tool.map_or(0.0, |tool| tool.diameter / 2.0);
        let sides = [[0.0, work.x], [0.0, work.y]];
        distance_to_box([from[0], from[1]], [to[0], to[1]], sides) <= grown
    }

    fn check_feed(&self, step: &Move, report: &mut Report) {
        let rapid = self.machine.motion.rapid;
        let slowest = rapid[0].min(rapid[1]).min(rapid[2]);
        if step.feed <= slowest {
            return;
        }
        let d: [f64; 3] = std::array::from_fn(|axis| (step.to[axis] - step.from[axis]).abs());
        let length = (d[0] * d[0] + d[1] * d[1] + d[2] * d[2]).sqrt();
        let mut most = match &step.arc {
            Some(arc) => {
                let [a, b, _] = arc.plane.axes();
                rapid[a].min(rapid[b])
            }
            None => f64::INFINITY,
        };
        for axis in 0..3 {
            if d[axis] > 0.0 && step.arc.is_none() {
                most = most.min(rapid[axis] * length / d[axis]);
            }
        }
        if step.feed > most * FED {
            report.danger(Danger::FeedBeyondMachine, step.line, || {
                format!("F{} and the machine goes {} mm/min that way", mm(step.feed), mm(most))
            });
        }
    }

    fn check_clamps(&self, step: &Move, extent: &Bounds, report: &mut Report) {
        let pen = step.pen.and(self.machine.pen.as_ref()).map(|pen| pen.width);
        let width = pen.or(self.tool.map(|tool| tool.diameter)).unwrap_or(0.0);
        let tool = Cylinder { radius: width / 2.0, above_tip: 0.0, name: "tool" };
        let holder = self.tool.map(|tool| Cylinder {
            radius: HOLDER / 2.0,
            above_tip: tool.reach,
            name: "tool's holder",
        });
        for clamp in &self.clamps {
            let top = clamp.top - self.thickness();
            for part in std::iter::once(&tool).chain(&holder) {
                let near = part.radius + TIGHT;
                let apart = extent.min[2] + part.above_tip >= top
                    || extent.min[0] > clamp.x[1] + near
                    || extent.max[0] < clamp.x[0] - near
                    || extent.min[1] > clamp.y[1] + near
                    || extent.max[1] < clamp.y[0] - near;
                if apart {
                    continue;
                }
                let gap = part.gap(step, clamp, top);
                if gap < part.radius - SAME || gap == 0.0 {
                    report.danger(Danger::KeepClear, step.line, || {
                        format!(
                            "the {} enters the clamp at X {} to {}, Y {} to {} of the work, whose top is at Z{}",
                            part.name,
                            mm(clamp.x[0]),
                            mm(clamp.x[1]),
                            mm(clamp.y[0]),
                            mm(clamp.y[1]),
                            mm(top)
                        )
                    });
                } else if gap < near - SAME {
                    report.doubt(Doubt::TightFit, step.line, || {
                        format!("the {} passes a clamp by {} mm", part.name, mm(gap - part.radius))
                    });
                }
            }
        }
    }

    fn check_stroke(&self, step: &Move, extent: &Bounds, report: &mut Report) {
        let line = step.line;
        let Some(pen) = &self.machine.pen else { return };
        if step.kind == MoveKind::Rapid {
            report.danger(Danger::PenDownOnRapid, line, || "G0 with the pen down".to_string());
        }
        if let Lift::Height { down, .. } = pen.lift
            && extent.min[2] < down - PEN_PRESSED
        {
            report.danger(Danger::PenTooLow, line, || {
                format!("the pen goes to Z{}, and its down is Z{}", mm(extent.min[2]), mm(down))
            });
        }
        if !sideways(step) {
            return;
        }
        if step.kind != MoveKind::Rapid && step.feed > pen.speed * FED {
            report.danger(Danger::PenTooFast, line, || {
                format!("F{} and the pen draws at {} mm/min at most", mm(step.feed), mm(pen.speed))
            });
        }
        let Some(work) = self.work else { return };
        let beside = extent.min[0] < -PEN_DOWN
            || extent.min[1] < -PEN_DOWN
            || extent.max[0] > work.x + PEN_DOWN
            || extent.max[1] > work.y + PEN_DOWN;
        if beside {
            report.danger(Danger::OutsideWork, line, || {
                format!("the pen draws beside the work, to X{} Y{}", mm(step.to[0]), mm(step.to[1]))
            });
        }
    }

    /// A feed that goes below Z0.
    fn check_cut(&self, step: &Move, extent: &Bounds, report: &mut Report) {
        let Move { line, to, .. } = *step;
        let depth = -extent.min[2];
        self.check_tight(step, extent, report);
        if let Some(called) = self.called() {
            report.danger(Danger::ToolNotChanged, line, || {
                format!("tool {called} was called and never fitted")
            });
        }
        if let Some(work) = self.work
            && !sideways(step)
            && (to[0] < 0.0 || to[1] < 0.0 || to[0] > work.x || to[1] > work.y)
        {
            report.danger(Danger::OutsideWork, line, || {
                format!("the tool goes down beside the work, at X{} Y{}", mm(to[0]), mm(to[1]))
            });
        }
        self.check_turning(line, report);
        let Some(tool) = self.tool else {
            if self.fitted.is_none() {
                report.danger(Danger::NoTool, line, || "a cut, and no tool is fitted".to_string());
            }
            return;
        };
        if depth > tool.reach + SAME {
            report.danger(Danger::HolderStrikes, line, || {
                format!(
                    "{} mm deep, and tool {} reaches {} mm",
                    mm(depth),
                    tool.number,
                    mm(tool.reach)
                )
            });
        }
        if step.is_plunge() {
            if !tool.plunges {
                report.danger(Danger::CannotPlunge, line, || {
                    format!("tool {} cannot be driven straight down", tool.number)
                });
            }
        } else if sideways(step) && !tool.sideways {
            report.danger(Danger::CannotCutSideways, line, || {
                format!("tool {} cannot cut sideways", tool.number)
            });
        }
        if self.length_offset.is_some_and(|offset| offset != tool.number) {
            report.danger(Danger::WrongLengthOffset, line, || {
                format!(
                    "length offset H{} with tool {}",
                    self.length_offset.unwrap_or(0),
                    tool.number
                )
            });
        }
        if step.to[2] <= step.from[2] + SAME || sideways(step) {
            self.check_tool_feed(step, tool, report);
        }
    }

    fn check_turning(&self, line: u64, report: &mut Report) {
        if self.turning == Turning::Stopped {
            report.danger(Danger::SpindleStopped, line, || {
                "a cut, and the spindle is stopped".to_string()
            });
            return;
        }
        let Some(tool) = self.tool else { return };
        let right = match tool.rotation {
            Rotation::Forward => Turning::Forward,
            Rotation::Reverse => Turning::Reverse,
        };
        if self.turning != right {
            let way = if right == Turning::Forward { "forward (M3)" } else { "in reverse (M4)" };
            report.danger(Danger::TurningWrongWay, line, || {
                format!("tool {} must turn {way}", tool.number)
            });
        }
        if self.rpm > tool.rpm * FASTER {
            report.danger(Danger::TooFastForTool, line, || {
                format!("S{} and tool {} is for {} rpm", mm(self.rpm), tool.number, mm(tool.rpm))
            });
        } else if self.rpm < tool.rpm * SLOWER {
            report.danger(Danger::TooSlowForTool, line, || {
                format!("S{} and tool {} is for {} rpm", mm(self.rpm), tool.number, mm(tool.rpm))
            });
        }
    }

    fn check_tool_feed(&self, step: &Move, tool: &Tool, report: &mut Report) {
        if step.feed > tool.feed * FED {
            report.danger(Danger::FeedBeyondTool, step.line, || {
                format!(
                    "F{} and tool {} is for {} mm/min",
                    mm(step.feed),
                    tool.number,
                    mm(tool.feed)
                )
            });
        }
        if let (Some(flutes), Some([least, most])) = (tool.flutes, tool.feed_per_tooth)
            && self.rpm > 0.0
        {
            let bite = step.feed / (self.rpm * f64::from(flutes));
            if bite < least - SAME || bite > most + SAME {
                report.danger(Danger::FeedPerTooth, step.line, || {
                    format!(
                        "{} mm per tooth, and tool {} takes {} to {} mm: {}",
                        decimal(bite, 4),
                        tool.number,
                        decimal(least, 4),
                        decimal(most, 4),
                        if bite < least { "it would rub and burn" } else { "it would break" }
                    )
                });
            }
        }
    }

    fn check_tight(&self, step: &Move, extent: &Bounds, report: &mut Report) {
        for axis in 0..2 {
            let room = (extent.min[axis] - self.low[axis]).min(self.high[axis] - extent.max[axis]);
            if (0.0..TIGHT).contains(&room) {
                report.doubt(Doubt::TightFit, step.line, || {
                    format!("the cut is {} mm from the end of the bed", mm(room))
                });
            }
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

/// A part of what moves, upright and round.
struct Cylinder {
    radius: f64,
    /// How far its lower end is above the tool's tip.
    above_tip: f64,
    name: &'static str,
}

impl Cylinder {
    /// How near the middle comes to the clamp while the lower end is below its top; ∞ if it never is.
    fn gap(&self, step: &Move, clamp: &Clamp, top: f64) -> f64 {
        let Some(arc) = &step.arc else {
            return self.straight_gap(step.from, step.to, clamp, top);
        };
        let chords = arc_chords(arc.radius, arc.turned);
        let mut gap = f64::INFINITY;
        let mut from = step.from;
        for i in 1..=chords {
            let to = arc.at(f64::from(i) / f64::from(chords), step.from, step.to);
            gap = gap.min(self.straight_gap(from, to, clamp, top));
            from = to;
        }
        (gap - CHORD).max(0.0)
    }

    fn straight_gap(&self, from: [f64; 3], to: [f64; 3], clamp: &Clamp, top: f64) -> f64 {
        let below = top - self.above_tip;
        let (start, end) = (from[2], to[2]);
        let (first, last) = match (start < below, end < below) {
            (false, false) => return f64::INFINITY,
            (true, true) => (0.0, 1.0),
            (true, false) => (0.0, (below - start) / (end - start)),
            (false, true) => ((below - start) / (end - start), 1.0),
        };
        let at = |part: f64| [0, 1].map(|axis| from[axis] + (to[axis] - from[axis]) * part);
        distance_to_box(at(first), at(last), [clamp.x, clamp.y])
    }
}

/// Into how many chords an arc is cut so that none is farther from it than [`CHORD`].
fn arc_chords(radius: f64, turned: f64) -> u32 {
    // The height of a chord over an angle t is about r·t²/8.
    let angle = (8.0 * CHORD / radius).sqrt().clamp(0.001, 1.0);
    (turned.abs() / angle).ceil().clamp(1.0, 10_000.0) as u32
}

/// Shortest distance from a straight way to a box, 0 where it passes through.
fn distance_to_box(from: [f64; 2], to: [f64; 2], sides: [[f64; 2]; 2]) -> f64 {
    if crosses_box(from, to, sides) {
        return 0.0;
    }
    let corners = [0, 1, 2, 3].map(|i| [sides[0][i & 1], sides[1][i >> 1]]);
    let from_ends = [from, to].map(|p| {
        let out = |axis: usize| (sides[axis][0] - p[axis]).max(p[axis] - sides[axis][1]).max(0.0);
        (out(0) * out(0) + out(1) * out(1)).sqrt()
    });
    let from_corners = corners.map(|corner| {
        let d = [to[0] - from[0], to[1] - from[1]];
        let c = [corner[0] - from[0], corner[1] - from[1]];
        let squared = d[0] * d[0] + d[1] * d[1];
        let part = if squared > 0.0 {
            ((c[0] * d[0] + c[1] * d[1]) / squared).clamp(0.0, 1.0)
        } else {
            0.0
        };
        let gap = [c[0] - d[0] * part, c[1] - d[1] * part];
        (gap[0] * gap[0] + gap[1] * gap[1]).sqrt()
    });
    from_ends.into_iter().chain(from_corners).fold(f64::INFINITY, f64::min)
}

/// Cuts the way down to what is between the sides of each axis in turn; anything left is inside.
fn crosses_box(from: [f64; 2], to: [f64; 2], sides: [[f64; 2]; 2]) -> bool {
    let (mut first, mut last) = (0.0_f64, 1.0_f64);
    for axis in 0..2 {
        let d = to[axis] - from[axis];
        let [low, high] = sides[axis].map(|side| side - from[axis]);
        if d == 0.0 {
            if low > 0.0 || high < 0.0 {
                return false;
            }
            continue;
        }
        let (enter, leave) = if d > 0.0 { (low / d, high / d) } else { (high / d, low / d) };
        (first, last) = (first.max(enter), last.min(leave));
    }
    first <= last
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
