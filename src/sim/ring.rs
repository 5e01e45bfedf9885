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
}

/// For each move of a trace the circle that it is a chord of, or on the way out of.
pub fn rings(trace: &[Move]) -> Vec<Option<Ring>> {
    let mut found = vec![None; trace.len()];
    let mut start = 0;
    while start < trace.len() {
        let length = trace[start..].iter().take_while(|step| cuts(step)).count();
        let group = start..start + length;
        if let Some(ring) = ring(&trace[group.clone()]) {
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
fn ring(visit: &[Move]) -> Option<Ring> {
    let sideways = |step: &&Move| step.from[..2] != step.to[..2];
    let mut chords: Vec<&Move> = visit.iter().filter(sideways).collect();
    let flat = |p: [f64; 3]| [p[0], p[1]];
    let middle = |chords: &[&Move]| {
        let points = || chords.iter().flat_map(|step| [step.from, step.to]);
        [0, 1].map(|axis| {
            let low = points().map(|p| p[axis]).fold(f64::INFINITY, f64::min);
            let high = points().map(|p| p[axis]).fold(f64::NEG_INFINITY, f64::max);
            (low + high) / 2.0
        })
    };
    if chords.len() < LEAST {
        return None;
    }
    let centre = middle(&chords);
    if distance(flat(chords[chords.len() - 1].to), centre) <= SAME {
        chords.pop();
    }
    let radius = distance(flat(chords.first()?.from), centre);
    let mut chord_error: f64 = 0.0;
    let mut turned = Vec::with_capacity(chords.len());
    for step in &chords {
        let (from, to) = (flat(step.from), flat(step.to));
        if [from, to].iter().any(|p| (distance(*p, centre) - radius).abs() > SAME) {
            return None;
        }
        let halfway = [0, 1].map(|axis| (from[axis] + to[axis]) / 2.0);
        chord_error = chord_error.max(radius - distance(halfway, centre));
        turned.push(2.0 * libm::asin((distance(from, to) / 2.0 / radius).min(1.0)));
    }
    // Each whole turn by itself: a chord alone goes down by its last decimal more or less.
    let (mut per_turn, mut first, mut so_far): (f64, usize, f64) = (0.0, 0, 0.0);
    for (last, angle) in turned.iter().enumerate() {
        so_far += angle;
        while so_far - turned[first] > TAU - 1e-3 {
            so_far -= turned[first];
            first += 1;
        }
        per_turn = per_turn.max(chords[first].from[2] - chords[last].to[2]);
    }
    (chord_error <= CORNER).then_some(Ring { centre, radius, chord_error, per_turn })
}

fn distance(a: [f64; 2], b: [f64; 2]) -> f64 {
    let [x, y] = [a[0] - b[0], a[1] - b[1]];
    (x * x + y * y).sqrt()
}
