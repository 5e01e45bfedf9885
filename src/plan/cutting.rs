//! A board cut out of a larger sheet: other holes, engraved words, openings and the outline.
//!
//! The cutter's middle keeps its radius off the line: inside an opening, outside the outline. It goes round on a
//! spiral, deeper by no more than a bite each time round, and once more round at the bottom; over a tab it is lifted.
//! The outline comes last, so that the board lies still until everything else is done.

use super::{
    Bench, Leg, Plan, Round, Step, Um,
    bits::{self, SAME_DIAMETER},
    mm, um,
};
use crate::{
    diag::Diagnostic,
    job::{CutOut, CutWay},
    layout::{HoleSheet, OtherHole},
    machine::{Rotation, Tool, Work},
    outline::{self, Corner, Piece},
    route::Cost,
};

/// Shorter pieces of a way are left out, mm: offsetting leaves some.
const DOT: f64 = 0.01;
/// Fewer tabs do not hold a board: it turns about one. Common practice, no source.
const LEAST_TABS: u32 = 3;
/// No arc turns farther, radians: one quarter can be said by its radius as well.
const QUARTER: f64 = std::f64::consts::FRAC_PI_2;

impl Bench<'_> {
    /// The twine's holes, and in the same program whatever else is asked of the board.
    pub(super) fn board(&self, sheet: &HoleSheet) -> Result<Vec<Plan>, Vec<Diagnostic>> {
        let mut plans = self.drill(sheet)?;
        let asked = &self.job.board;
        if sheet.others.is_empty() && sheet.engraved.is_empty() && asked.cut_out.is_none() {
            return Ok(plans);
        }
        let [plan] = plans.as_mut_slice() else {
            return Err(vec![
                self.at_machine(format!(
                    "the board needs several set-ups on `{}`, and its outline, its openings, its other holes and its name are cut in one",
                    self.machine.name
                ))
                .help("name a larger machine, or leave `cut_out`, `engraved` and [[board.holes]] out"),
            ]);
        };
        let mut steps = Vec::new();
        let mut wrong = Vec::new();
        for part in [self.other_holes(sheet), self.engraving(sheet), self.cut_out(sheet)] {
            match part {
                Ok(more) => steps.extend(more),
                Err(more) => wrong.extend(more),
            }
        }
        let lay = plan.setup.lay;
        let mut placed: Vec<Step> = Vec::new();
        let mut fitted = plan.steps.iter().rev().find_map(|step| match step {
            Step::Fit { tool, .. } => Some(*tool),
            _ => None,
        });
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
                Step::Drill { name, at, depth, peck } => {
                    placed.push(Step::Drill { name, at: lay.place(at), depth, peck });
                }
                Step::Bore { name, at, depth, circle, per_turn } => {
                    placed.push(Step::Bore { name, at: lay.place(at), depth, circle, per_turn });
                }
                other => placed.push(other),
            }
        }
        wrong.extend(self.out_of_the_way(&placed, sheet));
        if !wrong.is_empty() {
            return Err(wrong);
        }
        // These come in one order only, so what they travel is also the least that they could.
        let (mm, seconds) = self.between(plan, &placed);
        plan.travel.mm += mm;
        plan.travel.mm_bound += mm;
        plan.travel.seconds += seconds;
        plan.travel.seconds_bound += seconds;
        plan.steps.extend(placed);
        Ok(plans)
    }

    /// The way through the air from the place of change through all steps to the park place.
    fn between(&self, plan: &Plan, steps: &[Step]) -> (f64, f64) {
        let mut here = plan.change_at;
        let mut sums = (0.0, 0.0);
        let mut go = |to: [Um; 2], from: [Um; 2]| {
            let [from, to] = [from, to].map(|p| p.map(mm));
            sums.0 += Cost::Distance.between(from, to);
            sums.1 += self.cost().between(from, to);
        };
        for step in steps {
            let (to, end) = match step {
                Step::Fit { .. } => (plan.change_at, plan.change_at),
                Step::Drill { at, .. } | Step::Bore { at, .. } => (*at, *at),
                Step::Cut { from, legs, .. } => {
                    (*from, legs.last().map_or(*from, |leg| [leg.to[0], leg.to[1]]))
                }
                _ => continue,
            };
            go(to, here);
            here = end;
        }
        go(plan.park, here);
        sums
    }

    /// Holes that are no button's, those of one tool together.
    fn other_holes(&self, sheet: &HoleSheet) -> Result<Vec<Step>, Vec<Diagnostic>> {
        let mut wrong = Vec::new();
        let mut made: Vec<(&Tool, Step)> = Vec::new();
        for (hole, asked) in sheet.others.iter().zip(&self.job.board.holes) {
            let step =
                self.tool_for_other(hole).and_then(|tool| self.other_hole(sheet, hole, tool));
            match step {
                Ok(step) => made.push(step),
                Err((message, help)) => {
                    wrong.push(Diagnostic::at(asked.diameter.span.clone(), message).help(help));
                }
            }
        }
        made.sort_by_key(|(tool, _)| tool.number);
        let mut steps = Vec::new();
        for group in made.chunk_by(|a, b| a.0.number == b.0.number) {
            match self.fitted(group[0].0) {
                Ok(fit) => steps.push(fit),
                Err(more) => wrong.push(more),
            }
            steps.extend(group.iter().map(|(_, step)| step.clone()));
        }
        if wrong.is_empty() { Ok(steps) } else { Err(wrong) }
    }

    fn other_hole<'t>(
        &self,
        sheet: &HoleSheet,
        hole: &OtherHole,
        tool: &'t Tool,
    ) -> Result<(&'t Tool, Step), (String, String)> {
        let depth = hole.depth.unwrap_or(sheet.thickness + tool.break_through);
        if depth > tool.reach {
            return Err((
                format!(
                    "the hole for the {} is {depth:.1} mm deep and tool {} ({}) reaches {} mm",
                    hole.reason, tool.number, tool.name, tool.reach
                ),
                "fit a longer tool and state its `reach`".to_string(),
            ));
        }
        let (at, depth, peck) = ([um(hole.at.x), um(hole.at.y)], um(depth), um(tool.peck));
        let name = hole.name;
        let step = match (hole.diameter - tool.diameter).abs() <= SAME_DIAMETER {
            true => Step::Drill { name, at, depth, peck },
            false => Step::Bore {
                name,
                at,
                depth,
                circle: um((hole.diameter - tool.diameter) / 2.0),
                per_turn: peck.min(um(tool.diameter / 2.0)),
            },
        };
        Ok((tool, step))
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

    fn fitted(&self, tool: &Tool) -> Result<Step, Diagnostic> {
        let spindle = self.machine.spindle.as_ref().expect("holes are drilled by a spindle");
        Ok(bits::fit(tool, self.speed(tool, spindle)?))
    }

    /// The engraved words, with the narrowest cutter.
    fn engraving(&self, sheet: &HoleSheet) -> Result<Vec<Step>, Vec<Diagnostic>> {
        if sheet.engraved.is_empty() {
            return Ok(Vec::new());
        }
        let cutters = self.cutters()?;
        let tool = cutters[cutters.len() - 1];
        let mut steps = vec![self.fitted(tool).map_err(|more| vec![more])?];
        let depth = um(sheet.engraved_depth);
        for stroke in &sheet.engraved {
            let at: Vec<[Um; 2]> = stroke.iter().map(|p| [um(p.x), um(p.y)]).collect();
            let down = Leg { to: [at[0][0], at[0][1], -depth], round: None };
            let along = at[1..].iter().map(|&[x, y]| Leg { to: [x, y, -depth], round: None });
            steps.push(Step::Cut {
                what: "the engraved words".to_string(),
                from: at[0],
                legs: std::iter::once(down).chain(along).collect(),
            });
        }
        Ok(steps)
    }

    /// The openings, then the outline.
    fn cut_out(&self, sheet: &HoleSheet) -> Result<Vec<Step>, Vec<Diagnostic>> {
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
        let mut steps = vec![self.fitted(tool).map_err(|more| vec![more])?];
        for opening in &sheet.openings {
            for way in outline::inset(opening, radius) {
                // Anticlockwise inside is climbing, for a cutter that turns clockwise.
                let way = match asked.cut {
                    CutWay::Climb => way,
                    CutWay::Conventional => outline::backwards(&way),
                };
                steps.push(spiral("an opening", &way, sheet.thickness, tool, asked));
            }
        }
        let mut ways = outline::inset(&sheet.edge, -radius);
        // Round a notch with a narrow mouth a second way closes.
        let (Some(way), true) = (ways.pop(), ways.is_empty()) else {
            return Err(vec![
                at(format!(
                    "a cutter of {} mm does not get into a notch of the outline",
                    tool.diameter
                ))
                .help("widen its mouth, or fit a narrower cutter"),
            ]);
        };
        let round: f64 = outline::pieces(&way).map(|piece| piece.length()).sum();
        let held = tabs(round, asked, tool.diameter);
        if held < asked.tabs.min(LEAST_TABS) {
            return Err(vec![
                at(format!(
                    "there is room for {held} tabs of {} mm on the way round, and the board would come loose under the cutter",
                    asked.tab_length
                ))
                .help("write a smaller tab_length"),
            ]);
        }
        let way = match asked.cut {
            CutWay::Climb => outline::backwards(&way),
            CutWay::Conventional => way,
        };
        steps.push(spiral("the outline", &way, sheet.thickness, tool, asked));
        Ok(steps)
    }

    /// Refuses a cut that the machine does not reach or that comes too near a clamp.
    fn out_of_the_way(&self, steps: &[Step], sheet: &HoleSheet) -> Vec<Diagnostic> {
        let bed = &self.machine.bed;
        let holder = self.machine.spindle.as_ref().map_or(0.0, |spindle| spindle.holder) / 2.0;
        let mut tool: Option<&Tool> = None;
        let mut wrong = Vec::new();
        for step in steps {
            let (places, deepest) = match step {
                Step::Fit { tool: number, .. } => {
                    tool = self.machine.tools.iter().find(|tool| tool.number == *number);
                    continue;
                }
                Step::Cut { from, legs, .. } => {
                    let ends = legs.iter().map(|leg| [leg.to[0], leg.to[1]]);
                    let deepest = legs.iter().map(|leg| -leg.to[2]).max().unwrap_or(0);
                    (std::iter::once(*from).chain(ends).collect::<Vec<_>>(), mm(deepest))
                }
                Step::Drill { at, depth, .. } | Step::Bore { at, depth, .. } => {
                    (vec![*at], mm(*depth))
                }
                _ => continue,
            };
            let Some(tool) = tool else { continue };
            let spot = places.iter().map(|at| [0, 1].map(|axis| mm(at[axis]) + bed.work_at[axis]));
            let beyond = |at: &[f64; 2]| {
                (0..2).any(|axis| at[axis] < 0.0 || at[axis] > [bed.x, bed.y][axis])
            };
            let in_the_way = |at: &[f64; 2]| {
                self.machine.keep_clear.iter().any(|clamp| {
                    // Where the tool is short its holder comes down beside the clamp as well.
                    let low =
                        tool.reach - deepest + sheet.thickness - clamp.height < super::CLEARANCE;
                    let wide = if low { holder } else { tool.diameter / 2.0 } + super::CLEARANCE;
                    (0..2).all(|axis| {
                        let side = [clamp.x, clamp.y][axis];
                        side[0] - wide < at[axis] && at[axis] < side[1] + wide
                    })
                })
            };
            let what = match step {
                Step::Cut { what, .. } => what.clone(),
                Step::Drill { name, .. } | Step::Bore { name, .. } => format!("hole {name}"),
                _ => continue,
            };
            let mut spots: Vec<[f64; 2]> = spot.collect();
            spots = between(&spots);
            if let Some([x, y]) = spots.iter().copied().find(beyond) {
                wrong.push(
                    self.at_machine(format!("to cut {what} the tool would have to go to X {x:.1}, Y {y:.1} of the bed of `{}`, which it does not reach", self.machine.name))
                        .help("name a larger machine, or write a smaller `margin`"),
                );
            } else if let Some([x, y]) = spots.iter().copied().find(in_the_way) {
                wrong.push(
                    self.at_machine(format!("a clamp of `{}` stands in the way of {what} at X {x:.1}, Y {y:.1} of the bed", self.machine.name))
                        .help("move the clamp and its [[keep_clear]] box, or write a larger `margin`"),
                );
            }
        }
        wrong
    }
}

/// Places along a way of straight legs, so near each other that no clamp lies between.
fn between(spots: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let mut all = spots.get(..1).map_or(Vec::new(), <[_]>::to_vec);
    for pair in spots.windows(2) {
        let way = [pair[1][0] - pair[0][0], pair[1][1] - pair[0][1]];
        let steps = (way[0].abs().max(way[1].abs()) / super::CLEARANCE).ceil().max(1.0) as u32;
        all.extend((1..=steps).map(|i| {
            let share = f64::from(i) / f64::from(steps);
            [0, 1].map(|axis| pair[0][axis] + way[axis] * share)
        }));
    }
    all
}

/// A piece of the way with what lies before it, mm along the way.
struct Along {
    piece: Piece,
    length: f64,
    tab: bool,
}

/// Round and round a closed way, down to `thickness` and what the tool breaks through by.
fn spiral(what: &str, way: &[Corner], thickness: f64, tool: &Tool, asked: &CutOut) -> Step {
    let pieces = parted(way, asked, tool.diameter);
    let whole: f64 = pieces.iter().map(|along| along.length).sum();
    let depth = thickness + tool.break_through;
    let tab = if asked.tabs > 0 { thickness - asked.tab_height.value } else { depth };
    let bite = tool.peck.min(tool.diameter / 2.0);
    let turns = (depth / bite - 1e-9).ceil().max(1.0);
    let from = place(pieces[0].piece.from);
    let mut legs: Vec<Leg> = Vec::new();
    let mut here = [from[0], from[1], 0];
    let mut go = |to: [Um; 3], round: Option<([Um; 2], Round)>| {
        if to != here {
            legs.push(Leg { to, round });
            here = to;
        }
    };
    for turn in 0..=turns as u32 {
        let mut done = 0.0;
        let height = |done: f64| {
            let turned = (f64::from(turn) + done / whole).min(turns);
            -depth * turned / turns
        };
        for along in &pieces {
            let [start, end] = [done, done + along.length].map(height).map(|z| match along.tab {
                true => um(z.max(-tab)),
                false => um(z),
            });
            let [x, y] = place(along.piece.from);
            // Up onto a tab, and down behind it.
            go([x, y, start], None);
            let [x, y] = place(along.piece.to);
            let round = (!along.piece.is_straight()).then(|| {
                let way =
                    if along.piece.bulge > 0.0 { Round::Anticlockwise } else { Round::Clockwise };
                (place(along.piece.centre()), way)
            });
            go([x, y, end], round);
            done += along.length;
        }
    }
    Step::Cut { what: what.to_string(), from, legs }
}

fn place(at: [f64; 2]) -> [Um; 2] {
    at.map(um)
}

/// How many tabs a way of this length has room for, of those that are asked for.
fn tabs(whole: f64, asked: &CutOut, diameter: f64) -> u32 {
    let wide = asked.tab_length + diameter;
    match f64::from(asked.tabs) * wide < whole {
        true => asked.tabs,
        false => (whole / (2.0 * wide)) as u32,
    }
}

/// The way in pieces of at most a quarter circle, each wholly over a tab or wholly beside; it begins in the middle of
/// the longest straight piece. Tabs stand evenly, the first half a space from the beginning.
fn parted(way: &[Corner], asked: &CutOut, diameter: f64) -> Vec<Along> {
    let mut pieces: Vec<Piece> =
        outline::pieces(way).filter(|piece| piece.length() > DOT).collect();
    // What was left out leaves a gap that is closed here.
    let n = pieces.len();
    for i in 0..n {
        let from = pieces[(i + n - 1) % n].to;
        pieces[i].from = from;
    }
    let longest = (0..n)
        .max_by(|&a, &b| {
            let rank = |i: usize| (pieces[i].is_straight(), pieces[i].length());
            rank(a).0.cmp(&rank(b).0).then(rank(a).1.total_cmp(&rank(b).1))
        })
        .expect("a way has pieces");
    pieces.rotate_left(longest);
    let [first, second] = pieces[0].parted(0.5);
    pieces[0] = second;
    pieces.push(first);
    let whole: f64 = pieces.iter().map(Piece::length).sum();
    // The cutter takes its own width from a tab's two ends.
    let wide = asked.tab_length + diameter;
    let tabs = tabs(whole, asked, diameter);
    let space = whole / f64::from(tabs.max(1));
    let mut marks: Vec<f64> = Vec::new();
    for tab in 0..tabs {
        let middle = (f64::from(tab) + 0.5) * space;
        marks.extend([middle - wide / 2.0, middle + wide / 2.0]);
    }
    let mut all = Vec::new();
    let mut done = 0.0;
    for piece in pieces {
        let length = piece.length();
        let mut cuts: Vec<f64> = marks
            .iter()
            .filter(|mark| **mark > done + DOT && **mark < done + length - DOT)
            .map(|mark| (mark - done) / length)
            .collect();
        let quarters = (piece.turn().abs() / QUARTER - 1e-9).ceil().max(1.0);
        cuts.extend((1..quarters as u32).map(|i| f64::from(i) / quarters));
        cuts.push(1.0);
        cuts.sort_by(f64::total_cmp);
        cuts.dedup_by(|a, b| (*a - *b).abs() * length < DOT);
        let mut rest = piece;
        let mut from = 0.0;
        for cut in cuts {
            let here = match cut >= 1.0 {
                true => rest,
                false => {
                    let [here, left] = rest.parted((cut - from) / (1.0 - from));
                    rest = left;
                    here
                }
            };
            let middle = done + (from + cut) / 2.0 * length;
            let before = marks.iter().filter(|mark| **mark < middle).count();
            all.push(Along { piece: here, length: here.length(), tab: before % 2 == 1 });
            from = cut;
        }
        done += length;
    }
    all
}
