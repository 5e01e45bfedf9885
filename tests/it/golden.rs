//! Every demo through every stage, stored whole and looked at by a person when it changes.

use crate::demo::{Demo, demos};
use bradawl::plan::{Plan, Step, mm};
use std::fmt::Write;

/// A plan as a person would read it out.
fn readable(plan: &Plan) -> String {
    let mut text = String::new();
    let [x, y, thick] = plan.size.map(mm);
    let _ = writeln!(text, "{} {x} x {y} x {thick}, {}", plan.work, plan.lies);
    let setup = &plan.setup;
    if setup.of > 1 {
        let _ = writeln!(
            text,
            "set-up {} of {}, {:?}, corner at {:?}, over {:?}",
            setup.number,
            setup.of,
            setup.lay.turn,
            setup.lay.corner.map(mm),
            setup.over.map(mm)
        );
    }
    for dowel in setup.dowels.iter().flatten() {
        let _ = writeln!(text, "dowel in {} at {:?}", dowel.hole, dowel.at.map(mm));
    }
    let _ = writeln!(text, "park {:?}, travel at {}", plan.park.map(mm), mm(plan.travel_height));
    for step in &plan.steps {
        let _ = match step {
            Step::Fit { tool, rpm, turn, .. } => {
                writeln!(text, "fit tool {tool}, {rpm} rpm, {turn:?}")
            }
            Step::Drill { name, at, depth, peck } => {
                writeln!(
                    text,
                    "drill {name} at {:?}, {} deep, pecks of {}",
                    at.map(mm),
                    mm(*depth),
                    mm(*peck)
                )
            }
            Step::Bore { name, at, depth, circle, per_turn } => writeln!(
                text,
                "bore {name} at {:?}, {} deep, round on {}, {} a turn",
                at.map(mm),
                mm(*depth),
                mm(*circle),
                mm(*per_turn)
            ),
            Step::Cut { what, from, legs } => writeln!(
                text,
                "cut {what} from {:?} along {} legs, {} of them round, down to {}, last to {:?}",
                from.map(mm),
                legs.len(),
                legs.iter().filter(|leg| leg.round.is_some()).count(),
                legs.iter().map(|leg| mm(-leg.to[2])).fold(0.0, f64::max),
                legs[legs.len() - 1].to.map(mm)
            ),
            Step::Show { at, says } => writeln!(text, "show {:?}: {says}", at.map(mm)),
            Step::Air { points } => {
                writeln!(text, "air {:?}", points.iter().map(|p| p.map(mm)).collect::<Vec<_>>())
            }
            Step::Stroke { points } => {
                writeln!(text, "stroke {:?}", points.iter().map(|p| p.map(mm)).collect::<Vec<_>>())
            }
        };
    }
    text
}

#[test]
fn every_demo_is_planned_as_before() {
    for Demo { name, made, .. } in demos() {
        for program in &made.programs {
            insta::assert_snapshot!(
                format!("{name}-{}.plan", program.file.trim_end_matches(".nc")),
                readable(&program.plan)
            );
        }
    }
}

#[test]
fn every_demo_is_written_as_before() {
    for Demo { name, made, .. } in demos() {
        for program in &made.programs {
            insta::assert_snapshot!(format!("{name}-{}", program.file), program.verified.text());
        }
    }
}

#[test]
fn every_demo_is_reported_as_before() {
    for Demo { name, job, made } in demos() {
        let report = made.files[&format!("{}report.json", job.prefix)].clone();
        insta::assert_snapshot!(format!("{name}-report"), String::from_utf8(report).expect("text"));
    }
}
