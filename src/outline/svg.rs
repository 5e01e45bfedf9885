//! SVG path data, as W3C's "Scalable Vector Graphics (SVG) 2", chapter 9.3, has it.
//!
//! The whole grammar of one closed outline: M L H V C S Q T A Z, absolute and relative. What is not one is
//! shown at its place. Y points down there, and up here.

use super::{
    Corner,
    way::{Way, bulge_through},
};
use crate::diag::{Diagnostic, Given};
use kurbo::{Arc, CubicBez, ParamCurve, Point, QuadBez, SvgArc, Vec2};
use nom::{
    IResult, Parser,
    branch::alt,
    character::complete::{char, digit0, digit1, multispace0, one_of},
    combinator::{opt, recognize},
};

/// An end this near the beginning is the beginning, mm.
const SAME: f64 = 1e-3;
/// No number of a panel is larger.
const LARGEST: f64 = 1e7;

/// The outline of path data whose unit is `unit` mm.
pub fn outline(data: &Given<String>, unit: f64) -> Result<Vec<Corner>, Vec<Diagnostic>> {
    let mut walk = Walk::new(&data.value, unit);
    walk.all().map_err(|Wrong { left, message, help }| {
        // The text begins after its quote; where it holds escapes its places cannot be told apart.
        let plain = data.span.len() == data.value.len() + 2;
        let at = data.value.len() - left;
        let span = match plain {
            true => {
                let from = data.span.start + 1 + at;
                from..(from + 1).min(data.span.end)
            }
            false => data.span.clone(),
        };
        vec![Diagnostic::at(span, message).help(help)]
    })
}

struct Wrong {
    /// Bytes from the place to the end of the data.
    left: usize,
    message: String,
    help: &'static str,
}

/// Where the pen is, in the data's own coordinates.
struct Walk<'a> {
    rest: &'a str,
    unit: f64,
    at: Point,
    /// Last control point, and the letter of the command it belongs to.
    control: Option<(char, Point)>,
    start: Point,
    way: Option<Way>,
}

impl<'a> Walk<'a> {
    fn new(data: &'a str, unit: f64) -> Self {
        let at = Point::ZERO;
        Walk { rest: data, unit, at, control: None, start: at, way: None }
    }

    fn wrong(&self, left: usize, message: impl Into<String>, help: &'static str) -> Wrong {
        Wrong { left, message: message.into(), help }
    }

    fn all(&mut self) -> Result<Vec<Corner>, Wrong> {
        self.skip();
        let mut closed = false;
        let mut last = None;
        while !self.rest.is_empty() {
            let left = self.rest.len();
            let letter =
                match self.take(one_of::<_, _, nom::error::Error<&str>>("MmLlHhVvCcSsQqTtAaZz")) {
                    Some(letter) => {
                        self.skip();
                        letter
                    }
                    // More numbers repeat the command; after a move they are lines.
                    None => {
                        match last {
                            Some('M') => 'L',
                            Some('m') => 'l',
                            Some(letter)
                                if !matches!(letter, 'Z' | 'z')
                                    && !self.rest.starts_with(char::is_alphabetic) =>
                            {
                                letter
                            }
                            _ => return Err(self.wrong(
                                left,
                                "this is no command of a path",
                                "path data begins with M and its commands are M L H V C S Q T A Z",
                            )),
                        }
                    }
                };
            if closed {
                return Err(self.wrong(
                    left,
                    "the path goes on after its outline is closed",
                    "give one outline here, and what is cut out of it as [[opening]]",
                ));
            }
            if last.is_none() && !matches!(letter, 'M' | 'm') {
                return Err(self.wrong(
                    left,
                    "the path does not begin with a move",
                    "begin with M and the first point",
                ));
            }
            match letter {
                'M' | 'm' if self.way.is_some() => {
                    return Err(self.wrong(
                        left,
                        "a second outline begins here",
                        "give one outline here, and what is cut out of it as [[opening]]",
                    ));
                }
                'M' | 'm' => {
                    self.at = self.point(letter)?;
                    self.start = self.at;
                    self.way = Some(Way::from(self.place(self.at)));
                }
                'Z' | 'z' => closed = true,
                _ => self.draw(letter)?,
            }
            last = Some(letter);
            self.skip();
        }
        let open = (self.at - self.start).hypot() * self.unit;
        let Some(mut way) = self.way.take() else {
            return Err(self.wrong(0, "there is no path data", "begin with M and the first point"));
        };
        if !closed && open > SAME {
            return Err(self.wrong(
                0,
                format!("the outline is open: its ends are {open:.2} mm apart"),
                "end the data with Z, or at the first point",
            ));
        }
        // Ends that are one but for their last digits are one corner.
        match way.corners.last_mut() {
            Some(_) if open <= SAME => {}
            _ => way.line_to(self.place(self.start)),
        }
        Ok(way.corners)
    }

    fn place(&self, at: Point) -> [f64; 2] {
        [at.x * self.unit, -at.y * self.unit]
    }

    fn draw(&mut self, letter: char) -> Result<(), Wrong> {
        let from = self.at;
        let mirrored = |walk: &Walk, kinds: &str| match walk.control {
            Some((kind, control)) if kinds.contains(kind) => from + (from - control),
            _ => from,
        };
        let mut control = None;
        let to = match letter.to_ascii_uppercase() {
            'L' => {
                let to = self.point(letter)?;
                self.line(to);
                to
            }
            'H' | 'V' => {
                let n = self.number()?;
                let base = if letter.is_lowercase() { from } else { Point::ZERO };
                let to = match letter.to_ascii_uppercase() {
                    'H' => Point::new(base.x + n, from.y),
                    _ => Point::new(from.x, base.y + n),
                };
                self.line(to);
                to
            }
            'C' | 'S' => {
                let first = match letter.to_ascii_uppercase() {
                    'C' => self.point(letter)?,
                    _ => mirrored(self, "CS"),
                };
                let (second, to) = (self.point(letter)?, self.point(letter)?);
                control = Some(('C', second));
                let curve = CubicBez::new(from, first, second, to);
                self.curve(&|share| curve.eval(share), to);
                to
            }
            'Q' | 'T' => {
                let middle = match letter.to_ascii_uppercase() {
                    'Q' => self.point(letter)?,
                    _ => mirrored(self, "QT"),
                };
                let to = self.point(letter)?;
                control = Some(('Q', middle));
                let curve = QuadBez::new(from, middle, to);
                self.curve(&|share| curve.eval(share), to);
                to
            }
            _ => self.arc(letter)?,
        };
        self.control = control;
        self.at = to;
        Ok(())
    }

    fn line(&mut self, to: Point) {
        let to = self.place(to);
        self.way.as_mut().expect("a path begins with a move").line_to(to);
    }

    fn curve(&mut self, at: &dyn Fn(f64) -> Point, to: Point) {
        let (unit, to) = (self.unit, self.place(to));
        let mut way = self.way.take().expect("a path begins with a move");
        way.curve(&|share| match share {
            1.0 => to,
            _ => {
                let p = at(share);
                [p.x * unit, -p.y * unit]
            }
        });
        self.way = Some(way);
    }

    fn arc(&mut self, letter: char) -> Result<Point, Wrong> {
        let radii = Vec2::new(self.number()?.abs(), self.number()?.abs());
        let x_rotation = self.number()?.to_radians();
        let (large_arc, sweep) = (self.flag()?, self.flag()?);
        let from = self.at;
        let to = self.point(letter)?;
        let given = SvgArc { from, to, radii, x_rotation, large_arc, sweep };
        match Arc::from_svg_arc(&given) {
            None => self.line(to),
            Some(arc) if arc.radii.x == arc.radii.y => {
                let middle = self.place(arc.eval(0.5));
                let end = self.place(to);
                let way = self.way.as_mut().expect("a path begins with a move");
                way.arc_to(bulge_through(way.end, middle, end), end);
            }
            Some(arc) => self.curve(&|share| arc.eval(share), to),
        }
        Ok(to)
    }

    fn skip(&mut self) {
        let separators =
            (multispace0::<&str, nom::error::Error<&str>>, opt(char(',')), multispace0);
        if let Ok((rest, _)) = recognize(separators).parse(self.rest) {
            self.rest = rest;
        }
    }

    fn take<T>(
        &mut self,
        mut part: impl Parser<&'a str, Output = T, Error = nom::error::Error<&'a str>>,
    ) -> Option<T> {
        let (rest, taken) = part.parse(self.rest).ok()?;
        self.rest = rest;
        Some(taken)
    }

    fn number(&mut self) -> Result<f64, Wrong> {
        let left = self.rest.len();
        let number = self.take(number).and_then(|text| text.parse::<f64>().ok());
        self.skip();
        match number {
            Some(n) if n.abs() <= LARGEST => Ok(n),
            Some(_) => Err(self.wrong(
                left,
                "this number cannot be meant",
                "check the unit: the data is in the file's `units`",
            )),
            None => Err(self.wrong(
                left,
                "a number is missing here",
                "each command is followed by its numbers, such as L 800 500",
            )),
        }
    }

    /// `0` or `1`; nothing need stand between two of them.
    fn flag(&mut self) -> Result<bool, Wrong> {
        let left = self.rest.len();
        let flag = self.take(one_of::<_, _, nom::error::Error<&str>>("01"));
        self.skip();
        flag.map(|flag| flag == '1').ok_or_else(|| {
            self.wrong(
                left,
                "a 0 or 1 is missing here",
                "A is followed by rx ry turn large sweep x y",
            )
        })
    }

    fn point(&mut self, letter: char) -> Result<Point, Wrong> {
        let n = [self.number()?, self.number()?];
        let base = if letter.is_lowercase() { self.at } else { Point::ZERO };
        Ok(Point::new(base.x + n[0], base.y + n[1]))
    }
}

fn number(input: &str) -> IResult<&str, &str> {
    let whole = recognize((digit1, opt((char('.'), digit0))));
    let part = recognize((char('.'), digit1));
    let power = (one_of("eE"), opt(one_of("+-")), digit1);
    recognize((opt(one_of("+-")), alt((whole, part)), opt(power))).parse(input)
}
