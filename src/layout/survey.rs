//! The positions of an old panel's buttons, as measured: the grid that fits them best, and how far each
//! has drifted from it.
//!
//! Places are told from their neighbours, a step at a time, by the size that the job gives as a start.
//! The grid is the one of least squares: p = o + u·a + v·b over all places, a and b at right angles.

use super::{Button, Fitted, Name};
use crate::{
    diag::{Diagnostic, Given},
    frame::Point,
    job::{Drawn, Job, MeasuredFrom, PatternKind, Positions, Row, Survey},
    outline::{self, DrawnWith, Outline},
};
use std::collections::BTreeMap;

/// A neighbour may stand this share of a step from where it is expected.
const ASTRAY: f64 = 0.35;

/// Fewer places show no grid.
const LEAST: usize = 5;

/// What was found of the old panel.
#[derive(Debug, Clone)]
pub struct Surveyed {
    /// How the grid was turned as measured, degrees anticlockwise.
    pub turned: f64,
    /// From its place in the grid, mm right and up.
    pub drift: Vec<(Name, [f64; 2])>,
}

impl Surveyed {
    /// Root mean square of the drifts, mm.
    pub fn rms(&self) -> f64 {
        let squares: f64 = self.drift.iter().map(|(_, [x, y])| x * x + y * y).sum();
        (squares / self.drift.len() as f64).sqrt()
    }

    pub fn worst(&self) -> (Name, f64) {
        let length = |d: [f64; 2]| (d[0] * d[0] + d[1] * d[1]).sqrt();
        let all = self.drift.iter().map(|&(name, d)| (name, length(d)));
        all.max_by(|a, b| a.1.total_cmp(&b.1)).expect("a survey has places")
    }
}

/// Where the buttons of the old panel stood, and the grid that fits them.
pub struct Found {
    pub fitted: Fitted,
    pub buttons: Vec<Button>,
    pub surveyed: Surveyed,
}

/// Finds the grid in the places of a survey. Places are moved to the panel's own frame.
pub fn find(job: &Job, survey: &Survey, outline: &Outline) -> Result<Found, Vec<Diagnostic>> {
    let kind = job.pattern.kind;
    let size = [&job.pattern.across, &job.pattern.down]
        .map(|axis| axis.size.as_ref().expect("the reader requires sizes of a survey").value);
    let corner = match survey.from {
        MeasuredFrom::Corner => [-outline.width() / 2.0, -outline.height() / 2.0],
        MeasuredFrom::Middle => [0.0, 0.0],
    };
    let (given, corner) = match &survey.drawing {
        None => (survey.places.clone(), corner),
        Some(drawing) => {
            let (found, with) = outline::drawn_places(&job.panel, drawing)?;
            // What is drawn with the panel's own outline lies where it is drawn.
            let corner = if with == DrawnWith::Panel { [0.0, 0.0] } else { corner };
            let span = &drawing.file.span;
            if found.len() < LEAST {
                let message = format!("{} drawn places are too few to find a grid", found.len());
                return Err(vec![Diagnostic::at(span.clone(), message).help(format!(
                    "draw at least {LEAST} of the old buttons, in two rows or more"
                ))]);
            }
            let place = |value: [f64; 2]| Given { value, span: span.clone() };
            (found.into_iter().map(place).collect(), corner)
        }
    };
    // The other hand of a panel has its old buttons on the other side.
    let side = if job.panel.drawn == Drawn::Mirrored { -1.0 } else { 1.0 };
    let places: Vec<[f64; 2]> =
        given.iter().map(|p| [side * (p.value[0] + corner[0]), p.value[1] + corner[1]]).collect();
    let lattice = lattice(&given, &places, kind, size)?;
    if lattice.iter().all(|[_, row]| *row == lattice[0][1]) {
        let message =
            "the measured places lie in one row, which says nothing of the distance between rows";
        return Err(vec![
            Diagnostic::at(given[0].span.clone(), message)
                .help("measure buttons of two rows or more"),
        ]);
    }
    let grid = Grid::through(&places, &lattice);
    let ([low, high], top_row) = extent(&lattice, kind);
    let across = ((high[0] - low[0]) / 2 + 1) as u32;
    let rows = ((high[1] - low[1]) / 2 + 1) as u32;
    let middle = [(low[0] + high[0]) / 2, (low[1] + high[1]) / 2];
    // The steps are half a column and half a row gap.
    let fitted = Fitted {
        kind,
        top_row,
        width: grid.step[0] * 2.0,
        height: grid.step[1] * if kind == PatternKind::Diamond { 4.0 } else { 2.0 },
        across,
        rows,
        middle: grid.place(middle)[1],
        fan: None,
    };
    let names: BTreeMap<[i32; 2], Name> =
        fitted.lattice().map(|(name, lattice)| (lattice, name)).collect();
    let mut buttons = Vec::new();
    let mut drift = Vec::new();
    for (at, [u, v]) in places.iter().zip(&lattice) {
        let lattice = [u - middle[0], v - middle[1]];
        let name = names[&lattice];
        let wanted = grid.place([*u, *v]);
        // In the grid's own directions.
        let off = grid.upright([at[0] - wanted[0], at[1] - wanted[1]]);
        drift.push((name, off));
        let at = match survey.positions {
            Positions::Reproduce => Point::new(at[0], at[1]),
            Positions::True => fitted.on_panel(lattice),
        };
        buttons.push(Button { name, lattice, at });
    }
    buttons.sort_by_key(|button| button.name);
    drift.sort_by_key(|(name, _)| *name);
    let turned = libm::atan2(grid.turn[1], grid.turn[0]).to_degrees();
    Ok(Found { fitted, buttons, surveyed: Surveyed { turned, drift } })
}

/// Each place's steps from the first one, told from neighbour to neighbour.
fn lattice(
    given: &[Given<[f64; 2]>],
    places: &[[f64; 2]],
    kind: PatternKind,
    [width, height]: [f64; 2],
) -> Result<Vec<[i32; 2]>, Vec<Diagnostic>> {
    let steps: &[[i32; 2]] = match kind {
        PatternKind::Diamond => &[[1, 2], [1, -2], [-1, 2], [-1, -2], [2, 0], [-2, 0]],
        _ => &[[2, 0], [-2, 0], [0, 2], [0, -2]],
    };
    let half_gap = if kind == PatternKind::Diamond { height / 4.0 } else { height / 2.0 };
    let length = |[x, y]: [f64; 2]| (x * x + y * y).sqrt();
    let mut found: Vec<Option<[i32; 2]>> = vec![None; places.len()];
    let mut taken: BTreeMap<[i32; 2], usize> = BTreeMap::new();
    let mut wrong = Vec::new();
    let mut open = vec![0];
    found[0] = Some([0, 0]);
    taken.insert([0, 0], 0);
    while let Some(here) = open.pop() {
        let from = found[here].expect("only found places are open");
        for step in steps {
            let way = [f64::from(step[0]) * width / 2.0, f64::from(step[1]) * half_gap];
            let there = [places[here][0] + way[0], places[here][1] + way[1]];
            let off = |i: &usize| length([places[*i][0] - there[0], places[*i][1] - there[1]]);
            let nearest = (0..places.len()).min_by(|a, b| off(a).total_cmp(&off(b)));
            let nearest = nearest.filter(|i| off(i) <= ASTRAY * length(way).min(width));
            let at = [from[0] + step[0], from[1] + step[1]];
            match nearest {
                Some(i) if found[i].is_none() && !taken.contains_key(&at) => {
                    found[i] = Some(at);
                    taken.insert(at, i);
                    open.push(i);
                }
                _ => {}
            }
        }
    }
    for (place, found) in given.iter().zip(&found) {
        if found.is_none() {
            let [x, y] = place.value;
            wrong.push(
                Diagnostic::at(
                    place.span.clone(),
                    format!("this place is no neighbour of the others: {x:.1}, {y:.1}"),
                )
                .help("check the figure, that no place is given twice, and that `width` and `height` are near the old diamond's"),
            );
        }
    }
    if wrong.is_empty() { Ok(found.into_iter().flatten().collect()) } else { Err(wrong) }
}

/// Least and most steps both ways, widened so that the rows are those of a whole pattern, and which
/// kind the top row is.
fn extent(lattice: &[[i32; 2]], kind: PatternKind) -> ([[i32; 2]; 2], Row) {
    let side = |axis: usize| {
        let along = lattice.iter().map(move |at| at[axis]);
        (along.clone().min().expect("places"), along.max().expect("places"))
    };
    let ((left, mut right), (bottom, top)) = (side(0), side(1));
    if (right - left) % 2 != 0 {
        right += 1;
    }
    // A place of the top row stands on a long row where it is whole columns from the left.
    let in_top = lattice.iter().find(|at| at[1] == top).expect("the top has places");
    let long = kind != PatternKind::Diamond || (in_top[0] - left) % 2 == 0;
    ([[left, bottom], [right, top]], if long { Row::Long } else { Row::Short })
}

/// An upright grid, turned as a whole.
struct Grid {
    origin: [f64; 2],
    /// Length of half a column and of half a row gap (square: of half a row).
    step: [f64; 2],
    /// Cosine and sine of its turn.
    turn: [f64; 2],
}

impl Grid {
    /// Of all grids with sides at right angles the one of least squares: with both coordinates turned
    /// back by t, x is a straight line of u and y one of v; t is found where the rest is least.
    fn through(places: &[[f64; 2]], lattice: &[[i32; 2]]) -> Self {
        let n = places.len() as f64;
        let mean = |values: &dyn Fn(usize) -> f64| (0..places.len()).map(values).sum::<f64>() / n;
        let (mu, mv) = (mean(&|i| f64::from(lattice[i][0])), mean(&|i| f64::from(lattice[i][1])));
        let (mx, my) = (mean(&|i| places[i][0]), mean(&|i| places[i][1]));
        let u = |i: usize| f64::from(lattice[i][0]) - mu;
        let v = |i: usize| f64::from(lattice[i][1]) - mv;
        let x = |i: usize| places[i][0] - mx;
        let y = |i: usize| places[i][1] - my;
        let sum = |f: &dyn Fn(usize) -> f64| (0..places.len()).map(f).sum::<f64>();
        let (uu, vv) = (sum(&|i| u(i) * u(i)), sum(&|i| v(i) * v(i)));
        // What fitting takes off the squares is |c|²·cos² and its like: largest along the larger eigenvector
        // of a symmetric 2 x 2 matrix, whose angle is half that of the matrix's own.
        let [ux, uy] = [sum(&|i| u(i) * x(i)), sum(&|i| u(i) * y(i))];
        let [vx, vy] = [sum(&|i| v(i) * x(i)), sum(&|i| v(i) * y(i))];
        let share = |s: f64, over: f64| if over > 0.0 { s / over } else { 0.0 };
        let [a, b, c] = [
            share(ux * ux, uu) + share(vy * vy, vv),
            share(ux * uy, uu) - share(vx * vy, vv),
            share(uy * uy, uu) + share(vx * vx, vv),
        ];
        let angle = libm::atan2(2.0 * b, a - c) / 2.0;
        let (sin, cos) = libm::sincos(angle);
        let step = [share(ux * cos + uy * sin, uu), share(vy * cos - vx * sin, vv)];
        let turn = [cos, sin];
        let mut grid = Grid { origin: [0.0, 0.0], step, turn };
        let back = grid.turned([mu * step[0], mv * step[1]]);
        grid.origin = [mx - back[0], my - back[1]];
        grid
    }

    fn turned(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        let [cos, sin] = self.turn;
        [x * cos - y * sin, x * sin + y * cos]
    }

    fn upright(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        let [cos, sin] = self.turn;
        [x * cos + y * sin, y * cos - x * sin]
    }

    fn place(&self, [u, v]: [i32; 2]) -> [f64; 2] {
        let there = self.turned([f64::from(u) * self.step[0], f64::from(v) * self.step[1]]);
        [self.origin[0] + there[0], self.origin[1] + there[1]]
    }
}
