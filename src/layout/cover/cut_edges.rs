//! How much cloth is cut: a rectangle, whatever the panel's shape.

use super::{
    Panel,
    allowance::{self, PerRow},
    rays::{LEVEL, led, told},
    spread::Wanted,
};
use crate::{
    frame::{CoverFront, Point},
    job::{EdgeFullness, Job},
    layout::Button,
};

/// No curve of the edge, drawn in steps, is farther off than this, mm.
const BY_STEPS: f64 = 0.2;

/// The rectangle that is cut.
#[derive(Debug, Clone, Copy)]
pub struct CutEdges {
    pub left: f64,
    pub right: f64,
    pub bottom: f64,
    pub top: f64,
}

impl CutEdges {
    /// Width and height.
    pub fn size(&self) -> [f64; 2] {
        [self.right - self.left, self.top - self.bottom]
    }

    /// The left or right edge from top to bottom.
    pub fn side(&self, side: usize) -> Vec<Point<CoverFront>> {
        let x = [self.left, self.right][side];
        vec![Point::new(x, self.top), Point::new(x, self.bottom)]
    }

    /// The rectangle, grown where a line of the cover runs outside it by more than a curve drawn in steps is off.
    pub fn holding(&self, line: &[Point<CoverFront>]) -> CutEdges {
        let beyond = |edge: f64, out: f64| if out > edge + BY_STEPS { out } else { edge };
        line.iter().fold(*self, |edges, p| CutEdges {
            left: -beyond(-edges.left, -p.x),
            right: beyond(edges.right, p.x),
            bottom: -beyond(-edges.bottom, -p.y),
            top: beyond(edges.top, p.y),
        })
    }

    /// The rectangle round a line of the cover.
    pub fn around(line: &[Point<CoverFront>]) -> CutEdges {
        let ends = |along: fn(&Point<CoverFront>) -> f64| {
            let all = line.iter().map(along);
            (all.clone().fold(f64::INFINITY, f64::min), all.fold(f64::NEG_INFINITY, f64::max))
        };
        let ((left, right), (bottom, top)) = (ends(|p| p.x), ends(|p| p.y));
        CutEdges { left, right, bottom, top }
    }

    /// The place of the rectangle nearest to this one.
    pub fn nearest(&self, at: Point<CoverFront>) -> Point<CoverFront> {
        Point::new(at.x.clamp(self.left, self.right), at.y.clamp(self.bottom, self.top))
    }

    /// The rectangle `by` within, anticlockwise.
    pub fn inset(&self, by: f64) -> Vec<Point<CoverFront>> {
        let (left, right) = (self.left + by, self.right - by);
        let (bottom, top) = (self.bottom + by, self.top - by);
        [[left, bottom], [right, bottom], [right, top], [left, top]]
            .map(|[x, y]| Point::new(x, y))
            .to_vec()
    }
}

/// The rectangle that holds all that any button asks for; `at` is where the buttons lie.
pub fn cut_edges(job: &Job, panel: &Panel, wanted: &Wanted, at: &[Point<CoverFront>]) -> CutEdges {
    let round_the_edge =
        job.foam.thickness + job.wadding + job.board.thickness + job.fabric.turn_in;
    let half = [panel.outline.width() / 2.0, panel.outline.height() / 2.0];
    // The farthest that any button asks for on a side: the outside ones, for each step inwards asks for less.
    let farthest = |axis: usize, side: f64| {
        let along = |[x, y]: [f64; 2]| [x, y][axis] * side;
        let reach = panel.buttons.iter().zip(at).map(|(button, at)| {
            let to_outline = half[axis] - along([button.at.x, button.at.y]);
            let mut way = [0.0; 2];
            way[axis] = side;
            let fullness = along(fullness(job, wanted, button, way));
            along([at.x, at.y]) + wanted.stretched(axis, to_outline + fullness) + round_the_edge
        });
        reach.fold(f64::NEG_INFINITY, f64::max)
    };
    CutEdges {
        left: -farthest(0, -1.0),
        right: farthest(0, 1.0),
        bottom: -farthest(1, -1.0),
        top: farthest(1, 1.0),
    }
}

/// What the cloth between an outside button and the edge takes up on a way of length one: how much farther it leads, on
/// the cloth. What a job gives for sides, top and bottom is meant as the panel hangs; a share of the allowance is
/// taken along the row and square to it.
pub fn fullness(job: &Job, wanted: &Wanted, button: &Button, way: [f64; 2]) -> [f64; 2] {
    let [on_panel, on_cloth] = match job.fabric.edge_fullness {
        EdgeFullness::Given { .. } => [LEVEL; 2],
        EdgeFullness::Half | EdgeFullness::Whole => wanted.axes(button),
    };
    let way = told(on_panel, way);
    let full = |axis| way[axis] * by_axis(job, wanted.allowance, button, axis, way[axis]);
    led(on_cloth, [full(0), full(1)])
}

/// The same outside the outer row of a fan that goes all the way round, on a way straight outwards.
pub fn round_fullness(job: &Job, allowance: &PerRow, out: [f64; 2]) -> [f64; 2] {
    let by = match job.fabric.edge_fullness {
        EdgeFullness::Given { sides, top, bottom } => {
            [sides, if out[1] > 0.0 { top } else { bottom }]
        }
        EdgeFullness::Half => [allowance.down[0] / 2.0; 2],
        EdgeFullness::Whole => [allowance.down[0]; 2],
    };
    [0, 1].map(|axis| out[axis] * by[axis])
}

/// The same along the row (axis 0) or square to it (1), on the side of that sign.
fn by_axis(job: &Job, allowance: &PerRow, button: &Button, axis: usize, side: f64) -> f64 {
    let row = button.name.row() as usize - 1;
    let whole = match axis {
        // The button at a round's centre is in no row.
        0 => allowance.across.get(row).copied().unwrap_or(0.0),
        // Above a row lies the gap before it, below it the gap after; the outermost have one only.
        _ => {
            let gap = if side > 0.0 { row.saturating_sub(1) } else { row };
            let last = allowance.down.len().saturating_sub(1);
            allowance.down.get(gap.min(last)).copied().unwrap_or_else(|| overall_down(job))
        }
    };
    match job.fabric.edge_fullness {
        EdgeFullness::Half => whole / 2.0,
        EdgeFullness::Whole => whole,
        EdgeFullness::Given { sides, .. } if axis == 0 => sides,
        EdgeFullness::Given { top, .. } if side > 0.0 => top,
        EdgeFullness::Given { bottom, .. } => bottom,
    }
}

/// The allowance down where a single row has no gap to show it.
fn overall_down(job: &Job) -> f64 {
    allowance::overall(job)[1]
}
