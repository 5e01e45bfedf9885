//! Figures as people read them.

use crate::units::Unit;

/// Within this of a 32nd of an inch a length is given as a fraction, mm.
const FRACTION_WITHIN: f64 = 0.05;

/// A length in the unit the person thinks in: `228.6 mm`, `9 in`, `7 1/4 in`, `8.63 in`.
pub fn length(mm: f64, unit: Unit) -> String {
    match unit {
        Unit::Inch => format!("{} in", inches(mm)),
        _ => format!("{} mm", decimal(mm, 1)),
    }
}

/// From the least of several lengths to the most; one length where they look alike.
pub fn from_to(ends: [f64; 2], says: impl Fn(f64) -> String) -> String {
    let [low, high] = ends.map(says);
    if low == high { low } else { format!("{low} to {high}") }
}

/// A length in the person's unit, and the other in brackets.
pub fn both(mm: f64, unit: Unit) -> String {
    format!("{} ({})", length(mm, unit), length(mm, other(unit)))
}

/// `1400 x 600 mm`.
pub fn size(mm: [f64; 2], unit: Unit) -> String {
    let [w, h] = mm;
    match unit {
        // Both alike: a fraction beside a decimal looks like a slip.
        Unit::Inch => match (fraction(w), fraction(h)) {
            (Some(w), Some(h)) => format!("{w} x {h} in"),
            _ => format!("{} x {} in", decimal(w / 25.4, 2), decimal(h / 25.4, 2)),
        },
        _ => format!("{} x {} mm", decimal(w, 1), decimal(h, 1)),
    }
}

/// A size in the person's unit, and the other in brackets.
pub fn size_both(mm: [f64; 2], unit: Unit) -> String {
    format!("{} ({})", size(mm, unit), size(mm, other(unit)))
}

pub fn other(unit: Unit) -> Unit {
    if unit == Unit::Inch { Unit::Millimetre } else { Unit::Inch }
}

/// At most `places` decimals and no needless noughts.
pub fn decimal(n: f64, places: usize) -> String {
    let text = format!("{n:.places$}");
    let text =
        if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    if text == "-0" { "0".to_string() } else { text.to_string() }
}

/// `7 min 05 s`, `42 s`, `1 h 12 min`.
pub fn duration(seconds: f64) -> String {
    let whole = seconds.round().max(0.0) as u64;
    match (whole / 3600, whole / 60 % 60, whole % 60) {
        (0, 0, s) => format!("{s} s"),
        (0, m, s) => format!("{m} min {s:02} s"),
        (h, m, _) => format!("{h} h {m:02} min"),
    }
}

/// `1 hole`, `38 holes`.
pub fn count(n: usize, one: &str, many: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { many })
}

fn inches(mm: f64) -> String {
    fraction(mm).unwrap_or_else(|| decimal(mm / 25.4, 2))
}

/// Inches as a tape shows them; `None` if no 32nd is near.
fn fraction(mm: f64) -> Option<String> {
    let parts = (mm / 25.4 * 32.0).round();
    if (parts / 32.0 * 25.4 - mm).abs() > FRACTION_WITHIN {
        return None;
    }
    let sign = if parts < 0.0 { "-" } else { "" };
    let parts = parts.abs() as u64;
    let (whole, mut over, mut under) = (parts / 32, parts % 32, 32);
    while over != 0 && over % 2 == 0 {
        (over, under) = (over / 2, under / 2);
    }
    Some(match (whole, over) {
        (whole, 0) => format!("{sign}{whole}"),
        (0, over) => format!("{sign}{over}/{under}"),
        (whole, over) => format!("{sign}{whole} {over}/{under}"),
    })
}

/// With a capital letter.
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
