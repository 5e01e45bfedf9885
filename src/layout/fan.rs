//! A fan: rays spread from one place, rows lie round it, and diamonds stand between the rays.
//!
//! It is the staggered lattice with its rows bent round: a column is an angle, and on each ray the rows stand evenly
//! between the innermost, a circle, and the outermost, which follows the outline. So its buttons, neighbours and pleats
//! are those of level diamonds. A fan that goes all the way round has as many buttons in every row, and the lattice
//! closes on itself.

use super::{
    Button, HAIR,
    fit::{Choice, Fitted, MOST_BUTTONS, apart, around},
    pleats::{Lattice, plus},
};
use crate::{
    diag::Diagnostic,
    frame::{PanelFront, Point},
    job::{Axis, Fan, Fit, Job, Pattern, PatternKind},
    outline::Outline,
};
use std::{
    collections::{BTreeMap, btree_map::Entry},
    f64::consts::TAU,
};

/// The outermost rays come no nearer to each other round the back than this leaves open, degrees, unless they go
/// all the way round.
const WIDEST: f64 = 300.0;
/// How finely the sweep is looked for, degrees.
const STEP: f64 = 0.5;
/// The sweep is first looked for in steps so many times as coarse.
const COARSE: u32 = 16;
/// Steps on the way in from the outline; a ray along an edge comes in by ever smaller ones.
const MOST_STEPS: usize = 1_000;

/// The rays of a fan that was fitted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rays {
    pub centre: [f64; 2],
    /// From the centre to the innermost row.
    pub inner: f64,
    /// From row to row on the upright ray.
    pub gap: f64,
    /// From one button of a row to the next, radians.
    pub column: f64,
    /// The last ray has the first beside it.
    pub all_round: bool,
    pub centre_button: bool,
}

impl Rays {
    /// Sine and cosine of a half-column's angle from upright. Rays are counted from the upright one, clockwise.
    fn direction(&self, u: i32) -> [f64; 2] {
        let (sin, cos) = libm::sincos(f64::from(u) / 2.0 * self.column);
        [sin, cos]
    }

    /// A place so far from the centre on the ray of a half-column.
    fn out(&self, u: i32, by: f64) -> Point<PanelFront> {
        let [sin, cos] = self.direction(u);
        Point::new(self.centre[0] + by * sin, self.centre[1] + by * cos)
    }

    /// How far out a ray's outermost place stands: the farthest on it that is `edge` inside the outline.
    fn reach(&self, u: i32, outline: &Outline, edge: f64) -> Option<f64> {
        let way = self.direction(u);
        let hits = outline.pieces().flat_map(|piece| piece.hits(self.centre, way));
        let leaves = hits.fold(f64::NEG_INFINITY, f64::max);
        // No place nearer than what is missing can be deep enough: depth changes no faster than place.
        let missing = |by: f64| edge - outline.depth(self.out(u, by));
        let mut out = leaves;
        for _ in 0..MOST_STEPS {
            let by = missing(out);
            if by <= HAIR {
                return Some(out);
            }
            out -= by;
            if out <= 0.0 {
                return None;
            }
        }
        None
    }

    /// The places of the whole pattern: on every ray the rows stand evenly between the innermost, which is round,
    /// and the outermost, which lies `edge` inside the outline. `None` where a ray has no room.
    pub fn places(&self, fitted: &Fitted, outline: &Outline, edge: f64) -> Option<Vec<Button>> {
        let mut reach: BTreeMap<i32, f64> = BTreeMap::new();
        for (_, [u, _]) in fitted.lattice() {
            if let Entry::Vacant(ray) = reach.entry(u) {
                ray.insert(self.reach(u, outline, edge).filter(|out| *out > self.inner)?);
            }
        }
        let rows = fitted.rows as i32;
        let button = |(name, lattice): (_, [i32; 2])| {
            let [u, v] = lattice;
            if Some(lattice) == self.at_centre(fitted.rows) {
                return Button { name, lattice, at: self.out(0, 0.0) };
            }
            let share = f64::from(v + rows - 1) / 2.0 / f64::from(rows - 1);
            let at = self.out(u, self.inner + share * (reach[&u] - self.inner));
            Button { name, lattice, at }
        };
        Some(fitted.lattice().map(button).collect())
    }

    /// Unit steps along the row and outwards at a place.
    pub fn axes(&self, [x, y]: [f64; 2]) -> [[f64; 2]; 2] {
        let [x, y] = [x - self.centre[0], y - self.centre[1]];
        let length = (x * x + y * y).sqrt();
        if length == 0.0 {
            return [[1.0, 0.0], [0.0, 1.0]];
        }
        let out = [x / length, y / length];
        [[out[1], -out[0]], out]
    }

    /// The middle row's distance from the centre.
    pub fn middle(&self, rows: u32) -> f64 {
        self.inner + f64::from(rows - 1) / 2.0 * self.gap
    }

    /// From button to button along a row so far from the centre: along the row, or straight where the cloth is laid out
    /// straight from button to button.
    pub fn pitch(&self, out: f64) -> f64 {
        if self.all_round { out * self.chord() } else { out * self.column }
    }

    /// From ray to ray, straight, at a distance of 1 from the centre.
    pub fn chord(&self) -> f64 {
        2.0 * libm::sin(self.column / 2.0)
    }

    /// The button where the rays meet: one step inside the innermost row of `rows`.
    pub fn at_centre(&self, rows: u32) -> Option<Lattice> {
        self.centre_button.then_some([0, -(rows as i32) - 1])
    }

    /// Where a step of the lattice leads: on from the last ray to the first, and from the innermost row to the button at
    /// the centre.
    pub fn beside(&self, fitted: &Fitted, from: Lattice, step: Lattice) -> Lattice {
        let [u, v] = plus(from, step);
        match self.at_centre(fitted.rows) {
            Some(centre) if v == centre[1] => centre,
            _ if self.all_round => [u.rem_euclid(2 * fitted.across as i32), v],
            _ => [u, v],
        }
    }
}

/// Fits a fan: its outer row lies `edge` inside the outline, its outermost rays stand as far out as every one of
/// their buttons keeps its edge, or where `sweep` puts them.
pub fn fit(pattern: &Pattern, asked: &Fan, outline: &Outline) -> Result<Fitted, Vec<Diagnostic>> {
    let count =
        |axis: &Axis| axis.count.as_ref().expect("the reader requires counts of a fan").value;
    let [rays, rows] = [count(&pattern.across), count(&pattern.down)];
    let buttons = f64::from(rays) * f64::from(rows);
    if buttons > MOST_BUTTONS {
        return Err(vec![
            Diagnostic::at(
                pattern.place.span.clone(),
                format!("this fan has {buttons:.0} buttons, which cannot be meant"),
            )
            .help("write fewer rays or rows"),
        ]);
    }
    fitted(pattern, asked, outline, [rays, rows])
}

fn fitted(
    pattern: &Pattern,
    asked: &Fan,
    outline: &Outline,
    [across, rows]: [u32; 2],
) -> Result<Fitted, Vec<Diagnostic>> {
    let all_round = asked.is_all_round();
    let height = if all_round { 0.0 } else { -outline.height() / 2.0 };
    let centre = asked.centre.unwrap_or([0.0, height]);
    let edge = pattern.edge.value.least();
    let inner = asked.inner.value;
    let centre_button = asked.centre_button;
    let mut rays = Rays { centre, inner, gap: 0.0, column: 0.0, all_round, centre_button };
    let fault = |message: String, help: &str| {
        Err(vec![Diagnostic::at(asked.inner.span.clone(), message).help(help)])
    };
    let Some(outer) = rays.reach(0, outline, edge) else {
        return fault(
            format!("straight above the centre of the fan no place is {edge} mm inside the panel"),
            match all_round {
                true => {
                    "leave `centre` out: then it is the panel's middle; or write a smaller `edge`"
                }
                false => {
                    "put `centre` below the panel's middle, or leave it out: then it is the middle of the lower edge"
                }
            },
        );
    };
    if outer - inner < f64::from(rows - 1) {
        return fault(
            format!(
                "the outer row of the fan comes {outer:.1} mm from its centre, and the inner row is to be {inner:.1} mm from it"
            ),
            match all_round {
                true => "write a smaller `inner` or a smaller `edge`, or leave `centre` out",
                false => "write a smaller `inner`, a smaller `edge`, or a centre farther down",
            },
        );
    }
    rays.gap = (outer - inner) / f64::from(rows - 1);
    let with = |column: f64| {
        let rays = Rays { column, ..rays };
        Fitted {
            kind: PatternKind::Diamond,
            top_row: pattern.top_row,
            width: rays.pitch(rays.middle(rows)),
            height: 2.0 * rays.gap,
            across,
            rows,
            middle: 0.0,
            fan: Some(rays),
        }
    };
    let of = |sweep: f64| with(sweep.to_radians() / f64::from(across - 1));
    let places = |fitted: &Fitted| fitted.fan.and_then(|rays| rays.places(fitted, outline, edge));
    if all_round {
        let fitted = with(TAU / f64::from(across));
        return match places(&fitted) {
            Some(_) => Ok(fitted),
            None => fault(
                "round the centre there are rays without room between `inner` and the edge"
                    .to_string(),
                "write a smaller `inner` or a smaller `edge`, or put `centre` nearer to the middle",
            ),
        };
    }
    let most = WIDEST.min(Fan::ALL_ROUND - Fan::ALL_ROUND / f64::from(across));
    let sweep = match &asked.sweep {
        Some(sweep) if sweep.value > most => {
            return Err(vec![
                Diagnostic::at(
                    sweep.span.clone(),
                    format!("a sweep of {} degrees nearly closes the fan", sweep.value),
                )
                .help(format!("write 360 to go all the way round, or at most {most:.0}")),
            ]);
        }
        Some(sweep) => {
            let fitted = of(sweep.value);
            if places(&fitted).is_none() {
                return Err(vec![
                    Diagnostic::at(sweep.span.clone(), "the outermost rays have no room between `inner` and the edge")
                        .help("write a smaller sweep, or leave it out: then it is as wide as the edges let it be"),
                ]);
            }
            sweep.value
        }
        None => {
            let keeps = |sweep: f64| {
                let places = places(&of(sweep));
                places.is_some_and(|all| all.iter().all(|b| outline.depth(b.at) >= edge - HAIR))
            };
            let up_to = |from: u32, by: u32| {
                let sweeps =
                    (1..).map(|i| from + i * by).take_while(|i| f64::from(*i) * STEP <= most);
                sweeps.take_while(|i| keeps(f64::from(*i) * STEP)).last().unwrap_or(from)
            };
            f64::from(up_to(up_to(0, COARSE), 1)) * STEP
        }
    };
    if sweep <= 0.0 {
        return fault(
            "beside the upright ray every button comes too near the edge".to_string(),
            "write a larger `inner` or a smaller `edge`",
        );
    }
    Ok(of(sweep))
}

/// Fans with a ray or a row more or less, the nearest first.
pub fn choices(job: &Job, outline: &Outline, found: &Fitted, most: usize) -> Vec<Choice> {
    let Some(asked) = &job.pattern.fan else { return Vec::new() };
    let whole = Pattern { fit: Fit::Whole, ..job.pattern.clone() };
    let counts = around(found.across).flat_map(|a| around(found.rows).map(move |r| [a, r]));
    let mut choices: Vec<Choice> = counts
        .filter_map(|counts| fitted(&whole, asked, outline, counts).ok())
        .map(|fitted| Choice {
            distance: apart(fitted.width, found.width) + apart(fitted.height, found.height),
            fitted,
        })
        .collect();
    choices.sort_by(|a, b| a.distance.total_cmp(&b.distance));
    choices.truncate(most);
    choices
}
