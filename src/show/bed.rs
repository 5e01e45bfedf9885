//! One program on its machine's bed, to scale. Everything about the tool comes from the trace of the
//! program's bytes; nothing here knows a layout, so a program from elsewhere is shown the same way.

use super::{
    drawing::{self, Anchor, Drawing, Flag, Shape, Stand, Style, Turn, Words},
    html::mm,
};
use crate::{
    machine::{KeepClear, Machine, Work},
    sim::{self, Fault, Holes, Move, MoveKind, PenState, Rehearsal, Ring, Warning},
};
use kurbo::{BezPath, Rect, Shape as _};
use std::collections::{BTreeMap, BTreeSet};

/// Within this a mark of the trace is the named place, µm.
const SAME_PLACE: i64 = 10;
/// The largest ring that marks a button, from its middle, mm.
const RING: f64 = 10.0;

/// What a picture of a program is made from. Places are millimetres from the work's lower left corner.
pub struct OnBed<'a> {
    pub file: &'a str,
    pub machine: &'a Machine,
    pub work: Option<Work>,
    /// The work as it lies.
    pub outline: BezPath,
    /// What is cut out of it, in this program or another; empty where it comes cut to shape.
    pub panel: BezPath,
    pub text: &'a str,
    pub trace: &'a [Move],
    pub rehearsal: &'a Rehearsal,
    /// Every place where the tool made something.
    pub spots: Vec<Spot>,
    /// Holes of the work that other programs make.
    pub elsewhere: Vec<Elsewhere>,
    /// Dowels that the work stands on, or that are put in afterwards.
    pub dowels: Vec<Peg>,
}

/// A hole of the work that another set-up makes.
pub struct Elsewhere {
    pub at: [f64; 2],
    pub diameter: f64,
    pub when: When,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum When {
    Before,
    Later,
}

/// A dowel in the spoilboard.
pub struct Peg {
    pub at: [f64; 2],
    pub diameter: f64,
    /// The hole of the work that it goes through.
    pub hole: String,
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
/// number; a pen line is a spot only where a named place is the middle of it, and a sideways cut is none.
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
    let mut holes = Holes::default();
    let mut bored = Places::default();
    for (step, ring) in trace.iter().zip(sim::rings(trace)) {
        found.watch(step, ring);
        if let Some(ring) = ring {
            bored.put(ring.centre, 0);
        }
        // In the frame of the work, whatever the program calls the place.
        holes.watch(&Move { said: step.to, ..step.clone() });
    }
    for [x, y, _] in holes.found() {
        bored.put([x, y], 0);
    }
    let mut spots = found.spots;
    spots.retain(|spot| spot.depth == 0.0 || bored.at(spot.at).is_some());
    for (i, spot) in spots.iter_mut().enumerate().filter(|(_, spot)| spot.name.is_empty()) {
        spot.name = (i + 1).to_string();
    }
    spots
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
    fn watch(&mut self, step: &Move, ring: Option<Ring>) {
        let (from, to) = (flat(step.from), flat(step.to));
        let draws = step.pen == Some(PenState::Down);
        let depth = if draws { 0.0 } else { (-step.from[2].min(step.to[2])).max(0.0) };
        if depth == 0.0 && !(draws && from != to) {
            return;
        }
        let ring = ring.filter(|_| !draws);
        let at = match (&step.arc, ring) {
            (Some(arc), _) => arc.centre,
            (None, Some(ring)) => ring.centre,
            _ if draws => [(from[0] + to[0]) / 2.0, (from[1] + to[1]) / 2.0],
            _ => to,
        };
        let at = match draws && self.names.at(at).is_none() {
            true => self.middle_of_ring(from, to).unwrap_or(at),
            false => at,
        };
        let length = if draws { distance(from, to) } else { 0.0 };
        let tool = self.machine.tools.iter().find(|tool| Some(tool.number) == step.tool);
        let diameter = match tool {
            // What only marks where another bit starts is no hole's diameter.
            Some(tool) if !draws && tool.spots.is_none() => {
                let arc = step.arc.as_ref().map(|arc| arc.radius);
                tool.diameter + 2.0 * arc.or(ring.map(|ring| ring.radius)).unwrap_or(0.0)
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
            name: named.map(|n| n.name.clone()).unwrap_or_default(),
            on_panel: named.map(|n| n.on_panel),
            at,
            depth,
            diameter,
            line: step.line,
        });
    }
}

impl Finder<'_> {
    /// The named place that a short pen line goes round, as far from its beginning as from its end.
    fn middle_of_ring(&self, from: [f64; 2], to: [f64; 2]) -> Option<[f64; 2]> {
        let near = self.names.beside(from[0], RING);
        near.map(|i| self.named[i].at).find(|&place| {
            let (a, b) = (distance(from, place), distance(to, place));
            a > 0.0 && a < RING && um((a - b).abs()) <= SAME_PLACE
        })
    }
}

/// Finds by place, within [`SAME_PLACE`].
#[derive(Default)]
struct Places(BTreeMap<[i64; 2], usize>);

impl Places {
    fn put(&mut self, at: [f64; 2], index: usize) {
        self.0.insert(at.map(um), index);
    }

    /// All whose X is within `reach`, mm.
    fn beside(&self, x: f64, reach: f64) -> impl Iterator<Item = usize> {
        self.0.range([um(x - reach), i64::MIN]..=[um(x + reach), i64::MAX]).map(|(_, &i)| i)
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
    pub fn id(&self) -> String {
        let stem = self.file.split('.').next().expect("a split has a first part");
        stem.chars().map(|c| if c.is_alphanumeric() { c } else { '-' }).collect()
    }

    fn table(&self) -> Rect {
        let (bed, [x, y]) = (&self.machine.bed, self.machine.bed.work_at);
        Rect::new(-x, -y, bed.x - x, bed.y - y)
    }

    /// All that is to be seen: the work, the clamps, the tool wherever it went, and the bed; of a bed that
    /// goes on far beyond them, a margin.
    pub fn bounds(&self) -> Rect {
        let [x, y] = self.machine.bed.work_at;
        let way = self.trace.iter().flat_map(|step| [step.from, step.to]);
        let busy = way.fold(self.outline.bounding_box(), |all, p| all.union_pt((p[0], p[1])));
        let busy = self.machine.keep_clear.iter().fold(busy.union_pt((0.0, 0.0)), |all, clamp| {
            let ([x0, x1], [y0, y1]) = (clamp.x, clamp.y);
            all.union(Rect::new(x0 - x, y0 - y, x1 - x, y1 - y))
        });
        let margin = busy.width().max(busy.height()) * 0.15;
        let table = self.table();
        // Outwards is up for both.
        let edge = |busy: f64, table: f64| match table > busy + 2.0 * margin {
            true => busy + margin,
            false => table.max(busy),
        };
        Rect::new(
            -edge(-busy.x0, -table.x0),
            -edge(-busy.y0, -table.y0),
            edge(busy.x1, table.x1),
            edge(busy.y1, table.y1),
        )
    }

    /// The picture's own window: [`OnBed::bounds`] and a margin; left, bottom, width, height.
    pub fn window(&self) -> [f64; 4] {
        let all = self.bounds();
        let margin = all.width().max(all.height()) * 0.025;
        let all = all.inflate(margin, margin);
        [all.x0, all.y0, all.width(), all.height()]
    }

    pub fn drawing(&self, names: Names) -> Drawing {
        let [left, bottom, width, height] = self.window();
        let mut drawing = Drawing {
            id: self.id(),
            class: match self.work {
                Some(Work::Board) => "bed board",
                Some(Work::Foam) => "bed foam",
                Some(Work::Fabric) => "bed fabric",
                None => "bed",
            },
            described: self.described(),
            window: Rect::new(left, bottom, left + width, bottom + height),
            letter: width.max(height) / 58.0,
            shapes: Vec::new(),
        };
        let table = self.table();
        drawing.path(Style::Table, drawing::rectangle(table));
        self.goes_on(&mut drawing);
        drawing.path(Style::Sheet(self.work), self.outline.clone());
        let sheet = self.outline.bounding_box();
        if sheet.area() > 0.0 && table.union(sheet) != table {
            // The bed once more, over a sheet that hides its edges.
            drawing.path(Style::Reach, drawing::rectangle(table));
        }
        drawing.path(Style::Later, self.panel.clone());
        self.clamps(&mut drawing);
        self.elsewhere(&mut drawing);
        self.holes(&mut drawing);
        self.pegs(&mut drawing);
        self.way(&mut drawing);
        self.zero(&mut drawing);
        if names == Names::Written {
            self.names(&mut drawing);
        }
        self.flags(&mut drawing);
        drawing
    }

    /// The picture in words.
    pub fn described(&self) -> String {
        let on = format!("{} on the bed of {}", self.file, self.machine.title);
        let zero = self.machine.bed.work_at;
        let [x, y] = zero.map(mm);
        let size = self.outline.bounding_box();
        match self.outline.elements().is_empty() {
            true => format!("{on}: X0 Y0 lies at X {x} Y {y} of the bed"),
            false => format!(
                "{on}: the work is {} by {} mm, its lower left corner at X {} Y {} of the bed",
                mm(size.width()),
                mm(size.height()),
                mm(zero[0] + size.x0),
                mm(zero[1] + size.y0),
            ),
        }
    }

    /// Where the bed's far edges are, if they are not to be seen.
    fn goes_on(&self, drawing: &mut Drawing) {
        let (shown, table, t) = (self.bounds(), self.table(), drawing.letter);
        let [across, up] = [shown.center().x, shown.center().y];
        let mut say = |axis: &str, to: f64, at: [f64; 2], turn: Turn| {
            drawing.shapes.push(Shape::Words(Words {
                style: Style::Guide,
                size: t * 0.9,
                anchor: Anchor::Middle,
                turn,
                stand: Stand::Middle,
                words: vec![(at, format!("the bed goes on to {axis} {}", mm(to)))],
            }));
        };
        if table.y1 > shown.y1 {
            say("Y", table.y1, [across, shown.y1 - t], Turn::Level);
        }
        if table.y0 < shown.y0 {
            say("Y", table.y0, [across, shown.y0 + t], Turn::Level);
        }
        if table.x1 > shown.x1 {
            say("X", table.x1, [shown.x1 - t, up], Turn::Up);
        }
        if table.x0 < shown.x0 {
            say("X", table.x0, [shown.x0 + t, up], Turn::Up);
        }
    }

    /// Over the sheet: a clamp grips it from above.
    fn clamps(&self, drawing: &mut Drawing) {
        let [x, y] = self.machine.bed.work_at;
        for KeepClear { x: [x0, x1], y: [y0, y1], .. } in &self.machine.keep_clear {
            let clamp = Rect::new(x0 - x, y0 - y, x1 - x, y1 - y);
            drawing.path(Style::Hatch, drawing::hatching(clamp, drawing.letter));
            drawing.path(Style::Clamp, drawing::rectangle(clamp));
        }
    }

    /// Holes that are there already are open, those still to come are rings.
    fn elsewhere(&self, drawing: &mut Drawing) {
        for (when, style) in [(When::Before, Style::Hole), (When::Later, Style::Later)] {
            let those = self.elsewhere.iter().filter(|hole| hole.when == when);
            let places: Vec<[f64; 2]> = those.clone().map(|hole| hole.at).collect();
            if let Some(Elsewhere { diameter, .. }) = those.clone().next() {
                match when {
                    When::Before => {
                        drawing.shapes.push(Shape::Dots { style, diameter: *diameter, places });
                    }
                    When::Later => {
                        let mut path = BezPath::new();
                        places
                            .iter()
                            .for_each(|at| drawing::circle(&mut path, *at, diameter / 2.0));
                        drawing.path(style, path);
                    }
                }
            }
        }
    }

    /// Dowels, ringed so that they are seen.
    fn pegs(&self, drawing: &mut Drawing) {
        let t = drawing.letter;
        let mut path = BezPath::new();
        for peg in &self.dowels {
            drawing::circle(&mut path, peg.at, peg.diameter / 2.0);
            drawing::circle(&mut path, peg.at, t * 0.9);
        }
        drawing.path(Style::Dowel, path);
        // Towards the sheet's nearer edge, clear of the names of holes and of the zero.
        let middle = self.outline.bounding_box().center().y;
        let beside = |y: f64| if y < middle { y - 2.1 * t } else { y + 1.2 * t };
        let word = |peg: &Peg| ([peg.at[0], beside(peg.at[1])], format!("dowel {}", peg.hole));
        let words: Vec<_> = self.dowels.iter().map(word).collect();
        if !words.is_empty() {
            drawing.shapes.push(Shape::Words(Words {
                style: Style::Dowel,
                size: t,
                anchor: Anchor::Middle,
                turn: Turn::Level,
                stand: Stand::Baseline,
                words,
            }));
        }
    }

    fn holes(&self, drawing: &mut Drawing) {
        let mut dots: BTreeMap<i64, Vec<[f64; 2]>> = BTreeMap::new();
        for spot in self.spots.iter().filter(|spot| spot.depth > 0.0) {
            // Of a tool that the machine's file does not know.
            let unknown = drawing.letter * 0.5;
            let diameter = if spot.diameter > 0.0 { spot.diameter } else { unknown };
            dots.entry(um(diameter)).or_default().push(spot.at);
        }
        for (diameter, places) in dots {
            let diameter = diameter as f64 / 1000.0;
            drawing.shapes.push(Shape::Dots { style: Style::Hole, diameter, places });
        }
    }

    /// The tool's way: rapids apart from feeds.
    fn way(&self, drawing: &mut Drawing) {
        let (mut rapid, mut feed) = (Way::default(), Way::default());
        // A helix goes round one circle many times; once is enough to see it.
        let mut rounds = BTreeSet::new();
        for step in self.trace {
            let (from, to) = (flat(step.from), flat(step.to));
            let way = if step.kind == MoveKind::Rapid { &mut rapid } else { &mut feed };
            match &step.arc {
                Some(arc) => {
                    let turn = if step.kind == MoveKind::ArcCw { -1.0 } else { 1.0 };
                    if rounds.insert([from, to, arc.centre, [turn, 0.0]].map(|p| p.map(um))) {
                        way.stand_at(from);
                        drawing::arc(&mut way.path, from, to, arc.centre, turn);
                        way.at = Some(to);
                    }
                }
                None if from != to => {
                    way.stand_at(from);
                    way.path.line_to((to[0], to[1]));
                    way.at = Some(to);
                }
                None => {}
            }
        }
        drawing.path(Style::Rapid, rapid.path);
        drawing.path(Style::Feed, feed.path);
    }

    fn zero(&self, drawing: &mut Drawing) {
        let t = drawing.letter;
        let mut path = BezPath::new();
        drawing::circle(&mut path, [0.0, 0.0], t * 0.6);
        drawing::polyline(&mut path, &[[-1.2 * t, 0.0], [1.2 * t, 0.0]]);
        drawing::polyline(&mut path, &[[0.0, -1.2 * t], [0.0, 1.2 * t]]);
        drawing.path(Style::Zero, path);
        drawing.shapes.push(Shape::Words(Words {
            style: Style::Zero,
            size: t,
            anchor: Anchor::Start,
            turn: Turn::Level,
            stand: Stand::Baseline,
            words: vec![([t * 0.8, t * 0.8], "X0 Y0".to_string())],
        }));
    }

    fn names(&self, drawing: &mut Drawing) {
        let size = self.room().min(drawing.letter);
        let words = self.spots.iter().map(|spot| {
            let below = spot.diameter / 2.0 + size * 0.95;
            ([spot.at[0], spot.at[1] - below], spot.name.clone())
        });
        drawing.shapes.push(Shape::Words(Words {
            style: Style::Name,
            size,
            anchor: Anchor::Middle,
            turn: Turn::Level,
            stand: Stand::Baseline,
            words: words.collect(),
        }));
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
    fn flags(&self, drawing: &mut Drawing) {
        let faults = self
            .rehearsal
            .faults
            .iter()
            .map(|Fault { line, message, .. }| (Flag::Fault, *line, message));
        let warnings = self
            .rehearsal
            .warnings
            .iter()
            .map(|Warning { line, message, .. }| (Flag::Warning, *line, message));
        for (kind, line, message) in faults.chain(warnings) {
            let Some(step) = self.trace.iter().find(|step| step.line >= line).or(self.trace.last())
            else {
                continue;
            };
            let says = format!("Line {line}: {message}");
            drawing.shapes.push(Shape::Flag { kind, at: flat(step.from), says });
        }
    }
}

/// Lines that go on from where the last one ended.
#[derive(Default)]
struct Way {
    path: BezPath,
    at: Option<[f64; 2]>,
}

impl Way {
    fn stand_at(&mut self, place: [f64; 2]) {
        if self.at != Some(place) {
            self.path.move_to((place[0], place[1]));
        }
    }
}
