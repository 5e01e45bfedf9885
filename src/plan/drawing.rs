//! Pen work: the cover's lines, and foam holes marked to be cut by hand.

use super::{Bench, Plan, Step, Travel, Um, hole_sheet_size, um};
use crate::{
    diag::Diagnostic,
    layout::{Cover, HoleSheet, LineKind},
    route::{self, Ends, Stroke},
};

/// Length of a cross that marks a foam hole, mm: it is cut away.
const FOAM_CROSS: f64 = 12.0;

impl Bench<'_> {
    /// The cover, back up. The cut line comes last, when nothing more can go wrong.
    pub(super) fn draw(&self, cover: &Cover) -> Result<Plan, Vec<Diagnostic>> {
        self.needs_pen()?;
        self.fits_the_roll(cover)?;
        let travel_height = self.lay(cover.cut, 0.0)?;
        let strokes = cover.lines.iter().map(|line| Stroke {
            points: line.points.iter().map(|p| [p.x, p.y]).collect(),
            rank: u32::from(line.kind == LineKind::Cut),
        });
        let (steps, travel) = self.strokes(strokes.collect());
        Ok(Plan {
            work: self.work,
            lies: "wrong side up, top of the cover away from you, so left and right are exchanged",
            size: [um(cover.cut[0]), um(cover.cut[1]), 0],
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
        let strokes = sheet.places.iter().flat_map(|&(_, at)| {
            [[arm, 0.0], [0.0, arm]].map(|[x, y]| Stroke {
                points: vec![[at.x - x, at.y - y], [at.x + x, at.y + y]],
                rank: 0,
            })
        });
        let (steps, travel) = self.strokes(strokes.collect());
        Ok(Plan {
            work: sheet.work,
            lies: "front face up",
            size: hole_sheet_size(sheet),
            park: self.park().map(um),
            travel_height,
            steps,
            travel,
        })
    }

    fn fits_the_roll(&self, cover: &Cover) -> Result<(), Vec<Diagnostic>> {
        let roll = &self.job.fabric.roll_width;
        let over = cover.cut[0] - roll.value;
        if over <= 0.0 {
            return Ok(());
        }
        Err(vec![
            Diagnostic::at(
                roll.span.clone(),
                format!(
                    "the cover is cut {:.1} mm wide and the roll is {:.1} mm: {over:.1} mm too narrow",
                    cover.cut[0], roll.value
                ),
            )
            .help("take a wider cloth; covers joined from several pieces come with a later version (--only board,foam makes the rest)"),
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

    /// Strokes in a good order, each joined to the next where they meet.
    fn strokes(&self, strokes: Vec<Stroke>) -> (Vec<Step>, Travel) {
        let order = route::strokes(
            &strokes,
            Ends::Park(self.park()),
            self.cost(),
            self.effort,
            &mut |_| {},
        )
        .expect("a cover has lines, at finite places");
        let steps = order
            .lines
            .iter()
            .map(|points| Step::Stroke {
                points: points.iter().map(|p| p.map(um)).collect::<Vec<[Um; 2]>>(),
            })
            .collect();
        let travel = Travel {
            mm: order.travel,
            seconds: order.cost,
            seconds_bound: order.bound,
            mm_bound: 0.0,
        };
        (steps, travel)
    }
}
