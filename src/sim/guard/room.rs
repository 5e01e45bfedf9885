//! Is there room for the move: the bed, the work, and clamps on the way?

use super::*;
use crate::gcode::Plane;

impl Guard<'_> {
    #[inline]
    pub(super) fn check_travel(&self, step: &Move, extent: &Bounds, report: &mut Report) {
        let Move { line, to, .. } = *step;
        for axis in 0..2 {
            // A straight move's beginning was the end of the one before.
            let (least, most) = match step.arc {
                Some(_) => (extent.min[axis], extent.max[axis]),
                None => (to[axis], to[axis]),
            };
            if least < self.low[axis] - SAME || most > self.high[axis] + SAME {
                let bed = self.high[axis] - self.low[axis];
                let place = if least < self.low[axis] { least } else { most } - self.low[axis];
                let name = ['X', 'Y'][axis];
                report.danger(Danger::OutsideBed, line, || {
                    format!(
                        "{name} {} on the bed, which runs from 0 to {}; a number without its point may have been meant smaller",
                        mm(place),
                        mm(bed)
                    )
                });
            }
        }
        let thickness = self.thickness();
        let ceiling = self.machine.bed.z - thickness;
        let (lowest, highest) = match step.arc {
            Some(_) => (extent.min[2], extent.max[2]),
            None => (to[2], to[2]),
        };
        if highest > ceiling + SAME {
            report.danger(Danger::TooHigh, line, || {
                format!("Z{} and the machine reaches Z{} over this work", mm(highest), mm(ceiling))
            });
        }
        let floor = -(thickness + self.machine.bed.spoilboard);
        if lowest < floor - SAME {
            report.danger(Danger::ThroughSpoilboard, line, || {
                format!("Z{} and the spoilboard ends at Z{}", mm(lowest), mm(floor))
            });
        }
    }

    #[inline]
    pub(super) fn check_rapid(&self, step: &Move, extent: &Bounds, report: &mut Report) {
        let Move { line, from, to, .. } = *step;
        let low = extent.min[2];
        if sideways(step) {
            let safe = self.machine.motion.safe_height;
            // Beside the work there is still the spoilboard.
            let strikes = self.over_work(from, to) || low < -self.thickness() - SAME;
            if low < safe - SAME && self.height == Height::Known && strikes {
                report.danger(Danger::RapidTooLow, line, || {
                    format!("G0 over the work at Z{}, below the safe height of {safe} mm", mm(low))
                });
            }
        } else if to[2] < from[2]
            && low < -TOUCH
            && self.bottom.is_none_or(|bottom| bottom > low + SAME)
        {
            report.danger(Danger::RapidIntoWork, line, || {
                format!("G0 down to Z{}, where nothing is drilled yet", mm(low))
            });
        }
    }

    /// Does a straight way pass over the work, or nearer beside it than the tool is wide?
    fn over_work(&self, from: [f64; 3], to: [f64; 3]) -> bool {
        let Some(work) = self.work else { return true };
        let width = self.tool.map_or(self.machine.unknown_width(), |tool| tool.diameter);
        distance_to_box([from[0], from[1]], [to[0], to[1]], work.sides()) <= width / 2.0
    }

    pub(super) fn check_clamps(&self, step: &Move, extent: &Bounds, report: &mut Report) {
        let (tool, holder) = self.parts();
        for clamp in &self.clamps {
            let top = clamp.top - self.thickness();
            for part in std::iter::once(&tool).chain(&holder) {
                let near = part.radius + TIGHT;
                let apart = extent.min[2] + part.above_tip >= top + TIGHT
                    || extent.min[0] > clamp.x[1] + near
                    || extent.max[0] < clamp.x[0] - near
                    || extent.min[1] > clamp.y[1] + near
                    || extent.max[1] < clamp.y[0] - near;
                if apart {
                    continue;
                }
                let gap = part.gap(step, clamp, top);
                if gap < part.radius - SAME {
                    report.danger(Danger::KeepClear, step.line, || {
                        format!(
                            "the {} enters the clamp at X {} to {}, Y {} to {} of the work, whose top is at Z{}",
                            part.name,
                            mm(clamp.x[0]),
                            mm(clamp.x[1]),
                            mm(clamp.y[0]),
                            mm(clamp.y[1]),
                            mm(top)
                        )
                    });
                } else if gap < near - SAME {
                    report.doubt(Doubt::TightFit, step.line, || {
                        format!("the {} passes a clamp by {} mm", part.name, mm(gap - part.radius))
                    });
                } else if part.gap(step, clamp, top + TIGHT) < part.radius - SAME {
                    report.doubt(Doubt::TightFit, step.line, || {
                        format!("the {} passes less than 1 mm over a clamp", part.name)
                    });
                }
            }
        }
    }

    /// What moves, as upright cylinders: the tool, and its holder from where the tool ends upwards.
    fn parts(&self) -> (Cylinder, Option<Cylinder>) {
        let (width, name) = match self.tool {
            Some(tool) => (tool.diameter, "tool"),
            None => (self.machine.unknown_width(), "holder, or what it holds,"),
        };
        (Cylinder { radius: width / 2.0, above_tip: 0.0, name }, self.holder())
    }

    fn holder(&self) -> Option<Cylinder> {
        Some(Cylinder {
            radius: self.machine.spindle.as_ref()?.holder / 2.0,
            above_tip: self.tool?.reach,
            name: "tool's holder",
        })
    }

    /// Does the holder come down on the work, or on the spoilboard beside it?
    pub(super) fn check_holder(&self, step: &Move, extent: &Bounds, report: &mut Report) {
        let Some(tool) = self.tool else { return };
        let lowest = extent.min[2] + tool.reach;
        let Some(holder) = self.holder().filter(|_| lowest < TIGHT) else { return };
        let gap = |top: f64| match &self.work {
            Some(work) => {
                let [x, y] = work.sides();
                holder.gap(step, &Clamp { x, y, top }, top)
            }
            None if lowest < top => 0.0,
            None => f64::INFINITY,
        };
        let strikes = gap(-SAME) < holder.radius - SAME || lowest < -self.thickness() - SAME;
        if strikes {
            report.danger(Danger::HolderStrikes, step.line, || {
                format!(
                    "{} mm deep, and tool {} reaches {} mm",
                    mm(-extent.min[2]),
                    tool.number,
                    mm(tool.reach)
                )
            });
        } else if gap(TIGHT) < holder.radius - SAME {
            report.doubt(Doubt::TightFit, step.line, || {
                format!("the tool's holder stays {} mm above the work", mm(lowest.max(0.0)))
            });
        }
    }

    pub(super) fn check_tight(&self, step: &Move, extent: &Bounds, report: &mut Report) {
        for axis in 0..2 {
            // Cloth that lies in the corner of the bed is drawn on up to that corner.
            let in_the_corner = step.pen.is_some() && self.low[axis] == 0.0;
            let low = if in_the_corner { f64::INFINITY } else { extent.min[axis] - self.low[axis] };
            let room = low.min(self.high[axis] - extent.max[axis]);
            if (0.0..TIGHT).contains(&room) {
                report.doubt(Doubt::TightFit, step.line, || {
                    format!("the tool or pen works {} mm from the end of the bed", mm(room))
                });
            }
        }
    }
}

/// A part of what moves, upright and round.
struct Cylinder {
    radius: f64,
    /// How far its lower end is above the tool's tip.
    above_tip: f64,
    name: &'static str,
}

impl Cylinder {
    /// How near the middle comes to the clamp while the lower end is below its top; ∞ if it never is.
    fn gap(&self, step: &Move, clamp: &Clamp, top: f64) -> f64 {
        let Some(arc) = &step.arc else {
            return self.straight_gap(step.from, step.to, clamp, top);
        };
        let chords = arc_chords(arc.radius, arc.turned);
        // An arc that stands upright may dip below its chords.
        let top = if arc.plane == Plane::Xy { top } else { top + CHORD };
        let mut gap = f64::INFINITY;
        let mut from = step.from;
        for i in 1..=chords {
            let to = arc.at(f64::from(i) / f64::from(chords), step.from, step.to);
            gap = gap.min(self.straight_gap(from, to, clamp, top));
            from = to;
        }
        (gap - CHORD).max(0.0)
    }

    fn straight_gap(&self, from: [f64; 3], to: [f64; 3], clamp: &Clamp, top: f64) -> f64 {
        let below = top - self.above_tip;
        let (start, end) = (from[2], to[2]);
        let (first, last) = match (start < below, end < below) {
            (false, false) => return f64::INFINITY,
            (true, true) => (0.0, 1.0),
            (true, false) => (0.0, (below - start) / (end - start)),
            (false, true) => ((below - start) / (end - start), 1.0),
        };
        let at = |part: f64| [0, 1].map(|axis| from[axis] + (to[axis] - from[axis]) * part);
        distance_to_box(at(first), at(last), [clamp.x, clamp.y])
    }
}

/// Into how many chords an arc is cut so that none is farther from it than [`CHORD`].
fn arc_chords(radius: f64, turned: f64) -> u32 {
    // The height of a chord over an angle t is about r·t²/8.
    let angle = (8.0 * CHORD / radius).sqrt().min(1.0);
    (turned.abs() / angle).ceil().clamp(1.0, 10_000.0) as u32
}

/// Shortest distance from a straight way to a box, 0 where it passes through.
fn distance_to_box(from: [f64; 2], to: [f64; 2], sides: [[f64; 2]; 2]) -> f64 {
    if crosses_box(from, to, sides) {
        return 0.0;
    }
    let corners = [0, 1, 2, 3].map(|i| [sides[0][i & 1], sides[1][i >> 1]]);
    let from_ends = [from, to].map(|p| {
        let out = |axis: usize| (sides[axis][0] - p[axis]).max(p[axis] - sides[axis][1]).max(0.0);
        (out(0) * out(0) + out(1) * out(1)).sqrt()
    });
    let from_corners = corners.map(|corner| {
        let d = [to[0] - from[0], to[1] - from[1]];
        let c = [corner[0] - from[0], corner[1] - from[1]];
        let squared = d[0] * d[0] + d[1] * d[1];
        let part = if squared > 0.0 {
            ((c[0] * d[0] + c[1] * d[1]) / squared).clamp(0.0, 1.0)
        } else {
            0.0
        };
        let gap = [c[0] - d[0] * part, c[1] - d[1] * part];
        (gap[0] * gap[0] + gap[1] * gap[1]).sqrt()
    });
    from_ends.into_iter().chain(from_corners).fold(f64::INFINITY, f64::min)
}

/// Cuts the way down to what is between the sides of each axis in turn; anything left is inside.
fn crosses_box(from: [f64; 2], to: [f64; 2], sides: [[f64; 2]; 2]) -> bool {
    let (mut first, mut last) = (0.0_f64, 1.0_f64);
    for axis in 0..2 {
        let d = to[axis] - from[axis];
        let [low, high] = sides[axis].map(|side| side - from[axis]);
        if d == 0.0 {
            if low > 0.0 || high < 0.0 {
                return false;
            }
            continue;
        }
        let (enter, leave) = if d > 0.0 { (low / d, high / d) } else { (high / d, low / d) };
        (first, last) = (first.max(enter), last.min(leave));
    }
    first <= last
}
