//! A way as it is walked: straight, along arcs, along curves that become arcs.

use super::piece::Corner;

/// How far an arc may stray from the curve it stands for, mm: under half the slack of the checker.
pub const WITHIN: f64 = 0.002;
/// A curve is halved at most this often.
const HALVINGS: u32 = 12;

/// Corners so far, and where the way has come to.
#[derive(Debug, Clone)]
pub struct Way {
    pub corners: Vec<Corner>,
    pub end: [f64; 2],
}

impl Way {
    pub fn from(start: [f64; 2]) -> Self {
        Way { corners: Vec::new(), end: start }
    }

    /// Along an arc of this bulge; 0 is straight. Going nowhere adds nothing.
    pub fn arc_to(&mut self, bulge: f64, to: [f64; 2]) {
        if to != self.end {
            self.corners.push(Corner { at: self.end, bulge });
            self.end = to;
        }
    }

    pub fn line_to(&mut self, to: [f64; 2]) {
        self.arc_to(0.0, to);
    }

    /// Along a curve from where the way has come to, given by a share from 0 to 1.
    pub fn curve(&mut self, at: &dyn Fn(f64) -> [f64; 2]) {
        for quarter in 0..4 {
            let share = |n: i32| f64::from(n) / 4.0;
            self.halved(at, share(quarter), share(quarter + 1), HALVINGS);
        }
    }

    fn halved(&mut self, at: &dyn Fn(f64) -> [f64; 2], from: f64, to: f64, left: u32) {
        let middle = (from + to) / 2.0;
        let [a, m, b] = [self.end, at(middle), at(to)];
        let bulge = bulge_through(a, m, b);
        if left == 0 || [0.25, 0.75].iter().all(|s| near(a, b, bulge, at(from + s * (to - from)))) {
            return self.arc_to(bulge, b);
        }
        self.halved(at, from, middle, left - 1);
        self.halved(at, middle, to, left - 1);
    }
}

/// Whether a place is within [`WITHIN`] of an arc.
fn near(from: [f64; 2], to: [f64; 2], bulge: f64, place: [f64; 2]) -> bool {
    if from == to {
        return super::square(place, from) <= WITHIN * WITHIN;
    }
    let piece = super::Piece { from, to, bulge };
    super::square(place, piece.nearest(place)) <= WITHIN * WITHIN
}

/// The bulge of the arc from `a` over `m` to `b`: the angle between the two chords is half the arc's.
pub fn bulge_through(a: [f64; 2], m: [f64; 2], b: [f64; 2]) -> f64 {
    let [p, q] = [[m[0] - a[0], m[1] - a[1]], [b[0] - m[0], b[1] - m[1]]];
    let (cross, dot) = (p[0] * q[1] - p[1] * q[0], p[0] * q[0] + p[1] * q[1]);
    let length = (cross * cross + dot * dot).sqrt();
    // Flatter than this over any panel is straight to the last bit that counts.
    if cross.abs() <= 1e-9 * length || length + dot <= 0.0 { 0.0 } else { cross / (length + dot) }
}
