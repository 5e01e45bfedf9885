//! Corners rounded to a radius.

use super::piece::Corner;

/// A radius that does not fit between its neighbours.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TooRound {
    /// Which corner.
    pub corner: usize,
    /// The largest radius that would fit if the neighbours' stay as they are.
    pub most: f64,
    /// The largest that would fit if all corners had the same.
    pub alike: f64,
}

/// Rounds the corners of a polygon, each to its own radius; 0 leaves it sharp.
pub fn round(points: &[[f64; 2]], radii: &[f64]) -> Result<Vec<Corner>, Vec<TooRound>> {
    let n = points.len();
    let turns: Vec<Turn> =
        (0..n).map(|i| Turn::at(points[(i + n - 1) % n], points[i], points[(i + 1) % n])).collect();
    // A sharp corner takes nothing, even one that turns right back.
    let taken = |i: usize| if radii[i] == 0.0 { 0.0 } else { radii[i] * turns[i].tangent.abs() };
    let alike = (0..n)
        .map(|i| turns[i].after / (turns[i].tangent.abs() + turns[(i + 1) % n].tangent.abs()))
        .fold(f64::INFINITY, f64::min);
    let mut wrong = Vec::new();
    for i in 0..n {
        if radii[i] == 0.0 {
            continue;
        }
        let room = (turns[i].before - taken((i + n - 1) % n))
            .min(turns[i].after - taken((i + 1) % n))
            .max(0.0);
        if taken(i) > room + 1e-9 {
            wrong.push(TooRound { corner: i, most: room / turns[i].tangent.abs(), alike });
        }
    }
    if !wrong.is_empty() {
        return Err(wrong);
    }
    let mut corners: Vec<Corner> = Vec::new();
    for i in 0..n {
        let (at, turn) = (points[i], &turns[i]);
        let back = taken(i);
        if back == 0.0 {
            corners.push(Corner::sharp(at));
            continue;
        }
        let along = |way: [f64; 2], by: f64| [at[0] + by * way[0], at[1] + by * way[1]];
        let t = turn.tangent;
        let bulge = t / (1.0 + (1.0 + t * t).sqrt());
        corners.push(Corner { at: along(turn.ways[0], -back), bulge });
        corners.push(Corner::sharp(along(turn.ways[1], back)));
    }
    // Where two roundings meet, the straight between them has no length.
    let same = |a: &Corner, b: &Corner| super::square(a.at, b.at) < 1e-12;
    let n = corners.len();
    let meets = |i: usize| same(&corners[i], &corners[(i + 1) % n]);
    Ok((0..n).filter(|&i| !meets(i)).map(|i| corners[i]).collect())
}

/// How a polygon turns at one of its points.
struct Turn {
    /// Unit directions before and after.
    ways: [[f64; 2]; 2],
    /// Tangent of half the angle turned through, positive to the left.
    tangent: f64,
    before: f64,
    after: f64,
}

impl Turn {
    fn at(a: [f64; 2], b: [f64; 2], c: [f64; 2]) -> Self {
        let unit = |p: [f64; 2], q: [f64; 2]| {
            let length = super::square(p, q).sqrt();
            ([(q[0] - p[0]) / length, (q[1] - p[1]) / length], length)
        };
        let ((u, before), (v, after)) = (unit(a, b), unit(b, c));
        let (cross, dot) = (u[0] * v[1] - u[1] * v[0], u[0] * v[0] + u[1] * v[1]);
        Turn { ways: [u, v], tangent: cross / (1.0 + dot), before, after }
    }
}
