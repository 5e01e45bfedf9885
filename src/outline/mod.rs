//! The panel's outline: a closed way of straight lines and arcs, and what is measured on it.
//!
//! Lines and arcs are what a router cuts and a drawing holds, so an outline is nothing else. Ellipses and
//! free curves become arcs that stray less than `way::WITHIN` from them.

mod check;
mod drawing;
mod pairs;
mod piece;
mod round;
mod shape;
mod svg;
mod way;

pub use check::crosses_itself;
pub use piece::{Corner, Piece, backwards, pieces};
pub use shape::{DrawnWith, area, drawn_places, outline};

use crate::frame::{Map, PanelFront, Point};
use cavalier_contours::polyline::{PlineSource as _, PlineSourceMut as _, Polyline};
use kurbo::{BezPath, Rect};

/// No pleat slides round an outward corner that turns by more than this, as the cosine: 30 degrees, ours.
const CORNER: f64 = 0.866;
/// Two ways this much alike are equally near, mm (or mm²).
const TIE: f64 = 1e-6;
/// How exactly an arc is drawn as a curve, mm.
const DRAWN_WITHIN: f64 = 1e-3;

/// A closed outline in the panel's front frame; its bounding box is centred on the origin.
#[derive(Debug, Clone)]
pub struct Outline {
    /// Anticlockwise.
    corners: Vec<Corner>,
    bounds: Rect,
    path: BezPath,
}

/// A place on an outline.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Foot {
    pub at: [f64; 2],
    /// From the outline's beginning, along it, mm.
    pub along: f64,
}

impl Outline {
    /// Closes a way that is known to cross itself nowhere, anticlockwise and about the origin.
    pub fn closed(corners: Vec<Corner>) -> Self {
        let corners = match turned_area(&corners) < 0.0 {
            true => piece::backwards(&corners),
            false => corners,
        };
        let middle = bounds(&corners).center();
        let corners = piece::shifted(&corners, [-middle.x, -middle.y]);
        Outline { bounds: bounds(&corners), path: path(&corners), corners }
    }

    pub fn rectangle(width: f64, height: f64) -> Self {
        let [x, y] = [width / 2.0, height / 2.0];
        let corners = [[-x, -y], [x, -y], [x, y], [-x, y]];
        Outline::closed(corners.map(Corner::sharp).to_vec())
    }

    pub fn width(&self) -> f64 {
        self.bounds.width()
    }

    pub fn height(&self) -> f64 {
        self.bounds.height()
    }

    pub fn corners(&self) -> &[Corner] {
        &self.corners
    }

    pub fn pieces(&self) -> impl Iterator<Item = Piece> + '_ {
        piece::pieces(&self.corners)
    }

    pub fn path(&self) -> &BezPath {
        &self.path
    }

    /// Whether it is an upright rectangle with square corners.
    pub fn is_rectangle(&self) -> bool {
        let [w, h] = [self.width(), self.height()];
        self.corners.len() == 4 && (self.area() - w * h).abs() <= 1e-9 * w * h
    }

    pub fn area(&self) -> f64 {
        turned_area(&self.corners)
    }

    pub fn perimeter(&self) -> f64 {
        self.pieces().map(|piece| piece.length()).sum()
    }

    /// How far inside the outline a place is, mm; negative outside.
    pub fn depth(&self, place: Point<PanelFront>) -> f64 {
        depth(&self.corners, [place.x, place.y])
    }

    /// The outline of the other hand: left and right exchanged.
    pub fn other_hand(&self) -> Self {
        Outline::closed(piece::mirrored(&self.corners))
    }

    /// Every way that lies `by` mm inside the outline (outside it where negative). A narrow place may
    /// close, so there may be several, or none.
    pub fn inset(&self, by: f64) -> Vec<Vec<Corner>> {
        inset(&self.corners, by)
    }

    /// Where the way from `place` straight towards `direction` leaves the panel; the nearest place of the outline
    /// where it does not.
    pub fn exit(&self, place: Point<PanelFront>, direction: [f64; 2]) -> Foot {
        let (from, pieces) = ([place.x, place.y], self.pieces().collect::<Vec<Piece>>());
        let hits = self.hits(&pieces, from, direction);
        match hits.iter().min_by(|a, b| a.0.total_cmp(&b.0)) {
            Some(&(out, i)) => foot_on(&pieces, i, along(from, direction, out)),
            None => self.foot(place, direction),
        }
    }

    /// How far along a ray it meets which pieces.
    fn hits(&self, pieces: &[Piece], from: [f64; 2], direction: [f64; 2]) -> Vec<(f64, usize)> {
        let far = self.width() + self.height();
        pieces
            .iter()
            .enumerate()
            .flat_map(|(i, piece)| piece.hits(from, direction).into_iter().map(move |t| (t, i)))
            .filter(|(t, _)| *t <= far)
            .collect()
    }

    /// Where the way from `place` straight towards `direction` leaves the panel, moved along the outline
    /// to where it is nearest to `place`, so that it is left at a right angle; never round a corner. Where two such
    /// places are equally near, neither is preferred, so that the other hand's are its mirror image.
    pub fn foot(&self, place: Point<PanelFront>, direction: [f64; 2]) -> Foot {
        let from = [place.x, place.y];
        let pieces: Vec<Piece> = self.pieces().collect();
        let hits = self.hits(&pieces, from, direction);
        let squares = |i: usize| square(from, pieces[i].nearest(from));
        let nearer = |a: usize, b: usize| squares(a) < squares(b) - TIE;
        // A ray from inside always leaves; from elsewhere the nearest place of all will do.
        let Some(&(out, _)) = hits.iter().min_by(|a, b| a.0.total_cmp(&b.0)) else {
            let nearest = (0..pieces.len()).min_by(|&a, &b| squares(a).total_cmp(&squares(b)));
            let nearest = nearest.expect("an outline has pieces");
            return foot_on(&pieces, nearest, pieces[nearest].nearest(from));
        };
        let n = pieces.len();
        let round_a_corner = |first: usize, second: usize| {
            let ([_, a], [b, _]) = (pieces[first].directions(), pieces[second].directions());
            a[0] * b[1] - a[1] * b[0] > 0.0 && a[0] * b[0] + a[1] * b[1] < CORNER
        };
        // Downhill from piece to piece; each is nearer, so it ends.
        let downhill = |mut here: usize| loop {
            let (before, after) = ((here + n - 1) % n, (here + 1) % n);
            let onwards = nearer(after, here) && !round_a_corner(here, after);
            let back = nearer(before, here) && !round_a_corner(before, here);
            here = match (onwards, back) {
                (true, true) if nearer(after, before) => after,
                (true, true) if nearer(before, after) => before,
                (true, false) => after,
                (false, true) => before,
                (true, true) | (false, false) => break here,
            };
        };
        // Through the joint of two pieces it leaves by both.
        let ends = hits.iter().filter(|(t, _)| *t <= out + TIE).map(|&(_, i)| (i, downhill(i)));
        let ends: Vec<(usize, usize)> = ends.collect();
        let (through, best) = ends
            .iter()
            .copied()
            .fold(ends[0], |best, end| if nearer(end.1, best.1) { end } else { best });
        let at = pieces[best].nearest(from);
        let rival = |&(_, i): &(usize, usize)| {
            !nearer(best, i) && square(at, pieces[i].nearest(from)) > TIE
        };
        if ends.iter().any(rival) {
            return foot_on(&pieces, through, along(from, direction, out));
        }
        foot_on(&pieces, best, at)
    }

    /// The outline's points between two places on it, in its own direction, without the places
    /// themselves; arcs in steps of at most `step` mm.
    pub fn between(&self, from: Foot, to: Foot, step: f64) -> Vec<[f64; 2]> {
        let round = self.perimeter();
        let span = if to.along > from.along { to.along } else { to.along + round } - from.along;
        let mut points = Vec::new();
        let mut start = 0.0;
        for _ in 0..2 {
            for piece in self.pieces() {
                let length = piece.length();
                for (share, at) in piece.points(step) {
                    let along = start + share * length - from.along;
                    if along > 1e-6 && along < span - 1e-6 {
                        points.push(at);
                    }
                }
                start += length;
            }
        }
        points
    }
}

/// See [`Outline::depth`]; for any closed way.
pub fn depth(corners: &[Corner], place: [f64; 2]) -> f64 {
    let squares = piece::pieces(corners).map(|piece| square(place, piece.nearest(place)));
    let distance = squares.fold(f64::INFINITY, f64::min).sqrt();
    if inside(corners, place) { distance } else { -distance }
}

/// So many mm from a place in a direction of any length.
fn along(from: [f64; 2], direction: [f64; 2], by: f64) -> [f64; 2] {
    let unit = square(direction, [0.0; 2]).sqrt();
    [0, 1].map(|axis| from[axis] + by * direction[axis] / unit)
}

fn foot_on(pieces: &[Piece], piece: usize, at: [f64; 2]) -> Foot {
    let before: f64 = pieces[..piece].iter().map(Piece::length).sum();
    Foot { at, along: before + pieces[piece].length_to(at) }
}

fn square(a: [f64; 2], b: [f64; 2]) -> f64 {
    let [x, y] = [a[0] - b[0], a[1] - b[1]];
    x * x + y * y
}

/// Even and odd crossings of the chords, changed once more within the segment of each arc.
fn inside(corners: &[Corner], place: [f64; 2]) -> bool {
    piece::pieces(corners).fold(false, |inside, piece| inside != piece.swaps(place))
}

/// Positive where the way runs anticlockwise.
fn turned_area(corners: &[Corner]) -> f64 {
    piece::pieces(corners).map(|piece| piece.area()).sum()
}

pub fn bounds(corners: &[Corner]) -> Rect {
    let mut boxes = piece::pieces(corners).map(|piece| piece.bounds());
    let first = boxes.next().expect("an outline has pieces");
    boxes.fold(first, |all, one| all.union(one))
}

/// A closed way as a path for pictures.
pub fn path(corners: &[Corner]) -> BezPath {
    let mut path = BezPath::new();
    draw(&mut path, corners);
    path
}

/// A closed way with holes in it, each walked the other way round.
pub fn path_with_holes(corners: &[Corner], holes: &[Vec<Corner>]) -> BezPath {
    let mut path = path(corners);
    for hole in holes {
        draw(&mut path, &piece::backwards(hole));
    }
    path
}

fn draw(path: &mut BezPath, corners: &[Corner]) {
    path.move_to((corners[0].at[0], corners[0].at[1]));
    let last = corners.len() - 1;
    for (i, piece) in piece::pieces(corners).enumerate() {
        match piece.arc(DRAWN_WITHIN) {
            Some(curves) => path.extend(curves),
            None if i == last => {}
            None => path.line_to((piece.to[0], piece.to[1])),
        }
    }
    path.close_path();
}

/// A closed way in another frame; anticlockwise there as it was here.
pub fn in_frame<A, B>(corners: &[Corner], map: &Map<A, B>) -> Vec<Corner> {
    let turns = map.affine().determinant().signum();
    let there: Vec<Corner> = corners
        .iter()
        .map(|c| {
            let at = map.apply(Point::new(c.at[0], c.at[1]));
            Corner { at: [at.x, at.y], bulge: turns * c.bulge }
        })
        .collect();
    if turns < 0.0 { piece::backwards(&there) } else { there }
}

/// Whether two closed ways neither meet nor hold one another.
pub fn lie_apart(a: &[Corner], b: &[Corner]) -> bool {
    !meet(a, b) && !inside(b, a[0].at) && !inside(a, b[0].at)
}

/// Whether a closed way lies wholly within another.
pub fn lies_within(inner: &[Corner], outer: &[Corner]) -> bool {
    !meet(inner, outer) && inside(outer, inner[0].at)
}

fn meet(a: &[Corner], b: &[Corner]) -> bool {
    let found = polyline(a).find_intersects(&polyline(b));
    !found.basic_intersects.is_empty() || !found.overlapping_intersects.is_empty()
}

fn polyline(corners: &[Corner]) -> Polyline {
    let mut line = Polyline::new_closed();
    for corner in corners {
        line.add(corner.at[0], corner.at[1], corner.bulge);
    }
    line
}

/// See [`Outline::inset`]; for any closed way that runs anticlockwise.
pub fn inset(corners: &[Corner], by: f64) -> Vec<Vec<Corner>> {
    let found = polyline(corners).parallel_offset(by);
    let corners = |line: &Polyline| {
        line.iter_vertexes().map(|v| Corner { at: [v.x, v.y], bulge: v.bulge }).collect()
    };
    found.iter().map(corners).collect()
}
