//! A plain drawing as R12 DXF text, byte for byte the same on every machine.
//!
//! R12 (`AC1009`) because every program that reads DXF reads it. The group codes are written here,
//! plainly: the `dxf` crate reads drawings for us but cannot save ours. Its R12 header always
//! carries local dates, which no caller can leave out and which panic in time zones whose clocks
//! changed at midnight on 1 January 1900 (Europe/Stockholm), and its R12 output would need its
//! subclass markers removed and its tables completed in text afterwards: more code than this.
//!
//! Millimetres are stated by `$INSUNITS` and `$MEASUREMENT`. Both are younger than R12: a reader that
//! does not know them is expected to skip them (common practice, no source). Handles are optional in
//! R12 and left out.
//!
//! Source of the group codes: the published DXF reference for release 12 (from memory); what is written is read back by `dxf` in the tests and by `ezdxf` in `tests/outside.sh`.

use crate::outline::{self, Corner};
use std::fmt::Write;

/// A sheet as it lies on the machine: millimetres, X right, Y up.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawing {
    /// A comment at the top of the file, for whoever opens it as text.
    pub title: String,
    pub layers: Vec<Layer>,
    pub shapes: Vec<Shape>,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Layer {
    /// 1 to 31 of `A-Z 0-9 _ - $`, which is all that R12 allows.
    pub name: String,
    /// DXF colour number, 1 to 255: 1 red, 2 yellow, 3 green, 4 cyan, 5 blue, 6 magenta, 7 black or
    /// white, whichever shows.
    pub colour: u8,
}

/// One thing drawn; `layer` is its layer's place in [`Drawing::layers`].
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    Circle {
        layer: usize,
        centre: [f64; 2],
        radius: f64,
    },
    Line {
        layer: usize,
        from: [f64; 2],
        to: [f64; 2],
    },
    Polyline {
        layer: usize,
        points: Vec<[f64; 2]>,
        closing: Closing,
    },
    /// A closed way of lines and arcs.
    Outline {
        layer: usize,
        corners: Vec<Corner>,
    },
    /// One line of text, `at` its lower left corner, `height` the height of a capital letter.
    Text {
        layer: usize,
        at: [f64; 2],
        height: f64,
        text: String,
    },
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Closing {
    Open,
    /// The last point is joined to the first, which is not repeated.
    Closed,
}

/// The drawing as an R12 DXF file: ASCII, lines ended by CR LF, coordinates to 0.000001 mm.
///
/// Text outside ASCII is written as `\U+XXXX`; a character beyond U+FFFF cannot be, and U+FFFD
/// stands in its place.
///
/// # Panics
///
/// If the drawing is not one that R12 can hold: no shapes, a layer that is misnamed, named twice or
/// missing, colour 0, a place beyond 10^9 mm or not finite, a radius or a height under 0.000001 mm,
/// a polyline of too few points, text of more than one line.
pub fn write(drawing: &Drawing) -> Vec<u8> {
    check(drawing);
    let [low, high] = extents(&drawing.shapes);
    let mut out = Pairs(String::new());
    header(&mut out, &drawing.title, low, high);
    tables(&mut out, &drawing.layers, low, high);
    out.all(&[(0, "SECTION"), (2, "BLOCKS"), (0, "ENDSEC"), (0, "SECTION"), (2, "ENTITIES")]);
    for shape in &drawing.shapes {
        entity(&mut out, &drawing.layers, shape);
    }
    out.all(&[(0, "ENDSEC"), (0, "EOF")]);
    out.0.into_bytes()
}

/// A thousand kilometres: what lies beyond, or is not a number, is a mistake.
const FARTHEST: f64 = 1e9;
/// The last decimal written, mm: what is smaller would be written as 0.
const SMALLEST: f64 = 1e-6;
/// Group code of a line that only people read.
const COMMENT: u16 = 999;

/// Group codes, each with its value on the line below.
struct Pairs(String);

impl Pairs {
    fn put(&mut self, code: u16, value: impl std::fmt::Display) {
        write!(self.0, "{code:>3}\r\n{value}\r\n").expect("a String takes all that is written");
    }

    fn all(&mut self, pairs: &[(u16, &str)]) {
        for (code, value) in pairs {
            self.put(*code, value);
        }
    }

    /// Six decimals: a nanometre, and within a millionth of what was asked. Adding 0 after rounding
    /// turns -0 into 0, so that "-0.000000" is never written.
    fn number(&mut self, code: u16, value: f64) {
        self.put(code, format_args!("{:.6}", (value * 1e6).round() / 1e6 + 0.0));
    }

    /// A place takes three codes, ten apart: X, Y, and a Z of 0.
    fn place(&mut self, code: u16, [x, y]: [f64; 2]) {
        self.number(code, x);
        self.number(code + 10, y);
        self.number(code + 20, 0.0);
    }
}

fn header(out: &mut Pairs, title: &str, low: [f64; 2], high: [f64; 2]) {
    out.all(&[(0, "SECTION"), (2, "HEADER")]);
    out.put(COMMENT, escape(title));
    out.all(&[(9, "$ACADVER"), (1, "AC1009"), (9, "$DWGCODEPAGE"), (3, "ANSI_1252")]);
    out.all(&[(9, "$INSUNITS"), (70, "4"), (9, "$MEASUREMENT"), (70, "1")]);
    out.put(9, "$EXTMIN");
    out.place(10, low);
    out.put(9, "$EXTMAX");
    out.place(10, high);
    out.put(0, "ENDSEC");
}

/// A view that opens on the whole drawing, one line type, the layers, one lettering style.
fn tables(out: &mut Pairs, layers: &[Layer], low: [f64; 2], high: [f64; 2]) {
    out.all(&[(0, "SECTION"), (2, "TABLES")]);

    let [width, height] = [high[0] - low[0], high[1] - low[1]];
    out.all(&[(0, "TABLE"), (2, "VPORT"), (70, "1"), (0, "VPORT"), (2, "*ACTIVE"), (70, "0")]);
    out.all(&[(10, "0.0"), (20, "0.0"), (11, "1.0"), (21, "1.0")]);
    out.number(12, low[0] + width / 2.0);
    out.number(22, low[1] + height / 2.0);
    // A window 4 wide and 3 high, a tenth larger than the drawing.
    out.number(40, 1.1 * height.max(width * 0.75).max(1.0));
    out.all(&[(41, "1.333333"), (0, "ENDTAB")]);

    out.all(&[(0, "TABLE"), (2, "LTYPE"), (70, "1"), (0, "LTYPE"), (2, "CONTINUOUS"), (70, "0")]);
    out.all(&[(3, "Solid line"), (72, "65"), (73, "0"), (40, "0.0"), (0, "ENDTAB")]);

    out.all(&[(0, "TABLE"), (2, "LAYER")]);
    out.put(70, layers.len() + 1);
    for (name, colour) in [("0", 7)].into_iter().chain(layers.iter().map(|l| (&*l.name, l.colour)))
    {
        out.all(&[(0, "LAYER"), (2, name), (70, "0")]);
        out.put(62, colour);
        out.put(6, "CONTINUOUS");
    }
    out.put(0, "ENDTAB");

    out.all(&[(0, "TABLE"), (2, "STYLE"), (70, "1"), (0, "STYLE"), (2, "STANDARD"), (70, "0")]);
    out.all(&[(40, "0.0"), (41, "1.0"), (50, "0.0"), (71, "0"), (42, "1.0"), (3, "txt"), (4, "")]);
    out.all(&[(0, "ENDTAB"), (0, "ENDSEC")]);
}

fn entity(out: &mut Pairs, layers: &[Layer], shape: &Shape) {
    let begin = |out: &mut Pairs, kind: &str| {
        out.put(0, kind);
        out.put(8, &layers[shape.layer()].name);
    };
    match shape {
        Shape::Circle { centre, radius, .. } => {
            begin(out, "CIRCLE");
            out.place(10, *centre);
            out.number(40, *radius);
        }
        Shape::Line { from, to, .. } => {
            begin(out, "LINE");
            out.place(10, *from);
            out.place(11, *to);
        }
        Shape::Polyline { points, closing, .. } => {
            begin(out, "POLYLINE");
            out.put(66, 1); // vertices follow
            out.place(10, [0.0, 0.0]);
            out.put(70, matches!(closing, Closing::Closed) as u8);
            for point in points {
                begin(out, "VERTEX");
                out.place(10, *point);
            }
            begin(out, "SEQEND");
        }
        Shape::Outline { corners, .. } => {
            begin(out, "POLYLINE");
            out.put(66, 1);
            out.place(10, [0.0, 0.0]);
            out.put(70, 1);
            for corner in corners {
                begin(out, "VERTEX");
                out.place(10, corner.at);
                if corner.bulge != 0.0 {
                    // Over a long chord the usual six decimals would move the arc.
                    out.put(42, format_args!("{:.12}", corner.bulge));
                }
            }
            begin(out, "SEQEND");
        }
        Shape::Text { at, height, text, .. } => {
            begin(out, "TEXT");
            out.place(10, *at);
            out.number(40, *height);
            out.put(1, escape(text));
        }
    }
}

impl Shape {
    fn layer(&self) -> usize {
        match self {
            Shape::Circle { layer, .. }
            | Shape::Line { layer, .. }
            | Shape::Polyline { layer, .. }
            | Shape::Outline { layer, .. }
            | Shape::Text { layer, .. } => *layer,
        }
    }

    /// Places whose bounding box is the shape's. Text counts with its corner and height only: how
    /// wide it is depends on the reader's letters.
    fn reach(&self) -> Vec<[f64; 2]> {
        match self {
            Shape::Circle { centre: [x, y], radius: r, .. } => {
                vec![[x - r, y - r], [x + r, y + r]]
            }
            Shape::Line { from, to, .. } => vec![*from, *to],
            Shape::Polyline { points, .. } => points.clone(),
            Shape::Outline { corners, .. } => {
                let all = outline::bounds(corners);
                vec![[all.x0, all.y0], [all.x1, all.y1]]
            }
            Shape::Text { at: [x, y], height, .. } => vec![[*x, *y], [*x, y + height]],
        }
    }
}

/// Lower left and upper right corner of all that is drawn.
fn extents(shapes: &[Shape]) -> [[f64; 2]; 2] {
    let nothing = [[f64::INFINITY; 2], [f64::NEG_INFINITY; 2]];
    shapes.iter().flat_map(Shape::reach).fold(nothing, |[low, high], [x, y]| {
        [[low[0].min(x), low[1].min(y)], [high[0].max(x), high[1].max(y)]]
    })
}

/// One line of text in the spelling of R12: `^` begins a control character and `\` a code, so both
/// are spelled out, and so is `%` beside another, which begins one too.
fn escape(text: &str) -> String {
    let mut out = String::new();
    let mut before = ' ';
    let mut rest = text.chars().peekable();
    while let Some(c) = rest.next() {
        match c {
            '^' => out.push_str("^ "),
            '%' if before == '%' || rest.peek() == Some(&'%') => out.push_str("%%%"),
            '\\' | '\u{80}'..='\u{ffff}' => write!(out, "\\U+{:04X}", c as u32).expect("a String"),
            '\u{10000}'.. => out.push_str("\\U+FFFD"),
            _ => out.push(c),
        }
        before = c;
    }
    out
}

/// What R12 cannot hold is our own mistake, not the user's, and must not leave the house.
fn check(drawing: &Drawing) {
    assert!(!drawing.shapes.is_empty(), "a drawing without shapes has no extents");
    one_line(&drawing.title);
    for (i, Layer { name, colour }) in drawing.layers.iter().enumerate() {
        let legal = |c: char| c.is_ascii_uppercase() || c.is_ascii_digit() || "_-$".contains(c);
        assert!(
            (1..=31).contains(&name.len()) && name.chars().all(legal),
            "`{name}` is no R12 layer name"
        );
        assert!(name != "0", "layer 0 belongs to the format");
        assert!(!drawing.layers[..i].iter().any(|l| l.name == *name), "two layers named `{name}`");
        assert!(*colour != 0, "layer `{name}` has colour 0, which means another thing");
    }
    for shape in &drawing.shapes {
        assert!(shape.layer() < drawing.layers.len(), "{shape:?} lies on no layer");
        assert!(shape.reach().iter().flatten().all(|n| n.abs() < FARTHEST), "{shape:?} is nowhere");
        match shape {
            Shape::Circle { radius: size, .. } | Shape::Text { height: size, .. } => {
                assert!(*size >= SMALLEST, "{shape:?} has no size");
            }
            Shape::Line { .. } => {}
            Shape::Outline { corners, .. } => {
                assert!(corners.len() >= 2, "{shape:?} has too few corners");
            }
            Shape::Polyline { points, closing, .. } => {
                let least = if *closing == Closing::Closed { 3 } else { 2 };
                assert!(points.len() >= least, "{shape:?} has too few points");
            }
        }
        if let Shape::Text { text, .. } = shape {
            one_line(text);
        }
    }
}

fn one_line(text: &str) {
    assert!(!text.chars().any(char::is_control), "{text:?} is not one line of text");
}
