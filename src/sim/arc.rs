//! Arcs and helices: centre, turned angle, what they reach (IR 6556, page 24).

use crate::gcode::{LanguageRule as Rule, Plane, Refusal, Refused};
use std::f64::consts::{FRAC_PI_2, TAU};

/// Ends nearer than this are one place, mm: far below what a program can write.
const SAME: f64 = 1e-6;

/// An arc, or a helix where the third axis moves too.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Arc {
    pub plane: Plane,
    /// On the plane's first and second axis, in the frame of the move.
    pub centre: [f64; 2],
    pub radius: f64,
    /// Radians, anticlockwise positive; a full circle is ±2π.
    pub turned: f64,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Sense {
    Clockwise,
    Anticlockwise,
}

/// How a line says where the centre is, mm.
pub(super) enum Form {
    /// From the start, along the plane's first and second axis.
    Centre([f64; 2]),
    Radius(f64),
}

#[cold]
fn refuse<T>(rule: Rule, message: String) -> Result<T, Refused> {
    Err(Box::new(Refusal { rule, line: 0, column: 0, message }))
}

impl Arc {
    /// The arc from `from` to `to`. Its radii at the two ends may differ by `tolerance`, mm, and a
    /// half circle given by R may be that much too wide.
    pub(super) fn new(
        plane: Plane,
        sense: Sense,
        [from, to]: [[f64; 3]; 2],
        form: Form,
        tolerance: f64,
    ) -> Result<Arc, Refused> {
        let [a, b, _] = plane.axes();
        let (from, to) = ([from[a], from[b]], [to[a], to[b]]);
        let centre = match form {
            Form::Centre(offset) => [from[0] + offset[0], from[1] + offset[1]],
            Form::Radius(radius) => centre_of(from, to, radius, sense, tolerance)?,
        };
        let start = [from[0] - centre[0], from[1] - centre[1]];
        let end = [to[0] - centre[0], to[1] - centre[1]];
        let (radius, other) = (length(start), length(end));
        if radius == 0.0 || (radius - other).abs() > tolerance {
            return refuse(
                Rule::ArcRadiiDiffer,
                format!(
                    "the arc starts {radius:.4} mm from its centre and ends {other:.4} mm from it"
                ),
            );
        }
        let cross = start[0] * end[1] - start[1] * end[0];
        let dot = start[0] * end[0] + start[1] * end[1];
        let turned = match sense {
            _ if same(from, to) => TAU,
            Sense::Anticlockwise => positive(libm::atan2(cross, dot)),
            Sense::Clockwise => positive(libm::atan2(-cross, dot)),
        };
        let turned = if sense == Sense::Clockwise { -turned } else { turned };
        Ok(Arc { plane, centre, radius, turned })
    }

    /// The plane's part of the way, mm.
    pub fn length(&self) -> f64 {
        self.radius * self.turned.abs()
    }

    /// Directions of travel in the plane at the start and at the end, of length 1.
    pub(super) fn tangents(&self, from: [f64; 3]) -> [[f64; 2]; 2] {
        let [a, b, _] = self.plane.axes();
        let out =
            [(from[a] - self.centre[0]) / self.radius, (from[b] - self.centre[1]) / self.radius];
        let left = |[x, y]: [f64; 2]| [-y, x];
        let way = |p: [f64; 2]| if self.turned < 0.0 { [-p[0], -p[1]] } else { p };
        let (sin, cos) = (libm::sin(self.turned), libm::cos(self.turned));
        let end = [out[0] * cos - out[1] * sin, out[0] * sin + out[1] * cos];
        [way(left(out)), way(left(end))]
    }

    /// Where the tool is when it has done `part` of the way from `from` to `to`, 0 to 1.
    pub(super) fn at(&self, part: f64, from: [f64; 3], to: [f64; 3]) -> [f64; 3] {
        let [a, b, c] = self.plane.axes();
        let (sin, cos) = (libm::sin(self.turned * part), libm::cos(self.turned * part));
        let out = [from[a] - self.centre[0], from[b] - self.centre[1]];
        let mut place = [0.0; 3];
        place[a] = self.centre[0] + out[0] * cos - out[1] * sin;
        place[b] = self.centre[1] + out[0] * sin + out[1] * cos;
        place[c] = from[c] + (to[c] - from[c]) * part;
        place
    }

    /// Widens the least and greatest of each axis, taken from the two ends, to the whole arc.
    pub(super) fn widen(&self, from: [f64; 3], min: &mut [f64; 3], max: &mut [f64; 3]) {
        let [a, b, _] = self.plane.axes();
        let start = libm::atan2(from[b] - self.centre[1], from[a] - self.centre[0]);
        // The four ends of the circle, by how far each lies along the arc.
        for quarter in 0..4 {
            let angle = f64::from(quarter) * FRAC_PI_2;
            let along = if self.turned < 0.0 { start - angle } else { angle - start };
            let along = along - TAU * (along / TAU).floor();
            if along > self.turned.abs() {
                continue;
            }
            let axis = if quarter % 2 == 0 { 0 } else { 1 };
            let reach = if quarter < 2 { self.radius } else { -self.radius };
            let value = self.centre[axis] + reach;
            let axis = [a, b][axis];
            min[axis] = min[axis].min(value);
            max[axis] = max[axis].max(value);
        }
    }
}

/// The centre for the R form: R above nought turns at most half round, below nought more.
fn centre_of(
    from: [f64; 2],
    to: [f64; 2],
    radius: f64,
    sense: Sense,
    tolerance: f64,
) -> Result<[f64; 2], Refused> {
    let chord = [to[0] - from[0], to[1] - from[1]];
    let half = length(chord) / 2.0;
    if same(from, to) {
        return refuse(Rule::ArcRadius, "an arc given by R ends where it starts".into());
    }
    if half - radius.abs() > tolerance || radius == 0.0 {
        return refuse(
            Rule::ArcRadius,
            format!("the ends are {:.4} mm apart, too far for R{:.4}", half * 2.0, radius.abs()),
        );
    }
    let height = (radius * radius - half * half).max(0.0).sqrt();
    // The centre lies left of the chord for a short anticlockwise arc.
    let left = (sense == Sense::Anticlockwise) == (radius > 0.0);
    let side = if left { height } else { -height } / (2.0 * half);
    let middle = [from[0] + chord[0] / 2.0, from[1] + chord[1] / 2.0];
    Ok([middle[0] - chord[1] * side, middle[1] + chord[0] * side])
}

/// One place, but for what sums leave behind.
fn same(from: [f64; 2], to: [f64; 2]) -> bool {
    length([to[0] - from[0], to[1] - from[1]]) < SAME
}

/// An angle turned forward: more than 0, at most 2π.
fn positive(angle: f64) -> f64 {
    if angle > 0.0 { angle } else { angle + TAU }
}

fn length([x, y]: [f64; 2]) -> f64 {
    (x * x + y * y).sqrt()
}
