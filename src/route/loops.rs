//! Closed loops: where each is entered, and when.

use super::net::Net;
use super::strokes::{Run, Shape, Stroke, Task, move_cost, run_ends};
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

/// Rounds of moving loops to better places; more than a few never pay.
const ROUNDS: usize = 5;

/// Entries compared at the most in one round.
const MOST_ENTRIES: usize = 20_000_000;

impl Task<'_> {
    /// Enters every loop where that is best, and moves loops to where they cost least, until neither
    /// saves anything.
    pub fn settle_loops(&self, runs: &mut Vec<Run>) {
        let loops: Vec<usize> = (0..self.strokes.len())
            .filter(|&i| self.strokes[i].shape == Shape::Loop && self.last != Some(i))
            .collect();
        let entries: usize = loops.iter().map(|&i| self.strokes[i].points.len()).sum();
        let mut length = self.length(runs);
        for _ in 0..ROUNDS {
            better_entries(self.strokes, runs, &self.bare, self.ends);
            if entries * runs.len() <= MOST_ENTRIES {
                loops.iter().for_each(|&stroke| self.move_loop(stroke, runs));
            }
            let now = self.length(runs);
            if now >= length {
                return;
            }
            length = now;
        }
    }

    /// Takes one loop out and puts it back where it costs least.
    fn move_loop(&self, stroke: usize, runs: &mut Vec<Run>) {
        let Some(from) = runs.iter().position(|run| run.stroke == stroke) else { return };
        let out = runs.remove(from);
        let spans: Vec<[Place; 2]> = runs.iter().map(|run| run_ends(self.strokes, run)).collect();
        let park = if let Ends::Park(park) = self.ends { Some(park) } else { None };
        let round = self.ends == Ends::Closed;
        let before = |gap: usize| match gap {
            0 if round => spans.last().map(|span| span[1]),
            0 => park,
            gap => Some(spans[gap - 1][1]),
        };
        let after = |gap: usize| match spans.get(gap) {
            Some(span) => Some(span[0]),
            None if round => spans.first().map(|span| span[0]),
            None => park,
        };
        let cost = |a: Option<Place>, b: Option<Place>| match (a, b) {
            (Some(a), Some(b)) => move_cost(&self.bare, a, b),
            _ => 0,
        };
        let points = &self.strokes[stroke].points;
        let more = |gap: usize, entry: usize| {
            let (a, b, at) = (before(gap), after(gap), Some(points[entry]));
            cost(a, at) + cost(at, b) - cost(a, b)
        };
        let mut best = (more(from, out.entry), from, out.entry);
        for gap in 0..=runs.len() - usize::from(self.last.is_some()) {
            for entry in 0..points.len() {
                let found = (more(gap, entry), gap, entry);
                // As good elsewhere is no reason to move.
                best = if found.0 < best.0 { found } else { best };
            }
        }
        runs.insert(best.1, Run { entry: best.2, ..out });
    }
}

/// Given the sequence, the best entries of all loops: a shortest path through layers.
fn better_entries(strokes: &[Stroke], runs: &mut [Run], net: &Net, ends: Ends) {
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
