//! Cuts along a way, held against the plan leg by leg.

use super::{Objection, distance, touches};
use crate::{
    gcode::Plane,
    machine::{Machine, Rotation},
    plan::{Leg, Plan, Round, Step, Thing, Um, mm, um},
    sim::{Arc, Move, MoveKind, Turning},
};
use std::ops::Range;

/// Arcs are held against each other by their middles as well: their centres say little where they are shallow.
const MIDDLE: f64 = 0.5;

struct Planned<'a> {
    what: Thing,
    from: [Um; 2],
    legs: &'a [Leg],
    tool: u32,
    turning: Turning,
}

/// Which moves of the trace make the planned cuts. A cut that is not made, or made twice, or with another tool is
/// objected to; what is made otherwise than planned is left for the holes to object to.
pub(super) fn compare(
    plan: &Plan,
    trace: &[Move],
    machine: &Machine,
    slack: Um,
    objections: &mut Vec<Objection>,
) -> Vec<Range<usize>> {
    let cuts = planned(plan);
    let mut made = vec![false; cuts.len()];
    let mut found = Vec::new();
    if cuts.is_empty() {
        return found;
    }
    for stay in stays(trace, machine) {
        let moves = &trace[stay.clone()];
        let chord_error = (!machine.speech.arcs).then(|| machine.speech.chord_error + mm(slack));
        let alike = |cut: &Planned| follows(moves, cut, slack, chord_error);
        let of_it: Vec<usize> = (0..cuts.len()).filter(|&i| alike(&cuts[i])).collect();
        let (Some(&first), line) = (of_it.first(), moves[0].line) else { continue };
        let cut = &cuts[first];
        match of_it.iter().find(|&&i| !made[i]) {
            Some(&i) => made[i] = true,
            None => objections.push(Objection::CutDoubled { what: cut.what.to_string(), line }),
        }
        if moves.iter().any(|step| step.tool != Some(cut.tool) || step.turning != cut.turning) {
            objections.push(Objection::CutTool { what: cut.what.to_string(), line });
        }
        found.push(stay);
    }
    let missing = cuts.iter().zip(&made).filter(|(_, made)| !**made);
    objections.extend(missing.map(|(cut, _)| Objection::CutMissing {
        what: cut.what.to_string(),
        from: cut.from.map(mm),
    }));
    found
}

/// The moves of each cut of the plan that is made, for the proof over all set-ups.
pub(super) fn made(plan: &Plan, trace: &[Move], machine: &Machine, slack: Um) -> Vec<Range<usize>> {
    compare(plan, trace, machine, slack, &mut Vec::new())
}

fn planned(plan: &Plan) -> Vec<Planned<'_>> {
    let mut fitted = None;
    let mut cuts = Vec::new();
    for step in &plan.steps {
        match step {
            Step::Fit { tool, turn, .. } => fitted = Some((*tool, *turn)),
            Step::Cut { what, from, legs } => {
                let (tool, turn) = fitted.expect("a plan fits a tool before it cuts");
                let turning = match turn {
                    Rotation::Forward => Turning::Forward,
                    Rotation::Reverse => Turning::Reverse,
                };
                cuts.push(Planned { what: *what, from: *from, legs, tool, turning });
            }
            _ => {}
        }
    }
    cuts
}

/// From where the tool first is in the work until it is back at the safe height.
fn stays(trace: &[Move], machine: &Machine) -> Vec<Range<usize>> {
    let mut stays = Vec::new();
    let mut from = None;
    for (i, step) in trace.iter().enumerate() {
        if touches(step) {
            from.get_or_insert(i);
        }
        if step.to[2] >= machine.motion.safe_height {
            stays.extend(from.take().map(|from| from..i + 1));
        }
    }
    stays.extend(from.map(|from| from..trace.len()));
    stays
}

/// Whether these moves go down at the cut's beginning, along every leg, and straight up.
fn follows(moves: &[Move], cut: &Planned, slack: Um, chord_error: Option<f64>) -> bool {
    let near = |a: [f64; 3], b: [Um; 3]| (0..3).all(|i| (um(a[i]) - b[i]).abs() <= slack);
    let mut here = [cut.from[0], cut.from[1], 0];
    if !near(moves[0].from, here) {
        return false;
    }
    let mut rest = moves.iter();
    for leg in cut.legs {
        let Some(step) = rest.next() else { return false };
        let fits = match (leg.round, chord_error) {
            (None, _) => step.kind == MoveKind::Feed && step.arc.is_none() && near(step.to, leg.to),
            (Some(round), None) => {
                near(step.to, leg.to) && is_arc(step, here, leg.to, round, slack)
            }
            (Some((centre, way)), Some(error)) => {
                let arc = Chords { from: here, to: leg.to, centre, way, slack, error };
                let mut step = step;
                loop {
                    if !arc.has(step) {
                        break false;
                    }
                    if near(step.to, leg.to) {
                        break true;
                    }
                    match rest.next() {
                        Some(next) => step = next,
                        None => break false,
                    }
                }
            }
        };
        if !fits {
            return false;
        }
        here = leg.to;
    }
    // What is left is the way up.
    rest.all(|step| {
        step.kind == MoveKind::Rapid
            && near([step.to[0], step.to[1], 0.0], [here[0], here[1], 0])
            && step.to[2] >= step.from[2]
    })
}

fn is_arc(
    step: &Move,
    from: [Um; 3],
    to: [Um; 3],
    (centre, way): ([Um; 2], Round),
    slack: Um,
) -> bool {
    let Some(arc) = &step.arc else { return false };
    let same_way = (arc.turned > 0.0) == (way == Round::Anticlockwise);
    let middle = half_way([step.from[0], step.from[1]], arc);
    let [from, to] = [from, to].map(|p| [mm(p[0]), mm(p[1])]);
    let centre = centre.map(mm);
    let wanted = at_share(from, centre, turn(from, to, centre), MIDDLE);
    arc.plane == Plane::Xy && same_way && um(distance(middle, wanted)) <= slack
}

/// Places along a move, from its beginning to its end and no farther apart than `step`, mm; its middle is one.
pub(super) fn places(of: &Move, step: f64) -> Vec<[f64; 2]> {
    let [from, to] = [of.from, of.to].map(|p| [p[0], p[1]]);
    let long = of.arc.as_ref().map_or(distance(from, to), |arc| arc.radius * arc.turned.abs());
    let steps = 2.0 * (long / 2.0 / step).ceil().max(1.0);
    let shares = (0..=steps as u32).map(|i| f64::from(i) / steps);
    shares
        .map(|share| match &of.arc {
            Some(arc) => at_share(from, arc.centre, arc.turned, share),
            None => [0, 1].map(|axis| from[axis] + share * (to[axis] - from[axis])),
        })
        .collect()
}

/// The middle of an arc that begins here.
fn half_way(from: [f64; 2], arc: &Arc) -> [f64; 2] {
    at_share(from, arc.centre, arc.turned, MIDDLE)
}

/// The angle from one place to another round a centre, by the shorter way.
fn turn(from: [f64; 2], to: [f64; 2], centre: [f64; 2]) -> f64 {
    let [a, b] = [from, to].map(|p| [p[0] - centre[0], p[1] - centre[1]]);
    libm::atan2(a[0] * b[1] - a[1] * b[0], a[0] * b[0] + a[1] * b[1])
}

pub(super) fn at_share(from: [f64; 2], centre: [f64; 2], turned: f64, share: f64) -> [f64; 2] {
    let (sin, cos) = libm::sincos(turned * share);
    let [x, y] = [from[0] - centre[0], from[1] - centre[1]];
    [centre[0] + x * cos - y * sin, centre[1] + x * sin + y * cos]
}

/// An arc that is written as chords.
struct Chords {
    from: [Um; 3],
    to: [Um; 3],
    centre: [Um; 2],
    way: Round,
    slack: Um,
    /// How far a chord may be from the arc, mm.
    error: f64,
}

impl Chords {
    /// Whether a move is a chord of it: straight, its ends on the arc, its middle near enough, onwards.
    fn has(&self, step: &Move) -> bool {
        let centre = self.centre.map(mm);
        let [begin, end] = [self.from, self.to].map(|p| [mm(p[0]), mm(p[1])]);
        let radius = distance(begin, centre);
        let [from, to] = [step.from, step.to].map(|p| [p[0], p[1]]);
        let on_it = |p: [f64; 2]| um((distance(p, centre) - radius).abs()) <= self.slack;
        let middle = [(from[0] + to[0]) / 2.0, (from[1] + to[1]) / 2.0];
        let whole = turn(begin, end, centre);
        let passed = |p: [f64; 2]| turn(begin, p, centre) / whole;
        let height = |share: f64| mm(self.from[2]) + share * mm(self.to[2] - self.from[2]);
        let onwards = turn(from, to, centre);
        step.kind == MoveKind::Feed
            && step.arc.is_none()
            && on_it(from)
            && on_it(to)
            && radius - distance(middle, centre) <= self.error
            && (onwards > 0.0) == (self.way == Round::Anticlockwise)
            && (-1e-3..=1.001).contains(&passed(to))
            && (step.to[2] - height(passed(to))).abs() <= 0.05
    }
}
