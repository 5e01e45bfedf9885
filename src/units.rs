//! Lengths and speeds as the bench writes them, turned into millimetres once.
//!
//! Past this room every length is an `f64` in millimetres, every speed in millimetres per minute,
//! every duration in seconds; finite, because nothing else gets through here.

use nom::{
    IResult, Parser,
    branch::alt,
    bytes::complete::{tag, take_while},
    character::complete::{anychar, char, digit1, one_of, space0, space1},
    combinator::{eof, map_opt, map_res, opt, recognize, value},
    error::Error,
    sequence::{preceded, terminated},
};
use std::fmt;

/// A yard, mm (international yard and pound agreement, 1959).
pub const YARD: f64 = 914.4;

/// A foot, mm (the same agreement).
const FOOT: f64 = 304.8;

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

/// Reads a length such as `9 in`, `7 1/4 in`, `7-1/4"`, `38½ in`, `3 ft 2 in`, `3' 2"`, `22.5 mm`, `36 line`
/// or a bare `40`, which is taken in `bare`. Millimetres out; `None` if the text is not a finite length.
pub fn length(text: &str, bare: Unit) -> Option<f64> {
    let simple = (signed(number), unit).map(|(n, unit)| n * unit.unwrap_or(bare).mm());
    let (_, mm) = alt((terminated(signed(feet_and_inches), eof), terminated(simple, eof)))
        .parse(text.trim())
        .ok()?;
    finite(mm)
}

/// Reads a speed such as `1500 mm/min`, `60 in/min`, `25 mm/s`, or a bare number of `bare` per
/// minute. Millimetres per minute out.
pub fn speed(text: &str, bare: Unit) -> Option<f64> {
    let per_minute = alt((value(1.0, tag("min")), value(60.0, tag("s"))));
    let with_unit = (signed(number), unit, space0, char('/'), space0, per_minute)
        .map(|(n, unit, _, _, _, per)| n * unit.unwrap_or(bare).mm() * per);
    let bare_number = signed(number).map(|n| n * bare.mm());
    let (_, speed) =
        alt((terminated(with_unit, eof), terminated(bare_number, eof))).parse(text.trim()).ok()?;
    finite(speed)
}

fn finite(n: f64) -> Option<f64> {
    n.is_finite().then_some(n)
}

/// What `size` reads, with or without a minus before it.
fn signed<'a, P>(size: P) -> impl Parser<&'a str, Output = f64, Error = Error<&'a str>>
where
    P: Parser<&'a str, Output = f64, Error = Error<&'a str>>,
{
    (opt(char('-')), size).map(|(minus, size)| if minus.is_some() { -size } else { size })
}

/// `3 ft`, `3'`, `3 ft 2 in` or `3' 2 1/2"`, in millimetres. Inches after feet name their unit.
fn feet_and_inches(input: &str) -> IResult<&str, f64> {
    let foot = alt((tag("feet"), tag("foot"), tag("ft"), tag("'"), tag("′"), tag("’")));
    let (input, feet) = terminated(number, (foot, space0)).parse(input)?;
    let (input, inches) = opt(terminated(number, inch)).parse(input)?;
    Ok((input, feet * FOOT + inches.unwrap_or(0.0) * Unit::Inch.mm()))
}

fn number(input: &str) -> IResult<&str, f64> {
    terminated(alt((mixed, fraction, one_sign, decimal)), space0).parse(input)
}

/// `7 1/4`, `7-1/4`, `7¼` and `7 ¼`.
fn mixed(input: &str) -> IResult<&str, f64> {
    let apart = alt((recognize(char('-')), space1));
    let (input, whole) = digits(input)?;
    let (input, part) =
        alt((preceded(apart, fraction), preceded(space0, one_sign))).parse(input)?;
    Ok((input, whole + part))
}

/// A fraction that is one sign, as telephones and word processors write it.
fn one_sign(input: &str) -> IResult<&str, f64> {
    map_opt(anychar, |sign| {
        Some(match sign {
            '½' => 1.0 / 2.0,
            '⅓' => 1.0 / 3.0,
            '⅔' => 2.0 / 3.0,
            '¼' => 1.0 / 4.0,
            '¾' => 3.0 / 4.0,
            '⅛' => 1.0 / 8.0,
            '⅜' => 3.0 / 8.0,
            '⅝' => 5.0 / 8.0,
            '⅞' => 7.0 / 8.0,
            _ => return None,
        })
    })
    .parse(input)
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
        value(Unit::Inch, inch),
        value(Unit::Line, alt((tag("lines"), tag("line")))),
    )))
    .parse(input)
}

fn inch(input: &str) -> IResult<&str, &str> {
    alt((tag("inches"), tag("inch"), tag("in"), tag("\""), tag("″"), tag("”"))).parse(input)
}
