//! A piece of cloth larger than the pen's reach, drawn tile by tile: the cloth is moved on between programs.
//!
//! Where two tiles overlap the pen draws two crosses before the cloth is moved. The next program begins by
//! showing where those crosses must lie: the pen waits over each until the cloth lies there. A roll is
//! tiled along its length only; other cloth both ways, row after row, there and back.

use super::{Lay, Um, um};
use crate::route::{Shape, Stroke};

/// Half of a registration cross, mm.
const ARM: f64 = 6.0;
/// Two tiles overlap by at least twice this, and a cross stands so far from the end of its tile, mm.
const INSET: f64 = 12.0;
/// The crosses from tile to tile of one row stand so far from where the next row begins, so that no two pairs of
/// crosses ever meet, mm.
const FROM_BORDER: f64 = 15.0;
/// A reach smaller than this has no room for crosses, mm.
const LEAST_ROOM: f64 = 150.0;

/// Which way the cloth goes after a tile.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Moved {
    Near,
    Left,
    Right,
}

impl Moved {
    /// What a person does, in the head of the program; the pen then stops over two places.
    pub const fn asks(self) -> &'static str {
        match self {
            Moved::Near => "Pull the cloth towards you",
            Moved::Left => "Move the cloth to the left",
            Moved::Right => "Move the cloth to the right",
        }
    }

    /// What a person does while the pen waits.
    pub const fn says(self) -> &'static str {
        match self {
            Moved::Near => {
                "Pull the cloth towards you until a cross of the program before lies here, then carry on"
            }
            Moved::Left => {
                "Move the cloth to the left until a cross of the program before lies here, then carry on"
            }
            Moved::Right => {
                "Move the cloth to the right until a cross of the program before lies here, then carry on"
            }
        }
    }
}

/// What is drawn in one go, one stroke or a line of writing, and its rank.
pub(super) type Drawn = (Vec<Stroke>, u32);

/// One tile.
pub(super) struct Tile {
    pub lay: Lay,
    /// As the bed has it.
    pub drawn: Vec<Drawn>,
    /// How the cloth came here, and where the crosses of the tile before must come to lie; the first was
    /// laid by hand.
    pub came: Option<(Moved, [[Um; 2]; 2])>,
}

/// Tiles along one axis, all alike and evenly spaced.
struct Row {
    /// Where each begins.
    starts: Vec<f64>,
    long: f64,
}

impl Row {
    /// The fewest, or nothing where there is no room for crosses.
    fn of(size: f64, room: f64) -> Option<Row> {
        if size <= room {
            return Some(Row { starts: vec![0.0], long: size });
        }
        if room < LEAST_ROOM {
            return None;
        }
        let most = room - 2.0 * INSET;
        let steps = ((size - room) / most).ceil();
        let starts = (0..=steps as usize).map(|k| (size - room) * k as f64 / steps);
        Some(Row { starts: starts.collect(), long: room })
    }

    fn end(&self, k: usize) -> f64 {
        self.starts[k] + self.long
    }

    /// The middle of where a tile and the next overlap.
    fn border(&self, k: usize) -> f64 {
        (self.starts[k + 1] + self.end(k)) / 2.0
    }

    /// From where to where the crosses beside a tile may stand: not where its neighbours have theirs.
    fn beside(&self, k: usize) -> [f64; 2] {
        let before = k.checked_sub(1).map(|before| self.border(before) + FROM_BORDER);
        let after = (k + 1 < self.starts.len()).then(|| self.border(k) - FROM_BORDER);
        [before.unwrap_or(self.starts[k] + INSET), after.unwrap_or(self.end(k) - INSET)]
    }

    fn holds(&self, k: usize, low: f64, high: f64) -> bool {
        low >= self.starts[k] && high <= self.end(k)
    }

    /// Which tile draws here, where a line is parted at the borders.
    fn at(&self, place: f64) -> usize {
        let last = self.starts.len() - 1;
        (0..last).find(|&k| place < self.border(k)).unwrap_or(last)
    }
}

/// Divides what is drawn on a piece of `size` over a reach of `room`; `None` where it is too small for crosses.
pub(super) fn tiles(size: [f64; 2], room: [f64; 2], drawn: &[Drawn]) -> Option<Vec<Tile>> {
    let rows = [Row::of(size[0], room[0])?, Row::of(size[1], room[1])?];
    let [columns, lines] = [0, 1].map(|axis| rows[axis].starts.len());
    // There and back, so that a tile is always beside the one before.
    let order: Vec<[usize; 2]> = (0..lines)
        .flat_map(|j| (0..columns).map(move |i| [if j % 2 == 0 { i } else { columns - 1 - i }, j]))
        .collect();
    let mut parts: Vec<Vec<Drawn>> = vec![Vec::new(); order.len()];
    let tile_of = |cell: [usize; 2]| order.iter().position(|c| *c == cell).expect("a tile");
    for (strokes, rank) in drawn {
        let reach = [0, 1].map(|axis| reach(strokes, axis));
        let whole = order.iter().position(|cell| {
            (0..2).all(|axis| rows[axis].holds(cell[axis], reach[axis][0], reach[axis][1]))
        });
        match whole {
            Some(k) => parts[k].push((strokes.clone(), *rank)),
            None => {
                for (cell, part) in strokes.iter().flat_map(|stroke| parted(stroke, &rows)) {
                    parts[tile_of(cell)].push((vec![part], *rank));
                }
            }
        }
    }
    let crosses: Vec<(Moved, [[f64; 2]; 2])> =
        order.windows(2).map(|pair| crosses(pair[0], pair[1], &rows)).collect();
    let sheet = size.map(um);
    let tiles = parts.into_iter().enumerate().map(|(k, mut drawn)| {
        let start = [0, 1].map(|axis| rows[axis].starts[order[k][axis]]);
        for [x, y] in crosses.get(k).into_iter().flat_map(|(_, at)| *at) {
            for [dx, dy] in [[ARM, 0.0], [0.0, ARM]] {
                let points = vec![[x - dx, y - dy], [x + dx, y + dy]];
                // Not after the cut line.
                drawn.push((vec![Stroke { points, shape: Shape::Line }], 0));
            }
        }
        let lay = Lay { corner: start.map(|mm| -um(mm)), ..Lay::plain(sheet) };
        let strokes = drawn.iter_mut().flat_map(|(strokes, _)| strokes);
        for point in strokes.flat_map(|stroke| &mut stroke.points) {
            *point = [point[0] - start[0], point[1] - start[1]];
        }
        let before = k.checked_sub(1).map(|before| crosses[before]);
        let came = before.map(|(moved, at)| (moved, at.map(|at| lay.place(at.map(um)))));
        Tile { lay, drawn, came }
    });
    Some(tiles.collect())
}

/// How the cloth goes from one tile to the next, and the two crosses that both reach.
fn crosses(from: [usize; 2], to: [usize; 2], [across, up]: &[Row; 2]) -> (Moved, [[f64; 2]; 2]) {
    if from[0] == to[0] {
        let y = up.border(from[1]);
        let (left, right) = (across.starts[from[0]] + INSET, across.end(from[0]) - INSET);
        return (Moved::Near, [[left, y], [right, y]]);
    }
    let x = across.border(from[0].min(to[0]));
    let moved = if to[0] > from[0] { Moved::Left } else { Moved::Right };
    (moved, up.beside(from[1]).map(|y| [x, y]))
}

/// Least and greatest along an axis.
fn reach(strokes: &[Stroke], axis: usize) -> [f64; 2] {
    let all = || strokes.iter().flat_map(|stroke| &stroke.points).map(|point| point[axis]);
    [all().fold(f64::INFINITY, f64::min), all().fold(f64::NEG_INFINITY, f64::max)]
}

/// The parts of a stroke in each tile, cut where the crosses are.
fn parted(stroke: &Stroke, rows: &[Row; 2]) -> Vec<([usize; 2], Stroke)> {
    let mut points = stroke.points.clone();
    if stroke.shape == Shape::Loop {
        points.push(points[0]);
    }
    let mut parts: Vec<([usize; 2], Stroke)> = Vec::new();
    let mut add = |cell: [usize; 2], from: [f64; 2], to: [f64; 2]| match parts.last_mut() {
        Some((last, part)) if *last == cell && part.points.last() == Some(&from) => {
            part.points.push(to);
        }
        _ => parts.push((cell, Stroke { points: vec![from, to], shape: Shape::Line })),
    };
    for leg in points.windows(2) {
        let [from, to] = [leg[0], leg[1]];
        let borders = (0..2).flat_map(|axis| {
            let row = &rows[axis];
            (0..row.starts.len() - 1)
                .map(move |k| (row.border(k) - from[axis]) / (to[axis] - from[axis]))
        });
        let mut cuts: Vec<f64> = borders.filter(|part| *part > 0.0 && *part < 1.0).collect();
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
                let middle = [0, 1].map(|axis| (here[axis] + there[axis]) / 2.0);
                add([0, 1].map(|axis| rows[axis].at(middle[axis])), here, there);
            }
            here = there;
        }
    }
    parts
}
