//! A drawing as SVG. Lines are written in whole hundredths of a millimetre, each place from the one before:
//! a third of the length of places written out.

use super::{Anchor, Drawing, Flag, Shape, Stand, Turn, Words};
use crate::show::html::{escape, mm, place};
use kurbo::{BezPath, PathEl, Point};
use std::fmt::Write;

impl Drawing {
    pub fn svg(&self) -> String {
        let mut svg = format!(
            "<svg class=\"{}\" role=\"img\" aria-label=\"{}\" viewBox=\"{} {} {} {}\" style=\"--letter:{}px\">",
            self.class,
            escape(&self.described),
            mm(self.window.x0),
            mm(-self.window.y1),
            mm(self.window.width()),
            mm(self.window.height()),
            mm(self.letter)
        );
        svg.push_str(&self.svg_shapes());
        svg.push_str("</svg>");
        svg
    }

    /// What is in the picture, for a picture that holds more.
    pub fn svg_shapes(&self) -> String {
        let mut svg = String::new();
        let mut scaled = false;
        for (i, shape) in self.shapes.iter().enumerate() {
            let scale = matches!(shape, Shape::Path { .. } | Shape::Dots { .. });
            match (scaled, scale) {
                (false, true) => svg.push_str("<g transform=\"scale(.01)\">"),
                (true, false) => svg.push_str("</g>"),
                _ => {}
            }
            scaled = scale;
            match shape {
                Shape::Path { style, path } => {
                    let _ =
                        write!(svg, "<path class=\"{}\" d=\"{}\"/>", style.class(), steps(path));
                }
                Shape::Dots { style, diameter, places } => {
                    let name = format!("dots-{}-{i}", self.id);
                    dots(&mut svg, &name, style.class(), *diameter, places);
                }
                Shape::Words(words) => self.words(&mut svg, words),
                Shape::Flag { kind, at, says } => flag(&mut svg, *kind, *at, says, self.letter),
            }
        }
        if scaled {
            svg.push_str("</g>");
        }
        svg
    }

    fn words(&self, svg: &mut String, words: &Words) {
        let size = match (words.size - self.letter).abs() < 1e-9 {
            true => String::new(),
            false => format!(" style=\"font-size:{}px\"", mm(words.size)),
        };
        let anchor = match words.anchor {
            Anchor::Start => "",
            Anchor::Middle => " text-anchor=\"middle\"",
            Anchor::End => " text-anchor=\"end\"",
        };
        let _ = write!(svg, "<g class=\"words {}\"{anchor}{size}>", words.style.class());
        let stand = match words.stand {
            Stand::Baseline => "",
            Stand::Middle => " dy=\".35em\"",
        };
        for (at, text) in &words.words {
            let _ = match words.turn {
                Turn::Level => {
                    write!(svg, "<text x=\"{}\" y=\"{}\"{stand}>", mm(at[0]), mm(-at[1]))
                }
                Turn::Up => {
                    write!(svg, "<text transform=\"translate({}) rotate(-90)\"{stand}>", place(*at))
                }
            };
            let _ = write!(svg, "{}</text>", escape(text));
        }
        svg.push_str("</g>");
    }
}

/// Wide dots: a stroke of no length has round ends. A rim, and its filling over it.
fn dots(svg: &mut String, name: &str, class: &str, diameter: f64, places: &[[f64; 2]]) {
    let mut path = String::new();
    let mut at = [0, 0];
    for to in places.iter().map(|&p| whole(Point::new(p[0], p[1]))) {
        let _ = write!(path, "m{} {}h0", to[0] - at[0], to[1] - at[1]);
        at = to;
    }
    let width = (diameter * 100.0).round();
    let _ = write!(
        svg,
        "<defs><path id=\"{name}\" d=\"{path}\"/></defs>\
         <use href=\"#{name}\" class=\"{class} rim\" stroke-width=\"{width}\"/>\
         <use href=\"#{name}\" class=\"{class}\" stroke-width=\"{}\"/>",
        (width * 0.8).round()
    );
}

/// A triangle on its tip, with its words for a pointer that rests on it.
fn flag(svg: &mut String, kind: Flag, at: [f64; 2], says: &str, t: f64) {
    let class = match kind {
        Flag::Fault => "fault",
        Flag::Warning => "warning",
    };
    let _ = write!(
        svg,
        "<g class=\"{class}\" transform=\"translate({})\"><title>{}</title>\
         <path d=\"M0 0L{} {}H{}Z\"/><text y=\"{}\">!</text></g>",
        place(at),
        escape(says),
        mm(t * 0.9),
        mm(-t * 1.7),
        mm(-t * 0.9),
        mm(-t * 0.65)
    );
}

/// Hundredths of a millimetre, Y downwards.
fn whole(p: Point) -> [i64; 2] {
    [(p.x * 100.0).round() as i64, -(p.y * 100.0).round() as i64]
}

fn steps(path: &BezPath) -> String {
    let mut text = String::new();
    let (mut at, mut begun) = ([0, 0], [0, 0]);
    for element in path {
        let from = at;
        let mut step = |p: Point| {
            at = whole(p);
            [at[0] - from[0], at[1] - from[1]]
        };
        let _ = match element {
            PathEl::MoveTo(p) => {
                let [x, y] = step(p);
                begun = at;
                // Where the path stands already, only a new piece begins.
                if text.is_empty() || [x, y] != [0, 0] { write!(text, "m{x} {y}") } else { Ok(()) }
            }
            PathEl::LineTo(p) => match step(p) {
                [x, 0] => write!(text, "h{x}"),
                [0, y] => write!(text, "v{y}"),
                [x, y] => write!(text, "l{x} {y}"),
            },
            PathEl::QuadTo(a, p) => {
                let ([a, b], [x, y]) = (step(a), step(p));
                write!(text, "q{a} {b} {x} {y}")
            }
            PathEl::CurveTo(a, b, p) => {
                let ([a, b], [c, d], [x, y]) = (step(a), step(b), step(p));
                write!(text, "c{a} {b} {c} {d} {x} {y}")
            }
            PathEl::ClosePath => {
                at = begun;
                write!(text, "z")
            }
        };
    }
    text
}
