//! Holes: which tool, how deep, drilled or bored, and in which order.

use super::{Bench, Plan, Step, Travel, Um, hole_sheet_size, mm, um};
use crate::{
    diag::Diagnostic,
    form,
    job::{FaceUp, Rest},
    layout::{HoleSheet, Name, Part},
    machine::{Rotation, Tool, Work},
    route::{self, Cost, Effort, Ends, Order},
};

/// A bit this near the hole's diameter drills it, mm.
const SAME_DIAMETER: f64 = 0.05;

/// Holes nearer than this many least distances are neighbours.
const NEIGHBOUR: f64 = 1.1;
/// So many other holes come before a neighbour where foam is let rest: common practice, no source.
const OTHERS_BETWEEN: usize = 2;

/// How one hole of the sheet is made; all holes of a sheet are alike.
struct Method<'t> {
    tool: &'t Tool,
    depth: Um,
    /// Radius of the tool's way round; `None` where it goes straight down.
    circle: Option<Um>,
}

impl Bench<'_> {
    pub(super) fn drill(&self, sheet: &HoleSheet) -> Result<Plan, Vec<Diagnostic>> {
        let travel_height = self.lay(sheet.size, sheet.thickness);
        let method = self.method(sheet);
        let (travel_height, method) = match (travel_height, method) {
            (Ok(height), Ok(method)) => (height, method),
            (height, method) => {
                return Err([height.err(), method.err()].into_iter().flatten().flatten().collect());
            }
        };
        self.refuse_under_clamps(sheet, &method)?;
        let places: Vec<[f64; 2]> = sheet.places.iter().map(|(_, at)| [at.x, at.y]).collect();
        let ordered = |cost, effort| {
            route::order(&places, Ends::Park(self.park()), cost, effort, &mut |_| {})
                .expect("a layout has at least one button, at a finite place")
        };
        let order = match (sheet.work, self.job.foam.rest) {
            (Work::Foam, Rest::BetweenNeighbours) => self.rested(&places),
            _ => ordered(self.cost(), self.effort),
        };
        let mm_bound = ordered(Cost::Distance, Effort::Quick).bound;
        let fit = Step::Fit {
            tool: method.tool.number,
            rpm: method.tool.rpm,
            turn: method.tool.rotation,
        };
        let holes = order.sequence.iter().map(|&i| {
            let (name, at) = sheet.places[i];
            self.hole(&method, name, [um(at.x), um(at.y)])
        });
        Ok(Plan {
            work: sheet.work,
            part: Part::WHOLE,
            lies: match sheet.up {
                FaceUp::Front => "front face up",
                FaceUp::Back => "back face up, so left and right are exchanged",
            },
            size: hole_sheet_size(sheet),
            park: self.park().map(um),
            travel_height,
            steps: std::iter::once(fit).chain(holes).collect(),
            travel: Travel {
                mm: order.travel,
                seconds: order.cost,
                seconds_bound: order.bound,
                mm_bound,
            },
        })
    }

    /// An order in which the foam recovers before a neighbour is drilled.
    fn rested(&self, places: &[[f64; 2]]) -> Order {
        let apart = |a: [f64; 2], b: [f64; 2]| {
            let [x, y] = [a[0] - b[0], a[1] - b[1]];
            (x * x + y * y).sqrt()
        };
        let pitch = places
            .iter()
            .skip(1)
            .map(|&place| apart(places[0], place))
            .fold(f64::INFINITY, f64::min);
        let rest =
            route::Rest { within: pitch.min(form::LONGEST) * NEIGHBOUR, others: OTHERS_BETWEEN };
        route::order_with_rest(
            places,
            rest,
            Ends::Park(self.park()),
            self.cost(),
            self.effort,
            &mut |_| {},
        )
        .expect("a layout has at least one button, at a finite place")
    }

    fn hole(&self, method: &Method, name: Name, at: [Um; 2]) -> Step {
        let peck = um(method.tool.peck);
        match method.circle {
            None => Step::Drill { name, at, depth: method.depth, peck },
            // A turn no deeper than a peck nor half the tool, so that the chips get out.
            Some(circle) => Step::Bore {
                name,
                at,
                depth: method.depth,
                circle,
                per_turn: peck.min(um(method.tool.diameter / 2.0)),
            },
        }
    }

    /// Chooses the tool and refuses what it cannot do.
    fn method(&self, sheet: &HoleSheet) -> Result<Method<'_>, Vec<Diagnostic>> {
        let machine = self.machine;
        let Some(spindle) = &machine.spindle else {
            return Err(vec![
                self.at_machine(format!(
                    "`{}` has no spindle, so it cannot drill the {}",
                    machine.name, self.work
                ))
                .help("name a router for it"),
            ]);
        };
        if sheet.work == Work::Foam && !spindle.reverse {
            return Err(vec![
                self.at_machine(format!(
                    "the spindle of `{}` cannot turn in reverse, and a toothed foam cutter that turns forward grabs the foam",
                    machine.name
                ))
                .help("write work = \"mark\" in [foam] to have the holes marked by pen and cut by hand, or name another machine"),
            ]);
        }
        let (tool, circle) = self.tool_for(sheet)?;
        let through =
            if sheet.work == Work::Foam { self.job.foam.leave.value == 0.0 } else { true };
        let depth = match through {
            true => sheet.thickness + tool.break_through,
            false => sheet.thickness - self.job.foam.leave.value,
        };
        let mut wrong = Vec::new();
        if through && tool.break_through > machine.bed.spoilboard {
            wrong.push(
                self.at_machine(format!(
                    "tool {} breaks through by {} mm and the spoilboard of `{}` is {} mm thick",
                    tool.number, tool.break_through, machine.name, machine.bed.spoilboard
                ))
                .help("make the tool's `break_through` smaller, or fit a thicker spoilboard"),
            );
        }
        if depth > tool.reach {
            wrong.push(
                self.at_machine(format!(
                    "the {} needs a hole {depth:.1} mm deep and tool {} ({}) reaches {} mm: its holder would strike",
                    self.work, tool.number, tool.name, tool.reach
                ))
                .help("fit a longer tool and state its `reach`"),
            );
        }
        if !(spindle.rpm_min..=spindle.rpm_max).contains(&tool.rpm) {
            wrong.push(
                self.at_machine(format!(
                    "tool {} ({}) wants {} rpm and the spindle of `{}` turns from {} to {}",
                    tool.number, tool.name, tool.rpm, machine.name, spindle.rpm_min, spindle.rpm_max
                ))
                .help("most large bits are too large for a fast spindle: bore with a smaller cutter, or give the tool a speed the spindle has"),
            );
        }
        if wrong.is_empty() { Ok(Method { tool, depth: um(depth), circle }) } else { Err(wrong) }
    }

    /// A tool of the hole's diameter, or the largest smaller one that leaves no core when it goes round.
    fn tool_for(&self, sheet: &HoleSheet) -> Result<(&Tool, Option<Um>), Vec<Diagnostic>> {
        let machine = self.machine;
        let mut tools: Vec<&Tool> =
            machine.tools.iter().filter(|t| t.work.contains(&sheet.work)).collect();
        tools.sort_by(|a, b| a.diameter.total_cmp(&b.diameter));
        if sheet.work == Work::Foam {
            tools.retain(|tool| tool.rotation == Rotation::Reverse);
        }
        let wanted = sheet.hole;
        let plunging = || tools.iter().filter(|tool| tool.plunges);
        if let Some(tool) = plunging().find(|tool| (tool.diameter - wanted).abs() <= SAME_DIAMETER)
        {
            return Ok((tool, None));
        }
        let bores =
            |tool: &&&Tool| tool.sideways && tool.diameter < wanted && tool.diameter > wanted / 2.0;
        let may_bore = sheet.work == Work::Board && machine.speech.arcs;
        if let Some(tool) = tools.iter().rev().find(bores).filter(|_| may_bore) {
            return Ok((tool, Some(um((wanted - tool.diameter) / 2.0))));
        }
        let diameters: Vec<String> =
            tools.iter().map(|tool| format!("{} mm", tool.diameter)).collect();
        let there = match diameters.as_slice() {
            [] => format!("`{}` has no tool for {}", machine.name, sheet.work),
            _ => format!("`{}` has {} for {}", machine.name, diameters.join(", "), sheet.work),
        };
        let help = match sheet.work {
            Work::Board if tools.first().is_some_and(|tool| tool.diameter > wanted) => {
                "fit a smaller bit and add it as a [[tool]], or make `hole` larger"
            }
            Work::Board if !machine.speech.arcs => {
                "fit a bit of that diameter and add it as a [[tool]]; boring with a smaller one needs arcs = true"
            }
            Work::Board => {
                "fit a bit of that diameter, or one over half of it to bore with, and add it as a [[tool]]"
            }
            _ => {
                "fit a toothed cutter of that diameter and add it as a [[tool]] with rotation = \"reverse\", or write work = \"mark\" in [foam]"
            }
        };
        Err(vec![
            self.at_machine(format!("no tool makes a hole of {wanted} mm: {there}")).help(help),
        ])
    }

    /// A hole with a clamp over it, or one that the tool's holder would strike, cannot be drilled in
    /// this set-up.
    fn refuse_under_clamps(
        &self,
        sheet: &HoleSheet,
        method: &Method,
    ) -> Result<(), Vec<Diagnostic>> {
        let corner = self.machine.bed.work_at;
        let holder = self.machine.spindle.as_ref().map_or(0.0, |spindle| spindle.holder) / 2.0;
        let holder = holder + method.circle.map_or(0.0, mm);
        let lowest = method.tool.reach - mm(method.depth);
        let under = |at: [f64; 2]| {
            self.machine.keep_clear.iter().any(|clamp| {
                let above = lowest + sheet.thickness - clamp.height;
                let wide = if above < super::CLEARANCE { holder } else { 0.0 };
                let reach = wide.max(sheet.hole / 2.0) + super::CLEARANCE;
                let beside = |axis: usize, side: [f64; 2]| {
                    let place = at[axis] + corner[axis];
                    place + reach > side[0] && place - reach < side[1]
                };
                beside(0, clamp.x) && beside(1, clamp.y)
            })
        };
        let names: Vec<String> = sheet
            .places
            .iter()
            .filter(|(_, at)| under([at.x, at.y]))
            .map(|(name, _)| name.to_string())
            .collect();
        if names.is_empty() {
            return Ok(());
        }
        Err(vec![
            self.at_machine(format!(
                "a clamp of `{}` stands in the way of {} hole{}: {}",
                self.machine.name,
                self.work,
                if names.len() == 1 { "" } else { "s" },
                names.join(", ")
            ))
            .help("move the clamp and its [[keep_clear]] box, or move `work_at`"),
        ])
    }
}
