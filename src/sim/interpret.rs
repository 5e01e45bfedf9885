//! What the blocks do: modes, zeros and positions, and the moves that come of them (IR 6556).

use super::{
    Arc, Bounds, DangerRule as Danger, Doubt, Ending, Move, MoveKind, PenState, Rehearsal, Setting,
    Turning, WorkSize,
    arc::{Form, Sense},
    cycle::{Act, Stage, Sticky},
    guard::{Guard, Height},
    pen,
    report::Report,
    tally::{Clock, Owed},
    zeros::Zeros,
};
use crate::{
    gcode::{
        Block, Distance, FeedMode, LanguageRule as Rule, LengthOffset, Motion, Once, Parameters,
        PathMode, Plane, Refusal, Refused, Retract, SpindleWord, Stop, Units, letters, whole,
    },
    machine::{Comments, Dwell, Machine, ToolChange},
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

/// The modes, as the standard has them at the start.
struct Modal {
    motion: Option<Motion>,
    plane: Plane,
    distance: Distance,
    feed_mode: FeedMode,
    units: Option<Units>,
    retract: Option<Retract>,
    path: PathMode,
    /// mm/min.
    feed: f64,
    /// G94 came after G93, and no F since.
    feed_is_old: bool,
    sticky: Sticky,
}

impl Modal {
    fn unit(&self) -> f64 {
        if self.units == Some(Units::Inches) { 25.4 } else { 1.0 }
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
                distance: Distance::Absolute,
                feed_mode: FeedMode::PerMinute,
                units: None,
                retract: None,
                path: PathMode::Blended,
                feed: 0.0,
                feed_is_old: false,
                sticky: Sticky::default(),
            },
            zeros: Zeros::new(machine, setting.work.map_or(0.0, |work| work.thickness)),
            at: start,
            said: start,
            start,
            moved: Moved::NotYet,
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

    pub fn refused(&mut self, refusal: Refusal) {
        self.report.refusal(refusal);
    }

    pub fn finish(mut self, ending: Ending, lines: u64) -> Rehearsal {
        if ending == Ending::Missing {
            self.report.danger(Danger::EndMissing, lines, || {
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
        self.check_words_used(block, motion, pen_word)?;

        if let Some(mode) = modes.feed_mode {
            self.modal.feed_is_old |= self.modal.feed_mode != mode && mode == FeedMode::PerMinute;
            self.modal.feed_mode = mode;
        }
        if let Some(feed) = block.word(b'F')
            && self.modal.feed_mode == FeedMode::PerMinute
        {
            self.modal.feed = feed * self.modal.unit();
            self.modal.feed_is_old = false;
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
        }
        match modes.length_offset {
            Some(LengthOffset::Use) => self.use_length_offset(block)?,
            Some(LengthOffset::Cancel) => self.guard.length_offset = None,
            None => {}
        }
        let mut then = Then::GoOn;
        if let Some(system) = modes.system {
            self.choose_system(usize::from(system) - 1);
            then = Then::Mirror;
        }
        if let Some(path) = modes.path {
            self.modal.path = path;
        }
        if let Some(distance) = modes.distance {
            self.modal.distance = distance;
        }
        if let Some(retract) = modes.retract {
            self.choose_retract(retract);
        }
        if let Some(once) = modes.once {
            self.once(once, block)?;
            then = Then::Mirror;
        }
        if let Some(motion) = motion {
            self.motion(motion, block)?;
        }
        if let Some(motion) = modes.motion {
            self.modal.motion = Some(motion);
        }
        match modes.stop {
            Some(Stop::End) => then = Then::End,
            Some(Stop::Pause) => self.pause(),
            None => {}
        }
        Ok(then)
    }

    /// Length, comments and `/`: what a line is before what it says.
    fn read_aloud(&mut self, block: &Block) {
        let (line, report) = (self.line, &mut self.report);
        let longest = self.machine.speech.line_length;
        if block.length > longest {
            report.danger(Danger::LineTooLong, line, || {
                format!("{} characters, and this controller holds {longest}", block.length)
            });
        }
        if block.optional.is_some() {
            report.doubt(Doubt::OptionalLine, line, || {
                "lines that begin with / run here; a controller may be switched to pass over them".into()
            });
        }
        if !block.comments().is_empty() {
            self.read_comments(block);
        }
    }

    #[cold]
    fn read_comments(&mut self, block: &Block) {
        let line = self.line;
        let acted =
            |byte: &&u8| matches!(**byte, b'!' | b'~' | b'?' | b'%' | 0..=8 | 10..=31 | 127..);
        if let Some(&byte) = block.comments().iter().find(acted) {
            let sign = match byte {
                b'!'..=b'~' => format!("{} stands", char::from(byte)),
                _ => "a letter that is not plain ASCII stands".to_string(),
            };
            self.report.danger(Danger::ActedUpon, line, || format!("{sign} in a comment"));
        }
        let semicolon = block.comments()[0] == b';';
        if semicolon != (self.machine.speech.comments == Comments::Semicolon) {
            self.report.doubt(Doubt::CommentStyle, line, || {
                "this controller's file says that comments are written the other way".to_string()
            });
        }
        if self.moved == Moved::NotYet
            && let Some(stated) = stated_work(block.comment())
        {
            self.stated_work = Some(stated);
            match self.given_work {
                None => {
                    self.guard.work = Some(stated);
                    self.zeros = Zeros::new(self.machine, stated.thickness);
                }
                Some(given) if given != stated => {
                    self.report.doubt(Doubt::WorkStatedOtherwise, line, || {
                        "the program's head states another size of work than you gave".to_string()
                    });
                }
                Some(_) => {}
            }
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

    /// S, T, M6, the spindle, and pens that are moved by words.
    fn turn(&mut self, block: &Block, pen_word: Option<PenState>) {
        let line = self.line;
        if let Some(state) = pen_word {
            if self.guard.word_pen(state) {
                self.settle_pen();
            }
            return;
        }
        let speed = block.word(b'S');
        let modes = &block.modes;
        if self.guard.words.any()
            && self.guard.pen().is_some()
            && (speed.is_some() || modes.spindle.is_some())
        {
            self.report.danger(Danger::PenWordsUnclear, line, || {
                "these words neither lift the pen nor set it down as its file says".to_string()
            });
            return;
        }
        if let Some(speed) = speed {
            self.guard.rpm = speed;
            self.guard.check_speed(line, &mut self.report);
        }
        if let Some(tool) = block.word(b'T').and_then(whole) {
            let tool = u32::try_from(tool).unwrap_or(u32::MAX);
            self.guard.call_tool(tool, line, &mut self.report);
        }
        if modes.change_tool.is_some() {
            if self.machine.speech.tool_change == ToolChange::Pause {
                self.report.danger(Danger::ToolChangeNotKnown, line, || {
                    "M6, and on this controller tools are changed at a pause (M0)".to_string()
                });
            }
            self.guard.turn(Turning::Stopped, line, &mut self.report);
            self.change_tool();
        }
        if let Some(word) = modes.spindle {
            let turning = match word {
                SpindleWord::Forward => Turning::Forward,
                SpindleWord::Reverse => Turning::Reverse,
                SpindleWord::Stop => Turning::Stopped,
            };
            let spin_up = self.guard.turn(turning, line, &mut self.report);
            self.clock.rest();
            if spin_up > 0.0 {
                self.clock.owe(Owed::SpinUp, spin_up);
            }
        }
    }

    fn settle_pen(&mut self) {
        let settle = self.machine.pen.as_ref().map_or(0.0, |pen| pen.settle);
        self.clock.owe(Owed::Settle, settle);
    }

    fn change_tool(&mut self) {
        let fitted = self.guard.change_tool(self.at, self.line, &mut self.report);
        if let Some(tool) = fitted
            && !self.tools.contains(&tool)
            // A machine has a handful of tools; a file that names a thousand says nothing by them.
            && self.tools.len() < super::LISTED
        {
            self.tools.push(tool);
        }
        self.clock.change_tool(self.machine.speech.tool_change_minutes * 60.0);
    }

    /// M0, M1, M60. A person changes the tool here if one was called.
    fn pause(&mut self) {
        self.clock.rest();
        self.check_pen_still();
        if self.guard.called().is_none() {
            return;
        }
        if self.guard.turning != Turning::Stopped {
            self.report.danger(Danger::ToolChangeTurning, self.line, || {
                "a pause to change the tool, and the spindle turns".to_string()
            });
        }
        self.change_tool();
    }

    fn check_pen_still(&mut self) {
        if self.guard.pen_now(self.at) == Some(PenState::Down) && self.guard.height == Height::Known
        {
            self.report.danger(Danger::PenLeftDown, self.line, || {
                "the machine stands still with the pen down".to_string()
            });
        }
    }

    /// G4, and the wait of G82. `wait` is what P says.
    fn wait(&mut self, wait: f64) {
        let line = self.line;
        let seconds = match self.machine.speech.dwell {
            Dwell::Seconds => wait,
            Dwell::Milliseconds => wait / 1000.0,
        };
        let wrong_unit = match self.machine.speech.dwell {
            Dwell::Seconds => seconds > ENDLESS_WAIT,
            Dwell::Milliseconds => wait > 0.0 && seconds < NO_WAIT_AT_ALL,
        };
        let lasts =
            || format!("P{} waits {} s on this controller", decimal(wait, 3), decimal(seconds, 3));
        if wrong_unit {
            self.report.danger(Danger::DwellUnit, line, lasts);
        } else if seconds > LONG_WAIT {
            self.report.doubt(Doubt::LongDwell, line, lasts);
        }
        let settle = self.machine.pen.as_ref().map_or(0.0, |pen| pen.settle);
        if seconds > settle + 0.5 {
            self.check_pen_still();
        }
        let step = Move { seconds, ..self.step(MoveKind::Dwell, self.said, self.at, 0.0) };
        let extent = Bounds { min: self.at, max: self.at };
        self.clock.take(step, &extent, self.modal.path);
    }

    fn change_units(&mut self, units: Units) {
        let before = self.modal.unit();
        self.modal.units = Some(units);
        if self.moved == Moved::Yes && self.modal.unit() != before {
            self.report.danger(Danger::UnitsChanged, self.line, || {
                "the unit changes between moves; controllers differ in what else changes with it".into()
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
                format!("work system {} is chosen, and nothing says where it lies", system + 1)
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
        std::array::from_fn(|axis| match (words[axis], self.modal.distance) {
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
        self.zeros.set_system(number as usize - 1, self.axis_words(block));
        Ok(())
    }

    /// By way of the place given to machine zero, all axes at once (page 26).
    fn go_home(&mut self, block: &Block) {
        self.report.doubt(Doubt::HomeUnknown, self.line, || {
            "where G28 and G30 go is set in the controller; the bed's corner at full height is taken".into()
        });
        let named = block.letters(letters(b"XYZ")).count_ones();
        if named > 0 {
            if named < 3 {
                self.report.doubt(Doubt::HomePartly, self.line, || {
                    "controllers differ in whether the axes that are not named go home too"
                        .to_string()
                });
            }
            self.see_height(block);
            self.go(MoveKind::Rapid, self.target(block), None, 0.0);
        }
        let zero = self.zeros.now();
        let home = std::array::from_fn(|axis| self.zeros.machine[axis] - zero[axis]);
        self.go(MoveKind::Rapid, home, None, 0.0);
        self.guard.height = Height::Known;
    }

    fn motion(&mut self, motion: Motion, block: &Block) -> Result<(), Refused> {
        if block.modes.once == Some(Once::MachineMove) {
            return self.machine_move(motion, block);
        }
        if motion == Motion::Nothing {
            return Ok(());
        }
        self.begin_motion(motion);
        match motion {
            Motion::Rapid => {
                let stated = self.see_height(block);
                self.go(MoveKind::Rapid, self.target(block), None, 0.0);
                self.guard.height = stated;
            }
            Motion::Feed => {
                let to = self.target(block);
                let feed = self.feed(block, distance(self.said, to))?;
                let stated = self.see_height(block);
                self.go(MoveKind::Feed, to, None, feed);
                self.guard.height = stated;
            }
            Motion::ArcCw | Motion::ArcCcw => self.arc(motion, block)?,
            Motion::Cycle(_) => self.cycle(motion, block)?,
            Motion::Nothing => {}
        }
        Ok(())
    }

    /// G53: the axis words are places on the machine.
    fn machine_move(&mut self, motion: Motion, block: &Block) -> Result<(), Refused> {
        if !matches!(motion, Motion::Rapid | Motion::Feed) {
            return refuse(Rule::MachineMove, "G53 without G0 or G1");
        }
        if self.modal.distance == Distance::Incremental {
            return refuse(Rule::MachineMove, "G53 in G91");
        }
        let zero = self.zeros.now();
        let words = self.axis_words(block);
        let to = std::array::from_fn(|axis| match words[axis] {
            Some(value) => value + self.zeros.machine[axis] - zero[axis],
            None => self.said[axis],
        });
        self.begin_motion(motion);
        let (kind, feed) = match motion {
            Motion::Feed => (MoveKind::Feed, self.feed(block, distance(self.said, to))?),
            _ => (MoveKind::Rapid, 0.0),
        };
        let stated = self.see_height(block);
        self.go(kind, to, None, feed);
        self.guard.height = stated;
        Ok(())
    }

    /// What is said once, at the first motion.
    #[inline]
    fn begin_motion(&mut self, motion: Motion) {
        if self.moved == Moved::NotYet {
            self.moved = Moved::Yes;
            self.doubt_at_first_motion();
        }
        if self.modal.feed_is_old && motion != Motion::Rapid {
            self.modal.feed_is_old = false;
            self.report.doubt(Doubt::FeedAfterInverseTime, self.line, || {
                "a cut after G94 with no F since G93: controllers differ in the feed".to_string()
            });
        }
    }

    #[cold]
    fn doubt_at_first_motion(&mut self) {
        if self.modal.units.is_none() {
            self.report.doubt(Doubt::UnitsUnstated, self.line, || {
                "neither G20 nor G21 was said; millimetres are taken".to_string()
            });
        }
        if self.guard.work.is_none() {
            self.report.doubt(Doubt::WorkUnknown, self.line, || {
                "the size of the work is not known (--work): a thickness of 0 is taken, and the whole bed for its size".into()
            });
        }
    }

    /// Before a motion: complains of going sideways, or down by some way, at an unknown height. Gives
    /// what is known of the height after it.
    #[inline]
    fn see_height(&mut self, block: &Block) -> Height {
        if self.guard.height == Height::Known {
            return Height::Known;
        }
        let absolute = self.modal.distance == Distance::Absolute
            || block.modes.once == Some(Once::MachineMove);
        let down = !absolute && block.word(b'Z').is_some_and(|z| z < 0.0);
        if block.letters(letters(b"XY")) != 0 || down {
            self.report.danger(Danger::HeightUnknown, self.line, || {
                "a move before the program has said at which height the tool is".to_string()
            });
        }
        let stated = absolute && block.word(b'Z').is_some();
        if stated { Height::Known } else { Height::Unknown }
    }

    /// The feed of a move along `length`, mm/min.
    #[inline]
    fn feed(&self, block: &Block, length: f64) -> Result<f64, Refused> {
        let feed = match self.modal.feed_mode {
            FeedMode::PerMinute => self.modal.feed,
            FeedMode::InverseTime => match block.word(b'F') {
                None => return refuse(Rule::FeedMissing, "G93 needs F on every line that cuts"),
                Some(feed) if feed < 1e-6 => 0.0,
                // A move to where the tool already is takes no feed.
                Some(feed) => (feed * length).max(LEAST_FEED),
            },
        };
        if feed < LEAST_FEED {
            return refuse(Rule::FeedMissing, "a cut, and no feed (F) is set");
        }
        Ok(feed)
    }

    fn arc(&mut self, motion: Motion, block: &Block) -> Result<(), Refused> {
        let plane = self.modal.plane;
        let [a, b, c] = plane.axes();
        let unit = self.modal.unit();
        let letter = |axis: usize| [b'X', b'Y', b'Z'][axis];
        if block.word(letter(a)).is_none() && block.word(letter(b)).is_none() {
            return refuse(
                Rule::AxisMissing,
                format!("an arc needs {} or {}", char::from(letter(a)), char::from(letter(b))),
            );
        }
        let offset = [a, b].map(|axis| block.word([b'I', b'J', b'K'][axis]));
        let form = match (block.word(b'R'), offset) {
            (Some(radius), [None, None]) => Form::Radius(radius * unit),
            (Some(_), _) => return refuse(Rule::ArcCentreDoubled, "R stands beside I, J or K"),
            (None, [None, None]) => {
                return refuse(Rule::ArcCentreMissing, "an arc without I, J, K and without R");
            }
            (None, offset) => Form::Centre(offset.map(|value| value.unwrap_or(0.0) * unit)),
        };
        let (kind, sense) = match motion {
            Motion::ArcCw => (MoveKind::ArcCw, Sense::Clockwise),
            _ => (MoveKind::ArcCcw, Sense::Anticlockwise),
        };
        let to = self.target(block);
        let tolerance = self.machine.speech.arc_tolerance;
        let mut arc = Arc::new(plane, sense, [self.said, to], form, tolerance)?;
        let length = (arc.length() * arc.length() + (to[c] - self.said[c]).powi(2)).sqrt();
        let feed = self.feed(block, length)?;
        let zero = self.zeros.now();
        arc.centre = [arc.centre[0] + zero[a], arc.centre[1] + zero[b]];
        if !self.machine.speech.arcs {
            self.report.danger(Danger::ArcNotKnown, self.line, || {
                "an arc, and the machine's file says that this controller has none".to_string()
            });
        }
        let stated = self.see_height(block);
        self.go(kind, to, Some(arc), feed);
        self.guard.height = stated;
        Ok(())
    }

    fn cycle(&mut self, motion: Motion, block: &Block) -> Result<(), Refused> {
        let Motion::Cycle(cycle) = motion else { return Ok(()) };
        let line = self.line;
        let modal = &mut self.modal;
        if modal.feed_mode == FeedMode::InverseTime {
            return refuse(Rule::CycleInInverseTime, "a drilling cycle in G93");
        }
        if modal.feed < LEAST_FEED {
            return refuse(Rule::FeedMissing, "a drilling cycle, and no feed (F) is set");
        }
        if block.letters(letters(b"XYZ")) == 0 {
            return refuse(Rule::AxisMissing, "a drilling cycle without X, Y or Z");
        }
        if modal.motion != Some(motion) {
            modal.sticky = Sticky::default();
        }
        let axes = modal.plane.axes();
        let incremental = modal.distance == Distance::Incremental;
        if incremental && modal.retract == Some(Retract::RHeight) && block.word(b'R').is_none() {
            self.report.doubt(Doubt::StickyRetract, line, || {
                "G91 and G99 with an R from an earlier line: controllers differ in where it is"
                    .into()
            });
        }
        if modal.retract.is_none() {
            self.report.doubt(Doubt::RetractUnstated, line, || {
                "neither G98 nor G99 was said; the tool is taken to come back to R only".to_string()
            });
        }
        if !self.machine.speech.drill_cycle {
            self.report.danger(Danger::CycleNotKnown, line, || {
                "a drilling cycle, and the machine's file says that this controller has none".into()
            });
        }
        let stage = Stage {
            cycle,
            axes,
            at: self.said,
            distance: self.modal.distance,
            // As the standard's own interpreter starts.
            retract: self.modal.retract.unwrap_or(Retract::RHeight),
            unit: self.modal.unit(),
        };
        let mut sticky = self.modal.sticky;
        let feed = self.modal.feed;
        self.see_height(block);
        let done = stage.run(block, &mut sticky, |act| match act {
            Act::Rapid(to) => self.go(MoveKind::Rapid, to, None, 0.0),
            Act::Feed(to) => self.go(MoveKind::Feed, to, None, feed),
            Act::Wait(wait) => self.wait(wait),
        });
        self.modal.sticky = sticky;
        if axes[2] == 2 && !incremental {
            self.guard.height = Height::Known;
        }
        done
    }

    fn step(&self, kind: MoveKind, said: [f64; 3], to: [f64; 3], feed: f64) -> Move {
        Move {
            line: self.line,
            kind,
            from: self.at,
            to,
            said,
            arc: None,
            feed,
            seconds: 0.0,
            tool: self.guard.fitted,
            turning: self.guard.turning,
            rpm: self.guard.rpm,
            pen: self.guard.pen_now(self.at),
        }
    }

    /// One move to `said`, in the program's own coordinates.
    #[inline]
    fn go(&mut self, kind: MoveKind, said: [f64; 3], arc: Option<Arc>, feed: f64) {
        let zero = self.zeros.now();
        let to = std::array::from_fn(|axis| said[axis] + zero[axis]);
        let mut step = self.step(kind, said, to, feed);
        step.arc = arc;
        let before = step.pen;
        step.pen = self.guard.pen_on(&step);
        let extent = Bounds::of(&step);
        self.guard.check(&step, &extent, &mut self.report);
        if step.pen == Some(PenState::Down) && self.clock.owes(Owed::Settle) {
            self.report.doubt(Doubt::PenNotSettled, self.line, || {
                "the pen draws before it has settled".to_string()
            });
        }
        self.at = to;
        self.said = said;
        let pen_moved = before.is_some() && step.pen.is_some() && before != step.pen;
        self.clock.take(step, &extent, self.modal.path);
        if pen_moved && !self.guard.words.any() {
            self.settle_pen();
        }
    }
}

fn distance(a: [f64; 3], b: [f64; 3]) -> f64 {
    let d: [f64; 3] = std::array::from_fn(|axis| b[axis] - a[axis]);
    (d[0] * d[0] + d[1] * d[1] + d[2] * d[2]).sqrt()
}

/// `work 1400 x 600 x 12 mm`, in any case, alone in its comment.
fn stated_work(comment: &[u8]) -> Option<WorkSize> {
    let text = str::from_utf8(comment).ok()?.trim().to_ascii_lowercase();
    let sides = text.strip_prefix("work ")?.strip_suffix("mm")?;
    let mut sides = sides.split('x').map(|side| side.trim().parse::<f64>().ok());
    let mut side = || sides.next().flatten().filter(|side| (0.0..=1e6).contains(side));
    let size = WorkSize { x: side()?, y: side()?, thickness: side()? };
    sides.next().is_none().then_some(size)
}
