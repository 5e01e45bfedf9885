//! Bare cloth: where a word may stand without covering a line.

use super::clip;
use crate::frame::{Point, Sheet};
use std::collections::BTreeMap;

/// Lines are found by squares of this size, mm.
const SQUARE: f64 = 40.0;
/// How finely a place for a word is searched, mm.
const STEP: f64 = 6.0;

/// What is taken on one piece.
pub struct Room {
    outline: Vec<Point<Sheet>>,
    taken: BTreeMap<[i64; 2], Vec<Segment>>,
}

type Segment = [[f64; 2]; 2];

impl Room {
    /// All inside a closed line, which is itself taken.
    pub fn within(outline: &[Point<Sheet>]) -> Self {
        let mut room = Room { outline: outline.to_vec(), taken: BTreeMap::new() };
        room.take(outline);
        room
    }

    /// Left, bottom, right, top.
    pub fn bounds(&self) -> [f64; 4] {
        bounds(&self.outline)
    }

    pub fn take(&mut self, line: &[Point<Sheet>]) {
        for pair in line.windows(2) {
            self.take_segment([pair[0], pair[1]].map(|p| [p.x, p.y]));
        }
    }

    /// Takes a box by its edges and diagonal: nothing smaller is looked for.
    pub fn take_box(&mut self, [x, y]: [f64; 2], [w, h]: [f64; 2]) {
        let corners = [[x, y], [x + w, y], [x + w, y + h], [x, y + h]];
        for i in 0..4 {
            self.take_segment([corners[i], corners[(i + 1) % 4]]);
        }
        self.take_segment([corners[0], corners[2]]);
    }

    /// Notes the segment in every square that it passes through.
    fn take_segment(&mut self, [a, b]: Segment) {
        let square = |p: [f64; 2]| p.map(|c| (c / SQUARE).floor() as i64);
        let [from, to] = [square(a), square(b)];
        for x in from[0].min(to[0])..=from[0].max(to[0]) {
            for y in from[1].min(to[1])..=from[1].max(to[1]) {
                let corner = [x as f64 * SQUARE, y as f64 * SQUARE];
                if crosses([a, b], corner, [SQUARE; 2]) {
                    self.taken.entry([x, y]).or_default().push([a, b]);
                }
            }
        }
    }

    /// Whether a box is inside the outline and no line passes through it.
    pub fn is_free(&self, corner: [f64; 2], size: [f64; 2]) -> bool {
        let [low, high] = [corner, [corner[0] + size[0], corner[1] + size[1]]]
            .map(|p| p.map(|c| (c / SQUARE).floor() as i64));
        let clear = (low[0]..=high[0]).all(|x| {
            (low[1]..=high[1]).all(|y| {
                let segments = self.taken.get(&[x, y]).map_or(&[][..], Vec::as_slice);
                segments.iter().all(|&segment| !crosses(segment, corner, size))
            })
        });
        clear && clip::holds(&self.outline, Point::new(corner[0], corner[1]))
    }

    /// The first free place for a box, from the top down and from the middle outwards.
    pub fn search(&self, [left, bottom, right, top]: [f64; 4], size: [f64; 2]) -> Option<[f64; 2]> {
        let middle = (left + right - size[0]) / 2.0;
        let steps = |length: f64| (length / STEP).max(0.0) as i64;
        (0..=steps(top - bottom - size[1])).find_map(|down| {
            let y = top - size[1] - down as f64 * STEP;
            (0..=steps(right - left - size[0])).find_map(|i| {
                // 0, 1, -1, 2, -2 … steps from the middle.
                let out = if i % 2 == 0 { -(i / 2) } else { i / 2 + 1 };
                let corner = [middle + out as f64 * STEP, y];
                self.is_free(corner, size).then_some(corner)
            })
        })
    }
}

/// Left, bottom, right, top.
pub fn bounds(places: &[Point<Sheet>]) -> [f64; 4] {
    places.iter().fold(
        [f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY],
        |[left, bottom, right, top], p| {
            [left.min(p.x), bottom.min(p.y), right.max(p.x), top.max(p.y)]
        },
    )
}

/// Whether a segment touches a box, clipped axis by axis.
fn crosses([a, b]: Segment, corner: [f64; 2], size: [f64; 2]) -> bool {
    let (mut from, mut to) = (0.0_f64, 1.0_f64);
    for axis in 0..2 {
        let (low, high) = (corner[axis], corner[axis] + size[axis]);
        let (start, way) = (a[axis], b[axis] - a[axis]);
        if way == 0.0 {
            if start < low || start > high {
                return false;
            }
            continue;
        }
        let [enter, leave] = [(low - start) / way, (high - start) / way];
        from = from.max(enter.min(leave));
        to = to.min(enter.max(leave));
    }
    from <= to
}
