//! What a person does before one program, in sentences: the same in its head, in the preview and on the sheet.

use super::{Dowel, Plan, Setup, TOP_OF_FOAM, Turn, Um, mm};
use crate::machine::Work;

impl Plan {
    /// How the sheet is laid down. Empty for a sheet that lies with its corner at X0 Y0 and is made in one go.
    pub fn laid_down(&self) -> Vec<String> {
        let Setup { number, of, lay, .. } = &self.setup;
        let mut says = Vec::new();
        if self.top == TOP_OF_FOAM {
            says.push(
                "The foam's own holes are cut before: the bit goes through them, and Z0 is the top of the FOAM."
                    .to_string(),
            );
        }
        if *of == 1 && lay.turn == Turn::Not && lay.corner == [0, 0] {
            return says;
        }
        if *of > 1 {
            says.push(format!("Set-up {number} of {of}."));
        }
        if lay.turn != Turn::Not {
            says.push(format!("The {} lies {}.", self.work, lay.turn.word()));
        }
        match (self.setup.dowels, number) {
            (Some([a, b]), 2..) => {
                says.push("Leave X0 and Y0 as they are.".to_string());
                says.push(format!(
                    "Drop hole {} onto the dowel at {} and hole {} onto the dowel at {}.",
                    a.hole,
                    self.on_bed(a.at),
                    b.hole,
                    self.on_bed(b.at)
                ));
                says.push(format!("Then {}.", self.hangs()));
                if !self.setup.moved.is_empty() {
                    says.push(format!("{}.", self.setup.moved));
                }
            }
            (None, 2..) if self.work == Work::Fabric => {
                says.push("Leave X0 and Y0 as they are.".to_string());
                says.push(format!(
                    "{}: the pen stops over two places, and the two crosses drawn last must lie there.",
                    self.setup.moved
                ));
            }
            _ => says.push(format!("Lay it so that {}.", self.hangs())),
        }
        if self.work == Work::Foam {
            says.extend(self.centre_lines());
        }
        if self.setup.over != [0; 4] && self.work != Work::Fabric {
            says.push(
                "Support what lies over, level with the spoilboard, clear of all that moves."
                    .into(),
            );
        }
        if self.setup.dowels.is_some() && number == of {
            says.push("When it is done, take both dowels out of the spoilboard.".to_string());
        }
        if let (Some([a, b]), 1) = (self.setup.dowels, number) {
            says.push(format!(
                "Holes {} and {} go on {} mm into the spoilboard, for the dowels.",
                a.hole,
                b.hole,
                plain(a.depth)
            ));
            says.push(format!("Afterwards put two dowels there: {}.", self.dowel(&a)));
        }
        says
    }

    /// What one dowel is, for those who cut it.
    fn dowel(&self, dowel: &Dowel) -> String {
        // A millimetre lower than the board's top, so that nothing touches it.
        let longest = dowel.depth + dowel.through - 1000;
        format!(
            "{} mm thick, at most {} mm long. The shank of the bit is as thick as its hole",
            plain(dowel.diameter),
            plain(longest)
        )
    }

    /// Where the sheet's edges are.
    fn hangs(&self) -> String {
        let sides = ["left", "right", "near", "far"];
        let over: Vec<String> = sides
            .iter()
            .zip(self.setup.over)
            .filter(|(_, over)| *over > 0)
            .map(|(side, over)| format!("{} mm over the {side} side", plain(over)))
            .collect();
        let [x, y] = [0, 1].map(|axis| self.setup.lay.corner[axis] + self.setup.zero[axis]);
        let mut parts = Vec::new();
        if self.setup.over[0] == 0 {
            parts.push(format!("its left edge is at X {} of the bed", plain(x)));
        }
        if self.setup.over[2] == 0 {
            parts.push(format!("its near edge is at Y {} of the bed", plain(y)));
        }
        if !over.is_empty() {
            parts.push(format!("it lies {}", over.join(" and ")));
        }
        parts.join(" and ")
    }

    /// Where the middle of the sheet is on the bed: foam sheets vary in size, so their middle counts. Where it lies over
    /// the bed's side, a line beside it is drawn on the foam, in the middle of what lies on the bed.
    fn centre_lines(&self) -> Vec<String> {
        let Setup { lay, zero, over, .. } = &self.setup;
        let mut draw = Vec::new();
        let at = [0, 1].map(|axis| {
            let size = lay.size()[axis];
            let [before, after] = [over[2 * axis], over[2 * axis + 1]];
            let begin = lay.corner[axis] + zero[axis];
            let middle = begin + size / 2;
            if (before..=size - after).contains(&(size / 2)) {
                return ("centre line", middle);
            }
            // Whole tens of millimetres are marked with a tape.
            let aside = ((before + size - after) / 2 - size / 2) / 10_000 * 10_000;
            let (line, [less, more]) =
                [("upright", ["left", "right"]), ("level", ["near", "far"])][axis];
            let side = if aside < 0 { less } else { more };
            draw.push(format!(
                "draw a line on it {} mm to the {side} side of its {line} centre line",
                plain(aside.abs())
            ));
            ("line beside its centre line", middle + aside)
        });
        let [(upright, x), (level, y)] = at;
        let mut says = vec![format!(
            "Foam varies in size, so go by the middle of the sheet: its upright {upright} at X {}, its level {level} at Y {} of the bed.",
            plain(x),
            plain(y)
        )];
        if !draw.is_empty() {
            says.insert(
                0,
                format!("The middle of the foam lies beside the bed: {}.", draw.join(", and ")),
            );
        }
        says
    }

    fn on_bed(&self, at: [Um; 2]) -> String {
        let [x, y] = [0, 1].map(|axis| plain(at[axis] + self.setup.zero[axis]));
        format!("X {x} Y {y}")
    }

    /// What goes wrong slowly: play that adds up to more than the job allows, mm.
    pub fn over_tolerance(&self, tolerance: f64) -> Option<String> {
        let (thing, off) = self.setup.worst.filter(|(_, off)| *off > tolerance)?;
        Some(format!(
            "In set-up {} of the {} the play of the dowels may put {thing} {off:.2} mm off, more than the {tolerance} mm of `tolerance`: \
             use tighter dowels and state their `dowel_play`, or a larger machine.",
            self.setup.number, self.work
        ))
    }
}

/// Whole tenths of millimetres, which is as well as a sheet is laid by hand.
fn plain(um: Um) -> String {
    let tenths = (mm(um) * 10.0).round() / 10.0 + 0.0;
    format!("{tenths}")
}
