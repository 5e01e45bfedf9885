//! What a program does, in five lines that a person can hold against the sheet.

use super::{Ending, Rehearsal, tally::Times};
use crate::words::{count, decimal, duration};

/// Tools, places, bounds, time, where it starts and ends: one line each.
pub fn explain(rehearsal: &Rehearsal) -> String {
    let Rehearsal { tools, bounds, start, end, .. } = rehearsal;
    let tools = match tools.as_slice() {
        [] => "none".to_string(),
        tools => tools.iter().map(u32::to_string).collect::<Vec<_>>().join(", "),
    };
    let span = |axis: usize| format!("{} to {}", mm(bounds.min[axis]), mm(bounds.max[axis]));
    let place = |at: &[f64; 3]| format!("X{} Y{}", mm(at[0]), mm(at[1]));
    let ends = match rehearsal.ending {
        Ending::Stated | Ending::Fenced => "and ends",
        Ending::Missing => "and stops, without an end of program,",
        Ending::Refused => "and is refused",
    };
    let found = match rehearsal.faults.len() + rehearsal.unlisted as usize {
        0 => "no faults".to_string(),
        found => count(found, "fault", "faults"),
    };
    [
        format!("Found    {found}"),
        format!("Tools    {tools}"),
        format!("Places   {}", places(rehearsal)),
        format!("Reaches  X {}, Y {}, Z {} mm", span(0), span(1), span(2)),
        format!("Takes    {}", times(&rehearsal.time)),
        format!(
            "Starts   at {} {ends} at {} Z{} after {}",
            place(start),
            place(end),
            mm(end[2]),
            count(rehearsal.lines as usize, "line", "lines")
        ),
    ]
    .map(|line| line + "\n")
    .concat()
}

fn places(rehearsal: &Rehearsal) -> String {
    let mut said = Vec::new();
    if let Some([least, greatest]) = rehearsal.depths {
        let holes = count(rehearsal.holes as usize, "hole", "holes");
        said.push(if mm(least) == mm(greatest) {
            format!("{holes}, {} mm deep", mm(least))
        } else {
            format!("{holes}, {} to {} mm deep", mm(least), mm(greatest))
        });
    }
    if rehearsal.cuts > 0 {
        said.push(count(rehearsal.cuts as usize, "sideways cut", "sideways cuts"));
    }
    if rehearsal.strokes > 0 {
        said.push(count(rehearsal.strokes as usize, "pen stroke", "pen strokes"));
    }
    if said.is_empty() { "the work is not touched".to_string() } else { said.join("; ") }
}

fn times(time: &Times) -> String {
    let parts = [
        ("travel", time.rapid),
        ("cutting", time.feed),
        ("plunging", time.plunge),
        ("waiting", time.dwell),
        ("spindle", time.spin_up),
        ("pen", time.pen_settle),
        ("tool changes", time.tool_change),
    ];
    let parts: Vec<String> = parts
        .iter()
        .filter(|(_, seconds)| *seconds > 0.0)
        .map(|(what, seconds)| format!("{what} {}", duration(*seconds)))
        .collect();
    if parts.is_empty() {
        return duration(0.0);
    }
    format!("{}: {}", duration(time.total()), parts.join(", "))
}

fn mm(value: f64) -> String {
    decimal(value, 3)
}
