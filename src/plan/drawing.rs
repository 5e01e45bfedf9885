//! Pen work: the cover's lines, and foam holes marked to be cut by hand.

use super::{
    Bench, Lay, OWN_TOP, On, Plan, Setup, Step, Travel,
    laying::SetupOf,
    mm,
    tiling::{self, Tile},
    um,
    unit::Unit,
};
use crate::{
    diag::Diagnostic,
    job::Turned,
    layout::{Cover, Drawn, HoleSheet, LineKind, Part, Piece},
    machine::{Cloth, Lift, Pen},
    route::{self, Cost, Effort, Shape, Stroke},
};

/// Length of a cross that marks a foam hole, mm: it is cut away.
const FOAM_CROSS: f64 = 12.0;
/// Cloth that is moved on is drawn no nearer than this to the far ends of the bed, mm.
const FROM_END: f64 = 2.0;

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

    /// One program, or one for each tile. The cut line comes last, when nothing more can go wrong.
    fn draw_piece(&self, piece: &Piece) -> Result<Vec<Plan>, Vec<Diagnostic>> {
        let bed = &self.machine.bed;
        let room = [bed.x - bed.work_at[0], bed.y - bed.work_at[1]];
        let over = [0, 1].map(|axis| piece.cut[axis] > room[axis]);
        let moved_on = match self.machine.cloth {
            Cloth::Fixed => false,
            Cloth::Steps => over[1] && !over[0],
            Cloth::Tiles => over[0] || over[1],
        };
        // What may be parted between two tiles goes over no line again: each tile draws its own part once.
        let again = if moved_on { 0.0 } else { self.again() };
        let (units, ranks): (Vec<Unit>, Vec<u32>) = piece
            .lines
            .chunk_by(|a, b| a.kind == b.kind && drawn_in_one_go(a.kind))
            .map(|lines| {
                let points = |line: &Drawn| line.points.iter().map(|p| [p.x, p.y]).collect();
                let lines_drawn: Vec<Vec<[f64; 2]>> = lines.iter().map(points).collect();
                let unit = Unit::of(&lines_drawn, again);
                (unit, u32::from(lines[0].kind == LineKind::Cut))
            })
            .unzip();
        let tiles = match moved_on {
            true => {
                let drawn = units.iter().map(|unit| unit.strokes.clone());
                let drawn: Vec<_> = drawn.zip(ranks.iter().copied()).collect();
                let reach = [0, 1].map(|axis| room[axis] - if over[axis] { FROM_END } else { 0.0 });
                tiling::tiles(piece.cut, reach, &drawn)
            }
            false => None,
        };
        let Some(tiles) = tiles else {
            self.fits(piece.cut)?;
            let setup = Setup::only(Lay::plain(piece.cut.map(um)));
            return Ok(vec![self.draw_step(piece, setup, &units, &ranks, Vec::new())?]);
        };
        let of = tiles.len() as u32;
        let zero = bed.work_at.map(um);
        let (low, high) = (zero.map(|zero| -zero), [um(room[0]), um(room[1])]);
        let fewest = format!(
            "Fewer than {of} tiles cannot be: each overlaps the next by what two crosses need."
        );
        let plans = (1..).zip(tiles).map(|(number, Tile { lay, drawn, came })| {
            let over = lay.over(low, high);
            let moved = came.map_or("", |(moved, _)| moved.asks());
            let fewest = fewest.clone();
            let setup = Setup { number, of, over, zero, fewest, moved, ..Setup::only(lay) };
            let shown = came.into_iter().flat_map(|(moved, crosses)| {
                crosses.map(|at| Step::Show { at, says: moved.says() })
            });
            let (units, ranks): (Vec<Unit>, Vec<u32>) =
                drawn.into_iter().map(|(strokes, rank)| (Unit { strokes }, rank)).unzip();
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
        let on = On {
            top: OWN_TOP,
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
            thickness: 0.0,
            travel_height,
        };
        Ok(self.record(on, first, travel))
    }

    /// Crosses where the foam is cut by hand.
    pub(super) fn mark(&self, sheet: &HoleSheet) -> Result<Vec<Plan>, Vec<Diagnostic>> {
        self.needs_pen()?;
        let travel_height = self.travel_height(self.stack(sheet))?;
        let setups = self.set_ups_by_hand(sheet, FOAM_CROSS / 2.0)?;
        let plans = setups.into_iter().map(|SetupOf { setup, holes, .. }| {
            let arm = FOAM_CROSS / 2.0;
            let crosses = holes.iter().flat_map(|&i| {
                let at = sheet.places[i].1;
                let [x, y] = setup.lay.place([um(at.x), um(at.y)]).map(mm);
                [[arm, 0.0], [0.0, arm]].map(|[dx, dy]| Stroke {
                    points: vec![[x - dx, y - dy], [x + dx, y + dy]],
                    shape: Shape::Line,
                })
            });
            // A groove is marked whole, or where the foam lies in several set-ups by its ties alone.
            let grooves = sheet.grooves.iter().filter(|_| setup.of == 1).map(|groove| Stroke {
                points: groove.map(|p| setup.lay.place([um(p.x), um(p.y)]).map(mm)).to_vec(),
                shape: Shape::Line,
            });
            let units: Vec<Unit> = crosses.chain(grooves).map(Unit::alone).collect();
            let (steps, travel) = self.strokes(&units, &vec![0; units.len()]);
            let on = On {
                top: OWN_TOP,
                part: Part::WHOLE,
                lies: "front face up",
                setup,
                thickness: self.stack(sheet),
                travel_height,
            };
            self.record(on, steps, travel)
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

    /// How far the pen may go over a line again before it is quicker to lift it, mm.
    fn again(&self) -> f64 {
        let (pen, motion) = (self.pen(), &self.machine.motion);
        let rise = match pen.lift {
            Lift::Height { up, down } => {
                let z = [motion.rapid[2], motion.acceleration[2]];
                let z = Cost::Time { rapid: [z[0]; 2], acceleration: [z[1]; 2] };
                z.between([0.0, down], [0.0, up])
            }
            // How long a servo takes is part of the time it needs to settle.
            Lift::Words { .. } => 0.0,
        };
        let speed = pen.speed / 60.0;
        // At both ends of the line it stops and starts.
        let stops = 2.0 * speed / motion.acceleration[0].min(motion.acceleration[1]);
        ((2.0 * (pen.settle + rise) - stops) * speed).max(0.0)
    }

    fn pen(&self) -> &Pen {
        self.machine.pen.as_ref().expect("the machine was asked for a pen")
    }

    /// Units in a good order, each joined to the next where they meet.
    fn strokes(&self, units: &[Unit], ranks: &[u32]) -> (Vec<Step>, Travel) {
        // Lifting and setting down costs what the pen takes to settle, twice.
        let lift = 2.0 * self.pen().settle;
        let whole: Vec<Stroke> = units.iter().map(Unit::whole).collect();
        let park = self.park();
        let (whole, cost, effort) = (&whole, self.cost(), self.effort);
        let best =
            route::order_strokes_by_rank(whole, ranks, park, cost, lift, effort, &mut |_| {});
        let best = best.expect("a sheet has strokes, at finite places");
        let mm_bound = {
            let (mm, quick) = (Cost::Distance, Effort::Quick);
            route::bound_strokes_by_rank(whole, ranks, park, mm, 0.0, quick, &best.runs)
                .expect("the strokes could be ordered")
        };
        let mut steps: Vec<Step> = Vec::new();
        for run in &best.runs {
            for drawn in units[run.stroke].drawn(run).into_iter().filter(|points| points.len() > 1)
            {
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

/// Whether lines of this kind that follow each other belong together: a cross, an arrow, a text.
fn drawn_in_one_go(kind: LineKind) -> bool {
    matches!(kind, LineKind::Mark(_) | LineKind::Arrow | LineKind::Words(_))
}
