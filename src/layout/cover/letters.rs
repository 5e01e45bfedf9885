//! Letters that a pen writes in single strokes.
//!
//! The shapes are the plain Roman of the Hershey fonts; their acknowledgements stand beside the data in
//! `letters/ACKNOWLEDGEMENTS`. One line of the file is one letter, from the space on: a number of five
//! places, a count of three, then pairs of characters, each its distance from `R`. The first pair is the
//! left and right edge; ` R` lifts the pen.

const DATA: &str = include_str!("letters/futural.jhf");
/// From the base line to the top of a capital, in the data's units.
const CAPITAL: f64 = 21.0;
/// The base line below the data's nought, in its units.
const BASE: f64 = 9.0;

/// A line of writing: strokes from its lower left corner, X right, Y up, mm.
pub struct Writing {
    pub strokes: Vec<Vec<[f64; 2]>>,
    pub width: f64,
    /// Of a capital; a few letters reach a third of it below the line.
    pub height: f64,
}

/// Writes a text with capitals of a height. Letters with accents lose them; what has no plain letter at
/// all becomes a dash.
pub fn write(text: &str, height: f64) -> Writing {
    let scale = height / CAPITAL;
    let (mut strokes, mut width) = (Vec::new(), 0.0);
    for letter in deunicode::deunicode_with_tofu(text, "-").chars() {
        let Some(line) = (letter as usize).checked_sub(32).and_then(|at| DATA.lines().nth(at))
        else {
            continue;
        };
        let pairs = line.as_bytes()[8..].chunks_exact(2).map(|pair| [pair[0], pair[1]]);
        let from_r = |byte: u8| f64::from(byte) - f64::from(b'R');
        let mut pairs = pairs.peekable();
        let Some([left, right]) = pairs.next() else { continue };
        let start = width - from_r(left) * scale;
        let mut stroke = Vec::new();
        for [x, y] in pairs {
            if [x, y] == *b" R" {
                strokes.push(std::mem::take(&mut stroke));
            } else {
                stroke.push([start + from_r(x) * scale, (BASE - from_r(y)) * scale]);
            }
        }
        strokes.push(stroke);
        width += (from_r(right) - from_r(left)) * scale;
    }
    strokes.retain(|stroke| stroke.len() > 1);
    Writing { strokes, width, height }
}
