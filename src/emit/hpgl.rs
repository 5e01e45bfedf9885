//! A plan as HP-GL/2, for plotters that read nothing else: `IN; SP1; PU x,y; PD x,y,…; PU; SP0;`.
//!
//! One instruction a line, absolute places in whole plotter units of 1/40 mm, words for people in `CO`.

use super::gcode::{Head, head_lines, plain};
use crate::{
    machine::{Comments, Machine},
    plan::{Plan, Step, Um},
};
use std::fmt::Write;

/// Plotter units are 25 µm.
const UNIT: Um = 25;

/// The program's text, lines ended by a line feed.
pub fn write(plan: &Plan, machine: &Machine, head: &Head) -> String {
    let mut text = String::from("IN;\n");
    if machine.speech.comments != Comments::None {
        for line in head_lines(plan, machine, head) {
            let _ = writeln!(text, "CO\"{}\";", plain(&line).replace('"', "'"));
        }
    }
    let pen = machine.pen.as_ref().expect("a plan draws with a pen");
    text.push_str("SP1;\nPA;\n");
    // Whole centimetres a second, rounded down: nothing is drawn faster than the pen's file says.
    let speed = (pen.speed / 600.0).floor().max(1.0);
    let _ = writeln!(text, "VS{speed};");
    for step in &plan.steps {
        // One point a line keeps every line short.
        let (word, points) = match step {
            Step::Stroke { points } => ("PD", points),
            Step::Air { points } => ("PU", points),
            _ => unreachable!("a plotter is planned strokes and nothing else"),
        };
        let _ = writeln!(text, "PU{};", place(points[0]));
        for &point in &points[1..] {
            let _ = writeln!(text, "{word}{};", place(point));
        }
    }
    let _ = writeln!(text, "PU;\nPU{};\nSP0;", place(plan.park));
    text
}

/// The nearest plotter units.
fn place(at: [Um; 2]) -> String {
    let [x, y] = at.map(|um| (2 * um + UNIT).div_euclid(2 * UNIT));
    format!("{x},{y}")
}
