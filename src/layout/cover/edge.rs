//! Where the panel's edge, its edge pleats and its openings come to lie on the flat cloth.
//!
//! Cloth is cut square, buttoned, and trimmed last. A rectangle's edge lies straight on the cloth. Any other
//! outline is laid out from its edge pleats: each runs from its button at a right angle to the outline,
//! as far as on the panel and by its fullness farther, across and up taken each by itself. Between two pleats
//! the shift from panel to cloth goes over from one to the other along the outline; along a straight side it keeps
//! what it is square to that side as far as the corner, so that straight sides stay straight and corners
//! corners. Ours, for want of a published rule; on a rectangle it gives the rectangle (tested). Round a fan's curved edge
//! shifts turn with its rays, and all the way round the whole edge goes out on them.
//!
//! Round the edge go the side of foam, wadding and board, and then the turn-in: the outline on the cloth, moved
//! outwards by so much, its corners mitred.

use super::{
    Panel, clip,
    cut_edges::{CutEdges, fullness, round_fullness},
    rays::{RaysOnCloth, led, told},
    spread::Wanted,
};
use crate::{
    frame::{CoverFront, Point},
    job::Job,
    layout::{EdgePleat, Rays},
    outline::{self, Corner, Outline, Piece},
};

type Place = Point<CoverFront>;
type Vector = [f64; 2];

/// Steps in which a curved edge is laid out, mm.
const STEP: f64 = 8.0;
/// Two sides that turn less than this (the sine of it) are one side, for want of a corner.
const CORNER: f64 = 0.3;
/// A corner rounder than this (turning by so much, radians) is not mitred but cut off.
const SHARPEST: f64 = 2.2;
/// The trimming line is drawn only where it lies so far within the line that is cut first, mm.
const WITHIN: f64 = 2.0;

/// What runs along the edge of the whole cover. Closed lines, without the first place again at their end.
pub struct EdgeLines {
    /// Where the cloth turns round the back of the board; and the middle of what lies behind it, where it is
    /// tacked: common practice, no source. Empty where nothing is turned in.
    pub turn_in: Vec<Place>,
    pub tack: Vec<Place>,
    /// Where the cloth is trimmed after buttoning.
    pub trim: Vec<Place>,
    /// Where an edge pleat crosses the trimming line, with its button and the way outwards.
    pub notches: Vec<(usize, Place, Vector)>,
    /// The edges of openings.
    pub openings: Vec<Vec<Place>>,
}

/// Lays out all that runs along the edge; `at` is where the buttons lie.
pub fn lines(
    job: &Job,
    panel: &Panel,
    wanted: &Wanted,
    at: &[Place],
    edges: &CutEdges,
) -> EdgeLines {
    let sides = job.foam.thickness + job.wadding + job.board.thickness;
    let turn_in = job.fabric.turn_in;
    let ends: Vec<Place> =
        panel.edge_pleats.iter().map(|pleat| end(job, panel, wanted, at, pleat)).collect();
    let around = edges.inset(sides + turn_in);
    let edge = match (panel.fitted.all_round(), panel.outline.is_rectangle()) {
        (Some(rays), _) => pushed_out(job, panel, wanted, rays),
        (None, true) => around,
        (None, false) => {
            let followed = followed(panel, wanted, &ends);
            match outline::crosses_itself(&sharp(&followed)) {
                true => stretched(panel.outline, &around),
                false => followed,
            }
        }
    };
    let behind = |by: f64| match turn_in > 0.0 {
        true => moved_outwards(&edge, sides + by),
        false => Vec::new(),
    };
    let trim = moved_outwards(&edge, sides + turn_in);
    let notches = panel.edge_pleats.iter().zip(&ends).filter_map(|(pleat, end)| {
        let way = outwards_on_cloth(panel, wanted, pleat);
        // From its end; from its button where the line runs within.
        let met =
            clip::ahead(&trim, *end, way).or_else(|| clip::ahead(&trim, at[pleat.button], way))?;
        Some((pleat.button, met, way))
    });
    EdgeLines {
        turn_in: behind(0.0),
        tack: behind(turn_in / 2.0),
        notches: notches.collect(),
        trim,
        openings: panel.openings.iter().map(|o| opening(panel, wanted, at, o)).collect(),
    }
}

/// The edge of an opening. Inside the field every place is carried by the buttons near it: each would put it as
/// far off as on the panel, longer by the marked diamond's share of the finished one; they are weighed
/// by the fourth power of their nearness. Exact where the work is regular.
fn opening(panel: &Panel, wanted: &Wanted, at: &[Place], corners: &[Corner]) -> Vec<Place> {
    let carried = |[x, y]: [f64; 2]| {
        let (mut sum, mut weights) = ([0.0; 2], 0.0);
        for (button, at) in panel.buttons.iter().zip(at) {
            let off = [x - button.at.x, y - button.at.y];
            let square = off[0] * off[0] + off[1] * off[1];
            let weight = 1.0 / (square * square);
            let [on_panel, on_cloth] = wanted.axes(button);
            let [a, b] = told(on_panel, off);
            let grown = wanted.grown(button, b < 0.0);
            let [x, y] = led(on_cloth, [a * grown[0], b * grown[1]]);
            sum = [
                sum[0] + weight * (at.x + wanted.stretched(0, x)),
                sum[1] + weight * (at.y + wanted.stretched(1, y)),
            ];
            weights += weight;
        }
        Point::new(sum[0] / weights, sum[1] / weights)
    };
    outline::pieces(corners)
        .flat_map(|piece| piece.points(STEP))
        .map(|(_, at)| carried(at))
        .collect()
}

/// The way of an edge pleat on the panel, of length one.
fn outwards(panel: &Panel, pleat: &EdgePleat) -> Vector {
    let from = panel.buttons[pleat.button].at;
    let [x, y] = [pleat.foot.at[0] - from.x, pleat.foot.at[1] - from.y];
    let length = (x * x + y * y).sqrt();
    [x / length, y / length]
}

/// The same on the cloth, where a fan's rays are turned.
fn outwards_on_cloth(panel: &Panel, wanted: &Wanted, pleat: &EdgePleat) -> Vector {
    let [on_panel, on_cloth] = wanted.axes(&panel.buttons[pleat.button]);
    led(on_cloth, told(on_panel, outwards(panel, pleat)))
}

/// Where an edge pleat meets the edge, on the cloth.
fn end(job: &Job, panel: &Panel, wanted: &Wanted, at: &[Place], pleat: &EdgePleat) -> Place {
    let button = &panel.buttons[pleat.button];
    let way = outwards(panel, pleat);
    let far = [pleat.foot.at[0] - button.at.x, pleat.foot.at[1] - button.at.y];
    let [on_panel, on_cloth] = wanted.axes(button);
    let far = led(on_cloth, told(on_panel, far));
    let full = fullness(job, wanted, button, way);
    let cloth = [0, 1].map(|axis| wanted.stretched(axis, far[axis] + full[axis]));
    let from = at[pleat.button];
    Point::new(from.x + cloth[0], from.y + cloth[1])
}

/// The shift from panel to cloth at a place of the outline.
struct Anchor {
    along: f64,
    at: Vector,
    shift: Vector,
}

/// The outline of a fan that goes all the way round, on the cloth: every place goes out on its own ray by as much as the
/// outer row does and by the fullness outside it.
fn pushed_out(job: &Job, panel: &Panel, wanted: &Wanted, rays: &Rays) -> Vec<Place> {
    let by = wanted.allowance.across[0] / rays.chord();
    // A straight side becomes a bow: its middle is nearer to the centre than its ends.
    let places = panel.outline.pieces().flat_map(|piece| {
        let steps = (piece.length() / STEP).ceil().max(1.0) as u32;
        (0..steps).map(move |i| piece.parted(f64::from(i) / f64::from(steps))[0].to)
    });
    let mut edge: Vec<Place> = places
        .map(|at| {
            let [_, out] = rays.axes(at);
            let full = round_fullness(job, wanted.allowance, out);
            let cloth = [0, 1].map(|i| wanted.stretched(i, at[i] + by * out[i] + full[i]));
            Point::new(cloth[0], cloth[1])
        })
        .collect();
    edge.dedup_by(|a, b| a.distance(*b) < 1e-6);
    edge
}

/// The outline on the cloth. Shifts go over from one to the other in steps right and up; round a fan's curved edge
/// in steps round and outwards, as they turn with its rays.
fn followed(panel: &Panel, wanted: &Wanted, ends: &[Place]) -> Vec<Place> {
    let (outline, pleats) = (panel.outline, panel.edge_pleats);
    let feet: Vec<Anchor> = pleats
        .iter()
        .zip(ends)
        .map(|(EdgePleat { foot, .. }, end)| Anchor {
            along: foot.along,
            at: foot.at,
            shift: [end.x - foot.at[0], end.y - foot.at[1]],
        })
        .collect();
    let round = outline.perimeter();
    let mut anchors = corners(outline, &feet);
    anchors.extend(feet);
    anchors.sort_by(|a, b| a.along.total_cmp(&b.along));
    let mut start = 0.0;
    let mut edge = Vec::new();
    for piece in outline.pieces() {
        let length = piece.length();
        let mut places: Vec<(f64, [f64; 2])> = piece
            .points(STEP)
            .into_iter()
            .map(|(share, at)| (start + share * length, at))
            .collect();
        // On a straight side the shift bends at each anchor.
        if piece.is_straight() {
            let [x, y] = [0, 1].map(|axis| (piece.to[axis] - piece.from[axis]) / length);
            let within = |a: &&Anchor| a.along > start + 1e-6 && a.along < start + length - 1e-6;
            places.extend(anchors.iter().filter(within).map(|anchor| {
                let by = anchor.along - start;
                (anchor.along, [piece.from[0] + x * by, piece.from[1] + y * by])
            }));
        }
        let rays = wanted.rays().filter(|_| !piece.is_straight());
        edge.extend(places.into_iter().map(|(along, at)| {
            let (before, after, share) = around(&anchors, along, round);
            match rays.as_ref().filter(|rays| rays.join(before.at, after.at)) {
                Some(rays) => on_rays(wanted, rays, [before, after], share, at),
                None => shifted(at, between(before.shift, after.shift, share)),
            }
        }));
        start += length;
    }
    edge.dedup_by(|a, b| a.distance(*b) < 1e-6);
    edge
}

/// The outline stretched to fill a rectangle on the cloth. So ragged is no panel; but one whose line crossed
/// itself could be neither drawn nor trimmed.
fn stretched(outline: &Outline, around: &[Place]) -> Vec<Place> {
    let [low, high] = [around[0], around[2]];
    let place = |(_, [x, y]): (f64, [f64; 2])| {
        let share = [x / outline.width() + 0.5, y / outline.height() + 0.5];
        Point::new(low.x + share[0] * (high.x - low.x), low.y + share[1] * (high.y - low.y))
    };
    outline.pieces().flat_map(|piece| piece.points(STEP)).map(place).collect()
}

fn sharp(line: &[Place]) -> Vec<Corner> {
    line.iter().map(|p| Corner::sharp([p.x, p.y])).collect()
}

/// The shifts at the ends of the outline's straight sides.
fn corners(outline: &Outline, feet: &[Anchor]) -> Vec<Anchor> {
    let round = outline.perimeter();
    let pieces: Vec<_> = outline.pieces().collect();
    let mut starts = vec![0.0];
    for piece in &pieces {
        starts.push(starts[starts.len() - 1] + piece.length());
    }
    // Square to a straight side, outwards, and the shift of a foot on it in that direction.
    let held = |i: usize, last: bool| {
        let mut on = feet.iter().filter(|a| (starts[i]..=starts[i + 1]).contains(&a.along));
        let foot = if last { on.next_back() } else { on.next() };
        let foot = foot.filter(|_| pieces[i].is_straight())?;
        let length = pieces[i].length();
        let [from, to] = [pieces[i].from, pieces[i].to];
        let out = [(to[1] - from[1]) / length, (from[0] - to[0]) / length];
        Some((out, dot(out, foot.shift)))
    };
    let range = [0, 1].map(|axis| {
        let all = feet.iter().map(|foot| foot.shift[axis]);
        (all.clone().fold(f64::INFINITY, f64::min), all.fold(f64::NEG_INFINITY, f64::max))
    });
    let n = pieces.len();
    (0..n)
        .filter_map(|i| {
            let along = starts[i];
            if feet.iter().any(|foot| (foot.along - along).abs() < 1e-6) {
                return None;
            }
            let (before, after, share) = around(feet, along, round);
            let even = between(before.shift, after.shift, share);
            let kept = |(out, by): (Vector, f64)| {
                let more = by - dot(out, even);
                [even[0] + out[0] * more, even[1] + out[1] * more]
            };
            let shift = match (held((i + n - 1) % n, true), held(i, false)) {
                (None, None) => return None,
                (Some(one), None) | (None, Some(one)) => kept(one),
                (Some((a, by_a)), Some((b, by_b))) => {
                    let turn = a[0] * b[1] - a[1] * b[0];
                    if turn.abs() < CORNER {
                        let [p, q] = [kept((a, by_a)), kept((b, by_b))];
                        [(p[0] + q[0]) / 2.0, (p[1] + q[1]) / 2.0]
                    } else {
                        [(by_a * b[1] - by_b * a[1]) / turn, (by_b * a[0] - by_a * b[0]) / turn]
                    }
                }
            };
            // No corner goes farther out than a pleat asks for somewhere.
            let shift = [0, 1].map(|axis| shift[axis].clamp(range[axis].0, range[axis].1));
            Some(Anchor { along, at: pieces[i].from, shift })
        })
        .collect()
}

fn dot(a: Vector, b: Vector) -> f64 {
    a[0] * b[0] + a[1] * b[1]
}

/// The anchors before and after a place of the outline, which is `round` long, and how far its shift has gone over from
/// the one to the other. It begins and ends slowly, so that a pleat leaves at a right angle on the cloth too.
fn around(anchors: &[Anchor], along: f64, round: f64) -> (&Anchor, &Anchor, f64) {
    let next = anchors.iter().position(|anchor| anchor.along >= along);
    let (before, after) = match next {
        Some(i) if i > 0 => (&anchors[i - 1], &anchors[i]),
        _ => (&anchors[anchors.len() - 1], &anchors[0]),
    };
    let ahead = |from: f64, to: f64| if to < from { to + round - from } else { to - from };
    let (all, part) = (ahead(before.along, after.along), ahead(before.along, along));
    let share = if all > 0.0 { part / all } else { 1.0 };
    (before, after, (1.0 - libm::cos(std::f64::consts::PI * share)) / 2.0)
}

fn between(a: Vector, b: Vector, share: f64) -> Vector {
    [0, 1].map(|axis| a[axis] + share * (b[axis] - a[axis]))
}

fn shifted([x, y]: Vector, by: Vector) -> Place {
    Point::new(x + by[0], y + by[1])
}

/// A place of the outline between two anchors, told by rays.
fn on_rays(
    wanted: &Wanted,
    rays: &RaysOnCloth,
    anchors: [&Anchor; 2],
    share: f64,
    at: Vector,
) -> Place {
    let stretch = [0, 1].map(|axis| wanted.stretched(axis, 1.0));
    let [a, b] = anchors.map(|anchor| {
        let on_cloth = [0, 1].map(|i| (anchor.at[i] + anchor.shift[i]) / stretch[i]);
        rays.shift(anchor.at, on_cloth)
    });
    let [x, y] = rays.shifted(at, between(a, b, share));
    Point::new(x * stretch[0], y * stretch[1])
}

/// A closed line moved outwards. Where a hollow closes, what is left of its largest way round.
fn moved_outwards(line: &[Place], by: f64) -> Vec<Place> {
    let corners = sharp(line);
    let area = |way: &Vec<Corner>| outline::bounds(way).area();
    let moved = match by > 0.0 {
        true => outline::inset(&corners, -by),
        false => vec![corners],
    };
    let largest = moved.into_iter().max_by(|a, b| area(a).total_cmp(&area(b)));
    let way = largest.expect("what is moved outwards does not vanish");
    // Round a corner the library goes in an arc; cloth goes straight on to where both sides meet.
    let mitred = |piece: &Piece| !piece.is_straight() && piece.turn().abs() < SHARPEST;
    let pieces: Vec<Piece> = outline::pieces(&way).collect();
    let mut places = Vec::new();
    for (i, piece) in pieces.iter().enumerate() {
        if mitred(piece) {
            let (centre, middle) = (piece.centre(), piece.middle());
            let share = 1.0 / libm::cos(piece.turn() / 2.0);
            let [x, y] = [0, 1].map(|axis| centre[axis] + (middle[axis] - centre[axis]) * share);
            places.push(Point::new(x, y));
        } else if !mitred(&pieces[(i + pieces.len() - 1) % pieces.len()]) {
            places.push(Point::new(piece.from[0], piece.from[1]));
        }
    }
    places
}

impl EdgeLines {
    /// The parts of the trimming line that are not cut anyway.
    pub fn to_trim(&self, edges: &CutEdges) -> Vec<Vec<Place>> {
        let mut trim = self.trim.clone();
        trim.push(trim[0]);
        clip::within(&trim, &edges.inset(WITHIN))
    }
}
