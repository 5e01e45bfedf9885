//! A plan as G-code, in the plainest words that RS274/NGC has.
//!
//! Every line is one motion or one act, everything modal is stated at the top, and nothing is used that
//! controllers read differently. Printed from whole micrometres, in the controller's own speech.

use crate::{
    machine::{
        ArcWords, Comments, Dwell, EndWord, Kind, Lift, Machine, Pen, Rotation, Speech, Spindle,
        Tool, ToolChange,
    },
    notice,
    plan::{Leg, Plan, Round, Step, Um, um},
    units::Unit,
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
    let mut writer = Writer { plan, machine, text: String::new(), lines: 0, feed: None };
    let fence = |writer: &mut Writer| {
        if machine.speech.percent {
            writer.text.push_str("%\n");
        }
    };
    fence(&mut writer);
    writer.head(head);
    writer.preamble();
    for (i, step) in plan.steps.iter().enumerate() {
        writer.step(step, i);
    }
    writer.end();
    fence(&mut writer);
    writer.text
}

/// Line numbers go up in tens and begin again before they have six digits.
const NUMBERS: u32 = 9_999;

struct Writer<'a> {
    plan: &'a Plan,
    machine: &'a Machine,
    text: String,
    /// Lines with a number so far.
    lines: u32,
    /// Of the tool that was fitted last.
    feed: Option<Um>,
}

impl Writer<'_> {
    fn speech(&self) -> &Speech {
        &self.machine.speech
    }

    fn line(&mut self, words: std::fmt::Arguments) {
        if self.speech().line_numbers {
            let number = 10 * (self.lines % NUMBERS + 1);
            self.lines += 1;
            write!(self.text, "N{number} ").expect("a string takes all that is written");
        }
        self.text.write_fmt(words).expect("a string takes all that is written");
        self.text.push('\n');
    }

    /// A comment, broken where the controller's line ends.
    fn comment(&mut self, text: &str) {
        let (open, close) = match self.machine.speech.comments {
            Comments::Parentheses => ("(", ")"),
            Comments::Semicolon => ("; ", ""),
            Comments::None => return,
        };
        let room = self.machine.speech.line_length - open.len() - close.len();
        for line in wrap(&plain(text), room) {
            let _ = writeln!(self.text, "{open}{line}{close}");
        }
    }

    /// A length or a speed in the controller's unit, never "-0.000".
    fn n(&self, um: Um) -> String {
        let Speech { unit, decimals, .. } = *self.speech();
        fixed(um, unit, decimals)
    }

    fn head(&mut self, head: &Head) {
        for line in head_lines(self.plan, self.machine, head) {
            self.comment(&line);
        }
    }

    fn preamble(&mut self) {
        let unit = if self.speech().unit == Unit::Inch { "G20" } else { "G21" };
        self.line(format_args!("{unit} G17 G90 G94 G54"));
        match &self.pen_lift() {
            Some(Lift::Words { up, .. }) => self.line(format_args!("{up}")),
            _ => {
                self.line(format_args!("M5"));
                // Before its length is known, or Z0 is touched off, no tool is moved to a height.
                let fits_first = matches!(self.plan.steps.first(), Some(Step::Fit { .. }));
                if !fits_first || !self.is_fitted_where_it_stands() {
                    self.rise();
                }
            }
        }
        self.own(|speech| &speech.start);
    }

    /// The workshop's own lines.
    fn own(&mut self, lines: impl Fn(&Speech) -> &[String]) {
        for line in lines(&self.machine.speech) {
            self.line(format_args!("{line}"));
        }
    }

    fn end(&mut self) {
        let [x, y] = self.plan.park;
        match &self.pen_lift() {
            Some(Lift::Words { .. }) => {}
            _ => self.line(format_args!("M5")),
        }
        self.over([x, y]);
        self.own(|speech| &speech.end);
        if !self.plan.fitted().is_empty() && self.speaks_lengths() {
            self.line(format_args!("G49"));
        }
        match self.speech().end_word {
            EndWord::M2 => self.line(format_args!("M2")),
            EndWord::M30 => self.line(format_args!("M30")),
        }
    }

    fn speaks_lengths(&self) -> bool {
        self.speech().length_offset && self.speech().tool_change == ToolChange::M6
    }

    fn step(&mut self, step: &Step, index: usize) {
        match step {
            Step::Fit { tool, rpm, turn, feed } => {
                self.feed = Some(*feed);
                self.fit(*tool, *rpm, *turn, index);
            }
            Step::Drill { at, depth, peck, .. } => self.drill(*at, *depth, *peck),
            Step::Bore { at, depth, circle, per_turn, .. } => {
                self.bore(*at, *depth, *circle, *per_turn)
            }
            Step::Cut { from, legs, .. } => self.cut(*from, legs),
            Step::Stroke { points } => self.stroke(points),
            Step::Show { at, says } => {
                self.over(*at);
                self.comment(says);
                self.line(format_args!("M0"));
            }
            Step::Air { points } => points.iter().for_each(|&point| self.over(point)),
        }
    }

    /// Whether the machine need not stir before the first tool is fitted: it stands where tools are changed, or
    /// changes them by itself.
    fn is_fitted_where_it_stands(&self) -> bool {
        self.plan.change_at == self.plan.park || self.speaks_lengths()
    }

    /// Stops the spindle, goes to where a person can reach it, and asks for the tool.
    fn fit(&mut self, number: u32, rpm: f64, turn: Rotation, index: usize) {
        if index > 0 {
            self.line(format_args!("M5"));
        }
        if index > 0 || !self.is_fitted_where_it_stands() {
            self.over(self.plan.change_at);
        }
        let tool = self.tool(number).clone();
        let way = match turn {
            Rotation::Forward => "forward, clockwise from above",
            Rotation::Reverse => "IN REVERSE, anticlockwise from above",
        };
        self.comment(&format!("Tool {number}: {}, turning {way}", tool.name));
        let several = self.plan.fitted().len() > 1;
        let [x, y] = self.plan.touch_at.map(trimmed);
        let touch = match (several, index) {
            (false, _) => "touch off Z0 on top of the work".to_string(),
            (true, 0) => format!("touch off Z0 on top of the work at X {x} Y {y}"),
            (true, _) => format!("touch off Z0 at X {x} Y {y} again"),
        };
        match self.machine.speech.tool_change {
            ToolChange::Pause => {
                self.line(format_args!("T{number}"));
                self.comment(&format!("Fit it, {touch}, then carry on"));
                self.line(format_args!("M0"));
            }
            ToolChange::M6 => {
                self.line(format_args!("T{number} M6"));
                if self.speaks_lengths() {
                    self.line(format_args!("G43 H{number}"));
                } else {
                    // Nobody told the controller how long it is.
                    self.comment(&format!("Wait: {touch}, then carry on"));
                    self.line(format_args!("M0"));
                }
            }
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
        let feed = self.fitted_feed();
        if self.machine.speech.drill_cycle {
            let [x, y] = at.map(|um| self.n(um));
            let (z, r, f) = (self.n(-depth), self.n(APPROACH), self.n(feed));
            // Each cycle stands whole on its line, so that no line means less without the one before.
            match depth > peck {
                true => {
                    let q = self.n(peck);
                    self.line(format_args!("G98 G83 X{x} Y{y} Z{z} R{r} Q{q} F{f}"));
                }
                false => self.line(format_args!("G98 G81 X{x} Y{y} Z{z} R{r} F{f}")),
            }
            self.line(format_args!("G80"));
            return;
        }
        self.over(at);
        self.to("G0", [None, None, Some(APPROACH)], None);
        let mut done = 0;
        while done < depth {
            if done > 0 {
                self.to("G0", [None, None, Some(APPROACH)], None);
                self.to("G0", [None, None, Some(PECK_GAP - done)], None);
            }
            done = (done + peck).min(depth);
            self.to("G1", [None, None, Some(-done)], Some(feed));
        }
        self.rise();
    }

    /// Round on a helix to the depth, once more round at the bottom, and out by the middle.
    fn bore(&mut self, at: [Um; 2], depth: Um, circle: Um, per_turn: Um) {
        let feed = self.fitted_feed();
        self.over([at[0] + circle, at[1]]);
        self.to("G0", [None, None, Some(APPROACH)], None);
        self.to("G1", [None, None, Some(0)], Some(feed));
        let mut done = 0;
        while done < depth {
            let from = done;
            done = (done + per_turn).min(depth);
            self.turn(at, circle, [-from, -done], feed);
        }
        self.turn(at, circle, [-depth, -depth], feed);
        self.to("G1", [Some(at[0]), None, None], Some(feed));
        self.rise();
    }

    /// Once round anticlockwise, from one height to another.
    fn turn(&mut self, at: [Um; 2], circle: Um, [from, to]: [Um; 2], feed: Um) {
        let [x, y] = [at[0] + circle, at[1]].map(|um| self.n(um));
        let (f, r) = (self.n(feed), self.n(circle));
        match (self.speech().arcs, self.speech().arc_words) {
            (true, ArcWords::Centre) => {
                let (z, i, j) = (self.n(to), self.n(-circle), self.n(0));
                self.line(format_args!("G3 X{x} Y{y} Z{z} I{i} J{j} F{f}"));
            }
            (true, ArcWords::Radius) => {
                // A radius says no full circle, and half of one badly.
                for (quarter, [side, up]) in (1..).zip([[0, 1], [-1, 0], [0, -1], [1, 0]]) {
                    let [x, y] = [at[0] + side * circle, at[1] + up * circle].map(|um| self.n(um));
                    let z = self.n(from + (to - from) * quarter / 4);
                    self.line(format_args!("G3 X{x} Y{y} Z{z} R{r} F{f}"));
                }
            }
            (false, _) => {
                let round = chords(circle, self.speech().chord_error);
                let count = round.len() as Um;
                for (k, [dx, dy]) in (1..).zip(round) {
                    let z = from + (to - from) * k / count;
                    self.to("G1", [Some(at[0] + dx), Some(at[1] + dy), Some(z)], Some(feed));
                }
            }
        }
    }

    /// Down to the top of the work, along every leg, and up.
    fn cut(&mut self, from: [Um; 2], legs: &[Leg]) {
        let feed = self.fitted_feed();
        self.over(from);
        self.to("G0", [None, None, Some(APPROACH)], None);
        self.to("G1", [None, None, Some(0)], Some(feed));
        let mut here = [from[0], from[1], 0];
        for leg in legs {
            match leg.round {
                None => {
                    let axes = [0, 1, 2].map(|i| Some(leg.to[i]).filter(|to| *to != here[i]));
                    self.to("G1", axes, Some(feed));
                }
                Some((centre, way)) => self.arc(here, leg.to, centre, way, feed),
            }
            here = leg.to;
        }
        self.rise();
    }

    /// At most a quarter of a circle, from one height to another.
    fn arc(&mut self, from: [Um; 3], to: [Um; 3], centre: [Um; 2], way: Round, feed: Um) {
        let word = match way {
            Round::Clockwise => "G2",
            Round::Anticlockwise => "G3",
        };
        let out = [0, 1].map(|i| (from[i] - centre[i]) as f64);
        let radius = (out[0] * out[0] + out[1] * out[1]).sqrt();
        let ([x, y, z], f) = (to.map(|um| self.n(um)), self.n(feed));
        match (self.speech().arcs, self.speech().arc_words) {
            (true, ArcWords::Centre) => {
                let [i, j] = [0, 1].map(|axis| self.n(centre[axis] - from[axis]));
                self.line(format_args!("{word} X{x} Y{y} Z{z} I{i} J{j} F{f}"));
            }
            (true, ArcWords::Radius) => {
                let r = self.n(radius.round() as Um);
                self.line(format_args!("{word} X{x} Y{y} Z{z} R{r} F{f}"));
            }
            (false, _) => {
                let end = [0, 1].map(|i| (to[i] - centre[i]) as f64);
                let turn = libm::atan2(
                    out[0] * end[1] - out[1] * end[0],
                    out[0] * end[0] + out[1] * end[1],
                );
                // The height of a chord over an angle t is r·(1 - cos(t / 2)).
                let flat = (1.0 - 1000.0 * self.speech().chord_error / radius).max(0.0);
                let count = (turn.abs() / (2.0 * libm::acos(flat))).ceil().max(1.0) as Um;
                for k in 1..count {
                    let (sin, cos) = libm::sincos(turn * k as f64 / count as f64);
                    let at = [out[0] * cos - out[1] * sin, out[0] * sin + out[1] * cos];
                    let [x, y] = [0, 1].map(|i| Some(centre[i] + at[i].round() as Um));
                    let z = from[2] + (to[2] - from[2]) * k / count;
                    self.to("G1", [x, y, Some(z)], Some(feed));
                }
                self.to("G1", to.map(Some), Some(feed));
            }
        }
    }

    fn stroke(&mut self, points: &[[Um; 2]]) {
        let pen: &Pen = self.machine.pen.as_ref().expect("a plan draws with a pen");
        let (lift, settle, speed) = (pen.lift.clone(), pen.settle, um(pen.speed));
        self.over(points[0]);
        match &lift {
            Lift::Height { down, .. } => {
                // No rapid touches the cloth, and no feed outruns the axis.
                let slowly = speed.min(um(self.machine.motion.rapid[2]));
                self.to("G1", [None, None, Some(um(*down))], Some(slowly));
            }
            Lift::Words { down, .. } => self.line(format_args!("{down}")),
        }
        self.dwell(settle);
        for point in &points[1..] {
            self.to("G1", [Some(point[0]), Some(point[1]), None], Some(speed));
        }
        match &lift {
            Lift::Height { .. } => self.rise(),
            Lift::Words { up, .. } => self.line(format_args!("{up}")),
        }
        self.dwell(settle);
    }

    fn over(&mut self, [x, y]: [Um; 2]) {
        self.to("G0", [Some(x), Some(y), None], None);
    }

    fn rise(&mut self) {
        self.to("G0", [None, None, Some(self.plan.travel_height)], None);
    }

    /// One straight move.
    fn to(&mut self, word: &str, axes: [Option<Um>; 3], feed: Option<Um>) {
        let mut words = word.to_string();
        for (letter, value) in ["X", "Y", "Z", "F"].into_iter().zip(axes.into_iter().chain([feed]))
        {
            if let Some(value) = value {
                let _ = write!(words, " {letter}{}", self.n(value));
            }
        }
        self.line(format_args!("{words}"));
    }

    fn dwell(&mut self, seconds: f64) {
        let count = match self.machine.speech.dwell {
            Dwell::Seconds => fixed(um(seconds), Unit::Millimetre, 3),
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

    fn fitted_feed(&self) -> Um {
        self.feed.expect("a plan fits a tool before it drills")
    }

    fn tool(&self, number: u32) -> &Tool {
        let found = self.machine.tools.iter().find(|tool| tool.number == number);
        found.expect("a plan fits only tools of its machine")
    }
}

/// What the head says, a line for each thing to know.
pub(super) fn head_lines(plan: &Plan, machine: &Machine, head: &Head) -> Vec<String> {
    let Plan { work, lies, size, .. } = plan;
    let [x, y, thick] = size.map(trimmed);
    let mut says = vec![format!("{work} - {}", head.title), format!("work {x} x {y} x {thick} mm")];
    let corner = plan.setup.lay.corner;
    if corner != [0, 0] {
        let [x, y] = corner.map(trimmed);
        says.push(format!("lies at X {x} Y {y}"));
    }
    says.push(format!("Lay the {work} {lies}."));
    says.extend(plan.laid_down());
    let [bed_x, bed_y] = machine.bed.work_at.map(|mm| trimmed(um(mm)));
    if corner == [0, 0] {
        says.push(format!("X0 Y0 is the lower left corner of the {work} as it lies,"));
        says.push(format!("at X {bed_x} Y {bed_y} of the bed. Z0 is {}.", plan.top));
    } else {
        let top = plan.top.replace("its top", &format!("the top of the {work}"));
        says.push(format!("X0 Y0 is at X {bed_x} Y {bed_y} of the bed. Z0 is {top}."));
    }
    says.push(format!("Machine: {}", machine.title));
    let holes = plan.drilled().len();
    let strokes = plan.steps.iter().filter(|s| matches!(s, Step::Stroke { .. })).count();
    if holes > 0 {
        says.push(format!("{holes} hole{}", if holes == 1 { "" } else { "s" }));
    }
    if plan.steps.iter().any(|step| matches!(step, Step::Cut { .. })) {
        says.push(
            "It also cuts the board sideways: screw or clamp its sheet down all round, and leave the tabs until the spindle stands still."
                .to_string(),
        );
    }
    if let tools @ [_, _, ..] = plan.fitted().as_slice() {
        let tools: Vec<String> = tools.iter().map(u32::to_string).collect();
        says.push(format!("Tools in turn: {}", tools.join(", ")));
    }
    if strokes > 0 {
        says.push(format!("{strokes} pen strokes"));
        if machine.kind == Kind::Router {
            says.push("Clip the pen on. No tool in the spindle, and it must not turn.".to_string());
        }
    }
    if let Some(minutes) = head.minutes {
        says.push(format!("About {minutes} min without the time for changing tools"));
    }
    says.extend(notice::SHORT.map(str::to_string));
    says
}

/// The points of a circle walked round once anticlockwise from its right, as steps from its middle, so
/// that no chord is farther from it than `error` mm. The points are a multiple of four, and on the circle.
fn chords(circle: Um, error: f64) -> Vec<[Um; 2]> {
    let radius = circle as f64;
    // The height of a chord over an angle t is r·(1 - cos(t / 2)).
    let flat = (1.0 - 1000.0 * error / radius).max(0.0);
    let quarters = (std::f64::consts::FRAC_PI_4 / libm::acos(flat)).ceil().max(2.0) as usize;
    let count = 4 * quarters;
    let point = |k: usize| {
        let angle = std::f64::consts::TAU * k as f64 / count as f64;
        [libm::cos(angle), libm::sin(angle)].map(|part| (radius * part).round() as Um)
    };
    (1..=count).map(point).collect()
}

/// Micrometres in a unit with so many decimals, never "-0.000".
fn fixed(um: Um, unit: Unit, decimals: usize) -> String {
    let ten = 10i64.pow(decimals as u32);
    // Whole numbers all the way: halves are rounded away from nought.
    let per_unit = if unit == Unit::Inch { 25_400 } else { 1_000 };
    let count = (um.abs() * ten * 2 + per_unit) / (per_unit * 2);
    let sign = if um < 0 && count > 0 { "-" } else { "" };
    format!("{sign}{}.{:0decimals$}", count / ten, count % ten)
}

/// Micrometres as millimetres without needless noughts.
fn trimmed(um: Um) -> String {
    fixed(um, Unit::Millimetre, 3).trim_end_matches('0').trim_end_matches('.').to_string()
}

/// Letters that a controller neither chokes on nor acts upon, even inside a comment.
pub(super) fn plain(text: &str) -> String {
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
