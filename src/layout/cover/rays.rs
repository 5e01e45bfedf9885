//! A fan's rays on the flat cloth: places by their angle and their distance from where the rays meet.

use super::{allowance::gap_share, spread::Wanted};
use crate::layout::Rays;
use std::f64::consts::{PI, TAU};

/// Two directions of length one, square to each other.
pub type Axes = [[f64; 2]; 2];

/// Right and up.
pub const LEVEL: Axes = [[1.0, 0.0], [0.0, 1.0]];

/// How far a way leads along each of two directions.
pub fn told(axes: Axes, way: [f64; 2]) -> [f64; 2] {
    axes.map(|axis| axis[0] * way[0] + axis[1] * way[1])
}

/// The way that leads so far along each.
pub fn led(axes: Axes, far: [f64; 2]) -> [f64; 2] {
    [0, 1].map(|i| axes[0][i] * far[0] + axes[1][i] * far[1])
}

/// A fan on cloth that is not stretched. Every row is as much longer than on the panel, and the rows as much farther
/// apart, so cloth that lies flat is a fan of a smaller angle: row k of radius r has columns of r·θ + A, and from row
/// to row it is g + B/2, so the angle of a column is θ·g/(g + B/2). Derived. All the way round it is the whole circle.
pub struct RaysOnCloth {
    on_panel: Rays,
    /// Where the rays meet on the cloth; of an open fan the middle row's middle is the origin.
    pub centre: [f64; 2],
    /// From row to row.
    pub gap: f64,
    /// An angle on the cloth against that on the panel.
    share: f64,
}

impl RaysOnCloth {
    pub fn of(wanted: &Wanted, rays: &Rays) -> Self {
        let [across, down] = wanted.allowance.figures();
        let gap = rays.gap + gap_share(wanted.fitted.kind) * down;
        let on_panel = *rays;
        if rays.all_round {
            return RaysOnCloth { on_panel, centre: rays.centre, gap, share: 1.0 };
        }
        let share = rays.gap / gap;
        let middle =
            (rays.middle(wanted.fitted.rows) * rays.column + across) / (rays.column * share);
        RaysOnCloth { on_panel, centre: [0.0, -middle], gap, share }
    }

    /// A place by its panel angle, clockwise from upright, and its distance from the centre of the cloth.
    pub fn out(&self, angle: f64, by: f64) -> [f64; 2] {
        let (sin, cos) = libm::sincos(angle * self.share);
        [self.centre[0] + by * sin, self.centre[1] + by * cos]
    }

    /// Along the row and outwards at a place of the panel, and the same on the cloth, where rays are turned back.
    pub fn axes(&self, at: [f64; 2]) -> [Axes; 2] {
        let [angle, _] = polar(self.on_panel.centre, at);
        let (sin, cos) = libm::sincos(angle * (1.0 - self.share));
        let on_panel = self.on_panel.axes(at);
        [on_panel, on_panel.map(|[x, y]| [x * cos - y * sin, x * sin + y * cos])]
    }

    /// How far a place of the cloth is turned from its ray, and how much farther out it lies than its place on the
    /// panel.
    pub fn shift(&self, on_panel: [f64; 2], on_cloth: [f64; 2]) -> [f64; 2] {
        let [angle, out] = polar(self.on_panel.centre, on_panel);
        let [turned, by] = polar(self.centre, on_cloth);
        [(turned - angle * self.share + PI).rem_euclid(TAU) - PI, by - out]
    }

    /// The place on the cloth of one on the panel that is shifted so.
    pub fn shifted(&self, on_panel: [f64; 2], [turn, by]: [f64; 2]) -> [f64; 2] {
        let [angle, out] = polar(self.on_panel.centre, on_panel);
        self.out(angle + turn / self.share, out + by)
    }

    /// Whether an open fan's rays lead round from one place of the panel to another, and not over where it is open.
    pub fn join(&self, a: [f64; 2], b: [f64; 2]) -> bool {
        let [a, b] = [a, b].map(|at| polar(self.on_panel.centre, at)[0]);
        (a - b).abs() < PI
    }
}

/// Angle, clockwise from upright, and distance.
fn polar(centre: [f64; 2], at: [f64; 2]) -> [f64; 2] {
    let [x, y] = [at[0] - centre[0], at[1] - centre[1]];
    [libm::atan2(x, y), libm::hypot(x, y)]
}
