//! Holes: which tool, how deep, drilled or bored, and in which order.

use super::{Bench, Plan, Setup, Step, Travel, Um, mm, um};
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

/// A tool may be turned this much slower or faster than its file says where the spindle has no other speed.
const SLOWEST: f64 = 0.8;
const FASTEST: f64 = 1.1;

/// Holes nearer than this many least distances are neighbours.
const NEIGHBOUR: f64 = 1.1;
/// So many other holes come before a neighbour where foam is let rest: common practice, no source.
const OTHERS_BETWEEN: usize = 2;

/// How one hole of the sheet is made; all holes of a sheet are alike.
pub(super) struct Method<'t> {
    pub tool: &'t Tool,
    /// The tool's speed, held to what the spindle turns.
    pub rpm: f64,
    pub depth: Um,
    /// Radius of the tool's way round; `None` where it goes straight down.
    pub circle: Option<Um>,
}

impl Bench<'_> {
    pub(super) fn drill(&self, sheet: &HoleSheet) -> Result<Vec<Plan>, Vec<Diagnostic>> {
        let stack = self.stack(sheet);
        let travel_height = self.travel_height(stack);
        let method = self.method(sheet);
        let (travel_height, method) = match (travel_height, method) {
            (Ok(height), Ok(method)) => (height, method),
            (height, method) => {
                return Err([height.err(), method.err()].into_iter().flatten().flatten().collect());
            }
        };
        let setups = self.setups(sheet, &method)?;
        let plans = setups
            .into_iter()
            .map(|(setup, names)| self.drill_one(sheet, &method, travel_height, setup, &names));
        Ok(plans.collect())
    }

    /// The program of one set-up, for the holes with these places in the sheet's list.
    fn drill_one(
        &self,
        sheet: &HoleSheet,
        method: &Method,
        travel_height: Um,
        setup: Setup,
        holes: &[usize],
    ) -> Plan {
        let at: Vec<[Um; 2]> = holes
            .iter()
            .map(|&i| setup.lay.place([um(sheet.places[i].1.x), um(sheet.places[i].1.y)]))
            .collect();
        let places: Vec<[f64; 2]> = at.iter().map(|at| at.map(mm)).collect();
        let ordered = |cost, effort| {
            route::order(&places, Ends::Park(self.park()), cost, effort, &mut |_| {})
                .expect("a set-up has at least one hole, at a finite place")
        };
        let order = match (sheet.work, self.job.foam.rest) {
            (Work::Foam, Rest::BetweenNeighbours) => self.rested(&places),
            _ => ordered(self.cost(), self.effort),
        };
        let mm_bound = ordered(Cost::Distance, Effort::Quick).bound;
        let fit = Step::Fit {
            tool: method.tool.number,
            rpm: method.rpm,
            turn: method.tool.rotation,
            feed: um(method.tool.feed * (method.rpm / method.tool.rpm).min(1.0)),
        };
        // The first set-up's holes for the dowels go on into the spoilboard.
        let deeper = |name: Name| {
            let dowels = setup.dowels.filter(|_| setup.number == 1).into_iter().flatten();
            let depths = dowels.filter(|dowel| dowel.hole == name).map(|dowel| dowel.depth);
            depths.map(|depth| um(self.stack(sheet)) + depth).next()
        };
        let steps = order.sequence.iter().map(|&i| {
            let name = sheet.places[holes[i]].0;
            self.hole(method, name, at[i], deeper(name).unwrap_or(method.depth))
        });
        let steps = std::iter::once(fit).chain(steps).collect();
        let [width, height] = setup.lay.size();
        Plan {
            work: sheet.work,
            part: Part::WHOLE,
            lies: match sheet.up {
                FaceUp::Front if self.job.foam.bonded => "front face up, the foam glued on",
                FaceUp::Front => "front face up",
                FaceUp::Back => "back face up, so left and right are exchanged",
            },
            size: [width, height, um(self.stack(sheet))],
            setup,
            park: self.park().map(um),
            change_at: self.change_at(),
            travel_height,
            steps,
            travel: Travel {
                mm: order.travel,
                seconds: order.cost,
                seconds_bound: order.bound,
                mm_bound,
            },
        }
    }

    /// What lies under the tool: the sheet, and what it is glued to. Z0 is its top.
    pub(super) fn stack(&self, sheet: &HoleSheet) -> f64 {
        match self.job.foam.bonded {
            true => self.job.foam.thickness + self.job.board.thickness,
            false => sheet.thickness,
        }
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

    fn hole(&self, method: &Method, name: Name, at: [Um; 2], depth: Um) -> Step {
        let peck = um(method.tool.peck);
        match method.circle {
            None => Step::Drill { name, at, depth, peck },
            // A turn no deeper than a peck nor half the tool, so that the chips get out.
            Some(circle) => Step::Bore {
                name,
                at,
                depth,
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
        let on_board = sheet.work == Work::Foam && self.job.foam.bonded;
        let depth = match through {
            // The board it is glued to lies under it.
            true if on_board => sheet.thickness,
            true => self.stack(sheet) + tool.break_through,
            false => sheet.thickness - self.job.foam.leave.value,
        };
        let mut wrong = Vec::new();
        if self.job.foam.bonded && sheet.up == FaceUp::Back {
            wrong.push(
                Diagnostic::at(
                    self.job.foam.hole.span.clone(),
                    "foam glued to the board lies on top, and the board is to lie back up",
                )
                .help("write face_up = \"front\" in [board], or bonded = false"),
            );
        }
        if through && !on_board && tool.break_through > machine.bed.spoilboard {
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
        // A little slower with as much less feed cuts alike: each tooth takes what it took.
        let rpm = tool.rpm.clamp(spindle.rpm_min, spindle.rpm_max);
        if rpm < tool.rpm * SLOWEST || rpm > tool.rpm * FASTEST {
            wrong.push(
                self.at_machine(format!(
                    "tool {} ({}) wants {} rpm and the spindle of `{}` turns from {} to {}",
                    tool.number, tool.name, tool.rpm, machine.name, spindle.rpm_min, spindle.rpm_max
                ))
                .help("most large bits are too large for a fast spindle: bore with a smaller cutter, or give the tool a speed the spindle has"),
            );
        }
        if wrong.is_empty() {
            Ok(Method { tool, rpm, depth: um(depth), circle })
        } else {
            Err(wrong)
        }
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
        let may_bore = sheet.work == Work::Board;
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
}
