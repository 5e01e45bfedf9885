//! A drawing to scale, made once and written twice: as SVG for pages, as lines on paper for a PDF.
//!
//! Millimetres, X right, Y up. What a line means is its [`Style`]; how it looks is said in `pictures.css`
//! for the screen and in `drawing/on_paper.rs` for paper.

mod on_paper;
mod sizes;
mod svg;

use crate::machine::Work;
use kurbo::{BezPath, Point, Rect};

pub use crate::paper::{Anchor, Turn};
pub use sizes::Letters;

#[derive(Debug, Clone)]
pub struct Drawing {
    /// Unique on its page.
    pub id: String,
    pub class: &'static str,
    /// The drawing in words.
    pub described: String,
    /// What is to be seen.
    pub window: Rect,
    /// Height of its letters.
    pub letter: f64,
    pub shapes: Vec<Shape>,
}

#[derive(Debug, Clone)]
pub enum Shape {
    Path {
        style: Style,
        path: BezPath,
    },
    /// Round holes or buttons, all alike.
    Dots {
        style: Style,
        diameter: f64,
        places: Vec<[f64; 2]>,
    },
    Words(Words),
    /// A sign whose tip points at a place.
    Flag {
        kind: Flag,
        at: [f64; 2],
        says: String,
    },
}

/// Words that look alike, each with its place.
#[derive(Debug, Clone)]
pub struct Words {
    pub style: Style,
    pub size: f64,
    pub anchor: Anchor,
    pub turn: Turn,
    pub stand: Stand,
    pub words: Vec<([f64; 2], String)>,
}

/// What of a text its place is at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stand {
    Baseline,
    Middle,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Flag {
    Fault,
    Warning,
}

/// What a line, an area or a word means.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Style {
    Table,
    /// The bed's edge over a sheet that lies past it.
    Reach,
    /// A hole that another program makes later.
    Later,
    Dowel,
    Sheet(Option<Work>),
    /// The finished panel, and cloth that lies flat.
    Panel,
    Clamp,
    Hatch,
    Hole,
    Button,
    Feed,
    Rapid,
    Zero,
    Pleat,
    Centre,
    Mark,
    Name,
    Size,
    Guide,
    /// Full size on a template: where to cut, the edge of a hole, its middle.
    Cut,
    Rim,
    Cross,
}

impl Style {
    pub fn class(self) -> &'static str {
        match self {
            Style::Table => "table",
            Style::Reach => "reach",
            Style::Later => "later",
            Style::Dowel => "dowel",
            Style::Sheet(None) => "sheet",
            Style::Sheet(Some(Work::Board)) => "sheet board",
            Style::Sheet(Some(Work::Foam)) => "sheet foam",
            Style::Sheet(Some(Work::Fabric)) => "sheet fabric",
            Style::Panel => "flat",
            Style::Clamp => "clamp",
            Style::Hatch => "hatch",
            Style::Hole => "hole",
            Style::Button => "button",
            Style::Feed => "feed",
            Style::Rapid => "rapid",
            Style::Zero => "zero",
            Style::Pleat => "seam",
            Style::Centre => "centre",
            Style::Mark => "mark",
            Style::Name => "names",
            Style::Size => "size",
            Style::Guide => "guide",
            Style::Cut => "cut",
            Style::Rim => "rim",
            Style::Cross => "cross",
        }
    }
}

impl Drawing {
    pub fn path(&mut self, style: Style, path: BezPath) {
        if !path.elements().is_empty() {
            self.shapes.push(Shape::Path { style, path });
        }
    }

    pub fn line(&mut self, style: Style, points: &[[f64; 2]]) {
        let mut path = BezPath::new();
        polyline(&mut path, points);
        self.path(style, path);
    }
}

/// Adds straight lines through `points`.
pub fn polyline(path: &mut BezPath, points: &[[f64; 2]]) {
    for (i, &[x, y]) in points.iter().enumerate() {
        if i == 0 { path.move_to((x, y)) } else { path.line_to((x, y)) }
    }
}

pub fn rectangle(bounds: Rect) -> BezPath {
    kurbo::Shape::to_path(&bounds, 0.1)
}

pub fn circle(path: &mut BezPath, [x, y]: [f64; 2], radius: f64) {
    let right = [x + radius, y];
    path.move_to((x + radius, y));
    arc(path, right, right, [x, y], 1.0);
    path.close_path();
}

/// Goes on from `from`, where the path stands, round `centre`; `turn` is 1 anticlockwise, -1 clockwise.
/// One that ends where it starts is a whole circle. By square roots alone, so that every machine writes the
/// same bytes.
pub fn arc(path: &mut BezPath, from: [f64; 2], to: [f64; 2], centre: [f64; 2], turn: f64) {
    let [x, y] = off(from, to);
    let middle = match x * x + y * y < 1e-12 {
        true => [2.0 * centre[0] - from[0], 2.0 * centre[1] - from[1]],
        false => halfway(from, to, centre, turn),
    };
    let (early, late) = (halfway(from, middle, centre, turn), halfway(middle, to, centre, turn));
    for [a, b] in [[from, early], [early, middle], [middle, late], [late, to]] {
        quarter(path, a, b, centre, turn);
    }
}

/// A curve for at most a quarter of a circle. Handles of 4/3 tan(angle / 4) radii (Riškus, "Approximation
/// of a cubic Bezier curve by circular arcs", 2006): off by less than 0.03 % of the radius.
fn quarter(path: &mut BezPath, from: [f64; 2], to: [f64; 2], centre: [f64; 2], turn: f64) {
    let (a, b) = (off(from, centre), off(to, centre));
    let square = a[0] * a[0] + a[1] * a[1];
    if square == 0.0 {
        return path.line_to((to[0], to[1]));
    }
    let cosine = ((a[0] * b[0] + a[1] * b[1]) / square).clamp(-1.0, 1.0);
    let half_cosine = ((1.0 + cosine) / 2.0).sqrt();
    let handle = turn * 4.0 / 3.0 * ((1.0 - cosine) / 2.0).sqrt() / (1.0 + half_cosine);
    path.curve_to(
        (from[0] - handle * a[1], from[1] + handle * a[0]),
        (to[0] + handle * b[1], to[1] - handle * b[0]),
        (to[0], to[1]),
    );
}

/// The point halfway round from one place to another; `turn` is 1 anticlockwise, -1 clockwise.
fn halfway(from: [f64; 2], to: [f64; 2], centre: [f64; 2], turn: f64) -> [f64; 2] {
    let (a, b) = (off(from, centre), off(to, centre));
    let length = |v: [f64; 2]| (v[0] * v[0] + v[1] * v[1]).sqrt();
    let radius = length(a);
    let between = [a[0] + b[0], a[1] + b[1]];
    let way = if length(between) < radius * 1e-6 {
        // Half a turn: square to the radius.
        [-a[1] * turn, a[0] * turn]
    } else {
        let cross = a[0] * b[1] - a[1] * b[0];
        // The sum points to the middle of the shorter way round.
        let side = if cross * turn >= 0.0 { 1.0 } else { -1.0 };
        [between[0] * side, between[1] * side]
    };
    let scale = radius / length(way).max(f64::MIN_POSITIVE);
    [centre[0] + way[0] * scale, centre[1] + way[1] * scale]
}

fn off(p: [f64; 2], centre: [f64; 2]) -> [f64; 2] {
    [p[0] - centre[0], p[1] - centre[1]]
}

/// Slanting lines over a box, `gap` apart.
pub fn hatching(bounds: Rect, gap: f64) -> BezPath {
    let mut path = BezPath::new();
    let (w, h) = (bounds.width(), bounds.height());
    let lines = ((w + h) / gap).ceil() as u32;
    for i in 1..lines {
        // Where x + y, from the lower left corner, is this much.
        let sum = f64::from(i) * gap;
        let (x0, x1) = ((sum - h).max(0.0), sum.min(w));
        let origin = Point::new(bounds.x0, bounds.y0).to_vec2();
        path.move_to(Point::new(x0, sum - x0) + origin);
        path.line_to(Point::new(x1, sum - x1) + origin);
    }
    path
}
