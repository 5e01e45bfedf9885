//! A harmless program for a machine that somebody has just described: the bed's outline in the air, and a
//! ruler of ten shallow holes or short strokes on a scrap.

use super::{CLEARANCE, Lay, OWN_TOP, Plan, Setup, Step, Travel, Um, um};
use crate::{
    layout::{Name, Part},
    machine::{Kind, Machine, Rotation, Tool, ToolChange, Work},
    units::Unit,
};

/// The outline stays so far from the ends of the bed, mm.
const FROM_THE_END: f64 = 5.0;
/// Holes of the ruler.
const MARKS: u32 = 10;
/// How deep they are, mm: seen and felt, and through nothing.
const DEPTH: f64 = 2.0;
/// Half the height of the scrap, mm.
const HALF: f64 = 30.0;
/// Thickness of the scrap, mm; a plotter's is cloth or paper.
const SCRAP: f64 = 12.0;

/// Why there is nothing to try.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NoTrial {
    /// No tool goes straight down.
    NoTool,
    /// The bed has no room for a ruler that is clear of clamps.
    NoRoom,
    /// Clamps, scrap and safe height leave no height to travel at.
    NoHeight,
}

/// The trial of one machine, and from the first to the last mark of its ruler, mm.
pub fn trial(machine: &Machine) -> Result<(Plan, f64), NoTrial> {
    let bed = &machine.bed;
    let zero = bed.work_at;
    let room = [bed.x - zero[0], bed.y - zero[1]];
    // A round distance between the marks that ten of them and the scrap's ends have room for.
    let gap = ((room[0] / f64::from(MARKS + 1)).min(50.0) / 5.0).floor() * 5.0;
    if gap < 5.0 || room[1] < 2.0 * HALF {
        return Err(NoTrial::NoRoom);
    }
    let thickness = if machine.kind == Kind::Router { SCRAP } else { 0.0 };
    let clamps = machine.keep_clear.iter().map(|clamp| clamp.height + CLEARANCE - thickness);
    let height = machine.speech.at_least(clamps.fold(machine.motion.safe_height, f64::max));
    if height > bed.z - thickness {
        return Err(NoTrial::NoHeight);
    }
    let mut tools: Vec<&Tool> =
        machine.tools.iter().filter(|tool| tool.plunges && tool.spots.is_none()).collect();
    // The scrap is wood: a bit for it before a foam cutter, and the thinnest.
    tools.sort_by(|a, b| {
        let foam =
            |tool: &Tool| !(tool.work.contains(&Work::Board) && tool.rotation == Rotation::Forward);
        foam(a).cmp(&foam(b)).then(a.diameter.total_cmp(&b.diameter))
    });
    let tool = tools.first().copied();
    let widest = tool.map_or(0.0, |tool| tool.diameter / 2.0) + CLEARANCE;
    let free = |y: f64| {
        machine.keep_clear.iter().all(|clamp| {
            clamp.x[1] < zero[0] + gap - widest
                || clamp.x[0] > zero[0] + gap * f64::from(MARKS) + widest
                || clamp.y[1] < zero[1] + y - widest
                || clamp.y[0] > zero[1] + y + widest
        })
    };
    let rows = ((room[1] - 2.0 * HALF) / 10.0).floor().max(0.0) as u32;
    let up = (0..=rows).map(|row| HALF + 10.0 * f64::from(row)).find(|y| free(*y));
    let up = up.ok_or(NoTrial::NoRoom)?;
    let corner = [0, um(up - HALF)];
    let size = [um(gap * f64::from(MARKS + 1)), um(2.0 * HALF)];
    let mut steps = Vec::new();
    let places = (1..=MARKS).map(|k| (k, [um(gap * f64::from(k)), um(up)]));
    match (machine.kind, tool) {
        (Kind::Plotter, _) => {
            steps.push(outline(machine));
            steps.extend(places.map(|(_, [x, y])| Step::Stroke {
                points: vec![[x, y - um(5.0)], [x, y + um(5.0)]],
            }));
        }
        (Kind::Router, None) => return Err(NoTrial::NoTool),
        (Kind::Router, Some(tool)) => {
            let fit = Step::Fit {
                tool: tool.number,
                rpm: tool.rpm,
                turn: tool.rotation,
                feed: um(tool.feed),
            };
            // Round the bed with the spindle standing still, but where no height is known before a tool's length is.
            let speech = &machine.speech;
            match speech.length_offset && speech.tool_change == ToolChange::M6 {
                true => steps.extend([fit, outline(machine)]),
                false => steps.extend([outline(machine), fit]),
            }
            steps.extend(places.map(|(k, at)| Step::Drill {
                name: Name::in_row(1, k),
                at,
                depth: um(DEPTH),
                peck: um(tool.peck),
            }));
        }
    }
    let place = |axis: usize, place: [f64; 2]| um(place[axis] - zero[axis]);
    let plan = Plan {
        unit: Unit::Millimetre,
        work: if machine.kind == Kind::Router { Work::Board } else { Work::Fabric },
        part: Part::WHOLE,
        lies: "any way up: a scrap",
        top: OWN_TOP,
        setup: Setup { lay: Lay { corner, ..Lay::plain(size) }, ..Setup::only(Lay::plain(size)) },
        size: [size[0], size[1], um(thickness)],
        park: [0, 1].map(|axis| place(axis, machine.motion.park)),
        change_at: [0, 1].map(|axis| place(axis, machine.motion.change_at)),
        // Between the first two holes.
        touch_at: [um(gap * 1.5), um(up)],
        travel_height: um(height),
        steps,
        // Nothing was ordered, so nothing is claimed.
        travel: Travel { mm: 0.0, seconds: 0.0, seconds_bound: 0.0, mm_bound: 0.0 },
    };
    Ok((plan, gap * f64::from(MARKS - 1)))
}

/// Once round the bed at travel height.
fn outline(machine: &Machine) -> Step {
    let (bed, zero) = (&machine.bed, machine.bed.work_at);
    let low = zero.map(|zero| um(FROM_THE_END - zero));
    let high: [Um; 2] = [um(bed.x - zero[0] - FROM_THE_END), um(bed.y - zero[1] - FROM_THE_END)];
    let corners = [low, [high[0], low[1]], high, [low[0], high[1]], low];
    Step::Air { points: corners.to_vec() }
}
