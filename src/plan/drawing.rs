//! Pen work: the cover's lines, and foam holes marked to be cut by hand.

use super::{Bench, Plan, Step, Travel, Um, hole_sheet_size, um};
use crate::{
    diag::Diagnostic,
    frame::{Point, Sheet},
    job::Turned,
    layout::{Cover, HoleSheet, LineKind, Part, Piece},
    route::{self, Cost, Direction, Effort, Run, Shape, Stroke},
};

/// Length of a cross that marks a foam hole, mm: it is cut away.
const FOAM_CROSS: f64 = 12.0;

impl Bench<'_> {
    /// The cover, back up, piece by piece.
    pub(super) fn draw(&self, cover: &Cover) -> Result<Vec<Plan>, Vec<Diagnostic>> {
        self.needs_pen()?;
        cover.pieces.iter().map(|piece| self.draw_piece(piece)).collect()
    }

    /// The cut line comes last, when nothing more can go wrong.
    fn draw_piece(&self, piece: &Piece) -> Result<Plan, Vec<Diagnostic>> {
        let travel_height = self.lay(piece.cut, 0.0)?;
        let (units, ranks): (Vec<Unit>, Vec<u32>) = piece
            .lines
            .chunk_by(|a, b| a.kind == b.kind && matches!(a.kind, LineKind::Words(_)))
            .map(|lines| {
                let strokes = lines.iter().map(|line| stroke(&line.points)).collect();
                (Unit { strokes }, u32::from(lines[0].kind == LineKind::Cut))
            })
            .unzip();
        let strokes: Vec<Stroke> = units.iter().flat_map(|unit| unit.strokes.clone()).collect();
        self.refuse_strokes_under_clamps(&strokes, 0.0)?;
        let (steps, travel) = self.strokes(&units, &ranks);
        Ok(Plan {
            work: self.work,
            part: piece.part,
            lies: match self.job.fabric.turned.value {
                Turned::Upright => {
                    "wrong side up, top of the cover away from you, so left and right are exchanged"
                }
                Turned::Sideways => {
                    "wrong side up, top of the cover to your right, its left side (seen from the front) towards you"
                }
            },
            size: [um(piece.cut[0]), um(piece.cut[1]), 0],
            park: self.park().map(um),
            travel_height,
            steps,
            travel,
        })
    }

    /// Crosses where the foam is cut by hand.
    pub(super) fn mark(&self, sheet: &HoleSheet) -> Result<Plan, Vec<Diagnostic>> {
        self.needs_pen()?;
        let travel_height = self.lay(sheet.size, sheet.thickness)?;
        let arm = FOAM_CROSS / 2.0;
        let strokes: Vec<Stroke> = sheet
            .places
            .iter()
            .flat_map(|&(_, at)| {
                [[arm, 0.0], [0.0, arm]].map(|[x, y]| Stroke {
                    points: vec![[at.x - x, at.y - y], [at.x + x, at.y + y]],
                    shape: Shape::Line,
                })
            })
            .collect();
        self.refuse_strokes_under_clamps(&strokes, sheet.thickness)?;
        let units: Vec<Unit> =
            strokes.into_iter().map(|stroke| Unit { strokes: vec![stroke] }).collect();
        let (steps, travel) = self.strokes(&units, &vec![0; units.len()]);
        Ok(Plan {
            work: sheet.work,
            part: Part::WHOLE,
            lies: "front face up",
            size: hole_sheet_size(sheet),
            park: self.park().map(um),
            travel_height,
            steps,
            travel,
        })
    }

    /// The pen and what holds it cannot draw beside a clamp that stands higher than the work.
    fn refuse_strokes_under_clamps(
        &self,
        strokes: &[Stroke],
        thickness: f64,
    ) -> Result<(), Vec<Diagnostic>> {
        let corner = self.machine.bed.work_at;
        let reach = self.machine.unknown_width() / 2.0 + super::CLEARANCE;
        let under = |at: [f64; 2]| {
            self.machine.keep_clear.iter().any(|clamp| {
                let beside = |axis: usize, side: [f64; 2]| {
                    let place = at[axis] + corner[axis];
                    place + reach > side[0] && place - reach < side[1]
                };
                clamp.height > thickness && beside(0, clamp.x) && beside(1, clamp.y)
            })
        };
        // Looked at every few millimetres: no clamp is missed that stands nearer than the clearance.
        let steps_of = |leg: &[[f64; 2]]| {
            let (from, way) = (leg[0], [leg[1][0] - leg[0][0], leg[1][1] - leg[0][1]]);
            let length = (way[0] * way[0] + way[1] * way[1]).sqrt();
            let count = (length / super::CLEARANCE).ceil().max(1.0);
            (0..=count as u32).map(move |i| {
                let part = f64::from(i) / count;
                [from[0] + way[0] * part, from[1] + way[1] * part]
            })
        };
        let met = strokes
            .iter()
            .flat_map(|stroke| stroke.points.windows(2))
            .flat_map(steps_of)
            .find(|at| under(*at));
        let Some([x, y]) = met else { return Ok(()) };
        Err(vec![
            self.at_machine(format!(
                "a clamp of `{}` stands in the way of the pen at X {x:.1}, Y {y:.1} of the {}",
                self.machine.name, self.work
            ))
            .help("move the clamp and its [[keep_clear]] box, or move `work_at`"),
        ])
    }

    fn needs_pen(&self) -> Result<(), Vec<Diagnostic>> {
        if self.machine.pen.is_some() {
            return Ok(());
        }
        Err(vec![
            self.at_machine(format!(
                "`{}` has no pen, so it cannot mark the {}",
                self.machine.name, self.work
            ))
            .help("add a [pen] to its file, or name a machine that has one"),
        ])
    }

    /// Units in a good order, each joined to the next where they meet.
    fn strokes(&self, units: &[Unit], ranks: &[u32]) -> (Vec<Step>, Travel) {
        // Lifting and setting down costs what the pen takes to settle, twice.
        let lift = self.machine.pen.as_ref().map_or(0.0, |pen| 2.0 * pen.settle);
        let whole: Vec<Stroke> = units.iter().map(Unit::whole).collect();
        let order = |cost, lift, effort| {
            route::order_strokes_by_rank(
                &whole,
                ranks,
                self.park(),
                cost,
                lift,
                effort,
                &mut |_| {},
            )
            .expect("a sheet has strokes, at finite places")
        };
        let best = order(self.cost(), lift, self.effort);
        let mm_bound = order(Cost::Distance, 0.0, Effort::Quick).bound;
        let mut steps: Vec<Step> = Vec::new();
        for run in &best.runs {
            for drawn in units[run.stroke].drawn(run) {
                match steps.last_mut() {
                    Some(Step::Stroke { points }) if points.last() == drawn.first() => {
                        points.extend(&drawn[1..])
                    }
                    _ => steps.push(Step::Stroke { points: drawn }),
                }
            }
        }
        // Within a line of writing the way is the same in every order.
        let inside = |cost: Cost, lift: f64| -> f64 {
            units.iter().flat_map(Unit::hops).map(|[a, b]| cost.between(a, b) + lift).sum()
        };
        let (mm, seconds) = (inside(Cost::Distance, 0.0), inside(self.cost(), lift));
        let travel = Travel {
            mm: best.travel + mm,
            seconds: best.cost + seconds,
            seconds_bound: best.bound + seconds,
            mm_bound: mm_bound + mm,
        };
        (steps, travel)
    }
}

/// What is drawn in one go: a single stroke, or a line of writing, letter by letter.
struct Unit {
    strokes: Vec<Stroke>,
}

impl Unit {
    /// As one stroke, from its beginning to its end.
    fn whole(&self) -> Stroke {
        match self.strokes.as_slice() {
            [only] => only.clone(),
            many => Stroke {
                points: vec![many[0].points[0], end(&many[many.len() - 1])],
                shape: Shape::Line,
            },
        }
    }

    /// The ways through the air inside it.
    fn hops(&self) -> impl Iterator<Item = [[f64; 2]; 2]> {
        self.strokes.windows(2).map(|pair| [end(&pair[0]), pair[1].points[0]])
    }

    /// Its strokes in the order and direction in which they are drawn, in whole micrometres.
    fn drawn(&self, run: &Run) -> Vec<Vec<[Um; 2]>> {
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
fn end(stroke: &Stroke) -> [f64; 2] {
    match stroke.shape {
        Shape::Loop => stroke.points[0],
        Shape::Line => stroke.points[stroke.points.len() - 1],
    }
}

/// A line of the cover; one that comes back to its beginning may be entered at any of its points.
fn stroke(points: &[Point<Sheet>]) -> Stroke {
    let mut points: Vec<[f64; 2]> = points.iter().map(|p| [p.x, p.y]).collect();
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
    points
}
