//! Buttons at places of their own, and which of them are neighbours.
//!
//! Pleats run between relative neighbours: two buttons with no third that is nearer to both than they are to each
//! other. In an even grid that gives the grid's own pleats, square or diamond. Source: G. T. Toussaint, "The
//! relative neighbourhood graph of a finite planar set", Pattern Recognition 12 (1980). They are a part of the
//! triangulation of B. Delaunay (1934), whose other sides brace the cloth.

use super::{Button, Fitted, HAIR, Name};
use crate::{
    diag::Diagnostic,
    frame::Point,
    job::{Job, PatternKind, Row},
    outline::Outline,
};
use std::collections::BTreeSet;

/// Distances that differ by less than this share are the same.
const ALIKE: f64 = 1e-9;

/// The buttons of the job, and the fit that stands for them: their mean distance both ways. A place outside the
/// panel or too near its edge is refused, and so are two buttons at one place.
pub fn buttons(job: &Job, outline: &Outline) -> Result<(Fitted, Vec<Button>), Vec<Diagnostic>> {
    let edge = job.pattern.edge.value.least();
    let mut wrong = Vec::new();
    let mut buttons: Vec<Button> = Vec::new();
    for (i, single) in job.pattern.singles.iter().enumerate() {
        let at = Point::new(single.at[0], single.at[1]);
        let depth = outline.depth(at);
        if depth < 0.0 {
            wrong.push(
                Diagnostic::at(single.span.clone(), "this button stands outside the panel").help(
                    "its place is [right, up] from the middle of the panel, seen from the front",
                ),
            );
        } else if depth < edge - HAIR {
            wrong.push(
                Diagnostic::at(
                    single.span.clone(),
                    format!(
                        "this button stands {depth:.1} mm from the edge, and `edge` is {edge} mm"
                    ),
                )
                .help("move it in, or write a smaller `edge`"),
            );
        }
        if buttons.iter().any(|other| other.at.distance(at) < 1.0) {
            wrong.push(
                Diagnostic::at(single.span.clone(), "another button stands at this place already")
                    .help("leave one of them out"),
            );
        }
        let Some(name) = Name::own(&single.name.value) else {
            wrong.push(
                Diagnostic::at(
                    single.name.span.clone(),
                    format!("`{}` cannot stand beside a mark", single.name.value),
                )
                .help("write up to 8 letters or figures, such as \"A3\""),
            );
            continue;
        };
        buttons.push(Button { name, lattice: [i as i32, 0], at });
    }
    if !wrong.is_empty() {
        return Err(wrong);
    }
    let places: Vec<[f64; 2]> = buttons.iter().map(|b| [b.at.x, b.at.y]).collect();
    let Neighbours { pleats, .. } = Neighbours::of(&places);
    let lengths = pleats.iter().map(|&[a, b]| distance(places[a], places[b]));
    let mean = match pleats.len() {
        0 => outline.width().min(outline.height()),
        n => lengths.sum::<f64>() / n as f64,
    };
    let fitted = Fitted {
        kind: PatternKind::Single,
        top_row: Row::Long,
        width: mean,
        height: mean,
        across: buttons.len() as u32,
        rows: 1,
        middle: 0.0,
        fan: None,
    };
    Ok((fitted, buttons))
}

/// Pairs of places, the lesser first.
#[derive(Debug, Clone, PartialEq)]
pub struct Neighbours {
    /// Relative neighbours.
    pub pleats: Vec<[usize; 2]>,
    /// The other sides of the triangulation.
    pub braces: Vec<[usize; 2]>,
}

impl Neighbours {
    pub fn of(places: &[[f64; 2]]) -> Self {
        let sides = match places.len() {
            0..=3 => {
                (0..places.len()).flat_map(|a| (a + 1..places.len()).map(move |b| [a, b])).collect()
            }
            _ => triangulated(places),
        };
        let related = |&[a, b]: &[usize; 2]| {
            let apart = distance(places[a], places[b]) * (1.0 - ALIKE);
            !places.iter().enumerate().any(|(c, &at)| {
                c != a && c != b && distance(at, places[a]).max(distance(at, places[b])) < apart
            })
        };
        let (pleats, braces) = sides.into_iter().partition(related);
        Neighbours { pleats, braces }
    }
}

/// All sides of the triangles that hold no other place in their circle, found one place after the other (A. Bowyer,
/// D. F. Watson, Computer Journal 24, 1981).
fn triangulated(places: &[[f64; 2]]) -> Vec<[usize; 2]> {
    let n = places.len();
    let far = places.iter().flatten().fold(1.0_f64, |far, c| far.max(c.abs())) * 1e3;
    let mut all = places.to_vec();
    // A triangle round everything.
    all.extend([[-3.0 * far, -far], [3.0 * far, -far], [0.0, 3.0 * far]]);
    let mut triangles: Vec<[usize; 3]> = vec![[n, n + 1, n + 2]];
    for place in 0..n {
        let (broken, kept): (Vec<_>, Vec<_>) =
            triangles.into_iter().partition(|t| in_circle(t.map(|i| all[i]), all[place]));
        let mut rim: BTreeSet<[usize; 2]> = BTreeSet::new();
        for [a, b, c] in broken {
            for side in [[a, b], [b, c], [c, a]] {
                // A side of two broken triangles is inside.
                if !rim.remove(&[side[1], side[0]]) {
                    rim.insert(side);
                }
            }
        }
        triangles = kept;
        triangles.extend(rim.into_iter().map(|[a, b]| [a, b, place]));
    }
    let sides: BTreeSet<[usize; 2]> = triangles
        .iter()
        .flat_map(|&[a, b, c]| [[a, b], [b, c], [c, a]])
        .map(|[a, b]| [a.min(b), a.max(b)])
        .filter(|side| side[1] < n)
        .collect();
    sides.into_iter().collect()
}

/// Whether a place lies in the circle through an anticlockwise triangle's corners.
fn in_circle([a, b, c]: [[f64; 2]; 3], place: [f64; 2]) -> bool {
    let row = |p: [f64; 2]| {
        let [x, y] = [p[0] - place[0], p[1] - place[1]];
        [x, y, x * x + y * y]
    };
    let [a, b, c] = [row(a), row(b), row(c)];
    let minor = |p: [f64; 3], q: [f64; 3]| p[0] * q[1] - p[1] * q[0];
    a[2] * minor(b, c) - b[2] * minor(a, c) + c[2] * minor(a, b) > 0.0
}

pub(super) fn distance(a: [f64; 2], b: [f64; 2]) -> f64 {
    let [x, y] = [a[0] - b[0], a[1] - b[1]];
    (x * x + y * y).sqrt()
}
