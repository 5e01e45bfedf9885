//! Which bits make a hole, one after the other, and in which order a program fits them.

use super::{Bench, Step, Um, um};
use crate::{
    diag::Diagnostic,
    job::FaceUp,
    layout::HoleSheet,
    machine::{Rotation, Spindle, Tool, Work},
};
use std::collections::{BTreeMap, VecDeque};

/// A bit this near the hole's diameter drills it, mm.
pub(super) const SAME_DIAMETER: f64 = 0.05;

/// A tool may be turned this much slower or faster than its file says where the spindle has no other speed.
const SLOWEST: f64 = 0.8;
const FASTEST: f64 = 1.1;

/// How holes that are alike are made: one pass after the other, the last of which makes the diameter.
pub(super) struct Method<'t> {
    pub passes: Vec<Pass<'t>>,
}

/// What one bit does to a hole.
pub(super) struct Pass<'t> {
    pub tool: &'t Tool,
    /// The tool's speed, held to what the spindle turns.
    pub rpm: f64,
    pub depth: Um,
    /// Radius of the tool's way round; `None` where it goes straight down.
    pub circle: Option<Um>,
    pub aim: Aim,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Aim {
    /// Only marks where the next bit starts.
    Spot,
    /// As deep as the hole is.
    Whole,
}

/// A tool, and the circle that it goes round on if it bores.
type Choice<'t> = (&'t Tool, Option<Um>);

impl Method<'_> {
    /// Numbers of its tools, in turn.
    pub fn chain(&self) -> Vec<u32> {
        self.passes.iter().map(|pass| pass.tool.number).collect()
    }

    /// The passes that go as deep as the hole is.
    pub fn whole(&self) -> impl Iterator<Item = &Pass<'_>> {
        self.passes.iter().filter(|pass| pass.aim == Aim::Whole)
    }
}

/// The shortest sequence of tools in which every chain is found, its tools in turn: fewer changes cannot
/// be. Searched breadth first over how far each chain has come.
pub(super) fn fits(chains: &[Vec<u32>]) -> Vec<u32> {
    let start = vec![0; chains.len()];
    let mut came_from: BTreeMap<Vec<usize>, Option<(Vec<usize>, u32)>> =
        BTreeMap::from([(start.clone(), None)]);
    let mut queue = VecDeque::from([start]);
    while let Some(state) = queue.pop_front() {
        let mut next: Vec<u32> = chains
            .iter()
            .zip(&state)
            .filter_map(|(chain, &done)| chain.get(done).copied())
            .collect();
        if next.is_empty() {
            let (mut here, mut fitted) = (state, Vec::new());
            while let Some((before, tool)) = came_from[&here].clone() {
                fitted.push(tool);
                here = before;
            }
            fitted.reverse();
            return fitted;
        }
        next.dedup();
        for tool in next {
            let on = |(chain, done): (&Vec<u32>, &usize)| {
                done + usize::from(chain.get(*done) == Some(&tool))
            };
            let after: Vec<usize> = chains.iter().zip(&state).map(on).collect();
            if !came_from.contains_key(&after) {
                came_from.insert(after.clone(), Some((state.clone(), tool)));
                queue.push_back(after);
            }
        }
    }
    unreachable!("each tool that is fitted brings a chain on")
}

/// A tool in the spindle, turning so fast.
pub(super) fn fit(tool: &Tool, rpm: f64) -> Step {
    let feed = um(tool.feed * (rpm / tool.rpm).min(1.0));
    Step::Fit { tool: tool.number, rpm, turn: tool.rotation, feed }
}

impl Bench<'_> {
    /// Chooses the bits for holes of this diameter, mm, and refuses what they cannot do.
    pub(super) fn method(
        &self,
        sheet: &HoleSheet,
        wanted: f64,
    ) -> Result<Method<'_>, Vec<Diagnostic>> {
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
        if self.job.foam.bonded && sheet.up == FaceUp::Back {
            return Err(vec![
                Diagnostic::at(
                    self.job.foam.hole.span.clone(),
                    "foam glued to the board lies on top, and the board is to lie back up",
                )
                .help("write face_up = \"front\" in [board], or bonded = false"),
            ]);
        }
        // The first that can do it; where none can, what is wrong with the one that suits best.
        let mut wrong = None;
        for choice in self.choices(sheet, wanted)? {
            match self.passes(sheet, spindle, choice) {
                Ok(passes) => return Ok(Method { passes }),
                Err(why) => wrong = wrong.or(Some(why)),
            }
        }
        Err(wrong.expect("where there is no choice, that is refused before"))
    }

    /// All passes up to the one that makes the diameter.
    fn passes(
        &self,
        sheet: &HoleSheet,
        spindle: &Spindle,
        (last, circle): Choice<'_>,
    ) -> Result<Vec<Pass<'_>>, Vec<Diagnostic>> {
        let tools = || self.tools(sheet.work);
        let of_number = |number: u32| tools().find(|tool| tool.number == number);
        let mut chain: Vec<(&Tool, Option<Um>, Aim)> = Vec::new();
        let last = of_number(last.number).expect("it was chosen among these");
        chain.push((last, circle, Aim::Whole));
        let mut first = last;
        // Each is thinner than the one that follows it, so this ends.
        while let Some(before) = first.follows.and_then(of_number) {
            chain.push((before, None, Aim::Whole));
            first = before;
        }
        let goes_straight = chain.last().is_some_and(|(_, circle, _)| circle.is_none());
        chain.extend(
            tools()
                .find(|tool| tool.spots.is_some() && goes_straight)
                .map(|tool| (tool, None, Aim::Spot)),
        );
        chain.reverse();
        let (mut passes, mut wrong) = (Vec::new(), Vec::new());
        for (tool, circle, aim) in chain {
            match self.pass(sheet, spindle, tool, circle, aim) {
                Ok(pass) => passes.push(pass),
                Err(why) => wrong.extend(why),
            }
        }
        if wrong.is_empty() { Ok(passes) } else { Err(wrong) }
    }

    fn pass<'t>(
        &self,
        sheet: &HoleSheet,
        spindle: &Spindle,
        tool: &'t Tool,
        circle: Option<Um>,
        aim: Aim,
    ) -> Result<Pass<'t>, Vec<Diagnostic>> {
        let machine = self.machine;
        let through = sheet.work != Work::Foam || self.job.foam.leave.value == 0.0;
        let on_board = sheet.work == Work::Foam && self.job.foam.bonded;
        let depth = match (aim, tool.spots) {
            (Aim::Spot, Some(depth)) => depth,
            // The board it is glued to lies under it.
            _ if through && on_board => sheet.thickness,
            _ if through => self.stack(sheet) + tool.break_through,
            _ => sheet.thickness - self.job.foam.leave.value,
        };
        let mut wrong = Vec::new();
        let whole = aim == Aim::Whole;
        if whole && through && !on_board && tool.break_through > machine.bed.spoilboard {
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
        let rpm = match self.speed(tool, spindle) {
            Ok(rpm) => rpm,
            Err(no) => {
                wrong.push(no);
                tool.rpm
            }
        };
        if wrong.is_empty() {
            Ok(Pass { tool, rpm, depth: um(depth), circle, aim })
        } else {
            Err(wrong)
        }
    }

    /// How fast a tool is turned: a little slower with as much less feed cuts alike, for each tooth takes what
    /// it took.
    pub(super) fn speed(&self, tool: &Tool, spindle: &Spindle) -> Result<f64, Diagnostic> {
        let rpm = tool.rpm.clamp(spindle.rpm_min, spindle.rpm_max);
        if rpm >= tool.rpm * SLOWEST && rpm <= tool.rpm * FASTEST {
            return Ok(rpm);
        }
        Err(self
            .at_machine(format!(
                "tool {} ({}) wants {} rpm and the spindle of `{}` turns from {} to {}",
                tool.number, tool.name, tool.rpm, self.machine.name, spindle.rpm_min, spindle.rpm_max
            ))
            .help("most large bits are too large for a fast spindle: bore with a smaller cutter, or give the tool a speed the spindle has"))
    }

    /// The tools for a work, in the order of the machine file.
    fn tools(&self, work: Work) -> impl Iterator<Item = &Tool> {
        let suits = move |tool: &&Tool| {
            tool.work.contains(&work) && (work != Work::Foam || tool.rotation == Rotation::Reverse)
        };
        self.machine.tools.iter().filter(suits)
    }

    /// Tools that end with this diameter, the best first: those of the hole's diameter, then smaller ones
    /// that leave no core when they go round, the largest first.
    fn choices(&self, sheet: &HoleSheet, wanted: f64) -> Result<Vec<Choice<'_>>, Vec<Diagnostic>> {
        let machine = self.machine;
        let mut tools: Vec<&Tool> =
            self.tools(sheet.work).filter(|tool| tool.spots.is_none()).collect();
        tools.sort_by(|a, b| a.diameter.total_cmp(&b.diameter));
        let drills =
            |tool: &&&Tool| tool.plunges && (tool.diameter - wanted).abs() <= SAME_DIAMETER;
        let bores = |tool: &&&Tool| {
            sheet.work == Work::Board
                && tool.sideways
                && tool.diameter < wanted
                && tool.diameter > wanted / 2.0
        };
        let round = |tool: &Tool| Some(um((wanted - tool.diameter) / 2.0));
        let drilled = tools.iter().filter(drills).map(|&tool| (tool, None));
        let bored = tools.iter().rev().filter(bores).map(|&tool| (tool, round(tool)));
        let choices: Vec<Choice> = drilled.chain(bored).collect();
        if !choices.is_empty() {
            return Ok(choices);
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
            self.at_machine(format!(
                "no tool makes a hole of {} mm: {there}",
                (wanted * 100.0).round() / 100.0
            ))
            .help(help),
        ])
    }
}
