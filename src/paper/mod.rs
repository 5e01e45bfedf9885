//! Paper: lines and words on pages, in millimetres, as the bytes of a PDF.
//!
//! **Frame.** X right, Y up, from the page's lower left corner; true to scale, to the thousandth of a
//! millimetre. Fonts are embedded, and the same pages are the same bytes: no date, no name of a file.

mod file;
mod font;

pub use font::Face;

use font::Fonts;
use kurbo::{BezPath, PathEl, Rect};
use pdf_writer::{
    Content, Name, Str,
    types::{LineCapStyle, LineJoinStyle},
};

/// A point of type in millimetres.
pub const POINT: f64 = 25.4 / 72.0;

/// A size of paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Paper {
    A4,
    Letter,
    A3,
}

impl Paper {
    /// Width and height, upright: ISO 216, and ANSI/ASME Y14.1 size A.
    pub fn size(self) -> [f64; 2] {
        match self {
            Paper::A4 => [210.0, 297.0],
            Paper::Letter => [215.9, 279.4],
            Paper::A3 => [297.0, 420.0],
        }
    }

    pub fn word(self) -> &'static str {
        match self {
            Paper::A4 => "A4",
            Paper::Letter => "Letter",
            Paper::A3 => "A3",
        }
    }
}

/// Red, green and blue, 0 to 255.
pub type Colour = [u8; 3];

pub const BLACK: Colour = [0, 0, 0];
pub const WHITE: Colour = [255, 255, 255];

/// What a path is drawn with.
#[derive(Debug, Clone, Copy, Default)]
pub struct Ink {
    pub fill: Option<Colour>,
    pub line: Option<Line>,
}

#[derive(Debug, Clone, Copy)]
pub struct Line {
    pub colour: Colour,
    /// mm
    pub width: f64,
    pub dash: Dash,
}

/// How a line is broken.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Dash {
    Whole,
    /// On and off, mm.
    Broken(f64, f64),
}

impl Ink {
    pub fn fill(colour: Colour) -> Self {
        Ink { fill: Some(colour), line: None }
    }

    pub fn line(colour: Colour, width: f64) -> Self {
        Ink { fill: None, line: Some(Line { colour, width, dash: Dash::Whole }) }
    }

    pub fn dashed(colour: Colour, width: f64, on: f64, off: f64) -> Self {
        Ink { fill: None, line: Some(Line { colour, width, dash: Dash::Broken(on, off) }) }
    }
}

/// Which end of a text its place is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    Start,
    Middle,
    End,
}

impl Anchor {
    /// How much of the text lies before its place.
    fn part(self) -> f64 {
        match self {
            Anchor::Start => 0.0,
            Anchor::Middle => 0.5,
            Anchor::End => 1.0,
        }
    }
}

/// How words look.
#[derive(Debug, Clone, Copy)]
pub struct Type {
    pub face: Face,
    /// Size in millimetres.
    pub size: f64,
    pub colour: Colour,
}

impl Type {
    /// With its size in printer's points, 72 to the inch.
    pub const fn in_points(face: Face, points: f64, colour: Colour) -> Self {
        Type { face, size: points * POINT, colour }
    }
}

/// Which way a text runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Turn {
    Level,
    /// From below upwards.
    Up,
}

/// What the print dialogue is asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Printed {
    /// It may shrink the page to what the printer can reach.
    AsFits,
    /// Nothing is made larger or smaller.
    FullSize,
}

/// Several pages, written as they are drawn.
pub struct Document {
    title: String,
    printed: Printed,
    fonts: Fonts,
    pages: Vec<Sheet>,
}

/// One page.
struct Sheet {
    size: [f64; 2],
    content: Content,
}

impl Document {
    pub fn new(title: &str, printed: Printed) -> Self {
        Document { title: title.to_string(), printed, fonts: Fonts::new(), pages: Vec::new() }
    }

    /// A new page; its number counts from nought.
    pub fn page(&mut self, size: [f64; 2]) -> usize {
        let mut content = Content::new();
        // From here on one unit is one millimetre.
        let scale = (1.0 / POINT) as f32;
        content.transform([scale, 0.0, 0.0, scale, 0.0, 0.0]);
        content.set_line_cap(LineCapStyle::RoundCap).set_line_join(LineJoinStyle::RoundJoin);
        self.pages.push(Sheet { size, content });
        self.pages.len() - 1
    }

    /// How wide a text will be, mm.
    pub fn width(&self, text: &str, of: Type) -> f64 {
        self.fonts.width(text, of.face) * of.size
    }

    /// Breaks a text into lines no wider than `width`; a word wider than that is broken.
    pub fn wrap(&self, text: &str, of: Type, width: f64) -> Vec<String> {
        let mut lines = Vec::new();
        let mut line = String::new();
        for word in text.split_whitespace() {
            let longer = if line.is_empty() { word.to_string() } else { format!("{line} {word}") };
            if self.width(&longer, of) <= width {
                line = longer;
                continue;
            }
            if !line.is_empty() {
                lines.push(std::mem::take(&mut line));
            }
            for letter in word.chars() {
                line.push(letter);
                if self.width(&line, of) > width && line.chars().count() > 1 {
                    line.pop();
                    lines.push(std::mem::replace(&mut line, letter.to_string()));
                }
            }
        }
        if !line.is_empty() || lines.is_empty() {
            lines.push(line);
        }
        lines
    }

    pub fn path(&mut self, page: usize, path: &BezPath, ink: Ink) {
        let content = &mut self.pages[page].content;
        outline(content, path);
        if let Some(colour) = ink.fill {
            let [r, g, b] = rgb(colour);
            content.set_fill_rgb(r, g, b);
        }
        if let Some(line) = ink.line {
            let [r, g, b] = rgb(line.colour);
            content.set_stroke_rgb(r, g, b).set_line_width(round(line.width));
            match line.dash {
                Dash::Whole => content.set_dash_pattern([], 0.0),
                Dash::Broken(on, off) => content.set_dash_pattern([round(on), round(off)], 0.0),
            };
        }
        match (ink.fill, ink.line) {
            (Some(_), Some(_)) => content.fill_even_odd_and_stroke(),
            (Some(_), None) => content.fill_even_odd(),
            (None, Some(_)) => content.stroke(),
            (None, None) => content.end_path(),
        };
    }

    /// Draws only within `window` until [`Document::everywhere`].
    pub fn within(&mut self, page: usize, window: Rect) {
        let content = &mut self.pages[page].content;
        content.save_state();
        let [x, y] = [window.x0, window.y0].map(round);
        content.rect(x, y, round(window.width()), round(window.height()));
        content.clip_nonzero().end_path();
    }

    pub fn everywhere(&mut self, page: usize) {
        self.pages[page].content.restore_state();
    }

    /// Words on one line, their baseline at `at`.
    pub fn text(&mut self, page: usize, at: [f64; 2], anchor: Anchor, of: Type, text: &str) {
        self.turned(page, at, Turn::Level, anchor, of, text);
    }

    pub fn turned(
        &mut self,
        page: usize,
        [x, y]: [f64; 2],
        turn: Turn,
        anchor: Anchor,
        of: Type,
        text: &str,
    ) {
        let back = self.width(text, of) * anchor.part();
        let matrix = match turn {
            Turn::Level => [1.0, 0.0, 0.0, 1.0, round(x - back), round(y)],
            Turn::Up => [0.0, 1.0, -1.0, 0.0, round(x), round(y - back)],
        };
        let glyphs = self.fonts.glyphs(text, of.face);
        let [r, g, b] = rgb(of.colour);
        let content = &mut self.pages[page].content;
        content.begin_text().set_fill_rgb(r, g, b).set_font(Name(of.face.name()), round(of.size));
        content.set_text_matrix(matrix).show(Str(&glyphs)).end_text();
    }

    /// The ground cleared for words: [`Document::turned`] with the same puts them there.
    pub fn halo(
        &mut self,
        page: usize,
        [x, y]: [f64; 2],
        turn: Turn,
        anchor: Anchor,
        of: Type,
        text: &str,
    ) {
        let (long, pad) = (self.width(text, of), of.size * 0.15);
        let back = long * anchor.part();
        let (low, high) = (-of.size * 0.06, of.size * 0.78);
        let ground = match turn {
            Turn::Level => Rect::new(x - back - pad, y + low, x - back + long + pad, y + high),
            Turn::Up => Rect::new(x - high, y - back - pad, x - low, y - back + long + pad),
        };
        self.path(page, &kurbo::Shape::to_path(&ground, 0.1), Ink::fill(of.colour));
    }

    /// The file.
    pub fn finish(self) -> Vec<u8> {
        let pages = self
            .pages
            .into_iter()
            .map(|page| (page.size, page.content.finish()))
            .collect::<Vec<_>>();
        file::write(&self.title, self.printed, self.fonts, pages)
    }
}

fn outline(content: &mut Content, path: &BezPath) {
    let mut at = kurbo::Point::ZERO;
    for element in path {
        match element {
            PathEl::MoveTo(p) => {
                content.move_to(round(p.x), round(p.y));
            }
            PathEl::LineTo(p) => {
                content.line_to(round(p.x), round(p.y));
            }
            PathEl::QuadTo(a, p) => {
                let raised = kurbo::QuadBez::new(at, a, p).raise();
                cubic(content, raised.p1, raised.p2, p);
            }
            PathEl::CurveTo(a, b, p) => cubic(content, a, b, p),
            PathEl::ClosePath => {
                content.close_path();
            }
        }
        at = element.end_point().unwrap_or(at);
    }
}

fn cubic(content: &mut Content, a: kurbo::Point, b: kurbo::Point, to: kurbo::Point) {
    content.cubic_to(round(a.x), round(a.y), round(b.x), round(b.y), round(to.x), round(to.y));
}

/// To the thousandth of a millimetre.
fn round(mm: f64) -> f32 {
    ((mm * 1000.0).round() / 1000.0 + 0.0) as f32
}

fn rgb(colour: Colour) -> [f32; 3] {
    colour.map(|c| (f32::from(c) / 255.0 * 1000.0).round() / 1000.0)
}
