//! Pieces: where a cover wider than the roll is joined, and what each piece is cut like.
//!
//! A join runs where a pleat hides it: down through the buttons, zig-zag along one column of half-diamonds
//! (straight down a column in square work), and straight out to both edges along the edge pleats. Joins
//! stand even about the upright centre line, so there is always a whole piece in the middle. Published:
//! the worked examples of deep buttoning in Spons' Mechanics' Own Book (from memory).

use super::{CutEdges, Whole, repeat};
use crate::{
    diag::Diagnostic,
    frame::{CoverFront, Point},
    job::{Job, PatternKind, Turned},
    layout::{Button, Fitted},
};

/// Half-columns of one diamond: no piece is narrower.
const DIAMOND: i32 = 2;
/// More pieces than this side by side are no cover.
const MOST_PIECES: usize = 41;

/// One piece on the front of the cover: between two joins, or between a join and the edge.
#[derive(Debug, Clone)]
pub struct Cut {
    /// The join or edge at its left and right, from the top edge to the bottom edge, as sewn.
    pub sides: [Side; 2],
    /// The line it is cut along, once round against the clock, seams included.
    pub round: Vec<Point<CoverFront>>,
}

/// The left or right side of a piece.
#[derive(Debug, Clone)]
pub enum Side {
    Edge,
    Join(Join),
}

/// A line along which two pieces are sewn together.
#[derive(Debug, Clone)]
pub struct Join {
    /// From 1, left to right.
    pub number: usize,
    /// The half-column it stands on in rows that have a button there; in the others it stands one farther
    /// out, if the pattern is staggered.
    column: i32,
    /// From the top edge to the bottom edge.
    pub line: Vec<Point<CoverFront>>,
    /// The line shifted to the left and to the right by the seam: where the pieces are cut.
    pub cut: [Vec<Point<CoverFront>>; 2],
}

impl Join {
    /// The half-column of this join in the row of `lattice`.
    fn in_row(column: i32, kind: PatternKind, lattice: [i32; 2]) -> i32 {
        let staggered = kind == PatternKind::Diamond && (column - lattice[0]).rem_euclid(2) != 0;
        column + if staggered { column.signum() } else { 0 }
    }
}

impl Cut {
    /// Whether a button belongs to this piece; one on a join belongs to both.
    pub fn has(&self, fitted: &Fitted, button: &Button) -> bool {
        let column = |join: &Join| Join::in_row(join.column, fitted.kind, button.lattice);
        let x = button.lattice[0];
        let left = match &self.sides[0] {
            Side::Edge => true,
            Side::Join(join) => column(join) <= x,
        };
        left && match &self.sides[1] {
            Side::Edge => true,
            Side::Join(join) => x <= column(join),
        }
    }

    /// Whether a button stands on one of its joins.
    pub fn joined_at(&self, fitted: &Fitted, button: &Button) -> bool {
        self.sides.iter().any(|side| match side {
            Side::Edge => false,
            Side::Join(join) => {
                Join::in_row(join.column, fitted.kind, button.lattice) == button.lattice[0]
            }
        })
    }

    /// Left, bottom, right, top.
    pub fn bounds(&self) -> [f64; 4] {
        let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
        for p in &self.round {
            (low, high) =
                ([low[0].min(p.x), low[1].min(p.y)], [high[0].max(p.x), high[1].max(p.y)]);
        }
        [low[0], low[1], high[0], high[1]]
    }

    pub fn width(&self) -> f64 {
        let [left, _, right, _] = self.bounds();
        right - left
    }

    /// Width and height as it lies on the roll and on the plotter.
    pub fn lying(&self, turned: Turned) -> [f64; 2] {
        let [left, bottom, right, top] = self.bounds();
        match turned {
            Turned::Upright => [right - left, top - bottom],
            Turned::Sideways => [top - bottom, right - left],
        }
    }

    /// Where its left or right cut line passes the height `y`.
    pub fn cut_at(&self, side: usize, y: f64, edges: &CutEdges) -> f64 {
        match &self.sides[side] {
            Side::Edge => [edges.left, edges.right][side],
            Side::Join(join) => at_height(&join.cut[side], y),
        }
    }
}

/// Where a line from the top to the bottom passes the height `y`.
pub fn at_height(line: &[Point<CoverFront>], y: f64) -> f64 {
    let below = line.iter().position(|p| p.y <= y).unwrap_or(line.len() - 1).max(1);
    let [a, b] = [line[below - 1], line[below]];
    if a.y == b.y { b.x } else { a.x + (b.x - a.x) * (a.y - y) / (a.y - b.y) }
}

/// All ways worth considering to cut the cover for this roll, the widest middle piece first; each has the
/// fewest pieces that will do. One piece where the roll is wide enough.
pub fn cuts(
    job: &Job,
    fitted: &Fitted,
    buttons: &[Button],
    whole: &Whole,
) -> Result<Vec<Vec<Cut>>, Vec<Diagnostic>> {
    if job.fabric.turned.value == Turned::Sideways {
        return sideways(job, &whole.edges);
    }
    let joiner = Joiner { job, fitted, buttons, whole };
    let alone = one_piece(&whole.edges);
    if joiner.fits(&alone) {
        return Ok(vec![vec![alone]]);
    }
    refuse_unjoinable(job, fitted, whole)?;
    refuse_a_wide_seam(job, fitted, whole)?;
    let columns = joiner.columns();
    let mut ways = joiner.ways(&columns);
    let Some(fewest) = ways.iter().map(Vec::len).min() else {
        return Err(vec![joiner.too_narrow(&columns)]);
    };
    ways.retain(|way| way.len() == fewest);
    Ok(ways.iter().map(|way| joiner.pieces(way)).collect())
}

/// A join runs down a column of the lattice, as it lies level.
fn refuse_unjoinable(job: &Job, fitted: &Fitted, whole: &Whole) -> Result<(), Vec<Diagnostic>> {
    let what = match (fitted.kind, fitted.fan) {
        (PatternKind::Single, _) => {
            "buttons at places of their own have no columns to join it along"
        }
        (_, Some(_)) => "a fan is not joined",
        _ => return Ok(()),
    };
    let ([width, _], roll) = (whole.edges.size(), &job.fabric.roll_width);
    Err(vec![
        Diagnostic::at(
            roll.span.clone(),
            format!(
                "the cover is cut {width:.1} mm wide, the roll is {:.1} mm, and {what}",
                roll.value
            ),
        )
        .help("take a wider cloth, or a smaller panel (--only board,foam makes the rest)"),
    ])
}

/// A cover that lies across the roll is never joined.
fn sideways(job: &Job, edges: &CutEdges) -> Result<Vec<Vec<Cut>>, Vec<Diagnostic>> {
    let ([_, height], roll) = (edges.size(), job.fabric.roll_width.value);
    if height <= roll {
        return Ok(vec![vec![one_piece(edges)]]);
    }
    Err(vec![
        Diagnostic::at(
            job.fabric.turned.span.clone(),
            format!(
                "turned sideways the cover needs {height:.1} mm of the roll's width, and there are {roll:.1} mm"
            ),
        )
        .help("write turned = \"upright\" and let it be joined, or take a wider cloth"),
    ])
}

/// A seam that reaches past the next button would be cut into another diamond.
fn refuse_a_wide_seam(job: &Job, fitted: &Fitted, whole: &Whole) -> Result<(), Vec<Diagnostic>> {
    let seam = &job.fabric.seam;
    let sideways = seam_sideways(seam.value, fitted.kind, whole.marked);
    let half = whole.marked[0] / 2.0;
    if sideways < half {
        return Ok(());
    }
    Err(vec![
        Diagnostic::at(
            seam.span.clone(),
            format!(
                "a seam of {:.1} mm reaches {sideways:.1} mm sideways along the diamonds, past the next button {half:.1} mm away",
                seam.value
            ),
        )
        .help("write a narrower seam, or larger diamonds"),
    ])
}

/// How far a seam reaches sideways where the join runs along the diamonds' sides:
/// seam·sqrt(W_f² + H_f²)/H_f. Derived.
pub fn seam_sideways(seam: f64, kind: PatternKind, [w, h]: [f64; 2]) -> f64 {
    match kind {
        PatternKind::Diamond => seam * (w * w + h * h).sqrt() / h,
        _ => seam,
    }
}

fn one_piece(edges: &CutEdges) -> Cut {
    Cut { sides: [Side::Edge, Side::Edge], round: round([&edges.side(0), &edges.side(1)]) }
}

/// Down the left side and up the right.
fn round([left, right]: [&[Point<CoverFront>]; 2]) -> Vec<Point<CoverFront>> {
    left.iter().chain(right.iter().rev()).copied().collect()
}

struct Joiner<'a> {
    job: &'a Job,
    fitted: &'a Fitted,
    buttons: &'a [Button],
    whole: &'a Whole,
}

impl Joiner<'_> {
    /// Whether a piece can be laid on the roll. A motif that must lie on one of the roll's may push it in
    /// from the edge.
    fn fits(&self, cut: &Cut) -> bool {
        let fabric = &self.job.fabric;
        let motif = repeat::motif(self.job, self.fitted, self.whole, cut);
        let pushed = match (&fabric.repeat, motif) {
            (Some(repeat), Some(motif)) => repeat::next_place(repeat, motif, 0.0),
            _ => 0.0,
        };
        pushed + cut.width() <= fabric.roll_width.value
    }

    /// The columns right of the middle that a join can stand on, as its mirror image can.
    fn columns(&self) -> Vec<i32> {
        let kind = self.fitted.kind;
        let outermost = self.buttons.iter().map(|b| b.lattice[0].abs()).max().unwrap_or(0);
        // In square work joins stand on columns of buttons, whose parity all rows share.
        let (first, last, step) = match kind {
            PatternKind::Diamond => (1, outermost - 1, 1),
            _ => (2 - outermost % 2, outermost, 2),
        };
        // Where buttons were dropped a column may be empty on one side or both; no join runs there.
        let stands = |column: i32| {
            self.buttons.iter().any(|b| Join::in_row(column, kind, b.lattice) == b.lattice[0])
        };
        (first..=last).step_by(step).filter(|&c| stands(c) && stands(-c)).collect()
    }

    /// Every choice of the middle piece that leads to a cover, the widest first: its joins outwards to the
    /// right, each piece as wide as the roll allows.
    fn ways(&self, columns: &[i32]) -> Vec<Vec<i32>> {
        // A piece and its twin on the other side, which a repeat may push in by another amount.
        let fits = |left: i32, right: Option<i32>| {
            let twin = self.piece(right.map(|c| -c), Some(-left), 0);
            self.fits(&self.piece(Some(left), right, 0)) && self.fits(&twin)
        };
        let outwards = |middle: i32| {
            let mut joins = vec![middle];
            while !fits(joins[joins.len() - 1], None) {
                let inner = joins[joins.len() - 1];
                let wide = |&&c: &&i32| c >= inner + DIAMOND && fits(inner, Some(c));
                joins.push(*columns.iter().rev().find(wide)?);
                if joins.len() * 2 + 1 > MOST_PIECES {
                    return None;
                }
            }
            Some(joins)
        };
        let middles = columns.iter().rev().filter(|&&middle| fits(-middle, Some(middle)));
        middles.filter_map(|&middle| outwards(middle)).collect()
    }

    /// Why no way of joining will do.
    fn too_narrow(&self, columns: &[i32]) -> Diagnostic {
        let ([width, _], roll) = (self.whole.edges.size(), &self.job.fabric.roll_width);
        if columns.is_empty() {
            return Diagnostic::at(
                roll.span.clone(),
                format!(
                    "the cover is cut {width:.1} mm wide, the roll is {:.1} mm, and the pattern is too narrow to be joined",
                    roll.value
                ),
            )
            .help("take a wider cloth, or more and smaller diamonds");
        }
        Diagnostic::at(
            roll.span.clone(),
            format!(
                "the cover is cut {width:.1} mm wide and the roll is {:.1} mm, too narrow even for a cover joined along the diamonds",
                roll.value
            ),
        )
        .help(match self.narrowest(columns) {
            Some(width) => format!(
                "a roll of {width:.0} mm would do; or make the diamonds or the edges smaller (--only board,foam makes the rest)"
            ),
            None => "make the diamonds or the edges smaller (--only board,foam makes the rest)".to_string(),
        })
    }

    /// The pieces between joins on these columns and their mirror images.
    fn pieces(&self, columns: &[i32]) -> Vec<Cut> {
        let mirrored = columns.iter().rev().map(|c| -c);
        let all: Vec<Option<i32>> = std::iter::once(None)
            .chain(mirrored.chain(columns.iter().copied()).map(Some))
            .chain(std::iter::once(None))
            .collect();
        all.windows(2).enumerate().map(|(i, pair)| self.piece(pair[0], pair[1], i)).collect()
    }

    /// The piece from one join to another; `before` joins stand left of it.
    fn piece(&self, left: Option<i32>, right: Option<i32>, before: usize) -> Cut {
        let side = |column: Option<i32>, number| match column {
            Some(column) => Side::Join(self.join(column, number)),
            None => Side::Edge,
        };
        let sides = [side(left, before), side(right, before + 1)];
        let line = |i: usize| match &sides[i] {
            Side::Edge => self.whole.edges.side(i),
            Side::Join(join) => join.cut[i].clone(),
        };
        let round = round([&line(0), &line(1)]);
        Cut { sides, round }
    }

    fn join(&self, column: i32, number: usize) -> Join {
        let mut line: Vec<Point<CoverFront>> = self
            .buttons
            .iter()
            .zip(&self.whole.at)
            .filter(|(b, _)| Join::in_row(column, self.fitted.kind, b.lattice) == b.lattice[0])
            .map(|(_, at)| *at)
            .collect();
        let edges = &self.whole.edges;
        let [first, last] = [line[0], line[line.len() - 1]];
        line.insert(0, Point::new(first.x, edges.top));
        line.push(Point::new(last.x, edges.bottom));
        let seam = self.job.fabric.seam.value;
        let cut = [-seam, seam].map(|by| beside(&line, by));
        Join { number, column, line, cut }
    }

    /// A roll width for which some way of joining has been found, the least of those tried. `None` if there is
    /// no such way on any roll.
    fn narrowest(&self, columns: &[i32]) -> Option<f64> {
        let mut widths: Vec<f64> = Vec::new();
        for (i, &column) in columns.iter().enumerate() {
            widths.push(self.piece(Some(-column), Some(column), 0).width());
            widths.push(self.piece(Some(column), None, 0).width());
            widths.extend(
                columns[i + 1..].iter().map(|&c| self.piece(Some(column), Some(c), 0).width()),
            );
        }
        // A motif may push a piece in from the roll's edge by up to a repeat.
        let pushed = self.job.fabric.repeat.as_ref().map_or(0.0, |repeat| repeat.across.value);
        let with_push: Vec<f64> = widths.iter().map(|width| width + pushed).collect();
        widths.extend(with_push);
        widths.sort_by(f64::total_cmp);
        let would_do = |width: &f64| {
            let mut job = self.job.clone();
            job.fabric.roll_width.value = width.ceil();
            !Joiner { job: &job, ..*self }.ways(columns).is_empty()
        };
        let least = widths.partition_point(|width| !would_do(width));
        widths.get(least).filter(|width| would_do(width)).map(|width| width.ceil())
    }
}

/// A line from top to bottom shifted to its right (as seen from the front) by `by`, corners mitred.
fn beside(line: &[Point<CoverFront>], by: f64) -> Vec<Point<CoverFront>> {
    let normal = |a: Point<CoverFront>, b: Point<CoverFront>| {
        let length = a.distance(b);
        [(a.y - b.y) / length, (b.x - a.x) / length]
    };
    let normals: Vec<[f64; 2]> = line.windows(2).map(|pair| normal(pair[0], pair[1])).collect();
    line.iter()
        .enumerate()
        .map(|(i, p)| {
            let before = normals[i.saturating_sub(1)];
            let after = normals[i.min(normals.len() - 1)];
            let share = by / (1.0 + before[0] * after[0] + before[1] * after[1]);
            Point::new(p.x + (before[0] + after[0]) * share, p.y + (before[1] + after[1]) * share)
        })
        .collect()
}
