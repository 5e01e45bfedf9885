//! Round holes spelled out in chords, for controllers without arcs.

use super::{Bounds, Move, PenState};
use std::f64::consts::TAU;

/// Points of a circle differ from it by no more than this, mm: a controller's last decimal, twice.
const SAME: f64 = 0.006;
/// A chord farther than this from its circle is a corner, mm.
const CORNER: f64 = 0.2;
/// Fewer chords are no circle.
const LEAST: usize = 8;

/// A circle that chords go round on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ring {
    pub centre: [f64; 2],
    pub radius: f64,
    /// The farthest that a chord is from the circle.
    pub chord_error: f64,
    /// The most that the tool goes down in one turn.
    pub per_turn: f64,
    /// How far round all chords go, radians.
    pub turned: f64,
}

impl Ring {
    /// How far round a chord goes, radians.
    pub fn turn(&self, from: [f64; 2], to: [f64; 2]) -> f64 {
        angle(from, to, self.centre).abs()
    }
}

/// Where a straight move begins and ends.
pub(super) type Way = [[f64; 3]; 2];

/// For each move of a trace the circle that it is a chord of, or on the way out of.
pub fn rings(trace: &[Move]) -> Vec<Option<Ring>> {
    let mut found = vec![None; trace.len()];
    let mut start = 0;
    while start < trace.len() {
        let length = trace[start..].iter().take_while(|step| cuts(step)).count();
        let group = start..start + length;
        let ways = trace[group.clone()].iter().map(|step| [step.from, step.to]).collect();
        if let Some(ring) = ring(ways) {
            found[group].fill(Some(ring));
        }
        start += length.max(1);
    }
    found
}

fn cuts(step: &Move) -> bool {
    step.arc.is_none() && step.pen != Some(PenState::Down) && Bounds::of(step).min[2] < 0.0
}

/// The circle that all sideways moves of one visit are chords of; the last may lead to its middle.
pub(super) fn ring(mut chords: Vec<Way>) -> Option<Ring> {
    chords.retain(|[from, to]| from[..2] != to[..2]);
    all_round(&chords).or_else(|| {
        let [_, to] = chords.pop()?;
        all_round(&chords).filter(|ring| distance([to[0], to[1]], ring.centre) <= SAME)
    })
}

/// The circle that all of these are chords of.
fn all_round(chords: &[Way]) -> Option<Ring> {
    if chords.len() < LEAST {
        return None;
    }
    let flat = |p: [f64; 3]| [p[0], p[1]];
    let centre = middle(chords)?;
    let radius = distance(flat(chords[0][0]), centre);
    let mut chord_error: f64 = 0.0;
    let mut turned = Vec::with_capacity(chords.len());
    for way in chords {
        let [from, to] = way.map(flat);
        if [from, to].iter().any(|p| (distance(*p, centre) - radius).abs() > SAME) {
            return None;
        }
        let halfway = [0, 1].map(|axis| (from[axis] + to[axis]) / 2.0);
        chord_error = chord_error.max(radius - distance(halfway, centre));
        turned.push(angle(from, to, centre));
    }
    // There and back again is no turn.
    if turned.iter().any(|angle| (*angle > 0.0) != (turned[0] > 0.0)) {
        return None;
    }
    // Each whole turn by itself: a chord alone goes down by its last decimal more or less. A turn is whole as
    // far as its two ends are known.
    let whole = TAU - 2.0 * SAME / radius;
    let (mut per_turn, mut first, mut so_far): (f64, usize, f64) = (0.0, 0, 0.0);
    for (last, angle) in turned.iter().enumerate() {
        so_far += angle.abs();
        while so_far - turned[first].abs() > whole {
            so_far -= turned[first].abs();
            first += 1;
        }
        per_turn = per_turn.max(chords[first][0][2] - chords[last][1][2]);
    }
    let turned = turned.iter().map(|angle| angle.abs()).sum();
    (chord_error <= CORNER).then_some(Ring { centre, radius, chord_error, per_turn, turned })
}

/// From one place to another as seen from a middle, radians, anticlockwise. Angles in a row add up to a whole turn
/// however the places were rounded, which lengths of chords do not.
fn angle(from: [f64; 2], to: [f64; 2], middle: [f64; 2]) -> f64 {
    let [u, v] = [from, to].map(|p| [p[0] - middle[0], p[1] - middle[1]]);
    libm::atan2(u[0] * v[1] - u[1] * v[0], u[0] * v[0] + u[1] * v[1])
}

/// The middle of the circle that comes nearest to the ends of all chords: least squares of the squared
/// distances (Kåsa 1976, from memory), which has one solution and needs no first guess.
fn middle(chords: &[Way]) -> Option<[f64; 2]> {
    let points = || chords.iter().flatten().map(|p| [p[0], p[1]]);
    let count = 2.0 * chords.len() as f64;
    let mean = [0, 1].map(|axis| points().map(|p| p[axis]).sum::<f64>() / count);
    let (mut xx, mut xy, mut yy, mut x, mut y) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for point in points() {
        let [u, v] = [point[0] - mean[0], point[1] - mean[1]];
        let half = (u * u + v * v) / 2.0;
        (xx, xy, yy) = (xx + u * u, xy + u * v, yy + v * v);
        (x, y) = (x + u * half, y + v * half);
    }
    let scale = xx * yy - xy * xy;
    // All on one line, as far as places are known: the mean square of how far they are from it.
    if scale <= count * SAME * SAME * (xx + yy) {
        return None;
    }
    Some([mean[0] + (x * yy - y * xy) / scale, mean[1] + (y * xx - x * xy) / scale])
}

fn distance(a: [f64; 2], b: [f64; 2]) -> f64 {
    let [x, y] = [a[0] - b[0], a[1] - b[1]];
    (x * x + y * y).sqrt()
}
