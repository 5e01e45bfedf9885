//! How far a hole can be off because dowels have play.
//!
//! A board on two dowels is a rigid body whose two holes may each be up to `e` from where the dowels
//! stand. With `s` the place of a hole along the line through the dowels (0 at the first, 1 at the second)
//! and `t` its distance from that line, both in distances between the dowels, the dowels may shift
//! together along the line by `c` and across it by `a` and `b`, where a² + c² ≤ e² and b² + c² ≤ e². The hole is
//! then off by ((1 - s)·a + s·b, c - t·(b - a)). Its length is greatest on the edge of what may be: where
//! a = b it is e; where a = -b it is a quadratic form in (a, c) whose greater eigenvalue gives the worst.

use super::Um;

/// Two holes of the board on the dowels, places on the sheet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Footing {
    pub holes: [[Um; 2]; 2],
    /// How far each of the two may be from where it should be, mm.
    pub each: f64,
}

impl Footing {
    /// The farthest that a place on the sheet can be off, mm.
    pub fn worst(&self, at: [Um; 2]) -> f64 {
        let [a, b] = self.holes;
        let along = [0, 1].map(|axis| (b[axis] - a[axis]) as f64);
        let from = [0, 1].map(|axis| (at[axis] - a[axis]) as f64);
        let square = along[0] * along[0] + along[1] * along[1];
        let s = (from[0] * along[0] + from[1] * along[1]) / square;
        let t = (from[0] * along[1] - from[1] * along[0]) / square;
        let across = (1.0 - 2.0 * s) * (1.0 - 2.0 * s) + 4.0 * t * t;
        let greater =
            (across + 1.0 + ((across - 1.0) * (across - 1.0) + 16.0 * t * t).sqrt()) / 2.0;
        self.each * greater.max(1.0).sqrt()
    }
}
