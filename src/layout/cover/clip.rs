//! Lines met, cut and held by closed lines on the flat cloth. A closed line goes round once and does not
//! have its first place again at its end.

use crate::frame::{CoverFront, Point};

type Place = Point<CoverFront>;
type Vector = [f64; 2];

/// The first place where a ray meets a closed line.
pub fn ahead(closed: &[Place], from: Place, way: Vector) -> Option<Place> {
    let along = sides(closed).filter_map(|side| {
        let (along, share) = crossing(from, way, side);
        (along >= -1e-9 && (-1e-9..=1.0 + 1e-9).contains(&share)).then_some(along)
    });
    let first = along.min_by(f64::total_cmp)?;
    Some(Point::new(from.x + way[0] * first, from.y + way[1] * first))
}

/// The parts of a line that lie within a closed one, which goes round once.
pub fn within(line: &[Place], closed: &[Place]) -> Vec<Vec<Place>> {
    let mut parts: Vec<Vec<Place>> = Vec::new();
    let mut open = false;
    for pair in line.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        let at = |t: f64| Point::new(a.x + (b.x - a.x) * t, a.y + (b.y - a.y) * t);
        let mut shares = vec![0.0, 1.0];
        shares.extend(cuts(a, b, closed));
        shares.sort_by(f64::total_cmp);
        for span in shares.windows(2).filter(|span| span[1] - span[0] > 1e-9) {
            if !holds(closed, at((span[0] + span[1]) / 2.0)) {
                open = false;
                continue;
            }
            let to = if span[1] == 1.0 { b } else { at(span[1]) };
            match parts.last_mut().filter(|_| open) {
                Some(part) => part.push(to),
                None => parts.push(vec![if span[0] == 0.0 { a } else { at(span[0]) }, to]),
            }
            open = true;
        }
    }
    // A closed line that begins within and ends there is one part where it began.
    if parts.len() > 1 && line.first() == line.last() && parts[0][0] == line[0] && open {
        let first = parts.remove(0);
        let last = parts.last_mut().expect("there were two parts");
        last.extend(&first[1..]);
    }
    parts
}

/// Where a segment crosses a closed line, as shares of its length.
fn cuts(a: Place, b: Place, closed: &[Place]) -> impl Iterator<Item = f64> + '_ {
    sides(closed).filter_map(move |side| {
        let (along, share) = crossing(a, [b.x - a.x, b.y - a.y], side);
        (along > 0.0 && along < 1.0 && (0.0..=1.0).contains(&share)).then_some(along)
    })
}

/// How far along `way` from a place, and how far along a side, the two meet; not a number where they are
/// parallel.
fn crossing(from: Place, way: Vector, [p, q]: [Place; 2]) -> (f64, f64) {
    let side = [q.x - p.x, q.y - p.y];
    let gap = [p.x - from.x, p.y - from.y];
    let turn = cross(way, side);
    (cross(gap, side) / turn, cross(gap, way) / turn)
}

fn cross(a: Vector, b: Vector) -> f64 {
    a[0] * b[1] - a[1] * b[0]
}

fn sides<F>(closed: &[Point<F>]) -> impl Iterator<Item = [Point<F>; 2]> + '_ {
    (0..closed.len()).map(|i| [closed[i], closed[(i + 1) % closed.len()]])
}

/// Whether a closed line holds a place, by counting its sides to the right.
pub fn holds<F>(closed: &[Point<F>], place: Point<F>) -> bool {
    let right = sides(closed).filter(|[a, b]| {
        (a.y > place.y) != (b.y > place.y)
            && place.x < a.x + (b.x - a.x) * (place.y - a.y) / (b.y - a.y)
    });
    right.count() % 2 == 1
}
