//! Pen work: the cover's lines, and foam holes marked to be cut by hand.

use super::{
    Bench, Lay, Plan, Setup, Step, Travel, Um, mm,
    rolling::{self, Pull},
    um,
};
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
        let mut plans = Vec::new();
        for piece in &cover.pieces {
            plans.extend(self.draw_piece(piece)?);
        }
        Ok(plans)
    }

    /// One program, or one for each step of the roll. The cut line comes last, when nothing more can go wrong.
    fn draw_piece(&self, piece: &Piece) -> Result<Vec<Plan>, Vec<Diagnostic>> {
        let (units, ranks): (Vec<Unit>, Vec<u32>) = piece
            .lines
            .chunk_by(|a, b| a.kind == b.kind && matches!(a.kind, LineKind::Words(_)))
            .map(|lines| {
                let strokes = lines.iter().map(|line| stroke(&line.points)).collect();
                (Unit { strokes }, u32::from(lines[0].kind == LineKind::Cut))
            })
            .unzip();
        let bed = &self.machine.bed;
        let room = [bed.x - bed.work_at[0], bed.y - bed.work_at[1]];
        let rolls = self.machine.feed_steps && piece.cut[1] > room[1] && piece.cut[0] <= room[0];
        let alone = |(unit, &rank): (&Unit, &u32)| -> Vec<(Stroke, u32)> {
            unit.strokes.iter().map(|stroke| (stroke.clone(), rank)).collect()
        };
        let pulls = match rolls {
            true => {
                let lines: Vec<(Stroke, u32)> = units.iter().zip(&ranks).flat_map(alone).collect();
                rolling::steps(piece.cut, room[1], &lines)
            }
            false => None,
        };
        let Some(pulls) = pulls else {
            self.fits(piece.cut)?;
            let setup = Setup::only(Lay::plain(piece.cut.map(um)));
            return Ok(vec![self.draw_step(piece, setup, &units, &ranks, Vec::new())?]);
        };
        let of = pulls.len() as u32;
        let zero = bed.work_at.map(um);
        let (low, high) = (zero.map(|zero| -zero), [um(room[0]), um(room[1])]);
        let plans = (1..).zip(pulls).map(|(number, Pull { lay, strokes, crosses })| {
            let fewest = "Each step of the roll is as long as the bed and its crosses allow.";
            let over = lay.over(low, high);
            let setup =
                Setup { number, of, over, zero, fewest: fewest.into(), ..Setup::only(lay) };
            let shown = crosses.into_iter().map(|at| Step::Show {
                at,
                says: "Pull the cloth on until a cross of the program before lies here, then carry on",
            });
            let (units, ranks): (Vec<Unit>, Vec<u32>) =
                strokes.into_iter().map(|(stroke, rank)| (Unit::alone(stroke), rank)).unzip();
            self.draw_step(piece, setup, &units, &ranks, shown.collect())
        });
        plans.collect()
    }

    fn draw_step(
        &self,
        piece: &Piece,
        setup: Setup,
        units: &[Unit],
        ranks: &[u32],
        mut first: Vec<Step>,
    ) -> Result<Plan, Vec<Diagnostic>> {
        let travel_height = self.travel_height(0.0)?;
        let strokes: Vec<Stroke> = units.iter().flat_map(|unit| unit.strokes.clone()).collect();
        self.refuse_strokes_under_clamps(&strokes, 0.0)?;
        let (steps, travel) = self.strokes(units, ranks);
        first.extend(steps);
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
            setup,
            size: [um(piece.cut[0]), um(piece.cut[1]), 0],
            park: self.park().map(um),
            change_at: self.change_at(),
            travel_height,
            steps: first,
            travel,
        })
    }

    /// Crosses where the foam is cut by hand.
    pub(super) fn mark(&self, sheet: &HoleSheet) -> Result<Vec<Plan>, Vec<Diagnostic>> {
        self.needs_pen()?;
        let travel_height = self.travel_height(self.stack(sheet))?;
        let setups = self.set_ups_by_hand(sheet, FOAM_CROSS / 2.0)?;
        let plans = setups.into_iter().map(|(setup, holes)| {
            let arm = FOAM_CROSS / 2.0;
            let crosses = holes.iter().flat_map(|&i| {
                let at = sheet.places[i].1;
                let [x, y] = setup.lay.place([um(at.x), um(at.y)]).map(mm);
                [[arm, 0.0], [0.0, arm]].map(|[dx, dy]| Stroke {
                    points: vec![[x - dx, y - dy], [x + dx, y + dy]],
                    shape: Shape::Line,
                })
            });
            let units: Vec<Unit> = crosses.map(Unit::alone).collect();
            let (steps, travel) = self.strokes(&units, &vec![0; units.len()]);
            let [width, height] = setup.lay.size();
            Plan {
                work: sheet.work,
                part: Part::WHOLE,
                lies: "front face up",
                size: [width, height, um(self.stack(sheet))],
                setup,
                park: self.park().map(um),
                change_at: self.change_at(),
                travel_height,
                steps,
                travel,
            }
        });
        Ok(plans.collect())
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
    fn alone(stroke: Stroke) -> Self {
        Unit { strokes: vec![stroke] }
    }

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
