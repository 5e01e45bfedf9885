//! A plan as G-code, in the plainest words that RS274/NGC has.
//!
//! Every line is one motion or one act, everything modal is stated at the top, and nothing is used that
//! controllers read differently. Millimetres, three decimals, printed from whole micrometres.

use crate::{
    machine::{Comments, Dwell, Kind, Lift, Machine, Pen, Rotation, Spindle, Tool, ToolChange},
    notice,
    plan::{Plan, Step, Um, um},
};
use std::fmt::Write;

/// Height above the work from which the tool feeds, µm.
const APPROACH: Um = 2_000;
/// Between pecks the tool comes back to this far above the last depth, µm.
const PECK_GAP: Um = 500;

/// What the head of a program tells the person at the machine.
pub struct Head<'a> {
    pub title: &'a str,
    /// From the rehearsal of this very program; unknown the first time round.
    pub minutes: Option<u64>,
}

/// The program's text, lines ended by a line feed.
pub fn write(plan: &Plan, machine: &Machine, head: &Head) -> String {
    let mut writer = Writer { plan, machine, text: String::new() };
    writer.head(head);
    writer.preamble();
    for (i, step) in plan.steps.iter().enumerate() {
        writer.step(step, i);
    }
    writer.end();
    writer.text
}

struct Writer<'a> {
    plan: &'a Plan,
    machine: &'a Machine,
    text: String,
}

impl Writer<'_> {
    fn line(&mut self, words: std::fmt::Arguments) {
        self.text.write_fmt(words).expect("a string takes all that is written");
        self.text.push('\n');
    }

    /// A comment, broken where the controller's line ends.
    fn comment(&mut self, text: &str) {
        let (open, close) = match self.machine.speech.comments {
            Comments::Parentheses => ("(", ")"),
            Comments::Semicolon => ("; ", ""),
        };
        let room = self.machine.speech.line_length - open.len() - close.len();
        for line in wrap(&plain(text), room) {
            self.line(format_args!("{open}{line}{close}"));
        }
    }

    fn head(&mut self, head: &Head) {
        let Plan { work, lies, size, .. } = self.plan;
        self.comment(&format!("{work} - {}", head.title));
        let [x, y, thick] = size.map(trimmed);
        self.comment(&format!("work {x} x {y} x {thick} mm"));
        self.comment(&format!("Lay the {work} {lies}."));
        let [bed_x, bed_y] = self.machine.bed.work_at.map(|mm| trimmed(um(mm)));
        self.comment(&format!("X0 Y0 is the lower left corner of the {work} as it lies,"));
        self.comment(&format!("at X {bed_x} Y {bed_y} of the bed. Z0 is its top."));
        self.comment(&format!("Machine: {}", self.machine.title));
        let holes = self
            .plan
            .steps
            .iter()
            .filter(|s| matches!(s, Step::Drill { .. } | Step::Bore { .. }))
            .count();
        let strokes = self.plan.steps.iter().filter(|s| matches!(s, Step::Stroke { .. })).count();
        if holes > 0 {
            self.comment(&format!("{holes} holes"));
        }
        if strokes > 0 {
            self.comment(&format!("{strokes} pen strokes"));
            if self.machine.kind == Kind::Router {
                self.comment("Clip the pen on. No tool in the spindle, and it must not turn.");
            }
        }
        if let Some(minutes) = head.minutes {
            self.comment(&format!("About {minutes} min without the time for changing tools"));
        }
        for line in notice::SHORT {
            self.comment(line);
        }
    }

    fn preamble(&mut self) {
        self.line(format_args!("G21 G17 G90 G94 G54"));
        match &self.pen_lift() {
            Some(Lift::Words { up, .. }) => self.line(format_args!("{up}")),
            _ => {
                self.line(format_args!("M5"));
                self.rise();
            }
        }
    }

    fn end(&mut self) {
        let [x, y] = self.plan.park;
        match &self.pen_lift() {
            Some(Lift::Words { .. }) => {}
            _ => self.line(format_args!("M5")),
        }
        self.over([x, y]);
        self.line(format_args!("M2"));
    }

    fn step(&mut self, step: &Step, index: usize) {
        match step {
            Step::Fit { tool, rpm, turn } => self.fit(*tool, *rpm, *turn, index),
            Step::Drill { at, depth, peck, .. } => self.drill(*at, *depth, *peck),
            Step::Bore { at, depth, circle, per_turn, .. } => {
                self.bore(*at, *depth, *circle, *per_turn)
            }
            Step::Stroke { points } => self.stroke(points),
        }
    }

    /// Stops the spindle, goes to where a person can reach it, and asks for the tool.
    fn fit(&mut self, number: u32, rpm: f64, turn: Rotation, index: usize) {
        if index > 0 {
            self.line(format_args!("M5"));
        }
        self.over(self.plan.park);
        let tool = self.tool(number).clone();
        let way = match turn {
            Rotation::Forward => "forward, clockwise from above",
            Rotation::Reverse => "IN REVERSE, anticlockwise from above",
        };
        self.comment(&format!("Tool {number}: {}, turning {way}", tool.name));
        match self.machine.speech.tool_change {
            ToolChange::Pause => {
                self.line(format_args!("T{number}"));
                self.comment("Fit it, touch off Z0 on top of the work, then carry on");
                self.line(format_args!("M0"));
            }
            ToolChange::M6 => self.line(format_args!("T{number} M6")),
        }
        self.rise();
        self.line(format_args!("S{rpm:.0}"));
        let spindle: &Spindle =
            self.machine.spindle.as_ref().expect("a plan fits tools to a spindle");
        let spin_up = spindle.spin_up;
        self.line(format_args!(
            "{}",
            match turn {
                Rotation::Forward => "M3",
                Rotation::Reverse => "M4",
            }
        ));
        self.dwell(spin_up);
    }

    /// Straight down in pecks; the chips come up between them.
    fn drill(&mut self, at: [Um; 2], depth: Um, peck: Um) {
        let feed = um(self.fitted_tool().feed);
        if self.machine.speech.drill_cycle {
            let [x, y] = at.map(fixed);
            let (z, r, f) = (fixed(-depth), fixed(APPROACH), fixed(feed));
            // Each cycle stands whole on its line, so that no line means less without the one before.
            match depth > peck {
                true => {
                    self.line(format_args!("G98 G83 X{x} Y{y} Z{z} R{r} Q{} F{f}", fixed(peck)))
                }
                false => self.line(format_args!("G98 G81 X{x} Y{y} Z{z} R{r} F{f}")),
            }
            self.line(format_args!("G80"));
            return;
        }
        self.over(at);
        self.line(format_args!("G0 Z{}", fixed(APPROACH)));
        let mut done = 0;
        while done < depth {
            if done > 0 {
                self.line(format_args!("G0 Z{}", fixed(APPROACH)));
                self.line(format_args!("G0 Z{}", fixed(PECK_GAP - done)));
            }
            done = (done + peck).min(depth);
            self.line(format_args!("G1 Z{} F{}", fixed(-done), fixed(feed)));
        }
        self.rise();
    }

    /// Round on a helix to the depth, once more round at the bottom, and out by the middle.
    fn bore(&mut self, at: [Um; 2], depth: Um, circle: Um, per_turn: Um) {
        let feed = fixed(um(self.fitted_tool().feed));
        let start = [at[0] + circle, at[1]];
        self.over(start);
        self.line(format_args!("G0 Z{}", fixed(APPROACH)));
        self.line(format_args!("G1 Z0.000 F{feed}"));
        let [x, y] = start.map(fixed);
        let i = fixed(-circle);
        let mut done = 0;
        while done < depth {
            done = (done + per_turn).min(depth);
            self.line(format_args!("G3 X{x} Y{y} Z{} I{i} J0.000 F{feed}", fixed(-done)));
        }
        self.line(format_args!("G3 X{x} Y{y} Z{} I{i} J0.000 F{feed}", fixed(-depth)));
        self.line(format_args!("G1 X{} F{feed}", fixed(at[0])));
        self.rise();
    }

    fn stroke(&mut self, points: &[[Um; 2]]) {
        let pen: &Pen = self.machine.pen.as_ref().expect("a plan draws with a pen");
        let (lift, settle, speed) = (pen.lift.clone(), pen.settle, um(pen.speed));
        self.over(points[0]);
        match &lift {
            Lift::Height { down, .. } => {
                // No rapid touches the cloth, and no feed outruns the axis.
                let slowly = speed.min(um(self.machine.motion.rapid[2]));
                self.line(format_args!("G1 Z{} F{}", fixed(um(*down)), fixed(slowly)));
            }
            Lift::Words { down, .. } => self.line(format_args!("{down}")),
        }
        self.dwell(settle);
        for point in &points[1..] {
            let [x, y] = point.map(fixed);
            self.line(format_args!("G1 X{x} Y{y} F{}", fixed(speed)));
        }
        match &lift {
            Lift::Height { .. } => self.rise(),
            Lift::Words { up, .. } => self.line(format_args!("{up}")),
        }
        self.dwell(settle);
    }

    fn over(&mut self, [x, y]: [Um; 2]) {
        self.line(format_args!("G0 X{} Y{}", fixed(x), fixed(y)));
    }

    fn rise(&mut self) {
        self.line(format_args!("G0 Z{}", fixed(self.plan.travel_height)));
    }

    fn dwell(&mut self, seconds: f64) {
        let count = match self.machine.speech.dwell {
            Dwell::Seconds => fixed(um(seconds)),
            Dwell::Milliseconds => format!("{:.0}", seconds * 1000.0),
        };
        if seconds > 0.0 {
            self.line(format_args!("G4 P{count}"));
        }
    }

    /// How the pen is lifted, where this program is a pen's.
    fn pen_lift(&self) -> Option<Lift> {
        let draws = self.plan.steps.iter().any(|step| matches!(step, Step::Stroke { .. }));
        self.machine.pen.as_ref().filter(|_| draws).map(|pen| pen.lift.clone())
    }

    fn fitted_tool(&self) -> &Tool {
        let number = self.plan.steps.iter().find_map(|step| match step {
            Step::Fit { tool, .. } => Some(*tool),
            _ => None,
        });
        self.tool(number.expect("a plan fits a tool before it drills"))
    }

    fn tool(&self, number: u32) -> &Tool {
        let found = self.machine.tools.iter().find(|tool| tool.number == number);
        found.expect("a plan fits only tools of its machine")
    }
}

/// Micrometres as millimetres with three decimals, never "-0.000".
fn fixed(um: Um) -> String {
    let sign = if um < 0 { "-" } else { "" };
    format!("{sign}{}.{:03}", um.abs() / 1000, um.abs() % 1000)
}

/// Micrometres as millimetres without needless noughts.
fn trimmed(um: Um) -> String {
    fixed(um).trim_end_matches('0').trim_end_matches('.').to_string()
}

/// Letters that a controller neither chokes on nor acts upon, even inside a comment.
fn plain(text: &str) -> String {
    let ascii = deunicode::deunicode_with_tofu(text, "-");
    let harmless = |c: char| match c {
        '(' | '[' | '{' => '<',
        ')' | ']' | '}' => '>',
        '!' | '~' | '?' | ';' | '%' | '$' | '*' | '@' | '^' | '\\' | '|' => '-',
        c if c.is_ascii_graphic() || c == ' ' => c,
        _ => ' ',
    };
    ascii.chars().map(harmless).collect()
}

/// Breaks a text between words into lines of at most `room` letters; a longer word is cut.
fn wrap(text: &str, room: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in text.split_whitespace() {
        let mut word = word;
        loop {
            let line = lines.last_mut().expect("there is always a line");
            let gap = usize::from(!line.is_empty());
            if line.len() + gap + word.len() <= room {
                if gap == 1 {
                    line.push(' ');
                }
                line.push_str(word);
                break;
            }
            if line.is_empty() {
                let (head, tail) = word.split_at(room);
                line.push_str(head);
                word = tail;
            }
            lines.push(String::new());
        }
    }
    lines
}
