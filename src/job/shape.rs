//! `[panel.SHAPE]`: the panel's outline as a person measures it, seen from the front.

use crate::{
    diag::{Diagnostic, Given},
    form::{Form, Within, either},
    units::Unit,
};
use std::ops::Range;

/// The panel's outline.
#[derive(Debug, Clone, PartialEq)]
pub struct Panel {
    pub shape: Shape,
    pub drawn: Drawn,
    /// Where the shape's table stands.
    pub span: Range<usize>,
}

/// Whether the panel is the shape as it was written, or its other hand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Drawn {
    AsWritten,
    Mirrored,
}

#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    Rectangle {
        width: Given<f64>,
        height: Given<f64>,
        /// Of the corners top left, top right, bottom right, bottom left; 0 is square.
        radii: [Given<f64>; 4],
    },
    /// A straight-sided body under an arch; `height` is over all.
    Arch {
        width: Given<f64>,
        height: Given<f64>,
        rise: Given<f64>,
        arcs: Arcs,
    },
    /// A middle that stands higher than the shoulders beside it; `height` is over all.
    Shouldered {
        width: Given<f64>,
        height: Given<f64>,
        /// Of one shoulder.
        shoulder_width: Given<f64>,
        /// How far the shoulder lies below the middle's own corners.
        shoulder_drop: Given<f64>,
        shoulder: Shoulder,
        /// Of the middle's arched top; 0 is straight.
        rise: Given<f64>,
    },
    Ellipse {
        width: Given<f64>,
        height: Given<f64>,
    },
    /// X right, Y up, from anywhere; each with the radius of its corner.
    Polygon {
        points: Vec<Given<[f64; 3]>>,
    },
    /// SVG path data, Y down; `unit` is one of its units in millimetres.
    Path {
        data: Given<String>,
        unit: f64,
    },
    /// A DXF file beside the job file.
    Drawing {
        file: Given<String>,
        /// Where the outline lies, if the drawing has more than one layer.
        layer: Option<Given<String>>,
        /// Of the drawing, if it does not say so itself.
        unit: Option<Given<Unit>>,
        /// Ends this near each other are joined.
        gap: f64,
        /// What the file holds. Reading files is not this room's: see [`Panel::drawing`].
        bytes: Vec<u8>,
    },
}

impl Panel {
    /// The drawing that the panel's shape is read from, by name, and where its bytes go.
    pub fn drawing(&mut self) -> Option<(&Given<String>, &mut Vec<u8>)> {
        match &mut self.shape {
            Shape::Drawing { file, bytes, .. } => Some((file, bytes)),
            _ => None,
        }
    }
}

/// How an arch is struck.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Arcs {
    One,
    /// Two small ones at the springing and a large one over the crown.
    Three,
}

/// How a shoulder goes up to the middle.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shoulder {
    /// Square, at a right angle.
    Step,
    /// Hollow: a quarter round cut out of the corner.
    Scoop,
    /// An S of two arcs, level at both ends.
    Swept,
}

const SHAPES: [&str; 7] =
    ["rectangle", "arch", "shouldered", "ellipse", "polygon", "path", "drawing"];

/// `[panel.SHAPE]`: exactly one.
pub(super) fn read(f: &mut Form) -> Option<Panel> {
    let present = f.present(&SHAPES);
    let mut found = Vec::new();
    let mut take = |f: &mut Form, key, ask: fn(&mut Form) -> Option<Shape>| {
        found.extend(f.table_if(key, |f| {
            let span = f.span();
            ask(f).map(|shape| Panel { shape, drawn: Drawn::AsWritten, span })
        }));
    };
    take(f, "rectangle", rectangle);
    take(f, "arch", arch);
    take(f, "shouldered", shouldered);
    take(f, "ellipse", ellipse);
    take(f, "polygon", polygon);
    take(f, "path", path);
    take(f, "drawing", drawing);
    match present.as_slice() {
        [] => f.missing_table("rectangle"),
        [_] => {}
        [_, (_, second), ..] => f.note(
            Diagnostic::at(
                second.clone(),
                format!(
                    "the panel has {} shapes",
                    if present.len() == 2 { "two" } else { "several" }
                ),
            )
            .help(format!(
                "keep one table: {}",
                either(present.iter().map(|(shape, _)| format!("[panel.{shape}]")))
            )),
        ),
    }
    found.pop()
}

fn rectangle(f: &mut Form) -> Option<Shape> {
    let width = f.length("width", Within::Positive);
    let height = f.length("height", Within::Positive);
    let radii = match f.is_table("radius") {
        false => {
            let all = f.length_or("radius", Within::NotNegative, 0.0);
            [(); 4].map(|()| all.clone())
        }
        true => f.table_if("radius", |f| {
            let corners = ["top_left", "top_right", "bottom_right", "bottom_left"];
            Some(corners.map(|corner| f.length_or(corner, Within::NotNegative, 0.0)))
        })?,
    };
    Some(Shape::Rectangle { width, height, radii })
}

fn arch(f: &mut Form) -> Option<Shape> {
    Some(Shape::Arch {
        width: f.length("width", Within::Positive),
        height: f.length("height", Within::Positive),
        rise: f.length("rise", Within::Positive),
        arcs: f.choice_or_first("arcs", &[("one", Arcs::One), ("three", Arcs::Three)]).value,
    })
}

fn shouldered(f: &mut Form) -> Option<Shape> {
    let kinds = [("step", Shoulder::Step), ("scoop", Shoulder::Scoop), ("swept", Shoulder::Swept)];
    Some(Shape::Shouldered {
        width: f.length("width", Within::Positive),
        height: f.length("height", Within::Positive),
        shoulder_width: f.length("shoulder_width", Within::Positive),
        shoulder_drop: f.length("shoulder_drop", Within::Positive),
        shoulder: f.choice_or_first("shoulder", &kinds).value,
        rise: f.length_or("rise", Within::NotNegative, 0.0),
    })
}

fn ellipse(f: &mut Form) -> Option<Shape> {
    let width = f.length("width", Within::Positive);
    let height = f.length("height", Within::Positive);
    Some(Shape::Ellipse { width, height })
}

fn polygon(f: &mut Form) -> Option<Shape> {
    let all = f.length_or("radius", Within::NotNegative, 0.0).value;
    let points = f.points("points", "[[0, 0], [800, 0], [800, 500, 40], [0, 500]]");
    let with_radius = |point: Given<Vec<f64>>| {
        let [x, y] = [point.value[0], point.value[1]];
        let radius = point.value.get(2).copied().unwrap_or(all);
        Given { value: [x, y, radius], span: point.span }
    };
    Some(Shape::Polygon { points: points.into_iter().map(with_radius).collect() })
}

fn path(f: &mut Form) -> Option<Shape> {
    Some(Shape::Path { data: f.lines("data"), unit: f.unit().mm() })
}

/// Ends of a drawing this near each other are meant to meet, mm.
const GAP: f64 = 0.1;

fn drawing(f: &mut Form) -> Option<Shape> {
    let units = [("mm", Unit::Millimetre), ("cm", Unit::Centimetre), ("in", Unit::Inch)];
    Some(Shape::Drawing {
        file: f.text("file"),
        layer: f.text_if("layer"),
        unit: f.choice_if("units", &units),
        gap: f.length_or("gap", Within::Positive, GAP).value,
        bytes: Vec::new(),
    })
}
