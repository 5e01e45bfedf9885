//! A piece of cloth longer than the plotter's bed, drawn in steps: the roll is pulled on between programs.
//!
//! Near the far end of each step the pen draws a cross at either side. The next program begins by showing
//! where those crosses must lie: the pen waits over each until the cloth has been pulled there.

use super::{Lay, Um, um};
use crate::route::{Shape, Stroke};

/// Half of a registration cross, mm.
const ARM: f64 = 6.0;
/// From the sides of the cloth, and from the ends of the bed, to a cross, mm.
const INSET: f64 = 12.0;

/// One step of the roll.
pub(super) struct Pull {
    pub lay: Lay,
    /// Strokes with their ranks, as the bed has them.
    pub strokes: Vec<(Stroke, u32)>,
    /// Crosses of the step before, where they must come to lie.
    pub crosses: Vec<[Um; 2]>,
}

/// Divides strokes on a piece of `size` over a bed with `room` along Y, or says how short it is.
pub(super) fn steps(size: [f64; 2], room: f64, strokes: &[(Stroke, u32)]) -> Option<Vec<Pull>> {
    let pulled = room - 2.0 * INSET;
    if pulled < 4.0 * INSET || size[0] < 4.0 * INSET {
        return None;
    }
    let count = ((size[1] - room) / pulled).ceil().max(0.0) as usize + 1;
    let sheet = size.map(um);
    let start = |step: usize| pulled * step as f64;
    // A line is drawn where all of it has room, or is parted where the crosses are.
    let parts: Vec<Vec<(Stroke, u32)>> = {
        let mut parts = vec![Vec::new(); count];
        for (stroke, rank) in strokes {
            let (low, high) = reach(stroke);
            let whole = (0..count).find(|&k| low >= start(k) && high <= start(k) + room);
            match whole {
                Some(k) => parts[k].push((stroke.clone(), *rank)),
                None => {
                    for (k, part) in parted(stroke, count, |k| start(k) + room - INSET) {
                        parts[k].push((part, *rank));
                    }
                }
            }
        }
        parts
    };
    let cross_at = |k: usize| {
        let y = start(k) + room - INSET;
        [[INSET, y], [size[0] - INSET, y]]
    };
    let pulls = parts.into_iter().enumerate().map(|(k, mut strokes)| {
        if k + 1 < count {
            for [x, y] in cross_at(k) {
                for [dx, dy] in [[ARM, 0.0], [0.0, ARM]] {
                    let points = vec![[x - dx, y - dy], [x + dx, y + dy]];
                    // After all else, and before the cut line.
                    strokes.push((Stroke { points, shape: Shape::Line }, 0));
                }
            }
        }
        let lay = Lay { corner: [0, -um(start(k))], ..Lay::plain(sheet) };
        for (stroke, _) in &mut strokes {
            stroke.points.iter_mut().for_each(|point| point[1] -= start(k));
        }
        let crosses = match k {
            0 => Vec::new(),
            _ => cross_at(k - 1).map(|at| lay.place(at.map(um))).to_vec(),
        };
        Pull { lay, strokes, crosses }
    });
    Some(pulls.collect())
}

/// Least and greatest Y.
fn reach(stroke: &Stroke) -> (f64, f64) {
    let ys = || stroke.points.iter().map(|point| point[1]);
    (ys().fold(f64::INFINITY, f64::min), ys().fold(f64::NEG_INFINITY, f64::max))
}

/// The parts of a stroke in each step; step `k` ends at `end(k)`, the last one nowhere.
fn parted(stroke: &Stroke, count: usize, end: impl Fn(usize) -> f64) -> Vec<(usize, Stroke)> {
    let mut points = stroke.points.clone();
    if stroke.shape == Shape::Loop {
        points.push(points[0]);
    }
    let step_of = |y: f64| (0..count - 1).find(|&k| y < end(k)).unwrap_or(count - 1);
    let mut parts: Vec<(usize, Stroke)> = Vec::new();
    let mut add = |step: usize, from: [f64; 2], to: [f64; 2]| match parts.last_mut() {
        Some((last, part)) if *last == step && part.points.last() == Some(&from) => {
            part.points.push(to);
        }
        _ => parts.push((step, Stroke { points: vec![from, to], shape: Shape::Line })),
    };
    for leg in points.windows(2) {
        let [from, to] = [leg[0], leg[1]];
        let mut cuts: Vec<f64> = (0..count - 1)
            .map(|k| (end(k) - from[1]) / (to[1] - from[1]))
            .filter(|part| *part > 0.0 && *part < 1.0)
            .collect();
        cuts.sort_by(f64::total_cmp);
        cuts.push(1.0);
        let mut here = from;
        for part in cuts {
            let there = if part < 1.0 {
                [0, 1].map(|axis| from[axis] + (to[axis] - from[axis]) * part)
            } else {
                to
            };
            if here != there {
                add(step_of((here[1] + there[1]) / 2.0), here, there);
            }
            here = there;
        }
    }
    parts
}
