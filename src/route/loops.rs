//! Closed loops: where each is entered.

use super::net::Net;
use super::strokes::{Run, Shape, Stroke, move_cost, run_ends};
use super::{Ends, Place, distance};

/// Where each loop is entered at first: where it meets another stroke, else nearest to the start.
pub(super) fn first_entries(strokes: &[Stroke], ends: Ends) -> Vec<usize> {
    let mut points: Vec<(Place, usize)> = Vec::new();
    for (i, stroke) in strokes.iter().enumerate() {
        let count = stroke.points.len();
        for (k, &p) in stroke.points.iter().enumerate() {
            if stroke.shape == Shape::Loop || k == 0 || k + 1 == count {
                points.push((p.map(|c| c + 0.0), i));
            }
        }
    }
    points.sort_unstable_by(|a, b| {
        a.0[0].total_cmp(&b.0[0]).then(a.0[1].total_cmp(&b.0[1])).then(a.1.cmp(&b.1))
    });
    let from = if let Ends::Park(park) = ends { park } else { [0.0; 2] };
    let shared = |p: Place, own: usize| {
        let p = p.map(|c| c + 0.0);
        let at = points.partition_point(|q| {
            q.0[0].total_cmp(&p[0]).then(q.0[1].total_cmp(&p[1])) == std::cmp::Ordering::Less
        });
        points[at..].iter().take_while(|q| q.0 == p).any(|q| q.1 != own)
    };
    strokes
        .iter()
        .enumerate()
        .map(|(i, stroke)| match stroke.shape {
            Shape::Line => 0,
            Shape::Loop => (0..stroke.points.len())
                .min_by(|&a, &b| {
                    let (p, q) = (stroke.points[a], stroke.points[b]);
                    shared(q, i)
                        .cmp(&shared(p, i))
                        .then(distance(p, from).total_cmp(&distance(q, from)))
                })
                .unwrap_or(0),
        })
        .collect()
}

/// Given the sequence, the best entries of all loops: a shortest path through layers.
pub(super) fn better_entries(strokes: &[Stroke], runs: &mut [Run], net: &Net, ends: Ends) {
    // Where a run may begin and end, by choice.
    let choices: Vec<Vec<[Place; 2]>> = runs
        .iter()
        .map(|run| {
            let stroke = &strokes[run.stroke];
            match stroke.shape {
                Shape::Loop => stroke.points.iter().map(|&p| [p, p]).collect(),
                Shape::Line => vec![run_ends(strokes, run)],
            }
        })
        .collect();
    let Some(first) = choices.first() else { return };
    let from_park =
        |p: Place| if let Ends::Park(park) = ends { move_cost(net, park, p) } else { 0 };
    let mut cost: Vec<i64> = first.iter().map(|c| from_park(c[0])).collect();
    let mut back: Vec<Vec<usize>> = vec![vec![0; first.len()]];
    for pair in choices.windows(2) {
        let step: Vec<(i64, usize)> = pair[1]
            .iter()
            .map(|to| {
                (0..pair[0].len())
                    .map(|k| (cost[k] + move_cost(net, pair[0][k][1], to[0]), k))
                    .min()
                    .expect("a choice at least")
            })
            .collect();
        cost = step.iter().map(|s| s.0).collect();
        back.push(step.iter().map(|s| s.1).collect());
    }
    let last = &choices[choices.len() - 1];
    let Some(mut at) = (0..last.len()).min_by_key(|&k| cost[k] + from_park(last[k][1])) else {
        return;
    };
    for i in (0..runs.len()).rev() {
        if strokes[runs[i].stroke].shape == Shape::Loop {
            runs[i].entry = at;
        }
        at = back[i][at];
    }
}

/// Every loop as one point in its middle, and by how much an order of these may be dearer than one
/// of the loops: between two middles it is at most as much farther than between any of their
/// points as those lie from their middles.
pub(super) fn middles(strokes: &[Stroke], bare: &Net) -> (Vec<Stroke>, i64) {
    let mut slack = 0;
    let moved: Vec<Stroke> = strokes
        .iter()
        .map(|stroke| match stroke.shape {
            Shape::Line => stroke.clone(),
            Shape::Loop => {
                let mut corners = [stroke.points[0], stroke.points[0]];
                for p in &stroke.points {
                    for axis in 0..2 {
                        corners[0][axis] = corners[0][axis].min(p[axis]);
                        corners[1][axis] = corners[1][axis].max(p[axis]);
                    }
                }
                let middle = [0, 1].map(|axis| 0.5 * (corners[0][axis] + corners[1][axis]));
                let reach = stroke
                    .points
                    .iter()
                    .map(|p| bare.span((p[0] - middle[0]).abs(), (p[1] - middle[1]).abs()) + 1);
                slack += 2 * (reach.max().unwrap_or(0) + bare.lift);
                Stroke { points: vec![middle], shape: Shape::Loop }
            }
        })
        .collect();
    (moved, slack)
}
