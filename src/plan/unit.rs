//! What a pen draws in one go: a stroke, the cross of a mark, an arrow, a line of writing.

use super::{Um, um};
use crate::route::{Direction, Run, Shape, Stroke};

type Place = [f64; 2];

/// Lines nearer than this meet, mm.
const MEETS: f64 = 1e-6;

/// Strokes that are drawn one after the other, as they stand or all the other way round.
pub(super) struct Unit {
    pub strokes: Vec<Stroke>,
}

impl Unit {
    pub fn alone(stroke: Stroke) -> Self {
        Unit { strokes: vec![stroke] }
    }

    /// Lines in their order. Where one meets those just drawn, the pen is not lifted but goes over a
    /// line again, `again` mm at the most.
    pub fn of(lines: &[Vec<Place>], again: f64) -> Self {
        let mut ways: Vec<Vec<Place>> = Vec::new();
        for line in lines {
            if let Some(way) = ways.last_mut()
                && let Some(meeting) = meeting(way, line)
                && meeting.again(way, line) <= again
            {
                *way = meeting.joined(way, line);
            } else {
                ways.push(line.clone());
            }
        }
        if let [only] = &ways[..] {
            return Unit::alone(stroke(only));
        }
        let line = |points| Stroke { points, shape: Shape::Line };
        Unit { strokes: ways.into_iter().map(line).collect() }
    }

    /// As one stroke, from its beginning to its end.
    pub fn whole(&self) -> Stroke {
        match self.strokes.as_slice() {
            [only] => only.clone(),
            many => Stroke {
                points: vec![many[0].points[0], end(&many[many.len() - 1])],
                shape: Shape::Line,
            },
        }
    }

    /// The ways through the air inside it.
    pub fn hops(&self) -> impl Iterator<Item = [Place; 2]> {
        self.strokes.windows(2).map(|pair| [end(&pair[0]), pair[1].points[0]])
    }

    /// Its strokes in the order and direction in which they are drawn, in whole micrometres.
    pub fn drawn(&self, run: &Run) -> Vec<Vec<[Um; 2]>> {
        if let [only] = self.strokes.as_slice() {
            return vec![in_turn(only, run)];
        }
        let as_written = |stroke: &Stroke| {
            let from_start = Run { stroke: run.stroke, direction: Direction::Forward, entry: 0 };
            in_turn(stroke, &from_start)
        };
        let mut drawn: Vec<Vec<[Um; 2]>> = self.strokes.iter().map(as_written).collect();
        if run.direction == Direction::Backward {
            drawn.reverse();
            drawn.iter_mut().for_each(|points| points.reverse());
        }
        drawn
    }
}

/// Where a stroke drawn forwards ends.
fn end(stroke: &Stroke) -> Place {
    match stroke.shape {
        Shape::Loop => stroke.points[0],
        Shape::Line => stroke.points[stroke.points.len() - 1],
    }
}

/// A line of the cover; one that comes back to its beginning may be entered at any of its points.
pub(super) fn stroke(points: &[Place]) -> Stroke {
    let mut points = points.to_vec();
    let shape =
        if points.len() > 2 && points.first() == points.last() { Shape::Loop } else { Shape::Line };
    if shape == Shape::Loop {
        points.pop();
    }
    Stroke { points, shape }
}

/// The points of a stroke in the order in which it is drawn, in whole micrometres.
fn in_turn(stroke: &Stroke, run: &Run) -> Vec<[Um; 2]> {
    let mut points: Vec<[Um; 2]> = stroke.points.iter().map(|p| p.map(um)).collect();
    match (stroke.shape, run.direction) {
        (Shape::Loop, _) => {
            points.rotate_left(run.entry);
            points.push(points[0]);
        }
        (Shape::Line, Direction::Forward) => {}
        (Shape::Line, Direction::Backward) => points.reverse(),
    }
    // A line that ends a hair beside a tile's border.
    points.dedup();
    points
}

/// Where two lines meet: a place, and how far along each it lies, mm.
#[derive(Clone, Copy)]
struct Meeting {
    at: Place,
    along: [f64; 2],
}

/// Where going on from `way` to `line` repeats the least.
fn meeting(way: &[Place], line: &[Place]) -> Option<Meeting> {
    let mut all = Vec::new();
    let mut done = 0.0;
    for leg in way.windows(2) {
        let mut ahead = 0.0;
        for other in line.windows(2) {
            all.extend(touches([leg[0], leg[1]], [other[0], other[1]]).into_iter().map(|at| {
                Meeting { at, along: [done + length(leg[0], at), ahead + length(other[0], at)] }
            }));
            ahead += length(other[0], other[1]);
        }
        done += length(leg[0], leg[1]);
    }
    let again = |meeting: &Meeting| meeting.again(way, line);
    all.into_iter().min_by(|a, b| again(a).total_cmp(&again(b)))
}

impl Meeting {
    /// How far the pen goes over what is drawn already: back along the way from its nearer end, and
    /// over the shorter part of the line twice.
    fn again(&self, way: &[Place], line: &[Place]) -> f64 {
        let [a, b] = self.along;
        a.min(whole(way) - a) + b.min(whole(line) - b)
    }

    /// Both as one way.
    fn joined(&self, way: &[Place], line: &[Place]) -> Vec<Place> {
        let mut joined = way.to_vec();
        let mut line = line.to_vec();
        let [mut done, mut ahead] = self.along;
        if done < whole(way) - done {
            joined.reverse();
            done = whole(way) - done;
        }
        let back: Vec<Place> = joined.iter().rev().copied().collect();
        joined.extend(part(&back, whole(way) - done, self.at));
        if ahead > whole(&line) - ahead {
            line.reverse();
            ahead = whole(&line) - ahead;
        }
        let short: Vec<Place> = part(&line, ahead, self.at);
        joined.extend(short.iter().rev());
        joined.extend(line);
        joined.dedup_by(|a, b| length(*a, *b) < MEETS);
        joined
    }
}

/// The points of a line up to a place on it, so far along.
fn part(line: &[Place], along: f64, at: Place) -> Vec<Place> {
    let mut done = 0.0;
    let mut part = vec![line[0]];
    for leg in line.windows(2) {
        done += length(leg[0], leg[1]);
        if done >= along - MEETS {
            break;
        }
        part.push(leg[1]);
    }
    part.push(at);
    part
}

/// Ends of either leg that lie on the other, and where they cross.
fn touches(a: [Place; 2], b: [Place; 2]) -> Vec<Place> {
    let on = |p: &Place, leg: [Place; 2]| {
        (length(leg[0], *p) + length(*p, leg[1]) - length(leg[0], leg[1])).abs() < MEETS
            && off(leg, *p).abs() < MEETS * length(leg[0], leg[1])
    };
    let mut touches: Vec<Place> = a.into_iter().filter(|p| on(p, b)).collect();
    touches.extend(b.into_iter().filter(|p| on(p, a)));
    let sides = [off(a, b[0]), off(a, b[1])];
    if touches.is_empty() && sides[0] * sides[1] < 0.0 && off(b, a[0]) * off(b, a[1]) < 0.0 {
        let share = sides[0] / (sides[0] - sides[1]);
        touches.push([0, 1].map(|axis| b[0][axis] + share * (b[1][axis] - b[0][axis])));
    }
    touches
}

/// Which side of a leg a place is on, times the leg's length.
fn off(leg: [Place; 2], p: Place) -> f64 {
    (leg[1][0] - leg[0][0]) * (p[1] - leg[0][1]) - (leg[1][1] - leg[0][1]) * (p[0] - leg[0][0])
}

fn length(a: Place, b: Place) -> f64 {
    let (dx, dy) = (a[0] - b[0], a[1] - b[1]);
    (dx * dx + dy * dy).sqrt()
}

fn whole(line: &[Place]) -> f64 {
    line.windows(2).map(|leg| length(leg[0], leg[1])).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ways(lines: &[Vec<Place>], again: f64) -> Vec<Vec<Place>> {
        Unit::of(lines, again).strokes.into_iter().map(|stroke| stroke.points).collect()
    }

    #[test]
    fn the_halves_of_a_cross_are_one_way_where_that_pays() {
        let cross = [vec![[0.0, 5.0], [10.0, 5.0]], vec![[5.0, 0.0], [5.0, 10.0]]];
        let one = vec![[0.0, 5.0], [10.0, 5.0], [5.0, 5.0], [5.0, 0.0], [5.0, 10.0]];
        assert_eq!(ways(&cross, 10.0), [one]);
        assert_eq!(ways(&cross, 9.9), cross);
    }

    #[test]
    fn a_line_from_the_middle_of_another_is_reached_from_the_nearer_end() {
        let stem = vec![[0.0, 12.0], [0.0, 0.0]];
        let arm = vec![[0.0, 9.0], [4.0, 8.0]];
        let one = vec![[0.0, 0.0], [0.0, 12.0], [0.0, 9.0], [4.0, 8.0]];
        assert_eq!(ways(&[stem.clone(), arm], 3.0), [one]);
        // Drawn towards the stem, it is drawn away from it.
        let back = vec![[3.0, 0.0], [0.0, 2.0]];
        let one = vec![[0.0, 12.0], [0.0, 0.0], [0.0, 2.0], [3.0, 0.0]];
        assert_eq!(ways(&[stem.clone(), back], 3.0), [one]);
        let apart = vec![[0.1, 9.0], [4.0, 8.0]];
        assert_eq!(ways(&[stem.clone(), apart.clone()], 99.0), [stem, apart]);
    }
}
