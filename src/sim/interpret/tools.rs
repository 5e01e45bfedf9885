//! Spindle, pen, tool changes and waits.

use super::*;

impl<W: FnMut(&Move)> Run<'_, W> {
    /// S, T, M6, the spindle, and pens that are moved by words.
    pub(super) fn turn(&mut self, block: &Block, pen_word: Option<PenState>) {
        let line = self.line;
        let modes = &block.modes;
        let (mut speed, mut spindle) = (block.word(b'S'), modes.spindle);
        if self.guard.words.any() && self.guard.pen().is_some() {
            // Whatever stands on the spindle's words here is meant for the pen.
            let meant_for_pen = speed.take().is_some() | spindle.take().is_some();
            if let Some(state) = pen_word {
                self.guard.height = Height::Known;
                if self.guard.word_pen(state) {
                    self.check_settled();
                    self.settle_pen();
                }
                if state == PenState::Down {
                    let here = Bounds { min: self.at, max: self.at };
                    self.guard.check_on_cloth(self.at, &here, line, &mut self.report);
                }
            } else if meant_for_pen {
                self.report.danger(Danger::PenWordsUnclear, line, || {
                    "these words neither lift the pen nor set it down as its file says".to_string()
                });
            }
        }
        if let Some(speed) = speed {
            self.guard.rpm = speed;
            self.guard.check_speed(line, &mut self.report);
        }
        if let Some(tool) = block.word(b'T').and_then(whole) {
            let tool = u32::try_from(tool).unwrap_or(u32::MAX);
            self.guard.call_tool(tool, line, &mut self.report);
        }
        if modes.change_tool.is_some() {
            if self.machine.speech.tool_change == ToolChange::Pause {
                self.report.danger(Danger::ToolChangeNotKnown, line, || {
                    "M6, and on this controller tools are changed at a pause (M0)".to_string()
                });
            }
            self.guard.turn(Turning::Stopped, line, &mut self.report);
            self.change_tool();
        }
        if let Some(word) = spindle {
            let turning = match word {
                SpindleWord::Forward => Turning::Forward,
                SpindleWord::Reverse => Turning::Reverse,
                SpindleWord::Stop => Turning::Stopped,
            };
            let spin_up = self.guard.turn(turning, line, &mut self.report);
            self.clock.rest();
            if spin_up > 0.0 {
                self.clock.owe(Owed::SpinUp, spin_up);
            }
        }
    }

    /// Before a pen moves again, up, down or along.
    pub(super) fn check_settled(&mut self) {
        if self.clock.owes(Owed::Settle) {
            self.report.doubt(Doubt::PenNotSettled, self.line, || {
                "the pen moves before it has settled".to_string()
            });
        }
    }

    pub(super) fn settle_pen(&mut self) {
        let settle = self.machine.pen.as_ref().map_or(0.0, |pen| pen.settle);
        self.clock.owe(Owed::Settle, settle);
    }

    pub(super) fn change_tool(&mut self) {
        let fitted = self.guard.change_tool(self.at, self.line, &mut self.report);
        if let Some(tool) = fitted
            && !self.tools.contains(&tool)
            // A machine has a handful of tools; a file that names a thousand says nothing by them.
            && self.tools.len() < crate::sim::LISTED
        {
            self.tools.push(tool);
        }
        self.clock.change_tool(self.machine.speech.tool_change_minutes * 60.0);
    }

    /// M0, M60, and M1, which is not `sure` to stop. Where tools are changed at a pause, a person fits the one that
    /// was called.
    pub(super) fn pause(&mut self, sure: bool) {
        self.clock.rest();
        self.check_pen_still();
        let turning = self.guard.turning != Turning::Stopped;
        let by_hand = self.machine.speech.tool_change == ToolChange::Pause;
        if !by_hand || self.guard.called().is_none() {
            if turning {
                self.report.doubt(Doubt::PauseTurning, self.line, || {
                    "a pause, and the spindle turns on".to_string()
                });
            }
            return;
        }
        if turning {
            self.report.danger(Danger::ToolChangeTurning, self.line, || {
                "a pause to change the tool, and the spindle turns".to_string()
            });
        }
        if !sure {
            self.report.danger(Danger::ToolChangeNotKnown, self.line, || {
                "M1 to change the tool, and a controller passes over it unless its switch is on"
                    .to_string()
            });
            return;
        }
        self.change_tool();
    }

    pub(super) fn check_pen_still(&mut self) {
        if self.guard.pen_now(self.at) == Some(PenState::Down) && self.guard.height == Height::Known
        {
            self.report.danger(Danger::PenLeftDown, self.line, || {
                "the machine stands still with the pen down".to_string()
            });
        }
    }

    /// G4, and the wait of G82. `wait` is what P says.
    pub(super) fn wait(&mut self, wait: f64) {
        let line = self.line;
        let seconds = match self.machine.speech.dwell {
            Dwell::Seconds => wait,
            Dwell::Milliseconds => wait / 1000.0,
        };
        let wrong_unit = match self.machine.speech.dwell {
            Dwell::Seconds => seconds > ENDLESS_WAIT,
            Dwell::Milliseconds => wait > 0.0 && seconds < NO_WAIT_AT_ALL,
        };
        let lasts =
            || format!("P{} waits {} s on this controller", decimal(wait, 3), decimal(seconds, 3));
        if wrong_unit {
            self.report.danger(Danger::DwellUnit, line, lasts);
        } else if seconds > LONG_WAIT {
            self.report.doubt(Doubt::LongDwell, line, lasts);
        }
        let settle = self.machine.pen.as_ref().map_or(0.0, |pen| pen.settle);
        if seconds > settle + 0.5 {
            self.check_pen_still();
        }
        let step = Move { seconds, ..self.step(MoveKind::Dwell, self.said, self.at, 0.0) };
        let extent = Bounds { min: self.at, max: self.at };
        self.clock.take(step, &extent, self.modal.path);
    }
}
