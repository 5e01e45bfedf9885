//! A drawing on paper, to any scale; lines keep their width.

use super::{Drawing, Flag, Shape, Stand, Style, Turn, Words};
use crate::{
    machine::Work,
    paper::{BLACK, Colour, Document, Face, Ink, Type, WHITE},
};
use kurbo::{Affine, BezPath, PathEl, Rect};

const SOFT: Colour = [68, 68, 68];
const FAINT: Colour = [0xb8, 0xb6, 0xad];
const EDGE: Colour = [0x5c, 0x55, 0x40];
const BED: Colour = [0xf4, 0xf3, 0xef];
const BLUE: Colour = [0x0a, 0x4a, 0x8c];
const RUST: Colour = [0xa8, 0x57, 0x0a];
const PLUM: Colour = [0x6d, 0x2b, 0x4a];
const TEAL: Colour = [0x2d, 0x6a, 0x70];
const FAULT: Colour = [0x8f, 0x10, 0x20];
const WARN: Colour = [0x9a, 0x34, 0x12];

/// What a style looks like on paper.
fn ink(style: Style) -> Ink {
    let filled = |fill, line, width| Ink { fill: Some(fill), ..Ink::line(line, width) };
    match style {
        Style::Table => filled(BED, SOFT, 0.2),
        Style::Sheet(work) => {
            let fill = match work {
                Some(Work::Board) => [0xf0, 0xe2, 0xc6],
                Some(Work::Foam) => [0xfa, 0xf3, 0xd3],
                Some(Work::Fabric) => [0xe2, 0xed, 0xed],
                None => WHITE,
            };
            filled(fill, EDGE, 0.35)
        }
        Style::Panel => filled([0xe2, 0xed, 0xed], TEAL, 0.4),
        Style::Clamp => Ink::line(PLUM, 0.3),
        Style::Reach => Ink::dashed(BLACK, 0.3, 2.4, 0.9),
        Style::Later => Ink::dashed(EDGE, 0.15, 0.6, 0.6),
        Style::Dowel => Ink::line(PLUM, 0.5),
        Style::Hatch => Ink::line(PLUM, 0.2),
        Style::Hole => filled(WHITE, EDGE, 0.2),
        Style::Button => filled(TEAL, [0x12, 0x3c, 0x42], 0.2),
        Style::Feed => Ink::line(BLUE, 0.25),
        Style::Rapid => Ink::dashed(RUST, 0.2, 1.2, 1.0),
        Style::Zero => Ink::line(BLACK, 0.35),
        Style::Pleat => Ink::line(TEAL, 0.25),
        Style::Centre => Ink::dashed(TEAL, 0.15, 3.0, 1.2),
        Style::Mark => Ink::line(BLUE, 0.2),
        Style::Size => Ink::line(BLACK, 0.2),
        Style::Guide => Ink::dashed(SOFT, 0.15, 0.5, 0.9),
        Style::Name => Ink::line(FAINT, 0.2),
        Style::Cut => Ink::line(BLACK, 0.4),
        Style::Rim | Style::Cross => Ink::line(BLACK, 0.2),
    }
}

/// Words of a size yet to be said.
fn words(style: Style) -> Type {
    let face = if style == Style::Zero { Face::Bold } else { Face::Plain };
    Type { face, size: 0.0, colour: BLACK }
}

impl Drawing {
    /// Draws it as large as fits `frame`, in the middle, and says where that is.
    pub fn on_paper(&self, document: &mut Document, page: usize, frame: Rect) -> Rect {
        let scale =
            (frame.width() / self.window.width()).min(frame.height() / self.window.height());
        let to_paper = Affine::translate(frame.center().to_vec2())
            * Affine::scale(scale)
            * Affine::translate(-self.window.center().to_vec2());
        let shown = to_paper.transform_rect_bbox(self.window);
        self.part_on_paper(document, page, to_paper, shown);
        shown
    }

    /// Draws what of it comes to lie within `shown`; `to_paper` turns nothing.
    pub fn part_on_paper(
        &self,
        document: &mut Document,
        page: usize,
        to_paper: Affine,
        shown: Rect,
    ) {
        let scale = to_paper.as_coeffs()[0];
        let on_drawing = to_paper.inverse().transform_rect_bbox(shown);
        document.within(page, shown);
        // What names stand on.
        let mut ground = WHITE;
        for shape in &self.shapes {
            match shape {
                Shape::Path { style, path } => {
                    if matches!(style, Style::Table | Style::Sheet(_) | Style::Panel) {
                        ground = ink(*style).fill.unwrap_or(WHITE);
                    }
                    let seen = seen(path, on_drawing);
                    if !seen.elements().is_empty() {
                        document.path(page, &(to_paper * &seen), ink(*style));
                    }
                }
                Shape::Dots { style, diameter, places } => {
                    let near = on_drawing.inflate(*diameter, *diameter);
                    let mut path = BezPath::new();
                    for &at in places.iter().filter(|at| near.contains((at[0], at[1]))) {
                        super::circle(&mut path, at, diameter / 2.0);
                    }
                    if !path.elements().is_empty() {
                        document.path(page, &(to_paper * &path), ink(*style));
                    }
                }
                Shape::Words(words) => {
                    put_words(document, page, to_paper, on_drawing, words, ground);
                }
                Shape::Flag { kind, at, .. } => {
                    let tip = to_paper * kurbo::Point::new(at[0], at[1]);
                    put_flag(document, page, [tip.x, tip.y], *kind, self.letter * scale);
                }
            }
        }
        document.everywhere(page);
    }
}

/// Those pieces of a path that may reach into `window`: most of a wall is on other pages.
fn seen(path: &BezPath, window: Rect) -> BezPath {
    let mut seen = BezPath::new();
    let elements = path.elements();
    let starts = |at: usize| matches!(elements[at], PathEl::MoveTo(_));
    let mut begin = 0;
    for end in 1..=elements.len() {
        if end < elements.len() && !starts(end) {
            continue;
        }
        let piece = &elements[begin..end];
        let points = piece.iter().flat_map(|element| match *element {
            PathEl::MoveTo(p) | PathEl::LineTo(p) => vec![p],
            PathEl::QuadTo(a, p) => vec![a, p],
            PathEl::CurveTo(a, b, p) => vec![a, b, p],
            PathEl::ClosePath => vec![],
        });
        let empty = Rect::new(f64::INFINITY, f64::INFINITY, -f64::INFINITY, -f64::INFINITY);
        let bounds = points.fold(empty, |all, p| {
            Rect::new(all.x0.min(p.x), all.y0.min(p.y), all.x1.max(p.x), all.y1.max(p.y))
        });
        if bounds.overlaps(window.inflate(1.0, 1.0)) {
            seen.extend(piece.iter().copied());
        }
        begin = end;
    }
    seen
}

fn put_words(
    document: &mut Document,
    page: usize,
    to_paper: Affine,
    on_drawing: Rect,
    put: &Words,
    ground: Colour,
) {
    let scale = to_paper.as_coeffs()[0];
    let look = Type { size: put.size * scale, ..words(put.style) };
    let drop = match put.stand {
        Stand::Baseline => 0.0,
        Stand::Middle => look.size * 0.35,
    };
    for (at, text) in &put.words {
        let reach = put.size * (text.len() + 1) as f64;
        if !on_drawing.inflate(reach, reach).contains((at[0], at[1])) {
            continue;
        }
        let at = to_paper * kurbo::Point::new(at[0], at[1]);
        let at = match put.turn {
            Turn::Level => [at.x, at.y - drop],
            Turn::Up => [at.x + drop, at.y],
        };
        // Keeps lines off the words.
        let colour = if put.style == Style::Size { WHITE } else { ground };
        document.halo(page, at, put.turn, put.anchor, Type { colour, ..look }, text);
        document.turned(page, at, put.turn, put.anchor, look, text);
    }
}

fn put_flag(document: &mut Document, page: usize, [x, y]: [f64; 2], kind: Flag, t: f64) {
    let mut path = BezPath::new();
    super::polyline(&mut path, &[[x, y], [x + 0.9 * t, y + 1.7 * t], [x - 0.9 * t, y + 1.7 * t]]);
    path.close_path();
    let colour = if kind == Flag::Fault { FAULT } else { WARN };
    document.path(page, &path, Ink::fill(colour));
    let look = Type { face: Face::Bold, size: t, colour: WHITE };
    document.text(page, [x, y + 0.65 * t], super::Anchor::Middle, look, "!");
}
