//! What the blocks do: modes, zeros and positions, and the moves that come of them (IR 6556).

mod aloud;
mod moves;
mod tools;

use super::{
    Arc, Bounds, DangerRule as Danger, Doubt, Ending, Move, MoveKind, PenState, Rehearsal, Setting,
    Turning, WorkSize,
    arc::{Form, Sense},
    cycle::{Act, Stage, Sticky},
    guard::{Guard, Height},
    pen,
    report::Report,
    tally::{Clock, Early, Owed},
    zeros::Zeros,
};
use crate::{
    gcode::{
        Block, Distance, FeedMode, LanguageRule as Rule, LengthOffset, Motion, Once, Parameters,
        PathMode, Plane, Refusal, Refused, Retract, SpindleWord, Stop, Units, letters, whole,
    },
    machine::{Comments, Dwell, Machine, ToolChange, Waits},
    words::decimal,
};

const AXES: u32 = letters(b"XYZABC");
const OTHER_AXES: u32 = letters(b"ABC");
/// Waits longer than this are worth a look, s.
const LONG_WAIT: f64 = 30.0;
/// Nobody means these: the number is in the other unit.
const ENDLESS_WAIT: f64 = 300.0;
const NO_WAIT_AT_ALL: f64 = 0.02;
/// Feeds below this are nought to a controller, mm/min.
const LEAST_FEED: f64 = 1e-3;

/// What to do after a block.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Then {
    GoOn,
    /// The zeros changed: the parameters that stand for them are to follow.
    Mirror,
    End,
}

/// A program under way.
pub(super) struct Run<'a, W> {
    machine: &'a Machine,
    given_work: Option<WorkSize>,
    stated_work: Option<WorkSize>,
    modal: Modal,
    zeros: Zeros,
    /// Where the tool is, in the frame of the work and as the program reads it.
    at: [f64; 3],
    said: [f64; 3],
    start: [f64; 3],
    moved: Moved,
    measured: Measured,
    head: Head,
    guard: Guard<'a>,
    clock: Clock<W>,
    report: Report,
    tools: Vec<u32>,
    line: u64,
}

/// Has anything moved yet?
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Moved {
    NotYet,
    Yes,
}

/// Has the program given any length that the controller still goes by: a move, or a zero?
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Measured {
    NotYet,
    Yes,
}

/// May the program still state the size of its work? Not once anything was measured from its top.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Head {
    Open,
    Closed,
}

/// The modes, as the standard has them at the start.
struct Modal {
    motion: Option<Motion>,
    plane: Plane,
    distance: Option<Distance>,
    feed_mode: FeedMode,
    units: Option<Units>,
    retract: Option<Retract>,
    path: PathMode,
    /// mm/min.
    feed: f64,
    /// Why controllers may take the feed for another one, until F is written anew.
    feed_in_doubt: Option<Doubt>,
    sticky: Sticky,
}

impl Modal {
    fn unit(&self) -> f64 {
        if self.units == Some(Units::Inches) { 25.4 } else { 1.0 }
    }

    fn distance(&self) -> Distance {
        self.distance.unwrap_or(Distance::Absolute)
    }
}

#[cold]
fn refuse<T>(rule: Rule, message: impl Into<String>) -> Result<T, Refused> {
    Err(Box::new(Refusal { rule, line: 0, column: 0, message: message.into() }))
}

impl<'a, W: FnMut(&Move)> Run<'a, W> {
    pub fn new(setting: &Setting<'a>, words: pen::Words, watch: W) -> Self {
        let machine = setting.machine;
        let (park, corner) = (machine.motion.park, machine.bed.work_at);
        let start = [park[0] - corner[0], park[1] - corner[1], 0.0];
        Run {
            machine,
            given_work: setting.work,
            stated_work: None,
            modal: Modal {
                motion: None,
                plane: Plane::Xy,
                distance: None,
                feed_mode: FeedMode::PerMinute,
                units: None,
                retract: None,
                path: PathMode::Blended,
                feed: 0.0,
                feed_in_doubt: None,
                sticky: Sticky::default(),
            },
            zeros: Zeros::new(machine, setting.work.map_or(0.0, |work| work.thickness)),
            at: start,
            said: start,
            start,
            moved: Moved::NotYet,
            measured: Measured::NotYet,
            head: Head::Open,
            guard: Guard::new(setting, words),
            clock: Clock::new(machine, watch),
            report: Report::default(),
            tools: Vec::new(),
            line: 0,
        }
    }

    pub fn mirror_zeros(&self, parameters: &mut Parameters) {
        self.zeros.mirror(parameters, self.modal.unit());
    }

    #[cold]
    pub fn doubt_parameter(&mut self, number: usize, line: u64) {
        self.report.doubt(Doubt::ParameterUnset, line, || {
            format!("#{number} is used and nothing has set it: 0 is taken, and a controller may keep a value of its own or of the last program")
        });
    }

    pub fn refused(&mut self, refusal: Refusal) {
        self.clock.rest();
        self.see_early();
        self.report.refusal(refusal);
    }

    pub fn finish(mut self, ending: Ending, lines: u64) -> Rehearsal {
        self.clock.rest();
        self.see_early();
        if ending == Ending::Missing {
            self.report.danger(Danger::EndMissing, lines.max(1), || {
                "the file ends, and no M2 or M30 says that the program does".to_string()
            });
        }
        if ending != Ending::Refused {
            self.guard.check_end(self.at, self.line.max(1), &mut self.report);
        }
        let sums = self.clock.finish();
        Rehearsal {
            faults: self.report.faults,
            unlisted: self.report.unlisted,
            warnings: self.report.warnings,
            time: sums.time,
            bounds: sums.bounds.unwrap_or(Bounds { min: self.start, max: self.start }),
            depths: sums.depths,
            holes: sums.holes,
            cuts: sums.cuts,
            strokes: sums.strokes,
            rapid_mm: sums.rapid_mm,
            feed_mm: sums.feed_mm,
            tools: self.tools,
            stated_work: self.stated_work,
            start: self.start,
            end: self.at,
            ending,
            lines,
        }
    }

    /// Does what one line says, in the standard's order (page 41).
    pub fn block(&mut self, block: &Block) -> Result<Then, Refused> {
        self.line = block.line;
        self.read_aloud(block);
        let modes = block.modes;
        let pen_word = self.guard.pen().and_then(|_| self.guard.words.said(block));
        let motion = self.motion_of(block)?;
        if motion.is_some() || modes.once.is_some() {
            self.head = Head::Closed;
        }
        if modes.once == Some(Once::MachineMove) && motion.is_none() {
            return refuse(Rule::MachineMove, "G53 without axis words");
        }
        self.check_words_used(block, motion, pen_word)?;

        let mut then = Then::GoOn;
        if let Some(mode) = modes.feed_mode {
            if self.modal.feed_mode != mode && mode == FeedMode::PerMinute {
                self.modal.feed_in_doubt = Some(Doubt::FeedAfterInverseTime);
            }
            self.modal.feed_mode = mode;
        }
        if let Some(feed) = block.word(b'F')
            && self.modal.feed_mode == FeedMode::PerMinute
        {
            self.modal.feed = feed * self.modal.unit();
            self.modal.feed_in_doubt = None;
        }
        self.turn(block, pen_word);
        if modes.once == Some(Once::Dwell) {
            let Some(wait) = block.word(b'P') else {
                return refuse(Rule::DwellTimeMissing, "G4 without P, the time to wait");
            };
            self.wait(wait);
        }
        if let Some(plane) = modes.plane {
            self.modal.plane = plane;
        }
        if let Some(units) = modes.units {
            self.change_units(units);
            then = Then::Mirror;
        }
        match modes.length_offset {
            Some(LengthOffset::Use) => self.use_length_offset(block)?,
            Some(LengthOffset::Cancel) => self.guard.length_offset = None,
            None => {}
        }
        if let Some(system) = modes.system {
            self.choose_system(usize::from(system) - 1);
            then = Then::Mirror;
        }
        if let Some(path) = modes.path {
            self.modal.path = path;
        }
        if let Some(distance) = modes.distance {
            self.modal.distance = Some(distance);
        }
        if let Some(retract) = modes.retract {
            self.choose_retract(retract);
        }
        if let Some(once) = modes.once {
            self.once(once, block)?;
            then = Then::Mirror;
        }
        let lengths = matches!(modes.once, Some(Once::SetSystem | Once::Shift));
        if lengths || block.letters(AXES) != 0 {
            self.measured = Measured::Yes;
        }
        if let Some(motion) = motion {
            self.motion(motion, block)?;
        }
        if let Some(motion) = modes.motion {
            self.modal.motion = Some(motion);
        }
        match modes.stop {
            Some(Stop::End) => {
                if block.optional.is_some() {
                    self.report.danger(Danger::EndMissing, self.line, || {
                        "the end of the program stands on a line that a controller may pass over"
                            .to_string()
                    });
                }
                then = Then::End;
            }
            Some(Stop::Pause) => self.pause(true),
            Some(Stop::PauseIfSwitched) => self.pause(false),
            None => {}
        }
        self.see_early();
        Ok(then)
    }

    /// A cut before the spindle is at speed: a danger where nobody waits for it but the program, something to
    /// know where the machine's file does not say who does.
    #[inline]
    fn see_early(&mut self) {
        let Some(Early { line, seconds }) = self.clock.early() else { return };
        let message =
            || format!("the cut begins {} s before the spindle is at speed", decimal(seconds, 2));
        match self.machine.spindle.as_ref().and_then(|spindle| spindle.waits) {
            Some(Waits::Controller) => {}
            Some(Waits::Program) => {
                self.report.late_danger(Danger::SpindleNotAtSpeed, line, message)
            }
            None => self.report.doubt(Doubt::SpindleMaybeSlow, line, message),
        }
    }

    /// What the axis words of the line are for (pages 19, 20).
    fn motion_of(&mut self, block: &Block) -> Result<Option<Motion>, Refused> {
        let wants_axes = matches!(
            block.modes.once,
            Some(Once::SetSystem | Once::Home | Once::SecondHome | Once::Shift)
        );
        let axes = block.letters(AXES) != 0;
        if axes && block.letters(OTHER_AXES) != 0 {
            let name = self.machine.name.as_str();
            self.report.danger(Danger::NoSuchAxis, self.line, || {
                format!("an A, B or C word, and `{name}` has X, Y and Z")
            });
        }
        if block.modes.once == Some(Once::Shift) && !axes {
            return refuse(Rule::AxisMissing, "G92 without an axis word");
        }
        match block.modes.motion {
            Some(Motion::Nothing) if axes && !wants_axes => {
                refuse(Rule::MotionMissing, "axis words with G80, which ends all motion")
            }
            Some(Motion::Nothing) => Ok(Some(Motion::Nothing)),
            Some(_) if wants_axes => {
                refuse(Rule::AxesWantedTwice, "two G words on the line want its axis words")
            }
            Some(motion) if !axes => {
                if matches!(motion, Motion::ArcCw | Motion::ArcCcw) {
                    self.report.doubt(Doubt::ArcWithoutEnd, self.line, || {
                        "an arc with no axis word: some controllers run a full circle, others stop".into()
                    });
                }
                refuse(Rule::AxisMissing, "a motion without an axis word")
            }
            Some(motion) => Ok(Some(motion)),
            None if wants_axes || !axes => Ok(None),
            None => match self.modal.motion {
                None => refuse(Rule::MotionMissing, "axis words, and no motion was chosen yet"),
                Some(Motion::Nothing) => {
                    refuse(Rule::MotionMissing, "axis words after G80, which ends all motion")
                }
                motion => Ok(motion),
            },
        }
    }

    /// Every word must be used by somebody (page 20).
    #[inline]
    fn check_words_used(
        &self,
        block: &Block,
        motion: Option<Motion>,
        pen_word: Option<PenState>,
    ) -> Result<(), Refused> {
        let mut used = AXES | letters(b"FST");
        if block.letters(!used) == 0 {
            return Ok(());
        }
        let plane = block.modes.plane.unwrap_or(self.modal.plane);
        used |= match motion {
            Some(Motion::ArcCw | Motion::ArcCcw) => match plane {
                Plane::Xy => letters(b"IJR"),
                Plane::Zx => letters(b"IKR"),
                Plane::Yz => letters(b"JKR"),
            },
            Some(Motion::Cycle(cycle)) => {
                use crate::gcode::Cycle;
                letters(b"RL")
                    | match cycle {
                        Cycle::Drill => 0,
                        Cycle::DrillAndWait => letters(b"P"),
                        Cycle::Peck => letters(b"Q"),
                    }
            }
            _ => 0,
        };
        used |= match block.modes.once {
            Some(Once::Dwell) => letters(b"P"),
            Some(Once::SetSystem) => letters(b"LP"),
            _ => 0,
        };
        if block.modes.length_offset == Some(LengthOffset::Use) {
            used |= letters(b"H");
        }
        if pen_word.is_some() {
            used |= self.guard.words.letters();
        }
        let unused = block.letters(!used);
        if unused == 0 {
            return Ok(());
        }
        let letter = char::from(b'A' + unused.trailing_zeros() as u8);
        refuse(Rule::UnusedWord, format!("nothing on the line uses the word {letter}"))
    }

    fn change_units(&mut self, units: Units) {
        let before = self.modal.unit();
        self.modal.units = Some(units);
        if self.modal.unit() != before && self.modal.feed > 0.0 {
            self.modal.feed_in_doubt = Some(Doubt::FeedBeforeUnits);
        }
        if self.measured == Measured::Yes && self.modal.unit() != before {
            self.report.danger(Danger::UnitsChanged, self.line, || {
                "the unit changes after a move or a zero; controllers differ in what else changes with it".into()
            });
        }
    }

    fn use_length_offset(&mut self, block: &Block) -> Result<(), Refused> {
        let Some(offset) = block.word(b'H').and_then(whole) else {
            return refuse(Rule::LengthOffsetMissing, "G43 without H");
        };
        self.guard.length_offset = Some(u32::try_from(offset).unwrap_or(u32::MAX));
        self.report.doubt(Doubt::LengthTable, self.line, || {
            "G43 takes a length from the controller's own table; it is taken to be right"
                .to_string()
        });
        Ok(())
    }

    fn choose_system(&mut self, system: usize) {
        if !self.zeros.is_set(system) {
            self.report.danger(Danger::WorkOffsetUnset, self.line, || {
                format!(
                    "work system {} is chosen, and nothing says where all of it lies",
                    system + 1
                )
            });
        }
        self.zeros.current = system;
        self.read_position();
    }

    fn choose_retract(&mut self, retract: Retract) {
        let in_cycles = matches!(self.modal.motion, Some(Motion::Cycle(_)));
        if in_cycles
            && self.modal.retract == Some(Retract::RHeight)
            && retract == Retract::OldHeight
        {
            self.report.doubt(Doubt::RetractSwitched, self.line, || {
                "G98 after G99 in one run of cycles: controllers differ in which old height they mean".into()
            });
        }
        self.modal.retract = Some(retract);
    }

    /// The zeros moved: the place reads anew.
    fn read_position(&mut self) {
        let zero = self.zeros.now();
        self.said = std::array::from_fn(|axis| self.at[axis] - zero[axis]);
    }

    /// Axis words of the line in mm.
    fn axis_words(&self, block: &Block) -> [Option<f64>; 3] {
        let unit = self.modal.unit();
        [b'X', b'Y', b'Z'].map(|letter| block.word(letter).map(|value| value * unit))
    }

    /// Where the axis words of the line lead, in the program's own coordinates.
    #[inline]
    fn target(&self, block: &Block) -> [f64; 3] {
        let words = self.axis_words(block);
        std::array::from_fn(|axis| match (words[axis], self.modal.distance()) {
            (None, _) => self.said[axis],
            (Some(value), Distance::Absolute) => value,
            (Some(value), Distance::Incremental) => self.said[axis] + value,
        })
    }

    fn once(&mut self, once: Once, block: &Block) -> Result<(), Refused> {
        match once {
            Once::Dwell | Once::MachineMove => return Ok(()),
            Once::SetSystem => self.set_system(block)?,
            Once::Home | Once::SecondHome => self.go_home(block),
            Once::Shift => {
                if block.word(b'Z').is_some() && self.guard.height == Height::Unknown {
                    self.report.danger(Danger::ZeroAtUnknownHeight, self.line, || {
                        "G92 sets Z before the program has moved to any height".to_string()
                    });
                }
                self.zeros.shift_to(self.at, self.axis_words(block));
            }
            Once::DropShift => self.zeros.drop_shift(),
            Once::SuspendShift => self.zeros.suspend_shift(),
            Once::ResumeShift => self.zeros.resume_shift(),
        }
        self.read_position();
        Ok(())
    }

    fn set_system(&mut self, block: &Block) -> Result<(), Refused> {
        if block.word(b'L').and_then(whole) != Some(2) {
            return refuse(Rule::WorkSystem, "G10 is understood with L2 only");
        }
        let Some(number @ 1..=9) = block.word(b'P').and_then(whole) else {
            return refuse(Rule::WorkSystem, "G10 L2 needs P1 to P9");
        };
        let place = self.axis_words(block);
        if let Some(z) = place[2] {
            self.doubt_machine_height(z);
        }
        self.zeros.set_system(number as usize - 1, place);
        Ok(())
    }

    /// A Z in machine coordinates other than the top means another height with every tool.
    fn doubt_machine_height(&mut self, z: f64) {
        if z < 0.0 {
            self.report.doubt(Doubt::MachineHeight, self.line, || {
                "a Z in machine coordinates: the highest that the tool's tip reaches, by the machine's file, is taken for its zero".into()
            });
        }
    }

    /// By way of the place given to machine zero, all axes at once (page 26).
    fn go_home(&mut self, block: &Block) {
        self.report.doubt(Doubt::HomeUnknown, self.line, || {
            "where G28 and G30 go is set in the controller; the bed's corner at full height is taken".into()
        });
        let named = block.letters(letters(b"XYZ")).count_ones();
        if named == 0 && self.guard.height == Height::Unknown {
            self.report.danger(Danger::HeightUnknown, self.line, || {
                "all axes go home at once, and the program has not said at which height the tool is"
                    .to_string()
            });
        }
        if named > 0 {
            if named < 3 {
                self.report.doubt(Doubt::HomePartly, self.line, || {
                    "controllers differ in whether the axes that are not named go home too"
                        .to_string()
                });
            }
            let stated = self.see_height(block);
            self.go(MoveKind::Rapid, self.target(block), None, 0.0);
            self.guard.height = stated;
        }
        let zero = self.zeros.now();
        let home = std::array::from_fn(|axis| self.zeros.machine[axis] - zero[axis]);
        self.go(MoveKind::Rapid, home, None, 0.0);
        self.guard.height = Height::Known;
    }
}
