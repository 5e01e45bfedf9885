//! May the tool cut, or the pen draw, like this?

use super::*;

impl Guard<'_> {
    pub(super) fn check_stroke(&self, step: &Move, extent: &Bounds, report: &mut Report) {
        let line = step.line;
        let Some(pen) = &self.machine.pen else { return };
        if step.kind == MoveKind::Rapid {
            report.danger(Danger::PenDownOnRapid, line, || "G0 with the pen down".to_string());
        }
        if let Lift::Height { down, .. } = pen.lift
            && extent.min[2] < down - PEN_PRESSED
        {
            report.danger(Danger::PenTooLow, line, || {
                format!("the pen goes to Z{}, and its down is Z{}", mm(extent.min[2]), mm(down))
            });
        }
        if step.kind != MoveKind::Rapid && sideways(step) && step.feed > pen.speed * FED {
            report.danger(Danger::PenTooFast, line, || {
                format!("F{} and the pen draws at {} mm/min at most", mm(step.feed), mm(pen.speed))
            });
        }
        self.check_tight(step, extent, report);
        self.check_called(line, report);
        self.check_on_cloth(step.to, extent, line, report);
    }

    /// Does a pen that is down stay on the work?
    pub fn check_on_cloth(&self, at: [f64; 3], extent: &Bounds, line: u64, report: &mut Report) {
        let Some(work) = self.work else { return };
        let sides = work.sides();
        let beside = |axis: usize| {
            let [from, to] = sides[axis];
            extent.min[axis] < from - PEN_DOWN || extent.max[axis] > to + PEN_DOWN
        };
        if beside(0) || beside(1) {
            report.danger(Danger::OutsideWork, line, || {
                format!("the pen draws beside the work, at X{} Y{}", mm(at[0]), mm(at[1]))
            });
        }
    }

    fn check_called(&self, line: u64, report: &mut Report) {
        if let Some(called) = self.called() {
            report.danger(Danger::ToolNotChanged, line, || {
                format!("tool {called} was called and never fitted")
            });
        }
    }

    /// Where no tool is fitted a pen may be clipped on, and it would whirl at the work.
    pub(super) fn check_pen_turning(&self, step: &Move, extent: &Bounds, report: &mut Report) {
        let turning = self.fitted.is_none() && self.turning != Turning::Stopped;
        if let Some(Pen { lift: Lift::Height { down, .. }, .. }) = self.machine.pen
            && turning
            && self.height == Height::Known
            && extent.min[2] <= down + PEN_DOWN
        {
            report.danger(Danger::PenTurning, step.line, || {
                "no tool is fitted, so a pen may be, and the spindle turns".to_string()
            });
        }
    }

    /// Where lengths stand in the controller's table, Z is of no tool until one is taken from there.
    #[inline]
    pub(super) fn check_length(&self, step: &Move, report: &mut Report) {
        let Some(tool) = self.tool else { return };
        if self.machine.speech.length_offset
            && self.length_offset.is_none()
            && step.to[2] < step.from[2] - SAME
        {
            report.danger(Danger::LengthNotUsed, step.line, || {
                format!("tool {} goes down and no length offset (G43) is used", tool.number)
            });
        }
    }

    /// A feed that goes below Z0.
    pub(super) fn check_cut(&self, step: &Move, extent: &Bounds, report: &mut Report) {
        let Move { line, to, .. } = *step;
        self.check_tight(step, extent, report);
        self.check_called(line, report);
        if let Some(work) = self.work {
            // Sideways the tool may come in from beside the work, but not from far. A straight cut's
            // beginning may be above Z0; if it is not, it was the end of another.
            let run_in = self.tool.filter(|_| sideways(step)).map_or(0.0, |tool| tool.diameter);
            let sides = work.sides();
            let beside = |axis: usize| {
                let (least, most) = match step.arc {
                    Some(_) => (extent.min[axis], extent.max[axis]),
                    None => (to[axis], to[axis]),
                };
                least < sides[axis][0] - run_in || most > sides[axis][1] + run_in
            };
            if beside(0) || beside(1) {
                report.danger(Danger::OutsideWork, line, || {
                    format!("the tool cuts beside the work, at X{} Y{}", mm(to[0]), mm(to[1]))
                });
            }
        }
        self.check_turning(line, report);
        let Some(tool) = self.tool else {
            if self.fitted.is_none() {
                report.danger(Danger::NoTool, line, || "a cut, and no tool is fitted".to_string());
            }
            return;
        };
        if !tool.plunges && steep(step, extent) {
            report.danger(Danger::CannotPlunge, line, || {
                format!("tool {} cannot be driven straight down", tool.number)
            });
        }
        if sideways(step) && !tool.sideways {
            report.danger(Danger::CannotCutSideways, line, || {
                format!("tool {} cannot cut sideways", tool.number)
            });
        }
        if self.changed_before == Changed::Yes
            && self.length_offset.is_none()
            && !self.machine.speech.length_offset
        {
            report.doubt(Doubt::LengthNotSet, line, || {
                format!("tool {} follows another, and no length offset (G43) is used: Z0 must be set anew for it", tool.number)
            });
        }
        if self.length_offset.is_some_and(|offset| offset != tool.number) {
            report.danger(Danger::WrongLengthOffset, line, || {
                format!(
                    "length offset H{} with tool {}",
                    self.length_offset.unwrap_or(0),
                    tool.number
                )
            });
        }
        if step.to[2] <= step.from[2] + SAME || sideways(step) {
            self.check_tool_feed(step, tool, report);
        }
    }

    pub(super) fn check_turning(&self, line: u64, report: &mut Report) {
        if self.turning == Turning::Stopped {
            report.danger(Danger::SpindleStopped, line, || {
                "a cut, and the spindle is stopped".to_string()
            });
            return;
        }
        let Some(tool) = self.tool else { return };
        let right = match tool.rotation {
            Rotation::Forward => Turning::Forward,
            Rotation::Reverse => Turning::Reverse,
        };
        if self.turning != right {
            let way = if right == Turning::Forward { "forward (M3)" } else { "in reverse (M4)" };
            report.danger(Danger::TurningWrongWay, line, || {
                format!("tool {} must turn {way}", tool.number)
            });
        }
        if self.rpm > tool.rpm * FASTER {
            report.danger(Danger::TooFastForTool, line, || {
                format!("S{} and tool {} is for {} rpm", mm(self.rpm), tool.number, mm(tool.rpm))
            });
        } else if self.rpm < tool.rpm * SLOWER {
            report.danger(Danger::TooSlowForTool, line, || {
                format!("S{} and tool {} is for {} rpm", mm(self.rpm), tool.number, mm(tool.rpm))
            });
        }
    }

    pub(super) fn check_tool_feed(&self, step: &Move, tool: &Tool, report: &mut Report) {
        if step.feed > tool.feed * FED {
            report.danger(Danger::FeedBeyondTool, step.line, || {
                format!(
                    "F{} and tool {} is for {} mm/min",
                    mm(step.feed),
                    tool.number,
                    mm(tool.feed)
                )
            });
        }
        if let (Some(flutes), Some([least, most])) = (tool.flutes, tool.feed_per_tooth)
            && self.rpm > 0.0
        {
            let bite = step.feed / (self.rpm * f64::from(flutes));
            if bite < least - SAME || bite > most + SAME {
                report.danger(Danger::FeedPerTooth, step.line, || {
                    format!(
                        "{} mm per tooth, and tool {} takes {} to {} mm: {}",
                        decimal(bite, 4),
                        tool.number,
                        decimal(least, 4),
                        decimal(most, 4),
                        if bite < least { "it would rub and burn" } else { "it would break" }
                    )
                });
            }
        }
    }
}

/// Does it go down more than it goes along? A tool that cannot plunge takes a gentler slope.
fn steep(step: &Move, extent: &Bounds) -> bool {
    let along = match &step.arc {
        Some(arc) => arc.length(),
        None => {
            let [x, y] = [step.to[0] - step.from[0], step.to[1] - step.from[1]];
            (x * x + y * y).sqrt()
        }
    };
    step.from[2] - extent.min[2] > along
}
