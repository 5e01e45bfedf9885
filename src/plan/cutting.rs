//! What is asked of a board beside its twine's holes: other holes, engraved words, openings and the outline.
//!
//! The cutter's middle keeps its radius off the line: inside an opening, outside the outline. The outline comes last in its
//! set-up, so that the board lies still until everything else is done. Where the board needs several set-ups, a hole and
//! the words are each made in one of them, and a way round is parted among those that reach it.

use super::{
    Bench, CLEARANCE, Leg, Plan, Step, Um,
    bits::{self, Aim, Method, Pass, SAME_DIAMETER},
    laying::SetupOf,
    mm,
    reach::Place,
    um,
    ways::{self, Way},
};
use crate::{
    diag::Diagnostic,
    job::CutWay,
    layout::{Edge, HoleSheet, Name, OtherHole},
    machine::{Rotation, Tool, Work},
    outline::{self, Corner},
    route::Cost,
};
use std::fmt;

/// Fewer tabs do not hold a board: it turns about one. Common practice, no source.
const LEAST_TABS: u32 = 3;
/// In an inside corner wood is left no farther from the cut than this, mm: common practice, no source.
const CORNER: f64 = 10.0;
/// How finely the edge is looked at, mm.
const LOOK: f64 = 2.0;

/// All of it.
#[derive(Default)]
pub(super) struct Cutting<'t> {
    /// Holes that are no button's.
    pub holes: Vec<OtherWay<'t>>,
    /// In the order in which they are done, after all holes.
    tasks: Vec<Task<'t>>,
}

/// How a hole that is no button's is made, and where on the sheet.
pub(super) struct OtherWay<'t> {
    pub name: Name,
    pub at: [Um; 2],
    pub method: Method<'t>,
}

struct Task<'t> {
    tool: &'t Tool,
    fit: Step,
    what: What,
}

enum What {
    Words(Vec<Step>),
    Way(Way),
}

/// What lies at a place, in words.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Thing {
    Hole(Name),
    Words,
    /// An opening or the outline.
    Way(&'static str),
}

impl fmt::Display for Thing {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        match self {
            Thing::Hole(name) => write!(f, "hole {name}"),
            Thing::Words => write!(f, "the engraved words"),
            Thing::Way(what) => write!(f, "{what}"),
        }
    }
}

impl What {
    fn thing(&self) -> Thing {
        match self {
            What::Words(_) => Thing::Words,
            What::Way(way) => way.what,
        }
    }

    /// The boxes that the tool's middle keeps to, one for each place.
    fn boxes(&self) -> Vec<[[Um; 2]; 2]> {
        match self {
            What::Words(strokes) => {
                let places = strokes.iter().flat_map(places);
                let least = |a: [Um; 2], b: [Um; 2]| [a[0].min(b[0]), a[1].min(b[1])];
                let most = |a: [Um; 2], b: [Um; 2]| [a[0].max(b[0]), a[1].max(b[1])];
                let both = places.map(|at| [at, at]);
                vec![both.reduce(|a, b| [least(a[0], b[0]), most(a[1], b[1])]).expect("strokes")]
            }
            What::Way(way) => (0..way.stretches()).map(|i| way.bounds(i)).collect(),
        }
    }

    /// How deep, mm.
    fn depth(&self) -> f64 {
        let lowest = |steps: &[Step]| steps.iter().map(depth).max().unwrap_or(0);
        mm(match self {
            What::Words(strokes) => lowest(strokes),
            What::Way(way) => depth(&way.round()),
        })
    }
}

const OUTLINE: Thing = Thing::Way("the outline");
const OPENING: Thing = Thing::Way("an opening");

pub(super) fn is_of_the_outline(step: &Step) -> bool {
    matches!(step, Step::Cut { what: OUTLINE, .. })
}

fn depth(step: &Step) -> Um {
    match step {
        Step::Cut { legs, .. } => legs.iter().map(|leg| -leg.to[2]).max().unwrap_or(0),
        _ => 0,
    }
}

/// Where a step begins and ends.
fn ends(step: &Step) -> Option<[[Um; 2]; 2]> {
    match step {
        Step::Drill { at, .. } | Step::Bore { at, .. } => Some([*at, *at]),
        Step::Cut { from, legs, .. } => {
            Some([*from, legs.last().map_or(*from, |leg| [leg.to[0], leg.to[1]])])
        }
        _ => None,
    }
}

fn places(step: &Step) -> Vec<[Um; 2]> {
    match step {
        Step::Cut { from, legs, .. } => {
            std::iter::once(*from).chain(legs.iter().map(|leg| [leg.to[0], leg.to[1]])).collect()
        }
        _ => Vec::new(),
    }
}

impl Cutting<'_> {
    pub fn is_empty(&self) -> bool {
        self.holes.is_empty() && self.tasks.is_empty()
    }

    /// What lies at each place, in the order of [`Bench::cutting_places`].
    pub fn things(&self) -> Vec<Thing> {
        let holes = self.holes.iter().map(|hole| Thing::Hole(hole.name));
        let of_task = |task: &Task| vec![task.what.thing(); task.what.boxes().len()];
        holes.chain(self.tasks.iter().flat_map(of_task)).collect()
    }

    /// The steps of each set-up after its holes, places as the sheet has them.
    pub fn steps(&self, setups: &[SetupOf]) -> Vec<Vec<Step>> {
        let mut steps: Vec<Vec<Step>> = vec![Vec::new(); setups.len()];
        let mut first = self.holes.len();
        for task in &self.tasks {
            let count = task.what.boxes().len();
            let here = first..first + count;
            first += count;
            let own = |k: &usize| setups[*k].made[here.start];
            let parts: Vec<(usize, Vec<Step>)> = match &task.what {
                What::Words(strokes) => {
                    (0..setups.len()).filter(own).map(|k| (k, strokes.clone())).collect()
                }
                What::Way(way) => {
                    let reached: Vec<&[bool]> =
                        setups.iter().map(|of| &of.reached[here.clone()]).collect();
                    let parts = ways::shared_out(&reached);
                    let steps = |part: ways::Part| match parts.len() {
                        1 => vec![way.round()],
                        _ => way.part(part),
                    };
                    parts.iter().map(|(k, part)| (*k, steps(*part))).collect()
                }
            };
            for (k, more) in parts {
                steps[k].push(task.fit.clone());
                steps[k].extend(more);
            }
        }
        steps
    }
}

impl Bench<'_> {
    /// What the board is asked for beside its twine's holes. Errors point into the job file.
    pub(super) fn cutting(&self, sheet: &HoleSheet) -> Result<Cutting<'_>, Vec<Diagnostic>> {
        let nothing = sheet.others.is_empty()
            && sheet.engraved.is_empty()
            && self.job.board.cut_out.is_none();
        if sheet.work != Work::Board || nothing {
            return Ok(Cutting::default());
        }
        if self.job.foam.bonded {
            return Err(vec![
                self.at_machine(
                    "the board is drilled under the foam that is glued to it, and a cutter cannot cut it through the foam".to_string(),
                )
                .help("write bonded = false in [foam], or leave `cut_out`, `engraved` and [[board.holes]] out"),
            ]);
        }
        match (self.other_holes(sheet), self.engraving(sheet), self.cut_out(sheet)) {
            (Ok(holes), Ok(words), Ok(ways)) => {
                Ok(Cutting { holes, tasks: words.into_iter().chain(ways).collect() })
            }
            (holes, words, ways) => Err([holes.err(), words.err(), ways.err()]
                .into_iter()
                .flatten()
                .flatten()
                .collect()),
        }
    }

    /// Refuses a board that would come loose between one set-up and the next.
    pub(super) fn held_between(&self, setups: usize) -> Result<(), Vec<Diagnostic>> {
        match &self.job.board.cut_out {
            Some(asked) if setups > 1 && asked.tabs < LEAST_TABS => Err(vec![
                Diagnostic::at(
                    asked.span.clone(),
                    format!(
                        "the board needs several set-ups on `{}`, and with {} tabs it would lie loose in its sheet between them",
                        self.machine.name, asked.tabs
                    ),
                )
                .help(format!("write tabs = {LEAST_TABS} or more, or name a larger machine")),
            ]),
            _ => Ok(()),
        }
    }

    /// Its places: one for each hole and for the words, many for a way.
    pub(super) fn cutting_places(&self, sheet: &HoleSheet, cutting: &Cutting) -> Vec<Place> {
        let holder = self.machine.spindle.as_ref().map_or(0.0, |spindle| spindle.holder) / 2.0;
        // Where a tool is short its holder comes down beside the clamps as well.
        let beside = |tool: &Tool, depth: f64| -> Vec<Um> {
            let low = tool.reach - depth + sheet.thickness;
            let keeps = |height: f64| {
                let holder = if low - height < CLEARANCE { holder } else { 0.0 };
                um(holder.max(tool.diameter / 2.0) + CLEARANCE)
            };
            self.machine.keep_clear.iter().map(|clamp| keeps(clamp.height)).collect()
        };
        let hole = |hole: &OtherWay| {
            let pass = &hole.method.passes[0];
            let beside = beside(pass.tool, mm(pass.depth));
            Place::round(hole.at, pass.circle.unwrap_or(0), beside, um(pass.tool.diameter))
        };
        let task = |task: &Task| {
            let beside = beside(task.tool, task.what.depth());
            let wide = um(task.tool.diameter);
            let place =
                |[low, high]: [[Um; 2]; 2]| Place { low, high, beside: beside.clone(), wide };
            task.what.boxes().into_iter().map(place).collect::<Vec<Place>>()
        };
        cutting.holes.iter().map(hole).chain(cutting.tasks.iter().flat_map(task)).collect()
    }

    /// Puts steps at the end of a program: bits are fitted where they are not yet, places become those of the bed.
    pub(super) fn go_on(&self, plan: &mut Plan, steps: Vec<Step>) {
        let lay = plan.setup.lay;
        let mut fitted = plan.fitted().last().copied();
        let mut placed: Vec<Step> = Vec::new();
        for step in steps {
            match step {
                Step::Fit { tool, .. } if fitted == Some(tool) => {}
                Step::Fit { tool, .. } => {
                    fitted = Some(tool);
                    placed.push(step);
                }
                Step::Cut { what, from, legs } => {
                    let leg = |leg: Leg| {
                        let [x, y] = lay.place([leg.to[0], leg.to[1]]);
                        let round = leg.round.map(|(centre, way)| (lay.place(centre), way));
                        Leg { to: [x, y, leg.to[2]], round }
                    };
                    let legs = legs.into_iter().map(leg).collect();
                    placed.push(Step::Cut { what, from: lay.place(from), legs });
                }
                other => placed.push(other),
            }
        }
        self.add_travel(plan, &placed);
        plan.steps.extend(placed);
    }

    /// The way through the air from the last hole through all steps to the park place, in place of the way from that
    /// hole straight there. These steps come in one order only, so what they travel is also the least that they could;
    /// the way to the first of them is in the bound already, the way from the park place to the change is not: without them
    /// it would have stood for the last way back.
    fn add_travel(&self, plan: &mut Plan, steps: &[Step]) {
        let last = plan.steps.iter().rev().find_map(ends);
        let start = last.map_or(plan.change_at, |[_, end]| end);
        let least = |cost: Cost| {
            let between = |from: [Um; 2], to: [Um; 2]| cost.between(from.map(mm), to.map(mm));
            let mut here = start;
            let (mut all, mut after) =
                (-between(start, plan.park), between(plan.park, plan.change_at));
            let mut begun = false;
            for step in steps {
                let [to, end] = match step {
                    Step::Fit { .. } => [plan.change_at; 2],
                    _ => ends(step).expect("all others are holes and cuts"),
                };
                all += between(here, to);
                after += if begun { between(here, to) } else { 0.0 };
                (here, begun) = (end, true);
            }
            (all + between(here, plan.park), after + between(here, plan.park))
        };
        let ((mm, mm_bound), (seconds, seconds_bound)) =
            (least(Cost::Distance), least(self.cost()));
        if !steps.is_empty() {
            plan.travel.mm += mm;
            plan.travel.mm_bound += mm_bound;
            plan.travel.seconds += seconds;
            plan.travel.seconds_bound += seconds_bound;
        }
    }

    fn other_holes(&self, sheet: &HoleSheet) -> Result<Vec<OtherWay<'_>>, Vec<Diagnostic>> {
        let mut wrong = Vec::new();
        let mut holes = Vec::new();
        for (hole, asked) in sheet.others.iter().zip(&self.job.board.holes) {
            let tool = self
                .tool_for_other(hole)
                .and_then(|tool| Ok((tool, self.depth_of_other(sheet, hole, tool)?)));
            match tool {
                Ok((tool, depth)) => match self.rpm(tool) {
                    Ok(rpm) => {
                        let circle = (hole.diameter - tool.diameter) / 2.0;
                        let circle = (2.0 * circle.abs() > SAME_DIAMETER).then(|| um(circle));
                        let pass = Pass { tool, rpm, depth: um(depth), circle, aim: Aim::Whole };
                        holes.push(OtherWay {
                            name: hole.name,
                            at: [um(hole.at.x), um(hole.at.y)],
                            method: Method { passes: vec![pass] },
                        });
                    }
                    Err(more) if wrong.contains(&more) => {}
                    Err(more) => wrong.push(more),
                },
                Err((message, help)) => {
                    wrong.push(Diagnostic::at(asked.diameter.span.clone(), message).help(help));
                }
            }
        }
        if wrong.is_empty() { Ok(holes) } else { Err(wrong) }
    }

    fn depth_of_other(
        &self,
        sheet: &HoleSheet,
        hole: &OtherHole,
        tool: &Tool,
    ) -> Result<f64, (String, String)> {
        let depth = hole.depth.unwrap_or(sheet.thickness + tool.break_through);
        if depth <= tool.reach {
            return Ok(depth);
        }
        Err((
            format!(
                "the hole for the {} is {depth:.1} mm deep and tool {} ({}) reaches {} mm",
                hole.reason, tool.number, tool.name, tool.reach
            ),
            "fit a longer tool and state its `reach`".to_string(),
        ))
    }

    /// A bit of the hole's diameter, or the largest cutter that leaves no core when it goes round.
    fn tool_for_other(&self, hole: &OtherHole) -> Result<&Tool, (String, String)> {
        let wanted = hole.diameter;
        let tools = || self.board_tools().filter(|tool| tool.plunges);
        let same = tools().find(|tool| (tool.diameter - wanted).abs() <= SAME_DIAMETER);
        let bores = tools()
            .filter(|tool| tool.sideways && tool.diameter < wanted && tool.diameter > wanted / 2.0)
            .max_by(|a, b| a.diameter.total_cmp(&b.diameter));
        same.or(bores).ok_or_else(|| {
            (
                format!("`{}` has no tool that makes a hole of {wanted} mm", self.machine.name),
                "fit a bit of that diameter, or a cutter over half of it, and add it as a [[tool]]"
                    .to_string(),
            )
        })
    }

    fn board_tools(&self) -> impl Iterator<Item = &Tool> {
        let forward =
            |tool: &&Tool| tool.work.contains(&Work::Board) && tool.rotation == Rotation::Forward;
        self.machine.tools.iter().filter(forward)
    }

    /// Tools that can be sunk into the board and cut sideways, the widest first.
    fn cutters(&self) -> Result<Vec<&Tool>, Vec<Diagnostic>> {
        let mut cutters: Vec<&Tool> =
            self.board_tools().filter(|tool| tool.sideways && tool.plunges).collect();
        cutters.sort_by(|a, b| b.diameter.total_cmp(&a.diameter));
        if cutters.is_empty() {
            return Err(vec![
                self.at_machine(format!("`{}` has no cutter that cuts the board sideways", self.machine.name))
                    .help("add a [[tool]] with work = [\"board\"] that can plunge and cut sideways, or leave `cut_out` and `engraved` out"),
            ]);
        }
        Ok(cutters)
    }

    fn rpm(&self, tool: &Tool) -> Result<f64, Diagnostic> {
        let spindle = self.machine.spindle.as_ref().expect("who has tools has a spindle");
        self.speed(tool, spindle)
    }

    fn fitted(&self, tool: &Tool) -> Result<Step, Diagnostic> {
        Ok(bits::fit(tool, self.rpm(tool)?))
    }

    /// The engraved words, with the narrowest cutter.
    fn engraving(&self, sheet: &HoleSheet) -> Result<Vec<Task<'_>>, Vec<Diagnostic>> {
        if sheet.engraved.is_empty() {
            return Ok(Vec::new());
        }
        let cutters = self.cutters()?;
        let tool = cutters[cutters.len() - 1];
        let fit = self.fitted(tool).map_err(|more| vec![more])?;
        let depth = um(sheet.engraved_depth);
        let strokes = sheet.engraved.iter().map(|stroke| {
            let at: Vec<[Um; 2]> = stroke.iter().map(|p| [um(p.x), um(p.y)]).collect();
            let down = Leg { to: [at[0][0], at[0][1], -depth], round: None };
            let along = at[1..].iter().map(|&[x, y]| Leg { to: [x, y, -depth], round: None });
            Step::Cut {
                what: Thing::Words,
                from: at[0],
                legs: std::iter::once(down).chain(along).collect(),
            }
        });
        Ok(vec![Task { tool, fit, what: What::Words(strokes.collect()) }])
    }

    /// The openings, then the outline.
    fn cut_out(&self, sheet: &HoleSheet) -> Result<Vec<Task<'_>>, Vec<Diagnostic>> {
        let Some(asked) = &self.job.board.cut_out else { return Ok(Vec::new()) };
        let at = |message: String| Diagnostic::at(asked.span.clone(), message);
        let cutters = self.cutters()?;
        let deep = |tool: &Tool| sheet.thickness + tool.break_through;
        let long = |tool: &&&Tool| {
            tool.reach >= deep(tool) && tool.break_through <= self.machine.bed.spoilboard
        };
        let fits = |tool: &&&Tool| {
            let narrow =
                |opening: &Vec<Corner>| outline::inset(opening, tool.diameter / 2.0).is_empty();
            !sheet.openings.iter().any(narrow)
        };
        let Some(tool) = cutters.iter().filter(long).find(fits) else {
            let all: Vec<String> = cutters
                .iter()
                .map(|tool| {
                    format!(
                        "tool {} ({} mm, reaches {} mm)",
                        tool.number, tool.diameter, tool.reach
                    )
                })
                .collect();
            return Err(vec![
                at(format!(
                    "no cutter of `{}` goes through {} mm of board and into every opening: {}",
                    self.machine.name,
                    sheet.thickness,
                    all.join(", ")
                ))
                .help("fit a longer or a narrower cutter and add it as a [[tool]]"),
            ]);
        };
        let radius = tool.diameter / 2.0;
        if asked.margin < tool.diameter {
            return Err(vec![
                at(format!(
                    "a margin of {} mm leaves nothing of the sheet outside a cutter of {} mm",
                    asked.margin, tool.diameter
                ))
                .help(format!("write margin = {} or more", (tool.diameter + 5.0).ceil())),
            ]);
        }
        let fit = self.fitted(tool).map_err(|more| vec![more])?;
        let way = |what: Thing, corners: &[Corner]| {
            let what = What::Way(Way::new(what, corners, sheet.thickness, tool, asked));
            Task { tool, fit: fit.clone(), what }
        };
        let mut tasks = Vec::new();
        for opening in &sheet.openings {
            for corners in outline::inset(opening, radius) {
                // Anticlockwise inside is climbing, for a cutter that turns clockwise.
                let corners = match asked.cut {
                    CutWay::Climb => corners,
                    CutWay::Conventional => outline::backwards(&corners),
                };
                tasks.push(way(OPENING, &corners));
            }
        }
        let no_notch = || {
            at(format!("a cutter of {} mm does not get into a notch of the outline", tool.diameter))
                .help("widen its mouth, or fit a narrower cutter")
        };
        let mut around = outline::inset(&sheet.edge, -radius);
        // Round a notch with a narrow mouth a second way closes.
        let (Some(corners), true) = (around.pop(), around.is_empty()) else {
            return Err(vec![no_notch()]);
        };
        // A slot closes without a trace.
        let missed = |at: [f64; 2]| outline::depth(&corners, at) > radius + CORNER;
        if sheet.edge_places(Edge::Outline, LOOK).into_iter().any(|(at, _)| missed(at)) {
            return Err(vec![no_notch()]);
        }
        let round: f64 = outline::pieces(&corners).map(|piece| piece.length()).sum();
        let held = ways::tabs(round, asked, tool.diameter);
        if held < asked.tabs.min(LEAST_TABS) {
            return Err(vec![
                at(format!(
                    "there is room for {held} tabs of {} mm on the way round, and the board would come loose under the cutter",
                    asked.tab_length
                ))
                .help("write a smaller tab_length"),
            ]);
        }
        let corners = match asked.cut {
            CutWay::Climb => outline::backwards(&corners),
            CutWay::Conventional => corners,
        };
        tasks.push(way(OUTLINE, &corners));
        Ok(tasks)
    }
}
