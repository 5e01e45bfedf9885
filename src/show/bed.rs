//! One program on its machine's bed, to scale. Everything about the tool comes from the trace of the
//! program's bytes; nothing here knows a layout, so a program from elsewhere is shown the same way.

use super::html::{escape, mm, place};
use crate::{
    machine::{KeepClear, Machine, Work},
    sim::{Fault, Move, MoveKind, PenState, Rehearsal, Warning},
};
use kurbo::{Affine, BezPath, Rect, Shape as _};
use std::{collections::BTreeMap, fmt::Write};

/// Within this a mark of the trace is the named place, µm.
const SAME_PLACE: i64 = 10;

/// What a picture of a program is made from. Places are millimetres from the work's lower left corner.
pub struct OnBed<'a> {
    pub file: &'a str,
    pub machine: &'a Machine,
    pub work: Option<Work>,
    /// The work as it lies.
    pub outline: BezPath,
    pub text: &'a str,
    pub trace: &'a [Move],
    pub rehearsal: &'a Rehearsal,
    /// Every place where the tool made something.
    pub spots: Vec<Spot>,
}

/// A place with a name, as the layout has it on the work and on the finished panel.
pub struct Named {
    pub name: String,
    pub at: [f64; 2],
    pub on_panel: [f64; 2],
}

/// A hole or a mark as the trace made it.
#[derive(Debug, Clone)]
pub struct Spot {
    pub name: String,
    pub on_panel: Option<[f64; 2]>,
    pub at: [f64; 2],
    /// Lowest tip below the top of the work; nought for a pen.
    pub depth: f64,
    /// Nought for a pen.
    pub diameter: f64,
    /// Line of the program that first makes it.
    pub line: u64,
}

/// Finds the holes and pen marks of a trace and gives them their names. A hole without a name gets its
/// number; a pen line is a spot only where a named place is the middle of it.
pub fn spots(trace: &[Move], machine: &Machine, named: &[Named]) -> Vec<Spot> {
    let mut names = Places::default();
    for (i, place) in named.iter().enumerate() {
        names.put(place.at, i);
    }
    let mut found = Finder {
        machine,
        named,
        names,
        made: Places::default(),
        spots: Vec::new(),
        shortest: Vec::new(),
    };
    for step in trace {
        found.watch(step);
    }
    found.spots
}

struct Finder<'a> {
    machine: &'a Machine,
    named: &'a [Named],
    names: Places,
    made: Places,
    spots: Vec<Spot>,
    /// Length of the shortest line that made each spot: a long pen line that has a mark at its middle by
    /// chance is not the mark.
    shortest: Vec<f64>,
}

impl Finder<'_> {
    fn watch(&mut self, step: &Move) {
        let (from, to) = (flat(step.from), flat(step.to));
        let draws = step.pen == Some(PenState::Down);
        let depth = if draws { 0.0 } else { (-step.from[2].min(step.to[2])).max(0.0) };
        if depth == 0.0 && !(draws && from != to) {
            return;
        }
        let at = match &step.arc {
            Some(arc) => arc.centre,
            None if draws => [(from[0] + to[0]) / 2.0, (from[1] + to[1]) / 2.0],
            None => to,
        };
        let length = if draws { distance(from, to) } else { 0.0 };
        let tool = self.machine.tools.iter().find(|tool| Some(tool.number) == step.tool);
        let diameter = match tool {
            Some(tool) if !draws => {
                tool.diameter + step.arc.as_ref().map_or(0.0, |arc| 2.0 * arc.radius)
            }
            _ => 0.0,
        };
        let before = self.made.at(at).or_else(|| {
            let last = self.spots.last()?;
            // Within the hole that is being bored.
            (2.0 * distance(to, last.at) < last.diameter).then(|| self.spots.len() - 1)
        });
        if let Some(i) = before {
            let spot = &mut self.spots[i];
            spot.depth = spot.depth.max(depth);
            spot.diameter = spot.diameter.max(diameter);
            if length < self.shortest[i] {
                (spot.line, self.shortest[i]) = (step.line, length);
            }
            return;
        }
        let named = self.names.at(at).map(|i| &self.named[i]);
        if draws && named.is_none() {
            return;
        }
        self.made.put(at, self.spots.len());
        self.shortest.push(length);
        self.spots.push(Spot {
            name: named.map_or_else(|| (self.spots.len() + 1).to_string(), |n| n.name.clone()),
            on_panel: named.map(|n| n.on_panel),
            at,
            depth,
            diameter,
            line: step.line,
        });
    }
}

/// Finds by place, within [`SAME_PLACE`].
#[derive(Default)]
struct Places(BTreeMap<[i64; 2], usize>);

impl Places {
    fn put(&mut self, at: [f64; 2], index: usize) {
        self.0.insert(at.map(um), index);
    }

    fn at(&self, at: [f64; 2]) -> Option<usize> {
        let at = at.map(um);
        let beside = [at[0] - SAME_PLACE, i64::MIN]..=[at[0] + SAME_PLACE, i64::MAX];
        self.0
            .range(beside)
            .find(|(place, _)| (place[1] - at[1]).abs() <= SAME_PLACE)
            .map(|(_, &i)| i)
    }
}

fn um(mm: f64) -> i64 {
    (mm * 1000.0).round() as i64
}

fn flat(p: [f64; 3]) -> [f64; 2] {
    [p[0], p[1]]
}

fn distance(a: [f64; 2], b: [f64; 2]) -> f64 {
    let [x, y] = [a[0] - b[0], a[1] - b[1]];
    (x * x + y * y).sqrt()
}

/// Whether a picture writes the spots' names itself; the preview's page writes them as one zooms.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Names {
    Written,
    LeftToThePage,
}

impl OnBed<'_> {
    /// `board` of `board.nc`: what the page knows the program by.
    pub fn id(&self) -> &str {
        self.file.split('.').next().expect("a split has a first part")
    }

    /// All that is to be seen: the bed, the work, and the tool wherever it went.
    pub fn bounds(&self) -> Rect {
        let bed = &self.machine.bed;
        let [x, y] = bed.work_at;
        let way = self.trace.iter().flat_map(|step| [step.from, step.to]);
        let all = way.fold(self.outline.bounding_box(), |all, p| all.union_pt((p[0], p[1])));
        all.union(Rect::new(-x, -y, bed.x - x, bed.y - y))
    }

    /// The picture's own window: [`OnBed::bounds`] and a margin; left, bottom, width, height.
    pub fn window(&self) -> [f64; 4] {
        let all = self.bounds();
        let margin = all.width().max(all.height()) * 0.025;
        let all = all.inflate(margin, margin);
        [all.x0, all.y0, all.width(), all.height()]
    }

    pub fn picture(&self, names: Names) -> String {
        let [left, bottom, width, height] = self.window();
        let letter = width.max(height) / 58.0;
        let id = self.id();
        let mut svg = format!(
            "<svg class=\"bed\" role=\"img\" aria-label=\"{}\" viewBox=\"{} {} {} {}\" style=\"--letter:{}px\">",
            escape(&self.described()),
            mm(left),
            mm(-bottom - height),
            mm(width),
            mm(height),
            mm(letter)
        );
        self.bed(&mut svg, id, letter);
        let (work, outline) =
            (self.work.map_or("work", Work::word), (Affine::FLIP_Y * &self.outline).to_svg());
        let _ = write!(svg, "<path class=\"sheet {work}\" d=\"{outline}\"/>");
        self.clamps(&mut svg, id);
        self.holes(&mut svg);
        self.way(&mut svg);
        self.zero(&mut svg, letter);
        if names == Names::Written {
            self.names(&mut svg, letter);
        }
        self.notes(&mut svg, letter);
        svg.push_str("</svg>");
        svg
    }

    /// The picture in words.
    pub fn described(&self) -> String {
        let size = self.outline.bounding_box();
        format!(
            "{} on the bed of {}: the work is {} by {} mm, its lower left corner at X {} Y {} of the bed",
            self.file,
            self.machine.title,
            mm(size.width()),
            mm(size.height()),
            mm(self.machine.bed.work_at[0]),
            mm(self.machine.bed.work_at[1])
        )
    }

    fn bed(&self, svg: &mut String, id: &str, letter: f64) {
        let (bed, [x, y]) = (&self.machine.bed, self.machine.bed.work_at);
        let hatch = letter * 0.7;
        let _ = write!(
            svg,
            "<defs><pattern id=\"hatch-{id}\" width=\"{0}\" height=\"{0}\" patternUnits=\"userSpaceOnUse\" \
             patternTransform=\"rotate(45)\"><path class=\"hatch\" d=\"M0 0V{0}\" stroke-width=\"{1}\"/></pattern></defs>\
             <rect class=\"table\" x=\"{2}\" y=\"{3}\" width=\"{4}\" height=\"{5}\"/>",
            mm(hatch),
            mm(hatch * 0.5),
            mm(-x),
            mm(y - bed.y),
            mm(bed.x),
            mm(bed.y)
        );
    }

    /// Over the sheet: a clamp grips it from above.
    fn clamps(&self, svg: &mut String, id: &str) {
        let [x, y] = self.machine.bed.work_at;
        for KeepClear { x: [x0, x1], y: [y0, y1], height } in &self.machine.keep_clear {
            let _ = write!(
                svg,
                "<g><title>Keep clear, {0} mm high</title><rect class=\"clamp\" x=\"{1}\" y=\"{2}\" width=\"{3}\" height=\"{4}\" \
                 fill=\"url(#hatch-{id})\"/></g>",
                mm(*height),
                mm(x0 - x),
                mm(y - y1),
                mm(x1 - x0),
                mm(y1 - y0)
            );
        }
    }

    /// Holes as wide dots: a stroke of no length has round ends. One path for each diameter.
    fn holes(&self, svg: &mut String) {
        let mut dots: BTreeMap<i64, Pencil> = BTreeMap::new();
        for spot in self.spots.iter().filter(|spot| spot.diameter > 0.0) {
            let pencil = dots.entry(um(spot.diameter)).or_default();
            pencil.lift_to(spot.at);
            pencil.path.push_str("h0");
        }
        for (diameter, Pencil { path, .. }) in dots {
            let width = diameter / 10;
            let _ = write!(
                svg,
                "<g transform=\"scale(.01)\"><path class=\"rim-of-hole\" d=\"{path}\" stroke-width=\"{width}\"/>\
                 <path class=\"hole\" d=\"{path}\" stroke-width=\"{}\"/></g>",
                width * 4 / 5
            );
        }
    }

    /// The tool's way: rapids apart from feeds.
    fn way(&self, svg: &mut String) {
        let (mut rapid, mut feed) = (Pencil::default(), Pencil::default());
        for step in self.trace {
            let (from, to) = (flat(step.from), flat(step.to));
            let pencil = if step.kind == MoveKind::Rapid { &mut rapid } else { &mut feed };
            match &step.arc {
                Some(arc) => {
                    // Two halves, because one arc that ends where it starts draws nothing.
                    pencil.lift_to(from);
                    let turn = if step.kind == MoveKind::ArcCw { 1.0 } else { -1.0 };
                    pencil.arc_to(halfway(from, to, arc.centre, turn), arc.radius, turn);
                    pencil.arc_to(to, arc.radius, turn);
                }
                None if from != to => {
                    pencil.lift_to(from);
                    pencil.line_to(to);
                }
                None => {}
            }
        }
        let _ = write!(
            svg,
            "<g transform=\"scale(.01)\"><path class=\"rapid\" d=\"{}\"/><path class=\"feed\" d=\"{}\"/></g>",
            rapid.path, feed.path
        );
    }

    fn zero(&self, svg: &mut String, t: f64) {
        let r = t * 0.6;
        let _ = write!(
            svg,
            "<g class=\"zero\"><circle r=\"{0}\"/><path d=\"M{1} 0H{2}M0 {1}V{2}\"/><text x=\"{3}\" y=\"{4}\">X0 Y0</text></g>",
            mm(r),
            mm(-2.0 * r),
            mm(2.0 * r),
            mm(t * 0.8),
            mm(-t * 0.8)
        );
    }

    fn names(&self, svg: &mut String, letter: f64) {
        let size = self.room().min(letter);
        let _ = write!(svg, "<g class=\"names\" style=\"font-size:{}px\">", mm(size));
        for spot in &self.spots {
            let below = spot.diameter / 2.0 + size * 0.95;
            let _ = write!(
                svg,
                "<text x=\"{}\" y=\"{}\">{}</text>",
                mm(spot.at[0]),
                mm(below - spot.at[1]),
                escape(&spot.name)
            );
        }
        svg.push_str("</g>");
    }

    /// Height of letters that keeps neighbouring names apart: a name is about three letters wide.
    fn room(&self) -> f64 {
        let mut by_row: Vec<[i64; 2]> =
            self.spots.iter().map(|s| [um(s.at[1]), um(s.at[0])]).collect();
        by_row.sort_unstable();
        let gaps = by_row.windows(2).filter(|w| w[0][0] == w[1][0]).map(|w| w[1][1] - w[0][1]);
        gaps.min().map_or(f64::INFINITY, |gap| gap as f64 / 1000.0 / 3.2)
    }

    /// Faults and warnings where they happen: where the tool is when their line begins.
    fn notes(&self, svg: &mut String, t: f64) {
        let faults = self
            .rehearsal
            .faults
            .iter()
            .map(|Fault { line, message, .. }| ("fault", *line, message));
        let warnings = self
            .rehearsal
            .warnings
            .iter()
            .map(|Warning { line, message, .. }| ("warning", *line, message));
        for (class, line, message) in faults.chain(warnings) {
            let Some(step) = self.trace.iter().find(|step| step.line >= line).or(self.trace.last())
            else {
                continue;
            };
            let _ = write!(
                svg,
                "<g class=\"{class}\" transform=\"translate({})\"><title>Line {line}: {}</title>\
                 <path d=\"M0 0L{} {}H{}Z\"/><text y=\"{}\">!</text></g>",
                // The tip points at the place.
                place(flat(step.from)),
                escape(message),
                mm(t * 0.9),
                mm(-t * 1.7),
                mm(-t * 0.9),
                mm(-t * 0.65)
            );
        }
    }
}

/// The point halfway round from one place to another; `turn` is 1 clockwise, -1 anticlockwise. By square
/// roots alone, so that every machine writes the same bytes.
fn halfway(from: [f64; 2], to: [f64; 2], centre: [f64; 2], turn: f64) -> [f64; 2] {
    let out = |p: [f64; 2]| [p[0] - centre[0], p[1] - centre[1]];
    let (a, b) = (out(from), out(to));
    let radius = distance(from, centre);
    let whole_circle = distance(from, to) < 1e-6;
    let between = [a[0] + b[0], a[1] + b[1]];
    let length = distance(between, [0.0, 0.0]);
    let way = match () {
        () if whole_circle => [-a[0], -a[1]],
        // Half a turn: square to the radius.
        () if length < radius * 1e-6 => [a[1] * turn, -a[0] * turn],
        () => {
            // Over half a turn, the way's middle lies opposite the middle of its ends.
            let left = (a[0] * b[1] - a[1] * b[0]) * turn > 0.0;
            let scale = if left { -radius / length } else { radius / length };
            [between[0] * scale, between[1] * scale]
        }
    };
    [centre[0] + way[0], centre[1] + way[1]]
}

/// Writes a path in whole hundredths of a millimetre, each place from the one before: a third of the
/// length of places written out.
#[derive(Default)]
struct Pencil {
    path: String,
    at: Option<[i64; 2]>,
}

impl Pencil {
    fn step(&mut self, to: [f64; 2]) -> [i64; 2] {
        let to = [hundredths(to[0]), -hundredths(to[1])];
        let from = self.at.replace(to).unwrap_or([0, 0]);
        [to[0] - from[0], to[1] - from[1]]
    }

    fn lift_to(&mut self, to: [f64; 2]) {
        let first = self.at.is_none();
        let [x, y] = self.step(to);
        if first || [x, y] != [0, 0] {
            let _ = write!(self.path, "m{x} {y}");
        }
    }

    fn line_to(&mut self, to: [f64; 2]) {
        let [x, y] = self.step(to);
        let _ = write!(self.path, "l{x} {y}");
    }

    fn arc_to(&mut self, to: [f64; 2], radius: f64, turn: f64) {
        let [x, y] = self.step(to);
        let (r, sweep) = (hundredths(radius), i32::from(turn > 0.0));
        let _ = write!(self.path, "a{r} {r} 0 0 {sweep} {x} {y}");
    }
}

fn hundredths(mm: f64) -> i64 {
    (mm * 100.0).round() as i64
}
