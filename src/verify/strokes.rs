//! What a pen drew, held against the strokes of a plan.

use super::Objection;
use crate::{
    plan::{Plan, Step, Um, mm, um},
    sim::{Move, MoveKind, PenState},
};
use std::{collections::BTreeMap, ops::Bound};

/// Every point that is to be passed in the air is come to, one after the other. That nothing is touched
/// there follows from all contacts being planned.
pub(super) fn air(plan: &Plan, trace: &[Move], slack: Um, objections: &mut Vec<Objection>) {
    let mut moves = trace.iter().filter(|step| step.kind == MoveKind::Rapid);
    let points = plan.steps.iter().flat_map(|step| match step {
        Step::Air { points } => points.as_slice(),
        Step::Show { at, .. } => std::slice::from_ref(at),
        _ => &[],
    });
    for point in points {
        let there =
            |step: &Move| (0..2).all(|axis| (um(step.to[axis]) - point[axis]).abs() <= slack);
        if !moves.by_ref().any(there) {
            objections.push(Objection::StrokeMissing { from: point.map(mm) });
        }
    }
}

/// What the pen drew between going down and coming up.
pub(super) struct Run {
    pub line: u64,
    pub points: Vec<[f64; 2]>,
    /// Plans have straight strokes only.
    curved: bool,
}

pub(super) fn runs(trace: &[Move]) -> Vec<Run> {
    let mut runs: Vec<Run> = Vec::new();
    let mut down = false;
    for step in trace {
        let now = step.pen == Some(PenState::Down);
        if now && !down {
            runs.push(Run {
                line: step.line,
                points: vec![[step.from[0], step.from[1]]],
                curved: false,
            });
        }
        if let (true, Some(run)) = (now, runs.last_mut()) {
            run.curved |= step.arc.is_some();
            let to = [step.to[0], step.to[1]];
            if run.points.last() != Some(&to) {
                run.points.push(to);
            }
        }
        down = now;
    }
    runs
}

/// The strokes of a plan; either end finds them.
pub(super) struct Strokes<'a> {
    slack: Um,
    strokes: Vec<&'a [[Um; 2]]>,
    by_end: BTreeMap<[Um; 2], Vec<usize>>,
}

impl<'a> Strokes<'a> {
    pub fn planned(plan: &'a Plan, slack: Um) -> Self {
        let strokes: Vec<&[[Um; 2]]> = plan
            .steps
            .iter()
            .filter_map(|step| match step {
                Step::Stroke { points } => Some(points.as_slice()),
                _ => None,
            })
            .collect();
        let mut by_end: BTreeMap<[Um; 2], Vec<usize>> = BTreeMap::new();
        for (i, points) in strokes.iter().enumerate() {
            by_end.entry(points[0]).or_default().push(i);
            by_end.entry(points[points.len() - 1]).or_default().push(i);
        }
        Strokes { slack, strokes, by_end }
    }

    pub fn compare(&self, runs: &[Run], objections: &mut Vec<Objection>) {
        let mut drawn = vec![false; self.strokes.len()];
        for run in runs {
            let (line, from) = (run.line, run.points[0]);
            let alike = if run.curved { Vec::new() } else { self.alike(&run.points) };
            match alike.iter().find(|&&i| !drawn[i]) {
                Some(&i) => drawn[i] = true,
                None if alike.is_empty() => {
                    objections.push(Objection::UnplannedStroke { line, from })
                }
                None => objections.push(Objection::StrokeDoubled { line, from }),
            }
        }
        let missing = self.strokes.iter().zip(&drawn).filter(|&(_, &drawn)| !drawn);
        objections.extend(
            missing.map(|(points, _)| Objection::StrokeMissing { from: points[0].map(mm) }),
        );
    }

    /// The planned strokes that these points draw, in either direction.
    fn alike(&self, points: &[[f64; 2]]) -> Vec<usize> {
        let run: Vec<[Um; 2]> = points.iter().map(|p| p.map(um)).collect();
        let slack = self.slack;
        let near =
            |a: &[Um; 2], b: &[Um; 2]| (a[0] - b[0]).abs() <= slack && (a[1] - b[1]).abs() <= slack;
        let from = Bound::Included([run[0][0] - slack, Um::MIN]);
        let to = Bound::Included([run[0][0] + slack, Um::MAX]);
        let mut found: Vec<usize> = self
            .by_end
            .range((from, to))
            .filter(|(end, _)| near(end, &run[0]))
            .flat_map(|(_, strokes)| strokes.iter().copied())
            .filter(|&i| {
                let planned = self.strokes[i];
                let forward = || planned.iter().zip(&run).all(|(a, b)| near(a, b));
                let backward = || planned.iter().rev().zip(&run).all(|(a, b)| near(a, b));
                planned.len() == run.len() && (forward() || backward())
            })
            .collect();
        found.dedup();
        found
    }
}
