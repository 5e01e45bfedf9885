//! Lengths and speeds as the bench writes them, turned into millimetres once.
//!
//! Past this room every length is an `f64` in millimetres, every speed in millimetres per minute,
//! every duration in seconds; finite, because nothing else gets through here.

use nom::{
    IResult, Parser,
    branch::alt,
    bytes::complete::{tag, take_while},
    character::complete::{char, digit1, one_of, space0, space1},
    combinator::{eof, map_res, opt, recognize, value},
    sequence::terminated,
};
use std::fmt;

/// A yard, mm (international yard and pound agreement, 1959).
pub const YARD: f64 = 914.4;

/// A unit of length. `Line` is the button trade's ligne: 40 to the inch, so 0.635 mm.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unit {
    Millimetre,
    Centimetre,
    Inch,
    Line,
}

impl Unit {
    /// Millimetres in one of this unit, exactly.
    pub const fn mm(self) -> f64 {
        match self {
            Unit::Millimetre => 1.0,
            Unit::Centimetre => 10.0,
            Unit::Inch => 25.4,
            Unit::Line => 0.635,
        }
    }
}

impl fmt::Display for Unit {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str(match self {
            Unit::Millimetre => "mm",
            Unit::Centimetre => "cm",
            Unit::Inch => "in",
            Unit::Line => "line",
        })
    }
}

/// Reads a length such as `9 in`, `7 1/4 in`, `7-1/4"`, `22.5 mm`, `36 line` or a bare `40`,
/// which is taken in `bare`. Millimetres out; `None` if the text is not a finite length.
pub fn length(text: &str, bare: Unit) -> Option<f64> {
    let (_, (number, unit)) = terminated((signed_number, unit), eof).parse(text.trim()).ok()?;
    finite(number * unit.unwrap_or(bare).mm())
}

/// Reads a speed such as `1500 mm/min`, `60 in/min`, `25 mm/s`, or a bare number of `bare` per
/// minute. Millimetres per minute out.
pub fn speed(text: &str, bare: Unit) -> Option<f64> {
    let per_minute = alt((value(1.0, tag("min")), value(60.0, tag("s"))));
    let with_unit = (signed_number, unit, space0, char('/'), space0, per_minute)
        .map(|(n, unit, _, _, _, per)| n * unit.unwrap_or(bare).mm() * per);
    let bare_number = signed_number.map(|n| n * bare.mm());
    let (_, speed) =
        alt((terminated(with_unit, eof), terminated(bare_number, eof))).parse(text.trim()).ok()?;
    finite(speed)
}

fn finite(n: f64) -> Option<f64> {
    n.is_finite().then_some(n)
}

fn signed_number(input: &str) -> IResult<&str, f64> {
    let (input, minus) = opt(char('-')).parse(input)?;
    let (input, number) = alt((mixed, fraction, decimal)).parse(input)?;
    let (input, _) = space0(input)?;
    Ok((input, if minus.is_some() { -number } else { number }))
}

/// `7 1/4` and `7-1/4`.
fn mixed(input: &str) -> IResult<&str, f64> {
    let (input, whole) = digits(input)?;
    let (input, _) = alt((recognize(char('-')), space1)).parse(input)?;
    let (input, part) = fraction(input)?;
    Ok((input, whole + part))
}

/// `1/2`. A denominator of nought is no number.
fn fraction(input: &str) -> IResult<&str, f64> {
    map_res(
        (digits, char('/'), digits),
        |(over, _, under)| {
            if under == 0.0 { Err(()) } else { Ok(over / under) }
        },
    )
    .parse(input)
}

fn decimal(input: &str) -> IResult<&str, f64> {
    let digits0 = take_while(|c: char| c.is_ascii_digit());
    map_res(
        recognize((digits0, opt(one_of(".")), take_while(|c: char| c.is_ascii_digit()))),
        |s: &str| s.parse::<f64>(),
    )
    .parse(input)
}

fn digits(input: &str) -> IResult<&str, f64> {
    map_res(digit1, |s: &str| s.parse::<f64>()).parse(input)
}

fn unit(input: &str) -> IResult<&str, Option<Unit>> {
    opt(alt((
        value(Unit::Millimetre, tag("mm")),
        value(Unit::Centimetre, tag("cm")),
        value(Unit::Inch, alt((tag("inches"), tag("inch"), tag("in"), tag("\"")))),
        value(Unit::Line, alt((tag("lines"), tag("line")))),
    )))
    .parse(input)
}
