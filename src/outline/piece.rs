//! One piece of an outline: a straight line or an arc, and everything that is measured on it.
//!
//! An arc is given by its ends and its bulge, the tangent of a quarter of the angle it turns through:
//! 0 is straight, 1 a half circle, positive turns anticlockwise. Sides are told by cross products, so
//! nothing here asks for an angle but lengths and areas.

use kurbo::{Arc, PathEl, Rect, Vec2};

/// How far beyond an end still counts as the end, as a share of the piece.
const HAIR: f64 = 1e-9;

/// Where one piece of an outline ends and the next begins, and how that goes on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Corner {
    pub at: [f64; 2],
    /// Of the piece that begins here.
    pub bulge: f64,
}

impl Corner {
    pub fn sharp(at: [f64; 2]) -> Self {
        Corner { at, bulge: 0.0 }
    }
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Piece {
    pub from: [f64; 2],
    pub to: [f64; 2],
    pub bulge: f64,
}

/// The pieces of a closed way.
pub fn pieces(corners: &[Corner]) -> impl Iterator<Item = Piece> + '_ {
    (0..corners.len()).map(|i| Piece {
        from: corners[i].at,
        to: corners[(i + 1) % corners.len()].at,
        bulge: corners[i].bulge,
    })
}

pub fn shifted(corners: &[Corner], by: [f64; 2]) -> Vec<Corner> {
    corners.iter().map(|c| Corner { at: plus(c.at, by), bulge: c.bulge }).collect()
}

/// The same way walked the other way round, from the same corner.
pub fn backwards(corners: &[Corner]) -> Vec<Corner> {
    let n = corners.len();
    // The piece that now begins at a corner is the one that ended there.
    (0..n)
        .map(|i| Corner { at: corners[(n - i) % n].at, bulge: -corners[(2 * n - i - 1) % n].bulge })
        .collect()
}

/// Left and right exchanged.
pub fn mirrored(corners: &[Corner]) -> Vec<Corner> {
    corners.iter().map(|c| Corner { at: [-c.at[0], c.at[1]], bulge: -c.bulge }).collect()
}

fn plus(a: [f64; 2], b: [f64; 2]) -> [f64; 2] {
    [a[0] + b[0], a[1] + b[1]]
}

fn minus(a: [f64; 2], b: [f64; 2]) -> [f64; 2] {
    [a[0] - b[0], a[1] - b[1]]
}

fn dot(a: [f64; 2], b: [f64; 2]) -> f64 {
    a[0] * b[0] + a[1] * b[1]
}

fn cross(a: [f64; 2], b: [f64; 2]) -> f64 {
    a[0] * b[1] - a[1] * b[0]
}

fn length(a: [f64; 2]) -> f64 {
    dot(a, a).sqrt()
}

impl Piece {
    pub fn is_straight(&self) -> bool {
        self.bulge == 0.0
    }

    fn chord(&self) -> [f64; 2] {
        minus(self.to, self.from)
    }

    /// Centre of an arc: on the chord's left where a short arc turns anticlockwise.
    pub fn centre(&self) -> [f64; 2] {
        let [x, y] = self.chord();
        let out = (1.0 - self.bulge * self.bulge) / (4.0 * self.bulge);
        let middle = [(self.from[0] + self.to[0]) / 2.0, (self.from[1] + self.to[1]) / 2.0];
        [middle[0] - y * out, middle[1] + x * out]
    }

    /// Half-way along.
    pub fn middle(&self) -> [f64; 2] {
        let ([x, y], half) = (self.chord(), self.bulge / 2.0);
        [(self.from[0] + self.to[0]) / 2.0 + y * half, (self.from[1] + self.to[1]) / 2.0 - x * half]
    }

    pub fn radius(&self) -> f64 {
        let b = self.bulge.abs();
        length(self.chord()) * (1.0 + b * b) / (4.0 * b)
    }

    /// Angle turned through, positive anticlockwise.
    pub fn turn(&self) -> f64 {
        4.0 * libm::atan(self.bulge)
    }

    pub fn length(&self) -> f64 {
        if self.is_straight() { length(self.chord()) } else { self.radius() * self.turn().abs() }
    }

    /// Its direction, of length one, where it begins and where it ends: the chord, turned by half of what an
    /// arc turns.
    pub fn directions(&self) -> [[f64; 2]; 2] {
        let ([x, y], long) = (self.chord(), length(self.chord()));
        let square = self.bulge * self.bulge;
        let (cos, sin) = ((1.0 - square) / (1.0 + square), 2.0 * self.bulge / (1.0 + square));
        [-sin, sin].map(|sin| [(x * cos - y * sin) / long, (y * cos + x * sin) / long])
    }

    /// Twice-counted parts cancel round a closed way: half the cross product of its ends, and the segment
    /// between chord and arc, r²/2·(θ - sin θ).
    pub fn area(&self) -> f64 {
        let straight = cross(self.from, self.to) / 2.0;
        if self.is_straight() {
            return straight;
        }
        let (b, r) = (self.bulge, self.radius());
        let square = (1.0 + b * b) * (1.0 + b * b);
        let sine = 4.0 * b * (1.0 - b * b) / square;
        straight + r * r / 2.0 * (self.turn() - sine)
    }

    /// In two, the first with this share of its length.
    pub fn parted(&self, share: f64) -> [Piece; 2] {
        if self.is_straight() {
            let at = [0, 1].map(|i| self.from[i] + share * (self.to[i] - self.from[i]));
            return [Piece { to: at, ..*self }, Piece { from: at, ..*self }];
        }
        let (centre, turn) = (self.centre(), self.turn());
        let out = minus(self.from, centre);
        let (sin, cos) = libm::sincos(turn * share);
        let at = plus(centre, [out[0] * cos - out[1] * sin, out[0] * sin + out[1] * cos]);
        let bulge = |turn: f64| libm::tan(turn / 4.0);
        [
            Piece { to: at, bulge: bulge(turn * share), ..*self },
            Piece { from: at, bulge: bulge(turn * (1.0 - share)), ..*self },
        ]
    }

    /// Whether a place is on the side of the chord where the arc lies.
    fn on_arcs_side(&self, place: [f64; 2]) -> bool {
        let side = cross(self.chord(), minus(place, self.from));
        if self.bulge > 0.0 { side <= 0.0 } else { side >= 0.0 }
    }

    pub fn nearest(&self, place: [f64; 2]) -> [f64; 2] {
        if self.is_straight() {
            let way = self.chord();
            let share = dot(minus(place, self.from), way) / dot(way, way);
            return match share {
                s if s <= 0.0 => self.from,
                s if s >= 1.0 => self.to,
                s => [self.from[0] + s * way[0], self.from[1] + s * way[1]],
            };
        }
        let (centre, radius) = (self.centre(), self.radius());
        let out = minus(place, centre);
        let away = length(out);
        if away > 0.0 {
            let on = [centre[0] + out[0] / away * radius, centre[1] + out[1] / away * radius];
            if self.on_arcs_side(on) {
                return on;
            }
        }
        let [a, b] = [minus(place, self.from), minus(place, self.to)];
        if dot(a, a) <= dot(b, b) { self.from } else { self.to }
    }

    /// Whether this piece changes inside to outside for a place: where a line to the right crosses the
    /// chord, and once more where the place lies between chord and arc.
    pub fn swaps(&self, place: [f64; 2]) -> bool {
        let (a, b) = (minus(self.from, place), minus(self.to, place));
        let between = (a[1] > 0.0) != (b[1] > 0.0);
        let right = (cross(a, b) > 0.0) == (b[1] > a[1]);
        let chord = between && right;
        if self.is_straight() {
            return chord;
        }
        let out = minus(place, self.centre());
        // A place on the chord counts as the half-open rule above has it: right of a chord that goes up or
        // down, above a level one.
        let side = match cross(self.chord(), minus(place, self.from)) {
            0.0 if self.chord()[1] == 0.0 => self.chord()[0],
            0.0 => -1.0,
            side => side,
        };
        let on_arcs_side = (side < 0.0) == (self.bulge > 0.0);
        let within = on_arcs_side && dot(out, out) < self.radius() * self.radius();
        chord != within
    }

    pub fn bounds(&self) -> Rect {
        let corner = |p: [f64; 2]| kurbo::Point::new(p[0], p[1]);
        let mut bounds = Rect::from_points(corner(self.from), corner(self.to));
        if !self.is_straight() {
            let (centre, r) = (self.centre(), self.radius());
            for out in [[r, 0.0], [-r, 0.0], [0.0, r], [0.0, -r]] {
                let at = plus(centre, out);
                if self.on_arcs_side(at) {
                    bounds = bounds.union_pt(corner(at));
                }
            }
        }
        bounds
    }

    /// The arc as curves; `None` where it is straight.
    pub fn arc(&self, within: f64) -> Option<impl Iterator<Item = PathEl>> {
        if self.is_straight() {
            return None;
        }
        let (centre, radius) = (self.centre(), self.radius());
        let out = minus(self.from, centre);
        let arc = Arc {
            center: kurbo::Point::new(centre[0], centre[1]),
            radii: Vec2::new(radius, radius),
            start_angle: libm::atan2(out[1], out[0]),
            sweep_angle: self.turn(),
            x_rotation: 0.0,
        };
        Some(arc.append_iter(within))
    }

    /// How far along the piece a place on it is.
    pub fn length_to(&self, place: [f64; 2]) -> f64 {
        if self.is_straight() {
            return length(minus(place, self.from));
        }
        let centre = self.centre();
        let [a, b] = [minus(self.from, centre), minus(place, centre)];
        let turned = libm::atan2(cross(a, b), dot(a, b)) * self.bulge.signum();
        let full = self.turn().abs();
        // Just before the beginning is the beginning; past a half turn the angle has come round.
        let turned = if turned < 0.0 { turned + std::f64::consts::TAU } else { turned };
        let turned = if turned > full + 1e-6 { 0.0 } else { turned.min(full) };
        turned * self.radius()
    }

    /// Points from the beginning to before the end, each with its share of the piece's length.
    pub fn points(&self, step: f64) -> Vec<(f64, [f64; 2])> {
        if self.is_straight() {
            return vec![(0.0, self.from)];
        }
        let steps = (self.length() / step).ceil().max(1.0) as usize;
        let centre = self.centre();
        let out = minus(self.from, centre);
        let at = |i: usize| {
            let share = i as f64 / steps as f64;
            let (sin, cos) = libm::sincos(self.turn() * share);
            let turned = [out[0] * cos - out[1] * sin, out[0] * sin + out[1] * cos];
            (share, plus(centre, turned))
        };
        (0..steps).map(at).collect()
    }

    /// How far along a ray from `place` it meets this piece, each time. A ray through a corner meets both its
    /// pieces: an end counts a hair beyond itself, or rounding might let it slip between them.
    pub fn hits(&self, place: [f64; 2], direction: [f64; 2]) -> Vec<f64> {
        let unit = length(direction);
        let way = [direction[0] / unit, direction[1] / unit];
        if self.is_straight() {
            let (chord, gap) = (self.chord(), minus(self.from, place));
            let across = cross(way, chord);
            if across == 0.0 {
                return Vec::new();
            }
            let (along, share) = (cross(gap, chord) / across, cross(gap, way) / across);
            return if along >= 0.0 && (-HAIR..=1.0 + HAIR).contains(&share) {
                vec![along]
            } else {
                Vec::new()
            };
        }
        let gap = minus(place, self.centre());
        let (half, r) = (dot(gap, way), self.radius());
        let under = half * half - (dot(gap, gap) - r * r);
        if under < 0.0 {
            return Vec::new();
        }
        let root = under.sqrt();
        let on = |along: &f64| {
            let at = [place[0] + along * way[0], place[1] + along * way[1]];
            let end = |end: [f64; 2]| length(minus(at, end)) <= HAIR * r;
            *along >= 0.0 && (self.on_arcs_side(at) || end(self.from) || end(self.to))
        };
        [-half - root, -half + root].into_iter().filter(on).collect()
    }
}
